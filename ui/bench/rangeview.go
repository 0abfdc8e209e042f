package bench

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/ui/downrange"
	"foreshaft/ui/frame"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// What a drawn line shows that is no distance.
const (
	conditionsLine = 0
	otherLine      = -1
)

func (r *rangeScreen) draw(m *Model, w, h int) []string {
	if r.entry(m) == nil {
		r.settle(m)
	}
	j := m.Job()
	figures := r.figuresBelow(m)
	l := frame.LayBench(w, m.height, len(j.Builds), m.col, j.Baseline, 0)
	lines := len(r.distances(m))
	if r.adding(m) {
		lines++
	}
	share := frame.LayRange(h, lines, len(figures), r.chart)
	var out []string
	r.drawn = r.drawn[:0]
	put := func(shows int, line string) { out, r.drawn = append(out, line), append(r.drawn, shows) }
	put(conditionsLine, r.conditionsLine(m, w))
	put(otherLine, m.namesLine(l))
	put(otherLine, r.headLine(m, l))
	r.offset = frame.Scroll(r.offset, max(r.at-1, 0), share.Distances, lines)
	for i := r.offset; i < min(r.offset+share.Distances, lines); i++ {
		if i == len(r.distances(m)) {
			put(otherLine, r.newLine(m, l))
		} else {
			put(i+1, r.distanceLine(m, l, i))
		}
	}
	hidden := lines - share.Distances
	put(otherLine, r.ruleLine(m, w, hidden, len(figures)-share.Figures))
	for _, k := range figures[:share.Figures] {
		put(otherLine, r.figureLine(m, l, k))
	}
	if share.Chart > 0 {
		for _, line := range r.chartLines(m, w, share.Chart) {
			put(otherLine, line)
		}
	}
	return out
}

// figuresBelow lists the figures at the distance in focus: what to hold for only
// on a slope.
func (r *rangeScreen) figuresBelow(m *Model) []figure.Key {
	told := m.session.Sheet().ToldAt()
	return slices.DeleteFunc(slices.Clone(rangeFigures), func(k figure.Key) bool { return !slices.Contains(told, k) })
}

// entry returns the field that is being typed into on this screen.
func (r *rangeScreen) entry(m *Model) *input {
	if p, ok := m.dialog.(*prompt); ok && p.inline {
		return &p.input
	}
	return nil
}

// adding reports whether a distance that is not in the list yet is typed.
func (r *rangeScreen) adding(m *Model) bool {
	return r.entry(m) != nil && r.at > len(r.distances(m))
}

// conditionsLine draws the conditions and the sight. Where they are too many for
// the line, the first make room for the one in focus.
func (r *rangeScreen) conditionsLine(m *Model, w int) string {
	titles, told := make([]string, sightItem+1), make([]string, sightItem+1)
	for i := range conditions {
		titles[i], told[i] = conditions[i].title, conditions[i].told(m)
	}
	titles[sightItem], told[sightItem] = "sight", sightTold(m.Job())
	r.spans = r.spans[:0]
	parts, x := make([]string, len(told)), 0
	for i := range told {
		wide, value := text.Width(told[i])+2, m.theme.Paint(theme.Plain, " "+told[i]+" ")
		switch in := r.entry(m); {
		case r.at != 0 || r.item != i:
		case in != nil:
			wide = max(wide, 10)
			value = field(m.theme, in, wide)
		default:
			value = m.theme.Paint(theme.Focus, "["+told[i]+"]")
		}
		parts[i] = m.theme.Paint(theme.Label, " "+titles[i]) + value
		r.spans = append(r.spans, [2]int{x, x + 1 + text.Width(titles[i]) + wide})
		x = r.spans[i][1]
	}
	first, hidden := 0, ""
	if r.at == 0 && r.spans[r.item][1] > w {
		hidden = text.Ellipsis
		for r.spans[r.item][1]-r.spans[first][0]+text.Width(hidden) > w {
			first++
		}
	}
	moved := r.spans[first][0] - text.Width(hidden)
	for i := range r.spans {
		r.spans[i][0], r.spans[i][1] = r.spans[i][0]-moved, r.spans[i][1]-moved
	}
	line := hidden + strings.Join(parts[first:], "")
	if x-moved > w {
		line = text.Cut(line, w)
	}
	return text.Pad(line, w)
}

// sightTold says in a word or two what is known of the sight.
func sightTold(j *job.Job) string {
	switch n := len(j.Sight.Value.Marks); {
	case !j.Sight.Given:
		return "not entered"
	case n == 1:
		return "1 mark"
	case n > 1:
		return fmt.Sprintf("%d marks", n)
	}
	return "entered"
}

func (r *rangeScreen) headLine(m *Model, l frame.Bench) string {
	d := r.shown().Definition()
	symbol, means := m.session.Sheet().Unit(r.shown()).Symbol, d.Means
	if m.session.Sheet().Sighted() { // a scale of one's own may run either way
		switch r.shown() {
		case figure.SightMark:
			symbol, means = "on your scale", "what your sight should read"
		case figure.MarkShift:
			symbol, means = "on your scale", "how much the reading differs from the baseline's"
		}
	}
	if symbol != "" {
		means = symbol + " · " + means
	}
	words := text.Cut(means, l.Width-l.Label-2)
	return text.Pad(m.theme.Paint(theme.Heading, text.Pad(" "+d.Title, l.Label))+m.theme.Paint(theme.Quiet, " "+words), l.Width)
}

func (r *rangeScreen) distanceLine(m *Model, l frame.Bench, i int) string {
	focused := r.at == i+1
	mark, token := "  ", theme.Label
	if focused {
		mark, token = "▸ ", theme.Heading
	}
	d := m.units().Distance(r.distances(m)[i], 4)
	line := m.theme.Paint(token, text.Pad(mark+text.PadLeft(d, 9), l.Label))
	if in := r.entry(m); focused && in != nil {
		line = field(m.theme, in, l.Label-1) + " "
	}
	for _, c := range l.Columns {
		line += r.cell(m, c, i, r.shown(), focused)
	}
	return text.Pad(line, l.Width)
}

// newLine is a distance that is being added.
func (r *rangeScreen) newLine(m *Model, l frame.Bench) string {
	return text.Pad(field(m.theme, r.entry(m), l.Label-1)+" "+m.theme.Paint(theme.Quiet, "a new distance"), l.Width)
}

func (r *rangeScreen) cell(m *Model, c frame.Column, place int, k figure.Key, focused bool) string {
	inner := c.W - 2
	content := text.Cut(present.FigureCellAt(m.session.Sheet(), c.Build, place, k).Text(inner), inner)
	if focused && c.Build == m.col {
		return m.theme.Paint(theme.Focus, "["+text.Pad(content, inner)+"]")
	}
	return m.theme.Paint(theme.Plain, text.Pad(" "+content, c.W))
}

func (r *rangeScreen) ruleLine(m *Model, w, hidden, figures int) string {
	words := "─ at " + m.units().Distance(r.distances(m)[r.place(m)], 4) + " "
	if hidden > 0 {
		words += "─ " + more(hidden, "distance") + " "
	}
	if figures > 0 {
		words += "─ " + more(figures, "figure") + ": " + m.keys.Range.Press(keys.Figure) + " "
	}
	return m.theme.Paint(theme.Rule, words+strings.Repeat("─", max(w-text.Width(words), 0)))
}

// more counts what is out of sight.
func more(n int, what string) string {
	if n > 1 {
		what += "s"
	}
	return fmt.Sprintf("%d more %s", n, what)
}

func (r *rangeScreen) figureLine(m *Model, l frame.Bench, k figure.Key) string {
	mark, token := " ", theme.Label
	if k == r.shown() {
		mark, token = "•", theme.Heading
	}
	line := m.theme.Paint(token, text.Pad(mark+k.Definition().Title, l.Label))
	for _, c := range l.Columns {
		line += r.cell(m, c, r.place(m), k, false)
	}
	return text.Pad(line, l.Width)
}

// chartFrom is where a chart starts, in yards or metres, unless a nearer distance
// is listed.
const chartFrom = 10

// chartPoints is how many distances a curve is computed at.
const chartPoints = 36

// chartLines draws the figure in the table against distance.
func (r *rangeScreen) chartLines(m *Model, w, h int) []string {
	s, list := m.session.Sheet(), r.distances(m)
	shown := m.units().Shown(unit.Yards)
	// Close to the bow marks shoot up and would flatten all the rest.
	first := min(shown.Of(float64(slices.Min(list))), chartFrom)
	last := max(math.Ceil(shown.Of(float64(slices.Max(list)))/10)*10, first+1)
	distances, numbers := make([]unit.Length, chartPoints), make([]float64, chartPoints)
	for i := range distances {
		numbers[i] = first + (last-first)*float64(i)/(chartPoints-1)
		distances[i] = unit.Length(numbers[i] * shown.Size)
	}
	k := r.shown()
	u := s.Unit(k)
	var builds []int
	for i := range m.Job().Builds {
		if len(builds) < mostCurves || i == m.col {
			builds = append(builds, i)
		}
	}
	var series []downrange.Series
	for n, values := range s.Curves(builds, k, distances) {
		for at := range values {
			values[at] = u.Of(values[at])
		}
		series = append(series, downrange.Series{Letter: present.Letter(builds[n]), Values: values, Focus: builds[n] == m.col})
	}
	title := k.Definition().Title
	if u.Symbol != "" {
		title += ", " + u.Symbol
	}
	return downrange.Chart(m.theme, title, numbers, shown.Symbol, series, w, h)
}

// mostCurves is how many curves can be told apart.
const mostCurves = 8

func (r *rangeScreen) click(m *Model, x, y int) (again bool) {
	if r.entry(m) != nil || y < 0 || y >= len(r.drawn) || r.drawn[y] == otherLine {
		return false
	}
	at, item, col := r.at, r.item, m.col
	r.at = r.drawn[y]
	if r.at == conditionsLine {
		i := slices.IndexFunc(r.spans, func(s [2]int) bool { return x >= s[0] && x < s[1] })
		if i < 0 {
			return false
		}
		r.item = i
		return at == r.at && item == i
	}
	l := frame.LayBench(m.width, m.height, len(m.Job().Builds), m.col, m.Job().Baseline, 0)
	for _, c := range l.Columns {
		if x >= c.X && x < c.X+c.W {
			m.focus(c.Build)
		}
	}
	r.settle(m)
	return at == r.at && col == m.col
}
