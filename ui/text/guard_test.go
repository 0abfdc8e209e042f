package text

import (
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"
)

func TestGuardDropsWhatActsOnATerminal(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"Autumn ± 2 ▲ 矢 é", "Autumn ± 2 ▲ 矢 é"},
		{"\x1b[1;31mred\x1b[0m", "\x1b[1;31mred\x1b[0m"}, // the program's own colours
		{"a\x1b]52;c;QUJD\x07b", "a]52;c;QUJDb"},
		{"a\x1b[2Jb\x1b[Hc", "a[2Jb[Hc"},
		{"a\x1b[31", "a[31"},
		{"a\u009b31mb\u0085", "a31mb"},
		{"a\rb\nc\td\x00\x7f", "abcd"},
		{"abc\u202edef\u2066\u200f", "abcdef"},
		{"a\u2028b\ufeffc\u00add", "abcd"},
		{"bad \xff\xc3 bytes", "bad  bytes"},
		{"", ""},
	} {
		if got := Guard(c.in); got != c.want {
			t.Errorf("%q becomes %q, want %q", c.in, got, c.want)
		}
	}
}

func TestWhatIsGuardedIsHarmless(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		line := rapid.String().Draw(t, "line") + rapid.SampledFrom([]string{"", "\x1b[31mred\x1b[0m", "\x1b]0;title\a", "\u202e", "\u009b2J"}).Draw(t, "tail")
		got := Guard(line)
		if Guard(got) != got {
			t.Fatalf("%q is guarded to %q, and that to %q", line, got, Guard(got))
		}
		rest := got
		for rest != "" {
			if skip := colour(rest); skip > 0 {
				rest = rest[skip:]
				continue
			}
			for i, r := range rest {
				if r == '\x1b' && i > 0 {
					rest = rest[i:]
					break
				}
				if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
					t.Fatalf("%q is guarded to %q, which has %U in it", line, got, r)
				}
				if i+len(string(r)) >= len(rest) {
					rest = ""
				}
			}
		}
		if strings.TrimFunc(line, func(r rune) bool { return r >= ' ' && r <= '~' }) == "" && got != line {
			t.Fatalf("plain %q became %q", line, got)
		}
	})
}

func BenchmarkGuard(b *testing.B) {
	line := strings.Repeat("\x1b[38;2;1;2;3m total weight  ●428.0 ± 0.8 gr \x1b[0m", 5)
	for b.Loop() {
		Guard(line)
	}
}
