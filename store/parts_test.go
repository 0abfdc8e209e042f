package store

import (
	"errors"
	"math"
	"slices"
	"testing"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

func aHead(id string, weight float64) part.Part {
	return part.Part{ID: id, Kind: part.KindHead, Head: unit.Some(part.Head{Name: "head " + id, Weight: grains(weight)})}
}

func TestPartsKeepTheOrderInWhichTheyCame(t *testing.T) {
	w := openNew(t)
	put := func(parts ...part.Part) {
		t.Helper()
		if err := w.PutParts(parts...); err != nil {
			t.Fatal(err)
		}
	}
	put(aHead("z", 100), aHead("a", 125), aHead("m", 150))
	put(aHead("b", 90), aHead("a", 126))
	// Retiring a part leaves it where it is: builds may still use it.
	retired := SampleParts()[0]
	retired.Retired = true
	put(retired)
	want := append(SampleParts(), aHead("z", 100), aHead("a", 126), aHead("m", 150), aHead("b", 90))
	want[0] = retired
	if got, err := w.Parts(); err != nil || !sameParts(got, want) {
		t.Errorf("%v, %v", got, err)
	}
}

func TestPutPartsIsAllOrNone(t *testing.T) {
	w := openNew(t)
	before, err := w.Parts()
	if err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string]part.Part{
		"no id":     aHead("", 100),
		"no piece":  {ID: "x", Kind: part.KindNock},
		"no kind":   {ID: "x", Head: unit.Some(part.Head{})},
		"NaN":       aHead("x", math.NaN()),
		"too heavy": aHead("x", 5000),
	} {
		err := w.PutParts(aHead("good", 100), bad)
		var invalid *InvalidError
		if !errors.As(err, &invalid) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		says(t, err, "was not saved", "safe")
	}
	if after, err := w.Parts(); err != nil || !sameParts(after, before) {
		t.Errorf("%d parts, %v", len(after), err)
	}
}

func TestNewIDsAreNeverGivenTwice(t *testing.T) {
	w := openNew(t)
	if err := w.PutParts(aHead("part-2", 100), aHead("part-3", 100)); err != nil {
		t.Fatal(err)
	}
	var got []string
	for i := range 4 {
		id, err := w.NewID()
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, id)
		if i == 1 {
			closeAndCheck(t, w)
			w = openAt(t, w.path, newClock())
		}
	}
	if want := []string{"part-1", "part-4", "part-5", "part-6"}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
