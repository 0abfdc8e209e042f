package store

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/go-json-experiment/json/jsontext"
	bolt "go.etcd.io/bbolt"

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
	Copies   int      // backups that had it and were written anew as well; by Traces all there are
	Left     []string // files beside the workbook that still have the name and could not be written anew
}

// found reports whether a customer or the name was anywhere in a workbook.
func (e *Erased) found() bool { return e.Known || len(e.Deleted)+len(e.Renamed) > 0 }

// Nothing reports whether there was no trace of the name, in backups neither.
func (e *Erased) Nothing() bool { return !e.found() && e.Copies == 0 && len(e.Left) == 0 }

// ErasedName stands where the name of an erased customer was.
const ErasedName = "(erased)"

// Traces returns what Erase would do, without doing it; backups are only counted.
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
	if err != nil && !errors.Is(err, errUnchanged) {
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
// workbook is as it was.
func (w *Workbook) Erase(name string) (*Erased, error) {
	e, err := newErasing(name)
	if err != nil {
		return nil, err
	}
	w.upkeep.Wait()
	w.backing.Lock()
	defer w.backing.Unlock()
	w.use.Lock()
	defer w.use.Unlock()
	if err := w.ready(); err != nil {
		return nil, err
	}
	// The workbook comes last: as long as the customer is there, so is the wish.
	copies := 0
	for _, c := range backups(w.path) {
		done, err := w.eraseInBackup(c.path, name)
		if err != nil {
			return nil, err
		}
		if done {
			copies++
		}
	}
	clean, err := w.cleanCopy(w.db, e.run)
	if err != nil {
		return nil, w.explain(err)
	}
	if err := w.takeOver(clean); err != nil {
		return nil, err
	}
	e.report.Copies = copies
	e.report.Left = w.stillIn(e.name)
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
		db, err = bolt.Open(path, 0o600, &bolt.Options{ReadOnly: true, Timeout: lockWait, PreLoadFreelist: true})
		return err
	})
	if err != nil {
		return false, nil
	}
	newer := false
	clean, err := w.cleanCopy(db, func(tx *bolt.Tx) error {
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
	if !e.report.found() {
		if there, err := e.name.inFile(path); err == nil && !there {
			return false, os.Remove(clean)
		}
	}
	if err := os.Rename(clean, path); err != nil {
		return false, &AccessError{path, "written", errors.Join(err, os.Remove(clean))}
	}
	syncFolder(path)
	return true, nil
}

// cleanCopy writes a changed copy of a database to a new file beside the workbook. No page
// of that file ever held anything else: the change is made to a draft, of which only
// what it holds then is copied.
func (w *Workbook) cleanCopy(from *bolt.DB, change func(*bolt.Tx) error) (path string, err error) {
	draft, err := w.compacted(from, change)
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

// takeOver puts a complete file in the place of the workbook and goes on with it. The
// caller holds use.
func (w *Workbook) takeOver(clean string) error {
	old, file, info := w.db, w.file, w.info
	db, err := bolt.Open(clean, 0o600, &bolt.Options{Timeout: lockWait, OpenFile: w.keepFile})
	if err == nil {
		// Both are locked now: nobody can come in between.
		if err = os.Rename(clean, w.path); err == nil {
			w.db = db
			syncFolder(w.path)
			_ = guard(old.Close) // every page was read a moment ago, and nothing is in it any more
			return nil
		}
		_ = db.Close() // it is opened again below
	}
	// Some systems rename no open file.
	if err = errors.Join(guard(old.Close), os.Rename(clean, w.path)); err != nil {
		err = &AccessError{w.path, "written", errors.Join(err, removeIfThere(clean))}
	}
	w.db, w.file, w.info = old, file, info
	if again := guard(w.connect); again != nil {
		w.noting.Lock()
		defer w.noting.Unlock()
		w.lost = &AccessError{w.path, "opened", again}
		return errors.Join(err, w.lost)
	}
	return err
}

// stillIn lists the files of the workbook that have a name in their bytes, and those that
// cannot be read.
func (w *Workbook) stillIn(name *nameWord) []string {
	files, err := os.ReadDir(folderOf(w.path))
	if err != nil {
		return []string{folderOf(w.path)}
	}
	stem := strings.TrimSuffix(filepath.Base(w.path), filepath.Ext(w.path)) + "."
	var out []string
	for _, f := range files {
		path := filepath.Join(folderOf(w.path), f.Name())
		if !f.Type().IsRegular() || !strings.HasPrefix(f.Name(), stem) {
			continue
		}
		if found, err := name.inFile(path); err != nil || found {
			out = append(out, path)
		}
	}
	return out
}

// nameWord finds a name in texts: whole words, in any capitals.
type nameWord struct{ shape *regexp.Regexp }

func newNameWord(name string) *nameWord {
	words := strings.Fields(name)
	for i := range words {
		words[i] = regexp.QuoteMeta(words[i])
	}
	return &nameWord{regexp.MustCompile(`(?i)` + strings.Join(words, `\s+`))}
}

// Names reports whether a text has the name of a customer in it, as Erase looks for it.
func Names(customer, text string) bool {
	customer = label.Clean(customer)
	return customer != "" && newNameWord(customer).in(text)
}

// places returns where the name stands in a text: the ends of each.
func (n *nameWord) places(text []byte) [][]int {
	return slices.DeleteFunc(n.shape.FindAllIndex(text, -1), func(at []int) bool {
		before, _ := utf8.DecodeLastRune(text[:at[0]])
		after, _ := utf8.DecodeRune(text[at[1]:])
		return ofWord(before) || ofWord(after)
	})
}

func ofWord(r rune) bool {
	return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r))
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

// inFile reports whether the name is in the bytes of a file.
func (n *nameWord) inFile(path string) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close() // it is only read
	const piece, overlap = 1 << 20, 4 << 10
	buffer := make([]byte, 0, piece+overlap)
	for {
		read, err := io.ReadFull(f, buffer[len(buffer):len(buffer)+piece])
		buffer = buffer[:len(buffer)+read]
		if len(n.places(buffer)) > 0 {
			return true, nil
		}
		switch {
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
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
	report   *Erased
}

func newErasing(name string) (*erasing, error) {
	name = label.Clean(name)
	if name == "" {
		return nil, &InvalidError{"The customer", errors.New("it needs a name")}
	}
	return &erasing{name, newNameWord(name), &Erased{}}, nil
}

func (e *erasing) run(tx *bolt.Tx) error {
	*e.report = Erased{Customer: e.customer}
	for _, step := range []func(*bolt.Tx) error{e.customers, e.entries, e.bodies, e.parts, e.bench} {
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
		clean := Customer{e.name.out(c.Name), e.name.out(c.Note)}
		if clean == c {
			continue
		}
		if clean.Name != c.Name {
			clean.Name = free(clean.Name, func(name string) bool { return b.Get([]byte(name)) != nil })
			if err := moveCustomer(tx, c.Name, clean.Name); err != nil {
				return err
			}
		}
		if err := putSealed(b, []byte(clean.Name), record.Encode(clean)); err != nil {
			return err
		}
		e.renamed("the customer %s", clean.Name)
	}
	return nil
}

// free returns a name that is not taken: the name itself, or with a number behind it.
func free(name string, taken func(string) bool) string {
	out := name
	for n := 2; taken(out); n++ {
		out = fmt.Sprintf("%s %d", name, n)
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
		r.Customer, r.Tags = e.name.out(r.Customer), e.name.out(r.Tags)
		if *r == was {
			return nil
		}
		e.renamed("the %s %s", r.Kind, r.Name)
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
			changed, err := e.record(bodies, fmt.Sprintf("saved number %d", id), key)
			if err != nil {
				return err
			}
			if changed {
				revisions++
			}
		}
		if revisions > 0 {
			e.renamed("%d of the revisions of the %s %s", revisions, r.Kind, r.Name)
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
		changed, err := e.record(drawer, partName(key), key)
		if err != nil {
			return err
		}
		data, err := unseal(partName(key), key, drawer.Get(key))
		if err != nil {
			return err
		}
		var p part.Part
		if err := record.Decode(data, &p); err != nil {
			return &brokenError{partName(key), err.Error()}
		}
		if e.name.in(p.ID) {
			changed = true
			was := p.ID
			if p.ID, err = newID(tx, nil); err != nil {
				return err
			}
			if err := errors.Join(ids.Delete([]byte(was)), putSealed(ids, []byte(p.ID), key), putSealed(drawer, key, record.Encode(p))); err != nil {
				return err
			}
		}
		if changed {
			e.renamed("the %s %s of the drawer", p.Kind, p.Name())
		}
	}
	return nil
}

// bench takes the name out of the working bench and its view.
func (e *erasing) bench(tx *bolt.Tx) error {
	b := tx.Bucket(bucketBench)
	job, err := e.record(b, "the bench", keyJob)
	if err != nil {
		return err
	}
	view, err := e.record(b, "the view of the bench", keyView)
	if err != nil {
		return err
	}
	if job || view {
		e.renamed("the bench as it is now")
	}
	return nil
}

// record takes the name out of a sealed record and reports whether it was in it.
func (e *erasing) record(b *bolt.Bucket, what string, key []byte) (bool, error) {
	data, err := unseal(what, key, b.Get(key))
	if err != nil {
		return false, err
	}
	if len(e.name.places(data)) == 0 && !bytes.ContainsRune(data, '\\') {
		return false, nil // without escapes a text stands in JSON as it is
	}
	clean, err := e.name.outOfJSON(data)
	if err != nil {
		clean = []byte(e.name.out(string(data))) // no JSON: a view may be anything
	}
	if bytes.Equal(clean, data) {
		return false, nil
	}
	return true, putSealed(b, key, clean)
}

// ofFormat are the keys whose words belong to the format and not to a person.
var ofFormat = map[string]bool{"format": true, "kind": true, "release": true, "shape": true, "sort": true, "id": true}

// outOfJSON returns JSON with ErasedName in place of the name in every text. Texts that
// differ still differ afterwards: builds of one bench are told apart by their names.
func (n *nameWord) outOfJSON(data []byte) ([]byte, error) {
	taken, clean := map[string]bool{}, map[string]string{}
	_, err := eachText(data, func(text string) string { taken[text] = true; return text })
	if err != nil {
		return nil, err
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
