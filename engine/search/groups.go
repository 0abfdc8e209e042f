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
}

// mostGroups is how many groups fronts are put in at most, by weight.
const mostGroups = 32

// grouped puts the fronts in groups.
func (t *table) grouped() {
	n := len(t.fronts)
	for i := range mostGroups {
		g := group{from: i * n / mostGroups, to: (i + 1) * n / mostGroups, first: math.Inf(1)}
		if g.from == g.to {
			continue
		}
		g.light, g.heavy = t.mass[g.from], t.mass[g.to-1]
		for h := range t.halves {
			keys := t.halves[h].key[g.from:g.to]
			g.low, g.high = append(g.low, slices.Min(keys)), append(g.high, slices.Max(keys))
		}
		for k := g.from; k < g.to; k++ {
			g.first = min(g.first, t.first[k])
			g.bladed, g.plain = g.bladed || t.fronts[k].bladed, g.plain || !t.fronts[k].bladed
		}
		t.groups = append(t.groups, g)
	}
}

// group decides the fronts of a group from one of them on together, their margins
// aside.
func (w *work) group(r *rearOf, i, from int) verdict {
	g := &w.groups[i]
	if w.anySlow {
		return perhaps
	}
	out := yes
	for h := range w.halves {
		switch {
		case g.high[h] < r.needs[h]-r.doubts[h]:
			return no
		case g.low[h] < r.needs[h]+r.doubts[h]:
			out = perhaps
		}
	}
	if w.question.dangers {
		return out
	}
	if from < r.sound || g.bladed && w.geometric[1] || g.plain && w.geometric[0] {
		return perhaps
	}
	if f := w.steers[i]; r.steer.known && !math.IsInf(f.moment, 0) {
		balance := (r.first + g.first + g.light*w.long) / (r.mass + g.heavy)
		push := r.steer.moment + f.moment
		if balance <= 0 || balance*(r.steer.slope+f.slope) <= push+steerDoubt*math.Abs(push) {
			return perhaps
		}
	}
	return out
}

// all takes fronts that all match.
func (w *work) all(r *rearOf, from, to int) {
	if w.question.trade != nil {
		for k := from; k < to; k++ {
			w.weigh(r, k)
		}
		return
	}
	w.matched += uint64(to - from)
	if w.best.limit == 0 || from == to {
		return
	}
	key := func(k int) float64 { return w.key(&w.fronts[k], r.sum, r.mass+w.mass[k]) }
	// Fronts follow each other by weight: the best first, the first that comes too late
	// ends it where weight alone decides.
	k, step := from, 1
	if key(to-1) < key(from) {
		k, step = to-1, -1
	}
	for ; k >= from && k < to; k += step {
		switch key := key(k); {
		case math.IsNaN(key) || w.best.room(key):
			w.matched--
			w.take(w.candidate(r.chosen, k), key)
		case byWeight(w.question.sort) && w.question.missing == nil:
			return
		}
	}
}

// byWeight reports whether a figure rises or falls with an arrow's weight, or its
// front's, and depends on nothing else that differs between fronts.
func byWeight(k figure.Key) bool {
	switch k {
	case figure.TotalWeight, figure.FrontWeight, figure.WeightPerDraw, figure.LaunchSpeed, figure.LaunchEnergy, figure.LaunchMomentum, figure.EnergyShare:
		return true
	}
	return false
}
