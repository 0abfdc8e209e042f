package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// These tests run as root in many places, who may write anything. So the disk is
// a small one, or one that can only be read, in a mount namespace of its own, or
// the process becomes another user.

func init() {
	helpers["full"] = useFullDisk
	helpers["erase full"] = eraseOnFullDisk
	helpers["readonly"] = useReadOnlyDisk
	helpers["rights"] = useWithoutRights
}

// nobody is a user who owns nothing.
const nobody = 65534

// runApart runs a helper in its own mount namespace.
func runApart(t *testing.T, name string) {
	t.Helper()
	unshare := []string{"unshare", "-rm"}
	if out, err := exec.Command(unshare[0], append(unshare[1:], "true")...).CombinedOutput(); err != nil {
		skipLoudly(t, fmt.Sprintf("no mount namespace here: %v %s", err, out))
	}
	if out, err := helper(t, unshare, name, t.TempDir()).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
}

func TestFullDiskIsASentenceAndLosesNothing(t *testing.T) { runApart(t, "full") }
func TestEraseOnAFullDiskChangesNothing(t *testing.T)     { runApart(t, "erase full") }
func TestReadOnlyDiskIsASentence(t *testing.T)            { runApart(t, "readonly") }

// mustBeAccess fails unless the error is an AccessError with that cause that
// says the words.
func mustBeAccess(err error, cause error, words ...string) error {
	var access *AccessError
	if !errors.As(err, &access) || !errors.Is(err, cause) {
		return fmt.Errorf("want an AccessError about %v, got %T %v", cause, err, err)
	}
	for _, word := range append(words, "What was saved before is safe.") {
		if !strings.Contains(err.Error(), word) {
			return fmt.Errorf("the error does not say %q: %v", word, err)
		}
	}
	return nil
}

func useFullDisk(args []string) error {
	disk := args[0]
	if err := syscall.Mount("none", disk, "tmpfs", 0, "size=1m"); err != nil {
		return err
	}
	path := filepath.Join(disk, "a", "workbook.db")
	w, err := Open(path, newClock().options())
	if err != nil {
		return err
	}
	if err := w.SaveBench(Bench{Job: oneBuild(30)}); err != nil {
		return err
	}
	built, _, err := w.Save(KindBuild, "turned", oneBuild(30))
	if err != nil {
		return err
	}
	filler := filepath.Join(disk, "filler")
	if err := os.WriteFile(filler, make([]byte, 2<<20), 0o600); !errors.Is(err, syscall.ENOSPC) {
		return fmt.Errorf("the disk did not fill: %w", err)
	}
	// A build that is too large for what is left of the file leaves the old one.
	long := oneBuild(31)
	for range 4000 {
		long.Builds[0].Extras = append(long.Builds[0].Extras, part.Extra{Name: strings.Repeat("wrap of thread ", 8), Weight: 1 * unit.Grain})
	}
	if _, _, err := w.Save(KindBuild, "turned", long); mustBeAccess(err, syscall.ENOSPC, path, "The disk is full") != nil {
		return fmt.Errorf("a build: %w", mustBeAccess(err, syscall.ENOSPC))
	}
	if revisions, err := w.Revisions(built.ID); err != nil || len(revisions) != 1 {
		return fmt.Errorf("after a save on a full disk: %d revisions, %v", len(revisions), err)
	}
	if j, err := w.Load(built.ID, 0); err != nil || count(j) != 30_000 {
		return fmt.Errorf("after a save on a full disk the build is another: %w", err)
	}
	large := Bench{Job: oneBuild(31), View: make([]byte, 300_000)}
	for range 3 {
		if err := mustBeAccess(w.SaveBench(large), syscall.ENOSPC, path, "The disk is full", "Free some space"); err != nil {
			return err
		}
	}
	before, err := w.Parts()
	if err != nil {
		return err
	}
	plan, err := planOfHeads(5000)
	if err != nil {
		return err
	}
	if err := mustBeAccess(w.Apply(plan), syscall.ENOSPC, "The disk is full"); err != nil {
		return fmt.Errorf("import: %w", err)
	}
	if after, err := w.Parts(); err != nil || len(after) != len(before) {
		return fmt.Errorf("after an import on a full disk: %d parts of %d, %v", len(after), len(before), err)
	}
	if _, err := w.Backup(); mustBeAccess(err, syscall.ENOSPC, "The disk is full") != nil {
		return fmt.Errorf("backup: %w", mustBeAccess(err, syscall.ENOSPC))
	}
	if err := hasBench(w, 30); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	_, err = Open(filepath.Join(disk, "b", "workbook.db"), newClock().options())
	if err := mustBeAccess(err, syscall.ENOSPC, "could not be created"); err != nil {
		return err
	}
	if left, err := os.ReadDir(filepath.Join(disk, "b")); len(left) > 0 {
		return fmt.Errorf("left behind: %v, %w", left, err)
	}
	// What is there can still be read on a full disk.
	if w, err = Open(path, newClock().options()); err != nil {
		return err
	}
	if err := hasBench(w, 30); err != nil {
		return err
	}
	if err := os.Remove(filler); err != nil {
		return err
	}
	if err := w.SaveBench(large); err != nil {
		return fmt.Errorf("after space was freed: %w", err)
	}
	if err := hasBench(w, 31); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	return checkFile(path)
}

// eraseOnFullDisk erases a customer with ever more space left on the disk, until there
// is enough of it.
func eraseOnFullDisk(args []string) error {
	disk := args[0]
	if err := syscall.Mount("none", disk, "tmpfs", 0, "size=3m"); err != nil {
		return err
	}
	folder := filepath.Join(disk, "a")
	w, err := Open(filepath.Join(folder, "workbook.db"), newClock().options())
	if err != nil {
		return err
	}
	if err := putGone(w, false); err != nil {
		return err
	}
	for range 2 {
		if _, err := w.Backup(); err != nil {
			return err
		}
	}
	before, _, err := whatIsLeft(w)
	if err != nil {
		return err
	}
	filler := filepath.Join(disk, "filler")
	for free := 0; ; free += 24 << 10 {
		if free > 3<<20 {
			return errors.New("all of the disk is not enough")
		}
		if err := os.WriteFile(filler, make([]byte, 4<<20), 0o600); !errors.Is(err, syscall.ENOSPC) {
			return fmt.Errorf("the disk did not fill: %w", err)
		}
		info, err := os.Stat(filler)
		if err != nil {
			return err
		}
		if err := os.Truncate(filler, max(info.Size()-int64(free), 0)); err != nil {
			return err
		}
		erased, failed := w.Erase(gone)
		if failed == nil {
			if free == 0 || !erased.Known || len(erased.Left) > 0 {
				return fmt.Errorf("with %d bytes free: %+v", free, erased)
			}
			break
		}
		if err := mustBeAccess(failed, syscall.ENOSPC, w.path, "The disk is full", "Free some space"); err != nil {
			return fmt.Errorf("with %d bytes free: %w", free, err)
		}
		if err := isAsBefore(w, before); err != nil {
			return fmt.Errorf("with %d bytes free: %w", free, err)
		}
		// The workbook is none the worse for it when it is opened the next time.
		if err := errors.Join(w.Close(), checkFile(w.path)); err != nil {
			return err
		}
		if w, err = Open(w.path, newClock().options()); err != nil {
			return err
		}
		if left, err := filepath.Glob(w.path + tempMark + "*"); err != nil || len(left) > 0 {
			return fmt.Errorf("with %d bytes free, left behind: %v, %w", free, left, err)
		}
		if err := isAsBefore(w, before); err != nil {
			return fmt.Errorf("with %d bytes free, opened again: %w", free, err)
		}
		for _, c := range backups(w.path) {
			if err := checkFile(c.path); err != nil {
				return fmt.Errorf("with %d bytes free: %s: %w", free, c.path, err)
			}
		}
	}
	if left, err := holding(folder, gone); err != nil || len(left) > 0 {
		return fmt.Errorf("the name is still in %v, %w", left, err)
	}
	if err := os.Remove(filler); err != nil {
		return err
	}
	if err := w.SaveBench(Bench{Job: oneBuild(31)}); err != nil {
		return err
	}
	return errors.Join(w.Close(), checkFile(w.path))
}

// isAsBefore checks that a workbook holds what it held.
func isAsBefore(w *Workbook, before string) error {
	now, _, err := whatIsLeft(w)
	if err == nil && now != before {
		err = errors.New("the workbook is not as it was")
	}
	return err
}

func useReadOnlyDisk(args []string) error {
	disk := args[0]
	path := filepath.Join(disk, "workbook.db")
	w, err := Open(path, newClock().options())
	if err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	before, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	if err := syscall.Mount(disk, disk, "", syscall.MS_BIND, ""); err != nil {
		return err
	}
	if err := syscall.Mount("none", disk, "", syscall.MS_BIND|syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		return err
	}
	_, err = Open(path, newClock().options())
	if err := mustBeAccess(err, syscall.EROFS, path, "can only be read", "--workbook"); err != nil {
		return err
	}
	_, err = Open(filepath.Join(disk, "new", "workbook.db"), newClock().options())
	if err := mustBeAccess(err, syscall.EROFS, "could not be created"); err != nil {
		return err
	}
	after, err := os.ReadFile(path)
	if err == nil && string(after) != string(before) {
		err = errors.New("the workbook changed")
	}
	return err
}

func TestUnwritableFileOrFolderIsASentence(t *testing.T) {
	// Not t.TempDir, which another user may not enter.
	root, err := os.MkdirTemp("", "foreshaft-rights-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(root) })
	if err := os.Chmod(root, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"file", "folder", "none"} {
		writeFile(t, filepath.Join(root, name, "workbook.db"), readFile(t, filled(t)))
	}
	if err := os.Remove(filepath.Join(root, "none", "workbook.db")); err != nil {
		t.Fatal(err)
	}
	if os.Getuid() == 0 {
		err := filepath.WalkDir(root, func(path string, _ fs.DirEntry, _ error) error { return os.Chown(path, nobody, nobody) })
		if err != nil {
			t.Fatal(err)
		}
	}
	for path, mode := range map[string]os.FileMode{"file/workbook.db": 0o400, "folder": 0o500, "none": 0o500} {
		if err := os.Chmod(filepath.Join(root, path), mode); err != nil {
			t.Fatal(err)
		}
	}
	before := readFile(t, filepath.Join(root, "file", "workbook.db"))
	if out, err := helper(t, nil, "rights", root).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if string(readFile(t, filepath.Join(root, "file", "workbook.db"))) != string(before) {
		t.Error("the workbook changed")
	}
}

func useWithoutRights(args []string) error {
	root := args[0]
	if os.Getuid() == 0 {
		if err := errors.Join(syscall.Setgroups(nil), syscall.Setgid(nobody), syscall.Setuid(nobody)); err != nil {
			return err
		}
	}
	_, err := Open(filepath.Join(root, "file", "workbook.db"), newClock().options())
	if err := mustBeAccess(err, fs.ErrPermission, "could not be opened", "lack the right", "--workbook"); err != nil {
		return err
	}
	_, err = Open(filepath.Join(root, "none", "workbook.db"), newClock().options())
	if err := mustBeAccess(err, fs.ErrPermission, "could not be created", "lack the right"); err != nil {
		return err
	}
	// In a folder that cannot be written the workbook itself still can.
	path := filepath.Join(root, "folder", "workbook.db")
	w, err := Open(path, newClock().options())
	if err != nil {
		return err
	}
	if err := w.SaveBench(Bench{Job: oneBuild(30)}); err != nil {
		return err
	}
	if _, err := w.Backup(); mustBeAccess(err, fs.ErrPermission) != nil {
		return fmt.Errorf("backup: %w", err)
	}
	if err := hasBench(w, 30); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	if len(w.Troubles()) != 2 {
		return fmt.Errorf("troubles, want owner file and daily backup: %v", w.Troubles())
	}
	return checkFile(path)
}
