package present

import (
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// provenBench is the sample bench with its second build proven (invented).
func provenBench(t testing.TB, change func(j *job.Job)) *job.Job {
	return sampleWith(t, func(j *job.Job) {
		j.Builds[1].Proven = true
		j.Builds[1].Proof = unit.Some(arrow.Proof{
			Date: "2026-05-04", Bow: j.Bow.Value.Name, Peak: j.Bow.Value.Peak, Draw: j.Bow.Value.Draw,
			Weight: unit.Some(449 * unit.Grain), Balance: unit.Some(19.3 * unit.Inch), Speed: unit.Some(281 * unit.FootPerSecond),
			Paper: "clean hole", Distance: unit.Some(40 * unit.Yard), High: unit.Some(-0.5 * unit.Inch), Right: unit.Some(1 * unit.Inch), Note: "rest raised a turn.",
		})
		if change != nil {
			change(j)
		}
	})
}

func TestProofIsToldInSentences(t *testing.T) {
	s := sheet.Evaluate(provenBench(t, nil))
	want := []string{
		"proven on this bow: 2026-05-04, Sample bow (invented), 68 lb, 29.5 in.",
		"measured less computed: total weight +0.6 gr, balance point −0.09 in, FOC −0.29 %, speed −2.3 ft/s.",
		"paper or bare shaft: clean hole.",
		"broadhead against field point: at 40 yd, 0.5 in low, 1 in right.",
		"note: rest raised a turn.",
	}
	if got := Proof(s, 1); strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("told is\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if got := Proof(s, 0); got != nil {
		t.Errorf("of a build without the mark: %v", got)
	}
	// With another peak the mark has lapsed, and a speed from then says nothing.
	s = sheet.Evaluate(provenBench(t, func(j *job.Job) { j.Bow.Value.Peak.Value -= unit.PoundForce }))
	got := strings.Join(Proof(s, 1), "\n")
	if !strings.HasPrefix(got, "was proven: 2026-05-04") || !strings.Contains(got, "total weight +0.6 gr") || strings.Contains(got, "speed") {
		t.Errorf("told is\n%s", got)
	}
	if out := Plain(s); !strings.Contains(out, "paper or bare shaft: clean hole.") || !strings.Contains(out, "NOTE proof lapsed: It was proven at 68 lb, drawn 29.5 in. Another") {
		t.Errorf("plain output is\n%s", out)
	}
	metric := strings.Join(Proof(sheet.EvaluateIn(provenBench(t, nil), centi), 1), "\n")
	if strings.Contains(metric, " gr") || strings.Contains(metric, " in,") || !strings.Contains(metric, "at 36.58 m, 1.27 cm low, 2.54 cm right") {
		t.Errorf("in metric units\n%s", metric)
	}
}

func TestWhatWasMeasuredStandsBesideTheFigure(t *testing.T) {
	s := sheet.Evaluate(provenBench(t, nil))
	c := FigureCell(s, 1, figure.TotalWeight)
	for w, want := range map[int]string{40: "448.4 ± 1.3 gr, measured +0.6", 26: "448.4  +54.4 ± 1.5"} {
		if got := c.Text(w); got != want {
			t.Errorf("in %d cells: %q, want %q", w, got, want)
		}
	}
	if _, below := c.Lab(30); below != "+54.4 ± 1.5 · measured +0.6" {
		t.Errorf("in the lab: %q", below)
	}
	if got := c.Full(); got != "448.4 ± 1.3 gr, +54.4 ± 1.5 against the baseline, measured +0.6" {
		t.Errorf("in full: %q", got)
	}
	if c := FigureCell(s, 1, figure.MarginVsProven); c.Text(30) != "the proven one" {
		t.Errorf("against itself: %q", c.Text(30))
	}
	if c := FigureCell(s, 0, figure.SteerMoment); c.Text(30) != "baseline" {
		t.Errorf("the baseline's steering: %q", c.Text(30))
	}
	// A share has no sign, a difference has.
	if c := FigureCell(s, 1, figure.SteerMoment); strings.HasPrefix(c.Value, "+") {
		t.Errorf("steering %q", c.Value)
	}
	if c := FigureCell(s, 2, figure.MarginVsProven); !strings.HasPrefix(c.Value, "+") {
		t.Errorf("against proven %q", c.Value)
	}
}
