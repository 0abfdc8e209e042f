package sheet

import (
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
)

// basis says whether a figure rests on measurement alone: every weight in it
// weighed, and no prior, rule of thumb or model constant in it.
func (s *Sheet) basis(b *arrow.Build, k figure.Key) figure.Basis {
	measured := true
	switch k {
	case figure.DozenCost:
	case figure.FrontWeight:
		measured = frontWeighed(b)
	case figure.TotalWeight, figure.WeightPerDraw:
		measured = totalWeighed(b)
	case figure.BalancePoint, figure.FOC, figure.Inertia:
		measured = totalWeighed(b) && b.Nock.Throat.Given && b.Nock.Balance.Given && b.Head.Balance.Given
	default:
		measured = totalWeighed(b) && !s.Fit.FromRating && !s.Fit.PriorEnters() && !s.Fit.Scaled
	}
	if measured {
		return figure.Measured
	}
	return figure.Estimated
}

// totalWeighed reports whether every weight of the build was weighed. A shaft
// known by weight per inch needs the length of its tube, and so a throat offset
// that is not the rule of thumb.
func totalWeighed(b *arrow.Build) bool {
	shaft := b.Shaft.TubeWeight.Given || b.Shaft.WeightPerInchU.Given && b.Nock.Throat.Given
	rear := b.Nock.WeightU.Given &&
		(!b.Vanes.Given || b.Vanes.Value.WeightU.Given) && (!b.Wrap.Given || b.Wrap.Value.WeightU.Given)
	for _, e := range b.Extras {
		rear = rear && e.WeightU.Given
	}
	return shaft && rear && frontWeighed(b)
}

func frontWeighed(b *arrow.Build) bool {
	weighed := b.Head.WeightU.Given && (!b.Insert.Given || b.Insert.Value.WeightU.Given) && (!b.Collar.Given || b.Collar.Value.WeightU.Given)
	for _, e := range b.Extras {
		if b.Front(arrow.Element{Kind: part.KindExtra, Centre: e.Balance}) {
			weighed = weighed && e.WeightU.Given
		}
	}
	return weighed
}

// reason names the input that an absent figure lacks.
func (s *Sheet) reason(b *arrow.Build, k figure.Key) string {
	if k == figure.DozenCost {
		var missing []string
		for _, p := range appendPrices(nil, b) {
			if !p.price.Given {
				missing = append(missing, "the "+p.name(b))
			}
		}
		return "needs a price for " + strings.Join(missing, ", ")
	}
	if b.Tube() <= 0 {
		return "needs a length greater than the nock's throat offset"
	}
	if b.Moments().Total <= 0 {
		return "needs a piece that weighs something"
	}
	if k == figure.WeightPerDraw {
		return "needs the bow's peak draw weight"
	}
	if s.FitErr != nil {
		return s.FitErr.Error()
	}
	return "could not be computed from these values"
}
