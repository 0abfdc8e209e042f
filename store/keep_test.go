package store

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

func TestExamineSaysWhatAWorkbookHolds(t *testing.T) {
	path := filled(t)
	before := readFile(t, path)
	h, err := Examine(path)
	if err != nil {
		t.Fatal(err)
	}
	truth := truthOf(t, before)
	if h.Schema != schemaOf(migrations) || h.Parts != len(truth.parts) || h.Revisions != truth.counts || h.Bytes != int64(len(before)) {
		t.Errorf("%+v; want %d parts and %d revisions", h, len(truth.parts), truth.counts)
	}
	if !bytes.Equal(readFile(t, path), before) {
		t.Error("looking changed the file")
	}
	old, err := filepath.Glob(filepath.Join(fixtures, "v*.db"))
	if err != nil {
		t.Fatal(err)
	}
	for i, path := range old {
		if h, err := Examine(copyOf(t, path)); err != nil || h.Schema != i+1 || h.Revisions == 0 {
			t.Errorf("%s: %+v, %v", path, h, err)
		}
	}
}

// Whatever byte of a record is wrong, Examine says so; a file in use, a newer one and one
// that is not there are told apart.
func TestExamineFindsWhatIsWrong(t *testing.T) {
	path := filled(t)
	whole := readFile(t, path)
	found, bad := 0, 0
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 5))
		data := bytes.Clone(whole)
		at := r.IntN(len(data))
		copy(data[at:], noise(r.Uint64(), min(1+r.IntN(300), len(data)-at)))
		if bytes.Equal(data, whole) {
			continue
		}
		bad++
		_, err := Examine(writeFile(t, newPath(t), data))
		var damaged *DamagedError
		switch {
		case errors.As(err, &damaged):
			found++
		case err != nil:
			t.Errorf("seed %d: %v", seed, err)
		}
	}
	// What is free or behind a record may be anything.
	if found < bad/4 {
		t.Errorf("%d of %d files with noise in them are found", found, bad)
	}
	w := openAt(t, copyOf(t, path), newClock())
	var used *InUseError
	if _, err := Examine(w.path); !errors.As(err, &used) || used.Owner.PID != os.Getpid() {
		t.Errorf("in use: %v", err)
	}
	var access *AccessError
	if _, err := Examine(filepath.Join(t.TempDir(), "nowhere.db")); !errors.As(err, &access) {
		t.Errorf("nowhere: %v", err)
	}
	var damaged *DamagedError
	if _, err := Examine(writeFile(t, newPath(t), []byte("words"))); !errors.As(err, &damaged) {
		t.Errorf("words: %v", err)
	}
}

func TestBackupToIsTheSameAndOverwritesNothing(t *testing.T) {
	w := openNew(t)
	fill(t, w)
	to := filepath.Join(t.TempDir(), "stick.db")
	if err := w.BackupTo(to); err != nil {
		t.Fatal(err)
	}
	h, err := Examine(to)
	if err != nil || h.Revisions == 0 {
		t.Errorf("%+v, %v", h, err)
	}
	before := readFile(t, to)
	if err := w.BackupTo(to); err == nil || !bytes.Equal(readFile(t, to), before) {
		t.Errorf("a second time: %v", err)
	}
	if files, err := os.ReadDir(filepath.Dir(to)); err != nil || len(files) != 1 {
		t.Errorf("files are left: %v, %v", files, err)
	}
	var access *AccessError
	if err := w.BackupTo(filepath.Join(t.TempDir(), "no", "folder.db")); !errors.As(err, &access) {
		t.Errorf("into no folder: %v", err)
	}
}

func TestCompactKeepsEverythingInLessRoom(t *testing.T) {
	w := openNew(t)
	fill(t, w)
	for i := range 40 { // what becomes free
		if err := w.SaveBench(Bench{Job: oneBuild(float64(20 + i%10))}); err != nil {
			t.Fatal(err)
		}
	}
	before := contentsOf(t, w)
	from, to, err := w.Compact()
	if err != nil || to >= from || to == 0 {
		t.Fatalf("%d to %d bytes, %v", from, to, err)
	}
	if !slices.Equal(contentsOf(t, w), before) {
		t.Error("it holds something else")
	}
	if info, err := os.Stat(w.path); err != nil || info.Size() != to {
		t.Errorf("the file has %d bytes, want %d", info.Size(), to)
	}
	// It goes on as before.
	save(t, w, KindBuild, "after", oneBuild(31))
	closeAndCheck(t, w)
	if _, err := Examine(w.path); err != nil {
		t.Error(err)
	}
}

// contentsOf lists all that a workbook holds.
func contentsOf(t *testing.T, w *Workbook) []string {
	t.Helper()
	var out []string
	bench, err1 := w.LoadBench()
	parts, err2 := w.Parts()
	list, err3 := w.List()
	if err := errors.Join(err1, err2, err3); err != nil {
		t.Fatal(err)
	}
	out = append(out, string(bench.Job.Encode()), fmt.Sprint(parts))
	for _, e := range list {
		for n := 1; n <= e.Revisions; n++ {
			j, err := w.Load(e.ID, n)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, fmt.Sprint(e), string(j.Encode()))
		}
	}
	return out
}

func TestRestoreBringsABackupBackAndKeepsWhatWasThere(t *testing.T) {
	w := openNew(t)
	fill(t, w)
	before := contentsOf(t, w)
	backup := backUp(t, w)
	save(t, w, KindBuild, "after the backup", oneBuild(31))
	after := contentsOf(t, w)
	var used *InUseError
	if _, err := Restore(w.path, backup, time.Now()); !errors.As(err, &used) {
		t.Errorf("in use: %v", err)
	}
	closeAndCheck(t, w)
	at := time.Date(2026, 3, 14, 9, 26, 53, 0, time.UTC)
	kept, err := Restore(w.path, backup, at)
	if err != nil || filepath.Dir(kept) != filepath.Dir(w.path) {
		t.Fatalf("%q, %v", kept, err)
	}
	now := openAt(t, w.path, newClock())
	if !slices.Equal(contentsOf(t, now), before) {
		t.Error("it is not as the backup had it")
	}
	closeAndCheck(t, now)
	was := openAt(t, copyOf(t, kept), newClock())
	if !slices.Equal(contentsOf(t, was), after) {
		t.Error("what was there is not kept")
	}
	closeAndCheck(t, was)
	// Back again, under another name within the same second.
	again, err := Restore(w.path, kept, at)
	if err != nil || again == kept || !exists(again) || !exists(backup) {
		t.Fatalf("%q, %v", again, err)
	}
	if back := openAt(t, w.path, newClock()); !slices.Equal(contentsOf(t, back), after) {
		t.Error("it is not as it was before")
	}
}

func TestRestoreRefusesWhatItCannotTrust(t *testing.T) {
	w := openNew(t)
	fill(t, w)
	backup := backUp(t, w)
	closeAndCheck(t, w)
	whole := readFile(t, w.path)
	refused := func(from string, want any) {
		t.Helper()
		kept, err := Restore(w.path, from, time.Now())
		if err == nil || kept != "" || !errors.As(err, want) {
			t.Errorf("%s: %q, %v", from, kept, err)
		}
		if !bytes.Equal(readFile(t, w.path), whole) {
			t.Errorf("%s: the workbook is another", from)
		}
	}
	bad := readFile(t, backup)
	refused(writeFile(t, newPath(t), bad[:len(bad)/2]), new(*DamagedError))
	refused(filepath.Join(t.TempDir(), "nowhere.db"), new(*AccessError))
	if _, err := Restore(w.path, w.path, time.Now()); err == nil {
		t.Error("the workbook itself is taken for a backup")
	}
	// In the place of a damaged one, and of none.
	for _, there := range [][]byte{whole[:5000], []byte("words"), nil} {
		path := newPath(t)
		if there != nil {
			writeFile(t, path, there)
		}
		kept, err := Restore(path, backup, time.Now())
		if err != nil || (kept != "") != (there != nil) {
			t.Fatalf("over %d bytes: %q, %v", len(there), kept, err)
		}
		if there != nil && !bytes.Equal(readFile(t, kept), there) {
			t.Errorf("what was there is not kept: %d bytes", len(there))
		}
		if _, err := Examine(path); err != nil {
			t.Error(err)
		}
	}
}
