package dozen

import (
	"math"
	"slices"
)

// search pairs three lists or more. It looks for good pairings, bounds what any could be,
// and then tries to close the gap between the two by trying everything, as far as that
// is worth while.
func (p *problem) search() (*pairing, int64) {
	bound := p.bound()
	best := p.look(bound)
	if best.spread() <= bound {
		return best, bound
	}
	return p.close(best, bound)
}

// lattice returns what all differences between totals are multiples of: the greatest
// common divisor of the differences within the lists. It is 0 when every list is of
// equal weights.
func (p *problem) lattice() int64 {
	g := int64(0)
	for _, list := range p.lists {
		for _, w := range list {
			g = divisor(g, w-list[0])
		}
	}
	return g
}

func divisor(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return max(a, -a)
}

// leftovers reports whether pieces are left out of any list.
func (p *problem) leftovers() bool {
	return slices.ContainsFunc(p.lists, func(list []int64) bool { return len(list) > p.n })
}

// sum is the weight of all pieces.
func (p *problem) sum() int64 {
	total := int64(0)
	for _, list := range p.lists {
		for _, w := range list {
			total += w
		}
	}
	return total
}

// up returns the least number of the lattice that is at least num/den, down the greatest
// that is at most that. Totals are offset plus multiples of g.
func up(num, den, offset, g int64) int64 {
	at := ceil(num-offset*den, den*g)
	return offset + at*g
}

func down(num, den, offset, g int64) int64 { return -up(-num, den, -offset, g) }

func ceil(a, b int64) int64 {
	q := a / b
	if a%b > 0 {
		q++
	}
	return q
}

// mostChoices is how many ways to leave pieces out are bounded one by one.
const mostChoices = 20_000

// bound returns a spread that no pairing is below: the least of what bounds each choice of
// the pieces that are used, where there are not too many choices. The lists whose choices
// would be too many count with all their pieces.
func (p *problem) bound() int64 {
	g := p.lattice()
	if g == 0 {
		return 0
	}
	sorted, offset := make([][]int64, len(p.lists)), int64(0)
	for l, list := range p.lists {
		sorted[l] = pick(list, order(list))
		offset += list[0]
	}
	least, choices := int64(-1), 1
	var choose func(l int)
	choose = func(l int) {
		if l == len(sorted) {
			if b := p.boundOf(sorted, offset, g); least < 0 || b < least {
				least = b
			}
			return
		}
		full := sorted[l]
		ways := binomial(len(full), p.n)
		if ways == 1 || choices*ways > mostChoices {
			choose(l + 1)
			return
		}
		choices *= ways
		defer func() { sorted[l], choices = full, choices/ways }()
		used := make([]int64, p.n)
		var with func(i, from int)
		with = func(i, from int) {
			if i == p.n {
				sorted[l] = used
				choose(l + 1)
				return
			}
			for at := from; at <= len(full)-(p.n-i); at++ {
				used[i] = full[at]
				with(i+1, at+1)
			}
		}
		with(0, 0)
	}
	choose(0)
	return least
}

// binomial is how many ways there are to choose k of n, or more than are ever tried.
func binomial(n, k int) int {
	out := 1
	for i := 1; i <= min(k, n-k); i++ {
		if out = out * (n - i + 1) / i; out > mostChoices {
			return mostChoices + 1
		}
	}
	return out
}

// boundOf returns a spread that no pairing of some lists is below, each sorted from the
// lightest. The k heaviest arrows weigh at least as much together as the k heaviest pieces
// of one list with the k lightest of each other, so one of them weighs at least the mean
// of that; the k lightest in the same way at most. Where all pieces are used, not all
// arrows can weigh the mean unless the scale shows it.
func (p *problem) boundOf(sorted [][]int64, offset, g int64) int64 {
	n := int64(p.n)
	heavy, light, sum, all := int64(math.MinInt64), int64(math.MaxInt64), int64(0), true
	for first := range sorted {
		high, low := int64(0), int64(0)
		for k := range p.n {
			for l, list := range sorted {
				from, to := list[k], list[len(list)-1-k]
				if l == first { // of the n lightest the heaviest, and the other way round
					from, to = list[p.n-1-k], list[len(list)-p.n+k]
				}
				high, low = high+from, low+to
			}
			heavy, light = max(heavy, up(high, int64(k+1), offset, g)), min(light, down(low, int64(k+1), offset, g))
		}
		all = all && len(sorted[first]) == p.n
		for _, w := range sorted[first] {
			sum += w
		}
	}
	if all {
		heavy, light = max(heavy, up(sum, n, offset, g)), min(light, down(sum, n, offset, g))
	}
	return max(heavy-light, 0)
}

// How long look goes on: rounds of mending one pairing, each from a shuffled one, and
// how much work that may be, in pieces looked at.
const (
	rounds   = 600
	mostWork = 3_000_000
	seed     = 20260314 // any number: the same pieces are always paired in the same way
)

// dice are numbers that look like chance and are always the same (splitmix64: Steele, Lea
// and Flood, Fast splittable pseudorandom number generators, 2014).
type dice uint64

// below returns the next one, from 0 to n − 1.
func (d *dice) below(n int) int {
	*d += 0x9e3779b97f4a7c15
	z := uint64(*d)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return int((z ^ z>>31) % uint64(n))
}

// look looks for a pairing with little spread, and stops at one that is as good as the
// bound. Each list in turn is paired anew with what the others come to, in the best way
// there is; when that brings nothing more, some pieces change places and it begins again.
func (p *problem) look(bound int64) *pairing {
	random := dice(seed)
	var best *pairing
	for round, work := 0, 0; round < rounds && (work < mostWork || round == 0); round++ {
		var at *pairing
		switch {
		case round < len(p.lists):
			at = p.begin(round)
			for _, list := range p.lists[1:] {
				work += p.effort(list)
			}
		default:
			at = best.clone()
			p.shuffle(at, &random, 1+random.below(3))
		}
		work += p.mend(at, mostWork-work)
		if best == nil || better(at, best) {
			best = at
		}
		if best.spread() <= bound {
			break
		}
	}
	return best
}

// better compares two pairings by their spread, and where that is the same by how far
// the totals lie from their mean.
func better(a, b *pairing) bool {
	if one, other := a.spread(), b.spread(); one != other {
		return one < other
	}
	return a.unrest() < b.unrest()
}

// unrest is the sum of the squares of how far totals are from their mean.
func (p *pairing) unrest() float64 {
	mean := 0.0
	for _, t := range p.totals {
		mean += float64(t) / float64(len(p.totals))
	}
	out := 0.0
	for _, t := range p.totals {
		d := float64(t) - mean
		out += float64(d * d) // rounded, so that every processor orders pairings alike
	}
	return out
}

// begin pairs the lists one after the other, from one of them on.
func (p *problem) begin(first int) *pairing {
	piece := make([][]int, len(p.lists))
	piece[first] = closest(p.lists[first], p.n)
	sums := pick(p.lists[first], piece[first])
	for i := 1; i < len(p.lists); i++ {
		l := (first + i) % len(p.lists)
		arrows, pieces := match(sums, p.lists[l], p.n)
		piece[l] = make([]int, p.n)
		for j, a := range arrows {
			piece[l][a] = pieces[j]
			sums[a] += p.lists[l][pieces[j]]
		}
	}
	return p.put(piece)
}

// effort is how much work it is to pair a list with n sums.
func (p *problem) effort(list []int64) int {
	if len(list) == p.n {
		return 8 * p.n
	}
	return p.n * len(list) * (p.n + len(list))
}

// mend pairs each list anew with what the others come to, until that brings nothing more
// or the work is at its end, and returns how much that was.
func (p *problem) mend(at *pairing, most int) (work int) {
	for still := 0; still < len(p.lists) && work < most; {
		for l, list := range p.lists {
			work += p.effort(list)
			if p.again(at, l) {
				still = 0
			} else {
				still++
			}
			if still == len(p.lists) || work >= most {
				break
			}
		}
	}
	return work
}

// again pairs one list anew with what the others come to and reports whether that is
// better.
func (p *problem) again(at *pairing, l int) bool {
	rest := make([]int64, p.n)
	for a := range rest {
		rest[a] = at.totals[a] - p.lists[l][at.piece[l][a]]
	}
	arrows, pieces := match(rest, p.lists[l], p.n)
	next := &pairing{piece: slices.Clone(at.piece), totals: rest}
	next.piece[l] = make([]int, p.n)
	for j, a := range arrows {
		next.piece[l][a] = pieces[j]
		next.totals[a] += p.lists[l][pieces[j]]
	}
	if !better(next, at) {
		return false
	}
	*at = *next
	return true
}

// shuffle lets some pieces change places.
func (p *problem) shuffle(at *pairing, random *dice, times int) {
	for range times {
		l := random.below(len(p.lists))
		a, list, places := random.below(p.n), p.lists[l], at.piece[l]
		to := random.below(len(list))
		if b := slices.Index(places, to); b >= 0 {
			places[a], places[b] = places[b], places[a]
			moved := list[places[a]] - list[places[b]]
			at.totals[a], at.totals[b] = at.totals[a]+moved, at.totals[b]-moved
			continue
		}
		at.totals[a] += list[to] - list[places[a]]
		places[a] = to
	}
}

// mostTries is how much work close does at most, in places looked at: some tens of
// milliseconds. Of that one question may take a share.
const (
	mostTries = 2_000_000
	share     = 4
)

// close raises the bound and lowers the best spread by trying everything. It asks whether
// any pairing has so small a spread, half way between the two, as often as the work is
// worth while. What stays open there may still be settled for a smaller spread.
func (p *problem) close(best *pairing, bound int64) (*pairing, int64) {
	for _, list := range p.lists {
		if len(list) > mostExact {
			return best, bound
		}
	}
	g, t := p.lattice(), newTrial(p)
	for top := best.spread(); bound < top && t.left > 0; {
		spread := bound + (top-bound)/(2*g)*g
		switch found, sure := t.within(spread, min(t.left, mostTries/share)); {
		case found != nil:
			best = found
			top = best.spread()
		case sure:
			bound = spread + g
		default:
			top = spread
		}
	}
	return best, bound
}
