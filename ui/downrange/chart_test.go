package downrange

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"
	"pgregory.net/rapid"

	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

var (
	mono   = theme.New(theme.Mono, termenv.TrueColor)
	themes = []*theme.Theme{mono, theme.New(theme.Dark, termenv.TrueColor), theme.New(theme.Light, termenv.ANSI256), theme.New(theme.Dark, termenv.ANSI)}
)

// steps returns n distances from first on.
func steps(first, step float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = first + step*float64(i)
	}
	return out
}

// of returns one series without focus with a value for every distance.
func of(letter string, distances []float64, value func(d float64) float64) Series {
	s := Series{Letter: letter}
	for _, d := range distances {
		s.Values = append(s.Values, value(d))
	}
	return s
}

// builds returns eight different falling curves over 60 distances, the second
// with the focus.
func builds() (distances []float64, series []Series) {
	distances = steps(1, 1, 60)
	for k := range 8 {
		start, loss := 300-6*float64(k), 0.002-0.0002*float64(k)
		series = append(series, of(string(rune('A'+k)), distances, func(d float64) float64 { return start * math.Exp(-loss*d) }))
	}
	series[1].Focus = true
	return distances, series
}

// cells returns a line without colours, a rune a cell.
func cells(line string) []rune { return []rune(ansi.Strip(line)) }

// axisAt returns the cell of the axis, from the corner on the last line but one.
func axisAt(t testing.TB, lines []string) int {
	t.Helper()
	at := slices.Index(cells(lines[len(lines)-2]), '└')
	if at < 0 {
		t.Fatalf("no corner of the axes in\n%s", strings.Join(lines, "\n"))
	}
	return at
}

// body returns what is right of the axis in the lines of curves.
func body(t testing.TB, lines []string) [][]rune {
	t.Helper()
	axis := axisAt(t, lines)
	var out [][]rune
	for _, line := range lines[1 : len(lines)-2] {
		out = append(out, cells(line)[axis+1:])
	}
	return out
}

// columns returns how many columns there are for curves.
func columns(t testing.TB, lines []string) int {
	t.Helper()
	return strings.Count(ansi.Strip(lines[len(lines)-2]), "─") + strings.Count(ansi.Strip(lines[len(lines)-2]), "┬")
}

// exact fails unless lines are h lines of w cells without anything in them but
// the characters that charts are drawn with.
func exact(t interface {
	Helper()
	Fatalf(string, ...any)
}, lines []string, w, h int) {
	t.Helper()
	if len(lines) != h {
		t.Fatalf("%d lines, want %d", len(lines), h)
	}
	for i, line := range lines {
		if got := text.Width(line); got != w {
			t.Fatalf("%d × %d: line %d has %d cells: %q", w, h, i, got, line)
		}
		if i == 0 {
			continue // the title is the caller's
		}
		for _, r := range ansi.Strip(line) {
			if (r < ' ' || r > '~') && !strings.ContainsRune("─│┌┐└┘├┤┬┼−▸…", r) {
				t.Fatalf("%d × %d: line %d has %q in it", w, h, i, r)
			}
		}
	}
}

func TestEverySizeInEveryTheme(t *testing.T) {
	distances, many := builds()
	nan := math.NaN()
	cases := map[string]struct {
		distances []float64
		series    []Series
	}{
		"eight builds":      {distances, many},
		"none":              {distances, nil},
		"no distances":      {nil, many},
		"one value":         {distances[:1], many[:1]},
		"two values":        {distances[:2], many[:1]},
		"flat":              {distances, []Series{of("A", distances, func(float64) float64 { return 250 })}},
		"all nought":        {distances, []Series{of("A", distances, func(float64) float64 { return 0 })}},
		"all absent":        {distances, []Series{of("A", distances, func(float64) float64 { return nan })}},
		"shorter":           {distances, []Series{{Letter: "A", Values: []float64{1, 2}}, {Letter: "B", Focus: true}}},
		"longer":            {distances[:3], many},
		"huge":              {distances, []Series{{Letter: "A", Values: []float64{-math.MaxFloat64, 0, math.MaxFloat64, math.Inf(1), math.Inf(-1)}}}},
		"tiny":              {distances, []Series{{Letter: "A", Values: []float64{0, math.SmallestNonzeroFloat64, 3 * math.SmallestNonzeroFloat64}}}},
		"huge and tiny":     {distances, []Series{{Letter: "A", Values: []float64{1e300, 1e-300}}, {Letter: "B", Values: []float64{-1e-300, 7}}}},
		"distances flat":    {[]float64{5, 5, 5}, many},
		"distances down":    {[]float64{30, 20, 10}, many},
		"distances absent":  {[]float64{nan, nan}, many},
		"distances endless": {[]float64{math.Inf(-1), math.Inf(1)}, many},
		"distances huge":    {[]float64{-math.MaxFloat64, math.MaxFloat64}, many},
		"distances afar":    {[]float64{1e18, 1e18 + 256, 1e18 + 512}, many},
		"distances tiny":    {[]float64{0, math.SmallestNonzeroFloat64}, many},
		"odd letters":       {distances, []Series{{Letter: "", Values: []float64{1, 2}}, {Letter: "矢\u0301\n", Values: []float64{2, 3}}, {Letter: "ABC", Values: []float64{3, 4}}}},
	}
	widths := []int{-1, 0, 1, 2, 3, 5, 8, 10, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 30, 40, 59, 60, 61, 80, 110, 200}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			for _, w := range widths {
				for _, h := range []int{-1, 0, 1, 2, 3, 4, 5, 6, 7, 11, 16, 24} {
					plain := Chart(mono, "speed", c.distances, "yd", c.series, w, h)
					exact(t, plain, max(w, 0), max(h, 0))
					if strings.Contains(strings.Join(plain, ""), "\x1b") {
						t.Fatalf("%d × %d: escapes without colour", w, h)
					}
					for _, th := range themes[1:] {
						painted := Chart(th, "speed", c.distances, "yd", c.series, w, h)
						for i := range painted {
							if got := ansi.Strip(painted[i]); got != plain[i] {
								t.Fatalf("%d × %d in %s: line %d is %q, without colour %q", w, h, th.Name(), i, got, plain[i])
							}
							if text.Width(painted[i]) != max(w, 0) {
								t.Fatalf("%d × %d in %s: line %d has %d cells", w, h, th.Name(), i, text.Width(painted[i]))
							}
						}
					}
				}
			}
		})
	}
}

func TestChartAsAWhole(t *testing.T) {
	distances := steps(0, 5, 9)
	got := Chart(mono, "drop, in", distances, "yd", []Series{
		of("A", distances, func(d float64) float64 { return -d * d / 40 }),
		of("B", distances, func(d float64) float64 { return -d * d / 80 }),
	}, 60, 10)
	want := []string{
		" drop, in                                                   ",
		"   0 ┼────A───B──────────┐                                  ",
		"  −7 ┤             └─────└──────────────┐                   ",
		" −13 ┤                         └─────┐  └─────B───┐         ",
		" −20 ┤                               └─────┐      └─────B   ",
		" −27 ┤                                     └─A──┐           ",
		" −33 ┤                                          └───┐       ",
		" −40 ┤                                              └───A   ",
		"     └┬───────────┬────────────┬───────────┬───────────┬    ",
		"      0          10           20          30          40 yd ",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "|\n"), strings.Join(want, "|\n"))
	}
}

func TestEveryCurveStartsAtTheAxis(t *testing.T) {
	distances, series := builds()
	lines := Chart(mono, "speed", distances, "yd", series, 110, 18)
	want := map[int]bool{}
	for _, s := range series {
		low, high := series[7].Values[59], series[0].Values[0]
		want[15-int(math.Round((s.Values[0]-low)/(high-low)*14))] = true
	}
	axis := axisAt(t, lines)
	for row := 1; row <= 15; row++ {
		if got := cells(lines[row])[axis]; got == '┼' != want[row] || got != '┼' && got != '┤' {
			t.Errorf("line %d has %q on the axis\n%s", row, got, strings.Join(lines, "\n"))
		}
	}
}

func TestRemarks(t *testing.T) {
	distances, series := builds()
	for _, c := range []struct {
		name   string
		series []Series
		w, h   int
		want   string
	}{
		{"nothing", nil, 60, 10, " nothing to draw here"},
		{"only absent values", []Series{{Letter: "A", Values: []float64{math.NaN(), math.Inf(1)}}}, 60, 10, " nothing to draw here"},
		{"a value beyond the distances", []Series{{Letter: "A", Values: append(slices.Repeat([]float64{math.NaN()}, 60), 1)}}, 60, 10, " nothing to draw here"},
		{"too low", series, 60, 4, " no room for the chart"},
		{"too narrow", series, 16, 10, " no room for th…"},
	} {
		got := Chart(mono, "speed", distances, "yd", c.series, c.w, c.h)
		if strings.TrimRight(got[0], " ") != " speed" || strings.TrimRight(got[1], " ") != c.want || strings.TrimSpace(strings.Join(got[2:], "")) != "" {
			t.Errorf("%s:\n%s", c.name, strings.Join(got, "\n"))
		}
	}
	if got := Chart(mono, "speed", distances, "yd", series, 60, 5); axisAt(t, got) < 0 {
		t.Errorf("no chart in five lines:\n%s", strings.Join(got, "\n"))
	}
}

// known returns a chart in which column c is distance c: 61 columns for the
// distances from 0 to 60.
func known(t testing.TB, value func(d float64) float64) ([]string, []Series) {
	t.Helper()
	distances := steps(0, 1, 61)
	series := []Series{of("A", distances, value)}
	for w := 61; w < 100; w++ {
		lines := Chart(mono, "speed", distances, "yd", series, w, 13)
		if strings.HasPrefix(strings.TrimSpace(lines[1]), "no room") {
			continue
		}
		if columns(t, lines) == 61 {
			return lines, series
		}
	}
	t.Fatal("no width has 61 columns")
	return nil, nil
}

func TestDistancesStandUnderTheirColumns(t *testing.T) {
	// A single peak marks its own column.
	lines, _ := known(t, func(d float64) float64 {
		if d == 40 {
			return 9
		}
		return 0
	})
	axis := axisAt(t, lines)
	ticks, labels := cells(lines[len(lines)-2]), cells(lines[len(lines)-1])
	for d := 0; d <= 60; d++ {
		at := axis + 1 + d
		if d%10 != 0 {
			if ticks[at] != '─' {
				t.Errorf("%d has %q on the axis", d, ticks[at])
			}
			continue
		}
		label := fmt.Sprint(d)
		from := at - len(label)/2
		if got := string(labels[from : from+len(label)]); ticks[at] != '┬' || got != label || labels[from+len(label)] != ' ' {
			t.Errorf("under %d stands %q%q", d, ticks[at], got)
		}
	}
	if peak := cells(lines[1]); peak[axis+1+40] != '┐' && peak[axis+1+40] != '─' {
		t.Errorf("the peak is not above 40:\n%s", strings.Join(lines, "\n"))
	}
	if !strings.HasSuffix(strings.TrimRight(lines[len(lines)-1], " "), "60 yd") {
		t.Errorf("the last line %q does not end with the unit", lines[len(lines)-1])
	}
}

func TestRoundDistancesFitTheRoom(t *testing.T) {
	one := 1.0 // a variable, so that the sum below is rounded as it runs
	for _, c := range []struct {
		distances []float64
		w         int
		want      string
	}{
		{steps(1, 1, 60), 110, "5 10 15 20 25 30 35 40 45 50 55 60 yd"},
		{steps(1, 1, 60), 70, "10 20 30 40 50 60 yd"},
		{steps(1, 1, 60), 40, "20 40 60 yd"},
		{steps(0, 1, 101), 100, "0 10 20 30 40 50 60 70 80 90 100 yd"},
		{steps(0, 2, 51), 70, "0 20 40 60 80 100 yd"},
		{steps(3, 7, 13), 70, "10 20 30 40 50 60 70 80 yd"},
		{steps(0, 0.05, 21), 60, "0.0 0.2 0.4 0.6 0.8 1.0 yd"},
		{[]float64{0, 0.15, 0.3}, 50, "0.0 0.1 0.2 0.3 yd"},       // 0.3/0.1 is below 3
		{[]float64{0.1 + 0.2*one, 0.6}, 50, "0.3 0.4 0.5 0.6 yd"}, // 0.1+0.2 is above 0.3
		{steps(-20, 1, 41), 60, "−20 −10 0 10 20 yd"},
		{steps(18, 1, 1), 60, "18 yd"},
		{steps(0, 500, 5), 60, "0 500 1000 1500 2000 yd"},
		{[]float64{20, 10}, 60, "yd"},
		{steps(0, 25000, 5), 80, "0 20000 40000 60000 80000 yd"}, // 100000 would push the unit out
	} {
		lines := Chart(mono, "speed", c.distances, "yd", []Series{of("A", c.distances, func(d float64) float64 { return d })}, c.w, 8)
		if got := strings.Join(strings.Fields(lines[len(lines)-1]), " "); got != c.want {
			t.Errorf("%v to %v in %d cells: %q, want %q", c.distances[0], c.distances[len(c.distances)-1], c.w, got, c.want)
		}
	}
}

func TestAFallingSeriesNeverRises(t *testing.T) {
	for _, n := range []int{2, 5, 37, 61, 200} {
		distances := steps(0, 1, n)
		s := of("A", distances, func(d float64) float64 { return 1000 / (d + 3) })
		lines := Chart(mono, "speed", distances, "yd", []Series{s}, 70, 20)
		before := 0
		for col := range columns(t, lines) {
			top := -1
			for row, line := range body(t, lines) {
				if line[col] != ' ' {
					top = row
					break
				}
			}
			if top < before {
				t.Fatalf("%d values: column %d begins on line %d, the one before on %d\n%s", n, col, top, before, strings.Join(lines, "\n"))
			}
			before = top
		}
	}
}

func TestGapsStayEmpty(t *testing.T) {
	lines, series := known(t, func(d float64) float64 {
		if d < 5 || d > 20 && d < 30 || d > 31 && d < 45 || d > 45 && d < 58 {
			return math.NaN()
		}
		return d
	})
	for d, v := range series[0].Values {
		drawn := 0
		for _, row := range body(t, lines) {
			if strings.ContainsRune("─│┌┐└┘", row[d]) {
				drawn++
			}
		}
		// One cell of a gap can hold a letter, and none a piece of curve.
		if math.IsNaN(v) && drawn != 0 || !math.IsNaN(v) && drawn == 0 && !lettered(lines, d, t) {
			t.Errorf("at %d, where the value is %v, %d cells are drawn\n%s", d, v, drawn, strings.Join(lines, "\n"))
		}
	}
}

// lettered reports whether a letter stands in a column.
func lettered(lines []string, col int, t testing.TB) bool {
	return slices.ContainsFunc(body(t, lines), func(row []rune) bool { return row[col] == 'A' })
}

func TestAPeakBetweenColumnsIsKept(t *testing.T) {
	distances := steps(0, 1, 500)
	for peak := range 500 {
		s := of("A", distances, func(d float64) float64 {
			if int(d) == peak {
				return 50
			}
			if d == 250 {
				return -5
			}
			return -math.Abs(d-250) / 1000
		})
		lines := Chart(mono, "speed", distances, "yd", []Series{s}, 60, 12)
		// The last column belongs to the last value, which has the letter, and one
		// to the lowest value, which is as far from the middle as the peak.
		column := func(i int) int { return int(math.Round(float64(i) / 499 * float64(columns(t, lines)-1))) }
		if column(peak) == column(499) && peak != 499 || column(peak) == column(250) {
			continue
		}
		if !strings.ContainsAny(string(body(t, lines)[0]), "─┌┐A") {
			t.Fatalf("the peak at %d is lost\n%s", peak, strings.Join(lines, "\n"))
		}
	}
}

func TestFlatSeries(t *testing.T) {
	distances := steps(0, 1, 61)
	for value, label := range map[float64]string{0: "0", 250: "250.0", -0.125: "−0.12500", 12345: "12345", 3e-20: "3.0000e−20"} {
		noise := 1 + 1e-13
		lines := Chart(mono, "speed", distances, "yd", []Series{of("A", distances, func(d float64) float64 {
			if int(d)%2 == 0 {
				return value * noise
			}
			return value
		})}, 80, 10)
		var with []int
		for row, line := range body(t, lines) {
			if strings.TrimSpace(string(line)) != "" {
				with = append(with, row)
			}
		}
		if !slices.Equal(with, []int{3}) {
			t.Errorf("%v: drawn on %v, want the middle line\n%s", value, with, strings.Join(lines, "\n"))
		}
		for row, line := range lines[1:8] {
			got := strings.TrimSpace(string(cells(line)[:axisAt(t, lines)]))
			if row == 3 && got != label || row != 3 && got != "" {
				t.Errorf("%v: line %d is labelled %q", value, row, got)
			}
		}
	}
}

func TestRowLabels(t *testing.T) {
	distances := steps(0, 1, 10)
	for _, c := range []struct {
		low, high     float64
		top, bottom   string
		mostOfAllWide int
	}{
		{253.25, 300, "300", "253", 3},
		{-12.2, 6.4, "6", "−12", 3},
		{-12.2, 0.4, "0.4", "−12.2", 5},
		{-0.004, 0.001, "0.0010", "−0.0040", 7},
		{0, 1, "1.00", "0.00", 4},
		{283.4, 283.41, "283.4100", "283.4000", 8},
		{-1e300, 1e300, "1.0e+300", "−1.0e+300", 9},
		{-2e-12, 1e-12, "1.0e−12", "−2.0e−12", 8},
		{0, 123456789, "123456789", "0", 9},
	} {
		lines := Chart(mono, "speed", distances, "yd", []Series{of("A", distances, func(d float64) float64 { return c.low + (c.high-c.low)/9*d })}, 80, 11)
		axis := axisAt(t, lines)
		seen := map[string]bool{}
		for _, line := range lines[1:9] {
			label := strings.TrimSpace(string(cells(line)[:axis]))
			if strings.ContainsRune(label, '-') || label == "" || seen[label] {
				t.Errorf("%v to %v: label %q", c.low, c.high, label)
			}
			seen[label] = true
		}
		if top, bottom := strings.Fields(lines[1])[0], strings.Fields(lines[8])[0]; top != c.top || bottom != c.bottom {
			t.Errorf("%v to %v: from %q to %q, want %q and %q", c.low, c.high, top, bottom, c.top, c.bottom)
		}
		if axis != c.mostOfAllWide+2 {
			t.Errorf("%v to %v: the axis is in cell %d", c.low, c.high, axis)
		}
	}
}

func TestTheFocusLiesOnTop(t *testing.T) {
	distances := steps(0, 1, 61)
	same := func(letter string, focus bool) Series {
		s := of(letter, distances, func(d float64) float64 { return d })
		s.Focus = focus
		return s
	}
	dark := themes[1]
	for focus := range 3 {
		var series []Series
		for i, letter := range []string{"A", "B", "C"} {
			series = append(series, same(letter, i == focus))
		}
		lines := Chart(dark, "speed", distances, "yd", series, 80, 12)
		// The others' pieces of curve are hidden; only their letters show.
		start, _, _ := strings.Cut(dark.Paint(theme.Plain, "x"), "x")
		for _, line := range lines[1:10] {
			for _, run := range strings.Split(line, start)[1:] {
				run, _, _ = strings.Cut(run, "\x1b")
				if strings.ContainsAny(run, "─│┌┐└┘") {
					t.Errorf("with the focus on %d another curve shows in %q", focus, line)
				}
			}
		}
		start, _, _ = strings.Cut(dark.Paint(theme.Changed, "x"), "x")
		if all := strings.Join(lines, ""); !strings.Contains(all, start+"▸"+series[focus].Letter) && !strings.Contains(all, "▸"+series[focus].Letter) {
			t.Errorf("the focus on %d is not marked:\n%s", focus, strings.Join(lines, "\n"))
		} else if strings.Count(all, start) < 9 {
			t.Errorf("the focus on %d is not painted on every line", focus)
		}
	}
}

func TestTheUnitKeepsTheWidth(t *testing.T) {
	distances, series := builds()
	for _, unit := range []string{"", "m", "yards", "矢", "a\u0301", "y\nd", strings.Repeat("long ", 30)} {
		exact(t, Chart(mono, "speed", distances, unit, series, 80, 12), 80, 12)
	}
}

// Whatever the values, the chart has its size and shows the letter of every
// series with a value; and if each value has a column of its own, the highest is
// on the top line and the lowest on the bottom line.
func TestPropertyRandomValues(t *testing.T) {
	value := rapid.OneOf(
		rapid.Float64(), rapid.Float64Range(-50, 50), rapid.Float64Range(200, 201), rapid.Just(math.NaN()),
		rapid.SampledFrom([]float64{0, 1, -1, math.Inf(1), math.Inf(-1), math.MaxFloat64, -math.MaxFloat64, 5e-324}),
	)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 90).Draw(t, "n")
		distances := steps(rapid.Float64Range(-1000, 1000).Draw(t, "first"), rapid.Float64Range(0.001, 100).Draw(t, "step"), n)
		var series []Series
		low, high := math.Inf(1), math.Inf(-1)
		want := ""
		for k := range rapid.IntRange(0, 8).Draw(t, "builds") {
			s := Series{Letter: string(rune('A' + k)), Values: rapid.SliceOfN(value, 0, n).Draw(t, "values"), Focus: rapid.Bool().Draw(t, "focus")}
			series = append(series, s)
			some := false
			for _, v := range s.Values {
				if !math.IsNaN(v) && !math.IsInf(v, 0) {
					low, high, some = min(low, v), max(high, v), true
				}
			}
			if some {
				want += s.Letter
			}
		}
		w, h := rapid.IntRange(1, 130).Draw(t, "w"), rapid.IntRange(1, 30).Draw(t, "h")
		lines := Chart(mono, "", distances, "yd", series, w, h)
		exact(t, lines, w, h)
		for i, line := range Chart(themes[1], "", distances, "yd", series, w, h) {
			if got := ansi.Strip(line); got != lines[i] {
				t.Fatalf("line %d is %q, without colour %q", i, got, lines[i])
			}
		}
		if h < 5 || want == "" {
			return
		}
		all := strings.Join(lines, "\n")
		axis := slices.Index([]rune(lines[h-2]), '└')
		if axis < 0 && w < 45 {
			return
		}
		for _, letter := range want {
			if !strings.ContainsRune(all, letter) {
				t.Fatalf("no %c in\n%s", letter, all)
			}
		}
		cols := strings.Count(lines[h-2], "─") + strings.Count(lines[h-2], "┬")
		if n > cols || high/2-low/2 <= 1e-9*max(math.Abs(low), math.Abs(high)) {
			return
		}
		for _, row := range []int{1, h - 3} {
			if strings.TrimSpace(string([]rune(lines[row])[axis+1:])) == "" {
				t.Fatalf("line %d is empty in\n%s", row, all)
			}
		}
	})
}

func BenchmarkChart(b *testing.B) {
	distances, series := builds()
	for _, th := range themes[:2] {
		b.Run(string(th.Name()), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Chart(th, "speed, ft/s", distances, "yd", series, 110, 16)
			}
		})
	}
}
