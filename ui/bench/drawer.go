package bench

import (
	"fmt"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// drawerScreen lists the parts of the drawer, of one kind or of all: typing filters,
// and what is in focus can be edited, copied and retired.
type drawerScreen struct {
	listing
	kind  int   // of part.Kinds, from 1; 0 is all
	found []int // places in the drawer, as it was read
	// What found was made of: it is made anew when that changes. texts is what the
	// filter looks through of each part.
	from  []part.Part
	texts []string
	units unit.System
	query string
	of    int
}

func newDrawerScreen(m *Model) *drawerScreen {
	d := &drawerScreen{listing: listing{input: newInput("")}, of: -1}
	d.refresh(m)
	m.Say("Type to filter. What a scale said counts before what the maker states; both are kept. Nothing is deleted: what you no longer offer is retired.")
	return d
}

// refresh lists the parts again when the drawer, the filter or the kind changed.
func (d *drawerScreen) refresh(m *Model) {
	query := strings.TrimSpace(d.input.Value())
	same := d.units == m.units() && len(m.drawer) == len(d.from) && (len(m.drawer) == 0 || &m.drawer[0] == &d.from[0])
	if same && query == d.query && d.of == d.kind {
		return
	}
	held := ""
	if d.at < len(d.found) {
		held = d.part(d.at).ID
	}
	if !same || d.texts == nil {
		d.from, d.units, d.texts = m.drawer, m.units(), make([]string, len(m.drawer))
		for i := range m.drawer {
			d.texts[i] = strings.ToLower(d.words(m, &m.drawer[i]))
		}
	}
	moved := query != d.query || d.of != d.kind
	d.query, d.of, d.found = query, d.kind, nil
	byKind := map[part.Kind][]int{}
	words := strings.Fields(strings.ToLower(query))
	for i := range m.drawer {
		p := &m.drawer[i]
		if d.kind > 0 && p.Kind != part.Kinds[d.kind-1] || !hasAll(d.texts[i], words) {
			continue
		}
		byKind[p.Kind] = append(byKind[p.Kind], i)
	}
	for _, k := range part.Kinds {
		d.found = append(d.found, byKind[k]...)
	}
	d.at = max(slices.IndexFunc(d.found, func(i int) bool { return d.from[i].ID == held }), 0)
	if moved {
		d.at, d.offset = 0, 0
	}
}

// part returns a part that is listed.
func (d *drawerScreen) part(i int) *part.Part { return &d.from[d.found[i]] }

// words is what the filter looks through.
func (d *drawerScreen) words(m *Model, p *part.Part) string {
	extra := ""
	switch {
	case p.Head.Value.Blades > 0:
		extra = " broadhead"
	case p.Kind == part.KindHead:
		extra = " field point"
	}
	if p.Retired {
		extra += " retired"
	}
	if p.Nock.Value.Lighted {
		extra += " lighted"
	}
	return fmt.Sprintf("%s %s %s %s %s%s", p.Kind, p.Name(), stated(m.units(), p), bore(m.units(), p), p.Trade().Note, extra)
}

// stated writes what a part weighs by its maker: of a shaft an inch, of vanes one.
func stated(units unit.System, p *part.Part) string {
	if p.Kind == part.KindShaft {
		s := &p.Shaft.Value
		if !s.WeightPerInch.Given {
			return "–"
		}
		return present.Quantity(units, float64(s.WeightPerInch.Value), unit.GrainsPerInch)
	}
	return present.Weight(units, p.StatedWeight())
}

// measured writes what a scale said of a part: the mean, how pieces differ and how
// many were weighed; empty where none was.
func measured(units unit.System, p *part.Part) string {
	if !p.Measured.Given {
		return ""
	}
	w := &p.Measured.Value
	value, u, of := float64(w.Weight), float64(w.WeightU), units.Shown(unit.Grains)
	if p.Kind == part.KindShaft {
		value, u, of = float64(w.WeightPerInch), float64(w.PerInchU), units.Shown(unit.GrainsPerInch)
	}
	shown, spread := figure.Rounded(of.Of(value), u/of.Size)
	out := shown + " ± " + spread
	if w.Count > 0 {
		out += fmt.Sprintf(" of %d", w.Count)
	}
	return out
}

func (d *drawerScreen) key(m *Model, k tea.KeyMsg) (bool, Request) {
	d.refresh(m)
	a := m.keys.Drawer.Action(k)
	if a != "" {
		m.message = ""
	}
	switch {
	case a == keys.Close:
		return true, nil
	case d.move(a, len(d.found)):
	case a == keys.Kind, a == keys.KindBack:
		by := 1
		if a == keys.KindBack {
			by = len(part.Kinds)
		}
		d.kind = (d.kind + by) % (len(part.Kinds) + 1)
		d.refresh(m)
	case a == keys.Help:
		m.open(m.keysOf(m.keys.Drawer))
	case a == keys.Fetch:
		m.open(m.fetchPrompt(""))
	case a == keys.Send:
		d.send(m)
	case a == keys.New:
		return false, m.describePart(d.kindInFocus())
	case a == keys.Edit, a == keys.Duplicate, a == keys.Retire:
		if len(d.found) == 0 {
			m.Say("There is no part in focus: press Backspace to see more, or %s to add one.", m.keys.Drawer.Press(keys.New))
			return false, nil
		}
		return false, d.do(m, a, *d.part(d.at))
	default:
		if d.typed(k) {
			d.refresh(m)
		}
	}
	return false, nil
}

// kindInFocus returns the kind that is listed, else that of the part in focus.
func (d *drawerScreen) kindInFocus() part.Kind {
	switch {
	case d.kind > 0:
		return part.Kinds[d.kind-1]
	case len(d.found) > 0:
		return d.part(d.at).Kind
	}
	return part.KindShaft
}

// do edits, copies or retires a part.
func (d *drawerScreen) do(m *Model, a keys.Action, p part.Part) Request {
	switch a {
	case keys.Edit:
		m.Say("This part in the drawer; builds on the bench that have it follow.")
		m.open(m.partForm(&draft{part: p, was: p, stored: true}))
		return nil
	case keys.Duplicate:
		if begun := m.drafts[p.Kind]; begun != nil && !begun.stored {
			m.Say("Finish the %s you began first: %s goes on with it.", p.Kind, m.keys.Drawer.Press(keys.New))
			return nil
		}
		// The copy is another part, which nobody has weighed.
		of := p
		named := record.Only(pieceOf(&of), "name")
		if err := named.SetText(p.Name() + " copy"); err != nil {
			m.Say("%s", sentence(err))
			return nil
		}
		of.ID, of.Sample, of.Retired, of.Measured = "", false, false, unit.Optional[part.Measured]{}
		m.drafts[p.Kind] = &draft{part: of}
		m.Say("A copy of %s: change what differs; it is kept as you go.", short(p.Name()))
		m.open(m.partForm(m.drafts[p.Kind]))
		return NewPart{}
	}
	was := p
	p.Retired = !p.Retired
	drawer := slices.Clone(m.drawer)
	drawer[slices.IndexFunc(drawer, func(o part.Part) bool { return o.ID == p.ID })] = p
	m.drawer = drawer
	d.refresh(m)
	if p.Retired {
		m.Say("%s is retired: it is offered no longer, and builds that have it keep it. %s again offers it.", short(p.Name()), m.keys.Drawer.Press(keys.Retire))
	} else {
		m.Say("%s is offered again.", short(p.Name()))
	}
	return KeepParts{Was: []part.Part{was}, Parts: []part.Part{p}}
}

// The columns of the drawer behind the names.
const (
	drawerKind   = 8  // "insert"
	drawerStated = 12 // "10.6 gr/in"
	drawerScale  = 22 // "10.60 ± 0.02 of 24"
	drawerStock  = 7
	drawerPrice  = 9
)

func (d *drawerScreen) draw(m *Model, w, h int) []string {
	d.refresh(m)
	title := " Parts of all kinds"
	if d.kind > 0 {
		title = fmt.Sprintf(" Parts: %s", part.Kinds[d.kind-1])
	}
	title += fmt.Sprintf("   %s of %s", count(uint64(len(d.found))), count(uint64(len(m.drawer))))
	names := min(w-3-drawerKind-drawerStated-drawerScale-drawerStock-drawerPrice, 52)
	heads := text.Pad("kind", drawerKind) + text.Pad("name", names) + text.PadLeft("stated", drawerStated) + text.PadLeft("weighed", drawerScale) + text.PadLeft("stock", drawerStock) + text.PadLeft("price", drawerPrice)
	out := d.top(m.theme, w, title, heads)
	below := d.below(m, w)
	from, to := d.seen(h-len(out)-len(below), len(d.found))
	for i := from; i < to; i++ {
		line := text.Pad(d.line(m, d.part(i), i == d.at, names), w)
		switch {
		case i == d.at:
			line = m.theme.Paint(theme.Focus, line)
		case d.part(i).Retired:
			line = m.theme.Paint(theme.Quiet, line)
		}
		out = append(out, line)
	}
	if len(d.found) == 0 {
		words := fmt.Sprintf("   Nothing here matches “%s”; %s adds a part.", d.input.Value(), m.keys.Drawer.Press(keys.New))
		if len(m.drawer) == 0 {
			words = "   " + fmt.Sprintf("The drawer is empty: %s adds a part; on the bench %s brings the sample parts back.", m.keys.Drawer.Press(keys.New), m.keys.Bench.Press(keys.Samples))
		}
		out = append(out, m.theme.Paint(theme.Quiet, text.Cut(words, w)))
	}
	for len(out) < h-len(below) {
		out = append(out, "")
	}
	return append(out, below...)
}

func (d *drawerScreen) line(m *Model, p *part.Part, focused bool, names int) string {
	name := p.Name()
	if p.Kind == part.KindVanes {
		name = fmt.Sprintf("%d × %s", p.Vanes.Value.Count, name)
	}
	if p.Retired {
		name += " (retired)"
	} else if p.Sample {
		name += " (sample)"
	}
	trade, stock, price := p.Trade(), "", ""
	if trade.Stock.Given {
		stock = present.Number(trade.Stock.Value)
	}
	if trade.Price.Given {
		price = fmt.Sprintf("%.2f", trade.Price.Value)
	}
	return mark(focused) + text.Pad(string(p.Kind), drawerKind) + text.Pad(text.Cut(name, names-1), names) +
		text.PadLeft(stated(m.units(), p), drawerStated) + text.PadLeft(measured(m.units(), p), drawerScale) + text.PadLeft(stock, drawerStock) + text.PadLeft(price, drawerPrice)
}

// below says what the part in focus is made for, who has it and what is noted of it.
func (d *drawerScreen) below(m *Model, w int) []string {
	if len(d.found) == 0 {
		return nil
	}
	p := d.part(d.at)
	var words []string
	say := func(text string) {
		if text != "" {
			words = append(words, text)
		}
	}
	say(bore(m.units(), p))
	if p.Kind == part.KindShaft {
		if p.Shaft.Value.Spine.Given {
			say("spine " + present.Spine(p.Shaft.Value.Spine.Value))
		}
		if p.Shaft.Value.OuterDiameter.Given {
			say("outside " + shortBore(m.units(), p.Shaft.Value.OuterDiameter.Value))
		}
	}
	for _, thread := range []string{p.Insert.Value.Thread, p.Head.Value.Thread} {
		if thread != "" {
			say("thread " + thread)
		}
	}
	if p.Trade().Note != "" {
		say("note: " + p.Trade().Note)
	}
	var holders []string
	for i := range m.Job().Builds {
		if held, has := session.Held(&m.Job().Builds[i], p.Kind); has && p.Weighed().Bare() == held.Bare() {
			holders = append(holders, present.Letter(i))
		}
	}
	say("id " + p.ID)
	if len(holders) > 0 {
		say("on the bench in " + strings.Join(holders, ", "))
	}
	if len(words) == 0 {
		return []string{""}
	}
	return m.inFull(words, w)
}

func (d *drawerScreen) typing() bool                { return true }
func (d *drawerScreen) footer(m *Model) []keys.Hint { return m.keys.DrawerFooter() }

func (d *drawerScreen) click(_ *Model, _, y int) bool { return d.clickLine(y, listTop, len(d.found)) }
