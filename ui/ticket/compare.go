package ticket

import (
	"slices"
	"strings"

	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
)

// Names from outside are cut where builds stand side by side; in full they stand above.
const (
	headCells  = 44
	pieceCells = 40
)

// OfBench returns the comparison of all builds of a sheet: what they are made of, their
// figures with the difference to the baseline, and what is dangerous about which.
func OfBench(s *sheet.Sheet, o Origin) *Ticket {
	t := &Ticket{title: "Comparison of builds", wide: true, date: o.Date, head: head(s, o)}
	if len(s.Builds) == 0 {
		t.sections = []section{{words: []string{"There is no build on the bench."}}, {title: "For every arrow", flows: true, words: slices.Clone(present.Standing)}}
		return t.clean()
	}
	t.sections = []section{
		{level: caution.Danger, words: lettered(s, grave, alarm)},
		{level: caution.Warn, words: lettered(s, func(c caution.Caution) bool { return c.Level == caution.Warn && !grave(c) }, warning)},
		{title: "Builds", flows: true, words: names(s)},
		{title: "Side by side (± is one standard uncertainty)", table: sideBySide(s)},
		{title: "For every arrow", flows: true, words: slices.Clone(present.Standing)},
	}
	t.sections = slices.DeleteFunc(t.sections, func(s section) bool { return len(s.words) == 0 && s.table == nil })
	return t.clean()
}

// names says which build has which letter, and which is the baseline.
func names(s *sheet.Sheet) []string {
	var out []string
	for i := range s.Builds {
		words := present.Letter(i) + " = " + orElse(s.Builds[i].Name, unnamed)
		if i == s.Job.Baseline && len(s.Builds) > 1 {
			words += " (baseline: the others have their difference to it in brackets)"
		}
		out = append(out, words)
	}
	return out
}

// lettered writes the cautions of all builds in full, each once behind the letters of its
// builds.
func lettered(s *sheet.Sheet, which func(caution.Caution) bool, write func(caution.Caution) string) []string {
	var out []string
	of := map[string][]string{}
	for i := range s.Builds {
		for _, c := range present.Remarks(s, i) {
			if !which(c) {
				continue
			}
			words := write(c)
			if of[words] == nil {
				out = append(out, words)
			}
			if letter := present.Letter(i); !slices.Contains(of[words], letter) {
				of[words] = append(of[words], letter)
			}
		}
	}
	for i, words := range out {
		level, rest, _ := strings.Cut(words, " ")
		out[i] = level + " " + strings.Join(of[words], ", ") + ": " + rest
	}
	return out
}

// sideBySide has a row for every place of a build and every figure, and a column for every
// build, the baseline first.
func sideBySide(s *sheet.Sheet) *table {
	order := []int{s.Job.Baseline}
	for i := range s.Builds {
		if i != s.Job.Baseline {
			order = append(order, i)
		}
	}
	t := &table{head: []string{""}, keep: 2}
	for _, i := range order {
		t.head = append(t.head, text.Cut(present.Letter(i)+" "+tidy(orElse(s.Builds[i].Name, unnamed)), headCells))
	}
	for _, slot := range present.Slots {
		row := []string{string(slot)}
		if slot == present.SlotLength {
			row[0] = "length, cut shaft"
		}
		for _, i := range order {
			b := &s.Job.Builds[i]
			words := text.Cut(tidy(present.Piece(s.Units, b, slot)), pieceCells)
			if slot == present.SlotLength {
				words = length(s.Units, b.Length) + ", " + length(s.Units, b.Tube())
			}
			row = append(row, words)
		}
		t.rows = append(t.rows, row)
	}
	add := func(distance int, k figure.Key, where string) {
		row, some := []string{k.Definition().Title + where}, false
		if symbol := s.Unit(k).Symbol; symbol != "" {
			row[0] += ", " + symbol
		}
		for _, i := range order {
			c := present.FigureCellAt(s, i, distance, k)
			words := against(c)
			some = some || c.Absent == ""
			row = append(row, words)
		}
		if some {
			t.rows = append(t.rows, row)
		}
	}
	for _, k := range s.Told() {
		add(sheet.Whole, k, "")
	}
	n := s.Job.Farthest()
	for _, k := range s.ToldAt() {
		if slices.Contains(farthest, k) {
			add(n, k, " "+s.Units.Distance(s.Job.DistancesOrDefault()[n], 4))
		}
	}
	return t
}

// farthest lists the figures that are compared at the farthest distance too, where builds
// differ most. All distances stand on the ticket of each build.
var farthest = []figure.Key{figure.Speed, figure.Drop, figure.ImpactShift, figure.WindDrift}

// against writes a figure without its unit, and behind it how it differs from the baseline's.
func against(c present.Cell) string {
	if c.Absent != "" {
		return "–"
	}
	c.Unit = ""
	words := cell(c)
	if c.Doubt {
		words += " !"
	}
	if c.Delta != "" {
		by := c.Delta
		if c.DeltaU != "" {
			by += " ± " + c.DeltaU
		}
		words += " (" + by + ")"
	}
	return words
}
