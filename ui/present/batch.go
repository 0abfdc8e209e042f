package present

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/dozen"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// Weighing is what one kind of piece of a batch comes to, in the unit that weights are shown
// in.
type Weighing struct {
	Kind     dozen.Kind
	Unit     unit.Unit
	Readings []float64 // of the pieces that are not left out
	Places   []int     // their places in the batch
	Spread   dozen.Spread
	Step     float64 // what they were rounded to; 0 is finer than anything
	left     int
	places   int // decimals
}

// WeighingOf describes the pieces of a kind.
func WeighingOf(units unit.System, b *dozen.Batch, k dozen.Kind) *Weighing {
	w := &Weighing{Kind: k, Unit: units.Shown(unit.Grains)}
	for i, p := range *b.Of(k) {
		if p.LeftOut {
			w.left++
			continue
		}
		w.Readings = append(w.Readings, w.Unit.Of(float64(p.Weight)))
		w.Places = append(w.Places, i)
	}
	// They may have been read in the other unit.
	w.Step = dozen.Step(w.Readings, w.Unit.Of(float64(unit.Grain)), w.Unit.Of(float64(unit.Gram)))
	w.Spread = dozen.Of(w.Readings, w.Step)
	w.places = 2
	if w.Step > 0 {
		w.places = max(int(math.Round(-math.Log10(w.Step))), 1)
	}
	return w
}

// Told writes a weight as finely as the scale told it.
func (w *Weighing) Told(value float64) string { return fixed(value, w.places) }

// Outlier reports whether a piece of the batch is one.
func (w *Weighing) Outlier(at int) bool {
	return slices.Contains(w.Far(), at)
}

// Words says what the pieces come to, a line each.
func (w *Weighing) Words() []string {
	if w.Spread.Count == 0 {
		return nil
	}
	s := w.Spread
	out := []string{counted(s.Count, w.Kind.One()) + w.leftOut()}
	if s.Count > 1 {
		out = append(out,
			fmt.Sprintf("%s to %s %s, spread %s", w.Told(s.Least), w.Told(s.Most), w.Unit.Symbol, w.Told(s.Most-s.Least)),
			fmt.Sprintf("mean %s, standard deviation %s", fixed(s.Mean, w.places+1), fixed(s.Deviation, w.places+1)))
	}
	if s.Count < dozen.LeastForFences {
		return append(out, fmt.Sprintf("outliers are told from %d %s on", dozen.LeastForFences, w.Kind))
	}
	if len(s.Outliers) == 0 {
		return append(out, "no outlier"+w.fences())
	}
	return append(out, fmt.Sprintf("! outliers: %s%s", Numbers(w.Far()), w.fences()))
}

// Far lists the places in the batch of the pieces that are outliers.
func (w *Weighing) Far() []int {
	var out []int
	for _, i := range w.Spread.Outliers {
		out = append(out, w.Places[i])
	}
	return out
}

func (w *Weighing) leftOut() string {
	if w.left == 0 {
		return ""
	}
	return fmt.Sprintf(", and %d left out", w.left)
}

// fences says between which weights nothing is an outlier.
func (w *Weighing) fences() string {
	return fmt.Sprintf(" (below %s or above %s)", fixed(w.Spread.Below, w.places+1), fixed(w.Spread.Beyond, w.places+1))
}

// OutlierRule says which readings count as outliers.
const OutlierRule = "An outlier lies more than one and a half times the range of the middle half below or above that half."

// bar is the sign that a histogram is drawn with.
const bar = "■"

// Histogram draws how many pieces weigh how much, a line a class from the lightest, in at
// most so many lines and cells. Each ■ is a piece, or as many as the first line says.
func (w *Weighing) Histogram(rows, cells int) []string {
	if w.Spread.Count < 2 || rows < 2 || w.Spread.Most == w.Spread.Least {
		return nil
	}
	class := w.class(rows)
	first := math.Floor(w.Spread.Least/class + 1e-9)
	counts := make([]int, int(math.Floor(w.Spread.Most/class+1e-9)-first)+1)
	for _, r := range w.Readings {
		counts[int(math.Floor(r/class+1e-9)-first)]++
	}
	places := max(int(math.Ceil(-math.Log10(class)-1e-9)), 0)
	labels, wide := make([]string, len(counts)), 0
	for i := range counts {
		from := (first + float64(i)) * class
		labels[i] = fixed(from, places)
		if math.Abs(class-w.Step) > 1e-9*class { // more than one reading falls into it
			labels[i] += " up to " + fixed(from+class, places)
		}
		wide = max(wide, len([]rune(labels[i])))
	}
	each := 1
	for room := max(cells-wide-5, 1); slices.Max(counts) > each*room; {
		each++
	}
	out := make([]string, len(counts))
	for i, n := range counts {
		out[i] = strings.TrimRight(fmt.Sprintf("%*s %s %s", wide, labels[i], strings.Repeat(bar, (n+each-1)/each), blankZero(n)), " ")
	}
	return out
}

// fixed writes a number with so many decimals.
func fixed(x float64, decimals int) string {
	return figure.Minus(fmt.Sprintf("%.*f", decimals, x))
}

// atLeastOne writes a number with one decimal at least and three at most.
func atLeastOne(x float64) string { return Places(x, 1) }

func blankZero(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(n)
}

// class returns the width of a histogram's classes: 1, 2 or 5 of a power of ten, no less
// than the scale's step, so that they are at most so many.
func (w *Weighing) class(rows int) float64 {
	for power := -4; ; power++ {
		for _, one := range []float64{1, 2, 5} {
			class := one * math.Pow10(power)
			if class < w.Step*(1-1e-9) {
				continue
			}
			if math.Floor(w.Spread.Most/class+1e-9)-math.Floor(w.Spread.Least/class+1e-9)+1 <= float64(rows) {
				return class
			}
		}
	}
}

// Reading writes spine or straightness of a piece, empty where it was not taken.
func Reading(units unit.System, p *dozen.Piece, key string) string {
	f := record.Only(p, key).In(units)
	if value, given := f.Number(); given {
		places := 3
		if f.Unit == unit.Millimetres {
			places = 2
		}
		return fixed(f.Unit.Of(value), places)
	}
	return ""
}

// Outcome is what the arrows of a pairing come to, a line each: what does not look right
// first, then their weights, whether they could be closer, where they balance, and how far
// apart weight alone makes them hit.
type Outcome struct {
	Shots []sheet.Shot // each arrow at the first distance of the sheet's job
	Words []string
	Brief []string // the same with the farthest distance alone
}

// Matched says what the arrows of a pairing come to.
//
// Fewer is the pairing with one arrow fewer, nil where there is none: it is told where it
// has a much smaller spread.
func Matched(s *sheet.Sheet, build int, p, fewer *dozen.Pairing) Outcome {
	b := &s.Job.Builds[build]
	gr := s.Units.Shown(unit.Grains)
	number := func(grains float64) string { return atLeastOne(gr.Of(float64(unit.Mass(grains) * unit.Grain))) }
	var out []string
	for _, g := range s.Graver(build, p) {
		out = append(out, fmt.Sprintf("%s %s: arrow %d", Mark(g.Level), Brief(g.Caution), g.Arrow+1))
	}
	out = append(out, Mismatches(s, build)...)
	distances := s.Job.DistancesOrDefault()
	var shots [][]sheet.Shot // for each distance
	for _, d := range distances {
		shots = append(shots, s.Shots(build, p, d))
	}
	weights := ranged(shots[0], func(a sheet.Shot) float64 { return gr.Of(float64(a.Weight)) })
	if math.IsNaN(weights[0]) {
		out = append(out, "no arrow: "+s.Builds[build].Absent(figure.TotalWeight))
		return Outcome{shots[0], out, out}
	}
	out = append(out, fmt.Sprintf("%s of %s to %s %s, spread %s", counted(len(p.Arrows), "arrow"), WeightIn(gr, weights[0]), WeightIn(gr, weights[1]), gr.Symbol, number(p.Spread)))
	kinds := 0
	for k := range dozen.Kinds {
		if p.Has[k] {
			kinds++
		}
	}
	switch {
	case len(b.Dozen.Value.Plan) > 0:
		out = append(out, "the list being built: it stays as it is")
	case kinds == 1 && without(p) == "":
		out = append(out, "one kind alone is weighed: there is nothing to pair it with")
	case p.Proven:
		out = append(out, "no other choice of the pieces has a smaller spread")
	default:
		out = append(out, fmt.Sprintf("a smaller spread may be possible, but none below %s", number(p.Bound)))
	}
	if fewer != nil && p.Spread > littleSpread && fewer.Spread < muchLess*p.Spread {
		out = append(out, fmt.Sprintf("one arrow fewer: spread %s, without %s", number(fewer.Spread), without(fewer)))
	}
	if foc := ranged(shots[0], func(a sheet.Shot) float64 { return a.FOC }); !math.IsNaN(foc[0]) {
		out = append(out, fmt.Sprintf("FOC %s to %s %%", fixed(100*foc[0], 2), fixed(100*foc[1], 2)))
	}
	var spare []string
	if words := without(p); words != "" {
		spare = []string{"spare: " + words}
	}
	n := s.Job.Farthest()
	return Outcome{shots[0], slices.Concat(out, apart(s, p, distances, shots), spare), slices.Concat(out, apart(s, p, distances[n:n+1], shots[n:n+1]), spare)}
}

// apart says how far apart the arrows of a pairing hit at some distances, where they are so
// shot.
func apart(s *sheet.Sheet, p *dozen.Pairing, distances []unit.Length, shots [][]sheet.Shot) []string {
	in := s.Units.Shown(unit.Inches)
	var words []string
	for i, d := range distances {
		if drop := ranged(shots[i], func(a sheet.Shot) float64 { return float64(a.Drop) }); !math.IsNaN(drop[0]) {
			words = append(words, fmt.Sprintf("%s %s at %s", fixed(in.Of(drop[1]-drop[0]), 2), in.Symbol, s.Units.Distance(d, 4)))
		}
	}
	switch {
	case len(words) == 0:
		return []string{"how far apart they hit needs the bow's readings"}
	case p.Spread > 0:
		return []string{"shot alike, their weights alone make them hit high or low by " + strings.Join(words, ", ")}
	}
	return nil
}

// WeightIn writes a weight of an arrow as finely as a scale tells it.
func WeightIn(u unit.Unit, value float64) string {
	if u == unit.Grains {
		return fixed(value, 1)
	}
	return fixed(value, 2)
}

// Where an arrow fewer is worth telling of: a spread above so many grains that becomes less
// than this share of it.
const (
	littleSpread = 1
	muchLess     = 0.7
)

// without names the pieces that a pairing leaves out.
func without(p *dozen.Pairing) string {
	var words []string
	for k := range dozen.Kinds {
		if n := len(p.LeftOut[k]); n > 0 {
			words = append(words, k.Named(n)+" "+Numbers(p.LeftOut[k]))
		}
	}
	return strings.Join(words, ", ")
}

// ranged returns the least and the greatest of something, NaN where one of them is.
func ranged(shots []sheet.Shot, of func(a sheet.Shot) float64) [2]float64 {
	out := [2]float64{math.Inf(1), math.Inf(-1)}
	for _, a := range shots {
		value := of(a)
		if math.IsNaN(value) {
			return [2]float64{value, value}
		}
		out[0], out[1] = min(out[0], value), max(out[1], value)
	}
	return out
}

// Numbers writes places counted from 1.
func Numbers(places []int) string {
	words := make([]string, len(places))
	for i, at := range places {
		words[i] = fmt.Sprint(at + 1)
	}
	return strings.Join(words, ", ")
}

// otherPiece is by how much of its weight a piece may differ from the build's before it looks
// like another one.
const otherPiece = 0.1

// Mismatches says which pieces of a batch do not look like those of the build, a sentence
// each.
func Mismatches(s *sheet.Sheet, build int) []string {
	b := &s.Job.Builds[build]
	var out []string
	for k := range dozen.Kinds {
		w := WeighingOf(s.Units, &b.Dozen.Value, k)
		if w.Spread.Count == 0 {
			continue
		}
		own, has := b.Weighs(k)
		weight := w.Unit.Of(float64(own))
		switch {
		case !has:
			out = append(out, fmt.Sprintf("! this build has no %s: those that were weighed count in no figure", k.One()))
		case math.Abs(w.Spread.Mean-weight) > otherPiece*weight:
			out = append(out, fmt.Sprintf("! the build has %s of %s %s, those weighed have %s: are they the same?", part.Kind(k.One()).A(), WeightIn(w.Unit, weight), w.Unit.Symbol, WeightIn(w.Unit, w.Spread.Mean)))
		}
	}
	return out
}
