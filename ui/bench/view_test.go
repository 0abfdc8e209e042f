package bench

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/present"
)

func TestTheNextSittingBeginsWhereTheLastOneEnded(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {120, 36}} {
		for row := range allRows {
			m := benchOf(t, nil)
			m.SetSize(size[0], size[1])
			m.depth = Lab
			m.row, m.col = min(row, len(allRows)-1), 2
			if m.hidden(row) {
				continue
			}
			m.Saved("Autumn", m.Job())
			want := allRows[m.row]
			before := slices.Clone(m.Lines())

			next := newBench(m.Job(), m.drawer)
			next.Restore(m.View()) // the size of the screen comes later
			next.SetSize(size[0], size[1])
			if got := allRows[next.row]; got != want || next.col != 2 {
				t.Errorf("%d×%d: the focus was on %+v and is on %+v of build %d", size[0], size[1], want, got, next.col)
				continue
			}
			if size[1] == 36 && !slices.Equal(before, next.Lines()) {
				t.Errorf("the screen was\n%s\nand is\n%s", strings.Join(before, "\n"), screen(next))
			}
		}
	}
}

func TestRestoreMindsABenchThatIsSmallerNow(t *testing.T) {
	for _, c := range []struct{ builds, row, col int }{{0, 5, 3}, {1, 1000, 63}, {3, 1000, 63}} {
		m := benchOf(t, builds(c.builds))
		m.Restore(View{Name: "Autumn", Row: c.row, Col: c.col, Depth: Lab})
		for _, size := range sizes {
			m.SetSize(size[0], size[1])
			checkFrame(t, "restored", m.Lines(), size[0], size[1])
		}
		m.SetSize(120, 36)
		press(m, "e", "esc", "right", "+", "x")
	}
}

func TestARowThatGoesDoesNotMoveTheFocus(t *testing.T) {
	extra := func(j *job.Job) { j.Builds[1].Extras = []part.Extra{{Weight: unit.Grain, Balance: 20 * unit.Inch}} }
	m := benchOf(t, extra)
	m.SetSize(80, 24)
	onFigure(t, m, figure.FOC)
	press(m, "right", "x")
	if got := allRows[m.row]; got.figure != figure.FOC || got.isSlot {
		t.Errorf("the row of extras went and the focus is on %+v", got)
	}
	press(m, "z")
	if got := allRows[m.row]; got.figure != figure.FOC || got.isSlot {
		t.Errorf("the row of extras came back and the focus is on %+v", got)
	}
}

func TestResizingKeepsTheFocusOnItsRow(t *testing.T) {
	m := onFigure(t, benchOf(t, nil), figure.LaunchSpeed)
	for _, size := range sizes {
		m.SetSize(size[0], size[1])
		m.Lines()
	}
	m.SetSize(80, 24)
	if got := allRows[m.row].figure; got != figure.LaunchSpeed {
		t.Errorf("the focus is on %s", got)
	}
	shows(t, m, "▸speed")
}

func TestTheBaselineStaysInSight(t *testing.T) {
	m := benchOf(t, builds(12))
	m.SetSize(80, 24)
	for i := range 12 {
		shows(t, m, "◆", "▸"+present.Letter(i)+" ")
		press(m, "right")
	}
}

func TestOpeningABenchReplacesAndABuildComesBeside(t *testing.T) {
	m := benchOf(t, nil)
	opened := store.SampleBench()
	opened.Builds, opened.Baseline = opened.Builds[:2], 1
	openSaved(t, m, Entry{Name: "Autumn"}, opened)
	if len(m.Job().Builds) != 2 || m.col != 1 {
		t.Errorf("%d builds, column %d in focus, want the two saved and the baseline", len(m.Job().Builds), m.col)
	}
	shows(t, m, "“Autumn”", "Opened Autumn")
	openSaved(t, m, Entry{Name: "One", What: SavedBuild}, store.BuildOf(store.SampleBench(), 1))
	names := []string{}
	for _, b := range m.Job().Builds {
		names = append(names, b.Name)
	}
	if want := []string{"Open ground", "Even keel", "Even keel 2"}; !slices.Equal(names, want) || m.col != 2 {
		t.Errorf("the builds are %q with %d in focus, want %q with the last", names, m.col, want)
	}
	if opened.Builds[0].Name != "Open ground" || len(opened.Builds) != 2 {
		t.Error("what was opened was changed")
	}
}

func TestABuildBringsItsBowToABenchWithoutOne(t *testing.T) {
	m := benchOf(t, func(j *job.Job) { *j = *job.New() })
	saved := store.BuildOf(store.SampleBench(), 0)
	openSaved(t, m, Entry{Name: "One", What: SavedBuild}, saved)
	if !m.Job().Bow.Given || len(m.Job().Builds) != 1 {
		t.Errorf("bow given %v, %d builds", m.Job().Bow.Given, len(m.Job().Builds))
	}
}

func TestTheSavedListFindsByName(t *testing.T) {
	m := benchOf(t, nil)
	showSaved(m, nil)
	shows(t, m, "Nothing is saved yet")
	press(m, "esc")
	showSaved(m, entries("Autumn woods", "Range day", "Customer twelve"))
	write(m, "RANGE")
	r, ok := press(m, "enter").(Load)
	if !ok || r.Entry.Name != "Range day" {
		t.Errorf("it asks for %+v", r)
	}
	if again := press(m, "enter"); again != nil {
		t.Errorf("Enter again asks for %+v as well", again)
	}
	press(m, "esc")
	showSaved(m, entries("Autumn woods"))
	write(m, "zzz")
	if r := press(m, "enter"); r != nil || m.dialog == nil {
		t.Errorf("with nothing found Enter asks for %v", r)
	}
}

func TestWhatIsTypedBeforeTheListArrivesFilters(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "o")
	write(m, "range")
	if r := press(m, "enter"); r != nil {
		t.Errorf("Enter on a list that is not there asks for %+v", r)
	}
	m.ShowSaved(entries("Autumn woods", "Range day"), nil, nil)
	if r, ok := press(m, "enter").(Load); !ok || r.Entry.Name != "Range day" {
		t.Errorf("it asks for %+v", r)
	}
}

func TestWhatNobodyWaitsForIsLeftAlone(t *testing.T) {
	e := Entry{ID: 1, Name: "Autumn"}
	for name, leave := range map[string]func(m *Model){
		"left with Esc":     func(m *Model) { press(m, "enter", "esc") },
		"never chosen":      func(m *Model) {},
		"a name typed then": func(m *Model) { press(m, "enter", "esc", "r", "x") },
		"the bow form":      func(m *Model) { press(m, "enter", "esc", "b", "right") },
		"another list":      func(m *Model) { press(m, "enter", "esc", "o") },
	} {
		m := benchOf(t, nil)
		showSaved(m, []Entry{e})
		leave(m)
		before, open := m.Job().Encode(), m.dialog
		m.Place(e, job.New(), nil)
		kept(t, m, before, name+": after a bench that came late")
		if m.dialog != open {
			t.Errorf("%s: a bench that came late closed %T", name, open)
		}
		if _, isList := m.dialog.(*savedScreen); !isList {
			m.ShowSaved(entries("Late"), nil, nil)
			if m.dialog != open {
				t.Errorf("%s: a list that came late replaced %T", name, open)
			}
		}
	}
}

func TestAListOrABenchThatCannotBeReadSaysSo(t *testing.T) {
	m := benchOf(t, nil)
	before := m.Job().Encode()
	press(m, "o")
	m.ShowSaved(nil, nil, errors.New("the workbook is damaged."))
	if m.dialog != nil || !strings.Contains(m.message, "the workbook is damaged.") {
		t.Errorf("it says %q in %T", m.message, m.dialog)
	}
	e := Entry{ID: 1, Name: "Autumn"}
	showSaved(m, []Entry{e})
	press(m, "enter")
	m.Place(e, nil, errors.New("it is damaged."))
	if m.dialog != nil || !strings.Contains(m.message, "it is damaged.") {
		t.Errorf("it says %q in %T", m.message, m.dialog)
	}
	kept(t, m, before, "after two failures")
}

func TestWorkingShowsThisBuildsNumbers(t *testing.T) {
	for _, o := range order {
		k := o.key
		m := onFigure(t, benchOf(t, nil), k)
		m.SetSize(200, 60)
		press(m, "right", "e")
		w := m.session.Sheet().WorkingAt(1, m.placeOf(m.Job(), k), k)
		if k.Definition().At {
			shows(t, m, "B Even keel at 60 yd")
		}
		shows(t, m, w.Formula[:min(len(w.Formula), 60)], w.Result, "B Even keel")
		for _, n := range w.Numbers {
			shows(t, m, n[:min(len(n), 60)])
		}
		if _, _, ok := m.session.Sheet().DeltaAt(1, m.placeOf(m.Job(), k), k); ok {
			shows(t, m, "baseline")
		}
	}
}

func TestEnterOnAFigureExplainsIt(t *testing.T) {
	m := onFigure(t, benchOf(t, nil), figure.FOC)
	press(m, "enter")
	if _, ok := m.dialog.(*page); !ok {
		t.Errorf("it opens %T", m.dialog)
	}
}

func TestGoldenFrames(t *testing.T) {
	for _, size := range [][2]int{{120, 36}, {80, 24}} {
		suffix := map[int]string{120: "-120x36.txt", 80: "-80x24.txt"}[size[0]]
		m := benchOf(t, nil)
		m.SetSize(size[0], size[1])
		golden(t, "bench"+suffix, screen(m))
		press(m, "+")
		golden(t, "bench-after-plus"+suffix, screen(m))
		press(m, "enter")
		golden(t, "picker"+suffix, screen(m))
		press(m, "esc", "b")
		golden(t, "bow"+suffix, screen(m))
		press(m, "esc", "z", "3")
		golden(t, "downrange"+suffix, screen(m))
		finish(m, press(m, "2"))
		finish(m, press(m, "down", "down", "left", "w"))
		golden(t, "swapmap"+suffix, screen(m))
		press(m, "esc")
		finish(m, press(m, "4"))
		askFor(t, m, figure.TotalWeight, "within 5 gr of B")
		askFor(t, m, figure.FOC, "at least 16")
		press(m, "pgdown", "down")
		golden(t, "find"+suffix, screen(m))
		press(m, "esc", "z", "z")
		finish(m, press(m, "f"))
		golden(t, "offers"+suffix, screen(m))
		press(m, "esc")
		finish(m, press(m, "g"))
		golden(t, "fitting"+suffix, screen(m))
		finish(m, press(m, "p"))
		golden(t, "fitting-proposal"+suffix, screen(m))
		press(m, "esc", "esc", "6", "tab", "tab", "down")
		golden(t, "drawer"+suffix, screen(m))
		m, _ = onDozen(t, twelveShafts, thirteenHeads)
		m.SetSize(size[0], size[1])
		press(m, "down", "down", "ctrl+x")
		golden(t, "dozen"+suffix, screen(m))
		toList(m)
		press(m, "enter", "enter")
		golden(t, "dozen-list"+suffix, screen(m))
		press(m, "ctrl+w", "down")
		golden(t, "ticket-form"+suffix, screen(m))
	}
}
