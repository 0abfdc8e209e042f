package main

import (
	"testing"

	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/uitest"
)

// Someone asks for an arrow as heavy as B with more FOC, puts a match on the bench,
// asks for more than the drawer has, is told what to widen, and takes that. Everything
// that was asked is there again the next time.
func TestAMatchIsFoundAndPutOnTheBench(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{Cols: 80, Rows: 24})
	x.Send("4")
	x.WaitMatch(`15 449 of 771 120 arrows match`)
	x.Send(enter + "within 5 gr of B" + enter)
	x.WaitFor("[443.4 to 453.4 gr]")
	x.Send("jj" + enter + "at least 16" + enter)
	x.WaitFor("[at least 16 %]")
	x.Send("jj" + enter + "0.9 to 1.1" + enter)
	x.WaitMatch(`30 of 771 120 arrows match`)
	x.WaitFor("[0.9 to 1.1]")
	x.WaitMatch(`shaft, length, head\+insert\+collar, … +↑weight +FOC +speed +margin\n   5 mm \.300`)
	x.Send("jj") // to the first match
	x.WaitMatch(`Against A: +\+\d\d\.\d`)
	x.Send("a")
	x.WaitFor("Added as Found, column D")
	x.Send("kkkk" + enter + "at least 40" + enter)
	x.WaitFor("Nothing matches. Widening one of what is asked lets something in")
	x.Send("jjjj" + enter)
	x.WaitFor("Widened: FOC at least ")
	leave(x, "arrows match")
	x.WaitFor("more: 1 ▸")
	quit(t, x)

	kept := s.bench()
	if len(kept.Builds) != 4 {
		t.Fatalf("%d builds are kept", len(kept.Builds))
	}
	found := &kept.Builds[3]
	m := found.Moments()
	if weight, foc := m.Total.In(unit.Grain), found.FOC(m.Balance); weight < 443.3 || weight > 453.5 || foc < 0.16 {
		t.Errorf("found: %.1f gr, FOC %.3f", weight, foc)
	}
	for _, c := range sheet.Evaluate(kept).Builds[3].Cautions {
		if c.Level == caution.Danger {
			t.Errorf("what was found is a danger: %s", c.Text)
		}
	}
	if where := kept.Search.Value.Where; len(where) != 3 || where["foc"].Min.Value < 16 || where["foc"].Min.Value >= 40 {
		t.Errorf("asked: %v", where)
	}
}

// Someone sees a warning, asks what would fix it and takes the first offer; then
// brings another build to the baseline's marks in a column of its own.
func TestAWarningIsFixedByAnOffer(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{Cols: 120, Rows: 36})
	x.WaitFor("! weak shaft +1")
	x.Send("f")
	x.WaitFor("what would fix this: weak shaft")
	x.WaitMatch(`▸ shaft 5 mm \.300 +\+17\.4`)
	x.WaitMatch(`Clears: weak shaft, perhaps weak shaft`)
	x.Send(enter)
	x.WaitGone("what would fix this")
	x.WaitFor("●5 mm .300")
	x.WaitGone("! weak shaft")
	x.Send("z")
	x.WaitFor("! weak shaft +1")
	x.Send(right + "m")
	x.WaitFor("to hit within 1 in of Open ground at 60 yd")
	x.WaitMatch(`comes to|This comes closest`)
	x.Send("a")
	x.WaitFor("Even keel 2")
	quit(t, x)
	if kept := s.bench(); len(kept.Builds) != 4 || kept.Builds[2].Name != "Even keel 2" || kept.Builds[2].SamePieces(&kept.Builds[1]) {
		t.Errorf("%d builds are kept", len(kept.Builds))
	}
}

// Someone has cleared the builds and kept the bow: the fitting makes three columns of
// the drawer's parts in a few keys, and they are there the next time.
func TestFromAnEmptyBenchToThreeColumns(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{Cols: 80, Rows: 24})
	// The bow's name makes it one's own, so that it stays when the builds go.
	x.Send("b")
	x.WaitFor("Peak")
	x.Send("\x1b[H" + enter + "Mine" + enter)
	x.WaitFor("Changed: name.")
	leave(x, "Changed: name.")
	x.Send("X" + enter)
	x.WaitFor("There is no build on the bench.")
	presses := []string{"g", "p", enter}
	x.Send(presses[0])
	x.WaitFor("Every question has an answer already")
	x.Send(presses[1])
	x.WaitFor("Light   ")
	x.WaitFor("Against the middle one")
	x.Send(presses[2])
	x.WaitMatch(`A Light +◆B Middle +C Heavy`)
	quit(t, x)

	kept := s.bench()
	if len(kept.Builds) != 3 || kept.Baseline != 1 {
		t.Fatalf("%d builds are kept, baseline %d", len(kept.Builds), kept.Baseline)
	}
	figures := sheet.Evaluate(kept)
	weight := func(i int) float64 {
		f, _ := figures.Builds[i].Figure(figure.TotalWeight)
		return f.Value / float64(unit.Grain)
	}
	for i := range kept.Builds {
		for _, c := range figures.Builds[i].Cautions {
			if c.Level != caution.Note {
				t.Errorf("%s: %s", kept.Builds[i].Name, c.Text)
			}
		}
	}
	if weight(1)-weight(0) < 40 || weight(2)-weight(1) < 40 {
		t.Errorf("they weigh %.1f, %.1f and %.1f gr", weight(0), weight(1), weight(2))
	}
}

// With no bow the fitting says what is missing, Find says that nothing lies in
// windows that contradict each other, and leaving changes nothing.
func TestSentencesInPlaceOfMatches(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{Cols: 120, Rows: 36})
	x.Send("4jjjj" + enter + "15 to 13" + enter)
	x.WaitFor("Nothing lies from 15 to 13: the smaller number comes first.")
	x.Send(escape)
	x.WaitFor("Left as it was.")
	x.Send(enter + "at least 3" + enter)
	x.WaitFor("Nothing matches. Widening one of what is asked lets something in")
	x.Send("kkkk" + enter + "at most 100" + enter)
	x.WaitFor("Nothing matches: no arrow of this drawer has")
	x.Send("zz")
	x.WaitFor("15 449 of 771 120 arrows match")
	leave(x, "arrows match")
	x.Send("X" + enter)
	x.WaitFor("There is no build on the bench.")
	x.Send("gp")
	x.WaitFor("The bow's draw length is missing")
	leave(x, "what should it shoot")
	x.Send("z")
	x.WaitFor("A Open ground")
	x.Send("4")
	x.WaitFor("arrows match")
	x.Send("c" + escape)
	x.WaitGone("arrows match")
	quit(t, x)
	if kept := s.bench(); len(kept.Builds) != 3 || kept.Search.Given {
		t.Errorf("%d builds, asked: %v", len(kept.Builds), kept.Search)
	}
}
