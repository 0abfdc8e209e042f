package frame

// Find is how the lines of the Find screen are shared out.
type Find struct {
	List  int // lines of matches
	Chart int // lines of the trade-off's chart; 0 is none
	Below int // lines about the match in focus
}

const (
	// findFixed are the title with its progress, the rule and the heads of the list.
	findFixed = 3
	// findBelow holds what a match is made of and what it does, each over two lines.
	findBelow = 4
	// scatterLeast holds a title, an axis with its numbers and a few levels between,
	// scatterMost is as high as dots still stand together.
	scatterLeast, scatterMost = 6, 22
)

// LayFind shares out h lines below the header: what is asked takes asks of them, the
// chart half of the rest where it is wanted.
func LayFind(h, asks int, chart bool) Find {
	room := max(h-findFixed-asks, 0)
	l := Find{Below: min(findBelow, room/3)}
	room -= l.Below
	if chart {
		l.Chart = min(max(room/2, scatterLeast), scatterMost, room)
	}
	l.List = room - l.Chart
	return l
}
