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
	placed  = regexp.MustCompile(`(?i)^(.*?)\s*(?:\bat\s+|@\s*)(\d.*)$`)
	unitEnd = regexp.MustCompile(`[^0-9.,/⁄½¼¾⅛⅜⅝⅞+\-−\s][^0-9]*$`)

	startsWithNumber = regexp.MustCompile(`^\s*[-−+]?[0-9.,]`)
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
	// near reads what comes near something: a number, or a build's own figure.
	near := func(by, middle string) (job.Window, bool, error) {
		// A build may be called "300 spine": only a number lends its unit, and borrows one.
		if with := unitOf(middle, by); startsWithNumber.MatchString(middle) {
			if _, err := number(with); err == nil {
				by, middle = unitOf(by, middle), with
			}
		}
		spread, err := number(by)
		if err != nil {
			return w, false, err
		}
		at, err := m.middle(k, middle, w.Distance, number)
		if err != nil {
			return w, false, err
		}
		return set(at-math.Abs(spread), at+math.Abs(spread))
	}
	if found := around.FindStringSubmatch(typed); found != nil {
		return near(found[1], found[2])
	}
	if found := spread.FindStringSubmatch(typed); found != nil {
		return near(found[2], found[1])
	}
	for _, shape := range []*regexp.Regexp{dashed, span} {
		found := shape.FindStringSubmatch(typed)
		if found == nil {
			continue
		}
		low, err := number(unitOf(found[1], found[2]))
		high, err2 := number(unitOf(found[2], found[1]))
		if err == nil && err2 == nil {
			return set(low, high)
		}
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
	if k == figure.ImpactShift { // it is told from the baseline: how far off is meant
		by, err := number(strings.TrimSpace(strings.TrimPrefix(strings.ToLower(typed), "within")))
		if err != nil {
			return w, false, err
		}
		return set(-math.Abs(by), math.Abs(by))
	}
	return w, false, fmt.Errorf("write a range, such as %s; empty is any", m.rangeExamples(k))
}

// unitOf gives a number that has no unit the one that stands behind another: in "30 to
// 32 g" both are grams.
func unitOf(number, other string) string {
	if unitEnd.MatchString(number) {
		return number
	}
	return strings.TrimSpace(number + " " + unitEnd.FindString(other))
}

// middle returns what something is to be near, in the figure's own unit: a number, or
// the figure of a build that is named by its letter or its name, at the distance given
// where it has one for each.
func (m *Model) middle(k figure.Key, text string, distance unit.Optional[unit.Length], number func(string) (float64, error)) (float64, error) {
	text = strings.TrimSpace(text)
	v, err := number(text)
	if err == nil {
		return v, nil
	}
	i := slices.IndexFunc(m.Job().Builds, func(b arrow.Build) bool { return strings.EqualFold(b.Name, text) })
	for n := range m.Job().Builds {
		if strings.EqualFold(present.Letter(n), text) {
			i = n
		}
	}
	if i < 0 {
		return 0, fmt.Errorf("%q is neither a number nor a build on the bench", short(text))
	}
	setting, build := m.session.Sheet().Setting(), &m.Job().Builds[i]
	value := setting.One(build, k, distance.Value)
	if math.IsNaN(value) {
		return 0, fmt.Errorf("%s of %s is not known: it %s", k.Definition().Title, short(build.Name), m.session.Sheet().Builds[i].Place(m.placeOf(m.Job(), k)).Absent(k))
	}
	return k.Definition().Unit.Of(value), nil
}

// rangeExamples shows how a range of a figure may be written.
func (m *Model) rangeExamples(k figure.Key) string {
	switch k {
	case figure.ImpactShift:
		return fmt.Sprintf("within 1 %s at %s", m.units().Shown(unit.Inches).Symbol, m.units().Distance(m.chosen(), 4))
	case figure.TotalWeight, figure.FrontWeight:
		one := func(gr float64) string { return present.Bound(m.units(), k, gr, 3) }
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
	low, high := present.Bound(m.units(), k, sample[0], 3), present.Bound(m.units(), k, sample[1], 3)
	return strings.TrimSpace(fmt.Sprintf("at least %s, at most %s, or %s to %s %s", low, high, low, high, u.Symbol))
}

// bound writes one bound of a window as it is typed.
func (m *Model) bound(k figure.Key, v float64) string { return present.Bound(m.units(), k, v, 5) }

// windowWords writes a window the way it can be typed.
func (m *Model) windowWords(k figure.Key, w job.Window) string {
	return present.Window(m.units(), k, w)
}

// readLengths reads a list of lengths: "29, 29 1/2, 30". A comma with nothing behind
// it but a digit is a decimal, as everywhere.
func (m *Model) readLengths(typed string) ([]unit.Length, error) {
	var out []unit.Length
	for _, word := range betweenLengths.Split(typed, -1) {
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

var betweenLengths = regexp.MustCompile(`;|,\s+|,$`)

// mostLengths bounds the list: each costs as much as a search with one.
const mostLengths = 24
