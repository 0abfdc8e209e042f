package bench

import (
	"fmt"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/store"
	"foreshaft/ui/keys"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// shelf is one of the lists of the Saved screen.
type shelf int

// The lists.
const (
	listAll shelf = iota
	listBenches
	listBuilds
	listBows
	listCustomers
	listBin
	lists // how many there are
)

// String names the list in its title.
func (s shelf) String() string {
	return [...]string{"benches, builds and bows", "benches", "builds", "bows", "customers", "in the bin"}[s]
}

// savedScreen lists what is saved, customers and the bin: typing filters by everything
// that a line shows. It is there at once, so that what is typed while the list is read
// goes into the filter.
type savedScreen struct {
	listing
	shelf     shelf
	all       []Entry
	customers []store.Customer
	theirs    map[string]int // how much is saved for each customer
	// What the filter looks through, and what is found of the list.
	entryTexts, customerTexts []string
	found                     []int
	ready                     bool   // the list has arrived
	next                      string // the customer to go to once the list is read again
	chosen                    bool   // something is being opened
	opening                   Entry  // that
}

// whats names what can be saved.
var whats = [...]string{SavedBench: "bench", SavedBuild: "build", SavedBow: "bow"}

const savedTime = "2006-01-02 15:04"

func newSavedScreen(m *Model, of shelf) *savedScreen {
	undo := m.keys.Bench.Press(keys.Undo)
	if of == listBows {
		m.Say("The bow you choose takes the place of the one on the bench, which is kept by its name. %s takes it back.", undo)
	} else {
		m.Say("Type to filter. A bench replaces the one you see, a build comes beside it; %s takes either back. %s: customers and bin.", undo, m.keys.Saved.Press(keys.Kind))
	}
	return &savedScreen{listing: listing{input: newInput("")}, shelf: of}
}

// ShowSaved fills the list that was asked for, in the order given, and remembers who the
// customers are.
func (m *Model) ShowSaved(entries []Entry, known []store.Customer, err error) {
	if err == nil || len(known) > 0 || len(entries) > 0 {
		m.customers, m.entries = known, entries
		m.missed()
	}
	l, open := opened[*savedScreen](m)
	if !open {
		return
	}
	switch {
	case err != nil && len(entries)+len(known) == 0:
		m.close(l)
		m.Alert("The list could not be read. %v", err)
		return
	case err != nil:
		m.Alert("A part of the list could not be read. %v", err)
	}
	first := !l.ready
	held, name := l.held()
	if l.next != "" {
		name, l.next = l.next, ""
	}
	l.all, l.customers, l.ready = entries, known, true
	l.theirs = map[string]int{}
	l.entryTexts, l.customerTexts = make([]string, len(entries)), make([]string, len(known))
	for i, e := range entries {
		if !e.Binned {
			l.theirs[e.Customer]++
		}
		l.entryTexts[i] = strings.ToLower(strings.Join([]string{e.Name, whats[e.What], e.Customer, e.Tags, e.Saved.Format(savedTime)}, " "))
	}
	for i, c := range known {
		l.customerTexts[i] = strings.ToLower(c.Name + " " + c.Note)
	}
	l.filter()
	l.hold(held, name)
	if first && err == nil && len(l.found) == 0 && l.query() == "" {
		l.sayEmpty(m)
	}
}

// sayEmpty says what to do about an empty list.
func (l *savedScreen) sayEmpty(m *Model) {
	switch l.shelf {
	case listBows:
		m.Say("No other bow is kept yet: on the form of the bow %s keeps this one by name, %s begins a new one.", m.keys.Form.Press(keys.Keep), m.keys.Form.Press(keys.New))
	case listCustomers:
		m.Say("No customers yet: %s adds one. What you save can then be for them.", m.keys.Saved.Press(keys.New))
	case listBin:
		m.Say("The bin is empty: %s on what is saved puts it here.", m.keys.Saved.Press(keys.Bin))
	default:
		m.Say("Nothing is saved yet: on the bench %s saves it by name. %s takes in a file from elsewhere.", m.keys.Bench.Press(keys.Save), m.keys.Saved.Press(keys.Fetch))
	}
}

func (l *savedScreen) query() string { return strings.TrimSpace(l.input.Value()) }

// held returns what has the focus: an entry, or the name of a customer.
func (l *savedScreen) held() (id uint64, name string) {
	switch {
	case l.at >= len(l.found):
	case l.shelf == listCustomers:
		name = l.customers[l.found[l.at]].Name
	default:
		id = l.all[l.found[l.at]].ID
	}
	return id, name
}

// hold puts the focus on what had it, if it is still listed, and else leaves it where it
// was.
func (l *savedScreen) hold(id uint64, name string) {
	at := slices.IndexFunc(l.found, func(i int) bool {
		if l.shelf == listCustomers {
			return l.customers[i].Name == name
		}
		return l.all[i].ID == id
	})
	if at < 0 {
		at = l.at
	}
	l.at = max(min(at, len(l.found)-1), 0)
}

// filter finds what the list has of what was typed.
func (l *savedScreen) filter() {
	words := strings.Fields(strings.ToLower(l.query()))
	texts := l.entryTexts
	if l.shelf == listCustomers {
		texts = l.customerTexts
	}
	l.found = l.found[:0]
	for i, looked := range texts {
		if l.shows(i) && hasAll(looked, words) {
			l.found = append(l.found, i)
		}
	}
	l.at = max(min(l.at, len(l.found)-1), 0)
}

// shows reports whether something belongs to the list that is shown.
func (l *savedScreen) shows(i int) bool {
	if l.shelf == listCustomers {
		return true
	}
	e := &l.all[i]
	if e.Binned || l.shelf == listBin {
		return e.Binned == (l.shelf == listBin)
	}
	return l.shelf == listAll || e.What == [...]Saved{listBenches: SavedBench, listBuilds: SavedBuild, listBows: SavedBow}[l.shelf]
}

// show goes to a list.
func (l *savedScreen) show(m *Model, of shelf) {
	l.shelf, l.at, l.offset = of, 0, 0
	l.filter()
	m.message = ""
	if l.ready && len(l.found) == 0 && l.query() == "" {
		l.sayEmpty(m)
	}
}

func (l *savedScreen) key(m *Model, k tea.KeyMsg) (bool, Request) {
	a := m.keys.Saved.Action(k)
	switch {
	case a == keys.Close:
		m.message = ""
		return true, nil
	case l.chosen: // it is on its way
		return false, nil
	case l.move(a, len(l.found)):
	case a == keys.Kind:
		l.show(m, (l.shelf+1)%lists)
	case a == keys.KindBack:
		l.show(m, (l.shelf+lists-1)%lists)
	case a == keys.Fetch:
		m.open(m.fetchPrompt(""))
	case a == keys.Send:
		return false, l.send(m)
	case a == keys.New:
		l.input = newInput("") // it could hide the new one
		l.show(m, listCustomers)
		m.open(m.newCustomerPrompt())
	case a == keys.Empty && l.ready:
		l.emptyBin(m)
	case a == "":
		if l.typed(k) {
			l.at, l.offset = 0, 0
			l.filter()
		}
	case a == keys.Help:
		m.open(m.keysOf(m.keys.Saved))
	case !l.ready && a != "":
		m.Say("The list is still being read.")
	case len(l.found) == 0 && l.query() == "":
		l.sayEmpty(m)
	case len(l.found) == 0:
		m.Say("There is nothing in focus: press Backspace to see more.")
	case l.shelf == listCustomers:
		return false, l.actOnCustomer(m, a, l.customers[l.found[l.at]])
	default:
		return false, l.actOnEntry(m, a, l.all[l.found[l.at]])
	}
	return false, nil
}

func (l *savedScreen) actOnEntry(m *Model, a keys.Action, e Entry) Request {
	m.message = ""
	switch a {
	case keys.Choose:
		l.chosen, l.opening = true, e
		m.Say("Opening %s …", short(e.Name))
		return Load{Entry: e}
	case keys.Edit:
		m.open(newEntryForm(m, e))
	case keys.Revisions:
		return m.openPast(e)
	case keys.Bin:
		return Ask{Do: func(s Shelf) func(m *Model) Request {
			if err := s.Bin(e, !e.Binned); err != nil {
				return failed("That was not done", err)
			}
			return func(m *Model) Request {
				if e.Binned {
					m.Say("%s is out of the bin.", short(e.Name))
				} else {
					m.Say("%s is in the bin with all its revisions: %s there takes it out.", short(e.Name), m.keys.Saved.Press(keys.Bin))
				}
				return List{}
			}
		}}
	}
	return nil
}

func (l *savedScreen) actOnCustomer(m *Model, a keys.Action, c store.Customer) Request {
	m.message = ""
	switch a {
	case keys.Choose:
		l.input = newInput(c.Name)
		l.show(m, listAll)
		if len(l.found) == 0 {
			m.Say("Nothing is saved for %s yet: saving a new name on the bench asks for whom it is.", short(c.Name))
		}
	case keys.Edit:
		m.open(newCustomerForm(m, c))
	case keys.Revisions:
		m.Say("Revisions are of what is saved: %s lists what is saved for %s.", m.keys.Saved.Press(keys.Choose), short(c.Name))
	case keys.Bin:
		return m.askToErase(c.Name)
	}
	return nil
}

// emptyBin asks whether to delete what is in the bin.
func (l *savedScreen) emptyBin(m *Model) {
	n := 0
	var names []string
	for _, e := range l.all {
		if !e.Binned {
			continue
		}
		if n++; n <= 3 {
			names = append(names, short(e.Name))
		}
	}
	if n == 0 {
		m.Say("The bin is empty.")
		return
	}
	l.show(m, listBin)
	if n > len(names) {
		names = append(names, "…")
	}
	c := &choice{title: fmt.Sprintf("Empty the bin? %s with every revision: %s", counted(n, "thing"), strings.Join(names, ", "))}
	c.options = []choiceOption{
		{"Leave the bin as it is", func(*Model) Request { return nil }},
		{fmt.Sprintf("Delete %s for good; this cannot be undone", counted(n, "thing")), func(*Model) Request {
			return Ask{Do: func(s Shelf) func(m *Model) Request {
				n, err := s.EmptyBin()
				if err != nil {
					return failed("The bin was not emptied", err)
				}
				return func(m *Model) Request {
					m.Say("Deleted %s. Backups of the workbook still have them.", counted(n, "thing"))
					return List{}
				}
			}}
		}},
	}
	m.open(c)
}

// counted writes how many of something there are.
func counted(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return count(uint64(n)) + " " + what
}

// The columns of the list behind the names.
const (
	savedWhat      = 7
	savedSaved     = 18
	savedRevisions = 4
)

// savedWidths returns how wide names, customers and tags are on a screen.
func savedWidths(w int) (name, customer, tags int) {
	rest := w - 3 - savedWhat - savedSaved - savedRevisions
	customer, tags = min(rest/3, 26), min(rest/5, 24)
	return min(rest-customer-tags, 60), customer, tags
}

func (l *savedScreen) draw(m *Model, w, h int) []string {
	of := len(l.customers)
	if l.shelf != listCustomers {
		of = 0
		for i := range l.all {
			if l.shows(i) {
				of++
			}
		}
	}
	title := fmt.Sprintf(" Saved: %s   %s of %s", l.shelf, count(uint64(len(l.found))), count(uint64(of)))
	name, customer, tags := savedWidths(w)
	heads := text.Pad("name", name) + text.Pad("what", savedWhat) + text.Pad("customer", customer) + text.Pad("tags", tags) + text.Pad("saved", savedSaved) + text.PadLeft("rev.", savedRevisions)
	if l.shelf == listCustomers {
		heads = text.Pad("name", name) + text.PadLeft("saved", 7) + "  note"
	}
	out := l.top(m.theme, w, title, heads)
	below := l.below(m, w)
	from, to := l.seen(h-len(out)-len(below), len(l.found))
	for i := from; i < to; i++ {
		line := mark(i == l.at)
		if l.shelf == listCustomers {
			c := &l.customers[l.found[i]]
			line += cell(c.Name, name) + text.PadLeft(number(l.theirs[c.Name]), 7) + "  " + c.Note
		} else {
			e := &l.all[l.found[i]]
			line += cell(e.Name, name) + text.Pad(whats[e.What], savedWhat) + cell(e.Customer, customer) + cell(e.Tags, tags) + text.Pad(e.Saved.Format(savedTime), savedSaved) + text.PadLeft(number(e.Revisions), savedRevisions)
		}
		line = text.Pad(text.Cut(line, w), w)
		if i == l.at {
			line = m.theme.Paint(theme.Focus, line)
		}
		out = append(out, line)
	}
	switch {
	case !l.ready:
		out = append(out, m.theme.Paint(theme.Quiet, "   Reading the list …"))
	case len(l.found) == 0 && l.query() != "":
		out = append(out, m.theme.Paint(theme.Quiet, text.Cut(fmt.Sprintf("   Nothing here matches “%s”.", l.query()), w)))
	}
	for len(out) < h-len(below) {
		out = append(out, "")
	}
	return append(out, below...)
}

// cell writes a text into a column, with a space behind it.
func cell(words string, w int) string { return text.Pad(text.Cut(words, w-1), w) }

// below says in full what the line in focus has no room for.
func (l *savedScreen) below(m *Model, w int) []string {
	if len(l.found) == 0 {
		return nil
	}
	var words []string
	if l.shelf == listCustomers {
		c := l.customers[l.found[l.at]]
		words = []string{c.Name, counted(l.theirs[c.Name], "thing") + " saved"}
		if c.Note != "" {
			words = append(words, "note: "+c.Note)
		}
	} else {
		e := l.all[l.found[l.at]]
		words = []string{e.Name, counted(e.Revisions, "revision")}
		if e.Customer != "" {
			words = append(words, "for "+e.Customer)
			if at := slices.IndexFunc(l.customers, func(c store.Customer) bool { return c.Name == e.Customer }); at >= 0 && l.customers[at].Note != "" {
				words = append(words, "note: "+l.customers[at].Note)
			}
		}
		if e.Tags != "" {
			words = append(words, "tags: "+e.Tags)
		}
	}
	return m.inFull(words, w)
}

// inFull writes below a list what its line in focus has no room for.
func (m *Model) inFull(words []string, w int) []string {
	var out []string
	for _, line := range wrapped(strings.Join(words, " · "), w-2, 2) {
		out = append(out, m.theme.Paint(theme.Plain, " "+line))
	}
	return out
}

func (l *savedScreen) typing() bool { return true }
func (l *savedScreen) footer(m *Model) []keys.Hint {
	return m.keys.SavedFooter(l.shelf == listCustomers, l.shelf == listBin)
}
func (l *savedScreen) click(_ *Model, _, y int) bool { return l.clickLine(y, listTop, len(l.found)) }
