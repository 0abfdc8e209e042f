package flight

import (
	"math"

	"foreshaft/engine/unit"
)

// Farther is how far beyond a distance the target is looked for, and no more.
const Farther = 80 * unit.Yard

// record follows a path in still air until, beyond a distance, it is below the
// lower edge of the target for good, or until it gets as far as end, and keeps
// where it was.
func (s *Shot) record(tangent, distance, end float64) {
	s.nodes = s.nodes[:0]
	n := s.leave(s.tangent(tangent), 0)
	s.nodes = append(s.nodes, n)
	floor := -float64(s.Radius)
	for range mostSteps {
		dx := s.stride(&n)
		n = s.step(&n, dx)
		if n.u < leastSpeed {
			return
		}
		s.nodes = append(s.nodes, n)
		if s.along(&n) > end || s.falls(&n) <= 0 && s.above(&n) < floor && s.along(&n) > distance {
			return
		}
	}
}

// falls returns how steeply a path climbs away from the line of sight, negative
// where it comes back to it: it is the derivative of above by X.
func (s *Shot) falls(n *node) float64 { return n.p*s.cos - s.sin }

// top returns the place of the recorded path that is highest over the line of
// sight, and before it the index of the last node. Gravity bends a path one way
// only, so there is one.
func (s *Shot) top() (before int, at node) {
	for i := 1; i < len(s.nodes); i++ {
		if s.falls(&s.nodes[i]) <= 0 {
			return i - 1, s.locate(i-1, func(n *node) (float64, float64) {
				return s.falls(n), -unit.StandardGravity / (n.u * n.u) * s.cos
			})
		}
	}
	return len(s.nodes) - 1, s.nodes[len(s.nodes)-1]
}

// locate finds where between a recorded node and the next a quantity is zero; f
// returns it with its derivative by X. It must change its sign in between.
func (s *Shot) locate(i int, f func(n *node) (value, slope float64)) node {
	from := &s.nodes[i]
	low, high := 0.0, s.nodes[i+1].x-from.x
	a, _ := f(from)
	b, _ := f(&s.nodes[i+1])
	dx := high * a / (a - b)
	if a == b || !(dx >= low && dx <= high) {
		dx = high / 2
	}
	var n node
	for range 60 {
		n = s.step(from, dx)
		v, slope := f(&n)
		if (v < 0) == (a < 0) {
			low = dx
		} else {
			high = dx
		}
		next := dx - v/slope
		if !(next >= low && next <= high) {
			next = (low + high) / 2
		}
		if math.Abs(next-dx) <= 1e-11*(1+n.x) {
			return s.step(from, next)
		}
		dx = next
	}
	return n
}

// rises and sinks return how far along the line of sight the recorded path
// passes a height over it on its way up to its top, and down from there. They
// are NaN where it does not.
func (s *Shot) rises(height float64, before int, top *node) float64 {
	if s.above(&s.nodes[0]) > height || s.above(top) < height {
		return math.NaN()
	}
	for i := 1; i <= before; i++ {
		if s.above(&s.nodes[i]) >= height {
			return s.pass(i-1, height)
		}
	}
	return s.passFrom(before, height, true, top)
}

func (s *Shot) sinks(height float64, before int, top *node) float64 {
	if s.above(top) < height {
		return math.NaN()
	}
	for i := before + 1; i < len(s.nodes); i++ {
		if s.above(&s.nodes[i]) < height {
			if i == before+1 {
				return s.passFrom(before, height, false, top)
			}
			return s.pass(i-1, height)
		}
	}
	return math.NaN()
}

// pass locates a height between a node and the next.
func (s *Shot) pass(i int, height float64) float64 {
	n := s.locate(i, func(n *node) (float64, float64) { return s.above(n) - height, s.falls(n) })
	return s.along(&n)
}

// passFrom locates a height in the step that holds the top, on one side of it.
func (s *Shot) passFrom(before int, height float64, up bool, top *node) float64 {
	if before+1 >= len(s.nodes) {
		return math.NaN()
	}
	saved := [2]node{s.nodes[before], s.nodes[before+1]}
	if up {
		s.nodes[before+1] = *top
	} else {
		s.nodes[before] = *top
	}
	x := s.pass(before, height)
	s.nodes[before], s.nodes[before+1] = saved[0], saved[1]
	return x
}

// Tolerance is how much nearer and how much farther a target may be than a
// distance before an arrow launched to hit there misses by more than the target's
// radius, to the first place on each side. Nearer is the whole distance when no
// nearer target is missed; Farther is NaN when none is missed within 80 yd.
type Tolerance struct{ Nearer, Farther unit.Length }

// Tolerance returns how wrong the range to a hit may be.
func (s *Shot) Tolerance(h *Hit, distance unit.Length) Tolerance {
	d, r := float64(distance), float64(s.Radius)
	if r <= 0 {
		return Tolerance{}
	}
	s.record(h.Tangent, d, float64(distance+Farther))
	before, top := s.top()
	var near, far float64
	if s.along(&top) >= d { // it is still on its way up
		near = s.rises(-r, before, &top)
		if far = s.rises(r, before, &top); math.IsNaN(far) {
			far = s.sinks(-r, before, &top)
		}
	} else {
		if near = s.sinks(r, before, &top); math.IsNaN(near) {
			near = s.rises(-r, before, &top)
		}
		far = s.sinks(-r, before, &top)
	}
	out := Tolerance{Nearer: distance, Farther: unit.Length(far - d)}
	if near < d {
		out.Nearer = unit.Length(d - near)
	}
	if !(out.Farther <= Farther) {
		out.Farther = unit.Length(math.NaN())
	}
	return out
}

// Level returns the distance on the level that has the same launch angle above
// the line of sight, beyond the distance where marks turn back. It is false when
// such a launch never comes up to the line of sight.
func (s *Shot) Level(tangent float64) (unit.Length, bool) {
	level := &Shot{Arrow: s.Arrow, Scene: Scene{Eye: s.Eye}, cos: 1, nodes: s.nodes}
	level.record(tangent, 0, math.Inf(1))
	before, top := level.top()
	d := level.sinks(0, before, &top)
	s.nodes = level.nodes
	return unit.Length(d), !math.IsNaN(d)
}

// Hold is between which distances one mark serves, its path never farther from
// the line of sight than the target's radius.
type Hold struct {
	Near, Far unit.Length
	Tangent   float64 // of the launch angle above the line of sight
}

// HoldOn finds the launch angle whose path tops out just the target's radius
// over the line of sight. It is false when none does.
func (s *Shot) HoldOn() (Hold, bool) {
	r := float64(s.Radius)
	rise := r + float64(s.Eye)
	// In a vacuum the top is v² sin²θ/(2 g cos slope) over the start.
	sin := math.Sqrt(2*unit.StandardGravity*s.cos*rise) / float64(s.Speed)
	if !(sin < 1) {
		return Hold{}, false
	}
	tangent := sin / math.Sqrt(1-sin*sin)
	for range 40 {
		if s.cos-tangent*s.sin < 0.02 { // straight up
			return Hold{}, false
		}
		s.record(tangent, 0, math.Inf(1))
		before, top := s.top()
		miss := s.above(&top) - r
		if math.Abs(miss) <= 1e-11 {
			if r <= 0 { // it touches the line of sight in one place
				place := unit.Length(s.along(&top))
				return Hold{Tangent: tangent, Near: place, Far: place}, true
			}
			hold := Hold{Tangent: tangent, Far: unit.Length(s.sinks(-r, before, &top))}
			if near := s.rises(-r, before, &top); near > 0 {
				hold.Near = unit.Length(near)
			}
			return hold, !math.IsNaN(float64(hold.Far))
		}
		// A path turned about its start by dθ lifts its top by the way there times dθ.
		way := s.along(&top)
		if way <= 0 {
			return Hold{}, r == 0 && s.Eye == 0
		}
		tangent = math.Max(0, tangent-miss/way*(1+tangent*tangent))
	}
	return Hold{}, false
}
