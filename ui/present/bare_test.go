package present_test

import (
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// Numbers of a table stand to one place whatever they are, about as fine in one
// unit as in another, with a sign where they compare.
func TestBareNumbersStandToOnePlace(t *testing.T) {
	metric := unit.System{Grams: true, Metric: unit.InCentimetres, Metres: true, PerSec: true, InNewton: true}
	for _, c := range []struct {
		key         figure.Key
		value       float64
		trade, also string // in the trade's units and in metric ones
		difference  string
	}{
		{figure.TotalWeight, float64(400 * unit.Grain), "400.0", "25.92", "+400.0"},
		{figure.TotalWeight, float64(-0.01 * unit.Grain), "0.0", "0.00", "0.0"},
		{figure.LaunchSpeed, float64(-16.6 * unit.FootPerSecond), "−16.6", "−5.06", "−16.6"},
		{figure.FOC, 0.12345, "12.3", "12.3", "+12.3"},
		{figure.LaunchMargin, 0.8049, "0.80", "0.80", "+0.80"},
		{figure.BalancePoint, float64(19.5 * unit.Inch), "19.50", "49.53", "+19.50"},
		{figure.DozenCost, 201, "201.00", "201.00", "+201.00"},
		{figure.ImpactShift, float64(4.26 * unit.Inch), "+4.3", "+10.8", "+4.3"},
		{figure.SteerMoment, 1.2, "120.0", "120.0", "+120.0"},
		{figure.MarginVsProven, -0.131, "−13.1", "−13.1", "−13.1"},
	} {
		trade, also := sheet.Evaluate(job.New()), sheet.EvaluateIn(job.New(), metric)
		if got := present.Bare(trade, c.key, c.value, false); got != c.trade {
			t.Errorf("%s of %g is written %q, want %q", c.key, c.value, got, c.trade)
		}
		if got := present.Bare(also, c.key, c.value, false); got != c.also {
			t.Errorf("in metric units %s of %g is written %q, want %q", c.key, c.value, got, c.also)
		}
		if got := present.Bare(trade, c.key, c.value, true); got != c.difference {
			t.Errorf("as a difference %s of %g is written %q, want %q", c.key, c.value, got, c.difference)
		}
	}
}
