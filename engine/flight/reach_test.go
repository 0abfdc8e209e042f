package flight_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/flight"
	"foreshaft/engine/unit"
)

// refused says why no angle hits: "near", "far", or "" when one does.
func refused(t *testing.T, s *flight.Shot, d unit.Length) string {
	t.Helper()
	hit, err := s.To(d)
	if err == nil {
		return ""
	}
	var reach *flight.ReachError
	if !errors.As(err, &reach) {
		t.Fatalf("%v is no ReachError", err)
	}
	if hit != (flight.Hit{}) {
		t.Errorf("with %v comes %+v", err, hit)
	}
	if reach.Distance != d && !math.IsNaN(float64(d)) {
		t.Errorf("to %v it speaks of %v", float64(d), float64(reach.Distance))
	}
	// The words must agree with the field that a program goes by.
	if word := map[bool]string{true: "too near", false: "out of reach"}[reach.Near]; !strings.Contains(err.Error(), word) {
		t.Errorf("%q does not say %q", err, word)
	}
	if reach.Near {
		return "near"
	}
	return "far"
}

func TestOutOfReach(t *testing.T) {
	for _, c := range []struct {
		arrow flight.Arrow
		scene flight.Scene
		d     unit.Length
		want  string
	}{
		{flight.Arrow{Speed: 30}, flight.Scene{}, 90, ""},
		{flight.Arrow{Speed: 30}, flight.Scene{}, 150, "far"},
		{flight.Arrow{Speed: 80, Decay: 0.002}, flight.Scene{}, 183, ""},
		{flight.Arrow{Speed: 60, Decay: 0.06}, flight.Scene{}, 100, "far"},
		{flight.Arrow{Speed: 60, Decay: 0.06}, flight.Scene{Slope: 60 * unit.Degree}, 180, "far"},
		{flight.Arrow{Speed: 1}, flight.Scene{}, 50, "far"},
		{flight.Arrow{}, flight.Scene{}, 50, "far"},
		// Up a slope of 60° the line of sight starts 0.2 sin 60° behind the throat.
		{flight.Arrow{Speed: 80, Decay: 0.002}, flight.Scene{Slope: 60 * unit.Degree, Eye: 0.2}, 0.1, "near"},
		{flight.Arrow{Speed: 80, Decay: 0.002}, flight.Scene{Slope: 60 * unit.Degree, Eye: 0.2}, 0.34, "near"},
		{flight.Arrow{Speed: 80, Decay: 0.002}, flight.Scene{Slope: 60 * unit.Degree, Eye: 0.2}, 1, ""},
		// Down a slope and on the level nothing is too near but the throat itself.
		{flight.Arrow{Speed: 80, Decay: 0.002}, flight.Scene{Slope: -60 * unit.Degree, Eye: 0.2}, 0.1, ""},
		{flight.Arrow{Speed: 80, Decay: 0.002}, flight.Scene{Eye: 0.1}, 0.1, ""},
	} {
		if got := refused(t, flight.New(c.arrow, c.scene), c.d); got != c.want {
			t.Errorf("%+v, %v, to %v m: %q, want %q", c.arrow, c.scene, float64(c.d), got, c.want)
		}
	}
}

// Nothing is to be hit at the throat itself, or behind it. Down a slope the line of
// sight could be met there, by an arrow that leaves square to it or backwards: no
// mark on a sight stands for that.
func TestTheThroatIsTooNear(t *testing.T) {
	for _, degrees := range []unit.Angle{-60, -30, -5, -1, 0, 5, 30, 60} {
		for _, eye := range []unit.Length{0, 0.1143} {
			for _, d := range []unit.Length{0, -0.01, -5} {
				s := flight.New(flight.Arrow{Speed: 86.5, Decay: 0.002}, flight.Scene{Slope: degrees * unit.Degree, Eye: eye})
				if got := refused(t, s, d); got != "near" {
					t.Errorf("%v, to %v m: %q", s.Scene, float64(d), got)
				}
			}
		}
	}
}

// In a vacuum the farthest that can be reached up or down a slope is
// v²/(g (1 + sin slope)) (closed form of mechanics textbooks), and half the angle
// between slope and plumb line gets there.
func TestTheFarthestInAVacuum(t *testing.T) {
	for _, v := range []float64{25, 40, 90} {
		for _, degrees := range []float64{-60, -20, 0, 15, 45, 60} {
			slope := degrees * math.Pi / 180
			s, farthest := flight.New(flight.Arrow{Speed: unit.Speed(v)}, flight.Scene{Slope: unit.Angle(slope)}), v*v/(gravity*(1+math.Sin(slope)))
			if got := refused(t, s, unit.Length(farthest*1.00001)); got != "far" {
				t.Errorf("%v m/s, %v°: just out of reach it says %q", v, degrees, got)
			}
			hit := hits(t, s, unit.Length(farthest*0.99999))
			// So near the limit, where the two angles run into one, a hit of 1e-12 m
			// for each metre of way leaves the angle open by some 1e-9.
			angle, _, _ := parabola{v, slope, 0}.to(farthest * 0.99999)
			roughly(t, "angle", float64(hit.Angle()), angle-slope, 1e-8)
			if float64(hit.Angle()) >= (math.Pi/2-slope)/2 {
				t.Errorf("%v m/s, %v°: %v rad is the upper angle", v, degrees, float64(hit.Angle()))
			}
		}
	}
}

// With drag too there is one limit: what is within it hits, what is beyond does
// not, and up to it the angle only grows.
func TestReachEndsOnce(t *testing.T) {
	for _, a := range []flight.Arrow{{Speed: 30, Decay: 0.002}, {Speed: 45, Decay: 0.01}, {Speed: 60, Decay: 0.004}, {Speed: 80, Decay: 0.02}} {
		for _, degrees := range []unit.Angle{-30, 0, 20, 50} {
			s := flight.New(a, flight.Scene{Slope: degrees * unit.Degree})
			ended, last := false, 0.0
			for d := unit.Length(1); d < 500; d += 1.7 {
				hit, err := s.To(d)
				switch {
				case err != nil:
					ended = true
				case ended:
					t.Errorf("%+v, %v: %v m is within reach again", a, s.Scene, float64(d))
				case hit.Tangent <= last:
					t.Errorf("%+v, %v: the angle falls at %v m", a, s.Scene, float64(d))
				default:
					last = hit.Tangent
				}
			}
			if !ended || last == 0 {
				t.Errorf("%+v, %v: the end of its reach was not met", a, s.Scene)
			}
		}
	}
}

// On slopes steeper than a job may have everything still ends, with a hit or
// without. That it ends at all is the check: go test would wait for minutes.
func TestSteepSlopesEnd(t *testing.T) {
	hit, missed := 0, 0
	for _, degrees := range []unit.Angle{-90, -89.9, -75, -60, 60, 75, 89.9, 90} {
		for _, a := range []flight.Arrow{{Speed: 25}, {Speed: 25, Decay: 0.02}, {Speed: 60, Decay: 0.002}, {Speed: 120, Decay: 0.01}} {
			for _, d := range []unit.Length{0.01, 1, 30, 183, 5000} {
				s := flight.New(a, flight.Scene{Slope: degrees * unit.Degree, Eye: 0.1, Crosswind: 20, Radius: 0.2})
				if hold, ok := s.HoldOn(); ok && !(hold.Far > hold.Near) {
					t.Errorf("%+v, %v: one mark for %v to %v", a, s.Scene, float64(hold.Near), float64(hold.Far))
				}
				h, err := s.To(d)
				if err != nil {
					missed++
					continue
				}
				hit++
				if tolerance := s.Tolerance(&h, d); !(tolerance.Nearer >= 0 && tolerance.Nearer <= d) {
					t.Errorf("%+v, %v, %v m: %v nearer", a, s.Scene, float64(d), float64(tolerance.Nearer))
				}
				s.Level(h.Tangent)
				s.Drift(h.Tangent, d)
			}
		}
	}
	if hit < 30 || missed < 30 {
		t.Errorf("%d hits, %d misses: both are meant to come up", hit, missed)
	}
}

// Whatever goes in, what comes out without an error is a number, and a Shot that
// could not hit serves on.
func TestNothingComesOutThatIsNoNumber(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	odd := func(more ...float64) *rapid.Generator[float64] {
		return rapid.OneOf(rapid.SampledFrom(append(more, 0, 1e-9, 1, 50, 1e6, inf, nan)), rapid.Float64Range(0, 200))
	}
	hit := 0
	rapid.Check(t, func(t *rapid.T) {
		a := flight.Arrow{Speed: unit.Speed(odd().Draw(t, "speed")), Decay: odd(0.001, 0.002, 0.01).Draw(t, "decay")}
		d := unit.Length(odd(-1).Draw(t, "distance"))
		if rapid.Bool().Draw(t, "a plausible shot") {
			a, d = flight.Arrow{Speed: 70, Decay: 0.002}, unit.Length(rapid.Float64Range(0, 183).Draw(t, "plausible distance"))
		}
		s := flight.New(a, flight.Scene{
			Slope: unit.Angle(rapid.SampledFrom([]float64{0, 0, 0, 0.5, -0.5, math.Pi / 2, -math.Pi / 2, 3, nan}).Draw(t, "slope")),
			Eye:   unit.Length(odd(0.1).Draw(t, "eye")), Crosswind: unit.Speed(odd(-5, -1e9).Draw(t, "wind")), Radius: unit.Length(odd(0.1).Draw(t, "radius")),
		})
		number := func(what string, list ...float64) {
			for _, x := range list {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%s: %v", what, list)
				}
			}
		}
		// The throat itself has its own test.
		if h, err := s.To(d); err == nil && d > unit.Millimetre {
			hit++
			number("hit", h.Tangent, h.Time, float64(h.Speed), float64(h.Drop))
			if z, ok := s.Drift(h.Tangent, d); ok {
				number("drift", float64(z))
			}
			if y, ok := s.Height(h.Tangent, d); ok {
				number("height", float64(y))
			}
			if level, ok := s.Level(h.Tangent); ok {
				number("level", float64(level))
			}
			number("nearer", float64(s.Tolerance(&h, d).Nearer))
		}
		if hold, ok := s.HoldOn(); ok {
			number("hold", float64(hold.Near), float64(hold.Far), hold.Tangent)
		}
		s.Set(flight.Arrow{Speed: 70, Decay: 0.002}, 0.1)
		if s.Slope == 0 {
			if h, err := s.To(40); err != nil || !(h.Tangent > 0) {
				t.Fatalf("after that a plain arrow gives %+v, %v", h, err)
			}
		}
	})
	if hit < 10 && !testing.Short() {
		t.Errorf("only %d shots hit", hit)
	}
}
