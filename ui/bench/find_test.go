package bench

import (
	"bytes"
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/keys"
)

// smallDrawer is a few parts of the samples, so that a search is soon done.
func smallDrawer() []part.Part {
	seen := map[part.Kind]int{}
	return slices.DeleteFunc(store.SampleParts(), func(p part.Part) bool {
		of5mm := p.Kind == part.KindHead || p.Kind == part.KindVanes || p.Kind == part.KindWrap || strings.Contains(p.ID, "5-mm") || strings.Contains(p.ID, "264") || strings.Contains(p.ID, "255")
		seen[p.Kind]++
		return !of5mm || p.Kind == part.KindVanes && seen[p.Kind] > 2
	})
}

// onFind opens Find on a bench with a small drawer, and does what it asks for.
func onFind(t testing.TB, change func(j *job.Job), presses ...string) (*Model, *findScreen) {
	t.Helper()
	m := benchOf(t, change)
	m.drawer = smallDrawer()
	finish(m, press(m, "4"))
	f, open := m.dialog.(*findScreen)
	if !open {
		t.Fatalf("4 opens %T", m.dialog)
	}
	for _, p := range presses {
		finish(m, press(m, p))
	}
	return m, f
}

// askFor goes to what is asked and types over it.
func askFor(t testing.TB, m *Model, k figure.Key, typed string) {
	t.Helper()
	f := m.dialog.(*findScreen)
	f.at = slices.IndexFunc(asks(m), func(a asking) bool { return a.key == k })
	finish(m, typeIn(m, typed))
}

func findModes(add func(name string, make func(t testing.TB) *Model)) {
	of := func(name string, change func(j *job.Job), presses ...string) {
		add("find, "+name, func(t testing.TB) *Model {
			m, _ := onFind(t, change, presses...)
			return m
		})
	}
	add("find, looking", func(t testing.TB) *Model {
		m := benchOf(t, nil)
		press(m, "4")
		return m
	})
	of("everything", nil)
	of("a match", nil, "pgdown", "down")
	of("the last match", nil, "end")
	of("a trade-off", nil, "c")
	of("a trade-off, a match", nil, "c", "g", "pgdown", "down")
	of("no build", builds(0), "pgdown")
	of("no bow", noBow, "pgdown")
	of("nothing entered", func(j *job.Job) { *j = *job.New() })
	of("much asked", func(j *job.Job) {
		j.Search = unit.Some(job.Search{Where: map[string]job.Window{
			"total_weight": {Min: unit.Some(123.456789), Max: unit.Some(1234.56789)}, "foc": {Min: unit.Some(-3.0)}, "launch_margin": {Max: unit.Some(1e6)},
			"impact_shift": {Distance: unit.Some(60 * unit.Yard), Min: unit.Some(-1.0), Max: unit.Some(2.5)}, "inertia": {Min: unit.Some(1.0)},
		}, Sort: "dozen_cost", Descending: true, InStock: true})
		j.Drawer = unit.Some(job.Drawer{Lengths: []unit.Length{28 * unit.Inch, 28.125 * unit.Inch, 29 * unit.Inch, 29.5 * unit.Inch, 30 * unit.Inch, 31 * unit.Inch}})
	}, "end")
	for name, where := range map[string]map[string]job.Window{
		"one to widen":        {"foc": {Min: unit.Some(60.0)}},
		"two never":           {"foc": {Min: unit.Some(60.0)}, "total_weight": {Max: unit.Some(100.0)}},
		"not together":        {"foc": {Min: unit.Some(20.0)}, "total_weight": {Max: unit.Some(370.0)}, "launch_margin": {Min: unit.Some(1.2)}},
		"one of two":          {"total_weight": {Min: unit.Some(700.0)}, "foc": {Min: unit.Some(5.0)}},
		"nothing known of it": {"margin_vs_proven": {Min: unit.Some(5.0)}},
	} {
		of(name, func(j *job.Job) { j.Search = unit.Some(job.Search{Where: where}) }, "pgdown")
	}
	of("help", nil, "?")
	add("find, an empty drawer", func(t testing.TB) *Model {
		m := newBench(store.SampleBench(), nil)
		m.SetSize(120, 36)
		finish(m, press(m, "4"))
		return m
	})
	add("find, no such head", func(t testing.TB) *Model {
		m, f := onFind(t, nil)
		m.drawer = slices.DeleteFunc(m.drawer, func(p part.Part) bool { return p.Head.Value.Blades > 0 })
		f.at = len(asks(m)) + askHead
		finish(m, press(m, "+"))
		return m
	})
}

func TestEachKeyOfFindDoesWhatItSays(t *testing.T) {
	screen := func(x trial) *findScreen { return x.m.dialog.(*findScreen) }
	at := func(x trial, want int) { x.Helper(); x.want(screen(x).at == want, "the focus is on %d", screen(x).at) }
	list := asked(benchOf(t, nil))
	half := list / 2
	checkScope(t, keys.Default().Find, map[keys.Action]func(x trial){
		keys.Down: func(x trial) {
			x.press()
			at(x, 1)
			press(x.m, slices.Repeat([]string{"down"}, half-1)...)
			at(x, list) // from the last of a column to the list
		},
		keys.Up: func(x trial) {
			press(x.m, "pgdown")
			at(x, list)
			x.press()
			at(x, half-1)
			press(x.m, "home")
			x.press()
			at(x, 0)
		},
		keys.Right:    func(x trial) { x.press(); at(x, half) },
		keys.Left:     func(x trial) { press(x.m, "right"); x.press(); at(x, 0) },
		keys.PageDown: func(x trial) { x.press(); at(x, list) },
		keys.PageUp: func(x trial) {
			press(x.m, "end")
			was := screen(x).at
			x.press()
			x.want(screen(x).at < was && screen(x).at >= list, "at %d", screen(x).at)
		},
		keys.First: func(x trial) { press(x.m, "end"); x.press(); at(x, 0) },
		keys.Last:  func(x trial) { x.press(); at(x, list+len(screen(x).found.Builds)-1) },
		keys.Edit: func(x trial) {
			opens[*prompt](x)
			shows(x, x.m, "Total weight: at least 400, 480 to 500, or within 5 of B")
		},
		keys.Add: func(x trial) {
			press(x.m, "pgdown")
			want := screen(x).match(x.m).Clone()
			finish(x.m, x.press())
			b := x.m.Job().Builds
			x.want(len(b) == 4 && b[3].SamePieces(&want) && b[3].Name == "Found", "%s", names(x.m))
		},
		keys.More: func(x trial) {
			screen(x).at = len(asks(x.m)) + askHead
			finish(x.m, x.press())
			x.want(screen(x).head == "fixed broadhead", "heads: %s", screen(x).head)
		},
		keys.Less: func(x trial) {
			screen(x).at = len(asks(x.m)) + askNock
			finish(x.m, x.press())
			x.want(screen(x).nock == "lighted", "nocks: %s", screen(x).nock)
		},
		keys.Remove: func(x trial) {
			askFor(x, x.m, figure.FOC, "at least 14")
			x.want(len(questionOf(x.m).Where) == 1, "%v", questionOf(x.m).Where)
			finish(x.m, x.press())
			x.want(len(questionOf(x.m).Where) == 0, "%v", questionOf(x.m).Where)
		},
		keys.Sort: func(x trial) {
			finish(x.m, x.press())
			x.want(ranked(x.m) == figure.FOC && x.m.message == "Least FOC first.", "%q", x.m.message)
		},
		keys.Reverse: func(x trial) {
			finish(x.m, x.press())
			x.want(questionOf(x.m).Descending && x.m.message == "Most total weight first.", "%q", x.m.message)
		},
		keys.TradeOff: func(x trial) {
			finish(x.m, x.press())
			shows(x, x.m, "that nothing beats", "speed across, FOC up")
		},
		keys.FigureAcross: func(x trial) { finish(x.m, x.press()); shows(x, x.m, "total weight across, FOC up") },
		keys.FigureUp:     func(x trial) { finish(x.m, x.press()); shows(x, x.m, "speed across, total weight up") },
		keys.WantAcross: func(x trial) {
			x.press()
			x.want(strings.Contains(x.m.message, "wanting a low speed and a high FOC"), "%q", x.m.message)
		},
		keys.WantUp: func(x trial) {
			x.press()
			x.want(strings.Contains(x.m.message, "wanting a high speed and a low FOC"), "%q", x.m.message)
		},
		keys.Undo: func(x trial) {
			askFor(x, x.m, figure.FOC, "at least 14")
			was := screen(x).found.Matched
			finish(x.m, x.press())
			x.want(len(questionOf(x.m).Where) == 0 && screen(x).found.Matched > was, "%v", questionOf(x.m).Where)
		},
		keys.Redo: func(x trial) {
			askFor(x, x.m, figure.FOC, "at least 14")
			finish(x.m, press(x.m, "z"))
			finish(x.m, x.press())
			x.want(len(questionOf(x.m).Where) == 1, "%v", questionOf(x.m).Where)
		},
		keys.Command: func(x trial) { opens[*palette](x) },
		keys.Help:    func(x trial) { opens[*page](x) },
		keys.Dozen: func(x trial) {
			opens[*dozenScreen](x)
			x.want(len(x.m.under) == 0, "%d screens are under it", len(x.m.under))
		},
		keys.Drawer: func(x trial) {
			opens[*drawerScreen](x)
			x.want(len(x.m.under) == 0, "%d screens are under it", len(x.m.under))
		},
		keys.Open: func(x trial) {
			opens[*savedScreen](x)
			x.want(len(x.m.under) == 0, "%d screens are under it", len(x.m.under))
		},
		keys.SwapMap: func(x trial) {
			opens[*mapScreen](x)
			x.want(len(x.m.under) == 0, "%d dialogs are under it", len(x.m.under))
		},
		keys.Downrange: func(x trial) {
			opens[*rangeScreen](x)
			x.want(len(x.m.under) == 0, "%d dialogs are under it", len(x.m.under))
		},
		keys.Close: func(x trial) {
			before := x.m.Job().Encode()
			x.press()
			x.want(x.m.dialog == nil && bytes.Equal(before, x.m.Job().Encode()), "%T", x.m.dialog)
		},
	}, func(t testing.TB) *Model {
		m, _ := onFind(t, nil)
		return m
	})
}

// Every match lies in what was asked, by the sheet; the count is that of trying each.
func TestWhatIsFoundIsWhatWasAsked(t *testing.T) {
	m, f := onFind(t, nil)
	askFor(t, m, figure.TotalWeight, "within 20 gr of B")
	askFor(t, m, figure.FOC, "at least 14")
	askFor(t, m, figure.LaunchMargin, "0.85 to 1.2")
	askFor(t, m, figure.ImpactShift, "within 9 in at 60 yd")
	if f.found.Matched == 0 || f.found.Matched >= mostMatches {
		t.Fatalf("%d match", f.found.Matched)
	}
	b, _ := m.session.Sheet().Builds[1].Figure(figure.TotalWeight)
	for i := range f.found.Builds {
		j := m.Job().Clone()
		found := f.found.Builds[i].Clone()
		found.Name = "found"
		j.Builds = append(j.Builds, found)
		s := sheet.Evaluate(j)
		get := func(place int, k figure.Key) float64 {
			v, ok := s.Builds[3].Place(place).Figure(k)
			if !ok {
				t.Fatalf("match %d has no %s", i, k)
			}
			return k.Definition().Unit.Of(v.Value)
		}
		weight, foc, margin, shift := get(sheet.Whole, figure.TotalWeight), get(sheet.Whole, figure.FOC), get(sheet.Whole, figure.LaunchMargin), get(j.Farthest(), figure.ImpactShift)
		if math.Abs(weight-figure.TotalWeight.Definition().Unit.Of(b.Value)) > 20.001 || foc < 14 || margin < 0.85 || margin > 1.2 || math.Abs(shift) > 9 {
			t.Errorf("match %d: %.1f gr, %.1f %%, %.2f, %.1f in", i, weight, foc, margin, shift)
		}
		for _, c := range s.Builds[3].Cautions {
			if c.Level == caution.Danger {
				t.Errorf("match %d is a danger: %s", i, c.Text)
			}
		}
		if found.Head.Blades > 0 {
			t.Errorf("match %d has blades; A has a field point", i)
		}
	}
}

func TestRangesAreReadAsPeopleWriteThem(t *testing.T) {
	m := benchOf(t, nil)
	b, _ := m.session.Sheet().Builds[1].Figure(figure.TotalWeight)
	of := b.Value / float64(unit.Grain)
	m.Job().Builds[2].Name = "300 spine"
	c, _ := m.session.Sheet().Builds[2].Figure(figure.TotalWeight)
	ofC := c.Value / float64(unit.Grain)
	inf := math.Inf(1)
	setting := sheet.NewSetting(m.Job())
	at20 := setting.At(&m.Job().Builds[0], 20*unit.Yard)
	drop, _ := at20.Get(figure.Drop)
	dropOfA := drop / float64(unit.Inch)
	for _, c := range []struct {
		key       figure.Key
		typed     string
		low, high float64
		told      string
	}{
		{figure.FOC, "at least 13", 13, inf, "at least 13 %"}, {figure.FOC, "≥13 %", 13, inf, ""}, {figure.FOC, "13 or more", 13, inf, ""}, {figure.FOC, "13+", 13, inf, ""}, {figure.FOC, "from 13", 13, inf, ""},
		{figure.FOC, "at most 15.5", -inf, 15.5, "at most 15.5 %"}, {figure.FOC, "<= 15.5", -inf, 15.5, ""}, {figure.FOC, "up to 15.5", -inf, 15.5, ""},
		{figure.FOC, "13 to 15", 13, 15, "13 to 15 %"}, {figure.FOC, "13-15", 13, 15, ""}, {figure.FOC, "13 - 15 %", 13, 15, ""}, {figure.FOC, "between 13 and 15", 13, 15, ""}, {figure.FOC, "13..15", 13, 15, ""}, {figure.FOC, "from 13 to 15", 13, 15, ""},
		{figure.TotalWeight, "32 g to 33 g", 32 / 0.06479891, 33 / 0.06479891, ""}, {figure.TotalWeight, "490 ± 5", 485, 495, "485 to 495 gr"}, {figure.TotalWeight, "490+/-5", 485, 495, ""},
		{figure.TotalWeight, "within 5 of B", of - 5, of + 5, ""}, {figure.TotalWeight, "within 5 gr of even keel", of - 5, of + 5, ""}, {figure.TotalWeight, "b ± 5", of - 5, of + 5, ""}, {figure.TotalWeight, "Within 5 of 490", 485, 495, ""},
		{figure.ImpactShift, "1", -1, 1, "within 1 in at 60 yd"}, {figure.ImpactShift, "within 2 in at 40 yd", -2, 2, "within 2 in at 40 yd"}, {figure.ImpactShift, "−1 to 2.5 in", -1, 2.5, "−1 to 2.5 in at 60 yd"},
		{figure.LaunchMargin, "0.85 to 1.15", 0.85, 1.15, "0.85 to 1.15"},
		// A unit behind one of two numbers is that of both.
		{figure.LaunchSpeed, "85 to 90 m/s", 85 / 0.3048, 90 / 0.3048, ""}, {figure.TotalWeight, "31-32 g", 31 / 0.06479891, 32 / 0.06479891, ""}, {figure.TotalWeight, "31 ± 1 g", 30 / 0.06479891, 32 / 0.06479891, ""},
		{figure.TotalWeight, "31 g ± 1", 30 / 0.06479891, 32 / 0.06479891, ""}, {figure.TotalWeight, "within 1 g of 31", 30 / 0.06479891, 32 / 0.06479891, ""}, {figure.TotalWeight, "30 g to 500", 30 / 0.06479891, 500 / 0.06479891, ""},
		{figure.TotalWeight, "30 g to 31½", 30 / 0.06479891, 31.5 / 0.06479891, ""}, {figure.TotalWeight, "within 5 of 300 spine", ofC - 5, ofC + 5, ""},
		// The distance stands behind the last "at" that a number follows.
		{figure.Speed, "at least 250 ft/s at 40 yd", 250, inf, "at least 250 ft/s at 40 yd"}, {figure.Speed, "at most 250", -inf, 250, "at most 250 ft/s at 60 yd"}, {figure.ImpactShift, "at least -1 in at 60 yd", -1, inf, "at least −1 in at 60 yd"},
		{figure.ImpactShift, "within 1 in @ 60 yd", -1, 1, "within 1 in at 60 yd"}, {figure.Drop, "within 1 of A at 20 yd", dropOfA - 1, dropOfA + 1, ""},
	} {
		w, asked, err := m.readWindow(c.key, c.typed)
		low, high := -inf, inf
		if w.Min.Given {
			low = w.Min.Value
		}
		if w.Max.Given {
			high = w.Max.Value
		}
		near := func(a, b float64) bool { return a == b || math.Abs(a-b) < 1e-6*math.Abs(b) }
		if err != nil || !asked || !near(low, c.low) || !near(high, c.high) {
			t.Errorf("%q is read as %g to %g (%v, %v), want %g to %g", c.typed, low, high, asked, err, c.low, c.high)
			continue
		}
		told := m.windowWords(c.key, w)
		if c.told != "" && told != c.told {
			t.Errorf("%q is told as %q, want %q", c.typed, told, c.told)
		}
		// What is told can be typed again.
		again, _, err := m.readWindow(c.key, told)
		if err != nil || m.windowWords(c.key, again) != told {
			t.Errorf("%q typed again is %q, %v", told, m.windowWords(c.key, again), err)
		}
	}
	for _, typed := range []string{"", "any", " ANY "} {
		if _, asked, err := m.readWindow(figure.FOC, typed); asked || err != nil {
			t.Errorf("%q asks for something (%v)", typed, err)
		}
	}
	for _, c := range []struct {
		key         figure.Key
		typed, says string
	}{
		{figure.FOC, "13", "write a range, such as at least 12"}, {figure.FOC, "much", "write a range"}, {figure.FOC, "15 to 13", "the smaller number comes first"}, {figure.FOC, "at least much", "does not read as a number"},
		{figure.TotalWeight, "within 5 of Q", "neither a number nor a build"}, {figure.TotalWeight, "within x of B", "does not read as a number"}, {figure.ImpactShift, "1 at 0 yd", "must be more than 0"}, {figure.ImpactShift, "1 at 900 yd", "at most 200 yd"},
		{figure.MarginVsProven, "within 5 of B", "is not known"}, {figure.TotalWeight, "5 in to 6 in", "write a range"}, {figure.TotalWeight, "30 to 32 in", "write a range"},
	} {
		if _, asked, err := m.readWindow(c.key, c.typed); err == nil || asked || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q gives %v, want %q", c.typed, err, c.says)
		}
	}
}

func TestLengthsToTry(t *testing.T) {
	m, f := onFind(t, nil)
	f.at = len(asks(m)) + askLengths
	shows(t, m, "29, 29.5, 30 in")
	finish(m, typeIn(m, "28 1/2; 29, 29,0"))
	shows(t, m, "28.5, 29 in")
	if got := m.Job().Drawer.Value.Lengths; len(got) != 2 || f.found.Builds[0].Length > 29*unit.Inch {
		t.Errorf("%v", got)
	}
	for typed, says := range map[string]string{"2": "is no arrow", "x": "does not read as a number", "29, 70": "is no arrow", strings.Repeat("29, ", 30) + "28.5, 28": ""} {
		press(m, "enter")
		write(m, typed)
		if finish(m, press(m, "enter")); !strings.Contains(m.message, says) {
			t.Errorf("%q says %q", typed, m.message)
		}
		press(m, "esc")
		if m.dialog != dialog(f) {
			m.open(f)
		}
	}
	finish(m, press(m, "x"))
	if m.Job().Drawer.Given {
		t.Error("the lengths stay")
	}
}

// Where nothing matches it is told what to widen, and Enter widens it.
func TestNothingMatchesSaysWhatToWiden(t *testing.T) {
	m, f := onFind(t, nil)
	askFor(t, m, figure.FOC, "at least 40")
	shows(t, m, "0 of", "Nothing matches. Widening one of what is asked lets something in", "FOC down to")
	press(m, "pgdown")
	finish(m, press(m, "enter"))
	if f.found.Matched == 0 || f.narrow != nil {
		t.Errorf("widened it matches %d", f.found.Matched)
	}
	if w := questionOf(m).Where["foc"]; w.Min.Value > 40 || w.Min.Value < 15 {
		t.Errorf("FOC at least %g", w.Min.Value)
	}
	finish(m, press(m, "z"))
	shows(t, m, "at least 40 %", "Nothing matches")
	askFor(t, m, figure.TotalWeight, "at most 100")
	shows(t, m, "no arrow of this drawer has FOC at least 40 % (the nearest is 25.889 %), nor total weight at", "(the nearest is 351.9 gr)")
}

func TestASentenceSaysWhyThereIsNothing(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(j *job.Job)
		drawer func() []part.Part
		ask    func(m *Model, f *findScreen)
		says   string
	}{
		{"an empty drawer", nil, func() []part.Part { return nil }, nil, "The drawer has no shaft, and an arrow needs one"},
		{"no such head", nil, func() []part.Part {
			return slices.DeleteFunc(smallDrawer(), func(p part.Part) bool { return p.Head.Value.Blades == 0 && p.Kind == part.KindHead })
		}, nil, "The drawer has no head of that sort: ask for any."},
		{"no bow", noBow, smallDrawer, func(m *Model, f *findScreen) { askFor(t, m, figure.LaunchSpeed, "at least 200") }, "speed is not known"},
		{"nothing in stock", nil, func() []part.Part {
			d := smallDrawer()
			for i := range d {
				d[i].Shaft.Value.Stock.Given = false
			}
			return d
		}, func(m *Model, f *findScreen) {
			f.at = len(asks(m)) + askStock
			finish(m, press(m, "+"))
		}, "Nothing matches: no pieces of the drawer go together"},
		{"all a danger", func(j *job.Job) { j.Bow.Value.Draw = unit.Some(35 * unit.Inch) }, smallDrawer, nil, "into an arrow that is no danger"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := benchOf(t, c.change)
			m.drawer = c.drawer()
			before := m.Job().Encode()
			finish(m, press(m, "4"))
			f := m.dialog.(*findScreen)
			if c.ask != nil {
				c.ask(m, f)
				before = m.Job().Encode()
			}
			if got := strings.Join(strings.Fields(strings.Join(m.Lines(), " ")), " "); !strings.Contains(got, c.says) {
				t.Errorf("it shows %s", got)
			}
			press(m, "pgdown", "end", "a", "c", "esc")
			kept(t, m, before, c.name)
		})
	}
}

// On an empty bench a match becomes the first build; leaving ends the work.
func TestAMatchOnAnEmptyBench(t *testing.T) {
	m, f := onFind(t, builds(0), "pgdown")
	want := f.match(m).Clone()
	finish(m, press(m, "enter"))
	if b := m.Job().Builds; len(b) != 1 || !b[0].SamePieces(&want) {
		t.Errorf("%s", names(m))
	}
	w := press(m, "s").(Work)
	ctx := f.ctx
	press(m, "esc")
	if ctx.Err() != context.Canceled {
		t.Error("the work goes on")
	}
	was := f.found
	if finish(m, w); f.found != was {
		t.Error("what comes too late is taken")
	}
}

// Taken into the column in focus a match keeps the column's name, and undo brings
// back what was there.
func TestAMatchIntoTheColumn(t *testing.T) {
	m, f := onFind(t, nil, "right", "pgdown", "down")
	want := f.match(m).Clone()
	was := m.Job().Builds[0]
	press(m, "enter")
	if b := m.Job().Builds[0]; b.Name != was.Name || !b.SamePieces(&want) || b.Proven {
		t.Errorf("%+v", b)
	}
	press(m, "z")
	if b := m.Job().Builds[0]; !b.SamePieces(&was) {
		t.Error("undo does not bring it back")
	}
}

func TestClicksOnFind(t *testing.T) {
	m, f := onFind(t, nil)
	m.Lines()
	half := (asked(m) + 1) / 2
	for _, c := range []struct{ x, y, at int }{{5, 1, 0}, {5, 3, 2}, {70, 2, half + 1}, {5, half + 3, asked(m)}, {5, half + 5, asked(m) + 2}} {
		if f.click(m, c.x, c.y); f.at != c.at {
			t.Errorf("a click at %d, %d goes to %d, want %d", c.x, c.y, f.at, c.at)
		}
		if !f.click(m, c.x, c.y) {
			t.Errorf("a second click at %d, %d is not told", c.x, c.y)
		}
	}
	for _, y := range []int{-1, 0, half + 1, half + 2, 500} {
		was := f.at
		if f.click(m, 5, y) || f.at != was {
			t.Errorf("a click at line %d goes to %d", y, f.at)
		}
	}
	press(m, "c")
	m.Lines()
	if f.click(m, 5, half+3+f.chartHeight); f.at != asked(m) {
		t.Errorf("a click below the chart goes to %d", f.at)
	}
}

// The list of the trade-off is what nothing beats, and dots stand for all.
func TestTheTradeOffIsDrawn(t *testing.T) {
	m, f := onFind(t, nil, "c")
	lines := strings.Join(m.Lines(), "\n")
	if n := strings.Count(lines, "●"); n < 2 || !strings.Contains(lines, "·") {
		t.Errorf("%d dots of the front in\n%s", n, lines)
	}
	for i := range f.edge.Builds {
		for _, other := range f.dots {
			if mine := f.dots[i]; (other.x > mine.x || other.y > mine.y) && other.x >= mine.x && other.y >= mine.y {
				t.Fatalf("%v beats %v", other, mine)
			}
		}
	}
	press(m, "pgdown")
	if lines := strings.Join(m.Lines(), "\n"); !strings.Contains(lines, "X") {
		t.Error("the one in focus is not marked")
	}
}

// What is in sight from the question before cannot be taken for the one that is asked
// now.
func TestWhatWasFoundBeforeIsNotTaken(t *testing.T) {
	m, f := onFind(t, nil, "c", "pgdown")
	before := m.Job().Builds[0].Clone()
	f.at = slices.IndexFunc(asks(m), func(a asking) bool { return a.key == figure.FOC })
	w := typeIn(m, "at least 45").(Work)
	press(m, "end")
	asks := m.Job()
	if r := press(m, "enter"); r != nil || m.Job() != asks || !strings.Contains(m.message, "Wait for") {
		t.Errorf("Enter asks for %v and says %q", r, m.message)
	}
	if press(m, "a"); len(m.Job().Builds) != 3 {
		t.Error("something was added")
	}
	told := 0
	w.Do(func(what any) { // while it looks for what to widen there is nothing to take either
		m.Told(w, what)
		press(m, "end", "enter", "a")
		told++
	})
	if b := m.Job().Builds[0]; told < 2 || len(m.Job().Builds) != 3 || !b.SamePieces(&before) {
		t.Errorf("after %d reports it is %s", told, b.Head.Name)
	}
}

// On an empty bench nobody knows with which arrow marks were shot, and there is no mark
// to share.
func TestFindOnAnEmptyBenchHasNoBaseline(t *testing.T) {
	m, f := onFind(t, func(j *job.Job) { manyMarks(6)(j); j.Builds = nil })
	first := f.found.Builds[0]
	plain, _ := onFind(t, builds(0))
	want, got := sheet.NewSetting(plain.finding.looked), sheet.NewSetting(f.looked)
	if a, b := want.One(&first, figure.LaunchSpeed, 0), got.One(&first, figure.LaunchSpeed, 0); a != b {
		t.Errorf("with marks it leaves at %g m/s, without at %g", b, a)
	}
	askFor(t, m, figure.ImpactShift, "within 1 in")
	shows(t, m, "“Same mark” compares with the baseline, and there is no build on the bench")
}

// A page up from what is asked goes to its first line, and Enter there types into it.
func TestPageUpFromTheQuestionStaysOnIt(t *testing.T) {
	m := benchOf(t, nil)
	m.drawer = smallDrawer()
	finish(m, press(m, "4"))
	press(m, "down", "pgup")
	if at := m.dialog.(*findScreen).at; at != 0 {
		t.Errorf("line %d", at)
	}
	press(m, "pgup", "enter")
	if !m.Typing() {
		t.Errorf("nothing is typed into: %s", m.message)
	}
}
