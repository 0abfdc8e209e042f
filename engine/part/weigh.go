package part

import (
	"fmt"
	"math"

	"foreshaft/engine/unit"
)

// fewest is how many pieces have to be weighed for it to show how they differ.
const fewest = 2

// Weigh returns what weighing pieces of one kind comes to: their mean, the standard
// uncertainty of a single piece and how many there were. The uncertainty is the
// standard deviation between pieces with what the scale rounds off, as a rectangle of
// its resolution (JCGM 100:2008, 4.2.2 and F.2.2.1). The error says that there are too
// few.
func Weigh(readings []unit.Mass, resolution unit.Mass) (Measured, error) {
	n := float64(len(readings))
	if len(readings) < fewest {
		return Measured{}, fmt.Errorf("weigh %d pieces or more: one does not show how they differ", fewest)
	}
	mean := 0.0
	for _, r := range readings {
		mean += float64(r) / n
	}
	squares := 0.0
	for _, r := range readings {
		squares += (float64(r) - mean) * (float64(r) - mean)
	}
	u := math.Sqrt(squares/(n-1) + float64(resolution*resolution)/12)
	return Measured{Weight: unit.Mass(mean), WeightU: unit.Mass(u), Count: len(readings)}, nil
}

// ByInch turns the weight of whole shafts of one length into that of an inch.
func (m Measured) ByInch(length unit.Length) Measured {
	return Measured{WeightPerInch: unit.LinearDensity(float64(m.Weight) / float64(length)), PerInchU: unit.LinearDensity(float64(m.WeightU) / float64(length)), Count: m.Count}
}
