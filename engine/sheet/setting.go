// Package sheet computes every figure of several builds on one bow. It has two
// doors: Evaluate, with uncertainty, differences, cautions and working, and
// Setting.Values, with numbers only, for work that looks at many builds.
package sheet

import (
	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// Setting is what all builds of a job have in common, made ready once: what the
// bow's readings came to, and its peak draw weight.
type Setting struct {
	energy  unit.Energy
	virtual unit.Mass
	launch  bool
	// calibration is 1 plus the relative error of the chronograph.
	calibration float64
	peak        unit.Optional[unit.Force]
}

// NewSetting makes a job's common part ready.
func NewSetting(j *job.Job) Setting {
	fit, err := j.Bow.Value.Fit()
	return settingOf(&j.Bow.Value, fit, err)
}

func settingOf(b *bow.Bow, fit bow.Fit, err error) Setting {
	return Setting{energy: fit.Energy, virtual: fit.VirtualMass, launch: err == nil, calibration: 1, peak: b.Peak}
}

// Values computes the figures of one build as bare numbers. A figure that lacks
// an input is absent.
func (s *Setting) Values(b *arrow.Build) figure.Values {
	out := figure.NoValues()
	if cost, complete := dozenCost(b); complete {
		out.Set(figure.DozenCost, cost)
	}
	if b.Tube() <= 0 {
		return out
	}
	m := b.Moments()
	out.Set(figure.TotalWeight, float64(m.Total))
	out.Set(figure.FrontWeight, float64(m.Front))
	if m.Total <= 0 {
		return out
	}
	out.Set(figure.BalancePoint, float64(m.Balance))
	out.Set(figure.FOC, b.FOC(m.Balance))
	out.Set(figure.Inertia, float64(m.Inertia))
	if s.peak.Given {
		out.Set(figure.WeightPerDraw, float64(m.Total)/float64(s.peak.Value))
	}
	if s.launch {
		v := bow.Launch(s.energy, s.virtual, m.Total) * unit.Speed(s.calibration)
		out.Set(figure.LaunchSpeed, float64(v))
		out.Set(figure.LaunchEnergy, float64(unit.Kinetic(m.Total, v)))
		out.Set(figure.LaunchMomentum, float64(m.Total)*float64(v))
		out.Set(figure.EnergyShare, float64(m.Total/(m.Total+s.virtual)))
	}
	return out
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
