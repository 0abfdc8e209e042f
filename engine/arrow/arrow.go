// Package arrow puts pieces together into a build and answers for its mass,
// balance and inertia.
//
// The axis runs along the arrow from the throat of the nock, where the string
// sits, towards the head. Arrow length is throat to the cut end of the shaft
// (trade-association arrow length); head, and insert proud of the cut end, do
// not count. The cut shaft itself is shorter by the nock's throat offset.
package arrow

import (
	"slices"

	"foreshaft/engine/dozen"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// Build is one arrow as it is put together. The job tags give the keys of the
// exchange format.
type Build struct {
	Name             string                     `job:"name" need:"yes"`
	Length           unit.Length                `job:"length_in" range:"0,60" need:"yes"`
	LengthU          unit.Optional[unit.Length] `job:"length_u_in" range:"0,60"`
	Proven           bool                       `job:"proven"`
	Proof            unit.Optional[Proof]       `job:"proof"`
	Assembly         unit.Optional[Assembly]    `job:"assembly"`
	Dozen            unit.Optional[dozen.Batch] `job:"dozen"`
	Shaft            part.Shaft                 `job:"shaft" need:"yes"`
	Nock             part.Nock                  `job:"nock" need:"yes"`
	Vanes            unit.Optional[part.Vanes]  `job:"vanes"`
	Wrap             unit.Optional[part.Wrap]   `job:"wrap"`
	Insert           unit.Optional[part.Insert] `job:"insert"`
	Collar           unit.Optional[part.Collar] `job:"collar"`
	Head             part.Head                  `job:"head" need:"yes"`
	Extras           []part.Extra               `job:"extras"`
	DragCoefficient  unit.Optional[float64]     `job:"drag_coefficient" range:"0,10"`
	DragCoefficientU unit.Optional[float64]     `job:"drag_coefficient_u" range:"0,10"`
}

// Clone returns a build that shares nothing that can change with this one.
func (b Build) Clone() Build {
	b.Extras = slices.Clone(b.Extras)
	b.Dozen.Value = b.Dozen.Value.Clone()
	return b
}

// Tube returns the length of the cut shaft.
func (b *Build) Tube() unit.Length { return b.Length - b.Nock.ThroatOffset() }

// UsualLengthU is the standard uncertainty of a length that nobody described
// better (rule of thumb).
const UsualLengthU = 0.03 * unit.Inch

// LengthUncertainty returns the standard uncertainty of arrow length.
func (b *Build) LengthUncertainty() unit.Length { return b.LengthU.Or(UsualLengthU) }

// Seat returns where the head sits, from the throat.
func (b *Build) Seat() unit.Length {
	if b.Insert.Given {
		return b.Length + b.Insert.Value.Proud.Or(0)
	}
	return b.Length
}

// Recut changes the length. A weighed tube then weighs in proportion to its
// length, and scaled reports that it did. Where a length leaves no tube the
// weight stays.
func (b *Build) Recut(length unit.Length) (scaled bool) {
	return b.retube(func() { b.Length = length })
}

// Renock changes the nock, and with its throat offset the length of the tube.
// A weighed tube is scaled as by Recut.
func (b *Build) Renock(nock part.Nock) (scaled bool) {
	return b.retube(func() { b.Nock = nock })
}

func (b *Build) retube(change func()) (scaled bool) {
	before := b.Tube()
	change()
	if !b.Shaft.TubeWeight.Given || before <= 0 || b.Tube() <= 0 || b.Tube() == before {
		return false
	}
	ratio := float64(b.Tube() / before)
	b.Shaft.TubeWeight.Value *= unit.Mass(ratio)
	b.Shaft.TubeWeightU.Value *= unit.Mass(ratio)
	return true
}

// Element is one piece's mass along the axis: uniform over Span about Centre,
// a point when Span is zero.
type Element struct {
	Kind   part.Kind
	Mass   unit.Mass
	Centre unit.Length // from the throat
	Span   unit.Length
}

// Elements returns the build's masses from the shaft outwards, in a fixed order.
func (b *Build) Elements() []Element {
	return b.AppendElements(make([]Element, 0, 8+len(b.Extras)))
}

// AppendElements is Elements into a slice that the caller owns.
func (b *Build) AppendElements(list []Element) []Element {
	throat, tube := b.Nock.ThroatOffset(), b.Tube()
	list = append(list,
		Element{part.KindShaft, b.ShaftWeight(), throat + tube/2, tube},
		Element{part.KindNock, b.Nock.Weight, b.Nock.BalancePoint(), 0})
	if b.Vanes.Given {
		v := &b.Vanes.Value
		list = append(list, Element{part.KindVanes, unit.Mass(v.Count) * v.Weight, v.Rear + v.Length/2, v.Length})
	}
	if b.Wrap.Given {
		w := &b.Wrap.Value
		list = append(list, Element{part.KindWrap, w.Weight, throat + w.Length/2, w.Length})
	}
	if b.Insert.Given {
		i := &b.Insert.Value
		proud := i.Proud.Or(0)
		list = append(list, Element{part.KindInsert, i.Weight, b.Length + (proud-i.Depth)/2, i.Depth + proud})
	}
	if b.Collar.Given {
		c := &b.Collar.Value
		list = append(list, Element{part.KindCollar, c.Weight, b.Length - c.Length/2, c.Length})
	}
	list = append(list, Element{part.KindHead, b.Head.Weight, b.Seat() + b.Head.BalancePoint(), 0})
	for i := range b.Extras {
		e := &b.Extras[i]
		list = append(list, Element{part.KindExtra, e.Weight, e.Balance, e.Length.Or(0)})
	}
	return list
}

// ShaftWeight returns the weight of the cut tube: as weighed, else weight per
// inch times its length.
func (b *Build) ShaftWeight() unit.Mass {
	if b.Shaft.TubeWeight.Given {
		return b.Shaft.TubeWeight.Value
	}
	return b.Shaft.WeightPerInch.Value.Times(b.Tube())
}

// FrontFrom is the share of arrow length from which an extra counts as front
// weight.
const FrontFrom = 0.85

// rounding is more than a change of units leaves of a length, so that an extra
// entered at the bound itself counts, and far less than anyone measures.
const rounding = 1e-9 * unit.Metre

// Front reports whether an element counts as front weight: insert, collar,
// head, and extras whose centre is at 0.85 of arrow length or beyond.
func (b *Build) Front(e Element) bool {
	switch e.Kind {
	case part.KindInsert, part.KindCollar, part.KindHead:
		return true
	case part.KindExtra:
		return e.Centre >= FrontFrom*b.Length-rounding
	}
	return false
}

// Moments is what a build's masses add up to.
type Moments struct {
	Total   unit.Mass
	Front   unit.Mass
	Balance unit.Length  // from the throat; NaN when nothing weighs anything
	Inertia unit.Inertia // about the balance point
}

// Moments adds up the build's masses: balance = Σ m x / Σ m, inertia =
// Σ m ((x − balance)² + l²/12).
func (b *Build) Moments() Moments {
	var space [16]Element
	elements := b.AppendElements(space[:0])
	var m Moments
	first := 0.0
	for _, e := range elements {
		m.Total += e.Mass
		first += float64(e.Mass) * float64(e.Centre)
		if b.Front(e) {
			m.Front += e.Mass
		}
	}
	m.Balance = unit.Length(first / float64(m.Total))
	for _, e := range elements {
		arm := float64(e.Centre - m.Balance)
		m.Inertia += unit.Inertia(float64(e.Mass) * (arm*arm + float64(e.Span)*float64(e.Span)/12))
	}
	return m
}

// FOC returns the front-of-centre balance as a share of arrow length:
// (balance − L/2)/L, the trade-association definition; ASTM F1435 measures the
// balance point on a knife edge.
func (b *Build) FOC(balance unit.Length) float64 {
	return float64((balance - b.Length/2) / b.Length)
}
