package bench

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
)

// onPast opens the revisions of what is first on the sample shelf, of which there are n.
func onPast(t testing.TB, n int, presses ...string) (*Model, *fakeShelf, *pastScreen) {
	t.Helper()
	m, s := benchOf(t, nil), sampleShelf()
	manyRevisions(n)(s)
	s.do(m, "o", "ctrl+r")
	p, open := m.dialog.(*pastScreen)
	if !open {
		t.Fatalf("Ctrl+R opens %T", m.dialog)
	}
	s.do(m, presses...)
	return m, s, p
}

// tells fails unless the screen shows the words, on however many lines.
func tells(t testing.TB, m *Model, words string) {
	t.Helper()
	if out := screen(m); !strings.Contains(strings.Join(strings.Fields(out), " "), words) {
		t.Errorf("the screen does not tell %q:\n%s", words, out)
	}
}

func TestEachKeyOfTheRevisionsDoesWhatItSays(t *testing.T) {
	var s *fakeShelf
	list := func(x trial) *pastScreen { return x.m.dialog.(*pastScreen) }
	at := func(x trial, want int) { x.Helper(); x.want(list(x).at == want, "the focus is on %d", list(x).at) }
	checkScope(t, keys.Default().Past, map[keys.Action]func(x trial){
		keys.Down:     func(x trial) { x.press(); at(x, 1) },
		keys.Up:       func(x trial) { press(x.m, "down", "down"); x.press(); at(x, 1) },
		keys.PageDown: func(x trial) { x.press(); at(x, pageStep) },
		keys.PageUp:   func(x trial) { press(x.m, "end"); x.press(); at(x, 24-pageStep) },
		keys.First:    func(x trial) { press(x.m, "end"); x.press(); at(x, 0) },
		keys.Last:     func(x trial) { x.press(); at(x, 24) },
		keys.Choose: func(x trial) {
			press(x.m, "down")
			r := x.press()
			x.want(r == nil && x.m.dialog == nil && len(x.m.under) == 0, "it asks for %v, and %T is open", r, x.m.dialog)
			x.want(x.m.Job().Equal(revised(23)) && x.m.session.Name() == "Autumn woods", "another revision is on the bench as %q", x.m.session.Name())
			shows(x, x.m, "Opened Autumn woods")
		},
		keys.Compare: func(x trial) {
			press(x.m, "down", "down")
			x.press()
			x.want(list(x).with == 23, "compared with %d", list(x).with)
			shows(x, x.m, "23 = ", "revision 23 (=)")
			x.press()
			x.want(list(x).with == 0, "compared with %d", list(x).with)
			shows(x, x.m, "what changed since the one before")
		},
		keys.Explain: func(x trial) {
			press(x.m, "down")
			opens[*page](x)
			shows(x, x.m, "Autumn woods: from revision 23 to 24")
		},
		keys.Restore: func(x trial) {
			press(x.m, "end")
			answered(x.m, s, x.press())
			x.want(slices.Equal(s.calls, []string{"restore 4 revision 1"}), "%q", s.calls)
			shows(x, x.m, "Revision 1 is the newest again, as revision 26", "▸  26")
		},
		keys.Command: func(x trial) { opens[*palette](x); shows(x, x.m, "Revisions: any action by name") },
		keys.Help:    func(x trial) { opens[*page](x); shows(x, x.m, "Help") },
		keys.Close: func(x trial) {
			x.press()
			_, open := x.m.dialog.(*savedScreen)
			x.want(open, "it leads to %T", x.m.dialog)
		},
	}, func(t testing.TB) *Model {
		m, shelf, _ := onPast(t, 25)
		s = shelf
		return m
	})
}

// Whichever revision is marked and wherever the focus is, what is told is what changed
// from the earlier to the later of the two.
func TestTheWordsAreOfTheTwoRevisionsFromTheEarlierToTheLater(t *testing.T) {
	const n = 6
	for with := range n + 1 { // 0 marks none
		for at := range n {
			m, s, p := onPast(t, n)
			m.SetSize(200, 60)
			if with > 0 {
				p.at = n - with
				press(m, "c")
			}
			p.at = at
			number := n - at
			was, now := min(number, with), max(number, with)
			if with == 0 {
				was, now = number-1, number
			}
			out := screen(m)
			if was < 1 || was == now {
				if strings.Contains(out, "From revision") {
					t.Errorf("revision %d against %d: with nothing to compare it tells\n%s", number, with, out)
				}
				press(m, "e")
				shows(t, m, "There is no other revision to compare it with.")
				continue
			}
			revisions := s.revisions[4]
			words := present.Revised(unit.System{}, revisions[was-1].Job, revisions[now-1].Job)
			if len(words) == 0 {
				t.Fatalf("nothing differs between %d and %d", was, now)
			}
			shows(t, m, fmt.Sprintf("From revision %d to %d", was, now))
			press(m, "e")
			shows(t, m, fmt.Sprintf("Autumn woods: from revision %d to %d", was, now))
			for _, w := range words {
				if w = capital(w); !strings.Contains(strings.Join(strings.Fields(out), " "), w) {
					t.Errorf("from %d to %d the screen does not tell %q:\n%s", was, now, w, out)
				}
				tells(t, m, w)
			}
		}
	}
}

// The lines of the list tell, each in short, what the one in focus tells in full.
func TestEachLineOfTheRevisionsTellsWhatChanged(t *testing.T) {
	m, s, _ := onPast(t, 4)
	m.SetSize(200, 60)
	list := s.revisions[4]
	for _, r := range list[1:] {
		words := present.Revised(unit.System{}, list[r.Number-2].Job, r.Job)
		tells(t, m, fmt.Sprintf("%d %s %s", r.Number, r.Saved.Format(savedTime), strings.Join(words, "; ")))
	}
	tells(t, m, "1 "+list[0].Saved.Format(savedTime)+" the first")
	press(m, "end", "c")
	tells(t, m, "1 = "+list[0].Saved.Format(savedTime)+" this one")
	for _, r := range list[1:] { // those of more than one change are cut
		words := present.Revised(unit.System{}, list[0].Job, r.Job)
		tells(t, m, fmt.Sprintf("%d %s %.80s", r.Number, r.Saved.Format(savedTime), strings.Join(words, "; ")))
	}
	// The mark stays when the focus moves, and goes to another that is marked.
	press(m, "home", "down", "c")
	shows(t, m, "3 = 2026")
	if strings.Contains(screen(m), "1 = 2026") {
		t.Errorf("two are marked:\n%s", screen(m))
	}
}

func TestTwoRevisionsThatAreTheSameSaySo(t *testing.T) {
	m, s, _ := onPast(t, 3)
	s.do(m, "end", "r", "c", "end")
	shows(t, m, "From revision 1 to 4", "Nothing: the two are the same")
}

func TestOneRevisionAlone(t *testing.T) {
	for _, size := range sizes[5:] {
		m, s, _ := onPast(t, 1)
		m.SetSize(size[0], size[1])
		shows(t, m, "Revisions of the bench Autumn woods   1", "the first")
		press(m, "c", "down", "end", "e")
		shows(t, m, "There is no other revision to compare it with.")
		press(m, "esc")
		s.do(m, "r")
		shows(t, m, "Revision 1 is the same as the newest.")
		if len(s.calls) > 0 {
			t.Errorf("it did %q", s.calls)
		}
		press(m, "enter")
		if m.dialog != nil || m.session.Name() != "Autumn woods" {
			t.Errorf("%T is open over %q", m.dialog, m.session.Name())
		}
	}
}

// A revision that is opened takes the place of what is on the bench, and undo brings that
// back. The header says whether the bench is as it was saved last.
func TestARevisionIsOpenedOnTheBench(t *testing.T) {
	for at, changed := range map[int]bool{0: false, 1: true, 2: true} {
		m, _, p := onPast(t, 4)
		before := m.Job().Encode()
		p.at = at
		press(m, "enter")
		if !m.Job().Equal(revised(3 - at)) {
			t.Errorf("line %d puts another revision on the bench", at)
		}
		shows(t, m, "“Autumn woods”")
		if head := m.Lines()[0]; strings.Contains(head, "changed") != changed {
			t.Errorf("line %d: the header says %q", at, head)
		}
		if m.View().Changed != changed {
			t.Errorf("line %d: for the next sitting it is changed %v", at, m.View().Changed)
		}
		press(m, "z")
		kept(t, m, before, "after undo")
		if m.session.Name() != "" {
			t.Errorf("after undo the bench is called %q", m.session.Name())
		}
		press(m, "Z")
		if head := m.Lines()[0]; !strings.Contains(head, "“Autumn woods”") || strings.Contains(head, "changed") != changed {
			t.Errorf("line %d done again: the header says %q", at, head)
		}
	}
	// What is just on the bench takes its name.
	m, _, _ := onPast(t, 3, "end", "enter")
	shows(t, m, "Autumn woods is just what is on the bench.", "“Autumn woods” changed")
	m, _, _ = onPast(t, 1, "enter")
	if head := m.Lines()[0]; strings.Contains(head, "changed") {
		t.Errorf("the header says %q", head)
	}
}

// A bench that was saved under a name is unchanged when undo brings it back.
func TestUndoOfAnOpenedRevisionLeavesTheNameUnchanged(t *testing.T) {
	m, s := benchOf(t, nil), sampleShelf()
	m.Saved("Evening", m.Job())
	s.do(m, "o", "ctrl+r", "enter", "z")
	if head := m.Lines()[0]; !strings.Contains(head, "“Evening”") || strings.Contains(head, "changed") {
		t.Errorf("after undo the header says %q", head)
	}
}

// A build comes beside the others, and a bow takes the place of the one there.
func TestRevisionsOfABuildAndOfABow(t *testing.T) {
	m, s := onSaved(t, "down")
	s.revisions[7] = []Revision{{Number: 1, Job: store.BuildOf(revised(0), 1)}, {Number: 2, Job: store.BuildOf(revised(3), 1)}}
	s.do(m, "ctrl+r")
	shows(t, m, "Revisions of the build Range day   2")
	words := present.Revised(unit.System{}, s.revisions[7][0].Job, s.revisions[7][1].Job)
	tells(t, m, capital(strings.TrimPrefix(words[0], "Even keel: "))) // the title names it
	before := m.Job().Encode()
	s.do(m, "end", "enter")
	if n := len(m.Job().Builds); n != 4 || m.col != 3 || m.Job().Builds[3].Length != sampleBench().Builds[1].Length {
		t.Errorf("%d builds with %d in focus", n, m.col)
	}
	press(m, "z")
	kept(t, m, before, "after undo")

	m, s = onSaved(t, "down", "down")
	bow := store.BowOf(revised(2))
	bow.Bow.Value.Name = "Counter bow"
	s.revisions[2] = []Revision{{Number: 1, Job: bow}}
	s.do(m, "ctrl+r", "enter")
	if got := m.Job().Bow.Value.Name; got != "Counter bow" || len(m.Job().Builds) != 3 {
		t.Errorf("the bow is %q over %d builds", got, len(m.Job().Builds))
	}
	press(m, "z")
	kept(t, m, before, "after undo")
}

// Restoring adds a revision, which is read again with the others; none is lost.
func TestARevisionIsRestored(t *testing.T) {
	m, s, p := onPast(t, 3, "end", "up", "r")
	if !slices.Equal(s.calls, []string{"restore 4 revision 2"}) {
		t.Errorf("it did %q", s.calls)
	}
	if len(p.revisions) != 4 || p.at != 0 || !p.revisions[0].Job.Equal(revised(1)) {
		t.Errorf("%d revisions with %d in focus", len(p.revisions), p.at)
	}
	shows(t, m, "Revisions of the bench Autumn woods   4", "Revision 2 is the newest again, as revision 4; the others are kept.")
	// The bench is not touched; opening it is another key.
	if !m.Job().Equal(sampleBench()) {
		t.Error("restoring changes the bench")
	}
	s.do(m, "r")
	shows(t, m, "Revision 4 is the same as the newest.")
	s.do(m, "esc")
	for _, l := range m.Lines() {
		if strings.HasPrefix(l, " ▸ Autumn woods") && !strings.HasSuffix(strings.TrimRight(l, " "), " 4") {
			t.Errorf("back on the list the line is %q, want 4 revisions", l)
		}
	}
}

// However many words there are, what finds no room is a key away.
func TestWhatChangedIsReadInFull(t *testing.T) {
	for _, size := range sizes[5:] {
		m, s, _ := onPast(t, 2)
		m.SetSize(size[0], size[1])
		builds(9)(s.revisions[4][0].Job)
		last := revised(1)
		builds(9)(last)
		for i := range last.Builds {
			b := &last.Builds[i]
			b.Length += unit.Inch
			b.Head.Weight += 25 * unit.Grain
			b.Shaft.Name, b.Nock.Name = "another shaft "+strings.Repeat("of a long name ", 4), "another nock"
			b.Head.Note, b.Shaft.Note = strings.Repeat("what is to be known of it ", 8), "sanded"
		}
		last.Bow.Value.Name, last.Bow.Value.Peak = "Another bow", unit.Some(61*unit.PoundForce)
		s.revisions[4][1].Job = last
		s.do(m, "esc", "ctrl+r")
		words := present.Revised(unit.System{}, s.revisions[4][0].Job, last)
		out := strings.Join(strings.Fields(screen(m)), " ")
		cut := false
		for _, w := range words {
			cut = cut || !strings.Contains(out, capital(w))
		}
		if !cut {
			t.Fatalf("%v: %d changes find room: the test wants more", size, len(words))
		}
		shows(t, m, "… e reads all of it")
		press(m, "e")
		seen := ""
		for range 40 {
			seen += strings.Join(strings.Fields(strings.Join(m.Lines()[3:size[1]-3], " ")), " ") + " "
			press(m, "pgdown")
		}
		for _, w := range words {
			for _, part := range strings.Fields(w) {
				if !strings.Contains(seen, part) && !strings.Contains(seen, capital(part)) {
					t.Errorf("%v: %q of %q is nowhere on the page", size, part, w)
				}
			}
		}
		press(m, "esc")
		if _, open := m.dialog.(*pastScreen); !open {
			t.Errorf("Esc leads to %T", m.dialog)
		}
	}
}

func TestAClickOnARevisionGoesThere(t *testing.T) {
	for _, size := range clickSizes {
		for _, lead := range [][]string{nil, {"end"}} {
			m, _, p := onPast(t, 40, lead...)
			m.SetSize(size[0], size[1])
			clicked := 0
			was := p.at
			for y, line := range m.Lines() {
				fields := strings.Fields(line)
				if len(fields) == 0 || y < 3 || strings.HasPrefix(line, " ▸") {
					continue
				}
				number := 0
				if n, err := fmt.Sscan(fields[0], &number); n != 1 || err != nil || !strings.Contains(line, "09:26") {
					if clickAt(m, 10, y); p.at != was || m.dialog != dialog(p) {
						t.Errorf("%v: a click on line %d, %q, goes to %d", size, y, line, p.at)
					}
					continue
				}
				if r := clickAt(m, 10, y); r != nil || p.at != 40-number {
					t.Errorf("%v: a click on revision %d goes to %d", size, number, 40-p.at)
				}
				clicked++
				p.at = was
				m.Lines()
			}
			if clicked < 4 {
				t.Errorf("%v: only %d revisions are on the screen:\n%s", size, clicked, screen(m))
			}
			// A second click opens it.
			y := slices.IndexFunc(m.Lines(), func(l string) bool { return strings.HasPrefix(l, " ▸") })
			clickAt(m, 10, y)
			if m.dialog != nil || !m.Job().Equal(revised(39-was)) {
				t.Errorf("%v: a click on the one in focus leaves %T open", size, m.dialog)
			}
		}
	}
}

// An answer that comes when nobody looks any more opens nothing and closes nothing.
func TestRevisionsThatComeLateAreLeftAlone(t *testing.T) {
	m, s := onSaved(t)
	r := press(m, "ctrl+r")
	shows(t, m, "Reading …")
	for _, key := range []string{"down", "end", "c", "e", "r", "enter", "pgup"} {
		if asked := press(m, key); asked != nil {
			t.Errorf("before they are there %s asks for %v", key, asked)
		}
	}
	press(m, "esc")
	answered(m, s, r)
	if _, open := m.dialog.(*savedScreen); !open {
		t.Errorf("%T is open", m.dialog)
	}
	// Those of something else do not come among them.
	r = press(m, "ctrl+r")
	press(m, "esc")
	s.do(m, "down", "ctrl+r")
	answered(m, s, r)
	shows(t, m, "Revisions of the build Range day   1")

	// One that fails then says nothing about what is not on the screen.
	press(m, "esc")
	s.err = errors.New("it is damaged")
	r = press(m, "ctrl+r")
	press(m, "esc", "esc")
	answered(m, s, r)
	if m.dialog != nil || m.alerting() {
		t.Errorf("%T is open and it says %q", m.dialog, m.message)
	}
}

// The list of actions does what the keys do.
func TestEachActionOnRevisionsByNameDoesWhatItsKeyDoes(t *testing.T) {
	for _, b := range keys.Default().Past.Bindings {
		byKey, s, _ := onPast(t, 5, "down")
		byKey.message = ""
		s.do(byKey, b.Keys()[0])
		byName, s2, _ := onPast(t, 5, "down")
		press(byName, ":")
		list := byName.dialog.(*palette)
		list.at = slices.Index(list.found, b.Action)
		if list.at < 0 {
			if b.Action != keys.Command {
				t.Errorf("%s is not on the list", b.Action)
			}
			continue
		}
		s2.do(byName, "enter")
		if after(byKey, nil) != after(byName, nil) || !slices.Equal(s.calls, s2.calls) {
			t.Errorf("%s by key:\n%s\nby name:\n%s", b.Action, after(byKey, nil), after(byName, nil))
		}
	}
}

// Two revisions are compared in the units that are shown.
func TestRevisionsAreToldInTheUnitsShown(t *testing.T) {
	m, s := benchOf(t, nil), sampleShelf()
	m.setUnits(metric)
	s.do(m, "o", "ctrl+r")
	for _, words := range present.Revised(metric, revised(1), revised(2)) {
		shows(t, m, capital(words))
	}
	if slices.Equal(present.Revised(metric, revised(1), revised(2)), present.Revised(unit.System{}, revised(1), revised(2))) {
		t.Fatal("the test wants words with a unit")
	}
}

// A saved thing that has lost its builds is opened without harm.
func TestARevisionWithoutABuild(t *testing.T) {
	m, s := onSaved(t, "down")
	s.revisions[7] = []Revision{{Number: 1, Job: job.New()}}
	before := m.Job().Encode()
	s.do(m, "ctrl+r", "enter")
	kept(t, m, before, "after a build that is none")
	checkFrame(t, "no build", m.Lines(), 120, 36)
}
