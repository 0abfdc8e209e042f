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
	m.Saved("Autumn", m.Job())
	openSaved(t, m, Entry{ID: 2, Name: "Winter"}, m.Job().Clone())
	shows(t, m, "“Winter”")
}

// Nobody sees what a key would do on a screen that is too small.
func TestKeysDoNothingUnseen(t *testing.T) {
	m := benchOf(t, nil)
	before := m.Job().Encode()
	m.SetSize(60, 20)
	press(m, "x", "+", "d", "enter", "r", "X", "enter")
	kept(t, m, before, "after keys on a screen that is too small")
	if m.dialog != nil {
		t.Error("a dialog opened unseen")
	}
	if _, quits := press(m, "q").(Quit); !quits {
		t.Error("q does not quit")
	}
	m.SetSize(80, 24)
	press(m, "x")
	if len(m.Job().Builds) != 2 {
		t.Error("keys stay dead when the screen is large again")
	}
}

func TestALengthThatIsNoArrowIsRefused(t *testing.T) {
	for _, length := range []string{"0", "2", "9.9", "0.5 ft"} {
		m := onSlot(benchOf(t, nil), present.SlotLength)
		before := m.Job().Encode()
		press(m, "enter")
		write(m, length)
		press(m, "enter")
		kept(t, m, before, "after a length of "+length)
		if !m.Typing() || !strings.Contains(m.message, "no arrow") {
			t.Errorf("%s: it says %q", length, m.message)
		}
	}
}

// Readings that contradict each other show on the bench, beside the speed and
// among the cautions.
func TestReadingsThatDisagreeShowOnTheBench(t *testing.T) {
	m := benchOf(t, func(j *job.Job) { j.Bow.Value.Readings[1].Speed = 285 * unit.FootPerSecond })
	shows(t, m, "! check the readings", " ft/s !")
	m = benchOf(t, nil)
	if out := screen(m); strings.Contains(out, "check the readings") || strings.Contains(out, "ft/s !") {
		t.Errorf("good readings are doubted:\n%s", out)
	}
}

// Every danger of every build is named, whatever stands before it.
func TestEveryDangerIsNamed(t *testing.T) {
	m := benchOf(t, func(j *job.Job) {
		j.Bow.Value.MinimumArrow = unit.Some(999 * unit.Grain)
		j.Bow.Value.MaximumPeak = unit.Some(60 * unit.PoundForce)
		j.Builds[2].Length = 27.9 * unit.Inch // blades, 0.15 in ahead of the rest
	})
	m.SetSize(80, 24)
	words := strings.Join(strings.Fields(screen(m)), " ")
	for _, want := range []string{"too light, near a dry fire: A, B, C", "bow set above its maximum: A, B, C",
		"too short, may be shot into hand or arm: C", "blades may reach hand or riser at full draw: C"} {
		if !strings.Contains(words, want) {
			t.Errorf("the screen does not say %q\n%s", want, screen(m))
		}
	}
}

// However many builds are in danger, every kind of danger is named.
func TestEveryKindOfDangerIsNamedOfManyBuilds(t *testing.T) {
	for _, count := range []int{3, 4, 8, 26, 64} {
		m := benchOf(t, func(j *job.Job) {
			sample := j.Builds[2]
			j.Builds = nil
			for i := range count {
				b := sample.Clone()
				b.Name, b.Length = present.Letter(i), 27*unit.Inch
				j.Builds = append(j.Builds, b)
			}
			j.Bow.Value.MinimumArrow, j.Bow.Value.MaximumPeak = unit.Some(999*unit.Grain), unit.Some(60*unit.PoundForce)
		})
		m.SetSize(80, 24)
		words := strings.Join(strings.Fields(screen(m)), " ")
		for _, want := range []string{"too light, near a dry fire: ", "bow set above its maximum: ", "too short, may be shot into hand or arm: ", "blades may reach hand or riser at full draw: "} {
			if !strings.Contains(words, want) {
				t.Errorf("%d builds: the screen does not say %q\n%s", count, want, screen(m))
			}
		}
		checkFrame(t, "all in danger", m.Lines(), 80, 24)
	}
}
