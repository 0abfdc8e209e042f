package ui

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/job"
	"foreshaft/store"
	"foreshaft/ui/bench"
)

func TestEveryChangeIsSavedAsItIs(t *testing.T) {
	s := newSitting(t)
	for i, change := range []string{"+", "l-", "d", "a", "x", "n", "h<", "rOther\r", "z", "Z", "bk+\x1b", "3+\x1b", "3a33\r\x1b", "3x\x1b", "X\r"} {
		for _, r := range change {
			switch r {
			case '\r':
				s.key(tea.KeyEnter)
			case '\x1b':
				s.key(tea.KeyEsc)
			default:
				s.letters(string(r))
			}
		}
		s.settled()
		if saved, _ := s.keeper.counts(); saved == 0 {
			t.Fatalf("change %d %q saved nothing", i, change)
		}
	}
}

// A backup that failed by itself must not go unseen until somebody quits.
func TestWhatGoesWrongBesideTheWorkIsToldWithTheNextChange(t *testing.T) {
	s := newSitting(t)
	s.keeper.mu.Lock()
	s.keeper.trouble = "The daily backup could not be written."
	s.keeper.mu.Unlock()
	s.letters("+")
	s.shows("The daily backup could not be written.")
	s.letters("+")
	s.settled()
	if strings.Contains(s.app.View(), "The daily backup") {
		t.Error("it is told again and again")
	}
}

// The copy has what is on the screen, also what was changed just before, and what the disk did
// not take.
func TestABackupHasTheBenchAsItIsSeen(t *testing.T) {
	s := newSitting(t)
	s.keeper.fail(errDisk)
	s.letters("++Bstick.db")
	s.key(tea.KeyEnter)
	s.shows("The workbook is copied and checked: /here/stick.db")
	s.keeper.mu.Lock()
	defer s.keeper.mu.Unlock()
	if len(s.keeper.backups) != 1 || s.keeper.backups[0] != "stick.db: "+string(s.bytes()) {
		t.Errorf("the copy is %q", s.keeper.backups)
	}
}

// Where nothing is changed a backup that failed is told all the same.
func TestWhatGoesWrongBesideTheWorkIsToldWithoutAChange(t *testing.T) {
	s := newSitting(t)
	s.keeper.mu.Lock()
	s.keeper.trouble = "The daily backup could not be written."
	s.keeper.mu.Unlock()
	s.take(lookNow{})
	s.shows("The daily backup could not be written.")
}

// The disk has room again: nobody has to press a key for that.
func TestASaveThatFailedIsTriedAgainByItself(t *testing.T) {
	s := newSitting(t)
	s.keeper.fail(errDisk)
	s.letters("+")
	s.shows("NOT SAVED")
	s.take(tryAgain{})
	s.until("that try is over", func() bool { return !s.app.saving })
	s.shows("NOT SAVED")
	s.keeper.fail(nil)
	s.take(tryAgain{})
	s.shows("Everything is saved now.")
	if !bytes.Equal(s.bytes(), s.keeper.last()) || s.app.Failure() != nil {
		t.Error("it is not")
	}
}

// What is asked must be there to read also while something else is wrong.
func TestAQuestionIsShownBesideAnAlert(t *testing.T) {
	s := newSitting(t)
	s.keeper.fail(errDisk)
	s.letters("+")
	s.shows("NOT SAVED")
	s.letters("B")
	s.shows("Back up the workbook to which new file?")
	s.take(tryAgain{})
	s.shows("NOT SAVED")
	s.shows("Back up the workbook to which new file?")
}

func TestMovingAboutSavesNothing(t *testing.T) {
	s := newSitting(t)
	s.letters("jjkl?")
	s.key(tea.KeyEsc)
	s.letters("e")
	s.key(tea.KeyEsc)
	if saved, begun := s.keeper.counts(); saved != 0 || begun != 0 || s.app.saving {
		t.Errorf("%d saves begun and %d done without a change", begun, saved)
	}
}

func TestChangesDuringASaveAreSavedAfterwards(t *testing.T) {
	s := newSitting(t)
	s.keeper.gate = make(chan struct{}, 10)
	s.letters("+")
	first := s.bytes()
	s.until("a save has begun", func() bool { _, begun := s.keeper.counts(); return begun == 1 })
	s.letters("+++d")
	if _, begun := s.keeper.counts(); begun != 1 {
		t.Errorf("%d saves under way at once", begun)
	}
	s.keeper.gate <- struct{}{}
	s.keeper.gate <- struct{}{}
	s.settled()
	s.keeper.mu.Lock()
	defer s.keeper.mu.Unlock()
	if len(s.keeper.benches) != 2 || !bytes.Equal(s.keeper.benches[0], first) {
		t.Errorf("%d saves; want the bench as it was at the first change, and then as it is", len(s.keeper.benches))
	}
}

func TestAChangeTakenBackDuringItsSaveIsSavedAsItIs(t *testing.T) {
	s := newSitting(t)
	s.letters("d")
	s.settled()
	s.keeper.gate = make(chan struct{}, 10)
	s.letters("+")
	s.until("a save has begun", func() bool { _, begun := s.keeper.counts(); return begun == 2 })
	s.letters("z")
	for range 4 {
		s.keeper.gate <- struct{}{}
	}
	s.settled()
}

func TestRandomKeysEndUpSaved(t *testing.T) {
	for seed := range uint64(3) {
		s := newSitting(t)
		s.keeper.gate = make(chan struct{}, 1000)
		r := rand.New(rand.NewPCG(seed, 2))
		keys := []string{"j", "k", "h", "l", "+", "-", "a", "d", "x", "n", "<", ">", "z", "Z"}
		for range 150 {
			s.letters(keys[r.IntN(len(keys))])
			switch r.IntN(3) {
			case 0:
				s.keeper.gate <- struct{}{}
			case 1:
				select { // let what has finished meanwhile come in
				case msg := <-s.inbox:
					s.take(msg)
				default:
				}
			}
		}
		close(s.keeper.gate)
		if _, begun := s.keeper.counts(); begun > 0 {
			s.settled()
		}
	}
}

func TestASaveThatFailsSaysSoAndIsTriedAgain(t *testing.T) {
	s := newSitting(t)
	s.keeper.fail(errDisk)
	s.letters("+")
	s.shows("NOT SAVED")
	s.shows("the disk is full")
	changed := s.bytes()
	s.keeper.fail(nil)
	s.letters("+")
	s.settled()
	if bytes.Equal(changed, s.bytes()) {
		t.Error("the second change is not on the bench")
	}
	s.letters("z")
	s.settled()
	if !bytes.Equal(changed, s.keeper.last()) {
		t.Error("the change whose save failed is lost")
	}
}

func TestQuittingWaitsForTheLastSave(t *testing.T) {
	for _, how := range []func(s *sitting){func(s *sitting) { s.letters("q") }, func(s *sitting) { s.key(tea.KeyCtrlC) }} {
		s := newSitting(t)
		s.keeper.gate = make(chan struct{}, 10)
		s.letters("j+")
		s.letters("jl") // the focus moves after the save has begun
		how(s)
		s.letters("xxx+d") // what is pressed behind a quit does nothing
		want := s.bytes()
		s.until("a save has begun", func() bool { _, begun := s.keeper.counts(); return begun == 1 })
		if s.ended {
			t.Fatal("it ends while the save is under way")
		}
		s.keeper.gate <- struct{}{}
		s.until("the last save has begun", func() bool { _, begun := s.keeper.counts(); return begun == 2 })
		if s.ended {
			t.Fatal("it ends before the last save is done")
		}
		s.keeper.gate <- struct{}{}
		s.until("it ends", func() bool { return s.ended })
		if !bytes.Equal(s.keeper.last(), want) {
			t.Error("what was saved last is not what was on the screen")
		}

		again := sit(t, &fakeKeeper{}, Options{Bench: bench.Options{Job: s.app.bench.Job()}, View: s.keeper.views[len(s.keeper.views)-1]})
		was := s.app.bench.View()
		if now := again.app.bench.View(); !reflect.DeepEqual(now, was) {
			t.Errorf("the next sitting begins with %+v, the last one ended with %+v", now, was)
		}
	}
}

func TestQuittingOnACtrlCWorksInEveryMode(t *testing.T) {
	for _, open := range []string{"", "r", "s", "b", "ba", "X", "?", "e", "3", "3a", "3p", "3d"} {
		s := newSitting(t)
		s.letters(open)
		s.key(tea.KeyCtrlC)
		s.until("it ends after "+open, func() bool { return s.ended })
	}
}

func TestQuittingAfterAFailedSaveTakesASecondQ(t *testing.T) {
	s := newSitting(t)
	s.letters("+")
	s.settled()
	s.keeper.fail(errDisk)
	s.letters("q")
	s.shows("NOT SAVED")
	s.shows("without saving")
	if s.ended || s.app.quitting {
		t.Fatal("it ends although the last save failed")
	}
	s.letters("j") // it goes on working
	s.letters("q")
	s.until("it ends", func() bool { return s.ended })
}

func TestQuittingAfterTheDiskIsBackSavesFirst(t *testing.T) {
	s := newSitting(t)
	s.keeper.fail(errDisk)
	s.letters("q")
	s.shows("NOT SAVED")
	s.keeper.fail(nil)
	s.letters("+")
	s.settled()
	s.keeper.fail(errDisk)
	s.letters("q")
	s.shows("without saving")
	if s.ended {
		t.Error("a quit that failed long ago still counts")
	}
}

func TestADiskThatDoesNotAnswerDoesNotHoldTheProgram(t *testing.T) {
	s := newSitting(t)
	s.take(giveUp{s.app.quits})
	if s.ended {
		t.Fatal("it ends without being asked")
	}
	s.keeper.gate = make(chan struct{})
	t.Cleanup(func() { close(s.keeper.gate) })
	s.letters("q")
	_, cmd := s.app.Update(giveUp{s.app.quits})
	if cmd == nil || cmd() != tea.Quit() {
		t.Error("after waiting long it does not end")
	}
	if patience < time.Second || patience > 10*time.Second {
		t.Errorf("it waits %v for a disk", patience)
	}
}

func TestSavingByName(t *testing.T) {
	s := newSitting(t)
	save := func(name, says string) {
		t.Helper()
		s.letters("s" + name)
		s.key(tea.KeyEnter)
		s.shows(says)
	}
	save("Autumn", `Saved as "Autumn".`)
	s.shows("“Autumn”")
	save("Autumn", "saved like this already")
	s.letters("+")
	save("Autumn", "revision")
	s.letters("lSKeel")
	s.key(tea.KeyEnter)
	s.shows(`Saved as "Keel".`)
	s.shows("“Autumn”") // a build alone does not rename the bench
	s.keeper.mu.Lock()
	last := s.keeper.saves[len(s.keeper.saves)-1]
	s.keeper.mu.Unlock()
	if want := fmt.Sprintf("Keel 1 1 %s", s.bytes()); last != want {
		t.Errorf("the build was saved as %.60q, want %.60q", last, want)
	}
	s.keeper.fail(errDisk)
	save("Winter", "NOT SAVED as \"Winter\"")
	s.shows("“Autumn”")
}

func TestQuittingWaitsForASaveByName(t *testing.T) {
	for _, failing := range []bool{true, false} {
		s := newSitting(t)
		s.keeper.named = make(chan error, 1)
		s.letters("+sAutumn")
		s.key(tea.KeyEnter)
		s.letters("q")
		s.until("the change is kept", func() bool { saved, _ := s.keeper.counts(); return saved > 0 })
		if s.ended {
			t.Fatal("it ends before it is known whether the save by name worked")
		}
		if failing {
			s.keeper.named <- errDisk
			s.shows("NOT SAVED as \"Autumn\"")
			if s.app.quitting || s.ended {
				t.Error("it leaves without having saved")
			}
			s.letters("q")
		} else {
			s.keeper.named <- nil
		}
		s.until("it ends", func() bool { return s.ended })
		if !bytes.Equal(s.keeper.last(), s.bytes()) {
			t.Error("the bench was not kept")
		}
	}
}

func savedJob(t testing.TB, builds int) *job.Job {
	t.Helper()
	j := store.SampleBench()
	j.Builds = j.Builds[:builds]
	return j
}

func TestListAndLoad(t *testing.T) {
	s := newSitting(t)
	s.letters("o")
	s.shows("Nothing is saved yet")
	s.key(tea.KeyEsc)
	s.keeper.mu.Lock() // it may be asked for the list
	s.keeper.entries = []bench.Entry{{ID: 7, Name: "Autumn", Revisions: 2}, {ID: 8, Name: "Keel", What: bench.SavedBuild}}
	s.keeper.mu.Unlock()
	s.keeper.jobs[7] = savedJob(t, 2)
	s.letters("o")
	s.shows("Autumn")
	before := s.bytes()
	s.key(tea.KeyEnter)
	s.shows("Opened Autumn")
	if len(s.app.bench.Job().Builds) != 2 {
		t.Errorf("on the bench: %s", s.names())
	}
	s.settled()
	s.letters("z")
	s.settled()
	if !bytes.Equal(before, s.bytes()) {
		t.Error("undo does not bring back what was on the bench")
	}
	s.letters("o")
	s.shows("2 of 2")
	s.keeper.fail(errDisk)
	s.key(tea.KeyEnter)
	s.shows("could not be opened")
	if !bytes.Equal(before, s.bytes()) {
		t.Error("a bench that could not be opened changed the one that is open")
	}
	s.letters("o")
	s.shows("could not be read")
}

func TestPartsAreKept(t *testing.T) {
	s := newSitting(t)
	s.letters("Xj")
	s.key(tea.KeyEnter)
	s.until("the parts are kept", func() bool {
		s.keeper.mu.Lock()
		defer s.keeper.mu.Unlock()
		return len(s.keeper.parts) == len(store.SampleParts())
	})
	s.keeper.fail(errDisk)
	s.letters("Xj")
	s.key(tea.KeyEnter)
	s.shows("drawer was not saved")
}

// A list or a bench may arrive long after it was asked for, when something else
// is open.
func TestAnAnswerThatComesLateBreaksNothing(t *testing.T) {
	for _, open := range []string{"b", "bl", "blj", "ba", "r", "\r", "e", "?", "X", "s", "S"} {
		for _, late := range []tea.Msg{
			loaded{entry: bench.Entry{Name: "Empty"}, job: job.New()},
			loaded{entry: bench.Entry{Name: "One"}, job: savedJob(t, 1)},
			loaded{entry: bench.Entry{Name: "Two"}, job: savedJob(t, 2)},
			listed{entries: []bench.Entry{{ID: 1, Name: "Autumn"}}},
			savedBench{err: errDisk}, savedName{asked: bench.Save{Name: "x"}, err: errDisk}, keptParts{err: errDisk},
		} {
			t.Run(fmt.Sprintf("%q %T", open, late), func(t *testing.T) {
				defer func() {
					if problem := recover(); problem != nil {
						t.Errorf("the program panics: %v", problem)
					}
				}()
				s := newSitting(t)
				s.letters("ll")
				for _, r := range open {
					if r == '\r' {
						s.key(tea.KeyEnter)
					} else {
						s.letters(string(r))
					}
				}
				s.take(late)
				checkView(t, s, 120, 36)
				for _, k := range []tea.KeyType{tea.KeyEnter, tea.KeyDown, tea.KeyEnter, tea.KeyEsc, tea.KeyEsc} {
					s.key(k)
					checkView(t, s, 120, 36)
				}
			})
		}
	}
}

func TestALateListDoesNotCloseAFieldThatIsBeingTypedInto(t *testing.T) {
	s := newSitting(t)
	s.letters("rHalf a na")
	s.take(listed{entries: []bench.Entry{{ID: 1, Name: "Autumn"}}})
	s.letters("me")
	s.key(tea.KeyEnter)
	if got := s.app.bench.Job().Builds[0].Name; got != "Half a name" {
		t.Errorf("the build is called %q, want what was typed", got)
	}
}

// A second wish to leave waits for what is still under way.
func TestASecondQuitWaitsForANamedSaveUnderWay(t *testing.T) {
	s := newSitting(t)
	s.keeper.named = make(chan error, 2)
	s.letters("sAutumn")
	s.key(tea.KeyEnter)
	s.letters("sWinter")
	s.key(tea.KeyEnter)
	s.letters("q")
	s.keeper.named <- errDisk
	s.shows("NOT SAVED as \"Autumn\"")
	s.letters("q")
	if s.ended {
		t.Fatal("it ends while Winter is on its way")
	}
	s.keeper.named <- nil
	s.until("it ends", func() bool { return s.ended })
	s.keeper.mu.Lock()
	defer s.keeper.mu.Unlock()
	if n := len(s.keeper.saves); n == 0 || !strings.HasPrefix(s.keeper.saves[n-1], "Winter") {
		t.Errorf("saved by name: %d", n)
	}
}

// A failure that is over does not let a later one pass without a word.
func TestARefusalThatIsOverDoesNotCount(t *testing.T) {
	s := newSitting(t)
	s.keeper.fail(errDisk)
	s.letters("sAutumn")
	s.key(tea.KeyEnter)
	s.shows("NOT SAVED as")
	s.letters("q")
	s.shows("without saving")
	s.keeper.fail(nil)
	s.letters("sAutumn")
	s.key(tea.KeyEnter)
	s.shows("Saved as")
	s.letters("j") // any key tries the bench again
	s.settled()
	s.keeper.fail(errDisk)
	s.letters("+q")
	s.shows("without saving")
	if s.ended {
		t.Error("it ends with a change that was not saved and never said so")
	}
}

// The timer of a wish to leave that came to nothing ends no later one.
func TestAnOldTimerEndsNothing(t *testing.T) {
	s := newSitting(t)
	s.keeper.fail(errDisk)
	s.letters("q")
	s.shows("NOT SAVED")
	s.app.quitting = true // leaving again
	s.app.quits++
	s.take(giveUp{1})
	if s.ended {
		t.Error("the first timer ends the second wish")
	}
}

// A name goes to the bench it was asked for.
func TestALateNameDoesNotGoToAnotherBench(t *testing.T) {
	s := newSitting(t)
	s.keeper.mu.Lock() // it may be asked for the list
	s.keeper.entries = []bench.Entry{{ID: 7, Name: "Winter", Revisions: 1}}
	s.keeper.mu.Unlock()
	s.keeper.jobs[7] = savedJob(t, 2)
	s.keeper.named = make(chan error, 1)
	s.letters("sAutumn")
	s.key(tea.KeyEnter)
	s.letters("o")
	s.shows("1 of 1")
	s.key(tea.KeyEnter)
	s.shows("Opened Winter")
	s.keeper.named <- nil
	s.shows("Saved as \"Autumn\"")
	s.shows("“Winter”")
}
