package fitting_test

import (
	"cmp"
	"context"
	"math"
	"slices"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/fitting"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// shot is one arrow by what tells arrows apart.
type shot struct{ weight, speed, margin, foc float64 } // gr, ft/s, –, %

// arrows computes every arrow that the parts make for a bow, one by one and without
// any search, and returns those that keep to the purpose and the budget: without a
// warning, and without a danger at least.
func arrows(j *job.Job, parts []part.Part, a fitting.Answers) (clean, sound []shot) {
	b := &j.Bow.Value
	rest := b.Draw.Value - 1.75*unit.Inch - b.RestBehindPivot.Value
	ahead := 1.0
	if a.Growing {
		ahead = 2
	}
	shortest := rest.In(unit.Inch) + ahead + 2*math.Hypot(0.03, b.DrawU.Or(0.1*unit.Inch).In(unit.Inch))
	of := func(kind part.Kind) (out []part.Part) {
		for _, p := range parts {
			if p.Kind == kind {
				out = append(out, p.Weighed())
			}
		}
		return out
	}
	for step := range 4 {
		length := in(math.Ceil(4*shortest)/4 + float64(step)/2)
		for _, s := range of(part.KindShaft) {
			for _, n := range of(part.KindNock) {
				for _, v := range of(part.KindVanes) {
					for _, i := range of(part.KindInsert) {
						for _, h := range of(part.KindHead) {
							build := arrow.Build{Name: "one", Length: length, Shaft: s.Shaft.Value, Nock: n.Nock.Value, Vanes: v.Vanes, Insert: i.Insert, Head: h.Head.Value}
							if one, isClean, isSound := look(j, &build, a); isSound {
								sound = append(sound, one)
								if isClean {
									clean = append(clean, one)
								}
							}
						}
					}
				}
			}
		}
	}
	return clean, sound
}

func look(j *job.Job, b *arrow.Build, a fitting.Answers) (one shot, clean, sound bool) {
	alone := *j
	alone.Builds = []arrow.Build{*b}
	s := &sheet.Evaluate(&alone).Builds[0]
	get := func(k figure.Key) float64 {
		f, ok := s.Figure(k)
		if !ok {
			return math.NaN()
		}
		return k.Definition().Unit.Of(f.Value)
	}
	clean, sound = true, true
	for _, c := range s.Cautions {
		switch {
		case c.Level == caution.Danger || c.Code == caution.Misfit:
			sound = false
		case c.Level == caution.Warn && c.Code != caution.Broadhead:
			clean = false
		}
	}
	perDraw, foc, cost := get(figure.WeightPerDraw), get(figure.FOC), get(figure.DozenCost)
	kept := perDraw >= a.Purpose.MinPerDraw.In(unit.GrainPerPound) && perDraw <= a.Purpose.MaxPerDraw.In(unit.GrainPerPound) &&
		foc >= 100*float64(a.Purpose.MinFOC) && foc <= 100*float64(a.Purpose.MaxFOC) && (a.Budget == 0 || cost <= a.Budget)
	return shot{get(figure.TotalWeight), get(figure.LaunchSpeed), get(figure.LaunchMargin), foc}, clean && sound && kept, sound && kept
}

// apart is how many of some arrows can be had that all differ by 40 gr or 10 ft/s,
// up to three: every pair and every triple is tried.
func apart(list []shot) int {
	differ := func(a, b shot) bool {
		return math.Abs(a.weight-b.weight) >= 40 || math.Abs(a.speed-b.speed) >= 10
	}
	out := min(len(list), 1)
	for i, a := range list {
		for k, b := range list[:i] {
			if !differ(a, b) {
				continue
			}
			out = max(out, 2)
			for _, c := range list[:k] {
				if differ(a, c) && differ(b, c) {
					return 3
				}
			}
		}
	}
	return out
}

// middling holds the middle one of three to what it is chosen by: of the arrows within
// 15 gr of the weight that is looked for, one with a launch margin nearest to 1 in
// steps of 0.05, and of those one with a FOC nearest to the middle of the purpose's
// range in steps of 1 %. It is false where that weight is too near to the others.
func middling(t *testing.T, j *job.Job, a fitting.Answers, clean []shot, got shot) bool {
	t.Helper()
	b := &j.Bow.Value
	var list []shot
	for _, s := range clean { // those that are not stiff or weak by the charts
		if s.margin >= 0.85 && (s.margin <= 1.30 || b.Peak.Value < lb(45) || b.Draw.Value < in(27)) {
			list = append(list, s)
		}
	}
	if apart(list) < 3 {
		return false
	}
	byWeight := func(x, y shot) int { return cmp.Compare(x.weight, y.weight) }
	light, heavy := slices.MinFunc(list, byWeight).weight, slices.MaxFunc(list, byWeight).weight
	share := map[fitting.Favour]float64{fitting.Forgiving: 0.25, fitting.Weight: 0.75}[a.Favour]
	if share == 0 {
		share = 0.5
	}
	target := light + share*(heavy-light)
	if target-15 < light+40 || target+15 > heavy-40 {
		return false
	}
	steps := func(s shot) (margin, foc float64) {
		middle := 50 * float64(a.Purpose.MinFOC+a.Purpose.MaxFOC)
		return math.Floor(math.Abs(s.margin-1)/0.05 + 1e-6), math.Floor(math.Abs(s.foc-middle) + 1e-6)
	}
	margin, foc := steps(got)
	some := false
	for _, s := range list {
		if math.Abs(s.weight-target) > 15-1e-6 {
			continue
		}
		some = true
		if m, f := steps(s); m < margin || m == margin && f < foc {
			t.Errorf("chose %+v, and %+v is nearer", got, s)
		}
	}
	if some && math.Abs(got.weight-target) > 15+1e-6 {
		t.Errorf("chose %+v, and looked for %.1f gr", got, target)
	}
	return some
}

// tiny draws a drawer of a few parts that say everything and fit.
func (r chance) tiny(head fitting.Sort) []part.Part {
	var out []part.Part
	price := func(p float64) part.Trade { return part.Trade{Price: unit.Some(r.tenth(p/2, 2*p))} }
	for range 3 + r.IntN(3) {
		s := one(r, spines[:7]...)
		out = append(out, part.Part{Kind: part.KindShaft, Shaft: unit.Some(part.Shaft{WeightPerInch: unit.Some(unit.LinearDensity(s.perInch*r.between(0.9, 1.1)) * unit.GrainPerInch),
			Spine: some(s.spine), OuterDiameter: some(r.between(0.24, 0.3)), InnerDiameter: some(0.204), StockLength: some(r.tenth(29, 33)), Trade: price(8)})})
	}
	out = append(out,
		part.Part{Kind: part.KindNock, Nock: unit.Some(part.Nock{Weight: gr(9), Trade: price(1)})},
		part.Part{Kind: part.KindVanes, Vanes: unit.Some(part.Vanes{Count: 3, Weight: gr(7), Length: in(r.between(1.8, 3)), Height: some(r.between(0.4, 0.55)), Rear: in(1), Trade: price(0.4)})})
	for range 1 + r.IntN(3) {
		out = append(out, part.Part{Kind: part.KindInsert, Insert: unit.Some(part.Insert{Weight: gr(r.tenth(12, 90)), Depth: in(1), Thread: "8-32", Trade: price(2)})})
	}
	for range 1 + r.IntN(3) {
		h := part.Head{Weight: gr(r.tenth(80, 180)), Length: some(1.4), Thread: "8-32", Trade: price(4)}
		if head == fitting.FixedBroadhead {
			h.Blades, h.BladeLength, h.CutWidth = 3, some(r.between(0.9, 1.3)), some(r.between(0.9, 1.2))
		}
		out = append(out, part.Part{Kind: part.KindHead, Head: unit.Some(h)})
	}
	return out
}

// On drawers so small that every arrow can be computed by package sheet: there are as
// many builds without a warning as the drawer allows, and none only where it allows
// none.
func TestAsManyWithoutAWarningAsThereAre(t *testing.T) {
	cases := 150
	if testing.Short() {
		cases = 30
	}
	count := map[string]int{}
	for n := range cases {
		r := seeded(1000 + uint64(n))
		a := r.answers()
		a.Lighted, a.InStock = false, false
		if r.once(2) {
			a.Purpose = fitting.Purpose{Name: "anything", MinPerDraw: 5 * unit.GrainPerPound, MaxPerDraw: 14 * unit.GrainPerPound, MinFOC: 0.04, MaxFOC: 0.25}
		}
		a.Head = one(r, fitting.FieldPoint, fitting.FixedBroadhead)
		if a.Budget > 0 {
			a.Budget = r.tenth(150, 250)
		}
		j := r.job()
		j.Bow.Value.Peak, j.Bow.Value.Draw = unit.Some(lb(r.tenth(35, 75))), unit.Some(in(r.tenth(25, 30)))
		j.Bow.Value.MaximumPeak.Given = false
		for len(j.Bow.Value.Readings) == 0 {
			j.Bow.Value.Readings = r.bow().Readings
		}
		j.Limits.Value.MinPeak = 0
		if n%3 == 0 {
			j.Bow.Value.Release = bow.Fingers
		}
		parts := r.tiny(a.Head)
		clean, sound := arrows(j, parts, a)
		p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
		switch want := apart(clean); {
		case err != nil:
			count["refused"]++
			if len(sound) > 0 {
				t.Errorf("case %d: refused, and %d arrows are without danger, %d without a warning: %v", n, len(sound), len(clean), err)
			}
		case want == 0:
			count["with a warning"]++
			if len(sound) == 0 {
				t.Errorf("case %d: proposes what is a danger or out of bounds", n)
			}
			check(t, j, parts, a, unit.System{}, p)
		default:
			count[[]string{"", "one", "two", "three"}[want]]++
			check(t, j, parts, a, unit.System{}, p)
			if len(p.Offers) != want {
				t.Errorf("case %d: %d builds, and the drawer makes %d that are apart and without a warning", n, len(p.Offers), want)
			}
			if want == 3 && len(p.Offers) == 3 {
				got, _, _ := look(j, &p.Offers[1].Build, a)
				if middling(t, j, a, clean, got) {
					count["middle"]++
				}
			}
			for _, b := range beside(j, p, unit.System{}) {
				if slices.ContainsFunc(b.Cautions, func(c caution.Caution) bool { return c.Level == caution.Warn && c.Code != caution.Broadhead }) {
					t.Errorf("case %d: %s has a warning, and %d arrows have none", n, b.Name, len(clean))
				}
			}
		}
	}
	t.Log(count)
	for _, outcome := range []string{"refused", "with a warning", "one", "two", "three", "middle"} {
		if count[outcome] == 0 && !testing.Short() {
			t.Errorf("no case came out as %s", outcome)
		}
	}
}
