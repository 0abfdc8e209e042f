package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/ansi"

	"foreshaft/engine/sheet"
	"foreshaft/store"
	"foreshaft/ui/present"
	"foreshaft/ui/uitest"
)

// shown is what the first frame ends with, whatever its size.
const shown = "help"

// open starts the bench on a workbook of its own and waits for its first frame.
func open(t testing.TB, opt uitest.Options, args ...string) (x *uitest.Terminal, workbook string) {
	t.Helper()
	workbook = filepath.Join(t.TempDir(), "workbook.db")
	x = reopen(t, workbook, opt, args...)
	return x, workbook
}

func reopen(t testing.TB, workbook string, opt uitest.Options, args ...string) *uitest.Terminal {
	t.Helper()
	opt.Path, opt.Args = program, append([]string{"--workbook", workbook}, args...)
	x := uitest.Start(t, opt)
	x.WaitFor(shown)
	return x
}

// quit leaves the bench and checks that it gives the terminal back.
func quit(t testing.TB, x *uitest.Terminal) {
	t.Helper()
	x.Send("q")
	if code := x.Wait(); code != done {
		t.Fatalf("quitting ended with %d\n%s", code, x.Screen())
	}
	raw := string(x.Raw())
	for _, pair := range [][2]string{{"\x1b[?1049h", "\x1b[?1049l"}, {"\x1b[?25l", "\x1b[?25h"}} {
		if strings.LastIndex(raw, pair[1]) < strings.LastIndex(raw, pair[0]) {
			t.Errorf("the terminal is left with %q in force", pair[0])
		}
	}
}

func TestFirstStartWelcomesWithSamples(t *testing.T) {
	t.Parallel()
	workbook := filepath.Join(t.TempDir(), "a folder", "that is not there", "workbook.db")
	x := reopen(t, workbook, uitest.Options{})
	screen := x.WaitFor("Welcome")
	for _, b := range store.SampleBench().Builds {
		if !strings.Contains(screen, b.Name) {
			t.Errorf("the sample build %s is not shown:\n%s", b.Name, screen)
		}
	}
	if !strings.Contains(screen, "invented") {
		t.Errorf("nothing says that the samples are invented:\n%s", screen)
	}
	quit(t, x)
	if _, err := os.Stat(workbook); err != nil {
		t.Errorf("no workbook was made: %v", err)
	}
	if _, err := os.Stat(workbook + ".owner"); err == nil {
		t.Error("the owner file is left behind")
	}
	again := reopen(t, workbook, uitest.Options{})
	if strings.Contains(again.Screen(), "Welcome") {
		t.Error("the second start welcomes again")
	}
	quit(t, again)
}

func TestTheWorkbookIsWhereTheEnvironmentSays(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "mine.db")
	x := uitest.Start(t, uitest.Options{Path: program, Env: []string{store.EnvPath + "=" + path}})
	x.WaitFor("Welcome")
	quit(t, x)
	if _, err := os.Stat(path); err != nil {
		t.Error(err)
	}
	data := t.TempDir()
	x = uitest.Start(t, uitest.Options{Path: program, Env: []string{"XDG_DATA_HOME=" + data}})
	x.WaitFor("Welcome")
	quit(t, x)
	if _, err := os.Stat(filepath.Join(data, "foreshaft", "workbook.db")); err != nil {
		t.Error(err)
	}
}

func TestAChangeShowsItsEffectAndIsKept(t *testing.T) {
	t.Parallel()
	x, workbook := open(t, uitest.Options{})
	x.Send("+")
	x.WaitMatch(`insert \d+ .*→ \d+ .*gr.*FOC \+.*−.*ft/s`)
	x.Send("jjkl") // held and fast keys arrive together
	x.WaitFor("▸B ")
	x.Send("n")
	screen := x.WaitFor("◆▸B")
	x.Send("?")
	x.WaitFor("Help")
	x.Send("\x1b")
	x.WaitGone("Help")
	quit(t, x)

	book, err := store.Open(workbook, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	kept, err := book.LoadBench()
	if err := book.Close(); err != nil {
		t.Error(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	first, now := store.SampleBench().Builds[0], kept.Job.Builds[0]
	if kept.Job.Baseline != 1 || now.Insert.Value.Weight <= first.Insert.Value.Weight {
		t.Errorf("kept is baseline %d and %s, want 1 and more than %s", kept.Job.Baseline, present.Piece(sheet.Evaluate(kept.Job).Units, &now, "insert"), present.Piece(sheet.Evaluate(kept.Job).Units, &first, "insert"))
	}
	// What was on the screen is what a pipe says of the kept bench.
	total := present.FigureCell(sheet.Evaluate(kept.Job), 0, sheet.Keys()[0])
	if !strings.Contains(screen, total.Value+" ") {
		t.Errorf("the figures of the kept bench say %s and the screen\n%s", total.Value, screen)
	}

	x = reopen(t, workbook, uitest.Options{})
	x.WaitFor("◆▸B") // the focus is where it was
	quit(t, x)
}

func TestSaveQuitReopenFindAndOpen(t *testing.T) {
	t.Parallel()
	x, workbook := open(t, uitest.Options{})
	x.Type("rTall pines")
	x.Send("\r")
	x.WaitFor("Renamed")
	x.Type("sAutumn in the woods")
	x.Send("\r")
	x.WaitFor(`Saved as "Autumn in the woods"`)
	x.Send("X\r") // clear the bench
	x.WaitFor("There is no build")
	quit(t, x)

	x = reopen(t, workbook, uitest.Options{})
	x.WaitFor("There is no build")
	x.Send("o")
	x.WaitFor("Autumn in the woods")
	x.Type("woods")
	x.WaitFor("woods▏")
	x.Send("\r")
	x.WaitFor("Opened Autumn")
	x.WaitFor("Tall pines")
	x.Send("z") // and what was there comes back
	x.WaitFor("There is no build")
	quit(t, x)
}

func TestASecondProcessIsToldWhoHasTheWorkbook(t *testing.T) {
	t.Parallel()
	x, workbook := open(t, uitest.Options{})
	second := uitest.Start(t, uitest.Options{Path: program, Args: []string{"--workbook", workbook}, Cols: 400})
	second.WaitMatch(`foreshaft: The workbook .* is in use by .*process \d+ .*Quit that one first`)
	if code := second.Wait(); code != couldNot {
		t.Errorf("the second ended with %d, want %d", code, couldNot)
	}
	x.Send("+") // the first goes on undisturbed
	x.WaitFor("→")
	quit(t, x)
	again := reopen(t, workbook, uitest.Options{})
	quit(t, again)
}

func TestResizingInAStormComesBackToTheSameFrame(t *testing.T) {
	t.Parallel()
	x, _ := open(t, uitest.Options{})
	x.Send("j") // the welcome goes
	x.WaitFor("▸collar")
	before := x.Screen()
	for i := range 60 {
		x.Resize(1+(i*37)%200, 1+(i*17)%60)
	}
	x.Resize(60, 20)
	x.WaitFor("now 60×20")
	x.Resize(1, 1)
	x.Resize(120, 36)
	x.WaitMatch(regexp.QuoteMeta(strings.TrimRight(before, "\n")))
	x.Send("+")
	x.WaitFor("→")
	quit(t, x)
}

var sgr = regexp.MustCompile(`\x1b\[([0-9;:]*)m`)

func TestNoColorWritesNoColour(t *testing.T) {
	t.Parallel()
	x, _ := open(t, uitest.Options{Env: []string{"NO_COLOR=1"}})
	x.Send("+")
	screen := x.WaitFor("→")
	// What colour would say is said by characters.
	for _, sign := range []string{"[", "]", "●", "▸", "◆"} {
		if !strings.Contains(screen, sign) {
			t.Errorf("no %s on the screen:\n%s", sign, screen)
		}
	}
	quit(t, x)
	for _, code := range sgr.FindAllSubmatch(x.Raw(), -1) {
		if len(bytes.Trim(code[1], "0;")) > 0 {
			t.Errorf("it wrote %q", code[0])
		}
	}
	coloured, _ := open(t, uitest.Options{})
	quit(t, coloured)
	if !sgr.Match(coloured.Raw()) {
		t.Error("there is no colour without NO_COLOR either: the test tests nothing")
	}
}

func TestAnotherLocaleDrawsTheSameFrame(t *testing.T) {
	t.Parallel()
	frame := func(env ...string) string {
		x, _ := open(t, uitest.Options{Env: env})
		x.WaitFor("Welcome")
		x.Send("+")
		x.WaitFor("→")
		quitting := x.Screen()
		quit(t, x)
		return quitting
	}
	want := frame()
	for _, locale := range []string{"ja_JP.UTF-8", "zh_CN.UTF-8", "C"} {
		got := frame("LC_ALL="+locale, "LANG="+locale)
		if got != want {
			t.Errorf("under %s the screen is\n%s\nand without\n%s", locale, got, want)
		}
	}
	for line := range strings.SplitSeq(want, "\n") {
		if ansi.StringWidth(line) > uitest.DefaultCols {
			t.Errorf("a line of %d cells: %s", ansi.StringWidth(line), line)
		}
	}
}

// A library asks the terminal for its colours before main begins and waits for
// seconds where no answer comes. That must not happen.
func TestVersionEndsAtOnceInASilentTerminal(t *testing.T) {
	t.Parallel()
	for _, args := range [][]string{{"--version"}, {"--help"}, {"figures"}} {
		x := uitest.Start(t, uitest.Options{Path: program, Args: args, SilentTerminal: true, Patience: time.Second})
		x.Wait()
		if raw := x.Raw(); bytes.ContainsRune(raw, '\x1b') || len(raw) == 0 {
			t.Errorf("%q wrote %q", args, raw)
		}
	}
}

func TestASilentTerminalGetsItsFrame(t *testing.T) {
	t.Parallel()
	x, _ := open(t, uitest.Options{SilentTerminal: true})
	x.Send("+")
	x.WaitFor("→")
	quit(t, x)
}

func TestWithoutATerminalThereIsASentenceAndNoEscape(t *testing.T) {
	t.Parallel()
	runPlain(t, "", nil).refused(t, wrongFile, "terminal", "foreshaft figures")
	runPlain(t, "", []string{"TERM=dumb"}).refused(t, wrongFile, "foreshaft figures")
	for _, half := range []string{"</dev/null", "| cat"} {
		x := uitest.Start(t, uitest.Options{Path: "/bin/sh", Args: []string{"-c", `"$0" ` + half + `; echo "ended with $?"`, program}})
		x.WaitFor("foreshaft figures")
		if half != "| cat" { // a plain shell tells the status of cat
			x.WaitFor("ended with 2")
		}
		x.Wait()
		if bytes.ContainsRune(x.Raw(), '\x1b') {
			t.Errorf("%s: it wrote %q", half, x.Raw())
		}
	}
}

func TestADumbTerminalGetsASentenceAndNoEscape(t *testing.T) {
	t.Parallel()
	x := uitest.Start(t, uitest.Options{Path: program, Env: []string{"TERM=dumb"}})
	x.WaitFor("foreshaft figures")
	if code := x.Wait(); code != wrongFile {
		t.Errorf("ended with %d, want %d", code, wrongFile)
	}
	if bytes.ContainsRune(x.Raw(), '\x1b') {
		t.Errorf("it wrote %q", x.Raw())
	}
}

func TestAnUnknownThemeIsRefused(t *testing.T) {
	t.Parallel()
	x := uitest.Start(t, uitest.Options{Path: program, Args: []string{"--theme", "pink"}})
	x.WaitMatch(`foreshaft: theme "pink": want light, dark or mono`)
	if code := x.Wait(); code != wrongFile {
		t.Errorf("ended with %d, want %d", code, wrongFile)
	}
	for _, name := range []string{"light", "dark", "mono"} {
		x, _ := open(t, uitest.Options{}, "--theme", name)
		quit(t, x)
	}
}

func TestCtrlCAndTheEndOfTheTerminalKeepTheBench(t *testing.T) {
	t.Parallel()
	x, workbook := open(t, uitest.Options{})
	x.Type("rBy Ctrl C")
	x.Send("\r")
	x.WaitFor("Renamed")
	x.Send("\x03")
	if code := x.Wait(); code != done {
		t.Errorf("Ctrl+C ended with %d", code)
	}
	x = reopen(t, workbook, uitest.Options{})
	x.WaitFor("By Ctrl C")
	quit(t, x)
}
