package flight_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"foreshaft/engine/flight"
	"foreshaft/engine/unit"
)

// table is testdata/flight/reference.json: paths made once with scipy's DOP853
// by reference.py beside it, which shares no code with the engine and names
// versions and tolerances.
type table struct {
	Solver string `json:"solver"`
	Cases  []struct {
		Name, Base            string
		V0, K, Slope, H, P, R float64
		Wind                  float64
		MarkSpread            *float64                            `json:"mark_spread"`
		HoldOn                *struct{ Theta, Near, Far float64 } `json:"hold_on"`
		Distances             []struct {
			Distance   float64
			Theta      *float64
			T, Speed   float64
			Mark, Drop float64
			Drift      float64
			RangeShort float64  `json:"range_short"`
			RangeLong  *float64 `json:"range_long"`
			HoldFor    *float64 `json:"hold_for"`
			Impact     *float64
		}
	}
	Plain []struct {
		V0, K, Slope, Theta, Wind float64
		States                    []struct{ X, T, Y, Z, Vx, Vy, Vz float64 }
	}
}

func reference(t *testing.T) table {
	t.Helper()
	data, err := os.ReadFile("../../testdata/flight/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var out table
	if err := json.Unmarshal(data, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// tolerance is what the engine promises: 0.01 in at 100 yd is 2.5e-4 m; paths
// are in fact good to far less.
const tolerance = 2e-6

func near(t *testing.T, what string, got, want, scale float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*scale) {
		t.Errorf("%s: %.12g, by the reference %.12g", what, got, want)
	}
}

func TestEveryFigureOfThePathAgainstTheReference(t *testing.T) {
	ref := reference(t)
	shots := map[string]*flight.Shot{}
	for _, c := range ref.Cases {
		shots[c.Name] = flight.New(flight.Arrow{Speed: unit.Speed(c.V0), Decay: c.K},
			flight.Scene{Slope: unit.Angle(c.Slope), Eye: unit.Length(c.H), Crosswind: unit.Speed(c.Wind), Radius: unit.Length(c.R)})
	}
	rows := 0
	for _, c := range ref.Cases {
		s := shots[c.Name]
		for _, r := range c.Distances {
			d := unit.Length(r.Distance)
			what := func(figure string) string { return c.Name + " " + figure }
			hit, err := s.To(d)
			if (err == nil) != (r.Theta != nil) {
				t.Errorf("%s at %g m: %v, by the reference %v", c.Name, r.Distance, err, r.Theta)
				continue
			}
			if err != nil {
				continue
			}
			rows++
			near(t, what("theta"), math.Atan(hit.Tangent), *r.Theta, 1)
			near(t, what("mark"), c.P*hit.Tangent, r.Mark, 1)
			near(t, what("time"), hit.Time, r.T, 1)
			near(t, what("speed"), float64(hit.Speed), r.Speed, 10)
			near(t, what("drop"), float64(hit.Drop), r.Drop, 10)
			drift, ok := s.Drift(hit.Tangent, d)
			if !ok {
				t.Errorf("%s: no drift", c.Name)
			}
			near(t, what("drift"), float64(drift), r.Drift, 1)
			tol := s.Tolerance(&hit, d)
			near(t, what("range_short"), float64(tol.Nearer), r.RangeShort, 20)
			if r.RangeLong == nil {
				if !math.IsNaN(float64(tol.Farther)) {
					t.Errorf("%s at %g m: range_long %v, by the reference none", c.Name, r.Distance, tol.Farther)
				}
			} else {
				near(t, what("range_long"), float64(tol.Farther), *r.RangeLong, 20)
			}
			if c.Slope != 0 {
				level, ok := s.Level(hit.Tangent)
				if ok != (r.HoldFor != nil) {
					t.Errorf("%s at %g m: hold for %v %v, by the reference %v", c.Name, r.Distance, level, ok, r.HoldFor)
				} else if ok {
					near(t, what("hold_for"), float64(level), *r.HoldFor, 20)
				}
			}
			base := shots[c.Base]
			if other, err := base.To(d); err == nil && r.Impact != nil {
				height, ok := s.Height(other.Tangent, d)
				if !ok {
					t.Errorf("%s: no height", c.Name)
				}
				near(t, what("impact"), float64(height), *r.Impact, 10)
			}
		}
		if c.HoldOn != nil {
			hold, ok := s.HoldOn()
			if !ok {
				t.Errorf("%s: no hold", c.Name)
			}
			near(t, c.Name+" hold on angle", math.Atan(hold.Tangent), c.HoldOn.Theta, 1)
			near(t, c.Name+" hold on from", float64(hold.Near), c.HoldOn.Near, 20)
			near(t, c.Name+" hold on to", float64(hold.Far), c.HoldOn.Far, 20)
		}
		if c.MarkSpread != nil {
			far, _ := s.To(60 * unit.Yard)
			close, _ := s.To(20 * unit.Yard)
			near(t, c.Name+" mark spread", c.P*(far.Tangent-close.Tangent), *c.MarkSpread, 1)
		}
	}
	if !testing.Short() && rows < 120 {
		t.Errorf("only %d rows were compared", rows)
	}
}
