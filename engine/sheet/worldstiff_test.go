package sheet_test

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// The world's arrows as beams, again sharing no code with the engine. Where the
// engine divides an arrow into finite elements, the column is a power series from
// one change of its load to the next, and the free bending is carried from lump
// to lump by Krylov's functions, both exact. Stiffness is in lbf·in².

// forceUnit turns lbf into gr·in/s².
const forceUnit = 12 * momentumDivisor

// hands gives the figures of stiffness and steering of all builds of a job for one
// draw of a world, in the units of the exchange format.
type hands struct {
	*world
	arrows           []*handled
	baseline, proven int // proven is -1 where no build is
	rest, stroke     func(z []float64) float64
	margins, bends   func(z []float64) float64 // the model errors common to all builds
}

// handled is one build: how it lies, how stiff it is, and what the air does to it.
type handled struct {
	lay        func(z []float64) laid
	stiffness  func(z []float64) float64
	steer      func(z []float64, l *laid, balance float64) steered
	own        func(z []float64) float64 // the model error of this build's margin
	fold, bend root                      // of the nominal arrow
}

// handling are the figures in the order of handlingKeys, NaN for none.
type handling [10]float64

func newHands(j *job.Job) *hands {
	b := &j.Bow.Value
	h := &hands{world: newWorld(j), baseline: j.Baseline, proven: -1}
	dDraw := h.error("draw", orElse(b.DrawU, unit.Inch, 0.1))
	draw, brace := inches(b.Draw.Value), orElse(b.Brace, unit.Inch, 7.5)
	if !b.Brace.Given && (b.Kind == bow.Compound || b.Kind == "") {
		brace = 6.5
	}
	h.rest = func(z []float64) float64 {
		return draw + dDraw(z) - 1.75 - orElse(b.RestBehindPivot, unit.Inch, 0)
	}
	h.stroke = func(z []float64) float64 { return draw + dDraw(z) - brace - 1.75 }
	h.margins, h.bends = h.error("margins", 0.15), h.error("bends", 0.20)
	for i := range j.Builds {
		one := &j.Builds[i]
		if h.proven < 0 && one.Proven && b.Proven == "" || b.Proven != "" && b.Proven == one.Name {
			h.proven = i
		}
		a := &handled{lay: h.layOf(one), stiffness: h.stiffnessOf(one), steer: h.steerOf(one), own: h.error("margin of "+arrowText(one), 0.03)}
		h.arrows = append(h.arrows, a)
	}
	known := make([]float64, len(h.known))
	for _, a := range h.arrows {
		l := a.lay(known)
		c, f := l.column(h.rest(known)), l.bending()
		a.fold = firstRoot(c.miss, 0.02*math.Pi*math.Pi/(c.span*c.span*c.mass))
		a.bend = firstRoot(f.miss, 0.05)
	}
	return h
}

// arrowText is all of a build but what it is called and whether it is proven.
func arrowText(b *arrow.Build) string {
	one := *b
	one.Name, one.Proven, one.Proof = "", false, unit.Optional[arrow.Proof]{}
	return fmt.Sprintf("%+v", one)
}

// figures returns the figures of all builds as drawn, and as they were drawn but
// for the errors of the model itself.
func (h *hands) figures(z []float64, drawn, exact []handling) {
	at := h.bow(z)
	rest, stroke := h.rest(z), h.stroke(z)
	var base steered
	turning := make([]float64, len(h.arrows))
	for i, a := range h.arrows {
		whole := h.builds[i](z, at)
		total, balance, inertia, speed := whole[0], whole[2], whole[4], whole[6]
		l, stiff := a.lay(z), a.stiffness(z)
		c, f := l.column(rest), l.bending()
		margin := a.fold.near(c.miss) * stiff * (total + at.k) / at.peak
		often := f.perSecond(a.bend.near(f.miss), stiff)
		bends := often * 2 * stroke / 12 / speed
		s := a.steer(z, &l, balance)
		if i == h.baseline {
			base = s
		}
		turning[i] = speed * speed * s.area * s.turning
		exact[i] = handling{
			stiff, often, margin, math.NaN(), bends,
			s.at, 100 * (balance - s.at) / l.length, math.NaN(), s.share, s.wobble(inertia, at.density),
		}
		drawn[i] = exact[i]
		drawn[i][2] *= (1 + h.margins(z)) * (1 + a.own(z))
		drawn[i][4] *= 1 + h.bends(z)
	}
	for i := range h.arrows {
		for _, list := range [2][]handling{drawn, exact} {
			if h.proven >= 0 && i != h.proven {
				list[i][3] = 100 * (list[i][2]/list[h.proven][2] - 1)
			}
			if i != h.baseline && base.turning > 0 {
				list[i][7] = 100 * turning[i] / turning[h.baseline]
			}
		}
	}
}

// laid is an arrow as its pieces lie on the axis, with the sizes that the air sees.
type laid struct {
	length, throat, seat float64
	tube                 lump
	others               []lump
	vanes, rear, head    float64 // length of the vanes, their rear edge, length of the head
}

// piece is one thing that a build is made of: it draws its errors by what is in doubt.
type piece func(what string, u float64) func(z []float64) float64

func (p piece) size(what string, value, u float64) func(z []float64) float64 {
	d := p(what, u)
	return func(z []float64) float64 { return value + d(z) }
}

func (p piece) weight(m unit.Mass, u unit.Optional[unit.Mass]) func(z []float64) float64 {
	return p.size("weight", grains(m), orElse(u, unit.Grain, 1))
}

func (p piece) long(what string, l unit.Length, u unit.Optional[unit.Length]) func(z []float64) float64 {
	return p.size(what, inches(l), orElse(u, unit.Inch, 0.03))
}

func (p piece) placed(what string, x float64, u unit.Optional[unit.Length]) func(z []float64) float64 {
	return p.size(what, x, orElse(u, unit.Inch, 0.1))
}

// pieces hands out the pieces of one build under the names that buildOf gives them,
// so that both draw the same errors: TestHandsLayWhatTheWorldLays sees to that.
func (w *world) pieces() func(one any) piece {
	seen := map[string]int{}
	return func(one any) piece {
		key := fmt.Sprintf("%T %+v", one, one)
		seen[key]++
		key = fmt.Sprintf("%s #%d", key, seen[key])
		return func(what string, u float64) func([]float64) float64 { return w.error(key+" "+what, u) }
	}
}

// layOf draws how the pieces of a build lie.
func (w *world) layOf(b *arrow.Build) func(z []float64) laid {
	own := w.pieces()
	cut := piece(func(what string, u float64) func([]float64) float64 { return w.error(what, u) })
	length := cut.long(fmt.Sprintf("cut %+v %v %+v", b.Shaft, b.Length, b.LengthU), b.Length, b.LengthU)
	shaft, nock, head := own(b.Shaft), own(b.Nock), own(b.Head)
	throat := nock.long("throat", b.Nock.Throat.Or(0.5*unit.Inch), b.Nock.ThroatU)
	headLong := head.long("length", b.Head.Length.Or(0), b.Head.LengthU)
	tubeWeight := func([]float64) float64 { return 0 }
	var perInch func([]float64) float64
	if b.Shaft.TubeWeight.Given {
		tubeWeight = shaft.size("tube", grains(b.Shaft.TubeWeight.Value), orElse(b.Shaft.TubeWeightU, unit.Grain, 0.2))
	} else {
		p := float64(b.Shaft.WeightPerInch.Value / unit.GrainPerInch)
		perInch = shaft.size("per inch", p, orElse(b.Shaft.WeightPerInchU, unit.GrainPerInch, 0.01*p))
	}
	var put []func(z []float64, l *laid) lump
	add := func(one func(z []float64, l *laid) lump) { put = append(put, one) }

	nockWeight, nockAt := nock.weight(b.Nock.Weight, b.Nock.WeightU), nock.placed("balance", 0, b.Nock.BalanceU)
	add(func(z []float64, l *laid) lump {
		return lump{nockWeight(z), orElse(b.Nock.Balance, unit.Inch, l.throat) + nockAt(z), 0}
	})
	if v := b.Vanes.Value; b.Vanes.Given {
		p := own(v)
		weight, long, rear := p.weight(v.Weight, v.WeightU), p.long("length", v.Length, v.LengthU), p.placed("rear", inches(v.Rear), v.RearU)
		add(func(z []float64, l *laid) lump {
			l.vanes, l.rear = long(z), rear(z)
			return lump{float64(v.Count) * weight(z), l.rear + l.vanes/2, l.vanes}
		})
	}
	if v := b.Wrap.Value; b.Wrap.Given {
		p := own(v)
		weight, long := p.weight(v.Weight, v.WeightU), p.long("length", v.Length, v.LengthU)
		add(func(z []float64, l *laid) lump { return lump{weight(z), l.throat + long(z)/2, long(z)} })
	}
	proud := 0.0
	if v := b.Insert.Value; b.Insert.Given {
		p := own(v)
		proud = orElse(v.Proud, unit.Inch, 0)
		weight, depth := p.weight(v.Weight, v.WeightU), p.long("depth", v.Depth, v.DepthU)
		add(func(z []float64, l *laid) lump {
			return lump{weight(z), l.length + (proud-depth(z))/2, depth(z) + proud}
		})
	}
	if v := b.Collar.Value; b.Collar.Given {
		p := own(v)
		weight, long := p.weight(v.Weight, v.WeightU), p.long("length", v.Length, v.LengthU)
		add(func(z []float64, l *laid) lump { return lump{weight(z), l.length - long(z)/2, long(z)} })
	}
	headWeight, headAt := head.weight(b.Head.Weight, b.Head.WeightU), head.placed("balance", 0, b.Head.BalanceU)
	add(func(z []float64, l *laid) lump {
		at := 0.5
		if b.Head.Balance.Given {
			at = inches(b.Head.Balance.Value)
		} else if b.Head.Length.Given {
			at = l.head / 2
		}
		return lump{headWeight(z), l.seat + at + headAt(z), 0}
	})
	for _, e := range b.Extras {
		p := own(e)
		weight, at, long := p.weight(e.Weight, e.WeightU), p.placed("place", inches(e.Balance), e.BalanceU), p.long("length", e.Length.Value, e.LengthU)
		if !e.Length.Given {
			long = func([]float64) float64 { return 0 }
		}
		add(func(z []float64, l *laid) lump { return lump{weight(z), at(z), long(z)} })
	}
	return func(z []float64) laid {
		l := laid{length: length(z), throat: throat(z), head: headLong(z)}
		l.seat = l.length + proud
		tube := l.length - l.throat
		l.tube = lump{tubeWeight(z), (l.length + l.throat) / 2, tube}
		if perInch != nil {
			l.tube.mass = perInch(z) * tube
		}
		l.others = make([]lump, 0, len(put))
		for _, one := range put {
			l.others = append(l.others, one(z, &l))
		}
		return l
	}
}

// stiffnessOf draws how stiff a shaft is: 1.94 lb in the middle of a span of 28 in
// bend it by its spine (ASTM F2031), which is known to 2 % unless it says otherwise.
func (w *world) stiffnessOf(b *arrow.Build) func(z []float64) float64 {
	s := inches(b.Shaft.Spine.Value)
	spine := w.pieces()(b.Shaft).size("spine", s, orElse(b.Shaft.SpineU, unit.Inch, 0.02*s))
	return func(z []float64) float64 { return 1.94 * 28 * 28 * 28 / (48 * spine(z)) }
}

// column is an arrow that is pushed at its throat, pinned there and at the rest,
// free ahead of it. Its angle θ against the axis bends by EI θ″ = C − a μ θ, with a
// the acceleration, μ the mass ahead, and C the sideways push of the two pins,
// which is none ahead of the rest (Timoshenko & Gere, Theory of Elastic Stability).
// There is no moment at either end, and the throat is where the rest is sideways.
type column struct {
	span   float64 // from throat to rest
	mass   float64 // ahead of the throat
	behind int     // the first stretch behind the rest
	pieces []stretch
}

// stretch is a piece of a column along which the mass ahead grows evenly,
// beginning at its front.
type stretch struct{ long, ahead, perInch float64 }

// column divides an arrow from the cut end towards the throat.
func (l *laid) column(rest float64) column {
	type change struct{ at, mass, perInch float64 }
	behind := max(0, l.length-rest)
	changes := append(make([]change, 0, 40), change{at: behind}, change{at: l.length})
	put := func(p lump) {
		near, far := l.length-p.centre-p.span/2, l.length-p.centre+p.span/2
		if far <= 0 || p.span <= 0 {
			changes = append(changes, change{max(0, near), p.mass, 0})
			return
		}
		each := p.mass / p.span
		changes = append(changes, change{max(0, near), each * max(0, -near), each}, change{far, 0, -each})
	}
	put(l.tube)
	for _, p := range l.others {
		put(p)
	}
	slices.SortFunc(changes, func(a, b change) int { return cmp.Compare(a.at, b.at) })
	c := column{span: l.length - behind, pieces: make([]stretch, 0, len(changes))}
	at, each := 0.0, 0.0
	for _, n := range changes {
		if n.at > l.length {
			break
		}
		if n.at > at {
			c.pieces = append(c.pieces, stretch{n.at - at, c.mass, each})
			c.mass += each * (n.at - at)
			at = n.at
		}
		if n == (change{at: behind}) {
			c.behind = len(c.pieces)
		}
		c.mass, each = c.mass+n.mass, each+n.perInch
	}
	return c
}

// lean is how a column leans at a place: its angle, how fast that grows towards
// the throat, and how far it has gone sideways from the rest on.
type lean struct{ angle, bend, aside float64 }

// along follows a lean over a stretch of a column that is pushed by push = a/EI,
// with the pins' sideways push over EI: the series of θ″ = pins − push μ θ, the
// length of the stretch being 1.
func (b lean) along(s stretch, push, pins float64) lean {
	square := s.long * s.long
	by, grow := push*s.ahead*square, push*s.perInch*square*s.long
	before, now, next := 0.0, b.angle, b.bend*s.long
	angle, bend, aside := now+next, next, now+next/2
	for n := 2.0; n < 80; n++ {
		after := -(by*now + grow*before) / (n * (n - 1))
		if n == 2 {
			after += pins * square / 2
		}
		before, now, next = now, next, after
		angle, bend, aside = angle+after, bend+n*after, aside+after/(n+1)
		if math.Abs(before)+math.Abs(now)+math.Abs(next) < 1e-15*(math.Abs(angle)+math.Abs(bend)) {
			return lean{angle, bend / s.long, b.aside + aside*s.long}
		}
	}
	panic("the series of the test does not settle")
}

// miss is zero where the column buckles: there, of what leans with and without the
// pins, a sum has no moment at the throat and is not aside of it.
func (c *column) miss(push float64) float64 {
	free, held := lean{angle: 1}, lean{}
	for i, s := range c.pieces {
		if i == c.behind {
			free.aside = 0
		}
		free = free.along(s, push, 0)
		if i >= c.behind {
			held = held.along(s, push, 1)
		}
	}
	return (free.bend*held.aside - held.bend*free.aside) / (c.span * c.span)
}

// bending is an arrow that bends freely: an even tube with lumps on it, these in
// parts of the tube's weight at parts of its length.
type bending struct {
	tube, perInch float64
	lumps         []lump
}

// bending makes lumps of all pieces but the tube, at its end where they stand beyond.
func (l *laid) bending() bending {
	b := bending{l.tube.span, l.tube.mass / l.tube.span, make([]lump, 0, len(l.others))}
	for _, p := range l.others {
		b.lumps = append(b.lumps, lump{p.mass / l.tube.mass, min(1, max(0, (p.centre-l.throat)/l.tube.span)), 0})
	}
	slices.SortFunc(b.lumps, func(x, y lump) int { return cmp.Compare(x.centre, y.centre) })
	return b
}

// wave is a bent beam at a place: how far it is aside and the three derivatives of
// that along β x.
type wave [4]float64

// along follows a wave over x = β × a length, by Krylov's functions.
func (w wave) along(x float64) wave {
	sin, cos := math.Sincos(x)
	grow := math.Exp(x)
	sinh, cosh := (grow-1/grow)/2, (grow+1/grow)/2
	k := [4]float64{(cosh + cos) / 2, (sinh + sin) / 2, (cosh - cos) / 2, (sinh - sin) / 2}
	var out wave
	for i := range out {
		for n := range k {
			out[i] += k[n] * w[(i+n)%4]
		}
	}
	return out
}

// miss is zero where the arrow bends freely with β × tube = x: there a sum of two
// waves that begin without moment and shear ends without them.
func (b *bending) miss(x float64) float64 {
	one, two, at := wave{1, 0, 0, 0}, wave{0, 1, 0, 0}, 0.0
	for _, p := range b.lumps {
		one, two, at = one.along(x*(p.centre-at)), two.along(x*(p.centre-at)), p.centre
		one[3] += p.mass * x * one[0]
		two[3] += p.mass * x * two[0]
	}
	one, two = one.along(x*(1-at)), two.along(x*(1-at))
	return one[2]*two[3] - one[3]*two[2]
}

func (b *bending) perSecond(x, stiffness float64) float64 {
	return x * x / (2 * math.Pi * b.tube * b.tube) * math.Sqrt(stiffness*forceUnit/b.perInch)
}

// root is where something is zero, and how steeply it goes there.
type root struct{ at, slope float64 }

// firstRoot walks to the first change of sign and narrows it down.
func firstRoot(miss func(float64) float64, step float64) root {
	low := step
	began := miss(low)
	for range 10000 {
		if miss(low+step) > 0 == (began > 0) {
			low += step
			continue
		}
		high := low + step
		for range 40 {
			if middle := (low + high) / 2; miss(middle) > 0 == (began > 0) {
				low = middle
			} else {
				high = middle
			}
		}
		return root{low, (miss(low+step/100) - miss(low-step/100)) / (step / 50)}
	}
	panic("the first root of the test is not found")
}

// near finds the root of an arrow that is much like the one this root is of. It
// seeks in parts of that root and of its slope.
func (r root) near(miss func(float64) float64) float64 {
	return r.at * secant(func(x float64) float64 { return miss(r.at*x) / (r.at * r.slope) }, 1, -1)
}
