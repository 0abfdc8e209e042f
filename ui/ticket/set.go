package ticket

import (
	"fmt"
	"slices"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"foreshaft/engine/caution"
)

// run is words in one weight, in Windows-1252.
type run struct {
	words string
	bold  bool
}

// atom is what stays together on a page: a line, a drawing. Put draws it with its upper left
// corner at x and y, in mm.
type atom struct {
	height float64
	keep   bool // it is not parted from the next one
	// over is the head of the table that it goes on with: it stands again above it at the top
	// of a column.
	over *atom
	// blank room is left out at the top of a column.
	blank bool
	put   func(pdf *fpdf.Fpdf, x, y float64)
}

// placed is an atom on a page.
type placed struct {
	page int
	x, y float64
	atom *atom
}

// setter sets type of one size.
type setter struct {
	size   float64 // pt
	widths *[2][256]float64
	lost   bool // there were letters that the type does not have
}

// Proportions of type, against its size.
const (
	point      = 25.4 / 72 // mm
	leading    = 1.12
	baseline   = 0.85 // from the top of a line
	headlines  = 1.4
	subtitles  = 1.1
	boxPadding = 0.4
	tickSize   = 0.75
)

const (
	paperMargin  = 10.0 // mm
	columnGap    = 5.0
	cellGap      = 1.8
	shortestRoom = 30.0 // for columns at the foot of a page
)

func (s *setter) em() float64 { return s.size * point }

func (s *setter) line() float64 { return leading * s.em() }

func weightOf(bold bool) int {
	if bold {
		return 1
	}
	return 0
}

// wide returns how wide words are set, in mm.
func (s *setter) wide(words string, bold bool) float64 {
	sum, table := 0.0, &s.widths[weightOf(bold)]
	for i := range len(words) {
		sum += table[words[i]]
	}
	return sum * s.em()
}

// encode turns a text into the letters of the type.
func (s *setter) encode(words string) string {
	out, lost := windows(words)
	s.lost = s.lost || lost
	return out
}

// wrap breaks runs into lines of a width in mm, between words where it can.
func (s *setter) wrap(runs []run, width float64) [][]run {
	var lines [][]run
	var line []run
	used := 0.0
	add := func(words string, bold bool) {
		used += s.wide(words, bold)
		if n := len(line); n > 0 && line[n-1].bold == bold {
			line[n-1].words += words
			return
		}
		line = append(line, run{words, bold})
	}
	end := func() { lines, line, used = append(lines, line), nil, 0 }
	for _, r := range runs {
		for _, word := range strings.Fields(r.words) {
			wide, blank := s.wide(word, r.bold), 0.0
			if len(line) > 0 {
				blank = s.wide(" ", r.bold)
			}
			if used+blank+wide > width && len(line) > 0 {
				end()
				blank = 0
			}
			if blank > 0 {
				add(" ", r.bold)
			}
			for wide > width { // a word that no line holds is broken anywhere
				n, part := 1, s.wide(word[:1], r.bold)
				for n < len(word)-1 && part+s.wide(word[n:n+1], r.bold) <= width {
					part += s.wide(word[n:n+1], r.bold)
					n++
				}
				add(word[:n], r.bold)
				end()
				word = word[n:]
				wide = s.wide(word, r.bold)
				if len(word) == 1 {
					break
				}
			}
			add(word, r.bold)
		}
	}
	if len(line) > 0 || len(lines) == 0 {
		end()
	}
	return lines
}

// write draws a line of runs.
func (s *setter) write(pdf *fpdf.Fpdf, runs []run, size, x, y float64) {
	for _, r := range runs {
		style := ""
		if r.bold {
			style = "B"
		}
		pdf.SetFont("Helvetica", style, size)
		pdf.Text(x, y+baseline*size*point, r.words)
		x += s.wide(r.words, r.bold) * size / s.size
	}
}

// togetherLines is how many lines are kept from being parted by the end of a column.
const togetherLines = 12

// togetherRows is how many rows of a table are kept together, its head among them.
const togetherRows = 26

// ruleGrey is how light the lines between rows are.
const ruleGrey = 150

// lines makes atoms of lines.
func (s *setter) lines(lines [][]run, indent float64) []atom {
	var out []atom
	for i, l := range lines {
		out = append(out, atom{height: s.line(), keep: i < len(lines)-1 && len(lines) <= togetherLines, put: func(pdf *fpdf.Fpdf, x, y float64) { s.write(pdf, l, s.size, x+indent, y) }})
	}
	return out
}

func (s *setter) paragraph(words string, bold bool, width float64) []atom {
	return s.lines(s.wrap([]run{{s.encode(words), bold}}, width), 0)
}

// space is room without anything on it.
func space(height float64) atom {
	return atom{height: height, blank: true, put: func(*fpdf.Fpdf, float64, float64) {}}
}

// title is a line in larger bold type; what follows it stays with it.
func (s *setter) title(words string, larger, width float64) []atom {
	out := []atom{}
	lines := s.wrap([]run{{s.encode(words), true}}, width/larger)
	for _, l := range lines {
		out = append(out, atom{height: larger * s.line(), keep: len(lines) <= togetherLines, put: func(pdf *fpdf.Fpdf, x, y float64) { s.write(pdf, l, larger*s.size, x, y) }})
	}
	return out
}

// section makes atoms of a section in a width.
func (s *setter) section(sec *section, width float64) []atom {
	var out []atom
	switch {
	case sec.title != "":
		out = append(append(out, space(0.4*s.em())), s.title(sec.title, subtitles, width)...)
	case sec.level == "":
		out = append(out, space(s.em()))
	}
	if sec.level != "" {
		out = append(out, s.box(sec, width)...)
	} else {
		for _, words := range sec.words {
			lines := s.paragraph(words, false, width)
			for i := range lines { // words about a table stay with it
				lines[i].keep = lines[i].keep || sec.table != nil && len(sec.table.rows) < togetherRows && len(lines) <= togetherLines
			}
			out = append(out, lines...)
		}
	}
	if d := sec.drawing; d != nil {
		words := s.paragraph(d.title, false, width)
		for i := range words {
			words[i].keep = true
		}
		out = append(append(out, words...), s.picture(d))
	}
	if sec.table != nil {
		for _, t := range sec.table.blocks(across + 1) {
			out = append(out, s.table(&t, width, sec.table.keep > 0)...)
			out = append(out, space(0.4*s.em()))
		}
	}
	for i := range sec.steps {
		out = append(out, s.step(i+1, &sec.steps[i], width)...)
	}
	for _, words := range sec.after {
		out = append(out, s.paragraph(words, false, width)...)
	}
	return out
}

// box makes atoms of cautions with a frame around them, which a page may part.
func (s *setter) box(sec *section, width float64) []atom {
	thick := 0.2
	if sec.level == caution.Danger {
		thick = 0.8
	}
	pad := boxPadding * s.em()
	side := func(pdf *fpdf.Fpdf, x, y, height float64) {
		pdf.SetLineWidth(thick)
		pdf.Line(x, y, x, y+height)
		pdf.Line(x+width, y, x+width, y+height)
	}
	edge := func(bottom bool) atom {
		return atom{height: pad, keep: !bottom, put: func(pdf *fpdf.Fpdf, x, y float64) {
			side(pdf, x, y, pad)
			at := y
			if bottom {
				at += pad
			}
			pdf.Line(x-thick/2, at, x+width+thick/2, at)
		}}
	}
	out := []atom{space(0.3 * s.em()), edge(false)}
	for _, words := range sec.words {
		level, rest, _ := strings.Cut(s.encode(words), " ")
		lines := s.wrap([]run{{level, true}, {rest, sec.level == caution.Danger}}, width-2*pad)
		for i, l := range lines {
			out = append(out, atom{height: s.line(), keep: i < len(lines)-1 && len(lines) <= togetherLines, put: func(pdf *fpdf.Fpdf, x, y float64) {
				side(pdf, x, y, s.line())
				s.write(pdf, l, s.size, x+pad, y)
			}})
		}
	}
	out[len(out)-1].keep = true
	return append(out, edge(true), space(0.3*s.em()))
}

// tick draws a box to tick off.
func (s *setter) tick(pdf *fpdf.Fpdf, x, y float64, ticked bool) {
	side := tickSize * s.em()
	y += (s.line() - side) / 2
	pdf.SetLineWidth(0.2)
	pdf.Rect(x, y, side, side, "D")
	if ticked {
		pdf.Line(x, y, x+side, y+side)
		pdf.Line(x, y+side, x+side, y)
	}
}

func (s *setter) step(number int, step *step, width float64) []atom {
	indent := 1.2 * s.em()
	count := s.encode(fmt.Sprintf("%d. ", number))
	lines := s.wrap([]run{{count + s.encode(step.what), true}, {s.encode(step.how), false}}, width-indent)
	out := s.lines(lines, indent)
	first := out[0].put
	out[0].put = func(pdf *fpdf.Fpdf, x, y float64) {
		s.tick(pdf, x, y, false)
		first(pdf, x, y)
	}
	return append(out, space(0.15*s.em()))
}

// table makes atoms of a table, a line of cells each. Even columns are for what is compared.
func (s *setter) table(t *table, width float64, even bool) []atom {
	rows := append([][]string{t.head}, t.rows...)
	cells := make([][]string, len(rows))
	needs := make([]float64, len(t.head))
	for r, row := range rows {
		cells[r] = make([]string, len(row))
		for c, words := range row {
			cells[r][c] = s.encode(words)
			needs[c] = max(needs[c], s.wide(cells[r][c], r == 0)+0.01)
		}
	}
	room := width - cellGap*float64(len(needs))
	tickAt := 0.0
	if t.ticks != nil {
		room -= 2 * s.em()
	}
	const label, widest = 0.12, 0.2 // of a table whose columns are even
	if even {
		needs[0] = min(needs[0], label*width)
		for c := 1; c < len(needs); c++ {
			needs[c] = min((room-needs[0])/float64(len(needs)-1), widest*width)
		}
	}
	widths := shares(needs, room)
	for _, w := range widths {
		tickAt += w + cellGap
	}
	full := tickAt
	if t.ticks != nil {
		full += 2 * s.em()
	}
	var out []atom
	var header *atom
	for r := range rows {
		set, most := make([][][]run, len(widths)), 0
		for c := range widths {
			set[c] = s.wrap([]run{{cells[r][c], r == 0}}, widths[c])
			most = max(most, len(set[c]))
		}
		for l := range most {
			last := l == most-1
			together := r == 0 || len(rows) <= togetherRows && r < len(rows)-1 || !last
			out = append(out, atom{height: s.line(), keep: together && most <= togetherLines, over: header, put: func(pdf *fpdf.Fpdf, x, y float64) {
				at := x
				for c := range widths {
					if l < len(set[c]) {
						s.write(pdf, set[c][l], s.size, at, y)
					}
					at += widths[c] + cellGap
				}
				if t.ticks != nil && r > 0 && l == 0 {
					s.tick(pdf, x+tickAt, y, t.ticks[r-1])
				}
				if last {
					pdf.SetLineWidth(0.1)
					pdf.SetDrawColor(ruleGrey, ruleGrey, ruleGrey)
					pdf.Line(x, y+s.line(), x+full, y+s.line())
					pdf.SetDrawColor(0, 0, 0)
				}
			}})
		}
		if r == 0 {
			header = tableHead(out)
		}
	}
	return out
}

// tableHead joins the lines of a table's head into one atom.
func tableHead(lines []atom) *atom {
	lines = slices.Clone(lines)
	return &atom{height: height(lines), put: func(pdf *fpdf.Fpdf, x, y float64) {
		for i := range lines {
			lines[i].put(pdf, x, y)
			y += lines[i].height
		}
	}}
}
