package sheet

import (
	"fmt"
	"math"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/steering"
	"foreshaft/engine/stiffness"
	"foreshaft/engine/unit"
)

// Relative standard uncertainties of what the models of stiffness leave out.
const (
	// commonMarginU is what a launch margin is off by for all builds alike, and
	// ownMarginU for one build besides.
	commonMarginU = 0.15
	ownMarginU    = 0.03
	// bendsU is what the number of bends on the string is off by: the string does
	// not push evenly.
	bendsU = 0.20
)

// solved is what has to be solved for a build, and what builds that hardly differ
// are then had from.
type solved struct {
	column  *stiffness.Column
	bending *stiffness.Bending
}

// solve solves a build with its rest there; nothing where an input is missing.
func solve(b *arrow.Build, rest unit.Optional[unit.Length]) solved {
	return solveFor(b, rest, shown)
}

// solveFor is solve for what those figures rest on alone.
func solveFor(b *arrow.Build, rest unit.Optional[unit.Length], keys []figure.Key) solved {
	var out solved
	if b.Tube() <= 0 {
		return out
	}
	if slices.Contains(keys, figure.BendingFrequency) || slices.Contains(keys, figure.BendsOnString) {
		if bending, err := stiffness.NewBending(b); err == nil {
			out.bending = bending
		}
	}
	if rest.Given && (slices.Contains(keys, figure.LaunchMargin) || slices.Contains(keys, figure.MarginVsProven)) {
		if column, err := stiffness.NewColumn(b, rest.Value); err == nil {
			out.column = column
		}
	}
	return out
}

// strength is what a solution comes to: the acceleration at which an arrow
// buckles, m/s², and how often it bends, Hz; NaN where an input is missing.
type strength struct{ critical, frequency float64 }

var unsolved = strength{math.NaN(), math.NaN()}

// at returns the strength of the build that was solved, or of one that hardly
// differs.
func (n solved) at(b *arrow.Build, rest unit.Optional[unit.Length]) strength {
	out := unsolved
	if n.column != nil {
		out.critical = n.column.Near(b, rest.Value)
	}
	if n.bending != nil {
		out.frequency = n.bending.Near(b)
	}
	return out
}

// solved is place for a build that nothing near it has been solved for.
func (s *Setting) solved(b *arrow.Build) placed {
	return s.place(b, solve(b, s.rest).at(b, s.rest))
}

// place computes all figures but those of the path, what the path depends on, and
// how hard the air turns the arrow straight.
func (s *Setting) place(b *arrow.Build, strength strength) placed {
	var p placed
	p.values, p.leaving = s.still(b)
	s.stiff(b, strength, &p)
	p.turning = s.steer(b, &p)
	return p
}

// stiff adds how the shaft stands up to the bow.
func (s *Setting) stiff(b *arrow.Build, strength strength, p *placed) {
	out := &p.values
	if b.Shaft.Spine.Given {
		out.Set(figure.BendingStiffness, stiffness.Rigidity(b.Shaft.Spine.Value))
	}
	out.Set(figure.BendingFrequency, strength.frequency)
	if s.stroke.Given && p.leaving.speed > 0 {
		out.Set(figure.BendsOnString, strength.frequency*2*float64(s.stroke.Value)/float64(p.leaving.speed))
	}
	if s.launch && s.peak.Given {
		margin := strength.critical / s.acceleration(p.leaving.mass)
		out.Set(figure.LaunchMargin, margin)
		out.Set(figure.MarginVsProven, margin/s.proven-1)
	}
}

// acceleration returns the greatest one, m/s², of an arrow on the string: all of
// the peak draw weight on arrow and virtual mass.
func (s *Setting) acceleration(m unit.Mass) float64 {
	return float64(s.peak.Value) / float64(m+s.virtual)
}

// steer adds what the air does to an arrow that does not fly straight, and returns
// how hard it turns it back, in newton metres for each radian; NaN where that is
// not known.
func (s *Setting) steer(b *arrow.Build, p *placed) (turning float64) {
	turning = math.NaN()
	if !(p.leaving.mass > 0) {
		return turning
	}
	f, err := steering.Of(b)
	if err != nil {
		return turning
	}
	out, m := &p.values, b.Moments()
	pressure := f.PressurePoint()
	out.Set(figure.PressurePoint, float64(pressure))
	out.Set(figure.SteerMargin, float64((m.Balance-pressure)/b.Length))
	if share, ok := f.HeadShare(m.Balance); ok {
		out.Set(figure.HeadShare, share)
	}
	if wobble, ok := f.WobbleLength(m, s.density); ok {
		out.Set(figure.WobbleLength, float64(wobble))
	}
	if v := float64(p.leaving.speed); v > 0 {
		turning = s.density / 2 * v * v * f.Area * f.Turning(m.Balance)
		if s.turning > 0 {
			out.Set(figure.SteerMoment, turning/s.turning)
		}
	}
	return turning
}

// handlingReason names the input that an absent figure of stiffness or steering
// lacks; empty for other figures.
func (s *Sheet) handlingReason(b *arrow.Build, k figure.Key) string {
	switch k {
	case figure.BendingStiffness, figure.BendingFrequency:
		_, err := stiffness.NewBending(b)
		return because(err)
	case figure.LaunchMargin:
		return s.marginReason(b)
	case figure.MarginVsProven:
		if s.Proven < 0 {
			return because(figure.Needs("a build that is proven on this bow as it is set now"))
		}
		if why := s.marginReason(b); why != "" {
			return why
		}
		reference := &s.Job.Builds[s.Proven]
		return fmt.Sprintf("needs the launch margin of the proven build, which %s", s.marginReason(reference))
	case figure.BendsOnString:
		bow := &s.Job.Bow.Value
		switch {
		case !b.Shaft.Spine.Given:
			return s.marginReason(b)
		case !bow.Draw.Given:
			return because(figure.Needs("the bow's draw length"))
		case !s.here.stroke.Given:
			return because(figure.Needs("a draw length greater than brace height plus 1.75 in"))
		case s.FitErr != nil:
			return s.FitErr.Error()
		}
		return s.handlingReason(b, figure.BendingFrequency)
	case figure.PressurePoint, figure.SteerMargin, figure.SteerMoment, figure.HeadShare, figure.WobbleLength:
		if _, err := steering.Of(b); err != nil {
			return because(err)
		}
		return s.steerReason(b, k)
	}
	return ""
}

func because(err error) string {
	if err == nil {
		return beyondReason
	}
	return err.Error()
}

// marginReason names the input that a launch margin lacks; empty when it lacks
// none.
func (s *Sheet) marginReason(b *arrow.Build) string {
	switch {
	case !b.Shaft.Spine.Given:
		return because(figure.Needs("the shaft's static spine"))
	case !s.here.rest.Given:
		return because(figure.Needs("the bow's draw length"))
	case !s.here.peak.Given:
		return because(figure.Needs("the bow's peak draw weight"))
	case s.FitErr != nil:
		return s.FitErr.Error()
	}
	if _, err := stiffness.NewColumn(b, s.here.rest.Value); err != nil {
		return err.Error()
	}
	return ""
}

// steerReason says why a figure of steering is absent although the forces on the
// arrow are known.
func (s *Sheet) steerReason(b *arrow.Build, k figure.Key) string {
	switch k {
	case figure.HeadShare:
		switch {
		case b.Head.Blades == 0:
			return because(figure.Needs("blades"))
		case b.Head.Expandable:
			return because(figure.Needs("blades that stand out in flight"))
		case !b.Vanes.Given || b.Vanes.Value.Count == 0:
			return because(figure.Needs("vanes"))
		}
		return because(figure.Needs("vanes and blades that do something, the vanes behind the balance point"))
	case figure.WobbleLength:
		return because(figure.Needs("an arrow that the air turns straight: this one turns over"))
	case figure.SteerMoment:
		base := &s.Job.Builds[s.Job.Baseline]
		if s.FitErr != nil {
			return s.FitErr.Error()
		}
		if math.IsNaN(s.here.turning) {
			return fmt.Sprintf("needs the steering of the baseline, which %s", s.reason(base, figure.PressurePoint))
		}
		if s.here.turning <= 0 {
			return because(figure.Needs("a baseline that the air turns straight"))
		}
	}
	return beyondReason
}

// Push returns what a launch margin needs of the bow: its peak draw weight and the
// virtual mass of its moving parts. It is false where the bow does not say.
func (s *Setting) Push() (peak unit.Force, virtual unit.Mass, ok bool) {
	return s.peak.Value, s.virtual, s.launch && s.peak.Given
}
