package search

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
)

// shopJob is a job with a drawer of unlike pieces: heads whose weight lies behind
// their seat, inserts that stand proud, nocks of different throats (invented).
const shopJob = `{"format":"foreshaft-job/1","bow":{"peak_weight_lb":68,"draw_length_in":29,"readings":[{"arrow_gr":420,"speed_fps":291}]},
"builds":[{"name":"base","length_in":29.5,"shaft":{"weight_gr_per_in":9,"spine_in":0.3},"nock":{"weight_gr":9},"head":{"weight_gr":100}}],
"drawer":{"lengths_in":[27,29.5,32],
"shafts":[{"weight_gr_per_in":6,"spine_in":0.5},{"weight_gr_per_in":9,"spine_in":0.3},{"tube_weight_gr":330,"spine_in":0.25}],
"nocks":[{"weight_gr":7,"throat_in":0.2},{"weight_gr":24,"throat_in":0.6,"balance_in":0.9}],
"vanes":[null,{"count":3,"weight_gr":6,"length_in":2,"rear_in":1},{"count":4,"weight_gr":12,"length_in":4,"rear_in":1.5}],
"inserts":[null,{"weight_gr":20,"depth_in":0.5},{"weight_gr":75,"depth_in":1.5},{"weight_gr":120,"depth_in":2,"proud_in":0.75}],
"collars":[null,{"weight_gr":25,"length_in":1}],
"heads":[{"weight_gr":80,"balance_in":0.4},{"weight_gr":100,"balance_in":-0.5},{"weight_gr":125,"balance_in":-1.5},{"weight_gr":150},{"weight_gr":200},{"weight_gr":300,"balance_in":1}]}}`

// What encloses a launch margin does, for every candidate of a drawer of unlike
// pieces, and mostly closely.
func TestBoundsEncloseTheMargin(t *testing.T) {
	j, err := job.Decode([]byte(shopJob))
	if err != nil {
		t.Fatal(err)
	}
	s, err := newSpace(j)
	if err != nil {
		t.Fatal(err)
	}
	x := newJudge(j, newQuestion(j))
	f := &finder{space: s, judge: x, bow: &j.Bow.Value, ctx: context.Background()}
	f.prepare()
	r := rand.New(rand.NewPCG(1, 2))
	widest, wide, all := 0.0, 0, 0
	f.families = make([]func() *family, len(s.lengths))
	for l := range s.lengths {
		f.families[l] = func() *family { return f.newFamily(l, x) }
		table := f.table(l, []int{0, 1, 2})
		for shaft := range s.shafts {
			m := table.stand(shaft)
			if m == nil {
				t.Fatal("no margins")
			}
			for i, g := range table.groups {
				for k := g.from; k < g.to; k++ {
					for n := range s.nocks {
						for v := range s.vanes {
							if r.IntN(3) > 0 {
								continue
							}
							front := &table.fronts[k]
							c := chosen{length: int32(l), shaft: int32(shaft), nock: int32(n), vanes: int32(v), insert: front.insert, collar: front.collar, head: front.head}
							build := s.build(c)
							values := x.setting.Values(&build)
							margin, ok := values.Get(figure.LaunchMargin)
							total, _ := values.Get(figure.TotalWeight)
							rear := m.rear(i, c)
							low, high := m.at(rear, m.fronts[k], total)
							if !ok || margin < low*(1-1e-11) || margin > high*(1+1e-11) {
								t.Fatalf("%v: margin %v is not between %v and %v", s.pick(c), margin, low, high)
							}
							if least, most := m.over(i, rear, total-front.mass); least > low*(1+1e-12) || most < high*(1-1e-12) {
								t.Fatalf("a group from %v to %v does not hold %v to %v", least, most, low, high)
							}
							nearer, farther := m.closer(i, c, total)
							if margin < nearer*(1-1e-11) || margin > farther*(1+1e-11) || farther/nearer-1 > 1e-5 {
								t.Fatalf("%v: margin %v, by its own shape between %v and %v", s.pick(c), margin, nearer, farther)
							}
							all++
							if width := high/low - 1; width > 1e-2 {
								wide++
							} else {
								widest = math.Max(widest, width)
							}
						}
					}
				}
			}
		}
	}
	t.Logf("%d candidates, %d of them enclosed by more than 1 %%", all, wide)
	if all < 500 || wide > all/3 {
		t.Errorf("of %d candidates %d are enclosed loosely", all, wide)
	}
}
