package sheet_test

import (
	"fmt"
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// The flight of the world's arrows, again sharing no code with the engine. Where
// the engine goes by steps over the distance, this is the hodograph of quadratic
// drag (McCoy, Modern Exterior Ballistics, chapter 5; Euler 1753): with p the
// slope of the path and u the horizontal speed, 1/u² grows by (2k/g) times what
// the arc F(p) = (p √(1+p²) + arsinh p)/2 has shrunk, and distance, height and
// time are integrals over p. Lengths are in ft, times in s.

// What is known of the air of all these jobs, 15 °C, 1013.25 hPa and no
// humidity: density from CIPM-2007 (Picard et al., Metrologia 45 (2008) 149) in
// kg/m³, viscosity from Sutherland's formula in Pa·s (US Standard Atmosphere
// 1976, equation 51).
const airDensity = 1.22552134

var airViscosity = 1.458e-6 * math.Pow(288.15, 1.5) / (288.15 + 110.4)

// dry is that air in a job.
const dry = `"air":{"temperature_c":15,"pressure_hpa":1013.25,"humidity_pct":0}`

// inAir is an arrow in the air: its drag coefficient, and its cross-section in m².
type inAir struct{ drag, area float64 }

// outlineOf draws what the air sees of a build: the diameter ± 0.001 in; the
// formula's error, 25 % of all builds alike and 10 % of one outline; or a given
// coefficient, ± 0.05 unless it says so. tube and vanes are those lengths with
// their errors.
func (w *world) outlineOf(b *arrow.Build, shaft func(string, float64) func([]float64) float64, tube, vanes func([]float64) float64) func([]float64, shot, float64) inAir {
	if !b.Shaft.OuterDiameter.Given {
		return nil
	}
	dDiameter := shaft("diameter", orElse(b.Shaft.OuterDiameterU, unit.Inch, 0.001))
	diameter := func(z []float64) float64 { return inches(b.Shaft.OuterDiameter.Value) + dDiameter(z) }
	area := func(z []float64) float64 { return math.Pi / 4 * math.Pow(diameter(z)*0.0254, 2) }
	if c := b.DragCoefficient; c.Given {
		// Two builds that look the same share it: here as one text of all that is seen.
		own := w.error(fmt.Sprintf("given %v %+v %s", c.Value, b.DragCoefficientU, outlineText(b)), b.DragCoefficientU.Or(0.05))
		return func(z []float64, s shot, v float64) inAir { return inAir{c.Value + own(z), area(z)} }
	}
	v, h := b.Vanes.Value, b.Head
	height, thick := orElse(v.Height, unit.Inch, 0), orElse(v.Thickness, unit.Inch, 0.025)
	rough := h.Shape == part.Blunt || h.Blades > 0 || h.Expandable
	blades := float64(h.Blades)
	if h.Expandable {
		blades = 0
	}
	cut, long, bladeThick := orElse(h.CutWidth, unit.Inch, 0), orElse(h.BladeLength, unit.Inch, 0), orElse(h.BladeThickness, unit.Inch, 0.03)
	common, own := w.error("formula", 0.25), w.error("outline "+outlineText(b), 0.10)
	return func(z []float64, s shot, speed float64) inAir {
		d, root := diameter(z), vanes(z)
		tip := orElse(v.TipLength, unit.Inch, 0.4*root)
		perInch := s.density * speed * 0.3048 / airViscosity * 0.0254
		section := math.Pi * d * d / 4
		with := func(friction func(re float64) float64) float64 {
			c := 4 * tube(z) / d * friction(perInch*tube(z))
			if b.Vanes.Given && v.Count > 0 {
				c += float64(v.Count) * (height*(root+tip)*friction(perInch*root) + 0.7*height*thick) / section
			}
			if blades > 0 {
				span := (cut - d) / 2
				c += blades * (span*long*friction(perInch*long) + 0.6*span*bladeThick) / section
			}
			return c
		}
		laminar := 0.6 + with(func(re float64) float64 { return 1.328 / math.Sqrt(re) })
		turbulent := 0.3 + with(func(re float64) float64 { return 0.455 / math.Pow(math.Log(re)/math.Ln10, 2.58) })
		share := math.Min(1, math.Max(0, (perInch*d-12000)/10000))
		share = 3*share*share - 2*share*share*share
		if rough {
			share = 1
		}
		return inAir{(share*turbulent + (1-share)*laminar) * (1 + common(z)) * (1 + own(z)), area(z)}
	}
}

// outlineText is all that the air sees of a build but how long it was cut.
func outlineText(b *arrow.Build) string {
	v, h := b.Vanes.Value, b.Head
	vanes, blades := "", ""
	if b.Vanes.Given && v.Count > 0 {
		vanes = fmt.Sprint(v.Count, v.Height, v.Length, v.TipLength, v.Thickness)
	}
	if h.Blades > 0 && !h.Expandable {
		blades = fmt.Sprint(h.Blades, h.BladeLength, h.CutWidth, h.BladeThickness)
	}
	return fmt.Sprint(b.Shaft.OuterDiameter, vanes, blades, h.Shape == part.Blunt || h.Blades > 0 || h.Expandable)
}

// sky is what a job says of how its shots lie.
type sky struct {
	sin, cos   float64 // of the slope
	eye, pin   float64 // ft, in
	wind, hits float64 // ft/s; the target's radius in ft
}

func skyOf(j *job.Job) sky {
	var s sky
	s.sin, s.cos = math.Sincos(float64(j.Slope.Or(0)))
	s.eye, s.pin = orElse(j.Sight.Value.PeepAboveNock, unit.Foot, 0), orElse(j.Sight.Value.PeepToPin, unit.Inch, 0)
	s.wind, s.hits = orElse(j.Crosswind, unit.FootPerSecond, 0), orElse(j.TargetRadius, unit.Foot, 4./12)
	return s
}

// flown is an arrow that was let go: with v in ft/s, k in 1/ft.
type flown struct {
	sky
	v, k float64
}

// flies makes an arrow out of what a world drew: weight in gr, speed in ft/s.
func (s sky) flies(total, v float64, air inAir, density float64) flown {
	return flown{s, v, density * air.drag * air.area / (2 * total * 6.479891e-5) * 0.3048}
}

// curve is a hodograph from the slope p0 on: 1/u² is c − q F(p).
type curve struct{ p0, c, q float64 }

func arc(p float64) float64 { return (p*math.Sqrt(1+p*p) + math.Asinh(p)) / 2 }

// launched returns the curve of a launch, with that slope and horizontal speed.
func (f *flown) launched(p0, u0 float64) curve {
	q := 2 * f.k / gravityFeet
	return curve{p0, 1/(u0*u0) + q*arc(p0), q}
}

// steady holds the places and weights of Gauss–Legendre quadrature over eight
// places (Abramowitz & Stegun, table 25.4).
var steady = [4][2]float64{
	{0.183434642495650, 0.362683783378362}, {0.525532409916329, 0.313706645877887},
	{0.796666477413627, 0.222381034453374}, {0.960289856497536, 0.101228536290376},
}

// panels is how many quadratures follow a path to the slope p. The more a path is
// braked, the nearer lies the place before its start where 1/u² would be zero.
func (c *curve) panels(p float64) float64 {
	braked := c.q / (c.c - c.q*arc(c.p0))
	return math.Ceil(math.Abs(c.p0-p) * (4 + braked))
}

// to returns where an arrow is when its slope has become p, and when.
func (c *curve) to(p float64) (x, y, t float64) {
	pieces := c.panels(p)
	half := (c.p0 - p) / 2 / pieces
	for piece := range int(pieces) {
		middle := c.p0 - half*float64(2*piece+1)
		for _, n := range steady {
			for _, side := range [2]float64{-n[0], n[0]} {
				at := middle + half*side
				square := c.c - c.q*arc(at)
				weight := n[1] * half / (gravityFeet * square)
				x, y, t = x+weight, y+weight*at, t+weight*math.Sqrt(square)
			}
		}
	}
	return x, y, t
}

// rate is how fast x changes with p.
func (c *curve) rate(p float64) float64 { return -1 / (gravityFeet * (c.c - c.q*arc(p))) }

// spot is an arrow at a place of its curve: along the line of sight and above it.
type spot struct{ p, along, above, x, y, t float64 }

// place follows a curve to the slope p. The horizontal way is turned aside from
// the target by what has the cosine straight: 1 in still air.
func (f *flown) place(c *curve, p, straight float64) spot {
	x, y, t := c.to(p)
	return spot{p, x*straight*f.cos + y*f.sin, y*f.cos - x*straight*f.sin - f.eye, x, y, t}
}

// follow finds where the curve is that far along the line of sight.
func (f *flown) follow(c *curve, distance, straight float64) spot {
	p := c.p0 + distance/c.rate(c.p0)/straight
	for range 60 {
		a := f.place(c, p, straight)
		by := (distance - a.along) / (c.rate(p) * (straight*f.cos + p*f.sin))
		if math.Abs(distance-a.along) < 1e-11*distance {
			return a
		}
		p += by
	}
	panic("the path of the test does not settle")
}

// aimed is the curve of a launch at an angle over the line of sight.
func (f *flown) aimed(angle float64) curve {
	sin, cos := math.Sincos(angle + math.Atan2(f.sin, f.cos))
	return f.launched(sin/cos, f.v*cos)
}

// angle finds the launch angle over the line of sight that hits at a distance,
// by the secant rule.
func (f *flown) angle(distance float64) float64 {
	miss := func(angle float64) float64 {
		c := f.aimed(angle)
		return f.follow(&c, distance, 1).above
	}
	return secant(miss, f.eye/distance, -1/distance)
}

// secant finds where miss is zero, from a first guess and how far to go from it
// for each unit of miss.
func secant(miss func(float64) float64, x0, by float64) float64 {
	m0 := miss(x0)
	x1 := x0 + by*m0
	for range 60 {
		m1 := miss(x1)
		if math.Abs(m1) < 1e-11 || x1 == x0 {
			return x1
		}
		x0, m0, x1 = x1, m1, x1-m1*(x1-x0)/(m1-m0)
	}
	panic("the secant rule of the test does not settle")
}

// crosses returns how far along the line of sight the curve meets a height over
// it between two slopes of the path, on either side of which it must lie.
func (f *flown) crosses(c *curve, height, from, to float64) (float64, bool) {
	low, high := f.place(c, from, 1).above-height, f.place(c, to, 1).above-height
	if low > 0 == (high > 0) {
		return 0, false
	}
	p := from + (to-from)*low/(low-high)
	for range 60 {
		a := f.place(c, p, 1)
		miss := a.above - height
		if math.Abs(miss) < 1e-11 {
			return a.along, true
		}
		if miss > 0 == (low > 0) {
			from = p
		} else {
			to = p
		}
		next := p - miss/(c.rate(p)*(p*f.cos-f.sin))
		if (next-from)*(next-to) > 0 || math.IsNaN(next) {
			next = (from + to) / 2
		}
		p = next
	}
	panic("the crossing of the test does not settle")
}
