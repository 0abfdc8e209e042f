package store

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"testing"

	"foreshaft/engine/part"
	"foreshaft/engine/record"
)

// Whatever a price list holds, reading it ends in rows that say what they are; what is taken
// of it is written as a list that reads the same.
func FuzzReadCSV(f *testing.F) {
	drawer := SampleParts()[:12]
	f.Add(WriteCSV(drawer, false))
	f.Add(WriteCSV(drawer, true))
	for _, text := range []string{"", "kind,name,weight_gr\nhead,Tip,100\n", "\ufeffkind;name;weight_gr\r\nhead;Tip;100,5\r\n", "kind\tname\nshaft\t=1+1\n", "sep=;\nkind;weight_gr\nnock;1.234,5\n", "kind,name\n\"head,Tip\n", "a,b\n1,2\n", "kind,weight_gr\nhead,1e400\nhead,-\n"} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		rows, err := ReadCSV(data, drawer)
		if err != nil {
			return
		}
		var parts []part.Part
		for i, r := range rows {
			if r.Err == nil {
				p := r.Part
				if p.ID == "" {
					p.ID = fmt.Sprintf("part-%d", 1000+i)
				}
				parts = append(parts, p)
			}
		}
		for _, commas := range []bool{false, true} {
			again, err := ReadCSV(WriteCSV(parts, commas), parts)
			if err != nil || len(again) != len(parts) {
				t.Fatalf("%d parts are %d rows, %v", len(parts), len(again), err)
			}
			for i, r := range again {
				if r.Err != nil || !record.Equal(r.Part, parts[i]) {
					t.Fatalf("row %d: %v\n%s\n%s", i, r.Err, record.Encode(r.Part), record.Encode(parts[i]))
				}
			}
		}
	})
}

// Whatever a bundle holds, taking it in is refused or leaves a workbook that is whole.
func FuzzTakeIn(f *testing.F) {
	w := openNew(f)
	whole, err := w.Bundle(Scope{})
	if err != nil {
		f.Fatal(err)
	}
	whole.Parts = whole.Parts[:5]
	f.Add(whole.Encode())
	empty := readFile(f, copyTo(f, w))
	for _, text := range []string{"", "{}", `{"format":"foreshaft-workbook/1"}`, `{"format":"foreshaft-workbook/1","customers":[{"name":"A"},{"name":"a"}]}`, `{"format":"foreshaft-workbook/1","saved":[{"kind":"build","name":"x","revisions":[]}]}`} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		b, err := ReadBundle(data, "a file", newClock().Now())
		if err != nil {
			return
		}
		w := openAt(t, writeFile(t, newPath(t), empty), newClock())
		_, err = w.TakeIn(b, true)
		var invalid *InvalidError
		if err != nil && !errors.As(err, &invalid) && bytes.Contains([]byte(err.Error()), []byte("damaged")) {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		if _, err := Examine(w.path); err != nil {
			t.Fatal(err)
		}
	})
}

// copyTo returns a copy of an open workbook.
func copyTo(t testing.TB, w *Workbook) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "copy.db")
	if err := w.BackupTo(path); err != nil {
		t.Fatal(err)
	}
	return path
}
