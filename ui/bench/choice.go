package bench

import (
	"fmt"
	"slices"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// choice asks which of a few things to do.
type choice struct {
	title   string
	options []choiceOption
	at      int
}

type choiceOption struct {
	words string
	do    func(m *Model) Request
}

// samplesChoice clears the invented samples or brings them back.
func (m *Model) samplesChoice() dialog {
	c := &choice{title: "Clear the bench, or bring the samples back"}
	add := func(words string, do func(m *Model) Request) { c.options = append(c.options, choiceOption{words, do}) }
	cleared := func(r Request) Request {
		m.Say("The bench is empty: %s enters your bow, %s adds a build.", m.keys.Bench.Press(keys.Bow), m.keys.Bench.Press(keys.Add))
		return r
	}
	own := m.Job().Bow.Given && !record.Equal(m.Job().Bow.Value, m.samples.Bow.Value)
	if own && len(m.Job().Builds) > 0 {
		add("Clear the builds; your bow, air, sight and limits stay", func(m *Model) Request {
			m.do("clear the builds", func(j *job.Job) {
				j.Builds, j.Baseline = nil, 0
				// What was asked of arrows goes with them.
				j.Search, j.Drawer = unit.Optional[job.Search]{}, unit.Optional[job.Drawer]{}
			})
			return cleared(nil)
		})
	}
	all := "Clear the bench: no builds and no bow (undo brings them back until you quit)"
	if own {
		all = "Clear the bench, your bow too (it is kept by its name: " + m.bowLabel() + ")"
	}
	add(all, func(m *Model) Request {
		r := m.keepPresentBow()
		m.replace("clear the bench", job.New(), "")
		return cleared(r)
	})
	if offered := m.sampleParts(false); len(offered) > 0 {
		add(fmt.Sprintf("Hide the %d sample parts from the drawer", len(offered)), func(m *Model) Request { return m.retire(offered, true) })
	}
	if hidden := m.sampleParts(true); len(hidden) > 0 {
		add(fmt.Sprintf("Bring the %d sample parts back to the drawer", len(hidden)), func(m *Model) Request { return m.retire(hidden, false) })
	}
	add("Put the sample bench in place of this one (undo brings this one back)", func(m *Model) Request {
		r := m.keepPresentBow()
		m.replace("sample bench", m.samples, "")
		return r
	})
	return c
}

// sampleParts lists the sample parts that are retired, or those that are not.
func (m *Model) sampleParts(retired bool) []part.Part {
	var out []part.Part
	for _, p := range m.drawer {
		if p.Sample && p.Retired == retired {
			out = append(out, p)
		}
	}
	return out
}

// retire takes parts out of what the drawer offers, or puts them back. Builds
// that use them keep them.
func (m *Model) retire(parts []part.Part, retired bool) Request {
	changed := make(map[string]bool, len(parts))
	kept := slices.Clone(parts)
	for i := range kept {
		kept[i].Retired = retired
		changed[kept[i].ID] = true
	}
	m.drawer = slices.Clone(m.drawer)
	for i := range m.drawer {
		if changed[m.drawer[i].ID] {
			m.drawer[i].Retired = retired
		}
	}
	if retired {
		m.Say("The sample parts are out of the drawer; builds that use them keep them.")
	} else {
		m.Say("The sample parts are back in the drawer.")
	}
	return KeepParts{Was: parts, Parts: kept}
}

func (c *choice) key(m *Model, k tea.KeyMsg) (bool, Request) {
	a := m.keys.List.Action(k)
	if a == "" {
		a = m.keys.Bench.Action(k) // letters are no text here
	}
	switch a {
	case keys.Close:
		return true, nil
	case keys.Up:
		c.at = max(c.at-1, 0)
	case keys.Down:
		c.at = min(c.at+1, len(c.options)-1)
	case keys.Choose:
		return true, c.options[c.at].do(m)
	}
	return false, nil
}

func (c *choice) draw(m *Model, w, h int) []string {
	out := []string{m.theme.Paint(theme.Heading, text.Pad(" "+c.title, w)), ""}
	for i, o := range c.options {
		line := text.Pad("   "+o.words, w)
		if i == c.at {
			line = m.theme.Paint(theme.Focus, text.Pad(" ▸ "+o.words, w))
		}
		out = append(out, line)
	}
	return out
}

func (c *choice) typing() bool                { return false }
func (c *choice) footer(m *Model) []keys.Hint { return m.keys.ListFooter() }
