package arrow_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// builds draws plausible arrows with any of the pieces.
func builds() *rapid.Generator[arrow.Build] {
	return rapid.Custom(func(t *rapid.T) arrow.Build {
		x := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		b := arrow.Build{Length: in(x("length", 20, 34))}
		if rapid.Bool().Draw(t, "weighed tube") {
			b.Shaft.TubeWeight = unit.Some(gr(x("tube weight", 100, 500)))
		} else {
			b.Shaft.WeightPerInch = unit.Some(unit.LinearDensity(x("gr/in", 4, 15)) * unit.GrainPerInch)
		}
		b.Nock.Weight = gr(x("nock", 5, 30))
		b.Head.Weight, b.Head.Balance = gr(x("head", 50, 300)), unit.Some(in(x("head balance", -1, 2)))
		if rapid.Bool().Draw(t, "vanes") {
			b.Vanes = unit.Some(part.Vanes{Count: 3, Weight: gr(x("vane", 3, 15)), Length: in(x("vane length", 1, 5)), Rear: in(x("rear", 0.5, 2))})
		}
		if rapid.Bool().Draw(t, "insert") {
			b.Insert = unit.Some(part.Insert{Weight: gr(x("insert", 10, 150)), Depth: in(x("depth", 0.3, 3)), Proud: unit.Some(in(x("proud", 0, 1)))})
		}
		if rapid.Bool().Draw(t, "collar") {
			b.Collar = unit.Some(part.Collar{Weight: gr(x("collar", 5, 80)), Length: in(x("collar length", 0.2, 2))})
		}
		if rapid.Bool().Draw(t, "wrap") {
			b.Wrap = unit.Some(part.Wrap{Weight: gr(x("wrap", 3, 15)), Length: in(x("wrap length", 2, 8))})
		}
		if rapid.Bool().Draw(t, "extra") {
			b.Extras = []part.Extra{{Weight: gr(x("extra", 1, 60)), Balance: in(x("extra at", 1, 19)), Length: unit.Some(in(x("extra length", 0, 2)))}}
		}
		return b
	})
}

func foc(b arrow.Build) float64 { return b.FOC(b.Moments().Balance) }

// Weight added ahead of the balance point raises FOC, behind it lowers it, and
// at it leaves it alone.
func TestAddedWeightMovesFOC(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := builds().Draw(t, "build")
		m := b.Moments()
		grains := rapid.Float64Range(0.1, 200).Draw(t, "added")
		away := rapid.Float64Range(0.01, 1).Draw(t, "away")
		add := func(at unit.Length) float64 {
			c := b.Clone()
			c.Extras = append(c.Extras, part.Extra{Weight: gr(grains), Balance: at})
			return foc(c) - foc(b)
		}
		ahead := m.Balance + unit.Length(away)*(b.Length-m.Balance)
		behind := m.Balance - unit.Length(away)*m.Balance
		if got := add(ahead); got <= 0 {
			t.Fatalf("ahead of the balance point: FOC changes by %v", got)
		}
		if got := add(behind); got >= 0 {
			t.Fatalf("behind the balance point: FOC changes by %v", got)
		}
		if got := add(m.Balance); math.Abs(got) > 1e-13 {
			t.Fatalf("at the balance point: FOC changes by %v", got)
		}
	})
}

// Scaling every weight leaves FOC alone and scales weight and inertia.
func TestScaledWeights(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := builds().Draw(t, "build")
		k := rapid.Float64Range(0.1, 10).Draw(t, "factor")
		c := b.Clone()
		c.Shaft.TubeWeight.Value *= unit.Mass(k)
		c.Shaft.WeightPerInch.Value *= unit.LinearDensity(k)
		c.Nock.Weight *= unit.Mass(k)
		c.Head.Weight *= unit.Mass(k)
		c.Vanes.Value.Weight *= unit.Mass(k)
		c.Insert.Value.Weight *= unit.Mass(k)
		c.Collar.Value.Weight *= unit.Mass(k)
		c.Wrap.Value.Weight *= unit.Mass(k)
		for i := range c.Extras {
			c.Extras[i].Weight *= unit.Mass(k)
		}
		if a, b := foc(b), foc(c); math.Abs(a-b) > 1e-13 {
			t.Fatalf("FOC %v becomes %v", a, b)
		}
		m, n := b.Moments(), c.Moments()
		if math.Abs(float64(n.Total/m.Total)/k-1) > 1e-12 || math.Abs(float64(n.Inertia/m.Inertia)/k-1) > 1e-12 {
			t.Fatalf("times %v: weight %v, inertia %v", k, n.Total/m.Total, n.Inertia/m.Inertia)
		}
	})
}

// Where a piece goes decides which way the balance point moves.
func TestGeometrySigns(t *testing.T) {
	more := unit.Length(0.1 * unit.Inch)
	rapid.Check(t, func(t *rapid.T) {
		b := builds().Draw(t, "build")
		b.Insert = unit.Some(part.Insert{Weight: gr(50), Depth: in(1), Proud: unit.Some(in(0.2))})
		b.Collar = unit.Some(part.Collar{Weight: gr(20), Length: in(0.5)})
		b.Wrap = unit.Some(part.Wrap{Weight: gr(8), Length: in(4)})
		b.Vanes = unit.Some(part.Vanes{Count: 3, Weight: gr(8), Length: in(2), Rear: in(1)})
		b.Nock.Throat, b.Nock.Balance = unit.Some(in(0.5)), unit.Some(in(0.4))
		before := b.Moments()
		moves := func(what string, sign float64, change func(*arrow.Build)) {
			c := b.Clone()
			change(&c)
			if by := float64(c.Moments().Balance - before.Balance); by*sign <= 0 {
				t.Fatalf("%s moves the balance point by %v", what, by)
			}
		}
		moves("a deeper insert", -1, func(c *arrow.Build) { c.Insert.Value.Depth += more })
		moves("an insert further proud", 1, func(c *arrow.Build) { c.Insert.Value.Proud.Value += more })
		moves("a longer collar", -1, func(c *arrow.Build) { c.Collar.Value.Length += more })
		moves("a head further ahead", 1, func(c *arrow.Build) { c.Head.Balance.Value += more })
		moves("a nock further ahead", 1, func(c *arrow.Build) { c.Nock.Balance.Value += more })
		moves("a longer wrap", 1, func(c *arrow.Build) { c.Wrap.Value.Length += more })
		moves("vanes further ahead", 1, func(c *arrow.Build) { c.Vanes.Value.Rear += more })
		moves("a fourth vane", -1, func(c *arrow.Build) { c.Vanes.Value.Count++ })
	})
}

// The balance point lies among the pieces and inertia is never below nothing.
func TestMomentsStayPhysical(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := builds().Draw(t, "build")
		m := b.Moments()
		low, high, sum := math.Inf(1), math.Inf(-1), 0.0
		for _, e := range b.Elements() {
			low, high = math.Min(low, float64(e.Centre)), math.Max(high, float64(e.Centre))
			sum += float64(e.Mass)
		}
		if float64(m.Balance) < low || float64(m.Balance) > high || m.Inertia <= 0 || m.Front > m.Total {
			t.Fatalf("%+v, pieces from %v to %v", m, low, high)
		}
		if math.Abs(sum/float64(m.Total)-1) > 1e-14 {
			t.Fatalf("the pieces weigh %v, the total is %v", sum, m.Total)
		}
	})
}
