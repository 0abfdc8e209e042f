package session

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
)

// A random bench stays small enough to work out thousands of times.
const (
	mostBuilds   = 4
	mostReadings = 4
)

// edits are all kinds of change that a bench offers. Each gets a copy of the
// job and says what it did.
var edits = []func(j *job.Job, r *rand.Rand, drawer []part.Part) string{
	func(j *job.Job, r *rand.Rand, drawer []part.Part) string {
		b := anyBuild(j, r)
		kind := part.Kinds[r.IntN(len(part.Kinds))]
		next, without, ok := Neighbour(b, drawer, kind, r.IntN(2) == 0)
		switch {
		case without:
			Without(b, kind)
		case ok:
			Put(b, next)
		}
		return "step " + string(kind)
	},
	func(j *job.Job, r *rand.Rand, drawer []part.Part) string {
		Put(anyBuild(j, r), drawer[r.IntN(len(drawer))])
		return "put"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		kind := part.Kinds[r.IntN(len(part.Kinds))]
		if Optional(kind) {
			Without(anyBuild(j, r), kind)
		}
		return "without " + string(kind)
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		b, kind := anyBuild(j, r), part.Kinds[r.IntN(len(part.Kinds))]
		if _, has := Held(b, kind); has {
			Reweigh(b, kind, unit.Mass(1+r.IntN(200))*unit.Grain)
		}
		return "reweigh " + string(kind)
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		b := anyBuild(j, r)
		b.Recut(NextLength(b.Length, r.IntN(2) == 0, unit.System{}))
		return "length"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		anyBuild(j, r).Extras = []part.Extra{{Name: "glue", Weight: unit.Mass(1+r.IntN(9)) * unit.Grain, Balance: 29 * unit.Inch}}
		return "extras"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		anyBuild(j, r).Name = FreeName(j, fmt.Sprintf("name %d", r.IntN(5)))
		return "rename"
	},
	func(j *job.Job, r *rand.Rand, drawer []part.Part) string {
		if b, ok := Fresh(j, drawer); ok && len(j.Builds) < mostBuilds {
			Insert(j, r.IntN(len(j.Builds)+1), b)
		}
		return "add"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		if len(j.Builds) < mostBuilds {
			b := anyBuild(j, r).Clone()
			b.Name = FreeName(j, b.Name)
			Insert(j, r.IntN(len(j.Builds)+1), b)
		}
		return "duplicate"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		if len(j.Builds) > 1 {
			Remove(j, r.IntN(len(j.Builds)))
		}
		return "remove"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		Swap(j, r.IntN(len(j.Builds)), r.IntN(len(j.Builds)))
		return "swap"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		j.Baseline = r.IntN(len(j.Builds))
		return "baseline"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		j.Crosswind, j.Slope = unit.Some(unit.Speed(r.IntN(9))*unit.MilePerHour), unit.Some(unit.Angle(r.IntN(60)-30)*unit.Degree)
		return "wind and slope"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		j.Distances = nil
		for i := range r.IntN(4) {
			j.Distances = append(j.Distances, unit.Length(10+20*i+r.IntN(20))*unit.Yard)
		}
		return "distances"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		anyBuild(j, r).DragCoefficient = unit.Some(1.5 + r.Float64())
		return "drag"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		j.Bow.Value.Peak = unit.Some(unit.Force(40+r.IntN(40)) * unit.PoundForce)
		return "peak"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		if len(j.Bow.Value.Readings) < mostReadings {
			j.Bow.Value.Readings = append(j.Bow.Value.Readings, bow.Reading{
				Arrow: unit.Mass(350+r.IntN(300)) * unit.Grain, Speed: unit.Speed(250+r.IntN(50)) * unit.FootPerSecond,
			})
		}
		return "reading added"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		if n := len(j.Bow.Value.Readings); n > 0 {
			j.Bow.Value.Readings = j.Bow.Value.Readings[:n-1]
		}
		return "reading removed"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		if n := len(j.Bow.Value.Readings); n > 0 {
			j.Bow.Value.Readings[r.IntN(n)].Speed += unit.FootPerSecond
		}
		return "reading edited in place"
	},
	func(j *job.Job, r *rand.Rand, _ []part.Part) string {
		*j = *store.SampleBench()
		return "open"
	},
}

func anyBuild(j *job.Job, r *rand.Rand) *arrow.Build { return &j.Builds[r.IntN(len(j.Builds))] }

func TestAThousandChangesUndoneAndDoneAgainGiveTheSameBytes(t *testing.T) {
	const changes = 1000
	for seed := range uint64(3) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(seed, 1))
			drawer := store.SampleParts()
			s := New(store.SampleBench(), unit.System{})
			states := [][]byte{s.Job().Encode()}
			var whats []string
			for len(states) <= changes {
				old := s.Job()
				var what string
				changed, err := s.Do("", func(j *job.Job) { what = edits[r.IntN(len(edits))](j, r, drawer) })
				if err != nil {
					t.Fatalf("%s: %v", what, err)
				}
				now := s.Job().Encode()
				if !bytes.Equal(old.Encode(), states[len(states)-1]) {
					t.Fatalf("%s changed the job that was there before", what)
				}
				if changed != !bytes.Equal(now, states[len(states)-1]) {
					t.Fatalf("%s: Do says changed is %v, the bytes say otherwise", what, changed)
				}
				if !changed {
					continue
				}
				if _, err := job.DecodeBench(now); err != nil {
					t.Fatalf("after %s the bench could not be read back: %v", what, err)
				}
				states, whats = append(states, now), append(whats, what)
			}
			for i := changes - 1; i >= 0; i-- {
				if _, ok := s.Undo(); !ok {
					t.Fatalf("no more to undo with %d changes left", i+1)
				}
				if !bytes.Equal(s.Job().Encode(), states[i]) {
					t.Fatalf("undoing %s does not give back what was there", whats[i])
				}
			}
			if _, ok := s.Undo(); ok {
				t.Error("there was more to undo than was done")
			}
			for i := 1; i <= changes; i++ {
				if _, ok := s.Redo(); !ok || !bytes.Equal(s.Job().Encode(), states[i]) {
					t.Fatalf("doing %s again does not give the same (there was one: %v)", whats[i-1], ok)
				}
			}
			if _, ok := s.Redo(); ok {
				t.Error("there was more to do again than was undone")
			}
		})
	}
}

func TestAllKindsOfChangeHappen(t *testing.T) {
	// The test above proves little about a kind of change that never changes
	// anything.
	r := rand.New(rand.NewPCG(7, 7))
	drawer := store.SampleParts()
	for i, edit := range edits {
		changed := false
		s := New(store.SampleBench(), unit.System{})
		for range 200 {
			if changed, _ = s.Do("", func(j *job.Job) { edit(j, r, drawer) }); changed {
				break
			}
			s.Do("", func(j *job.Job) { j.Baseline = (j.Baseline + 1) % len(j.Builds) })
		}
		if !changed {
			t.Errorf("change %d never changes the sample bench", i)
		}
	}
}

func TestAChangeThatChangesNothingIsNotRemembered(t *testing.T) {
	s := New(store.SampleBench(), unit.System{})
	before := s.Job()
	if changed, _ := s.Do("nothing", func(j *job.Job) { j.Builds[0].Name = j.Builds[0].Name + "" }); changed {
		t.Error("Do says that something changed")
	}
	if s.Job() != before {
		t.Error("the job is another one")
	}
	if what, ok := s.Undo(); ok {
		t.Errorf("there is %q to undo", what)
	}
}

func TestANothingKeepsWhatCanBeDoneAgain(t *testing.T) {
	s := New(store.SampleBench(), unit.System{})
	s.Do("one", func(j *job.Job) { j.Baseline = 1 })
	s.Undo()
	s.Do("nothing", func(*job.Job) {})
	if what, ok := s.Redo(); !ok || what != "one" {
		t.Errorf("redo says %q, %v, want one", what, ok)
	}
}

func TestANewChangeEndsWhatCouldBeDoneAgain(t *testing.T) {
	s := New(store.SampleBench(), unit.System{})
	s.Do("one", func(j *job.Job) { j.Baseline = 1 })
	s.Undo()
	s.Do("two", func(j *job.Job) { j.Baseline = 2 })
	if what, ok := s.Redo(); ok {
		t.Errorf("%q can be done again after another change", what)
	}
	if what, ok := s.Undo(); !ok || what != "two" {
		t.Errorf("undo says %q, %v, want two", what, ok)
	}
}

func TestTheSheetFollowsTheJob(t *testing.T) {
	s := New(store.SampleBench(), unit.System{})
	follows := func(when string) {
		t.Helper()
		if s.Sheet().Job != s.Job() || len(s.Sheet().Builds) != len(s.Job().Builds) {
			t.Errorf("%s the figures are of another job", when)
		}
	}
	follows("at first")
	s.Do("remove", func(j *job.Job) { Remove(j, 0) })
	follows("after a change")
	s.Undo()
	follows("after undo")
	s.Redo()
	follows("after redo")
}

// A change that no file could hold is refused: it could never be saved.
func TestAChangeThatCannotBeSavedIsRefused(t *testing.T) {
	s := New(store.SampleBench(), unit.System{})
	before := s.Job().Encode()
	changed, err := s.Do("too heavy", func(j *job.Job) { j.Builds[0].Shaft.TubeWeight = unit.Some(1200 * unit.Grain) })
	if changed || err == nil || !strings.Contains(err.Error(), "builds[0].shaft.tube_weight_gr: must be 0 to 1000") {
		t.Errorf("changed %v: %v", changed, err)
	}
	if _, ok := s.Undo(); ok || !bytes.Equal(before, s.Job().Encode()) {
		t.Error("something was changed or remembered")
	}
}

// A job that was replaced as a whole takes its name along; an edit does not.
func TestUndoOfAReplacementBringsTheNameBack(t *testing.T) {
	s := New(store.SampleBench(), unit.System{})
	s.SetName("mine")
	s.Do("one", func(j *job.Job) { j.Baseline = 1 })
	s.Replace("open", job.New(), "club")
	for _, step := range []struct {
		move func() (string, bool)
		want string
	}{{s.Undo, "mine"}, {s.Undo, "mine"}, {s.Redo, "mine"}, {s.Redo, "club"}, {s.Undo, "mine"}} {
		if _, ok := step.move(); !ok || s.Name() != step.want {
			t.Errorf("the name is %q, want %q", s.Name(), step.want)
		}
	}
}
