package store

import (
	"errors"
	"slices"
	"testing"

	bolt "go.etcd.io/bbolt"
)

func TestEachSeatHasABenchOfItsOwn(t *testing.T) {
	w := openNew(t)
	own, err := w.LoadBench()
	if err != nil {
		t.Fatal(err)
	}
	a, b := w.Seat("a-1"), w.Seat("a-10")
	if _, known, err := a.Load(); known || err != nil {
		t.Errorf("a new seat has a bench: %v", err)
	}
	if c, err := a.Choices(); err != nil || c.Format != SettingsFormat || c.Theme != "" {
		t.Errorf("a new seat has choices: %+v, %v", c, err)
	}
	if err := errors.Join(a.Save(Bench{oneBuild(29), []byte("at a")}), b.Save(Bench{oneBuild(30), nil}), a.KeepChoices(Settings{Format: SettingsFormat, Theme: "mono"})); err != nil {
		t.Fatal(err)
	}
	closeAndCheck(t, w)
	w = openAt(t, w.path, newClock())
	for _, c := range []struct {
		seat        Seat
		inches      float64
		view, theme string
	}{{w.Seat("a-1"), 29, "at a", "mono"}, {w.Seat("a-10"), 30, "", ""}} {
		got, known, err := c.seat.Load()
		if err != nil || !known || !got.Job.Equal(oneBuild(c.inches)) || string(got.View) != c.view {
			t.Errorf("%s: %v, %+v, %v", c.seat.name, known, got, err)
		}
		if chosen, err := c.seat.Choices(); err != nil || chosen.Theme != c.theme {
			t.Errorf("%s: chosen %+v, %v", c.seat.name, chosen, err)
		}
	}
	if now, err := w.LoadBench(); err != nil || !now.Job.Equal(own.Job) {
		t.Errorf("the workbook's own bench is another: %v", err)
	}
	if _, err := Examine(backUp(t, w)); err != nil {
		t.Error(err)
	}
}

func TestASeatKeepsNothingThatCouldNotBeReadBack(t *testing.T) {
	w := openNew(t)
	seat := w.Seat("a-1")
	bad := oneBuild(30)
	bad.Builds[0].Length = -1
	var invalid *InvalidError
	if err := seat.Save(Bench{Job: bad}); !errors.As(err, &invalid) {
		t.Errorf("a length below nothing: %v", err)
	}
	if err := seat.KeepChoices(Settings{Format: SettingsFormat, Theme: "purple"}); !errors.As(err, &invalid) {
		t.Errorf("a theme that there is not: %v", err)
	}
	if _, known, err := seat.Load(); known || err != nil {
		t.Errorf("something was kept: %v", err)
	}
}

func TestADamagedSeatIsFoundAndTheRestGoesOn(t *testing.T) {
	for _, what := range [][]byte{keyJob, keyView, keyChoices} {
		w, err := Open(newPath(t), newClock().options())
		if err != nil {
			t.Fatal(err)
		}
		bad, good := w.Seat("a-1"), w.Seat("a-2")
		for _, s := range []Seat{bad, good} {
			if err := errors.Join(s.Save(Bench{oneBuild(29), []byte("a view")}), s.KeepChoices(Settings{Format: SettingsFormat, Theme: "mono"})); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.update(func(tx *bolt.Tx) error {
			b := tx.Bucket(bucketBench)
			value := slices.Clone(b.Get(bad.key(what)))
			value[len(value)-1] ^= 1
			return b.Put(bad.key(what), value)
		}); err != nil {
			t.Fatal(err)
		}
		_, _, errBench := bad.Load()
		_, errChoices := bad.Choices()
		var damaged *DamagedError
		if (errBench == nil) == (errChoices == nil) || !errors.As(errors.Join(errBench, errChoices), &damaged) {
			t.Errorf("%s: %v, %v", what, errBench, errChoices)
		}
		says(t, errors.Join(errBench, errChoices), `the terminal "a-1"`, "checksum")
		if bench, known, err := good.Load(); err != nil || !known || count(bench.Job) != 29_000 {
			t.Errorf("%s: the other seat: %v", what, err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		if _, err := Examine(w.path); !errors.As(err, &damaged) {
			t.Errorf("%s: examined: %v", what, err)
		}
	}
}
