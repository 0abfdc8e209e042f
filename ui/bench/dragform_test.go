package bench

import (
	"math"
	"strings"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
)

// onDrag opens the drag form of the second sample.
func onDrag(t testing.TB, change func(j *job.Job)) *Model {
	t.Helper()
	m := benchOf(t, change)
	press(m, "right", "3", "d")
	if _, open := m.dialog.(*form[dragEntry]); !open {
		t.Fatalf("d opens %T", m.dialog)
	}
	return m
}

// speedsOf types two speeds and the way between into the form.
func speedsOf(t testing.TB, m *Model, near, far, apart string) {
	t.Helper()
	for _, field := range [][2]string{{"near_speed_fps", near}, {"far_speed_fps", far}, {"apart_yd", apart}} {
		enter[dragEntry](t, m, field[0], field[1])
	}
}

// dragged returns the drag coefficient of the build in focus and its ±, NaN where
// the formula holds.
func dragged(m *Model) (c, u float64) {
	c, u = math.NaN(), math.NaN()
	if b := m.build(); b.DragCoefficient.Given {
		c = b.DragCoefficient.Value
		if b.DragCoefficientU.Given {
			u = b.DragCoefficientU.Value
		}
	}
	return c, u
}

func TestADragCoefficientIsTyped(t *testing.T) {
	m := onDrag(t, nil)
	before := m.Job().Encode()
	shows(t, m, " Drag of Even keel", "[2.7 by formula]", "Drag coefficient 2.7 ± 0.7, estimated.")
	// The formula has its own uncertainty: no other can be put beside it.
	onLine[dragEntry](t, m, "drag_coefficient_u")
	if press(m, "enter"); m.Typing() || !strings.Contains(m.message, "enter that first") {
		t.Errorf("± without a coefficient: typing %v, it says %q", m.Typing(), m.message)
	}
	for _, c := range []struct {
		key, typed  string
		value, u    float64
		says, shown string
	}{
		{"drag_coefficient", "2.1", 2.1, math.NaN(), "Drag coefficient 2.10 ± 0.05.", "[2.1]"},
		{"drag_coefficient_u", "0.08", 2.1, 0.08, "Drag coefficient 2.10 ± 0.08.", "[0.08]"},
		{"drag_coefficient", "2,25", 2.25, math.NaN(), "Drag coefficient 2.25 ± 0.05.", "[2.25]"}, // another value is not known as well
		{"drag_coefficient_u", "0", 2.25, 0, "Drag coefficient 2.25", "[0]"},
		{"drag_coefficient", "10", 10, math.NaN(), "Drag coefficient 10.00 ± 0.05.", "[10]"},
		{"drag_coefficient", "0", 0, math.NaN(), "is a vacuum", "[0]"},
	} {
		enter[dragEntry](t, m, c.key, c.typed)
		value, u := dragged(m)
		if value != c.value || u != c.u && !(math.IsNaN(u) && math.IsNaN(c.u)) || !strings.Contains(m.message, c.says) {
			t.Errorf("%s %s: it is %v ± %v and says %q, want %v ± %v", c.key, c.typed, value, u, m.message, c.value, c.u)
		}
		shows(t, m, c.shown)
		if f, ok := m.session.Sheet().Builds[1].Figure(figure.DragCoefficient); !ok || f.Value != c.value {
			t.Errorf("%s %s: the figure is %v", c.key, c.typed, f.Value)
		}
	}
	for i, b := range m.Job().Builds {
		if i != 1 && b.DragCoefficient.Given {
			t.Errorf("build %d has a drag coefficient as well", i)
		}
	}
	for _, wrong := range []string{"11", "-1", "thick", "2 in"} {
		was := m.Job().Encode()
		enter[dragEntry](t, m, "drag_coefficient", wrong)
		if kept(t, m, was, "after "+wrong); !m.Typing() || !strings.HasSuffix(m.message, ".") {
			t.Errorf("%q is answered by %q", wrong, m.message)
		}
		press(m, "esc")
	}
	onLine[dragEntry](t, m, "drag_coefficient")
	if press(m, "enter", "backspace", "enter"); m.build().DragCoefficient.Given || m.build().DragCoefficientU.Given || m.message != "The drag goes by the formula again." {
		t.Errorf("emptied it is %+v and says %q", m.build().DragCoefficient, m.message)
	}
	for range 7 {
		press(m, "z")
	}
	kept(t, m, before, "after undoing all")
}

// By hand for the second sample, 448.4 gr (29.056 g) on 0.264 in (35.316 mm²): in
// air of 1.2255 kg/m³ the flat-fire formula, C = 2 m ln(v₁/v₂)/(ρ A X), gives
// 2 × 0.029056 × ln(280/260) / (1.2255 × 35.316e-6 × 36.576) = 2.720; the path is
// a little longer than its chord, which takes less than a hundredth off or on.
func TestTheDragComesFromTwoSpeeds(t *testing.T) {
	const want = 2.720
	for name, type1 := range map[string]func(m *Model){
		"in order": func(m *Model) { speedsOf(t, m, "280", "260", "40") },
		"backwards": func(m *Model) {
			enter[dragEntry](t, m, "apart_yd", "40")
			enter[dragEntry](t, m, "far_speed_fps", "260")
			enter[dragEntry](t, m, "near_speed_fps", "280")
		},
		"in metres": func(m *Model) { speedsOf(t, m, "85.344 m/s", "79.248 m/s", "36.576 m") },
		"in metric units": func(m *Model) {
			m.setUnits(metric)
			speedsOf(t, m, "85.344", "79.248", "36.576")
		},
	} {
		m := onDrag(t, nil)
		before := m.Job().Encode()
		type1(m)
		c, u := dragged(m)
		if math.Abs(c/want-1) > 0.01 {
			t.Errorf("%s: the coefficient is %v, want %v: %s", name, c, want, m.message)
		}
		// ± 0.5 ft/s of each speed is ± 0.00262 of their ratio, and so ± 0.0354 of its
		// logarithm; weight and air add next to nothing.
		if u < 0.034*want || u > 0.04*want {
			t.Errorf("%s: ± %v, want a little over %v", name, u, 0.0354*want)
		}
		if !strings.HasPrefix(m.message, "Drag coefficient 2.7") {
			t.Errorf("%s: it says %q", name, m.message)
		}
		shows(t, m, "measured")
		press(m, "z")
		kept(t, m, before, name+": after undo")
		shows(t, m, "by formula")
	}
}

// Nothing is changed before all three are there, and a better known speed gives a
// better known coefficient.
func TestHowWellTheSpeedsAreKnownCounts(t *testing.T) {
	m := onDrag(t, nil)
	before := m.Job().Encode()
	enter[dragEntry](t, m, "near_speed_fps", "280")
	enter[dragEntry](t, m, "speed_u_fps", "1")
	if enter[dragEntry](t, m, "apart_yd", "40"); !strings.HasPrefix(m.message, "Noted.") {
		t.Errorf("it says %q", m.message)
	}
	kept(t, m, before, "before the far speed is there")
	enter[dragEntry](t, m, "far_speed_fps", "260")
	c, wide := dragged(m)
	enter[dragEntry](t, m, "speed_u_fps", "0.1")
	same, narrow := dragged(m)
	if c != same || narrow > wide/5 || narrow <= 0 {
		t.Errorf("± 1 ft/s gives %v ± %v, ± 0.1 gives %v ± %v", c, wide, same, narrow)
	}
	// The speeds stay in the form as long as it is open, and are no part of the job.
	shows(t, m, "280 ft/s", "260 ft/s", "40 yd")
	press(m, "z", "z")
	kept(t, m, before, "after undo")
	shows(t, m, "280 ft/s", "260 ft/s", "40 yd")
	press(m, "esc", "d")
	if out := screen(m); strings.Contains(out, "280 ft/s") {
		t.Errorf("another time the old speeds are there:\n%s", out)
	}
}

func TestSpeedsThatGiveNoDragAreRefusedWithASentence(t *testing.T) {
	for _, c := range []struct{ near, far, apart, says string }{
		{"260", "280", "40", "an arrow only slows down"},
		{"280", "280", "40", "an arrow only slows down"},
		{"280", "260", "0", "must lie some way apart"},
		{"280", "100", "1", "more than 10, which no arrow has"},
		{"40", "30", "200", "does not get from one place to the other"},
	} {
		m := onDrag(t, nil)
		before := m.Job().Encode()
		speedsOf(t, m, c.near, c.far, c.apart)
		if kept(t, m, before, "after "+c.says); !strings.Contains(m.message, c.says) || !strings.HasSuffix(m.message, ".") {
			t.Errorf("%s and %s ft/s, %s yd apart are answered by %q, want %q", c.near, c.far, c.apart, m.message, c.says)
		}
		shows(t, m, "by formula")
	}
	for _, c := range [][2]string{{"near_speed_fps", "29"}, {"near_speed_fps", "601"}, {"far_speed_fps", "fast"}, {"apart_yd", "201"}, {"apart_yd", "-3"}, {"speed_u_fps", "61"}} {
		m := onDrag(t, nil)
		before := m.Job().Encode()
		enter[dragEntry](t, m, c[0], c[1])
		if kept(t, m, before, c[0]+" "+c[1]); !m.Typing() || len(m.message) < 10 {
			t.Errorf("%s %s is answered by %q", c[0], c[1], m.message)
		}
	}
	m := onDrag(t, func(j *job.Job) { j.Builds[1].Shaft.OuterDiameter = unit.Optional[unit.Length]{} })
	before := m.Job().Encode()
	shows(t, m, "No drag yet: it needs the shaft's outer diameter.")
	speedsOf(t, m, "280", "260", "40")
	if kept(t, m, before, "without a diameter"); !strings.Contains(m.message, "the shaft's outer diameter") {
		t.Errorf("without a diameter it says %q", m.message)
	}
}

// Without a bow the speeds are all there is to know of the flight, and they do.
func TestTheDragNeedsNoBow(t *testing.T) {
	m := onDrag(t, noBow)
	speedsOf(t, m, "280", "260", "40")
	if c, _ := dragged(m); math.Abs(c/2.72-1) > 0.01 {
		t.Errorf("the coefficient is %v: %s", c, m.message)
	}
}

// The form is about one build: when undo or redo takes that away, it goes.
func TestTheDragFormClosesWhenItsBuildGoes(t *testing.T) {
	m := benchOf(t, builds(0))
	press(m, "a", "3", "d")
	open := m.under
	if press(m, "z"); m.build() != nil || len(open) != 1 || m.dialog != open[0] {
		t.Errorf("after undo %T is open over %d builds", m.dialog, len(m.Job().Builds))
	}
	checkFrame(t, "no build", m.Lines(), 120, 36)
	press(m, "Z", "d", "+", "z")
	if _, screen := m.dialog.(*rangeScreen); !screen {
		t.Errorf("after undo again %T is open", m.dialog)
	}
	// With another build in focus after it, the form would change that one.
	m = benchOf(t, nil)
	m.focus(2)
	press(m, "d", "3", "d")
	if press(m, "z"); len(m.Job().Builds) != 3 {
		t.Fatalf("%d builds are left", len(m.Job().Builds))
	}
	if _, screen := m.dialog.(*rangeScreen); !screen {
		t.Errorf("after undo %T is open over %s", m.dialog, m.build().Name)
	}
	// While the build is there it stays open.
	m = onDrag(t, nil)
	enter[dragEntry](t, m, "drag_coefficient", "2")
	if press(m, "z"); m.dialog == nil || m.build().DragCoefficient.Given {
		t.Errorf("after undo of the coefficient %T is open", m.dialog)
	}
	if press(m, m.keys.Form.Press(keys.Redo)); !m.build().DragCoefficient.Given {
		t.Error("redo does not bring the coefficient back")
	}
}

// A coefficient changes what the paths of that build are, and no other's.
func TestAGivenDragChangesThePathsOfItsBuild(t *testing.T) {
	m := onDrag(t, nil)
	was := m.session.Sheet()
	enter[dragEntry](t, m, "drag_coefficient", "4")
	is := m.session.Sheet()
	for b := range is.Builds {
		for _, k := range []figure.Key{figure.Speed, figure.SightMark, figure.WindDrift} {
			old, _ := was.Builds[b].At[4].Figure(k)
			now, _ := is.Builds[b].At[4].Figure(k)
			if changed := old.Value != now.Value; changed != (b == 1) {
				t.Errorf("%s of build %d goes from %v to %v", k, b, old.Value, now.Value)
			}
			if b == 1 && (k == figure.Speed) == (now.Value > old.Value) {
				t.Errorf("with more drag %s goes from %v to %v", k, old.Value, now.Value)
			}
		}
	}
}
