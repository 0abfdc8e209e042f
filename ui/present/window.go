package present

import (
	"fmt"
	"math"
	"strings"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/search"
	"foreshaft/engine/unit"
)

// Bound writes one bound of a window, in the figure's own unit, as it is typed in the
// units given: with at most so many digits and without its unit.
func Bound(units unit.System, k figure.Key, v float64, digits int) string {
	d := k.Definition()
	return Number(Significant(units.Shown(d.Unit).Of(d.Unit.From(v)), digits))
}

// Significant leaves so many significant digits of a number.
func Significant(x float64, digits int) float64 {
	if x == 0 || math.IsInf(x, 0) || math.IsNaN(x) {
		return x
	}
	scale := math.Pow(10, float64(digits-1)-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*scale) / scale
}

// boundDigits is how many digits a bound is told with.
const boundDigits = 5

// Window writes what is asked of a figure the way it can be typed: "at least 13 %",
// "480 to 500 gr", "within 1 in at 60 yd".
func Window(units unit.System, k figure.Key, w job.Window) string {
	symbol := units.Shown(k.Definition().Unit).Symbol
	one := func(v float64) string { return Bound(units, k, v, boundDigits) }
	words := "any"
	switch {
	case k == figure.ImpactShift && w.Min.Given && w.Max.Given && math.Abs(w.Min.Value+w.Max.Value) < 1e-9:
		words = "within " + one(w.Max.Value)
	case w.Min.Given && w.Max.Given:
		words = one(w.Min.Value) + " to " + one(w.Max.Value)
	case w.Min.Given:
		words = "at least " + one(w.Min.Value)
	case w.Max.Given:
		words = "at most " + one(w.Max.Value)
	}
	words = strings.TrimSpace(words + " " + symbol)
	if w.Distance.Given {
		words += " at " + units.Distance(w.Distance.Value, 3)
	}
	return words
}

// Outward returns the bound of a window that lets something in, in the figure's own
// unit and rounded outwards to four digits.
func Outward(w search.Wider) float64 {
	side := 1.0
	if w.Below {
		side = -1
	}
	value := w.Key.Definition().Unit.Of(w.Value)
	out := Significant(value, 4)
	if side*out < side*value {
		out = Significant(out+side*math.Pow(10, math.Floor(math.Log10(math.Abs(value)))-3), 4)
	}
	return out
}

// Wider says how far a window has to be widened: "FOC down to 12.4 %".
func Wider(units unit.System, title string, w search.Wider) string {
	symbol := units.Shown(w.Key.Definition().Unit).Symbol
	if w.Key == figure.ImpactShift {
		side := "higher"
		if w.Value < 0 {
			side = "lower"
		}
		return fmt.Sprintf("%s: %s %s %s", title, Bound(units, w.Key, math.Abs(Outward(w)), boundDigits), symbol, side)
	}
	side := "up to"
	if w.Below {
		side = "down to"
	}
	return strings.TrimSpace(fmt.Sprintf("%s %s %s %s", title, side, Bound(units, w.Key, Outward(w), boundDigits), symbol))
}

// Nothing says why nothing matches a question, where no window alone can be widened.
// title names a figure as the question does.
func Nothing(units unit.System, where map[string]job.Window, n *search.Narrow, title func(figure.Key) string) string {
	var words []string
	for _, l := range n.Lacks {
		words = append(words, fmt.Sprintf("%s is not known, it %s", title(l.Key), l.Why))
	}
	if len(words) > 0 {
		return "Nothing matches: " + strings.Join(words, "; ") + "."
	}
	for _, w := range n.Never {
		nearest := strings.TrimSpace(Bound(units, w.Key, w.Key.Definition().Unit.Of(w.Value), boundDigits) + " " + units.Shown(w.Key.Definition().Unit).Symbol)
		words = append(words, fmt.Sprintf("%s %s (the nearest is %s)", title(w.Key), Window(units, w.Key, where[w.Key.String()]), nearest))
	}
	switch len(words) {
	case 0:
		return "Nothing matches. Each of these alone can be had, but not all together, and widening one is not enough: ask for less at once."
	case 1:
		return "Nothing matches: no arrow of this drawer has " + words[0] + ", whatever else is asked, and widening that alone is not enough."
	}
	return "Nothing matches: no arrow of this drawer has " + strings.Join(words, ", nor ") + ", whatever else is asked."
}
