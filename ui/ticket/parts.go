package ticket

import (
	"fmt"
	"math"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/dozen"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// piece is one line of the parts list.
type piece struct {
	kind, name string
	count      int // for one arrow
	weight     string
	is         []string // what it is known by
	trade      part.Trade
}

// named calls a piece by its kind and name.
func (p *piece) named() string {
	if tidy(p.name) == "" {
		return p.kind
	}
	return p.kind + ": " + p.name
}

// pieces lists what one arrow is made of.
func (p *paper) pieces() []piece {
	b := p.build
	var out []piece
	add := func(kind part.Kind, name string, count int, weight string, trade part.Trade, is ...string) {
		line := piece{kind: string(kind), name: name, count: count, weight: weight, trade: trade}
		for _, words := range is {
			if words != "" {
				line.is = append(line.is, words)
			}
		}
		out = append(out, line)
	}
	size := func(what string, l unit.Optional[unit.Length]) string {
		if !l.Given {
			return ""
		}
		return what + " " + p.length(l.Value)
	}
	bore := func(what string, l unit.Optional[unit.Length]) string {
		if !l.Given {
			return ""
		}
		return what + " " + p.units.Bore(l.Value)
	}
	thread := func(words string) string {
		if words == "" {
			return ""
		}
		return "thread " + words
	}
	s := &b.Shaft
	spine, perInch := "", ""
	if s.Spine.Given {
		spine = "spine " + present.Spine(s.Spine.Value)
	}
	if s.WeightPerInch.Given {
		perInch = present.Quantity(p.units, float64(s.WeightPerInch.Value), unit.GrainsPerInch)
	}
	basis := "reckoned for the cut length"
	if s.TubeWeight.Given {
		basis = "weighed after cutting"
	}
	add(part.KindShaft, s.Name, 1, p.twice(float64(b.ShaftWeight()), float64(b.WeightU(part.KindShaft)), unit.Grains)+", "+basis, s.Trade,
		spine, perInch, bore("outside", s.OuterDiameter), bore("inside", s.InnerDiameter), size("comes", s.StockLength)+suffix(s.StockLength.Given, " long"))
	if b.Insert.Given {
		i := &b.Insert.Value
		add(part.KindInsert, i.Name, 1, p.weighed(i.Weight, i.WeightU), i.Trade,
			p.length(i.Depth)+" deep", p.proud(), bore("fits inside", i.FitsInner), thread(i.Thread), breakOff(p.assembly))
	}
	if b.Collar.Given {
		c := &b.Collar.Value
		add(part.KindCollar, c.Name, 1, p.weighed(c.Weight, c.WeightU), c.Trade, p.length(c.Length)+" long", bore("fits over", c.FitsOuter))
	}
	h := &b.Head
	blades, shape, way, width := "", "", "", ""
	if h.Blades > 0 {
		blades, width = fmt.Sprintf("%d blades", h.Blades), size("cut width", h.CutWidth)
	} else if h.Shape != "" {
		shape = string(h.Shape) // of a nose, which blades do not have
	}
	if h.Expandable {
		way = "expandable"
	}
	add(part.KindHead, h.Name, 1, p.weighed(h.Weight, h.WeightU), h.Trade, size("length", h.Length), shape, blades, width, way, thread(h.Thread))
	lighted := ""
	if b.Nock.Lighted {
		lighted = "lighted"
	}
	add(part.KindNock, b.Nock.Name, 1, p.weighed(b.Nock.Weight, b.Nock.WeightU), b.Nock.Trade, lighted, bore("fits inside", b.Nock.FitsInner), p.throat())
	if b.Vanes.Given {
		v := &b.Vanes.Value
		add(part.KindVanes, v.Name, v.Count, p.weighed(v.Weight, v.WeightU), v.Trade, p.length(v.Length)+" long", size("height", v.Height), bore("thickness", v.Thickness))
	}
	if b.Wrap.Given {
		w := &b.Wrap.Value
		add(part.KindWrap, w.Name, 1, p.weighed(w.Weight, w.WeightU), w.Trade, p.length(w.Length)+" long")
	}
	for i := range b.Extras {
		e := &b.Extras[i]
		add(part.KindExtra, e.Name, 1, p.weighed(e.Weight, e.WeightU), e.Trade, "its middle "+p.length(e.Balance)+" from the throat", size("length", e.Length))
	}
	return out
}

func suffix(there bool, words string) string {
	if there {
		return words
	}
	return ""
}

// weighed writes a weight and what it rests on: a piece whose weight is known with its
// uncertainty was weighed.
func (p *paper) weighed(m unit.Mass, u unit.Optional[unit.Mass]) string {
	basis := "stated"
	if u.Given {
		basis = "weighed"
	}
	return p.twice(float64(m), float64(u.Or(arrow.UnweighedU)), unit.Grains) + ", " + basis
}

// proud says how an insert sits against the cut end.
func (p *paper) proud() string {
	if proud := p.build.Insert.Value.Proud.Or(0); proud > 0 {
		return p.length(proud) + " proud of the cut end"
	}
	return "flush with the cut end"
}

// throat says where the string sits in the nock, against the shaft.
func (p *paper) throat() string {
	words := "throat " + p.length(p.build.Nock.ThroatOffset()) + " behind the shaft"
	if !p.build.Nock.Throat.Given {
		words += " (the usual, not measured)"
	}
	return words
}

func breakOff(a arrow.Assembly) string {
	switch a.BreakOff.Value {
	case arrow.Whole:
		return "a break-off insert that stays whole"
	case arrow.Broken:
		return "a break-off insert, weight and depth once it is broken off"
	}
	return ""
}

// parts is the list of what to lay out.
func (p *paper) parts() section {
	quantity, list := p.assembly.Quantity, p.pieces()
	t := &table{head: []string{"piece", "per arrow", "in all", "weight each", "known by", "price each", "price in all", "note"}}
	one, priced := 0.0, false
	var lacking []string
	for i := range list {
		l := &list[i]
		all, each, sum := "", "", ""
		if quantity.Given {
			all = fmt.Sprint(l.count * quantity.Value)
		}
		if price := l.trade.Price; price.Given {
			priced, each = true, p.money(price.Value)
			one += price.Value * float64(l.count)
			if quantity.Given {
				sum = p.money(price.Value * float64(l.count) * float64(quantity.Value))
			}
		} else if l.count > 0 {
			lacking = append(lacking, l.named())
		}
		if words := p.oneByOne(l.kind); words != "" {
			l.weight = words
		}
		t.rows = append(t.rows, []string{l.named(), fmt.Sprint(l.count), all, l.weight, strings.Join(l.is, ", "), each, sum, l.trade.Note})
	}
	out := section{title: "Parts", table: t.fewer()}
	if f, ok := p.sheet.Builds[p.at].Figure(figure.TotalWeight); ok {
		out.after = append(out.after, "One finished arrow weighs "+p.twice(f.Value, f.U, unit.Grains)+". ± here and in the work steps is twice the standard uncertainty: nearly all lie within it.")
	}
	if priced {
		words := "Pieces for one arrow: " + p.money(one)
		if quantity.Given {
			words += fmt.Sprintf(", for %d: %s", quantity.Value, p.money(one*float64(quantity.Value)))
		}
		if len(lacking) > 0 {
			words += ", and what has no price here: " + strings.Join(lacking, ", ")
		}
		out.after = append(out.after, words+".")
	}
	return out
}

// oneByOne is what the pieces of a kind weigh that the build list uses, empty where they were
// not weighed one by one.
func (p *paper) oneByOne(kind string) string {
	for k := range dozen.Kinds {
		if k.One() != kind || !p.weighedSingly(k) || len(p.pairing.Arrows) == 0 {
			continue
		}
		low, high := unit.Mass(math.Inf(1)), unit.Mass(math.Inf(-1))
		for _, a := range p.pairing.Arrows {
			weight := (*p.build.Dozen.Value.Of(k))[a.Piece[k]].Weight
			low, high = min(low, weight), max(high, weight)
		}
		gr := p.units.Shown(unit.Grains)
		return fmt.Sprintf("%s to %s %s, by the build list", plainWeight(gr, low), plainWeight(gr, high), gr.Symbol)
	}
	return ""
}

func (p *paper) money(amount float64) string {
	return strings.TrimSpace(fmt.Sprintf("%.2f %s", amount, p.sheet.Job.Currency))
}

// list is the build list of a dozen that was weighed, or why there is none.
func (p *paper) list() []section {
	out := section{title: "Build list", flows: true}
	switch {
	case p.unpaired != nil:
		out.words = []string{"There is no build list: " + p.unpaired.Error() + "."}
		return []section{out}
	case p.build.Tube() <= 0:
		return nil // nothing of it can be built
	case p.pairing == nil:
		return p.record()
	}
	batch, gr := &p.build.Dozen.Value, p.units.Shown(unit.Grains)
	grains := func(x float64) string {
		return present.Number(gr.Of(float64(unit.Mass(x) * unit.Grain)))
	}
	words := fmt.Sprintf("Spread by the weighed pieces alone %s %s", grains(p.pairing.Spread), gr.Symbol)
	switch {
	case len(batch.Plan) > 0:
		words += ", the list as it was begun."
	case p.pairing.Proven:
		words += "; no pairing has less."
	default:
		words += fmt.Sprintf("; no pairing can have less than %s %s.", grains(p.pairing.Bound), gr.Symbol)
	}
	out.words = append(out.words, words+" A piece is told by its number, counted from the first that was weighed, and by its weight in brackets.")
	if q := p.assembly.Quantity; q.Given && q.Value != len(p.pairing.Arrows) {
		out.words = append(out.words, fmt.Sprintf("The list has %d, and the quantity asked for is %d.", len(p.pairing.Arrows), q.Value))
	}
	if made := batch.Made(); made > 0 {
		out.words = append(out.words, fmt.Sprintf("Made already and ticked: %d.", made))
	}
	t := &table{head: []string{"arrow"}}
	for k := range dozen.Kinds {
		if p.pairing.Has[k] {
			t.head = append(t.head, k.One())
		}
	}
	t.head = append(t.head, "arrow, "+gr.Symbol, "weighed", "spun")
	low, high := unit.Mass(math.Inf(1)), unit.Mass(math.Inf(-1))
	for i, a := range p.pairing.Arrows {
		row := []string{fmt.Sprint(i + 1)}
		for k := range dozen.Kinds {
			if p.pairing.Has[k] {
				row = append(row, fmt.Sprintf("%d (%s)", a.Piece[k]+1, plainWeight(gr, (*batch.Of(k))[a.Piece[k]].Weight)))
			}
		}
		one := p.build.With(batch, a)
		weighs := one.Moments().Total
		low, high = min(low, weighs), max(high, weighs)
		t.rows = append(t.rows, append(row, plainWeight(gr, weighs), shortBlank, shortBlank))
		t.ticks = append(t.ticks, i < len(batch.Plan) && batch.Plan[i].Made)
	}
	out.table = t
	if f, ok := p.sheet.Builds[p.at].Figure(figure.TotalWeight); ok && len(t.rows) > 0 && (float64(low) < f.Value-2*f.U || float64(high) > f.Value+2*f.U) {
		out.words = append(out.words, fmt.Sprintf("Arrows of this list come to between %s and %s %s, and the build to %s: what was weighed is not quite what the build says. Find out which is right before building.",
			plainWeight(gr, low), plainWeight(gr, high), gr.Symbol, p.about(f.Value, f.U, unit.Grains)))
	}
	out.words = append(out.words, "The arrow's weight has the parts list's weights for all that was not weighed one by one.")
	for k := range dozen.Kinds {
		var spare []string
		var aside []int
		for _, i := range p.pairing.LeftOut[k] {
			spare = append(spare, fmt.Sprintf("%d (%s)", i+1, plainWeight(gr, (*batch.Of(k))[i].Weight)))
		}
		for i, piece := range *batch.Of(k) {
			if piece.LeftOut && !batch.Planned(k, i) {
				aside = append(aside, i)
			}
		}
		if len(spare) > 0 {
			out.words = append(out.words, fmt.Sprintf("Spare: %s no. %s.", k.One(), strings.Join(spare, ", ")))
		}
		if len(aside) > 0 {
			out.words = append(out.words, fmt.Sprintf("Not to be used: %s no. %s.", k.One(), present.Numbers(aside)))
		}
	}
	return []section{out}
}

// mostRecorded is how many arrows are written down one by one where no list names their pieces.
const mostRecorded = 24

// record is a table to write down what each arrow weighs.
func (p *paper) record() []section {
	n := p.assembly.Quantity.Or(0)
	if n < 2 || n > mostRecorded {
		return nil
	}
	t := &table{head: []string{"arrow", "weighed, " + p.units.Shown(unit.Grains).Symbol, "spun"}}
	for i := range n {
		t.rows = append(t.rows, []string{fmt.Sprint(i + 1), shortBlank, shortBlank})
		t.ticks = append(t.ticks, false)
	}
	return []section{{title: "Arrows made", flows: true, table: t}}
}

// plainWeight writes a weight without its uncertainty and unit: to a tenth of a grain, near
// enough.
func plainWeight(u unit.Unit, m unit.Mass) string {
	return present.WeightIn(u, u.Of(float64(m)))
}
