package ui

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"foreshaft/engine/part"
	"foreshaft/store"
	"foreshaft/ui/bench"
	"foreshaft/ui/session"
	"foreshaft/ui/theme"
)

func TestPartsChangedElsewhereAppear(t *testing.T) {
	s := newSitting(t)
	before := s.bytes()
	parts := store.SampleParts()
	held, _ := session.Held(&s.app.bench.Job().Builds[0], part.KindInsert)
	at := slices.IndexFunc(parts, func(p part.Part) bool { return p.Kind == part.KindInsert && p.Weighed().Bare() == held.Bare() })
	if at < 0 {
		t.Fatal("the build has no insert of the drawer")
	}
	parts[at].Insert.Value.Name = "filed insert"
	s.keeper.mu.Lock()
	s.keeper.parts = parts
	s.keeper.mu.Unlock()
	s.take(Elsewhere{By: "counter 2", Drawer: true})
	s.shows("Parts were changed at counter 2. On the bench A has it and follows.")
	s.settled()
	if bytes.Equal(before, s.bytes()) || s.app.bench.Job().Builds[0].Insert.Value.Name != "filed insert" {
		t.Error("the build does not follow")
	}
	if !bytes.Equal(s.bytes(), s.keeper.last()) {
		t.Error("what followed is not kept")
	}
	// Nothing that concerns the bench is not worth a word.
	s.letters("?")
	s.take(Elsewhere{By: "counter 2", Drawer: true})
	s.settled()
	if !strings.Contains(s.app.View(), "Builds stand side by side") {
		t.Errorf("what was read is away:\n%s", s.app.View())
	}
}

func TestASavedBuildElsewhereIsToldWhereItIsOnTheBench(t *testing.T) {
	s := newSitting(t)
	name := s.app.bench.Job().Builds[1].Name
	was := s.bytes()
	s.take(Elsewhere{By: "counter 2", Entries: []NewRevision{{bench.SavedBuild, "another build", 3}}})
	if strings.Contains(s.app.View(), "counter 2") {
		t.Error("it tells of a build that is not here")
	}
	s.take(Elsewhere{By: "counter 2", Entries: []NewRevision{{bench.SavedBuild, name, 3}}})
	s.shows(`was saved at counter 2 just now, as revision 3. What you see is yours`)
	if !bytes.Equal(was, s.bytes()) {
		t.Error("the bench changed")
	}
}

// Both of two who save one bench are told: the first at once, the second when saving.
func TestWhoSavesSecondIsToldOfTheOther(t *testing.T) {
	s := newSitting(t)
	s.letters("sShared")
	s.key(tea.KeyEnter)
	s.until("the question for whom is there", func() bool {
		return strings.Contains(s.app.View(), "For which customer") || strings.Contains(s.app.View(), "Saved as")
	})
	if !strings.Contains(s.app.View(), "Saved as") {
		s.key(tea.KeyEnter)
	}
	s.shows("Saved as")
	s.keeper.mu.Lock()
	s.keeper.saves = append(s.keeper.saves, "Shared 0 0 by another terminal")
	s.keeper.mu.Unlock()
	s.take(Elsewhere{By: "counter 2", Entries: []NewRevision{{bench.SavedBench, "Shared", 2}}})
	s.shows("was saved at counter 2 just now")
	s.letters("+s")
	s.key(tea.KeyEnter)
	s.shows(`Meanwhile another terminal saved it too: 1 revision since you opened or saved it`)
	s.letters("+s")
	s.key(tea.KeyEnter)
	s.shows(`Saved as "Shared", revision 4; the earlier ones are kept.`)
}

func TestLeavingKeepsEverythingAndSaysWhy(t *testing.T) {
	s := newSitting(t)
	s.letters("+")
	s.take(Leave{"The shop closes."})
	s.until("the program has ended", func() bool { return s.ended })
	if !bytes.Equal(s.bytes(), s.keeper.last()) {
		t.Error("the last change is not kept")
	}
	if !strings.Contains(s.app.View(), "The shop closes.") {
		t.Error("it does not say why")
	}
}

func TestLeavingAgainEndsWithoutTheDisk(t *testing.T) {
	s := newSitting(t)
	s.keeper.fail(errDisk)
	s.letters("+")
	s.shows("NOT SAVED")
	s.take(Leave{})
	s.shows("without saving")
	s.take(Leave{})
	s.until("the program has ended", func() bool { return s.ended })
	if !s.app.Unsaved() {
		t.Error("it takes the change for kept")
	}
}

// A terminal's answer that comes after the program began sets its colours, and is no key.
func TestTheAnswerAboutTheBackgroundMayComeLate(t *testing.T) {
	begin := func(ground theme.Name) *App {
		a := New(Options{Keeper: &fakeKeeper{}, Bench: benchOptions(store.SampleBench(), ground, termenv.ANSI256)})
		a.Update(tea.WindowSizeMsg{Width: 120, Height: 36})
		return a
	}
	answer := func(a *App, colour string) {
		for _, k := range []tea.KeyMsg{
			{Type: tea.KeyRunes, Runes: []rune("]"), Alt: true}, {Type: tea.KeyRunes, Runes: []rune("11;rgb:" + colour)},
			{Type: tea.KeyRunes, Runes: []rune(`\`), Alt: true},
		} {
			a.Update(k)
		}
	}
	a := begin(theme.Dark)
	answer(a, "ffff/ffff/ffff")
	if a.View() != begin(theme.Light).View() {
		t.Error("a white background has not the colours for a light one, or the answer was taken for keys")
	}
	answer(a, "0000/0000/0000")
	if a.View() != begin(theme.Dark).View() {
		t.Error("a black background has not the colours for a dark one")
	}
	a = begin(theme.Mono)
	answer(a, "ffff/ffff/ffff")
	if a.View() != begin(theme.Mono).View() {
		t.Error("who wants no colours gets some")
	}
}

// While a change of the drawer is on its way, what is read meanwhile does not have it, and must
// not take its place.
func TestADrawerReadDuringAChangeDoesNotUndoIt(t *testing.T) {
	s := newSitting(t)
	s.keeper.mu.Lock()
	s.keeper.parts = store.SampleParts() // as they were
	s.keeper.mu.Unlock()
	s.letters("X")
	s.key(tea.KeyDown)
	if s.app.keeping != 0 {
		t.Fatal("something is under way already")
	}
	s.key(tea.KeyEnter) // takes the samples out of the drawer
	s.take(drawerRead{by: "counter 2", parts: store.SampleParts()})
	s.letters("6")
	s.shows("(retired)")
}

// Where another terminal changed a part as well, what is kept is read, and it is told.
func TestAPartThatAnotherTerminalChangedTooIsReadAndTold(t *testing.T) {
	s := newSitting(t)
	asked := store.SampleParts()[:1]
	kept := slices.Clone(asked)
	kept[0].Retired = true
	all := store.SampleParts()
	all[0].Retired = true
	s.keeper.mu.Lock()
	s.keeper.parts = all
	s.keeper.mu.Unlock()
	s.app.keeping++
	s.take(keptParts{asked: asked, parts: kept, meanwhile: []string{"that part"}})
	s.shows("Another terminal had changed that part just before.")
	s.letters("6")
	s.shows("(retired)")
}

// Who comes back is told what others saved meanwhile of what is on the bench.
func TestWhoComesBackIsToldWhatOthersSaved(t *testing.T) {
	s := newSitting(t)
	s.letters("sShared")
	s.key(tea.KeyEnter)
	s.shows("Saved as")
	s.key(tea.KeyCtrlC)
	s.until("it ends", func() bool { return s.ended })
	view, was := s.keeper.lastView(), s.app.bench.Job()
	back := func(revisions int) *sitting {
		return sit(t, &fakeKeeper{entries: []bench.Entry{{ID: 1, Name: "Shared", What: bench.SavedBench, Revisions: revisions}}}, Options{Bench: bench.Options{Job: was}, View: view})
	}
	back(2).shows(`While you were away another terminal saved "Shared" (revision 2).`)
	again := back(1)
	again.until("the list was read", func() bool {
		_, begun := again.keeper.counts()
		return begun >= 0 && again.app.bench.View().Name == "Shared"
	})
	if strings.Contains(again.app.View(), "While you were away") {
		t.Error("it tells of what nobody did")
	}
}

// What was not saved must stay in sight.
func TestASavedBuildElsewhereDoesNotCoverWhatWasNotSaved(t *testing.T) {
	s := newSitting(t)
	s.keeper.fail(errDisk)
	s.letters("+")
	s.shows("NOT SAVED")
	s.take(Elsewhere{By: "counter 2", Entries: []NewRevision{{bench.SavedBuild, s.app.bench.Job().Builds[1].Name, 3}}})
	s.shows("NOT SAVED")
	s.shows("was saved at counter 2 just now")
}

// Work beside the screen ends with the program, also where others in the process go on.
func TestWorkEndsWithTheProgram(t *testing.T) {
	s := newSitting(t)
	told := make(chan struct{})
	work := s.app.answer(bench.Work{Do: func(tell func(any)) {
		tell("one")
		tell("two") // which nobody hears
		close(told)
	}})
	s.app.End()
	for _, cmd := range work().(tea.BatchMsg)[:1] { // without whoever listens
		cmd()
	}
	select {
	case <-told:
	case <-time.After(5 * time.Second):
		t.Fatal("it waits for ever")
	}
}
