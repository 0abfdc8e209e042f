package bench

import (
	"fmt"
	"strings"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
)

func readingsOf(m *Model) int { return len(m.Job().Bow.Value.Readings) }

func TestAReadingIsEnteredCellByCell(t *testing.T) {
	m := benchOf(t, nil)
	before := m.Job().Encode()
	press(m, "b", "a")
	for i, cell := range []string{"480", "276"} {
		write(m, cell)
		press(m, "enter")
		if !m.Typing() {
			t.Fatalf("after %d cells nothing more is asked for: %s", i+1, m.message)
		}
		kept(t, m, before, "before the reading is whole")
	}
	write(m, "0.8")
	press(m, "enter")
	if readingsOf(m) != 3 || m.Typing() {
		t.Fatalf("%d readings, typing %v: %s", readingsOf(m), m.Typing(), m.message)
	}
	r := m.Job().Bow.Value.Readings[2]
	if r.Arrow != 480*unit.Grain || r.Speed != 276*unit.FootPerSecond || !r.SD.Given || r.Peak != m.Job().Bow.Value.Peak || r.Draw != m.Job().Bow.Value.Draw {
		t.Errorf("the reading is %+v, want what was typed at the settings of today", r)
	}
	if !strings.Contains(m.message, "→") || !strings.Contains(m.message, "ft/s") {
		t.Errorf("it says %q, want what that did to speed", m.message)
	}
	shows(t, m, "480", "276", "Energy E", "Virtual mass K")
}

func TestAnEmptyUncertaintyIsLeftToTheProgram(t *testing.T) {
	m := benchOf(t, nil)
	addReading(m, "480", "276", "")
	if readingsOf(m) != 3 || m.Job().Bow.Value.Readings[2].SD.Given {
		t.Errorf("%d readings, the last %+v", readingsOf(m), m.Job().Bow.Value.Readings)
	}
}

func TestAReadingNeedsAnArrowThatWeighsSomething(t *testing.T) {
	for _, typed := range []string{"", "0", "heavy", "99999"} {
		m := benchOf(t, nil)
		before := m.Job().Encode()
		press(m, "b", "a")
		write(m, typed)
		press(m, "enter")
		if d := m.dialog.(*bowForm); d.asked != 0 || !m.Typing() || m.message == "" {
			t.Errorf("%q is taken as the weight of an arrow; it says %q", typed, m.message)
		}
		press(m, "esc")
		kept(t, m, before, fmt.Sprintf("after %q and Esc", typed))
	}
}

func TestEscInAReadingAddsNothing(t *testing.T) {
	m := benchOf(t, nil)
	before := m.Job().Encode()
	press(m, "b", "a")
	write(m, "480")
	press(m, "enter")
	write(m, "276")
	press(m, "esc")
	kept(t, m, before, "after Esc")
	if m.Typing() || m.dialog == nil {
		t.Error("Esc leads further than out of the field")
	}
	// Nothing of it is left to end up in the next field.
	press(onBowField(t, m, "peak_weight_lb", false), "enter")
	write(m, "61")
	press(m, "enter")
	if got := m.Job().Bow.Value.Peak.Value; got != 61*unit.PoundForce || readingsOf(m) != 2 {
		t.Errorf("after it the peak weight is %.4g lb, want 61, and there are %d readings", got.In(unit.PoundForce), readingsOf(m))
	}
}

func TestEveryCellOfAReadingCanBeChanged(t *testing.T) {
	for cell, c := range []struct {
		typed string
		got   func(j *job.Job) float64
	}{
		{"431", func(j *job.Job) float64 { return j.Bow.Value.Readings[0].Arrow.In(unit.Grain) }},
		{"289", func(j *job.Job) float64 { return j.Bow.Value.Readings[0].Speed.In(unit.FootPerSecond) }},
		{"0.7", func(j *job.Job) float64 { return j.Bow.Value.Readings[0].SD.Value.In(unit.FootPerSecond) }},
		{"66", func(j *job.Job) float64 { return j.Bow.Value.Readings[0].Peak.Value.In(unit.PoundForce) }},
		{"29", func(j *job.Job) float64 { return j.Bow.Value.Readings[0].Draw.Value.In(unit.Inch) }},
	} {
		m := onReading(benchOf(t, nil), 0, 0)
		for range cell {
			press(m, "right")
		}
		press(m, "enter")
		write(m, c.typed)
		shows(t, m, "▏")
		press(m, "enter")
		if got := fmt.Sprintf("%.4g", c.got(m.Job())); got != c.typed {
			t.Errorf("cell %d holds %s, want %s: %s", cell, got, c.typed, m.message)
		}
	}
}

func TestRemovingAReadingSaysHowToGetItBack(t *testing.T) {
	m := onReading(benchOf(t, nil), 0, 0)
	before := m.Job().Encode()
	press(m, "x")
	if readingsOf(m) != 1 || !strings.Contains(m.message, m.keys.Form.Press(keys.Undo)) {
		t.Errorf("%d readings; it says %q", readingsOf(m), m.message)
	}
	press(m, "x")
	if readingsOf(m) != 0 {
		t.Errorf("%d readings", readingsOf(m))
	}
	shows(t, m, "No speed yet")
	press(m, "x", "right")
	checkFrame(t, "without a reading", m.Lines(), 120, 36)
	press(m, "z", "z")
	kept(t, m, before, "after undo in the form")
}

func TestReadingsThatDisagreeSaySo(t *testing.T) {
	m := benchOf(t, disagreeing)
	press(m, "b")
	notes := m.session.Sheet().Fit.Notes(unit.System{})
	if len(notes) == 0 {
		t.Fatal("the readings of the test agree")
	}
	for _, n := range notes {
		shows(t, m, n[:30])
	}
	press(m, "esc")
	press(onFigure(t, m, figure.LaunchSpeed), "e")
	for _, n := range notes {
		shows(t, m, n[:60])
	}
}

func TestTheFormNamesTheReadingThatWouldHelp(t *testing.T) {
	m := benchOf(t, func(j *job.Job) { j.Bow.Value.Readings = j.Bow.Value.Readings[:1] })
	press(m, "b")
	next, ok := m.Job().Bow.Value.Next()
	if !ok {
		t.Fatal("no reading would help")
	}
	shows(t, m, fmt.Sprintf("%.0f gr", next.Arrow.In(unit.Grain)))
}

func TestARatingBeginsWithTheSpeed(t *testing.T) {
	m := onBowField(t, benchOf(t, func(j *job.Job) { j.Bow.Value.Readings = nil }), "arrow_gr", true)
	before := m.Job().Encode()
	press(m, "enter")
	if m.Typing() || m.message == "" {
		t.Errorf("the arrow of a rating that is not there can be typed: %q", m.message)
	}
	kept(t, m, before, "without a rated speed")

	press(onBowField(t, m, "speed_fps", true), "enter")
	write(m, "335")
	press(m, "enter")
	r := m.Job().Bow.Value.Rating
	if !r.Given || r.Value.Speed != 335*unit.FootPerSecond || r.Value.Arrow <= 0 || !r.Value.Draw.Given || !r.Value.Peak.Given {
		t.Fatalf("the rating is %+v: %s", r, m.message)
	}
	if got := r.Value.Arrow.In(unit.Grain) / r.Value.Peak.Value.In(unit.PoundForce); got < 4.999 || got > 5.001 {
		t.Errorf("rated with %g grains a pound, want 5", got)
	}
	for _, c := range []struct{ key, typed string }{{"arrow_gr", "360"}, {"peak_weight_lb", "70"}, {"draw_length_in", "30"}, {"brace_height_in", "6.5"}} {
		m = onBowField(t, m, c.key, true)
		press(m, "enter")
		write(m, c.typed)
		press(m, "enter")
		shows(t, m, c.typed+" ")
	}
	if _, has := m.session.Sheet().Builds[0].Figure(figure.LaunchSpeed); !has {
		t.Error("a rating gives no speed")
	}
	shows(t, m, m.session.Sheet().Fit.Notes(unit.System{})[0][:25])

	press(onBowField(t, m, "speed_fps", true), "enter", "backspace", "backspace", "backspace", "enter")
	if m.Job().Bow.Value.Rating.Given {
		t.Errorf("an empty speed leaves the rating: %s", m.message)
	}
}

func TestChoicesGoRoundBothWays(t *testing.T) {
	for _, key := range []string{"kind", "release"} {
		m := onBowField(t, benchOf(t, nil), key, false)
		start := m.Job().Bow.Value
		seen := map[string]bool{}
		for range 12 {
			press(m, "+")
			b := m.Job().Bow.Value
			seen[string(b.Kind)+string(b.Release)] = true
			if b.Kind == start.Kind && b.Release == start.Release {
				break
			}
		}
		if b := m.Job().Bow.Value; b.Kind != start.Kind || b.Release != start.Release || len(seen) < 2 {
			t.Errorf("%s: + goes through %v and does not come back", key, seen)
		}
		press(m, "+", "-")
		if b := m.Job().Bow.Value; b.Kind != start.Kind || b.Release != start.Release {
			t.Errorf("%s: - does not take + back", key)
		}
		press(m, "enter")
		if m.Typing() {
			t.Errorf("%s: letters are taken for a choice", key)
		}
	}
	m := onBowField(t, benchOf(t, nil), "peak_weight_lb", false)
	before := m.Job().Encode()
	press(m, "+")
	kept(t, m, before, "after + on a number")
	if m.message == "" {
		t.Error("+ on a number says nothing")
	}
}

func TestEveryFieldOfTheFormIsShownAndTaken(t *testing.T) {
	typed := map[string]string{
		"name": "Another bow", "peak_weight_lb": "61", "draw_length_in": "28.5", "brace_height_in": "6.25", "rest_behind_pivot_in": "0.75",
		"minimum_arrow_gr": "333", "maximum_peak_weight_lb": "71",
	}
	for key, text := range typed {
		m := onBowField(t, benchOf(t, nil), key, false)
		press(m, "enter")
		write(m, text)
		press(m, "enter")
		if m.Typing() {
			t.Errorf("%s: %q is refused: %s", key, text, m.message)
		}
		press(m, "up") // the focus shows brackets around it
		shows(t, m, " "+text)
	}
}

func TestTheFocusOfTheFormIsAlwaysInSight(t *testing.T) {
	for _, count := range []int{0, 2, 30} {
		for _, size := range [][2]int{{80, 24}, {120, 36}} {
			m := benchOf(t, manyReadings(count+1))
			m.SetSize(size[0], size[1])
			press(m, "b")
			for range len(bowLines()) + count + 2 {
				// The footer and the header have signs of their own.
				if body := strings.Join(m.Lines()[1:size[1]-1], "\n"); strings.Count(body, "▸") != 1 {
					t.Fatalf("%d readings at %d×%d: field %d is out of sight\n%s", count+1, size[0], size[1], m.dialog.(*bowForm).at, screen(m))
				}
				press(m, "down")
			}
		}
	}
}

func TestTheFormWorksWithoutABuildAndWithoutABow(t *testing.T) {
	m := onBowField(t, benchOf(t, func(j *job.Job) { *j = *job.New() }), "peak_weight_lb", false)
	press(m, "enter")
	write(m, "50")
	press(m, "enter")
	press(m, "esc")
	addReading(m, "400", "270", "1")
	if b := m.Job().Bow; !b.Given || b.Value.Peak.Value != 50*unit.PoundForce || len(b.Value.Readings) != 1 {
		t.Errorf("the bow is %+v: %s", b, m.message)
	}
	press(m, "esc")
	shows(t, m, "50 lb", "1 reading")
}
