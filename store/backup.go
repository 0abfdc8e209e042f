package store

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	bolt "go.etcd.io/bbolt"
)

// dailyKept is how many of the automatic backups are kept.
const dailyKept = 5

const (
	daily     = "daily" // why a backup was made
	asked     = "asked"
	fileTime  = "20060102T150405Z"
	backupDue = 24 * time.Hour
	lookAgain = time.Hour // whether one is due, and after one that failed
)

// copyFile is a backup beside the workbook, named
// workbook.backup-0007-20260102T150405Z-daily.db. The number counts up, so that
// the newest is known even when the clock was set back.
type copyFile struct {
	path   string
	number int
	made   time.Time
	why    string
}

// besides returns the name of a file beside the workbook that keeps its ending.
func besides(path, middle string) string {
	ending := filepath.Ext(path)
	return strings.TrimSuffix(path, ending) + "." + middle + ending
}

// backups lists the backups beside a workbook, oldest first.
func backups(path string) []copyFile {
	files, err := os.ReadDir(folderOf(path))
	if err != nil {
		return nil // a folder that cannot be listed offers no backup
	}
	before, after, _ := strings.Cut(filepath.Base(besides(path, "backup-\x00")), "\x00")
	var out []copyFile
	for _, f := range files {
		name, ok1 := strings.CutPrefix(f.Name(), before)
		name, ok2 := strings.CutSuffix(name, after)
		fields := strings.Split(name, "-")
		if !ok1 || !ok2 || len(fields) != 3 {
			continue
		}
		number, err1 := strconv.Atoi(fields[0])
		made, err2 := time.Parse(fileTime, fields[1])
		if err1 == nil && err2 == nil {
			out = append(out, copyFile{filepath.Join(folderOf(path), f.Name()), number, made, fields[2]})
		}
	}
	slices.SortFunc(out, func(a, b copyFile) int { return cmp.Compare(a.number, b.number) })
	return out
}

// newestWhole returns the path of the newest backup that is whole, empty when there is none.
// It reads all of it, and of those that are not.
func newestWhole(path string) string {
	for _, c := range slices.Backward(backups(path)) {
		if checkFile(c.path) == nil {
			return c.path
		}
	}
	return ""
}

// Backup copies the workbook to a new file beside it and returns its path. The
// copy is complete, on the disk and checked when the call returns; changes made
// meanwhile are not in it. The error is a *CopyError or a *DamagedError.
func (w *Workbook) Backup() (string, error) { return w.backup(asked, nil) }

func (w *Workbook) backup(why string, amend func(*bolt.Tx) error) (string, error) {
	w.backing.Lock()
	defer w.backing.Unlock()
	next := 1
	if list := backups(w.path); len(list) > 0 {
		next = list[len(list)-1].number + 1
	}
	path := besides(w.path, fmt.Sprintf("backup-%04d-%s-%s", next, w.clock().UTC().Format(fileTime), why))
	if err := w.copyNamed(path, tempPattern(w.path), amend, os.Rename); err != nil {
		return "", err
	}
	return path, nil
}

// copyNamed copies the workbook to a temporary file beside a path and, once that is complete,
// on the disk and checked, gives it the name. Amend, where there is one, changes the copy
// first. Temps is how the temporary file is called: one that a kill left behind is found by
// that. The caller holds backing.
func (w *Workbook) copyNamed(path, temps string, amend func(*bolt.Tx) error, name func(temp, path string) error) error {
	if _, err := os.Lstat(path); err == nil {
		return &CopyError{AccessError{path, "written", fs.ErrExist}}
	}
	f, err := os.CreateTemp(folderOf(path), temps)
	if err != nil {
		return &CopyError{AccessError{path, "written", err}}
	}
	err = w.copyTo(f)
	if err == nil && amend != nil {
		err = amendFile(f.Name(), amend)
	}
	if err == nil {
		err = checkFile(f.Name())
	}
	if err == nil {
		err = name(f.Name(), path)
	}
	if err != nil {
		return w.dropTemp(f.Name(), path, err)
	}
	syncFolder(path)
	return nil
}

// copyTo writes the workbook to a file, syncs and closes it.
func (w *Workbook) copyTo(f *os.File) error {
	err := w.view(func(tx *bolt.Tx) error {
		out := &copyWriter{to: f}
		if _, err := tx.WriteTo(out); err != nil {
			return errors.Join(out.err, err)
		}
		return nil
	})
	if err == nil {
		err = f.Sync()
	}
	return errors.Join(err, f.Close())
}

// copyWriter remembers why a write failed, which the database tells only in words.
type copyWriter struct {
	to  *os.File
	err error
}

func (c *copyWriter) Write(data []byte) (int, error) {
	n, err := c.to.Write(data)
	c.err = err
	return n, err
}

// dropTemp removes a copy that did not become a backup and says why it did not.
func (w *Workbook) dropTemp(temp, path string, err error) error {
	var damaged *DamagedError
	remove := removeIfThere(temp)
	switch {
	case errors.As(err, &damaged):
		return damaged
	case isDamage(err):
		return w.damaged(err)
	case errors.Is(err, ErrClosed):
		return ErrClosed
	}
	return &CopyError{AccessError{path, "written", errors.Join(err, remove)}}
}

// amendFile changes a workbook that nobody has open.
func amendFile(path string, change func(*bolt.Tx) error) error {
	return guard(func() error {
		db, err := bolt.Open(path, 0o600, &bolt.Options{Timeout: lockWait})
		if err != nil {
			return err
		}
		return errors.Join(db.Update(change), db.Close())
	})
}

// checkFile reads every record of a workbook that nobody has open, without
// changing it, and returns the first damage it finds.
func checkFile(path string) error {
	return guard(func() error {
		// First of all: the rest, the database's own check above all, follows the pages.
		if err := checkPages(path); err != nil {
			return err
		}
		db, err := bolt.Open(path, 0o600, &bolt.Options{ReadOnly: true, Timeout: lockWait, PreLoadFreelist: true})
		if err != nil {
			return err
		}
		defer db.Close()
		return db.View(func(tx *bolt.Tx) error { return checkAll(tx, path) })
	})
}

func checkAll(tx *bolt.Tx, path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if err := checkSize(tx, info.Size()); err != nil {
		return err
	}
	if _, err := readSchema(tx); err != nil {
		return err
	}
	// Every page is read here first, where a fault can be caught: the database's
	// own check runs on a goroutine of its own.
	err = tx.ForEach(func(name []byte, _ *bolt.Bucket) error {
		return checkSeals(tx, name)
	})
	if err != nil {
		return err
	}
	var first error
	for problem := range tx.Check() {
		if first == nil {
			first = &brokenError{"its structure", "is broken: " + problem.Error()}
		}
	}
	return first
}

// backUpWhenDue makes the automatic backup after a change where the program has been open for
// long: a counter's is for weeks.
func (w *Workbook) backUpWhenDue() {
	now := w.clock()
	w.noting.Lock()
	defer w.noting.Unlock()
	if w.closing || now.Sub(w.looked).Abs() < lookAgain {
		return
	}
	w.looked = now
	w.upkeep.Go(w.daily)
}

// daily makes the automatic backup when the newest one is a day away, before or
// after: a clock that was set back must not stop backups for a year. Old
// automatic ones go once the new one is checked.
func (w *Workbook) daily() {
	if list := backups(w.path); len(list) > 0 && w.clock().Sub(list[len(list)-1].made).Abs() < backupDue {
		return
	}
	if _, err := w.backup(daily, nil); err != nil {
		w.trouble(&besideError{"The backup of today could not be made.", err})
		return
	}
	w.dropOld()
}

// dropOld removes the automatic backups but for the last few. Those of a workbook that was here
// before are not this one's to drop.
func (w *Workbook) dropOld() {
	w.backing.Lock()
	defer w.backing.Unlock()
	first := 0
	if err := w.view(func(tx *bolt.Tx) error {
		if data := tx.Bucket(bucketAbout).Get(keyFirstBackup); data != nil {
			body, err := unseal("its first backup", keyFirstBackup, data)
			first = int(sequence(body))
			return err
		}
		return nil
	}); err != nil {
		w.trouble(err)
		return
	}
	automatic := slices.DeleteFunc(backups(w.path), func(c copyFile) bool { return c.why != daily || c.number < first })
	for _, old := range automatic[:max(0, len(automatic)-dailyKept)] {
		if err := os.Remove(old.path); err != nil {
			w.trouble(&besideError{"An old backup could not be removed.", &CopyError{AccessError{old.path, "removed", err}}})
		}
	}
}

// setAside renames a damaged workbook, so that a new one can take its place and
// nothing is lost. The lock is still held where the database kept it, so no
// other process moves the file at the same time.
func (w *Workbook) setAside(cause error) error {
	out := &DamagedError{Path: w.path, Backup: newestWhole(w.path), Cause: cause}
	if !w.inPlace() {
		return &AccessError{w.path, "opened", errors.New("another process has just moved it; start again")}
	}
	if !mayBeOurs(w.path) {
		return sentencef("%s is no workbook, or nothing of one is left in it. It was not changed; choose another file with --workbook PATH.", w.path)
	}
	now := w.clock().UTC().Format(fileTime)
	aside := besides(w.path, "damaged-"+now)
	for i := 2; exists(aside); i++ {
		aside = besides(w.path, fmt.Sprintf("damaged-%s-%d", now, i))
	}
	if err := os.Rename(w.path, aside); err != nil {
		// Some systems do not rename an open file.
		if err := errors.Join(w.letGo(), os.Rename(w.path, aside)); err != nil {
			return out
		}
	}
	syncFolder(w.path)
	out.SetAside = aside
	return out
}

// mayBeOurs reports whether a damaged file may have been a workbook: one that a mistyped
// --workbook names must keep its name.
func mayBeOurs(path string) bool {
	if filepath.Ext(path) == ".db" || len(backups(path)) > 0 || exists(ownerPath(path)) {
		return true
	}
	file, err := os.Open(path)
	if err != nil {
		return false
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return false
	}
	_, err = (&pageWalk{file: file, length: uint64(info.Size())}).start()
	return err == nil // it has a header of the database
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return !errors.Is(err, fs.ErrNotExist)
}
