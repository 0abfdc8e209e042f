// Package stiffness answers how stiff an arrow is against what its bow does to
// it: how often a second it bends to and fro, and how hard it could be pushed
// before it folds like a column.
//
// The shaft is a uniform slender beam (Euler–Bernoulli), solved by finite
// elements with cubic Hermite polynomials, consistent mass and consistent
// geometric stiffness. That the bending matched to the time on the string and no
// buckling at launch are the two criteria of a good match of arrow and bow is
// Kooi's (History of Technology 20 (1998) 125).
package stiffness

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// What static spine is measured with: the deflection of the middle of a shaft
// under that load between two supports that far apart (ASTM F2031).
const (
	SpineLoad = 1.94 * unit.PoundForce
	SpineSpan = 28 * unit.Inch
)

// Rigidity returns the bending stiffness EI, N·m², of a shaft of that static
// spine: F l³/(48 δ).
func Rigidity(spine unit.Length) float64 {
	const l = float64(SpineSpan)
	return float64(SpineLoad) * l * l * l / (48 * float64(spine))
}

// elements is how many a whole arrow is cut into: enough for an error of less
// than 0.1 %, which the tests show.
const elements = 6

// leastOverhang is the least share of the arrow that counts as standing out ahead
// of the rest.
const leastOverhang = 1e-4

// Column is an arrow at the moment it is pushed hardest: held between the string
// at the throat and the rest, its front overhanging, every part of the shaft
// pressed by the inertia of what lies ahead of it.
type Column struct {
	// Critical is the acceleration, m/s², at which it would buckle.
	Critical float64
	rest     float64 // where it lies on the rest, m from the throat
	curve    curve
	// reaction is what the rest pushes back with as the curve bends, per unit of
	// the curve.
	reaction float64
}

// shaftRigidity returns EI, and an error that says what it needs.
func shaftRigidity(b *arrow.Build) (float64, error) {
	if !b.Shaft.Spine.Given {
		return 0, figure.Needs("the shaft's static spine")
	}
	return Rigidity(b.Shaft.Spine.Value), nil
}

// NewColumn solves the column of a build with its rest that far from the throat;
// an arrow that ends before the rest is held at its cut end. The error says which
// input is missing.
//
// The beam runs from the throat to the cut end, so that the nock counts as tube.
// Pinned at the throat and at the rest it gives way at the least λ of
// K − λ G, K the stiffness of bending and G that of the thrust P(x), which is the
// mass ahead of x for each unit of acceleration. Mass beyond the cut end presses
// there.
func NewColumn(b *arrow.Build, rest unit.Length) (*Column, error) {
	return newColumn(b, rest, elements)
}

func newColumn(b *arrow.Build, rest unit.Length, n int) (*Column, error) {
	rigidity, err := shaftRigidity(b)
	if err != nil {
		return nil, err
	}
	if b.Tube() <= 0 {
		return nil, figure.Needs("a length greater than the nock's throat offset")
	}
	if rest <= 0 {
		return nil, figure.Needs("a rest ahead of the string: the draw length is too short, or the rest too far behind the pivot")
	}
	beam, at := pinned(float64(b.Length), float64(rest), n)
	beam.rigidity = rigidity
	support := beam.held[1]
	var space [16]arrow.Element
	for _, e := range b.AppendElements(space[:0]) {
		beam.masses = append(beam.masses, spreadOf(e))
	}
	thrust, stiff := beam.thrust(), beam.stiffness()
	mu, phi, ok := beam.ratio(thrust, stiff, 0)
	if !ok {
		return nil, figure.Needs("a piece that weighs something ahead of the nock")
	}
	c := &Column{Critical: 1 / mu, rest: at, curve: newCurve(&beam, phi)}
	for i, x := range phi {
		c.reaction += (stiff.At(support, i) - c.Critical*thrust.At(support, i)) * x
	}
	return c, nil
}

// pinned cuts a column into n elements between the throat, where it is held, its
// rest, where it is held too, and its cut end, and returns where the rest is: at the
// cut end when that comes first, or all but.
func pinned(length, rest float64, n int) (beam, float64) {
	front := 0
	if rest < length*(1-leastOverhang) {
		front = min(max(int(math.Round(float64(n)*(length-rest)/length)), 1), n-1)
	} else {
		rest = length
	}
	out := beam{nodes: divide(0, rest, n-front)}
	if front > 0 {
		out.nodes = append(out.nodes, divide(rest, length, front)[1:]...)
	}
	out.held = []int{0, 2 * (n - front)}
	return out, rest
}

// spreadOf returns an element's mass as a beam carries it.
func spreadOf(e arrow.Element) spread {
	return spread{float64(e.Mass), float64(e.Centre - e.Span/2), float64(e.Centre + e.Span/2)}
}

// Near returns the critical acceleration of a build that hardly differs, to the
// first order: the curve is kept, since a small change of it changes the energies
// it balances by the square only (Rayleigh). What the rest does when it moves is
// its reaction times how far the curve then misses it.
func (c *Column) Near(b *arrow.Build, rest unit.Length) float64 {
	end := float64(b.Length)
	at := min(float64(rest), end)
	energy := Rigidity(b.Shaft.Spine.Value)*c.curve.energy - 2*c.reaction*c.curve.slope(c.rest)*(at-c.rest)
	var space [16]arrow.Element
	work := 0.0
	for _, e := range b.AppendElements(space[:0]) {
		work += float64(e.Mass) * c.curve.steepnessOver(float64(e.Centre-e.Span/2), float64(e.Centre+e.Span/2), end)
	}
	return energy / work
}

// Rest returns where the arrow lies on the rest, from the throat: at the cut end
// when it is too short for the rest.
func (c *Column) Rest() unit.Length { return unit.Length(c.rest) }

// Bent returns how far the arrow bends out at a place as it gives way, as a share
// of the most between throat and rest. It is positive there.
func (c *Column) Bent(x unit.Length) float64 {
	most := 0.0
	for i := range 101 {
		if w := c.curve.deflection(c.rest * float64(i) / 100); math.Abs(w) > math.Abs(most) {
			most = w
		}
	}
	return c.curve.deflection(float64(x)) / most
}

// Ahead returns the mass that the shaft at a place has to push: what lies ahead
// of it.
func Ahead(b *arrow.Build, x unit.Length) unit.Mass {
	total := unit.Mass(0)
	for _, e := range b.Elements() {
		switch from, to := e.Centre-e.Span/2, e.Centre+e.Span/2; {
		case from >= x:
			total += e.Mass
		case to > x:
			total += e.Mass * unit.Mass((to-x)/e.Span)
		}
	}
	return total
}

// Bending is an arrow left to itself as it bends to and fro, free at both ends.
type Bending struct {
	Frequency float64 // Hz
	curve     curve
}

// NewBending solves the first bending of a build. The beam is the tube alone, and
// every other piece a lump at its centre, at the end of the tube where that lies
// beyond it. The error says which input is missing.
func NewBending(b *arrow.Build) (*Bending, error) { return newBending(b, elements) }

func newBending(b *arrow.Build, n int) (*Bending, error) {
	rigidity, err := shaftRigidity(b)
	if err != nil {
		return nil, err
	}
	if b.Tube() <= 0 {
		return nil, figure.Needs("a length greater than the nock's throat offset")
	}
	if b.ShaftWeight() <= 0 {
		return nil, figure.Needs("a shaft that weighs something")
	}
	beam := beam{rigidity: rigidity, nodes: divide(float64(b.Nock.ThroatOffset()), float64(b.Length), n)}
	var space [16]arrow.Element
	for _, e := range b.AppendElements(space[:0]) {
		beam.masses = append(beam.masses, lump(b, e))
	}
	squared, phi, ok := beam.vibrate(2)
	if !ok {
		return nil, figure.Needs("a shaft that weighs something")
	}
	return &Bending{hertz(squared), newCurve(&beam, phi)}, nil
}

// lump returns an element as the bending sees it.
func lump(b *arrow.Build, e arrow.Element) spread {
	from, to := float64(b.Nock.ThroatOffset()), float64(b.Length)
	if e.Kind == part.KindShaft {
		return spread{float64(e.Mass), from, to}
	}
	at := max(min(float64(e.Centre), to), from)
	return spread{float64(e.Mass), at, at}
}

// Near returns the frequency of a build that hardly differs, to the first order,
// as Column.Near does.
func (f *Bending) Near(b *arrow.Build) float64 {
	var space [16]arrow.Element
	work := 0.0
	for _, e := range b.AppendElements(space[:0]) {
		if m := lump(b, e); m.to > m.from {
			work += m.mass / (m.to - m.from) * f.curve.squares(m.from, m.to)
		} else {
			work += m.mass * square(f.curve.deflection(m.from))
		}
	}
	return hertz(Rigidity(b.Shaft.Spine.Value) * f.curve.energy / work)
}

// Bent returns how far the arrow bends out at a place, as a share of the most it
// does anywhere on its tube.
func (f *Bending) Bent(x unit.Length) float64 {
	first, last := f.curve.nodes[0], f.curve.nodes[len(f.curve.nodes)-1]
	most := 0.0
	for i := range 101 {
		most = max(most, math.Abs(f.curve.deflection(first+(last-first)*float64(i)/100)))
	}
	if f.curve.deflection((first+last)/2) > 0 {
		most = -most
	}
	return f.curve.deflection(float64(x)) / most
}
