// Package dozen pairs weighed pieces into arrows that match: which shaft gets which
// head, insert and nock, and which pieces are left out, so that the heaviest arrow weighs
// as little more than the lightest as can be.
package dozen

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"

	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// The names and versions of the two formats.
const (
	Format        = "foreshaft-dozen/1"
	PairingFormat = "foreshaft-pairing/1"
)

// MostPieces is how many pieces of a kind may be weighed.
const MostPieces = 500

// Weighed is what was weighed and how many arrows are wanted of it.
type Weighed struct {
	Format  string             `job:"format" need:"yes"`
	Weights Weights            `job:"weights_gr" need:"yes"`
	Arrows  unit.Optional[int] `job:"arrows" range:"1,500"`
}

// Weights are weights in grains, a list for each kind of piece. A kind without a list is
// not weighed piece by piece and counts as the same on every arrow.
type Weights struct {
	Shafts  []float64 `job:"shafts" range:"0,1000"`
	Heads   []float64 `job:"heads" range:"0,1000"`
	Inserts []float64 `job:"inserts" range:"0,1000"`
	Nocks   []float64 `job:"nocks" range:"0,1000"`
}

// Kind is a kind of piece that is weighed one by one.
type Kind int

// The kinds, in the order of the format.
const (
	Shafts Kind = iota
	Heads
	Inserts
	Nocks
	Kinds // how many there are
)

// String names pieces of the kind.
func (k Kind) String() string { return [...]string{"shafts", "heads", "inserts", "nocks"}[k] }

// One names one piece of the kind.
func (k Kind) One() string { return [...]string{"shaft", "head", "insert", "nock"}[k] }

// Named names so many pieces of the kind.
func (k Kind) Named(n int) string {
	if n == 1 {
		return k.One()
	}
	return k.String()
}

// Of returns the list of a kind.
func (w *Weights) Of(k Kind) *[]float64 {
	return [...]*[]float64{&w.Shafts, &w.Heads, &w.Inserts, &w.Nocks}[k]
}

// Count returns how many arrows are to be made: what is asked, else as many as the
// shortest list allows. It is 0 when nothing was weighed.
func (w *Weighed) Count() int {
	shortest := 0
	for k := range Kinds {
		if n := len(*w.Weights.Of(k)); n > 0 && (shortest == 0 || n < shortest) {
			shortest = n
		}
	}
	return w.Arrows.Or(shortest)
}

// Decode reads what was weighed by the strict rules of job files. The error is a
// *record.Error that names the place.
func Decode(data []byte) (*Weighed, error) {
	w := new(Weighed)
	if err := record.Decode(data, w); err != nil {
		return nil, err
	}
	return w, w.Check()
}

func refuse(path, format string, args ...any) error {
	return &record.Error{Path: path, Message: fmt.Sprintf(format, args...)}
}

// Check applies the rules that concern more than one value. The error is a *record.Error.
func (w *Weighed) Check() error {
	if w.Format != Format {
		return refuse("format", "must be %q, got %q", Format, w.Format)
	}
	if w.Count() < 1 {
		return refuse("weights_gr", "must have at least one list of weights: shafts, heads, inserts or nocks")
	}
	for k := range Kinds {
		list := *w.Weights.Of(k)
		switch n := len(list); {
		case n > MostPieces:
			return refuse("weights_gr."+k.String(), "must have 1 to %d weights, got %d", MostPieces, n)
		case n > 0 && n < w.Count():
			return refuse("arrows", "must be at most %d, as many as there are %s, got %d", n, k, w.Count())
		}
	}
	return nil
}

// Arrow is which pieces go together: their places in the lists, from 0. A kind that was
// not weighed has place 0.
type Arrow struct {
	Piece [Kinds]int
	Total float64 // in grains, of the pieces that were weighed
}

// Pairing is arrows that match. Spread is the heaviest less the lightest; no pairing has a
// smaller one than Bound. Proven says that the two are the same.
type Pairing struct {
	Spread, Bound float64 // in grains
	Proven        bool
	Arrows        []Arrow // the lightest first
	LeftOut       [Kinds][]int
	Has           [Kinds]bool // which kinds were weighed
}

// step is what weights are counted in: 10⁻⁹ gr, far finer than any scale, so that sums are
// exact and equal weights are equal.
const step = 1e-9

// Pair pairs what was weighed, which must have passed Check. One or two kinds are paired
// in the best way there is. Three or four are searched; where that does not settle it,
// Bound says how much better it could be at most.
func Pair(w *Weighed) *Pairing {
	p := problem{n: w.Count()}
	out := &Pairing{}
	for k := range Kinds {
		if list := *w.Weights.Of(k); len(list) > 0 {
			out.Has[k] = true
			p.kinds = append(p.kinds, k)
			whole := make([]int64, len(list))
			for i, gr := range list {
				whole[i] = steps(gr)
			}
			p.lists = append(p.lists, whole)
		}
	}
	best, bound := p.solve()
	out.Spread, out.Bound, out.Proven = grains(best.spread()), grains(bound), bound >= best.spread()
	used := [Kinds]map[int]bool{}
	for a, total := range best.totals {
		arrow := Arrow{Total: grains(total)}
		for l, k := range p.kinds {
			if used[k] == nil {
				used[k] = map[int]bool{}
			}
			arrow.Piece[k] = best.piece[l][a]
			used[k][arrow.Piece[k]] = true
		}
		out.Arrows = append(out.Arrows, arrow)
	}
	slices.SortStableFunc(out.Arrows, func(a, b Arrow) int {
		switch {
		case a.Total != b.Total:
			if a.Total < b.Total {
				return -1
			}
			return 1
		default:
			return slices.Compare(a.Piece[:], b.Piece[:])
		}
	})
	for l, k := range p.kinds {
		for i := range p.lists[l] {
			if !used[k][i] {
				out.LeftOut[k] = append(out.LeftOut[k], i)
			}
		}
	}
	return out
}

// steps counts grains.
func steps(gr float64) int64 { return int64(math.Round(gr / step)) }

// grains turns counted steps back into grains, as close as a number comes.
func grains(steps int64) float64 { return float64(steps) / (1 / step) }

// The shapes of the answer, in the order of its keys; a kind that was not weighed is left
// out.
type (
	answer struct {
		Format  string        `json:"format"`
		Spread  float64       `json:"spread_gr"`
		Bound   float64       `json:"bound_gr"`
		Proven  bool          `json:"proven"`
		Arrows  []arrowAnswer `json:"arrows"`
		LeftOut leftAnswer    `json:"left_out"`
	}
	arrowAnswer struct {
		Shaft  *int    `json:"shaft,omitempty"`
		Head   *int    `json:"head,omitempty"`
		Insert *int    `json:"insert,omitempty"`
		Nock   *int    `json:"nock,omitempty"`
		Total  float64 `json:"total_gr"`
	}
	leftAnswer struct {
		Shafts  *[]int `json:"shafts,omitempty"`
		Heads   *[]int `json:"heads,omitempty"`
		Inserts *[]int `json:"inserts,omitempty"`
		Nocks   *[]int `json:"nocks,omitempty"`
	}
)

// Answer writes the pairing in the exchange format.
func (p *Pairing) Answer() []byte {
	out := answer{Format: PairingFormat, Spread: p.Spread, Bound: p.Bound, Proven: p.Proven, Arrows: make([]arrowAnswer, len(p.Arrows))}
	left := [Kinds]**[]int{&out.LeftOut.Shafts, &out.LeftOut.Heads, &out.LeftOut.Inserts, &out.LeftOut.Nocks}
	for i := range p.Arrows {
		a, one := &p.Arrows[i], &out.Arrows[i]
		one.Total = a.Total
		for k, place := range [Kinds]**int{&one.Shaft, &one.Head, &one.Insert, &one.Nock} {
			if p.Has[k] {
				*place = &a.Piece[k]
			}
		}
	}
	for k := range Kinds {
		if p.Has[k] {
			list := append([]int{}, p.LeftOut[k]...)
			*left[k] = &list
		}
	}
	data, err := json.MarshalIndent(out, "", "  ")
	if err != nil { // it holds numbers and words
		panic("dozen: " + err.Error())
	}
	return append(data, '\n')
}
