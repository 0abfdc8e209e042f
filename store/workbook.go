// Package store keeps everything a user wants back in one file, the workbook:
// the working bench, the parts in the drawer, saved builds, benches and bows with
// every revision. The settings, which hold for every workbook, are a file of
// their own that a person may edit.
//
// The file is a bbolt database. One process owns it at a time. Every change is
// one transaction and is on the disk when the call returns; a kill leaves the
// state before it or after it. Damage never crashes the program and is never
// deleted: the file is set aside and the error says where. The clock comes from
// outside. A Workbook may be used from several goroutines.
package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"syscall"
	"time"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"
)

// lockWait is how long Open waits for another process to let go of the
// workbook. Zero would wait for ever, and less than 50 ms not at all.
const lockWait = time.Second

// Options is what Open needs from outside.
type Options struct {
	// New makes a new workbook although there are backups of one that is not there any more.
	New     bool
	Clock   func() time.Time // nil is the computer's clock; called from several goroutines
	Program string           // name and version, for the message to a second process
}

// Workbook is an open workbook.
type Workbook struct {
	path  string
	clock func() time.Time
	fresh bool
	owner Owner
	left  Owner // of a process that ended without closing

	sound   chan struct{} // closed once the pages were looked through
	unsound error         // what was found wrong then

	use     sync.RWMutex // held for reading by each call, for writing by Close
	writing sync.Mutex   // held by the one change under way
	backing sync.Mutex   // held by the one backup under way
	upkeep  sync.WaitGroup
	db      *bolt.DB
	file    *os.File    // the database's own, which holds the lock
	info    fs.FileInfo // of that file

	judging sync.Mutex
	judged  string // the newest backup when it was last looked which is whole
	sure    string // that one

	noting   sync.Mutex
	looked   time.Time // when it was last looked whether a backup is due
	closing  bool
	closed   bool
	lost     error // after damage that leaves no more to do but close
	hung     bool  // the database's own locks are held for ever
	troubles []error
}

// Open opens the workbook at a path and creates it, filled with samples, when
// there is no file or an empty one, unless there are backups of one and New is not set.
// The errors are *InUseError, *NewerError, *DamagedError, *MissingError, *AccessError,
// *MigrationError or another sentence.
func Open(path string, opt Options) (*Workbook, error) { return open(path, opt, migrations) }

func open(path string, opt Options, steps []migration) (*Workbook, error) {
	if opt.Clock == nil {
		opt.Clock = time.Now
	}
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, &AccessError{path, "found", err}
	}
	// A link stays a link: the file it names is the one to replace or set aside.
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	fresh, err := create(path, schemaOf(steps), opt.New)
	if err != nil {
		return nil, err
	}
	w := &Workbook{path: path, clock: opt.Clock, fresh: fresh, looked: opt.Clock(), sound: make(chan struct{})}
	if err := w.connect(); err != nil {
		return nil, w.refuse(err)
	}
	if err := w.settle(opt.Program, steps); err != nil {
		return nil, w.refuse(err)
	}
	if !fresh {
		w.upkeep.Go(w.daily)
	}
	return w, nil
}

// connect opens the database and takes its lock. Before it is opened for writing, which
// follows the list of free pages, it is looked whether that can be followed.
func (w *Workbook) connect() error {
	if err := w.lookFirst(); err != nil {
		return err
	}
	return w.openToWrite()
}

func (w *Workbook) openToWrite() error {
	const attempts = 3
	for range attempts {
		err := guard(func() (err error) {
			w.db, err = bolt.Open(w.path, 0o600, &bolt.Options{Timeout: lockWait, OpenFile: w.keepFile})
			return err
		})
		if err != nil {
			return err
		}
		if w.inPlace() {
			return nil
		}
		// While this process waited for the lock, the one that held it moved the
		// file: what is open is not what the path names any more.
		if err := w.db.Close(); err != nil {
			return err
		}
		w.db = nil
	}
	return &fs.PathError{Op: "open", Path: w.path, Err: errors.New("the file keeps being replaced")}
}

// lookFirst opens the database for reading, which takes no look at free pages, and makes sure
// that it can be followed.
func (w *Workbook) lookFirst() error {
	err := guard(func() (err error) {
		w.db, err = bolt.Open(w.path, 0o600, &bolt.Options{ReadOnly: true, Timeout: lockWait, OpenFile: w.keepFile})
		return err
	})
	if err != nil {
		return err
	}
	err = w.view(func(tx *bolt.Tx) error {
		info, err := w.file.Stat()
		if err != nil {
			return err
		}
		if err := checkSize(tx, info.Size()); err != nil {
			return err
		}
		headers, err := checkWays(w.file, info.Size())
		if err == nil && headers < 2 {
			w.trouble(errHeader)
		}
		return err
	})
	if err != nil {
		return err
	}
	err = guard(w.db.Close)
	w.db = nil
	return err
}

// errHeader is noted where the newer of the two headers of the file may be the one that is lost:
// the database falls back to the change before, as it does after a power cut.
const errHeader = sentence("One of the two headers of the workbook cannot be read, as after a power cut. The last change before that may be missing; everything else is there, and nothing more is lost by it.")

// keepFile opens the database's file and remembers it: after a panic inside the
// database there is no other way to release the lock.
func (w *Workbook) keepFile(name string, flag int, mode fs.FileMode) (*os.File, error) {
	f, err := os.OpenFile(name, flag, mode)
	if err != nil {
		return nil, err
	}
	w.file = f
	w.info, err = f.Stat()
	return f, err
}

// inPlace reports whether the open file is the one at the path.
func (w *Workbook) inPlace() bool {
	there, err := os.Stat(w.path)
	return err == nil && w.info != nil && os.SameFile(w.info, there)
}

// settle checks the open database, brings it to the present schema and writes
// down who owns it.
func (w *Workbook) settle(program string, steps []migration) error {
	schema, known := 0, schemaOf(steps)
	err := w.view(func(tx *bolt.Tx) (err error) {
		if foreign(tx) {
			return sentencef("%s is a database of another program. It was not changed; choose another workbook with --workbook PATH.", w.path)
		}
		if schema, err = readSchema(tx); err != nil || schema > known {
			return err
		}
		if schema == known {
			return checkLayout(tx)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if schema > known {
		return &NewerError{Path: w.path, Schema: schema, Known: known}
	}
	w.own(program)
	w.upkeep.Go(w.lookThrough)
	if schema < known {
		if err := w.migrate(schema, steps); err != nil {
			return err
		}
		return w.view(checkLayout)
	}
	return nil
}

// own writes the owner file and clears away what a killed process left half
// done. Both are a courtesy: a full disk must not keep a user from reading.
func (w *Workbook) own(program string) {
	if o, ok := readOwner(w.path); ok && !o.running() {
		w.left = o
	}
	w.owner = thisProcess(program, w.clock())
	if err := writeOwner(w.path, w.owner); err != nil {
		w.trouble(&besideError{"A second program could not be told that this one has the workbook open; nothing is lost by that.", &CopyError{AccessError{ownerPath(w.path), "written", err}}})
	}
	clearTemps(w.path)
}

// lookThrough looks at every page, which takes too long to open with. Nothing is written
// before: a page that is bent could take the program with it, or bend others.
func (w *Workbook) lookThrough() {
	defer close(w.sound)
	w.unsound = w.look()
	if w.unsound != nil {
		w.trouble(w.unsound)
	}
}

// look looks at every page of the open file.
func (w *Workbook) look() error {
	var broken *brokenError
	switch err := checkPagesOf(w.file); {
	case err == nil:
		return nil
	case errors.As(err, &broken):
		return w.damaged(err)
	default:
		return &AccessError{w.path, "read", err}
	}
}

// whole returns why nothing may be written, once every page was looked through. Where the disk
// could not read them then, it is tried again. The caller holds writing, or use alone.
func (w *Workbook) whole() error {
	<-w.sound
	var access *AccessError
	if errors.As(w.unsound, &access) {
		w.unsound = w.look()
	}
	if w.unsound == nil && !w.inPlace() {
		return &MovedError{w.path}
	}
	return w.unsound
}

// refuse turns what kept the workbook from opening into an error for a person
// and lets go of the file. A damaged file is set aside.
func (w *Workbook) refuse(err error) error {
	var (
		migration *MigrationError
		damaged   *DamagedError
		path      *fs.PathError
		number    syscall.Errno
	)
	switch {
	case errors.Is(err, berrors.ErrTimeout):
		err = inUse(w.path)
	case errors.As(err, &migration):
	case errors.As(err, &damaged):
		err = w.setAside(damaged.Cause)
	case w.db != nil:
		// It is open and whole, and not for this program to use.
	case errors.As(err, &path), errors.As(err, &number):
		err = &AccessError{w.path, "opened", err}
	default:
		// The database found no header that it could read, or panicked.
		err = w.setAside(err)
	}
	if free := w.letGo(); free != nil {
		w.trouble(free)
	}
	return err
}

// inUse names the process that holds the lock of a workbook, unless what the owner file says
// is out of date.
func inUse(path string) error {
	o, ok := readOwner(path)
	if !ok || !o.running() {
		o = Owner{}
	}
	return &InUseError{Path: path, Owner: o}
}

// letGo removes the owner file and releases the lock. Where a panic left the
// database without a handle, or holding locks of its own for ever, its file is
// unlocked and closed instead; the memory that maps it stays until the process
// ends.
func (w *Workbook) letGo() error {
	var err error
	if w.owner.PID != 0 {
		err = removeOwner(w.path, w.owner)
	}
	if w.db == nil || w.hung {
		if w.file != nil {
			unlock(w.file)
			_ = w.file.Close() // fails only when the database closed it already
		}
		return err
	}
	return errors.Join(err, guard(w.db.Close))
}

// Close waits for calls and backups under way, removes the owner file and lets
// go of the workbook. A second Close does nothing. The first start of a day
// makes a backup, so closing right after it may take half a second.
func (w *Workbook) Close() error {
	w.noting.Lock()
	w.closing = true
	w.noting.Unlock()
	w.upkeep.Wait()
	w.use.Lock()
	defer w.use.Unlock()
	if w.closed {
		return nil
	}
	w.closed = true
	if err := w.letGo(); err != nil {
		return &AccessError{w.path, "closed", err}
	}
	return nil
}

// Path returns where the workbook is.
func (w *Workbook) Path() string { return w.path }

// Fresh reports whether this Open created the workbook.
func (w *Workbook) Fresh() bool { return w.fresh }

// Interrupted returns the process that used the workbook last, when it ended
// without closing it.
func (w *Workbook) Interrupted() (Owner, bool) { return w.left, w.left.PID != 0 }

// Troubles lists what went wrong beside the work itself since the workbook was
// opened: a backup that could not be made, an owner file not written.
func (w *Workbook) Troubles() []error {
	w.noting.Lock()
	defer w.noting.Unlock()
	return slices.Clone(w.troubles)
}

func (w *Workbook) trouble(err error) {
	w.noting.Lock()
	defer w.noting.Unlock()
	w.troubles = append(w.troubles, err)
}

// ready returns why the workbook cannot be used, if it cannot. The caller
// holds use.
func (w *Workbook) ready() error {
	if w.closed {
		return ErrClosed
	}
	w.noting.Lock()
	defer w.noting.Unlock()
	return w.lost
}

// giveUp refuses every further call with that damage. hung says that closing
// the database would wait for ever.
func (w *Workbook) giveUp(cause error, hung bool) error {
	w.noting.Lock()
	defer w.noting.Unlock()
	w.lost, w.hung = w.damaged(cause), w.hung || hung
	return w.lost
}

// begin starts a transaction.
func (w *Workbook) begin(writable bool) (tx *bolt.Tx, err error) {
	err = guard(func() (err error) {
		tx, err = w.db.Begin(writable)
		return err
	})
	var panicked *panicError
	switch {
	case errors.As(err, &panicked):
		return nil, w.giveUp(err, true)
	case err != nil:
		return nil, &AccessError{w.path, "used", err}
	}
	return tx, nil
}

// view reads in one transaction. Damage comes back as a *DamagedError.
func (w *Workbook) view(read func(*bolt.Tx) error) error {
	w.use.RLock()
	defer w.use.RUnlock()
	if err := w.ready(); err != nil {
		return err
	}
	tx, err := w.begin(false)
	if err != nil {
		return err
	}
	err = guard(func() error { return read(tx) })
	if end := guard(tx.Rollback); end != nil {
		return w.giveUp(end, true)
	}
	return w.explain(err)
}

// update changes the workbook in one transaction, which is on the disk when it
// returns nil. After an error the workbook is as it was, and so it is where the change
// returns errUnchanged, which is no error to the caller.
func (w *Workbook) update(change func(*bolt.Tx) error) error {
	w.use.RLock()
	defer w.use.RUnlock()
	w.writing.Lock()
	defer w.writing.Unlock()
	if err := w.ready(); err != nil {
		return err
	}
	if err := w.whole(); err != nil {
		return err
	}
	tx, err := w.begin(true)
	if err != nil {
		return err
	}
	err = guard(func() error {
		if err := change(tx); err != nil {
			return err
		}
		if err := tx.Commit(); err != nil {
			return &AccessError{w.path, "saved", err}
		}
		return nil
	})
	if err == nil {
		w.backUpWhenDue()
		return nil
	}
	// A commit that failed has ended the transaction itself.
	end := guard(tx.Rollback)
	if errors.Is(end, berrors.ErrTxClosed) {
		end = nil
	}
	var panicked *panicError
	if errors.As(err, &panicked) || end != nil {
		// What the database remembers of free pages may be wrong now: writing on
		// could spoil more.
		return w.giveUp(err, end != nil)
	}
	if errors.Is(err, errUnchanged) {
		return nil
	}
	return w.explain(err)
}

// explain turns a sign of damage into a *DamagedError.
func (w *Workbook) explain(err error) error {
	if isDamage(err) {
		return w.damaged(err)
	}
	return err
}

func (w *Workbook) damaged(cause error) error {
	return &DamagedError{Path: w.path, Backup: w.newestWhole(), Cause: cause}
}

// newestWhole is the function of that name, which reads all of a backup, once for as long as
// there is no newer one.
func (w *Workbook) newestWhole() string {
	w.judging.Lock()
	defer w.judging.Unlock()
	newest := ""
	if list := backups(w.path); len(list) > 0 {
		newest = list[len(list)-1].path
	}
	if newest != w.judged {
		w.judged, w.sure = newest, newestWhole(w.path)
	}
	return w.sure
}
