package arrow

import (
	"math"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// Standard uncertainties of weights that nobody described better (rules of thumb).
const (
	WeighedU   = 0.2 * unit.Grain // a weighed tube whose scale is not described
	UnweighedU = 1 * unit.Grain   // a piece with a stated weight only
	ShaftU     = 0.01             // of its weight per inch
)

// WeightU returns the standard uncertainty of what a build's piece of that kind
// weighs, 0 of one that is not there: of the vanes all together, of a shaft that is
// known by its weight per inch with what the ends of its tube leave open.
func (b *Build) WeightU(kind part.Kind) unit.Mass {
	of := func(there bool, u unit.Optional[unit.Mass]) unit.Mass {
		if !there {
			return 0
		}
		return u.Or(UnweighedU)
	}
	switch kind {
	case part.KindShaft:
		s := &b.Shaft
		if s.TubeWeight.Given {
			return s.TubeWeightU.Or(WeighedU)
		}
		perInch := float64(s.WeightPerInch.Value)
		ends := perInch * math.Hypot(float64(b.LengthUncertainty()), float64(b.Nock.ThroatU.Or(UsualLengthU)))
		return unit.Mass(math.Hypot(float64(s.WeightPerInchU.Or(ShaftU*s.WeightPerInch.Value))*float64(b.Tube()), ends))
	case part.KindNock:
		return of(true, b.Nock.WeightU)
	case part.KindVanes:
		return unit.Mass(b.Vanes.Value.Count) * of(b.Vanes.Given, b.Vanes.Value.WeightU)
	case part.KindWrap:
		return of(b.Wrap.Given, b.Wrap.Value.WeightU)
	case part.KindInsert:
		return of(b.Insert.Given, b.Insert.Value.WeightU)
	case part.KindCollar:
		return of(b.Collar.Given, b.Collar.Value.WeightU)
	case part.KindHead:
		return of(true, b.Head.WeightU)
	}
	return 0
}
