package store

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A workbook that is gone must not be met with a new one: the samples in it would push out
// the backups of what was lost, and come back with the next restore.
func TestALostWorkbookIsNotReplacedByTheSamples(t *testing.T) {
	for _, empty := range []bool{false, true} {
		path, c := newPath(t), newClock()
		w := openAt(t, path, c)
		if err := w.SaveBench(Bench{Job: oneBuild(29)}); err != nil {
			t.Fatal(err)
		}
		closeAndCheck(t, w)
		for range 6 {
			visit(t, path, c)
			c.step(25 * time.Hour)
		}
		real := names(backups(path))
		if len(real) != dailyKept {
			t.Fatalf("%v", real)
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
		if empty {
			writeFile(t, path, nil)
		}
		_, err := Open(path, c.options())
		var missing *MissingError
		if !errors.As(err, &missing) || missing.Empty != empty || missing.Count != dailyKept || missing.Backup != newestWhole(path) {
			t.Fatalf("empty %v: %v", empty, err)
		}
		says(t, err, path, "restore", "--new", filepath.Base(missing.Backup))
		if info, err := os.Stat(path); empty != (err == nil) || empty && info.Size() > 0 {
			t.Errorf("empty %v: something was written", empty)
		}
		// Somebody who begins anew keeps the backups of before, however long that is used.
		opt := c.options()
		opt.New = true
		w, err = Open(path, opt)
		if err != nil {
			t.Fatal(err)
		}
		if !w.Fresh() {
			t.Error("it is not new")
		}
		closeAndCheck(t, w)
		for range 8 {
			visit(t, path, c)
			c.step(25 * time.Hour)
		}
		now := names(backups(path))
		if len(now) != 2*dailyKept || strings.Join(now[:dailyKept], " ") != strings.Join(real, " ") {
			t.Errorf("empty %v: of %v are left %v", empty, real, now)
		}
		if _, err := Restore(path, backups(path)[0].path, c.Now()); err != nil {
			t.Fatal(err)
		}
		w = openAt(t, path, c)
		if err := hasBench(w, 29); err != nil {
			t.Error(err)
		}
		closeAndCheck(t, w)
	}
}

// Another program, one that keeps folders alike for example, may take the file away from
// under an open workbook. What is changed then goes nowhere.
func TestAWorkbookThatIsMovedWhileOpenSaysSo(t *testing.T) {
	for name, spoil := range map[string]func(path string) error{
		"deleted": os.Remove,
		"moved":   func(path string) error { return os.Rename(path, path+".old") },
		"replaced": func(path string) error {
			data, err := os.ReadFile(path)
			return errors.Join(err, os.WriteFile(path+".new", data, 0o600), os.Rename(path+".new", path))
		},
	} {
		w, err := Open(newPath(t), newClock().options())
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(w.SaveBench(Bench{Job: oneBuild(29)}), spoil(w.path)); err != nil {
			t.Fatal(err)
		}
		var moved *MovedError
		if err := w.SaveBench(Bench{Job: oneBuild(30)}); !errors.As(err, &moved) {
			t.Errorf("%s: %v", name, err)
		}
		if _, _, err := w.Save(KindBuild, "x", oneBuild(30)); !errors.As(err, &moved) {
			t.Errorf("%s: a build: %v", name, err)
		}
		// All of it can be had, with the bench as it is seen.
		rescued := filepath.Join(t.TempDir(), "rescued.db")
		if _, err := w.BackupWith(rescued, Bench{Job: oneBuild(31)}); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := w.Close(); err != nil {
			t.Error(err)
		}
		back := openAt(t, rescued, newClock())
		if err := hasBench(back, 31); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestABackupHasTheBenchOfTheSeatThatAskedForIt(t *testing.T) {
	w := openNew(t)
	seat := w.Seat("a-1")
	if err := errors.Join(w.SaveBench(Bench{Job: oneBuild(29)}), seat.Save(Bench{Job: oneBuild(30)})); err != nil {
		t.Fatal(err)
	}
	path, err := seat.BackupWith("", Bench{Job: oneBuild(31), View: []byte("v")})
	if err != nil {
		t.Fatal(err)
	}
	if kept, _, err := seat.Load(); err != nil || count(kept.Job) != 30_000 {
		t.Errorf("the workbook changed: %v", err)
	}
	copied := openAt(t, copyOf(t, path), newClock())
	if err := hasBench(copied, 29); err != nil {
		t.Error(err)
	}
	if kept, _, err := copied.Seat("a-1").Load(); err != nil || count(kept.Job) != 31_000 || string(kept.View) != "v" {
		t.Errorf("%+v, %v", kept, err)
	}
	bad := oneBuild(30)
	bad.Builds[0].Length = -1
	if _, err := w.BackupWith("", Bench{Job: bad}); err == nil {
		t.Error("a bench that could not be read back is in a copy")
	}
	if got := len(backups(w.path)); got != 1 {
		t.Errorf("%d backups", got)
	}
}

// A backup that is damaged is not offered, and what is said about it is not about the workbook.
func TestADamagedBackupIsPassedOver(t *testing.T) {
	w := openNew(t)
	first, second := backUp(t, w), backUp(t, w)
	closeAndCheck(t, w)
	data := readFile(t, second)
	writeFile(t, second, data[:len(data)/2])
	if got := newestWhole(w.path); got != first {
		t.Errorf("%s is offered, want %s", got, first)
	}
	_, err := Restore(w.path, second, time.Now())
	says(t, err, "The backup "+second+" is damaged", "The workbook "+w.path+" was not touched", first)
	if strings.Contains(err.Error(), "A part of the workbook") {
		t.Errorf("%v", err)
	}
	writeFile(t, first, nil)
	if got := newestWhole(w.path); got != "" {
		t.Errorf("%s is offered and is empty", got)
	}
}

func TestWhatIsNoWorkbookIsSaidToBeNone(t *testing.T) {
	_, err := Examine(t.TempDir())
	says(t, err, "is not a file")
	w, err := Open(newPath(t), newClock().options())
	if err != nil {
		t.Fatal(err)
	}
	backup := backUp(t, w)
	closeAndCheck(t, w)
	writeFile(t, w.path, nil)
	_, err = Examine(w.path)
	says(t, err, w.path+" is empty", backup)
	if err := os.Remove(backup); err != nil {
		t.Fatal(err)
	}
	_, err = Examine(w.path)
	if err == nil || strings.Contains(err.Error(), "restore") {
		t.Errorf("with no backup: %v", err)
	}
}

// A mistyped --workbook must not rename somebody's letter.
func TestAFileThatIsNoWorkbookKeepsItsName(t *testing.T) {
	words := []byte(strings.Repeat("Dear customer, your arrows are ready. ", 1000))
	path := writeFile(t, filepath.Join(t.TempDir(), "letter.txt"), words)
	_, err := Open(path, newClock().options())
	says(t, err, path+" is no workbook", "It was not changed")
	if got, err := os.ReadFile(path); err != nil || string(got) != string(words) {
		t.Errorf("it is not as it was: %v", err)
	}
	// One that was a workbook under any name is set aside.
	damaged := readFile(t, filled(t))
	copy(damaged[3*os.Getpagesize():], strings.Repeat("x", len(damaged)))
	path = writeFile(t, filepath.Join(t.TempDir(), "arrows"), damaged)
	_, err = Open(path, newClock().options())
	mustBeSetAside(t, err, path, damaged)
}

func TestACopySaysWhatIsWrongWithItsName(t *testing.T) {
	w := openNew(t)
	dir := t.TempDir()
	there := writeFile(t, filepath.Join(dir, "there.db"), []byte("something"))
	for path, want := range map[string]string{
		there: "is there already and was left alone", dir: "is a folder", filepath.Join(dir, "none", "x.db"): "There is no folder",
	} {
		err := w.BackupTo(path)
		says(t, err, want, "The workbook is as it was")
		if strings.Contains(err.Error(), "--workbook") {
			t.Errorf("it sends people to another workbook: %v", err)
		}
	}
	if got := readFile(t, there); string(got) != "something" {
		t.Errorf("it was overwritten: %q", got)
	}
}

// Damage is told as soon as it is seen, not with the first change that cannot be kept.
func TestPagesThatAreBentAreToldWithoutAChange(t *testing.T) {
	path := filled(t)
	data := readFile(t, path)
	walk := walkOf(data)
	if err := walk.whole(walk.tree); err != nil {
		t.Fatal(err)
	}
	page := os.Getpagesize()
	for id, used := range walk.seen {
		at := id * page
		if !used || data[at+8] != isLeaf || data[at+10] < 3 {
			continue
		}
		bad := append([]byte(nil), data...)
		bad[at+pageHeader+2*pageElement+14] ^= 0x40 // how long a value is
		w, err := Open(writeFile(t, newPath(t), bad), newClock().options())
		if err != nil {
			continue
		}
		w.upkeep.Wait()
		found := false
		for _, trouble := range w.Troubles() {
			found = found || strings.Contains(trouble.Error(), "damaged")
		}
		if !found {
			t.Errorf("page %d: troubles %v", id, w.Troubles())
		}
		if err := w.SaveBench(Bench{Job: oneBuild(29)}); err == nil {
			t.Errorf("page %d: it writes", id)
		}
		if err := w.Close(); err != nil {
			t.Error(err)
		}
		return
	}
	t.Fatal("no page with records that Open lets pass")
}
