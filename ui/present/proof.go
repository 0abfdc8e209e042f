package present

import (
	"fmt"
	"math"
	"strings"

	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// Proof tells the record of a build that bears the mark of being proven, a
// sentence each; none of one that does not.
func Proof(s *sheet.Sheet, build int) []string {
	if !s.Marked(build) {
		return nil
	}
	p := &s.Job.Builds[build].Proof.Value
	var at []string
	add := func(given bool, words string) {
		if given {
			at = append(at, words)
		}
	}
	add(p.Date != "", p.Date)
	add(p.Bow != "", p.Bow)
	add(p.Peak.Given, Quantity(s.Units, float64(p.Peak.Value), unit.PoundsForce))
	add(p.Draw.Given, Quantity(s.Units, float64(p.Draw.Value), unit.Inches))
	head := "proven on this bow"
	if s.Lapsed(build) != "" {
		head = "was proven"
	}
	if len(at) > 0 {
		head += ": " + strings.Join(at, ", ")
	}
	out := []string{head + "."}
	var measured []string
	for _, k := range sheet.MeasuredKeys {
		if by := Miss(s, build, k); by != "" {
			measured = append(measured, fmt.Sprintf("%s %s %s", k.Definition().Title, by, s.Unit(k).Symbol))
		}
	}
	say := func(what string, list ...string) {
		if words := strings.Join(list, ", "); words != "" {
			out = append(out, what+": "+strings.TrimSuffix(words, ".")+".")
		}
	}
	say("measured less computed", measured...)
	say("paper or bare shaft", p.Paper)
	say("broadhead against field point", broadhead(s, p.Distance, p.High, p.Right)...)
	say("note", p.Note)
	return out
}

// broadhead says where a broadhead hit against a field point.
func broadhead(s *sheet.Sheet, distance, high, right unit.Optional[unit.Length]) []string {
	var out []string
	if distance.Given {
		out = append(out, "at "+s.Units.Distance(distance.Value, 4))
	}
	off := func(by unit.Optional[unit.Length], more, less string) {
		if !by.Given {
			return
		}
		side := more
		if by.Value < 0 {
			side = less
		}
		out = append(out, Quantity(s.Units, math.Abs(float64(by.Value)), unit.Inches)+" "+side)
	}
	off(high, "high", "low")
	off(right, "right", "left")
	return out
}

// Miss writes what was measured of a proven arrow less what is computed, with its
// sign; empty when nothing was measured.
func Miss(s *sheet.Sheet, build int, k figure.Key) string {
	by, ok := s.Miss(build, k)
	if !ok {
		return ""
	}
	f, _ := s.Builds[build].Figure(k)
	u := s.Unit(k)
	shown, _ := Signed(by/u.Size, f.U/u.Size)
	return shown
}
