package bench

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/store"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// entryWords is by what an entry is found.
type entryWords struct {
	Name     string `job:"name" need:"yes"`
	Customer string `job:"customer"`
	Tags     string `job:"tags"`
}

// filedOffers is the footer of a form of something that is saved.
var filedOffers = []keys.Offer{keys.Do("back", keys.Close), keys.Do("edit", keys.Edit), keys.Do("help", keys.Help), keys.Do("any action", keys.Command), keys.Do("move", keys.Up, keys.Down)}

// shelved is something that a form edits and the shelf keeps, change by change.
type shelved[T any] struct {
	mu    sync.Mutex
	kept  T // what the shelf has, also while it is asked
	shown T // what the form shows
}

// keep has the shelf keep one changed value of it: the others stay as they are kept when
// its turn comes. Then is called once it is.
func (f *shelved[T]) keep(m *Model, c change, v T, put func(s Shelf, was, now T) (T, error), then func(m *Model, was, now T)) Request {
	f.shown = v
	m.Say("Keeping it …")
	return Ask{Do: func(s Shelf) func(m *Model) Request {
		f.mu.Lock()
		defer f.mu.Unlock()
		was, now := f.kept, f.kept
		err := record.Only(&now, c.key).SetText(record.Only(&v, c.key).Text())
		if err == nil {
			now, err = put(s, was, now)
		}
		if err == nil {
			f.kept = now
		}
		kept := f.kept
		return func(m *Model) Request {
			f.shown = kept
			if err != nil {
				return failed("Not changed", err)(m)
			}
			then(m, was, now)
			m.Say("Changed: %s.", c.what)
			return List{}
		}
	}}
}

// newEntryForm edits by what an entry is found.
func newEntryForm(m *Model, e Entry) dialog {
	m.Say("By what it is found. The builds themselves stay as they were saved.")
	words := entryWords{e.Name, e.Customer, e.Tags}
	f := &shelved[entryWords]{kept: words, shown: words}
	return &form[entryWords]{
		title: fmt.Sprintf("The %s %s", whats[e.What], short(e.Name)), offers: filedOffers, apart: true,
		lines: []line[entryWords]{
			{key: "name", title: "name", means: "what it is saved under"},
			{key: "customer", title: "customer", means: "for whom it is; a new name makes the customer known, empty is nobody"},
			{key: "tags", title: "tags", means: "any words to find it by, such as a purpose or a season"},
		},
		load: func(*Model) entryWords { return f.shown },
		keep: func(m *Model, c change, v entryWords) Request {
			v.Customer, _ = m.customerNamed(v.Customer)
			return f.keep(m, c, v, func(s Shelf, was, now entryWords) (entryWords, error) {
				kept, err := s.Describe(e, store.Words(was), store.Words(now))
				return entryWords(kept), err
			},
				func(m *Model, was, now entryWords) {
					if e.What == SavedBench {
						m.renamed(was.Name, now.Name)
					}
				})
		},
		side: func(m *Model, _ *entryWords) []paragraph { return m.customersBeside() },
	}
}

// customersBeside lists who is known, for whoever types a name.
func (m *Model) customersBeside() []paragraph {
	if len(m.customers) == 0 {
		return nil
	}
	const most = 12
	out := []paragraph{{text: counted(len(m.customers), "customer") + ":"}}
	for _, c := range m.customers[:min(most, len(m.customers))] {
		out = append(out, paragraph{token: theme.Quiet, text: c.Name})
	}
	if len(m.customers) > most {
		out = append(out, paragraph{token: theme.Quiet, text: "…"})
	}
	return out
}

// newCustomerForm edits a customer.
func newCustomerForm(m *Model, c store.Customer) dialog {
	m.Say("A customer is a name and a note, no more than the bench needs.")
	f := &shelved[store.Customer]{kept: c, shown: c}
	return &form[store.Customer]{
		title: "Customer", offers: filedOffers, apart: true,
		lines: []line[store.Customer]{
			{key: "name", title: "name", means: "what is saved for the customer follows it"},
			{key: "note", title: "note", means: "what to remember: bow, draw, what was said at the counter"},
		},
		load: func(*Model) store.Customer { return f.shown },
		keep: func(m *Model, ch change, v store.Customer) Request {
			return f.keep(m, ch, v, func(s Shelf, was, now store.Customer) (store.Customer, error) { return s.PutCustomer(was, now) },
				func(m *Model, _, now store.Customer) {
					if l, open := opened[*savedScreen](m); open {
						l.next = now.Name
					}
				})
		},
		side: func(m *Model, c *store.Customer) []paragraph {
			theirs := 0
			for _, e := range m.entries {
				if e.Customer == c.Name && !e.Binned {
					theirs++
				}
			}
			return []paragraph{
				{text: counted(theirs, "thing") + " saved."},
				{},
				{token: theme.Quiet, text: fmt.Sprintf("On the list of customers %s erases one for good, with all that is saved for them, backups too; %s writes all of it to a file first.",
					m.keys.Saved.Press(keys.Bin), m.keys.Saved.Press(keys.Send))},
			}
		},
	}
}

// newCustomerPrompt asks for the name of a new customer.
func (m *Model) newCustomerPrompt() dialog {
	return newPrompt(m, prompt{
		title: "Name of the new customer",
		accept: func(m *Model, typed string) (Request, error) {
			typed = label.Clean(typed)
			if typed == "" {
				return nil, fmt.Errorf("type a name, or leave with Esc")
			}
			if known, is := m.customerNamed(typed); is {
				return nil, fmt.Errorf("%q is a customer already", known)
			}
			return Ask{Do: func(s Shelf) func(m *Model) Request {
				if _, err := s.PutCustomer(store.Customer{}, store.Customer{Name: typed}); err != nil {
					return failed("Not added", err)
				}
				return func(m *Model) Request {
					if l, open := opened[*savedScreen](m); open {
						l.next = typed
					}
					m.Say("%s is a customer now: a note can be added (%s), and saving a new name asks for whom it is.", short(typed), m.keys.Saved.Press(keys.Edit))
					return List{}
				}
			}}, nil
		},
	})
}

// eraseScreen shows what erasing a customer takes away, and asks for the name.
type eraseScreen struct {
	scroll
	customer string
	goes     []string
	input    input
}

// askToErase looks what erasing a customer would take away.
func (m *Model) askToErase(customer string) Request {
	return Ask{Do: func(s Shelf) func(m *Model) Request {
		traces, err := s.Traces(customer)
		if err != nil {
			return failed("What is saved could not be looked through", err)
		}
		return func(m *Model) Request {
			if _, open := m.dialog.(*savedScreen); !open {
				return nil
			}
			e := &eraseScreen{customer: customer, input: newInput("")}
			e.input.CharLimit = max(e.input.CharLimit, len(customer))
			e.goes = append([]string{"the customer and the note go"}, present.Erasing(traces)...)
			m.open(e)
			m.Say("Type the name to erase it; capitals do not matter. Esc leaves everything as it is.")
			return nil
		}
	}}
}

func (e *eraseScreen) key(m *Model, k tea.KeyMsg) (bool, Request) {
	switch m.keys.Entry.Action(k) {
	case keys.Cancel:
		m.Say("Nothing was erased.")
		return true, nil
	case keys.Accept:
		if !strings.EqualFold(strings.Join(strings.Fields(label.Clean(e.input.Value())), " "), e.customer) {
			m.Say("That is not the name: type it as it stands above to erase it, or leave with Esc.")
			return false, nil
		}
		m.Say("Erasing …")
		return true, erase(e.customer)
	}
	if !e.move(m.keys.Saved.Action(k)) {
		typed(&e.input, k)
	}
	return false, nil
}

// draw keeps the name, the warning and the field in sight, however much goes.
func (e *eraseScreen) draw(m *Model, w, h int) []string {
	var out, body []string
	say := func(to *[]string, t theme.Token, words string) {
		for _, l := range text.Wrap(words, min(w-4, 96)) {
			*to = append(*to, m.theme.Paint(t, "  "+l))
		}
	}
	say(&out, theme.Heading, "Erase "+e.customer+" for good?")
	say(&out, theme.Warn, "! This cannot be undone, and undo of this sitting ends with it. Files that were written elsewhere, and names that are spelled in another way, are yours to look for.")
	out = append(out, "")
	for _, words := range e.goes {
		say(&body, theme.Plain, capital(words))
	}
	rows := max(h-len(out)-2, 1)
	shown := e.show(body, rows)
	out = append(out, shown...)
	more := ""
	if e.most > 0 {
		more = fmt.Sprintf("  lines %d–%d of %d", e.offset+1, e.offset+len(shown), len(body))
	}
	for len(out) < h-2 {
		out = append(out, "")
	}
	return append(out, m.theme.Paint(theme.Quiet, more), " "+m.theme.Paint(theme.Label, "Name ")+field(m.theme, &e.input, min(w-8, 60)))
}

func (e *eraseScreen) typing() bool                { return true }
func (e *eraseScreen) footer(m *Model) []keys.Hint { return m.keys.EraseFooter() }

// erase takes a customer out for good.
func erase(customer string) Request {
	return Ask{Alone: true, Do: func(s Shelf) func(m *Model) Request {
		done, err := s.Erase(customer)
		lost := errors.Is(err, store.ErrErasedAndLost)
		if err != nil && !lost {
			return failed("The workbook is as it was", err)
		}
		var j *job.Job
		var drawer []part.Part
		if !lost {
			j, drawer, err = s.Kept()
		}
		if err != nil {
			return func(m *Model) Request { // the name must not come back from here
				m.renew(customer, store.Without(customer, m.Job()), m.drawer, nil)
				m.Alert("It was erased, but the workbook could not be read again. %v", err)
				return nil
			}
		}
		return func(m *Model) Request {
			m.renew(customer, j, drawer, done.Deleted)
			if l, open := opened[*savedScreen](m); open && store.Names(customer, l.query()) {
				l.input = newInput("")
			}
			m.Say("Erased: the customer, %s, and the name wherever else it stood, in %s too.", counted(len(done.Deleted), "saved thing"), counted(done.Copies, "backup"))
			if len(done.Left) > 0 {
				m.Alert("Erased, but the name is still in %s, which could not be written anew: delete it yourself.", strings.Join(done.Left, ", "))
			}
			return List{}
		}
	}}
}

// forWhom asks for which customer something is saved: one who is known, a new one, or
// nobody.
type forWhom struct {
	listing
	save  Save
	found []string
	fresh string // the one of those that is new
}

// keep asks for which customer something is saved, where there are customers and the name
// is new: what has its customer keeps it.
func (m *Model) keep(s Save) Request {
	if len(m.customers) == 0 || slices.ContainsFunc(m.entries, func(e Entry) bool { return e.What == s.What && e.Name == s.Name }) {
		return s
	}
	f := &forWhom{listing: listing{input: newInput("")}, save: s}
	f.filter(m)
	m.Say("For which customer? Type to filter, or a new name; Enter on the first line is nobody.")
	m.open(f)
	return nil
}

func (f *forWhom) filter(m *Model) {
	typed := label.Clean(f.input.Value())
	f.at, f.offset, f.found = 0, 0, nil
	if typed == "" {
		f.found = append(f.found, "")
	}
	name, known := m.customerNamed(typed)
	var first, others []string
	for _, c := range m.customers {
		switch {
		case c.Name == name:
		case strings.Contains(" "+strings.ToLower(c.Name), " "+strings.ToLower(typed)):
			first = append(first, c.Name)
		case matches(typed, c.Name):
			others = append(others, c.Name)
		}
	}
	// Who has the name comes first; a new one behind those of whom a name begins with it.
	if known {
		f.found = append(f.found, name)
	}
	f.found = append(f.found, first...)
	if typed != "" && !known {
		f.found = append(f.found, typed)
	}
	f.found = append(f.found, others...)
	f.fresh = typed
	if known {
		f.fresh = ""
	}
}

func (f *forWhom) key(m *Model, k tea.KeyMsg) (bool, Request) {
	switch a := m.keys.List.Action(k); {
	case a == keys.Close:
		m.Say("Not saved.")
		return true, nil
	case f.move(a, len(f.found)):
	case a == keys.Choose && len(f.found) > 0:
		m.message = ""
		f.save.Customer = f.found[f.at]
		return true, f.save
	default:
		if f.typed(k) {
			f.filter(m)
		}
	}
	return false, nil
}

func (f *forWhom) draw(m *Model, w, h int) []string {
	out := f.top(m.theme, w, fmt.Sprintf(" Save %s for", short(f.save.Name)), "customer")
	from, to := f.seen(h-len(out), len(f.found))
	for i := from; i < to; i++ {
		name := f.found[i]
		switch name {
		case "":
			name = "nobody"
		case f.fresh:
			name = "a new customer: " + name
		}
		line := text.Pad(text.Cut(mark(i == f.at)+name, w), w)
		if i == f.at {
			line = m.theme.Paint(theme.Focus, line)
		}
		out = append(out, line)
	}
	return out
}

func (f *forWhom) typing() bool                { return true }
func (f *forWhom) footer(m *Model) []keys.Hint { return m.keys.ListFooter() }
func (f *forWhom) click(_ *Model, _, y int) bool {
	return f.clickLine(y, listTop, len(f.found))
}
