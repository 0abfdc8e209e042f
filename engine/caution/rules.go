package caution

import (
	"fmt"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// play is how far two diameters that are sold as a fit may differ on paper:
// makers round them to a thousandth or two.
const play = 0.0025 * unit.Inch

// Clash is something in a build that does not go together.
type Clash struct {
	Text   string
	Pieces []part.Kind // those it is about
}

// Misfits returns what does not go together in a build, told in the units
// given. A piece that does not say what it fits is not judged.
func Misfits(b *arrow.Build, units unit.System) []Clash {
	var out []Clash
	say := func(pieces []part.Kind, format string, args ...any) {
		out = append(out, Clash{fmt.Sprintf(format, args...), pieces})
	}
	of := func(kinds ...part.Kind) []part.Kind { return kinds }
	differs := func(a, b unit.Optional[unit.Length]) bool {
		return a.Given && b.Given && (a.Value-b.Value > play || b.Value-a.Value > play)
	}
	insert, collar, tube := &b.Insert.Value, &b.Collar.Value, b.Tube()
	if b.Insert.Given && differs(insert.FitsInner, b.Shaft.InnerDiameter) {
		say(of(part.KindInsert, part.KindShaft), "The insert is made for a %s bore and the shaft has %s: choose an insert for this shaft.",
			units.Bore(insert.FitsInner.Value), units.Bore(b.Shaft.InnerDiameter.Value))
	}
	if differs(b.Nock.FitsInner, b.Shaft.InnerDiameter) {
		say(of(part.KindNock, part.KindShaft), "The nock is made for a %s bore and the shaft has %s: choose a nock for this shaft. A loose nock is a dry fire.",
			units.Bore(b.Nock.FitsInner.Value), units.Bore(b.Shaft.InnerDiameter.Value))
	}
	if b.Collar.Given && differs(collar.FitsOuter, b.Shaft.OuterDiameter) {
		say(of(part.KindCollar, part.KindShaft), "The collar is made for a %s shaft and this one has %s: choose a collar for this shaft.",
			units.Bore(collar.FitsOuter.Value), units.Bore(b.Shaft.OuterDiameter.Value))
	}
	if b.Insert.Given && insert.Thread != "" && b.Head.Thread != "" && insert.Thread != b.Head.Thread {
		say(of(part.KindHead, part.KindInsert), "The head's thread is %s and the insert's is %s: choose a head or an insert to match.", b.Head.Thread, insert.Thread)
	}
	if stock := b.Shaft.StockLength; stock.Given && tube > stock.Value {
		say(of(part.KindShaft), "The build needs %s of tube and the shaft comes %s long: cut shorter or choose a longer shaft.", units.Span(tube, 4), units.Span(stock.Value, 4))
	}
	if tube <= 0 {
		say(of(part.KindNock), "The length leaves no tube ahead of the nock: make it longer than %s.", units.Span(b.Nock.ThroatOffset(), 4))
		return out
	}
	tooLong := func(kind part.Kind, length unit.Length) {
		if length > tube {
			say(of(kind), "The %s takes %s and the tube is only %s long: check both lengths.", kind, units.Span(length, 4), units.Span(tube, 4))
		}
	}
	if b.Insert.Given {
		tooLong(part.KindInsert, insert.Depth)
	}
	if b.Collar.Given {
		tooLong(part.KindCollar, collar.Length)
	}
	if b.Wrap.Given {
		tooLong(part.KindWrap, b.Wrap.Value.Length)
	}
	if v := &b.Vanes.Value; b.Vanes.Given && v.Rear+v.Length > b.Length {
		say(of(part.KindVanes), "The vanes reach %s from the throat, past the cut end: check their length and position.", units.Span(v.Rear+v.Length, 4))
	}
	return out
}

func (c *checker) misfit() {
	for _, clash := range Misfits(c.Build, c.Units) {
		c.add(Misfit, Warn, "%s", clash.Text)
	}
}

// overLimit compares with the user's own rules sheet.
func (c *checker) overLimit() {
	if !c.Job.Limits.Given {
		return
	}
	l := &c.Job.Limits.Value
	const sheet = "on your rules sheet: check the class, club or law it stands for"
	// of says which limit the cautions since then are about.
	of := func(from int, what string) {
		for i := range c.out[from:] {
			c.out[from+i].Limit = what
		}
	}
	above := func(key figure.Key, limit float64, most bool) {
		if limit == 0 {
			return
		}
		d := key.Definition()
		defer of(len(c.out), d.Title)
		fig, ok := c.Figure(key)
		if !ok {
			c.unchecked(OverLimit, fmt.Sprintf("the limit of %s on your rules sheet", c.measure(limit, d.Unit)), "the figure "+d.Title)
			return
		}
		if most && fig.Value > limit {
			c.add(OverLimit, Warn, "%s %s is above the %s %s.", d.Title, c.plusMinus(fig), c.measure(limit, d.Unit), sheet)
		}
		if !most && fig.Value < limit {
			c.add(OverLimit, Warn, "%s %s is below the %s %s.", d.Title, c.plusMinus(fig), c.measure(limit, d.Unit), sheet)
		}
		c.close(OverLimit, fig, limit)
	}
	above(figure.LaunchSpeed, float64(l.MaxSpeed), true)
	above(figure.TotalWeight, float64(l.MinWeight), false)
	above(figure.WeightPerDraw, float64(l.MinWeightPerDraw), false)
	stated := func(what string, value, limit float64, given, most bool, u unit.Unit, input string) {
		side := "below"
		if most {
			side = "above"
		}
		defer of(len(c.out), what)
		switch {
		case limit == 0:
		case !given:
			c.unchecked(OverLimit, fmt.Sprintf("the limit of %s on your rules sheet", c.measure(limit, u)), input)
		case most && value > limit, !most && value < limit:
			c.add(OverLimit, Warn, "%s %s is %s the %s %s.", what, c.measure(value, u), side, c.measure(limit, u), sheet)
		}
	}
	diameter, cut, peak := c.Build.Shaft.OuterDiameter, c.Build.Head.CutWidth, c.bow.Peak
	stated("Shaft diameter", float64(diameter.Value), float64(l.MaxDiameter), diameter.Given, true, unit.Millimetres, "the shaft's outer diameter")
	if c.Build.Head.Blades > 0 {
		stated("Cut width", float64(cut.Value), float64(l.MinCutWidth), cut.Given, false, unit.Inches, "the head's cut width")
	}
	stated("Peak weight", float64(peak.Value), float64(l.MinPeak), peak.Given, false, unit.PoundsForce, "the bow's peak draw weight")
	stated("Peak weight", float64(peak.Value), float64(l.MaxPeak), peak.Given, true, unit.PoundsForce, "the bow's peak draw weight")
	if !l.ElectronicsAllowed() && c.Build.Nock.Lighted {
		defer of(len(c.out), "electronics")
		c.add(OverLimit, Warn, "The nock is lighted and electronics are not allowed %s.", sheet)
	}
}
