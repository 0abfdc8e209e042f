package main

import (
	"encoding/base64"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"foreshaft/engine/record"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/present"
	"foreshaft/ui/uitest"
)

// copied returns the texts that stand between two sequences in what a sitting
// wrote, as the clipboard would have them, and what it wrote besides.
func copied(t testing.TB, raw, begin, end string) (texts []string, besides string) {
	t.Helper()
	pieces := strings.Split(raw, begin)
	besides = pieces[0]
	for _, piece := range pieces[1:] {
		coded, behind, found := strings.Cut(piece, end)
		// A long one is handed through by a multiplexer in pieces.
		text, err := base64.StdEncoding.DecodeString(strings.ReplaceAll(coded, "\x1b\\\x1bP", ""))
		if !found || err != nil {
			t.Fatalf("no clipboard text: %v, %.200q", err, coded)
		}
		texts, besides = append(texts, string(text)), besides+behind
	}
	return texts, besides
}

func TestCopyingGivesTheTerminalWhatIsInFocusAndTheTable(t *testing.T) {
	t.Parallel()
	j := store.SampleBench()
	sheetOf := sheet.Evaluate(j)
	want := []string{present.Piece(sheetOf.Units, &j.Builds[0], "insert"), present.Plain(sheetOf)}
	const osc, bel = "\x1b]52;c;", "\a"
	for _, c := range []struct {
		name  string
		env   []string
		forms [][2]string // how each sequence begins and ends
	}{
		{"no multiplexer", nil, [][2]string{{osc, bel}}},
		{"one that takes copies or passes them on", []string{"TMUX=/tmp/tmux-1000/default,1,0", "TERM=tmux-256color"}, [][2]string{{"\x1bPtmux;\x1b" + osc, bel + "\x1b\\"}, {osc, bel}}},
		{"one that only passes them on", []string{"STY=1.pts-0.here", "TERM=screen"}, [][2]string{{"\x1bP" + osc, bel + "\x1b\\"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			x, _ := open(t, uitest.Options{Env: c.env})
			x.Send("y")
			x.WaitFor("Copied the insert of A Open ground: " + want[0] + ".")
			x.Send("Y")
			x.WaitFor(fmt.Sprintf("Copied the whole comparison as text: %d lines", strings.Count(want[1], "\n")))
			whole(x)
			quit(t, x)
			raw := string(x.Raw())
			for _, form := range c.forms {
				var got []string
				got, raw = copied(t, raw, form[0], form[1])
				if strings.Join(got, "|") != strings.Join(want, "|") {
					t.Errorf("behind %q stand %q, want %q", form[0], got, want)
				}
			}
			if strings.Contains(raw, "]52;") {
				t.Error("more was copied than was asked for")
			}
		})
	}
}

func TestUnitsAreChosenForScreenAndKeyboardAndNotForTheFile(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{})
	x.Send("u")
	x.WaitFor("[grains]")
	x.Send(enter)
	x.WaitFor("[grams]")
	x.Send("j" + enter)
	x.WaitFor("[centimetres]")
	leave(x, "draw weights")
	x.WaitMatch(`g · cm · ft/s`)
	x.WaitMatch(`total weight +25\.53 ± 0\.05 g `) // 394.0 gr at 64.79891 mg each
	x.WaitMatch(`length +74\.93 cm tube 73\.66`)   // 29.5 in and 29 in
	x.Send("k" + "k" + down)                       // from the insert to the length
	x.WaitFor("▸length")
	x.Send(enter + "75")
	x.WaitFor("75▏")
	x.Send(enter)
	x.WaitFor("[75.00 cm tube 73.73")
	x.Send("q")
	if code := x.Wait(); code != done {
		t.Fatalf("quitting ended with %d", code)
	}
	want := store.SampleBench()
	trial := want.Builds[0].Clone()
	trial.Recut(75 * unit.Centimetre)
	want.Builds[0] = trial
	kept := s.bench()
	if got := kept.Builds[0].Length.In(unit.Inch); math.Abs(got-75/2.54) > 1e-9 {
		t.Errorf("the arrow is kept as %v in long, want %v", got, 75/2.54)
	}
	if got, want := string(record.Encode(*kept)), string(record.Encode(*want)); got != want {
		t.Errorf("kept is\n%s\nwant\n%s", got, want)
	}
	if got, want := s.kept().Units, (store.Units{Weight: "g", Length: "cm", Speed: "ft/s", Force: "lb", Distance: "yd"}); got != want {
		t.Errorf("kept are the units %v, want %v", got, want)
	}

	x = s.sit(uitest.Options{})
	x.WaitFor("g · cm · ft/s")
	x.WaitFor("[75.00 cm tube 73.73")
	x.Send(enter + "30 in" + enter) // a unit that is typed goes before the one chosen
	x.WaitFor("[76.20 cm tube")
	x.Send("z")
	x.WaitFor("[75.00 cm tube 73.73")
	quit(t, x)
}

// writeSettings puts a file there for the next start and returns its path.
func (s seat) writeSettings(text string) string {
	s.t.Helper()
	path := filepath.Join(s.config, "foreshaft", "settings.json")
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		s.t.Fatal(err)
	}
	overwrite(s.t, path, []byte(text))
	return path
}

func TestAKeyFromTheSettingsWorksAndIsShown(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	s.writeSettings(`{"format": "foreshaft-settings/1", "keys": {"bench.undo": ["w"]}}`)
	x := s.sit(uitest.Options{Cols: 80, Rows: 24})
	x.WaitFor("  w undo  ")
	x.WaitFor("Welcome") // there is nothing to complain of
	x.Send("+")
	x.WaitFor("20 gr aluminium")
	x.Send("z")
	x.WaitFor("z is no key here")
	x.Send("w")
	x.WaitFor("Undone")
	x.WaitFor("[16 gr aluminium")
	x.Send("t") // choosing something else leaves the keys in the file
	x.WaitFor("Colours for")
	quit(t, x)
	if got := s.kept(); len(got.Keys["bench.undo"]) != 1 || got.Keys["bench.undo"][0] != "w" || got.Theme != "light" {
		t.Errorf("kept is %+v", got)
	}
}

func TestKeysThatAreInEachOthersWayAreSaidAtTheStart(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	s.writeSettings(`{"format": "foreshaft-settings/1", "keys": {"bench.undo": ["w"], "bench.redo": ["w"], "bench.bow": ["q"], "bench.fly": ["f"]}}`)
	x := s.sit(uitest.Options{})
	x.WaitFor("Settings: keys.bench.bow: q was the key of")
	x.WaitFor("and 2 more: press , to read them")
	x.Send(",")
	x.WaitFor("keys.bench.redo: w is the key of")
	x.WaitFor("keys.bench.fly: there is no such action")
	leave(x, "keys.bench.fly")
	x.Send("+")
	x.WaitFor("20 gr aluminium")
	x.Send("w") // who had it first has it
	x.WaitFor("Undone")
	x.Send("q")
	x.WaitFor("peak weight now")
	leave(x, "peak weight now")
	x.Send("\x03")
	if code := x.Wait(); code != done {
		t.Errorf("Ctrl+C ended with %d", code)
	}
	s.untouched()
}

func TestASettingsFileThatIsNotUnderstoodStaysAsItIs(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ text, place string }{
		"a comma too many": {"{\n  \"format\": \"foreshaft-settings/1\",\n  \"theme\": \"dark\",\n}\n", "line 3, column 18"},
		"cut short":        {"{\n  \"format\": \"foreshaft-settings/1\", \"keys\": {\"bench.undo\": [", "line 2"},
		"no theme":         {`{"format": "foreshaft-settings/1", "theme": "pink"}`, "theme"},
		"newer":            {`{"format": "foreshaft-settings/2", "voice": true}`, "format"},
		"noise":            {"\x00\xff\x1b[31m", "line 1"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := newSeat(t)
			path := s.writeSettings(c.text)
			x := s.sit(uitest.Options{Cols: 200})
			x.WaitFor("Settings: ")
			x.WaitFor(path)
			x.WaitFor(c.place)
			x.Send("+")
			x.WaitFor("20 gr aluminium")
			x.Send("t")
			x.WaitFor("was not kept for the next time")
			x.WaitFor(path)
			x.Send("z")
			x.WaitFor("Undone")
			quit(t, x)
			if got := string(content(t, path)); got != c.text {
				t.Errorf("the file is %q now, and was %q", got, c.text)
			}
			if left, err := os.ReadDir(filepath.Dir(path)); err != nil || len(left) != 1 {
				t.Errorf("beside it are %v, %v", left, err)
			}
			if strings.Contains(string(x.Raw()), "\x1b[31m") {
				t.Error("the file's bytes reached the terminal")
			}
			s.untouched()
		})
	}
}

func TestABowIsKeptByNameAndComesBack(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{})
	x.Send("b")
	x.WaitFor("▸ peak weight now     [68 lb]")
	x.Send("s")
	x.WaitFor("Keep this bow")
	x.Send("Field bow" + enter)
	x.WaitFor(`Saved as "Field bow".`)
	x.Send("n")
	x.WaitFor("compound · no reading")
	x.WaitFor("▸ name") // which comes first
	x.Send("jjj" + enter)
	x.WaitFor("[▏")
	x.Send("50" + enter)
	x.WaitFor("▸ peak weight now     [50 lb]")
	x.Send("o")
	x.WaitFor("▸ Field bow ")
	x.WaitFor("Saved: bows   1 of 1")
	x.Send(enter)
	x.WaitFor("Field bow is on the bench now")
	x.WaitFor("▸ peak weight now     [68 lb]")
	x.Send("z")
	x.WaitFor("▸ peak weight now     [50 lb]")
	x.Send("Z")
	x.WaitFor("▸ peak weight now     [68 lb]")
	x.Send("o") // the one that had to make room was kept without being asked
	x.WaitFor("Saved: bows   2 of 2")
	x.WaitFor("compound 50 lb")
	leave(x, "Saved: bows   2 of 2")
	leave(x, "peak weight now")
	quit(t, x)
	kept, want := s.bench(), store.SampleBench()
	kept.Bow.Value.Name = want.Bow.Value.Name // whichever of the two names it has now
	if got, want := string(record.Encode(*kept)), string(record.Encode(*want)); got != want {
		t.Errorf("kept is\n%s\nwant\n%s", got, want)
	}
}

func TestAPartOfOnesOwnGoesIntoTheDrawerAndStays(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{})
	x.Send(enter)
	x.WaitFor("Choose the insert")
	x.Send(newPart)
	x.WaitFor("It needs a name, weight, depth in the shaft")
	for _, v := range []struct{ move, title, typed, shown string }{
		{"", "name", "Turned in the shed", "[Turned in the shed]"}, {"j", "weight", "41.5", "[41.5 gr]"}, {"jj", "depth in the shaft", "1", "[1 in]"},
	} {
		x.Send(v.move)
		x.WaitFor("▸ " + v.title + " ")
		x.Send(enter)
		x.WaitFor("[▏")
		x.Send(v.typed + enter)
		x.WaitFor(v.shown)
	}
	x.WaitFor("In the drawer: 41.5 gr Turned in the shed.")
	leave(x, "In the drawer")
	x.WaitMatch(`▸ Turned in the shed +41\.5 .* fits`)
	x.Send(enter)
	x.WaitFor("[41.5 gr Turned in the shed")
	quit(t, x)

	x = s.sit(uitest.Options{})
	x.WaitFor("[41.5 gr Turned in the shed")
	x.Send("l" + enter)
	x.WaitFor("Choose the insert of B")
	x.Send("shed")
	x.WaitMatch(`▸ Turned in the shed +41\.5 .* fits`)
	x.Send(enter)
	x.WaitMatch(`insert +41\.5 gr Turned in the shed +\[41\.5 gr Turned in the shed`)
	quit(t, x)
	for i, b := range s.bench().Builds[:2] {
		if in := b.Insert.Value; in.Name != "Turned in the shed" || math.Abs(in.Weight.In(unit.Grain)-41.5) > 1e-9 || math.Abs(in.Depth.In(unit.Inch)-1) > 1e-9 {
			t.Errorf("build %d is kept with %+v", i, in)
		}
	}
}

func TestAnEmptyBenchSaysWhatToDo(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{Cols: 80, Rows: 24})
	x.Send("X")
	x.WaitFor("▸ Clear the bench")
	x.Send(enter)
	for _, says := range []string{
		"There is no build on the bench.", "b     enter your bow", "a     add a build", "o     open", "z     undo", "X     bring the invented samples back", "The bench is empty: b enters your bow, a adds a build.",
	} {
		x.WaitFor(says)
	}
	for _, key := range []string{"+", "-", enter, "e", "E", "r", "d", "x", "n", "<", "y", "Y", "s", "S", "j", "l"} {
		x.Send(key)
		x.WaitFor("press a to add one, or o to open a saved one")
		x.Send("Z") // the next one has to say it again
		x.WaitFor("Nothing to do again")
	}
	x.Send("T")
	x.WaitFor("The tour needs a build to look at: X brings the sample bench")
	quit(t, x)
	if j := s.bench(); len(j.Builds) > 0 || j.Bow.Given {
		t.Errorf("kept is %s", record.Encode(*j))
	}

	x = s.sit(uitest.Options{Cols: 80, Rows: 24})
	x.WaitFor("There is no build on the bench.")
	x.Send("X" + down)
	x.WaitMatch(`▸ Hide the \d+ sample parts`)
	x.Send(enter)
	x.WaitFor("The sample parts are out of the drawer")
	x.Send("a")
	x.WaitMatch(`press X to bring the\s+sample parts back`)
	x.Send("X" + down)
	x.WaitMatch(`▸ Bring the \d+ sample parts back`)
	x.Send(enter)
	x.WaitFor("The sample parts are back in the drawer")
	x.Send("X" + down + down)
	x.WaitFor("▸ Put the sample bench in place")
	x.Send(enter)
	whole(x)
	quit(t, x)
	s.untouched()
}

func TestTheTourGoesOnWithWhatIsDone(t *testing.T) {
	t.Parallel()
	x, _ := open(t, uitest.Options{Cols: 80, Rows: 24})
	const steps = 7
	at := func(step int) { x.WaitFor(fmt.Sprintf("Tour %d of %d:", step, steps)) }
	x.Send("T")
	at(1)
	x.Send("j") // not what it asks for
	x.WaitFor("▸collar")
	at(1)
	x.Send("kl")
	at(2)
	x.Send("+")
	at(3)
	x.Send("z" + enter)
	x.WaitFor("Choose the insert")
	at(4)
	leave(x, "Choose the insert") // Esc leaves the drawer, not the tour
	at(4)
	x.Send("n")
	at(5)
	x.Send("\x1b[F") // End: the cautions
	x.WaitFor("▸cautions")
	x.Send("\x1b[A" + "e")
	at(6)
	leave(x, "Source:")
	x.Send("g")
	x.WaitFor("Propose three builds")
	at(7)
	leave(x, "Propose three builds")
	x.Send("b")
	x.WaitFor("peak weight now")
	x.WaitFor("That was the tour.")
	leave(x, "peak weight now")
	x.WaitGone("Tour ")
	x.Send("T")
	at(1)
	x.Send("TT") // skips
	at(3)
	leave(x, "Tour 3")
	x.WaitFor("The tour is over; T starts it again.")
	quit(t, x)
}
