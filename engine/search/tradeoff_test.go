package search_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// What nothing beats is what comparing every match with every other leaves.
func TestTradeOffIsWhatNothingBeats(t *testing.T) {
	several, slow := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		j := drawers(t)
		if rapid.Bool().Draw(t, "everything") {
			j.Search.Value = job.Search{Misfits: true, Dangers: true}
		}
		keys := rapid.Permutation([]figure.Key{figure.TotalWeight, figure.FOC, figure.LaunchSpeed, figure.FrontWeight, figure.LaunchMargin, figure.SteerMargin, figure.WeightPerDraw}).Draw(t, "figures")
		figures := [2]figure.Key{keys[0], keys[1]}
		more := [2]bool{rapid.Bool().Draw(t, "more of a"), rapid.Bool().Draw(t, "more of b")}
		_, matched, all := brute(t, j)
		setting := sheet.NewSetting(j)
		var values [][2]float64 // as if less were wanted, rounded so that ties tie
		var picks []search.Pick
		for _, c := range all {
			b := built(j, c.pick)
			of := setting.Values(&b)
			var v [2]float64
			complete := true
			for i, key := range figures {
				value, ok := of.Get(key)
				value = math.Round(key.Definition().Unit.Of(value) * 1e6)
				if more[i] {
					value = -value
				}
				v[i], complete = value, complete && ok
			}
			if complete {
				values, picks = append(values, v), append(picks, c.pick)
			}
		}
		want := map[[2]float64]bool{}
		for _, v := range values {
			if !slices.ContainsFunc(values, func(o [2]float64) bool { return o != v && o[0] <= v[0] && o[1] <= v[1] }) {
				want[v] = true
			}
		}
		got, err := search.TradeOff(context.Background(), j, figures, more, nil)
		if err != nil || got.Matched != matched {
			t.Fatalf("%v, %d match, by brute force %d", err, got.Matched, matched)
		}
		last := math.Inf(-1)
		for _, p := range got.Picks {
			v := values[slices.Index(picks, p)]
			if !want[v] || v[0] < last {
				t.Fatalf("%v (%v) is beaten, told twice or out of order\n%s", p, v, j.Encode())
			}
			last = v[0]
			delete(want, v)
		}
		if len(want) > 0 {
			t.Fatalf("%v are left out of %v\n%s", want, got.Picks, j.Encode())
		}
		if len(got.Picks) > 1 {
			several++
		}
		if slices.Contains(figures[:], figure.LaunchMargin) || slices.Contains(figures[:], figure.SteerMargin) {
			slow++
		}
	})
	if t.Logf("%d with several, %d with figures that sums do not tell", several, slow); several < 10 || slow < 10 {
		t.Error("the drawers say too little")
	}
}

// On a shop's drawer, where whole groups match: nothing that Find lists beats it.
func TestTradeOffOfAShop(t *testing.T) {
	j := bigDrawer(t, 4, 2, 8, 9, 2, 3, 3)
	j.Search.Value.Where = map[string]job.Window{"total_weight": window(420, 600)}
	j.Search.Value.Limit = unit.Some(1000000)
	all, err := search.Find(context.Background(), j, nil)
	if err != nil || all.Matched != uint64(len(all.Builds)) || all.Matched < 500 {
		t.Fatalf("%d match, %v", all.Matched, err)
	}
	edge, err := search.TradeOff(context.Background(), j, [2]figure.Key{figure.LaunchSpeed, figure.FOC}, [2]bool{true, true}, nil)
	if err != nil || edge.Matched != all.Matched || len(edge.Builds) < 5 {
		t.Fatalf("%d of %d, %v", len(edge.Builds), edge.Matched, err)
	}
	setting := sheet.NewSetting(j)
	both := func(f *search.Found, i int) (speed, foc float64) {
		values := setting.Some(&f.Builds[i], []figure.Key{figure.LaunchSpeed, figure.FOC})
		speed, _ = values.Get(figure.LaunchSpeed)
		foc, _ = values.Get(figure.FOC)
		return speed, foc
	}
	ends := make([][2]float64, len(edge.Builds))
	for k := range ends {
		ends[k][0], ends[k][1] = both(edge, k)
	}
	onEdge := 0
	for i := range all.Builds {
		speed, foc := both(all, i)
		beaten, beats := false, false
		for _, end := range ends {
			s, f := end[0], end[1]
			beaten = beaten || s >= speed-1e-9 && f >= foc-1e-12
			beats = beats || speed >= s && foc >= f && (speed > s+1e-9 || foc > f+1e-12)
		}
		if beats || !beaten {
			t.Fatalf("match %d (%g m/s, %g) beats something or is beaten by nothing", i, speed, foc)
		}
		if slices.Contains(edge.Picks, all.Picks[i]) {
			onEdge++
		}
	}
	if onEdge != len(edge.Picks) {
		t.Errorf("%d of %d are matches", onEdge, len(edge.Picks))
	}
}
