package ticket

import (
	"fmt"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/dozen"
	"foreshaft/engine/figure"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// work is what is done at the bench, in its order. The order and the care are common
// practice; makers' instructions come first.
func (p *paper) work() section {
	out := section{title: "Work steps", flows: true}
	add := func(what string, how ...string) {
		out.steps = append(out.steps, step{what, strings.Join(how, " ")})
	}
	b := p.build
	p.shafts(add)
	if len(b.Extras) > 0 {
		var words []string
		for i := range b.Extras {
			e := &b.Extras[i]
			words = append(words, fmt.Sprintf("%s, %s, its middle %s from the throat (%s)", orElse(e.Name, "an extra"), p.weight(e.Weight), p.length(e.Balance), p.fromCutEnd(e.Balance)))
		}
		add("Fit the extras.", "Each where it belongs, before what would be in its way: "+strings.Join(words, "; ")+".")
	}
	p.front(add)
	p.rear(add)
	p.head(add)
	p.finish(add)
	return out
}

// fromCutEnd says how far a place lies from the cut end, which a worker can reach with a
// ruler.
func (p *paper) fromCutEnd(x unit.Length) string {
	if d := p.build.Length - x; d >= 0 {
		return p.length(d) + " behind the cut end"
	}
	return p.length(x-p.build.Length) + " ahead of the cut end"
}

type adder func(what string, how ...string)

// shafts is what is done to the bare shafts.
func (p *paper) shafts(add adder) {
	b, s := p.build, &p.build.Shaft
	words := []string{"Straight, no nick, no crack: turn it, flex it, listen. Nothing doubtful is built on."}
	if s.Spine.Given {
		words = append(words, "Spine "+present.Spine(s.Spine.Value)+": sort out what is marked otherwise.")
	}
	words = append(words, "Mark the stiff side; it goes: "+orBlank(p.assembly.StiffSide)+".")
	if p.pairing != nil {
		if p.pairing.Has[dozen.Shafts] {
			words = append(words, "Keep the numbers of the weighed shafts on them, and take each with the pieces of its line of the build list.")
		} else {
			words = append(words, "Take pieces by the lines of the build list.")
		}
	}
	add("Check the shafts.", words...)
	if b.Tube() <= 0 {
		add("Do not cut.", "The length leaves no shaft in front of the nock: ask whoever chose this build.")
		return
	}
	words = []string{"Cut shaft length " + p.cut(b.Tube()) + ", end to end, without nock and insert.",
		"With the nock that is arrow length " + p.cut(b.Length) + ", throat to cut end."}
	if !b.Nock.Throat.Given {
		words = append(words, "The throat is taken to lie "+p.length(b.Nock.ThroatOffset())+" behind the shaft, as is usual: measure it on the nock first. It should be "+blank+".")
	}
	words = append(words, "Abrasive saw made for it, mask on, eyes protected. From the end that the shaft's maker names; where both are trimmed note it here: "+blank+".")
	add("Cut the shafts.", words...)
	square := "Both, on a squaring tool. Measure again."
	if s.TubeWeight.Given {
		square += " A bare cut shaft weighs " + p.twice(float64(b.ShaftWeight()), float64(b.WeightU("shaft")), unit.Grains) + "."
	}
	add("Square the ends.", square)
	add("Clean.", "Inside the front end, and outside where something is glued on, as the shaft's maker allows. No dust; let it dry.")
	var loose []string
	if b.Insert.Given {
		loose = append(loose, "insert")
	}
	if b.Collar.Given {
		loose = append(loose, "collar")
	}
	loose = append(loose, "nock")
	add("Fit dry.", fmt.Sprintf("Try %s without adhesive: on by hand, no force, no play.", listed(loose)))
}

// listed writes words with commas and an and.
func listed(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

// twice writes a value in SI with two standard uncertainties: what nearly all pieces lie
// within.
func (p *paper) twice(value, u float64, usual unit.Unit) string { return p.about(value, 2*u, usual) }

// front is what is glued into and over the front end.
func (p *paper) front(add adder) {
	b := p.build
	if b.Insert.Given {
		i := &b.Insert.Value
		weight := p.twice(float64(i.Weight), float64(i.WeightU.Or(arrow.UnweighedU)), unit.Grains)
		switch p.assembly.BreakOff.Value {
		case arrow.Broken:
			add("Break off the insert.", "Break it off and weigh: it must weigh "+weight+".")
		case arrow.Whole:
			add("Leave the insert whole.", "It has a part made to be broken off, which stays on. Weigh: "+weight+".")
		}
		depth := p.cut(i.Depth) + " into the shaft, " + p.proud() + "."
		add("Glue in the insert.", "Adhesive: "+orBlank(p.assembly.InsertAdhesive)+". Thin coat, turned as it goes in:", depth,
			"Wipe; let it cure as the adhesive's maker says.")
	}
	if b.Collar.Given {
		c := &b.Collar.Value
		add("Glue on the collar.", "Adhesive: "+orBlank(p.assembly.CollarAdhesive)+". It covers the front "+p.cut(c.Length)+" of the shaft and ends flush with the cut end. Wipe, let it cure as the adhesive's maker says.")
	}
}

// rear is what goes on at the tail.
func (p *paper) rear(add adder) {
	b, a := p.build, &p.assembly
	if b.Wrap.Given {
		add("Put on the wrap.", p.cut(b.Wrap.Value.Length)+" long, its rear edge at the rear end of the shaft. Straight, no bubbles, seam pressed down.")
	}
	if v := &b.Vanes.Value; b.Vanes.Given && v.Count > 0 {
		words := []string{counted(v.Count) + ", adhesive: " + orBlank(a.VaneAdhesive) + ".", "Rear edge " + p.rearEdge() + " (" + p.cut(v.Rear) + " from the throat).", p.fletching()}
		if v.Count > 1 {
			words = append(words, fmt.Sprintf("Spacing %s°.", present.Number(360/float64(v.Count))))
		}
		words = append(words, p.cockVane())
		add("Fletch.", words...)
	}
	index := "Index: " + orBlank(a.NockIndex) + "."
	if a.CockVane.Given && b.Vanes.Given && b.Vanes.Value.Count > 0 {
		index += " Turn the string slot until the cock vane points " + string(a.CockVane.Value) + "."
	} else {
		index += " Turn the string slot to the fletching."
	}
	words := []string{"Push it home, without adhesive unless its maker says so.", index, "Pull lightly: it must stay. It must be whole."}
	if b.Nock.Lighted {
		words = append(words, "Lighted: see that it lights and goes out again.")
	}
	add("Fit the nock.", words...)
}

func counted(vanes int) string {
	if vanes == 1 {
		return "1 vane"
	}
	return fmt.Sprintf("%d vanes", vanes)
}

// rearEdge says where a jig is set: from the rear end of the shaft.
func (p *paper) rearEdge() string {
	gap := p.build.Vanes.Value.Rear - p.build.Nock.ThroatOffset()
	switch {
	case gap < -atEnd:
		return p.cut(-gap) + " behind the rear end of the shaft, which leaves it nothing to stick to there: ask first,"
	case gap <= atEnd:
		return "at the rear end of the shaft"
	}
	return p.cut(gap) + " ahead of the rear end of the shaft"
}

// atEnd is less than anyone measures: such an edge lies at the end itself.
const atEnd = 1e-6 * unit.Metre

// fletching says how the vanes lie along the shaft.
func (p *paper) fletching() string {
	a := &p.assembly
	lie, turn, angle := "straight / offset / helical", "left / right", blank
	if a.Turn.Given {
		turn = string(a.Turn.Value)
	}
	if a.Angle.Given {
		angle = present.Number(a.Angle.Value.In(unit.Degree))
	}
	if a.Fletching.Given {
		lie = string(a.Fletching.Value)
		if a.Fletching.Value == arrow.Straight {
			return "Straight: along the shaft, not turned."
		}
	} else {
		lie += " (circle one)"
	}
	if !a.Turn.Given {
		turn += " (circle one)"
	}
	words := fmt.Sprintf("Set %s, %s, %s°", lie, turn, angle)
	return words + " (offset: a straight vane at an angle; helical: curved around the shaft; left: the front of each vane left of its rear, seen from behind)."
}

// cockVane says where the odd vane points.
func (p *paper) cockVane() string {
	way := "up / down / out (circle one)"
	if p.assembly.CockVane.Given {
		way = string(p.assembly.CockVane.Value)
	}
	return "Cock vane (the odd one) " + way + " (up and down: in line with the string slot; out: square to it, away from the riser)."
}

// head is how the head goes on.
func (p *paper) head(add adder) {
	h := &p.build.Head
	how := "Fit it as its maker says, with: " + longBlank + "."
	switch {
	case h.Thread != "":
		how = "Screw it in (thread " + h.Thread + ") until it is seated, once the adhesive has cured."
	case p.build.Insert.Given:
		how = "Screw it in until it is seated, once the adhesive has cured."
	}
	words := []string{how}
	if h.Blades > 0 {
		words = append(words, "Blades: use a broadhead wrench, never fingers, and cover them at once.")
	}
	if h.Blades > 0 || p.assembly.HeadIndex != "" {
		words = append(words, "Index: "+orBlank(p.assembly.HeadIndex)+".")
	}
	add("Fit the head.", append(words, "Spin it: the tip must not wobble.")...)
}

// finish is the first arrow, and then the rest.
func (p *paper) finish(add adder) {
	b := &p.sheet.Builds[p.at]
	total, weighs := b.Figure(figure.TotalWeight)
	balance, balances := b.Figure(figure.BalancePoint)
	foc, hasFOC := b.Figure(figure.FOC)
	weight := longBlank
	if weighs {
		weight = p.twice(total.Value, total.U, unit.Grains)
	}
	words := []string{"It must weigh " + weight + "."}
	if p.pairing != nil {
		words = append(words, "The build list has what each comes to by itself.")
	}
	if balances {
		words = append(words, "It must balance "+p.twice(balance.Value, balance.U, unit.Inches)+" from the throat"+p.share(foc, hasFOC)+".")
	}
	words = append(words, "(± two standard uncertainties. What lies outside: find out why before going on.) It weighs "+blank+", balances at "+blank+".")
	add("Weigh the first finished arrow.", words...)
	q := p.assembly.Quantity
	const care = "Close, alone, at a backstop that holds it; then look at nock and shaft."
	if q.Given && q.Value == 1 {
		add("Shoot it before it is handed over.", care)
	} else {
		add("Shoot one before making the rest.", care+" Weight, balance, flight and nock fit are right: "+blank+".")
		rest := "the other " + blank
		if q.Given {
			rest = fmt.Sprintf("the other %d", q.Value-1)
		}
		add("Make the rest.", "Make "+rest+" the same way, from the first step on.")
	}
	check := "Weigh each: " + p.within(total, weighs) + "."
	if p.pairing != nil && len(p.pairing.Arrows) > 0 {
		in := p.units.Shown(unit.Grains)
		check = fmt.Sprintf("Weigh each against its line of the build list, by which no two differ by more than %s %s.", present.Number(in.Of(float64(unit.Mass(p.pairing.Spread)*unit.Grain))), in.Symbol)
	}
	add("Check them all.", check+" Spin each, look at each nock, number them.")
}

// share writes FOC behind a balance point.
func (p *paper) share(foc figure.Figure, there bool) string {
	if !there {
		return ""
	}
	return ", FOC " + p.twice(foc.Value, foc.U, unit.Percent)
}

// within says between which weights all arrows lie.
func (p *paper) within(total figure.Figure, there bool) string {
	if !there {
		return "all between " + blank + " and " + blank
	}
	in := p.units.Shown(unit.Grains)
	return fmt.Sprintf("all between %s and %s %s", plainWeight(in, unit.Mass(max(total.Value-2*total.U, 0))), plainWeight(in, unit.Mass(total.Value+2*total.U)), in.Symbol)
}
