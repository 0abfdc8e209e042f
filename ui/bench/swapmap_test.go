package bench

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/muesli/termenv"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
	"foreshaft/ui/theme"
)

// onMap opens the Swap map of a bench.
func onMap(t testing.TB, change func(j *job.Job)) (*Model, *mapScreen) {
	t.Helper()
	m := benchOf(t, change)
	press(m, "2")
	s, open := m.dialog.(*mapScreen)
	if !open {
		t.Fatalf("2 opens %T", m.dialog)
	}
	m.Lines()
	return m, s
}

// mapModes lists what the Swap map draws.
func mapModes(add func(name string, make func(t testing.TB) *Model), with func(name string, change func(j *job.Job), presses ...string)) {
	for i, slot := range mapSlots {
		with("swap map, "+string(slot)+" down", nil, append([]string{"2"}, slices.Repeat([]string{"r"}, i)...)...)
		with("swap map, "+string(slot)+" across", nil, append([]string{"2"}, slices.Repeat([]string{"c"}, i)...)...)
	}
	for i := range 16 {
		with(fmt.Sprintf("swap map, figure %d", i), nil, append([]string{"2", "d", "w"}, slices.Repeat([]string{"f"}, i)...)...)
	}
	for _, n := range []int{0, 1, 8, 64} {
		with(fmt.Sprintf("swap map, %d builds", n), builds(n), "2", "end", "down")
	}
	with("swap map, nothing entered", func(j *job.Job) { *j = *job.New() }, "2")
	with("swap map, no bow", noBow, "2", "f", "f")
	with("swap map, no diameter", noDiameter, "2", "F")
	with("swap map, put in", nil, "2", "down", "left", "enter")
	with("swap map, the working", nil, "2", "down", "e")
	with("swap map, help", nil, "2", "?")
	with("swap map, a danger", tooLight, "2", "home")
	with("swap map, the last", nil, "2", "r", "r", "r", "end", "pgdown", "pgdown")
	add("swap map, all looked at", func(t testing.TB) *Model {
		m := benchOf(t, nil)
		finish(m, press(m, "2"))
		press(m, "home", "down")
		return m
	})
	add("swap map, empty drawer", func(t testing.TB) *Model {
		m := benchOf(t, nil)
		m.drawer = nil
		press(m, "2")
		return m
	})
	add("swap map, hundreds of parts", func(t testing.TB) *Model {
		m := benchOf(t, nil)
		m.drawer = manyParts()
		press(m, "2", "end", "pgdown", "pgdown")
		return m
	})
}

// manyParts is a drawer of a shop: hundreds of inserts and heads that fit
// (invented).
func manyParts() (list []part.Part) {
	for i := range 300 {
		list = append(list,
			part.Part{ID: fmt.Sprintf("i%d", i), Kind: part.KindInsert, Insert: unit.Some(part.Insert{Name: "insert", Weight: unit.Mass(i) * unit.Grain, Depth: unit.Inch})},
			part.Part{ID: fmt.Sprintf("h%d", i), Kind: part.KindHead, Head: unit.Some(part.Head{Name: "head", Weight: unit.Mass(50+i) * unit.Grain, Length: unit.Some(unit.Inch)})})
	}
	return list
}

// The map starts with the insert and the head of the first of three builds in
// focus: the lightest of six inserts and the sixth of twelve heads.
func TestEachKeyOfTheSwapMapDoesWhatItSays(t *testing.T) {
	of := func(x trial) *mapScreen { return x.m.dialog.(*mapScreen) }
	at := func(x trial) search.Cell { return of(x).at }
	goes := func(x trial, row, column int) {
		x.Helper()
		x.want(at(x) == search.Cell{Row: row, Column: column}, "the focus is on %v, want %d, %d", at(x), row, column)
	}
	stays := func(x trial, open dialog) { x.want(x.m.dialog == open, "%T is open", x.m.dialog) }
	slots := func(x trial, down, over present.Slot) {
		x.Helper()
		x.press()
		x.want(x.m.swaps.down == down && x.m.swaps.over == over, "%s down and %s across, want %s and %s", x.m.swaps.down, x.m.swaps.over, down, over)
		shows(x, x.m, fmt.Sprintf("%s down, %s across", down, over))
	}
	checkScope(t, keys.Default().Map, map[keys.Action]func(x trial){
		keys.Down:     func(x trial) { x.press(); goes(x, 1, 5) },
		keys.Up:       func(x trial) { press(x.m, "down", "down"); x.press(); goes(x, 1, 5) },
		keys.Right:    func(x trial) { x.press(); goes(x, 0, 6) },
		keys.Left:     func(x trial) { x.press(); goes(x, 0, 4) },
		keys.First:    func(x trial) { x.press(); goes(x, 0, 0) },
		keys.Last:     func(x trial) { x.press(); goes(x, 0, 11) },
		keys.PageDown: func(x trial) { x.press(); goes(x, 5, 5) },
		keys.PageUp:   func(x trial) { press(x.m, "pgdown"); x.press(); goes(x, 0, 5) },
		keys.Choose: func(x trial) {
			was, open := x.m.Job(), of(x)
			press(x.m, "down", "down", "right")
			x.press()
			stays(x, open)
			b := x.m.Job().Builds[0]
			x.want(b.Insert.Value.Weight == 50*unit.Grain && b.Head.Weight == 150*unit.Grain && b.Head.Blades > 0, "it has %+v and %+v", b.Insert.Value, b.Head)
			x.want(strings.HasPrefix(x.m.message, "Changed Open ground: insert 16 gr aluminium 5 mm → 50 gr brass 5 mm, head 125 gr field point → 150 gr 2-blade fixed."), "it says %q", x.m.message)
			x.want(at(x) == of(x).table.Now(), "what was put in is not in focus")
			press(x.m, "z")
			x.want(x.m.Job().Equal(was), "one undo does not take it back")
		},
		keys.Add: func(x trial) {
			open := of(x)
			press(x.m, "down", "left")
			here, want := at(x), open.table.Build(at(x))
			x.press()
			stays(x, open)
			b := x.m.Job().Builds
			x.want(names(x.m) == "Open ground|Open ground 2|Even keel|Close cover|" && x.m.col == 0 && at(x) == here, "%s, in focus %d and %v", names(x.m), x.m.col, at(x))
			x.want(b[1].SamePieces(&want), "the new build is %+v", b[1])
			x.want(x.m.message == "Added Open ground 2 behind Open ground: "+open.pair()+".", "it says %q", x.m.message)
		},
		keys.Figure: func(x trial) {
			x.press()
			x.want(of(x).shown(x.m) == figure.FrontWeight, "it shows %s", of(x).shown(x.m))
			shows(x, x.m, "front weight, gr", "Front weight: insert, collar, head")
		},
		keys.FigureBack: func(x trial) {
			x.press()
			x.want(of(x).shown(x.m) == figure.Energy, "it shows %s", of(x).shown(x.m))
			shows(x, x.m, "energy left at 60 yd, ft·lbf")
		},
		keys.Difference: func(x trial) {
			x.press()
			shows(x, x.m, "total weight, gr, difference", "▸[   0.0  ]", "−40.0", "low −40.0        +159.0 high")
			x.press()
			shows(x, x.m, "▸[394.0  ]")
		},
		keys.Rows:       func(x trial) { slots(x, "collar", "head") },
		keys.RowsBack:   func(x trial) { slots(x, "length", "head") },
		keys.Across:     func(x trial) { slots(x, "insert", "nock") },
		keys.AcrossBack: func(x trial) { slots(x, "insert", "collar") },
		keys.SameWeight: func(x trial) {
			press(x.m, "down", "down", "down", "down", "left") // 75 gr and 125 gr
			x.press()
			shows(x, x.m, "453.0=", "= same weight")
			// 50 + 150 with two heads, 75 + 125 with two and 100 + 100 with three.
			x.want(strings.Count(screen(x.m), ".0=") == 7, "seven pairs in sight weigh 453 gr:\n%s", screen(x.m))
			x.press()
			x.want(!strings.Contains(screen(x.m), ".0="), "still marked")
		},
		keys.BuildRight: func(x trial) {
			x.press()
			x.want(x.m.col == 1 && at(x) == of(x).table.Now(), "column %d", x.m.col)
			shows(x, x.m, " B Even keel   insert down")
		},
		keys.BuildLeft: func(x trial) {
			press(x.m, ">", ">")
			x.press()
			x.want(x.m.col == 1, "column %d", x.m.col)
		},
		keys.Nearer: func(x trial) { x.press(); x.want(x.m.chosen() == 50*unit.Yard, "%s", x.m.message) },
		keys.Farther: func(x trial) {
			press(x.m, "-", "-")
			x.press()
			x.want(x.m.chosen() == 50*unit.Yard, "%s", x.m.message)
		},
		keys.Explain: func(x trial) {
			open := of(x)
			press(x.m, "f", "f", "down")
			want := present.Bare(x.m.session.Sheet(), figure.FOC, figureOf(x, x.m, open.table.Build(at(x)), figure.FOC), false)
			p := opens[*page](x)
			x.want(p.title == "FOC of 20 gr aluminium 5 mm × 125 gr field point", "it is called %q", p.title)
			shows(x, x.m, "FOC = ", want)
			press(x.m, "esc", "up")
			p = opens[*page](x)
			x.want(p.title == "FOC of A Open ground", "of the pair that is there it is called %q", p.title)
			press(x.m, "esc")
			stays(x, open)
		},
		keys.Undo: func(x trial) {
			was, open := x.m.Job(), x.m.dialog
			press(x.m, "down", "enter")
			x.press()
			x.want(x.m.Job().Equal(was), "not undone")
			stays(x, open)
		},
		keys.Redo: func(x trial) {
			press(x.m, "down", "enter")
			was, open := x.m.Job(), x.m.dialog
			press(x.m, "z")
			x.press()
			x.want(x.m.Job().Equal(was), "not done again")
			stays(x, open)
		},
		keys.Copy: func(x trial) {
			press(x.m, "down")
			r, ok := x.press().(Copy)
			x.want(ok && strings.HasPrefix(r.Text, "398.0 ± 0.8 gr") && r.What == "total weight of Open ground with 20 gr aluminium 5 mm × 125 gr field point", "it asks for %+v", r)
		},
		keys.CopyTable: func(x trial) {
			r, ok := x.press().(Copy)
			lines := strings.Split(strings.TrimSpace(r.Text), "\n")
			x.want(ok && len(lines) == 8 && strings.HasPrefix(lines[0], "A Open ground: total weight, gr") && strings.HasPrefix(lines[1], "insert by head\t85 gr field point\t"), "it asks for %+v", r)
			for _, line := range lines[1:] {
				x.want(strings.Count(line, "\t") == 12, "%q has another number of columns", line)
			}
		},
		keys.Command: func(x trial) { opens[*palette](x); shows(x, x.m, "Swap map: any action by name") },
		keys.Help: func(x trial) {
			open := x.m.dialog
			opens[*page](x)
			shows(x, x.m, "Help")
			press(x.m, "esc")
			stays(x, open)
		},
		keys.Drawer: func(x trial) {
			opens[*drawerScreen](x)
			x.want(len(x.m.under) == 0, "%d screens are under it", len(x.m.under))
		},
		keys.Open: func(x trial) {
			opens[*savedScreen](x)
			x.want(len(x.m.under) == 0, "%d screens are under it", len(x.m.under))
		},
		keys.Dozen: func(x trial) {
			opens[*dozenScreen](x)
			x.want(len(x.m.under) == 0, "%d screens are under it", len(x.m.under))
		},
		keys.Find: func(x trial) {
			opens[*findScreen](x)
			x.want(len(x.m.under) == 0, "%d dialogs are under it", len(x.m.under))
		},
		keys.Downrange: func(x trial) {
			opens[*rangeScreen](x)
			x.want(len(x.m.under) == 0, "%d dialogs are under it", len(x.m.under))
		},
		keys.Close: func(x trial) { x.press(); x.want(x.m.dialog == nil, "%T is open", x.m.dialog) },
	}, func(t testing.TB) *Model {
		m, _ := onMap(t, nil)
		return m
	})
}

// figureOf is a figure of a build as the sheet has it that stands beside the others.
func figureOf(t testing.TB, m *Model, b arrow.Build, k figure.Key) float64 {
	t.Helper()
	j := m.Job().Clone()
	b.Name, b.Proven = session.FreeName(j, b.Name), false
	j.Builds = append(j.Builds, b)
	f, ok := sheet.Evaluate(j).Builds[len(j.Builds)-1].Place(m.placeOf(j, k)).Figure(k)
	if !ok {
		return math.NaN()
	}
	return f.Value
}

// Tab goes round the screens, and the keys of the screens work on each.
func TestTheScreensAreACircle(t *testing.T) {
	at := func(m *Model) string { return fmt.Sprintf("%s over %d", m.screenName(), len(m.under)) }
	m := benchOf(t, nil)
	for _, want := range []string{"Swap map over 0", "Downrange over 0", "Find over 0", "Bench over 0", "Swap map over 0"} {
		if press(m, "tab"); at(m) != want {
			t.Errorf("Tab leads to %s, want %s", at(m), want)
		}
	}
	for _, c := range [][2]string{{"3", "Downrange over 0"}, {"2", "Swap map over 0"}, {"4", "Find over 0"}, {"3", "Downrange over 0"}, {"4", "Find over 0"}, {"2", "Swap map over 0"},
		{"1", "Bench over 0"}, {"4", "Find over 0"}, {"1", "Bench over 0"}, {"3", "Downrange over 0"}, {"1", "Bench over 0"}} {
		if press(m, c[0]); at(m) != c[1] {
			t.Errorf("%s leads to %s, want %s", c[0], at(m), c[1])
		}
	}
	// What was chosen is still chosen when one comes back.
	press(m, "2", "r", "f", "3", "2")
	if shows(t, m, "collar down, head across", "front weight"); m.dialog.(*mapScreen).at != m.dialog.(*mapScreen).table.Now() {
		t.Error("the focus is not on what the build has")
	}
}

// Every cell of the map, for every two kinds, against the same parts put into the
// build one by one with session.Put and the job of it evaluated by package sheet:
// which there are, in which order, and what each shows.
func TestEachCellIsWhatPuttingThePartsInGives(t *testing.T) {
	rows := 0
	for col := range sampleBench().Builds {
		for i, down := range mapSlots {
			for n, over := range mapSlots {
				if down == over || (i+n+col)%3 > 0 && !(down == "insert" && over == "head") {
					continue // a third of all pairs of kinds, others for each build
				}
				m := benchOf(t, func(j *job.Job) { j.Baseline = 1 })
				m.focus(col)
				m.swaps = mapView{down: down, over: over, figure: []figure.Key{figure.LaunchMargin, figure.ImpactShift, figure.FOC, figure.SightMark}[(i+n)%4]}
				press(m, "2")
				s := m.dialog.(*mapScreen)
				m.SetSize(400, 100) // all is in sight
				m.Lines()
				if s.shown(m) != m.swaps.figure {
					t.Fatalf("%s is not shown on build %d", m.swaps.figure, col)
				}
				want := byHand(m, down, over)
				if len(want) < 1 {
					t.Fatalf("no pair of %s and %s", down, over)
				}
				rows += len(s.table.Rows)
				for r := range s.table.Rows {
					for c := range s.table.Columns {
						at := search.Cell{Row: r, Column: c}
						b := s.table.Build(at)
						name := present.Piece(unit.System{}, &b, down) + " × " + present.Piece(unit.System{}, &b, over)
						w, known := want[name]
						if !known {
							if s.table.Clash(at) == "" || s.number(m, at) != "–" {
								t.Fatalf("build %d: %s is on the map with %s, and does not go together", col, name, s.number(m, at))
							}
							continue
						}
						if !w.SamePieces(&b) || s.table.Clash(at) != "" {
							t.Fatalf("build %d: %s is another arrow than the parts put in one by one (%s)", col, name, s.table.Clash(at))
						}
						if (r+c)%3 == 0 || len(want) < 20 {
							value := figureOf(t, m, w, s.shown(m))
							if got := s.value(at); math.IsNaN(got) != math.IsNaN(value) || math.Abs(got-value) > 1e-8*max(1, math.Abs(value)) {
								t.Fatalf("build %d: %s of %s is %.10g, want %.10g", col, s.shown(m), name, got, value)
							}
						}
						delete(want, name)
					}
				}
				if len(want) > 0 {
					t.Fatalf("build %d, %s by %s: not on the map are %v", col, down, over, want)
				}
			}
		}
	}
	if rows < 100 {
		t.Errorf("only %d rows were looked at", rows)
	}
}

// byHand makes every build of the map without the map: by name of its pair.
func byHand(m *Model, down, over present.Slot) map[string]arrow.Build {
	base := m.build()
	choices := func(slot present.Slot) (out []func(b *arrow.Build)) {
		// As it is comes last, so that it counts where the drawer has the same part.
		defer func() { out = append(out, func(*arrow.Build) {}) }()
		kind, isPiece := slot.Kind()
		if !isPiece {
			for _, longer := range []bool{true, false} {
				l := base.Length
				for range 6 {
					next := session.NextLength(l, longer, unit.System{})
					out = append(out, func(b *arrow.Build) { b.Recut(next) })
					l = next
				}
			}
			return out
		}
		if kind == part.KindCollar || kind == part.KindWrap {
			out = append(out, func(b *arrow.Build) { session.Without(b, kind) })
		}
		for _, p := range store.SampleParts() {
			if p.Kind == kind {
				out = append(out, func(b *arrow.Build) { session.Put(b, p) })
			}
		}
		return out
	}
	out := map[string]arrow.Build{}
	for _, first := range choices(down) {
		for _, second := range choices(over) {
			b := base.Clone()
			first(&b)
			second(&b)
			if len(caution.Misfits(&b, unit.System{})) == 0 {
				name := present.Piece(unit.System{}, &b, down) + " × " + present.Piece(unit.System{}, &b, over)
				out[name] = b
			}
		}
	}
	return out
}

// The marks of cautions are those that putting the pair in brings: a caution of the
// build on the bench that it did not have.
func TestMarksAreCautionsThatThePairBrings(t *testing.T) {
	m := benchOf(t, tooLight)
	finish(m, press(m, "2"))
	s := m.dialog.(*mapScreen)
	if strings.Contains(screen(m), "looking for cautions") {
		t.Errorf("still looking:\n%s", screen(m))
	}
	seen := map[caution.Level]int{}
	had := m.session.Sheet().Builds[0].Cautions
	for r := range s.table.Rows {
		for c := range s.table.Columns {
			if (r+c)%2 > 0 {
				continue
			}
			b := s.table.Build(search.Cell{Row: r, Column: c})
			j := m.Job().Clone()
			j.Builds[0] = b
			want := caution.Level("")
			for _, x := range slices.Backward(sheet.Evaluate(j).Builds[0].Cautions) {
				if x.Level != caution.Note && !slices.ContainsFunc(had, func(y caution.Caution) bool {
					return x.Code == y.Code && (y.Level == x.Level || y.Level == caution.Danger)
				}) {
					want = x.Level
				}
			}
			if got := s.levels[r][c]; got != want {
				t.Errorf("row %d, column %d has the mark of %q, want %q", r, c, got, want)
			}
			seen[want]++
		}
	}
	if seen[caution.Warn] == 0 || seen[""] == 0 {
		t.Errorf("levels seen: %v", seen)
	}
	// On a build that is heavy enough a light pair is a danger.
	m = benchOf(t, func(j *job.Job) { j.Bow.Value.MinimumArrow = unit.Some(390 * unit.Grain) })
	finish(m, press(m, "2"))
	shows(t, m, "354.0!!", "!! danger")
	press(m, "home")
	shows(t, m, "!! light arrow", "is below the")
}

// What is looked for after the table has changed is not told of the new one, and it
// ends when the screen is left.
func TestLookingForCautionsEndsWithItsTable(t *testing.T) {
	m := benchOf(t, nil)
	first := press(m, "2").(Work)
	s := m.dialog.(*mapScreen)
	second, again := press(m, "down", "enter").(Work)
	if !again || second.to != s {
		t.Fatal("another build asks for nothing")
	}
	first.Do(func(what any) { t.Errorf("it tells %+v though its table is gone", what) })
	if r := press(m, "f"); r != nil {
		t.Errorf("another figure asks for %T", r)
	}
	rows := 0
	second.Do(func(what any) {
		m.Told(second, what)
		if rows++; rows == 2 {
			press(m, "esc")
		}
	})
	if rows != 2 {
		t.Errorf("after the screen was left it told of %d rows", rows)
	}
	if found := slices.IndexFunc(s.levels, func(l []caution.Level) bool { return l == nil }); found != 0 && found != 2 {
		t.Errorf("told is %v", s.levels)
	}
}

// The signs that are no colours: the build as it is in brackets, the focus behind
// an arrow, and a clash as a dash with its reason.
func TestTheMapIsReadWithoutColour(t *testing.T) {
	m, s := onMap(t, func(j *job.Job) { j.Builds[0].Head.Thread = "" })
	out := screen(m)
	for _, c := range []struct {
		sign string
		n    int
	}{{"▸[", 1}, {"[3", 1}, {"low 354.0", 1}, {"high", 1}, {"more is not better", 1}} {
		if strings.Count(out, c.sign) != c.n {
			t.Errorf("%q stands there %d times, want %d:\n%s", c.sign, strings.Count(out, c.sign), c.n, out)
		}
	}
	m.drawer = append(m.drawer, part.Part{ID: "fine", Kind: part.KindInsert, Insert: unit.Some(part.Insert{Name: "fine thread", Weight: 18 * unit.Grain, Depth: unit.Inch, Thread: "6-40"})})
	before := m.Job().Encode()
	press(m, "down", "left")
	if s.row().name != "18 gr fine thread" {
		t.Fatalf("in focus is %s", s.row().name)
	}
	shows(t, m, "▸ 18 gr fine thread × ", "The head's thread is 8-32 and the insert's is 6-40", "–")
	for _, key := range []string{"enter", "a"} {
		if press(m, key); !strings.HasPrefix(m.message, "Not put in. The head's thread") {
			t.Errorf("%s says %q", key, m.message)
		}
	}
	if r := press(m, "y"); r != nil || !strings.Contains(m.message, "no total weight to copy") {
		t.Errorf("y asks for %v and says %q", r, m.message)
	}
	kept(t, m, before, "after a pair that does not go together")
	press(m, "right")
	press(m, "enter")
	if m.Job().Builds[0].Insert.Value.Name != "fine thread" {
		t.Errorf("with a head that names no thread it does not go in: %s", m.message)
	}
}

// Nothing to show is a sentence that says what to do.
func TestAMapOfNothingSaysWhatToDo(t *testing.T) {
	for _, c := range []struct {
		name    string
		builds  int
		drawer  []part.Part
		says    []string
		figures bool
	}{
		{"no build", 0, store.SampleParts(), []string{"There is no build on the bench: Esc goes back, where a adds one."}, false},
		{"an empty drawer", 1, nil, []string{"The drawer has no other insert and no other head", "r and c", "Ctrl+A", "[394.0  ]"}, true},
		{"one part, the one that is there", 1, store.SampleParts()[:1], []string{"The drawer has no other insert"}, true},
	} {
		m := benchOf(t, builds(c.builds))
		m.drawer = c.drawer
		before := m.Job().Encode()
		press(m, "2")
		shows(t, m, c.says...)
		for _, key := range []string{"up", "down", "left", "right", "home", "end", "pgup", "pgdown", "enter", "f", "F", "d", "w", "<", ">", "e", "esc", "2", "r", "R", "c", "C", "y", "Y"} {
			press(m, key)
			checkFrame(t, c.name+" after "+key, m.Lines(), 120, 36)
			if c.builds == 0 && m.dialog != nil && key != "2" && !strings.Contains(m.message, "There is no build") {
				t.Errorf("%s: %s says %q", c.name, key, m.message)
			}
		}
		kept(t, m, before, c.name)
	}
}

// A side holds what is there, what the drawer offers and is not retired, and none
// where there could be none: the lighter before the heavier.
func TestWhatStandsOnASideOfTheMap(t *testing.T) {
	all := func(d side) (out []string) {
		for _, w := range d.list {
			out = append(out, w.name)
		}
		return out
	}
	own := func(j *job.Job) {
		j.Builds[0].Insert.Value.Weight, j.Builds[0].Insert.Value.Name = 40*unit.Grain, "of my own"
	}
	without := func(j *job.Job) {
		j.Builds[0].Insert, j.Builds[0].Vanes = unit.Optional[part.Insert]{}, unit.Optional[part.Vanes]{}
	}
	for _, c := range []struct {
		name   string
		change func(j *job.Job)
		slot   present.Slot
		first  []string // of the list
		now    string
		holds  string // and is at its place by weight
		lacks  string
	}{
		{"an insert that the drawer has not", own, "insert", []string{"16 gr aluminium 5 mm"}, "40 gr of my own", "30 gr aluminium half-out 6 mm|40 gr of my own|50 gr brass 5 mm", "none"},
		{"no insert", without, "insert", []string{"none", "16 gr aluminium 5 mm"}, "none", "", "40 gr"},
		{"no vanes", without, "vanes", []string{"none", "3 × 4 gr 1.6 in low"}, "none", "", ""},
		{"vanes", nil, "vanes", []string{"3 × 4 gr 1.6 in low"}, "3 × 4 gr 1.6 in low", "", "none"},
		{"no collar", nil, "collar", []string{"none"}, "none", "", ""},
		{"a wrap", func(j *job.Job) { j.Builds[0].Wrap = j.Builds[1].Wrap }, "wrap", []string{"none", "6 gr 4 in"}, "6 gr 4 in", "", ""},
		{"lengths", nil, present.SlotLength, []string{"28.75 in tube 28.25", "28.875 in tube 28.375"}, "29.50 in tube 29.00", "30.125 in tube 29.625|30.25 in tube 29.75", "30.375"},
		{"a short build", func(j *job.Job) { j.Builds[0].Length = 10.25 * unit.Inch }, present.SlotLength, []string{"10.00 in tube 9.50", "10.125 in tube 9.625"}, "10.25 in tube 9.75", "", ""},
	} {
		m := benchOf(t, c.change)
		d := sideOf(m, c.slot)
		list := all(d)
		joined := strings.Join(list, "|")
		if len(list) < len(c.first) || !slices.Equal(list[:len(c.first)], c.first) || list[d.now] != c.now ||
			!strings.Contains(joined, c.holds) || c.lacks != "" && strings.Contains(joined, c.lacks) {
			t.Errorf("%s: %q, now %q", c.name, list, list[d.now])
		}
	}
	m := benchOf(t, nil)
	before := all(sideOf(m, "head"))
	for i := range m.drawer {
		if h := m.drawer[i].Head; h.Given && h.Value.Weight == 200*unit.Grain {
			m.drawer[i].Retired = true
		}
	}
	if now := all(sideOf(m, "head")); len(before) != 12 || len(now) != 10 || strings.Contains(strings.Join(now, "|"), "200 gr") {
		t.Errorf("with the heaviest retired there are %q of %q", now, before)
	}
}

// A drawer of hundreds shows those nearest in weight, and says so.
func TestALargeDrawerIsCutByWeight(t *testing.T) {
	m := benchOf(t, nil)
	m.drawer = manyParts()
	press(m, "2")
	s := m.dialog.(*mapScreen)
	m.Lines()
	if len(s.table.Rows) != mostSwaps || len(s.table.Columns) != mostSwaps {
		t.Fatalf("%d × %d", len(s.table.Rows), len(s.table.Columns))
	}
	shows(t, m, "insert: 261 further off in weight", "head: 261 further off in weight")
	// 16 gr stands near the light end of 0 to 299, 125 gr in the middle of 50 to 349.
	weights := func(d side, shown []int) (first, last unit.Mass) {
		return d.list[shown[0]].weight, d.list[shown[mostSwaps-1]].weight
	}
	if first, last := weights(s.down, s.table.Rows); first != 0 || last > 40*unit.Grain {
		t.Errorf("inserts go from %g to %g gr", first.In(unit.Grain), last.In(unit.Grain))
	}
	if first, last := weights(s.over, s.table.Columns); first < 100*unit.Grain || first > 110*unit.Grain || last < 140*unit.Grain || last > 150*unit.Grain {
		t.Errorf("heads go from %g to %g gr", first.In(unit.Grain), last.In(unit.Grain))
	}
	if s.at != s.table.Now() || s.row().weight != 16*unit.Grain {
		t.Errorf("in focus is %s", s.pair())
	}
}

// A tube that was weighed is scaled with its length, and the message says so; a
// build that counts as proven and changes says what becomes of that.
func TestPuttingInSaysWhatElseChanges(t *testing.T) {
	m := benchOf(t, func(j *job.Job) { j.Builds[0].Shaft.TubeWeight = unit.Some(232 * unit.Grain) })
	m.swaps.down, m.swaps.over = present.SlotLength, "head"
	press(m, "2", "down", "enter")
	if got := m.Job().Builds[0].Shaft.TubeWeight.Value.In(unit.Grain); got < 232.99 || got > 233.01 || !strings.Contains(m.message, reweigh) {
		t.Errorf("the tube weighs %g gr; it says %q", got, m.message)
	}
	m = benchOf(t, nil)
	press(m, "v", "2", "down", "enter")
	if !strings.HasPrefix(m.message, "Changed Open ground: insert ") || !strings.Contains(m.message, "the mark of the proven one") || m.Job().Builds[0].Proven {
		t.Errorf("it says %q", m.message)
	}
	press(m, "z", "down", "a")
	if b := m.Job().Builds; !b[0].Proven || b[1].Proven || b[1].Proof.Given {
		t.Errorf("the build with another pair is proven: %v %v %v", b[0].Proven, b[1].Proven, b[1].Proof)
	}
}

// Shades run from the least number to the greatest, whatever the figure, and a
// number is the same in any of them.
func TestShadesRunFromLowToHigh(t *testing.T) {
	for i, want := range []theme.Token{0, 0, 1, 2, 4, 4} {
		if got := shade([]float64{-3, -2.1, -2, -0.5, 1.9, 2}[i], -3, 2); got != theme.Shade+want {
			t.Errorf("number %d has shade %d, want %d", i, got-theme.Shade, want)
		}
	}
	if got := shade(3, 3, 3*(1+1e-12)); got != theme.Plain {
		t.Errorf("numbers that are all the same have the shade %d", got)
	}
	m, _ := onMap(t, nil)
	m.theme = theme.New(theme.Dark, termenv.TrueColor)
	press(m, "d", "end", "pgdown")
	lines := m.Lines()
	// The heaviest has the focus; the one beside it weighs as much.
	for _, c := range []struct {
		shade theme.Token
		text  string
	}{{0, " low −40.0 "}, {4, " +159.0 high "}, {4, "  +159.0   "}, {4, "  +134.0   "}, {1, "   +34.0   "}} {
		if painted := m.theme.Paint(theme.Shade+c.shade, c.text); !strings.Contains(strings.Join(lines, "\n"), painted) {
			t.Errorf("nowhere stands %q", painted)
		}
	}
}

// One frame of a map of twelve by twelve with one figure or another, computed anew:
// at most 16 ms.
func BenchmarkSwapMap(b *testing.B) {
	m := benchOf(b, nil)
	m.drawer = nil
	for i := range 11 {
		m.drawer = append(m.drawer, manyParts()[2*(20+9*i)], manyParts()[2*(20+9*i)+1])
	}
	press(m, "2")
	s := m.dialog.(*mapScreen)
	m.SetSize(200, 60)
	m.Lines()
	if len(s.table.Rows) != 12 || len(s.table.Columns) != 12 {
		b.Fatalf("%d × %d", len(s.table.Rows), len(s.table.Columns))
	}
	for _, k := range s.figures(m) {
		b.Run(k.String(), func(b *testing.B) {
			m.swaps.figure = k
			for b.Loop() {
				s.of, s.numbersOf = question{}, numbered{} // as after a key that changed the build
				m.Lines()
			}
		})
	}
}
