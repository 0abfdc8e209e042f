package keys

// The actions of the Swap map that no other place has, but for the way there.
const (
	SwapMap    Action = "swap-map"
	Rows       Action = "rows"
	RowsBack   Action = "rows-back"
	Across     Action = "across"
	AcrossBack Action = "across-back"
	Difference Action = "difference"
	SameWeight Action = "same-weight"
	BuildLeft  Action = "build-left"
	BuildRight Action = "build-right"
)

// mapScope returns the bindings of the Swap map.
func mapScope() *Scope {
	return &Scope{ID: "swap-map", Name: "Swap map", Bindings: []Binding{
		bind(Up, "up", "up", "k"), bind(Down, "down", "down", "j"), bind(Left, "left", "left", "h"), bind(Right, "right", "right", "l"),
		bind(First, "first of the row", "home"), bind(Last, "last of the row", "end"),
		bind(PageUp, "page up", "pgup"), bind(PageDown, "page down", "pgdown"),
		bind(Choose, "put the pair in focus into this build", "enter").also("swap take"),
		bind(Add, "add a build with the pair in focus", "a").also("column new copy duplicate"),
		bind(Figure, "next figure", "f"), bind(FigureBack, "figure before", "F"),
		bind(Difference, "value, or difference to this build", "d").also("delta compare"),
		bind(Rows, "next kind of piece down the side", "r"), bind(RowsBack, "kind before down the side", "R"),
		bind(Across, "next kind of piece across the top", "c").also("columns"), bind(AcrossBack, "kind before across the top", "C").also("columns"),
		bind(SameWeight, "mark what weighs as much as the pair in focus", "w", "=").also("equal total grain"),
		bind(BuildLeft, "build before this one", "<"), bind(BuildRight, "next build", ">"),
		bind(Nearer, "figures of a nearer distance", "-"), bind(Farther, "figures of a farther distance", "+"),
		bind(Explain, "explain: how the figure of the pair in focus is worked out", "e"),
		bind(Undo, "undo", "z", "ctrl+z"), bind(Redo, "redo", "Z", "ctrl+y"),
		bind(Copy, "copy the figure of the pair in focus", "y"), bind(CopyTable, "copy the whole map as text", "Y").also("export print"),
		bind(Command, "any action by name", ":"), bind(Help, "help", "?", "f1"),
		bind(Downrange, "downrange: marks, drift and forgiveness at every distance", "3", "tab"),
		bind(Find, "find: every arrow of the drawer that is what you ask for", "4"),
		bind(Dozen, "dozen: arrows that match", "5"), bind(Drawer, "drawer: all parts", "6"), bind(Open, "saved: builds, customers, files", "7"),
		bind(Close, "back to the bench", "esc", "1", "2", "q"),
	}}
}

// MapFooter lists the keys that the last line of the Swap map offers.
func (m *Map) MapFooter() []Hint {
	return m.Map.Hints(Do("bench", Close), Do("put in", Choose), Do("add", Add), Do("figure", Figure), Do("difference", Difference), Do("rows", Rows), Do("across", Across),
		Do("undo", Undo), Do("help", Help), Do("same weight", SameWeight), Do("build", BuildLeft, BuildRight), Do("explain", Explain), Do("distance", Nearer, Farther),
		Do("copy", Copy), Do("copy all", CopyTable), Do("downrange", Downrange), Do("any action", Command))
}
