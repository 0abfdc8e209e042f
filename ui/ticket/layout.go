package ticket

import (
	"slices"
)

func height(atoms []atom) float64 {
	sum := 0.0
	for i := range atoms {
		sum += atoms[i].height
	}
	return sum
}

// chunk returns how many of the atoms at the front stay together.
func chunk(atoms []atom) int {
	n := 1
	for n < len(atoms) && atoms[n-1].keep {
		n++
	}
	return n
}

// fill returns how many atoms from the front a column takes of a height: whole chunks, and
// of one that no column holds as much as there is room for.
func fill(atoms []atom, room, whole float64) int {
	n, used := 0, 0.0
	if len(atoms) > 0 && atoms[0].over != nil {
		used = atoms[0].over.height
		whole -= used
	}
	for n < len(atoms) {
		k := chunk(atoms[n:])
		h := height(atoms[n : n+k])
		if used+h > room+1e-6 {
			if h > whole {
				for k = 0; used+atoms[n+k].height <= room; k++ {
					used += atoms[n+k].height
				}
				n += k
			}
			return n
		}
		n, used = n+k, used+h
	}
	return n
}

// pages lays a ticket out: what stands where, and on how many pages.
type pages struct {
	wide, high float64
	setter     *setter
	again      []atom // the head of further pages
	page       int
	y          float64
	out        []placed
}

func (p *pages) bottom() float64 { return p.high - paperMargin }

func (p *pages) next() {
	p.page, p.y = p.page+1, paperMargin
	if p.page > 1 {
		p.stack(p.again, paperMargin)
	}
}

func (p *pages) stack(atoms []atom, x float64) {
	if len(atoms) > 0 && atoms[0].over != nil {
		p.out = append(p.out, placed{p.page, x, p.y, atoms[0].over})
		p.y += atoms[0].over.height
	}
	for i := range atoms {
		p.out = append(p.out, placed{p.page, x, p.y, &atoms[i]})
		p.y += atoms[i].height
	}
}

// whole is the room of a page below its head.
func (p *pages) whole() float64 { return p.bottom() - paperMargin - height(p.again) }

// full places atoms over the whole width.
func (p *pages) full(atoms []atom) {
	for len(atoms) > 0 {
		n := fill(atoms, p.bottom()-p.y, p.whole())
		p.stack(atoms[:n], paperMargin)
		if atoms = atoms[n:]; len(atoms) > 0 {
			p.next()
		}
	}
}

// columns places atoms in two columns, of equal height on the last page.
func (p *pages) columns(atoms []atom, width float64) {
	if p.y += 0.4 * p.setter.em(); p.bottom()-p.y < min(shortestRoom, height(atoms)/2) {
		p.next()
	}
	for len(atoms) > 0 {
		room, whole := p.bottom()-p.y, p.whole()
		split := func(h float64) (first, second []atom, rest int) {
			atoms := topped(atoms)
			n := fill(atoms, h, whole)
			first, atoms = atoms[:n], topped(atoms[n:])
			n = fill(atoms, h, whole)
			return first, atoms[:n], len(atoms) - n
		}
		first, second, rest := split(room)
		if rest == 0 {
			low, high := 0.0, room
			for range 20 {
				if _, _, over := split((low + high) / 2); over == 0 {
					high = (low + high) / 2
				} else {
					low = (low + high) / 2
				}
			}
			first, second, rest = split(high)
		}
		top := p.y
		p.stack(first, paperMargin)
		end := p.y
		p.y = top
		p.stack(second, paperMargin+width+columnGap)
		p.y = max(p.y, end)
		if atoms = atoms[len(atoms)-rest:]; rest > 0 {
			p.next()
		}
	}
}

// topped leaves out the blank room in front.
func topped(atoms []atom) []atom {
	for len(atoms) > 0 && atoms[0].blank {
		atoms = atoms[1:]
	}
	return atoms
}

// layout lays the ticket out in type of a size.
func (t *Ticket) layout(size float64) *pages {
	s := &setter{size: size, widths: coreWidths()}
	p := &pages{wide: 210, high: 297, setter: s}
	if t.wide {
		p.wide, p.high = p.high, p.wide
	}
	width := p.wide - 2*paperMargin
	column := (width - columnGap) / 2
	p.again = t.repeated(s, width)
	p.next()
	p.full(append(s.title(t.title, headlines, width), s.facts(t.head, width)...))
	for from := 0; from < len(t.sections); {
		flows := t.sections[from].flows
		to := from
		for to < len(t.sections) && t.sections[to].flows == flows {
			to++
		}
		var atoms []atom
		for i := from; i < to; i++ {
			w := width
			if flows {
				w = column
			}
			atoms = append(atoms, s.section(&t.sections[i], w)...)
		}
		if flows {
			p.columns(atoms, column)
		} else {
			p.full(atoms)
		}
		from = to
	}
	if s.lost {
		p.full(s.paragraph("Letters that this type does not have stand as ?. The ticket as text, Markdown or HTML has them.", false, width))
	}
	return p
}

// facts are the lines of the head, one behind the other.
func (s *setter) facts(head []fact, width float64) []atom {
	var runs []run
	for _, f := range head {
		runs = append(runs, run{s.encode(f.name) + ":", true}, run{s.encode(f.words), false})
	}
	return s.lines(s.wrap(runs, width), 0)
}

// repeatedLetters is how much of a text the head of a further page has: enough to know the
// ticket by.
const repeatedLetters = 90

// repeated is the head of further pages.
func (t *Ticket) repeated(s *setter, width float64) []atom {
	short := func(words string) string {
		if letters := []rune(words); len(letters) > repeatedLetters {
			return string(letters[:repeatedLetters]) + "…"
		}
		return words
	}
	head := slices.Clone(t.head)
	for i := range head {
		head[i].words = short(head[i].words)
	}
	out := append(s.title(short(t.title), subtitles, width), s.facts(head, width)...)
	for i := range out {
		out[i].keep = false
	}
	return append(out, space(0.5*s.em()))
}

// typeSize returns the largest size of type that takes no more pages than the smallest.
func (t *Ticket) typeSize() float64 { return t.fit().setter.size }

// fit lays the ticket out in the largest type that takes no more pages than the smallest.
func (t *Ticket) fit() *pages {
	least := t.layout(smallestType)
	for size := largestType; size > smallestType; size -= typeStep {
		if p := t.layout(size); p.page <= least.page {
			return p
		}
	}
	return least
}
