package search_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// The search once more, without any cleverness: every combination is put together
// and computed by package sheet, and compared with the windows as they stand in the
// job. It shares no code with package search.

type candidate struct {
	pick  search.Pick
	value float64 // what it is sorted by
	has   bool
}

func brute(t interface{ Fatalf(string, ...any) }, j *job.Job) (candidates, matched uint64, sorted []candidate) {
	d, q := &j.Drawer.Value, &j.Search.Value
	lengths := d.Lengths
	if len(lengths) == 0 {
		lengths = []unit.Length{j.Builds[j.Baseline].Length}
	}
	setting := sheet.NewSetting(j)
	without := func(n int) int { return max(n, 1) }
	sort := figure.TotalWeight
	if q.Sort != "" {
		sort, _ = figure.ByName(q.Sort)
	}
	for _, l := range lengths {
		for s := range d.Shafts {
			for n := range d.Nocks {
				for v := range without(len(d.Vanes)) {
					for i := range without(len(d.Inserts)) {
						for c := range without(len(d.Collars)) {
							for h := range d.Heads {
								candidates++
								b := arrow.Build{Length: l, Shaft: d.Shafts[s], Nock: d.Nocks[n], Head: d.Heads[h]}
								p := search.Pick{Length: l, Shaft: s, Nock: n, Vanes: search.Without, Insert: search.Without, Collar: search.Without, Head: h}
								stock := []bool{stocked(b.Shaft.Stock, 1), stocked(b.Nock.Stock, 1), stocked(b.Head.Stock, 1)}
								if v < len(d.Vanes) && d.Vanes[v].Given {
									b.Vanes, p.Vanes = d.Vanes[v], v
									stock = append(stock, stocked(b.Vanes.Value.Stock, float64(max(b.Vanes.Value.Count, 1))))
								}
								if i < len(d.Inserts) && d.Inserts[i].Given {
									b.Insert, p.Insert = d.Inserts[i], i
									stock = append(stock, stocked(b.Insert.Value.Stock, 1))
								}
								if c < len(d.Collars) && d.Collars[c].Given {
									b.Collar, p.Collar = d.Collars[c], c
									stock = append(stock, stocked(b.Collar.Value.Stock, 1))
								}
								if q.InStock && slices.Contains(stock, false) || !asked(j, &setting, &b) {
									continue
								}
								matched++
								values := setting.Values(&b)
								value, has := values.Get(sort)
								sorted = append(sorted, candidate{p, value, has})
							}
						}
					}
				}
			}
		}
	}
	slices.SortStableFunc(sorted, func(a, b candidate) int {
		switch {
		case a.has != b.has:
			if a.has {
				return -1
			}
			return 1
		case !a.has || math.Abs(a.value-b.value) <= 1e-11*math.Abs(a.value):
			return 0
		case (a.value < b.value) != q.Descending:
			return -1
		}
		return 1
	})
	return candidates, matched, sorted
}

func stocked(stock unit.Optional[float64], count float64) bool {
	return stock.Given && stock.Value >= count
}

// asked reports whether a build is what a job's question asks for.
func asked(j *job.Job, setting *sheet.Setting, b *arrow.Build) bool {
	q := &j.Search.Value
	if !q.Misfits && len(caution.Misfits(b, unit.System{})) > 0 {
		return false
	}
	for name, w := range q.Where {
		key, _ := figure.ByName(name)
		values := setting.Values(b)
		if w.Distance.Given {
			values = setting.At(b, w.Distance.Value)
		}
		value, ok := values.Get(key)
		value = key.Definition().Unit.Of(value)
		// A value on a bound counts, however it was rounded.
		if !ok || w.Min.Given && value < w.Min.Value-1e-9*math.Abs(w.Min.Value) || w.Max.Given && value > w.Max.Value+1e-9*math.Abs(w.Max.Value) {
			return false
		}
	}
	if q.Dangers {
		return true
	}
	alone := *j
	alone.Builds, alone.Baseline = []arrow.Build{*b}, 0
	alone.Sight.Value.Marks = nil
	for _, c := range sheet.Evaluate(&alone).Builds[0].Cautions {
		if c.Level == caution.Danger {
			return false
		}
	}
	return true
}

func pickNumber(t *rapid.T, name string, list ...float64) float64 {
	return rapid.SampledFrom(list).Draw(t, name)
}

// drawers draws a job with a drawer and a question, in its own text so that it is
// one that somebody could have written. Weights are round, so that sums tie.
func drawers(t *rapid.T) *job.Job {
	number := func(name string, low, high int) int { return rapid.IntRange(low, high).Draw(t, name) }
	pick := func(name string, list ...string) string { return rapid.SampledFrom(list).Draw(t, name) }
	maybe := func(name, text string) string {
		if rapid.Bool().Draw(t, name) {
			return text
		}
		return ""
	}
	list := func(name string, least, most int, make func() string) string {
		var out []string
		for range number(name, least, most) {
			out = append(out, make())
		}
		return "[" + strings.Join(out, ",") + "]"
	}
	stock := func() string { return maybe("stock", fmt.Sprintf(`,"stock":%d`, number("in stock", 0, 5))) }
	shaft := func() string {
		weight := fmt.Sprintf(`"weight_gr_per_in":%d`, number("gr/in", 6, 11))
		if number("tube", 0, 4) == 0 {
			weight = fmt.Sprintf(`"tube_weight_gr":%d`, number("tube weight", 180, 320))
		}
		return fmt.Sprintf(`{%s%s%s%s%s%s%s}`, weight, maybe("price", `,"price":2`), maybe("spine", fmt.Sprintf(`,"spine_in":0.%d`, number("spine", 2, 6)*100)),
			maybe("diameter", `,"outer_diameter_in":0.246`), maybe("bore", `,"inner_diameter_in":`+pick("bore of the shaft", "0.204", "0.166")),
			maybe("stock length", fmt.Sprintf(`,"stock_length_in":%d`, number("comes", 28, 32))), stock())
	}
	// Some pieces were weighed badly, and some weigh nothing.
	u := func() string {
		if number("weighed", 0, 3) > 0 {
			return ""
		}
		return fmt.Sprintf(`,"weight_u_gr":%g`, pickNumber(t, "u of the weight", 0, 0.1, 12, 40))
	}
	nock := func() string {
		return fmt.Sprintf(`{"weight_gr":%d%s%s%s%s}`, 5*number("nock", 0, 4), u(), maybe("throat", `,"throat_in":`+pick("throat at", "0.25", "0.5")), maybe("nock bore", `,"fits_inner_in":0.204`), stock())
	}
	vanes := func() string {
		return fmt.Sprintf(`{"count":%g,"weight_gr":%d,"length_in":2,"rear_in":1%s%s%s}`, pickNumber(t, "vanes", 0, 2, 3, 4), 5*number("vane", 1, 2), u(), maybe("height", fmt.Sprintf(`,"height_in":0.%d`, number("height of vane", 1, 6))), stock())
	}
	insert := func() string {
		return fmt.Sprintf(`{"weight_gr":%d,"depth_in":%d%s%s%s%s%s}`, 25*number("insert", 0, 5), number("depth", 1, 2), u(), maybe("proud", `,"proud_in":0.5`), maybe("insert bore", `,"fits_inner_in":0.204`), maybe("thread", `,"thread":"8-32"`), stock())
	}
	collar := func() string {
		return fmt.Sprintf(`{"weight_gr":%d,"length_in":0.5%s%s}`, 5*number("collar", 1, 4), maybe("collar fits", `,"fits_outer_in":`+pick("collar bore", "0.246", "0.264")), stock())
	}
	head := func() string {
		blades := maybe("bladed", fmt.Sprintf(`,"blades":%d,"blade_length_in":1.1,"cut_width_in":%d.1%s`, number("blades", 1, 3), number("cut", 1, 2), maybe("expandable", `,"expandable":true`)))
		balance := maybe("shank", fmt.Sprintf(`,"balance_in":%g`, pickNumber(t, "balance", -1.5, -0.5, 0, 0.7)))
		return fmt.Sprintf(`{"weight_gr":%d%s%s%s%s%s%s}`, 25*number("head", 3, 8)*min(1, number("head of weight", 0, 9)), u(), balance, maybe("head length", `,"length_in":1`), blades, maybe("head thread", `,"thread":`+pick("thread of head", `"8-32"`, `"5-40"`)), stock())
	}
	orNull := func(make func() string) func() string {
		return func() string {
			if number("null", 0, 3) == 0 {
				return "null"
			}
			return make()
		}
	}
	drawer := fmt.Sprintf(`"shafts":%s,"nocks":%s,"heads":%s`, list("shafts", 1, 3, shaft), list("nocks", 1, 2, nock), list("heads", 1, 4, head))
	if rapid.Bool().Draw(t, "lengths") {
		drawer += `,"lengths_in":` + pick("which lengths", "[29]", "[28,29.5]", "[30,27,29]", "[0.4,29]", "[27.3,27.25,1.7]")
	}
	if rapid.Bool().Draw(t, "with vanes") {
		drawer += `,"vanes":` + list("sets of vanes", 0, 3, orNull(vanes))
	}
	if rapid.Bool().Draw(t, "with inserts") {
		drawer += `,"inserts":` + list("inserts", 0, 4, orNull(insert))
	}
	if rapid.Bool().Draw(t, "with collars") {
		drawer += `,"collars":` + list("collars", 0, 3, orNull(collar))
	}
	var where []string
	for _, w := range []struct {
		key       string
		low, high int
		scale     float64
		distance  bool
	}{
		{"total_weight", 300, 600, 1, false}, {"foc", 5, 22, 1, false}, {"front_weight", 100, 300, 1, false}, {"balance_point", 15, 23, 1, false}, {"weight_per_draw", 5, 10, 1, false},
		{"launch_speed", 220, 330, 1, false}, {"launch_energy", 60, 90, 1, false}, {"launch_momentum", 40, 70, 0.01, false}, {"energy_share", 70, 90, 1, false},
		{"launch_margin", 50, 130, 0.01, false}, {"steer_margin", -20, 50, 1, false}, {"inertia", 30, 60, 1000, false}, {"bending_stiffness", 1500, 4000, 1, false}, {"head_share", 0, 80, 1, false},
		{"dozen_cost", 0, 100, 1, false}, {"impact_shift", -20, 20, 1, true}, {"speed", 200, 300, 1, true},
	} {
		if number("asks for "+w.key, 0, 14) > 0 {
			continue
		}
		// Wide windows mostly, so that something is left.
		low, high := w.scale*float64(number("from", w.low, (w.low+w.high)/2)), w.scale*float64(number("to", (w.low+w.high)/2, w.high))
		var parts []string
		if rapid.Bool().Draw(t, "a minimum") {
			parts = append(parts, fmt.Sprintf(`"min":%g`, low))
		}
		if rapid.Bool().Draw(t, "a maximum") {
			parts = append(parts, fmt.Sprintf(`"max":%g`, high))
		}
		if w.distance {
			parts = append(parts, `"distance_yd":40`)
		}
		where = append(where, fmt.Sprintf(`%q:{%s}`, w.key, strings.Join(parts, ",")))
	}
	question := fmt.Sprintf(`"where":{%s},"limit":%d,"descending":%v,"in_stock":%v,"misfits":%v,"dangers":%v`, strings.Join(where, ","), number("limit", 0, 12),
		rapid.Bool().Draw(t, "descending"), number("only in stock", 0, 3) == 0, rapid.Bool().Draw(t, "misfits"), number("dangers", 0, 2) == 0)
	if rapid.Bool().Draw(t, "sorted") {
		question += `,"sort":` + fmt.Sprintf("%q", rapid.SampledFrom(sheet.Keys()).Draw(t, "by").String())
	}
	readings := pick("bow", `,"readings":[{"arrow_gr":420,"speed_fps":290},{"arrow_gr":560,"speed_fps":258}]`, `,"readings":[{"arrow_gr":420,"speed_fps":290}]`, "")
	marks := maybe("marks", `,"marks":[{"distance_yd":20,"mark_in":0.6},{"distance_yd":40,"mark_in":0.9},{"distance_yd":60,"mark_in":1.35}]`)
	peakU := maybe("u of the peak", fmt.Sprintf(`,"peak_weight_u_lb":%d`, number("u of it", 0, 20)))
	b := fmt.Sprintf(`{"kind":%q,"peak_weight_lb":%d%s%s%s%s%s}`, pick("kind", "compound", "recurve", "longbow"), number("peak", 30, 75), peakU, maybe("rest", `,"rest_behind_pivot_in":1.5`), maybe("draw", fmt.Sprintf(`,"draw_length_in":%d`, number("draw length", 25, 31))), maybe("minimum", `,"minimum_arrow_gr":`+pick("least", "350", "425")), readings)
	text := fmt.Sprintf(`{"format":"foreshaft-job/1","bow":%s,"sight":{"peep_to_pin_in":34,"peep_above_nock_in":4.5%s},"builds":[{"name":"base","length_in":29,"shaft":{"weight_gr_per_in":8,"outer_diameter_in":0.246,"spine_in":0.3},"nock":{"weight_gr":9},"head":{"weight_gr":100,"length_in":1}}],"drawer":{%s},"search":{%s}}`,
		b, marks, drawer, question)
	j, err := job.Decode([]byte(text))
	if err != nil {
		t.Fatalf("a valid job is refused: %v\n%s", err, text)
	}
	return j
}

// What a search finds is what computing every candidate finds, in the same order.
func TestSearchEqualsBruteForce(t *testing.T) {
	some, none := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		j := drawers(t)
		candidates, matched, sorted := brute(t, j)
		found, err := search.Find(context.Background(), j, nil)
		if err != nil {
			t.Fatalf("%v\n%s", err, j.Encode())
		}
		if found.Candidates != candidates || found.Matched != matched {
			t.Fatalf("%d of %d match, by brute force %d of %d\n%s", found.Matched, found.Candidates, matched, candidates, j.Encode())
		}
		limit := j.Search.Value.Limit.Or(20)
		if want := min(limit, len(sorted)); len(found.Picks) != want {
			t.Fatalf("%d matches are listed, want %d\n%s", len(found.Picks), want, j.Encode())
		}
		for i, p := range found.Picks {
			if p != sorted[i].pick {
				t.Fatalf("match %d is %v, by brute force %v\n%s", i, p, sorted[i].pick, j.Encode())
			}
		}
		if matched > 0 {
			some++
		} else {
			none++
		}
	})
	if t.Logf("%d drawers had a match, %d none", some, none); some < 10 || none < 10 {
		t.Error("the drawers say too little")
	}
}

// A drawer large enough that fronts come in whole groups, with the windows of a shop.
func TestSearchOfAShop(t *testing.T) {
	if testing.Short() {
		t.Skip("every candidate is computed")
	}
	for name, where := range map[string]map[string]job.Window{
		"weight and FOC":             {"total_weight": window(440, 560), "foc": window(11, 17)},
		"and margin":                 {"total_weight": window(400, 600), "launch_margin": window(0.85, 1.1)},
		"balance and speed":          {"balance_point": window(18.5, 20.5), "launch_speed": window(255, 290)},
		"front, momentum and margin": {"front_weight": window(120, 260), "launch_momentum": window(0.55, 0.62), "launch_margin": {Max: unit.Some(1.0)}},
		"steering":                   {"steer_margin": window(22, 40)}, // dear to compute: gathered on the way
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			j := bigDrawer(t, 3, 2, 6, 9, 2, 3, 3)
			j.Search.Value.Where, j.Search.Value.Limit = where, unit.Some(50)
			j.Search.Value.Descending = len(name)%2 == 0
			if name == "steering" {
				j.Search.Value.Sort = "bending_frequency"
			}
			for _, dangers := range []bool{true, false} {
				if j.Search.Value.Dangers = dangers; !dangers { // each is computed with its uncertainty: fewer of them
					j.Drawer.Value.Shafts, j.Drawer.Value.Vanes = j.Drawer.Value.Shafts[:2], j.Drawer.Value.Vanes[:1]
					j.Bow.Value.MinimumArrow = unit.Some(450 * unit.Grain)
				}
				candidates, matched, sorted := brute(t, j)
				found, err := search.Find(context.Background(), j, nil)
				if err != nil || found.Candidates != candidates || found.Matched != matched || matched == 0 || matched == candidates {
					t.Fatalf("%v: %d of %d match, by computing each %d of %d", err, found.Matched, found.Candidates, matched, candidates)
				}
				for i, p := range found.Picks {
					if p != sorted[i].pick {
						t.Fatalf("match %d is %v, by computing each %v", i, p, sorted[i].pick)
					}
				}
			}
		})
	}
}
