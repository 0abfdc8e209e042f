package dozen_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/dozen"
	"foreshaft/engine/unit"
)

// told writes pieces as "weight/spine/straightness" in gr and in.
func told(list []dozen.Piece) string {
	var out []string
	for _, p := range list {
		words := fmt.Sprintf("%.5g", p.Weight.In(unit.Grain))
		if p.Spine.Given || p.Straightness.Given {
			words += fmt.Sprintf("/%.3g/%.3g", p.Spine.Value.In(unit.Inch), p.Straightness.Value.In(unit.Inch))
		}
		out = append(out, words)
	}
	return strings.Join(out, " ")
}

func TestReadingsAsPeopleTypeAndPasteThem(t *testing.T) {
	grams := unit.System{Metric: unit.InCentimetres, Grams: true}
	for _, c := range []struct {
		typed string
		kind  dozen.Kind
		units unit.System
		want  string
	}{
		{"301.2", dozen.Shafts, unit.System{}, "301.2"},
		{"301,2", dozen.Shafts, unit.System{}, "301.2"},
		{"301.2\n300.9\r\n301\r", dozen.Shafts, unit.System{}, "301.2 300.9 301"},
		{"\ufeffweight\n301.2\n\n300.9\n", dozen.Heads, unit.System{}, "301.2 300.9"},
		{"301.2 300.9, 301.5; 300", dozen.Shafts, unit.System{}, "301.2 300.9 301.5 300"},
		{"301.2 0.302 0.003", dozen.Shafts, unit.System{}, "301.2/0.302/0.003"},
		{"301.2\t.302\t.003\n300.9\t.299\t.001", dozen.Shafts, unit.System{}, "301.2/0.302/0.003 300.9/0.299/0.001"},
		{"301.2;0,302;0,003", dozen.Shafts, unit.System{}, "301.2/0.302/0.003"},
		{"301.2 0.003 0.302", dozen.Shafts, unit.System{}, "301.2/0.302/0.003"},
		{"301.2 0.004 300.9 0.3", dozen.Shafts, unit.System{}, "301.2/0/0.004 300.9/0.3/0"},
		{"19.5 g", dozen.Shafts, unit.System{}, "300.93"},
		{"19.5 g 0.3 in", dozen.Shafts, unit.System{}, "300.93/0.3/0"},
		{"19.5\n19.52", dozen.Shafts, grams, "300.93 301.24"},
		{"100 100.1 99.9", dozen.Heads, unit.System{}, "100 100.1 99.9"},
		{"9 9.1 8.8", dozen.Nocks, unit.System{}, "9 9.1 8.8"},
		{"1\t231.4\n2\t231.2\n3\t231.6", dozen.Shafts, unit.System{}, "231.4 231.2 231.6"},
		{"1. 231.4 .352\n2. 231.2 .349", dozen.Shafts, unit.System{}, "231.4/0.352/0 231.2/0.349/0"},
		{"Shaft;Weight;Spine;Run-out\n1;231,4;0,350;0,002\n2;231,2;;0,003\n", dozen.Shafts, unit.System{}, "231.4/0.35/0.002 231.2/0/0.003"},
		{"no.\tgr\n7\t9.1\n9\t9\n", dozen.Nocks, unit.System{}, "9.1 9"},
		{"231 232 230", dozen.Shafts, unit.System{}, "231 232 230"},
		{"15.01 0.352 0.2", dozen.Shafts, grams, "231.64/0.352/0.00787"},
		{"15.01 0.352 0.2mm", dozen.Shafts, grams, "231.64/0.352/0.00787"},
	} {
		got, err := dozen.Read(c.typed, c.kind, c.units)
		if err != nil || told(got) != c.want {
			t.Errorf("%q is %s, %v; want %s", c.typed, told(got), err, c.want)
		}
	}
}

func TestReadingsThatAreRefusedNameTheirLine(t *testing.T) {
	for typed, want := range map[string]string{
		"":                          "there is no weight",
		"\n \n":                     "there is no weight",
		"heavy":                     "weight: ",
		"301.2\n30x\n300":           "line 2: weight: ",
		"301.2\nabc":                "line 2: ",
		"0":                         "more than nothing",
		"-3":                        "weight: must be 0 to 1000",
		"301.2\n1500":               "line 2: weight: must be 0 to 1000",
		"1 in":                      "weight: ",
		"231.6 350":                 "another shaft, or a spine?",
		"231.7 350 3":               "another shaft, or a spine?",
		"231.4 0.352 0.340":         "is no straightness",
		"15.00 8.94":                "another shaft, or a spine?",
		"0.352 231.4":               "another shaft, or a spine?",
		"301.2 300":                 "another shaft, or a spine?",
		"1;231.4":                   "another shaft, or a spine?",
		"weight;no\n;1":             "it has no weight",
		strings.Repeat("300 ", 501): "at most 500 pieces",
	} {
		if got, err := dozen.Read(typed, dozen.Shafts, unit.System{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.30q is %v, %v; want %s", typed, told(got), err, want)
		}
	}
}

// What a field begins with is what it takes.
func TestAPieceReadsAsItIsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		units := unit.System{}
		if rapid.Bool().Draw(t, "metric") {
			units = unit.System{Metric: unit.InCentimetres, Grams: true}
		}
		p := dozen.Piece{Weight: unit.Mass(rapid.IntRange(40, 9999).Draw(t, "gr/10")) / 10 * unit.Grain}
		if rapid.Bool().Draw(t, "spine there") {
			p.Spine = unit.Some(unit.Length(rapid.IntRange(150, 2999).Draw(t, "spine")) / 1000 * unit.Inch)
		}
		if rapid.Bool().Draw(t, "straightness there") {
			p.Straightness = unit.Some(unit.Length(rapid.IntRange(0, 100).Draw(t, "straightness")) / 1000 * unit.Inch)
		}
		got, err := dozen.Read(p.Text(dozen.Shafts, units), dozen.Shafts, units)
		if err != nil || len(got) != 1 {
			t.Fatalf("%q: %v, %v", p.Text(dozen.Shafts, units), got, err)
		}
		near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-4*math.Abs(b)+1e-9 }
		if !near(float64(got[0].Weight), float64(p.Weight)) || got[0].Spine.Given != p.Spine.Given || !near(float64(got[0].Spine.Value), float64(p.Spine.Value)) ||
			got[0].Straightness.Given != p.Straightness.Given || !near(float64(got[0].Straightness.Value), float64(p.Straightness.Value)) {
			t.Fatalf("%q is %+v, want %+v", p.Text(dozen.Shafts, units), got[0], p)
		}
	})
}

func FuzzRead(f *testing.F) {
	f.Add("301.2 0.302 0.003\n300", 0)
	f.Add("19.5 g;301,2\t1 1/2", 1)
	f.Fuzz(func(t *testing.T, text string, kind int) {
		k := dozen.Kind(uint(kind) % uint(dozen.Kinds))
		list, err := dozen.Read(text, k, unit.System{})
		if (err == nil) != (len(list) > 0) {
			t.Fatalf("%d pieces, %v", len(list), err)
		}
		b := dozen.Batch{}
		*b.Of(k) = list
		if err := b.Check("b"); err != nil {
			t.Fatal(err)
		}
	})
}
