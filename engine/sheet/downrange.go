package sheet

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/flight"
	"foreshaft/engine/unit"
)

// spot holds what a path gives at one distance, by figure, and behind the last
// figure the tangent of the launch angle. What is absent is NaN.
type spot [atCount + 1]float64

const (
	atCount = int(figure.Count - figure.FlightTime)
	tangent = atCount
)

// at returns the place of a figure in a spot.
func at(k figure.Key) int { return int(k - figure.FlightTime) }

var nowhere = func() (s spot) {
	for i := range s {
		s[i] = math.NaN()
	}
	return s
}()

// spot computes what a shot arrow does at a distance. The tangent of the
// baseline's launch angle is NaN where there is none.
func (s *Setting) spot(shot *flight.Shot, mass unit.Mass, d unit.Length, baseline float64) (spot, error) {
	out := nowhere
	hit, err := shot.To(d)
	if err != nil {
		return out, err
	}
	out[tangent] = hit.Tangent
	out[at(figure.FlightTime)] = hit.Time
	out[at(figure.Speed)] = float64(hit.Speed)
	out[at(figure.Energy)] = float64(unit.Kinetic(mass, hit.Speed))
	out[at(figure.Momentum)] = float64(mass) * float64(hit.Speed)
	out[at(figure.Drop)] = float64(hit.Drop)
	if s.scene.Crosswind == 0 {
		out[at(figure.WindDrift)] = 0
	} else if drift, ok := shot.Drift(hit.Tangent, d); ok {
		out[at(figure.WindDrift)] = float64(drift)
	}
	if !s.eye.Given {
		return out, nil
	}
	if s.marks.known {
		out[at(figure.SightMark)] = s.marks.mark(hit.Tangent)
	}
	tolerance := shot.Tolerance(&hit, d)
	out[at(figure.RangeShort)], out[at(figure.RangeLong)] = float64(tolerance.Nearer), float64(tolerance.Farther)
	if s.scene.Slope != 0 {
		if level, ok := shot.Level(hit.Tangent); ok {
			out[at(figure.HoldFor)] = float64(level)
		}
	}
	if !math.IsNaN(baseline) {
		if s.marks.known {
			out[at(figure.MarkShift)] = s.marks.perTangent * (hit.Tangent - baseline)
		}
		if baseline == hit.Tangent { // what solving left must not pass for a shift
			out[at(figure.ImpactShift)] = 0
		} else if height, ok := shot.Height(baseline, d); ok {
			out[at(figure.ImpactShift)] = float64(height)
		}
	}
	return out, nil
}

// shot returns an arrow as it leaves the string, in the job's scene.
func (s *Setting) shot(l leaving) *flight.Shot { return flight.New(l.arrow(), s.scene) }

// The distances between which marks are spread.
const (
	spreadFrom = 20 * unit.Yard
	spreadTo   = 60 * unit.Yard
)

// wholeFlight are the figures of a path as a whole.
var wholeFlight = []figure.Key{figure.MarkSpread, figure.HoldOnNear, figure.HoldOnFar}

// whole computes the figures of wholeFlight, in their order. The spread of marks
// is counted in tangents, still without the sight's scale.
func (s *Setting) whole(shot *flight.Shot) [3]float64 {
	out := [3]float64{math.NaN(), math.NaN(), math.NaN()}
	if !s.eye.Given {
		return out
	}
	if s.marks.known {
		near, err := shot.To(spreadFrom)
		far, err2 := shot.To(spreadTo)
		if err == nil && err2 == nil {
			out[0] = far.Tangent - near.Tangent
		}
	}
	if hold, ok := shot.HoldOn(); ok {
		out[1], out[2] = float64(hold.Near), float64(hold.Far)
	}
	return out
}

// MeasuredDrag returns the drag coefficient that one arrow's speeds at two places
// come to for a build, and its standard uncertainty.
func (s *Sheet) MeasuredDrag(build int, t flight.TwoSpeeds) (coefficient, u float64, err error) {
	b := &s.Job.Builds[build]
	if !b.Shaft.OuterDiameter.Given {
		return 0, 0, figure.Needs("the shaft's outer diameter")
	}
	total, ok := s.Builds[build].Figure(figure.TotalWeight)
	if !ok {
		return 0, 0, figure.Needs("the weight of the build")
	}
	k, kU, err := t.Decay()
	if err != nil {
		return 0, 0, err
	}
	coefficient = k / flight.Decay(s.here.density, 1, arrow.Area(b.Shaft.OuterDiameter.Value), unit.Mass(total.Value))
	return coefficient, coefficient * math.Sqrt(kU*kU/(k*k)+total.U*total.U/(total.Value*total.Value)+airU*airU), nil
}

// LevelMark returns a build's sight mark for a distance on the level, where marks
// are shot in, whatever slope the job asks about; NaN where there is none.
func (s *Sheet) LevelMark(build int, d unit.Length) unit.Length {
	level := s.here
	level.scene.Slope = 0
	_, l := level.still(&s.Job.Builds[build])
	if !l.flies() {
		return unit.Length(math.NaN())
	}
	return unit.Length(level.curve(l, false, figure.SightMark, d))
}

// Curves is Curve for several builds side by side.
func (s *Sheet) Curves(builds []int, k figure.Key, distances []unit.Length) [][]float64 {
	out := make([][]float64, len(builds))
	sideBySide(len(builds), func() func(i int) {
		return func(i int) { out[i] = s.Curve(builds[i], k, distances) }
	})
	return out
}

// Curve computes one figure of one build at many distances as bare numbers, NaN
// where it is absent.
func (s *Sheet) Curve(build int, k figure.Key, distances []unit.Length) []float64 {
	out := make([]float64, len(distances))
	here := &s.here
	_, l := here.still(&s.Job.Builds[build])
	for i, d := range distances {
		out[i] = math.NaN()
		if !l.flies() {
			continue
		}
		out[i] = here.curve(l, build == s.Job.Baseline, k, d)
	}
	return out
}

// curve computes one figure at one distance and no more than it needs.
func (s *Setting) curve(l leaving, baseline bool, k figure.Key, d unit.Length) float64 {
	shot, aim := s.shot(l), math.NaN()
	switch k {
	case figure.MarkShift, figure.ImpactShift:
		if baseline || l == s.baseline { // what solving leaves must not pass for a shift
			return 0
		}
		aim = s.aim(d)
	case figure.SightMark:
	default:
		there, err := s.spot(shot, l.mass, d, aim)
		if err != nil {
			return math.NaN()
		}
		return there[at(k)]
	}
	if !s.eye.Given || k != figure.ImpactShift && !s.marks.known {
		return math.NaN()
	}
	if k == figure.ImpactShift {
		if height, ok := shot.Height(aim, d); ok && !math.IsNaN(aim) {
			return float64(height)
		}
		return math.NaN()
	}
	hit, err := shot.To(d)
	switch {
	case err != nil:
		return math.NaN()
	case k == figure.MarkShift:
		return s.marks.perTangent * (hit.Tangent - aim)
	}
	return s.marks.mark(hit.Tangent)
}

// At computes the figures of one build at a distance as bare numbers.
func (s *Setting) At(b *arrow.Build, d unit.Length) figure.Values {
	out := figure.NoValues()
	_, l := s.still(b)
	if !l.flies() {
		return out
	}
	there, err := s.spot(s.shot(l), l.mass, d, s.aim(d))
	if err != nil {
		return out
	}
	for k := figure.FlightTime; k < figure.Count; k++ {
		out.Set(k, there[at(k)])
	}
	return out
}

// aim returns the tangent of the launch angle with which the baseline hits at a
// distance, NaN when there is none.
func (s *Setting) aim(d unit.Length) float64 {
	if s.baseline.flies() && s.eye.Given {
		if hit, err := s.shot(s.baseline).To(d); err == nil {
			return hit.Tangent
		}
	}
	return math.NaN()
}
