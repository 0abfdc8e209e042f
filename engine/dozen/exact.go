package dozen

import (
	"cmp"
	"slices"
)

// mostExact is how many pieces a list may have for everything to be tried: a bit of a word
// each, and not more arrows that are possible than memory has room for.
const (
	mostExact  = 64
	mostArrows = 400_000
)

// trial tries everything: every way to choose n arrows of all that the pieces make.
type trial struct {
	*problem
	arrows  []made // every one that is possible, the lightest first
	primary int    // the list whose pieces are taken in turn: that with the fewest
	sum     int64  // of all pieces, where none is left out
	all     bool   // none is left out of any list
	left    int    // how much work is left
	budget  int    // of that for one question
	used    []uint64
	chosen  []made
	suits   [][]made // for each piece of the primary list, the arrows of the window with it
}

// made is one arrow that is possible.
type made struct {
	total int64
	piece [Kinds]uint8
}

func newTrial(p *problem) *trial {
	t := &trial{problem: p, left: mostTries, all: !p.leftovers(), used: make([]uint64, len(p.lists))}
	size := 1
	for l, list := range p.lists {
		if size *= len(list); size > mostArrows {
			t.left = 0
			return t
		}
		if len(list) < len(p.lists[t.primary]) {
			t.primary = l
		}
	}
	if t.all {
		t.sum = p.sum()
	}
	t.arrows = make([]made, 0, size)
	t.make(made{}, 0)
	slices.SortStableFunc(t.arrows, func(a, b made) int { return cmp.Compare(a.total, b.total) })
	t.suits = make([][]made, len(p.lists[t.primary]))
	return t
}

// make lists every arrow that begins with some pieces.
func (t *trial) make(m made, l int) {
	if l == len(t.lists) {
		t.arrows = append(t.arrows, m)
		return
	}
	total := m.total
	for i, w := range t.lists[l] {
		m.total, m.piece[l] = total+w, uint8(i)
		t.make(m, l+1)
	}
}

// within returns a pairing whose spread is at most so much. Sure says that there is none
// where none is returned; it is false when the work was not worth while.
func (t *trial) within(spread int64, budget int) (found *pairing, sure bool) {
	t.budget = budget
	n := int64(t.n)
	for from, to := 0, 0; from < len(t.arrows); from++ {
		// The lightest arrow is this one.
		low := t.arrows[from].total
		for to < len(t.arrows) && t.arrows[to].total <= low+spread {
			to++
		}
		if t.all && (low*n > t.sum || (low+spread)*n < t.sum) {
			continue
		}
		for i := range t.suits {
			t.suits[i] = t.suits[i][:0]
		}
		for _, m := range t.arrows[from:to] {
			t.suits[m.piece[t.primary]] = append(t.suits[m.piece[t.primary]], m)
		}
		t.spend(to - from)
		clear(t.used)
		t.chosen = t.chosen[:0]
		t.take(t.arrows[from])
		switch {
		case t.fill(low, low+spread, t.sum-low, len(t.lists[t.primary])-t.n):
			return t.pairing(), true
		case t.budget <= 0:
			return nil, false
		}
	}
	return nil, true
}

func (t *trial) spend(work int) {
	t.budget -= work
	t.left -= work
}

func (t *trial) take(m made) {
	for l := range t.lists {
		t.used[l] |= 1 << m.piece[l]
	}
	t.chosen = append(t.chosen, m)
}

func (t *trial) back() {
	m := t.chosen[len(t.chosen)-1]
	t.chosen = t.chosen[:len(t.chosen)-1]
	for l := range t.lists {
		t.used[l] &^= 1 << m.piece[l]
	}
}

// free reports whether none of the pieces of an arrow is on another.
func (t *trial) free(m made) bool {
	for l := range t.lists {
		if t.used[l]&(1<<m.piece[l]) != 0 {
			return false
		}
	}
	return true
}

// fill chooses the arrows that are missing, of those from low to high, where rest is the
// weight of the pieces that are left if all are to be used, and so many of the primary
// list may be left out. The piece that has the fewest arrows left comes first.
func (t *trial) fill(low, high, rest int64, skips int) bool {
	missing := int64(t.n - len(t.chosen))
	if missing == 0 {
		return true
	}
	if t.budget <= 0 || t.all && (low*missing > rest || high*missing < rest) {
		return false
	}
	next, fewest := -1, 0
	for i, suits := range t.suits {
		if t.used[t.primary]&(1<<i) != 0 {
			continue
		}
		n := 0
		for _, m := range suits {
			if t.free(m) {
				n++
			}
		}
		t.spend(len(suits) + 1)
		if next < 0 || n < fewest {
			next, fewest = i, n
		}
	}
	if next < 0 {
		return false
	}
	for _, m := range t.suits[next] {
		if !t.free(m) {
			continue
		}
		t.take(m)
		if t.fill(low, high, rest-m.total, skips) {
			return true
		}
		t.back()
		if t.budget <= 0 {
			return false
		}
	}
	if skips == 0 {
		return false
	}
	t.used[t.primary] |= 1 << next
	if t.fill(low, high, rest, skips-1) {
		return true
	}
	t.used[t.primary] &^= 1 << next
	return false
}

// pairing returns the arrows that were chosen.
func (t *trial) pairing() *pairing {
	piece := make([][]int, len(t.lists))
	for _, m := range t.chosen {
		for l := range t.lists {
			piece[l] = append(piece[l], int(m.piece[l]))
		}
	}
	return t.put(piece)
}
