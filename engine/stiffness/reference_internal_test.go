package stiffness

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// reference is one arrow of testdata/stiffness/reference.json.
type reference struct {
	Name      string          `json:"name"`
	Critical  float64         `json:"critical_m_s2"`
	Frequency float64         `json:"frequency_hz"`
	Margin    float64         `json:"margin"`
	Job       json.RawMessage `json:"job"`
	Shape     []struct {
		X float64 `json:"x_in"`
		W float64 `json:"w"`
	} `json:"shape"`
}

func references(t testing.TB) []reference {
	t.Helper()
	data, err := os.ReadFile("../../testdata/stiffness/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Cases []reference }
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Cases) < 6 {
		t.Fatal("cases are missing")
	}
	return file.Cases
}

func (r *reference) decode(t testing.TB) (*arrow.Build, unit.Length) {
	t.Helper()
	j, err := job.Decode(r.Job)
	if err != nil {
		t.Fatal(err)
	}
	rest, known := j.Bow.Value.Rest()
	if !known {
		t.Fatal("no draw length")
	}
	return &j.Builds[0], rest
}

// Whole arrows against an independent solution of the same equations by shooting
// (scipy's DOP853; testdata/stiffness/reference.py says how it was made): at the
// engine's own count of elements within 0.1 %, and at 64 to six digits.
func TestReferenceArrows(t *testing.T) {
	for _, r := range references(t) {
		t.Run(r.Name, func(t *testing.T) {
			b, rest := r.decode(t)
			for n, tolerance := range map[int]float64{elements: 1e-3, 64: 2e-6} {
				c, err := newColumn(b, rest, n)
				if err != nil {
					t.Fatal(err)
				}
				f, err := newBending(b, n)
				if err != nil {
					t.Fatal(err)
				}
				if math.Abs(c.Critical/r.Critical-1) > tolerance {
					t.Errorf("%d elements: critical %.9g m/s², by shooting %.9g", n, c.Critical, r.Critical)
				}
				if math.Abs(f.Frequency/r.Frequency-1) > tolerance {
					t.Errorf("%d elements: %.9g Hz, by shooting %.9g", n, f.Frequency, r.Frequency)
				}
			}
			// The shape too, against the most it bends anywhere on the arrow.
			c, _ := newColumn(b, rest, 64)
			most := 0.0
			for i := range 4001 {
				most = max(most, math.Abs(c.Bent(b.Length*unit.Length(i)/4000)))
			}
			for _, s := range r.Shape {
				if got := c.Bent(unit.Length(s.X)*unit.Inch) / most; math.Abs(got-s.W) > 1e-5 {
					t.Errorf("bends %.7f at %.3f in, by shooting %.7f", got, s.X, s.W)
				}
			}
		})
	}
}
