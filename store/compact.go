package store

import (
	"errors"
	"os"
	"runtime"

	bolt "go.etcd.io/bbolt"
)

// cleanCopy writes a changed copy of a database to a new file beside the workbook. No page
// of that file ever held anything else: the change is made to a draft, of which only
// what it holds then is copied. The file is where the database is now, which may not be
// where it was opened.
func (w *Workbook) cleanCopy(from *bolt.DB, file string, change func(*bolt.Tx) error) (path string, err error) {
	err = guard(func() error {
		return from.View(func(tx *bolt.Tx) error {
			info, err := os.Stat(file)
			if err != nil {
				return err
			}
			if err := checkSize(tx, info.Size()); err != nil {
				return err
			}
			if err := checkPages(file); err != nil {
				return err
			}
			return checkAll(tx, file) // a copy of what can be read would pass for all there is
		})
	})
	draft := ""
	if err == nil {
		draft, err = w.compacted(from, change)
	}
	if err == nil {
		err = guard(func() error {
			db, err := bolt.Open(draft, 0o600, &bolt.Options{ReadOnly: true, Timeout: lockWait})
			if err != nil {
				return err
			}
			path, err = w.compacted(db, func(*bolt.Tx) error { return nil })
			return errors.Join(err, db.Close())
		})
	}
	if err == nil {
		err = checkFile(path)
	}
	if draft != "" {
		err = errors.Join(err, removeIfThere(draft))
	}
	switch {
	case err == nil:
		return path, nil
	case path != "":
		err = errors.Join(err, removeIfThere(path))
	}
	if isDamage(err) || errors.Is(err, errUnchanged) {
		return "", err
	}
	return "", &AccessError{w.path, "written", err}
}

// mostInOne is how many bytes of records go into one transaction of a copy.
const mostInOne = 4 << 20

// compacted copies what a database holds to a new file beside the workbook and changes
// the copy. After an error the path is still that of the file, if there is one.
func (w *Workbook) compacted(from *bolt.DB, change func(*bolt.Tx) error) (path string, err error) {
	f, err := os.CreateTemp(folderOf(w.path), tempPattern(w.path))
	if err != nil {
		return "", err
	}
	if err := f.Close(); err != nil {
		return f.Name(), err
	}
	err = guard(func() error {
		db, err := bolt.Open(f.Name(), 0o600, &bolt.Options{Timeout: lockWait})
		if err != nil {
			return err
		}
		if err = bolt.Compact(db, from, mostInOne); err == nil {
			err = db.Update(change)
		}
		return errors.Join(err, db.Close())
	})
	return f.Name(), err
}

// takeOver puts a complete file in the place of the workbook and goes on with it; lost
// is the error where that is done and it could not be opened. The caller holds use.
func (w *Workbook) takeOver(clean string, lost error) error {
	old, file, info := w.db, w.file, w.info
	back := func(err error) error {
		w.db, w.file, w.info = old, file, info
		return &AccessError{w.path, "written", errors.Join(err, removeIfThere(clean))}
	}
	if runtime.GOOS == "windows" { // which renames no open file
		if err := guard(old.Close); err != nil {
			return w.loseIt(back(err))
		}
		renamed := os.Rename(clean, w.path)
		again := guard(w.connect)
		switch {
		case renamed != nil:
			err := &AccessError{w.path, "written", errors.Join(renamed, again, removeIfThere(clean))}
			if again != nil {
				return w.loseIt(err)
			}
			return err
		case again != nil:
			return w.loseIt(lost)
		}
		return nil
	}
	// Both files are locked at once: nobody can come in between.
	var db *bolt.DB
	err := guard(func() (err error) {
		db, err = bolt.Open(clean, 0o600, &bolt.Options{Timeout: lockWait, OpenFile: func(name string, flag int, mode os.FileMode) (*os.File, error) {
			return w.keepFile(name, flag&^os.O_CREATE, mode) // if it is gone, an empty one must not take its place
		}})
		return err
	})
	if err != nil {
		return back(err)
	}
	err = os.Rename(clean, w.path)
	if err == nil && !w.inPlace() {
		err = errors.New("the file was exchanged meanwhile")
	}
	if err != nil {
		return back(errors.Join(err, db.Close()))
	}
	w.db = db
	syncFolder(w.path)
	_ = guard(old.Close) // every page was read a moment ago, and nothing is in it any more
	return nil
}

// loseIt refuses every further call: the workbook is no longer open.
func (w *Workbook) loseIt(err error) error {
	w.noting.Lock()
	defer w.noting.Unlock()
	w.lost, w.db = err, nil
	return err
}

// errCompactedAndLost is returned by Compact when it is done, and the workbook could not be
// opened again.
const errCompactedAndLost = sentence("The workbook is compacted, but could not be opened again. Start the program again to go on.")

// Compact writes the workbook to a new file without the room of what is no longer there, and
// goes on with that. A kill leaves the old file or the new one. It returns the bytes before
// and after.
func (w *Workbook) Compact() (before, after int64, err error) {
	w.backing.Lock()
	defer w.backing.Unlock()
	w.use.Lock()
	defer w.use.Unlock()
	if err := w.ready(); err != nil {
		return 0, 0, err
	}
	if err := w.whole(); err != nil {
		return 0, 0, err
	}
	size := func() int64 {
		if info, err := os.Stat(w.path); err == nil {
			return info.Size()
		}
		return 0
	}
	before = size()
	clean, err := w.cleanCopy(w.db, w.path, func(*bolt.Tx) error { return nil })
	if err != nil {
		return before, before, w.explain(err)
	}
	if err := w.takeOver(clean, errCompactedAndLost); err != nil {
		return before, before, err
	}
	return before, size(), nil
}
