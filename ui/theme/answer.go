package theme

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// The two answers AskBackground waits for. Typed keys may stand before,
// between and after them.
var (
	// colourAnswer is the reply to OSC 11: one to four hexadecimal digits for
	// each part, ended by BEL or by ST.
	colourAnswer = regexp.MustCompile(
		`\x1b\]11;rgba?:([0-9A-Fa-f]{1,4})/([0-9A-Fa-f]{1,4})/([0-9A-Fa-f]{1,4})(?:/[0-9A-Fa-f]{1,4})?(?:\a|\x1b\\)`)
	// attributesAnswer is the reply to DA1, which every terminal gives.
	attributesAnswer = regexp.MustCompile(`\x1b\[\?[0-9;]*c`)
)

// parseAnswer reads what the terminal has sent so far. It reports whether the
// background colour is among it and then whether that colour is dark, and
// whether the terminal has answered both questions or has answered the second
// one, which means that no answer to the first will come.
func parseAnswer(sent []byte) (dark, found, complete bool) {
	complete = attributesAnswer.Match(sent)
	parts := colourAnswer.FindSubmatch(sent)
	if parts == nil {
		return false, false, complete
	}
	return isDark(fraction(parts[1]), fraction(parts[2]), fraction(parts[3])), true, complete
}

// Question asks a terminal for its background, for a program that goes on meanwhile: the
// answer comes as if it were typed, and Answer reads it.
const Question = "\x1b]11;?\x1b\\"

// Answer reads the answer to Question; found is false where it is none.
func Answer(sent string) (dark, found bool) {
	dark, found, _ = parseAnswer([]byte(sent))
	return dark, found
}

// Hint returns whether a terminal is dark as far as its COLORFGBG says, true where that says
// nothing.
func Hint(colorfgbg string) (dark bool) { return hintedDark(colorfgbg) }

// Asked reports whether a terminal of that TERM may be asked.
func Asked(term string) bool { return passesQuestions(term) }

// fraction returns the value, from 0 to 1, of one to four hexadecimal digits
// of which the highest number means full strength.
func fraction(digits []byte) float64 {
	// The caller's expression lets only digits through, so nothing can fail.
	v, _ := strconv.ParseUint(string(digits), 16, 16)
	return float64(v) / (math.Pow(16, float64(len(digits))) - 1)
}

// hintedDark reads COLORFGBG, in which some terminals leave the indexes of
// their text and background colours ("15;0", sometimes with a third part
// between). Without a usable value the answer is dark, as most terminals are.
func hintedDark(value string) bool {
	index, err := strconv.Atoi(value[strings.LastIndexByte(value, ';')+1:])
	if err != nil || index < 0 || index > 15 {
		return true
	}
	// Of the 16 colours, the greys 7 and 15 and the bright ones from 9 on are
	// light; 8 is dark grey.
	return index != 7 && index < 9
}

// passesQuestions reports whether a terminal of this TERM takes the question
// without harm and has a chance to answer it.
func passesQuestions(term string) bool {
	switch {
	case term == "", term == "dumb", term == "linux":
		return false
	case strings.HasPrefix(term, "screen"):
		// A multiplexer with several terminals attached has no one background
		// colour and does not pass the question on.
		return false
	}
	return true
}
