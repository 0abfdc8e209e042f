package unit_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/unit"
)

// everyUnit lists the units of the exchange format, which a System may show in
// another unit.
var everyUnit = []unit.Unit{
	unit.Number, unit.Percent, unit.Grains, unit.Grams, unit.Inches, unit.Yards, unit.Metres, unit.Centimetres, unit.Millimetres,
	unit.GrainsPerInch, unit.FeetPerSecond, unit.MetresPerSec, unit.MilesPerHour, unit.FootPounds, unit.PoundsForce, unit.Newtons,
	unit.DegreesCelsius, unit.Hectopascals, unit.GrainsPerPound, unit.Degrees, unit.GrainSquareInches, unit.PoundSeconds, unit.PoundSquareInches,
}

// everySystem lists every System that can be chosen.
func everySystem() []unit.System {
	var out []unit.System
	for _, metric := range []unit.Metric{unit.NotMetric, unit.InCentimetres, unit.InMillimetres} {
		for bits := range 16 {
			out = append(out, unit.System{Grams: bits&1 > 0, Metres: bits&2 > 0, PerSec: bits&4 > 0, InNewton: bits&8 > 0, Metric: metric})
		}
	}
	return out
}

// choices says what one choice shows in another unit, and how large that is in
// SI. Sizes are exact by definition (SI Brochure, 9th edition, table 8; NIST
// SP 811, appendix B).
var choices = []struct {
	name   string
	chosen func(s unit.System) bool
	only   unit.System // that choice alone
	shows  map[string]shownAs
}{
	{"grams", func(s unit.System) bool { return s.Grams }, unit.System{Grams: true},
		map[string]shownAs{"gr": {"g", 1e-3}, "gr/in": {"g/m", 1e-3}, "gr·in²": {"g·cm²", 1e-7}}},
	{"centimetres", func(s unit.System) bool { return s.Metric == unit.InCentimetres }, unit.System{Metric: unit.InCentimetres},
		map[string]shownAs{"in": {"cm", 1e-2}}},
	{"millimetres", func(s unit.System) bool { return s.Metric == unit.InMillimetres }, unit.System{Metric: unit.InMillimetres},
		map[string]shownAs{"in": {"mm", 1e-3}}},
	{"metres", func(s unit.System) bool { return s.Metres }, unit.System{Metres: true},
		map[string]shownAs{"yd": {"m", 1}}},
	{"metres per second", func(s unit.System) bool { return s.PerSec }, unit.System{PerSec: true},
		map[string]shownAs{"ft/s": {"m/s", 1}, "mph": {"m/s", 1}, "ft·lbf": {"J", 1}, "lbf·s": {"N·s", 1}}},
	{"newtons", func(s unit.System) bool { return s.InNewton }, unit.System{InNewton: true},
		map[string]shownAs{"lb": {"N", 1}, "lbf·in²": {"N·m²", 1}}},
}

type shownAs struct {
	symbol string
	size   float64
}

// Each choice shows its own units in another one and no other, alone and
// together with every other choice.
func TestAChoiceOfUnitsShowsItsOwnUnitsAndNoOther(t *testing.T) {
	for _, s := range everySystem() {
		for _, u := range everyUnit {
			want := shownAs{u.Symbol, u.Size}
			for _, c := range choices {
				if other, changes := c.shows[u.Symbol]; changes && c.chosen(s) {
					want = other
				}
			}
			got := s.Shown(u)
			if got.Symbol != want.symbol || !near(got.Size, want.size, rounding) || got.Zero != u.Zero {
				t.Errorf("%+v shows %q as %+v, want %q of %g", s, u.Symbol, got, want.symbol, want.size)
			}
			if want.symbol == u.Symbol && got != u {
				t.Errorf("%+v shows %+v as %+v, want it as it is", s, u, got)
			}
		}
	}
	for _, c := range choices {
		changed := 0
		for _, u := range everyUnit {
			if c.only.Shown(u) != u {
				changed++
			}
		}
		if changed != len(c.shows) {
			t.Errorf("%s shows %d units in another, want %d", c.name, changed, len(c.shows))
		}
	}
}

// What is typed and shown in one dimension stays in it: a mass typed where
// another unit of mass is shown would otherwise be refused.
func TestAShownUnitTakesWhatItsOwnUnitTakes(t *testing.T) {
	for _, s := range everySystem() {
		for _, u := range everyUnit {
			if got := s.Shown(u); got.Dimension != u.Dimension {
				t.Errorf("%+v shows %s, a %d, as %s, a %d", s, u.Symbol, u.Dimension, got.Symbol, got.Dimension)
			}
		}
	}
}

// The zero System is the trade's own and leaves every unit as it is.
func TestTheZeroSystemIsTheTrades(t *testing.T) {
	var s unit.System
	for _, u := range everyUnit {
		if s.Shown(u) != u {
			t.Errorf("%s is shown as %s", u.Symbol, s.Shown(u).Symbol)
		}
	}
	if s.Fine() != unit.Inches {
		t.Errorf("diameters are in %s, want inches", s.Fine().Symbol)
	}
}

// One unit of the trade as a number of the other, from the exact factors of
// NIST SP 811, appendix B, and for the grain NIST Handbook 44, appendix C.
func TestOneUnitOfTheTradeInTheOther(t *testing.T) {
	metric := unit.System{Grams: true, Metric: unit.InCentimetres, Metres: true, PerSec: true, InNewton: true}
	fine := metric
	fine.Metric = unit.InMillimetres
	const pound, inch, foot, grain = 4.4482216152605, 0.0254, 0.3048, 64.79891e-6 // N, m, m, kg
	for _, c := range []struct {
		system unit.System
		trade  unit.Unit
		symbol string
		want   float64
	}{
		{metric, unit.Grains, "g", 0.06479891},                                 // 1 gr = 64.79891 mg
		{metric, unit.Inches, "cm", 2.54},                                      // 1 in = 25.4 mm
		{fine, unit.Inches, "mm", 25.4},                                        // 1 in = 25.4 mm
		{metric, unit.Yards, "m", 0.9144},                                      // 3 ft
		{metric, unit.FeetPerSecond, "m/s", foot},                              // 1 ft = 0.3048 m
		{metric, unit.MilesPerHour, "m/s", 0.44704},                            // 5280 ft in 3600 s
		{metric, unit.FootPounds, "J", 1.3558179483314004},                     // 0.3048 m × 4.4482216152605 N
		{metric, unit.PoundsForce, "N", pound},                                 // 0.45359237 kg × 9.80665 m/s²
		{metric, unit.PoundSeconds, "N·s", pound},                              // the same in a second
		{metric, unit.PoundSquareInches, "N·m²", pound * inch * inch},          // product of the two
		{metric, unit.GrainsPerInch, "g/m", grain / inch * 1e3},                // quotient
		{metric, unit.GrainSquareInches, "g·cm²", grain * 6.4516e-4 * 1e7},     // 1 in² = 6.4516 cm²
		{metric, unit.GrainsPerPound, "gr/lb", 1},                              // stays
		{metric, unit.Percent, "%", 1}, {metric, unit.DegreesCelsius, "°C", 1}, // stay
	} {
		shown := c.system.Shown(c.trade)
		if shown.Symbol != c.symbol {
			t.Errorf("%s is shown as %s, want %s", c.trade.Symbol, shown.Symbol, c.symbol)
		}
		if got := shown.Of(c.trade.From(1)); !near(got, c.want, 4*rounding) {
			t.Errorf("1 %s is %.17g %s, want %.17g", c.trade.Symbol, got, c.symbol, c.want)
		}
	}
}

// Diameters are in millimetres wherever lengths are metric, for a centimetre is
// too coarse for them.
func TestDiametersAreInMillimetresWhereverLengthsAreMetric(t *testing.T) {
	for _, s := range everySystem() {
		want := unit.Millimetres
		if s.Metric == unit.NotMetric {
			want = unit.Inches
		}
		if s.Fine() != want {
			t.Errorf("%+v shows diameters in %s, want %s", s, s.Fine().Symbol, want.Symbol)
		}
	}
}

// Worked by hand from the exact factors.
func TestQuantitiesInWords(t *testing.T) {
	var trade unit.System
	centi := unit.System{Grams: true, Metric: unit.InCentimetres, Metres: true, PerSec: true, InNewton: true}
	milli := unit.System{Metric: unit.InMillimetres}
	for _, c := range []struct{ got, want string }{
		{trade.Weight(445.25*unit.Grain, 4), "445.2 gr"}, // the tie of the last digit goes to the even one
		{centi.Weight(445*unit.Grain, 3), "28.8 g"},      // 445 × 0.06479891 = 28.8355
		{centi.Weight(445*unit.Grain, 5), "28.836 g"},
		{milli.Weight(445*unit.Grain, 3), "445 gr"},
		{trade.Span(29.5*unit.Inch, 4), "29.5 in"},
		{centi.Span(29.5*unit.Inch, 4), "74.93 cm"}, // 29.5 × 2.54
		{milli.Span(29.5*unit.Inch, 4), "749.3 mm"},
		{centi.Span(0, 4), "0 cm"},
		{trade.Pull(50*unit.PoundForce, 3), "50 lb"},
		{centi.Pull(50*unit.PoundForce, 3), "222 N"}, // 50 × 4.44822 = 222.411
		{milli.Pull(50*unit.PoundForce, 3), "50 lb"},
		{trade.Bore(0.204 * unit.Inch), "0.204 in"},
		{centi.Bore(0.204 * unit.Inch), "5.18 mm"},  // 0.204 × 25.4 = 5.1816
		{milli.Bore(0.2465 * unit.Inch), "6.26 mm"}, // 6.2611
		{trade.Bore(0.2464 * unit.Inch), "0.246 in"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

// A quantity in words reads back as itself, to the digits that were asked for,
// in every System.
func TestQuantitiesInWordsReadBack(t *testing.T) {
	systems := everySystem()
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(systems).Draw(t, "units")
		digits := rapid.IntRange(3, 6).Draw(t, "digits")
		mass := unit.Mass(rapid.Float64Range(1, 900).Draw(t, "gr")) * unit.Grain
		length := unit.Length(rapid.Float64Range(1, 60).Draw(t, "in")) * unit.Inch
		force := unit.Force(rapid.Float64Range(5, 100).Draw(t, "lb")) * unit.PoundForce
		for _, c := range []struct {
			text  string
			usual unit.Unit
			want  float64
		}{
			{s.Weight(mass, digits), unit.Grains, float64(mass)},
			{s.Span(length, digits), unit.Inches, float64(length)},
			{s.Pull(force, digits), unit.PoundsForce, float64(force)},
		} {
			got, err := unit.Parse(c.text, c.usual)
			if err != nil || math.Abs(got-c.want) > 0.51*c.want*math.Pow10(1-digits) {
				t.Fatalf("%+v writes %v %s as %q, which reads as %v (%v)", s, c.usual.Of(c.want), c.usual.Symbol, c.text, c.usual.Of(got), err)
			}
		}
		bore := unit.Length(rapid.Float64Range(0.1, 0.6).Draw(t, "bore")) * unit.Inch
		step := 0.001 * unit.Inch // a thousandth of an inch, or a hundredth of a millimetre
		if s.Metric != unit.NotMetric {
			step = 0.01 * unit.Millimetre
		}
		got, err := unit.Parse(s.Bore(bore), unit.Inches)
		if err != nil || math.Abs(got-float64(bore)) > 0.501*float64(step) {
			t.Fatalf("%+v writes a bore of %v in as %q (%v)", s, bore.In(unit.Inch), s.Bore(bore), err)
		}
	})
}

// Going to the shown unit and back is the way there and back, whatever is shown.
func TestAShownNumberComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(everySystem()).Draw(t, "units")
		u := s.Shown(rapid.SampledFrom(everyUnit).Draw(t, "unit"))
		value := rapid.Float64Range(-1e3, 1e3).Draw(t, "value")
		if back := u.From(u.Of(value)); math.Abs(back-value) > 1e-12*(1+math.Abs(value)+u.Zero) {
			t.Fatalf("%s in %s and back is %s", strconv.FormatFloat(value, 'g', -1, 64), u.Symbol, strconv.FormatFloat(back, 'g', -1, 64))
		}
	})
}

// A list of units is what the settings and the command line take.
func TestAListOfUnitsIsRead(t *testing.T) {
	for list, want := range map[string]unit.System{
		"":                  {},
		"gr,in,ft/s,lb,yd":  {},
		"g":                 {Grams: true},
		"cm":                {Metric: unit.InCentimetres},
		" mm ":              {Metric: unit.InMillimetres},
		"m/s":               {PerSec: true},
		"N":                 {InNewton: true},
		"m":                 {Metres: true},
		"g, cm, m/s, N, m":  {Grams: true, Metric: unit.InCentimetres, PerSec: true, InNewton: true, Metres: true},
		"gr,mm,ft/s, lb, m": {Metric: unit.InMillimetres, Metres: true},
	} {
		if got, err := unit.ParseSystem(list); err != nil || got != want {
			t.Errorf("%q is read as %+v (%v), want %+v", list, got, err, want)
		}
	}
	for _, list := range []string{"metric", "g cm", "G", "g,stone", "gr/in", "°C"} {
		got, err := unit.ParseSystem(list)
		if err == nil || got != (unit.System{}) || !strings.Contains(err.Error(), "gr or g") {
			t.Errorf("%q is read as %+v (%v), want the units that there are", list, got, err)
		}
	}
}

// However large or small a quantity is, no sentence has an exponent in it.
func TestQuantitiesInWordsHaveNoExponent(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{unit.System{}.Weight(1000*unit.Grain, 3), "1000 gr"}, {unit.System{}.Weight(123*unit.Grain, 2), "120 gr"},
		{unit.System{Metric: unit.InMillimetres}.Span(60*unit.Inch, 3), "1520 mm"},                                                                 // 1524
		{unit.System{Grams: true}.Weight(0.001*unit.Grain, 3), "0.0000648 g"}, {unit.System{InNewton: true}.Pull(100*unit.PoundForce, 2), "440 N"}, // 444.8
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}
