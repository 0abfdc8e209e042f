// Package fitting proposes builds after a short talk at the counter: three that
// differ in weight, from the parts of a drawer, for one bow and one purpose.
//
// No proposal is a danger by package caution, and none carries a warning, the one
// that goes with every bladed head aside, as long as the parts allow one that does
// not. Ranges and yardsticks are common practice: the makers' charts and minimums,
// local law and a qualified fitter come first.
package fitting

import (
	"context"
	"errors"
	"fmt"
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// Proposal is up to three builds, the lightest first, and what to know of them.
type Proposal struct {
	Offers []Offer
	// Notes say what the parts did not allow, which input is missing and what comes
	// before any proposal, a sentence or two each.
	Notes []string
}

// Offer is one build, under a name that no build of the job has, and what is gained
// and given up with it.
type Offer struct {
	arrow.Build
	Says string
}

// Builds differ by so much in weight or in speed.
const (
	apartBy      = 40 * unit.Grain
	apartBySpeed = 10 * unit.FootPerSecond
)

// thirds are where between the lightest and the heaviest arrow the three weights
// are looked for.
var thirds = map[Favour][3]float64{
	"":        {0.15, 0.50, 0.85},
	Even:      {0.15, 0.50, 0.85},
	Forgiving: {0.00, 0.25, 0.50},
	Weight:    {0.50, 0.75, 1.00},
}

// slack is how much a bound may be missed by, relatively, and still counts as met.
const slack = 1e-9

// Propose proposes builds for a job's bow from the parts of a drawer. Sentences are
// told in the units given. report, which may be nil, is told how far each look
// through the drawer has come; there are several. The error is the context's when
// it ends first, a *record.Error for an answer that is out of bounds, and otherwise
// one sentence that says what is missing and what to do.
func Propose(ctx context.Context, j *job.Job, parts []part.Part, a Answers, units unit.System, report func(search.Progress)) (*Proposal, error) {
	if err := a.check(); err != nil {
		return nil, err
	}
	if err := allows(j, &a, units); err != nil {
		return nil, err
	}
	lengths, err := lengthsFor(&j.Bow.Value, a.Growing, units)
	if err != nil {
		return nil, err
	}
	drawer, left, err := a.pieces(parts, lengths)
	if err != nil {
		return nil, err
	}
	if err := longEnough(&drawer, units); err != nil {
		return nil, err
	}
	f := newFitter(ctx, j, &a, drawer, units, report)
	chosen, err := f.builds()
	if err != nil {
		return nil, err
	}
	return f.tell(j, chosen, left), nil
}

// allows reports what of the bow or the rules sheet stands against any arrow.
func allows(j *job.Job, a *Answers, units unit.System) error {
	b := &j.Bow.Value
	switch {
	case !b.Draw.Given:
		return errors.New("the bow's draw length is missing: it decides how long an arrow must be. Measure it and enter it with the bow")
	case !b.Peak.Given:
		return errors.New("the bow's peak draw weight is missing: it decides how heavy and how stiff an arrow must be. Measure it on a scale and enter it with the bow")
	case b.MaximumPeak.Given && b.Peak.Value > b.MaximumPeak.Value:
		return fmt.Errorf("the bow is set to %s, above its maximum of %s: back it off before arrows are chosen for it", units.Pull(b.Peak.Value, 4), units.Pull(b.MaximumPeak.Value, 4))
	case a.Lighted && !j.Limits.Value.ElectronicsAllowed():
		return errors.New("a lighted nock is asked for and your rules sheet allows no electronics: answer no, or change the rules sheet")
	}
	return nil
}

// Cut ends clear the rest by so much at full draw (common practice).
const (
	clears        = caution.ClearOfRest
	clearsGrowing = 2 * unit.Inch
)

// lengthsFor returns the lengths to look at: the shortest whole quarter inch whose
// cut end clears the rest, judged two standard uncertainties down as package
// caution does, and half inches beyond.
func lengthsFor(b *bow.Bow, growing bool, units unit.System) ([]unit.Length, error) {
	const longest = 60 * unit.Inch
	rest, _ := b.Rest()
	ahead := clears
	if growing {
		ahead = clearsGrowing
	}
	need := rest + ahead + 2*unit.Length(math.Hypot(float64(arrow.UsualLengthU), float64(b.DrawUncertainty())))
	inches := math.Ceil(4*need.In(unit.Inch)+slack) / 4
	if shortest := unit.Length(inches) * unit.Inch; !(shortest > 0 && shortest <= longest) {
		return nil, fmt.Errorf("an arrow would have to be %s long to clear the rest: check the bow's draw length, how well it is known and where the rest stands", units.Span(shortest, 4))
	}
	var out []unit.Length
	for i := range 4 {
		if l := unit.Length(inches+float64(i)/2) * unit.Inch; l <= longest {
			out = append(out, l)
		}
	}
	return out, nil
}

// longEnough reports when no shaft reaches the shortest of the lengths.
func longEnough(d *job.Drawer, units unit.System) error {
	throat, longest := unit.Length(0), unit.Length(0)
	for _, n := range d.Nocks {
		throat = max(throat, n.ThroatOffset())
	}
	need := d.Lengths[0] - throat
	for _, s := range d.Shafts {
		if !s.StockLength.Given || s.StockLength.Value >= need {
			return nil
		}
		longest = max(longest, s.StockLength.Value)
	}
	return fmt.Errorf("no shaft is long enough: to clear the rest at full draw the tube must be %s long and the longest comes at %s. Add longer shafts to the drawer", units.Span(need, 4), units.Span(longest, 4))
}

// fitter is one proposal in the making.
type fitter struct {
	ctx     context.Context
	report  func(search.Progress)
	units   unit.System
	answers *Answers
	// job is what candidates are judged by: the bow, and of the builds those that
	// others are compared with.
	job     job.Job
	setting sheet.Setting
	drawer  job.Drawer // what the budget leaves of the whole one
	whole   job.Drawer
	// known is false when nothing tells the bow's speed. The virtual mass of its kind
	// then stands in, which is all that a launch margin needs of it.
	known bool
	// yard is the launch margin to aim at, weak the least without a warning, and low
	// to high those to be preferred.
	yard, weak, low, high float64
	// advised is the least weight per draw without a warning.
	advised float64
}

func newFitter(ctx context.Context, j *job.Job, a *Answers, drawer job.Drawer, units unit.System, report func(search.Progress)) *fitter {
	f := &fitter{ctx: ctx, report: report, units: units, answers: a, drawer: drawer, whole: drawer, job: *j}
	b := &f.job.Bow.Value
	_, err := b.Fit()
	f.known = err == nil
	if !f.known {
		// Only the virtual mass is taken from it, and that is the usual one of the kind.
		b.Readings, b.Rating = nil, unit.Some(bow.Rating{Speed: 200 * unit.FootPerSecond, Arrow: 400 * unit.Grain})
		f.job.Limits.Value.MaxSpeed = 0
		f.job.Sight.Value.Marks = nil
	}
	// What the rules sheet says of the bow's weight is the same for every arrow.
	f.job.Limits.Value.MinPeak, f.job.Limits.Value.MaxPeak = 0, 0
	f.job.Distances = []unit.Length{20 * unit.Yard}
	proven := f.compareWith(j)
	f.setting = sheet.NewSetting(&f.job)

	pull := float64(b.Peak.Value)
	_, warn := b.KindOrDefault().LightLimits()
	// A window on the value cannot be nearer to what the caution asks for: the
	// uncertainty of the peak weight alone takes so much off.
	f.advised = float64(warn)
	if share := 2 * float64(b.PeakUncertainty()) / pull; share < 1 {
		f.advised /= 1 - share*(1-1e-4)
	}
	f.yard, f.weak, f.low, f.high = 1, caution.WeakBelow, caution.WeakBelow, math.Inf(1)
	if b.Peak.Value >= caution.StiffFromPeak && b.Draw.Value >= caution.StiffFromDraw {
		f.high = caution.StiffAbove
	}
	switch {
	case !math.IsNaN(proven):
		f.yard, f.weak = proven, max(caution.FoldsBelow, 0.9*proven)
		f.low, f.high = f.weak, caution.StiffAbove*proven
	case b.ReleaseOrDefault() == bow.Fingers:
		f.weak = caution.FoldsBelow
	}
	return f
}

// compareWith keeps of the job's builds those that candidates are judged beside:
// the one proven on the bow, and the baseline where known marks were shot with it.
// It returns the launch margin of the first, NaN where there is none.
func (f *fitter) compareWith(j *job.Job) (margin float64) {
	f.job.Builds, f.job.Baseline = nil, 0
	if len(j.Builds) == 0 {
		f.job.Sight.Value.Marks = nil
	}
	named := false
	for i := range j.Builds {
		b := &j.Builds[i]
		if i == j.Baseline {
			f.job.Baseline = len(f.job.Builds)
		} else if !j.Marked(b) {
			continue
		}
		named = named || b.Name == j.Bow.Value.Proven
		f.job.Builds = append(f.job.Builds, *b)
	}
	if !named { // who knows what it was: a candidate must not pass for it
		f.job.Bow.Value.Proven = ""
	}
	if len(f.job.Builds) > 0 {
		all := f.job
		if s := sheet.Evaluate(&all); s.Proven >= 0 {
			if m, ok := s.Builds[s.Proven].Figure(figure.LaunchMargin); ok {
				return m.Value
			}
		}
	}
	return math.NaN()
}

// apart reports whether two arrows differ enough to be told apart by who shoots
// them.
func (f *fitter) apart(light, heavy unit.Mass) bool {
	if heavy-light >= apartBy*(1-slack) {
		return true
	}
	return f.known && f.speed(light)-f.speed(heavy) >= apartBySpeed*(1-slack)
}

func (f *fitter) speed(m unit.Mass) unit.Speed {
	values := f.setting.OfMass(m)
	v, _ := values.Get(figure.LaunchSpeed)
	return unit.Speed(v)
}

// above returns the lightest weight that is apart from another, and below the
// heaviest.
func (f *fitter) above(m unit.Mass) unit.Mass {
	return bisect(m+apartBy, m, func(x unit.Mass) bool { return f.apart(m, x) })
}

func (f *fitter) below(m unit.Mass) unit.Mass {
	return bisect(m-apartBy, m, func(x unit.Mass) bool { return x < 0 || f.apart(x, m) })
}

// bisect returns the last weight on the way from one that holds to one that does
// not.
func bisect(good, bad unit.Mass, holds func(unit.Mass) bool) unit.Mass {
	for range 60 {
		middle := (good + bad) / 2
		if holds(middle) {
			good = middle
		} else {
			bad = middle
		}
	}
	return good
}
