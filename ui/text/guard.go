package text

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Guard returns a line without anything in it that acts on a terminal or takes no
// room: control characters, bidirectional and other format characters, and escape
// sequences other than the program's own colours. What it drops takes no cell, so
// the line keeps its width.
//
// Names are cleaned where they come in. This is the second look, at what leaves.
func Guard(line string) string {
	for i := 0; i < len(line); {
		skip := harmless(line[i:])
		if skip == 0 {
			return guarded(line, i)
		}
		i += skip
	}
	return line
}

// guarded is Guard for a line whose first harm is at a place.
func guarded(line string, first int) string {
	var out strings.Builder
	out.WriteString(line[:first])
	for i := first; i < len(line); {
		if skip := harmless(line[i:]); skip > 0 {
			out.WriteString(line[i : i+skip])
			i += skip
			continue
		}
		_, size := utf8.DecodeRuneInString(line[i:])
		i += size
	}
	return out.String()
}

// harmless returns the length of the character or colour sequence that a text
// begins with, and 0 when it must not reach a terminal.
func harmless(s string) int {
	if s[0] >= ' ' && s[0] <= '~' {
		return 1
	}
	if s[0] < utf8.RuneSelf {
		return colour(s)
	}
	r, size := utf8.DecodeRuneInString(s)
	if r == utf8.RuneError && size == 1 || r <= 0x9f || unicode.Is(unicode.Cf, r) || r == '\u2028' || r == '\u2029' {
		return 0
	}
	return size
}
