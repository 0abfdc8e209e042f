package flight

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
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

// Outline is what the air sees of an arrow. It is comparable: two builds of the
// same outline have the same drag.
type Outline struct {
	Diameter, Tube unit.Length

	Vanes                                        int
	VaneHeight, VaneRoot, VaneTip, VaneThickness unit.Length

	// Blades that stand out in flight; Span is how far, from the shaft outwards.
	Blades                                 int
	BladeSpan, BladeLength, BladeThickness unit.Length

	// Rough is true for a head that trips the flow: blunt, bladed or expandable.
	Rough bool
}

// The usual thickness of a vane and of a blade, and how long a vane's tip is
// against its root, where nobody measured them (common practice).
const (
	usualVane  = 0.025 * unit.Inch
	usualBlade = 0.03 * unit.Inch
	usualTip   = 0.4
)

// OutlineOf returns a build's outline. The error says which input it lacks.
func OutlineOf(b *arrow.Build) (Outline, error) {
	o := Outline{Diameter: b.Shaft.OuterDiameter.Value, Tube: b.Tube()}
	if !b.Shaft.OuterDiameter.Given {
		return o, figure.Needs("the shaft's outer diameter")
	}
	if v := &b.Vanes.Value; b.Vanes.Given && v.Count > 0 {
		if !v.Height.Given {
			return o, figure.Needs("the height of the vanes")
		}
		o.Vanes, o.VaneHeight, o.VaneRoot = v.Count, v.Height.Value, v.Length
		o.VaneTip, o.VaneThickness = v.TipLength.Or(usualTip*v.Length), v.Thickness.Or(usualVane)
	}
	h := &b.Head
	o.Rough = h.Shape == part.Blunt || h.Blades > 0 || h.Expandable
	if h.Blades > 0 && !h.Expandable {
		switch {
		case !h.BladeLength.Given:
			return o, figure.Needs("the length of the head's blades")
		case !h.CutWidth.Given:
			return o, figure.Needs("the head's cut width")
		case h.CutWidth.Value < o.Diameter:
			return o, figure.Needs("a cut width of at least the shaft's diameter")
		}
		o.Blades, o.BladeLength = h.Blades, h.BladeLength.Value
		o.BladeSpan, o.BladeThickness = (h.CutWidth.Value-o.Diameter)/2, h.BladeThickness.Or(usualBlade)
	}
	return o, nil
}

// Area returns the shaft's cross-section in m², on which coefficients are based.
func (o *Outline) Area() float64 { return Area(o.Diameter) }

// Area returns the cross-section of a shaft in m².
func Area(diameter unit.Length) float64 { return math.Pi * float64(diameter*diameter) / 4 }

// Drag is a drag coefficient and what it is made of.
type Drag struct {
	Coefficient float64
	Laminar     float64 // with a smooth boundary layer all along
	Turbulent   float64 // with a tripped one
	Share       float64 // how much of it is turbulent, 0 to 1
	Reynolds    float64 // on the diameter
}

// Drag returns the drag coefficient on the shaft's cross-section at a speed, in
// air of that density (kg/m³) and viscosity (Pa·s): skin friction of a flat
// plate (laminar 1.328/√Re, Blasius; turbulent 0.455/(log₁₀ Re)^2.58, Prandtl
// and Schlichting) on tube, vanes and blades, what their edges add, and nose and
// base. The edge factors and the two values for nose and base are fitted to
// coefficients measured in wind tunnels and in free flight (KAKEN 18K03943;
// Ortiz et al., Proceedings 49 (2020) 56).
func (o *Outline) Drag(v unit.Speed, density, viscosity float64) Drag {
	perMetre := density * float64(v) / viscosity
	out := Drag{Reynolds: perMetre * float64(o.Diameter)}
	out.Laminar = o.coefficient(perMetre, func(re float64) float64 { return 1.328 / math.Sqrt(re) }) + noseAndBaseLaminar
	out.Turbulent = o.coefficient(perMetre, func(re float64) float64 { return 0.455 / math.Pow(math.Log10(re), 2.58) }) + noseAndBaseTurbulent
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

func (o *Outline) coefficient(perMetre float64, friction func(re float64) float64) float64 {
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
