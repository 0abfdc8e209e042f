package sheet_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// Each figure can be worked out by hand from what its working says.
func TestWorking(t *testing.T) {
	priced := strings.NewReplacer(`"weight_gr_per_in": 8.6`, `"weight_gr_per_in": 8.6, "price": 10`, `"name": "nock"`, `"name": "nock", "price": 1`, `"name": "vanes"`, `"name": "vanes", "price": 0.5`,
		`{"weight_gr": 6, "length_in": 4}`, `{"weight_gr": 6, "length_in": 4, "price": 1}`, `"name": "insert"`, `"name": "insert", "price": 3`, `{"weight_gr": 12`, `{"price": 2, "weight_gr": 12`,
		`"name": "head"`, `"name": "head", "price": 2`, `"name": "glue"`, `"name": "glue", "price": 0`).Replace(string(example(t)))
	s := sheet.Evaluate(decoded(t, []byte(priced)))
	says := map[figure.Key][]string{
		figure.TotalWeight:    {"sum of all pieces", "tube 8.6 gr/in × (29.5 in − 0.5 in)", "shaft 249.4 gr + nock 9 gr + 3 vanes 18 gr", "total weight = 446 ± 5 gr (estimated)"},
		figure.FrontWeight:    {"0.85 of arrow length", "insert 50 gr + collar 12 gr + head 100 gr + extra 2 gr", "164.0 ± 2.0"},
		figure.BalancePoint:   {"Σ m x / Σ m", "shaft: 249.4 gr at 15 in", "over 446.4 gr", "19.41", "ASTM F1435"},
		figure.FOC:            {"100 (balance point − L/2) / L", "100 (19.405 in − 29.5 in / 2) / 29.5 in", "Trade-association", "To know it better: weigh one vane"},
		figure.Inertia:        {"Σ m ((x − balance point)² + l²/12)", "19.405 in"},
		figure.WeightPerDraw:  {"total weight / peak draw weight", "446.4 gr / 68 lb"},
		figure.LaunchSpeed:    {"√( 2 E / (m + K) )", "K = 90 ± 40 gr", "m = 446.4 gr", "Klopsteg", "from one reading", "chronograph calibration 42 %"},
		figure.LaunchEnergy:   {"½ m v²", "½ × 446.4 gr × (283.7 ft/s)²", "Klopsteg"},
		figure.LaunchMomentum: {"m v", "446.4 gr × 283.7 ft/s"},
		figure.EnergyShare:    {"100 m / (m + K)", "not the bow's efficiency"},
		figure.DozenCost:      {"12 × the sum of the prices", "vanes: 3 × 0.5", "246"},
		figure.DragCoefficient: {"4 (tube / d) Cf + vanes (2 S Cf + 0.7 h t) / A", "283.7 ft/s", "laminar 1.67, turbulent 3, 100 % of it turbulent", "Reynolds number on the diameter 37011",
			"3.0 ± 0.8", "Ortiz et al., Proceedings 49 (2020) 56", "fitted to published coefficients", "drag formula, common to all builds 86 %"},
		figure.MarkSpread: {"sight mark for 60 yd − sight mark for 20 yd", "launched at 283.7 ft/s, 446.4 gr, drag coefficient 3", "k = ρ C A / 2m = 0.195 %", "passes 4.5 in above the nock", "peep to pin 34 in", "Geometry of eye and pin"},
		figure.HoldOnNear: {"tops out just the target's radius over the line of sight", "target radius 4 in", "height of the peep above the nock 100 %", "yd (estimated)"},
		figure.HoldOnFar:  {"tops out just the target's radius over the line of sight", "target radius 4 in", "drag formula, common to all builds", "yd (estimated)"},
	}
	handling := map[figure.Key][]string{
		figure.BendingStiffness: {"EI = F l³ / (48 × static spine)", "1.94 lb × (28 in)³ / (48 × 0.3 in)", "2960 ± 60 lbf·in² (measured)", "ASTM F2031", "measure the static spine of this shaft"},
		figure.BendingFrequency: {"free at both ends", "the bare shaft, 249.4 gr over 29 in, would bend at 129.1 Hz", "slower: 86.3 Hz", "Blevins", "soft supports"},
		figure.LaunchMargin: {"the push at which the shaft folds / the push at launch", "27.75 in ahead of it; 1.75 in of arrow stand out", "68 lb / (471.4 gr + 90 gr)",
			"Kooi", "Timoshenko", "yardstick and no limit", "choose the spine by the shaft maker's chart", "a place pushes 471 gr at the throat", "at the end"},
		figure.MarginVsProven: {"100 (launch margin / launch margin of the proven build − 1)", "against Worked arrow", "What both builds share cancels"},
		figure.BendsOnString:  {"bends a second × 2 × stroke / speed", "86.3 Hz × 2 × 21.25 in", "good to about 20 %", "Kooi"},
		figure.PressurePoint:  {"Σ C x / Σ C", "nose: C = 2 at ", "blades: C = ", "shaft: C = ", "vanes: C = ", "Barrowman", "hardly how long", "Never rank vanes", "does not see spin"},
		figure.SteerMargin:    {"100 (balance point − pressure point) / L", "in) / 29.5 in", "Barrowman"},
		figure.SteerMoment:    {"v² A Σ C (balance point − x)", "balance point ", "blades: C = ", "steering = "},
		figure.HeadShare:      {"of the blades", "of the vanes", "balance point ", "against field points"},
		figure.WobbleLength:   {"2π √( 2 I / (ρ A Σ C (balance point − x)) )", "gr·in², air ρ = 1.226 kg/m³"},
	}
	// Those of stiffness and steering are told of a second build with blades, against
	// the first, which is proven.
	bladed := strings.NewReplacer(`"proven": false`, `"proven": true`).Replace(string(example(t)))
	j := decoded(t, []byte(bladed))
	other := j.Builds[0].Clone()
	other.Name, other.Proven = "bladed", false
	other.Head = part.Head{Name: "broadhead", Weight: 125 * unit.Grain, Balance: unit.Some(0.5 * unit.Inch), Length: unit.Some(1.5 * unit.Inch),
		Blades: 3, BladeLength: unit.Some(1.1 * unit.Inch), CutWidth: unit.Some(1.1 * unit.Inch)}
	j.Builds = append(j.Builds, other)
	compared := sheet.Evaluate(j)
	for _, key := range sheet.Keys() {
		t.Run(key.String(), func(t *testing.T) {
			if say, ok := handling[key]; ok {
				tells(t, compared.Working(1, key), say)
				return
			}
			tells(t, s.Working(0, key), says[key])
		})
	}
	if w := compared.Working(0, figure.MarginVsProven); w.Result != "this build is the one proven on this bow, which the others are compared with" || len(w.Numbers) != 0 {
		t.Errorf("against itself: %+v", w)
	}
}

// tells fails where a working is not whole, or does not say what it should.
func tells(t *testing.T, w figure.Working, says []string) {
	t.Helper()
	if w.Formula == "" || w.Source == "" || w.Result == "" || len(w.Numbers) == 0 {
		t.Fatalf("something is missing: %+v", w)
	}
	lines := append(append([]string{w.Formula, w.Result, w.Source}, w.Numbers...), w.Notes...)
	for _, line := range w.Drawing { // gaps are part of a drawing, words are not
		if strings.ContainsAny(line, "abcdefghijklmnopqrstuvwxyz") && !strings.Contains(line, "▲") {
			lines = append(lines, line)
		}
		if n := utf8.RuneCountInString(line); n > 76 {
			t.Errorf("%d cells are too many for a narrow screen: %q", n, line)
		}
	}
	all := strings.Join(lines, "\n")
	for _, want := range says {
		if !strings.Contains(all, want) {
			t.Errorf("does not say %q:\n%s", want, all)
		}
	}
	if len(says) == 0 {
		t.Errorf("nobody checks this one:\n%s", all)
	}
	for _, bad := range []string{"NaN", "Inf", "%!", "<nil>", "  "} {
		if strings.Contains(all, bad) {
			t.Errorf("says %q:\n%s", bad, all)
		}
	}
}

// The drawing holds wherever a job puts the rest.
func TestDrawingWithTheRestAnywhere(t *testing.T) {
	for behind := -10.; behind < 27.75; behind += 0.25 {
		j := decoded(t, example(t))
		j.Bow.Value.RestBehindPivot = unit.Some(unit.Length(behind) * unit.Inch)
		w := sheet.Evaluate(j).Working(0, figure.LaunchMargin)
		if len(w.Drawing) == 0 || !strings.Contains(strings.Join(w.Drawing, "\n"), "rest ▲") && !strings.Contains(strings.Join(w.Drawing, "\n"), "▲ rest") {
			t.Errorf("%v in behind the pivot:\n%s", behind, strings.Join(w.Drawing, "\n"))
		}
	}
}

// The same at a distance, on a slope and in a wind. The numbers behind the
// figures are those that TestFlightAgainstMonteCarlo solves for a second time.
func TestWorkingAtADistance(t *testing.T) {
	s := sheet.Evaluate(decoded(t, document(plainBow+","+eyeAndPin+","+scene(`"distances_yd":[20,60],"crosswind_mph":10,"slope_deg":-25`), 0,
		build("base", 29.5, flightShaft, plainNock, lowVanes, insertOf(50), point),
		build("heavier", 29.5, flightShaft, plainNock, lowVanes, insertOf(75), point))))
	path := []string{"launched at 282.4 ft/s, 451.4 gr, drag coefficient 3.02", "air 1.2255 kg/m³", "passes 4.5 in above the nock", "slope −25°, uphill positive",
		"it hits at 60 yd launched 2.116° above the line of sight", "Point mass with quadratic drag", "McCoy", "To know it better: "}
	says := map[figure.Key][]string{
		figure.FlightTime:  {"time along the path", "0.662 ± 0.011 s"},
		figure.Speed:       {"speed where the path meets the line of sight", "262 ± 7 ft/s"},
		figure.Energy:      {"½ m v²", "69 ± 4 ft·lbf"},
		figure.Momentum:    {"m v", "0.526 ± 0.015 lbf·s"},
		figure.Drop:        {"straight up from the arrow to the line it was launched along", "81.7 ± 2.0 in"},
		figure.SightMark:   {"peep to pin × tan(launch angle above the line of sight)", "peep to pin 34 in", "Geometry of eye and pin", "1.26 ± 0.03 in"},
		figure.MarkShift:   {"sight mark − the baseline's", "peep to pin 34 in", "0.049 ± 0.005 in", "speed and drag only", "Shoot both"},
		figure.ImpactShift: {"launched at the angle with which the baseline hits", "−3.1 ± 0.3 in", "speed and drag only", "insert weight 14 %"},
		figure.RangeShort:  {"first place on that side", "target radius 4 in", "3.48 ± 0.16 yd"},
		figure.RangeLong:   {"first place on that side", "target radius 4 in", "3.08 ± 0.13 yd"},
		figure.WindDrift:   {"with the crosswind blowing all the way", "crosswind 10 mph", "Didion's lag rule", "6.1 ± 1.7 in"},
		figure.HoldFor:     {"the level distance that asks for the same launch angle", "53.56 ± 0.10 yd", "A slope of either sign"},
	}
	for _, key := range sheet.KeysAt() {
		t.Run(key.String(), func(t *testing.T) {
			if _, there := says[key]; !there {
				t.Fatal("nobody checks this one")
			}
			want := append(says[key], path...)
			if key == figure.MarkShift { // its source is the sight's geometry
				want = append(says[key], path[:5]...)
			}
			tells(t, s.WorkingAt(1, 1, key), want)
		})
	}
	for _, key := range []figure.Key{figure.MarkShift, figure.ImpactShift} {
		if w := s.WorkingAt(0, 1, key); w.Result != "this build is the baseline, which the others are compared with" || len(w.Numbers) != 0 {
			t.Errorf("%s on the baseline: %+v", key, w)
		}
	}
}

// A working says where a figure comes from when it is not the formula: a given
// coefficient, a vacuum, and marks that were shot.
func TestWorkingOfWhatIsGiven(t *testing.T) {
	marks := `"sight":{"peep_to_pin_in":34,"peep_above_nock_in":4.5,"marks":[{"distance_yd":20,"mark_in":5.6},{"distance_yd":60,"mark_in":6.4}]}`
	s := sheet.Evaluate(decoded(t, document(plainBow+","+marks+","+scene(`"distances_yd":[40]`), 0,
		build("given", 29.5, flightShaft, plainNock, lowVanes, point, `"drag_coefficient":2.4`),
		build("vacuum", 29.5, flightShaft, plainNock, lowVanes, point, `"drag_coefficient":0`))))
	tells(t, s.Working(0, figure.DragCoefficient), []string{"as given for this build", "2.4", "2.40 ± 0.05", "Measured or entered by you", "given drag coefficient 100 %"})
	tells(t, s.Working(1, figure.DragCoefficient), []string{"as given for this build", "A drag coefficient of 0 is a vacuum"})
	tells(t, s.WorkingAt(0, 0, figure.SightMark), []string{"zero + scale × tan(launch angle above the line of sight)", "known marks: zero at ", "of the sight's geometry"})
	if w := s.WorkingAt(0, 0, figure.SightMark); strings.Contains(strings.Join(w.Numbers, "\n"), "peep to pin") {
		t.Errorf("the scale comes from the marks, and the working says peep to pin: %v", w.Numbers)
	}
}
