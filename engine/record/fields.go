// Package record reads and writes structs as strict JSON with the unit in each
// key. It is the one place that knows the exchange format's rules: keys are
// case-sensitive, none may be unknown or given twice, null stands only where a
// list says so, and every value has a type and a range. Errors name the path.
//
// A struct says its shape in tags:
//
//	job:"weight_gr"     the key; its ending is the unit the number is in
//	range:"0,1000"      the bounds, inclusive, in that unit
//	need:"yes"          the key must be there
//	one:"ogive,cone"    the words a text may be
//	over:"…" under:"…"  what else to say when the value is above or below the range
//	shown:"inches"      people read it in inches whatever units they use
//	shown:"fine"        a diameter: in millimetres wherever lengths are metric
//
// Embedded structs without a tag belong to the struct around them.
package record

import (
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"

	"foreshaft/engine/unit"
)

// endings gives the unit that a key's ending stands for, the longer first.
var endings = []struct {
	ending string
	unit   unit.Unit
}{
	{"_gr_per_in", unit.GrainsPerInch}, {"_per_draw", unit.GrainsPerPound},
	{"_ftlb", unit.FootPounds}, {"_fps", unit.FeetPerSecond}, {"_mph", unit.MilesPerHour}, {"_deg", unit.Degrees}, {"_hpa", unit.Hectopascals},
	{"_pct", unit.Percent}, {"_gr", unit.Grains}, {"_in", unit.Inches}, {"_lb", unit.PoundsForce}, {"_yd", unit.Yards},
	{"_mm", unit.Millimetres}, {"_c", unit.DegreesCelsius}, {"_m", unit.Metres},
}

// field is what the tags of one struct field say.
type field struct {
	key      string
	index    []int
	unit     unit.Unit
	bounded  bool
	min, max float64
	need     bool
	words    []string
	over     string
	under    string
	shown    string
}

var shapes sync.Map // reflect.Type → []field; what the tags say never changes

// shape returns the fields of a struct type in the order of its declaration.
func shape(t reflect.Type) []field {
	if known, ok := shapes.Load(t); ok {
		return known.([]field)
	}
	var fields []field
	for _, f := range reflect.VisibleFields(t) {
		key := f.Tag.Get("job")
		if key == "" {
			continue
		}
		out := field{key: key, index: f.Index, unit: unitOf(key, f.Type), need: f.Tag.Get("need") == "yes", over: f.Tag.Get("over"), under: f.Tag.Get("under"), shown: f.Tag.Get("shown")}
		if words := f.Tag.Get("one"); words != "" {
			out.words = strings.Split(words, ",")
		}
		if bounds := f.Tag.Get("range"); bounds != "" {
			low, high, _ := strings.Cut(bounds, ",")
			var err1, err2 error
			out.min, err1 = strconv.ParseFloat(low, 64)
			out.max, err2 = strconv.ParseFloat(high, 64)
			if err1 != nil || err2 != nil {
				panic(fmt.Sprintf("record: %s.%s has range %q", t, f.Name, bounds))
			}
			out.bounded = true
		}
		fields = append(fields, out)
	}
	shapes.Store(t, fields)
	return fields
}

// unitOf returns the unit of a field that holds a quantity, from its key.
func unitOf(key string, t reflect.Type) unit.Unit {
	if o, ok := reflect.New(t).Interface().(slot); ok {
		value, _ := o.Slot()
		t = reflect.TypeOf(value).Elem()
	}
	if t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if t.Kind() != reflect.Float64 || t == reflect.TypeFor[float64]() {
		return unit.Number
	}
	for _, e := range endings {
		if strings.HasSuffix(key, e.ending) {
			return e.unit
		}
	}
	panic("record: no unit for key " + key + " of type " + t.String())
}

// slot is what a unit.Optional offers.
type slot interface {
	Slot() (value any, given *bool)
}

// Field is one value of a struct that a form can show and change by the same
// rules as a file.
type Field struct {
	Key   string
	Unit  unit.Unit // in which it is shown and typed: that of the key, unless In says otherwise
	Words []string  // the words it may be, when it is a choice
	Need  bool
	value reflect.Value
	field field
}

// Fields lists the values of the struct that a pointer points to, those of
// structs and lists inside it left out. Setting a Field changes the struct.
func Fields(pointer any) []Field {
	v := reflect.ValueOf(pointer).Elem()
	all := shape(v.Type())
	out := make([]Field, 0, len(all))
	for _, f := range all {
		value := v.FieldByIndex(f.index)
		words := f.words
		switch scalar(value).Kind() {
		case reflect.Struct, reflect.Slice, reflect.Map:
			continue
		case reflect.Bool:
			words = yesNo
		}
		out = append(out, Field{Key: f.key, Unit: f.unit, Words: words, Need: f.need, value: value, field: f})
	}
	return out
}

// yesNo are the words of a switch.
var yesNo = []string{"no", "yes"}

// Only returns the one field of that key. It panics when there is none, which
// is a mistake in the program.
func Only(pointer any, key string) Field {
	for _, f := range Fields(pointer) {
		if f.Key == key {
			return f
		}
	}
	panic("record: no field " + key)
}

// In returns the field as it is shown and typed in other units. What is kept
// stays the same.
func (f Field) In(units unit.System) Field {
	switch f.field.shown {
	case "inches":
	case "fine":
		f.Unit = units.Fine()
	default:
		f.Unit = units.Shown(f.field.unit)
	}
	return f
}

// scalar returns the value inside an Optional, or the value itself.
func scalar(v reflect.Value) reflect.Value {
	if o, ok := v.Addr().Interface().(slot); ok {
		value, _ := o.Slot()
		return reflect.ValueOf(value).Elem()
	}
	return v
}

// Optional reports whether the field may be left empty.
func (f Field) Optional() bool {
	_, ok := f.value.Addr().Interface().(slot)
	return ok
}

// Numeric reports whether the field holds a number.
func (f Field) Numeric() bool {
	kind := scalar(f.value).Kind()
	return kind == reflect.Float64 || kind == reflect.Int
}

// given reports whether there is a value: always, unless it is optional.
func (f Field) given() bool {
	if o, ok := f.value.Addr().Interface().(slot); ok {
		_, given := o.Slot()
		return *given
	}
	return true
}

// Number returns the value in SI and whether there is one. Texts have none.
func (f Field) Number() (float64, bool) {
	switch v := scalar(f.value); {
	case !f.given():
		return 0, false
	case v.Kind() == reflect.Float64:
		return v.Float(), true
	case v.Kind() == reflect.Int:
		return float64(v.Int()), true
	}
	return 0, false
}

// Text returns the value as a person would type it, in the field's unit and
// without it; empty when it is not given. In another unit than that of the key it
// is rounded to five digits: who means to leave the value as it is must not set
// it to its own text.
func (f Field) Text() string {
	if !f.given() {
		return ""
	}
	switch v := scalar(f.value); v.Kind() {
	case reflect.String:
		return v.String()
	case reflect.Bool:
		if v.Bool() {
			return "yes"
		}
		return "no"
	}
	value, _ := f.Number()
	if f.Unit != f.field.unit {
		return plainly(rounded(f.Unit.Of(value), 5))
	}
	return plainly(tidy(value, f.Unit))
}

// Brief is Text with no more than that many digits, to be read and not typed. A
// value in the unit it is kept in keeps four decimals and more.
func (f Field) Brief(digits int) string {
	if !f.Numeric() || !f.given() {
		return f.Text()
	}
	value, _ := f.Number()
	u := f.Unit
	if u.Size == 0 {
		u = unit.Number
	}
	number := rounded(u.Of(value), digits)
	if exact := tidy(value, f.Unit); f.Unit == f.field.unit && math.Abs(exact) < 1e6 && rounded(exact*1e4, 12) == math.Trunc(rounded(exact*1e4, 12)) {
		number = exact // it was typed like this
	}
	return plainly(number)
}

// Clear empties the value: an optional one is not given then, any other is nothing.
func (f Field) Clear() { f.value.SetZero() }

// SetText reads what a person typed. An empty text clears an optional value.
// The error is a sentence; the value is then unchanged.
func (f Field) SetText(text string) error {
	text = strings.TrimSpace(text)
	optional, isOptional := f.value.Addr().Interface().(slot)
	if text == "" && isOptional {
		f.value.SetZero()
		return nil
	}
	if err := f.set(scalar(f.value), text); err != nil {
		return err
	}
	if isOptional {
		_, given := optional.Slot()
		*given = true
	}
	return nil
}

func (f Field) set(v reflect.Value, text string) error {
	switch v.Kind() {
	case reflect.String:
		return f.field.setWord(v, text)
	case reflect.Bool:
		switch strings.ToLower(text) {
		case "yes", "y", "true", "on":
			v.SetBool(true)
		case "no", "n", "false", "off", "":
			v.SetBool(false)
		default:
			return fmt.Errorf("type yes or no, got %q", text)
		}
		return nil
	}
	value, err := unit.Parse(text, f.Unit)
	if err != nil {
		return err
	}
	number := tidy(value, f.field.unit)
	if low, high, reason, outside := f.field.outside(number); outside {
		in := f.Unit
		ends := [2]float64{in.Of(f.field.unit.From(low)), in.Of(f.field.unit.From(high))}
		symbol := ""
		if in.Symbol != "" {
			symbol = " " + in.Symbol
		}
		return fmt.Errorf("must be %s to %s%s, got %s%s%s", plainly(rounded(ends[0], 4)), plainly(rounded(ends[1], 4)), symbol, plainly(rounded(in.Of(value), 6)), symbol, reason)
	}
	return f.field.setNumber(v, number, text)
}

// Choices lists the keys of a type, and of all types inside it, whose texts are words of the
// format rather than a person's.
func Choices[T any]() []string {
	found, seen := map[string]bool{}, map[reflect.Type]bool{}
	var walk func(t reflect.Type)
	walk = func(t reflect.Type) {
		if o, ok := reflect.New(t).Interface().(slot); ok {
			value, _ := o.Slot()
			t = reflect.TypeOf(value).Elem()
		}
		switch t.Kind() {
		case reflect.Slice, reflect.Map:
			walk(t.Elem())
		case reflect.Struct:
			if seen[t] {
				return
			}
			seen[t] = true
			for _, f := range shape(t) {
				if f.words != nil {
					found[f.key] = true
				}
				walk(t.FieldByIndex(f.index).Type)
			}
		}
	}
	walk(reflect.TypeFor[T]())
	return slices.Sorted(maps.Keys(found))
}
