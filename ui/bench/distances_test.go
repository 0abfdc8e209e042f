package bench

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

func TestDistancesGoByFiveAndPassThoseThatAreThere(t *testing.T) {
	m, r := onRange(t, nil)
	for _, step := range []struct{ key, want string }{
		{"-", "20 30 40 50 55"}, {"-", "20 30 40 45 50"}, {"+", "20 30 40 50 55"}, {"+", "20 30 40 50 60"}, {"+", "20 30 40 50 65"},
	} {
		if press(m, step.key); yards(m) != step.want {
			t.Errorf("%s gives %s, want %s: %s", step.key, yards(m), step.want, m.message)
		}
	}
	// From between two steps the next one, in the unit that is shown.
	for typed, want := range map[string][2]string{"33": {"35", "25"}, "12.5 yd": {"15", "10"}, "1": {"5", ""}, "198": {"200", "195"}, "200": {"", "195"}, "45 m": {"55", "45"}} {
		for i, key := range []string{"+", "-"} {
			m, _ := onRange(t, nil)
			typeIn(m, typed)
			before := m.Job().Encode()
			press(m, key)
			if want[i] == "" {
				if kept(t, m, before, typed+" "+key); !strings.Contains(m.message, "200 yd") {
					t.Errorf("%s %s says %q", typed, key, m.message)
				}
				continue
			}
			if got := strings.Fields(yards(m))[m.dialog.(*rangeScreen).at-1]; got != want[i] {
				t.Errorf("%s %s gives %s, want %s", typed, key, got, want[i])
			}
		}
	}
	m.setUnits(metric) // 65 yd are 59.436 m
	press(m, "-")
	if got := float64(m.Job().Distances[4]); got < 55-1e-9 || got > 55+1e-9 || r.at != 5 {
		t.Errorf("a step nearer than 59.4 m is %v m with %d in focus", got, r.at)
	}
	shows(t, m, "▸      55 m ", "─ at 55 m ─")
}

func TestADistanceIsTakenHoweverItIsTyped(t *testing.T) {
	// A list in order stays in order, and the focus goes with the distance.
	for typed, want := range map[string]struct {
		changed, added string
		at, addedAt    int
	}{
		"33":     {"20 30 33 50 60", "20 30 33 40 50 60", 3, 3},
		"70 m":   {"20 30 50 60 76.5529", "20 30 40 50 60 76.5529", 5, 6},
		"12,5":   {"12.5 20 30 50 60", "12.5 20 30 40 50 60", 1, 1},
		"0.5":    {"0.5 20 30 50 60", "0.5 20 30 40 50 60", 1, 1},
		"200":    {"20 30 50 60 200", "20 30 40 50 60 200", 5, 6},
		"300 ft": {"20 30 50 60 100", "20 30 40 50 60 100", 5, 6},
	} {
		m, r := onRange(t, nil)
		before := m.Job().Encode()
		press(m, "up", "up")
		typeIn(m, typed)
		if got := yards(m); got != want.changed || m.dialog != r || r.at != want.at {
			t.Errorf("%q gives %s with %d in focus: %s", typed, got, r.at, m.message)
		}
		press(m, "z")
		kept(t, m, before, "after undo")
		press(m, "a")
		write(m, typed)
		press(m, "enter")
		if got := yards(m); got != want.added || r.at != want.addedAt {
			t.Errorf("%q added gives %s with %d in focus: %s", typed, got, r.at, m.message)
		}
	}
}

func TestDistancesThatCannotBeAreRefused(t *testing.T) {
	for typed, says := range map[string]string{
		"0": "more than nothing", "-5": "200 yd", "201": "0 to 200 yd", "183 m": "0 to 200 yd", "far": "", "50": "50 yd is in the list already",
		"150 ft": "50 yd is in the list already", "45.72 m": "50 yd is in the list already", "3 mph": "",
	} {
		for _, open := range []string{"enter", "a"} {
			m, r := onRange(t, nil)
			press(m, "up", "up", "up") // 30 yd
			before := m.Job().Encode()
			press(m, open)
			write(m, typed)
			press(m, "enter")
			kept(t, m, before, "after "+typed)
			if !m.Typing() || typedText(t, m) != typed || !strings.Contains(m.message, says) || !strings.HasSuffix(m.message, ".") {
				t.Errorf("%s %q is answered by %q", open, typed, m.message)
			}
			checkFrame(t, "refused", m.Lines(), 120, 36)
			press(m, "esc", "down", "up")
			kept(t, m, before, "after Esc")
			if m.dialog != r || r.at < 1 || r.at > 5 {
				t.Errorf("after Esc %T is open with %d in focus", m.dialog, r.at)
			}
		}
	}
	// Empty is no distance either: x removes one.
	m, _ := onRange(t, nil)
	before := m.Job().Encode()
	press(m, "enter", "backspace", "enter")
	if kept(t, m, before, "after nothing"); !m.Typing() {
		t.Errorf("an empty distance is taken: %s", m.message)
	}
}

// A new distance has a line of its own while it is typed, with the field on it,
// and those that are there stay in sight.
func TestANewDistanceIsTypedOnALineOfItsOwn(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {120, 36}} {
		for _, lead := range []string{"end", "home", "up"} {
			m, _ := onRange(t, nil)
			m.SetSize(size[0], size[1])
			press(m, lead, "a")
			write(m, "33")
			shows(t, m, "\n[33▏         ] a new distance\n", "     60 yd ", "     20 yd ")
			press(m, "enter")
			shows(t, m, "\n▸     33 yd ", "─ at 33 yd ─")
		}
	}
	// Whatever key comes behind Esc finds the focus on a distance that is there.
	for _, key := range []string{"x", "+", "-", "enter", "up", "down", "e", "y", "p", "f"} {
		m, r := onRange(t, nil)
		press(m, "a", "esc", key)
		if n := len(m.Job().DistancesOrDefault()); r.at > n || r.at < 1 {
			t.Errorf("%s behind Esc: %d of %d in focus", key, r.at, n)
		}
		if key == "x" && yards(m) != "20 30 40 50" {
			t.Errorf("x behind Esc leaves %s", yards(m))
		}
	}
}

func TestTheLastDistanceStays(t *testing.T) {
	m, r := onRange(t, nil)
	before := m.Job().Encode()
	for i := range 4 {
		want := m.units().Distance(m.Job().DistancesOrDefault()[r.at-1], 4)
		if press(m, "x"); !strings.HasPrefix(m.message, "Removed "+want+"; z brings it back") {
			t.Errorf("x %d says %q, want that %s went", i, m.message, want)
		}
	}
	last := m.Job().Encode()
	if press(m, "x"); !strings.Contains(m.message, "has to stay") {
		t.Errorf("it says %q", m.message)
	}
	kept(t, m, last, "after removing the last one")
	press(m, "z", "z", "z", "z")
	kept(t, m, before, "after undo")
	if press(m, "home", "x"); !strings.Contains(m.message, "Move to a distance") {
		t.Errorf("on the conditions x says %q", m.message)
	}
	kept(t, m, before, "after x on the conditions")
}

func TestAListHoldsTwentyDistances(t *testing.T) {
	m, r := onRange(t, distances(18))
	for i := range 2 {
		press(m, "a")
		write(m, fmt.Sprint(100+i))
		press(m, "enter")
	}
	before := m.Job().Encode()
	press(m, "a")
	if kept(t, m, before, "after the twenty-first"); m.dialog != r || !strings.Contains(m.message, "20 distances") {
		t.Errorf("the twenty-first opens %T and says %q", m.dialog, m.message)
	}
	press(m, "x", "a")
	if !m.Typing() {
		t.Errorf("with nineteen no other can be typed: %s", m.message)
	}
	// A job file may hold more: all can be seen, changed and removed.
	m, r = onRange(t, distances(64))
	m.SetSize(80, 24)
	for i := range 64 {
		press(m, "home")
		press(m, slices.Repeat([]string{"down"}, i+1)...)
		shows(t, m, fmt.Sprintf("\n▸%7d yd ", 3*i+5), " more distances ")
	}
	press(m, "+")
	if got := strings.Fields(yards(m)); len(got) != 64 || got[63] != "195" && got[63] != "200" {
		t.Errorf("the last of %d is %s, it says %q", len(got), got[63], m.message)
	}
	press(m, "x")
	if n := len(m.Job().Distances); n != 63 || r.at != 63 {
		t.Errorf("%d are left with %d in focus", n, r.at)
	}
}

// The bench shows the distance that the Downrange screen left, and the next
// sitting too; on the screen the one that the bench shows has the focus.
func TestTheBenchShowsTheSameDistance(t *testing.T) {
	for i, yd := range []float64{20, 30, 40, 50, 60} {
		m, _ := onRange(t, nil)
		press(m, "home")
		press(m, slices.Repeat([]string{"down"}, i+1)...)
		press(m, "esc")
		want := fmt.Sprintf("─ at %g yd ─", yd)
		shows(t, m, want)
		if got := m.chosen().In(unit.Yard); got < yd-1e-9 || got > yd+1e-9 {
			t.Errorf("the bench shows %v yd, want %v", got, yd)
		}
		next := newBench(m.Job(), m.drawer)
		next.Restore(m.View())
		next.SetSize(120, 36)
		shows(t, next, want)
		press(next, "3")
		if r := next.dialog.(*rangeScreen); r.at != i+1 {
			t.Errorf("the next sitting has %d in focus, want %d", r.at, i+1)
		}
		shows(t, next, want)
	}
	// The conditions are passed on the way up, and have no distance of their own.
	m, _ := onRange(t, nil)
	press(m, "up", "home", "+", "esc")
	shows(t, m, "─ at 50 yd ─")
	// A distance that another job does not list gives way to the farthest.
	m.Restore(View{Distance: 47 * unit.Yard, Depth: Common})
	shows(t, m, "─ at 60 yd ─")
	// A new distance is shown at once, and undo goes back to one that is there.
	m, _ = onRange(t, nil)
	press(m, "a")
	write(m, "77")
	press(m, "enter", "esc")
	shows(t, m, "─ at 77 yd ─")
	press(m, "z")
	shows(t, m, "─ at 60 yd ─")
}

func TestPageUpAndDownChooseTheDistance(t *testing.T) {
	// In whatever order the job lists them.
	for _, list := range [][]unit.Length{nil, {40, 20, 60, 30, 50}, {60, 50, 40, 30, 20}} {
		m := benchOf(t, func(j *job.Job) {
			for _, d := range list {
				j.Distances = append(j.Distances, d*unit.Yard)
			}
		})
		before := m.Job().Encode()
		shows(t, m, "─ at 60 yd ─ PgUp nearer PgDn farther ─")
		for _, step := range []struct {
			key  string
			want int
		}{{"pgdown", 60}, {"pgup", 50}, {"pgup", 40}, {"pgdown", 50}, {"pgup", 40}, {"pgup", 30}, {"pgup", 20}, {"pgup", 20}, {"pgdown", 30}} {
			was := m.chosen()
			press(m, step.key)
			want := fmt.Sprintf("%d yd", step.want)
			shows(t, m, "─ at "+want+" ─")
			says := "Figures at " + want + "."
			if was == m.chosen() {
				says = want + " is the last on that side; 3 opens the list of distances."
			}
			if m.message != says {
				t.Errorf("%s says %q, want %q", step.key, m.message, says)
			}
			place := slices.Index(m.Job().DistancesOrDefault(), unit.Length(step.want)*unit.Yard)
			for i := range m.Job().Builds {
				shows(t, m, present.FigureCellAt(m.session.Sheet(), i, place, figure.SightMark).Text(33))
			}
		}
		kept(t, m, before, "after choosing distances")
	}
	m := benchOf(t, distances(1))
	for _, key := range []string{"pgup", "pgdown"} {
		if press(m, key); !strings.Contains(m.message, "5 yd is the last on that side") {
			t.Errorf("with one distance %s says %q", key, m.message)
		}
	}
	m = benchOf(t, nil)
	m.setUnits(metric)
	press(m, "pgup")
	shows(t, m, "─ at 45.72 m ─")
}

// The effect line tells where a change hits, at the distance that is chosen: what
// is heavier lower, what is lighter higher.
func TestTheEffectLineSaysWhereTheChangeHits(t *testing.T) {
	for _, c := range []struct{ key, side string }{{"+", "lower"}, {"-", "higher"}} {
		m := onSlot(benchOf(t, nil), "head")
		press(m, c.key)
		if !strings.Contains(m.effect, " · 60 yd ") || !strings.Contains(m.effect, " in "+c.side) {
			t.Errorf("%s on the head says %q, want %s at 60 yd", c.key, m.effect, c.side)
		}
		shows(t, m, "60 yd ", " in "+c.side)
		press(m, "z", "pgup", "pgup", c.key)
		if !strings.Contains(m.effect, " · 40 yd ") || !strings.Contains(m.effect, " in "+c.side) {
			t.Errorf("%s on the head says %q, want %s at 40 yd", c.key, m.effect, c.side)
		}
		m.setUnits(metric)
		press(m, "z", c.key)
		if !strings.Contains(m.effect, " · 36.6 m ") || !strings.Contains(m.effect, " cm "+c.side) {
			t.Errorf("%s on the head says %q, want it in metres", c.key, m.effect)
		}
	}
	for name, change := range map[string]func(j *job.Job){"sight": noSight, "bow": noBow, "diameter": noDiameter} {
		m := onSlot(benchOf(t, change), "head")
		press(m, "+")
		if m.effect == "" || strings.Contains(m.effect, "yd") || strings.Contains(m.effect, "lower") {
			t.Errorf("without a %s it says %q", name, m.effect)
		}
	}
	// The preview in the list of parts says the same as the line afterwards.
	m := onSlot(benchOf(t, nil), "head")
	press(m, "enter", "down")
	preview := m.dialog.(*picker).preview(m)
	press(m, "enter")
	if _, effect, _ := strings.Cut(m.effect, ":  "); effect == "" || !strings.Contains(preview, effect) {
		t.Errorf("before the change %q, after it %q", preview, m.effect)
	}
}
