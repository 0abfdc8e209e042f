package flight

import (
	"fmt"
	"math"

	"foreshaft/engine/unit"
)

// TwoSpeeds is one arrow's speed at two places on its way, at the same height,
// measured with chronographs that read alike.
type TwoSpeeds struct {
	Near, Far   unit.Speed
	NearU, FarU unit.Speed // standard uncertainties
	Apart       unit.Length
}

// Decay returns the k in 1/m that takes the arrow from the near speed to the far
// one, and its standard uncertainty. The flat-fire formula k = ln(v₁/v₂)/X
// (McCoy, equation 5.24) is corrected for the curve of the path.
func (t TwoSpeeds) Decay() (k, u float64, err error) {
	switch {
	case t.Near <= 0 || t.Far <= 0:
		return 0, 0, fmt.Errorf("both speeds must be more than nothing")
	case t.Apart <= 0:
		return 0, 0, fmt.Errorf("the two places must lie some way apart")
	case t.Far >= t.Near:
		return 0, 0, fmt.Errorf("the far speed must be below the near one: an arrow only slows down")
	}
	x := float64(t.Apart)
	flat := math.Log(float64(t.Near/t.Far)) / x
	k = flat
	for range 30 {
		hit, err := New(Arrow{Speed: t.Near, Decay: k}, Scene{}).To(t.Apart)
		if err != nil {
			return 0, 0, fmt.Errorf("an arrow this slow does not get from one place to the other")
		}
		miss := math.Log(float64(hit.Speed/t.Far)) / x
		k += miss
		if k < 0 {
			return 0, 0, fmt.Errorf("these speeds leave no drag: measure them again")
		}
		if math.Abs(miss) < 1e-10*flat+1e-13/x {
			return k, math.Hypot(float64(t.NearU/t.Near), float64(t.FarU/t.Far)) / x, nil
		}
	}
	return 0, 0, fmt.Errorf("an arrow braked so hard hardly gets from one place to the other: measure them nearer together")
}
