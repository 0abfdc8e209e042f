package stiffness

import (
	"math"
	"testing"
)

// uniform is a beam of one metre, EI of 1 N·m² and 1 kg, cut into n elements.
func uniform(n int) *beam {
	return &beam{rigidity: 1, nodes: divide(0, 1, n), masses: []spread{{1, 0, 1}}}
}

// push is a weightless beam of the same size with a mass at its far end.
func push(n int) *beam {
	return &beam{rigidity: 1, nodes: divide(0, 1, n), masses: []spread{{1, 1, 1}}}
}

// buckle returns the least acceleration, m/s², at which the beam gives way to
// what it pushes, and how it bends then. It is false where nothing makes it.
func (b *beam) buckle() (acceleration float64, phi []float64, ok bool) {
	mu, phi, ok := b.ratio(b.thrust(), b.stiffness(), 0)
	return 1 / mu, phi, ok
}

// refined returns what a solution comes to at 64 elements, and what it comes to
// as they grow without number: its error falls as the fourth power of their
// length, so that those of 32 tell what is left at 64 (Richardson).
func refined(t *testing.T, solve func(n int) (float64, bool)) (at64, limit float64) {
	t.Helper()
	coarse, ok := solve(32)
	fine, ok2 := solve(64)
	if !ok || !ok2 {
		t.Fatal("no solution")
	}
	return fine, fine + (fine-coarse)/15
}

// published compares with a printed value: all of its digits at 64 elements, to
// the eight that those have (seven of the second mode's), and to nine or more what
// follows from 32 and 64.
func published(t *testing.T, name string, want, digit float64, solve func(n int) (float64, bool)) {
	t.Helper()
	at64, limit := refined(t, solve)
	if math.Abs(at64-want) > max(digit, 1e-7*want) {
		t.Errorf("%s: %.13g at 64 elements, published %.13g", name, at64, want)
	}
	if math.Abs(limit-want) > max(digit, 5e-10*want) {
		t.Errorf("%s: %.13g in the limit, published %.13g", name, limit, want)
	}
}

// First bending of beams: βL, with ω² = (βL)⁴ EI/(m L³). Blevins, Formulas for
// Natural Frequency and Mode Shape (1979), table 8-1.
func TestBlevins(t *testing.T) {
	beta := func(square float64) float64 { return math.Pow(square, 0.25) }
	published(t, "free-free", 4.7300407448627, 5e-14, func(n int) (float64, bool) {
		square, _, ok := uniform(n).vibrate(2)
		return beta(square), ok
	})
	published(t, "free-free, second", 7.8532046240958, 5e-14, func(n int) (float64, bool) {
		square, _, ok := uniform(n).vibrate(3) // the first bending counts among those before it
		return beta(square), ok
	})
	published(t, "clamped-free", 1.8751040687120, 5e-14, func(n int) (float64, bool) {
		b := uniform(n)
		b.held = []int{0, 1}
		square, _, ok := b.vibrate(0)
		return beta(square), ok
	})
}

// A free beam bends about two places that stay at rest, 0.224157522702 L from its
// ends (Blevins, table 8-1).
func TestNodesOfTheFirstMode(t *testing.T) {
	b := uniform(64)
	_, phi, _ := b.vibrate(2)
	c := newCurve(b, phi)
	low, high := 0.1, 0.4
	for range 60 {
		if middle := (low + high) / 2; c.deflection(middle)*c.deflection(0) > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	if math.Abs(low-0.224157522702) > 1e-9 {
		t.Errorf("at rest %.12f from the end", low)
	}
	if other := c.deflection(1 - low); math.Abs(other) > 1e-8*math.Abs(c.deflection(0)) {
		t.Errorf("not as far from the other end: %v", other)
	}
}

// A free beam with a point mass r m at one end: the roots of
// cos x cosh x − 1 + r x (cos x sinh x − sin x cosh x) = 0 (Blevins; Rao,
// Mechanical Vibrations).
func TestMassAtOneEnd(t *testing.T) {
	for r, want := range map[float64]float64{0.1: 4.43026843, 0.5: 4.12813721, 1: 4.04183214} {
		for _, at := range []float64{0, 1} {
			published(t, "with a mass at an end", want, 5e-9, func(n int) (float64, bool) {
				b := uniform(n)
				b.masses = append(b.masses, spread{r, at, at})
				square, _, ok := b.vibrate(2)
				return math.Pow(square, 0.25), ok
			})
		}
	}
}

// The worked beam: 5.092352 N·m², 0.7112 m, 18 g, computed from the equation
// above.
func TestWorkedBeam(t *testing.T) {
	for grams, want := range map[float64]float64{0: 99.8585, 6.5: 78.0265} {
		published(t, "worked beam", want, 5e-5, func(n int) (float64, bool) {
			b := &beam{rigidity: 5.092352, nodes: divide(0, 0.7112, n), masses: []spread{{0.018, 0, 0.7112}, {grams / 1000, 0, 0}}}
			square, _, ok := b.vibrate(2)
			return hertz(square), ok
		})
	}
}

// Buckling: by an end load (Euler), by a column's own weight standing on a clamped
// foot (Greenhill 1881; Timoshenko & Gere, Theory of Elastic Stability), and by
// both or by its own inertia between pins, recomputed from the same equation.
func TestBuckling(t *testing.T) {
	pinned := func(b *beam) *beam {
		b.held = []int{0, 2 * b.elements()}
		return b
	}
	published(t, "end load between pins", math.Pi*math.Pi, 1e-14, func(n int) (float64, bool) {
		load, _, ok := pinned(push(n)).buckle()
		return load, ok
	})
	published(t, "own inertia between pins", 18.5687248, 5e-8, func(n int) (float64, bool) {
		load, _, ok := pinned(uniform(n)).buckle()
		return load, ok
	})
	published(t, "own weight on a clamped foot", 7.8373474389, 5e-11, func(n int) (float64, bool) {
		b := uniform(n)
		b.held = []int{0, 1}
		load, _, ok := b.buckle()
		return load, ok
	})
	// An end load p together with an inertia of q buckles at their published
	// pairs: then the least factor on both is 1.
	for q, p := range map[float64]float64{1: 9.367885, 2: 8.862729, math.Pi * math.Pi: 4.767960} {
		published(t, "both between pins", 1, 5e-7/p, func(n int) (float64, bool) {
			b := pinned(uniform(n))
			b.masses = []spread{{q, 0, 1}, {p, 1, 1}}
			factor, _, ok := b.buckle()
			return factor, ok
		})
	}
	// The worked beam with its 6.5 g in front, pushed from the rear: as computed
	// from the equation.
	published(t, "worked beam", 6270.96, 5e-3, func(n int) (float64, bool) {
		b := pinned(&beam{rigidity: 5.092352, nodes: divide(0, 0.7112, n), masses: []spread{{0.018, 0, 0.7112}, {0.0065, 0.7112, 0.7112}}})
		acceleration, _, ok := b.buckle()
		if force := acceleration * 0.0245; math.Abs(force-153.64) > 5e-3 {
			t.Errorf("rear force %.4f N", force)
		}
		return acceleration, ok
	})
}

// Halving the elements divides the error by sixteen.
func TestErrorFallsWithTheFourthPower(t *testing.T) {
	for name, c := range map[string]struct {
		want  float64
		solve func(n int) float64
	}{
		"vibration": {math.Pow(4.7300407448627, 4), func(n int) float64 { square, _, _ := uniform(n).vibrate(2); return square }},
		"buckling": {math.Pi * math.Pi, func(n int) float64 {
			b := push(n)
			b.held = []int{0, 2 * n}
			load, _, _ := b.buckle()
			return load
		}},
	} {
		for n := 4; n <= 16; n *= 2 {
			coarse, fine := c.solve(n)-c.want, c.solve(2*n)-c.want
			if ratio := coarse / fine; ratio < 13 || ratio > 17.5 {
				t.Errorf("%s: errors of %d and %d elements stand as %.2f", name, n, 2*n, ratio)
			}
		}
	}
}
