package bench

import (
	"fmt"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/record"
	"foreshaft/engine/sheet"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// page is something to read: paragraphs under headings.
type page struct {
	title string
	parts []paragraph
	scroll
}

// scroll is which of some lines are in sight.
type scroll struct {
	offset int // the first of them
	most   int // the last offset that still fills the window
	window int // how many
}

// move follows a key and reports whether it moves what is in sight.
func (s *scroll) move(a keys.Action) bool {
	switch a {
	case keys.Up:
		s.offset--
	case keys.Down:
		s.offset++
	case keys.PageUp:
		s.offset -= s.window
	case keys.PageDown:
		s.offset += s.window
	case keys.First:
		s.offset = 0
	case keys.Last:
		s.offset = s.most
	default:
		return false
	}
	s.offset = max(min(s.offset, s.most), 0)
	return true
}

// show returns those of the lines that are in sight in so many rows.
func (s *scroll) show(lines []string, rows int) []string {
	s.window, s.most = rows, max(len(lines)-rows, 0)
	s.offset = min(s.offset, s.most)
	return lines[s.offset:min(s.offset+rows, len(lines))]
}

type paragraph struct {
	token theme.Token
	text  string
	row   bool // a row of a table: not wrapped, its spaces kept
}

func (p *page) add(t theme.Token, format string, args ...any) {
	p.parts = append(p.parts, paragraph{token: t, text: fmt.Sprintf(format, args...)})
}

// tabulate adds a row of two columns.
func (p *page) tabulate(name, value string) {
	p.parts = append(p.parts, paragraph{token: theme.Plain, text: text.Pad(name, 22) + value, row: true})
}

func (p *page) key(m *Model, k tea.KeyMsg) (bool, Request) {
	a := m.keys.Reader.Action(k)
	p.move(a)
	return a == keys.Close, nil
}

func (p *page) draw(m *Model, w, h int) []string {
	var body []string
	for _, part := range p.parts {
		for _, l := range wrapParagraph(m.theme, part, min(w-4, 96)) {
			body = append(body, "  "+l)
		}
	}
	shown := p.show(body, max(h-2, 1))
	title := " " + p.title
	if p.most > 0 {
		title += fmt.Sprintf("   lines %d–%d of %d", p.offset+1, p.offset+len(shown), len(body))
	}
	out := []string{m.theme.Paint(theme.Heading, text.Pad(title, w)), ""}
	return append(out, shown...)
}

// wrapParagraph draws a paragraph in lines of at most w cells.
func wrapParagraph(t *theme.Theme, p paragraph, w int) []string {
	if p.row {
		return []string{t.Paint(p.token, text.Cut(p.text, w))}
	}
	lines := text.Wrap(p.text, w)
	for i := range lines {
		lines[i] = t.Paint(p.token, lines[i])
	}
	return lines
}

func (p *page) typing() bool                { return false }
func (p *page) footer(m *Model) []keys.Hint { return m.keys.ReaderFooter() }

// help explains the bench and lists every key.
func (m *Model) help() *page {
	p := &page{title: "Help"}
	p.add(theme.Plain, "Builds stand side by side as columns. Above the line are their parts, below it what follows from them. "+
		"◆ marks the baseline; the other builds show their value and the difference to it. ± is one standard uncertainty. "+
		"Move to a part and press + or - for the next one that fits, or Enter to choose; the line below says what that one change did. "+
		"Everything is kept as you go: quit whenever you like.")
	p.add(theme.Plain, "")
	p.add(theme.Plain, "The last rows are figures at one distance: %s and %s choose a nearer or a farther one. “On its mark” is how high or low a build hits when it is shot with the baseline's mark; "+
		"“nearer up to” and “farther up to” are how wrong the range may be before the target is missed. %s shows every distance, with wind, slope and target.",
		m.keys.Bench.Press(keys.Nearer), m.keys.Bench.Press(keys.Farther), m.keys.Bench.Press(keys.Downrange))
	p.add(theme.Plain, "")
	p.add(theme.Plain, "Signs: ▸ and [ ] what the next key acts on · ● changed by the last key · !! danger · ! warning · a dot before a caution is a note · – absent, with what is missing. "+
		"In the drawing of an arrow > is the nock, ≡ the vanes, ▲ the balance point, ■ insert or collar, ▷ the head, ► a head with blades.")
	p.add(theme.Plain, "")
	p.add(theme.Plain, "%s opens the swap map: every insert down the side with every head across the top, or any two kinds of piece, one figure in each cell. Shades run from low to high, and more is not better. "+
		"[ ] is the build as it is, ▸ the pair in focus, = what weighs as much as that, !! and ! what it would bring of dangers and warnings, – what does not go together or is not known.", m.keys.Bench.Press(keys.SwapMap))
	p.add(theme.Plain, "")
	p.add(theme.Plain, "%s offers what would clear the cautions of a build, %s what shares the baseline's mark, %s what comes close to its weight and FOC: swaps from the drawer, the least change of weight first. "+
		"%s finds every arrow of the drawer that is what you ask for, and says what to widen where nothing is. %s asks a few questions and proposes three builds. No new danger is ever offered; what is offered is still no advice.",
		m.keys.Bench.Press(keys.Fix), m.keys.Bench.Press(keys.SameMarks), m.keys.Bench.Press(keys.Closest), m.keys.Bench.Press(keys.Find), m.keys.Bench.Press(keys.Fit))
	p.add(theme.Plain, "")
	p.add(theme.Plain, "%s is where a dozen of one build is weighed piece by piece and paired into arrows that weigh the same; what you tick off there stays. %s is the ticket: how the build is put together, and a sheet for the bench to build it from.",
		m.keys.Bench.Press(keys.Dozen), m.keys.Bench.Press(keys.Print))
	p.add(theme.Plain, "")
	p.add(theme.Plain, "All of it is in one file, the workbook: %s names it. A copy of it is made beside it on each day that it is used, and five of them are kept; %s makes one at any time, beside it or where you say. "+
		"With the program closed, foreshaft check looks whether it is whole, and foreshaft restore goes back to a copy.", m.keys.Bench.Press(keys.Settings), m.keys.Bench.Press(keys.Backup))
	p.add(theme.Plain, "")
	p.add(theme.Plain, "Where several terminals share a workbook (foreshaft serve), each has a bench of its own; drawer, customers and what is saved are shared, and what one changes appears at the others. Two who save one build make two revisions, and both are told.")
	p.add(theme.Plain, "")
	p.add(theme.Heading, "Before you shoot")
	for _, s := range present.Standing {
		p.add(theme.Plain, "%s", s)
	}
	p.add(theme.Plain, "")
	p.add(theme.Plain, "“Launch margin” sets the push that would fold the shaft against the push at launch: a yardstick that screens, no more. When you have shot a build from this bow and it flew well, %s marks it as proven, and “against proven” tells the others' margins against its own. "+
		"“Steer margin” is how far behind the balance point the air pushes, “head's pull” how much of the vanes' steering the blades of a head undo. None of them replaces the shaft maker's chart, a fitter, and shooting.", m.keys.Bench.Press(keys.Proven))
	p.add(theme.Plain, "")
	for _, s := range m.keys.Scopes() {
		p.add(theme.Heading, "%s", s.Name)
		for _, b := range s.Bindings {
			p.tabulate(b.Help().Key, b.Help().Desc)
		}
		p.add(theme.Plain, "")
	}
	p.add(theme.Quiet, "The sample parts and builds are invented; no maker's product is meant.")
	return p
}

// keysOf lists the keys of one screen, for those where letters are text and help by name
// is out of reach.
func (m *Model) keysOf(s *keys.Scope) *page {
	p := &page{title: "Keys of the screen " + s.Name}
	for _, b := range s.Bindings {
		p.tabulate(b.Help().Key, b.Help().Desc)
	}
	p.add(theme.Plain, "")
	p.add(theme.Quiet, "Everything else is typed into the field. The bench's help (%s there) explains the program.", m.keys.Bench.Press(keys.Help))
	return p
}

// explain tells more about the row in focus: the working of a figure, the
// cautions in full, or all that is known of a piece.
func (m *Model) explain() dialog {
	r, b := allRows[m.row], m.build()
	if r.caution {
		return m.cautionsPage()
	}
	if r.isSlot {
		return m.piecePage(r.slot, b)
	}
	return m.explainFigure(r.figure, m.placeOf(m.Job(), r.figure))
}

// explainFigure tells how a figure at a distance was worked out.
func (m *Model) explainFigure(k figure.Key, place int) *page {
	return m.explainOn(m.session.Sheet(), m.col, present.Letter(m.col)+" "+m.build().Name, k, place)
}

// explainOn is explainFigure for a build of any sheet, which it calls by a name.
func (m *Model) explainOn(s *sheet.Sheet, build int, name string, k figure.Key, place int) *page {
	d := k.Definition()
	title := fmt.Sprintf("%s of %s", d.Title, name)
	if place != sheet.Whole {
		title += " at " + m.units().Distance(m.Job().DistancesOrDefault()[place], 4)
	}
	p := &page{title: title}
	w := s.WorkingAt(build, place, k)
	p.add(theme.Quiet, "%s.", capital(d.Means))
	p.add(theme.Plain, "")
	p.add(theme.Label, "%s = %s", d.Title, w.Formula)
	for _, n := range w.Numbers {
		p.add(theme.Plain, "  %s", n)
	}
	p.add(theme.Heading, "%s", w.Result)
	u := s.Unit(k)
	if delta, deltaU, ok := s.DeltaAt(build, place, k); ok {
		shown, shownU := present.Signed(delta/u.Size, deltaU/u.Size)
		if shownU == "" {
			shownU = "0"
		}
		p.add(theme.Plain, "against the baseline %s: what both builds share cancels in this difference", strings.TrimSpace(shown+" ± "+shownU+" "+u.Symbol))
	}
	if by := present.Miss(s, build, k); by != "" {
		value, _ := s.Measured(build, k)
		p.add(theme.Plain, "measured when it was proven: %s %s, %s against the figure", present.Number(u.Of(value)), u.Symbol, by)
	}
	p.add(theme.Plain, "")
	if len(w.Drawing) > 0 {
		for _, l := range w.Drawing {
			p.parts = append(p.parts, paragraph{token: theme.Plain, text: "  " + l, row: true})
		}
		p.add(theme.Plain, "")
	}
	for _, n := range w.Notes {
		p.add(theme.Plain, "%s", n)
	}
	p.add(theme.Quiet, "Source: %s", w.Source)
	return p
}

func (m *Model) cautionsPage() dialog {
	remarks := present.Remarks(m.session.Sheet(), m.col)
	p := &page{title: fmt.Sprintf("Cautions for %s %s", present.Letter(m.col), m.build().Name)}
	if len(remarks) == 0 {
		p.add(theme.Plain, "None found among what is checked.")
	}
	for _, c := range remarks {
		p.add(cautionToken(c.Level), "%s", present.Marked(c))
	}
	p.add(theme.Plain, "")
	for _, s := range present.Standing {
		p.add(theme.Quiet, "%s", s)
	}
	return p
}

func cautionToken(l caution.Level) theme.Token {
	switch l {
	case caution.Danger:
		return theme.Danger
	case caution.Warn:
		return theme.Warn
	}
	return theme.Note
}

// piecePage lists what is known of a piece, by the keys of the exchange format
// in words.
func (m *Model) piecePage(s present.Slot, b *arrow.Build) dialog {
	p := &page{title: fmt.Sprintf("%s of %s %s", s, present.Letter(m.col), b.Name)}
	p.add(theme.Heading, "%s", present.Piece(m.units(), b, s))
	kind, isPiece := s.Kind()
	if !isPiece {
		if s == present.SlotLength {
			p.add(theme.Plain, "Arrow length runs from the throat of the nock, where the string sits, to the cut end of the shaft. The tube is shorter by the throat offset of the nock; head and insert do not count.")
		}
		return p
	}
	held, has := session.Held(b, kind)
	if !has {
		p.add(theme.Plain, "This build does without. Press %s to choose one.", m.keys.Bench.Press(keys.Edit))
		return p
	}
	piece, _ := held.Piece()
	for _, f := range record.Fields(piece) {
		if value := present.Value(f.In(m.units())); value != "" && f.Key != "name" {
			p.tabulate(present.Words(f.Key), value)
		}
	}
	return p
}
