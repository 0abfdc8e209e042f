package bench

import (
	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/ui/frame"
	"foreshaft/ui/keys"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// listing is what lists that are filtered by typing have in common: where they are, and
// the filter.
type listing struct {
	cursor
	input input
}

// cursor is where a list is: the line in focus and the first line in sight.
type cursor struct {
	at, offset int
	window     int // how many lines were in sight
}

// pageStep is how many lines a page key moves.
const pageStep = 10

// move does the actions that move through n lines and reports whether it was one.
func (l *cursor) move(a keys.Action, n int) bool {
	by := 0
	switch a {
	case keys.Up:
		by = -1
	case keys.Down:
		by = 1
	case keys.PageUp:
		by = -pageStep
	case keys.PageDown:
		by = pageStep
	case keys.First:
		by = -n
	case keys.Last:
		by = n
	default:
		return false
	}
	l.at = max(min(l.at+by, n-1), 0)
	return true
}

// seen returns the lines of n that a window of that height shows, the one in
// focus among them.
func (l *cursor) seen(window, n int) (from, to int) {
	l.window = max(window, 0)
	l.offset = frame.Scroll(l.offset, l.at, window, n)
	return l.offset, min(l.offset+window, n)
}

// typed gives a key to the filter and reports whether that changed it.
func (l *listing) typed(k tea.KeyMsg) bool {
	before := l.input.Value()
	typed(&l.input, k)
	return l.input.Value() != before
}

// top draws what stands above the lines: a title, the filter and the heads of
// the columns.
func (l *listing) top(t *theme.Theme, w int, title, heads string) []string {
	return []string{
		t.Paint(theme.Heading, text.Pad(title, w)),
		" " + t.Paint(theme.Label, "Filter ") + field(t, &l.input, min(w-9, 40)),
		t.Paint(theme.Quiet, text.Pad("   "+heads, w)),
	}
}
