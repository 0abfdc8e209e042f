package session

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/store"
)

var centimetres = unit.System{Metric: unit.InCentimetres}

// A press changes a metric length to the next whole multiple of 2.5 mm, and the
// way there and back is the same length.
func TestNextLengthStepsByTwoAndAHalfMillimetresInMetric(t *testing.T) {
	const (
		step = 2.5 * unit.Millimetre
		most = 1524 * unit.Millimetre // 60 in, what a job may hold
		tiny = 1e-9
	)
	rapid.Check(t, func(t *rapid.T) {
		units := rapid.SampledFrom([]unit.System{centimetres, {Metric: unit.InMillimetres}, {Grams: true, Metric: unit.InMillimetres, InNewton: true}}).Draw(t, "units")
		l := unit.Length(rapid.Float64Range(0, 1524).Draw(t, "mm")) * unit.Millimetre
		up, down := NextLength(l, true, units), NextLength(l, false, units)
		for _, next := range []unit.Length{up, down} {
			if off := math.Abs(math.Remainder(next.In(unit.Millimetre), 2.5)); off > tiny && math.Abs(next.In(unit.Millimetre)-1524) > tiny {
				t.Fatalf("%g mm steps to %.9g mm, which is no multiple of 2.5", l.In(unit.Millimetre), next.In(unit.Millimetre))
			}
		}
		if l < most-step && (up <= l || up > l+step+tiny*unit.Millimetre) || l > step && (down >= l || down < l-step-tiny*unit.Millimetre) {
			t.Fatalf("%g mm steps to %.9g and %.9g mm", l.In(unit.Millimetre), up.In(unit.Millimetre), down.In(unit.Millimetre))
		}
		if up > most || down < 0 {
			t.Fatalf("%g mm steps to %.9g and %.9g mm, beyond what a build may be", l.In(unit.Millimetre), up.In(unit.Millimetre), down.In(unit.Millimetre))
		}
		if back := NextLength(NextLength(up, false, units), true, units); up < most && back != up {
			t.Fatalf("down and up from %v comes back to %v", up, back)
		}
		if back := NextLength(NextLength(down, true, units), false, units); down > 0 && NextLength(down, true, units) < most && back != down {
			t.Fatalf("up and down from %v comes back to %v", down, back)
		}
	})
}

func TestNextLengthByHand(t *testing.T) {
	for _, c := range []struct {
		from     unit.Length
		units    unit.System
		up, down unit.Length
	}{
		{750 * unit.Millimetre, centimetres, 752.5 * unit.Millimetre, 747.5 * unit.Millimetre},
		{29.5 * unit.Inch, centimetres, 750 * unit.Millimetre, 747.5 * unit.Millimetre}, // 749.3 mm
		{29.5 * unit.Inch, unit.System{Grams: true}, 29.625 * unit.Inch, 29.375 * unit.Inch},
		{2 * unit.Millimetre, centimetres, 2.5 * unit.Millimetre, 0},
		{1523 * unit.Millimetre, centimetres, 60 * unit.Inch, 1522.5 * unit.Millimetre},
	} {
		up, down := NextLength(c.from, true, c.units), NextLength(c.from, false, c.units)
		if math.Abs(float64(up-c.up)) > 1e-12 || math.Abs(float64(down-c.down)) > 1e-12 {
			t.Errorf("from %.5g mm to %.6g and %.6g mm, want %.6g and %.6g", c.from.In(unit.Millimetre),
				up.In(unit.Millimetre), down.In(unit.Millimetre), c.up.In(unit.Millimetre), c.down.In(unit.Millimetre))
		}
	}
}

// Choosing units is no change of the job: nothing is remembered for undo, and
// what is told afterwards is in the new ones, after undo too.
func TestUnitsAreNoChangeOfTheJob(t *testing.T) {
	s := New(store.SampleBench(), unit.System{})
	before, first := s.Job(), s.Sheet().Energy()
	s.SetUnits(unit.System{PerSec: true})
	if s.Job() != before || s.Units() != (unit.System{PerSec: true}) {
		t.Error("the job is another one")
	}
	if _, ok := s.Undo(); ok {
		t.Error("units can be undone")
	}
	told := s.Sheet().Energy()
	if told == first || told[len(told)-2:] != " J" {
		t.Errorf("energy is told as %q, before as %q", told, first)
	}
	if _, err := s.Do("longer", func(j *job.Job) { j.Builds[0].Length += unit.Inch }); err != nil {
		t.Fatal(err)
	}
	s.Undo()
	if got := s.Sheet().Energy(); got != told {
		t.Errorf("after undo energy is told as %q, want %q", got, told)
	}
	if _, err := s.Replace("another", job.New(), "x"); err != nil || s.Sheet().Units != (unit.System{PerSec: true}) {
		t.Errorf("another job is told in %+v (%v)", s.Sheet().Units, err)
	}
}
