// Package text measures, cuts and pads strings by terminal cells.
//
// A cell is one column of the terminal: most characters take one, East Asian
// wide characters two, combining marks none, and escape sequences none. A
// width is never a number of bytes or of characters.
//
// Characters whose width Unicode calls ambiguous, such as ± ─ │ ½ ▲ ◆, count
// one cell whatever the locale says.
//
// The functions take one line of text (Wrap alone takes several) in which
// control characters appear only as complete escape sequences. Names that come
// from outside are cleaned before they are stored and again before they are
// shown, so nothing else gets here.
//
// The package knows no terminal framework.
package text

import (
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// Ellipsis is the character that stands for what Cut left out.
const Ellipsis = "…"

// Width returns how many cells s takes.
func Width(s string) int {
	for i := 0; i < len(s); i++ {
		if s[i] < ' ' || s[i] > '~' {
			return ansi.StringWidth(s)
		}
	}
	return len(s)
}

// Cut returns s when it fits in w cells, and otherwise its beginning and an
// ellipsis in at most w cells. The result can be one cell shorter than w where
// a wide character would have been split. Escape sequences after the cut are
// kept, so a painted string still ends with its reset. A width below one gives
// the empty string.
func Cut(s string, w int) string {
	if w < 1 {
		return ""
	}
	if Width(s) <= w {
		return s
	}
	// The library counts some character clusters differently when it cuts and
	// when it measures; measuring has the last word.
	for limit := w; limit > 0; limit-- {
		if cut := ansi.Truncate(s, limit, Ellipsis); Width(cut) <= w {
			return cut
		}
	}
	return Ellipsis
}

// Pad returns s at the left of exactly w cells, cut when it is longer. A width
// below one gives the empty string.
func Pad(s string, w int) string {
	s = Cut(s, w)
	return s + blank(w-Width(s))
}

// PadLeft returns s at the right of exactly w cells, cut when it is longer. A
// width below one gives the empty string.
func PadLeft(s string, w int) string {
	s = Cut(s, w)
	return blank(w-Width(s)) + s
}

// Center returns s in the middle of exactly w cells, cut when it is longer. An
// odd cell left over goes to the right. A width below one gives the empty
// string.
func Center(s string, w int) string {
	s = Cut(s, w)
	spare := max(w-Width(s), 0)
	return blank(spare/2) + s + blank(spare-spare/2)
}

// Block returns exactly h lines of exactly w cells: the given lines padded or
// cut, further ones dropped, missing ones blank. A height below one gives no
// lines.
func Block(lines []string, w, h int) []string {
	h = max(h, 0)
	block := make([]string, h)
	for i := range block {
		if i < len(lines) {
			block[i] = Pad(lines[i], w)
		} else {
			block[i] = blank(w)
		}
	}
	return block
}

// blank returns n spaces, none for a negative n.
func blank(n int) string {
	return strings.Repeat(" ", max(n, 0))
}
