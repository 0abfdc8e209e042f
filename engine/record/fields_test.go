package record_test

import (
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/bow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

func TestFieldsListValuesOnly(t *testing.T) {
	var s sample
	var keys []string
	for _, f := range record.Fields(&s) {
		keys = append(keys, f.Key)
	}
	want := "name shape weight_gr draw_length_in count on maybe reach_in temperature_c free note"
	if got := strings.Join(keys, " "); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if f := record.Only(&s, "name"); !f.Need || f.Optional() {
		t.Error("name is needed and not optional")
	}
	if f := record.Only(&s, "shape"); !reflect.DeepEqual(f.Words, []string{"ogive", "cone", "blunt"}) {
		t.Errorf("shape may be %v", f.Words)
	}
	if f := record.Only(&s, "temperature_c"); f.Unit != unit.DegreesCelsius || !f.Optional() {
		t.Errorf("temperature is in %v", f.Unit)
	}
}

func TestOnlyPanicsOnAMistake(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a key that does not exist must not pass silently")
		}
	}()
	record.Only(new(sample), "weight")
}

func TestSetText(t *testing.T) {
	cases := []struct{ name, key, typed, shown string }{
		{"usual unit", "weight_gr", "75", "75"},
		{"another unit", "weight_gr", "1 oz", "437.5"},
		{"upper bound", "weight_gr", "1000", "1000"},
		{"fraction", "draw_length_in", "29 1/2", "29.5"},
		{"lower bound", "draw_length_in", "12", "12"},
		{"centimetres", "draw_length_in", "75 cm", "29.527559055118"},
		{"count", "count", "3", "3"},
		{"text is cleaned", "name", " a\x1bb ", "a␛b"},
		{"word", "shape", " cone ", "cone"},
		{"switch", "on", "yes", "yes"},
		{"switch off", "on", "off", "no"},
		{"optional switch off", "maybe", "no", "no"},
		{"optional switch on", "maybe", "y", "yes"},
		{"optional switch cleared", "maybe", "", ""},
		{"optional number", "reach_in", "-½", "-0.5"},
		{"optional number cleared", "reach_in", " ", ""},
		{"degrees as typed", "temperature_c", "0.1", "0.1"},
		{"Fahrenheit", "temperature_c", "50 F", "10"},
		{"free number", "free", "0.0000001", "0.0000001"},
		{"large free number", "free", "123456789012345678", "123456789012350000"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := sample{Maybe: unit.Some(true), Warmth: unit.Some(unit.Inch)}
			if err := record.Only(&s, c.key).SetText(c.typed); err != nil {
				t.Fatal(err)
			}
			f := record.Only(&s, c.key)
			if got := f.Text(); got != c.shown {
				t.Errorf("shows %q, want %q", got, c.shown)
			}
			if _, there := f.Number(); f.Optional() && c.shown == "" && there {
				t.Error("a cleared value must not be given")
			}
			if err := f.SetText(f.Text()); err != nil {
				t.Errorf("typing what is shown is refused: %v", err)
			}
		})
	}
}

// What is refused leaves the value as it was and says what would do.
func TestSetTextRefuses(t *testing.T) {
	cases := []struct{ name, key, typed, says string }{
		{"out of range", "weight_gr", "1001", "must be 0 to 1000 gr, got 1001 gr"},
		{"out of range in another unit", "weight_gr", "1 lb", "must be 0 to 1000 gr, got 7000 gr"},
		{"a reason", "draw_length_in", "8", "bolts are not covered"},
		{"not a number", "weight_gr", "heavy", "does not read as a number in gr"},
		{"needed number emptied", "weight_gr", "", "type a number in gr"},
		{"half a vane", "count", "2.5", "must be a whole number, got 2.5"},
		{"unknown word", "shape", "round", "must be ogive, cone or blunt"},
		{"needed name emptied", "name", "\u200b", "must not be empty"},
		{"neither yes nor no", "on", "perhaps", "type yes or no"},
		{"a wrong unit", "temperature_c", "20 gr", "use °C, °F"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := sample{Name: "kept", Shape: "cone", Weight: unit.Grain, Draw: 20 * unit.Inch, Count: 3, On: true, Heat: unit.Some(unit.Celsius(20))}
			before := record.Encode(s)
			err := record.Only(&s, c.key).SetText(c.typed)
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("says %v, want it to say %q", err, c.says)
			}
			if after := record.Encode(s); string(after) != string(before) {
				t.Errorf("the value changed: %s", after)
			}
		})
	}
}

// Every bound that a file accepts, a form accepts too, in every struct of the
// format, and shows as it was typed.
func TestFormAcceptsEveryBound(t *testing.T) {
	for _, pointer := range []any{new(job.Job), new(job.Limits), new(job.Sight), new(bow.Bow), new(bow.Reading), new(bow.Rating),
		new(part.Shaft), new(part.Nock), new(part.Vanes), new(part.Wrap), new(part.Insert), new(part.Collar), new(part.Head), new(part.Extra)} {
		of := reflect.TypeOf(pointer).Elem()
		for _, f := range reflect.VisibleFields(of) {
			bounds, key := f.Tag.Get("range"), f.Tag.Get("job")
			if bounds == "" || f.Type.Kind() == reflect.Slice {
				continue
			}
			low, high, _ := strings.Cut(bounds, ",")
			for _, typed := range []string{low, high} {
				field := record.Only(pointer, key)
				if err := field.SetText(typed); err != nil {
					t.Errorf("%s.%s: %v", of, key, err)
				}
				if got := field.Text(); got != typed {
					t.Errorf("%s.%s: typed %s, shows %s", of, key, typed, got)
				}
			}
		}
	}
}

// A form and a file agree on every number: both refuse it, or both take it as
// the same value.
func TestFormAgreesWithFile(t *testing.T) {
	keys := []string{"weight_gr", "draw_length_in", "count", "reach_in", "temperature_c", "free"}
	rapid.Check(t, func(t *rapid.T) {
		key := rapid.SampledFrom(keys).Draw(t, "key")
		typed := rapid.StringMatching(`-?(0|[1-9][0-9]{0,3})(\.[0-9]{1,5})?`).Draw(t, "typed")
		var filed, formed sample
		errFile := record.Decode([]byte(`{"name":"a","`+key+`":`+typed+`}`), &filed)
		formed.Name = "a"
		errForm := record.Only(&formed, key).SetText(typed)
		if (errFile == nil) != (errForm == nil) {
			t.Fatalf("%s %s: file says %v, form says %v", key, typed, errFile, errForm)
		}
		if errFile != nil {
			// A form names the unit, which a file has in its key, and six digits.
			reason, _, _ := strings.Cut(errForm.Error(), ", got")
			reason = strings.TrimSuffix(reason, " "+record.Only(&formed, key).Unit.Symbol)
			if !strings.Contains(errFile.Error(), reason) {
				t.Fatalf("file says %v, form says %v", errFile, errForm)
			}
			return
		}
		if a, b := record.Encode(filed), record.Encode(formed); string(a) != string(b) {
			t.Fatalf("file %s, form %s", a, b)
		}
	})
}
