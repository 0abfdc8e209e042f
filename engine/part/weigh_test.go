package part

import (
	"math"
	"testing"

	"foreshaft/engine/unit"
)

// The readings of a diameter in JCGM 100:2008, annex H has none so short: these are
// worked by hand. Mean 100.2, squares 0.04 + 0.01 + 0.09 = 0.14, s² = 0.07; a scale
// that shows tenths adds 0.01/12.
func TestWeigh(t *testing.T) {
	gr := func(x float64) unit.Mass { return unit.Mass(x) * unit.Grain }
	m, err := Weigh([]unit.Mass{gr(100.0), gr(100.1), gr(100.5)}, gr(0.1))
	want := math.Sqrt(0.07 + 0.01/12)
	if err != nil || m.Count != 3 || math.Abs(m.Weight.In(unit.Grain)-100.2) > 1e-9 || math.Abs(m.WeightU.In(unit.Grain)-want) > 1e-9 {
		t.Errorf("%v: %.4f ± %.4f gr of %d, want 100.2 ± %.4f", err, m.Weight.In(unit.Grain), m.WeightU.In(unit.Grain), m.Count, want)
	}
	// Pieces that a coarse scale does not tell apart still differ by what it rounds off.
	m, err = Weigh([]unit.Mass{gr(9), gr(9)}, gr(1))
	if err != nil || math.Abs(m.WeightU.In(unit.Grain)-1/math.Sqrt(12)) > 1e-9 {
		t.Errorf("%v: ± %.4f gr", err, m.WeightU.In(unit.Grain))
	}
	if _, err := Weigh([]unit.Mass{gr(9)}, gr(1)); err == nil {
		t.Error("one piece shows how pieces differ")
	}
	by := Measured{Weight: gr(256), WeightU: gr(1.6), Count: 6}.ByInch(32 * unit.Inch)
	if math.Abs(by.WeightPerInch.In(unit.GrainPerInch)-8) > 1e-9 || math.Abs(by.PerInchU.In(unit.GrainPerInch)-0.05) > 1e-9 || by.Count != 6 || by.Weight != 0 {
		t.Errorf("%+v", by)
	}
}
