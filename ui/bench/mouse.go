package bench

import (
	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/ui/frame"
	"foreshaft/ui/keys"
)

// pointed is a dialog that the mouse can be used in. Lines count from the top of
// the dialog.
type pointed interface {
	// click goes to what is there, and reports whether that had the focus before.
	click(m *Model, x, y int) (again bool)
}

// HandleMouse takes a click or a turn of the wheel: a click moves the focus, a
// click on what has it chooses, the wheel changes the part in focus or scrolls.
func (m *Model) HandleMouse(e tea.MouseMsg) Request {
	if frame.TooSmall(m.width, m.height) || e.Action != tea.MouseActionPress {
		return nil
	}
	switch e.Button {
	case tea.MouseButtonLeft:
		return m.click(e.X, e.Y-1)
	case tea.MouseButtonWheelUp, tea.MouseButtonWheelDown:
		return m.wheel(e.Button == tea.MouseButtonWheelUp)
	}
	return nil
}

// wheel turns to the next heavier or lighter part where the focus is on one, and
// moves up or down elsewhere.
func (m *Model) wheel(up bool) Request {
	press := tea.KeyMsg{Type: tea.KeyDown}
	if up {
		press.Type = tea.KeyUp
	}
	if m.dialog != nil {
		if m.dialog.typing() {
			if _, list := m.dialog.(pointed); !list {
				return nil
			}
		}
		return m.HandleKey(press)
	}
	if m.build() != nil && allRows[m.row].isSlot {
		a := keys.Less
		if up {
			a = keys.More
		}
		m.message = ""
		r := m.act(a)
		m.guide()
		return r
	}
	return m.HandleKey(press)
}

// click moves the focus to what is at a place of the screen below the header.
func (m *Model) click(x, y int) Request {
	enter := tea.KeyMsg{Type: tea.KeyEnter}
	if m.dialog != nil {
		if d, ok := m.dialog.(pointed); ok && d.click(m, x, y) {
			return m.HandleKey(enter)
		}
		return nil
	}
	if m.build() == nil || y < 0 || y >= len(m.drawn) || m.drawn[y] == noRow {
		return nil
	}
	row, col := m.drawn[y], -1
	for _, c := range m.layout.Columns {
		if x >= c.X && x < c.X+c.W {
			col = c.Build
		}
	}
	again := row == m.row && col == m.col
	m.message = ""
	if row >= 0 {
		m.row = row
	}
	if col >= 0 {
		m.focus(col)
	}
	m.guide()
	if again {
		return m.HandleKey(enter)
	}
	return nil
}

// What a line of the bench is that shows no row.
const (
	noRow    = -1 - iota // nothing to go to
	namesRow             // names and drawings: a click goes to the column
)

// clickLine moves to the line at a place of a list whose lines begin at top.
func (l *cursor) clickLine(y, top, n int) (again bool) {
	at := l.offset + y - top
	if y < top || y >= top+l.window || at >= n {
		return false
	}
	again = l.at == at
	l.at = at
	return again
}

// listTop is how many lines stand above the lines of a list.
const listTop = 3

func (p *picker) click(_ *Model, _, y int) bool { return p.clickLine(y, listTop, len(p.found)) }

func (p *palette) click(_ *Model, _, y int) bool { return p.clickLine(y, listTop, len(p.found)) }

func (c *choice) click(_ *Model, _, y int) bool {
	at := y - 2
	if at < 0 || at >= len(c.options) {
		return false
	}
	again := c.at == at
	c.at = at
	return again
}

func (f *form[T]) click(m *Model, x, y int) bool {
	if f.input != nil {
		return false
	}
	v := f.load(m)
	was := f.at
	if x >= f.leftWidth(m.width) {
		// A heading and the heads of the columns stand above the rows.
		if i := f.rowsAt + y - 2; f.table != nil && y >= 2 && y < 2+f.window && i < f.rows(&v) {
			f.at = len(f.lines) + i
			return f.at == was
		}
		return false
	}
	for i, place := range f.places {
		if at := place - f.offset + 1; at == y && at >= 1 && at < f.height {
			f.at = i
			return f.at == was
		}
	}
	return false
}
