package search

import (
	"cmp"
	"context"
	"math"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
)

// trade is two figures that are weighed against each other, and whether more of each
// is wanted or less.
type trade struct {
	keys [2]figure.Key
	more [2]bool
}

// TradeOff looks through all candidates of a job's drawer for those matches of its
// question that nothing beats on both of two figures, in the order of the first
// figure, what is wanted first. more says of each figure whether more of it is wanted.
// A match beats another when it is as good on both and better on one; of equals the
// one enumerated first is kept. A match that lacks one of the figures is counted and
// takes no part. report and the error are as for Find.
func TradeOff(ctx context.Context, j *job.Job, figures [2]figure.Key, more [2]bool, report func(Progress)) (*Found, error) {
	if err := complete(j); err != nil {
		return nil, err
	}
	s, err := newSpace(j)
	if err != nil {
		return nil, err
	}
	q := newQuestion(j)
	q.trade, q.limit = &trade{figures, more}, 0
	return s.find(ctx, j, q, report)
}

// cost turns a figure into what less of is wanted, counted as keys are.
func (t *trade) cost(i int, value float64) float64 {
	if t.more[i] {
		value = -value
	}
	return math.Round(t.keys[i].Definition().Unit.Of(value) / grain)
}

// corner is a match by its two costs.
type corner struct {
	costs [2]float64
	chosen
	turn uint64
}

// edge is the matches that nothing beats: the first cost rises along it, and the
// second falls.
type edge []corner

// take keeps a match unless something beats it, and leaves out what it beats.
func (e *edge) take(c corner) {
	list := *e
	at, _ := slices.BinarySearchFunc(list, c, func(a, b corner) int {
		return cmp.Or(cmp.Compare(a.costs[0], b.costs[0]), cmp.Compare(a.costs[1], b.costs[1]))
	})
	switch {
	case at > 0 && list[at-1].costs[1] <= c.costs[1]: // which costs no more of the first either
	case at < len(list) && list[at].costs == c.costs:
		if c.turn < list[at].turn {
			list[at] = c
		}
	default:
		end := at
		for end < len(list) && list[end].costs[1] >= c.costs[1] {
			end++
		}
		*e = slices.Replace(list, at, end, c)
	}
}

// weigh counts a match of which sums may tell both figures, and keeps it unless it is
// beaten.
func (w *work) weigh(r *rearOf, k int) {
	c, t := w.candidate(r.chosen, k), w.question.trade
	var costs [2]float64
	for i, key := range t.keys {
		value, told := w.told(key, &w.fronts[k], r.sum, r.mass+w.mass[k])
		if !told {
			w.take(c, math.NaN())
			return
		}
		costs[i] = t.cost(i, value)
	}
	w.matched++
	w.hold(c, costs)
}

// costs computes both figures of a match; NaN where one is absent.
func (x *judge) costs(b *arrow.Build) (out [2]float64) {
	t := x.question.trade
	values := x.setting.Some(b, t.keys[:])
	for i, key := range t.keys {
		out[i] = math.NaN()
		if value, ok := values.Get(key); ok {
			out[i] = t.cost(i, value)
		}
	}
	return out
}

// hold keeps a match of these costs unless it is beaten.
func (w *work) hold(c chosen, costs [2]float64) {
	if !math.IsNaN(costs[0]) && !math.IsNaN(costs[1]) {
		w.edge.take(corner{costs, c, w.turn(c)})
	}
}
