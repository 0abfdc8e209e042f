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
	*table
	shaft int32
	stand *stand // nil where the shaft has no margin, or none is asked for
	// soundFrom is the mass from which on no candidate is too light.
	soundFrom float64
	steer     []steerFront // by insert and head
	steers    []steerGroup // by group
	// What there is to gather: rears that are decided, matches, and the first of them.
	done    uint64
	matched uint64
	best    best
	edge    edge
	effort  int // since the last time
}

func (t *table) work(shaft int) *work {
	w := &work{table: t, shaft: int32(shaft), best: best{limit: t.question.limit}}
	w.stand = t.stand(shaft)
	if !t.question.dangers {
		w.soundFrom, w.steer = w.heavyFrom(), w.steerFronts()
		w.steers = w.steerGroups()
	}
	for n := range w.nocks {
		w.nock(int32(n))
		w.done += uint64(len(w.vanes))
	}
	return w
}

// The effort of putting a candidate together and computing a figure of it, and all
// that matters; and after how much of it is gathered, so that nobody waits long for
// matches that are dear to find.
const (
	someEffort = 1
	allEffort  = 32
	longEffort = 512
)

func (w *work) spend(effort int) {
	if w.effort += effort; w.effort >= longEffort {
		w.effort = 0
		w.gather(w)
	}
}

// nock decides the candidates with one nock.
func (w *work) nock(n int32) {
	trial := arrow.Build{Length: w.lengths[w.length].piece, Shaft: w.shafts[w.shaft].piece, Nock: w.nocks[n].piece}
	tube := trial.Tube()
	if !w.fits(&trial) {
		return
	}
	if tube <= 0 || w.deepest > tube && !w.question.misfits {
		w.oneByOne(n)
		return
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
	w.spend(allEffort)
	if b := w.build(c); w.matches(&b) {
		w.take(c, math.NaN())
	}
}

// take counts a match, and keeps it when it is among the first. key is what it is
// ranked by, NaN where that has to be worked out.
func (w *work) take(c chosen, key float64) {
	if w.question.trade != nil {
		w.matched++
		w.spend(someEffort)
		b := w.build(c)
		w.hold(c, w.costs(&b))
		return
	}
	w.matched++
	if w.best.limit == 0 {
		return
	}
	if math.IsNaN(key) {
		w.spend(someEffort)
		b := w.build(c)
		value, ok := w.ranking(&b)
		if key = math.Inf(1); ok {
			key = w.order(value)
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
		return math.Round(w.question.missing.miss(value) / w.question.size.Size / grain)
	}
	if w.question.descending {
		value = -value
	}
	return math.Round(w.question.size.Of(value) / grain)
}

// Within so much of a bound, relatively, sums do not decide: they add up in another
// order than package sheet does. What rests on a slope by differences is less sure.
const (
	sumDoubt    = 1e-12
	marginDoubt = 1e-10
	steerDoubt  = 1e-9
	slopeDoubt  = 1e-5
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
		w.front(&r, sure, false, true)
		sure++
	}
	for end > sure && rear.mass+w.mass[end-1] > w.heaviest-doubt {
		end--
		w.front(&r, end, false, true)
	}
	if w.stand == nil && len(w.margin) > 0 {
		return // no candidate of this shaft has a margin
	}
	for i := range w.groups {
		g := &w.groups[i]
		from, to := max(sure, g.from), min(end, g.to)
		if from >= to {
			continue
		}
		verdict, margin := w.group(&r, i, from), yes
		if w.stand != nil && verdict != no {
			r.group, r.bound = i, w.stand.rear(i, c)
			margin = w.marginVerdict(w.stand.over(i, r.bound, rear.mass))
		}
		switch min(verdict, margin) {
		case yes:
			w.all(&r, from, to)
		case perhaps:
			for k := from; k < to; k++ {
				w.front(&r, k, margin == perhaps, false)
			}
		}
	}
}

// marginHolds solves a candidate whose bounds do not decide its margin.
func (w *work) marginHolds(group int, c chosen, mass float64) bool {
	switch w.marginVerdict(w.stand.closer(group, c, mass)) {
	case no:
		return false
	case yes:
		return true
	}
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
	// The group whose margins are being looked at, and what the rear adds to them.
	group int
	bound bound
}

// marginVerdict decides a margin that is enclosed.
func (w *work) marginVerdict(low, high float64) verdict {
	low, high = low*(1-w.stand.family.doubt), high*(1+w.stand.family.doubt)
	out := yes
	if !(high < math.Inf(1)) { // nothing presses, and there is no margin
		out = perhaps
	}
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

// front decides one candidate. margin is true where its margin is still to be decided,
// and ask where its weight is.
func (w *work) front(r *rearOf, k int, margin, ask bool) {
	for i := range w.halves {
		gap := w.halves[i].key[k] - r.needs[i]
		if gap < -r.doubts[i] {
			return
		}
		ask = ask || gap < r.doubts[i]
	}
	front := &w.fronts[k]
	total := r.mass + front.mass
	if margin && !ask {
		switch w.marginVerdict(w.stand.at(r.bound, w.stand.fronts[k], total)) {
		case no:
			return
		case perhaps:
			if !w.marginHolds(r.group, w.candidate(r.chosen, k), total) {
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
		w.spend(someEffort)
		if b := w.build(w.candidate(r.chosen, k)); !w.within(&b, w.slow) {
			return
		}
	}
	if w.question.trade != nil {
		w.weigh(r, k)
		return
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

// key returns what a match is ranked by, NaN where sums do not tell it.
func (w *work) key(front *front, rear sum, total float64) float64 {
	value, told := w.told(w.question.sort, front, rear, total)
	switch {
	case !told:
		return math.NaN()
	case math.IsNaN(value):
		return math.Inf(1)
	}
	return w.order(value)
}

// told returns a figure of a match that sums tell, NaN where it is absent; it is
// false for any other figure.
func (w *work) told(k figure.Key, front *front, rear sum, total float64) (value float64, ok bool) {
	balance := func() float64 { return (rear.first + front.first + front.mass*w.long) / total }
	switch k {
	case figure.TotalWeight:
		return total, true
	case figure.WeightPerDraw, figure.LaunchSpeed, figure.LaunchEnergy, figure.LaunchMomentum, figure.EnergyShare:
		values := w.setting.OfMass(unit.Mass(total))
		if value, ok = values.Get(k); !ok {
			value = math.NaN()
		}
		return value, true
	case figure.FrontWeight:
		return front.mass, true
	case figure.BalancePoint:
		return balance(), true
	case figure.FOC:
		return (balance() - w.long/2) / w.long, true
	}
	return 0, false
}
