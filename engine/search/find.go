package search

import (
	"cmp"
	"container/heap"
	"context"
	"fmt"
	"math"
	"math/bits"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// Progress is how far a search has come.
type Progress struct {
	Done, Candidates uint64 // combinations that are decided, of all
	Matched          uint64 // so far
	// First returns the first of the matches so far. It may be called while the report
	// lasts.
	First func() *Found
}

// Found is the outcome of a search.
type Found struct {
	Candidates, Matched uint64
	Picks               []Pick // the first of the matches, as many as were asked for
	Builds              []arrow.Build
}

// Find looks through all candidates of a job's drawer for those that its question
// asks for. report, which may be nil, is called now and then, from one goroutine at
// a time. The error is a *record.Error that names what is wrong with the drawer, or
// the context's when it ends first.
func Find(ctx context.Context, j *job.Job, report func(Progress)) (*Found, error) {
	if err := complete(j); err != nil {
		return nil, err
	}
	s, err := newSpace(j)
	if err != nil {
		return nil, err
	}
	return s.find(ctx, j, newQuestion(j), report)
}

// find answers a question about a job's drawer.
func (s *space) find(ctx context.Context, j *job.Job, q question, report func(Progress)) (*Found, error) {
	f := &finder{space: s, judge: newJudge(j, q), bow: &j.Bow.Value, report: report, ctx: ctx}
	f.prepare()
	if err := f.run(); err != nil {
		return nil, err
	}
	return f.found(), nil
}

// found returns what was found so far.
func (f *finder) found() *Found {
	out := &Found{Candidates: f.candidates, Matched: f.matched}
	list := make([]chosen, 0, len(f.best.list)+len(f.edge))
	slices.SortFunc(f.best.list, before)
	slices.Reverse(f.best.list) // a heap again, with the last on top
	for _, r := range slices.Backward(f.best.list) {
		list = append(list, r.chosen)
	}
	for _, c := range f.edge {
		list = append(list, c.chosen)
	}
	for _, c := range list {
		out.Picks = append(out.Picks, f.pick(c))
		out.Builds = append(out.Builds, f.build(c))
	}
	return out
}

// ranked is a match with its place among the others: the least key comes first,
// and among equals the one that is enumerated first.
type ranked struct {
	key float64
	chosen
	turn uint64
}

func before(a, b ranked) int {
	if c := cmp.Compare(a.key, b.key); c != 0 {
		return c
	}
	return cmp.Compare(a.turn, b.turn)
}

// grain is what keys are counted in, of a figure's own unit: far more than adding up
// in another order does, so that what ties on paper ties. Numbers that people write
// are whole numbers of it, and so are their sums: none of them lies where rounding
// could go either way.
const grain = 1e-9

// best keeps the first few matches: a heap with the last of them on top.
type best struct {
	limit int
	list  []ranked
}

func (b *best) Len() int           { return len(b.list) }
func (b *best) Less(i, k int) bool { return before(b.list[i], b.list[k]) > 0 }
func (b *best) Swap(i, k int)      { b.list[i], b.list[k] = b.list[k], b.list[i] }
func (b *best) Push(x any)         { b.list = append(b.list, x.(ranked)) }
func (b *best) Pop() any {
	last := b.list[len(b.list)-1]
	b.list = b.list[:len(b.list)-1]
	return last
}

// room reports whether a match with that key could be among the first.
func (b *best) room(key float64) bool {
	return b.limit > 0 && (len(b.list) < b.limit || key <= b.list[0].key)
}

func (b *best) take(r ranked) {
	switch {
	case len(b.list) < b.limit:
		heap.Push(b, r)
	case b.limit > 0 && before(r, b.list[0]) < 0:
		b.list[0] = r
		heap.Fix(b, 0)
	}
}

// finder is one search.
type finder struct {
	*space
	*judge
	bow    *bow.Bow
	report func(Progress)
	ctx    context.Context

	every      []front
	lightest   float64 // kg: outside of both no candidate matches
	heaviest   float64
	impossible bool     // a window that no candidate can have
	margin     []window // on launch margin
	slow       func(w *window) bool
	anySlow    bool
	// Below minimum, and below so much per pull, an arrow is a danger. The ratio has a
	// standard uncertainty of pullU times the mass besides that of what pieces weigh.
	minimum, perPull, pull, pullU float64

	families []func() *family // by length
	rears    uint64           // how many rears there are: each stands for as many candidates

	lock    sync.Mutex
	done    uint64 // rears
	matched uint64
	best    best
	edge    edge
}

// prepare turns the windows into what sums decide, and leaves the rest for later.
func (f *finder) prepare() {
	f.every = f.fronts(f.judge)
	f.lightest, f.heaviest = math.Inf(-1), math.Inf(1)
	f.best.limit = f.question.limit
	decided := map[*window]bool{}
	for i := range f.question.windows {
		w := &f.question.windows[i]
		switch w.key {
		case figure.TotalWeight, figure.WeightPerDraw, figure.LaunchSpeed, figure.LaunchEnergy, figure.LaunchMomentum, figure.EnergyShare:
			low, high, ok := f.masses(w)
			if !ok {
				f.impossible = true
			}
			f.lightest, f.heaviest = max(f.lightest, low), min(f.heaviest, high)
		case figure.FrontWeight, figure.BalancePoint, figure.FOC:
		case figure.LaunchMargin:
			f.margin = append(f.margin, *w)
		default:
			continue
		}
		decided[w] = true
	}
	f.slow = func(w *window) bool { return !decided[w] }
	f.anySlow = len(decided) < len(f.question.windows)
	if f.question.dangers {
		return
	}
	if least := f.bow.MinimumArrow; least.Given && least.Value > 0 {
		f.minimum = float64(least.Value)
	}
	if f.bow.Peak.Given {
		danger, _ := f.bow.KindOrDefault().LightLimits()
		f.perPull, f.pull = float64(danger), float64(f.bow.Peak.Value)
		u := float64(f.bow.PeakUncertainty())
		f.pullU = u / math.Abs(f.pull*f.pull-u*u/256) // by central differences of a sixteenth, as package sheet has it
	}
}

// masses returns between which masses a window on a figure holds that nothing else
// decides, and grows or falls with it all along. It is false where no arrow has
// the figure.
func (f *finder) masses(w *window) (low, high float64, ok bool) {
	const most = 20. // kg, more than any pieces of a job can weigh
	at := func(m float64) (float64, bool) {
		values := f.setting.OfMass(unit.Mass(m))
		return values.Get(w.key)
	}
	least, ok1 := at(1e-9)
	greatest, ok2 := at(most)
	if !ok1 || !ok2 {
		return 0, 0, false
	}
	rising := greatest > least
	// crossing returns the least mass at which a condition that fails below holds.
	crossing := func(holds func(value float64) bool) float64 {
		a, b := 0.0, most
		for range 200 {
			middle := (a + b) / 2
			if middle == a || middle == b {
				break
			}
			if value, _ := at(middle); holds(value) {
				b = middle
			} else {
				a = middle
			}
		}
		return b
	}
	low, high = 0, math.Inf(1)
	if rising {
		if !math.IsInf(w.min, -1) {
			low = crossing(func(v float64) bool { return v >= w.min })
		}
		if !math.IsInf(w.max, 1) {
			high = crossing(func(v float64) bool { return v > w.max })
		}
		return low, high, true
	}
	if !math.IsInf(w.max, 1) {
		low = crossing(func(v float64) bool { return v <= w.max })
	}
	if !math.IsInf(w.min, -1) {
		high = crossing(func(v float64) bool { return v < w.min })
	}
	return low, high, true
}

// run decides all candidates, a length and a shaft at a time. Shafts that take the same
// inserts and collars follow each other, since they share a table.
func (f *finder) run() error {
	if len(f.nocks) == 0 || len(f.vanes) == 0 || len(f.every) == 0 {
		return nil // nothing of it is in stock, or goes together
	}
	if f.impossible {
		return nil
	}
	var kinds []string
	alike := map[string][]int{}
	for s := range f.shafts {
		kind := fmt.Sprint(f.taken(s))
		if len(alike[kind]) == 0 {
			kinds = append(kinds, kind)
		}
		alike[kind] = append(alike[kind], s)
	}
	type pair struct {
		table *shared
		shaft int
	}
	var pairs []pair
	f.families = make([]func() *family, len(f.lengths))
	for l := range f.lengths {
		f.families[l] = sync.OnceValue(func() *family { return f.newFamily(l, f.judge) })
		for _, kind := range kinds {
			t := &shared{make: func() *table { return f.table(l, alike[kind]) }}
			t.left.Store(int64(len(alike[kind])))
			for _, s := range alike[kind] {
				pairs = append(pairs, pair{t, s})
			}
		}
	}
	f.rears = uint64(len(pairs) * len(f.nocks) * len(f.vanes))
	var next atomic.Int64
	var all sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(pairs)) {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(pairs) && f.ctx.Err() == nil; i = int(next.Add(1)) - 1 {
				w := pairs[i].table.get().work(pairs[i].shaft)
				f.gather(w)
				pairs[i].table.done()
			}
		})
	}
	all.Wait()
	return f.ctx.Err()
}

// gather adds what a length and a shaft have come to since the last time.
func (f *finder) gather(w *work) {
	if f.ctx.Err() != nil {
		return
	}
	f.lock.Lock()
	defer f.lock.Unlock()
	f.matched += w.matched
	f.done += w.done
	for _, r := range w.best.list {
		f.best.take(r)
	}
	for _, c := range w.edge {
		f.edge.take(c)
	}
	w.matched, w.done, w.best.list, w.edge = 0, 0, w.best.list[:0], w.edge[:0]
	if f.report != nil {
		high, low := bits.Mul64(f.candidates, f.done)
		done, _ := bits.Div64(high, low, f.rears)
		f.report(Progress{Done: done, Candidates: f.candidates, Matched: f.matched, First: f.found})
	}
}
