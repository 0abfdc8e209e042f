// Package downrange draws how figures change with distance.
//
// A chart must be readable without colour, so every curve carries the letter of
// its build, and the one with the focus the program's usual sign.
package downrange

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/guptarohit/asciigraph"

	"foreshaft/engine/figure"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// Series is one figure of one build along the distance.
type Series struct {
	// Letter names the build by one character that takes one cell, such as "A".
	Letter string
	// Values are in the unit the user wants to see, one for each distance. NaN
	// and the infinities mean that there is no value there.
	Values []float64
	// Focus draws the curve on top of the others and marks its letter.
	Focus bool
}

const (
	focusMark  = "▸" // stands before the letter of the curve with the focus, as in the bench
	fewestRows = 2   // one for the highest value and one for the lowest
	fewestCols = 8   // below that a curve shows nothing

	// A curve repeats its letter every so many columns, and the next curve does
	// so a little further on. Where curves lie on each other, the letters of all
	// then show in turn.
	letterEvery, letterShift = 32, 4
)

// Chart draws all series against the distance and returns exactly h lines of
// exactly w cells.
//
// The first line is the title, which must not be painted yet. Below are the
// curves, from the highest of all values on their top line to the lowest on
// their bottom line, a line with ticks, and a line with round distances and
// their unit. Where there is nothing to draw or no room for it, the second line
// says so.
//
// Distances are in the user's unit, in equal steps upwards; what a series has
// beyond them is left out. Each value stands in the column nearest to its
// distance and the columns between are interpolated. Where several values fall
// into one column, the one furthest from the middle is kept, so that a peak
// does not get lost, but always the last of a series, since its letter stands
// there.
func Chart(t *theme.Theme, title string, distances []float64, unit string, series []Series, w, h int) []string {
	lines := text.Block([]string{t.Paint(theme.Heading, text.Cut(" "+title, w))}, w, h)
	if w < 1 || h < 2 {
		return lines
	}
	series = withValues(series, len(distances))
	if len(series) == 0 {
		lines[1] = remark(t, "nothing to draw here", w)
		return lines
	}
	// Title, ticks and distances take a line each.
	p := newPlot(series, h-3)
	p.cols = w - p.left - max(p.lettersWidth(), text.Width(unit)+2)
	if p.rows < fewestRows || p.cols < fewestCols {
		lines[1] = remark(t, "no room for the chart", w)
		return lines
	}
	cells := newGrid(w, h-1)
	p.curves(cells)
	p.distances(cells, distances, unit)
	for i, line := range cells {
		lines[i+1] = paint(t, line)
	}
	return lines
}

// remark returns a line of w cells with a quiet sentence.
func remark(t *theme.Theme, words string, w int) string {
	return text.Pad(t.Paint(theme.Quiet, text.Cut(" "+words, w)), w)
}

// withValues returns the series that have something to draw, each with exactly
// n values and NaN for every absent one.
func withValues(series []Series, n int) []Series {
	var out []Series
	for _, s := range series {
		values, some := make([]float64, n), false
		for i := range values {
			values[i] = math.NaN()
			if i < len(s.Values) && !math.IsInf(s.Values[i], 0) && !math.IsNaN(s.Values[i]) {
				values[i], some = s.Values[i], true
			}
		}
		if some {
			out = append(out, Series{Letter: s.Letter, Values: values, Focus: s.Focus})
		}
	}
	return out
}

// lastValue returns where the last value of a series is, which must have one.
func lastValue(values []float64) int {
	i := len(values) - 1
	for math.IsNaN(values[i]) {
		i--
	}
	return i
}

// cell is one cell of the chart.
type cell struct {
	r     rune
	token theme.Token
}

// newGrid returns h lines of w blank cells.
func newGrid(w, h int) [][]cell {
	grid := make([][]cell, h)
	all := slices.Repeat([]cell{{r: ' '}}, w*h)
	for i := range grid {
		grid[i] = all[i*w : (i+1)*w]
	}
	return grid
}

// paint returns a line of cells as text. Blanks take the colour of what is before
// them, which nobody sees and which saves most of the escape sequences.
func paint(t *theme.Theme, line []cell) string {
	var out, run strings.Builder
	token := theme.Plain
	for _, c := range line {
		if c.token != token && c.r != ' ' {
			out.WriteString(t.Paint(token, run.String()))
			run.Reset()
			token = c.token
		}
		run.WriteRune(c.r)
	}
	out.WriteString(t.Paint(token, run.String()))
	return out.String()
}

// plot is the geometry of a chart. Lines count from the top, where the highest
// value is; columns from the first cell right of the axis.
type plot struct {
	series     []Series
	low, high  float64 // of all values
	rows, cols int
	flat       bool     // the values differ by less than can be shown
	labels     []string // one a row, from the bottom up, all of one width
	left       int      // cells left of column 0: labels and axis
}

// newPlot returns the geometry for that many rows, without its columns.
func newPlot(series []Series, rows int) plot {
	p := plot{series: series, rows: rows, low: math.Inf(1), high: math.Inf(-1)}
	for _, s := range series {
		for _, v := range s.Values {
			if !math.IsNaN(v) {
				p.low, p.high = min(p.low, v), max(p.high, v)
			}
		}
	}
	// A smaller difference than this is an error of rounding, and an axis would
	// need more digits than anyone reads.
	const nothing = 1e-9
	p.flat = p.halfSpan() <= nothing*max(math.Abs(p.low), math.Abs(p.high))
	if rows < fewestRows {
		return p
	}
	p.labels = p.axisLabels()
	// The library puts a blank before the labels, and a blank and the axis after.
	p.left = utf8.RuneCountInString(p.labels[0]) + 3
	return p
}

// halfSpan is half of what lies between the lowest and the highest value: the
// whole of it can be more than a float64 holds.
func (p plot) halfSpan() float64 { return p.high/2 - p.low/2 }

// height returns how many rows above the bottom line a value is, rounded to
// none. A flat chart is all in the middle.
func (p plot) height(value float64) float64 {
	top := float64(p.rows - 1)
	if p.flat {
		return math.Floor(top / 2)
	}
	return min(max((value/2-p.low/2)/p.halfSpan()*top, 0), top)
}

// axisLabels returns the value of every row from the bottom up, with as many
// decimals as tell the rows apart. A flat chart has one value only, so the other
// rows stay blank.
func (p plot) axisLabels() []string {
	largest := max(math.Abs(p.low), math.Abs(p.high))
	step := p.halfSpan() / float64(p.rows-1) * 2
	if p.flat {
		step = largest / 1000
	}
	labels := make([]string, p.rows)
	widest := 0
	for row := range labels {
		if p.flat && row != int(p.height(p.low)) {
			continue
		}
		share := float64(row) / float64(p.rows-1)
		value := p.low*(1-share) + p.high*share
		if p.flat {
			value = p.low
		}
		labels[row] = number(value, step/2, largest)
		widest = max(widest, utf8.RuneCountInString(labels[row]))
	}
	for row := range labels {
		labels[row] = text.PadLeft(labels[row], widest)
	}
	return labels
}

// number writes a value to a resolution. Values up to the largest are written
// alike: with powers of ten when they would get too long.
func number(value, resolution, largest float64) string {
	const longest = 12 // digits
	decimals := max(math.Ceil(-math.Log10(resolution)), 0)
	before := max(math.Floor(math.Log10(largest)), 0) + 1
	if largest == 0 {
		decimals, before = 0, 1
	}
	if decimals+before <= longest {
		return figure.Minus(strconv.FormatFloat(value, 'f', int(decimals), 64))
	}
	digits := min(max(math.Ceil(math.Log10(largest)-math.Log10(resolution)), 1), longest)
	return strings.ReplaceAll(strconv.FormatFloat(value, 'e', int(digits), 64), "-", "−")
}

// column returns the column that is nearest to a place along the distances, from
// 0 for the first to 1 for the last.
func (p plot) column(place float64) int {
	return int(math.Round(place * float64(p.cols-1)))
}

// heights returns the height of a curve in every column, NaN where it has none.
func (p plot) heights(values []float64) []float64 {
	out := slices.Repeat([]float64{math.NaN()}, p.cols)
	middle, last := float64(p.rows-1)/2, lastValue(values)
	before := -1 // the column of the value before this one, negative when absent
	for i, v := range values {
		if math.IsNaN(v) {
			before = -1
			continue
		}
		c := p.column(float64(i) / float64(max(len(values)-1, 1)))
		h := p.height(v)
		if math.IsNaN(out[c]) || i == last || math.Abs(h-middle) > math.Abs(out[c]-middle) {
			out[c] = h
		}
		for between := before + 1; before >= 0 && between < c; between++ {
			share := float64(between-before) / float64(c-before)
			out[between] = out[before] + (out[c]-out[before])*share
		}
		before = c
	}
	return out
}

// rowAt returns the line, from the top, on which a height is drawn.
func (p plot) rowAt(height float64) int { return p.rows - 1 - int(math.Round(height)) }

// lettersWidth returns how many cells the letters at the ends of the curves take
// on the line where they take most.
func (p plot) lettersWidth() int {
	if p.rows < fewestRows {
		return 0
	}
	taken := make([]int, p.rows)
	for _, s := range p.series {
		taken[p.rowAt(p.height(s.Values[lastValue(s.Values)]))] += len(endLetter(s))
	}
	return slices.Max(taken)
}

// letter returns the first character of a series' letter that takes one cell.
func letter(s Series) rune {
	for _, r := range s.Letter {
		if text.Width(string(r)) == 1 {
			return r
		}
	}
	return '?'
}

// endLetter returns what stands at the end of a curve.
func endLetter(s Series) []rune {
	if s.Focus {
		return []rune(focusMark + string(letter(s)))
	}
	return []rune{letter(s)}
}

// token returns what a curve is painted as. Changed is the only token that is
// told from Plain at a glance in every theme with colour and is no caution;
// Heading is hardly brighter than Plain on a dark ground.
func token(s Series) theme.Token {
	if s.Focus {
		return theme.Changed
	}
	return theme.Plain
}

// corners are the library's characters with square corners, because not every
// font has the round ones, and without the half lines at gaps, of which one
// would stand where there is no value.
var corners = asciigraph.CharSet{
	ArcDownRight: "┌", ArcDownLeft: "┐", ArcUpRight: "└", ArcUpLeft: "┘",
	EndCap: "─", StartCap: " ",
}

// draw returns the labels, the axis and one curve, as lines of characters
// without the blanks at their ends.
//
// The library gets heights in rows instead of values. With values it scales by
// height/(high−low) and rounds both bounds on their own, which gives a row more
// or less than asked, and overflows where the values are huge and close together.
// In rows that factor is exactly 1.
func (p plot) draw(heights []float64) []string {
	top := p.rows - 1
	// The cell of a column holds the step from it to the next one, so the last
	// column needs one more.
	heights = append(slices.Clip(heights), heights[len(heights)-1])
	return strings.Split(asciigraph.Plot(heights,
		asciigraph.LowerBound(0), asciigraph.UpperBound(float64(top)), asciigraph.Height(top),
		asciigraph.SeriesChars(corners),
		asciigraph.YAxisValueFormatter(func(row float64) string { return p.labels[int(math.Round(row))] }),
	), "\n")
}

// curves draws labels, axis, curves and letters into the upper lines of the grid.
func (p plot) curves(grid [][]cell) {
	heights := make([][]float64, len(p.series))
	for i, s := range p.series {
		heights[i] = p.heights(s.Values)
	}
	// What is drawn later lies on top, which must be the one with the focus.
	for _, focus := range []bool{false, true} {
		for i, s := range p.series {
			if s.Focus == focus {
				p.curve(grid, heights[i], token(s))
			}
		}
	}
	p.endLetters(grid, heights)
	for i, s := range p.series {
		for start := letterShift * (i + 1); start < p.cols; start += letterEvery {
			p.innerLetter(grid, heights[i], start, s)
		}
	}
}

// curve draws labels, axis and one curve over what is in the grid already.
func (p plot) curve(grid [][]cell, heights []float64, token theme.Token) {
	axis := p.left - 1
	for row, line := range p.draw(heights) {
		at := 0
		for _, r := range line {
			c := &grid[row][at]
			switch {
			case r == ' ' || at == axis && c.r == '┼':
				// Nothing to draw, or another curve starts at this place of the axis.
			case at == axis:
				*c = cell{r, theme.Rule}
			case at < axis:
				*c = cell{r, theme.Quiet}
			default:
				*c = cell{r, token}
			}
			at++
		}
	}
}

// endLetters puts the letters at the right ends of the curves, side by side
// where several end on one line.
func (p plot) endLetters(grid [][]cell, heights [][]float64) {
	type ending struct {
		series   Series
		col, row int
	}
	ends := make([]ending, len(p.series))
	for i, s := range p.series {
		col := lastValue(heights[i])
		ends[i] = ending{s, col, p.rowAt(heights[i][col])}
	}
	// Curves may end early. From left to right no letter can push another one
	// further than the room kept for all of them on one line.
	slices.SortStableFunc(ends, func(a, b ending) int { return cmp.Compare(a.col, b.col) })
	free := make([]int, p.rows) // the cell after the last letter of each line
	for _, e := range ends {
		at := max(p.left+e.col+1, free[e.row])
		for _, r := range endLetter(e.series) {
			grid[e.row][at] = cell{r, token(e.series)}
			at++
		}
		free[e.row] = at
	}
}

// innerLetter sets a letter into a curve, at the first place from a column on
// where it can be read: in a straight piece, with no other curve's corner and no
// other letter beside it. If there is none nearby, the curve goes without.
func (p plot) innerLetter(grid [][]cell, heights []float64, start int, s Series) {
	const nearby = letterEvery / 2
	straight := func(col, row int) bool {
		return !math.IsNaN(heights[col]) && p.rowAt(heights[col]) == row && grid[row][p.left+col].r == '─'
	}
	last := lastValue(heights) - 2*letterShift // the letter at the end is enough
	for col := start; col < min(start+nearby, last); col++ {
		if math.IsNaN(heights[col]) {
			continue
		}
		row := p.rowAt(heights[col])
		if straight(col-1, row) && straight(col, row) && straight(col+1, row) {
			grid[row][p.left+col] = cell{letter(s), token(s)}
			return
		}
	}
}

// distances draws the ticks and the round distances with their unit into the
// last two lines of the grid.
func (p plot) distances(grid [][]cell, distances []float64, unit string) {
	ticks, labels := grid[p.rows], grid[p.rows+1]
	unit = strings.Map(func(r rune) rune {
		if text.Width(string(r)) != 1 {
			return -1 // it would shift the line
		}
		return r
	}, unit)
	ticks[p.left-1] = cell{'└', theme.Rule}
	for col := range p.cols {
		ticks[p.left+col] = cell{'─', theme.Rule}
	}
	free := 0 // where the next label may begin
	write := func(at int, words string) {
		for _, r := range words {
			labels[at] = cell{r, theme.Quiet}
			at++
		}
		free = at + 1
	}
	for _, t := range p.ticks(distances) {
		wide := utf8.RuneCountInString(t.label)
		at := p.left + t.col - wide/2
		if at >= free && at+wide+1+text.Width(unit) <= len(labels) {
			ticks[p.left+t.col].r = '┬'
			write(at, t.label)
		}
	}
	if free == 0 {
		free = p.left
	}
	write(free, unit)
}

// tick is a distance worth a label, and the column nearest to it.
type tick struct {
	col   int
	label string
}

// ticks returns the round distances: all multiples of the smallest of 1, 2 or 5
// times a power of ten that leaves enough room for the labels.
func (p plot) ticks(distances []float64) []tick {
	const gap = 5 // cells between labels
	first, last := distances[0], distances[len(distances)-1]
	span := last - first
	if span == 0 {
		return []tick{{0, figure.Minus(strconv.FormatFloat(first, 'f', -1, 64))}}
	}
	if math.IsInf(span, 0) || !(span > 0) {
		return nil
	}
	decade := math.Pow(10, math.Floor(math.Log10(span/float64(p.cols))))
	for ; decade > 0 && decade <= span; decade *= 10 {
		for _, step := range []float64{decade, 2 * decade, 5 * decade} {
			// Multiples that fall on an end must not be lost to rounding.
			const slack = 1e-9
			from, to := math.Ceil(first/step-slack), math.Floor(last/step+slack)
			room := step/span*float64(p.cols-1) - gap
			widest := 0
			var out []tick
			for i := 0; room > 0 && i <= int(to-from); i++ {
				at := (from + float64(i)) * step
				place := min(max((at-first)/span, 0), 1)
				label := figure.Minus(strconv.FormatFloat(at, 'f', decimalsOf(step), 64))
				widest = max(widest, utf8.RuneCountInString(label))
				out = append(out, tick{p.column(place), label})
			}
			if len(out) > 0 && float64(widest) <= room {
				return out
			}
		}
	}
	return nil
}

// decimalsOf returns how many decimals a multiple of a step of 1, 2 or 5 times a
// power of ten needs.
func decimalsOf(step float64) int {
	return int(max(math.Ceil(-math.Log10(step)-1e-9), 0))
}
