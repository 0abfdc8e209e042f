package bench

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/air"
	"foreshaft/engine/dozen"
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
	with("a proven build", nil, "v")
	with("the record of a proven build", nil, "v", "v")
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
	for _, o := range order {
		k := o.key
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
	with("counter", nil, "D", "D")
	with("counter, on the last figure", nil, "end", "up", "D", "D")
	with("lab", nil, "D")
	with("lab, further down", nil, "D", "end", "up")
	with("lab, one build", builds(1), "D")
	with("lab, many builds", builds(12), "D", "right", "right", "right", "right", "right")
	add("metric", func(t testing.TB) *Model {
		m := benchOf(t, nil)
		m.setUnits(metric)
		press(m, "+")
		return m
	})
	with("palette", nil, ":")
	with("palette, filtered", nil, ":", "u", "n", "d")
	with("palette, nothing matches", nil, ":", "@", "@")
	with("palette of a form", nil, "b", ":")
	with("units", nil, "u")
	with("air", nil, "A", "down")
	with("air of a high place", func(j *job.Job) { j.Air = unit.Some(air.Conditions{Altitude: unit.Some(2000 * unit.Metre)}) }, "A")
	with("sight", nil, "i")
	with("sight with marks", manyMarks(25), "i", "right", "down", "down")
	with("sight, a new mark", manyMarks(2), "i", "a", "3", "0", "enter")
	with("dozen, nothing weighed", nil, "5")
	with("dozen without a build", builds(0), "5")
	add("dozen, shafts", func(t testing.TB) *Model {
		m, _ := onDozen(t, twelveShafts, thirteenHeads)
		press(m, "down", "ctrl+x", "down")
		return m
	})
	add("dozen, correcting", func(t testing.TB) *Model {
		m, _ := onDozen(t, twelveShafts, "")
		press(m, "enter")
		return m
	})
	add("dozen, four kinds", func(t testing.TB) *Model {
		m, d := onDozen(t, twelveShafts, thirteenHeads)
		for _, k := range []dozen.Kind{dozen.Inserts, dozen.Nocks} {
			d.shown = k
			d.take(m, thirteenHeads)
		}
		finish(m, d.refresh(m))
		toList(m)
		toList(m)
		return m
	})
	add("dozen, build list", func(t testing.TB) *Model {
		m, _ := onDozen(t, twelveShafts, thirteenHeads)
		toList(m)
		press(m, "enter", "enter", "end")
		return m
	})
	add("dozen, by a rule", func(t testing.TB) *Model {
		m, _ := onDozen(t, twelveShafts, thirteenHeads)
		press(m, "ctrl+r")
		return m
	})
	add("dozen, five hundred shafts", func(t testing.TB) *Model {
		m, _ := onDozen(t, strings.Repeat("231.4 231.2 232.7 229.9 231.1 ", 100), "")
		press(m, "end")
		return m
	})
	with("ticket", nil, "p")
	with("ticket, further down", tooLight, "p", "end")
	with("what to print", nil, "p", "p")
	with("limits", nil, "L", "end")
	with("limits that all builds break", func(j *job.Job) {
		j.Limits = unit.Some(job.Limits{MaxSpeed: 100 * unit.FootPerSecond, MinWeight: 900 * unit.Grain})
	}, "L")
	for _, s := range present.Slots {
		add("editing the piece "+string(s), func(t testing.TB) *Model {
			m := onSlot(benchOf(t, nil), s)
			press(m, "right", "E", "end")
			return m
		})
		if _, isPiece := s.Kind(); isPiece {
			add("new part "+string(s), func(t testing.TB) *Model {
				m := onSlot(benchOf(t, nil), s)
				press(m, "enter", "ctrl+a", "end")
				return m
			})
			add("part of the drawer "+string(s), func(t testing.TB) *Model {
				m := onSlot(benchOf(t, nil), s)
				press(m, "enter", "down", "down", "ctrl+e", "end", "enter")
				return m
			})
		}
	}
	with("extras", func(j *job.Job) {
		j.Builds[0].Extras = []part.Extra{{Name: "glue", Weight: 2 * unit.Grain, Balance: 29 * unit.Inch}, {Name: strings.Repeat("ballast ", 40), Weight: 5 * unit.Grain}}
	}, "end", "up", "up", "up", "E")
	with("extras, all removed", func(j *job.Job) {
		j.Builds[0].Extras = []part.Extra{{Name: "glue", Weight: 2 * unit.Grain}, {Name: "ballast", Weight: 5 * unit.Grain}}
	}, "home", "down", "down", "down", "down", "down", "down", "down", "down", "E", "x", "x", "enter")
	with("settings", nil, ",")
	offerModes(add)
	findModes(add)
	fitModes(add)
	with("drawer", nil, "6")
	with("drawer, of a kind", nil, "6", "tab", "tab", "down", "down")
	with("drawer, filtered", nil, "6", "b", "r", "a", "s", "s", "end")
	with("drawer, nothing matches", nil, "6", "q", "q")
	with("drawer, retired", nil, "6", "ctrl+r")
	with("drawer, a copy", nil, "6", "ctrl+d")
	with("drawer, a new part", nil, "6", "shift+tab", "ctrl+a")
	with("drawer, a part", nil, "6", "down", "enter")
	add("drawer, empty", func(t testing.TB) *Model {
		m := newBench(sampleBench(), nil)
		m.SetSize(120, 36)
		press(m, "6")
		return m
	})
	savedModes(add)
	downrangeModes(with)
	mapModes(add, with)
	for i := range lessons {
		with(fmt.Sprintf("tour, step %d", i+1), nil, slices.Repeat([]string{"T"}, i+1)...)
	}
	with("new bow", nil, "b", "n")
	add("kept bows", func(t testing.TB) *Model {
		m := benchOf(t, nil)
		press(m, "b", "o")
		m.ShowSaved([]Entry{{ID: 1, Name: "Counter bow", What: SavedBow}, {ID: 2, Name: "Autumn"}}, nil, nil)
		return m
	})
	with("bow form, many readings", manyReadings(30), "b")
	with("bow form, a reading in focus", nil, "b", "right", "right")
	with("bow form, after a choice", nil, "b", "up", "up", "+")
	with("bow form, removed", nil, "b", "right", "x")
	return list
}

// downrangeModes lists what the Downrange screen and the dialogs on it draw.
func downrangeModes(with func(name string, change func(j *job.Job), presses ...string)) {
	for i, k := range rangeFigures {
		with("downrange, chart of "+k.String(), nil, append([]string{"3", "c"}, slices.Repeat([]string{"f"}, i)...)...)
	}
	for i := range sightItem + 1 {
		with(fmt.Sprintf("downrange, condition %d", i), nil, append([]string{"3", "home"}, slices.Repeat([]string{"right"}, i)...)...)
		with(fmt.Sprintf("downrange, long condition %d", i), longConditions, append([]string{"3", "home"}, slices.Repeat([]string{"right"}, i)...)...)
		if i < sightItem {
			with(fmt.Sprintf("downrange, typing over long condition %d", i), longConditions, append(append([]string{"3", "home"}, slices.Repeat([]string{"right"}, i)...), "enter")...)
		}
	}
	for _, n := range []int{0, 1, 8, 64} {
		with(fmt.Sprintf("downrange, %d builds", n), builds(n), "3")
		with(fmt.Sprintf("downrange, %d builds, chart", n), builds(n), "3", "c", "right", "right", "right", "right", "right", "right")
	}
	with("downrange, nothing entered", func(j *job.Job) { *j = *job.New() }, "3")
	with("downrange, no bow", noBow, "3")
	with("downrange, no sight", noSight, "3", "c")
	with("downrange, no diameter", noDiameter, "3")
	with("downrange, out of reach", slowBow, "3")
	with("downrange, out of reach, chart", slowBow, "3", "c", "f", "f", "f")
	with("downrange, on a slope", onSlope, "3", "F")
	with("downrange, marks shot", manyMarks(25), "3")
	with("downrange, many distances", distances(64), "3", "home", "down")
	with("downrange, many distances, the last", distances(64), "3", "end", "c")
	with("downrange, many distances, a new one", distances(19), "3", "a")
	with("downrange, one distance", distances(1), "3", "c")
	with("downrange, an action", nil, "3", "+")
	with("downrange, refused", nil, "3", "home", "enter", "9", "9", "enter")
	with("downrange, the working", nil, "3", "e")
	with("downrange, help", nil, "3", "?")
	with("downrange, no file", nil, "3", "p", "x", "enter")
	with("drag", nil, "3", "d")
	with("drag, given", func(j *job.Job) { j.Builds[0].DragCoefficient = unit.Some(2.125) }, "3", "d", "end")
	with("drag, no diameter", noDiameter, "3", "d", "down")
	with("drag, no bow", noBow, "3", "d")
}

// What a bench may lack or have too much of for a path, by the condition.
func noBow(j *job.Job)   { j.Bow = job.New().Bow }
func noSight(j *job.Job) { j.Sight = job.New().Sight }
func noDiameter(j *job.Job) {
	j.Builds[0].Shaft.OuterDiameter = unit.Optional[unit.Length]{}
}
func onSlope(j *job.Job) { j.Slope = unit.Some(30 * unit.Degree) }

// slowBow gives a bow whose arrows come down well before 200 yd.
func slowBow(j *job.Job) {
	for i := range j.Bow.Value.Readings {
		j.Bow.Value.Readings[i].Speed /= 3
	}
	j.Distances = []unit.Length{20 * unit.Yard, 200 * unit.Yard}
}

// distances makes a list of n of them.
func distances(n int) func(j *job.Job) {
	return func(j *job.Job) {
		for i := range n {
			j.Distances = append(j.Distances, unit.Length(3*i+5)*unit.Yard)
		}
	}
}

// longConditions are as many digits as people may type on one line.
func longConditions(j *job.Job) {
	j.Crosswind, j.Slope, j.TargetRadius = unit.Some(-25.1234*unit.MilePerHour), unit.Some(-59.1234*unit.Degree), unit.Some(12.3456*unit.Inch)
	j.Air = unit.Some(air.Conditions{Temperature: unit.Some(unit.Celsius(-12.3456)), Pressure: unit.Some(1013.2512 * unit.Hectopascal)})
	manyMarks(25)(j)
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
	with("drawer", "6")
	with("rename", "r")
	with("palette", ":")
	with("palette of a form", "b", ":")
	with("a temperature", "A", "enter")
	with("peep to pin", "i", "enter")
	with("distance of a mark", "i", "a")
	with("a limit", "L", "enter")
	with("name of a piece", "E", "enter")
	with("weight of a piece", "E", "down", "enter")
	with("name of a new part", "enter", "ctrl+a", "enter")
	with("mean weight of a part", "enter", "ctrl+e", "end", "up", "up", "up", "enter")
	for i := range conditions {
		with("downrange, "+conditions[i].name, append(append([]string{"3", "home"}, slices.Repeat([]string{"right"}, i)...), "enter")...)
	}
	with("downrange, a distance", "3", "up", "enter")
	with("downrange, a new distance", "3", "a")
	with("downrange, a new distance from the conditions", "3", "home", "a")
	with("downrange, a file for the marks", "3", "p")
	with("downrange, any action", "3", ":")
	with("a drag coefficient", "3", "d", "enter")
	with("± of a drag coefficient", "3", "d", "enter", "2", "enter", "down", "enter")
	with("a speed near", "3", "d", "down", "down", "enter")
	with("the way between", "3", "d", "end", "up", "enter")
	with("keep a bow", "b", "s")
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
	for name, presses := range map[string][]string{
		"a file to take in": {"ctrl+t"}, "a file to write": {"ctrl+w", "enter"}, "name of a new customer": {"ctrl+a"},
		"name of what is saved": {"ctrl+e", "enter"}, "customer of what is saved": {"ctrl+e", "down", "enter"},
		"note of a customer": append(slices.Clone(toCustomers), "end", "ctrl+e", "down", "enter"), "name of who is erased": toErase,
	} {
		add(name, func(t testing.TB) *Model {
			m, _ := onSaved(t, presses...)
			return m
		})
	}
	add("for whom", func(t testing.TB) *Model {
		m, s := benchOf(t, nil), sampleShelf()
		saving(m, s, "s", "Evening")
		return m
	})
	with("a file for the drawer", "6", "ctrl+w", "enter")
	with("a file of parts to take in", "6", "ctrl+t")
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

// metric is every unit that is not the trade's own.
var metric = unit.System{Grams: true, Metric: unit.InCentimetres, Metres: true, PerSec: true, InNewton: true}

// manyMarks gives the bench a sight with n marks.
func manyMarks(n int) func(j *job.Job) {
	return func(j *job.Job) {
		var s job.Sight
		for i := range n {
			s.Marks = append(s.Marks, job.Mark{Distance: unit.Length(20+i) * unit.Yard, Reading: unit.Length(i) * unit.Inch / 10})
		}
		j.Sight = unit.Some(s)
	}
}
