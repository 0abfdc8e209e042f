package present

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"pgregory.net/rapid"

	"foreshaft/engine/air"
	"foreshaft/engine/enginetest"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/text"
)

var update = flag.Bool("update", false, "rewrite the golden files")

const testdata = "../../testdata"

// checkPlain checks what holds for every plain output.
func checkPlain(t rapid.TB, s *sheet.Sheet, out string) {
	t.Helper()
	if !strings.HasSuffix(out, "\n") {
		t.Fatalf("the last line does not end:\n%s", out)
	}
	for line := range strings.SplitSeq(strings.TrimSuffix(out, "\n"), "\n") {
		if got := ansi.StringWidth(line); got > plainWidth {
			t.Fatalf("a line of %d cells: %q", got, line)
		}
		for _, r := range line {
			if r < ' ' || r >= 0x7f && r < 0xa0 {
				t.Fatalf("the control character %U in %q", r, line)
			}
		}
	}
	said := remarks(out, len(s.Builds))
	for i := range s.Builds {
		for _, k := range s.Told() {
			title, why := k.Definition().Title, oneSpaced(s.Builds[i].Absent(k))
			if why != "" && !slices.ContainsFunc(said[i], func(r string) bool { return strings.Contains(r, title) && strings.Contains(r, why) }) {
				t.Fatalf("build %d: nowhere that %s %q in\n%s", i, title, why, out)
			}
		}
		for n := range s.Job.DistancesOrDefault() {
			for _, k := range s.ToldAt() {
				title, why := k.Definition().Title, oneSpaced(s.Builds[i].At[n].Absent(k))
				if why != "" && !slices.ContainsFunc(said[i], func(r string) bool { return strings.Contains(r, title) && strings.Contains(r, why) }) {
					t.Fatalf("build %d: nowhere that %s at distance %d %q in\n%s", i, title, n, why, out)
				}
			}
		}
	}
}

// Below the figures of the whole build come those of each distance, in the order
// of the job, each with its own numbers.
func TestPlainTellsEveryFigureAtEveryDistance(t *testing.T) {
	for _, change := range []func(j *job.Job){
		func(*job.Job) {},
		func(j *job.Job) { j.Slope = unit.Some(-25 * unit.Degree) },
		func(j *job.Job) { j.Distances = []unit.Length{55 * unit.Yard, 12.5 * unit.Yard, 200 * unit.Yard} },
		func(j *job.Job) { j.Bow = job.New().Bow },
	} {
		for _, units := range []unit.System{{}, centi} {
			s := sheet.EvaluateIn(sampleWith(t, change), units)
			lines := strings.Split(Plain(s), "\n")
			checkPlain(t, s, Plain(s))
			for n, d := range s.Job.DistancesOrDefault() {
				at := slices.Index(lines, "at "+units.Distance(d, 4))
				if at < 0 {
					t.Fatalf("nothing is told at %s:\n%s", units.Distance(d, 4), strings.Join(lines, "\n"))
				}
				for _, k := range s.ToldAt() {
					at++
					want := text.Pad(" "+k.Definition().Title, plainLabel)
					for i := range s.Builds {
						cell := FigureCellAt(s, i, n, k)
						words := cell.Text(plainColumn - 1)
						if cell.Absent != "" && words != "baseline" {
							words = "–"
						}
						want += " " + text.Pad(words, plainColumn-1)
					}
					if lines[at] != strings.TrimRight(want, " ") {
						t.Errorf("at %s stands %q, want %q", units.Distance(d, 4), lines[at], want)
					}
				}
				lines = lines[at:] // the next distance comes behind
			}
		}
	}
}

// The conditions of the shots stand above the figures that hang on them.
func TestPlainTellsHowTheShotsLie(t *testing.T) {
	j := sampleWith(t, func(j *job.Job) {
		j.Crosswind, j.Slope, j.TargetRadius = unit.Some(-8*unit.MilePerHour), unit.Some(12.5*unit.Degree), unit.Some(3*unit.Inch)
		j.Air = unit.Some(air.Conditions{Temperature: unit.Some(unit.Celsius(-3)), Pressure: unit.Some(900 * unit.Hectopascal)})
	})
	for units, want := range map[unit.System]string{
		{}:    "air −3 °C 900 hPa · crosswind −8 mph · slope 12.5° · target radius 3 in",
		centi: "air −3 °C 900 hPa · crosswind −3.576 m/s · slope 12.5° · target radius 7.62 cm", // 8 × 0.44704, 3 × 2.54
	} {
		if out := Plain(sheet.EvaluateIn(j, units)); !strings.Contains(oneSpaced(out), want) {
			t.Errorf("nowhere %q in\n%s", want, out)
		}
	}
}

// remarks returns what is said of each build, with lines that wrapping parted
// put together again.
func remarks(out string, builds int) [][]string {
	list := make([][]string, builds)
	at := -1
	for line := range strings.SplitSeq(out, "\n") {
		letter, _, _ := strings.Cut(line, " ")
		switch {
		case strings.HasPrefix(line, "  - ") && at >= 0:
			list[at] = append(list[at], oneSpaced(line[4:]))
		case strings.HasPrefix(line, "    ") && at >= 0 && len(list[at]) > 0:
			list[at][len(list[at])-1] += " " + oneSpaced(line)
		default:
			if i := slices.IndexFunc(letters, func(l string) bool { return l == letter }); i >= 0 && i < builds {
				at = i
			}
		}
	}
	return list
}

// letters are the names of all columns that a job can have.
var letters = func() (out []string) {
	for i := range job.MostBuilds {
		out = append(out, Letter(i))
	}
	return out
}()

func oneSpaced(s string) string { return strings.Join(strings.Fields(s), " ") }

func TestPlainOutputIsPlain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := sheet.Evaluate(enginetest.Job(t))
		checkPlain(t, s, Plain(s))
	})
}

func TestPlainOutputOfHostileNames(t *testing.T) {
	for _, name := range hostileNames {
		j := sampleWith(t, func(j *job.Job) {
			j.Bow.Value.Name = name
			for i := range j.Builds {
				b := &j.Builds[i]
				b.Name = fmt.Sprintf("%d%s", i, name)
				b.Shaft.Name, b.Head.Name, b.Nock.Name, b.Insert.Value.Name = name, name, name, name
			}
		})
		s := sheet.Evaluate(j)
		checkPlain(t, s, Plain(s))
	}
}

// hostileNames are names that try to be more than a name.
var hostileNames = []string{
	strings.Repeat("long ", 2000), strings.Repeat("x", 10000), strings.Repeat("矢", 5000),
	"\x1b[31mred\x1b[0m", "\x1b]52;c;eA==\a", "line\nbreak\r\x00", "\u202eright to left", "a\u0301\u0302\u0303\u0304\u0305", "\u009b31m", "👩‍👩‍👧‍👦 family",
}

// manyBuilds returns a job of n copies of the sample builds under names of
// their own.
func manyBuilds(t testing.TB, n, baseline int) *job.Job {
	return sampleWith(t, func(j *job.Job) {
		sample := j.Builds
		j.Builds = nil
		for i := range n {
			b := sample[i%len(sample)].Clone()
			b.Name = fmt.Sprintf("build number %d", i)
			j.Builds = append(j.Builds, b)
		}
		j.Baseline = baseline
	})
}

func TestFurtherBlocksBeginWithTheBaseline(t *testing.T) {
	for _, c := range []struct{ builds, baseline, blocks int }{{1, 0, 1}, {3, 2, 1}, {4, 1, 2}, {5, 4, 2}, {6, 0, 3}, {64, 63, 32}} {
		s := sheet.Evaluate(manyBuilds(t, c.builds, c.baseline))
		out := Plain(s)
		checkPlain(t, s, out)
		seen, heads := map[string]bool{}, 0
		lines := strings.Split(out, "\n")
		for i, line := range lines {
			// The line under a block's head is its first row.
			if i+1 >= len(lines) || !strings.HasPrefix(lines[i+1], string(Slots[0])+" ") {
				continue
			}
			heads++
			names := strings.Fields(line)
			if names[0] != Letter(c.baseline) {
				t.Errorf("%d builds: a block begins with %s, want the baseline %s\n%s", c.builds, names[0], Letter(c.baseline), line)
			}
			for at := 0; at < len(names); at += 4 { // "A build number 0"
				seen[names[at]] = true
			}
		}
		if heads != c.blocks || len(seen) != c.builds {
			t.Errorf("%d builds: %d blocks with %d builds, want %d blocks with all", c.builds, heads, len(seen), c.blocks)
		}
	}
}

func TestPlainSaysWhichBuildIsTheBaseline(t *testing.T) {
	j := sampleWith(t, func(j *job.Job) {
		j.Baseline = 1
		j.Builds[1].Name = strings.Repeat("a very long name ", 20)
	})
	for line := range strings.SplitSeq(Plain(sheet.Evaluate(j)), "\n") {
		if strings.HasPrefix(line, "B = ") && strings.Contains(line, "baseline") {
			return
		}
	}
	t.Error("the line that names B does not say that it is the baseline")
}

func TestLetters(t *testing.T) {
	seen := map[string]bool{}
	for i := range 1000 {
		l := Letter(i)
		if seen[l] {
			t.Fatalf("%s stands for two columns", l)
		}
		seen[l] = true
	}
	for i, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 27: "AB", 51: "AZ", 52: "BA", 63: "BL"} {
		if got := Letter(i); got != want {
			t.Errorf("column %d is %s, want %s", i, got, want)
		}
	}
}

func TestPlainOutputOfTheExampleJob(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(testdata, "jobs", "example.json"))
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "plain-example.txt", Plain(sheet.Evaluate(j)))
}

func TestPlainOutputOfTheSampleBench(t *testing.T) {
	golden(t, "plain-samples.txt", Plain(sheet.Evaluate(store.SampleBench())))
}

// golden compares with a file under testdata/frames; -update rewrites it.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join(testdata, "frames", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v\nwrite it with: go test ./ui/present -update", err)
	}
	if got != string(want) {
		t.Errorf("not as in %s; look at it, then: go test ./ui/present -update\n%s", path, got)
	}
}

// marked returns the sample bench with marks shot at its first n distances: those
// that its own geometry gives, the last one off by so much.
func marked(t testing.TB, n int, off unit.Length) *job.Job {
	return sampleWith(t, func(j *job.Job) {
		s := sheet.Evaluate(j)
		for i := range n {
			f, _ := s.Builds[0].At[i].Figure(figure.SightMark)
			j.Sight.Value.Marks = append(j.Sight.Value.Marks, job.Mark{Distance: s.Job.DistancesOrDefault()[i], Reading: unit.Length(f.Value)})
		}
		if n > 0 {
			j.Sight.Value.Marks[n-1].Reading += off
		}
	})
}

// Two marks put all others on the sight's own scale, and each says how far it is
// off, on the scale and at the target; those that contradict each other are named.
func TestMarksThatWereShotAreToldWithHowFarTheyAreOff(t *testing.T) {
	for n := range 5 {
		out := Plain(sheet.Evaluate(marked(t, n, 0)))
		if told := strings.Contains(oneSpaced(out), "marks are on your sight's own scale"); told != (n >= 2) {
			t.Errorf("with %d marks: %v\n%s", n, told, out)
		}
		if strings.Contains(out, "contradict") {
			t.Errorf("%d marks that the sight's geometry gives contradict each other:\n%s", n, out)
		}
	}
	j := marked(t, 4, unit.Inch/5)
	s := sheet.Evaluate(j)
	out := oneSpaced(Plain(s))
	for i, m := range j.Sight.Value.Marks {
		off, high := s.Marks.Residuals[i].In(unit.Inch), s.Marks.Impacts[i].In(unit.Inch)
		if (off > 0) == (high > 0) || math.Abs(off) < 0.001 {
			t.Errorf("mark %d is off by %v on the scale and %v at the target", i, off, high)
		}
		side := "high" // a reading above the fit's: the fit's own pin stands too high, and hits low
		if high < 0 {
			side = "low"
		}
		want := fmt.Sprintf("%g yd %s (%s: the fit hits ", m.Distance.In(unit.Yard), Number(m.Reading.In(unit.Inch)), Plus(fmt.Sprintf("%.3f", off)))
		_, behind, found := strings.Cut(out, want)
		if number, _, _ := strings.Cut(behind, " "); !found || math.Abs(shown(t, number)-math.Abs(high)) > 0.051 || !strings.Contains(behind[:min(len(behind), 16)], " in "+side) { // to a tenth
			t.Errorf("nowhere %q and %.2f in\n%s", want, high, strings.Join(Sighting(s), "\n"))
		}
	}
	if !strings.Contains(out, "! The known marks contradict each other") {
		t.Errorf("a fifth of an inch at 50 yd is not doubted:\n%s", strings.Join(Sighting(s), "\n"))
	}
}
