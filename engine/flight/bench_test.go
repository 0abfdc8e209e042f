package flight_test

import (
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/flight"
	"foreshaft/engine/unit"
)

// usual is an invented arrow in an invented scene, about what most are like.
func usual() *flight.Shot {
	return flight.New(flight.Arrow{Speed: 86.5, Decay: 0.00195}, flight.Scene{Eye: 0.1143, Radius: 0.1016})
}

// BenchmarkPath follows one path to 100 yd. The budget is 5 µs.
func BenchmarkPath(b *testing.B) {
	for _, c := range []struct {
		name string
		a    flight.Arrow
		wind unit.Speed
	}{
		{"still", usual().Arrow, 0},
		{"wind", usual().Arrow, 4.4704},
		{"draggy", flight.Arrow{Speed: 75, Decay: 0.008}, 4.4704},
	} {
		b.Run(c.name, func(b *testing.B) {
			s := usual()
			s.Arrow, s.Crosswind = c.a, c.wind
			hit, err := s.To(100 * unit.Yard)
			if err != nil {
				b.Fatal(err)
			}
			follow := s.Drift
			if c.wind == 0 {
				follow = s.Height // which knows no wind
			}
			for b.Loop() {
				if _, ok := follow(hit.Tangent, 100*unit.Yard); !ok {
					b.Fatal("it does not get there")
				}
			}
		})
	}
}

// BenchmarkTo solves for the launch angle.
func BenchmarkTo(b *testing.B) {
	for _, c := range []struct {
		name  string
		a     flight.Arrow
		slope unit.Angle
		d     unit.Length
		hits  bool
	}{
		{"60 yd", usual().Arrow, 0, 60 * unit.Yard, true},
		{"60 yd uphill", usual().Arrow, 30 * unit.Degree, 60 * unit.Yard, true},
		// Where Newton's steps lead nowhere: the farthest is 103.89 m. A metre short of
		// it, and just beyond it, where only a search can tell.
		{"at the limit", flight.Arrow{Speed: 40, Decay: 0.005}, 0, 102.9, true},
		{"beyond it", flight.Arrow{Speed: 40, Decay: 0.005}, 0, 104, false},
	} {
		b.Run(c.name, func(b *testing.B) {
			s := flight.New(c.a, flight.Scene{Eye: 0.1143, Slope: c.slope})
			for b.Loop() {
				if _, err := s.To(c.d); (err == nil) != c.hits {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkTolerance(b *testing.B) {
	s := usual()
	hit, err := s.To(60 * unit.Yard)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s.Tolerance(&hit, 60*unit.Yard)
	}
}

func BenchmarkHoldOn(b *testing.B) {
	s := usual()
	for b.Loop() {
		if _, ok := s.HoldOn(); !ok {
			b.Fatal("no hold")
		}
	}
}

// BenchmarkAnswer is all that one build needs at one distance.
func BenchmarkAnswer(b *testing.B) {
	s := usual()
	s.Crosswind = 4.4704
	for b.Loop() {
		hit, err := s.To(60 * unit.Yard)
		if err != nil {
			b.Fatal(err)
		}
		s.Drift(hit.Tangent, 60*unit.Yard)
		s.Tolerance(&hit, 60*unit.Yard)
	}
}

// BenchmarkDrag works out the coefficient of a vaned arrow with blades.
func BenchmarkDrag(b *testing.B) {
	o := arrow.Outline{
		Diameter: 0.246 * unit.Inch, Tube: 29 * unit.Inch, Vanes: 3, VaneHeight: 0.5 * unit.Inch, VaneRoot: 2.2 * unit.Inch, VaneTip: 0.8 * unit.Inch,
		VaneThickness: 0.025 * unit.Inch, Blades: 3, BladeSpan: 0.4 * unit.Inch, BladeLength: 1.1 * unit.Inch, BladeThickness: 0.03 * unit.Inch, Rough: true,
	}
	density, viscosity := seaLevel()
	for b.Loop() {
		flight.DragOf(&o, 86.5, density, viscosity)
	}
}
