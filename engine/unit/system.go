package unit

import (
	"fmt"
	"strconv"
	"strings"
)

// System is the units that a user wants to see and type. The zero System is the
// trade's own: grains, inches, feet per second, pounds and yards. What is kept
// in files never changes with it.
//
// Grains per pound and static spine are the same in every System: limits and
// charts are printed in them everywhere.
type System struct {
	Grams    bool   // else grains
	Metric   Metric // how lengths on an arrow or a bow are shown
	Metres   bool   // distances to a target; else yards
	PerSec   bool   // speeds in metres per second, energies in joules; else feet per second and foot-pounds
	InNewton bool   // draw weights; else pounds
}

// Metric is a choice of unit for short lengths.
type Metric int

// The units of short lengths.
const (
	NotMetric Metric = iota // inches
	InCentimetres
	InMillimetres
)

// The units of figures that nobody types.
var (
	GrainSquareInches  = Unit{Symbol: "gr·in²", Size: float64(GrainSquareInch)}
	PoundSeconds       = Unit{Symbol: "lbf·s", Size: float64(PoundSecond)}
	PoundSquareInches  = Unit{Symbol: "lbf·in²", Size: float64(PoundForce) * float64(Inch) * float64(Inch)}
	gramSquareCentims  = Unit{Symbol: "g·cm²", Size: float64(Gram) * float64(Centimetre) * float64(Centimetre)}
	newtonSeconds      = Unit{Symbol: "N·s", Size: 1}
	newtonSquareMetres = Unit{Symbol: "N·m²", Size: 1}
	gramsPerMetre      = Unit{"g/m", OfLinearDensity, float64(Gram), 0}
	joules             = Unit{"J", OfEnergy, float64(Joule), 0}
)

// Shown returns the unit in which a value is shown and typed that the exchange
// format gives in the unit u.
func (s System) Shown(u Unit) Unit {
	switch {
	case u == Grains && s.Grams:
		return Grams
	case u == GrainsPerInch && s.Grams:
		return gramsPerMetre
	case u == GrainSquareInches && s.Grams:
		return gramSquareCentims
	case u == Inches && s.Metric == InCentimetres:
		return Centimetres
	case u == Inches && s.Metric == InMillimetres:
		return Millimetres
	case u == Yards && s.Metres:
		return Metres
	case u == FeetPerSecond && s.PerSec, u == MilesPerHour && s.PerSec:
		return MetresPerSec
	case u == FootPounds && s.PerSec:
		return joules
	case u == PoundSeconds && s.PerSec:
		return newtonSeconds
	case u == PoundsForce && s.InNewton:
		return Newtons
	case u == PoundSquareInches && s.InNewton:
		return newtonSquareMetres
	}
	return u
}

// ParseSystem reads a list of units such as "g, cm, m/s, N, m": those named take
// the place of the trade's. The error names what is not understood.
func ParseSystem(list string) (System, error) {
	var s System
	for _, word := range strings.Split(list, ",") {
		switch strings.TrimSpace(word) {
		case "", Grains.Symbol, FeetPerSecond.Symbol, PoundsForce.Symbol, Yards.Symbol, Inches.Symbol:
		case Grams.Symbol:
			s.Grams = true
		case Centimetres.Symbol:
			s.Metric = InCentimetres
		case Millimetres.Symbol:
			s.Metric = InMillimetres
		case MetresPerSec.Symbol:
			s.PerSec = true
		case Newtons.Symbol:
			s.InNewton = true
		case Metres.Symbol:
			s.Metres = true
		default:
			return System{}, fmt.Errorf("unit %q: want some of gr or g, in, cm or mm, ft/s or m/s, lb or N, yd or m", strings.TrimSpace(word))
		}
	}
	return s, nil
}

// Fine returns the unit of diameters: inches, or millimetres wherever lengths
// are metric.
func (s System) Fine() Unit {
	if s.Metric != NotMetric {
		return Millimetres
	}
	return Inches
}

// Weight writes a mass with at most that many significant digits and its unit.
func (s System) Weight(m Mass, digits int) string { return s.write(float64(m), Grains, digits) }

// Span writes a length on an arrow or a bow like Weight.
func (s System) Span(l Length, digits int) string { return s.write(float64(l), Inches, digits) }

// Distance writes a distance to a target like Weight.
func (s System) Distance(l Length, digits int) string { return s.write(float64(l), Yards, digits) }

// Pull writes a draw weight like Weight.
func (s System) Pull(f Force, digits int) string { return s.write(float64(f), PoundsForce, digits) }

// Bore writes a diameter to a thousandth of an inch or a hundredth of a millimetre.
func (s System) Bore(l Length) string {
	if u := s.Fine(); u == Millimetres {
		return fmt.Sprintf("%.2f mm", u.Of(float64(l)))
	}
	return fmt.Sprintf("%.3f in", l.In(Inch))
}

func (s System) write(value float64, u Unit, digits int) string {
	u = s.Shown(u)
	// Through a text with an exponent, which no sentence may have.
	number, err := strconv.ParseFloat(strconv.FormatFloat(u.Of(value), 'e', digits-1, 64), 64)
	if err != nil {
		number = u.Of(value) // not a number: it is written as such
	}
	return strconv.FormatFloat(number, 'f', -1, 64) + " " + u.Symbol
}
