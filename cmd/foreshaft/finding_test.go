package main

import (
	"testing"

	"foreshaft/engine/caution"
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
	x.WaitMatch(`arrow +↑weight +FOC +speed +margin\n   5 mm \.300`)
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
