package search_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// Nearest changes once more, without any cleverness: every build with one or two
// pieces swapped is put on the bench and computed whole. It shares no code with
// package search.

type tried struct {
	kinds    []part.Kind
	build    arrow.Build
	change   float64 // gr
	cautions []caution.Caution
	within   bool
	worse    caution.Level // the gravest of what the build bears already and that got worse
}

type swap struct {
	kind part.Kind
	put  func(b *arrow.Build)
}

func swapsOf(j *job.Job, build int, clears caution.Caution) []swap {
	d, from := &j.Drawer.Value, &j.Builds[build]
	var out []swap
	add := func(kind part.Kind, put func(b *arrow.Build)) { out = append(out, swap{kind, put}) }
	for _, s := range d.Shafts {
		add(part.KindShaft, func(b *arrow.Build) { b.Shaft = s })
	}
	for _, l := range d.Lengths {
		add("length", func(b *arrow.Build) { b.Recut(l) })
	}
	for _, v := range d.Inserts {
		add(part.KindInsert, func(b *arrow.Build) { b.Insert = v })
	}
	for _, v := range d.Collars {
		add(part.KindCollar, func(b *arrow.Build) { b.Collar = v })
	}
	for _, h := range d.Heads {
		bladed := (h.Blades > 0) == (from.Head.Blades > 0)
		if clears.Code == caution.Broadhead || bladed && (h.Expandable == from.Head.Expandable || clears.Code == caution.Expandable) {
			add(part.KindHead, func(b *arrow.Build) { b.Head = h })
		}
	}
	for _, n := range d.Nocks {
		add(part.KindNock, func(b *arrow.Build) { b.Renock(n) })
	}
	for _, v := range d.Vanes {
		add(part.KindVanes, func(b *arrow.Build) { b.Vanes = v })
	}
	return out
}

// tryAll computes every build with one or two pieces swapped whose pieces go
// together as well as before.
func tryAll(j *job.Job, build int, clears caution.Caution) (base []caution.Caution, out []tried) {
	before := sheet.Evaluate(j).Builds[build]
	base = before.Cautions
	// What the build is a danger in must not get worse: lighter, weaker, shorter or
	// turned over sooner.
	worse := func(b *arrow.Build, after *sheet.Build) (level caution.Level) {
		got := func(c caution.Caution) bool {
			falls := func(k figure.Key) bool {
				was, _ := before.Figure(k)
				is, ok := after.Figure(k)
				return !ok || is.Value < was.Value-1e-9*math.Abs(was.Value)
			}
			rises := func(k figure.Key) bool {
				was, _ := before.Figure(k)
				is, ok := after.Figure(k)
				return !ok || is.Value > was.Value+1e-9*math.Abs(was.Value)
			}
			code := c.Code
			if code == caution.Rough {
				code = c.About
			}
			switch code {
			case caution.Plane:
				return b.Head.Blades > 0 && rises(figure.HeadShare)
			case caution.LightArrow:
				return falls(figure.TotalWeight)
			case caution.Folds, caution.Weak:
				return falls(figure.LaunchMargin)
			case caution.Unstable:
				return falls(figure.SteerMargin)
			case caution.ShortArrow, caution.BladeReach:
				return b.Length < j.Builds[build].Length
			}
			return false
		}
		for _, c := range base {
			counts := c.Level
			if slices.Contains([]caution.Code{caution.LightArrow, caution.ShortArrow, caution.Folds, caution.Unstable}, c.About) {
				counts = caution.Warn
			}
			if !c.Unchecked && counts != caution.Note && level != caution.Danger && got(c) {
				level = counts
			}
		}
		return level
	}
	from := j.Builds[build].Clone()
	from.Proven, from.Proof = false, unit.Optional[arrow.Proof]{}
	setting := sheet.NewSetting(j)
	list := swapsOf(j, build, clears)
	keep := func(b arrow.Build, kinds ...part.Kind) {
		if b.Tube() <= 0 {
			return
		}
		now := caution.Misfits(&b, unit.System{})
		was := caution.Misfits(&from, unit.System{})
		for _, c := range now {
			if slices.ContainsFunc(c.Pieces, func(k part.Kind) bool { return slices.Contains(kinds, k) }) || len(c.Pieces) == 1 && slices.Contains(kinds, "length") {
				return
			}
			if !slices.ContainsFunc(was, func(w caution.Clash) bool { return slices.Equal(w.Pieces, c.Pieces) }) {
				return
			}
		}
		put := j.Clone()
		if put.Bow.Value.Proven == b.Name {
			put.Bow.Value.Proven = ""
		}
		put.Builds[build] = b
		ask := *j
		ask.Search.Value.Misfits, ask.Search.Value.Dangers = true, true
		after := &sheet.Evaluate(put).Builds[build]
		out = append(out, tried{kinds, b, (b.Moments().Total - from.Moments().Total).In(unit.Grain),
			after.Cautions, asked(&ask, &setting, &b), worse(&b, after)})
	}
	same := func(b *arrow.Build) bool {
		return b.SamePieces(&from) && b.Length == from.Length
	}
	for i, one := range list {
		b := from.Clone()
		if one.put(&b); same(&b) {
			continue
		}
		keep(b, one.kind)
		for _, two := range list[:i] {
			c, alone := from.Clone(), from.Clone()
			if two.put(&alone); two.kind == one.kind || same(&alone) {
				continue
			}
			two.put(&c)
			one.put(&c)
			keep(c, two.kind, one.kind)
		}
	}
	return base, out
}

// verdict says what becomes of a build: 0 refused, 1 with a new warning, 2 without.
func (x *tried) verdict(base []caution.Caution, clears caution.Caution) int {
	// What a caution is about, with the limit that the rules sheet names.
	about := func(c caution.Caution) string { return fmt.Sprint(c.Code, "/", c.About, "/", c.Limit) }
	said, blind := map[string]caution.Level{}, map[string]int{}
	for _, c := range base {
		switch {
		case c.Unchecked:
			blind[about(c)]++
		case said[about(c)] != caution.Danger:
			said[about(c)] = c.Level
		}
	}
	out := 2
	for _, c := range x.cautions {
		if c.Unchecked { // a check that cannot be made any more clears nothing
			blind[about(c)]--
			switch {
			case blind[about(c)] >= 0:
			case c.Code == caution.Weak: // for fingers nobody knows
				out = 1
			default:
				return 0
			}
			continue
		}
		before := said[about(c)]
		// That something may be a danger counts as a warning, unless it is said for sure.
		if slices.Contains([]caution.Code{caution.LightArrow, caution.ShortArrow, caution.Folds, caution.Unstable}, c.About) && before == "" && said[fmt.Sprint(c.About, "/", "/", c.Limit)] == "" {
			out = min(out, 1)
		}
		switch {
		case about(c) == about(clears), clears.Code == caution.Rough && c.Code == clears.About && c.Limit == clears.Limit:
			return 0
		case c.Level == caution.Danger && before != caution.Danger:
			return 0
		case c.Level == caution.Warn && before != caution.Danger && before != caution.Warn:
			out = 1
		}
	}
	switch {
	case clears.Code == "" && !x.within, x.worse == caution.Danger:
		return 0
	case x.worse == caution.Warn:
		return 1
	}
	return out
}

func checkNear(t *rapid.T, j *job.Job, build int, clears caution.Caution) (offered int) {
	near, err := search.Nearest(context.Background(), j, build, clears, nil)
	if err != nil {
		t.Fatalf("%v\n%s", err, j.Encode())
	}
	base, all := tryAll(j, build, clears)
	least := func(verdict int, fits func(x *tried) bool) float64 {
		out := math.Inf(1)
		for i := range all {
			if x := &all[i]; x.verdict(base, clears) >= verdict && fits(x) {
				out = min(out, math.Abs(x.change))
			}
		}
		return out
	}
	if near.Already {
		ask := *j
		ask.Search.Value.Misfits, ask.Search.Value.Dangers = true, true
		setting := sheet.NewSetting(j)
		if clears.Code != "" || !asked(&ask, &setting, &j.Builds[build]) {
			t.Fatalf("said to lie in the windows as it is\n%s", j.Encode())
		}
		return 0
	}
	const same = 2e-6
	single := least(2, func(x *tried) bool { return len(x.kinds) == 1 })
	any := least(1, func(*tried) bool { return true })
	lowest, wantSingle := math.Inf(1), false
	for i, o := range near.Offers {
		lowest = min(lowest, math.Abs(o.Change.In(unit.Grain)))
		at := slices.IndexFunc(all, func(x tried) bool { return slices.Equal(x.kinds, o.Swaps) && written(x.build) == written(o.Build) })
		if at < 0 {
			t.Fatalf("offer %d (%v) is no swap of the drawer\n%s", i, o.Swaps, j.Encode())
		}
		got := all[at].verdict(base, clears)
		if got == 0 || (got == 1) != o.Brings {
			t.Fatalf("offer %d (%v, brings a warning: %v) for %s does not do what is asked (%d, worse: %s):\n%v\nbefore:\n%v\n%s", i, o.Swaps, o.Brings, clears.Code, got, all[at].worse, all[at].cautions, base, j.Encode())
		}
		if math.Abs(all[at].change-o.Change.In(unit.Grain)) > same {
			t.Fatalf("offer %d changes the weight by %g gr, said to be %g", i, all[at].change, o.Change.In(unit.Grain))
		}
		if !o.Brings {
			want := least(2, func(x *tried) bool { return slices.Equal(x.kinds, o.Swaps) })
			if math.Abs(o.Change.In(unit.Grain)) > want+same {
				t.Fatalf("offer %d (%v) changes the weight by %g gr, %g would do\n%s", i, o.Swaps, o.Change.In(unit.Grain), want, j.Encode())
			}
			wantSingle = wantSingle || len(o.Swaps) == 1
		}
	}
	// Among the offers is the least change there is at all, and the least of one swap
	// without a new warning.
	if lowest > any+same {
		i := slices.IndexFunc(all, func(x tried) bool { return x.verdict(base, clears) > 0 && math.Abs(math.Abs(x.change)-any) < same })
		t.Fatalf("for %s the least change offered is %g gr, %g would do: %v %v\nbefore\n%v\n%s", clears.Code, lowest, any, all[i].kinds, all[i].cautions, base, j.Encode())
	}
	if wantSingle == math.IsInf(single, 1) {
		t.Fatalf("one swap offered: %v, the least there is: %g\n%s", wantSingle, single, j.Encode())
	}
	if near.Closest != nil && len(near.Offers) > 0 {
		t.Fatal("something close beside what is asked for")
	}
	return len(near.Offers)
}

// written writes a build so that it can be compared.
func written(b arrow.Build) string {
	j := job.New()
	j.Builds = []arrow.Build{b}
	return string(j.Encode())
}

// onBench puts one of the drawer's own arrows in place of the job's build, and
// sometimes a proven one beside it.
func onBench(t *rapid.T, j *job.Job) {
	d := &j.Drawer.Value
	if rapid.Bool().Draw(t, "of the drawer") {
		b := &j.Builds[0]
		b.Shaft, b.Nock = rapid.SampledFrom(d.Shafts).Draw(t, "shaft"), rapid.SampledFrom(d.Nocks).Draw(t, "nock")
		b.Head = rapid.SampledFrom(d.Heads).Draw(t, "head")
		if len(d.Inserts) > 0 {
			b.Insert = rapid.SampledFrom(d.Inserts).Draw(t, "insert")
		}
		if len(d.Vanes) > 0 {
			b.Vanes = rapid.SampledFrom(d.Vanes).Draw(t, "vanes")
		}
	}
	other := j.Builds[0].Clone()
	other.Name = "other"
	other.Shaft.Spine = unit.Some(unit.Length(rapid.Float64Range(0.2, 0.6).Draw(t, "spine of the other")) * unit.Inch)
	other.Head.Weight += 20 * unit.Grain
	j.Builds = append(j.Builds, other)
	switch rapid.IntRange(0, 3).Draw(t, "proven") {
	case 0:
		j.Builds[1].Proven = true
	case 1:
		j.Bow.Value.Proven = j.Builds[0].Name
	}
}

func TestNearestClearsCautionsWithTheLeastChange(t *testing.T) {
	cleared, none, codes := 0, 0, map[caution.Code]int{}
	rapid.Check(t, func(t *rapid.T) {
		j := drawers(t)
		j.Search.Value = job.Search{}
		onBench(t, j)
		if rapid.IntRange(0, 4).Draw(t, "limits") == 0 {
			j.Limits = unit.Some(job.Limits{MinWeight: 430 * unit.Grain, MaxSpeed: 290 * unit.FootPerSecond, MaxPeak: 60 * unit.PoundForce, MaxDiameter: 6.3 * unit.Millimetre})
		}
		for _, c := range sheet.Evaluate(j).Builds[0].Cautions {
			if c.Unchecked {
				continue
			}
			if checkNear(t, j, 0, c) > 0 {
				cleared++
				codes[c.Code]++
			} else {
				none++
			}
		}
	})
	if t.Logf("%d cleared %v, %d not", cleared, codes, none); cleared < 20 || none < 20 || len(codes) < 6 {
		t.Error("the drawers say too little")
	}
}

func TestNearestReachesWindowsWithTheLeastChange(t *testing.T) {
	reached, none := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		j := drawers(t)
		onBench(t, j)
		where := map[string]job.Window{
			"total_weight": window(float64(rapid.IntRange(380, 480).Draw(t, "from")), 500),
			"foc":          window(8, float64(rapid.IntRange(9, 16).Draw(t, "to"))),
		}
		if rapid.Bool().Draw(t, "marks") {
			where = map[string]job.Window{"impact_shift": {Distance: unit.Some(40 * unit.Yard), Min: unit.Some(-1.0), Max: unit.Some(1.0)}}
			j.Baseline = 1
		}
		j.Search.Value = job.Search{Where: where}
		if checkNear(t, j, 0, caution.Caution{}) > 0 {
			reached++
		} else {
			none++
		}
	})
	if t.Logf("%d reached, %d not", reached, none); reached < 3 || none < 3 { // by chance it is 8 to 30
		t.Error("the drawers say too little")
	}
}

// Where nothing lies in the windows the closest is told: nothing else that is no
// danger comes closer.
func TestNearestTellsWhatComesClosest(t *testing.T) {
	told := 0
	rapid.Check(t, func(t *rapid.T) {
		j := drawers(t)
		onBench(t, j)
		j.Search.Value = job.Search{Where: map[string]job.Window{"total_weight": window(700, 720), "foc": window(12, 12.5)}}
		near, err := search.Nearest(context.Background(), j, 0, caution.Caution{}, nil)
		if err != nil || len(near.Offers) > 0 {
			t.Fatalf("%v, %d offers", err, len(near.Offers))
		}
		miss := func(b *arrow.Build) float64 {
			m := b.Moments()
			weight, foc := m.Total.In(unit.Grain), 100*b.FOC(m.Balance)
			return max((700-weight)/10, (weight-720)/10, (12-foc)/0.25, (foc-12.5)/0.25)
		}
		base, all := tryAll(j, 0, caution.Caution{})
		least, closer, brings := miss(&j.Builds[0]), false, false
		for verdict := 2; verdict > 0 && !closer; verdict-- {
			for i := range all {
				all[i].within = true
				if by := miss(&all[i].build); all[i].verdict(base, caution.Caution{}) == verdict && by < least*(1-1e-9) {
					least, closer, brings = by, true, verdict == 1
				}
			}
		}
		if closer != (near.Closest != nil) {
			t.Fatalf("something closer: %v, told: %v\n%s", closer, near.Closest != nil, j.Encode())
		}
		if closer {
			told++
			if got := miss(&near.Closest.Build); math.Abs(got-least) > 1e-6*least || near.Closest.Brings != brings {
				t.Fatalf("told to miss by %g, %g is there\n%s", got, least, j.Encode())
			}
		}
	})
	if told < 10 {
		t.Error("the drawers say too little")
	}
}

func TestNearestEndsWithItsContext(t *testing.T) {
	j := bigDrawer(t, 10, 3, 20, 25, 5, 5, 4)
	j.Bow.Value.MinimumArrow = unit.Some(900 * unit.Grain) // nothing comes to that
	ctx, cancel := context.WithCancel(context.Background())
	reports := 0
	_, err := search.Nearest(ctx, j, 0, caution.Caution{Code: caution.LightArrow}, func(p search.Progress) {
		if reports++; p.Done > p.Candidates {
			t.Errorf("%d of %d", p.Done, p.Candidates)
		}
		cancel()
	})
	if !errors.Is(err, context.Canceled) || reports != 1 {
		t.Errorf("%v after %d reports", err, reports)
	}
}

func BenchmarkNearest(b *testing.B) {
	for _, parts := range []int{10, 40} {
		b.Run(fmt.Sprintf("%d parts", 3*parts), func(b *testing.B) {
			j := bigDrawer(b, parts/2, 2, parts, parts, parts/4, parts/4, parts/4)
			j.Bow.Value.MinimumArrow = unit.Some(900 * unit.Grain) // nothing comes to that: all are tried
			for b.Loop() {
				near, err := search.Nearest(context.Background(), j, 0, caution.Caution{Code: caution.LightArrow}, nil)
				if err != nil || len(near.Offers) > 0 {
					b.Fatal(err, near)
				}
			}
		})
	}
}

// A shaft that does not say its spine clears no weak shaft: the check could then not
// be made any more. One that says it does.
func TestWhatCannotBeCheckedIsNoFix(t *testing.T) {
	j := bigDrawer(t, 1, 1, 1, 1, 1, 1, 1)
	b := &j.Builds[0]
	b.Shaft.Spine = unit.Some(0.6 * unit.Inch)
	b.Head.BladeLength, b.Head.CutWidth = unit.Some(1*unit.Inch), unit.Some(1.1*unit.Inch)
	d := &j.Drawer.Value
	*d = job.Drawer{}
	for i, spine := range []unit.Optional[unit.Length]{{}, unit.Some(0.25 * unit.Inch)} {
		s := b.Shaft
		s.Name, s.Spine = fmt.Sprint("shaft ", i), spine
		d.Shafts = append(d.Shafts, s)
	}
	near, err := search.Nearest(context.Background(), j, 0, caution.Caution{Code: caution.Folds}, nil)
	if err != nil || len(near.Offers) != 1 || near.Offers[0].Build.Shaft.Name != "shaft 1" {
		t.Fatalf("%v, %+v", err, near.Offers)
	}
	d.Shafts = d.Shafts[:1]
	if near, err = search.Nearest(context.Background(), j, 0, caution.Caution{Code: caution.Folds}, nil); err != nil || len(near.Offers) != 0 {
		t.Errorf("%v, %+v", err, near.Offers)
	}
}

// One limit of a rules sheet is cleared although another, which no arrow changes, is
// broken; and a new one that breaks is a warning that it brings.
func TestEachLimitIsItsOwn(t *testing.T) {
	j := bigDrawer(t, 1, 1, 1, 1, 1, 1, 1)
	j.Limits = unit.Some(job.Limits{MaxSpeed: 285 * unit.FootPerSecond, MaxPeak: 60 * unit.PoundForce, MaxDiameter: 6.5 * unit.Millimetre})
	b := &j.Builds[0]
	b.Shaft.Spine = unit.Some(0.2 * unit.Inch) // stiff enough for anything
	thick, heavy := b.Shaft, b.Head
	thick.OuterDiameter, thick.WeightPerInch = unit.Some(7*unit.Millimetre), unit.Some(12*unit.GrainPerInch)
	heavy.Weight += 150 * unit.Grain
	j.Drawer.Value = job.Drawer{Shafts: []part.Shaft{thick}, Heads: []part.Head{heavy}}
	var speed caution.Caution
	for _, c := range sheet.Evaluate(j).Builds[0].Cautions {
		if c.Code == caution.OverLimit && c.Limit == "speed" {
			speed = c
		}
	}
	near, err := search.Nearest(context.Background(), j, 0, speed, nil)
	if speed.Code == "" || err != nil || len(near.Offers) < 2 {
		t.Fatalf("%+v: %v, %+v", speed, err, near)
	}
	for _, o := range near.Offers {
		if shaft := slices.Contains(o.Swaps, part.KindShaft); o.Brings != shaft {
			t.Errorf("%v brings a warning: %v", o.Swaps, o.Brings)
		}
	}
}
