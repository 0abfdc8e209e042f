package bench

import (
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/air"
	"foreshaft/engine/bow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/store"
)

// A click on a line of a form goes to the value that is drawn there, and one on
// the line in focus does what Enter does.
func TestAClickInAFormGoesToTheValueDrawnThere(t *testing.T) {
	clickLines(t, "bow", pressed[bow.Bow]("b"))
	clickLines(t, "air", pressed[air.Conditions]("A"))
	clickLines(t, "sight", pressed[job.Sight]("i"))
	clickLines(t, "limits", pressed[job.Limits]("L", "end"))
	clickLines(t, "units", pressed[unitChoice]("u"))
	clickLines(t, "drag", pressed[dragEntry]("3", "d"))
	clickLines(t, "piece", pressed[part.Part]("E"))
	clickLines(t, "what is saved", pressedOnSaved[entryWords]("ctrl+e"))
	clickLines(t, "customer", pressedOnSaved[store.Customer](append(slices.Clone(toCustomers), "end", "ctrl+e")...))
	clickLines(t, "part, scrolled", func(t testing.TB, m *Model) *form[part.Part] {
		f := openPart(t, m, partOf(m.drawer, part.KindHead).ID)
		press(m, "end")
		return f
	})
}

func clickLines[T any](t *testing.T, name string, open func(t testing.TB, m *Model) *form[T]) {
	for _, size := range clickSizes {
		fresh := func() (*Model, *form[T]) {
			m := benchOf(t, nil)
			m.SetSize(size[0], size[1])
			f := open(t, m)
			m.Lines()
			return m, f
		}
		m, f := fresh()
		at, offset, before, clicked := f.at, f.offset, m.Job().Encode(), 0
		lines := m.Lines()
		for y, line := range lines {
			label := ""
			if y >= 2 {
				label = strings.TrimRight(string([]rune(line)[2:2+titleWidth]), " ")
			}
			isLine := false
			for i := range f.lines {
				isLine = isLine || f.lines[i].title == label && f.lines[i].title != ""
			}
			f.at, f.offset = at, offset
			m.Lines()
			if strings.HasPrefix(line, "▸ ") {
				byClick, _ := fresh()
				byKey, _ := fresh()
				if x, y := after(byClick, clickAt(byClick, 4, y)), after(byKey, press(byKey, "enter")); x != y {
					t.Errorf("%s at %v: a click on the line in focus does\n%s\nand Enter\n%s", name, size, x, y)
				}
				continue
			}
			r := clickAt(m, 4, y)
			switch {
			case r != nil || m.Typing():
				t.Fatalf("%s at %v: a click on %q opens it or asks for %+v", name, size, line, r)
			case !isLine:
				if f.at != at && y >= 2 {
					t.Errorf("%s at %v: a click on %q goes to %q", name, size, line, f.lines[f.at].title)
				}
			case f.lines[f.at].title != label || !strings.HasPrefix(m.Lines()[y], "▸ "+label):
				t.Fatalf("%s at %v: a click on %q goes to %q:\n%s", name, size, line, f.lines[f.at].title, screen(m))
			default:
				clicked++
			}
		}
		if clicked < min(len(f.lines)-1, size[1]-8) {
			t.Errorf("%s at %v: only %d of %d lines are on screen", name, size, clicked, len(f.lines))
		}
		kept(t, m, before, "after clicks")
	}
}

// The rows of a table beside the lines answer too.
func TestAClickInATableGoesToTheRowDrawnThere(t *testing.T) {
	for _, size := range clickSizes {
		m := benchOf(t, manyMarks(9))
		m.SetSize(size[0], size[1])
		press(m, "i")
		f := m.dialog.(*form[job.Sight])
		x := f.leftWidth(size[0]) + 5
		clicked := 0
		for y, line := range m.Lines() {
			cells := strings.Fields(string([]rune(line)[f.leftWidth(size[0]):]))
			if len(cells) < 2 || y < 3 {
				continue
			}
			for i := range m.Job().Sight.Value.Marks {
				v := f.load(m)
				if cells[0] != f.cellOf(m, &v, i, 0).Text() || cells[1] != f.cellOf(m, &v, i, 1).Text() {
					continue
				}
				f.at = 0
				if r := clickAt(m, x, y); r != nil || f.at != len(f.lines)+i || m.Typing() {
					t.Fatalf("%v: a click on %q goes to %d, want row %d", size, line, f.at-len(f.lines), i)
				}
				if clickAt(m, x, y); !m.Typing() || typedText(t, m) != cells[0] {
					t.Fatalf("%v: a second click on %q opens nothing", size, line)
				}
				press(m, "esc")
				clicked++
			}
		}
		if clicked != 9 {
			t.Errorf("%v: %d of 9 rows are on screen:\n%s", size, clicked, screen(m))
		}
	}
}

// While something is typed a click changes nothing: the field says how to leave.
func TestAClickWhileTypingChangesNothing(t *testing.T) {
	for _, c := range typingModes() {
		m := c.make(t)
		if _, list := m.dialog.(pointed); list && !isForm(m.dialog) {
			continue // lists are filtered by typing and clicked on all the same
		}
		before, typed, open := m.Job().Encode(), typedText(t, m), m.dialog
		at := screen(m)
		for y := range 36 {
			for _, x := range []int{3, 30, 60, 119} {
				if r := clickAt(m, x, y); r != nil {
					t.Errorf("%s: a click asks for %+v", c.name, r)
				}
			}
		}
		kept(t, m, before, c.name+": after clicks")
		if typedText(t, m) != typed || m.dialog != open || screen(m) != at {
			t.Errorf("%s: after clicks %q stands in %T, want %q in %T", c.name, typedText(t, m), m.dialog, typed, open)
		}
	}
}

// isForm reports whether a dialog is a form: it has a way to take what is typed.
func isForm(d dialog) bool {
	switch d.(type) {
	case *picker, *savedScreen, *palette, *drawerScreen, *forWhom:
		return false
	}
	return true
}

func TestAClickInAChoiceGoesToTheOptionDrawnThere(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "X")
	c := m.dialog.(*choice)
	for y, line := range m.Lines() {
		for i, o := range c.options {
			if strings.Contains(line, o.words) && i != c.at {
				if r := clickAt(m, 20, y); r != nil || c.at != i || m.dialog == nil {
					t.Errorf("a click on %q goes to %d, want %d", line, c.at, i)
				}
				break
			}
		}
	}
	for _, y := range []int{0, 1, 2, 3 + len(c.options), 30} {
		was := c.at
		if r := clickAt(m, 20, y); r != nil || c.at != was || m.dialog == nil {
			t.Errorf("a click on line %d does something", y)
		}
	}
}
