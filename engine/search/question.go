package search

import (
	"math"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// window is the range, in SI, that a figure must lie in, bounds included.
type window struct {
	key      figure.Key
	distance unit.Length // 0 for a figure of the whole build
	min, max float64     // infinite where there is no bound
}

// slack is how much a figure may miss a bound by, relatively, and still count as
// on it: more than rounding leaves of a sum in other units, and less than anybody
// measures.
const slack = 1e-9

func (w *window) holds(value float64) bool { return value >= w.min && value <= w.max }

// question is what is asked of a candidate.
type question struct {
	windows    []window
	sort       figure.Key
	size       unit.Unit // of what is sorted by
	descending bool
	// missing is a window to rank by how little a candidate misses it, in place of sort;
	// mostly nil.
	missing *window
	// trade is what the matches that nothing beats are kept by, in place of the first
	// few; mostly nil.
	trade   *trade
	limit   int
	misfits bool // are let in
	dangers bool
}

func newQuestion(j *job.Job) question {
	q := question{sort: figure.TotalWeight, limit: 20}
	s := &j.Search.Value
	q.descending, q.misfits, q.dangers = s.Descending, s.Misfits, s.Dangers
	q.limit = s.Limit.Or(q.limit)
	if key, ok := figure.ByName(s.Sort); ok {
		q.sort = key
	}
	q.size = q.sort.Definition().Unit
	for name, w := range s.Where {
		key, _ := figure.ByName(name)
		size := key.Definition().Unit
		out := window{key: key, distance: w.Distance.Or(0), min: math.Inf(-1), max: math.Inf(1)}
		if w.Min.Given {
			out.min = size.From(w.Min.Value - slack*math.Abs(w.Min.Value))
		}
		if w.Max.Given {
			out.max = size.From(w.Max.Value + slack*math.Abs(w.Max.Value))
		}
		q.windows = append(q.windows, out)
	}
	slices.SortFunc(q.windows, func(a, b window) int { return int(a.key - b.key) })
	return q
}

// distances lists those that are asked about, the nearest first.
func (q *question) distances() []unit.Length {
	var out []unit.Length
	for _, w := range q.windows {
		if w.distance > 0 && !slices.Contains(out, w.distance) {
			out = append(out, w.distance)
		}
	}
	slices.Sort(out)
	return out
}

// judge decides candidates one by one, by what package sheet computes of them.
type judge struct {
	question question
	setting  sheet.Setting
	alone    job.Job // the job as one candidate alone has it
	whole    []figure.Key
}

func newJudge(j *job.Job, q question) *judge {
	out := &judge{question: q, setting: sheet.NewSetting(j)}
	out.alone = *j
	out.alone.Baseline, out.alone.Sight.Value.Marks = 0, nil // marks have no part in a danger
	out.alone.Distances = []unit.Length{20 * unit.Yard}
	for _, w := range q.windows {
		if w.distance == 0 {
			out.whole = append(out.whole, w.key)
		}
	}
	return out
}

// fits reports whether nothing in a build clashes, or clashes are let in.
func (x *judge) fits(b *arrow.Build) bool {
	return x.question.misfits || len(caution.Misfits(b, unit.System{})) == 0
}

// safe reports whether a build is no danger, or dangers are let in.
func (x *judge) safe(b *arrow.Build) bool {
	if x.question.dangers {
		return true
	}
	alone := x.alone
	alone.Builds = []arrow.Build{*b}
	s := sheet.Evaluate(&alone)
	return !slices.ContainsFunc(s.Builds[0].Cautions, func(c caution.Caution) bool { return c.Level == caution.Danger })
}

// within reports whether the figures of a build lie in all windows of which asked
// holds.
func (x *judge) within(b *arrow.Build, asked func(w *window) bool) bool {
	var whole figure.Values
	have := false
	for i := range x.question.windows {
		w := &x.question.windows[i]
		if !asked(w) {
			continue
		}
		if w.distance > 0 {
			values := x.setting.At(b, w.distance)
			if value, ok := values.Get(w.key); !ok || !w.holds(value) {
				return false
			}
			continue
		}
		if !have {
			whole, have = x.setting.Some(b, x.whole), true
		}
		if value, ok := whole.Get(w.key); !ok || !w.holds(value) {
			return false
		}
	}
	return true
}

// matches reports whether a build is what is asked for.
func (x *judge) matches(b *arrow.Build) bool {
	return x.fits(b) && x.within(b, func(*window) bool { return true }) && x.safe(b)
}
