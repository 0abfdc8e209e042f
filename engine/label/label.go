// Package label cleans names and notes that come from outside, so that what is
// stored and shown can neither drive a terminal nor hide what it says.
package label

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// marksKept is how many combining marks a letter keeps. Two are enough for
// written languages; more only pile up over neighbouring lines.
const marksKept = 2

// Clean returns the text with nothing left in it that acts instead of being
// read: bytes that are not UTF-8 and C1 controls become U+FFFD, C0 controls
// become their control pictures, tabs and line ends become a space, format
// characters (bidirectional controls among them), variation selectors and
// letters that show nothing are dropped, and a letter keeps at most two
// combining marks. Leading and trailing space goes. Clean of a cleaned text is
// the same text.
func Clean(text string) string {
	if plain(text) {
		return strings.TrimSpace(text)
	}
	var b strings.Builder
	b.Grow(len(text))
	marks := 0
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		i += size
		switch {
		case r == utf8.RuneError && size == 1, r >= 0x80 && r <= 0x9f:
			r = unicode.ReplacementChar
		case r == '\r' && strings.HasPrefix(text[i:], "\n"):
			continue
		case r == '\t', r == '\n', r == '\r', r == '\u2028', r == '\u2029':
			r = ' '
		case r < 0x20:
			r += 0x2400
		case r == 0x7f:
			r = 0x2421
		case unicode.In(r, unicode.Cf, unicode.Co, unicode.Variation_Selector, unicode.Other_Default_Ignorable_Code_Point):
			continue
		case unicode.IsSpace(r):
			r = ' '
		}
		if r == ' ' && b.Len() == 0 {
			continue // a mark behind it would lead the text once it is trimmed
		}
		if unicode.In(r, unicode.Mn, unicode.Me) {
			if marks++; marks > marksKept || b.Len() == 0 {
				continue
			}
		} else {
			marks = 0
		}
		b.WriteRune(r)
	}
	return strings.TrimSpace(b.String())
}

// plain reports whether a text is printable ASCII, which is nearly every name.
func plain(text string) bool {
	for i := 0; i < len(text); i++ {
		if text[i] < 0x20 || text[i] > 0x7e {
			return false
		}
	}
	return true
}
