package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/aymanbagabas/go-osc52/v2"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/store"
	"foreshaft/ui/bench"
)

// keeper gives the screen what it needs of the workbook, the settings and the
// terminal.
type keeper struct {
	book *store.Workbook
	set  *settings
	told int // how many of the workbook's troubles were told
}

func (k *keeper) SaveBench(j *job.Job, view []byte) error {
	return k.book.SaveBench(store.Bench{Job: j, View: view})
}

// Trouble says what went wrong beside the work since it was asked last, such as a backup
// that failed. One save at a time asks.
func (k *keeper) Trouble() string {
	troubles := k.book.Troubles()
	var words []string
	for _, t := range troubles[k.told:] {
		words = append(words, t.Error())
	}
	k.told = len(troubles)
	return strings.Join(words, " ")
}

func (k *keeper) Save(r bench.Save) (int, bool, error) {
	kind, j := store.KindBench, r.Job
	switch r.What {
	case bench.SavedBuild:
		kind, j = store.KindBuild, store.BuildOf(r.Job, r.Build)
	case bench.SavedBow:
		kind, j = store.KindBow, store.BowOf(r.Job)
	}
	entry, added, err := k.book.SaveFor(kind, r.Name, r.Customer, j)
	return entry.Revisions, added, err
}

// saved is what an entry of each kind is on screen.
var saved = map[store.Kind]bench.Saved{store.KindBench: bench.SavedBench, store.KindBuild: bench.SavedBuild, store.KindBow: bench.SavedBow}

func (k *keeper) List() ([]bench.Entry, []store.Customer, error) {
	// Of a damaged workbook the list has what can still be read.
	entries, err := k.book.List()
	customers, errCustomers := k.book.Customers()
	out := make([]bench.Entry, 0, len(entries))
	for _, e := range entries {
		out = append(out, bench.Entry{ID: e.ID, Name: e.Name, What: saved[e.Kind], Customer: e.Customer, Tags: e.Tags, Saved: e.Saved, Revisions: e.Revisions, Binned: e.Binned})
	}
	return out, customers, errors.Join(err, errCustomers)
}

func (k *keeper) Load(entry bench.Entry) (*job.Job, error) { return k.book.Load(entry.ID, 0) }

func (k *keeper) KeepParts(parts []part.Part) error { return k.book.PutParts(parts...) }

func (k *keeper) NewPart() (string, error) { return k.book.NewID() }

func (k *keeper) KeepChoices(c bench.Choices) error { return k.set.keep(c) }

// Write makes a new file that only the user may read, since it may hold names, whole or
// not at all, and returns its full path.
func (k *keeper) Write(path string, data []byte) (string, error) {
	full, err := filepath.Abs(fromHome(path))
	if err != nil {
		return path, err
	}
	file, err := os.OpenFile(full, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return full, fmt.Errorf("%s is there already and was left alone: type another name", full)
	}
	if err != nil {
		return full, err
	}
	_, err = file.Write(data)
	if err = errors.Join(err, file.Close()); err != nil {
		return full, errors.Join(err, os.Remove(full))
	}
	return full, nil
}

// mostCopied is what terminals take at least; some drop what is longer.
const mostCopied = 74_000

// Copy sends a text to the terminal's clipboard (OSC 52). One write is not torn
// apart by a frame. A multiplexer passes on only what is wrapped for it, unless
// it takes copies itself, so it gets both.
func (k *keeper) Copy(text string) error {
	if len(text) > mostCopied {
		return fmt.Errorf("%d letters are more than terminals take", len(text))
	}
	sequence := osc52.New(text)
	sent := sequence.String()
	switch {
	case os.Getenv("TMUX") != "":
		sent += sequence.Tmux().String()
	case os.Getenv("STY") != "":
		sent = sequence.Screen().String()
	}
	_, err := io.WriteString(os.Stdout, sent)
	return err
}
