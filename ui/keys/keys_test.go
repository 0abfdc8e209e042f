package keys

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"
)

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

func TestNoActionStandsTwiceInOneScope(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range Default().Scopes() {
		for _, b := range s.Bindings {
			if name := s.name(b.Action); seen[name] {
				t.Errorf("%s stands twice", name)
			} else {
				seen[name] = true
			}
		}
	}
}

func TestEveryBindingHasKeysAndHelp(t *testing.T) {
	for _, s := range Default().Scopes() {
		if s.Name == "" || s.ID == "" || len(s.Bindings) == 0 {
			t.Errorf("a scope without a name or bindings: %+v", s)
		}
		for _, b := range s.Bindings {
			if len(b.Keys()) == 0 || b.Help().Key == "" || b.Help().Desc == "" || b.Action == "" || !b.Enabled() {
				t.Errorf("%s: a binding without keys or help: %v %+v", s.Name, b.Keys(), b.Help())
			}
		}
	}
}

func TestEveryKeyCanBePressed(t *testing.T) {
	for _, s := range Default().Scopes() {
		for _, b := range s.Bindings {
			for _, press := range b.Keys() {
				if utf8.RuneCountInString(press) != 1 && !named[press] {
					t.Errorf("%s: no key is called %q", s.Name, press)
				}
				if s.Typed && utf8.RuneCountInString(press) == 1 {
					t.Errorf("%s: %q is text there", s.Name, press)
				}
			}
		}
	}
}

// Without these nobody gets around or back, whatever the settings say.
func TestArrowsEnterAndEscAlwaysWork(t *testing.T) {
	m := Default()
	wanted := map[string][]string{}
	for _, s := range m.Scopes() {
		for _, b := range s.Bindings {
			wanted[s.name(b.Action)] = nil
		}
	}
	if problems := m.Rebind(wanted); len(problems) != 0 {
		t.Errorf("taking all keys away says %q", problems)
	}
	for _, c := range []struct {
		scope *Scope
		key   tea.KeyType
		want  Action
	}{
		{m.Bench, tea.KeyUp, Up}, {m.Bench, tea.KeyDown, Down}, {m.Bench, tea.KeyLeft, Left}, {m.Bench, tea.KeyRight, Right}, {m.Bench, tea.KeyEnter, Edit},
		{m.List, tea.KeyUp, Up}, {m.List, tea.KeyEnter, Choose}, {m.List, tea.KeyEsc, Close}, {m.Form, tea.KeyDown, Down}, {m.Form, tea.KeyEsc, Close},
		{m.Range, tea.KeyUp, Up}, {m.Range, tea.KeyDown, Down}, {m.Range, tea.KeyLeft, Left}, {m.Range, tea.KeyRight, Right},
		{m.Range, tea.KeyEnter, Edit}, {m.Range, tea.KeyEsc, Close},
		{m.Map, tea.KeyUp, Up}, {m.Map, tea.KeyDown, Down}, {m.Map, tea.KeyLeft, Left}, {m.Map, tea.KeyRight, Right},
		{m.Map, tea.KeyEnter, Choose}, {m.Map, tea.KeyEsc, Close},
		{m.Entry, tea.KeyEnter, Accept}, {m.Entry, tea.KeyEsc, Cancel}, {m.Reader, tea.KeyEsc, Close},
	} {
		if got := c.scope.Action(tea.KeyMsg{Type: c.key}); got != c.want {
			t.Errorf("%s: %s does %q, want %q", c.scope.Name, tea.KeyMsg{Type: c.key}, got, c.want)
		}
	}
	if got := m.Bench.Action(letter("z")); got != "" {
		t.Errorf("z still does %q", got)
	}
	if got := m.Bench.Press(Undo); got != ":undo" {
		t.Errorf("an action without a key is called by %q, want :undo", got)
	}
}

func letter(s string) tea.KeyMsg { return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(s)} }

func TestRebind(t *testing.T) {
	for _, c := range []struct {
		name   string
		wanted map[string][]string
		says   []string          // a part of each sentence, in order
		does   map[string]Action // what keys of the bench do then
	}{
		{"nothing", nil, nil, map[string]Action{"z": Undo}},
		{"a free key", map[string][]string{"bench.undo": {"w", "ctrl+u"}}, nil, map[string]Action{"w": Undo, "ctrl+u": Undo, "z": ""}},
		{"a key that another came with", map[string][]string{"bench.undo": {"u"}},
			[]string{`keys.bench.undo: u was the key of "units`}, map[string]Action{"u": Undo}},
		{"one of two keys that another came with", map[string][]string{"bench.undo": {"k"}},
			[]string{`keys.bench.undo: k was the key of "row up", which lost it`}, map[string]Action{"k": Undo, "up": Up}},
		{"twice in the settings", map[string][]string{"bench.redo": {"w"}, "bench.undo": {"w"}},
			[]string{`keys.bench.redo: w is the key of "undo" already, which keeps it`}, map[string]Action{"w": Undo, "Z": ""}},
		{"another screen's key", map[string][]string{"downrange.figure": {"w"}, "bench.undo": {"w"}}, nil, map[string]Action{"w": Undo, "F": ""}},
		{"an exchange", map[string][]string{"bench.undo": {"Z"}, "bench.redo": {"z"}}, nil, map[string]Action{"z": Redo, "Z": Undo}},
		{"an arrow", map[string][]string{"bench.undo": {"up"}}, []string{`↑ is the key of "row up" already`}, map[string]Action{"up": Up, "z": ""}},
		{"no action", map[string][]string{"bench.undoo": {"w"}}, []string{"keys.bench.undoo: there is no such action"}, map[string]Action{"w": ""}},
		{"no key", map[string][]string{"bench.undo": {"ctrl+enterx", "", "\x1b"}},
			[]string{`"" is not a key`, `"\x1b" is not a key`, `"ctrl+enterx" is not a key`}, nil},
		{"the way out", map[string][]string{"bench.undo": {"ctrl+c"}}, []string{"always quits"}, map[string]Action{"ctrl+c": Quit}},
		{"a letter where letters are text", map[string][]string{"list.choose": {"x"}}, []string{`keys.list.choose: "x" is text in this place`}, nil},
		{"another alphabet", map[string][]string{"bench.undo": {"я"}}, nil, map[string]Action{"я": Undo}},
		{"names in capitals, and space", map[string][]string{"bench.undo": {"F5", "Space"}}, nil, map[string]Action{"f5": Undo, " ": Undo}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := Default()
			got := m.Rebind(c.wanted)
			if len(got) != len(c.says) {
				t.Fatalf("says %q, want %d sentences", got, len(c.says))
			}
			for i := range got {
				if !strings.Contains(got[i], c.says[i]) {
					t.Errorf("says %q, want it to say %q", got[i], c.says[i])
				}
			}
			for press, want := range c.does {
				owners := []Action{}
				for _, b := range m.Bench.Bindings {
					if slices.Contains(b.Keys(), press) {
						owners = append(owners, b.Action)
					}
				}
				if want == "" && len(owners) > 0 || want != "" && !slices.Equal(owners, []Action{want}) {
					t.Errorf("%q does %q, want %q", press, owners, want)
				}
			}
			for _, s := range m.Scopes() {
				for _, b := range s.Bindings {
					if len(strings.Fields(b.Help().Key)) != len(b.Keys()) {
						t.Errorf("%s: help shows %q for the keys %q", s.Name, b.Help().Key, b.Keys())
					}
				}
			}
		})
	}
}

func TestKeysAreCalledAsOnAKeyboard(t *testing.T) {
	for press, want := range map[string]string{"up": "↑", "pgup": "PgUp", "ctrl+z": "Ctrl+Z", "shift+tab": "Shift+Tab", "alt+x": "Alt+X", "f5": "F5", " ": "Space", "+": "+", "Z": "Z", "esc": "Esc"} {
		if got := label(press); got != want {
			t.Errorf("%q is called %q, want %q", press, got, want)
		}
	}
}

func TestFootersOfferOnlyKeysOfTheirScope(t *testing.T) {
	m := Default()
	for _, c := range []struct {
		name  string
		scope *Scope
		hints []Hint
	}{
		{"BenchFooter", m.Bench, m.BenchFooter()},
		{"EmptyFooter", m.Bench, m.EmptyFooter()},
		{"RangeFooter", m.Range, m.RangeFooter()},
		{"MapFooter", m.Map, m.MapFooter()},
		{"ListFooter", m.List, m.ListFooter()},
		{"EntryFooter", m.Entry, m.EntryFooter()},
		{"ReaderFooter", m.Reader, m.ReaderFooter()},
	} {
		var shown []string
		for _, b := range c.scope.Bindings {
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
	m.Rebind(map[string][]string{"bench.undo": {"f9"}, "bench.help": nil})
	if !slices.Contains(m.BenchFooter(), Hint{"F9", "undo"}) {
		t.Error("the footer offers another key than the one that is bound")
	}
	m.Rebind(map[string][]string{"downrange.figure": {"f8"}, "downrange.chart": nil})
	if !slices.Contains(m.RangeFooter(), Hint{"F8", "figure"}) || slices.ContainsFunc(m.RangeFooter(), func(h Hint) bool { return h.Does == "chart" }) {
		t.Errorf("the Downrange footer offers other keys than those that are bound: %v", m.RangeFooter())
	}
	if !strings.Contains(m.Table(), "`F9`") || !strings.Contains(m.Table(), "`F8`") {
		t.Error("the table shows another key than the one that is bound")
	}
	if slices.ContainsFunc(m.BenchFooter(), func(h Hint) bool { return h.Does == "help" }) {
		t.Error("the footer offers an action that has no key")
	}
}
