package bench

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"unicode"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/theme"
)

// colourful returns a bench on a terminal whose background asks for a theme.
func colourful(ground theme.Name, chosen Choices, paint func(theme.Name) *theme.Theme) *Model {
	m := New(Options{Keys: keys.Default(), Paint: paint, Ground: ground, Choices: chosen, Job: store.SampleBench(), Drawer: store.SampleParts(), Samples: store.SampleBench()})
	m.SetSize(120, 36)
	return m
}

func inColour(n theme.Name) *theme.Theme { return theme.New(n, termenv.TrueColor) }

// From what the terminal asks for t goes through every theme that it can show and
// comes back, and says each time which it is.
func TestTheColoursGoRoundAndComeBackToAutomatic(t *testing.T) {
	for _, c := range []struct {
		ground theme.Name
		want   []theme.Name // what is asked to be kept; empty is automatic
	}{
		// What is on screen already is passed over once.
		{theme.Light, []theme.Name{theme.Dark, theme.Mono, ""}},
		{theme.Dark, []theme.Name{theme.Light, theme.Dark, theme.Mono, ""}},
		{theme.Mono, []theme.Name{theme.Light, theme.Dark, theme.Mono, ""}},
	} {
		m := colourful(c.ground, Choices{}, inColour)
		seen := map[theme.Name]bool{m.theme.Name(): true}
		if m.theme.Name() != c.ground {
			t.Errorf("on a %s background it starts in %s", c.ground, m.theme.Name())
		}
		for range 2 {
			for _, want := range c.want {
				r, ok := press(m, "t").(Chosen)
				if !ok || r.Choices.Theme != want {
					t.Fatalf("on a %s background it asks for %+v, want %q", c.ground, r, want)
				}
				shown, says := want, fmt.Sprintf("Colours for a %s background.", want)
				switch want {
				case "":
					shown, says = c.ground, fmt.Sprintf("Colours by the terminal's background (%s).", c.ground)
				case theme.Mono:
					says = "No colours."
				}
				seen[m.theme.Name()] = true
				if m.theme.Name() != shown || m.message != says {
					t.Errorf("%q shows %s and says %q, want %q", want, m.theme.Name(), m.message, says)
				}
			}
		}
		for _, n := range []theme.Name{theme.Light, theme.Dark, theme.Mono} {
			if !seen[n] {
				t.Errorf("on a %s background %s is never shown", c.ground, n)
			}
		}
	}
}

// Where the terminal takes no colours a choice is kept for another one, and it
// says why nothing is seen.
func TestATerminalWithoutColoursSaysSo(t *testing.T) {
	m := colourful(theme.Mono, Choices{}, plainPaint)
	for _, want := range []theme.Name{theme.Light, theme.Dark} {
		r, ok := press(m, "t").(Chosen)
		if !ok || r.Choices.Theme != want || !strings.Contains(m.message, "this terminal shows none (NO_COLOR or TERM)") || !strings.Contains(m.message, string(want)) {
			t.Errorf("it asks for %+v and says %q", r, m.message)
		}
		if strings.Contains(screen(m), "\x1b") {
			t.Error("there are colours")
		}
	}
	press(m, "t")
	if m.message != "No colours." {
		t.Errorf("without colours it says %q", m.message)
	}
	if r := press(m, "t").(Chosen); r.Choices.Theme != "" {
		t.Errorf("it does not come back to automatic but to %q", r.Choices.Theme)
	}
}

// What was chosen in an earlier sitting holds from the first frame, and choosing
// one thing leaves the others.
func TestChoicesHoldFromTheStart(t *testing.T) {
	chosen := Choices{Theme: theme.Dark, Units: metric, Mouse: true}
	m := colourful(theme.Light, chosen, inColour)
	if m.theme.Name() != theme.Dark || m.units() != metric {
		t.Errorf("it starts in %s with %+v", m.theme.Name(), m.units())
	}
	shows(t, m, "g · cm · m/s")
	want := chosen
	want.Theme = theme.Mono
	if r := press(m, "t"); !reflect.DeepEqual(r, Request(Chosen{want})) {
		t.Errorf("it asks for %+v, want %+v", r, want)
	}
	want.Mouse = false
	if r := press(m, "M"); !reflect.DeepEqual(r, Request(Chosen{want})) || !strings.Contains(m.message, "Mouse off") {
		t.Errorf("it asks for %+v and says %q", r, m.message)
	}
	want.Mouse = true
	if r := press(m, "M"); !reflect.DeepEqual(r, Request(Chosen{want})) || !strings.Contains(m.message, "Mouse on") {
		t.Errorf("it asks for %+v and says %q", r, m.message)
	}
	want.Units.Grams = false
	press(m, "u")
	if r := press(m, "+"); !reflect.DeepEqual(r, Request(Chosen{want})) {
		t.Errorf("it asks for %+v, want %+v", r, want)
	}
	press(m, "esc", ",")
	shows(t, m, "mono", "grains, centimetres, metres per second, newtons, metres", "on", "bench (kept with the bench)")
}

// Each row copies what it shows, named by row and build.
func TestEachRowCopiesWhatItShows(t *testing.T) {
	for _, units := range []unit.System{{}, metric} {
		m := benchOf(t, func(j *job.Job) {
			j.Builds[1].Extras = []part.Extra{{Name: "glue", Weight: 2 * unit.Grain, Balance: 29 * unit.Inch, Trade: part.Trade{Price: unit.Some(1.0)}}}
		})
		m.setUnits(units)
		m.depth = Lab
		m.focus(1)
		b := m.build()
		for i, r := range allRows {
			m.row = i
			if m.hidden(i) { // from one depth on, or not at all
				continue
			}
			place, where := sheet.Whole, ""
			if r.isAt() {
				where = " at " + units.Distance(60*unit.Yard, 4)
				place = 4 // of 20, 30, 40, 50 and 60 yd, the farthest, which nobody chose another for
			}
			want := Copy{Text: present.FigureCellAt(m.session.Sheet(), 1, place, r.figure).Full(), What: r.figure.Definition().Title + where + " of B Even keel"}
			switch {
			case r.figure == figure.HeadShare && !r.isSlot: // without blades there is none
				if got := press(m, "y"); got != nil || !strings.Contains(m.message, "There is no head's pull"+where+" to copy: it needs blades") {
					t.Errorf("%s: it asks for %+v and says %q", titleOf(r), got, m.message)
				}
				continue
			case r.isSlot:
				want = Copy{Text: present.Piece(units, b, r.slot), What: fmt.Sprintf("the %s of B Even keel", r.slot)}
			case r.caution:
				want = Copy{Text: "NOTE perhaps weak shaft: " + m.session.Sheet().Builds[1].Cautions[0].Text, What: "the cautions of B Even keel"}
			}
			if got := press(m, "y"); got != want {
				t.Errorf("%s: it asks for %+v, want %+v", titleOf(r), got, want)
			}
		}
		// Another distance has figures of its own.
		press(onFigure(t, m, figure.Drop), "pgup", "pgup")
		if got, want := press(m, "y").(Copy), present.FigureCellAt(m.session.Sheet(), 1, 2, figure.Drop).Full(); got.Text != want {
			t.Errorf("the drop at 40 yd is copied as %q, want %q", got.Text, want)
		}
		press(m, "pgdown", "pgdown")
		// What a copy says in full stands on the screen in short.
		onFigure(t, m, figure.TotalWeight)
		text := press(m, "y").(Copy).Text
		if !strings.HasSuffix(text, " against the baseline") || !strings.Contains(text, " "+units.Shown(unit.Grains).Symbol+", +") {
			t.Errorf("the weight is copied as %q", text)
		}
		table, ok := press(m, "Y").(Copy)
		if !ok || table.Text != present.Plain(m.session.Sheet()) || table.What == "" {
			t.Errorf("the table is copied as %+v", table)
		}
	}
	// Cautions a line each, in words; the third sample has blades.
	m := benchOf(t, nil)
	m.focus(2)
	press(m, "end")
	got := press(m, "y").(Copy)
	lines := strings.Split(got.Text, "\n")
	if len(lines) != len(present.Remarks(m.session.Sheet(), 2)) || !strings.HasPrefix(lines[0], "WARN broadhead: ") {
		t.Errorf("copied is %q", got.Text)
	}
	m = benchOf(t, func(j *job.Job) { j.Bow = job.New().Bow })
	if r := press(onFigure(t, m, figure.LaunchSpeed), "y"); r != nil || !strings.Contains(m.message, "There is no speed to copy: it needs") {
		t.Errorf("a speed that is not there: it asks for %+v and says %q", r, m.message)
	}
}

func TestACopySaysWhatWasSent(t *testing.T) {
	m := benchOf(t, nil)
	m.Copied(Copy{Text: "394.0 ± 0.8 gr", What: "total weight of A"}, nil)
	if !strings.HasPrefix(m.message, "Copied total weight of A: 394.0 ± 0.8 gr. If pasting gives something else, the terminal takes no copies from programs") {
		t.Errorf("it says %q", m.message)
	}
	m.Copied(Copy{Text: "one\ntwo\nthree\n", What: "the table"}, nil)
	if !strings.Contains(m.message, "the table: 3 lines.") {
		t.Errorf("it says %q", m.message)
	}
	m.Copied(Copy{Text: "x", What: "the table"}, fmt.Errorf("the terminal is gone"))
	if !m.alerting() || !strings.Contains(m.message, "Not copied. the terminal is gone") {
		t.Errorf("it says %q", m.message)
	}
}

// A key that does nothing says so and how to find what does; whatever it is, the
// screen shows no control character.
func TestAnUnknownKeySaysHowToFindTheRightOne(t *testing.T) {
	for _, c := range []struct {
		open []string
		call string
	}{{nil, "finds any action by name"}, {[]string{"b"}, "finds any action by name"}, {[]string{"A"}, "lists the keys"}, {[]string{"3"}, "lists the keys"}} {
		for _, k := range []struct {
			key  tea.KeyMsg
			says string
		}{
			{keyOf("w"), "w is no key here"}, {keyOf("é"), "é is no key here"}, {keyOf("ж"), "ж is no key here"}, {keyOf("矢"), "矢 is no key here"},
			{tea.KeyMsg{Type: tea.KeyF7}, "f7 is no key here"}, {tea.KeyMsg{Type: tea.KeyCtrlT}, "ctrl+t is no key here"},
			{tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("w"), Alt: true}, "alt+w is no key here"},
		} {
			m := benchOf(t, nil)
			press(m, c.open...)
			before := m.Job().Encode()
			if r := m.HandleKey(k.key); r != nil || !strings.HasPrefix(m.message, k.says) || !strings.Contains(m.message, c.call) {
				t.Errorf("after %q: %s asks for %+v and says %q", c.open, k.key, r, m.message)
			}
			kept(t, m, before, "after "+k.key.String())
		}
	}
	for _, r := range []rune{0, 0x07, 0x1b, 0x7f, 0x80, 0x85, 0x9b, 0xad, 0x200b, 0x200e, 0x202e, 0x2066, 0x2028, 0xfeff, 0xd800, 0x10ffff, 0xe000, 0xfffd} {
		for _, alt := range []bool{false, true} {
			for _, open := range [][]string{nil, {"b"}, {"L"}, {"3"}} {
				m := benchOf(t, nil)
				press(m, open...)
				m.HandleKey(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}, Alt: alt})
				lines := m.Lines()
				checkFrame(t, fmt.Sprintf("%U", r), lines, 120, 36)
				if harm := strings.IndexFunc(strings.Join(lines, ""), func(c rune) bool { return unicode.In(c, unicode.Cc, unicode.Cf) }); harm >= 0 {
					t.Errorf("after %U (alt %v) the screen holds a control character:\n%q", r, alt, m.message)
				}
				if !alt && strings.ContainsFunc(m.message, func(c rune) bool { return unicode.In(c, unicode.Cc, unicode.Cf) }) {
					t.Errorf("%U is said as %q", r, m.message)
				}
			}
		}
	}
	// Esc on the bench is no mistake, and what does something says nothing of it.
	m := benchOf(t, nil)
	if press(m, "esc"); m.message != "" {
		t.Errorf("Esc says %q", m.message)
	}
	for _, b := range m.keys.Bench.Bindings {
		m := benchOf(t, nil)
		if press(m, b.Keys()[0]); strings.Contains(m.message, "is no key here") {
			t.Errorf("%s says %q", b.Action, m.message)
		}
	}
	if !slices.ContainsFunc(m.keys.Bench.Bindings, func(b keys.Binding) bool { return b.Action == keys.Command }) {
		t.Error("no key finds actions by name")
	}
}
