package session

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
)

// weightsThatFit returns what + and − should visit: the different weights of
// the parts of a kind that fit a build, the lightest first.
func weightsThatFit(b *arrow.Build, drawer []part.Part, k part.Kind) []string {
	var fitting []part.Part
	for _, p := range drawer {
		// A step never turns a field point into a broadhead or back.
		if p.Kind == k && Fits(b, p, unit.System{}) == "" && (k != part.KindHead || (p.Head.Value.Blades > 0) == (b.Head.Blades > 0) && p.Head.Value.Expandable == b.Head.Expandable) {
			fitting = append(fitting, p)
		}
	}
	slices.SortStableFunc(fitting, func(a, c part.Part) int {
		return int((a.Weight(b.Tube()) - c.Weight(b.Tube())) / (0.001 * unit.Grain))
	})
	var out []string
	for _, p := range fitting {
		if w := grains(p.Weight(b.Tube())); len(out) == 0 || out[len(out)-1] != w {
			out = append(out, w)
		}
	}
	return out
}

func grains(m unit.Mass) string { return fmt.Sprintf("%.1f", m.In(unit.Grain)) }

// walk steps a build to the last part there is and returns the weights on the
// way, with "none" for going without.
func walk(t *testing.T, b *arrow.Build, drawer []part.Part, k part.Kind, heavier bool) (seen []string) {
	t.Helper()
	for range len(drawer) + 2 {
		next, without, ok := Neighbour(b, drawer, k, heavier)
		if !ok {
			return seen
		}
		if without {
			Without(b, k)
			seen = append(seen, "none")
			continue
		}
		if why := Fits(b, next, unit.System{}); why != "" {
			t.Fatalf("%s %s does not fit: %s", k, next.Name(), why)
		}
		Put(b, next)
		seen = append(seen, grains(next.Weight(b.Tube())))
	}
	t.Fatalf("stepping the %s never ends: %q", k, seen)
	return nil
}

func TestStepsGoThroughTheWholeDrawer(t *testing.T) {
	drawer := store.SampleParts()
	for _, k := range part.Kinds {
		for i, b := range store.SampleBench().Builds {
			want := weightsThatFit(&b, drawer, k)
			walk(t, &b, drawer, k, false)
			if _, has := Held(&b, k); has && (k == part.KindCollar || k == part.KindWrap) {
				t.Errorf("build %d: the %s is still there after stepping down to the end", i, k)
			}
			start := []string{}
			if held, has := Held(&b, k); has {
				start = []string{grains(held.Weight(b.Tube()))}
			}
			up := append(start, walk(t, &b, drawer, k, true)...)
			if !slices.Equal(up, want) {
				t.Errorf("build %d: going up through the %ss gives %q, want %q", i, k, up, want)
			}
			down := walk(t, &b, drawer, k, false)
			slices.Reverse(want)
			back := append([]string{up[len(up)-1]}, slices.DeleteFunc(down, func(s string) bool { return s == "none" })...)
			if !slices.Equal(back, want) {
				t.Errorf("build %d: going down through the %ss gives %q, want %q", i, k, back, want)
			}
		}
	}
}

func TestAStepNeverBringsAMisfit(t *testing.T) {
	drawer := store.SampleParts()
	rapid.Check(t, func(t *rapid.T) {
		b := store.SampleBench().Builds[rapid.IntRange(0, 2).Draw(t, "build")]
		for range rapid.IntRange(1, 12).Draw(t, "steps") {
			k := rapid.SampledFrom(part.Kinds).Draw(t, "kind")
			next, without, ok := Neighbour(&b, drawer, k, rapid.Bool().Draw(t, "heavier"))
			switch {
			case !ok:
			case without:
				Without(&b, k)
			default:
				Put(&b, next)
			}
			if why := caution.Misfits(&b, unit.System{}); len(why) > 0 {
				t.Fatalf("after a step of the %s: %v", k, why)
			}
		}
	})
}

func TestAPieceThatDoesNotFitIsNotReplacedByAnotherThatDoesNot(t *testing.T) {
	drawer := store.SampleParts()
	for _, c := range []struct {
		kind part.Kind
		made func(p *part.Part) unit.Optional[unit.Length]
		bore func(b *arrow.Build) unit.Length
	}{
		{part.KindInsert, func(p *part.Part) unit.Optional[unit.Length] { return p.Insert.Value.FitsInner }, func(b *arrow.Build) unit.Length { return b.Shaft.InnerDiameter.Value }},
		{part.KindNock, func(p *part.Part) unit.Optional[unit.Length] { return p.Nock.Value.FitsInner }, func(b *arrow.Build) unit.Length { return b.Shaft.InnerDiameter.Value }},
		{part.KindCollar, func(p *part.Part) unit.Optional[unit.Length] { return p.Collar.Value.FitsOuter }, func(b *arrow.Build) unit.Length { return b.Shaft.OuterDiameter.Value }},
	} {
		b := store.SampleBench().Builds[0]
		differs := func(p *part.Part) bool {
			gap := c.made(p).Value - c.bore(&b)
			return gap > 0.01*unit.Inch || gap < -0.01*unit.Inch
		}
		wrong := slices.IndexFunc(drawer, func(p part.Part) bool { return p.Kind == c.kind && differs(&p) })
		Put(&b, drawer[wrong])
		for _, p := range drawer {
			if p.Kind == c.kind && differs(&p) && Fits(&b, p, unit.System{}) == "" {
				t.Errorf("in place of a %s that does not fit, %s is said to fit", c.kind, p.Name())
			}
		}
		for _, heavier := range []bool{true, false} {
			if next, without, ok := Neighbour(&b, drawer, c.kind, heavier); ok && !without && differs(&next) {
				t.Errorf("a step from a %s that does not fit gives %s, which does not either", c.kind, next.Name())
			}
		}
	}
}

func TestRetiredPartsAreNotOffered(t *testing.T) {
	drawer := store.SampleParts()
	for i := range drawer {
		drawer[i].Retired = drawer[i].Kind == part.KindHead
	}
	b := store.SampleBench().Builds[0]
	if next, _, ok := Neighbour(&b, drawer, part.KindHead, true); ok {
		t.Errorf("%s is retired and offered", next.Name())
	}
	if fresh, ok := Fresh(job.New(), drawer); ok {
		t.Errorf("a new build has the retired head %s", fresh.Head.Name)
	}
}

func TestAMeasuredWeightWins(t *testing.T) {
	p := store.SampleParts()[slices.IndexFunc(store.SampleParts(), func(p part.Part) bool { return p.Kind == part.KindHead })]
	p.Measured = unit.Some(part.Measured{Weight: 101.3 * unit.Grain, WeightU: 0.2 * unit.Grain, Count: 12})
	b := store.SampleBench().Builds[0]
	Put(&b, p)
	if grains(b.Head.Weight) != "101.3" || !b.Head.WeightU.Given {
		t.Errorf("the head weighs %s (uncertainty given: %v), want what the scale said", grains(b.Head.Weight), b.Head.WeightU.Given)
	}
	Reweigh(&b, part.KindHead, 100*unit.Grain)
	if grains(b.Head.Weight) != "100.0" || b.Head.WeightU.Given {
		t.Error("a typed weight still counts as weighed")
	}
}

func TestNextLengthStepsByAnEighthAndComesBack(t *testing.T) {
	const most = 60 * unit.Inch // what a job may hold
	rapid.Check(t, func(t *rapid.T) {
		l := unit.Length(rapid.Float64Range(0, 60).Draw(t, "inches")) * unit.Inch
		up, down := NextLength(l, true, unit.System{}), NextLength(l, false, unit.System{})
		eighths := float64(up / (unit.Inch / 8))
		if whole := float64(int(eighths + 0.5)); eighths-whole > 1e-6 || whole-eighths > 1e-6 {
			t.Fatalf("%g in goes up to %g in, which is not a whole eighth", l.In(unit.Inch), up.In(unit.Inch))
		}
		if up > most+1e-12 || down < 0 {
			t.Fatalf("%g in steps to %g and %g in, beyond what a build may be", l.In(unit.Inch), up.In(unit.Inch), down.In(unit.Inch))
		}
		if l < most-unit.Inch/8 && (up <= l || up > l+unit.Inch/8+1e-9) || l > unit.Inch/8 && (down >= l || down < l-unit.Inch/8-1e-9) {
			t.Fatalf("%g in steps to %g and %g in, want the next eighths", l.In(unit.Inch), up.In(unit.Inch), down.In(unit.Inch))
		}
		if up < most && NextLength(NextLength(up, false, unit.System{}), true, unit.System{}) != up {
			t.Fatalf("down and up from %g in does not come back", up.In(unit.Inch))
		}
	})
}

func TestSteppingALengthUpStaysWithinWhatAFileHolds(t *testing.T) {
	s := New(store.SampleBench(), unit.System{})
	for range 8 * 32 {
		s.Do("longer", func(j *job.Job) { j.Builds[0].Length = NextLength(j.Builds[0].Length, true, unit.System{}) })
	}
	if _, err := job.DecodeBench(s.Job().Encode()); err != nil {
		t.Errorf("after stepping the length up for long the bench cannot be kept: %v", err)
	}
}

func TestFreeName(t *testing.T) {
	j := store.SampleBench()
	if got := FreeName(j, "free"); got != "free" {
		t.Errorf("a free name became %q", got)
	}
	taken := j.Builds[0].Name
	seen := map[string]bool{taken: true, j.Builds[1].Name: true, j.Builds[2].Name: true}
	for range 20 {
		b := j.Builds[0].Clone()
		b.Name = FreeName(j, taken)
		if seen[b.Name] || !strings.HasPrefix(b.Name, taken+" ") {
			t.Fatalf("%q given for %q beside %v", b.Name, taken, seen)
		}
		seen[b.Name] = true
		Insert(j, len(j.Builds), b)
	}
}

func TestTheBaselineStaysOnItsBuild(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := store.SampleBench()
		j.Baseline = rapid.IntRange(0, 2).Draw(t, "baseline")
		name := j.Builds[j.Baseline].Name
		for i := range rapid.IntRange(1, 12).Draw(t, "changes") {
			n := len(j.Builds)
			switch at := rapid.IntRange(0, n-1).Draw(t, "at"); rapid.IntRange(0, 2).Draw(t, "change") {
			case 0:
				if n > 1 {
					gone := j.Builds[at].Name == name
					Remove(j, at)
					if gone {
						name = j.Builds[0].Name
					}
				}
			case 1:
				b := j.Builds[at].Clone()
				b.Name = fmt.Sprintf("copy %d", i)
				Insert(j, rapid.IntRange(0, n).Draw(t, "to"), b)
			case 2:
				Swap(j, at, rapid.IntRange(0, n-1).Draw(t, "with"))
			}
			if got := j.Builds[j.Baseline].Name; got != name {
				t.Fatalf("the baseline went from %s to %s", name, got)
			}
		}
	})
}

func TestTheFirstBuildOnAnEmptyBenchIsTheBaseline(t *testing.T) {
	j := job.New()
	Insert(j, 0, store.SampleBench().Builds[0])
	if j.Baseline != 0 {
		t.Errorf("the baseline is %d of one build", j.Baseline)
	}
	Remove(j, 0)
	if j.Baseline != 0 || len(j.Builds) != 0 {
		t.Errorf("after removing it: baseline %d, %d builds", j.Baseline, len(j.Builds))
	}
}

func TestFreshBuildsFitAndClearTheRest(t *testing.T) {
	drawer := store.SampleParts()
	rapid.Check(t, func(t *rapid.T) {
		j := store.SampleBench()
		b := &j.Bow.Value
		b.Draw = unit.Some(unit.Length(rapid.Float64Range(20, 32).Draw(t, "draw")) * unit.Inch)
		b.RestBehindPivot = unit.Some(unit.Length(rapid.Float64Range(0, 3).Draw(t, "rest")) * unit.Inch)
		fresh, ok := Fresh(j, drawer)
		if !ok {
			t.Fatal("the sample drawer gives no build")
		}
		if why := caution.Misfits(&fresh, unit.System{}); len(why) > 0 {
			t.Fatalf("a new build does not go together: %s", why[0].Text)
		}
		if rest, _ := b.Rest(); fresh.Length < rest+unit.Inch {
			t.Fatalf("a new build of %g in with the rest at %g in", fresh.Length.In(unit.Inch), rest.In(unit.Inch))
		}
		if slices.ContainsFunc(j.Builds, func(b arrow.Build) bool { return b.Name == fresh.Name }) {
			t.Fatalf("the name %q is taken", fresh.Name)
		}
	})
}

func TestFreshNeedsAShaftANockAndAHead(t *testing.T) {
	for _, without := range []part.Kind{part.KindShaft, part.KindNock, part.KindHead} {
		drawer := slices.DeleteFunc(store.SampleParts(), func(p part.Part) bool { return p.Kind == without })
		if b, ok := Fresh(job.New(), drawer); ok {
			t.Errorf("a build without a %s in the drawer: %+v", without, b)
		}
	}
	if _, ok := Fresh(job.New(), store.SampleParts()); !ok {
		t.Error("the whole drawer gives no build")
	}
}

// The lengths to cut to instead are whole quarters of an inch, or half centimetres, on
// both sides of the build's own.
func TestLengthsToCutTo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := unit.Length(rapid.Float64Range(0, 60).Draw(t, "inches")) * unit.Inch
		for units, step := range map[unit.System]unit.Length{{}: unit.Inch / 4, {Metric: unit.InMillimetres}: 5 * unit.Millimetre} {
			list := Lengths(l, units)
			for i, next := range list {
				if steps := float64(next / step); math.Abs(steps-math.Round(steps)) > 1e-6 || next <= 0 || next > 60*unit.Inch+1e-9 {
					t.Fatalf("%g in of %g in", next.In(unit.Inch), l.In(unit.Inch))
				}
				if i > 0 && math.Abs(float64((next-list[i-1])/step)-1) > 1e-6 {
					t.Fatalf("%g in follows %g in", next.In(unit.Inch), list[i-1].In(unit.Inch))
				}
			}
			if least, most := max(l-2*unit.Inch, 0), min(l+4*unit.Inch, 60*unit.Inch); len(list) == 0 || list[0] > least+step+1e-9 || list[0] < least-1e-9 || list[len(list)-1] < most-step-1e-9 || list[len(list)-1] > most+1e-9 {
				t.Fatalf("for %g in they go from %v to %v", l.In(unit.Inch), list[0].In(unit.Inch), list[len(list)-1].In(unit.Inch))
			}
		}
	})
}
