// Package sheet computes every figure of several builds on one bow. It has two
// doors: Evaluate, with uncertainty, differences, cautions and working, and
// Setting.Values, with numbers only, for work that looks at many builds.
package sheet

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
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
	total := 0.0
	for _, p := range prices(b) {
		if !p.price.Given {
			return math.NaN(), false
		}
		total += p.price.Value * p.count
	}
	return 12 * total, true
}

type priced struct {
	name  string
	price unit.Optional[float64]
	count float64
}

// prices lists the price of every piece that is there.
func prices(b *arrow.Build) []priced {
	out := make([]priced, 0, 8)
	out = append(out, priced{"shaft", b.Shaft.Price, 1}, priced{"nock", b.Nock.Price, 1})
	if b.Vanes.Given {
		out = append(out, priced{"vanes", b.Vanes.Value.Price, float64(b.Vanes.Value.Count)})
	}
	if b.Wrap.Given {
		out = append(out, priced{"wrap", b.Wrap.Value.Price, 1})
	}
	if b.Insert.Given {
		out = append(out, priced{"insert", b.Insert.Value.Price, 1})
	}
	if b.Collar.Given {
		out = append(out, priced{"collar", b.Collar.Value.Price, 1})
	}
	out = append(out, priced{"head", b.Head.Price, 1})
	for i := range b.Extras {
		out = append(out, priced{extraName(b, i), b.Extras[i].Price, 1})
	}
	return out
}
