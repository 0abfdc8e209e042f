package sheet

import (
	"fmt"
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/steering"
	"foreshaft/engine/stiffness"
	"foreshaft/engine/unit"
)

const (
	spineSource = "Static spine: deflection under 1.94 lb on a span of 28 in, ASTM F2031."
	beamSource  = "Euler–Bernoulli beam by finite elements; checked against Blevins, Formulas for Natural Frequency and Mode Shape (1979)."
	kooiSource  = "No buckling at launch, and bending matched to the time on the string, are the two criteria of Kooi, History of Technology 20 (1998) 125; the columns are checked against Timoshenko & Gere, Theory of Elastic Stability."
	airSource   = "Slender bodies at small angles: Barrowman & Barrowman (1966), Centuri TIR-33 (1970); the shaft after Galejs."

	screens = "It screens, no more: choose the spine by the shaft maker's chart and have a fitter look. Builds that charts approve land between about 0.85 and 1.15, and one step of spine is worth about 0.15 (common practice); to land there does not mean that your chart approves it."
	even    = "It takes the shaft to be equally stiff all along and all around, and inserts to add weight but no stiffness."
	span    = "It speaks of a small wobble, and sees how high vanes are but hardly how long: long vanes do better than it says. Never rank vanes of different length by it."
	unseen  = "It does not see spin, offset or helical vanes, how soft vanes are, or the bending of the shaft. Heights of vanes and sizes of blades count as entered: the ± has no part for them, nor for the method itself."
)

// handlingFormula is formula for the figures of stiffness and steering.
func (s *Sheet) handlingFormula(b *arrow.Build, k figure.Key) figure.Working {
	switch k {
	case figure.BendingStiffness:
		return figure.Working{Formula: "EI = F l³ / (48 × static spine)", Numbers: []string{s.spineLine(b)}, Source: spineSource, Notes: []string{even}}
	case figure.BendingFrequency:
		return s.frequencyFormula(b)
	case figure.LaunchMargin:
		return s.marginFormula(b)
	case figure.MarginVsProven:
		w := figure.Working{Formula: "100 (launch margin / launch margin of the proven build − 1)", Source: "Launch margin, see there.", Notes: []string{
			"What both builds share cancels: this says more than the margin itself. It still is a reckoning: shoot it close first, and have a fitter look where it is weaker.",
		}}
		if s.Proven >= 0 {
			values := s.here.solved(b).values
			margin, _ := values.Get(figure.LaunchMargin)
			w.Numbers = []string{fmt.Sprintf("100 (%s / %s − 1), against %s", number(margin, 3), number(s.here.proven, 3), s.Job.Builds[s.Proven].Name)}
		}
		return w
	case figure.BendsOnString:
		w := figure.Working{Formula: "bends a second × 2 × stroke / speed", Source: kooiSource, Notes: []string{
			"It takes the string to push evenly from rest: good to about 20 %, most of which is the same for all builds. Compare builds with each other by it.",
		}}
		values := s.here.solved(b).values
		frequency, ok := values.Get(figure.BendingFrequency)
		speed, ok2 := values.Get(figure.LaunchSpeed)
		if ok && ok2 {
			w.Numbers = []string{fmt.Sprintf("%s Hz × 2 × %s / %s", number(frequency, 1), s.told(float64(s.here.stroke.Value), unit.Inches, 2), s.told(speed, unit.FeetPerSecond, 1)),
				"stroke = draw length − brace height − " + s.told(float64(bow.PivotToDraw), unit.Inches, 2)}
		}
		return w
	}
	return s.steerFormula(b, k)
}

// spineLine writes how EI follows from the static spine.
func (s *Sheet) spineLine(b *arrow.Build) string {
	return fmt.Sprintf("%s × (%s)³ / (48 × %s)", s.told(float64(stiffness.SpineLoad), unit.PoundsForce, 2), s.told(float64(stiffness.SpineSpan), unit.Inches, 2),
		s.told(float64(b.Shaft.Spine.Value), unit.Inches, 3))
}

// rigidityLine writes a shaft's EI.
func (s *Sheet) rigidityLine(b *arrow.Build) string {
	u := s.Units.Shown(unit.PoundSquareInches)
	decimals := 0
	if u != unit.PoundSquareInches {
		decimals = 3
	}
	return fmt.Sprintf("EI = %s %s from a static spine of %s", number(u.Of(stiffness.Rigidity(b.Shaft.Spine.Value)), decimals), u.Symbol, s.told(float64(b.Shaft.Spine.Value), unit.Inches, 3))
}

func (s *Sheet) frequencyFormula(b *arrow.Build) figure.Working {
	w := figure.Working{
		Formula: "the first bending of the shaft, free at both ends, every other piece a weight at its centre",
		Source:  beamSource + " " + spineSource,
		Notes:   []string{even, "Laid on two soft supports and tapped, an arrow rings at this pitch: a recording of it would check the figure."},
	}
	f, err := stiffness.NewBending(b)
	if err != nil {
		return w
	}
	tube := float64(b.Tube())
	bare := math.Pow(stiffness.FreeFree, 2) / (2 * math.Pi) * math.Sqrt(stiffness.Rigidity(b.Shaft.Spine.Value)/(float64(b.ShaftWeight())*tube*tube*tube))
	w.Numbers = []string{
		s.rigidityLine(b),
		fmt.Sprintf("the bare shaft, %s over %s, would bend at %s Hz: 22.37 / 2π × √(EI / (weight × length³))",
			s.told(float64(b.ShaftWeight()), unit.Grains, 1), s.told(tube, unit.Inches, 2), number(bare, 1)),
		fmt.Sprintf("the weight on it makes it slower: %s Hz", number(f.Frequency, 1)),
	}
	w.Drawing = append([]string{"how it bends, from the nock to the cut end, swinging to and fro"},
		drawn(func(share float64) float64 { return f.Bent(b.Nock.ThroatOffset() + unit.Length(share*tube)) })...)
	return w
}

// marginFormula says in a few lines what a launch margin is.
func (s *Sheet) marginFormula(b *arrow.Build) figure.Working {
	w := figure.Working{
		Formula: "the push at which the shaft folds / the push at launch",
		Source:  kooiSource + " " + spineSource,
		Notes: []string{
			"It takes the whole peak weight to press at once on a straight shaft that string and rest hold still. The real push comes and goes within a hundredth of a second and no shaft is straight: 1 is a yardstick and no limit, and a margin above 1 is no promise.",
			screens, even,
		},
	}
	if s.Job.Bow.Value.ReleaseOrDefault() == bow.Fingers {
		w.Notes = append(w.Notes, "Fingers push the string aside as they let go, which is not in it: on this bow only a proven build can tell weak from stiff.")
	}
	if s.marginReason(b) != "" {
		return w
	}
	c, err := stiffness.NewColumn(b, s.here.rest.Value)
	if err != nil {
		return w
	}
	total := b.Moments().Total
	launch := s.here.acceleration(total)
	gravity := func(a float64) string { return number(a/unit.StandardGravity, 0) + " times gravity" }
	ahead := fmt.Sprintf("%s of arrow stand out ahead of the rest", s.told(float64(b.Length-c.Rest()), unit.Inches, 2))
	if c.Rest() >= b.Length {
		ahead = "the arrow does not reach past the rest: it is taken as held at its cut end"
	}
	w.Numbers = []string{
		s.rigidityLine(b),
		fmt.Sprintf("held at the throat and on the rest, %s ahead of it; %s", s.told(float64(c.Rest()), unit.Inches, 2), ahead),
		fmt.Sprintf("at launch: peak weight / (arrow + virtual mass) = %s / (%s + %s) = %s",
			s.told(float64(s.here.peak.Value), unit.PoundsForce, 1), s.told(float64(total), unit.Grains, 1), s.told(float64(s.here.virtual), unit.Grains, 1), gravity(launch)),
		fmt.Sprintf("every place of the shaft has to push what lies ahead of it; it folds at %s", gravity(c.Critical)),
	}
	length := float64(b.Length)
	at := func(share float64) unit.Length { return unit.Length(share * length) }
	w.Drawing = append([]string{"how it bends before it folds, from the throat to the cut end"}, drawn(func(share float64) float64 { return c.Bent(at(share)) })...)
	w.Drawing = append(w.Drawing, supports(float64(c.Rest())/length), "")
	w.Drawing = append(w.Drawing, fmt.Sprintf("a place pushes %s at the throat, %s at the rest, %s at the end",
		s.told(float64(stiffness.Ahead(b, 0)), unit.Grains, 0), s.told(float64(stiffness.Ahead(b, c.Rest())), unit.Grains, 0), s.told(float64(stiffness.Ahead(b, b.Length)), unit.Grains, 0)))
	w.Drawing = append(w.Drawing, piled(func(share float64) float64 { return float64(stiffness.Ahead(b, at(share)) / stiffness.Ahead(b, 0)) })...)
	return w
}

// steerFormula is formula for the figures of steering.
func (s *Sheet) steerFormula(b *arrow.Build, k figure.Key) figure.Working {
	w := figure.Working{Source: airSource, Notes: []string{span, unseen}}
	f, err := steering.Of(b)
	m := b.Moments()
	inches := func(x unit.Length) string { return s.told(float64(x), unit.Inches, 2) }
	var parts []string
	if err == nil {
		for _, p := range f.Parts() {
			parts = append(parts, fmt.Sprintf("%s: C = %s at %s", p.Name, number(p.Slope, 2), inches(p.At)))
		}
	}
	balance := "balance point " + inches(m.Balance)
	switch k {
	case figure.PressurePoint:
		w.Formula = "Σ C x / Σ C, C how fast the sideways push on each part grows with the angle, x where it acts from the throat"
		w.Numbers = parts
	case figure.SteerMargin:
		w.Formula = "100 (balance point − pressure point) / L: above 0 the air tends to turn the arrow straight, near 0 nobody can tell"
		if err == nil {
			w.Numbers = []string{fmt.Sprintf("100 (%s − %s) / %s", inches(m.Balance), inches(f.PressurePoint()), inches(b.Length))}
		}
	case figure.SteerMoment:
		w.Formula = "100 × [ v² A Σ C (balance point − x) ] / the same of the baseline"
		w.Numbers = append(parts, balance)
	case figure.HeadShare:
		w.Formula = "100 × C (x − balance point) of the blades / C (balance point − x) of the vanes"
		w.Numbers = append(parts, balance)
		w.Notes = append(w.Notes, "A head that planes shows at distance: shoot it against field points before you rely on it.")
	case figure.WobbleLength:
		w.Formula = "2π √( 2 I / (ρ A Σ C (balance point − x)) ), I the inertia; the speed does not matter"
		w.Numbers = append(parts, balance, fmt.Sprintf("I = %s, air ρ = %s kg/m³", s.told(float64(m.Inertia), unit.GrainSquareInches, 0), number(s.here.density, 3)))
	}
	return w
}

// The size of drawings in text: they fit beside a margin on the narrowest screen.
const (
	drawingWidth  = 61
	drawingHeight = 5
)

// drawn draws a bent arrow: of is how far it stands off at a share of its length,
// at most one either way.
func drawn(of func(share float64) float64) []string {
	low, high := 0.0, 0.0
	values := make([]float64, drawingWidth)
	for i := range values {
		values[i] = of(float64(i) / (drawingWidth - 1))
		low, high = min(low, values[i]), max(high, values[i])
	}
	rows := make([][]rune, drawingHeight)
	for i := range rows {
		rows[i] = []rune(fmt.Sprintf("%*s", drawingWidth, ""))
	}
	row := func(v float64) int {
		if high == low {
			return 0
		}
		return int(math.Round((high - v) / (high - low) * (drawingHeight - 1)))
	}
	for i := range drawingWidth {
		rows[row(0)][i] = '·'
	}
	for i, v := range values {
		rows[row(v)][i] = '•'
	}
	return text(rows)
}

// supports draws what holds an arrow below it: the string, and the rest.
func supports(rest float64) string {
	const behind, holds = "string", "rest"
	at := int(math.Round(rest * (drawingWidth - 1)))
	line := []rune(fmt.Sprintf("%*s", drawingWidth, ""))
	line[0], line[at] = '▲', '▲'
	if before := at - len(holds) - 1; before > len(behind)+2 {
		copy(line[2:], []rune(behind))
		copy(line[before:], []rune(holds))
	} else { // no room for both words between them
		copy(line[at+2:], []rune(holds))
	}
	return trimmed(line)
}

// piled draws columns as high as of says, at most one.
func piled(of func(share float64) float64) []string {
	const height = 4
	rows := make([][]rune, height)
	for r := range rows {
		rows[r] = []rune(fmt.Sprintf("%*s", drawingWidth, ""))
		for i := range rows[r] {
			if v := of(float64(i) / (drawingWidth - 1)); v > (float64(height-r)-0.5)/height || r == height-1 && v > 0 {
				rows[r][i] = '■'
			}
		}
	}
	return text(rows)
}

func text(rows [][]rune) []string {
	out := make([]string, len(rows))
	for i, r := range rows {
		out[i] = trimmed(r)
	}
	return out
}

func trimmed(line []rune) string {
	end := len(line)
	for end > 0 && line[end-1] == ' ' {
		end--
	}
	return string(line[:end])
}
