package bench

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// offers lists the swaps of the build in focus that come to something with the
// least change of weight: that clear a caution, or bring its figures near the
// baseline's. They are looked for beside the screen.
type offers struct {
	aims []aim // one at a time; Left and Right go through them
	aim  int
	at   int
	top  int // the first line of the list as it was drawn, for the mouse

	ctx    context.Context // of what is under way
	cancel context.CancelFunc
	near   *search.Near // what was found, nil as long as nothing is
	far    search.Progress
	failed error
}

// aim is what swaps are to come to.
type aim struct {
	title  string
	intro  string // what it is about, in full
	clears caution.Caution
	where  map[string]job.Window
	vain   string // why no swap can
	// comes says what an offer comes to, and already what the build does as it is.
	comes   func(m *Model, b *arrow.Build) string
	wide    int // how wide that is
	already string
}

// rows lists what there is to choose from: the offers, or what comes closest.
func (o *offers) rows() []search.Offer {
	switch {
	case o.near == nil || o.aims[o.aim].vain != "":
		return nil
	case o.near.Closest != nil:
		return []search.Offer{*o.near.Closest}
	}
	return o.near.Offers
}

// fix offers what clears the cautions of the build in focus, the gravest first.
func (m *Model) fix() Request {
	list := present.Remarks(m.session.Sheet(), m.col)
	cautions := m.session.Sheet().Builds[m.col].Cautions
	said := func(code caution.Code) bool {
		return slices.ContainsFunc(cautions, func(c caution.Caution) bool { return c.Code == code && !c.Unchecked })
	}
	var aims []aim
	for _, c := range list {
		if c.About != "" && said(c.About) {
			continue // what clears the one clears the other
		}
		a := aim{title: "what would fix this: " + present.Brief(c), intro: present.Marked(c), clears: c}
		switch {
		case c.Unchecked:
			a.vain = "No swap of pieces checks this: it needs what is missing."
		case c.Code == caution.OverPeak:
			a.vain = "No swap of pieces changes this: it is about the bow."
		case !slices.Contains(cautions, c):
			a.vain = "This is about what is known of bow and build: the sentence says what would help."
		}
		aims = append(aims, a)
	}
	if len(aims) == 0 {
		m.Say("No cautions found for %s: there is nothing to fix. The maker's chart decides on spine.", short(m.build().Name))
		return nil
	}
	return m.offer(aims...)
}

// sameMarks offers what brings the build in focus within an inch of the baseline's
// marks, at the distance that the bench shows.
func (m *Model) sameMarks() Request {
	if m.isBaseline("shares its own marks") {
		return nil
	}
	d := m.chosen()
	told, base := m.units().Distance(d, 4), m.Job().Builds[m.Job().Baseline].Name
	near := m.units().Span(nearHit, 3)
	key := figure.ImpactShift
	if f := m.session.Sheet().Builds[m.col].Place(m.place(m.Job())); f.Absent(key) != "" {
		m.Say("Whether marks are shared is not known: the shift %s.", f.Absent(key))
		return nil
	}
	inches := nearHit.In(unit.Inch)
	return m.offer(aim{
		title:   fmt.Sprintf("to hit within %s of %s at %s, with the same mark", near, short(base), told),
		where:   map[string]job.Window{key.String(): {Distance: unit.Some(d), Min: unit.Some(-inches), Max: unit.Some(inches)}},
		comes:   func(m *Model, b *arrow.Build) string { return m.shifted(b, d) },
		wide:    16,
		already: fmt.Sprintf("%s shares the mark of %s at %s as it is", short(m.build().Name), short(base), told),
	})
}

// nearHit is how close two arrows hit that share a mark: about the width of what
// anybody holds at these distances (common practice).
const nearHit = 1 * unit.Inch

// shifted says where a build hits with the baseline's mark.
func (m *Model) shifted(b *arrow.Build, d unit.Length) string {
	setting := sheet.NewSetting(m.Job())
	values := setting.At(b, d)
	shift, ok := values.Get(figure.ImpactShift)
	if !ok {
		return ""
	}
	in := m.units().Shown(unit.Inches)
	side := "higher"
	if shift < 0 {
		side = "lower"
	}
	return fmt.Sprintf("%.1f %s %s", math.Abs(in.Of(shift)), in.Symbol, side)
}

// How close in weight and balance counts as close to another build (common
// practice).
const (
	nearWeight = 5 * unit.Grain
	nearFOC    = 0.5 // %
)

// closest offers what brings the build in focus close to the baseline's weight and
// FOC.
func (m *Model) closest() Request {
	if m.isBaseline("is what others come close to") {
		return nil
	}
	base := &m.Job().Builds[m.Job().Baseline]
	if base.Tube() <= 0 {
		m.Say("%s has no tube ahead of its nock: give it a length first.", short(base.Name))
		return nil
	}
	at := base.Moments()
	weight, foc := at.Total.In(unit.Grain), 100*base.FOC(at.Balance)
	around := func(value, by float64) job.Window {
		return job.Window{Min: unit.Some(value - by), Max: unit.Some(value + by)}
	}
	name := short(base.Name)
	return m.offer(aim{
		title: fmt.Sprintf("to come within %s and %s %% FOC of %s", m.units().Weight(nearWeight, 3), present.Number(nearFOC), name),
		where: map[string]job.Window{
			figure.TotalWeight.String(): around(weight, nearWeight.In(unit.Grain)), figure.FOC.String(): around(foc, nearFOC),
		},
		comes: func(m *Model, b *arrow.Build) string {
			now := b.Moments()
			gr := m.units().Shown(unit.Grains)
			return fmt.Sprintf("%s %s, FOC %s %% from %s", present.Plus(fmt.Sprintf("%.1f", gr.Of(float64(now.Total-at.Total)))), gr.Symbol,
				present.Plus(fmt.Sprintf("%.1f", 100*b.FOC(now.Balance)-foc)), present.Letter(m.Job().Baseline))
		},
		wide:    29,
		already: fmt.Sprintf("%s is as close to %s as that", short(m.build().Name), name),
	})
}

// isBaseline reports whether the build in focus is the baseline, and says then that
// another is to be changed.
func (m *Model) isBaseline(why string) bool {
	if m.col != m.Job().Baseline {
		return false
	}
	if len(m.Job().Builds) == 1 {
		m.Say("%s is the baseline and %s: copy it with %s, and change the copy.", short(m.build().Name), why, m.keys.Bench.Press(keys.Duplicate))
	} else {
		m.Say("%s is the baseline and %s: go to the build that is to be changed.", short(m.build().Name), why)
	}
	return true
}

// offer opens the list and looks for the first of the aims.
func (m *Model) offer(aims ...aim) Request {
	o := &offers{aims: aims}
	m.open(o)
	return o.look(m)
}

// look starts to look for what the aim asks for.
func (o *offers) look(m *Model) Request {
	o.closed()
	o.near, o.failed, o.at, o.far = nil, nil, 0, search.Progress{}
	a := &o.aims[o.aim]
	if a.vain != "" {
		return nil
	}
	o.ctx, o.cancel = context.WithCancel(context.Background())
	ctx, j, col := o.ctx, m.asked(a.where), m.col
	return Work{to: o, Do: func(tell func(any)) {
		near, err := search.Nearest(ctx, j, col, a.clears, func(p search.Progress) { tell(outcome{ctx: ctx, far: p}) })
		tell(outcome{ctx: ctx, near: near, err: err, ended: true})
	}}
}

// outcome is what looking for offers tells.
type outcome struct {
	ctx   context.Context // which look it was
	far   search.Progress
	near  *search.Near
	err   error
	ended bool
}

func (o *offers) told(_ *Model, what any) {
	out, ok := what.(outcome)
	switch {
	case !ok || out.ctx != o.ctx:
	case !out.ended:
		o.far = out.far
	case out.err != nil:
		o.failed = out.err
	default:
		o.near = out.near
	}
}

// closed ends what is under way.
func (o *offers) closed() {
	if o.cancel != nil {
		o.cancel()
		o.ctx, o.cancel = nil, nil // what it still tells is nobody's
	}
}

// asked returns the bench's job with the drawer that the bench has, the lengths
// that the build in focus may be cut to, and a question.
func (m *Model) asked(where map[string]job.Window) *job.Job {
	j := m.Job().Clone()
	j.Drawer = unit.Some(job.DrawerOf(m.drawer, session.Lengths(m.build().Length, m.units())))
	j.Search = unit.Some(job.Search{Where: where})
	return j
}

func (o *offers) key(m *Model, k tea.KeyMsg) (bool, Request) {
	return o.act(m, m.asks(k, m.keys.Offers))
}

func (o *offers) act(m *Model, a keys.Action) (done bool, r Request) {
	n := len(o.rows())
	switch a {
	case keys.Close:
		return true, nil
	case keys.Help:
		m.open(m.help())
	case keys.Command:
		m.open(newPalette(m, m.keys.Offers, nil, o.act))
	case keys.Up:
		o.at = max(o.at-1, 0)
	case keys.Down:
		o.at = max(min(o.at+1, n-1), 0)
	case keys.Left, keys.Right:
		by := 1
		if a == keys.Left {
			by = -1
		}
		if len(o.aims) == 1 {
			m.Say("There is only this one.")
			return false, nil
		}
		o.aim = (o.aim + by + len(o.aims)) % len(o.aims)
		return false, o.look(m)
	case keys.Choose, keys.Add:
		if n == 0 {
			m.Say("There is nothing to choose.")
			return false, nil
		}
		return o.take(m, &o.rows()[o.at], a == keys.Add), nil
	}
	return false, nil
}

// take puts an offer into the column in focus, or into a new one beside it.
func (o *offers) take(m *Model, offer *search.Offer, apart bool) (done bool) {
	b, was := offer.Build.Clone(), m.build()
	changes := strings.Join(present.Changes(m.units(), was, &b), ", ")
	if apart {
		if !m.room() {
			return false
		}
		b.Name = session.FreeName(m.Job(), b.Name)
		if m.insert(m.col+1, b, "add "+b.Name) {
			m.Say("%s is %s with %s.", short(b.Name), short(was.Name), changes)
		}
		return true
	}
	scaled := !slices.Contains(offer.Swaps, part.KindShaft) && b.Shaft.TubeWeight.Given && b.Tube() != was.Tube()
	if m.change(strings.Join(kindWords(offer.Swaps), " and "), func(at *arrow.Build) { *at = b }) && scaled {
		m.sayAlso("%s", reweigh)
	}
	return true
}

func kindWords(kinds []part.Kind) []string {
	var out []string
	for _, k := range kinds {
		out = append(out, string(k))
	}
	return out
}

func (o *offers) draw(m *Model, w, h int) []string {
	a := &o.aims[o.aim]
	title := fmt.Sprintf(" %s %s: %s", present.Letter(m.col), short(m.build().Name), a.title)
	if len(o.aims) > 1 {
		title += fmt.Sprintf("   ◂ %d of %d ▸", o.aim+1, len(o.aims))
	}
	out := []string{m.theme.Paint(theme.Heading, text.Pad(text.Cut(title, w), w))}
	say := func(t theme.Token, words string, most int) {
		for _, l := range wrapped(words, min(w-4, 110), most) {
			out = append(out, m.theme.Paint(t, "   "+l))
		}
	}
	if a.intro != "" {
		say(theme.Plain, a.intro, 5)
	}
	out = append(out, "")
	rows := o.rows()
	switch {
	case a.vain != "":
		say(theme.Plain, a.vain, 2)
		return out
	case o.failed != nil:
		say(theme.Warn, sentence(o.failed), 3)
		return out
	case o.near == nil:
		say(theme.Quiet, o.progress(), 1)
		return out
	case o.near.Already:
		say(theme.Plain, a.already+".", 2)
		return out
	case len(rows) == 0:
		say(theme.Plain, o.none(m), 3)
		return out
	case o.near.Closest != nil:
		say(theme.Plain, o.none(m)+" This comes closest:", 3)
	}
	changes := min(w-3-offerWeight-a.wide, 70)
	out = append(out, m.theme.Paint(theme.Quiet, text.Pad("   "+text.Pad("swapped in", changes)+text.PadLeft(m.units().Shown(unit.Grains).Symbol, 9)+"    "+o.comesTitle(m), w)))
	o.top = len(out)
	for i := range rows {
		out = append(out, o.line(m, &rows[i], i == o.at, changes, w))
	}
	below := o.preview(m, &rows[o.at], w)
	for len(out) < h-len(below) {
		out = append(out, "")
	}
	return append(out[:min(len(out), h-len(below))], below...)
}

// offerWeight holds the change of weight, the sign of a warning that it brings and gaps.
const offerWeight = 14

func (o *offers) comesTitle(m *Model) string {
	if o.aims[o.aim].comes == nil {
		return ""
	}
	return "comes to"
}

func (o *offers) progress() string {
	if o.far.Candidates == 0 {
		return "Looking …"
	}
	return fmt.Sprintf("Looking … %d of %d swaps tried, %d found.", o.far.Done, o.far.Candidates, o.far.Matched)
}

func (o *offers) none(m *Model) string {
	if len(m.drawer) == 0 {
		return m.emptyDrawer()
	}
	return "No one or two swaps from the drawer do that without a new or a greater danger."
}

func (o *offers) line(m *Model, offer *search.Offer, focused bool, changes, w int) string {
	gr := m.units().Shown(unit.Grains)
	line := mark(focused) + text.Pad(text.Cut(o.swappedIn(m, offer), changes-1), changes) +
		text.PadLeft(present.Plus(fmt.Sprintf("%.1f", gr.Of(float64(offer.Change)))), 9) + "  "
	sign := "  "
	if offer.Brings {
		sign = present.Mark(caution.Warn) + " "
	}
	line += sign
	if comes := o.aims[o.aim].comes; comes != nil {
		line += comes(m, &offer.Build)
	}
	line = text.Pad(text.Cut(line, w), w)
	if focused {
		return m.theme.Paint(theme.Focus, line)
	}
	return line
}

// emptyDrawer says what to do where there are no parts.
func (m *Model) emptyDrawer() string {
	return fmt.Sprintf("The drawer is empty: %s on the bench brings the sample parts back, and %s on a piece there adds your own.", m.keys.Bench.Press(keys.Samples), m.keys.Bench.Press(keys.Edit))
}

// swappedIn names what an offer swaps in.
func (o *offers) swappedIn(m *Model, offer *search.Offer) string {
	var words []string
	for _, k := range offer.Swaps {
		piece := present.Piece(m.units(), &offer.Build, present.Slot(k))
		if k == search.Length {
			piece, _, _ = strings.Cut(piece, " tube")
		}
		words = append(words, string(k)+" "+piece)
	}
	return strings.Join(words, ", ")
}

// preview says what else an offer changes: figures, and cautions that go and come.
func (o *offers) preview(m *Model, offer *search.Offer, w int) []string {
	var out []string
	words := present.Effect(m.session.Sheet(), m.build(), &offer.Build, m.chosen())
	if words == "" {
		words = "no change to the figures that the bench tells of"
	}
	changes := strings.Join(present.Changes(m.units(), m.build(), &offer.Build), ", ")
	for _, l := range wrapped("Would make, by "+changes+":  "+words, w-2, 4) {
		out = append(out, m.theme.Paint(theme.Changed, " "+l))
	}
	if offer.Brings {
		out = append(out, m.theme.Paint(theme.Warn, text.Cut(" ! brings a warning that the build does not have now, or makes one worse", w)))
	}
	gone, come := present.Turned(m.session.Sheet(), m.build(), &offer.Build)
	if gone != "" {
		out = append(out, m.theme.Paint(theme.Plain, text.Cut(" Clears: "+gone, w)))
	}
	if come != "" {
		out = append(out, m.theme.Paint(theme.Warn, text.Cut(" Brings: "+come, w)))
	}
	return out
}

func (o *offers) typing() bool { return false }
func (o *offers) footer(m *Model) []keys.Hint {
	list := []keys.Offer{keys.Do("back", keys.Close)}
	if len(o.rows()) > 0 {
		list = append(list, keys.Do("take it", keys.Choose), keys.Do("in a new column", keys.Add), keys.Do("move", keys.Up, keys.Down))
	}
	if len(o.aims) > 1 {
		list = append(list, keys.Do("other cautions", keys.Left, keys.Right))
	}
	return m.keys.Offers.Hints(append(list, keys.Do("help", keys.Help), keys.Do("any action", keys.Command))...)
}

// click goes to an offer at a place of the screen.
func (o *offers) click(_ *Model, _, y int) bool {
	i := y - o.top
	if i < 0 || i >= len(o.rows()) {
		return false
	}
	was := o.at
	o.at = i
	return o.at == was
}
