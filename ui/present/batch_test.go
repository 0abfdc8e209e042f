package present_test

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/dozen"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/present"
)

func weighed(grains ...float64) []dozen.Piece {
	var out []dozen.Piece
	for _, gr := range grains {
		out = append(out, dozen.Piece{Weight: unit.Mass(gr) * unit.Grain})
	}
	return out
}

func TestWhatAWeighingComesTo(t *testing.T) {
	b := &dozen.Batch{Shafts: weighed(231.4, 231.2, 231.6, 231.5, 231.3, 236, 231.4, 231.6, 240)}
	b.Shafts[8].LeftOut = true
	w := present.WeighingOf(unit.System{}, b, dozen.Shafts)
	// By hand: mean 232.0; squared deviations .36+.64+.16+.25+.49+16+.36+.16 = 18.42; /7, root 1.622.
	want := []string{
		"8 shafts, and 1 left out", "231.2 to 236.0 gr, spread 4.8", "mean 232.00, standard deviation 1.62",
		// Quartiles 231.325 and 231.6: the fences lie 0.4125 beyond them.
		"! outliers: 6 (below 230.91 or above 232.01)",
	}
	if got := w.Words(); !slices.Equal(got, want) {
		t.Errorf("%q\nwant %q", got, want)
	}
	if !w.Outlier(5) || w.Outlier(8) || w.Outlier(0) {
		t.Error("another piece is the outlier")
	}
	// In grams the same pieces are told in grams.
	if got := present.WeighingOf(unit.System{Grams: true}, b, dozen.Shafts).Words()[1]; got != "14.98 to 15.29 g, spread 0.31" {
		t.Errorf("in grams: %q", got)
	}
	few := present.WeighingOf(unit.System{}, &dozen.Batch{Heads: weighed(100, 101)}, dozen.Heads)
	if got := few.Words(); got[len(got)-1] != "outliers are told from 8 heads on" {
		t.Errorf("%q", got)
	}
	if got := present.WeighingOf(unit.System{}, &dozen.Batch{}, dozen.Heads).Words(); got != nil {
		t.Errorf("nothing weighed: %q", got)
	}
}

// A histogram counts every piece once, in classes that follow on each other.
func TestAHistogramCountsEveryPieceOnce(t *testing.T) {
	behind := regexp.MustCompile(`^ *([−\d.]+)(?: up to ([−\d.]+))?(?: (■+) (\d+))?$`)
	rapid.Check(t, func(t *rapid.T) {
		step := rapid.SampledFrom([]float64{1, 0.1, 0.01}).Draw(t, "step")
		var list []float64
		for range rapid.IntRange(2, 40).Draw(t, "pieces") {
			list = append(list, 300+step*float64(rapid.IntRange(-60, 60).Draw(t, "gr")))
		}
		rows, cells := rapid.IntRange(2, 12).Draw(t, "rows"), rapid.IntRange(24, 60).Draw(t, "cells")
		w := present.WeighingOf(unit.System{}, &dozen.Batch{Heads: weighed(list...)}, dozen.Heads)
		lines := w.Histogram(rows, cells)
		if slices.Max(list) == slices.Min(list) {
			return
		}
		if len(lines) == 0 || len(lines) > rows {
			t.Fatalf("%d lines for %d: %q", len(lines), rows, lines)
		}
		total := 0
		for _, l := range lines {
			m := behind.FindStringSubmatch(l)
			if m == nil || len([]rune(l)) > cells {
				t.Fatalf("%q in %d cells", l, cells)
			}
			from, _ := strconv.ParseFloat(m[1], 64)
			to, err := strconv.ParseFloat(m[2], 64)
			if err != nil {
				to = from + step
			}
			n := 0
			for _, x := range list {
				if x > from-1e-6 && x < to-1e-6 {
					n++
				}
			}
			shown, _ := strconv.Atoi(m[4])
			if shown != n {
				t.Fatalf("%q: %d of %v are there", l, n, list)
			}
			total += n
		}
		if total != len(list) {
			t.Fatalf("%d of %d are counted: %q", total, len(list), lines)
		}
	})
}

func TestWhatAPairingComesTo(t *testing.T) {
	j := store.SampleBench().Clone()
	b := &j.Builds[0]
	shaft, head := b.ShaftWeight().In(unit.Grain), b.Head.Weight.In(unit.Grain)
	b.Dozen = unit.Some(dozen.Batch{Shafts: weighed(shaft, shaft+1, shaft+2, shaft+9), Heads: weighed(head, head-1, head-2, head-2)})
	p, err := b.Dozen.Value.Pair()
	if err != nil {
		t.Fatal(err)
	}
	less := b.Dozen.Value.Clone()
	less.Arrows = unit.Some(3)
	fewer, _ := less.Pair()
	s := sheet.Evaluate(j)
	all := strings.Join(present.Matched(s, 0, p, fewer).Words, "\n")
	shots := s.Shots(0, p, 60*unit.Yard)
	low, high := math.Inf(1), math.Inf(-1)
	for _, a := range shots {
		low, high = min(low, a.Drop.In(unit.Inch)), max(high, a.Drop.In(unit.Inch))
	}
	for _, want := range []string{
		"4 arrows of ", "spread 7.0", "no other choice of the pieces has a smaller spread", "one arrow fewer: spread 0.0, without shaft 4, head ",
		fmt.Sprintf("%.2f in at 60 yd", high-low),
	} {
		if !strings.Contains(all, want) {
			t.Errorf("it does not say %q:\n%s", want, all)
		}
	}
	b.Dozen.Value.Plan = b.Dozen.Value.PlanOf(p)
	if all := strings.Join(present.Matched(sheet.Evaluate(j), 0, p, nil).Words, "\n"); !strings.Contains(all, "the list being built") || strings.Contains(all, "smaller spread") {
		t.Errorf("%s", all)
	}
	// Without readings nothing is said of where they hit.
	j.Bow.Value.Readings, j.Bow.Value.Rating.Given = nil, false
	if all := strings.Join(present.Matched(sheet.Evaluate(j), 0, p, nil).Words, "\n"); !strings.Contains(all, "needs the bow's readings") || strings.Contains(all, " yd") {
		t.Errorf("%s", all)
	}
}
