package search_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"runtime"
	"testing"
	"time"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/search"
	"foreshaft/engine/unit"
)

// bigDrawer is a drawer of a shop, generated with a fixed seed (invented): as many
// shafts, lengths, inserts, heads, nocks, sets of vanes and collars.
func bigDrawer(t testing.TB, shafts, lengths, inserts, heads, nocks, vanes, collars int) *job.Job {
	t.Helper()
	r := rand.New(rand.NewPCG(20260312, 6))
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	gr := func(low, high float64) unit.Mass {
		return unit.Mass(float64(int(between(low, high)*10))/10) * unit.Grain
	}
	in := func(x float64) unit.Length { return unit.Length(x) * unit.Inch }
	j, err := job.Decode([]byte(`{"format":"foreshaft-job/1","bow":{"peak_weight_lb":68,"draw_length_in":29,"minimum_arrow_gr":350,"maximum_peak_weight_lb":70,
		"readings":[{"arrow_gr":420,"speed_fps":291,"sd_fps":1},{"arrow_gr":560,"speed_fps":257,"sd_fps":1}]},
		"sight":{"peep_to_pin_in":34,"peep_above_nock_in":4.5},
		"builds":[{"name":"base","length_in":29.5,"shaft":{"weight_gr_per_in":9,"spine_in":0.3,"outer_diameter_in":0.246},"nock":{"weight_gr":9},"head":{"weight_gr":100,"length_in":1}}]}`))
	if err != nil {
		t.Fatal(err)
	}
	j.Drawer.Given, j.Search.Given = true, true
	d := &j.Drawer.Value
	for i := range lengths {
		d.Lengths = append(d.Lengths, in(29+0.25*float64(i)))
	}
	for range shafts {
		d.Shafts = append(d.Shafts, part.Shaft{WeightPerInch: unit.Some(unit.LinearDensity(between(7, 11)) * unit.GrainPerInch), Spine: unit.Some(in(between(.23, .38))), OuterDiameter: unit.Some(in(.246))})
	}
	for range nocks {
		d.Nocks = append(d.Nocks, part.Nock{Weight: gr(6, 22)})
	}
	for i := range vanes {
		d.Vanes = append(d.Vanes, unit.Some(part.Vanes{Count: 3 + i%2, Weight: gr(4, 9), Length: in(between(1.7, 3)), Height: unit.Some(in(between(.35, .6))), Rear: in(1.2)}))
	}
	for range inserts {
		d.Inserts = append(d.Inserts, unit.Some(part.Insert{Weight: gr(15, 100), Depth: in(between(.8, 1.6))}))
	}
	for i := range collars {
		d.Collars = append(d.Collars, unit.Optional[part.Collar]{Given: i > 0, Value: part.Collar{Weight: gr(8, 30), Length: in(.5)}})
	}
	for i := range heads {
		h := part.Head{Weight: gr(85, 200), Length: unit.Some(in(1.1))}
		if i%3 == 0 {
			h.Blades, h.BladeLength, h.CutWidth = 3, unit.Some(in(1)), unit.Some(in(1.1))
		}
		d.Heads = append(d.Heads, h)
	}
	return j
}

func window(low, high float64) job.Window {
	return job.Window{Min: unit.Some(low), Max: unit.Some(high)}
}

// About 10⁶, 10⁷ and 10⁸ candidates, with windows on weight and FOC that leave
// about none, 1 % and 30 % of them, and with one on launch margin as well. At 10⁸:
// at most 0.15 s without the margin and 1 s with it.
func BenchmarkFind(b *testing.B) {
	sizes := []struct {
		name                                                   string
		shafts, lengths, inserts, heads, nocks, vanes, collars int
	}{{"1e6", 10, 4, 10, 25, 5, 10, 2}, {"1e7", 20, 5, 10, 25, 10, 20, 2}, {"1e8", 40, 5, 20, 25, 10, 20, 5}}
	for _, s := range sizes {
		j := bigDrawer(b, s.shafts, s.lengths, s.inserts, s.heads, s.nocks, s.vanes, s.collars)
		for _, w := range []struct {
			name  string
			where map[string]job.Window
		}{
			{"none", map[string]job.Window{"total_weight": window(400, 401), "foc": window(18, 18.1)}},
			{"1 %", map[string]job.Window{"total_weight": window(500, 506), "foc": window(14, 16)}},
			{"30 %", map[string]job.Window{"total_weight": window(460, 560), "foc": window(11, 18)}},
		} {
			for _, margin := range []bool{false, true} {
				name := fmt.Sprintf("%s, %s", s.name, w.name)
				where := map[string]job.Window{}
				for k, v := range w.where {
					where[k] = v
				}
				if margin {
					name += ", margin"
					where["launch_margin"] = job.Window{Min: unit.Some(0.85), Max: unit.Some(1.15)}
				}
				j.Search.Value.Where = where
				b.Run(name, func(b *testing.B) {
					var found *search.Found
					var err error
					b.ReportAllocs()
					for b.Loop() {
						if found, err = search.Find(context.Background(), j, nil); err != nil {
							b.Fatal(err)
						}
					}
					var m runtime.MemStats
					runtime.ReadMemStats(&m)
					b.ReportMetric(100*float64(found.Matched)/float64(found.Candidates), "%matched")
					b.ReportMetric(float64(m.Sys)/(1<<20), "MB")
				})
			}
		}
	}
}

// How long somebody waits for the first matches, and how long a search goes on once
// it is ended, on the drawer of a shop and on one of 10⁸ candidates: at most 50 ms
// each. It is ended as the first matches are told, which is when all of it runs.
func BenchmarkFirstMatchAndCancel(b *testing.B) {
	for _, s := range []struct {
		name string
		job  *job.Job
	}{{"shop", bigDrawer(b, 15, 4, 16, 10, 6, 6, 4)}, {"1e8", bigDrawer(b, 40, 5, 20, 25, 10, 20, 5)}} {
		for _, w := range []struct {
			name  string
			where map[string]job.Window
		}{
			{"weight and FOC", map[string]job.Window{"total_weight": window(460, 560), "foc": window(11, 18)}},
			{"margin", map[string]job.Window{"total_weight": window(460, 560), "launch_margin": window(0.85, 1.15)}},
			// Neither sums nor bounds tell these: every candidate is computed.
			{"steering", map[string]job.Window{"foc": window(11, 18), "steer_margin": window(8, 30)}},
			{"impact", map[string]job.Window{"foc": window(11, 18), "impact_shift": {Distance: unit.Some(60 * unit.Yard), Min: unit.Some(-1.), Max: unit.Some(1.)}}},
		} {
			b.Run(s.name+", "+w.name, func(b *testing.B) {
				s.job.Search.Value.Where = w.where
				var first, end time.Duration
				for b.Loop() {
					ctx, cancel := context.WithCancel(context.Background())
					start := time.Now()
					var told time.Time
					_, err := search.Find(ctx, s.job, func(p search.Progress) {
						if p.Matched > 0 && told.IsZero() {
							told = time.Now()
							cancel()
						}
					})
					cancel()
					if told.IsZero() {
						b.Fatal("nothing matches: ", err)
					}
					first, end = first+told.Sub(start), end+time.Since(told)
				}
				b.ReportMetric(float64(first.Microseconds())/1000/float64(b.N), "ms-to-first")
				b.ReportMetric(float64(end.Microseconds())/1000/float64(b.N), "ms-to-end")
			})
		}
	}
}
