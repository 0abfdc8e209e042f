package search

import (
	"math"
	"slices"

	"foreshaft/engine/figure"
)

// group is a number of fronts that follow each other, with the least and the most of
// what they are judged by.
type group struct {
	from, to      int
	low, high     []float64 // of the halves' keys
	first         float64   // least moment about the cut end
	light, heavy  float64
	bladed, plain bool
	slope, push   float64 // of blades: least slope, most moment about the throat
}

// cut is a run of fronts.
type cut struct{ from, to int }

// cuts shares n fronts out among at most so many runs, none of them empty. Groups and
// the bins of margins are cut alike.
func cuts(n, count int) []cut {
	var out []cut
	for i := range count {
		if c := (cut{i * n / count, (i + 1) * n / count}); c.from < c.to {
			out = append(out, c)
		}
	}
	return out
}

// grouped puts the fronts in groups.
func (w *work) grouped(count int) {
	for _, c := range cuts(len(w.fronts), count) {
		g := group{from: c.from, to: c.to, first: math.Inf(1), slope: math.Inf(1), push: math.Inf(-1)}
		g.light, g.heavy = w.mass[g.from], w.mass[g.to-1]
		for h := range w.halves {
			keys := w.halves[h].key[g.from:g.to]
			g.low, g.high = append(g.low, slices.Min(keys)), append(g.high, slices.Max(keys))
		}
		for k := g.from; k < g.to; k++ {
			g.first = min(g.first, w.first[k])
			g.bladed, g.plain = g.bladed || w.fronts[k].bladed, g.plain || !w.fronts[k].bladed
			if w.slope != nil && !math.IsNaN(w.slope[k]) {
				g.slope, g.push = min(g.slope, w.slope[k]), max(g.push, w.moment[k]+w.slope[k]*w.long)
			}
		}
		w.groups = append(w.groups, g)
	}
}

// group decides the fronts of a group from one of them on together, their margins
// aside.
func (w *work) group(r *rearOf, g *group, from int) verdict {
	if w.anySlow || len(w.ahead) > 0 {
		return perhaps
	}
	out := yes
	for i := range w.halves {
		switch {
		case g.high[i] < r.needs[i]-r.doubts[i]:
			return no
		case g.low[i] < r.needs[i]+r.doubts[i]:
			out = perhaps
		}
	}
	if w.question.dangers {
		return out
	}
	if from < r.sound || g.bladed && w.geometric[1] || g.plain && w.geometric[0] {
		return perhaps
	}
	if g.bladed && r.steer.known && !math.IsInf(g.push, 0) {
		balance := (r.first + g.first + g.light*w.long) / (r.mass + g.heavy)
		if balance <= 0 || balance*(r.steer.slope+g.slope) <= r.steer.moment+g.push {
			return perhaps
		}
	}
	return out
}

// all takes fronts that all match.
func (w *work) all(r *rearOf, from, to int) {
	w.matched += uint64(to - from)
	if w.best.limit == 0 {
		return
	}
	rising := w.question.sort == figure.TotalWeight && !w.question.descending
	for k := from; k < to; k++ {
		front := &w.fronts[k]
		key := w.key(front, r.sum, r.mass+front.mass)
		switch {
		case math.IsNaN(key) || w.best.room(key):
			w.matched--
			w.take(w.candidate(r.chosen, k), key)
		case rising:
			return
		}
	}
}
