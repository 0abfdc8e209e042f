package bench

import (
	"strings"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// mode is a state that the bench can be in.
type mode struct {
	name string
	make func(t testing.TB) *Model
}

// modes lists the bench with none to many builds and every dialog, each in the
// states in which it draws something else.
func modes() []mode {
	var list []mode
	add := func(name string, make func(t testing.TB) *Model) { list = append(list, mode{name, make}) }
	with := func(name string, change func(j *job.Job), presses ...string) {
		add(name, func(t testing.TB) *Model {
			m := benchOf(t, change)
			press(m, presses...)
			return m
		})
	}
	with("three builds", nil)
	with("no build", builds(0))
	with("no build and no bow", func(j *job.Job) { *j = *job.New() })
	with("one build", builds(1))
	with("eight builds", builds(8), "right", "right", "right", "right", "right")
	with("sixty-four builds", builds(64), "right", "n", "right", "right", "right", "right", "right", "right", "right", "right")
	with("no bow", func(j *job.Job) { j.Bow = job.New().Bow })
	with("a danger", tooLight)
	with("a danger out of sight", lastTooLight)
	with("after a change", nil, "+")
	with("last row", nil, "end")
	with("long effect", nil, "up", "up", "+", "+")
	with("extras", func(j *job.Job) {
		j.Builds[0].Extras = []part.Extra{{Name: "glue", Weight: unit.Grain, Balance: 20 * unit.Inch}, {Name: "ballast", Weight: unit.Grain, Balance: 20 * unit.Inch}}
	})
	for _, k := range part.Kinds {
		add("picker of "+string(k), func(t testing.TB) *Model {
			m := onSlot(benchOf(t, nil), kindSlot(k))
			press(m, "enter")
			return m
		})
	}
	with("picker filtered", nil, "enter", "b", "r", "a", "s", "s", "down")
	with("picker, a part that does not fit", nil, "enter", "pgdown", "pgdown", "pgdown")
	with("picker, a weight typed", nil, "enter", "6", "3", ".", "5", "end")
	with("picker, nothing matches", nil, "enter", "q", "q", "q", "q")
	add("saved list", func(t testing.TB) *Model {
		m := benchOf(t, nil)
		showSaved(m, entries("Autumn", "Range day", "Customer 12"))
		return m
	})
	add("long saved list", func(t testing.TB) *Model {
		m := benchOf(t, nil)
		showSaved(m, entries(strings.Split(strings.Repeat("something saved under a name that is long enough to be cut somewhere,", 200), ",")...))
		press(m, "pgdown", "pgdown", "pgdown", "pgdown", "pgdown")
		return m
	})
	add("saved list, nothing matches", func(t testing.TB) *Model {
		m := benchOf(t, nil)
		showSaved(m, entries("Autumn"))
		write(m, "qq")
		return m
	})
	with("saved list, not there yet", nil, "o", "q")
	with("samples choice", nil, "X", "down")
	with("help", nil, "?")
	with("help, further down", nil, "?", "pgdown", "down")
	with("cautions", nil, "right", "right", "end", "e")
	with("no cautions", nil, "right", "end", "e")
	for _, s := range present.Slots {
		add("explaining "+string(s), func(t testing.TB) *Model {
			m := onSlot(benchOf(t, nil), s)
			press(m, "e")
			return m
		})
	}
	for _, k := range order {
		for _, col := range []string{"baseline", "other build", "absent"} {
			add("working of "+k.String()+", "+col, func(t testing.TB) *Model {
				m := benchOf(t, func(j *job.Job) {
					if col == "absent" {
						j.Bow = job.New().Bow
						j.Builds[0].Length = 0.2 * unit.Inch
					}
				})
				if col == "other build" {
					press(m, "right")
				}
				press(onFigure(t, m, k), "e")
				return m
			})
		}
	}
	list = append(list, typingModes()...)
	with("bow form", nil, "b")
	with("bow form, no bow", func(j *job.Job) { *j = *job.New() }, "b")
	with("bow form, readings disagree", disagreeing, "b")
	with("bow form, many readings", manyReadings(30), "b")
	with("bow form, a reading in focus", nil, "b", "right", "right")
	with("bow form, after a choice", nil, "b", "up", "up", "+")
	with("bow form, removed", nil, "b", "right", "x")
	return list
}

// typingModes lists every state in which letters are text.
func typingModes() []mode {
	var list []mode
	add := func(name string, make func(t testing.TB) *Model) { list = append(list, mode{name, make}) }
	with := func(name string, presses ...string) {
		add(name, func(t testing.TB) *Model {
			m := benchOf(t, nil)
			press(m, presses...)
			return m
		})
	}
	with("picker", "enter")
	with("rename", "r")
	with("save the bench", "s")
	with("save a build", "S")
	add("a length", func(t testing.TB) *Model {
		m := onSlot(benchOf(t, nil), present.SlotLength)
		press(m, "enter")
		return m
	})
	add("an extra", func(t testing.TB) *Model {
		m := onSlot(benchOf(t, nil), present.SlotExtras)
		press(m, "enter")
		return m
	})
	add("saved list", func(t testing.TB) *Model {
		m := benchOf(t, nil)
		showSaved(m, entries("Autumn", "Range day"))
		return m
	})
	add("name of the bow", func(t testing.TB) *Model {
		m := onBowField(t, benchOf(t, nil), "name", false)
		press(m, "enter")
		return m
	})
	add("peak weight", func(t testing.TB) *Model {
		m := onBowField(t, benchOf(t, nil), "peak_weight_lb", false)
		press(m, "enter")
		return m
	})
	add("rated speed", func(t testing.TB) *Model {
		m := onBowField(t, benchOf(t, nil), "speed_fps", true)
		press(m, "enter")
		return m
	})
	add("a reading", func(t testing.TB) *Model {
		m := onReading(benchOf(t, nil), 1, 1)
		press(m, "enter")
		return m
	})
	with("a new reading", "b", "a")
	with("speed of a new reading", "b", "a", "4", "8", "0", "enter")
	with("± of a new reading", "b", "a", "4", "8", "0", "enter", "2", "7", "5", "enter")
	return list
}

func TestTypingModesTakeTyping(t *testing.T) {
	for _, c := range typingModes() {
		if m := c.make(t); !m.Typing() {
			t.Errorf("%s: letters are commands", c.name)
		}
	}
}
