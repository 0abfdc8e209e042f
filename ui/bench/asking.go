package bench

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// What people write for a range of a figure. A number may have a unit behind it.
var (
	atLeast = regexp.MustCompile(`(?i)^(?:at least|no less than|min(?:imum)?|from|over|>=?|≥)\s*(.+)$|^(.+?)\s*(?:or more|and more|and up|\+)$`)
	atMost  = regexp.MustCompile(`(?i)^(?:at most|no more than|max(?:imum)?|up to|under|<=?|≤)\s*(.+)$|^(.+?)\s*(?:or less|and less)$`)
	around  = regexp.MustCompile(`(?i)^(?:within\s+)(.+?)\s+of\s+(.+)$`)
	spread  = regexp.MustCompile(`(?i)^(.+?)\s*(?:±|\+/-|\+-)\s*(.+)$`)
	span    = regexp.MustCompile(`(?i)^(?:between\s+|from\s+)?(.+?)\s*(?:\bto\b|\band\b|\.\.|…|–|\s-\s)\s*(.+)$`)
	dashed  = regexp.MustCompile(`^([0-9.,]+)\s*-\s*([0-9.,]+\s*[^0-9]*)$`)
	placed  = regexp.MustCompile(`(?i)^(.*?)\s*\b(?:at|@)\s+(.+)$`)
)

// readWindow reads what somebody asks of a figure: "at least 13", "480 to 500",
// "at most 300", "490 ± 5", "within 5 of B". Nothing, or "any", is no window. The
// error says what would be understood.
func (m *Model) readWindow(k figure.Key, typed string) (w job.Window, asked bool, err error) {
	d := k.Definition()
	shown := m.units().Shown(d.Unit)
	typed = strings.TrimSpace(typed)
	if typed == "" || strings.EqualFold(typed, "any") {
		return w, false, nil
	}
	if d.At {
		w.Distance = unit.Some(m.chosen())
		if found := placed.FindStringSubmatch(typed); found != nil {
			l, err := unit.Parse(found[2], m.units().Shown(unit.Yards))
			if err != nil {
				return w, false, err
			}
			if l <= 0 || unit.Length(l) > job.MostDistance {
				return w, false, fmt.Errorf("the distance must be more than 0 and at most %s", m.units().Distance(job.MostDistance, 4))
			}
			w.Distance, typed = unit.Some(unit.Length(l)), strings.TrimSpace(found[1])
		}
	}
	number := func(text string) (float64, error) {
		v, err := unit.Parse(text, shown)
		return d.Unit.Of(v), err
	}
	set := func(low, high float64) (job.Window, bool, error) {
		w.Min, w.Max = unit.Some(low), unit.Some(high)
		if low > high {
			return w, false, fmt.Errorf("nothing lies from %s to %s: the smaller number comes first", m.bound(k, low), m.bound(k, high))
		}
		return w, true, nil
	}
	// The two that come near something.
	if found := around.FindStringSubmatch(typed); found != nil {
		by, err := number(found[1])
		if err != nil {
			return w, false, err
		}
		middle, err := m.middle(k, found[2], number)
		if err != nil {
			return w, false, err
		}
		return set(middle-math.Abs(by), middle+math.Abs(by))
	}
	if found := spread.FindStringSubmatch(typed); found != nil {
		by, err := number(found[2])
		if err != nil {
			return w, false, err
		}
		middle, err := m.middle(k, found[1], number)
		if err != nil {
			return w, false, err
		}
		return set(middle-math.Abs(by), middle+math.Abs(by))
	}
	for _, shape := range []*regexp.Regexp{dashed, span} {
		found := shape.FindStringSubmatch(typed)
		if found == nil {
			continue
		}
		low, err := number(found[1])
		high, err2 := number(found[2])
		if err == nil && err2 == nil {
			return set(low, high)
		}
	}
	if k == figure.ImpactShift { // it is told from the baseline: how far off it may be is all there is to say
		by, err := number(strings.TrimSpace(strings.TrimPrefix(strings.ToLower(typed), "within")))
		if err != nil {
			return w, false, err
		}
		return set(-math.Abs(by), math.Abs(by))
	}
	if found := atLeast.FindStringSubmatch(typed); found != nil {
		v, err := number(found[1] + found[2])
		w.Min = unit.Some(v)
		return w, err == nil, err
	}
	if found := atMost.FindStringSubmatch(typed); found != nil {
		v, err := number(found[1] + found[2])
		w.Max = unit.Some(v)
		return w, err == nil, err
	}
	return w, false, fmt.Errorf("write a range, such as %s; empty is any", m.rangeExamples(k))
}

// middle returns what something is to be near: a number, or the figure of a build
// that is named by its letter or its name, in the figure's own unit.
func (m *Model) middle(k figure.Key, text string, number func(string) (float64, error)) (float64, error) {
	text = strings.TrimSpace(text)
	i := slices.IndexFunc(m.Job().Builds, func(b arrow.Build) bool { return strings.EqualFold(b.Name, text) })
	for n := range m.Job().Builds {
		if strings.EqualFold(present.Letter(n), text) {
			i = n
		}
	}
	if i < 0 {
		v, err := number(text)
		if err != nil {
			return 0, fmt.Errorf("%q is neither a number nor a build on the bench", short(text))
		}
		return v, nil
	}
	f, ok := m.session.Sheet().Builds[i].Place(m.placeOf(m.Job(), k)).Figure(k)
	if !ok {
		return 0, fmt.Errorf("%s of %s is not known: it %s", k.Definition().Title, short(m.Job().Builds[i].Name), m.session.Sheet().Builds[i].Place(m.placeOf(m.Job(), k)).Absent(k))
	}
	return k.Definition().Unit.Of(f.Value), nil
}

// rangeExamples shows how a range of a figure may be written.
func (m *Model) rangeExamples(k figure.Key) string {
	switch k {
	case figure.ImpactShift:
		return fmt.Sprintf("within 1 %s at %s", m.units().Shown(unit.Inches).Symbol, m.units().Distance(m.chosen(), 4))
	case figure.TotalWeight, figure.FrontWeight:
		one := func(gr float64) string { return m.bound(k, gr) }
		return fmt.Sprintf("at least %s, %s to %s, or within %s of B", one(400), one(480), one(500), one(5))
	}
	u := m.units().Shown(k.Definition().Unit)
	ofDefault := map[figure.Key][2]float64{
		figure.FOC: {12, 15}, figure.WeightPerDraw: {6, 7.5}, figure.LaunchSpeed: {270, 290}, figure.LaunchMargin: {0.85, 1.15}, figure.DozenCost: {100, 250},
	}
	sample, known := ofDefault[k]
	if !known {
		sample = [2]float64{10, 20}
	}
	low, high := m.bound(k, sample[0]), m.bound(k, sample[1])
	return strings.TrimSpace(fmt.Sprintf("at least %s, at most %s, or %s to %s %s", low, high, low, high, u.Symbol))
}

// bound writes one bound of a window as it is typed: without its unit.
func (m *Model) bound(k figure.Key, v float64) string {
	d := k.Definition()
	return present.Number(round(m.units().Shown(d.Unit).Of(d.Unit.From(v)), 5))
}

// round leaves so many significant digits.
func round(x float64, digits int) float64 {
	if x == 0 || math.IsInf(x, 0) || math.IsNaN(x) {
		return x
	}
	scale := math.Pow(10, float64(digits-1)-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*scale) / scale
}

// windowWords writes a window the way it can be typed.
func (m *Model) windowWords(k figure.Key, w job.Window) string {
	d := k.Definition()
	symbol := m.units().Shown(d.Unit).Symbol
	one := func(v float64) string { return m.bound(k, v) }
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
		words += " at " + m.units().Distance(w.Distance.Value, 4)
	}
	return words
}

// readLengths reads a list of lengths: "29, 29 1/2, 30".
func (m *Model) readLengths(typed string) ([]unit.Length, error) {
	var out []unit.Length
	for _, word := range strings.FieldsFunc(typed, func(r rune) bool { return r == ',' || r == ';' }) {
		if strings.TrimSpace(word) == "" {
			continue
		}
		v, err := unit.Parse(word, m.units().Shown(unit.Inches))
		if err != nil {
			return nil, err
		}
		l := unit.Length(v)
		if l < shortest || l > 60*unit.Inch {
			return nil, fmt.Errorf("%s is no arrow: lengths go from %s to %s", m.units().Span(l, 4), m.units().Span(shortest, 4), m.units().Span(60*unit.Inch, 4))
		}
		if !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	if len(out) > mostLengths {
		return nil, fmt.Errorf("a list holds %d lengths here", mostLengths)
	}
	return out, nil
}

// mostLengths bounds the list: each costs as much as a search with one.
const mostLengths = 24
