package bench

import (
	"testing"

	"foreshaft/ui/present"
)

// Undo inside a form may take away the build that the form is about.
func TestAFormClosesWhenUndoTakesItsBuildAway(t *testing.T) {
	for _, slot := range present.Slots {
		m := benchOf(t, builds(0))
		press(m, "a")
		press(onSlot(m, slot), "E")
		if m.dialog == nil { // this build has no such piece
			continue
		}
		if m.Typing() {
			press(m, "esc")
			continue
		}
		press(m, "z")
		if m.dialog != nil || m.build() != nil {
			t.Errorf("%s: after undo %T is open over %d builds", slot, m.dialog, len(m.Job().Builds))
		}
		checkFrame(t, string(slot), m.Lines(), m.width, m.height)
	}
	// With another build in focus after it, the form would edit that one.
	m := benchOf(t, nil)
	m.focus(2)
	press(m, "d", "E", "z")
	if m.dialog != nil {
		t.Errorf("after undo %T is open over %s", m.dialog, m.build().Name)
	}
	// While the build is there it stays open.
	m = benchOf(t, nil)
	press(m, "+", "E", "z")
	if m.dialog == nil {
		t.Error("undoing a change of the piece closed its form")
	}
}
