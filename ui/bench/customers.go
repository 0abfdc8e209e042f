package bench

import (
	"fmt"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/label"
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

// newEntryForm edits by what an entry is found.
func newEntryForm(m *Model, e Entry) dialog {
	m.Say("By what it is found. The builds themselves stay as they were saved.")
	return &form[entryWords]{
		title: fmt.Sprintf("The %s %s", whats[e.What], short(e.Name)), offers: filedOffers, apart: true,
		lines: []line[entryWords]{
			{key: "name", title: "name", means: "what it is saved under"},
			{key: "customer", title: "customer", means: "for whom it is; a new name makes the customer known, empty is nobody"},
			{key: "tags", title: "tags", means: "any words to find it by, such as a purpose or a season"},
		},
		load: func(*Model) entryWords { return entryWords{e.Name, e.Customer, e.Tags} },
		keep: func(m *Model, c change, v entryWords) Request {
			v.Customer, _ = m.customerNamed(v.Customer)
			was := e
			e.Name, e.Customer, e.Tags = v.Name, v.Customer, v.Tags
			m.Say("Changed: %s.", c.what)
			return Ask{Do: func(s Shelf) func(m *Model) Request {
				if err := s.Describe(was, v.Name, v.Customer, v.Tags); err != nil {
					return func(m *Model) Request {
						e = was
						m.Alert("Not changed. %v", err)
						return nil
					}
				}
				return func(*Model) Request { return List{} }
			}}
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
	return &form[store.Customer]{
		title: "Customer", offers: filedOffers, apart: true,
		lines: []line[store.Customer]{
			{key: "name", title: "name", means: "what is saved for the customer follows it"},
			{key: "note", title: "note", means: "what to remember: bow, draw, what was said at the counter"},
		},
		load: func(*Model) store.Customer { return c },
		keep: func(m *Model, ch change, v store.Customer) Request {
			was := c
			c = v
			m.Say("Changed: %s.", ch.what)
			return Ask{Do: func(s Shelf) func(m *Model) Request {
				if err := s.PutCustomer(was.Name, v); err != nil {
					return func(m *Model) Request {
						c = was
						m.Alert("Not changed. %v", err)
						return nil
					}
				}
				return func(*Model) Request { return List{} }
			}}
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
				if err := s.PutCustomer("", store.Customer{Name: typed}); err != nil {
					return failed("Not added", err)
				}
				return func(m *Model) Request {
					m.Say("%s is a customer now: a note can be added (%s), and saving a new name asks for whom it is.", short(typed), m.keys.Saved.Press(keys.Edit))
					return List{}
				}
			}}, nil
		},
	})
}

// eraseScreen shows what erasing a customer takes away, and asks for the name.
type eraseScreen struct {
	page
	customer string
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
			e.title = "Erase " + customer + " for good?"
			for _, words := range present.Erasing(traces) {
				e.add(theme.Plain, "%s", capital(words))
			}
			e.add(theme.Plain, "The customer and the note go.")
			e.add(theme.Warn, "! This cannot be undone, and undo of this sitting ends with it. Files that were written elsewhere, and names that are spelled in another way, are yours to look for.")
			m.open(e)
			m.Say("Type the name as it stands above to erase it; Esc leaves everything as it is.")
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
		if !strings.EqualFold(label.Clean(e.input.Value()), e.customer) {
			m.Say("That is not the name: type %s to erase it, or leave with Esc.", short(e.customer))
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

// erase takes a customer out for good.
func erase(customer string) Request {
	return Ask{Alone: true, Do: func(s Shelf) func(m *Model) Request {
		done, err := s.Erase(customer)
		if err != nil {
			return failed("Nothing was erased", err)
		}
		j, drawer, err := s.Kept()
		if err != nil {
			return failed("It was erased, but the bench could not be read again", err)
		}
		return func(m *Model) Request {
			m.renew(customer, j, drawer, done.Deleted)
			m.Say("Erased: the customer, %s, and the name wherever else it stood, in %s too.", counted(len(done.Deleted), "saved thing"), counted(done.Copies, "backup"))
			if len(done.Left) > 0 {
				m.Alert("Erased, but the name is still in %s, which could not be written anew: delete it yourself.", strings.Join(done.Left, ", "))
			}
			return List{}
		}
	}}
}

func (e *eraseScreen) draw(m *Model, w, h int) []string {
	return append(text.Block(e.page.draw(m, w, h-1), w, h-1), " "+m.theme.Paint(theme.Label, "Name ")+field(m.theme, &e.input, min(w-8, 60)))
}

func (e *eraseScreen) typing() bool                { return true }
func (e *eraseScreen) footer(m *Model) []keys.Hint { return m.keys.EntryFooter() }

// forWhom asks for which customer something is saved: one who is known, a new one, or
// nobody.
type forWhom struct {
	listing
	save  Save
	found []string
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
	for _, c := range m.customers {
		if matches(typed, c.Name) {
			f.found = append(f.found, c.Name)
		}
	}
	if _, known := m.customerNamed(typed); typed != "" && !known {
		f.found = append(f.found, typed)
	}
}

func (f *forWhom) key(m *Model, k tea.KeyMsg) (bool, Request) {
	switch a := m.keys.List.Action(k); {
	case a == keys.Close:
		m.Say("Not saved.")
		return true, nil
	case f.move(a, len(f.found)):
	case a == keys.Choose:
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
		switch _, known := m.customerNamed(name); {
		case name == "":
			name = "nobody"
		case !known:
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
