package bench

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/part"
	"foreshaft/store"
	"foreshaft/ui/keys"
	"foreshaft/ui/theme"
)

// intakeScreen shows what a file would bring in before anything is changed.
type intakeScreen struct {
	page
	data []byte
	name string // of the file, without its folder
	look Intake
}

// fetchPrompt asks for a file to take in.
func (m *Model) fetchPrompt(path string) dialog {
	return newPrompt(m, prompt{
		title: "Which file to take in: a price list (.csv), a job or a workbook (.json)? Nothing is changed before you have seen what it would do", text: path,
		accept: func(m *Model, typed string) (Request, error) {
			if typed == "" {
				return nil, fmt.Errorf("type the name of a file, or leave with Esc")
			}
			m.Say("Reading …")
			return look(typed), nil
		},
	})
}

// look reads a file and shows what it would bring.
func look(path string) Request {
	return Ask{Do: func(s Shelf) func(m *Model) Request {
		data, err := s.Read(path)
		if err != nil {
			return func(m *Model) Request {
				if m.taking() { // with the name to mend
					m.open(m.fetchPrompt(path))
				}
				m.Alert("It could not be read: %v.", err)
				return nil
			}
		}
		base := filepath.Base(path)
		name := strings.TrimSuffix(base, filepath.Ext(base))
		would, err := s.TakeIn(data, name, false)
		if err != nil {
			return func(m *Model) Request {
				m.Alert("%s was not taken in: %v. Nothing was changed.", base, err)
				return nil
			}
		}
		return func(m *Model) Request {
			if !m.taking() {
				return nil
			}
			m.showIntake(data, name, "What "+base+" would bring", would)
			return nil
		}
	}}
}

// showIntake shows what a file would bring.
func (m *Model) showIntake(data []byte, name, title string, would Intake) {
	i := &intakeScreen{data: data, name: name, look: would}
	i.title = title
	for n, words := range would.Lines {
		t := theme.Plain
		switch {
		case n == 0:
			t = theme.Heading
		case would.Refused && strings.Contains(words, "is refused"):
			t = theme.Warn
		}
		i.add(t, "%s", capital(words))
	}
	m.open(i)
	m.message = ""
	i.hint(m)
}

// taking reports whether a screen is in front from which files are taken in.
func (m *Model) taking() bool {
	_, drawer := m.dialog.(*drawerScreen)
	_, saved := m.dialog.(*savedScreen)
	return drawer || saved
}

// takes reports whether the file can be taken in and would change something.
func (i *intakeScreen) takes() bool { return !i.look.Refused && !i.look.Nothing }

func (i *intakeScreen) hint(m *Model) {
	switch {
	case i.look.Refused:
		m.Say("Nothing is taken in while lines are refused: correct them in the file and come back.")
	case i.look.Nothing:
		m.Say("All of it is here already.")
	default:
		m.Say("Nothing is changed yet. %s takes all of it in; undo does not take it back.", m.keys.Intake.Press(keys.Choose))
	}
}

func (i *intakeScreen) key(m *Model, k tea.KeyMsg) (bool, Request) {
	switch a := m.keys.Intake.Action(k); {
	case a == keys.Close:
		m.Say("Everything is as it was.")
		return true, nil
	case i.move(a):
	case a == keys.Choose && !i.takes():
		i.hint(m)
	case a == keys.Choose:
		m.Say("Taking it in …")
		data, name, title, shown := i.data, i.name, i.title, i.look.Lines
		return true, Ask{Alone: true, Do: func(s Shelf) func(m *Model) Request {
			// Another terminal may have changed what the file would change.
			if now, err := s.TakeIn(data, name, false); err == nil && !slices.Equal(now.Lines, shown) {
				return func(m *Model) Request {
					m.showIntake(data, name, title, now)
					m.Alert("Nothing was taken in yet: another terminal changed something meanwhile, so look again what the file would do.")
					return nil
				}
			}
			took, err := s.TakeIn(data, name, true)
			if err != nil {
				return failed("Nothing was taken in", err)
			}
			_, drawer, err := s.Kept()
			if err != nil {
				return failed("It was taken in, but the drawer could not be read again", err)
			}
			return func(m *Model) Request {
				m.Say("Taken in: %s", took.Lines[0])
				m.TakeDrawer(drawer)
				return List{}
			}
		}}
	}
	return false, nil
}

func (i *intakeScreen) footer(m *Model) []keys.Hint { return m.keys.IntakeFooter(i.takes()) }

// TakeDrawer takes the drawer as it is now, and lets the builds on the bench follow whose
// parts changed.
func (m *Model) TakeDrawer(drawer []part.Part) {
	was := make(map[string]part.Part, len(m.drawer))
	for _, p := range m.drawer {
		was[p.ID] = p
	}
	m.drawer = drawer
	for _, p := range drawer {
		if before, there := was[p.ID]; there && before.Weighed().Bare() != p.Weighed().Bare() {
			m.follow(before, p)
		}
	}
}

// sending is one thing that can be written to a file.
type sending struct {
	words, file, what string
	data              func(s Shelf) ([]byte, error)
}

func bundle(words, file, what string, of store.Scope) sending {
	return sending{words, file, what, func(s Shelf) ([]byte, error) { return s.Bundle(of) }}
}

// sendChoice asks what to write and then where.
func (m *Model) sendChoice(list ...sending) {
	c := &choice{title: "Write to a file"}
	for _, one := range list {
		c.options = append(c.options, choiceOption{one.words, func(m *Model) Request {
			m.open(m.sendPrompt(one))
			return nil
		}})
	}
	m.open(c)
	m.Say("A file that is there already is never touched.")
}

func (m *Model) sendPrompt(one sending) dialog {
	return m.filePrompt(one.what, one.file, func(path string) Request {
		return Ask{Do: func(s Shelf) func(m *Model) Request {
			data, err := one.data(s)
			if err != nil {
				return failed("Not written", err)
			}
			return func(*Model) Request { return Write{Path: path, Data: data, What: one.what} }
		}}
	})
}

// filePrompt asks which new file something is written to.
func (m *Model) filePrompt(what, path string, write func(path string) Request) dialog {
	return newPrompt(m, prompt{
		title: capital(what) + ", to a new file called", text: path,
		accept: func(_ *Model, typed string) (Request, error) {
			if typed == "" {
				return nil, fmt.Errorf("type a name for the file, or leave with Esc")
			}
			return write(typed), nil
		},
	})
}

// send asks what of the list to write to a file.
func (l *savedScreen) send(m *Model) Request {
	var list []sending
	customer := ""
	if len(l.found) > 0 {
		if l.shelf == listCustomers {
			customer = l.customers[l.found[l.at]].Name
		} else {
			e := l.all[l.found[l.at]]
			customer = e.Customer
			what := fmt.Sprintf("the %s %s", whats[e.What], short(e.Name))
			list = append(list,
				sending{capital(what) + " as saved last: a job file (elsewhere a bench, without its customer)", fileName(e.Name) + ".json", what, func(s Shelf) ([]byte, error) { return s.Newest(e) }},
				bundle(capital(what)+" with all its revisions", fileName(e.Name)+"-revisions.json", what+" with its revisions", store.Scope{Entry: e.ID}))
		}
	}
	if customer != "" {
		list = append(list, bundle("Everything of "+short(customer), fileName(customer)+".json", "everything of "+short(customer), store.Scope{Customer: customer}))
	}
	list = append(list, bundle("The whole workbook: bench, drawer, customers, all that is saved", "workbook.json", "the whole workbook", store.Scope{}))
	m.sendChoice(list...)
	return nil
}

// send asks how to write the drawer to a file.
func (d *drawerScreen) send(m *Model) {
	parts := append([]part.Part(nil), m.drawer...)
	m.sendChoice(
		sending{"The drawer for a spreadsheet: CSV with commas and decimal points", "drawer.csv", "the drawer", func(Shelf) ([]byte, error) { return store.WriteCSV(parts, false), nil }},
		sending{"The same with semicolons and decimal commas, as many countries have it", "drawer.csv", "the drawer", func(Shelf) ([]byte, error) { return store.WriteCSV(parts, true), nil }},
		bundle("The drawer for another workbook: JSON", "drawer.json", "the drawer", store.Scope{Drawer: true}))
}
