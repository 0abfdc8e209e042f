package unit

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Dimension is the kind of quantity that a Unit measures.
type Dimension int

// The dimensions that people type values of.
const (
	Plain Dimension = iota // a number without a unit
	OfMass
	OfLength
	OfLinearDensity
	OfSpeed
	OfForce
	OfTemperature
	OfPressure
	OfAngle
	OfMassPerForce
	OfEnergy
	OfShare // a percentage
)

// Unit is a named size of one dimension. A value in SI is number·Size + Zero.
type Unit struct {
	Symbol    string
	Dimension Dimension
	Size      float64
	Zero      float64
}

// From turns a number of this unit into SI.
func (u Unit) From(number float64) float64 { return number*u.Size + u.Zero }

// Of turns a value in SI into a number of this unit.
func (u Unit) Of(value float64) float64 { return (value - u.Zero) / u.Size }

// The units in which values are typed and shown.
var (
	Number         = Unit{"", Plain, 1, 0}
	Percent        = Unit{"%", OfShare, 0.01, 0}
	Grains         = Unit{"gr", OfMass, float64(Grain), 0}
	Grams          = Unit{"g", OfMass, float64(Gram), 0}
	Inches         = Unit{"in", OfLength, float64(Inch), 0}
	Yards          = Unit{"yd", OfLength, float64(Yard), 0}
	Metres         = Unit{"m", OfLength, float64(Metre), 0}
	Centimetres    = Unit{"cm", OfLength, float64(Centimetre), 0}
	Millimetres    = Unit{"mm", OfLength, float64(Millimetre), 0}
	GrainsPerInch  = Unit{"gr/in", OfLinearDensity, float64(GrainPerInch), 0}
	FeetPerSecond  = Unit{"ft/s", OfSpeed, float64(FootPerSecond), 0}
	MetresPerSec   = Unit{"m/s", OfSpeed, float64(MetrePerSecond), 0}
	MilesPerHour   = Unit{"mph", OfSpeed, float64(MilePerHour), 0}
	FootPounds     = Unit{"ft·lbf", OfEnergy, float64(FootPound), 0}
	PoundsForce    = Unit{"lb", OfForce, float64(PoundForce), 0}
	Newtons        = Unit{"N", OfForce, float64(Newton), 0}
	DegreesCelsius = Unit{"°C", OfTemperature, 1, float64(ZeroCelsius)}
	Hectopascals   = Unit{"hPa", OfPressure, float64(Hectopascal), 0}
	GrainsPerPound = Unit{"gr/lb", OfMassPerForce, float64(GrainPerPound), 0}
	Degrees        = Unit{"°", OfAngle, float64(Degree), 0}
)

// spellings lists what people write behind a number, for each dimension, in
// lower case. A pound is a mass or a force by what is asked for.
var spellings = map[Dimension]map[string]Unit{
	Plain:   {"": Number},
	OfShare: {"%": Percent, "percent": Percent, "pct": Percent},
	OfMass: {
		"gr": Grains, "grain": Grains, "grains": Grains,
		"g": Grams, "gram": Grams, "grams": Grams,
		"kg": {"kg", OfMass, float64(Kilogram), 0},
		"oz": {"oz", OfMass, float64(Ounce), 0},
		"lb": {"lb", OfMass, float64(Pound), 0}, "lbs": {"lb", OfMass, float64(Pound), 0},
	},
	OfLength: {
		"in": Inches, "inch": Inches, "inches": Inches, `"`: Inches, "″": Inches, "''": Inches, "”": Inches,
		"cm": Centimetres, "mm": Millimetres, "m": Metres, "yd": Yards, "yds": Yards, "yard": Yards, "yards": Yards,
		"ft": {"ft", OfLength, float64(Foot), 0}, "foot": {"ft", OfLength, float64(Foot), 0}, "feet": {"ft", OfLength, float64(Foot), 0},
	},
	OfLinearDensity: {
		"gr/in": GrainsPerInch, "gpi": GrainsPerInch, "grains/inch": GrainsPerInch, "grains per inch": GrainsPerInch,
		"g/m": gramsPerMetre,
	},
	OfSpeed: {
		"ft/s": FeetPerSecond, "fps": FeetPerSecond, "m/s": MetresPerSec, "mph": MilesPerHour,
		"km/h": {"km/h", OfSpeed, float64(KilometrePerHour), 0}, "kph": {"km/h", OfSpeed, float64(KilometrePerHour), 0},
	},
	OfForce: {
		"lb": PoundsForce, "lbs": PoundsForce, "lbf": PoundsForce, "#": PoundsForce, "pound": PoundsForce, "pounds": PoundsForce,
		"n": Newtons, "newton": Newtons, "newtons": Newtons,
		"kg": {"kgf", OfForce, float64(KilogramForce), 0}, "kgf": {"kgf", OfForce, float64(KilogramForce), 0},
	},
	OfEnergy:       {"ft·lbf": FootPounds, "ft-lb": FootPounds, "ft lb": FootPounds, "ftlb": FootPounds, "j": joules},
	OfMassPerForce: {"gr/lb": GrainsPerPound, "grains per pound": GrainsPerPound},
	OfTemperature: {
		"c": DegreesCelsius, "°c": DegreesCelsius,
		"f": fahrenheit, "°f": fahrenheit,
		"k": {"K", OfTemperature, 1, 0},
	},
	OfPressure: {
		"hpa": Hectopascals, "mbar": Hectopascals, "mb": Hectopascals, "pa": {"Pa", OfPressure, 1, 0},
		"kpa": {"kPa", OfPressure, 1000, 0},
	},
	OfAngle: {"°": Degrees, "deg": Degrees, "degree": Degrees, "degrees": Degrees},
}

// fahrenheit reads 32 °F as 273.15 K.
var fahrenheit = Unit{"°F", OfTemperature, 5.0 / 9, float64(ZeroCelsius) - 32*5.0/9}

var (
	// A fraction alone, or a number with a fraction behind a gap; then the unit.
	numberShape   = regexp.MustCompile(`^([+-]?)\s*(?:(\d+)\s*/\s*(\d+)|(\d+(?:[.,]\d+)*[.,]?|[.,]\d+)(?:[\s-]+(\d+)\s*/\s*(\d+))?)([^\d].*)?$`)
	thousandShape = regexp.MustCompile(`^[1-9]\d{0,2}[.,]\d{3}([.,]\d{3})+$`)
	groupedShape  = regexp.MustCompile(`^\d{1,3}(?:(?:,\d{3})+\.\d*|(?:\.\d{3})+,\d*)$`)
	unclearShape  = regexp.MustCompile(`^[1-9]\d{0,2},\d{3}$`)
)

// vulgar spells the single-character fractions as typed ones.
var vulgar = strings.NewReplacer("½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8",
	"\u00a0", " ", "\u202f", " ", "−", "-", "⁄", "/")

// Parse reads what a person types into a field that expects the unit usual:
// "29 1/2", "29-1/2", "29.5 in", "75 cm", "32 g", "29,5". A number alone is in
// the usual unit, a unit of the same dimension is converted. The result is in
// SI. The error is a sentence that says what would be understood.
func Parse(text string, usual Unit) (float64, error) {
	clean := strings.TrimSpace(vulgar.Replace(text))
	if clean == "" {
		return 0, fmt.Errorf("type a number%s", inUnit(usual))
	}
	m := numberShape.FindStringSubmatch(clean)
	if m == nil {
		return 0, fmt.Errorf("%q does not read as a number%s", clip(text), inUnit(usual))
	}
	sign, whole, suffix := m[1], m[4], strings.TrimSpace(m[7])
	over, under := m[2]+m[5], m[3]+m[6]
	value, err := decimal(whole, text)
	if err != nil {
		return 0, err
	}
	if over != "" {
		part, err := fraction(over, under, text)
		if err != nil {
			return 0, err
		}
		if strings.ContainsAny(whole, ".,") {
			return 0, fmt.Errorf("%q mixes a decimal and a fraction", clip(text))
		}
		value += part
	}
	if sign == "-" {
		value = -value
	}
	as := usual
	if suffix != "" {
		found, ok := spellings[usual.Dimension][strings.ToLower(suffix)]
		if !ok {
			return 0, unknownUnit(suffix, usual)
		}
		as = found
	}
	result := as.From(value)
	if math.IsInf(result, 0) || math.IsNaN(result) {
		return 0, tooLarge(text)
	}
	return result, nil
}

// float reads plain digits. A number beyond float64 is too large, and anything
// else that is left over is not a number.
func float(digits, text string) (float64, error) {
	value, err := strconv.ParseFloat(digits, 64)
	switch {
	case errors.Is(err, strconv.ErrRange):
		return 0, tooLarge(text)
	case err != nil:
		return 0, fmt.Errorf("%q is not a number", clip(text))
	}
	return value, nil
}

func tooLarge(text string) error { return fmt.Errorf("%q is too large", clip(text)) }

// clip keeps what was typed short enough to repeat in a sentence.
func clip(text string) string {
	const most = 24
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}

// fraction reads a proper fraction. An improper one is nearly always a
// forgotten space ("291/2"), which would be far from what was meant.
func fraction(over, under, text string) (float64, error) {
	a, err := float(over, text)
	if err != nil {
		return 0, err
	}
	b, err := float(under, text)
	switch {
	case err != nil:
		return 0, err
	case b == 0:
		return 0, fmt.Errorf("%q divides by zero", clip(text))
	case a >= b:
		return 0, fmt.Errorf("%q has a fraction of one or more: put a space between the whole and the fraction", clip(text))
	}
	return a / b, nil
}

// decimal reads digits with a decimal point or comma. One comma before exactly
// three digits could be either reading, a factor of a thousand apart, so it is
// refused rather than guessed.
func decimal(digits, text string) (float64, error) {
	switch {
	case digits == "":
		return 0, nil
	case unclearShape.MatchString(digits):
		joined := strings.Replace(digits, ",", "", 1)
		pointed := strings.Replace(digits, ",", ".", 1)
		return 0, fmt.Errorf("%q could mean %s or %s: type one of those", clip(text), joined, pointed)
	case groupedShape.MatchString(digits):
		last := strings.LastIndexAny(digits, ".,")
		other := ","
		if digits[last] == ',' {
			other = "."
		}
		digits = strings.ReplaceAll(digits, other, "")
		digits = strings.Replace(digits, ",", ".", 1)
	case thousandShape.MatchString(digits):
		digits = strings.NewReplacer(",", "", ".", "").Replace(digits)
	default:
		digits = strings.Replace(digits, ",", ".", 1)
	}
	return float(digits, text)
}

func inUnit(u Unit) string {
	if u.Symbol == "" {
		return ""
	}
	if u == Inches {
		return " in inches"
	}
	return " in " + u.Symbol
}

func unknownUnit(suffix string, usual Unit) error {
	examples := map[Dimension]string{
		OfMass: "gr, g, oz", OfLength: "in, cm, mm, yd, m", OfLinearDensity: "gr/in, g/m", OfSpeed: "ft/s, m/s, mph",
		OfForce: "lb, N, kg", OfTemperature: "°C, °F", OfPressure: "hPa, kPa", OfAngle: "°", OfShare: "%",
	}
	if list, ok := examples[usual.Dimension]; ok {
		return fmt.Errorf("%q is not understood after the number: use %s", clip(suffix), list)
	}
	return fmt.Errorf("%q is not understood after the number: type a number alone", clip(suffix))
}
