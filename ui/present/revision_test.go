package present

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/enginetest"
	"foreshaft/engine/job"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
	"foreshaft/store"

	"pgregory.net/rapid"
)

func revised(change func(j *job.Job)) []string {
	was := store.SampleBench()
	now := was.Clone()
	change(now)
	return Revised(unit.System{}, was, now)
}

func TestWhatChangedBetweenRevisionsIsSaidInWords(t *testing.T) {
	first := store.SampleBench().Builds[0].Name
	for _, c := range []struct {
		name   string
		change func(j *job.Job)
		want   []string // how each sentence begins
	}{
		{"nothing", func(*job.Job) {}, nil},
		{"a heavier insert", func(j *job.Job) { j.Builds[0].Insert.Value.Weight += 25 * unit.Grain }, []string{first + ": insert 16 → 41 gr"}},
		{"a longer arrow", func(j *job.Job) { j.Builds[0].Length += unit.Inch / 2 }, []string{first + ": length 29.50 → 30.00 in"}},
		{"peak weight", func(j *job.Job) { j.Bow.Value.Peak = unit.Some(65 * unit.PoundForce) }, []string{"bow peak weight 68 → 65 lb"}},
		{"a reading", func(j *job.Job) { j.Bow.Value.Readings[1].Speed += unit.FootPerSecond }, []string{"reading 2 speed "}},
		{"one reading less", func(j *job.Job) { j.Bow.Value.Readings = j.Bow.Value.Readings[:1] }, []string{"readings 2 → 1", "reading gone: arrow 540 gr, speed 262 ft/s"}},
		{"a sight", func(j *job.Job) {
			j.Sight = unit.Optional[job.Sight]{}
		}, []string{"sight taken away"}},
		{"limits", func(j *job.Job) { j.Limits = unit.Some(job.Limits{MaxSpeed: 280 * unit.FootPerSecond}) }, []string{"limits "}},
		{"a distance more", func(j *job.Job) { j.Distances = append(slices.Clone(j.DistancesOrDefault()), 70*unit.Yard) }, []string{"distances "}},
		{"wind", func(j *job.Job) { j.Crosswind = unit.Some(7 * unit.MilePerHour) }, []string{"crosswind "}},
		{"baseline", func(j *job.Job) { j.Baseline = 1 }, []string{"baseline " + first + " → " + store.SampleBench().Builds[1].Name}},
		{"a build less", func(j *job.Job) { j.Builds = j.Builds[:2] }, []string{store.SampleBench().Builds[2].Name + " removed"}},
		{"a build more", func(j *job.Job) {
			b := j.Builds[0].Clone()
			b.Name, b.Length = "Fourth", b.Length+unit.Inch
			j.Builds = append(j.Builds, b)
		}, []string{"Fourth added"}},
		{"another name", func(j *job.Job) { j.Builds[0].Name = "Renamed" }, []string{first + " renamed Renamed"}},
		{"another order", func(j *job.Job) {
			j.Builds[0], j.Builds[1] = j.Builds[1], j.Builds[0]
			j.Baseline = 1
		}, []string{"the builds stand in another order"}},
		{"a price", func(j *job.Job) { j.Builds[0].Head.Price = unit.Some(17.5) }, []string{first + ": head price "}},
		{"proven", func(j *job.Job) { j.Builds[0].Proven = !j.Builds[0].Proven }, []string{first + ": proven "}},
		{"the same name in another build", func(j *job.Job) {
			j.Builds[0].Nock.Weight, j.Builds[1].Head.Weight = j.Builds[0].Nock.Weight+unit.Grain, j.Builds[1].Head.Weight+25*unit.Grain
		}, []string{first + ": nock ", store.SampleBench().Builds[1].Name + ": head "}},
	} {
		got := revised(c.change)
		ok := len(got) == len(c.want)
		for i := range min(len(got), len(c.want)) {
			ok = ok && strings.HasPrefix(got[i], c.want[i])
		}
		if !ok {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	// What a change does is said for what it does, the right way round.
	heavier := revised(func(j *job.Job) { j.Builds[0].Insert.Value.Weight += 25 * unit.Grain })[0]
	if !strings.Contains(heavier, "that is +25.0 ") || !strings.Contains(heavier, "FOC +") || !strings.Contains(heavier, "lower") {
		t.Errorf("25 gr more: %s", heavier)
	}
}

// No difference between two jobs goes unsaid, whatever it is of.
func TestEveryDifferenceIsSaid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		jobs := [2]*job.Job{}
		for i := range jobs {
			jobs[i] = enginetest.Job(t)
		}
		was, other := jobs[0], jobs[1]
		now := was.Clone()
		// One thing of the other job at a time.
		switch rapid.IntRange(0, 9).Draw(t, "what") {
		case 0:
			now.Bow = other.Bow
		case 1:
			now.Sight = other.Sight
		case 2:
			now.Air = other.Air
		case 3:
			now.Limits = other.Limits
		case 4:
			now.Distances, now.TargetRadius, now.Crosswind, now.Slope, now.Currency = other.Distances, other.TargetRadius, other.Crosswind, other.Slope, other.Currency
		case 5:
			name := now.Builds[0].Name
			now.Builds[0] = other.Builds[0].Clone()
			now.Builds[0].Name = name
		case 6:
			// One value of one piece.
			fields := record.Fields(piecesOf(&now.Builds[0])[rapid.IntRange(0, 2).Draw(t, "piece")])
			f := fields[rapid.IntRange(0, len(fields)-1).Draw(t, "value")]
			before := now.Encode()
			if f.Need || f.Key == "name" {
				return
			}
			f.Clear()
			if bytes.Equal(before, now.Encode()) {
				return
			}
			if _, err := job.DecodeBench(now.Encode()); err != nil {
				return
			}
		case 7:
			now.Builds[0].Assembly = other.Builds[0].Assembly
		case 8:
			now.Builds[0].Dozen = other.Clone().Builds[0].Dozen
		case 9:
			// One arrow of the build list, or one piece that was weighed.
			b := &now.Builds[0].Dozen.Value
			switch {
			case len(b.Plan) > 0 && rapid.Bool().Draw(t, "a tick"):
				b.Plan[0].Made = !b.Plan[0].Made
			case len(b.Plan) > 1:
				b.Plan[0], b.Plan[1] = b.Plan[1], b.Plan[0]
			case len(b.Heads) > 0:
				b.Heads[0].LeftOut = !b.Heads[0].LeftOut
			}
		}
		said := Revised(unit.System{}, was, now)
		if same := was.Equal(now); same != (len(said) == 0) {
			t.Fatalf("the same: %v, said: %q\n%s\n%s", same, said, was.Encode(), now.Encode())
		}
	})
}

func piecesOf(b *arrow.Build) []any { return []any{&b.Shaft, &b.Nock, &b.Head} }
