package keys

// The actions of the Dozen screen, and the way there.
const (
	Dozen   Action = "dozen"
	Out     Action = "leave-out"
	Reject  Action = "reject"
	Discard Action = "discard"
	Count   Action = "count"
)

// dozenScope returns the bindings of the Dozen screen, where digits are weights.
func dozenScope() *Scope {
	return &Scope{ID: "dozen", Name: "Dozen", Typed: true, Bindings: []Binding{
		bind(Up, "up", "up", "ctrl+p"), bind(Down, "down", "down", "ctrl+n"),
		bind(PageUp, "page up", "pgup"), bind(PageDown, "page down", "pgdown"), bind(First, "first", "home"), bind(Last, "last", "end"),
		bind(Kind, "next list: shafts, heads, inserts, nocks, build list", "tab"), bind(KindBack, "list before", "shift+tab"),
		bind(Choose, "add what was typed; else correct the piece, tick the arrow", "enter"),
		bind(Out, "leave the piece out, or take it back", "ctrl+x"),
		bind(Reject, "leave out by a rule: outliers, or beyond a limit", "ctrl+r"),
		bind(Discard, "take off the piece; on the build list: pair anew", "ctrl+k", "delete"),
		bind(Sort, "sort by the next column: as weighed, weight, spine, straightness", "ctrl+s"),
		bind(Count, "how many arrows to make", "ctrl+o"),
		bind(Fetch, "take weights from a file", "ctrl+t"), bind(Send, "print a ticket with the build list", "ctrl+w"),
		bind(Undo, "undo", "ctrl+z"), bind(Redo, "redo", "ctrl+y"),
		bind(Help, "the keys of this screen", "f1"), bind(Close, "empty the field, or back to the bench", "esc"),
	}}
}

// DozenFooter lists the keys that the last line offers above a list of pieces, or above the
// build list.
func (m *Map) DozenFooter(list bool) []Hint {
	if list {
		return m.Dozen.Hints(Do("bench", Close), Do("all keys", Help), Do("tick", Choose), Do("next list", Kind), Do("print", Send), Do("undo", Undo), Do("how many", Count), Do("pair anew", Discard), Do("move", Up, Down))
	}
	return m.Dozen.Hints(Do("bench", Close), Do("all keys", Help), Do("add or correct", Choose), Do("next list", Kind), Do("leave out", Out), Do("by a rule", Reject), Do("undo", Undo), Do("sort", Sort),
		Do("how many", Count), Do("from a file", Fetch), Do("take off", Discard), Do("print", Send), Do("move", Up, Down))
}
