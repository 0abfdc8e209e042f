package sheet_test

import (
	"strings"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
)

// A figure is measured when every weight in it was weighed and no prior, rule of
// thumb or model constant enters.
func TestBasis(t *testing.T) {
	const (
		shaft  = `"shaft":{"tube_weight_gr":250}`
		nock   = `"nock":{"weight_gr":9,"weight_u_gr":0.2,"throat_in":0.5,"balance_in":0.4}`
		head   = `"head":{"weight_gr":100,"weight_u_gr":0.2,"balance_in":0.5}`
		vanes  = `"vanes":{"count":3,"weight_gr":6,"weight_u_gr":0.1,"length_in":2,"rear_in":1}`
		insert = `"insert":{"weight_gr":50,"weight_u_gr":0.2,"depth_in":1}`
	)
	mass := "total_weight front_weight weight_per_draw"
	place := "balance_point foc inertia"
	launch := "launch_speed launch_energy launch_momentum energy_share"
	cases := []struct {
		name     string
		bow      string
		pieces   []string
		measured string
	}{
		{"everything weighed, two arrows far apart", twoArrows, []string{shaft, nock, head, vanes, insert}, mass + " " + place + " " + launch},
		{"everything weighed, one arrow: K is the prior's", plainBow, []string{shaft, nock, head, vanes, insert}, mass + " " + place},
		{"everything weighed, rating alone", rated, []string{shaft, nock, head}, mass + " " + place},
		{"two arrows far apart, one at other settings", strings.Replace(twoArrows, `"sd_fps":0.6`, `"sd_fps":0.6,"draw_length_in":29`, 1), []string{shaft, nock, head}, mass + " " + place},
		{"shaft by weight per inch, weighed", twoArrows, []string{`"shaft":{"weight_gr_per_in":8.6,"weight_u_gr_per_in":0.02}`, nock, head}, mass + " " + place + " " + launch},
		{"shaft by the maker's weight per inch", twoArrows, []string{`"shaft":{"weight_gr_per_in":8.6}`, nock, head}, "front_weight"},
		{"weighed shaft, throat by rule of thumb", twoArrows, []string{`"shaft":{"weight_gr_per_in":8.6,"weight_u_gr_per_in":0.02}`, `"nock":{"weight_gr":9,"weight_u_gr":0.2,"balance_in":0.4}`, head}, "front_weight"},
		{"weighed tube, throat by rule of thumb", twoArrows, []string{shaft, `"nock":{"weight_gr":9,"weight_u_gr":0.2,"balance_in":0.4}`, head}, mass + " " + launch},
		{"nock not weighed", twoArrows, []string{shaft, `"nock":{"weight_gr":9,"throat_in":0.5,"balance_in":0.4}`, head}, "front_weight"},
		{"vanes not weighed", twoArrows, []string{shaft, nock, head, plainVanes}, "front_weight"},
		{"insert not weighed", twoArrows, []string{shaft, nock, head, `"insert":{"weight_gr":50,"depth_in":1}`}, ""},
		{"head not weighed", twoArrows, []string{shaft, nock, point}, ""},
		{"balance of the head by rule of thumb", twoArrows, []string{shaft, nock, `"head":{"weight_gr":100,"weight_u_gr":0.2,"length_in":1}`}, mass + " " + launch},
		{"extra at the rear not weighed", twoArrows, []string{shaft, nock, head, `"extras":[{"weight_gr":2,"balance_in":3}]`}, "front_weight"},
		{"extra in front not weighed", twoArrows, []string{shaft, nock, head, `"extras":[{"weight_gr":2,"balance_in":28}]`}, ""},
		{"weighed and known exactly", twoArrows, []string{shaft, nock, `"head":{"weight_gr":100,"weight_u_gr":0,"balance_in":0.5}`}, mass + " " + place + " " + launch},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := sheet.Evaluate(decoded(t, document(c.bow, 0, build("a", 29.5, c.pieces...))))
			for _, key := range worldKeys {
				f, there := s.Builds[0].Figure(key)
				want := figure.Estimated
				for name := range strings.FieldsSeq(c.measured) {
					if name == key.String() {
						want = figure.Measured
					}
				}
				if !there || f.Basis != want {
					t.Errorf("%s is %s, want %s", key, f.Basis, want)
				}
			}
		})
	}
}

// A figure of flight is measured when speed is, drag was given and so was the air:
// lengths in the file count as measured.
func TestBasisOfFlight(t *testing.T) {
	const weighedPieces = `"shaft":{"tube_weight_gr":250,"outer_diameter_in":0.246},"nock":{"weight_gr":9,"weight_u_gr":0.2,"throat_in":0.5,"balance_in":0.4},"head":{"weight_gr":100,"weight_u_gr":0.2,"balance_in":0.5}`
	const given = `"drag_coefficient":2.2`
	const air = `,"air":{"temperature_c":12,"pressure_hpa":1001}`
	cases := []struct {
		name, bow, build string
		drag, path       figure.Basis
	}{
		{"air by default", twoArrows, build("a", 29.5, weighedPieces, given), figure.Measured, figure.Estimated},
		{"all weighed, two arrows, drag given", twoArrows + air, build("a", 29.5, weighedPieces, given), figure.Measured, figure.Measured},
		{"drag by its formula", twoArrows + air, build("a", 29.5, weighedPieces), figure.Estimated, figure.Estimated},
		{"K is the prior's", plainBow + air, build("a", 29.5, weighedPieces, given), figure.Measured, figure.Estimated},
		{"a piece not weighed", twoArrows + air, build("a", 29.5, weighedPieces, given, `"collar":{"weight_gr":9,"length_in":0.5}`), figure.Measured, figure.Estimated},
		{"rating alone", rated + air, build("a", 29.5, weighedPieces, given), figure.Measured, figure.Estimated},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := sheet.Evaluate(decoded(t, document(c.bow+","+eyeAndPin+`,"distances_yd":[40],"slope_deg":12,"crosswind_mph":5`, 0, c.build, strings.Replace(c.build, `"a"`, `"b"`, 1))))
			check := func(set *sheet.Set, k figure.Key, want figure.Basis) {
				if f, there := set.Figure(k); !there || f.Basis != want {
					t.Errorf("%s: there %v, %s, want %s", k, there, f.Basis, want)
				}
			}
			check(&s.Builds[1].Set, figure.DragCoefficient, c.drag)
			for _, k := range []figure.Key{figure.MarkSpread, figure.HoldOnNear, figure.HoldOnFar} {
				check(&s.Builds[1].Set, k, c.path)
			}
			for _, k := range sheet.KeysAt() {
				check(&s.Builds[1].At[0], k, c.path)
			}
		})
	}
}
