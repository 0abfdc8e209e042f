package bench

import (
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/part"
	"foreshaft/ui/present"
)

// Redo takes a build away as undo does.
func TestAFormClosesWhenRedoTakesItsBuildAway(t *testing.T) {
	for _, slot := range present.Slots {
		m := benchOf(t, nil)
		m.focus(2)
		press(onSlot(m, slot), "x", "z")
		m.focus(2)
		press(m, "E")
		if m.dialog == nil || m.Typing() {
			continue // the third sample has no collar and no wrap; a length is typed in its cell
		}
		if press(m, "Z"); m.dialog != nil || len(m.Job().Builds) != 2 {
			t.Errorf("%s: after redo %T is open on %s", slot, m.dialog, m.build().Name)
		}
	}
}

// A form closes when the build is there and the piece is not.
func TestAFormClosesWhenItsPieceGoes(t *testing.T) {
	m := benchOf(t, nil)
	press(onSlot(m, "wrap"), "+") // the first sample has none
	if present.Piece(m.units(), m.build(), "wrap") == present.None {
		t.Fatal("+ puts no wrap on")
	}
	press(m, "E")
	if _, open := m.dialog.(*form[part.Part]); !open {
		t.Fatalf("%T is open", m.dialog)
	}
	if press(m, "z"); m.dialog != nil || present.Piece(m.units(), m.build(), "wrap") != present.None {
		t.Errorf("after undo %T is open", m.dialog)
	}
	checkFrame(t, "without the wrap", m.Lines(), 120, 36)
}

// The forms of the bow, the air, the sight and the limits need no build, nor does
// the Downrange screen.
func TestOtherFormsStayWhenABuildGoes(t *testing.T) {
	for _, key := range []string{"b", "A", "i", "L", "3"} {
		m := benchOf(t, builds(0))
		press(m, "a", key)
		open := m.dialog
		press(m, "z")
		if m.dialog != open || len(m.Job().Builds) != 0 {
			t.Errorf("%s: after undo %T is open on %d builds", key, m.dialog, len(m.Job().Builds))
		}
		checkFrame(t, "no build", m.Lines(), 120, 36)
		press(m, "Z", "esc")
		if m.dialog != nil || len(m.Job().Builds) != 1 {
			t.Errorf("%s: after redo and Esc %T is open on %d builds", key, m.dialog, len(m.Job().Builds))
		}
	}
}

// What is not on the bench does not change it by undo either.
func TestUndoInTheDrawerLeavesTheBenchAlone(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "d")
	before := m.Job().Encode()
	openPart(t, m, partOf(m.drawer, part.KindWrap).ID)
	for _, key := range []string{"z", "Z"} {
		if press(m, key); !strings.Contains(m.message, "not part of the bench") {
			t.Errorf("%s says %q", key, m.message)
		}
		kept(t, m, before, "after "+key)
	}
	press(m, "esc", "esc", "u", "z")
	kept(t, m, before, "after z among the units")
}

// Clicks on what shows neither a row nor a name do nothing: the header, rules,
// what the cautions say, messages and keys.
func TestAClickOnWhatIsNoCellDoesNothing(t *testing.T) {
	for _, size := range clickSizes {
		for _, start := range clickStarts[1:3] {
			m, again := clickable(t, size, start)
			again()
			p := seen(t, m)
			first := slices.IndexFunc(p.title, func(s string) bool { return s != "" })
			for y, title := range p.title {
				if title != "" || y == first-1 || y == first-2 {
					continue
				}
				for _, x := range []int{0, 20, size[0] / 2, size[0] - 1} {
					again()
					before := focusOf(m)
					if r := clickAt(m, x, y); r != nil || m.dialog != nil || focusOf(m) != before {
						t.Errorf("%v after %q: a click at %d,%d on %q goes to %s", size, start, x, y, strings.TrimRight(string(p.lines[y]), " "), focusOf(m))
					}
				}
			}
		}
	}
}

// Below the lines of a list, and above and below those of a form in sight, there
// is nothing to click on, however many there are out of sight.
func TestAClickOutOfAListOrAFormDoesNothing(t *testing.T) {
	for _, size := range clickSizes[:1] {
		m := benchOf(t, nil)
		m.SetSize(size[0], size[1])
		showSaved(m, entries(strings.Split(strings.Repeat("saved ", 99), " ")...))
		list := m.dialog.(*savedScreen)
		for y, line := range m.Lines() {
			list.at = 0
			if clickAt(m, 30, y); !strings.Contains(line, "2026-") && list.at != 0 {
				t.Errorf("a click on %q goes to line %d", line, list.at)
			}
			list.chosen = false
		}
		for _, scroll := range []string{"home", "end"} {
			m := benchOf(t, nil)
			m.SetSize(size[0], size[1])
			f := openPart(t, m, partOf(m.drawer, part.KindHead).ID)
			press(m, scroll)
			lines := m.Lines()
			for _, y := range []int{0, 1, len(lines) - 2, len(lines) - 1} {
				was := f.at
				if clickAt(m, 4, y); f.at != was {
					t.Errorf("%s: a click on %q goes to %q", scroll, lines[y], f.lines[f.at].title)
				}
			}
		}
		m = benchOf(t, manyReadings(30))
		m.SetSize(size[0], size[1])
		press(m, "b")
		f := m.dialog.(*bowForm)
		for y, line := range m.Lines() {
			was := f.at
			clickAt(m, 60, y)
			if on := strings.Contains(line, "420") && strings.Contains(line, "291"); on != (f.at != was) { // the sample's first reading
				t.Errorf("a click on %q goes to %d", line, f.at)
			}
			f.at = was
			m.Lines()
		}
	}
}

// What the wheel changes counts for the tour like what a key changes.
func TestTheWheelGoesOnWithTheTour(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "T", "right")
	m.HandleMouse(tea.MouseMsg{X: 20, Y: 5, Action: tea.MouseActionPress, Button: tea.MouseButtonWheelUp})
	if m.tour.step != 3 {
		t.Errorf("after the wheel the tour is at %d, want 3", m.tour.step)
	}
}
