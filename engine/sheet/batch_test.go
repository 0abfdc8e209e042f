package sheet_test

import (
	"math"
	"slices"
	"testing"

	"foreshaft/engine/caution"
	"foreshaft/engine/dozen"
	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// Common practice: builds 6 gr apart near 540 gr share sight marks to within about an inch
// of impact at 60 yd. A dozen that spreads as much is no worse, and the heaviest falls most.
func TestADozenSixGrainsApartHitsWithinAnInch(t *testing.T) {
	j := several(t)
	b := &j.Builds[0]
	values := sheet.NewSetting(j)
	whole := values.One(b, figure.TotalWeight, 0)
	// Bring the build to 540 gr by its head, then weigh heads 6 gr apart.
	b.Head.Weight += 540*unit.Grain - unit.Mass(whole)
	for _, more := range []float64{-3, 0, 3} {
		b.Dozen.Value.Heads = append(b.Dozen.Value.Heads, dozen.Piece{Weight: b.Head.Weight + unit.Mass(more)*unit.Grain})
	}
	b.Dozen.Given = true
	p, err := b.Dozen.Value.Pair()
	if err != nil {
		t.Fatal(err)
	}
	s := sheet.Evaluate(j)
	shots := s.Shots(0, p, 60*unit.Yard)
	first, last := shots[0], shots[len(shots)-1]
	if math.Abs(first.Weight.In(unit.Grain)-537) > 1e-6 || math.Abs(last.Weight.In(unit.Grain)-543) > 1e-6 {
		t.Errorf("weights %v and %v", first.Weight.In(unit.Grain), last.Weight.In(unit.Grain))
	}
	apart := (last.Drop - first.Drop).In(unit.Inch)
	if apart < 0.4 || apart > 1.3 {
		t.Errorf("the heaviest falls %.2f in more at 60 yd, want about an inch", apart)
	}
	if last.FOC <= first.FOC || last.Speed >= first.Speed {
		t.Errorf("a heavier head: FOC %g to %g, speed %v to %v", first.FOC, last.FOC, first.Speed, last.Speed)
	}
	// Let go at one angle, arrows hit as much apart as the impact shift of one build against
	// the other says, which follows the path in another way.
	pair := j.Clone()
	pair.Builds = pair.Builds[:1]
	pair.Baseline = 0
	two := b.With(&b.Dozen.Value, p.Arrows[2])
	two.Name = "the heaviest"
	pair.Builds[0] = b.With(&b.Dozen.Value, p.Arrows[0])
	pair.Builds = append(pair.Builds, two)
	setting := sheet.NewSetting(pair)
	at := setting.At(&pair.Builds[1], 60*unit.Yard)
	if shift, ok := at.Get(figure.ImpactShift); !ok || math.Abs(-shift/float64(last.Drop-first.Drop)-1) > 0.02 {
		t.Errorf("drops differ by %.4f in, the impact shifts by %.4f in", apart, unit.Length(shift).In(unit.Inch))
	}
}

// By hand: FOC is (Σ m x/Σ m − L/2)/L with the pieces as weighed (ASTM F1435 measures that
// balance point). A light shaft with a heavy head weighs as much as the other way round and
// balances elsewhere.
func TestEqualTotalsNeedNotBalanceAlike(t *testing.T) {
	j := several(t)
	b := &j.Builds[0]
	shaft, head := b.ShaftWeight(), b.Head.Weight
	const by = 5 * unit.Grain
	b.Dozen = unit.Some(dozen.Batch{
		Shafts: []dozen.Piece{{Weight: shaft + by}, {Weight: shaft - by}},
		Heads:  []dozen.Piece{{Weight: head + by}, {Weight: head - by}},
	})
	p, err := b.Dozen.Value.Pair()
	if err != nil || p.Spread > 1e-9 {
		t.Fatalf("%+v, %v", p, err)
	}
	s := sheet.Evaluate(j)
	shots := s.Shots(0, p, 60*unit.Yard)
	heavyHead, lightHead := shots[0], shots[1]
	if p.Arrows[0].Piece[dozen.Heads] != 0 {
		heavyHead, lightHead = lightHead, heavyHead
	}
	// Moving 2 × 5 gr from the middle of the tube to the head's place moves the balance.
	arm := b.Seat() + b.Head.BalancePoint() - (b.Nock.ThroatOffset() + b.Tube()/2)
	want := float64(2*by) * float64(arm) / float64(heavyHead.Weight) / float64(b.Length)
	if got := heavyHead.FOC - lightHead.FOC; math.Abs(got-want) > 1e-9 {
		t.Errorf("FOC differs by %g, want %g", got, want)
	}
	if math.Abs(float64(heavyHead.Drop-lightHead.Drop)) > 1e-9 {
		t.Errorf("arrows that weigh the same fall %v and %v", heavyHead.Drop, lightHead.Drop)
	}
}

func TestWhatIsNotKnownOfADozenIsNotTold(t *testing.T) {
	j := several(t)
	j.Bow.Value.Readings = nil
	j.Bow.Value.Rating.Given = false
	b := &j.Builds[0]
	b.Dozen = unit.Some(dozen.Batch{Nocks: []dozen.Piece{{Weight: 9 * unit.Grain}}})
	p, err := b.Dozen.Value.Pair()
	if err != nil {
		t.Fatal(err)
	}
	one := sheet.Evaluate(j).Shots(0, p, 60*unit.Yard)[0]
	if !math.IsNaN(float64(one.Speed)) || !math.IsNaN(float64(one.Drop)) || math.IsNaN(one.FOC) {
		t.Errorf("%+v", one)
	}
}

// What is said of the build need not hold for each arrow: with shafts that are lighter than
// the build's own the dozen may be below the bow's minimum where the build is above it.
func TestADozenIsJudgedByItsOwnWeights(t *testing.T) {
	j := several(t)
	b := &j.Builds[0]
	whole := sheet.Evaluate(j).Builds[0]
	total, _ := whole.Figure(figure.TotalWeight)
	j.Bow.Value.MinimumArrow = unit.Some(unit.Mass(total.Value) - 12*unit.Grain)
	own := b.ShaftWeight()
	batch := func(less ...float64) {
		b.Dozen = unit.Some(dozen.Batch{})
		for _, gr := range less {
			b.Dozen.Value.Shafts = append(b.Dozen.Value.Shafts, dozen.Piece{Weight: own - unit.Mass(gr)*unit.Grain})
		}
	}
	graver := func() []sheet.Graver {
		t.Helper()
		p, err := b.Dozen.Value.Pair()
		if err != nil {
			t.Fatal(err)
		}
		return sheet.Evaluate(j).Graver(0, p)
	}
	batch(0, 0.2, -0.2)
	if list := graver(); len(list) != 0 {
		t.Errorf("arrows like the build: %+v", list)
	}
	batch(0, 20, 0.1)
	list := graver()
	if len(list) != 1 || list[0].Code != caution.LightArrow || list[0].Level != caution.Danger || list[0].Arrow != 0 {
		t.Errorf("one arrow is 8 gr below the bow's minimum: %+v", list)
	}
	if s := sheet.Evaluate(j); slices.ContainsFunc(s.Builds[0].Cautions, func(c caution.Caution) bool { return c.Code == caution.LightArrow }) {
		t.Error("the build itself is too light: the test tells nothing")
	}
}
