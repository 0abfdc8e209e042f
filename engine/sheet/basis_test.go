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

// Each figure can be worked out by hand from what its working says.
func TestWorking(t *testing.T) {
	priced := strings.NewReplacer(`"weight_gr_per_in": 8.6`, `"weight_gr_per_in": 8.6, "price": 10`, `"name": "nock"`, `"name": "nock", "price": 1`, `"name": "vanes"`, `"name": "vanes", "price": 0.5`,
		`{"weight_gr": 6, "length_in": 4}`, `{"weight_gr": 6, "length_in": 4, "price": 1}`, `"name": "insert"`, `"name": "insert", "price": 3`, `{"weight_gr": 12`, `{"price": 2, "weight_gr": 12`,
		`"name": "head"`, `"name": "head", "price": 2`, `"name": "glue"`, `"name": "glue", "price": 0`).Replace(string(example(t)))
	s := sheet.Evaluate(decoded(t, []byte(priced)))
	says := map[figure.Key][]string{
		figure.TotalWeight:    {"sum of all pieces", "tube 8.6 gr/in × (29.5 in − 0.5 in)", "shaft 249.4 gr + nock 9 gr + 3 vanes 18 gr", "total weight = 446 ± 5 gr (estimated)"},
		figure.FrontWeight:    {"0.85 of arrow length", "insert 50 gr + collar 12 gr + head 100 gr + extra 2 gr", "164.0 ± 2.0"},
		figure.BalancePoint:   {"Σ m x / Σ m", "shaft: 249.4 gr at 15 in", "over 446.4 gr", "19.41", "ASTM F1435"},
		figure.FOC:            {"100 (balance point − L/2) / L", "100 (19.405 in − 29.5 in / 2) / 29.5 in", "Trade-association", "To know it better: weigh one vane"},
		figure.Inertia:        {"Σ m ((x − balance point)² + l²/12)", "19.405 in"},
		figure.WeightPerDraw:  {"total weight / peak draw weight", "446.4 gr / 68 lb"},
		figure.LaunchSpeed:    {"√( 2 E / (m + K) )", "K = 90 ± 40 gr", "m = 446.4 gr", "Klopsteg", "from one reading", "chronograph calibration 42 %"},
		figure.LaunchEnergy:   {"½ m v²", "½ × 446.4 gr × (283.7 ft/s)²", "Klopsteg"},
		figure.LaunchMomentum: {"m v", "446.4 gr × 283.7 ft/s"},
		figure.EnergyShare:    {"100 m / (m + K)", "not the bow's efficiency"},
		figure.DozenCost:      {"12 × the sum of the prices", "vanes: 3 × 0.5", "246"},
	}
	for _, key := range sheet.Keys() {
		t.Run(key.String(), func(t *testing.T) {
			w := s.Working(0, key)
			if w.Formula == "" || w.Source == "" || w.Result == "" || len(w.Numbers) == 0 {
				t.Fatalf("something is missing: %+v", w)
			}
			all := strings.Join(append(append([]string{w.Formula, w.Result, w.Source}, w.Numbers...), w.Notes...), "\n")
			for _, want := range says[key] {
				if !strings.Contains(all, want) {
					t.Errorf("does not say %q:\n%s", want, all)
				}
			}
			if len(says[key]) == 0 {
				t.Errorf("nobody checks this one:\n%s", all)
			}
			for _, bad := range []string{"NaN", "Inf", "%!", "<nil>", "  "} {
				if strings.Contains(all, bad) {
					t.Errorf("says %q:\n%s", bad, all)
				}
			}
		})
	}
}
