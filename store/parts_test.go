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
	if _, err := w.ClearSamples(); err != nil {
		t.Fatal(err)
	}
	put := func(parts ...part.Part) {
		t.Helper()
		if err := w.PutParts(parts...); err != nil {
			t.Fatal(err)
		}
	}
	put(aHead("z", 100), aHead("a", 125), aHead("m", 150))
	put(aHead("b", 90), aHead("a", 126))
	want := []part.Part{aHead("z", 100), aHead("a", 126), aHead("m", 150), aHead("b", 90)}
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

func TestClearSamplesLeavesWhatWasTouched(t *testing.T) {
	w := openNew(t)
	mine := SampleParts()[3]
	mine.Sample = false
	own := aHead("own", 110)
	if err := w.PutParts(own, mine); err != nil {
		t.Fatal(err)
	}
	n, err := w.ClearSamples()
	if err != nil || n != len(SampleParts())-1 {
		t.Errorf("cleared %d, %v", n, err)
	}
	if got, err := w.Parts(); err != nil || !sameParts(got, []part.Part{mine, own}) {
		t.Errorf("%v, %v", got, err)
	}
	if n, err := w.ClearSamples(); err != nil || n != 0 {
		t.Errorf("cleared %d more, %v", n, err)
	}
	// An ID that was cleared is free again and goes to the end.
	back := SampleParts()[0]
	if err := w.PutParts(back); err != nil {
		t.Fatal(err)
	}
	if got, err := w.Parts(); err != nil || !sameParts(got, []part.Part{mine, own, back}) {
		t.Errorf("%v, %v", got, err)
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
