package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// Working returns how a figure of a build as a whole was come by. For an absent
// figure the result says what it needs.
func (s *Sheet) Working(build int, k figure.Key) figure.Working { return s.WorkingAt(build, Whole, k) }

// WorkingAt is Working at one of the job's distances.
func (s *Sheet) WorkingAt(build, distance int, k figure.Key) figure.Working {
	b, out := &s.Job.Builds[build], &s.Builds[build]
	var w figure.Working
	if distance != Whole || k == figure.DragCoefficient || slices.Contains(wholeFlight, k) {
		w = s.flightFormula(build, distance, k)
	} else {
		w = s.formula(b, k)
	}
	d := k.Definition()
	f, ok := out.Place(distance).Figure(k)
	if !ok {
		w.Numbers, w.Drawing = nil, nil
		w.Result = "absent: " + out.Place(distance).Absent(k)
		if s.Itself(build, k) {
			w.Result = "this build is the baseline, which the others are compared with"
			if k == figure.MarginVsProven {
				w.Result = "this build is the one proven on this bow, which the others are compared with"
			}
		}
		return w
	}
	shown := s.Unit(k)
	value, u := figure.Rounded(shown.Of(f.Value), f.U/shown.Size)
	if k == figure.DozenCost {
		w.Result = strings.TrimSpace(fmt.Sprintf("%s = %.2f %s", d.Title, f.Value, shown.Symbol))
		return w
	}
	w.Result = strings.Join(strings.Fields(fmt.Sprintf("%s = %s ± %s %s (%s)", d.Title, value, u, shown.Symbol, f.Basis)), " ")
	w.Notes = append(w.Notes, s.uncertain(f)...)
	switch k {
	case figure.LaunchSpeed, figure.LaunchEnergy, figure.LaunchMomentum, figure.EnergyShare:
		w.Notes = append(w.Notes, s.Fit.Notes(s.Units)...)
		w.Notes = append(w.Notes, texts(out.Notes)...)
	}
	return w
}

// uncertain says where the uncertainty comes from, the largest parts first.
func (s *Sheet) uncertain(f figure.Figure) []string {
	if f.U == 0 {
		return []string{"Nothing in it carries an uncertainty."}
	}
	shares := slices.Clone(f.Shares)
	slices.SortStableFunc(shares, func(a, b figure.Share) int {
		return -cmpAbs(a.Amount, b.Amount)
	})
	var parts []string
	for _, share := range shares[:min(3, len(shares))] {
		parts = append(parts, fmt.Sprintf("%s %.0f %%", s.Inputs[share.Input].Name, 100*share.Amount*share.Amount/(f.U*f.U)))
	}
	return []string{
		"± is one standard uncertainty; its square comes from " + strings.Join(parts, ", ") + ".",
		"To know it better: " + s.Inputs[shares[0].Input].Remedy + ".",
	}
}

func cmpAbs(a, b float64) int {
	switch a, b = math.Abs(a), math.Abs(b); {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

const (
	lengthSource  = "Arrow length: throat of the nock to the cut end (trade association)."
	balanceSource = "Trade-association front-of-centre balance; balance point as on a knife edge, ASTM F1435."
	speedSource   = "Virtual mass: Klopsteg, Am. J. Phys. 11 (1943) 175; Hickman, Nagler & Klopsteg, Archery: the Technical Side (1947)."
	sumSource     = "Sum of the pieces."
)

// formula returns the formula of a figure and the same with a build's numbers.
func (s *Sheet) formula(b *arrow.Build, k figure.Key) figure.Working {
	m := b.Moments()
	grains := func(x unit.Mass) string { return s.told(float64(x), unit.Grains, 1) }
	inches := func(x unit.Length) string { return s.told(float64(x), unit.Inches, 3) }
	speed := s.told(float64(s.Fit.Speed(m.Total))*s.here.learned.speed, unit.FeetPerSecond, 1)
	peak := s.Job.Bow.Value.Peak.Value
	switch k {
	case figure.TotalWeight:
		return figure.Working{Formula: "sum of all pieces", Numbers: append(s.shaftLine(b), s.pieceSum(b, false)), Source: sumSource}
	case figure.FrontWeight:
		return figure.Working{Formula: "insert + collar + head + extras whose centre is at 0.85 of arrow length or beyond",
			Numbers: []string{s.pieceSum(b, true)}, Source: sumSource}
	case figure.BalancePoint:
		lines := []string{}
		for _, e := range b.Elements() {
			lines = append(lines, fmt.Sprintf("%s: %s at %s", e.Kind, grains(e.Mass), inches(e.Centre)))
		}
		return figure.Working{Formula: "Σ m x / Σ m, x from the throat of the nock to the centre of each piece",
			Numbers: append(lines, fmt.Sprintf("over %s in all", grains(m.Total))), Source: balanceSource + " " + lengthSource}
	case figure.FOC:
		return figure.Working{Formula: "100 (balance point − L/2) / L",
			Numbers: []string{fmt.Sprintf("100 (%s − %s / 2) / %s", inches(m.Balance), inches(b.Length), inches(b.Length))},
			Source:  balanceSource}
	case figure.Inertia:
		return figure.Working{Formula: "Σ m ((x − balance point)² + l²/12), l the length a piece is spread over",
			Numbers: []string{fmt.Sprintf("about the balance point at %s, over %d pieces", inches(m.Balance), len(b.Elements()))}, Source: "Rigid-body mechanics."}
	case figure.WeightPerDraw:
		return figure.Working{Formula: "total weight / peak draw weight",
			Numbers: []string{fmt.Sprintf("%s / %s", number(m.Total.In(unit.Grain), 1)+" gr", number(peak.In(unit.PoundForce), 1)+" lb")}, Source: "Definition used in the trade."}
	case figure.LaunchSpeed:
		return figure.Working{Formula: "√( 2 E / (m + K) ), E the energy the bow delivers, K its virtual mass",
			Numbers: append(append(s.fitLines(), fmt.Sprintf("m = %s", grains(m.Total))), s.learnedLines(s.here.learned.speed)...), Source: speedSource}
	case figure.LaunchEnergy:
		return figure.Working{Formula: "½ m v²", Numbers: []string{fmt.Sprintf("½ × %s × (%s)²", grains(m.Total), speed)}, Source: speedSource}
	case figure.LaunchMomentum:
		return figure.Working{Formula: "m v", Numbers: []string{fmt.Sprintf("%s × %s", grains(m.Total), speed)}, Source: speedSource}
	case figure.EnergyShare:
		return figure.Working{Formula: "100 m / (m + K)", Numbers: append(s.fitLines(), fmt.Sprintf("m = %s", grains(m.Total))),
			Source: speedSource, Notes: []string{"It is the arrow's part of what the bow delivers, not the bow's efficiency: what is lost inside the limbs is left out."}}
	case figure.DozenCost:
		var lines []string
		for _, p := range appendPrices(nil, b) {
			if p.price.Given {
				lines = append(lines, fmt.Sprintf("%s: %s × %s", p.name(b), number(p.count, 0), number(p.price.Value, 2)))
			}
		}
		return figure.Working{Formula: "12 × the sum of the prices, every vane counted", Numbers: lines, Source: "Prices as entered."}
	}
	return s.handlingFormula(b, k)
}

// fitLines says what the bow's readings came to.
func (s *Sheet) fitLines() []string {
	f := &s.Fit
	from := "from one reading"
	if n := len(f.Residuals); n > 1 {
		from = fmt.Sprintf("from %d readings", n)
	}
	if f.FromRating {
		from = "from the rating"
	}
	lines := []string{fmt.Sprintf("E = %s, K = %s, correlation %s, %s", s.Energy(), s.VirtualMass(), number(f.Correlation, 2), from)}
	if f.Scaled {
		n, _ := s.Job.Bow.Value.StrokeExponent()
		lines = append(lines, fmt.Sprintf("speeds taken at other settings count as E (peak/peak now)(stroke/stroke now)^%s, stroke = draw − brace − %s",
			number(n, 2), s.told(float64(bow.PivotToDraw), unit.Inches, 2)))
	}
	return lines
}

// Energy writes the energy that the bow delivers with its uncertainty.
func (s *Sheet) Energy() string {
	return s.withU(float64(s.Fit.Energy), float64(s.Fit.EnergyU), unit.FootPounds)
}

// VirtualMass writes the bow's virtual mass with its uncertainty.
func (s *Sheet) VirtualMass() string {
	return s.withU(float64(s.Fit.VirtualMass), float64(s.Fit.VirtualMassU), unit.Grains)
}

func (s *Sheet) withU(value, u float64, usual unit.Unit) string {
	shown := s.Units.Shown(usual)
	text, textU := figure.Rounded(shown.Of(value), u/shown.Size)
	return fmt.Sprintf("%s ± %s %s", text, textU, shown.Symbol)
}

// told writes a value whose usual unit is given, with at most that many decimals.
func (s *Sheet) told(value float64, usual unit.Unit, decimals int) string {
	return told(s.Units, value, usual, decimals)
}

func told(units unit.System, value float64, usual unit.Unit, decimals int) string {
	u := units.Shown(usual)
	if u == unit.Grams {
		decimals++ // a gram is fifteen grains
	}
	return number(u.Of(value), decimals) + " " + u.Symbol
}

func (s *Sheet) shaftLine(b *arrow.Build) []string {
	if b.Shaft.TubeWeight.Given {
		return []string{fmt.Sprintf("tube as weighed, %s long", s.told(float64(b.Tube()), unit.Inches, 3))}
	}
	return []string{fmt.Sprintf("tube %s × (%s − %s)", s.told(float64(b.Shaft.WeightPerInch.Value), unit.GrainsPerInch, 2),
		s.told(float64(b.Length), unit.Inches, 3), s.told(float64(b.Nock.ThroatOffset()), unit.Inches, 3))}
}

// pieceSum writes the sum of the pieces, of those at the front only if asked.
func (s *Sheet) pieceSum(b *arrow.Build, front bool) string {
	var terms []string
	for _, e := range b.Elements() {
		if front && !b.Front(e) {
			continue
		}
		name := string(e.Kind)
		if e.Kind == part.KindVanes {
			name = fmt.Sprintf("%d vanes", b.Vanes.Value.Count)
		}
		terms = append(terms, name+" "+s.told(float64(e.Mass), unit.Grains, 1))
	}
	return strings.Join(terms, " + ")
}

// number writes a number with at most that many decimals.
func number(x float64, decimals int) string {
	text := fmt.Sprintf("%.*f", decimals, x)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return figure.Minus(text)
}
