package bench

import (
	"fmt"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
	"foreshaft/ui/text"
)

// step changes the focused part for the next heavier or lighter one that fits,
// or a length by an eighth of an inch.
func (m *Model) step(more bool) {
	r := allRows[m.row]
	if !r.isSlot {
		m.Say("Move to a part (above the line) to change it; figures follow.")
		return
	}
	kind, isPiece := r.slot.Kind()
	if r.slot == present.SlotLength {
		m.recut(session.NextLength(m.build().Length, more, m.units()))
		return
	}
	if !isPiece {
		m.Say("Press %s to change what this row holds.", m.keys.Bench.Press(keys.Edit))
		return
	}
	next, without, ok := session.Neighbour(m.build(), m.drawer, kind, more)
	if !ok {
		word := "lighter"
		if more {
			word = "heavier"
		}
		m.Say("No %s %s in the drawer fits this build.", word, kind)
		return
	}
	if without {
		m.change(string(kind), func(b *arrow.Build) { session.Without(b, kind) })
		return
	}
	m.change(string(kind), func(b *arrow.Build) { session.Put(b, next) })
}

// change changes the build in focus. what names the row for undo. It reports
// whether anything changed.
func (m *Model) change(what string, change func(b *arrow.Build)) bool {
	col := m.col
	name := m.build().Name
	return m.do(fmt.Sprintf("%s of %s", what, name), func(j *job.Job) { change(&j.Builds[col]) })
}

// recut changes the length of the build in focus.
func (m *Model) recut(length unit.Length) {
	trial := m.build().Clone()
	scaled := trial.Recut(length)
	if m.change("length", func(b *arrow.Build) { *b = trial }) && scaled {
		m.sayAlso("%s", reweigh)
	}
}

// reweigh is said of a tube that was weighed and is cut to another length.
const reweigh = "The tube was weighed at its old length: its weight was scaled to the new one. Weigh it again when it is cut."

// edit opens the part picker or a number field for the row in focus.
func (m *Model) edit() {
	r := allRows[m.row]
	switch {
	case !r.isSlot:
		m.open(m.explain())
	case r.slot == present.SlotLength:
		m.open(m.lengthField())
	case r.slot == present.SlotExtras:
		m.editExtras()
	default:
		kind, _ := r.slot.Kind()
		m.open(newPicker(m, kind))
	}
}

// shortest is the least length that the bench takes: a slip of the fingers would
// otherwise stand there as an arrow.
const shortest = 10 * unit.Inch

func (m *Model) lengthField() dialog {
	trial := m.build().Clone()
	field := record.Only(&trial, "length_in").In(m.units())
	return newPrompt(m, prompt{
		title: fmt.Sprintf("Length of %s, throat of the nock to the cut end: %s", m.build().Name, m.lengthExamples()),
		text:  field.Text(), inline: true,
		accept: func(m *Model, text string) (Request, error) {
			if text == field.Text() {
				return nil, nil
			}
			if err := field.SetText(text); err != nil {
				return nil, err
			}
			if trial.Length < shortest {
				return nil, fmt.Errorf("%s is no arrow: type %s or more", m.units().Span(trial.Length, 4), m.units().Span(shortest, 4))
			}
			m.recut(trial.Length)
			return nil, nil
		},
	})
}

// extrasField edits the one extra of a build as "weight at position".
func (m *Model) editExtras() {
	b := m.build()
	if len(b.Extras) > 1 {
		m.editPiece()
		return
	}
	text := ""
	if len(b.Extras) == 1 {
		e := b.Extras[0]
		text = present.Value(m.extraField(&e, "weight_gr")) + " at " + present.Value(m.extraField(&e, "balance_in"))
	}
	m.open(newPrompt(m, prompt{
		title: fmt.Sprintf("Extra weight and its place from the throat (such as %s at %s); leave it empty to take it off", m.units().Weight(2*unit.Grain, 2), m.units().Span(29*unit.Inch, 3)),
		text:  text, inline: true,
		accept: func(m *Model, typed string) (Request, error) {
			if typed == text {
				return nil, nil
			}
			var list []part.Extra
			if typed != "" {
				weight, place, found := strings.Cut(typed, "at")
				if !found {
					return nil, fmt.Errorf("write the weight, the word at, and the place: 2 gr at 29 in")
				}
				e := part.Extra{Name: "extra"}
				if len(b.Extras) == 1 {
					e = b.Extras[0]
				}
				if err := m.extraField(&e, "weight_gr").SetText(weight); err != nil {
					return nil, err
				}
				if err := m.extraField(&e, "balance_in").SetText(place); err != nil {
					return nil, err
				}
				if len(b.Extras) == 1 && e.Weight != b.Extras[0].Weight {
					e.WeightU = unit.Optional[unit.Mass]{} // a new weight was not weighed
				}
				list = []part.Extra{e}
			}
			m.change("extras", func(b *arrow.Build) { b.Extras = list })
			return nil, nil
		},
	}))
}

// lengthExamples shows how a length may be typed.
func (m *Model) lengthExamples() string {
	switch m.units().Metric {
	case unit.InCentimetres:
		return "75, 29.5 in or 29 1/2 in"
	case unit.InMillimetres:
		return "750, 29.5 in or 29 1/2 in"
	}
	return "29 1/2, 29.5 in or 75 cm"
}

func (m *Model) extraField(e *part.Extra, key string) record.Field {
	return record.Only(e, key).In(m.units())
}

func (m *Model) renamePrompt() dialog {
	old := m.build().Name
	return newPrompt(m, prompt{
		title: "New name of this build", text: old,
		accept: func(m *Model, text string) (Request, error) {
			text = label.Clean(text)
			if text == "" {
				return nil, fmt.Errorf("a build needs a name")
			}
			if text != old && session.FreeName(m.Job(), text) != text {
				return nil, fmt.Errorf("another build on the bench is called %q", text)
			}
			col := m.col
			if m.do(fmt.Sprintf("rename %s", old), func(j *job.Job) { rename(j, col, text) }) {
				m.Say("Renamed %s to %s.", short(old), short(text))
			}
			return nil, nil
		},
	})
}

// short leaves a name room for what a message says of it.
func short(name string) string { return text.Cut(name, 30) }

// rename renames a build; a bow that names it as proven follows.
func rename(j *job.Job, col int, name string) {
	if j.Bow.Value.Proven == j.Builds[col].Name {
		j.Bow.Value.Proven, j.Builds[col].Proven = name, true // the name alone would be another's
	}
	j.Builds[col].Name = name
}

func (m *Model) savePrompt(what Saved, text string) dialog {
	title := [...]string{
		SavedBench: "Save this bench under the name", SavedBuild: "Save this build alone under the name",
	}[what]
	build := m.col
	return newPrompt(m, prompt{
		title: title, text: text,
		accept: func(m *Model, typed string) (Request, error) {
			typed = label.Clean(typed)
			if typed == "" {
				return nil, fmt.Errorf("type a name to find it by")
			}
			return m.keep(Save{Name: typed, What: what, Build: build, Job: m.Job()}), nil
		},
	})
}

// room reports whether one more build fits on the bench, and says so if not.
func (m *Model) room() bool {
	if len(m.Job().Builds) < job.MostBuilds {
		return true
	}
	m.Say("A bench holds %d builds: save and remove one first.", job.MostBuilds)
	return false
}

func (m *Model) add() {
	if !m.room() {
		return
	}
	b, ok := session.Fresh(m.Job(), m.drawer)
	if !ok {
		m.Say("The drawer has no shaft, nock and head that go together: press %s to bring the sample parts back.", m.keys.Bench.Press(keys.Samples))
		return
	}
	if !m.insert(len(m.Job().Builds), b, "add "+b.Name) {
		return
	}
	m.row = m.rowOf(present.Slot(part.KindShaft))
	m.Say("Added %s: choose its parts with %s.", b.Name, m.keys.Bench.Press(keys.Edit))
}

func (m *Model) duplicate() {
	if !m.room() {
		return
	}
	b := m.build().Clone()
	session.Anew(&b)
	old := b.Name
	b.Name = session.FreeName(m.Job(), b.Name)
	if !m.insert(m.col+1, b, "duplicate "+old) {
		return
	}
	m.Say("%s is a copy of %s: change one part and see what it does.", short(b.Name), short(old))
}

// insert puts a build on the bench and focuses it. It reports whether it did.
func (m *Model) insert(at int, b arrow.Build, what string) bool {
	if !m.do(what, func(j *job.Job) { session.Insert(j, at, b) }) {
		return false
	}
	m.focus(at)
	return true
}

func (m *Model) remove() {
	name, col := m.build().Name, m.col
	m.do("remove "+name, func(j *job.Job) { session.Remove(j, col) })
	m.Say("Removed %s; %s brings it back.", short(name), m.keys.Bench.Press(keys.Undo))
}

func (m *Model) move(by int) {
	to := m.col + by
	if to < 0 || to >= len(m.Job().Builds) {
		return
	}
	from := m.col
	m.do("move "+m.build().Name, func(j *job.Job) { session.Swap(j, from, to) })
	m.focus(to)
}

func (m *Model) baseline() {
	col, name := m.col, m.build().Name
	if m.do("baseline "+name, func(j *job.Job) { j.Baseline = col }) {
		m.Say("%s is the baseline now: the others show their difference to it.", short(name))
		if len(m.Job().Sight.Value.Marks) > 1 {
			m.Say("%s is the baseline now, and your marks count as shot with it.", short(name))
		}
	}
}

// Place puts something opened on the bench: a saved bench replaces the one
// there, a saved build comes beside those there. Undo brings back what was. What
// nobody waits for any more is left alone.
func (m *Model) Place(entry Entry, opened *job.Job, err error) Request {
	l, open := m.dialog.(*savedScreen)
	if !open || !l.chosen || l.opening != entry {
		return nil
	}
	m.close(l)
	m.message = ""
	if err != nil {
		m.Alert("It could not be opened. %v The bench is as it was.", err)
		return nil
	}
	return m.put(entry, opened, opened)
}

// put puts a revision of something saved on the bench, with what its newest revision is.
func (m *Model) put(entry Entry, opened, newest *job.Job) Request {
	m.message = ""
	name := entry.Name
	m.seen[savedName{entry.What, name}] = entry.Revisions
	// What is on the bench may be in another currency than what was saved.
	kept := func() *job.Job {
		if opened == newest {
			return m.Job()
		}
		return priced(newest, m.choices.Currency)
	}
	if entry.What == SavedBow {
		return m.placeBow(name, opened)
	}
	if entry.What == SavedBench {
		if !m.replace("open "+name, opened, name) {
			if !m.alerting() {
				m.Saved(name, kept())
				m.Say("%s is just what is on the bench.", name)
			}
			return nil
		}
		m.Saved(name, kept())
		m.focus(min(m.Job().Baseline, max(len(m.Job().Builds)-1, 0)))
		m.Say("Opened %s; %s brings back what was on the bench.", short(name), m.keys.Bench.Press(keys.Undo))
		return nil
	}
	if !m.room() || len(opened.Builds) == 0 {
		return nil
	}
	b := opened.Builds[0].Clone()
	b.Name = session.FreeName(m.Job(), b.Name)
	at, before := len(m.Job().Builds), m.Job().Bow
	if !m.do("open "+name, func(j *job.Job) {
		session.Insert(j, at, b)
		if !j.Bow.Given {
			j.Bow = opened.Clone().Bow
		}
	}) {
		return nil
	}
	m.focus(at)
	as := ""
	if b.Name != opened.Builds[0].Name {
		as = " as " + short(b.Name)
	}
	if before.Given {
		m.Say("Opened %s%s beside the others, on the bow that is on the bench.", short(name), as)
	} else {
		m.Say("Opened %s%s with the bow it was saved with.", short(name), as)
	}
	return nil
}
