package store

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"time"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
)

// Health is what a workbook that is whole holds.
type Health struct {
	Path      string
	Schema    int
	Parts     int
	Customers int
	Entries   int // with those in the bin
	Revisions int
	Bytes     int64 // of the file
	Backups   []BackupFile
}

// BackupFile is a backup beside a workbook.
type BackupFile struct {
	Path  string
	Made  time.Time
	Why   string // such as "daily"
	Bytes int64
}

// Backups lists the backups beside a workbook, the oldest first.
func Backups(path string) []BackupFile {
	var out []BackupFile
	for _, c := range backups(path) {
		size := int64(0)
		if info, err := os.Stat(c.path); err == nil {
			size = info.Size()
		}
		out = append(out, BackupFile{c.path, c.made, c.why, size})
	}
	return out
}

// Examine reads every record of a workbook, or of a backup, without changing anything: each
// page, each checksum, and each record as the program does. The error is a *DamagedError for
// the first that is wrong, *InUseError, *NewerError or *AccessError.
func Examine(path string) (*Health, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, &CopyError{AccessError{path, "opened", err}}
	case !info.Mode().IsRegular():
		return nil, sentencef("%s is not a file, and so no workbook.", path)
	case info.Size() == 0:
		return nil, sentencef("%s is empty: it holds nothing.%s", path, orBackup(path))
	}
	out := &Health{Path: path, Bytes: info.Size(), Backups: Backups(path)}
	err = readOnly(path, func(tx *bolt.Tx) error {
		if foreign(tx) {
			return sentencef("%s is a database of another program.", path)
		}
		if out.Schema, err = readSchema(tx); err != nil {
			return err
		}
		if known := schemaOf(migrations); out.Schema > known {
			return &NewerError{Path: path, Schema: out.Schema, Known: known}
		}
		if err := checkAll(tx, path); err != nil {
			return err
		}
		return out.count(tx)
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// count reads the records as the program does, and counts them.
func (h *Health) count(tx *bolt.Tx) error {
	parts, err := partsIn(tx)
	if err != nil {
		return err
	}
	h.Parts = len(parts)
	if err := h.indexes(tx, parts); err != nil {
		return err
	}
	bench := tx.Bucket(bucketBench)
	body, err := unseal("the bench", keyJob, bench.Get(keyJob))
	if err != nil {
		return err
	}
	if _, err := job.DecodeBench(body); err != nil {
		return &brokenError{"the bench", err.Error()}
	}
	if err := eachSeatRecord(tx, func(r seatRecord) error {
		body, err := unseal(r.String(), r.key, bench.Get(r.key))
		switch {
		case err != nil:
		case bytes.Equal(r.what, keyJob):
			_, err = job.DecodeBench(body)
		case bytes.Equal(r.what, keyChoices):
			_, err = decodeSettings(body)
		}
		if err != nil {
			return &brokenError{r.String(), err.Error()}
		}
		return nil
	}); err != nil {
		return err
	}
	return eachEntry(tx, func(id uint64, r *entryRecord) error {
		h.Entries++
		for n := 1; n <= r.Revisions; n++ {
			at, what := revisionKey(id, n), fmt.Sprintf("revision %d of saved number %d", n, id)
			body, err := unseal(what, at, tx.Bucket(bucketBodies).Get(at))
			if err != nil {
				return err
			}
			if _, err := job.DecodeBench(body); err != nil {
				return &brokenError{what, err.Error()}
			}
			data, err := unseal(what, at, tx.Bucket(bucketRevisions).Get(at))
			if err != nil {
				return err
			}
			if err := record.Decode(data, new(revisionRecord)); err != nil {
				return &brokenError{what, err.Error()}
			}
			h.Revisions++
		}
		return nil
	})
}

// indexes makes sure that what is found by name or ID is there, and the other way round, and
// counts the customers.
func (h *Health) indexes(tx *bolt.Tx, parts []part.Part) error {
	ids := tx.Bucket(bucketPartIDs)
	for _, p := range parts {
		if at, err := lookUp(ids, "the place of a part", []byte(p.ID)); err != nil || at == 0 {
			return errors.Join(err, &brokenError{fmt.Sprintf("the part %q", p.Name()), "cannot be found by its ID"})
		}
	}
	if n := keysOf(ids); n < len(parts) {
		return &brokenError{"the list of parts", fmt.Sprintf("has %d of %d", n, len(parts))}
	}
	names, entries := tx.Bucket(bucketNames), 0
	if err := eachEntry(tx, func(id uint64, r *entryRecord) error {
		entries++
		if at, err := lookUp(names, "a name", nameKey(r.Kind, r.Name)); err != nil || at != id {
			return errors.Join(err, &brokenError{fmt.Sprintf("what is saved as %q", r.Name), "cannot be found by its name"})
		}
		return nil
	}); err != nil {
		return err
	}
	if n := keysOf(names); n != entries {
		return &brokenError{"the list of what is saved", fmt.Sprintf("has %d names for %d", n, entries)}
	}
	b := tx.Bucket(bucketCustomers)
	if b == nil { // older workbooks have none
		return nil
	}
	return b.ForEach(func(key, value []byte) error {
		h.Customers++
		_, err := readCustomer(key, value)
		return err
	})
}

func keysOf(b *bolt.Bucket) (n int) {
	_ = b.ForEach(func(_, _ []byte) error { // which fails only when this does
		n++
		return nil
	})
	return n
}

// readOnly opens a database that no process is writing, makes sure that its pages can be
// followed, and reads in one transaction. Damage comes back as a *DamagedError.
func readOnly(path string, read func(tx *bolt.Tx) error) error {
	explain := func(err error) error {
		var (
			missing *fs.PathError
			number  syscall.Errno
		)
		switch {
		case err == nil:
			return nil
		case errors.Is(err, berrors.ErrTimeout):
			return inUse(path)
		case isDamage(err), errors.Is(err, berrors.ErrInvalid), errors.Is(err, berrors.ErrChecksum), errors.Is(err, berrors.ErrVersionMismatch):
			return &DamagedError{Path: path, Backup: newestWhole(path), Cause: err}
		case errors.As(err, &missing), errors.As(err, &number):
			return &AccessError{path, "opened", err}
		}
		return err
	}
	var db *bolt.DB
	err := guard(func() (err error) {
		db, err = bolt.Open(path, 0o600, &bolt.Options{ReadOnly: true, Timeout: lockWait})
		return err
	})
	if err != nil {
		return explain(err)
	}
	err = guard(func() error {
		info, err := os.Stat(path)
		if err != nil {
			return err
		}
		if err := db.View(func(tx *bolt.Tx) error { return checkSize(tx, info.Size()) }); err != nil {
			return err
		}
		if err := checkPages(path); err != nil {
			return err
		}
		return db.View(read)
	})
	return explain(errors.Join(err, guard(db.Close)))
}

// BackupTo copies the workbook to a new file. The copy is complete, on the disk and checked
// when the call returns. A file that is there already is left alone: that is an error.
func (w *Workbook) BackupTo(path string) error {
	_, err := w.backupTo(path, nil)
	return err
}

// BackupWith is Backup, or BackupTo where a path is given, with a bench in the copy that the
// workbook may not have: the disk is full, or something happened to the file.
func (w *Workbook) BackupWith(path string, bench Bench) (full string, err error) {
	return w.Seat("").BackupWith(path, bench)
}

// BackupWith is the Workbook's, with the bench of the seat.
func (s Seat) BackupWith(path string, bench Bench) (full string, err error) {
	return s.w.backupTo(path, func(tx *bolt.Tx) error { return s.put(tx, bench) })
}

func (w *Workbook) backupTo(path string, amend func(*bolt.Tx) error) (full string, err error) {
	if path == "" {
		return w.backup(asked, amend)
	}
	w.backing.Lock()
	defer w.backing.Unlock()
	temps := tempPattern(path)
	if folderOf(path) == folderOf(w.path) { // where one that a kill left behind is cleared away
		temps = tempPattern(w.path)
	}
	return path, w.copyNamed(path, temps, amend, nameAnew)
}

// orBackup names the newest backup of a workbook that is whole.
func orBackup(path string) string {
	if whole := newestWhole(path); whole != "" {
		return fmt.Sprintf(" The newest backup that is whole is %s: foreshaft restore --workbook %s goes back to it.", whole, path)
	}
	return ""
}

// backupError says that a backup was not put in the place of a workbook.
type backupError struct {
	backup, path, whole string
	cause               error
}

// Error says what is safe, and which other backup would do.
func (e *backupError) Error() string {
	var damaged *DamagedError
	if !errors.As(e.cause, &damaged) {
		return e.cause.Error()
	}
	text := fmt.Sprintf("The backup %s is damaged: %v. The workbook %s was not touched.", e.backup, damaged.Cause, e.path)
	if e.whole != "" && e.whole != e.backup {
		text += fmt.Sprintf(" The newest backup that is whole is %s: foreshaft restore --workbook %s %s goes back to it.", e.whole, e.path, e.whole)
	}
	return text
}

// Unwrap returns the cause.
func (e *backupError) Unwrap() error { return e.cause }

// nameAnew gives a complete temporary file a name that no file has.
func nameAnew(temp, path string) error {
	err := os.Link(temp, path)
	if err == nil {
		return os.Remove(temp)
	}
	if exists(path) {
		return &fs.PathError{Op: "create", Path: path, Err: fs.ErrExist}
	}
	return os.Rename(temp, path) // some file systems know no second name for a file
}

// Restore puts a backup in the place of the workbook at a path, or where none is. What is
// there now is kept beside it under a name that it returns, empty where nothing was there.
// The backup stays. A kill leaves the workbook as it was or as the backup has it, and the
// error says which: *InUseError, *DamagedError of the backup, *NewerError or *AccessError.
func Restore(path, backup string, now time.Time) (kept string, err error) {
	if path, err = realPath(path); err != nil {
		return "", err
	}
	if backup, err = realPath(backup); err != nil {
		return "", err
	}
	if backup == path {
		return "", sentencef("%s is the workbook itself: name a backup of it.", path)
	}
	if _, err := Examine(backup); err != nil {
		return "", &backupError{backup, path, newestWhole(path), err}
	}
	if err := os.MkdirAll(folderOf(path), 0o700); err != nil {
		return "", &AccessError{path, "written", err}
	}
	free, err := holdStill(path)
	if err != nil {
		return "", err
	}
	defer free()
	temp, err := copyBeside(backup, path)
	if err != nil {
		return "", &AccessError{path, "written", err}
	}
	drop := func(err error) error { return &AccessError{path, "written", errors.Join(err, removeIfThere(temp))} }
	if err := checkFile(temp); err != nil {
		return "", drop(err)
	}
	if exists(path) {
		kept = besides(path, "replaced-"+now.UTC().Format(fileTime))
		for i := 2; exists(kept); i++ {
			kept = besides(path, fmt.Sprintf("replaced-%s-%d", now.UTC().Format(fileTime), i))
		}
		// A second name, so that there is a workbook at every moment.
		if err := os.Link(path, kept); err != nil {
			other, err := copyBeside(path, path)
			if err == nil {
				err = os.Rename(other, kept)
			}
			if err != nil {
				return "", drop(err)
			}
		}
	}
	if err := os.Rename(temp, path); err != nil {
		return kept, drop(err)
	}
	syncFolder(path)
	return kept, nil
}

// realPath is the file that a path names.
func realPath(path string) (string, error) {
	full, err := filepath.Abs(path)
	if err != nil {
		return "", &AccessError{path, "found", err}
	}
	if real, err := filepath.EvalSymlinks(full); err == nil {
		full = real
	}
	return full, nil
}

// holdStill keeps other processes from a workbook until free is called, as far as there is
// one that can be locked: what is damaged no process has open.
func holdStill(path string) (free func(), err error) {
	nothing := func() {}
	if !exists(path) {
		return nothing, nil
	}
	var db *bolt.DB
	var file *os.File
	err = guard(func() (err error) {
		db, err = bolt.Open(path, 0o600, &bolt.Options{Timeout: lockWait, OpenFile: func(name string, flag int, mode fs.FileMode) (*os.File, error) {
			f, err := os.OpenFile(name, flag&^os.O_CREATE, mode)
			file = f
			return f, err
		}})
		return err
	})
	if errors.Is(err, berrors.ErrTimeout) {
		return nil, inUse(path)
	}
	if err != nil {
		if file != nil {
			unlock(file)
			_ = file.Close() // fails only when the database closed it already
		}
		return nothing, nil
	}
	return func() { _ = guard(db.Close) }, nil
}

// copyBeside copies a file to a temporary one beside a path, complete and on the disk.
func copyBeside(from, path string) (temp string, err error) {
	in, err := os.Open(from)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	out, err := os.CreateTemp(folderOf(path), tempPattern(path))
	if err != nil {
		return "", err
	}
	_, err = io.Copy(out, in)
	if err == nil {
		err = out.Sync()
	}
	if err = errors.Join(err, out.Close()); err != nil {
		return "", errors.Join(err, os.Remove(out.Name()))
	}
	return out.Name(), nil
}
