package bench

import (
	"fmt"
	"slices"
	"strings"

	"foreshaft/engine/part"
	"foreshaft/ui/keys"
)

// savedName is something saved, by what it is called.
type savedName struct {
	what Saved
	name string
}

// others returns how many revisions of something saved are from other terminals since it
// was opened or saved here last, and remembers how many there are now.
func (m *Model) others(asked Save, revisions int, added bool) int {
	at := savedName{asked.What, asked.Name}
	before, known := m.seen[at]
	m.seen[at] = revisions
	if added {
		revisions--
	}
	if !known {
		return 0
	}
	return max(revisions-before, 0)
}

// SavedAs says what became of saving something, with how many revisions of it there are now
// and whether this is a new one.
func (m *Model) SavedAs(asked Save, revisions int, added bool) {
	_, known := m.seen[savedName{asked.What, asked.Name}]
	others := m.others(asked, revisions, added)
	switch {
	case others > 0 && added:
		m.Alert("Saved as %q, revision %d. Meanwhile another terminal saved it too: %s since you opened or saved it. All are kept; %s on Saved shows how they differ.",
			asked.Name, revisions, counted(others, "revision"), m.keys.Saved.Press(keys.Revisions))
	case asked.Quiet:
	case !added:
		m.Say("%q was saved like this already.", asked.Name)
	case revisions == 1:
		m.Say("Saved as %q%s.", asked.Name, asked.For())
	case !known:
		m.Say("Saved as %q, where there was one of that name: this is its revision %d, and the earlier ones are kept.", asked.Name, revisions)
	default:
		m.Say("Saved as %q, revision %d; the earlier ones are kept.", asked.Name, revisions)
	}
}

// also alerts to something beside what there is an alert about already.
func (m *Model) also(words string) {
	if m.alerting() {
		words = m.message + " " + words
	}
	m.Alert("%s", words)
}

// Seen is what is on the bench and saved under a name, with how many revisions of it there were
// when it was opened or saved here last.
type Seen struct {
	What      Saved
	Name      string
	Revisions int
}

// seenHere lists that for what is on the bench.
func (m *Model) seenHere() []Seen {
	var out []Seen
	add := func(what Saved, name string) {
		if n := m.seen[savedName{what, name}]; n > 0 {
			out = append(out, Seen{what, name, n})
		}
	}
	add(SavedBench, m.session.Name())
	for _, b := range m.Job().Builds {
		add(SavedBuild, b.Name)
	}
	return out
}

// missed says, when the list of what is saved is read for the first time, what other terminals
// saved since this bench was left.
func (m *Model) missed() {
	if !m.returned {
		return
	}
	m.returned = false
	var words []string
	for _, e := range m.entries {
		if n := m.seen[savedName{e.What, e.Name}]; n > 0 && e.Revisions > n {
			words = append(words, fmt.Sprintf("%q (revision %d)", e.Name, e.Revisions))
		}
	}
	if len(words) > 0 {
		m.also(fmt.Sprintf("While you were away another terminal saved %s. What you see is as you left it; if you save it too, both are kept.", strings.Join(words, ", ")))
	}
}

// SavedElsewhere says that another terminal saved something that is on this bench.
func (m *Model) SavedElsewhere(by string, what Saved, name string, revisions int) {
	here := what == SavedBench && m.session.Name() == name
	if what == SavedBuild {
		for _, b := range m.Job().Builds {
			here = here || b.Name == name
		}
	}
	if here {
		m.also(fmt.Sprintf("%q was saved at %s just now, as revision %d. What you see is yours and was not changed; if you save it too, both are kept.", name, by, revisions))
	}
}

// DrawerElsewhere takes the drawer as another terminal changed it. A form of a part that is
// open shows the part as it is now.
func (m *Model) DrawerElsewhere(by string, drawer []part.Part) {
	before, message := m.Job(), m.message
	if d := m.described; d != nil && d.stored && d.part == d.was {
		if at := slices.IndexFunc(drawer, func(p part.Part) bool { return p.ID == d.part.ID }); at >= 0 && drawer[at] != d.part {
			d.part, d.was = drawer[at], drawer[at]
			message = fmt.Sprintf("This part was changed at %s just now, and is shown as it is there.", by)
		}
	}
	m.message = ""
	m.TakeDrawer(drawer)
	if m.Job() != before && !m.alerting() {
		m.message = fmt.Sprintf("Parts were changed at %s.", by) + m.message
	} else if m.message == "" {
		m.message = message
	}
}
