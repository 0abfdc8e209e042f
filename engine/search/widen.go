package search

import (
	"cmp"
	"context"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// Wider is a window that keeps things out, with what comes nearest to it.
type Wider struct {
	Key      figure.Key
	Distance unit.Length // 0 for a figure of the whole build
	Value    float64     // in SI: the bound that would let it in
	Below    bool        // it lies below the window, so that its minimum is to be lowered
	Build    arrow.Build // what comes in then
	by       float64
}

// Narrow says why nothing matches a question.
type Narrow struct {
	// One are the windows of which widening one alone would let something in, each with
	// the least that does; those that miss by least, against their own width, first.
	One []Wider
	// Never are, where there are none of those, the windows that nothing lies in even
	// if nothing else is asked for.
	Never []Wider
	// Lacks are, where there is nothing to widen, figures that are asked for and
	// that no arrow of the drawer has.
	Lacks []Lack
}

// Lack is a figure that is absent, and why, in the words of package sheet: "needs the
// shaft's static spine".
type Lack struct {
	Key figure.Key
	Why string
}

// Widen looks for the least that the windows of a job's question have to be widened
// by for something to match. It answers only for a question that nothing matches.
// report and the error are as for Find.
func Widen(ctx context.Context, j *job.Job, report func(Progress)) (*Narrow, error) {
	if err := complete(j); err != nil {
		return nil, err
	}
	s, err := newSpace(j)
	if err != nil {
		return nil, err
	}
	q, out := newQuestion(j), &Narrow{}
	done := uint64(0)
	var absent *arrow.Build // has not the figure that was looked for last
	nearest := func(w window, others []window) (Wider, bool, error) {
		ask := q
		ask.windows, ask.missing, ask.sort, ask.size, ask.limit, ask.descending = others, &w, w.key, w.key.Definition().Unit, 1, false
		found, err := s.find(ctx, j, ask, func(p Progress) {
			if report != nil {
				report(Progress{Done: done + p.Done, Candidates: 2 * s.candidates * uint64(len(q.windows)), First: p.First})
			}
		})
		done += s.candidates
		if err != nil || len(found.Builds) == 0 {
			return Wider{}, false, err
		}
		x := newJudge(j, ask)
		value, ok := x.ranking(&found.Builds[0])
		if !ok {
			absent = &found.Builds[0]
		}
		return Wider{w.key, w.distance, value, value < w.min, found.Builds[0], w.miss(value) / w.scale()}, ok, nil
	}
	for i, w := range q.windows {
		wider, ok, err := nearest(w, slices.Delete(slices.Clone(q.windows), i, i+1))
		if err != nil {
			return nil, err
		}
		if ok {
			out.One = append(out.One, wider)
		}
	}
	for _, w := range q.windows {
		if len(out.One) > 0 {
			break
		}
		absent = nil
		wider, ok, err := nearest(w, nil)
		switch {
		case err != nil:
			return nil, err
		case absent != nil:
			out.Lacks = append(out.Lacks, lackOf(j, absent, w))
		case ok && wider.by > 0:
			out.Never = append(out.Never, wider)
		}
	}
	byMiss := func(a, b Wider) int { return cmp.Compare(a.by, b.by) }
	slices.SortStableFunc(out.One, byMiss)
	slices.SortStableFunc(out.Never, byMiss)
	return out, nil
}

// lackOf says why a build has not the figure of a window.
func lackOf(j *job.Job, b *arrow.Build, w window) Lack {
	with := *j
	with.Builds = append(slices.Clone(j.Builds), *b)
	place := sheet.Whole
	if w.distance > 0 {
		with.Distances, place = []unit.Length{w.distance}, 0
	}
	return Lack{w.key, sheet.Evaluate(&with).Builds[len(j.Builds)].Place(place).Absent(w.key)}
}
