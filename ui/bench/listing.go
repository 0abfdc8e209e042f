package bench

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/ui/frame"
	"foreshaft/ui/keys"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// listing is what lists that are filtered by typing have in common: the line in
// focus, the first line in sight and the filter.
type listing struct {
	at, offset int
	input      input
}

// pageStep is how many lines a page key moves.
const pageStep = 10

// move takes the keys that move through n lines and reports whether it was one.
func (l *listing) move(b *keys.List, k tea.KeyMsg, n int) bool {
	by := 0
	switch {
	case key.Matches(k, b.Up):
		by = -1
	case key.Matches(k, b.Down):
		by = 1
	case key.Matches(k, b.PageUp):
		by = -pageStep
	case key.Matches(k, b.PageDown):
		by = pageStep
	default:
		return false
	}
	l.at = max(min(l.at+by, n-1), 0)
	return true
}

// seen returns the lines of n that a window of that height shows, the one in
// focus among them.
func (l *listing) seen(window, n int) (from, to int) {
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
