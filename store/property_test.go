package store

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// drawJob makes any job that the format accepts: sample parts, mixed freely,
// with numbers and names changed.
func drawJob(t *rapid.T, builds int) *job.Job {
	j := job.New()
	if rapid.Bool().Draw(t, "bow") {
		j.Bow = unit.Some(sampleBow())
		j.Bow.Value.Peak = unit.Some(unit.Force(rapid.Float64Range(5, 100).Draw(t, "peak")) * unit.PoundForce)
		j.Bow.Value.Name = drawText(t, "bow's name")
	}
	kinds := map[part.Kind][]part.Part{}
	for _, p := range SampleParts() {
		kinds[p.Kind] = append(kinds[p.Kind], p)
	}
	pick := func(kind part.Kind) part.Part { return rapid.SampledFrom(kinds[kind]).Draw(t, string(kind)) }
	for i := range builds {
		b := arrow.Build{
			Name:   fmt.Sprintf("%d %s", i, drawText(t, "name")),
			Length: unit.Length(rapid.Float64Range(0, 59).Draw(t, "length")) * unit.Inch,
			Shaft:  pick(part.KindShaft).Shaft.Value, Nock: pick(part.KindNock).Nock.Value, Head: pick(part.KindHead).Head.Value,
		}
		b.Name = label.Clean(b.Name)
		b.Head.Weight = unit.Mass(rapid.Float64Range(0, 1000).Draw(t, "head")) * unit.Grain
		if rapid.Bool().Draw(t, "insert") {
			b.Insert = pick(part.KindInsert).Insert
		}
		if rapid.Bool().Draw(t, "vanes") {
			b.Vanes = pick(part.KindVanes).Vanes
		}
		for range rapid.IntRange(0, 2).Draw(t, "extras") {
			b.Extras = append(b.Extras, part.Extra{Name: drawText(t, "extra"), Weight: unit.Grain, Balance: unit.Inch})
		}
		j.Builds = append(j.Builds, b)
	}
	return j
}

func drawText(t *rapid.T, name string) string { return label.Clean(rapid.String().Draw(t, name)) }

// model is what a workbook must hold after a series of calls.
type model struct {
	bench  Bench
	saved  map[string][]*job.Job // kind and name → revisions
	ids    map[string]uint64
	binned map[string]bool
	order  []string // newest last
}

func TestAnySeriesOfSavesComesBack(t *testing.T) {
	c := newClock()
	rapid.Check(t, func(rt *rapid.T) {
		w := openAt(t, newPath(t), c)
		// Syncing to the disk is what other tests are about; this one makes
		// thousands of changes.
		w.db.NoSync = true
		m := &model{bench: Bench{Job: SampleBench()}, saved: map[string][]*job.Job{}, ids: map[string]uint64{}, binned: map[string]bool{}}
		rt.Repeat(map[string]func(*rapid.T){
			"bench": func(rt *rapid.T) {
				m.bench = Bench{Job: drawJob(rt, rapid.IntRange(0, 3).Draw(rt, "builds")), View: rapid.SliceOf(rapid.Byte()).Draw(rt, "view")}
				if err := w.SaveBench(m.bench); err != nil {
					rt.Fatal(err)
				}
			},
			"save": func(rt *rapid.T) { m.save(rt, w) },
			"bin": func(rt *rapid.T) {
				if len(m.order) == 0 {
					return
				}
				key := rapid.SampledFrom(m.order).Draw(rt, "entry")
				m.binned[key] = rapid.Bool().Draw(rt, "binned")
				if err := w.Bin(m.ids[key], m.binned[key]); err != nil {
					rt.Fatal(err)
				}
			},
			"reopen": func(rt *rapid.T) {
				if err := w.Close(); err != nil {
					rt.Fatal(err)
				}
				var err error
				if w, err = Open(w.path, c.options()); err != nil {
					rt.Fatal(err)
				}
				w.db.NoSync = true
			},
			"": func(rt *rapid.T) { m.compare(rt, w) },
		})
		closeAndCheck(t, w)
	})
}

func (m *model) save(rt *rapid.T, w *Workbook) {
	kind := rapid.SampledFrom([]Kind{KindBench, KindBuild, KindBow}).Draw(rt, "kind")
	name := rapid.SampledFrom([]string{"a", "b", "c d", "é"}).Draw(rt, "name")
	key := string(kind) + name
	j := drawJob(rt, 1)
	if kind == KindBow {
		j.Bow = unit.Some(j.Bow.Or(sampleBow()))
		j = BowOf(j)
	}
	if before := m.saved[key]; len(before) > 0 && rapid.Bool().Draw(rt, "same") {
		j = before[len(before)-1]
	}
	e, added, err := w.Save(kind, name, j)
	if err != nil {
		rt.Fatal(err)
	}
	before := m.saved[key]
	if want := len(before) == 0 || !before[len(before)-1].Equal(j); added != want {
		rt.Fatalf("added %v, want %v", added, want)
	}
	m.ids[key], m.binned[key] = e.ID, false
	if added {
		m.saved[key] = append(before, j)
		m.order = append(slices.DeleteFunc(m.order, func(k string) bool { return k == key }), key)
	}
}

func (m *model) compare(rt *rapid.T, w *Workbook) {
	bench, err := w.LoadBench()
	if err != nil || !bench.Job.Equal(m.bench.Job) || string(bench.View) != string(m.bench.View) {
		rt.Fatalf("bench: %v", err)
	}
	list, err := w.List()
	if err != nil || len(list) != len(m.order) {
		rt.Fatalf("%d entries, want %d: %v", len(list), len(m.order), err)
	}
	for i, e := range list {
		key := string(e.Kind) + e.Name
		if key != m.order[len(m.order)-1-i] || e.ID != m.ids[key] || e.Revisions != len(m.saved[key]) || e.Binned != m.binned[key] {
			rt.Fatalf("entry %d: %+v", i, e)
		}
		for r, want := range m.saved[key] {
			if got, err := w.Load(e.ID, r+1); err != nil || !got.Equal(want) {
				rt.Fatalf("%s revision %d: %v", key, r+1, err)
			}
		}
	}
}
