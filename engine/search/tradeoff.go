package search

import (
	"cmp"
	"slices"
)

// TradeOff returns the places of those of several things that nothing beats on both
// of two figures, in the order of the first figure. more says of each figure whether
// more of it is wanted, or less. Something beats another when it is as good on both
// and better on one; equals stand together.
func TradeOff(values [][2]float64, more [2]bool) []int {
	// As if less were wanted of both.
	cost := func(i, figure int) float64 {
		if more[figure] {
			return -values[i][figure]
		}
		return values[i][figure]
	}
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(cost(a, 0), cost(b, 0)), cmp.Compare(cost(a, 1), cost(b, 1)))
	})
	var out []int
	for _, i := range order {
		n := len(out)
		// What came before is as good on the first figure.
		if n == 0 || cost(i, 1) < cost(out[n-1], 1) || values[i] == values[out[n-1]] {
			out = append(out, i)
		}
	}
	return out
}
