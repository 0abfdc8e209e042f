package sheet

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/flight"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// shown lists the figures of a whole build that the engine computes, in the
// order they are given.
var shown = []figure.Key{
	figure.TotalWeight, figure.FrontWeight, figure.BalancePoint, figure.FOC, figure.Inertia, figure.WeightPerDraw,
	figure.LaunchSpeed, figure.LaunchEnergy, figure.LaunchMomentum, figure.EnergyShare,
	figure.DragCoefficient, figure.MarkSpread, figure.HoldOnNear, figure.HoldOnFar,
	figure.BendingStiffness, figure.BendingFrequency, figure.LaunchMargin, figure.MarginVsProven, figure.BendsOnString,
	figure.PressurePoint, figure.SteerMargin, figure.SteerMoment, figure.HeadShare, figure.WobbleLength, figure.DozenCost,
}

// shownAt lists the figures at a distance in the same way.
var shownAt = []figure.Key{
	figure.FlightTime, figure.Speed, figure.Energy, figure.Momentum, figure.Drop, figure.SightMark, figure.MarkShift,
	figure.ImpactShift, figure.RangeShort, figure.RangeLong, figure.WindDrift, figure.HoldFor,
}

// Keys returns the figures of a whole build that the engine computes, in the
// order they are given.
func Keys() []figure.Key { return shown }

// KeysAt returns the figures at a distance that the engine computes, in the order
// they are given.
func KeysAt() []figure.Key { return shownAt }

// Tells reports whether a figure is worth a line: what to hold for on a slope
// alone, what blades do where there are blades, and a margin against the proven
// build where one is marked.
func (s *Sheet) Tells(k figure.Key) bool {
	some := func(has func(b *arrow.Build) bool) bool {
		for i := range s.Job.Builds {
			if has(&s.Job.Builds[i]) {
				return true
			}
		}
		return false
	}
	switch k {
	case figure.HoldFor:
		return s.Job.Slope.Or(0) != 0
	case figure.HeadShare:
		return some(func(b *arrow.Build) bool { return b.Head.Blades > 0 })
	case figure.MarginVsProven:
		return some(s.Job.Marked)
	}
	return true
}

// Told returns the figures of a whole build that are worth a line.
func (s *Sheet) Told() []figure.Key { return s.worth(shown) }

// ToldAt returns the figures at a distance that are worth a line.
func (s *Sheet) ToldAt() []figure.Key { return s.worth(shownAt) }

func (s *Sheet) worth(keys []figure.Key) []figure.Key {
	return slices.DeleteFunc(slices.Clone(keys), func(k figure.Key) bool { return !s.Tells(k) })
}

// Sheet holds all figures of a job's builds.
type Sheet struct {
	Job    *job.Job
	Units  unit.System // in which texts are told; figures are in SI
	Inputs []figure.Input
	Fit    bow.Fit
	FitErr error  // why there is no speed; nil when there is
	Marks  *Marks // what the known marks say of the sight; nil without them
	// Proven is which build is the one proven on the bow, -1 when none is.
	Proven int
	Builds []Build
	here   Setting
}

// Set holds figures of one kind: those of a whole build, or those at a distance.
type Set struct {
	first   figure.Key
	figures []figure.Figure
	present []bool
	absent  []string
}

func newSet(first, last figure.Key) Set {
	n := int(last - first)
	return Set{first, make([]figure.Figure, n), make([]bool, n), make([]string, n)}
}

// Figure returns a figure, and false when it is absent or not of this kind.
func (s *Set) Figure(k figure.Key) (figure.Figure, bool) {
	if i := int(k - s.first); i >= 0 && i < len(s.figures) {
		return s.figures[i], s.present[i]
	}
	return figure.Figure{}, false
}

// Absent returns why a figure is not there: empty when it is, and for a
// comparison with the baseline on the baseline itself.
func (s *Set) Absent(k figure.Key) string {
	if i := int(k - s.first); i >= 0 && i < len(s.absent) {
		return s.absent[i]
	}
	return ""
}

func (s *Set) put(f figure.Figure) { s.figures[f.Key-s.first], s.present[f.Key-s.first] = f, true }

func (s *Set) lack(k figure.Key, why string) { s.absent[k-s.first] = why }

// Build holds the figures of one build.
type Build struct {
	Name     string
	Cautions []caution.Caution
	// Notes are things to look at again that no caution of the exchange format
	// stands for.
	Notes []caution.Caution
	Set
	At []Set // one for each of the job's distances
}

// Whole stands for a build as a whole where one of the job's distances could be
// named by its place in the list.
const Whole = -1

// Place returns the figures of a build at one of the job's distances, or as a
// whole.
func (b *Build) Place(distance int) *Set {
	if distance == Whole {
		return &b.Set
	}
	return &b.At[distance]
}

// Delta returns how a build's figure differs from the baseline's and the
// standard uncertainty of the difference. It is false on the baseline, where
// either lacks the figure, and for figures that compare already.
func (s *Sheet) Delta(build int, k figure.Key) (delta, u float64, ok bool) {
	return s.DeltaAt(build, Whole, k)
}

// DeltaAt is Delta at one of the job's distances.
func (s *Sheet) DeltaAt(build, distance int, k figure.Key) (delta, u float64, ok bool) {
	a, here := s.Builds[build].Place(distance).Figure(k)
	b, there := s.Builds[s.Job.Baseline].Place(distance).Figure(k)
	if build == s.Job.Baseline || k.Definition().Compares || !here || !there {
		return 0, 0, false
	}
	delta, u = figure.Difference(a, b)
	return delta, u, true
}

// Evaluate computes all figures of all builds with uncertainty and cautions, and
// tells about them in the trade's units. The job is kept and must not be changed
// afterwards.
func Evaluate(j *job.Job) *Sheet { return EvaluateIn(j, unit.System{}) }

// EvaluateIn is Evaluate with the units in which texts are told.
func EvaluateIn(j *job.Job, units unit.System) *Sheet {
	s := &Sheet{Job: j, Units: units}
	s.fill(prepare(s))
	return s
}

// fill computes the figures of all builds.
func (s *Sheet) fill(p *prepared) {
	j := s.Job
	states, lists := make([]state, len(j.Builds)), make([]inputs, len(j.Builds))
	for i := range j.Builds {
		lists[i] = p.registry.of(&j.Builds[i])
	}
	sideBySide(len(j.Builds), func() func(i int) {
		return func(i int) { states[i] = p.evaluate(&j.Builds[i], &lists[i]) }
	})
	s.Inputs = p.registry.inputs
	s.Builds = make([]Build, len(j.Builds))
	sideBySide(len(j.Builds), func() func(i int) {
		return func(i int) {
			s.Builds[i] = s.figures(p, &j.Builds[i], &states[i])
			s.compare(i, states)
		}
	})
	s.fly(p, states)
	sideBySide(len(j.Builds), func() func(i int) { return s.judge })
}

// judge says what to know before a build is shot.
func (s *Sheet) judge(i int) {
	b, out := &s.Job.Builds[i], &s.Builds[i]
	out.Notes = s.notes(i, b, out)
	if lapsed, ok := s.lapseNote(i); ok {
		out.Notes = append(out.Notes, lapsed)
	}
	out.Cautions = caution.Check(caution.Facts{Job: s.Job, Build: b, Figure: out.Figure, Absent: out.Absent, Proven: s.provenName(), Shot: s.Marked(i) && s.Lapsed(i) == "", Inputs: s.Inputs, Units: s.Units})
}

// prepared is what all builds have in common, with what they share.
type prepared struct {
	here     Setting
	shared   []common
	around   around
	registry *registry
	sighting *sighting
}

// prepare finds the proven build, and fits the bow to its readings and the sight
// to its marks.
func prepare(s *Sheet) *prepared {
	s.Proven = provenOf(s.Job)
	return prepareWith(s)
}

func prepareWith(s *Sheet) *prepared {
	j := s.Job
	b := &j.Bow.Value
	s.Fit, s.FitErr = b.Fit()
	r := &registry{known: make(map[identity]int, 64)}
	p := &prepared{registry: r, around: r.around(), shared: r.common(j, s.Fit, s.FitErr), here: settingOf(j, b, s.Fit, s.FitErr)}
	if len(j.Builds) == 0 {
		s.here = p.here
		return p
	}
	if len(j.Sight.Value.Marks) > 1 {
		p.sightIn(s, &j.Builds[j.Baseline])
	}
	p.here.compareWith(s)
	s.here = p.here
	return p
}

// sightIn fits the sight to its known marks, and lets what they say of speed and
// drag hold for all builds.
func (p *prepared) sightIn(s *Sheet, base *arrow.Build) {
	list := p.registry.of(base)
	before := p.evaluate(base, &list)
	n := len(p.registry.inputs)
	speed, decay := dense(before.speed, n), dense(before.decay, n)
	scaleBy(speed, 1/float64(before.leaving.speed))
	if before.leaving.decay > 0 {
		scaleBy(decay, 1/before.leaving.decay)
	} else {
		clear(decay) // a vacuum has no drag to learn
	}
	f := sightIn(s.Job, &p.here, before.leaving, speed, decay, p.around.eye)
	if f == nil {
		return
	}
	p.sighting = f
	s.Marks = &f.out
	if !f.fit.ok {
		return
	}
	p.adopt(s, f, base, speed)
	if f.contradicted && f.learnt {
		// Nonsense must not pass for drag.
		f.learnt = false
		p.adopt(s, f, base, speed)
	}
	p.here.marks = scale{zero: f.fit.zero, perTangent: f.fit.per, known: f.fit.ok}
}

// adopt lets what the marks say of speed, drag and the eye hold in every setting,
// and fits the scale to the baseline's arrow as it is then.
func (p *prepared) adopt(s *Sheet, f *sighting, base *arrow.Build, speed []float64) {
	l := learned{speed: 1, common: 1, own: 1, outline: dragOwnerOf(base)}
	p.here.scene.Eye = p.here.eye.Value
	if f.learnt {
		p.here.scene.Eye += sightU * unit.Length(f.shift(p.around.eye))
		own, ownU := p.registry.dragOwn(base)
		if c := base.DragCoefficient; c.Given && c.Value > 0 {
			ownU /= c.Value
		}
		l.own = math.Exp(ownU * f.shift(own))
		l.common = math.Exp(flight.CommonDragU * f.shift(p.around.drag))
		by := 0.0
		for i, share := range speed {
			if p.registry.inputs[i].Shared {
				by += share * f.shift(i)
			}
		}
		l.speed = math.Exp(by)
	}
	p.apply(l)
	f.out.Speed, f.out.Drag, f.out.Eye = l.speed, l.factor(base), p.here.scene.Eye
	_, now := p.here.still(base)
	f.finish(&p.here, now, s.Units)
}

// apply lets what was learnt hold in every setting.
func (p *prepared) apply(l learned) {
	p.here.learned = l
	for i := range p.shared {
		for n := range p.shared[i].settings {
			p.shared[i].settings[n].learned = l
		}
	}
}

// state is one build with every input moved once, for all figures together.
type state struct {
	placed
	moved []moved
	// What each input does to what the path depends on, and what the errors of the
	// drag and of the margin alone do to these.
	speed, mass, decay, drag, margin []figure.Share
}

// sideBySide calls what worker returns for each of n things that need nothing of
// each other, one worker a core.
func sideBySide(n int, worker func() func(i int)) {
	var next atomic.Int32
	var all sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		all.Go(func() {
			do := worker()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	all.Wait()
}

// evaluate moves every input that carries an uncertainty to the places of its
// rule.
func (p *prepared) evaluate(b *arrow.Build, list *inputs) state {
	here := p.here
	here.learned.settled = here.learned.factor(b)
	near := solve(b, here.rest)
	at := near.at(b, here.rest)
	out := state{placed: here.place(b, at)}
	out.moved = make([]moved, 0, len(list.own)+len(p.shared))
	room := make([]placed, len(straight.at)*cap(out.moved)+len(curved.at))
	for i := range p.shared {
		c := &p.shared[i]
		m := movedBy(&room, c.rule, c.inputs...)
		m.weight, m.first = true, c.first
		for n := range c.settings {
			there := at
			if s := &c.settings[n]; s.rest != here.rest {
				there = near.at(b, s.rest)
			}
			m.at[n] = c.settings[n].place(b, there)
		}
		out.moved = append(out.moved, m)
	}
	var trial arrow.Build
	for _, o := range list.own {
		m := movedBy(&room, &straight, o.input)
		m.weight = o.weight
		for n, t := range straight.at {
			m.at[n] = movedBuild(&here, &trial, b, near, o, t)
		}
		out.moved = append(out.moved, m)
	}
	if coefficient, ok := out.values.Get(figure.DragCoefficient); ok {
		out.drag = p.dragShares(b, list, coefficient)
	}
	if margin, ok := out.values.Get(figure.LaunchMargin); ok {
		out.margin = []figure.Share{{Input: p.around.margin, Amount: commonMarginU * margin}, {Input: list.margin, Amount: ownMarginU * margin}}
	}
	if out.leaving.speed > 0 {
		out.speed = out.shares(nil, figure.LaunchSpeed, float64(out.leaving.speed))
	}
	if out.leaving.mass > 0 {
		out.mass = out.shares(nil, figure.TotalWeight, float64(out.leaving.mass))
	}
	if out.leaving.flies() {
		perUnit := flight.Decay(here.density, 1, arrow.Area(b.Shaft.OuterDiameter.Value), out.leaving.mass)
		out.decay = out.shares(nil, decay, out.leaving.decay)
		for _, share := range out.drag {
			out.decay = append(out.decay, figure.Share{Input: share.Input, Amount: share.Amount * perUnit})
		}
	}
	return out
}

// dragShares returns what the errors of the drag do to the drag coefficient.
func (p *prepared) dragShares(b *arrow.Build, list *inputs, coefficient float64) []figure.Share {
	if b.DragCoefficient.Given {
		return []figure.Share{{Input: list.drag, Amount: list.dragU * p.here.learned.factor(b)}}
	}
	return []figure.Share{{Input: list.drag, Amount: list.dragU * coefficient}, {Input: p.around.drag, Amount: flight.CommonDragU * coefficient}}
}

// shares appends what every input does to a figure.
func (st *state) shares(list []figure.Share, k figure.Key, value float64) []figure.Share {
	for i := range st.moved {
		m := &st.moved[i]
		// Where an extra sits decides whether it counts as front weight, which is a
		// rule and not a slope.
		if k == figure.FrontWeight && !m.weight {
			continue
		}
		list = m.shares(list, k, value)
	}
	return list
}

// figures lists the figures of a build as a whole that its path has no part in.
func (s *Sheet) figures(p *prepared, b *arrow.Build, st *state) Build {
	out := Build{Name: b.Name, Set: newSet(0, figure.FlightTime)}
	space := make([]figure.Share, 0, len(shown)*(len(st.moved)+4))
	for _, k := range shown {
		if slices.Contains(wholeFlight, k) || compared(k) {
			continue
		}
		value, ok := st.values.Get(k)
		if !ok {
			out.lack(k, s.reason(b, k))
			continue
		}
		start := len(space)
		space = st.shares(space, k, value)
		switch k {
		case figure.DragCoefficient:
			space = append(space, st.drag...)
		case figure.LaunchMargin:
			space = append(space, st.margin...)
		case figure.BendsOnString:
			space = append(space, figure.Share{Input: p.around.bends, Amount: bendsU * value})
		}
		f := figure.New(k, value, s.basis(b, k), space[start:len(space):len(space)])
		if p.sighting != nil && p.sighting.learnt && fromBow(k) {
			f = p.sighting.figure(k, value, f.Basis, dense(f.Shares, len(s.Inputs)))
		}
		out.put(f)
	}
	return out
}

// fromBow reports whether a figure depends on speed or drag.
func fromBow(k figure.Key) bool {
	switch k {
	case figure.LaunchSpeed, figure.LaunchEnergy, figure.LaunchMomentum, figure.EnergyShare, figure.DragCoefficient, figure.BendsOnString:
		return true
	}
	return false
}

// notes says what else to look at before trusting or shooting a build.
func (s *Sheet) notes(i int, b *arrow.Build, out *Build) []caution.Caution {
	var notes []caution.Caution
	add := func(words caution.Code, text string) {
		notes = append(notes, caution.Caution{Code: words, Level: caution.Warn, Text: text})
	}
	total, _ := out.Figure(figure.TotalWeight)
	if _, speed := out.Figure(figure.LaunchSpeed); speed && s.Job.Bow.Value.Outside(unit.Mass(total.Value)) {
		add(BeyondReadings, "This build is more than "+s.Units.Weight(bow.Beyond, 3)+" lighter or heavier than every arrow chronographed on this bow: its speed is a guess beyond the readings.")
	}
	if b.DragCoefficient.Given && b.DragCoefficient.Value == 0 {
		add(NoDrag, vacuum)
	}
	if s.Marks != nil && b == &s.Job.Builds[s.Job.Baseline] { // with which they were shot
		for _, n := range s.Marks.Notes {
			add("known marks", n)
		}
	}
	if near, far, ok := s.turnBack(out); ok {
		notes = append(notes, caution.Caution{Code: "marks turn back", Level: caution.Note, Text: fmt.Sprintf("Marks turn back close to the bow: the pin for %s stands lower than the one for %s, because the line of sight starts above the arrow.",
			s.Units.Distance(near, 4), s.Units.Distance(far, 4))})
	}
	if b.Head.Thread != "" && !b.Insert.Given {
		add("no insert", "The head screws in and there is no insert to take it: choose one, or check how the head is held.")
	}
	if b.Head.Blades > 0 && (!b.Vanes.Given || b.Vanes.Value.Count == 0) {
		add("no vanes", "There are blades in front and no vanes behind: such an arrow does not fly straight. Do not shoot it like this.")
	}
	if steer, ok := out.Figure(figure.SteerMargin); ok && steer.Value <= 0 && b.Head.Blades == 0 {
		add("turns over", "The air does not turn this arrow straight: steer margin "+percent(steer)+". Shoot it bare close to the target only, if at all.")
	}
	if margin, ok := out.Figure(figure.LaunchMargin); ok && margin.Value < caution.WeakBelow && s.Marked(i) && s.Lapsed(i) == "" {
		notes = append(notes, caution.Caution{Code: "proven by you", Level: caution.Note, Text: fmt.Sprintf(
			"Its launch margin %.2f is low, and it counts as proven on your word: leave the mark only if it was shot from this bow and a fitter found it good.", margin.Value)})
	}
	return notes
}

// percent writes a share with its uncertainty.
func percent(f figure.Figure) string {
	value, u := figure.Rounded(100*f.Value, 100*f.U)
	return value + " ± " + u + " %"
}

// turnBack returns two of the job's distances of which the nearer one has the
// lower pin, and false when there are none.
func (s *Sheet) turnBack(out *Build) (near, far unit.Length, ok bool) {
	list := s.Job.DistancesOrDefault()
	for i, a := range list {
		for k, b := range list {
			nearer, one := out.At[i].Figure(figure.SightMark)
			farther, other := out.At[k].Figure(figure.SightMark)
			if one && other && a < b && (nearer.Value-farther.Value)*s.here.marks.perTangent > 0 && (far == 0 || b < far) {
				near, far, ok = a, b, true
			}
		}
	}
	return near, far, ok
}

// NoDrag is the note that a build's drag is given as nothing.
const NoDrag caution.Code = "no drag"

// BeyondReadings is the note that a build's speed lies far from what was
// chronographed.
const BeyondReadings caution.Code = "speed beyond readings"
