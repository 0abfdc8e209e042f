package present

import (
	"fmt"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// Slot is a place in a build that a piece or a number goes into: a row of the
// bench above the figures.
type Slot string

// The slots that are not a kind of piece.
const (
	SlotLength Slot = "length"
	SlotExtras Slot = "extras"
)

// Slots lists the places of a build in the order of the bench.
var Slots = []Slot{Slot(part.KindShaft), SlotLength, Slot(part.KindInsert), Slot(part.KindCollar), Slot(part.KindHead),
	Slot(part.KindNock), Slot(part.KindVanes), Slot(part.KindWrap), SlotExtras}

// Kind returns the kind of piece that goes into the slot, and false for slots
// that hold none of the drawer's kinds.
func (s Slot) Kind() (part.Kind, bool) {
	return part.Kind(s), s != SlotLength && s != SlotExtras
}

// None is shown where a build does without a piece.
const None = "none"

// Piece describes what is in a slot of a build in a few words.
func Piece(b *arrow.Build, s Slot) string {
	switch s {
	case Slot(part.KindShaft):
		return shaft(&b.Shaft)
	case SlotLength:
		return Length(b)
	case Slot(part.KindNock):
		return weighed(b.Nock.Weight, b.Nock.Name)
	case Slot(part.KindHead):
		return weighed(b.Head.Weight, b.Head.Name)
	case Slot(part.KindInsert):
		if b.Insert.Given {
			return weighed(b.Insert.Value.Weight, b.Insert.Value.Name)
		}
	case Slot(part.KindCollar):
		if b.Collar.Given {
			return weighed(b.Collar.Value.Weight, b.Collar.Value.Name)
		}
	case Slot(part.KindVanes):
		if v := &b.Vanes.Value; b.Vanes.Given {
			return strings.TrimSpace(fmt.Sprintf("%d × %s %s", v.Count, Grains(v.Weight), v.Name))
		}
	case Slot(part.KindWrap):
		if b.Wrap.Given {
			return weighed(b.Wrap.Value.Weight, b.Wrap.Value.Name)
		}
	case SlotExtras:
		if len(b.Extras) > 0 {
			var words []string
			for i := range b.Extras {
				words = append(words, weighed(b.Extras[i].Weight, b.Extras[i].Name)+" at "+Number(b.Extras[i].Balance.In(unit.Inch))+" in")
			}
			return strings.Join(words, ", ")
		}
	}
	return None
}

func shaft(s *part.Shaft) string {
	var words []string
	switch {
	case s.Name != "":
		words = append(words, s.Name)
	default:
		if s.Spine.Given {
			words = append(words, Spine(s.Spine.Value))
		}
		if s.WeightPerInch.Given {
			words = append(words, Number(s.WeightPerInch.Value.In(unit.GrainPerInch))+" gr/in")
		}
	}
	// A tube that was weighed counts in place of its weight by the inch.
	if s.TubeWeight.Given {
		words = append(words, "tube "+Grains(s.TubeWeight.Value))
	}
	return strings.Join(words, " ")
}

// Spine writes static spine the way it is printed on shafts: .300
func Spine(spine unit.Length) string {
	return strings.TrimPrefix(fmt.Sprintf("%.3f", spine.In(unit.Inch)), "0")
}

func weighed(m unit.Mass, name string) string {
	return strings.TrimSpace(Grains(m) + " " + name)
}

// Length writes arrow length and the cut shaft it takes: customers measure both
// ways, so both are named.
func Length(b *arrow.Build) string {
	return fmt.Sprintf("%s tube %s", inches(b.Length), Places(b.Tube().In(unit.Inch), 2))
}

func inches(l unit.Length) string { return Places(l.In(unit.Inch), 2) + " in" }

// Grains writes a weight with its unit, without needless zeros.
func Grains(m unit.Mass) string { return Number(m.In(unit.Grain)) + " gr" }

// Number writes a number with up to three decimals, without needless zeros.
func Number(x float64) string { return figure.Minus(trimZeros(fmt.Sprintf("%.3f", x))) }

// Places writes a number with that many decimals at least and three at most.
func Places(x float64, decimals int) string {
	fixed, full := fmt.Sprintf("%.*f", decimals, x), trimZeros(fmt.Sprintf("%.3f", x))
	if len(full) > len(fixed) {
		return figure.Minus(full)
	}
	return figure.Minus(fixed)
}
