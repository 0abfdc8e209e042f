package keys

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"
)

// Rebind gives actions the keys that the settings name: "bench.undo": ["u",
// "ctrl+u"]. What is listed replaces an action's own keys; arrows, Enter and Esc
// stay in any case. Each returned sentence says what could not be done, or which
// action lost a key to another; everything else is done.
func (m *Map) Rebind(wanted map[string][]string) []string {
	var problems []string
	say := func(format string, args ...any) { problems = append(problems, fmt.Sprintf(format, args...)) }
	for name := range wanted {
		if s, _ := m.find(name); s == nil {
			say("keys.%s: there is no such action; the table of keys in the README lists them by name", name)
		}
	}
	for _, s := range m.Scopes() {
		owner := map[string]Action{}
		for i := range s.Bindings {
			for _, press := range s.Bindings[i].fixed {
				owner[press] = s.Bindings[i].Action
			}
		}
		for i := range s.Bindings {
			b := &s.Bindings[i]
			list, chosen := wanted[s.name(b.Action)]
			if !chosen {
				continue
			}
			presses := slices.Clone(b.fixed)
			for _, typed := range list {
				press, reason := s.read(typed)
				other, taken := owner[press]
				switch {
				case reason != "":
					say("keys.%s: %q %s", s.name(b.Action), typed, reason)
				case taken && other == b.Action:
				case taken:
					say("keys.%s: %s is the key of %q already, which keeps it", s.name(b.Action), label(press), s.Does(other))
				default:
					owner[press] = b.Action
					presses = append(presses, press)
				}
			}
			b.press(presses)
		}
		// What was chosen wins over a key that another action came with.
		for i := range s.Bindings {
			b := &s.Bindings[i]
			if _, chosen := wanted[s.name(b.Action)]; chosen {
				continue
			}
			for _, press := range slices.Clone(b.Keys()) {
				other, taken := owner[press]
				if !taken || other == b.Action {
					continue
				}
				b.without(press)
				lost := ""
				if len(b.Keys()) == 0 {
					lost = ", and has no key left"
				}
				say("keys.%s: %s was the key of %q, which lost it%s", s.name(other), label(press), b.Help().Desc, lost)
			}
		}
	}
	slices.Sort(problems)
	return problems
}

// find returns the binding that the settings call by that name.
func (m *Map) find(name string) (*Scope, *Binding) {
	for _, s := range m.Scopes() {
		for i := range s.Bindings {
			if s.name(s.Bindings[i].Action) == name {
				return s, &s.Bindings[i]
			}
		}
	}
	return nil, nil
}

// Does says in words what an action does here.
func (s *Scope) Does(a Action) string {
	for i := range s.Bindings {
		if s.Bindings[i].Action == a {
			return s.Bindings[i].Help().Desc
		}
	}
	return ""
}

// named are the keys that a terminal can send, other than letters.
var named = func() map[string]bool {
	out := map[string]bool{}
	// The framework numbers control keys from 0 and the others downwards.
	for t := tea.KeyType(-100); t < 128; t++ {
		if name := (tea.Key{Type: t}).String(); t != tea.KeyRunes && name != "" {
			out[name] = true
		}
	}
	return out
}()

// read returns the framework's name of a key as it was typed into the settings,
// or why it cannot be a key here.
func (s *Scope) read(typed string) (press, reason string) {
	press = typed
	if utf8.RuneCountInString(typed) > 1 {
		press = strings.ToLower(typed)
	}
	if press == "space" {
		press = " "
	}
	letter, size := utf8.DecodeRuneInString(strings.TrimPrefix(press, "alt+"))
	single := size == len(strings.TrimPrefix(press, "alt+"))
	switch {
	case press == "":
		return "", "is not a key"
	case press == "ctrl+c" || press == "ctrl+l":
		return "", "always quits or redraws and can do nothing else"
	case s.Typed && single && !strings.HasPrefix(press, "alt+"):
		return "", "is text in this place: name a key such as ctrl+t or f5"
	case single && unicode.IsPrint(letter), named[press]:
		return press, ""
	}
	return "", "is not a key: write a letter, or a name such as ctrl+t, f5, home, pgup, space"
}
