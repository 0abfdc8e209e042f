package bench

import (
	"strconv"
	"strings"

	"foreshaft/ui/frame"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// titleWidth holds the longest title of a line.
const titleWidth = 20

// leftMost is how far the values of a form reach at most: what they come to
// stands beside them.
const leftMost = 50

func number(i int) string { return strconv.Itoa(i) }

// lines draws the values on the left and on the right the table and what the
// values come to.
func (f *form[T]) draw(m *Model, w, h int) []string {
	v := f.shown(m)
	leftW := f.leftWidth(w)
	f.height = h
	rightW := w - leftW
	left, focus := f.left(m, &v, leftW)
	f.offset = frame.Scroll(f.offset, focus, h-1, len(left))
	left = left[f.offset:min(f.offset+h-1, len(left))]
	right := f.right(m, &v, rightW, h-1)
	title := " " + f.title
	if n := len(f.lines) - 1; f.offset > 0 {
		title += "   ↑ more above"
	} else if len(left) == h-1 && n > 0 && f.places[n] >= h-1 {
		title += "   ↓ more below"
	}
	head := ""
	if f.table != nil {
		head = " " + f.table.title
	}
	out := []string{m.theme.Paint(theme.Heading, text.Pad(title, leftW)+text.Pad(head, rightW))}
	for i := range h - 1 {
		line := text.Pad("", leftW)
		if i < len(left) {
			line = left[i]
		}
		if i < len(right) {
			line += right[i]
		}
		out = append(out, line)
	}
	return out
}

// leftWidth is how far the values reach: less far where a table stands beside them.
func (f *form[T]) leftWidth(w int) int {
	if f.table != nil {
		return min(w/2-2, leftMost)
	}
	return min(w/2, leftMost)
}

// left draws the lines and their headings, and says which has the focus.
func (f *form[T]) left(m *Model, v *T, w int) (out []string, focus int) {
	valueW := w - titleWidth - 3
	f.places = f.places[:0]
	for i := range f.lines {
		l := &f.lines[i]
		if l.head != "" {
			out = append(out, m.theme.Paint(theme.Heading, text.Pad(" "+l.head, w)))
		}
		f.places = append(f.places, len(out))
		shown, token := f.value(m, v, i)
		mark, value := "  ", m.theme.Paint(token, text.Pad(" "+shown, valueW))
		switch focused := i == f.at && f.draft == nil; {
		case focused && f.input != nil:
			mark, value, focus = "▸ ", field(m.theme, f.input, valueW), len(out)
		case focused:
			mark, value, focus = "▸ ", m.theme.Paint(theme.Focus, text.Pad("["+text.Cut(shown, valueW-2)+"]", valueW)), len(out)
		}
		out = append(out, mark+m.theme.Paint(theme.Label, text.Pad(l.title, titleWidth))+value+" ")
	}
	return out, focus
}

// value writes a line's value with its unit, or what stands for an empty one.
func (f *form[T]) value(m *Model, v *T, i int) (string, theme.Token) {
	l := &f.lines[i]
	if l.shut != nil && l.shut(v) != "" {
		return "", theme.Quiet
	}
	at := f.lineOf(m, v, i)
	shown := present.Value(at)
	// Of a number that cannot be left out nothing means that there is none.
	number, given := at.Number()
	none := shown == "" || given && number == 0 && !at.Optional()
	if none && l.usual != nil {
		if usual := l.usual(m, v); usual != "" {
			return usual, theme.Quiet
		}
	}
	return shown, theme.Plain
}

// right draws the table, what the values come to, and what the line in focus is.
func (f *form[T]) right(m *Model, v *T, w, h int) []string {
	var below []string
	if f.side != nil {
		for _, p := range f.side(m, v) {
			below = append(below, wrapParagraph(m.theme, p, w-2)...)
		}
	}
	if _, row := f.onRow(); !row && f.input == nil && f.lines[f.at].means != "" {
		l := &f.lines[f.at]
		if shown, _ := f.value(m, v, f.at); text.Width(shown) > f.leftWidth(m.width)-titleWidth-5 { // what its line cuts
			below = append(append(below, ""), wrapParagraph(m.theme, paragraph{text: shown}, w-2)...)
		}
		below = append(below, "")
		below = append(below, wrapParagraph(m.theme, paragraph{token: theme.Quiet, text: capital(strings.TrimSpace(l.title)) + ": " + l.means}, w-2)...)
	}
	for i := range below {
		below[i] = " " + below[i]
	}
	if f.table == nil {
		return below
	}
	rows := f.tableRows(m, v, w)
	head, rows := rows[:1], rows[1:]
	// Many rows scroll; what they come to keeps most of the room.
	window := max(h-len(below)-len(head), h/3)
	f.window = window
	if i, row := f.onRow(); row {
		f.rowsAt = frame.Scroll(f.rowsAt, i, window, len(rows))
	}
	f.rowsAt = max(min(f.rowsAt, len(rows)-window), 0)
	out := append(head, rows[f.rowsAt:min(f.rowsAt+window, len(rows))]...)
	return append(out, below...)
}

// tableRows draws the rows of the table below the heads of its columns.
func (f *form[T]) tableRows(m *Model, v *T, w int) []string {
	t := f.table
	if t.count(v) == 0 {
		return []string{" " + m.theme.Paint(theme.Quiet, text.Cut(t.empty(m), w-1))}
	}
	head, widths := "  ", f.widths(m, v, w)
	for c := range t.columns {
		head += text.PadLeft(f.columnTitle(m, v, c), widths[c])
	}
	out := []string{m.theme.Paint(theme.Quiet, head+text.PadLeft(t.behindTitle, t.behindWidth))}
	for i := range t.count(v) {
		out = append(out, f.tableRow(m, v, i, widths))
	}
	return out
}

func (f *form[T]) columnTitle(m *Model, v *T, c int) string {
	return strings.ReplaceAll(f.table.columns[c].title, "%s", f.cellOf(m, v, 0, c).Unit.Symbol)
}

// widths returns how wide each column is: what it was meant to be, and more for
// long values where there is room.
func (f *form[T]) widths(m *Model, v *T, w int) []int {
	t := f.table
	room := w - 2 - t.behindWidth
	out := make([]int, len(t.columns))
	for c := range t.columns {
		out[c] = t.columns[c].width
		room -= out[c]
	}
	for c := range t.columns {
		// Brackets around the focus, and a gap.
		need := text.Width(f.columnTitle(m, v, c)) + 1
		for i := range t.count(v) {
			need = max(need, text.Width(f.cellOf(m, v, i, c).Brief(tableDigits))+3)
		}
		more := max(min(need-out[c], room), 0)
		out[c] += more
		room -= more
	}
	return out
}

// tableDigits is how many digits a value in a table shows.
const tableDigits = 4

// empty says what to do when there is no row.
func (t *table[T]) empty(m *Model) string {
	return strings.ReplaceAll(t.none, "%s", m.keys.Form.Press(keys.Add))
}

// tableRow draws one row, the cell in focus marked.
func (f *form[T]) tableRow(m *Model, v *T, i int, widths []int) string {
	t := f.table
	at, row := f.onRow()
	focused := row && at == i
	drafted := focused && f.draft != nil
	line := "  "
	if focused {
		line = "▸ "
	}
	for c := range t.columns {
		width := widths[c]
		value := f.cellOf(m, v, i, c).Brief(tableDigits)
		cell := text.PadLeft(value, width)
		switch {
		case focused && c == f.cell && f.input != nil:
			cell = field(m.theme, f.input, width)
		case drafted && c > f.asked && c < t.needed:
			cell = text.PadLeft("", width)
		case focused && c == f.cell:
			shown := "[" + value + "]"
			if text.Width(shown) > width {
				shown = "▸" + value
			}
			cell = m.theme.Paint(theme.Focus, text.PadLeft(shown, width))
		}
		line += cell
	}
	if t.behind != nil && !drafted {
		line += text.PadLeft(t.behind(m, v, i), t.behindWidth)
	}
	return line
}
