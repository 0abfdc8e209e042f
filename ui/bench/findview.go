package bench

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/frame"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

func (f *findScreen) draw(m *Model, w, h int) []string {
	f.settle(m)
	half := (asked(m) + 1) / 2
	share := frame.LayFind(h, half, f.tradeOff && f.narrow == nil)
	f.chartHeight = share.Chart
	out := []string{f.titleLine(m, w)}
	out = append(out, f.askLines(m, w, half)...)
	out = append(out, m.theme.Paint(theme.Rule, strings.Repeat("─", w)))
	if share.Chart > 0 {
		out = append(out, f.chartLines(m, w, share.Chart)...)
	}
	out = append(out, f.headLine(m, w))
	list := f.listLines(m, w, share.List)
	out = append(out, list...)
	for range share.List - len(list) {
		out = append(out, "")
	}
	return append(out, f.below(m, w, share.Below)...)
}

// barWidth is how wide the bar of progress is.
const barWidth = 20

// titleLine says how many match, and how far the search has come.
func (f *findScreen) titleLine(m *Model, w int) string {
	words := " "
	switch {
	case f.failed != nil:
		words += "stopped: " + f.failed.Error()
	case f.found == nil && f.ended:
		words += "nothing to look through"
	case f.found == nil || f.stale:
		words += "looking …"
	default:
		matched, candidates := f.found.Matched, f.found.Candidates
		words += fmt.Sprintf("%s of %s arrows match", count(matched), count(candidates))
		switch {
		case f.tradeOff && f.edge != nil:
			words += fmt.Sprintf(", %d that nothing beats", len(f.edge.Builds))
		case uint64(len(f.found.Builds)) < matched:
			words += fmt.Sprintf(", the first %d listed", len(f.found.Builds))
		}
	}
	if !f.ended {
		done := 0
		if f.far.Candidates > 0 {
			done = int(barWidth * f.far.Done / f.far.Candidates)
		}
		bar := strings.Repeat("█", done) + strings.Repeat("░", barWidth-done)
		words = text.Pad(text.Cut(words, w-barWidth-2), w-barWidth-1) + bar
	}
	return m.theme.Paint(theme.Heading, text.Pad(text.Cut(words, w), w))
}

// count writes a number with its thousands apart.
func count(n uint64) string {
	digits := fmt.Sprint(n)
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + " " + digits[i:]
	}
	return digits
}

// askTitle is how wide the names of what is asked are, askMost how wide one of the two
// columns is at most.
const (
	askTitle = 16
	askMost  = 60
)

func (f *findScreen) askLines(m *Model, w, half int) []string {
	var out []string
	f.tops = f.tops[:0]
	each := min(w/2, askMost)
	for i := range half {
		line := f.askCell(m, i, each)
		f.tops = append(f.tops, [2]int{i, -1})
		if i+half < asked(m) {
			line += f.askCell(m, i+half, each)
			f.tops[i][1] = i + half
		}
		out = append(out, line)
	}
	return out
}

// askCell draws one thing that is asked.
func (f *findScreen) askCell(m *Model, i, w int) string {
	list := asks(m)
	title, words, usual := "", anySort, true
	if i < len(list) {
		title = list[i].title
		if w, asked := questionOf(m).Where[list[i].key.String()]; asked {
			words, usual = m.windowWords(list[i].key, w), false
		}
	}
	switch i - len(list) {
	case askHead:
		title, words, usual = "head", f.head, f.head == anySort
	case askNock:
		title, words, usual = "nock", f.nock, f.nock == anySort
	case askLengths:
		title, words, usual = "lengths", f.lengthWords(m)+" "+m.units().Shown(unit.Inches).Symbol, len(m.Job().Drawer.Value.Lengths) == 0
	case askStock:
		title, words = "stock", "whole drawer"
		if questionOf(m).InStock {
			words, usual = "in stock, by its count", false
		}
	}
	value := theme.Plain
	if usual {
		value = theme.Quiet
	}
	if i == f.at {
		return m.theme.Paint(theme.Heading, text.Pad("▸"+title, askTitle)) + m.theme.Paint(theme.Focus, text.Pad(text.Cut("["+words+"]", w-askTitle-1), w-askTitle-1)) + " "
	}
	return m.theme.Paint(theme.Label, text.Pad(" "+title, askTitle)) + m.theme.Paint(value, text.Pad(text.Cut(" "+words, w-askTitle-1), w-askTitle))
}

// columns lists the figures that every line shows.
func (f *findScreen) columns(m *Model) []figure.Key {
	out := []figure.Key{figure.TotalWeight, figure.FOC, figure.LaunchSpeed, figure.LaunchMargin}
	add := func(k figure.Key) {
		if !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	if f.tradeOff {
		add(tradeFigures[f.axes[0]].key)
		add(tradeFigures[f.axes[1]].key)
	}
	add(ranked(m))
	return out
}

// columnWidth holds "margin" and the numbers, and a gap.
const columnWidth = 8

// columnTitles are shorter than the figures' own titles.
var columnTitles = map[figure.Key]string{
	figure.TotalWeight: "weight", figure.LaunchMargin: "margin", figure.FrontWeight: "front", figure.SteerMargin: "steer", figure.DozenCost: "dozen", figure.LaunchMomentum: "moment",
}

func (f *findScreen) headLine(m *Model, w int) string {
	if f.lines() == 0 || f.narrow != nil {
		return ""
	}
	keys := f.columns(m)
	names := w - len(keys)*columnWidth - markWidth
	title := "   arrow"
	if names < fullNames {
		title = "   shaft, length, head+insert+collar, …"
	}
	line := text.Pad(title, names)
	first, falls := ranked(m), questionOf(m).Descending
	if f.tradeOff {
		first, falls = f.figures()[0], f.more[0]
	}
	for _, k := range keys {
		title, short := columnTitles[k]
		if !short {
			title = k.Definition().Title
		}
		if k == first {
			order := "↑" // from the least up
			if falls {
				order = "↓"
			}
			title = order + title
		}
		line += text.PadLeft(title, columnWidth)
	}
	return m.theme.Paint(theme.Quiet, text.Pad(line, w))
}

// markWidth holds the sign of a caution behind a space.
const markWidth = 3

func (f *findScreen) listLines(m *Model, w, h int) []string {
	f.drawn = f.drawn[:0]
	f.window = h
	if words := f.nothing(m); words != "" {
		var out []string
		for _, l := range wrapped(words, min(w-4, 110), max(h-len(f.narrowed()), 1)) {
			out = append(out, m.theme.Paint(theme.Plain, "   "+l))
			f.drawn = append(f.drawn, noRow)
		}
		for i, wider := range f.narrowed() {
			if len(out) == h {
				break
			}
			out = append(out, f.widerLine(m, wider, asked(m)+i == f.at, w))
			f.drawn = append(f.drawn, asked(m)+i)
		}
		return out
	}
	var out []string
	f.offset = frame.Scroll(f.offset, max(f.at-asked(m), 0), h, f.lines())
	setting := sheet.NewSetting(f.looked)
	for i := f.offset; i < min(f.offset+h, f.lines()); i++ {
		out = append(out, f.matchLine(m, &setting, &f.listed()[i], asked(m)+i == f.at, w))
		f.drawn = append(f.drawn, asked(m)+i)
	}
	return out
}

func (f *findScreen) narrowed() []search.Wider {
	if f.narrow == nil {
		return nil
	}
	return f.narrow.One
}

// nothing says why there are no matches to list; empty where there are some.
func (f *findScreen) nothing(m *Model) string {
	switch {
	case f.looked != nil && f.why(m) != "":
		return f.why(m)
	case f.found == nil || f.found.Matched > 0:
		return ""
	case !f.ended && len(questionOf(m).Where) > 0:
		return "Nothing matches. Looking for what to widen …"
	case !f.ended:
		return ""
	case f.narrow == nil || len(f.narrow.One)+len(f.narrow.Never)+len(f.narrow.Lacks) == 0 && len(questionOf(m).Where) == 1:
		return "Nothing matches: no pieces of the drawer go together into an arrow that is no danger. Ask for another sort of head or nock, other lengths, or the whole drawer."
	case len(f.narrow.One) > 0:
		return "Nothing matches. Widening one of what is asked lets something in, by the least there is:"
	}
	return present.Nothing(m.units(), questionOf(m).Where, f.narrow, func(k figure.Key) string { return f.title(m, k) })
}

func (f *findScreen) title(m *Model, k figure.Key) string {
	for _, a := range asks(m) {
		if a.key == k {
			return a.title
		}
	}
	return k.Definition().Title
}

func (f *findScreen) widerLine(m *Model, w search.Wider, focused bool, width int) string {
	words := mark(focused) + text.Pad(present.Wider(m.units(), f.title(m, w.Key), w), 34) + " lets in  " + pieceWords(m.units(), &w.Build)
	line := text.Pad(text.Cut(words, width), width)
	if focused {
		return m.theme.Paint(theme.Focus, line)
	}
	return line
}

func (f *findScreen) matchLine(m *Model, setting *sheet.Setting, b *arrow.Build, focused bool, w int) string {
	keys := f.columns(m)
	values, cautions := setting.Cautions(f.looked, b, keys...)
	names := w - len(keys)*columnWidth - markWidth
	words := pieceWords(m.units(), b)
	if names < fullNames {
		words = m.briefWords(b)
	}
	line := text.Pad(text.Cut(mark(focused)+words, names-1), names)
	for _, k := range keys {
		shown := "–"
		if v, ok := values.Get(k); ok {
			shown = fmt.Sprintf("%.*f", decimals(k), m.units().Shown(k.Definition().Unit).Of(v))
		}
		line += text.PadLeft(figure.Minus(shown), columnWidth)
	}
	sign, token := sign(cautions)
	if focused {
		return m.theme.Paint(theme.Focus, text.Pad(line+" "+sign, w))
	}
	return text.Pad(line, w-markWidth) + m.theme.Paint(token, text.Pad(" "+sign, markWidth))
}

// sign returns the mark of the gravest caution; that a broadhead is one needs no mark
// on every line.
func sign(cautions []caution.Caution) (string, theme.Token) {
	for _, c := range cautions {
		if c.Level != caution.Note && c.Code != caution.Broadhead {
			return present.Mark(c.Level), cautionToken(c.Level)
		}
	}
	return "", theme.Plain
}

// decimals is how many a figure shows in a list, where its uncertainty is not.
func decimals(k figure.Key) int {
	switch k {
	case figure.LaunchSpeed:
		return 0
	case figure.LaunchMargin, figure.DozenCost:
		return 2
	case figure.LaunchMomentum:
		return 3
	}
	return 1
}

// pieceWords names what an arrow is made of in one line, what differs most first.
func pieceWords(units unit.System, b *arrow.Build) string {
	length, _, _ := strings.Cut(present.Length(units, b), " tube")
	words := []string{present.Piece(units, b, "shaft"), length, present.Piece(units, b, "head")}
	for _, slot := range []present.Slot{"insert", "collar", "vanes", "nock"} {
		if piece := present.Piece(units, b, slot); piece != present.None {
			words = append(words, piece)
		}
	}
	return strings.Join(words, " · ")
}

// fullNames is the width from which the pieces of a match have room for their names.
const fullNames = 60

// briefWords names an arrow by its shaft, its length and what the other pieces weigh,
// for a narrow list.
func (m *Model) briefWords(b *arrow.Build) string {
	length, _, _ := strings.Cut(present.Length(m.units(), b), " ")
	weigh := func(w unit.Mass) string { return present.Number(round1(m.units().Shown(unit.Grains).Of(float64(w)))) }
	weights := weigh(b.Head.Weight)
	if b.Insert.Given {
		weights += "+" + weigh(b.Insert.Value.Weight)
	}
	if b.Collar.Given {
		weights += "+" + weigh(b.Collar.Value.Weight)
	}
	words := []string{present.Piece(m.units(), b, "shaft"), length, weights}
	if v := &b.Vanes.Value; b.Vanes.Given {
		words = append(words, fmt.Sprintf("%d×%s", v.Count, weigh(v.Weight)))
	}
	return strings.Join(append(words, weigh(b.Nock.Weight)), " · ")
}

func round1(x float64) float64 { return math.Round(10*x) / 10 }

// below tells of the match in focus: all its pieces, and what it would make of the
// build in focus.
func (f *findScreen) below(m *Model, w, h int) []string {
	var out []string
	b := f.match(m)
	if b != nil {
		for _, l := range wrapped(pieceWords(m.units(), b), w-2, 2) {
			out = append(out, m.theme.Paint(theme.Plain, " "+l))
		}
		if from := m.build(); from != nil {
			named := b.Clone()
			named.Name = from.Name
			words := present.Effect(m.session.Sheet(), from, &named, m.chosen())
			if words == "" {
				words = "the same figures"
			}
			for _, l := range wrapped("Against "+present.Letter(m.col)+":  "+words, w-2, max(h-len(out), 1)) {
				out = append(out, m.theme.Paint(theme.Changed, " "+l))
			}
		}
	}
	for len(out) < h {
		out = append(out, "")
	}
	return out[:h]
}

// chartLines draws the matches by both figures of the trade-off.
func (f *findScreen) chartLines(m *Model, w, h int) []string {
	figures := f.figures()
	s := scatter{x: m.axisOf(figures[0]), y: m.axisOf(figures[1])}
	if f.edge != nil {
		s.dots = f.dots
	}
	if i := f.at - asked(m); f.edge != nil && i >= 0 && i < len(f.edge.Builds) {
		s.focused = i + 1 // which come first
	}
	title := fmt.Sprintf(" %s across, %s up.  ● nothing beats it, · others listed, X in focus", s.x.title, s.y.title)
	return s.draw(m.theme, title, w, h)
}

func (m *Model) axisOf(k figure.Key) axis {
	return axis{title: k.Definition().Title, unit: m.units().Shown(k.Definition().Unit)}
}
