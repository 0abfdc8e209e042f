package sheet

import (
	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// shown lists the figures of a whole build that the engine computes, in the
// order they are given.
var shown = []figure.Key{
	figure.TotalWeight, figure.FrontWeight, figure.BalancePoint, figure.FOC, figure.Inertia, figure.WeightPerDraw,
	figure.LaunchSpeed, figure.LaunchEnergy, figure.LaunchMomentum, figure.EnergyShare, figure.DozenCost,
}

// Keys returns the figures of a whole build that the engine computes, in the
// order they are given.
func Keys() []figure.Key { return shown }

// Sheet holds all figures of a job's builds.
type Sheet struct {
	Job    *job.Job
	Units  unit.System // in which texts are told; figures are in SI
	Inputs []figure.Input
	Fit    bow.Fit
	FitErr error // why there is no speed; nil when there is
	Builds []Build
}

// Build holds the figures of one build.
type Build struct {
	Name     string
	Cautions []caution.Caution
	// Notes are things to look at again that no caution of the exchange format
	// stands for.
	Notes   []caution.Caution
	figures [figure.Count]figure.Figure
	present [figure.Count]bool
	absent  [figure.Count]string
}

// Figure returns a figure, and false when it is absent.
func (b *Build) Figure(k figure.Key) (figure.Figure, bool) { return b.figures[k], b.present[k] }

// Absent returns why a figure is not there, empty when it is.
func (b *Build) Absent(k figure.Key) string { return b.absent[k] }

// Delta returns how a build's figure differs from the baseline's and the
// standard uncertainty of the difference. It is false on the baseline, where
// either lacks the figure, and for figures that compare already.
func (s *Sheet) Delta(build int, k figure.Key) (delta, u float64, ok bool) {
	base := s.Job.Baseline
	if build == base || k.Definition().Compares || !s.Builds[build].present[k] || !s.Builds[base].present[k] {
		return 0, 0, false
	}
	delta, u = figure.Difference(s.Builds[build].figures[k], s.Builds[base].figures[k])
	return delta, u, true
}

// Evaluate computes all figures of all builds with uncertainty and cautions, and
// tells about them in the trade's units. The job is kept and must not be changed
// afterwards.
func Evaluate(j *job.Job) *Sheet { return EvaluateIn(j, unit.System{}) }

// EvaluateIn is Evaluate with the units in which texts are told.
func EvaluateIn(j *job.Job, units unit.System) *Sheet {
	s := &Sheet{Job: j, Units: units}
	b := &j.Bow.Value
	s.Fit, s.FitErr = b.Fit()
	r := &registry{known: make(map[identity]int, 32)}
	shared := r.bow(j, s.Fit, s.FitErr)
	here := settingOf(b, s.Fit, s.FitErr)
	s.Builds = make([]Build, len(j.Builds))
	for i := range j.Builds {
		s.Builds[i] = s.evaluate(&j.Builds[i], here, shared, r)
	}
	s.Inputs = r.inputs
	for i := range s.Builds {
		out := &s.Builds[i]
		out.Cautions = caution.Check(caution.Facts{Job: j, Build: &j.Builds[i], Figure: out.Figure, Inputs: s.Inputs, Units: units})
	}
	return s
}

// evaluate computes one build. Every input that carries an uncertainty is moved
// to the places of its rule once, for all figures together.
func (s *Sheet) evaluate(b *arrow.Build, here Setting, shared []common, r *registry) Build {
	out := Build{Name: b.Name}
	values := here.Values(b)
	owned := r.build(b)
	moved := make([]moved, 0, len(owned)+len(shared))
	room := make([]figure.Values, len(straight.at)*cap(moved)+len(curved.at))
	for i := range shared {
		c := &shared[i]
		m := movedBy(&room, c.rule, c.inputs...)
		m.weight, m.first = true, c.first
		for n := range c.settings {
			m.values[n] = c.settings[n].Values(b)
		}
		moved = append(moved, m)
	}
	for _, o := range owned {
		m := movedBy(&room, &straight, o.input)
		m.weight = o.weight
		for n, t := range straight.at {
			m.values[n] = movedValues(&here, b, o, t)
		}
		moved = append(moved, m)
	}
	space := make([]figure.Share, 0, len(shown)*(len(moved)+2))
	for _, k := range shown {
		value, ok := values.Get(k)
		if !ok {
			out.absent[k] = s.reason(b, k)
			continue
		}
		start := len(space)
		for i := range moved {
			m := &moved[i]
			// Where an extra sits decides whether it counts as front weight,
			// which is a rule and not a slope.
			if k == figure.FrontWeight && !m.weight {
				continue
			}
			space = m.shares(space, k, value)
		}
		out.figures[k] = figure.New(k, value, s.basis(b, k), space[start:len(space):len(space)])
		out.present[k] = true
	}
	out.Notes = s.notes(b, &out)
	return out
}

// notes says what else to look at before trusting or shooting a build.
func (s *Sheet) notes(b *arrow.Build, out *Build) []caution.Caution {
	var notes []caution.Caution
	add := func(words caution.Code, text string) {
		notes = append(notes, caution.Caution{Code: words, Level: caution.Warn, Text: text})
	}
	if out.present[figure.LaunchSpeed] && s.Job.Bow.Value.Outside(unit.Mass(out.figures[figure.TotalWeight].Value)) {
		add(BeyondReadings, "This build is more than "+s.Units.Weight(bow.Beyond, 3)+" lighter or heavier than every arrow chronographed on this bow: its speed is a guess beyond the readings.")
	}
	if b.Head.Thread != "" && !b.Insert.Given {
		add("no insert", "The head screws in and there is no insert to take it: choose one, or check how the head is held.")
	}
	if b.Head.Blades > 0 && (!b.Vanes.Given || b.Vanes.Value.Count == 0) {
		add("no vanes", "There are blades in front and no vanes behind: such an arrow may not fly straight. Do not shoot it like this.")
	}
	return notes
}

// BeyondReadings is the note that a build's speed lies far from what was
// chronographed.
const BeyondReadings caution.Code = "speed beyond readings"
