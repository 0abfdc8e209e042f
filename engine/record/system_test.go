package record_test

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/air"
	"foreshaft/engine/bow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// systems are the trade's units and each way to do without them.
var systems = []unit.System{
	{}, {Grams: true}, {Metric: unit.InCentimetres}, {Metric: unit.InMillimetres}, {Metres: true}, {PerSec: true}, {InNewton: true},
	{Grams: true, Metric: unit.InCentimetres, Metres: true, PerSec: true, InNewton: true},
	{Grams: true, Metric: unit.InMillimetres, Metres: true, PerSec: true, InNewton: true},
}

// holders returns an empty one of every struct that a form shows.
func holders() []any {
	return []any{new(bow.Bow), new(bow.Reading), new(bow.Rating), new(air.Conditions), new(job.Sight), new(job.Mark), new(job.Limits), new(job.Job),
		new(part.Shaft), new(part.Nock), new(part.Vanes), new(part.Wrap), new(part.Insert), new(part.Collar), new(part.Head), new(part.Extra), new(part.Measured)}
}

// numeric lists the numbers of a struct with the range that their tag gives.
func numeric(pointer any) (fields []record.Field, low, high map[string]float64) {
	low, high = map[string]float64{}, map[string]float64{}
	for _, f := range reflect.VisibleFields(reflect.TypeOf(pointer).Elem()) {
		var a, b float64
		if n, _ := fmt.Sscanf(f.Tag.Get("range"), "%g,%g", &a, &b); n == 2 {
			low[f.Tag.Get("job")], high[f.Tag.Get("job")] = a, b
		}
	}
	for _, f := range record.Fields(pointer) {
		if _, bounded := high[f.Key]; bounded && f.Numeric() {
			fields = append(fields, f)
		}
	}
	return fields, low, high
}

// drawNumber draws a field of any struct and a number inside its range, in the
// unit of the file.
func drawNumber(t *rapid.T) (holder any, f record.Field, number float64) {
	list := holders()
	holder = list[rapid.IntRange(0, len(list)-1).Draw(t, "struct")]
	fields, low, high := numeric(holder)
	f = fields[rapid.IntRange(0, len(fields)-1).Draw(t, "field")]
	number = math.Round(rapid.Float64Range(low[f.Key], high[f.Key]).Draw(t, f.Key)*1e4) / 1e4
	if f.Unit == unit.Number {
		number = math.Trunc(number) // a count
	}
	return holder, f, number
}

// beside reports whether two numbers are the same to the five digits shown.
func beside(a, b float64) bool { return math.Abs(a-b) <= 0.501e-4*math.Abs(b) }

// In the file's unit what is shown is what is kept, to the last bit that a file
// holds; in another one to the five digits that are shown.
func TestWhatAFieldShowsCanBeTypedInEveryUnit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		holder, f, number := drawNumber(t)
		if err := f.SetText(fmt.Sprintf("%.4f", number)); err != nil {
			t.Fatal(err)
		}
		kept, _ := f.Number()
		for _, s := range systems {
			in := f.In(s)
			if now, _ := in.Number(); now != kept {
				t.Fatalf("%s shown in other units is another value: %v and %v", f.Key, now, kept)
			}
			err := in.SetText(in.Text())
			back, _ := in.Number()
			if in.Unit == f.Unit {
				if err != nil || back != kept {
					t.Fatalf("%s of %v: %q comes back as %v, want the same (%v)", f.Key, kept, in.Text(), back, err)
				}
				continue
			}
			// What lies next to a bound may round to what is beyond it.
			if _, low, high := numeric(holder); err != nil && !beside(number, low[f.Key]) && !beside(number, high[f.Key]) {
				t.Fatalf("%s of %v: what it shows, %q, is refused: %v", f.Key, number, in.Text(), err)
			}
			if err == nil && math.Abs(back-kept) > 0.501e-4*math.Abs(kept) {
				t.Fatalf("%s of %v: %q %s comes back as %v", f.Key, kept, in.Text(), in.Unit.Symbol, back)
			}
			if err := f.SetText(fmt.Sprintf("%.4f", number)); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// Five digits are enough for every quantity here and few enough to read.
func TestAnotherUnitShowsFiveDigits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, f, number := drawNumber(t)
		if err := f.SetText(fmt.Sprintf("%.4f", number)); err != nil {
			t.Fatal(err)
		}
		kept, _ := f.Number()
		for _, s := range systems {
			in := f.In(s)
			var shown float64
			if _, err := fmt.Sscanf(in.Text(), "%g", &shown); err != nil {
				t.Fatalf("%s shows %q", f.Key, in.Text())
			}
			if want := in.Unit.Of(kept); math.Abs(shown-want) > 0.501e-4*math.Abs(want) {
				t.Fatalf("%s shows %q, want %v %s to five digits", f.Key, in.Text(), want, in.Unit.Symbol)
			}
			digits := strings.TrimLeft(strings.NewReplacer(".", "", "-", "").Replace(in.Text()), "0")
			if in.Unit != f.Unit && len(strings.TrimRight(digits, "0")) > 5 {
				t.Fatalf("%s shows %q, more than five digits", f.Key, in.Text())
			}
		}
	})
}

// A number alone is in the unit that is shown; one with a unit behind it is in
// that one, whatever is shown.
func TestANumberAloneIsInTheShownUnit(t *testing.T) {
	metric := systems[len(systems)-1]
	centi := systems[len(systems)-2]
	for _, c := range []struct {
		pointer any
		key     string
		system  unit.System
		typed   string
		want    float64 // in SI; sizes of units by NIST SP 811, appendix B
	}{
		{new(part.Head), "weight_gr", unit.System{}, "100", 0.006479891}, // 100 × 64.79891 mg
		{new(part.Head), "weight_gr", metric, "6.5", 0.0065},
		{new(part.Head), "weight_gr", metric, "100 gr", 0.006479891},
		{new(part.Head), "weight_gr", unit.System{}, "6.5 g", 0.0065},
		{new(part.Shaft), "weight_gr_per_in", metric, "20", 0.020},
		{new(part.Shaft), "weight_gr_per_in", metric, "8 gr/in", 8 * 6.479891e-5 / 0.0254},
		{new(part.Shaft), "stock_length_in", centi, "81", 0.81},
		{new(part.Shaft), "stock_length_in", metric, "810", 0.81},
		{new(part.Shaft), "stock_length_in", metric, "32 in", 0.8128},
		{new(part.Shaft), "stock_length_in", metric, "81 cm", 0.81},
		{new(part.Shaft), "inner_diameter_in", unit.System{}, "0.204", 0.0051816},
		{new(part.Shaft), "inner_diameter_in", centi, "5.2", 0.0052}, // diameters are in mm
		{new(part.Shaft), "inner_diameter_in", metric, "0.204 in", 0.0051816},
		{new(part.Shaft), "spine_in", metric, "0.3", 0.00762}, // spine stays as printed
		{new(part.Shaft), "spine_u_in", centi, "0.01", 0.000254},
		{new(part.Vanes), "thickness_in", centi, "0.5", 0.0005},
		{new(part.Nock), "fits_inner_in", centi, "6.2", 0.0062},
		{new(part.Collar), "fits_outer_in", centi, "7", 0.007},
		{new(bow.Bow), "peak_weight_lb", metric, "250", 250},
		{new(bow.Bow), "peak_weight_lb", metric, "60 lb", 60 * 4.4482216152605},
		{new(bow.Bow), "draw_length_in", centi, "75", 0.75},
		{new(bow.Reading), "speed_fps", metric, "85", 85},
		{new(bow.Reading), "speed_fps", metric, "280 ft/s", 280 * 0.3048},
		{new(job.Mark), "distance_yd", metric, "30", 30},
		{new(job.Mark), "distance_yd", metric, "30 yd", 27.432},
		{new(job.Limits), "max_diameter_mm", unit.System{}, "9.3", 0.0093}, // so printed on rules sheets
		{new(job.Limits), "max_diameter_mm", centi, "9.3", 0.0093},
		{new(job.Limits), "min_weight_per_draw", metric, "5", 5 * 6.479891e-5 / 4.4482216152605},
		{new(job.Job), "crosswind_mph", metric, "5", 5},
		{new(air.Conditions), "temperature_c", metric, "20", 293.15},
		{new(air.Conditions), "altitude_m", unit.System{}, "300", 300},
	} {
		f := record.Only(c.pointer, c.key).In(c.system)
		if err := f.SetText(c.typed); err != nil {
			t.Errorf("%s %q: %v", c.key, c.typed, err)
			continue
		}
		// A file holds 14 digits, of a temperature 9 decimals.
		if got, _ := f.Number(); math.Abs(got-c.want) > 1e-11*c.want {
			t.Errorf("%s in %s: %q is read as %.15g, want %.15g", c.key, f.Unit.Symbol, c.typed, got, c.want)
		}
	}
}

// Which quantities are diameters, and which is printed in inches everywhere.
func TestDiametersAreInMillimetresAndSpineStaysInInches(t *testing.T) {
	diameters := "outer_diameter_in outer_diameter_u_in inner_diameter_in fits_inner_in fits_outer_in thickness_in blade_thickness_in"
	spines := "spine_in spine_u_in"
	seen := map[string]bool{}
	for _, s := range systems {
		for _, pointer := range holders() {
			for _, f := range record.Fields(pointer) {
				want := s.Shown(f.Unit)
				switch {
				case strings.Contains(" "+spines+" mark_in ", " "+f.Key+" "):
					want, seen[f.Key] = unit.Inches, true
				case strings.Contains(" "+diameters+" ", " "+f.Key+" "):
					seen[f.Key] = true
					if want = unit.Inches; s.Metric != unit.NotMetric {
						want = unit.Millimetres
					}
				}
				if got := f.In(s).Unit; got != want {
					t.Errorf("%T.%s is shown in %s, want %s", pointer, f.Key, got.Symbol, want.Symbol)
				}
			}
		}
	}
	for _, key := range strings.Fields(diameters + " " + spines) {
		if !seen[key] {
			t.Errorf("there is no %s", key)
		}
	}
}

// A refusal names the range in the unit that is shown: someone who types
// centimetres does not know what 36 is. The numbers are worked by hand from the
// ranges of the format.
func TestARefusalNamesTheRangeInTheShownUnit(t *testing.T) {
	centi, metric := systems[len(systems)-2], systems[len(systems)-1]
	for _, c := range []struct {
		pointer any
		key     string
		system  unit.System
		typed   string
		says    string
	}{
		{new(bow.Bow), "draw_length_in", unit.System{}, "40", "must be 12 to 36 in, got 40 in"},
		{new(bow.Bow), "draw_length_in", centi, "100", "must be 30.48 to 91.44 cm, got 100 cm"},
		{new(bow.Bow), "draw_length_in", metric, "75", "must be 304.8 to 914.4 mm, got 75 mm"},
		{new(bow.Bow), "draw_length_in", centi, "40 in", "must be 30.48 to 91.44 cm, got 101.6 cm"},
		{new(bow.Bow), "draw_length_in", centi, "10", "crossbow bolts"},
		{new(bow.Bow), "peak_weight_lb", metric, "500", "to 444.8 N, got 500 N"}, // 100 × 4.44822 = 444.82
		{new(bow.Reading), "speed_fps", metric, "280", "must be 9.144 to 182."},  // 30 and 600 × 0.3048,
		{new(part.Head), "weight_gr", metric, "100", "must be 0 to 64."},         // 1000 × 0.0647989 = 64.799,
		{new(part.Shaft), "inner_diameter_in", centi, "0.5", "must be 2.54 to 15.24 mm, got 0.5 mm"},
		{new(part.Shaft), "inner_diameter_in", unit.System{}, "5.2", "must be 0.1 to 0.6 in, got 5.2 in"},
		{new(part.Shaft), "spine_in", metric, "300", "must be 0.05 to 3 in, got 300 in"},
		{new(part.Shaft), "weight_gr_per_in", metric, "1", "to 76.53 g/m, got 1 g/m"}, // 30 × 2.55114 = 76.534
		{new(job.Mark), "distance_yd", metric, "300", "must be 0 to 182."},            // 200 × 0.9144 = 182.88
		{new(job.Limits), "max_diameter_mm", metric, "93", "must be 0 to 20 mm, got 93 mm"},
		{new(job.Limits), "min_weight_per_draw", metric, "300", "must be 0 to 200 gr/lb, got 300 gr/lb"},
		{new(part.Head), "weight_gr", metric, "100 yd", "use gr, g, oz"},
		{new(part.Head), "weight_gr", metric, "heavy", "does not read as a number in g"},
	} {
		f := record.Only(c.pointer, c.key).In(c.system)
		before, was := f.Number()
		err := f.SetText(c.typed)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s %q: says %v, want it to say %q", c.key, c.typed, err, c.says)
		}
		if after, is := f.Number(); after != before || is != was {
			t.Errorf("%s: a refused %q is kept as %v", c.key, c.typed, after)
		}
	}
}

// Words and names have no unit: other units leave them alone.
func TestOtherUnitsLeaveWordsAlone(t *testing.T) {
	for _, s := range systems {
		h := part.Head{Name: "29 1/2", Shape: part.Cone, Thread: "8-32", Expandable: true, Blades: 3}
		for key, want := range map[string]string{"name": "29 1/2", "shape": "cone", "thread": "8-32", "expandable": "yes", "blades": "3", "cut_width_in": ""} {
			f := record.Only(&h, key).In(s)
			if f.Text() != want {
				t.Errorf("%s shows %q, want %q", key, f.Text(), want)
			}
			before := h
			if err := f.SetText(want); err != nil || h != before {
				t.Errorf("%s: typing %q again: %v, %+v", key, want, err, h)
			}
		}
	}
}
