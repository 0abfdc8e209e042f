package main

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"foreshaft/engine/label"
	"foreshaft/ui/uitest"
)

// A slow line brings the answer when the program has stopped waiting for it. The
// first frame comes after that wait, so what is sent behind it is late.
func TestAnAnswerThatComesLateIsNotTakenForKeys(t *testing.T) {
	t.Parallel()
	start := func() (seat, *uitest.Terminal) {
		s := newSeat(t)
		x := s.sit(uitest.Options{SilentTerminal: true, Cols: 80, Rows: 24})
		x.WaitFor("Welcome")
		return s, x
	}
	_, x := start()
	x.Send("j+")
	x.WaitFor("collar none →")
	want := drawn(x)
	quit(t, x)

	const st, bel = "\x1b]11;rgb:ffff/ffff/ffff\x1b\\", "\x1b]11;rgb:ffff/ffff/ffff\a"
	const attributes = "\x1b[?62;22c" // the answer to the other question
	for _, pieces := range [][]string{
		{st}, {bel}, {st + attributes}, {bel + attributes}, {st, attributes}, {"\x1b]11;rgba:1e1e/1E1E/1e1e/ffff\x1b\\"}, {"\x1b]11;rgb:00/00/00\a"},
		{st[:2], st[2:]}, {st[:6], st[6:]}, {st[:12], st[12:]}, {st[:len(st)-2], st[len(st)-2:]}, {bel[:9], bel[9:]}, {bel[:len(bel)-1], bel[len(bel)-1:]},
	} {
		s, x := start()
		for _, p := range pieces {
			x.Send(p)
		}
		x.Send("j+")
		x.WaitFor("collar none →")
		if got := drawn(x); got != want {
			t.Errorf("behind %q the screen is\n%s\nwant\n%s", pieces, got, want)
		}
		x.Send("z")
		x.WaitFor("Undone")
		quit(t, x)
		s.untouched()
	}
}

func TestAnAnswerThatComesWhileANameIsTypedIsNotPartOfIt(t *testing.T) {
	t.Parallel()
	x, workbook := open(t, uitest.Options{SilentTerminal: true})
	x.Send("r")
	x.WaitFor("New name")
	x.Send("Tall \x1b]11;rgb:ffff/ffff/ffff\x1b\\")
	x.Send("\x1b]11;rgb:0000/0000/0000\apines" + enter)
	x.WaitFor("Renamed")
	quit(t, x)
	if got := keptName(t, workbook); got != "Tall pines" {
		t.Errorf("the build is called %q", got)
	}
}

func TestKeysThatArriveTogetherAreAsManyKeys(t *testing.T) {
	t.Parallel()
	x, _ := open(t, uitest.Options{})
	x.Send("jj+")
	x.WaitFor("▸head")
	x.WaitMatch(`head 125 .*→ 150 gr`)
	x.Send("z" + enter + "jjj+")
	x.WaitFor("Choose the head")
	x.WaitFor("[jjj+▏")
	leave(x, "Choose the head")
	x.WaitFor("[125 gr field point")
	x.Send(down + down + down) // the same of keys that are several bytes each
	x.WaitFor("▸wrap")
	quit(t, x)
}

// A line that stalls in the middle of an arrow key delivers Esc and two letters,
// each of which would do something.
func TestAKeyTornApartDoesNothing(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{Cols: 80, Rows: 24})
	for _, c := range []struct{ open, shows, rest string }{
		{"", "Welcome", "[A"}, {"?", "Help", "[A"}, {enter, "Filter [", "[A"}, {"r", "New name", "[B"}, {"b", "peak weight now", "[C"},
		{"X", "Clear the bench: no builds", "OA"}, {":", "any action by name", "[D"}, {"o", "Nothing is saved yet", "[D"}, {"u", "draw weights", "[5~"},
	} {
		x.Send(c.open)
		x.WaitFor(c.shows)
		leave(x, c.shows)
		x.Send(c.rest)
		x.Send("_")
		x.WaitUntil("the bench after "+c.rest, func(screen string) bool {
			return strings.Contains(screen, "_ is no key here") && strings.Contains(screen, "+ - swap  Enter choose")
		})
		whole(x)
	}
	x.Send("+z")
	x.WaitFor("Undone")
	quit(t, x)
	s.untouched()
}

// hostile is what a web page may put into a clipboard.
const hostile = "Pine\x1b[31m red\x1b]52;c;ZXZpbA==\x07\r\x1b]0;title\x1b\\ \u202enip\u2066 \u009b2J\x1b[2Kfar \x1bc\u200b\x00\x08end"

// pasted is how a terminal delivers what is pasted.
func pasted(text string) string { return "\x1b[200~" + text + "\x1b[201~" }

// drove fails when anything pasted got out again that drives a terminal.
func drove(t testing.TB, x *uitest.Terminal) {
	t.Helper()
	raw := string(x.Raw())
	for _, harm := range []string{"\x1b[31m", "\x1b]52", "ZXZpbA==\x07", "\x07", "\x1b]0;", "\u202e", "\u2066", "\u009b", "\x1bc", "\u200b", "\x00", "\x08"} {
		if strings.Contains(raw, harm) {
			t.Errorf("it wrote %q", harm)
		}
	}
}

func TestAPasteIntoANameIsTextAndStaysText(t *testing.T) {
	t.Parallel()
	x, workbook := open(t, uitest.Options{})
	x.Send("r")
	x.WaitFor("New name")
	x.Send(pasted(hostile))
	x.WaitFor("end▏")
	x.Send(enter)
	x.WaitFor("Renamed")
	screen := whole(x)
	if again := drawn(x); again != screen {
		t.Errorf("Ctrl+L draws\n%s\nover\n%s", again, screen)
	}
	quit(t, x)
	drove(t, x)
	name := keptName(t, workbook)
	if name != label.Clean(name) || !strings.HasPrefix(name, "Pine") || !strings.HasSuffix(name, "end") || strings.ContainsAny(name, "\x1b\a\r\x00\b\u202e\u2066\u009b\u200b") {
		t.Errorf("the build is called %q", name)
	}
	x = reopen(t, workbook, uitest.Options{})
	x.WaitFor("A Pine")
	quit(t, x)
	drove(t, x)
}

func TestAPasteOutsideAFieldDoesNothing(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{Cols: 80, Rows: 24})
	for _, open := range []string{"", "b", "?", "X"} {
		x.Send(open)
		// A paste longer than one read comes in parts; its letters are no keys either.
		x.Send(pasted(hostile + strings.Repeat("xq+\r", 500)))
		x.WaitFor("Pasted text is not taken for keys")
		x.Send(escape)
		whole(x)
		x.Send("jk") // the message goes
		x.WaitGone("Pasted text")
	}
	quit(t, x)
	drove(t, x)
	s.untouched()
}

// What a program writes to have the terminal report the mouse, and no longer
// (xterm's control sequences: buttons and drags, in decimal numbers).
var (
	mouseOn    = []string{"\x1b[?1002h", "\x1b[?1006h"}
	mouseOff   = []string{"\x1b[?1002l", "\x1b[?1006l"}
	takesMouse = regexp.MustCompile(`\x1b\[\?(9|100\d|1015|1016)h`) // in any way
)

// click presses and releases the left button on the first of a text on the screen.
func click(t testing.TB, x *uitest.Terminal, text string) {
	t.Helper()
	for row, line := range strings.Split(x.Screen(), "\n") {
		if col := cell(line, text); col >= 0 {
			x.Send(fmt.Sprintf("\x1b[<0;%d;%dM", col+1, row+1))
			x.Send(fmt.Sprintf("\x1b[<0;%d;%dm", col+1, row+1))
			return
		}
	}
	t.Fatalf("no %s to click on:\n%s", text, x.Screen())
}

// wheel turns the wheel a notch somewhere on the screen.
func wheel(x *uitest.Terminal, up bool) {
	button := 65
	if up {
		button = 64
	}
	x.Send(fmt.Sprintf("\x1b[<%d;40;10M", button))
}

func TestTheMouseMovesChoosesAndIsOffUnlessAskedFor(t *testing.T) {
	t.Parallel()
	for _, size := range [][2]int{{80, 24}, {120, 36}} {
		t.Run(fmt.Sprintf("%d×%d", size[0], size[1]), func(t *testing.T) {
			t.Parallel()
			opt := uitest.Options{Cols: size[0], Rows: size[1]}
			s := newSeat(t)
			x := s.sit(opt)
			drawn(x)
			if takesMouse.Match(x.Raw()) {
				t.Error("the mouse is taken before anybody asked for it")
			}
			x.Send("M")
			x.WaitFor("Mouse on")
			drawn(x)
			for _, on := range mouseOn {
				if !strings.Contains(string(x.Raw()), on) {
					t.Errorf("M does not write %q", on)
				}
			}
			click(t, x, "100 gr field point") // the head of B
			x.WaitFor("[100 gr field point")
			x.WaitFor("▸B Even keel")
			click(t, x, "100 gr field point")
			x.WaitFor("Choose the head of B")
			x.WaitMatch(`▸ field point.*100\.0.*as it is now`)
			wheel(x, false)
			x.WaitMatch(`▸ 3-blade fixed.*100\.0`)
			wheel(x, true)
			x.WaitMatch(`▸ field point.*100\.0`)
			wheel(x, true)
			x.WaitMatch(`▸ field point.*85\.0`)
			drawn(x)
			click(t, x, "85.0") // what has the focus is chosen
			x.WaitFor("[85 gr field point")
			x.Send("z")
			x.WaitFor("[100 gr field point")
			drawn(x)
			click(t, x, "C Close cover")
			x.WaitFor("▸C Close cover")
			click(t, x, "collar")
			x.WaitFor("▸collar")
			x.Send("b")
			x.WaitFor("▸ peak weight now")
			drawn(x)
			click(t, x, "brace height")
			x.WaitFor("▸ brace height")
			drawn(x)
			click(t, x, "brace height")
			x.WaitFor("[6.5▏")
			leave(x, "▏")
			drawn(x)
			click(t, x, "540") // the second reading
			x.WaitFor("[540]")
			leave(x, "peak weight now")
			quit(t, x)
			for _, off := range mouseOff {
				if !strings.Contains(string(x.Raw()), off) {
					t.Errorf("quitting leaves the mouse on: no %q", off)
				}
			}

			x = s.sit(opt) // it is on again
			x.WaitUntil("the mouse to be on", func(string) bool { return strings.Contains(string(x.Raw()), mouseOn[0]) })
			drawn(x)
			click(t, x, "B Even keel")
			x.WaitFor("▸B Even keel")
			x.Send("M")
			x.WaitFor("Mouse off")
			x.WaitUntil("the mouse to be off", func(string) bool { return strings.Contains(string(x.Raw()), mouseOff[0]) })
			quit(t, x)
			x = s.sit(opt)
			quit(t, x)
			if takesMouse.Match(x.Raw()) {
				t.Error("the mouse is on although it was turned off")
			}
			if s.kept().Mouse {
				t.Error("the mouse is kept as on")
			}
		})
	}
}

func TestAnActionIsDoneByItsName(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{})
	x.Send("+")
	x.WaitFor("20 gr aluminium")
	x.Send(":")
	x.WaitFor("any action by name")
	x.Send("undo")
	x.WaitMatch(`▸ undo +z Ctrl\+Z`)
	x.Send(enter)
	x.WaitFor("Undone")
	x.WaitFor("[16 gr aluminium")
	x.Send("b:")
	x.WaitFor("Forms: any action by name")
	x.Send("new bow")
	x.WaitMatch(`▸ a new bow +n`)
	x.Send(enter)
	x.WaitFor("A new bow: enter what you know of it.")
	x.Send("z")
	x.WaitFor("Undone: new bow.")
	leave(x, "peak weight now")
	x.Send(":")
	x.WaitFor("any action by name")
	x.Send("quit")
	x.WaitFor("▸ quit")
	x.Send(enter)
	if code := x.Wait(); code != done {
		t.Errorf("ended with %d", code)
	}
	s.untouched()
}

func TestLettersThatAreKeysElsewhereAreTextWhereOneTypes(t *testing.T) {
	t.Parallel()
	const keys = "q?:12,zXx+"
	x, workbook := open(t, uitest.Options{})
	for _, open := range []string{enter, ":", "b" + enter} {
		x.Send(open)
		x.WaitFor("▏")
		x.Send(keys)
		x.WaitFor("[" + keys + "▏")
		x.Send(enter) // matches nothing and is no number: the field stays
		x.WaitFor("[" + keys + "▏")
		leave(x, "▏")
	}
	leave(x, "peak weight now")
	x.Send("r")
	x.WaitFor("New name")
	x.Send(keys + enter)
	x.WaitFor("Renamed Open ground to " + keys + ".")
	quit(t, x)
	if got := keptName(t, workbook); got != keys {
		t.Errorf("the build is called %q", got)
	}
}

func TestAnAnswerCutByTheEndOfTheWaitIsNotTakenForKeys(t *testing.T) {
	t.Parallel()
	const st = "\x1b]11;rgb:1d1d/2a2a/dada\x1b\\"
	for cut := 1; cut < len(st); cut += 3 {
		s := newSeat(t)
		x := uitest.Start(t, uitest.Options{Path: program, Args: []string{"--workbook", s.workbook}, SilentTerminal: true, Cols: 80, Rows: 24})
		x.WaitUntil("the question", func(string) bool { return strings.Contains(string(x.Raw()), asksBackground) })
		x.Send(st[:cut])
		x.WaitFor(shown)
		x.Send(st[cut:])
		x.Send("j")
		x.WaitFor("▸collar")
		quit(t, x)
		s.untouched()
	}
}
