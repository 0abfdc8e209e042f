package bench

import (
	"slices"
	"strings"
	"time"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/store"
	"foreshaft/ui/session"
)

// Entry is something saved, as the list shows it.
type Entry struct {
	ID        uint64
	Name      string
	What      Saved
	Customer  string
	Tags      string
	Saved     time.Time
	Revisions int
	Binned    bool
}

// Revision is one state of something saved.
type Revision struct {
	Number int // from 1
	Saved  time.Time
	Job    *job.Job
}

// Intake is what a file would bring in, or brought.
type Intake struct {
	Lines   []string
	Refused bool // a part of it, so that nothing can be taken
	Nothing bool // it would change nothing
}

// Shelf is what the lists of what is saved and of parts need of the workbook and of files.
// Its calls may take a while: they are made beside the screen, by an Ask.
type Shelf interface {
	// Describe changes by what an entry is found from what it was, and returns it as kept:
	// another terminal may have changed the rest.
	Describe(e Entry, was, now store.Words) (store.Words, error)
	// Bin puts an entry into the bin, or takes it out.
	Bin(e Entry, binned bool) error
	// EmptyBin deletes what is in the bin and returns how many entries that were.
	EmptyBin() (int, error)
	// Revisions returns every revision of an entry, the first one first.
	Revisions(e Entry) ([]Revision, error)
	// Restore makes a revision the newest, as one more; added is false when it is that.
	Restore(e Entry, revision int) (revisions int, added bool, err error)
	// PutCustomer makes a customer known where was is nobody, or changes the one that was, and
	// returns what is kept.
	PutCustomer(was, now store.Customer) (store.Customer, error)
	// Traces returns what Erase would do.
	Traces(customer string) (*store.Erased, error)
	// Erase takes a customer out for good.
	Erase(customer string) (*store.Erased, error)
	// Bundle writes a part of the workbook as JSON.
	Bundle(of store.Scope) ([]byte, error)
	// Newest writes the newest revision of an entry as a job file.
	Newest(e Entry) ([]byte, error)
	// Read returns what a file holds.
	Read(path string) ([]byte, error)
	// TakeIn says what a file's contents would bring, and takes them in if it is to. The name
	// is what a bench is called that has none.
	TakeIn(data []byte, name string, take bool) (Intake, error)
	// Backup copies the workbook to a new file, or beside it where no path is given, with the
	// bench as it is, kept or not, and returns where the checked copy is.
	Backup(path string, j *job.Job) (full string, err error)
	// Kept returns the bench and the drawer as the workbook has them.
	Kept() (*job.Job, []part.Part, error)
}

// Ask has something done with the shelf, after all that was asked before. Do returns what
// is to be done about it with the bench. Alone says that nothing must change meanwhile:
// keys wait.
type Ask struct {
	Do    func(s Shelf) (then func(m *Model) Request)
	Alone bool
}

func (Ask) request() {}

// failed is what is to be done about something that was not done.
func failed(what string, err error) func(m *Model) Request {
	return func(m *Model) Request {
		m.Alert("%s. %s", what, capital(err.Error()))
		return nil
	}
}

// opened returns a dialog of a type that is open, in front or behind another.
func opened[D dialog](m *Model) (D, bool) {
	if d, ok := m.dialog.(D); ok {
		return d, true
	}
	for _, d := range slices.Backward(m.under) {
		if d, ok := d.(D); ok {
			return d, true
		}
	}
	var none D
	return none, false
}

// renew begins the sitting anew with the bench and the drawer as the workbook has them
// once a customer was erased: what undo could bring back would have the name in it.
func (m *Model) renew(customer string, j *job.Job, drawer []part.Part, gone []store.Entry) {
	name, changed := m.session.Name(), m.changedSince()
	if store.Names(customer, name) || slices.ContainsFunc(gone, func(e store.Entry) bool { return e.Kind == store.KindBench && e.Name == name }) {
		name = ""
	}
	j = priced(j, m.choices.Currency)
	m.session = session.New(j, m.choices.Units)
	m.session.SetName(name)
	m.started, m.compared, m.comparedWith, m.differed = j, nil, nil, name != "" && changed
	m.drawer, m.before, m.effect = drawer, nil, ""
	m.finding, m.fitting = nil, nil
	clear(m.drafts)
	clear(m.kept)
	m.customers, m.entries = nil, nil // the list is read anew
	clear(m.moved[:])
	m.col = max(min(m.col, len(j.Builds)-1), 0)
	m.settle()
}

// customerNamed returns how a customer is spelled whose name was typed in any capitals.
func (m *Model) customerNamed(typed string) (string, bool) {
	for _, c := range m.customers {
		if strings.EqualFold(c.Name, typed) {
			return c.Name, true
		}
	}
	return typed, false
}
