package bench

import (
	"fmt"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
	"foreshaft/ui/theme"
)

// pieceTitles says what the values of a piece are called and what they are, by
// their key in the exchange format.
var pieceTitles = map[string][2]string{
	"name":                {"name", "what you call it; lists are filtered by it"},
	"weight_gr":           {"weight", "of one piece, as its maker states it"},
	"weight_u_gr":         {"  ± of one piece", "how much one piece differs from that; empty is 1 gr (0.06 g), as of a stated weight"},
	"weight_gr_per_in":    {"weight by length", "of the bare shaft, as its maker states it"},
	"weight_u_gr_per_in":  {"  ± of one shaft", "how much one shaft differs from that"},
	"tube_weight_gr":      {"cut tube weighs", "the bare tube at its cut length, on a scale; it counts instead of the weight by length"},
	"tube_weight_u_gr":    {"  ± of the scale", "how well the scale weighs"},
	"spine_in":            {"static spine", "as printed on the shaft: the bend of a 29 in shaft under 1.94 lb at its middle, supports 28 in apart"},
	"spine_u_in":          {"  ± of one shaft", "how much one shaft differs from that"},
	"outer_diameter_in":   {"outer diameter", "of the shaft, for collars and limits"},
	"outer_diameter_u_in": {"  ± of one shaft", "how much one shaft differs from that"},
	"inner_diameter_in":   {"bore", "inner diameter of the shaft: inserts and nocks are made for it"},
	"stock_length_in":     {"length as sold", "of the uncut shaft"},
	"throat_in":           {"throat", "how far the throat, where the string sits, is behind the rear end of the tube; half an inch (13 mm) when empty"},
	"throat_u_in":         {"  ± of the throat", "how well that is known"},
	"balance_in":          {"balance", "where its weight acts: of a nock ahead of the throat, of a head ahead of its seat"},
	"balance_u_in":        {"  ± of the balance", "how well that is known"},
	"lighted":             {"lighted", "whether it has a light; electronics are not allowed everywhere"},
	"fits_inner_in":       {"made for a bore of", "the inner diameter of the shafts it goes into; empty is not checked"},
	"fits_outer_in":       {"made for a shaft of", "the outer diameter of the shafts it goes over; empty is not checked"},
	"count":               {"how many", "on one arrow"},
	"length_in":           {"length", "of the piece"},
	"length_u_in":         {"  ± of the length", "how well that is known"},
	"height_in":           {"height", "of one vane above the shaft"},
	"rear_in":             {"rear edge", "from the throat to the rear edge of the vanes"},
	"rear_u_in":           {"  ± of the edge", "how well that is known"},
	"thickness_in":        {"thickness", "of one vane"},
	"tip_length_in":       {"tip length", "of a vane's outer edge; 0.4 of its length when empty"},
	"depth_in":            {"depth in the shaft", "how far it reaches into the tube from the cut end"},
	"depth_u_in":          {"  ± of the depth", "how well that is known"},
	"proud_in":            {"proud", "how far it stands out of the cut end"},
	"thread":              {"thread", "that of heads and inserts must be the same, such as 8-32; empty is not checked"},
	"shape":               {"shape", "outline of the nose"},
	"blades":              {"blades", "0 for a field point"},
	"blade_length_in":     {"blade length", "along the head"},
	"cut_width_in":        {"cut width", "across the blades, open"},
	"blade_thickness_in":  {"blade thickness", "of one blade"},
	"expandable":          {"expandable", "whether the blades open on impact"},
	"price":               {"price", "of one piece"},
	"stock":               {"in stock", "how many pieces"},
	"note":                {"note", "anything to remember, such as the supplier"},
}

// pieceLines are the lines of a piece, which in returns.
func pieceLines[T any](sample any, in func(v *T) any) []line[T] {
	var out []line[T]
	for _, f := range record.Fields(sample) {
		t := pieceTitles[f.Key]
		l := line[T]{key: f.Key, title: t[0], means: t[1], in: in}
		switch {
		case f.Need:
			l.usual = func(*Model, *T) string { return "needed" }
		case f.Key == "blades":
			l.usual = func(*Model, *T) string { return "none" }
		case f.Key == "shape":
			l.usual = func(*Model, *T) string { return string(part.Ogive) }
		}
		out = append(out, l)
	}
	return out
}

// pieceOf returns the piece that a part holds.
func pieceOf(p *part.Part) any {
	piece, _ := p.Piece()
	return piece
}

// editPiece opens the piece in focus, which belongs to the build alone.
func (m *Model) editPiece() {
	r := allRows[m.row]
	kind, isPiece := r.slot.Kind()
	switch {
	case !r.isSlot:
		m.Say("Move to a part (above the line) to edit it.")
		return
	case r.slot == present.SlotExtras:
		m.open(m.extrasForm())
		return
	case !isPiece:
		m.edit()
		return
	}
	held, has := session.Held(m.build(), kind)
	if !has {
		m.Say("%s has no %s: press %s to choose one.", m.build().Name, kind, m.keys.Bench.Press(keys.Edit))
		return
	}
	m.Say("This piece of %s alone; the drawer and other builds keep theirs.", m.build().Name)
	m.open(&form[part.Part]{
		title: fmt.Sprintf("%s of %s %s", capital(string(kind)), present.Letter(m.col), m.build().Name), offers: plainOffers,
		lines: pieceLines(pieceOf(&held), pieceOf),
		gone:  m.leftBuild(kind),
		load: func(m *Model) part.Part {
			held, _ := session.Held(m.build(), kind)
			return held
		},
		keep: func(m *Model, c change, v part.Part) Request {
			if m.change(fmt.Sprintf("%s, %s", kind, c.what), func(b *arrow.Build) { session.Put(b, v) }) {
				m.sayEffect(c.what)
			}
			return nil
		},
	})
}

// leftBuild reports, after an undo, whether the build in focus is another one now
// or has no such piece any more.
func (m *Model) leftBuild(kind part.Kind) func(m *Model) bool {
	name := m.build().Name
	return func(m *Model) bool {
		if m.build() == nil || m.build().Name != name {
			return true
		}
		_, has := session.Held(m.build(), kind)
		return kind != "" && !has
	}
}

// sayEffect says what a change of a piece did to the build in focus.
func (m *Model) sayEffect(what string) {
	if m.effect == "" {
		m.Say("Changed: %s. The figures stay as they were.", what)
		return
	}
	m.Say("Changed: %s. %s", what, m.effect)
}

// extras is the list of the extras of a build.
type extras struct{ list []part.Extra }

// extrasForm edits the extras of the build in focus.
func (m *Model) extrasForm() dialog {
	m.Say("Anything else with weight: glue, ballast, a footing.")
	return &form[extras]{
		title: "", offers: []keys.Offer{keys.Do("back", keys.Close), keys.Do("edit", keys.Edit), keys.Do("add", keys.Add), keys.Do("remove", keys.Remove), keys.Do("undo", keys.Undo), keys.Do("move", keys.Up, keys.Down, keys.Left, keys.Right)},
		table: &table[extras]{
			title: fmt.Sprintf("Extras of %s %s", present.Letter(m.col), m.build().Name), what: "extra", none: "None: %s adds one.", needed: 3,
			columns: []column{{key: "name", title: "name", ask: "What it is", width: 12}, {key: "weight_gr", title: "%s", ask: "Weight", width: 8}, {key: "balance_in", title: "at %s", ask: "Its place, from the throat to its centre", width: 9}},
			count:   func(e *extras) int { return len(e.list) },
			row:     func(e *extras, i int) any { return &e.list[i] },
			grow:    func(e *extras) { e.list = append(e.list, part.Extra{}) },
			cut:     func(e *extras, i int) { e.list = slices.Delete(e.list, i, i+1) },
		},
		gone: m.leftBuild(""),
		load: func(m *Model) extras { return extras{slices.Clone(m.build().Extras)} },
		keep: func(m *Model, c change, v extras) Request {
			if m.change("extras", func(b *arrow.Build) { b.Extras = v.list }) {
				m.sayEffect(c.what)
			}
			return nil
		},
	}
}

// draft is a part of the drawer while it is described: a new one, or one that is
// there already.
type draft struct {
	part   part.Part
	was    part.Part // as the drawer has it
	stored bool      // the drawer has it
}

// missing says what a part lacks before the drawer can take it.
func (d *draft) missing() []string {
	var out []string
	if d.part.Name() == "" {
		out = append(out, "a name")
	}
	for _, f := range record.Fields(pieceOf(&d.part)) {
		if n, _ := f.Number(); f.Need && n == 0 {
			out = append(out, pieceTitles[f.Key][0])
		}
	}
	if s := &d.part.Shaft.Value; d.part.Kind == part.KindShaft && !s.WeightPerInch.Given {
		out = append(out, pieceTitles["weight_gr_per_in"][0])
	}
	return out
}

// describePart opens a form for a new part of a kind. What was begun before and
// not finished is there again.
func (m *Model) describePart(kind part.Kind) Request {
	d := m.drafts[kind]
	if d != nil && !d.stored {
		m.Say("The %s you began: it goes into the drawer when it has all it needs.", kind)
		m.open(m.partForm(d))
		if d.part.ID == "" { // it was not to be had before
			return NewPart{}
		}
		return nil
	}
	d = &draft{part: part.Part{Kind: kind}}
	d.part.Hold()
	m.drafts[kind] = d
	m.Say("A new %s: it goes into the drawer when it has all it needs.", kind)
	m.open(m.partForm(d))
	return NewPart{}
}

// TakeID gives an ID to parts that were begun and have none yet.
func (m *Model) TakeID(id string) Request {
	for _, kind := range part.Kinds {
		if d := m.drafts[kind]; d != nil && d.part.ID == "" {
			d.part.ID = id
			r := m.store(d)
			if p, open := m.dialog.(*picker); open && r != nil {
				p.refresh(m, id)
			}
			return r
		}
	}
	return nil
}

// editPart opens the part in focus of a picker as the drawer has it.
func (m *Model) editPart(p *picker) {
	if len(p.found) == 0 || p.found[p.at].without || p.found[p.at].weight.Given {
		m.Say("Move to a part of the drawer to edit it.")
		return
	}
	held := p.found[p.at].part
	m.Say("This part in the drawer; builds on the bench that have it follow.")
	m.open(m.partForm(&draft{part: held, was: held, stored: true}))
}

// partForm returns the form of a part of the drawer.
func (m *Model) partForm(d *draft) dialog {
	lines := pieceLines(pieceOf(&d.part), pieceOf)
	weighed := func(p *part.Part) any { return &p.Measured.Value }
	set := func(key string) func(*Model, *part.Part, string) error {
		return func(m *Model, p *part.Part, text string) error {
			err := put(record.Only(&p.Measured.Value, key).In(m.units()), text)
			w := p.Measured.Value
			p.Measured.Given = w.Weight != 0 || w.WeightPerInch != 0
			return err
		}
	}
	weight, spread := "weight_gr", "weight_u_gr"
	if d.part.Kind == part.KindShaft {
		weight, spread = "weight_gr_per_in", "weight_u_gr_per_in"
	}
	none := func(*Model, *part.Part) string { return "not weighed" }
	blank := func(*Model, *part.Part) string { return "–" }
	lines = append(lines,
		line[part.Part]{key: weight, title: "mean weight", head: "As weighed: this counts", in: weighed, set: set(weight), usual: none, means: "the mean of the pieces you weighed"},
		line[part.Part]{key: spread, title: "  ± of one piece", in: weighed, set: set(spread), usual: blank, means: "how far single pieces lie from the mean"},
		line[part.Part]{key: "count", title: "  pieces weighed", in: weighed, set: set("count"), usual: blank, means: "how many were weighed"},
		line[part.Part]{key: "retired", title: "retired", head: "In the drawer", means: "no longer offered; builds that have it keep it"},
	)
	title := capital(string(d.part.Kind)) + " in the drawer"
	if !d.stored {
		title = "New " + string(d.part.Kind)
	}
	m.described = d
	return &form[part.Part]{
		title: title, lines: lines, offers: apartOffers, apart: true,
		load: func(*Model) part.Part { return d.part },
		keep: func(m *Model, c change, p part.Part) Request {
			p.ID = d.part.ID
			d.part = p
			m.Say("Changed: %s.", c.what)
			return m.store(d)
		},
		side: func(m *Model, p *part.Part) []paragraph {
			if need := d.missing(); len(need) > 0 {
				where := "Not in the drawer yet."
				if d.stored {
					where = "The drawer has it as it was."
				}
				return []paragraph{{token: theme.Warn, text: where + " It needs " + strings.Join(need, ", ") + "."}}
			}
			in := []paragraph{{token: theme.Plain, text: "In the drawer: " + strings.TrimSpace(present.Weight(m.units(), p.Weight(m.tube()))+" "+p.Name()) + "."}}
			if p.Kind == part.KindShaft {
				in[0].text += " That is the tube of the build in focus."
			}
			return append(in, paragraph{token: theme.Quiet, text: "Every value is kept as you enter it."})
		},
		leave: func(m *Model) { m.leavePart(d) },
	}
}

// tube is the length of the tube of the build in focus.
func (m *Model) tube() unit.Length {
	if b := m.build(); b != nil {
		return b.Tube()
	}
	return 0
}

// store puts a part that has all it needs into the drawer, and into the builds on
// the bench that had it as it was.
func (m *Model) store(d *draft) Request {
	if len(d.missing()) > 0 || d.part.ID == "" {
		return nil
	}
	if !d.stored {
		m.Say("It is in the drawer now.")
	}
	r := KeepParts{Was: []part.Part{d.was}, Parts: []part.Part{d.part}}
	drawer := slices.Clone(m.drawer)
	at := slices.IndexFunc(drawer, func(p part.Part) bool { return p.ID == d.part.ID })
	if at < 0 {
		drawer = append(drawer, d.part)
	} else {
		drawer[at] = d.part
	}
	m.drawer = drawer
	if d.stored {
		m.follow(d.was, d.part)
	}
	d.was, d.stored = d.part, true
	return r
}

// follow gives the builds on the bench that have a part the part as it is now.
func (m *Model) follow(was, now part.Part) {
	old := was.Weighed().Bare()
	var letters []string
	m.do("part "+now.Name(), func(j *job.Job) {
		for i := range j.Builds {
			if held, has := session.Held(&j.Builds[i], now.Kind); has && held.Bare() == old {
				session.Put(&j.Builds[i], now)
				letters = append(letters, present.Letter(i))
			}
		}
	})
	if len(letters) > 0 && !m.alerting() {
		m.message += " On the bench " + strings.Join(letters, ", ") + " has it and follows."
	}
}

// leavePart closes the form of a part. One that was begun and lacks something
// waits to be finished.
func (m *Model) leavePart(d *draft) {
	m.message, m.described = "", nil
	switch need := d.missing(); {
	case len(need) > 0 && d.stored:
		m.Say("The drawer keeps it as it was: it needs %s.", strings.Join(need, ", "))
	case len(need) > 0:
		m.Say("Not in the drawer: it needs %s. %s goes on with it.", strings.Join(need, ", "), m.keys.List.Press(keys.New))
	}
	if p, open := m.pickerBehind(); open {
		p.refresh(m, d.part.ID)
	}
}

// pickerBehind returns the picker that a form was opened from.
func (m *Model) pickerBehind() (*picker, bool) {
	if n := len(m.under); n > 0 {
		p, ok := m.under[n-1].(*picker)
		return p, ok
	}
	return nil, false
}
