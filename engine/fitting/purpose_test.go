package fitting_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"foreshaft/engine/fitting"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

func TestDefaultPurposesAreKeptAndReadBack(t *testing.T) {
	list := fitting.DefaultPurposes()
	if err := fitting.CheckPurposes(list); err != nil {
		t.Fatal(err)
	}
	data := record.Encode(list)
	var back []fitting.Purpose
	if err := record.Decode(data, &back); err != nil {
		t.Fatalf("%v\n%s", err, data)
	}
	if again := record.Encode(back); string(again) != string(data) {
		t.Errorf("came back as\n%s\nfrom\n%s", again, data)
	}
	for i, p := range list {
		if !strings.HasPrefix(p.Note, "Common practice") {
			t.Errorf("%s: the note does not say where it comes from: %q", p.Name, p.Note)
		}
		for _, gap := range []float64{float64(p.MinPerDraw - back[i].MinPerDraw), float64(p.MaxPerDraw - back[i].MaxPerDraw), float64(p.MinFOC - back[i].MinFOC), float64(p.MaxFOC - back[i].MaxFOC)} {
			if math.Abs(gap) > 1e-12 {
				t.Errorf("%s came back %g off", p.Name, gap)
			}
		}
	}
	if !strings.Contains(string(data), `{"name":"target","min_weight_per_draw":6,"max_weight_per_draw":10,"min_foc_pct":9,"max_foc_pct":16,`) {
		t.Errorf("written as %s", data)
	}
}

func TestCheckPurposesNamesThePlace(t *testing.T) {
	cases := []struct {
		place  string
		change func(list []fitting.Purpose)
	}{
		{"[1].name", func(list []fitting.Purpose) { list[1].Name = list[0].Name }},
		{"[2].name", func(list []fitting.Purpose) { list[2].Name = "" }},
		{"[0].min_weight_per_draw", func(list []fitting.Purpose) { list[0].MinPerDraw = -1 }},
		{"[0].max_weight_per_draw", func(list []fitting.Purpose) { list[0].MaxPerDraw = list[0].MinPerDraw / 2 }},
		{"[0].max_weight_per_draw", func(list []fitting.Purpose) { list[0].MinPerDraw, list[0].MaxPerDraw = 0, 0 }},
		{"[0].max_weight_per_draw", func(list []fitting.Purpose) { list[0].MaxPerDraw = unit.MassPerForce(math.NaN()) }},
		{"[4].max_foc_pct", func(list []fitting.Purpose) { list[4].MinFOC = list[4].MaxFOC + 0.01 }},
		{"[4].min_foc_pct", func(list []fitting.Purpose) { list[4].MinFOC = -0.6 }},
	}
	for _, c := range cases {
		list := fitting.DefaultPurposes()
		c.change(list)
		var refusal *record.Error
		if err := fitting.CheckPurposes(list); !errors.As(err, &refusal) || refusal.Path != c.place {
			t.Errorf("%s: %v", c.place, err)
		}
	}
}

// A form can show the answers: words to choose from where there are words, yes and no
// where there is a switch, and every word is one that Propose takes.
func TestAnswersAreAForm(t *testing.T) {
	var a fitting.Answers
	want := map[string]string{"favour": "forgiving of range errors,even,weight on target", "head": "field point,fixed broadhead,expandable", "lighted_nock": "no,yes", "budget": "", "still_growing": "no,yes", "in_stock": "no,yes"}
	for _, f := range record.Fields(&a) {
		words, known := want[f.Key]
		if !known || strings.Join(f.Words, ",") != words {
			t.Errorf("%s offers %q, want %q", f.Key, f.Words, words)
		}
		delete(want, f.Key)
		for _, word := range f.Words {
			if err := f.SetText(word); err != nil {
				t.Errorf("%s: %v", f.Key, err)
			}
		}
	}
	if len(want) > 0 {
		t.Errorf("not shown: %v", want)
	}
	if a.Favour != fitting.Weight || a.Head != fitting.Expandable || !a.Lighted || !a.Growing || !a.InStock {
		t.Errorf("the last words came to %+v", a)
	}
}
