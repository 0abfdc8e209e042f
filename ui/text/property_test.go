package text

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const reset = "\x1b[0m"

// pieces are what a line on the screen is made of.
var pieces = []string{
	"a", "Z", "9", " ", "-", "~", "±", "─", "½", "◆", "…", "é",
	"日", "本", "字", "한", "Ａ",
	"e\u0301", "o\u0308\u0304", "\u0301", "\u00a0",
	"\x1b[1m", "\x1b[38;5;208m", "\x1b[38;2;10;20;30;48;5;17m", reset,
	"\x1b]8;;https://example.org\x1b\\", "\x1b]8;;\a",
}

// line draws one line in which escapes, wide characters and combining marks
// are mixed in any order.
func line() *rapid.Generator[string] {
	return rapid.Map(rapid.SliceOfN(rapid.SampledFrom(pieces), 0, 30), func(parts []string) string {
		return strings.Join(parts, "")
	})
}

// plain draws one line without escapes.
func plain() *rapid.Generator[string] {
	return rapid.Map(line(), func(s string) string {
		for _, p := range pieces {
			if p[0] == '\x1b' {
				s = strings.ReplaceAll(s, p, "")
			}
		}
		return s
	})
}

func cells() *rapid.Generator[int] { return rapid.IntRange(-2, 40) }

func TestPropertyPlacedTextIsExactlyAsWideAsAsked(t *testing.T) {
	for name, place := range map[string]func(string, int) string{
		"Pad": Pad, "PadLeft": PadLeft, "Center": Center,
	} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				s, w := line().Draw(t, "s"), cells().Draw(t, "w")
				if got := place(s, w); Width(got) != max(w, 0) {
					t.Fatalf("%q is %d cells wide, want %d", got, Width(got), max(w, 0))
				}
			})
		})
	}
}

func TestPropertyCutFitsAndChangesNothingThatFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, w := line().Draw(t, "s"), cells().Draw(t, "w")
		got := Cut(s, w)
		switch whole := Width(s); {
		case w < 1:
			if got != "" {
				t.Fatalf("%q, want nothing", got)
			}
		case whole <= w:
			if got != s {
				t.Fatalf("%q, want it unchanged", got)
			}
		default:
			// One cell may be missing where a wide character would be split.
			if n := Width(got); n > w || n < w-1 {
				t.Fatalf("%q is %d cells wide, want %d or one less", got, n, w)
			}
			if !strings.Contains(got, Ellipsis) {
				t.Fatalf("%q does not say that it was cut", got)
			}
		}
	})
}

func TestPropertyCutKeepsEveryEscape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := "\x1b[1m" + line().Draw(t, "s") + reset
		w := rapid.IntRange(1, 40).Draw(t, "w")
		got := Cut(s, w)
		if strings.Count(got, "\x1b[") != strings.Count(s, "\x1b[") {
			t.Fatalf("%q lost an escape of %q", got, s)
		}
		if !strings.HasSuffix(got, reset) {
			t.Fatalf("%q does not end with its reset", got)
		}
	})
}

func TestPropertyArbitraryTextIsNeverTooWide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, w := rapid.String().Draw(t, "s"), cells().Draw(t, "w")
		if got := Cut(s, w); Width(got) > max(w, 0) {
			t.Fatalf("%q is %d cells wide, want at most %d", got, Width(got), w)
		}
	})
}

func TestPropertyBlockIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lines := rapid.SliceOfN(line(), 0, 8).Draw(t, "lines")
		w, h := cells().Draw(t, "w"), rapid.IntRange(-2, 12).Draw(t, "h")
		block := Block(lines, w, h)
		if len(block) != max(h, 0) {
			t.Fatalf("%d lines, want %d", len(block), max(h, 0))
		}
		for i, got := range block {
			if Width(got) != max(w, 0) {
				t.Fatalf("line %d %q is %d cells wide, want %d", i, got, Width(got), max(w, 0))
			}
		}
	})
}

func TestPropertyWrapFitsAndLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := plain().Draw(t, "s")
		// Two cells hold every character drawn here.
		w := rapid.IntRange(2, 40).Draw(t, "w")
		lines := Wrap(s, w)
		if len(lines) == 0 {
			t.Fatal("no lines")
		}
		for _, got := range lines {
			if Width(got) > w {
				t.Fatalf("line %q is %d cells wide, want at most %d", got, Width(got), w)
			}
		}
		blanks := strings.NewReplacer(" ", "")
		if got, want := blanks.Replace(strings.Join(lines, "")), blanks.Replace(s); got != want {
			t.Fatalf("kept %q, want %q", got, want)
		}
	})
}
