package steering_test

import (
	"math"
	"os"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/steering"
	"foreshaft/engine/unit"
)

func in(x float64) unit.Length { return unit.Length(x) * unit.Inch }

// set is a set of fins with where its root begins, behind the tip of the nose.
type set struct {
	fins steering.Fins
	at   unit.Length
}

// The two worked cases of Centuri TIR-33 (1970), after Barrowman & Barrowman
// (1966): the digits that are printed there, and those of the printed equations.
// Places are inches behind the tip of the nose; both bodies have ogive noses and
// do not change their diameter.
func TestPublishedBodies(t *testing.T) {
	for _, c := range []struct {
		name                              string
		nose                              float64
		sets                              []set
		printed, printedAt, slope, center float64
	}{
		{"Javelin", 3.6, []set{{steering.Fins{Count: 4, Radius: in(.375), Root: in(1.6), Tip: in(.85), Span: in(1.65), Sweep: in(.75)}, in(11.2)}},
			35.9, 11.3, 35.9266, 11.2861},
		{"Arcon-Hi", 5.25, []set{
			{steering.Fins{Count: 4, Radius: in(.52), Root: in(1.9), Tip: in(1.05), Span: in(2.2), Sweep: in(.85)}, in(18.1)},
			{steering.Fins{Count: 4, Radius: in(.52), Root: in(2.45), Tip: in(1.25), Span: in(3.45), Sweep: in(.6)}, in(21.55)},
		}, 96.2, 20.8, 96.1629, 20.8032},
	} {
		slope := steering.NoseSlope
		first := slope * steering.NoseStation(part.Ogive, in(c.nose)).In(unit.Inch)
		for _, s := range c.sets {
			slope += s.fins.Slope()
			first += s.fins.Slope() * (s.at + s.fins.Station()).In(unit.Inch)
		}
		if math.Abs(slope-c.printed) > 0.05 || math.Abs(first/slope-c.printedAt) > 0.05 {
			t.Errorf("%s: %.4f at %.4f in, printed %.1f at %.1f", c.name, slope, first/slope, c.printed, c.printedAt)
		}
		if math.Abs(slope-c.slope) > 6e-5 || math.Abs(first/slope-c.center) > 6e-5 {
			t.Errorf("%s: %.4f at %.4f in, want %.4f at %.4f", c.name, slope, first/slope, c.slope, c.center)
		}
	}
}

// Where a nose's force acts: 0.466 of an ogive, two thirds of a cone (Barrowman &
// Barrowman, 1966); half of a blunt one is this project's own choice.
func TestNoses(t *testing.T) {
	for shape, want := range map[part.Shape]float64{part.Ogive: 0.466, "": 0.466, part.Cone: 2. / 3, part.Blunt: 0.5} {
		if got := steering.NoseStation(shape, 1); math.Abs(float64(got)-want) > 1e-15 {
			t.Errorf("%q: %v, want %v", shape, got, want)
		}
	}
}

// A body alone: Galejs's 1.1 (side / cross-section) sin²α/α with the side of a
// cylinder d·l and the cross-section π d²/4, worked on paper for 120 diameters at
// one degree.
func TestBodySlope(t *testing.T) {
	const want = 1.1 * 120 * 4 / math.Pi * 3.04586490e-4 / 1.74532925e-2 // sin² 1° and 1° in radians
	if got := steering.BodySlope(in(.25), in(30)); math.Abs(got/want-1) > 1e-8 {
		t.Errorf("got %.9f, want %.9f", got, want)
	}
}

func example(t *testing.T) *arrow.Build {
	t.Helper()
	data, err := os.ReadFile("../../testdata/jobs/example.json")
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	return &j.Builds[0]
}

// The worked answer, solved independently with a general-purpose program; the
// digits are those it printed. The air is that of 15 °C, 1013.25 hPa, dry (CIPM-2007).
func TestWorkedAnswer(t *testing.T) {
	b := example(t)
	f, err := steering.Of(b)
	if err != nil {
		t.Fatal(err)
	}
	m := b.Moments()
	margin := 100 * float64((m.Balance-f.PressurePoint())/b.Length)
	wobble, ok := f.WobbleLength(m, 1.22552134)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"pressure point, in", f.PressurePoint().In(unit.Inch), 5.312118},
		{"steer margin, %", margin, 47.772543},
		{"wobble length, yd", wobble.In(unit.Yard), 21.198269},
	} {
		if !ok || math.Abs(c.got/c.want-1) > 1e-6 {
			t.Errorf("%s: got %.9g, want %.9g", c.name, c.got, c.want)
		}
	}
}
