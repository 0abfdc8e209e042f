package ui

import (
	"bytes"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/job"
	"foreshaft/store"
	"foreshaft/ui/bench"
)

const customer = "Wren Alder (invented)"

// diary notes what is done with the shelf, beside the screen, and what is done about it.
type diary struct {
	mu    sync.Mutex
	lines []string
}

func (d *diary) note(line string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.lines = append(d.lines, line)
}

func (d *diary) has(line string) bool { return slices.Contains(d.read(), line) }

func (d *diary) read() []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return slices.Clone(d.lines)
}

// asked is something to be done with the shelf that notes when it begins, ends and is
// answered. It takes from the gate in between, where there is one.
func (d *diary) asked(name string, gate <-chan struct{}, then func(m *bench.Model) bench.Request) bench.Ask {
	return bench.Ask{Do: func(bench.Shelf) func(m *bench.Model) bench.Request {
		d.note("begins " + name)
		if gate != nil {
			<-gate
		}
		d.note("ends " + name)
		return func(m *bench.Model) bench.Request {
			d.note("answers " + name)
			if then == nil {
				return nil
			}
			return then(m)
		}
	}}
}

func alone(a bench.Ask) bench.Ask {
	a.Alone = true
	return a
}

// ask asks for something as the bench does.
func (s *sitting) ask(r bench.Request) { s.start(s.app.answer(r)) }

// next takes messages until one of a type comes, and returns that one untaken.
func next[M tea.Msg](s *sitting) M {
	s.Helper()
	deadline := time.NewTimer(10 * time.Second)
	defer deadline.Stop()
	for {
		select {
		case msg := <-s.inbox:
			if found, ok := msg.(M); ok {
				return found
			}
			s.take(msg)
		case <-deadline.C:
			var none M
			s.Fatalf("waited in vain for a %T\n%s", none, s.app.View())
		}
	}
}

// run runs all that is in a command at once: none of it may have to wait.
func (s *sitting) run(cmd tea.Cmd) {
	if cmd == nil {
		return
	}
	out := cmd()
	if batch, ok := out.(tea.BatchMsg); ok {
		for _, c := range batch {
			s.run(c)
		}
		return
	}
	s.inbox <- out
}

func TestWhatIsAskedOfTheShelfIsDoneInItsOrder(t *testing.T) {
	s, d := newSitting(t), &diary{}
	s.keeper.named = make(chan error, 1)
	s.letters("sAutumn")
	s.key(tea.KeyEnter)
	gate := make(chan struct{})
	for _, r := range []bench.Request{
		d.asked("first", gate, func(*bench.Model) bench.Request { return bench.Write{Path: "first"} }), d.asked("second", nil, nil), bench.Write{Path: "between"}, d.asked("third", nil, nil),
	} {
		if cmd := s.app.answer(r); cmd != nil {
			t.Fatalf("%T begins while a save by name is under way", r)
		}
	}
	s.keeper.named <- nil
	s.until("the first begins", func() bool { return d.has("begins first") })
	if got := d.read(); len(got) != 1 {
		t.Errorf("begun are %q", got)
	}
	gate <- struct{}{}
	s.until("the third is answered", func() bool { return d.has("answers third") })
	want := []string{"begins first", "ends first", "answers first", "begins second", "ends second", "answers second", "begins third", "ends third", "answers third"}
	if got := d.read(); !slices.Equal(got, want) {
		t.Errorf("it was done as %q, want %q", got, want)
	}
	s.until("nothing is left to do", func() bool { return !s.app.Unsaved() })
	s.keeper.mu.Lock()
	defer s.keeper.mu.Unlock()
	if want := []string{"between: ", "first: "}; !slices.Equal(s.keeper.written, want) {
		t.Errorf("written are %q, want %q", s.keeper.written, want)
	}
}

// Other work with the shelf holds up neither the keys nor the bench.
func TestKeysWorkWhileTheShelfIsBusy(t *testing.T) {
	s, d := newSitting(t), &diary{}
	gate := make(chan struct{})
	s.ask(d.asked("slow", gate, nil))
	s.until("it begins", func() bool { return d.has("begins slow") })
	s.letters("njd")
	s.settled()
	if len(s.app.bench.Job().Builds) != 4 {
		t.Errorf("on the bench: %s", s.names())
	}
	if !s.app.Unsaved() {
		t.Error("nothing is left to do, it says")
	}
	gate <- struct{}{}
	s.until("it is answered", func() bool { return d.has("answers slow") })
}

// While something is done alone keys and mouse do nothing, whatever they are, and the
// bench is not saved.
func TestNothingChangesWhileSomethingIsDoneAlone(t *testing.T) {
	s, d := newSitting(t), &diary{}
	gate := make(chan struct{})
	view, before := s.app.View(), s.bytes()
	s.ask(alone(d.asked("alone", gate, nil)))
	s.letters("+dxXnso7rq?:z")
	for _, k := range []tea.KeyType{tea.KeyEnter, tea.KeyDown, tea.KeyEsc, tea.KeyTab, tea.KeyCtrlX} {
		s.key(k)
	}
	s.paste("pasted")
	for y := range 36 {
		for _, button := range []tea.MouseButton{tea.MouseButtonLeft, tea.MouseButtonWheelUp, tea.MouseButtonWheelDown} {
			s.take(tea.MouseMsg{X: 30, Y: y, Action: tea.MouseActionPress, Button: button})
		}
	}
	untouched(t, s, view, before, "keys while something is done alone")
	if saved, begun := s.keeper.counts(); saved+begun > 0 || s.app.saving {
		t.Errorf("%d saves begun", begun)
	}
	// The screen goes with the terminal all the same.
	s.take(tea.WindowSizeMsg{Width: 80, Height: 24})
	checkView(t, s, 80, 24)
	s.take(tea.WindowSizeMsg{Width: 120, Height: 36})
	gate <- struct{}{}
	s.until("it is answered", func() bool { return d.has("answers alone") })
	keysWork(t, s, "what was done alone")
	s.settled()
}

// The bench is kept as it is before something is done alone, no save begins before the
// answer, and the bench that comes with the answer is saved then.
func TestTheBenchIsKeptBeforeSomethingIsDoneAlone(t *testing.T) {
	s, d := newSitting(t), &diary{}
	s.keeper.gate = make(chan struct{}, 10)
	gate := make(chan struct{})
	s.letters("d")
	s.until("the save has begun", func() bool { _, begun := s.keeper.counts(); return begun == 1 })
	s.letters("n") // waits for that save
	before := s.bytes()
	s.run(s.app.answer(alone(d.asked("alone", gate, func(m *bench.Model) bench.Request { return m.HandleKey(runes("x")) }))))
	if d.has("begins alone") {
		t.Error("it begins while the bench is being saved")
	}
	s.keeper.gate <- struct{}{}
	s.keeper.gate <- struct{}{}
	s.until("it begins", func() bool { return d.has("begins alone") })
	saved, begun := s.keeper.counts()
	if !bytes.Equal(s.keeper.last(), before) || saved != begun || s.app.saving {
		t.Errorf("the bench is not kept as it was: %d of %d saves are done, one under way %v", saved, begun, s.app.saving)
	}
	s.letters("dx")
	s.keeper.gate <- struct{}{}
	s.keeper.gate <- struct{}{}
	gate <- struct{}{}
	s.until("it is answered", func() bool { return d.has("answers alone") })
	if got := d.read(); !slices.Equal(got, []string{"begins alone", "ends alone", "answers alone"}) {
		t.Errorf("it was done as %q", got)
	}
	s.settled()
	if bytes.Equal(before, s.keeper.last()) {
		t.Error("what the answer did to the bench is not saved")
	}
}

// The same holds where something else was asked for before.
func TestSomethingDoneAloneBehindOthersWaitsForASaveToo(t *testing.T) {
	s, d := newSitting(t), &diary{}
	s.keeper.gate = make(chan struct{}, 10)
	s.letters("d")
	s.until("the save has begun", func() bool { _, begun := s.keeper.counts(); return begun == 1 })
	gate := make(chan struct{})
	s.ask(d.asked("before", gate, nil))
	s.ask(alone(d.asked("alone", nil, nil)))
	gate <- struct{}{}
	_, cmd := s.app.Update(next[answered](s))
	s.run(cmd)
	if d.has("begins alone") {
		t.Errorf("it begins while the bench is being saved: %q", d.read())
	}
	s.keeper.gate <- struct{}{}
	s.keeper.gate <- struct{}{}
	s.until("it is answered", func() bool { return d.has("answers alone") })
	s.settled()
	s.until("nothing is left to do", func() bool { return !s.app.Unsaved() })
}

// The answer to what was asked for before does not let the keys in again.
func TestKeysWaitForWhatIsDoneAloneBehindOthers(t *testing.T) {
	s, d := newSitting(t), &diary{}
	one, two := make(chan struct{}), make(chan struct{})
	s.ask(d.asked("before", one, nil))
	s.ask(alone(d.asked("alone", two, nil)))
	view, before := s.app.View(), s.bytes()
	one <- struct{}{}
	s.until("it begins", func() bool { return d.has("begins alone") })
	s.letters("+d")
	s.take(tea.MouseMsg{X: 30, Y: 10, Action: tea.MouseActionPress, Button: tea.MouseButtonWheelUp})
	untouched(t, s, view, before, "keys while something is done alone")
	if saved, begun := s.keeper.counts(); saved+begun > 0 || s.app.saving {
		t.Errorf("%d saves begun", begun)
	}
	two <- struct{}{}
	s.until("it is answered", func() bool { return d.has("answers alone") })
	s.letters("d")
	s.settled()
}

// shelfSitting is a sitting on whose bench a customer's name stands, which is saved, with
// something to undo.
func shelfSitting(t testing.TB) *sitting {
	t.Helper()
	j := store.SampleBench()
	j.Builds[0].Name = customer
	k := &fakeKeeper{jobs: map[uint64]*job.Job{}, customers: []store.Customer{{Name: customer}}, parts: store.SampleParts()}
	s := sit(t, k, Options{Bench: bench.Options{Job: j}})
	s.letters("dd")
	s.settled()
	return s
}

// eraseThem opens the question whether to erase the customer, and answers it but for Enter.
func (s *sitting) eraseThem() {
	s.Helper()
	s.letters("o")
	s.until("the list is there", func() bool { return !strings.Contains(s.app.View(), "Reading the list") })
	s.key(tea.KeyShiftTab)
	s.key(tea.KeyShiftTab)
	s.shows("Saved: customers 1 of 1")
	s.key(tea.KeyCtrlX)
	s.shows("Erase " + customer + " for good?")
	s.letters(customer)
}

func TestACustomerIsErasedAndTheBenchGoesOnFromWhatIsKept(t *testing.T) {
	s := shelfSitting(t)
	if !bytes.Contains(s.bytes(), []byte(customer)) {
		t.Fatal("the name is not on the bench")
	}
	s.eraseThem()
	s.key(tea.KeyEnter)
	s.shows("Erased: the customer")
	s.shows("Saved: customers 0 of 0")
	s.settled()
	s.key(tea.KeyEsc)
	if bytes.Contains(s.bytes(), []byte(customer)) || !bytes.Contains(s.bytes(), []byte(store.ErasedName)) || len(s.app.bench.Job().Builds) != 5 {
		t.Errorf("on the bench: %s", s.names())
	}
	for _, k := range []string{"z", "Z", "z"} {
		s.letters(k)
		s.shows("Nothing to")
	}
	s.letters("d")
	s.settled()
	s.letters("q")
	s.until("it ends", func() bool { return s.ended })
	s.keeper.mu.Lock()
	defer s.keeper.mu.Unlock()
	erased := slices.IndexFunc(s.keeper.benches, func(b []byte) bool { return bytes.Contains(b, []byte(store.ErasedName)) })
	for _, b := range s.keeper.benches[erased:] {
		if bytes.Contains(b, []byte(customer)) {
			t.Error("after the erase a bench with the name was saved")
		}
	}
	for _, v := range s.keeper.views[max(len(s.keeper.views)-2, 0):] {
		if bytes.Contains(v, []byte(customer)) {
			t.Errorf("the view is kept as %s", v)
		}
	}
}

func TestAFailedEraseLeavesEverything(t *testing.T) {
	s := shelfSitting(t)
	s.eraseThem()
	before := s.bytes()
	s.keeper.fail(errDisk)
	s.key(tea.KeyEnter)
	s.shows("The workbook is as it was. The disk is full")
	if !bytes.Equal(before, s.bytes()) || !bytes.Equal(before, s.keeper.last()) {
		t.Error("the bench changed")
	}
	s.keeper.fail(nil)
	s.key(tea.KeyEsc)
	s.letters("z")
	s.shows("Undone")
	s.settled()
	s.letters("Z")
	s.settled()
	if !bytes.Equal(before, s.bytes()) {
		t.Error("undo and redo do not come back")
	}
	s.until("nothing is left to do", func() bool { return !s.app.Unsaved() })
}

// A change whose save failed is not on disk: what is read back after an erase would be
// the bench without it.
func TestAnEraseDoesNotLoseAChangeThatWasNotSaved(t *testing.T) {
	s := shelfSitting(t)
	_, were := s.keeper.counts()
	s.keeper.mu.Lock()
	s.keeper.gate = make(chan struct{}, 10)
	s.keeper.mu.Unlock()
	s.letters("d")
	want := s.names()
	s.until("the save has begun", func() bool { _, begun := s.keeper.counts(); return begun > were })
	s.eraseThem()
	s.key(tea.KeyEnter)
	s.keeper.fail(errDisk)
	s.keeper.gate <- struct{}{}
	failed := next[savedBench](s)
	if failed.err == nil {
		t.Fatal("the save did not fail")
	}
	s.keeper.fail(nil)
	close(s.keeper.gate)
	s.take(failed)
	s.until("nothing is left to do", func() bool {
		if !s.app.single && len(s.app.asked) == 0 && s.app.bench.Job() != s.app.saved { // the next change tries again
			s.key(tea.KeyEsc)
		}
		return !s.app.Unsaved()
	})
	if got := strings.ReplaceAll(s.names(), store.ErasedName, customer); got != want {
		t.Errorf("the builds are %s, want %s", got, want)
	}
}

// Quitting waits for what is under way with the shelf, and for what that leads to. Ctrl+C
// is a wish to leave also while something is done alone, or waits to be.
func TestQuittingWaitsForTheShelf(t *testing.T) {
	for name, c := range map[string]struct{ alone, saving bool }{"beside the keys": {}, "alone": {alone: true}, "alone, behind a save": {true, true}, "beside a save": {saving: true}} {
		t.Run(name, func(t *testing.T) {
			s, d := newSitting(t), &diary{}
			s.keeper.gate = make(chan struct{}, 10)
			if c.saving {
				s.letters("d")
				s.until("the save has begun", func() bool { _, begun := s.keeper.counts(); return begun == 1 })
			}
			gate := make(chan struct{})
			a := d.asked("slow", gate, func(*bench.Model) bench.Request { return bench.Write{Path: "out.json", Data: []byte("data")} })
			a.Alone = c.alone
			s.ask(a)
			s.key(tea.KeyCtrlC)
			if !s.app.quitting || s.ended {
				t.Fatalf("quitting %v, ended %v", s.app.quitting, s.ended)
			}
			close(s.keeper.gate)
			s.until("it begins", func() bool { return d.has("begins slow") })
			s.letters("+xq")
			if s.ended {
				t.Fatal("it ends while the shelf is busy")
			}
			gate <- struct{}{}
			s.until("it ends", func() bool { return s.ended })
			s.keeper.mu.Lock()
			if want := []string{"out.json: data"}; !slices.Equal(s.keeper.written, want) {
				t.Errorf("written are %q, want %q", s.keeper.written, want)
			}
			s.keeper.mu.Unlock()
			if !bytes.Equal(s.keeper.last(), s.bytes()) {
				t.Error("the bench was not kept")
			}
		})
	}
}

// For whom something is saved goes with the save and is said.
func TestSavingForACustomer(t *testing.T) {
	s := newSitting(t)
	s.keeper.mu.Lock() // it may be asked for the list
	s.keeper.customers = []store.Customer{{Name: customer}}
	s.keeper.mu.Unlock()
	s.letters("o")
	s.shows("Nothing is saved yet")
	s.key(tea.KeyEsc)
	s.letters("sEvening")
	s.key(tea.KeyEnter)
	s.shows("Save Evening for")
	if _, begun := s.keeper.counts(); begun > 0 {
		t.Error("it is saved before it is known for whom")
	}
	s.key(tea.KeyDown)
	s.key(tea.KeyEnter)
	s.shows(`Saved as "Evening" for ` + customer + ".")
	s.shows("“Evening”")
}

// What was changed up to the moment of an erase is there after it, and on disk.
func TestAnEraseKeepsTheLastChange(t *testing.T) {
	s := shelfSitting(t)
	for i, change := range []string{"d", "n", "x"} {
		s.keeper.mu.Lock()
		s.keeper.customers = []store.Customer{{Name: customer}}
		s.keeper.mu.Unlock()
		before := s.bytes()
		s.letters(change)
		want := bytes.ReplaceAll(s.bytes(), []byte(customer), []byte(store.ErasedName))
		s.eraseThem()
		s.key(tea.KeyEnter)
		s.shows("Erased: the customer")
		s.shows("Saved: customers 0 of 0")
		s.key(tea.KeyEsc)
		s.settled()
		if bytes.Equal(before, want) || !bytes.Equal(s.bytes(), want) {
			t.Errorf("time %d: the last change is not on the bench", i+1)
		}
	}
}
