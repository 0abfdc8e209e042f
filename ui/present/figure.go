// Package present turns the engine's figures, pieces and cautions into rows of
// plain strings with unit and sign. Screens, plain output and tickets share it;
// it knows no terminal.
package present

import (
	"fmt"
	"strings"

	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
	"foreshaft/ui/text"
)

// Cell is one figure of one build as text. On the baseline, and where there is
// nothing to compare with, Delta is empty.
type Cell struct {
	Value, U, Unit string
	Delta, DeltaU  string
	Absent         string // why there is no value
	Doubt          bool   // it is marked as not to be trusted without a look
	Measured       string // what was measured of a proven arrow, less the value
	Basis          string // what it rests on: measured, or estimated
}

// FigureCell returns a figure of a build as a whole as text, rounded by its
// uncertainty.
func FigureCell(s *sheet.Sheet, build int, k figure.Key) Cell {
	return FigureCellAt(s, build, sheet.Whole, k)
}

// What stands where a comparison would compare a build with itself.
const (
	isBaseline = "baseline"
	isProven   = "the proven one"
)

func (c Cell) itself() bool { return c.Absent == isBaseline || c.Absent == isProven }

// FigureCellAt is FigureCell at one of the job's distances.
func FigureCellAt(s *sheet.Sheet, build, distance int, k figure.Key) Cell {
	set := s.Builds[build].Place(distance)
	f, ok := set.Figure(k)
	if !ok {
		switch {
		case !s.Itself(build, k):
		case k == figure.MarginVsProven:
			return Cell{Absent: isProven}
		default:
			return Cell{Absent: isBaseline}
		}
		return Cell{Absent: set.Absent(k)}
	}
	u := s.Unit(k)
	c := Cell{Unit: u.Symbol, Basis: string(f.Basis)}
	c.Value, c.U = figure.Rounded(u.Of(f.Value), f.U/u.Size)
	if k == figure.DozenCost {
		c.Value, c.U = fmt.Sprintf("%.2f", f.Value), ""
	}
	c.Doubt = k == figure.LaunchSpeed && SpeedInDoubt(s, build)
	if k.Definition().Compares && k != figure.SteerMoment { // which is a share, not a difference
		c.Value = Plus(c.Value)
	}
	if by := Miss(s, build, k); by != "" {
		c.Measured = "measured " + by
	}
	if delta, deltaU, ok := s.DeltaAt(build, distance, k); ok {
		c.Delta, c.DeltaU = Signed(delta/u.Size, deltaU/u.Size)
		if k == figure.DozenCost {
			c.Delta, c.DeltaU = Plus(fmt.Sprintf("%.2f", delta)), ""
		}
	}
	return c
}

// Signed writes a difference with its sign and its uncertainty, which is empty
// when it is nothing.
func Signed(delta, u float64) (string, string) {
	shown, shownU := figure.Rounded(delta, u)
	if shownU == "0" {
		shown, shownU = figure.Minus(trimZeros(fmt.Sprintf("%.4f", delta))), ""
	}
	return Plus(shown), shownU
}

// Plus puts a plus sign on a number that has no sign and is not zero.
func Plus(number string) string {
	if strings.HasPrefix(number, "−") || strings.HasPrefix(number, "-") || strings.Trim(number, "0.") == "" {
		return figure.Minus(number)
	}
	return "+" + number
}

func trimZeros(number string) string {
	if !strings.Contains(number, ".") {
		return number
	}
	return strings.TrimRight(strings.TrimRight(number, "0"), ".")
}

// valueWidth holds most values, so that differences behind them line up.
const valueWidth = 6

// Text fits the cell into w cells, giving up what matters least first: the
// uncertainty of the difference, then the unit, then the uncertainty.
func (c Cell) Text(w int) string {
	if c.Doubt && text.Width(c.Value)+2 <= w {
		c.Doubt = false
		return c.Text(w-2) + " !"
	}
	if c.Absent != "" {
		return text.Cut(c.missing(), w)
	}
	var tries []string
	if c.Measured != "" {
		tries = append(tries, c.known()+", "+c.Measured)
	}
	if c.Delta != "" {
		// Differences line up below each other where there is room.
		for _, value := range []string{text.Pad(c.Value, max(valueWidth, text.Width(c.Value))) + " ", c.Value + "  ", c.Value + " "} {
			if c.DeltaU != "" {
				tries = append(tries, value+c.Delta+" ± "+c.DeltaU)
			}
		}
		tries = append(tries, c.Value+"  "+c.Delta, c.Value+" "+c.Delta)
	} else {
		if c.U != "" && c.U != "0" {
			tries = append(tries, c.Value+" ± "+c.U+" "+c.Unit, c.Value+" ± "+c.U)
		}
		tries = append(tries, c.Value+" "+c.Unit, c.Value)
	}
	for _, t := range tries {
		if t = strings.TrimSpace(t); text.Width(t) <= w {
			return t
		}
	}
	return text.Cut(c.Value, w)
}

// missing says why there is no value.
func (c Cell) missing() string {
	if c.itself() {
		return c.Absent
	}
	return "– " + c.Absent
}

// Full writes the cell with everything that belongs to it: "448.4 ± 1.3 gr,
// +20.4 ± 1.5 against the baseline".
func (c Cell) Full() string {
	words := c.known()
	if c.Delta != "" {
		words += ", " + c.difference() + " against the baseline"
	}
	if c.Measured != "" {
		words += ", " + c.Measured
	}
	return words
}

// known writes the value with its uncertainty and unit.
func (c Cell) known() string {
	words := c.Value
	if c.U != "" && c.U != "0" {
		words += " ± " + c.U
	}
	return strings.TrimSpace(words + " " + c.Unit)
}

// difference writes the difference with its uncertainty.
func (c Cell) difference() string {
	if c.DeltaU == "" {
		return c.Delta
	}
	return c.Delta + " ± " + c.DeltaU
}

// shortBasis stands for what a figure rests on where there is little room.
var shortBasis = map[string]string{string(figure.Measured): "meas.", string(figure.Estimated): "est."}

// Lab fits the cell into two lines of w cells: the value with its uncertainty and
// what it rests on, for which a narrow cell gives up the unit, and below it the
// difference, and what was measured.
func (c Cell) Lab(w int) (value, difference string) {
	if c.Absent != "" {
		return text.Cut(c.missing(), w), ""
	}
	known, short := c.known(), Cell{Value: c.Value, U: c.U}.known()
	if c.Doubt {
		known, short = known+" !", short+" !"
	}
	value = known
	for _, tried := range []string{known + ", " + c.Basis, known + " " + shortBasis[c.Basis], short + " " + shortBasis[c.Basis]} {
		if text.Width(tried) <= w {
			value = tried
			break
		}
	}
	below := c.difference()
	if c.Measured != "" {
		below = strings.TrimPrefix(below+" · "+c.Measured, " · ")
	}
	return text.Cut(value, w), text.Cut(below, w)
}
