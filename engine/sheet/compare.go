package sheet

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// Itself reports whether a figure would compare a build with itself: it is left
// out there without a word.
func (s *Sheet) Itself(build int, k figure.Key) bool {
	if k == figure.MarginVsProven {
		return build == s.Proven
	}
	return k.Definition().Compares && build == s.Job.Baseline
}

// compareWith makes ready what other builds are compared with: the baseline, and
// the build that is proven.
func (s *Setting) compareWith(on *Sheet) {
	s.turning, s.proven = math.NaN(), math.NaN()
	base := s.place(&on.Job.Builds[on.Job.Baseline], unsolved)
	s.baseline, s.turning = base.leaving, base.turning
	if on.Proven >= 0 {
		b := &on.Job.Builds[on.Proven]
		proven := s.solved(b)
		if margin, ok := proven.values.Get(figure.LaunchMargin); ok {
			s.proven = margin
		}
	}
}

// compared reports whether a figure is what one build comes to over another.
func compared(k figure.Key) bool { return k == figure.MarginVsProven || k == figure.SteerMoment }

// compare adds the figures of a build that compare it with another. What both
// rest on cancels.
func (s *Sheet) compare(i int, states []state) {
	out, b := &s.Builds[i], &s.Job.Builds[i]
	over := func(k figure.Key, other int, of func(st *state) (float64, []figure.Share)) {
		value, ok := states[i].values.Get(k)
		switch {
		case i == other:
		case !ok:
			out.lack(k, s.reason(b, k))
		default:
			mine, shares := of(&states[i])
			theirs, others := of(&states[other])
			both := make([]figure.Share, 0, len(shares)+len(others))
			for _, share := range shares {
				both = append(both, figure.Share{Input: share.Input, Amount: share.Amount / theirs})
			}
			for _, share := range others {
				both = append(both, figure.Share{Input: share.Input, Amount: -share.Amount * mine / (theirs * theirs)})
			}
			out.put(figure.New(k, value, s.basis(b, k), both))
		}
	}
	over(figure.SteerMoment, s.Job.Baseline, func(st *state) (float64, []figure.Share) {
		return st.turning, st.shares(nil, turning, st.turning)
	})
	over(figure.MarginVsProven, s.Proven, func(st *state) (float64, []figure.Share) {
		margin, _ := st.values.Get(figure.LaunchMargin)
		return margin, append(st.shares(nil, figure.LaunchMargin, margin), st.margin...)
	})
}

// Pair compares two builds as they would stand on the sheet, at one distance and
// with the first as the baseline: on the same bow, in the same air, and with what
// the sheet's known marks said of speed, drag and the eye. The build proven on the
// bow stands third, where there is one.
func (s *Sheet) Pair(before, after *arrow.Build, distance unit.Length) *Sheet {
	j := job.New()
	j.Bow, j.Air, j.Sight, j.Limits, j.Slope = s.Job.Bow, s.Job.Air, s.Job.Sight, s.Job.Limits, s.Job.Slope
	j.Sight.Value.Marks = nil
	j.Distances = []unit.Length{distance}
	j.Builds = []arrow.Build{*before, *after}
	if !before.SamePieces(after) { // what was shot is not what it becomes
		j.Bow.Value.Proven, j.Builds[1].Proven = "", false
	}
	out := &Sheet{Job: j, Units: s.Units, Proven: -1}
	if s.Proven >= 0 {
		out.Proven = len(j.Builds)
		j.Builds = append(j.Builds, s.Job.Builds[s.Proven])
	}
	p := prepareWith(out)
	p.apply(s.here.learned)
	p.here.scene.Eye = s.here.scene.Eye
	p.here.compareWith(out)
	out.here = p.here
	out.fill(p)
	return out
}
