package flight

import (
	"fmt"
	"math"

	"foreshaft/engine/unit"
)

// Scene is how a shot lies. The line of sight is tilted by Slope, uphill
// positive, and passes Eye above the throat of the nock. Distances run along it
// from the throat, heights across it.
type Scene struct {
	Slope     unit.Angle
	Eye       unit.Length
	Crosswind unit.Speed
	Radius    unit.Length // of the target
}

// Shot is one arrow in a scene. It keeps room to work in: another arrow can be
// shot with Set, and one goroutine at a time may use it.
type Shot struct {
	Arrow
	Scene
	sin, cos float64 // of the slope
	nodes    []node  // room for a recorded path
}

// New returns a shot.
func New(a Arrow, s Scene) *Shot {
	sin, cos := math.Sincos(float64(s.Slope))
	return &Shot{Arrow: a, Scene: s, sin: sin, cos: cos}
}

// Set puts another arrow, and an eye at another height, into the scene.
func (s *Shot) Set(a Arrow, eye unit.Length) { s.Arrow, s.Eye = a, eye }

// along and above return where a node is in the frame of the line of sight: the
// distance along it from the throat, and the height over it.
func (s *Shot) along(n *node) float64 { return n.x*s.cos + n.y*s.sin }
func (s *Shot) above(n *node) float64 { return n.y*s.cos - n.x*s.sin - float64(s.Eye) }

// tangent turns the tangent of a launch angle above the line of sight into that
// of the angle above the horizontal, and sight the other way.
func (s *Shot) tangent(sight float64) float64 { return (sight*s.cos + s.sin) / (s.cos - sight*s.sin) }
func (s *Shot) sight(tangent float64) float64 {
	return (tangent*s.cos - s.sin) / (s.cos + tangent*s.sin)
}

// ReachError says that no launch angle brings the arrow to a distance.
type ReachError struct {
	Distance unit.Length
	Near     bool // it is too near for the line of sight and the path to meet
}

// Error says it in words without the distance, which the reader knows.
func (e *ReachError) Error() string {
	if e.Near {
		return "is too near: the line of sight and the path cannot meet there"
	}
	return "is out of reach: no launch angle brings this arrow there"
}

// Hit is an arrow that meets the line of sight at a distance in still air.
type Hit struct {
	Tangent float64     // of the launch angle above the line of sight
	Time    float64     // s
	Speed   unit.Speed  // there
	Drop    unit.Length // vertical, from the arrow up to the launch line
}

// Angle returns the launch angle above the line of sight.
func (h *Hit) Angle() unit.Angle { return unit.Angle(math.Atan(h.Tangent)) }

// To finds the lower of the two launch angles that hit at a distance. The error
// is a *ReachError.
func (s *Shot) To(distance unit.Length) (Hit, error) {
	d := float64(distance)
	x, y := d*s.cos-float64(s.Eye)*s.sin, d*s.sin+float64(s.Eye)*s.cos
	if d <= 0 || x <= 0 {
		return Hit{}, &ReachError{distance, true}
	}
	if s.hopeless(x, y) {
		return Hit{}, &ReachError{distance, false}
	}
	tangent, at, ok := s.newton(x, y)
	if !ok {
		if tangent, at, ok = s.bracket(x, y); !ok {
			return Hit{}, &ReachError{distance, false}
		}
	}
	return Hit{
		Tangent: s.sight(tangent), Time: at.t, Speed: unit.Speed(at.speed()),
		Drop: unit.Length(tangent*at.x - at.y),
	}, nil
}

// settled is how near to the line of sight a solved path must come, in metres
// for each metre of way.
const settled = 1e-12

// newton solves for the launch tangent from the flat-fire formula (McCoy,
// equation 5.28) on. How far the path falls grows as 1 + tangent², which gives a
// slope that is nearly exact.
func (s *Shot) newton(x, y float64) (tangent float64, at node, ok bool) {
	tangent = y / x
	v := float64(s.Speed)
	for range 2 {
		steep := 1 + tangent*tangent
		fall := unit.StandardGravity * steep * x * x / (2 * v * v) * swell(2*s.Decay*x*math.Sqrt(steep))
		tangent = (y + fall) / x
	}
	for range 12 {
		at, ok = s.fly(tangent, x, 0)
		if !ok {
			return 0, at, false
		}
		miss, fall := at.y-y, tangent*x-at.y
		slope := x - fall*2*tangent/(1+tangent*tangent)
		if slope <= 0.05*x { // near the farthest that can be reached
			return 0, at, false
		}
		if math.Abs(miss) <= settled*(1+x) {
			return tangent, at, true
		}
		tangent -= miss / slope
	}
	return 0, at, false
}

// swell returns 2 (eᶻ − 1 − z)/z², how much more a braked arrow falls than one
// in a vacuum.
func swell(z float64) float64 {
	if z < 1e-3 {
		return 1 + z/3
	}
	return 2 * (math.Expm1(z) - z) / (z * z)
}

// hopeless reports whether a point cannot be reached however the arrow is
// launched: not even if it flew along a straight line and lost no more speed than
// on the level. It then falls by c (1 + tangent²), and X tangent less that is
// X²/4c − c at best.
func (s *Shot) hopeless(x, y float64) bool {
	c := unit.StandardGravity * x * x / (2 * float64(s.Speed) * float64(s.Speed)) * swell(2*s.Decay*x)
	return x*x/(4*c)-c < y
}

// shortOf is more than any height, for an arrow that does not get there at all.
const shortOf = 1e6

// bracket looks for the lower launch angle where Newton's steps lead nowhere:
// lobbed shots near the farthest that can be reached. From the straight line up,
// the height at x grows to a greatest and falls again.
func (s *Shot) bracket(x, y float64) (tangent float64, at node, ok bool) {
	miss := func(angle float64) float64 {
		n, ok := s.fly(math.Tan(angle), x, 0)
		if !ok { // the farther it gets the better
			return n.x - x - shortOf
		}
		return n.y - y
	}
	const golden = 0.6180339887498949
	below, above := math.Atan2(y, x), math.Pi/2-0.02
	// The greatest height, or any above the target, by golden section.
	low, high := below, above
	a, b := high-golden*(high-low), low+golden*(high-low)
	missA, missB := miss(a), miss(b)
	for range 40 {
		if missA >= 0 || missB >= 0 {
			break
		}
		if missA < missB {
			low, a, missA = a, b, missB
			b = low + golden*(high-low)
			missB = miss(b)
		} else {
			high, b, missB = b, a, missA
			a = high - golden*(high-low)
			missA = miss(a)
		}
	}
	switch {
	case missA >= 0:
		above = a
	case missB >= 0:
		above = b
	default:
		return 0, at, false
	}
	for range 60 {
		middle := (below + above) / 2
		if middle == below || middle == above {
			break
		}
		if miss(middle) < 0 {
			below = middle
		} else {
			above = middle
		}
	}
	tangent = math.Tan(above)
	at, ok = s.fly(tangent, x, 0)
	// An arrow that the air has nearly stopped comes up from nowhere.
	return tangent, at, ok && math.Abs(at.y-y) <= 1e-6*(1+x)
}

// Drift returns how far the crosswind carries an arrow sideways on its way to a
// distance when it is launched at that tangent above the line of sight. It is
// false when the wind keeps it from getting there.
func (s *Shot) Drift(tangent float64, distance unit.Length) (unit.Length, bool) {
	wind := float64(s.Crosswind)
	n, ok := s.upTo(tangent, distance, wind)
	return unit.Length(wind * (n.t - n.x/s.leave(s.tangent(tangent), wind).u)), ok
}

// Height returns how high over the line of sight an arrow passes at a distance
// when it is launched at that tangent above it.
func (s *Shot) Height(tangent float64, distance unit.Length) (unit.Length, bool) {
	n, ok := s.upTo(tangent, distance, 0)
	return unit.Length(s.above(&n)), ok
}

// upTo follows a path to the first place where it is a distance along the line of
// sight. Uphill that grows ever more slowly with X and downhill ever faster, so
// Newton's steps, no longer than a stride, cannot miss it.
func (s *Shot) upTo(tangent float64, distance unit.Length, wind float64) (node, bool) {
	d, n := float64(distance), s.leave(s.tangent(tangent), wind)
	for range mostSteps {
		gap := d - s.along(&n)
		if math.Abs(gap) <= settled*(1+d) {
			return n, true
		}
		rate := s.cos + n.p*s.sin
		if rate <= 0.01 { // it falls back along the line of sight
			return n, false
		}
		dx := gap / rate
		if longest := s.stride(&n); math.Abs(dx) > longest {
			dx = math.Copysign(longest, dx)
		}
		if n = s.step(&n, dx); !(n.u >= leastSpeed) {
			return n, false
		}
	}
	return n, false
}

// String names a scene in tests and errors.
func (s Scene) String() string {
	return fmt.Sprintf("slope %.3g°, eye %.4g m, wind %.3g m/s, radius %.3g m", s.Slope.In(unit.Degree), float64(s.Eye), float64(s.Crosswind), float64(s.Radius))
}
