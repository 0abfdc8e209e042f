package fitting_test

import (
	"context"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/fitting"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// What is gained and given up is what a sheet with the middle one as its baseline says
// of the other two.
func TestSentencesSayWhatTheSheetSays(t *testing.T) {
	j, parts, a := plain(t)
	p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
	if err != nil || len(p.Offers) != 3 {
		t.Fatal(err)
	}
	on := j.Clone()
	for _, o := range p.Offers {
		on.Builds = append(on.Builds, o.Build)
	}
	on.Baseline, on.Distances = 1, []unit.Length{60 * unit.Yard}
	s := sheet.Evaluate(on)
	delta := func(build int, k figure.Key) string {
		place := sheet.Whole
		if k.Definition().At {
			place = 0
		}
		d, u, ok := s.DeltaAt(build, place, k)
		if !ok {
			t.Fatalf("no difference of %s", k)
		}
		size := k.Definition().Unit.Size
		value, _ := figure.Rounded(max(d, -d)/size, u/size)
		return fmt.Sprintf("%s %s", value, k.Definition().Unit.Symbol)
	}
	room := func(build int) string {
		short, _ := s.Builds[build].At[0].Figure(figure.RangeShort)
		long, _ := s.Builds[build].At[0].Figure(figure.RangeLong)
		if long.Value < short.Value {
			short = long
		}
		value, _ := figure.Rounded(short.Value/float64(unit.Yard), short.U/float64(unit.Yard))
		return value + " yd"
	}
	const speed, weight, momentum, drop = figure.LaunchSpeed, figure.TotalWeight, figure.Momentum, figure.Drop
	total := func(build int) string {
		f, _ := s.Builds[build].Figure(weight)
		value, _ := figure.Rounded(f.Value/float64(unit.Grain), f.U/float64(unit.Grain))
		return value + " gr"
	}
	want := []string{
		"Light, " + total(0) + ": against the middle one " + delta(0, speed) + " faster, " + delta(0, drop) + " less drop at 60 yd and " + room(0) + " instead of " + room(1) +
			" of room for a misjudged distance there; in return " + delta(0, weight) + " lighter and " + delta(0, momentum) + " less momentum at 60 yd.",
		"Middle, " + total(1) + ": it leaves the string at ",
		"Heavy, " + total(2) + ": against the middle one " + delta(2, weight) + " heavier and " + delta(2, momentum) + " more momentum at 60 yd; in return " + delta(2, speed) +
			" slower, " + delta(2, drop) + " more drop at 60 yd and " + room(2) + " instead of " + room(1) + " of room for a misjudged distance there.",
	}
	for i, o := range p.Offers {
		if !strings.HasPrefix(o.Says, want[i]) {
			t.Errorf("says\n%s\nwant\n%s", o.Says, want[i])
		}
	}
}

// Two are told against each other, and one alone.
func TestFewerThanThreeAreToldToo(t *testing.T) {
	for to, says := range map[float64][]string{ // gr/lb
		7.0: {"Light, ", "against the heavy one ", "Heavy, ", "against the light one ", "Only two are proposed"},
		6.3: {"Middle, ", "it leaves the string at ", "Only one is proposed"},
	} {
		j, parts, a := plain(t)
		a.Purpose.MaxPerDraw = unit.MassPerForce(to) * unit.GrainPerPound
		p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		check(t, j, parts, a, unit.System{}, p)
		var text string
		for _, o := range p.Offers {
			text += o.Says + "\n"
		}
		text += strings.Join(p.Notes, "\n")
		for _, words := range says {
			if !strings.Contains(text, words) {
				t.Errorf("to %g gr/lb: no %q in %s", to, words, text)
			}
		}
		if strings.Contains(text, "the other two") {
			t.Errorf("to %g gr/lb: there are no other two: %s", to, text)
		}
	}
}

// Where every shaft is weak they are as little so as can be: here some arrow has a
// launch margin of 0.80 or more.
func TestWeakIsAsLittleSoAsCanBe(t *testing.T) {
	j, parts, a := plain(t)
	for i := range parts {
		parts[i].Shaft.Value.Spine = some(0.445)
	}
	p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	check(t, j, parts, a, unit.System{}, p)
	for _, b := range beside(j, p, unit.System{}) {
		if m := number(t, &b, figure.LaunchMargin); m < 0.80 || m >= 0.85 {
			t.Errorf("%s has a launch margin of %.3f", b.Name, m)
		}
	}
}

// Where every arrow is light for the bow, the heavier ones are proposed whatever is
// favoured.
func TestLightForTheBowMeansHeavier(t *testing.T) {
	var builds [2][]arrow.Build
	for i, favour := range []fitting.Favour{fitting.Forgiving, fitting.Weight} {
		j, parts, a := plain(t)
		j.Bow.Value.Kind, j.Bow.Value.Release = bow.Longbow, bow.Aid
		a.Purpose.MaxPerDraw, a.Favour = 8.9*unit.GrainPerPound, favour
		p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range p.Offers {
			builds[i] = append(builds[i], o.Build)
		}
	}
	if !reflect.DeepEqual(builds[0], builds[1]) {
		t.Error("what is favoured moves them")
	}
}
