// Package search looks through every arrow that the pieces of a drawer can make,
// for those whose figures lie in given windows. It is exhaustive and exact: what
// it finds is what computing every candidate with package sheet would find.
//
// Weights and moments add up, so most candidates are decided by sums over their
// pieces without being put together; a launch margin by bounds that enclose it.
// What lies too close to a bound to be decided so is put together and computed.
package search

import (
	"fmt"
	"math/bits"

	"foreshaft/engine/arrow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// Without stands for doing without a piece, where one is named by its place in a
// list of the drawer.
const Without = -1

// Pick is one candidate, by the places of its pieces in the lists of the drawer.
type Pick struct {
	Length                      unit.Length
	Shaft, Nock                 int
	Vanes, Insert, Collar, Head int // Head is never Without
}

// choice is one thing that a list offers: a piece and its place, or Without.
type choice[T any] struct {
	place int // Without where there is none
	turn  int // where it comes in the order of enumeration
	piece T
}

// space is everything that can be combined.
type space struct {
	lengths []choice[unit.Length]
	shafts  []choice[part.Shaft]
	nocks   []choice[part.Nock]
	vanes   []choice[unit.Optional[part.Vanes]]
	inserts []choice[unit.Optional[part.Insert]]
	collars []choice[unit.Optional[part.Collar]]
	heads   []choice[part.Head]
	// sizes are how many turns each list has, in the order of enumeration, what is
	// out of stock included.
	sizes [7]int
	// candidates is how many combinations there are.
	candidates uint64
}

// complete returns a *record.Error that names a list of a job's drawer that must
// not be empty, or nil.
func complete(j *job.Job) error {
	d := &j.Drawer.Value
	for _, list := range []struct {
		name  string
		count int
	}{{"shafts", len(d.Shafts)}, {"nocks", len(d.Nocks)}, {"heads", len(d.Heads)}} {
		if list.count == 0 {
			return &record.Error{Path: "drawer." + list.name, Message: "must not be empty: a search combines them"}
		}
	}
	return nil
}

// newSpace reads a job's drawer. The error is a *record.Error that names it.
func newSpace(j *job.Job) (*space, error) {
	d, stocked := &j.Drawer.Value, j.Search.Value.InStock
	s := &space{}
	lengths := d.Lengths
	if len(lengths) == 0 {
		if len(j.Builds) == 0 {
			return nil, &record.Error{Path: "drawer.lengths_in", Message: "must not be empty: there is no build whose length to take"}
		}
		lengths = []unit.Length{j.Builds[j.Baseline].Length}
	}
	for i, l := range lengths {
		s.lengths = append(s.lengths, choice[unit.Length]{i, i, l})
	}
	has := func(t part.Trade, count float64) bool { return !stocked || t.Stock.Given && t.Stock.Value >= count }
	for i, p := range d.Shafts {
		if has(p.Trade, 1) {
			s.shafts = append(s.shafts, choice[part.Shaft]{i, i, p})
		}
	}
	for i, p := range d.Nocks {
		if has(p.Trade, 1) {
			s.nocks = append(s.nocks, choice[part.Nock]{i, i, p})
		}
	}
	for i, p := range d.Heads {
		if has(p.Trade, 1) {
			s.heads = append(s.heads, choice[part.Head]{i, i, p})
		}
	}
	s.vanes = optional(d.Vanes, func(p part.Vanes) bool { return has(p.Trade, max(1, float64(p.Count))) })
	s.inserts = optional(d.Inserts, func(p part.Insert) bool { return has(p.Trade, 1) })
	s.collars = optional(d.Collars, func(p part.Collar) bool { return has(p.Trade, 1) })
	s.sizes = [7]int{len(lengths), len(d.Shafts), len(d.Nocks), max(1, len(d.Vanes)), max(1, len(d.Inserts)), max(1, len(d.Collars)), len(d.Heads)}
	s.candidates = 1
	for _, n := range s.sizes {
		high, low := bits.Mul64(s.candidates, uint64(n))
		if high != 0 {
			return nil, &record.Error{Path: "drawer", Message: "makes more combinations than can be counted"}
		}
		s.candidates = low
	}
	return s, nil
}

// optional reads a list of pieces that an arrow can do without: empty it means
// without, and so does null.
func optional[T any](list []unit.Optional[T], has func(T) bool) []choice[unit.Optional[T]] {
	if len(list) == 0 {
		return []choice[unit.Optional[T]]{{place: Without}}
	}
	var out []choice[unit.Optional[T]]
	for i, p := range list {
		switch {
		case !p.Given:
			out = append(out, choice[unit.Optional[T]]{Without, i, p})
		case has(p.Value):
			out = append(out, choice[unit.Optional[T]]{i, i, p})
		}
	}
	return out
}

// chosen is a candidate by its places in the lists of a space.
type chosen struct{ length, shaft, nock, vanes, insert, collar, head int32 }

// build puts a candidate together.
func (s *space) build(c chosen) arrow.Build {
	return arrow.Build{
		Length: s.lengths[c.length].piece, Shaft: s.shafts[c.shaft].piece, Nock: s.nocks[c.nock].piece, Vanes: s.vanes[c.vanes].piece,
		Insert: s.inserts[c.insert].piece, Collar: s.collars[c.collar].piece, Head: s.heads[c.head].piece,
	}
}

// pick returns a candidate by its places in the drawer.
func (s *space) pick(c chosen) Pick {
	return Pick{
		Length: s.lengths[c.length].piece, Shaft: s.shafts[c.shaft].place, Nock: s.nocks[c.nock].place, Vanes: s.vanes[c.vanes].place,
		Insert: s.inserts[c.insert].place, Collar: s.collars[c.collar].place, Head: s.heads[c.head].place,
	}
}

// turn returns where a candidate comes in the order of enumeration, the heads
// fastest.
func (s *space) turn(c chosen) uint64 {
	out := uint64(0)
	for i, at := range [7]int{s.lengths[c.length].turn, s.shafts[c.shaft].turn, s.nocks[c.nock].turn, s.vanes[c.vanes].turn,
		s.inserts[c.insert].turn, s.collars[c.collar].turn, s.heads[c.head].turn} {
		out = out*uint64(s.sizes[i]) + uint64(at)
	}
	return out
}

// String names a pick for messages.
func (p Pick) String() string {
	return fmt.Sprintf("length %.4g in, shaft %d, nock %d, vanes %d, insert %d, collar %d, head %d",
		p.Length.In(unit.Inch), p.Shaft, p.Nock, p.Vanes, p.Insert, p.Collar, p.Head)
}
