package record

import (
	"bytes"
	"math"
	"reflect"
	"slices"
	"strconv"

	"github.com/go-json-experiment/json/jsontext"

	"foreshaft/engine/unit"
)

// Encode writes the struct as compact JSON in the order of its fields. Values
// that are not given, empty texts, empty lists and switches that are off are
// left out, so equal structs give equal bytes and Decode gives the struct back.
// It panics on a number that JSON cannot hold, which Decode never lets in.
func Encode(value any) []byte {
	v := reflect.New(reflect.TypeOf(value)).Elem()
	v.Set(reflect.ValueOf(value))
	return appendValue(nil, v, field{})
}

func appendValue(b []byte, v reflect.Value, f field) []byte {
	if o, ok := v.Addr().Interface().(slot); ok {
		value, given := o.Slot()
		if !*given {
			return append(b, "null"...)
		}
		return appendValue(b, reflect.ValueOf(value).Elem(), f)
	}
	switch v.Kind() {
	case reflect.Struct:
		return appendObject(b, v)
	case reflect.Slice:
		b = append(b, '[')
		for i := range v.Len() {
			if i > 0 {
				b = append(b, ',')
			}
			b = appendValue(b, v.Index(i), f)
		}
		return append(b, ']')
	case reflect.Map:
		return appendTable(b, v)
	case reflect.String:
		return appendText(b, v.String())
	case reflect.Bool:
		return strconv.AppendBool(b, v.Bool())
	case reflect.Int:
		return strconv.AppendInt(b, v.Int(), 10)
	case reflect.Float64:
		number := tidy(v.Float(), f.unit)
		if abs := math.Abs(number); number != 0 && (abs < 1e-6 || abs >= 1e15) {
			return strconv.AppendFloat(b, number, 'g', -1, 64)
		}
		return append(b, plainly(number)...)
	}
	panic("record: cannot hold " + v.Type().String())
}

func appendObject(b []byte, v reflect.Value) []byte {
	b = append(b, '{')
	first := true
	for _, f := range shape(v.Type()) {
		value := v.FieldByIndex(f.index)
		if !f.need && empty(value) {
			continue
		}
		if !first {
			b = append(b, ',')
		}
		first = false
		b = appendText(b, f.key)
		b = append(b, ':')
		b = appendValue(b, value, f)
	}
	return append(b, '}')
}

// empty reports whether leaving the value out means the same as writing it.
func empty(v reflect.Value) bool {
	if o, ok := v.Addr().Interface().(slot); ok {
		_, given := o.Slot()
		return !*given
	}
	switch v.Kind() {
	case reflect.Slice, reflect.Map:
		return v.Len() == 0
	}
	return v.IsZero()
}

func appendTable(b []byte, v reflect.Value) []byte {
	keys := v.MapKeys()
	slices.SortFunc(keys, func(x, y reflect.Value) int {
		if x.String() < y.String() {
			return -1
		}
		return 1
	})
	b = append(b, '{')
	for i, key := range keys {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendText(b, key.String())
		b = append(b, ':')
		element := reflect.New(v.Type().Elem()).Elem()
		element.Set(v.MapIndex(key))
		b = appendValue(b, element, field{})
	}
	return append(b, '}')
}

func appendText(b []byte, text string) []byte {
	out, err := jsontext.AppendQuote(b, text)
	if err != nil {
		panic("record: text was not cleaned: " + err.Error())
	}
	return out
}

// tidy turns a value in SI into a number of its unit without the last bits that
// the change of unit left: what a person typed comes back as typed, up to 14
// significant digits, or 9 decimals where the unit's zero is not zero in SI.
func tidy(value float64, u unit.Unit) float64 {
	if u.Size != 0 {
		value = u.Of(value)
	}
	places, style := 13, byte('e')
	if u.Zero != 0 {
		places, style = 9, 'f'
	}
	return reread(value, style, places)
}

// rounded returns the number with that many significant digits.
func rounded(number float64, digits int) float64 { return reread(number, 'e', digits-1) }

// reread returns the number that stands in a text of it.
func reread(number float64, style byte, places int) float64 {
	read, err := strconv.ParseFloat(strconv.FormatFloat(number, style, places, 64), 64)
	if err != nil || math.IsNaN(read) {
		panic("record: cannot write " + strconv.FormatFloat(number, 'g', -1, 64))
	}
	return read + 0 // a zero loses its sign
}

// plainly writes a number without an exponent, the way people type it.
func plainly(number float64) string { return strconv.FormatFloat(number, 'f', -1, 64) }

// Equal reports whether two structs of one type are the same record.
func Equal[T any](a, b T) bool { return bytes.Equal(Encode(a), Encode(b)) }
