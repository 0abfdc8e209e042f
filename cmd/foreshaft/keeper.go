package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"github.com/aymanbagabas/go-osc52/v2"

	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/part"
	"foreshaft/store"
	"foreshaft/ui"
	"foreshaft/ui/bench"
)

// keeper gives one terminal what it needs of the workbook, the settings and files, and tells
// the others what it changes.
type keeper struct {
	book   *store.Workbook
	seat   *store.Seat // whose bench it is; nil is the workbook's own
	set    *settings
	others *member
	screen io.Writer
	// folder is where its files are, by name alone; empty is anywhere on this computer.
	folder  string
	gate    gate
	telling sync.Mutex
	told    int // how many of the workbook's troubles were told
}

func (k *keeper) SaveBench(j *job.Job, view []byte) error {
	if err := k.gate.enter(); err != nil {
		return err
	}
	defer k.gate.leave()
	if k.seat != nil {
		return k.seat.Save(store.Bench{Job: j, View: view})
	}
	return k.book.SaveBench(store.Bench{Job: j, View: view})
}

// Trouble says what went wrong beside the work since it was asked last, such as a backup
// that failed.
func (k *keeper) Trouble() string {
	k.telling.Lock()
	defer k.telling.Unlock()
	troubles := k.book.Troubles()
	var words []string
	for _, t := range troubles[k.told:] {
		words = append(words, t.Error())
	}
	k.told = len(troubles)
	return strings.Join(words, " ")
}

func (k *keeper) Save(r bench.Save) (int, bool, error) {
	if err := k.gate.enter(); err != nil {
		return 0, false, err
	}
	defer k.gate.leave()
	kind, j := store.KindBench, r.Job
	switch r.What {
	case bench.SavedBuild:
		kind, j = store.KindBuild, store.BuildOf(r.Job, r.Build)
	case bench.SavedBow:
		kind, j = store.KindBow, store.BowOf(r.Job)
	}
	entry, added, err := k.book.SaveFor(kind, r.Name, r.Customer, j)
	if added {
		k.others.tell(ui.Elsewhere{Entries: []ui.NewRevision{{What: r.What, Name: r.Name, Revisions: entry.Revisions}}})
	}
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

func (k *keeper) KeepParts(was, parts []part.Part) (kept []part.Part, meanwhile []string, err error) {
	if err := k.gate.enter(); err != nil {
		return nil, nil, err
	}
	defer k.gate.leave()
	changes := make([]store.PartChange, len(parts))
	for i := range parts {
		changes[i] = store.PartChange{Was: was[i], Now: parts[i]}
	}
	kept, meanwhile, err = k.book.ChangeParts(changes)
	if err == nil {
		k.others.tell(ui.Elsewhere{Drawer: true})
	}
	return kept, meanwhile, err
}

func (k *keeper) Drawer() ([]part.Part, error) { return k.book.Parts() }

func (k *keeper) NewPart() (string, error) {
	if err := k.gate.enter(); err != nil {
		return "", err
	}
	defer k.gate.leave()
	return k.book.NewID()
}

func (k *keeper) KeepChoices(c bench.Choices) error {
	if err := k.gate.enter(); err != nil {
		return err
	}
	defer k.gate.leave()
	return k.set.keep(c)
}

// Write makes a new file that only the user may read, since it may hold names, whole or
// not at all, and returns its full path.
func (k *keeper) Write(path string, data []byte) (string, error) {
	full, err := k.path(path)
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
	return k.where(full), nil
}

// where says where a file is, for whoever sits at another computer.
func (k *keeper) where(full string) string {
	if k.folder != "" {
		return full + ", on the computer that serves"
	}
	return full
}

// path returns where a file is that was typed.
func (k *keeper) path(typed string) (string, error) {
	if k.folder == "" {
		return filepath.Abs(fromHome(typed))
	}
	if typed != filepath.Base(typed) || !filepath.IsLocal(typed) || strings.ContainsAny(typed, `/\:`) || typed != label.Clean(typed) {
		return typed, fmt.Errorf("files of this terminal are on the computer that serves it, in %s: type a name alone", k.folder)
	}
	return filepath.Join(k.folder, typed), os.MkdirAll(k.folder, 0o700)
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
	case k.seat != nil: // what it runs in is not known here
	case os.Getenv("TMUX") != "":
		sent += sequence.Tmux().String()
	case os.Getenv("STY") != "":
		sent = sequence.Screen().String()
	}
	_, err := io.WriteString(k.screen, sent)
	return err
}
