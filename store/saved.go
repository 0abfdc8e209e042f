package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"time"
	"unicode/utf8"

	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/arrow"
	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/record"
)

// Kind says what was saved.
type Kind string

// The kinds of entry: a whole bench, one build with its bow, or a bow with its
// sight.
const (
	KindBench Kind = "bench"
	KindBuild Kind = "build"
	KindBow   Kind = "bow"
)

// Entry is the summary of a saved bench, build or bow.
type Entry struct {
	ID        uint64
	Kind      Kind
	Name      string
	Customer  string
	Tags      string
	Saved     time.Time // of the newest revision
	Revisions int
	Binned    bool
	Sample    bool // the newest revision is of the invented bow
}

// Revision is one state of an entry. Numbers count up from 1.
type Revision struct {
	Number int
	Saved  time.Time
}

// entryRecord is an entry as it is written. Order counts all saves of the
// workbook: "newest" must not depend on a clock that may be set back.
type entryRecord struct {
	Order     int    `job:"order" need:"yes"`
	Kind      Kind   `job:"kind" need:"yes" one:"bench,build,bow"`
	Name      string `job:"name" need:"yes"`
	Customer  string `job:"customer"`
	Tags      string `job:"tags"`
	Saved     string `job:"saved" need:"yes"`
	Revisions int    `job:"revisions" need:"yes"`
	Binned    bool   `job:"binned"`
	Sample    bool   `job:"sample"`
}

type revisionRecord struct {
	Saved string `job:"saved" need:"yes"`
}

func (r *entryRecord) entry(id uint64) (Entry, error) {
	saved, err := time.Parse(time.RFC3339Nano, r.Saved)
	return Entry{id, r.Kind, r.Name, r.Customer, r.Tags, saved.Local(), r.Revisions, r.Binned, r.Sample}, err
}

func entryName(id uint64) string { return fmt.Sprintf("the summary of saved number %d", id) }

// mostName is the longest name, customer or tags, in bytes. It keeps a key
// within what the database allows.
const mostName = 400

func checkText(what, text string) error {
	if !utf8.ValidString(text) || len(text) > mostName {
		return &InvalidError{what, fmt.Errorf("it may have at most %d bytes, got %d", mostName, len(text))}
	}
	return nil
}

// BuildOf returns what Save keeps for one build: a job with that build alone,
// the bow and the sight it was made for. It panics when there is no such build.
func BuildOf(j *job.Job, index int) *job.Job {
	out := job.New()
	out.Bow, out.Sight, out.Air, out.Limits, out.Currency = j.Bow, j.Sight, j.Air, j.Limits, j.Currency
	out.Builds = []arrow.Build{j.Builds[index]}
	return out.Clone()
}

// BowOf returns what Save keeps for a bow: a job with the bow and the sight it
// goes with, and nothing else.
func BowOf(j *job.Job) *job.Job {
	out := job.New()
	out.Bow, out.Sight = j.Bow, j.Sight
	return out.Clone()
}

// Save keeps a bench, a build as BuildOf returns it, or a bow as BowOf returns
// it, under a name. A name that is taken, for the same kind, gets a new revision,
// and comes out of the bin if it was there. When the newest revision is the same,
// nothing is added and added is false. The error is an *InvalidError for a job
// or name that could not be read back or does not suit the kind, an *AccessError
// when it cannot be written.
func (w *Workbook) Save(kind Kind, name string, j *job.Job) (entry Entry, added bool, err error) {
	return w.SaveFor(kind, name, "", j)
}

// SaveFor is Save for a customer, who is made known where the name is new. Without a
// customer the entry keeps the one it has.
func (w *Workbook) SaveFor(kind Kind, name, customer string, j *job.Job) (entry Entry, added bool, err error) {
	name, customer = label.Clean(name), spaced(customer)
	what := fmt.Sprintf("The %s %q", kind, name)
	switch {
	case kind != KindBench && kind != KindBuild && kind != KindBow:
		return Entry{}, false, &InvalidError{what, errors.New("it must be a bench, a build or a bow")}
	case name == "":
		return Entry{}, false, &InvalidError{"The " + string(kind), errors.New("it needs a name")}
	case kind == KindBuild && len(j.Builds) != 1:
		return Entry{}, false, &InvalidError{what, fmt.Errorf("it must hold one build, got %d", len(j.Builds))}
	case kind == KindBow && !j.Bow.Given:
		return Entry{}, false, &InvalidError{what, errors.New("there is no bow to keep")}
	}
	if err := errors.Join(checkText(what, name), checkText("The customer", customer)); err != nil {
		return Entry{}, false, err
	}
	body, err := encodeJob(what, j)
	if err != nil {
		return Entry{}, false, err
	}
	if kind == KindBow && !bytes.Equal(body, BowOf(j).Encode()) {
		return Entry{}, false, &InvalidError{what, errors.New("it must hold the bow, its sight and nothing else")}
	}
	s := saving{kind: kind, name: name, customer: customer, body: body, sample: j.Bow.Value.Name == SampleBow, now: w.clock()}
	err = w.update(func(tx *bolt.Tx) (err error) {
		entry, added, err = s.put(tx)
		if err == nil && !added && !s.touched {
			return errUnchanged
		}
		return err
	})
	if err != nil {
		return Entry{}, false, err
	}
	return entry, added, nil
}

// errUnchanged ends a transaction that has nothing to write.
const errUnchanged = sentence("nothing changed")

// saving is one call of Save.
type saving struct {
	kind     Kind
	name     string
	customer string // empty leaves the entry's own
	body     []byte
	sample   bool
	now      time.Time
	touched  bool // the entry was in the bin, or another customer's
}

func (s *saving) put(tx *bolt.Tx) (Entry, bool, error) {
	names := tx.Bucket(bucketNames)
	key := nameKey(s.kind, s.name)
	r := entryRecord{Kind: s.kind, Name: s.name}
	id, err := lookUp(names, "the name of something saved", key)
	if err != nil {
		return Entry{}, false, err
	}
	if id != 0 {
		if r, err = readEntry(tx, id); err != nil {
			return Entry{}, false, err
		}
		s.touched, r.Binned = r.Binned, false
	}
	if s.customer != "" {
		name, err := settleCustomer(tx, s.customer)
		if err != nil {
			return Entry{}, false, err
		}
		s.touched = s.touched || name != r.Customer
		r.Customer = name
	}
	if id != 0 {
		if holds(tx.Bucket(bucketBodies), revisionKey(id, r.Revisions), s.body) {
			return finish(tx, id, r)
		}
	} else {
		if id, err = nextNumber(tx.Bucket(bucketEntries)); err != nil {
			return Entry{}, false, err
		}
		if err := putSealed(names, key, number(id)); err != nil {
			return Entry{}, false, err
		}
	}
	r.Sample = s.sample
	if err := addRevision(tx, id, &r, s.now, s.body); err != nil {
		return Entry{}, false, err
	}
	entry, _, err := finish(tx, id, r)
	return entry, err == nil, err
}

// addRevision adds a newest revision to an entry, whose summary is still to be written.
func addRevision(tx *bolt.Tx, id uint64, r *entryRecord, saved time.Time, body []byte) error {
	order, err := tx.Bucket(bucketRevisions).NextSequence()
	if err != nil {
		return err
	}
	r.Order, r.Saved, r.Revisions = int(order), stamp(saved), r.Revisions+1
	at := revisionKey(id, r.Revisions)
	if err := putSealed(tx.Bucket(bucketRevisions), at, record.Encode(revisionRecord{r.Saved})); err != nil {
		return err
	}
	return putSealed(tx.Bucket(bucketBodies), at, body)
}

// holds reports whether a record is whole and the same as the data.
func holds(b *bolt.Bucket, key, data []byte) bool {
	stored, err := unseal("", key, b.Get(key))
	return err == nil && bytes.Equal(stored, data)
}

func finish(tx *bolt.Tx, id uint64, r entryRecord) (Entry, bool, error) {
	if err := writeEntry(tx, id, r); err != nil {
		return Entry{}, false, err
	}
	entry, err := r.entry(id)
	return entry, false, err
}

// nameKey is the key of a name in the index of names.
func nameKey(kind Kind, name string) []byte { return []byte(string(kind) + "\x00" + name) }

func revisionKey(id uint64, revision int) []byte {
	return binary.BigEndian.AppendUint32(number(id), uint32(revision))
}

// readEntry returns an entry's summary. The error is a *NotFoundError when there
// is none.
func readEntry(tx *bolt.Tx, id uint64) (entryRecord, error) {
	var r entryRecord
	value := tx.Bucket(bucketEntries).Get(number(id))
	if value == nil {
		return r, &NotFoundError{ID: id}
	}
	data, err := unseal(entryName(id), number(id), value)
	if err != nil {
		return r, err
	}
	if err := record.Decode(data, &r); err != nil {
		return r, &brokenError{entryName(id), err.Error()}
	}
	return r, nil
}

func writeEntry(tx *bolt.Tx, id uint64, r entryRecord) error {
	return putSealed(tx.Bucket(bucketEntries), number(id), record.Encode(r))
}

// List returns what is saved, also what is in the bin, the last saved first.
// When some summaries cannot be read it returns the others and a *DamagedError.
func (w *Workbook) List() ([]Entry, error) {
	var ids []uint64
	var data [][]byte
	var damage error
	err := w.view(func(tx *bolt.Tx) error {
		return tx.Bucket(bucketEntries).ForEach(func(key, value []byte) error {
			body, err := unseal(entryName(sequence(key)), key, value)
			if err != nil {
				damage = errors.Join(damage, err)
				return nil
			}
			ids, data = append(ids, sequence(key)), append(data, body)
			return nil
		})
	})
	type listed struct {
		entry Entry
		order int
	}
	list := make([]listed, 0, len(ids))
	for i, id := range ids {
		var r entryRecord
		problem := record.Decode(data[i], &r)
		entry := Entry{}
		if problem == nil {
			entry, problem = r.entry(id)
		}
		if problem != nil {
			damage = errors.Join(damage, &brokenError{entryName(id), problem.Error()})
			continue
		}
		list = append(list, listed{entry, r.Order})
	}
	slices.SortFunc(list, func(a, b listed) int { return b.order - a.order })
	entries := make([]Entry, len(list))
	for i := range list {
		entries[i] = list[i].entry
	}
	if err == nil && damage != nil {
		err = w.damaged(damage)
	}
	return entries, err
}

// Load returns a saved job. A revision of 0 or less is the newest. The error is
// a *NotFoundError or a *DamagedError.
func (w *Workbook) Load(id uint64, revision int) (*job.Job, error) {
	var body []byte
	what := fmt.Sprintf("saved number %d", id)
	err := w.view(func(tx *bolt.Tx) error {
		r, err := readEntry(tx, id)
		if err != nil {
			return err
		}
		if revision <= 0 {
			revision = r.Revisions
		}
		if revision > r.Revisions {
			return &NotFoundError{ID: id, Revision: revision}
		}
		at := revisionKey(id, revision)
		body, err = unseal(what, at, tx.Bucket(bucketBodies).Get(at))
		return err
	})
	if err != nil {
		return nil, err
	}
	j, err := job.DecodeBench(body)
	if err != nil {
		return nil, w.damaged(&brokenError{what, err.Error()})
	}
	return j, nil
}

// Revisions lists the revisions of an entry, the first one first. The error is
// a *NotFoundError or a *DamagedError.
func (w *Workbook) Revisions(id uint64) ([]Revision, error) {
	var out []Revision
	err := w.view(func(tx *bolt.Tx) error {
		if _, err := readEntry(tx, id); err != nil {
			return err
		}
		prefix := number(id)
		c := tx.Bucket(bucketRevisions).Cursor()
		for key, value := c.Seek(prefix); bytes.HasPrefix(key, prefix); key, value = c.Next() {
			what := fmt.Sprintf("a revision of saved number %d", id)
			data, err := unseal(what, key, value)
			if err != nil {
				return err
			}
			var r revisionRecord
			if err := record.Decode(data, &r); err != nil {
				return &brokenError{what, err.Error()}
			}
			saved, err := time.Parse(time.RFC3339Nano, r.Saved)
			if err != nil {
				return &brokenError{what, err.Error()}
			}
			out = append(out, Revision{int(binary.BigEndian.Uint32(key[len(prefix):])), saved.Local()})
		}
		return nil
	})
	return out, err
}

// Bin puts an entry into the bin or takes it out. Nothing is deleted.
func (w *Workbook) Bin(id uint64, binned bool) error {
	return w.update(func(tx *bolt.Tx) error {
		r, err := readEntry(tx, id)
		if err != nil {
			return err
		}
		r.Binned = binned
		return writeEntry(tx, id, r)
	})
}

// Describe sets the name, the customer and the tags of an entry, by which it is found.
// A customer of a new name is made known. The error is an *InvalidError where the name
// is another's of that kind.
func (w *Workbook) Describe(id uint64, name, customer, tags string) error {
	_, err := w.describe(id, func(Words) Words { return Words{name, customer, tags} })
	return err
}

// Words is by what an entry is found.
type Words struct{ Name, Customer, Tags string }

// ChangeWords is Describe where somebody else may have changed other words meanwhile: only
// those are changed that differ from what they were. It returns them as they are kept.
func (w *Workbook) ChangeWords(id uint64, was, now Words) (Words, error) {
	return w.describe(id, func(here Words) Words {
		return Words{changed(was.Name, now.Name, here.Name), changed(was.Customer, now.Customer, here.Customer), changed(was.Tags, now.Tags, here.Tags)}
	})
}

// changed is what something is now where that differs from what it was, and else what it is
// here.
func changed(was, now, here string) string {
	if was == now {
		return here
	}
	return now
}

func (w *Workbook) describe(id uint64, anew func(here Words) Words) (kept Words, err error) {
	err = w.update(func(tx *bolt.Tx) error {
		r, err := readEntry(tx, id)
		if err != nil {
			return err
		}
		words := anew(Words{r.Name, r.Customer, r.Tags})
		words.Name, words.Customer, words.Tags = label.Clean(words.Name), spaced(words.Customer), label.Clean(words.Tags)
		if err := errors.Join(checkText("The name", words.Name), checkText("The customer", words.Customer), checkText("The tags", words.Tags)); err != nil {
			return err
		}
		if words.Name != r.Name {
			if err := rename(tx, id, &r, words.Name); err != nil {
				return err
			}
		}
		if r.Customer, err = settleCustomer(tx, words.Customer); err != nil {
			return err
		}
		r.Tags = words.Tags
		kept = Words{r.Name, r.Customer, r.Tags}
		return writeEntry(tx, id, r)
	})
	return kept, err
}

// rename gives an entry another name, which must be free. Its summary is still to be
// written.
func rename(tx *bolt.Tx, id uint64, r *entryRecord, name string) error {
	names := tx.Bucket(bucketNames)
	switch {
	case name == "":
		return &InvalidError{"The name", errors.New("it must not be empty")}
	case names.Get(nameKey(r.Kind, name)) != nil:
		return &InvalidError{"The name", fmt.Errorf("another %s is called %q", r.Kind, name)}
	}
	if err := names.Delete(nameKey(r.Kind, r.Name)); err != nil {
		return err
	}
	r.Name = name
	return putSealed(names, nameKey(r.Kind, name), number(id))
}

// Restore makes an earlier revision of an entry the newest, as a revision more: none is
// lost. When the newest is the same nothing is added and added is false. The error is a
// *NotFoundError or a *DamagedError.
func (w *Workbook) Restore(id uint64, revision int) (entry Entry, added bool, err error) {
	if revision < 1 {
		return Entry{}, false, &NotFoundError{ID: id, Revision: revision}
	}
	j, err := w.Load(id, revision)
	if err != nil {
		return Entry{}, false, err
	}
	now := w.clock()
	err = w.update(func(tx *bolt.Tx) error {
		r, err := readEntry(tx, id)
		if err != nil {
			return err
		}
		bodies := tx.Bucket(bucketBodies)
		body, err := unseal(fmt.Sprintf("saved number %d", id), revisionKey(id, revision), bodies.Get(revisionKey(id, revision)))
		if err != nil {
			return err
		}
		if added = !holds(bodies, revisionKey(id, r.Revisions), body); added {
			r.Sample = j.Bow.Value.Name == SampleBow
			if err := addRevision(tx, id, &r, now, body); err != nil {
				return err
			}
			if err := writeEntry(tx, id, r); err != nil {
				return err
			}
		}
		entry, err = r.entry(id)
		return err
	})
	return entry, added, err
}

// EmptyBin deletes what is in the bin, with every revision, and returns how many entries
// that were.
func (w *Workbook) EmptyBin() (deleted int, err error) {
	err = w.update(func(tx *bolt.Tx) error {
		deleted = 0
		return eachEntry(tx, func(id uint64, r *entryRecord) error {
			if !r.Binned {
				return nil
			}
			deleted++
			return deleteEntry(tx, id, r)
		})
	})
	if err != nil {
		return 0, err
	}
	return deleted, nil
}

// eachEntry calls do with the summary of each entry, which it may rewrite or delete. The
// order is that in which they were first saved.
func eachEntry(tx *bolt.Tx, do func(id uint64, r *entryRecord) error) error {
	var ids []uint64
	err := tx.Bucket(bucketEntries).ForEach(func(key, _ []byte) error {
		ids = append(ids, sequence(key))
		return nil
	})
	if err != nil {
		return err
	}
	for _, id := range ids {
		r, err := readEntry(tx, id)
		if err != nil {
			return err
		}
		if err := do(id, &r); err != nil {
			return err
		}
	}
	return nil
}

// deleteEntry deletes an entry with all its revisions.
func deleteEntry(tx *bolt.Tx, id uint64, r *entryRecord) error {
	errs := []error{tx.Bucket(bucketEntries).Delete(number(id)), tx.Bucket(bucketNames).Delete(nameKey(r.Kind, r.Name))}
	for n := 1; n <= r.Revisions; n++ {
		errs = append(errs, tx.Bucket(bucketRevisions).Delete(revisionKey(id, n)), tx.Bucket(bucketBodies).Delete(revisionKey(id, n)))
	}
	return errors.Join(errs...)
}
