package bench

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
)

// steps are what each lesson of the tour asks for, as somebody would press it.
var steps = [][]string{
	{"right"},
	{"+"},
	{"z", "enter"},
	{"esc", "left", "right", "right", "n"},
	{"end", "up", "e"},
	{"esc", "g"},
	{"esc", "b"},
}

// On the sample bench each step is done by doing what it says, and not before.
func TestEachStepOfTheTourIsDoneByWhatItSays(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "T")
	for i, presses := range steps {
		if m.tour.step != i+1 {
			t.Fatalf("before step %d the tour is at %d", i+1, m.tour.step)
		}
		words := fmt.Sprintf("Tour %d of %d: ", i+1, len(steps))
		for n, key := range presses {
			if !strings.Contains(oneLine(screen(m)), words) {
				t.Errorf("before %q the screen does not say %q:\n%s", key, words, screen(m))
			}
			if m.tour.step != i+1 {
				t.Errorf("step %d is done after %q of %q", i+1, presses[:n], presses)
			}
			press(m, key)
		}
	}
	if m.tour.step != 0 || !strings.Contains(m.message, "That was the tour.") {
		t.Errorf("at the end the tour is at %d and it says %q", m.tour.step, m.message)
	}
	if strings.Contains(screen(m), "Tour ") {
		t.Errorf("the tour is over and still there:\n%s", screen(m))
	}
	press(m, "esc", "T")
	if m.tour.step != 1 {
		t.Errorf("started again it is at %d", m.tour.step)
	}
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// Every lesson stands whole on the least screen, with what it asks for.
func TestEveryLessonIsShownInFull(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {120, 36}} {
		m := benchOf(t, nil)
		m.SetSize(size[0], size[1])
		for i, l := range lessons {
			press(m, "T")
			if want := oneLine(l.words(m)); m.tour.step != i+1 || !strings.Contains(oneLine(screen(m)), want) {
				t.Errorf("step %d at %d×%d does not show %q:\n%s", m.tour.step, size[0], size[1], want, screen(m))
			}
		}
	}
}

func TestTSkipsAndEscEndsTheTour(t *testing.T) {
	for skipped := range len(lessons) {
		m := benchOf(t, nil)
		before := m.Job().Encode()
		press(m, slices.Repeat([]string{"T"}, skipped+1)...)
		if m.tour.step != skipped+1 {
			t.Errorf("T %d times leads to step %d", skipped+1, m.tour.step)
		}
		press(m, "esc")
		if m.tour.step != 0 || !strings.Contains(m.message, "The tour is over") || strings.Contains(screen(m), "Tour ") {
			t.Errorf("after Esc the tour is at %d and it says %q", m.tour.step, m.message)
		}
		kept(t, m, before, "after the tour")
		if press(m, "right"); m.tour.step != 0 {
			t.Error("it goes on after Esc")
		}
	}
	m := benchOf(t, nil)
	press(m, slices.Repeat([]string{"T"}, len(lessons)+1)...)
	if m.tour.step != 0 || !strings.Contains(m.message, "That was the tour.") {
		t.Errorf("past the last step the tour is at %d and it says %q", m.tour.step, m.message)
	}
	// Esc leaves what is open first: the tour says so.
	m = benchOf(t, nil)
	press(m, "T", "T", "T", "enter", "esc")
	if m.tour.step != 4 || m.dialog != nil {
		t.Errorf("after Esc in the drawer the tour is at %d and %T is open", m.tour.step, m.dialog)
	}
}

// With one build there is no other column and no other baseline: those steps are
// passed over.
func TestTheTourWorksWithOneBuild(t *testing.T) {
	m := benchOf(t, builds(1))
	press(m, "T")
	if m.tour.step != 2 {
		t.Fatalf("with one build it starts at %d", m.tour.step)
	}
	// What was changed before the tour is no step of it.
	late := benchOf(t, builds(1))
	if press(late, "+", "T", "down"); late.tour.step != 2 {
		t.Errorf("after a change of before it is at %d, want 2", late.tour.step)
	}
	press(m, "+", "z", "enter")
	if m.tour.step != 4 {
		t.Fatalf("with the drawer open it is at %d, want the baseline's", m.tour.step)
	}
	press(m, "esc")
	if m.tour.step != 5 {
		t.Fatalf("back on the bench it is at %d, want past the baseline", m.tour.step)
	}
	press(onFigure(t, m, figure.FOC), "e", "esc", "g", "esc", "b")
	if m.tour.step != 0 {
		t.Errorf("at the end it is at %d", m.tour.step)
	}
}

func TestTheTourNeedsABuild(t *testing.T) {
	for _, change := range []func(j *job.Job){builds(0), func(j *job.Job) { *j = *job.New() }} {
		m := benchOf(t, change)
		press(m, "T")
		if m.tour.step != 0 || !strings.Contains(m.message, "needs a build") {
			t.Errorf("on an empty bench it is at %d and says %q", m.tour.step, m.message)
		}
	}
	m := benchOf(t, builds(1))
	press(m, "T", "x")
	if press(m, "down", "up", "a", "+"); m.tour.step < 2 {
		t.Errorf("after the last build went the tour is at %d", m.tour.step)
	}
	checkFrame(t, "a tour whose build went", m.Lines(), 120, 36)
}

// The tour only watches: with it every key does what it does without. Only Esc on
// the bench ends it, where it does nothing else.
func TestTheTourEatsNoKey(t *testing.T) {
	keysOf := []string{"up", "down", "left", "right", "home", "end", "+", "-", "enter", "esc", "e", "E", "z", "Z", "a", "d", "x", "n", "<", ">", "b", "A", "i", "L", "u", "D", "X", "?", ",", ":", "o", "r", "q", "m", "5", " ", "3", "tab", "pgup", "pgdown", "f"}
	rapid.Check(t, func(rt *rapid.T) {
		plain, guided := benchOf(t, nil), benchOf(t, nil)
		for range rapid.IntRange(1, len(lessons)).Draw(rt, "skips") {
			press(guided, "T")
		}
		plain.row = guided.row
		for range rapid.IntRange(1, 15).Draw(rt, "keys") {
			key := rapid.SampledFrom(keysOf).Draw(rt, "key")
			a, b := press(plain, key), press(guided, key)
			was, is := fmt.Sprintf("%T %T %d %d %s", a, plain.dialog, plain.row, plain.col, plain.Job().Encode()), fmt.Sprintf("%T %T %d %d %s", b, guided.dialog, guided.row, guided.col, guided.Job().Encode())
			if was != is {
				rt.Fatalf("%s does\n%s\nand in the tour\n%s", key, was, is)
			}
		}
	})
}
