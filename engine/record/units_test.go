package record_test

import (
	"math"
	"testing"

	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// Every ending of a key is read in its own unit (NIST SP 811, appendix B).
func TestEveryEndingHasItsUnit(t *testing.T) {
	var got struct {
		Weight      unit.Mass          `job:"weight_gr"`
		PerInch     unit.LinearDensity `job:"weight_gr_per_in"`
		PerDraw     unit.MassPerForce  `job:"min_weight_per_draw"`
		Energy      unit.Energy        `job:"energy_ftlb"`
		Speed       unit.Speed         `job:"speed_fps"`
		Wind        unit.Speed         `job:"crosswind_mph"`
		Slope       unit.Angle         `job:"slope_deg"`
		Pressure    unit.Pressure      `job:"pressure_hpa"`
		Humidity    unit.Angle         `job:"humidity_pct"` // any float64 of its own name
		Length      unit.Length        `job:"length_in"`
		Peak        unit.Force         `job:"peak_weight_lb"`
		Distance    unit.Length        `job:"distance_yd"`
		Diameter    unit.Length        `job:"max_diameter_mm"`
		Temperature unit.Temperature   `job:"temperature_c"`
		Altitude    unit.Length        `job:"altitude_m"`
	}
	err := record.Decode([]byte(`{"weight_gr":1,"weight_gr_per_in":1,"min_weight_per_draw":1,"energy_ftlb":1,"speed_fps":1,"crosswind_mph":1,"slope_deg":1,
		"pressure_hpa":1,"humidity_pct":1,"length_in":1,"peak_weight_lb":1,"distance_yd":1,"max_diameter_mm":1,"temperature_c":1,"altitude_m":1}`), &got)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"gr", float64(got.Weight), 6.479891e-5},
		{"gr_per_in", float64(got.PerInch), 6.479891e-5 / 0.0254},
		{"per_draw", float64(got.PerDraw), 6.479891e-5 / 4.4482216152605},
		{"ftlb", float64(got.Energy), 1.3558179483314004},
		{"fps", float64(got.Speed), 0.3048},
		{"mph", float64(got.Wind), 0.44704},
		{"deg", float64(got.Slope), math.Pi / 180},
		{"hpa", float64(got.Pressure), 100},
		{"pct", float64(got.Humidity), 0.01},
		{"in", float64(got.Length), 0.0254},
		{"lb", float64(got.Peak), 4.4482216152605},
		{"yd", float64(got.Distance), 0.9144},
		{"mm", float64(got.Diameter), 0.001},
		{"c", float64(got.Temperature), 274.15},
		{"m", float64(got.Altitude), 1},
	} {
		if math.Abs(c.got-c.want) > 1e-14*math.Abs(c.want) {
			t.Errorf("_%s: %g in SI, want %g", c.name, c.got, c.want)
		}
	}
}
