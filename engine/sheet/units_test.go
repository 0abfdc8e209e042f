package sheet_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// metric has none of the trade's units.
var metric = unit.System{Grams: true, Metric: unit.InCentimetres, Metres: true, PerSec: true, InNewton: true}

// someSystem draws the units that texts are told in.
func someSystem(t *rapid.T) unit.System {
	return unit.System{
		Grams: rapid.Bool().Draw(t, "grams"), Metres: rapid.Bool().Draw(t, "metres"), PerSec: rapid.Bool().Draw(t, "m/s"), InNewton: rapid.Bool().Draw(t, "newtons"),
		Metric: rapid.SampledFrom([]unit.Metric{unit.NotMetric, unit.InCentimetres, unit.InMillimetres}).Draw(t, "lengths"),
	}
}

// What the user wants to read changes no figure, not in its last bit, and no
// caution: only the words.
func TestUnitsChangeWordsAndNothingElse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := someJob(t)
		units := someSystem(t)
		trade, other := sheet.Evaluate(j), sheet.EvaluateIn(j, units)
		if !sameBits(trade.Fit, other.Fit) || (trade.FitErr == nil) != (other.FitErr == nil) || !reflect.DeepEqual(trade.Inputs, other.Inputs) {
			t.Fatalf("the fit or the inputs differ: %+v and %+v", trade.Fit, other.Fit)
		}
		everywhere(trade, func(build, distance int, set *sheet.Set) {
			for k := range figure.Count {
				f, ok := set.Figure(k)
				g, ok2 := other.Builds[build].Place(distance).Figure(k)
				if ok != ok2 || !sameBits(f, g) || (set.Absent(k) == "") != (other.Builds[build].Place(distance).Absent(k) == "") {
					t.Fatalf("%s is %+v in the trade's units and %+v in %+v", k, f, g, units)
				}
				d1, u1, ok := trade.DeltaAt(build, distance, k)
				d2, u2, ok2 := other.DeltaAt(build, distance, k)
				if ok != ok2 || d1 != d2 || u1 != u2 {
					t.Fatalf("%s differs by %v ± %v and by %v ± %v", k, d1, u1, d2, u2)
				}
			}
		})
		if !sameBits(trade.Marks != nil, other.Marks != nil) || trade.Marks != nil && !sameBits(wordlessMarks(trade.Marks), wordlessMarks(other.Marks)) {
			t.Fatalf("the known marks came to %+v and %+v", trade.Marks, other.Marks)
		}
		for i := range trade.Builds {
			a, b := &trade.Builds[i], &other.Builds[i]
			for _, lists := range [][2][]caution.Caution{{a.Cautions, b.Cautions}, {a.Notes, b.Notes}} {
				wordless := func(list []caution.Caution) string {
					list = slices.Clone(list)
					for n := range list {
						list[n].Text = ""
					}
					return fmt.Sprintf("%+v", list)
				}
				if x, y := wordless(lists[0]), wordless(lists[1]); x != y {
					t.Fatalf("cautions in the trade's units\n%s\nin %+v\n%s", x, units, y)
				}
			}
		}
	})
}

// wordlessMarks is what known marks came to without its notes, which are told in
// somebody's units.
func wordlessMarks(m *sheet.Marks) sheet.Marks {
	out := *m
	out.Notes = nil
	return out
}

// sameBits compares numbers by their bits, so that −0 and NaN count too.
func sameBits(a, b any) bool { return fmt.Sprintf("%x", a) == fmt.Sprintf("%x", b) }

// tradeUnit is a number with one of the trade's units behind it. Grains per
// pound and static spine are told in them everywhere.
var tradeUnit = regexp.MustCompile(`[0-9⁰-⁹][  ]?(gr·in²|gr/in|gr|inches|inch|in|ft/s|fps|ft·lbf|lbf·s|lbf·in²|lbs|lb|yd|mph)([^\p{L}/·]|$)`)

// perPound are figures in grains per pound, and the division that makes one.
var perPound = regexp.MustCompile(`[0-9.]+( ± [0-9.]+)? gr/lb|[0-9.]+ gr / [0-9.]+ lb`)

// inTrade returns what of a text is in the trade's units although another was
// asked for.
func inTrade(text string) string { return tradeUnit.FindString(perPound.ReplaceAllString(text, "")) }

// A slip in the pattern would let everything pass.
func TestTradeUnitsAreFound(t *testing.T) {
	for _, text := range []string{"Total 445.2 ± 1.3 gr.", "29.5 in long", "0.204 in bore", "at 285 ft/s (", "1.75 in", "70 lb is", "52.1 ft·lbf,", "0.5 lbf·s", "21000 gr·in² (", "8 gr/in × (", "within 80 yd beyond", "it hits at 60 yd launched", "crosswind 10 mph"} {
		if inTrade(text) == "" {
			t.Errorf("%q passes for metric", text)
		}
	}
	for _, text := range []string{"5.5 ± 0.1 gr/lb (estimated)", "445.2 gr / 60 lb", "over 5 pieces in all", "28.8 g", "5 N·s", "100 gpm", "it hits at 54.9 m launched", "lost in each metre"} {
		if found := inTrade(text); found != "" {
			t.Errorf("%q is thought to be in the trade's units: %q", text, found)
		}
	}
}

// texts lists everything that a sheet tells, by what it is about. Names of parts
// are the user's own words and stay out of it: cautions of threads and the
// inputs of extras hold them.
func texts(s *sheet.Sheet) map[string]string {
	out := map[string]string{"energy": s.Energy(), "virtual mass": s.VirtualMass()}
	for n, note := range s.Fit.Notes(s.Units) {
		out[fmt.Sprintf("note %d of the fit", n)] = note
	}
	for i := range s.Builds {
		for n, c := range slices.Concat(s.Builds[i].Cautions, s.Builds[i].Notes) {
			if !strings.Contains(c.Text, "thread") {
				out[fmt.Sprintf("build %d, caution %d, %s", i, n, c.Code)] = c.Text
			}
		}
	}
	if s.Marks != nil {
		for n, note := range s.Marks.Notes {
			out[fmt.Sprintf("note %d of the marks", n)] = note
		}
	}
	everywhere(s, func(build, distance int, _ *sheet.Set) {
		keys := sheet.Keys()
		if distance != sheet.Whole {
			keys = sheet.KeysAt()
		}
		for _, k := range keys {
			if k == figure.DozenCost {
				continue
			}
			w := s.WorkingAt(build, distance, k)
			what := fmt.Sprintf("build %d, distance %d, %s", build, distance, k)
			out[what+", formula"], out[what+", result"] = w.Formula, w.Result
			for n, line := range slices.Concat(w.Numbers, w.Drawing) {
				out[fmt.Sprintf("%s, line %d", what, n)] = line
			}
		}
	})
	return out
}

// nameless takes names out of a job, which may hold any word.
func nameless(j *job.Job) *job.Job {
	j = j.Clone()
	for i := range j.Builds {
		b := &j.Builds[i]
		b.Extras = slices.Clone(b.Extras)
		b.Proof.Value.Bow = ""
		for n := range b.Extras {
			b.Extras[n].Name = ""
		}
	}
	return j
}

// A text in metric units has nothing else in it.
func TestNothingIsLeftInTheTradesUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := nameless(someJob(t))
		for about, text := range texts(sheet.EvaluateIn(j, metric)) {
			// What needs a longer draw than the brace height says so in inches.
			if found := inTrade(text); found != "" && !strings.Contains(text, "brace height plus 1.75 in") {
				t.Fatalf("%s: %q in %q", about, found, text)
			}
		}
	})
}

// quantity is a number with its unit.
type quantity struct {
	value, u float64
	symbol   string
	places   int
}

var quantityShape = regexp.MustCompile(`(−?\+?[0-9]+(?:\.[0-9]+)?(?:e[-+][0-9]+)?)(?: ± ([0-9.]+))? (gr·in²|gr/in|gr/lb|gr|in|ft/s|ft·lbf|lbf·s|lb|yd|mph|g·cm²|g/m|g|cm|mm|m/s|m|J|N·s|N)(?:[^\p{L}/·]|$)`)

// quantities lists the numbers with a unit that stand in a text.
func quantities(text string) []quantity {
	var out []quantity
	for _, m := range quantityShape.FindAllStringSubmatch(text, -1) {
		value, err := strconv.ParseFloat(strings.TrimPrefix(strings.Replace(m[1], "−", "-", 1), "+"), 64)
		if err != nil {
			continue
		}
		digits, power, _ := strings.Cut(m[1], "e")
		_, decimals, _ := strings.Cut(digits, ".")
		scale, _ := strconv.Atoi(power)
		u, _ := strconv.ParseFloat(m[2], 64)
		out = append(out, quantity{value, u, m[3], len(decimals) - scale})
	}
	return out
}

// size is a unit in SI and what it measures (NIST SP 811, appendix B).
var size = map[string]struct {
	of    string
	value float64
}{
	"gr": {"mass", 6.479891e-5}, "g": {"mass", 1e-3}, "in": {"length", 0.0254}, "cm": {"length", 0.01}, "mm": {"length", 0.001},
	"ft/s": {"speed", 0.3048}, "m/s": {"speed", 1}, "ft·lbf": {"energy", 1.3558179483314004}, "J": {"energy", 1},
	"lbf·s": {"momentum", 4.4482216152605}, "N·s": {"momentum", 1}, "lb": {"force", 4.4482216152605}, "N": {"force", 1},
	"gr/in": {"density", 6.479891e-5 / 0.0254}, "g/m": {"density", 1e-3},
	"yd": {"way", 0.9144}, "m": {"way", 1}, "mph": {"speed", 0.44704},
	"gr·in²": {"inertia", 6.479891e-5 * 0.0254 * 0.0254}, "g·cm²": {"inertia", 1e-7}, "gr/lb": {"ratio", 1},
}

// Every number in a metric text is the one of the trade's text, converted: to
// the digits that both show.
func TestNumbersInMetricTextsAreThoseOfTheTrade(t *testing.T) {
	seen := map[string]bool{}
	rapid.Check(t, func(t *rapid.T) {
		j := nameless(someJob(t))
		trade, other := texts(sheet.Evaluate(j)), texts(sheet.EvaluateIn(j, metric))
		for about, text := range trade {
			a, b := quantities(text), quantities(other[about])
			if len(a) != len(b) {
				t.Fatalf("%s: %d quantities in %q, %d in %q", about, len(a), text, len(b), other[about])
			}
			for i := range a {
				x, y := size[a[i].symbol], size[b[i].symbol]
				slack := x.value*lastDigit(a[i]) + y.value*lastDigit(b[i])
				if gap := math.Abs(a[i].value*x.value - b[i].value*y.value); x.of != y.of || gap > slack {
					t.Fatalf("%s: %v %s in %q is %v %s in %q", about, a[i].value, a[i].symbol, text, b[i].value, b[i].symbol, other[about])
				}
				// So is what stands behind ±: a digit of each may be rounded away.
				if u, v := a[i].u*x.value, b[i].u*y.value; u > 0 && v > 0 && (v < 0.6*u || v > 1.7*u) {
					t.Fatalf("%s: ± %v %s in %q is ± %v %s in %q", about, a[i].u, a[i].symbol, text, b[i].u, b[i].symbol, other[about])
				}
				seen[x.of] = true
			}
		}
	})
	for _, u := range size {
		if !seen[u.of] {
			t.Errorf("no text held a %s", u.of)
		}
	}
}

// lastDigit is how far a number may be off for having been rounded: by half its
// last digit, where its uncertainty says so by half the digit of that.
func lastDigit(q quantity) float64 { return max(0.51*math.Pow10(-q.places), 0.6*q.u) }

// The answer of the exchange format is in its own units and in the trade's
// words, whatever somebody reads on a screen meanwhile.
func TestTheAnswerDoesNotFollowTheScreen(t *testing.T) {
	data, err := os.ReadFile("../../testdata/jobs/example.json")
	if err != nil {
		t.Fatal(err)
	}
	example, err := job.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	check := func(t interface {
		Helper()
		Fatalf(string, ...any)
	}, j *job.Job) {
		before := sheet.Evaluate(j).Answer()
		inMetric := sheet.EvaluateIn(j, metric)
		inMetric.Working(0, figure.TotalWeight)
		inMetric.WorkingAt(0, 0, figure.Drop)
		if after := sheet.Evaluate(j).Answer(); !bytes.Equal(before, after) || !bytes.Equal(before, sheet.EvaluateIn(j, unit.System{}).Answer()) {
			t.Fatalf("the answer changed:\n%s\nto\n%s", before, after)
		}
		// Even a sheet that is told in other units answers in the format's.
		a, b := read(t, before), read(t, inMetric.Answer())
		for i := range a.Builds {
			x, _ := json.Marshal(a.Builds[i].Figures)
			y, _ := json.Marshal(b.Builds[i].Figures)
			if !bytes.Equal(x, y) {
				t.Fatalf("figures %s become %s", x, y)
			}
			for n := range a.Builds[i].At {
				x, _ := json.Marshal(a.Builds[i].At[n].Figures)
				y, _ := json.Marshal(b.Builds[i].At[n].Figures)
				if !bytes.Equal(x, y) {
					t.Fatalf("figures %s become %s", x, y)
				}
			}
		}
		x, _ := json.Marshal(a.Bow)
		y, _ := json.Marshal(b.Bow)
		if !bytes.Equal(x, y) {
			t.Fatalf("the bow %s becomes %s", x, y)
		}
	}
	check(t, example)
	rapid.Check(t, func(t *rapid.T) { check(t, someJob(t)) })
}

// The cautions of one build by hand, from the exact factors.
func TestCautionsInMetricUnits(t *testing.T) {
	j := job.New()
	j.Builds = append(j.Builds, sheetBuild())
	b := &j.Bow.Value
	j.Bow.Given = true
	b.Peak, b.MaximumPeak = unit.Some(62*unit.PoundForce), unit.Some(60*unit.PoundForce)
	b.Draw, b.MinimumArrow = unit.Some(30*unit.Inch), unit.Some(500*unit.Grain)
	j.Limits = unit.Some(job.Limits{MinWeight: 600 * unit.Grain, MaxPeak: 60 * unit.PoundForce, MaxDiameter: 5.5 * unit.Millimetre, MaxSpeed: 280 * unit.FootPerSecond})
	told := ""
	for _, c := range sheet.EvaluateIn(j, metric).Builds[0].Cautions {
		told += c.Text + "\n"
	}
	for _, want := range []string{
		"below the bow maker's minimum of 32.4 g",                         // 500 × 0.06479891 = 32.399
		"Peak weight 275.8 N is above the bow's maximum of 266.9 N",       // 62 and 60 × 4.448222
		"Growing archers need 5.08 cm ahead of the rest",                  // 2 × 2.54
		"below the 38.88 g on your rules sheet",                           // 600 × 0.06479891 = 38.879
		"Peak weight 275.8 N is above the 266.9 N on your rules sheet",    // as above
		"Shaft diameter 6.248 mm is above the 5.5 mm",                     // 0.246 × 25.4 = 6.2484
		"The insert is made for a 6.20 mm bore and the shaft has 5.18 mm", // 0.244 and 0.204 × 25.4
		"the limit of 85.34 m/s on your rules sheet",                      // 280 × 0.3048
		"behind the rest",
	} {
		if !strings.Contains(told, want) {
			t.Errorf("nothing says %q:\n%s", want, told)
		}
	}
}

// How far readings are off stands in the unit of the speeds: one by one, and where
// several are.
func TestReadingsThatDisagreeAreToldInMetricUnits(t *testing.T) {
	for count := 2; count <= 3; count++ {
		j := job.New()
		j.Builds = append(j.Builds, sheetBuild())
		j.Bow.Given = true
		for i := range count {
			speed := unit.Speed(280+30*(i%2)) * unit.FootPerSecond
			j.Bow.Value.Readings = append(j.Bow.Value.Readings, bow.Reading{Arrow: 400 * unit.Grain, Speed: speed, SD: unit.Some(unit.FootPerSecond)})
		}
		s := sheet.EvaluateIn(j, metric)
		notes := strings.Join(s.Fit.Notes(metric), " ")
		for i, r := range s.Fit.Residuals {
			// One that is 280 and one that is 310 ft/s are off by about 15 ft/s, 4.6 m/s.
			want := strings.Replace(fmt.Sprintf("%+.1f", float64(r)), "-", "−", 1)
			if !s.Fit.Doubts(i) || !strings.Contains(notes, want) || !strings.Contains(notes, " m/s off the fit") {
				t.Errorf("reading %d is %s m/s off, and the notes say %q", i+1, want, notes)
			}
		}
	}
	j := job.New()
	j.Builds = append(j.Builds, sheetBuild())
	j.Bow.Given = true
	for i := range 6 {
		// Speeds of a bow of 90 gr virtual mass that gives 300 ft/s to 300 gr.
		arrow := float64(300 + 60*i)
		j.Bow.Value.Readings = append(j.Bow.Value.Readings, bow.Reading{Arrow: unit.Mass(arrow) * unit.Grain, Speed: unit.Speed(300*math.Sqrt(390/(arrow+90))) * unit.FootPerSecond})
	}
	j.Bow.Value.Readings[3].Speed += 10 * unit.FootPerSecond
	s := sheet.EvaluateIn(j, metric)
	want := fmt.Sprintf("Reading 4 is %+.1f m/s off the fit", float64(s.Fit.Residuals[3]))
	if notes := strings.Join(s.Fit.Notes(metric), " "); !strings.Contains(notes, want) {
		t.Errorf("it says %q, want %q", notes, want)
	}
}

// sheetBuild is short, light and does not fit together.
func sheetBuild() arrow.Build {
	b := arrow.Build{Name: "short", Length: 27 * unit.Inch}
	b.Shaft = part.Shaft{WeightPerInch: unit.Some(8 * unit.GrainPerInch), InnerDiameter: unit.Some(0.204 * unit.Inch), OuterDiameter: unit.Some(0.246 * unit.Inch)}
	b.Insert = unit.Some(part.Insert{Weight: 20 * unit.Grain, Depth: unit.Inch, FitsInner: unit.Some(0.244 * unit.Inch)})
	b.Head, b.Nock = part.Head{Weight: 100 * unit.Grain}, part.Nock{Weight: 9 * unit.Grain}
	return b
}
