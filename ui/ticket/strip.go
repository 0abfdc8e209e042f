// Package ticket makes what is printed and taken to the bench or the field. It
// knows no terminal.
package ticket

import (
	"fmt"
	"math"
	"strings"

	"foreshaft/engine/figure"
	"foreshaft/engine/label"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
)

// Strip is the sight marks of one build at many distances, to print.
type Strip struct {
	Build    string    // name of the build
	About    []string  // what the marks rest on, a sentence each
	Distance unit.Unit // in which distances are written
	Reading  unit.Unit // in which readings are written
	Marks    []Mark    // from the nearest distance to the farthest
	Notes    []string  // what to know before using it, a sentence each
	Where    string    // what must not be forgotten of where it holds, such as a slope
	// Travel is how far the pin moves for one of the scale's own inches, against an
	// inch; 0 is 1.
	Travel float64
}

// Mark is one place on the strip.
type Mark struct {
	Distance unit.Length
	Reading  unit.Length // on the sight's scale
}

// advice is printed on every strip.
var advice = []string{
	"Print at 100 % (no fitting to the page) and measure the bar: it must be 100 mm long.",
	"Shoot in the nearest and the farthest mark before you rely on those between.",
}

// none says that a strip is empty.
const none = "There are no marks."

const (
	pageWidth = 80 // cells of plain text
	// entryWidth holds a distance, a reading and a gap.
	entryWidth = 16
)

// Text writes the strip as plain text of at most 80 cells a line, its marks in
// columns that are read downwards.
func (s *Strip) Text() string {
	var out strings.Builder
	line := func(words string) { out.WriteString(text.Guard(strings.TrimRight(words, " ")) + "\n") }
	paragraphs := func(list []string) {
		for _, p := range list {
			for _, l := range text.Wrap(label.Clean(p), pageWidth) {
				line(l)
			}
		}
	}
	line(text.Cut(strings.TrimSpace("Sight marks of "+label.Clean(s.Build)+" "+s.Where), pageWidth))
	paragraphs(s.About)
	line("")
	if len(s.Marks) == 0 {
		line(none)
	}
	columns := pageWidth / entryWidth
	rows := (len(s.Marks) + columns - 1) / columns
	used := 0
	if rows > 0 {
		used = (len(s.Marks) + rows - 1) / rows
	}
	line(strings.Repeat(text.Pad(text.PadLeft(s.Distance.Symbol, 5)+text.PadLeft(s.readingHead(), 8), entryWidth), used))
	for r := range rows {
		words := ""
		for i := r; i < len(s.Marks); i += rows {
			m := s.Marks[i]
			words += text.Pad(text.PadLeft(s.distance(m), 5)+text.PadLeft(s.reading(m), 8), entryWidth)
		}
		line(words)
	}
	line("")
	paragraphs(s.remarks())
	return out.String()
}

func (s *Strip) readingHead() string {
	if s.Reading.Symbol == "" {
		return "mark"
	}
	return s.Reading.Symbol
}

// remarks are the notes, what is worth knowing of any strip, and what stands on
// every print.
func (s *Strip) remarks() []string {
	out := append([]string{}, s.Notes...)
	if len(s.branch()) < len(s.Marks) {
		out = append(out, "Close to the bow the marks turn back: the strip that is drawn starts beyond.")
	}
	if length := s.length(); length > mostPaper {
		out = append(out, fmt.Sprintf("The strip is %.0f mm long, more than a sheet of A4 holds: use larger paper, or fewer distances.", length))
	}
	return append(out, present.Standing...)
}

func (s *Strip) distance(m Mark) string {
	return present.Number(s.Distance.Of(float64(m.Distance)))
}

// reading writes a mark to the hundredth of an inch or the tenth of a millimetre:
// finer than a pin can be set.
func (s *Strip) reading(m Mark) string {
	decimals := 2
	switch s.Reading.Size {
	case float64(unit.Millimetre):
		decimals = 1
	case float64(unit.Inch):
		decimals = 3
	}
	return figure.Minus(fmt.Sprintf("%.*f", decimals, s.Reading.Of(float64(m.Reading))))
}

// branch returns the marks beyond the distance where they turn back: those that
// go one way to the farthest.
func (s *Strip) branch() []Mark {
	n := len(s.Marks)
	if n < 2 {
		return s.Marks
	}
	grows := s.Marks[n-1].Reading > s.Marks[n-2].Reading
	first := n - 1
	for first > 0 && s.Marks[first].Reading != s.Marks[first-1].Reading && s.Marks[first].Reading > s.Marks[first-1].Reading == grows {
		first--
	}
	return s.Marks[first:]
}

// length returns how long the drawn strip is, in mm.
func (s *Strip) length() float64 {
	b := s.branch()
	if len(b) == 0 {
		return 0
	}
	return math.Abs(s.travel(b[len(b)-1].Reading - b[0].Reading))
}

// travel returns how far the pin moves between two readings, in mm: away from the
// target for readings that grow with distance.
func (s *Strip) travel(l unit.Length) float64 {
	if s.Travel == 0 {
		return l.In(unit.Millimetre)
	}
	return l.In(unit.Millimetre) * s.Travel
}
