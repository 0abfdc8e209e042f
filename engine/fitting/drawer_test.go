package fitting_test

import (
	"fmt"
	"math"
	"math/rand/v2"

	"foreshaft/engine/bow"
	"foreshaft/engine/fitting"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// chance makes drawers, bows and answers (all invented) from a seed.
type chance struct{ *rand.Rand }

func seeded(n uint64) chance { return chance{rand.New(rand.NewPCG(20261127, n))} }

func (r chance) between(low, high float64) float64 { return low + (high-low)*r.Float64() }
func (r chance) once(in int) bool                  { return r.IntN(in) == 0 }

// tenth draws a number with one decimal.
func (r chance) tenth(low, high float64) float64 { return math.Round(10*r.between(low, high)) / 10 }

func one[T any](r chance, list ...T) T { return list[r.IntN(len(list))] }

func gr(x float64) unit.Mass                    { return unit.Mass(x) * unit.Grain }
func in(x float64) unit.Length                  { return unit.Length(x) * unit.Inch }
func lb(x float64) unit.Force                   { return unit.Force(x) * unit.PoundForce }
func fps(x float64) unit.Speed                  { return unit.Speed(x) * unit.FootPerSecond }
func some(x float64) unit.Optional[unit.Length] { return unit.Some(in(x)) }

// trade draws a price and a stock: some parts say neither, of some there are none.
func (r chance) trade(price float64) part.Trade {
	var t part.Trade
	if !r.once(12) {
		t.Price = unit.Some(math.Round(100*price*r.between(0.8, 1.3)) / 100)
	}
	switch r.IntN(6) {
	case 0:
	case 1:
		t.Stock = unit.Some(0.)
	default:
		t.Stock = unit.Some(float64(1 + r.IntN(100)))
	}
	return t
}

// spines of a shop that serves everybody from a child to a heavy bow, with what such
// tubes weigh by the inch (common practice, rounded).
var spines = []struct{ spine, perInch float64 }{
	{0.200, 11.2}, {0.250, 9.9}, {0.300, 8.9}, {0.340, 8.4}, {0.400, 7.6}, {0.500, 6.9}, {0.600, 6.3}, {0.700, 5.9}, {0.850, 5.5}, {1.000, 5.2}, {1.200, 4.9},
}

// shop draws the drawer of a shop: two bores, shafts from .200 to 1.200, every other
// spine in each bore.
func (r chance) shop() []part.Part {
	var out []part.Part
	add := func(p part.Part) {
		p.ID = fmt.Sprint(len(out))
		if !r.once(3) && p.Kind != part.KindShaft {
			p.Measured = unit.Some(part.Measured{Weight: p.StatedWeight() * unit.Mass(r.between(0.98, 1.02)), WeightU: gr(0.2), Count: 12})
		}
		p.Retired = r.once(25)
		out = append(out, p)
	}
	for i, bore := range []float64{0.204, 0.244} {
		for k, s := range spines {
			if k%2 != i {
				continue
			}
			outer := bore + 0.045 + 0.002*s.perInch/s.spine/10
			shaft := part.Shaft{
				Name: fmt.Sprintf("%.0f mm %.3f", bore*25.4, s.spine), WeightPerInch: unit.Some(unit.LinearDensity(s.perInch*r.between(0.93, 1.07)) * unit.GrainPerInch),
				Spine: some(s.spine), OuterDiameter: some(outer), InnerDiameter: some(bore), StockLength: some(r.tenth(31.5, 34)), Trade: r.trade(9),
			}
			if r.once(20) {
				shaft.Spine.Given = false
			}
			if r.once(20) { // one that was cut and weighed
				shaft.TubeWeight = unit.Some(gr(240))
			}
			add(part.Part{Kind: part.KindShaft, Shaft: unit.Some(shaft)})
		}
		for _, lighted := range []bool{false, true} {
			nock := part.Nock{Name: fmt.Sprintf("nock %.3f", bore), Weight: gr(r.tenth(7, 12)), FitsInner: some(bore), Lighted: lighted, Throat: some(0.5), Trade: r.trade(1.5)}
			if lighted {
				nock.Weight += gr(12)
			}
			nock.Stock = unit.Optional[float64]{}
			add(part.Part{Kind: part.KindNock, Nock: unit.Some(nock)})
		}
		for _, weight := range []float64{12, 20, 50, 75, 100} {
			add(part.Part{Kind: part.KindInsert, Insert: unit.Some(part.Insert{Name: fmt.Sprintf("insert %.0f", weight), Weight: gr(weight), Depth: in(0.7 + weight/100), FitsInner: some(bore), Thread: "8-32", Trade: r.trade(2)})})
		}
		add(part.Part{Kind: part.KindCollar, Collar: unit.Some(part.Collar{Name: "collar", Weight: gr(r.tenth(8, 20)), Length: in(0.4), Trade: r.trade(2)})})
	}
	for _, weight := range []float64{60, 85, 100, 125, 150, 200} {
		add(part.Part{Kind: part.KindHead, Head: unit.Some(part.Head{Name: "point", Weight: gr(weight), Length: some(0.5 + weight/250), Shape: part.Ogive, Thread: "8-32", Trade: r.trade(1.2)})})
	}
	for _, weight := range []float64{100, 125, 150, 200} {
		h := part.Head{Name: "broadhead", Weight: gr(weight), Length: some(1 + weight/150), Shape: part.Cone, Blades: 2 + r.IntN(2), BladeLength: some(r.between(0.9, 1.6)), CutWidth: some(r.between(1, 1.3)), Thread: "8-32", Trade: r.trade(15)}
		if r.once(8) {
			h.CutWidth.Given = false
		}
		add(part.Part{Kind: part.KindHead, Head: unit.Some(h)})
	}
	for _, weight := range []float64{85, 100, 125} {
		add(part.Part{Kind: part.KindHead, Head: unit.Some(part.Head{Name: "opens", Weight: gr(weight), Length: some(1.8), Shape: part.Cone, Blades: 2, BladeLength: some(1.3), CutWidth: some(1.75), Expandable: true, Thread: "8-32", Trade: r.trade(15)})})
	}
	for _, length := range []float64{1.6, 2.3, 3} {
		v := part.Vanes{Name: fmt.Sprint(length), Count: 3 + r.IntN(2), Weight: gr(math.Round(30*length) / 10), Length: in(length), Height: some(0.3 + length/12), Rear: in(1), Thickness: some(0.025), Trade: r.trade(0.4)}
		add(part.Part{Kind: part.KindVanes, Vanes: unit.Some(v)})
	}
	add(part.Part{Kind: part.KindWrap, Wrap: unit.Some(part.Wrap{Weight: gr(6), Length: in(4)})})
	return out
}

// bow draws a bow from 20 to 80 lb and 23 to 31 in, with readings, a rating or
// neither. The speeds are those of a bow that gives a good part of its work to the
// arrow.
func (r chance) bow() bow.Bow {
	b := bow.Bow{
		Name: "bow", Kind: one(r, bow.Compound, bow.Compound, bow.Recurve, bow.Longbow, ""), Release: one(r, "", "", bow.Aid, bow.Fingers),
		Peak: unit.Some(lb(r.tenth(20, 80))), Draw: unit.Some(in(r.tenth(23, 31))),
	}
	share := map[bow.Kind]float64{bow.Compound: 0.72, bow.Recurve: 0.45, bow.Longbow: 0.40}[b.KindOrDefault()]
	stroke := b.Draw.Value - b.BraceOrDefault() - bow.PivotToDraw
	energy := unit.Energy(share * float64(b.Peak.Value) * float64(stroke))
	virtual, _ := b.Prior()
	speed := func(m unit.Mass) unit.Speed {
		return bow.Launch(energy, virtual, m) * unit.Speed(r.between(0.995, 1.005))
	}
	perPound := func(low, high float64) unit.Mass {
		return gr(math.Round(r.between(low, high) * b.Peak.Value.In(unit.PoundForce)))
	}
	switch r.IntN(4) {
	case 0:
		b.Rating = unit.Some(bow.Rating{Arrow: perPound(5, 6), Speed: speed(perPound(5, 6)) / 0.97})
	case 1:
	default:
		for range 1 + r.IntN(3) {
			m := perPound(6, 11)
			b.Readings = append(b.Readings, bow.Reading{Arrow: m, Speed: speed(m), SD: unit.Some(fps(1))})
		}
	}
	if r.once(3) {
		b.RestBehindPivot = unit.Some(in(r.tenth(-1, 2)))
	}
	if r.once(2) {
		b.MinimumArrow = unit.Some(perPound(4.5, 5.5))
	}
	if r.once(2) {
		b.MaximumPeak = unit.Some(b.Peak.Value + lb(float64(r.IntN(10))))
	}
	if r.once(4) {
		b.DrawU = unit.Some(in(r.tenth(0, 0.4)))
	}
	return b
}

// job draws a job around a bow, some with a rules sheet.
func (r chance) job() *job.Job {
	j := job.New()
	j.Bow = unit.Some(r.bow())
	if r.once(2) {
		j.Sight = unit.Some(job.Sight{PeepAboveNock: some(4.5), PeepToPin: some(34)})
	}
	if r.once(3) {
		j.Distances = []unit.Length{18 * unit.Metre, unit.Length(30+r.IntN(40)) * unit.Yard}
	}
	if r.once(4) {
		l := job.Limits{}
		switch r.IntN(5) {
		case 0:
			l.MaxSpeed = fps(r.between(180, 300))
		case 1:
			l.MinWeight = gr(r.between(250, 450))
		case 2:
			l.MinWeightPerDraw = unit.MassPerForce(r.between(5, 8)) * unit.GrainPerPound
		case 3:
			l.MaxDiameter = unit.Length(r.between(6, 9.3)) * unit.Millimetre
		case 4:
			l.MinPeak, l.MinCutWidth = lb(r.between(30, 50)), in(r.between(0.9, 1.2))
		}
		j.Limits = unit.Some(l)
	}
	return j
}

// answers draws what may be said at the counter.
func (r chance) answers() fitting.Answers {
	a := fitting.Answers{
		Purpose: one(r, fitting.DefaultPurposes()...), Favour: one(r, "", fitting.Forgiving, fitting.Even, fitting.Weight),
		Head: one(r, "", fitting.FieldPoint, fitting.FixedBroadhead, fitting.Expandable), Lighted: r.once(4), Growing: r.once(5), InStock: !r.once(3),
	}
	if r.once(4) {
		a.Budget = math.Round(r.between(150, 500))
	}
	return a
}
