package record_test

import (
	"errors"
	"strings"
	"testing"

	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// sample has one field of every sort that the format knows.
type sample struct {
	Name   string                          `job:"name" need:"yes"`
	Shape  string                          `job:"shape" one:"ogive,cone,blunt"`
	Weight unit.Mass                       `job:"weight_gr" range:"0,1000"`
	Draw   unit.Length                     `job:"draw_length_in" range:"12,36" under:"bolts are not covered"`
	Count  int                             `job:"count" range:"0,8"`
	On     bool                            `job:"on"`
	Maybe  unit.Optional[bool]             `job:"maybe"`
	Warmth unit.Optional[unit.Length]      `job:"reach_in" range:"-60,60"`
	Heat   unit.Optional[unit.Temperature] `job:"temperature_c" range:"-40,55"`
	Free   unit.Optional[float64]          `job:"free"`
	Inner  unit.Optional[inner]            `job:"inner"`
	List   []inner                         `job:"list"`
	Gaps   []unit.Optional[inner]          `job:"gaps"`
	Table  map[string]inner                `job:"table"`
	shared
}

type inner struct {
	Length unit.Length `job:"length_in" range:"0,60" need:"yes"`
}

type shared struct {
	Note string `job:"note"`
}

func TestDecodeRefuses(t *testing.T) {
	cases := []struct{ name, text, want string }{
		{"unknown key", `{"name":"a","wait":1}`, `wait: is not a key of the format`},
		{"key without its unit", `{"name":"a","weight":1}`, `weight: is not a key of the format: did you mean "weight_gr"?`},
		{"wrong letter case", `{"name":"a","Weight_GR":1}`, `Weight_GR: is not a key of the format: did you mean "weight_gr"?`},
		{"unknown key deep inside", `{"name":"a","list":[{"length_in":1},{"length_in":1,"len":2}]}`, `list[1].len: is not a key of the format`},
		{"unknown key that would drive a terminal", `{"name":"a","\u001b[2J":1}`, `␛[2J: is not a key of the format`},
		{"repeated key", `{"name":"a","weight_gr":1,"weight_gr":1}`, `weight_gr: is given twice`},
		{"repeated key spelled with an escape", `{"name":"a","on":true,"\u006fn":true}`, `on: is given twice`},
		{"repeated key in a table", `{"name":"a","table":{"x":{"length_in":1},"x":{"length_in":1}}}`, `table.x: is given twice`},
		{"null value", `{"name":null}`, `name: must not be null: leave it out instead`},
		{"null object", `{"name":"a","inner":null}`, `inner: must not be null: leave it out instead`},
		{"null in a list", `{"name":"a","list":[null]}`, `list[0]: must not be null: leave it out instead`},
		{"null as a whole", `null`, `must not be null: leave it out instead`},
		{"text for a number", `{"name":"a","weight_gr":"12"}`, `weight_gr: must be a number, got "12"`},
		{"true for a number", `{"name":"a","weight_gr":true}`, `weight_gr: must be a number, got true`},
		{"list for a number", `{"name":"a","weight_gr":[1]}`, `weight_gr: must be a number, got [1]`},
		{"number for a text", `{"name":5}`, `name: must be a text in quotes, got 5`},
		{"number for a switch", `{"name":"a","on":1}`, `on: must be true or false, got 1`},
		{"text for a switch", `{"name":"a","on":"yes"}`, `on: must be true or false, got "yes"`},
		{"number for an object", `{"name":"a","inner":3}`, `inner: must be an object in braces, got 3`},
		{"object for a list", `{"name":"a","list":{}}`, `list: must be a list in brackets, got {}`},
		{"list for a table", `{"name":"a","table":[]}`, `table: must be an object in braces, got []`},
		{"list as a whole", `[]`, `must be an object in braces, got []`},
		{"long value is cut at a blank", `{"name":["a text that is far too long to be", "repeated in a sentence"]}`, `name: must be a text in quotes, got ["a text that is far too long to be", …`},
		{"long value without a blank is cut", `{"weight_gr":"` + strings.Repeat("é", 60) + `"}`, `weight_gr: must be a number, got "` + strings.Repeat("é", 39) + `…`},
		{"below the range", `{"name":"a","weight_gr":-5}`, `weight_gr: must be 0 to 1000, got -5`},
		{"above the range", `{"name":"a","weight_gr":1000.0001}`, `weight_gr: must be 0 to 1000, got 1000.0001`},
		{"range with a reason", `{"name":"a","draw_length_in":11.9}`, `draw_length_in: must be 12 to 36, got 11.9: bolts are not covered`},
		{"range of an optional value", `{"name":"a","reach_in":61}`, `reach_in: must be -60 to 60, got 61`},
		{"range in a unit with an offset", `{"name":"a","temperature_c":-40.1}`, `temperature_c: must be -40 to 55, got -40.1`},
		{"fraction of a count", `{"name":"a","count":2.5}`, `count: must be a whole number, got 2.5`},
		{"count out of range", `{"name":"a","count":9}`, `count: must be 0 to 8, got 9`},
		{"too large a number", `{"name":"a","free":1e999}`, `free: is too large a number: 1e999`},
		{"too large a bounded number", `{"name":"a","weight_gr":-1e999}`, `weight_gr: is too large a number: -1e999`},
		{"unknown word", `{"name":"a","shape":"round"}`, `shape: must be ogive, cone or blunt, got "round"`},
		{"word in another case", `{"name":"a","shape":"Cone"}`, `shape: must be ogive, cone or blunt, got "Cone"`},
		{"empty word", `{"name":"a","shape":""}`, `shape: must be ogive, cone or blunt, got ""`},
		{"missing key", `{}`, `name: is missing`},
		{"missing key inside", `{"name":"a","inner":{}}`, `inner.length_in: is missing`},
		{"missing key in a table", `{"name":"a","table":{"x":{}}}`, `table.x.length_in: is missing`},
		{"empty name", `{"name":""}`, `name: must not be empty`},
		{"name of nothing visible", `{"name":"\u200b\u202e"}`, `name: must not be empty`},
		{"text behind the end", `{"name":"a"} {}`, `there is more text behind the end of the record, at line 1, column 15`},
		{"nothing", ``, `the text ends before the record does: nothing to read`},
		{"blanks only", " \n ", `the text ends before the record does: nothing to read`},
		{"only a byte order mark", "\ufeff", `the text ends before the record does: nothing to read`},
		{"cut off", "{\n \"name\": \"a\",\n", `line 3, column 1: the text ends in the middle of the record`},
		{"cut off in a text", `{"name":"a`, `line 1, column 11: the text ends in the middle of the record`},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			refused(t, c.text, c.want, true)
		})
	}
}

// Broken JSON is named by line and column, counted in characters from 1.
func TestDecodeRefusesBrokenJSON(t *testing.T) {
	cases := []struct{ name, text, at string }{
		{"not a number", `{"name":"a","weight_gr":NaN}`, "line 1, column 25"},
		{"not a number in lower case", `{"name":"a","weight_gr":nan}`, "line 1, column 26"},
		{"infinity", `{"name":"a","weight_gr":-Infinity}`, "line 1, column 26"},
		{"leading zero", `{"name":"a","weight_gr":012}`, "line 1, column 26"},
		{"bare fraction", `{"name":"a","weight_gr":.5}`, "line 1, column 25"},
		{"decimal comma", `{"name":"a","weight_gr":1,5}`, "line 1, column 27"},
		{"single quotes", `{'name':'a'}`, "line 1, column 2"},
		{"comma before the brace", "{\n  \"name\": \"a\",\n}", "line 2, column 14"},
		{"comma before the bracket", `{"name":"a","list":[{"length_in":1},]}`, "line 1, column 36"},
		{"missing comma", "{\"name\":\"a\"\n\"on\":true}", "line 2, column 1"},
		{"missing colon", `{"name" "a"}`, "line 1, column 9"},
		{"comment", "{\n// no\n\"name\":\"a\"}", "line 2, column 1"},
		{"letters behind the end", "{\"name\":\"a\"}\nx", "line 2, column 1"},
		{"column counts characters", `{"name":"äöü" x}`, "line 1, column 15"},
		{"byte order mark does not count", "\ufeff{x", "line 1, column 2"},
		{"control character in a text", "{\"name\":\"a\tb\"}", "line 1, column 11"},
		{"invalid UTF-8", "{\"name\":\"a\xff\"}", "line 1, column 11"},
		{"line ends of DOS", "{\r\n\"name\":\r\nx}", "line 3, column 1"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			refused(t, c.text, c.at+":", false)
		})
	}
}

func refused(t *testing.T, text, want string, whole bool) {
	t.Helper()
	var s sample
	err := record.Decode([]byte(text), &s)
	var refusal *record.Error
	switch {
	case err == nil:
		t.Fatalf("accepted %s as %+v", text, s)
	case !errors.As(err, &refusal):
		t.Fatalf("refused with a %T: %v", err, err)
	case whole && err.Error() != want, !whole && !strings.HasPrefix(err.Error(), want):
		t.Errorf("got  %s\nwant %s", err, want)
	case strings.ContainsAny(err.Error(), "\x1b\n\t\x00"):
		t.Errorf("the refusal itself drives the terminal: %q", err)
	}
}

func TestDecodeAccepts(t *testing.T) {
	text := "\ufeff" + ` {"note":" tidy\nup ","name":"\u001b[1mBold","weight_gr":75,"draw_length_in":29.5,"count":3e0,"on":true,"maybe":false,
		"reach_in":-0.5,"temperature_c":15,"free":-1e-3,"inner":{"length_in":1},"list":[{"length_in":2},{"length_in":3}],
		"gaps":[null,{"length_in":4}],"table":{"x":{"length_in":5}}} `
	var s sample
	if err := record.Decode([]byte(text), &s); err != nil {
		t.Fatal(err)
	}
	if s.Name != "␛[1mBold" || s.Note != "tidy up" {
		t.Errorf("texts must be cleaned: %q, %q", s.Name, s.Note)
	}
	if got := s.Weight.In(unit.Grain); got != 75 {
		t.Errorf("weight: %v gr", got)
	}
	if s.Count != 3 || !s.On || s.Maybe != unit.Some(false) || s.Free != unit.Some(-0.001) {
		t.Errorf("count, switches, number: %+v", s)
	}
	if s.Warmth.Value != -0.5*unit.Inch || s.Heat.Value != unit.Celsius(15) || s.Inner.Value.Length != unit.Inch {
		t.Errorf("units: %+v", s)
	}
	if len(s.List) != 2 || len(s.Gaps) != 2 || s.Gaps[0].Given || !s.Gaps[1].Given || s.Table["x"].Length != 5*unit.Inch {
		t.Errorf("lists: %+v", s)
	}
}

// What is not given is left out, so that the same record gives the same bytes.
func TestEncode(t *testing.T) {
	cases := []struct {
		name string
		in   sample
		want string
	}{
		{"nothing but what is needed", sample{}, `{"name":""}`},
		{"empty lists", sample{List: []inner{}, Table: map[string]inner{}}, `{"name":""}`},
		{"given zeros stay", sample{Warmth: unit.Some(unit.Length(0)), Maybe: unit.Some(false)}, `{"name":"","maybe":false,"reach_in":0}`},
		{"as typed", sample{Weight: 8.6 * unit.Grain, Heat: unit.Some(unit.Celsius(0.1))}, `{"name":"","weight_gr":8.6,"temperature_c":0.1}`},
		{"gaps", sample{Gaps: []unit.Optional[inner]{{}, unit.Some(inner{unit.Inch})}}, `{"name":"","gaps":[null,{"length_in":1}]}`},
		{"tables in order", sample{Table: map[string]inner{"b": {}, "a": {}}}, `{"name":"","table":{"a":{"length_in":0},"b":{"length_in":0}}}`},
		{"quotes", sample{Name: "a \"b\" \\ ü"}, `{"name":"a \"b\" \\ ü"}`},
		{"very small and very large", sample{Free: unit.Some(1.5e-9), Weight: 1e20 * unit.Grain}, `{"name":"","weight_gr":1e+20,"free":1.5e-09}`},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := string(record.Encode(c.in)); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}
