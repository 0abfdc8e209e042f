package main

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui"
	"foreshaft/ui/bench"
	"foreshaft/ui/serve"
)

// shared is a workbook with a terminal elsewhere and one that listens to what that changes.
type shared struct {
	book  *store.Workbook
	seat  store.Seat
	k     *keeper
	other *listening
}

func share(t *testing.T) *shared {
	t.Helper()
	book, err := store.Open(filepath.Join(t.TempDir(), "workbook.db"), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := book.Close(); err != nil {
			t.Error(err)
		}
	})
	h := new(hub)
	s := &shared{book: book, seat: book.Seat("00ff-1"), other: listen(h, "the other")}
	me := listen(h, "counter two")
	s.k = &keeper{book: book, seat: &s.seat, set: &settings{}, others: me.member, screen: io.Discard, folder: filepath.Join(t.TempDir(), "files")}
	return s
}

// told waits until the other terminal is told something.
func (s *shared) told(t *testing.T, what string, passes func(ui.Elsewhere) bool) {
	t.Helper()
	s.other.until(t, what, func(news []ui.Elsewhere) bool {
		for _, n := range news {
			if n.By == "counter two" && passes(n) {
				return true
			}
		}
		return false
	})
	s.other.mu.Lock()
	s.other.news = nil
	s.other.mu.Unlock()
}

// Each change of what is shared is told to the others.
func TestATerminalTellsEachChangeOfWhatIsShared(t *testing.T) {
	s := share(t)
	savedChanged := func(n ui.Elsewhere) bool { return n.Saved }
	revised := func(n ui.Elsewhere) bool { return len(n.Entries) == 1 && n.Entries[0].Name == "shared" }
	do := func(what string, err error, passes func(ui.Elsewhere) bool) {
		t.Helper()
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		s.told(t, what, passes)
	}
	j := store.SampleBench()
	_, _, err := s.k.Save(bench.Save{Name: "shared", What: bench.SavedBench, Job: j})
	do("a bench saved", err, revised)
	j = j.Clone()
	j.Builds[0].Length += unit.Inch
	_, _, err = s.k.Save(bench.Save{Name: "shared", What: bench.SavedBench, Job: j})
	do("a second revision", err, revised)
	list, _, err := s.k.List()
	if err != nil {
		t.Fatal(err)
	}
	e := list[0]
	_, _, err = s.k.Restore(e, 1)
	do("a revision restored", err, revised)
	_, err = s.k.Describe(e, store.Words{Name: "shared"}, store.Words{Name: "shared", Tags: "wood"})
	do("tags", err, savedChanged)
	_, err = s.k.PutCustomer(store.Customer{}, store.Customer{Name: "Orla Fenn (invented)"})
	do("a customer", err, savedChanged)
	do("the bin", s.k.Bin(e, true), savedChanged)
	_, err = s.k.EmptyBin()
	do("the bin emptied", err, savedChanged)
	parts, err := s.k.Drawer()
	if err != nil {
		t.Fatal(err)
	}
	changed := parts[0]
	changed.Retired = !changed.Retired
	_, _, err = s.k.KeepParts([]part.Part{parts[0]}, []part.Part{changed})
	do("a part", err, func(n ui.Elsewhere) bool { return n.Drawer })
	_, err = s.k.TakeIn([]byte("kind,name,weight_gr\nhead,new head,111\n"), "list", true)
	do("a price list", err, func(n ui.Elsewhere) bool { return n.Drawer && n.Saved })
	// Its own bench, and a look, are nobody else's business.
	if err := s.k.SaveBench(j, nil); err != nil {
		t.Fatal(err)
	}
	if _, err := s.k.TakeIn([]byte("kind,name,weight_gr\nhead,newer head,112\n"), "list", false); err != nil {
		t.Fatal(err)
	}
	s.other.mu.Lock()
	defer s.other.mu.Unlock()
	if len(s.other.news) > 0 {
		t.Errorf("told %+v", s.other.news)
	}
}

// What would bring an erased name back is another terminal's screen.
func TestATerminalErasesOnlyAlone(t *testing.T) {
	s := share(t)
	if _, err := s.k.PutCustomer(store.Customer{}, store.Customer{Name: "Orla Fenn (invented)"}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.k.Erase("Orla Fenn (invented)"); err == nil || !strings.Contains(err.Error(), "also in use at the other") {
		t.Errorf("with another: %v", err)
	}
	if list, err := s.book.Customers(); err != nil || len(list) != 1 {
		t.Errorf("%v, %v", list, err)
	}
	s.other.leave()
	if _, err := s.k.Erase("Orla Fenn (invented)"); err != nil {
		t.Errorf("alone: %v", err)
	}
}

// Files of a terminal elsewhere stay in their folder.
func TestATerminalElsewhereHasItsFolderAlone(t *testing.T) {
	s := share(t)
	outside := filepath.Join(filepath.Dir(s.k.folder), "outside.txt")
	if err := os.WriteFile(outside, []byte("secret"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{outside, "../outside.txt", "..", ".", "", "/etc/passwd", "~/x", "a/b.txt", `a\b.txt`, "C:x.txt", "x\x1b[31m", "-/../../outside.txt"} {
		if data, err := s.k.Read(name); err == nil {
			t.Errorf("%q can be read: %q", name, data)
		}
		if full, err := s.k.Write(name, []byte("x")); err == nil {
			t.Errorf("%q can be written: %s", name, full)
		}
		if name == "" {
			continue // beside the workbook
		}
		if full, err := s.k.Backup(name, store.SampleBench()); err == nil {
			t.Errorf("%q can be a copy: %s", name, full)
		}
	}
	full, err := s.k.Write("ticket.txt", []byte("words"))
	if err != nil || full != filepath.Join(s.k.folder, "ticket.txt")+", on the computer that serves" {
		t.Errorf("%q, %v", full, err)
	}
	if data, err := s.k.Read("ticket.txt"); err != nil || string(data) != "words" {
		t.Errorf("%q, %v", data, err)
	}
	if data, err := os.ReadFile(outside); err != nil || string(data) != "secret" {
		t.Errorf("%q, %v", data, err)
	}
}

// What is chosen at a terminal elsewhere is its own, and its colours are not those of the
// computer that serves.
func TestATerminalElsewhereHasItsOwnChoices(t *testing.T) {
	s := share(t)
	file := filepath.Join(t.TempDir(), "settings.json")
	if err := (store.Settings{Format: store.SettingsFormat, Theme: "dark", Currency: "EUR", Mouse: true}).Save(file); err != nil {
		t.Fatal(err)
	}
	before, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	env := func(name string) string { return map[string]string{store.EnvSettings: file}[name] }
	terminal := &serve.Terminal{Term: "xterm-256color"}
	set, err := settingsOfSeat(env, s.seat, terminal)
	if err != nil || set.choices.Theme != "" || set.choices.Mouse || set.choices.Currency != "EUR" {
		t.Fatalf("a new seat begins with %+v, %v", set.choices, err)
	}
	chosen := set.choices
	chosen.Theme, chosen.Currency = "light", "CHF"
	if err := set.keep(chosen); err != nil {
		t.Fatal(err)
	}
	if after, err := os.ReadFile(file); err != nil || string(after) != string(before) {
		t.Errorf("the settings of the computer that serves changed: %s, %v", after, err)
	}
	again, err := settingsOfSeat(env, s.seat, terminal)
	if err != nil || again.choices.Theme != "light" || again.choices.Currency != "CHF" {
		t.Errorf("they are not there again: %+v, %v", again.choices, err)
	}
	if other, err := settingsOfSeat(env, s.book.Seat("00aa-1"), terminal); err != nil || other.choices.Currency != "EUR" {
		t.Errorf("another seat has %+v, %v", other.choices, err)
	}
}

// A seat is not given on while something of it is on its way to the disk, and nothing more goes
// there then.
func TestATerminalThatLeftWritesNothingMore(t *testing.T) {
	s := share(t)
	if err := s.k.gate.enter(); err != nil { // a save that takes its time
		t.Fatal(err)
	}
	closed := make(chan struct{})
	go func() {
		s.k.gate.close()
		close(closed)
	}()
	for late := time.Now().Add(5 * time.Second); s.k.SaveBench(store.SampleBench(), nil) == nil; {
		if time.Now().After(late) {
			t.Fatal("it still writes")
		}
	}
	select {
	case <-closed:
		t.Fatal("the seat is free although a save is under way")
	default:
	}
	s.k.gate.leave()
	<-closed
	j := store.SampleBench()
	for what, err := range map[string]error{
		"bench": s.k.SaveBench(j, nil), "build": third(s.k.Save(bench.Save{Name: "x", What: bench.SavedBench, Job: j})),
		"parts": third(s.k.KeepParts(nil, nil)), "bin": s.k.Bin(bench.Entry{}, true),
	} {
		if !errors.Is(err, errLeft) {
			t.Errorf("%s: %v", what, err)
		}
	}
	s.k.gate.close() // a second time does nothing
}

func third[A, B any](_ A, _ B, err error) error { return err }
