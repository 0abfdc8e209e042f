// Package bow answers what a bow does to an arrow: the energy it delivers, the
// virtual mass of its moving parts, and from both the speed off the string.
//
// One bow delivers one energy E, shared between the arrow and the bow's moving
// parts, which act like an extra mass K on the string (virtual mass: Klopsteg,
// Am. J. Phys. 11 (1943) 175; Hickman, Nagler & Klopsteg, Archery: the
// Technical Side, 1947):
//
//	v = √(2 E s / (m + K))
//
// s carries energy from the conditions of a reading to the bow as it is now.
package bow

import (
	"math"
	"slices"

	"foreshaft/engine/figure"
	"foreshaft/engine/unit"
)

// Kind is the build of a bow.
type Kind string

// The kinds of bow. An empty Kind is a compound.
const (
	Compound Kind = "compound"
	Recurve  Kind = "recurve"
	Longbow  Kind = "longbow"
)

// Release is how the string is let go.
type Release string

// The ways to let go. An empty Release is an aid for a compound, else fingers.
const (
	Aid     Release = "aid"
	Fingers Release = "fingers"
)

// Bow is a bow as it is set now, and what was measured of it.
type Bow struct {
	Name            string                     `job:"name"`
	Kind            Kind                       `job:"kind" one:"compound,recurve,longbow"`
	Release         Release                    `job:"release" one:"aid,fingers"`
	Peak            unit.Optional[unit.Force]  `job:"peak_weight_lb" range:"5,100" over:"crossbow bolts have their own weight, length and nock; not covered"`
	PeakU           unit.Optional[unit.Force]  `job:"peak_weight_u_lb" range:"0,100"`
	Draw            unit.Optional[unit.Length] `job:"draw_length_in" range:"12,36" under:"crossbow bolts have their own weight, length and nock; not covered"`
	DrawU           unit.Optional[unit.Length] `job:"draw_length_u_in" range:"0,36"`
	Brace           unit.Optional[unit.Length] `job:"brace_height_in" range:"0,60"`
	RestBehindPivot unit.Optional[unit.Length] `job:"rest_behind_pivot_in" range:"-60,60"`
	MinimumArrow    unit.Optional[unit.Mass]   `job:"minimum_arrow_gr" range:"0,1000"`
	MaximumPeak     unit.Optional[unit.Force]  `job:"maximum_peak_weight_lb" range:"5,100"`
	Proven          string                     `job:"proven"`
	Readings        []Reading                  `job:"readings"`
	Rating          unit.Optional[Rating]      `job:"rating"`
}

// Conditions are the settings of a bow that its energy depends on. What is not
// given is as the bow is now.
type Conditions struct {
	Peak  unit.Optional[unit.Force]  `job:"peak_weight_lb" range:"5,100"`
	Draw  unit.Optional[unit.Length] `job:"draw_length_in" range:"12,36"`
	Brace unit.Optional[unit.Length] `job:"brace_height_in" range:"0,60"`
}

// Reading is a chronographed arrow. SD is the standard uncertainty of the
// entered speed; for a mean of n shots that is spread/√n.
type Reading struct {
	Arrow unit.Mass                 `job:"arrow_gr" range:"0,1000" need:"yes"`
	Speed unit.Speed                `job:"speed_fps" range:"30,600" need:"yes"`
	SD    unit.Optional[unit.Speed] `job:"sd_fps" range:"0,600"`
	Conditions
}

// Rating is the speed a bow is sold with.
type Rating struct {
	Speed unit.Speed `job:"speed_fps" range:"30,600" need:"yes"`
	Arrow unit.Mass  `job:"arrow_gr" range:"0,1000" need:"yes"`
	Conditions
}

// KindOrDefault returns the kind, a compound when none is given.
func (b *Bow) KindOrDefault() Kind {
	if b.Kind == "" {
		return Compound
	}
	return b.Kind
}

// ReleaseOrDefault returns the release: an aid for a compound, else fingers,
// when none is given.
func (b *Bow) ReleaseOrDefault() Release {
	switch {
	case b.Release != "":
		return b.Release
	case b.KindOrDefault() == Compound:
		return Aid
	}
	return Fingers
}

// BraceOrDefault returns the brace height, 6.5 in for a compound and 7.5 in
// otherwise when none is given (common practice).
func (b *Bow) BraceOrDefault() unit.Length {
	if b.KindOrDefault() == Compound {
		return b.Brace.Or(6.5 * unit.Inch)
	}
	return b.Brace.Or(7.5 * unit.Inch)
}

// PivotToDraw is how much longer draw length is than the distance from the
// nocking point to the pivot of the grip (ASTM F1880).
const PivotToDraw = 1.75 * unit.Inch

// Rest returns where the rest touches the arrow at full draw, from the throat,
// and false when the draw length is not known.
func (b *Bow) Rest() (unit.Length, bool) {
	return b.Draw.Value - PivotToDraw - b.RestBehindPivot.Or(0), b.Draw.Given
}

// Stroke returns how far the string pushes the arrow, draw − brace − 1.75 in, and
// false when the draw length is not known or leaves no way to push.
func (b *Bow) Stroke() (unit.Length, bool) {
	s := unit.Length(stroke(b.Draw.Value, b.BraceOrDefault()))
	return s, b.Draw.Given && s > 0
}

// PeakUncertainty returns the standard uncertainty of the peak draw weight.
func (b *Bow) PeakUncertainty() unit.Force { return b.PeakU.Or(0.5 * unit.PoundForce) }

// DrawUncertainty returns the standard uncertainty of the draw length.
func (b *Bow) DrawUncertainty() unit.Length { return b.DrawU.Or(0.1 * unit.Inch) }

// Clone returns a bow that shares nothing that can change with this one.
func (b Bow) Clone() Bow {
	b.Readings = slices.Clone(b.Readings)
	return b
}

// Now returns the settings to write into a reading that is taken today, so that
// it keeps its meaning when the bow is set differently later. A brace height
// that nobody measured is not written down as one.
func (b *Bow) Now() Conditions {
	return Conditions{Peak: b.Peak, Draw: b.Draw, Brace: b.Brace}
}

// Stamped returns the bow with its present settings written into every reading,
// and into the rating, that does not name its own: they keep their meaning when
// the bow is then set differently.
func (b Bow) Stamped() Bow {
	out := b.Clone()
	now := b.Now()
	stamp := func(c *Conditions) {
		if !c.Peak.Given {
			c.Peak = now.Peak
		}
		if !c.Draw.Given {
			c.Draw = now.Draw
		}
		if !c.Brace.Given {
			c.Brace = now.Brace
		}
	}
	for i := range out.Readings {
		stamp(&out.Readings[i].Conditions)
	}
	if out.Rating.Given {
		stamp(&out.Rating.Value.Conditions)
	}
	return out
}

// StrokeExponent returns n in s = (peakᵢ/peak)(strokeᵢ/stroke)ⁿ and its standard
// uncertainty. For a compound n is chosen so that an inch near 30 in is worth
// about 10 ft/s (common practice); for recurve and longbow force grows with
// draw, and n = 1 with peak weight re-measured at the new draw.
func (b *Bow) StrokeExponent() (n, u float64) {
	if b.KindOrDefault() == Compound {
		return 1.34, 0.3
	}
	return 1, 0
}

// Prior returns what is assumed of the virtual mass before any reading, its mean
// and standard uncertainty.
func (b *Bow) Prior() (mean, sd unit.Mass) {
	switch b.KindOrDefault() {
	case Recurve:
		return 120 * unit.Grain, 50 * unit.Grain
	case Longbow:
		return 180 * unit.Grain, 60 * unit.Grain
	}
	return 90 * unit.Grain, 40 * unit.Grain
}

// stroke returns draw − brace − 1.75 in.
func stroke(draw, brace unit.Length) float64 { return float64(draw - brace - PivotToDraw) }

// scale returns s, which turns energy at the bow's settings now into energy at
// the conditions c.
func (b *Bow) scale(c Conditions, exponent float64) (float64, error) {
	s := 1.0
	if c.Peak.Given && c.Peak != b.Peak {
		if !b.Peak.Given {
			return 0, figure.Needs("the bow's peak draw weight, because a speed was taken at its own")
		}
		s *= float64(c.Peak.Value / b.Peak.Value)
	}
	draw, brace := c.Draw, unit.Some(c.Brace.Or(b.BraceOrDefault()))
	if !draw.Given {
		draw = b.Draw
	}
	if draw == b.Draw && brace.Value == b.BraceOrDefault() {
		return s, nil
	}
	if !b.Draw.Given {
		return 0, figure.Needs("the bow's draw length, because a speed was taken at its own")
	}
	here, there := stroke(b.Draw.Value, b.BraceOrDefault()), stroke(draw.Value, brace.Value)
	if here <= 0 || there <= 0 {
		return 0, figure.Needs("a draw length greater than brace height plus 1.75 in")
	}
	return s * math.Pow(there/here, exponent), nil
}

// Shifted returns the bow as it would be had its peak draw weight and its draw
// length been measured wrong by that much. A reading taken at the bow's own
// settings was then taken at the shifted ones: it is the same bow.
func (b Bow) Shifted(peak unit.Force, draw unit.Length) Bow {
	out := b.Clone()
	same := func(c *Conditions) {
		if c.Peak == b.Peak {
			c.Peak = unit.Optional[unit.Force]{}
		}
		if c.Draw == b.Draw {
			c.Draw = unit.Optional[unit.Length]{}
		}
	}
	for i := range out.Readings {
		same(&out.Readings[i].Conditions)
	}
	same(&out.Rating.Value.Conditions)
	out.Peak.Value += peak
	out.Draw.Value += draw
	return out
}
