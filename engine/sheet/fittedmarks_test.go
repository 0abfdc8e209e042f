package sheet_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// A mark whose reading asks for a lower pin than the fit gives was hit low by the
// fit, on a scale that grows as on one that falls.
func TestAMarkThatIsOffSaysWhereTheFitHits(t *testing.T) {
	for _, u := range []userScale{{0, 1}, {60, -1.5}} {
		j := markedJob(t, plainBow, "", `"distances_yd":[40]`)
		f := calm(j, 0)
		u.shootIn(j, &f, silent, 20, 40, 60)
		// A lower pin is a greater tangent, whichever way the numbers run.
		j.Sight.Value.Marks[1].Reading += unit.Length(u.per*34*0.0004) * unit.Inch
		s := sheet.Evaluate(j)
		if got := s.Marks.Impacts[1]; !(got < 0) || got < -0.0004*40*unit.Yard {
			t.Errorf("%v: where a lower pin hits the middle the fit hits %v m", u, float64(got))
		}
		if s.Marks.Impacts[0] <= 0 || s.Marks.Impacts[2] <= 0 {
			t.Errorf("%v: the marks on either side: %v", u, s.Marks.Impacts)
		}
	}
}

// Marks that contradict each other are known less well than marks that agree.
func TestContradictingMarksAreLessCertain(t *testing.T) {
	u := func(off unit.Length) float64 {
		j := markedJob(t, plainBow, "", `"distances_yd":[45]`)
		f := calm(j, 0)
		userScale{2, 1}.shootIn(j, &f, silent, 20, 40, 60, 80)
		j.Sight.Value.Marks[1].Reading += off
		mark, ok := sheet.Evaluate(j).Builds[0].At[0].Figure(figure.SightMark)
		if !ok {
			t.Fatal("no mark")
		}
		return mark.U
	}
	agree, slightly, grossly := u(0), u(0.1*unit.Inch), u(0.4*unit.Inch)
	if slightly < 2*agree || math.Abs(grossly/slightly-4) > 0.5 {
		t.Errorf("u of a mark is %v where they agree, %v a tenth of an inch off, %v four tenths", agree, slightly, grossly)
	}
}

// Cutting a build a hair shorter does not make the comparison less sure: what the
// drag formula is in error by stays the same.
func TestTheErrorOfDragGoesWithTheOutlineAndNotWithTheCut(t *testing.T) {
	u := func(length float64) float64 {
		j := decoded(t, document(plainBow+","+eyeAndPin+`,"distances_yd":[100]`, 0,
			build("a", 29.5, flightShaft, plainNock, lowVanes, insertOf(50), point, `"length_u_in":0`),
			build("b", length, flightShaft, plainNock, lowVanes, insertOf(51), point, `"length_u_in":0`)))
		f, ok := sheet.Evaluate(j).Builds[1].At[0].Figure(figure.ImpactShift)
		if !ok {
			t.Fatal("no shift")
		}
		return f.U
	}
	if same, cut := u(29.5), u(29.499); math.Abs(cut/same-1) > 0.2 {
		t.Errorf("± %v uncut and ± %v a thousandth shorter", same, cut)
	}
}

// A pair taken from a sheet flies as the sheet's builds do, with what its marks
// said of drag, speed and the eye.
func TestAPairFliesAsTheSheetDoes(t *testing.T) {
	j := markedJob(t, plainBow, "", `"distances_yd":[60,100]`, `"slope_deg":10`)
	f := calm(j, 0)
	f.k *= 1.4
	userScale{2, 1.2}.shootIn(j, &f, silent, 5, 10, 25, 50, 75, 100)
	s := sheet.Evaluate(j)
	if s.Marks.Drag < 1.1 || s.Marks.Eye == j.Sight.Value.PeepAboveNock.Value {
		t.Fatalf("the marks say nothing: %+v", s.Marks)
	}
	for n, d := range j.DistancesOrDefault() {
		for i := 1; i < 3; i++ {
			want, _ := s.Builds[i].At[n].Figure(figure.ImpactShift)
			got, ok := s.Pair(&j.Builds[0], &j.Builds[i], d).Builds[1].At[0].Figure(figure.ImpactShift)
			if !ok || math.Abs(got.Value-want.Value) > 1e-6 {
				t.Errorf("%s at %v: %v in a pair, %v on the sheet", j.Builds[i].Name, d, got.Value, want.Value)
			}
		}
	}
	// The eye that was used is the one that is told.
	eye := fmt.Sprintf("%.2f", s.Marks.Eye.In(unit.Inch))
	if w := s.WorkingAt(0, 0, figure.SightMark); !strings.Contains(strings.Join(w.Numbers, " "), "passes "+strings.TrimRight(eye, "0")) || !strings.Contains(s.Marks.Words(unit.System{}), "peep ") {
		t.Errorf("the eye at %s in is not told: %v", eye, w.Numbers)
	}
}

// Marks are shot in on the level: a slope moves the marks that are asked for.
func TestASlopeMovesMarksThatWereShotIn(t *testing.T) {
	marks := func(slope float64) float64 {
		j := markedJob(t, plainBow, "", `"distances_yd":[60]`)
		f := calm(j, 0)
		userScale{0, 1}.shootIn(j, &f, silent, 20, 60)
		j.Slope = unit.Some(unit.Angle(slope) * unit.Degree)
		s := sheet.Evaluate(j)
		if got := s.LevelMark(0, 60*unit.Yard); math.Abs(float64(got-j.Sight.Value.Marks[1].Reading)) > 1e-9 {
			t.Errorf("on the level the mark is %v, shot in at %v", float64(got), float64(j.Sight.Value.Marks[1].Reading))
		}
		mark, _ := s.Builds[0].At[0].Figure(figure.SightMark)
		return mark.Value
	}
	level, down, up := marks(0), marks(-30), marks(30)
	if down >= level || up >= level {
		t.Errorf("level %v, downhill %v, uphill %v: a slope asks for a higher pin", level, down, up)
	}
}
