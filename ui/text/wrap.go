package text

import (
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// Wrap breaks plain text into lines of at most w cells, at spaces where it can
// and inside a word only when the word alone is longer than a line. Runs of
// spaces become one, line ends in s are kept, and a no-break space holds its
// words together. The empty string gives one empty line, and a width below one
// no lines. Wrap is for unpainted text: a colour would run on into the next
// line.
//
// The library's own wrapping always breaks after a hyphen, which would part a
// sign from its number.
func Wrap(s string, w int) []string {
	if w < 1 {
		return nil
	}
	var lines []string
	for paragraph := range strings.SplitSeq(s, "\n") {
		lines = append(lines, wrapParagraph(paragraph, w)...)
	}
	return lines
}

// wrapParagraph wraps text without line ends and returns at least one line.
func wrapParagraph(s string, w int) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsFuncSeq(s, func(r rune) bool { return r == ' ' }) {
		if line != "" {
			if joined := line + " " + word; Width(joined) <= w {
				line = joined
				continue
			}
			lines = append(lines, line)
		}
		pieces := breakWord(word, w)
		last := len(pieces) - 1
		lines = append(lines, pieces[:last]...)
		line = pieces[last]
	}
	return append(lines, line)
}

// breakWord returns word in pieces of at most w cells, at least one. A wide
// character that does not fit in w cells even alone becomes an ellipsis.
func breakWord(word string, w int) []string {
	if Width(word) <= w {
		return []string{word}
	}
	var pieces []string
	piece, used := "", 0
	for word != "" {
		cluster, cells := ansi.FirstGraphemeCluster(word, ansi.GraphemeWidth)
		word = word[len(cluster):]
		if cells > w {
			cluster, cells = Ellipsis, 1
		}
		if used+cells > w {
			pieces = append(pieces, piece)
			piece, used = "", 0
		}
		piece += cluster
		used += cells
	}
	return append(pieces, piece)
}
