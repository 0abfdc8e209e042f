package arrow

import (
	"math"

	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// Outline is what the air sees of an arrow. It is comparable: two builds of
// the same outline have the same drag.
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
func OutlineOf(b *Build) (Outline, error) {
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

// Area returns the shaft's cross-section in m², on which coefficients of the air
// are based.
func (o *Outline) Area() float64 { return Area(o.Diameter) }

// Area returns the cross-section of a shaft in m².
func Area(diameter unit.Length) float64 { return math.Pi * float64(diameter*diameter) / 4 }
