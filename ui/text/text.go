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
	"unicode/utf8"

	"github.com/charmbracelet/x/ansi"
)

// Ellipsis is the character that stands for what Cut left out.
const Ellipsis = "…"

// Width returns how many cells s takes.
func Width(s string) int {
	cells := 0
	for i := 0; i < len(s); {
		if skip := colour(s[i:]); skip > 0 {
			i += skip
			continue
		}
		r, size := utf8.DecodeRuneInString(s[i:])
		if int(r) >= len(oneCell) || !oneCell[r] {
			return ansi.StringWidth(s)
		}
		cells++
		i += size
	}
	return cells
}

// signs are those that the program itself draws with. Together with ASCII they
// are nearly everything on a screen, and measuring them letter by letter took a
// third of the time of a frame. Each takes one cell whatever stands around it:
// what would combine with it is not among them and is left to the library.
const signs = "─═▲▷►■≡●◆▸▏±·−×°…→²–•│┤┼╭╮╯╰┌┐└┘"

// oneCell has those signs and the printable letters of ASCII, by their numbers.
var oneCell = func() (out [0x2600]bool) {
	for r := ' '; r <= '~'; r++ {
		out[r] = true
	}
	for _, r := range signs {
		out[r] = true
	}
	return out
}()

// colour returns the length of the colour sequence that a text begins with.
func colour(s string) int {
	if len(s) < 3 || s[0] != '\x1b' || s[1] != '[' {
		return 0
	}
	i := 2
	for i < len(s) && (s[i] >= '0' && s[i] <= '9' || s[i] == ';') {
		i++
	}
	if i < len(s) && s[i] == 'm' {
		return i + 1
	}
	return 0
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
