package dozen_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/dozen"
	"foreshaft/engine/unit"
)

func pieces(grains ...float64) []dozen.Piece {
	var out []dozen.Piece
	for _, gr := range grains {
		out = append(out, dozen.Piece{Weight: unit.Mass(gr) * unit.Grain})
	}
	return out
}

// begin makes the pairing of a batch the list that is being made.
func begin(t *testing.T, b *dozen.Batch) *dozen.Pairing {
	t.Helper()
	p, err := b.Pair()
	if err != nil {
		t.Fatal(err)
	}
	b.Plan = b.PlanOf(p)
	return p
}

func TestPiecesLeftOutAreNotPaired(t *testing.T) {
	b := dozen.Batch{Shafts: pieces(300, 310, 301, 302), Heads: pieces(102, 101, 100)}
	b.Shafts[1].LeftOut = true
	p, err := b.Pair()
	if err != nil {
		t.Fatal(err)
	}
	if p.Spread > 1e-9 || !p.Proven || len(p.Arrows) != 3 || len(p.LeftOut[dozen.Shafts]) > 0 {
		t.Errorf("%+v", p)
	}
	for _, a := range p.Arrows {
		// Places are those of the batch, the one left out counted.
		if shaft := b.Shafts[a.Piece[dozen.Shafts]]; shaft.LeftOut || math.Abs(shaft.Weight.In(unit.Grain)+b.Heads[a.Piece[dozen.Heads]].Weight.In(unit.Grain)-a.Total) > 1e-9 {
			t.Errorf("%+v has shaft %+v", a, shaft)
		}
	}
}

func TestAPairingSaysWhatIsMissing(t *testing.T) {
	b := dozen.Batch{Shafts: pieces(300, 301), Heads: pieces(100), Arrows: unit.Some(2)}
	if _, err := b.Pair(); err == nil || err.Error() != "2 arrows need 1 more head" {
		t.Errorf("%v", err)
	}
	b.Arrows = unit.Some(3)
	if _, err := b.Pair(); err == nil || err.Error() != "3 arrows need 1 more shaft" {
		t.Errorf("%v", err)
	}
	b.Shafts = append(b.Shafts, pieces(302)...)
	if _, err := b.Pair(); err == nil || err.Error() != "3 arrows need 2 more heads" {
		t.Errorf("%v", err)
	}
	b.Heads[0].LeftOut = true
	if _, err := b.Pair(); err == nil || !strings.Contains(err.Error(), "all heads are left out") {
		t.Errorf("%v", err)
	}
	none := dozen.Batch{}
	if _, err := none.Pair(); err == nil || !none.Empty() || none.Wanted() != 0 {
		t.Errorf("nothing weighed: %v", err)
	}
}

// A build list that was begun stays as it is whatever is weighed anew, and tells the totals
// as they are now.
func TestAPlanStaysAndTellsTotalsAnew(t *testing.T) {
	b := dozen.Batch{Shafts: pieces(300, 301, 302, 305), Heads: pieces(102, 101, 100)}
	before := begin(t, &b)
	held := b.Clone()
	b.Shafts[2].Weight = 310 * unit.Grain
	after, _ := b.Pair()
	for i := range before.Arrows {
		if before.Arrows[i].Piece != after.Arrows[i].Piece {
			t.Errorf("arrow %d has other pieces", i)
		}
	}
	if math.Abs(before.Spread) > 1e-9 || math.Abs(after.Spread-8) > 1e-9 {
		t.Errorf("spread %g and %g, want 0 and 8", before.Spread, after.Spread)
	}
	if !slices.Equal(after.LeftOut[dozen.Shafts], []int{3}) || held.Shafts[2].Weight != 302*unit.Grain {
		t.Errorf("left out %v; the clone weighs %v", after.LeftOut, held.Shafts[2].Weight)
	}
	// What is not planned may go, and the plan follows.
	b.Remove(dozen.Shafts, 3)
	if err := b.Check("dozen"); err != nil {
		t.Error(err)
	}
}

func TestRemovingMovesThePlan(t *testing.T) {
	b := dozen.Batch{Shafts: pieces(290, 300, 301), Arrows: unit.Some(2)}
	begin(t, &b)
	b.Remove(dozen.Shafts, 0)
	p, err := b.Pair()
	if err != nil || b.Check("dozen") != nil || math.Abs(p.Spread-1) > 1e-9 || b.Planned(dozen.Shafts, 2) || !b.Planned(dozen.Shafts, 1) {
		t.Errorf("%+v, %v, %v", p, err, b.Check("dozen"))
	}
}

func TestABatchIsRefusedByItsPlace(t *testing.T) {
	one := func(shaft int) dozen.Planned { return dozen.Planned{Shaft: unit.Some(shaft)} }
	for want, b := range map[string]dozen.Batch{
		"b.plan[0].shaft: must be a place in shafts": {Shafts: pieces(300), Plan: []dozen.Planned{one(1)}},
		"b.plan[1].shaft: is in another arrow":       {Shafts: pieces(300, 301), Plan: []dozen.Planned{one(1), one(1)}},
		"b.plan[0].head: must be there":              {Shafts: pieces(300), Heads: pieces(100), Plan: []dozen.Planned{one(0)}},
		"b.plan[0].shaft: must be there":             {Heads: pieces(100), Plan: []dozen.Planned{{Shaft: unit.Some(0), Head: unit.Some(0)}}},
		"b.plan: must be empty":                      {Plan: []dozen.Planned{{}}},
		"b.plan: must be empty where nothing":        {Arrows: unit.Some(3), Plan: []dozen.Planned{{Made: true}}},
		"b.nocks: must have at most 500":             {Nocks: make([]dozen.Piece, 501)},
	} {
		if err := b.Check("b"); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

// Whatever is left out and removed, a pairing uses each piece once and its totals add up.
func TestAPairingUsesEachPieceOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b dozen.Batch
		for k := range dozen.Kinds {
			n := rapid.IntRange(0, 6).Draw(t, "pieces")
			for range n {
				*b.Of(k) = append(*b.Of(k), dozen.Piece{Weight: unit.Mass(rapid.IntRange(10, 400).Draw(t, "gr")) * unit.Grain, LeftOut: rapid.IntRange(0, 4).Draw(t, "out") == 0})
			}
		}
		p, err := b.Pair()
		if err != nil {
			return
		}
		b.Plan = b.PlanOf(p)
		for k := range dozen.Kinds {
			if i := rapid.IntRange(0, 6).Draw(t, "gone"); i < len(*b.Of(k)) && !b.Planned(k, i) {
				b.Remove(k, i)
			}
		}
		if err := b.Check("b"); err != nil {
			t.Fatal(err)
		}
		after, err := b.Pair()
		if err != nil || math.Abs(after.Spread-p.Spread) > 1e-9 {
			t.Fatalf("spread %g, then %g, %v", p.Spread, after.Spread, err)
		}
		used := map[[2]int]bool{}
		for _, a := range after.Arrows {
			total := 0.0
			for k := range dozen.Kinds {
				if !after.Has[k] {
					continue
				}
				piece := [2]int{int(k), a.Piece[k]}
				if used[piece] || (*b.Of(k))[a.Piece[k]].LeftOut {
					t.Fatalf("%v is used twice or left out", piece)
				}
				used[piece] = true
				total += (*b.Of(k))[a.Piece[k]].Weight.In(unit.Grain)
			}
			if math.Abs(total-a.Total) > 1e-9 {
				t.Fatalf("%g, want %g", a.Total, total)
			}
		}
	})
}
