package theme

import (
	"math"
	"testing"
)

func TestParseAnswer(t *testing.T) {
	const attributes = "\x1b[?62;22c"
	for _, c := range []struct {
		name                  string
		sent                  string
		dark, found, complete bool
	}{
		{"nothing", "", false, false, false},
		{"four digits, ST, dark", "\x1b]11;rgb:1e1e/1e1e/1e1e\x1b\\", true, true, false},
		{"four digits, BEL, light", "\x1b]11;rgb:f4f4/f1f1/eaea\a", false, true, false},
		{"two digits, BEL, dark", "\x1b]11;rgb:10/14/18\a", true, true, false},
		{"two digits, ST, light", "\x1b]11;rgb:ff/ff/ff\x1b\\", false, true, false},
		{"one digit, light", "\x1b]11;rgb:f/f/f\a", false, true, false},
		{"three digits, dark", "\x1b]11;rgb:111/111/111\a", true, true, false},
		{"small 16-bit values are dark", "\x1b]11;rgb:00ff/00ff/00ff\a", true, true, false},
		{"with opacity", "\x1b]11;rgba:ffff/ffff/ffff/8000\a", false, true, false},
		{"strong green is light", "\x1b]11;rgb:0000/ffff/0000\a", false, true, false},
		{"strong blue is dark", "\x1b]11;rgb:0000/0000/ffff\a", true, true, false},
		{"both answers", "\x1b]11;rgb:0000/0000/0000\x1b\\" + attributes, true, true, true},
		{"attributes only", attributes, false, false, true},
		{"attributes without parts", "\x1b[?6c", false, false, true},
		{"among typed keys", "jj\x1b[A\x1b]11;rgb:00/00/00\aq" + attributes, true, true, true},
		{"not ended", "\x1b]11;rgb:0000/0000/0000", false, false, false},
		{"another colour", "\x1b]10;rgb:0000/0000/0000\a", false, false, false},
		{"five digits", "\x1b]11;rgb:00000/0000/0000\a", false, false, false},
		{"no digits", "\x1b]11;rgb:zz/00/00\a", false, false, false},
		{"two parts", "\x1b]11;rgb:00/00\a", false, false, false},
		{"an arrow key is no attributes", "\x1b[C\x1b[c", false, false, false},
	} {
		dark, found, complete := parseAnswer([]byte(c.sent))
		if dark != c.dark || found != c.found || complete != c.complete {
			t.Errorf("%s: dark %t found %t complete %t, want %t %t %t",
				c.name, dark, found, complete, c.dark, c.found, c.complete)
		}
	}
}

// TestParseAnswerByteByByte follows an answer as it arrives: nothing is
// concluded before an answer's last byte.
func TestParseAnswerByteByByte(t *testing.T) {
	const colour, attributes = "\x1b]11;rgb:ffff/ffff/ffff\x1b\\", "\x1b[?62;1;6c"
	sent := colour + attributes
	for n := 0; n <= len(sent); n++ {
		dark, found, complete := parseAnswer([]byte(sent[:n]))
		if dark {
			t.Errorf("after %d bytes white is dark", n)
		}
		if want := n >= len(colour); found != want {
			t.Errorf("after %d bytes found is %t", n, found)
		}
		if want := n == len(sent); complete != want {
			t.Errorf("after %d bytes complete is %t", n, complete)
		}
	}
}

func TestFraction(t *testing.T) {
	for _, c := range []struct {
		digits string
		want   float64
	}{
		{"0", 0}, {"f", 1}, {"F", 1}, {"80", 128.0 / 255}, {"fff", 1}, {"0010", 16.0 / 65535}, {"ffff", 1},
	} {
		if got := fraction([]byte(c.digits)); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("fraction(%s) = %v, want %v", c.digits, got, c.want)
		}
	}
}

func TestHintedDark(t *testing.T) {
	for _, c := range []struct {
		value string
		want  bool
	}{
		{"", true}, {"15;0", true}, {"0;15", false}, {"0;7", false}, {"7;8", true}, {"0;11", false},
		{"12;default;15", false}, {"15;default", true}, {"0;16", true}, {"0;-1", true}, {"15", false},
	} {
		if got := hintedDark(c.value); got != c.want {
			t.Errorf("hintedDark(%q) = %t", c.value, got)
		}
	}
}

func TestPassesQuestions(t *testing.T) {
	for term, want := range map[string]bool{
		"": false, "dumb": false, "linux": false, "screen": false, "screen-256color": false, "screen.xterm": false,
		"xterm": true, "xterm-256color": true, "tmux-256color": true, "foot": true,
	} {
		if got := passesQuestions(term); got != want {
			t.Errorf("passesQuestions(%q) = %t", term, got)
		}
	}
}
