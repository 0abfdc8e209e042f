package main

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
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

// A change that has been on the screen for a second is kept, whatever happens
// then. Each round makes some at random moments, ends the sitting at another,
// and looks in the workbook, which must be whole, for the last change that was
// seen a second before, or a later one.
func TestNoEndLosesWhatWasOnTheScreenForASecond(t *testing.T) {
	t.Parallel()
	rounds := len(ends)
	if words := os.Getenv(killsVariable); words != "" {
		n, err := strconv.Atoi(words)
		if err != nil {
			t.Fatalf("%s=%s is not a number", killsVariable, words)
		}
		rounds = n
	}
	workbook := filepath.Join(t.TempDir(), "workbook.db")
	seen := 0 // how many names there were
	for round := range rounds {
		x := reopen(t, workbook, uitest.Options{})
		shown := map[int]time.Time{}
		for range 1 + rand.IntN(4) {
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
			x.WaitFor("to " + name + ".")
			shown[seen] = time.Now()
			// The time is what is tested, not a way to wait for something.
			<-time.After(time.Duration(rand.Int64N(int64(1200 * time.Millisecond))))
		}
		way := ends[round%len(ends)]
		ended := time.Now()
		way.end(x)
		x.Wait()
		x.Close()
		must := 0
		for n, at := range shown {
			if ended.Sub(at) >= time.Second {
				must = max(must, n)
			}
		}
		if _, err := store.Examine(workbook); err != nil {
			t.Fatalf("round %d, %s: %v", round+1, way.name, err)
		}
		kept := 0
		if _, err := fmt.Sscanf(keptName(t, workbook), "Seen %d", &kept); (err != nil || kept < must) && must > 0 {
			t.Fatalf("round %d, %s: change %d is kept, and %d was on the screen for a second", round+1, way.name, kept, must)
		}
	}
	t.Logf("%d ends, nothing lost", rounds)
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
