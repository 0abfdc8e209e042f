package bench

import (
	"fmt"
	"slices"

	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
	"foreshaft/ui/frame"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// lines draws the bow on the left and on the right its readings and what they
// come to.
func (f *bowForm) lines(m *Model, w, h int) []string {
	b := m.bowOf()
	leftW := min(w/2, 46)
	rightW := w - leftW
	left := f.left(m, &b, leftW)
	right := f.right(m, &b, rightW, h-1)
	out := []string{m.theme.Paint(theme.Heading, text.Pad(" Bow", leftW)+text.Pad(" Readings: arrow gr, speed ft/s", rightW))}
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

func (f *bowForm) left(m *Model, b *bow.Bow, w int) []string {
	const titleW = 20
	var out []string
	for i, line := range bowFields {
		if line.rating && !bowFields[i-1].rating {
			out = append(out, m.theme.Paint(theme.Heading, text.Pad(" Rating, used only without a reading", w)))
		}
		mark, value := "  ", text.Pad(" "+f.value(b, i), w-titleW-3)
		title := m.theme.Paint(theme.Label, text.Pad(line.title, titleW))
		switch focused := i == f.at && f.draft == nil; {
		case focused && f.input != nil:
			mark, value = "▸ ", field(m.theme, f.input, w-titleW-3)
		case focused:
			mark, value = "▸ ", m.theme.Paint(theme.Focus, text.Pad("["+text.Cut(f.value(b, i), w-titleW-5)+"]", w-titleW-3))
		}
		out = append(out, mark+title+value+" ")
	}
	return out
}

// readingWidths are the widths of the cells of a reading.
var readingWidths = []int{7, 7, 5, 6, 6}

func (f *bowForm) right(m *Model, b *bow.Bow, w, h int) []string {
	below := f.findings(m, b, w)
	readings := f.readings(m, b, w)
	head := readings[:1]
	readings = readings[1:]
	// Many readings scroll; what they come to keeps most of the room.
	window := max(h-len(below)-len(head), h/3)
	if f.draft != nil || f.at >= len(bowFields) {
		at := f.at - len(bowFields)
		if f.draft != nil {
			at = len(readings) - 1
		}
		f.offset = frame.Scroll(f.offset, at, window, len(readings))
	}
	f.offset = max(min(f.offset, len(readings)-window), 0)
	return slices.Concat(head, readings[f.offset:min(f.offset+window, len(readings))], below)
}

// readings draws the readings below a heading.
func (f *bowForm) readings(m *Model, b *bow.Bow, w int) []string {
	s := m.session.Sheet()
	if len(b.Readings) == 0 && f.draft == nil {
		return []string{" " + m.theme.Paint(theme.Quiet, text.Cut(fmt.Sprintf("None yet: %s adds one.", m.keys.Form.AddReading.Help().Key), w-1))}
	}
	head := "  "
	for i, title := range []string{"arrow", "ft/s", "±", "at lb", "at in"} {
		head += text.PadLeft(title, readingWidths[i])
	}
	out := []string{m.theme.Paint(theme.Quiet, head+text.PadLeft("off", offWidth))}
	for i := range b.Readings {
		residual := ""
		if s.FitErr == nil && !s.Fit.FromRating && i < len(s.Fit.Residuals) {
			residual = present.Plus(fmt.Sprintf("%.1f", s.Fit.Residuals[i].In(unit.FootPerSecond)))
			if s.Fit.Doubts(i) {
				residual += "!"
			}
		}
		out = append(out, f.reading(m, &b.Readings[i], i, residual))
	}
	if f.draft != nil {
		out = append(out, f.reading(m, f.draft, len(b.Readings), ""))
	}
	return out
}

// findings says what the readings come to and which would help next.
func (f *bowForm) findings(m *Model, b *bow.Bow, w int) []string {
	out := []string{""}
	add := func(t theme.Token, s string) {
		for _, l := range text.Wrap(s, w-2) {
			out = append(out, " "+m.theme.Paint(t, l))
		}
	}
	s := m.session.Sheet()
	if s.FitErr != nil {
		add(theme.Plain, "No speed yet: it "+s.FitErr.Error()+".")
		return out
	}
	e, eu := figure.Rounded(s.Fit.Energy.In(unit.FootPound), s.Fit.EnergyU.In(unit.FootPound))
	k, ku := figure.Rounded(s.Fit.VirtualMass.In(unit.Grain), s.Fit.VirtualMassU.In(unit.Grain))
	add(theme.Plain, fmt.Sprintf("Energy E        %s ± %s ft·lbf", e, eu))
	add(theme.Plain, fmt.Sprintf("Virtual mass K  %s ± %s gr", k, ku))
	for _, n := range s.Fit.Notes() {
		add(theme.Warn, "! "+n)
	}
	usual, usualU := b.Prior()
	if len(b.Readings) < 2 {
		add(theme.Quiet, fmt.Sprintf("K, what string, cams and limbs act like on top of the arrow, is the usual %.0f ± %.0f gr: one speed cannot tell it.",
			usual.In(unit.Grain), usualU.In(unit.Grain)))
	} else {
		add(theme.Quiet, fmt.Sprintf("K is what string, cams and limbs act like on top of the arrow; the usual %.0f ± %.0f gr counts beside the readings. “off”: reading less fit, ft/s. E and K go together, correlation %.3f.",
			usual.In(unit.Grain), usualU.In(unit.Grain), s.Fit.Correlation))
	}
	if next, ok := b.Next(); ok {
		add(theme.Plain, fmt.Sprintf("Most helpful next: chronograph an arrow of about %.0f gr; K would be known to ± %.0f gr.",
			next.Arrow.In(unit.Grain), next.After.In(unit.Grain)))
	}
	return out
}

// offWidth holds how far a reading is off, "−65.7!", behind a gap.
const offWidth = 7

// reading draws one reading, the cell in focus marked.
func (f *bowForm) reading(m *Model, r *bow.Reading, i int, residual string) string {
	line := "  "
	focused := i == f.at-len(bowFields) && f.draft == nil
	drafted := f.draft == r
	if focused || drafted {
		line = "▸ "
	}
	for c, key := range readingKeys {
		value := record.Only(r, key).Text()
		cell := text.PadLeft(value, readingWidths[c])
		switch {
		case drafted && c == f.given, focused && c == f.cell && f.input != nil:
			cell = field(m.theme, f.input, readingWidths[c])
		case drafted && c > f.given && c < 3:
			cell = text.PadLeft("", readingWidths[c])
		case focused && c == f.cell:
			cell = m.theme.Paint(theme.Focus, text.PadLeft("["+value+"]", readingWidths[c]))
		}
		line += cell
	}
	return line + text.PadLeft(residual, offWidth)
}
