package store

import (
	"bytes"
	"fmt"
	"math"

	bolt "go.etcd.io/bbolt"
)

// The buckets of the workbook. Summaries, times and contents of what is saved
// lie apart, so that a list of ten thousand entries reads no contents.
var (
	bucketAbout     = []byte("about")     // "schema", "first backup" → sealed number
	bucketBench     = []byte("bench")     // "job", "view"; of a seat "job", "view", "choices", 0, its name → sealed JSON
	bucketParts     = []byte("parts")     // sequence → sealed JSON of a part
	bucketPartIDs   = []byte("part ids")  // a part's id → sealed sequence
	bucketEntries   = []byte("entries")   // entry id → sealed JSON of its summary
	bucketNames     = []byte("names")     // kind, 0, name → sealed entry id
	bucketRevisions = []byte("revisions") // entry id, revision → sealed JSON with its time
	bucketBodies    = []byte("bodies")    // entry id, revision → sealed JSON of the job
	bucketCustomers = []byte("customers") // name → sealed JSON of a customer
)

var (
	allBuckets = [][]byte{bucketAbout, bucketBench, bucketParts, bucketPartIDs, bucketEntries, bucketNames, bucketRevisions, bucketBodies, bucketCustomers}
	keySchema  = []byte("schema")
	// keyFirstBackup is the number from which on backups are of this workbook, 1 where there is
	// no such record.
	keyFirstBackup = []byte("first backup")
)

// A migration brings a workbook from one schema version to the next. All that
// are needed run in one transaction, after a backup. An old workbook of every
// version is kept among the test data, and a test counts them.
type migration func(tx *bolt.Tx) error

// migrations are in order: the first one leads from schema 1 to 2.
var migrations = []migration{allowBows, allowProofs, addCustomers, allowDozens, allowSeats}

// allowBows changes nothing but the number, which migrate writes: what schema 1
// holds is read as it is. The number says that there may be saved bows. A program
// that does not know them would take one for damage; now it says that the
// workbook is newer than the program.
func allowBows(*bolt.Tx) error { return nil }

// allowProofs changes nothing but the number either. It says that builds may carry
// the record of how they were proven, which earlier programs do not know.
func allowProofs(*bolt.Tx) error { return nil }

// allowDozens changes nothing but the number: builds may carry how they are put together
// and what was weighed for a dozen of them.
func allowDozens(*bolt.Tx) error { return nil }

// allowSeats changes nothing but the number: there may be benches of several terminals,
// which earlier programs would not look through when they erase a customer.
func allowSeats(*bolt.Tx) error { return nil }

// addCustomers makes room for customers, and makes one of each name that a saved
// entry has.
func addCustomers(tx *bolt.Tx) error {
	if _, err := tx.CreateBucket(bucketCustomers); err != nil {
		return err
	}
	return eachEntry(tx, func(id uint64, r *entryRecord) error {
		if r.Customer == "" {
			return nil
		}
		name, err := settleCustomer(tx, r.Customer)
		if err != nil || name == r.Customer {
			return err
		}
		r.Customer = name
		return writeEntry(tx, id, *r)
	})
}

// schemaOf returns the schema version that a list of migrations leads to.
func schemaOf(steps []migration) int { return 1 + len(steps) }

// makeBuckets lays out an empty workbook of a schema version.
func makeBuckets(tx *bolt.Tx, schema int) error {
	for _, name := range allBuckets {
		if _, err := tx.CreateBucket(name); err != nil {
			return err
		}
	}
	return putSchema(tx, schema)
}

func putSchema(tx *bolt.Tx, schema int) error {
	return putSealed(tx.Bucket(bucketAbout), keySchema, number(uint64(schema)))
}

// checkSize compares the file with what its header says. Reading behind the end
// of a file that was cut short would be a memory fault.
func checkSize(tx *bolt.Tx, size int64) error {
	if size < tx.Size() {
		return &brokenError{"the file", fmt.Sprintf("is cut short: %d of %d bytes are left", size, tx.Size())}
	}
	return nil
}

// readSchema returns the workbook's schema version. A file without it is not a
// new workbook but a damaged one: when the database's header is lost it falls
// back to an older state, which may be the empty one before the first buckets.
func readSchema(tx *bolt.Tx) (int, error) {
	about := tx.Bucket(bucketAbout)
	if about == nil {
		return 0, &brokenError{"its bucket \"about\"", "is missing"}
	}
	data, err := unseal("its version", keySchema, about.Get(keySchema))
	if err != nil {
		return 0, err
	}
	version := sequence(data)
	if version == 0 || version > math.MaxInt32 {
		return 0, &brokenError{"its version", "is none"}
	}
	return int(version), nil
}

// foreign reports whether the database holds buckets, and none of ours: it is
// some other program's, and must not be moved.
func foreign(tx *bolt.Tx) bool {
	if key, _ := tx.Cursor().First(); key == nil {
		return false
	}
	for _, name := range allBuckets {
		if tx.Bucket(name) != nil {
			return false
		}
	}
	return true
}

// checkLayout makes sure that every bucket is there and that the working bench
// and both ends of every bucket can be read. It reads a few pages for each, not
// all.
func checkLayout(tx *bolt.Tx) error {
	for _, name := range allBuckets {
		b := tx.Bucket(name)
		if b == nil {
			return &brokenError{fmt.Sprintf("its bucket %q", name), "is missing"}
		}
		b.Cursor().First()
		last, _ := b.Cursor().Last()
		if counted := bytes.Equal(name, bucketParts) || bytes.Equal(name, bucketEntries); counted && sequence(last) > b.Sequence() {
			return &brokenError{fmt.Sprintf("the count of its bucket %q", name), "is too low"}
		}
	}
	bench := tx.Bucket(bucketBench)
	for _, key := range [][]byte{keyJob, keyView} {
		if _, err := unseal("the bench", key, bench.Get(key)); err != nil {
			return err
		}
	}
	return nil
}

// checkSeals reads every record of a bucket and compares it with its checksum.
func checkSeals(tx *bolt.Tx, name []byte) error {
	return tx.Bucket(name).ForEach(func(key, value []byte) error {
		return checkSeal(fmt.Sprintf("a record of its bucket %q", name), key, value)
	})
}

// migrate runs the steps that the workbook still needs, all or none.
func (w *Workbook) migrate(from int, steps []migration) error {
	to := schemaOf(steps)
	copied, err := w.backup(fmt.Sprintf("schema%d", from), nil)
	if err != nil {
		return err
	}
	err = w.update(func(tx *bolt.Tx) error {
		for _, step := range steps[from-1:] {
			if err := step(tx); err != nil {
				return err
			}
		}
		return putSchema(tx, to)
	})
	if err != nil {
		return &MigrationError{Path: w.path, From: from, To: to, Backup: copied, Cause: err}
	}
	return nil
}

// MigrationError says that an older workbook could not be brought up to date.
type MigrationError struct {
	Path     string
	From, To int    // schema versions
	Backup   string // the copy made before trying
	Cause    error
}

// Error says that the workbook is as it was, and where the copy is.
func (e *MigrationError) Error() string {
	return fmt.Sprintf("The workbook %s is of version %d and could not be brought to version %d: %v. It is as it was, and a copy is %s. "+
		"Go on with the version of the program that wrote it, and report this.", e.Path, e.From, e.To, e.Cause, e.Backup)
}

// Unwrap returns the cause.
func (e *MigrationError) Unwrap() error { return e.Cause }
