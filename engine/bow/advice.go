package bow

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/figure"
	"foreshaft/engine/unit"
)

// LightLimits returns the grains per pound below which an arrow is a danger
// and below which it deserves a warning (common practice).
func (k Kind) LightLimits() (danger, warn unit.MassPerForce) {
	switch k {
	case Recurve:
		return 5 * unit.GrainPerPound, 6.5 * unit.GrainPerPound
	case Longbow:
		return 7 * unit.GrainPerPound, 9 * unit.GrainPerPound
	}
	return 5 * unit.GrainPerPound, 5.5 * unit.GrainPerPound
}

// LightestAdvised returns the lightest arrow that is not too light for the bow
// by its maker's minimum or by grains per pound, and false when neither is known.
func (b *Bow) LightestAdvised() (unit.Mass, bool) {
	_, warn := b.KindOrDefault().LightLimits()
	lightest := b.MinimumArrow.Or(0)
	if b.Peak.Given {
		lightest = max(lightest, unit.Mass(float64(warn)*float64(b.Peak.Value)))
	}
	return lightest, lightest > 0
}

// Advice is the reading that would help most next.
type Advice struct {
	Arrow unit.Mass
	// After is the standard uncertainty that the virtual mass would have.
	After unit.Mass
}

// spacing is how far from those shot an arrow must weigh to tell E from K.
const spacing = 150 * unit.Grain

// heaviestAdvised bounds the advice to arrows that people have.
const heaviestAdvised = 1000 * unit.Grain

// Next returns the arrow whose reading would make the virtual mass best known:
// 150 gr from those shot, on the lighter or the heavier side, never lighter
// than the bow allows. It returns false when there is no such arrow or no
// reading to go with it.
func (b *Bow) Next() (Advice, bool) {
	if len(b.Readings) == 0 {
		return Advice{}, false
	}
	var shot []unit.Mass
	for _, r := range b.Readings {
		shot = append(shot, r.Arrow)
	}
	fit, err := b.Fit()
	if err != nil {
		return Advice{}, false
	}
	var options []unit.Mass
	lightest, known := b.LightestAdvised()
	if heavier := max(slices.Max(shot)+spacing, lightest); heavier <= heaviestAdvised {
		options = append(options, heavier)
	}
	if known {
		if lighter := slices.Min(shot) - spacing; lighter >= lightest {
			options = append(options, lighter)
		}
	}
	best := Advice{After: unit.Mass(math.Inf(1))}
	for _, m := range options {
		trial := b.Clone()
		trial.Readings = append(trial.Readings, Reading{Arrow: m, Speed: fit.Speed(m)})
		after, err := trial.Fit()
		if err == nil && after.VirtualMassU < best.After {
			best = Advice{Arrow: m, After: after.VirtualMassU}
		}
	}
	return best, best.Arrow > 0
}

// Doubts reports whether a reading is further off the fit than three times its
// own standard uncertainty.
func (f *Fit) Doubts(reading int) bool {
	return math.Abs(float64(f.Residuals[reading])) > 3*float64(f.Sigmas[reading])
}

// InDoubt reports whether the readings do not fit together.
func (f *Fit) InDoubt() bool {
	if f.FromRating {
		return false
	}
	for i := range f.Residuals {
		if f.Doubts(i) {
			return true
		}
	}
	return f.AtZero
}

// Notes returns what to know before trusting the fit, a sentence each, told in
// the units given.
func (f *Fit) Notes(units unit.System) []string {
	feet := units.Shown(unit.FeetPerSecond)
	var notes []string
	if f.FromRating {
		notes = append(notes, "Speed rests on the bow's rating alone (97 % of it, ±3 %): chronograph one arrow you have weighed.")
	}
	if f.AtZero {
		notes = append(notes, "The readings ask for a virtual mass below zero: weigh the arrows again and repeat the readings.")
	}
	if f.FromRating {
		return notes
	}
	var off, which []string
	for i, r := range f.Residuals {
		if f.Doubts(i) {
			which = append(which, fmt.Sprint(i+1))
			off = append(off, figure.Minus(fmt.Sprintf("%+.1f", feet.Of(float64(r)))))
		}
	}
	switch len(which) {
	case 0:
	case 1:
		notes = append(notes, fmt.Sprintf("Reading %s is %s %s off the fit, more than three times its own uncertainty: it or another reading is wrong. Check what was typed and the arrows' weights, then shoot them again.",
			which[0], off[0], feet.Symbol))
	default:
		notes = append(notes, fmt.Sprintf("Readings %s do not agree: they are %s %s off the fit, more than three times their own uncertainty. "+
			"Check what was typed and the arrows' weights, then shoot them again; until then trust no speed.", strings.Join(which, ", "), strings.Join(off, ", "), feet.Symbol))
	}
	return notes
}

// Light lists the readings, from 0, that were shot with an arrow below the least
// weight that the bow's maker allows.
func (b *Bow) Light() []int {
	var out []int
	for i, r := range b.Readings {
		if b.MinimumArrow.Given && r.Arrow > 0 && r.Arrow < b.MinimumArrow.Value { // one of nothing is still being typed
			out = append(out, i)
		}
	}
	return out
}

// Beyond is how far outside the readings a build may weigh before speed is
// called an extrapolation.
const Beyond = 100 * unit.Grain

// Outside reports whether an arrow weighs more than 100 gr less or more than
// any that was chronographed.
func (b *Bow) Outside(m unit.Mass) bool {
	if len(b.Readings) == 0 {
		return false
	}
	low, high := b.Readings[0].Arrow, b.Readings[0].Arrow
	for _, r := range b.Readings {
		low, high = min(low, r.Arrow), max(high, r.Arrow)
	}
	return m < low-Beyond || m > high+Beyond
}
