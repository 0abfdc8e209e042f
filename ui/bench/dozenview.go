package bench

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/dozen"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// The columns of the lists.
const (
	dozenNo       = 4 // "500"
	dozenWeight   = 8 // "1000.00"
	dozenSpine    = 7
	dozenStraight = 9
	dozenState    = 12 // "  ! arrow 12"
	dozenTotal    = 9
	dozenFOC      = 8
	dozenPiece    = 12 // " 123: 300.12"
	// dozenBeside is how wide what a list comes to must be to stand beside it.
	dozenBeside = 36
	// dozenLeast is how many lines of the build list stay in sight above what it comes to.
	dozenLeast = 6
)

func (d *dozenScreen) draw(m *Model, w, h int) []string {
	if m.build() == nil {
		return []string{m.theme.Paint(theme.Heading, text.Pad(" Dozen", w)), "", text.Cut("   "+d.hint(m), w)}
	}
	d.look(m)
	if d.list() {
		return d.drawList(m, w, h)
	}
	return d.drawPieces(m, w, h)
}

// tabs names the lists and how many are on each.
func (d *dozenScreen) tabs(m *Model, w int) string {
	b := d.batch(m)
	words := make([]string, dozen.Kinds+1)
	wide := 0
	for k := range dozen.Kinds + 1 {
		words[k] = "build list"
		if k < dozen.Kinds {
			words[k] = k.String()
			if n := len(*b.Of(k)); n > 0 {
				words[k] += fmt.Sprintf(" %d", n)
			}
		} else if len(b.Plan) > 0 {
			words[k] += fmt.Sprintf(" %d/%d", b.Made(), len(b.Plan))
		}
		wide += text.Width(words[k]) + 2
	}
	// The name gives way to the lists.
	title := text.Cut(fmt.Sprintf(" %s %s ", present.Letter(m.col), m.build().Name), max(w-wide, 0))
	line := m.theme.Paint(theme.Heading, title)
	for k := range dozen.Kinds + 1 {
		if k == d.shown {
			line += m.theme.Paint(theme.Focus, "["+words[k]+"]")
		} else {
			line += m.theme.Paint(theme.Label, " "+words[k]+" ")
		}
	}
	return text.Pad(line, w)
}

// entryLine is the field that weights are typed into, and at its end what is out of sight.
func (d *dozenScreen) entryLine(m *Model, w int, hidden string) string {
	label := fmt.Sprintf(" Weight of %s %d ", d.shown.One(), len(*d.batch(m).Of(d.shown))+1)
	if d.editing >= 0 {
		label = fmt.Sprintf(" Correct %s %d ", d.shown.One(), d.editing+1)
	}
	behind := " " + m.units().Shown(unit.Grains).Symbol
	if d.shown == dozen.Shafts {
		behind += "; then spine, straightness"
	}
	const wide = 24
	line := m.theme.Paint(theme.Label, label) + field(m.theme, &d.input, wide)
	room := max(w-text.Width(label)-wide-text.Width(hidden), 0)
	return line + m.theme.Paint(theme.Quiet, text.Pad(text.Cut(behind, room), room)+hidden)
}

func (d *dozenScreen) drawPieces(m *Model, w, h int) []string {
	b, order := d.batch(m), d.order(m)
	list := *b.Of(d.shown)
	weighing := d.weighing(m, d.shown)
	heads := text.PadLeft(d.head("no.", 0), dozenNo) + text.PadLeft(d.head("weight", 1), dozenWeight)
	if d.shown == dozen.Shafts {
		heads += text.PadLeft(d.head("spine", 2), dozenSpine) + text.PadLeft(d.head("straight", 3), dozenStraight)
	}
	heads = "   " + heads + "  goes into"
	left := text.Width("   ") + dozenNo + dozenWeight + dozenState
	if d.shown == dozen.Shafts {
		left += dozenSpine + dozenStraight
	}
	left = max(left, text.Width(heads)+1)
	right := d.comesTo(m, weighing, w-left-1, h-2)
	from, to := d.seen(h-listTop, len(list))
	out := []string{d.tabs(m, w), d.entryLine(m, w, hidden(from, len(list)-to)), m.theme.Paint(theme.Quiet, text.Pad(heads, left))}
	for i := range h - listTop {
		line := ""
		if at := from + i; at < to {
			line = d.pieceLine(m, weighing, list, order[at], at == d.at)
			line = text.Pad(line, left)
			switch {
			case at == d.at:
				line = m.theme.Paint(theme.Focus, line)
			case list[order[at]].LeftOut:
				line = m.theme.Paint(theme.Quiet, line)
			case weighing.Outlier(order[at]):
				line = m.theme.Paint(theme.Warn, line)
			}
		}
		out = append(out, text.Pad(line, left))
	}
	for i, line := range right {
		out[2+i] += " " + line
	}
	return out
}

// hidden says how many lines are out of sight above and below.
func hidden(above, below int) string {
	words := ""
	if above > 0 {
		words += fmt.Sprintf(" ↑%d", above)
	}
	if below > 0 {
		words += fmt.Sprintf(" ↓%d", below)
	}
	return words
}

// head marks the column that the list is sorted by.
func (d *dozenScreen) head(words string, column int) string {
	if column == d.sorted && column > 0 {
		return words + "↓"
	}
	return words
}

// pieceLine is one piece with what became of it.
func (d *dozenScreen) pieceLine(m *Model, w *present.Weighing, list []dozen.Piece, at int, focused bool) string {
	p := &list[at]
	line := mark(focused) + text.PadLeft(fmt.Sprint(at+1), dozenNo) + text.PadLeft(w.Told(w.Unit.Of(float64(p.Weight))), dozenWeight)
	if d.shown == dozen.Shafts {
		line += text.PadLeft(present.Reading(m.units(), p, "spine_in"), dozenSpine) + text.PadLeft(present.Reading(m.units(), p, "straightness_in"), dozenStraight)
	}
	return line + "  " + d.state(w, p, at)
}

// state says what becomes of a piece.
func (d *dozenScreen) state(w *present.Weighing, p *dozen.Piece, at int) string {
	words := ""
	switch {
	case p.LeftOut:
		return "left out"
	case d.pairing == nil:
	case slices.Contains(d.pairing.LeftOut[d.shown], at):
		words = "spare"
	default:
		for i, a := range d.pairing.Arrows {
			if a.Piece[d.shown] == at {
				words = fmt.Sprintf("arrow %d", i+1)
			}
		}
	}
	if w.Outlier(at) {
		words = "! " + words
	}
	return words
}

// comesTo says what the list and the pairing come to, with a histogram where there is room.
func (d *dozenScreen) comesTo(m *Model, weighing *present.Weighing, w, h int) []string {
	var above, below []string
	say := func(to *[]string, token theme.Token, words string) {
		if strings.HasPrefix(words, "!") {
			token = theme.Warn
		}
		*to = append(*to, wrapParagraph(m.theme, paragraph{token: token, text: words}, w-1)...)
	}
	for i, words := range weighing.Words() {
		token := theme.Plain
		if i == 0 {
			token = theme.Heading
		}
		say(&above, token, words)
	}
	if d.batch(m).Empty() {
		return nil
	}
	heading := true
	for _, words := range d.outcome(true) {
		token := theme.Plain
		if heading && !strings.HasPrefix(words, "!") {
			token, heading = theme.Heading, false
		}
		say(&below, token, words)
	}
	room := h - len(above) - len(below) - 2
	var chart []string
	if room >= 2 {
		for _, l := range weighing.Histogram(min(room, 8), w-1) {
			chart = append(chart, m.theme.Paint(theme.Label, text.Cut(l, w-1)))
		}
	}
	out := above
	if len(chart) > 0 {
		out = append(append(out, ""), chart...)
	}
	if len(out) > 0 {
		out = append(out, "")
	}
	out = append(out, below...)
	return out[:min(len(out), h)]
}

// outcome says what the pairing comes to, or why there is none.
func (d *dozenScreen) outcome(brief bool) []string {
	switch {
	case d.busy:
		return []string{"pairing …"}
	case d.pairing == nil:
		return []string{"no pairing: " + d.missing()}
	case brief:
		return d.Brief
	}
	return d.Words
}

func (d *dozenScreen) drawList(m *Model, w, h int) []string {
	b := d.batch(m)
	heads := "   made " + text.PadLeft("no.", dozenNo)
	for k := range dozen.Kinds {
		if d.pairing != nil && d.pairing.Has[k] {
			heads += text.PadLeft(k.One(), dozenPiece)
		}
	}
	gr := m.units().Shown(unit.Grains)
	heads += text.PadLeft("arrow "+gr.Symbol, dozenTotal+2) + text.PadLeft("FOC %", dozenFOC)
	left := text.Width(heads) + 1
	beside := w-left >= dozenBeside
	room, wide := h-listTop, w-2
	if beside {
		wide = w - left - 1
	}
	var words []string
	heading := true
	for _, line := range d.outcome(false) {
		token := theme.Plain
		switch {
		case strings.HasPrefix(line, "!"):
			token = theme.Warn
		case heading:
			token, heading = theme.Heading, false
		}
		words = append(words, wrapParagraph(m.theme, paragraph{token: token, text: line}, wide)...)
	}
	if !beside {
		words = words[:min(len(words), max(room-dozenLeast-1, 0))]
		if len(words) > 0 {
			room -= len(words) + 1
		}
	}
	n := d.lines(m)
	if d.pairing == nil {
		n = 0
	}
	from, to := d.seen(room, n)
	out := []string{d.tabs(m, w), text.Pad("   "+strings.TrimSpace(hidden(from, n-to)), w), m.theme.Paint(theme.Quiet, text.Pad(heads, left))}
	for i := range room {
		line := ""
		if at := from + i; at < to {
			line = text.Pad(d.arrowLine(m, at), left)
			if at == d.at {
				line = m.theme.Paint(theme.Focus, line)
			} else if len(b.Plan) > 0 && b.Plan[at].Made {
				line = m.theme.Paint(theme.Quiet, line)
			}
		}
		out = append(out, text.Pad(line, left))
	}
	if beside {
		for i, line := range words[:min(len(words), h-2)] {
			out[2+i] += " " + line
		}
		return out
	}
	if len(words) > 0 {
		out = append(out, "")
		for _, line := range words {
			out = append(out, " "+line)
		}
	}
	return out
}

// weighing describes the pieces of a kind, as they were described with the pairing where that
// is there.
func (d *dozenScreen) weighing(m *Model, k dozen.Kind) *present.Weighing {
	if int(k) < len(d.weighings) {
		return d.weighings[k]
	}
	return present.WeighingOf(m.units(), d.batch(m), k)
}

// arrowLine is one arrow of the build list.
func (d *dozenScreen) arrowLine(m *Model, at int) string {
	b, a, shots := d.batch(m), d.pairing.Arrows[at], d.Shots
	box := "[ ]"
	if len(b.Plan) > 0 && b.Plan[at].Made {
		box = "[x]"
	}
	line := mark(at == d.at) + box + "  " + text.PadLeft(fmt.Sprint(at+1), dozenNo)
	for k := range dozen.Kinds {
		if d.pairing.Has[k] {
			w := d.weighing(m, k)
			line += text.PadLeft(fmt.Sprintf("%d: %s", a.Piece[k]+1, w.Told(w.Unit.Of(float64((*b.Of(k))[a.Piece[k]].Weight)))), dozenPiece)
		}
	}
	total, foc := "–", "–"
	if !math.IsNaN(float64(shots[at].Weight)) {
		gr := m.units().Shown(unit.Grains)
		total = present.WeightIn(gr, gr.Of(float64(shots[at].Weight)))
	}
	if !math.IsNaN(shots[at].FOC) {
		foc = fmt.Sprintf("%.2f", 100*shots[at].FOC)
	}
	return line + text.PadLeft(total, dozenTotal+2) + text.PadLeft(foc, dozenFOC)
}
