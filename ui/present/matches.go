package present

import (
	"fmt"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/text"
)

// Matches writes what a search found as plain lines: how many, then each match with
// its pieces and with the figures that were asked about.
func Matches(j *job.Job, found *search.Found, units unit.System) string {
	var out strings.Builder
	line := func(words string) { out.WriteString(text.Guard(strings.TrimRight(words, " ")) + "\n") }
	wrapped := func(indent, words string) {
		for _, l := range hanging(indent, indent+"  ", words) {
			line(l)
		}
	}
	line(fmt.Sprintf("%d of %d combinations match.", found.Matched, found.Candidates))
	if n := len(found.Picks); n > 0 && uint64(n) < found.Matched {
		order := "least"
		if j.Search.Value.Descending {
			order = "greatest"
		}
		line(fmt.Sprintf("The first %d of them, %s %s first:", n, order, sortedBy(j).Definition().Title))
	}
	found.Each(j, units, func(match int, s *sheet.Sheet, build int) {
		line("")
		wrapped("", fmt.Sprintf("%d  %s", match+1, pieces(units, &s.Job.Builds[build])))
		var told []string
		for _, k := range askedFor(j) {
			told = append(told, k.Definition().Title+" "+figureWords(s, build, sheet.Whole, k))
		}
		for n, d := range s.Job.Distances {
			for _, k := range askedAt(j, d) {
				told = append(told, k.Definition().Title+" at "+units.Distance(d, 4)+" "+figureWords(s, build, n, k))
			}
		}
		wrapped("   ", strings.Join(told, " · "))
		for _, c := range s.Builds[build].Cautions {
			if !c.Unchecked {
				wrapped("   ", Marked(c))
			}
		}
	})
	line("")
	for _, sentence := range Standing {
		wrapped("", sentence)
	}
	return out.String()
}

// NothingMatches writes as plain lines why nothing matches a job's question, and what
// to widen.
func NothingMatches(j *job.Job, n *search.Narrow, units unit.System) string {
	title := func(k figure.Key) string { return k.Definition().Title }
	lines := []string{}
	if len(n.One) == 0 {
		lines = hanging("", "  ", Nothing(units, j.Search.Value.Where, n, title))
	} else {
		lines = append(lines, "Widening one of these lets something in, by the least there is:")
		for _, w := range n.One {
			lines = append(lines, hanging("  ", "    ", Wider(units, title(w.Key), w)+": "+pieces(units, &w.Build))...)
		}
	}
	for i := range lines {
		lines[i] = text.Guard(lines[i])
	}
	return strings.Join(lines, "\n") + "\n\n"
}

// figureWords writes a figure with its uncertainty and unit, or why it is absent.
func figureWords(s *sheet.Sheet, build, distance int, k figure.Key) string {
	c := FigureCellAt(s, build, distance, k)
	if c.Absent != "" {
		return "– " + c.Absent
	}
	return c.known()
}

// pieces names what a candidate is made of.
func pieces(units unit.System, b *arrow.Build) string {
	var words []string
	for _, slot := range Slots {
		if piece := Piece(units, b, slot); piece != None {
			words = append(words, string(slot)+" "+piece)
		}
	}
	return strings.Join(words, " · ")
}

// sortedBy returns the figure that a search ranks by.
func sortedBy(j *job.Job) figure.Key {
	if key, ok := figure.ByName(j.Search.Value.Sort); ok {
		return key
	}
	return figure.TotalWeight
}

// askedFor lists the figures of a whole build to tell of a match: the usual ones,
// what it is ranked by and what was asked about.
func askedFor(j *job.Job) []figure.Key {
	out := []figure.Key{figure.TotalWeight, figure.FOC, figure.LaunchSpeed, figure.LaunchMargin}
	for _, k := range sheet.Keys() {
		_, asked := j.Search.Value.Where[k.String()]
		if (asked || k == sortedBy(j)) && !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	return out
}

// askedAt lists the figures at a distance that were asked about.
func askedAt(j *job.Job, d unit.Length) []figure.Key {
	var out []figure.Key
	for _, k := range sheet.KeysAt() {
		if w, asked := j.Search.Value.Where[k.String()]; asked && w.Distance.Value == d {
			out = append(out, k)
		}
	}
	return out
}
