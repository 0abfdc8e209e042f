package store

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/go-json-experiment/json/jsontext"
	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/part"
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
	var (
		panicked *panicError
		broken   *brokenError
	)
	switch {
	case newer, errors.As(err, &panicked), errors.As(err, &broken):
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
	var (
		panicked *panicError
		broken   *brokenError
	)
	switch {
	case err == nil:
		return path, nil
	case path != "":
		err = errors.Join(err, removeIfThere(path))
	}
	if errors.As(err, &panicked) || errors.As(err, &broken) || errors.Is(err, errUnchanged) {
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

// ErrErasedAndLost is returned by Erase when the name is erased, and the workbook could
// not be opened again.
const ErrErasedAndLost = sentence("The name is erased, but the workbook could not be opened again. Start the program again to go on.")

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

// nameWord finds a name in texts, in any capitals. A short one must be a word of its own,
// or everyday words would go; it may have the s of a genitive behind it. A longer one is
// found within longer words as well.
type nameWord struct {
	shape   *regexp.Regexp
	short   bool
	written *nameWord // the name as JSON writes it, where that is not the same
}

// shortName is how many letters a name has that could be a part of an everyday word.
const shortName = 5

func newNameWord(name string) *nameWord {
	out := shapeOf(name)
	if written := string(record.Encode(name)); written != `"`+name+`"` {
		out.written = shapeOf(written[1 : len(written)-1])
	}
	return out
}

func shapeOf(name string) *nameWord {
	words := strings.Fields(name)
	for i := range words {
		words[i] = regexp.QuoteMeta(words[i])
	}
	return &nameWord{shape: regexp.MustCompile(`(?i)` + strings.Join(words, `\s+`)), short: utf8.RuneCountInString(name) <= shortName}
}

// Names reports whether a text has the name of a customer in it, as Erase looks for it.
func Names(customer, text string) bool {
	customer = label.Clean(customer)
	return customer != "" && newNameWord(customer).in(text)
}

// Without returns a job with ErasedName in place of the name of a customer, as Erase
// leaves it.
func Without(customer string, j *job.Job) *job.Job {
	if customer = spaced(customer); customer == "" {
		return j
	}
	data, err := newNameWord(customer).outOfJSON(j.Encode())
	if err != nil { // it was written a moment ago
		panic("store: " + err.Error())
	}
	out, err := job.DecodeBench(data)
	if err != nil {
		return job.New()
	}
	return out
}

// places returns where the name stands in a text: the ends of each.
func (n *nameWord) places(text []byte) [][]int {
	var out [][]int
	for from := 0; from < len(text); {
		at := n.shape.FindIndex(text[from:])
		if at == nil {
			break
		}
		at[0], at[1] = at[0]+from, at[1]+from
		if n.stands(text, at) {
			out = append(out, at)
			from = at[1]
			continue
		}
		// It may begin again within what was no word of its own.
		_, size := utf8.DecodeRune(text[at[0]:])
		from = at[0] + size
	}
	return out
}

// stands reports whether what was found at a place is the name: a mark behind it would
// make its last letter another one, and a short name is a word of its own.
func (n *nameWord) stands(text []byte, at []int) bool {
	after, _ := utf8.DecodeRune(text[at[1]:])
	if unicode.In(after, unicode.Mn, unicode.Me) {
		return false
	}
	if !n.short {
		return true
	}
	if behind := text[at[1]:]; len(behind) > 0 && behind[0] == 's' {
		after, _ = utf8.DecodeRune(behind[1:])
	}
	before, _ := utf8.DecodeLastRune(text[:at[0]])
	first, _ := utf8.DecodeRune(text[at[0]:])
	last, _ := utf8.DecodeLastRune(text[:at[1]])
	return !(ofWord(before) && ofWord(first)) && !(ofWord(last) && ofWord(after))
}

func ofWord(r rune) bool {
	return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.In(r, unicode.Mn, unicode.Me))
}

func (n *nameWord) in(text string) bool { return len(n.places([]byte(text))) > 0 }

// out returns the text with ErasedName in place of the name.
func (n *nameWord) out(text string) string {
	var b strings.Builder
	from := 0
	for _, at := range n.places([]byte(text)) {
		b.WriteString(text[from:at[0]])
		b.WriteString(ErasedName)
		from = at[1]
	}
	return b.String() + text[from:]
}

// cut shortens a text to so many bytes, at the end of a letter.
func cut(text string, most int) string {
	for len(text) > most {
		_, size := utf8.DecodeLastRuneInString(text)
		text = text[:len(text)-size]
	}
	return text
}

// inFile reports whether the name is in the bytes of a file.
func (n *nameWord) inFile(path string) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close() // it is only read
	const piece, overlap = 1 << 20, 4 << 10
	buffer := make([]byte, 0, piece+overlap)
	for first := true; ; first = false {
		read, err := io.ReadFull(f, buffer[len(buffer):len(buffer)+piece])
		buffer = buffer[:len(buffer)+read]
		last := errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF)
		found := n.places(buffer)
		if n.written != nil {
			found = append(found, n.written.places(buffer)...)
		}
		for _, at := range found {
			// Where a piece ends a word may go on; the overlap shows it whole.
			if (first || at[0] >= utf8.UTFMax) && (last || at[1] < len(buffer)-utf8.UTFMax) {
				return true, nil
			}
		}
		switch {
		case last:
			return false, nil
		case err != nil:
			return false, err
		}
		buffer = append(buffer[:0], buffer[max(len(buffer)-overlap, 0):]...)
	}
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

// ofFormat are the keys whose words belong to the format and not to a person.
var ofFormat = func() map[string]bool {
	out := map[string]bool{"format": true, "kind": true, "sort": true}
	for _, key := range slices.Concat(record.Choices[job.Job](), record.Choices[part.Part]()) {
		out[key] = true
	}
	return out
}()

// outOfJSON returns JSON with ErasedName in place of the name in every text. Texts that
// differ still differ afterwards: builds of one bench are told apart by their names.
func (n *nameWord) outOfJSON(data []byte) ([]byte, error) {
	taken, clean, found := map[string]bool{}, map[string]string{}, false
	_, err := eachText(data, func(text string) string {
		taken[text] = true
		found = found || n.in(text)
		return text
	})
	if err != nil || !found {
		return data, err
	}
	return eachText(data, func(text string) string {
		if !n.in(text) {
			return text
		}
		if _, known := clean[text]; !known {
			clean[text] = free(n.out(text), func(text string) bool { return taken[text] })
			taken[clean[text]] = true
		}
		return clean[text]
	})
}

// eachText returns JSON with every text in it, its keys and the words of the format left
// out, replaced by what do returns.
func eachText(data []byte, do func(string) string) ([]byte, error) {
	var out bytes.Buffer
	in, to := jsontext.NewDecoder(bytes.NewReader(data)), jsontext.NewEncoder(&out)
	key := ""
	for {
		kind, length := in.StackIndex(in.StackDepth())
		token, err := in.ReadToken()
		if errors.Is(err, io.EOF) {
			return bytes.TrimSuffix(out.Bytes(), []byte("\n")), nil
		}
		if err != nil {
			return nil, err
		}
		if token.Kind() == '"' {
			switch text := token.String(); {
			case kind == '{' && length%2 == 0:
				key = text
			case !ofFormat[key]:
				token = jsontext.String(do(text))
			}
		}
		if err := to.WriteToken(token); err != nil {
			return nil, err
		}
	}
}
