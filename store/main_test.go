package store

import (
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// helperEnv makes the test binary run one of the helpers instead of the tests:
// some facts show only in another process.
const helperEnv = "FORESHAFT_STORE_HELPER"

var helpers = map[string]func(args []string) error{
	"hold":    holdWorkbook,
	"half":    stopBeforeCommit,
	"churn":   saveForEver,
	"create":  createForEver,
	"backups": backUpForEver,
}

func TestMain(m *testing.M) {
	name := os.Getenv(helperEnv)
	if name == "" {
		fewerChecks("40")
		os.Exit(m.Run())
	}
	if err := helpers[name](os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(0)
}

// fewerChecks lets properties try so many cases unless a run asks for a number itself
// (-rapid.checks): each case here is a workbook on the disk.
func fewerChecks(n string) {
	flag.Parse()
	if f := flag.Lookup("rapid.checks"); f.Value.String() == f.DefValue {
		if err := f.Value.Set(n); err != nil {
			panic(err)
		}
	}
}

// helper is the command that runs a helper, with words before it such as unshare.
func helper(t testing.TB, before []string, name string, args ...string) *exec.Cmd {
	t.Helper()
	binary, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	words := append(append(before, binary), args...)
	cmd := exec.Command(words[0], words[1:]...)
	cmd.Env = append(os.Environ(), helperEnv+"="+name)
	return cmd
}

// skipLoudly skips a test and says so even without -v.
func skipLoudly(t *testing.T, why string) {
	t.Helper()
	fmt.Fprintf(os.Stderr, "SKIPPED %s: %s\n", t.Name(), why)
	t.Skip(why)
}

// wallClock is a clock that stands still until it is set.
type wallClock struct {
	mu  sync.Mutex
	now time.Time
}

func newClock() *wallClock {
	return &wallClock{now: time.Date(2026, 3, 14, 9, 26, 53, 0, time.UTC)}
}

func (c *wallClock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *wallClock) step(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

func (c *wallClock) options() Options { return Options{Clock: c.Now, Program: "foreshaft test"} }

// newPath returns where a test's workbook is to be.
func newPath(t testing.TB) string { return filepath.Join(t.TempDir(), "data", "workbook.db") }

// openAt opens a workbook for a test. When the test ends it is closed and the
// whole file checked, whatever the test did.
func openAt(t testing.TB, path string, c *wallClock) *Workbook {
	t.Helper()
	w, err := Open(path, c.options())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { closeAndCheck(t, w) })
	return w
}

func openNew(t testing.TB) *Workbook {
	t.Helper()
	return openAt(t, newPath(t), newClock())
}

func closeAndCheck(t testing.TB, w *Workbook) {
	t.Helper()
	if err := w.Close(); err != nil {
		t.Errorf("close: %v", err)
	}
	for _, trouble := range w.Troubles() {
		t.Errorf("trouble: %v", trouble)
	}
	if err := checkFile(w.path); err != nil {
		t.Errorf("consistency of %s: %v", w.path, err)
	}
}

// oneBuild returns a job with one build of the sample bench, cut to a length.
func oneBuild(inches float64) *job.Job {
	j := BuildOf(SampleBench(), 0)
	j.Builds[0].Length = unit.Length(inches) * unit.Inch
	return j
}

// sameParts compares parts as they are written: a change of unit may move the
// last bit of a number.
func sameParts(a, b []part.Part) bool {
	return slices.EqualFunc(a, b, func(a, b part.Part) bool { return string(record.Encode(a)) == string(record.Encode(b)) })
}

func save(t testing.TB, w *Workbook, kind Kind, name string, j *job.Job) Entry {
	t.Helper()
	e, _, err := w.Save(kind, name, j)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// fill puts some saved work into a workbook.
func fill(t testing.TB, w *Workbook) {
	t.Helper()
	for i := range 12 {
		save(t, w, KindBuild, fmt.Sprintf("build %d", i), oneBuild(29+float64(i)/8))
		save(t, w, KindBuild, fmt.Sprintf("build %d", i), oneBuild(30+float64(i)/8))
	}
	save(t, w, KindBench, "all three", SampleBench())
}

// copyOf copies a file into a folder of its own.
func copyOf(t testing.TB, path string) string {
	t.Helper()
	return writeFile(t, newPath(t), readFile(t, path))
}

func readFile(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func writeFile(t testing.TB, path string, data []byte) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// filled returns the path of a closed workbook with saved work in it, its file
// no longer than its contents.
func filled(t testing.TB) string {
	t.Helper()
	w := openNew(t)
	fill(t, w)
	path, err := w.Backup()
	if err != nil {
		t.Fatal(err)
	}
	return copyOf(t, path)
}

// folder lists the names in a folder.
func folder(t testing.TB, path string) []string {
	t.Helper()
	files, err := os.ReadDir(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	var names []string
	for _, f := range files {
		names = append(names, f.Name())
	}
	return names
}

// says fails unless the error is a sentence that mentions all the words.
func says(t testing.TB, err error, words ...string) {
	t.Helper()
	if err == nil {
		t.Fatal("no error")
	}
	for _, word := range words {
		if !strings.Contains(err.Error(), word) {
			t.Errorf("the error does not say %q: %v", word, err)
		}
	}
}

func onUnix(t *testing.T) {
	t.Helper()
	if runtime.GOOS == "windows" {
		skipLoudly(t, "needs a Unix system")
	}
}

// hasBench checks which bench the workbook holds, by its length in inches.
func hasBench(w *Workbook, inches float64) error {
	bench, err := w.LoadBench()
	if err == nil && !bench.Job.Equal(oneBuild(inches)) {
		err = fmt.Errorf("not the bench of %g in", inches)
	}
	return err
}
