package bench

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/record"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
)

// bowField is one line of the bow form.
type bowField struct {
	key, title string
	rating     bool // it belongs to the rating
}

var bowFields = []bowField{
	{key: "name", title: "name"},
	{key: "kind", title: "kind"},
	{key: "release", title: "release"},
	{key: "peak_weight_lb", title: "peak weight now"},
	{key: "draw_length_in", title: "draw length now"},
	{key: "brace_height_in", title: "brace height"},
	{key: "rest_behind_pivot_in", title: "rest behind pivot"},
	{key: "minimum_arrow_gr", title: "maker's min arrow"},
	{key: "maximum_peak_weight_lb", title: "maker's max weight"},
	{key: "speed_fps", title: "rated speed", rating: true},
	{key: "arrow_gr", title: "  with an arrow of", rating: true},
	{key: "peak_weight_lb", title: "  at peak weight", rating: true},
	{key: "draw_length_in", title: "  at draw length", rating: true},
	{key: "brace_height_in", title: "  at brace height", rating: true},
}

// settings are the fields that turning the bow's bolts changes: readings keep
// the settings they were shot at.
var settings = []string{"peak_weight_lb", "draw_length_in", "brace_height_in"}

// readingKeys are the cells of a reading.
var readingKeys = []string{"arrow_gr", "speed_fps", "sd_fps", "peak_weight_lb", "draw_length_in"}

// readingTitles ask for the cells of a reading.
var readingTitles = []string{"Weight of the arrow shot", "Speed on the chronograph (ft/s)", "How sure, ± ft/s: for the average of n shots their spread ÷ √n. Empty is 1.5",
	"Peak weight it was shot at", "Draw length it was shot at"}

// bowForm changes the bow and its readings and shows what they come to. Every
// accepted field is one change, so undo takes it back.
type bowForm struct {
	at    int // field, then readings behind them
	cell  int // within a reading
	input *input
	draft *bow.Reading // a reading being added, not yet part of the job
	given int          // how many cells of the draft are done
	// offset is the first reading in sight.
	offset int
}

func newBowForm(m *Model) *bowForm {
	m.Say("The bow as it is set now, and speeds you have chronographed on it.")
	return &bowForm{at: 3}
}

// bowOf returns a copy of the bow on the bench, a new one when there is none.
func (m *Model) bowOf() bow.Bow { return m.Job().Bow.Value.Clone() }

// setBow changes the bow on the bench and says what that did to speed.
func (m *Model) setBow(what string, b bow.Bow) {
	before := m.session.Sheet()
	if !m.do("bow: "+what, func(j *job.Job) { j.Bow = unit.Some(b) }) {
		return
	}
	m.Say("%s", m.bowEffect(what, before))
}

// bowEffect says what a change of the bow did to the speed of the build in focus.
func (m *Model) bowEffect(what string, before *sheet.Sheet) string {
	if m.build() == nil {
		return "Changed: " + what + "."
	}
	after, ok := m.session.Sheet().Builds[m.col].Figure(figure.LaunchSpeed)
	if !ok {
		return fmt.Sprintf("Changed: %s. No speed: it %s.", what, m.session.Sheet().Builds[m.col].Absent(figure.LaunchSpeed))
	}
	was := "unknown"
	if m.col < len(before.Builds) {
		if f, ok := before.Builds[m.col].Figure(figure.LaunchSpeed); ok {
			was = fmt.Sprintf("%.1f", unit.Speed(f.Value).In(unit.FootPerSecond))
		}
	}
	is := fmt.Sprintf("%.1f", unit.Speed(after.Value).In(unit.FootPerSecond))
	if was == is {
		return fmt.Sprintf("Changed: %s. The speeds stay as they were.", what)
	}
	return fmt.Sprintf("Changed: %s. Speed of %s: %s → %s ft/s.", what, m.build().Name, was, is)
}

// target returns the field that the focus is on, of a bow.
func (f *bowForm) target(b *bow.Bow) record.Field {
	if f.at >= len(bowFields) {
		return record.Only(&b.Readings[f.at-len(bowFields)], readingKeys[f.cell])
	}
	line := f.line()
	if line.rating {
		return record.Only(&b.Rating.Value, line.key)
	}
	return record.Only(b, line.key)
}

// line returns the field in focus, an empty one on a reading.
func (f *bowForm) line() bowField {
	if f.at < len(bowFields) {
		return bowFields[f.at]
	}
	return bowField{}
}

func (f *bowForm) key(m *Model, k tea.KeyMsg) (bool, Request) {
	if f.input != nil {
		return false, f.entryKey(m, k)
	}
	m.message = ""
	b := m.bowOf()
	rows := len(bowFields) + len(b.Readings)
	form := &m.keys.Form
	switch {
	case key.Matches(k, form.Close):
		return true, nil
	case key.Matches(k, form.Help):
		page := m.help()
		page.back = f
		m.dialog = page
	case key.Matches(k, form.Up):
		f.at = max(f.at-1, 0)
	case key.Matches(k, form.Down):
		f.at = min(f.at+1, rows-1)
	case key.Matches(k, form.Right):
		switch {
		case f.at >= len(bowFields):
			f.cell = min(f.cell+1, len(readingKeys)-1)
		case len(b.Readings) > 0:
			f.at, f.cell = len(bowFields), 0
		}
	case key.Matches(k, form.Left):
		switch {
		case f.at >= len(bowFields) && f.cell > 0:
			f.cell--
		case f.at >= len(bowFields):
			f.at = 0
		}
	case key.Matches(k, form.AddReading):
		f.startDraft(m)
	case key.Matches(k, form.RemoveReading):
		f.removeReading(m, b)
	case key.Matches(k, form.Undo):
		m.travel("Undone", "Nothing to undo.", m.session.Undo)
	case key.Matches(k, form.Redo):
		m.travel("Done again", "Nothing to do again.", m.session.Redo)
	case key.Matches(k, form.Change):
		if words := f.target(&b).Words; words != nil {
			f.cycle(m, b, k.String() != "-")
		} else {
			m.Say("Press %s to type a value.", m.keys.Form.Edit.Help().Key)
		}
	case key.Matches(k, form.Edit):
		f.startEdit(m, b)
	}
	f.at = min(f.at, len(bowFields)+len(m.Job().Bow.Value.Readings)-1)
	return false, nil
}

// startEdit opens the field in focus for typing, or takes the next choice.
func (f *bowForm) startEdit(m *Model, b bow.Bow) {
	line := f.line()
	unrated := line.rating && !b.Rating.Given
	if unrated && line.key != "speed_fps" {
		m.Say("Enter the rated speed first.")
		return
	}
	target := f.target(&b)
	if target.Words != nil {
		f.cycle(m, b, true)
		return
	}
	value := target.Text()
	if unrated {
		value = ""
	}
	in := newInput(value)
	f.input = &in
	unitName := ""
	if target.Unit.Symbol != "" {
		unitName = fmt.Sprintf(" (%s, or with another unit)", target.Unit.Symbol)
	}
	title := "Bow's name"
	switch {
	case f.at >= len(bowFields):
		title = readingTitles[f.cell]
	case line.key != "name":
		title = capital(strings.TrimSpace(line.title))
	}
	if line.key == "draw_length_in" {
		// Who measures to the rest or the pivot types too little, and every
		// check of a short arrow then comes too late.
		title += " (throat of the nock to the pivot of the grip, plus 1 3/4 in)"
	}
	m.Say("%s%s. Typing replaces it, Backspace empties it.", title, unitName)
}

// cycle takes the next or the last of a field's words.
func (f *bowForm) cycle(m *Model, b bow.Bow, forward bool) {
	target := f.target(&b)
	now := target.Text()
	if now == "" {
		now = f.implied(&b)
	}
	n := len(target.Words)
	i := slices.Index(target.Words, now)
	if forward {
		i = (i + 1) % n
	} else {
		i = (i - 1 + n) % n
	}
	if err := target.SetText(target.Words[i]); err == nil {
		m.setBow(f.line().title+" "+target.Words[i], b)
	}
}

// implied returns what an empty choice stands for.
func (f *bowForm) implied(b *bow.Bow) string {
	if f.line().key == "release" {
		return string(b.ReleaseOrDefault())
	}
	return string(b.KindOrDefault())
}

func (f *bowForm) entryKey(m *Model, k tea.KeyMsg) Request {
	switch {
	case key.Matches(k, m.keys.Entry.Cancel):
		if f.draft != nil {
			m.Say("No reading was added.")
		} else {
			m.Say("Left as it was.")
		}
		f.input, f.draft = nil, nil
	case key.Matches(k, m.keys.Entry.Accept), k.Type == tea.KeyTab:
		f.accept(m, strings.TrimSpace(f.input.Value()))
	default:
		typed(f.input, k)
	}
	return nil
}

// accept takes what was typed into the field in focus.
func (f *bowForm) accept(m *Model, text string) {
	if f.draft != nil {
		f.acceptDraft(m, text)
		return
	}
	b := m.bowOf()
	line := f.line()
	what := strings.TrimSuffix(strings.TrimSpace(line.title), " now")
	if f.at >= len(bowFields) {
		what = fmt.Sprintf("reading %d", f.at-len(bowFields)+1)
	}
	if line.rating && line.key == "speed_fps" {
		f.input = f.acceptRating(m, b, text)
		return
	}
	resets := !line.rating && slices.Contains(settings, line.key)
	if resets {
		b = b.Stamped()
	}
	if err := f.target(&b).SetText(text); err != nil {
		m.Say("%s", sentence(err))
		return
	}
	f.input = nil
	m.setBow(what, b)
	if text == "" && m.message != "" && (line.key == "minimum_arrow_gr" || line.key == "maximum_peak_weight_lb") {
		m.message += " It is not checked any more: the maker gives it."
	}
	if resets && len(b.Readings) > 0 && m.message != "" {
		m.message += " The readings stay as they were shot."
	}
}

// acceptRating takes the rated speed. Clearing it takes the rating off; a new
// one starts with the conditions of the standard test.
func (f *bowForm) acceptRating(m *Model, b bow.Bow, text string) *input {
	if text == "" {
		b.Rating = unit.Optional[bow.Rating]{}
		m.setBow("no rating", b)
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
	if err := record.Only(&b.Rating.Value, "speed_fps").SetText(text); err != nil {
		m.Say("%s", sentence(err))
		return f.input
	}
	m.setBow("rated speed, at the standard test's 30 in and 5 grains a pound unless you change them", b)
	return nil
}

func (f *bowForm) startDraft(m *Model) {
	b := m.bowOf()
	f.draft, f.given, f.cell = &bow.Reading{Conditions: b.Now()}, 0, 0
	f.at = len(bowFields) + len(b.Readings) - 1
	in := newInput("")
	f.input = &in
	m.Say("%s (gr, or with another unit).", readingTitles[0])
}

// acceptDraft takes the next cell of a reading that is being added; the third
// completes it.
func (f *bowForm) acceptDraft(m *Model, text string) {
	target := record.Only(f.draft, readingKeys[f.given])
	if text == "" && target.Need {
		m.Say("%s is needed; Esc adds nothing.", readingTitles[f.given])
		return
	}
	if err := target.SetText(text); err != nil {
		m.Say("%s", sentence(err))
		return
	}
	if f.given == 0 && f.draft.Arrow <= 0 {
		m.Say("The arrow shot must weigh something.")
		return
	}
	f.given++
	if f.given < 3 {
		in := newInput("")
		f.input = &in
		m.Say("%s.", readingTitles[f.given])
		return
	}
	b := m.bowOf()
	b.Readings = append(b.Readings, *f.draft)
	f.input, f.draft = nil, nil
	m.setBow(fmt.Sprintf("reading %d", len(b.Readings)), b)
	f.at, f.cell = len(bowFields)+len(b.Readings)-1, 0
}

func (f *bowForm) removeReading(m *Model, b bow.Bow) {
	i := f.at - len(bowFields)
	if i < 0 || i >= len(b.Readings) {
		m.Say("Move to a reading to remove it.")
		return
	}
	b.Readings = slices.Delete(b.Readings, i, i+1)
	m.setBow(fmt.Sprintf("reading %d removed", i+1), b)
	m.message += fmt.Sprintf(" %s brings it back.", m.keys.Form.Undo.Help().Key)
}

func (f *bowForm) typing() bool { return f.input != nil }

func (f *bowForm) footer(m *Model) []keys.Hint {
	if f.input != nil {
		return m.keys.EntryFooter()
	}
	return m.keys.FormFooter()
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// value shows a field of the form with its unit.
func (f *bowForm) value(b *bow.Bow, i int) string {
	line := bowFields[i]
	if line.rating {
		if !b.Rating.Given {
			return ""
		}
		return withUnit(record.Only(&b.Rating.Value, line.key))
	}
	field := record.Only(b, line.key)
	value := withUnit(field)
	if value != "" {
		return value
	}
	switch line.key {
	case "kind":
		return string(b.KindOrDefault())
	case "release":
		return string(b.ReleaseOrDefault())
	case "brace_height_in":
		return present.Number(b.BraceOrDefault().In(unit.Inch)) + " in (usual)"
	case "rest_behind_pivot_in":
		return "0 in (usual)"
	}
	return ""
}

func withUnit(f record.Field) string {
	value := f.Text()
	if value == "" || f.Unit.Symbol == "" {
		return value
	}
	return value + " " + f.Unit.Symbol
}
