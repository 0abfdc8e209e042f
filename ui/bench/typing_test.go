package bench

import (
	"bytes"
	"foreshaft/ui/keys"
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// Every letter that is a command somewhere, and some that are none.
const commandLetters = "q?:xajk0123456789 zZ+-=<>eEnNbdrsSoXhl"

func TestLettersInAFieldAreTyped(t *testing.T) {
	for _, c := range typingModes() {
		m := c.make(t)
		before := m.Job().Encode()
		open := m.dialog
		write(m, commandLetters)
		if m.dialog != open || !m.Typing() {
			t.Errorf("%s: a letter closed the field", c.name)
			continue
		}
		if got := typedText(t, m); got != commandLetters {
			t.Errorf("%s: after typing %q there stands %q", c.name, commandLetters, got)
		}
		kept(t, m, before, c.name+": while typing")
	}
}

func TestTheFirstLetterReplacesWhatStoodThere(t *testing.T) {
	for _, c := range typingModes() {
		m := c.make(t)
		old := typedText(t, m)
		write(m, "7")
		if got := typedText(t, m); got != "7" {
			t.Errorf("%s: typing 7 over %q gives %q", c.name, old, got)
		}
	}
}

func TestAnArrowFirstEditsWhatStoodThere(t *testing.T) {
	for _, c := range typingModes() {
		m := c.make(t)
		old := typedText(t, m)
		if old == "" {
			continue
		}
		press(m, "left")
		write(m, "7")
		runes := []rune(old)
		if want := string(runes[:len(runes)-1]) + "7" + string(runes[len(runes)-1:]); typedText(t, m) != want {
			t.Errorf("%s: an arrow and 7 in %q give %q, want %q", c.name, old, typedText(t, m), want)
		}
		m = c.make(t)
		press(m, "backspace")
		if got := typedText(t, m); got != "" {
			t.Errorf("%s: backspace first in %q gives %q, want it emptied", c.name, old, got)
		}
		m = c.make(t)
		press(m, "end", "backspace")
		if want := string(runes[:len(runes)-1]); typedText(t, m) != want {
			t.Errorf("%s: backspace after an arrow in %q gives %q, want %q", c.name, old, typedText(t, m), want)
		}
	}
}

// Esc, or what looks like it: a sequence whose start and rest arrive apart is an
// Esc and a text. It may close what is open and must not change anything.
func TestEscChangesNothingAnywhere(t *testing.T) {
	typing := typingModes()
	for i, c := range append(slices.Clone(typing), modes()...) {
		rests := []string{"", "[A", "[3~"}
		if i < len(typing) {
			rests = append(rests, "[B", "[C", "[D", "[H", "[F", "OA", "OD", "[5~", "[6~", "[1;5C", "[200~")
		}
		for _, rest := range rests {
			m := c.make(t)
			before := m.Job().Encode()
			for range 4 {
				if r := press(m, "esc"); r != nil {
					t.Errorf("%s: Esc asks for %T", c.name, r)
				}
				for _, letter := range rest {
					// A digit may open a screen that has cautions looked for.
					r := press(m, string(letter))
					if _, work := r.(Work); r != nil && !work {
						t.Errorf("%s: Esc and %q ask for %T", c.name, rest, r)
					}
				}
			}
			kept(t, m, before, c.name+": after Esc "+rest)
			if press(m, "esc", "esc"); m.dialog != nil {
				t.Errorf("%s: Esc does not lead back to the bench but to %T", c.name, m.dialog)
			}
		}
	}
}

func TestTypingIsShownAsItIsTyped(t *testing.T) {
	for _, c := range typingModes() {
		for _, size := range [][2]int{{80, 24}, {120, 36}} {
			m := c.make(t)
			m.SetSize(size[0], size[1])
			write(m, "31.5")
			want := "31.5▏"
			if f, ok := m.dialog.(*bowForm); ok && f.at >= len(bowLines())-1 {
				want = "5▏" // the cells of a reading are narrow; the cursor stays in sight
			}
			shows(t, m, want)
		}
	}
}

func TestALongTextKeepsItsCursorInSight(t *testing.T) {
	for _, c := range typingModes() {
		m := c.make(t)
		write(m, strings.Repeat("abc 矢 ", 15)+"END")
		shows(t, m, "D▏")
		press(m, "home")
		if !strings.Contains(screen(m), "▏") {
			t.Errorf("%s: after Home the cursor is out of sight", c.name)
		}
	}
}

func TestAcceptingWhatStoodThereChangesNothing(t *testing.T) {
	for _, c := range typingModes() {
		m := c.make(t)
		if typedText(t, m) == "" {
			continue
		}
		before, open := m.Job().Encode(), m.dialog
		press(m, "enter")
		kept(t, m, before, c.name+": after Enter on what stood there")
		if m.Typing() && m.dialog == open {
			t.Errorf("%s: what stands in the field is not taken: %s", c.name, m.message)
		}
	}
}

// A name may be longer than what a field takes. Looking at it in a field and
// leaving with Enter must not cut it.
func TestAcceptingALongNameDoesNotCutIt(t *testing.T) {
	long := strings.Repeat("a name without an end ", 50)
	change := func(j *job.Job) { j.Builds[0].Name, j.Bow.Value.Name = long, long }
	m := benchOf(t, change)
	before := m.Job().Encode()
	press(m, "r", "enter")
	kept(t, m, before, "after Enter on the name of a build")

	m = onBowField(t, benchOf(t, change), "name", false)
	press(m, "enter", "enter")
	kept(t, m, before, "after Enter on the name of the bow")
}

func TestPastedTextIsCleaned(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "r")
	m.HandleKey(tea.KeyMsg{Type: tea.KeyRunes, Paste: true, Runes: []rune("\x1b[31mtwo\nlines\x07\u202e and \u009bmore")})
	got := typedText(t, m)
	if strings.ContainsAny(got, "\x1b\n\a\u202e\u009b") || !strings.Contains(got, "two lines") {
		t.Errorf("the pasted text became %q", got)
	}
	press(m, "enter")
	if m.dialog != nil {
		t.Fatalf("the name is refused: %s", m.message)
	}
	if name := m.Job().Builds[0].Name; !strings.Contains(name, "two lines") || strings.ContainsAny(name, "\x1b\n\a") {
		t.Errorf("the build is called %q", name)
	}
}

// refusals are entries that cannot be taken, with a word that the sentence says.
var refusals = []struct {
	name, typed, says string
	make              func(t testing.TB) *Model
}{
	{"length in words", "long", "", func(t testing.TB) *Model { return onSlot(benchOf(t, nil), present.SlotLength) }},
	{"length beyond all", "900", "60", func(t testing.TB) *Model { return onSlot(benchOf(t, nil), present.SlotLength) }},
	{"length below nothing", "-3", "", func(t testing.TB) *Model { return onSlot(benchOf(t, nil), present.SlotLength) }},
	{"length in a unit of weight", "29 gr", "", func(t testing.TB) *Model { return onSlot(benchOf(t, nil), present.SlotLength) }},
	{"an extra without its place", "2 gr", "at", func(t testing.TB) *Model { return onSlot(benchOf(t, nil), present.SlotExtras) }},
	{"an extra too heavy", "5000 gr at 3 in", "1000", func(t testing.TB) *Model { return onSlot(benchOf(t, nil), present.SlotExtras) }},
	{"a crossbow's weight", "180", "crossbow", func(t testing.TB) *Model { return onBowField(t, benchOf(t, nil), "peak_weight_lb", false) }},
	{"a crossbow's draw", "11", "crossbow", func(t testing.TB) *Model { return onBowField(t, benchOf(t, nil), "draw_length_in", false) }},
	{"a reading too fast", "6000", "600", func(t testing.TB) *Model { return onReading(benchOf(t, nil), 0, 1) }},
	{"a reading without a speed", "x", "", func(t testing.TB) *Model { return onReading(benchOf(t, nil), 0, 1) }},
	{"a rating too slow", "3", "30", func(t testing.TB) *Model { return onBowField(t, benchOf(t, nil), "speed_fps", true) }},
}

func TestWhatCannotBeTakenIsRefusedWithASentence(t *testing.T) {
	for _, c := range refusals {
		t.Run(c.name, func(t *testing.T) {
			m := c.make(t)
			before := m.Job().Encode()
			press(m, "enter")
			write(m, c.typed)
			press(m, "enter")
			kept(t, m, before, "after a refusal")
			if !m.Typing() || typedText(t, m) != c.typed {
				t.Errorf("the field is closed or does not hold %q any more", c.typed)
			}
			if len(m.message) < 10 || !strings.HasSuffix(m.message, ".") || !strings.Contains(m.message, c.says) {
				t.Errorf("it says %q, want a sentence with %q", m.message, c.says)
			}
			shows(t, m, m.message[:min(len(m.message), 60)])
			press(m, "esc")
			kept(t, m, before, "after leaving")
		})
	}
}

func TestNamesAreRefusedWithASentence(t *testing.T) {
	m := benchOf(t, nil)
	before := m.Job().Encode()
	press(m, "r")
	write(m, m.Job().Builds[1].Name)
	press(m, "enter")
	if !m.Typing() || !strings.Contains(m.message, m.Job().Builds[1].Name) {
		t.Errorf("the name of another build is taken, it says %q", m.message)
	}
	press(m, "esc", "r")
	write(m, "  ")
	press(m, "enter")
	if !m.Typing() || m.message == "" {
		t.Errorf("an empty name is taken, it says %q", m.message)
	}
	kept(t, m, before, "after two refusals")
	press(m, "esc", "s")
	if r := press(m, "enter"); r != nil || !m.Typing() || m.message == "" {
		t.Errorf("saving under no name asks for %v and says %q", r, m.message)
	}
}

func TestALengthIsTakenHoweverItIsWritten(t *testing.T) {
	for typed, want := range map[string]unit.Length{
		"29 1/2": 29.5 * unit.Inch, "28.75 in": 28.75 * unit.Inch, "75 cm": 75 * unit.Centimetre, "28,5": 28.5 * unit.Inch,
	} {
		m := onSlot(benchOf(t, func(j *job.Job) { j.Builds[0].Length = 30 * unit.Inch }), present.SlotLength)
		press(m, "enter")
		write(m, typed)
		press(m, "enter")
		if got := m.Job().Builds[0].Length; got < want-1e-9 || got > want+1e-9 {
			t.Errorf("%q gives %g in, want %g", typed, got.In(unit.Inch), want.In(unit.Inch))
		}
	}
}

func TestAWeighedTubeIsScaledToItsNewLengthAndSaysSo(t *testing.T) {
	m := onSlot(benchOf(t, func(j *job.Job) { j.Builds[0].Shaft.TubeWeight = unit.Some(232 * unit.Grain) }), present.SlotLength)
	press(m, "+")
	if got := m.Job().Builds[0].Shaft.TubeWeight.Value.In(unit.Grain); got < 232.99 || got > 233.01 {
		t.Errorf("a tube of 29 in and 232 gr weighs %g gr at 29 1/8 in, want 233", got)
	}
	if !strings.Contains(m.message, "weigh") && !strings.Contains(m.message, "Weigh") {
		t.Errorf("it says %q", m.message)
	}
}

func TestNothingIsTypedIntoABenchWithoutAField(t *testing.T) {
	m := benchOf(t, nil)
	before := m.Job().Encode()
	for _, r := range "CFGHIJKNOPQRUVWw0189.;!\"§$%&/()[]{}~^°#'*_|йя" {
		if m.keys.Bench.Action(keyOf(string(r))) != "" {
			t.Errorf("%c is a key: leave it out here", r)
		}
		if press(m, string(r)); m.dialog != nil {
			t.Errorf("%c opens %T", r, m.dialog)
		}
		if !strings.Contains(m.message, string(r)+" is no key here") || !strings.Contains(m.message, m.keys.Bench.Press(keys.Command)) {
			t.Errorf("%c says %q", r, m.message)
		}
	}
	if press(m, "\x1b[31m", "\u202e"); strings.ContainsAny(m.message, "\x1b\u202e") {
		t.Errorf("what cannot be shown is: %q", m.message)
	}
	if !bytes.Equal(before, m.Job().Encode()) {
		t.Error("a letter that is no command changed the bench")
	}
}
