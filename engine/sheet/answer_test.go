package sheet_test

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/enginetest"
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
	b := a.Builds[0]
	units := map[string]string{
		"total_weight": "gr", "front_weight": "gr", "balance_point": "in", "foc": "%", "inertia": "gr·in²", "weight_per_draw": "gr/lb",
		"launch_speed": "ft/s", "launch_energy": "ft·lbf", "launch_momentum": "lbf·s", "energy_share": "%",
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
	if len(b.Figures) != len(units) || b.Absent["dozen_cost"] == "" || len(b.Absent) != 1 {
		t.Errorf("figures and absent: %v", b.Absent)
	}
	var yards []float64
	for _, at := range b.At {
		yards = append(yards, math.Round(*at.Distance*1e9)/1e9)
		if at.Figures == nil || at.Absent == nil {
			t.Error("figures and absent stand at each distance")
		}
	}
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
	for _, name := range []string{"launch_speed", "launch_energy", "launch_momentum", "energy_share", "weight_per_draw"} {
		if _, there := a.Builds[0].Figures[name]; there || !strings.HasPrefix(a.Builds[0].Absent[name], "needs ") {
			t.Errorf("%s: there %v, %q", name, there, a.Builds[0].Absent[name])
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
		j := enginetest.Job(t)
		a := read(t, sheet.Evaluate(j).Answer())
		if len(a.Builds) != len(j.Builds) {
			t.Fatalf("%d builds of %d", len(a.Builds), len(j.Builds))
		}
		for i, b := range a.Builds {
			if b.Name != j.Builds[i].Name || len(b.At) != len(j.DistancesOrDefault()) {
				t.Fatalf("%q, %d distances", b.Name, len(b.At))
			}
			for _, k := range sheet.Keys() {
				f, there := b.Figures[k.String()]
				if _, absent := b.Absent[k.String()]; there == absent {
					t.Fatalf("%s: there %v, absent %v", k, there, absent)
				}
				if there && (f.Value == nil || f.U == nil || f.Unit == nil || (f.Delta == nil) != (f.DeltaU == nil)) {
					t.Fatalf("%s: %+v", k, f)
				}
			}
		}
	})
}
