package ticket

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/dozen"
	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// unnamed stands where a build has no name.
const unnamed = "a build without a name"

// OfBuild returns the ticket that one build of a sheet is built from. It panics when there is
// no such build.
func OfBuild(s *sheet.Sheet, build int, o Origin) *Ticket {
	p := &paper{sheet: s, units: s.Units, at: build, build: &s.Job.Builds[build], assembly: s.Job.Builds[build].Assembly.Value}
	if d := p.build.Dozen; d.Given && !d.Value.Empty() {
		p.pairing, p.unpaired = p.build.Dozen.Value.Pair()
	}
	if q := &p.assembly.Quantity; !q.Given && p.pairing != nil { // as many as were weighed for it
		*q = unit.Some(len(p.pairing.Arrows))
	}
	t := &Ticket{title: orElse(p.build.Name, unnamed), date: o.Date, head: head(s, o)}
	t.head = append(t.head, fact{"quantity", p.quantity()})
	t.sections = append(t.sections, p.boxes()...)
	t.sections = append(t.sections, p.parts(), p.drawn(), p.work())
	t.sections = append(t.sections, p.list()...)
	t.sections = append(t.sections, p.figures(), p.downrange(), p.notes(),
		section{title: "For every arrow", flows: true, words: slices.Clone(present.Standing)},
		section{words: []string{"Built by " + longBlank + " date " + longBlank + " checked by " + longBlank + " date " + longBlank}})
	t.sections = slices.DeleteFunc(t.sections, func(s section) bool {
		return len(s.words) == 0 && s.drawing == nil && s.table == nil && len(s.steps) == 0 && len(s.after) == 0
	})
	return t.clean()
}

// head is what the head of a ticket says of bow and origin.
func head(s *sheet.Sheet, o Origin) []fact {
	date := blank
	if !o.Date.IsZero() {
		date = o.Date.Format("2006-01-02")
	}
	return []fact{{"for", orBlank(o.Customer)}, {"date", date}, {"from", orBlank(o.Source)}, {"bow", present.BowLine(s)}}
}

func orElse(words, otherwise string) string {
	if tidy(words) == "" {
		return otherwise
	}
	return words
}

// paper is one build on its way to a ticket.
type paper struct {
	sheet    *sheet.Sheet
	units    unit.System
	at       int
	build    *arrow.Build
	assembly arrow.Assembly
	pairing  *dozen.Pairing // nil where nothing was weighed for a dozen, or it does not pair
	unpaired error
}

func (p *paper) quantity() string {
	if q := p.assembly.Quantity; q.Given {
		return fmt.Sprint(q.Value)
	}
	return blank
}

// length writes a length on the arrow.
func (p *paper) length(l unit.Length) string { return length(p.units, l) }

func length(units unit.System, l unit.Length) string {
	in := units.Shown(unit.Inches)
	places := 2
	if in == unit.Millimetres {
		places = 1
	}
	return present.Places(in.Of(float64(l)), places) + " " + in.Symbol
}

// cut writes a length that something is cut or set to: in inches with the sixteenths of a
// ruler too.
func (p *paper) cut(l unit.Length) string {
	words := p.length(l)
	if p.units.Shown(unit.Inches) != unit.Inches || l <= 0 {
		return words
	}
	sixteenths := math.Round(l.In(unit.Inch) * 16)
	sign := "="
	const exact = 1e-6
	if math.Abs(l.In(unit.Inch)*16-sixteenths) > exact {
		sign = "≈"
	}
	return words + " " + sign + " " + fraction(int(sixteenths))
}

// fraction writes sixteenths of an inch as a ruler has them: 28 11/16 in.
func fraction(sixteenths int) string {
	whole, part, of := sixteenths/16, sixteenths%16, 16
	for part != 0 && part%2 == 0 {
		part, of = part/2, of/2
	}
	switch {
	case part == 0:
		return fmt.Sprintf("%d %s", whole, unit.Inches.Symbol)
	case whole == 0:
		return fmt.Sprintf("%d/%d %s", part, of, unit.Inches.Symbol)
	}
	return fmt.Sprintf("%d %d/%d %s", whole, part, of, unit.Inches.Symbol)
}

func (p *paper) weight(m unit.Mass) string { return present.Weight(p.units, m) }

// about writes a value in SI with what it is uncertain by.
func (p *paper) about(value, u float64, usual unit.Unit) string {
	in := p.units.Shown(usual)
	shown, by := figure.Rounded(in.Of(value), u/in.Size)
	return strings.TrimSpace(shown + " ± " + by + " " + in.Symbol)
}

// boxes are the dangers, those that could not be looked for, and the warnings.
func (p *paper) boxes() []section {
	var dangers, warnings []string
	for _, c := range present.Remarks(p.sheet, p.at) {
		switch {
		case grave(c):
			dangers = append(dangers, alarm(c))
		case c.Level == caution.Warn:
			warnings = append(warnings, present.Sentence(c))
		}
	}
	return []section{{level: caution.Danger, words: dangers}, {level: caution.Warn, words: warnings}}
}

// grave reports whether a caution is of a danger, or of one that could not be looked for.
func grave(c caution.Caution) bool { return c.Level == caution.Danger || c.Unchecked }

// alarm writes a danger in full.
func alarm(c caution.Caution) string {
	if c.Unchecked {
		return "DANGER " + c.Text // which begins with "not checked"
	}
	return present.Sentence(c)
}

// figures are all figures of the build as a whole, each with what it is uncertain by, two in
// a row.
func (p *paper) figures() section {
	var told [][]string
	var measured []string
	for _, k := range p.sheet.Told() {
		c := present.FigureCell(p.sheet, p.at, k)
		if c.Absent != "" {
			continue
		}
		value := cell(c)
		if c.Doubt {
			value += " !"
		}
		told = append(told, []string{k.Definition().Title, value})
		if c.Basis == string(figure.Measured) {
			measured = append(measured, k.Definition().Title)
		}
	}
	out := section{title: "Figures (± is one standard uncertainty)", flows: true}
	if half := (len(told) + 1) / 2; half > 0 {
		out.table = &table{head: []string{"figure", "value", "figure", "value"}}
		for i := range half {
			row := append(slices.Clone(told[i]), "", "")
			if half+i < len(told) {
				copy(row[2:], told[half+i])
			}
			out.table.rows = append(out.table.rows, row)
		}
		basis := "All of them are estimated."
		if len(measured) > 0 {
			basis = "Measured: " + strings.Join(measured, ", ") + ". What is not named there is estimated."
		}
		out.after = append(out.after, basis)
	}
	if words := p.compared(); words != "" {
		out.after = append(out.after, words)
	}
	out.after = append(out.after, p.absent(sheet.Whole, p.sheet.Told())...)
	return out
}

// compared says which figures are against the baseline; empty on the baseline itself.
func (p *paper) compared() string {
	if p.at == p.sheet.Job.Baseline {
		return ""
	}
	var titles []string
	for _, k := range slices.Concat(p.sheet.Told(), p.sheet.ToldAt()) {
		if k.Definition().Compares && k != figure.MarginVsProven {
			titles = append(titles, k.Definition().Title)
		}
	}
	return "Against the baseline, " + orElse(p.sheet.Builds[p.sheet.Job.Baseline].Name, unnamed) + ": " + strings.Join(titles, ", ") + "."
}

// cell writes a figure with what it is uncertain by.
func cell(c present.Cell) string {
	words := c.Value
	if c.U != "" && c.U != "0" {
		words += " ± " + c.U
	}
	return strings.TrimSpace(words + " " + c.Unit)
}

// absent says which figures are not there and why, those for one reason together.
func (p *paper) absent(distance int, keys []figure.Key) []string {
	var reasons []string
	titles := map[string][]string{}
	for _, k := range keys {
		why := p.sheet.Builds[p.at].Place(distance).Absent(k)
		if why == "" {
			continue
		}
		if titles[why] == nil {
			reasons = append(reasons, why)
		}
		titles[why] = append(titles[why], k.Definition().Title)
	}
	for i, why := range reasons {
		reasons[i] = "Absent: " + strings.Join(titles[why], ", ") + ": " + why + "."
	}
	return reasons
}

// downrange are the figures at the job's distances.
func (p *paper) downrange() section {
	out := section{title: "Down range", flows: true}
	distances := p.sheet.Job.DistancesOrDefault()
	t := &table{head: []string{"at"}}
	for _, d := range distances {
		t.head = append(t.head, p.units.Distance(d, 4))
	}
	for _, k := range p.sheet.ToldAt() {
		row, some := []string{k.Definition().Title}, false
		if symbol := p.sheet.Unit(k).Symbol; symbol != "" {
			row[0] += ", " + symbol
		}
		for n := range distances {
			c := present.FigureCellAt(p.sheet, p.at, n, k)
			if c.Absent != "" {
				row = append(row, "–")
				continue
			}
			some, c.Unit = true, ""
			row = append(row, cell(c))
		}
		if some {
			t.rows = append(t.rows, row)
		}
	}
	if len(t.rows) > 0 {
		out.table = t
		out.words = present.Shot(p.sheet)
	}
	// Reasons are mostly the same at every distance, and are said once.
	where := map[string][]string{}
	for n, d := range distances {
		for _, words := range p.absent(n, p.sheet.ToldAt()) {
			if where[words] == nil {
				out.after = append(out.after, words)
			}
			where[words] = append(where[words], p.units.Distance(d, 4))
		}
	}
	for i, words := range out.after {
		if at := where[words]; len(at) < len(distances) {
			out.after[i] = strings.TrimSuffix(words, ".") + " (at " + strings.Join(at, ", ") + ")."
		}
	}
	return out
}

// notes are what is noted of the build, the record of its being proven and cautions that are
// notes.
func (p *paper) notes() section {
	out := section{title: "Notes", flows: true}
	if p.assembly.Note != "" {
		out.words = append(out.words, p.assembly.Note)
	}
	out.words = append(out.words, present.Proof(p.sheet, p.at)...)
	for _, c := range present.Remarks(p.sheet, p.at) {
		if !grave(c) && c.Level != caution.Warn {
			out.words = append(out.words, present.Sentence(c))
		}
	}
	return out
}
