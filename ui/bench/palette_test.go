package bench

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
)

// openPalette opens the list of actions and types into it.
func openPalette(t testing.TB, m *Model, typed string) *palette {
	t.Helper()
	press(m, ":")
	p, open := m.dialog.(*palette)
	if !open {
		t.Fatalf(": opens %T", m.dialog)
	}
	write(m, typed)
	return p
}

// runByName does an action by typing its name in the settings.
func runByName(t testing.TB, m *Model, a keys.Action) Request {
	t.Helper()
	p := openPalette(t, m, string(a))
	at := slices.Index(p.found, a)
	if at < 0 {
		t.Fatalf("%q finds %v", a, p.found)
	}
	press(m, slices.Repeat([]string{"down"}, at)...)
	return press(m, "enter")
}

// after says everything that a key may have done.
func after(m *Model, r Request) string {
	asked := fmt.Sprintf("%T", r)
	switch r := r.(type) {
	case Copy, Chosen, Load, KeepParts, Write:
		asked = fmt.Sprintf("%+v", r)
	case Save:
		asked = fmt.Sprintf("Save %q %d %d %v %s", r.Name, r.What, r.Build, r.Quiet, r.Job.Encode())
	}
	under := ""
	for _, d := range m.under {
		under += fmt.Sprintf("%T ", d)
	}
	return fmt.Sprintf("asks for %s\nopen %T over %s\nrow %d of column %d, depth %s, tour %d, choices %+v\nsays %q, effect %q\n%s\n%s",
		asked, m.dialog, under, m.row, m.col, m.depth, m.tour.step, m.choices, m.message, m.effect, m.Job().Encode(), screen(m))
}

// busyBench has something to undo, something to do again, and a build on both
// sides of the one in focus.
func busyBench(t testing.TB) *Model {
	m := benchOf(t, func(j *job.Job) { j.Builds[1].Extras = []part.Extra{{Name: "glue"}, {Name: "tape"}} })
	press(m, "right", "+", "+", "z")
	m.message = ""
	return m
}

func TestEachActionByNameDoesWhatItsKeyDoes(t *testing.T) {
	for _, slot := range []present.Slot{"insert", present.SlotLength} {
		for _, b := range keys.Default().Bench.Bindings {
			if b.Action == keys.Command {
				continue
			}
			byKey, byName := onSlot(busyBench(t), slot), onSlot(busyBench(t), slot)
			want := after(byKey, press(byKey, b.Keys()[0]))
			if got := after(byName, runByName(t, byName, b.Action)); got != want {
				t.Errorf("%s by name\n%s\nby its key\n%s", b.Action, got, want)
			}
		}
	}
}

// On the Downrange screen as on the bench, wherever its focus is.
func TestEachActionOfTheDownrangeScreenByNameDoesWhatItsKeyDoes(t *testing.T) {
	for _, lead := range [][]string{{"3", "f", "up", "right"}, {"3", "home", "right"}, {"3", "c", "home", "right", "right", "right", "right", "right"}} {
		for _, b := range keys.Default().Range.Bindings {
			if b.Action == keys.Command {
				continue
			}
			byKey, byName := busyBench(t), busyBench(t)
			press(byKey, lead...)
			press(byName, lead...)
			want := after(byKey, press(byKey, b.Keys()[0]))
			if got := after(byName, runByName(t, byName, b.Action)); got != want {
				t.Errorf("after %q %s by name\n%s\nby its key\n%s", lead, b.Action, got, want)
			}
		}
	}
}

func TestEachActionOfTheSwapMapByNameDoesWhatItsKeyDoes(t *testing.T) {
	for _, lead := range [][]string{{"2", "down", "left"}, {"2", "c", "f", "f", "up"}} {
		for _, b := range keys.Default().Map.Bindings {
			if b.Action == keys.Command {
				continue
			}
			byKey, byName := busyBench(t), busyBench(t)
			press(byKey, lead...)
			press(byName, lead...)
			want := after(byKey, press(byKey, b.Keys()[0]))
			if got := after(byName, runByName(t, byName, b.Action)); got != want {
				t.Errorf("after %q %s by name\n%s\nby its key\n%s", lead, b.Action, got, want)
			}
		}
	}
}

// formsByKeys are the keys of the bench that open each form, with the focus where
// the actions of the form do something.
var formsByKeys = map[string][]string{
	"bow": {"b", "up", "up"}, "a reading": {"b", "right"}, "air": {"A"}, "sight": {"i"}, "limits": {"L", "end"}, "units": {"u", "down"},
	"drag": {"3", "d"}, "piece": {"E", "down"}, "extras": append(slices.Repeat([]string{"down"}, 6), "E"), "part": {"enter", "down", "ctrl+e"}, "new part": {"enter", "ctrl+a"},
}

func TestEachActionOfAFormByNameDoesWhatItsKeyDoes(t *testing.T) {
	for name, presses := range formsByKeys {
		probe := busyBench(t)
		press(probe, presses...)
		all := openPalette(t, probe, "").all
		for _, a := range []keys.Action{keys.Edit, keys.Undo, keys.Redo, keys.Help, keys.Close} {
			if !slices.Contains(all, a) {
				t.Errorf("%s: %s is missing among %v", name, a, all)
			}
		}
		for _, a := range all {
			byKey, byName := busyBench(t), busyBench(t)
			press(byKey, presses...)
			press(byName, presses...)
			scope := byKey.keys.Form
			i := slices.IndexFunc(scope.Bindings, func(b keys.Binding) bool { return b.Action == a })
			want := after(byKey, press(byKey, scope.Bindings[i].Keys()[0]))
			if got := after(byName, runByName(t, byName, a)); got != want {
				t.Errorf("%s: %s by name\n%s\nby its key\n%s", name, a, got, want)
			}
		}
	}
	// What only some forms have is offered there and nowhere else.
	for _, c := range []struct {
		form string
		a    keys.Action
		has  bool
	}{{"bow", keys.Keep, true}, {"bow", keys.New, true}, {"bow", keys.Add, true}, {"sight", keys.Add, true}, {"sight", keys.Keep, false}, {"air", keys.Add, false}, {"extras", keys.Remove, true}} {
		m := busyBench(t)
		press(m, formsByKeys[c.form]...)
		if has := slices.Contains(openPalette(t, m, "").all, c.a); has != c.has {
			t.Errorf("the form of %s offers %s: %v", c.form, c.a, has)
		}
	}
}

// By its name in the settings an action is the first that is found, or not far
// behind; by what it does in words too.
func TestEveryActionIsFoundByItsWords(t *testing.T) {
	for _, open := range [][]string{nil, {"b"}, {"A"}, {"i"}, {"3"}, {"3", "d"}} {
		m := benchOf(t, nil)
		press(m, open...)
		p := openPalette(t, m, "")
		press(m, "esc")
		for _, a := range p.all {
			does := p.scope.Does(a)
			for _, typed := range []string{string(a), does, strings.ToUpper(does), strings.Fields(does)[0]} {
				p := openPalette(t, m, typed)
				at := slices.Index(p.found, a)
				if at < 0 || typed == does && at > 1 || typed == string(a) && at > 3 {
					t.Errorf("%q finds %v, want %s in front", typed, p.found, a)
				}
				press(m, "esc")
			}
		}
	}
}

// What has the words comes alone; only where nothing has them letters left out
// are thought of.
func TestTheListOfActionsLooksForWordsFirst(t *testing.T) {
	for _, c := range []struct {
		typed string
		first keys.Action
		only  bool
	}{
		{"undo", keys.Undo, true}, {"build remove", keys.Remove, true}, {"LEFT build", keys.MoveLeft, true}, {"baseline", keys.Baseline, false},
		{"grains", keys.Units, true}, {"copy comp", keys.CopyTable, true}, {"save", keys.Save, false},
		{"basline", keys.Baseline, false}, {"dupicate", keys.Duplicate, true}, {"basel ne", keys.Baseline, false}, {"redrw", keys.Redraw, true},
	} {
		m := benchOf(t, nil)
		p := openPalette(t, m, c.typed)
		if len(p.found) == 0 || p.found[0] != c.first || c.only && len(p.found) > 1 {
			t.Errorf("%q finds %v, want %s", c.typed, p.found, c.first)
		}
	}
	m := benchOf(t, nil)
	p := openPalette(t, m, "b")
	for i, a := range p.all {
		if strings.Contains(p.names()[i], "b") != slices.Contains(p.found, a) {
			t.Errorf("b finds %v; %s is called %q", p.found, a, p.names()[i])
		}
	}
	if press(m, "backspace"); len(p.found) != len(p.all) || len(p.all) != len(keys.Default().Bench.Bindings)-1 {
		t.Errorf("without letters there are %d of %d actions", len(p.found), len(p.all))
	}
}

func TestNothingIsDoneWhereNoActionIsFound(t *testing.T) {
	m := busyBench(t)
	before := m.Job().Encode()
	p := openPalette(t, m, "@@")
	shows(t, m, "Nothing is called like that.")
	if r := press(m, "enter"); r != nil || m.dialog != p || !strings.Contains(m.message, "Nothing matches") {
		t.Errorf("Enter asks for %+v and says %q", r, m.message)
	}
	press(m, "esc")
	if kept(t, m, before, "after Esc"); m.dialog != nil || m.message != "" {
		t.Errorf("after Esc %T is open and it says %q", m.dialog, m.message)
	}
	press(m, "b", ":", "esc")
	if _, open := m.dialog.(*bowForm); !open {
		t.Errorf("Esc in the list of a form leads to %T", m.dialog)
	}
}

// The key of an action stands beside it, so that the list teaches the keys.
func TestTheListOfActionsNamesTheKeys(t *testing.T) {
	m := benchOf(t, nil)
	m.SetSize(120, 80)
	p := openPalette(t, m, "")
	for _, line := range m.Lines() {
		for _, a := range p.all {
			if does := p.scope.Does(a); strings.HasPrefix(strings.TrimSpace(line), does+"  ") && !strings.HasSuffix(strings.TrimSpace(line), p.scope.Presses(a)) {
				t.Errorf("beside %q stands no %s: %q", does, p.scope.Presses(a), line)
			}
		}
	}
	for _, a := range p.all {
		shows(t, m, p.scope.Does(a), p.scope.Presses(a))
	}
}
