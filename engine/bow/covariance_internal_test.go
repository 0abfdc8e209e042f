package bow

import (
	"math"
	"math/rand/v2"
	"testing"

	"foreshaft/engine/unit"
)

// The stated covariance of E and K against a seeded Monte Carlo that redraws
// every reading and the mean of the prior, and fits again.
func TestCovarianceAgainstMonteCarlo(t *testing.T) {
	reading := func(grains, fps, sd float64) Reading {
		return Reading{Arrow: unit.Mass(grains) * unit.Grain, Speed: unit.Speed(fps) * unit.FootPerSecond, SD: unit.Some(unit.Speed(sd) * unit.FootPerSecond)}
	}
	other := reading(380, 270, 1)
	other.Conditions = Conditions{Peak: unit.Some(60 * unit.PoundForce), Draw: unit.Some(29 * unit.Inch)}
	cases := []struct {
		name     string
		kind     Kind
		readings []Reading
		rating   bool
	}{
		{"two arrows far apart", Compound, []Reading{reading(350, 310, 0.7), reading(650, 240.5, 0.7)}, false},
		{"two arrows alike", Compound, []Reading{reading(400, 290, 1.5), reading(440, 279, 1.5)}, false},
		{"three arrows, one at other settings", Compound, []Reading{reading(420, 286, 1), other, reading(560, 252, 1.2)}, false},
		{"a longbow with one arrow", Longbow, []Reading{reading(500, 165, 1.5)}, false},
		{"a rating alone", Compound, nil, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := Bow{Kind: c.kind, Peak: unit.Some(70 * unit.PoundForce), Draw: unit.Some(30 * unit.Inch), Readings: c.readings}
			if c.rating {
				b.Rating = unit.Some(Rating{Speed: 335 * unit.FootPerSecond, Arrow: 350 * unit.Grain})
			}
			fit, err := b.Fit()
			if err != nil {
				t.Fatal(err)
			}
			n, _ := b.StrokeExponent()
			nominal, _, err := b.observations(n)
			if err != nil {
				t.Fatal(err)
			}
			mean, sd := b.Prior()
			r := rand.New(rand.NewPCG(7, uint64(len(c.name))))
			const samples = 20000
			var ee, ek, kk float64
			for range samples {
				seen := append([]observation(nil), nominal...)
				for i := range seen {
					seen[i].speed += seen[i].sigma * r.NormFloat64()
				}
				k := mostProbableK(seen, float64(mean)+float64(sd)*r.NormFloat64(), float64(sd))
				root := rootEnergy(seen, k)
				de, dk := root*root-float64(fit.Energy), k-float64(fit.VirtualMass)
				ee, ek, kk = ee+de*de, ek+de*dk, kk+dk*dk
			}
			uE, uK := math.Sqrt(ee/samples), math.Sqrt(kk/samples)
			check := func(what string, got, want, tolerance float64) {
				if math.Abs(got-want) > tolerance {
					t.Errorf("%s: stated %.6g, redrawn %.6g", what, got, want)
				}
			}
			check("u(E), J", float64(fit.EnergyU), uE, 0.05*uE)
			check("u(K), kg", float64(fit.VirtualMassU), uK, 0.05*uK)
			check("correlation", fit.Correlation, ek/samples/(uE*uK), 0.02)
		})
	}
}
