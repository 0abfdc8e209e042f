package dozen

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/unit"
)

// some makes lists of weights as a scale shows them: a count of each kind, how far pieces
// differ (in grains, a normal spread about a mean that does not matter) and the scale's
// last place.
func some(random *rand.Rand, counts []int, differ []float64, place float64) Weights {
	var w Weights
	for k, n := range counts {
		list := w.Of(Kind(k))
		for range n {
			gr := 100*float64(k+1) + differ[k]*random.NormFloat64()
			*list = append(*list, math.Round(gr/place)*place)
		}
		for i, gr := range *list { // as it would be typed
			fmt.Sscan(fmt.Sprintf("%.3f", gr), &(*list)[i])
		}
	}
	return w
}

// brute returns the least spread by trying every choice and order of the pieces.
func brute(p *problem) int64 {
	least := int64(math.MaxInt64)
	totals := make([]int64, p.n)
	var list func(l int)
	list = func(l int) {
		if l == len(p.lists) {
			least = min(least, slices.Max(totals)-slices.Min(totals))
			return
		}
		used := make([]bool, len(p.lists[l]))
		var place func(a int)
		place = func(a int) {
			if a == p.n {
				list(l + 1)
				return
			}
			for i, w := range p.lists[l] {
				if used[i] {
					continue
				}
				if l == 0 && a > 0 && i < last(used) { // which arrow is which does not matter
					continue
				}
				used[i] = true
				totals[a] += w
				place(a + 1)
				totals[a] -= w
				used[i] = false
			}
		}
		place(0)
	}
	list(0)
	return least
}

func last(used []bool) int {
	for i := len(used) - 1; i >= 0; i-- {
		if used[i] {
			return i
		}
	}
	return -1
}

func problemOf(w *Weighed) *problem {
	p := &problem{n: w.Count()}
	for k := range Kinds {
		if list := *w.Weights.Of(k); len(list) > 0 {
			whole := make([]int64, len(list))
			for i, gr := range list {
				whole[i] = int64(math.Round(gr / step))
			}
			p.lists = append(p.lists, whole)
		}
	}
	return p
}

// checkPairing fails unless a pairing is one of what was weighed and says of itself what is so.
func checkPairing(t testing.TB, w *Weighed, p *Pairing) {
	t.Helper()
	if len(p.Arrows) != w.Count() {
		t.Fatalf("%d arrows, want %d", len(p.Arrows), w.Count())
	}
	for k := range Kinds {
		list := *w.Weights.Of(k)
		if p.Has[k] != (len(list) > 0) {
			t.Fatalf("it has %s: %v", k, p.Has[k])
		}
		seen := map[int]int{}
		for _, a := range p.Arrows {
			if p.Has[k] {
				seen[a.Piece[k]]++
			}
		}
		for _, i := range p.LeftOut[k] {
			seen[i]++
		}
		if len(seen) != len(list) {
			t.Fatalf("%d of %d %s are used or left out", len(seen), len(list), k)
		}
		for i, n := range seen {
			if n != 1 || i < 0 || i >= len(list) {
				t.Fatalf("%s %d is there %d times", k, i, n)
			}
		}
	}
	light, heavy := math.Inf(1), math.Inf(-1)
	for i, a := range p.Arrows {
		total := 0.0
		for k := range Kinds {
			if p.Has[k] {
				total += (*w.Weights.Of(k))[a.Piece[k]]
			}
		}
		if math.Abs(total-a.Total) > 1e-6 {
			t.Fatalf("arrow %d weighs %v, it says %v", i, total, a.Total)
		}
		if i > 0 && a.Total < p.Arrows[i-1].Total {
			t.Fatal("the arrows are not in order, the lightest first")
		}
		light, heavy = min(light, a.Total), max(heavy, a.Total)
	}
	if math.Abs(p.Spread-(heavy-light)) > 1e-6 || p.Bound > p.Spread || p.Proven != (p.Bound == p.Spread) {
		t.Fatalf("spread %v of totals %v, bound %v, proven %v", p.Spread, heavy-light, p.Bound, p.Proven)
	}
}

// Against every choice and order there is, on sets small enough for that.
func TestPairingIsLeastAgainstEveryOrder(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	places := []float64{1, 0.1, 0.01, 0.001}
	for i := range 1500 {
		counts := make([]int, 1+i%4)
		n := 2 + random.IntN(3) // arrows
		for l := range counts {
			counts[l] = n + random.IntN(2)
			if len(counts) == 4 {
				n = min(n, 3)
				counts[l] = n + random.IntN(2)
			}
		}
		differ := make([]float64, len(counts))
		for l := range differ {
			differ[l] = 4 * random.Float64()
		}
		w := &Weighed{Format: Format, Weights: some(random, counts, differ, places[random.IntN(len(places))]), Arrows: unit.Some(n)}
		if err := w.Check(); err != nil {
			t.Fatal(err)
		}
		got, least := Pair(w), grains(brute(problemOf(w)))
		checkPairing(t, w, got)
		if got.Bound > least || got.Bound < 0.8*least {
			t.Errorf("%+v, %d arrows: bound %v, the least is %v", w.Weights, n, got.Bound, least)
		}
		if got.Spread != least || !got.Proven {
			t.Errorf("%+v, %d arrows: spread %v (proven %v), the least is %v", w.Weights, n, got.Spread, got.Proven, least)
		}
	}
}

// Two lists of equal count go together in opposite order (rearrangement: any other order
// has a sum as light or lighter and one as heavy or heavier).
func TestTwoEqualListsGoInOppositeOrder(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		w := &Weighed{Format: Format, Weights: some(random, []int{12, 12}, []float64{3, 1}, 0.1)}
		got := Pair(w)
		checkPairing(t, w, got)
		if !got.Proven {
			t.Error("not proven")
		}
		for _, a := range got.Arrows {
			for _, b := range got.Arrows {
				if w.Weights.Shafts[a.Piece[Shafts]] < w.Weights.Shafts[b.Piece[Shafts]] && w.Weights.Heads[a.Piece[Heads]] < w.Weights.Heads[b.Piece[Heads]] {
					t.Fatalf("shafts %v and %v have heads in the same order", a, b)
				}
			}
		}
	}
}

// Dozens as they are weighed in life: never worse than before, the bound holds what it
// promises, and what is not proven says how far off it may be.
func TestADozenOnAScale(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	proven := 0
	const sets = 60
	for i := range sets {
		counts, place := []int{12, 12, 12}, 0.1
		switch i % 3 {
		case 1:
			counts = []int{14, 13, 12}
		case 2:
			counts = append(counts, 12)
		}
		w := &Weighed{Format: Format, Weights: some(random, counts, []float64{2, 0.6, 0.3, 0.2}, place)}
		got := Pair(w)
		checkPairing(t, w, got)
		if got.Proven {
			proven++
		}
		if gap := got.Spread - got.Bound; gap > 0.45 || got.Proven != (gap == 0) {
			t.Errorf("%v: spread %.1f, bound %.1f, proven %v", counts, got.Spread, got.Bound, got.Proven)
		}
	}
	if proven < sets/2 {
		t.Errorf("%d of %d are proven", proven, sets)
	}
}

func TestTheAnswerIsInTheFormat(t *testing.T) {
	w, err := Decode([]byte(`{"format": "foreshaft-dozen/1", "weights_gr": {"shafts": [250.1, 251.3, 249.9], "heads": [100.2, 99.9]}, "arrows": 2}`))
	if err != nil {
		t.Fatal(err)
	}
	p := Pair(w)
	checkPairing(t, w, p)
	got := p.Answer()
	var out struct {
		Format   string
		Spread   *float64         `json:"spread_gr"`
		Bound    *float64         `json:"bound_gr"`
		Proven   *bool            `json:"proven"`
		Arrows   []map[string]any `json:"arrows"`
		LeftOver map[string][]int `json:"left_out"`
	}
	d := json.NewDecoder(bytes.NewReader(got))
	d.DisallowUnknownFields()
	if err := d.Decode(&out); err != nil {
		t.Fatal(err)
	}
	// 249.9 + 100.2 = 250.1 + 100.0: the two light shafts, the lighter with the heavier head.
	want := `{"format":"foreshaft-pairing/1","spread_gr":0.1,"bound_gr":0.1,"proven":true,"arrows":[{"shaft":0,"head":1,"total_gr":350},{"shaft":2,"head":0,"total_gr":350.1}],"left_out":{"shafts":[1],"heads":[]}}`
	var compact bytes.Buffer
	if err := json.Compact(&compact, got); err != nil || compact.String() != want {
		t.Errorf("%s\nwant\n%s", compact.String(), want)
	}
}

func TestWhatIsNoDozenIsRefused(t *testing.T) {
	for text, want := range map[string]string{
		`{"format": "foreshaft-dozen/2", "weights_gr": {"shafts": [1]}}`:                                     `format: must be "foreshaft-dozen/1"`,
		`{"format": "foreshaft-dozen/1"}`:                                                                    "weights_gr: is missing",
		`{"format": "foreshaft-dozen/1", "weights_gr": {}}`:                                                  "weights_gr: must have at least one list",
		`{"format": "foreshaft-dozen/1", "weights_gr": {"shafts": []}}`:                                      "weights_gr: must have at least one list",
		`{"format": "foreshaft-dozen/1", "weights_gr": {"shafts": [1, -2]}}`:                                 "weights_gr.shafts[1]: must be 0 to 1000, got -2",
		`{"format": "foreshaft-dozen/1", "weights_gr": {"shafts": [1, null]}}`:                               "weights_gr.shafts[1]",
		`{"format": "foreshaft-dozen/1", "weights_gr": {"points": [1]}}`:                                     "weights_gr.points: is not a key",
		`{"format": "foreshaft-dozen/1", "weights_gr": {"shafts": [1, 2], "heads": [1, 2, 3]}, "arrows": 3}`: "arrows: must be at most 2, as many as there are shafts, got 3",
		`{"format": "foreshaft-dozen/1", "weights_gr": {"shafts": [1]}, "arrows": 0}`:                        "arrows: must be 1 to 500, got 0",
		`{"format": "foreshaft-dozen/1", "weights_gr": {"shafts": [1]}, "arrows": 1.5}`:                      "arrows",
	} {
		if _, err := Decode([]byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
	}
}

// However much is weighed it ends soon, with a pairing of it.
func TestLargeListsEnd(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 10))
	for _, counts := range [][]int{{500, 500}, {120, 120, 120, 120}, {64, 64, 64}, {200, 144, 130}} {
		w := &Weighed{Format: Format, Weights: some(random, counts, []float64{300, 300, 300, 300}, 0.001), Arrows: unit.Some(slices.Min(counts) - 1)}
		for k := range Kinds { // weights of any size, not below nothing
			for i, gr := range *w.Weights.Of(k) {
				(*w.Weights.Of(k))[i] = math.Min(math.Abs(gr), 1000)
			}
		}
		if err := w.Check(); err != nil {
			t.Fatal(err)
		}
		checkPairing(t, w, Pair(w))
	}
}

func BenchmarkThreeListsOfTwelve(b *testing.B) {
	for _, place := range []float64{0.1, 0.01, 0.001} {
		b.Run(fmt.Sprintf("%g gr", place), func(b *testing.B) {
			random := rand.New(rand.NewPCG(7, 8))
			var sets []*Weighed
			for range 16 {
				sets = append(sets, &Weighed{Format: Format, Weights: some(random, []int{12, 12, 12}, []float64{2, 0.6, 0.3}, place)})
			}
			i := 0
			for b.Loop() {
				Pair(sets[i%len(sets)])
				i++
			}
		})
	}
}
