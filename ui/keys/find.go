package keys

// The actions of Find and of what the bench offers, and the ways there.
const (
	Find         Action = "find"
	Sort         Action = "sort"
	Reverse      Action = "reverse"
	TradeOff     Action = "trade-off"
	FigureAcross Action = "figure-across"
	WantAcross   Action = "want-across"
	FigureUp     Action = "figure-up"
	WantUp       Action = "want-up"
	Fix          Action = "fix"
	SameMarks    Action = "same-marks"
	Closest      Action = "closest"
)

// findScope returns the bindings of Find.
func findScope() *Scope {
	return &Scope{ID: "find", Name: "Find", Bindings: []Binding{
		bind(Up, "up", "up", "k"), bind(Down, "down", "down", "j"), bind(Left, "left", "left", "h"), bind(Right, "right", "right", "l"),
		bind(PageUp, "page up", "pgup"), bind(PageDown, "page down", "pgdown"), bind(First, "first line", "home"), bind(Last, "last line", "end"),
		bind(Edit, "type what to ask, or put the match into the column", "enter"), bind(Add, "put the match into a new column", "a"),
		bind(More, "next choice", "+", "="), bind(Less, "choice before", "-"), bind(Remove, "ask for any of this", "x", "delete"),
		bind(Sort, "rank by the next figure", "s"), bind(Reverse, "rank the other way round", "r"),
		bind(TradeOff, "all matches, or those that nothing beats on two figures", "c").also("trade-off chart"),
		bind(FigureAcross, "another figure across the chart", "f"), bind(WantAcross, "more or less of what is across is wanted", "F"),
		bind(FigureUp, "another figure up the chart", "g"), bind(WantUp, "more or less of what is up is wanted", "G"),
		bind(Undo, "undo", "z", "ctrl+z"), bind(Redo, "redo", "Z", "ctrl+y"),
		bind(Command, "any action by name", ":"), bind(Help, "help", "?", "f1"),
		bind(SwapMap, "swap map: two kinds of piece against each other", "2"), bind(Downrange, "downrange: marks, drift and forgiveness at every distance", "3"),
		bind(Dozen, "dozen: arrows that match", "5"), bind(Drawer, "drawer: all parts", "6"), bind(Open, "saved: builds, customers, files", "7"),
		bind(Close, "back to the bench", "esc", "1", "4", "tab", "q"),
	}}
}

// offersScope returns the bindings of the lists of swaps that the bench offers.
func offersScope() *Scope {
	return &Scope{ID: "offers", Name: "Offers of swaps", Bindings: []Binding{
		bind(Up, "up", "up", "k"), bind(Down, "down", "down", "j"),
		bind(Left, "caution before", "left", "h"), bind(Right, "next caution", "right", "l"),
		bind(Choose, "put it into the column", "enter"), bind(Add, "put it into a new column", "a"),
		bind(Command, "any action by name", ":"), bind(Help, "help", "?", "f1"), bind(Close, "back, nothing changed", "esc", "q"),
	}}
}

// FindFooter lists the keys that the last line of Find offers: on what is asked or on
// the list, of windows to widen, of all matches or of a trade-off.
func (m *Map) FindFooter(list, narrow, tradeOff bool) []Hint {
	offers := []Offer{Do("bench", Close), Do("type", Edit), Do("choice", More, Less), Do("any", Remove)}
	switch {
	case list && narrow:
		offers = []Offer{Do("bench", Close), Do("widen", Edit)}
	case list:
		offers = []Offer{Do("bench", Close), Do("into the column", Edit), Do("new column", Add)}
	}
	switch {
	case narrow:
	case tradeOff:
		offers = append(offers, Do("all matches", TradeOff), Do("across", FigureAcross), Do("up", FigureUp), Do("more or less", WantAcross, WantUp))
	default:
		offers = append(offers, Do("sort", Sort), Do("turn round", Reverse), Do("trade-off", TradeOff))
	}
	return m.Find.Hints(append(offers, Do("undo", Undo), Do("help", Help), Do("any action", Command))...)
}
