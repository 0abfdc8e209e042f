package ticket

import (
	"fmt"
	"strings"

	"foreshaft/engine/caution"
	"foreshaft/ui/text"
)

// textAcross is how many columns of a comparison plain text has beside the labels: the
// baseline and two more.
const textAcross = 3

// gap separates columns of plain text; no cell has two blanks in a row.
const gap = 2

// plainText gathers lines of at most pageWidth cells.
type plainText struct{ strings.Builder }

func (o *plainText) line(words string) {
	o.WriteString(text.Guard(strings.TrimRight(words, " ")) + "\n")
}

// paragraph breaks words into lines, the first behind one indent and the others behind as
// many blanks.
func (o *plainText) paragraph(indent, words string) {
	for i, l := range text.Wrap(words, pageWidth-text.Width(indent)) {
		if i > 0 {
			indent = strings.Repeat(" ", text.Width(indent))
		}
		o.line(indent + l)
	}
}

// text writes the ticket as plain text.
func (t *Ticket) text() string {
	o := new(plainText)
	o.paragraph("", t.title)
	o.line(strings.Repeat("=", min(max(text.Width(t.title), 1), pageWidth)))
	for _, f := range t.head {
		o.paragraph(text.Pad(f.name, 10), f.words)
	}
	for i := range t.sections {
		o.section(&t.sections[i])
	}
	return o.String()
}

func (o *plainText) section(s *section) {
	o.line("")
	rule, mark := "", ""
	switch s.level {
	case caution.Danger:
		rule, mark = strings.Repeat("!", pageWidth), "!! "
	case caution.Warn:
		rule, mark = strings.Repeat("-", pageWidth), " ! "
	}
	if s.title != "" {
		o.paragraph("", s.title)
		o.line(strings.Repeat("-", min(text.Width(s.title), pageWidth)))
	}
	if rule != "" {
		o.line(rule)
	}
	for _, words := range s.words {
		o.paragraph(mark, words)
	}
	if rule != "" {
		o.line(rule)
	}
	if d := s.drawing; d != nil {
		o.paragraph("", d.title)
		o.line("")
		o.line(d.strip)
		o.line("")
		o.paragraph("", stripSigns)
		for _, m := range d.dimensions {
			o.paragraph("  ", m.words)
		}
	}
	if s.table != nil {
		for i, t := range s.table.blocks(textAcross + 1) {
			if i > 0 {
				o.line("")
			}
			o.table(&t)
		}
	}
	for i, step := range s.steps {
		o.paragraph(fmt.Sprintf("[ ] %2d. ", i+1), step.what+" "+step.how)
	}
	for _, words := range s.after {
		o.paragraph("", words)
	}
}

// stripSigns explains the signs of a strip; the other drawing needs no such words.
const stripSigns = "> nock  ≡ vanes  ═ shaft  ■ insert or collar  ▷ head  ► head with blades  ▲ balance point"

// box is what stands before something to tick off.
func box(ticked bool) string {
	if ticked {
		return "[x]"
	}
	return "[ ]"
}

// tooWide is how many times wider than the page a table may be before its rows are written
// as paragraphs.
const tooWide = 2

// records writes each row as its first cell, and the others below with what they are.
func (o *plainText) records(t *table) {
	o.paragraph("", strings.Join(t.head, ", ")+":")
	for r, row := range t.rows {
		lead := ""
		if t.ticks != nil {
			lead = box(t.ticks[r]) + " "
		}
		o.paragraph(lead, row[0])
		var words []string
		for c := 1; c < len(row); c++ {
			if row[c] != "" {
				words = append(words, t.head[c]+" "+row[c])
			}
		}
		o.paragraph("    ", strings.Join(words, "; "))
	}
}

// table writes aligned columns; what is wider than its column goes on below.
func (o *plainText) table(t *table) {
	rows := append([][]string{t.head}, t.rows...)
	room := pageWidth - gap*(len(t.head)-1)
	if t.ticks != nil {
		room -= gap + len(box(false))
	}
	needs := make([]float64, len(t.head))
	for _, row := range rows {
		for c, words := range row {
			needs[c] = max(needs[c], float64(text.Width(words)))
		}
	}
	sum := 0.0
	for _, n := range needs {
		sum += n
	}
	if t.keep == 0 && sum > tooWide*float64(room) {
		o.records(t)
		return
	}
	widths := make([]int, len(needs))
	for c, w := range shares(needs, float64(room)) {
		widths[c] = max(int(w), 2) // which the widest character takes
	}
	for r, row := range rows {
		cells, most := make([][]string, len(row)), 0
		for c, words := range row {
			cells[c] = text.Wrap(words, widths[c])
			most = max(most, len(cells[c]))
		}
		for l := range most {
			line := ""
			for c := range cells {
				words := ""
				if l < len(cells[c]) {
					words = cells[c][l]
				}
				line += text.Pad(words, widths[c]) + strings.Repeat(" ", gap)
			}
			if t.ticks != nil && r > 0 && l == 0 {
				line += box(t.ticks[r-1])
			}
			o.line(line)
		}
	}
}
