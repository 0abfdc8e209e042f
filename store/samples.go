package store

import (
	"fmt"
	"math"
	"strings"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// SampleNote is on every sample piece, so that it still says what it is when a
// build carries it away from the drawer.
const SampleNote = "invented sample, replace with your own"

// family is a range of invented shafts of one inner diameter, in inches. The two
// stiffest share an outer diameter, and so do the others: wall and weight then
// stay within what carbon tube weighs.
type family struct {
	name               string
	inner, stiff, slim float64
	perInch            [5]float64 // gr/in, in the order of sampleSpines
	nock               float64    // weight of the plain nock, gr
	inserts            []tubeInsert
	collars            [2]float64 // weights of the collars for stiff and slim, gr
}

// tubeInsert is an insert of a family: grains and inches.
type tubeInsert struct {
	material             string
	weight, depth, proud float64
	price                float64
}

var sampleSpines = [5]float64{0.250, 0.300, 0.350, 0.400, 0.500}

var families = []family{
	{
		name: "4 mm", inner: 0.166, stiff: 0.246, slim: 0.233, nock: 8,
		perInch: [5]float64{11.0, 10.1, 9.3, 8.6, 7.6},
		// An 8-32 thread does not go into this bore: the head screws into the part
		// that stands proud.
		inserts: []tubeInsert{
			{"aluminium half-out", 16, 0.50, 0.40, 1.9}, {"aluminium half-out", 20, 0.65, 0.50, 2.1},
			{"brass half-out", 50, 0.55, 0.40, 4.2}, {"brass half-out", 75, 0.90, 0.50, 4.8}, {"brass half-out", 100, 1.45, 0.50, 5.4},
		},
		collars: [2]float64{14, 10},
	},
	{
		name: "5 mm", inner: 0.204, stiff: 0.264, slim: 0.255, nock: 9,
		perInch: [5]float64{9.6, 8.6, 8.0, 7.4, 6.6},
		inserts: []tubeInsert{
			{"aluminium", 16, 1.00, 0, 1.1}, {"aluminium", 20, 1.20, 0, 1.2},
			{"brass", 50, 1.00, 0, 3.1}, {"brass", 75, 1.40, 0, 3.6}, {"brass", 100, 1.80, 0, 4.2},
			{"steel half-out", 60, 0.70, 0.40, 5.5},
		},
		collars: [2]float64{16, 12},
	},
	{
		name: "6 mm", inner: 0.244, stiff: 0.303, slim: 0.290, nock: 11,
		perInch: [5]float64{10.6, 9.8, 8.6, 8.0, 7.1},
		inserts: []tubeInsert{
			{"aluminium", 16, 0.70, 0, 0.9}, {"aluminium", 20, 0.85, 0, 1.0},
			{"brass", 50, 0.75, 0, 2.9}, {"brass", 75, 1.00, 0, 3.4}, {"brass", 100, 1.30, 0, 3.9},
			{"aluminium half-out", 30, 0.80, 0.40, 2.8},
		},
		collars: [2]float64{20, 8},
	},
}

// sampleThread is the thread of every sample insert and head.
const sampleThread = "8-32"

// SampleParts returns the invented parts that fill the drawer of a new
// workbook. They are named by their sizes; no part on sale is meant.
func SampleParts() []part.Part {
	var parts []part.Part
	for _, f := range families {
		parts = append(parts, f.shafts()...)
	}
	for _, f := range families {
		parts = append(parts, f.insertParts()...)
	}
	for _, f := range families {
		parts = append(parts, f.collarParts()...)
	}
	parts = append(parts, sampleHeads()...)
	for _, f := range families {
		parts = append(parts, f.nocks()...)
	}
	return append(append(parts, sampleVanes()...), sampleWrap())
}

// sample marks a part. Its ID is its kind, its name and what else tells it from
// parts of that name.
func sample(p part.Part, apart string) part.Part {
	p.Sample = true
	words := strings.Fields(string(p.Kind) + " " + p.Name() + " " + apart)
	p.ID = samplePrefix + strings.NewReplacer(".", "", ",", "").Replace(strings.Join(words, "-"))
	return p
}

const samplePrefix = "sample-"

// gr tells parts of one name apart by their weight.
func gr(weight float64) string { return fmt.Sprintf("%.0f gr", weight) }

// weighed gives a part a measured weight that agrees with the stated one: the
// sample scale reads to a tenth of a grain, and pieces of a kind differ by u.
func weighed(p part.Part, u float64, count int) part.Part {
	p.Measured = unit.Some(part.Measured{Weight: p.StatedWeight(), WeightU: grains(u), Count: count})
	return p
}

func trade(price, stock float64) part.Trade {
	return part.Trade{Price: unit.Some(price), Stock: unit.Some(stock), Note: SampleNote}
}

func inches(x float64) unit.Optional[unit.Length] { return unit.Some(unit.Length(x) * unit.Inch) }

func grains(x float64) unit.Mass { return unit.Mass(x) * unit.Grain }

// outer returns the outer diameter of the shaft at an index of sampleSpines.
func (f family) outer(i int) float64 {
	if i < 2 {
		return f.stiff
	}
	return f.slim
}

func spineName(spine float64) string { return strings.TrimPrefix(fmt.Sprintf("%.3f", spine), "0") }

func (f family) shafts() []part.Part {
	var out []part.Part
	for i, spine := range sampleSpines {
		perInch := unit.LinearDensity(f.perInch[i]) * unit.GrainPerInch
		p := sample(part.Part{Kind: part.KindShaft, Shaft: unit.Some(part.Shaft{
			Name:          f.name + " " + spineName(spine),
			WeightPerInch: unit.Some(perInch),
			Spine:         inches(spine),
			OuterDiameter: inches(f.outer(i)),
			InnerDiameter: inches(f.inner),
			StockLength:   inches(32),
			Trade:         trade(math.Round(50*f.perInch[i])/25-4, 24),
		})}, "")
		p.Measured = unit.Some(part.Measured{WeightPerInch: perInch, PerInchU: 0.02 * unit.GrainPerInch, Count: 24})
		out = append(out, p)
	}
	return out
}

func (f family) insertParts() []part.Part {
	var out []part.Part
	for _, t := range f.inserts {
		insert := part.Insert{
			Name:      t.material + " " + f.name,
			Weight:    grains(t.weight),
			Depth:     unit.Length(t.depth) * unit.Inch,
			FitsInner: inches(f.inner),
			Thread:    sampleThread,
			Trade:     trade(t.price, 36),
		}
		if t.proud > 0 {
			insert.Proud = inches(t.proud)
		}
		out = append(out, weighed(sample(part.Part{Kind: part.KindInsert, Insert: unit.Some(insert)}, gr(t.weight)), 0.2, 36))
	}
	return out
}

func (f family) collarParts() []part.Part {
	var out []part.Part
	for i, outer := range []float64{f.stiff, f.slim} {
		weight := f.collars[i]
		out = append(out, weighed(sample(part.Part{Kind: part.KindCollar, Collar: unit.Some(part.Collar{
			Name:      "steel " + spineName(outer),
			Weight:    grains(weight),
			Length:    unit.Length(0.3+weight/100) * unit.Inch,
			FitsOuter: inches(outer),
			Trade:     trade(1.8, 24),
		})}, gr(weight)), 0.1, 24))
	}
	return out
}

// lightWeight is how much heavier a lighted nock is, gr.
const lightWeight = 12

func (f family) nocks() []part.Part {
	nock := part.Nock{
		Name: "plain " + f.name, Weight: grains(f.nock),
		Throat: inches(0.5), Balance: inches(0.4), FitsInner: inches(f.inner), Trade: trade(1.2, 60),
	}
	lighted := nock
	lighted.Name, lighted.Weight, lighted.Lighted = "lighted "+f.name, grains(f.nock+lightWeight), true
	// The battery sits inside the tube.
	lighted.Balance, lighted.Trade = inches(0.9), trade(8.5, 12)
	return []part.Part{
		weighed(sample(part.Part{Kind: part.KindNock, Nock: unit.Some(nock)}, ""), 0.1, 60),
		weighed(sample(part.Part{Kind: part.KindNock, Nock: unit.Some(lighted)}, ""), 0.2, 12),
	}
}

func sampleHeads() []part.Part {
	var out []part.Part
	add := func(h part.Head, price, stock float64) {
		h.Thread, h.Trade = sampleThread, trade(price, stock)
		out = append(out, weighed(sample(part.Part{Kind: part.KindHead, Head: unit.Some(h)}, gr(h.Weight.In(unit.Grain))), 0.3, 9))
	}
	for _, p := range []struct{ weight, length, balance float64 }{
		{85, 0.75, 0.20}, {100, 0.85, 0.25}, {125, 1.00, 0.32}, {150, 1.12, 0.38}, {175, 1.25, 0.44}, {200, 1.38, 0.50},
	} {
		add(part.Head{
			Name: "field point", Weight: grains(p.weight),
			Length: inches(p.length), Balance: inches(p.balance), Shape: part.Ogive,
		}, 0.9+p.weight/250, 72)
	}
	for _, b := range []struct {
		name                                       string
		weight, length, balance, blade, cut, thick float64
		blades                                     int
		expandable                                 bool
		price                                      float64
	}{
		{"3-blade fixed", 100, 1.50, 0.55, 1.05, 1.06, 0.030, 3, false, 14},
		{"3-blade fixed", 125, 1.60, 0.60, 1.15, 1.10, 0.036, 3, false, 15},
		{"2-blade fixed", 150, 2.10, 0.80, 1.80, 1.13, 0.060, 2, false, 19},
		{"2-blade fixed", 175, 2.30, 0.88, 2.00, 1.13, 0.062, 2, false, 20},
		{"2-blade fixed", 200, 2.45, 0.95, 2.10, 1.13, 0.070, 2, false, 22},
		// In flight the blades lie against the body: length and width are those it
		// cuts with.
		{"2-blade expandable", 100, 1.80, 0.65, 1.30, 1.75, 0.035, 2, true, 16},
	} {
		add(part.Head{
			Name: b.name, Weight: grains(b.weight), Length: inches(b.length), Balance: inches(b.balance), Shape: part.Cone,
			Blades: b.blades, BladeLength: inches(b.blade), CutWidth: inches(b.cut), BladeThickness: inches(b.thick), Expandable: b.expandable,
		}, b.price, 9)
	}
	return out
}

func sampleVanes() []part.Part {
	var out []part.Part
	for _, v := range []struct {
		name                         string
		count                        int
		weight, length, height, rear float64
		price                        float64
	}{
		{"1.6 in low", 3, 4, 1.6, 0.36, 1.0, 0.35},
		{"1.6 in low", 4, 4, 1.6, 0.36, 1.0, 0.35},
		{"2.2 in", 3, 6, 2.2, 0.48, 1.1, 0.40},
		{"2.75 in tall", 3, 9, 2.75, 0.56, 1.3, 0.50},
	} {
		out = append(out, weighed(sample(part.Part{Kind: part.KindVanes, Vanes: unit.Some(part.Vanes{
			Name: v.name, Count: v.count, Weight: grains(v.weight),
			Length: unit.Length(v.length) * unit.Inch, Height: inches(v.height), Rear: unit.Length(v.rear) * unit.Inch,
			Thickness: inches(0.025), Trade: trade(v.price, 144),
		})}, fmt.Sprint(v.count)), 0.1, 144))
	}
	return out
}

func sampleWrap() part.Part {
	return sample(part.Part{Kind: part.KindWrap, Wrap: unit.Some(part.Wrap{
		Name: "4 in", Weight: grains(6), Length: 4 * unit.Inch, Trade: trade(0.8, 48),
	})}, "")
}
