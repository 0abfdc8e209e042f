package dozen_test

import (
	"math"
	"slices"
	"testing"

	"foreshaft/engine/dozen"
)

// NIST/SEMATECH e-Handbook of Statistical Methods, 7.1.6 "What are outliers in the data?":
// 90 readings with quartiles 429.75 and 742.25, inner fences −39 and 1211, one of them
// outside. Recalled from memory; the figures agree with each other.
func TestFencesAgreeWithTheHandbook(t *testing.T) {
	readings := []float64{
		30, 171, 184, 201, 212, 250, 265, 270, 272, 289, 305, 306, 322, 322, 336, 346, 351, 370, 390, 404, 409, 411, 436, 437, 439, 441, 444, 448, 451, 453,
		470, 480, 482, 487, 494, 495, 499, 503, 514, 521, 522, 527, 548, 550, 559, 560, 570, 572, 574, 578, 585, 592, 592, 607, 616, 618, 621, 629, 637, 638,
		640, 656, 668, 707, 709, 719, 737, 739, 752, 758, 766, 792, 792, 794, 802, 818, 830, 832, 843, 858, 860, 869, 918, 925, 953, 991, 1000, 1005, 1068, 1441,
	}
	if len(readings) != 90 {
		t.Fatalf("%d readings", len(readings))
	}
	s := dozen.Of(readings, 1)
	if s.Lower != 429.75 || s.Upper != 742.25 || s.Below != -39 || s.Beyond != 1211 {
		t.Errorf("quartiles %g and %g, fences %g and %g", s.Lower, s.Upper, s.Below, s.Beyond)
	}
	if !slices.Equal(s.Outliers, []int{89}) {
		t.Errorf("outliers %v, want the last reading", s.Outliers)
	}
	// The order in which pieces were weighed does not matter, but for their places.
	slices.Reverse(readings)
	if r := dozen.Of(readings, 1); !slices.Equal(r.Outliers, []int{0}) || r.Lower != s.Lower || math.Abs(r.Mean-s.Mean) > 1e-9 {
		t.Errorf("read backwards: %+v", r)
	}
}

func TestASpreadByHand(t *testing.T) {
	s := dozen.Of([]float64{2, 4, 4, 4, 5, 5, 7, 9}, 1) // squares of 3, 1, 1, 1, 0, 0, 2, 4 are 32
	if s.Mean != 5 || math.Abs(s.Deviation-math.Sqrt(32.0/7)) > 1e-12 || s.Least != 2 || s.Most != 9 {
		t.Errorf("%+v", s)
	}
}

func TestWhatAScaleCannotTellIsNoOutlier(t *testing.T) {
	alike := []float64{300, 300, 300, 300.1, 300, 300, 300, 300}
	if s := dozen.Of(alike, 0.1); len(s.Outliers) > 0 {
		t.Errorf("one step of the scale is an outlier: %+v", s)
	}
	alike[3] = 300.2
	if s := dozen.Of(alike, 0.1); !slices.Equal(s.Outliers, []int{3}) {
		t.Errorf("two steps are none: %+v", s)
	}
	if s := dozen.Of(alike, 0.2); len(s.Outliers) > 0 {
		t.Errorf("on a scale of twice that step it is: %+v", s)
	}
	if s := dozen.Of([]float64{1, 1, 1, 1, 1, 1, 90}, 0.1); len(s.Outliers) > 0 || !math.IsNaN(s.Lower) {
		t.Errorf("seven readings have outliers: %+v", s)
	}
	if s := dozen.Of(nil, 0.1); s.Count != 0 || !math.IsNaN(s.Mean) {
		t.Errorf("no reading: %+v", s)
	}
	if s := dozen.Of([]float64{7}, 0.1); s.Mean != 7 || s.Least != 7 || !math.IsNaN(s.Deviation) {
		t.Errorf("one reading: %+v", s)
	}
}

func TestStepIsWhatReadingsWereRoundedTo(t *testing.T) {
	const gram = 15.4323583529 // grains
	for _, c := range []struct {
		readings []float64
		want     float64
	}{
		{[]float64{301, 299, 300}, 1},
		{[]float64{301.2, 299, 300}, 0.1},
		{[]float64{301.25, 299, 300}, 0.01},
		{[]float64{19.52 * gram, 19.4 * gram, 20 * gram}, 0.01 * gram},
		{[]float64{math.Pi, math.E}, 0},
	} {
		if got := dozen.Step(c.readings, 1, gram); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%v: %g, want %g", c.readings, got, c.want)
		}
	}
}
