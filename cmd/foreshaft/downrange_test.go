package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/present"
	"foreshaft/ui/uitest"
)

const (
	home  = "\x1b[H"
	end   = "\x1b[F"
	right = "\x1b[C"
)

// cellAt is a figure of the first build at one of the distances of a job, as far
// as its number and ± go.
func cellAt(j *job.Job, distance int, k figure.Key) string {
	c := present.FigureCellAt(sheet.Evaluate(j), 0, distance, k)
	return c.Value + " ± " + c.U
}

// changed returns the sample bench after a change.
func changed(change func(j *job.Job)) *job.Job {
	j := store.SampleBench()
	change(j)
	return j
}

// Someone puts a heavier head on and sees at once how much lower it hits, finds the
// new mark on the Downrange screen, and then what a stronger wind does. Everything
// is there again the next time.
func TestAHeavierHeadAndAStrongerWindDownrange(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	small := uitest.Options{Cols: 80, Rows: 24}
	x := s.sit(small)
	const far = 4 // of 20, 30, 40, 50 and 60 yd
	mark := func(j *job.Job) string { return "▸     60 yd    [" + cellAt(j, far, figure.SightMark) + " in" }
	drift := func(j *job.Job) string { return " wind drift     " + cellAt(j, far, figure.WindDrift) + " in" }

	before := store.SampleBench()
	x.Send("3")
	x.WaitFor(mark(before))
	leave(x, " Downrange ")
	x.Send("jj")
	x.WaitFor("▸head          [125 gr field point")
	x.Send("+")
	x.WaitMatch(`head 125 → 150 gr`)
	x.WaitMatch(`60 yd \d\.\d+ ± \d\.\d+ in\s+lower`)
	heavier := changed(func(j *job.Job) {
		for _, p := range store.SampleParts() {
			if p.Head.Given && p.Head.Value.Weight == 150*unit.Grain && p.Head.Value.Blades == 0 {
				j.Builds[0].Head = p.Weighed().Head.Value
			}
		}
	})
	if mark(heavier) == mark(before) || heavier.Builds[0].Head.Weight != 150*unit.Grain {
		t.Fatalf("with 25 gr more the mark is %s: the test tests nothing", mark(heavier))
	}
	x.Send("3")
	x.WaitFor(mark(heavier))
	x.WaitFor(drift(heavier))

	x.Send(home) // to the wind, past the distances
	x.WaitFor(" wind[10 mph]")
	x.WaitFor("─ at 60 yd ─")
	x.Send("++")
	x.WaitFor(" wind[12 mph]")
	windy := heavier.Clone()
	windy.Crosswind = unit.Some(12 * unit.MilePerHour)
	x.WaitFor(drift(windy))
	x.Send(enter + "8 m/s" + enter)
	x.WaitFor("Changed: wind 17.9 mph.")
	stormy := heavier.Clone()
	stormy.Crosswind = unit.Some(8 * unit.MetrePerSecond)
	x.WaitFor(drift(stormy))
	if drift(windy) == drift(heavier) || drift(stormy) == drift(windy) {
		t.Fatalf("the drift is %s: the test tests nothing", drift(stormy))
	}
	x.Send("z")
	x.WaitFor(" wind[12 mph]")
	x.WaitFor(drift(windy))
	leave(x, " Downrange ")
	x.WaitFor("[150 gr field point")
	quit(t, x)
	if got, want := string(s.bench().Encode()), string(windy.Encode()); got != want {
		t.Errorf("kept is\n%s\nwant\n%s", got, want)
	}
	x = s.sit(small)
	x.Send("3")
	x.WaitFor(mark(heavier))
	x.WaitFor(drift(windy))
	leave(x, " Downrange ")
	quit(t, x)
}

// The distance that was looked at last is the one that the bench shows, in this
// sitting and in the next.
func TestTheDistanceInFocusStays(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{})
	x.WaitFor("─ at 60 yd ─")
	x.Send("3")
	x.WaitFor("▸     60 yd")
	x.Send("a")
	x.WaitFor("a new distance")
	x.Send("45 m" + enter)
	x.WaitFor("▸  49.21 yd")
	x.Send("f")
	x.WaitFor(" mark shift     in · ")
	leave(x, " Downrange ")
	x.WaitFor("─ at 49.21 yd ─")
	x.Send("\x1b[5~") // Page Up
	x.WaitFor("Figures at 40 yd.")
	quit(t, x)
	if list := s.bench().Distances; len(list) != 6 || math.Abs(float64(list[3])-45) > 1e-9 {
		t.Errorf("kept are the distances %v", list)
	}
	x = s.sit(uitest.Options{})
	x.WaitFor("─ at 40 yd ─")
	quit(t, x)
}

// A strip goes into a new file in the folder that the program was started in; what
// is there already is left alone.
func TestAStripOfMarksIsWrittenToANewFile(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	there := filepath.Join(dir, "mine.txt")
	overwrite(t, there, []byte("mine"))
	x, _ := open(t, uitest.Options{Dir: dir, Cols: 200})
	x.Send("l3p")
	x.WaitFor("[even-keel-marks.html▏")
	x.Send(enter)
	x.WaitFor("Wrote the marks of B Even keel to " + filepath.Join(dir, "even-keel-marks.html"))
	x.Send("p" + wipe + "marks.svg" + enter)
	x.WaitFor("Wrote the marks of B Even keel to " + filepath.Join(dir, "marks.svg"))
	x.Send("p" + wipe + "marks.txt" + enter)
	x.WaitFor("Wrote the marks of B Even keel to " + filepath.Join(dir, "marks.txt"))
	x.Send("p" + wipe + "mine.txt" + enter)
	x.WaitFor("Not written. " + there + " is there already and was left alone")
	x.Send(wipe + "no folder/marks.txt" + enter) // the name stands there to be mended
	x.WaitFor("no such file or directory")
	leave(x, "no folder")
	x.Send("p" + wipe + "marks.doc" + enter)
	x.WaitFor("want txt, html, svg")
	leave(x, "marks.doc")
	leave(x, " Downrange ")
	quit(t, x)
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range files {
		names = append(names, f.Name())
	}
	if got := strings.Join(names, " "); got != "even-keel-marks.html marks.svg marks.txt mine.txt" {
		t.Errorf("in the folder are %s", got)
	}
	for name, begins := range map[string]string{"even-keel-marks.html": "<!DOCTYPE html>", "marks.svg": "<svg", "marks.txt": "Sight marks of Even keel\n", "mine.txt": "mine"} {
		if got := string(content(t, filepath.Join(dir, name))); !strings.HasPrefix(got, begins) {
			t.Errorf("%s begins with %.60q", name, got)
		}
	}
	// The same strip comes out of a pipe.
	got := runPlain(t, string(store.SampleBench().Encode()), nil, "marks", "-", "--build", "Even keel")
	if got.code != done || got.stdout != string(content(t, filepath.Join(dir, "marks.txt"))) {
		t.Errorf("the pipe ends with %d and says\n%s%s", got.code, got.stdout, got.stderr)
	}
}

// Whoever has no sight yet is told what marks need and led to it.
func TestWithoutASightTheScreenLeadsToIt(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	s.open(func(book *store.Workbook) error {
		return book.SaveBench(store.Bench{Job: changed(func(j *job.Job) { j.Sight = job.New().Sight })})
	})
	x := s.sit(uitest.Options{Cols: 80, Rows: 24})
	x.Send("3")
	x.WaitMatch(`No marks yet\. They need the sight, which i opens: how far`)
	x.WaitFor("[– needs the sight")
	x.Send("i")
	x.WaitFor("▸ peep to pin")
	x.Send(enter + "34" + enter)
	x.WaitFor("[34 in]")
	x.Send("j" + enter + "4.5" + enter)
	x.WaitFor("[4.5 in]")
	leave(x, "peep to pin")
	x.WaitFor("▸     60 yd    [" + cellAt(store.SampleBench(), 4, figure.SightMark) + " in")
	leave(x, " Downrange ")
	quit(t, x)
	s.untouched()
}

// On the least screen every condition can be reached, and each shows where the
// focus is without a colour.
func TestTheConditionsOnTheLeastScreen(t *testing.T) {
	t.Parallel()
	x, _ := open(t, uitest.Options{Cols: 80, Rows: 24, Env: []string{"NO_COLOR=1"}})
	x.Send("3" + home)
	for _, shown := range []string{" wind[10 mph]", " slope[0°]", " radius[4 in]", " air[15 °C]", "[1013 hPa]", " sight[entered]"} {
		x.WaitFor(shown)
		x.Send(right)
	}
	x.Send(end)
	x.WaitFor("▸     60 yd    [")
	screen := x.WaitUntil("all of the screen", func(string) (all bool) { _, all = frame(x); return all })
	if brackets := regexp.MustCompile(`[\[\]]`).FindAllString(screen, -1); fmt.Sprint(brackets) != "[[ ]]" {
		t.Errorf("the focus is shown by %q:\n%s", brackets, screen)
	}
	leave(x, " Downrange ")
	quit(t, x)
}
