package sheet_test

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
)

// answer is the answer of the exchange format, as its document lists the keys.
type answer struct {
	Format string `json:"format"`
	Bow    struct {
		Energy      *float64 `json:"energy_ftlb"`
		EnergyU     *float64 `json:"energy_u_ftlb"`
		Virtual     *float64 `json:"virtual_mass_gr"`
		VirtualU    *float64 `json:"virtual_mass_u_gr"`
		Correlation *float64 `json:"correlation"`
		Readings    []struct {
			Residual *float64 `json:"residual_fps"`
		} `json:"readings"`
		Notes  []string `json:"notes"`
		Absent string   `json:"absent"`
	} `json:"bow"`
	Air struct {
		Density   *float64 `json:"density_kg_m3"`
		Viscosity *float64 `json:"viscosity_pa_s"`
	} `json:"air"`
	Sight *struct {
		Zero  *float64 `json:"zero_in"`
		Scale *float64 `json:"scale"`
		Speed *float64 `json:"speed_factor"`
		Drag  *float64 `json:"drag_factor"`
		Eye   *float64 `json:"peep_above_nock_in"`
		Marks []struct {
			Residual *float64 `json:"residual_in"`
			Impact   *float64 `json:"impact_in"`
		} `json:"marks"`
		Notes []string `json:"notes"`
	} `json:"sight"`
	Builds []struct {
		Name    string                  `json:"name"`
		Figures map[string]answerFigure `json:"figures"`
		Absent  map[string]string       `json:"absent"`
		At      []struct {
			Distance *float64                `json:"distance_yd"`
			Figures  map[string]answerFigure `json:"figures"`
			Absent   map[string]string       `json:"absent"`
		} `json:"at"`
		Cautions []struct{ Code, Level, Text string } `json:"cautions"`
		Notes    []string                             `json:"notes"`
		Proof    *struct {
			Holds    bool `json:"holds"`
			Measured map[string]struct {
				Value *float64 `json:"value"`
				Unit  string   `json:"unit"`
				Less  *float64 `json:"less_computed"`
			} `json:"measured"`
		} `json:"proof"`
	} `json:"builds"`
}

type answerFigure struct {
	Value  *float64 `json:"value"`
	Unit   *string  `json:"unit"`
	U      *float64 `json:"u"`
	Basis  string   `json:"basis"`
	Delta  *float64 `json:"delta"`
	DeltaU *float64 `json:"delta_u"`
}

func read(t interface {
	Helper()
	Fatalf(string, ...any)
}, data []byte) answer {
	t.Helper()
	var a answer
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&a); err != nil {
		t.Fatalf("%v\n%s", err, data)
	}
	return a
}

func TestAnswerOfTheExample(t *testing.T) {
	data := sheet.Evaluate(decoded(t, example(t))).Answer()
	a := read(t, data)
	near := func(what string, got *float64, want, tolerance float64) {
		t.Helper()
		if got == nil || math.Abs(*got-want) > tolerance {
			t.Errorf("%s: got %v, want %v", what, got, want)
		}
	}
	if a.Format != "foreshaft-figures/1" || len(a.Builds) != 1 || a.Builds[0].Name != "Worked arrow" {
		t.Fatalf("%s", data)
	}
	near("energy", a.Bow.Energy, 95.87876, 1e-4)
	near("virtual mass", a.Bow.Virtual, 90, 1e-4)
	near("its u", a.Bow.VirtualU, 40, 1e-3)
	if a.Bow.EnergyU == nil || a.Bow.Correlation == nil || len(a.Bow.Readings) != 1 || a.Bow.Readings[0].Residual == nil {
		t.Errorf("bow: %s", data)
	}
	// By hand, from E = (m + K) v²/2 at 420 gr and 291 ± 1 ft/s: ∂E/∂K times 40 gr,
	// and ∂E/∂v times 1 ft/s.
	byK, byV := 291*291/450436.67979*40, 2*95.87876/291
	near("u of the energy", a.Bow.EnergyU, math.Hypot(byK, byV), 1e-4)
	near("correlation", a.Bow.Correlation, byK/math.Hypot(byK, byV), 1e-6)
	near("residual of the only reading", a.Bow.Readings[0].Residual, 0, 1e-9)
	near("density", a.Air.Density, 1.22552134, 1e-7)
	near("viscosity", a.Air.Viscosity, 1.789380e-5, 1e-10)
	if a.Sight != nil {
		t.Errorf("the job has no known marks, the answer says %+v", a.Sight)
	}
	b := a.Builds[0]
	units := map[string]string{
		"total_weight": "gr", "front_weight": "gr", "balance_point": "in", "foc": "%", "inertia": "gr·in²", "weight_per_draw": "gr/lb",
		"launch_speed": "ft/s", "launch_energy": "ft·lbf", "launch_momentum": "lbf·s", "energy_share": "%",
		"drag_coefficient": "", "mark_spread": "in", "hold_on_near": "yd", "hold_on_far": "yd",
		"bending_stiffness": "lbf·in²", "bending_frequency": "Hz", "launch_margin": "", "bends_on_string": "",
		"pressure_point": "in", "steer_margin": "%", "wobble_length": "yd",
	}
	for name, symbol := range units {
		f, there := b.Figures[name]
		if !there || f.Value == nil || f.U == nil || f.Unit == nil || *f.Unit != symbol || f.Basis == "" {
			t.Errorf("%s: %+v", name, f)
		}
		if f.Delta != nil || f.DeltaU != nil {
			t.Errorf("%s: the baseline has a difference", name)
		}
	}
	// By hand: shaft 1 %, tube length ± 0.03 in at either end, three vanes that
	// are off together, and six pieces that nobody weighed.
	near("u of total weight", b.Figures["total_weight"].U, math.Sqrt(2.494*2.494+2*math.Pow(8.6*0.03, 2)+3*3+6), 1e-9)
	near("momentum: 446.4 gr at 283.748577 ft/s in lbf·s", b.Figures["launch_momentum"].Value, 446.4/7000*283.748577*0.3048/9.80665, 1e-8)
	if len(b.Figures) != len(units) || b.Absent["dozen_cost"] == "" || len(b.Absent) != 3 ||
		b.Absent["head_share"] != "needs blades" || b.Absent["margin_vs_proven"] != "needs a build that is proven on this bow as it is set now" {
		t.Errorf("figures and absent: %v", b.Absent)
	}
	// The worked answer, by an independent program; frequency and margin to 0.3 %,
	// for they depend on how finely pieces are spread.
	near("frequency", b.Figures["bending_frequency"].Value, 87.158, 0.003*87)
	near("margin", b.Figures["launch_margin"].Value, 0.9219, 0.003)
	near("pressure point", b.Figures["pressure_point"].Value, 5.312118, 1e-5)
	near("steer margin", b.Figures["steer_margin"].Value, 47.772543, 1e-4)
	near("wobble length", b.Figures["wobble_length"].Value, 21.198269, 1e-4)
	// ASTM F2031: .300 is 2957.4222 lbf·in². Known to 2 %.
	near("bending stiffness", b.Figures["bending_stiffness"].Value, 2957.4222, 1e-3)
	near("u of the stiffness", b.Figures["bending_stiffness"].U, 0.02*2957.4222, 0.1)
	// By hand, from the figures beside it: twice the stroke of 29.5 − 6.5 − 1.75 in.
	near("bends on the string", b.Figures["bends_on_string"].Value, *b.Figures["bending_frequency"].Value*2*21.25/12/283.748577, 1e-6)
	// By hand: of 3.000427, 25 % and 10 %, and little from diameter, lengths, air
	// and speed, which move its friction (see the Monte Carlo for those).
	near("u of the drag coefficient", b.Figures["drag_coefficient"].U, 3.000427*math.Hypot(0.25, 0.10), 0.02)
	var yards []float64
	unitsAt := map[string]string{
		"flight_time": "s", "speed": "ft/s", "energy": "ft·lbf", "momentum": "lbf·s", "drop": "in", "sight_mark": "in",
		"range_short": "yd", "range_long": "yd", "wind_drift": "in",
	}
	for _, at := range b.At {
		yards = append(yards, math.Round(*at.Distance*1e9)/1e9)
		for name, symbol := range unitsAt {
			f, there := at.Figures[name]
			if !there || f.Value == nil || f.U == nil || *f.U <= 0 || f.Unit == nil || *f.Unit != symbol || f.Basis != "estimated" || f.Delta != nil || f.DeltaU != nil {
				t.Errorf("%s at %v yd: %+v", name, *at.Distance, f)
			}
		}
		// It is the baseline, on the level: nothing to compare, nothing to hold for.
		if len(at.Figures) != len(unitsAt) || len(at.Absent) != 1 || at.Absent["hold_for"] != "needs a slope: on the level you hold for the distance itself" {
			t.Errorf("at %v yd absent: %v", *at.Distance, at.Absent)
		}
	}
	near("speed at 60 yd in the worked answer", b.At[4].Figures["speed"].Value, 254.952662, 3e-3)
	near("energy at 60 yd by ½ m v²", b.At[4].Figures["energy"].Value, 446.4*254.952662*254.952662/450436.67979, 2e-3)
	if !slices.Equal(yards, []float64{20, 30, 40, 50, 60}) {
		t.Errorf("distances %v", yards)
	}
	// Full precision: what is read is the very number.
	f, _ := sheet.Evaluate(decoded(t, example(t))).Builds[0].Figure(figure.FOC)
	if got := *b.Figures["foc"].Value; got != figure.FOC.Definition().Unit.Of(f.Value) {
		t.Errorf("foc %v lost digits of %v", got, f.Value)
	}
}

func TestAnswerWithoutABow(t *testing.T) {
	a := read(t, sheet.Evaluate(decoded(t, document(`"currency":"EUR"`, 0,
		build("a", 29, `"shaft":{"weight_gr_per_in":9,"price":10},"nock":{"weight_gr":9,"price":1},"head":{"weight_gr":100,"price":2}`)))).Answer())
	if a.Bow.Absent != "needs a chronograph reading or the bow's rated speed" || a.Bow.Energy != nil {
		t.Errorf("bow: %+v", a.Bow)
	}
	if f := a.Builds[0].Figures["dozen_cost"]; f.Unit == nil || *f.Unit != "EUR" || *f.Value != 156 {
		t.Errorf("cost: %+v", f)
	}
	for _, name := range []string{"launch_speed", "launch_energy", "launch_momentum", "energy_share", "weight_per_draw", "drag_coefficient", "mark_spread"} {
		if _, there := a.Builds[0].Figures[name]; there || !strings.HasPrefix(a.Builds[0].Absent[name], "needs ") {
			t.Errorf("%s: there %v, %q", name, there, a.Builds[0].Absent[name])
		}
	}
}

// Differences and comparisons at a distance stand beside the figures there.
func TestAnswerAtADistance(t *testing.T) {
	s := sheet.Evaluate(decoded(t, document(plainBow+","+eyeAndPin+","+scene(`"distances_yd":[60]`), 1,
		build("lighter", 29.5, flightShaft, plainNock, lowVanes, insertOf(20), point),
		build("base", 29.5, flightShaft, plainNock, lowVanes, insertOf(50), point))))
	a := read(t, s.Answer())
	lighter, base := a.Builds[0].At[0].Figures, a.Builds[1].At[0].Figures
	for _, name := range []string{"flight_time", "speed", "energy", "momentum", "drop", "sight_mark", "range_short", "range_long"} {
		f := lighter[name]
		if f.Delta == nil || f.DeltaU == nil || math.Abs(*f.Delta-(*f.Value-*base[name].Value)) > 1e-9*math.Abs(*f.Value) || *f.DeltaU >= *f.U {
			t.Errorf("%s: %+v against %+v", name, f, base[name])
		}
	}
	// What compares already has no difference of its own, and is the difference.
	mark, shift := lighter["sight_mark"], lighter["mark_shift"]
	if shift.Delta != nil || shift.DeltaU != nil || math.Abs(*shift.Value-*mark.Delta) > 1e-9 || math.Abs(*shift.U-*mark.DeltaU) > 1e-9 {
		t.Errorf("mark shift %+v, the marks differ by %v ± %v", shift, *mark.Delta, *mark.DeltaU)
	}
	// A lighter arrow hits high, its pin stands higher.
	if impact := lighter["impact_shift"]; impact.Delta != nil || *impact.Value <= 0 || *shift.Value >= 0 {
		t.Errorf("impact shift %+v, mark shift %v", impact, *shift.Value)
	}
	for _, name := range []string{"mark_shift", "impact_shift"} {
		_, there := base[name]
		if _, why := a.Builds[1].At[0].Absent[name]; there || why {
			t.Errorf("%s on the baseline: there %v, a reason %v", name, there, why)
		}
	}
}

// A rating is no reading: it has no residual.
func TestAnswerFromARating(t *testing.T) {
	a := read(t, sheet.Evaluate(decoded(t, document(rated, 0, build("a", 29, tube, plainNock, point)))).Answer())
	if a.Bow.Readings == nil || len(a.Bow.Readings) != 0 || len(a.Bow.Notes) != 1 {
		t.Errorf("%+v", a.Bow)
	}
}

func TestAnswerDifferences(t *testing.T) {
	a := read(t, sheet.Evaluate(decoded(t, document(plainBow, 1,
		build("lighter", 29, tube, plainNock, point), build("base", 29, tube, plainNock, `"head":{"weight_gr":128,"weight_u_gr":0.3}`)))).Answer())
	f := a.Builds[0].Figures["total_weight"]
	// The heads are separate pieces: 1 gr and 0.3 gr; the rest cancels.
	if f.Delta == nil || math.Abs(*f.Delta+28) > 1e-9 || math.Abs(*f.DeltaU-math.Hypot(1, 0.3)) > 1e-9 {
		t.Errorf("%+v", f)
	}
	// Without the shaft's diameter nothing flies.
	for _, at := range a.Builds[0].At {
		if len(at.Figures) != 0 || at.Absent["drop"] != "needs the shaft's outer diameter" || at.Absent["impact_shift"] != "needs the shaft's outer diameter" {
			t.Errorf("at %v yd: %v, %v", *at.Distance, at.Figures, at.Absent)
		}
	}
	if f := a.Builds[1].Figures["total_weight"]; f.Delta != nil || f.DeltaU != nil {
		t.Errorf("the baseline has a difference: %+v", f)
	}
}

func TestAnswerListsCautions(t *testing.T) {
	a := read(t, sheet.Evaluate(decoded(t, document(`"bow":{"peak_weight_lb":70,"maximum_peak_weight_lb":60,"draw_length_in":29,"minimum_arrow_gr":350}`, 0,
		build("a", 31, tube, plainNock, point)))).Answer())
	if c := a.Builds[0].Cautions; len(c) == 0 || c[0].Code != "over_peak" || c[0].Level != "danger" || c[0].Text == "" {
		t.Errorf("%+v", c)
	}
}

// Whatever a valid job holds, the answer is valid and says every figure once,
// as a value or as the reason why not.
func TestAnswerIsAlwaysValid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := someJob(t)
		s := sheet.Evaluate(j)
		a := read(t, s.Answer())
		if len(a.Builds) != len(j.Builds) {
			t.Fatalf("%d builds of %d", len(a.Builds), len(j.Builds))
		}
		for i, b := range a.Builds {
			if b.Name != j.Builds[i].Name || len(b.At) != len(j.DistancesOrDefault()) {
				t.Fatalf("%q, %d distances", b.Name, len(b.At))
			}
			complete(t, sheet.Keys(), b.Figures, b.Absent, func(k figure.Key) bool { return s.Itself(i, k) })
			for n, at := range b.At {
				if d := float64(j.DistancesOrDefault()[n]) / 0.9144; math.Abs(*at.Distance-d) > 1e-9 {
					t.Fatalf("distance %v, want %v", *at.Distance, d)
				}
				complete(t, sheet.KeysAt(), at.Figures, at.Absent, func(k figure.Key) bool { return s.Itself(i, k) })
			}
		}
	})
}

// complete fails where a figure is neither there nor said to be absent, or where
// one that would compare a build with itself is either.
func complete(t *rapid.T, keys []figure.Key, figures map[string]answerFigure, absent map[string]string, itself func(figure.Key) bool) {
	t.Helper()
	for _, k := range keys {
		f, there := figures[k.String()]
		_, lacks := absent[k.String()]
		if silent := itself(k); silent && (there || lacks) || !silent && there == lacks {
			t.Fatalf("%s: there %v, absent %v", k, there, lacks)
		}
		if there && (f.Value == nil || f.U == nil || f.Unit == nil || (f.Delta == nil) != (f.DeltaU == nil)) {
			t.Fatalf("%s: %+v", k, f)
		}
	}
	if len(figures)+len(absent) > len(keys) {
		t.Fatalf("more than the format has: %v, %v", figures, absent)
	}
}
