package present

import (
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/enginetest"
	"foreshaft/engine/unit"
	"foreshaft/store"
)

// cellOf returns in which cell the first of a sign stands, −1 where it is not.
func cellOf(strip, sign string) int {
	before, _, found := strings.Cut(strip, sign)
	if !found {
		return -1
	}
	return ansi.StringWidth(before)
}

func TestStripIsNeverWiderThanAsked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := enginetest.Job(t)
		w := rapid.IntRange(-2, 60).Draw(t, "width")
		full := unit.Length(rapid.Float64Range(0, 70).Draw(t, "full")) * unit.Inch
		for i := range j.Builds {
			strip := Strip(&j.Builds[i], w, full)
			if got := ansi.StringWidth(strip); got > max(w, 0) {
				t.Fatalf("%q takes %d cells of %d", strip, got, w)
			}
			if strip != "" && strings.Trim(strip, " >≡═■─▷►▲") != "" {
				t.Fatalf("%q has a sign that the help does not explain", strip)
			}
		}
	})
}

func TestStripInNarrowRoom(t *testing.T) {
	b := store.SampleBench().Builds[0]
	for w := range 4 {
		if got := Strip(&b, w, Reach(&b)); got != "" {
			t.Errorf("in %d cells %q, want nothing that cannot be told apart", w, got)
		}
	}
	for w := 4; w < 12; w++ {
		strip := Strip(&b, w, Reach(&b))
		if ansi.StringWidth(strip) != w || !strings.HasPrefix(strip, ">") || cellOf(strip, "▲") < 0 || cellOf(strip, "▷") != w-1 {
			t.Errorf("in %d cells %q, want nock, balance point and head", w, strip)
		}
	}
}

func TestStripIsToScale(t *testing.T) {
	const w = 400 // fine enough to measure on
	j := store.SampleBench()
	for i := range j.Builds {
		b := &j.Builds[i]
		full := Reach(b)
		strip := Strip(b, w, full)
		place := func(x unit.Length) float64 { return w * float64(x/full) }
		for _, c := range []struct {
			sign string
			at   float64
		}{
			{"▲", place(b.Moments().Balance)},
			{"≡", place(b.Vanes.Value.Rear)},
			{"■", place(b.Length - max(b.Insert.Value.Depth, b.Collar.Value.Length))},
		} {
			if got := float64(cellOf(strip, c.sign)); got < c.at-1 || got > c.at+1 {
				t.Errorf("%s: %s stands at %g, want %g\n%s", b.Name, c.sign, got, c.at, strip)
			}
		}
		if got := ansi.StringWidth(strip); got != w {
			t.Errorf("%s: the longest arrow takes %d of %d cells", b.Name, got, w)
		}
		if got := ansi.StringWidth(Strip(b, w, 2*full)); got < w/2-1 || got > w/2+1 {
			t.Errorf("%s: at half the scale it takes %d of %d cells", b.Name, got, w)
		}
	}
}

func TestStripTellsABladedHeadFromAPoint(t *testing.T) {
	b := store.SampleBench().Builds[0]
	b.Head.Blades = 3
	if strip := Strip(&b, 20, Reach(&b)); !strings.HasSuffix(strip, "►") {
		t.Errorf("a head with blades is drawn as %q", strip)
	}
}

func TestBalanceMovesForwardWithFrontWeight(t *testing.T) {
	const w = 120
	for _, add := range []struct {
		name string
		to   func(b *arrow.Build, m unit.Mass)
	}{
		{"head", func(b *arrow.Build, m unit.Mass) { b.Head.Weight = m }},
		{"insert", func(b *arrow.Build, m unit.Mass) { b.Insert.Value.Weight = m }},
	} {
		b := store.SampleBench().Builds[0]
		last, first := -1, -1
		for grains := 20.0; grains <= 300; grains += 10 {
			add.to(&b, unit.Mass(grains)*unit.Grain)
			at := cellOf(Strip(&b, w, Reach(&b)), "▲")
			if at < last {
				t.Errorf("%s: ▲ went back from %d to %d at %g gr", add.name, last, at, grains)
			}
			if first < 0 {
				first = at
			}
			last = at
		}
		if last < first+5 {
			t.Errorf("%s: ▲ went from %d to %d over 280 gr, want it well ahead", add.name, first, last)
		}
	}
}
