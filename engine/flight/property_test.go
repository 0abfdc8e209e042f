package flight_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/flight"
	"foreshaft/engine/unit"
)

func draw(t *rapid.T) (flight.Arrow, flight.Scene, unit.Length) {
	return flight.Arrow{Speed: unit.Speed(rapid.Float64Range(20, 150).Draw(t, "speed")), Decay: rapid.Float64Range(0, 0.02).Draw(t, "decay")},
		flight.Scene{Slope: unit.Angle(rapid.Float64Range(-60, 60).Draw(t, "slope")) * unit.Degree, Eye: unit.Length(rapid.Float64Range(0, 0.2).Draw(t, "eye")),
			Crosswind: unit.Speed(rapid.Float64Range(-20, 20).Draw(t, "wind")), Radius: unit.Length(rapid.Float64Range(0.01, 0.6).Draw(t, "radius"))},
		unit.Length(rapid.Float64Range(1, 180).Draw(t, "distance"))
}

// What is said to hit hits, with no more energy than it left with, and the ends of
// the tolerance lie on the edge of the target.
func TestHitsAndTolerancesAreTrue(t *testing.T) {
	hits := 0
	rapid.Check(t, func(t *rapid.T) {
		a, scene, d := draw(t)
		s := flight.New(a, scene)
		hit, err := s.To(d)
		if err != nil {
			var reach *flight.ReachError
			if !errors.As(err, &reach) {
				t.Fatalf("%v", err)
			}
			return
		}
		hits++
		for _, x := range []float64{hit.Tangent, hit.Time, float64(hit.Speed), float64(hit.Drop)} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("%+v", hit)
			}
		}
		rise := float64(d)*math.Sin(float64(scene.Slope)) + float64(scene.Eye)*math.Cos(float64(scene.Slope))
		if v := float64(hit.Speed); v*v/2+unit.StandardGravity*rise > float64(a.Speed*a.Speed)/2*(1+1e-6) {
			t.Fatalf("it arrives with more energy than it left with: %v m/s after %v", hit.Speed, a.Speed)
		}
		height := func(at unit.Length) float64 {
			h, ok := s.Height(hit.Tangent, at)
			if !ok {
				return math.NaN()
			}
			return float64(h)
		}
		if h := height(d); math.Abs(h) > 1e-6 {
			t.Fatalf("it passes %v m over the line of sight where it hits", h)
		}
		tolerance, r := s.Tolerance(&hit, d), float64(scene.Radius)
		if tolerance.Nearer < 0 || tolerance.Nearer > d || tolerance.Farther < 0 {
			t.Fatalf("%+v at %v", tolerance, d)
		}
		if tolerance.Nearer < d {
			if h := height(d - tolerance.Nearer); math.Abs(math.Abs(h)-r) > 1e-5 {
				t.Fatalf("at the near end it is %v m off, radius %v", h, r)
			}
		}
		if far := height(d + tolerance.Farther); !math.IsNaN(far) && math.Abs(math.Abs(far)-r) > 1e-5 {
			t.Fatalf("at the far end it is %v m off, radius %v", far, r)
		}
		// Between the two ends it is on the target all the way.
		from, to := d-tolerance.Nearer, d+tolerance.Farther
		if math.IsNaN(float64(to)) {
			to = d
		}
		for i := 1; i < 8; i++ {
			if h := height(from + (to-from)*unit.Length(i)/8); math.Abs(h) > r+1e-6 {
				t.Fatalf("between the ends it is %v m off, radius %v", h, r)
			}
		}
	})
	if hits == 0 {
		t.Error("nothing hit")
	}
}

// More drag, and less speed, ask for a higher launch and leave less.
func TestDragAndSpeedWorkTheRightWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, scene, d := draw(t)
		hit, err := flight.New(a, scene).To(d)
		draggy, slow := a, a
		draggy.Decay += 0.0005
		slow.Speed *= 0.98
		hit2, err2 := flight.New(draggy, scene).To(d)
		hit3, err3 := flight.New(slow, scene).To(d)
		if err != nil || err2 != nil || err3 != nil {
			return
		}
		if hit2.Tangent <= hit.Tangent || hit2.Time <= hit.Time {
			t.Fatalf("with more drag it leaves at %v instead of %v", hit2.Tangent, hit.Tangent)
		}
		if hit3.Tangent <= hit.Tangent || hit3.Time <= hit.Time {
			t.Fatalf("slower it leaves at %v instead of %v", hit3.Tangent, hit.Tangent)
		}
	})
}

// Didion's lag rule, W (t − X/v₀ₓ) with t in the wind, is exact for a crosswind
// (McCoy, chapter 7). The wind turns round with its sign.
func TestTheLagRule(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		a := flight.Arrow{Speed: unit.Speed(40 + 60*r.Float64()), Decay: 0.01 * r.Float64()}
		scene := flight.Scene{Eye: 0.1, Crosswind: unit.Speed(1 + 15*r.Float64())}
		d := unit.Length(10 + 60*r.Float64())
		s := flight.New(a, scene)
		hit, err := s.To(d)
		if err != nil {
			continue
		}
		z, ok := s.Drift(hit.Tangent, d)
		lag := flight.LagForTest(s, hit.Tangent, d)
		if !ok || math.Abs(float64(z)-lag) > 1e-9 {
			t.Errorf("%v: sideways %.12f, by the rule %.12f", scene, float64(z), lag)
		}
		scene.Crosswind = -scene.Crosswind
		if back, _ := flight.New(a, scene).Drift(hit.Tangent, d); math.Abs(float64(z+back)) > 1e-12 {
			t.Errorf("%v: %v one way and %v the other", scene, float64(z), float64(back))
		}
	}
}

// One mark tops out at the radius, and serves between its ends.
func TestOneMarkForNearAndFar(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, scene, _ := draw(t)
		s := flight.New(a, scene)
		hold, ok := s.HoldOn()
		if !ok {
			return
		}
		most, r := math.Inf(-1), float64(scene.Radius)
		for i := range 401 {
			h, ok := s.Height(hold.Tangent, hold.Near+(hold.Far-hold.Near)*unit.Length(i)/400)
			if ok {
				most = max(most, float64(h))
			}
		}
		if most > r+1e-6 || most < r-0.01*r-1e-3 {
			t.Fatalf("it tops out %v m over the line of sight, radius %v", most, r)
		}
		if h, ok := s.Height(hold.Tangent, hold.Far); !ok || math.Abs(float64(h)+r) > 1e-5 {
			t.Fatalf("at its far end it is %v m off, radius %v", float64(h), r)
		}
	})
}

// A slope asks for the level distance with the same launch angle, and on the level
// that is the distance itself, beyond the turn of the marks.
func TestLevelGivesTheDistanceBack(t *testing.T) {
	s := flight.New(flight.Arrow{Speed: 85, Decay: 0.002}, flight.Scene{Eye: 0.1143})
	for _, yards := range []float64{20, 40, 80, 150} {
		d := unit.Length(yards) * unit.Yard
		hit, err := s.To(d)
		if err != nil {
			t.Fatal(err)
		}
		if level, ok := s.Level(hit.Tangent); !ok || math.Abs(float64(level-d)) > 1e-5 {
			t.Errorf("%v yd asks for %v", yards, level.In(unit.Yard))
		}
	}
	if _, ok := s.Level(0); ok {
		t.Error("an arrow launched along the line of sight never comes up to it")
	}
}

// Of the two angles that hit it is the lower one.
func TestTheLowerAngle(t *testing.T) {
	s := flight.New(flight.Arrow{Speed: 45, Decay: 0.003}, flight.Scene{Eye: 0.1})
	for d := unit.Length(20); d < 120; d += 5 {
		hit, err := s.To(d)
		if err != nil {
			continue
		}
		for angle := 0.1; angle < float64(hit.Angle())-1e-3; angle += 0.02 {
			if h, ok := s.Height(math.Tan(angle), d); ok && h >= 0 {
				t.Errorf("%v m: %v rad hits as well, below %v", float64(d), angle, float64(hit.Angle()))
			}
		}
	}
}

func TestOutOfReach(t *testing.T) {
	for _, c := range []struct {
		arrow flight.Arrow
		scene flight.Scene
		d     unit.Length
		near  bool
	}{
		{flight.Arrow{Speed: 30}, flight.Scene{}, 150, false},
		{flight.Arrow{Speed: 60, Decay: 0.06}, flight.Scene{Slope: 60 * unit.Degree}, 180, false},
		{flight.Arrow{Speed: 80, Decay: 0.002}, flight.Scene{Slope: 60 * unit.Degree, Eye: 0.2}, 0.1, true},
	} {
		_, err := flight.New(c.arrow, c.scene).To(c.d)
		var reach *flight.ReachError
		if !errors.As(err, &reach) || reach.Near != c.near {
			t.Errorf("%+v to %v: %v", c.arrow, float64(c.d), err)
		}
	}
	// In a vacuum 45° carries farthest: v²/g (closed form).
	s := flight.New(flight.Arrow{Speed: 40}, flight.Scene{})
	farthest := 1600 / unit.StandardGravity
	if _, err := s.To(unit.Length(farthest * 0.9999)); err != nil {
		t.Errorf("just within reach: %v", err)
	}
	if _, err := s.To(unit.Length(farthest * 1.0001)); err == nil {
		t.Error("just out of reach it hits")
	}
}

// The decay is found again from the speeds that it leads to, with the uncertainty
// of a seeded Monte Carlo.
func TestDecayFromTwoSpeeds(t *testing.T) {
	for _, k := range []float64{0.0008, 0.002, 0.006} {
		near, apart := unit.Speed(85), unit.Length(40)
		hit, err := flight.New(flight.Arrow{Speed: near, Decay: k}, flight.Scene{}).To(apart)
		if err != nil {
			t.Fatal(err)
		}
		two := flight.TwoSpeeds{Near: near, Far: hit.Speed, NearU: 0.15, FarU: 0.2, Apart: apart}
		found, u, err := two.Decay()
		if err != nil || math.Abs(found-k) > 1e-9 {
			t.Errorf("k %v comes back as %v, %v", k, found, err)
		}
		r, sum, n := rand.New(rand.NewPCG(3, 4)), 0.0, 4000
		for range n {
			drawn := two
			drawn.Near += unit.Speed(0.15 * r.NormFloat64())
			drawn.Far += unit.Speed(0.2 * r.NormFloat64())
			other, _, err := drawn.Decay()
			if err != nil {
				t.Fatal(err)
			}
			sum += (other - k) * (other - k)
		}
		within(t, "u of k", u, math.Sqrt(sum/float64(n)), 0.06)
	}
	for _, bad := range []flight.TwoSpeeds{{}, {Near: 80, Far: 81, Apart: 30}, {Near: 80, Far: 75}, {Near: 80, Far: 75, Apart: -3}, {Near: 20, Far: 8, Apart: 120}} {
		if k, _, err := bad.Decay(); err == nil {
			t.Errorf("%+v gives %v", bad, k)
		}
	}
}

func BenchmarkHit60Yards(b *testing.B) {
	s := flight.New(flight.Arrow{Speed: 86.5, Decay: 0.00195}, flight.Scene{Eye: 0.1143, Radius: 0.1})
	for b.Loop() {
		if _, err := s.To(60 * unit.Yard); err != nil {
			b.Fatal(err)
		}
	}
}

// One path to 100 yd: at most 5 µs.
func BenchmarkPathTo100Yards(b *testing.B) {
	s := flight.New(flight.Arrow{Speed: 86.5, Decay: 0.00195}, flight.Scene{Eye: 0.1143, Crosswind: 4})
	for b.Loop() {
		if _, ok := s.Drift(0.04, 100*unit.Yard); !ok {
			b.Fatal("it does not get there")
		}
	}
}

func BenchmarkTolerance(b *testing.B) {
	s := flight.New(flight.Arrow{Speed: 86.5, Decay: 0.00195}, flight.Scene{Eye: 0.1143, Radius: 0.1})
	hit, err := s.To(60 * unit.Yard)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s.Tolerance(&hit, 60*unit.Yard)
	}
}
