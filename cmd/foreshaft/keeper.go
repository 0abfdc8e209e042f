package main

import (
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/store"
	"foreshaft/ui/bench"
)

// keeper gives the screen what it needs of the workbook.
type keeper struct{ book *store.Workbook }

func (k keeper) SaveBench(j *job.Job, view []byte) error {
	return k.book.SaveBench(store.Bench{Job: j, View: view})
}

func (k keeper) Save(name string, j *job.Job, build int) (int, bool, error) {
	kind := store.KindBench
	if build >= 0 {
		kind, j = store.KindBuild, store.BuildOf(j, build)
	}
	entry, added, err := k.book.Save(kind, name, j)
	return entry.Revisions, added, err
}

func (k keeper) List() ([]bench.Entry, error) {
	// Of a damaged workbook the list has what can still be read.
	entries, err := k.book.List()
	out := make([]bench.Entry, 0, len(entries))
	for _, e := range entries {
		if !e.Binned {
			out = append(out, bench.Entry{ID: e.ID, Name: e.Name, Whole: e.Kind == store.KindBench, Saved: e.Saved, Revisions: e.Revisions})
		}
	}
	return out, err
}

func (k keeper) Load(entry bench.Entry) (*job.Job, error) { return k.book.Load(entry.ID, 0) }

func (k keeper) KeepParts(parts []part.Part) error { return k.book.PutParts(parts...) }
