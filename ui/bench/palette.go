package bench

import (
	"fmt"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/sahilm/fuzzy"

	"foreshaft/ui/keys"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// palette finds an action by its name, so that nobody needs to know its key.
type palette struct {
	listing
	scope *keys.Scope
	all   []keys.Action
	found []keys.Action
	run   func(m *Model, a keys.Action) (done bool, r Request)
	from  dialog // where the actions belong to, nil for the bench
}

// newPalette lists the actions of a scope, of some of them only where some are
// named, and does the one that is chosen with run.
func newPalette(m *Model, s *keys.Scope, only []keys.Action, run func(m *Model, a keys.Action) (bool, Request)) *palette {
	p := &palette{listing: listing{input: newInput("")}, scope: s, run: run, from: m.dialog}
	for i := range s.Bindings {
		if a := s.Bindings[i].Action; a != keys.Command && (only == nil || slices.Contains(only, a)) {
			p.all = append(p.all, a)
		}
	}
	p.found = p.all
	m.Say("Type a part of what you want to do; its key stands beside it.")
	return p
}

// names is what the filter looks through: the words of help, the name that the
// settings use, and what else it might be called.
func (p *palette) names() []string {
	out := make([]string, len(p.all))
	for i, a := range p.all {
		out[i] = strings.ToLower(p.scope.Does(a) + " " + string(a) + " " + p.scope.Words(a))
	}
	return out
}

// filter finds the actions that have the words in them that are typed. When none
// has, a letter was left out or is wrong: then those with the letters in that
// order, the likeliest first.
func (p *palette) filter() {
	p.at, p.offset, p.found = 0, 0, nil
	query := strings.ToLower(strings.TrimSpace(p.input.Value()))
	if query == "" {
		p.found = p.all
		return
	}
	names := p.names()
	for i, a := range p.all {
		if matches(query, names[i]) {
			p.found = append(p.found, a)
		}
	}
	if len(p.found) > 0 {
		return
	}
	// Within one word: letters picked from a whole sentence are in any sentence.
	best := map[keys.Action]int{}
	for i, a := range p.all {
		for _, match := range fuzzy.Find(query, split(names[i])) {
			if score, found := best[a]; !found || match.Score > score {
				best[a] = match.Score
			}
		}
		if _, found := best[a]; found {
			p.found = append(p.found, a)
		}
	}
	slices.SortStableFunc(p.found, func(a, b keys.Action) int { return best[b] - best[a] })
}

func (p *palette) key(m *Model, k tea.KeyMsg) (bool, Request) {
	switch a := m.keys.List.Action(k); {
	case a == keys.Close:
		m.message = ""
		return true, nil
	case p.move(a, len(p.found)):
	case a == keys.Choose:
		if len(p.found) == 0 {
			m.Say("Nothing matches: press Backspace, or Esc to go back.")
			return false, nil
		}
		m.message = ""
		m.close(p)
		done, r := p.run(m, p.found[p.at])
		if done {
			m.close(p.from)
		}
		return false, r
	default:
		if p.typed(k) {
			p.filter()
		}
	}
	return false, nil
}

func (p *palette) draw(m *Model, w, h int) []string {
	doesW := min(w-3-keysWidth, 64)
	out := p.top(m.theme, w, fmt.Sprintf(" %s: any action by name", p.scope.Name), text.Pad("what it does", doesW)+"keys")
	from, to := p.seen(h-len(out), len(p.found))
	for i := from; i < to; i++ {
		a := p.found[i]
		line := text.Pad(mark(i == p.at)+text.Pad(text.Cut(p.scope.Does(a), doesW-1), doesW)+p.scope.Presses(a), w)
		if i == p.at {
			line = m.theme.Paint(theme.Focus, line)
		}
		out = append(out, line)
	}
	if len(p.found) == 0 {
		out = append(out, m.theme.Paint(theme.Quiet, "   Nothing is called like that."))
	}
	return out
}

// keysWidth holds the keys of nearly every action.
const keysWidth = 16

// mark stands before the line in focus.
func mark(focused bool) string {
	if focused {
		return " ▸ "
	}
	return "   "
}

func (p *palette) typing() bool                { return true }
func (p *palette) footer(m *Model) []keys.Hint { return m.keys.ListFooter() }
