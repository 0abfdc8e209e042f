package bow_test

import (
	"testing"

	"foreshaft/engine/bow"
	"foreshaft/engine/unit"
)

// rated is a compound known by a reading at the conditions of a speed rating:
// 70 lb, 30 in, 350 gr (ASTM F1544-11 sets those; the speed is invented).
func rated(peak, draw float64) bow.Bow {
	r := reading(350, 325, 1)
	r.Conditions = bow.Conditions{Peak: unit.Some(lb(70)), Draw: unit.Some(in(30)), Brace: unit.Some(in(6.5))}
	return bow.Bow{Peak: unit.Some(lb(peak)), Draw: unit.Some(in(draw)), Readings: []bow.Reading{r}}
}

func speed(t *testing.T, b bow.Bow, grains float64) float64 {
	t.Helper()
	f := fitted(t, b)
	return f.Speed(gr(grains)).In(unit.FootPerSecond)
}

// Common practice, no source: about 10 ft/s for an inch of draw near 30 in.
func TestAnInchOfDraw(t *testing.T) {
	for _, draw := range []float64{29, 30} {
		near(t, "ft/s for an inch", speed(t, rated(70, draw+0.5), 350)-speed(t, rated(70, draw-0.5), 350), 10, 0.75)
	}
}

// Common practice, no source: about 2 to 2.5 ft/s for a pound of peak weight
// near the rating conditions.
func TestAPoundOfPeak(t *testing.T) {
	near(t, "ft/s for a pound", speed(t, rated(70, 30), 350)-speed(t, rated(69, 30), 350), 2.25, 0.25)
}

// Common practice, no source: one ft/s costs about 2.5 to 3 gr near 350 gr and
// about 4 gr near 500 gr.
func TestAFootPerSecondInGrains(t *testing.T) {
	cost := func(grains float64) float64 {
		b := rated(70, 30)
		return 10 / (speed(t, b, grains-5) - speed(t, b, grains+5))
	}
	near(t, "gr near 350", cost(350), 2.75, 0.25)
	near(t, "gr near 500", cost(500), 4, 0.4)
}
