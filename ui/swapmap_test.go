package ui

import (
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
)

// Cautions are looked for beside the screen: meanwhile it takes keys, and what is
// found comes by itself.
func TestTheSwapMapFindsCautionsWhileKeysGoOn(t *testing.T) {
	s := newSitting(t)
	s.letters("2")
	looking := func() bool { return strings.Contains(s.app.View(), "looking for cautions") }
	if !looking() {
		t.Fatalf("nothing is looked for:\n%s", s.app.View())
	}
	for range 8 { // each build that is put in begins it anew
		s.key(tea.KeyDown)
		s.letters("dd")
		s.key(tea.KeyEnter)
		s.shows("Changed Open ground: insert")
		s.letters("z")
	}
	s.until("all cautions are found", func() bool { return !looking() })
	s.shows("369.0!")
	// Left and opened again it looks anew, and what the first one finds is nobody's.
	s.key(tea.KeyEsc)
	s.letters("23")
	s.shows("Downrange")
	s.letters("21")
	s.letters("2")
	s.until("all cautions are found", func() bool { return !looking() })
	s.settled()
}
