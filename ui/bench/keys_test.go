package bench

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/charmbracelet/bubbles/key"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
)

// trial is a bench, and one key of a binding to press on it.
type trial struct {
	testing.TB
	m     *Model
	press func() Request
}

func (x trial) want(ok bool, format string, args ...any) {
	x.Helper()
	if !ok {
		x.Errorf(format, args...)
	}
}

// checkScope runs the check of every binding of a scope, with each of its keys.
// A binding without a check fails, so that none comes in untested.
func checkScope(t *testing.T, scope any, checks map[string]func(x trial), setUp func(t testing.TB) *Model) {
	t.Helper()
	v := reflect.ValueOf(scope)
	for i := range v.NumField() {
		name := v.Type().Field(i).Name
		check := checks[name]
		if check == nil {
			t.Errorf("the binding %s has no test of what it does: add one", name)
			continue
		}
		for _, press1 := range v.Field(i).Interface().(key.Binding).Keys() {
			t.Run(name+" "+press1, func(t *testing.T) {
				m := setUp(t)
				check(trial{t, m, func() Request { return press(m, press1) }})
				checkFrame(t, name, m.Lines(), m.width, m.height)
			})
		}
	}
	if len(checks) > v.NumField() {
		t.Errorf("%d checks for %d bindings", len(checks), v.NumField())
	}
}

func insertOf(m *Model, i int) unit.Mass { return m.Job().Builds[i].Insert.Value.Weight }

func names(m *Model) string {
	out := ""
	for _, b := range m.Job().Builds {
		out += b.Name + "|"
	}
	return out
}

func opens[D dialog](x trial) D {
	x.Helper()
	x.press()
	d, ok := x.m.dialog.(D)
	if !ok {
		x.Fatalf("it opens %T", x.m.dialog)
	}
	return d
}

// The bench starts with the insert of the first of three builds in focus.
func TestEachKeyOfTheBenchDoesWhatItSays(t *testing.T) {
	checkScope(t, keys.Default().Bench, map[string]func(x trial){
		"Up":    func(x trial) { was := x.m.row; x.press(); x.want(x.m.row == was-1, "row %d from %d", x.m.row, was) },
		"Down":  func(x trial) { was := x.m.row; x.press(); x.want(x.m.row == was+1, "row %d from %d", x.m.row, was) },
		"Left":  func(x trial) { x.m.focus(2); x.press(); x.want(x.m.col == 1, "column %d", x.m.col) },
		"Right": func(x trial) { x.press(); x.want(x.m.col == 1, "column %d", x.m.col) },
		"First": func(x trial) { x.press(); x.want(x.m.row == 0, "row %d", x.m.row) },
		"Last":  func(x trial) { x.press(); x.want(allRows[x.m.row].caution, "row %d", x.m.row) },
		"More": func(x trial) {
			was := insertOf(x.m, 0)
			x.press()
			x.want(insertOf(x.m, 0) > was, "the insert is not heavier")
			length := onSlot(x.m, present.SlotLength).Job().Builds[0].Length
			x.press()
			x.want(x.m.Job().Builds[0].Length > length, "the build is not longer")
		},
		"Less": func(x trial) {
			x.m.focus(1)
			was := insertOf(x.m, 1)
			x.press()
			x.want(insertOf(x.m, 1) < was, "the insert is not lighter")
			length := onSlot(x.m, present.SlotLength).Job().Builds[1].Length
			x.press()
			x.want(x.m.Job().Builds[1].Length < length, "the build is not shorter")
		},
		"Edit": func(x trial) {
			x.want(opens[*picker](x).kind == part.KindInsert, "it does not choose an insert")
			x.m.dialog = nil
			onSlot(x.m, present.SlotLength)
			x.want(opens[*prompt](x).inline, "the length is not typed in its cell")
		},
		"Working": func(x trial) { onFigure(x, x.m, figure.FOC); opens[*page](x); shows(x, x.m, "FOC = ") },
		"Add": func(x trial) {
			x.press()
			x.want(len(x.m.Job().Builds) == 4 && x.m.col == 3, "%s in focus %d", names(x.m), x.m.col)
		},
		"Bow": func(x trial) { opens[*bowForm](x) },
		"Undo": func(x trial) {
			was := x.m.Job()
			press(x.m, "+")
			x.press()
			x.want(x.m.Job().Equal(was), "not undone")
		},
		"Redo": func(x trial) {
			press(x.m, "+")
			was := x.m.Job()
			press(x.m, "z")
			x.press()
			x.want(x.m.Job().Equal(was), "not done again")
		},
		"Help":    func(x trial) { opens[*page](x); shows(x, x.m, "Help", "baseline") },
		"Quit":    func(x trial) { _, ok := x.press().(Quit); x.want(ok, "it does not quit") },
		"Redraw":  func(x trial) { _, ok := x.press().(Redraw); x.want(ok, "it does not redraw") },
		"Open":    func(x trial) { _, ok := x.press().(List); x.want(ok, "it does not ask for the list") },
		"Samples": func(x trial) { opens[*choice](x) },
		"Baseline": func(x trial) {
			x.m.focus(2)
			x.press()
			x.want(x.m.Job().Baseline == 2, "the baseline is %d", x.m.Job().Baseline)
		},
		"Rename": func(x trial) {
			opens[*prompt](x)
			write(x.m, "Renamed")
			press(x.m, "enter")
			x.want(x.m.Job().Builds[0].Name == "Renamed", "it is called %s", x.m.Job().Builds[0].Name)
		},
		"Duplicate": func(x trial) {
			first := x.m.Job().Builds[0]
			x.press()
			b := x.m.Job().Builds
			x.want(len(b) == 4 && x.m.col == 1 && b[1].Head == first.Head && b[1].Name != first.Name, "%s in focus %d", names(x.m), x.m.col)
		},
		"Remove": func(x trial) {
			second := x.m.Job().Builds[1].Name
			x.press()
			x.want(len(x.m.Job().Builds) == 2 && x.m.Job().Builds[0].Name == second, "left is %s", names(x.m))
		},
		"MoveLeft":  func(x trial) { x.m.focus(1); moves(x, 1, 0) },
		"MoveRight": func(x trial) { moves(x, 0, 1) },
		"Save": func(x trial) {
			opens[*prompt](x)
			write(x.m, "Autumn")
			r, ok := press(x.m, "enter").(Save)
			x.want(ok && r == Save{Name: "Autumn", Build: -1}, "it asks for %+v", r)
		},
		"SaveBuild": func(x trial) {
			x.m.focus(1)
			opens[*prompt](x)
			r, ok := press(x.m, "enter").(Save)
			x.want(ok && r == Save{Name: x.m.Job().Builds[1].Name, Build: 1}, "it asks for %+v", r)
		},
	}, func(t testing.TB) *Model { return benchOf(t, nil) })
}

// moves checks that the build in focus changes places with another.
func moves(x trial, from, to int) {
	x.Helper()
	a, b := x.m.Job().Builds[from].Name, x.m.Job().Builds[to].Name
	x.press()
	now := x.m.Job().Builds
	x.want(now[to].Name == a && now[from].Name == b && x.m.col == to, "%s in focus %d", names(x.m), x.m.col)
}

func TestEachKeyOfAListDoesWhatItSays(t *testing.T) {
	at := func(x trial) int { return x.m.dialog.(*picker).at }
	checkScope(t, keys.Default().List, map[string]func(x trial){
		"Up": func(x trial) {
			press(x.m, "down", "down")
			was := at(x)
			x.press()
			x.want(at(x) == was-1, "line %d from %d", at(x), was)
		},
		"Down":     func(x trial) { was := at(x); x.press(); x.want(at(x) == was+1, "line %d from %d", at(x), was) },
		"PageUp":   func(x trial) { press(x.m, "pgdown"); x.press(); x.want(at(x) < 9, "line %d", at(x)) },
		"PageDown": func(x trial) { was := at(x); x.press(); x.want(at(x) >= was+5, "line %d from %d", at(x), was) },
		"Close": func(x trial) {
			was := x.m.Job()
			x.press()
			x.want(x.m.dialog == nil && x.m.Job() == was, "still open, or changed")
		},
		"Choose": func(x trial) {
			press(x.m, "down")
			want := x.m.dialog.(*picker).found[at(x)]
			x.press()
			x.want(x.m.dialog == nil && x.m.Job().Builds[0].Insert == want.part.Weighed().Insert, "another insert than %s", want.part.Name())
		},
	}, func(t testing.TB) *Model {
		m := benchOf(t, nil)
		press(m, "enter")
		return m
	})
}

func TestEachKeyOfTheBowFormDoesWhatItSays(t *testing.T) {
	form := func(x trial) *bowForm { return x.m.dialog.(*bowForm) }
	checkScope(t, keys.Default().Form, map[string]func(x trial){
		"Up": func(x trial) {
			was := form(x).at
			x.press()
			x.want(form(x).at == was-1, "field %d from %d", form(x).at, was)
		},
		"Down": func(x trial) {
			was := form(x).at
			x.press()
			x.want(form(x).at == was+1, "field %d from %d", form(x).at, was)
		},
		"Right": func(x trial) {
			x.press()
			x.want(form(x).at == len(bowFields), "field %d, want the first reading", form(x).at)
		},
		"Left": func(x trial) {
			press(x.m, "right")
			x.press()
			x.want(form(x).at < len(bowFields), "field %d, want one of the bow", form(x).at)
		},
		"Edit": func(x trial) { x.press(); x.want(x.m.Typing(), "nothing can be typed") },
		"Change": func(x trial) {
			form(x).at = 1
			x.press()
			x.want(x.m.Job().Bow.Value.KindOrDefault() != "compound", "the kind is the same")
		},
		"AddReading": func(x trial) { x.press(); x.want(x.m.Typing() && form(x).draft != nil, "no reading is asked for") },
		"RemoveReading": func(x trial) {
			second := x.m.Job().Bow.Value.Readings[1]
			press(x.m, "right")
			x.press()
			left := x.m.Job().Bow.Value.Readings
			x.want(len(left) == 1 && left[0] == second, "left is %+v", left)
		},
		"Undo": func(x trial) {
			was := x.m.Job()
			form(x).at = 1
			press(x.m, "+")
			x.press()
			x.want(x.m.Job().Equal(was), "not undone")
		},
		"Redo": func(x trial) {
			form(x).at = 1
			press(x.m, "+")
			was := x.m.Job()
			press(x.m, "z")
			x.press()
			x.want(x.m.Job().Equal(was), "not done again")
		},
		"Help": func(x trial) {
			open := form(x)
			x.press()
			_, reads := x.m.dialog.(*page)
			press(x.m, "esc")
			x.want(reads && x.m.dialog == open, "no help, or no way back to the form")
		},
		"Close": func(x trial) { x.press(); x.want(x.m.dialog == nil, "still open") },
	}, func(t testing.TB) *Model {
		m := benchOf(t, nil)
		press(m, "b")
		return m
	})
}

func TestEachKeyOfAFieldDoesWhatItSays(t *testing.T) {
	checkScope(t, keys.Default().Entry, map[string]func(x trial){
		"Accept": func(x trial) {
			write(x.m, "Other")
			x.press()
			x.want(x.m.Job().Builds[0].Name == "Other", "not accepted")
		},
		"Cancel": func(x trial) {
			was := x.m.Job()
			write(x.m, "Other")
			x.press()
			x.want(x.m.dialog == nil && x.m.Job() == was, "not left as it was")
		},
	}, func(t testing.TB) *Model {
		m := benchOf(t, nil)
		press(m, "r")
		return m
	})
}

func TestEachKeyOfAPageDoesWhatItSays(t *testing.T) {
	offset := func(x trial) int { return x.m.dialog.(*page).offset }
	checkScope(t, keys.Default().Reader, map[string]func(x trial){
		"Up":       func(x trial) { press(x.m, "down", "down"); x.press(); x.want(offset(x) == 1, "line %d", offset(x)) },
		"Down":     func(x trial) { x.press(); x.want(offset(x) == 1, "line %d", offset(x)) },
		"PageUp":   func(x trial) { press(x.m, "pgdown"); x.press(); x.want(offset(x) == 0, "line %d", offset(x)) },
		"PageDown": func(x trial) { x.press(); x.want(offset(x) > 5, "line %d", offset(x)) },
		"Close":    func(x trial) { x.press(); x.want(x.m.dialog == nil, "still open") },
	}, func(t testing.TB) *Model {
		m := benchOf(t, nil)
		m.SetSize(80, 24) // where help is several pages long
		press(m, "?")
		m.Lines()
		return m
	})
}

func TestHelpShowsEveryBinding(t *testing.T) {
	m := benchOf(t, nil)
	m.SetSize(200, 500)
	press(m, "?")
	for _, s := range keys.Default().Scopes() {
		for _, b := range s.Bindings {
			shows(t, m, b.Help().Key+" ", b.Help().Desc)
		}
	}
	for _, sentence := range present.Standing {
		shows(t, m, sentence[:60])
	}
}

func TestFootersFitWhatTheScreenIsFor(t *testing.T) {
	k := keys.Default()
	for _, c := range []struct {
		presses []string
		want    keys.Hint
	}{
		{nil, k.BenchFooter()[0]}, {[]string{"enter"}, k.ListFooter()[0]}, {[]string{"b"}, k.FormFooter()[0]},
		{[]string{"r"}, k.EntryFooter()[0]}, {[]string{"?"}, k.ReaderFooter()[0]},
	} {
		m := benchOf(t, nil)
		press(m, c.presses...)
		lines := m.Lines()
		if last := lines[len(lines)-1]; len(last) == 0 || !strings.Contains(last, c.want.Press+" "+c.want.Does) {
			t.Errorf("after %q the last line is %q, want it to offer %s %s", c.presses, last, c.want.Press, c.want.Does)
		}
	}
	m := benchOf(t, builds(0))
	if last := m.Lines()[35]; !strings.Contains(last, k.EmptyFooter()[1].Press+" "+k.EmptyFooter()[1].Does) {
		t.Errorf("on an empty bench the last line is %q", last)
	}
}

func TestNothingHappensToABuildThatIsNotThere(t *testing.T) {
	for _, press1 := range []string{"up", "down", "left", "right", "home", "end", "+", "-", "enter", "e", "d", "x", "r", "<", ">", "n", "s", "S"} {
		m := benchOf(t, func(j *job.Job) { *j = *job.New() })
		before := m.Job().Encode()
		if r := press(m, press1); r != nil || m.message == "" {
			t.Errorf("%s on an empty bench asks for %v and says %q", press1, r, m.message)
		}
		kept(t, m, before, fmt.Sprintf("after %s", press1))
	}
}
