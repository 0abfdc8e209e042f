package ui

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/store"
	"foreshaft/ui/bench"
	"foreshaft/ui/keys"
	"foreshaft/ui/theme"
)

// fakeKeeper keeps in memory, fails when told to, and can be held up so that a
// test sees what happens while the disk is busy.
type fakeKeeper struct {
	bench.Shelf // what no test here asks for

	mu        sync.Mutex
	benches   [][]byte
	views     [][]byte
	saves     []string
	jobs      map[uint64]*job.Job
	entries   []bench.Entry
	customers []store.Customer
	parts     []part.Part
	choices   []bench.Choices
	copies    []string
	written   []string
	ids       int
	err       error
	trouble   string // beside the work, told once
	backups   []string
	begun     int // how many saves of the bench or by name have begun

	gate  chan struct{} // when there is one, each save takes from it first
	named chan error    // when there is one, each save by name takes its answer from it
}

var errDisk = errors.New("the disk is full")

func (k *fakeKeeper) wait() error {
	k.mu.Lock()
	k.begun++
	gate := k.gate
	k.mu.Unlock()
	if gate != nil {
		<-gate
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.err
}

func (k *fakeKeeper) SaveBench(j *job.Job, view []byte) error {
	// The job is encoded after the wait: a job that is changed while it is
	// being saved would show, to the race detector as well.
	if err := k.wait(); err != nil {
		return err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.benches, k.views = append(k.benches, j.Encode()), append(k.views, bytes.Clone(view))
	return nil
}

func (k *fakeKeeper) Trouble() string {
	k.mu.Lock()
	defer k.mu.Unlock()
	told := k.trouble
	k.trouble = ""
	return told
}

// Backup works although nothing else may: it is another disk.
func (k *fakeKeeper) Backup(path string, j *job.Job) (string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.backups = append(k.backups, path+": "+string(j.Encode()))
	return "/here/" + path, nil
}

func (k *fakeKeeper) Save(r bench.Save) (int, bool, error) {
	if k.named != nil {
		if err := <-k.named; err != nil {
			return 0, false, err
		}
	} else if err := k.wait(); err != nil {
		return 0, false, err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	said := fmt.Sprintf("%s %d %d %s", r.Name, r.What, r.Build, r.Job.Encode())
	added := !slices.Contains(k.saves, said)
	k.saves = append(k.saves, said)
	revisions := 0
	for _, s := range k.saves {
		if strings.HasPrefix(s, r.Name+" ") {
			revisions++
		}
	}
	return revisions, added, nil
}

func (k *fakeKeeper) NewPart() (string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.ids++
	return fmt.Sprintf("part-%d", 900+k.ids), k.err
}

func (k *fakeKeeper) KeepChoices(c bench.Choices) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.err == nil {
		k.choices = append(k.choices, c)
	}
	return k.err
}

func (k *fakeKeeper) Copy(text string) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.err == nil {
		k.copies = append(k.copies, text)
	}
	return k.err
}

func (k *fakeKeeper) Write(path string, data []byte) (string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.err == nil {
		k.written = append(k.written, path+": "+string(data))
	}
	return "/here/" + path, k.err
}

func (k *fakeKeeper) List() ([]bench.Entry, []store.Customer, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.entries, k.customers, k.err
}

// Kept gives back what was kept last.
func (k *fakeKeeper) Kept() (*job.Job, []part.Part, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.err != nil {
		return nil, nil, k.err
	}
	j, err := job.DecodeBench(k.benches[len(k.benches)-1])
	return j, k.parts, err
}

// Traces says what Erase would do.
func (k *fakeKeeper) Traces(customer string) (*store.Erased, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return &store.Erased{Customer: customer, Known: true, Renamed: []string{"the bench as it is now"}}, k.err
}

// Erase takes the customer's name off the bench as it is kept, as the workbook does.
func (k *fakeKeeper) Erase(customer string) (*store.Erased, error) {
	if err := k.wait(); err != nil {
		return nil, err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.customers = slices.DeleteFunc(slices.Clone(k.customers), func(c store.Customer) bool { return c.Name == customer })
	k.benches = append(k.benches, bytes.ReplaceAll(k.benches[len(k.benches)-1], []byte(customer), []byte(store.ErasedName)))
	return &store.Erased{Customer: customer, Known: true}, nil
}

func (k *fakeKeeper) Load(e bench.Entry) (*job.Job, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.jobs[e.ID], k.err
}

func (k *fakeKeeper) KeepParts(_, parts []part.Part) ([]part.Part, []string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.parts = append(k.parts, parts...)
	return parts, nil, k.err
}

func (k *fakeKeeper) Drawer() ([]part.Part, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.parts, k.err
}

func (k *fakeKeeper) fail(err error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.err = err
}

// last returns the last bench that was saved, nil when there is none.
func (k *fakeKeeper) last() []byte {
	k.mu.Lock()
	defer k.mu.Unlock()
	if len(k.benches) == 0 {
		return nil
	}
	return k.benches[len(k.benches)-1]
}

func (k *fakeKeeper) counts() (saved, begun int) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return len(k.benches), k.begun
}

// sitting drives the program the way the framework does: one message at a time,
// each command on its own.
type sitting struct {
	testing.TB
	app     *App
	keeper  *fakeKeeper
	inbox   chan tea.Msg
	ended   bool
	cleared int
}

func newSitting(t testing.TB) *sitting {
	t.Helper()
	k := &fakeKeeper{jobs: map[uint64]*job.Job{}}
	return sit(t, k, Options{Bench: bench.Options{Job: store.SampleBench()}})
}

func sit(t testing.TB, k *fakeKeeper, opt Options) *sitting {
	t.Helper()
	opt.Keeper = k
	opt.Bench = benchOptions(opt.Bench.Job, theme.Mono, termenv.Ascii)
	s := &sitting{TB: t, app: New(opt), keeper: k, inbox: make(chan tea.Msg, 100)}
	s.start(s.app.Init())
	s.take(tea.WindowSizeMsg{Width: 120, Height: 36})
	return s
}

// benchOptions is what a bench starts with, in colours of a profile.
func benchOptions(j *job.Job, name theme.Name, profile termenv.Profile) bench.Options {
	return bench.Options{Keys: keys.Default(), Paint: func(n theme.Name) *theme.Theme { return theme.New(n, profile) }, Ground: name,
		Job: j, Drawer: store.SampleParts(), Samples: store.SampleBench()}
}

func (s *sitting) start(cmd tea.Cmd) {
	if cmd != nil {
		go func() { s.inbox <- cmd() }()
	}
}

var clearScreen = reflect.TypeOf(tea.ClearScreen())

// take handles one message and starts what it leads to.
func (s *sitting) take(msg tea.Msg) {
	switch msg := msg.(type) {
	case nil:
		return
	case tea.BatchMsg:
		for _, cmd := range msg {
			s.start(cmd)
		}
		return
	case tea.QuitMsg:
		s.ended = true
		return
	}
	if reflect.TypeOf(msg) == clearScreen {
		s.cleared++
		return
	}
	_, cmd := s.app.Update(msg)
	s.start(cmd)
}

// until takes messages until a condition holds.
func (s *sitting) until(what string, holds func() bool) {
	s.Helper()
	deadline := time.NewTimer(10 * time.Second)
	defer deadline.Stop()
	// What a command does before it comes back is seen by looking again.
	again := time.NewTicker(time.Millisecond)
	defer again.Stop()
	for !holds() {
		select {
		case <-again.C:
		case msg := <-s.inbox:
			s.take(msg)
		case <-deadline.C:
			s.Fatalf("waited in vain until %s\n%s", what, s.app.View())
		}
	}
}

// settled waits until the bench on screen is the one that was saved last.
func (s *sitting) settled() {
	s.Helper()
	s.until("the bench is saved", func() bool { return !s.app.saving && bytes.Equal(s.keeper.last(), s.bytes()) })
}

func (s *sitting) bytes() []byte { return s.app.bench.Job().Encode() }

// shows waits until the screen shows the words.
func (s *sitting) shows(words string) {
	s.Helper()
	s.until(fmt.Sprintf("the screen shows %q", words), func() bool {
		// A message may take more than one line.
		return strings.Contains(strings.Join(strings.Fields(s.app.View()), " "), words)
	})
}

// key presses a key that is not a letter.
func (s *sitting) key(k tea.KeyType) { s.take(tea.KeyMsg{Type: k}) }

// letters gives letters that arrive together, as one message.
func (s *sitting) letters(glued string) { s.take(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(glued)}) }

func (s *sitting) paste(text string) {
	s.take(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(text), Paste: true})
}

// names lists the builds on the bench.
func (s *sitting) names() string {
	var out []string
	for _, b := range s.app.bench.Job().Builds {
		out = append(out, b.Name)
	}
	return strings.Join(out, ", ")
}
