package bench

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"
	"pgregory.net/rapid"

	"foreshaft/engine/job"
	"foreshaft/ui/frame"
	"foreshaft/ui/theme"
)

// sizes are the sizes at which screens break: nothing, next to nothing, the
// least, one below it either way, and those it was designed for.
var sizes = [][2]int{{0, 0}, {1, 1}, {10, 3}, {79, 24}, {80, 23}, {80, 24}, {120, 36}, {200, 60}}

func themes() []*theme.Theme {
	return []*theme.Theme{mono(), theme.New(theme.Dark, termenv.TrueColor), theme.New(theme.Light, termenv.ANSI256)}
}

// checkFrame checks that a frame is exactly h lines of w cells.
func checkFrame(t testing.TB, what string, lines []string, w, h int) {
	t.Helper()
	if len(lines) != h {
		t.Fatalf("%s: %d lines on a screen of %d×%d", what, len(lines), w, h)
	}
	for i, line := range lines {
		if got := ansi.StringWidth(line); got != w {
			t.Fatalf("%s: line %d has %d cells on a screen of %d×%d: %q", what, i+1, got, w, h, line)
		}
		if strings.ContainsAny(ansi.Strip(line), "\n\r\t\a\b\x1b") {
			t.Fatalf("%s: line %d holds a control character: %q", what, i+1, line)
		}
	}
}

// A frame that is too tall loses its first lines in a terminal and one that is
// too wide is cut without a word, so every mode is measured at every size.
func TestFramesAreExactlyAsLargeAsTheScreen(t *testing.T) {
	for _, c := range modes() {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			m := c.make(t)
			for _, size := range append(slices.Clone(sizes), [2]int{120, 36}, [2]int{80, 24}) {
				m.SetSize(size[0], size[1])
				for _, look := range themes() {
					m.theme = look
					checkFrame(t, string(look.Name()), m.Lines(), size[0], size[1])
				}
			}
		})
	}
}

// Without colour bold and reverse are gone as well: no escape byte is left.
func TestMonoHasNoEscapeByte(t *testing.T) {
	for _, c := range modes() {
		m := c.make(t)
		for _, size := range sizes {
			m.SetSize(size[0], size[1])
			if out := strings.Join(m.Lines(), "\n"); strings.ContainsRune(out, '\x1b') {
				t.Errorf("%s at %d×%d: %q", c.name, size[0], size[1], out)
			}
		}
	}
}

func TestColourIsNeverTheOnlyWord(t *testing.T) {
	// What the dark theme says with its colours taken off is what mono says.
	for _, c := range modes() {
		m := c.make(t)
		plain := m.Lines()
		m.theme = theme.New(theme.Dark, termenv.TrueColor)
		for i, line := range m.Lines() {
			if ansi.Strip(line) != plain[i] {
				t.Errorf("%s, line %d: %q in colour, %q without", c.name, i+1, ansi.Strip(line), plain[i])
			}
		}
	}
}

func TestDrawingTwiceGivesTheSameBytes(t *testing.T) {
	for _, c := range modes() {
		m := c.make(t)
		for _, size := range sizes {
			m.SetSize(size[0], size[1])
			first := slices.Clone(m.Lines())
			if !slices.Equal(first, m.Lines()) {
				t.Errorf("%s at %d×%d draws another frame the second time", c.name, size[0], size[1])
			}
		}
	}
}

// Whatever may be kept from one frame to the next, a bench that came to its
// state by many keys draws the same as one that was made in that state.
func TestAnOldBenchDrawsLikeANewOne(t *testing.T) {
	safe := []string{"up", "down", "left", "right", "home", "end", "+", "-", "a", "d", "x", "<", ">", "n", "z", "Z", "pgup", "pgdown"}
	rapid.Check(t, func(rt *rapid.T) {
		m := benchOf(t, nil)
		for range rapid.IntRange(1, 12).Draw(rt, "keys") {
			press(m, rapid.SampledFrom(safe).Draw(rt, "key"))
			size := sizes[rapid.IntRange(5, len(sizes)-1).Draw(rt, "size")]
			m.SetSize(size[0], size[1])
			m.Lines()
		}
		m.effect, m.message, m.before = "", "", nil // they tell of the last key
		fresh := newBench(m.Job(), m.drawer)
		fresh.SetSize(m.width, m.height)
		fresh.row, fresh.col, fresh.offset, fresh.distance = m.row, m.col, m.offset, m.distance
		if old, now := m.Lines(), fresh.Lines(); !slices.Equal(old, now) {
			rt.Fatalf("the old bench draws\n%s\nand a new one\n%s", strings.Join(old, "\n"), strings.Join(now, "\n"))
		}
	})
}

func TestAChangeShowsInTheNextFrame(t *testing.T) {
	for _, key := range []string{"up", "down", "right", "end", "+", "a", "d", "x", ">", "n", "b", "?", "e", "r", "s", "X", "enter", "2", "3", "tab", "pgup"} {
		m := benchOf(t, nil)
		if key == "n" || key == ">" || key == "x" {
			press(m, "right")
		}
		before := slices.Clone(m.Lines())
		press(m, key)
		if slices.Equal(before, m.Lines()) {
			t.Errorf("after %s the frame is the same", key)
		}
	}
}

func TestAChangeTakenBackLeavesNothingOnTheScreen(t *testing.T) {
	m := benchOf(t, nil)
	before := slices.Clone(m.Lines())
	press(m, "right", "+")
	m.Lines()
	press(m, "z", "left")
	if !slices.Equal(before, m.Lines()) {
		t.Errorf("was\n%s\nis\n%s", strings.Join(before, "\n"), screen(m))
	}
}

func TestATooSmallScreenSaysWhatItNeeds(t *testing.T) {
	m := benchOf(t, nil)
	before := slices.Clone(m.Lines())
	for _, size := range [][2]int{{79, 24}, {80, 23}, {30, 5}} {
		m.SetSize(size[0], size[1])
		shows(t, m, fmt.Sprintf("needs %d×%d, now %d×%d", frame.MinWidth, frame.MinHeight, size[0], size[1]))
	}
	m.SetSize(1, 1)
	m.Lines()
	m.SetSize(120, 36)
	if !slices.Equal(before, m.Lines()) {
		t.Error("after growing again the screen is another one")
	}
}

// hostileNames are names that try to be more than a name, or to be nothing.
var hostileNames = []string{
	strings.Repeat("x", 10000), strings.Repeat("long words ", 1000), strings.Repeat("矢", 10000), strings.Repeat("👩‍👩‍👧‍👦", 300),
	"\x1b[31mred\x1b[0m", "\x1b]52;c;eA==\a", "two\nlines\r\tand\x00more", "\u202eright to left\u2066", "e" + strings.Repeat("\u0301", 40), "\u009b2J", "ﷺ ½ ±", " ",
}

func TestHostileNamesKeepTheFrame(t *testing.T) {
	for n, name := range hostileNames {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			t.Parallel()
			hostile := func(j *job.Job) {
				j.Bow.Value.Name, j.Currency = name, name
				for i := range j.Builds {
					b := &j.Builds[i]
					b.Name = fmt.Sprintf("%s%d", name, i)
					b.Shaft.Name, b.Head.Name, b.Nock.Name, b.Insert.Value.Name, b.Vanes.Value.Name = name, name, name, name, name
					b.Head.Thread, b.Head.Note = name, name
				}
			}
			for _, presses := range [][]string{{}, {"+"}, {"enter"}, {"e"}, {"b"}, {"b", "up", "up", "up", "enter"}, {"r"}, {"S"}, {"d"}, {"end", "e"}, {"x", "z"}, {"n"},
				{"3"}, {"3", "c"}, {"3", "e"}, {"3", "d"}, {"3", "p"}, {"3", "a"}, {"3", "home", "enter"}, {"2"}, {"2", "down", "enter"}, {"2", "c", "a"}, {"2", "e"}} {
				m := benchOf(t, hostile)
				m.Saved(m.Job().Bow.Value.Name, m.Job())
				press(m, presses...)
				for _, size := range sizes {
					m.SetSize(size[0], size[1])
					checkFrame(t, fmt.Sprintf("%q after %q", name[:min(len(name), 20)], presses), m.Lines(), size[0], size[1])
				}
			}
			m := benchOf(t, hostile)
			saved := m.Job().Bow.Value.Name
			showSaved(m, entries(saved, saved))
			for _, size := range sizes {
				m.SetSize(size[0], size[1])
				checkFrame(t, "saved list", m.Lines(), size[0], size[1])
			}
		})
	}
}
