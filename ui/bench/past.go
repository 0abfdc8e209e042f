package bench

import (
	"fmt"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// pastScreen lists the revisions of something saved, the newest first, and says what
// changed between any two.
type pastScreen struct {
	entry     Entry
	revisions []Revision // the newest first; none until they have arrived
	cursor
	with int // the revision to compare with, by its number; 0 is the one before
	// What changed from one revision to another, kept once it was worked out.
	said map[[2]int][]string
}

// openPast shows the revisions of an entry.
func (m *Model) openPast(e Entry) Request {
	p := &pastScreen{entry: e, said: map[[2]int][]string{}}
	m.Say("Nothing is lost by looking: Enter opens a revision on the bench, %s makes it the newest again.", m.keys.Past.Press(keys.Restore))
	m.open(p)
	return p.ask(nil)
}

// ask asks for the revisions, and then for something else.
func (p *pastScreen) ask(then Request) Request {
	return Ask{Do: func(s Shelf) func(m *Model) Request {
		revisions, err := s.Revisions(p.entry)
		return func(m *Model) Request {
			if d, open := opened[*pastScreen](m); !open || d != p {
				return nil
			}
			switch {
			case err != nil && len(revisions) == 0:
				m.close(p)
				m.Alert("The revisions could not be read. %v", err)
				return nil
			case err != nil:
				m.Alert("Some revisions could not be read. %v", err)
			}
			p.revisions = slices.Clone(revisions)
			slices.Reverse(p.revisions)
			p.at = min(p.at, max(len(p.revisions)-1, 0))
			return then
		}
	}}
}

// pair returns the two revisions that are compared, the earlier one first; false when
// there is but one.
func (p *pastScreen) pair(at int) (was, now *Revision, ok bool) {
	if at >= len(p.revisions) {
		return nil, nil, false
	}
	one, other := &p.revisions[at], 0
	switch {
	case p.with == one.Number && p.with > 0:
		return nil, nil, false
	case p.with > 0:
		other = slices.IndexFunc(p.revisions, func(r Revision) bool { return r.Number == p.with })
	default:
		other = at + 1
	}
	if other < 0 || other >= len(p.revisions) {
		return nil, nil, false
	}
	two := &p.revisions[other]
	if one.Number < two.Number {
		return one, two, true
	}
	return two, one, true
}

// changes says what changed between two revisions.
func (p *pastScreen) changes(m *Model, was, now *Revision) []string {
	key := [2]int{was.Number, now.Number}
	if _, known := p.said[key]; !known {
		p.said[key] = present.Revised(m.units(), was.Job, now.Job)
		if p.entry.What == SavedBuild && len(now.Job.Builds) == 1 { // the title names it
			for i, words := range p.said[key] {
				p.said[key][i] = strings.TrimPrefix(words, now.Job.Builds[0].Name+": ")
			}
		}
		if len(p.said[key]) == 0 {
			p.said[key] = []string{"nothing: the two are the same"}
		}
	}
	return p.said[key]
}

func (p *pastScreen) key(m *Model, k tea.KeyMsg) (bool, Request) {
	return p.act(m, m.asks(k, m.keys.Past))
}

func (p *pastScreen) act(m *Model, a keys.Action) (bool, Request) {
	switch {
	case a == keys.Close:
		return true, nil
	case a == keys.Help:
		m.open(m.help())
	case a == keys.Command:
		m.open(newPalette(m, m.keys.Past, nil, p.act))
	case p.move(a, len(p.revisions)), len(p.revisions) == 0:
		return false, nil
	}
	r := p.revisions[p.at]
	switch a {
	case keys.Compare:
		if p.with == r.Number {
			p.with = 0
			m.Say("Each revision is compared with the one before it.")
		} else {
			p.with = r.Number
			m.Say("Move to any other revision: below stands what changed between it and revision %d.", r.Number)
		}
	case keys.Explain:
		m.open(p.page(m))
	case keys.Choose:
		if l, open := opened[*savedScreen](m); open {
			m.close(l)
		}
		return true, m.put(p.entry, r.Job, p.revisions[0].Job)
	case keys.Restore:
		e, n := p.entry, r.Number
		return false, Ask{Do: func(s Shelf) func(m *Model) Request {
			revisions, added, err := s.Restore(e, n)
			if err != nil {
				return failed("It was not restored", err)
			}
			return func(m *Model) Request {
				p.entry.Revisions = revisions
				if !added {
					m.Say("Revision %d is the same as the newest.", n)
					return nil
				}
				m.Say("Revision %d is the newest again, as revision %d; the others are kept. Enter opens it on the bench.", n, revisions)
				p.at = 0
				if e.What == SavedBench && m.session.Name() == e.Name {
					m.Saved(e.Name, priced(r.Job, m.choices.Currency))
				}
				return p.ask(List{})
			}
		}}
	}
	return false, nil
}

// page tells in full what changed between the revisions compared.
func (p *pastScreen) page(m *Model) dialog {
	was, now, ok := p.pair(p.at)
	if !ok {
		out := &page{title: fmt.Sprintf("Revision %d of %s", p.revisions[p.at].Number, short(p.entry.Name))}
		out.add(theme.Plain, "There is no other revision to compare it with.")
		return out
	}
	out := &page{title: fmt.Sprintf("%s: from revision %d to %d", short(p.entry.Name), was.Number, now.Number)}
	for _, words := range p.changes(m, was, now) {
		out.add(theme.Plain, "%s", capital(words))
	}
	return out
}

// belowPast is how many lines tell what changed, on a screen of h lines.
func belowPast(h int) int { return max(h/3, 4) }

func (p *pastScreen) draw(m *Model, w, h int) []string {
	out := []string{
		m.theme.Paint(theme.Heading, text.Pad(fmt.Sprintf(" Revisions of the %s %s   %d", whats[p.entry.What], p.entry.Name, len(p.revisions)), w)),
		m.theme.Paint(theme.Quiet, text.Pad("       saved             what changed since the one before", w)),
	}
	if p.with > 0 {
		out[1] = m.theme.Paint(theme.Quiet, text.Pad(fmt.Sprintf("       saved             against revision %d (=), from the earlier to the later", p.with), w))
	}
	if len(p.revisions) == 0 {
		return append(out, m.theme.Paint(theme.Quiet, "   Reading …"))
	}
	below := belowPast(h)
	from, to := p.seen(h-len(out)-below-1, len(p.revisions))
	for i := from; i < to; i++ {
		r, sign, words := &p.revisions[i], "  ", "the first"
		if p.with == r.Number {
			sign = "= "
		}
		switch was, now, ok := p.pair(i); {
		case ok:
			words = strings.Join(p.changes(m, was, now), "; ")
		case p.with == r.Number:
			words = "this one"
		}
		line := text.Pad(text.Cut(mark(i == p.at)+text.PadLeft(number(r.Number), 3)+" "+sign+text.Pad(r.Saved.Format(savedTime), 18)+words, w), w)
		if i == p.at {
			line = m.theme.Paint(theme.Focus, line)
		}
		out = append(out, line)
	}
	for len(out) < h-below-1 {
		out = append(out, "")
	}
	return append(out, p.below(m, w, below+1)...)
}

// below tells what changed between the revisions compared, as far as there is room.
func (p *pastScreen) below(m *Model, w, room int) []string {
	was, now, ok := p.pair(p.at)
	if !ok {
		return []string{m.theme.Paint(theme.Rule, strings.Repeat("─", w))}
	}
	out := []string{m.theme.Paint(theme.Heading, text.Pad(fmt.Sprintf(" From revision %d to %d", was.Number, now.Number), w))}
	for _, words := range p.changes(m, was, now) {
		for i, line := range wrapped(capital(words), w-4, room) {
			if i > 0 {
				line = "  " + line
			}
			out = append(out, m.theme.Paint(theme.Plain, " "+line))
		}
	}
	if len(out) > room {
		out = append(out[:room-1], m.theme.Paint(theme.Quiet, text.Cut(fmt.Sprintf(" … %s reads all of it", m.keys.Past.Press(keys.Explain)), w)))
	}
	return out
}

func (p *pastScreen) typing() bool                { return false }
func (p *pastScreen) footer(m *Model) []keys.Hint { return m.keys.PastFooter() }

// pastTop is how many lines stand above the revisions.
const pastTop = 2

func (p *pastScreen) click(_ *Model, _, y int) bool { return p.clickLine(y, pastTop, len(p.revisions)) }
