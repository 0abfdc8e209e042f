package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	bolt "go.etcd.io/bbolt"
)

// create makes a new workbook at the path when there is no file, or an empty
// one, and reports whether it did. The schema version, the buckets and the
// samples go into one transaction of a temporary file, which gets its name when
// it is complete: a kill leaves no file or a whole one.
func create(path string, schema int, anew bool) (bool, error) {
	info, err := os.Stat(path)
	switch {
	case err == nil && !info.Mode().IsRegular():
		return false, sentencef("%s is not a file, so it cannot be the workbook. Nothing was written; choose another place with --workbook PATH.", path)
	case err == nil && info.Size() > 0:
		return false, nil
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return false, &AccessError{path, "opened", err}
	}
	empty := err == nil
	before := backups(path)
	if len(before) > 0 && !anew {
		return false, &MissingError{Path: path, Empty: empty, Backup: newestWhole(path), Count: len(before)}
	}
	if err := os.MkdirAll(folderOf(path), 0o700); err != nil {
		return false, &AccessError{path, "created", err}
	}
	first := 1
	if n := len(before); n > 0 {
		first = before[n-1].number + 1
	}
	temp, err := fillNew(path, schema, first)
	if err != nil {
		return false, &AccessError{path, "created", err}
	}
	created, err := giveName(temp, path, empty)
	if err != nil {
		return false, &AccessError{path, "created", errors.Join(err, os.Remove(temp))}
	}
	syncFolder(path)
	return created, nil
}

// fillNew writes a new workbook to a temporary file beside the path.
func fillNew(path string, schema, firstBackup int) (temp string, err error) {
	f, err := os.CreateTemp(folderOf(path), tempPattern(path))
	if err != nil {
		return "", err
	}
	temp = f.Name()
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(temp))
		}
	}()
	if err := f.Close(); err != nil {
		return temp, err
	}
	db, err := bolt.Open(temp, 0o600, &bolt.Options{Timeout: lockWait})
	if err != nil {
		return temp, err
	}
	err = db.Update(func(tx *bolt.Tx) error {
		if err := makeBuckets(tx, schema); err != nil {
			return err
		}
		if err := putSealed(tx.Bucket(bucketAbout), keyFirstBackup, number(uint64(firstBackup))); err != nil {
			return err
		}
		if err := putParts(tx, SampleParts()); err != nil {
			return err
		}
		return putBench(tx, Bench{Job: SampleBench()})
	})
	return temp, errors.Join(err, db.Close())
}

// giveName moves a complete temporary file to the path and reports whether it
// did. When another process was faster its workbook stays: a plain rename would
// throw it away.
func giveName(temp, path string, empty bool) (bool, error) {
	if empty {
		if info, err := os.Stat(path); err != nil || info.Size() > 0 {
			return false, os.Remove(temp)
		}
		return true, os.Rename(temp, path)
	}
	err := os.Link(temp, path)
	if err == nil {
		return true, os.Remove(temp)
	}
	if _, there := os.Stat(path); there == nil {
		return false, removeIfThere(temp)
	}
	// Some file systems know no second name for a file.
	return true, os.Rename(temp, path)
}

func removeIfThere(path string) error {
	if err := os.Remove(path); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

func folderOf(path string) string { return filepath.Dir(path) }

// syncFolder makes a new name in the folder last through a power cut. Not every
// system can; the file itself is synced already, so there is nothing to report.
func syncFolder(path string) {
	if d, err := os.Open(folderOf(path)); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}

// tempMark stands in the name of every temporary file beside a workbook.
const tempMark = ".part-"

func tempPattern(path string) string { return filepath.Base(path) + tempMark + "*" }

// replaceFile puts a file with that data in the place of one at the path, or
// where none is. It goes through a temporary file beside it, named by temps, so
// that nobody reads half of it and an error leaves the old one; only the user may
// read it. Synced, the old one or the new one also outlasts a power cut.
func replaceFile(path, temps string, data []byte, sync bool) error {
	f, err := os.CreateTemp(folderOf(path), temps)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err == nil && sync {
		err = f.Sync()
	}
	err = errors.Join(err, f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	if sync {
		syncFolder(path)
	}
	return nil
}

// clearTemps removes temporary files that a killed process left. They were
// never complete, and the caller holds the workbook's lock.
func clearTemps(path string) {
	files, err := os.ReadDir(folderOf(path))
	if err != nil {
		return // a folder that cannot be listed keeps its left-overs
	}
	for _, f := range files {
		if strings.HasPrefix(f.Name(), filepath.Base(path)+tempMark) {
			_ = os.Remove(filepath.Join(folderOf(path), f.Name()))
		}
	}
}

// stamp is a time as records hold it.
func stamp(t time.Time) string { return t.UTC().Format(time.RFC3339Nano) }
