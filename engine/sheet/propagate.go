package sheet

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
)

// rule says how the parts of an input's error come out of the values of a
// figure: at those places, in standard uncertainties, less the value itself,
// times those weights. Each part stands for an error of its own with a standard
// deviation of one, uncorrelated with the others.
type rule struct {
	at    []float64
	parts [][]float64
}

// straight is the slope by central difference: small enough a step for the
// first order, far above rounding.
var straight = rule{at: []float64{1. / 16, -1. / 16}, parts: [][]float64{{8, -8}}}

// curved is for an input so uncertain that a straight line does not do (JCGM
// 100:2008, 5.1.2, note). Its parts are the first three Hermite coefficients of
// the figure, by Gauss–Hermite quadrature at five places, exact up to the sixth
// degree (Abramowitz & Stegun, 25.4.46 and table 25.10).
var curved = hermite([]float64{1.355626179974266, -1.355626179974266, 2.856970013872806, -2.856970013872806},
	[]float64{0.222075922005613, 0.222075922005613, 0.011257411327721, 0.011257411327721})

// hermite makes the rule of the places and weights of a quadrature over the
// normal distribution.
func hermite(at, weights []float64) rule {
	r := rule{at: at, parts: make([][]float64, 3)}
	for i, z := range at {
		for k, h := range []float64{z, (z*z - 1) / math.Sqrt2, (z*z*z - 3*z) / math.Sqrt(6)} {
			r.parts[k] = append(r.parts[k], weights[i]*h)
		}
	}
	return r
}

// moved is a build with one input at the places of a rule.
type moved struct {
	rule   *rule
	inputs [3]int
	first  float64 // see common
	weight bool    // it changes a weight or the bow, not a place
	at     []placed
}

// placed is a build at one of those places.
type placed struct {
	values  figure.Values
	leaving leaving
	turning float64 // see Setting.steer
}

// Beside the figures stand a path's decay and what turns an arrow straight.
const (
	decay = figure.Count + iota
	turning
)

func (m *moved) get(n int, k figure.Key) (float64, bool) {
	switch k {
	case decay:
		d := m.at[n].leaving.decay
		return d, !math.IsNaN(d)
	case turning:
		d := m.at[n].turning
		return d, !math.IsNaN(d)
	}
	return m.at[n].values.Get(k)
}

// movedBy takes room for its places from the front of space.
func movedBy(space *[]placed, r *rule, inputs ...int) moved {
	n := len(r.at)
	m := moved{rule: r, first: 1, at: (*space)[:n:n]}
	*space = (*space)[n:]
	copy(m.inputs[:], inputs)
	return m
}

// shares appends what the input's uncertainty does to a figure.
func (m *moved) shares(list []figure.Share, k figure.Key, value float64) []figure.Share {
	var by [4]float64
	bends := false
	for n := range m.rule.at {
		there, ok := m.get(n, k)
		if !ok { // nothing to be had on that side: go by the other, n^1
			if there, ok = m.get(n^1, k); !ok {
				continue
			}
			there = 2*value - there
		}
		by[n] = there - value
		bends = bends || by[n] != 0
	}
	if !bends {
		return list
	}
	for i, weights := range m.rule.parts {
		amount := 0.0
		for n, w := range weights {
			amount += w * by[n]
		}
		if i == 0 {
			amount *= m.first
		}
		list = append(list, figure.Share{Input: m.inputs[i], Amount: amount})
	}
	return list
}

// movedBuild computes the build with one input moved by that many standard
// uncertainties. It uses trial as room, which is kept from call to call: a build is
// large, and one for each input at every key is garbage enough to be felt.
func movedBuild(here *Setting, trial, b *arrow.Build, near solved, o own, by float64) placed {
	extras := append(trial.Extras[:0], b.Extras...) // what moves an extra must not reach b
	*trial = *b
	trial.Extras = extras
	o.move(trial, by*o.u)
	return here.place(trial, near.at(trial, here.rest))
}
