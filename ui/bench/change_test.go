package bench

import (
	"bytes"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/bow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
)

// actions are all ways to change a bench by keys, as many changes each as it
// takes to take them back.
var actions = []struct {
	name  string
	times int
	do    func(t testing.TB, m *Model)
}{
	{"heavier part", 1, func(t testing.TB, m *Model) { press(m, "+") }},
	{"lighter part", 1, func(t testing.TB, m *Model) { press(m, "right", "-") }},
	{"longer", 1, func(t testing.TB, m *Model) { press(onSlot(m, present.SlotLength), "+") }},
	{"shorter", 1, func(t testing.TB, m *Model) { press(onSlot(m, present.SlotLength), "-") }},
	{"collar taken out", 1, func(t testing.TB, m *Model) { press(onSlot(m, kindSlot(part.KindCollar)), "right", "-", "-", "-") }},
	{"part chosen", 1, func(t testing.TB, m *Model) { press(m, "enter", "down", "enter") }},
	{"part chosen by typing", 1, func(t testing.TB, m *Model) { press(m, "enter"); write(m, "100"); press(m, "enter") }},
	{"weight typed", 1, func(t testing.TB, m *Model) { press(m, "enter"); write(m, "63.5"); press(m, "end", "pgdown", "enter") }},
	{"length typed", 1, func(t testing.TB, m *Model) {
		press(onSlot(m, present.SlotLength), "enter")
		write(m, "31")
		press(m, "enter")
	}},
	{"extra typed", 1, func(t testing.TB, m *Model) {
		press(onSlot(m, present.SlotExtras), "enter")
		write(m, "3 gr at 28 in")
		press(m, "enter")
	}},
	{"extra taken off", 2, func(t testing.TB, m *Model) {
		press(onSlot(m, present.SlotExtras), "enter")
		write(m, "3 gr at 28 in")
		press(m, "enter", "enter")
		write(m, " ")
		press(m, "enter")
	}},
	{"added", 1, func(t testing.TB, m *Model) { press(m, "a") }},
	{"duplicated", 1, func(t testing.TB, m *Model) { press(m, "d") }},
	{"removed", 1, func(t testing.TB, m *Model) { press(m, "x") }},
	{"all removed", 3, func(t testing.TB, m *Model) { press(m, "x", "x", "x") }},
	{"renamed", 1, func(t testing.TB, m *Model) { press(m, "r"); write(m, "Other"); press(m, "enter") }},
	{"moved right", 1, func(t testing.TB, m *Model) { press(m, ">") }},
	{"moved left", 1, func(t testing.TB, m *Model) { press(m, "right", "<") }},
	{"baseline", 1, func(t testing.TB, m *Model) { press(m, "right", "n") }},
	{"bench cleared", 1, func(t testing.TB, m *Model) { press(m, "X", "enter") }},
	{"sample bench put back", 2, func(t testing.TB, m *Model) { press(m, "x", "X", "down", "down", "enter") }},
	{"bench opened", 1, func(t testing.TB, m *Model) {
		opened := store.SampleBench()
		opened.Builds = opened.Builds[1:]
		openSaved(t, m, Entry{Name: "Saved"}, opened)
	}},
	{"build opened", 1, func(t testing.TB, m *Model) {
		openSaved(t, m, Entry{Name: "Saved", What: SavedBuild}, store.BuildOf(store.SampleBench(), 1))
	}},
	{"kind of bow", 1, func(t testing.TB, m *Model) { press(onBowField(t, m, "kind", false), "+", "esc") }},
	{"peak weight", 1, func(t testing.TB, m *Model) {
		press(onBowField(t, m, "peak_weight_lb", false), "enter")
		write(m, "60")
		press(m, "enter", "esc")
	}},
	{"reading added", 1, func(t testing.TB, m *Model) { addReading(m, "480", "276", "1"); press(m, "esc") }},
	{"reading removed", 1, func(t testing.TB, m *Model) { press(onReading(m, 0, 0), "x", "esc") }},
	{"reading changed", 1, func(t testing.TB, m *Model) {
		press(onReading(m, 1, 1), "enter")
		write(m, "263")
		press(m, "enter", "esc")
	}},
	{"rating", 1, func(t testing.TB, m *Model) {
		press(onBowField(t, m, "speed_fps", true), "enter")
		write(m, "330")
		press(m, "enter", "esc")
	}},
}

// addReading opens the form and enters a reading.
func addReading(m *Model, cells ...string) {
	press(m, "b", "a")
	for _, c := range cells {
		write(m, c)
		press(m, "enter")
	}
}

func TestUndoTakesEachChangeBackAndRedoMakesItAgain(t *testing.T) {
	for _, a := range actions {
		t.Run(a.name, func(t *testing.T) {
			m := benchOf(t, nil)
			before := m.Job().Encode()
			a.do(t, m)
			after := m.Job().Encode()
			if m.dialog != nil {
				t.Fatalf("still in %T: %s", m.dialog, m.message)
			}
			if a.times == 1 && bytes.Equal(before, after) {
				t.Fatalf("nothing changed: %s", m.message)
			}
			if _, err := job.DecodeBench(after); err != nil {
				t.Fatalf("the bench could not be read back: %v", err)
			}
			for i := range a.times {
				here := m.Job().Encode()
				if press(m, "z"); bytes.Equal(here, m.Job().Encode()) {
					t.Errorf("undo %d changes nothing", i+1)
				}
				if !strings.HasPrefix(m.message, "Undone: ") {
					t.Errorf("undo says %q", m.message)
				}
			}
			kept(t, m, before, "after undo")
			for range a.times {
				press(m, "Z")
			}
			kept(t, m, after, "after redo")
			checkFrame(t, a.name, m.Lines(), 120, 36)
		})
	}
}

func TestNothingToUndoSaysSo(t *testing.T) {
	m := benchOf(t, nil)
	for _, press1 := range []string{"z", "Z"} {
		if press(m, press1); !strings.HasPrefix(m.message, "Nothing to ") {
			t.Errorf("%s says %q", press1, m.message)
		}
	}
}

func TestTheEffectLineSaysWhatAStepDid(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {120, 36}, {200, 60}} {
		m := benchOf(t, nil)
		m.SetSize(size[0], size[1])
		before := m.Job().Builds[0]
		press(m, "+")
		after := m.Job().Builds[0]
		added := after.Insert.Value.Weight - before.Insert.Value.Weight
		figures, _ := present.Signed(added.In(unit.Grain), 0)
		if !regexp.MustCompile(`insert .*→.*: .*` + regexp.QuoteMeta(figures) + `.* gr.*FOC \+.* %.*−.* ft/s`).MatchString(m.effect) {
			t.Errorf("the effect of %s gr is %q", figures, m.effect)
		}
		shows(t, m, "insert ", " → ", "FOC +")
		press(m, "down")
		shows(t, m, "FOC +") // it stays while moving within the build
		press(m, "right")
		if m.effect != "" {
			t.Errorf("on another build the effect line still says %q", m.effect)
		}
	}
}

func TestWhatChangedIsMarkedByACharacter(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "+", "home")
	marked := map[string]bool{}
	for _, line := range m.Lines() {
		if title := strings.TrimSpace(strings.TrimPrefix(line[:18], "▸")); strings.Contains(line, "●") {
			marked[strings.Fields(title)[0]] = true
		}
	}
	for _, want := range []string{"insert", "total", "front", "FOC", "speed"} {
		if !marked[want] {
			t.Errorf("the row %s is not marked; marked are %v", want, marked)
		}
	}
	for _, not := range []string{"shaft", "length", "nock"} {
		if marked[not] {
			t.Errorf("the row %s is marked and did not change", not)
		}
	}
	press(m, "right")
	if strings.Contains(screen(m), "●") {
		t.Error("another build is marked by what changed in the first")
	}
}

func TestTheFocusIsMarkedByACharacter(t *testing.T) {
	for row := range allRows {
		for col := range 3 {
			m := benchOf(t, nil)
			m.depth = max(Common, allRows[row].depth)
			m.row, m.col = row, col
			if m.hidden(row) { // nothing to tell in it here
				continue
			}
			out := screen(m)
			if strings.Count(out, "[") != 1 || strings.Count(out, "]") != 1 {
				t.Errorf("row %d of build %d: the focus is not shown by one pair of brackets\n%s", row, col, out)
			}
			if !strings.Contains(out, "▸"+present.Letter(col)+" ") {
				t.Errorf("row %d: the name of build %d is not marked", row, col)
			}
			title := string(allRows[row].slot)
			if r := allRows[row]; r.caution {
				title = "cautions"
			} else if !r.isSlot {
				title = r.figure.Definition().Title
			}
			if !strings.Contains(out, "\n▸"+title) {
				t.Errorf("row %d: %s is not marked", row, title)
			}
		}
	}
}

func TestADangerStaysOnTheScreenInWords(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {120, 36}, {200, 60}} {
		for _, presses := range [][]string{nil, {"end"}, {"right", "right"}, {"right", "+"}, {"r"}, {"up", "enter"}} {
			m := benchOf(t, tooLight)
			m.SetSize(size[0], size[1])
			press(m, presses...)
			shows(t, m, "!! too light, near a dry fire: A")
			// The build is told by its column too.
			shows(t, m, "!! light arrow")
		}
	}
}

func TestADangerOutOfSightIsStillSaid(t *testing.T) {
	m := benchOf(t, lastTooLight)
	m.SetSize(80, 24)
	shows(t, m, "!! ", "too light, near a dry fire: J")
}

func TestADangerGoesWhenItIsMended(t *testing.T) {
	m := benchOf(t, func(j *job.Job) { j.Bow.Value.MinimumArrow = unit.Some(405 * unit.Grain) })
	shows(t, m, "!! too light, near a dry fire: A")
	onSlot(m, kindSlot(part.KindHead))
	press(m, "+", "+")
	if out := screen(m); strings.Contains(out, "!!") {
		t.Errorf("with 50 gr more the danger is still there:\n%s", out)
	}
}

func TestPartsThatDoNotFitSaySo(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "enter", "pgdown", "pgdown", "pgdown", "pgdown")
	p := m.dialog.(*picker)
	why := p.found[p.at].misfit
	if why == "" {
		t.Fatalf("the last in the list, %s, fits", p.found[p.at].part.Name())
	}
	shows(t, m, "does not fit", why[:60])
	press(m, "enter")
	if m.message != why {
		t.Errorf("choosing it says %q, want %q", m.message, why)
	}
	if got := session.Fits(&benchOf(t, nil).Job().Builds[0], p.found[p.at].part, unit.System{}); got != why {
		t.Errorf("fit is judged as %q", got)
	}
	shows(t, m, "misfit")
}

func TestThePickerOffersWhatFitsFirstByWeight(t *testing.T) {
	for _, k := range part.Kinds {
		m := onSlot(benchOf(t, nil), kindSlot(k))
		press(m, "enter")
		p := m.dialog.(*picker)
		last, misfits := unit.Mass(-1), false
		for _, o := range p.found {
			if o.without {
				continue
			}
			if o.misfit == "" && misfits {
				t.Errorf("%s stands behind parts that do not fit", o.part.Name())
			}
			if o.misfit != "" && !misfits {
				misfits, last = true, -1
			}
			if w := o.part.Weight(m.build().Tube()); w < last {
				t.Errorf("%s stands behind a heavier %s", o.part.Name(), k)
			} else {
				last = w
			}
		}
		if held, has := session.Held(m.build(), k); has && !p.found[p.at].held {
			t.Errorf("the list does not begin on the %s the build has, %s", k, held.Name())
		}
	}
}

func TestThePickerSaysWhatAChoiceWouldDo(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "enter")
	if words := m.dialog.(*picker).preview(m); !strings.HasPrefix(words, "No change") {
		t.Errorf("choosing the same again would make %q", words)
	}
	press(m, "down")
	words := m.dialog.(*picker).preview(m)
	shows(t, m, words[:40])
	press(m, "enter")
	if _, said, _ := strings.Cut(m.effect, ":  "); !strings.HasSuffix(words, said) {
		t.Errorf("it promised %q and did %q", words, said)
	}
}

func TestAPartOfTheDrawerThatWasWeighedIsOfferedWithThatWeight(t *testing.T) {
	m := benchOf(t, nil)
	i := slices.IndexFunc(m.drawer, func(p part.Part) bool { return p.Kind == part.KindHead })
	m.drawer[i].Measured = unit.Some(part.Measured{Weight: 126.2 * unit.Grain, WeightU: 0.1 * unit.Grain, Count: 6})
	press(onSlot(m, kindSlot(part.KindHead)), "enter")
	write(m, "126.2")
	shows(t, m, "126.2")
	press(m, "enter")
	if got := m.Job().Builds[0].Head.Weight.In(unit.Grain); got < 126.19 || got > 126.21 {
		t.Errorf("the head weighs %g gr, want what the scale said", got)
	}
}

func TestNoFurtherPartSaysSo(t *testing.T) {
	m := benchOf(t, nil)
	for range 20 {
		press(m, "+")
	}
	before := m.Job().Encode()
	press(m, "+")
	kept(t, m, before, "beyond the heaviest")
	if !strings.Contains(m.message, "heavier insert") {
		t.Errorf("it says %q", m.message)
	}
	press(onFigure(t, m, figure.FOC), "+")
	kept(t, m, before, "on a figure")
	if m.message == "" {
		t.Error("+ on a figure says nothing")
	}
}

func TestAFullBenchSaysSo(t *testing.T) {
	m := benchOf(t, builds(job.MostBuilds))
	before := m.Job().Encode()
	for _, press1 := range []string{"a", "d"} {
		if press(m, press1); !strings.Contains(m.message, "64") {
			t.Errorf("%s says %q", press1, m.message)
		}
	}
	openSaved(t, m, Entry{Name: "Saved", What: SavedBuild}, store.BuildOf(store.SampleBench(), 0))
	kept(t, m, before, "on a full bench")
}

func TestRenamingAProvenBuildTakesTheBowAlong(t *testing.T) {
	m := benchOf(t, func(j *job.Job) { j.Bow.Value.Proven = j.Builds[0].Name })
	press(m, "r")
	write(m, "Other")
	press(m, "enter")
	if got := m.Job().Bow.Value.Proven; got != "Other" {
		t.Errorf("the bow's proven build is %q", got)
	}
}

func TestSamplePartsGoAndComeBack(t *testing.T) {
	m := benchOf(t, nil)
	before := m.Job().Encode()
	all := len(m.drawer)
	r, ok := press(m, "X", "down", "enter").(KeepParts)
	if !ok || len(r.Parts) != all || slices.ContainsFunc(r.Parts, func(p part.Part) bool { return !p.Retired }) {
		t.Errorf("it asks to keep %d parts of %d", len(r.Parts), all)
	}
	kept(t, m, before, "after hiding the sample parts")
	if press(m, "a"); len(m.Job().Builds) != 3 || m.message == "" {
		t.Errorf("a build from an empty drawer: %d builds, %q", len(m.Job().Builds), m.message)
	}
	press(m, "enter")
	if p := m.dialog.(*picker); slices.ContainsFunc(p.found, func(o option) bool { return o.part.Sample }) {
		t.Error("hidden parts are offered")
	}
	r, ok = press(m, "esc", "X", "down", "enter").(KeepParts)
	if !ok || len(r.Parts) != all || r.Parts[0].Retired {
		t.Errorf("it asks to keep %d parts", len(r.Parts))
	}
	if press(m, "a"); len(m.Job().Builds) != 4 {
		t.Errorf("with the parts back there are %d builds: %s", len(m.Job().Builds), m.message)
	}
}

// Someone who types a weight gets that weight: never another part by the
// closeness of its letters, least of all one that does not fit.
func TestATypedWeightIsTheWeightOfTheBuild(t *testing.T) {
	for _, c := range []struct {
		kind part.Kind
		text string
	}{{part.KindInsert, "51"}, {part.KindInsert, "120 gr"}, {part.KindNock, "16"}, {part.KindHead, "25"}, {part.KindHead, "100"}, {part.KindShaft, "251"}, {part.KindVanes, "7"}} {
		m := onSlot(benchOf(t, nil), kindSlot(c.kind))
		press(m, "enter")
		write(m, c.text)
		press(m, "enter")
		held, _ := session.Held(m.build(), c.kind)
		got := held.StatedWeight()
		if c.kind == part.KindShaft {
			got = m.build().ShaftWeight()
		}
		want, err := unit.Parse(c.text, unit.Grains)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(got)-want) > 1e-9*want {
			t.Errorf("%s typed over the %s makes %.1f gr", c.text, c.kind, got.In(unit.Grain))
		}
		if clashes := caution.Misfits(m.build(), unit.System{}); len(clashes) > 0 {
			t.Errorf("%s typed over the %s: %s", c.text, c.kind, clashes[0].Text)
		}
	}
}

// A number over a shaft is its spine before it is the weight of a tube, and a
// weight that no such tube has is not offered.
func TestASpineTypedOverAShaftIsASpine(t *testing.T) {
	for _, c := range []struct {
		text, name string
	}{{"300", "5 mm .300"}, {".300", "5 mm .300"}, {"400", "5 mm .400"}, {"5 mm .25", "5 mm .250"}} {
		m := onSlot(benchOf(t, nil), kindSlot(part.KindShaft))
		press(m, "enter")
		write(m, c.text)
		press(m, "enter")
		if s := m.build().Shaft; s.Name != c.name || s.TubeWeight.Given {
			t.Errorf("%s typed over the shaft chooses %s, tube %v", c.text, s.Name, s.TubeWeight)
		}
	}
	m := onSlot(benchOf(t, nil), kindSlot(part.KindShaft))
	before := m.Job().Encode()
	press(m, "enter")
	write(m, "3")
	for _, o := range m.dialog.(*picker).found {
		if o.weight.Given {
			t.Error("a tube of 3 gr is offered")
		}
	}
	press(m, "esc")
	kept(t, m, before, "after looking")
}

func TestAWeighedTubeShowsOnTheBench(t *testing.T) {
	m := onSlot(benchOf(t, nil), kindSlot(part.KindShaft))
	press(m, "enter")
	write(m, "251")
	press(m, "enter")
	shows(t, m, "5 mm .350 tube 251 gr", "shaft 5 mm .350 → 5 mm .350 tube 251 gr")
}

func TestWhatMatchesNothingChoosesNothing(t *testing.T) {
	m := onSlot(benchOf(t, nil), kindSlot(part.KindHead))
	before := m.Job().Encode()
	press(m, "enter")
	write(m, "abc")
	press(m, "enter")
	kept(t, m, before, "after a word that no head has")
	shows(t, m, "Nothing among the 12 choices matches “abc”")
}

// A danger stays on screen in words behind every dialog.
func TestADangerIsSeenInEveryMode(t *testing.T) {
	for _, c := range append(modes(), typingModes()...) {
		m := c.make(t)
		if m.build() == nil || m.build().Tube() <= 0 {
			continue // nothing to weigh
		}
		m.session.Do("too light", func(j *job.Job) {
			if !j.Bow.Given {
				j.Bow = unit.Some(bow.Bow{})
			}
			j.Bow.Value.MinimumArrow = unit.Some(999 * unit.Grain)
		})
		m.SetSize(80, 24)
		if out := screen(m); !strings.Contains(out, "!! too light, near a dry fire: ") {
			t.Errorf("%s: the danger is not on screen\n%s", c.name, out)
		}
	}
}

func TestClearingAMinimumByBackspaceClearsIt(t *testing.T) {
	m := onBowField(t, benchOf(t, nil), "minimum_arrow_gr", false)
	press(m, "enter", "backspace", "enter")
	if least := m.Job().Bow.Value.MinimumArrow; least.Given {
		t.Errorf("the minimum is %.0f gr", least.Value.In(unit.Grain))
	}
}
