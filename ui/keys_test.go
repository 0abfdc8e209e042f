package ui

import (
	"bytes"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"

	"foreshaft/ui/bench"
	"foreshaft/ui/theme"
)

// row returns the row that the bench has in focus.
func row(s *sitting) int { return s.app.bench.View().Row }

func TestGluedLettersAreAsManyKeys(t *testing.T) {
	s := newSitting(t)
	before := row(s)
	s.letters("jjj")
	if got := row(s); got != before+3 {
		t.Errorf("jjj moved the focus by %d rows, want 3", got-before)
	}
	s.letters("kk")
	if got := row(s); got != before+1 {
		t.Errorf("kk moved it to %d, want %d", got, before+1)
	}
	one := newSitting(t)
	for range 3 {
		one.letters("+")
	}
	glued := newSitting(t)
	glued.letters("+++")
	if !bytes.Equal(one.bytes(), glued.bytes()) {
		t.Error("+++ is something else than + three times")
	}
	glued.settled()
}

func TestGluedLettersGoOnAsTextInTheFieldTheyOpen(t *testing.T) {
	s := newSitting(t)
	s.letters("rqx?d")
	s.key(tea.KeyEnter)
	if got := s.app.bench.Job().Builds[0].Name; got != "qx?d" {
		t.Errorf("after rqx?d and Enter the build is called %q, want qx?d", got)
	}
	s.settled()
}

func TestGluedLettersInAFieldAreText(t *testing.T) {
	// Some words are also the names that the framework gives to keys.
	for _, word := range []string{"jjj", "quit", "up", "down", "left", "right", "home", "end", "enter", "esc", "tab", "backspace", "pgup", "delete", "矢矢", "½ in"} {
		s := newSitting(t)
		s.letters("r")
		s.letters(word)
		if !s.app.bench.Typing() {
			t.Errorf("%q closed the field", word)
			continue
		}
		s.key(tea.KeyEnter)
		if got := s.app.bench.Job().Builds[0].Name; got != word {
			t.Errorf("after %q the build is called %q", word, got)
		}
		s = newSitting(t)
		s.letters("r" + word)
		s.key(tea.KeyEnter)
		if got := s.app.bench.Job().Builds[0].Name; got != word {
			t.Errorf("after r%s in one the build is called %q", word, got)
		}
	}
}

func TestNothingIsDoneBehindAQuit(t *testing.T) {
	s := newSitting(t)
	before := s.bytes()
	s.letters("qx")
	if !bytes.Equal(before, s.bytes()) {
		t.Errorf("x behind q removed a build: %s are left", s.names())
	}
	s.letters("x")
	if !bytes.Equal(before, s.bytes()) {
		t.Errorf("x after q removed a build: %s are left", s.names())
	}
	s.until("it ends", func() bool { return s.ended })
}

func TestPastedTextIsNoCommand(t *testing.T) {
	for _, text := range []string{"x", "q", "xxx", "dda\n", "\x1b[31m", "+", strings.Repeat("x", 10000)} {
		s := newSitting(t)
		before := s.bytes()
		s.paste(text)
		if !bytes.Equal(before, s.bytes()) || s.ended || s.app.quitting {
			t.Errorf("pasting %q on the bench did something: %s", text[:min(len(text), 10)], s.names())
		}
		if len(text) > 1 && !strings.Contains(s.app.View(), "aste") {
			t.Errorf("pasting %q says nothing", text[:min(len(text), 10)])
		}
	}
}

func TestPastedTextInAFieldIsCleaned(t *testing.T) {
	s := newSitting(t)
	s.letters("r")
	s.paste("\x1b[31mtwo\r\nlines\x1b[0m\x07\u202eq\u009b")
	if view := s.app.View(); strings.ContainsAny(view, "\x1b\a\r\u202e\u009b") || !strings.Contains(view, "two lines") {
		t.Errorf("the screen shows\n%q", view)
	}
	s.key(tea.KeyEnter)
	got := s.app.bench.Job().Builds[0].Name
	if !strings.Contains(got, "two lines") || strings.ContainsAny(got, "\x1b\a\r\n\u202e\u009b") {
		t.Errorf("the build is called %q", got)
	}
}

func TestALongPasteStaysOnItsLine(t *testing.T) {
	for _, open := range []string{"r", "s", "ba", "3a", "3p"} {
		s := newSitting(t)
		s.letters(open)
		s.paste(strings.Repeat("矢 long\n", 5000))
		checkView(t, s, 120, 36)
	}
}

// An Esc whose sequence arrives late is an Esc and a text. Neither may destroy
// anything, in the field that it closes or on the bench behind it.
func TestEscAndTheRestOfItsSequenceApart(t *testing.T) {
	for _, open := range []string{"", "r", "s", "S", "b", "ba", "X", "?", "e", "\r", "3", "3a", "3p", "3d"} {
		for _, rest := range []string{"[A", "[B", "[C", "[D", "OA", "[3~", "[1;5D", "[200~", "]11;rgb:0000/0000/0000", "[?6"} {
			s := newSitting(t)
			if open == "\r" {
				s.key(tea.KeyEnter)
			} else if open != "" {
				s.letters(open)
			}
			before := s.bytes()
			for range 3 {
				s.key(tea.KeyEsc)
				s.letters(rest)
			}
			if !bytes.Equal(before, s.bytes()) || s.app.quitting {
				t.Errorf("in %q Esc and %q changed the bench to %s (quitting %v)", open, rest, s.names(), s.app.quitting)
			}
		}
	}
}

func TestBytesThatAreNoTextAreDropped(t *testing.T) {
	s := newSitting(t)
	s.letters("r")
	s.take(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{'a', 0xD800, 'b'}})
	s.take(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("ok")})
	s.key(tea.KeyEnter)
	if got := s.app.bench.Job().Builds[0].Name; strings.ContainsRune(got, 0xD800) || !strings.HasSuffix(got, "ok") {
		t.Errorf("the build is called %q", got)
	}
	s.settled()
}

func TestRedrawClearsTheScreen(t *testing.T) {
	s := newSitting(t)
	s.until("the first size cleared the screen", func() bool { return s.cleared == 1 })
	s.key(tea.KeyCtrlL)
	s.until("Ctrl+L cleared the screen", func() bool { return s.cleared == 2 })
	s.take(tea.WindowSizeMsg{Width: 100, Height: 30})
	s.until("a new size cleared the screen", func() bool { return s.cleared == 3 })
}

// checkView checks that the view is exactly h lines of w cells.
func checkView(t testing.TB, s *sitting, w, h int) {
	t.Helper()
	view := s.app.View()
	if h == 0 {
		if view != "" {
			t.Errorf("on a screen without lines it draws %q", view)
		}
		return
	}
	lines := strings.Split(view, "\n")
	if len(lines) != h {
		t.Errorf("%d lines on a screen of %d×%d", len(lines), w, h)
	}
	for i, line := range lines {
		if got := ansi.StringWidth(line); got != w {
			t.Errorf("line %d has %d cells on a screen of %d×%d: %q", i+1, got, w, h, line)
		}
	}
	if again := s.app.View(); again != view {
		t.Error("drawing again gives another frame")
	}
}

func TestTheViewIsExactlyAsLargeAsTheScreen(t *testing.T) {
	s := newSitting(t)
	for _, open := range []string{"", "b", "?", "X", "r", "3", "3c", "3p", "3a"} {
		for _, size := range [][2]int{{0, 0}, {1, 1}, {10, 3}, {79, 24}, {80, 23}, {80, 24}, {120, 36}, {200, 60}} {
			s.take(tea.WindowSizeMsg{Width: size[0], Height: size[1]})
			checkView(t, s, size[0], size[1])
		}
		s.key(tea.KeyEsc)
		s.letters(open)
	}
}

func TestNothingIsDrawnBeforeTheSizeIsKnown(t *testing.T) {
	a := New(Options{Keeper: &fakeKeeper{}, Bench: benchOptions(newSitting(t).app.bench.Job(), theme.Mono, termenv.Ascii)})
	if view := a.View(); view != "" {
		t.Errorf("without a size it draws %q", view)
	}
	for _, k := range []tea.KeyMsg{{Type: tea.KeyRunes, Runes: []rune("jj+x?")}, {Type: tea.KeyEsc}, {Type: tea.KeyEnter}} {
		a.Update(k)
	}
}

func TestTheWelcomeIsTheFirstMessage(t *testing.T) {
	s := sit(t, &fakeKeeper{}, Options{Bench: bench.Options{Job: newSitting(t).app.bench.Job()}, Welcome: "Welcome 100 % invented."})
	s.shows("Welcome 100 % invented.")
	s.letters("j")
	if strings.Contains(s.app.View(), "Welcome") {
		t.Error("the welcome stays for ever")
	}
}

var _ Keeper = (*fakeKeeper)(nil)
