package sheet_test

import (
	"math"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// skyKeys are the figures of a build as a whole that its path has part in, and
// skyAt those at each distance, in the order in which a sky gives them.
var (
	skyKeys = []figure.Key{figure.DragCoefficient, figure.MarkSpread, figure.HoldOnNear, figure.HoldOnFar}
	skyAt   = []figure.Key{
		figure.FlightTime, figure.Speed, figure.Energy, figure.Momentum, figure.Drop, figure.SightMark, figure.MarkShift,
		figure.ImpactShift, figure.RangeShort, figure.RangeLong, figure.WindDrift, figure.HoldFor,
	}
)

// skies gives the figures of all builds of a job for one draw of a world, in the
// units of the exchange format.
type skies struct {
	*world
	sky       sky
	baseline  int
	distances []float64 // ft
	eye, pin  func(z []float64) float64
}

func newSkies(j *job.Job) *skies {
	s := &skies{world: newWorld(j), sky: skyOf(j), baseline: j.Baseline}
	for _, d := range j.DistancesOrDefault() {
		s.distances = append(s.distances, float64(d/unit.Foot))
	}
	s.eye, s.pin = s.error("eye", 0.1/12), s.error("pin", 0.1)
	return s
}

// places returns how many figures a build has.
func (s *skies) places() int { return len(skyKeys) + len(s.distances)*len(skyAt) }

// letGo returns one build's arrow as drawn, with its weight in gr and its drag
// coefficient.
func (s *skies) letGo(build int, z []float64, at shot) (f flown, total, drag float64) {
	whole := s.builds[build](z, at)
	air := s.outlines[build](z, at, whole[6])
	sky := s.sky
	sky.eye += s.eye(z)
	sky.pin += s.pin(z)
	return sky.flies(whole[0], whole[6], air, at.density), whole[0], air.drag
}

// figures returns the figures of all builds, NaN where there is none.
func (s *skies) figures(z []float64, into [][]float64) {
	at := s.bow(z)
	base, _, _ := s.letGo(s.baseline, z, at)
	aims := make([]float64, len(s.distances))
	for n, d := range s.distances {
		aims[n] = base.angle(d)
	}
	for i := range s.builds {
		f, total, drag := s.letGo(i, z, at)
		out := into[i]
		out[0] = drag
		out[1] = f.pin * (math.Tan(f.angle(180)) - math.Tan(f.angle(60))) // 60 and 20 yd
		out[2], out[3] = f.holdOn()
		for n, d := range s.distances {
			f.figures(out[len(skyKeys)+n*len(skyAt):], total, d, aims[n])
		}
	}
}

// figures fills in those of skyAt for one distance; aim is the launch angle with
// which the baseline hits there.
func (f *flown) figures(out []float64, total, distance, aim float64) {
	angle := f.angle(distance)
	c := f.aimed(angle)
	hit := f.follow(&c, distance, 1)
	u := 1 / math.Sqrt(c.c-c.q*arc(hit.p))
	v := u * math.Sqrt(1+hit.p*hit.p)
	out[0], out[1] = hit.t, v
	out[2], out[3] = total*v*v/energyDivisor, total*v/momentumDivisor
	out[4] = 12 * (c.p0*hit.x - hit.y)
	out[5] = f.pin * math.Tan(angle)
	out[6] = f.pin * (math.Tan(angle) - math.Tan(aim))
	other := f.aimed(aim)
	out[7] = 12 * f.follow(&other, distance, 1).above
	out[8], out[9] = f.leeway(&c, hit, distance)
	out[10] = 12 * f.drift(angle, distance)
	out[11] = f.holdFor(angle)
}

// beyond is how far down a path is followed from its top: no path here bends so
// much before it is below what is looked for.
const beyond = 1

// leeway returns how much nearer and farther, in yd, the target may be: to the
// first place on each side where the path is its radius off the line of sight.
func (f *flown) leeway(c *curve, hit spot, distance float64) (short, long float64) {
	slope := f.sin / f.cos // of the path where it is highest over the line of sight
	short, long = distance/3, math.NaN()
	first := func(sign float64, into *float64, from, to float64) {
		for _, height := range [2]float64{f.hits, -f.hits} {
			if along, ok := f.crosses(c, height, from, to); ok && sign*(along-distance) >= 0 {
				*into = math.Abs(along-distance) / 3
				return
			}
		}
	}
	if hit.p > slope { // on its way up
		first(-1, &short, c.p0, hit.p)
		if first(1, &long, hit.p, slope); math.IsNaN(long) {
			first(1, &long, slope, slope-beyond)
		}
		return short, long
	}
	// Between the top and the hit only the upper edge can be met, before it only
	// the lower one.
	if along, ok := f.crosses(c, f.hits, slope, hit.p); ok {
		short = (distance - along) / 3
	} else if along, ok := f.crosses(c, -f.hits, c.p0, slope); ok {
		short = (distance - along) / 3
	}
	first(1, &long, hit.p, slope-beyond)
	return short, long
}

// drift returns how far a crosswind carries the arrow. In the frame of the moving
// air there is no wind: the arrow flies along a plane path that is turned aside
// by its speed against the air.
func (f *flown) drift(angle, distance float64) float64 {
	still := f.aimed(angle)
	u := f.v / math.Sqrt(1+still.p0*still.p0)
	through := math.Hypot(u, f.wind)
	c := f.launched(still.p0*u/through, through)
	a := f.follow(&c, distance, u/through)
	return f.wind*a.t - a.x*f.wind/through
}

// holdFor returns the distance in yd where a path of the same launch angle comes
// back to the line of sight on the level; NaN on the level itself.
func (f *flown) holdFor(angle float64) float64 {
	if f.sin == 0 {
		return math.NaN()
	}
	level := *f
	level.sin, level.cos = 0, 1
	c := level.aimed(angle)
	along, ok := level.crosses(&c, 0, 0, -beyond)
	if !ok {
		return math.NaN()
	}
	return along / 3
}

// holdOn returns between which distances in yd the path stays within the radius
// that tops out just at it.
func (f *flown) holdOn() (near, far float64) {
	slope := f.sin / f.cos
	over := func(angle float64) float64 {
		c := f.aimed(angle)
		return f.place(&c, slope, 1).above - f.hits
	}
	// Guesses from the vacuum: the top lies (v sin)²/(2 g cos) up.
	guess := math.Asin(math.Sqrt(2*gravityFeet*f.cos*(f.eye+f.hits)) / f.v)
	c := f.aimed(secant(over, guess, 1e-3))
	if along, ok := f.crosses(&c, -f.hits, c.p0, slope); ok {
		near = along / 3
	}
	if along, ok := f.crosses(&c, -f.hits, slope, slope-beyond); ok {
		far = along / 3
	}
	return near, far
}
