package bench

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"foreshaft/engine/air"
	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/theme"
)

var update = flag.Bool("update", false, "rewrite the golden frames")

// named are the keys that are not letters.
var named = map[string]tea.KeyType{
	"up": tea.KeyUp, "down": tea.KeyDown, "left": tea.KeyLeft, "right": tea.KeyRight, "home": tea.KeyHome, "end": tea.KeyEnd,
	"pgup": tea.KeyPgUp, "pgdown": tea.KeyPgDown, "enter": tea.KeyEnter, "esc": tea.KeyEsc, "tab": tea.KeyTab, "shift+tab": tea.KeyShiftTab,
	"backspace": tea.KeyBackspace, "ctrl+l": tea.KeyCtrlL, "ctrl+c": tea.KeyCtrlC, "ctrl+p": tea.KeyCtrlP, "ctrl+n": tea.KeyCtrlN, "ctrl+a": tea.KeyCtrlA, "ctrl+e": tea.KeyCtrlE,
	"ctrl+d": tea.KeyCtrlD, "ctrl+k": tea.KeyCtrlK, "ctrl+r": tea.KeyCtrlR, "ctrl+t": tea.KeyCtrlT, "ctrl+w": tea.KeyCtrlW, "ctrl+x": tea.KeyCtrlX, "ctrl+s": tea.KeyCtrlS, "ctrl+o": tea.KeyCtrlO, "ctrl+z": tea.KeyCtrlZ, "ctrl+y": tea.KeyCtrlY,
	"f1": tea.KeyF1, "insert": tea.KeyInsert, "delete": tea.KeyDelete,
}

// keyOf returns the message of a key by its name in a binding.
func keyOf(name string) tea.KeyMsg {
	if kind, ok := named[name]; ok {
		return tea.KeyMsg{Type: kind}
	}
	if name == " " {
		return tea.KeyMsg{Type: tea.KeySpace, Runes: []rune{' '}}
	}
	return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(name)}
}

// press gives keys to a bench and returns what it asks for after the last.
func press(m *Model, names ...string) (r Request) {
	for _, name := range names {
		r = m.HandleKey(keyOf(name))
	}
	return r
}

// write types a text, a letter a key.
func write(m *Model, s string) {
	for _, r := range s {
		press(m, string(r))
	}
}

// mono is a theme without colour.
func mono() *theme.Theme { return theme.New(theme.Mono, termenv.Ascii) }

// benchOf returns a bench of 120×36 cells without colour, with the sample
// drawer and a job that went through a file.
func benchOf(t testing.TB, change func(j *job.Job)) *Model {
	t.Helper()
	j := sampleBench().Clone()
	if change != nil {
		change(j)
	}
	decoded, err := job.DecodeBench(j.Encode())
	if err != nil {
		t.Fatal(err)
	}
	m := newBench(decoded, slices.Clone(sampleParts()))
	m.SetSize(120, 36)
	return m
}

// The samples are the same each time, and asked for ten thousand times: a drawer
// is copied, a job is not changed in place.
var (
	sampleParts = sync.OnceValue(store.SampleParts)
	sampleBench = sync.OnceValue(store.SampleBench)
)

// newBench returns a bench without colour on a job and a drawer.
func newBench(j *job.Job, drawer []part.Part) *Model {
	return New(Options{Keys: keys.Default(), Paint: plainPaint, Ground: theme.Mono, Job: j, Drawer: drawer, Samples: sampleBench()})
}

// plainPaint gives every theme without colour.
func plainPaint(n theme.Name) *theme.Theme { return theme.New(n, termenv.Ascii) }

// builds makes the job one of n builds, all of their own names.
func builds(n int) func(j *job.Job) {
	return func(j *job.Job) {
		sample := j.Builds
		j.Builds = nil
		for i := range n {
			b := sample[i%len(sample)].Clone()
			b.Name = fmt.Sprintf("Build %d", i+1)
			j.Builds = append(j.Builds, b)
		}
	}
}

// tooLight sets the bow's minimum above what the first sample build weighs.
func tooLight(j *job.Job) { j.Bow.Value.MinimumArrow = unit.Some(400 * unit.Grain) }

// lastTooLight makes ten builds of which the last alone is too light.
func lastTooLight(j *job.Job) {
	builds(10)(j)
	tooLight(j)
	for i := range j.Builds {
		j.Builds[i].Head.Weight = 250 * unit.Grain
	}
	j.Builds[9].Head.Weight = 85 * unit.Grain
}

// onSlot and onFigure put the focus on a row.
func onSlot(m *Model, s present.Slot) *Model {
	m.row = m.rowOf(s)
	return m
}

func onFigure(t testing.TB, m *Model, k figure.Key) *Model {
	t.Helper()
	for i, r := range allRows {
		if !r.isSlot && !r.caution && r.figure == k {
			m.row = i
			return m
		}
	}
	t.Fatalf("no row shows %s", k)
	return m
}

// openForm opens the bow form unless it is open, where the same key closes it.
func openForm(m *Model) *bowForm {
	if _, open := m.dialog.(*bowForm); !open {
		press(m, "b")
	}
	return m.dialog.(*bowForm)
}

// onReading opens the bow form with a cell of a reading in focus.
func onReading(m *Model, reading, cell int) *Model {
	f := openForm(m)
	f.at, f.cell = len(f.lines)+reading, cell
	return m
}

// onBowField opens the bow form on a field.
func onBowField(t testing.TB, m *Model, key string, rating bool) *Model {
	t.Helper()
	form := openForm(m)
	for i, f := range form.lines {
		if f.key == key && (f.in != nil) == rating {
			form.at = i
			return m
		}
	}
	t.Fatalf("the form has no %s", key)
	return m
}

// typedText returns what stands in the field that takes typing.
func typedText(t testing.TB, m *Model) string {
	t.Helper()
	switch d := m.dialog.(type) {
	case *prompt:
		return d.input.Value()
	case *picker:
		return d.input.Value()
	case *savedScreen:
		return d.input.Value()
	case *palette:
		return d.input.Value()
	case *drawerScreen:
		return d.input.Value()
	case *dozenScreen:
		return d.input.Value()
	case *form[arrow.Assembly]:
		return d.input.Value()
	case *forWhom:
		return d.input.Value()
	case *eraseScreen:
		return d.input.Value()
	case *form[entryWords]:
		return d.input.Value()
	case *form[store.Customer]:
		return d.input.Value()
	case *bowForm:
		return d.input.Value()
	case *form[unitChoice]:
		return d.input.Value()
	case *form[air.Conditions]:
		return d.input.Value()
	case *form[job.Sight]:
		return d.input.Value()
	case *form[job.Limits]:
		return d.input.Value()
	case *form[part.Part]:
		return d.input.Value()
	case *form[extras]:
		return d.input.Value()
	case *form[dragEntry]:
		return d.input.Value()
	}
	t.Fatalf("no field takes typing: %T", m.dialog)
	return ""
}

// screen returns what is drawn, without the blanks at the ends of lines.
func screen(m *Model) string {
	lines := m.Lines()
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n") + "\n"
}

// shows fails unless the screen shows all the words.
func shows(t testing.TB, m *Model, words ...string) {
	t.Helper()
	out := screen(m)
	for _, w := range words {
		if !strings.Contains(out, w) {
			t.Errorf("the screen does not show %q:\n%s", w, out)
		}
	}
}

// kept fails when the bench is not as the bytes say.
func kept(t testing.TB, m *Model, before []byte, when string) {
	t.Helper()
	now := m.Job().Encode()
	if bytes.Equal(now, before) {
		return
	}
	at := 0
	for at < min(len(now), len(before)) && now[at] == before[at] {
		at++
	}
	around := func(b []byte) []byte { return b[min(max(at-40, 0), len(b)):min(at+80, len(b))] }
	t.Errorf("%s the bench changed from %d to %d bytes, first from\n…%s…\nto\n…%s…", when, len(before), len(now), around(before), around(now))
}

// entries are things saved for the list.
func entries(names ...string) []Entry {
	var out []Entry
	for i, name := range names {
		out = append(out, Entry{ID: uint64(i + 1), Name: name, What: Saved(i % 2), Saved: time.Date(2026, 3, 1+i%28, 9, 26, 0, 0, time.UTC), Revisions: i + 1})
	}
	return out
}

// showSaved opens the list of what is saved, with its answer.
func showSaved(m *Model, list []Entry) {
	press(m, "o")
	m.ShowSaved(list, nil, nil)
}

// openSaved finds something saved in the list and opens it.
func openSaved(t testing.TB, m *Model, e Entry, j *job.Job) {
	t.Helper()
	showSaved(m, []Entry{e})
	if r, ok := press(m, "enter").(Load); !ok || r.Entry != e {
		t.Fatalf("choosing %q asks for %+v", e.Name, r)
	}
	m.Place(e, j, nil)
}

// manyReadings gives the bow n readings that agree.
func manyReadings(n int) func(j *job.Job) {
	return func(j *job.Job) {
		first := j.Bow.Value.Readings[0]
		j.Bow.Value.Readings = nil
		for range n {
			j.Bow.Value.Readings = append(j.Bow.Value.Readings, first)
		}
	}
}

// disagreeing adds a reading that no bow gives together with the others.
func disagreeing(j *job.Job) {
	j.Bow.Value.Readings = append(j.Bow.Value.Readings, bow.Reading{
		Arrow: 480 * unit.Grain, Speed: 330 * unit.FootPerSecond, SD: unit.Some(1 * unit.FootPerSecond), Conditions: j.Bow.Value.Now(),
	})
}

// golden compares with a frame under testdata/frames; -update rewrites it.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("..", "..", "testdata", "frames", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v\nwrite it with: go test ./ui/bench -update", err)
	}
	if got != string(want) {
		t.Errorf("not as in %s; look at it, then: go test ./ui/bench -update\n%s", path, got)
	}
}

// kindSlot is the row of a kind of piece.
func kindSlot(k part.Kind) present.Slot { return present.Slot(k) }
