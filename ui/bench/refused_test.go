package bench

import (
	"strings"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// What no file may hold could never be saved: it is refused before it is shown.

func TestALengthThatTheWeighedTubeCannotFollowIsRefused(t *testing.T) {
	m := onSlot(benchOf(t, func(j *job.Job) {
		j.Builds[0].Length = 10 * unit.Inch
		j.Builds[0].Shaft.TubeWeight = unit.Some(900 * unit.Grain) // four times that is no weight of an arrow
	}), present.SlotLength)
	before := m.Job().Encode()
	press(m, "enter")
	write(m, "40")
	press(m, "enter")
	kept(t, m, before, "after a length that the tube cannot follow")
	if !strings.Contains(m.message, "Not changed") || strings.Contains(m.message, "scaled") {
		t.Errorf("it says %q, want that nothing changed", m.message)
	}
}

func TestANewBuildThatWouldBeTooLongIsRefused(t *testing.T) {
	// A rest far ahead of the grip and shafts that come in any length ask for an
	// arrow longer than any.
	m := benchOf(t, func(j *job.Job) { j.Bow.Value.RestBehindPivot = unit.Some(-40 * unit.Inch) })
	for i := range m.drawer {
		m.drawer[i].Shaft.Value.StockLength = unit.Optional[unit.Length]{}
	}
	before := m.Job().Encode()
	press(m, "a")
	kept(t, m, before, "after a build that is too long")
	if m.col >= len(m.Job().Builds) {
		t.Fatalf("build %d of %d is in focus", m.col, len(m.Job().Builds))
	}
	if strings.Contains(m.message, "Added") || m.message == "" {
		t.Errorf("it says %q", m.message)
	}
	checkFrame(t, "refused", m.Lines(), 120, 36)
}

func TestSomethingNotDoneIsSaidInAsManyLinesAsItNeeds(t *testing.T) {
	const cause = "The disk is full. What was saved before is safe. Free some space and try again."
	for _, size := range [][2]int{{80, 24}, {120, 36}} {
		for _, presses := range [][]string{nil, {"+"}, {"b"}, {"?"}, {"enter"}} {
			m := benchOf(t, tooLight)
			m.SetSize(size[0], size[1])
			press(m, presses...)
			m.Alert("NOT SAVED. %s And the bench is still here, and the next change tries again.", cause)
			checkFrame(t, "an alert", m.Lines(), size[0], size[1])
			if words := strings.Join(strings.Fields(screen(m)), " "); !strings.Contains(words, cause+" And the bench is still here, and the next change tries again.") {
				t.Errorf("after %q at %d×%d the screen does not say all of it:\n%s", presses, size[0], size[1], screen(m))
			}
		}
	}
	m := benchOf(t, nil)
	m.Alert("%s", strings.Repeat(cause+" ", 20))
	if lines := m.Lines(); !strings.Contains(strings.Join(lines[30:], "\n"), "…") {
		t.Errorf("nothing shows that an alert is cut:\n%s", screen(m))
	}
	checkFrame(t, "a long alert", m.Lines(), 120, 36)
}

func TestOpeningTheSameBenchUnderAnotherNameTakesTheName(t *testing.T) {
	m := benchOf(t, nil)
	m.Saved("Autumn")
	openSaved(t, m, Entry{ID: 2, Name: "Winter", Whole: true}, m.Job().Clone())
	shows(t, m, "“Winter”")
}
