package ui

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"pgregory.net/rapid"

	"foreshaft/store"
	"foreshaft/ui/bench"
)

// alt returns a letter behind Esc, the way the framework reads the two together.
func alt(r rune) tea.KeyMsg { return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}, Alt: true} }

var (
	bell = tea.KeyMsg{Type: tea.KeyCtrlG}
	st   = alt('\\')
)

// answers are what terminals answer to the question for their background (xterm,
// Control Sequences, OSC 11), without ESC ] and the end.
var answers = []string{"11;rgb:1e1e/1e1e/1e1e", "11;rgb:ffff/ffff/ffff", "11;rgb:00/2b/36", "11;rgb:FDF6/E3E3/E3E3", "11;rgba:0000/0000/0000/cccc"}

// timed is a sitting whose clock a test turns.
func timed(t testing.TB, heard string) (s *sitting, wait func(time.Duration)) {
	t.Helper()
	now := time.Date(2026, 3, 1, 9, 26, 0, 0, time.UTC)
	s = sit(t, &fakeKeeper{}, Options{Bench: bench.Options{Job: store.SampleBench()}, Heard: heard, Clock: func() time.Time { return now }})
	return s, func(d time.Duration) { now = now.Add(d) }
}

// late gives an answer to a sitting, its letters in pieces.
func late(s *sitting, end tea.KeyMsg, pieces ...string) {
	s.take(alt(']'))
	for _, p := range pieces {
		s.letters(p)
	}
	s.take(end)
}

// untouched fails unless a sitting is as it was.
func untouched(t *testing.T, s *sitting, view string, before []byte, after string) {
	t.Helper()
	if s.app.View() != view || !bytes.Equal(before, s.bytes()) || s.ended || s.app.quitting {
		t.Errorf("after %s the screen is\n%s\nwas\n%s", after, s.app.View(), view)
	}
}

// keysWork fails unless the next keys act: j moves and d duplicates.
func keysWork(t *testing.T, s *sitting, after string) {
	t.Helper()
	was, builds := row(s), len(s.app.bench.Job().Builds)
	s.letters("jd")
	if row(s) != was+1 || len(s.app.bench.Job().Builds) != builds+1 {
		t.Errorf("after %s j moves by %d and d makes %d builds of %d", after, row(s)-was, len(s.app.bench.Job().Builds), builds)
	}
}

func TestALateAnswerIsNoKeyHoweverItArrives(t *testing.T) {
	for _, answer := range answers {
		for _, end := range []tea.KeyMsg{bell, st} {
			for at := range len(answer) {
				s, wait := timed(t, "")
				view, before := s.app.View(), s.bytes()
				s.take(alt(']'))
				wait(pause / 2)
				s.letters(answer[:at])
				wait(pause / 2)
				s.letters(answer[at:])
				s.take(end)
				what := fmt.Sprintf("%q and %q", answer[:at], answer[at:])
				untouched(t, s, view, before, what)
				keysWork(t, s, what)
			}
		}
	}
}

// The Esc that an answer begins or ends with may come alone.
func TestAnAnswerMayBeCutBehindItsEsc(t *testing.T) {
	for _, answer := range answers {
		s, _ := timed(t, "")
		view, before := s.app.View(), s.bytes()
		s.key(tea.KeyEsc)
		s.letters("]" + answer)
		s.key(tea.KeyEsc)
		s.letters(`\`)
		untouched(t, s, view, before, answer)
		keysWork(t, s, answer)
	}
}

// Keys that send a sequence are no letters when that arrives in pieces.
func TestTheSequenceOfAKeyInPiecesIsNoLetter(t *testing.T) {
	for _, rest := range []string{"[A", "[B", "[3~", "[1;5D", "[5~", "OA", "OP", "[?6c", "[<0;10;10M"} {
		for _, glued := range []bool{true, false} {
			s, _ := timed(t, "")
			view, before := s.app.View(), s.bytes()
			if glued {
				s.take(alt(rune(rest[0])))
			} else {
				s.key(tea.KeyEsc)
				s.letters(rest[:1])
			}
			for _, r := range rest[1:] {
				s.letters(string(r))
			}
			untouched(t, s, view, before, "Esc "+rest)
			keysWork(t, s, "Esc "+rest)
		}
	}
}

// What the program heard of an answer while it waited goes on here.
func TestAnAnswerThatHadBegunGoesOn(t *testing.T) {
	const answer = "\x1b]11;rgb:1e1e/1e1e/1e1e"
	for at := 1; at < len(answer); at++ {
		s, _ := timed(t, answer[:at])
		view, before := s.app.View(), s.bytes()
		s.letters(answer[at:])
		s.take(bell)
		untouched(t, s, view, before, answer[at:])
		keysWork(t, s, answer[at:])

		s, wait := timed(t, answer[:at])
		wait(pause + time.Millisecond)
		keysWork(t, s, "a second without the rest")
	}
}

func TestALateAnswerIsNotTyped(t *testing.T) {
	for _, open := range []string{"r", "s", "ba", "b", ":"} {
		s, _ := timed(t, "")
		s.letters(open)
		view, before := s.app.View(), s.bytes()
		for _, answer := range answers {
			late(s, bell, answer)
			late(s, st, strings.Split(answer, "")...)
		}
		untouched(t, s, view, before, "answers in "+open)
		s.letters("xq")
		s.key(tea.KeyEnter)
		if got := s.app.bench.Job().Builds[0].Name; open == "r" && got != "xq" {
			t.Errorf("behind an answer xq is typed as %q", got)
		}
	}
}

// What cannot go on with an answer ends it at once: that key acts, and so does
// every one behind it, though they might stand in another place of one.
func TestAnAnswerEndsWithTheFirstKeyThatDoesNotGoOnWithIt(t *testing.T) {
	for _, begun := range []string{"", "1", "11;", "11;rgb:", "11;rgb:1e1e/1e"} {
		s, _ := timed(t, "")
		s.take(alt(']'))
		s.letters(begun)
		keysWork(t, s, "Alt+] "+begun)

		s, _ = timed(t, "")
		s.take(alt(']'))
		s.letters(begun)
		s.key(tea.KeyCtrlC)
		if !s.app.quitting {
			t.Errorf("after Alt+] %s Ctrl+C does not quit", begun)
		}

		// An answer behind one that was never ended is one too.
		s, _ = timed(t, "")
		view, before := s.app.View(), s.bytes()
		s.take(alt(']'))
		s.letters(begun)
		late(s, bell, answers[0])
		untouched(t, s, view, before, "Alt+] "+begun+" and an answer")
		keysWork(t, s, "Alt+] "+begun+" and an answer")
	}
}

// Whoever presses Alt+] and then, later, a key that could stand in an answer
// means the key.
func TestAKeyAfterAPauseIsAKey(t *testing.T) {
	for _, begun := range []string{"", "11;rgb:", "11;rgb:1e1e/1e"} {
		s, wait := timed(t, "")
		s.take(alt(']'))
		s.letters(begun)
		wait(pause + time.Millisecond)
		s.letters("d")
		if len(s.app.bench.Job().Builds) != 4 {
			t.Errorf("a second after Alt+] %s d duplicates nothing", begun)
		}
	}
	s, _ := timed(t, "")
	s.take(alt(']'))
	s.letters("11;rgb:")
	for range 60 {
		s.letters("d") // could stand in a colour, but not so often
	}
	if n := len(s.app.bench.Job().Builds); n < 3+60-mostSequence || mostSequence > 60 {
		t.Errorf("of 60 letters %d are swallowed", 60-(n-3))
	}
}

// Other keys with Alt, Ctrl+G and a backslash are nobody's answer.
func TestKeysThatOnlyLookLikePartsOfAnAnswerActAsTheyDo(t *testing.T) {
	for _, k := range []tea.KeyMsg{bell, st, alt('x'), {Type: tea.KeyRunes, Runes: []rune{']'}}, {Type: tea.KeyRunes, Runes: []rune{'\\'}}, {Type: tea.KeyEsc}} {
		s, _ := timed(t, "")
		if s.app.reply.swallows(k, time.Now()) {
			t.Errorf("%s is swallowed", k)
		}
		s, _ = timed(t, "")
		s.take(k)
		keysWork(t, s, k.String())
	}
	// Esc closes what is open though a sequence may begin with it.
	s, _ := timed(t, "")
	s.letters("?")
	s.key(tea.KeyEsc)
	keysWork(t, s, "Esc in the help")
}

// goesOn matches all beginnings and wholes of what a terminal sends by itself
// (ECMA-48: CSI and SS3; xterm: OSC 11).
var goesOn = func() *regexp.Regexp {
	answer := `(a?[:/0-9a-fA-F]*(\x07|\x1b\\?)?)`
	for _, letter := range []string{"b", "g", "r", ";", "1", "1"} {
		answer = "(" + letter + answer + ")?"
	}
	return regexp.MustCompile(`^\x1b(\[[0-9;?<]*[A-Za-z~]?|O[A-Za-z~]?|\]` + answer + `)?$`)
}()

// Whatever is pressed, nothing is swallowed that does not go on with a sequence.
func TestNothingElseIsSwallowed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var r reply
		said, now := "", time.Now()
		for _, k := range rapid.SliceOfN(rapid.SampledFrom([]string{"\x1b]", "\x1b[", "\x1bO", "\x1b\\", "\x1bx", "\x07", "1", ";", "r", "g", "b", ":", "/", "e", "A", "x", "j", "矢", "11;rgb", "[", "]"}), 1, 40).Draw(t, "keys") {
			if rapid.IntRange(0, 9).Draw(t, "pause") == 0 {
				said, now = "", now.Add(2*pause)
			}
			for _, msg := range messages(k) {
				swallowed := r.swallows(msg, now)
				piece := bytesOf(msg)
				if said+piece != said && !goesOn.MatchString(said+piece) {
					said = ""
				}
				if said += piece; !goesOn.MatchString(said) {
					said = ""
				}
				if swallowed && said == "" {
					t.Fatalf("%q is swallowed", k)
				}
			}
		}
	})
}

// messages are the key messages of what a terminal sends.
func messages(sent string) []tea.KeyMsg {
	switch runes := []rune(sent); {
	case sent == "\x07":
		return []tea.KeyMsg{bell}
	case runes[0] == 0x1b:
		return []tea.KeyMsg{alt(runes[1])}
	default:
		var out []tea.KeyMsg
		for _, r := range runes {
			out = append(out, tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}})
		}
		return out
	}
}
