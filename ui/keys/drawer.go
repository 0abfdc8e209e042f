package keys

// The actions of the drawer, and the way there.
const (
	Drawer   Action = "drawer"
	Kind     Action = "kind"
	KindBack Action = "kind-back"
	Retire   Action = "retire"
)

// drawerScope returns the bindings of the drawer, where letters filter.
func drawerScope() *Scope {
	return &Scope{ID: "drawer", Name: "Drawer", Typed: true, Bindings: []Binding{
		bind(Up, "up", "up", "ctrl+p"), bind(Down, "down", "down", "ctrl+n"),
		bind(PageUp, "page up", "pgup"), bind(PageDown, "page down", "pgdown"), bind(First, "first", "home"), bind(Last, "last", "end"),
		bind(Kind, "next kind of part", "tab"), bind(KindBack, "kind before", "shift+tab"),
		bind(Edit, "edit this part", "enter"), bind(New, "add a part", "ctrl+a", "insert"), bind(Duplicate, "copy this part", "ctrl+d"),
		bind(Retire, "retire this part, or offer it again", "ctrl+r"),
		bind(Send, "write the drawer to a file", "ctrl+w"), bind(Fetch, "take a price list in, after a look at what it would change", "ctrl+t"),
		bind(Help, "the keys of this screen", "f1"), bind(Close, "back to the bench", "esc"),
	}}
}

// DrawerFooter lists the keys that the last line of the drawer offers.
func (m *Map) DrawerFooter() []Hint {
	return m.Drawer.Hints(Do("bench", Close), Do("all keys", Help), Do("edit", Edit), Do("add", New), Do("copy", Duplicate), Do("retire", Retire), Do("kind", Kind), Do("take a list in", Fetch), Do("write to a file", Send), Do("move", Up, Down), Do("page", PageUp, PageDown))
}
