package ui

import (
	"bytes"
	"fmt"
	"reflect"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/bench"
	"foreshaft/ui/theme"
)

// chosen returns what was kept of the choices.
func (k *fakeKeeper) chosen() []bench.Choices {
	k.mu.Lock()
	defer k.mu.Unlock()
	return append([]bench.Choices(nil), k.choices...)
}

func TestEveryChoiceIsKeptInItsOrder(t *testing.T) {
	s := newSitting(t)
	s.letters("ttM")
	s.letters("u+")
	s.key(tea.KeyEsc)
	want := []bench.Choices{
		{Theme: theme.Light}, {Theme: theme.Dark}, {Theme: theme.Dark, Mouse: true},
		{Theme: theme.Dark, Mouse: true, Units: unit.System{Grams: true}},
	}
	s.until("all choices are kept", func() bool { return len(s.keeper.chosen()) == len(want) })
	if got := s.keeper.chosen(); !reflect.DeepEqual(got, want) {
		t.Errorf("kept are\n%+v\nwant\n%+v", got, want)
	}
	if saved, begun := s.keeper.counts(); saved != 0 || begun != 0 {
		t.Errorf("choices save the bench %d times", saved)
	}
	s.until("nothing is left to do", func() bool { return !s.app.Unsaved() })
}

func TestAChoiceThatIsNotKeptHoldsAndSaysSo(t *testing.T) {
	s := newSitting(t)
	s.keeper.fail(errDisk)
	s.letters("u+")
	s.shows("This holds for now, but was not kept for the next time. the disk is full")
	s.key(tea.KeyEsc)
	s.shows("g · in · ft/s")
	if got := s.keeper.chosen(); len(got) != 0 {
		t.Errorf("kept are %+v", got)
	}
	// The next one is kept, with the one before in it, and nothing waits for ever.
	s.keeper.fail(nil)
	s.letters("M")
	s.until("the next choice is kept", func() bool { return len(s.keeper.chosen()) == 1 })
	if got := s.keeper.chosen()[0]; !reflect.DeepEqual(got, bench.Choices{Mouse: true, Units: unit.System{Grams: true}}) {
		t.Errorf("kept is %+v", got)
	}
	s.letters("q")
	s.until("it ends", func() bool { return s.ended })
}

func TestACopyGoesToTheTerminalAndIsSaid(t *testing.T) {
	s := newSitting(t)
	s.letters("y")
	s.shows("Copied the insert of A Open ground: 16 gr aluminium 5 mm.")
	s.letters("Y")
	s.shows("Copied the whole comparison as text:")
	s.keeper.mu.Lock()
	copies := append([]string(nil), s.keeper.copies...)
	s.keeper.mu.Unlock()
	if len(copies) != 2 || copies[0] != "16 gr aluminium 5 mm" || !strings.Contains(copies[1], "A = Open ground") {
		t.Errorf("copied are %q", copies)
	}
	s.keeper.fail(errDisk)
	s.letters("y")
	s.shows("Not copied. the disk is full")
	if saved, begun := s.keeper.counts(); saved+begun != 0 {
		t.Error("a copy saves the bench")
	}
}

// enterText types a text into the line of a form in focus.
func enterText(s *sitting, text string) {
	s.key(tea.KeyEnter)
	s.letters(text)
	s.key(tea.KeyEnter)
}

func TestANewPartGetsItsIDAndIsKept(t *testing.T) {
	s := newSitting(t)
	before := s.bytes()
	s.letters("jj") // the head
	s.key(tea.KeyEnter)
	s.key(tea.KeyCtrlA)
	enterText(s, "Mine")
	s.key(tea.KeyDown)
	enterText(s, "110")
	s.shows("It is in the drawer now.")
	s.until("it is kept", func() bool {
		s.keeper.mu.Lock()
		defer s.keeper.mu.Unlock()
		return len(s.keeper.parts) == 1
	})
	s.keeper.mu.Lock()
	p := s.keeper.parts[0]
	s.keeper.mu.Unlock()
	if p.ID != "part-901" || p.Kind != part.KindHead || p.Name() != "Mine" || p.StatedWeight() != 110*unit.Grain {
		t.Errorf("kept is %+v", p)
	}
	if !bytes.Equal(before, s.bytes()) {
		t.Error("a new part changes the bench")
	}
	s.key(tea.KeyEsc)
	s.shows("▸ Mine")
}

func TestANewPartThatCannotBeKeptSaysSo(t *testing.T) {
	s := newSitting(t)
	s.keeper.fail(errDisk)
	s.key(tea.KeyEnter)
	s.key(tea.KeyCtrlA)
	s.shows("A new part cannot be kept. the disk is full")
	enterText(s, "Mine")
	s.key(tea.KeyEsc)
	s.key(tea.KeyEsc)
	if s.keeper.mu.Lock(); len(s.keeper.parts) != 0 {
		t.Errorf("kept are %+v", s.keeper.parts)
	}
	s.keeper.mu.Unlock()
	s.keeper.fail(nil)
	s.letters("q")
	s.until("it ends", func() bool { return s.ended })
}

// A part that changed is kept, the builds that follow it are saved, and a drawer
// that cannot be written says so.
func TestAnEditedPartIsKeptWithTheBuildsThatFollow(t *testing.T) {
	s := newSitting(t)
	s.letters("jj")
	s.key(tea.KeyEnter)
	s.key(tea.KeyCtrlE)
	enterText(s, "Renamed")
	s.settled()
	s.until("it is kept", func() bool {
		s.keeper.mu.Lock()
		defer s.keeper.mu.Unlock()
		return len(s.keeper.parts) == 1 && s.keeper.parts[0].Name() == "Renamed"
	})
	if got := s.app.bench.Job().Builds[0].Head.Name; got != "Renamed" {
		t.Errorf("the build has %q", got)
	}
	s.keeper.fail(errDisk)
	enterText(s, "Again")
	s.shows("drawer was not saved. the disk is full")
}

// A bow that gives way to another is kept without a word; only when that fails it
// is said.
func TestABowThatGivesWayIsKeptQuietly(t *testing.T) {
	s := newSitting(t)
	s.letters("b")
	s.key(tea.KeyHome)
	enterText(s, "Mine")
	s.settled()
	s.letters("n")
	s.settled()
	s.until("the bow is kept", func() bool {
		s.keeper.mu.Lock()
		defer s.keeper.mu.Unlock()
		return len(s.keeper.saves) == 1
	})
	s.keeper.mu.Lock()
	save := s.keeper.saves[0]
	s.keeper.mu.Unlock()
	if !strings.HasPrefix(save, fmt.Sprintf("Mine %d ", bench.SavedBow)) || !strings.Contains(save, `"name":"Mine"`) {
		t.Errorf("saved is %.80q", save)
	}
	s.until("nothing is left to do", func() bool { return !s.app.Unsaved() })
	if view := s.app.View(); strings.Contains(view, "Saved as") || !strings.Contains(view, "“Mine” is kept") {
		t.Errorf("the screen says\n%s", view)
	}
	s.letters("z")
	s.settled()
	s.keeper.fail(errDisk)
	s.letters("n")
	s.shows("NOT SAVED as \"Mine\"")
}

// told runs a command and what it leads to, and returns the messages.
func told(cmd tea.Cmd) []tea.Msg {
	if cmd == nil {
		return nil
	}
	switch msg := cmd().(type) {
	case tea.BatchMsg:
		var out []tea.Msg
		for _, c := range msg {
			out = append(out, told(c)...)
		}
		return out
	case nil:
		return nil
	default:
		return []tea.Msg{msg}
	}
}

func has(list []tea.Msg, want tea.Msg) int {
	n := 0
	for _, msg := range list {
		if reflect.TypeOf(msg) == reflect.TypeOf(want) {
			n++
		}
	}
	return n
}

func TestTheTerminalReportsTheMouseOnlyWhileItIsOn(t *testing.T) {
	letter := func(a *App, r rune) []tea.Msg {
		_, cmd := a.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}})
		list := told(cmd)
		for _, msg := range list {
			a.Update(msg)
		}
		return list
	}
	for _, on := range []bool{false, true} {
		opt := benchOptions(store.SampleBench(), theme.Mono, termenv.Ascii)
		opt.Choices.Mouse = on
		a := New(Options{Keeper: &fakeKeeper{}, Bench: opt})
		if n := has(told(a.Init()), tea.EnableMouseCellMotion()); n != map[bool]int{false: 0, true: 1}[on] {
			t.Errorf("with the mouse %v the start turns it on %d times", on, n)
		}
		a.Update(tea.WindowSizeMsg{Width: 120, Height: 36})
		for range 4 {
			list := letter(a, 'M')
			on = !on
			if enabled, disabled := has(list, tea.EnableMouseCellMotion()), has(list, tea.DisableMouse()); enabled != map[bool]int{false: 0, true: 1}[on] || enabled+disabled != 1 {
				t.Errorf("turning the mouse to %v enables it %d times and disables it %d times", on, enabled, disabled)
			}
			// Other choices leave it alone.
			if list := letter(a, 't'); has(list, tea.EnableMouseCellMotion())+has(list, tea.DisableMouse()) != 0 {
				t.Errorf("choosing colours turns the mouse: %v", list)
			}
		}
	}
}

func TestWhatTheMouseChangesIsSaved(t *testing.T) {
	s := newSitting(t)
	before := s.bytes()
	wheel := tea.MouseMsg{X: 20, Y: 5, Action: tea.MouseActionPress, Button: tea.MouseButtonWheelUp}
	s.take(wheel)
	if bytes.Equal(before, s.bytes()) {
		t.Fatal("the wheel changes nothing")
	}
	s.settled()
	after := s.bytes()
	s.app.View() // the framework draws after every message; a click goes to what is drawn
	s.take(tea.MouseMsg{X: 60, Y: 8, Action: tea.MouseActionPress, Button: tea.MouseButtonLeft})
	if s.app.bench.View().Col == 0 || !bytes.Equal(after, s.bytes()) {
		t.Errorf("a click goes to column %d", s.app.bench.View().Col)
	}
	// Behind a wish to leave nothing is done any more.
	s.keeper.gate = make(chan struct{}, 10)
	s.letters("q")
	s.take(wheel)
	if !bytes.Equal(after, s.bytes()) {
		t.Error("the wheel behind q changes the bench")
	}
	s.keeper.gate <- struct{}{}
	s.until("it ends", func() bool { return s.ended })
}
