package frame

// Range is how the lines of the Downrange screen are shared out.
type Range struct {
	Distances int // lines of the table
	Figures   int // lines of figures at the distance in focus
	Chart     int // lines of the chart; 0 is none
}

const (
	// rangeFixed are the conditions, the names, the head of the table and the rule
	// below it.
	rangeFixed = 4
	// chartLeast holds a title, an axis with its numbers and a curve that can be
	// read.
	chartLeast = 8
)

// LayRange shares out h lines below the header: all distances if they fit, then
// the figures of one of them, and a chart below where there is room for both or
// in place of the figures where it was asked for.
func LayRange(h, distances, figures int, chart bool) Range {
	room := max(h-rangeFixed, 0)
	l := Range{Distances: min(distances, max(room/2, room-figures))}
	rest := room - l.Distances
	switch {
	case rest >= figures+chartLeast:
		l.Figures, l.Chart = figures, rest-figures
	case chart && rest >= chartLeast:
		l.Chart = rest
	default:
		l.Figures = min(figures, rest)
	}
	return l
}
