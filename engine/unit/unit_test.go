package unit_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/unit"
)

// near reports whether two numbers agree to a relative tolerance.
func near(got, want, tolerance float64) bool {
	return math.Abs(got-want) <= tolerance*math.Max(math.Abs(got), math.Abs(want))
}

// rounding is what a few float64 operations may leave.
const rounding = 1e-15

func TestExactFactors(t *testing.T) {
	const (
		sp811      = "NIST SP 811, appendix B"
		handbook44 = "NIST Handbook 44, appendix C"
	)
	cases := []struct {
		name, source string
		got, want    float64
	}{
		{"grain in kg", handbook44, float64(unit.Grain), 6.479891e-5},
		{"pound in kg", sp811, float64(unit.Pound), 0.45359237},
		{"grains in a pound", handbook44, unit.Pound.In(unit.Grain), 7000},
		{"ounces in a pound", handbook44, unit.Pound.In(unit.Ounce), 16},
		{"gram in kg", sp811, float64(unit.Gram), 0.001},
		{"inch in m", sp811, float64(unit.Inch), 0.0254},
		{"foot in m", sp811, float64(unit.Foot), 0.3048},
		{"yard in m", sp811, float64(unit.Yard), 0.9144},
		{"standard gravity in m/s²", sp811, unit.StandardGravity, 9.80665},
		{"pound-force in N", sp811, float64(unit.PoundForce), 4.4482216152605},
		{"kilogram-force in N", sp811, float64(unit.KilogramForce), 9.80665},
		{"pound-force is a pound in standard gravity", sp811, float64(unit.PoundForce), 0.45359237 * 9.80665},
		{"foot-pound in J", sp811, float64(unit.FootPound), 1.3558179483314004},
		{"pound-second in kg·m/s", sp811, float64(unit.PoundSecond), 4.4482216152605},
		{"foot per second in m/s", sp811, float64(unit.FootPerSecond), 0.3048},
		{"mile per hour in m/s", sp811, float64(unit.MilePerHour), 0.44704},
		{"km/h in m/s", sp811, 3.6 * float64(unit.KilometrePerHour), 1},
		{"grain per inch in kg/m", "quotient of the two above", float64(unit.GrainPerInch), 6.479891e-5 / 0.0254},
		{"grain per pound in kg/N", "quotient of the two above", float64(unit.GrainPerPound), 6.479891e-5 / 4.4482216152605},
		{"gr·in² in kg·m²", "product of the two above", float64(unit.GrainSquareInch), 6.479891e-5 * 0.0254 * 0.0254},
		{"degrees in half a turn", sp811, unit.Angle(math.Pi).In(unit.Degree), 180},
		{"0 °C in K", sp811, float64(unit.Celsius(0)), 273.15},
		{"hectopascal in Pa", sp811, float64(unit.Hectopascal), 100},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if !near(c.got, c.want, rounding) {
				t.Errorf("got %.17g, want %.17g (%s)", c.got, c.want, c.source)
			}
		})
	}
}

// The worked products follow from the exact factors; they are given to the
// digits that were computed from them by hand.
func TestEnergyAndMomentum(t *testing.T) {
	cases := []struct {
		name      string
		got, want float64
		tolerance float64
	}{
		{"350 gr at 300 ft/s in ft·lbf", unit.Kinetic(350*unit.Grain, 300*unit.FootPerSecond).In(unit.FootPound), 69.932138, 5e-9},
		{"350 gr at 300 ft/s in kg·m/s", float64(350*unit.Grain) * float64(300*unit.FootPerSecond), 2.073824, 5e-7 / 2},
		{"400 gr at 280 ft/s in ft·lbf", unit.Kinetic(400*unit.Grain, 280*unit.FootPerSecond).In(unit.FootPound), 69.621328, 8e-9},
		// The trade often divides by 450240, which takes 32.16 ft/s² for g.
		{"the divisor of gr·(ft/s)²", 1 / unit.Kinetic(unit.Grain, unit.FootPerSecond).In(unit.FootPound), 450436.67979, 1e-11},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if !near(c.got, c.want, c.tolerance) {
				t.Errorf("got %.12g, want %.12g", c.got, c.want)
			}
		})
	}
}

func TestLinearDensityTimesLength(t *testing.T) {
	if got := (8.6 * unit.GrainPerInch).Times(29 * unit.Inch).In(unit.Grain); !near(got, 249.4, rounding) {
		t.Errorf("8.6 gr/in over 29 in: got %v gr, want 249.4", got)
	}
}

func TestTemperatureScales(t *testing.T) {
	cases := []struct {
		text  string
		want  float64
		exact string
	}{
		{"0", 273.15, "ice point"},
		{"32 F", 273.15, "32 °F is 0 °C"},
		{"212 °F", 373.15, "212 °F is 100 °C"},
		{"-40 f", 233.15, "-40 is the same on both"},
		{"300 K", 300, "kelvin"},
	}
	for _, c := range cases {
		got, err := unit.Parse(c.text, unit.DegreesCelsius)
		if err != nil || math.Abs(got-c.want) > 1e-12*c.want {
			t.Errorf("%s: got %v K, %v, want %v (%s)", c.text, got, err, c.want, c.exact)
		}
	}
	if got := unit.Celsius(21.5).Celsius(); math.Abs(got-21.5) > 1e-12 {
		t.Errorf("21.5 °C comes back as %v", got)
	}
}

// shownUnits are the units in which values are typed and shown.
var shownUnits = []unit.Unit{
	unit.Number, unit.Percent, unit.Grains, unit.Grams, unit.Inches, unit.Yards, unit.Metres, unit.Centimetres, unit.Millimetres,
	unit.GrainsPerInch, unit.FeetPerSecond, unit.MetresPerSec, unit.MilesPerHour, unit.FootPounds, unit.PoundsForce, unit.Newtons,
	unit.DegreesCelsius, unit.Hectopascals, unit.GrainsPerPound, unit.Degrees,
}

// numbers draws zeros and numbers far enough above the smallest float64 to keep
// all their digits in SI.
var numbers = rapid.Float64Range(-1e6, 1e6).Filter(func(x float64) bool { return x == 0 || math.Abs(x) > 1e-250 })

func TestUnitRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(shownUnits).Draw(t, "unit")
		number := numbers.Draw(t, "number")
		back := u.Of(u.From(number))
		// One unit in the last place is up to 2.3e-16 of a number. A zero that is
		// not at zero (0 °C) costs the digits of that offset.
		if math.Abs(back-number) > 2.3e-16*(math.Abs(number)+2*math.Abs(u.Zero)) {
			t.Fatalf("%v %s comes back as %v", number, u.Symbol, back)
		}
	})
}

func TestQuantityRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := numbers.Draw(t, "number")
		n := func(name string, got float64) {
			if !near(got, x, 5e-16) {
				t.Fatalf("%s: %v comes back as %v", name, x, got)
			}
		}
		n("grain", (unit.Mass(x) * unit.Grain).In(unit.Grain))
		n("inch", (unit.Length(x) * unit.Inch).In(unit.Inch))
		n("grain per inch", (unit.LinearDensity(x) * unit.GrainPerInch).In(unit.GrainPerInch))
		n("foot per second", (unit.Speed(x) * unit.FootPerSecond).In(unit.FootPerSecond))
		n("pound-force", (unit.Force(x) * unit.PoundForce).In(unit.PoundForce))
		n("grain per pound", (unit.MassPerForce(x) * unit.GrainPerPound).In(unit.GrainPerPound))
		n("foot-pound", (unit.Energy(x) * unit.FootPound).In(unit.FootPound))
		n("pound-second", (unit.Momentum(x) * unit.PoundSecond).In(unit.PoundSecond))
		n("grain square inch", (unit.Inertia(x) * unit.GrainSquareInch).In(unit.GrainSquareInch))
		n("degree", (unit.Angle(x) * unit.Degree).In(unit.Degree))
		n("hectopascal", (unit.Pressure(x) * unit.Hectopascal).In(unit.Hectopascal))
	})
}

func TestOptional(t *testing.T) {
	var none unit.Optional[unit.Mass]
	if none.Given || none.Or(3) != 3 {
		t.Errorf("the zero Optional must not be given: %+v", none)
	}
	zero := unit.Some(unit.Mass(0))
	if !zero.Given || zero.Or(3) != 0 {
		t.Errorf("a given zero is a value: %+v", zero)
	}
	if zero == none {
		t.Error("a given zero must differ from one not given")
	}
	value, given := none.Slot()
	*value.(*unit.Mass), *given = 7, true
	if none != unit.Some(unit.Mass(7)) {
		t.Errorf("Slot must reach the value itself, got %+v", none)
	}
}
