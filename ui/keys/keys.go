// Package keys holds the key bindings by scope. The footer, the help screen, the
// list of actions by name and the table in the README are generated from them,
// so none can go stale.
package keys

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// Action is what a key does in one scope, by the name that the settings use.
type Action string

// The actions. Some are there in several scopes.
const (
	Up         Action = "up"
	Down       Action = "down"
	Left       Action = "left"
	Right      Action = "right"
	First      Action = "first"
	Last       Action = "last"
	PageUp     Action = "page-up"
	PageDown   Action = "page-down"
	More       Action = "more"
	Less       Action = "less"
	Edit       Action = "edit"
	Piece      Action = "piece"
	Explain    Action = "explain"
	Undo       Action = "undo"
	Redo       Action = "redo"
	Add        Action = "add"
	Duplicate  Action = "duplicate"
	Remove     Action = "remove"
	Rename     Action = "rename"
	MoveLeft   Action = "move-left"
	MoveRight  Action = "move-right"
	Baseline   Action = "baseline"
	Proven     Action = "proven"
	Bow        Action = "bow"
	Air        Action = "air"
	Sight      Action = "sight"
	Limits     Action = "limits"
	Save       Action = "save"
	SaveBuild  Action = "save-build"
	Open       Action = "open"
	Samples    Action = "samples"
	Depth      Action = "depth"
	Units      Action = "units"
	Theme      Action = "theme"
	Mouse      Action = "mouse"
	Copy       Action = "copy"
	CopyTable  Action = "copy-table"
	Downrange  Action = "downrange"
	Nearer     Action = "nearer"
	Farther    Action = "farther"
	Figure     Action = "figure"
	FigureBack Action = "figure-back"
	Chart      Action = "chart"
	Drag       Action = "drag"
	Print      Action = "print"
	Tour       Action = "tour"
	Settings   Action = "settings"
	Backup     Action = "backup"
	Command    Action = "command"
	Help       Action = "help"
	Redraw     Action = "redraw"
	Quit       Action = "quit"
	Choose     Action = "choose"
	Close      Action = "close"
	New        Action = "new"
	Change     Action = "change"
	Keep       Action = "keep"
	Accept     Action = "accept"
	Cancel     Action = "cancel"
)

// Binding is an action of a scope with its keys and what it does in words.
type Binding struct {
	Action Action
	key.Binding
	// fixed are the keys that work whatever the settings say: without arrows,
	// Enter and Esc nobody could get around or back.
	fixed []string
	// words are what else someone may look for who wants this.
	words string
}

// also names what else someone may look for who wants the action.
func (b Binding) also(words string) Binding {
	b.words = words
	return b
}

// Words returns what else someone may look for who wants an action.
func (s *Scope) Words(a Action) string {
	for i := range s.Bindings {
		if s.Bindings[i].Action == a {
			return s.Bindings[i].words
		}
	}
	return ""
}

// Scope is the bindings that work in one place.
type Scope struct {
	ID       string // in the settings
	Name     string // in help
	Typed    bool   // letters are text here, so none can be a key
	Bindings []Binding
}

// Map is every binding of the program.
type Map struct {
	Bench, Map, Range, Find, Dozen, Offers, Fit, Drawer, Saved, Past, Intake, List, Form, Entry, Reader *Scope
}

// Scopes lists every scope in the order of help.
func (m *Map) Scopes() []*Scope {
	return []*Scope{m.Bench, m.Map, m.Range, m.Find, m.Dozen, m.Offers, m.Fit, m.Drawer, m.Saved, m.Past, m.Intake, m.List, m.Form, m.Entry, m.Reader}
}

// Action returns what a key does here, empty when it does nothing.
func (s *Scope) Action(k tea.KeyMsg) Action {
	for i := range s.Bindings {
		if key.Matches(k, s.Bindings[i].Binding) {
			return s.Bindings[i].Action
		}
	}
	return ""
}

// Press names the key to press for an action, the way it is printed on a
// keyboard. An action that has lost its keys is called by name.
func (s *Scope) Press(a Action) string {
	for i := range s.Bindings {
		if b := &s.Bindings[i]; b.Action == a && len(b.Keys()) > 0 {
			return label(b.Keys()[0])
		}
	}
	return ":" + string(a)
}

// Presses names all keys of an action.
func (s *Scope) Presses(a Action) string {
	for i := range s.Bindings {
		if s.Bindings[i].Action == a {
			return s.Bindings[i].Help().Key
		}
	}
	return ""
}

// bind makes a binding whose special keys stay whatever the settings say.
func bind(a Action, does string, presses ...string) Binding {
	b := Binding{Action: a, Binding: key.NewBinding(key.WithHelp("", does))}
	for _, p := range presses {
		if always[p] {
			b.fixed = append(b.fixed, p)
		}
	}
	b.press(presses)
	return b
}

// always are the keys that every keyboard has and that nobody gets around
// without.
var always = map[string]bool{"up": true, "down": true, "left": true, "right": true, "enter": true, "esc": true}

// press gives the binding these keys.
func (b *Binding) press(presses []string) {
	b.SetKeys(presses...)
	labels := make([]string, len(presses))
	for i, p := range presses {
		labels[i] = label(p)
	}
	b.SetHelp(strings.Join(labels, " "), b.Help().Desc)
}

// labels are how keys are called that are not called by their letter.
var labels = map[string]string{
	"up": "↑", "down": "↓", "left": "←", "right": "→", "pgup": "PgUp", "pgdown": "PgDn", "home": "Home", "end": "End",
	"enter": "Enter", "esc": "Esc", "tab": "Tab", "shift+tab": "Shift+Tab", " ": "Space", "delete": "Del", "insert": "Ins", "backspace": "Backspace",
}

// label writes a key the way it is printed on a keyboard.
func label(press string) string {
	if known, ok := labels[press]; ok {
		return known
	}
	if held, letter, ok := strings.Cut(press, "+"); ok && letter != "" {
		return strings.ToUpper(held[:1]) + held[1:] + "+" + strings.ToUpper(letter)
	}
	if len(press) > 1 {
		return strings.ToUpper(press[:1]) + press[1:]
	}
	return press
}

// Default returns the bindings that the program comes with.
func Default() *Map {
	return &Map{
		Bench: &Scope{ID: "bench", Name: "Bench", Bindings: []Binding{
			bind(Up, "row up", "up", "k"), bind(Down, "row down", "down", "j"),
			bind(Left, "column left", "left", "h"), bind(Right, "column right", "right", "l"),
			bind(First, "first row", "home"), bind(Last, "last row", "end"),
			bind(More, "next heavier part, or a step longer", "+", "="),
			bind(Less, "next lighter part, or a step shorter", "-"),
			bind(Edit, "choose a part or type a number", "enter").also("drawer spine swap"),
			bind(Piece, "edit this piece of this build: weights, sizes, price", "E"),
			bind(Explain, "explain: how a figure is worked out, cautions in full", "e").also("why warnings"),
			bind(Undo, "undo", "z", "ctrl+z"), bind(Redo, "redo", "Z", "ctrl+y"),
			bind(Add, "add a build", "a"), bind(Duplicate, "duplicate this build", "d"),
			bind(Remove, "remove this build", "x", "delete").also("delete erase"), bind(Rename, "rename this build", "r", "f2"),
			bind(MoveLeft, "move the build left", "<"), bind(MoveRight, "move the build right", ">"),
			bind(Baseline, "make this build the baseline", "n").also("compare reference"),
			bind(Proven, "mark this build as proven on this bow, and its record", "v").also("reference weighed chronographed paper bare shaft broadhead record"),
			bind(Bow, "bow and readings", "b").also("new bow other bow keep bow chronograph draw peak weight speed rating"), bind(Air, "air: temperature, pressure, humidity", "A").also("altitude weather density"),
			bind(Sight, "sight and its marks", "i").also("pin peep"), bind(Limits, "limits: your own rules sheet", "L").also("class law maximum minimum"),
			bind(Save, "save the bench by name", "s", "ctrl+s"), bind(SaveBuild, "save this build alone", "S"),
			bind(Open, "saved: open, compare revisions, customers, bin, files", "o", "7", "ctrl+o").also("load find history restore revision customer erase export import backup workbook"),
			bind(Samples, "clear the bench, or bring the samples back", "X").also("empty invented"),
			bind(Depth, "more or fewer figures: counter, bench, lab", "D"),
			bind(Fix, "what would fix this: swaps that clear a caution", "f").also("remedy mend clear caution danger warning weak stiff"),
			bind(SameMarks, "share the baseline's marks: swaps that hit where it does", "m").also("same sight pin reach"),
			bind(Closest, "come closest to the baseline's weight and FOC", "c").also("match near alike"),
			bind(Downrange, "downrange: marks, drift and forgiveness at every distance", "3").also("distance wind slope chart sight marks"),
			bind(Fit, "fitting: a few questions, then three builds", "g").also("guide counter customer propose choose purpose beginner budget cheap price recommend"),
			bind(Drawer, "drawer: all parts, to add, edit, copy and retire", "6").also("parts stock inventory price list catalogue weighed"),
			bind(Find, "find: every arrow of the drawer that is what you ask for", "4").also("search question match window range trade-off stock cheap price"),
			bind(Dozen, "dozen: weigh pieces and pair them into arrows that match", "5").also("batch scale weights pair sort spread outliers twelve histogram build list tick"),
			bind(SwapMap, "swap map: every insert with every head, or any two kinds", "2", "tab").also("table matrix combinations compare same weight grid"),
			bind(Nearer, "figures of a nearer distance", "pgup"), bind(Farther, "figures of a farther distance", "pgdown"),
			bind(Print, "ticket: how it is put together, and print it", "p").also("print order sheet workshop html pdf markdown assembly adhesive fletching comparison"),
			bind(Copy, "copy what is in focus", "y"), bind(CopyTable, "copy the whole comparison as text", "Y").also("export print"),
			bind(Units, "units and currency: grains or grams, inches or cm …", "u").also("metric newtons metres"),
			bind(Theme, "colours: light, dark, none", "t").also("theme background contrast"), bind(Mouse, "mouse on or off", "M"),
			bind(Settings, "settings: what is chosen and where it is kept", ","),
			bind(Backup, "back up the workbook: a checked copy", "B").also("backup copy safe keep stick restore"),
			bind(Tour, "guided tour, a step at a time", "T"),
			bind(Command, "any action by name", ":"), bind(Help, "help", "?", "f1"),
			bind(Redraw, "redraw the screen", "ctrl+l"), bind(Quit, "quit; the bench is kept", "q", "ctrl+c"),
		}},
		Map: mapScope(),
		Range: &Scope{ID: "downrange", Name: "Downrange", Bindings: []Binding{
			bind(Up, "up", "up", "k"), bind(Down, "down", "down", "j"), bind(Left, "left", "left", "h"), bind(Right, "right", "right", "l"),
			bind(First, "first line", "home"), bind(Last, "last line", "end"),
			bind(Edit, "type a value, or open its form", "enter"), bind(More, "a step more", "+", "="), bind(Less, "a step less", "-"),
			bind(Add, "add a distance", "a"), bind(Remove, "remove this distance", "x", "delete"),
			bind(Figure, "next figure in table and chart", "f"), bind(FigureBack, "figure before", "F"),
			bind(Chart, "chart or figures below the table", "c").also("line curve"),
			bind(Explain, "explain: how this figure is worked out", "e"),
			bind(Air, "air: temperature, pressure, humidity", "A"), bind(Sight, "sight and its marks", "i"),
			bind(Drag, "drag of this build: measured near and far", "d").also("coefficient chronograph speed"),
			bind(Print, "print a strip of marks for every yard", "p").also("tape export save svg html"),
			bind(Undo, "undo", "z", "ctrl+z"), bind(Redo, "redo", "Z", "ctrl+y"),
			bind(Copy, "copy what is in focus", "y"), bind(Command, "any action by name", ":"), bind(Help, "help", "?", "f1"),
			bind(SwapMap, "swap map: two kinds of piece against each other", "2"), bind(Find, "find: every arrow of the drawer that is what you ask for", "4", "tab"),
			bind(Dozen, "dozen: arrows that match", "5"), bind(Drawer, "drawer: all parts", "6"), bind(Open, "saved: builds, customers, files", "7"),
			bind(Close, "back to the bench", "esc", "1", "3", "q"),
		}},
		Find: findScope(), Dozen: dozenScope(), Offers: offersScope(), Fit: fitScope(), Drawer: drawerScope(), Saved: savedScope(), Past: pastScope(), Intake: intakeScope(),
		List: &Scope{ID: "list", Name: "Lists", Typed: true, Bindings: []Binding{
			bind(Up, "up", "up", "ctrl+p"), bind(Down, "down", "down", "ctrl+n"),
			bind(PageUp, "page up", "pgup"), bind(PageDown, "page down", "pgdown"),
			bind(First, "first", "home"), bind(Last, "last", "end"),
			bind(Choose, "choose", "enter"), bind(New, "add a part to the drawer", "ctrl+a", "insert"),
			bind(Edit, "edit the part in the drawer", "ctrl+e"), bind(Close, "back, nothing changed", "esc"),
		}},
		Form: &Scope{ID: "form", Name: "Forms", Bindings: []Binding{
			bind(Up, "up", "up", "k", "shift+tab"), bind(Down, "down", "down", "j", "tab"),
			bind(Left, "left", "left", "h"), bind(Right, "right", "right", "l"),
			bind(First, "first line", "home"), bind(Last, "last line", "end"),
			bind(Edit, "edit, or the next choice", "enter"), bind(More, "next choice", "+", "="), bind(Less, "previous choice", "-"),
			bind(Add, "add a reading or a mark", "a"), bind(Remove, "remove a reading or a mark", "x", "delete"),
			bind(Print, "print the ticket", "p"), bind(Keep, "keep this bow by name", "s"), bind(Open, "another bow you kept", "o"), bind(New, "a new bow", "n"),
			bind(Undo, "undo", "z", "ctrl+z"), bind(Redo, "redo", "Z", "ctrl+y"),
			bind(Command, "any action by name", ":"), bind(Help, "help", "?", "f1"), bind(Close, "back to the bench", "esc", "q"),
		}},
		Entry: &Scope{ID: "entry", Name: "Typing", Typed: true, Bindings: []Binding{
			bind(Accept, "accept", "enter"), bind(Cancel, "leave as it was", "esc"),
		}},
		Reader: &Scope{ID: "page", Name: "Pages to read", Bindings: []Binding{
			bind(Up, "up", "up", "k"), bind(Down, "down", "down", "j"),
			bind(PageUp, "page up", "pgup"), bind(PageDown, "page down", "pgdown", " "),
			bind(First, "top", "home"), bind(Last, "bottom", "end"),
			bind(Close, "back", "esc", "enter", "e", "q", "?"),
		}},
	}
}

// Hint is one entry of a footer.
type Hint struct{ Press, Does string }

// Hints makes footer entries of the actions, each with the first of its keys.
// Actions that have no key are left out.
func (s *Scope) Hints(list ...Offer) []Hint {
	var out []Hint
	for _, o := range list {
		var names []string
		for _, a := range o.Actions {
			if press := s.Press(a); !strings.HasPrefix(press, ":") || a == Command {
				names = append(names, press)
			}
		}
		if len(names) > 0 {
			out = append(out, Hint{strings.Join(names, " "), o.Does})
		}
	}
	return out
}

// Offer is what a footer says of actions that belong together.
type Offer struct {
	Does    string
	Actions []Action
}

// Do makes an Offer.
func Do(does string, actions ...Action) Offer { return Offer{does, actions} }

// BenchFooter lists the keys that the last line of the bench offers, the most
// useful first: a narrow screen drops the last.
func (m *Map) BenchFooter() []Hint {
	return m.Bench.Hints(Do("help", Help), Do("swap", More, Less), Do("choose", Edit), Do("undo", Undo), Do("bow", Bow), Do("add", Add),
		Do("downrange", Downrange), Do("quit", Quit), Do("swap map", SwapMap), Do("find", Find), Do("fitting", Fit), Do("dozen", Dozen), Do("ticket", Print), Do("drawer", Drawer), Do("save", Save), Do("saved", Open), Do("any action", Command), Do("explain", Explain), Do("fix", Fix), Do("depth", Depth),
		Do("duplicate", Duplicate), Do("remove", Remove), Do("baseline", Baseline), Do("proven", Proven), Do("units", Units), Do("colours", Theme))
}

// RangeFooter lists the keys that the last line of the Downrange screen offers.
func (m *Map) RangeFooter() []Hint {
	return m.Range.Hints(Do("bench", Close), Do("edit", Edit), Do("step", More, Less), Do("figure", Figure), Do("chart", Chart), Do("add", Add), Do("undo", Undo), Do("help", Help),
		Do("explain", Explain), Do("print marks", Print), Do("drag", Drag), Do("sight", Sight), Do("air", Air), Do("remove", Remove), Do("any action", Command))
}

// EmptyFooter lists the keys of a bench without builds.
func (m *Map) EmptyFooter() []Hint {
	return m.Bench.Hints(Do("help", Help), Do("bow", Bow), Do("add", Add), Do("fitting", Fit), Do("open", Open), Do("undo", Undo), Do("samples", Samples),
		Do("tour", Tour), Do("any action", Command), Do("quit", Quit))
}

// EntryFooter lists the keys of a field that takes typing.
func (m *Map) EntryFooter() []Hint {
	return m.Entry.Hints(Do("accept", Accept), Do("leave as it was", Cancel))
}

// ListFooter lists the keys of a list.
func (m *Map) ListFooter() []Hint {
	return m.List.Hints(Do("choose", Choose), Do("back", Close), Do("move", Up, Down), Do("page", PageUp, PageDown))
}

// ReaderFooter lists the keys of a page to read.
func (m *Map) ReaderFooter() []Hint {
	return m.Reader.Hints(Do("back", Close), Do("move", Up, Down), Do("page", PageUp, PageDown))
}

// Table writes the bindings as Markdown.
func (m *Map) Table() string {
	var out strings.Builder
	for _, s := range m.Scopes() {
		fmt.Fprintf(&out, "| %s | | by name |\n|---|---|---|\n", s.Name)
		for _, b := range s.Bindings {
			fmt.Fprintf(&out, "| `%s` | %s | `%s` |\n", strings.ReplaceAll(b.Help().Key, "|", "\\|"), b.Help().Desc, s.name(b.Action))
		}
		out.WriteString("\n")
	}
	return out.String()
}

// name is how the settings call an action of the scope.
func (s *Scope) name(a Action) string { return s.ID + "." + string(a) }

// without takes a key away from a binding.
func (b *Binding) without(press string) {
	b.press(slices.DeleteFunc(slices.Clone(b.Keys()), func(k string) bool { return k == press }))
}
