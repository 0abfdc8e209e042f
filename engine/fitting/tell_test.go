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
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// What is gained and given up is what a sheet with the middle one as its baseline says
// of the other two.
func TestSentencesSayWhatTheSheetSays(t *testing.T) {
	j, parts, a := plain(t)
	for i := range parts {
		priced(&parts[i], 1+0.1*float64(i*i))
	}
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
		of := func(i int) figure.Figure {
			short, _ := s.Builds[i].At[0].Figure(figure.RangeShort)
			long, _ := s.Builds[i].At[0].Figure(figure.RangeLong)
			if long.Value < short.Value {
				return long
			}
			return short
		}
		d, u := figure.Difference(of(build), of(1))
		value, _ := figure.Rounded(max(d, -d)/float64(unit.Yard), u/float64(unit.Yard))
		return value + " yd"
	}
	price := func(build int) string {
		mine, ok := s.Builds[build].Figure(figure.DozenCost)
		theirs, ok2 := s.Builds[1].Figure(figure.DozenCost)
		if !ok || !ok2 || mine.Value == theirs.Value {
			t.Fatal("the test tests no price")
		}
		if mine.Value < theirs.Value {
			return fmt.Sprintf("%.2f less.", theirs.Value-mine.Value)
		}
		return fmt.Sprintf("%.2f more.", mine.Value-theirs.Value)
	}
	const speed, weight, momentum, drop = figure.LaunchSpeed, figure.TotalWeight, figure.Momentum, figure.Drop
	total := func(build int) string {
		f, _ := s.Builds[build].Figure(weight)
		value, _ := figure.Rounded(f.Value/float64(unit.Grain), f.U/float64(unit.Grain))
		return value + " gr"
	}
	want := []string{
		"Light, " + total(0) + ". Against the middle one it gains " + delta(0, speed) + " of speed, a path " + delta(0, drop) + " flatter at 60 yd and " + room(0) +
			" of room for a misjudged distance there; it gives up " + delta(0, weight) + " of weight and " + delta(0, momentum) + " of momentum at 60 yd. A dozen costs " + price(0),
		"Middle, " + total(1) + ": it leaves the string at ",
		"Heavy, " + total(2) + ". Against the middle one it gains " + delta(2, weight) + " of weight and " + delta(2, momentum) + " of momentum at 60 yd; it gives up " + delta(2, speed) +
			" of speed, a path " + delta(2, drop) + " flatter at 60 yd and " + room(2) + " of room for a misjudged distance there. A dozen costs " + price(2),
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
		7.0: {"Light, ", "Against the heavy one it ", "Heavy, ", "Against the light one it ", "Only two are proposed"},
		6.3: {"Proposal, ", "it leaves the string at ", "Only one is proposed"},
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

// priced gives a part a price.
func priced(p *part.Part, price float64) {
	of := unit.Some(price)
	switch p.Kind {
	case part.KindShaft:
		p.Shaft.Value.Price = of
	case part.KindNock:
		p.Nock.Value.Price = of
	case part.KindVanes:
		p.Vanes.Value.Price = of
	case part.KindInsert:
		p.Insert.Value.Price = of
	case part.KindCollar:
		p.Collar.Value.Price = of
	case part.KindHead:
		p.Head.Value.Price = of
	}
}
