package present

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// effectKeys are the figures that the effect line speaks of, in its order.
var effectKeys = []struct {
	key  figure.Key
	name string
}{
	{figure.TotalWeight, ""}, {figure.FrontWeight, "front"}, {figure.FOC, "FOC"}, {figure.LaunchSpeed, ""},
}

// Effect says what changing one build into another does on a sheet's bow, with
// what both have in common cancelled, and which dangers and warnings it brings:
// "+25.0 gr · FOC +1.7 % · −5.3 ft/s · 60 yd 3.1 in lower · margin 0.91 → 0.87 ·
// ! broadhead". It is empty when nothing that the line speaks of changes. Where it
// hits is told for one distance, shot with the mark from before.
func Effect(on *sheet.Sheet, before, after *arrow.Build, distance unit.Length) string {
	s := on.Pair(before, after, distance)
	var words []string
	for _, e := range effectKeys {
		d := s.Unit(e.key)
		delta, u, ok := s.Delta(1, e.key)
		if !ok || delta == 0 && u == 0 {
			continue
		}
		// What went on at the front alone is not said twice.
		if total, _, _ := s.Delta(1, figure.TotalWeight); e.key == figure.FrontWeight && math.Abs(delta-total) < 1e-3*math.Abs(total) {
			continue
		}
		shown, shownU := Signed(delta/d.Size, u/d.Size)
		if strings.Trim(shown, "0.") == "" {
			continue
		}
		word := strings.TrimSpace(e.name + " " + shown)
		if shownU != "" {
			word += " ± " + shownU
		}
		words = append(words, word+" "+d.Symbol)
	}
	if word := impact(s, distance); word != "" {
		words = append(words, word)
	}
	if word := margins(s); word != "" {
		words = append(words, word)
	}
	if word := steering(s); word != "" {
		words = append(words, word)
	}
	for _, c := range Brought(s) {
		if word := Mark(c.Level) + " " + Brief(c); !slices.Contains(words, word) {
			words = append(words, word)
		}
	}
	return strings.Join(words, " · ")
}

// Brought lists the dangers and warnings that the second build of a pair has and
// the first has not, the gravest first.
func Brought(pair *sheet.Sheet) []caution.Caution {
	return slices.DeleteFunc(slices.Clone(pair.Builds[1].Cautions), func(c caution.Caution) bool {
		return c.Level == caution.Note || slices.ContainsFunc(pair.Builds[0].Cautions, func(b caution.Caution) bool {
			return b.Same(c) && !b.Unchecked && (b.Level == c.Level || b.Level == caution.Danger)
		})
	})
}

// margins says what becomes of the launch margin; empty when it stays or is not
// known.
func margins(s *sheet.Sheet) string {
	before, known := s.Builds[0].Figure(figure.LaunchMargin)
	after, ok := s.Builds[1].Figure(figure.LaunchMargin)
	if was, is := fmt.Sprintf("%.2f", before.Value), fmt.Sprintf("%.2f", after.Value); known && ok && was != is {
		return "margin " + was + " → " + is
	}
	return ""
}

// steering says what becomes of the steer margin; empty when that is less than five
// points or not known.
func steering(s *sheet.Sheet) string {
	before, known := s.Builds[0].Figure(figure.SteerMargin)
	after, ok := s.Builds[1].Figure(figure.SteerMargin)
	if was, is := 100*before.Value, 100*after.Value; known && ok && math.Abs(is-was) >= 5 {
		return "steer margin " + figure.Minus(fmt.Sprintf("%.0f", was)) + " → " + figure.Minus(fmt.Sprintf("%.0f", is)) + " %"
	}
	return ""
}

// impact says how much higher or lower the second build hits with the first
// one's mark; empty when that is not known or nothing.
func impact(s *sheet.Sheet, distance unit.Length) string {
	f, ok := s.Builds[1].At[0].Figure(figure.ImpactShift)
	if !ok {
		return ""
	}
	u := s.Unit(figure.ImpactShift)
	value, spread := figure.Rounded(math.Abs(u.Of(f.Value)), f.U/u.Size)
	if strings.Trim(value, "0.") == "" {
		return ""
	}
	if spread != "0" {
		value += " ± " + spread
	}
	side := "higher"
	if f.Value < 0 {
		side = "lower"
	}
	return s.Units.Distance(distance, 3) + " " + value + " " + u.Symbol + " " + side
}

// Changes says which pieces differ between two builds, in words: "insert 50 →
// 75 gr" where only the weight differs.
func Changes(units unit.System, before, after *arrow.Build) []string {
	var out []string
	for _, s := range Slots {
		was, is := Piece(units, before, s), Piece(units, after, s)
		if was == is {
			continue
		}
		if s == SlotLength {
			was, is = span(units, before.Length), span(units, after.Length)
			if was == is { // another nock: the arrow is as long, its tube is not
				out = append(out, "tube "+arrowed(span(units, before.Tube()), span(units, after.Tube())))
				continue
			}
		}
		out = append(out, string(s)+" "+arrowed(was, is))
	}
	return out
}

// arrowed writes a change: of the weight alone where the words behind it stay.
func arrowed(was, is string) string {
	w, behind, ok := strings.Cut(was, " ")
	_, same, ok2 := strings.Cut(is, " ")
	if ok && ok2 && behind == same {
		return w + " → " + is
	}
	return was + " → " + is
}
