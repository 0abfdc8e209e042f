package dozen

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"foreshaft/engine/unit"
)

// Batch is a dozen in the making: pieces that were weighed one by one, and what became of
// them. A build carries one in job files.
type Batch struct {
	Arrows  unit.Optional[int] `job:"arrows" range:"1,500"`
	Shafts  []Piece            `job:"shafts"`
	Heads   []Piece            `job:"heads"`
	Inserts []Piece            `job:"inserts"`
	Nocks   []Piece            `job:"nocks"`
	// Plan is the build list from when the first arrow of it was made: it no longer
	// changes with the weights then.
	Plan []Planned `job:"plan"`
}

// Piece is one piece that was weighed. Straightness is its run-out when it is turned; spine is
// a shaft's, and means nothing of other pieces.
type Piece struct {
	Weight       unit.Mass                  `job:"weight_gr" range:"0,1000" need:"yes"`
	Spine        unit.Optional[unit.Length] `job:"spine_in" range:"0.05,3" shown:"inches"`
	Straightness unit.Optional[unit.Length] `job:"straightness_in" range:"0,1" shown:"fine"`
	LeftOut      bool                       `job:"left_out"`
}

// Planned is an arrow of a build list: which pieces it is made of, by their places from 0,
// and whether it is made.
type Planned struct {
	Shaft  unit.Optional[int] `job:"shaft" range:"0,499"`
	Head   unit.Optional[int] `job:"head" range:"0,499"`
	Insert unit.Optional[int] `job:"insert" range:"0,499"`
	Nock   unit.Optional[int] `job:"nock" range:"0,499"`
	Made   bool               `job:"made"`
}

// Of returns the list of a kind.
func (b *Batch) Of(k Kind) *[]Piece {
	return [...]*[]Piece{&b.Shafts, &b.Heads, &b.Inserts, &b.Nocks}[k]
}

// Of returns the place of a kind's piece.
func (p *Planned) Of(k Kind) *unit.Optional[int] {
	return [...]*unit.Optional[int]{&p.Shaft, &p.Head, &p.Insert, &p.Nock}[k]
}

// Clone returns a batch that shares nothing with this one.
func (b Batch) Clone() Batch {
	for k := range Kinds {
		list := b.Of(k)
		*list = slices.Clone(*list)
	}
	b.Plan = slices.Clone(b.Plan)
	return b
}

// weighed reports whether any piece was.
func (b *Batch) weighed() bool {
	for k := range Kinds {
		if len(*b.Of(k)) > 0 {
			return true
		}
	}
	return false
}

// Empty reports whether nothing was weighed and nothing else is noted.
func (b *Batch) Empty() bool { return !b.weighed() && !b.Arrows.Given }

// Wanted returns how many arrows are to be made: what is asked, else as many as the pieces
// allow that are not left out.
func (b *Batch) Wanted() int {
	if b.Arrows.Given {
		return b.Arrows.Value
	}
	fewest, some := math.MaxInt, false
	for k := range Kinds {
		if len(*b.Of(k)) > 0 {
			fewest, some = min(fewest, len(b.in(k))), true
		}
	}
	if !some {
		return 0
	}
	return fewest
}

// in returns the places of the pieces of a kind that are not left out.
func (b *Batch) in(k Kind) []int {
	var out []int
	for i, p := range *b.Of(k) {
		if !p.LeftOut {
			out = append(out, i)
		}
	}
	return out
}

// Made returns how many arrows of the build list are made.
func (b *Batch) Made() int {
	n := 0
	for _, p := range b.Plan {
		if p.Made {
			n++
		}
	}
	return n
}

// Planned reports whether a piece is in the build list that is being made.
func (b *Batch) Planned(k Kind, at int) bool {
	return slices.ContainsFunc(b.Plan, func(p Planned) bool { return *p.Of(k) == unit.Some(at) })
}

// Check applies the rules that concern more than one value of a batch that stands at a path.
// The error is a *record.Error.
func (b *Batch) Check(path string) error {
	for k := range Kinds {
		list := *b.Of(k)
		if n := len(list); n > MostPieces {
			return refuse(path+"."+k.String(), "must have at most %d pieces, got %d", MostPieces, n)
		}
		seen := map[int]bool{}
		for i := range b.Plan {
			place, at := *b.Plan[i].Of(k), fmt.Sprintf("%s.plan[%d].%s", path, i, k.One())
			switch {
			case place.Given != (len(list) > 0):
				return refuse(at, "must be there where %s were weighed, and nowhere else", k)
			case !place.Given:
			case place.Value >= len(list):
				return refuse(at, "must be a place in %s, 0 to %d, got %d", k, len(list)-1, place.Value)
			case seen[place.Value]:
				return refuse(at, "is in another arrow already")
			}
			seen[place.Value] = true
		}
	}
	if len(b.Plan) > 0 && !b.weighed() {
		return refuse(path+".plan", "must be empty where nothing was weighed")
	}
	return nil
}

// Missing says what a pairing lacks; nil where the pieces can be paired, or are planned.
func (b *Batch) Missing() error {
	if !b.weighed() {
		return errors.New("there is nothing to pair: no piece is weighed")
	}
	if len(b.Plan) > 0 {
		return nil
	}
	for k := range Kinds {
		if len(*b.Of(k)) == 0 {
			continue
		}
		switch n, wanted := len(b.in(k)), b.Wanted(); {
		case n == 0:
			return fmt.Errorf("all %s are left out: nothing can be paired", k)
		case n < wanted:
			return fmt.Errorf("%d arrows need %d more %s", wanted, wanted-n, k.Named(wanted-n))
		}
	}
	return nil
}

// Pair pairs the pieces that are not left out, or follows the build list that is being
// made. Places are those of the batch. The error is that of Missing.
func (b *Batch) Pair() (*Pairing, error) {
	if err := b.Missing(); err != nil {
		return nil, err
	}
	if len(b.Plan) > 0 {
		return b.planned(), nil
	}
	w := &Weighed{Format: Format, Arrows: unit.Some(b.Wanted())}
	var places [Kinds][]int
	for k := range Kinds {
		places[k] = b.in(k)
		for _, i := range places[k] {
			list := w.Weights.Of(k)
			*list = append(*list, (*b.Of(k))[i].Weight.In(unit.Grain))
		}
	}
	p := Pair(w)
	for i := range p.Arrows {
		for k := range Kinds {
			if p.Has[k] {
				p.Arrows[i].Piece[k] = places[k][p.Arrows[i].Piece[k]]
			}
		}
	}
	for k := range Kinds {
		for i, at := range p.LeftOut[k] {
			p.LeftOut[k][i] = places[k][at]
		}
	}
	return p, nil
}

// planned returns the build list as a pairing, in its order. Nothing bounds its spread.
func (b *Batch) planned() *Pairing {
	out := &Pairing{}
	var used [Kinds]map[int]bool
	for k := range Kinds {
		out.Has[k], used[k] = len(*b.Of(k)) > 0, map[int]bool{}
	}
	low, high := int64(math.MaxInt64), int64(math.MinInt64)
	for i := range b.Plan {
		var a Arrow
		total := int64(0)
		for k := range Kinds {
			if out.Has[k] {
				a.Piece[k] = b.Plan[i].Of(k).Value
				used[k][a.Piece[k]] = true
				total += steps((*b.Of(k))[a.Piece[k]].Weight.In(unit.Grain))
			}
		}
		a.Total = grains(total)
		low, high = min(low, total), max(high, total)
		out.Arrows = append(out.Arrows, a)
	}
	out.Spread = grains(high - low)
	for k := range Kinds {
		for _, i := range b.in(k) {
			if out.Has[k] && !used[k][i] {
				out.LeftOut[k] = append(out.LeftOut[k], i)
			}
		}
	}
	return out
}

// PlanOf returns the build list that is being made, else a pairing of this batch as one of
// which nothing is made yet.
func (b *Batch) PlanOf(p *Pairing) []Planned {
	if len(b.Plan) > 0 {
		return b.Plan
	}
	out := make([]Planned, len(p.Arrows))
	for i, a := range p.Arrows {
		for k := range Kinds {
			if p.Has[k] {
				*out[i].Of(k) = unit.Some(a.Piece[k])
			}
		}
	}
	return out
}

// Remove takes a piece out of its list. It must not be planned; the places of those behind
// it move up in the build list too.
func (b *Batch) Remove(k Kind, at int) {
	list := b.Of(k)
	*list = slices.Delete(*list, at, at+1)
	for i := range b.Plan {
		if place := b.Plan[i].Of(k); place.Given && place.Value > at {
			place.Value--
		}
	}
}
