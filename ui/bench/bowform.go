package bench

import (
	"fmt"
	"slices"

	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/record"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/theme"
)

type bowForm = form[bow.Bow]

// settings are the fields that turning the bow's bolts changes: readings keep
// the settings they were shot at.
var settings = []string{"peak_weight_lb", "draw_length_in", "brace_height_in"}

// newBowForm returns the form of the bow and its readings.
func newBowForm(m *Model) *bowForm {
	m.Say("The bow as it is set now, and speeds you have chronographed on it.")
	at := 3 // peak weight, which is turned most often
	if m.Job().Bow.Value.Name == "" {
		at = 0
	}
	return &bowForm{
		title: "Bow", at: at, lines: bowLines(), table: readings(),
		load: (*Model).bowOf, keep: keepBow, side: bowFindings, extra: bowExtra,
		offers: []keys.Offer{keys.Do("back", keys.Close), keys.Do("edit", keys.Edit), keys.Do("add reading", keys.Add), keys.Do("new bow", keys.New), keys.Do("help", keys.Help), keys.Do("other bow", keys.Open),
			keys.Do("keep", keys.Keep), keys.Do("remove", keys.Remove), keys.Do("undo", keys.Undo),
			keys.Do("any action", keys.Command), keys.Do("change", keys.More, keys.Less), keys.Do("move", keys.Up, keys.Down, keys.Left, keys.Right)},
	}
}

// bowLines are the lines of the bow form. Turning a bolt stamps the readings.
func bowLines() []line[bow.Bow] {
	rating := func(b *bow.Bow) any { return &b.Rating.Value }
	unrated := func(b *bow.Bow) string {
		if b.Rating.Given {
			return ""
		}
		return "Enter the rated speed first."
	}
	const measured = "throat of the nock to the pivot of the grip, plus 1 3/4 in (4.4 cm)"
	lines := []line[bow.Bow]{
		{key: "name", title: "name", means: "what you call this bow; kept bows are found by it"},
		{key: "kind", title: "kind", usual: func(_ *Model, b *bow.Bow) string { return string(b.KindOrDefault()) }},
		{key: "release", title: "release", means: "how the string is let go", usual: func(_ *Model, b *bow.Bow) string { return string(b.ReleaseOrDefault()) }},
		{key: "peak_weight_lb", title: "peak weight now", means: "the most the bow weighs in the hand while it is drawn, on a bow scale"},
		// Who measures to the rest or the pivot types too little, and every check
		// of a short arrow then comes too late.
		{key: "draw_length_in", title: "draw length now", means: measured},
		{key: "brace_height_in", title: "brace height", means: "string to the pivot of the grip, bow at rest",
			usual: func(m *Model, b *bow.Bow) string { return m.units().Span(b.BraceOrDefault(), 3) + " usual" }},
		{key: "rest_behind_pivot_in", title: "rest behind pivot", means: "how far the rest stands behind the pivot of the grip, towards the archer",
			usual: func(m *Model, _ *bow.Bow) string { return m.units().Span(0, 3) + " usual" }},
		{key: "minimum_arrow_gr", title: "maker's min arrow", means: "the lightest arrow that the bow's maker allows"},
		{key: "maximum_peak_weight_lb", title: "maker's max peak", means: "the highest peak weight that the bow's maker allows"},
		{key: "speed_fps", title: "rated speed", head: "Rating, used only without a reading", in: rating, means: "the speed the bow is sold with", set: setRating,
			usual: func(*Model, *bow.Bow) string { return "none" }},
		{key: "arrow_gr", title: "  with an arrow of", in: rating, shut: unrated},
		{key: "peak_weight_lb", title: "  at peak weight", in: rating, shut: unrated},
		{key: "draw_length_in", title: "  at draw length", in: rating, shut: unrated},
		{key: "brace_height_in", title: "  at brace height", in: rating, shut: unrated},
	}
	for i := range lines {
		if l := &lines[i]; l.in == nil && slices.Contains(settings, l.key) {
			l.set = func(m *Model, b *bow.Bow, text string) error {
				*b = b.Stamped()
				return put(record.Only(b, l.key).In(m.units()), text)
			}
		}
	}
	return lines
}

// readings is the table of chronographed arrows.
func readings() *table[bow.Bow] {
	return &table[bow.Bow]{
		title: "Readings", what: "reading", none: "None yet: %s adds one.", needed: 3,
		columns: []column{
			{key: "arrow_gr", title: "%s", ask: "Weight of the arrow shot", width: 7},
			{key: "speed_fps", title: "%s", ask: "Speed on the chronograph", width: 8},
			{key: "sd_fps", title: "±", ask: "How sure, ±: for the average of n shots their spread ÷ √n. Empty is 1.5 ft/s (0.5 m/s)", width: 7},
			{key: "peak_weight_lb", title: "at %s", ask: "Peak weight it was shot at", width: 6},
			{key: "draw_length_in", title: "at %s", ask: "Draw length it was shot at", width: 6},
		},
		count: func(b *bow.Bow) int { return len(b.Readings) },
		row:   func(b *bow.Bow, i int) any { return &b.Readings[i] },
		grow:  func(b *bow.Bow) { b.Readings = append(b.Readings, bow.Reading{Conditions: b.Now()}) },
		cut:   func(b *bow.Bow, i int) { b.Readings = slices.Delete(b.Readings, i, i+1) },
		check: func(b *bow.Bow, i int, key string) error {
			if key == "arrow_gr" && b.Readings[i].Arrow <= 0 {
				return fmt.Errorf("the arrow shot must weigh something")
			}
			return nil
		},
		behindTitle: "off", behindWidth: 6,
		behind: func(m *Model, _ *bow.Bow, i int) string {
			s := m.session.Sheet()
			if s.FitErr != nil || s.Fit.FromRating || i >= len(s.Fit.Residuals) {
				return ""
			}
			off := present.Off(s, i)
			if s.Fit.Doubts(i) {
				off += "!"
			}
			return off
		},
	}
}

// bowOf returns a copy of the bow on the bench, a new one when there is none.
func (m *Model) bowOf() bow.Bow { return m.Job().Bow.Value.Clone() }

// keepBow changes the bow on the bench and says what that did to speed.
func keepBow(m *Model, c change, b bow.Bow) Request {
	before := m.session.Sheet()
	what := c.what
	if c.key == "speed_fps" && !c.row {
		what = "rated speed, at the standard test's conditions unless you change them"
		if !b.Rating.Given {
			what = "no rating"
		}
	}
	if !m.do("bow: "+what, func(j *job.Job) {
		renameBow(j, b.Name)
		j.Bow = unit.Some(b)
	}) {
		return nil
	}
	m.Say("%s", m.bowEffect(what, before))
	if c.text == "" && !c.row && (c.key == "minimum_arrow_gr" || c.key == "maximum_peak_weight_lb") {
		m.message += " It is not checked any more: the maker gives it."
	}
	if !c.row && slices.Contains(settings, c.key) && len(b.Readings) > 0 {
		m.message += " The readings stay as they were shot."
	}
	if i := before.Proven; i >= 0 && m.session.Sheet().Lapsed(i) != "" {
		m.message = fmt.Sprintf("%s was proven at other settings: its mark has lapsed. %s", short(m.Job().Builds[i].Name), m.message)
	}
	return nil
}

// renameBow lets what was proven on the bow follow its new name.
func renameBow(j *job.Job, name string) {
	for i := range j.Builds {
		if p := &j.Builds[i].Proof; p.Given && p.Value.Bow == j.Bow.Value.Name {
			p.Value.Bow = name
		}
	}
}

// bowEffect says what a change of the bow did to the speed of the build in focus.
func (m *Model) bowEffect(what string, before *sheet.Sheet) string {
	if m.build() == nil {
		return "Changed: " + what + "."
	}
	now := m.session.Sheet()
	after, ok := now.Builds[m.col].Figure(figure.LaunchSpeed)
	if !ok {
		return fmt.Sprintf("Changed: %s. No speed: it %s.", what, now.Builds[m.col].Absent(figure.LaunchSpeed))
	}
	u := now.Unit(figure.LaunchSpeed)
	was := "unknown"
	if m.col < len(before.Builds) {
		if f, ok := before.Builds[m.col].Figure(figure.LaunchSpeed); ok {
			was = fmt.Sprintf("%.1f", u.Of(f.Value))
		}
	}
	is := fmt.Sprintf("%.1f", u.Of(after.Value))
	if was == is {
		return fmt.Sprintf("Changed: %s. The speeds stay as they were.", what)
	}
	return fmt.Sprintf("Changed: %s. Speed of %s: %s → %s %s.", what, m.build().Name, was, is, u.Symbol)
}

// setRating takes the rated speed. Clearing it takes the rating off; a new one
// starts with the conditions of the standard test.
func setRating(m *Model, b *bow.Bow, text string) error {
	if text == "" {
		b.Rating = unit.Optional[bow.Rating]{}
		return nil
	}
	if !b.Rating.Given {
		// ASTM F1544: 30 in draw, at most 70 lb, 5 grains for each pound.
		peak := min(b.MaximumPeak.Or(70*unit.PoundForce), 70*unit.PoundForce)
		b.Rating = unit.Some(bow.Rating{
			Arrow:      unit.Mass(5 * float64(unit.GrainPerPound) * float64(peak)),
			Conditions: bow.Conditions{Peak: unit.Some(peak), Draw: unit.Some(30 * unit.Inch)},
		})
	}
	return record.Only(&b.Rating.Value, "speed_fps").In(m.units()).SetText(text)
}

// bowFindings says what the readings come to and which would help next.
func bowFindings(m *Model, b *bow.Bow) []paragraph {
	var out []paragraph
	add := func(t theme.Token, format string, args ...any) {
		out = append(out, paragraph{token: t, text: fmt.Sprintf(format, args...)})
	}
	add(theme.Plain, "")
	for _, i := range b.Light() {
		add(theme.Danger, "!! Reading %d was shot with an arrow below the maker's minimum of %s: that is near a dry fire. Do not shoot it again.", i+1, m.units().Weight(b.MinimumArrow.Value, 4))
	}
	s := m.session.Sheet()
	if s.FitErr != nil {
		add(theme.Plain, "No speed yet: it %s.", s.FitErr)
		return out
	}
	out = append(out, paragraph{text: "Energy E        " + s.Energy(), row: true}, paragraph{text: "Virtual mass K  " + s.VirtualMass(), row: true})
	for _, n := range s.Fit.Notes(m.units()) {
		add(theme.Warn, "! %s", n)
	}
	if next, ok := b.Next(); ok {
		add(theme.Plain, "Most helpful next: chronograph an arrow of about %s; K would be known to ± %s.",
			m.units().Weight(next.Arrow, 3), m.units().Weight(next.After, 2))
	}
	usual, usualU := b.Prior()
	if len(b.Readings) < 2 {
		add(theme.Quiet, "K, what string, cams and limbs act like on top of the arrow, is the usual %s ± %s: one speed cannot tell it.",
			m.units().Weight(usual, 3), m.units().Weight(usualU, 2))
	} else {
		add(theme.Quiet, "K is what string, cams and limbs act like on top of the arrow; the usual %s ± %s counts beside the readings. “off”: reading less fit. E and K go together, correlation %.3f.",
			m.units().Weight(usual, 3), m.units().Weight(usualU, 2), s.Fit.Correlation)
	}
	return out
}

// bowExtra does what only the bow form does: keeping bows by name.
func bowExtra(m *Model, a keys.Action) (bool, Request) {
	switch a {
	case keys.Keep:
		if !m.Job().Bow.Given {
			m.Say("There is no bow to keep yet: enter its peak weight or a reading first.")
			return true, nil
		}
		m.open(m.keepBowPrompt())
		return true, List{} // who the customers are
	case keys.Open:
		m.open(newSavedScreen(m, listBows))
		return true, List{}
	case keys.New:
		r := m.keepPresentBow()
		name := m.Job().Bow.Value.Name
		if m.do("new bow", func(j *job.Job) { j.Bow, j.Sight = unit.Some(bow.Bow{}), unit.Optional[job.Sight]{} }) {
			if f, open := m.dialog.(*bowForm); open {
				f.at = 0 // its name comes first
			}
			m.Say("A new bow: enter what you know of it.")
			if r != nil {
				m.Say("A new bow: enter what you know of it. %s is kept: %s opens it again.", quoted(name), m.keys.Form.Press(keys.Open))
			}
		}
		return true, r
	}
	return false, nil
}

// keepBowPrompt asks for the name to keep the bow by, which becomes its own.
func (m *Model) keepBowPrompt() dialog {
	return newPrompt(m, prompt{
		title: "Keep this bow, its readings and its sight under the name", text: m.bowLabel(),
		accept: func(m *Model, typed string) (Request, error) {
			typed = label.Clean(typed)
			if typed == "" {
				return nil, fmt.Errorf("type a name to find it by")
			}
			m.do("name of the bow", func(j *job.Job) {
				renameBow(j, typed)
				j.Bow.Value.Name = typed
			})
			return m.keep(Save{Name: typed, What: SavedBow, Job: m.Job()}), nil
		},
	})
}

func quoted(name string) string {
	if name == "" {
		return "The one before"
	}
	return "“" + name + "”"
}

// bowLabel is the name that a bow is kept under unless the user says otherwise.
func (m *Model) bowLabel() string {
	b := m.Job().Bow.Value
	if b.Name != "" {
		return b.Name
	}
	label := string(b.KindOrDefault())
	if b.Peak.Given {
		label += " " + m.units().Pull(b.Peak.Value, 3)
	}
	return label
}

// keepPresentBow asks to keep the bow on the bench by its name before another
// takes its place, so that none is lost. A bow without any value is not kept.
func (m *Model) keepPresentBow() Request {
	present := m.Job().Bow
	if !present.Given || m.samples != nil && record.Equal(present.Value, m.samples.Bow.Value) || record.Equal(present.Value, bow.Bow{}) {
		return nil
	}
	return Save{Name: m.bowLabel(), What: SavedBow, Job: m.Job(), Quiet: true}
}

// placeBow puts a bow that was kept on the bench, with its sight.
func (m *Model) placeBow(name string, kept *job.Job) Request {
	r := m.keepPresentBow()
	if !m.do("bow "+name, func(j *job.Job) { j.Bow, j.Sight = kept.Clone().Bow, kept.Clone().Sight }) {
		if !m.alerting() {
			m.Say("%s is just what is on the bench.", name)
		}
		return nil
	}
	m.Say("%s is on the bench now; %s brings the bow before it back.", name, m.keys.Bench.Press(keys.Undo))
	return r
}
