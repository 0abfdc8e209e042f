// Package keys holds the key bindings by scope. The footer, the help screen and
// the table in the README are generated from them, so none can go stale.
package keys

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
)

// Map is every binding of the program.
type Map struct {
	Bench  Bench
	List   List
	Form   Form
	Entry  Entry
	Reader Reader
}

// Bench holds the keys of the bench.
type Bench struct {
	Up, Down, Left, Right, First, Last  key.Binding
	More, Less, Edit, Working           key.Binding
	Add, Duplicate, Remove, Rename      key.Binding
	MoveLeft, MoveRight, Baseline       key.Binding
	Bow, Save, SaveBuild, Open, Samples key.Binding
	Undo, Redo, Help, Redraw, Quit      key.Binding
}

// List holds the keys of a list that is filtered by typing.
type List struct {
	Up, Down, PageUp, PageDown, Choose, Close key.Binding
}

// Form holds the keys of the bow form.
type Form struct {
	Up, Down, Left, Right, Edit, Change, AddReading, RemoveReading, Undo, Redo, Help, Close key.Binding
}

// Entry holds the keys of a field that takes typing; all others are typed.
type Entry struct {
	Accept, Cancel key.Binding
}

// Reader holds the keys of a page to read.
type Reader struct {
	Up, Down, PageUp, PageDown, Close key.Binding
}

func bind(help, does string, presses ...string) key.Binding {
	return key.NewBinding(key.WithKeys(presses...), key.WithHelp(help, does))
}

// Default returns the bindings that the program comes with.
func Default() *Map {
	return &Map{
		Bench: Bench{
			Up: bind("↑ k", "row up", "up", "k"), Down: bind("↓ j", "row down", "down", "j"),
			Left: bind("← h", "column left", "left", "h"), Right: bind("→ l", "column right", "right", "l"),
			First: bind("Home", "first row", "home"), Last: bind("End", "last row", "end"),
			More:     bind("+ =", "next heavier part, or 1/8 in longer", "+", "="),
			Less:     bind("-", "next lighter part, or 1/8 in shorter", "-"),
			Edit:     bind("Enter", "choose a part or type a number", "enter"),
			Working:  bind("e", "explain: how a figure is worked out, cautions in full", "e"),
			Add:      bind("a", "add a build", "a"),
			Bow:      bind("b", "bow and readings", "b"),
			Undo:     bind("z", "undo", "z"),
			Redo:     bind("Z", "redo", "Z"),
			Help:     bind("?", "help", "?"),
			Quit:     bind("q", "quit; the bench is kept", "q", "ctrl+c"),
			Save:     bind("s", "save the bench by name", "s"),
			Open:     bind("o", "open something saved", "o"),
			Baseline: bind("n", "make this build the baseline", "n"),
			Duplicate: bind("d", "duplicate this build",
				"d"),
			Remove:    bind("x", "remove this build", "x"),
			Rename:    bind("r", "rename this build", "r"),
			MoveLeft:  bind("<", "move the build left", "<"),
			MoveRight: bind(">", "move the build right", ">"),
			SaveBuild: bind("S", "save this build alone", "S"),
			Samples:   bind("X", "clear the invented samples, or bring them back", "X"),
			Redraw:    bind("Ctrl+L", "redraw the screen", "ctrl+l"),
		},
		List: List{
			Up: bind("↑", "up", "up", "ctrl+p"), Down: bind("↓", "down", "down", "ctrl+n"),
			PageUp: bind("PgUp", "page up", "pgup"), PageDown: bind("PgDn", "page down", "pgdown"),
			Choose: bind("Enter", "choose", "enter"), Close: bind("Esc", "back, nothing changed", "esc"),
		},
		Form: Form{
			Up: bind("↑ k", "up", "up", "k", "shift+tab"), Down: bind("↓ j", "down", "down", "j", "tab"),
			Left: bind("← h", "left", "left", "h"), Right: bind("→ l", "right", "right", "l"),
			Edit: bind("Enter", "edit", "enter"), Change: bind("+ -", "next choice", "+", "=", "-"),
			AddReading: bind("a", "add a reading", "a"), RemoveReading: bind("x", "remove a reading", "x"),
			Undo: bind("z", "undo", "z"), Redo: bind("Z", "redo", "Z"), Help: bind("?", "help", "?"),
			Close: bind("Esc", "back to the bench", "esc", "q", "b"),
		},
		Entry: Entry{
			Accept: bind("Enter", "accept", "enter"),
			Cancel: bind("Esc", "leave as it was", "esc"),
		},
		Reader: Reader{
			Up: bind("↑ k", "up", "up", "k"), Down: bind("↓ j", "down", "down", "j"),
			PageUp: bind("PgUp", "page up", "pgup"), PageDown: bind("PgDn", "page down", "pgdown", " "),
			Close: bind("Esc", "back", "esc", "enter", "e", "q", "?"),
		},
	}
}

// Scope is the bindings that work in one place.
type Scope struct {
	Name     string
	Bindings []key.Binding
}

// Scopes lists every binding by the place where it works, in the order of help.
func (m *Map) Scopes() []Scope {
	b, l, f, e, r := &m.Bench, &m.List, &m.Form, &m.Entry, &m.Reader
	return []Scope{
		{"Bench", []key.Binding{b.Up, b.Down, b.Left, b.Right, b.First, b.Last, b.More, b.Less, b.Edit, b.Working, b.Undo, b.Redo,
			b.Add, b.Duplicate, b.Remove, b.Rename, b.MoveLeft, b.MoveRight, b.Baseline, b.Bow, b.Save, b.SaveBuild, b.Open, b.Samples, b.Help, b.Redraw, b.Quit}},
		{"Lists", []key.Binding{l.Up, l.Down, l.PageUp, l.PageDown, l.Choose, l.Close}},
		{"Bow form", []key.Binding{f.Up, f.Down, f.Left, f.Right, f.Edit, f.Change, f.AddReading, f.RemoveReading, f.Undo, f.Redo, f.Help, f.Close}},
		{"Typing", []key.Binding{e.Accept, e.Cancel}},
		{"Pages to read", []key.Binding{r.Up, r.Down, r.PageUp, r.PageDown, r.Close}},
	}
}

// Hint is one entry of a footer.
type Hint struct{ Press, Does string }

// hint makes a footer entry of bindings that belong together, by the first key
// of each.
func hint(does string, bindings ...key.Binding) Hint {
	var names []string
	for _, b := range bindings {
		names = append(names, strings.Fields(b.Help().Key)[0])
	}
	return Hint{strings.Join(names, " "), does}
}

// BenchFooter lists the keys that the last line of the bench offers, the most
// useful first: a narrow screen drops the last.
func (m *Map) BenchFooter() []Hint {
	b := &m.Bench
	return []Hint{hint("help", b.Help), hint("swap", b.More, b.Less), hint("choose", b.Edit), hint("undo", b.Undo), hint("bow", b.Bow), hint("add", b.Add),
		hint("save", b.Save), hint("open", b.Open), hint("quit", b.Quit), hint("explain", b.Working), hint("duplicate", b.Duplicate),
		hint("remove", b.Remove), hint("rename", b.Rename), hint("baseline", b.Baseline), hint("redo", b.Redo)}
}

// EmptyFooter is BenchFooter for a bench without builds.
func (m *Map) EmptyFooter() []Hint {
	b := &m.Bench
	return []Hint{hint("help", b.Help), hint("add", b.Add), hint("bow", b.Bow), hint("open", b.Open), hint("undo", b.Undo), hint("samples", b.Samples), hint("quit", b.Quit)}
}

// ListFooter lists the keys of a list.
func (m *Map) ListFooter() []Hint {
	return []Hint{hint("choose", m.List.Choose), hint("back", m.List.Close), hint("move", m.List.Up, m.List.Down)}
}

// FormFooter lists the keys of the bow form.
func (m *Map) FormFooter() []Hint {
	f := &m.Form
	return []Hint{hint("back", f.Close), hint("edit", f.Edit), hint("change", f.Change), hint("add reading", f.AddReading),
		hint("remove reading", f.RemoveReading), hint("help", f.Help), hint("undo", f.Undo), hint("move", f.Up, f.Down, f.Left, f.Right)}
}

// EntryFooter lists the keys of a field that takes typing.
func (m *Map) EntryFooter() []Hint {
	return []Hint{hint("accept", m.Entry.Accept), hint("leave as it was", m.Entry.Cancel)}
}

// ReaderFooter lists the keys of a page to read.
func (m *Map) ReaderFooter() []Hint {
	r := &m.Reader
	return []Hint{hint("back", r.Close), hint("move", r.Up, r.Down), hint("page", r.PageUp, r.PageDown)}
}

// Table writes the bindings as Markdown.
func (m *Map) Table() string {
	var out strings.Builder
	for _, s := range m.Scopes() {
		fmt.Fprintf(&out, "| %s | |\n|---|---|\n", s.Name)
		for _, b := range s.Bindings {
			fmt.Fprintf(&out, "| `%s` | %s |\n", strings.ReplaceAll(b.Help().Key, "|", "\\|"), b.Help().Desc)
		}
		out.WriteString("\n")
	}
	return out.String()
}
