package fitting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// teller puts the figures of proposals into sentences.
type teller struct {
	*sheet.Sheet
	builds []sheet.Build // the proposals alone
	far    unit.Length   // the farthest distance of the job, the only one of the sheet
}

// amount writes a figure or a difference, rounded by its uncertainty, which is left
// to the bench: a sentence over the counter has to be plain. It is empty where that
// rounds to nothing.
func (t *teller) amount(k figure.Key, value, u float64) string {
	shown := t.Unit(k)
	number, _ := figure.Rounded(math.Abs(value)/shown.Size, u/shown.Size)
	if strings.Trim(number, "0.") == "" {
		return ""
	}
	return strings.TrimSpace(number + " " + shown.Symbol)
}

func (t *teller) figure(b *sheet.Build, k figure.Key) (figure.Figure, bool) {
	if k.Definition().At {
		return b.At[0].Figure(k)
	}
	return b.Figure(k)
}

// value writes a figure of a build; empty where it has none.
func (t *teller) value(b *sheet.Build, k figure.Key) string {
	f, ok := t.figure(b, k)
	if !ok {
		return ""
	}
	return t.amount(k, f.Value, f.U)
}

// forgiven returns how far the distance may be misjudged to the worse side.
func (t *teller) forgiven(b *sheet.Build) (figure.Figure, bool) {
	short, ok := t.figure(b, figure.RangeShort)
	long, ok2 := t.figure(b, figure.RangeLong)
	if ok && (!ok2 || short.Value < long.Value) {
		return short, true
	}
	return long, ok2
}

// reference returns which proposal the one at a place is told against: the middle
// one, of two the other, and itself where there is nothing to tell it against.
func (t *teller) reference(i int) (reference int, called string) {
	switch len(t.builds) {
	case 3:
		return 1, "the middle one"
	case 2:
		return 1 - i, [2]string{"the heavy one", "the light one"}[i]
	}
	return i, ""
}

// says tells what is gained and given up with a proposal.
func (t *teller) says(i int) string {
	b := &t.builds[i]
	against, called := t.reference(i)
	begin := b.Name + ", " + t.value(b, figure.TotalWeight)
	if against == i {
		return begin + t.alone(b)
	}
	var gains, losses []string
	other := &t.builds[against]
	// note tells of a difference, which is a gain where it is more than nothing.
	note := func(k figure.Key, gained, u float64, phrase string) {
		words := t.amount(k, gained, u)
		switch {
		case words == "":
		case gained > 0:
			gains = append(gains, fmt.Sprintf(phrase, words))
		default:
			losses = append(losses, fmt.Sprintf(phrase, words))
		}
	}
	compare := func(k figure.Key, phrase string, wanted float64) {
		mine, ok := t.figure(b, k)
		theirs, ok2 := t.figure(other, k)
		if ok && ok2 {
			delta, u := figure.Difference(mine, theirs)
			note(k, wanted*delta, u, phrase)
		}
	}
	there := "at " + t.Units.Distance(t.far, 3)
	compare(figure.LaunchSpeed, "%s of speed", 1)
	compare(figure.TotalWeight, "%s of weight", 1)
	compare(figure.Momentum, "%s of momentum "+there, 1)
	compare(figure.Drop, "a path %s flatter "+there, -1)
	mine, ok := t.forgiven(b)
	if theirs, ok2 := t.forgiven(other); ok && ok2 {
		delta, u := figure.Difference(mine, theirs)
		note(mine.Key, delta, u, "%s of room for a misjudged distance there")
	}
	out := begin + ". Against " + called + " it " + both(gains, losses) + "."
	price, priced := b.Figure(figure.DozenCost)
	if before, both := other.Figure(figure.DozenCost); priced && both && math.Abs(price.Value-before.Value) >= 0.005 {
		word := "more"
		if price.Value < before.Value {
			word = "less"
		}
		out += fmt.Sprintf(" A dozen costs %.2f %s.", math.Abs(price.Value-before.Value), word)
	}
	return out
}

// both joins what is gained and what is given up.
func both(gains, losses []string) string {
	switch {
	case len(gains)+len(losses) == 0:
		return "differs in its parts alone"
	case len(gains) == 0:
		return "gives up " + series(losses)
	case len(losses) == 0:
		return "gains " + series(gains)
	}
	return "gains " + series(gains) + "; it gives up " + series(losses)
}

func series(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// alone tells of a proposal what others are told against.
func (t *teller) alone(b *sheet.Build) string {
	var words []string
	if v := t.value(b, figure.LaunchSpeed); v != "" {
		words = append(words, "it leaves the string at "+v)
	}
	if v := t.value(b, figure.Momentum); v != "" {
		words = append(words, "has "+v+" of momentum left at "+t.Units.Distance(t.far, 3))
	}
	if v := t.value(b, figure.Drop); v != "" {
		words = append(words, "drops "+v+" by then")
	}
	out := "."
	if len(words) > 0 {
		out = ": " + series(words) + "."
	}
	if len(t.builds) == 3 {
		out = strings.TrimSuffix(out, ".") + "; the other two are told against it."
	}
	return out
}

// first says what comes before any proposal.
const first = "These are proposals and no advice: the makers' charts and minimums, local law and a qualified fitter come first. Shoot the first of a build close and alone before more are made."

// notes says what else there is to know of proposals.
func (f *fitter) notes(t *teller, chosen []candidate, left left) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if !f.known {
		say("There is no speed: the bow %s. The builds differ by weight alone, and shafts are judged by the virtual mass that is usual for such a bow.", t.FitErr)
	}
	gap := f.units.Weight(apartBy, 3)
	if f.known {
		speed := f.units.Shown(unit.FeetPerSecond)
		gap += fmt.Sprintf(" or %.3g %s", speed.Of(float64(apartBySpeed)), speed.Symbol)
	}
	told := map[string][]string{}
	var order []string
	for i := range t.builds {
		for _, c := range faults(&t.builds[i]) {
			if c.Code == caution.Folds { // without a speed, which is said already
				continue
			}
			if told[c.Text] == nil {
				order = append(order, c.Text)
			}
			told[c.Text] = append(told[c.Text], t.builds[i].Name)
		}
	}
	warning := "a warning"
	if len(order) > 0 {
		warning = "another warning"
	}
	switch len(chosen) {
	case 1:
		say("Only one is proposed: what else these parts allow is less than %s from it or carries %s. %s.", gap, warning, f.more())
	case 2:
		say("Only two are proposed: these parts allow no third that is %s from both without %s. %s.", gap, warning, f.more())
	}
	for _, text := range order {
		say("With these parts there is no way around this warning for %s: %s", series(told[text]), text)
	}
	for i := range t.builds {
		for _, c := range t.builds[i].Notes {
			if c.Code == sheet.BeyondReadings {
				say("%s: %s", t.builds[i].Name, c.Text)
			}
		}
	}
	if f.answers.Growing && f.answers.heads() != FieldPoint {
		say("Someone who still grows and broadheads: children shoot no broadheads. Answer with a field point, or be sure that this is no child and that the law allows it.")
	}
	f.odd(t, say)
	if left.unsaid > 0 {
		say("Left out: %s without a spine or a weight by the inch.", counted(left.unsaid, "shaft"))
	}
	if left.priceless > 0 {
		say("Left out because a budget was given: %s without a price.", counted(left.priceless, "part"))
	}
	return append(out, first)
}

// more says what would let more be proposed.
func (f *fitter) more() string {
	if f.answers.Budget > 0 {
		return "A higher budget may allow more; else widen the ranges of the purpose, or add parts to the drawer"
	}
	return "Widen the ranges of the purpose, or add parts to the drawer"
}

// odd says which launch margins lie outside of what is to be preferred.
func (f *fitter) odd(t *teller, say func(string, ...any)) {
	for i := range t.builds {
		margin, ok := t.builds[i].Figure(figure.LaunchMargin)
		if !ok || slices.ContainsFunc(t.builds[i].Cautions, func(c caution.Caution) bool { return c.Code == caution.Weak && c.Level == caution.Warn }) {
			continue
		}
		most := f.high
		if math.IsInf(most, 1) {
			most = caution.StiffAbove
		}
		switch value := margin.Value; {
		case value > most*(1+slack):
			say("%s: launch margin %.2f is above %.2f, so the shaft is stiffer than charts usually ask for: harder to tune, in itself no hazard. The shaft maker's chart decides.", t.builds[i].Name, value, most)
		case value < f.low*(1-slack):
			say("%s: launch margin %.2f is below %.2f. For a release with the fingers the number tells little: have a fitter look at the shaft.", t.builds[i].Name, value, f.low)
		}
	}
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
