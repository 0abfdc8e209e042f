// Package caution says what could hurt someone, break a rule or mislead about a
// build on a bow, each in one sentence with what to do about it.
//
// The limits are common practice unless a sentence names a source: the makers'
// charts and minimums, local law and a qualified fitter come first.
package caution

import (
	"fmt"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// Level says how much a caution matters.
type Level string

// The levels, the gravest first.
const (
	Danger Level = "danger"
	Warn   Level = "warn"
	Note   Level = "note"
)

// Code names a caution in the exchange format.
type Code string

// The cautions, in the order they are given.
const (
	LightArrow Code = "light_arrow"
	OverPeak   Code = "over_peak"
	ShortArrow Code = "short_arrow"
	BladeReach Code = "blade_reach"
	Folds      Code = "folds"
	Weak       Code = "weak"
	Stiff      Code = "stiff"
	Unstable   Code = "unstable"
	Plane      Code = "plane"
	Misfit     Code = "misfit"
	OverLimit  Code = "over_limit"
	Broadhead  Code = "broadhead"
	Expandable Code = "expandable"
	Lighted    Code = "lighted"
	FOCOut     Code = "foc_out"
	Rough      Code = "rough"
)

// Words names the caution in two or three words.
func (c Code) Words() string {
	switch c {
	case FOCOut:
		return "FOC outside usual"
	case Rough:
		return "too close to call"
	case Lighted:
		return "lighted nock"
	case Folds:
		return "badly underspined"
	case Weak:
		return "weak shaft"
	case Stiff:
		return "stiff shaft"
	case Unstable:
		return "turns over"
	case Plane:
		return "head may plane"
	}
	return strings.ReplaceAll(string(c), "_", " ")
}

// Hazard says in a few words what a danger may do to someone.
func (c Code) Hazard() string {
	switch c {
	case LightArrow:
		return "too light, near a dry fire"
	case OverPeak:
		return "bow set above its maximum"
	case ShortArrow:
		return "too short, may be shot into hand or arm"
	case BladeReach:
		return "blades may reach hand or riser at full draw"
	case Folds:
		return "may break at launch"
	case Unstable:
		return "turns over in flight"
	}
	return c.Words()
}

// Caution is one thing to know before shooting a build.
type Caution struct {
	Code  Code
	Level Level
	Text  string // what is wrong, and what to do
	// Unchecked is true when the check could not be made for want of an input.
	Unchecked bool
	// About is the caution that could turn out either way, of one that is Rough.
	About Code
	// Limit is which limit of the rules sheet it is about, where it is about one.
	Limit string
}

// Same reports whether two cautions are about the same thing, whatever their level.
func (c Caution) Same(o Caution) bool {
	return c.Code == o.Code && c.About == o.About && c.Limit == o.Limit
}

// Facts is what the checks look at. Figure returns a figure of the build, and
// false when it is absent; Absent says why it is. Proven names the build that is
// proven on the bow, and is empty when none is.
type Facts struct {
	Job    *job.Job
	Build  *arrow.Build
	Figure func(figure.Key) (figure.Figure, bool)
	Absent func(figure.Key) string
	Proven string
	// Shot is true for a build that bears the mark itself: it has been shot, so that
	// no comparison calls it weak or stiff.
	Shot   bool
	Inputs []figure.Input
	Units  unit.System // in which the texts are told
}

// Check returns the build's cautions, dangers first, otherwise in a fixed order.
func Check(f Facts) []Caution {
	c := &checker{Facts: f, bow: f.Job.Bow.Value}
	c.lightArrow()
	c.overPeak()
	c.shortArrow()
	c.spine()
	c.steering()
	c.misfit()
	c.overLimit()
	c.head()
	if f.Build.Nock.Lighted {
		c.add(Lighted, Note, "The nock is lighted: electronics are not allowed everywhere. Check the rules and the law before you carry it.")
	}
	c.focOut()
	slices.SortStableFunc(c.out, Compare)
	return c.out
}

// Compare orders dangers first and checks that were not made last, for sorting.
func Compare(a, b Caution) int { return rank(a) - rank(b) }

func rank(c Caution) int {
	switch {
	case c.Unchecked:
		return 3
	case c.Level == Danger:
		return 0
	case c.Level == Warn:
		return 1
	}
	return 2
}

type checker struct {
	Facts
	bow bow.Bow
	out []Caution
}

func (c *checker) add(code Code, level Level, format string, args ...any) {
	c.out = append(c.out, Caution{Code: code, Level: level, Text: fmt.Sprintf(format, args...)})
}

// unchecked says that a danger could not be looked for.
func (c *checker) unchecked(code Code, what, input string) {
	c.out = append(c.out, Caution{Code: code, Level: Note, Unchecked: true,
		Text: fmt.Sprintf("not checked: %s; needs %s.", what, input)})
}

// lacking is unchecked for a check that needs a figure which is absent.
func (c *checker) lacking(code Code, what string, k figure.Key) {
	c.unchecked(code, what, strings.TrimPrefix(c.Absent(k), "needs "))
}

// close reports that a threshold lies within two standard uncertainties of a
// figure, so that the caution could turn out either way. What a model leaves out
// is no part of that: the thresholds are thresholds of the model, and no
// measurement would settle it.
func (c *checker) close(code Code, fig figure.Figure, threshold float64) {
	measurable := fig
	measurable.Shares = slices.DeleteFunc(slices.Clone(fig.Shares), func(s figure.Share) bool { return c.Inputs[s.Input].Model })
	measurable.U = figure.Combine(measurable.Shares)
	if gap := fig.Value - threshold; gap > 2*measurable.U || gap < -2*measurable.U {
		return
	}
	largest, uncertain := measurable.Largest()
	if !uncertain {
		return
	}
	d := fig.Key.Definition()
	also := ""
	switch code {
	case Folds, Weak, Stiff:
		also = ", and the shaft maker's chart and a fitter decide"
	case Unstable, Plane:
		also = ", and only shooting it tells"
	}
	c.rough(code, "%s %s is so close to %s that this could turn out either way: %s. Take it for the worse until you know; it would help most to %s%s.", d.Title, c.plusMinus(fig),
		c.measure(threshold, d.Unit), code.Words(), c.Inputs[largest.Input].Remedy, also)
}

// rough says that a caution could turn out either way.
func (c *checker) rough(about Code, format string, args ...any) {
	c.add(Rough, Note, format, args...)
	c.out[len(c.out)-1].About = about
}

func (c *checker) plusMinus(f figure.Figure) string {
	shown := c.Units.Shown(f.Key.Definition().Unit)
	value, u := figure.Rounded(shown.Of(f.Value), f.U/shown.Size)
	return strings.TrimSpace(fmt.Sprintf("%s ± %s %s", value, u, shown.Symbol))
}

func (c *checker) measure(value float64, u unit.Unit) string {
	u = c.Units.Shown(u)
	return strings.TrimSpace(figure.Minus(fmt.Sprintf("%.4g", u.Of(value))) + " " + u.Symbol)
}

const dryFire = "An arrow this light approaches a dry fire: it can break limbs, string and cams and injure. The bow maker's minimum decides"

// lightArrow judges on the unsafe side, two standard uncertainties down.
func (c *checker) lightArrow() {
	total, ok := c.Figure(figure.TotalWeight)
	if !ok {
		c.unchecked(LightArrow, "whether the arrow is too light for the bow", "the weight of the build")
		return
	}
	var found *Caution
	if least := c.bow.MinimumArrow; least.Given && least.Value > 0 {
		if total.Value-2*total.U < float64(least.Value) {
			found = &Caution{Code: LightArrow, Level: Danger, Text: fmt.Sprintf("%s is below the bow maker's minimum of %s. %s: use a heavier head, insert or shaft.",
				c.plusMinus(total), c.measure(float64(least.Value), unit.Grains), dryFire)}
			if total.Value >= float64(least.Value) {
				found.Text = strings.Replace(found.Text, "is below", "may be below", 1)
			}
			c.close(LightArrow, total, float64(least.Value))
		}
	} else {
		c.unchecked(LightArrow, "the bow maker's minimum arrow weight", "the minimum that the bow's maker gives")
	}
	ratio, ok := c.Figure(figure.WeightPerDraw)
	if !ok {
		c.unchecked(LightArrow, "grains per pound", "the bow's peak draw weight")
	} else if found == nil {
		found = c.lightByRatio(ratio)
	}
	if found != nil {
		c.out = append(c.out, *found)
	}
}

func (c *checker) lightByRatio(ratio figure.Figure) *Caution {
	danger, warn := c.bow.KindOrDefault().LightLimits()
	low := ratio.Value - 2*ratio.U
	level, limit := Danger, float64(danger)
	if low >= limit {
		level, limit = Warn, float64(warn)
	}
	if low >= limit {
		return nil
	}
	verb := "is"
	if ratio.Value >= limit {
		verb = "may be"
	}
	c.close(LightArrow, ratio, limit)
	return &Caution{Code: LightArrow, Level: level, Text: fmt.Sprintf("%s %s below %s for a %s (common practice). %s: use a heavier head, insert or shaft.",
		c.plusMinus(ratio), verb, c.measure(limit, unit.GrainsPerPound), c.bow.KindOrDefault(), dryFire)}
}

func (c *checker) overPeak() {
	peak, most := c.bow.Peak, c.bow.MaximumPeak
	switch {
	case !peak.Given:
		c.unchecked(OverPeak, "whether the bow is set above its maximum", "the bow's peak draw weight")
	case !most.Given:
		c.unchecked(OverPeak, "whether the bow is set above its maximum", "the maximum peak weight that the bow's maker gives")
	case peak.Value > most.Value:
		c.add(OverPeak, Danger, "Peak weight %s is above the bow's maximum of %s: limbs and string can fail. Back the bow off before it is drawn again.",
			c.measure(float64(peak.Value), unit.PoundsForce), c.measure(float64(most.Value), unit.PoundsForce))
	}
}

// ClearOfRest is how far the cut end is to stand ahead of the rest at full draw (common
// practice).
const ClearOfRest = 1 * unit.Inch

// shortArrow judges on the unsafe side, two standard uncertainties down.
func (c *checker) shortArrow() {
	rest, known := c.bow.Rest()
	bladed := c.Build.Head.Blades > 0
	if !known {
		c.unchecked(ShortArrow, "whether the arrow is too short for the draw", "the bow's draw length")
		if bladed {
			c.unchecked(BladeReach, "whether the blades reach the hand or riser at full draw", "the bow's draw length")
		}
		return
	}
	ahead := c.Build.Length - rest
	u := figure.Combine([]figure.Share{{Amount: float64(c.Build.LengthUncertainty())}, {Amount: float64(c.bow.DrawUncertainty())}})
	low := ahead - 2*unit.Length(u)
	growing := "Growing archers need " + c.Units.Span(2*unit.Inch, 3) + " ahead of the rest"
	switch {
	case low < 0:
		c.add(ShortArrow, Danger, "The cut end is %s at full draw: it may drop off the rest and be shot into hand or arm. Do not shoot it: cut the next one longer. %s.", c.restGap(ahead, u), growing)
	case low < ClearOfRest:
		c.add(ShortArrow, Warn, "The cut end is %s at full draw and may be less than %s ahead: overdrawn a little it drops off the rest and may be shot into hand or arm. Have a fitter look before it is shot, and cut the next one longer. %s.",
			c.restGap(ahead, u), c.Units.Span(ClearOfRest, 3), growing)
	}
	for _, limit := range []unit.Length{0, ClearOfRest} {
		if gap := ahead - limit; gap <= 2*unit.Length(u) && gap >= -2*unit.Length(u) {
			c.rough(ShortArrow, "The cut end is %s at full draw, so close to %s that this could turn out either way: %s. Take it for the worse until you know; it would help most to measure the draw length on the bow.",
				c.restGap(ahead, u), c.measure(float64(limit), unit.Inches), ShortArrow.Words())
			break
		}
	}
	if bladed && ahead < ClearOfRest {
		c.add(BladeReach, Danger, "The cut end is %s at full draw: the blades may reach the hand or the riser. Use a longer shaft with this head.", c.restGap(ahead, u))
	}
}

func (c *checker) restGap(ahead unit.Length, u float64) string {
	in := c.Units.Shown(unit.Inches)
	value, spread := figure.Rounded(in.Of(float64(ahead)), u/in.Size)
	where := "ahead of"
	if ahead < 0 {
		value, where = strings.TrimPrefix(value, "−"), "behind"
	}
	return fmt.Sprintf("%s ± %s %s %s the rest", value, spread, in.Symbol, where)
}

// opensFrom is the peak weight from which an expandable head is usually shot
// (common practice).
const opensFrom = 50 * unit.PoundForce

func (c *checker) head() {
	h := &c.Build.Head
	if h.Blades > 0 {
		c.add(Broadhead, Warn, "The head has blades: keep it covered, screw it in with a broadhead wrench, carry it in a hooded quiver, shoot it only at a target rated for it and never toward anyone. Shoot it against field points before you rely on it. Head types and cut width are regulated: check local law.")
	}
	if h.Expandable && c.bow.Peak.Given && c.bow.Peak.Value < opensFrom {
		c.add(Expandable, Note, "An expandable head below %s of peak weight may not open or pass through (common practice): check the law and the head maker's minimum.", c.Units.Pull(opensFrom, 3))
	}
}

func (c *checker) focOut() {
	foc, ok := c.Figure(figure.FOC)
	if !ok {
		return
	}
	if foc.Value < 0.07 || foc.Value > 0.20 {
		c.add(FOCOut, Note, "FOC %s is outside the usual 7 to 20 %% (common practice): shoot one at distance before you make more.", c.plusMinus(foc))
	}
	c.close(FOCOut, foc, 0.07)
	c.close(FOCOut, foc, 0.20)
}
