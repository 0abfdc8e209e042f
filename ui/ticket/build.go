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
	"foreshaft/store"
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
	t.head = append(t.head, fact{"how many", p.quantity()}, fact{"wanted by", blank})
	t.sections = append(t.sections, p.boxes()...)
	t.sections = append(t.sections, p.parts(), p.drawn())
	// A list stays in one piece, and the steps behind it fill what it leaves of a column.
	t.sections = append(t.sections, p.list()...)
	t.sections = append(t.sections, p.work(), p.figures(), p.downrange(), p.notes(),
		section{title: "For every arrow", flows: true, words: slices.Clone(present.Standing)},
		section{words: []string{"Built by " + longBlank + " on " + blank + ", checked by " + longBlank + " on " + blank + ", handed over " + blank}})
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
	return []fact{{"for", orBlank(o.Customer)}, {"printed", date}, {"from", orBlank(o.Source)}, {"bow", bowWords(s)}}
}

// bowWords says which bow the arrows are for, and how it is set.
func bowWords(s *sheet.Sheet) string {
	if !s.Job.Bow.Given {
		return longBlank
	}
	b := &s.Job.Bow.Value
	words := []string{orElse(b.Name, string(b.KindOrDefault()))}
	if b.Peak.Given {
		words = append(words, "peak weight "+s.Units.Pull(b.Peak.Value, 3))
	}
	if b.Draw.Given {
		words = append(words, "draw length "+s.Units.Span(b.Draw.Value, 4))
	}
	return strings.Join(words, ", ")
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
	sixteenths := math.Round(l.In(unit.Inch) * 16)
	if p.units.Shown(unit.Inches) != unit.Inches || l <= 0 || sixteenths == 0 || math.Abs(l.In(unit.Inch)-math.Round(l.In(unit.Inch))) < 1e-6 {
		return words
	}
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
	if p.pairing != nil {
		for _, g := range p.sheet.Graver(p.at, p.pairing) {
			words := fmt.Sprintf("arrow %d of the build list, by the weights of its own pieces: %s", g.Arrow+1, g.Text)
			if g.Level == caution.Danger {
				dangers = append(dangers, "DANGER "+words)
			} else {
				warnings = append(warnings, "WARNING "+words)
			}
		}
		for _, words := range present.Mismatches(p.sheet, p.at) {
			warnings = append(warnings, "WARNING "+strings.TrimPrefix(words, "! ")+".")
		}
	}
	for _, c := range p.remarks() {
		switch {
		case grave(c):
			dangers = append(dangers, alarm(c))
		case warns(c):
			warnings = append(warnings, warning(c))
		}
	}
	if p.sampled() {
		warnings = append(warnings, "WARNING sample pieces: they are invented. Put your own in their place, and print anew, before anything is built.")
	}
	out := []section{{level: caution.Danger, words: dangers}, {level: caution.Warn, words: warnings}}
	if len(dangers) > 0 {
		out = append(out, section{words: []string{"Do not build it as it stands: what is said above is settled first, with whoever chose the build and a qualified fitter. Settled and released by " + longBlank + " on " + longBlank + "."}})
	} else if len(warnings) > 0 {
		out = append(out, section{words: []string{"Released to be built, the warnings read, by " + longBlank + " on " + blank + ". Unsigned: do not start."}})
	}
	return out
}

// sampled reports whether a piece of the build is one of the samples.
func (p *paper) sampled() bool {
	return slices.ContainsFunc(p.pieces(), func(l piece) bool { return l.trade.Note == store.SampleNote })
}

// remarks are the cautions of the build, those that are told as sure not again as perhaps.
func (p *paper) remarks() []caution.Caution {
	all := present.Remarks(p.sheet, p.at)
	return slices.DeleteFunc(slices.Clone(all), func(c caution.Caution) bool {
		return c.About != "" && slices.ContainsFunc(all, func(o caution.Caution) bool { return o.Code == c.About })
	})
}

// warns reports whether a caution is a warning, or so close to one that it counts as one.
func warns(c caution.Caution) bool { return c.Level == caution.Warn || c.About != "" }

// warning writes a warning in full.
func warning(c caution.Caution) string {
	_, rest, _ := strings.Cut(present.Sentence(c), " ")
	return "WARNING " + rest
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

// The figures that whoever builds or shoots the arrow has a use for. The rest is on the
// screen and in what 'figures' prints.
var (
	useful = []figure.Key{figure.TotalWeight, figure.FrontWeight, figure.BalancePoint, figure.FOC, figure.WeightPerDraw, figure.LaunchSpeed,
		figure.LaunchEnergy, figure.LaunchMomentum, figure.LaunchMargin, figure.MarginVsProven, figure.SteerMargin, figure.HeadShare, figure.DozenCost}
	usefulAt = []figure.Key{figure.SightMark, figure.ImpactShift, figure.Speed, figure.Energy, figure.Drop, figure.RangeShort, figure.RangeLong, figure.WindDrift}
)

// told picks those of some figures that a sheet tells.
func told(list, of []figure.Key) []figure.Key {
	return slices.DeleteFunc(slices.Clone(list), func(k figure.Key) bool { return !slices.Contains(of, k) })
}

// figures are the figures of the build as a whole, each with what it is uncertain by, two in
// a row.
func (p *paper) figures() section {
	var cells [][]string
	var measured []string
	keys := told(useful, p.sheet.Told())
	for _, k := range keys {
		c := present.FigureCell(p.sheet, p.at, k)
		if c.Absent != "" {
			continue
		}
		value := cell(c)
		if c.Doubt {
			value += " !"
		}
		cells = append(cells, []string{k.Definition().Title, value})
		if c.Basis == string(figure.Measured) && k != figure.DozenCost {
			measured = append(measured, k.Definition().Title)
		}
	}
	out := section{title: "Figures (± is one standard uncertainty)", flows: true}
	if half := (len(cells) + 1) / 2; half > 0 {
		out.table = &table{head: []string{"figure", "value", "figure", "value"}}
		for i := range half {
			row := append(slices.Clone(cells[i]), "", "")
			if half+i < len(cells) {
				copy(row[2:], cells[half+i])
			}
			out.table.rows = append(out.table.rows, row)
		}
		basis := "All of them rest on estimates."
		if len(measured) > 0 {
			basis = "Of pieces that were weighed: " + strings.Join(measured, ", ") + ". The others rest on estimates too."
		}
		out.after = append(out.after, basis)
	}
	out.after = append(out.after, p.absent(sheet.Whole, keys)...)
	return out
}

// onItsMark says what the row of that name means; empty on the baseline itself.
func (p *paper) onItsMark() string {
	if p.at == p.sheet.Job.Baseline {
		return ""
	}
	return fmt.Sprintf("%s: how high it hits with the sight marks of %s; − is low.", capital(figure.ImpactShift.Definition().Title), orElse(p.sheet.Builds[p.sheet.Job.Baseline].Name, unnamed))
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
	keys := told(usefulAt, p.sheet.ToldAt())
	for _, k := range keys {
		row, some := []string{k.Definition().Title}, false
		if symbol := p.sheet.Unit(k).Symbol; symbol != "" {
			row[0] += ", " + symbol
		} else if k == figure.SightMark {
			row[0] += ", your scale"
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
		out.words = present.Shot(p.sheet)[:1] // what the marks rest on is for the sight's own sheet
	}
	if words := p.onItsMark(); words != "" && slices.ContainsFunc(t.rows, func(row []string) bool { return strings.HasPrefix(row[0], figure.ImpactShift.Definition().Title) }) {
		out.after = append(out.after, words)
	}
	if slices.ContainsFunc(t.rows, func(row []string) bool { return strings.HasPrefix(row[0], figure.RangeShort.Definition().Title) }) {
		out.after = append(out.after, fmt.Sprintf("%s and %s: how wrong the range may be taken before the shot misses the target's radius.", capital(figure.RangeShort.Definition().Title), figure.RangeLong.Definition().Title))
	}
	// Reasons are mostly the same at every distance, and are said once.
	var reasons []string
	where := map[string][]string{}
	for n, d := range distances {
		for _, words := range p.absent(n, keys) {
			if where[words] == nil {
				reasons = append(reasons, words)
			}
			where[words] = append(where[words], p.units.Distance(d, 4))
		}
	}
	for i, words := range reasons {
		if at := where[words]; len(at) < len(distances) {
			reasons[i] = strings.TrimSuffix(words, ".") + " (at " + strings.Join(at, ", ") + ")."
		}
	}
	out.after = append(out.after, reasons...)
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
	for _, c := range p.remarks() {
		if !grave(c) && !warns(c) {
			out.words = append(out.words, present.Sentence(c))
		}
	}
	return out
}
