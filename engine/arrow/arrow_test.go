package arrow_test

import (
	"math"
	"os"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

func gr(x float64) unit.Mass   { return unit.Mass(x) * unit.Grain }
func in(x float64) unit.Length { return unit.Length(x) * unit.Inch }

// bare is a build of a shaft and weightless ends: 30 in with the nock's throat
// at the very end of the tube.
func bare() arrow.Build {
	b := arrow.Build{Name: "bare", Length: in(30)}
	b.Shaft.WeightPerInch = unit.Some(10 * unit.GrainPerInch)
	b.Nock.Throat, b.Nock.Balance = unit.Some(in(0)), unit.Some(in(0))
	b.Head.Balance = unit.Some(in(0))
	return b
}

// Cases that can be worked out on paper: weights in gr, places in in.
func TestMomentsByHand(t *testing.T) {
	cases := []struct {
		name                                 string
		change                               func(*arrow.Build)
		total, front, balance, inertia, focP float64
	}{
		{"shaft alone: m l²/12", func(*arrow.Build) {}, 300, 0, 15, 300 * 900 / 12, 0},
		{"head at the cut end", func(b *arrow.Build) { b.Head.Weight = gr(100) },
			400, 100, (300*15 + 100*30) / 400.0, 300*(900/12+3.75*3.75) + 100*11.25*11.25, 12.5},
		{"head ahead of its seat", func(b *arrow.Build) { b.Head.Weight, b.Head.Balance = gr(100), unit.Some(in(2)) },
			400, 100, (300*15 + 100*32) / 400.0, 300*(75+4.25*4.25) + 100*12.75*12.75, 100 * 4.25 / 30},
		{"head with its weight inside the tube", func(b *arrow.Build) { b.Head.Weight, b.Head.Balance = gr(100), unit.Some(in(-2)) },
			400, 100, (300*15 + 100*28) / 400.0, 300*(75+3.25*3.25) + 100*9.75*9.75, 100 * 3.25 / 30},
		{"nock at the throat", func(b *arrow.Build) { b.Nock.Weight = gr(100) },
			400, 0, 300 * 15 / 400.0, 300*(75+3.75*3.75) + 100*11.25*11.25, -12.5},
		{"nock takes half an inch off the tube", func(b *arrow.Build) { b.Nock.Throat = unit.Some(in(0.5)) },
			295, 0, 15.25, 295 * 29.5 * 29.5 / 12, 100 * 0.25 / 30},
		{"vanes: every one counts, over their length", func(b *arrow.Build) {
			b.Vanes = unit.Some(part.Vanes{Count: 3, Weight: gr(20), Length: in(3), Rear: in(1.5)})
		}, 360, 0, (300*15 + 60*3) / 360.0, 300*(75+2*2) + 60*(10*10+9.0/12), -100 * 2 / 30.0},
		{"wrap starts at the rear of the tube", func(b *arrow.Build) { b.Wrap = unit.Some(part.Wrap{Weight: gr(60), Length: in(6)}) },
			360, 0, (300*15 + 60*3) / 360.0, 300*(75+2*2) + 60*(10*10+3), -100 * 2 / 30.0},
		{"insert lies inside", func(b *arrow.Build) { b.Insert = unit.Some(part.Insert{Weight: gr(60), Depth: in(6)}) },
			360, 60, (300*15 + 60*27) / 360.0, 300*(75+2*2) + 60*(10*10+3), 100 * 2 / 30.0},
		{"insert stands proud", func(b *arrow.Build) {
			b.Insert = unit.Some(part.Insert{Weight: gr(60), Depth: in(0), Proud: unit.Some(in(2))})
		}, 360, 60, (300*15 + 60*31) / 360.0, 300*(75+8.0/3*8/3) + 60*(40.0/3*40/3+4.0/12), 100 * (8.0 / 3) / 30},
		{"the head sits on the proud insert", func(b *arrow.Build) {
			b.Insert = unit.Some(part.Insert{Depth: in(1), Proud: unit.Some(in(2))})
			b.Head.Weight = gr(100)
		}, 400, 100, (300*15 + 100*32) / 400.0, 300*(75+4.25*4.25) + 100*12.75*12.75, 100 * 4.25 / 30},
		{"collar ends at the cut end", func(b *arrow.Build) { b.Collar = unit.Some(part.Collar{Weight: gr(60), Length: in(6)}) },
			360, 60, (300*15 + 60*27) / 360.0, 300*(75+2*2) + 60*(10*10+3), 100 * 2 / 30.0},
		{"extra in front", func(b *arrow.Build) {
			b.Extras = []part.Extra{{Weight: gr(60), Balance: in(27), Length: unit.Some(in(6))}}
		}, 360, 60, (300*15 + 60*27) / 360.0, 300*(75+2*2) + 60*(10*10+3), 100 * 2 / 30.0},
		{"extra at the rear", func(b *arrow.Build) { b.Extras = []part.Extra{{Weight: gr(60), Balance: in(3)}} },
			360, 0, (300*15 + 60*3) / 360.0, 300*(75+2*2) + 60*10*10, -100 * 2 / 30.0},
		{"weighed tube wins over weight per inch", func(b *arrow.Build) { b.Shaft.TubeWeight = unit.Some(gr(310)) }, 310, 0, 15, 310 * 75, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := bare()
			c.change(&b)
			m := b.Moments()
			same(t, "total weight", m.Total.In(unit.Grain), c.total)
			same(t, "front weight", m.Front.In(unit.Grain), c.front)
			same(t, "balance point", m.Balance.In(unit.Inch), c.balance)
			same(t, "inertia", m.Inertia.In(unit.GrainSquareInch), c.inertia)
			same(t, "FOC", 100*b.FOC(m.Balance), c.focP)
		})
	}
}

func same(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-11*math.Max(1, math.Abs(want)) {
		t.Errorf("%s: got %.15g, want %.15g", what, got, want)
	}
}

// An extra whose centre is at 0.85 of arrow length or beyond is front weight.
// The bound itself counts, at every length, although neither number is exact.
func TestFrontBound(t *testing.T) {
	for tenths := 200; tenths <= 340; tenths++ {
		length := float64(tenths) / 10
		b := bare()
		b.Length = in(length)
		bound := float64(tenths*85) / 1000
		for centre, want := range map[float64]float64{bound: 5, bound + 0.01: 5, bound - 0.01: 0} {
			b.Extras = []part.Extra{{Weight: gr(5), Balance: in(centre)}}
			if got := b.Moments().Front.In(unit.Grain); math.Abs(got-want) > 1e-12 {
				t.Errorf("%.1f in long, extra at %.4f in: front weight %v gr, want %v", length, centre, got, want)
			}
		}
	}
}

// The pieces of the worked answer, solved independently with a general-purpose
// program; the digits are those it printed.
func TestWorkedArrow(t *testing.T) {
	data, err := os.ReadFile("../../testdata/jobs/example.json")
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	b := &j.Builds[0]
	m := b.Moments()
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"total weight, gr", m.Total.In(unit.Grain), 446.4},
		{"front weight, gr", m.Front.In(unit.Grain), 164},
		{"balance point, in", m.Balance.In(unit.Inch), 19.405018},
		{"FOC, %", 100 * b.FOC(m.Balance), 15.779722},
		{"inertia, gr·in²", m.Inertia.In(unit.GrainSquareInch), 49695.884},
	} {
		if math.Abs(c.got/c.want-1) > 1e-6 {
			t.Errorf("%s: got %.9g, want %.9g", c.name, c.got, c.want)
		}
	}
}

func TestRecut(t *testing.T) {
	weighed := func() arrow.Build {
		b := bare()
		b.Nock.Throat = unit.Some(in(0.5))
		b.Shaft.TubeWeight, b.Shaft.TubeWeightU = unit.Some(gr(295)), unit.Some(gr(0.2))
		return b
	}
	t.Run("a weighed tube weighs in proportion", func(t *testing.T) {
		b := weighed()
		if !b.Recut(in(20.5)) {
			t.Error("must say that it scaled the weight")
		}
		same(t, "tube", b.Tube().In(unit.Inch), 20)
		same(t, "weight", b.Shaft.TubeWeight.Value.In(unit.Grain), 200)
		same(t, "its uncertainty", b.Shaft.TubeWeightU.Value.In(unit.Grain), 0.2*20/29.5)
	})
	t.Run("the same length changes nothing", func(t *testing.T) {
		b := weighed()
		if b.Recut(in(30)) || b.Shaft.TubeWeight.Value != gr(295) {
			t.Errorf("%+v", b.Shaft)
		}
	})
	t.Run("weight per inch needs no scaling", func(t *testing.T) {
		b := bare()
		if b.Recut(in(20)) {
			t.Error("nothing was scaled")
		}
		same(t, "weight", b.ShaftWeight().In(unit.Grain), 200)
	})
	t.Run("uncertainty that is not given stays so", func(t *testing.T) {
		b := weighed()
		b.Shaft.TubeWeightU = unit.Optional[unit.Mass]{}
		b.Recut(in(20))
		if b.Shaft.TubeWeightU.Given {
			t.Error("nobody gave one")
		}
	})
	t.Run("no tube left keeps the weight for when there is one again", func(t *testing.T) {
		b := weighed()
		if b.Recut(in(0.3)) || b.Shaft.TubeWeight.Value != gr(295) {
			t.Errorf("%+v", b.Shaft)
		}
		if b.Recut(in(30)); b.Shaft.TubeWeight.Value != gr(295) {
			t.Errorf("%+v", b.Shaft)
		}
	})
}

func TestCloneOwnsItsExtras(t *testing.T) {
	b := bare()
	b.Extras = []part.Extra{{Name: "glue"}}
	c := b.Clone()
	c.Extras[0].Name = "ballast"
	if b.Extras[0].Name != "glue" {
		t.Error("the change reached the original")
	}
}
