package keys

// The actions of the fitting, and the way there.
const (
	Fit     Action = "fit"
	Propose Action = "propose"
	Purpose Action = "purpose"
)

// fitScope returns the bindings of the fitting.
func fitScope() *Scope {
	return &Scope{ID: "fitting", Name: "Fitting", Bindings: []Binding{
		bind(Up, "up", "up", "k"), bind(Down, "down", "down", "j"), bind(First, "top", "home"), bind(Last, "bottom", "end"),
		bind(PageUp, "page up", "pgup"), bind(PageDown, "page down", "pgdown"),
		bind(Edit, "answer, or put the builds on the bench", "enter"),
		bind(More, "next answer", "+", "=", "right", "l"), bind(Less, "answer before", "-", "left", "h"),
		bind(Propose, "propose builds", "p"),
		bind(Purpose, "edit the purpose: its weight and FOC ranges", "E").also("ranges common practice"),
		bind(Add, "add a purpose of your own", "a"), bind(Remove, "remove this purpose", "x", "delete"),
		bind(Bow, "bow and readings", "b"), bind(Undo, "take the last change of the purposes back", "z", "ctrl+z"),
		bind(Command, "any action by name", ":"), bind(Help, "help", "?", "f1"), bind(Close, "back", "esc", "q"),
	}}
}

// FitFooter lists the keys that the last line of the fitting offers: of its questions,
// or of what is proposed.
func (m *Map) FitFooter(proposed bool) []Hint {
	if proposed {
		return m.Fit.Hints(Do("back to the questions", Close), Do("put them on the bench", Edit), Do("move", Up, Down), Do("help", Help), Do("any action", Command))
	}
	return m.Fit.Hints(Do("bench", Close), Do("propose", Propose), Do("answer", Edit), Do("change", More, Less), Do("edit the purpose", Purpose), Do("bow", Bow), Do("help", Help),
		Do("own purpose", Add), Do("any action", Command))
}
