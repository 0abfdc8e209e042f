package ticket

import (
	"fmt"
	"math"
	"slices"

	"foreshaft/engine/figure"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// drawing is an arrow to scale, tail left, for any pen: everything in mm on paper from the
// upper left corner.
type drawing struct {
	title         string
	strip         string  // the same in signs, for plain text
	scale         float64 // how many times longer the arrow is
	throat        float64 // where the throat lies
	width, height float64
	shapes        []shape
	dimensions    []dimension
}

// shape is a closed outline of straight lines.
type shape struct {
	part   string // what it draws
	points [][2]float64
	fill   bool
}

// dimension is a length on the arrow between two places, with its number.
type dimension struct {
	name     string
	from, to float64 // where it begins and ends
	y        float64
	textX    float64 // where its words begin
	words    string
}

// Sizes of the drawing on paper, in mm.
const (
	drawingWide = 186
	earLength   = 2.5 // of the nock behind the throat, which no figure depends on
	level       = 3.1 // between lines of dimensions
	letters     = 2.2 // size of the words
	letterWide  = 0.53 * letters
	letterDrop  = 0.35 * letters // of their baseline below the middle
	stroke      = 0.7            // half the height of the strokes that end a dimension
	leastHalf   = 0.5            // of the shaft's thickness
)

// strips is how many cells a strip in plain text has.
const strips = 78

// drawn is the drawing of the build, and why there is none where there is none.
func (p *paper) drawn() section {
	out := section{title: "Drawing"}
	if p.build.Tube() <= 0 {
		out.words = []string{"There is no drawing: the length leaves no shaft in front of the nock."}
		return out
	}
	out.drawing = p.draw()
	return out
}

// usualDiameter stands in for a shaft whose diameter is not known (common practice).
const usualDiameter = 6 * unit.Millimetre

// usualHeight stands in for vanes whose height is not known (common practice).
const usualHeight = 0.5 * unit.Inch

func (p *paper) draw() *drawing {
	b := p.build
	throat, seat, tip := b.Nock.ThroatOffset(), b.Seat(), present.Reach(b)
	low, high := unit.Length(0), max(tip, seat, b.Length)
	reach := func(from, to unit.Length) { low, high = min(low, from), max(high, to) }
	if v := &b.Vanes.Value; b.Vanes.Given && v.Count > 0 {
		reach(v.Rear, v.Rear+v.Length)
	}
	if b.Insert.Given {
		reach(b.Length-b.Insert.Value.Depth, seat)
	}
	if b.Collar.Given {
		reach(b.Length-b.Collar.Value.Length, b.Length)
	}
	if b.Wrap.Given {
		reach(throat, throat+b.Wrap.Value.Length)
	}
	for i := range b.Extras {
		reach(b.Extras[i].Balance, b.Extras[i].Balance)
	}
	m := b.Moments()
	if m.Total > 0 {
		reach(m.Balance, m.Balance)
	}
	const room = drawingWide - earLength - 1
	d := &drawing{width: drawingWide, strip: present.Strip(b, strips, max(tip, seat))}
	// Rounded up to a tenth, so that the scale that is said is the one that is drawn.
	d.scale = max(math.Ceil((high-low).In(unit.Millimetre)/room*10-1e-9)/10, 1)
	on := func(l unit.Length) float64 { return l.In(unit.Millimetre) / d.scale }
	d.throat = earLength + 0.5 + on(-low)
	at := func(x unit.Length) float64 { return d.throat + on(x) }
	d.title = fmt.Sprintf("Scale 1 : %s when printed at 100 %%, tail left. The triangle is the balance point.", present.Number(d.scale))

	half := max(on(b.Shaft.OuterDiameter.Or(usualDiameter))/2, leastHalf)
	above := half
	if b.Vanes.Given && b.Vanes.Value.Count > 0 {
		above = max(above, half+on(b.Vanes.Value.Height.Or(usualHeight)))
	}
	if b.Head.Blades > 0 {
		above = max(above, on(b.Head.CutWidth.Or(2*usualHeight))/2)
	}
	const most = 12 // a vane or a blade of any size leaves room for the rest of the page
	above = min(above, most)
	axis := above + 1
	box := func(part string, from, to unit.Length, reach float64, fill bool) {
		d.shapes = append(d.shapes, shape{part, [][2]float64{{at(from), axis - reach}, {at(to), axis - reach}, {at(to), axis + reach}, {at(from), axis + reach}}, fill})
	}
	if w := &b.Wrap.Value; b.Wrap.Given {
		box("wrap", throat, throat+w.Length, half+0.25, false)
	}
	box("shaft", throat, b.Length, half, false)
	d.shapes = append(d.shapes, shape{"nock", [][2]float64{{at(0) - earLength, axis - half}, {at(throat), axis - half}, {at(throat), axis + half}, {at(0) - earLength, axis + half},
		{at(0) - earLength, axis + half/2}, {at(0), axis + half/4}, {at(0), axis - half/4}, {at(0) - earLength, axis - half/2}}, false})
	if v := &b.Vanes.Value; b.Vanes.Given && v.Count > 0 {
		for _, side := range []float64{-1, 1} {
			root, top := axis+side*half, axis+side*min(half+on(v.Height.Or(usualHeight)), above)
			d.shapes = append(d.shapes, shape{"vane", [][2]float64{{at(v.Rear), root}, {at(v.Rear), top}, {at(v.Rear + v.Length/3), top}, {at(v.Rear + v.Length), root}}, false})
		}
	}
	if b.Insert.Given {
		box("insert", b.Length-b.Insert.Value.Depth, seat, half/2, true)
	}
	if b.Collar.Given {
		box("collar", b.Length-b.Collar.Value.Length, b.Length, half+0.4, false)
	}
	nose := half
	if b.Head.Blades > 0 {
		nose = min(max(half, on(b.Head.CutWidth.Or(2*usualHeight))/2), above)
	}
	d.shapes = append(d.shapes, shape{"head", [][2]float64{{at(seat), axis - nose}, {at(max(tip, seat)), axis}, {at(seat), axis + nose}}, b.Head.Blades == 0})
	for i := range b.Extras {
		x := at(b.Extras[i].Balance)
		d.shapes = append(d.shapes, shape{"extra", [][2]float64{{x - 0.7, axis}, {x, axis - 0.7}, {x + 0.7, axis}, {x, axis + 0.7}}, false})
	}
	d.dimensions = p.dimensions(at)
	if m.Total > 0 {
		x := at(m.Balance)
		d.shapes = append(d.shapes, shape{"balance", [][2]float64{{x, axis + half + 0.2}, {x + 1.2, axis + half + 2.2}, {x - 1.2, axis + half + 2.2}}, true})
	}
	lowest := d.stack(axis + max(above, half+2.2) + level)
	d.height = lowest + 1.2
	return d
}

// dimensions are the lengths that somebody measures or sets a tool to.
func (p *paper) dimensions(at func(unit.Length) float64) []dimension {
	b := p.build
	throat, seat, tip := b.Nock.ThroatOffset(), b.Seat(), present.Reach(b)
	var out []dimension
	add := func(name string, from, to unit.Length, words string) {
		out = append(out, dimension{name: name, from: at(from), to: at(to), words: words})
	}
	add("arrow", 0, b.Length, "arrow length, throat to cut end: "+p.cut(b.Length))
	add("tube", throat, b.Length, "cut shaft, end to end: "+p.cut(b.Tube()))
	if tip > seat {
		add("overall", 0, tip, "throat to tip: "+p.length(tip))
		add("head", seat, tip, "head: "+p.length(tip-seat))
	}
	if m := b.Moments(); m.Total > 0 {
		words := "balance point from the throat: " + p.length(m.Balance)
		if f, ok := p.sheet.Builds[p.at].Figure(figure.BalancePoint); ok {
			words = "balance point from the throat: " + p.twice(f.Value, f.U, unit.Inches)
		}
		if f, ok := p.sheet.Builds[p.at].Figure(figure.FOC); ok {
			words += ", FOC " + p.twice(f.Value, f.U, unit.Percent)
		}
		add("balance", 0, m.Balance, words)
	}
	if v := &b.Vanes.Value; b.Vanes.Given && v.Count > 0 {
		add("vanes-throat", 0, v.Rear, "vanes' rear edge from the throat: "+p.cut(v.Rear))
		switch gap := v.Rear - throat; {
		case gap > atEnd:
			add("vanes-shaft", throat, v.Rear, "vanes' rear edge from the shaft's rear end: "+p.cut(gap))
		case gap < -atEnd:
			add("vanes-shaft", v.Rear, throat, "vanes' rear edge behind the shaft's rear end: "+p.cut(-gap))
		}
		add("vanes", v.Rear, v.Rear+v.Length, "vanes: "+p.length(v.Length))
	}
	if b.Wrap.Given {
		add("wrap", throat, throat+b.Wrap.Value.Length, "wrap: "+p.length(b.Wrap.Value.Length))
	}
	if i := &b.Insert.Value; b.Insert.Given {
		add("insert", b.Length-i.Depth, b.Length, "insert into the shaft: "+p.length(i.Depth))
		if seat > b.Length {
			add("proud", b.Length, seat, "insert proud: "+p.length(seat-b.Length))
		}
	}
	if b.Collar.Given {
		add("collar", b.Length-b.Collar.Value.Length, b.Length, "collar: "+p.length(b.Collar.Value.Length))
	}
	for i := range b.Extras {
		add("extra", 0, b.Extras[i].Balance, orElse(b.Extras[i].Name, "extra")+", its middle from the throat: "+p.length(b.Extras[i].Balance))
	}
	return out
}

// stack gives every dimension a line of its own below the arrow, or one that it shares with
// others where neither lines nor words meet, the short ones next to the arrow. It returns
// how far down they reach.
func (d *drawing) stack(top float64) float64 {
	order := make([]*dimension, len(d.dimensions))
	for i := range d.dimensions {
		order[i] = &d.dimensions[i]
	}
	slices.SortStableFunc(order, func(a, b *dimension) int {
		return int(math.Round(1000 * (math.Abs(a.to-a.from) - math.Abs(b.to-b.from))))
	})
	type span struct{ from, to float64 }
	var taken [][]span
	lowest := top
	for _, dim := range order {
		left, right := min(dim.from, dim.to), max(dim.from, dim.to)
		wide := dim.wordsWide()
		all := span{left, right}
		switch {
		case right-left > wide+6: // on the line, which is broken for it
			dim.textX = (left+right)/2 - wide/2
		case right+1+wide < d.width: // behind it
			dim.textX = right + 1
			all.to = right + 1 + wide
		default:
			dim.textX = max(left-1-wide, 0)
			all.from = dim.textX
		}
		row := 0
		for ; row < len(taken); row++ {
			const apart = 2
			if !slices.ContainsFunc(taken[row], func(o span) bool { return all.from < o.to+apart && o.from < all.to+apart }) {
				break
			}
		}
		if row == len(taken) {
			taken = append(taken, nil)
		}
		taken[row] = append(taken[row], all)
		dim.y = top + level*float64(row)
		lowest = max(lowest, dim.y)
	}
	return lowest
}

// wordsWide is how wide the words of a dimension are on paper, near enough to keep the line
// clear of them.
func (m *dimension) wordsWide() float64 { return letterWide * float64(len([]rune(m.words))) }

// segments returns the lines of a dimension as x, y, x, y: the one between its ends, broken
// where its words stand on it, and the strokes that mark the ends.
func (m *dimension) segments() [][4]float64 {
	left, right := min(m.from, m.to), max(m.from, m.to)
	out := [][4]float64{{left, m.y - stroke, left, m.y + stroke}, {right, m.y - stroke, right, m.y + stroke}}
	if m.textX > left && m.textX+m.wordsWide() < right {
		return append(out, [4]float64{left, m.y, m.textX - 1, m.y}, [4]float64{m.textX + m.wordsWide() + 1, m.y, right, m.y})
	}
	return append(out, [4]float64{left, m.y, right, m.y})
}
