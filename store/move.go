package store

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/go-json-experiment/json/jsontext"
	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// BundleFormat is the name and version of the format in which a workbook, or a part of
// it, is taken elsewhere.
const BundleFormat = "foreshaft-workbook/1"

// Bundle is what is taken from one workbook to another: JSON by the rules of job files.
type Bundle struct {
	Format    string                 `job:"format" need:"yes"`
	Taken     string                 `job:"taken"`    // when, RFC 3339
	Currency  string                 `job:"currency"` // of the prices of the parts
	Customers []Customer             `job:"customers"`
	Parts     []part.Part            `job:"parts"`
	Bench     unit.Optional[job.Job] `job:"bench"` // the working bench
	Saved     []BundledEntry         `job:"saved"` // the first saved first
}

// BundledEntry is something saved with all its revisions, the first one first.
type BundledEntry struct {
	Kind      Kind              `job:"kind" need:"yes" one:"bench,build,bow"`
	Name      string            `job:"name" need:"yes"`
	Customer  string            `job:"customer"`
	Tags      string            `job:"tags"`
	Binned    bool              `job:"binned"`
	Revisions []BundledRevision `job:"revisions" need:"yes"`
}

// BundledRevision is one state of an entry.
type BundledRevision struct {
	Saved string  `job:"saved" need:"yes"` // RFC 3339
	Job   job.Job `job:"job" need:"yes"`
}

// Scope says what a bundle is to hold. Nothing is everything.
type Scope struct {
	Drawer   bool   // the parts alone
	Customer string // one customer and what is saved for them
	Entry    uint64 // one entry
}

// Bundle gathers what a scope names. The error is a *NotFoundError for an entry, a
// *MissingCustomerError for a customer that is not there, or a *DamagedError.
func (w *Workbook) Bundle(of Scope) (*Bundle, error) {
	b := &Bundle{Format: BundleFormat, Taken: stamp(w.clock())}
	everything := of == Scope{}
	var err error
	if everything || of.Drawer {
		if b.Parts, err = w.Parts(); err != nil {
			return nil, err
		}
	}
	if of.Drawer {
		return b, nil
	}
	if everything {
		bench, err := w.LoadBench()
		if err != nil {
			return nil, err
		}
		b.Bench = unit.Some(*bench.Job)
	}
	customers, err := w.Customers()
	if err != nil {
		return nil, err
	}
	entries, err := w.List()
	if err != nil {
		return nil, err
	}
	slices.Reverse(entries)
	for _, e := range entries {
		if !everything && e.ID != of.Entry && (of.Customer == "" || !strings.EqualFold(e.Customer, spaced(of.Customer))) {
			continue
		}
		bundled, err := w.bundled(e)
		if err != nil {
			return nil, err
		}
		b.Saved = append(b.Saved, bundled)
	}
	for _, c := range customers {
		if everything || strings.EqualFold(c.Name, spaced(of.Customer)) || of.Entry != 0 && len(b.Saved) > 0 && c.Name == b.Saved[0].Customer {
			b.Customers = append(b.Customers, c)
		}
	}
	switch {
	case of.Entry != 0 && len(b.Saved) == 0:
		return nil, &NotFoundError{ID: of.Entry}
	case of.Customer != "" && len(b.Customers) == 0:
		return nil, &MissingCustomerError{label.Clean(of.Customer)}
	}
	return b, nil
}

func (w *Workbook) bundled(e Entry) (BundledEntry, error) {
	out := BundledEntry{Kind: e.Kind, Name: e.Name, Customer: e.Customer, Tags: e.Tags, Binned: e.Binned}
	revisions, err := w.Revisions(e.ID)
	if err != nil {
		return out, err
	}
	for _, r := range revisions {
		j, err := w.Load(e.ID, r.Number)
		if err != nil {
			return out, err
		}
		out.Revisions = append(out.Revisions, BundledRevision{stamp(r.Saved), *j})
	}
	return out, nil
}

// Encode writes the bundle as JSON, a line each for what it lists, so that two can be
// compared line by line.
func (b *Bundle) Encode() []byte {
	head := *b
	head.Customers, head.Parts, head.Saved = nil, nil, nil
	var out bytes.Buffer
	out.Write(bytes.TrimSuffix(record.Encode(head), []byte("}")))
	list := func(key string, n int, one func(i int) []byte) {
		if n == 0 {
			return
		}
		fmt.Fprintf(&out, ",\n%q:[", key)
		for i := range n {
			if i > 0 {
				out.WriteByte(',')
			}
			out.WriteByte('\n')
			out.Write(one(i))
		}
		out.WriteByte(']')
	}
	list("customers", len(b.Customers), func(i int) []byte { return record.Encode(b.Customers[i]) })
	list("parts", len(b.Parts), func(i int) []byte { return record.Encode(b.Parts[i]) })
	list("saved", len(b.Saved), func(i int) []byte { return record.Encode(b.Saved[i]) })
	out.WriteString("}\n")
	return out.Bytes()
}

// ReadBundle reads a bundle, or a job file, which comes as a saved bench of the name given.
// The error names the place.
func ReadBundle(data []byte, name string, now time.Time) (*Bundle, error) {
	format := formatOf(data)
	switch {
	case format == "" && json.Valid(bytes.TrimPrefix(data, []byte("\ufeff"))):
		return nil, refuse("format", "is missing: it is neither a job file (%q) nor what another workbook wrote (%q)", job.Format, BundleFormat)
	case !strings.HasPrefix(format, bundleFamily):
		j, err := job.DecodeBench(data)
		if err != nil {
			return nil, err
		}
		if name = cut(label.Clean(name), mostName); name == "" {
			name = unnamed
		}
		b := &Bundle{Format: BundleFormat, Saved: []BundledEntry{{Kind: KindBench, Name: name, Revisions: []BundledRevision{{stamp(now), *j}}}}}
		return b, b.check()
	case format != BundleFormat:
		return nil, refuse("format", "must be %q, got %q", BundleFormat, label.Clean(format))
	}
	b := new(Bundle)
	if err := record.Decode(data, b); err != nil {
		return nil, err
	}
	return b, b.check()
}

const (
	bundleFamily = "foreshaft-workbook/"
	unnamed      = "From a file" // what a job is called that comes without a name
)

// formatOf returns which format a JSON object says it is in, empty when it says none.
func formatOf(data []byte) string {
	in := jsontext.NewDecoder(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff"))), jsontext.AllowDuplicateNames(true))
	if token, err := in.ReadToken(); err != nil || token.Kind() != '{' {
		return ""
	}
	for {
		token, err := in.ReadToken()
		if err != nil || token.Kind() != '"' {
			return ""
		}
		if token.String() != "format" {
			if in.SkipValue() != nil {
				return ""
			}
			continue
		}
		if token, err = in.ReadToken(); err != nil || token.Kind() != '"' {
			return ""
		}
		return token.String()
	}
}

func refuse(path, format string, args ...any) error {
	return &record.Error{Path: path, Message: fmt.Sprintf(format, args...)}
}

// check applies the rules that concern more than one value.
func (b *Bundle) check() error {
	for i, c := range b.Customers {
		if len(c.Name) > mostName || len(c.Note) > mostNote {
			return refuse(fmt.Sprintf("customers[%d]", i), "a name may have at most %d bytes, a note %d", mostName, mostNote)
		}
	}
	ids := map[string]int{}
	for i := range b.Parts {
		p, place := &b.Parts[i], fmt.Sprintf("parts[%d]", i)
		if !p.Alone() {
			return refuse(place, "must hold a %s and nothing else", p.Kind)
		}
		if len(p.ID) > mostName {
			return refuse(place+".id", "may have at most %d bytes", mostName)
		}
		if first, taken := ids[p.ID]; taken {
			return refuse(place+".id", "%q is that of parts[%d] already", p.ID, first)
		}
		ids[p.ID] = i
	}
	if b.Bench.Given {
		if err := checkTime("taken", b.Taken); err != nil {
			return err
		}
		if err := checkJob("bench", &b.Bench.Value); err != nil {
			return err
		}
	}
	for i := range b.Saved {
		if err := b.Saved[i].check(fmt.Sprintf("saved[%d]", i)); err != nil {
			return err
		}
	}
	return nil
}

// checkTime refuses what is no time, and what is none any more once it is written in the
// time of Greenwich.
func checkTime(place, text string) error {
	t, err := time.Parse(time.RFC3339Nano, text)
	if err == nil {
		_, err = time.Parse(time.RFC3339Nano, stamp(t))
	}
	if err != nil {
		return refuse(place, "must be a time such as 2026-01-02T15:04:05Z, got %q", text)
	}
	return nil
}

func checkJob(place string, j *job.Job) error {
	_, err := job.DecodeBench(j.Encode())
	var wrong *record.Error
	if errors.As(err, &wrong) {
		return &record.Error{Path: place + "." + wrong.Path, Message: wrong.Message}
	}
	return err
}

func (e *BundledEntry) check(place string) error {
	switch {
	case label.Clean(e.Name) == "":
		return refuse(place+".name", "must not be empty")
	case len(e.Name) > mostName || len(e.Customer) > mostName || len(e.Tags) > mostName:
		return refuse(place, "name, customer and tags may have at most %d bytes each", mostName)
	case len(e.Revisions) == 0:
		return refuse(place+".revisions", "must have at least one")
	}
	for n := range e.Revisions {
		r, place := &e.Revisions[n], fmt.Sprintf("%s.revisions[%d]", place, n)
		if err := checkTime(place+".saved", r.Saved); err != nil {
			return err
		}
		if err := checkJob(place+".job", &r.Job); err != nil {
			return err
		}
		switch {
		case e.Kind == KindBuild && len(r.Job.Builds) != 1:
			return refuse(place+".job.builds", "must have one build, got %d", len(r.Job.Builds))
		case e.Kind == KindBow && !bytes.Equal(r.Job.Encode(), BowOf(&r.Job).Encode()):
			return refuse(place+".job", "must hold the bow, its sight and nothing else")
		case e.Kind == KindBow && !r.Job.Bow.Given:
			return refuse(place+".job.bow", "is missing")
		}
	}
	return nil
}

// Outcome says what becomes of something that is brought in.
type Outcome int

// The outcomes.
const (
	Same    Outcome = iota // it is there already
	Added                  // it is new
	Beside                 // something else has its name or ID: both are there
	Newer                  // what is there gets the revisions that came after it
	Noted                  // what is noted of a customer elsewhere is added to the note here
	Updated                // a sample part that was left as it came follows the one that was not
)

// Arrival is one thing that is brought in.
type Arrival struct {
	What      string // "part", "customer", or a Kind
	Name, As  string // as it is called there, and here
	Outcome   Outcome
	Revisions int // how many are added
}

// TakeIn brings a bundle in, all of it or nothing, and returns what becomes of each thing
// in it. Nothing here is overwritten: what has another's name comes beside it. Unless it
// is to be taken, nothing is changed, and the outcome is what it would be.
func (w *Workbook) TakeIn(b *Bundle, take bool) ([]Arrival, error) {
	var a arriving
	err := w.update(func(tx *bolt.Tx) error {
		a = arriving{tx: tx}
		for _, step := range []func(*Bundle) error{a.customers, a.parts, a.saved} {
			if err := step(b); err != nil {
				return err
			}
		}
		if !take {
			return errUnchanged
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return a.list, nil
}

// arriving brings a bundle in, within a transaction.
type arriving struct {
	tx    *bolt.Tx
	list  []Arrival
	known map[uint64]hereEntry // what was read of the workbook already
	came  map[uint64]bool      // what has just come: two things of one file stay two
}

// hereEntry is an entry of the workbook with its revisions.
type hereEntry struct {
	record entryRecord
	bodies [][]byte
}

func (a *arriving) add(v Arrival) { a.list = append(a.list, v) }

func (a *arriving) customers(b *Bundle) error {
	bucket := a.tx.Bucket(bucketCustomers)
	for _, c := range b.Customers {
		c.Name = spaced(c.Name)
		there, err := findCustomer(a.tx, c.Name)
		if err != nil {
			return err
		}
		out := Arrival{What: "customer", Name: c.Name, As: c.Name, Outcome: Added}
		if there != "" {
			here, err := readCustomer([]byte(there), bucket.Get([]byte(there)))
			if err != nil {
				return err
			}
			out.As, out.Outcome = there, Same
			if here.Note = notes(here.Note, c.Note, &out); len(here.Note) > mostNote {
				return &InvalidError{fmt.Sprintf("The customer %q", there), fmt.Errorf("the notes of both together have more than %d bytes: shorten one", mostNote)}
			}
			c = here
		}
		if out.Outcome != Same {
			if err := putSealed(bucket, []byte(c.Name), record.Encode(c)); err != nil {
				return err
			}
		}
		a.add(out)
	}
	return nil
}

// betweenNotes stands between notes of a customer that were put together.
const betweenNotes = " / "

// notes adds what another note says to one, and tells whether that is anything.
func notes(here, there string, out *Arrival) string {
	said := strings.Split(here, betweenNotes)
	for _, one := range strings.Split(there, betweenNotes) {
		if one == "" || slices.Contains(said, one) {
			continue
		}
		out.Outcome = Noted
		said = append(said, one)
		if here != "" {
			here += betweenNotes
		}
		here += one
	}
	return here
}

func (a *arriving) parts(b *Bundle) error {
	if len(b.Parts) == 0 {
		return nil
	}
	drawer, err := partsIn(a.tx)
	if err != nil {
		return err
	}
	byID, alikes, samples := map[string]part.Part{}, map[string]int{}, map[string]string{}
	for _, p := range drawer {
		byID[p.ID] = p
		alikes[alike(p)]++
	}
	for _, p := range SampleParts() {
		samples[p.ID] = alike(p)
	}
	taken := map[string]bool{}
	for _, p := range b.Parts {
		taken[p.ID] = true
	}
	// asItCame reports whether a part is a sample that nobody changed.
	asItCame := func(p part.Part) bool { return p.Sample && samples[p.ID] == alike(p) }
	// A part is first of all the one of its ID; only what is left may be another's like.
	itself := make([]bool, len(b.Parts))
	for i, p := range b.Parts {
		switch here, there := byID[p.ID]; {
		case there && alike(here) == alike(p):
			itself[i] = true
			alikes[alike(p)]--
		case there && p.Sample && asItCame(here): // it will not be what it is now
			alikes[alike(here)]--
		}
	}
	var put []part.Part
	for i, p := range b.Parts {
		here, there := byID[p.ID]
		out := Arrival{What: "part", Name: p.Name(), As: p.Name(), Outcome: Added}
		switch {
		case itself[i]:
			out.Outcome = Same
		case there && asItCame(p) && here.Sample: // it takes no other's place
			out.Outcome = Same
		case there && p.Sample && asItCame(here):
			out.Outcome = Updated
		case alikes[alike(p)] > 0:
			alikes[alike(p)]--
			out.Outcome = Same
		case !there:
		default:
			out.Outcome = Beside
			if p.ID, err = newID(a.tx, taken); err != nil {
				return err
			}
		}
		if out.Outcome != Same {
			put = append(put, p)
		}
		a.add(out)
	}
	return putParts(a.tx, put)
}

// workingBench is what a bench is called that was brought in without a name.
const workingBench = "Working bench"

func (a *arriving) saved(b *Bundle) error {
	all := b.Saved
	if b.Bench.Given {
		body := b.Bench.Value.Encode()
		here, err := unseal("the bench", keyJob, a.tx.Bucket(bucketBench).Get(keyJob))
		if err != nil {
			return err
		}
		if !bytes.Equal(body, here) && !bytes.Equal(body, SampleBench().Encode()) {
			all = append(slices.Clone(all), BundledEntry{Kind: KindBench, Name: workingBench, Revisions: []BundledRevision{{b.Taken, b.Bench.Value}}})
		}
	}
	for i := range all {
		if err := a.entry(&all[i]); err != nil {
			return err
		}
	}
	return nil
}

// entry brings one entry in, under its name or the first free one like it.
func (a *arriving) entry(e *BundledEntry) error {
	bodies := make([][]byte, len(e.Revisions))
	for i := range e.Revisions {
		bodies[i] = e.Revisions[i].Job.Encode()
	}
	// What came beside something before may have come from here in the first place: all
	// that are called like it are looked at before it counts as another one.
	base := besideName.ReplaceAllString(e.Name, "")
	var like []uint64
	free := ""
	names := a.tx.Bucket(bucketNames)
	for n := 0; n < 2 || free == ""; n++ {
		name := e.Name
		if n > 0 {
			name = numbered(base, n)
		}
		id, err := lookUp(names, "the name of something saved", nameKey(e.Kind, name))
		switch {
		case err != nil:
			return err
		case id != 0:
			like = append(like, id)
		case free == "":
			free = name
		}
	}
	for n := 2; ; n++ { // those behind a free one
		id, err := lookUp(names, "the name of something saved", nameKey(e.Kind, numbered(base, n)))
		if err != nil {
			return err
		}
		if id == 0 && n > len(like)+2 {
			break
		}
		if id != 0 && !slices.Contains(like, id) {
			like = append(like, id)
		}
	}
	out := Arrival{What: string(e.Kind), Name: e.Name}
	var longer *entryRecord
	var onto uint64
	have := 0
	for _, id := range like {
		r, here, err := a.there(id)
		switch {
		case err == nil && a.came[id] && r.Name != e.Name:
			continue
		case err != nil:
			return err
		case within(bodies, here):
			out.As, out.Outcome = r.Name, Same
			a.add(out)
			return nil
		case longer == nil && len(here) < len(bodies) && slices.EqualFunc(here, bodies[:len(here)], bytes.Equal):
			longer, onto, have = r, id, len(here)
		}
	}
	delete(a.known, onto)
	if longer != nil {
		out.As, out.Outcome, out.Revisions = longer.Name, Newer, len(bodies)-have
		a.add(out)
		return a.append(onto, longer, e, bodies, have)
	}
	out.As, out.Outcome, out.Revisions = free, Added, len(bodies)
	if free != e.Name {
		out.Outcome = Beside
	}
	a.add(out)
	return a.create(e, free, bodies)
}

// numbered is the name of the n-th thing of a name: the first bears it alone.
func numbered(base string, n int) string {
	if n < 2 {
		return base
	}
	number := fmt.Sprintf(" (%d)", n)
	return cut(base, mostName-len(number)) + number
}

// besideName is what stands behind the name of something that came beside another.
var besideName = regexp.MustCompile(` \(\d+\)$`)

// there returns an entry that is here and its revisions as they would be written now.
func (a *arriving) there(id uint64) (*entryRecord, [][]byte, error) {
	if known, ok := a.known[id]; ok {
		return &known.record, known.bodies, nil
	}
	r, err := readEntry(a.tx, id)
	if err != nil {
		return nil, nil, err
	}
	out := hereEntry{record: r}
	what := fmt.Sprintf("saved number %d", id)
	for n := 1; n <= r.Revisions; n++ {
		key := revisionKey(id, n)
		body, err := unseal(what, key, a.tx.Bucket(bucketBodies).Get(key))
		if err != nil {
			return nil, nil, err
		}
		j, err := job.DecodeBench(body)
		if err != nil {
			return nil, nil, &brokenError{what, err.Error()}
		}
		out.bodies = append(out.bodies, j.Encode())
	}
	if a.known == nil {
		a.known = map[uint64]hereEntry{}
	}
	a.known[id] = out
	return &out.record, out.bodies, nil
}

// within reports whether some revisions are all among others, in their order.
func within(some, others [][]byte) bool {
	for _, o := range others {
		if len(some) > 0 && bytes.Equal(some[0], o) {
			some = some[1:]
		}
	}
	return len(some) == 0
}

func (a *arriving) create(e *BundledEntry, name string, bodies [][]byte) error {
	id, err := nextNumber(a.tx.Bucket(bucketEntries))
	if err != nil {
		return err
	}
	if a.came == nil {
		a.came = map[uint64]bool{}
	}
	a.came[id] = true
	r := entryRecord{Kind: e.Kind, Name: name, Tags: e.Tags, Binned: e.Binned}
	if r.Customer, err = settleCustomer(a.tx, spaced(e.Customer)); err != nil {
		return err
	}
	if err := putSealed(a.tx.Bucket(bucketNames), nameKey(e.Kind, name), number(id)); err != nil {
		return err
	}
	return a.append(id, &r, e, bodies, 0)
}

// append adds revisions to an entry, from one on, with the times at which they were saved.
func (a *arriving) append(id uint64, r *entryRecord, e *BundledEntry, bodies [][]byte, from int) error {
	for n := from; n < len(bodies); n++ {
		saved, err := time.Parse(time.RFC3339Nano, e.Revisions[n].Saved)
		if err != nil {
			return refuse("saved", "%q is no time", e.Revisions[n].Saved)
		}
		r.Sample = e.Revisions[n].Job.Bow.Value.Name == SampleBow
		if err := addRevision(a.tx, id, r, saved, bodies[n]); err != nil {
			return err
		}
	}
	return writeEntry(a.tx, id, *r)
}
