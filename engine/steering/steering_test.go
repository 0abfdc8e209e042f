package steering_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/steering"
	"foreshaft/engine/unit"
)

// broadhead is a head with blades (invented).
func broadhead() part.Head {
	return part.Head{Weight: 100 * unit.Grain, Balance: unit.Some(in(.5)), Length: unit.Some(in(1.5)),
		Blades: 3, BladeLength: unit.Some(in(1.1)), CutWidth: unit.Some(in(1.1))}
}

func forces(t interface {
	Helper()
	Fatal(...any)
}, b *arrow.Build) steering.Forces {
	t.Helper()
	f, err := steering.Of(b)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// The sum of the parts is the whole, and each acts where its part is.
func TestPartsOfTheWhole(t *testing.T) {
	b := example(t)
	b.Head = broadhead()
	f := forces(t, b)
	slope, first, turning := 0.0, 0.0, 0.0
	at := map[string]unit.Length{}
	balance := b.Moments().Balance
	for _, p := range f.Parts() {
		slope += p.Slope
		first += p.Slope * float64(p.At)
		turning += p.Slope * float64(balance-p.At)
		at[p.Name] = p.At
	}
	if len(at) != 4 || math.Abs(first/slope-float64(f.PressurePoint())) > 1e-15 || math.Abs(turning-f.Turning(balance)) > 1e-13 {
		t.Errorf("%v: %v and %v, the whole %v and %v", at, first/slope, turning, f.PressurePoint(), f.Turning(balance))
	}
	seat, vanes := b.Seat(), b.Vanes.Value
	if !(at["nose"] > seat && at["nose"] < seat+in(1.5)) || !(at["blades"] > seat && at["blades"] < seat+in(1.1)) ||
		!(at["vanes"] > vanes.Rear && at["vanes"] < vanes.Rear+vanes.Length) {
		t.Errorf("%v", at)
	}
	// A triangle whose rear edge stands upright has its force at half its root.
	if want := seat + in(1.1)/2; math.Abs(float64(at["blades"]-want)) > 1e-12 {
		t.Errorf("blades at %v, want %v", at["blades"], want)
	}
}

// What a change does to the steering has the sign that everyone expects.
func TestSigns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		b := arrow.Build{Length: in(x("length", 24, 33))}
		b.Shaft.WeightPerInch = unit.Some(unit.LinearDensity(x("gr/in", 5, 13)) * unit.GrainPerInch)
		b.Shaft.OuterDiameter = unit.Some(in(x("diameter", .16, .37)))
		b.Nock.Weight = 9 * unit.Grain
		b.Vanes = unit.Some(part.Vanes{Count: rapid.IntRange(2, 4).Draw(t, "vanes"), Weight: unit.Mass(x("vane", 3, 12)) * unit.Grain,
			Length: in(x("vane length", 1.5, 4)), Height: unit.Some(in(x("height", .25, .6))), Rear: in(x("rear", .8, 1.6))})
		b.Head = broadhead()
		b.Head.Weight = unit.Mass(x("head", 75, 200)) * unit.Grain
		b.Head.CutWidth = unit.Some(b.Shaft.OuterDiameter.Value + in(x("cut", .3, 1)))
		before := forces(t, &b)
		balance := b.Moments().Balance
		change := func(alter func(c *arrow.Build)) (steering.Forces, unit.Length) {
			c := b.Clone()
			alter(&c)
			f := forces(t, &c)
			return f, c.Moments().Balance
		}
		check := func(what string, sign, by float64) {
			if by*sign <= 0 {
				t.Fatalf("%s: changes by %v", what, by)
			}
		}
		higher, at := change(func(c *arrow.Build) { c.Vanes.Value.Height.Value += in(.05) })
		check("higher vanes move the pressure point back", -1, float64(higher.PressurePoint()-before.PressurePoint()))
		check("higher vanes turn harder", 1, higher.Turning(at)-before.Turning(balance))
		more, at := change(func(c *arrow.Build) { c.Vanes.Value.Count++; c.Vanes.Value.Weight = 0 })
		check("one more vane turns harder", 1, more.Turning(at)-before.Turning(at))
		wider, _ := change(func(c *arrow.Build) { c.Head.CutWidth.Value += in(.1) })
		check("wider blades move the pressure point forward", 1, float64(wider.PressurePoint()-before.PressurePoint()))
		check("wider blades turn it over", -1, wider.Turning(balance)-before.Turning(balance))
		share, ok := before.HeadShare(balance)
		greater, ok2 := wider.HeadShare(balance)
		if !ok || !ok2 {
			t.Fatal("blades and vanes have a share")
		}
		check("wider blades have a greater share", 1, greater-share)
		_, ahead := change(func(c *arrow.Build) { c.Head.Weight += 25 * unit.Grain })
		check("a heavier head makes what turns it straight stronger", 1, before.Turning(ahead)-before.Turning(balance))
		folded, _ := change(func(c *arrow.Build) { c.Head.Expandable = true })
		if _, ok := folded.HeadShare(balance); ok || folded.Blades.Slope != 0 {
			t.Fatal("blades that lie in do nothing in flight")
		}
		if before.Turning(balance) > 0 {
			m := b.Moments()
			thin, _ := before.WobbleLength(m, 1.0)
			thick, _ := before.WobbleLength(m, 1.2)
			check("thicker air makes it swing faster", -1, float64(thick-thin))
			if math.Abs(float64(thin/thick)-math.Sqrt(1.2)) > 1e-12 {
				t.Fatal("as the root of the density")
			}
			m.Inertia *= 2
			slow, _ := before.WobbleLength(m, 1.0)
			check("more inertia makes it swing slower", 1, float64(slow-thin))
		}
	})
}

// Fins that are no fins do nothing; those of no tip and no sweep are fins.
func TestFinsAtTheEdge(t *testing.T) {
	for name, f := range map[string]steering.Fins{
		"no span":    {Count: 3, Radius: in(.125), Root: in(2), Tip: in(1)},
		"no chord":   {Count: 3, Radius: in(.125), Span: in(.5)},
		"none":       {Radius: in(.125), Span: in(.5), Root: in(2), Tip: in(1)},
		"a triangle": {Count: 3, Radius: in(.125), Span: in(.5), Root: in(2), Sweep: in(2)},
	} {
		slope, at := f.Slope(), float64(f.Station())
		if math.IsNaN(slope) || math.IsNaN(at) || (slope > 0) != (name == "a triangle") {
			t.Errorf("%s: %v at %v", name, slope, at)
		}
	}
	// Twice the vanes, twice the force: the mean over a roll.
	three := steering.Fins{Count: 3, Radius: in(.125), Span: in(.5), Root: in(2), Tip: in(1), Sweep: in(1)}
	six := three
	six.Count = 6
	if math.Abs(six.Slope()/three.Slope()-2) > 1e-14 {
		t.Errorf("%v for three, %v for six", three.Slope(), six.Slope())
	}
}

// An arrow without vanes turns over, and says so rather than giving a wavelength.
func TestNoVanes(t *testing.T) {
	b := example(t)
	b.Vanes = unit.Optional[part.Vanes]{}
	b.Head = broadhead()
	f := forces(t, b)
	m := b.Moments()
	if f.PressurePoint() <= m.Balance || f.Turning(m.Balance) >= 0 {
		t.Errorf("pressure point %v, balance %v", f.PressurePoint(), m.Balance)
	}
	if _, ok := f.WobbleLength(m, 1.2); ok {
		t.Error("it does not swing back")
	}
	if _, ok := f.HeadShare(m.Balance); ok {
		t.Error("there are no vanes to take a share of")
	}
}

func TestMissingInputs(t *testing.T) {
	for want, take := range map[string]func(b *arrow.Build){
		"the shaft's outer diameter":                   func(b *arrow.Build) { b.Shaft.OuterDiameter = unit.Optional[unit.Length]{} },
		"the length of the head":                       func(b *arrow.Build) { b.Head.Length = unit.Optional[unit.Length]{} },
		"the height of the vanes":                      func(b *arrow.Build) { b.Vanes.Value.Height = unit.Optional[unit.Length]{} },
		"the length of the head's blades":              func(b *arrow.Build) { b.Head = broadhead(); b.Head.BladeLength = unit.Optional[unit.Length]{} },
		"the head's cut width":                         func(b *arrow.Build) { b.Head = broadhead(); b.Head.CutWidth = unit.Optional[unit.Length]{} },
		"a cut width of at least the shaft's diameter": func(b *arrow.Build) { b.Head = broadhead(); b.Head.CutWidth = unit.Some(in(.1)) },
	} {
		b := example(t)
		take(b)
		_, err := steering.Of(b)
		var missing *figure.MissingError
		if !errors.As(err, &missing) || !strings.Contains(missing.Input, want) {
			t.Errorf("want %q, got %v", want, err)
		}
	}
}
