package bench

import (
	"fmt"
	"strings"

	"foreshaft/engine/figure"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/theme"
)

// nextTheme takes the next colours: light, dark, none, then what the terminal's
// background asks for.
func (m *Model) nextTheme() Request {
	names := map[theme.Name]theme.Name{"": theme.Light, theme.Light: theme.Dark, theme.Dark: theme.Mono, theme.Mono: ""}
	next := names[m.choices.Theme]
	if next == m.ground && m.choices.Theme == "" {
		next = names[next] // what is on screen already
	}
	m.choices.Theme = next
	m.repaint()
	switch got := m.theme.Name(); {
	case next == "":
		m.Say("Colours by the terminal's background (%s).", m.ground)
	case got != next:
		m.Say("Colours for a %s background, but this terminal shows none (NO_COLOR or TERM).", next)
	case got == theme.Mono:
		m.Say("No colours.")
	default:
		m.Say("Colours for a %s background.", got)
	}
	return Chosen{m.choices}
}

// switchMouse turns the mouse on or off.
func (m *Model) switchMouse() Request {
	m.choices.Mouse = !m.choices.Mouse
	if m.choices.Mouse {
		m.Say("Mouse on: click to move, click again to choose, the wheel changes what is in focus. To mark text hold Shift.")
	} else {
		m.Say("Mouse off: the terminal marks text again.")
	}
	return Chosen{m.choices}
}

func (m *Model) setUnits(u unit.System) {
	m.choices.Units = u
	m.session.SetUnits(u)
	m.before, m.effect = nil, ""
}

// deepen shows the next depth of figures.
func (m *Model) deepen() {
	switch m.depth = (m.depth + 1) % (Lab + 1); m.depth {
	case Counter:
		m.Say("Counter: six figures, and what to be careful about. %s shows more.", m.keys.Bench.Press(keys.Depth))
	case Common:
		m.Say("Bench: the figures in common use. %s shows all.", m.keys.Bench.Press(keys.Depth))
	case Lab:
		m.Say("Lab: every figure with its uncertainty, and whether it was measured or estimated. %s shows six.", m.keys.Bench.Press(keys.Depth))
	}
	m.settle()
}

// copyFocus copies the cell in focus.
func (m *Model) copyFocus() Request {
	r, b := allRows[m.row], m.build()
	name := present.Letter(m.col) + " " + b.Name
	switch {
	case r.caution:
		var words []string
		for _, c := range present.Remarks(m.session.Sheet(), m.col) {
			words = append(words, present.Sentence(c))
		}
		if len(words) == 0 {
			words = []string{"no cautions found"}
		}
		return Copy{Text: strings.Join(words, "\n"), What: "the cautions of " + name}
	case r.isSlot:
		return Copy{Text: present.Piece(m.units(), b, r.slot), What: fmt.Sprintf("the %s of %s", r.slot, name)}
	}
	return m.copyCell(r.figure, m.placeOf(m.Job(), r.figure))
}

// copyCell copies a figure of the build in focus, of one distance or of all.
func (m *Model) copyCell(k figure.Key, place int) Request {
	name := present.Letter(m.col) + " " + m.build().Name
	cell := present.FigureCellAt(m.session.Sheet(), m.col, place, k)
	title := k.Definition().Title
	if k.Definition().At {
		title += " at " + m.units().Distance(m.Job().DistancesOrDefault()[place], 4)
	}
	if cell.Absent != "" {
		m.Say("There is no %s to copy: it %s.", title, cell.Absent)
		return nil
	}
	return Copy{Text: cell.Full(), What: fmt.Sprintf("%s of %s", title, name)}
}

// copyTable copies the comparison as plain text.
func (m *Model) copyTable() Request {
	return Copy{Text: present.Plain(m.session.Sheet()), What: "the whole comparison as text"}
}

// Copied says what was sent to the terminal, which does not answer.
func (m *Model) Copied(c Copy, err error) {
	if err != nil {
		m.Alert("Not copied. %v", err)
		return
	}
	shown := strings.SplitN(c.Text, "\n", 2)[0]
	if strings.Contains(c.Text, "\n") {
		shown = fmt.Sprintf("%d lines", strings.Count(strings.TrimRight(c.Text, "\n"), "\n")+1)
	}
	m.Say("Copied %s: %s. If pasting gives something else, the terminal takes no copies from programs (tmux: set -g set-clipboard on).", c.What, shown)
}

// settingsPage says what is chosen and where it is kept.
func (m *Model) settingsPage() *page {
	p := &page{title: "Settings"}
	colours := string(m.choices.Theme)
	if colours == "" {
		colours = "by the terminal's background"
	}
	mouse := "off"
	if m.choices.Mouse {
		mouse = "on"
	}
	c := choiceOf(m.units())
	press := m.keys.Bench.Press
	p.tabulate(press(keys.Theme)+"  colours", colours)
	p.tabulate(press(keys.Units)+"  units", strings.Join([]string{c.Weight, c.Length, c.Speed, c.Force, c.Distance}, ", "))
	currency := m.choices.Currency
	if currency == "" {
		currency = "not named"
	}
	p.tabulate(press(keys.Units)+"  currency", currency)
	p.tabulate(press(keys.Mouse)+"  mouse", mouse)
	p.tabulate(press(keys.Depth)+"  depth", m.depth.String()+" (kept with the bench)")
	p.add(theme.Plain, "")
	for _, s := range m.about {
		p.add(theme.Plain, "%s", s)
	}
	p.add(theme.Plain, "")
	p.add(theme.Heading, "Other keys")
	p.add(theme.Plain, "Under “keys” the settings file gives actions other keys, by the names in the README's table. Those you list replace an action's own; arrows, Enter and Esc always work. A file that does nothing else:")
	for _, l := range []string{"{", `  "format": "foreshaft-settings/1",`, `  "keys": {"bench.undo": ["u", "ctrl+z"], "bench.units": ["U"]}`, "}"} {
		p.parts = append(p.parts, paragraph{text: "  " + l, row: true})
	}
	return p
}
