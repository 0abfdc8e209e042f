package search_test

import (
	"context"
	"errors"
	"maps"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// nearestTo returns by brute force the least that a window is missed by, in its own
// unit, of all candidates that match the rest of a question.
func nearestTo(t *rapid.T, j *job.Job, name string, rest map[string]job.Window) (least float64, some bool) {
	ask := *j
	ask.Search.Value.Where = rest
	key, _ := figure.ByName(name)
	w := j.Search.Value.Where[name]
	setting := sheet.NewSetting(j)
	_, _, all := brute(t, &ask)
	least = math.Inf(1)
	for _, c := range all {
		b := built(&ask, c.pick)
		values := setting.Values(&b)
		if w.Distance.Given {
			values = setting.At(&b, w.Distance.Value)
		}
		if value, ok := values.Get(key); ok {
			value = key.Definition().Unit.Of(value)
			miss := 0.0
			if w.Min.Given {
				miss = max(miss, w.Min.Value-value)
			}
			if w.Max.Given {
				miss = max(miss, value-w.Max.Value)
			}
			least, some = min(least, miss), true
		}
	}
	return least, some
}

// built puts a pick together.
func built(j *job.Job, p search.Pick) arrow.Build {
	d := &j.Drawer.Value
	b := arrow.Build{Length: p.Length, Shaft: d.Shafts[p.Shaft], Nock: d.Nocks[p.Nock], Head: d.Heads[p.Head]}
	if p.Vanes != search.Without {
		b.Vanes = d.Vanes[p.Vanes]
	}
	if p.Insert != search.Without {
		b.Insert = d.Inserts[p.Insert]
	}
	if p.Collar != search.Without {
		b.Collar = d.Collars[p.Collar]
	}
	return b
}

func TestWideningIsTheLeastThereIs(t *testing.T) {
	ones, nevers := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		j := drawers(t)
		// One is narrow, the others are mostly wide.
		narrow := func(name string, low, high, width int) job.Window {
			from := float64(rapid.IntRange(low, high).Draw(t, name))
			if rapid.IntRange(0, 2).Draw(t, name+" is wide") > 0 {
				width = high - low
			}
			return window(from, from+float64(width))
		}
		j.Search.Value.Where = map[string]job.Window{
			"total_weight": narrow("weight", 300, 700, 2), "foc": narrow("foc", 5, 25, 0),
		}
		switch rapid.IntRange(0, 4).Draw(t, "third") {
		case 0:
			j.Search.Value.Where["launch_speed"] = narrow("speed", 200, 330, 2)
		case 1:
			j.Search.Value.Where["weight_per_draw"] = narrow("ratio", 4, 10, 0)
		case 2:
			w := narrow("shift", -10, 10, 0)
			w.Distance = unit.Some(40 * unit.Yard)
			j.Search.Value.Where["impact_shift"] = w
		case 3:
			w := narrow("margin", 5, 20, 1)
			j.Search.Value.Where["launch_margin"] = window(w.Min.Value/10, w.Max.Value/10)
		}
		if _, matched, _ := brute(t, j); matched > 0 {
			return
		}
		got, err := search.Widen(context.Background(), j, nil)
		if err != nil {
			t.Fatal(err)
		}
		check := func(list []search.Wider, name string, least float64, some bool) {
			i := slices.IndexFunc(list, func(w search.Wider) bool { return w.Key.String() == name })
			if some != (i >= 0) {
				t.Fatalf("%s told: %v, by brute force %v (%g)\n%s", name, i >= 0, some, least, j.Encode())
			}
			if !some {
				return
			}
			w := j.Search.Value.Where[name]
			value := list[i].Key.Definition().Unit.Of(list[i].Value)
			miss, below := value-w.Max.Value, false
			if value < w.Min.Value {
				miss, below = w.Min.Value-value, true
			}
			if math.Abs(miss-least) > 1e-6*max(1, math.Abs(w.Min.Value)) || list[i].Below != below {
				t.Fatalf("%s is to be widened to %g (below: %v), by brute force by %g\n%s", name, value, list[i].Below, least, j.Encode())
			}
		}
		for name := range j.Search.Value.Where {
			rest := maps.Clone(j.Search.Value.Where)
			delete(rest, name)
			least, some := nearestTo(t, j, name, rest)
			check(got.One, name, least, some)
		}
		if len(got.One) > 0 {
			ones++
			return
		}
		for name := range j.Search.Value.Where {
			least, some := nearestTo(t, j, name, nil)
			check(got.Never, name, least, some && least > 1e-9*math.Abs(j.Search.Value.Where[name].Min.Value))
		}
		nevers += min(len(got.Never), 1)
	})
	if t.Logf("%d with one to widen, %d with windows that nothing lies in", ones, nevers); ones < 10 || nevers < 5 {
		t.Error("the drawers say too little")
	}
}

// Widened to what is told, the question is matched.
func TestWhatIsWidenedLetsSomethingIn(t *testing.T) {
	j := bigDrawer(t, 3, 2, 6, 9, 2, 3, 3)
	j.Search.Value.Where = map[string]job.Window{"total_weight": window(440, 445), "foc": window(21, 22), "launch_margin": window(0.9, 1)}
	got, err := search.Widen(context.Background(), j, func(p search.Progress) {
		if p.Done > p.Candidates || p.Matched != 0 {
			t.Errorf("%d of %d are done, %d match", p.Done, p.Candidates, p.Matched)
		}
	})
	if err != nil || len(got.One) == 0 {
		t.Fatalf("%+v, %v", got, err)
	}
	for _, w := range got.One {
		wide := *j
		wide.Search.Value.Where = maps.Clone(j.Search.Value.Where)
		at, value := wide.Search.Value.Where[w.Key.String()], w.Key.Definition().Unit.Of(w.Value)
		if w.Below {
			at.Min.Value = value
		} else {
			at.Max.Value = value
		}
		wide.Search.Value.Where[w.Key.String()] = at
		found, err := search.Find(context.Background(), &wide, nil)
		if err != nil || found.Matched == 0 || written(found.Builds[0]) != written(w.Build) {
			t.Errorf("with %s widened to %g %d match, %v", w.Key, value, found.Matched, err)
		}
	}
}

func TestWideningEndsWithItsContext(t *testing.T) {
	j := bigDrawer(t, 3, 2, 6, 9, 2, 3, 3)
	j.Search.Value.Where = map[string]job.Window{"foc": window(40, 41)}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := search.Widen(ctx, j, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	j.Drawer.Value.Heads = nil
	if _, err := search.Widen(context.Background(), j, nil); err == nil {
		t.Error("a drawer without heads is searched")
	}
}

// The matches so far are the first of those that were decided, and at last what
// Find returns.
func TestReportsHaveTheMatchesSoFar(t *testing.T) {
	j := bigDrawer(t, 5, 3, 6, 9, 2, 3, 3)
	j.Search.Value.Where = map[string]job.Window{"total_weight": window(440, 560)}
	j.Search.Value.Limit = unit.Some(30)
	var last *search.Found
	reports := 0
	found, err := search.Find(context.Background(), j, func(p search.Progress) {
		reports++
		now := p.First()
		if last != nil && (now.Matched < last.Matched || len(now.Picks) < len(last.Picks)) || now.Matched != p.Matched {
			t.Errorf("%d of %d matches, before %d of %d", len(now.Picks), now.Matched, len(last.Picks), last.Matched)
		}
		last = now
	})
	if err != nil || reports != 15 || !slices.Equal(last.Picks, found.Picks) || last.Matched != found.Matched {
		t.Errorf("%v after %d reports: at last %d matches, found %d", err, reports, last.Matched, found.Matched)
	}
}
