package part_test

import (
	"math"
	"testing"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// of makes a part of each kind, one piece 10 gr as stated and 11 gr as weighed,
// a shaft 8 and 9 gr/in (invented).
func of(kind part.Kind) part.Part {
	const stated = 10 * unit.Grain
	trade := part.Trade{Price: unit.Some(2.5), Note: "shelf"}
	p := part.Part{ID: "x", Kind: kind, Measured: unit.Some(part.Measured{
		Weight: 11 * unit.Grain, WeightU: 0.1 * unit.Grain, WeightPerInch: 9 * unit.GrainPerInch, PerInchU: 0.02 * unit.GrainPerInch, Count: 12})}
	switch kind {
	case part.KindShaft:
		p.Shaft = unit.Some(part.Shaft{Name: "n", WeightPerInch: unit.Some(8 * unit.GrainPerInch), Trade: trade})
	case part.KindInsert:
		p.Insert = unit.Some(part.Insert{Name: "n", Weight: stated, Trade: trade})
	case part.KindCollar:
		p.Collar = unit.Some(part.Collar{Name: "n", Weight: stated, Trade: trade})
	case part.KindHead:
		p.Head = unit.Some(part.Head{Name: "n", Weight: stated, Trade: trade})
	case part.KindNock:
		p.Nock = unit.Some(part.Nock{Name: "n", Weight: stated, Trade: trade})
	case part.KindVanes:
		p.Vanes = unit.Some(part.Vanes{Name: "n", Count: 3, Weight: stated, Trade: trade})
	case part.KindWrap:
		p.Wrap = unit.Some(part.Wrap{Name: "n", Weight: stated, Trade: trade})
	}
	return p
}

// What a scale said wins over what was stated; both are kept.
func TestMeasuredWins(t *testing.T) {
	for _, kind := range part.Kinds {
		t.Run(string(kind), func(t *testing.T) {
			p := of(kind)
			stated, weighed := 10.0, 11.0
			switch kind {
			case part.KindShaft:
				stated, weighed = 8*30, 9*30
			case part.KindVanes:
				stated, weighed = 3*10, 3*11
			}
			near(t, "weighed", p.Weight(30*unit.Inch), weighed)
			w := p.Weighed()
			near(t, "taken into a build", w.Weight(30*unit.Inch), weighed)
			p.Measured = unit.Optional[part.Measured]{}
			near(t, "stated", p.Weight(30*unit.Inch), stated)
			if piece, given := p.Piece(); !p.Valid() || p.Name() != "n" || p.Trade().Note != "shelf" || piece == nil || !given {
				t.Errorf("%+v", p)
			}
			if again := of(kind); p.Bare() != again.Bare() {
				t.Errorf("%+v differs from %+v", p.Bare(), again.Bare())
			}
			typed := p.Reweighed(123 * unit.Grain)
			if kind != part.KindShaft && (typed.StatedWeight() != 123*unit.Grain || typed.Bare() == p.Bare()) {
				t.Errorf("reweighed: %+v", typed)
			}
			near(t, "the part itself", p.Weight(30*unit.Inch), stated)
		})
	}
}

// A weighed piece carries the scale's uncertainty, so that a build rests on it.
func TestWeighedCarriesUncertainty(t *testing.T) {
	insert, shaft := of(part.KindInsert).Weighed(), of(part.KindShaft).Weighed()
	if insert.Insert.Value.WeightU != unit.Some(0.1*unit.Grain) || shaft.Shaft.Value.WeightPerInchU != unit.Some(0.02*unit.GrainPerInch) {
		t.Errorf("%+v, %+v", insert.Insert.Value, shaft.Shaft.Value)
	}
}

func TestWeighedTubeIsAsItIs(t *testing.T) {
	p := of(part.KindShaft)
	p.Shaft.Value.TubeWeight = unit.Some(250 * unit.Grain)
	near(t, "tube", p.Weight(30*unit.Inch), 250)
}

// A part that does not hold the piece of its kind is of no use.
func TestValidNeedsThePieceOfItsKind(t *testing.T) {
	for _, kind := range part.Kinds {
		for _, other := range part.Kinds {
			p := of(other)
			p.Kind = kind
			if p.Valid() != (kind == other) {
				t.Errorf("a %s that holds a %s: valid %v", kind, other, p.Valid())
			}
		}
	}
	p := part.Part{Kind: "rest"}
	if piece, given := p.Piece(); given || piece != nil || p.Valid() || p.Name() != "" {
		t.Errorf("%+v", p)
	}
}

func near(t *testing.T, what string, got unit.Mass, want float64) {
	t.Helper()
	if math.Abs(got.In(unit.Grain)-want) > 1e-10 {
		t.Errorf("%s: %v gr, want %v", what, got.In(unit.Grain), want)
	}
}
