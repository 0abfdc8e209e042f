package sheet

import (
	"math"
	"testing"

	"foreshaft/engine/figure"
)

// What the rules make of plain functions of one standard normal error z. The
// parts of z^n are its coefficients in the orthonormal Hermite polynomials z,
// (z² − 1)/√2, (z³ − 3z)/√6: their squares add up to the variance of z^n, the
// mean of z^2n less the square of the mean of z^n (moments of the normal
// distribution: 1, 3, 15).
func TestRulesOnPowers(t *testing.T) {
	cases := []struct {
		name     string
		f        func(z float64) float64
		want     [3]float64
		variance float64
	}{
		{"straight line", func(z float64) float64 { return 5 - 2*z }, [3]float64{-2, 0, 0}, 4},
		{"square", func(z float64) float64 { return z * z }, [3]float64{0, math.Sqrt2, 0}, 3 - 1},
		{"cube", func(z float64) float64 { return z * z * z }, [3]float64{3, 0, math.Sqrt(6)}, 15},
		{"all of them", func(z float64) float64 { return 1 + z + z*z + z*z*z }, [3]float64{4, math.Sqrt2, math.Sqrt(6)}, 1 + 2 + 15 + 2*3},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			m := movedBy(room(), &curved, 0, 1, 2)
			m.weight = true
			for i, z := range curved.at {
				m.at[i].values = figure.NoValues()
				m.at[i].values.Set(figure.FOC, c.f(z))
			}
			shares := m.shares(nil, figure.FOC, c.f(0))
			if len(shares) != 3 {
				t.Fatalf("%v", shares)
			}
			for i, s := range shares {
				if s.Input != i || math.Abs(s.Amount-c.want[i]) > 1e-12 {
					t.Errorf("part %d: %v, want %v", i+1, s.Amount, c.want[i])
				}
			}
			if got := figure.Combine(shares); math.Abs(got*got-c.variance) > 1e-11 {
				t.Errorf("variance %v, want %v", got*got, c.variance)
			}
		})
	}
}

// Where one side of an input gives no figure, the other side stands for it.
func TestOneSideIsEnough(t *testing.T) {
	m := movedBy(room(), &straight, 7)
	m.at[0].values, m.at[1].values = figure.NoValues(), figure.NoValues()
	if shares := m.shares(nil, figure.FOC, 1); len(shares) != 0 {
		t.Errorf("nothing on either side: %v", shares)
	}
	m.at[0].values.Set(figure.FOC, 1+3*straight.at[0])
	shares := m.shares(nil, figure.FOC, 1)
	if len(shares) != 1 || shares[0].Input != 7 || math.Abs(shares[0].Amount-3) > 1e-12 {
		t.Errorf("a slope of 3 on one side: %v", shares)
	}
	m.at[1].values.Set(figure.FOC, 1)
	m.at[0].values.Set(figure.FOC, 1)
	if shares := m.shares(nil, figure.FOC, 1); len(shares) != 0 {
		t.Errorf("an input without effect: %v", shares)
	}
}

// The derivatives of figures that are products of plain powers, by hand; where a
// figure ends at the value itself, the side that is left stands for both.
func TestDiffer(t *testing.T) {
	l, eye := leaving{mass: 1, speed: 80, decay: 0.002}, 0.1
	f := func(l leaving, eye float64) []float64 {
		v, k := float64(l.speed), l.decay
		out := []float64{v * v, k * eye, v * k, v, k, eye, math.NaN()}
		if v > 80 {
			out[3] = math.NaN()
		}
		if k < 0.002 {
			out[4] = math.NaN()
		}
		if eye != 0.1 {
			out[5] = math.NaN()
		}
		return out
	}
	got := differ(l, eye, f(l, eye), f)
	for i, want := range [][3]float64{{160, 0, 0}, {0, 0.1, 0.002}, {0.002, 80, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 0}, {0, 0, 0}} {
		for n, is := range []float64{got.speed[i], got.decay[i], got.eye[i]} {
			if math.Abs(is-want[n]) > 1e-9*(1+math.Abs(want[n])) {
				t.Errorf("figure %d by input %d: %v, want %v", i, n, is, want[n])
			}
		}
	}
}

func room() *[]placed {
	space := make([]placed, 4)
	return &space
}
