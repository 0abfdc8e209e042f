package bench

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/keys"
)

// newInsert is a part that a file may bring.
func newInsert() part.Part {
	p := partOf(sampleParts(), part.KindInsert)
	p.ID, p.Insert.Value.Name, p.Sample = "part-777", "brass from elsewhere", false
	return p
}

// onIntake looks at a file from the Saved screen, or from the drawer.
func onIntake(t testing.TB, from string, look Intake) (*Model, *fakeShelf, *intakeScreen) {
	t.Helper()
	m, s := benchOf(t, nil), sampleShelf()
	s.files["/home/price list.csv"], s.intake, s.brings = []byte("data"), look, []part.Part{newInsert()}
	s.do(m, from)
	s.do(m, "ctrl+t")
	write(m, "/home/price list.csv")
	s.do(m, "enter")
	i, open := m.dialog.(*intakeScreen)
	if !open {
		t.Fatalf("a file opens %T:\n%s", m.dialog, screen(m))
	}
	return m, s, i
}

var twoThings = Intake{Lines: []string{"2 things to take in, 3 there already as they are. Nothing here is overwritten.", "build “Range day” comes as “Range day 2”: what is here under its name differs, and stays", "customer “Ada” is new"}}

func TestEachKeyOfAFileDoesWhatItSays(t *testing.T) {
	var s *fakeShelf
	offset := func(x trial) int { return x.m.dialog.(*intakeScreen).offset }
	checkScope(t, keys.Default().Intake, map[keys.Action]func(x trial){
		keys.Up:       func(x trial) { press(x.m, "down", "down"); x.press(); x.want(offset(x) == 1, "line %d", offset(x)) },
		keys.Down:     func(x trial) { x.press(); x.want(offset(x) == 1, "line %d", offset(x)) },
		keys.PageUp:   func(x trial) { press(x.m, "pgdown"); x.press(); x.want(offset(x) == 0, "line %d", offset(x)) },
		keys.PageDown: func(x trial) { x.press(); x.want(offset(x) > 5, "line %d", offset(x)) },
		keys.First:    func(x trial) { press(x.m, "down"); x.press(); x.want(offset(x) == 0, "line %d", offset(x)) },
		keys.Last: func(x trial) {
			x.press()
			x.want(offset(x) == x.m.dialog.(*intakeScreen).most && offset(x) > 0, "line %d", offset(x))
		},
		keys.Choose: func(x trial) {
			r := x.press()
			a, ok := r.(Ask)
			x.want(ok && a.Alone, "it asks for %+v", r)
			answered(x.m, s, r)
			x.want(slices.Equal(s.calls, []string{"take in data as price list"}), "it did %q", s.calls)
			shows(x, x.m, "Taken in: line 0 is new", "Saved: ")
		},
		keys.Close: func(x trial) {
			drawer := x.m.drawer
			r := x.press()
			_, open := x.m.dialog.(*savedScreen)
			x.want(r == nil && open && len(s.calls) == 0 && &x.m.drawer[0] == &drawer[0], "it asks for %v and leads to %T", r, x.m.dialog)
			shows(x, x.m, "Everything is as it was.")
		},
	}, func(t testing.TB) *Model {
		var lines []string
		for i := range 80 {
			lines = append(lines, fmt.Sprintf("line %d is new: insert brass, 50 gr", i))
		}
		m, shelf, _ := onIntake(t, "o", Intake{Lines: lines})
		s = shelf
		m.Lines()
		return m
	})
}

// What a file would bring is shown before anything is changed.
func TestAFileIsLookedAtBeforeItIsTakenIn(t *testing.T) {
	for _, from := range []string{"o", "6"} {
		for _, size := range sizes[5:] {
			m, s, _ := onIntake(t, from, twoThings)
			m.SetSize(size[0], size[1])
			shows(t, m, "What price list.csv would bring")
			for _, words := range twoThings.Lines {
				tells(t, m, capital(words))
			}
			tells(t, m, "Nothing is changed yet. Enter takes all of it in; undo does not take it back.")
			if foot := m.Lines()[size[1]-1]; !strings.Contains(foot, "Enter take it in") {
				t.Errorf("the last line is %q", foot)
			}
			if len(s.calls) > 0 {
				t.Errorf("looking did %q", s.calls)
			}
		}
	}
}

func TestAFileIsTakenIn(t *testing.T) {
	for _, from := range []string{"o", "6"} {
		m, s, _ := onIntake(t, from, twoThings)
		before := m.Job().Encode()
		s.entries = append(s.entries, Entry{ID: 90, Name: "Meadow", What: SavedBuild})
		s.do(m, "enter")
		if len(m.drawer) != len(sampleParts())+1 || m.drawer[len(m.drawer)-1].ID != "part-777" {
			t.Errorf("the drawer has %d parts", len(m.drawer))
		}
		tells(t, m, "Taken in: "+twoThings.Lines[0])
		kept(t, m, before, "after a file was taken in")
		if from == "6" {
			d, open := m.dialog.(*drawerScreen)
			write(m, "elsewhere")
			if !open || len(d.found) != 1 {
				t.Errorf("%T is open:\n%s", m.dialog, screen(m))
			}
			continue
		}
		write(m, "meadow")
		if got := listedNow(t, m); !slices.Equal(got, []string{"Meadow"}) {
			t.Errorf("listed are %q", got)
		}
	}
	// The part in focus keeps it.
	m, d := onDrawer(t, "down", "down", "down")
	s := sampleShelf()
	held := d.part(d.at).ID
	s.files["f.csv"], s.intake, s.brings = nil, twoThings, []part.Part{newInsert()}
	s.do(m, "ctrl+t")
	write(m, "f.csv")
	s.do(m, "enter", "enter")
	if m.Lines(); d.part(d.at).ID != held || len(m.drawer) != 62 {
		t.Errorf("the focus is on %s, and there are %d parts", d.part(d.at).ID, len(m.drawer))
	}
}

// A file with lines that are refused cannot be taken in, and neither can one that would
// change nothing.
func TestAFileThatCannotBeTakenInSaysWhy(t *testing.T) {
	for says, look := range map[string]Intake{
		"Nothing is taken in while lines are refused: correct them in the file and come back.": {Lines: []string{"1 new, 1 refused.", "line 3 is refused: no such kind"}, Refused: true},
		"All of it is here already.": {Lines: []string{"0 new"}, Nothing: true},
	} {
		m, s, i := onIntake(t, "6", look)
		drawer := m.drawer
		shows(t, m, says)
		if foot := m.Lines()[35]; strings.Contains(foot, "take it in") || !strings.Contains(foot, "Esc back") {
			t.Errorf("the last line is %q", foot)
		}
		for range 2 {
			if r := press(m, "enter"); r != nil || m.dialog != dialog(i) || m.message != says {
				t.Errorf("Enter asks for %+v and says %q", r, m.message)
			}
		}
		press(m, "esc")
		if len(s.calls) > 0 || &m.drawer[0] != &drawer[0] {
			t.Errorf("it did %q", s.calls)
		}
	}
}

func TestAFileThatCannotBeReadSaysSo(t *testing.T) {
	m, s := onSaved(t, "ctrl+t")
	if r := press(m, "enter"); r != nil || !strings.Contains(m.message, "Type the name of a file") || !m.Typing() {
		t.Errorf("no name asks for %v and says %q", r, m.message)
	}
	write(m, "nowhere.json")
	s.do(m, "enter")
	// The name is there to be mended.
	if !m.Typing() || typedText(t, m) != "nowhere.json" || m.message != "It could not be read: there is no file nowhere.json." || !m.alerting() {
		t.Errorf("%T is open, and it says %q", m.dialog, m.message)
	}
	press(m, "esc")
	s.files["/home/wrong.json"] = []byte("{")
	s.do(m, "ctrl+t")
	write(m, "/home/wrong.json")
	r := press(m, "enter")
	shows(t, m, "Reading …")
	s.err = fmt.Errorf("line 1 is no JSON")
	s.files["/home/wrong.json"] = nil
	answered(m, &failsTakingIn{s}, r)
	if _, open := m.dialog.(*savedScreen); !open || m.message != "wrong.json was not taken in: line 1 is no JSON. Nothing was changed." || !m.alerting() {
		t.Errorf("%T is open, and it says %q", m.dialog, m.message)
	}
}

// Whoever left before the answer came is not called back.
func TestALookThatComesLateOpensNothing(t *testing.T) {
	for _, leave := range [][]string{{"esc"}, {"esc", "r", "x"}, {"f1"}, {"ctrl+r"}, {"ctrl+e", "enter"}, {"esc", "b"}} {
		m, s := onSaved(t, "ctrl+t")
		s.files["f.json"], s.intake = []byte("data"), twoThings
		write(m, "f.json")
		r := press(m, "enter")
		press(m, leave...)
		open, text := m.dialog, ""
		if m.Typing() && m.dialog != nil {
			text = typedText(t, m)
		}
		answered(m, s, r)
		if m.dialog != open || m.Typing() && typedText(t, m) != text || len(s.calls) > 0 {
			t.Errorf("after %q it opens %T", leave, m.dialog)
		}
	}
	// Neither does it ask again for the name of a file that could not be read.
	for _, leave := range [][]string{{"esc"}, {"esc", "r", "x"}, {"ctrl+e", "enter"}} {
		m, s := onSaved(t, "ctrl+t")
		write(m, "nowhere.json")
		r := press(m, "enter")
		press(m, leave...)
		open := m.dialog
		answered(m, s, r)
		if m.dialog != open {
			t.Errorf("after %q a file that could not be read opens %T", leave, m.dialog)
		}
		shows(t, m, "there is no file nowhere.json")
	}
	// On another screen that takes files in, it is what was asked for.
	m, s := onSaved(t, "ctrl+t")
	s.files["f.json"], s.intake = []byte("data"), twoThings
	write(m, "f.json")
	r := press(m, "enter")
	press(m, "esc", "6")
	answered(m, s, r)
	if _, open := m.dialog.(*intakeScreen); !open {
		t.Errorf("%T is open", m.dialog)
	}
}

// offeredFiles returns what the open choice offers to write.
func offeredFiles(t testing.TB, m *Model) []string {
	t.Helper()
	c, open := m.dialog.(*choice)
	if !open {
		t.Fatalf("%T is open", m.dialog)
	}
	var out []string
	for _, o := range c.options {
		out = append(out, o.words)
	}
	return out
}

const wholeWorkbook = "The whole workbook: bench, drawer, customers, all that is saved"

func TestWhatCanBeWrittenToAFile(t *testing.T) {
	for name, c := range map[string]struct {
		lead []string
		want []string
	}{
		"a bench":       {nil, []string{"The bench Autumn woods as saved last: a job file (elsewhere a bench, without its customer)", "The bench Autumn woods with all its revisions", "Everything of " + wren, wholeWorkbook}},
		"a build":       {[]string{"down"}, []string{"The build Range day as saved last: a job file (elsewhere a bench, without its customer)", "The build Range day with all its revisions", "Everything of " + bram, wholeWorkbook}},
		"a bow":         {[]string{"down", "down"}, []string{"The bow Counter bow as saved last: a job file (elsewhere a bench, without its customer)", "The bow Counter bow with all its revisions", wholeWorkbook}},
		"a customer":    {append(slices.Clone(toCustomers), "end"), []string{"Everything of " + wren, wholeWorkbook}},
		"in the bin":    {toBin, []string{"The build Old trial as saved last: a job file (elsewhere a bench, without its customer)", "The build Old trial with all its revisions", "Everything of " + wren, wholeWorkbook}},
		"nothing":       {[]string{"q", "q", "q"}, []string{wholeWorkbook}},
		"not yet there": {nil, []string{wholeWorkbook}},
	} {
		m, s := onSaved(t)
		if name == "not yet there" {
			m = benchOf(t, nil)
			press(m, "o")
		}
		s.do(m, append(slices.Clone(c.lead), "ctrl+w")...)
		if got := offeredFiles(t, m); !slices.Equal(got, c.want) {
			t.Errorf("of %s it offers\n%q\nwant\n%q", name, got, c.want)
		}
		tells(t, m, "A file that is there already is never touched.")
		press(m, "esc")
		if _, open := m.dialog.(*savedScreen); !open {
			t.Errorf("Esc leads to %T", m.dialog)
		}
	}
}

// What is chosen is asked for and then written under the name that was typed.
func TestWhatIsWrittenToAFile(t *testing.T) {
	type want struct{ file, what, data string }
	for name, c := range map[string]struct {
		lead []string
		want []want
	}{
		"a bench": {nil, []want{
			{"autumn-woods.json", "the bench Autumn woods", "newest of 4"},
			{"autumn-woods-revisions.json", "the bench Autumn woods with its revisions", fmt.Sprintf("bundle of %+v", store.Scope{Entry: 4})},
			{"wren-alder-invented.json", "everything of " + wren, fmt.Sprintf("bundle of %+v", store.Scope{Customer: wren})},
			{"workbook.json", "the whole workbook", fmt.Sprintf("bundle of %+v", store.Scope{})},
		}},
		"a customer": {append(slices.Clone(toCustomers), "end"), []want{
			{"wren-alder-invented.json", "everything of " + wren, fmt.Sprintf("bundle of %+v", store.Scope{Customer: wren})},
			{"workbook.json", "the whole workbook", fmt.Sprintf("bundle of %+v", store.Scope{})},
		}},
	} {
		for i, w := range c.want {
			for _, typed := range []string{"", "/home/other place.json"} {
				m, s := onSaved(t, append(slices.Clone(c.lead), "ctrl+w")...)
				press(m, slices.Repeat([]string{"down"}, i)...)
				press(m, "enter")
				if got := typedText(t, m); got != w.file {
					t.Errorf("%s: the file is called %q, want %q", name, got, w.file)
				}
				shows(t, m, ", to a new file called")
				file := w.file
				if typed != "" {
					write(m, typed)
					file = typed
				}
				r, ok := s.do(m, "enter").(Write)
				if !ok || r.Path != file || r.What != w.what || string(r.Data) != w.data {
					t.Errorf("%s: it asks for %q of %s with %q, want %+v", name, r.Path, r.What, r.Data, w)
				}
				if _, open := m.dialog.(*savedScreen); !open || len(s.calls) > 0 {
					t.Errorf("%s: %T is open after %q", name, m.dialog, s.calls)
				}
				m.Written(r, "/full/"+r.Path, nil)
				tells(t, m, "Wrote "+w.what+" to /full/"+file+".")
				m.Written(r, "", errShelf)
				shows(t, m, "Not written. The disk is full")
			}
		}
	}
	// Nothing is written without a name, and nothing after Esc.
	m, _ := onSaved(t, "ctrl+w", "enter", "backspace")
	if r := press(m, "enter"); r != nil || !m.Typing() || !strings.Contains(m.message, "Type a name for the file") {
		t.Errorf("without a name it asks for %v and says %q", r, m.message)
	}
	if r := press(m, "esc"); r != nil {
		t.Errorf("Esc asks for %v", r)
	}
	if _, open := m.dialog.(*savedScreen); !open {
		t.Errorf("Esc leads to %T", m.dialog)
	}
}

// What is written is what had the focus, though the list is read anew meanwhile.
func TestWhatIsWrittenIsWhatHadTheFocus(t *testing.T) {
	m, s := onSaved(t, "ctrl+w", "enter")
	s.entries = slices.Insert(s.entries, 0, Entry{ID: 60, Name: "Newest"})
	answered(m, s, List{})
	if r, ok := s.do(m, "enter").(Write); !ok || string(r.Data) != "newest of 4" {
		t.Errorf("it asks for %+v", r)
	}
}

// The drawer is written as it is, for a spreadsheet of either sort or for another workbook.
func TestTheDrawerIsWrittenToAFile(t *testing.T) {
	m, _ := onDrawer(t)
	s := sampleShelf()
	press(m, "ctrl+r") // the first is retired
	for i, c := range []struct{ words, file, data string }{
		{"The drawer for a spreadsheet: CSV with commas and decimal points", "drawer.csv", string(store.WriteCSV(m.drawer, false))},
		{"The same with semicolons and decimal commas, as many countries have it", "drawer.csv", string(store.WriteCSV(m.drawer, true))},
		{"The drawer for another workbook: JSON", "drawer.json", fmt.Sprintf("bundle of %+v", store.Scope{Drawer: true})},
	} {
		press(m, "ctrl+w")
		if got := offeredFiles(t, m); len(got) != 3 || got[i] != c.words {
			t.Fatalf("it offers %q, want %q", got, c.words)
		}
		press(m, slices.Repeat([]string{"down"}, i)...)
		press(m, "enter")
		r, ok := s.do(m, "enter").(Write)
		if !ok || r.Path != c.file || r.What != "the drawer" || string(r.Data) != c.data {
			t.Errorf("%s: it asks for %q of %s with %d bytes, want %q with %d", c.words, r.Path, r.What, len(r.Data), c.file, len(c.data))
		}
		if _, open := m.dialog.(*drawerScreen); !open {
			t.Errorf("%s: %T is open", c.words, m.dialog)
		}
	}
	// It is the drawer at that moment: what is changed then is not in it.
	press(m, "ctrl+w", "enter")
	asked := press(m, "enter")
	want := store.WriteCSV(m.drawer, false)
	m.drawer[1].Shaft.Value.WeightPerInch = unit.Some(1 * unit.GrainPerInch)
	if r, ok := answered(m, s, asked).(Write); !ok || !bytes.Equal(r.Data, want) {
		t.Error("a change made afterwards is in the file")
	}
}

func TestAClickChoosesWhatIsWritten(t *testing.T) {
	m, _ := onSaved(t, "ctrl+w")
	y := slices.IndexFunc(m.Lines(), func(l string) bool { return strings.Contains(l, wholeWorkbook) })
	if r := clickAt(m, 5, y); r != nil {
		t.Errorf("the first click asks for %v", r)
	}
	shows(t, m, "▸ "+wholeWorkbook)
	clickAt(m, 5, y)
	if got := typedText(t, m); got != "workbook.json" {
		t.Errorf("the file is called %q", got)
	}
}

// failsTakingIn reads what is there and then fails to make sense of it.
type failsTakingIn struct{ *fakeShelf }

func (s *failsTakingIn) Read(path string) ([]byte, error) { return s.files[path], nil }
