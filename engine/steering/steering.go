// Package steering answers what the air does to an arrow that does not point
// where it flies: how far its sideways push lies behind the balance point, how
// hard that turns the arrow straight, and how much the blades of a head pull the
// other way.
//
// The method is that of slender bodies at small angles (Barrowman & Barrowman,
// The Theoretical Prediction of the Center of Pressure, 1966; worked cases in
// Centuri TIR-33, 1970). All slopes are per radian, on the cross-section of the
// shaft.
package steering

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// Fins are alike and stand evenly around a round body: vanes, or blades.
type Fins struct {
	Count  int
	Radius unit.Length // of the body
	Span   unit.Length // from the body outwards
	Root   unit.Length // along the body
	Tip    unit.Length
	Sweep  unit.Length // how far the front of the tip lies behind that of the root
}

// Slope returns the slope of the sideways force on the fins, the air around the
// body and the mean over a roll included: the published form for three and four
// fins holds for any count so.
func (f *Fins) Slope() float64 {
	chords := float64(f.Root + f.Tip)
	if f.Span <= 0 || chords <= 0 {
		return 0
	}
	span, diameter := float64(f.Span), 2*float64(f.Radius)
	middle := math.Hypot(span, float64(f.Sweep+(f.Tip-f.Root)/2)) // the line through the middle of the chords
	body := 1 + float64(f.Radius/(f.Span+f.Radius))
	aspect := 2 * middle / chords
	return body * 4 * float64(f.Count) * (span / diameter) * (span / diameter) / (1 + math.Sqrt(1+aspect*aspect))
}

// Station returns where that force acts, behind the front of the root.
func (f *Fins) Station() unit.Length {
	chords := f.Root + f.Tip
	if chords <= 0 {
		return 0
	}
	return f.Sweep/3*(f.Root+2*f.Tip)/chords + (chords-f.Root*f.Tip/chords)/6
}

// NoseSlope is that of a nose of any shape.
const NoseSlope = 2.

// NoseStation returns where the force on a nose of that length acts, behind its
// tip.
func NoseStation(shape part.Shape, length unit.Length) unit.Length {
	switch shape {
	case part.Cone:
		return length * 2 / 3
	case part.Blunt:
		return length / 2
	}
	return length * 0.466
}

// BodySlope returns the slope of the force on a long body at an angle of 1°, where
// the wobble of a well-shot arrow lies: 1.1 (seen from the side / cross-section)
// sin²α/α, after Galejs.
func BodySlope(diameter, length unit.Length) float64 {
	const angle = math.Pi / 180
	side := float64(diameter*length) / arrow.Area(diameter)
	return 1.1 * side * math.Sin(angle) * math.Sin(angle) / angle
}

// Force is the sideways push on one part of an arrow: its slope, and where it
// acts, from the throat of the nock.
type Force struct {
	Slope float64
	At    unit.Length
}

// Forces are what the air does to a build. Vanes and blades have no slope where
// there are none.
type Forces struct {
	Nose, Body, Vanes, Blades Force
	Area                      float64 // cross-section, m²
}

// Of returns the forces on a build. The error says which input it lacks.
//
// Vanes have their rear edges in line. Blades are triangles whose rear edge stands
// at the head's seat; those of an expandable head lie in during flight.
func Of(b *arrow.Build) (Forces, error) {
	o, err := arrow.OutlineOf(b)
	if err != nil {
		return Forces{}, err
	}
	if !b.Head.Length.Given {
		return Forces{}, figure.Needs("the length of the head")
	}
	f := Forces{Area: o.Area()}
	tip := b.Seat() + b.Head.Length.Value
	f.Nose = Force{NoseSlope, tip - NoseStation(b.Head.Shape, b.Head.Length.Value)}
	f.Body = Force{BodySlope(o.Diameter, o.Tube), b.Nock.ThroatOffset() + o.Tube/2}
	if o.Vanes > 0 {
		fins := Fins{o.Vanes, o.Diameter / 2, o.VaneHeight, o.VaneRoot, o.VaneTip, o.VaneRoot - o.VaneTip}
		f.Vanes = Force{fins.Slope(), b.Vanes.Value.Rear + o.VaneRoot - fins.Station()}
	}
	if o.Blades > 0 {
		fins := Fins{o.Blades, o.Diameter / 2, o.BladeSpan, o.BladeLength, 0, o.BladeLength}
		f.Blades = Force{fins.Slope(), b.Seat() + o.BladeLength - fins.Station()}
	}
	return f, nil
}

// Parts lists the forces with what they act on, from the head backwards, those of
// no slope left out.
func (f *Forces) Parts() []Part {
	out := make([]Part, 0, 4)
	for _, p := range []Part{{"nose", f.Nose}, {"blades", f.Blades}, {"shaft", f.Body}, {"vanes", f.Vanes}} {
		if p.Slope != 0 {
			out = append(out, p)
		}
	}
	return out
}

// Part is the force on one part of an arrow.
type Part struct {
	Name string
	Force
}

// PressurePoint returns where the forces together act, from the throat.
func (f *Forces) PressurePoint() unit.Length {
	sum, first := 0.0, unit.Length(0)
	for _, p := range [4]Force{f.Nose, f.Body, f.Vanes, f.Blades} {
		sum += p.Slope
		first += unit.Length(p.Slope) * p.At
	}
	return first / unit.Length(sum)
}

// about returns a force's moment about a balance point, in metres for each radian:
// positive where it turns the arrow straight.
func (p Force) about(balance unit.Length) float64 { return p.Slope * float64(balance-p.At) }

// Turning returns what turns the arrow straight about its balance point, in metres
// for each radian: times area and dynamic pressure it is a moment. It is negative
// for an arrow that turns over.
func (f *Forces) Turning(balance unit.Length) float64 {
	return f.Nose.about(balance) + f.Body.about(balance) + f.Vanes.about(balance) + f.Blades.about(balance)
}

// HeadShare returns how much of what the vanes do the blades undo, as a share. It
// is false without either, and where the vanes turn nothing straight.
func (f *Forces) HeadShare(balance unit.Length) (share float64, ok bool) {
	vanes := f.Vanes.about(balance)
	if f.Blades.Slope == 0 || vanes <= 0 {
		return 0, false
	}
	return -f.Blades.about(balance) / vanes, true
}

// WobbleLength returns the wavelength of the arrow's swinging to and fro about its
// path, 2π √(2 I / (ρ A Σ C (balance − x))), which its speed does not change. It is
// false for an arrow that does not swing back.
func (f *Forces) WobbleLength(m arrow.Moments, density float64) (unit.Length, bool) {
	turning := f.Turning(m.Balance)
	if turning <= 0 {
		return 0, false
	}
	return unit.Length(2 * math.Pi * math.Sqrt(2*float64(m.Inertia)/(density*f.Area*turning))), true
}
