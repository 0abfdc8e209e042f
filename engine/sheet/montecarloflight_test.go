package sheet_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
)

// Pieces of the jobs of flight; all data in them is invented.
const (
	flightShaft = `"shaft":{"weight_gr_per_in":8.6,"outer_diameter_in":0.246}`
	thinShaft   = `"shaft":{"weight_gr_per_in":9.3,"outer_diameter_in":0.204,"outer_diameter_u_in":0.002}`
	lowVanes    = `"vanes":{"count":3,"weight_gr":6,"length_in":2.2,"height_in":0.5,"rear_in":1.3}`
	highVanes   = `"vanes":{"count":4,"weight_gr":8,"length_in":3,"height_in":0.6,"rear_in":1.3,"thickness_in":0.03,"tip_length_in":1}`
	blades      = `"head":{"weight_gr":100,"balance_in":0.5,"length_in":1.5,"blades":3,"blade_length_in":1.1,"cut_width_in":1.1}`
	eyeAndPin   = `"sight":{"peep_to_pin_in":34,"peep_above_nock_in":4.5}`
)

func insertOf(grains int) string {
	return fmt.Sprintf(`"insert":{"weight_gr":%d,"depth_in":1}`, grains)
}

// scene is what a job says besides its bow and its builds.
func scene(rest ...string) string { return strings.Join(append(rest, dry), ",") }

// flights are jobs whose figures are compared with draws of a world.
//
// The law of propagation is a straight line, so these jobs stay away from the
// places where a figure has a corner: the ranges where the other edge of the
// target begins to count (range_short jumps where a path tops out at the
// target's radius, and range_long where it ends 80 yd on), an eye within three
// uncertainties of the radius (hold_on_near stops at nothing there), a Reynolds
// number on the edge of the tripping range, and shots near the farthest that can
// be reached.
var flights = []struct {
	name  string
	heavy bool // left out under -short
	data  func() []byte
}{
	{"one piece changed: the outline is the same and its error cancels", false, func() []byte {
		return document(plainBow+","+eyeAndPin+","+scene(`"distances_yd":[30,60],"crosswind_mph":10`), 0,
			build("a", 29.5, flightShaft, plainNock, lowVanes, insertOf(50), point),
			build("more insert", 29.5, flightShaft, plainNock, lowVanes, insertOf(75), point))
	}},
	{"another vane, another head, another length", true, func() []byte {
		return document(plainBow+","+eyeAndPin+","+scene(`"distances_yd":[25,70],"crosswind_mph":-6,"target_radius_in":3`), 0,
			build("a", 29.5, flightShaft, plainNock, lowVanes, insertOf(50), point),
			build("vanes", 29.5, flightShaft, plainNock, highVanes, insertOf(50), point),
			build("blades", 29.5, flightShaft, plainNock, highVanes, insertOf(50), blades),
			build("longer", 30.5, flightShaft, plainNock, lowVanes, insertOf(50), point))
	}},
	{"another diameter, readings far apart", false, func() []byte {
		return document(twoArrows+","+eyeAndPin+","+scene(`"distances_yd":[40,80],"crosswind_mph":5`), 1,
			build("thin", 29.5, thinShaft, plainNock, lowVanes, point),
			build("base", 29.5, flightShaft, plainNock, lowVanes, insertOf(50), point))
	}},
	{"given drag coefficients, so that small inputs count: pin, diameter, air", false, func() []byte {
		const weighedAll = `"shaft":{"tube_weight_gr":250,"outer_diameter_in":0.246,"outer_diameter_u_in":0},"nock":{"weight_gr":9,"weight_u_gr":0.1},"head":{"weight_gr":100,"weight_u_gr":0.1}`
		return document(twoArrows+`,"sight":{"peep_to_pin_in":3,"peep_above_nock_in":4.5},`+scene(`"distances_yd":[40,90],"crosswind_mph":12`), 0,
			build("a", 29.5, flightShaft, plainNock, lowVanes, point, `"drag_coefficient":2.4`),
			build("heavier", 29.5, flightShaft, plainNock, lowVanes, insertOf(60), point, `"drag_coefficient":2.4`),
			build("stated", 29.5, `"shaft":{"weight_gr_per_in":8.6,"outer_diameter_in":0.246,"outer_diameter_u_in":0.006}`, plainNock, lowVanes, point, `"drag_coefficient":2.4,"drag_coefficient_u":0.12`),
			build("certain", 29.5, weighedAll, `"drag_coefficient":1.9,"drag_coefficient_u":0`))
	}},
	{"uphill by 20°", true, func() []byte {
		return document(plainBow+`,"sight":{"peep_to_pin_in":30,"peep_above_nock_in":5.5},`+scene(`"distances_yd":[20,65],"crosswind_mph":8,"slope_deg":20`), 0,
			build("a", 29.5, flightShaft, plainNock, lowVanes, insertOf(50), point),
			build("b", 29.5, thinShaft, plainNock, highVanes, insertOf(20), point))
	}},
	{"downhill by 30°", false, func() []byte {
		return document(plainBow+","+eyeAndPin+","+scene(`"distances_yd":[40,60],"crosswind_mph":15,"slope_deg":-30`), 0,
			build("a", 29.5, flightShaft, plainNock, lowVanes, insertOf(50), point),
			build("b", 29.5, flightShaft, plainNock, highVanes, insertOf(90), point))
	}},
	{"a rating alone, recorded elsewhere", true, func() []byte {
		return document(rated+","+eyeAndPin+","+scene(`"distances_yd":[20,55],"crosswind_mph":10`), 0,
			build("a", 28, flightShaft, plainNock, lowVanes, insertOf(20), point),
			build("b", 28, flightShaft, plainNock, lowVanes, insertOf(50), `"head":{"weight_gr":150,"balance_in":0.6}`))
	}},
	{"a longbow, whose arrows fly between laminar and turbulent", true, func() []byte {
		return document(longbow+`,"sight":{"peep_to_pin_in":30,"peep_above_nock_in":4},`+scene(`"distances_yd":[15,40],"target_radius_in":5,"crosswind_mph":4`), 0,
			build("a", 29, `"shaft":{"weight_gr_per_in":12,"outer_diameter_in":0.2165}`, plainNock, lowVanes, `"head":{"weight_gr":125,"balance_in":0.5}`),
			build("blunt", 29, `"shaft":{"weight_gr_per_in":12,"outer_diameter_in":0.2165}`, plainNock, lowVanes, `"head":{"weight_gr":150,"length_in":0.8,"shape":"blunt"}`))
	}},
	{"readings at other settings", true, func() []byte {
		return document(elsewhere+","+eyeAndPin+","+scene(`"distances_yd":[20,50],"crosswind_mph":10,"slope_deg":-10`), 0,
			build("a", 28.5, flightShaft, plainNock, lowVanes, insertOf(50), point),
			build("b", 28.5, thinShaft, plainNock, lowVanes, insertOf(16), `"head":{"weight_gr":85,"length_in":0.9}`))
	}},
	{"on the way up: nearer than where marks turn back", false, func() []byte {
		return document(plainBow+","+eyeAndPin+","+scene(`"distances_yd":[5,8],"target_radius_in":1,"crosswind_mph":10,"slope_deg":10`), 0,
			build("a", 29.5, flightShaft, plainNock, lowVanes, insertOf(50), point),
			build("b", 29.5, flightShaft, plainNock, lowVanes, insertOf(20), point))
	}},
}

// flightSamples is enough for a standard deviation to be known to about 1 %.
const flightSamples = 6000

// Every stated uncertainty of the figures of flight, that of differences too,
// lies within 10 % of a seeded Monte Carlo that shares no code with the engine:
// the engine's promise.
func TestFlightAgainstMonteCarlo(t *testing.T) {
	for i, c := range flights {
		t.Run(c.name, func(t *testing.T) {
			if c.heavy && testing.Short() {
				t.Skip("left out under -short")
			}
			t.Parallel()
			againstSkies(t, decoded(t, c.data()), uint64(i))
		})
	}
}

// series keeps first and second moments of how far something is from where it
// should be, and of how far that is from the baseline's.
type series struct{ one, two, delta1, delta2 float64 }

func againstSkies(t *testing.T, j *job.Job, seed uint64) {
	s, w := sheet.Evaluate(j), newSkies(j)
	z := make([]float64, len(w.known))
	nominal, now, sums := make([][]float64, len(w.builds)), make([][]float64, len(w.builds)), make([][]series, len(w.builds))
	for i := range nominal {
		nominal[i], now[i], sums[i] = make([]float64, w.places()), make([]float64, w.places()), make([]series, w.places())
	}
	w.figures(z, nominal)
	r := rand.New(rand.NewPCG(seed, 20250311))
	for range flightSamples {
		for i := range z {
			z[i] = r.NormFloat64()
		}
		w.figures(z, now)
		for i := range now {
			for k := range now[i] {
				x := now[i][k] - nominal[i][k]
				d := x - (now[j.Baseline][k] - nominal[j.Baseline][k])
				m := &sums[i][k]
				m.one, m.two, m.delta1, m.delta2 = m.one+x, m.two+x*x, m.delta1+d, m.delta2+d*d
			}
		}
	}
	for i := range w.builds {
		for k := range nominal[i] {
			distance, key := skyPlace(k)
			f, ok := defined(t, s, i, distance, key, nominal[i][k])
			if !ok {
				continue
			}
			size, m, what := key.Definition().Unit.Size, sums[i][k], named(s, i, distance, key)
			within(t, "u of "+what, f.U/size, spreadOf(m.one, m.two, flightSamples))
			delta, u, ok := s.DeltaAt(i, distance, key)
			if want := i != j.Baseline && !key.Definition().Compares; ok != want {
				t.Errorf("%s: a difference is there: %v, want %v", what, ok, want)
			}
			if !ok {
				continue
			}
			if want := nominal[i][k] - nominal[j.Baseline][k]; math.Abs(delta/size-want) > 1e-6*math.Abs(nominal[i][k])+2e-6 {
				t.Errorf("difference of %s: %v, by its definition %v", what, delta/size, want)
			}
			within(t, "u of the difference of "+what, u/size, spreadOf(m.delta1, m.delta2, flightSamples))
		}
	}
}

// skyPlace says which figure stands at a place of what a sky gives.
func skyPlace(k int) (distance int, key figure.Key) {
	if n := k - len(skyKeys); n >= 0 {
		return n / len(skyAt), skyAt[n%len(skyAt)]
	}
	return sheet.Whole, skyKeys[k]
}

func named(s *sheet.Sheet, build, distance int, key figure.Key) string {
	if distance == sheet.Whole {
		return fmt.Sprintf("%s, %s", s.Builds[build].Name, key)
	}
	return fmt.Sprintf("%s, %s at %.4g yd", s.Builds[build].Name, key, float64(s.Job.Distances[distance])/0.9144)
}

// defined fails where a figure is not what its definition comes to in a sky, NaN
// for nothing, and returns the figure. Both follow a path to more digits than are
// compared.
func defined(t *testing.T, s *sheet.Sheet, build, distance int, key figure.Key, nominal float64) (figure.Figure, bool) {
	t.Helper()
	set := s.Builds[build].Place(distance)
	f, ok := set.Figure(key)
	absent := math.IsNaN(nominal) || build == s.Job.Baseline && key.Definition().Compares
	if ok == absent {
		t.Errorf("%s: there %v (absent: %q), by its definition %v", named(s, build, distance, key), ok, set.Absent(key), nominal)
		return f, false
	}
	if value := key.Definition().Unit.Of(f.Value); ok && math.Abs(value-nominal) > 1e-6*math.Abs(nominal)+2e-6 {
		t.Errorf("%s: %.10g, by its definition %.10g", named(s, build, distance, key), value, nominal)
	}
	return f, ok
}

func spreadOf(one, two float64, n int) float64 {
	mean := one / float64(n)
	return math.Sqrt(math.Max(0, two/float64(n)-mean*mean))
}

// within fails where a stated uncertainty is more than 10 % off the one drawn.
func within(t *testing.T, what string, stated, drawn float64) {
	t.Helper()
	if math.Abs(stated-drawn) > 0.1*drawn+1e-12 {
		t.Errorf("%s: stated %.6g, drawn %.6g, ratio %.4f", what, stated, drawn, stated/drawn)
	}
}

// handlingKeys are the figures of stiffness and steering, which no sky has part in.
var handlingKeys = []figure.Key{
	figure.BendingStiffness, figure.BendingFrequency, figure.LaunchMargin, figure.MarginVsProven, figure.BendsOnString,
	figure.PressurePoint, figure.SteerMargin, figure.SteerMoment, figure.HeadShare, figure.WobbleLength,
}

// The figures of a sky are all figures of flight that the engine computes.
func TestSkyLeavesNothingOut(t *testing.T) {
	if !slices.Equal(skyAt, sheet.KeysAt()) {
		t.Errorf("at a distance %v, the engine has %v", skyAt, sheet.KeysAt())
	}
	for _, k := range sheet.Keys() {
		if k != figure.DozenCost && !slices.Contains(worldKeys, k) && !slices.Contains(skyKeys, k) && !slices.Contains(handlingKeys, k) {
			t.Errorf("nobody draws %s", k)
		}
	}
}
