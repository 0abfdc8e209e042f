package ticket

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"foreshaft/engine/caution"
	"foreshaft/engine/label"
)

// Ticket is a sheet of paper: what one build is built from, or several builds side by side.
// OfBuild and OfBench make one. It holds plain texts and numbers in the user's units, and
// each of its formats says all of it.
type Ticket struct {
	title    string
	wide     bool // printed across the long side of the paper
	date     time.Time
	head     []fact
	sections []section
}

// Origin says where a build comes from, as it stands in the head of a ticket. All of it is
// optional; what is not given is a blank to fill in with a pen.
type Origin struct {
	Date     time.Time
	Source   string // such as "revision 3 of 3, saved 2026-11-02 14:05"
	Customer string
}

// TicketFormats lists the formats that a ticket can be written in.
var TicketFormats = []string{"text", "md", "html", "pdf"}

// As writes the ticket in one of TicketFormats; "txt" is "text". The same ticket gives the
// same bytes. The error lists the formats.
func (t *Ticket) As(format string) ([]byte, error) {
	switch strings.ToLower(format) {
	case "text", "txt":
		return []byte(t.text()), nil
	case "md":
		return []byte(t.markdown()), nil
	case "html":
		return t.html()
	case "pdf":
		return t.pdf()
	}
	return nil, fmt.Errorf("%q is no format of a ticket: want %s", format, strings.Join(TicketFormats, ", "))
}

// Blanks to fill in with a pen.
const (
	shortBlank = "_______"
	blank      = "__________"
	longBlank  = "______________________"
)

// orBlank returns the words, or a blank in their place.
func orBlank(words string) string {
	if label.Clean(words) == "" {
		return longBlank
	}
	return words
}

// fact is a line of the head.
type fact struct{ name, words string }

// section is one part of a ticket. What it has stands in the order of the fields.
type section struct {
	title   string
	level   caution.Level // of a box around it: danger or warn; empty elsewhere
	flows   bool          // stands in one of two columns where the paper has them
	words   []string      // sentences, a paragraph each
	drawing *drawing
	table   *table
	steps   []step
	after   []string // sentences below the rest
}

// table is rows of cells below a head.
type table struct {
	head []string
	rows [][]string
	// ticks has a box to tick behind each row, true where it is ticked already; nil without
	// boxes.
	ticks []bool
	// keep is how many columns are repeated where a table is shared out among several that
	// stand below each other; 0 is never.
	keep int
}

// step is a piece of work with a box to tick.
type step struct{ what, how string }

// across is how many builds stand side by side on paper.
const across = 8

// blocks shares a table out among several of so many columns at most, each with the columns
// that are kept in front.
func (t *table) blocks(most int) []table {
	if t.keep == 0 || len(t.head) <= most {
		return []table{*t}
	}
	var out []table
	for from := t.keep; from < len(t.head); from += most - t.keep {
		to := min(from+most-t.keep, len(t.head))
		pick := func(row []string) []string { return slices.Concat(row[:t.keep], row[from:to]) }
		block := table{head: pick(t.head)}
		for _, row := range t.rows {
			block.rows = append(block.rows, pick(row))
		}
		out = append(out, block)
	}
	return out
}

// fewer returns the table without columns in which no row says anything.
func (t table) fewer() *table {
	out := table{ticks: t.ticks, keep: t.keep, rows: make([][]string, len(t.rows))}
	for c := range t.head {
		if !slices.ContainsFunc(t.rows, func(row []string) bool { return row[c] != "" }) {
			continue
		}
		out.head = append(out.head, t.head[c])
		for r := range t.rows {
			out.rows[r] = append(out.rows[r], t.rows[r][c])
		}
	}
	return &out
}

// shares shares a width out among columns: those that need no more than an even share have
// what they need, and the others share the rest in proportion to their needs, so that their
// cells go on for about as many lines.
func shares(needs []float64, width float64) []float64 {
	out := slices.Clone(needs)
	for c := range out {
		out[c] = min(out[c], width) // one endless cell leaves something for the others
	}
	settled := make([]bool, len(out))
	left, wanted, open := width, 0.0, len(out)
	for _, n := range out {
		wanted += n
	}
	if wanted <= width {
		return out
	}
	for again := true; again; {
		again = false
		fair := left / float64(max(open, 1))
		for c, n := range out {
			if !settled[c] && n <= fair {
				settled[c], again = true, true
				left, wanted, open = left-n, wanted-n, open-1
			}
		}
	}
	// None of these gives way to less than half an even share.
	least := left / float64(max(open, 1)) / 2
	left, wanted = left-least*float64(open), wanted-least*float64(open)
	for c := range out {
		if !settled[c] {
			out[c] = least + (out[c]-least)*left/wanted
		}
	}
	return out
}

// clean makes every text of the ticket harmless wherever it is printed.
func (t *Ticket) clean() *Ticket {
	t.each(func(s *string) { *s = tidy(*s) })
	return t
}

// tidy cleans a text that may hold names from outside: no control and format characters, no
// character that is none, single blanks.
func tidy(words string) string {
	words = strings.Map(func(r rune) rune {
		if r&0xfffe == 0xfffe || r >= 0xfdd0 && r <= 0xfdef {
			return unicode.ReplacementChar // XML forbids some of these
		}
		return r
	}, label.Clean(words))
	return strings.Join(strings.Fields(words), " ")
}

// each calls do with every text of the ticket.
func (t *Ticket) each(do func(*string)) {
	all := func(list []string) {
		for i := range list {
			do(&list[i])
		}
	}
	do(&t.title)
	for i := range t.head {
		do(&t.head[i].name)
		do(&t.head[i].words)
	}
	for i := range t.sections {
		s := &t.sections[i]
		do(&s.title)
		all(s.words)
		if s.drawing != nil {
			do(&s.drawing.title)
			for k := range s.drawing.dimensions {
				do(&s.drawing.dimensions[k].words)
			}
		}
		if s.table != nil {
			all(s.table.head)
			for _, row := range s.table.rows {
				all(row)
			}
		}
		for k := range s.steps {
			do(&s.steps[k].what)
			do(&s.steps[k].how)
		}
		all(s.after)
	}
}
