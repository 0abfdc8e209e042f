package main

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"foreshaft/store"
	"foreshaft/ui/uitest"
)

// killsVariable asks for more ends than a test run has time for.
const killsVariable = "FORESHAFT_KILLS"

// ends are the ways in which a sitting ends that nobody meant to end.
var ends = []struct {
	name string
	end  func(x *uitest.Terminal)
}{
	{"killed", func(x *uitest.Terminal) { x.Kill(syscall.SIGKILL) }},
	{"asked to end", func(x *uitest.Terminal) { x.Kill(syscall.SIGTERM) }},
	{"hung up", func(x *uitest.Terminal) { x.Kill(syscall.SIGHUP) }},
	{"terminal closed", func(x *uitest.Terminal) { x.HangUp() }},
}

// asked returns how many rounds a test is to make, few where nobody asks.
func asked(t *testing.T, few int) int {
	t.Helper()
	words := os.Getenv(killsVariable)
	if words == "" {
		return few
	}
	n, err := strconv.Atoi(words)
	if err != nil {
		t.Fatalf("%s=%s is not a number", killsVariable, words)
	}
	return n
}

// hardship is what a sitting has to bear besides its end. Its functions may be nil.
type hardship struct {
	start   func(t *testing.T, workbook string) *uitest.Terminal // instead of reopen
	strike  func(t *testing.T)                                   // at random moments, several times a sitting
	relieve func(t *testing.T)                                   // before the next sitting
}

// notSaved is what the screen says as long as the last change is not kept.
const notSaved = "NOT SAVED"

// A change that has been on the screen for a second is kept, whatever happens
// then, or the screen says that it is not. Each round makes some changes at random moments,
// ends the sitting at another, and looks in the workbook, which must be whole, for the last
// change that was seen a second before, or a later one.
func (h hardship) sittings(t *testing.T, workbook string, rounds int) {
	seen, refused, claims := 0, 0, 0 // how many names there were, how often the screen said no, and how many rounds could have lost one
	for round := range rounds {
		start := h.start
		if start == nil {
			start = func(t *testing.T, workbook string) *uitest.Terminal { return reopen(t, workbook, uitest.Options{}) }
		}
		x := start(t, workbook)
		must := 0 // the change that cannot be lost any more
		for range 1 + rand.IntN(4) {
			if h.strike != nil {
				h.strike(t)
			}
			// A few changes in a row, so that the end may find a save under way for
			// the wrong one.
			for range rand.IntN(4) {
				x.Send([]string{"+", "-", "z", "\x1b[C"}[rand.IntN(4)])
			}
			seen++
			name := fmt.Sprintf("Seen %d", seen)
			x.Send("\x1b[D\x1b[D\x1b[D\x1b[D\x1b[D\x1b[D\x1b[D\x1b[D")
			x.Type("r" + name)
			x.Send("\r")
			x.WaitUntil(name+" on the screen", func(screen string) bool {
				return strings.Contains(screen, name) &&
					(strings.Contains(screen, "to "+name+".") || strings.Contains(screen, notSaved) || strings.Contains(screen, "could not be"))
			})
			at := time.Now()
			// The time is what is tested, not a way to wait for something.
			<-time.After(time.Duration(rand.Int64N(int64(1200 * time.Millisecond))))
			if h.strike == nil && time.Since(at) < time.Second {
				continue
			}
			if time.Since(at) < time.Second && rand.IntN(2) == 0 {
				<-time.After(time.Second - time.Since(at))
			}
			if time.Since(at) >= time.Second {
				if strings.Contains(x.Screen(), notSaved) {
					refused++
				} else {
					must = seen
				}
			}
		}
		way := ends[round%len(ends)]
		if way.name == "hung up" && signal.Ignored(syscall.SIGHUP) { // as under nohup, which the program inherits
			way = ends[0]
		}
		way.end(x)
		x.Wait()
		x.Close()
		if must > 0 {
			claims++
		}
		if _, err := store.Examine(workbook); err != nil {
			t.Fatalf("round %d, %s: %v", round+1, way.name, err)
		}
		kept := 0
		if _, err := fmt.Sscanf(keptName(t, workbook), "Seen %d", &kept); (err != nil || kept < must) && must > 0 {
			t.Fatalf("round %d, %s: change %d is kept, and %d was on the screen for a second", round+1, way.name, kept, must)
		}
		if h.relieve != nil {
			h.relieve(t)
		}
	}
	if claims == 0 && rounds >= len(ends) {
		t.Error("no change was on the screen for a second: nothing could be lost")
	}
	t.Logf("%d ends, %d changes, %d times the screen said that a change was not kept, nothing lost", rounds, seen, refused)
}

func TestNoEndLosesWhatWasOnTheScreenForASecond(t *testing.T) {
	t.Parallel()
	hardship{}.sittings(t, filepath.Join(t.TempDir(), "workbook.db"), asked(t, len(ends)))
}

// steppingVariable makes the test binary the program, with a clock that steps.
const steppingVariable = "FORESHAFT_TEST_STEPPING_CLOCK"

// steppingClock steps forward and back by up to years, one call in eight.
func steppingClock() func() time.Time {
	var ahead atomic.Int64
	return func() time.Time {
		if rand.IntN(8) == 0 {
			steps := []time.Duration{0, -time.Hour, time.Hour, -25 * time.Hour, 25 * time.Hour, -400 * 24 * time.Hour, 400 * 24 * time.Hour}
			ahead.Store(int64(steps[rand.IntN(len(steps))]))
		}
		return time.Now().Add(time.Duration(ahead.Load()))
	}
}

// The clock says when something was saved, and when a backup is due: while it steps,
// backups are made and dropped all the time.
func TestNoEndLosesAnythingWhileTheClockSteps(t *testing.T) {
	t.Parallel()
	binary, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	workbook := filepath.Join(t.TempDir(), "workbook.db")
	hardship{start: func(t *testing.T, workbook string) *uitest.Terminal {
		x := uitest.Start(t, uitest.Options{Path: binary, Args: []string{workbook}, Env: []string{steppingVariable + "=1"}})
		x.WaitFor(shown)
		return x
	}}.sittings(t, workbook, asked(t, 2))
	list := store.Backups(workbook)
	if len(list) == 0 || len(list) > 6 { // the sixth is not yet dropped when a kill comes
		t.Errorf("%d backups", len(list))
	}
	for _, b := range list {
		if _, err := store.Examine(b.Path); err != nil {
			t.Error(err)
		}
	}
}

// keptName reads the name of the first build from a closed workbook.
func keptName(t testing.TB, workbook string) string {
	t.Helper()
	book, err := store.Open(workbook, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := book.Close(); err != nil {
			t.Error(err)
		}
	}()
	kept, err := book.LoadBench()
	if err != nil {
		t.Fatal(err)
	}
	return kept.Job.Builds[0].Name
}

// A kill while parts are taken in leaves the drawer as it was, or has them all. The
// rounds are killed at moments spread over the time that a whole import takes.
func TestAKillInMidImportLeavesOneDrawerOrTheOther(t *testing.T) {
	t.Parallel()
	const lines = 4000
	dir := t.TempDir()
	csv := []byte("kind,name,weight_gr\n")
	for i := range lines {
		csv = fmt.Appendf(csv, "head,Head %d,%d\n", i, 75+i%125)
	}
	list := filepath.Join(dir, "prices.csv")
	if err := os.WriteFile(list, csv, 0o600); err != nil {
		t.Fatal(err)
	}
	importInto := func(workbook string) *exec.Cmd {
		return exec.Command(program, "drawer", "import", list, "--take", "--workbook", workbook)
	}
	count := func(workbook string) int {
		book, err := store.Open(workbook, store.Options{})
		if err != nil {
			t.Fatal(err)
		}
		parts, err := book.Parts()
		if err = errors.Join(err, book.Close()); err != nil {
			t.Fatal(err)
		}
		return len(parts)
	}
	whole := filepath.Join(dir, "whole.db")
	before := count(whole)
	began := time.Now()
	if out, err := importInto(whole).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	took := time.Since(began)
	if got := count(whole); got != before+lines {
		t.Fatalf("%d parts after an import of %d into %d", got, lines, before)
	}
	const rounds = 8
	old := 0
	for i := range rounds {
		workbook := filepath.Join(dir, fmt.Sprintf("killed-%d.db", i))
		count(workbook) // makes it
		cmd := importInto(workbook)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		<-time.After(took * time.Duration(i+1) / (rounds + 1)) // the moment is what is tested
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		switch got := count(workbook); got {
		case before:
			old++
		case before + lines:
		default:
			t.Errorf("killed at %d of %d: %d parts, want %d or %d", i+1, rounds+1, got, before, before+lines)
		}
	}
	t.Logf("%d kills within %v, %d before the parts were in", rounds, took, old)
	if old == 0 {
		t.Error("no kill came before the parts were in: the test shows nothing")
	}
}
