package bench

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/ui/frame"
	"foreshaft/ui/present"
)

// inOrder reports whether a line holds words one behind the other.
func inOrder(line string, words []string) bool {
	for _, w := range words {
		_, behind, found := strings.Cut(line, w)
		if !found {
			return false
		}
		line = behind
	}
	return true
}

// linesWith returns the lines of a frame that begin so, without the mark of the
// focus.
func linesWith(frame []string, label string) (out []string) {
	for _, line := range frame {
		if strings.HasPrefix(strings.TrimLeft(line, "▸• "), label+" ") {
			out = append(out, line)
		}
	}
	return out
}

// The table shows one figure of each build at each distance, the lines below it
// every figure at the distance in focus, and f goes through all figures and comes
// back.
func TestTheTableShowsTheFigureOfEachBuildAtEachDistance(t *testing.T) {
	for _, units := range []unit.System{{}, metric} {
		for _, change := range []func(j *job.Job){onSlope, nil, distances(9)} {
			m, r := onRange(t, change)
			m.setUnits(units)
			m.SetSize(123, 60) // three columns of 36 cells
			before, list := m.Job().Encode(), m.Job().DistancesOrDefault()
			shown := r.figuresBelow(m) // what to hold for on a slope alone
			for i := range shown {
				k, s := shown[i], m.session.Sheet()
				press(m, "home", "down", "down")
				lines := m.Lines()
				// What the line of a figure at a distance shows, build by build.
				cells := func(n int, k figure.Key) (out []string) {
					for b := range s.Builds {
						out = append(out, present.FigureCellAt(s, b, n, k).Text(34))
					}
					return out
				}
				head := s.Unit(k).Symbol + " · " + k.Definition().Means[:20]
				if found := linesWith(lines, k.Definition().Title); len(found) == 0 || !strings.Contains(found[0], head) {
					t.Errorf("%s does not say %q in %q", k, head, found)
				}
				if found := linesWith(lines, "─ at "+units.Distance(list[1], 4)); len(found) != 1 {
					t.Errorf("nothing says that the figures below are at %s", units.Distance(list[1], 4))
				}
				for n, d := range list {
					if found := linesWith(lines, units.Distance(d, 4)); len(found) != 1 || !inOrder(found[0], cells(n, k)) {
						t.Errorf("%s at %s: %q, want %q", k, units.Distance(d, 4), found, cells(n, k))
					}
				}
				for _, below := range r.figuresBelow(m) {
					found := linesWith(lines, below.Definition().Title)
					if !slices.ContainsFunc(found, func(line string) bool { return inOrder(line, cells(1, below)) }) {
						t.Errorf("%s below the table is %q, want %q", below, found, cells(1, below))
					}
				}
				press(m, "f")
				if next := shown[(i+1)%len(shown)]; r.shown() != next || !strings.HasPrefix(m.message, capital(next.Definition().Title)+": ") {
					t.Errorf("behind %s comes %s, want %s; it says %q", k, r.shown(), next, m.message)
				}
			}
			if r.shown() != figure.SightMark {
				t.Errorf("all the way round it shows %s", r.shown())
			}
			for i := range shown {
				if press(m, "F"); r.shown() != shown[len(shown)-1-i] {
					t.Errorf("F %d times shows %s", i+1, r.shown())
				}
			}
			kept(t, m, before, "after looking")
		}
	}
}

// What to hold for is told on a slope alone: on the level it is the distance.
func TestWhatToHoldForIsToldOnASlope(t *testing.T) {
	m, _ := onRange(t, nil)
	if strings.Contains(screen(m), "hold for") {
		t.Errorf("on the level it tells what to hold for:\n%s", screen(m))
	}
	onCondition(t, m, "slope_deg")
	typeIn(m, "30")
	press(m, "end")
	cell := regexp.MustCompile(`\n hold for +(\d+\.\d+) ± `).FindStringSubmatch(screen(m))
	if cell == nil {
		t.Fatalf("on a slope it does not tell what to hold for:\n%s", screen(m))
	}
	// Of 60 yd on 30° the level part is 52.0, and an arrow that climbs is slower: it
	// is held for a little more than that, and less than the whole.
	if cell[1] < "51" || cell[1] > "55" {
		t.Errorf("60 yd uphill by 30° are held for %s yd", cell[1])
	}
	press(m, "z")
	if strings.Contains(screen(m), "hold for") {
		t.Error("after undo it still tells what to hold for")
	}
}

// What a path lacks is said in a sentence and in every cell, in full where it is
// asked for; nothing else is lost by it.
func TestWhatAPathLacksIsSaid(t *testing.T) {
	for _, c := range []struct {
		name         string
		change       func(j *job.Job)
		message, why string
		strip        bool // there are marks all the same, of other distances
	}{
		{"no bow", noBow, "No path: Open ground needs a chronograph reading or the bow's rated speed.", "needs a chronograph reading", false},
		{"no sight", noSight, "No marks yet. They need the sight, which i opens: how far the peep is above the nock at full draw.", "needs the sight: how far", false},
		{"no diameter", noDiameter, "No path: Open ground needs the shaft's outer diameter.", "needs the shaft's outer diameter", false},
		{"too far", slowBow, "Distances down, builds across.", "is out of reach: no launch angle", true},
	} {
		for _, size := range [][2]int{{80, 24}, {120, 36}} {
			m, r := onRange(t, c.change)
			m.SetSize(size[0], size[1])
			before := m.Job().Encode()
			if got := oneLine(screen(m)); !strings.Contains(got, c.message) {
				t.Errorf("%s at %v: it does not say %q:\n%s", c.name, size, c.message, screen(m))
			}
			shows(t, m, "[– "+c.why[:14])
			if q := press(m, "y"); q != nil || !strings.Contains(m.message, "There is no sight mark at ") || !strings.Contains(m.message, " yd to copy: it "+c.why) {
				t.Errorf("%s: y asks for %+v and says %q", c.name, q, m.message)
			}
			press(m, "p")
			switch q := press(m, "enter").(type) {
			case nil:
				if c.strip || m.dialog == r || !strings.Contains(m.message, c.why) {
					t.Errorf("%s: a strip is answered by %q", c.name, m.message)
				}
				press(m, "esc")
			default:
				if _, writes := q.(Write); !writes || !c.strip {
					t.Errorf("%s: a strip asks for %+v", c.name, q)
				}
			}
			press(m, "e")
			if got := oneLine(screen(m)); !strings.Contains(got, "absent: "+c.why) {
				t.Errorf("%s: the working does not say why:\n%s", c.name, screen(m))
			}
			for _, key := range []string{"esc", "c", "f", "f", "right", "home", "right", "+", "z", "end"} {
				press(m, key)
				checkFrame(t, c.name+", "+key, m.Lines(), size[0], size[1])
			}
			kept(t, m, before, c.name+": after keys")
		}
	}
	m, _ := onRange(t, slowBow)
	for i, b := range m.session.Sheet().Builds {
		if mark, ok := b.At[0].Figure(figure.SightMark); !ok || mark.Value <= 0 {
			t.Errorf("build %d does not reach 20 yd", i)
		}
	}
	shows(t, m, present.FigureCellAt(m.session.Sheet(), 0, 0, figure.SightMark).Text(33))
}

// However many builds there are, those in sight are the ones that the bench shows,
// with the baseline and the one in focus among them.
func TestTheDownrangeScreenShowsTheColumnsOfTheBench(t *testing.T) {
	for _, n := range []int{1, 2, 8, 64} {
		for _, size := range [][2]int{{80, 24}, {120, 36}, {200, 60}} {
			m, _ := onRange(t, func(j *job.Job) { builds(n)(j); j.Baseline = n / 2 })
			m.SetSize(size[0], size[1])
			for range min(n+1, 12) {
				l := frame.LayBench(size[0], size[1], n, m.col, n/2, 0)
				want := []string{}
				for _, c := range l.Columns {
					want = append(want, present.Letter(c.Build)+" Build "+fmt.Sprint(c.Build+1))
				}
				if names := m.Lines()[2]; !inOrder(names, want) || !strings.Contains(names, "▸"+present.Letter(m.col)+" ") || !strings.Contains(names, "◆") {
					t.Errorf("%d builds at %v: %q, want %q", n, size, names, want)
				}
				if out := screen(m); strings.Count(out, "[") != 1 || strings.Count(out, "]") != 1 {
					t.Errorf("%d builds at %v: the focus is not shown by one pair of brackets:\n%s", n, size, out)
				}
				press(m, "right")
			}
		}
	}
	for _, change := range []func(j *job.Job){builds(0), func(j *job.Job) { *j = *job.New() }} {
		m, r := onRange(t, change)
		shows(t, m, "There is no build on the bench: Esc goes back, where a adds one.", "▸     60 yd")
		for _, key := range []string{"e", "d", "p", "y"} {
			if q := press(m, key); q != nil || m.dialog != r || !strings.Contains(m.message, "There is no build") {
				t.Errorf("%s without a build asks for %+v, opens %T and says %q", key, q, m.dialog, m.message)
			}
		}
		press(m, "c", "f", "right", "left", "x", "home", "+", "z", "z")
		checkFrame(t, "no build", m.Lines(), 120, 36)
	}
}

// In mono the brackets are all that shows the focus: they are there whole on each
// condition, however long the others are.
func TestTheFocusOnTheConditionsIsAlwaysInSight(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {120, 36}} {
		for _, units := range []unit.System{{}, metric} {
			for _, change := range []func(j *job.Job){nil, longConditions, func(j *job.Job) { *j = *job.New() }} {
				m, r := onRange(t, change)
				m.setUnits(units)
				m.SetSize(size[0], size[1])
				press(m, "home")
				for i := range sightItem + 1 {
					want := sightTold(m.Job())
					if i < sightItem {
						want = conditions[i].told(m)
					}
					line := m.Lines()[1]
					if r.item != i || strings.Count(line, "[") != 1 || !strings.Contains(line, "["+want+"]") {
						t.Errorf("%v, condition %d of %d: %q, want [%s]", size, r.item, i, line, want)
					}
					if press(m, "enter"); m.Typing() && !strings.Contains(m.Lines()[1], "▏") {
						t.Errorf("%v: the cursor on condition %d is out of sight: %q", size, i, m.Lines()[1])
					}
					press(m, "esc", "right")
				}
				if r.item != sightItem {
					t.Errorf("beyond the last is condition %d", r.item)
				}
			}
		}
	}
	// As long as all has room it is all there.
	for _, c := range []struct {
		change func(j *job.Job)
		says   string
	}{{nil, "sight entered"}, {noSight, "sight not entered"}, {manyMarks(1), "sight 1 mark "}, {manyMarks(4), "sight 4 marks"}} {
		m, _ := onRange(t, c.change)
		m.SetSize(80, 24)
		if line := m.Lines()[1] + " "; !inOrder(line, []string{" wind 10 mph ", " slope 0° ", " radius 4 in ", " air 15 °C ", " 1013 hPa ", c.says}) {
			t.Errorf("the conditions are %q, want %s", line, c.says)
		}
	}
}

// charted reports whether a chart of a figure is on the screen: its title, a curve
// for each build and the distances below.
func charted(m *Model, k figure.Key) bool {
	title := " " + k.Definition().Title
	if symbol := m.session.Sheet().Unit(k).Symbol; symbol != "" {
		title += ", " + symbol
	}
	return regexp.MustCompile(`(?m)^`+regexp.QuoteMeta(title)+`$`).MatchString(screen(m)) && strings.Contains(screen(m), "┤") && strings.Contains(screen(m), "60 yd\n")
}

func TestTheChartIsShownOnRequestOrWhereItHasRoom(t *testing.T) {
	for i, k := range rangeFigures {
		m, _ := onRange(t, onSlope)
		press(m, slices.Repeat([]string{"f"}, i)...)
		for range 2 {
			m.SetSize(120, 36)
			if !charted(m, k) {
				t.Errorf("120×36 shows no chart of %s:\n%s", k, screen(m))
			}
			shows(t, m, " flight time ", "▸A", "C", "B")
			m.SetSize(80, 24)
			if charted(m, k) {
				t.Errorf("80×24 shows a chart that nobody asked for:\n%s", screen(m))
			}
			shows(t, m, " speed left ")
			press(m, "c")
			if !charted(m, k) || strings.Contains(screen(m), " momentum left ") && k != figure.Momentum {
				t.Errorf("80×24 does not show the chart of %s in place of the figures:\n%s", k, screen(m))
			}
			press(m, "c")
		}
	}
	// Of many builds as many curves as can be told apart, that of the one in focus
	// always: the letters on the chart are theirs alone.
	for col, want := range map[int]string{0: "ABCDEFGH", 5: "ABCDEFGH", 15: "ABCDEFGHP", 19: "ABCDEFGHT"} {
		m, _ := onRange(t, func(j *job.Job) {
			builds(20)(j)
			for i := range j.Builds {
				j.Builds[i].Head.Weight = unit.Mass(80+8*i) * unit.Grain
			}
		})
		m.SetSize(200, 60)
		press(m, slices.Repeat([]string{"right"}, col)...)
		_, chart, _ := strings.Cut(screen(m), "\n sight mark, in\n")
		chart, _, _ = strings.Cut(chart, "└┬")
		letters := slices.Compact(slices.Sorted(slices.Values(regexp.MustCompile(`[A-Z]`).FindAllString(chart, -1))))
		if got := strings.Join(letters, ""); got != want || !strings.Contains(chart, "▸"+present.Letter(col)) {
			t.Errorf("with %s in focus the curves are %s, want %s:\n%s", present.Letter(col), got, want, chart)
		}
	}
}

// The working says which figure it is of, of which build and at which distance.
func TestTheWorkingNamesTheDistance(t *testing.T) {
	for i, k := range rangeFigures {
		m, r := onRange(t, onSlope)
		press(m, slices.Repeat([]string{"f"}, i)...)
		press(m, "up", "right", "e")
		shows(t, m, "\n "+k.Definition().Title+" of B Even keel at 50 yd\n", m.session.Sheet().WorkingAt(1, 3, k).Result)
		if press(m, "esc"); m.dialog != r || r.at != 4 {
			t.Errorf("Esc leads to %T", m.dialog)
		}
		m.setUnits(metric)
		press(m, "e")
		shows(t, m, " of B Even keel at 45.72 m\n")
	}
}
