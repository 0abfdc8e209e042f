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

// killsVariable asks for more kills than a test run has time for.
const killsVariable = "FORESHAFT_KILLS"

// A change that has been on the screen for a second is kept, whatever happens
// then. Each round makes one, waits 1.0 to 1.5 s, kills the program and looks
// for the change in the next start.
func TestAKillLosesNothingThatWasOnTheScreenForASecond(t *testing.T) {
	t.Parallel()
	kills := 3
	if words := os.Getenv(killsVariable); words != "" {
		n, err := strconv.Atoi(words)
		if err != nil {
			t.Fatalf("%s=%s is not a number", killsVariable, words)
		}
		kills = n
	}
	workbook := filepath.Join(t.TempDir(), "workbook.db")
	for i := range kills {
		name := fmt.Sprintf("Before kill %d", i+1)
		x := reopen(t, workbook, uitest.Options{})
		// A few changes in a row, so that the kill may find a save under way for
		// the wrong one; the last is the one that counts.
		for range rand.IntN(4) {
			x.Send("+")
		}
		x.Type("r" + name)
		x.Send("\r")
		x.WaitFor("to " + name + ".")
		wait := time.Second + time.Duration(rand.Int64N(int64(500*time.Millisecond)))
		<-time.After(wait) // the time is what is tested, not a way to wait for something
		x.Kill(syscall.SIGKILL)
		if code := x.Wait(); code != 128+int(syscall.SIGKILL) {
			t.Fatalf("kill %d: the program ended with %d by itself", i+1, code)
		}
		if got := keptName(t, workbook); got != name {
			t.Fatalf("kill %d after %v: the workbook holds %q, want %q", i+1, wait, got, name)
		}
		again := reopen(t, workbook, uitest.Options{})
		again.WaitFor(name)
		quit(t, again)
	}
	t.Logf("%d kills, nothing lost", kills)
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
