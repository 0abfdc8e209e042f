package ticket

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/dozen"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/present"
)

// work is what is done at the bench, in its order: one arrow as far as it can be shot, and
// then the others. The order and the care are common practice; makers' instructions come
// first.
func (p *paper) work() section {
	out := section{title: "Work steps", flows: true}
	add := func(what string, how ...string) {
		out.steps = append(out.steps, step{what, strings.Join(slices.DeleteFunc(how, func(s string) bool { return s == "" }), " ")})
	}
	p.shaft(add)
	if p.build.Tube() <= 0 {
		return out
	}
	p.front(add)
	p.rear(add)
	if !p.indexed() {
		p.head(add)
	}
	p.finish(add)
	if len(out.steps) > 0 && p.several() {
		out.words = []string{"Make ONE arrow up to the step in which it is shot, and cut, glue or fletch nothing of the others before that."}
	}
	return out
}

type adder func(what string, how ...string)

// several reports whether more arrows than one are to be made, or may be.
func (p *paper) several() bool { return p.assembly.Quantity.Or(2) != 1 }

// weighedSingly reports whether pieces of a kind were weighed one by one for the build list.
func (p *paper) weighedSingly(k dozen.Kind) bool { return p.pairing != nil && p.pairing.Has[k] }

// noted is what the drawer notes of a piece, for the step in which it is put on.
func noted(t part.Trade) string {
	if tidy(t.Note) == "" || t.Note == store.SampleNote { // which the parts list has
		return ""
	}
	return "Noted of it: " + strings.TrimSuffix(t.Note, ".") + "."
}

// shaft is what is done to the bare shaft.
func (p *paper) shaft(add adder) {
	b := p.build
	p.layOut(add)
	if b.Tube() <= 0 {
		add("Do not cut.", "The length leaves no shaft in front of the nock: ask whoever chose this build.")
		return
	}
	add("Mark the shaft.", "Before anything is cut number and marks go to the part that stays, clear of cleaner, adhesive and wrap.",
		"Stiff side, where it is marked, goes "+orBlank(p.assembly.StiffSide)+".")
	long := p.cut(b.Tube()) + " ± " + p.length(2*b.LengthUncertainty())
	throat := ""
	if !b.Nock.Throat.Given {
		throat = "The throat is taken to lie " + p.length(b.Nock.ThroatOffset()) + " behind the shaft, as is usual: measure it on the nock first. It is " + blank + "."
	}
	withNock := "With the nock that is " + p.cut(b.Length) + " from the throat to the cut end."
	if p.weighedSingly(dozen.Shafts) {
		add("Measure the shaft.", "It was weighed cut: end to end "+long+".", withNock, throat, "Right: do not cut it again, and square only an end that is not square. Longer: it is not as it was weighed; stop and ask.",
			"Look for splinters and cracks. Bare it weighs what its line of the build list has in brackets.")
	} else {
		add("Cut the shaft.", "Shaft alone, end to end, once both ends are square: "+long+"; leave a little for squaring.", withNock, throat,
			"Saw made for it, mask, eyes protected, dust drawn off. Taken off at the front "+blank+", at the rear "+blank+": as the shaft's maker says.")
		add("Square the ends.", "Both; mask and eyes as for cutting. Take the burr off inside, wipe, and look again for splinters and cracks.",
			"Bare it weighs "+p.twice(float64(b.ShaftWeight()), float64(b.WeightU(part.KindShaft)), unit.Grains)+".")
	}
	if p.assembly.BreakOff.Given {
		p.breakOff(add)
	}
	var loose []string
	if b.Insert.Given {
		loose = append(loose, "insert")
	}
	if b.Collar.Given {
		loose = append(loose, "collar")
	}
	if len(loose) > 0 {
		add("Try and clean.", fmt.Sprintf("Without adhesive %s must go on by hand, without force and without play. Then clean both sides of each joint as the makers of shaft and adhesive say, and let them dry. Gloves, fresh air.", listed(loose)))
	}
}

// layOut is what is looked at before anything is done.
func (p *paper) layOut(add adder) {
	b := p.build
	words := []string{"Count them. Shafts: straight, no nick, no crack: turn, flex and listen. What is in doubt is set aside and not built on."}
	if b.Shaft.Spine.Given {
		words = append(words, "Spine "+present.Spine(b.Shaft.Spine.Value)+": set aside what is marked otherwise.")
	}
	list := "Weigh one of each but the shaft against the parts list"
	if p.pairing != nil {
		var kinds []string
		for k := range dozen.Kinds {
			if p.pairing.Has[k] {
				kinds = append(kinds, k.String())
			}
		}
		words = append(words, fmt.Sprintf("The %s were weighed one by one and have the numbers of the build list: take for each arrow those of its line. A piece whose number is lost is weighed again.", listed(kinds)))
		list = "Weigh one of each of the others against the parts list"
	}
	if b.Head.Blades > 0 {
		list += ", heads without their cover"
	}
	words = append(words, list+".")
	if b.Head.Blades > 0 {
		point := "Have ready for the first shot: a field point of " + p.weight(b.Head.Weight)
		if b.Head.Thread != "" {
			point += ", thread " + b.Head.Thread
		}
		words = append(words, point+".")
	}
	add("Lay out the pieces.", words...)
}

func (p *paper) breakOff(add adder) {
	i := &p.build.Insert.Value
	weight := p.twice(float64(i.Weight), float64(i.WeightU.Or(arrow.UnweighedU)), unit.Grains)
	switch {
	case !p.build.Insert.Given:
	case p.weighedSingly(dozen.Inserts):
		add("Take the insert of its line.", "They were weighed one by one as they are to be glued in: break nothing off them now. It is "+p.length(i.Depth)+" deep.")
	case p.assembly.BreakOff.Value == arrow.Broken:
		add("Break off the insert.", "One segment at a time, from the end that its maker says, weighing after each, until it weighs "+weight+". What is left is "+p.length(i.Depth)+" deep; where the two disagree, stop.")
	default:
		add("Leave the insert whole.", "Its segments stay on. It weighs "+weight+".")
	}
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

// cured ends a step in which something is glued.
const cured = "Cured by " + blank + "."

// indexed reports whether a head with blades is turned while its insert can still be turned.
func (p *paper) indexed() bool { return p.build.Head.Blades > 0 && p.build.Insert.Given }

// front is what is glued into and over the front end.
func (p *paper) front(add adder) {
	b := p.build
	if len(b.Extras) > 0 {
		var words []string
		for i := range b.Extras {
			e := &b.Extras[i]
			words = append(words, fmt.Sprintf("%s, %s, its middle %s from the throat, %s", orElse(e.Name, "an extra"), p.weight(e.Weight), p.length(e.Balance), p.fromCutEnd(e.Balance)))
		}
		add("See to the extras.", strings.Join(words, "; ")+". Adhesive is only counted here: its joint gets no more than below. Anything else is fitted at its place before what would be in its way.")
	}
	if b.Insert.Given {
		i := &b.Insert.Value
		words := []string{"Adhesive: " + orBlank(p.assembly.InsertAdhesive) + ". A thin coat, turned as it goes in: " + p.length(i.Depth) + " deep, " + p.proud() + ". Wipe off what comes out.", noted(i.Trade)}
		if p.indexed() {
			words = append(words, "Before it sets, screw the head on, its blades covered, and turn head and insert together to its index: "+orElse(strings.TrimSuffix(p.assembly.HeadIndex, "."), blank+" (blades against the mark on the shaft, or where the cock vane will stand)")+".")
			if b.Head.Thread != "" {
				words = append(words, "Thread "+b.Head.Thread+".")
			}
			words = append(words, "Use a broadhead wrench, never fingers.")
		}
		add("Glue in the insert.", append(words, cured)...)
	}
	if b.Collar.Given {
		c := &b.Collar.Value
		add("Glue on the collar.", "Adhesive: "+orBlank(p.assembly.CollarAdhesive)+". It covers the front "+p.length(c.Length)+" of the shaft and ends flush with the cut end.", noted(c.Trade), cured)
	}
}

// fromCutEnd says how far a place lies from the cut end, which a worker can reach with a
// ruler.
func (p *paper) fromCutEnd(x unit.Length) string {
	if d := p.build.Length - x; d >= 0 {
		return p.length(d) + " behind the cut end"
	}
	return p.length(x-p.build.Length) + " ahead of the cut end"
}

// rear is what goes on at the tail.
func (p *paper) rear(add adder) {
	b, a := p.build, &p.assembly
	if b.Wrap.Given {
		add("Put on the wrap.", p.length(b.Wrap.Value.Length)+" long, its rear edge at the rear end of the shaft. Straight, no bubbles, seam pressed down.", noted(b.Wrap.Value.Trade))
	}
	words := []string{"Press it in, without adhesive unless its maker says so; it must hold against a light pull and be whole."}
	if a.NockIndex != "" {
		words = append(words, "Turned: "+strings.TrimSuffix(a.NockIndex, ".")+".")
	} else {
		words = append(words, "Its index mark, where it has one, goes "+blank+".")
	}
	if b.Nock.Lighted {
		words = append(words, "Lighted: see that it lights and goes out again.")
	}
	add("Fit the nock.", append(words, noted(b.Nock.Trade))...)
	if v := &b.Vanes.Value; b.Vanes.Given && v.Count > 0 {
		words := []string{"Clean what the vanes stand on, and their feet, as the adhesive's maker says.", counted(v.Count) + ", adhesive: " + orBlank(a.VaneAdhesive) + ".", noted(v.Trade),
			"Rear edge " + p.rearEdge() + " (" + p.cut(v.Rear) + " from the throat).", p.fletching()}
		if v.Count > 1 {
			words = append(words, fmt.Sprintf("Spacing %s°.", present.Number(360/float64(v.Count))))
		}
		add("Fletch.", append(words, p.cockVane(), cured)...)
	}
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

// What the words of fletching mean, for whoever has another habit.
var (
	lies  = map[arrow.Fletching]string{arrow.Straight: "along the shaft, not turned", arrow.Offset: "straight vanes at an angle to the shaft", arrow.Helical: "curved around the shaft"}
	turns = map[arrow.Turn]string{arrow.Left: "left: with a vane on top its front lies to the left of its rear, seen from behind", arrow.Right: "right: with a vane on top its front lies to the right of its rear, seen from behind"}
)

// fletching says how the vanes lie along the shaft.
func (p *paper) fletching() string {
	a := &p.assembly
	lie := "straight / offset / helical (circle one)"
	if a.Fletching.Given {
		lie = capital(string(a.Fletching.Value)) + ", " + lies[a.Fletching.Value]
		if a.Fletching.Value == arrow.Straight {
			return lie + "."
		}
	}
	turn := "turned left / right, the side to which the front of a vane lies when it is on top, seen from behind (circle one)"
	if a.Turn.Given {
		turn = "turned " + turns[a.Turn.Value]
	}
	angle := blank
	if a.Angle.Given {
		angle = present.Number(a.Angle.Value.In(unit.Degree))
	}
	return capital(lie) + ", " + turn + "; angle " + angle + "°."
}

func capital(words string) string { return strings.ToUpper(words[:1]) + words[1:] }

// cockVane says where the odd vane stands against the string slot, which is upright on the
// string.
func (p *paper) cockVane() string {
	odd := "Cock vane"
	if p.build.Vanes.Value.Count%2 == 1 {
		odd += " (the odd one)"
	}
	switch a := p.assembly.CockVane; {
	case !a.Given:
		return odd + " in line with the string slot / square to it (circle one)."
	case a.Value == arrow.Out:
		return odd + " square to the string slot, pointing out, away from the riser, on the string."
	default:
		return odd + " in line with the string slot, pointing " + string(a.Value) + " on the string."
	}
}

// head is how a head goes on that is not turned with its insert.
func (p *paper) head(add adder) {
	h := &p.build.Head
	how := "Fit it as its maker says, with: " + longBlank + "."
	switch {
	case h.Thread != "":
		how = "Screw it in (thread " + h.Thread + ") until it is seated."
	case p.build.Insert.Given:
		how = "Screw it in until it is seated."
	}
	words := []string{how}
	if h.Blades > 0 {
		words = append(words, "Blades: a broadhead wrench, never fingers, and the cover on at once. Index: "+orElse(strings.TrimSuffix(p.assembly.HeadIndex, "."), blank)+"; never back it off to line it up.")
	}
	add("Fit the head.", append(words, noted(h.Trade))...)
}

// unweighed returns the standard uncertainty of what an arrow of the build list weighs: of
// the pieces that were not weighed one by one, and of one reading for each kind that was.
func (p *paper) unweighed() unit.Mass {
	sum := 0.0
	add := func(u unit.Mass) { sum = math.Hypot(sum, float64(u)) }
	for _, kind := range part.Kinds {
		single := false
		for k := range dozen.Kinds {
			single = single || p.weighedSingly(k) && k.One() == string(kind)
		}
		if single {
			add(arrow.WeighedU)
		} else {
			add(p.build.WeightU(kind))
		}
	}
	for i := range p.build.Extras {
		add(p.build.Extras[i].WeightU.Or(arrow.UnweighedU))
	}
	return unit.Mass(sum)
}

// next returns which arrow of the build list is the next to make, and what it weighs.
func (p *paper) next() (arrow int, weighs unit.Mass) {
	batch := &p.build.Dozen.Value
	for i := range p.pairing.Arrows {
		if i >= len(batch.Plan) || !batch.Plan[i].Made {
			arrow = i
			break
		}
	}
	one := p.build.With(batch, p.pairing.Arrows[arrow])
	return arrow, one.Moments().Total
}

// finish is the first arrow, and then the rest.
func (p *paper) finish(add adder) {
	b := &p.sheet.Builds[p.at]
	blades := p.build.Head.Blades > 0
	weight := longBlank
	if total, ok := b.Figure(figure.TotalWeight); ok {
		weight = p.twice(total.Value, total.U, unit.Grains)
	}
	each := weight
	words := []string{"It must weigh " + weight + "."}
	if p.pairing != nil && len(p.pairing.Arrows) > 0 {
		at, weighs := p.next()
		words = []string{fmt.Sprintf("Of the build list it is arrow %d and must weigh %s.", at+1, p.twice(float64(weighs), float64(p.unweighed()), unit.Grains))}
		in := p.units.Shown(unit.Grains)
		_, off := figure.Rounded(0, 2*float64(p.unweighed())/in.Size)
		each = fmt.Sprintf("what its line of the build list says ± %s %s", off, in.Symbol)
	}
	if balance, ok := b.Figure(figure.BalancePoint); ok {
		words = append(words, "On an edge it must balance "+p.twice(balance.Value, balance.U, unit.Inches)+" from the throat.")
	}
	if blades {
		words = append(words, "Both without the cover, which goes on again at once.")
	}
	add("Weigh and balance it.", append(words, "What lies outside: find out why before going on. It weighs "+blank+", balances at "+blank+".")...)
	spin := "On its tip or on rollers: neither tip nor nock may wobble."
	if blades {
		spin = "Cover off, on rollers, turned at the nock end: neither head nor nock may wobble. Cover on again."
	}
	add("Spin it.", spin, "What fails here or in the step before is neither shot nor handed over.")
	const care = "The nock must snap on the string of this bow, hold, and come off with a light tap. From close by, with nobody in front of or beside the line of fire, into a backstop that holds it; then look at nock and shaft."
	how := care
	if blades {
		how = "First with the field point: cover on, take the broadhead off with its wrench. " + care + " Then the broadhead again, to its index and spun, and only at a target rated for it."
	}
	if !p.several() {
		add("Shoot it before it is handed over.", how, "Shot by "+longBlank+".")
	} else {
		add("Shoot one before making the rest.", how, "Weight, balance, flight and nock fit are right: "+longBlank+" (name). Without a name here no more are made.")
		rest := "the other " + blank
		if q := p.assembly.Quantity; q.Given {
			rest = fmt.Sprintf("the other %d", q.Value-1)
		}
		add("Make the rest.", "Make "+rest+" the same way, from the first step on.")
	}
	number := "Number them where the number lasts."
	if p.pairing != nil {
		number = "Write on each its arrow number of the build list, where it lasts."
	}
	add("Check them all.", "Each weighs "+each+". Spin each, look at each nock"+suffix(blades, ", cover each blade")+". "+number+" This sheet goes with them.")
}
