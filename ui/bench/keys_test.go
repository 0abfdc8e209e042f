package bench

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/air"
	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
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

// checkScope runs the check of every action of a scope, with each of its keys.
// An action without a check fails, so that none comes in untested.
func checkScope(t *testing.T, scope *keys.Scope, checks map[keys.Action]func(x trial), setUp func(t testing.TB) *Model) {
	t.Helper()
	for _, b := range scope.Bindings {
		check := checks[b.Action]
		if check == nil {
			t.Errorf("the action %s has no test of what it does: add one", b.Action)
			continue
		}
		for _, press1 := range b.Keys() {
			t.Run(string(b.Action)+" "+press1, func(t *testing.T) {
				m := setUp(t)
				check(trial{t, m, func() Request { return press(m, press1) }})
				checkFrame(t, string(b.Action), m.Lines(), m.width, m.height)
			})
		}
	}
	if len(checks) > len(scope.Bindings) {
		t.Errorf("%d checks for %d actions", len(checks), len(scope.Bindings))
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
	checkScope(t, keys.Default().Bench, map[keys.Action]func(x trial){
		keys.Up:    func(x trial) { was := x.m.row; x.press(); x.want(x.m.row == was-1, "row %d from %d", x.m.row, was) },
		keys.Down:  func(x trial) { was := x.m.row; x.press(); x.want(x.m.row == was+1, "row %d from %d", x.m.row, was) },
		keys.Left:  func(x trial) { x.m.focus(2); x.press(); x.want(x.m.col == 1, "column %d", x.m.col) },
		keys.Right: func(x trial) { x.press(); x.want(x.m.col == 1, "column %d", x.m.col) },
		keys.First: func(x trial) { x.press(); x.want(x.m.row == 0, "row %d", x.m.row) },
		keys.Last:  func(x trial) { x.press(); x.want(allRows[x.m.row].caution, "row %d", x.m.row) },
		keys.More: func(x trial) {
			was := insertOf(x.m, 0)
			x.press()
			x.want(insertOf(x.m, 0) > was, "the insert is not heavier")
			length := onSlot(x.m, present.SlotLength).Job().Builds[0].Length
			x.press()
			x.want(x.m.Job().Builds[0].Length > length, "the build is not longer")
		},
		keys.Less: func(x trial) {
			x.m.focus(1)
			was := insertOf(x.m, 1)
			x.press()
			x.want(insertOf(x.m, 1) < was, "the insert is not lighter")
			length := onSlot(x.m, present.SlotLength).Job().Builds[1].Length
			x.press()
			x.want(x.m.Job().Builds[1].Length < length, "the build is not shorter")
		},
		keys.Edit: func(x trial) {
			x.want(opens[*picker](x).kind == part.KindInsert, "it does not choose an insert")
			x.m.dialog = nil
			onSlot(x.m, present.SlotLength)
			x.want(opens[*prompt](x).inline, "the length is not typed in its cell")
		},
		keys.Explain: func(x trial) { onFigure(x, x.m, figure.FOC); opens[*page](x); shows(x, x.m, "FOC = ") },
		keys.Add: func(x trial) {
			x.press()
			x.want(len(x.m.Job().Builds) == 4 && x.m.col == 3, "%s in focus %d", names(x.m), x.m.col)
		},
		keys.Bow: func(x trial) { opens[*bowForm](x) },
		keys.Undo: func(x trial) {
			was := x.m.Job()
			press(x.m, "+")
			x.press()
			x.want(x.m.Job().Equal(was), "not undone")
		},
		keys.Redo: func(x trial) {
			press(x.m, "+")
			was := x.m.Job()
			press(x.m, "z")
			x.press()
			x.want(x.m.Job().Equal(was), "not done again")
		},
		keys.Help:    func(x trial) { opens[*page](x); shows(x, x.m, "Help", "baseline") },
		keys.Quit:    func(x trial) { _, ok := x.press().(Quit); x.want(ok, "it does not quit") },
		keys.Redraw:  func(x trial) { _, ok := x.press().(Redraw); x.want(ok, "it does not redraw") },
		keys.Open:    func(x trial) { _, ok := x.press().(List); x.want(ok, "it does not ask for the list") },
		keys.Command: func(x trial) { opens[*palette](x); shows(x, x.m, "any action by name") },
		keys.Air:     func(x trial) { opens[*form[air.Conditions]](x); shows(x, x.m, "Density") },
		keys.Sight:   func(x trial) { opens[*form[job.Sight]](x); shows(x, x.m, "peep to pin") },
		keys.Limits:  func(x trial) { opens[*form[job.Limits]](x); shows(x, x.m, "no limit") },
		keys.Units:   func(x trial) { opens[*form[unitChoice]](x); shows(x, x.m, "grains") },
		keys.Piece: func(x trial) {
			opens[*form[part.Part]](x)
			shows(x, x.m, "Insert of A Open ground", "depth in the shaft")
		},
		keys.Settings: func(x trial) { opens[*page](x); shows(x, x.m, "Settings", "colours") },
		keys.Backup: func(x trial) {
			opens[*prompt](x)
			s := &fakeShelf{}
			s.do(x.m, "enter")
			x.want(slices.Equal(s.calls, []string{`back up to ""`}), "it asks for %q", s.calls)
			shows(x, x.m, "copied and checked: /full/")
			s.err = errors.New("the stick is full")
			s.do(x.m, "B", "x", "enter")
			shows(x, x.m, "No copy was made. The stick is full", "Back up the workbook to which new file?", "x▏")
			s.do(x.m, "esc")
		},
		keys.Theme: func(x trial) {
			r, ok := x.press().(Chosen)
			x.want(ok && r.Choices.Theme != "", "it asks for %+v", r)
		},
		keys.Mouse: func(x trial) {
			r, ok := x.press().(Chosen)
			x.want(ok && r.Choices.Mouse, "it asks for %+v", r)
			r, ok = x.press().(Chosen)
			x.want(ok && !r.Choices.Mouse, "the second time it asks for %+v", r)
		},
		keys.Depth: func(x trial) {
			for _, want := range []Depth{Lab, Counter, Common} {
				x.press()
				x.want(x.m.depth == want, "depth %s, want %s", x.m.depth, want)
			}
		},
		keys.Copy: func(x trial) {
			r, ok := x.press().(Copy)
			x.want(ok && r == Copy{Text: present.Piece(unit.System{}, x.m.build(), "insert"), What: "the insert of A Open ground"}, "it asks for %+v", r)
		},
		keys.CopyTable: func(x trial) {
			r, ok := x.press().(Copy)
			x.want(ok && r.Text == present.Plain(x.m.session.Sheet()), "it asks for %+v", r)
		},
		keys.Tour: func(x trial) {
			x.press()
			x.want(x.m.tour.step == 1, "step %d", x.m.tour.step)
			shows(x, x.m, "Tour 1 of")
		},
		keys.Samples: func(x trial) { opens[*choice](x) },
		keys.Downrange: func(x trial) {
			opens[*rangeScreen](x)
			shows(x, x.m, " Downrange ", "─ at 60 yd ─")
		},
		keys.SwapMap: func(x trial) {
			opens[*mapScreen](x)
			shows(x, x.m, " Swap map ", "insert down, head across")
		},
		keys.Nearer: func(x trial) {
			x.press()
			x.want(x.m.chosen() == 50*unit.Yard, "the distance is %s", x.m.units().Distance(x.m.chosen(), 4))
			shows(x, x.m, "─ at 50 yd ─")
		},
		keys.Farther: func(x trial) {
			press(x.m, "pgup", "pgup")
			x.press()
			x.want(x.m.chosen() == 50*unit.Yard, "the distance is %s", x.m.units().Distance(x.m.chosen(), 4))
			shows(x, x.m, "─ at 50 yd ─")
		},
		keys.Baseline: func(x trial) {
			x.m.focus(2)
			x.press()
			x.want(x.m.Job().Baseline == 2, "the baseline is %d", x.m.Job().Baseline)
		},
		keys.Proven: func(x trial) {
			x.m.focus(1)
			x.press()
			x.want(x.m.Job().Builds[1].Proven && x.m.Job().Bow.Value.Proven == x.m.Job().Builds[1].Name, "%+v", x.m.Job().Builds[1].Proof)
			shows(x, x.m, "against proven", "the proven one")
			opens[*form[provenEntry]](x)
			shows(x, x.m, "Proven: Even keel", "total weight", "broadhead shot at")
		},
		keys.Drawer: func(x trial) {
			opens[*drawerScreen](x)
			shows(x, x.m, " Drawer ", "Parts of all kinds", "61 of 61")
		},
		keys.Fit: func(x trial) {
			opens[*fitScreen](x)
			shows(x, x.m, " Fitting ", "what for", "Propose three builds")
		},
		keys.Dozen: func(x trial) {
			opens[*dozenScreen](x)
			shows(x, x.m, " Dozen ", "A Open ground", "[shafts]", "Weight of shaft 1")
		},
		keys.Print: func(x trial) {
			opens[*form[arrow.Assembly]](x)
			shows(x, x.m, "Ticket of Open ground", "how many", "vanes glued with")
		},
		keys.Find: func(x trial) {
			x.m.drawer = smallDrawer()
			finish(x.m, x.press())
			shows(x, x.m, " Find ", "arrows match", "launch margin")
		},
		keys.Fix: func(x trial) {
			finish(x.m, x.press())
			shows(x, x.m, "what would fix this: weak shaft", "shaft 5 mm .300")
		},
		keys.SameMarks: func(x trial) {
			x.m.focus(1)
			finish(x.m, x.press())
			shows(x, x.m, "to hit within 1 in of Open ground at 60 yd")
		},
		keys.Closest: func(x trial) {
			x.m.focus(1)
			finish(x.m, x.press())
			shows(x, x.m, "to come within 5 gr and 0.5 % FOC of Open ground")
		},
		keys.Rename: func(x trial) {
			opens[*prompt](x)
			write(x.m, "Renamed")
			press(x.m, "enter")
			x.want(x.m.Job().Builds[0].Name == "Renamed", "it is called %s", x.m.Job().Builds[0].Name)
		},
		keys.Duplicate: func(x trial) {
			first := x.m.Job().Builds[0]
			x.press()
			b := x.m.Job().Builds
			x.want(len(b) == 4 && x.m.col == 1 && b[1].Head == first.Head && b[1].Name != first.Name, "%s in focus %d", names(x.m), x.m.col)
		},
		keys.Remove: func(x trial) {
			second := x.m.Job().Builds[1].Name
			x.press()
			x.want(len(x.m.Job().Builds) == 2 && x.m.Job().Builds[0].Name == second, "left is %s", names(x.m))
		},
		keys.MoveLeft:  func(x trial) { x.m.focus(1); moves(x, 1, 0) },
		keys.MoveRight: func(x trial) { moves(x, 0, 1) },
		keys.Save: func(x trial) {
			opens[*prompt](x)
			write(x.m, "Autumn")
			r, ok := press(x.m, "enter").(Save)
			x.want(ok && r == Save{Name: "Autumn", What: SavedBench, Job: x.m.Job()}, "it asks for %+v", r)
		},
		keys.SaveBuild: func(x trial) {
			x.m.focus(1)
			opens[*prompt](x)
			r, ok := press(x.m, "enter").(Save)
			x.want(ok && r == Save{Name: x.m.Job().Builds[1].Name, What: SavedBuild, Build: 1, Job: x.m.Job()}, "it asks for %+v", r)
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
	checkScope(t, keys.Default().List, map[keys.Action]func(x trial){
		keys.Up: func(x trial) {
			press(x.m, "down", "down")
			was := at(x)
			x.press()
			x.want(at(x) == was-1, "line %d from %d", at(x), was)
		},
		keys.Down:     func(x trial) { was := at(x); x.press(); x.want(at(x) == was+1, "line %d from %d", at(x), was) },
		keys.PageUp:   func(x trial) { press(x.m, "pgdown"); x.press(); x.want(at(x) < 9, "line %d", at(x)) },
		keys.PageDown: func(x trial) { was := at(x); x.press(); x.want(at(x) >= was+5, "line %d from %d", at(x), was) },
		keys.First:    func(x trial) { press(x.m, "pgdown"); x.press(); x.want(at(x) == 0, "line %d", at(x)) },
		keys.Last:     func(x trial) { x.press(); x.want(at(x) == len(x.m.dialog.(*picker).found)-1, "line %d", at(x)) },
		keys.New: func(x trial) {
			_, asked := x.press().(NewPart)
			_, open := x.m.dialog.(*form[part.Part])
			x.want(asked && open, "it opens %T", x.m.dialog)
			press(x.m, "esc")
			_, open = x.m.dialog.(*picker)
			x.want(open, "Esc leads to %T", x.m.dialog)
		},
		keys.Edit: func(x trial) { opens[*form[part.Part]](x); shows(x, x.m, "in the drawer", "In the drawer") },
		keys.Close: func(x trial) {
			was := x.m.Job()
			x.press()
			x.want(x.m.dialog == nil && x.m.Job() == was, "still open, or changed")
		},
		keys.Choose: func(x trial) {
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
	checkScope(t, keys.Default().Form, map[keys.Action]func(x trial){
		keys.Print: func(x trial) {
			before := x.m.Job().Encode()
			x.press()
			x.want(strings.Contains(x.m.message, "Nothing is printed from here"), "it says %q", x.m.message)
			kept(x, x.m, before, "after print on the bow form")
		},
		keys.Up: func(x trial) {
			was := form(x).at
			x.press()
			x.want(form(x).at == was-1, "field %d from %d", form(x).at, was)
		},
		keys.Down: func(x trial) {
			was := form(x).at
			x.press()
			x.want(form(x).at == was+1, "field %d from %d", form(x).at, was)
		},
		keys.Right: func(x trial) {
			x.press()
			x.want(form(x).at == len(bowLines()), "field %d, want the first reading", form(x).at)
		},
		keys.Left: func(x trial) {
			press(x.m, "right")
			x.press()
			x.want(form(x).at < len(bowLines()), "field %d, want one of the bow", form(x).at)
		},
		keys.Edit:  func(x trial) { x.press(); x.want(x.m.Typing(), "nothing can be typed") },
		keys.First: func(x trial) { x.press(); x.want(form(x).at == 0, "line %d", form(x).at) },
		keys.Last: func(x trial) {
			x.press()
			x.want(form(x).at == len(bowLines())+len(x.m.Job().Bow.Value.Readings)-1, "line %d", form(x).at)
		},
		keys.Less: func(x trial) {
			form(x).at = 1
			x.press()
			x.want(x.m.Job().Bow.Value.KindOrDefault() != "compound", "the kind is the same")
		},
		keys.Keep: func(x trial) {
			x.press()
			r, ok := press(x.m, "enter").(Save)
			x.want(ok && r.What == SavedBow && r.Name == store.SampleBow && r.Job == x.m.Job(), "it asks for %+v", r)
		},
		keys.Open: func(x trial) { _, ok := x.press().(List); x.want(ok, "it does not ask for the list") },
		keys.New: func(x trial) {
			x.press()
			x.want(x.m.Job().Bow.Given && len(x.m.Job().Bow.Value.Readings) == 0, "the bow is %+v", x.m.Job().Bow)
		},
		keys.Command: func(x trial) { opens[*palette](x); shows(x, x.m, "Forms: any action by name") },
		keys.More: func(x trial) {
			form(x).at = 1
			x.press()
			x.want(x.m.Job().Bow.Value.KindOrDefault() != "compound", "the kind is the same")
		},
		keys.Add: func(x trial) { x.press(); x.want(x.m.Typing() && form(x).draft != nil, "no reading is asked for") },
		keys.Remove: func(x trial) {
			second := x.m.Job().Bow.Value.Readings[1]
			press(x.m, "right")
			x.press()
			left := x.m.Job().Bow.Value.Readings
			x.want(len(left) == 1 && left[0] == second, "left is %+v", left)
		},
		keys.Undo: func(x trial) {
			was := x.m.Job()
			form(x).at = 1
			press(x.m, "+")
			x.press()
			x.want(x.m.Job().Equal(was), "not undone")
		},
		keys.Redo: func(x trial) {
			form(x).at = 1
			press(x.m, "+")
			was := x.m.Job()
			press(x.m, "z")
			x.press()
			x.want(x.m.Job().Equal(was), "not done again")
		},
		keys.Help: func(x trial) {
			open := form(x)
			x.press()
			_, reads := x.m.dialog.(*page)
			press(x.m, "esc")
			x.want(reads && x.m.dialog == open, "no help, or no way back to the form")
		},
		keys.Close: func(x trial) { x.press(); x.want(x.m.dialog == nil, "still open") },
	}, func(t testing.TB) *Model {
		m := benchOf(t, nil)
		press(m, "b")
		return m
	})
}

func TestEachKeyOfAFieldDoesWhatItSays(t *testing.T) {
	checkScope(t, keys.Default().Entry, map[keys.Action]func(x trial){
		keys.Accept: func(x trial) {
			write(x.m, "Other")
			x.press()
			x.want(x.m.Job().Builds[0].Name == "Other", "not accepted")
		},
		keys.Cancel: func(x trial) {
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
	checkScope(t, keys.Default().Reader, map[keys.Action]func(x trial){
		keys.Up:       func(x trial) { press(x.m, "down", "down"); x.press(); x.want(offset(x) == 1, "line %d", offset(x)) },
		keys.Down:     func(x trial) { x.press(); x.want(offset(x) == 1, "line %d", offset(x)) },
		keys.PageUp:   func(x trial) { press(x.m, "pgdown"); x.press(); x.want(offset(x) == 0, "line %d", offset(x)) },
		keys.PageDown: func(x trial) { x.press(); x.want(offset(x) > 5, "line %d", offset(x)) },
		keys.First:    func(x trial) { press(x.m, "down"); x.press(); x.want(offset(x) == 0, "line %d", offset(x)) },
		keys.Last:     func(x trial) { x.press(); p := x.m.dialog.(*page); x.want(p.offset == p.most, "line %d", p.offset) },
		keys.Close:    func(x trial) { x.press(); x.want(x.m.dialog == nil, "still open") },
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
		{nil, k.BenchFooter()[0]}, {[]string{"enter"}, k.ListFooter()[0]}, {[]string{"b"}, k.Form.Hints(keys.Do("back", keys.Close))[0]},
		{[]string{"3"}, k.RangeFooter()[0]}, {[]string{"3", "home", "enter"}, k.EntryFooter()[0]}, {[]string{"3", "p"}, k.EntryFooter()[0]}, {[]string{"2"}, k.MapFooter()[0]},
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
	for _, press1 := range []string{"up", "down", "left", "right", "home", "end", "+", "-", "enter", "e", "d", "x", "r", "<", ">", "n", "s", "S", "D", "y", "Y", "pgup", "pgdown"} {
		m := benchOf(t, func(j *job.Job) { *j = *job.New() })
		before := m.Job().Encode()
		if r := press(m, press1); r != nil || m.message == "" {
			t.Errorf("%s on an empty bench asks for %v and says %q", press1, r, m.message)
		}
		kept(t, m, before, fmt.Sprintf("after %s", press1))
	}
}
