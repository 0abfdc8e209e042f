package bench

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/search"
)

var mapNumber = regexp.MustCompile(`\d+\.\d|–`)

// Wherever a number stands on the Swap map, a click there puts the focus on it: the
// line below names the pair with the same number, the row begins with the arrow.
// Only what has the focus already is put in.
func TestAClickOnTheSwapMapGoesToTheCellDrawnThere(t *testing.T) {
	for _, size := range clickSizes {
		for _, start := range [][]string{{}, {"end", "pgdown"}, {"r", "r", "c", "end"}} {
			m, s := onMap(t, nil)
			m.SetSize(size[0], size[1])
			press(m, start...)
			m.Lines()
			before, at, from := m.Job(), s.at, s.from
			clicked := 0
			for y, line := range m.Lines() {
				if y < 4 {
					continue
				}
				if strings.HasPrefix(line, "─") {
					break
				}
				places := mapNumber.FindAllStringIndex(line, -1)
				places = slices.DeleteFunc(places, func(p []int) bool { return len(cellsOf(line[:p[0]])) < s.drawn.label })
				for i, p := range places {
					s.at, s.from = at, from
					m.Lines()
					x := len(cellsOf(line[:p[0]]))
					want := search.Cell{Row: from.Row + y - 4, Column: from.Column + i}
					if want == at {
						continue
					}
					if q := clickAt(m, x, y); q != nil || s.at != want || m.Job() != before || m.dialog != s {
						t.Fatalf("%v after %q: a click at %d on %q goes to %v, want %v; it asks for %T", size, start, x, line, s.at, want, q)
					}
					clicked++
					if now := m.Lines(); !strings.HasPrefix(now[y], "▸") || !strings.Contains(strings.Replace(screen(m), ", as it is:", ":", 1), "▸ "+s.pair()+": total weight "+line[p[0]:p[1]]) {
						t.Fatalf("%v after %q: after a click on %q of %q:\n%s", size, start, line[p[0]:p[1]], line, screen(m))
					}
				}
			}
			if clicked < 7 { // of two nocks and four sets of vanes
				t.Errorf("%v after %q: only %d cells were clicked on:\n%s", size, start, clicked, screen(m))
			}
			// Around the cells there is nothing to go to.
			s.at, s.from = at, from
			lines := m.Lines()
			for y := range lines {
				for _, x := range []int{0, s.drawn.label - 1, size[0] - 1} {
					if y >= 4 && x >= s.drawn.label && y < 4+s.drawn.rows && (x-s.drawn.label)/s.drawn.cell < s.drawn.columns {
						continue
					}
					if clickAt(m, x, y); s.at != at || m.Job() != before {
						t.Fatalf("%v after %q: a click at %d,%d goes to %v", size, start, x, y, s.at)
					}
				}
			}
		}
	}
	m, s := onMap(t, nil)
	m.Lines()
	want := s.table.Build(search.Cell{Row: 2, Column: 4})
	x, y := s.drawn.label+4*s.drawn.cell+3, 4+2
	clickAt(m, x, y)
	if r := clickAt(m, x, y); !m.Job().Builds[0].SamePieces(&want) || m.dialog != s {
		t.Errorf("a second click asks for %T and leaves %+v", r, m.Job().Builds[0].Insert.Value)
	}
}

// The wheel moves up and down, and changes nothing.
func TestTheWheelMovesOnTheSwapMap(t *testing.T) {
	m, s := onMap(t, nil)
	before := m.Job().Encode()
	for range 3 {
		wheelOf(m, false)
	}
	if s.at.Row != 3 {
		t.Errorf("three turns down lead to row %d", s.at.Row)
	}
	for range 9 {
		wheelOf(m, true)
	}
	if s.at.Row != 0 || m.dialog != s {
		t.Errorf("turned up to the end row %d has the focus in %T", s.at.Row, m.dialog)
	}
	kept(t, m, before, "after the wheel")
}
