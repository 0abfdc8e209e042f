// Package sheet computes every figure of several builds on one bow. It has two
// doors: Evaluate, with uncertainty, differences, cautions and working, and
// Setting.Values, with numbers only, for work that looks at many builds.
package sheet

import (
	"math"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/flight"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// Setting is what all builds of a job have in common, made ready once: what the
// bow's readings came to, its peak draw weight, the air, how the shot lies, and
// what the known marks said.
type Setting struct {
	energy  unit.Energy
	virtual unit.Mass
	launch  bool
	// calibration is 1 plus the relative error of the chronograph.
	calibration float64
	peak        unit.Optional[unit.Force]
	rest        unit.Optional[unit.Length] // from the throat at full draw
	stroke      unit.Optional[unit.Length]

	density, viscosity float64 // kg/m³, Pa·s
	scene              flight.Scene
	eye, pin           unit.Optional[unit.Length]
	// marks turns the tangent of a launch angle into a sight mark.
	marks scale
	// learned is what the known marks said about speed and drag.
	learned learned
	// baseline is the arrow that others are compared with, as it leaves the string.
	baseline leaving
	// turning is how hard the air turns that arrow straight, and proven the launch
	// margin of the build that is proven on this bow: NaN where there is none.
	turning, proven float64
}

// NewSetting makes a job's common part ready.
func NewSetting(j *job.Job) Setting {
	return prepare(&Sheet{Job: j}).here
}

// Setting returns what all builds of the sheet have in common.
func (s *Sheet) Setting() Setting { return s.here }

func settingOf(j *job.Job, b *bow.Bow, fit bow.Fit, err error) Setting {
	conditions, sight := j.Air.Value, &j.Sight.Value
	s := Setting{
		energy: fit.Energy, virtual: fit.VirtualMass, launch: err == nil, calibration: 1, peak: b.Peak,
		density: conditions.Density(), viscosity: conditions.Viscosity(),
		scene: flight.Scene{Slope: j.Slope.Or(0), Eye: sight.PeepAboveNock.Or(0), Crosswind: j.Crosswind.Or(0), Radius: j.TargetRadiusOrDefault()},
		eye:   sight.PeepAboveNock, pin: sight.PeepToPin,
		learned: learned{speed: 1, common: 1, own: 1}, baseline: unknown, turning: math.NaN(), proven: math.NaN(),
	}
	s.rest.Value, s.rest.Given = b.Rest()
	s.stroke.Value, s.stroke.Given = b.Stroke()
	if s.pin.Value > 0 {
		s.marks = scale{perTangent: float64(s.pin.Value), known: true}
	}
	return s
}

// leaving is what an arrow's path depends on as it leaves the string. What is
// not known is NaN.
type leaving struct {
	mass  unit.Mass
	speed unit.Speed
	decay float64 // 1/m
}

var unknown = leaving{mass: unit.Mass(math.NaN()), speed: unit.Speed(math.NaN()), decay: math.NaN()}

func (l leaving) flies() bool { return l.speed > 0 && l.decay >= 0 }

func (l leaving) arrow() flight.Arrow { return flight.Arrow{Speed: l.speed, Decay: l.decay} }

// Values computes the figures of one build as a whole, as bare numbers. A figure
// that lacks an input is absent.
func (s *Setting) Values(b *arrow.Build) figure.Values { return s.Some(b, shown) }

// Some is Values for those figures alone, and such others as come for nothing.
func (s *Setting) Some(b *arrow.Build, keys []figure.Key) figure.Values {
	p := s.place(b, solveFor(b, s.rest, keys).at(b, s.rest))
	if p.leaving.flies() && slices.ContainsFunc(keys, func(k figure.Key) bool { return slices.Contains(wholeFlight, k) }) {
		whole := s.whole(s.shot(p.leaving))
		whole[0] *= s.marks.perTangent
		for i, k := range wholeFlight {
			p.values.Set(k, whole[i])
		}
	}
	return p.values
}

// warningKeys are the figures that cautions rest on.
var warningKeys = []figure.Key{figure.TotalWeight, figure.WeightPerDraw, figure.FOC, figure.LaunchSpeed, figure.LaunchMargin,
	figure.MarginVsProven, figure.SteerMargin, figure.HeadShare}

// Cautions judges a build that is not proven itself by bare values on the bow of a
// job. Uncertainty can only add to what it returns and make it graver, so the sheet
// has the last word; but what it refuses is refused. The values come along, with those
// of more keys where they are named.
func (s *Setting) Cautions(j *job.Job, b *arrow.Build, more ...figure.Key) (figure.Values, []caution.Caution) {
	values := s.Some(b, slices.Concat(warningKeys, more))
	return values, caution.Check(caution.Facts{
		Job: j, Build: b, Absent: func(figure.Key) string { return "" },
		Figure: func(k figure.Key) (figure.Figure, bool) {
			value, ok := values.Get(k)
			return figure.Figure{Key: k, Value: value}, ok
		},
	})
}

// One computes one figure of a build as a bare number, NaN where it is absent, and
// no more than it needs. The distance counts for a figure that has one for each.
func (s *Setting) One(b *arrow.Build, k figure.Key, d unit.Length) float64 {
	if k.Definition().At {
		if _, l := s.still(b); l.flies() {
			return s.curve(l, false, k, d)
		}
		return math.NaN()
	}
	values := s.Some(b, []figure.Key{k})
	if value, ok := values.Get(k); ok {
		return value
	}
	return math.NaN()
}

// OfMass computes the figures that a build's mass alone decides on a job's bow.
func (s *Setting) OfMass(m unit.Mass) figure.Values {
	out := figure.NoValues()
	out.Set(figure.TotalWeight, float64(m))
	if s.peak.Given {
		out.Set(figure.WeightPerDraw, float64(m)/float64(s.peak.Value))
	}
	if s.launch {
		v := s.speed(m)
		out.Set(figure.LaunchSpeed, float64(v))
		out.Set(figure.LaunchEnergy, float64(unit.Kinetic(m, v)))
		out.Set(figure.LaunchMomentum, float64(m)*float64(v))
		out.Set(figure.EnergyShare, float64(m/(m+s.virtual)))
	}
	return out
}

// speed returns how fast an arrow of that mass leaves the string.
func (s *Setting) speed(m unit.Mass) unit.Speed {
	return bow.Launch(s.energy, s.virtual, m) * unit.Speed(s.calibration*s.learned.speed)
}

// still computes the figures of weight, speed and drag, and what the path depends
// on.
func (s *Setting) still(b *arrow.Build) (figure.Values, leaving) {
	out, l := figure.NoValues(), unknown
	if b.DragCoefficient.Given {
		out.Set(figure.DragCoefficient, b.DragCoefficient.Value*s.learned.factor(b))
	}
	if cost, complete := dozenCost(b); complete {
		out.Set(figure.DozenCost, cost)
	}
	if b.Tube() <= 0 {
		return out, l
	}
	m := b.Moments()
	out.Set(figure.TotalWeight, float64(m.Total))
	out.Set(figure.FrontWeight, float64(m.Front))
	if m.Total <= 0 {
		return out, l
	}
	l.mass = m.Total
	out.Set(figure.BalancePoint, float64(m.Balance))
	out.Set(figure.FOC, b.FOC(m.Balance))
	out.Set(figure.Inertia, float64(m.Inertia))
	if s.peak.Given {
		out.Set(figure.WeightPerDraw, float64(m.Total)/float64(s.peak.Value))
	}
	if !s.launch {
		return out, l
	}
	v := s.speed(m.Total)
	out.Set(figure.LaunchSpeed, float64(v))
	out.Set(figure.LaunchEnergy, float64(unit.Kinetic(m.Total, v)))
	out.Set(figure.LaunchMomentum, float64(m.Total)*float64(v))
	out.Set(figure.EnergyShare, float64(m.Total/(m.Total+s.virtual)))
	l.speed = v
	if !b.DragCoefficient.Given {
		if outline, err := arrow.OutlineOf(b); err == nil {
			out.Set(figure.DragCoefficient, flight.DragOf(&outline, v, s.density, s.viscosity).Coefficient*s.learned.factor(b))
		}
	}
	if drag, ok := out.Get(figure.DragCoefficient); ok && b.Shaft.OuterDiameter.Given {
		l.decay = flight.Decay(s.density, drag, arrow.Area(b.Shaft.OuterDiameter.Value), m.Total)
	}
	return out, l
}

// dozenCost returns twelve times the price of the pieces, and false when one
// that is there has no price.
func dozenCost(b *arrow.Build) (float64, bool) {
	var space [16]priced
	total := 0.0
	for _, p := range appendPrices(space[:0], b) {
		if !p.price.Given {
			return 0, false
		}
		total += p.price.Value * p.count
	}
	return 12 * total, true
}

type priced struct {
	kind  part.Kind
	extra int // which of the extras
	price unit.Optional[float64]
	count float64
}

// name says which piece it is.
func (p priced) name(b *arrow.Build) string {
	if p.kind == part.KindExtra {
		return extraName(b, p.extra)
	}
	return string(p.kind)
}

// appendPrices lists the price of every piece that is there.
func appendPrices(list []priced, b *arrow.Build) []priced {
	add := func(kind part.Kind, price unit.Optional[float64], count float64) {
		list = append(list, priced{kind: kind, price: price, count: count})
	}
	add(part.KindShaft, b.Shaft.Price, 1)
	add(part.KindNock, b.Nock.Price, 1)
	if b.Vanes.Given {
		add(part.KindVanes, b.Vanes.Value.Price, float64(b.Vanes.Value.Count))
	}
	if b.Wrap.Given {
		add(part.KindWrap, b.Wrap.Value.Price, 1)
	}
	if b.Insert.Given {
		add(part.KindInsert, b.Insert.Value.Price, 1)
	}
	if b.Collar.Given {
		add(part.KindCollar, b.Collar.Value.Price, 1)
	}
	add(part.KindHead, b.Head.Price, 1)
	for i := range b.Extras {
		list = append(list, priced{kind: part.KindExtra, extra: i, price: b.Extras[i].Price, count: 1})
	}
	return list
}
