// Package frame lays the screen out: sizes in, rectangles out, no drawing. Every
// fixed dimension says why.
package frame

import "slices"

// The least a screen needs: three builds side by side with their figures.
const (
	MinWidth  = 80
	MinHeight = 24
)

const (
	// labelWidth holds the longest row title ("balance point") between a mark
	// and a space.
	labelWidth = 15
	// columnLeast holds "539.2  +97.1 ± 0.3" between two marks.
	columnLeast = 21
	// columnMost keeps wide screens from drifting apart.
	columnMost = 36
)

// Roomy is the height from which a rule under the header and a row that is
// mostly empty cost nothing.
const Roomy = 30

// TooSmall reports whether a size is below what the screens need.
func TooSmall(w, h int) bool { return w < MinWidth || h < MinHeight }

// Column is where one build is drawn.
type Column struct {
	Build int // which build of the job
	X, W  int
}

// Bench is the layout of the bench.
type Bench struct {
	Width, Height int
	Label         int // width of the row titles
	Columns       []Column
	HiddenLeft    int // builds before the first shown, the baseline not counted
	HiddenRight   int
	Rule          bool // a line under the header
	Body          int  // rows of parts and figures that are seen at once
}

// LayBench lays out the bench for a size: as many columns as fit, among them
// the one in focus and the baseline. below is how many lines the message, a
// danger that stays on screen and the keys take.
func LayBench(w, h, builds, focus, baseline, below int) Bench {
	l := Bench{Width: w, Height: h, Label: labelWidth, Rule: h >= Roomy}
	// Around the body: header, names, strips, the rule below and cautions.
	l.Body = h - 5 - below
	if l.Rule {
		l.Body--
	}
	l.Body = max(l.Body, 0)
	room := w - labelWidth
	if builds == 0 || room < columnLeast {
		return l
	}
	shown := min(builds, room/columnLeast)
	width := min(room/shown, columnMost)
	first := min(max(focus-shown/2, 0), builds-shown)
	list := make([]int, 0, shown)
	for i := first; i < first+shown; i++ {
		list = append(list, i)
	}
	// The baseline takes the place at the edge it has scrolled past, unless
	// that is the only place there is.
	if shown > 1 && !slices.Contains(list, baseline) {
		list = withBaseline(list, focus, baseline)
	}
	for i, build := range list {
		l.Columns = append(l.Columns, Column{Build: build, X: labelWidth + i*width, W: width})
	}
	for i := range builds {
		switch {
		case slices.Contains(list, i):
		case i < focus:
			l.HiddenLeft++
		default:
			l.HiddenRight++
		}
	}
	return l
}

// withBaseline puts the baseline at the end of the list where it belongs, in
// place of the build there, or of its neighbour when that one has the focus.
func withBaseline(list []int, focus, baseline int) []int {
	front := baseline < list[0]
	drop, inward := len(list)-1, -1
	if front {
		drop, inward = 0, 1
	}
	if list[drop] == focus {
		drop += inward
	}
	list = slices.Delete(list, drop, drop+1)
	if front {
		return slices.Insert(list, 0, baseline)
	}
	return append(list, baseline)
}

// Scroll returns the first of total rows to show in a window of that height so
// that focus is seen, moving as little as possible from where it was.
func Scroll(offset, focus, window, total int) int {
	if total <= window {
		return 0
	}
	if focus < offset {
		offset = focus
	}
	if focus >= offset+window {
		offset = focus - window + 1
	}
	return min(max(offset, 0), total-window)
}
