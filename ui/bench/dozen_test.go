package bench

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/dozen"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
)

// Twelve shafts, the seventh of which is far off, and thirteen heads, on a 0.1 gr scale;
// invented, and near what the first sample build says of its own.
var (
	twelveShafts   = "231.4 0.352 0.003\n231.2 0.349 0.002\n231.6\n231.5\n231.3\n231.9\n236.0\n231.0\n231.1\n231.7\n231.2\n231.4\n"
	thirteenHeads  = "125.1 124.8 125.4 124.9 125.0 125.2 125.0 124.7 125.3 125.1 124.9 125.0 126.0"
	onlyFewShafts  = "231.4 231.2 231.6"
	threeLikeHeads = "125 125.2 124.8"
)

// paste gives a bench a text as the terminal does that was pasted.
func paste(m *Model, text string) Request {
	return m.HandleKey(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(text), Paste: true})
}

// onDozen opens the Dozen screen, with pieces where they are named.
func onDozen(t testing.TB, shafts, heads string) (*Model, *dozenScreen) {
	t.Helper()
	m := benchOf(t, nil)
	finish(m, press(m, "5"))
	d, open := m.dialog.(*dozenScreen)
	if !open {
		t.Fatalf("5 opens %T", m.dialog)
	}
	for k, text := range map[dozen.Kind]string{dozen.Shafts: shafts, dozen.Heads: heads} {
		if text == "" {
			continue
		}
		d.shown = k
		d.take(m, text)
		finish(m, d.refresh(m))
	}
	d.shown, d.at = dozen.Shafts, 0
	m.message = ""
	return m, d
}

// toList goes to the build list.
func toList(m *Model) { press(m, "shift+tab") }

func batchOf(m *Model) *dozen.Batch { return &m.build().Dozen.Value }

func grains(list []dozen.Piece) string {
	var out []string
	for _, p := range list {
		out = append(out, fmt.Sprintf("%.1f", p.Weight.In(unit.Grain)))
	}
	return strings.Join(out, " ")
}

func TestEachKeyOfTheDozenScreenDoesWhatItSays(t *testing.T) {
	screenOf := func(x trial) *dozenScreen { return x.m.dialog.(*dozenScreen) }
	at := func(x trial) int { return screenOf(x).at }
	checkScope(t, keys.Default().Dozen, map[keys.Action]func(x trial){
		keys.Up:       func(x trial) { press(x.m, "down", "down"); x.press(); x.want(at(x) == 1, "line %d", at(x)) },
		keys.Down:     func(x trial) { x.press(); x.want(at(x) == 1, "line %d", at(x)) },
		keys.PageUp:   func(x trial) { press(x.m, "end"); x.press(); x.want(at(x) == 1, "line %d", at(x)) },
		keys.PageDown: func(x trial) { x.press(); x.want(at(x) == 10, "line %d", at(x)) },
		keys.First:    func(x trial) { press(x.m, "down"); x.press(); x.want(at(x) == 0, "line %d", at(x)) },
		keys.Last:     func(x trial) { x.press(); x.want(at(x) == 11, "line %d", at(x)) },
		keys.Kind: func(x trial) {
			x.press()
			shows(x, x.m, "[heads 13]", "Weight of head 14")
			for range dozen.Kinds {
				x.press()
			}
			shows(x, x.m, "[shafts 12]")
		},
		keys.KindBack: func(x trial) { x.press(); shows(x, x.m, "[build list]", "arrow gr") },
		keys.Choose: func(x trial) {
			write(x.m, "231,8 .351")
			x.press()
			p := batchOf(x.m).Shafts[12]
			x.want(len(batchOf(x.m).Shafts) == 13 && p.Weight == 231.8*unit.Grain && p.Spine.Value == 0.351*unit.Inch, "%+v", batchOf(x.m).Shafts)
			x.want(typedText(x, x.m) == "" && at(x) == 12, "the field holds %q, line %d", typedText(x, x.m), at(x))
			// With nothing typed it corrects the piece in focus.
			press(x.m, "home")
			x.press()
			x.want(typedText(x, x.m) == "231.4 0.352in 0.003in", "it opens with %q", typedText(x, x.m))
			write(x.m, "230")
			x.press()
			p = batchOf(x.m).Shafts[0]
			x.want(p.Weight == 230*unit.Grain && p.Spine.Value == 0.352*unit.Inch && p.Straightness.Given, "%+v", p) // what was not typed anew stays
			// On the build list it ticks.
			toList(x.m)
			x.press()
			x.want(batchOf(x.m).Made() == 1 && at(x) == 1, "%d made, line %d", batchOf(x.m).Made(), at(x))
			shows(x, x.m, "[x]", "1/13")
		},
		keys.Out: func(x trial) {
			press(x.m, "down", "down")
			x.press()
			x.want(batchOf(x.m).Shafts[2].LeftOut, "%+v", batchOf(x.m).Shafts[2])
			shows(x, x.m, "left out", "Shaft 3 is left out", "11 shafts, and 1 left out")
			x.press()
			x.want(!batchOf(x.m).Shafts[2].LeftOut, "%+v", batchOf(x.m).Shafts[2])
		},
		keys.Reject: func(x trial) {
			opens[*choice](x)
			shows(x, x.m, "The outliers by weight: 7", "By spine", "By straightness", "one and a half times", "None: take all shafts back")
			press(x.m, "enter")
			x.want(batchOf(x.m).Shafts[6].LeftOut, "%+v", batchOf(x.m).Shafts)
			shows(x, x.m, "Left out by that: 1 shaft, no. 7.")
		},
		keys.Discard: func(x trial) {
			press(x.m, "down")
			x.press()
			x.want(grains(batchOf(x.m).Shafts[:2]) == "231.4 231.6" && len(batchOf(x.m).Shafts) == 11, "%s", grains(batchOf(x.m).Shafts))
			toList(x.m)
			press(x.m, "enter", "enter")
			x.press()
			x.want(len(batchOf(x.m).Plan) == 0, "%+v", batchOf(x.m).Plan)
			shows(x, x.m, "paired anew, 2 ticks off")
		},
		keys.Sort: func(x trial) {
			x.press()
			shows(x, x.m, "weight↓", "Sorted by weight")
			order := screenOf(x).order(x.m)
			x.want(order[0] == 7 && order[11] == 6, "order %v", order)
			x.press()
			x.want(screenOf(x).order(x.m)[0] == 1, "by spine: %v", screenOf(x).order(x.m))
			x.press()
			x.press()
			x.want(screenOf(x).order(x.m)[0] == 0, "as weighed: %v", screenOf(x).order(x.m))
		},
		keys.Count: func(x trial) {
			opens[*prompt](x)
			write(x.m, "10")
			press(x.m, "enter")
			x.want(batchOf(x.m).Arrows == unit.Some(10), "%+v", batchOf(x.m).Arrows)
			shows(x, x.m, "10 arrows of")
		},
		keys.Fetch: func(x trial) {
			opens[*prompt](x)
			s := sampleShelf()
			s.files["/dev/scale"] = []byte("231.0\n231.1\n")
			write(x.m, "/dev/scale")
			s.do(x.m, "enter")
			x.want(len(batchOf(x.m).Shafts) == 14, "%s", grains(batchOf(x.m).Shafts))
			shows(x, x.m, "2 shafts added, 14 in all")
		},
		keys.Send: func(x trial) {
			x.press()
			shows(x, x.m, "Ticket of Open ground", "It has the build list of the dozen: 12 arrows.")
		},
		keys.Undo: func(x trial) {
			write(x.m, "231")
			press(x.m, "enter")
			x.press()
			x.want(len(batchOf(x.m).Shafts) == 12, "%s", grains(batchOf(x.m).Shafts))
			shows(x, x.m, "Undone: weigh shaft 13.")
		},
		keys.Redo: func(x trial) {
			write(x.m, "231")
			press(x.m, "enter", "ctrl+z")
			x.press()
			x.want(len(batchOf(x.m).Shafts) == 13, "%s", grains(batchOf(x.m).Shafts))
		},
		keys.Help: func(x trial) {
			opens[*page](x)
			shows(x, x.m, "Keys of the screen Dozen", "leave out by a rule")
		},
		keys.Close: func(x trial) {
			write(x.m, "23")
			x.press()
			x.want(typedText(x, x.m) == "", "the field holds %q", typedText(x, x.m))
			x.press()
			x.want(x.m.dialog == nil, "%T is open", x.m.dialog)
		},
	}, func(t testing.TB) *Model {
		m, _ := onDozen(t, twelveShafts, thirteenHeads)
		return m
	})
}

// A column that is pasted is taken at once and undone at once; one that has a mistake is not
// taken at all.
func TestAPastedColumnIsOneStep(t *testing.T) {
	m, _ := onDozen(t, "", "")
	before := m.Job().Encode()
	paste(m, strings.ReplaceAll(twelveShafts, "\n", "\r"))
	if len(batchOf(m).Shafts) != 12 {
		t.Fatalf("%d shafts: %s", len(batchOf(m).Shafts), m.message)
	}
	shows(t, m, "12 shafts added", "231.0 to 236.0 gr, spread 5.0", "! outliers: 7")
	press(m, "ctrl+z")
	kept(t, m, before, "after undoing a paste")
	paste(m, "231.4\n23x\n231.6\n")
	kept(t, m, before, "after a paste with a mistake")
	shows(t, m, "Nothing was added: line 2: weight:")
	// A piece of a line goes into the field.
	paste(m, "231.4")
	kept(t, m, before, "after a paste without an end of a line")
	if typedText(t, m) != "231.4" {
		t.Errorf("the field holds %q", typedText(t, m))
	}
	press(m, "enter")
	if grains(batchOf(m).Shafts) != "231.4" {
		t.Errorf("%s", grains(batchOf(m).Shafts))
	}
}

// With one or two kinds the pairing is there with the key; what the screen says is what the
// engine says.
func TestTheDozenPairsAsTheEngineDoes(t *testing.T) {
	m, d := onDozen(t, twelveShafts, thirteenHeads)
	want, err := batchOf(m).Pair()
	if err != nil || d.pairing == nil || d.pairing.Spread != want.Spread {
		t.Fatalf("%+v, %v", d.pairing, err)
	}
	shows(t, m, "12 arrows of", fmt.Sprintf("spread %.1f", want.Spread), "no other choice of the pieces has a smaller spread", "one arrow fewer: spread", "FOC ", "high or low by", "spare: head ")
	toList(m)
	for i, a := range want.Arrows {
		shows(t, m, fmt.Sprintf("%4d%12s", i+1, fmt.Sprintf("%d: %s", a.Piece[dozen.Shafts]+1, fmt.Sprintf("%.1f", batchOf(m).Shafts[a.Piece[dozen.Shafts]].Weight.In(unit.Grain)))))
	}
}

// Three kinds are paired beside the screen, and what comes too late is not shown.
func TestThreeKindsArePairedBesideTheScreen(t *testing.T) {
	m, d := onDozen(t, onlyFewShafts, threeLikeHeads)
	press(m, "tab", "tab")
	write(m, "50 50.1 49.9")
	first, ok := press(m, "enter").(Work)
	if !ok || !d.busy {
		t.Fatal("nothing is asked for")
	}
	shows(t, m, "pairing …")
	write(m, "55")
	second := press(m, "enter").(Work)
	finish(m, first)
	if !d.busy || d.pairing != nil {
		t.Error("the first pairing is shown after another weight")
	}
	finish(m, second)
	if d.busy || d.pairing == nil || len(d.pairing.LeftOut[dozen.Inserts]) != 1 {
		t.Errorf("%+v", d.matched)
	}
	shows(t, m, "3 arrows of", "the build has an insert of")
}

// From the first tick on the list stays, whatever is weighed; nothing in it can be lost.
func TestATickedListStays(t *testing.T) {
	m, d := onDozen(t, twelveShafts, thirteenHeads)
	toList(m)
	press(m, "down", "enter")
	if b := batchOf(m); !b.Plan[1].Made || b.Made() != 1 || d.at != 2 {
		t.Fatalf("%+v, line %d", b.Plan, d.at)
	}
	plan := slices.Clone(batchOf(m).Plan)
	press(m, "tab")
	for _, key := range []string{"ctrl+x", "ctrl+k"} {
		before := m.Job().Encode()
		press(m, key)
		kept(t, m, before, "after "+key+" on a piece that is planned")
		shows(t, m, "is in the build list that is being made")
	}
	// A weight may be corrected: totals follow, arrows do not.
	press(m, "home", "enter")
	write(m, "240")
	press(m, "enter")
	if !slices.Equal(batchOf(m).Plan, plan) || batchOf(m).Shafts[0].Weight != 240*unit.Grain {
		t.Errorf("%+v", batchOf(m).Plan)
	}
	shows(t, m, "the list being built: it stays as it is")
	// Another kind has no place in it.
	press(m, "tab", "tab")
	before := m.Job().Encode()
	write(m, "50")
	press(m, "enter")
	kept(t, m, before, "after an insert for a list without")
	shows(t, m, "has no inserts: pair it anew first")
	press(m, "esc", "ctrl+o", "5", "enter")
	kept(t, m, before, "after another count")
	shows(t, m, "pair it anew first")
	press(m, "esc")
	// The last tick that goes lets the pieces be paired anew.
	toList(m)
	toList(m)
	toList(m)
	if !d.list() {
		t.Fatalf("list %v is shown", d.shown)
	}
	press(m, "home", "down", "enter")
	if !slices.Equal(batchOf(m).Plan, untick(plan)) {
		t.Errorf("%+v", batchOf(m).Plan)
	}
	shows(t, m, "Arrow 2 is not made after all.")
	// Only whoever says so gets another list.
	press(m, "ctrl+k")
	if len(batchOf(m).Plan) != 0 {
		t.Errorf("%+v", batchOf(m).Plan)
	}
	shows(t, m, "paired anew, 0 ticks off")
}

func untick(plan []dozen.Planned) []dozen.Planned {
	out := slices.Clone(plan)
	for i := range out {
		out[i].Made = false
	}
	return out
}

func TestAllTwelveTicked(t *testing.T) {
	m, _ := onDozen(t, twelveShafts, thirteenHeads)
	toList(m)
	for range 12 {
		press(m, "enter")
	}
	if batchOf(m).Made() != 12 {
		t.Errorf("%d made", batchOf(m).Made())
	}
	shows(t, m, "and with it all 12", "build list 12/12")
}

func TestRejectingByLimits(t *testing.T) {
	m, _ := onDozen(t, twelveShafts, "")
	by := func(row int, typed string) {
		t.Helper()
		press(m, "ctrl+r")
		for range row {
			press(m, "down")
		}
		press(m, "enter")
		write(m, typed)
		press(m, "enter")
	}
	out := func() string {
		var list []int
		for i, p := range batchOf(m).Shafts {
			if p.LeftOut {
				list = append(list, i+1)
			}
		}
		return fmt.Sprint(list)
	}
	by(0, "")
	press(m, "esc")
	if out() != "[7]" {
		t.Errorf("the outliers: %s", out())
	}
	press(m, "ctrl+z")
	by(1, "231.2 to 231.6")
	if out() != "[6 7 8 9 10]" {
		t.Errorf("by weight: %s", out())
	}
	press(m, "ctrl+z")
	by(3, "0.002") // what was not measured stays
	if out() != "[1]" {
		t.Errorf("by straightness: %s, %s", out(), m.message)
	}
	by(2, "0.350 0.360")
	if out() != "[1 2]" {
		t.Errorf("by spine: %s", out())
	}
	for typed, want := range map[string]string{"5 4": "the least comes first", "1 2 3": "type two numbers", "": "type two numbers", "soft": "does not read"} {
		before := m.Job().Encode()
		press(m, "ctrl+r", "down", "enter")
		write(m, typed)
		press(m, "enter")
		kept(t, m, before, "after "+typed)
		if !strings.Contains(strings.ToLower(m.message), want) {
			t.Errorf("%q: %s", typed, m.message)
		}
		press(m, "esc")
	}
	before := m.Job().Encode()
	by(1, "1 2")
	kept(t, m, before, "after limits outside of which all are")
	if !strings.Contains(m.message, "would leave out all shafts") {
		t.Errorf("it says %q", m.message)
	}
	press(m, "ctrl+r")
	c := m.dialog.(*choice)
	c.at = len(c.options) - 1
	press(m, "enter")
	if out() != "[]" {
		t.Errorf("taken back: %s", out())
	}
}

func TestWhatIsTypedWrongStaysInTheField(t *testing.T) {
	m, _ := onDozen(t, "", "")
	before := m.Job().Encode()
	for _, typed := range []string{"heavy", "0", "2000", "231 x", "5 in"} {
		write(m, typed)
		press(m, "enter")
		kept(t, m, before, "after "+typed)
		if typedText(t, m) != typed || !strings.Contains(m.message, "Nothing was added") {
			t.Errorf("%q: the field holds %q, it says %q", typed, typedText(t, m), m.message)
		}
		press(m, "esc")
	}
	press(m, "enter")
	shows(t, m, "Nothing is weighed yet")
}

func TestADozenOfOtherPiecesIsSaidSo(t *testing.T) {
	m, _ := onDozen(t, "300.1 300.2 300.0", "")
	shows(t, m, "! the build has a shaft of", "are they the")
	m, _ = onDozen(t, "", "")
	m.do("no insert", func(j *job.Job) { j.Builds[0].Insert.Given = false })
	press(m, "tab", "tab")
	write(m, "50")
	press(m, "enter")
	shows(t, m, "! this build has no insert")
}

func TestAFileOfWeightsThatCannotBeRead(t *testing.T) {
	m, _ := onDozen(t, "", "")
	before := m.Job().Encode()
	s := sampleShelf()
	press(m, "ctrl+t")
	write(m, "/nowhere")
	s.do(m, "enter")
	kept(t, m, before, "after a file that is not there")
	shows(t, m, "It could not be read: there is no file /nowhere")
	if typedText(t, m) != "/nowhere" {
		t.Errorf("the name to mend is %q", typedText(t, m))
	}
}

// A copy of a build is another arrow: its dozen was weighed for the first one.
func TestACopyHasNoDozen(t *testing.T) {
	m, _ := onDozen(t, twelveShafts, "")
	press(m, "esc", "d")
	if b := m.build(); b.Dozen.Given || m.Job().Builds[0].Dozen.Value.Empty() {
		t.Errorf("%+v", b.Dozen)
	}
}

func TestADozenWithoutABuild(t *testing.T) {
	m := benchOf(t, builds(0))
	press(m, "5")
	shows(t, m, "There is no build on the bench")
	for _, key := range []string{"enter", "ctrl+x", "tab", "ctrl+w", "ctrl+o", "1"} {
		press(m, key)
	}
	press(m, "esc")
	if m.dialog != nil {
		t.Errorf("%T is open", m.dialog)
	}
}

// TestThePrintedTicketIsOfTheBuildInFocus goes from the Dozen screen to a file.
func TestThePrintedTicketIsOfTheBuildInFocus(t *testing.T) {
	m, _ := onDozen(t, twelveShafts, thirteenHeads)
	press(m, "ctrl+w", "p", "enter")
	if typedText(t, m) != "open-ground-ticket.html" {
		t.Fatalf("it proposes %q", typedText(t, m))
	}
	for name, want := range map[string]string{"ticket": "one of these endings: .html", "ticket.doc": "one of these endings"} {
		write(m, name)
		if r := press(m, "enter"); r != nil || !strings.Contains(m.message, want) {
			t.Errorf("%s: %+v, %s", name, r, m.message)
		}
		press(m, "esc", "p", "enter")
	}
	for _, name := range []string{"t.html", "t.pdf", "t.md", "t.txt"} {
		write(m, name)
		w, ok := press(m, "enter").(Write)
		if !ok || w.Path != name || len(w.Data) < 500 || !strings.Contains(w.What, "Open ground") {
			t.Errorf("%s: %+v", name, w.What)
		}
		press(m, "p", "enter")
	}
	press(m, "esc", "p", "down", "enter")
	write(m, "all.txt")
	if w, ok := press(m, "enter").(Write); !ok || !strings.Contains(string(w.Data), "Even keel") {
		t.Errorf("the comparison: %+v, %s", w.What, m.message)
	}
}

// What undo takes away from under the screen is gone when it is seen again.
func TestADozenThatIsUndoneFromTheTicket(t *testing.T) {
	m, _ := onDozen(t, twelveShafts, thirteenHeads)
	press(m, "shift+tab", "enter")
	press(m, "ctrl+w", "z", "z", "z")
	press(m, "esc")
	shows(t, m, "[build list]")
	if b := batchOf(m); len(b.Plan) != 0 || len(b.Shafts)+len(b.Heads) != 0 {
		t.Errorf("%+v", b)
	}
	m, d := onDozen(t, onlyFewShafts, threeLikeHeads)
	press(m, "tab", "tab")
	write(m, "50 50.1 49.9")
	finish(m, press(m, "enter"))
	press(m, "shift+tab", "shift+tab", "shift+tab", "ctrl+w")
	press(m, "?")
	press(m, "esc")
	m.do("a shaft fewer", func(j *job.Job) { j.Builds[0].Dozen.Value.Remove(dozen.Shafts, 2) })
	r := press(m, "esc")
	shows(t, m, "pairing …")
	finish(m, r)
	if d.pairing == nil || len(d.pairing.Arrows) != 2 {
		t.Errorf("%+v", d.matched)
	}
}

// What is undone behind a dialog must not be corrected, and what was worked out before must
// not be shown.
func TestADozenChangesBehindADialog(t *testing.T) {
	m, d := onDozen(t, "", "")
	write(m, "231.4")
	press(m, "enter")
	write(m, "231.6")
	press(m, "enter", "end", "enter") // correct the second
	press(m, "ctrl+w", "z", "esc")
	if d.editing >= 0 || typedText(t, m) != "" {
		t.Errorf("shaft %d is corrected with %q", d.editing+1, typedText(t, m))
	}
	press(m, "enter")
	if grains(batchOf(m).Shafts) != "231.4" {
		t.Errorf("%s", grains(batchOf(m).Shafts))
	}

	m, d = onDozen(t, onlyFewShafts, threeLikeHeads)
	press(m, "tab", "tab")
	write(m, "50 50.1 49.9")
	late := press(m, "enter").(Work)
	press(m, "ctrl+w", "z")
	finish(m, late)
	if d.pairing != nil {
		t.Errorf("what was paired before the undo is shown: %+v", d.pairing)
	}
	press(m, "esc")
	if d.pairing == nil || d.pairing.Has[dozen.Inserts] {
		t.Errorf("%+v", d.pairing)
	}
}

// From when it is printed a build list stays as the paper has it.
func TestAPrintedListStays(t *testing.T) {
	m, _ := onDozen(t, twelveShafts, thirteenHeads)
	press(m, "ctrl+w", "p", "enter")
	write(m, "t.txt")
	w, ok := press(m, "enter").(Write)
	if !ok || len(batchOf(m).Plan) != 12 || batchOf(m).Made() != 0 {
		t.Fatalf("%v, %+v", ok, batchOf(m).Plan)
	}
	plan := slices.Clone(batchOf(m).Plan)
	press(m, "esc")
	write(m, "231.0")
	press(m, "enter")
	if !slices.Equal(batchOf(m).Plan, plan) {
		t.Error("one more shaft changes what is printed")
	}
	first := fmt.Sprintf("%d (%.1f)", plan[0].Shaft.Value+1, batchOf(m).Shafts[plan[0].Shaft.Value].Weight.In(unit.Grain))
	if !strings.Contains(string(w.Data), first) {
		t.Errorf("the paper does not have %q", first)
	}
	// A comparison holds nothing.
	m, _ = onDozen(t, twelveShafts, thirteenHeads)
	press(m, "ctrl+w", "p", "down", "enter")
	write(m, "all.txt")
	press(m, "enter")
	if len(batchOf(m).Plan) != 0 {
		t.Error("a comparison holds the list")
	}
}

// A dozen is dangerous where the build is not: the screen says so first.
func TestADangerOfTheDozenIsSaid(t *testing.T) {
	m, _ := onDozen(t, "", "")
	m.do("a minimum", func(j *job.Job) { j.Bow.Value.MinimumArrow = unit.Some(390 * unit.Grain) })
	paste(m, "221.2\n221.4\n221.0\n")
	shows(t, m, "!! light arrow: arrow 1")
}

// Leaving out by a rule, or for good, spares what is in a build list that is being made, and a
// correction leaves alone whether a piece is left out.
func TestWhatIsPlannedIsNotLeftOut(t *testing.T) {
	m, d := onDozen(t, twelveShafts, "")
	press(m, "ctrl+o")
	write(m, "11")
	press(m, "enter")
	toList(m)
	press(m, "enter")
	press(m, "tab")
	spare := d.pairing.LeftOut[dozen.Shafts]
	d.leaveOut(m, "all", func(*dozen.Piece, int) bool { return true })
	if !strings.Contains(m.message, "would leave out all") {
		// the spare one alone is not planned
		for i, p := range batchOf(m).Shafts {
			if p.LeftOut != slices.Contains(spare, i) {
				t.Errorf("shaft %d is left out: %v", i+1, p.LeftOut)
			}
		}
	}
	at := spare[0]
	d.at = slices.Index(d.order(m), at)
	press(m, "enter")
	write(m, "231.5")
	press(m, "enter")
	if p := batchOf(m).Shafts[at]; !p.LeftOut || p.Weight != 231.5*unit.Grain {
		t.Errorf("%+v", p)
	}
}

// Weights that come late do not go into another list.
func TestAFileThatComesLate(t *testing.T) {
	m, _ := onDozen(t, "", "")
	s := sampleShelf()
	s.files["/dev/scale"] = []byte("100.0\n100.1\n")
	press(m, "ctrl+t")
	write(m, "/dev/scale")
	asked := press(m, "enter").(Ask)
	then := asked.Do(s)
	press(m, "tab")
	then(m)
	if n := len(batchOf(m).Shafts) + len(batchOf(m).Heads); n != 0 {
		t.Errorf("%d pieces are taken", n)
	}
	shows(t, m, "its list is no longer open")
}

func TestWhatIsTypedIntoATicketIsCleaned(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "p", "end", "enter")
	m.HandleKey(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("glue\x1b[31m \u202ered"), Paste: true})
	press(m, "enter")
	if note := m.Job().Builds[0].Assembly.Value.Note; strings.ContainsAny(note, "\x1b\u202e") || !strings.Contains(note, "glue") {
		t.Errorf("%q", note)
	}
}

// With many pieces a tick is worked out beside the screen, and the focus stays.
func TestTickingALongList(t *testing.T) {
	m, d := onDozen(t, strings.Repeat("231.4 231.2 232.7 229.9 231.1 ", 20), "")
	toList(m)
	finish(m, d.refresh(m))
	press(m, "pgdown")
	r := press(m, "enter")
	if d.at != 11 || batchOf(m).Made() != 1 {
		t.Errorf("line %d, %d made", d.at, batchOf(m).Made())
	}
	shows(t, m, "pairing …")
	finish(m, r)
	if d.at != 11 {
		t.Errorf("line %d", d.at)
	}
	shows(t, m, "▸ [ ]    12", "the list being built")
}
