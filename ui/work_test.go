package ui

import (
	"bytes"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
)

// Work beside the screen comes to its dialog while keys go on being taken.
func TestWorkComesToTheDialogThatAskedForIt(t *testing.T) {
	s := newSitting(t)
	s.letters("f")
	s.shows("what would fix this: weak shaft")
	s.shows("shaft 5 mm .300")
	s.key(tea.KeyEnter)
	s.settled()
	if b := s.app.bench.Job().Builds[0]; b.Shaft.Name != "5 mm .300" {
		t.Errorf("the shaft is %s", b.Shaft.Name)
	}
	if !bytes.Equal(s.keeper.last(), s.bytes()) {
		t.Error("what was taken is not saved")
	}
}

// A question that is put while the answer to the one before is under way is the one
// that is answered.
func TestTheLastQuestionIsAnswered(t *testing.T) {
	s := newSitting(t)
	s.letters("4")
	s.key(tea.KeyEnter)
	s.letters("at least 600")
	s.key(tea.KeyEnter)
	s.letters("srs")
	s.shows("at least 600 gr")
	s.until("the search ends", func() bool {
		v := s.app.View()
		return strings.Contains(v, "arrows match") && !strings.Contains(v, "░") && !strings.Contains(v, "█")
	})
	s.settled()
}

// Leaving the dialog, and the program, does not wait for the work.
func TestLeavingDoesNotWaitForWork(t *testing.T) {
	s := newSitting(t)
	s.letters("4")
	s.key(tea.KeyEsc)
	s.letters("f")
	s.letters("q")
	s.letters("q")
	s.until("the program ends", func() bool { return s.ended })
}
