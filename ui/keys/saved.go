package keys

// The actions of what is saved, of its revisions and of what is brought in.
const (
	Revisions Action = "revisions"
	Bin       Action = "bin"
	Empty     Action = "empty"
	Send      Action = "send"
	Fetch     Action = "fetch"
	Restore   Action = "restore"
	Compare   Action = "compare"
)

// savedScope returns the bindings of the list of what is saved, where letters filter.
func savedScope() *Scope {
	return &Scope{ID: "saved", Name: "Saved", Typed: true, Bindings: []Binding{
		bind(Up, "up", "up", "ctrl+p"), bind(Down, "down", "down", "ctrl+n"),
		bind(PageUp, "page up", "pgup"), bind(PageDown, "page down", "pgdown"), bind(First, "first", "home"), bind(Last, "last", "end"),
		bind(Kind, "next list: benches, builds, bows, customers, bin", "tab"), bind(KindBack, "list before", "shift+tab"),
		bind(Choose, "open it, or see what is saved for the customer", "enter"),
		bind(Edit, "edit its name, customer and tags, or a customer's note", "ctrl+e"),
		bind(New, "add a customer", "ctrl+a", "insert"),
		bind(Revisions, "revisions: compare, open or restore any", "ctrl+r"),
		bind(Bin, "to the bin or out of it; on customers: erase for good", "ctrl+x"),
		bind(Empty, "empty the bin", "ctrl+k"),
		bind(Send, "write it to a file: to keep, or to take elsewhere", "ctrl+w"),
		bind(Fetch, "take a file in, after a look at what it would bring", "ctrl+t"),
		bind(Help, "the keys of this screen", "f1"),
		bind(Close, "back", "esc"),
	}}
}

// SavedFooter lists the keys that the last line offers above a list of entries, of
// customers, or of what is in the bin.
func (m *Map) SavedFooter(customers, bin bool) []Hint {
	move := Do("move", Up, Down)
	switch {
	case customers:
		return m.Saved.Hints(Do("back", Close), Do("all keys", Help), Do("what is theirs", Choose), Do("next list", Kind), Do("add", New), Do("edit", Edit), Do("erase", Bin), Do("write to a file", Send), Do("take a file in", Fetch), move)
	case bin:
		return m.Saved.Hints(Do("back", Close), Do("all keys", Help), Do("take out", Bin), Do("next list", Kind), Do("open", Choose), Do("revisions", Revisions), Do("empty the bin", Empty), move)
	}
	return m.Saved.Hints(Do("back", Close), Do("all keys", Help), Do("open", Choose), Do("next list", Kind), Do("revisions", Revisions), Do("edit", Edit), Do("bin", Bin), Do("write to a file", Send), Do("take a file in", Fetch), move)
}

// EraseFooter lists the keys where the name of a customer is typed to erase it.
func (m *Map) EraseFooter() []Hint {
	return m.Entry.Hints(Do("erase for good", Accept), Do("leave everything as it is", Cancel))
}

// pastScope returns the bindings of the revisions of something saved.
func pastScope() *Scope {
	return &Scope{ID: "revisions", Name: "Revisions", Bindings: []Binding{
		bind(Up, "up", "up", "k"), bind(Down, "down", "down", "j"),
		bind(PageUp, "page up", "pgup"), bind(PageDown, "page down", "pgdown"), bind(First, "newest", "home"), bind(Last, "first", "end"),
		bind(Choose, "open this revision on the bench", "enter"),
		bind(Compare, "compare with this revision; again: with the one before", "c", " "),
		bind(Explain, "read all that changed", "e"),
		bind(Restore, "restore: make this revision the newest again", "r"),
		bind(Command, "any action by name", ":"), bind(Help, "help", "?", "f1"), bind(Close, "back", "esc", "q"),
	}}
}

// PastFooter lists the keys that the last line of the revisions offers.
func (m *Map) PastFooter() []Hint {
	return m.Past.Hints(Do("back", Close), Do("open", Choose), Do("compare with this", Compare), Do("restore", Restore), Do("read all", Explain), Do("move", Up, Down), Do("help", Help), Do("any action", Command))
}

// intakeScope returns the bindings of the look at what a file would bring.
func intakeScope() *Scope {
	return &Scope{ID: "file", Name: "Taking a file in", Bindings: []Binding{
		bind(Up, "up", "up", "k"), bind(Down, "down", "down", "j"),
		bind(PageUp, "page up", "pgup"), bind(PageDown, "page down", "pgdown", " "), bind(First, "top", "home"), bind(Last, "bottom", "end"),
		bind(Choose, "take it in", "enter"), bind(Close, "leave everything as it is", "esc", "q"),
	}}
}

// IntakeFooter lists the keys that the last line of that look offers.
func (m *Map) IntakeFooter(takes bool) []Hint {
	if !takes {
		return m.Intake.Hints(Do("back", Close), Do("scroll", Up, Down), Do("page", PageUp, PageDown))
	}
	return m.Intake.Hints(Do("take it in", Choose), Do("leave everything as it is", Close), Do("scroll", Up, Down), Do("page", PageUp, PageDown))
}
