package label_test

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"foreshaft/engine/label"
)

func TestClean(t *testing.T) {
	cases := []struct{ name, text, want string }{
		{"plain", "Target 29.5", "Target 29.5"},
		{"plain with blanks around", "  Target ", "Target"},
		{"letters of other alphabets", "Zoë Łukasz 矢 стрела", "Zoë Łukasz 矢 стрела"},
		{"typographic marks", "29½″ – “stiff” ± 2 °C", "29½″ – “stiff” ± 2 °C"},
		{"invalid UTF-8", "a\xffb\xc3", "a\ufffdb\ufffd"},
		{"overlong encoding", "a\xc0\xafb", "a\ufffd\ufffdb"},
		{"surrogate half", "a\xed\xa0\x80b", "a\ufffd\ufffd\ufffdb"},
		{"null", "a\x00b", "a␀b"},
		{"bell", "a\ab", "a␇b"},
		{"delete", "a\x7fb", "a␡b"},
		{"colour sequence", "\x1b[31mred\x1b[0m", "␛[31mred␛[0m"},
		{"window title", "\x1b]0;gotcha\x07x", "␛]0;gotcha␇x"},
		{"C1 introducer as a rune", "a\u009b31mb", "a\ufffd31mb"},
		{"C1 introducer as a byte", "a\x9b31mb", "a\ufffd31mb"},
		{"next line", "a\u0085b", "a\ufffdb"},
		{"tab", "a\tb", "a b"},
		{"Unix line end", "a\nb", "a b"},
		{"DOS line end is one space", "a\r\nb", "a b"},
		{"old line end", "a\rb", "a b"},
		{"line separator", "a\u2028b\u2029c", "a b c"},
		{"no-break and wide spaces", "a\u00a0b\u3000c", "a b c"},
		{"right-to-left override", "abc\u202Egpj.exe", "abcgpj.exe"},
		{"isolates and marks", "a\u2066b\u2069\u200f\u061cc", "abc"},
		{"zero width", "a\u200bb\u200cc\u200dd\u2060e\ufefff", "abcdef"},
		{"soft hyphen", "arrow\u00adhead", "arrowhead"},
		{"variation selectors", "a\ufe0fb\U000e0101c", "abc"},
		{"tag characters", "a\U000e0041\U000e0062b", "ab"},
		{"private use", "a\ue000b\U000f0000c", "abc"},
		{"letters nobody sees", "a\u3164b\u115fc\uffa0d", "abcd"},
		{"accent", "e\u0301", "e\u0301"},
		{"two marks stay", "a\u0323\u0302", "a\u0323\u0302"},
		{"piled marks", "a" + strings.Repeat("\u0301", 50) + "b", "a\u0301\u0301b"},
		{"enclosing marks count too", "a\u20dd\u20dd\u20ddb", "a\u20dd\u20ddb"},
		{"marks piled around a zero width", "a\u0301\u200b\u0301\u0301b", "a\u0301\u0301b"},
		{"mark without a letter", "\u0301a", "a"},
		{"mark behind a leading blank", " \u0301a", "a"},
		{"only dropped characters", "\u200b\u202e\u0301", ""},
		{"empty", "", ""},
		{"leading control shows", "\x1b", "␛"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := label.Clean(c.text); got != c.want {
				t.Errorf("Clean(%q) = %q, want %q", c.text, got, c.want)
			}
		})
	}
}

// wanting returns why a cleaned text is not clean, and "" when it is.
func wanting(clean string) string {
	if !utf8.ValidString(clean) {
		return "is not UTF-8"
	}
	marks := 0
	for _, r := range clean {
		switch {
		case unicode.IsControl(r):
			return "holds a control character"
		case unicode.Is(unicode.Cf, r), unicode.Is(unicode.Zl, r), unicode.Is(unicode.Zp, r):
			return "holds a format character"
		case unicode.Is(unicode.Variation_Selector, r), unicode.Is(unicode.Co, r):
			return "holds what no font agrees on"
		case unicode.Is(unicode.Other_Default_Ignorable_Code_Point, r):
			return "holds a character that nobody sees"
		case r != ' ' && unicode.IsSpace(r):
			return "holds a space other than the plain one"
		}
		if unicode.In(r, unicode.Mn, unicode.Me) {
			marks++
		} else {
			marks = 0
		}
		if marks > 2 {
			return "piles up marks"
		}
	}
	switch {
	case strings.TrimSpace(clean) != clean:
		return "has space around it"
	case label.Clean(clean) != clean:
		return "changes when it is cleaned again"
	}
	return ""
}

// nasty draws the runes that matter, beside any others.
func nasty() *rapid.Generator[rune] {
	return rapid.OneOf(
		rapid.SampledFrom([]rune(" \t\r\n\x00\x1b\x7f\u0085\u009b\u00a0\u00ad\u0301\u0302\u20dd\u200b\u200d\u2028\u202e\u2066\u3164\ufe0f\ufeff\ufffd\U000e0041a1")),
		rapid.Rune(),
	)
}

func TestCleanIsClean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := string(rapid.SliceOf(nasty()).Draw(t, "runes"))
		if cut := rapid.IntRange(0, len(text)).Draw(t, "cut"); rapid.Bool().Draw(t, "broken") {
			text = text[cut:] // through the middle of a rune, at times
		}
		if why := wanting(label.Clean(text)); why != "" {
			t.Fatalf("Clean(%q) = %q: %s", text, label.Clean(text), why)
		}
	})
}

func TestCleanKeepsEveryPrintableRuneOnce(t *testing.T) {
	for r := rune(0x20); r <= unicode.MaxRune; r++ {
		if !unicode.In(r, unicode.L, unicode.N, unicode.P, unicode.S) || unicode.Is(unicode.Other_Default_Ignorable_Code_Point, r) {
			continue
		}
		if got := label.Clean(string(r)); got != string(r) {
			t.Errorf("Clean(%q) = %q", string(r), got)
		}
	}
}

func FuzzClean(f *testing.F) {
	for _, text := range []string{"plain", " \u0301a", "\x1b[31m", "a\r\nb", "\xff\xfe", "a\u202eb", "e\u0301\u0302\u0303", "\u200b \u0301"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if why := wanting(label.Clean(text)); why != "" {
			t.Fatalf("Clean(%q) = %q: %s", text, label.Clean(text), why)
		}
	})
}
