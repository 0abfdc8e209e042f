package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui"
	"foreshaft/ui/bench"
)

// listening is a terminal that remembers what it is told.
type listening struct {
	*member
	mu   sync.Mutex
	news []ui.Elsewhere
	more chan struct{}
}

func listen(h *hub, name string) *listening {
	l := &listening{more: make(chan struct{}, 1)}
	l.member = h.join(name, func(what ui.Elsewhere) {
		l.mu.Lock()
		l.news = append(l.news, what)
		l.mu.Unlock()
		select {
		case l.more <- struct{}{}:
		default:
		}
	})
	return l
}

// until waits until what was told so far passes.
func (l *listening) until(t *testing.T, what string, passes func([]ui.Elsewhere) bool) {
	t.Helper()
	late := time.After(10 * time.Second)
	for {
		l.mu.Lock()
		ok := passes(l.news)
		l.mu.Unlock()
		if ok {
			return
		}
		select {
		case <-l.more:
		case <-late:
			t.Fatalf("waited for %s; told so far: %+v", what, l.news)
		}
	}
}

func TestWhatOneTerminalChangesIsToldToTheOthersAlone(t *testing.T) {
	h := new(hub)
	a, b, c := listen(h, "a"), listen(h, "b"), listen(h, "c")
	a.tell(ui.Elsewhere{Drawer: true})
	for _, l := range []*listening{b, c} {
		l.until(t, "the drawer", func(news []ui.Elsewhere) bool { return len(news) == 1 && news[0].By == "a" && news[0].Drawer })
	}
	c.leave()
	b.tell(ui.Elsewhere{Entries: []ui.NewRevision{{Name: "x", Revisions: 2}}})
	a.until(t, "what b saved", func(news []ui.Elsewhere) bool {
		return len(news) == 1 && news[0].By == "b" && news[0].Entries[0].Name == "x"
	})
	if len(c.news) != 1 {
		t.Errorf("who left is told %+v", c.news)
	}
	if err := a.alone(func() error { t.Error("it is done"); return nil }); err == nil || !strings.Contains(err.Error(), "also in use at b, and") {
		t.Errorf("with others: %v", err)
	}
	b.leave()
	if err := a.alone(func() error { return errNoTerminal }); !errors.Is(err, errNoTerminal) {
		t.Errorf("alone: %v", err)
	}
	d := listen(h, "d")
	a.leave()
	if err := a.alone(func() error { t.Error("it is done"); return nil }); err == nil {
		t.Error("who has left is alone although another is there")
	}
	d.leave()
}

// Who is slow misses nothing, and holds nobody up.
func TestATerminalThatIsBusyIsToldLater(t *testing.T) {
	h := new(hub)
	gate := make(chan struct{})
	var mu sync.Mutex
	var names []string
	slow := h.join("slow", func(what ui.Elsewhere) {
		<-gate
		mu.Lock()
		defer mu.Unlock()
		for _, e := range what.Entries {
			names = append(names, e.Name)
		}
	})
	quick := h.join("quick", func(ui.Elsewhere) {})
	const all = 500
	for i := range all {
		quick.tell(ui.Elsewhere{Entries: []ui.NewRevision{{Name: fmt.Sprint(i)}}})
	}
	close(gate)
	for late := time.Now().Add(10 * time.Second); ; {
		mu.Lock()
		n := len(names)
		mu.Unlock()
		if n == all {
			break
		}
		if time.Now().After(late) {
			t.Fatalf("%d of %d", n, all)
		}
		<-time.After(time.Millisecond)
	}
	if !slices.Equal(names[:3], []string{"0", "1", "2"}) {
		t.Errorf("out of order: %v", names[:3])
	}
	slow.leave()
	quick.leave()
}

// Every edit of one build that terminals save at once is a revision of its own, and each
// terminal is told of those of the others.
func TestNoSavedBuildIsLostBetweenTerminals(t *testing.T) {
	book, err := store.Open(filepath.Join(t.TempDir(), "workbook.db"), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	const terminals, saves = 8, 12
	h := new(hub)
	var all sync.WaitGroup
	members := make([]*listening, terminals)
	for i := range members {
		members[i] = listen(h, fmt.Sprint("terminal ", i))
	}
	for i, l := range members {
		all.Go(func() {
			seat := book.Seat(fmt.Sprintf("%02x-1", i))
			k := &keeper{book: book, seat: &seat, set: &settings{}, others: l.member}
			j := store.SampleBench()
			for n := range saves {
				j = j.Clone()
				j.Builds[0].Name = "Shared build"
				j.Builds[0].Length = unit.Length(25+i)*unit.Inch + unit.Length(n)*unit.Inch/100
				if _, added, err := k.Save(bench.Save{Name: "Shared build", What: bench.SavedBuild, Build: 0, Job: j}); err != nil || !added {
					t.Errorf("terminal %d, save %d: added %v, %v", i, n, added, err)
				}
				if err := k.SaveBench(j, []byte(fmt.Sprint(n))); err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	list, err := book.List()
	if err != nil || len(list) != 1 || list[0].Revisions != terminals*saves {
		t.Fatalf("%+v, %v: want %d revisions", list, err, terminals*saves)
	}
	lengths := map[unit.Length]bool{}
	for n := 1; n <= list[0].Revisions; n++ {
		j, err := book.Load(list[0].ID, n)
		if err != nil {
			t.Fatal(err)
		}
		lengths[j.Builds[0].Length] = true
	}
	if len(lengths) != terminals*saves {
		t.Errorf("%d different builds are kept of %d", len(lengths), terminals*saves)
	}
	for i, l := range members {
		l.until(t, "what the others saved", func(news []ui.Elsewhere) bool {
			told := 0
			for _, n := range news {
				told += len(n.Entries)
			}
			return told == (terminals-1)*saves
		})
		seat := book.Seat(fmt.Sprintf("%02x-1", i))
		if kept, known, err := seat.Load(); err != nil || !known || string(kept.View) != fmt.Sprint(saves-1) {
			t.Errorf("the bench of terminal %d: %v, %s, %v", i, known, kept.View, err)
		}
		l.leave()
	}
}
