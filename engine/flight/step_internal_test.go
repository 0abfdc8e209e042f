package flight

import (
	"math"
	"testing"

	"foreshaft/engine/unit"
)

// LagForTest returns what Didion's rule makes of the path of Drift: wind ×
// (time − X / horizontal launch speed).
func LagForTest(s *Shot, tangent float64, d unit.Length) float64 {
	n, _ := s.upTo(tangent, d, float64(s.Crosswind))
	start := s.leave(s.tangent(tangent))
	return float64(s.Crosswind) * (n.t - n.x/start.u)
}

// WindyForTest returns time, height and sideways offset at a distance on the level
// in the scene's crosswind.
func WindyForTest(s *Shot, tangent float64, d unit.Length) (time, y, z float64) {
	n, _ := s.upTo(tangent, d, float64(s.Crosswind))
	return n.t, n.y, n.z
}

// Halving the steps divides the error by sixteen: the rule is of fourth order. In
// still air and in a wind, which are followed by separate code.
func TestConvergenceOfTheFourthOrder(t *testing.T) {
	a := Arrow{Speed: 60, Decay: 0.01}
	for _, wind := range []float64{0, 8} {
		end := func(steps int) node {
			n := a.leave(0.3)
			for range steps {
				n = a.step(&n, 60/float64(steps), wind)
			}
			return n
		}
		exact := end(4096)
		values := func(n node) []float64 {
			list := []float64{n.y, n.p, n.u, n.t}
			if wind != 0 {
				list = append(list, n.z, n.v)
			}
			return list
		}
		for _, steps := range []int{8, 16, 32} {
			coarse, fine, truth := values(end(steps)), values(end(2*steps)), values(exact)
			for i := range truth {
				order := math.Log2(math.Abs(coarse[i]-truth[i]) / math.Abs(fine[i]-truth[i]))
				if order < 3.7 || order > 4.5 {
					t.Errorf("wind %v, %d steps, value %d: order %.2f", wind, steps, i, order)
				}
			}
		}
	}
}

// Still air is the limit of a wind that dies down.
func TestStillAirIsAWindOfNothing(t *testing.T) {
	a := Arrow{Speed: 80, Decay: 0.004}
	n := a.leave(0.2)
	windy := n
	windy.v = 1e-300 // keeps it on the path of a wind
	for range 20 {
		n, windy = a.step(&n, 3, 0), a.step(&windy, 3, 0)
	}
	for _, d := range []float64{n.y - windy.y, n.p - windy.p, n.u - windy.u, n.t - windy.t} {
		if math.Abs(d) > 1e-12 {
			t.Errorf("%+v in still air, %+v in a wind of nothing", n, windy)
		}
	}
}

// Kinetic and potential energy together never grow along a path.
func TestEnergyNeverRises(t *testing.T) {
	for _, tangent := range []float64{-1, 0, 0.1, 1.5} {
		a := Arrow{Speed: 70, Decay: 0.003}
		n := a.leave(tangent)
		before := math.Inf(1)
		for range 200 {
			energy := n.speed()*n.speed()/2 + unit.StandardGravity*n.y
			if energy > before*(1+1e-12)+1e-9 {
				t.Fatalf("tangent %v: %v after %v at X %v", tangent, energy, before, n.x)
			}
			before = energy
			n = a.step(&n, a.stride(&n), 0)
		}
	}
}
