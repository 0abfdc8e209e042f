package dozen

import (
	"math"
	"slices"
)

// Spread describes readings of one quantity, in whatever unit they come.
type Spread struct {
	Count         int
	Least, Most   float64
	Mean          float64
	Deviation     float64 // sample standard deviation; NaN for a single reading
	Lower, Upper  float64 // quartiles; NaN for fewer than LeastForFences
	Below, Beyond float64 // the fences: a reading outside them is an outlier
	Outliers      []int   // places of the outliers
}

// LeastForFences is how many readings it takes to call one of them an outlier: with fewer the
// quartiles lie next to the ends, and one that is far off hides itself.
const LeastForFences = 8

// Of describes readings. A reading is an outlier when it lies more than one and a half
// interquartile ranges below the lower or above the upper quartile, the inner fences of
// Tukey's box plot; quartiles lie at the (n+1)/4th and 3(n+1)/4th reading in order
// (NIST/SEMATECH e-Handbook of Statistical Methods, 7.1.6 and 7.2.6.2). What the readings
// were rounded to bounds how small that range can be told, so it counts as at least one
// step.
func Of(readings []float64, step float64) Spread {
	out := Spread{Count: len(readings), Least: math.NaN(), Most: math.NaN(), Mean: math.NaN(), Deviation: math.NaN(),
		Lower: math.NaN(), Upper: math.NaN(), Below: math.NaN(), Beyond: math.NaN()}
	if len(readings) == 0 {
		return out
	}
	sorted := slices.Sorted(slices.Values(readings))
	n := float64(len(sorted))
	out.Least, out.Most = sorted[0], sorted[len(sorted)-1]
	sum := 0.0
	for _, x := range sorted {
		sum += x - sorted[0]
	}
	out.Mean = sorted[0] + sum/n
	if len(sorted) > 1 {
		squares := 0.0
		for _, x := range sorted {
			squares += (x - out.Mean) * (x - out.Mean)
		}
		out.Deviation = math.Sqrt(squares / (n - 1))
	}
	if len(sorted) < LeastForFences {
		return out
	}
	out.Lower, out.Upper = quantile(sorted, 0.25), quantile(sorted, 0.75)
	reach := 1.5 * max(out.Upper-out.Lower, step)
	out.Below, out.Beyond = out.Lower-reach, out.Upper+reach
	const rounding = 1e-9 // of a reading that lies on a fence
	for i, x := range readings {
		if slack := rounding * math.Abs(x); x < out.Below-slack || x > out.Beyond+slack {
			out.Outliers = append(out.Outliers, i)
		}
	}
	return out
}

// quantile interpolates between readings in order: the p(n+1)th of them.
func quantile(sorted []float64, p float64) float64 {
	at := p*float64(len(sorted)+1) - 1
	low := min(max(int(math.Floor(at)), 0), len(sorted)-1)
	high := min(low+1, len(sorted)-1)
	return sorted[low] + (min(max(at, 0), float64(len(sorted)-1))-float64(low))*(sorted[high]-sorted[low])
}

// Step returns what readings were rounded to: the coarsest tenth, hundredth … of one of the
// units that all of them are multiples of; 0 where they are finer than a ten-thousandth.
func Step(readings []float64, units ...float64) float64 {
	best := 0.0
	for _, one := range units {
		for places := range 5 {
			step := one * math.Pow10(-places)
			if !slices.ContainsFunc(readings, func(x float64) bool { return math.Abs(math.Remainder(x, step)) > 1e-6*one }) {
				best = max(best, step)
				break
			}
		}
	}
	return best
}
