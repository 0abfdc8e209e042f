package bench

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/keys"
)

// fakeShelf keeps in memory what the workbook keeps on disk, and fails when told to.
type fakeShelf struct {
	entries   []Entry
	revisions map[uint64][]Revision
	customers []store.Customer
	bench     *job.Job
	drawer    []part.Part
	files     map[string][]byte
	intake    Intake      // what any file would bring
	brings    []part.Part // what it adds to the drawer
	left      []string    // what Erase cannot write anew
	err       error       // what every call fails with
	calls     []string    // those that changed something
}

var errShelf = errors.New("the disk is full")

const (
	wren = "Wren Alder (invented)"
	bram = "Bram Oake (invented)"
)

// sampleShelf is a workbook of two invented customers: two benches, two builds of which
// one is in the bin, and a bow.
func sampleShelf() *fakeShelf {
	at := func(month time.Month, day int) time.Time { return time.Date(2026, month, day, 9, 26, 0, 0, time.UTC) }
	s := &fakeShelf{
		entries: []Entry{
			{ID: 4, Name: "Autumn woods", What: SavedBench, Customer: wren, Tags: "broadhead season", Saved: at(9, 14), Revisions: 3},
			{ID: 7, Name: "Range day", What: SavedBuild, Customer: bram, Tags: "target", Saved: at(7, 2), Revisions: 1},
			{ID: 2, Name: "Counter bow", What: SavedBow, Saved: at(3, 9), Revisions: 1},
			{ID: 9, Name: "Old trial", What: SavedBuild, Customer: wren, Tags: "light", Saved: at(2, 1), Revisions: 2, Binned: true},
			{ID: 5, Name: "Spring meeting", What: SavedBench, Customer: wren, Tags: "target", Saved: at(1, 20), Revisions: 2},
		},
		customers: []store.Customer{{Name: bram}, {Name: wren, Note: "60 lb at 29 in; wants one pin"}},
		bench:     sampleBench(), drawer: slices.Clone(sampleParts()), files: map[string][]byte{},
		revisions: map[uint64][]Revision{},
	}
	for _, e := range s.entries {
		for n := range e.Revisions {
			s.revisions[e.ID] = append(s.revisions[e.ID], Revision{Number: n + 1, Saved: e.Saved.AddDate(0, 0, n+1-e.Revisions), Job: revised(n)})
		}
	}
	return s
}

// revised is the sample bench after n changes.
func revised(n int) *job.Job {
	j := sampleBench().Clone()
	for i := range n {
		switch i % 3 {
		case 0:
			j.Builds[0].Head.Weight += unit.Mass(1+i) * unit.Grain
		case 1:
			j.Bow.Value.Peak = unit.Some(unit.Force(60+i) * unit.PoundForce)
		case 2:
			j.Builds[1].Length += unit.Length(1+i) * unit.Inch / 100
		}
	}
	return j
}

func (s *fakeShelf) list() ([]Entry, []store.Customer, error) {
	if s.err != nil {
		return nil, nil, s.err
	}
	return slices.Clone(s.entries), slices.Clone(s.customers), nil
}

// did notes a call that changes something, unless it fails.
func (s *fakeShelf) did(format string, args ...any) error {
	if s.err == nil {
		s.calls = append(s.calls, fmt.Sprintf(format, args...))
	}
	return s.err
}

func (s *fakeShelf) entry(e Entry) *Entry {
	return &s.entries[slices.IndexFunc(s.entries, func(o Entry) bool { return o.ID == e.ID })]
}

func (s *fakeShelf) named(name string) *Entry {
	i := slices.IndexFunc(s.entries, func(o Entry) bool { return o.Name == name })
	if i < 0 {
		return nil
	}
	return &s.entries[i]
}

func (s *fakeShelf) know(name string) {
	if name != "" && !slices.ContainsFunc(s.customers, func(c store.Customer) bool { return strings.EqualFold(c.Name, name) }) {
		s.customers = append(s.customers, store.Customer{Name: name})
		s.sort()
	}
}

func (s *fakeShelf) sort() {
	slices.SortFunc(s.customers, func(a, b store.Customer) int {
		return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name))
	})
}

func (s *fakeShelf) Describe(e Entry, _, now store.Words) (store.Words, error) {
	return now, s.describe(e, now.Name, now.Customer, now.Tags)
}

func (s *fakeShelf) describe(e Entry, name, customer, tags string) error {
	if slices.ContainsFunc(s.entries, func(o Entry) bool { return o.ID != e.ID && o.What == e.What && o.Name == name }) {
		return fmt.Errorf("another %s is called %q", whats[e.What], name)
	}
	if err := s.did("describe %d %q %q %q", e.ID, name, customer, tags); err != nil {
		return err
	}
	at := s.entry(e)
	at.Name, at.Customer, at.Tags = name, customer, tags
	s.know(customer)
	return nil
}

func (s *fakeShelf) Bin(e Entry, binned bool) error {
	if err := s.did("bin %d %v", e.ID, binned); err != nil {
		return err
	}
	s.entry(e).Binned = binned
	return nil
}

func (s *fakeShelf) EmptyBin() (int, error) {
	before := len(s.entries)
	if err := s.did("empty the bin"); err != nil {
		return 0, err
	}
	s.entries = slices.DeleteFunc(s.entries, func(e Entry) bool { return e.Binned })
	return before - len(s.entries), nil
}

func (s *fakeShelf) Revisions(e Entry) ([]Revision, error) {
	if s.err != nil {
		return nil, s.err
	}
	return slices.Clone(s.revisions[e.ID]), nil
}

func (s *fakeShelf) Restore(e Entry, revision int) (int, bool, error) {
	list := s.revisions[e.ID]
	if s.err == nil && list[revision-1].Job.Equal(list[len(list)-1].Job) {
		return len(list), false, nil
	}
	if err := s.did("restore %d revision %d", e.ID, revision); err != nil {
		return 0, false, err
	}
	last := list[len(list)-1]
	s.revisions[e.ID] = append(list, Revision{Number: len(list) + 1, Saved: last.Saved.AddDate(0, 0, 1), Job: list[revision-1].Job})
	s.entry(e).Revisions = len(list) + 1
	return len(list) + 1, true, nil
}

func (s *fakeShelf) PutCustomer(was, now store.Customer) (store.Customer, error) {
	return now, s.putCustomer(was.Name, now)
}

func (s *fakeShelf) putCustomer(was string, c store.Customer) error {
	if i := slices.IndexFunc(s.customers, func(o store.Customer) bool { return strings.EqualFold(o.Name, c.Name) }); i >= 0 && s.customers[i].Name != was {
		return fmt.Errorf("there is a customer %q already", s.customers[i].Name)
	}
	if err := s.did("customer %q is %q %q", was, c.Name, c.Note); err != nil {
		return err
	}
	s.customers = append(slices.DeleteFunc(s.customers, func(o store.Customer) bool { return o.Name == was }), c)
	s.sort()
	for i := range s.entries {
		if was != "" && s.entries[i].Customer == was {
			s.entries[i].Customer = c.Name
		}
	}
	return nil
}

func (s *fakeShelf) Traces(customer string) (*store.Erased, error) {
	if s.err != nil {
		return nil, s.err
	}
	out := &store.Erased{Customer: customer, Known: true, Copies: 2, Renamed: []string{"the bench as it is now"}, Left: s.left}
	for _, e := range s.entries {
		if e.Customer == customer {
			out.Deleted = append(out.Deleted, store.Entry{ID: e.ID, Kind: store.Kind(whats[e.What]), Name: e.Name, Customer: e.Customer, Revisions: e.Revisions})
		}
	}
	return out, nil
}

// Erase takes the name out of everything, as the workbook does.
func (s *fakeShelf) Erase(customer string) (*store.Erased, error) {
	out, _ := s.Traces(customer)
	if err := s.did("erase %q", customer); err != nil {
		return nil, err
	}
	clean := func(data []byte) []byte { return bytes.ReplaceAll(data, []byte(customer), []byte(store.ErasedName)) }
	j, err := job.DecodeBench(clean(s.bench.Encode()))
	if err != nil {
		return nil, err
	}
	s.bench, s.drawer = j, slices.Clone(s.drawer)
	for i := range s.drawer {
		if h := &s.drawer[i].Head; h.Given {
			h.Value.Note = string(clean([]byte(h.Value.Note)))
		}
	}
	s.customers = slices.DeleteFunc(s.customers, func(c store.Customer) bool { return c.Name == customer })
	s.entries = slices.DeleteFunc(s.entries, func(e Entry) bool { return e.Customer == customer })
	return out, nil
}

func (s *fakeShelf) Bundle(of store.Scope) ([]byte, error) {
	return fmt.Appendf(nil, "bundle of %+v", of), s.err
}

func (s *fakeShelf) Newest(e Entry) ([]byte, error) {
	return fmt.Appendf(nil, "newest of %d", e.ID), s.err
}

func (s *fakeShelf) Read(path string) ([]byte, error) {
	data, there := s.files[path]
	if !there {
		return nil, fmt.Errorf("there is no file %s", path)
	}
	return data, s.err
}

func (s *fakeShelf) TakeIn(data []byte, name string, take bool) (Intake, error) {
	if s.err != nil || !take {
		return s.intake, s.err
	}
	s.drawer = append(slices.Clone(s.drawer), s.brings...)
	return s.intake, s.did("take in %s as %s", data, name)
}

func (s *fakeShelf) Backup(path string, _ *job.Job) (string, error) {
	return "/full/" + path, s.did("back up to %q", path)
}

func (s *fakeShelf) Kept() (*job.Job, []part.Part, error) { return s.bench, s.drawer, s.err }

// lister is a shelf that lists what it has.
type lister interface {
	Shelf
	list() ([]Entry, []store.Customer, error)
}

// answered does what a request asks of the shelf and what follows from it, and returns
// the first request that is none of the shelf's.
func answered(m *Model, s lister, r Request) Request {
	for {
		switch asked := r.(type) {
		case Ask:
			r = asked.Do(s)(m)
		case List:
			entries, customers, err := s.list()
			m.ShowSaved(entries, customers, err)
			return nil
		default:
			return r
		}
	}
}

// do presses keys, each with what it asks of the shelf.
func (s *fakeShelf) do(m *Model, presses ...string) (r Request) {
	for _, p := range presses {
		r = answered(m, s, press(m, p))
	}
	return r
}

// onSaved opens the Saved screen of a bench over the sample shelf.
func onSaved(t testing.TB, presses ...string) (*Model, *fakeShelf) {
	t.Helper()
	m, s := benchOf(t, nil), sampleShelf()
	s.do(m, "o")
	s.do(m, presses...)
	return m, s
}

// listedNow returns the names of what the Saved screen lists.
func listedNow(t testing.TB, m *Model) []string {
	t.Helper()
	l, open := opened[*savedScreen](m)
	if !open {
		t.Fatalf("%T is open", m.dialog)
	}
	var out []string
	for _, i := range l.found {
		if l.shelf == listCustomers {
			out = append(out, l.customers[i].Name)
		} else {
			out = append(out, l.all[i].Name)
		}
	}
	return out
}

// toCustomers are the keys from the list of everything to that of the customers, and
// toBin those to the bin.
var toCustomers, toBin = []string{"shift+tab", "shift+tab"}, []string{"shift+tab"}

func TestEachKeyOfSavedDoesWhatItSays(t *testing.T) {
	var s *fakeShelf
	list := func(x trial) *savedScreen { return x.m.dialog.(*savedScreen) }
	at := func(x trial, want int) { x.Helper(); x.want(list(x).at == want, "the focus is on %d", list(x).at) }
	checkScope(t, keys.Default().Saved, map[keys.Action]func(x trial){
		keys.Down:     func(x trial) { x.press(); at(x, 1) },
		keys.Up:       func(x trial) { press(x.m, "down", "down"); x.press(); at(x, 1) },
		keys.PageDown: func(x trial) { x.press(); at(x, pageStep) },
		keys.PageUp:   func(x trial) { press(x.m, "end"); x.press(); at(x, 23-pageStep) },
		keys.First:    func(x trial) { press(x.m, "end"); x.press(); at(x, 0) },
		keys.Last:     func(x trial) { x.press(); at(x, 23) },
		keys.Kind: func(x trial) {
			press(x.m, "down", "down")
			x.press()
			shows(x, x.m, "Saved: benches   2 of 2")
			at(x, 0)
		},
		keys.KindBack: func(x trial) { x.press(); shows(x, x.m, "Saved: in the bin   1 of 1", "Old trial") },
		keys.Choose: func(x trial) {
			press(x.m, "down")
			r, ok := x.press().(Load)
			x.want(ok && r.Entry == s.entries[1], "it asks for %+v", r)
			shows(x, x.m, "Opening Range day")
			list(x).chosen = false
			press(x.m, toCustomers...)
			x.want(x.press() == nil, "it asks for something")
			x.want(slices.Equal(listedNow(x, x.m), []string{"Range day"}), "listed are %q", listedNow(x, x.m))
		},
		keys.Edit: func(x trial) {
			opens[*form[entryWords]](x)
			shows(x, x.m, "The bench Autumn woods", wren, "broadhead season")
			press(x.m, "esc")
			press(x.m, toCustomers...)
			opens[*form[store.Customer]](x)
			shows(x, x.m, bram)
		},
		keys.New: func(x trial) {
			opens[*prompt](x)
			shows(x, x.m, "Name of the new customer", "Saved: customers")
			write(x.m, "Cole Birch (invented)")
			s.do(x.m, "enter")
			x.want(slices.Equal(s.calls, []string{`customer "" is "Cole Birch (invented)" ""`}), "%q", s.calls)
		},
		keys.Revisions: func(x trial) {
			answered(x.m, s, x.press())
			_, open := x.m.dialog.(*pastScreen)
			x.want(open, "it opens %T", x.m.dialog)
			shows(x, x.m, "Revisions of the bench Autumn woods   3")
			press(x.m, "esc")
			press(x.m, toCustomers...)
			x.want(x.press() == nil && x.m.dialog == dialog(list(x)), "it opens %T", x.m.dialog)
			shows(x, x.m, "Revisions are of what is saved")
		},
		keys.Bin: func(x trial) {
			answered(x.m, s, x.press())
			x.want(slices.Equal(s.calls, []string{"bin 4 true"}), "%q", s.calls)
			shows(x, x.m, "Autumn woods is in the bin", "23 of 23")
			press(x.m, toBin...)
			answered(x.m, s, x.press())
			x.want(slices.Equal(s.calls, []string{"bin 4 true", "bin 4 false"}), "%q", s.calls)
			shows(x, x.m, "Autumn woods is out of the bin", "1 of 1")
			press(x.m, "shift+tab")
			answered(x.m, s, x.press())
			_, open := x.m.dialog.(*eraseScreen)
			x.want(open && len(s.calls) == 2, "on a customer it opens %T and did %q", x.m.dialog, s.calls)
		},
		keys.Empty: func(x trial) {
			opens[*choice](x)
			shows(x, x.m, "Empty the bin? 1 thing with every revision: Old trial")
			x.want(len(s.calls) == 0, "it did %q without a question", s.calls)
		},
		keys.Send: func(x trial) {
			opens[*choice](x)
			shows(x, x.m, "Write to a file", "The bench Autumn woods as saved last: a job file")
		},
		keys.Fetch: func(x trial) {
			opens[*prompt](x)
			shows(x, x.m, "Which file to take in")
		},
		keys.Help:  func(x trial) { opens[*page](x); shows(x, x.m, "Keys of the screen Saved", "empty the bin", "Ctrl+K") },
		keys.Close: func(x trial) { x.press(); x.want(x.m.dialog == nil, "%T is open", x.m.dialog) },
	}, func(t testing.TB) *Model {
		m := benchOf(t, nil)
		s = sampleShelf()
		for i := range 20 {
			s.entries = append(s.entries, Entry{ID: uint64(100 + i), Name: fmt.Sprintf("Trial %d", i), What: SavedBuild, Revisions: 1})
		}
		s.do(m, "o")
		return m
	})
}

// Every word that is typed must be somewhere in what a line shows, in any order and in
// any capitals.
func TestSavedIsFilteredByAllThatALineShows(t *testing.T) {
	for query, want := range map[string][]string{
		"":                         {"Autumn woods", "Range day", "Counter bow", "Spring meeting"},
		"autumn":                   {"Autumn woods"},
		"WOODS aut":                {"Autumn woods"},
		"wren":                     {"Autumn woods", "Spring meeting"},
		"oake":                     {"Range day"},
		"target":                   {"Range day", "Spring meeting"},
		"target wren":              {"Spring meeting"},
		"wren target":              {"Spring meeting"},
		"bench":                    {"Autumn woods", "Spring meeting"},
		"build target":             {"Range day"},
		"bow":                      {"Counter bow"},
		"2026-07":                  {"Range day"},
		"09:26 season 2026-09-14":  {"Autumn woods"},
		"  meeting   2026-01-20  ": {"Spring meeting"},
		"old":                      nil, // in the bin
		"nothing such":             nil,
	} {
		m, _ := onSaved(t)
		write(m, query)
		if got := listedNow(t, m); !slices.Equal(got, want) {
			t.Errorf("%q finds %q, want %q", query, got, want)
		}
		shows(t, m, fmt.Sprintf("Saved: benches, builds and bows   %d of 4", len(want)))
		if len(want) == 0 {
			shows(t, m, "Nothing here matches “"+query+"”")
			before := screen(m)
			for _, key := range []string{"enter", "ctrl+e", "ctrl+r", "ctrl+x"} {
				if r := press(m, key); r != nil || !strings.Contains(m.message, "nothing in focus") {
					t.Errorf("with nothing found %s asks for %v and says %q", key, r, m.message)
				}
			}
			press(m, "down", "end", "pgup")
			if m.message = ""; strings.Contains(before, "▸") {
				t.Errorf("with nothing found something has the focus:\n%s", before)
			}
		}
	}
	// Customers are found by their name and their note.
	for query, want := range map[string][]string{"": {bram, wren}, "invented": {bram, wren}, "PIN": {wren}, "alder wren": {wren}, "one pin oake": nil} {
		m, _ := onSaved(t, toCustomers...)
		write(m, query)
		if got := listedNow(t, m); !slices.Equal(got, want) {
			t.Errorf("of the customers %q finds %q, want %q", query, got, want)
		}
	}
}

func TestEachListShowsWhatBelongsToIt(t *testing.T) {
	want := []struct {
		title string
		names []string
	}{
		{"Saved: benches, builds and bows   4 of 4", []string{"Autumn woods", "Range day", "Counter bow", "Spring meeting"}},
		{"Saved: benches   2 of 2", []string{"Autumn woods", "Spring meeting"}},
		{"Saved: builds   1 of 1", []string{"Range day"}},
		{"Saved: bows   1 of 1", []string{"Counter bow"}},
		{"Saved: customers   2 of 2", []string{bram, wren}},
		{"Saved: in the bin   1 of 1", []string{"Old trial"}},
	}
	m, s := onSaved(t)
	for i := range 2 * len(want) {
		c := want[i%len(want)]
		shows(t, m, c.title)
		if got := listedNow(t, m); !slices.Equal(got, c.names) {
			t.Errorf("%s: listed are %q, want %q", c.title, got, c.names)
		}
		s.do(m, "tab")
	}
	for i := range want {
		c := want[(len(want)-i)%len(want)]
		shows(t, m, c.title)
		s.do(m, "shift+tab")
	}
	// The bow form asks for bows, and the way to the others is the same.
	m = benchOf(t, nil)
	press(m, "b")
	s.do(m, "o")
	shows(t, m, want[3].title)
	s.do(m, "tab")
	shows(t, m, want[4].title)
}

// Of the customers the list says how much is saved for each, without what is in the bin.
func TestTheListOfCustomersCountsWhatIsTheirs(t *testing.T) {
	m, _ := onSaved(t, append(toCustomers, "down")...)
	line := ""
	for _, l := range m.Lines() {
		if strings.HasPrefix(l, " ▸ "+wren) {
			line = strings.Join(strings.Fields(l), " ")
		}
	}
	if want := "▸ " + wren + " 2 60 lb at 29 in; wants one pin"; line != want {
		t.Errorf("the line is %q, want %q", line, want)
	}
	shows(t, m, wren+" · 2 things saved · note: 60 lb at 29 in; wants one pin")
}

func TestAnEmptyListSaysWhatToDo(t *testing.T) {
	for i, says := range []string{"Nothing is saved yet", "Nothing is saved yet", "Nothing is saved yet", "No other bow is kept yet", "No customers yet: Ctrl+A adds one", "The bin is empty: Ctrl+X"} {
		m := benchOf(t, nil)
		s := &fakeShelf{}
		s.do(m, "o")
		for range i {
			s.do(m, "tab")
		}
		shows(t, m, says)
		for _, key := range []string{"enter", "ctrl+e", "ctrl+r", "ctrl+x"} {
			if r := press(m, key); r != nil {
				t.Errorf("on an empty list %s asks for %v", key, r)
			}
			shows(t, m, says)
		}
		if press(m, "ctrl+k"); !strings.Contains(m.message, "The bin is empty") {
			t.Errorf("emptying an empty bin says %q", m.message)
		}
	}
}

// Before the list has arrived nobody knows what is in it.
func TestNothingIsSaidOfAListThatIsNotThereYet(t *testing.T) {
	for _, presses := range [][]string{{"enter"}, {"ctrl+e"}, {"ctrl+r"}, {"ctrl+x"}, {"ctrl+k"}, {"tab", "enter"}, {"shift+tab", "ctrl+x"}, {"shift+tab", "shift+tab", "enter"}} {
		m := benchOf(t, nil)
		press(m, "o")
		if r := press(m, presses...); r != nil {
			t.Errorf("%q asks for %v", presses, r)
		}
		shows(t, m, "Reading the list")
		for _, wrong := range []string{"Nothing is saved", "is empty", "No customers yet", "No other bow"} {
			if strings.Contains(m.message, wrong) {
				t.Errorf("while the list is read %q says %q", presses, m.message)
			}
		}
	}
}

func TestWhatIsPressedBeforeTheListArrivesHolds(t *testing.T) {
	m, s := benchOf(t, nil), sampleShelf()
	r := press(m, "o")
	write(m, "target")
	press(m, "shift+tab", "shift+tab", "shift+tab", "shift+tab", "shift+tab")
	answered(m, s, r)
	if got := listedNow(t, m); !slices.Equal(got, []string{"Spring meeting"}) {
		t.Errorf("listed are %q, want the bench with that tag", got)
	}
	// Left before it arrived, it opens nothing and is known all the same.
	m = benchOf(t, nil)
	r = press(m, "o")
	press(m, "esc")
	answered(m, s, r)
	if m.dialog != nil || len(m.customers) != 2 || len(m.entries) != 5 {
		t.Errorf("%T is open; %d customers and %d entries are known", m.dialog, len(m.customers), len(m.entries))
	}
}

func TestAListThatIsReadAgainKeepsTheFocus(t *testing.T) {
	m, s := onSaved(t, "end")
	s.entries = slices.Insert(s.entries, 0, Entry{ID: 50, Name: "Newest", What: SavedBench}, Entry{ID: 51, Name: "Newer", What: SavedBow})
	entries, customers, _ := s.list()
	m.ShowSaved(entries, customers, nil)
	shows(t, m, "▸ Spring meeting", "6 of 6")

	// What is filtered stays filtered, and what goes from the list leaves the focus where it was.
	m, s = onSaved(t)
	write(m, "wren")
	s.do(m, "down", "ctrl+x")
	if got := listedNow(t, m); !slices.Equal(got, []string{"Autumn woods"}) {
		t.Errorf("listed are %q", got)
	}
	shows(t, m, "▸ Autumn woods", "Spring meeting is in the bin")

	m, s = onSaved(t)
	s.do(m, "down", "ctrl+x")
	shows(t, m, "▸ Counter bow")

	// Another name is no other thing.
	m, s = onSaved(t, "ctrl+e")
	s.do(m, "enter")
	write(m, "Zwoods")
	s.do(m, "enter", "esc")
	shows(t, m, "▸ Zwoods")

	m, s = onSaved(t, append(toCustomers, "down")...)
	s.customers = append(s.customers, store.Customer{Name: "Ada Ash (invented)"})
	s.sort()
	entries, customers, _ = s.list()
	m.ShowSaved(entries, customers, nil)
	shows(t, m, "▸ "+wren, "3 of 3")
}

// A customer who gets another name, and one who is new, has the focus: what comes next is
// about them.
func TestTheFocusGoesWithACustomersName(t *testing.T) {
	m, s := onSaved(t, append(toCustomers, "ctrl+e", "enter")...)
	write(m, "Yara Oake (invented)")
	s.do(m, "enter", "esc")
	shows(t, m, "▸ Yara Oake (invented)")

	m, s = onSaved(t, "ctrl+a")
	write(m, "Cole Birch (invented)")
	s.do(m, "enter")
	shows(t, m, "▸ Cole Birch (invented)", "a note can be added (Ctrl+E)")
	s.do(m, "ctrl+e")
	if f, open := m.dialog.(*form[store.Customer]); !open || f.load(m).Name != "Cole Birch (invented)" {
		t.Errorf("Ctrl+E opens %T:\n%s", m.dialog, screen(m))
	}

	// What was typed to find something else does not hide who is new.
	m, s = onSaved(t)
	write(m, "target")
	s.do(m, "ctrl+a")
	write(m, "Cole Birch (invented)")
	s.do(m, "enter")
	shows(t, m, "▸ Cole Birch (invented)")
}

func TestAListThatIsReadInPartSaysSo(t *testing.T) {
	damage := errors.New("Some of the workbook is damaged.")
	m := benchOf(t, nil)
	press(m, "o")
	s := sampleShelf()
	m.ShowSaved(s.entries[:2], nil, damage)
	shows(t, m, "A part of the list could not be read. Some of the workbook is damaged.", "Autumn woods", "2 of 2")
	if r, ok := press(m, "enter").(Load); !ok || r.Entry.Name != "Autumn woods" {
		t.Errorf("Enter asks for %+v", r)
	}

	m = benchOf(t, nil)
	press(m, "o")
	m.ShowSaved(nil, s.customers, damage)
	shows(t, m, "A part of the list could not be read.")
	if _, open := m.dialog.(*savedScreen); !open {
		t.Errorf("%T is open", m.dialog)
	}
	if strings.Contains(screen(m), "Nothing is saved yet") {
		t.Error("of a list that could not be read it says that nothing is saved")
	}

	m = benchOf(t, nil)
	press(m, "o")
	m.ShowSaved(nil, nil, damage)
	shows(t, m, "The list could not be read. Some of the workbook is damaged.")
	if m.dialog != nil {
		t.Errorf("%T is open", m.dialog)
	}
}

// What fails says what was not done and why, and leaves the workbook, the bench and the
// screen as they were.
func TestWhatFailsSaysSoAndKeepsEverything(t *testing.T) {
	for name, c := range map[string]struct {
		lead   []string
		typed  string
		failed string
		says   string
	}{
		"bin":           {nil, "", "ctrl+x", "not done"},
		"out of bin":    {toBin, "", "ctrl+x", "not done"},
		"empty the bin": {[]string{"ctrl+k", "down"}, "", "enter", "not emptied"},
		"revisions":     {nil, "", "ctrl+r", "revisions could not be read"},
		"restore":       {[]string{"ctrl+r", "end"}, "", "r", "not restored"},
		"new customer":  {[]string{"ctrl+a"}, "Cole", "enter", "Not added"},
		"traces":        {toCustomers, "", "ctrl+x", "could not be looked through"},
		"erase":         {append(toCustomers, "ctrl+x"), bram, "enter", "as it was"},
		"entry":         {[]string{"ctrl+e", "enter"}, "Other", "enter", "Not changed"},
		"customer":      {append(toCustomers, "ctrl+e", "enter"), "Other", "enter", "Not changed"},
		"read":          {[]string{"ctrl+t"}, "there.json", "enter", "could not be read"},
		"take in":       {[]string{"ctrl+t"}, "there.json\r", "enter", "Nothing was taken in"},
		"write":         {[]string{"ctrl+w", "down", "enter"}, "", "enter", "Not written"},
	} {
		t.Run(name, func(t *testing.T) {
			m, s := onSaved(t)
			s.files["there.json"], s.intake = []byte("data"), Intake{Lines: []string{"one thing"}}
			s.do(m, c.lead...)
			typed, enter := strings.CutSuffix(c.typed, "\r")
			write(m, typed)
			if enter {
				s.do(m, "enter")
			}
			before, entries, customers, drawer := m.Job(), slices.Clone(s.entries), slices.Clone(s.customers), m.drawer
			s.err = errShelf
			if r := s.do(m, c.failed); r != nil {
				t.Errorf("it asks for %+v", r)
			}
			if !strings.Contains(m.message, c.says) || !strings.Contains(strings.ToLower(m.message), errShelf.Error()) || !m.alerting() {
				t.Errorf("it says %q, alerting %v, want %q and why", m.message, m.alerting(), c.says)
			}
			checkFrame(t, name, m.Lines(), 120, 36)
			if len(s.calls) > 0 || !slices.Equal(entries, s.entries) || !slices.Equal(customers, s.customers) || m.Job() != before || &m.drawer[0] != &drawer[0] {
				t.Errorf("something changed: %q", s.calls)
			}
			// The list is there still, and what was shown of it.
			for range 4 {
				if _, open := m.dialog.(*savedScreen); open {
					break
				}
				press(m, "esc")
			}
			shows(t, m, "Saved: ")
			if strings.Contains(screen(m), "Other") || strings.Contains(screen(m), "Cole") {
				t.Errorf("what failed is shown as done:\n%s", screen(m))
			}
		})
	}
}

func TestEnterOnACustomerShowsWhatIsTheirs(t *testing.T) {
	m, s := onSaved(t, append(toCustomers, "end", "enter")...)
	if got := listedNow(t, m); !slices.Equal(got, []string{"Autumn woods", "Spring meeting"}) {
		t.Errorf("listed are %q", got)
	}
	shows(t, m, "Saved: benches, builds and bows   2 of 4", "["+wren+"▏")
	// The name is a filter like any other: a letter takes its place.
	write(m, "r")
	if got := typedText(t, m); got != "r" {
		t.Errorf("r behind it gives %q", got)
	}
	s.customers = append(s.customers, store.Customer{Name: "Zoe Elm (invented)"})
	m = benchOf(t, nil)
	s.do(m, "o")
	s.do(m, append(toCustomers, "end", "enter")...)
	shows(t, m, "0 of 4", "Nothing is saved for Zoe Elm (invented) yet")
}

func TestTheBinIsEmptiedAfterAQuestion(t *testing.T) {
	m, s := onSaved(t, "ctrl+x", "ctrl+k")
	shows(t, m, "Empty the bin? 2 things with every revision: Autumn woods, Old trial", "▸ Leave the bin as it is", "Delete 2 things for good; this cannot be undone")
	s.do(m, "enter")
	if len(s.entries) != 5 || len(s.calls) != 1 {
		t.Errorf("leaving it did %q", s.calls)
	}
	s.do(m, "ctrl+k", "esc")
	if len(s.entries) != 5 {
		t.Error("Esc empties it")
	}
	s.do(m, "ctrl+k", "down", "enter")
	if s.named("Autumn woods") != nil || s.named("Old trial") != nil || len(s.entries) != 3 {
		t.Errorf("left are %+v", s.entries)
	}
	shows(t, m, "Deleted 2 things.", "Saved: in the bin   0 of 0")
	if _, open := m.dialog.(*savedScreen); !open {
		t.Errorf("%T is open", m.dialog)
	}
}

// What is in the bin can be looked at and opened without being taken out.
func TestWhatIsInTheBinCanBeOpened(t *testing.T) {
	m, s := onSaved(t, toBin...)
	if r, ok := press(m, "enter").(Load); !ok || r.Entry != *s.named("Old trial") {
		t.Errorf("Enter asks for %+v", r)
	}
	m, _ = onSaved(t, append(toBin, "ctrl+r")...)
	shows(t, m, "Revisions of the build Old trial   2")
}

// Nothing that is pressed while something is on its way opens anything else.
func TestWhileSomethingIsOpenedTheListWaits(t *testing.T) {
	m, s := onSaved(t)
	e := s.entries[0]
	press(m, "enter")
	for _, key := range []string{"down", "enter", "ctrl+x", "ctrl+r", "ctrl+e", "ctrl+a", "ctrl+k", "tab", "ctrl+w", "ctrl+t", "x"} {
		if r := press(m, key); r != nil {
			t.Errorf("%s asks for %v", key, r)
		}
	}
	m.Place(e, revised(2), nil)
	if m.dialog != nil || m.session.Name() != "Autumn woods" {
		t.Errorf("%T is open over %q", m.dialog, m.session.Name())
	}
}

// At any size the line in focus and what is said of it in full are on the screen.
func TestTheLineInFocusIsToldInFull(t *testing.T) {
	for _, size := range sizes[5:] {
		m, s := onSaved(t)
		long := "A customer whose name takes more room than its column has (invented)"
		s.entries[0].Customer, s.entries[0].Tags = long, "tags that are long too, and more of them, and more again"
		s.know(long)
		entries, customers, _ := s.list()
		m.ShowSaved(entries, customers, nil)
		m.SetSize(size[0], size[1])
		words := strings.Join(strings.Fields(screen(m)), " ")
		for _, want := range []string{"for " + long, "3 revisions"} {
			if !strings.Contains(words, want) {
				t.Errorf("%v: the screen does not show %q:\n%s", size, want, screen(m))
			}
		}
	}
}

// savedModes lists what the Saved screen and all that is opened from it draw.
func savedModes(add func(name string, make func(t testing.TB) *Model)) {
	with := func(name string, change func(s *fakeShelf), presses ...string) {
		add("saved, "+name, func(t testing.TB) *Model {
			m, s := onSaved(t)
			if change != nil {
				change(s)
				answered(m, s, List{})
			}
			for _, p := range presses {
				if typed, text := strings.CutPrefix(p, "type "); text {
					write(m, typed)
					continue
				}
				s.do(m, p)
			}
			return m
		})
	}
	file := func(look Intake) func(s *fakeShelf) {
		return func(s *fakeShelf) { s.files["price-list.csv"], s.intake = []byte("data"), look }
	}
	for i, name := range []string{"all", "benches", "builds", "bows", "customers", "bin"} {
		with(name, nil, slices.Repeat([]string{"tab"}, i)...)
	}
	with("nothing", func(s *fakeShelf) { s.entries, s.customers = nil, nil }, "tab")
	with("keys", nil, "f1")
	with("an entry", nil, "ctrl+e", "down")
	with("a customer", nil, append(toCustomers, "end", "ctrl+e", "down")...)
	with("emptying the bin", nil, "ctrl+k")
	with("writing", nil, "ctrl+w", "down")
	with("a name for a file", nil, "ctrl+w", "enter")
	with("opening", nil, "enter")
	with("revisions", nil, "ctrl+r")
	with("revisions, marked", nil, "ctrl+r", "c", "end")
	with("revisions, many", manyRevisions(40), "ctrl+r", "end")
	with("revisions, read in full", manyRevisions(40), "ctrl+r", "end", "c", "home", "e")
	with("revisions, one", nil, "down", "ctrl+r")
	with("revisions, restored", nil, "ctrl+r", "end", "r")
	add("saved, revisions, not there yet", func(t testing.TB) *Model {
		m, _ := onSaved(t)
		press(m, "ctrl+r")
		return m
	})
	with("erasing", nil, append(toCustomers, "end", "ctrl+x", "type Wren Al")...)
	with("erasing, with much", func(s *fakeShelf) {
		s.left = []string{"/home/workbook.old"}
		for i := range 60 {
			s.entries = append(s.entries, Entry{ID: uint64(200 + i), Name: fmt.Sprintf("Trial %d", i), Customer: wren, Revisions: i})
		}
	}, append(toCustomers, "end", "ctrl+x", "down", "type x")...)
	with("erased", nil, append(toCustomers, "end", "ctrl+x", "type "+wren, "enter")...)
	with("a file", file(Intake{Lines: []string{"2 things to take in", "one is new"}}), "ctrl+t", "type price-list.csv", "enter")
	with("a file with much", file(Intake{Lines: strings.Split(strings.Repeat("line 12 changes brass 5 mm 50 gr: price 3.10 → 3.40\n", 80), "\n")}), "ctrl+t", "type price-list.csv", "enter", "pgdown")
	with("a file that is refused", file(Intake{Lines: []string{"0 new", "line 3 is refused: no such kind"}, Refused: true}), "ctrl+t", "type price-list.csv", "enter", "enter")
	with("a file with nothing new", file(Intake{Lines: []string{"0 things"}, Nothing: true}), "ctrl+t", "type price-list.csv", "enter")
	with("no file", nil, "ctrl+t", "type nowhere", "enter")
	with("for whom", nil, "esc", "s", "type Evening", "enter", "type wr")
	with("for whom, a new one", nil, "esc", "s", "type Evening", "enter", "type Cole", "end")
}

// manyRevisions gives what is first on the shelf n revisions.
func manyRevisions(n int) func(s *fakeShelf) {
	return func(s *fakeShelf) {
		e := &s.entries[0]
		e.Revisions, s.revisions[e.ID] = n, nil
		for i := range n {
			s.revisions[e.ID] = append(s.revisions[e.ID], Revision{Number: i + 1, Saved: e.Saved.AddDate(0, 0, i+1-n), Job: revised(i)})
		}
	}
}

// Whatever names and notes hold, every frame of these screens is whole.
func TestHostileNamesKeepTheSavedScreens(t *testing.T) {
	for n, name := range hostileNames {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			t.Parallel()
			for _, presses := range [][]string{nil, {"tab"}, toCustomers, toBin, {"ctrl+e"}, {"ctrl+e", "enter"}, {"ctrl+r"}, {"ctrl+r", "c", "end"}, {"ctrl+r", "e"}, {"ctrl+r", "end", "r"}, {"ctrl+w"}, {"ctrl+w", "enter"},
				{"ctrl+x"}, {"ctrl+k"}, append(toCustomers, "ctrl+e"), append(toCustomers, "ctrl+e", "enter"), append(toCustomers, "ctrl+x"), append(toCustomers, "ctrl+w"), append(toCustomers, "enter"),
				{"esc", "s", "Z", "enter"}, {"ctrl+t", "f", "enter"}, {"enter"}} {
				m, s := onSaved(t)
				for i := range s.entries {
					e := &s.entries[i]
					e.Name, e.Customer, e.Tags = name+fmt.Sprint(i), name, name
					for n := range s.revisions[e.ID] {
						j := s.revisions[e.ID][n].Job
						j.Builds[0].Name, j.Bow.Value.Name = fmt.Sprint(name, n), fmt.Sprint(n, name)
						j.Builds[1].Head.Note = fmt.Sprint(n, name)
					}
				}
				s.customers = []store.Customer{{Name: name, Note: name}, {Name: name + "2", Note: name}}
				s.left, s.files["f"], s.intake = []string{name}, []byte(name), Intake{Lines: []string{name, name}}
				answered(m, s, List{})
				s.do(m, presses...)
				for _, size := range sizes {
					m.SetSize(size[0], size[1])
					lines := m.Lines()
					checkFrame(t, fmt.Sprintf("%q after %q", name[:min(len(name), 20)], presses), lines, size[0], size[1])
					if strings.ContainsAny(strings.Join(lines, ""), "\u202e\u2066\u009b") {
						t.Errorf("after %q the screen holds a character that acts:\n%q", presses, lines)
					}
				}
			}
		})
	}
}

// Each line that is drawn is the one that a click goes to, also among customers.
func TestAClickOnACustomerGoesThere(t *testing.T) {
	for _, size := range clickSizes {
		m, s := onSaved(t, toCustomers...)
		m.SetSize(size[0], size[1])
		y := slices.IndexFunc(m.Lines(), func(l string) bool { return strings.HasPrefix(l, "   "+wren) })
		if y < 0 {
			t.Fatalf("%v: no line shows the customer:\n%s", size, screen(m))
		}
		if r := clickAt(m, 10, y); r != nil {
			t.Errorf("a click asks for %v", r)
		}
		shows(t, m, "▸ "+wren)
		answered(m, s, clickAt(m, 10, y))
		shows(t, m, "Saved: benches, builds and bows   2 of 4")
	}
}

func TestGoldenFramesOfSaved(t *testing.T) {
	for _, size := range [][2]int{{120, 36}, {80, 24}} {
		suffix := fmt.Sprintf("-%dx%d.txt", size[0], size[1])
		m, s := onSaved(t)
		m.SetSize(size[0], size[1])
		golden(t, "saved"+suffix, screen(m))
		s.do(m, append(toCustomers, "down")...)
		golden(t, "customers"+suffix, screen(m))
		s.do(m, "ctrl+x")
		write(m, "wren")
		golden(t, "erase"+suffix, screen(m))
		s.do(m, "esc", "tab", "tab")
		manyRevisions(6)(s)
		s.do(m, "ctrl+r", "down")
		golden(t, "revisions"+suffix, screen(m))
		s.do(m, "esc")
		s.files["price-list.csv"] = []byte("data")
		s.intake = Intake{Lines: []string{
			"2 new, 1 changed, 12 as they are, 0 refused.",
			"line 7 changes brass 5 mm 50 gr: price 3.10 → 3.40, stock 24 → 12",
			"line 15 is new: head 125 gr field point, 125 gr", "line 16 is new: shaft 5 mm .300, 9.5 gr/in",
		}}
		s.do(m, "ctrl+t")
		write(m, "price-list.csv")
		s.do(m, "enter")
		golden(t, "intake"+suffix, screen(m))
	}
}

// 10,000 entries of 10,000 customers: a letter of the filter, to the frame. Two keys and
// two frames are one turn; the budget of each is a frame, 8 ms.
func BenchmarkSavedFilter(b *testing.B) {
	var list []Entry
	var customers []store.Customer
	for i := range 10000 {
		c := store.Customer{Name: fmt.Sprintf("Customer %d (invented)", i), Note: "60 lb at 29 in, brass in front"}
		customers = append(customers, c)
		list = append(list, Entry{ID: uint64(i + 1), Name: fmt.Sprintf("Bench number %d", i), What: Saved(i % 3), Customer: c.Name, Tags: "target season", Saved: time.Date(2026, 3, 1, 9, i, 0, 0, time.UTC), Revisions: 1 + i%9})
	}
	for _, of := range []struct {
		name  string
		shift int // back from the list of everything
	}{{"entries", 0}, {"customers", 2}} {
		b.Run(of.name, func(b *testing.B) {
			m := benchOf(b, nil)
			m.SetSize(200, 60)
			press(m, "o")
			m.ShowSaved(list, customers, nil)
			for range of.shift {
				press(m, "shift+tab")
			}
			for b.Loop() {
				press(m, "b")
				m.Lines()
				press(m, "backspace")
				m.Lines()
			}
		})
	}
	// For whom something is saved is asked with as many customers.
	b.Run("for whom", func(b *testing.B) {
		m := benchOf(b, nil)
		m.SetSize(200, 60)
		press(m, "s")
		m.ShowSaved(list, customers, nil)
		write(m, "Evening")
		press(m, "enter")
		for b.Loop() {
			press(m, "c")
			m.Lines()
			press(m, "backspace")
			m.Lines()
		}
	})
}
