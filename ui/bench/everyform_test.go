package bench

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"foreshaft/engine/air"
	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/present"
)

// fieldNumbers are numbers that fields take, in the unit of the file, by key or
// by the ending of one.
var fieldNumbers = map[string]float64{
	"peak_weight_lb": 61.5, "maximum_peak_weight_lb": 71.5, "draw_length_in": 28.4, "speed_fps": 287.3, "spine_in": 0.31, "outer_diameter_in": 0.271,
	"inner_diameter_in": 0.213, "fits_inner_in": 0.213, "fits_outer_in": 0.271, "temperature_c": 12.3, "pressure_hpa": 987.6, "humidity_pct": 43.1,
	"altitude_m": 512.3, "count": 4, "blades": 2, "weight_gr_per_in": 9.13, "min_weight_per_draw": 6.4, "max_diameter_mm": 9.27,
	"weight_gr": 13.7, "stock_length_in": 32.7, "weight_u_gr_per_in": 0.17,
}

// numberFor is a number that a field takes.
func numberFor(key string) float64 {
	if number, known := fieldNumbers[key]; known {
		return number
	}
	if strings.Contains(key, "_u_") {
		return 0.13
	}
	return 1.37
}

// fill gives every value of a thing a number that no other unit shows in full.
func fill(pointer any) {
	for _, f := range record.Fields(pointer) {
		text := "8-32"
		switch {
		case f.Key == "name":
			text = "Filled in"
		case f.Words != nil:
			text = f.Words[0]
		case f.Unit == unit.Number && f.Numeric():
			text = fmt.Sprint(math.Floor(numberFor(f.Key)))
		case f.Numeric():
			text = fmt.Sprintf("%.7f", numberFor(f.Key)*1.0000123)
		}
		if err := f.SetText(text); err != nil {
			panic(f.Key + ": " + err.Error())
		}
	}
}

// filledOnce makes what filled returns: it is asked for a thousand times.
var filledOnce = sync.OnceValues(func() ([]byte, []part.Part) {
	j := store.SampleBench()
	j.Builds = j.Builds[:1]
	b := &j.Builds[0]
	b.Insert.Given, b.Collar.Given, b.Vanes.Given, b.Wrap.Given = true, true, true, true
	j.Bow.Value.Rating.Given, j.Air.Given, j.Limits.Given, j.Sight.Given = true, true, true, true
	b.Assembly.Given = true
	for _, thing := range []any{&b.Assembly.Value, &b.Shaft, &b.Insert.Value, &b.Collar.Value, &b.Head, &b.Nock, &b.Vanes.Value, &b.Wrap.Value,
		&j.Bow.Value, &j.Bow.Value.Rating.Value, &j.Air.Value, &j.Limits.Value, &j.Sight.Value} {
		fill(thing)
	}
	var drawer []part.Part
	for _, k := range part.Kinds {
		p := partOf(store.SampleParts(), k)
		fill(pieceOf(&p))
		p.Measured.Given = true
		fill(&p.Measured.Value)
		drawer = append(drawer, p)
	}
	return j.Encode(), drawer
})

// filled is a bench on which everything that can be entered is, with one part of
// each kind in the drawer.
func filled(t testing.TB) *Model {
	t.Helper()
	data, drawer := filledOnce()
	j, err := job.DecodeBench(data)
	if err != nil {
		t.Fatal(err)
	}
	m := newBench(j, slices.Clone(drawer))
	m.SetSize(120, 36)
	return m
}

// openPart opens the form of a part of the drawer from the list of its kind.
func openPart(t testing.TB, m *Model, id string) *form[part.Part] {
	t.Helper()
	for _, p := range m.drawer {
		if p.ID != id {
			continue
		}
		press(onSlot(m, kindSlot(p.Kind)), "enter")
		list := m.dialog.(*picker)
		list.at = slices.IndexFunc(list.found, func(o option) bool { return o.part.ID == id })
		press(m, "ctrl+e")
		f, open := m.dialog.(*form[part.Part])
		if !open {
			t.Fatalf("Ctrl+E on %s opens %T", id, m.dialog)
		}
		return f
	}
	t.Fatalf("the drawer has no %s", id)
	return nil
}

// partOf returns the first part of a kind in a drawer.
func partOf(drawer []part.Part, k part.Kind) part.Part {
	return drawer[slices.IndexFunc(drawer, func(p part.Part) bool { return p.Kind == k })]
}

// formCase is a form to try, what it changes, and whether undo brings that back.
type formCase[T any] struct {
	open   func(t testing.TB, m *Model) *form[T]
	state  func(m *Model) []byte
	undoes bool
}

func jobState(m *Model) []byte { return m.Job().Encode() }

// pressed opens a form by keys of the bench.
func pressed[T any](presses ...string) func(t testing.TB, m *Model) *form[T] {
	return func(t testing.TB, m *Model) *form[T] {
		press(m, presses...)
		f, open := m.dialog.(*form[T])
		if !open {
			t.Fatalf("%q opens %T", presses, m.dialog)
		}
		return f
	}
}

// pressedOnSaved opens a form by keys of the Saved screen.
func pressedOnSaved[T any](presses ...string) func(t testing.TB, m *Model) *form[T] {
	return func(t testing.TB, m *Model) *form[T] {
		answered(m, sampleShelf(), press(m, "o"))
		return pressed[T](presses...)(t, m)
	}
}

// formState is what the form that is open is about.
func formState[T any](m *Model) []byte {
	return fmt.Appendf(nil, "%+v", m.dialog.(*form[T]).load(m))
}

func TestEveryFieldOfEveryFormCanBeEdited(t *testing.T) {
	checkForm(t, "air", formCase[air.Conditions]{pressed[air.Conditions]("A"), jobState, true})
	checkForm(t, "sight", formCase[job.Sight]{pressed[job.Sight]("i"), jobState, true})
	checkForm(t, "limits", formCase[job.Limits]{pressed[job.Limits]("L"), jobState, true})
	checkForm(t, "ticket", formCase[arrow.Assembly]{pressed[arrow.Assembly]("p"), jobState, true})
	checkForm(t, "bow", formCase[bow.Bow]{pressed[bow.Bow]("b"), jobState, true})
	// Units are no part of the job: undo is for what was done to builds.
	checkForm(t, "units", formCase[unitChoice]{pressed[unitChoice]("u"), func(m *Model) []byte { return fmt.Append(nil, m.units(), m.choices.Currency) }, false})
	// What is saved is no part of the bench either.
	checkForm(t, "what is saved", formCase[entryWords]{pressedOnSaved[entryWords]("ctrl+e"), formState[entryWords], false})
	checkForm(t, "customer", formCase[store.Customer]{pressedOnSaved[store.Customer](append(slices.Clone(toCustomers), "end", "ctrl+e")...), formState[store.Customer], false})
	for _, k := range part.Kinds {
		checkForm(t, "piece "+string(k), formCase[part.Part]{func(t testing.TB, m *Model) *form[part.Part] {
			return pressed[part.Part]("E")(t, onSlot(m, kindSlot(k)))
		}, jobState, true})
		// Undo brings builds back, not the drawer.
		checkForm(t, "part "+string(k), formCase[part.Part]{func(t testing.TB, m *Model) *form[part.Part] {
			return openPart(t, m, partOf(m.drawer, k).ID)
		}, func(m *Model) []byte { return record.Encode(partOf(m.drawer, k)) }, false})
	}
}

func checkForm[T any](t *testing.T, name string, c formCase[T]) {
	for _, units := range []unit.System{{}, metric} {
		probe := filled(t)
		probe.setUnits(units)
		for at := range c.open(t, probe).lines {
			start := func(t testing.TB) (*Model, *form[T], record.Field) {
				m := filled(t)
				m.setUnits(units)
				m.choices.Currency = "EUR"
				f := c.open(t, m)
				f.at = at
				v := f.load(m)
				return m, f, f.field(m, &v)
			}
			_, f, field := start(t)
			t.Run(fmt.Sprintf("%s %+v %d %s", name, units, at, f.lines[at].key), func(t *testing.T) {
				if field.Words != nil {
					checkChoice(t, c, start)
				} else {
					checkTyped(t, c, start)
				}
			})
		}
	}
}

// now returns the field in focus as it is now.
func now[T any](m *Model, f *form[T]) record.Field {
	v := f.load(m)
	return f.field(m, &v)
}

func checkChoice[T any](t *testing.T, c formCase[T], start func(t testing.TB) (*Model, *form[T], record.Field)) {
	for _, key := range []string{"+", "-", "enter"} {
		m, f, field := start(t)
		words, first := field.Words, field.Text()
		if field.Optional() && f.lines[f.at].usual == nil {
			words = append([]string{""}, words...)
		}
		n := len(words)
		before := c.state(m)
		for turn := range n {
			press(m, key)
			step := 1
			if key == "-" {
				step = n - 1
			}
			want := words[(slices.Index(words, first)+(turn+1)*step)%n]
			if got := now(m, f).Text(); got != want || m.Typing() {
				t.Errorf("%s %d times from %q gives %q, want %q", key, turn+1, first, got, want)
			}
			if turn < n-1 && bytes.Equal(before, c.state(m)) {
				t.Errorf("%s on %q changes nothing that is kept", key, first)
			}
		}
		if !bytes.Equal(before, c.state(m)) {
			t.Errorf("all the way round with %s does not come back", key)
		}
		if !c.undoes {
			continue
		}
		for range n {
			press(m, "z")
		}
		if !bytes.Equal(before, c.state(m)) || m.dialog == nil {
			t.Errorf("undo after %s does not come back", key)
		}
	}
}

func checkTyped[T any](t *testing.T, c formCase[T], start func(t testing.TB) (*Model, *form[T], record.Field)) {
	// same fails unless nothing changed and the field is open or not, as said.
	same := func(m *Model, before, jobBefore []byte, typing bool, when string) {
		t.Helper()
		if !bytes.Equal(before, c.state(m)) || !bytes.Equal(jobBefore, m.Job().Encode()) {
			t.Errorf("%s something changed:\n%s\n%s", when, before, c.state(m))
		}
		if m.Typing() != typing {
			t.Errorf("%s the field is open %v, want %v: %s", when, m.Typing(), typing, m.message)
		}
	}
	m, _, field := start(t)
	before, jobBefore := c.state(m), m.Job().Encode()

	press(m, "enter")
	same(m, before, jobBefore, true, "when it is opened")
	if got := typedText(t, m); got != field.Text() || got == "" {
		t.Errorf("the field opens with %q, want %q", got, field.Text())
	}
	if m.message == "" || field.Unit.Symbol != "" && !strings.Contains(m.message, "("+field.Unit.Symbol) {
		t.Errorf("in %s it asks %q", field.Unit.Symbol, m.message)
	}
	if r := press(m, "enter"); r != nil {
		t.Errorf("leaving a value as it was asks for %+v", r)
	}
	same(m, before, jobBefore, false, "after leaving the value as it was")
	press(m, "z")
	same(m, before, jobBefore, false, "after undoing nothing")

	press(m, "enter")
	write(m, "7.5")
	if r := press(m, "esc"); r != nil || m.dialog == nil {
		t.Errorf("Esc asks for %+v, and the dialog is %T", r, m.dialog)
	}
	same(m, before, jobBefore, false, "after Esc")

	text := "Another text"
	if field.Numeric() {
		for _, wrong := range []string{"zz", "9999999", "-9999999", "5 furlongs"} {
			press(m, "enter")
			write(m, wrong)
			if r := press(m, "enter"); r != nil || m.message == "" || strings.Contains(m.message, "Changed") {
				t.Errorf("%q asks for %+v and says %q", wrong, r, m.message)
			}
			same(m, before, jobBefore, true, "after "+wrong)
			press(m, "esc")
			same(m, before, jobBefore, false, "after "+wrong+" and Esc")
		}
		text = typedNumber(field)
	}
	checkAccepted(t, c, start, text)
}

// typedNumber is another number for a field, in the unit that it shows.
func typedNumber(field record.Field) string {
	// The key's own unit is that of the trade.
	file := field.In(unit.System{}).Unit
	value := file.From(numberFor(field.Key) * 1.01)
	if file == unit.Number {
		value = math.Floor(value) + 1
	}
	return fmt.Sprintf("%.6g", field.Unit.Of(value))
}

func checkAccepted[T any](t *testing.T, c formCase[T], start func(t testing.TB) (*Model, *form[T], record.Field), text string) {
	m, f, field := start(t)
	before, was := c.state(m), field.Text()
	// What is kept on the shelf is shown once that answers.
	enter := func(m *Model) {
		if r, asks := press(m, "enter").(Ask); asks {
			answered(m, sampleShelf(), r)
		}
	}
	press(m, "enter")
	write(m, text)
	enter(m)
	if m.Typing() {
		t.Fatalf("%q is refused: %s", text, m.message)
	}
	if bytes.Equal(before, c.state(m)) {
		t.Errorf("%q changes nothing that is kept", text)
	}
	is := now(m, f)
	if got, _ := is.Number(); field.Numeric() {
		want, err := unit.Parse(text, field.Unit)
		if err != nil || math.Abs(got-want) > 1e-9*math.Abs(want) {
			t.Errorf("%q %s is kept as %v, want %v", text, field.Unit.Symbol, got, want)
		}
	} else if is.Text() != text {
		t.Errorf("%q is kept as %q", text, is.Text())
	}
	shows(t, m, "["+present.Value(is)+"]")
	if c.undoes {
		press(m, "z")
		if !bytes.Equal(before, c.state(m)) || now(m, f).Text() != was {
			t.Errorf("undo leaves %q, want %q", now(m, f).Text(), was)
		}
		press(m, "Z")
		if now(m, f).Text() != is.Text() {
			t.Errorf("redo gives %q, want %q", now(m, f).Text(), is.Text())
		}
	}

	// Emptied, a value that may be left out is left out, and undo brings it back.
	m, f, field = start(t)
	press(m, "enter", "backspace")
	enter(m)
	needed := field.Need && f.lines[f.at].set == nil // without a rated speed there is no rating
	switch left, given := now(m, f).Number(); {
	case needed && !m.Typing():
		t.Errorf("a value that is needed can be emptied")
	case needed:
	case m.Typing():
		t.Errorf("it cannot be emptied: %s", m.message)
	case field.Numeric() && (given || left != 0) && (field.Optional() || left != 0):
		t.Errorf("emptied it is %v", left)
	case !field.Numeric() && now(m, f).Text() != "":
		t.Errorf("emptied it is %q", now(m, f).Text())
	}
	if c.undoes && !m.Typing() {
		press(m, "z")
		if !bytes.Equal(before, c.state(m)) {
			t.Error("undo does not bring back what was emptied")
		}
	}
}
