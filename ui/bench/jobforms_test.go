package bench

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/air"
	"foreshaft/engine/caution"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// onLine puts the focus of a form on the line of a key.
func onLine[T any](t testing.TB, m *Model, key string) *form[T] {
	t.Helper()
	f, open := m.dialog.(*form[T])
	if !open {
		t.Fatalf("%T is open", m.dialog)
	}
	f.at = slices.IndexFunc(f.lines, func(l line[T]) bool { return l.key == key })
	if f.at < 0 {
		t.Fatalf("the form has no %s", key)
	}
	return f
}

// enter types a text into the line of a key.
func enter[T any](t testing.TB, m *Model, key, text string) Request {
	t.Helper()
	onLine[T](t, m, key)
	press(m, "enter")
	write(m, text)
	return press(m, "enter")
}

func TestTheAirFormTellsTheDensityOfTheEngine(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "A")
	for _, c := range []struct {
		key, text string
		want      air.Conditions
	}{
		{"altitude_m", "1500", air.Conditions{Altitude: unit.Some(1500 * unit.Metre)}},
		{"temperature_c", "30", air.Conditions{Altitude: unit.Some(1500 * unit.Metre), Temperature: unit.Some(unit.Celsius(30))}},
		{"humidity_pct", "80", air.Conditions{Altitude: unit.Some(1500 * unit.Metre), Temperature: unit.Some(unit.Celsius(30)), Humidity: unit.Some(air.Share(0.8))}},
		{"pressure_hpa", "850", air.Conditions{Altitude: unit.Some(1500 * unit.Metre), Temperature: unit.Some(unit.Celsius(30)), Humidity: unit.Some(air.Share(0.8)), Pressure: unit.Some(850 * unit.Hectopascal)}},
	} {
		enter[air.Conditions](t, m, c.key, c.text)
		density := fmt.Sprintf("%.4f kg/m³", c.want.Density())
		shows(t, m, "Density    "+density)
		if c.want.Pressure.Given {
			shows(t, m, "The altitude is not used while a pressure is given")
		} else {
			shows(t, m, fmt.Sprintf("Viscosity  %.3f µPa·s", 1e6*c.want.Viscosity()))
		}
		if !strings.Contains(m.message, "Density is "+density) {
			t.Errorf("after %s it says %q, want the density of %s", c.key, m.message, density)
		}
		if got := m.Job().Air.Value.Density(); math.Abs(got-c.want.Density()) > 1e-12 {
			t.Errorf("the job's air has %v kg/m³, want %v", got, c.want.Density())
		}
	}
	for _, key := range []string{"altitude_m", "temperature_c", "humidity_pct", "pressure_hpa"} {
		onLine[air.Conditions](t, m, key)
		press(m, "enter", "backspace", "enter")
	}
	if m.Job().Air.Given {
		t.Errorf("air without a value is kept as %+v", m.Job().Air)
	}
	// US Standard Atmosphere 1976 at the sea: 15 °C and 1013.25 hPa. CIPM-2007
	// makes that 1.2255 kg/m³ with 400 ppm of carbon dioxide, dry.
	shows(t, m, "15.0 °C standard", "1013 hPa standard", "Density    1.2255 kg/m³")
}

// The header tells the air that figures are for.
func TestTheHeaderTellsTheAir(t *testing.T) {
	m := benchOf(t, nil)
	m.SetSize(200, 60)
	shows(t, m, "15 °C 1013 hPa")
	press(m, "A")
	enter[air.Conditions](t, m, "temperature_c", "68 F") // 20 °C
	shows(t, m, "20 °C 1013 hPa")
	if got := m.Job().Air.Value.Temperature.Value; math.Abs(float64(got)-293.15) > 1e-9 {
		t.Errorf("68 F is kept as %v K", got)
	}
}

func TestLimitsWarnAboutTheBuildsOutsideThem(t *testing.T) {
	over := func(m *Model) string {
		out := ""
		for i := range m.session.Sheet().Builds {
			for _, c := range m.session.Sheet().Builds[i].Cautions {
				if c.Code == caution.OverLimit && !c.Unchecked {
					out += present.Letter(i)
				}
			}
		}
		return out
	}
	// Total weights of the samples: 394, 448 and 569 gr; speeds 299, 283 and
	// 256 ft/s; grains per pound 5.8, 6.6 and 8.4. Peak weight 68 lb.
	for _, c := range []struct{ key, text, builds string }{
		{"max_speed_fps", "290", "A"}, {"max_speed_fps", "200", "ABC"}, {"max_speed_fps", "88 m/s", "A"}, // 288.7 ft/s
		{"min_weight_gr", "420", "A"}, {"min_weight_gr", "500", "AB"},
		{"min_weight_per_draw", "6", "A"}, {"min_weight_per_draw", "8", "AB"},
		{"min_peak_weight_lb", "70", "ABC"}, {"max_peak_weight_lb", "60", "ABC"}, {"max_peak_weight_lb", "68", ""},
		{"max_diameter_mm", "6.5", "B"}, {"max_diameter_mm", "6.4", "AB"}, // outer diameters 0.255, 0.264 and 0.246 in are 6.48, 6.71 and 6.25 mm
		{"min_cut_width_in", "9", "C"}, // only C has blades
		{"max_speed_fps", "400", ""}, {"min_weight_gr", "0", ""},
	} {
		m := benchOf(t, nil)
		press(m, "L")
		enter[job.Limits](t, m, c.key, c.text)
		if got := over(m); got != c.builds {
			t.Errorf("%s %s: builds %q are outside, want %q", c.key, c.text, got, c.builds)
			continue
		}
		for _, letter := range c.builds {
			shows(t, m, " "+string(letter)+" ! over limit:")
		}
		if c.builds == "" {
			shows(t, m, "No build on the bench is outside these limits.")
		}
	}
	m := benchOf(t, nil)
	press(m, "L")
	onLine[job.Limits](t, m, "electronics")
	shows(t, m, "electronics", "[yes]")
	press(m, "+")
	if got := over(m); got != "C" || m.Job().Limits.Value.ElectronicsAllowed() { // C has a lighted nock
		t.Errorf("without electronics %q are outside, want C", got)
	}
	press(m, "z")
	if m.Job().Limits.Given {
		t.Errorf("after undo the limits are %+v", m.Job().Limits)
	}
}

// marks lists the marks of the sight in yards and in the scale's numbers.
func marks(m *Model) string {
	out := ""
	for _, k := range m.Job().Sight.Value.Marks {
		out += fmt.Sprintf("%.4g:%.4g ", k.Distance.In(unit.Yard), k.Reading.In(unit.Inch))
	}
	return strings.TrimSpace(out)
}

func addMark(m *Model, distance, reading string) {
	press(m, "a")
	write(m, distance)
	press(m, "enter")
	write(m, reading)
	press(m, "enter")
}

func TestSightMarksStayInTheOrderTyped(t *testing.T) {
	m := benchOf(t, nil)
	before := m.Job().Encode()
	press(m, "i")
	shows(t, m, "None yet: a adds one.")
	addMark(m, "40", "2.25")
	addMark(m, "20", "-0.5")
	addMark(m, "60 m", "4 1/8") // 65.62 yd
	if got := marks(m); got != "40:2.25 20:-0.5 65.62:4.125" {
		t.Errorf("the marks are %s, want them as they were typed: %s", got, m.message)
	}
	press(m, "k", "x") // from the last to the second
	if got := marks(m); got != "40:2.25 65.62:4.125" {
		t.Errorf("left are %s", got)
	}
	press(m, "z")
	if got := marks(m); got != "40:2.25 20:-0.5 65.62:4.125" {
		t.Errorf("after undo they are %s", got)
	}
	press(m, "z", "z", "z")
	kept(t, m, before, "after undoing all marks")
}

func TestAMarkNeedsADistance(t *testing.T) {
	for _, wrong := range []string{"0", "0 m", "-20", "", "201", "far"} {
		m := benchOf(t, nil)
		before := m.Job().Encode()
		press(m, "i", "a")
		write(m, wrong)
		press(m, "enter")
		if f := m.dialog.(*form[job.Sight]); f.asked != 0 || !m.Typing() || m.message == "" {
			t.Errorf("%q is taken for a distance; it says %q", wrong, m.message)
		}
		press(m, "esc")
		kept(t, m, before, "after Esc")
		if !strings.Contains(m.message, "No mark was added") {
			t.Errorf("after Esc it says %q", m.message)
		}
	}
	// Neither can the distance of a mark that is there be taken away.
	m := benchOf(t, manyMarks(2))
	before := m.Job().Encode()
	press(m, "i", "right", "enter")
	write(m, "0")
	press(m, "enter")
	kept(t, m, before, "after a distance of nothing")
	if !m.Typing() || !strings.Contains(m.message, "more than nothing") {
		t.Errorf("it says %q", m.message)
	}
	press(m, "esc", "right", "enter")
	write(m, "7.5")
	press(m, "enter")
	if got := marks(m); got != "20:7.5 21:0.1" {
		t.Errorf("the marks are %s: %s", got, m.message)
	}
}

// The reading of a mark is a number of the sight's own scale: it stays as typed.
func TestMarksAreTypedAsTheScaleHasThem(t *testing.T) {
	m := benchOf(t, nil)
	m.setUnits(metric)
	press(m, "i")
	addMark(m, "30", "2 in")
	mark := m.Job().Sight.Value.Marks[0]
	if math.Abs(float64(mark.Distance)-30) > 1e-9 || math.Abs(mark.Reading.In(unit.Inch)-2) > 1e-9 {
		t.Errorf("the mark is at %v m and %v in", float64(mark.Distance), mark.Reading.In(unit.Inch))
	}
	shows(t, m, "30", "2")
	addMark(m, "40", "45")
	if mark := m.Job().Sight.Value.Marks[1]; math.Abs(mark.Reading.In(unit.Inch)-45) > 1e-9 {
		t.Errorf("45 on the scale is kept as %v", mark.Reading.In(unit.Inch))
	}
}

func TestASightWithoutAnythingIsNone(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "i")
	for _, key := range []string{"peep_to_pin_in", "peep_above_nock_in"} {
		onLine[job.Sight](t, m, key)
		press(m, "enter", "backspace", "enter")
	}
	if m.Job().Sight.Given {
		t.Errorf("it is kept as %+v", m.Job().Sight)
	}
}

func extrasOf(m *Model) string {
	out := ""
	for _, e := range m.Job().Builds[m.col].Extras {
		out += fmt.Sprintf("%s %.4g@%.4g, ", e.Name, e.Weight.In(unit.Grain), e.Balance.In(unit.Inch))
	}
	return strings.TrimSuffix(out, ", ")
}

func TestExtrasAreAddedChangedAndRemoved(t *testing.T) {
	m := onSlot(benchOf(t, nil), present.SlotExtras)
	m.focus(1)
	before := m.Job().Encode()
	press(m, "E")
	shows(t, m, "Extras of B Even keel", "None: a adds one.")
	add := func(cells ...string) {
		press(m, "a")
		for _, c := range cells {
			write(m, c)
			press(m, "enter")
		}
	}
	add("glue", "2", "29")
	add("tape", "1 g", "10 cm") // 15.43 gr at 3.937 in
	if got := extrasOf(m); got != "glue 2@29, tape 15.43@3.937" || m.Typing() {
		t.Errorf("the extras are %s: %s", got, m.message)
	}
	if !strings.Contains(m.message, "+15.4") {
		t.Errorf("it says %q, want what that did", m.message)
	}
	press(m, "k", "right", "enter")
	write(m, "3.5")
	press(m, "enter")
	if got := extrasOf(m); got != "glue 3.5@29, tape 15.43@3.937" {
		t.Errorf("the extras are %s: %s", got, m.message)
	}
	for _, wrong := range []string{"heavy", "1001", "-1"} {
		press(m, "enter")
		write(m, wrong)
		press(m, "enter")
		if got := extrasOf(m); got != "glue 3.5@29, tape 15.43@3.937" || !m.Typing() {
			t.Errorf("after %q the extras are %s: %s", wrong, got, m.message)
		}
		press(m, "esc")
	}
	press(m, "x")
	if got := extrasOf(m); got != "tape 15.43@3.937" {
		t.Errorf("left are %s", got)
	}
	press(m, "x")
	if got := extrasOf(m); got != "" {
		t.Errorf("left are %s", got)
	}
	press(m, "x", "enter", "+")
	if m.Typing() || !strings.Contains(m.message, "None") {
		t.Errorf("without an extra it says %q", m.message)
	}
	press(m, "z", "z", "z", "z", "z")
	kept(t, m, before, "after undoing everything")
	press(m, "a")
	write(m, "half")
	press(m, "enter", "esc")
	kept(t, m, before, "after Esc in the middle of an extra")
	if press(m, "esc"); m.dialog != nil {
		t.Errorf("Esc leads to %T", m.dialog)
	}
}

// A build keeps what it had: a change of one extra is a change of a copy.
func TestUndoBringsAnExtraBackAsItWas(t *testing.T) {
	m := onSlot(benchOf(t, func(j *job.Job) {
		j.Builds[0].Extras = []part.Extra{{Name: "glue", Weight: 2 * unit.Grain, Balance: 29 * unit.Inch}, {Name: "tape", Weight: 5 * unit.Grain}}
	}), present.SlotExtras)
	before := m.Job().Encode()
	press(m, "E", "right", "enter")
	write(m, "9")
	press(m, "enter")
	if got := extrasOf(m); got != "glue 9@29, tape 5@0" {
		t.Errorf("the extras are %s", got)
	}
	press(m, "z")
	kept(t, m, before, "after undo")
	press(m, "x", "z")
	kept(t, m, before, "after removing one and undo")
	press(m, "enter")
	write(m, "1001")
	press(m, "enter", "esc")
	kept(t, m, before, "after a weight that is refused")
}

// Several extras do not fit into one line of text: Enter opens their list.
func TestEnterOnSeveralExtrasOpensTheirList(t *testing.T) {
	m := onSlot(benchOf(t, func(j *job.Job) { j.Builds[0].Extras = []part.Extra{{Name: "a"}, {Name: "b"}} }), present.SlotExtras)
	press(m, "enter")
	if _, open := m.dialog.(*form[extras]); !open {
		t.Errorf("it opens %T", m.dialog)
	}
}

// Each choice of unit holds for what is shown at once, is asked to be kept, and
// changes nothing on the bench.
func TestUnitsAreChosenByWord(t *testing.T) {
	m := benchOf(t, nil)
	before := m.Job().Encode()
	press(m, "u")
	want := unit.System{}
	for _, c := range []struct {
		key   string
		apply func()
		shows string
	}{
		{"weight", func() { want.Grams = true }, "grams"},
		{"length", func() { want.Metric = unit.InCentimetres }, "centimetres"},
		{"length", func() { want.Metric = unit.InMillimetres }, "millimetres"},
		{"speed", func() { want.PerSec = true }, "metres per second"},
		{"force", func() { want.InNewton = true }, "newtons"},
		{"distance", func() { want.Metres = true }, "metres"},
		{"length", func() { want.Metric = unit.NotMetric }, "inches"},
	} {
		onLine[unitChoice](t, m, c.key)
		c.apply()
		r, ok := press(m, "+").(Chosen)
		if !ok || r.Choices.Units != want || m.units() != want {
			t.Errorf("%s: it asks for %+v and the units are %+v, want %+v", c.key, r, m.units(), want)
		}
		shows(t, m, "["+c.shows+"]", capital(c.shows)+" from now on.")
	}
	kept(t, m, before, "after choosing units")
	if choiceOf(want).system() != want || choiceOf(metric).system() != metric {
		t.Error("the words of a choice do not stand for it")
	}
	press(m, "esc")
	shows(t, m, "g · in · m/s")
}

// The currency is named once: a bench that has its own keeps it, every other takes it.
func TestTheCurrencyIsNamedOnce(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "u")
	onLine[unitChoice](t, m, "currency")
	press(m, "enter")
	write(m, "EUR")
	if r, ok := press(m, "enter").(Chosen); !ok || r.Choices.Currency != "EUR" {
		t.Errorf("asks for %+v", r)
	}
	press(m, "esc")
	if m.Job().Currency != "EUR" {
		t.Errorf("the bench is in %q", m.Job().Currency)
	}
	shows(t, m, "EUR")
	for own, want := range map[string]string{"": "EUR", "CHF": "CHF"} {
		j := m.samples.Clone()
		j.Currency, j.Builds[0].Name = own, "From elsewhere "+own
		if m.replace("opened", j, "saved"); m.Job().Currency != want {
			t.Errorf("a job in %q is shown in %q, want %q", own, m.Job().Currency, want)
		}
		press(m, "z")
	}
	if m.samples.Currency != "" {
		t.Error("the samples were changed")
	}
	again := New(Options{Keys: m.keys, Paint: m.paint, Ground: m.ground, Choices: m.choices, Job: m.samples.Clone(), Drawer: m.drawer, Samples: m.samples, Clock: m.clock})
	if again.Job().Currency != "EUR" {
		t.Errorf("the next sitting begins in %q", again.Job().Currency)
	}
}
