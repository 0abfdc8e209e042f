package sheet

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/flight"
	"foreshaft/engine/unit"
)

// What a path gives depends on an arrow's inputs through three numbers alone:
// its mass, its speed off the string and its decay. Its figures are therefore
// moved in those three, in the height of the eye and in the launch angle, and
// the shares of all inputs follow by the chain rule.

// Steps of the central differences, relative for speed and decay: paths are solved
// to far more digits than these take away.
const (
	speedStep  = 1. / 256
	decayStep  = 1. / 64
	leastDecay = 1e-5           // 1/m, the step for an arrow without drag
	eyeStep    = 1. / 2048      // m
	angleStep  = 1. / (1 << 16) // of a tangent
)

// way is a build's path in its inputs: what each does to mass, speed and decay,
// over all inputs of the sheet.
type way struct {
	leaving            leaving
	mass, speed, decay []float64
}

// slopes are the derivatives of a list of figures.
type slopes struct{ speed, decay, eye []float64 }

// differ returns the derivatives of what f gives. Where f gives nothing on one
// side of a figure the other side stands for both.
func differ(l leaving, eye float64, centre []float64, f func(l leaving, eye float64) []float64) slopes {
	slope := func(step float64, move func(by float64) (leaving, float64)) []float64 {
		out := make([]float64, len(centre))
		up, down := f(move(step)), f(move(-step))
		for i := range out {
			high, low := up[i], down[i]
			switch {
			case math.IsNaN(high):
				high = 2*centre[i] - low
			case math.IsNaN(low):
				low = 2*centre[i] - high
			}
			if out[i] = (high - low) / (2 * step); math.IsNaN(out[i]) {
				out[i] = 0
			}
		}
		return out
	}
	return slopes{
		speed: slope(speedStep*float64(l.speed), func(by float64) (leaving, float64) {
			moved := l
			moved.speed += unit.Speed(by)
			return moved, eye
		}),
		decay: slope(max(decayStep*l.decay, leastDecay), func(by float64) (leaving, float64) {
			moved := l
			moved.decay += by
			return moved, eye
		}),
		eye: slope(eyeStep, func(by float64) (leaving, float64) { return l, eye + by }),
	}
}

// shares fills a list over all inputs with what they do to figure i.
func (d *slopes) shares(into []float64, w *way, around around, i int) {
	speed, decay := d.speed[i], d.decay[i]
	for n := range into {
		into[n] = speed*w.speed[n] + decay*w.decay[n]
	}
	into[around.eye] += d.eye[i] * float64(sightU)
}

func dense(shares []figure.Share, n int) []float64 {
	out := make([]float64, n)
	for _, s := range shares {
		out[s.Input] += s.Amount
	}
	return out
}

func sparse(amounts []float64) []figure.Share {
	n := 0
	for _, a := range amounts {
		if a != 0 {
			n++
		}
	}
	out := make([]figure.Share, 0, n)
	for i, a := range amounts {
		if a != 0 {
			out = append(out, figure.Share{Input: i, Amount: a})
		}
	}
	return out
}

func scaleBy(list []float64, by float64) {
	for i := range list {
		list[i] *= by
	}
}

// plusTimes adds by times another list.
func plusTimes(list []float64, by float64, other []float64) {
	if by == 0 {
		return
	}
	for i, x := range other {
		list[i] += by * x
	}
}

// flier computes the figures of all builds' paths.
type flier struct {
	sheet *Sheet
	p     *prepared
	shot  *flight.Shot
	eye   float64
	n     int     // inputs
	base  leaving // the baseline's arrow
	// What each input does to the zero and the slope of the sight's scale.
	zero, per []float64
	// The baseline's launch angles and what each input does to them, one for each
	// distance; NaN and nil where it does not hit.
	aims      []float64
	aimShares [][]float64
}

// fly adds the figures of the paths to a sheet: the baseline's first, then the
// others', which need nothing of each other, side by side.
func (s *Sheet) fly(p *prepared, states []state) {
	if len(states) == 0 {
		return
	}
	distances := s.Job.DistancesOrDefault()
	f := &flier{sheet: s, p: p, shot: p.here.shot(unknown), eye: float64(p.here.scene.Eye), n: len(s.Inputs),
		aims: make([]float64, len(distances)), aimShares: make([][]float64, len(distances))}
	base := s.Job.Baseline
	f.base = states[base].leaving
	f.build(base, f.way(&states[base]), distances)
	sideBySide(len(states), func() func(i int) {
		own := *f
		own.shot = p.here.shot(unknown)
		return func(i int) {
			if i != base {
				own.build(i, own.way(&states[i]), distances)
			}
		}
	})
}

func (f *flier) way(st *state) way {
	return way{st.leaving, dense(st.mass, f.n), dense(st.speed, f.n), dense(st.decay, f.n)}
}

// build computes one build's figures at every distance and as a whole.
func (f *flier) build(i int, w way, distances []unit.Length) {
	s, b := f.sheet, &f.sheet.Job.Builds[i]
	out := &s.Builds[i]
	baseline := i == s.Job.Baseline
	out.At = make([]Set, len(distances))
	if baseline {
		f.sightScale(&w)
	}
	for n, d := range distances {
		if baseline {
			f.aims[n] = math.NaN()
		}
		out.At[n] = newSet(figure.FlightTime, figure.Count)
		f.at(&out.At[n], b, &w, n, d, baseline)
	}
	f.whole(&out.Set, b, &w)
}

// sightScale works out what each input does to the sight's scale: the distance
// from peep to pin, or, fitted to known marks, the arrow they were shot with and
// how well they were.
func (f *flier) sightScale(w *way) {
	f.zero, f.per = make([]float64, f.n), make([]float64, f.n)
	if f.p.sighting == nil || !f.p.sighting.fit.ok {
		f.per[f.p.around.pin] = float64(sightU)
		return
	}
	fit := f.p.sighting.fit
	d := differ(w.leaving, f.eye, []float64{fit.zero, fit.per}, func(l leaving, eye float64) []float64 {
		if !l.flies() {
			return []float64{math.NaN(), math.NaN()}
		}
		moved := f.p.sighting.lineFor(&f.p.here, l, eye)
		return []float64{moved.zero, moved.per}
	})
	d.shares(f.zero, w, f.p.around, 0)
	d.shares(f.per, w, f.p.around, 1)
	// Readings are as good in tangents wherever they are on the scale.
	sigma := math.Abs(fit.per) * f.p.sighting.sigma
	noise := f.p.around.readings
	f.zero[noise[0]] = sigma * math.Sqrt(fit.zz)
	f.per[noise[0]] = sigma * fit.zp / math.Sqrt(fit.zz)
	f.per[noise[1]] = sigma * math.Sqrt(max(0, fit.pp-fit.zp*fit.zp/fit.zz))
}

// at computes one build at one distance.
func (f *flier) at(out *Set, b *arrow.Build, w *way, n int, d unit.Length, baseline bool) {
	s := f.sheet
	if !w.leaving.flies() {
		for _, k := range shownAt {
			out.lack(k, s.atReason(b, k, baseline))
		}
		return
	}
	here := &f.p.here
	aim := math.NaN()
	if !baseline {
		aim = f.aims[n]
	}
	f.shot.Set(w.leaving.arrow(), unit.Length(f.eye))
	centre, err := here.spot(f.shot, w.leaving.mass, d, aim)
	if err != nil {
		for _, k := range shownAt {
			if !baseline || !k.Definition().Compares {
				out.lack(k, err.Error())
			}
		}
		return
	}
	moved := differ(w.leaving, f.eye, centre[:], func(l leaving, eye float64) []float64 {
		if !l.flies() {
			return nowhere[:]
		}
		f.shot.Set(l.arrow(), unit.Length(eye))
		there, _ := here.spot(f.shot, l.mass, d, aim)
		return there[:]
	})
	angle := make([]float64, f.n)
	moved.shares(angle, w, f.p.around, tangent)
	if baseline && here.eye.Given {
		f.aims[n], f.aimShares[n] = centre[tangent], angle
	}
	amounts := make([]float64, f.n)
	for _, k := range shownAt {
		value := centre[at(k)]
		if math.IsNaN(value) {
			out.lack(k, s.atReason(b, k, baseline))
			continue
		}
		switch k {
		case figure.SightMark:
			copy(amounts, f.zero)
			plusTimes(amounts, here.marks.perTangent, angle)
			plusTimes(amounts, centre[tangent], f.per)
		case figure.MarkShift:
			clear(amounts)
			plusTimes(amounts, here.marks.perTangent, angle)
			plusTimes(amounts, -here.marks.perTangent, f.aimShares[n])
			plusTimes(amounts, centre[tangent]-aim, f.per)
		default:
			moved.shares(amounts, w, f.p.around, at(k))
		}
		switch k {
		case figure.Energy, figure.Momentum:
			plusTimes(amounts, value/float64(w.leaving.mass), w.mass)
		case figure.ImpactShift:
			if w.leaving == f.base {
				// The same arrow: only what is its own counts, and it turns the
				// path about its start.
				clear(amounts)
				plusTimes(amounts, 1, f.aimShares[n])
				plusTimes(amounts, -1, angle)
				scaleBy(amounts, float64(d))
				break
			}
			f.shot.Set(w.leaving.arrow(), unit.Length(f.eye))
			up, ok := f.shot.Height(aim+angleStep, d)
			down, ok2 := f.shot.Height(aim-angleStep, d)
			if ok && ok2 {
				plusTimes(amounts, float64(up-down)/(2*angleStep), f.aimShares[n])
			}
		}
		out.put(f.p.sighting.figure(k, value, s.basis(b, k), amounts))
	}
}

// whole computes the figures of one build's path as a whole.
func (f *flier) whole(out *Set, b *arrow.Build, w *way) {
	here := &f.p.here
	if !w.leaving.flies() {
		for _, k := range wholeFlight {
			out.lack(k, f.sheet.atReason(b, k, false))
		}
		return
	}
	all := func(l leaving, eye float64) []float64 {
		if !l.flies() {
			return []float64{math.NaN(), math.NaN(), math.NaN()}
		}
		f.shot.Set(l.arrow(), unit.Length(eye))
		values := here.whole(f.shot)
		return values[:]
	}
	centre := all(w.leaving, f.eye)
	moved := differ(w.leaving, f.eye, centre, all)
	amounts := make([]float64, f.n)
	for i, k := range wholeFlight {
		if math.IsNaN(centre[i]) {
			out.lack(k, f.sheet.atReason(b, k, false))
			continue
		}
		moved.shares(amounts, w, f.p.around, i)
		value := centre[i]
		if k == figure.MarkSpread {
			// The scale is no property of the path: its own errors come on top.
			scaleBy(amounts, here.marks.perTangent)
			plusTimes(amounts, value, f.per)
			value *= here.marks.perTangent
		}
		out.put(f.p.sighting.figure(k, value, f.sheet.basis(b, k), amounts))
	}
}
