package keys

import (
	"reflect"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// scopeOf returns the bindings of one scope by its name in help.
func scopeOf(t *testing.T, m *Map, name string) []key.Binding {
	t.Helper()
	for _, s := range m.Scopes() {
		if s.Name == name {
			return s.Bindings
		}
	}
	t.Fatalf("there is no scope %q", name)
	return nil
}

// fields returns all bindings of a struct of bindings.
func fields(scope any) []key.Binding {
	var out []key.Binding
	v := reflect.ValueOf(scope)
	for i := range v.NumField() {
		out = append(out, v.Field(i).Interface().(key.Binding))
	}
	return out
}

func TestNoKeyIsBoundTwiceInOneScope(t *testing.T) {
	for _, s := range Default().Scopes() {
		taken := map[string]string{}
		for _, b := range s.Bindings {
			for _, press := range b.Keys() {
				if other, twice := taken[press]; twice {
					t.Errorf("%s: %q does both %q and %q", s.Name, press, other, b.Help().Desc)
				}
				taken[press] = b.Help().Desc
			}
		}
	}
}

func TestEveryBindingHasKeysAndHelp(t *testing.T) {
	for _, s := range Default().Scopes() {
		if s.Name == "" || len(s.Bindings) == 0 {
			t.Errorf("a scope without a name or bindings: %+v", s)
		}
		for _, b := range s.Bindings {
			if len(b.Keys()) == 0 || b.Help().Key == "" || b.Help().Desc == "" || !b.Enabled() {
				t.Errorf("%s: a binding without keys or help: %v %+v", s.Name, b.Keys(), b.Help())
			}
		}
	}
}

func TestScopesListEveryBinding(t *testing.T) {
	m := Default()
	v := reflect.ValueOf(*m)
	if v.NumField() != len(m.Scopes()) {
		t.Fatalf("%d scopes listed of %d", len(m.Scopes()), v.NumField())
	}
	for i, s := range m.Scopes() {
		for _, b := range fields(v.Field(i).Interface()) {
			if !slices.ContainsFunc(s.Bindings, func(l key.Binding) bool { return slices.Equal(l.Keys(), b.Keys()) }) {
				t.Errorf("%s: %q is bound and not listed, so help does not show it", s.Name, b.Keys())
			}
		}
		if got := len(fields(v.Field(i).Interface())); got != len(s.Bindings) {
			t.Errorf("%s: %d bindings listed of %d", s.Name, len(s.Bindings), got)
		}
	}
}

// pressed returns the names that the terminal framework gives to keys.
func pressed() map[string]bool {
	names := map[string]bool{" ": true}
	for k := tea.KeyType(-100); k < 128; k++ {
		names[tea.KeyMsg{Type: k}.String()] = true
	}
	return names
}

func TestEveryKeyCanBePressed(t *testing.T) {
	names := pressed()
	for _, s := range Default().Scopes() {
		for _, b := range s.Bindings {
			for _, press := range b.Keys() {
				if utf8.RuneCountInString(press) != 1 && !names[press] {
					t.Errorf("%s: no key is called %q", s.Name, press)
				}
			}
		}
	}
}

func TestHelpNamesTheKeysThatAreBound(t *testing.T) {
	spelt := strings.NewReplacer("↑", "up", "↓", "down", "←", "left", "→", "right", "PgUp", "pgup", "PgDn", "pgdown", "Enter", "enter", "Esc", "esc",
		"Home", "home", "End", "end", "Ctrl+", "ctrl+", "L", "l")
	for _, s := range Default().Scopes() {
		for _, b := range s.Bindings {
			for _, word := range strings.Fields(b.Help().Key) {
				name := word
				if utf8.RuneCountInString(word) > 1 || strings.ContainsAny(word, "↑↓←→") {
					name = spelt.Replace(word)
				}
				if !slices.Contains(b.Keys(), name) {
					t.Errorf("%s: help shows %s for %q, which are %q", s.Name, word, b.Help().Desc, b.Keys())
				}
			}
		}
	}
}

func TestFootersOfferOnlyKeysOfTheirScope(t *testing.T) {
	m := Default()
	for _, c := range []struct {
		name, scope string
		hints       []Hint
	}{
		{"BenchFooter", "Bench", m.BenchFooter()},
		{"EmptyFooter", "Bench", m.EmptyFooter()},
		{"ListFooter", "Lists", m.ListFooter()},
		{"FormFooter", "Bow form", m.FormFooter()},
		{"EntryFooter", "Typing", m.EntryFooter()},
		{"ReaderFooter", "Pages to read", m.ReaderFooter()},
	} {
		var shown []string
		for _, b := range scopeOf(t, m, c.scope) {
			shown = append(shown, strings.Fields(b.Help().Key)...)
		}
		if len(c.hints) == 0 {
			t.Errorf("%s is empty", c.name)
		}
		for _, h := range c.hints {
			if h.Does == "" {
				t.Errorf("%s does not say what %s does", c.name, h.Press)
			}
			for _, press := range strings.Fields(h.Press) {
				if !slices.Contains(shown, press) {
					t.Errorf("%s offers %s, which does nothing there", c.name, press)
				}
			}
		}
	}
}

func TestFootersFollowTheBindings(t *testing.T) {
	m := Default()
	m.Bench.Undo = bind("F9", "undo", "f9")
	if !slices.ContainsFunc(m.BenchFooter(), func(h Hint) bool { return h.Press == "F9" && h.Does == "undo" }) {
		t.Error("the footer offers another key than the one that is bound")
	}
	if !strings.Contains(m.Table(), "`F9`") {
		t.Error("the table shows another key than the one that is bound")
	}
}
