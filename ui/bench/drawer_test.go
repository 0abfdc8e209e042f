package bench

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/keys"
)

// onDrawer opens the drawer of a bench.
func onDrawer(t testing.TB, presses ...string) (*Model, *drawerScreen) {
	t.Helper()
	m := benchOf(t, nil)
	press(m, "6")
	d, open := m.dialog.(*drawerScreen)
	if !open {
		t.Fatalf("6 opens %T", m.dialog)
	}
	press(m, presses...)
	return m, d
}

func TestEachKeyOfTheDrawerDoesWhatItSays(t *testing.T) {
	screen := func(x trial) *drawerScreen { return x.m.dialog.(*drawerScreen) }
	at := func(x trial, want int) { x.Helper(); x.want(screen(x).at == want, "the focus is on %d", screen(x).at) }
	checkScope(t, keys.Default().Drawer, map[keys.Action]func(x trial){
		keys.Down:     func(x trial) { x.press(); at(x, 1) },
		keys.Up:       func(x trial) { press(x.m, "down", "down"); x.press(); at(x, 1) },
		keys.PageDown: func(x trial) { x.press(); at(x, pageStep) },
		keys.PageUp:   func(x trial) { press(x.m, "end"); x.press(); at(x, 60-pageStep) },
		keys.First:    func(x trial) { press(x.m, "end"); x.press(); at(x, 0) },
		keys.Last:     func(x trial) { x.press(); at(x, 60) },
		keys.Kind:     func(x trial) { x.press(); shows(x, x.m, "Parts: shaft   15 of 61") },
		keys.KindBack: func(x trial) { x.press(); shows(x, x.m, "Parts: wrap   1 of 61") },
		keys.Edit:     func(x trial) { opens[*form[part.Part]](x); shows(x, x.m, "Shaft in the drawer") },
		keys.New: func(x trial) {
			press(x.m, "tab", "tab")
			r := x.press()
			_, asks := r.(NewPart)
			shows(x, x.m, "New insert")
			x.want(asks, "it asks for %+v", r)
		},
		keys.Duplicate: func(x trial) {
			r := x.press()
			_, asks := r.(NewPart)
			x.want(asks, "it asks for %+v", r)
			kept, ok := x.m.TakeID("part-77").(KeepParts)
			x.want(ok && kept.Parts[0].Name() == "4 mm .250 copy" && kept.Parts[0].ID == "part-77" && !kept.Parts[0].Measured.Given && !kept.Parts[0].Sample, "%+v", kept)
			press(x.m, "esc")
			shows(x, x.m, "62 of 62", "4 mm .250 copy")
		},
		keys.Retire: func(x trial) {
			kept, ok := x.press().(KeepParts)
			x.want(ok && kept.Parts[0].Retired && x.m.drawer[0].Retired, "%+v", kept)
			shows(x, x.m, "4 mm .250 (retired)", "is retired")
			kept, _ = x.press().(KeepParts)
			x.want(!kept.Parts[0].Retired && !x.m.drawer[0].Retired, "%+v", kept)
		},
		keys.Send: func(x trial) {
			opens[*choice](x)
			shows(x, x.m, "Write to a file", "The drawer for a spreadsheet: CSV with commas")
			press(x.m, "esc")
			at(x, 0) // back on the drawer
		},
		keys.Fetch: func(x trial) {
			opens[*prompt](x)
			shows(x, x.m, "Which file to take in", "Parts of all kinds") // the drawer stays in sight
			press(x.m, "esc")
			at(x, 0) // back on the drawer
		},
		keys.Help: func(x trial) {
			opens[*page](x)
			shows(x, x.m, "Keys of the screen Drawer", "retire this part", "Ctrl+R")
			press(x.m, "esc")
			at(x, 0) // back on the drawer
		},
		keys.Close: func(x trial) { x.press(); x.want(x.m.dialog == nil, "%T is open", x.m.dialog) },
	}, func(t testing.TB) *Model {
		m, _ := onDrawer(t)
		return m
	})
}

// Typing filters by kind, name, size and note, and the focus stays on a part that is
// still listed when only the drawer changes.
func TestTheDrawerIsFiltered(t *testing.T) {
	for query, want := range map[string]int{"insert brass": 9, "BRASS 75": 3, "broadhead": 4, "lighted nock": 3, ".204": 13, "replace": 61, "nothing such": 0, "retired": 0} {
		m, d := onDrawer(t)
		write(m, query)
		all := 0
		for _, p := range m.drawer {
			if matches(query, d.words(m, &p)) {
				all++
			}
		}
		if len(d.found) != all || want != all && query != ".204" && query != "broadhead" {
			t.Errorf("%q finds %d, want %d", query, len(d.found), want)
		}
		for i := 1; i < len(d.found); i++ {
			if slices.Index(part.Kinds, d.part(i).Kind) < slices.Index(part.Kinds, d.part(i-1).Kind) {
				t.Errorf("%q: the kinds are mixed", query)
			}
		}
	}
	m, d := onDrawer(t, "down", "down", "ctrl+r")
	if d.at != 2 || d.part(2).ID != m.drawer[2].ID || !d.part(2).Retired {
		t.Errorf("the focus is on %d", d.at)
	}
	write(m, "retired")
	if len(d.found) != 1 {
		t.Errorf("%d are retired", len(d.found))
	}
}

// What is changed in the drawer is kept, and builds that have the part follow; a
// retired part stays where it is used.
func TestAPartOfTheDrawerIsEdited(t *testing.T) {
	m, d := onDrawer(t)
	d.at = slices.IndexFunc(d.found, func(i int) bool { return d.from[i].ID == "sample-insert-brass-5-mm-50-gr" })
	shows(t, m, "on the bench in B", "thread 8-32")
	press(m, "enter", "down")
	kept, ok := typeIn(m, "51").(KeepParts)
	if !ok || kept.Parts[0].StatedWeight().In(unit.Grain) != 51 {
		t.Errorf("%+v", kept)
	}
	press(m, "esc")
	before := m.Job().Encode()
	press(m, "ctrl+r")
	if !bytes.Equal(before, m.Job().Encode()) {
		t.Error("retiring changes a build")
	}
	// A copy is begun only once the part before it is finished.
	press(m, "tab", "tab", "ctrl+a", "esc")
	if r := press(m, "ctrl+d"); r != nil || !strings.Contains(m.message, "Finish the insert you began first") {
		t.Errorf("it asks for %v and says %q", r, m.message)
	}
	// Nothing in focus, nothing to do.
	write(m, "qqqq")
	for _, key := range []string{"enter", "ctrl+d", "ctrl+r"} {
		if r := press(m, key); r != nil || !strings.Contains(m.message, "There is no part in focus") {
			t.Errorf("%s asks for %v and says %q", key, r, m.message)
		}
	}
}

// 10,000 parts: a letter of the filter, to the frame.
func BenchmarkDrawerFilter(b *testing.B) {
	samples := store.SampleParts()
	var drawer []part.Part
	for i := range 10000 {
		p := samples[i%len(samples)]
		p.ID = fmt.Sprint("part-", i)
		drawer = append(drawer, p)
	}
	m := newBench(sampleBench(), drawer)
	m.SetSize(200, 60)
	press(m, "6")
	for b.Loop() {
		press(m, "b")
		m.Lines()
		press(m, "backspace")
		m.Lines()
	}
}
