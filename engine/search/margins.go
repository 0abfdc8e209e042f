package search

import (
	"math"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/part"
	"foreshaft/engine/stiffness"
	"foreshaft/engine/unit"
)

// margins encloses the launch margins of all candidates of a table. Every piece adds
// numbers of its own, for each group of fronts: ρ and a trace, and how far it turns
// the bent shape away from that of a reference arrow of the group. The greatest
// eigenvalue of the whole lies between the sum of ρ and that plus e²/(2ρ − trace),
// e the sum of how far.
type margins struct {
	family  *family
	virtual float64 // kg
	bins    []bin   // of the groups
	fronts  []bound // in the order of the fronts
}

// bin is a group of fronts near one reference arrow.
type bin struct {
	views *views
	tail  []load  // tube and nock of the reference
	vanes []bound // in the order of the vanes
	// What the fronts add at least and at most.
	least, most  bound
	light, heavy float64
}

// bound is what some pieces of a candidate add.
type bound struct{ rho, trace, off float64 }

func (b bound) plus(o bound) bound { return bound{b.rho + o.rho, b.trace + o.trace, b.off + o.off} }

// greatest returns the least and the greatest value that the greatest eigenvalue of
// all of a candidate's pieces can have.
func (b bound) greatest() (low, high float64) {
	if gap := 2*b.rho - b.trace; gap > 0 {
		return b.rho, b.rho + b.off*b.off/gap
	}
	return b.rho, math.Inf(1)
}

// stand encloses the margins of the candidates of one shaft.
type stand struct {
	*margins
	// perMass is EI over the peak draw weight: margin = perMass (m + K)/μ.
	perMass float64
	tubes   []load    // by nock
	tails   [][]bound // tube and nock, by group and nock
	whole   stiffness.Load
}

// rear returns what the rear of a candidate adds in a group.
func (s *stand) rear(group int, c chosen) bound {
	return s.tails[group][c.nock].plus(s.bins[group].vanes[c.vanes])
}

// at returns the least and the greatest margin that a candidate of those halves can
// have.
func (s *stand) at(rear, front bound, mass float64) (low, high float64) {
	least, most := rear.plus(front).greatest()
	push := s.perMass * (mass + s.virtual)
	return push / most, push / least
}

// over returns the least and the greatest margin of all candidates of a group with a
// rear of that mass.
func (s *stand) over(group int, rear bound, mass float64) (low, high float64) {
	b := &s.bins[group]
	high = s.perMass * (mass + b.heavy + s.virtual) / (rear.rho + b.least.rho)
	gap := 2*(rear.rho+b.least.rho) - rear.trace - b.most.trace
	if gap <= 0 {
		return 0, high
	}
	off := rear.off + b.most.off
	return s.perMass * (mass + b.light + s.virtual) / (rear.rho + b.most.rho + off*off/gap), high
}

// closer is at for one candidate by its own bent shape, a few steps of power
// iteration from that of the reference.
func (s *stand) closer(group int, c chosen, mass float64) (low, high float64) {
	f := s.family
	whole := s.whole
	clear(whole)
	for _, l := range [...]load{s.tubes[c.nock], f.nocks[c.nock], f.vanes[c.vanes], f.inserts[c.insert], f.collars[c.collar], f.heads[c.insert][c.head]} {
		f.add(whole, l)
	}
	y := slices.Clone(s.bins[group].views.y)
	across := make([]float64, len(y))
	b := bound{trace: f.columns.Trace(whole)}
	for range 6 {
		b.rho = f.columns.Along(whole, y, across)
		b.off = norm(across)
		length := math.Hypot(b.rho, b.off) // of what y is turned into
		for i := range y {
			y[i] = (b.rho*y[i] + across[i]) / length
		}
	}
	least, most := b.greatest()
	push := s.perMass * (mass + s.virtual)
	return push / most, push / least
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
	tubes            []load  // by nock, for one kilogram
	tails            int     // how many loads, the first ones, are nocks and tubes
	doubt            float64 // about a bound, relatively
}

// Package stiffness takes a rest that is all but at the cut end for one at it and
// corrects the margin by its reaction, of which bounds know nothing. So much of the
// length behind the cut end or less they are doubted the more.
const (
	nearCut      = 1e-3
	nearCutDoubt = 1e-2
)

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
	f := &family{length: l, columns: columns, doubt: marginDoubt}
	if rest < l && rest > l*(1-nearCut) {
		f.doubt = nearCutDoubt
	}
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
	f.tails = len(f.loads)
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

// add adds a load to others.
func (f *family) add(sum stiffness.Load, l load) {
	for k, v := range f.loads[l.of] {
		sum[k] += l.times * v
	}
}

// views is a family's loads as they look along a direction y: the parts along it and
// across it, of those that were looked at.
type views struct {
	family *family
	y      []float64
	along  []float64
	across [][]float64
}

// views looks at what makes up tails; the rest is looked at when it is wanted.
func (f *family) views(y []float64) *views {
	v := &views{f, y, make([]float64, len(f.loads)), make([][]float64, len(f.loads))}
	for i := range f.tails {
		v.look(i)
	}
	return v
}

func (v *views) look(i int) (along float64, across []float64) {
	if v.across[i] == nil {
		v.across[i] = make([]float64, len(v.y))
		v.along[i] = v.family.columns.Along(v.family.loads[i], v.y, v.across[i])
	}
	return v.along[i], v.across[i]
}

// forget leaves what makes up tails, which shafts share.
func (v *views) forget() {
	v.along, v.across = slices.Clone(v.along[:v.family.tails]), slices.Clone(v.across[:v.family.tails])
}

// bound adds up loads; off is how far their part across is from that of others,
// which are their share of the reference.
func (v *views) bound(list, reference []load) bound {
	var out bound
	var space [32]float64
	off := space[:len(v.y)]
	for _, l := range list {
		along, across := v.look(l.of)
		out.rho += l.times * along
		out.trace += l.times * v.family.traces[l.of]
		for i, x := range across {
			off[i] += l.times * x
		}
	}
	for _, l := range reference {
		_, across := v.look(l.of)
		for i, x := range across {
			off[i] -= l.times * x
		}
	}
	out.off = norm(off)
	return out
}

func norm(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum)
}

// enclose prepares the margins of a table's groups; nothing where none can be had.
func (t *table) enclose() *margins {
	f := t.families[t.length]()
	_, virtual, ok := t.setting.Push()
	if f == nil || !ok {
		return nil
	}
	out := &margins{family: f, virtual: float64(virtual), fronts: make([]bound, len(t.fronts))}
	ahead := func(c *front) []load {
		return []load{f.inserts[c.insert], f.collars[c.collar], f.heads[c.insert][c.head]}
	}
	nock, n := len(t.nocks)/2, f.columns.Size()
	tail := []load{t.tubes(f, t.alike[len(t.alike)/2])[nock], f.nocks[nock]}
	vanes := []load{f.vanes[len(t.vanes)/2]}
	for _, g := range t.groups {
		before := ahead(&t.fronts[(g.from+g.to)/2])
		reference := make(stiffness.Load, n*n)
		for _, l := range slices.Concat(tail, vanes, before) {
			f.add(reference, l)
		}
		y := f.columns.Mode(reference)
		if y == nil {
			return nil
		}
		b := bin{views: f.views(y), tail: tail, light: g.light, heavy: g.heavy}
		for _, l := range f.vanes {
			b.vanes = append(b.vanes, b.views.bound([]load{l}, vanes))
		}
		b.least = bound{math.Inf(1), math.Inf(1), math.Inf(1)}
		for k := g.from; k < g.to; k++ {
			c := b.views.bound(ahead(&t.fronts[k]), before)
			out.fronts[k] = c
			b.least.rho, b.most.rho = min(b.least.rho, c.rho), max(b.most.rho, c.rho)
			b.most.trace, b.most.off = max(b.most.trace, c.trace), max(b.most.off, c.off)
		}
		b.views.forget()
		out.bins = append(out.bins, b)
	}
	return out
}

// tubes returns what a shaft presses, by nock.
func (s *space) tubes(f *family, shaft int) []load {
	out := make([]load, len(s.nocks))
	for i := range s.nocks {
		b := arrow.Build{Length: f.length, Shaft: s.shafts[shaft].piece, Nock: s.nocks[i].piece}
		out[i] = load{f.tubes[i].of, f.tubes[i].times * float64(b.ShaftWeight())}
	}
	return out
}

// stand prepares the margins of a shaft; nothing where none can be had.
func (t *table) stand(shaft int) *stand {
	spine := t.shafts[shaft].piece.Spine
	if t.margins == nil || !spine.Given {
		return nil
	}
	m := t.margins
	peak, _, _ := t.setting.Push()
	n := m.family.columns.Size()
	out := &stand{margins: m, whole: make(stiffness.Load, n*n), perMass: stiffness.Rigidity(spine.Value) / float64(peak), tubes: t.tubes(m.family, shaft)}
	for i := range m.bins {
		tails := make([]bound, len(t.nocks))
		for n := range t.nocks {
			tails[n] = m.bins[i].views.bound([]load{out.tubes[n], m.family.nocks[n]}, m.bins[i].tail)
		}
		out.tails = append(out.tails, tails)
	}
	return out
}
