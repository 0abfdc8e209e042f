package bench

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/record"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
)

// form edits the values of one thing, a line each, and the rows of one list that
// it may have. Every accepted value is one change. What is shown is always the
// thing as it is now, so undo shows too.
type form[T any] struct {
	title string
	lines []line[T]
	table *table[T]
	// load returns a copy of the thing that may be changed.
	load func(m *Model) T
	// keep stores the changed thing and says what that did.
	keep func(m *Model, c change, v T) Request
	// side says what the values come to, beside them.
	side func(m *Model, v *T) []paragraph
	// extra takes the actions that only this form has.
	extra func(m *Model, a keys.Action) (taken bool, r Request)
	// offers is the footer.
	offers []keys.Offer
	// apart says that the thing is not on the bench, so that undo does not reach it.
	apart bool
	// gone reports whether undo took away what the form is about.
	gone func(m *Model) bool
	// leave is called before the form closes.
	leave func(m *Model)

	at     int // the line in focus; rows of the table come behind the lines
	cell   int // within a row
	offset int // the first line in sight
	rowsAt int // the first row in sight
	input  *input
	draft  *T  // the thing with a row that is being added, not yet kept
	asked  int // how many cells of that row are done
	// As drawn last, for the mouse: the line of the screen that each value is on,
	// how many rows are in sight and how high the form is.
	places         []int
	window, height int
}

// line is one value of a form.
type line[T any] struct {
	key   string // of the exchange format
	title string
	head  string // a heading above the line
	means string // what it is, told while the line has the focus
	// in returns the struct that holds the value; nil stands for the thing itself.
	in func(v *T) any
	// usual says what holds when nothing is entered.
	usual func(m *Model, v *T) string
	// shut says why the value cannot be edited now.
	shut func(v *T) string
	// set stores a text in place of the rules of the record.
	set func(m *Model, v *T, text string) error
}

// table is a list that a form edits.
type table[T any] struct {
	title, what string // "Readings", "reading"
	none        string // what to do when it is empty; %s stands for the key that adds
	columns     []column
	count       func(v *T) int
	row         func(v *T, i int) any
	grow        func(v *T)
	cut         func(v *T, i int)
	// check refuses a cell that the record would let in.
	check func(v *T, i int, key string) error
	// behind is what stands behind a row.
	behind      func(m *Model, v *T, i int) string
	behindTitle string
	behindWidth int
	needed      int // how many cells are asked for in a new row
}

type column struct {
	key   string
	title string // %s stands for the unit
	ask   string
	width int
}

// change tells keep what was changed.
type change struct {
	what string // in words, for undo
	key  string
	text string // as typed
	row  bool   // it was in the table
}

func (f *form[T]) rows(v *T) int {
	if f.table == nil {
		return 0
	}
	return f.table.count(v)
}

// shown returns the thing as it is shown: with the row that is being added.
func (f *form[T]) shown(m *Model) T {
	if f.draft != nil {
		return *f.draft
	}
	return f.load(m)
}

// onRow reports whether a row of the table has the focus, and which.
func (f *form[T]) onRow() (int, bool) { return f.at - len(f.lines), f.at >= len(f.lines) }

// field returns the value in focus.
func (f *form[T]) field(m *Model, v *T) record.Field {
	if i, row := f.onRow(); row {
		return f.cellOf(m, v, i, f.cell)
	}
	return f.lineOf(m, v, f.at)
}

func (f *form[T]) lineOf(m *Model, v *T, i int) record.Field {
	l := &f.lines[i]
	var holder any = v
	if l.in != nil {
		holder = l.in(v)
	}
	return record.Only(holder, l.key).In(m.units())
}

func (f *form[T]) cellOf(m *Model, v *T, i, cell int) record.Field {
	return record.Only(f.table.row(v, i), f.table.columns[cell].key).In(m.units())
}

func (f *form[T]) key(m *Model, k tea.KeyMsg) (bool, Request) {
	if f.input != nil {
		return false, f.typedKey(m, k)
	}
	return f.act(m, m.asks(k, m.keys.Form))
}

// act does what a key or the list of actions asks for.
func (f *form[T]) act(m *Model, a keys.Action) (done bool, r Request) {
	v := f.load(m)
	last := max(len(f.lines)+f.rows(&v)-1, 0)
	if i, row := f.onRow(); row && i >= f.rows(&v) && (a == keys.Edit || a == keys.More || a == keys.Less || a == keys.Remove) {
		m.Say("%s", f.table.empty(m))
		return false, nil
	}
	switch a {
	case keys.Close:
		if f.leave != nil {
			f.leave(m)
		}
		return true, nil
	case keys.Help:
		m.open(m.help())
	case keys.Command:
		m.open(newPalette(m, m.keys.Form, f.offered(), f.act))
	case keys.Up:
		f.at = max(f.at-1, 0)
	case keys.Down:
		f.at = min(f.at+1, last)
	case keys.First:
		f.at = 0
	case keys.Last:
		f.at = last
	case keys.Left, keys.Right:
		f.sideways(&v, a == keys.Right)
	case keys.Undo, keys.Redo:
		if f.apart {
			m.Say("This is not part of the bench: %s and %s do not reach it. Enter it as it was.", m.keys.Form.Press(keys.Undo), m.keys.Form.Press(keys.Redo))
			break
		}
		m.act(a)
		if f.gone != nil && f.gone(m) {
			return true, nil
		}
	case keys.More, keys.Less:
		if words := f.field(m, &v).Words; words != nil && f.open(m, &v) {
			r = f.cycle(m, &v, a == keys.More)
		} else if words == nil {
			m.Say("Press %s to type a value.", m.keys.Form.Press(keys.Edit))
		}
	case keys.Edit:
		r = f.edit(m, &v)
	case keys.Add:
		if f.table != nil {
			f.begin(m)
		}
	case keys.Remove:
		if f.table != nil {
			r = f.cut(m, v)
		}
	}
	taken := false
	if f.extra != nil && r == nil {
		taken, r = f.extra(m, a)
	}
	if a == keys.Print && !taken {
		m.Say("Nothing is printed from here: on the bench %s opens the ticket.", m.keys.Bench.Press(keys.Print))
	}
	f.clamp(m)
	return false, r
}

// clamp puts the focus back inside after rows have gone.
func (f *form[T]) clamp(m *Model) {
	v := f.shown(m)
	f.at = max(min(f.at, len(f.lines)+f.rows(&v)-1), 0)
}

// offered lists the actions that this form has.
func (f *form[T]) offered() []keys.Action {
	out := []keys.Action{keys.Edit, keys.More, keys.Less, keys.Undo, keys.Redo, keys.Help, keys.Close}
	for _, o := range f.offers {
		for _, a := range o.Actions {
			if !slices.Contains(out, a) && a != keys.Up && a != keys.Down && a != keys.Left && a != keys.Right && a != keys.Command {
				out = append(out, a)
			}
		}
	}
	return out
}

// sideways moves between the lines and the table, and within a row.
func (f *form[T]) sideways(v *T, right bool) {
	_, row := f.onRow()
	switch {
	case f.table == nil:
	case right && row:
		f.cell = min(f.cell+1, len(f.table.columns)-1)
	case right && f.rows(v) > 0:
		f.at, f.cell = len(f.lines), 0
	case row && f.cell > 0:
		f.cell--
	case row && !right:
		f.at = 0
	}
}

// open reports whether the value in focus can be edited, and says why if not.
func (f *form[T]) open(m *Model, v *T) bool {
	if _, row := f.onRow(); row || f.lines[f.at].shut == nil {
		return true
	}
	if why := f.lines[f.at].shut(v); why != "" {
		m.Say("%s", why)
		return false
	}
	return true
}

// edit opens the value in focus for typing, or takes the next choice.
func (f *form[T]) edit(m *Model, v *T) Request {
	if !f.open(m, v) {
		return nil
	}
	field := f.field(m, v)
	if field.Words != nil {
		return f.cycle(m, v, true)
	}
	value := field.Text()
	if number, _ := field.Number(); number == 0 && !field.Optional() && field.Numeric() {
		value = "" // nothing was entered
	}
	f.ask(m, field, value)
	return nil
}

// ask opens a field for typing and says what is wanted.
func (f *form[T]) ask(m *Model, field record.Field, value string) {
	in := newInput(value)
	f.input = &in
	title := ""
	if _, row := f.onRow(); row {
		title = f.table.columns[f.cell].ask
	} else {
		title = capital(strings.TrimSpace(f.lines[f.at].title))
		if means := f.lines[f.at].means; means != "" {
			title += ": " + means
		}
	}
	title = strings.TrimSuffix(title, ".")
	if field.Unit.Symbol != "" {
		title += " (" + field.Unit.Symbol + ", or with another unit)"
	}
	if value != "" {
		title += ". Typing replaces it, Backspace empties it"
	}
	m.Say("%s.", title)
}

// cycle takes the next or the last of a field's words.
func (f *form[T]) cycle(m *Model, v *T, forward bool) Request {
	field := f.field(m, v)
	now := field.Text()
	if l := f.lines[f.at]; now == "" && l.usual != nil {
		now = l.usual(m, v)
	}
	words := field.Words
	if field.Optional() && f.lines[f.at].usual == nil { // one of them is not to say
		words = append([]string{""}, words...)
	}
	n := len(words)
	i := slices.Index(words, now)
	if forward {
		i = (i + 1) % n
	} else {
		i = (max(i, 0) - 1 + n) % n
	}
	return f.store(m, v, words[i])
}

func (f *form[T]) typedKey(m *Model, k tea.KeyMsg) Request {
	switch a := m.keys.Entry.Action(k); {
	case a == keys.Cancel:
		if f.draft != nil {
			m.Say("No %s was added.", f.table.what)
		} else {
			m.Say("Left as it was.")
		}
		f.input, f.draft = nil, nil
		f.clamp(m)
	case a == keys.Accept, k.Type == tea.KeyTab:
		return f.accept(m, strings.TrimSpace(f.input.Value()))
	default:
		typed(f.input, k)
	}
	return nil
}

// accept takes what was typed into the field in focus.
func (f *form[T]) accept(m *Model, text string) Request {
	if f.draft != nil {
		return f.acceptCell(m, text)
	}
	v := f.load(m)
	return f.store(m, &v, text)
}

// store puts a text into the value in focus and keeps the thing. A text that
// breaks a rule leaves the field open.
func (f *form[T]) store(m *Model, v *T, text string) Request {
	if at := f.field(m, v); f.input != nil && text == at.Text() {
		f.input = nil
		m.Say("Left as it was.")
		return nil
	}
	c := change{text: text}
	var err error
	if i, row := f.onRow(); row {
		c.row, c.key = true, f.table.columns[f.cell].key
		c.what = f.table.what + " " + number(i+1)
		if err = put(f.field(m, v), text); err == nil && f.table.check != nil {
			err = f.table.check(v, i, c.key)
		}
	} else {
		l := &f.lines[f.at]
		c.key, c.what = l.key, strings.TrimSuffix(strings.TrimSpace(l.title), " now")
		if field := f.field(m, v); field.Words != nil {
			c.what += " " + text
		}
		if l.set != nil {
			err = l.set(m, v, text)
		} else {
			err = put(f.field(m, v), text)
		}
	}
	if err != nil {
		m.Say("%s", sentence(err))
		return nil
	}
	f.input, m.message = nil, ""
	r := f.keep(m, c, *v)
	if m.message == "" {
		m.Say("Left as it was.")
	}
	return r
}

// put stores a text in a field. An empty number that cannot be left out is zero,
// which stands for none.
func put(field record.Field, text string) error {
	if text == "" && !field.Optional() && !field.Need && field.Numeric() {
		text = "0"
	}
	return field.SetText(text)
}

// begin starts a new row of the table.
func (f *form[T]) begin(m *Model) {
	v := f.load(m)
	f.table.grow(&v)
	f.draft, f.asked, f.cell = &v, 0, 0
	f.at = len(f.lines) + f.rows(&v) - 1
	f.ask(m, f.field(m, &v), "")
}

// acceptCell takes the next cell of a row that is being added; the last one that
// is needed completes it.
func (f *form[T]) acceptCell(m *Model, text string) Request {
	i, _ := f.onRow()
	col := f.table.columns[f.cell]
	field := f.field(m, f.draft)
	if text == "" && field.Need {
		m.Say("%s is needed; Esc adds nothing.", strings.TrimSuffix(col.ask, "."))
		return nil
	}
	err := field.SetText(text)
	if err == nil && f.table.check != nil {
		err = f.table.check(f.draft, i, col.key)
	}
	if err != nil {
		m.Say("%s", sentence(err))
		return nil
	}
	f.asked++
	if f.asked < f.table.needed {
		f.cell = f.asked
		f.ask(m, f.field(m, f.draft), "")
		return nil
	}
	v := *f.draft
	f.input, f.draft, f.cell = nil, nil, 0
	r := f.keep(m, change{what: f.table.what + " " + number(i+1), row: true}, v)
	f.clamp(m)
	return r
}

// cut removes the row in focus.
func (f *form[T]) cut(m *Model, v T) Request {
	i, row := f.onRow()
	if !row {
		m.Say("Move to a %s to remove it.", f.table.what)
		return nil
	}
	f.table.cut(&v, i)
	// The row behind takes its place; without one the row before.
	if left := f.rows(&v); left > 0 {
		f.at = len(f.lines) + min(i, left-1)
	}
	r := f.keep(m, change{what: f.table.what + " " + number(i+1) + " removed", row: true}, v)
	m.message += " " + m.keys.Form.Press(keys.Undo) + " brings it back."
	return r
}

func (f *form[T]) typing() bool { return f.input != nil }

func (f *form[T]) footer(m *Model) []keys.Hint {
	if f.input != nil {
		return m.keys.EntryFooter()
	}
	return m.keys.Form.Hints(f.offers...)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	r, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[size:]
}

// optionalOf returns a value as given unless it is empty.
func optionalOf[T comparable](v T) unit.Optional[T] {
	var none T
	if v == none {
		return unit.Optional[T]{}
	}
	return unit.Some(v)
}
