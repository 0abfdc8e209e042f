package sheet

import (
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/flight"
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
	case figure.BendingStiffness:
	case figure.BendsOnString, figure.LaunchMargin, figure.MarginVsProven,
		figure.PressurePoint, figure.SteerMargin, figure.SteerMoment, figure.HeadShare, figure.WobbleLength:
		measured = false // their models have constants of their own
	case figure.BalancePoint, figure.FOC, figure.Inertia, figure.BendingFrequency:
		measured = totalWeighed(b) && b.Nock.Throat.Given && b.Nock.Balance.Given && b.Head.Balance.Given
	case figure.LaunchSpeed, figure.LaunchEnergy, figure.LaunchMomentum, figure.EnergyShare:
		measured = s.speedMeasured(b)
	case figure.DragCoefficient:
		measured = b.DragCoefficient.Given
	default:
		a := s.Job.Air.Value
		air := a.Temperature.Given && (a.Pressure.Given || a.Altitude.Given)
		measured = s.speedMeasured(b) && b.DragCoefficient.Given && air
	}
	if measured {
		return figure.Measured
	}
	return figure.Estimated
}

func (s *Sheet) speedMeasured(b *arrow.Build) bool {
	return totalWeighed(b) && !s.Fit.FromRating && !s.Fit.PriorEnters() && !s.Fit.Scaled
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
	if why := s.handlingReason(b, k); why != "" {
		return why
	}
	if s.FitErr != nil {
		return s.FitErr.Error()
	}
	if k == figure.DragCoefficient {
		if _, err := arrow.OutlineOf(b); err != nil {
			return err.Error()
		}
	}
	return beyondReason
}

const beyondReason = "could not be computed from these values"

// atReason names the input that an absent figure of the path lacks. A comparison
// with the baseline is left out on the baseline without a word.
func (s *Sheet) atReason(b *arrow.Build, k figure.Key, baseline bool) string {
	sight, here := s.Job.Sight.Value, &s.here
	if k.Definition().Compares && baseline {
		return ""
	}
	if b.Tube() <= 0 || b.Moments().Total <= 0 || s.FitErr != nil {
		return s.reason(b, figure.LaunchSpeed)
	}
	if !b.Shaft.OuterDiameter.Given {
		return figure.Needs("the shaft's outer diameter").Error()
	}
	if !b.DragCoefficient.Given {
		if _, err := arrow.OutlineOf(b); err != nil {
			return err.Error()
		}
	}
	switch k {
	case figure.FlightTime, figure.Speed, figure.Energy, figure.Momentum, figure.Drop:
		return beyondReason
	case figure.WindDrift:
		return "in this wind the arrow does not get there"
	}
	switch {
	case !sight.PeepAboveNock.Given:
		return figure.Needs("the sight: how far the peep is above the nock at full draw").Error()
	case !here.marks.known && (k == figure.SightMark || k == figure.MarkShift || k == figure.MarkSpread):
		return figure.Needs("the sight: the distance from peep to pin, or two marks that were shot").Error()
	}
	switch k {
	case figure.MarkShift, figure.ImpactShift:
		return figure.Needs("a baseline that hits at this distance").Error()
	case figure.RangeLong:
		return "no target within " + s.Units.Distance(flight.Farther, 3) + " beyond is missed"
	case figure.HoldFor:
		if here.scene.Slope == 0 {
			return figure.Needs("a slope: on the level you hold for the distance itself").Error()
		}
		return "no distance on the level beyond the turn of the marks has this launch angle"
	case figure.MarkSpread:
		return s.Units.Distance(spreadFrom, 3) + " or " + s.Units.Distance(spreadTo, 3) + " is out of reach"
	case figure.HoldOnNear, figure.HoldOnFar:
		return "no path of this arrow tops out there"
	}
	return beyondReason
}
