package search

import (
	"math"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// work decides the candidates of one length and one shaft.
type work struct {
	*finder
	length, shaft int32
	long          float64
	fronts        []front
	mass, first   []float64
	halves        []half
	groups        []group
	margins       *margins
	// What the air does to heads with blades, slopes and moments about the cut end;
	// NaN where that is not known.
	slope, moment []float64
	// soundFrom is the mass from which on no candidate is too light.
	soundFrom float64
	// geometric tells whether blades, or none, are a danger at this length.
	geometric [2]bool
	matched   uint64
	best      best
}

func (f *finder) work(length, shaft int, family *family) *work {
	w := &work{finder: f, length: int32(length), shaft: int32(shaft), long: float64(f.lengths[length].piece), best: best{limit: f.question.limit}}
	if f.impossible {
		return w
	}
	w.choose()
	w.clip()
	if len(w.fronts) == 0 {
		return w
	}
	w.halves = halves(&f.question, w.long, w.mass, w.first)
	if !f.question.dangers {
		w.dangers()
	}
	w.grouped(bins)
	if family != nil {
		w.margins = f.space.margins(family, shaft, bins, w.fronts, f.judge)
	}
	for n := range f.nocks {
		w.nock(int32(n))
	}
	return w
}

// choose keeps the fronts that go with the shaft.
func (w *work) choose() {
	trial := arrow.Build{Length: 60 * unit.Inch, Shaft: w.shafts[w.shaft].piece}
	trial.Shaft.StockLength.Given = false
	fit := func() bool { return w.fits(&trial) }
	inserts, collars := make([]bool, len(w.inserts)), make([]bool, len(w.collars))
	for i, c := range w.inserts {
		trial.Insert = c.piece
		inserts[i] = fit()
	}
	trial.Insert = unit.Optional[part.Insert]{}
	for i, c := range w.collars {
		trial.Collar = c.piece
		collars[i] = fit()
	}
	for _, c := range w.every {
		if inserts[c.insert] && collars[c.collar] {
			w.fronts = append(w.fronts, c)
			w.mass, w.first = append(w.mass, c.mass), append(w.first, c.first)
		}
	}
}

// clip leaves out the fronts that are too light or too heavy with every rear.
func (w *work) clip() {
	trial := arrow.Build{Length: w.lengths[w.length].piece, Shaft: w.shafts[w.shaft].piece}
	light, heavy := math.Inf(1), math.Inf(-1)
	for _, n := range w.nocks {
		for _, v := range w.vanes {
			trial.Nock, trial.Vanes = n.piece, v.piece
			m := added(&trial, 0, part.KindShaft, part.KindNock, part.KindVanes).mass
			light, heavy = min(light, m), max(heavy, m)
		}
	}
	if len(w.fronts) == 0 {
		return
	}
	doubt := sumDoubt * (heavy + w.heaviestFront())
	from, _ := slices.BinarySearch(w.mass, w.lightest-heavy-doubt)
	to := len(w.mass)
	if !math.IsInf(w.heaviest, 0) {
		to, _ = slices.BinarySearch(w.mass, w.heaviest-light+doubt)
	}
	to = max(to, from)
	w.fronts, w.mass, w.first = w.fronts[from:to], w.mass[from:to], w.first[from:to]
}

// nock decides the candidates with one nock.
func (w *work) nock(n int32) {
	trial := arrow.Build{Length: w.lengths[w.length].piece, Shaft: w.shafts[w.shaft].piece, Nock: w.nocks[n].piece}
	tube := trial.Tube()
	if !w.fits(&trial) {
		return
	}
	// A figure that is asked for is absent where there is no tube.
	if tube <= 0 && len(w.question.windows) > 0 {
		return
	}
	if tube <= 0 {
		w.oneByOne(n)
		return
	}
	for _, c := range w.fronts {
		insert, collar := &w.inserts[c.insert].piece, &w.collars[c.collar].piece
		if !w.question.misfits && (insert.Value.Depth > tube || collar.Value.Length > tube) {
			w.oneByOne(n)
			return
		}
	}
	cut := added(&trial, 0, part.KindShaft, part.KindNock)
	for v := range w.vanes {
		trial.Vanes = w.vanes[v].piece
		if w.fits(&trial) {
			w.rear(chosen{length: w.length, shaft: w.shaft, nock: n, vanes: int32(v)}, &trial, cut.plus(added(&trial, 0, part.KindVanes)))
		}
		if w.ctx.Err() != nil {
			return
		}
	}
}

// oneByOne decides the candidates with one nock by putting each together: for what
// the sums do not cover.
func (w *work) oneByOne(n int32) {
	for v := range w.vanes {
		for k := range w.fronts {
			w.ask(w.candidate(chosen{length: w.length, shaft: w.shaft, nock: n, vanes: int32(v)}, k))
		}
		if w.ctx.Err() != nil {
			return
		}
	}
}

func (w *work) candidate(c chosen, front int) chosen {
	c.insert, c.collar, c.head = w.fronts[front].insert, w.fronts[front].collar, w.fronts[front].head
	return c
}

// ask decides one candidate by putting it together.
func (w *work) ask(c chosen) {
	if w.ctx.Err() != nil {
		return
	}
	if b := w.build(c); w.matches(&b) {
		w.take(c, math.NaN())
	}
}

// take counts a match, and keeps it when it is among the first. key is what it is
// ranked by, NaN where that has to be worked out.
func (w *work) take(c chosen, key float64) {
	w.matched++
	if w.best.limit == 0 {
		return
	}
	if math.IsNaN(key) {
		b := w.build(c)
		value, ok := w.ranking(&b)
		key = w.order(value)
		if !ok {
			key = math.Inf(1)
		}
	}
	if w.best.room(key) {
		w.best.take(ranked{key, c, w.turn(c)})
	}
}

// ranking computes the figure that a match is ranked by.
func (x *judge) ranking(b *arrow.Build) (value float64, ok bool) {
	q := &x.question
	values := x.setting.Some(b, []figure.Key{q.sort})
	if q.missing != nil && q.missing.distance > 0 {
		values = x.setting.At(b, q.missing.distance)
	}
	return values.Get(q.sort)
}

// order turns a figure into what the least of comes first.
func (w *work) order(value float64) float64 {
	if w.question.missing != nil {
		return coarse(w.question.missing.miss(value))
	}
	if w.question.descending {
		value = -value
	}
	return coarse(value)
}

// Within so much of a bound, relatively, sums do not decide: they add up in another
// order than package sheet does. What rests on a slope by differences is less sure.
const (
	sumDoubt   = 1e-12
	slopeDoubt = 1e-5
)

// rear decides the candidates with one rear: all fronts of it.
func (w *work) rear(c chosen, trial *arrow.Build, rear sum) {
	doubt := sumDoubt * (rear.mass + w.heaviestFront())
	at := func(mass float64) int {
		k, _ := slices.BinarySearch(w.mass, mass-rear.mass)
		return k
	}
	from, to := at(w.lightest-doubt), len(w.mass)
	if !math.IsInf(w.heaviest, 0) {
		to = at(w.heaviest + doubt)
	}
	if from >= to {
		return
	}
	r := rearOf{chosen: c, sum: rear, needs: make([]float64, len(w.halves)), doubts: make([]float64, len(w.halves))}
	for i := range w.halves {
		h := &w.halves[i]
		r.needs[i] = h.need(rear)
		r.doubts[i] = sumDoubt * (h.most + math.Abs(r.needs[i]) + rear.mass + w.heaviestFront())
	}
	if !w.question.dangers {
		r.steer = w.steerRear(trial, rear)
		r.sound = at(w.soundFrom)
	}
	// What lies on a bound by weight is put together; so is an arrow of no weight.
	sure, end := from, to
	for sure < to && (rear.mass+w.mass[sure] < w.lightest+doubt || rear.mass+w.mass[sure] <= 0) {
		w.front(&r, sure, nil, true)
		sure++
	}
	for end > sure && rear.mass+w.mass[end-1] > w.heaviest-doubt {
		end--
		w.front(&r, end, nil, true)
	}
	if w.margins == nil && len(w.margin) > 0 {
		return // no candidate of this shaft has a margin
	}
	pair := int(c.nock)*len(w.vanes) + int(c.vanes)
	for i := range w.groups {
		g := &w.groups[i]
		from, to := max(sure, g.from), min(end, g.to)
		if from >= to {
			continue
		}
		verdict, margin := w.group(&r, g, from), (*bound)(nil)
		if w.margins != nil {
			b := &w.margins.bins[i]
			margin = &b.rears[pair]
			at := w.marginVerdict(w.margins.over(b, *margin, rear.mass))
			if at == yes {
				margin = nil
			}
			verdict = min(verdict, at)
		}
		switch verdict {
		case yes:
			w.all(&r, from, to)
		case perhaps:
			for k := from; k < to; k++ {
				w.front(&r, k, margin, false)
			}
		}
	}
}

// marginHolds solves a candidate whose bounds do not decide its margin.
func (w *work) marginHolds(c chosen) bool {
	b := w.build(c)
	values := w.setting.Some(&b, []figure.Key{figure.LaunchMargin})
	margin, ok := values.Get(figure.LaunchMargin)
	for i := range w.margin {
		if !ok || !w.margin[i].holds(margin) {
			return false
		}
	}
	return w.question.dangers || !ok || margin >= caution.FoldsBelow
}

// rearOf is one rear with what its fronts are compared with.
type rearOf struct {
	chosen
	sum
	needs, doubts []float64 // of the halves
	steer         steerRear
	sound         int // from this front on the arrow is surely heavy enough
}

// marginVerdict decides a margin that is enclosed.
func (w *work) marginVerdict(low, high float64) verdict {
	low, high = low*(1-100*sumDoubt), high*(1+100*sumDoubt)
	out := yes
	for i := range w.margin {
		m := &w.margin[i]
		if high < m.min || low > m.max {
			return no
		}
		if low < m.min || high > m.max {
			out = perhaps
		}
	}
	if !w.question.dangers {
		if high < caution.FoldsBelow {
			return no
		}
		if low < caution.FoldsBelow {
			out = perhaps
		}
	}
	return out
}

// front decides one candidate. margin is the rear's half of the margin's bounds, nil
// where the margin is decided; ask is true where its weight is not.
func (w *work) front(r *rearOf, k int, margin *bound, ask bool) {
	for i := range w.halves {
		gap := w.halves[i].key[k] - r.needs[i]
		if gap < -r.doubts[i] {
			return
		}
		ask = ask || gap < r.doubts[i]
	}
	front := &w.fronts[k]
	total := r.mass + front.mass
	for i := range w.ahead {
		switch between(front.mass, w.ahead[i].min, w.ahead[i].max, sumDoubt*total) {
		case no:
			return
		case perhaps:
			ask = true
		}
	}
	if margin != nil {
		switch w.marginVerdict(w.margins.at(*margin, w.margins.fronts[k], total)) {
		case no:
			return
		case perhaps:
			if !w.marginHolds(w.candidate(r.chosen, k)) {
				return
			}
		}
	}
	if !w.question.dangers {
		switch w.sound(k, r, total) {
		case no:
			return
		case perhaps:
			ask = true
		}
	}
	if ask {
		w.ask(w.candidate(r.chosen, k))
		return
	}
	if w.anySlow {
		if w.ctx.Err() != nil {
			return
		}
		if b := w.build(w.candidate(r.chosen, k)); !w.within(&b, w.slow) {
			return
		}
	}
	if key := w.key(front, r.sum, total); math.IsNaN(key) || w.best.room(key) {
		w.take(w.candidate(r.chosen, k), key)
	} else {
		w.matched++
	}
}

func (w *work) heaviestFront() float64 {
	if len(w.mass) == 0 {
		return 0
	}
	return w.mass[len(w.mass)-1]
}

// verdict is how something is decided.
type verdict int

const (
	no verdict = iota
	perhaps
	yes
)

// between tells whether a value lies in a range, within a doubt about its bounds.
func between(value, low, high, doubt float64) verdict {
	switch {
	case value < low-doubt || value > high+doubt:
		return no
	case value < low+doubt || value > high-doubt:
		return perhaps
	}
	return yes
}

// key returns what a match is ranked by, where sums tell it.
func (w *work) key(front *front, rear sum, total float64) float64 {
	balance := func() float64 { return (rear.first + front.first + front.mass*w.long) / total }
	switch w.question.sort {
	case figure.TotalWeight:
		return w.order(total)
	case figure.WeightPerDraw:
		if w.bow.Peak.Given {
			return w.order(total / float64(w.bow.Peak.Value))
		}
	case figure.LaunchSpeed, figure.LaunchEnergy, figure.LaunchMomentum, figure.EnergyShare:
		values := w.setting.OfMass(unit.Mass(total))
		if value, ok := values.Get(w.question.sort); ok {
			return w.order(value)
		}
	case figure.FrontWeight:
		return w.order(front.mass)
	case figure.BalancePoint:
		return w.order(balance())
	case figure.FOC:
		return w.order((balance() - w.long/2) / w.long)
	}
	return math.NaN()
}
