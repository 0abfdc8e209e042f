package stiffness

import (
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

func in(x float64) unit.Length { return unit.Length(x) * unit.Inch }
func gr(x float64) unit.Mass   { return unit.Mass(x) * unit.Grain }

// arrows draws arrows with any of the pieces, and a rest inside the shaft for them.
func arrows() *rapid.Generator[arrow.Build] {
	return rapid.Custom(func(t *rapid.T) arrow.Build {
		x := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		b := arrow.Build{Length: in(x("length", 22, 34))}
		b.Shaft.WeightPerInch = unit.Some(unit.LinearDensity(x("gr/in", 4, 14)) * unit.GrainPerInch)
		b.Shaft.Spine = unit.Some(in(x("spine", .2, 1.5)))
		b.Nock = part.Nock{Weight: gr(x("nock", 4, 30)), Throat: unit.Some(in(x("throat", .2, .8)))}
		b.Head.Weight, b.Head.Balance = gr(x("head", 50, 300)), unit.Some(in(x("head balance", -.5, 1.5)))
		if rapid.Bool().Draw(t, "vanes") {
			b.Vanes = unit.Some(part.Vanes{Count: 3, Weight: gr(x("vane", 3, 15)), Length: in(x("vane length", 1, 5)), Rear: in(x("rear", .8, 2))})
		}
		if rapid.Bool().Draw(t, "wrap") {
			b.Wrap = unit.Some(part.Wrap{Weight: gr(x("wrap", 3, 15)), Length: in(x("wrap length", 2, 8))})
		}
		if rapid.Bool().Draw(t, "insert") {
			b.Insert = unit.Some(part.Insert{Weight: gr(x("insert", 10, 150)), Depth: in(x("depth", .3, 3)), Proud: unit.Some(in(x("proud", 0, 1)))})
		}
		if rapid.Bool().Draw(t, "collar") {
			b.Collar = unit.Some(part.Collar{Weight: gr(x("collar", 5, 80)), Length: in(x("collar length", .2, 2))})
		}
		if rapid.Bool().Draw(t, "extra") {
			b.Extras = []part.Extra{{Weight: gr(x("extra", 1, 60)), Balance: in(x("extra at", 1, 19)), Length: unit.Some(in(x("extra length", 0, 4)))}}
		}
		return b
	})
}

// both solves a build; what it is asked of here lacks nothing.
func both(t *rapid.T, b *arrow.Build, rest unit.Length, n int) (critical, frequency float64) {
	t.Helper()
	c, err := newColumn(b, rest, n)
	if err != nil {
		t.Fatal(err)
	}
	f, err := newBending(b, n)
	if err != nil {
		t.Fatal(err)
	}
	return c.Critical, f.Frequency
}

// The engine's own count of elements is off by less than 0.1 %, whatever the
// arrow, and always to the stiff side.
func TestElementsAreEnough(t *testing.T) {
	worst := 0.0
	rapid.Check(t, func(t *rapid.T) {
		b := arrows().Draw(t, "arrow")
		rest := b.Length * unit.Length(rapid.Float64Range(.6, 1.1).Draw(t, "rest"))
		critical, frequency := both(t, &b, rest, elements)
		better, finer := both(t, &b, rest, 64)
		for name, off := range map[string]float64{"critical acceleration": critical/better - 1, "frequency": frequency/finer - 1} {
			if off > 1e-3 || off < -1e-9 {
				t.Fatalf("%s: off by %.4f %%", name, 100*off)
			}
			worst = max(worst, off)
		}
	})
	t.Logf("off by %.4f %% at most", 100*worst)
}

// What an arrow that hardly differs gives to the first order is what it gives when
// it is solved again: every slope by difference from solutions.
func TestNearIsTheSlope(t *testing.T) {
	moves := map[string]func(b *arrow.Build, rest *unit.Length, by float64){
		"spine": func(b *arrow.Build, _ *unit.Length, by float64) { b.Shaft.Spine.Value *= 1 + unit.Length(by) },
		"shaft weight": func(b *arrow.Build, _ *unit.Length, by float64) {
			b.Shaft.WeightPerInch.Value *= 1 + unit.LinearDensity(by)
		},
		"length":        func(b *arrow.Build, _ *unit.Length, by float64) { b.Length += in(by) },
		"throat":        func(b *arrow.Build, _ *unit.Length, by float64) { b.Nock.Throat.Value += in(by) },
		"nock weight":   func(b *arrow.Build, _ *unit.Length, by float64) { b.Nock.Weight += gr(by) },
		"head weight":   func(b *arrow.Build, _ *unit.Length, by float64) { b.Head.Weight += gr(10 * by) },
		"head balance":  func(b *arrow.Build, _ *unit.Length, by float64) { b.Head.Balance.Value += in(by) },
		"insert weight": func(b *arrow.Build, _ *unit.Length, by float64) { b.Insert.Value.Weight += gr(10 * by) },
		"insert depth":  func(b *arrow.Build, _ *unit.Length, by float64) { b.Insert.Value.Depth += in(by) },
		"collar length": func(b *arrow.Build, _ *unit.Length, by float64) { b.Collar.Value.Length += in(by) },
		"vane position": func(b *arrow.Build, _ *unit.Length, by float64) { b.Vanes.Value.Rear += in(by) },
		"extra":         func(b *arrow.Build, _ *unit.Length, by float64) { b.Extras[0].Balance += in(by) },
		"rest":          func(_ *arrow.Build, rest *unit.Length, by float64) { *rest += in(by) },
	}
	const step, n = 1e-2, 64
	check := func(t *testing.T, b arrow.Build, rest unit.Length) {
		c, err := newColumn(&b, rest, n)
		if err != nil {
			t.Fatal(err)
		}
		f, err := newBending(&b, n)
		if err != nil {
			t.Fatal(err)
		}
		at := func(move func(*arrow.Build, *unit.Length, float64), by float64) (solved, near [2]float64) {
			trial, trialRest := b.Clone(), rest
			move(&trial, &trialRest, by)
			c2, err := newColumn(&trial, trialRest, n)
			if err != nil {
				t.Fatal(err)
			}
			f2, err := newBending(&trial, n)
			if err != nil {
				t.Fatal(err)
			}
			return [2]float64{c2.Critical, f2.Frequency}, [2]float64{c.Near(&trial, trialRest), f.Near(&trial)}
		}
		for name, move := range moves {
			up, nearUp := at(move, step)
			down, nearDown := at(move, -step)
			for i, what := range []string{"critical acceleration", "frequency"} {
				size := [2]float64{c.Critical, f.Frequency}[i]
				want, got := (up[i]-down[i])/(2*step)/size, (nearUp[i]-nearDown[i])/(2*step)/size
				if math.Abs(got-want) > 2e-3*math.Abs(want)+2e-6 {
					t.Errorf("%s over %s: %.7f an inch, grain or one, solved again %.7f", what, name, got, want)
				}
			}
		}
	}
	for _, r := range references(t) {
		b, rest := r.decode(t)
		if math.Abs(float64(rest-b.Length)) < float64(in(.2)) { // a corner lies within the step
			continue
		}
		t.Run(r.Name, func(t *testing.T) {
			// A piece at the edge of the tube moves over it, and a piece that is not
			// there cannot move: those of this one are made to lie inside.
			b := b.Clone()
			b.Nock.Throat, b.Nock.Balance = unit.Some(b.Nock.ThroatOffset()+in(.1)), unit.Some(in(1))
			b.Head.Balance = unit.Some(b.Head.BalancePoint() + in(.2))
			b.Insert.Given, b.Insert.Value.Depth = true, b.Insert.Value.Depth+in(1)
			b.Insert.Value.Weight += gr(20)
			b.Collar.Given, b.Collar.Value.Length = true, b.Collar.Value.Length+in(.5)
			b.Collar.Value.Weight += gr(10)
			b.Vanes.Given, b.Vanes.Value.Count, b.Vanes.Value.Length, b.Vanes.Value.Rear, b.Vanes.Value.Weight = true, 3, in(2), in(1.5), gr(7)
			b.Shaft.TubeWeight.Given = false
			if !b.Shaft.WeightPerInch.Given {
				b.Shaft.WeightPerInch = unit.Some(8 * unit.GrainPerInch)
			}
			b.Extras = []part.Extra{{Weight: gr(20), Balance: in(12), Length: unit.Some(in(2))}}
			check(t, b, rest)
		})
	}
}

// A heavier head at the same spine never raises frequency or margin, a stiffer
// shaft of equal weight always raises both, and so does a shorter overhang of
// nothing else.
func TestWhatWeighsAndWhatStiffens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := arrows().Draw(t, "arrow")
		rest := b.Length * unit.Length(rapid.Float64Range(.6, 1.1).Draw(t, "rest"))
		// The margin is the critical acceleration times (arrow + virtual mass) over
		// the peak weight: with a bow that has virtual mass.
		virtual := gr(rapid.Float64Range(0, 200).Draw(t, "virtual mass"))
		margin := func(b *arrow.Build, critical float64) float64 { return critical * float64(b.Moments().Total+virtual) }
		critical, frequency := both(t, &b, rest, elements)

		heavier := b.Clone()
		heavier.Head.Weight += gr(rapid.Float64Range(1, 100).Draw(t, "more head"))
		c, f := both(t, &heavier, rest, elements)
		if f > frequency*(1+1e-12) || margin(&heavier, c) > margin(&b, critical)*(1+1e-12) {
			t.Fatalf("a heavier head: %v Hz after %v, margin %v after %v", f, frequency, margin(&heavier, c), margin(&b, critical))
		}

		stiffer := b.Clone()
		stiffer.Shaft.Spine.Value *= unit.Length(rapid.Float64Range(.5, .99).Draw(t, "stiffer"))
		c, f = both(t, &stiffer, rest, elements)
		if f <= frequency || c <= critical {
			t.Fatalf("a stiffer shaft: %v Hz after %v, critical %v after %v", f, frequency, c, critical)
		}
		// EI is all there is to it: twice as stiff stands twice the push.
		if ratio := float64(b.Shaft.Spine.Value / stiffer.Shaft.Spine.Value); math.Abs(c/critical/ratio-1) > 1e-9 || math.Abs(f/frequency/math.Sqrt(ratio)-1) > 1e-9 {
			t.Fatalf("%v times as stiff: %v and %v", ratio, c/critical, f/frequency)
		}
	})
}

// An arrow turned end for end bends as often, and a bare tube bends alike from
// both ends.
func TestSymmetry(t *testing.T) {
	b := arrow.Build{Length: in(30)}
	b.Shaft.TubeWeight, b.Shaft.Spine = unit.Some(gr(250)), unit.Some(in(.4))
	b.Nock.Throat, b.Nock.Balance, b.Head.Balance = unit.Some(in(0)), unit.Some(in(0)), unit.Some(in(0))
	f, err := NewBending(&b)
	if err != nil {
		t.Fatal(err)
	}
	for x := in(0); x <= in(15); x += in(.5) {
		if one, other := f.Bent(x), f.Bent(in(30)-x); math.Abs(one-other) > 1e-9 {
			t.Errorf("%v in from the ends: %v and %v", x.In(unit.Inch), one, other)
		}
	}
	if f.Bent(in(15)) >= 0 || f.Bent(0) <= 0 {
		t.Errorf("the middle goes one way and the ends the other: %v, %v", f.Bent(in(15)), f.Bent(0))
	}
	b.Nock.Weight, b.Head.Weight = gr(20), gr(120)
	b.Extras = []part.Extra{{Weight: gr(30), Balance: in(9)}}
	turned := b.Clone()
	turned.Nock.Weight, turned.Head.Weight = gr(120), gr(20)
	turned.Extras[0].Balance = in(21)
	one, err1 := NewBending(&b)
	other, err2 := NewBending(&turned)
	if err1 != nil || err2 != nil || math.Abs(one.Frequency/other.Frequency-1) > 1e-12 {
		t.Errorf("%v, %v; turned %v, %v", one.Frequency, err1, other.Frequency, err2)
	}
}

// What is missing is named; what is odd but whole is solved.
func TestMissingAndOdd(t *testing.T) {
	r := references(t)[0]
	for name, c := range map[string]struct {
		change func(b *arrow.Build, rest *unit.Length)
		column string // what it needs, empty when it is solved
		bends  string
	}{
		"whole":                {func(*arrow.Build, *unit.Length) {}, "", ""},
		"no spine":             {func(b *arrow.Build, _ *unit.Length) { b.Shaft.Spine.Given = false }, "the shaft's static spine", "the shaft's static spine"},
		"no tube":              {func(b *arrow.Build, _ *unit.Length) { b.Length = in(.3) }, "length greater than the nock's throat", "length greater than the nock's throat"},
		"rest at the string":   {func(_ *arrow.Build, rest *unit.Length) { *rest = 0 }, "a rest ahead of the string", ""},
		"weightless tube":      {func(b *arrow.Build, _ *unit.Length) { b.Shaft.TubeWeight = unit.Some(gr(0)) }, "", "a shaft that weighs something"},
		"nothing weighs":       {func(b *arrow.Build, _ *unit.Length) { *b = weightless(b) }, "a piece that weighs something", "a shaft that weighs something"},
		"very short":           {func(b *arrow.Build, _ *unit.Length) { b.Length = in(3) }, "", ""},
		"very long":            {func(b *arrow.Build, _ *unit.Length) { b.Length = in(60) }, "", ""},
		"rest beyond it":       {func(_ *arrow.Build, rest *unit.Length) { *rest = in(50) }, "", ""},
		"hardly overhanging":   {func(b *arrow.Build, rest *unit.Length) { *rest = b.Length - in(.004) }, "", ""},
		"rest near the string": {func(_ *arrow.Build, rest *unit.Length) { *rest = in(.5) }, "", ""},
		"spine of wire":        {func(b *arrow.Build, _ *unit.Length) { b.Shaft.Spine = unit.Some(in(3)) }, "", ""},
	} {
		b, rest := r.decode(t)
		c.change(b, &rest)
		column, err := NewColumn(b, rest)
		says(t, name+", column", err, c.column)
		if err == nil && !(column.Critical > 0) {
			t.Errorf("%s: critical %v", name, column.Critical)
		}
		bending, err := NewBending(b)
		says(t, name+", bending", err, c.bends)
		if err == nil && !(bending.Frequency > 0) {
			t.Errorf("%s: %v Hz", name, bending.Frequency)
		}
	}
	// A rest beyond the arrow is taken at its cut end.
	b, _ := r.decode(t)
	at, _ := NewColumn(b, b.Length)
	beyond, _ := NewColumn(b, in(50))
	if at.Critical != beyond.Critical || beyond.Rest() != b.Length {
		t.Errorf("at the cut end %v, beyond it %v held at %v", at.Critical, beyond.Critical, beyond.Rest())
	}
	// It stays there however the draw is off, and moves with the cut end.
	longer := b.Clone()
	longer.Length += in(.01)
	again, _ := NewColumn(&longer, in(50))
	if math.Abs(beyond.Near(b, in(51))/beyond.Critical-1) > 1e-12 || math.Abs(beyond.Near(&longer, in(50))/again.Critical-1) > 1e-5 {
		t.Errorf("another draw: %v, want %v; longer: %v, solved %v", beyond.Near(b, in(51)), beyond.Critical, beyond.Near(&longer, in(50)), again.Critical)
	}
	// What hardly stands out is hardly another arrow.
	hardly, _ := NewColumn(b, b.Length-in(.004))
	if math.Abs(hardly.Critical/at.Critical-1) > 1e-3 {
		t.Errorf("held at the cut end %v, a hair behind it %v", at.Critical, hardly.Critical)
	}
}

func weightless(b *arrow.Build) arrow.Build {
	out := arrow.Build{Length: b.Length}
	out.Shaft.Spine, out.Shaft.TubeWeight = b.Shaft.Spine, unit.Some(gr(0))
	return out
}

func says(t *testing.T, name string, err error, want string) {
	t.Helper()
	var missing *figure.MissingError
	if want == "" && err != nil || want != "" && (!errors.As(err, &missing) || !strings.Contains(missing.Input, want)) {
		t.Errorf("%s: %v, want %q", name, err, want)
	}
}

// What lies ahead of a place adds up to the arrow at the throat, and to what
// presses on the cut end there.
func TestAhead(t *testing.T) {
	data, err := os.ReadFile("../../testdata/jobs/example.json")
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	b := &j.Builds[0]
	b.Insert.Value.Proud = unit.Some(in(.25))
	near := func(what string, got unit.Mass, want float64) {
		if math.Abs(got.In(unit.Grain)-want) > 1e-9 {
			t.Errorf("%s: %v gr, want %v", what, got.In(unit.Grain), want)
		}
	}
	near("at the throat", Ahead(b, 0), 446.4)
	near("at the cut end: the head and a fifth of the insert", Ahead(b, b.Length), 100+50*.25/1.25)
	last := Ahead(b, 0)
	for x := in(0); x <= b.Length; x += in(.1) {
		now := Ahead(b, x)
		if now > last+gr(1e-9) {
			t.Errorf("more ahead of %v than behind it", x)
		}
		last = now
	}
}
