package fitting

import (
	"cmp"
	"math"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// noInsert is the note of package sheet that a head has nothing to screw into.
const noInsert caution.Code = "no insert"

// relaxed is what is let go of when the parts allow nothing without a fault, one
// after the other: the least grave first. What turns over in flight, or may, is never
// let in.
var relaxed = []caution.Code{noInsert, caution.OverLimit, caution.Plane, caution.Weak, caution.LightArrow}

// stage is one set of rules that candidates are held to. No rules let a danger in.
type stage struct {
	*fitter
	allowed   []caution.Code // faults that are let in
	low, high float64        // launch margin
	drawer    job.Drawer
	judged    map[search.Pick][]caution.Caution
}

func (f *fitter) stage(low, high float64, allowed ...caution.Code) *stage {
	s := &stage{fitter: f, allowed: allowed, low: low, high: high, drawer: f.drawer, judged: map[search.Pick][]caution.Caution{}}
	if !s.allows(caution.OverLimit) {
		limits := &f.job.Limits.Value
		s.drawer.Shafts = slices.DeleteFunc(slices.Clone(s.drawer.Shafts), func(p part.Shaft) bool {
			return limits.MaxDiameter > 0 && p.OuterDiameter.Given && p.OuterDiameter.Value > limits.MaxDiameter
		})
		s.drawer.Heads = slices.DeleteFunc(slices.Clone(s.drawer.Heads), func(p part.Head) bool {
			return limits.MinCutWidth > 0 && p.Blades > 0 && p.CutWidth.Given && p.CutWidth.Value < limits.MinCutWidth
		})
	}
	return s
}

func (s *stage) allows(c caution.Code) bool { return slices.Contains(s.allowed, c) }

// ask is a question within a stage.
type ask struct {
	light, heavy unit.Mass
	low, high    float64 // launch margin
	foc          float64 // at most so far from the middle of the purpose's range
	descending   bool
}

// all asks for everything that a stage lets in.
func (s *stage) all() ask {
	return ask{heavy: unit.Mass(math.Inf(1)), low: s.low, high: s.high, foc: math.Inf(1)}
}

// middleFOC is what FOC is aimed at.
func (f *fitter) middleFOC() float64 {
	return float64(f.answers.Purpose.MinFOC+f.answers.Purpose.MaxFOC) / 2
}

// where turns a question into windows on figures.
func (s *stage) where(a ask) map[string]job.Window {
	limits, purpose := &s.job.Limits.Value, &s.answers.Purpose
	out := map[string]job.Window{}
	put := func(k figure.Key, low, high float64) {
		w, u := job.Window{}, k.Definition().Unit
		if low > 0 || k == figure.FOC {
			w.Min = unit.Some(u.Of(low))
		}
		if !math.IsInf(high, 0) {
			w.Max = unit.Some(u.Of(high))
		}
		if w.Min.Given || w.Max.Given {
			out[k.String()] = w
		}
	}
	perDraw, lightest, fastest := float64(purpose.MinPerDraw), float64(a.light), math.Inf(1)
	if !s.allows(caution.LightArrow) {
		perDraw = max(perDraw, s.advised)
	}
	if !s.allows(caution.OverLimit) {
		perDraw, lightest = max(perDraw, float64(limits.MinWeightPerDraw)), max(lightest, float64(limits.MinWeight))
		if limits.MaxSpeed > 0 {
			fastest = float64(limits.MaxSpeed)
		}
	}
	middle := s.middleFOC()
	put(figure.WeightPerDraw, perDraw, float64(purpose.MaxPerDraw))
	put(figure.TotalWeight, lightest, float64(a.heavy))
	put(figure.LaunchSpeed, 0, fastest)
	put(figure.FOC, max(float64(purpose.MinFOC), middle-a.foc), min(float64(purpose.MaxFOC), middle+a.foc))
	put(figure.LaunchMargin, a.low, a.high)
	return out
}

// find looks through a drawer for the first so many matches, by weight.
func (f *fitter) find(d *job.Drawer, q job.Search) (*search.Found, error) {
	if len(d.Shafts) == 0 || len(d.Heads) == 0 { // the rules sheet allows none
		return &search.Found{}, nil
	}
	j := f.job
	j.Drawer, j.Search = unit.Some(*d), unit.Some(q)
	return search.Find(f.ctx, &j, f.report)
}

// candidate is one match with what it is chosen by.
type candidate struct {
	pick        search.Pick
	build       arrow.Build
	mass        unit.Mass
	margin, foc float64
	cost        float64 // infinite where a price is missing
	faults      int     // how many are seen at a glance
}

// assemble puts a pick together.
func assemble(d *job.Drawer, p search.Pick) arrow.Build {
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

// glanced are the figures that a glance needs. None of them has to be solved for.
var glanced = []figure.Key{figure.TotalWeight, figure.FOC, figure.SteerMargin, figure.HeadShare, figure.DozenCost}

// glance looks at what no window of a search decides quickly: price and steering. It
// is false for a candidate that is not let in. What it lets in is still judged.
func (s *stage) glance(p search.Pick) (candidate, bool) {
	c := candidate{pick: p, build: assemble(&s.drawer, p), cost: math.Inf(1)}
	values := s.setting.Some(&c.build, glanced)
	mass, _ := values.Get(figure.TotalWeight)
	c.mass = unit.Mass(mass)
	c.foc, _ = values.Get(figure.FOC)
	if cost, ok := values.Get(figure.DozenCost); ok {
		c.cost = cost
	}
	if s.answers.Budget > 0 && c.cost > s.answers.Budget*(1+slack) {
		return c, false
	}
	steer, steers := values.Get(figure.SteerMargin)
	if steers && steer <= 0 || !steers && c.build.Head.Blades > 0 {
		return c, false
	}
	share, pulls := values.Get(figure.HeadShare)
	for _, fault := range []struct {
		has  bool
		code caution.Code
	}{{c.build.Head.Thread != "" && !c.build.Insert.Given, noInsert}, {pulls && share > caution.MostHeadShare, caution.Plane}} {
		if fault.has && !s.allows(fault.code) {
			return c, false
		}
		if fault.has {
			c.faults++
		}
	}
	return c, true
}

// each calls do for what a question finds, by weight, until do has enough. page is
// how many to ask for first.
func (s *stage) each(a ask, page int, do func(c candidate) (enough bool, err error)) error {
	seen := map[search.Pick]bool{}
	for {
		found, err := s.find(&s.drawer, job.Search{Where: s.where(a), Limit: unit.Some(page), Descending: a.descending})
		if err != nil {
			return err
		}
		next, first, last := make(map[search.Pick]bool, len(found.Picks)), unit.Mass(0), unit.Mass(0)
		for i, p := range found.Picks {
			next[p] = true
			c, ok := s.glance(p)
			if last = c.mass; i == 0 {
				first = last
			}
			if !ok || seen[p] {
				continue
			}
			if enough, err := do(c); enough || err != nil {
				return err
			}
		}
		if uint64(len(found.Picks)) >= found.Matched {
			return nil
		}
		// The next page begins with the weight that this one ends with.
		if seen = next; a.descending {
			a.heavy = last
		} else {
			a.light = last
		}
		if page *= 4; first != last {
			page = min(page, 1<<14)
		}
	}
}

// passes reports whether a candidate has no fault but those that are let in.
func (s *stage) passes(c *candidate) (bool, error) {
	if err := s.ctx.Err(); err != nil {
		return false, err
	}
	faults, known := s.judged[c.pick]
	if !known {
		faults = s.judge(&c.build)
		s.judged[c.pick] = faults
	}
	for _, x := range faults {
		if x.Level == caution.Danger || !s.allows(x.Code) {
			return false, nil
		}
	}
	return true, nil
}

// judge returns what package sheet says against a build: dangers, warnings other
// than the one that goes with every bladed head, and whether a danger could not be
// looked for because a part does not say enough.
func (f *fitter) judge(b *arrow.Build) []caution.Caution {
	j := f.job
	j.Builds = append(slices.Clone(j.Builds), *b)
	return faults(&sheet.EvaluateIn(&j, f.units).Builds[len(j.Builds)-1])
}

// faults lists what is said against a build of a sheet.
func faults(b *sheet.Build) []caution.Caution {
	var out []caution.Caution
	for _, c := range b.Cautions {
		unseen := c.Unchecked && (c.Code == caution.Folds || c.Code == caution.Unstable)
		if c.Level == caution.Danger || c.Level == caution.Warn && c.Code != caution.Broadhead || unseen {
			out = append(out, c)
		}
	}
	for _, c := range b.Notes {
		if c.Level == caution.Warn && c.Code != sheet.BeyondReadings {
			out = append(out, c)
		}
	}
	return out
}

// extreme returns the weight of the lightest or the heaviest that a stage lets in.
func (s *stage) extreme(heaviest bool) (m unit.Mass, ok bool, err error) {
	a := s.all()
	a.descending = heaviest
	err = s.each(a, 32, func(c candidate) (bool, error) {
		pass, err := s.passes(&c)
		if pass {
			m, ok = c.mass, true
		}
		return pass, err
	})
	return m, ok, err
}

// near is how far from a weight a build is looked for first.
const near = 15 * unit.Grain

// choose returns the build between two weights that is chosen near a third one:
// farther from it only where there is none nearer.
func (s *stage) choose(from, to, target unit.Mass) (*candidate, error) {
	target = min(max(target, from), to)
	for width := near; from <= to; width *= 2 {
		light, heavy := max(from, target-width), min(to, target+width)
		c, err := s.best(light, heavy, target)
		if c != nil || err != nil {
			return c, err
		}
		if light == from && heavy == to {
			break
		}
	}
	return nil, nil
}

// Steps within which two builds count as alike: one step of spine is worth about
// 0.15 of launch margin, so that 0.05 tells nothing.
const (
	marginStep = 0.05
	focStep    = 0.01
)

// best returns the build between two weights whose launch margin is nearest to the
// yardstick, then the one whose FOC is nearest to the middle of the purpose's range,
// then the cheapest, then the one nearest to the target.
func (s *stage) best(light, heavy, target unit.Mass) (*candidate, error) {
	for width := marginStep; ; width *= 2 {
		a := s.all()
		a.light, a.heavy = light, heavy
		a.low, a.high = max(s.low, s.yard-width), min(s.high, s.yard+width)
		last := a.low == s.low && (a.high == s.high || width > 100)
		if last {
			a.high = s.high
		}
		c, err := s.pick(a, target)
		if c != nil || err != nil || last {
			return c, err
		}
	}
}

// most is how many candidates are compared with each other at a time. Where there are
// more, FOC is first asked to be near the middle.
const most = 2048

// pick returns the best of what a question finds, nothing where nothing passes.
func (s *stage) pick(a ask, target unit.Mass) (*candidate, error) {
	if a.low > a.high || a.light > a.heavy {
		return nil, nil
	}
	solve := a.low < s.yard-marginStep || a.high > s.yard+marginStep
	for ; ; a.foc *= 2 {
		whole := math.IsInf(a.foc, 0)
		var list []candidate
		var out *candidate
		settle := func() (bool, error) {
			s.rank(list, target, solve)
			for i := range list {
				if pass, err := s.passes(&list[i]); pass || err != nil {
					out = &list[i]
					return true, err
				}
			}
			list = nil
			return false, nil
		}
		err := s.each(a, most, func(c candidate) (bool, error) {
			if list = append(list, c); len(list) < most {
				return false, nil
			}
			if whole { // too many: the middle first
				return true, nil
			}
			return settle()
		})
		switch {
		case err != nil || out != nil:
			return out, err
		case whole && len(list) == most:
			a.foc = focStep / 2 // which is doubled now
			continue
		}
		if enough, err := settle(); enough || whole || a.foc > 1 {
			return out, err
		}
	}
}

// rank sorts candidates, the one to choose first. Their margins need not be solved
// where all lie within one step of the yardstick.
func (s *stage) rank(list []candidate, target unit.Mass, solve bool) {
	for i := range list {
		list[i].margin = s.yard
		if !solve {
			continue
		}
		values := s.setting.Some(&list[i].build, []figure.Key{figure.LaunchMargin})
		list[i].margin, _ = values.Get(figure.LaunchMargin)
	}
	steps := func(off, step float64) float64 { return math.Floor(math.Abs(off)/step + slack) }
	middle := s.middleFOC()
	slices.SortStableFunc(list, func(a, b candidate) int {
		return cmp.Or(
			cmp.Compare(a.faults, b.faults),
			cmp.Compare(steps(a.margin-s.yard, marginStep), steps(b.margin-s.yard, marginStep)),
			cmp.Compare(steps(a.foc-middle, focStep), steps(b.foc-middle, focStep)),
			cmp.Compare(a.cost, b.cost),
			cmp.Compare(math.Abs(float64(a.mass-target)), math.Abs(float64(b.mass-target))),
		)
	})
}
