package bench

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/arrow"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// picker chooses a part of one kind for the build in focus: typing filters,
// what fits comes first, and the effect of the highlighted part is shown before
// it is chosen. A typed weight can be used as it is.
type picker struct {
	listing
	kind  part.Kind
	all   []option
	found []option
}

// option is one line of the picker.
type option struct {
	part    part.Part
	without bool
	weight  unit.Optional[unit.Mass] // a weight as typed
	misfit  string
	held    bool
}

func newPicker(m *Model, kind part.Kind) *picker {
	p := &picker{kind: kind, listing: listing{input: newInput("")}}
	p.fill(m)
	p.filter(m)
	p.at = max(slices.IndexFunc(p.found, func(o option) bool { return o.held }), 0)
	m.Say("Type to filter, or type a weight to use it.")
	if kind == part.KindShaft {
		m.Say("Type to filter. Choose the spine by the shaft maker's chart: the launch margin only screens.")
	}
	return p
}

// refresh lists the drawer again after a part changed, that one in focus.
func (p *picker) refresh(m *Model, id string) {
	p.fill(m)
	p.filter(m)
	p.at = max(slices.IndexFunc(p.found, func(o option) bool { return o.part.ID == id }), 0)
}

// fill lists what the drawer offers, what fits first and the lighter before the
// heavier.
func (p *picker) fill(m *Model) {
	kind, b := p.kind, m.build()
	p.all = nil
	held, has := session.Held(b, kind)
	for _, d := range m.drawer {
		if d.Kind != kind || d.Retired {
			continue
		}
		o := option{part: d, misfit: session.Fits(b, d, m.units())}
		o.held = has && d.Weighed().Bare() == held.Bare()
		p.all = append(p.all, o)
	}
	slices.SortStableFunc(p.all, func(a, c option) int {
		if fits := cmp.Compare(len(a.misfit), len(c.misfit)); (a.misfit == "") != (c.misfit == "") {
			return fits
		}
		return cmp.Compare(a.part.Weight(b.Tube()), c.part.Weight(b.Tube()))
	})
	if session.Optional(kind) {
		p.all = append([]option{{without: true, held: !has}}, p.all...)
	}
}

// filter finds the options that match what is typed: those with just these words
// before those that have them inside longer ones, so that "5 mm" is not found in
// ".500" first. A weight that is typed is offered as it is, behind the parts that
// weigh just that or have it in their name.
func (p *picker) filter(m *Model) {
	query := strings.TrimSpace(p.input.Value())
	p.at, p.offset = 0, 0
	if query == "" {
		p.found = p.all
		return
	}
	weight, err := unit.Parse(query, m.units().Shown(unit.Grains))
	typed := err == nil && p.plausible(m, unit.Mass(weight))
	var first, named, rest []option
	for i := range p.all {
		o := &p.all[i]
		words := p.words(m, o)
		switch {
		case typed && p.meant(m, o, query, unit.Mass(weight)):
			first = append(first, *o)
		case hasWords(query, words):
			named = append(named, *o)
		case matches(query, words):
			rest = append(rest, *o)
		}
	}
	first = append(first, named...)
	if typed {
		first = append(first, option{weight: unit.Some(unit.Mass(weight))})
	}
	// p.all has what fits first, and so has each of these.
	p.found = append(first, rest...)
}

// meant reports whether a typed number stands for a part: for its weight, or
// for the spine in a shaft's name. It never turns a field point into a broadhead.
func (p *picker) meant(m *Model, o *option, query string, weight unit.Mass) bool {
	switch {
	case o.without || o.misfit != "":
		return false
	case p.kind == part.KindShaft && matches(query, o.part.Name()):
		return true
	case p.kind == part.KindHead && (o.part.Head.Value.Blades > 0) != (m.build().Head.Blades > 0):
		return false
	}
	gap := p.weight(m, o) - weight
	return gap < session.Tells && gap > -session.Tells
}

// plausible reports whether a weight may be meant for the piece in the build. A
// tube weighs about what its shaft does: a far-off number is a spine.
func (p *picker) plausible(m *Model, weight unit.Mass) bool {
	held, has := session.Held(m.build(), p.kind)
	if p.kind == part.KindShaft {
		now := held.Weight(m.build().Tube())
		return weight > now/2 && weight < 3*now/2
	}
	return has && weight >= 0 && weight <= 1000*unit.Grain
}

// weight returns what a part weighs as the list shows it and as one types it:
// of vanes one, of a shaft the cut tube.
func (p *picker) weight(m *Model, o *option) unit.Mass {
	if p.kind == part.KindShaft {
		return o.part.Weight(m.build().Tube())
	}
	weighed := o.part.Weighed()
	return weighed.StatedWeight()
}

// hasWords reports whether every word of a query is a word of a text.
func hasWords(query, text string) bool {
	words := split(text)
	for _, word := range split(query) {
		if !slices.Contains(words, word) {
			return false
		}
	}
	return true
}

// split takes a text apart into its words and numbers.
func split(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '.' })
}

// matches reports whether every word of a query stands somewhere in a text.
func matches(query, text string) bool {
	return hasAll(strings.ToLower(text), strings.Fields(strings.ToLower(query)))
}

// hasAll reports whether a text has every one of some words in it.
func hasAll(text string, words []string) bool {
	return !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(text, w) })
}

// words is what the filter looks through.
func (p *picker) words(m *Model, o *option) string {
	if o.without {
		return present.None
	}
	extra := o.part.Trade().Note
	if o.part.Head.Value.Blades > 0 {
		extra += " broadhead"
	}
	return fmt.Sprintf("%s %s %s %s", present.Weight(m.units(), p.weight(m, o)), o.part.Name(), bore(m.units(), &o.part), extra)
}

func (p *picker) key(m *Model, k tea.KeyMsg) (bool, Request) {
	switch a := m.keys.List.Action(k); {
	case a == keys.Close:
		m.message = ""
		return true, nil
	case p.move(a, len(p.found)):
	case a == keys.New:
		return false, m.describePart(p.kind)
	case a == keys.Edit:
		m.editPart(p)
	case a == keys.Choose:
		if len(p.found) == 0 {
			m.Say("Nothing matches: press Backspace, or Esc to leave the %s as it is.", p.kind)
			return false, nil
		}
		m.message = ""
		o := p.found[p.at]
		m.change(string(p.kind), func(b *arrow.Build) { o.apply(b, p.kind) })
		if o.misfit != "" {
			m.Say("%s", o.misfit)
		}
		return true, nil
	default:
		if p.typed(k) {
			p.filter(m)
		}
	}
	return false, nil
}

// apply puts the option into a build.
func (o *option) apply(b *arrow.Build, kind part.Kind) {
	switch {
	case o.without:
		session.Without(b, kind)
	case o.weight.Given:
		session.Reweigh(b, kind, o.weight.Value)
	default:
		session.Put(b, o.part)
	}
}

func (p *picker) draw(m *Model, w, h int) []string {
	title := fmt.Sprintf(" Choose the %s of %s %s", p.kind, present.Letter(m.col), m.build().Name)
	out := p.top(m.theme, w, title, text.Pad(p.head(), nameWidth(w))+columns(m.units().Shown(unit.Grains).Symbol, "stock", "price", "fit"))
	preview := wrapped(p.preview(m), w-2, 3)
	window := h - len(out) - 1 - len(preview)
	from, to := p.seen(window, len(p.found))
	for i := from; i < to; i++ {
		line := text.Pad(p.line(m, &p.found[i], i == p.at, w), w)
		switch {
		case i == p.at:
			line = m.theme.Paint(theme.Focus, line)
		case p.found[i].misfit != "":
			line = m.theme.Paint(theme.Quiet, line)
		}
		out = append(out, line)
	}
	if len(p.found) == 0 {
		words := fmt.Sprintf("   Nothing among the %d choices matches “%s”; %s adds a part to the drawer.", len(p.all), p.input.Value(), m.keys.List.Press(keys.New))
		if len(p.all) == 0 {
			words = fmt.Sprintf("   The drawer offers none: %s adds one; Esc, then %s brings the sample parts back.", m.keys.List.Press(keys.New), m.keys.Bench.Press(keys.Samples))
		}
		out = append(out, m.theme.Paint(theme.Quiet, text.Cut(words, w)))
	}
	for len(out) < h-len(preview) {
		out = append(out, "")
	}
	for _, l := range preview {
		out = append(out, m.theme.Paint(theme.Changed, " "+l))
	}
	return out
}

func (p *picker) head() string {
	if p.kind == part.KindShaft {
		return "shaft (weight of the cut tube)"
	}
	if p.kind == part.KindVanes {
		return "vanes (weight of one)"
	}
	return string(p.kind)
}

// preview says what choosing the highlighted option would do.
func (p *picker) preview(m *Model) string {
	if len(p.found) == 0 {
		return ""
	}
	o := &p.found[p.at]
	after := m.build().Clone()
	o.apply(&after, p.kind)
	words := present.Effect(m.session.Sheet(), m.build(), &after, m.chosen())
	switch {
	case o.misfit != "":
		return "! " + o.misfit + " Would make: " + words
	case words == "":
		return "No change to the figures."
	}
	return "Would make:  " + words
}

// nameWidth is what a list leaves for names beside its columns, and no more than
// the eye follows across.
func nameWidth(w int) int { return min(w-3-10-7-9-14, 52) }

func columns(weight, stock, price, fit string) string {
	return text.PadLeft(weight, 9) + " " + text.PadLeft(stock, 6) + " " + text.PadLeft(price, 8) + "  " + text.Pad(fit, 13)
}

func (p *picker) line(m *Model, o *option, focused bool, w int) string {
	lead := mark(focused)
	switch {
	case o.without:
		return lead + text.Pad(present.None, nameWidth(w)) + columns("", "", "", held(o))
	case o.weight.Given:
		name := fmt.Sprintf("the same %s at %s", p.kind, present.Weight(m.units(), o.weight.Value))
		switch p.kind {
		case part.KindShaft:
			name = fmt.Sprintf("the same shaft, its cut tube weighed at %s", present.Weight(m.units(), o.weight.Value))
		case part.KindVanes:
			name = fmt.Sprintf("the same vanes at %s each", present.Weight(m.units(), o.weight.Value))
		}
		return lead + text.Pad(name, w-3)
	}
	trade := o.part.Trade()
	stock, price := "", ""
	if trade.Stock.Given {
		stock = present.Number(trade.Stock.Value)
	}
	if trade.Price.Given {
		price = fmt.Sprintf("%.2f", trade.Price.Value)
	}
	name := o.part.Name()
	if o.part.Kind == part.KindVanes {
		name = fmt.Sprintf("%d × %s", o.part.Vanes.Value.Count, name)
	}
	if size := bore(m.units(), &o.part); size != "" {
		name += ", " + size
	}
	if o.part.Sample {
		name += " (sample)"
	}
	fit := "fits"
	switch {
	case o.misfit != "" && o.part.Kind == part.KindShaft:
		fit = "other parts" // a shaft may be chosen first, and what goes into it then
	case o.misfit != "":
		fit = "does not fit"
	}
	if o.held {
		fit = held(o)
	}
	return lead + text.Pad(name, nameWidth(w)) + columns(m.shortWeight(p.weight(m, o)), stock, price, fit)
}

// bore says what a part is made for, so that parts of one name are told apart.
func bore(units unit.System, p *part.Part) string {
	inner, outer := unit.Optional[unit.Length]{}, unit.Optional[unit.Length]{}
	switch p.Kind {
	case part.KindInsert:
		inner = p.Insert.Value.FitsInner
	case part.KindNock:
		inner = p.Nock.Value.FitsInner
	case part.KindShaft:
		inner = p.Shaft.Value.InnerDiameter
	case part.KindCollar:
		outer = p.Collar.Value.FitsOuter
	}
	switch {
	case inner.Given:
		return "bore " + shortBore(units, inner.Value)
	case outer.Given:
		return "for " + shortBore(units, outer.Value) + " outside"
	}
	return ""
}

// shortBore writes a diameter the way it is spoken of: ".204", or "5.18 mm".
func shortBore(units unit.System, l unit.Length) string {
	if units.Fine() == unit.Inches {
		return present.Spine(l)
	}
	return units.Bore(l)
}

func held(o *option) string {
	if o.held {
		return "as it is now"
	}
	return ""
}

func (p *picker) typing() bool { return true }
func (p *picker) footer(m *Model) []keys.Hint {
	return m.keys.List.Hints(keys.Do("choose", keys.Choose), keys.Do("back", keys.Close), keys.Do("add a part", keys.New),
		keys.Do("edit it", keys.Edit), keys.Do("move", keys.Up, keys.Down), keys.Do("page", keys.PageUp, keys.PageDown))
}

// shortWeight writes a weight for a column, without its unit.
func (m *Model) shortWeight(w unit.Mass) string {
	u := m.units().Shown(unit.Grains)
	decimals := 1
	if u == unit.Grams {
		decimals = 2
	}
	return present.Places(u.Of(float64(w)), decimals)
}
