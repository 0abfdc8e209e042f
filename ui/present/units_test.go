package present

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"pgregory.net/rapid"

	"foreshaft/engine/arrow"
	"foreshaft/engine/enginetest"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
)

// centi and milli have none of the trade's units.
var (
	centi = unit.System{Grams: true, Metric: unit.InCentimetres, Metres: true, PerSec: true, InNewton: true}
	milli = unit.System{Grams: true, Metric: unit.InMillimetres, Metres: true, PerSec: true, InNewton: true}
)

// metricUnit is the unit of each figure in metric units, and its size against the
// trade's unit (NIST SP 811, appendix B; grain: NIST Handbook 44, appendix C).
var metricUnit = map[figure.Key]struct {
	symbol string
	trade  float64 // one of the trade's units in this one
}{
	figure.TotalWeight: {"g", 0.06479891}, figure.FrontWeight: {"g", 0.06479891}, figure.BalancePoint: {"cm", 2.54}, figure.FOC: {"%", 1},
	figure.Inertia: {"g·cm²", 0.06479891 * 6.4516}, figure.WeightPerDraw: {"gr/lb", 1}, figure.LaunchSpeed: {"m/s", 0.3048},
	figure.LaunchEnergy: {"J", 1.3558179483314004}, figure.LaunchMomentum: {"N·s", 4.4482216152605}, figure.EnergyShare: {"%", 1}, figure.DozenCost: {"EUR", 1},
	figure.DragCoefficient: {"", 1}, figure.MarkSpread: {"cm", 2.54}, figure.HoldOnNear: {"m", 0.9144}, figure.HoldOnFar: {"m", 0.9144},
	figure.BendingStiffness: {"N·m²", 4.4482216152605 * 0.0254 * 0.0254}, figure.BendingFrequency: {"Hz", 1}, figure.LaunchMargin: {"", 1}, figure.MarginVsProven: {"%", 1},
	figure.BendsOnString: {"", 1}, figure.PressurePoint: {"cm", 2.54}, figure.SteerMargin: {"%", 1}, figure.SteerMoment: {"%", 1}, figure.HeadShare: {"%", 1}, figure.WobbleLength: {"m", 0.9144},
	figure.FlightTime: {"s", 1}, figure.Speed: {"m/s", 0.3048}, figure.Energy: {"J", 1.3558179483314004}, figure.Momentum: {"N·s", 4.4482216152605},
	figure.Drop: {"cm", 2.54}, figure.SightMark: {"cm", 2.54}, figure.MarkShift: {"cm", 2.54}, figure.ImpactShift: {"cm", 2.54},
	figure.RangeShort: {"m", 0.9144}, figure.RangeLong: {"m", 0.9144}, figure.WindDrift: {"cm", 2.54}, figure.HoldFor: {"m", 0.9144},
}

// shown reads a number as it is shown.
func shown(t testing.TB, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(strings.TrimPrefix(strings.Replace(text, "−", "-", 1), "+"), 64)
	if err != nil {
		t.Fatalf("%q is shown for a number", text)
	}
	return x
}

func TestFiguresInMetricUnitsAreTheSameFigures(t *testing.T) {
	// On a slope, with a proven build and with blades on all, so that no figure is
	// left out.
	j := sampleWith(t, func(j *job.Job) {
		j.Currency, j.Slope, j.Builds[0].Proven = "EUR", unit.Some(20*unit.Degree), true
		for i := range j.Builds {
			j.Builds[i].Head = j.Builds[2].Head
		}
	})
	trade, metric := sheet.Evaluate(j), sheet.EvaluateIn(j, centi)
	for i := range j.Builds {
		for _, at := range everyFigure(trade) {
			k := at.key
			a, b, want := FigureCellAt(trade, i, at.place, k), FigureCellAt(metric, i, at.place, k), metricUnit[k]
			if a.itself() && trade.Itself(i, k) && b == a {
				continue
			}
			if a.Absent != "" || b.Unit != want.symbol {
				t.Errorf("%s is in %q, want %q; absent: %s", k, b.Unit, want.symbol, a.Absent)
				continue
			}
			if b.Basis != a.Basis || b.Doubt != a.Doubt || b.Absent != a.Absent || (a.Delta == "") != (b.Delta == "") {
				t.Errorf("%s is %+v in metric units and %+v in the trade's", k, b, a)
			}
			for _, pair := range [][4]string{{a.Value, a.U, b.Value, b.U}, {a.Delta, a.DeltaU, b.Delta, b.DeltaU}} {
				if pair[0] == "" {
					continue
				}
				// Each is rounded by its own uncertainty, by a half of it at most.
				slack := 0.01
				for n, u := range []string{pair[1], pair[3]} {
					if u != "" {
						slack += 0.6 * shown(t, u) * []float64{want.trade, 1}[n]
					}
				}
				if x, y := shown(t, pair[0])*want.trade, shown(t, pair[2]); math.Abs(x-y) > slack {
					t.Errorf("%s: %s in the trade's units is %s %s, want about %.4g", k, pair[0], pair[2], b.Unit, x)
				}
				if pair[1] == "" || pair[1] == "0" {
					continue
				}
				if x, y := shown(t, pair[1])*want.trade, shown(t, pair[3]); y < 0.6*x || y > 1.7*x {
					t.Errorf("%s: ± %s in the trade's units is ± %s %s, want about %.2g", k, pair[1], pair[3], b.Unit, x)
				}
			}
		}
	}
}

// place is a figure of a whole build, or of one distance.
type place struct {
	key   figure.Key
	place int
}

// everyFigure lists the figures of a sheet, each at every distance where it has
// one for each.
func everyFigure(s *sheet.Sheet) (out []place) {
	for _, k := range sheet.Keys() {
		out = append(out, place{k, sheet.Whole})
	}
	for n := range s.Job.DistancesOrDefault() {
		for _, k := range sheet.KeysAt() {
			out = append(out, place{k, n})
		}
	}
	return out
}

// By hand from the sample bench, whose pieces weigh and measure in whole grains
// and eighths of an inch: 1 gr = 0.06479891 g, 1 in = 25.4 mm.
func TestPiecesInMetricUnits(t *testing.T) {
	j := sampleWith(t, func(j *job.Job) {
		b := &j.Builds[1]
		b.Extras = []part.Extra{{Name: "glue", Weight: 2 * unit.Grain, Balance: 29 * unit.Inch}}
		b.Length = 29.5 * unit.Inch
		j.Builds[2].Length = 29.75 * unit.Inch
		j.Builds[0].Shaft.TubeWeight = unit.Some(230 * unit.Grain)
		j.Builds[2].Shaft.Name = ""
		j.Builds[2].Shaft.WeightPerInch = unit.Some(11 * unit.GrainPerInch)
	})
	for _, c := range []struct {
		units unit.System
		build int
		slot  Slot
		want  string
	}{
		{centi, 1, "insert", "3.24 g brass 5 mm"},       // 50
		{centi, 1, "head", "6.48 g field point"},        // 100
		{centi, 1, "collar", "1.037 g steel .264"},      // 16; the name is as somebody wrote it
		{centi, 1, "nock", "0.583 g plain 5 mm"},        // 9
		{centi, 1, "vanes", "3 × 0.389 g 2.2 in"},       // 6 each
		{centi, 1, "wrap", "0.389 g 4 in"},              // 6
		{centi, 1, "extras", "0.13 g glue at 73.66 cm"}, // 2 at 29
		{centi, 1, "length", "74.93 cm tube 73.66"},     // 29.5 and half an inch less
		{milli, 1, "length", "749.3 mm tube 736.6"},
		{milli, 2, "length", "755.65 mm tube 742.95"}, // 29.75
		{centi, 2, "length", "75.565 cm tube 74.295"},
		{unit.System{}, 1, "length", "29.50 in tube 29.00"},
		{unit.System{Grams: true}, 1, "length", "29.50 in tube 29.00"},
		{unit.System{Metric: unit.InMillimetres}, 1, "insert", "50 gr brass 5 mm"},
		{centi, 0, "shaft", "5 mm .350 tube 14.904 g"}, // 230
		{centi, 2, "shaft", ".250 28.063 g/m"},         // 11 × 2.551138 = 28.0625; spine as printed
		{centi, 0, "wrap", "none"},
	} {
		if got := Piece(c.units, &j.Builds[c.build], c.slot); got != c.want {
			t.Errorf("the %s of build %d is %q, want %q", c.slot, c.build, got, c.want)
		}
	}
	if got := Length(centi, &j.Builds[1]); got != "74.93 cm tube 73.66" {
		t.Errorf("the length is %q", got)
	}
	whole := arrow.Build{Length: 750 * unit.Millimetre, Nock: part.Nock{Throat: unit.Some(10 * unit.Millimetre)}}
	for units, want := range map[unit.System]string{centi: "75.00 cm tube 74.00", milli: "750.0 mm tube 740.0"} {
		if got := Length(units, &whole); got != want {
			t.Errorf("750 mm is %q, want %q", got, want)
		}
	}
}

func TestTheBowInMetricUnits(t *testing.T) {
	j := sampleWith(t, func(j *job.Job) {
		j.Bow.Value.Name = "Mine"
		j.Bow.Value.Peak, j.Bow.Value.Draw = unit.Some(70*unit.PoundForce), unit.Some(29*unit.Inch)
	})
	for units, want := range map[unit.System]string{
		{}:             "Mine · 70 lb · 29 in · 2 readings",
		centi:          "Mine · 311.38 N · 73.66 cm · 2 readings", // 70 × 4.448222 and 29 × 2.54
		milli:          "Mine · 311.38 N · 736.6 mm · 2 readings",
		{Grams: true}:  "Mine · 70 lb · 29 in · 2 readings",
		{PerSec: true}: "Mine · 70 lb · 29 in · 2 readings",
	} {
		if got := BowName(units, j); got != want {
			t.Errorf("%+v: %q, want %q", units, got, want)
		}
	}
	line := BowLine(sheet.EvaluateIn(j, centi))
	if !regexp.MustCompile(` · energy \d+ ± \d+ J · virtual mass [\d.]+ ± [\d.]+ g$`).MatchString(line) {
		t.Errorf("the line of the bow reads %q", line)
	}
}

// 25 gr are 1.62 g, and 5 ft/s 1.5 m/s.
func TestEffectAndChangesInMetricUnits(t *testing.T) {
	j, before, after := pair(heavierInsert)
	trade, metric := Effect(sheet.EvaluateIn(j, unit.System{}), &before, &after, 60*unit.Yard), Effect(sheet.EvaluateIn(j, centi), &before, &after, 60*unit.Yard)
	if !regexp.MustCompile(`^\+1\.62[^·]* g · FOC \+[^·]* % · −\d\.\d[^·]* m/s · 54\.9 m \d[^·]* cm lower · margin 0\.81 → 0\.78$`).MatchString(metric) {
		t.Errorf("it reads %q", metric)
	}
	number := regexp.MustCompile(`[−+][\d.]+`)
	a, b := number.FindAllString(trade, -1), number.FindAllString(metric, -1)
	if len(a) != 3 || len(b) != 3 || a[1] != b[1] || math.Abs(shown(t, a[2])*0.3048-shown(t, b[2])) > 0.1 {
		t.Errorf("%q in the trade's units is %q", trade, metric)
	}
	if got := strings.Join(Changes(centi, &before, &after), ", "); got != "insert 1.037 → 2.657 g aluminium 5 mm" { // 16 and 41 gr
		t.Errorf("it reads %q", got)
	}
	longer := before.Clone()
	longer.Length += 2.5 * unit.Millimetre // from 29.5 in, 749.3 mm
	for units, want := range map[unit.System]string{centi: "length 74.93 → 75.18 cm", milli: "length 749.3 → 751.8 mm"} {
		if got := strings.Join(Changes(units, &before, &longer), ", "); got != want {
			t.Errorf("it reads %q, want %q", got, want)
		}
	}
	// What differs by less than the units show is no change to speak of.
	same := before.Clone()
	same.Length += 1e-9 * unit.Inch
	if got := Changes(centi, &before, &same); got != nil {
		t.Errorf("it reads %q", got)
	}
}

func TestACellInFullNamesValueUnitAndDifference(t *testing.T) {
	for _, c := range []struct {
		cell Cell
		want string
	}{
		{Cell{Value: "29.06", U: "0.08", Unit: "g", Delta: "+3.53", DeltaU: "0.10"}, "29.06 ± 0.08 g, +3.53 ± 0.10 against the baseline"},
		{Cell{Value: "25.53", U: "0.05", Unit: "g"}, "25.53 ± 0.05 g"},
		{Cell{Value: "25.53", U: "0", Unit: "g"}, "25.53 g"},
		{Cell{Value: "201.00", Unit: "EUR", Delta: "−4.50"}, "201.00 EUR, −4.50 against the baseline"},
		{Cell{Value: "1.2"}, "1.2"},
	} {
		if got := c.cell.Full(); got != c.want {
			t.Errorf("%+v in full is %q, want %q", c.cell, got, c.want)
		}
	}
}

func TestTheLabShowsTheWholeFigureInTwoLines(t *testing.T) {
	c := Cell{Value: "29.06", U: "0.08", Unit: "g", Delta: "+3.53", DeltaU: "0.10", Basis: "estimated"}
	for _, w := range []struct {
		width        int
		value, below string
	}{
		{40, "29.06 ± 0.08 g, estimated", "+3.53 ± 0.10"},
		{25, "29.06 ± 0.08 g, estimated", "+3.53 ± 0.10"},
		{24, "29.06 ± 0.08 g est.", "+3.53 ± 0.10"},
		{18, "29.06 ± 0.08 est.", "+3.53 ± 0.10"}, // the unit stands in the wider columns
		{16, "29.06 ± 0.08 g", "+3.53 ± 0.10"},
	} {
		if value, below := c.Lab(w.width); value != w.value || below != w.below {
			t.Errorf("in %d cells %q over %q, want %q over %q", w.width, value, below, w.value, w.below)
		}
	}
	c.Doubt, c.Delta, c.Basis = true, "", "measured"
	c.DeltaU = ""
	if value, below := c.Lab(20); value != "29.06 ± 0.08 ! meas." || below != "" {
		t.Errorf("a doubtful one is %q over %q", value, below)
	}
	if value, below := (Cell{Absent: "needs a reading"}).Lab(40); value != "– needs a reading" || below != "" {
		t.Errorf("an absent one is %q over %q", value, below)
	}
}

// However narrow a column is and whatever the figures are, no line of a cell is
// wider than it.
func TestLabCellsAreNeverWiderThanAsked(t *testing.T) {
	systems := []unit.System{{}, centi, milli}
	check := func(t interface {
		Helper()
		Fatalf(string, ...any)
	}, s *sheet.Sheet) {
		for i := range s.Builds {
			for _, at := range everyFigure(s) {
				k, c := at.key, FigureCellAt(s, i, at.place, at.key)
				for w := 10; w <= 40; w++ {
					value, below := c.Lab(w)
					for _, line := range []string{value, below, c.Text(w)} {
						if ansi.StringWidth(line) > w || strings.ContainsAny(line, "\n\x1b") {
							t.Fatalf("%s of %+v in %d cells: %q", k, c, w, line)
						}
					}
					if value == "" || c.Delta != "" && below == "" {
						t.Fatalf("%s of %+v in %d cells shows nothing: %q over %q", k, c, w, value, below)
					}
				}
			}
		}
	}
	for _, units := range systems {
		check(t, sheet.EvaluateIn(store.SampleBench(), units))
	}
	rapid.Check(t, func(t *rapid.T) {
		check(t, sheet.EvaluateIn(enginetest.Job(t), rapid.SampledFrom(systems).Draw(t, "units")))
	})
}
