package bench

import (
	"fmt"

	"foreshaft/engine/part"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
)

// tour leads through the bench a step at a time. It only watches: every key does
// what it always does, and a step is done when the bench shows that it is.
type tour struct {
	step int // 1 is the first; 0 is no tour
	col  int
	base int
}

// lesson is one step of the tour.
type lesson struct {
	words func(m *Model) string
	// done reports whether the bench shows that the step was taken.
	done func(m *Model) bool
}

var lessons = []lesson{
	{
		words: func(m *Model) string {
			return "Each column is an arrow, its parts above the line and what follows from them below. Arrow keys move. Go to another column."
		},
		done: func(m *Model) bool { return m.col != m.tour.col || len(m.Job().Builds) < 2 },
	},
	{
		words: func(m *Model) string {
			return fmt.Sprintf("Move to a part, such as the insert, and press %s for the next heavier one. The line below the figures tells what that one change did.", m.keys.Bench.Press(keys.More))
		},
		done: func(m *Model) bool { return m.effect != "" },
	},
	{
		words: func(m *Model) string {
			return fmt.Sprintf("%s takes it back, as far as you like. %s opens the drawer for the part in focus: type to filter. Open one; Esc leaves it.", m.keys.Bench.Press(keys.Undo), m.keys.Bench.Press(keys.Edit))
		},
		done: func(m *Model) bool { _, open := m.dialog.(*picker); return open },
	},
	{
		words: func(m *Model) string {
			return fmt.Sprintf("%s%s makes this column the baseline, marked ◆: the others show their difference to it. Try it on another column.", m.back(), m.keys.Bench.Press(keys.Baseline))
		},
		done: func(m *Model) bool { return m.Job().Baseline != m.tour.base || len(m.Job().Builds) < 2 },
	},
	{
		words: func(m *Model) string {
			return fmt.Sprintf("Move down to a figure and press %s: how it was worked out, and what would make it surer. Esc comes back.", m.keys.Bench.Press(keys.Explain))
		},
		done: func(m *Model) bool { _, open := m.dialog.(*page); return open },
	},
	{
		words: func(m *Model) string {
			return fmt.Sprintf("%s%s asks a few questions and proposes three builds of the drawer's parts. Open it; Esc leaves it.", m.back(), m.keys.Bench.Press(keys.Fit))
		},
		done: func(m *Model) bool { _, open := m.dialog.(*fitScreen); return open },
	},
	{
		words: func(m *Model) string {
			return fmt.Sprintf("%sPress %s: enter your bow there, and with a the arrows you have chronographed.", m.back(), m.keys.Bench.Press(keys.Bow))
		},
		done: func(m *Model) bool { _, open := m.dialog.(*bowForm); return open },
	},
}

// back says how to get back to the bench, where the tour goes on.
func (m *Model) back() string {
	if m.dialog == nil {
		return ""
	}
	return "Go back with Esc. "
}

// startTour begins the tour, or skips to its next step.
func (m *Model) startTour() {
	if len(m.Job().Builds) == 0 {
		m.Say("The tour needs a build to look at: %s brings the sample bench, %s adds a build.", m.keys.Bench.Press(keys.Samples), m.keys.Bench.Press(keys.Add))
		return
	}
	m.nextLesson()
	if m.tour.step == 1 {
		m.row = m.rowOf(present.Slot(part.KindInsert))
	}
}

func (m *Model) nextLesson() {
	m.tour = tour{step: m.tour.step + 1, col: m.col, base: m.Job().Baseline}
	if m.tour.step == 2 {
		m.before, m.effect = nil, ""
	}
	if m.tour.step > len(lessons) {
		m.tour.step = 0
		m.Say("That was the tour. Everything is kept as you go; %s saves a bench by name, %s finds any action, %s lists the keys.",
			m.keys.Bench.Press(keys.Save), m.keys.Bench.Press(keys.Command), m.keys.Bench.Press(keys.Help))
	}
}

// guide goes on with the tour when the step is done, and ends it with Esc.
func (m *Model) guide() {
	if m.tour.step > 0 && lessons[m.tour.step-1].done(m) {
		m.nextLesson()
	}
}

// lesson is what the tour says now, empty without one.
func (m *Model) lesson() string {
	if m.tour.step == 0 {
		return ""
	}
	return fmt.Sprintf("Tour %d of %d: %s  (on the bench %s skips, Esc ends)", m.tour.step, len(lessons), lessons[m.tour.step-1].words(m), m.keys.Bench.Press(keys.Tour))
}
