package flight

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/unit"
)

// Halving the steps divides the error by sixteen: the rule is of fourth order
// (Abramowitz & Stegun, 25.5.10). The steps are equal and coarser than the engine's own, so
// that rounding does not show.
func TestStepsAreOfFourthOrder(t *testing.T) {
	for _, wind := range []float64{0, 8} {
		for _, tangent := range []float64{-0.5, 0.3, 1.2} {
			a := Arrow{Speed: 60, Decay: 0.01}
			end := func(steps int) [4]float64 {
				n := a.leave(tangent, wind)
				for range steps {
					n = a.step(&n, 60/float64(steps))
				}
				return [4]float64{n.y, n.p, n.u, n.t}
			}
			exact := end(8192)
			for _, n := range []int{16, 32} {
				list := [3][4]float64{end(n), end(2 * n), end(4 * n)}
				for i := range exact {
					first, second, third := list[0][i]-exact[i], list[1][i]-exact[i], list[2][i]-exact[i]
					if r := first / second; r < 12 || r > 22 {
						t.Errorf("wind %v, tangent %v, value %d: from %d steps to %d the error falls by %.2f", wind, tangent, i, n, 2*n, r)
					}
					if r := second / third; r < 13.5 || r > 19 {
						t.Errorf("wind %v, tangent %v, value %d: from %d steps to %d the error falls by %.2f", wind, tangent, i, 2*n, 4*n, r)
					}
				}
			}
		}
	}
}

// Case A of the published values, by full integration there: 25 g, 8 mm, C_D 2,
// 1.225 kg/m³, 90 m/s, level, 50 m, crosswind 3 m/s (the equations of McCoy,
// Modern Exterior Ballistics). A place is promised to 0.01 in, 2.5e-4 m, at
// 100 yd. The few long steps that the engine takes are off by 7e-8 m here.
func TestCaseAInAWind(t *testing.T) {
	a := Arrow{Speed: 90, Decay: Decay(1.225, 2, arrow.Area(8*unit.Millimetre), 25*unit.Gram)}
	n, ok := a.fly(0, 50, 3)
	z := 3 * (n.t - n.x/90) // the lag rule, see below
	if !ok || math.Abs(n.t-.591246634) > 1e-8 || math.Abs(n.y+1.645772348) > 2e-7 || math.Abs(z-.107073235) > 2e-8 {
		t.Errorf("t %.10f, y %.10f, z %.10f", n.t, n.y, z)
	}
}

// The equations of flight with nothing worked out beforehand (McCoy, Modern Exterior
// Ballistics, chapter 7): place, speed and time by time, in three directions, from the
// drag on the speed through the air. The engine integrates by X, and neither the sideways
// speed nor the drift.
func TestWindAgainstTheWholeEquations(t *testing.T) {
	const g = unit.StandardGravity
	for _, k := range []float64{0, 0.0008, 0.002, 0.006, 0.015} {
		for _, wind := range []float64{-20, -3, 1, 4.4704, 12} {
			for _, degrees := range []float64{-50, 0, 30} {
				s := New(Arrow{Speed: 75, Decay: k}, Scene{Slope: unit.Angle(degrees) * unit.Degree, Eye: 0.11, Crosswind: unit.Speed(wind)})
				hit, err := s.To(60)
				if err != nil {
					t.Fatal(err)
				}
				got, ok := s.Drift(hit.Tangent, 60)
				n, _ := s.upTo(hit.Tangent, 60, wind)
				rates := func(q [6]float64) [6]float64 { // x, y, z and their speeds
					through := math.Sqrt(q[3]*q[3] + q[4]*q[4] + (q[5]-wind)*(q[5]-wind))
					return [6]float64{q[3], q[4], q[5], -k * through * q[3], -k*through*q[4] - g, -k * through * (q[5] - wind)}
				}
				tangent := s.tangent(hit.Tangent)
				q := [6]float64{3: 75 / math.Hypot(1, tangent), 4: 75 * tangent / math.Hypot(1, tangent)}
				const steps = 2000
				for range steps {
					h := n.t / steps
					plus := func(r [6]float64, h float64) (out [6]float64) {
						for i := range q {
							out[i] = q[i] + h*r[i]
						}
						return out
					}
					r1 := rates(q)
					r2 := rates(plus(r1, h/2))
					r3 := rates(plus(r2, h/2))
					r4 := rates(plus(r3, h))
					for i := range q {
						q[i] += h / 6 * (r1[i] + 2*r2[i] + 2*r3[i] + r4[i])
					}
				}
				if !ok || math.Abs(q[0]-n.x) > 1e-6 || math.Abs(q[1]-n.y) > 1e-6 || math.Abs(q[2]-float64(got)) > 2e-8*math.Abs(wind) {
					t.Errorf("k %v, %v: at %.8f, %.8f, %.10f; by the whole equations %.8f, %.8f, %.10f", k, s.Scene, n.x, n.y, float64(got), q[0], q[1], q[2])
				}
				// The wind adds to the speed through the air and so brakes the arrow a
				// little more, and carries it to the side to which it blows.
				if k > 0 && !(float64(got)/wind > 0) {
					t.Errorf("k %v, %v: the wind carries it %v", k, s.Scene, float64(got))
				}
				if k > 0 && n.t <= hit.Time {
					t.Errorf("k %v, %v: %v s in the wind, %v s without", k, s.Scene, n.t, hit.Time)
				}
			}
		}
	}
}

// hodograph follows a path by quadrature, with its slope p as the variable: the
// speed then has a closed form, 1/u² = 1/u₀² + (k/g)(F(p₀) − F(p)) with
// F(p) = p √(1 + p²) + arsinh p (Johann Bernoulli 1719; from memory, and checked
// by differentiation), and time and place are plain integrals of it. A crosswind
// path is a still-air path in a plane that turns aside. It shares no stepping
// with the engine.
func hodograph(v, k, tangent, wind, end float64) (x, y, t float64) {
	const g = 9.80665
	ahead := v / math.Hypot(1, tangent)
	u0 := math.Hypot(ahead, wind)
	p0, p1 := tangent*ahead/u0, end
	f := func(p float64) float64 { return p*math.Hypot(1, p) + math.Asinh(p) }
	const panels = 2000 // Simpson's rule, good to 1e-12 here
	h := (p0 - p1) / panels
	for i := range panels + 1 {
		weight := 2 + 2*float64(i%2)
		if i == 0 || i == panels {
			weight = 1
		}
		p := p1 + float64(i)*h
		u := 1 / math.Sqrt(1/(u0*u0)+k/g*(f(p0)-f(p)))
		x += weight * u * u * h / 3 / g
		y += weight * p * u * u * h / 3 / g
		t += weight * u * h / 3 / g
	}
	return x * ahead / u0, y, t
}

// Places and times of random paths against the hodograph. 0.01 in is promised at
// 100 yd, 2.54e-4 m; a twentieth of it is asked for, on slopes and in winds too.
func TestPathsAgainstTheHodograph(t *testing.T) {
	const promise, share = 2.54e-4, 20
	flown := 0
	rapid.Check(t, func(t *rapid.T) {
		a := Arrow{Speed: unit.Speed(rapid.Float64Range(40, 130).Draw(t, "speed")), Decay: rapid.Float64Range(0, 0.01).Draw(t, "decay")}
		tangent, wind := rapid.Float64Range(-1.8, 1.8).Draw(t, "tangent"), rapid.Float64Range(-20, 20).Draw(t, "wind")
		way := rapid.Float64Range(5, 91.44).Draw(t, "way") / math.Hypot(1, tangent)
		n, ok := a.fly(tangent, way, wind)
		if !ok {
			return
		}
		flown++
		// The slope in the plane of the path: its vertical speed, which is p u, over
		// the speed through the air in the level.
		x, y, time := hodograph(float64(a.Speed), a.Decay, tangent, wind, n.p/math.Sqrt(n.aside))
		if math.Abs(x-n.x) > promise/share || math.Abs(y-n.y) > promise/share || math.Abs(time-n.t) > 1e-6 {
			t.Fatalf("x %.9f, y %.9f, t %.9f; by the hodograph %.9f, %.9f, %.9f", n.x, n.y, n.t, x, y, time)
		}
	})
	if !testing.Short() && flown < 50 {
		t.Errorf("only %d paths were compared", flown)
	}
}

// Kinetic and potential energy together never rise along a path, and what drag
// takes is its force, k v² for each kilogram, along the way.
func TestEnergyNeverRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Arrow{Speed: unit.Speed(rapid.Float64Range(25, 130).Draw(t, "speed")), Decay: rapid.Float64Range(0, 0.02).Draw(t, "decay")}
		tangent := rapid.Float64Range(-2, 2).Draw(t, "tangent")
		energy := func(n *node) float64 { return n.speed()*n.speed()/2 + unit.StandardGravity*n.y }
		n := a.leave(tangent, 0)
		start, taken := energy(&n), 0.0
		// The error of a step leaves energy undetermined by this much.
		slack := 1e-9 * start
		for range 40 {
			next := a.step(&n, a.stride(&n)/2)
			if next.u < leastSpeed {
				break
			}
			before, after := energy(&n), energy(&next)
			if after > before+slack {
				t.Fatalf("at X %v it has %v J/kg after %v", next.x, after, before)
			}
			// The trapezium rule over the step, whose force hardly changes.
			way := math.Hypot(next.x-n.x, next.y-n.y)
			taken += a.Decay * way * (n.speed()*n.speed() + next.speed()*next.speed()) / 2
			n = next
		}
		if lost := start - energy(&n); math.Abs(lost-taken) > 1e-3*taken+slack*40 {
			t.Fatalf("it lost %v J/kg on its way; drag took %v", lost, taken)
		}
	})
}
