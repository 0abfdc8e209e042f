package store

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

func init() { helpers["erase"] = eraseWhenTold }

// The helpers run in another process. They print a line when they are ready.

func holdWorkbook(args []string) error {
	w, err := Open(args[0], newClock().options())
	if err != nil {
		return err
	}
	fmt.Println("ready")
	if _, err := io.ReadAll(os.Stdin); err != nil {
		return err
	}
	return w.Close()
}

func stopBeforeCommit(args []string) error {
	w, err := Open(args[0], newClock().options())
	if err != nil {
		return err
	}
	return w.update(func(tx *bolt.Tx) error {
		if err := putBench(tx, Bench{Job: oneBuild(33)}); err != nil {
			return err
		}
		fmt.Println("ready")
		time.Sleep(time.Hour) // until it is killed
		return nil
	})
}

// saveForEver saves benches whose length counts up, and prints each number when
// it is kept.
func saveForEver(args []string) error {
	w, err := Open(args[0], newClock().options())
	if err != nil {
		return err
	}
	for i := 1; ; i++ {
		if err := w.SaveBench(Bench{Job: counted(i), View: []byte(strings.Repeat("x", i%7000))}); err != nil {
			return err
		}
		fmt.Println(i)
	}
}

// createForEver makes one new workbook after the other.
func createForEver(args []string) error {
	for i := 0; ; i++ {
		w, err := Open(filepath.Join(args[0], fmt.Sprint(i), "workbook.db"), newClock().options())
		if err != nil {
			return err
		}
		fmt.Println(i)
		if err := w.Close(); err != nil {
			return err
		}
	}
}

func backUpForEver(args []string) error {
	w, err := Open(args[0], newClock().options())
	if err != nil {
		return err
	}
	for {
		path, err := w.Backup()
		if err != nil {
			return err
		}
		fmt.Println(path)
	}
}

// counted is a bench that holds a number, as a length in thousandths of an inch.
func counted(i int) *job.Job {
	j := oneBuild(0)
	j.Builds[0].Length = unit.Length(i) * unit.Inch / 1000
	return j
}

func count(j *job.Job) int { return int(j.Builds[0].Length.In(unit.Inch)*1000 + 0.5) }

// running is a helper at work.
type running struct {
	cmd   *exec.Cmd
	lines *bufio.Scanner
	stdin io.Closer
}

func start(t *testing.T, name, path string) *running {
	t.Helper()
	cmd := helper(t, nil, name, path)
	out, err1 := cmd.StdoutPipe()
	in, err2 := cmd.StdinPipe()
	cmd.Stderr = os.Stderr
	if err := errors.Join(err1, err2, cmd.Start()); err != nil {
		t.Fatal(err)
	}
	r := &running{cmd, bufio.NewScanner(out), in}
	t.Cleanup(r.kill)
	if !r.lines.Scan() {
		t.Fatalf("helper %s said nothing", name)
	}
	return r
}

// kill ends the helper as a power cut would, and waits until it is gone.
func (r *running) kill() {
	if r.cmd.ProcessState == nil {
		_ = r.cmd.Process.Kill()
		_ = r.cmd.Wait()
	}
}

func TestAnotherProcessHoldsTheWorkbook(t *testing.T) {
	path := newPath(t)
	other := start(t, "hold", path)
	begin := time.Now()
	_, err := Open(path, newClock().options())
	took := time.Since(begin)
	var inUse *InUseError
	if !errors.As(err, &inUse) || inUse.Owner.PID != other.cmd.Process.Pid || !inUse.Owner.Since.Equal(newClock().Now()) {
		t.Fatalf("%v", err)
	}
	host, _ := os.Hostname()
	says(t, err, path, strconv.Itoa(other.cmd.Process.Pid), host, "foreshaft test", "2026-03-14", "was not touched", "--workbook")
	// It waits a moment for one that is just closing, and not for ever.
	if took < lockWait/2 || took > 3*lockWait {
		t.Errorf("took %v", took)
	}
	if err := other.stdin.Close(); err != nil {
		t.Fatal(err)
	}
	if err := other.cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	if w := openAt(t, path, newClock()); w.Fresh() {
		t.Error("the other one's workbook is gone")
	} else if _, left := w.Interrupted(); left {
		t.Error("a clean end passes for a crash")
	}
}

func TestOpenWaitsForOneThatIsJustClosing(t *testing.T) {
	path := newPath(t)
	other := start(t, "hold", path)
	closing := time.AfterFunc(lockWait/4, func() { other.stdin.Close() })
	defer closing.Stop()
	openAt(t, path, newClock())
}

func TestTwiceInOneProcessIsInUseToo(t *testing.T) {
	w := openNew(t)
	_, err := Open(w.path, newClock().options())
	var inUse *InUseError
	if !errors.As(err, &inUse) || inUse.Owner.PID != os.Getpid() {
		t.Errorf("%v", err)
	}
}

func TestStaleOwnerFileIsNoticedAndOverwritten(t *testing.T) {
	path := newPath(t)
	other := start(t, "hold", path)
	other.kill()
	if !exists(ownerPath(path)) {
		t.Fatal("a killed process took its owner file along")
	}
	w := openAt(t, path, newClock())
	left, ok := w.Interrupted()
	if !ok || left.PID != other.cmd.Process.Pid {
		t.Errorf("interrupted %v, %v", left, ok)
	}
	if now, ok := readOwner(path); !ok || now.PID != os.Getpid() {
		t.Errorf("owner %v, %v", now, ok)
	}
}

// The lock decides, not the owner file: one that is out of date or unreadable
// neither keeps anybody out nor blames a process that is gone.
func TestStaleOwnerFileIsNotBlamed(t *testing.T) {
	gone := exec.Command(os.Args[0], "-test.run=^$")
	if err := gone.Run(); err != nil {
		t.Fatal(err)
	}
	w := openNew(t)
	stale := thisProcess("foreshaft test", newClock().Now())
	stale.PID = gone.Process.Pid
	if err := writeOwner(w.path, stale); err != nil {
		t.Fatal(err)
	}
	_, err := Open(w.path, newClock().options())
	says(t, err, "in use by another program")
	if strings.Contains(err.Error(), strconv.Itoa(stale.PID)) {
		t.Errorf("blames a process that is gone: %v", err)
	}
	writeFile(t, ownerPath(w.path), []byte(`{"pid": "many"`))
	_, err = Open(w.path, newClock().options())
	says(t, err, "in use by another program")
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if !exists(ownerPath(w.path)) {
		t.Error("removed an owner file that is not its own")
	}
	openAt(t, w.path, newClock())
}

// killsVariable asks for more kills than a test run has time for.
const killsVariable = "FORESHAFT_KILLS"

// kills is how many times something is killed: so often, or as often as is asked for.
func kills(usual int) int {
	if n, err := strconv.Atoi(os.Getenv(killsVariable)); err == nil {
		return max(n, usual)
	}
	return usual
}

func TestKillBetweenBeginAndCommitLeavesTheOldState(t *testing.T) {
	path := newPath(t)
	for range kills(1) {
		start(t, "half", path).kill()
		w := openAt(t, path, newClock())
		if w.Fresh() {
			t.Fatal("the workbook was lost")
		}
		bench, err := w.LoadBench()
		if err != nil || !bench.Job.Equal(SampleBench()) {
			t.Errorf("%v, %v", bench.Job, err)
		}
		closeAndCheck(t, w)
	}
}

func TestKillAnyTimeLosesNothingThatWasReported(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	path := newPath(t)
	for range kills(12) {
		other := start(t, "churn", path)
		lines := 1 + r.IntN(40)
		for range lines {
			other.lines.Scan()
		}
		last, err := strconv.Atoi(other.lines.Text())
		if err != nil {
			t.Fatal(err)
		}
		done := make(chan int)
		go func() {
			// What it printed before it died was kept, too.
			for other.lines.Scan() {
				if n, err := strconv.Atoi(other.lines.Text()); err == nil {
					last = n
				}
			}
			done <- last
		}()
		time.Sleep(time.Duration(r.IntN(3000)) * time.Microsecond)
		_ = other.cmd.Process.Kill()
		last = <-done
		other.kill()
		w := openAt(t, path, newClock())
		bench, err := w.LoadBench()
		if err != nil {
			t.Fatal(err)
		}
		if got := count(bench.Job); got != last && got != last+1 {
			t.Errorf("the bench is number %d, the last reported was %d", got, last)
		}
		closeAndCheck(t, w)
	}
}

func TestKillDuringCreationLeavesNoneOrAWholeWorkbook(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	for range 8 {
		root := t.TempDir()
		other := start(t, "create", root)
		time.Sleep(time.Duration(r.IntN(30)) * time.Millisecond)
		other.kill()
		for _, name := range folder(t, root) {
			w := openAt(t, filepath.Join(root, name, "workbook.db"), newClock())
			if bench, err := w.LoadBench(); err != nil || !bench.Job.Equal(SampleBench()) {
				t.Errorf("bench: %v", err)
			}
			if parts, err := w.Parts(); err != nil || len(parts) != len(SampleParts()) {
				t.Errorf("%d parts, %v", len(parts), err)
			}
			closeAndCheck(t, w)
		}
	}
}

func TestKillDuringABackupLeavesOnlyWholeBackups(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	path := filled(t)
	seen := 0
	for range 6 {
		other := start(t, "backups", path)
		time.Sleep(time.Duration(r.IntN(20000)) * time.Microsecond)
		other.kill()
		for _, c := range backups(path)[seen:] {
			seen++
			if err := checkFile(c.path); err != nil {
				t.Errorf("%s: %v", c.path, err)
			}
		}
		closeAndCheck(t, openAt(t, path, newClock()))
		if left, err := filepath.Glob(path + tempMark + "*"); err != nil || len(left) > 0 {
			t.Errorf("left behind: %v, %v", left, err)
		}
	}
	if seen < 6 {
		t.Errorf("only %d backups were made", seen)
	}
}

// eraseWhenTold erases a customer as soon as its input ends.
func eraseWhenTold(args []string) error {
	w, err := Open(args[0], newClock().options())
	if err != nil {
		return err
	}
	fmt.Println("ready")
	if _, err := io.ReadAll(os.Stdin); err != nil {
		return err
	}
	if _, err := w.Erase(gone); err != nil {
		return err
	}
	return w.Close()
}

// Kills come after so many changes to the folder: each new file, each rename and each
// size that a file grows to is one.
func TestKillDuringAnEraseLeavesAWholeWorkbook(t *testing.T) {
	original := openNew(t)
	if err := putGone(original, false); err != nil {
		t.Fatal(err)
	}
	backUp(t, original)
	backUp(t, original)
	before, _ := left(t, original)
	closeAndCheck(t, original)
	without := leftWithout(t)
	state := func(folder string) string {
		files, err := os.ReadDir(folder)
		if err != nil {
			t.Fatal(err)
		}
		var out strings.Builder
		for _, f := range files {
			if info, err := f.Info(); err == nil { // one that is gone by now is a change, too
				fmt.Fprintln(&out, f.Name(), info.Size(), info.ModTime().UnixNano())
			}
		}
		return out.String()
	}
	midway, done := 0, false
	for kill := 0; !done; kill += 3 {
		folder := filepath.Join(t.TempDir(), "data")
		for _, name := range names(backups(original.path)) {
			writeFile(t, filepath.Join(folder, "workbook.backup-"+name), readFile(t, filepath.Join(filepath.Dir(original.path), "workbook.backup-"+name)))
		}
		path := writeFile(t, filepath.Join(folder, "workbook.db"), readFile(t, original.path))
		other := start(t, "erase", path)
		ended := make(chan bool)
		go func() {
			for other.lines.Scan() {
			}
			close(ended)
		}()
		last, seen, over := state(folder), 0, false
		if err := other.stdin.Close(); err != nil {
			t.Fatal(err)
		}
		for seen < kill && !over {
			select {
			case <-ended:
				over = true
			default:
				if now := state(folder); now != last {
					last = now
					seen++
				}
			}
		}
		_ = other.cmd.Process.Kill()
		<-ended
		other.kill()

		w := openAt(t, path, newClock())
		if left, err := filepath.Glob(path + tempMark + "*"); err != nil || len(left) > 0 {
			t.Errorf("left behind: %v, %v", left, err)
		}
		for _, c := range backups(path) {
			if err := checkFile(c.path); err != nil {
				t.Errorf("%s: %v", c.path, err)
			}
		}
		files, err := holding(folder, gone)
		if err != nil {
			t.Fatal(err)
		}
		now, _ := left(t, w)
		switch now {
		case before:
			if over {
				t.Fatal("it came to its end, and the customer is still there")
			}
			if seen > 0 {
				midway++
			}
		case without:
			done = true
			if len(files) > 0 {
				t.Errorf("killed after %d changes: the workbook is clean before %v", seen, files)
			}
		default:
			t.Fatalf("killed after %d changes the workbook holds\n%s", seen, now)
		}
		erased, err := w.Erase(gone)
		if err != nil || erased.Known != (now == before) || len(backups(path)) != 2 {
			t.Errorf("%+v, %v", erased, err)
		}
		if now, _ := left(t, w); now != without {
			t.Errorf("after a second Erase the workbook holds\n%s", now)
		}
		mustBeGone(t, w, gone, fmt.Sprintf("killed after %d changes and erased again", seen))
		closeAndCheck(t, w)
	}
	if midway == 0 {
		t.Error("no kill came while it was at work")
	}
}

func TestTwoFirstStartsAtOnceKeepOneWorkbook(t *testing.T) {
	path := newPath(t)
	type result struct {
		w   *Workbook
		err error
	}
	results := make(chan result)
	for range 4 {
		go func() {
			w, err := Open(path, newClock().options())
			results <- result{w, err}
		}()
	}
	var winner *Workbook
	for range 4 {
		r := <-results
		var inUse *InUseError
		switch {
		case r.err == nil && winner == nil:
			winner = r.w
		case r.err == nil:
			t.Error("two own the workbook")
		case !errors.As(r.err, &inUse):
			t.Error(r.err)
		}
	}
	if winner == nil {
		t.Fatal("nobody got the workbook")
	}
	if !winner.inPlace() {
		t.Error("the workbook that is open is not the one at the path")
	}
	if left, err := filepath.Glob(path + tempMark + "*"); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	closeAndCheck(t, winner)
}
