package dozen

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// problem is lists of weights in whole steps, of which n pieces each are to be used.
type problem struct {
	n     int
	kinds []Kind
	lists [][]int64
}

// pairing is which piece of each list goes onto which arrow, by its place in the list.
type pairing struct {
	piece  [][]int // for each list, for each arrow
	totals []int64
}

func (p *pairing) spread() int64 { return slices.Max(p.totals) - slices.Min(p.totals) }

func (p *pairing) clone() *pairing {
	out := &pairing{totals: slices.Clone(p.totals)}
	for _, list := range p.piece {
		out.piece = append(out.piece, slices.Clone(list))
	}
	return out
}

// solve returns the best pairing found and a spread that none is below.
func (p *problem) solve() (best *pairing, bound int64) {
	switch len(p.lists) {
	case 1:
		at := closest(p.lists[0], p.n)
		best = &pairing{piece: [][]int{at}, totals: pick(p.lists[0], at)}
		return best, best.spread()
	case 2:
		one, other := match(p.lists[0], p.lists[1], p.n)
		best = p.put([][]int{one, other})
		return best, best.spread()
	}
	return p.search()
}

// put makes a pairing of the places of the pieces.
func (p *problem) put(piece [][]int) *pairing {
	out := &pairing{piece: piece, totals: make([]int64, p.n)}
	for l, places := range piece {
		for a, at := range places {
			out.totals[a] += p.lists[l][at]
		}
	}
	return out
}

func pick(list []int64, at []int) []int64 {
	out := make([]int64, len(at))
	for i, place := range at {
		out[i] = list[place]
	}
	return out
}

// order returns the places of a list from the lightest to the heaviest, equal ones as they
// were weighed.
func order(list []int64) []int {
	out := make([]int, len(list))
	for i := range out {
		out[i] = i
	}
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(list[a], list[b]) })
	return out
}

// closest returns the places of the n weights that lie closest together: neighbours once
// they are sorted.
func closest(list []int64, n int) []int {
	sorted, from := order(list), 0
	for i := range len(list) - n + 1 {
		if list[sorted[i+n-1]]-list[sorted[i]] < list[sorted[from+n-1]]-list[sorted[from]] {
			from = i
		}
	}
	return sorted[from : from+n]
}

// match pairs n weights of one list with n of another so that the sums have the least
// spread. Of two lists of n each the lightest goes with the heaviest, and so on: any
// other order has a sum as light or lighter and one as heavy or heavier. Where some are
// left out, every lightest sum is tried with the least heaviest one that n pairs still
// find room below, unless that is no better than what was found.
func match(one, other []int64, n int) (ones, others []int) {
	up, down := order(one), order(other)
	slices.Reverse(down)
	if len(one) == n && len(other) == n {
		return up, down
	}
	sums := make([]int64, 0, len(one)*len(other))
	for _, a := range one {
		for _, b := range other {
			sums = append(sums, a+b)
		}
	}
	slices.Sort(sums)
	sums = slices.Compact(sums)
	least, low, high := int64(math.MaxInt64), int64(0), int64(0)
	for i, from := range sums {
		if least < math.MaxInt64 && (least == 0 || within(one, other, up, down, from, from+least-1) < n) {
			continue // no better from here
		}
		// The more may be heavy the more pairs find room.
		to := i + sort.Search(len(sums)-i, func(k int) bool { return within(one, other, up, down, from, sums[i+k]) >= n })
		if to == len(sums) {
			break
		}
		least, low, high = sums[to]-from, from, sums[to]
	}
	return between(one, other, up, down, low, high, n)
}

// within returns how many pairs at most have a sum from low to high. With the weights of
// one list going up, those of the other that suit go down, from both ends: who takes the
// first that suits leaves the most for the rest.
func within(one, other []int64, up, down []int, low, high int64) int {
	pairs, at := 0, 0
	for _, a := range up {
		for at < len(down) && one[a]+other[down[at]] > high {
			at++
		}
		if at == len(down) {
			break
		}
		if one[a]+other[down[at]] >= low {
			pairs++
			at++
		}
	}
	return pairs
}

// between returns n pairs with a sum from low to high.
func between(one, other []int64, up, down []int, low, high int64, n int) (ones, others []int) {
	at := 0
	for _, a := range up {
		for at < len(down) && one[a]+other[down[at]] > high {
			at++
		}
		if at == len(down) || len(ones) == n {
			break
		}
		if one[a]+other[down[at]] >= low {
			ones, others = append(ones, a), append(others, down[at])
			at++
		}
	}
	return ones, others
}
