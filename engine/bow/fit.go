package bow

import (
	"fmt"
	"math"

	"foreshaft/engine/figure"
	"foreshaft/engine/unit"
)

const (
	// defaultSD is the standard uncertainty of a speed entered without one, and
	// leastSD the least that is believed.
	defaultSD = 1.5 * unit.FootPerSecond
	leastSD   = 0.5 * unit.FootPerSecond
	// CalibrationU is the relative standard uncertainty of a chronograph's
	// calibration, common to all its readings.
	CalibrationU = 0.005
	// ratedShare is the part of its rated speed that a bow with nothing taken
	// off its string reaches: ratings are shot from a bare string.
	ratedShare = 0.97
	ratedU     = 0.03
)

// Fit is what the readings say of a bow as it is set now.
type Fit struct {
	Energy       unit.Energy
	VirtualMass  unit.Mass
	EnergyU      unit.Energy
	VirtualMassU unit.Mass
	Correlation  float64
	Residuals    []unit.Speed // observed − fitted, one a reading
	Sigmas       []unit.Speed // what each reading was trusted to
	FromRating   bool
	AtZero       bool // the readings ask for a virtual mass below nothing
	Scaled       bool // a reading was taken at other settings
	prior        unit.Mass
}

// PriorEnters reports whether the assumption about the virtual mass still
// decides much of it: while its standard uncertainty exceeds half the prior's.
func (f *Fit) PriorEnters() bool { return f.VirtualMassU > f.prior/2 }

// Speed returns the speed off the string of an arrow of that mass.
func (f *Fit) Speed(m unit.Mass) unit.Speed { return Launch(f.Energy, f.VirtualMass, m) }

// Launch returns √(2 E/(m + K)).
func Launch(e unit.Energy, k, m unit.Mass) unit.Speed {
	return unit.Speed(math.Sqrt(2 * float64(e) / float64(m+k)))
}

// observation is a reading made ready for the fit.
type observation struct {
	mass, speed, sigma, scale float64
}

// Fit finds E and K by maximum a posteriori: the least of
// Σ ((vᵢ − v(mᵢ))/σᵢ)² + ((K − K₀)/σ_K)² with K ≥ 0. Covariance is
// Gauss–Newton's at the optimum. It returns a *figure.MissingError when there is
// neither a reading nor a rating, or when one cannot be carried to the bow as
// it is set now.
func (b *Bow) Fit() (Fit, error) {
	n, _ := b.StrokeExponent()
	return b.FitWith(n)
}

// FitWith is Fit with another stroke exponent, for finding how much it matters.
func (b *Bow) FitWith(exponent float64) (Fit, error) {
	seen, fromRating, err := b.observations(exponent)
	if err != nil {
		return Fit{}, err
	}
	mean, sd := b.Prior()
	k0, sk := float64(mean), float64(sd)
	k := mostProbableK(seen, k0, sk)
	root := rootEnergy(seen, k)
	fit := Fit{
		Energy: unit.Energy(root * root), VirtualMass: unit.Mass(k),
		FromRating: fromRating, AtZero: k == 0, prior: sd,
		Residuals: make([]unit.Speed, len(seen)), Sigmas: make([]unit.Speed, len(seen)),
	}
	// Information about (E, K): J'WJ of the readings plus the prior's 1/σ².
	var ee, ek, kk float64
	kk = 1 / (sk * sk)
	for i, o := range seen {
		v := root * gain(o, k)
		byE, byK := v/(2*root*root)/o.sigma, -v/(2*(o.mass+k))/o.sigma
		ee += byE * byE
		ek += byE * byK
		kk += byK * byK
		fit.Residuals[i] = unit.Speed(o.speed - v)
		fit.Sigmas[i] = unit.Speed(o.sigma)
		fit.Scaled = fit.Scaled || o.scale != 1
	}
	det := ee*kk - ek*ek
	fit.EnergyU = unit.Energy(math.Sqrt(kk / det))
	fit.VirtualMassU = unit.Mass(math.Sqrt(ee / det))
	fit.Correlation = -ek / math.Sqrt(ee*kk)
	return fit, nil
}

// observations gathers the readings, or the rating when there is none.
func (b *Bow) observations(exponent float64) (seen []observation, fromRating bool, err error) {
	for i, r := range b.Readings {
		s, err := b.scale(r.Conditions, exponent)
		if err != nil {
			return nil, false, err
		}
		if r.Arrow <= 0 {
			return nil, false, figure.Needs(fmt.Sprintf("the weight of the arrow of reading %d", i+1))
		}
		sigma := max(r.SD.Or(defaultSD), leastSD)
		seen = append(seen, observation{float64(r.Arrow), float64(r.Speed), float64(sigma), s})
	}
	if len(seen) > 0 {
		return seen, false, nil
	}
	if !b.Rating.Given {
		return nil, false, figure.Needs("a chronograph reading or the bow's rated speed")
	}
	r := b.Rating.Value
	if r.Arrow <= 0 {
		return nil, false, figure.Needs("the arrow weight of the bow's rating")
	}
	s, err := b.scale(r.Conditions, exponent)
	if err != nil {
		return nil, false, err
	}
	v := ratedShare * float64(r.Speed)
	return []observation{{float64(r.Arrow), v, ratedU * v, s}}, true, nil
}

// gain returns v/√E of a reading for a virtual mass.
func gain(o observation, k float64) float64 { return math.Sqrt(2 * o.scale / (o.mass + k)) }

// rootEnergy returns the √E that fits best for a virtual mass: speeds are
// linear in √E, so this is a weighted mean.
func rootEnergy(seen []observation, k float64) float64 {
	var above, below float64
	for _, o := range seen {
		g, w := gain(o, k), 1/(o.sigma*o.sigma)
		above += w * o.speed * g
		below += w * g * g
	}
	return above / below
}

// misfit returns the sum of squares to be least, and half its derivative by K,
// both with E at its best for that K.
func misfit(seen []observation, k, k0, sk float64) (sum, slope float64) {
	root := rootEnergy(seen, k)
	sum = (k - k0) * (k - k0) / (sk * sk)
	slope = (k - k0) / (sk * sk)
	for _, o := range seen {
		v := root * gain(o, k)
		r := o.speed - v
		sum += r * r / (o.sigma * o.sigma)
		slope += r * v / (2 * (o.mass + k) * o.sigma * o.sigma)
	}
	return sum, slope
}

// mostProbableK looks for the valley on a grid, so that readings that disagree
// cannot mislead it, then halves the interval around it down to the last bit.
// The grid reaches as far as the least can lie: beyond it the prior alone would
// cost more than the whole sum does at the prior's mean.
func mostProbableK(seen []observation, k0, sk float64) float64 {
	const steps = 60
	atMean, _ := misfit(seen, k0, k0, sk)
	top := k0 + sk*max(12, math.Sqrt(atMean))
	best, bestSum := 0.0, math.Inf(1)
	for i := range steps + 1 {
		k := top * float64(i) / steps
		if sum, _ := misfit(seen, k, k0, sk); sum < bestSum {
			best, bestSum = k, sum
		}
	}
	low, high := max(0, best-top/steps), min(top, best+top/steps)
	if _, slope := misfit(seen, low, k0, sk); slope >= 0 {
		return low
	}
	for range 100 {
		middle := low + (high-low)/2
		if middle == low || middle == high {
			break
		}
		if _, slope := misfit(seen, middle, k0, sk); slope < 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}
