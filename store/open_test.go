package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"

	"foreshaft/engine/record"
)

func TestMissingFileBecomesANewWorkbookWithSamples(t *testing.T) {
	path := newPath(t)
	w := openAt(t, path, newClock())
	if !w.Fresh() || w.Path() != path {
		t.Errorf("fresh %v, path %s", w.Fresh(), w.Path())
	}
	bench, err := w.LoadBench()
	if err != nil || !bench.Job.Equal(SampleBench()) {
		t.Errorf("bench %v, %v", bench.Job, err)
	}
	parts, err := w.Parts()
	if err != nil || !sameParts(parts, SampleParts()) {
		t.Errorf("%d parts, %v", len(parts), err)
	}
	if list, err := w.List(); err != nil || len(list) != 0 {
		t.Errorf("saved: %v, %v", list, err)
	}
	if got := folder(t, filepath.Dir(path)); !slices.Equal(got, []string{"workbook.db", "workbook.db.owner"}) {
		t.Errorf("beside the workbook: %v", got)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if again := openAt(t, path, newClock()); again.Fresh() {
		t.Error("fresh the second time")
	}
}

// Opening for reading alone waits for the owner's lock as well: what wants to
// look into a workbook in use must have a copy.
func TestOpeningForReadingAloneWaitsForTheLockToo(t *testing.T) {
	w := openNew(t)
	_, err := bolt.Open(w.Path(), 0o600, &bolt.Options{ReadOnly: true, Timeout: 100 * time.Millisecond})
	if !errors.Is(err, berrors.ErrTimeout) {
		t.Errorf("it opens beside its owner: %v", err)
	}
	copied, err := w.Backup()
	if err != nil {
		t.Fatal(err)
	}
	db, err := bolt.Open(copied, 0o600, &bolt.Options{ReadOnly: true, Timeout: 100 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Error(err)
	}
}

func TestOnlyTheUserMayReadTheWorkbook(t *testing.T) {
	onUnix(t)
	w := openNew(t)
	copied, err := w.Backup()
	if err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]os.FileMode{
		filepath.Dir(w.path): 0o700, w.path: 0o600, ownerPath(w.path): 0o600, copied: 0o600,
	} {
		info, err := os.Stat(path)
		if err != nil || info.Mode().Perm() != want {
			t.Errorf("%s: %v, %v, want %v", path, info.Mode().Perm(), err, want)
		}
	}
}

func TestEmptyFileIsANewWorkbook(t *testing.T) {
	path := writeFile(t, newPath(t), nil)
	if w := openAt(t, path, newClock()); !w.Fresh() {
		t.Error("not fresh")
	}
}

// Between looking for the file and naming the new one, another process may have
// made a workbook and put work into it.
func TestNewWorkbookNeverReplacesOneThatCameMeanwhile(t *testing.T) {
	for _, empty := range []bool{false, true} {
		path := filled(t)
		temp := writeFile(t, path+tempMark+"1", []byte("a new workbook"))
		before := readFile(t, path)
		if made, err := giveName(temp, path, empty); made || err != nil {
			t.Errorf("empty %v: made %v, %v", empty, made, err)
		}
		if !slices.Equal(readFile(t, path), before) || exists(temp) {
			t.Errorf("empty %v: replaced, or left %v", empty, folder(t, filepath.Dir(path)))
		}
	}
}

func TestOneByteIsDamageNotANewWorkbook(t *testing.T) {
	path := writeFile(t, newPath(t), []byte{0})
	_, err := Open(path, newClock().options())
	mustBeSetAside(t, err, path, []byte{0})
}

func TestFolderInPlaceOfTheWorkbook(t *testing.T) {
	_, err := Open(t.TempDir(), newClock().options())
	says(t, err, "is not a file", "Nothing was written", "--workbook")
}

func TestFileWhereTheFolderShouldBe(t *testing.T) {
	file := writeFile(t, newPath(t), []byte("a letter"))
	_, err := Open(filepath.Join(file, "deeper", "workbook.db"), newClock().options())
	var access *AccessError
	if !errors.As(err, &access) || string(readFile(t, file)) != "a letter" {
		t.Errorf("%v", err)
	}
}

func TestAnotherProgramsDatabaseIsNotMoved(t *testing.T) {
	path := writeFile(t, newPath(t), nil)
	db, err := bolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) error { _, err := tx.CreateBucket([]byte("letters")); return err })
	if err = errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	before := readFile(t, path)
	_, err = Open(path, newClock().options())
	says(t, err, "another program", "not changed")
	if !slices.Equal(readFile(t, path), before) || !slices.Equal(folder(t, filepath.Dir(path)), []string{"workbook.db"}) {
		t.Errorf("touched: %v", folder(t, filepath.Dir(path)))
	}
}

func TestLinkToTheWorkbookStaysALink(t *testing.T) {
	onUnix(t)
	w := openNew(t)
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(t.TempDir(), "link.db")
	if err := os.Symlink(w.path, link); err != nil {
		t.Fatal(err)
	}
	if again := openAt(t, link, newClock()); again.Fresh() || again.Path() != w.path {
		t.Errorf("opened %s", again.Path())
	}
}

func TestAfterCloseEverythingSaysSo(t *testing.T) {
	w := openNew(t)
	for range 2 {
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
	}
	_, errBench := w.LoadBench()
	_, errParts := w.Parts()
	_, errList := w.List()
	_, errBackup := w.Backup()
	for _, err := range []error{errBench, errParts, errList, errBackup, w.SaveBench(Bench{Job: SampleBench()})} {
		if !errors.Is(err, ErrClosed) {
			t.Errorf("%v", err)
		}
	}
	if got := folder(t, filepath.Dir(w.path)); !slices.Equal(got, []string{"workbook.db"}) {
		t.Errorf("left behind: %v", got)
	}
}

func TestNewerWorkbookIsRefusedUnchangedAndReleased(t *testing.T) {
	path := filled(t)
	db, err := bolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) error { return putSchema(tx, 99) })
	if err = errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	before := readFile(t, path)
	_, err = Open(path, newClock().options())
	var newer *NewerError
	if !errors.As(err, &newer) || newer.Schema != 99 || newer.Known != schemaOf(migrations) {
		t.Fatalf("%v", err)
	}
	says(t, err, path, "99", "Nothing in it was changed", "newer version")
	if !slices.Equal(readFile(t, path), before) || !slices.Equal(folder(t, filepath.Dir(path)), []string{"workbook.db"}) {
		t.Errorf("touched: %v", folder(t, filepath.Dir(path)))
	}
	if db, err = bolt.Open(path, 0o600, &bolt.Options{Timeout: 100 * time.Millisecond}); err != nil {
		t.Fatalf("the lock was kept: %v", err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

func TestLeftOversOfAKilledProcessAreCleared(t *testing.T) {
	path := filled(t)
	writeFile(t, path+tempMark+"123", []byte("half a backup"))
	other := writeFile(t, filepath.Join(filepath.Dir(path), "notes.part-1"), []byte("somebody's"))
	openAt(t, path, newClock())
	if exists(path+tempMark+"123") || !exists(other) {
		t.Errorf("%v", folder(t, filepath.Dir(path)))
	}
}

func TestDefaultPath(t *testing.T) {
	for _, row := range []struct {
		system, want string
		env          map[string]string
	}{
		{"linux", "/tmp/w.db", map[string]string{EnvPath: "/tmp/w.db", "XDG_DATA_HOME": "/x", "HOME": "/h"}},
		{"linux", "/x/foreshaft/workbook.db", map[string]string{"XDG_DATA_HOME": "/x", "HOME": "/h"}},
		{"linux", "/h/.local/share/foreshaft/workbook.db", map[string]string{"XDG_DATA_HOME": "x", "HOME": "/h"}},
		{"linux", "/h/.local/share/foreshaft/workbook.db", map[string]string{"HOME": "/h"}},
		{"darwin", "/h/Library/Application Support/foreshaft/workbook.db", map[string]string{"HOME": "/h"}},
		{"windows", "/local/foreshaft/workbook.db", map[string]string{"LOCALAPPDATA": "/local", "HOME": "/h"}},
	} {
		got, err := defaultPath(func(name string) string { return row.env[name] }, row.system)
		if err != nil || filepath.ToSlash(got) != row.want {
			t.Errorf("%s %v: %q, %v, want %q", row.system, row.env, got, err, row.want)
		}
	}
	_, err := DefaultPath(func(string) string { return "" })
	says(t, err, "no home folder", "Nothing was written", EnvPath)
}

func TestSentencesEndAsSentences(t *testing.T) {
	cause := errors.New("cause")
	for _, err := range []error{
		ErrClosed, &InUseError{Path: "p"}, &InUseError{Path: "p", Owner: Owner{PID: 3}}, &NewerError{Path: "p"},
		&DamagedError{Path: "p", Cause: cause}, &DamagedError{Path: "p", Cause: cause, Backup: "b"},
		&DamagedError{Path: "p", Cause: cause, SetAside: "s"}, &DamagedError{Path: "p", Cause: cause, SetAside: "s", Backup: "b"},
		&AccessError{"p", "saved", cause}, &MovedError{"p"}, &MissingError{Path: "p", Backup: "b", Count: 2}, &MissingError{Path: "p", Empty: true, Count: 1},
		&CopyError{AccessError{"p", "written", cause}}, &CopyError{AccessError{"p", "written", fs.ErrExist}}, &CopyError{AccessError{"f/p", "written", fs.ErrNotExist}},
		&CopyError{AccessError{"p", "opened", fs.ErrNotExist}}, &CopyError{AccessError{"p", "written", syscall.ENOSPC}}, &CopyError{AccessError{"p", "written", syscall.EROFS}},
		&CopyError{AccessError{"p", "written", os.ErrPermission}}, &CopyError{AccessError{os.TempDir(), "written", cause}}, &backupError{"b", "p", "w", &DamagedError{Path: "b", Cause: cause}}, &AccessError{"p", "saved", os.ErrPermission}, &NotFoundError{ID: 1},
		&NotFoundError{ID: 1, Revision: 2}, &InvalidError{"The bench", cause}, &MigrationError{Path: "p", Cause: cause, Backup: "b"},
		&SettingsError{"p", "saved", cause}, &SettingsError{"p", "saved", syscall.ENOSPC}, &SettingsError{"p", "read", &record.Error{Path: "theme", Message: "must be light"}},
	} {
		text := err.Error()
		if !strings.HasSuffix(text, ".") || strings.Contains(text, "  ") || strings.Contains(text, "..") {
			t.Errorf("%T: %s", err, text)
		}
	}
}
