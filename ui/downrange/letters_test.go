package downrange

import (
	"math"
	"strings"
	"testing"
)

func TestEveryBuildHasItsLetterAtItsEnd(t *testing.T) {
	distances, series := builds()
	for _, size := range [][2]int{{40, 5}, {60, 8}, {80, 12}, {110, 18}, {110, 40}} {
		lines := Chart(mono, "speed", distances, "yd", series, size[0], size[1])
		cols := columns(t, lines)
		ends := ""
		for _, row := range body(t, lines) {
			ends += string(row[cols:])
		}
		ends = strings.ReplaceAll(ends, " ", "")
		// The curves end in the order of the letters but for those on one line.
		if ends != "A▸BCDEFGH" {
			t.Errorf("%v: ends with %q\n%s", size, ends, strings.Join(lines, "\n"))
		}
	}
}

func TestLettersOfCurvesOnEachOther(t *testing.T) {
	distances := steps(0, 1, 61)
	var series []Series
	for _, letter := range "ABCDEFGH" {
		series = append(series, of(string(letter), distances, func(d float64) float64 { return 300 - d }))
	}
	series[2].Focus = true
	lines := Chart(mono, "speed", distances, "yd", series, 90, 9)
	if all := strings.Join(lines, "\n"); !strings.Contains(all, "AB▸CDEFGH") {
		t.Errorf("the letters are not side by side:\n%s", all)
	}
	cols := columns(t, lines)
	inside := ""
	for _, row := range body(t, lines) {
		inside += string(row[:cols])
	}
	for _, s := range series {
		if !strings.Contains(inside, "─"+s.Letter+"─") {
			t.Errorf("%s does not stand in its curve:\n%s", s.Letter, strings.Join(lines, "\n"))
		}
	}
}

func TestLettersWhereCurvesEndEarly(t *testing.T) {
	distances := steps(0, 1, 61)
	level := func(value float64, letter string, last float64) Series {
		return of(letter, distances, func(d float64) float64 {
			if d > last {
				return math.NaN()
			}
			return value
		})
	}
	lines := Chart(mono, "speed", distances, "yd", []Series{
		level(2, "A", 60), level(1, "B", 40), level(1, "C", 40), level(1, "D", 39), level(0, "E", 20),
	}, 72, 8)
	rows := body(t, lines)
	bottom, middle := string(rows[len(rows)-1]), ""
	for _, row := range rows {
		if strings.ContainsRune(string(row), 'B') {
			middle = string(row)
		}
	}
	// With 61 columns or more a column of the chart is a distance or less.
	if !strings.HasSuffix(strings.TrimRight(middle, " "), "─DBC") {
		t.Errorf("%q does not end with the letters in the order of their ends", middle)
	}
	if !strings.HasSuffix(strings.TrimRight(bottom, " "), "─E") {
		t.Errorf("%q does not end with its letter", bottom)
	}
}

// When a column holds several values of which another one is further out, the
// letter stands beside the last.
func TestTheLetterStandsAtTheLastValue(t *testing.T) {
	distances := steps(0, 1, 500)
	var series []Series
	for _, letter := range "ABCDEFGH" {
		series = append(series, of(string(letter), distances, func(d float64) float64 {
			switch d {
			case 0:
				return 0
			case 498:
				return 10 + float64(letter-'A')
			}
			return 8.5
		}))
	}
	lines := Chart(mono, "speed", distances, "yd", series, 60, 20) // 17 rows, from 0 to 17
	if got := strings.TrimRight(lines[9], " "); !strings.HasSuffix(got, "─ABCDEFGH") {
		t.Errorf("line 9 is %q\n%s", got, strings.Join(lines, "\n"))
	}
}

func TestNoLetterStandsJustBeforeTheLast(t *testing.T) {
	distances := steps(0, 1, 61)
	for w := 30; w < 100; w++ {
		lines := Chart(mono, "speed", distances, "yd", []Series{of("A", distances, func(float64) float64 { return 1 })}, w, 6)
		if all := strings.Join(lines, "\n"); !strings.Contains(all, "────────A   ") {
			t.Errorf("%d cells:\n%s", w, all)
		}
	}
}
