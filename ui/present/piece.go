package present

import (
	"fmt"
	"math"
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

// Piece describes what is in a slot of a build in a few words, in the units given.
func Piece(units unit.System, b *arrow.Build, s Slot) string {
	switch s {
	case Slot(part.KindShaft):
		return shaft(units, &b.Shaft)
	case SlotLength:
		return Length(units, b)
	case Slot(part.KindNock):
		return weighed(units, b.Nock.Weight, b.Nock.Name)
	case Slot(part.KindHead):
		return weighed(units, b.Head.Weight, b.Head.Name)
	case Slot(part.KindInsert):
		if b.Insert.Given {
			return weighed(units, b.Insert.Value.Weight, b.Insert.Value.Name)
		}
	case Slot(part.KindCollar):
		if b.Collar.Given {
			return weighed(units, b.Collar.Value.Weight, b.Collar.Value.Name)
		}
	case Slot(part.KindVanes):
		if v := &b.Vanes.Value; b.Vanes.Given {
			return strings.TrimSpace(fmt.Sprintf("%d × %s %s", v.Count, Weight(units, v.Weight), v.Name))
		}
	case Slot(part.KindWrap):
		if b.Wrap.Given {
			return weighed(units, b.Wrap.Value.Weight, b.Wrap.Value.Name)
		}
	case SlotExtras:
		if len(b.Extras) > 0 {
			var words []string
			for i := range b.Extras {
				words = append(words, weighed(units, b.Extras[i].Weight, b.Extras[i].Name)+" at "+Quantity(units, float64(b.Extras[i].Balance), unit.Inches))
			}
			return strings.Join(words, ", ")
		}
	}
	return None
}

func shaft(units unit.System, s *part.Shaft) string {
	var words []string
	switch {
	case s.Name != "":
		words = append(words, s.Name)
	default:
		if s.Spine.Given {
			words = append(words, Spine(s.Spine.Value))
		}
		if s.WeightPerInch.Given {
			words = append(words, Quantity(units, float64(s.WeightPerInch.Value), unit.GrainsPerInch))
		}
	}
	// A tube that was weighed counts in place of its weight by the inch.
	if s.TubeWeight.Given {
		words = append(words, "tube "+Weight(units, s.TubeWeight.Value))
	}
	return strings.Join(words, " ")
}

// Spine writes static spine the way it is printed on shafts: .300
func Spine(spine unit.Length) string {
	return strings.TrimPrefix(fmt.Sprintf("%.3f", spine.In(unit.Inch)), "0")
}

func weighed(units unit.System, m unit.Mass, name string) string {
	return strings.TrimSpace(Weight(units, m) + " " + name)
}

// Length writes arrow length and the cut shaft it takes: customers measure both
// ways, so both are named.
func Length(units unit.System, b *arrow.Build) string {
	in := units.Shown(unit.Inches)
	return fmt.Sprintf("%s tube %s", span(units, b.Length), Places(in.Of(float64(b.Tube())), lengthPlaces(in)))
}

func span(units unit.System, l unit.Length) string {
	in := units.Shown(unit.Inches)
	return Places(in.Of(float64(l)), lengthPlaces(in)) + " " + in.Symbol
}

// lengthPlaces is how many decimals a length on an arrow shows at least.
func lengthPlaces(u unit.Unit) int {
	if u == unit.Millimetres {
		return 1
	}
	return 2
}

// Weight writes a weight with its unit, without needless zeros.
func Weight(units unit.System, m unit.Mass) string { return Quantity(units, float64(m), unit.Grains) }

// Quantity writes a value in SI in the unit that is shown where usual is the
// unit of the exchange format, without needless zeros.
func Quantity(units unit.System, value float64, usual unit.Unit) string {
	u := units.Shown(usual)
	number := u.Of(value)
	if u != usual && math.Abs(number) >= 100 {
		number = math.Round(100*number) / 100 // the digits behind are what the change of unit left
	}
	return Number(number) + " " + u.Symbol
}

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
