package store

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/record"
)

// Erased is what erasing a customer does, or did.
type Erased struct {
	Customer string
	Known    bool     // there is a customer of that name
	Deleted  []Entry  // the customer's, with all their revisions
	Renamed  []string // what else had the name in it, which stands as ErasedName there now
	Copies   int      // backups that are written anew as well; by Traces, all there are
	Alike    []string // what has a part of the name in it, such as a first name, and stays
	Left     []string // files beside the workbook that still have the name and could not be written anew
}

// Nothing reports whether there was no trace of the name in the workbook.
func (e *Erased) Nothing() bool {
	return !e.Known && len(e.Deleted)+len(e.Renamed) == 0 && len(e.Left) == 0
}

// ErasedName stands where the name of an erased customer was.
const ErasedName = "(erased)"

// Traces returns what Erase would do, without doing it.
func (w *Workbook) Traces(name string) (*Erased, error) {
	e, err := newErasing(name)
	if err != nil {
		return nil, err
	}
	err = w.update(func(tx *bolt.Tx) error {
		if err := e.run(tx); err != nil {
			return err
		}
		return errUnchanged
	})
	if err != nil {
		return nil, err
	}
	e.report.Copies = len(backups(w.path))
	return e.report, nil
}

// Erase takes a customer out for good: the customer, all entries with every revision,
// and the name wherever else it stands, in any capitals. Workbook and backups are written
// to new files, so that the name is in none of their bytes; what the disk itself keeps of
// files that are gone is beyond this program. A name that nobody has is looked for all
// the same: an Erase that was cut short is finished by the next. After an error the
// workbook is as it was, though some backups may no longer have the name.
func (w *Workbook) Erase(name string) (*Erased, error) {
	e, err := newErasing(name)
	if err != nil {
		return nil, err
	}
	w.backing.Lock()
	defer w.backing.Unlock()
	w.use.Lock()
	defer w.use.Unlock()
	if err := w.ready(); err != nil {
		return nil, err
	}
	if err := w.whole(); err != nil {
		return nil, err
	}
	// The workbook comes last: as long as the customer is there, so is the wish.
	var done []string // the backups that were written anew
	for _, c := range backups(w.path) {
		anew, err := w.eraseInBackup(c.path, name)
		switch {
		case err != nil:
			return nil, err
		case anew:
			done = append(done, c.path)
		}
	}
	clean, err := w.cleanCopy(w.db, w.path, e.run)
	if err != nil {
		return nil, w.explain(err)
	}
	if err := w.takeOver(clean, ErrErasedAndLost); err != nil {
		return nil, err
	}
	e.report.Copies = len(done)
	e.report.Left = w.stillIn(e.name, append(done, w.path))
	return e.report, nil
}

// eraseInBackup writes a backup anew without a name. One that cannot be read, or is of a
// newer program, is left alone; done is false then.
func (w *Workbook) eraseInBackup(path, name string) (done bool, err error) {
	e, err := newErasing(name)
	if err != nil {
		return false, err
	}
	var db *bolt.DB
	err = guard(func() (err error) {
		db, err = bolt.Open(path, 0o600, &bolt.Options{ReadOnly: true, Timeout: lockWait})
		return err
	})
	if err != nil {
		return false, nil
	}
	newer := false
	clean, err := w.cleanCopy(db, path, func(tx *bolt.Tx) error {
		schema, err := readSchema(tx)
		if newer = schema > schemaOf(migrations); err != nil || newer {
			return errors.Join(err, errUnchanged)
		}
		return e.run(tx)
	})
	_ = db.Close() // it was only read
	switch {
	case newer, isDamage(err):
		return false, nil
	case err != nil:
		return false, err
	}
	if err := os.Rename(clean, path); err != nil {
		return false, &AccessError{path, "written", errors.Join(err, os.Remove(clean))}
	}
	syncFolder(path)
	return true, nil
}

// ErrErasedAndLost is returned by Erase when the name is erased, and the workbook could
// not be opened again.
const ErrErasedAndLost = sentence("The name is erased, but the workbook could not be opened again. Start the program again to go on.")

// stillIn lists the files of the workbook that have a name in their bytes, and those that
// cannot be read. Files that were written anew are left out: bytes that look like a short
// name are in any file, and no record of those has it.
func (w *Workbook) stillIn(name *nameWord, anew []string) []string {
	files, err := os.ReadDir(folderOf(w.path))
	if err != nil {
		return []string{folderOf(w.path)}
	}
	stem := strings.TrimSuffix(filepath.Base(w.path), filepath.Ext(w.path)) + "."
	var out []string
	for _, f := range files {
		path := filepath.Join(folderOf(w.path), f.Name())
		if !f.Type().IsRegular() || !strings.HasPrefix(f.Name(), stem) || slices.Contains(anew, path) {
			continue
		}
		if found, err := name.inFile(path); err != nil || found {
			out = append(out, path)
		}
	}
	return out
}

// erasing takes one customer out of a workbook, within a transaction.
type erasing struct {
	customer string
	name     *nameWord
	words    []*nameWord // of a name of several words, those that say something alone
	report   *Erased
}

// shortWord is how many letters a part of a name has at least that says something alone.
const shortWord = 3

// alike notes a place that has a part of the name in it, but not all of it.
func (e *erasing) alike(place, text string) {
	if slices.Contains(e.report.Alike, place) {
		return
	}
	for _, w := range e.words {
		if w.in(text) {
			e.report.Alike = append(e.report.Alike, place)
			return
		}
	}
}

func newErasing(name string) (*erasing, error) {
	name = spaced(name)
	if name == "" {
		return nil, sentence("Nobody is erased without a name. Nothing was changed.")
	}
	e := &erasing{customer: name, name: newNameWord(name), report: &Erased{}}
	if words := strings.Fields(name); len(words) > 1 {
		for _, w := range words {
			if utf8.RuneCountInString(w) >= shortWord {
				part := newNameWord(w)
				part.short = true
				e.words = append(e.words, part)
			}
		}
	}
	return e, nil
}

func (e *erasing) run(tx *bolt.Tx) error {
	*e.report = Erased{Customer: e.customer}
	for _, step := range []func(*bolt.Tx) error{e.customers, e.entries, e.bodies, e.parts, e.bench, e.seats} {
		if err := step(tx); err != nil {
			return err
		}
	}
	return nil
}

func (e *erasing) renamed(format string, args ...any) {
	e.report.Renamed = append(e.report.Renamed, fmt.Sprintf(format, args...))
}

// customers deletes the customer, and takes the name out of the names and notes of others.
func (e *erasing) customers(tx *bolt.Tx) error {
	b := tx.Bucket(bucketCustomers)
	if b == nil {
		return nil // a backup of a program that knew none
	}
	var all []Customer
	err := b.ForEach(func(key, value []byte) error {
		c, err := readCustomer(key, value)
		all = append(all, c)
		return err
	})
	if err != nil {
		return err
	}
	for _, c := range all {
		if strings.EqualFold(c.Name, e.customer) {
			e.report.Known = true
			if err := b.Delete([]byte(c.Name)); err != nil {
				return err
			}
			continue
		}
		clean := Customer{cut(e.name.out(c.Name), mostName), cut(e.name.out(c.Note), mostNote)}
		e.alike(fmt.Sprintf("the customer “%s”", clean.Name), clean.Name+" "+clean.Note)
		if clean == c {
			continue
		}
		if clean.Name != c.Name {
			clean.Name = free(clean.Name, func(name string) bool {
				return slices.ContainsFunc(all, func(o Customer) bool { return strings.EqualFold(o.Name, name) })
			})
			all = append(all, clean)
			if err := moveCustomer(tx, c.Name, clean.Name); err != nil {
				return err
			}
		}
		if err := putSealed(b, []byte(clean.Name), record.Encode(clean)); err != nil {
			return err
		}
		e.renamed("the customer “%s”", c.Name)
	}
	return nil
}

// free returns a name that is not taken and not too long: the name itself, or with a
// number behind it.
func free(name string, taken func(string) bool) string {
	name = cut(name, mostName)
	out := name
	for n := 2; taken(out); n++ {
		number := fmt.Sprintf(" %d", n)
		out = cut(name, mostName-len(number)) + number
	}
	return out
}

// entries deletes the customer's and takes the name out of the names and tags of others.
func (e *erasing) entries(tx *bolt.Tx) error {
	names := tx.Bucket(bucketNames)
	return eachEntry(tx, func(id uint64, r *entryRecord) error {
		if strings.EqualFold(r.Customer, e.customer) {
			entry, err := r.entry(id)
			if err != nil {
				return &brokenError{entryName(id), err.Error()}
			}
			e.report.Deleted = append(e.report.Deleted, entry)
			return deleteEntry(tx, id, r)
		}
		was := *r
		if clean := e.name.out(r.Name); clean != r.Name {
			clean = free(clean, func(name string) bool { return names.Get(nameKey(r.Kind, name)) != nil })
			if err := rename(tx, id, r, clean); err != nil {
				return err
			}
		}
		r.Customer, r.Tags = cut(e.name.out(r.Customer), mostName), cut(e.name.out(r.Tags), mostName)
		e.alike(fmt.Sprintf("the %s “%s”", r.Kind, r.Name), r.Name+" "+r.Tags)
		if *r == was {
			return nil
		}
		e.renamed("the %s “%s”", r.Kind, was.Name)
		return writeEntry(tx, id, *r)
	})
}

// bodies takes the name out of what is saved for others.
func (e *erasing) bodies(tx *bolt.Tx) error {
	bodies := tx.Bucket(bucketBodies)
	return eachEntry(tx, func(id uint64, r *entryRecord) error {
		revisions := 0
		for n := 1; n <= r.Revisions; n++ {
			key := revisionKey(id, n)
			changed, err := e.record(bodies, fmt.Sprintf("the %s “%s”", r.Kind, r.Name), fmt.Sprintf("saved number %d", id), key)
			if err != nil {
				return err
			}
			if changed {
				revisions++
			}
		}
		if revisions > 0 {
			e.renamed("%d of the revisions of the %s “%s”", revisions, r.Kind, r.Name)
		}
		return nil
	})
}

// parts takes the name out of the drawer.
func (e *erasing) parts(tx *bolt.Tx) error {
	drawer, ids := tx.Bucket(bucketParts), tx.Bucket(bucketPartIDs)
	var places [][]byte
	err := drawer.ForEach(func(key, _ []byte) error {
		places = append(places, slices.Clone(key))
		return nil
	})
	if err != nil {
		return err
	}
	for _, key := range places {
		was, err := readPart(drawer, key)
		if err != nil {
			return err
		}
		changed, err := e.record(drawer, "the drawer", partName(key), key)
		if err != nil {
			return err
		}
		if !changed {
			continue
		}
		e.renamed("the %s “%s” of the drawer", was.Kind, was.Name())
		if !e.name.in(was.ID) {
			continue
		}
		p, err := readPart(drawer, key)
		if err != nil {
			return err
		}
		if p.ID, err = newID(tx, nil); err != nil {
			return err
		}
		if err := errors.Join(ids.Delete([]byte(was.ID)), putSealed(ids, []byte(p.ID), key), putSealed(drawer, key, record.Encode(p))); err != nil {
			return err
		}
	}
	return nil
}

// seats takes the name out of the benches of other terminals.
func (e *erasing) seats(tx *bolt.Tx) error {
	told := map[string]bool{}
	return eachSeatRecord(tx, func(r seatRecord) error {
		take := e.record
		if bytes.Equal(r.what, keyView) {
			take = e.view
		}
		changed, err := take(tx.Bucket(bucketBench), r.String(), r.String(), r.key)
		if changed && !told[r.seat.name] {
			told[r.seat.name] = true
			e.renamed("the bench of another terminal")
		}
		return err
	})
}

// bench takes the name out of the working bench and its view.
func (e *erasing) bench(tx *bolt.Tx) error {
	b := tx.Bucket(bucketBench)
	const bench = "the bench as it is now"
	job, err := e.record(b, bench, "the bench", keyJob)
	if err != nil {
		return err
	}
	view, err := e.view(b, bench, "the view of the bench", keyView)
	if err != nil {
		return err
	}
	if job || view {
		e.renamed(bench)
	}
	return nil
}

// view is record for a view, which may have the name where a job has only words of the format.
func (e *erasing) view(b *bolt.Bucket, place, what string, key []byte) (bool, error) {
	changed, err := e.record(b, place, what, key)
	if err != nil {
		return false, err
	}
	data, err := unseal(what, key, b.Get(key))
	if err != nil {
		return false, err
	}
	if clean := e.name.out(string(data)); clean != string(data) {
		return true, putSealed(b, key, []byte(clean))
	}
	return changed, nil
}

// record takes the name out of a sealed record, which is a part of a place, and reports
// whether it was in it.
func (e *erasing) record(b *bolt.Bucket, place, what string, key []byte) (bool, error) {
	data, err := unseal(what, key, b.Get(key))
	if err != nil {
		return false, err
	}
	if len(e.name.places(data)) == 0 && !bytes.ContainsRune(data, '\\') {
		e.alike(place, string(data))
		return false, nil // without escapes a text stands in JSON as it is
	}
	clean, err := e.name.outOfJSON(data)
	if err != nil {
		clean = []byte(e.name.out(string(data))) // no JSON: a view may be anything
	}
	e.alike(place, string(clean))
	if bytes.Equal(clean, data) {
		return false, nil
	}
	return true, putSealed(b, key, clean)
}
