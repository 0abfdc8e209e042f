package bow_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/unit"
)

func TestDefaults(t *testing.T) {
	cases := []struct {
		kind      bow.Kind
		want      bow.Kind
		release   bow.Release
		braceIn   float64
		exponent  float64
		exponentU float64
		k, kU     float64
	}{
		{"", bow.Compound, bow.Aid, 6.5, 1.34, 0.3, 90, 40},
		{bow.Compound, bow.Compound, bow.Aid, 6.5, 1.34, 0.3, 90, 40},
		{bow.Recurve, bow.Recurve, bow.Fingers, 7.5, 1, 0, 120, 50},
		{bow.Longbow, bow.Longbow, bow.Fingers, 7.5, 1, 0, 180, 60},
	}
	for _, c := range cases {
		t.Run(string(c.kind), func(t *testing.T) {
			b := bow.Bow{Kind: c.kind, Readings: []bow.Reading{reading(420, 200, 0)}}
			if b.KindOrDefault() != c.want || b.ReleaseOrDefault() != c.release {
				t.Errorf("%s, %s", b.KindOrDefault(), b.ReleaseOrDefault())
			}
			near(t, "brace, in", b.BraceOrDefault().In(unit.Inch), c.braceIn, 1e-12)
			if n, u := b.StrokeExponent(); n != c.exponent || u != c.exponentU {
				t.Errorf("exponent %v ± %v", n, u)
			}
			f := fitted(t, b) // one reading leaves the prior as it is
			near(t, "K₀, gr", f.VirtualMass.In(unit.Grain), c.k, 1e-6)
			near(t, "σ_K, gr", f.VirtualMassU.In(unit.Grain), c.kU, 1e-6)
		})
	}
	given := bow.Bow{Kind: bow.Longbow, Release: bow.Aid, Brace: unit.Some(in(6))}
	if given.ReleaseOrDefault() != bow.Aid || given.BraceOrDefault() != in(6) {
		t.Error("what is given stands")
	}
	near(t, "u of peak, lb", given.PeakUncertainty().In(unit.PoundForce), 0.5, 1e-12)
	near(t, "u of draw, in", given.DrawUncertainty().In(unit.Inch), 0.1, 1e-12)
}

// Draw length is the distance to the pivot plus 1¾ in (ASTM F1880), so 28 in
// of draw put the pivot 26¼ in ahead of the throat.
func TestRest(t *testing.T) {
	b := bow.Bow{Draw: unit.Some(in(28))}
	at, known := b.Rest()
	if near(t, "rest, in", at.In(unit.Inch), 26.25, 1e-12); !known {
		t.Error("the draw is given")
	}
	b.RestBehindPivot = unit.Some(in(1.5))
	at, _ = b.Rest()
	near(t, "rest behind the pivot, in", at.In(unit.Inch), 24.75, 1e-12)
	if _, known := new(bow.Bow).Rest(); known {
		t.Error("the draw is not given")
	}
}

// One reading is met exactly, whatever it is.
func TestOneReadingIsMet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.Float64Range(150, 900).Draw(t, "grains")
		v := rapid.Float64Range(100, 400).Draw(t, "speed")
		b := shop(reading(m, v, 1))
		f, err := b.Fit()
		if err != nil || math.Abs(f.Speed(gr(m)).In(unit.FootPerSecond)/v-1) > 1e-12 {
			t.Fatalf("%v gr at %v: %v, %v", m, v, f.Speed(gr(m)).In(unit.FootPerSecond), err)
		}
		if lighter, heavier := f.Speed(gr(m-10)), f.Speed(gr(m+10)); !(lighter > fps(v) && fps(v) > heavier) {
			t.Fatalf("heavier arrows are slower: %v, %v", lighter, heavier)
		}
	})
}

func TestRatingAlone(t *testing.T) {
	b := bow.Bow{Peak: unit.Some(lb(70)), Draw: unit.Some(in(30)), Rating: unit.Some(bow.Rating{Speed: fps(335), Arrow: gr(350)})}
	f := fitted(t, b)
	if !f.FromRating || f.Scaled {
		t.Errorf("%+v", f)
	}
	v := f.Speed(gr(350)).In(unit.FootPerSecond)
	near(t, "97 % of the rated speed", v, 0.97*335, 1e-9)
	// v at the rating's own arrow rests on E/(m + K) alone: u²(v) from the
	// covariance must come to 3 %.
	m, k, e := float64(gr(350)), float64(f.VirtualMass), float64(f.Energy)
	byE, byK := 0.5/e*float64(f.EnergyU), -0.5/(m+k)*float64(f.VirtualMassU)
	near(t, "3 % of it", math.Sqrt(byE*byE+byK*byK+2*f.Correlation*byE*byK), 0.03, 1e-9)
	if notes := f.Notes(unit.System{}); len(notes) != 1 || !strings.Contains(notes[0], "rating alone") {
		t.Errorf("notes: %q", notes)
	}
	b.Readings = []bow.Reading{reading(420, 280, 1)}
	if f := fitted(t, b); f.FromRating || math.Abs(f.Speed(gr(420)).In(unit.FootPerSecond)-280) > 1e-9 {
		t.Error("a reading is used instead of the rating")
	}
}

// s = (peakᵢ/peak)(strokeᵢ/stroke)ⁿ, stroke = draw − brace − 1.75 in; a speed
// taken elsewhere is carried here by 1/√s.
func TestReadingAtOtherSettings(t *testing.T) {
	const v = 280.0
	cases := []struct {
		name   string
		kind   bow.Kind
		there  bow.Conditions
		s      float64
		scaled bool
	}{
		{"as now", bow.Compound, bow.Conditions{}, 1, false},
		{"as now, written out", bow.Compound, bow.Conditions{Peak: unit.Some(lb(70)), Draw: unit.Some(in(30)), Brace: unit.Some(in(6.5))}, 1, false},
		{"less peak", bow.Compound, bow.Conditions{Peak: unit.Some(lb(60))}, 60.0 / 70, true},
		{"shorter draw", bow.Compound, bow.Conditions{Draw: unit.Some(in(28))}, math.Pow(19.75/21.75, 1.34), true},
		{"higher brace", bow.Compound, bow.Conditions{Brace: unit.Some(in(7))}, math.Pow(21.25/21.75, 1.34), true},
		{"everything", bow.Compound, bow.Conditions{Peak: unit.Some(lb(75)), Draw: unit.Some(in(31)), Brace: unit.Some(in(6))}, 75.0 / 70 * math.Pow(23.25/21.75, 1.34), true},
		{"recurve, shorter draw", bow.Recurve, bow.Conditions{Draw: unit.Some(in(28))}, 19.75 / 21.75, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := reading(420, v, 1)
			r.Conditions = c.there
			b := shop(r)
			b.Kind = c.kind
			f := fitted(t, b)
			near(t, "speed as the bow is now", f.Speed(gr(420)).In(unit.FootPerSecond), v/math.Sqrt(c.s), 1e-9)
			if f.Scaled != c.scaled {
				t.Errorf("scaled: %v", f.Scaled)
			}
		})
	}
}

func TestMissingInputsAreNamed(t *testing.T) {
	at := func(c bow.Conditions) bow.Reading {
		r := reading(420, 280, 1)
		r.Conditions = c
		return r
	}
	peak, draw := bow.Conditions{Peak: unit.Some(lb(60))}, bow.Conditions{Draw: unit.Some(in(28))}
	cases := []struct {
		name string
		bow  bow.Bow
		want string
	}{
		{"nothing", bow.Bow{}, "needs a chronograph reading or the bow's rated speed"},
		{"reading at its own peak", bow.Bow{Readings: []bow.Reading{at(peak)}}, "needs the bow's peak draw weight, because a speed was taken at its own"},
		{"reading at its own draw", bow.Bow{Readings: []bow.Reading{at(draw)}}, "needs the bow's draw length, because a speed was taken at its own"},
		{"reading of a weightless arrow", shop(reading(420, 280, 1), reading(0, 280, 1)), "needs the weight of the arrow of reading 2"},
		{"rating of a weightless arrow", bow.Bow{Rating: unit.Some(bow.Rating{Speed: fps(300)})}, "needs the arrow weight of the bow's rating"},
		{"rating at its own peak", bow.Bow{Rating: unit.Some(bow.Rating{Speed: fps(300), Arrow: gr(350), Conditions: peak})}, "needs the bow's peak draw weight, because a speed was taken at its own"},
		{"no stroke left", bow.Bow{Draw: unit.Some(in(12)), Brace: unit.Some(in(11)), Readings: []bow.Reading{at(draw)}}, "needs a draw length greater than brace height plus 1.75 in"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := c.bow.Fit()
			var missing *figure.MissingError
			if !errors.As(err, &missing) || err.Error() != c.want {
				t.Errorf("got %v, want %s", err, c.want)
			}
		})
	}
}

// A reading at the bow's own settings says nothing about how energy changes
// with them: a peak that was measured wrong leaves the speed alone. One at its
// own settings is carried by the ratio.
func TestShifted(t *testing.T) {
	own := shop(reading(420, 280, 1))
	own.Readings[0].Conditions = own.Now()
	here := fitted(t, own)
	moved := own.Shifted(lb(1), in(0.2))
	near(t, "peak, lb", moved.Peak.Value.In(unit.PoundForce), 71, 1e-9)
	near(t, "draw, in", moved.Draw.Value.In(unit.Inch), 30.2, 1e-9)
	if f := fitted(t, moved); f.Energy != here.Energy || f.Scaled {
		t.Errorf("energy %v becomes %v", here.Energy, f.Energy)
	}
	if !own.Readings[0].Peak.Given || own.Peak.Value != lb(70) {
		t.Error("the bow itself must not change")
	}
	other := shop(reading(420, 280, 1))
	other.Readings[0].Peak = unit.Some(lb(60))
	before, after := fitted(t, other), fitted(t, other.Shifted(lb(1), 0))
	near(t, "energy, peak now 71 lb", float64(after.Energy/before.Energy), 71.0/70, 1e-9)
}

// A reading taken today keeps its meaning when the bow is set differently later.
func TestNowKeepsAReadingsMeaning(t *testing.T) {
	b := bow.Bow{Peak: unit.Some(lb(70)), Draw: unit.Some(in(30)), Readings: []bow.Reading{reading(420, 280, 1)}}
	b.Readings[0].Conditions = b.Now()
	b.Peak = unit.Some(lb(60))
	backed := fitted(t, b)
	near(t, "speed after backing off, ft/s", backed.Speed(gr(420)).In(unit.FootPerSecond), 280*math.Sqrt(60.0/70), 1e-9)
}

// A usual brace height is not one that was measured: entering the real one, or
// another kind of bow, says nothing about readings taken before.
func TestABraceThatNobodyMeasuredIsNotStamped(t *testing.T) {
	b := shop(reading(400, 290, 1))
	b.Brace = unit.Optional[unit.Length]{}
	b.Readings[0].Conditions = b.Now()
	stamped := b.Stamped()
	stamped.Brace = unit.Some(in(7.25))
	fit := fitted(t, stamped)
	near(t, "speed of the arrow that was shot, ft/s", fit.Speed(gr(400)).In(unit.FootPerSecond), 290, 1e-9)
	stamped.Kind = bow.Recurve
	fit = fitted(t, stamped)
	near(t, "and as a recurve", fit.Speed(gr(400)).In(unit.FootPerSecond), 290, 1e-9)
}

// Stamped readings and ratings name their settings; those they name stay.
func TestStamped(t *testing.T) {
	b := shop(reading(420, 280, 1), reading(500, 262, 1))
	b.Readings[1].Peak = unit.Some(lb(60))
	b.Rating = unit.Some(bow.Rating{Speed: fps(330), Arrow: gr(350)})
	s := b.Stamped()
	if s.Readings[0].Conditions != b.Now() || s.Rating.Value.Conditions != b.Now() {
		t.Errorf("%+v, %+v", s.Readings[0], s.Rating)
	}
	if s.Readings[1].Peak != unit.Some(lb(60)) || s.Readings[1].Draw != b.Draw {
		t.Errorf("%+v", s.Readings[1])
	}
	if b.Readings[0].Peak.Given {
		t.Error("the bow itself must not change")
	}
	if before, after := fitted(t, b), fitted(t, s); before.Energy != after.Energy || before.VirtualMass != after.VirtualMass {
		t.Error("it is the same bow")
	}
	if none := new(bow.Bow).Stamped(); none.Rating.Given {
		t.Error("there is no rating to stamp")
	}
}

func TestNotes(t *testing.T) {
	cases := []struct {
		name     string
		readings []bow.Reading
		want     []string
	}{
		{"good readings", []bow.Reading{reading(400, 290, 1), reading(550, 252, 1)}, nil},
		{"readings that disagree", []bow.Reading{reading(420, 280, 1), reading(420, 300, 1)},
			[]string{"Readings 1, 2 do not agree: they are −10.0, +10.0 ft/s off the fit"}},
		{"just inside three σ", []bow.Reading{reading(420, 280, 1), reading(420, 285.9, 1)}, nil},
		{"just outside three σ", []bow.Reading{reading(420, 280, 1), reading(420, 286.1, 1)}, []string{"Readings 1, 2 do not agree"}},
		{"virtual mass below zero", []bow.Reading{reading(350, 280, 0.5), reading(650, 190, 0.5)}, []string{"below zero: weigh the arrows again", "Readings 1, 2 do not agree"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := shop(c.readings...)
			f := fitted(t, b)
			notes := f.Notes(unit.System{})
			if len(notes) != len(c.want) {
				t.Fatalf("got %q, want %q", notes, c.want)
			}
			for i, want := range c.want {
				if !strings.Contains(notes[i], want) {
					t.Errorf("got %q, want %q", notes[i], want)
				}
			}
		})
	}
}

func TestOutside(t *testing.T) {
	b := shop(reading(400, 290, 1), reading(500, 265, 1))
	for grains, want := range map[float64]bool{299: true, 301: false, 450: false, 599: false, 601: true} {
		if b.Outside(gr(grains)) != want {
			t.Errorf("%v gr: outside %v", grains, !want)
		}
	}
	none := shop()
	if none.Outside(gr(100)) {
		t.Error("there are no readings to be outside of")
	}
}

// The next reading is at least 150 gr from those shot, never under what the
// bow allows, and makes K better known than it was.
func TestNext(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := bow.Bow{Kind: rapid.SampledFrom([]bow.Kind{bow.Compound, bow.Recurve, bow.Longbow}).Draw(t, "kind")}
		if rapid.Bool().Draw(t, "peak known") {
			b.Peak = unit.Some(lb(rapid.Float64Range(20, 80).Draw(t, "peak")))
		}
		if rapid.Bool().Draw(t, "minimum known") {
			b.MinimumArrow = unit.Some(gr(rapid.Float64Range(0, 500).Draw(t, "minimum")))
		}
		for range rapid.IntRange(1, 4).Draw(t, "readings") {
			m := rapid.Float64Range(250, 950).Draw(t, "grains")
			b.Readings = append(b.Readings, reading(m, 270*math.Sqrt(500/(m+100)), rapid.Float64Range(0.5, 3).Draw(t, "sd")))
		}
		before, err := b.Fit()
		if err != nil {
			t.Fatal(err)
		}
		next, ok := b.Next()
		if !ok {
			return
		}
		perPound := map[bow.Kind]float64{bow.Compound: 5.5, bow.Recurve: 6.5, bow.Longbow: 9}[b.Kind]
		if b.Peak.Given && next.Arrow.In(unit.Grain) < perPound*b.Peak.Value.In(unit.PoundForce)*(1-1e-12) {
			t.Fatalf("%v gr is light for the bow", next.Arrow.In(unit.Grain))
		}
		if next.Arrow < b.MinimumArrow.Or(0) {
			t.Fatalf("%v gr is under the minimum", next.Arrow.In(unit.Grain))
		}
		for _, r := range b.Readings {
			if math.Abs((next.Arrow - r.Arrow).In(unit.Grain)) < 150-1e-9 {
				t.Fatalf("%v gr is too near to %v", next.Arrow.In(unit.Grain), r.Arrow.In(unit.Grain))
			}
		}
		if next.After >= before.VirtualMassU {
			t.Fatalf("u(K) would go from %v to %v", before.VirtualMassU, next.After)
		}
		// Shooting it does what was promised.
		b.Readings = append(b.Readings, bow.Reading{Arrow: next.Arrow, Speed: before.Speed(next.Arrow)})
		after, err := b.Fit()
		if err != nil || math.Abs(float64(after.VirtualMassU/next.After)-1) > 0.02 {
			t.Fatalf("promised %v, came to %v, %v", next.After, after.VirtualMassU, err)
		}
	})
}

func TestNextHasNothingToSay(t *testing.T) {
	cases := []struct {
		name string
		bow  bow.Bow
		want bool
	}{
		{"no reading", bow.Bow{Rating: unit.Some(bow.Rating{Speed: fps(300), Arrow: gr(350)})}, false},
		{"heavy arrow, lightest not known", bow.Bow{Readings: []bow.Reading{reading(900, 200, 1)}}, false},
		{"heavy arrow, lightest known", shop(reading(900, 200, 1)), true},
		{"a reading that cannot be used", bow.Bow{Readings: []bow.Reading{reading(0, 200, 1)}}, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if next, ok := c.bow.Next(); ok != c.want {
				t.Errorf("got %+v, %v", next, ok)
			}
		})
	}
}

func TestLightestAdvised(t *testing.T) {
	if _, ok := new(bow.Bow).LightestAdvised(); ok {
		t.Error("nothing is known of the bow")
	}
	b := shop()
	if m, ok := b.LightestAdvised(); !ok || math.Abs(m.In(unit.Grain)-385) > 1e-9 {
		t.Errorf("5.5 gr for each of 70 lb: %v", m.In(unit.Grain))
	}
	b.MinimumArrow = unit.Some(gr(400))
	if m, _ := b.LightestAdvised(); m != gr(400) {
		t.Errorf("the maker's minimum is higher: %v", m.In(unit.Grain))
	}
}
