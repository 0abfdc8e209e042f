package bench

import (
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// cellsOf returns a line as its cells: none of those that are clicked on here
// holds a wide character.
func cellsOf(line string) []rune { return []rune(line) }

// A click where a distance and a build cross goes there, and one on what has the
// focus types the distance, as Enter does.
func TestAClickOnTheDownrangeScreenGoesToTheCellDrawnThere(t *testing.T) {
	for _, size := range clickSizes {
		for _, n := range []int{5, 30} {
			m, r := onRange(t, func(j *job.Job) { builds(9)(j); distances(n)(j) })
			m.SetSize(size[0], size[1])
			press(m, "home", "down", "down", "down", "right", "right")
			press(m, slices.Repeat([]string{"down"}, n/2)...)
			before := m.Job().Encode()
			lines := m.Lines()
			columns, was, col, distance := frameColumns(m), *r, m.col, m.distance
			at, clicked := r.at, 0
			for y, line := range lines {
				i := slices.IndexFunc(m.Job().DistancesOrDefault(), func(d unit.Length) bool {
					return strings.HasPrefix(strings.TrimLeft(line, "▸ "), m.units().Distance(d, 4)+" ")
				})
				for _, c := range columns {
					for _, x := range []int{c[1], c[1] + c[2] - 1} {
						*r, m.col, m.distance = was, col, distance
						r.drawn, r.spans = slices.Clone(was.drawn), slices.Clone(was.spans)
						q := clickAt(m, x, y)
						switch {
						case q != nil:
							t.Fatalf("%v: a click at %d,%d asks for %+v", size, x, y, q)
						case i < 0 && y != 1:
							if r.at != at || m.col != col || m.dialog != r {
								t.Fatalf("%v: a click at %d on %q goes to %d of %d and opens %T", size, x, line, r.at, m.col, m.dialog)
							}
						case i >= 0 && (r.at != i+1 || m.col != c[0]):
							t.Fatalf("%v: a click at %d on %q goes to %d of %d, want %d of %d", size, x, line, r.at, m.col, i+1, c[0])
						case i >= 0:
							clicked++
							again := i+1 == at && c[0] == col
							if m.Typing() != again || again && typedText(t, m) != strings.TrimSuffix(m.units().Distance(m.Job().DistancesOrDefault()[i], 4), " yd") {
								t.Fatalf("%v: a click at %d on %q opens %T", size, x, line, m.dialog)
							}
							if again {
								press(m, "esc")
							} else if clicked%3 > 0 {
								break // drawing takes its time
							} else if got := cellsOf(m.Lines()[y]); !slices.ContainsFunc(frameColumns(m), func(now [3]int) bool { return now[0] == c[0] && got[now[1]] == '[' }) {
								t.Fatalf("%v: after a click at %d on %q the brackets are elsewhere: %q", size, x, line, string(got))
							}
						}
					}
				}
			}
			if clicked < 2*3*min(n, 8) {
				t.Errorf("%v, %d distances: only %d cells are on screen:\n%s", size, n, clicked, screen(m))
			}
			kept(t, m, before, "after clicks")
		}
	}
}

// frameColumns reads off the screen which build stands where: its number, first
// cell and width.
func frameColumns(m *Model) (out [][3]int) {
	line := m.Lines()[2]
	for _, h := range columnHead.FindAllStringIndex(line, -1) {
		letter := strings.Trim(strings.Fields(line[h[0]:h[1]])[0], "◆▸")
		out = append(out, [3]int{int(letter[0] - 'A'), len(cellsOf(line[:h[0]])), 0})
	}
	for i := range out {
		out[i][2] = min((m.width-15)/len(out), 36)
	}
	return out
}

// A click on a condition goes to it, one on that in focus types it or opens the
// sight, wherever they stand on their line.
func TestAClickOnAConditionGoesToIt(t *testing.T) {
	for _, size := range clickSizes {
		for _, change := range []func(j *job.Job){nil, longConditions, noSight} {
			for start := -1; start <= sightItem; start++ { // −1 is a distance
				open := func() (*Model, *rangeScreen, string) {
					m, r := onRange(t, change)
					m.SetSize(size[0], size[1])
					if start >= 0 {
						press(m, append([]string{"home"}, slices.Repeat([]string{"right"}, start)...)...)
					}
					return m, r, m.Lines()[1]
				}
				clicked := 0
				for i := range sightItem + 1 {
					m, r, line := open()
					words := sightTold(m.Job())
					if i < sightItem {
						words = conditions[i].told(m)
					}
					at := strings.Index(line, words)
					if at < 0 {
						continue // it has to make room for the one in focus
					}
					clicked++
					q := clickAt(m, len(cellsOf(line[:at])), 1)
					_, sight := m.dialog.(*form[job.Sight])
					if again := i == start; q != nil || r.at != 0 || r.item != i || m.Typing() != (again && i < sightItem) || sight != (again && i == sightItem) {
						t.Fatalf("%v: a click on %q of %q goes to condition %d and opens %T", size, words, line, r.item, m.dialog)
					}
					if i != start && !strings.Contains(m.Lines()[1], "["+words+"]") {
						t.Fatalf("%v: a click on %q leaves %q", size, words, m.Lines()[1])
					}
				}
				if clicked < 2 {
					t.Errorf("%v from %d: only %d conditions are in sight", size, start, clicked)
				}
			}
		}
	}
	// Behind the last one there is nothing to go to.
	m, r := onRange(t, nil)
	press(m, "home", "right")
	m.Lines()
	if q := clickAt(m, 119, 1); q != nil || r.item != 1 || m.dialog != r {
		t.Errorf("a click behind the conditions goes to %d and opens %T", r.item, m.dialog)
	}
}

// The wheel moves, and changes nothing.
func TestTheWheelMovesOnTheDownrangeScreen(t *testing.T) {
	m, r := onRange(t, nil)
	before := m.Job().Encode()
	for i, want := range []int{4, 3, 2, 1, 0, 0} {
		if wheelOf(m, true); r.at != want {
			t.Errorf("after %d turns up line %d has the focus, want %d", i+1, r.at, want)
		}
	}
	for range 9 {
		wheelOf(m, false)
	}
	if r.at != 5 || m.dialog != r {
		t.Errorf("turned down to the end line %d has the focus in %T", r.at, m.dialog)
	}
	kept(t, m, before, "after the wheel")
	// While something is typed it does nothing.
	press(m, "enter")
	at := screen(m)
	wheelOf(m, true)
	if q := m.HandleMouse(tea.MouseMsg{X: 3, Y: 5, Action: tea.MouseActionPress, Button: tea.MouseButtonLeft}); q != nil || screen(m) != at {
		t.Errorf("while typing a click asks for %+v and shows\n%s", q, screen(m))
	}
}
