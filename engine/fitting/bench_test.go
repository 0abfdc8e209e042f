package fitting_test

import (
	"context"
	"fmt"
	"testing"

	"foreshaft/engine/fitting"
	"foreshaft/engine/part"
	"foreshaft/engine/search"
	"foreshaft/engine/unit"
)

// One proposal from drawers of a few parts up to those of a large shop.
func BenchmarkPropose(b *testing.B) {
	for _, times := range []int{1, 4, 10} {
		for _, budget := range []float64{0, 200} {
			j, parts, a := plain(b)
			a.Budget = budget
			var all []part.Part
			r := seeded(1)
			for range times {
				for _, p := range parts { // alike, and no two the same
					p.Measured = unit.Some(part.Measured{Weight: p.StatedWeight() * unit.Mass(r.between(0.9, 1.1)), WeightPerInch: p.Shaft.Value.WeightPerInch.Value * unit.LinearDensity(r.between(0.9, 1.1))})
					all = append(all, p)
				}
			}
			b.Run(fmt.Sprintf("%d parts, budget %g", len(all), budget), func(b *testing.B) {
				candidates, looks := uint64(0), 0
				for b.Loop() {
					p, err := fitting.Propose(context.Background(), j, all, a, unit.System{}, func(p search.Progress) {
						candidates = p.Candidates
						if p.Done == p.Candidates {
							looks++
						}
					})
					if err != nil || len(p.Offers) != 3 {
						b.Fatalf("%d builds: %v", len(p.Offers), err)
					}
				}
				b.ReportMetric(float64(candidates), "candidates")
				b.ReportMetric(float64(looks)/float64(b.N), "looks/op")
			})
		}
	}
}
