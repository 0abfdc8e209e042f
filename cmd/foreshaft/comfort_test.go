package main

import (
	"encoding/json"
	"fmt"
	"image/color"
	"path/filepath"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"

	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/record"
	"foreshaft/store"
	"foreshaft/ui/theme"
	"foreshaft/ui/uitest"
)

// The keys that have no letter.
const (
	enter   = "\r"
	escape  = "\x1b"
	down    = "\x1b[B"
	redraw  = "\x0c" // Ctrl+L
	wipe    = "\x15" // Ctrl+U, which empties a field
	newPart = "\x01" // Ctrl+A
)

// seat is where somebody sits down several times: a workbook and settings that
// stay from one sitting to the next.
type seat struct {
	t                testing.TB
	workbook, config string
}

func newSeat(t testing.TB) seat {
	t.Helper()
	return seat{t, filepath.Join(t.TempDir(), "workbook.db"), t.TempDir()}
}

// sit starts the bench and waits for its first frame.
func (s seat) sit(opt uitest.Options, args ...string) *uitest.Terminal {
	s.t.Helper()
	opt.Env = append([]string{"XDG_CONFIG_HOME=" + s.config}, opt.Env...)
	return reopen(s.t, s.workbook, opt, args...)
}

// kept returns the settings that the next sitting begins with.
func (s seat) kept() store.Settings {
	s.t.Helper()
	out, err := store.LoadSettings(filepath.Join(s.config, "foreshaft", "settings.json"))
	if err != nil {
		s.t.Fatal(err)
	}
	return out
}

// open has something done with the workbook while nobody sits there.
func (s seat) open(use func(*store.Workbook) error) {
	s.t.Helper()
	book, err := store.Open(s.workbook, store.Options{})
	if err != nil {
		s.t.Fatal(err)
	}
	if err := use(book); err != nil {
		s.t.Error(err)
	}
	if err := book.Close(); err != nil {
		s.t.Error(err)
	}
}

// bench returns the bench that is kept.
func (s seat) bench() (j *job.Job) {
	s.t.Helper()
	s.open(func(book *store.Workbook) error {
		kept, err := book.LoadBench()
		j = kept.Job
		return err
	})
	if j == nil {
		s.t.FailNow()
	}
	return j
}

// untouched fails unless the bench is kept as it was on the first start.
func (s seat) untouched() {
	s.t.Helper()
	if got, want := string(record.Encode(*s.bench())), string(record.Encode(*store.SampleBench())); got != want {
		s.t.Errorf("kept is\n%s\nand not the bench of the first start\n%s", got, want)
	}
}

// leave presses Esc and waits until what it leaves is gone: a letter right behind
// Esc would be one key with it.
func leave(x *uitest.Terminal, sign string) {
	x.Send(escape)
	x.WaitGone(sign)
}

// same waits until the screen is just that frame.
func same(x *uitest.Terminal, frame string) {
	x.WaitUntil("the screen to be\n"+frame+"\n", func(screen string) bool { return screen == frame })
}

// frame returns the screen as far as it is there, and whether all of it is: it
// arrives in pieces, and behind the last one stands the cursor, back at the start
// of the last line.
func frame(x *uitest.Terminal) (screen string, all bool) {
	before := len(x.Raw())
	col, row := x.Cursor()
	screen = x.Screen()
	last := strings.LastIndex(screen, "\n") + 1
	return screen, col == 0 && row == strings.Count(screen, "\n") && screen[last:] != "" && len(x.Raw()) == before
}

// drawn has the screen drawn afresh and returns all of it.
func drawn(x *uitest.Terminal) (screen string) {
	before := len(x.Raw())
	x.Send(redraw)
	x.WaitUntil("all of a fresh frame", func(string) (all bool) {
		if !strings.Contains(string(x.Raw()[before:]), "\x1b[2J") {
			return false
		}
		screen, all = frame(x)
		return all
	})
	return screen
}

// whole waits until the bench is there with each of its lines and its keys last,
// and returns it.
func whole(x *uitest.Terminal) (screen string) {
	x.WaitUntil("the whole bench", func(string) (all bool) {
		titles := []string{"shaft ", "length ", "insert ", "collar ", "head ", "nock ", "vanes ", "wrap ", "total weight ", "FOC ", "speed ", "cautions ", "? help "}
		if screen, all = frame(x); !all || !strings.HasPrefix(screen, " Bench ") {
			return false
		}
		for line := range strings.SplitSeq(screen, "\n") {
			if _, title, _ := strings.Cut(strings.Replace(line, "▸", " ", 1), " "); len(titles) > 0 && strings.HasPrefix(title, titles[0]) {
				titles = titles[1:]
			}
		}
		return len(titles) == 0
	})
	return screen
}

// begins returns the escape sequence that what has the focus begins with in a
// theme, on a terminal of 256 colours.
func begins(name theme.Name) string {
	code, _, _ := strings.Cut(theme.New(name, termenv.ANSI256).Paint(theme.Focus, "|"), "|")
	return code
}

// wroteColours fails unless a sitting showed the focus in the colours of that
// theme and of no other.
func wroteColours(t testing.TB, x *uitest.Terminal, want theme.Name) {
	t.Helper()
	for _, name := range []theme.Name{theme.Light, theme.Dark} {
		if got := strings.Contains(string(x.Raw()), begins(name)); got != (name == want) {
			t.Errorf("colours for a %s background: %t, want those of %s", name, got, want)
		}
	}
}

const asksBackground = "\x1b]11;?"

func TestColoursSuitTheBackgroundThatTheTerminalTells(t *testing.T) {
	t.Parallel()
	for want, ground := range map[theme.Name]color.Color{
		theme.Light: color.RGBA{0xfa, 0xf4, 0xe8, 0xff},
		theme.Dark:  color.RGBA{0x1e, 0x1e, 0x28, 0xff},
	} {
		x, _ := open(t, uitest.Options{Background: ground})
		quit(t, x)
		wroteColours(t, x, want)
	}
}

func TestColoursChosenByKeyAreThereAtTheNextStart(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{})
	if got := s.kept().Theme; got != "" {
		t.Errorf("%s is chosen before anybody chose", got)
	}
	for _, says := range []string{
		"Colours for a light background.", "Colours for a dark background.", "No colours.", "Colours by the terminal's background (dark).", "Colours for a light background.",
	} {
		x.Send("t")
		x.WaitFor(says)
	}
	quit(t, x)
	if got := s.kept().Theme; got != "light" {
		t.Errorf("kept is %q, want light", got)
	}
	x = s.sit(uitest.Options{}) // on the dark background that it has when nobody says
	quit(t, x)
	wroteColours(t, x, theme.Light)
	if strings.Contains(string(x.Raw()), asksBackground) {
		t.Error("it asks for the background although somebody has chosen")
	}
}

func TestAThemeOnTheCommandLineIsForOneSitting(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{}, "--theme", "mono")
	x.Send("M") // keeps what is chosen, which the command line did not
	x.WaitFor("Mouse on")
	quit(t, x)
	wroteColours(t, x, theme.Mono)
	if got := s.kept(); got.Theme != "" || !got.Mouse {
		t.Errorf("kept is theme %q and mouse %t, want none and true", got.Theme, got.Mouse)
	}
	x = s.sit(uitest.Options{})
	x.Send("t")
	x.WaitFor("Colours for a light background.")
	quit(t, x)
	x = s.sit(uitest.Options{}, "--theme", "dark")
	x.Send("M")
	x.WaitFor("Mouse off")
	quit(t, x)
	wroteColours(t, x, theme.Dark)
	if got := s.kept(); got.Theme != "light" || got.Mouse {
		t.Errorf("kept is theme %q and mouse %t, want light and false", got.Theme, got.Mouse)
	}
}

func TestChoosingColoursUnderNoColorSaysThatNoneShow(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{Env: []string{"NO_COLOR=1"}})
	x.Send("t")
	x.WaitFor("this terminal shows none (NO_COLOR or TERM)")
	quit(t, x)
	for _, code := range sgr.FindAllSubmatch(x.Raw(), -1) {
		if strings.Trim(string(code[1]), "0;") != "" {
			t.Errorf("it wrote %q", code[0])
		}
	}
	if strings.Contains(string(x.Raw()), asksBackground) {
		t.Error("it asks for a background that it has no use for")
	}
}

func TestEveryKindOfTerminalGetsTheBench(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		term  string
		asked bool // a multiplexer and the console are not asked for their background
	}{
		{"screen", false}, {"screen-256color", false}, {"linux", false}, {"", false}, {"tmux-256color", true}, {"vt100", true}, {"xterm", true},
	} {
		for _, silent := range []bool{false, true} {
			x, _ := open(t, uitest.Options{Env: []string{"TERM=" + c.term}, SilentTerminal: silent, Cols: 80, Rows: 24})
			x.Send("+")
			x.WaitFor("→")
			whole(x)
			quit(t, x)
			if got := strings.Contains(string(x.Raw()), asksBackground); got != c.asked {
				t.Errorf("TERM=%s: asked for its background: %t, want %t", c.term, got, c.asked)
			}
		}
	}
	// Far away the answer is waited for longer, and not for ever.
	x, _ := open(t, uitest.Options{Env: []string{"SSH_CONNECTION=192.0.2.1 50000 192.0.2.2 22"}, SilentTerminal: true})
	x.Send("+")
	x.WaitFor("→")
	quit(t, x)
}

func TestTheFirstStartFillsTheSmallestScreen(t *testing.T) {
	t.Parallel()
	x, _ := open(t, uitest.Options{Cols: 80, Rows: 24})
	screen := whole(x)
	if !strings.Contains(screen, "\n Welcome.") || !strings.Contains(screen, "\n▸insert        [") {
		t.Errorf("no welcome or no focus:\n%s", screen)
	}
	if !strings.HasSuffix(screen, " q quit") {
		t.Errorf("the way out is not at the end:\n%s", screen)
	}
	quit(t, x)
}

func TestTypingInAStormOfSizesEndsInAFreshFrame(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ open, shows, typed string }{
		"picker":    {enter, "Filter [", "brass"},
		"rename":    {"r", "New name of this build", "Two pines"},
		"palette":   {":", "any action by name", "undo"},
		"bow, peak": {"b" + enter, "[68▏", "12"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			start := func() (seat, *uitest.Terminal) {
				s := newSeat(t)
				x := s.sit(uitest.Options{Cols: 80, Rows: 24})
				x.Send(c.open)
				x.WaitFor(c.shows)
				return s, x
			}
			_, x := start()
			x.Send(wipe + c.typed)
			x.WaitFor(c.typed + "▏")
			fresh := drawn(x)

			s, x := start()
			for i := range 60 {
				x.Resize(1+(i*37)%200, 1+(i*17)%60)
				x.Send([]string{"a", "+5", "½", down, "jjj", "\x7f"}[i%6])
			}
			x.Resize(1, 1)
			x.Send("k")
			x.Resize(80, 24)
			// What was typed while the screen was too small was for nobody to see;
			// what came through of the rest hangs on when. Now it is seen again.
			x.WaitUntil("the dialog to be back", func(screen string) bool {
				lines, was := strings.Split(screen, "\n"), strings.Split(fresh, "\n")
				return lines[0] == was[0] && lines[23] == was[23]
			})
			x.Send(wipe + c.typed)
			same(x, fresh)
			if again := drawn(x); again != fresh {
				t.Errorf("Ctrl+L draws\n%s\nover\n%s", again, fresh)
			}
			leave(x, c.typed+"▏")
			if strings.HasPrefix(c.open, "b") { // out of the form as well
				leave(x, "peak weight now")
			}
			quit(t, x)
			s.untouched()
		})
	}
}

// Names from elsewhere may be anything. Whatever they are, all else on the screen
// is as it is with the names of the first start, each in its place.
func TestNamesOfAnyKindLeaveTheFrameWhole(t *testing.T) {
	t.Parallel()
	const rightToLeft, wide = "חץ ארוך e\u0301\u0302\u0303 עם نقطة", "長い矢 竹林の弓 二番"
	names := []string{strings.Repeat("long name ", 1000) + "end", rightToLeft, wide}
	j := store.SampleBench()
	for i := range j.Builds {
		j.Builds[i].Name = names[i]
	}
	for _, size := range [][2]int{{80, 24}, {120, 36}} {
		t.Run(fmt.Sprintf("%d×%d", size[0], size[1]), func(t *testing.T) {
			t.Parallel()
			opt := uitest.Options{Cols: size[0], Rows: size[1]}
			plain, _ := open(t, opt)
			plain.Send("j")
			plain.WaitGone("Welcome")
			want := strings.Split(drawn(plain), "\n")
			quit(t, plain)

			s := newSeat(t)
			s.open(func(book *store.Workbook) error { return book.SaveBench(store.Bench{Job: j}) })
			x := s.sit(opt)
			x.Send("j")
			x.WaitFor("▸collar")
			whole(x)
			got := strings.Split(drawn(x), "\n")
			named := 0
			for i := range want {
				if strings.Contains(want[i], "A Open ground") {
					named++
					for _, mark := range []string{"A ", "B ", "C "} {
						if at, was := cell(got[i], mark), cell(want[i], mark); at != was {
							t.Errorf("column %s begins at cell %d, want %d: %s", mark, at, was, got[i])
						}
					}
				} else if got[i] != want[i] {
					t.Errorf("line %d is\n%s\nwant\n%s", i+1, got[i], want[i])
				}
			}
			if named != 1 {
				t.Errorf("%d lines with names, want 1", named)
			}
			for i := range names {
				name := fmt.Sprintf("Renamed %d", i)
				x.Send("r" + name + enter)
				x.WaitFor("▸" + string(rune('A'+i)) + " " + name)
				x.Send("l")
			}
			quit(t, x)
			if strings.ContainsAny(string(x.Raw()), "\u0303\u200f\u202e") {
				t.Error("a third mark on a letter or a format character reached the terminal")
			}
			for i, b := range s.bench().Builds {
				if b.Name != fmt.Sprintf("Renamed %d", i) {
					t.Errorf("build %d is kept as %q", i, b.Name)
				}
			}
		})
	}
	got := runPlain(t, string(record.Encode(*j)), nil, "figures", "-")
	if got.code != done || !strings.Contains(got.stdout, "B = "+label.Clean(rightToLeft)) || !strings.Contains(got.stdout, "C = "+wide) {
		t.Errorf("figures ended with %d:\n%s%s", got.code, got.stdout, got.stderr)
	}
	for line := range strings.SplitSeq(got.stdout, "\n") {
		if ansi.StringWidth(line) > 80 || strings.ContainsRune(line, '\u0303') {
			t.Errorf("a line of %d cells: %s", ansi.StringWidth(line), line)
		}
	}
	answer := runPlain(t, string(record.Encode(*j)), nil, "figures", "-", "--json")
	if !json.Valid([]byte(answer.stdout)) || !strings.Contains(answer.stdout, names[0]) {
		t.Errorf("the answer ends with %d and is no JSON with the whole name", answer.code)
	}
}

// cell returns the cell of a line at which a text begins, −1 when it is not there.
func cell(line, text string) int {
	before, _, found := strings.Cut(line, text)
	if !found {
		return -1
	}
	return ansi.StringWidth(before)
}

func TestDialogsLookAlikeInEveryLocale(t *testing.T) {
	t.Parallel()
	frames := func(locale string) (out []string) {
		x, _ := open(t, uitest.Options{Env: []string{"LC_ALL=" + locale}, Cols: 80, Rows: 24})
		for _, c := range []struct{ keys, shows string }{
			{enter, "Filter ["}, {"b", "peak weight now"}, {"?", "Signs:"}, {":", "any action by name"}, {"u", "draw weights"}, {"D", "Lab:"},
		} {
			x.Send(c.keys)
			x.WaitFor(c.shows)
			out = append(out, drawn(x))
			leave(x, c.shows)
			whole(x)
		}
		quit(t, x)
		return out
	}
	want := frames("C.UTF-8")
	for _, locale := range []string{"ja_JP.UTF-8", "C"} {
		for i, got := range frames(locale) {
			if got != want[i] {
				t.Errorf("under %s:\n%s\nwant\n%s", locale, got, want[i])
			}
		}
	}
}
