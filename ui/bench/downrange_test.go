package bench

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/air"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
)

// onRange opens the Downrange screen of a bench.
func onRange(t testing.TB, change func(j *job.Job)) (*Model, *rangeScreen) {
	t.Helper()
	m := benchOf(t, change)
	press(m, "3")
	r, open := m.dialog.(*rangeScreen)
	if !open {
		t.Fatalf("3 opens %T", m.dialog)
	}
	return m, r
}

// onCondition puts the focus on a value of the line of conditions.
func onCondition(t testing.TB, m *Model, key string) {
	t.Helper()
	press(m, "home", "left", "left", "left", "left", "left")
	press(m, slices.Repeat([]string{"right"}, slices.IndexFunc(conditions, func(c condition) bool { return c.key == key }))...)
}

// yards lists the distances of the job.
func yards(m *Model) string {
	out := ""
	for _, d := range m.Job().DistancesOrDefault() {
		out += fmt.Sprintf("%.6g ", d.In(unit.Yard))
	}
	return strings.TrimSpace(out)
}

// typeIn opens what has the focus, types over it and accepts.
func typeIn(m *Model, text string) Request {
	press(m, "enter")
	write(m, text)
	return press(m, "enter")
}

// The screen starts at the farthest of five distances with the first of three
// builds in focus.
func TestEachKeyOfTheDownrangeScreenDoesWhatItSays(t *testing.T) {
	screenOf := func(x trial) *rangeScreen { return x.m.dialog.(*rangeScreen) }
	at := func(x trial) int { return screenOf(x).at }
	stays := func(x trial, open dialog) { x.want(x.m.dialog == open, "%T is open", x.m.dialog) }
	checkScope(t, keys.Default().Range, map[keys.Action]func(x trial){
		keys.Up:    func(x trial) { x.press(); x.want(at(x) == 4, "line %d", at(x)) },
		keys.Down:  func(x trial) { press(x.m, "home"); x.press(); x.want(at(x) == 1, "line %d", at(x)) },
		keys.First: func(x trial) { x.press(); x.want(at(x) == 0, "line %d", at(x)) },
		keys.Last:  func(x trial) { press(x.m, "home"); x.press(); x.want(at(x) == 5, "line %d", at(x)) },
		keys.Right: func(x trial) {
			x.press()
			x.want(x.m.col == 1, "column %d", x.m.col)
			press(x.m, "home")
			x.press()
			x.want(x.m.col == 1 && screenOf(x).item == 1, "column %d, condition %d", x.m.col, screenOf(x).item)
		},
		keys.Left: func(x trial) {
			x.m.focus(2)
			x.press()
			x.want(x.m.col == 1, "column %d", x.m.col)
			press(x.m, "home", "right", "right")
			x.press()
			x.want(x.m.col == 1 && screenOf(x).item == 1, "column %d, condition %d", x.m.col, screenOf(x).item)
		},
		keys.Edit: func(x trial) {
			x.want(opens[*prompt](x).inline && typedText(x, x.m) == "60", "it does not type the distance")
			press(x.m, "esc", "home")
			x.want(opens[*prompt](x).inline && typedText(x, x.m) == "10", "it does not type the wind")
			press(x.m, "esc")
			screenOf(x).item = sightItem
			opens[*form[job.Sight]](x)
		},
		keys.More: func(x trial) { x.press(); x.want(yards(x.m) == "20 30 40 50 65", "the distances are %s", yards(x.m)) },
		keys.Less: func(x trial) { x.press(); x.want(yards(x.m) == "20 30 40 50 55", "the distances are %s", yards(x.m)) },
		keys.Add: func(x trial) {
			open := x.m.dialog
			x.press()
			x.want(x.m.Typing() && typedText(x, x.m) == "", "nothing can be typed")
			write(x.m, "33")
			press(x.m, "enter")
			stays(x, open)
			x.want(yards(x.m) == "20 30 33 40 50 60" && at(x) == 3, "the distances are %s with %d in focus", yards(x.m), at(x))
		},
		keys.Remove: func(x trial) {
			x.press()
			x.want(yards(x.m) == "20 30 40 50" && at(x) == 4, "the distances are %s with %d in focus", yards(x.m), at(x))
		},
		keys.Figure: func(x trial) {
			x.press()
			x.want(screenOf(x).shown() == figure.MarkShift, "it shows %s", screenOf(x).shown())
		},
		keys.FigureBack: func(x trial) {
			x.press()
			x.want(screenOf(x).shown() == figure.FlightTime, "it shows %s", screenOf(x).shown())
		},
		keys.Chart: func(x trial) {
			x.press()
			x.want(screenOf(x).chart, "no chart")
			x.press()
			x.want(!screenOf(x).chart, "still a chart")
		},
		keys.Explain: func(x trial) {
			x.want(opens[*page](x).title == "sight mark of A Open ground at 60 yd", "it is called otherwise")
		},
		keys.Air:   func(x trial) { opens[*form[air.Conditions]](x); shows(x, x.m, "Density") },
		keys.Sight: func(x trial) { opens[*form[job.Sight]](x); shows(x, x.m, "peep to pin") },
		keys.Drag:  func(x trial) { opens[*form[dragEntry]](x); shows(x, x.m, "Drag of Open ground") },
		keys.Print: func(x trial) { opens[*prompt](x); shows(x, x.m, "[open-ground-marks.html▏") },
		keys.Copy: func(x trial) {
			x.m.focus(1)
			want := Copy{Text: present.FigureCellAt(x.m.session.Sheet(), 1, 4, figure.SightMark).Full(), What: "sight mark at 60 yd of B Even keel"}
			got := x.press()
			x.want(got == want, "it asks for %+v, want %+v", got, want)
		},
		keys.Undo: func(x trial) {
			was, open := x.m.Job(), x.m.dialog
			press(x.m, "+")
			x.press()
			x.want(x.m.Job().Equal(was), "not undone")
			stays(x, open)
		},
		keys.Redo: func(x trial) {
			press(x.m, "+")
			was, open := x.m.Job(), x.m.dialog
			press(x.m, "z")
			x.press()
			x.want(x.m.Job().Equal(was), "not done again")
			stays(x, open)
		},
		keys.Command: func(x trial) { opens[*palette](x); shows(x, x.m, "Downrange: any action by name") },
		keys.Help: func(x trial) {
			open := x.m.dialog
			opens[*page](x)
			shows(x, x.m, "Help")
			press(x.m, "esc")
			stays(x, open)
		},
		keys.Drawer: func(x trial) {
			opens[*drawerScreen](x)
			x.want(len(x.m.under) == 0, "%d screens are under it", len(x.m.under))
		},
		keys.Open: func(x trial) {
			opens[*savedScreen](x)
			x.want(len(x.m.under) == 0, "%d screens are under it", len(x.m.under))
		},
		keys.Dozen: func(x trial) {
			opens[*dozenScreen](x)
			x.want(len(x.m.under) == 0, "%d screens are under it", len(x.m.under))
		},
		keys.Find: func(x trial) {
			opens[*findScreen](x)
			x.want(len(x.m.under) == 0, "%d dialogs are under it", len(x.m.under))
		},
		keys.SwapMap: func(x trial) {
			opens[*mapScreen](x)
			x.want(len(x.m.under) == 0, "%d dialogs are under it", len(x.m.under))
		},
		keys.Close: func(x trial) { x.press(); x.want(x.m.dialog == nil, "%T is open", x.m.dialog) },
	}, func(t testing.TB) *Model {
		m, _ := onRange(t, nil)
		return m
	})
}

// conditionCases are a start for each condition, and what + and then - twice make
// of it, in the trade's units and in metric ones.
var conditionCases = []struct {
	key      string
	metrical bool
	start    string
	steps    [3]string // shown on the line
	value    func(j *job.Job) float64
	want     float64 // after the three steps, in SI
}{
	{"crosswind_mph", false, "10", [3]string{"11 mph", "10 mph", "9 mph"}, crosswind, 9 * 0.44704},
	{"crosswind_mph", false, "0.4", [3]string{"1 mph", "0 mph", "−1 mph"}, crosswind, -0.44704},
	{"crosswind_mph", true, "4", [3]string{"4.5 m/s", "4 m/s", "3.5 m/s"}, crosswind, 3.5},
	{"slope_deg", false, "0", [3]string{"1°", "0°", "−1°"}, slope, -math.Pi / 180},
	{"slope_deg", true, "−12.5", [3]string{"−12°", "−13°", "−14°"}, slope, -14 * math.Pi / 180},
	{"target_radius_in", false, "4", [3]string{"4.5 in", "4 in", "3.5 in"}, radius, 3.5 * 0.0254},
	{"target_radius_in", true, "10", [3]string{"11 cm", "10 cm", "9 cm"}, radius, 0.09},
	{"temperature_c", false, "15", [3]string{"16 °C", "15 °C", "14 °C"}, temperature, 287.15},
	{"temperature_c", true, "0", [3]string{"1 °C", "0 °C", "−1 °C"}, temperature, 272.15},
	{"pressure_hpa", false, "1013.25", [3]string{"1014 hPa", "1013 hPa", "1012 hPa"}, pressure, 101200},
	{"pressure_hpa", true, "900", [3]string{"901 hPa", "900 hPa", "899 hPa"}, pressure, 89900},
}

func crosswind(j *job.Job) float64   { return float64(j.Crosswind.Value) }
func slope(j *job.Job) float64       { return float64(j.Slope.Value) }
func radius(j *job.Job) float64      { return float64(j.TargetRadius.Value) }
func temperature(j *job.Job) float64 { return float64(j.Air.Value.Temperature.Value) }
func pressure(j *job.Job) float64    { return float64(j.Air.Value.Pressure.Value) }

func TestConditionsGoByRoundSteps(t *testing.T) {
	for _, c := range conditionCases {
		m, _ := onRange(t, nil)
		if c.metrical {
			m.setUnits(metric)
		}
		onCondition(t, m, c.key)
		typeIn(m, c.start)
		before := m.Job().Encode()
		for i, key := range []string{"+", "-", "-"} {
			press(m, key)
			shows(t, m, "["+c.steps[i]+"]")
			if !strings.HasPrefix(m.message, "Changed: ") || !strings.HasSuffix(m.message, " "+c.steps[i]+".") {
				t.Errorf("%s from %s: %s says %q, want %s", c.key, c.start, key, m.message, c.steps[i])
			}
		}
		if got := c.value(m.Job()); math.Abs(got-c.want) > 1e-9*math.Abs(c.want)+1e-12 {
			t.Errorf("%s from %s: it is kept as %v, want %v", c.key, c.start, got, c.want)
		}
		press(m, "z", "z", "z")
		kept(t, m, before, "after undoing three steps")
		press(m, "Z", "Z", "Z")
		if got := c.value(m.Job()); math.Abs(got-c.want) > 1e-9*math.Abs(c.want)+1e-12 {
			t.Errorf("%s: done again it is %v, want %v", c.key, got, c.want)
		}
	}
}

// A unit that is typed goes before the one shown, whatever the minus looks like.
func TestConditionsAreTakenHoweverTheyAreTyped(t *testing.T) {
	for _, c := range []struct {
		key, typed string
		value      func(j *job.Job) float64
		want       float64
	}{
		{"crosswind_mph", "5 m/s", crosswind, 5}, {"crosswind_mph", "−10", crosswind, -4.4704}, {"crosswind_mph", "-10 mph", crosswind, -4.4704},
		{"crosswind_mph", "7 1/2", crosswind, 7.5 * 0.44704}, {"crosswind_mph", "0", crosswind, 0},
		{"slope_deg", "60", slope, math.Pi / 3}, {"slope_deg", "−60", slope, -math.Pi / 3}, {"slope_deg", "12,5", slope, 12.5 * math.Pi / 180},
		{"target_radius_in", "3 in", radius, 0.0762}, {"target_radius_in", "10 cm", radius, 0.1}, {"target_radius_in", "60", radius, 1.524},
		{"temperature_c", "−40", temperature, 233.15}, {"temperature_c", "68 F", temperature, 293.15},
		{"pressure_hpa", "500", pressure, 50000}, {"pressure_hpa", "1100", pressure, 110000},
	} {
		for _, metrical := range []bool{false, true} {
			if metrical && !strings.ContainsAny(c.typed, "FCcim") && c.key != "slope_deg" && c.key != "temperature_c" && c.key != "pressure_hpa" {
				continue // a bare number is in the unit shown
			}
			m, r := onRange(t, nil)
			if metrical {
				m.setUnits(metric)
			}
			onCondition(t, m, c.key)
			before := m.Job().Encode()
			typeIn(m, c.typed)
			if got := c.value(m.Job()); math.Abs(got-c.want) > 1e-9 || m.dialog != r {
				t.Errorf("%s: %q is kept as %v, want %v; it says %q in %T", c.key, c.typed, got, c.want, m.message, m.dialog)
			}
			press(m, "z")
			kept(t, m, before, c.typed+": after undo")
		}
	}
}

func TestConditionsOutOfRangeAreRefusedWithTheirRange(t *testing.T) {
	for _, c := range []struct{ key, typed, says, metric string }{
		{"crosswind_mph", "61", "60 mph", "26.82 m/s"}, {"crosswind_mph", "−61", "60 mph", "26.82 m/s"},
		{"slope_deg", "61", "60 °", "60 °"}, {"slope_deg", "−61", "60 °", "60 °"},
		{"target_radius_in", "61 in", "0 to 60 in", "0 to 152.4 cm"}, {"target_radius_in", "−1", "0 to 60 in", "0 to 152.4 cm"},
		{"temperature_c", "56", "55 °C", "55 °C"}, {"pressure_hpa", "499", "500 to 1100 hPa", "500 to 1100 hPa"},
		{"crosswind_mph", "windy", "mph", "m/s"}, {"crosswind_mph", "3 in", "in", "in"}, {"pressure_hpa", "1e999", "", ""},
	} {
		for says, units := range map[string]unit.System{c.says: {}, c.metric: metric} {
			m, r := onRange(t, nil)
			m.setUnits(units)
			onCondition(t, m, c.key)
			before := m.Job().Encode()
			typeIn(m, c.typed)
			kept(t, m, before, c.key+": after "+c.typed)
			if !m.Typing() || typedText(t, m) != c.typed || !strings.Contains(m.message, says) || !strings.HasSuffix(m.message, ".") {
				t.Errorf("%s: %q is answered by %q, want a sentence with %q", c.key, c.typed, m.message, says)
			}
			press(m, "esc")
			kept(t, m, before, c.key+": after Esc")
			if m.dialog != r || m.message != "Left as it was." {
				t.Errorf("%s: after Esc %T is open and it says %q", c.key, m.dialog, m.message)
			}
		}
	}
	// A step beyond the end is refused like a number that is typed.
	for key, end := range map[string]string{"crosswind_mph": "60", "slope_deg": "60", "target_radius_in": "60", "temperature_c": "55", "pressure_hpa": "1100"} {
		m, _ := onRange(t, nil)
		onCondition(t, m, key)
		typeIn(m, end)
		before := m.Job().Encode()
		press(m, "+")
		if kept(t, m, before, key+": after a step beyond"); !strings.Contains(m.message, end) {
			t.Errorf("%s: + beyond %s says %q", key, end, m.message)
		}
	}
}

// Emptied, a condition is what it usually is, and the line and the message say
// what that is.
func TestAnEmptiedConditionIsWhatIsUsual(t *testing.T) {
	for _, c := range []struct {
		key, usual string
		given      func(j *job.Job) bool
	}{
		{"crosswind_mph", "0 mph", func(j *job.Job) bool { return j.Crosswind.Given }},
		{"slope_deg", "0°", func(j *job.Job) bool { return j.Slope.Given }},
		{"target_radius_in", "4 in", func(j *job.Job) bool { return j.TargetRadius.Given }},
		{"temperature_c", "15 °C", func(j *job.Job) bool { return j.Air.Value.Temperature.Given }},
		{"pressure_hpa", "1013 hPa", func(j *job.Job) bool { return j.Air.Value.Pressure.Given }},
	} {
		m, _ := onRange(t, longConditions)
		onCondition(t, m, c.key)
		before := m.Job().Encode()
		press(m, "enter", "backspace", "enter")
		if c.given(m.Job()) || !strings.HasSuffix(m.message, " "+c.usual+".") {
			t.Errorf("%s: emptied it is given %v and it says %q, want %s", c.key, c.given(m.Job()), m.message, c.usual)
		}
		shows(t, m, "["+c.usual+"]")
		press(m, "z")
		kept(t, m, before, c.key+": after undo")
	}
	// Without a value of its own + and - start from what is usual.
	m, _ := onRange(t, func(j *job.Job) { *j = *job.New() })
	for key, want := range map[string]string{"crosswind_mph": "1 mph", "slope_deg": "1°", "target_radius_in": "4.5 in", "temperature_c": "16 °C", "pressure_hpa": "1014 hPa"} {
		onCondition(t, m, key)
		press(m, "+")
		shows(t, m, "["+want+"]")
	}
	press(m, "z", "z", "z", "z", "z")
	kept(t, m, job.New().Encode(), "after undoing all")
	// Typing what stands there changes nothing, nor does it put down what is usual.
	for _, c := range conditions {
		onCondition(t, m, c.key)
		press(m, "enter", "enter")
		kept(t, m, job.New().Encode(), c.key+": after Enter on nothing")
	}
}

// Air that comes from an altitude is shown, and one value of it stays one.
func TestTheAirOfAnAltitudeIsShown(t *testing.T) {
	m, _ := onRange(t, func(j *job.Job) { j.Air = unit.Some(air.Conditions{Altitude: unit.Some(2000 * unit.Metre)}) })
	shows(t, m, "air 2.004 °C", "795 hPa") // US Standard Atmosphere 1976, table I, at 2000 m: 275.154 K and 795.01 hPa
	onCondition(t, m, "temperature_c")
	press(m, "+")
	if a := m.Job().Air.Value; !a.Altitude.Given || a.Pressure.Given || math.Abs(float64(a.Temperature.Value)-276.15) > 1e-9 {
		t.Errorf("the air is %+v", a)
	}
}

// Marks and a measured drag belong to the arrow they were shot with: a change of
// that arrow says what becomes of them.
func TestAChangeSaysWhatBecomesOfMarksAndDrag(t *testing.T) {
	m := benchOf(t, func(j *job.Job) {
		j.Sight.Value.Marks = []job.Mark{{Distance: 20 * unit.Yard, Reading: 0.6 * unit.Inch}, {Distance: 60 * unit.Yard, Reading: 1.3 * unit.Inch}}
		j.Builds[1].DragCoefficient = unit.Some(2.5)
	})
	if press(onSlot(m, "head"), "+"); !strings.Contains(m.message, "Your marks now count as shot with Open ground as it is now") {
		t.Errorf("the baseline changed and it says %q", m.message)
	}
	if press(m, "z", "right", "+"); strings.Contains(m.message, "marks") {
		t.Errorf("another build changed and it says %q", m.message)
	}
	if press(onSlot(m, "vanes"), "+"); !strings.Contains(m.message, "The drag of Even keel was given for the arrow as it was") {
		t.Errorf("other vanes with a given drag, and it says %q", m.message)
	}
	if press(m, "n"); !strings.Contains(m.message, "your marks count as shot with it") {
		t.Errorf("another baseline and it says %q", m.message)
	}
	plain := benchOf(t, nil)
	if press(onSlot(plain, "head"), "+"); plain.message != "" {
		t.Errorf("without marks it says %q", plain.message)
	}
}
