package present

import (
	"fmt"
	"math"

	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
)

// places are how many decimals a figure without its uncertainty shows in the units
// of the trade, where that is not one: what a swap of pieces is seen by, and hardly
// more.
var places = map[figure.Key]int{
	figure.BalancePoint: 2, figure.Inertia: 0, figure.WeightPerDraw: 2, figure.LaunchMomentum: 3, figure.DragCoefficient: 2, figure.MarkSpread: 2,
	figure.BendingStiffness: 0, figure.LaunchMargin: 2, figure.BendsOnString: 2, figure.PressurePoint: 2, figure.DozenCost: 2,
	figure.FlightTime: 3, figure.Momentum: 3, figure.SightMark: 2, figure.MarkShift: 2, figure.RangeShort: 2, figure.RangeLong: 2,
}

// Bare writes a figure in SI as a number alone, in the unit that the sheet shows it
// in and always to the same place, so that the numbers of a table can be compared
// by eye. A difference has its sign.
func Bare(s *sheet.Sheet, k figure.Key, value float64, difference bool) string {
	usual, ok := places[k]
	if !ok {
		usual = 1
	}
	u := s.Unit(k)
	// As fine as in the trade's unit, near enough.
	decimals := max(0, usual+int(math.Round(math.Log10(u.Size/k.Definition().Unit.Size))))
	shown := figure.Minus(fmt.Sprintf("%.*f", decimals, u.Of(value)))
	if difference || k.Definition().Compares && k != figure.SteerMoment {
		return Plus(shown)
	}
	return shown
}
