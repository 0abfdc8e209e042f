package stiffness

import "slices"

// curve is a bent shape: a cubic on each element, and its integrals, so that what
// a mass adds can be had at any place at once. Beyond its ends it is straight, as
// a beam is that nobody holds there.
type curve struct {
	nodes  []float64
	pieces []piece
	// energy is ∫ w″² over all of it.
	energy float64
}

// piece is one element: coefficients of the deflection in powers of the place on
// 0…1, and of three integrals that start with what lies behind: ∫ w² dx,
// U = ∫ w′² dx and ∫ U dx.
type piece struct {
	from, h float64
	w       [4]float64
	square  [8]float64
	steep   [6]float64
	stepped [7]float64
}

// newCurve returns the shape of a beam with those degrees of freedom.
func newCurve(b *beam, phi []float64) curve {
	c := curve{nodes: b.nodes, pieces: make([]piece, b.elements())}
	behind, steepBehind, steppedBehind := 0.0, 0.0, 0.0
	for el := range c.pieces {
		p := &c.pieces[el]
		p.from, p.h = b.nodes[el], b.length(el)
		for i, n := range hermite {
			by := phi[2*el+i]
			if i%2 == 1 {
				by *= p.h
			}
			for k := range n {
				p.w[k] += by * n[k]
			}
		}
		slope := [3]float64{p.w[1], 2 * p.w[2], 3 * p.w[3]}
		bend := [2]float64{2 * p.w[2], 6 * p.w[3]}
		c.energy += (bend[0]*bend[0] + bend[0]*bend[1] + bend[1]*bend[1]/3) / (p.h * p.h * p.h)
		p.square[0], p.steep[0], p.stepped[0] = behind, steepBehind, steppedBehind
		for i, a := range p.w {
			for k, b := range p.w {
				p.square[i+k+1] += a * b * p.h / float64(i+k+1)
			}
		}
		for i, a := range slope {
			for k, b := range slope {
				p.steep[i+k+1] += a * b / p.h / float64(i+k+1)
			}
		}
		for i, a := range p.steep {
			p.stepped[i+1] = a * p.h / float64(i+1)
		}
		behind, steepBehind, steppedBehind = sum(p.square[:]), sum(p.steep[:]), sum(p.stepped[:])
	}
	return c
}

func sum(list []float64) float64 {
	total := 0.0
	for _, x := range list {
		total += x
	}
	return total
}

// polynomial returns Σ cᵢ atⁱ.
func polynomial(c []float64, at float64) float64 {
	total := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		total = total*at + c[i]
	}
	return total
}

// on returns the element that a place lies on, and where on it; off the ends
// that is before 0 or past 1.
func (c *curve) on(x float64) (*piece, float64) {
	el, found := slices.BinarySearch(c.nodes, x)
	if !found {
		el--
	}
	p := &c.pieces[max(min(el, len(c.pieces)-1), 0)]
	return p, (x - p.from) / p.h
}

// slope returns w′ at a place on the curve.
func (c *curve) slope(x float64) float64 {
	p, at := c.on(x)
	at = max(min(at, 1), 0)
	return (p.w[1] + at*(2*p.w[2]+at*3*p.w[3])) / p.h
}

// deflection returns w at a place.
func (c *curve) deflection(x float64) float64 {
	p, at := c.on(x)
	inside := max(min(at, 1), 0)
	return polynomial(p.w[:], inside) + (at-inside)*p.h*c.slope(x)
}

// squares returns ∫ w² from one place to another.
func (c *curve) squares(from, to float64) float64 { return c.squaresTo(to) - c.squaresTo(from) }

func (c *curve) squaresTo(x float64) float64 {
	p, at := c.on(x)
	inside := max(min(at, 1), 0)
	total := polynomial(p.square[:], inside)
	if beyond := (at - inside) * p.h; beyond != 0 {
		w, s := polynomial(p.w[:], inside), c.slope(x)
		total += beyond * (w*w + w*s*beyond + s*s*beyond*beyond/3)
	}
	return total
}

// steepness returns U, ∫ w′² from the near end, at a place, for a curve that ends
// at the place end: beyond that it adds nothing more.
func (c *curve) steepness(x, end float64) float64 {
	if x < c.nodes[0] {
		return 0
	}
	x = min(x, end)
	p, at := c.on(x)
	total := polynomial(p.steep[:], min(at, 1))
	if at > 1 {
		total += (at - 1) * p.h * square(c.slope(x))
	}
	return total
}

// steepnessOver returns the mean of U between two places.
func (c *curve) steepnessOver(from, to, end float64) float64 {
	if to-from < 1e-9 {
		return c.steepness((from+to)/2, end)
	}
	return (c.stepped(to, end) - c.stepped(from, end)) / (to - from)
}

// stepped returns ∫ U from the near end to a place.
func (c *curve) stepped(x, end float64) float64 {
	if x < c.nodes[0] {
		return 0
	}
	flat := max(x-end, 0)
	x -= flat
	p, at := c.on(x)
	total := polynomial(p.stepped[:], min(at, 1))
	if beyond := (at - 1) * p.h; beyond > 0 {
		total += beyond * (polynomial(p.steep[:], 1) + beyond*square(c.slope(x))/2)
	}
	if flat > 0 {
		total += flat * c.steepness(x, end)
	}
	return total
}
