package record_test

import (
	"errors"
	"maps"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/label"
	"foreshaft/engine/record"
)

// bindings has a table of lists of texts.
type bindings struct {
	Keys map[string][]string `job:"keys"`
}

func TestTableOfListsIsReadStrictly(t *testing.T) {
	cases := []struct{ name, text, want string }{
		{"text for the table", `{"keys":"u"}`, `keys: must be an object in braces, got "u"`},
		{"null for the table", `{"keys":null}`, `keys: must not be null: leave it out instead`},
		{"text for a list", `{"keys":{"bench.undo":"u"}}`, `keys.bench.undo: must be a list in brackets, got "u"`},
		{"null for a list", `{"keys":{"bench.undo":null}}`, `keys.bench.undo: must not be null: leave it out instead`},
		{"object for a list", `{"keys":{"bench":{"undo":["u"]}}}`, `keys.bench: must be a list in brackets, got {"undo":["u"]}`},
		{"number in a list", `{"keys":{"bench.undo":["u",5]}}`, `keys.bench.undo[1]: must be a text in quotes, got 5`},
		{"null in a list", `{"keys":{"bench.undo":[null]}}`, `keys.bench.undo[0]: must not be null: leave it out instead`},
		{"list in a list", `{"keys":{"bench.undo":["u","v",["w"]]}}`, `keys.bench.undo[2]: must be a text in quotes, got ["w"]`},
		{"repeated key", `{"keys":{"bench.undo":["u"],"bench.redo":[],"bench.undo":["u"]}}`, `keys.bench.undo: is given twice`},
		{"repeated key once it is cleaned", `{"keys":{"undo":["u"]," undo\u200b":["u"]}}`, `keys.undo: is given twice`},
		{"key that would drive a terminal", `{"keys":{"\u001b[2J":["u",true]}}`, `keys.␛[2J[1]: must be a text in quotes, got true`},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var b bindings
			err := record.Decode([]byte(c.text), &b)
			var refusal *record.Error
			if !errors.As(err, &refusal) || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

func TestTableOfListsIsReadClean(t *testing.T) {
	var b bindings
	text := `{"keys":{"bench.undo":[" u ","ctrl+z"],"a.b.c\t":["\u001b"],"none":[]}}`
	if err := record.Decode([]byte(text), &b); err != nil {
		t.Fatal(err)
	}
	want := map[string][]string{"bench.undo": {"u", "ctrl+z"}, "a.b.c": {"␛"}, "none": {}}
	if !reflect.DeepEqual(b.Keys, want) {
		t.Errorf("got  %q\nwant %q", b.Keys, want)
	}
}

func TestTableOfListsIsWrittenInOrder(t *testing.T) {
	cases := []struct {
		name string
		in   map[string][]string
		want string
	}{
		{"none", nil, `{}`},
		{"empty", map[string][]string{}, `{}`},
		{"a list in its own order", map[string][]string{"undo": {"u", "ctrl+z", "b"}}, `{"keys":{"undo":["u","ctrl+z","b"]}}`},
		// An empty list says something that a missing one does not.
		{"lists without a text stay", map[string][]string{"undo": {}, "redo": nil}, `{"keys":{"redo":[],"undo":[]}}`},
		{"keys in order", map[string][]string{"b": {"1"}, "a.c": {"2"}, "a": {"3"}, "a.b": {"4"}}, `{"keys":{"a":["3"],"a.b":["4"],"a.c":["2"],"b":["1"]}}`},
		{"quotes", map[string][]string{`"`: {`\`}}, `{"keys":{"\"":["\\"]}}`},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := string(record.Encode(bindings{c.in})); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

func TestTableOfListsComesBack(t *testing.T) {
	text := rapid.Map(rapid.String(), label.Clean)
	rapid.Check(t, func(t *rapid.T) {
		in := bindings{rapid.MapOfN(text, rapid.SliceOfN(text, 0, 4), 1, 6).Draw(t, "keys")}
		written := record.Encode(in)
		var back bindings
		if err := record.Decode(written, &back); err != nil {
			t.Fatalf("its own output is refused: %v\n%s", err, written)
		}
		if !maps.EqualFunc(in.Keys, back.Keys, slices.Equal[[]string]) {
			t.Fatalf("wrote %q, read %q", in.Keys, back.Keys)
		}
	})
}
