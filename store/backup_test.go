package store

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// start of day: opens, waits for the automatic backup and closes again.
func visit(t *testing.T, path string, c *wallClock) {
	t.Helper()
	closeAndCheck(t, openAt(t, path, c))
}

func names(list []copyFile) (out []string) {
	for _, c := range list {
		out = append(out, strings.TrimPrefix(filepath.Base(c.path), "workbook.backup-"))
	}
	return out
}

func TestBackupIsAWholeWorkbook(t *testing.T) {
	w := openNew(t)
	fill(t, w)
	path, err := w.Backup()
	if err != nil {
		t.Fatal(err)
	}
	if want := besides(w.path, "backup-0001-20260314T092653Z-asked"); path != want {
		t.Errorf("%s, want %s", path, want)
	}
	want, err := w.List()
	if err != nil {
		t.Fatal(err)
	}
	copied := openAt(t, copyOf(t, path), newClock())
	if got, err := copied.List(); err != nil || !slices.Equal(got, want) || copied.Fresh() {
		t.Errorf("%v, %v", got, err)
	}
	if got := folder(t, filepath.Dir(w.path)); len(got) != 3 {
		t.Errorf("left behind: %v", got)
	}
}

func TestAutomaticBackupAtMostOnceADayAndFiveAreKept(t *testing.T) {
	path, c := newPath(t), newClock()
	visit(t, path, c)
	if got := backups(path); len(got) != 0 {
		t.Errorf("a new workbook has backups: %v", names(got))
	}
	for range 3 {
		visit(t, path, c)
		c.step(5 * time.Hour)
	}
	if got := names(backups(path)); !slices.Equal(got, []string{"0001-20260314T092653Z-daily.db"}) {
		t.Errorf("%v", got)
	}
	w := openAt(t, path, c)
	if _, err := w.Backup(); err != nil {
		t.Fatal(err)
	}
	closeAndCheck(t, w)
	for range 7 {
		c.step(24 * time.Hour)
		visit(t, path, c)
	}
	want := []string{
		"0002-20260315T002653Z-asked.db", "0005-20260318T002653Z-daily.db", "0006-20260319T002653Z-daily.db",
		"0007-20260320T002653Z-daily.db", "0008-20260321T002653Z-daily.db", "0009-20260322T002653Z-daily.db",
	}
	if got := names(backups(path)); !slices.Equal(got, want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
}

func TestClockSetBackNeitherStopsNorFloodsBackups(t *testing.T) {
	path, c := newPath(t), newClock()
	visit(t, path, c)
	visit(t, path, c)
	c.step(-400 * 24 * time.Hour)
	visit(t, path, c)
	visit(t, path, c)
	want := []string{"0001-20260314T092653Z-daily.db", "0002-20250207T092653Z-daily.db"}
	if got := names(backups(path)); !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
	if newest := newestWhole(path); !strings.Contains(newest, "-0002-") {
		t.Errorf("newest is %s", newest)
	}
}

// A counter's program is open for weeks. What it keeps then is backed up as if it were
// started each day, and a clock that steps neither stops nor floods that.
func TestBackupsGoOnWhileTheProgramStaysOpen(t *testing.T) {
	path, c := newPath(t), newClock()
	w := openAt(t, path, c)
	change := func(after time.Duration) {
		t.Helper()
		c.step(after)
		if err := w.SaveBench(Bench{Job: oneBuild(30)}); err != nil {
			t.Fatal(err)
		}
		w.upkeep.Wait()
	}
	change(59 * time.Minute)
	if got := backups(path); len(got) != 0 {
		t.Errorf("a backup within the hour: %v", names(got))
	}
	change(time.Minute)
	for range 23 {
		change(time.Hour)
	}
	if got := names(backups(path)); !slices.Equal(got, []string{"0001-20260314T102653Z-daily.db"}) {
		t.Errorf("on the first day: %v", got)
	}
	for range 6 {
		change(24 * time.Hour)
	}
	change(-400 * 24 * time.Hour)
	change(time.Minute)
	want := []string{
		"0004-20260318T092653Z-daily.db", "0005-20260319T092653Z-daily.db", "0006-20260320T092653Z-daily.db",
		"0007-20260321T092653Z-daily.db", "0008-20250214T092653Z-daily.db",
	}
	if got := names(backups(path)); !slices.Equal(got, want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
	closeAndCheck(t, w)
}

func TestOtherFilesAreNotTakenForBackups(t *testing.T) {
	path := filled(t)
	for _, name := range []string{"workbook.backup-0007.db", "workbook.backup-x-20260314T092653Z-daily.db", "other.backup-0009-20260314T092653Z-daily.db"} {
		writeFile(t, filepath.Join(filepath.Dir(path), name), []byte("not ours"))
	}
	visit(t, path, newClock())
	if got := names(backups(path)); !slices.Equal(got, []string{"0001-20260314T092653Z-daily.db"}) {
		t.Errorf("%v", got)
	}
}

func TestWorkGoesOnDuringABackup(t *testing.T) {
	w := openNew(t)
	fill(t, w)
	done := make(chan error)
	go func() {
		var errs error
		for range 5 {
			_, err := w.Backup()
			errs = errors.Join(errs, err)
		}
		done <- errs
	}()
	for i := 1; ; i++ {
		if err := w.SaveBench(Bench{Job: counted(i), View: make([]byte, i*1000)}); err != nil {
			t.Fatal(err)
		}
		if i < 20 {
			continue
		}
		select {
		case err := <-done:
			if err != nil {
				t.Fatal(err)
			}
			bench, err := w.LoadBench()
			if err != nil || count(bench.Job) != i {
				t.Errorf("%v", err)
			}
			return
		default:
		}
	}
}

// A panic inside the database's own Open leaves no handle to close and the lock
// held, by the memory that maps the file even after the file is closed.
func TestLockIsReleasedAfterAPanicInsideOpen(t *testing.T) {
	path := filled(t)
	data := readFile(t, path)
	copy(data[2*os.Getpagesize():], noise(3, len(data)))
	writeFile(t, path, data)
	w := &Workbook{path: path, clock: newClock().Now}
	err := w.openToWrite()
	var panicked *panicError
	if !errors.As(err, &panicked) || w.db != nil {
		t.Fatalf("no panic: %v", err)
	}
	if err := w.letGo(); err != nil {
		t.Fatal(err)
	}
	begin := time.Now()
	second := &Workbook{path: path, clock: newClock().Now}
	if err := second.openToWrite(); !errors.As(err, &panicked) {
		t.Errorf("the lock was kept: %v", err)
	}
	if err := second.letGo(); err != nil || time.Since(begin) > lockWait/2 {
		t.Errorf("%v after %v", err, time.Since(begin))
	}
}
