package search

import (
	"math"
	"sync"
	"sync/atomic"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// table is what the candidates of one length have in common whose shafts take the
// same inserts and collars: all about their fronts but what the air does to them.
type table struct {
	*finder
	length      int32
	alike       []int // the shafts
	long        float64
	fronts      []front // that go with the shafts, the lightest first
	mass, first []float64
	deepest     unit.Length // how much tube the fronts take at most
	halves      []half
	groups      []group
	margins     *margins // nil where none is asked for, or can be had
	// geometric tells whether blades, or none, are a danger at this length.
	geometric [2]bool
}

// shared is a table that is made when it is first wanted and given up after its last
// shaft, so that only a few are there at a time.
type shared struct {
	make func() *table
	once sync.Once
	it   *table
	left atomic.Int64
}

func (s *shared) get() *table {
	s.once.Do(func() { s.it = s.make() })
	return s.it
}

func (s *shared) done() {
	if s.left.Add(-1) == 0 {
		s.it = nil
	}
}

func (f *finder) table(length int, alike []int) *table {
	t := &table{finder: f, length: int32(length), alike: alike, long: float64(f.lengths[length].piece)}
	t.choose()
	t.mass, t.first = make([]float64, len(t.fronts)), make([]float64, len(t.fronts))
	for k := range t.fronts {
		c := &t.fronts[k]
		t.mass[k], t.first[k] = c.mass, c.first
		t.deepest = max(t.deepest, t.inserts[c.insert].piece.Value.Depth, t.collars[c.collar].piece.Value.Length)
	}
	t.halves = halves(&f.question, t.long, t.mass, t.first)
	if !f.question.dangers {
		t.geometry()
	}
	t.grouped()
	if len(f.margin) > 0 || !f.question.dangers {
		t.margins = t.enclose()
	}
	return t
}

// taken tells which inserts and which collars go with a shaft.
func (f *finder) taken(shaft int) (inserts, collars []bool) {
	trial := longest()
	trial.Shaft = f.shafts[shaft].piece
	trial.Shaft.StockLength.Given = false
	for _, c := range f.inserts {
		trial.Insert = c.piece
		inserts = append(inserts, f.fits(&trial))
	}
	trial.Insert = unit.Optional[part.Insert]{}
	for _, c := range f.collars {
		trial.Collar = c.piece
		collars = append(collars, f.fits(&trial))
	}
	return inserts, collars
}

// choose keeps the fronts that go with the shafts, but not those that are too light
// or too heavy with every rear.
func (t *table) choose() {
	inserts, collars := t.taken(t.alike[0])
	least, most := t.rears()
	for _, c := range t.every {
		if inserts[c.insert] && collars[c.collar] && c.mass >= least && c.mass <= most {
			t.fronts = append(t.fronts, c)
		}
	}
}

// rears returns between which masses a front must lie to match with some rear.
func (t *table) rears() (least, most float64) {
	light, heavy := math.Inf(1), math.Inf(-1)
	for _, s := range t.alike {
		for n := range t.nocks {
			for v := range t.vanes {
				b := t.build(chosen{length: t.length, shaft: int32(s), nock: int32(n), vanes: int32(v)})
				m := added(&b, 0, part.KindShaft, part.KindNock, part.KindVanes).mass
				light, heavy = min(light, m), max(heavy, m)
			}
		}
	}
	doubt := sumDoubt * (heavy + t.every[len(t.every)-1].mass)
	return t.lightest - heavy - doubt, t.heaviest - light + doubt
}
