package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/store"
	"foreshaft/ui"
	"foreshaft/ui/bench"
	"foreshaft/ui/present"
)

func (k *keeper) Describe(e bench.Entry, was, now store.Words) (store.Words, error) {
	if err := k.gate.enter(); err != nil {
		return now, err
	}
	defer k.gate.leave()
	kept, err := k.book.ChangeWords(e.ID, was, now)
	return kept, k.saved(err)
}

// saved tells the other terminals that what is saved has changed, unless it has not.
func (k *keeper) saved(err error) error {
	if err == nil {
		k.others.tell(ui.Elsewhere{Saved: true})
	}
	return err
}

func (k *keeper) Bin(e bench.Entry, binned bool) error {
	if err := k.gate.enter(); err != nil {
		return err
	}
	defer k.gate.leave()
	return k.saved(k.book.Bin(e.ID, binned))
}

func (k *keeper) EmptyBin() (int, error) {
	if err := k.gate.enter(); err != nil {
		return 0, err
	}
	defer k.gate.leave()
	n, err := k.book.EmptyBin()
	return n, k.saved(err)
}

func (k *keeper) Revisions(e bench.Entry) ([]bench.Revision, error) {
	list, err := k.book.Revisions(e.ID)
	out := make([]bench.Revision, 0, len(list))
	for _, r := range list {
		j, broken := k.book.Load(e.ID, r.Number)
		if broken != nil {
			err = errors.Join(err, broken)
			continue
		}
		out = append(out, bench.Revision{Number: r.Number, Saved: r.Saved, Job: j})
	}
	return out, err
}

func (k *keeper) Restore(e bench.Entry, revision int) (int, bool, error) {
	if err := k.gate.enter(); err != nil {
		return 0, false, err
	}
	defer k.gate.leave()
	entry, added, err := k.book.Restore(e.ID, revision)
	if added {
		k.others.tell(ui.Elsewhere{Entries: []ui.NewRevision{{What: e.What, Name: e.Name, Revisions: entry.Revisions}}})
	}
	return entry.Revisions, added, err
}

func (k *keeper) PutCustomer(was, now store.Customer) (store.Customer, error) {
	if err := k.gate.enter(); err != nil {
		return now, err
	}
	defer k.gate.leave()
	kept, err := k.book.ChangeCustomer(was, now)
	return kept, k.saved(err)
}

func (k *keeper) Traces(customer string) (*store.Erased, error) { return k.book.Traces(customer) }

func (k *keeper) Erase(customer string) (erased *store.Erased, err error) {
	if err := k.gate.enter(); err != nil {
		return nil, err
	}
	defer k.gate.leave()
	err = k.others.alone(func() (err error) {
		erased, err = k.book.Erase(customer)
		return err
	})
	return erased, err
}

func (k *keeper) Bundle(of store.Scope) ([]byte, error) {
	return bundle(k.book, of, k.set.choices.Currency)
}

// bundle writes a part of a workbook as JSON, its prices in a currency.
func bundle(book *store.Workbook, of store.Scope, currency string) ([]byte, error) {
	b, err := book.Bundle(of)
	if err != nil {
		return nil, err
	}
	b.Currency = currency
	return b.Encode(), nil
}

func (k *keeper) Newest(e bench.Entry) ([]byte, error) { return jobFile(k.book, e.ID) }

// jobFile writes the newest revision of something saved as a job file.
func jobFile(book *store.Workbook, id uint64) ([]byte, error) {
	j, err := book.Load(id, 0)
	if err != nil {
		return nil, err
	}
	return append(j.Encode(), '\n'), nil
}

func (k *keeper) Read(path string) ([]byte, error) {
	path, err := k.path(path)
	if err != nil {
		return nil, err
	}
	// What is no file, such as a pipe, might never end.
	if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s is not a file", path)
	}
	return readUpTo(mostWorkbook, nil, path)
}

// Backup copies the workbook beside it where no path is given.
func (k *keeper) Backup(path string, j *job.Job) (full string, err error) {
	if path != "" {
		if full, err = k.path(path); err != nil {
			return path, err
		}
	}
	// The view goes with the next bench that is kept.
	kept, _, err := k.load()
	if err != nil {
		kept.View = nil
	}
	kept.Job = j
	copied := k.book.BackupWith
	if k.seat != nil {
		copied = k.seat.BackupWith
	}
	full, err = copied(full, kept)
	return k.where(full), err
}

func (k *keeper) Kept() (*job.Job, []part.Part, error) {
	kept, _, err := k.load()
	if err != nil {
		return nil, nil, err
	}
	parts, err := k.book.Parts()
	return kept.Job, parts, err
}

// load returns the bench of this terminal, fresh where it had none: a new seat begins with the
// samples, as a new workbook does.
func (k *keeper) load() (kept store.Bench, fresh bool, err error) {
	if k.seat == nil {
		kept, err = k.book.LoadBench()
		return kept, k.book.Fresh(), err
	}
	kept, known, err := k.seat.Load()
	if err == nil && !known {
		kept = store.Bench{Job: store.SampleBench()}
	}
	return kept, !known, err
}

func (k *keeper) TakeIn(data []byte, name string, take bool) (bench.Intake, error) {
	if err := k.gate.enter(); err != nil {
		return bench.Intake{}, err
	}
	defer k.gate.leave()
	in, err := takeIn(k.book, data, name, k.set.choices.Currency, take)
	if take && err == nil && !in.Refused && !in.Nothing {
		k.others.tell(ui.Elsewhere{Drawer: true, Saved: true})
	}
	return in, err
}

// takeIn says what a file would bring to a workbook, or brings it: a bundle or a job file,
// or else a CSV of parts. Where lines are refused nothing is taken.
func takeIn(book *store.Workbook, data []byte, name, currency string, take bool) (bench.Intake, error) {
	if isJSON(data) {
		return takeInBundle(book, data, name, currency, take)
	}
	drawer, err := book.Parts()
	if err != nil {
		return bench.Intake{}, err
	}
	rows, err := store.ReadCSV(data, drawer)
	if err != nil {
		return bench.Intake{}, wrongContents{err}
	}
	plan := store.PlanImport(rows, drawer)
	out := bench.Intake{Lines: present.Import(plan), Refused: len(plan.Refused) > 0, Nothing: len(plan.New)+len(plan.Changed) == 0}
	if !take || out.Refused || out.Nothing {
		return out, nil
	}
	return out, book.Apply(plan)
}

// wrongContents marks an error of what a file holds.
type wrongContents struct{ error }

// isJSON reports whether a file begins as JSON does: no CSV with a header can.
func isJSON(data []byte) bool {
	data = bytes.TrimLeft(bytes.TrimPrefix(data, []byte("\ufeff")), " \t\r\n")
	return len(data) > 0 && (data[0] == '{' || data[0] == '[')
}

func takeInBundle(book *store.Workbook, data []byte, name, currency string, take bool) (bench.Intake, error) {
	b, err := store.ReadBundle(data, name, time.Now())
	if err != nil {
		return bench.Intake{}, wrongContents{err}
	}
	arrivals, err := book.TakeIn(b, take)
	if err != nil {
		return bench.Intake{}, err
	}
	out := bench.Intake{Lines: present.Arrivals(arrivals), Nothing: true}
	for _, a := range arrivals {
		out.Nothing = out.Nothing && a.Outcome == store.Same
	}
	if b.Currency != currency && len(b.Parts) > 0 {
		out.Lines = append(out.Lines, fmt.Sprintf("prices there are in %s, here in %s: nothing is converted", orNoCurrency(b.Currency), orNoCurrency(currency)))
	}
	return out, nil
}

func orNoCurrency(c string) string {
	if c == "" {
		return "no named currency"
	}
	return c
}

// fromHome lets a path begin with the sign of the home folder, as a shell does.
func fromHome(path string) string {
	if rest, ok := strings.CutPrefix(path, "~/"); ok {
		if home, err := os.UserHomeDir(); err == nil {
			return filepath.Join(home, rest)
		}
	}
	return path
}
