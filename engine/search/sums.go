package search

import (
	"cmp"
	"math"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// sum is what pieces add up to: their mass, its moment, and the square of the
// weight's standard uncertainty. Places at the rear count from the throat, places
// at the front from the cut end: neither depends on the rest of the arrow then.
type sum struct{ mass, first, variance float64 }

func (s sum) plus(o sum) sum {
	return sum{s.mass + o.mass, s.first + o.first, s.variance + o.variance}
}

// front is a combination of insert, collar and head.
type front struct {
	sum
	insert, collar, head int32
	bladed               bool
}

// fronts lists all combinations that go together and whose front weight lies in its
// window, the lightest first. That weight is theirs alone, whatever is behind them.
func (s *space) fronts(x *judge) []front {
	var out []front
	trial := longest()
	ahead := slices.IndexFunc(x.question.windows, func(w window) bool { return w.key == figure.FrontWeight })
	collars := make([]sum, len(s.collars))
	for c, collar := range s.collars {
		trial.Collar = collar.piece
		collars[c] = added(&trial, trial.Length, part.KindCollar)
	}
	for n, insert := range s.inserts {
		trial.Insert, trial.Collar = insert.piece, unit.Optional[part.Collar]{}
		for h, head := range s.heads {
			trial.Head = head.piece
			if !x.fits(&trial) {
				continue
			}
			rest := added(&trial, trial.Length, part.KindInsert, part.KindHead)
			for c, collar := range s.collars {
				if ahead >= 0 {
					b := trial
					b.Collar = collar.piece
					if !x.question.windows[ahead].holds(float64(b.Moments().Front)) {
						continue
					}
				}
				out = append(out, front{rest.plus(collars[c]), int32(n), int32(c), int32(h), head.piece.Blades > 0})
			}
		}
	}
	slices.SortFunc(out, func(a, b front) int { return cmp.Compare(a.mass, b.mass) })
	return out
}

// longest returns an arrow that has room for every piece, to try them on.
func longest() arrow.Build {
	return arrow.Build{Length: 60 * unit.Inch, Nock: part.Nock{Throat: unit.Some(unit.Length(0))}}
}

// added adds up the pieces of those kinds of a build, places counted from there.
func added(b *arrow.Build, from unit.Length, kinds ...part.Kind) sum {
	var out sum
	var space [16]arrow.Element
	for _, e := range b.AppendElements(space[:0]) {
		if slices.Contains(kinds, e.Kind) {
			out.mass += float64(e.Mass)
			out.first += float64(e.Mass) * float64(e.Centre-from)
		}
	}
	for _, k := range kinds {
		u := float64(b.WeightU(k))
		out.variance += u * u
	}
	return out
}

// half is a linear condition on a front at one length: key = q + slope·m, of the
// front's moment q and mass m, must be at least what the rear leaves.
type half struct {
	key  []float64
	most float64 // the greatest of them, whatever its sign
	need func(rear sum) float64
}

// halves turns the windows on balance and FOC into conditions. balance ≥ b is
// Σ m x ≥ b Σ m; with the front's places counted from the cut end at L that is
// q + m (L − b) ≥ b M − S of the rear's mass M and moment S. FOC is a balance:
// b = L (½ + FOC).
func halves(q *question, length float64, mass, first []float64) []half {
	var out []half
	atLeast := func(balance, sign float64) {
		h := half{key: make([]float64, len(mass)), need: func(rear sum) float64 { return sign * (balance*rear.mass - rear.first) }}
		for i := range mass {
			h.key[i] = sign * (first[i] + mass[i]*(length-balance))
			h.most = max(h.most, math.Abs(h.key[i]))
		}
		out = append(out, h)
	}
	for _, w := range q.windows {
		var low, high float64
		switch w.key {
		case figure.BalancePoint:
			low, high = w.min, w.max
		case figure.FOC:
			low, high = length*(0.5+w.min), length*(0.5+w.max)
		default:
			continue
		}
		if !math.IsInf(low, -1) {
			atLeast(low, 1)
		}
		if !math.IsInf(high, 1) {
			atLeast(high, -1)
		}
	}
	return out
}
