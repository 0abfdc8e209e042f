package bench

import (
	"fmt"
	"math"
	"strings"

	"foreshaft/engine/caution"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/frame"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// mapDrawn is what was drawn last, for the mouse and for paging: the size, where
// the first row stands, and where and how wide the columns.
type mapDrawn struct {
	w, h          int
	rows, columns int
	label, cell   int
	number        int // how wide the numbers are
}

const (
	// mapAbove are the title and two lines of heads.
	mapAbove = 3
	// headLeast is what a head needs to be told from others, and headMost holds nearly
	// all of them.
	headLeast, headMost = 10, 16
	// leastTold are the lines kept for what a pair does, and mostTold those it may take
	// where the table leaves room.
	leastTold, mostTold = 2, 4
)

func (s *mapScreen) draw(m *Model, w, h int) []string {
	s.settle(m)
	if s.table == nil {
		return s.emptyBody(m, w)
	}
	s.compute(m)
	told := leastTold
	if h >= 24 {
		told++
	}
	// Below the rows: the rule, the legend, the name of the pair and what it does.
	lay := s.lay(m, w, h, max(h-mapAbove-3-told, 1))
	out := []string{s.titleLine(m, w)}
	out = append(out, s.heads(m, lay)...)
	low, high := s.bounds()
	focused := s.table.Build(s.at)
	weight := focused.Moments().Total
	for r := s.from.Row; r < s.from.Row+lay.rows; r++ {
		out = append(out, s.rowLine(m, lay, r, low, high, weight))
	}
	out = append(out, s.ruleLine(m, lay), s.legendLine(m, w, low, high), s.pairLine(m, w))
	pair := m.session.Sheet().Pair(m.build(), &focused, m.chosen())
	for _, l := range wrapped(s.does(m, pair), w-2, max(told, min(h-len(out), mostTold))) {
		out = append(out, m.theme.Paint(theme.Changed, " "+l))
	}
	return append(out, s.cautionsInFull(m, pair, min(w-2, 110), h-len(out))...)
}

// cautionsInFull uses room below for what the pair in focus would bring. What finds
// none is named above all the same.
func (s *mapScreen) cautionsInFull(m *Model, pair *sheet.Sheet, w, room int) []string {
	var out []string
	for _, c := range present.Brought(pair) {
		lines := text.Wrap(present.Marked(c), w)
		if s.table.Clash(s.at) != "" || len(out)+1+len(lines) > room {
			break
		}
		if len(out) == 0 {
			out = append(out, "")
		}
		for _, l := range lines {
			out = append(out, " "+m.theme.Paint(cautionToken(c.Level), l))
		}
	}
	return out
}

func (s *mapScreen) emptyBody(m *Model, w int) []string {
	out := []string{""}
	for _, l := range text.Wrap(s.nothing(m), w-6) {
		out = append(out, "   "+m.theme.Paint(theme.Plain, l))
	}
	return out
}

// lay says how much of the table is in sight, and scrolls to the focus. Another
// size begins at the top again, so that nothing depends on the sizes before.
func (s *mapScreen) lay(m *Model, w, h, rows int) mapDrawn {
	longest := 0
	for _, i := range s.table.Rows {
		longest = max(longest, text.Width(s.down.list[i].name))
	}
	wide := 0
	for r := range s.table.Rows {
		for c := range s.table.Columns {
			wide = max(wide, text.Width(s.number(m, search.Cell{Row: r, Column: c})))
		}
	}
	// Around a number: the focus, a frame, and the mark of a caution.
	d := mapDrawn{w: w, h: h, label: min(longest+3, max(20, w/5)), cell: max(wide+5, headLeast), number: wide}
	if m.swaps.weigh {
		d.cell = max(wide+6, headLeast)
	}
	// What is left makes room for names.
	if room := w - d.label - len(s.table.Columns)*d.cell; room > 0 {
		more := min(longest+3-d.label, room)
		d.label += more
		d.cell = max(d.cell, min(headMost, d.cell+(room-more)/len(s.table.Columns)))
	}
	d.rows, d.columns = min(rows, len(s.table.Rows)), min(max((w-d.label)/d.cell, 1), len(s.table.Columns))
	if s.drawn.w != w || s.drawn.h != h {
		s.from = search.Cell{}
	}
	s.from.Row = frame.Scroll(s.from.Row, s.at.Row, d.rows, len(s.table.Rows))
	s.from.Column = frame.Scroll(s.from.Column, s.at.Column, d.columns, len(s.table.Columns))
	s.drawn = d
	return d
}

func (s *mapScreen) titleLine(m *Model, w int) string {
	k := s.numbersOf.figure
	figure := s.title(m)
	if symbol := m.session.Sheet().Unit(k).Symbol; symbol != "" {
		figure += ", " + symbol
	}
	if m.swaps.difference {
		figure += ", difference"
	}
	name := " " + present.Letter(m.col) + " " + m.build().Name
	what := fmt.Sprintf("   %s down, %s across   %s", s.down.slot, s.over.slot, figure)
	name = text.Cut(name, max(w-text.Width(what), 0))
	return text.Pad(m.theme.Paint(theme.Heading, name)+m.theme.Paint(theme.Label, text.Cut(what, w-text.Width(name))), w)
}

// heads names the columns in two lines: what a piece weighs mostly stands in the
// first.
func (s *mapScreen) heads(m *Model, d mapDrawn) []string {
	lines := [2]string{text.Pad("", d.label), text.Pad("", d.label)}
	for c := s.from.Column; c < s.from.Column+d.columns; c++ {
		parts := text.Wrap(s.over.list[s.table.Columns[c]].name, d.cell-2)
		mark, token := " ", theme.Label
		if c == s.at.Column {
			mark, token = "▸", theme.Heading
		}
		first, rest := "", ""
		if len(parts) > 0 {
			first, rest = parts[0], strings.Join(parts[1:], " ")
		}
		lines[0] += m.theme.Paint(token, text.Pad(mark+text.Cut(first, d.cell-2), d.cell))
		lines[1] += m.theme.Paint(token, text.Pad(" "+text.Cut(rest, d.cell-2), d.cell))
	}
	return []string{text.Pad(lines[0], d.w), text.Pad(lines[1], d.w)}
}

// bounds returns the least and the greatest number of the cells, NaN where there
// is none.
func (s *mapScreen) bounds() (low, high float64) {
	low, high = math.NaN(), math.NaN()
	for _, x := range s.numbers {
		if !math.IsNaN(x) {
			if math.IsNaN(low) {
				low, high = x, x
			}
			low, high = min(low, x), max(high, x)
		}
	}
	return low, high
}

// shade returns the ground of a number between two others.
func shade(x, low, high float64) theme.Token {
	if !(high-low > 1e-9*math.Max(math.Abs(low), math.Abs(high))) {
		return theme.Plain
	}
	return theme.Shade + theme.Token(min(int(theme.Shades*(x-low)/(high-low)), theme.Shades-1))
}

func (s *mapScreen) rowLine(m *Model, d mapDrawn, r int, low, high float64, weight unit.Mass) string {
	mark, token := "  ", theme.Label
	if r == s.at.Row {
		mark, token = "▸ ", theme.Heading
	}
	var line strings.Builder
	line.WriteString(m.theme.Paint(token, text.Pad(mark+text.Cut(s.down.list[s.table.Rows[r]].name, d.label-3), d.label)))
	for c := s.from.Column; c < s.from.Column+d.columns; c++ {
		line.WriteString(s.cell(m, d, search.Cell{Row: r, Column: c}, low, high, weight))
	}
	return text.Pad(line.String(), d.w)
}

// cell draws a number with what belongs to it: an arrow before the one in focus,
// brackets around what the build has, a mark of equal weight and one of a caution.
func (s *mapScreen) cell(m *Model, d mapDrawn, at search.Cell, low, high float64, weight unit.Mass) string {
	value := s.value(at)
	before, open, shut := " ", " ", " "
	if at == s.at {
		before = "▸"
	}
	if at == s.table.Now() {
		open, shut = "[", "]"
	}
	equal := ""
	if m.swaps.weigh {
		equal = " "
		if s.equal(at, weight) {
			equal = "="
		}
	}
	warning, level := "  ", caution.Note
	if row := s.levels[at.Row]; row != nil && row[at.Column] != "" {
		level = row[at.Column]
		warning = text.Pad(present.Mark(level), 2)
	}
	number := before + open + text.PadLeft(s.number(m, at), d.number) + equal
	shut = text.Pad(shut, d.cell-text.Width(number)-text.Width(warning))
	switch {
	case at == s.at:
		return m.theme.Paint(theme.Focus, number+warning+shut)
	case math.IsNaN(value):
		return m.theme.Paint(theme.Quiet, number+warning+shut)
	}
	token := shade(value, low, high)
	if level == caution.Note {
		return m.theme.Paint(token, number+warning+shut)
	}
	return m.theme.Paint(token, number) + m.theme.Paint(cautionToken(level), warning) + m.theme.Paint(token, shut)
}

// ruleLine closes the rows and says what is out of sight and not looked at yet.
func (s *mapScreen) ruleLine(m *Model, d mapDrawn) string {
	words := ""
	add := func(n int, format string) {
		if n > 0 {
			words += "─ " + fmt.Sprintf(format, n) + " "
		}
	}
	rows, columns := len(s.table.Rows), len(s.table.Columns)
	add(s.from.Row, "↑ %d more")
	add(rows-s.from.Row-d.rows, "↓ %d more")
	add(s.from.Column, "← %d more")
	add(columns-s.from.Column-d.columns, "→ %d more")
	add(s.table.MoreRows, string(s.down.slot)+": %d further off in weight")
	add(s.table.MoreColumns, string(s.over.slot)+": %d further off in weight")
	unchecked := 0
	for _, row := range s.levels {
		if row == nil {
			unchecked += columns
		}
	}
	if unchecked > 0 {
		words += fmt.Sprintf("─ looking for cautions: %d of %d ", rows*columns-unchecked, rows*columns)
	}
	words = text.Cut(words, d.w)
	return m.theme.Paint(theme.Rule, words+strings.Repeat("─", d.w-text.Width(words)))
}

// legendLine says what shades and marks mean.
func (s *mapScreen) legendLine(m *Model, w int, low, high float64) string {
	line := " "
	if shade(high, low, high) != theme.Plain {
		k, on := s.numbersOf.figure, m.session.Sheet()
		base := 0.0
		if m.swaps.difference {
			base = s.value(s.table.Now())
		}
		bound := func(x float64) string { return present.Bare(on, k, x-base, m.swaps.difference) }
		if !math.IsNaN(base) {
			line += m.theme.Paint(theme.Shade, " low "+bound(low)+" ")
			for i := 1; i < theme.Shades-1; i++ {
				line += m.theme.Paint(theme.Shade+theme.Token(i), "  ")
			}
			line += m.theme.Paint(theme.Shade+theme.Shades-1, " "+bound(high)+" high ")
		}
	}
	words := "  more is not better · "
	switch roomy := w >= 110; {
	case m.swaps.weigh && roomy:
		words += "= same weight · [ ] as it is · !! danger, ! warning it would bring"
	case m.swaps.weigh:
		words += "= weight · !! ! caution"
	case roomy:
		words += "[ ] as it is · !! danger, ! warning it would bring"
	default:
		words += "[ ] now · !! ! caution"
	}
	return text.Pad(line+m.theme.Paint(theme.Quiet, text.Cut(words, w-text.Width(line))), w)
}

// pairLine names the pair in focus with its number.
func (s *mapScreen) pairLine(m *Model, w int) string {
	words := "▸ " + s.pair()
	if s.at == s.table.Now() {
		words += ", as it is"
	}
	k, on := s.numbersOf.figure, m.session.Sheet()
	if value := s.value(s.at); !math.IsNaN(value) {
		words += strings.TrimRight(fmt.Sprintf(": %s %s %s", s.title(m), present.Bare(on, k, value, false), on.Unit(k).Symbol), " ")
	}
	return m.theme.Paint(theme.Heading, text.Pad(" "+text.Cut(words, w-2), w))
}

// does says what putting the pair in focus in would do.
func (s *mapScreen) does(m *Model, pair *sheet.Sheet) string {
	if len(s.table.Rows) == 1 && len(s.table.Columns) == 1 {
		return s.alone(m)
	}
	if why := s.table.Clash(s.at); why != "" {
		return why
	}
	on, before, after := m.session.Sheet(), m.build(), s.table.Build(s.at)
	words := ""
	if s.at != s.table.Now() {
		words = present.Effect(on, before, &after, m.chosen())
		if words == "" {
			words = "No change to the figures that are told here."
		}
	}
	if why := s.absent(m, pair); why != "" {
		words = strings.TrimPrefix(words+" · ", " · ") + "no " + s.title(m) + ": it " + why
	}
	return words
}

// absent says why the figure of the pair in focus is not known; empty when it is.
func (s *mapScreen) absent(m *Model, pair *sheet.Sheet) string {
	k := s.numbersOf.figure
	if !math.IsNaN(s.value(s.at)) {
		return ""
	}
	place := sheet.Whole
	if k.Definition().At {
		place = 0 // of the one distance of a pair
	}
	return pair.Builds[1].Place(place).Absent(k)
}

// plain is the whole map as text, in columns that tabs separate: a spreadsheet
// takes it as it is.
func (s *mapScreen) plain(m *Model) string {
	s.compute(m)
	var out strings.Builder
	fmt.Fprintf(&out, "%s %s: %s", present.Letter(m.col), m.build().Name, s.title(m))
	if symbol := m.session.Sheet().Unit(s.numbersOf.figure).Symbol; symbol != "" {
		out.WriteString(", " + symbol)
	}
	if m.swaps.difference {
		out.WriteString(", difference to it as it is")
	}
	fmt.Fprintf(&out, "\n%s by %s", s.down.slot, s.over.slot)
	for _, c := range s.table.Columns {
		out.WriteString("\t" + s.over.list[c].name)
	}
	for r, row := range s.table.Rows {
		out.WriteString("\n" + s.down.list[row].name)
		for c := range s.table.Columns {
			out.WriteString("\t" + s.number(m, search.Cell{Row: r, Column: c}))
			if levels := s.levels[r]; levels != nil && levels[c] != "" {
				out.WriteString(" " + present.Mark(levels[c]))
			}
		}
	}
	return out.String() + "\n"
}

// click goes to the cell that is drawn there.
func (s *mapScreen) click(_ *Model, x, y int) (again bool) {
	d := s.drawn
	if s.table == nil || x < d.label {
		return false
	}
	row, column := y-mapAbove, (x-d.label)/d.cell
	if row < 0 || row >= d.rows || column >= d.columns {
		return false
	}
	at := search.Cell{Row: s.from.Row + row, Column: s.from.Column + column}
	again = at == s.at
	s.at = at
	return again
}
