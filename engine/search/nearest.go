package search

import (
	"cmp"
	"context"
	"math"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// Length stands among the kinds of piece for the length of the arrow, which is
// swapped like one.
const Length part.Kind = "length"

// Offer is a build with one or two of its pieces swapped for others of the drawer.
type Offer struct {
	Build  arrow.Build
	Swaps  []part.Kind // what was swapped: a kind of piece, or Length
	Change unit.Mass   // of total weight
	// Brings is true when the build has a warning that it did not have before, or more
	// reason for one about its weight, its length, its shaft or its steering.
	Brings bool
}

// Near is what was found near a build.
type Near struct {
	// Already is true when the build as it is lies in all windows, and there is no
	// caution to clear.
	Already bool
	// Offers come close to the build in this order: of one swap the least change of
	// weight for each kind of piece, then of two. Those that bring a warning come last.
	Offers []Offer
	// Closest is, where there is no offer, what misses the windows least without
	// bringing a warning, or with one where nothing else comes closer than the build as
	// it is. Nil where nothing does, and where a caution was to be cleared.
	Closest *Offer
}

// mostPairs is how many offers of two swaps there are where one is not enough.
const mostPairs = 3

// Nearest looks for the least change of a build of a job, of one swap and then of
// two, that brings its figures into the windows of the job's question and clears a
// caution; one without a code is none. Swaps come from the job's drawer: an empty list
// offers none, and null in a list stands for doing without. A head is swapped for
// one of its own sort, unless it is the head's sort that the caution is about.
//
// No offer is a danger that the build is not already, nor a greater one, and no swap
// brings a piece that does not fit. That something could turn out either way is not
// cleared by making it certain. Of two swaps that change the weight alike the one that the
// drawer lists first is offered. report, which may be nil, is called now and then.
// The error is a *record.Error about the drawer, or the context's when it ends first.
func Nearest(ctx context.Context, j *job.Job, build int, clears caution.Caution, report func(Progress)) (*Near, error) {
	n, err := newNearer(ctx, j, build, clears, report)
	if err != nil {
		return nil, err
	}
	if clears.Code == "" && n.judge.within(n.from, every) {
		return &Near{Already: true}, nil
	}
	out := &Near{Offers: n.offers()}
	if len(out.Offers) == 0 && clears.Code == "" {
		out.Closest = n.closest()
	}
	return out, ctx.Err()
}

func every(*window) bool { return true }

// nearer is one search near a build.
type nearer struct {
	ctx     context.Context
	report  func(Progress)
	judge   *judge
	clears  caution.Caution
	from    *arrow.Build
	clashes []caution.Clash   // of the build as it is
	had     []caution.Caution // its cautions
	alone   job.Job           // the builds that a changed one is judged beside
	place   int               // of the changed one
	refits  bool              // its speed is fitted to known marks
	bare    sheet.Setting     // of alone
	was     figure.Values     // of the build as it is
	options []option
	single  []swapped
	double  []swapped
	done    Progress
}

// option is one swap.
type option struct {
	kind part.Kind
	put  func(b *arrow.Build)
}

// swapped is a candidate: one option or two.
type swapped struct {
	first, second int // second is −1 where there is none
	change        unit.Mass
}

func newNearer(ctx context.Context, j *job.Job, build int, clears caution.Caution, report func(Progress)) (*nearer, error) {
	s, err := newSpace(j)
	if err != nil {
		return nil, err
	}
	from := j.Builds[build].Clone()
	n := &nearer{
		ctx: ctx, report: report, judge: newJudge(j, newQuestion(j)), clears: clears, from: &from,
		clashes: caution.Misfits(&from, unit.System{}),
	}
	n.isolate(j, build)
	now := *j
	now.Distances = n.alone.Distances
	n.had = sheet.Evaluate(&now).Builds[build].Cautions
	n.list(s, &j.Drawer.Value)
	n.pair()
	n.done.Candidates = uint64(len(n.single) + len(n.double))
	return n, nil
}

// isolate makes the job in which a changed build is judged: beside it only what its
// cautions rest on, which is the build proven on the bow and, where marks were shot,
// the baseline. A build whose pieces change is not the one that was proven.
func (n *nearer) isolate(j *job.Job, build int) {
	n.alone = *j
	n.alone.Distances = []unit.Length{20 * unit.Yard}
	n.alone.Builds, n.alone.Baseline = nil, 0
	for i := range j.Builds {
		b := j.Builds[i]
		switch {
		case i == build:
			if b.Name == n.alone.Bow.Value.Proven {
				n.alone.Bow.Value.Proven = ""
			}
			n.place = len(n.alone.Builds)
			n.from.Proven, n.from.Proof = false, unit.Optional[arrow.Proof]{}
			b = *n.from
		case !j.Marked(&b) && (i != j.Baseline || len(j.Sight.Value.Marks) < 2):
			continue
		}
		if i == j.Baseline {
			n.alone.Baseline = len(n.alone.Builds)
		}
		n.alone.Builds = append(n.alone.Builds, b)
	}
	n.bare = sheet.NewSetting(&n.alone)
	n.refits = build == j.Baseline && len(j.Sight.Value.Marks) > 2
	n.was, _ = n.bare.Cautions(&n.alone, n.from)
}

// list lists every swap that leaves out what the build has already.
func (n *nearer) list(s *space, d *job.Drawer) {
	add := func(kind part.Kind, put func(b *arrow.Build)) { n.options = append(n.options, option{kind, put}) }
	b := n.from
	bare := func(s part.Shaft) part.Shaft {
		s.TubeWeight, s.TubeWeightU = unit.Optional[unit.Mass]{}, unit.Optional[unit.Mass]{}
		return s
	}
	for _, c := range s.shafts {
		if c.piece != b.Shaft && bare(c.piece) != bare(b.Shaft) {
			add(part.KindShaft, func(b *arrow.Build) { b.Shaft = c.piece })
		}
	}
	for _, c := range s.lengths {
		if math.Abs(float64(c.piece-b.Length)) > 1e-9*float64(b.Length) {
			add(Length, func(b *arrow.Build) { b.Recut(c.piece) })
		}
	}
	for _, c := range s.inserts {
		if len(d.Inserts) > 0 && c.piece != b.Insert {
			add(part.KindInsert, func(b *arrow.Build) { b.Insert = c.piece })
		}
	}
	for _, c := range s.collars {
		if len(d.Collars) > 0 && c.piece != b.Collar {
			add(part.KindCollar, func(b *arrow.Build) { b.Collar = c.piece })
		}
	}
	for _, c := range s.heads {
		if c.piece != b.Head && n.replaces(&c.piece) {
			add(part.KindHead, func(b *arrow.Build) { b.Head = c.piece })
		}
	}
	for _, c := range s.nocks {
		if c.piece != b.Nock {
			add(part.KindNock, func(b *arrow.Build) { b.Renock(c.piece) })
		}
	}
	for _, c := range s.vanes {
		if len(d.Vanes) > 0 && c.piece != b.Vanes {
			add(part.KindVanes, func(b *arrow.Build) { b.Vanes = c.piece })
		}
	}
}

// replaces reports whether a head may take the place of the build's.
func (n *nearer) replaces(h *part.Head) bool {
	switch n.clears.Code {
	case caution.Broadhead:
		return true
	case caution.Expandable:
		return (h.Blades > 0) == (n.from.Head.Blades > 0)
	}
	return h.Alike(&n.from.Head)
}

// pair lists the candidates, those that change the weight least first.
func (n *nearer) pair() {
	was := n.from.Moments().Total
	put := func(list *[]swapped, c swapped) {
		b := n.build(c)
		if b.Tube() > 0 {
			c.change = b.Moments().Total - was
			*list = append(*list, c)
		}
	}
	for i := range n.options {
		put(&n.single, swapped{first: i, second: -1})
		for k := range n.options[:i] {
			if n.options[k].kind != n.options[i].kind {
				put(&n.double, swapped{first: k, second: i})
			}
		}
	}
	for _, list := range [][]swapped{n.single, n.double} {
		slices.SortStableFunc(list, func(a, b swapped) int { return cmp.Compare(a.weight(), b.weight()) })
	}
}

// weight is how much the weight changes, so rounded that equal changes tie.
func (c swapped) weight() float64 {
	const step = 1e-6 * float64(unit.Grain)
	return math.Round(math.Abs(float64(c.change)) / step)
}

// build makes a candidate.
func (n *nearer) build(c swapped) arrow.Build {
	b := n.from.Clone()
	n.options[c.first].put(&b)
	if c.second >= 0 {
		n.options[c.second].put(&b)
	}
	return b
}

// kinds lists what a candidate swaps.
func (n *nearer) kinds(c swapped) []part.Kind {
	out := []part.Kind{n.options[c.first].kind}
	if c.second >= 0 {
		out = append(out, n.options[c.second].kind)
	}
	return out
}

func (n *nearer) offer(c swapped, brings bool) Offer {
	return Offer{Build: n.build(c), Swaps: n.kinds(c), Change: c.change, Brings: brings}
}

// quality is what becomes of a candidate.
type quality int

const (
	refused quality = iota
	warned          // what is asked for, with a warning that was not there
	clean
)

// offers walks through the candidates in their order.
func (n *nearer) offers() []Offer {
	good, poor := n.walk(n.single, len(n.single), math.Inf(1))
	most, least := mostPairs, math.Inf(1)
	if len(good) > 0 { // two swaps are worth it only where they change less
		most, least = 1, good[0].weight()
	}
	pairs, poorPairs := n.walk(n.double, most, least)
	good, poor = append(good, pairs...), append(poor, poorPairs...)
	var out []Offer
	for _, c := range good {
		out = append(out, n.offer(c, false))
		least = min(least, c.weight())
	}
	// A warning is worth it only where nothing without one changes so little.
	slices.SortStableFunc(poor, func(a, b swapped) int { return cmp.Compare(a.weight(), b.weight()) })
	if len(poor) > 0 && poor[0].weight() < least {
		out = append(out, n.offer(poor[0], true))
	}
	return out
}

// walk returns of each kind, or two kinds, the first that does what is asked, up to so
// many and only with less change of weight than least; and the first that does it with
// a warning.
func (n *nearer) walk(list []swapped, most int, least float64) (good, poor []swapped) {
	seen := map[[2]part.Kind]bool{}
	for _, c := range list {
		if n.tick(); n.ctx.Err() != nil || len(good) == most || c.weight() >= least {
			break
		}
		var kinds [2]part.Kind
		copy(kinds[:], n.kinds(c))
		if seen[kinds] {
			continue
		}
		switch n.try(c) {
		case clean:
			seen[kinds] = true
			good = append(good, c)
			n.done.Matched++
		case warned:
			if len(poor) == 0 {
				poor = append(poor, c)
			}
		}
	}
	return good, poor
}

// reportEvery is how many candidates are decided between two reports.
const reportEvery = 256

func (n *nearer) tick() {
	n.done.Done++
	if n.report != nil && n.done.Done%reportEvery == 0 {
		n.report(n.done)
	}
}

// try decides one candidate.
func (n *nearer) try(c swapped) quality {
	b := n.build(c)
	if !n.fits(&b, n.kinds(c)) || !n.judge.within(&b, every) {
		return refused
	}
	return n.sound(&b)
}

// fits reports whether what is swapped in goes with the rest, and nothing clashes
// that did not before.
func (n *nearer) fits(b *arrow.Build, kinds []part.Kind) bool {
	for _, clash := range caution.Misfits(b, unit.System{}) {
		before := slices.ContainsFunc(n.clashes, func(c caution.Clash) bool { return slices.Equal(c.Pieces, clash.Pieces) })
		touched := slices.ContainsFunc(kinds, func(k part.Kind) bool { return slices.Contains(clash.Pieces, k) })
		// What clashes with nothing else clashes with the length.
		if !before || touched || len(clash.Pieces) == 1 && slices.Contains(kinds, Length) {
			return false
		}
	}
	return true
}

// sound judges the cautions of a candidate. Uncertainty only ever adds to them, so
// what bare values refuse need not be computed with it, unless the candidate is the
// arrow that known marks are fitted to.
func (n *nearer) sound(b *arrow.Build) quality {
	values, list := n.bare.Cautions(&n.alone, b)
	worse := n.worse(b, &values)
	if worse == refused || !n.refits && n.weigh(list) == refused {
		return refused
	}
	beside := n.alone
	beside.Builds = slices.Clone(n.alone.Builds)
	beside.Builds[n.place] = *b
	return min(worse, n.weigh(sheet.Evaluate(&beside).Builds[n.place].Cautions))
}

// weigh compares cautions with those of the build as it is. What is not checked is not
// clear: a check that could be made before must still be made. Only whether a shaft is
// weak for a release with the fingers may be left open, as a warning.
func (n *nearer) weigh(list []caution.Caution) quality {
	type check struct {
		code  caution.Code
		limit string
	}
	out, unchecked := clean, map[check]int{}
	for _, c := range n.had {
		if c.Unchecked {
			unchecked[check{c.Code, c.Limit}]++
		}
	}
	for _, c := range list {
		if c.Unchecked {
			of := check{c.Code, c.Limit}
			switch unchecked[of]--; {
			case unchecked[of] >= 0:
			case c.Code != caution.Weak:
				return refused
			default:
				out = warned
			}
			continue
		}
		switch {
		case c.Same(n.clears), c.Code == n.clears.About && c.Limit == n.clears.Limit:
			return refused
		case !n.graver(c):
		case c.Level == caution.Danger:
			return refused
		default:
			out = warned
		}
	}
	return out
}

// weight is how much a caution counts: that something may be a danger is a warning.
func weight(c caution.Caution) caution.Level {
	switch c.About {
	case caution.LightArrow, caution.ShortArrow, caution.Folds, caution.Unstable:
		return caution.Warn
	}
	return c.Level
}

// graver reports whether a caution is a danger or a warning and graver than what is
// said of the build as it is.
func (n *nearer) graver(c caution.Caution) bool {
	return weight(c) != caution.Note && !slices.ContainsFunc(n.had, func(h caution.Caution) bool {
		return !h.Unchecked && (h.Same(c) && (weight(h) == weight(c) || h.Level == caution.Danger) || c.About != "" && h.Code == c.About && h.Limit == c.Limit)
	})
}

// worse tells whether a build is worse off in what the one it is made from is a danger
// in, which is refused, or bears a warning for, which counts as one that it brings.
func (n *nearer) worse(b *arrow.Build, is *figure.Values) quality {
	out := clean
	// grew tells by how much a figure is more than it was, where it must be known.
	grew := func(k figure.Key) float64 {
		before, _ := n.was.Get(k)
		after, ok := is.Get(k)
		if by := after - before; ok && math.Abs(by) > slack*math.Abs(before) {
			return by
		}
		if !ok {
			return math.NaN()
		}
		return 0
	}
	less := func(k figure.Key) bool { return !(grew(k) >= 0) }
	more := func(k figure.Key) bool { return !(grew(k) <= 0) }
	for _, c := range n.had {
		if c.Unchecked || weight(c) == caution.Note {
			continue
		}
		code := c.Code
		if c.About != "" {
			code = c.About
		}
		fell := false
		switch code {
		case caution.ShortArrow, caution.BladeReach:
			fell = b.Length < n.from.Length
		case caution.LightArrow:
			fell = less(figure.TotalWeight)
		case caution.Folds, caution.Weak:
			fell = less(figure.LaunchMargin)
		case caution.Unstable:
			fell = less(figure.SteerMargin)
		case caution.Plane:
			fell = b.Head.Blades > 0 && more(figure.HeadShare)
		}
		switch {
		case fell && c.Level == caution.Danger:
			return refused
		case fell:
			out = warned
		}
	}
	return out
}

// closest returns what misses the windows least and brings no warning; where all
// that comes closer brings one, the closest of those.
func (n *nearer) closest() *Offer {
	type missed struct {
		swapped
		by float64
	}
	own, _ := n.judge.miss(n.from)
	var list []missed
	for _, some := range [][]swapped{n.single, n.double} {
		for _, c := range some {
			if n.ctx.Err() != nil {
				return nil
			}
			b := n.build(c)
			if by, ok := n.judge.miss(&b); ok && by < own && n.fits(&b, n.kinds(c)) {
				list = append(list, missed{c, by})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b missed) int { return cmp.Compare(math.Round(a.by/grain), math.Round(b.by/grain)) })
	var out *Offer
	for _, c := range list {
		b := n.build(c.swapped)
		q := n.sound(&b)
		if q == clean || q == warned && out == nil {
			offer := n.offer(c.swapped, q == warned)
			out = &offer
		}
		if q == clean || n.ctx.Err() != nil {
			break
		}
	}
	return out
}

// miss returns by how much a build misses the windows, of the window that it misses
// most and in parts of that one's half width; it is false where a figure is absent.
func (x *judge) miss(b *arrow.Build) (by float64, ok bool) {
	whole := x.setting.Some(b, x.whole)
	for i := range x.question.windows {
		w := &x.question.windows[i]
		values := whole
		if w.distance > 0 {
			values = x.setting.At(b, w.distance)
		}
		value, known := values.Get(w.key)
		if !known {
			return math.Inf(1), false
		}
		by = max(by, w.miss(value)/w.scale())
	}
	return by, true
}

// miss returns by how much a value lies outside the window.
func (w *window) miss(value float64) float64 { return max(w.min-value, value-w.max, 0) }

// scale is what a miss is measured by: half the width of the window, or its one
// bound.
func (w *window) scale() float64 {
	half := (w.max - w.min) / 2
	if math.IsInf(half, 0) || half <= 0 {
		half = math.Abs(w.min)
		if math.IsInf(w.min, 0) {
			half = math.Abs(w.max)
		}
	}
	if half > 0 && !math.IsInf(half, 0) {
		return half
	}
	return w.key.Definition().Unit.Size
}
