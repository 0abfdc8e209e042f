package bench

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/ui/present"
)

// clickAt presses the left button at a cell of the screen.
func clickAt(m *Model, x, y int) Request {
	return m.HandleMouse(tea.MouseMsg{X: x, Y: y, Action: tea.MouseActionPress, Button: tea.MouseButtonLeft})
}

func wheelOf(m *Model, up bool) Request {
	b := tea.MouseButtonWheelDown
	if up {
		b = tea.MouseButtonWheelUp
	}
	return m.HandleMouse(tea.MouseMsg{X: 40, Y: 10, Action: tea.MouseActionPress, Button: b})
}

// pane is a bench as somebody sees it: which row each line shows, by its title,
// and where each column stands, by its letter. It is read off the screen alone.
type pane struct {
	lines [][]rune
	title []string       // of each line, empty where it shows no row
	at    map[string]int // the first cell of each column
	wide  int
}

var columnHead = regexp.MustCompile(`[ ◆]▸?[A-Z]+ Build \d`)

// seen reads the bench off the screen. In the lab a figure has two lines, of which
// the second has no title, and nothing on it where there is nothing to compare.
func seen(t testing.TB, m *Model) pane {
	t.Helper()
	figures := map[string]bool{}
	for _, r := range allRows {
		figures[titleOf(r)] = !r.isSlot && !r.caution
	}
	p := pane{at: map[string]int{}}
	last, second := "", false
	for _, line := range m.Lines() {
		runes := []rune(line)
		title := ""
		label := strings.TrimSpace(strings.TrimPrefix(string(runes[:15]), "▸"))
		if _, known := figures[label]; known {
			title, second = label, false
		} else if label == "" && m.depth == Lab && figures[last] && !second {
			title, second = last, true
		}
		p.lines, p.title, last = append(p.lines, runes), append(p.title, title), title
		if heads := columnHead.FindAllStringIndex(line, -1); len(p.at) == 0 && len(heads) > 0 {
			for _, h := range heads {
				p.at[strings.Trim(strings.Fields(line[h[0]:h[1]])[0], "◆▸")] = len([]rune(line[:h[0]]))
			}
			p.wide = min((len(runes)-15)/len(heads), 36)
		}
	}
	if len(p.at) == 0 {
		t.Fatalf("no column is on screen:\n%s", screen(m))
	}
	return p
}

func titleOf(r row) string {
	switch {
	case r.caution:
		return "cautions"
	case r.isSlot:
		return string(r.slot)
	}
	return r.figure.Definition().Title
}

// brackets says which row and column have the brackets of the focus.
func (p pane) brackets() string {
	for y, title := range p.title {
		for letter, x := range p.at {
			if title != "" && p.lines[y][x] == '[' {
				return title + " of " + letter
			}
		}
	}
	return "nowhere"
}

func focusOf(m *Model) string { return titleOf(allRows[m.row]) + " of " + present.Letter(m.col) }

// clickSizes and clickStarts are the screens that are clicked on: scrolled down
// and to the right, in each depth.
var (
	clickSizes  = [][2]int{{80, 24}, {120, 36}, {200, 60}}
	clickStarts = [][]string{{"end"}, {"D", "end", "up", "up", "up", "right", "right", "right", "right", "right"},
		{"right", "right", "right", "right", "right", "right", "n"}, {"D", "D", "right", "right", "right", "right", "end"}}
)

// clickable returns a bench of nine builds, and a way back to how it was.
func clickable(t testing.TB, size [2]int, start []string) (m *Model, again func()) {
	m = benchOf(t, builds(9))
	m.SetSize(size[0], size[1])
	for _, key := range start {
		press(m, key)
		m.Lines()
	}
	row, col, offset := m.row, m.col, m.offset
	return m, func() {
		m.row, m.col, m.offset, m.dialog, m.message = row, col, offset, nil, ""
		m.Lines()
	}
}

// Wherever a row and a column cross on the screen, a click there puts the focus
// there, and a click on what has it already opens it.
func TestAClickFocusesTheCellThatIsDrawnThere(t *testing.T) {
	for _, size := range clickSizes {
		for _, start := range clickStarts {
			m, again := clickable(t, size, start)
			again()
			p, before, cells := seen(t, m), m.Job().Encode(), 0
			was := p.brackets()
			if was != focusOf(m) {
				t.Fatalf("%v after %q: the brackets are on %s, the focus on %s", size, start, was, focusOf(m))
			}
			for y, title := range p.title {
				if title == "" {
					continue
				}
				for letter, x := range p.at {
					again()
					r := clickAt(m, x+[]int{0, p.wide / 2, p.wide - 1}[(x+y)%3], y)
					want := title + " of " + letter
					if opened := m.dialog != nil; focusOf(m) != want || r != nil || opened != (want == was) {
						t.Fatalf("%v after %q: a click on %s at line %d goes from %s to %s, asks for %v and opens %T:\n%s", size, start, want, y, was, focusOf(m), r, m.dialog, screen(m))
					}
					m.dialog = nil
					cells++
					if cells%3 > 0 {
						continue
					}
					if now := seen(t, m).brackets(); now != want {
						t.Fatalf("%v after %q: the brackets are on %s, want %s:\n%s", size, start, now, want, screen(m))
					}
				}
			}
			if cells < 15*len(p.at) { // the least screen shows fifteen rows
				t.Errorf("%v after %q: only %d cells of %d columns are on screen", size, start, cells, len(p.at))
			}
			kept(t, m, before, "after clicks")
		}
	}
}

// A click on a title moves to that row alone, one on a name to that column alone,
// and one anywhere else does nothing.
func TestAClickOutsideTheCellsDoesNothing(t *testing.T) {
	for _, size := range clickSizes {
		for _, start := range clickStarts[1:3] {
			m, again := clickable(t, size, start)
			again()
			p := seen(t, m)
			first := slices.IndexFunc(p.title, func(s string) bool { return s != "" }) // below the names and the strips
			for y, title := range p.title {
				for _, x := range []int{0, 7, 14, 15 + p.wide*len(p.at), size[0] - 1} {
					again()
					row, col := titleOf(allRows[m.row]), m.col
					r := clickAt(m, x, y)
					if title != "" {
						row = title
					}
					inside := x >= 15 && x < 15+p.wide*len(p.at)
					if inside || x >= size[0] {
						continue
					}
					if got := titleOf(allRows[m.row]); r != nil || m.dialog != nil || got != row || m.col != col {
						t.Errorf("%v after %q: a click at %d,%d goes to %s of %d, want %s of %d", size, start, x, y, got, m.col, row, col)
					}
				}
			}
			// Names and strips stand above the rows and belong to a column.
			for _, y := range []int{first - 1, first - 2} {
				for letter, x := range p.at {
					again()
					row := m.row
					if clickAt(m, x+1, y); m.row != row || present.Letter(m.col) != letter {
						t.Errorf("%v after %q: a click on line %d of %s goes to %s", size, start, y, letter, focusOf(m))
					}
				}
			}
			again()
			before := focusOf(m)
			for _, e := range []tea.MouseMsg{
				{X: -1, Y: -1, Button: tea.MouseButtonLeft}, {X: 3, Y: size[1], Button: tea.MouseButtonLeft}, {X: size[0], Y: size[1], Button: tea.MouseButtonLeft},
				{X: 20, Y: first, Button: tea.MouseButtonRight}, {X: 20, Y: first, Button: tea.MouseButtonLeft, Action: tea.MouseActionRelease},
				{X: 20, Y: first, Button: tea.MouseButtonLeft, Action: tea.MouseActionMotion}, {X: 20, Y: first, Button: tea.MouseButtonNone, Action: tea.MouseActionMotion},
			} {
				if r := m.HandleMouse(e); r != nil || focusOf(m) != before || m.dialog != nil {
					t.Errorf("%v: %+v asks for %v and goes to %s", size, e, r, focusOf(m))
				}
			}
		}
	}
}

// The wheel is + and - on a part, and moves on a figure.
func TestTheWheelChangesThePartInFocus(t *testing.T) {
	for _, slot := range present.Slots {
		for _, up := range []bool{true, false} {
			turned, pressed := onSlot(benchOf(t, nil), slot), onSlot(benchOf(t, nil), slot)
			turned.focus(1)
			pressed.focus(1)
			key := map[bool]string{true: "+", false: "-"}[up]
			a, b := wheelOf(turned, up), press(pressed, key)
			if after(turned, a) != after(pressed, b) {
				t.Errorf("on %s the wheel does\n%s\nand %s\n%s", slot, after(turned, a), key, after(pressed, b))
			}
		}
	}
	m := benchOf(t, nil)
	before := m.Job().Encode()
	press(m, "end")
	wheelOf(m, true)
	if got := focusOf(m); got != "energy left of A" {
		t.Errorf("up from the cautions is %s", got)
	}
	if wheelOf(m, false); focusOf(m) != "cautions of A" {
		t.Errorf("down again is %s", focusOf(m))
	}
	kept(t, m, before, "after the wheel on figures")
}

// In a list each line that is drawn is the one that a click goes to, and a second
// click chooses it.
func TestAClickInAListGoesToTheLineDrawnThere(t *testing.T) {
	many := func(j *job.Job) { builds(3)(j) }
	for name, open := range map[string]func(m *Model){
		"shafts": func(m *Model) { press(onSlot(m, "shaft"), "enter") }, "heads": func(m *Model) { press(onSlot(m, "head"), "enter") },
		"shafts, scrolled": func(m *Model) {
			for i := range 40 {
				p := partOf(m.drawer, part.KindShaft)
				p.ID, p.Shaft.Value.Name = fmt.Sprint(i), fmt.Sprintf("Copy %d.", i)
				m.drawer = append(m.drawer, p)
			}
			press(onSlot(m, "shaft"), "enter", "pgdown", "pgdown")
		},
		"saved": func(m *Model) { showSaved(m, entries("Autumn", "Winter", "Spring")) },
		"saved, scrolled": func(m *Model) {
			var names []string
			for i := range 99 {
				names = append(names, fmt.Sprintf("Saved %d.", i))
			}
			showSaved(m, entries(names...))
			press(m, "end")
		},
		"actions": func(m *Model) { press(m, ":") }, "actions, scrolled": func(m *Model) { press(m, ":", "end") },
	} {
		for _, size := range clickSizes {
			m := benchOf(t, many)
			m.SetSize(size[0], size[1])
			open(m)
			m.Lines()
			wordsOf, at, goTo := listed(t, m)
			was := *at
			clicked := 0
			for y, line := range m.Lines() {
				// A line of the list begins with three cells and its words.
				i := slices.IndexFunc(wordsOf, func(w string) bool {
					return w != "" && strings.HasPrefix(line[min(3, len(line)):], w) || strings.HasPrefix(line, " ▸ "+w) && w != ""
				})
				if y < 4 || i < 0 || i == was {
					continue
				}
				goTo(was)
				m.Lines()
				if r := clickAt(m, 30, y); r != nil || *at != i {
					t.Fatalf("%s at %v: a click on %q goes to line %d, %q, want %d", name, size, line, *at, wordsOf[*at], i)
				}
				if !strings.Contains(screen(m), "\n ▸ "+strings.TrimRight(wordsOf[i], " ")) {
					t.Fatalf("%s at %v: after a click on %q the mark is elsewhere:\n%s", name, size, wordsOf[i], screen(m))
				}
				clicked++
			}
			if clicked < 2 {
				t.Errorf("%s at %v: only %d lines are found on screen:\n%s", name, size, clicked, screen(m))
			}
			// Above the lines nothing is chosen.
			for y := range 4 {
				goTo(was)
				if r := clickAt(m, 30, y); r != nil || *at != was || m.dialog == nil {
					t.Errorf("%s at %v: a click on line %d asks for %v and goes to %d", name, size, y, r, *at)
				}
			}
		}
	}
}

// listed returns the words of each line of the list that is open, and the line
// in focus.
func listed(t testing.TB, m *Model) (words []string, at *int, goTo func(i int)) {
	t.Helper()
	l := (*listing)(nil)
	switch d := m.dialog.(type) {
	case *picker:
		l = &d.listing
		for i := range d.found {
			line := d.line(m, &d.found[i], false, m.width)
			words = append(words, strings.TrimPrefix(line, "   "))
		}
	case *savedScreen:
		l = &d.listing
		for _, i := range d.found {
			words = append(words, d.all[i].Name+" ")
		}
	case *palette:
		l = &d.listing
		for _, a := range d.found {
			words = append(words, d.scope.Does(a)+" ")
		}
	default:
		t.Fatalf("%T is open", m.dialog)
	}
	offset := l.offset
	return words, &l.at, func(i int) { l.at, l.offset = i, offset }
}
