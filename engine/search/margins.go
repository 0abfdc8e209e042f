package search

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/part"
	"foreshaft/engine/stiffness"
	"foreshaft/engine/unit"
)

// bins is how many groups the fronts are put in, by weight. Each has a reference
// arrow near which the bounds of margins are tight.
const bins = 16

// margins encloses the launch margins of all candidates of one length and one
// shaft. Every piece adds numbers of its own, for each bin: ρ and a trace, and how
// far it turns the bent shape away from the bin's reference. The greatest eigenvalue
// of the whole lies between the sum of ρ and that plus e²/(2ρ − trace).
type margins struct {
	// perMass is EI over the peak draw weight: margin = perMass (m + K)/μ.
	perMass, virtual float64
	bins             []bin
	fronts           []bound // in the order of the fronts
}

// bin is a group of fronts that follow each other, with its rears, by nock and vanes.
type bin struct {
	cut
	rears []bound
	// What the fronts of the bin add at least and at most.
	least, most  bound
	light, heavy float64
}

// bound is what one half of a candidate adds.
type bound struct{ rho, trace, off float64 }

// at returns the least and the greatest margin that a candidate of those halves can
// have.
func (m *margins) at(rear, front bound, mass float64) (low, high float64) {
	rho := rear.rho + front.rho
	push := m.perMass * (mass + m.virtual)
	gap := 2*rho - rear.trace - front.trace
	if gap <= 0 {
		return 0, push / rho
	}
	off := rear.off + front.off
	return push / (rho + off*off/gap), push / rho
}

// over returns the least and the greatest margin of all candidates of a bin with a
// rear of that mass.
func (m *margins) over(b *bin, rear bound, mass float64) (low, high float64) {
	high = m.perMass * (mass + b.heavy + m.virtual) / (rear.rho + b.least.rho)
	gap := 2*(rear.rho+b.least.rho) - rear.trace - b.most.trace
	if gap <= 0 {
		return 0, high
	}
	off := rear.off + b.most.off
	return m.perMass * (mass + b.light + m.virtual) / (rear.rho + b.most.rho + off*off/gap), high
}

// load is what a piece presses: so many times a load that may be another's too.
type load struct {
	of    int // place among the family's loads
	times float64
}

// family is the columns of one length with what the pieces of the drawer press in
// them. What lies at the rear depends on the nock's throat, too, and a head on the
// insert that it sits on.
type family struct {
	length           unit.Length
	columns          *stiffness.Family
	loads            []stiffness.Load
	traces           []float64
	inserts, collars []load
	heads            [][]load // by insert and head
	nocks, vanes     []load
	tubes            []load // by nock, for one kilogram
}

// nothing presses nothing.
var nothing = load{}

// newFamily prepares a length; nothing where no margin can be had.
func (s *space) newFamily(length int, x *judge) *family {
	rest, known := x.alone.Bow.Value.Rest()
	if !known {
		return nil
	}
	l := s.lengths[length].piece
	columns, ok := stiffness.NewFamily(l, rest)
	if !ok {
		return nil
	}
	f := &family{length: l, columns: columns}
	add := func(e arrow.Element) int {
		out := columns.Load(e)
		f.loads, f.traces = append(f.loads, out), append(f.traces, columns.Trace(out))
		return len(f.loads) - 1
	}
	tip := add(arrow.Element{Mass: 1, Centre: l})
	of := func(b *arrow.Build, kind part.Kind) load {
		for _, e := range b.Elements() {
			switch {
			case e.Kind != kind:
			case e.Centre-e.Span/2 >= l: // all of it presses on the cut end
				return load{tip, float64(e.Mass)}
			default:
				return load{add(e), 1}
			}
		}
		return nothing
	}
	trial := arrow.Build{Length: l}
	trial.Shaft.TubeWeight.Given, trial.Shaft.TubeWeight.Value = true, 1
	for _, c := range s.nocks {
		trial.Nock = c.piece
		f.nocks, f.tubes = append(f.nocks, of(&trial, part.KindNock)), append(f.tubes, of(&trial, part.KindShaft))
	}
	for _, c := range s.vanes {
		trial.Vanes = c.piece
		f.vanes = append(f.vanes, of(&trial, part.KindVanes))
	}
	for _, c := range s.collars {
		trial.Collar = c.piece
		f.collars = append(f.collars, of(&trial, part.KindCollar))
	}
	for _, c := range s.inserts {
		trial.Insert = c.piece
		f.inserts = append(f.inserts, of(&trial, part.KindInsert))
		heads := make([]load, len(s.heads))
		for i, h := range s.heads {
			trial.Head = h.piece
			heads[i] = of(&trial, part.KindHead)
		}
		f.heads = append(f.heads, heads)
	}
	return f
}

// views is a family's loads as they look along one direction: the parts along it and
// across it.
type views struct {
	family *family
	along  []float64
	across [][]float64
}

func (f *family) views(y []float64) *views {
	n := len(y)
	v := &views{f, make([]float64, len(f.loads)), make([][]float64, len(f.loads))}
	flat := make([]float64, n*len(f.loads))
	for i, l := range f.loads {
		v.across[i] = flat[i*n : i*n+n]
		v.along[i] = f.columns.Along(l, y, v.across[i])
	}
	return v
}

// bound adds up loads; off is how far their part across is from that of others,
// which add up to the reference's half.
func (v *views) bound(list, reference []load) bound {
	var out bound
	var off [32]float64
	for _, l := range list {
		out.rho += l.times * v.along[l.of]
		out.trace += l.times * v.family.traces[l.of]
		for i, x := range v.across[l.of] {
			off[i] += l.times * x
		}
	}
	for _, l := range reference {
		for i, x := range v.across[l.of] {
			off[i] -= l.times * x
		}
	}
	sum := 0.0
	for _, x := range off[:v.family.columns.Size()] {
		sum += x * x
	}
	out.off = math.Sqrt(sum)
	return out
}

// margins encloses the candidates of a shaft; fronts are those that go with it,
// the lightest first. It is nil where no margin can be had.
func (s *space) margins(f *family, shaft, count int, fronts []front, x *judge) *margins {
	p := s.shafts[shaft].piece
	push, virtual, ok := x.setting.Push()
	if f == nil || !ok || !p.Spine.Given || len(fronts) == 0 {
		return nil
	}
	out := &margins{perMass: stiffness.Rigidity(p.Spine.Value) / float64(push), virtual: float64(virtual), fronts: make([]bound, len(fronts))}
	tubes := make([]load, len(s.nocks))
	for i := range s.nocks {
		b := arrow.Build{Length: f.length, Shaft: p, Nock: s.nocks[i].piece}
		tubes[i] = load{f.tubes[i].of, f.tubes[i].times * float64(b.ShaftWeight())}
	}
	rear := func(nock, vanes int) []load { return []load{tubes[nock], f.nocks[nock], f.vanes[vanes]} }
	ahead := func(c *front) []load {
		return []load{f.inserts[c.insert], f.collars[c.collar], f.heads[c.insert][c.head]}
	}
	n := f.columns.Size()
	for _, c := range cuts(len(fronts), count) {
		b := bin{cut: c}
		behind, before := rear(len(s.nocks)/2, len(s.vanes)/2), ahead(&fronts[(b.from+b.to)/2])
		reference := make(stiffness.Load, n*n)
		for _, l := range append(behind[:3:3], before...) {
			for k, v := range f.loads[l.of] {
				reference[k] += l.times * v
			}
		}
		y := f.columns.Mode(reference)
		if y == nil {
			return nil
		}
		v := f.views(y)
		for nock := range s.nocks {
			for vanes := range s.vanes {
				b.rears = append(b.rears, v.bound(rear(nock, vanes), behind))
			}
		}
		b.least = bound{math.Inf(1), math.Inf(1), math.Inf(1)}
		b.light, b.heavy = fronts[b.from].mass, fronts[b.to-1].mass
		for k := b.from; k < b.to; k++ {
			c := v.bound(ahead(&fronts[k]), before)
			out.fronts[k] = c
			b.least.rho, b.most.rho = min(b.least.rho, c.rho), max(b.most.rho, c.rho)
			b.most.trace, b.most.off = max(b.most.trace, c.trace), max(b.most.off, c.off)
		}
		out.bins = append(out.bins, b)
	}
	return out
}
