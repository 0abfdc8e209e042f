package unit_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/unit"
)

func TestParse(t *testing.T) {
	cases := []struct {
		text  string
		usual unit.Unit
		want  float64 // as a number of in
		in    unit.Unit
	}{
		{"29 1/2", unit.Inches, 29.5, unit.Inches},
		{"29-1/2", unit.Inches, 29.5, unit.Inches},
		{"29 - 1/2", unit.Inches, 29.5, unit.Inches},
		{"29½", unit.Inches, 29.5, unit.Inches},
		{"29 ½", unit.Inches, 29.5, unit.Inches},
		{"29⅞", unit.Inches, 29.875, unit.Inches},
		{"29 1⁄2", unit.Inches, 29.5, unit.Inches},
		{"1/2", unit.Inches, 0.5, unit.Inches},
		{"½", unit.Inches, 0.5, unit.Inches},
		{"-½", unit.Inches, -0.5, unit.Inches},
		{"-1 1/4", unit.Inches, -1.25, unit.Inches},
		{"− 0.5", unit.Inches, -0.5, unit.Inches},
		{"+2", unit.Inches, 2, unit.Inches},
		{"29.5 in", unit.Inches, 29.5, unit.Inches},
		{"29.5in", unit.Inches, 29.5, unit.Inches},
		{"  29.5  INCHES ", unit.Inches, 29.5, unit.Inches},
		{`29"`, unit.Inches, 29, unit.Inches},
		{"29 1/2″", unit.Inches, 29.5, unit.Inches},
		{"29,5", unit.Inches, 29.5, unit.Inches},
		{".5", unit.Inches, 0.5, unit.Inches},
		{",5", unit.Inches, 0.5, unit.Inches},
		{"5.", unit.Inches, 5, unit.Inches},
		{"0,300", unit.Inches, 0.3, unit.Inches},
		{"0.300", unit.Inches, 0.3, unit.Inches},
		{"1.234", unit.Inches, 1.234, unit.Inches},
		{"1.234,5", unit.Inches, 1234.5, unit.Inches},
		{"1,234.5", unit.Inches, 1234.5, unit.Inches},
		{"1,234,567", unit.Grains, 1234567, unit.Grains},
		{"1.234.567", unit.Grains, 1234567, unit.Grains},
		{"1,234,567.25", unit.Grains, 1234567.25, unit.Grains},
		{"75 cm", unit.Inches, 75, unit.Centimetres},
		{"750 mm", unit.Inches, 75, unit.Centimetres},
		{"2 ft", unit.Inches, 24, unit.Inches},
		{"1 yd", unit.Inches, 36, unit.Inches},
		{"0.75 m", unit.Inches, 75, unit.Centimetres},
		{"32 g", unit.Grains, 32, unit.Grams},
		{"1 oz", unit.Grains, 437.5, unit.Grains},
		{"1 lb", unit.Grains, 7000, unit.Grains},
		{"8.6 gpi", unit.GrainsPerInch, 8.6, unit.GrainsPerInch},
		{"8,6 gr/in", unit.GrainsPerInch, 8.6, unit.GrainsPerInch},
		{"280 fps", unit.FeetPerSecond, 280, unit.FeetPerSecond},
		{"85 m/s", unit.FeetPerSecond, 85, unit.MetresPerSec},
		{"70#", unit.PoundsForce, 70, unit.PoundsForce},
		{"70 lbs", unit.PoundsForce, 70, unit.PoundsForce},
		{"300 N", unit.PoundsForce, 300, unit.Newtons},
		{"50 %", unit.Percent, 50, unit.Percent},
		{"50", unit.Percent, 0.5, unit.Number},
		{"1013.25 mbar", unit.Hectopascals, 1013.25, unit.Hectopascals},
		{"101.325 kPa", unit.Hectopascals, 1013.25, unit.Hectopascals},
		{"-12.5°", unit.Degrees, -12.5, unit.Degrees},
		{"3", unit.Number, 3, unit.Number},
	}
	for _, c := range cases {
		t.Run(c.text, func(t *testing.T) {
			got, err := unit.Parse(c.text, c.usual)
			if err != nil {
				t.Fatal(err)
			}
			if number := c.in.Of(got); math.Abs(number-c.want) > 1e-13*math.Abs(c.want) {
				t.Errorf("got %v %s, want %v", number, c.in.Symbol, c.want)
			}
		})
	}
}

// A refusal is a sentence that says what would be understood.
func TestParseRefuses(t *testing.T) {
	cases := []struct {
		name, text string
		usual      unit.Unit
		says       string
	}{
		{"nothing", "", unit.Grains, "type a number in gr"},
		{"blanks", " \u00a0 ", unit.Grains, "type a number in gr"},
		{"no number", "abc", unit.Inches, `"abc" does not read as a number in in`},
		{"two numbers", "29 30", unit.Inches, "not understood after the number"},
		{"a thousand or one", "1,000", unit.Grains, "could mean 1000 or 1.000: type one of those"},
		{"forgotten space", "291/2", unit.Inches, "put a space between the whole and the fraction"},
		{"improper fraction", "29 3/2", unit.Inches, "put a space between the whole and the fraction"},
		{"decimal and fraction", "29.5 1/2", unit.Inches, "mixes a decimal and a fraction"},
		{"unknown unit", "5 furlongs", unit.Inches, `"furlongs" is not understood after the number: use in, cm, mm, yd, m`},
		{"a mass for a length", "5 g", unit.Inches, "use in, cm, mm, yd, m"},
		{"a unit for a count", "3 gr", unit.Number, "type a number alone"},
		{"divided by zero", "1/0", unit.Inches, "divides by zero"},
		{"exponent", "1e999", unit.Grains, `"e999" is not understood after the number`},
		{"not a number", "NaN", unit.Grains, "does not read as a number"},
		{"infinity", "Inf", unit.Grains, "does not read as a number"},
		{"too large", strings.Repeat("9", 400), unit.Grains, "too large"},
		{"too large in SI", strings.Repeat("9", 308), unit.Hectopascals, "too large"},
		{"too large below the line", "1/" + strings.Repeat("9", 400), unit.Inches, "too large"},
		{"groups of two", "1,23,456.7", unit.Grains, "is not a number"},
		{"a group of one", "1,2.5", unit.Grains, "is not a number"},
		{"two decimals", "1.2.3", unit.Grains, "is not a number"},
		{"two signs", "--5", unit.Inches, "does not read as a number"},
		{"broken text", "\xff", unit.Inches, "does not read as a number"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := unit.Parse(c.text, c.usual)
			if err == nil {
				t.Fatalf("%q was read as %v", c.text, got)
			}
			if !strings.Contains(err.Error(), c.says) {
				t.Errorf("%q: says %q, want it to say %q", c.text, err, c.says)
			}
		})
	}
}

// Whatever a number is, written out plainly it comes back.
func TestParseReadsWhatWasWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(shownUnits).Draw(t, "unit")
		number := rapid.Float64Range(-1e4, 1e4).Draw(t, "number")
		comesBack(t, number, u)
	})
}

// comesBack checks that a number written plainly is read as the same value,
// with and without its unit.
func comesBack(t interface {
	Helper()
	Fatalf(string, ...any)
}, number float64, u unit.Unit) {
	t.Helper()
	for _, text := range []string{
		strconv.FormatFloat(number, 'f', -1, 64),
		strconv.FormatFloat(number, 'f', -1, 64) + " " + u.Symbol,
	} {
		got, err := unit.Parse(text, u)
		if want := u.From(number); err != nil || got != want {
			t.Fatalf("%q is read as %v, %v, want %v", text, got, err, want)
		}
	}
}

// What is read is a finite value, and that value written out is read again.
func FuzzParse(f *testing.F) {
	for _, text := range []string{"29 1/2", "29½", "1.234,5", "1,000", "75 cm", "32 g", "-½", "1/0", "1e999", "5 furlongs", "", "0,300", `29"`, "− 3", "\xff"} {
		for i := range shownUnits {
			f.Add(text, i)
		}
	}
	f.Fuzz(func(t *testing.T, text string, choice int) {
		u := shownUnits[uint(choice)%uint(len(shownUnits))]
		value, err := unit.Parse(text, u)
		if err != nil {
			if err.Error() == "" {
				t.Fatalf("%q is refused without a sentence", text)
			}
			return
		}
		if math.IsNaN(value) || math.IsInf(value, 0) {
			t.Fatalf("%q is read as %v", text, value)
		}
		if number := u.Of(value); !math.IsInf(number, 0) {
			comesBack(t, number, u)
		}
	})
}
