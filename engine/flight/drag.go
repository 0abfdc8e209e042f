package flight

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/unit"
)

// Standard uncertainties of a drag coefficient.
const (
	// CommonDragU is the relative error that the formula makes of all builds
	// alike, and OwnDragU what it makes of one outline besides.
	CommonDragU = 0.25
	OwnDragU    = 0.10
	// GivenDragU is that of a coefficient that is given without its own.
	GivenDragU = 0.05
)

// Drag is a drag coefficient and what it is made of.
type Drag struct {
	Coefficient float64
	Laminar     float64 // with a smooth boundary layer all along
	Turbulent   float64 // with a tripped one
	Share       float64 // how much of it is turbulent, 0 to 1
	Reynolds    float64 // on the diameter
}

// DragOf returns the drag coefficient on the shaft's cross-section at a speed, in
// air of that density (kg/m³) and viscosity (Pa·s): skin friction of a flat
// plate (laminar 1.328/√Re, Blasius; turbulent 0.455/(log₁₀ Re)^2.58, Prandtl
// and Schlichting) on tube, vanes and blades, what their edges add, and nose and
// base. The edge factors and the two values for nose and base are fitted to
// coefficients measured in wind tunnels and in free flight (KAKEN 18K03943;
// Ortiz et al., Proceedings 49 (2020) 56).
func DragOf(o *arrow.Outline, v unit.Speed, density, viscosity float64) Drag {
	perMetre := density * float64(v) / viscosity
	out := Drag{Reynolds: perMetre * float64(o.Diameter)}
	out.Laminar = coefficient(o, perMetre, func(re float64) float64 { return 1.328 / math.Sqrt(re) }) + noseAndBaseLaminar
	out.Turbulent = coefficient(o, perMetre, func(re float64) float64 { return 0.455 / math.Pow(math.Log10(re), 2.58) }) + noseAndBaseTurbulent
	// The boundary layer turns turbulent between these Reynolds numbers.
	z := max(0, min(1, (out.Reynolds-tripsFrom)/(tripsTo-tripsFrom)))
	out.Share = z * z * (3 - 2*z)
	if o.Rough {
		out.Share = 1
	}
	out.Coefficient = out.Share*out.Turbulent + (1-out.Share)*out.Laminar
	return out
}

const (
	vaneEdge, bladeEdge = 0.7, 0.6

	noseAndBaseLaminar, noseAndBaseTurbulent = 0.6, 0.3

	tripsFrom, tripsTo = 1.2e4, 2.2e4

	// leastReynolds keeps the friction of a speck finite: nothing an arrow
	// carries is that small at the speeds of arrows.
	leastReynolds = 100
)

func coefficient(o *arrow.Outline, perMetre float64, friction func(re float64) float64) float64 {
	on := func(length unit.Length) float64 { return friction(max(perMetre*float64(length), leastReynolds)) }
	sum := 4 * float64(o.Tube/o.Diameter) * on(o.Tube)
	area := o.Area()
	if o.Vanes > 0 {
		side := float64(o.VaneHeight * (o.VaneRoot + o.VaneTip) / 2)
		sum += float64(o.Vanes) * (2*side*on(o.VaneRoot) + vaneEdge*float64(o.VaneHeight*o.VaneThickness)) / area
	}
	if o.Blades > 0 {
		side := float64(o.BladeSpan * o.BladeLength / 2)
		sum += float64(o.Blades) * (2*side*on(o.BladeLength) + bladeEdge*float64(o.BladeSpan*o.BladeThickness)) / area
	}
	return sum
}

// Decay returns k = ρ C_D A/(2 m) in 1/m: how fast an arrow's speed dies away
// along its path.
func Decay(density, coefficient, area float64, m unit.Mass) float64 {
	return density * coefficient * area / (2 * float64(m))
}
