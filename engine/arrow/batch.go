package arrow

import (
	"foreshaft/engine/dozen"
	"foreshaft/engine/unit"
)

// With returns the build as one arrow of a batch: with the weights of its own pieces in
// place of those that stand for all. What was not weighed piece by piece stays, and so does
// an insert that the build does without. A weighed shaft is the cut tube with nothing on it.
func (b *Build) With(batch *dozen.Batch, a dozen.Arrow) Build {
	out := b.Clone()
	for k := range dozen.Kinds {
		list := *batch.Of(k)
		if len(list) == 0 {
			continue
		}
		weight := list[a.Piece[k]].Weight
		switch k {
		case dozen.Shafts:
			out.Shaft.TubeWeight = unit.Some(weight)
		case dozen.Heads:
			out.Head.Weight = weight
		case dozen.Inserts:
			out.Insert.Value.Weight = weight
		case dozen.Nocks:
			out.Nock.Weight = weight
		}
	}
	return out
}

// Weighs returns what the build's piece of a kind weighs by its own account, to see whether
// what was weighed can be it; false where the build does without.
func (b *Build) Weighs(k dozen.Kind) (unit.Mass, bool) {
	switch k {
	case dozen.Shafts:
		return b.ShaftWeight(), b.Tube() > 0
	case dozen.Heads:
		return b.Head.Weight, true
	case dozen.Inserts:
		return b.Insert.Value.Weight, b.Insert.Given
	}
	return b.Nock.Weight, true
}
