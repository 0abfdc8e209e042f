package present

import (
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"pgregory.net/rapid"

	"foreshaft/engine/enginetest"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
)

func TestSigned(t *testing.T) {
	for _, c := range []struct {
		delta, u      float64
		shown, shownU string
	}{
		{-0.04, 0.1, "−0.04", "0.10"}, // one leading 1 in the uncertainty gives it two digits
		{-0.04, 0.4, "0.0", "0.4"},    // a zero has no sign, whatever it was rounded from
		{0.04, 0.4, "0.0", "0.4"},
		{-0.06, 0.4, "−0.1", "0.4"},
		{25, 0, "+25", ""},
		{-25.5, 0, "−25.5", ""},
		{0, 0, "0", ""},
		{-22.43, 1.61, "−22.4", "1.6"},
		{97.1, 0.34, "+97.1", "0.3"},
		{123.4, 30, "+120", "30"},
	} {
		shown, shownU := Signed(c.delta, c.u)
		if shown != c.shown || shownU != c.shownU {
			t.Errorf("Signed(%g, %g) = %q ± %q, want %q ± %q", c.delta, c.u, shown, shownU, c.shown, c.shownU)
		}
	}
}

func TestSignedHasNoUncertaintyWhereOnlyRoundingLeftOne(t *testing.T) {
	if shown, shownU := Signed(25, 1e-15); shownU != "" || !strings.HasPrefix(shown, "+25") {
		t.Errorf("Signed(25, 1e-15) = %q ± %q, want +25 and no ±", shown, shownU)
	}
}

func TestPlus(t *testing.T) {
	for number, want := range map[string]string{
		"1.5": "+1.5", "0": "0", "0.00": "0.00", "-0.0": "0.0", "−3": "−3", "-3": "−3", "100": "+100", "0.001": "+0.001",
	} {
		if got := Plus(number); got != want {
			t.Errorf("Plus(%q) = %q, want %q", number, got, want)
		}
	}
}

func TestNumbersKeepNoNeedlessZeros(t *testing.T) {
	for x, want := range map[float64]string{100: "100", 8.6: "8.6", 0.25: "0.25", -0.0001: "0", -2: "−2", 1500: "1500", 0.1 + 0.2: "0.3"} {
		if got := Number(x); got != want {
			t.Errorf("Number(%g) = %q, want %q", x, got, want)
		}
	}
	for _, c := range []struct {
		x        float64
		decimals int
		want     string
	}{{29.5, 2, "29.50"}, {29.125, 2, "29.125"}, {29, 0, "29"}, {15.4, 0, "15.4"}, {-0.2, 1, "−0.2"}} {
		if got := Places(c.x, c.decimals); got != c.want {
			t.Errorf("Places(%g, %d) = %q, want %q", c.x, c.decimals, got, c.want)
		}
	}
}

func TestFigureGivesUpTheUnitAndThenTheUncertainty(t *testing.T) {
	c := Cell{Value: "442.1", U: "0.7", Unit: "gr"}
	for _, step := range []struct {
		from, to int
		want     string
	}{{14, 30, "442.1 ± 0.7 gr"}, {11, 13, "442.1 ± 0.7"}, {8, 10, "442.1 gr"}, {5, 7, "442.1"}, {4, 4, "442…"}, {0, 0, ""}} {
		for w := step.from; w <= step.to; w++ {
			if got := c.Text(w); got != step.want {
				t.Errorf("in %d cells %q, want %q", w, got, step.want)
			}
		}
	}
}

func TestDifferenceGivesUpItsUncertaintyFirst(t *testing.T) {
	c := Cell{Value: "281", U: "2", Unit: "ft/s", Delta: "−22.4", DeltaU: "1.6"}
	// How far apart they stand is a matter of what lines up.
	steps := []string{"281 −22.4 ± 1.6", "281 −22.4", "281", "2…", "…", ""}
	at := 0
	for w := 40; w >= 0; w-- {
		got := c.Text(w)
		if ansi.StringWidth(got) > w {
			t.Errorf("in %d cells %q", w, got)
		}
		if at+1 < len(steps) && oneSpaced(got) == steps[at+1] {
			at++
		}
		if oneSpaced(got) != steps[at] {
			t.Errorf("in %d cells %q, want %q, or %q behind it", w, got, steps[at], steps[min(at+1, len(steps)-1)])
		}
		if at > 0 && w >= ansi.StringWidth(steps[at-1])+2 {
			t.Errorf("in %d cells %q, though %q fits", w, got, steps[at-1])
		}
	}
	if at != len(steps)-1 {
		t.Errorf("in no cells at all it still shows %q", steps[at])
	}
	c.U, c.DeltaU = "0", ""
	if got := c.Text(40); oneSpaced(got) != "281 −22.4" {
		t.Errorf("a difference that is exact shows %q", got)
	}
}

func TestTextIsNeverWiderThanAsked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := sheet.Evaluate(enginetest.Job(t))
		w := rapid.IntRange(0, 60).Draw(t, "width")
		for i := range s.Builds {
			for _, k := range sheet.Keys() {
				c := FigureCell(s, i, k)
				got := c.Text(w)
				if ansi.StringWidth(got) > w {
					t.Fatalf("%s of build %d is %q in %d cells", k, i, got, w)
				}
				if c.Absent == "" && ansi.StringWidth(c.Value) <= w && !strings.HasPrefix(got, c.Value) {
					t.Fatalf("%s of build %d is %q in %d cells: the value %q went first", k, i, got, w, c.Value)
				}
			}
		}
	})
}

func TestEveryFigureHasAValueOrAReason(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := sheet.Evaluate(enginetest.Job(t))
		for i := range s.Builds {
			for _, k := range sheet.Keys() {
				c := FigureCell(s, i, k)
				if (c.Absent == "") == (c.Value == "") {
					t.Fatalf("%s of build %d: value %q, absent %q", k, i, c.Value, c.Absent)
				}
				if i == s.Job.Baseline && c.Delta != "" {
					t.Fatalf("%s of the baseline differs from itself by %q", k, c.Delta)
				}
				if strings.ContainsAny(c.Value+c.Delta, "-") || strings.Contains(c.Value+c.U+c.Delta+c.DeltaU, "NaN") {
					t.Fatalf("%s of build %d reads %+v", k, i, c)
				}
			}
		}
	})
}

func TestSampleFiguresReadLikeTheTrade(t *testing.T) {
	j := store.SampleBench()
	j.Currency = "EUR"
	s := sheet.Evaluate(j)
	base, other := FigureCell(s, 0, figure.TotalWeight), FigureCell(s, 1, figure.TotalWeight)
	if base.Delta != "" || base.Unit != "gr" || base.U == "" {
		t.Errorf("the baseline's weight is %+v", base)
	}
	if !strings.HasPrefix(other.Delta, "+") || other.DeltaU == "" {
		t.Errorf("the heavier build's difference is %q ± %q", other.Delta, other.DeltaU)
	}
	price := FigureCell(s, 1, figure.DozenCost)
	if _, cents, found := strings.Cut(price.Value, "."); !found || len(cents) != 2 || price.Unit != "EUR" || price.U != "" {
		t.Errorf("the price is %+v, want cents, the currency and no ±", price)
	}
	if speed := FigureCell(s, 1, figure.LaunchSpeed); !strings.HasPrefix(speed.Delta, "−") || speed.Unit != "ft/s" {
		t.Errorf("the heavier build's speed is %+v, want it slower", speed)
	}
}

func TestAbsentFiguresSayWhatTheyNeed(t *testing.T) {
	j := store.SampleBench()
	j.Bow.Given, j.Bow.Value = false, job.New().Bow.Value
	c := FigureCell(sheet.Evaluate(j), 0, figure.LaunchSpeed)
	if c.Value != "" || !strings.Contains(c.Absent, "reading") {
		t.Errorf("without a bow the speed is %+v, want a reason that names a reading", c)
	}
	if got := c.Text(60); got != "– "+c.Absent {
		t.Errorf("it shows %q", got)
	}
}

// sampleWith returns the sample bench with the job decoded again, as a file
// would give it, after a change.
func sampleWith(t testing.TB, change func(j *job.Job)) *job.Job {
	t.Helper()
	j := store.SampleBench()
	change(j)
	out, err := job.DecodeBench(j.Encode())
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestLengthNamesBothWaysToMeasure(t *testing.T) {
	j := sampleWith(t, func(j *job.Job) { j.Builds[0].Length = 29.5 * unit.Inch })
	got := Length(unit.System{}, &j.Builds[0])
	if !strings.Contains(got, "29.50 in") || !strings.Contains(got, "29.00") {
		t.Errorf("%q names not both 29.50 in of arrow and 29.00 of tube", got)
	}
}
