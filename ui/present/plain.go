package present

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/text"
)

// plainWidth is the width of plain output: what every terminal and printer has.
const plainWidth = 80

const (
	plainLabel  = 16
	plainColumn = 21
)

// Plain writes a sheet as an aligned comparison that reads line by line: no
// escape codes, no line over 80 cells. Builds that do not fit side by side
// follow in further blocks, each with the baseline first.
func Plain(s *sheet.Sheet) string {
	var out strings.Builder
	line := func(words ...string) {
		out.WriteString(text.Guard(strings.TrimRight(strings.Join(words, ""), " ")) + "\n")
	}
	for _, l := range text.Wrap(BowLine(s), plainWidth) {
		line(l)
	}
	for _, l := range bowRemarks(s) {
		line(l)
	}
	for _, words := range Shot(s) {
		for _, l := range text.Wrap(words, plainWidth) {
			line(l)
		}
	}
	for i := range s.Builds {
		mark := ""
		if i == s.Job.Baseline && len(s.Builds) > 1 {
			mark = "  (baseline: the others show their difference to it)"
		}
		line(text.Cut(Letter(i)+" = "+s.Builds[i].Name, plainWidth-text.Width(mark)) + mark)
	}
	for _, block := range blocks(len(s.Builds), s.Job.Baseline) {
		line()
		head := text.Pad("", plainLabel)
		for _, i := range block {
			head += " " + text.Pad(Letter(i)+" "+s.Builds[i].Name, plainColumn-1)
		}
		line(head)
		for _, slot := range Slots {
			row := text.Pad(string(slot), plainLabel)
			for _, i := range block {
				row += " " + text.Pad(Piece(s.Units, &s.Job.Builds[i], slot), plainColumn-1)
			}
			line(row)
		}
		for _, k := range s.Told() {
			line(plainRow(s, block, sheet.Whole, k))
		}
		for n, d := range s.Job.DistancesOrDefault() {
			line("at " + s.Units.Distance(d, 4))
			for _, k := range s.ToldAt() {
				line(plainRow(s, block, n, k))
			}
		}
	}
	plainRemarks(s, line)
	return out.String()
}

// plainRow is one figure of the builds of a block, as a whole or at a distance.
func plainRow(s *sheet.Sheet, block []int, distance int, k figure.Key) string {
	title := k.Definition().Title
	if distance != sheet.Whole {
		title = " " + title
	}
	row := text.Pad(title, plainLabel)
	for _, i := range block {
		cell := FigureCellAt(s, i, distance, k)
		if cell.Absent != "" && !cell.itself() {
			cell = Cell{Value: "–"}
		}
		row += " " + text.Pad(cell.Text(plainColumn-1), plainColumn-1)
	}
	return row
}

// plainRemarks writes what is absent and every caution, in whole sentences.
func plainRemarks(s *sheet.Sheet, line func(...string)) {
	for i := range s.Builds {
		b := &s.Builds[i]
		var remarks []string
		for _, c := range slices.Concat(b.Cautions, b.Notes) {
			remarks = append(remarks, Sentence(c))
		}
		remarks = append(remarks, Proof(s, i)...)
		remarks = append(remarks, missing(s, b)...)
		if len(remarks) == 0 {
			continue
		}
		line()
		line(text.Cut(Letter(i)+" "+b.Name, plainWidth))
		for _, r := range remarks {
			for _, l := range hanging("  - ", "    ", r) {
				line(l)
			}
		}
	}
	line()
	for _, sentence := range Standing {
		for _, l := range text.Wrap(sentence, plainWidth) {
			line(l)
		}
	}
}

// hanging breaks words into lines of plain output, the first behind one indent and
// the others behind another that is as wide.
func hanging(first, others, words string) []string {
	out := text.Wrap(words, plainWidth-text.Width(others))
	for i := range out {
		if i == 0 {
			out[i] = first + out[i]
		} else {
			out[i] = others + out[i]
		}
	}
	return out
}

// bowRemarks says how far each reading is off the fit, and what to know before
// trusting the speeds.
func bowRemarks(s *sheet.Sheet) []string {
	if s.FitErr != nil {
		return nil
	}
	b, out := &s.Job.Bow.Value, []string(nil)
	if !s.Fit.FromRating {
		words := make([]string, len(b.Readings))
		for i, r := range b.Readings {
			words[i] = fmt.Sprintf("%s at %s (%s)", Weight(s.Units, r.Arrow), Quantity(s.Units, float64(r.Speed), unit.FeetPerSecond), Off(s, i))
		}
		out = append(out, text.Wrap("readings, and how far off the fit: "+strings.Join(words, ", "), plainWidth)...)
	}
	for _, n := range s.Fit.Notes(s.Units) {
		out = append(out, text.Wrap("! "+n, plainWidth)...)
	}
	return out
}

// Shot says how the shots lie and what the sight's marks rest on, a line each.
func Shot(s *sheet.Sheet) []string {
	j := s.Job
	t, p, _ := j.Air.Value.State()
	words := []string{
		fmt.Sprintf("air %s °C %s hPa", Places(t.Celsius(), 0), Places(p.In(unit.Hectopascal), 0)),
		"crosswind " + Quantity(s.Units, float64(j.Crosswind.Or(0)), unit.MilesPerHour),
		"slope " + Places(j.Slope.Or(0).In(unit.Degree), 0) + "°",
		"target radius " + Quantity(s.Units, float64(j.TargetRadiusOrDefault()), unit.Inches),
	}
	out := []string{strings.Join(words, " · ")}
	return append(out, Sighting(s)...)
}

// Sighting says what the marks that were shot in came to, a line each; none
// without them.
func Sighting(s *sheet.Sheet) []string {
	if s.Marks == nil {
		return nil
	}
	var out []string
	if s.Sighted() {
		out = append(out, "marks are on your sight's own scale, fitted to those shot in: "+s.Marks.Words(s.Units))
		var off []string
		for i, m := range s.Job.Sight.Value.Marks {
			if r := s.Marks.Residuals[i].In(unit.Inch); !math.IsNaN(r) {
				in := s.Units.Shown(unit.Inches)
				high, side := in.Of(float64(s.Marks.Impacts[i])), "high"
				if high < 0 {
					side = "low"
				}
				off = append(off, fmt.Sprintf("%s %s (%s: the fit hits %.1f %s %s)", s.Units.Distance(m.Distance, 4), Number(m.Reading.In(unit.Inch)),
					Plus(fmt.Sprintf("%.3f", r)), math.Abs(high), in.Symbol, side))
			}
		}
		out = append(out, "marks shot in, and how far off the fit: "+strings.Join(off, ", "))
	}
	for _, n := range s.Marks.Notes {
		out = append(out, "! "+n)
	}
	return out
}

// missing says which figures are absent, those for one reason together.
func missing(s *sheet.Sheet, b *sheet.Build) []string {
	var reasons []string
	titles := map[string][]string{}
	note := func(k figure.Key, why, where string) {
		if why == "" {
			return
		}
		if titles[why] == nil {
			reasons = append(reasons, why)
		}
		if title := k.Definition().Title + where; !slices.Contains(titles[why], title) {
			titles[why] = append(titles[why], title)
		}
	}
	for _, k := range s.Told() {
		note(k, b.Absent(k), "")
	}
	for _, k := range s.ToldAt() {
		everywhere := true
		for n := range b.At {
			everywhere = everywhere && b.At[n].Absent(k) == b.At[0].Absent(k)
		}
		for n, d := range s.Job.DistancesOrDefault() {
			where := ""
			if !everywhere {
				where = " at " + s.Units.Distance(d, 4)
			}
			note(k, b.At[n].Absent(k), where)
		}
	}
	var out []string
	for _, why := range reasons {
		out = append(out, "absent: "+strings.Join(titles[why], ", ")+": "+why+".")
	}
	return out
}

// blocks shares the builds out among rows of three columns, the baseline first
// in each.
func blocks(builds, baseline int) [][]int {
	across := (plainWidth - plainLabel) / plainColumn
	var out [][]int
	block := []int{baseline}
	for i := range builds {
		if i == baseline {
			continue
		}
		if len(block) == across {
			out = append(out, block)
			block = []int{baseline}
		}
		block = append(block, i)
	}
	return append(out, block)
}

// Letter names a column: A to Z, then AA and on.
func Letter(i int) string {
	if i >= 26 {
		return Letter(i/26-1) + Letter(i%26)
	}
	return string(rune('A' + i))
}

// BowLine says in one line what bow the figures are for and what they rest on.
func BowLine(s *sheet.Sheet) string {
	words := []string{BowName(s.Units, s.Job)}
	if s.FitErr != nil {
		return words[0] + " · no speed: " + s.FitErr.Error()
	}
	return words[0] + fmt.Sprintf(" · energy %s · virtual mass %s", s.Energy(), s.VirtualMass())
}

// Off writes how far a reading is off the fit, with its sign.
func Off(s *sheet.Sheet, reading int) string {
	return Plus(fmt.Sprintf("%.1f", s.Units.Shown(unit.FeetPerSecond).Of(float64(s.Fit.Residuals[reading]))))
}

// BowName says in a few words which bow it is and how it is set.
func BowName(units unit.System, j *job.Job) string {
	if !j.Bow.Given {
		return "no bow"
	}
	b := &j.Bow.Value
	name := b.Name
	if name == "" {
		name = string(b.KindOrDefault())
	}
	words := []string{name}
	if b.Peak.Given {
		words = append(words, Quantity(units, float64(b.Peak.Value), unit.PoundsForce))
	}
	if b.Draw.Given {
		words = append(words, Quantity(units, float64(b.Draw.Value), unit.Inches))
	}
	switch n := len(b.Readings); {
	case n == 1:
		words = append(words, "1 reading")
	case n > 1:
		words = append(words, fmt.Sprintf("%d readings", n))
	case b.Rating.Given:
		words = append(words, "rating only")
	default:
		words = append(words, "no reading")
	}
	return strings.Join(words, " · ")
}
