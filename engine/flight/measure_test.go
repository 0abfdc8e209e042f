package flight_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/flight"
	"foreshaft/engine/unit"
)

// simulated is an arrow of a known decay through two chronographs on the level.
func simulated(t *testing.T, near unit.Speed, k float64, apart unit.Length) flight.TwoSpeeds {
	t.Helper()
	hit := hits(t, flight.New(flight.Arrow{Speed: near, Decay: k}, flight.Scene{}), apart)
	return flight.TwoSpeeds{Near: near, Far: hit.Speed, Apart: apart}
}

func TestDecayIsFoundAgain(t *testing.T) {
	for _, k := range []float64{0.0003, 0.0008, 0.002, 0.006, 0.015} {
		for _, near := range []unit.Speed{45, 85, 110} {
			for _, apart := range []unit.Length{5, 20, 60} {
				two := simulated(t, near, k, apart)
				found, u, err := two.Decay()
				if err != nil {
					t.Fatalf("k %v, %v m/s, %v m: %v", k, float64(near), float64(apart), err)
				}
				within(t, "decay", found, k, 1e-8)
				if u != 0 {
					t.Errorf("of speeds that are known exactly u is %v", u)
				}
				// Flat fire, k = ln(v₁/v₂)/X (McCoy, Modern Exterior Ballistics, chapter 5),
				// leaves out that the arrow comes down more steeply than it went up, and so
				// finds a little less: by the square of the slope, which at the far end is
				// less than g X/v₂².
				flat, steepest := math.Log(float64(two.Near/two.Far))/float64(apart), gravity*float64(apart)/float64(two.Far*two.Far)
				if less := 1 - flat/k; !(less > 0 && less < steepest*steepest) {
					t.Errorf("k %v, %v m/s, %v m: by flat fire %v", k, float64(near), float64(apart), flat)
				}
			}
		}
	}
}

// The uncertainty of the decay against a Monte Carlo of the two speeds (JCGM
// 101:2008), with a fixed seed. The spread of n draws is itself known to
// 1/√(2n), 0.8 %; what the curve of the path changes, another 1 % here.
func TestUncertaintyOfTheDecay(t *testing.T) {
	r := rand.New(rand.NewPCG(20081, 101))
	for _, c := range []struct {
		k                 float64
		near, nearU, farU unit.Speed
		apart             unit.Length
	}{
		{0.002, 85, 0.15, 0.2, 40},
		{0.0008, 85, 0.3, 0, 30},
		{0.006, 70, 0, 0.3, 25},
		{0.002, 50, 0.2, 0.1, 40},
	} {
		two := simulated(t, c.near, c.k, c.apart)
		two.NearU, two.FarU = c.nearU, c.farU
		_, u, err := two.Decay()
		if err != nil {
			t.Fatal(err)
		}
		const n = 8000
		sum, squares := 0.0, 0.0
		for range n {
			drawn := two
			drawn.Near += c.nearU * unit.Speed(r.NormFloat64())
			drawn.Far += c.farU * unit.Speed(r.NormFloat64())
			other, _, err := drawn.Decay()
			if err != nil {
				t.Fatalf("%+v: %v", drawn, err)
			}
			sum += other - c.k
			squares += (other - c.k) * (other - c.k)
		}
		mean := sum / n
		within(t, "u of the decay", u, math.Sqrt(squares/n-mean*mean), 0.03)
		if math.Abs(mean) > 0.1*u {
			t.Errorf("%+v: on the average %v too much, u %v", two, mean, u)
		}
	}
}

func TestSpeedsThatTellNoDecay(t *testing.T) {
	nan := unit.Speed(math.NaN())
	for _, c := range []struct {
		two  flight.TwoSpeeds
		says string
	}{
		{flight.TwoSpeeds{}, "more than nothing"},
		{flight.TwoSpeeds{Near: 80, Apart: 30}, "more than nothing"},
		{flight.TwoSpeeds{Near: -80, Far: 75, Apart: 30}, "more than nothing"},
		{flight.TwoSpeeds{Near: 80, Far: -75, Apart: 30}, "more than nothing"},
		{flight.TwoSpeeds{Near: 80, Far: 75}, "some way apart"},
		{flight.TwoSpeeds{Near: 80, Far: 75, Apart: -3}, "some way apart"},
		{flight.TwoSpeeds{Near: 80, Far: 81, Apart: 30}, "only slows down"},
		{flight.TwoSpeeds{Near: 80, Far: 80, Apart: 30}, "only slows down"},
		{flight.TwoSpeeds{Near: 20, Far: 8, Apart: 120}, "does not get"},
		{flight.TwoSpeeds{Near: nan, Far: 8, Apart: 20}, ""},
		{flight.TwoSpeeds{Near: 80, Far: nan, Apart: 20}, ""},
		{flight.TwoSpeeds{Near: 80, Far: 70, Apart: unit.Length(nan)}, ""},
	} {
		if k, u, err := c.two.Decay(); err == nil || k != 0 || u != 0 || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v gives %v ± %v, %v; want it to say %q", c.two, k, u, err, c.says)
		}
	}
}

// A decay that is given out takes the arrow from the near speed to the far one;
// where none is found, also for arrows so braked that they hardly get across,
// there is an error.
func TestADecayThatIsFoundIsTrue(t *testing.T) {
	found := 0
	check := func(t rapid.TB, two flight.TwoSpeeds) {
		k, _, err := two.Decay()
		if err != nil {
			return
		}
		found++
		hit, err := flight.New(flight.Arrow{Speed: two.Near, Decay: k}, flight.Scene{}).To(two.Apart)
		if err != nil || !(math.Abs(float64(hit.Speed/two.Far)-1) < 1e-6) {
			t.Fatalf("%+v: k %v leaves %v m/s, %v", two, k, float64(hit.Speed), err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		near := rapid.Float64Range(20, 120).Draw(t, "near")
		check(t, flight.TwoSpeeds{
			Near: unit.Speed(near), Far: unit.Speed(near * rapid.Float64Range(0.3, 1).Draw(t, "what is left")),
			Apart: unit.Length(rapid.Float64Range(1, 90).Draw(t, "apart")),
		})
	})
	// Speeds that hardly differ tell little, but nothing is wrong with them.
	before := found
	check(t, flight.TwoSpeeds{Near: 80, Far: 79.9999, Apart: 35})
	check(t, flight.TwoSpeeds{Near: 80, Far: 79.99, Apart: 35})
	if found != before+2 {
		t.Error("no decay is found of speeds that hardly differ")
	}
	check(t, flight.TwoSpeeds{Near: 80, Far: 10, Apart: 35})
	check(t, simulated(t, 105, 0.0286, 80))
	if !testing.Short() && found < 20 {
		t.Errorf("only %d decays were found", found)
	}
}
