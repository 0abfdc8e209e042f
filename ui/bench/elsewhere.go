package bench

import (
	"fmt"
	"slices"

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
	others := m.others(asked, revisions, added)
	switch {
	case others > 0 && added:
		m.Alert("Saved as %q, revision %d. Meanwhile another terminal saved it too: %s since you opened it. All are kept; %s on Saved shows how they differ.",
			asked.Name, revisions, counted(others, "revision"), m.keys.Saved.Press(keys.Revisions))
	case asked.Quiet:
	case !added:
		m.Say("%q was saved like this already.", asked.Name)
	case revisions == 1:
		m.Say("Saved as %q%s.", asked.Name, asked.For())
	default:
		m.Say("Saved as %q, revision %d; the earlier ones are kept.", asked.Name, revisions)
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
		m.Alert("%q was saved at %s just now, as revision %d. What you see is yours and was not changed; if you save it too, both are kept.", name, by, revisions)
	}
}

// DrawerElsewhere takes the drawer as another terminal changed it. A form of a part that is
// open shows the part as it is now.
func (m *Model) DrawerElsewhere(by string, drawer []part.Part) {
	before, message := m.Job(), m.message
	if d := m.described; d != nil && d.stored && d.part == d.was {
		if at := slices.IndexFunc(drawer, func(p part.Part) bool { return p.ID == d.part.ID }); at >= 0 {
			d.part, d.was = drawer[at], drawer[at]
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
