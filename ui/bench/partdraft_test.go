package bench

import (
	"strings"
	"testing"

	"foreshaft/engine/part"
)

// An ID may come when the form is closed again. The part is in the drawer and in
// the list then, and the next new one is another.
func TestAnIDThatComesLateEndsTheDraft(t *testing.T) {
	m := benchOf(t, nil)
	describe(t, m, part.KindHead)
	enter[part.Part](t, m, "name", "First")
	enter[part.Part](t, m, "weight_gr", "100")
	press(m, "esc")
	p := keptPart(t, m.TakeID("part-901"))
	if p.Name() != "First" || p.ID != "part-901" {
		t.Errorf("kept is %+v", p)
	}
	shows(t, m, "▸ First", "It is in the drawer now.")
	if r := press(m, "ctrl+a"); r != (NewPart{}) {
		t.Errorf("the next one asks for %+v", r)
	}
	m.TakeID("part-902")
	enter[part.Part](t, m, "name", "Second")
	p = keptPart(t, enter[part.Part](t, m, "weight_gr", "110"))
	if p.ID != "part-902" || len(inDrawer(m, "First")) != 1 || len(inDrawer(m, "Second")) != 1 {
		t.Errorf("kept is %+v; %d are called First and %d Second", p, len(inDrawer(m, "First")), len(inDrawer(m, "Second")))
	}
}

// Where no ID was to be had, opening the part again asks for one again.
func TestAPartThatGotNoIDAsksAgain(t *testing.T) {
	m := benchOf(t, nil)
	describe(t, m, part.KindHead)
	enter[part.Part](t, m, "name", "Mine")
	if r := enter[part.Part](t, m, "weight_gr", "100"); r != nil || len(inDrawer(m, "Mine")) != 0 {
		t.Errorf("without an ID it asks for %+v", r)
	}
	press(m, "esc")
	if r := press(m, "ctrl+a"); r != (NewPart{}) {
		t.Errorf("again it asks for %+v", r)
	}
	shows(t, m, "Mine", "100 gr")
	if p := keptPart(t, m.TakeID("part-905")); p.ID != "part-905" || p.Name() != "Mine" {
		t.Errorf("kept is %+v", p)
	}
}

// IDs that come for two drafts give each its own.
func TestTwoDraftsGetTwoIDs(t *testing.T) {
	m := benchOf(t, nil)
	describe(t, m, part.KindHead)
	press(m, "esc", "esc")
	describe(t, m, part.KindWrap)
	m.TakeID("part-901")
	m.TakeID("part-902")
	enter[part.Part](t, m, "name", "A wrap")
	enter[part.Part](t, m, "weight_gr", "6")
	wrap := keptPart(t, enter[part.Part](t, m, "length_in", "4"))
	press(m, "esc", "esc")
	if r := describe(t, m, part.KindHead); r != nil {
		t.Errorf("going on with the head asks for %+v", r)
	}
	enter[part.Part](t, m, "name", "A head")
	head := keptPart(t, enter[part.Part](t, m, "weight_gr", "100"))
	if wrap.ID == head.ID || wrap.Kind != part.KindWrap || head.Kind != part.KindHead {
		t.Errorf("kept are %+v and %+v", wrap, head)
	}
}

// A part of the drawer that is left without what it needs stays there as it was,
// and the program says so.
func TestAPartLeftWithoutWhatItNeedsStaysAsItWas(t *testing.T) {
	m := benchOf(t, nil)
	was := partOf(m.drawer, part.KindHead)
	openPart(t, m, was.ID)
	onLine[part.Part](t, m, "name")
	press(m, "enter", "backspace", "enter")
	shows(t, m, "The drawer has it as it was. It needs a name.")
	if strings.Contains(screen(m), "Not in the drawer") {
		t.Errorf("it is said not to be there:\n%s", screen(m))
	}
	if r := press(m, "esc"); r != nil || partOf(m.drawer, part.KindHead) != was {
		t.Errorf("Esc asks for %+v", r)
	}
	shows(t, m, "The drawer keeps it as it was: it needs a name.")
	press(m, "esc")
	if f := openPart(t, m, was.ID); f.load(m) != was {
		t.Errorf("opened again it is %+v", f.load(m))
	}
}
