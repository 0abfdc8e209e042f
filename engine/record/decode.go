package record

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"foreshaft/engine/label"
	"foreshaft/engine/unit"
)

// Error is a refusal of one place in a record.
type Error struct {
	Path    string // such as builds[1].head.weight_gr; empty for the whole
	Message string
}

// Error returns the place and what is wrong there.
func (e *Error) Error() string {
	if e.Path == "" {
		return e.Message
	}
	return e.Path + ": " + e.Message
}

func refuse(path, format string, args ...any) error {
	return &Error{Path: path, Message: fmt.Sprintf(format, args...)}
}

// Decode fills the struct that a pointer points to from JSON. It returns an
// *Error naming the path of the first value that breaks a rule; broken JSON is
// named by line and column. Texts are cleaned by package label.
func Decode(data []byte, pointer any) error {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	// Repeated keys are found here rather than by the library, so that the
	// error reads like the others.
	d := &decoder{data: data, Decoder: jsontext.NewDecoder(bytes.NewReader(data), jsontext.AllowDuplicateNames(true))}
	if err := d.value("", reflect.ValueOf(pointer).Elem(), field{}); err != nil {
		return d.explain(err)
	}
	if _, err := d.ReadToken(); err != io.EOF {
		if err == nil {
			err = refuse("", "there is more text behind the end of the record, at %s", d.place(d.InputOffset()))
		}
		return d.explain(err)
	}
	return nil
}

type decoder struct {
	*jsontext.Decoder
	data []byte
}

// explain turns the library's syntax errors into a line and column.
func (d *decoder) explain(err error) error {
	var syntax *jsontext.SyntacticError
	switch {
	case errors.As(err, &syntax):
		reason := syntax.Err.Error()
		if errors.Is(syntax.Err, io.ErrUnexpectedEOF) {
			return refuse("", "%s: the text ends in the middle of the record", d.place(syntax.ByteOffset))
		}
		return refuse("", "%s: not valid JSON: %s", d.place(syntax.ByteOffset), strings.TrimPrefix(reason, "jsontext: "))
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return refuse("", "the text ends before the record does: nothing to read")
	}
	return err
}

func (d *decoder) place(offset int64) string {
	before := d.data[:min(int(offset), len(d.data))]
	line := 1 + bytes.Count(before, []byte("\n"))
	column := 1 + len([]rune(string(before[bytes.LastIndexByte(before, '\n')+1:])))
	return fmt.Sprintf("line %d, column %d", line, column)
}

// value reads the next JSON value into v. f holds the bounds of numbers and
// the words of texts.
func (d *decoder) value(path string, v reflect.Value, f field) error {
	if o, ok := v.Addr().Interface().(slot); ok {
		value, given := o.Slot()
		*given = true
		return d.value(path, reflect.ValueOf(value).Elem(), f)
	}
	kind := d.PeekKind()
	if kind == 'n' {
		if _, err := d.ReadToken(); err != nil {
			return err // such as nan
		}
		return refuse(path, "must not be null: leave it out instead")
	}
	switch v.Kind() {
	case reflect.Struct:
		return d.object(path, v)
	case reflect.Slice:
		return d.list(path, v, f)
	case reflect.Map:
		return d.table(path, v)
	case reflect.String:
		token, err := d.token(path, kind, '"', "a text in quotes")
		if err != nil {
			return err
		}
		return at(path, f.setWord(v, token.String()))
	case reflect.Bool:
		if kind != 't' && kind != 'f' {
			_, err := d.token(path, kind, 't', "true or false")
			return err
		}
		token, err := d.ReadToken()
		if err == nil {
			v.SetBool(token.Bool())
		}
		return err
	case reflect.Int, reflect.Float64:
		token, err := d.token(path, kind, '0', "a number")
		if err != nil {
			return err
		}
		number, err := strconv.ParseFloat(token.String(), 64)
		if err != nil {
			return refuse(path, "is too large a number: %s", token.String())
		}
		return at(path, f.setNumber(v, number, token.String()))
	}
	panic("record: cannot hold " + v.Type().String())
}

// token reads a token of the wanted kind, or says what stands there instead.
func (d *decoder) token(path string, kind, want jsontext.Kind, name string) (jsontext.Token, error) {
	if kind == want {
		return d.ReadToken()
	}
	raw, err := d.ReadValue()
	if err != nil {
		return jsontext.Token{}, err
	}
	return jsontext.Token{}, refuse(path, "must be %s, got %s", name, clip(label.Clean(string(raw))))
}

// clip keeps a value short enough to repeat in a sentence, whole words if it can.
func clip(text string) string {
	const most = 40
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	kept := string(runes[:most])
	if blank := strings.LastIndexByte(kept, ' '); blank > 0 {
		kept = kept[:blank+1]
	}
	return kept + "…"
}

func (d *decoder) object(path string, v reflect.Value) error {
	if _, err := d.token(path, d.PeekKind(), '{', "an object in braces"); err != nil {
		return err
	}
	fields := shape(v.Type())
	seen := make([]bool, len(fields))
	for d.PeekKind() != '}' {
		name, err := d.ReadToken()
		if err != nil {
			return err
		}
		key := name.String()
		i := slices.IndexFunc(fields, func(f field) bool { return f.key == key })
		switch {
		case i < 0:
			return refuse(join(path, label.Clean(key)), "is not a key of the format%s", suggest(key, fields))
		case seen[i]:
			return refuse(join(path, key), "is given twice")
		}
		seen[i] = true
		if err := d.value(join(path, key), v.FieldByIndex(fields[i].index), fields[i]); err != nil {
			return err
		}
	}
	if _, err := d.ReadToken(); err != nil {
		return err
	}
	for i, f := range fields {
		if f.need && !seen[i] {
			return refuse(join(path, f.key), "is missing")
		}
	}
	return nil
}

// suggest names the key that was probably meant when only its letter case or
// a misplaced unit differs.
func suggest(key string, fields []field) string {
	for _, f := range fields {
		if strings.EqualFold(f.key, key) {
			return fmt.Sprintf(": did you mean %q?", f.key)
		}
	}
	for _, f := range fields {
		if len(key) > 2 && strings.HasPrefix(f.key, key+"_") {
			return fmt.Sprintf(": did you mean %q?", f.key)
		}
	}
	return ""
}

func (d *decoder) list(path string, v reflect.Value, f field) error {
	if _, err := d.token(path, d.PeekKind(), '[', "a list in brackets"); err != nil {
		return err
	}
	v.Set(reflect.MakeSlice(v.Type(), 0, 4))
	for i := 0; d.PeekKind() != ']'; i++ {
		element := reflect.New(v.Type().Elem()).Elem()
		_, optional := element.Addr().Interface().(slot)
		if optional && d.PeekKind() == 'n' {
			if _, err := d.ReadToken(); err != nil {
				return err
			}
		} else if err := d.value(fmt.Sprintf("%s[%d]", path, i), element, f); err != nil {
			return err
		}
		v.Set(reflect.Append(v, element))
	}
	_, err := d.ReadToken()
	return err
}

func (d *decoder) table(path string, v reflect.Value) error {
	if _, err := d.token(path, d.PeekKind(), '{', "an object in braces"); err != nil {
		return err
	}
	v.Set(reflect.MakeMap(v.Type()))
	for d.PeekKind() != '}' {
		name, err := d.ReadToken()
		if err != nil {
			return err
		}
		key := reflect.ValueOf(label.Clean(name.String())).Convert(v.Type().Key())
		place := join(path, key.String())
		if v.MapIndex(key).IsValid() {
			return refuse(place, "is given twice")
		}
		element := reflect.New(v.Type().Elem()).Elem()
		if err := d.value(place, element, field{}); err != nil {
			return err
		}
		v.SetMapIndex(key, element)
	}
	_, err := d.ReadToken()
	return err
}

// at puts the path on an error that has none yet.
func at(path string, err error) error {
	if err == nil {
		return nil
	}
	return &Error{Path: path, Message: err.Error()}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// setWord stores a text, cleaned, when it is among the words allowed.
func (f field) setWord(v reflect.Value, text string) error {
	text = label.Clean(text)
	if f.words != nil && !slices.Contains(f.words, text) {
		return fmt.Errorf("must be %s, got %q", orList(f.words), text)
	}
	if f.need && text == "" {
		return errors.New("must not be empty")
	}
	v.SetString(text)
	return nil
}

// setNumber stores a number of the field's unit when it lies in the range.
// typed is how it was written, for the refusal.
func (f field) setNumber(v reflect.Value, number float64, typed string) error {
	if low, high, reason, outside := f.outside(number); outside {
		return fmt.Errorf("must be %s to %s, got %s%s", plainly(low), plainly(high), typed, reason)
	}
	if v.Kind() == reflect.Int {
		if number != math.Trunc(number) {
			return fmt.Errorf("must be a whole number, got %s", typed)
		}
		v.SetInt(int64(number))
		return nil
	}
	u := f.unit
	if u == (unit.Unit{}) {
		u = unit.Number
	}
	v.SetFloat(u.From(number))
	return nil
}

// outside reports whether a number of the field's unit lies outside the range,
// which it returns with what else to say.
func (f field) outside(number float64) (low, high float64, reason string, outside bool) {
	if !f.bounded || number >= f.min && number <= f.max {
		return 0, 0, "", false
	}
	reason = f.over
	if number < f.min {
		reason = f.under
		if number <= 0 && f.min > 0 { // no such thing was meant
			reason = ""
		}
	}
	if reason != "" {
		reason = ": " + reason
	}
	return f.min, f.max, reason, true
}

func orList(words []string) string {
	if len(words) == 1 {
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}
