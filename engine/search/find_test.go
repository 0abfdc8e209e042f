package search_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/record"
	"foreshaft/engine/search"
	"foreshaft/engine/unit"
)

// A search that is ended says so, and one that is not comes to its end by degrees.
func TestCancelAndProgress(t *testing.T) {
	j := bigDrawer(t, 6, 2, 8, 10, 4, 6, 3)
	var last search.Progress
	found, err := search.Find(context.Background(), j, func(p search.Progress) {
		if p.Done < last.Done || p.Matched < last.Matched || p.Done > p.Candidates {
			t.Errorf("%+v after %+v", p, last)
		}
		last = p
	})
	if err != nil || last.Matched != found.Matched || found.Matched == 0 || last.Candidates != found.Candidates {
		t.Errorf("%v, %+v, ends with %+v", err, found, last)
	}
	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	_, err = search.Find(ctx, j, func(search.Progress) {
		calls++
		cancel()
	})
	if !errors.Is(err, context.Canceled) || calls > 4 {
		t.Errorf("ended with %v after %d calls", err, calls)
	}
}

// A list that must not be empty is named; all that is out of stock is no error.
func TestEmptyLists(t *testing.T) {
	for _, list := range []string{"shafts", "nocks", "heads"} {
		j := bigDrawer(t, 1, 1, 1, 1, 1, 1, 1)
		d := &j.Drawer.Value
		switch list {
		case "shafts":
			d.Shafts = nil
		case "nocks":
			d.Nocks = nil
		case "heads":
			d.Heads = nil
		}
		_, err := search.Find(context.Background(), j, nil)
		var wrong *record.Error
		if !errors.As(err, &wrong) || !strings.HasPrefix(wrong.Error(), "drawer."+list+": must not be empty") {
			t.Errorf("no %s: %v", list, err)
		}
	}
	j := bigDrawer(t, 2, 1, 2, 2, 1, 1, 1)
	j.Search.Value.InStock = true
	if found, err := search.Find(context.Background(), j, nil); err != nil || found.Candidates != 8 || found.Matched != 0 || found.Picks != nil {
		t.Errorf("nothing is in stock: %+v, %v", found, err)
	}
	// Without lengths it is the baseline's; without vanes, inserts and collars, without.
	d := &j.Drawer.Value
	j.Search.Value = job.Search{}
	d.Lengths, d.Vanes, d.Inserts, d.Collars = nil, nil, nil, nil
	found, err := search.Find(context.Background(), j, nil)
	if err != nil || found.Candidates != 4 || len(found.Picks) != int(found.Matched) || found.Matched == 0 {
		t.Fatalf("%d of %d, %v", found.Matched, found.Candidates, err)
	}
	if p := found.Picks[0]; p.Length != 29.5*unit.Inch || p.Vanes != search.Without || p.Insert != search.Without || p.Collar != search.Without {
		t.Errorf("%+v", p)
	}
}
