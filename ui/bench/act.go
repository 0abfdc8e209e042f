package bench

import (
	"strings"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/ui/frame"
	"foreshaft/ui/keys"
)

// HandleKey takes one key.
func (m *Model) HandleKey(k tea.KeyMsg) Request {
	if m.width > 0 && frame.TooSmall(m.width, m.height) {
		// Nobody sees what a key would do.
		if m.keys.Bench.Action(k) == keys.Quit {
			return Quit{}
		}
		return nil
	}
	var r Request
	if d := m.dialog; d != nil {
		done, asked := d.key(m, k)
		if r = asked; done {
			m.close(d)
		}
		if s, front := m.dialog.(*dozenScreen); front && r == nil && dialog(s) != d { // what was in front may have changed its batch
			r = s.refresh(m)
		}
	} else {
		m.message = ""
		switch a := m.keys.Bench.Action(k); {
		case a != "":
			r = m.act(a)
		case k.Type != tea.KeyEsc:
			m.unknown(k, m.keys.Bench)
		case m.tour.step > 0:
			m.tour.step = 0
			m.Say("The tour is over; %s starts it again.", m.keys.Bench.Press(keys.Tour))
		}
	}
	m.guide()
	return r
}

// open puts a dialog in front of what is there.
func (m *Model) open(d dialog) {
	if m.dialog != nil {
		m.under = append(m.under, m.dialog)
	}
	m.dialog = d
}

// EndWork ends what dialogs have done beside the screen.
func (m *Model) EndWork() {
	for _, d := range append(m.under, m.dialog) {
		if l, ok := d.(listener); ok {
			l.closed()
		}
	}
}

// close takes a dialog away, from the front or from behind one that it opened.
func (m *Model) close(d dialog) {
	if l, ok := d.(listener); ok {
		l.closed()
	}
	if m.dialog != d {
		for i := range m.under {
			if m.under[i] == d {
				m.under = append(m.under[:i:i], m.under[i+1:]...)
				return
			}
		}
		return
	}
	m.dialog = nil
	if n := len(m.under); n > 0 {
		m.dialog, m.under = m.under[n-1], m.under[:n-1]
	}
}

// asks returns what a key asks for on a screen of these keys, and says so where that is
// nothing.
func (m *Model) asks(k tea.KeyMsg, s *keys.Scope) keys.Action {
	m.message = ""
	a := s.Action(k)
	if a == "" {
		m.unknown(k, s)
	}
	return a
}

// unknown says that a key does nothing here and what would help: on a keyboard
// with other letters the one meant may not be there.
func (m *Model) unknown(k tea.KeyMsg, s *keys.Scope) {
	name := k.String()
	if k.Type == tea.KeyRunes && !k.Alt {
		name = string(k.Runes)
	}
	if r, size := utf8.DecodeRuneInString(name); size == len(name) && keepSpaces(name) != string(r) {
		return // nothing that could be shown
	}
	m.Say("%s is no key here: %s finds any action by name, %s lists the keys.", strings.TrimSpace(name), s.Press(keys.Command), s.Press(keys.Help))
}

// act does what a key or the list of actions asks for on the bench.
func (m *Model) act(a keys.Action) Request {
	switch a {
	case "":
	case keys.Quit:
		return Quit{}
	case keys.Redraw:
		return Redraw{}
	case keys.Help:
		m.open(m.help())
	case keys.Command:
		m.open(newPalette(m, m.keys.Bench, nil, func(m *Model, a keys.Action) (bool, Request) { return false, m.act(a) }))
	case keys.Tour:
		m.startTour()
	case keys.Backup:
		m.open(m.backUp(""))
	case keys.Settings:
		m.open(m.settingsPage())
	case keys.Bow:
		m.open(newBowForm(m))
	case keys.Air:
		m.open(newAirForm(m))
	case keys.Sight:
		m.open(newSightForm(m))
	case keys.Limits:
		m.open(newLimitsForm(m))
	case keys.Units:
		m.open(newUnitsForm(m))
	case keys.Downrange:
		m.open(newRangeScreen(m))
	case keys.Find:
		return m.findIt()
	case keys.Dozen:
		return m.dozenIt()
	case keys.Fit:
		m.fit()
	case keys.Drawer:
		m.open(newDrawerScreen(m))
	case keys.SwapMap:
		return m.openMap()
	case keys.Open:
		m.open(newSavedScreen(m, listAll))
		return List{}
	case keys.Undo:
		m.travel("Undone", "Nothing to undo.", m.session.Undo)
	case keys.Redo:
		m.travel("Done again", "Nothing to do again.", m.session.Redo)
	case keys.Add:
		m.add()
	case keys.Samples:
		m.open(m.samplesChoice())
	case keys.Theme:
		return m.nextTheme()
	case keys.Mouse:
		return m.switchMouse()
	default:
		if m.build() == nil {
			m.Say("There is no build on the bench: press %s to add one, or %s to open a saved one.", m.keys.Bench.Press(keys.Add), m.keys.Bench.Press(keys.Open))
			return nil
		}
		return m.actOnBuild(a)
	}
	return nil
}

// actOnBuild does what needs a build.
func (m *Model) actOnBuild(a keys.Action) Request {
	builds := len(m.Job().Builds)
	switch a {
	case keys.Up:
		m.moveRow(-1)
	case keys.Down:
		m.moveRow(1)
	case keys.First:
		m.row = 0
	case keys.Last:
		m.row = len(allRows) - 1
	case keys.Left:
		m.focus(max(m.col-1, 0))
	case keys.Right:
		m.focus(min(m.col+1, builds-1))
	case keys.More:
		m.step(true)
	case keys.Less:
		m.step(false)
	case keys.Edit:
		m.edit()
	case keys.Piece:
		m.editPiece()
	case keys.Explain:
		m.open(m.explain())
	case keys.Depth:
		m.deepen()
	case keys.Nearer:
		m.choose(false)
	case keys.Farther:
		m.choose(true)
	case keys.Copy:
		return m.copyFocus()
	case keys.CopyTable:
		return m.copyTable()
	case keys.Duplicate:
		m.duplicate()
	case keys.Remove:
		m.remove()
	case keys.Rename:
		m.open(m.renamePrompt())
	case keys.MoveLeft:
		m.move(-1)
	case keys.MoveRight:
		m.move(1)
	case keys.Baseline:
		m.baseline()
	case keys.Proven:
		m.prove()
	case keys.Print:
		m.open(newTicketForm(m))
	case keys.Fix:
		return m.fix()
	case keys.SameMarks:
		return m.sameMarks()
	case keys.Closest:
		return m.closest()
	case keys.Save:
		m.open(m.savePrompt(SavedBench, m.session.Name()))
		return List{} // who the customers are
	case keys.SaveBuild:
		m.open(m.savePrompt(SavedBuild, m.build().Name))
		return List{}
	}
	return nil
}
