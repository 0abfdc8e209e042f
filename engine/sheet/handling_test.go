package sheet_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// several returns the example job with more builds like its first, each changed.
func several(t testing.TB, change ...func(b *arrow.Build)) *job.Job {
	t.Helper()
	j := decoded(t, example(t))
	for i, c := range change {
		b := j.Builds[0].Clone()
		b.Name = string(rune('B' + i))
		c(&b)
		j.Builds = append(j.Builds, b)
	}
	return j
}

func heavier(grains float64) func(b *arrow.Build) {
	return func(b *arrow.Build) { b.Insert.Value.Weight += unit.Mass(grains) * unit.Grain }
}

func value(t testing.TB, s *sheet.Sheet, build int, k figure.Key) figure.Figure {
	t.Helper()
	f, ok := s.Builds[build].Figure(k)
	if !ok {
		t.Fatalf("%s of %s: %s", k, s.Builds[build].Name, s.Builds[build].Absent(k))
	}
	return f
}

// The proven build is the one that the bow names, else the first one marked; a
// mark lapses when peak weight, draw length or bow change.
func TestWhichBuildIsProven(t *testing.T) {
	lb := func(x float64) unit.Optional[unit.Force] { return unit.Some(unit.Force(x) * unit.PoundForce) }
	for name, c := range map[string]struct {
		change func(j *job.Job)
		want   int
		lapsed string // of the second build
	}{
		"none":                  {func(*job.Job) {}, -1, ""},
		"the first marked":      {func(j *job.Job) { j.Builds[1].Proven, j.Builds[2].Proven = true, true }, 1, ""},
		"the one the bow names": {func(j *job.Job) { j.Builds[1].Proven, j.Bow.Value.Proven = true, "C" }, 2, ""},
		"a name nobody has":     {func(j *job.Job) { j.Builds[1].Proven, j.Bow.Value.Proven = true, "Z" }, 1, ""},
		"proven at these settings": {func(j *job.Job) {
			j.Builds[1].Proven = true
			j.Builds[1].Proof = unit.Some(arrow.Proof{Bow: "Test bow", Peak: j.Bow.Value.Peak, Draw: j.Bow.Value.Draw})
		}, 1, ""},
		"at another peak": {func(j *job.Job) {
			j.Builds[1].Proven, j.Builds[1].Proof = true, unit.Some(arrow.Proof{Peak: lb(65)})
		}, -1, "peak weight"},
		"at another draw": {func(j *job.Job) {
			j.Builds[1].Proven, j.Builds[1].Proof = true, unit.Some(arrow.Proof{Draw: unit.Some(28 * unit.Inch)})
		}, -1, "draw length"},
		"on another bow": {func(j *job.Job) {
			j.Builds[1].Proven, j.Builds[1].Proof = true, unit.Some(arrow.Proof{Bow: "Another", Peak: lb(65)})
		}, -1, "peak weight and bow"},
		"another release": {func(j *job.Job) {
			j.Builds[1].Proven, j.Builds[1].Proof = true, unit.Some(arrow.Proof{Kind: "compound", Release: "fingers"})
		}, -1, "release"},
		"another kind of bow": {func(j *job.Job) {
			j.Builds[1].Proven, j.Builds[1].Proof = true, unit.Some(arrow.Proof{Kind: "recurve", Release: "aid"})
		}, -1, "bow"},
		"another one stands in for a lapsed one": {func(j *job.Job) {
			j.Builds[1].Proven, j.Builds[2].Proven, j.Bow.Value.Proven = true, true, "B"
			j.Builds[1].Proof = unit.Some(arrow.Proof{Peak: lb(65)})
		}, 2, "peak weight"},
		"a record without the mark": {func(j *job.Job) { j.Builds[1].Proof = unit.Some(arrow.Proof{Peak: lb(65)}) }, -1, ""},
	} {
		j := several(t, heavier(10), heavier(25))
		c.change(j)
		s := sheet.Evaluate(j)
		if s.Proven != c.want || s.Lapsed(1) != c.lapsed {
			t.Errorf("%s: build %d is the proven one, lapsed %q; want %d, %q", name, s.Proven, s.Lapsed(1), c.want, c.lapsed)
		}
		noted := false
		for _, n := range s.Builds[1].Notes {
			noted = noted || n.Code == sheet.ProofLapsed && n.Level == caution.Note && strings.Contains(n.Text, c.lapsed)
		}
		if noted != (c.lapsed != "") {
			t.Errorf("%s: notes %+v", name, s.Builds[1].Notes)
		}
		for i := range s.Builds {
			if _, ok := s.Builds[i].Figure(figure.MarginVsProven); ok != (c.want >= 0 && i != c.want) {
				t.Errorf("%s: build %d is compared: %v, %s", name, i, ok, s.Builds[i].Absent(figure.MarginVsProven))
			}
		}
	}
}

// A margin against the proven build's is the ratio of both, less one; what the
// model leaves out of all builds cancels, and so do K and the shaft they share.
func TestMarginAgainstTheProvenBuild(t *testing.T) {
	j := several(t, heavier(25), func(b *arrow.Build) { b.Shaft.Spine = unit.Some(0.25 * unit.Inch) })
	j.Builds[0].Proven = true
	s := sheet.Evaluate(j)
	own := value(t, s, 0, figure.LaunchMargin)
	for i := 1; i < 3; i++ {
		f, margin := value(t, s, i, figure.MarginVsProven), value(t, s, i, figure.LaunchMargin)
		if want := margin.Value/own.Value - 1; math.Abs(f.Value-want) > 1e-14 {
			t.Errorf("build %d: %v, want %v", i, f.Value, want)
		}
		// By hand: 3 % of either, and 2 % of either's spine where they are two shafts;
		// weights, lengths and K hardly differ in what they do.
		ratio := margin.Value / own.Value
		want := ratio * math.Sqrt(2*0.03*0.03)
		if i == 2 {
			want = ratio * math.Sqrt(2*0.03*0.03+2*0.02*0.02)
		}
		if math.Abs(f.U/want-1) > 0.1 {
			t.Errorf("build %d: ± %v, want about %v", i, f.U, want)
		}
		if margin.U < 0.15*margin.Value || f.U > 0.07 {
			t.Errorf("build %d: margin %v ± %v, against the proven one ± %v", i, margin.Value, margin.U, f.U)
		}
	}
	if f := value(t, s, 1, figure.MarginVsProven); f.Value >= 0 {
		t.Errorf("25 gr more in front: %v", f.Value)
	}
	if f := value(t, s, 2, figure.MarginVsProven); math.Abs(f.Value-0.2) > 1e-9 {
		t.Errorf("a shaft stiffer by .300/.250 and no heavier: %v", f.Value)
	}
}

// What compares two builds for the effect line judges them against the build that
// is proven on the sheet, which stands third.
func TestAPairIsJudgedAgainstTheProvenBuild(t *testing.T) {
	j := several(t, heavier(0), heavier(60))
	j.Builds[0].Proven = true
	s := sheet.Evaluate(j)
	pair := s.Pair(&j.Builds[1], &j.Builds[2], 60*unit.Yard)
	one, other := value(t, pair, 1, figure.MarginVsProven), value(t, s, 2, figure.MarginVsProven)
	if pair.Proven != 2 || math.Abs(one.Value-other.Value) > 1e-14 || math.Abs(one.U-other.U) > 1e-14 {
		t.Errorf("%v ± %v in the pair, %v ± %v on the sheet", one.Value, one.U, other.Value, other.U)
	}
	// The proven build with another insert is no longer what was shot.
	changed := j.Builds[0].Clone()
	changed.Insert.Value.Weight += 250 * unit.Grain
	weak := false
	for _, c := range s.Pair(&j.Builds[0], &changed, 60*unit.Yard).Builds[1].Cautions {
		weak = weak || c.Code == caution.Weak || c.Code == caution.Folds
	}
	if !weak {
		t.Error("250 gr more in front of the proven build bring no caution")
	}
	if s := sheet.Evaluate(several(t, heavier(5))); s.Pair(&s.Job.Builds[0], &s.Job.Builds[1], 60*unit.Yard).Proven != -1 {
		t.Error("nobody is proven")
	}
}

// What was measured of a proven arrow stands beside what is computed.
func TestMeasuredLessComputed(t *testing.T) {
	j := several(t)
	j.Builds[0].Proven = true
	j.Builds[0].Proof = unit.Some(arrow.Proof{Weight: unit.Some(448 * unit.Grain), Balance: unit.Some(19.5 * unit.Inch), Speed: unit.Some(281 * unit.FootPerSecond), Peak: j.Bow.Value.Peak})
	s := sheet.Evaluate(j)
	want := map[figure.Key]float64{ // from the worked answer
		figure.TotalWeight: 448 - 446.4, figure.BalancePoint: 19.5 - 19.405018, figure.FOC: 100*(19.5-14.75)/29.5 - 15.779722, figure.LaunchSpeed: 281 - 283.748577,
	}
	for k, by := range want {
		got, ok := s.Miss(0, k)
		if !ok || math.Abs(got/k.Definition().Unit.Size-by) > 2e-6 {
			t.Errorf("%s: measured less computed %v, %v; want %v", k, got/k.Definition().Unit.Size, ok, by)
		}
	}
	if _, ok := s.Miss(0, figure.LaunchMargin); ok {
		t.Error("nobody measures a margin")
	}
	a := read(t, s.Answer())
	if p := a.Builds[0].Proof; p == nil || !p.Holds || len(p.Measured) != 4 || math.Abs(*p.Measured["total_weight"].Less-1.6) > 1e-9 || p.Measured["total_weight"].Unit != "gr" {
		t.Errorf("%+v", p)
	}
	// The weight stays what it was, a speed from another setting says nothing.
	j.Bow.Value.Peak.Value += unit.PoundForce
	s = sheet.Evaluate(j)
	if _, ok := s.Miss(0, figure.TotalWeight); !ok {
		t.Error("the weight was measured all the same")
	}
	if _, ok := s.Miss(0, figure.LaunchSpeed); ok {
		t.Error("the bow is set differently now")
	}
	j.Builds[0].Proven = false
	if _, ok := sheet.Evaluate(j).Miss(0, figure.TotalWeight); ok {
		t.Error("it bears no mark any more")
	}
}

// What no caution of the exchange format stands for is a note: an arrow without
// blades that the air turns over, and a mark on a build with a low margin.
func TestNotesOnHandling(t *testing.T) {
	has := func(s *sheet.Sheet, build int, code caution.Code) bool {
		for _, n := range s.Builds[build].Notes {
			if n.Code == code {
				return true
			}
		}
		return false
	}
	j := several(t, func(b *arrow.Build) { b.Vanes = unit.Optional[part.Vanes]{} }, func(b *arrow.Build) { b.Shaft.Spine = unit.Some(0.4 * unit.Inch) })
	s := sheet.Evaluate(j)
	if has(s, 0, "turns over") || !has(s, 1, "turns over") {
		t.Errorf("steer margins %v and %v", value(t, s, 0, figure.SteerMargin).Value, value(t, s, 1, figure.SteerMargin).Value)
	}
	if has(s, 2, "proven by you") {
		t.Error("it bears no mark")
	}
	j.Builds[2].Proven = true
	if s := sheet.Evaluate(j); !has(s, 2, "proven by you") || has(s, 0, "proven by you") {
		t.Errorf("margin %v", value(t, s, 2, figure.LaunchMargin).Value)
	}
	// Two that were shot: neither is called weak or stiff after the other.
	j.Builds[0].Proven, j.Bow.Value.Proven = true, j.Builds[0].Name
	for _, c := range sheet.Evaluate(j).Builds[2].Cautions {
		if c.Code == caution.Weak || c.Code == caution.Stiff {
			t.Errorf("%s: %s", c.Code, c.Text)
		}
	}
}

// A figure that lacks an input says which, and the others stay.
func TestHandlingNamesWhatIsMissing(t *testing.T) {
	spine, rest := "needs the shaft's static spine", "needs a rest ahead of the string"
	stiff := []figure.Key{figure.BendingStiffness, figure.BendingFrequency, figure.LaunchMargin, figure.BendsOnString}
	steer := []figure.Key{figure.PressurePoint, figure.SteerMargin, figure.SteerMoment, figure.HeadShare, figure.WobbleLength}
	for name, c := range map[string]struct {
		change func(j *job.Job, b *arrow.Build)
		want   map[figure.Key]string // of those that are absent
	}{
		"nothing": {func(*job.Job, *arrow.Build) {}, map[figure.Key]string{}},
		"no spine": {func(_ *job.Job, b *arrow.Build) { b.Shaft.Spine.Given = false },
			map[figure.Key]string{figure.BendingStiffness: spine, figure.BendingFrequency: spine, figure.LaunchMargin: spine, figure.BendsOnString: spine}},
		"no draw": {func(j *job.Job, _ *arrow.Build) { j.Bow.Value.Draw.Given = false },
			map[figure.Key]string{figure.LaunchMargin: "needs the bow's draw length", figure.BendsOnString: "needs the bow's draw length", figure.SteerMoment: "needs the bow's draw length, because a speed was taken"}},
		"no peak": {func(j *job.Job, _ *arrow.Build) { j.Bow.Value.Peak.Given = false },
			map[figure.Key]string{figure.LaunchMargin: "needs the bow's peak draw weight", figure.BendsOnString: "needs the bow's peak draw weight, because a speed was taken", figure.SteerMoment: "needs the bow's peak draw weight, because a speed was taken"}},
		"no reading": {func(j *job.Job, _ *arrow.Build) { j.Bow.Value.Readings, j.Bow.Value.Rating.Given = nil, false },
			map[figure.Key]string{figure.LaunchMargin: "needs a chronograph reading", figure.BendsOnString: "needs a chronograph reading", figure.SteerMoment: "needs a chronograph reading"}},
		"no way for the string": {func(j *job.Job, _ *arrow.Build) { j.Bow.Value.Brace = unit.Some(29 * unit.Inch) },
			map[figure.Key]string{figure.BendsOnString: "needs a draw length greater than brace height"}},
		"rest at the string": {func(j *job.Job, _ *arrow.Build) { j.Bow.Value.RestBehindPivot = unit.Some(28 * unit.Inch) },
			map[figure.Key]string{figure.LaunchMargin: rest}},
		"rest beyond the shaft: held at the cut end": {func(j *job.Job, b *arrow.Build) { b.Length = 26 * unit.Inch }, map[figure.Key]string{}},
		"a very short shaft":                         {func(_ *job.Job, b *arrow.Build) { b.Length = 8 * unit.Inch }, map[figure.Key]string{}},
		"a very long shaft":                          {func(_ *job.Job, b *arrow.Build) { b.Length = 60 * unit.Inch }, map[figure.Key]string{}},
		"no tube left": {func(_ *job.Job, b *arrow.Build) { b.Length = 0.4 * unit.Inch },
			all(append(stiff[1:], steer...), "needs a length greater than the nock's throat offset")},
		"no head length":  {func(_ *job.Job, b *arrow.Build) { b.Head.Length.Given = false }, all(steer, "needs the length of the head")},
		"no diameter":     {func(_ *job.Job, b *arrow.Build) { b.Shaft.OuterDiameter.Given = false }, all(steer, "needs the shaft's outer diameter")},
		"no vane height":  {func(_ *job.Job, b *arrow.Build) { b.Vanes.Value.Height.Given = false }, all(steer, "needs the height of the vanes")},
		"no blade length": {func(_ *job.Job, b *arrow.Build) { b.Head.BladeLength.Given = false }, all(steer, "needs the length of the head's blades")},
		"no vanes": {func(_ *job.Job, b *arrow.Build) { b.Vanes = unit.Optional[part.Vanes]{} },
			map[figure.Key]string{figure.HeadShare: "needs vanes", figure.WobbleLength: "needs an arrow that the air turns straight"}},
		"no blades":     {func(_ *job.Job, b *arrow.Build) { b.Head.Blades = 0 }, map[figure.Key]string{figure.HeadShare: "needs blades"}},
		"blades folded": {func(_ *job.Job, b *arrow.Build) { b.Head.Expandable = true }, map[figure.Key]string{figure.HeadShare: "needs blades that stand out in flight"}},
		"a baseline that turns over": {func(j *job.Job, _ *arrow.Build) { j.Builds[0].Vanes = unit.Optional[part.Vanes]{} },
			map[figure.Key]string{figure.SteerMoment: "needs a baseline that the air turns straight"}},
		"a baseline without head length": {func(j *job.Job, _ *arrow.Build) { j.Builds[0].Head.Length.Given = false },
			map[figure.Key]string{figure.SteerMoment: "needs the steering of the baseline, which needs the length of the head"}},
	} {
		j := several(t, func(b *arrow.Build) {
			b.Head = part.Head{Weight: 100 * unit.Grain, Balance: unit.Some(0.5 * unit.Inch), Length: unit.Some(1.2 * unit.Inch),
				Blades: 3, BladeLength: unit.Some(0.8 * unit.Inch), CutWidth: unit.Some(1 * unit.Inch)}
		})
		c.change(j, &j.Builds[1])
		s := sheet.Evaluate(j)
		for _, k := range append(stiff, steer...) {
			_, there := s.Builds[1].Figure(k)
			why, absent := s.Builds[1].Absent(k), c.want[k]
			if there != (absent == "") || !strings.HasPrefix(why, absent) || there && why != "" {
				t.Errorf("%s: %s is there %v: %q, want %q", name, k, there, why, absent)
			}
		}
	}
}

func all(keys []figure.Key, why string) map[figure.Key]string {
	out := map[figure.Key]string{}
	for _, k := range keys {
		out[k] = why
	}
	return out
}

// A bow of K = 90 gr and a plain arrow for it: 100 gr head, 20 gr insert, length a
// little ahead of the rest (invented; K is the prior of a compound, which one
// reading alone does not move).
func chartBow(t testing.TB, peak, draw, spine, perInch float64, change ...func(b *arrow.Build)) *sheet.Sheet {
	t.Helper()
	j := several(t)
	b := &j.Builds[0]
	j.Bow.Value.Peak, j.Bow.Value.Draw = unit.Some(unit.Force(peak)*unit.PoundForce), unit.Some(unit.Length(draw)*unit.Inch)
	for i := range j.Bow.Value.Readings {
		r := &j.Bow.Value.Readings[i]
		r.Conditions.Peak.Given, r.Conditions.Draw.Given = false, false
	}
	b.Length = unit.Length(draw) * unit.Inch
	b.Shaft.Spine, b.Shaft.WeightPerInch = unit.Some(unit.Length(spine)*unit.Inch), unit.Some(unit.LinearDensity(perInch)*unit.GrainPerInch)
	b.Insert.Value.Weight, b.Head.Weight = 20*unit.Grain, 100*unit.Grain
	b.Collar, b.Wrap, b.Extras = unit.Optional[part.Collar]{}, unit.Optional[part.Wrap]{}, nil
	for _, c := range change {
		c(b)
	}
	return sheet.Evaluate(j)
}

// Common practice, no source: builds that shaft makers' charts approve have a
// launch margin of 0.85 to 1.15, with K = 90 gr, a 100 gr head and a 20 gr insert.
func TestChartsLandNearOne(t *testing.T) {
	for _, c := range []struct{ peak, draw, spine, perInch float64 }{
		{70, 29, .300, 9}, {60, 29, .340, 8.5}, {50, 28, .400, 8}, {50, 28, .500, 7}, {80, 29, .250, 10}, {40, 26, .600, 6.5}, {30, 25, .850, 5.5},
	} {
		s := chartBow(t, c.peak, c.draw, c.spine, c.perInch)
		if k := s.Fit.VirtualMass.In(unit.Grain); math.Abs(k-90) > 1e-6 {
			t.Fatalf("K = %v gr", k)
		}
		if m := value(t, s, 0, figure.LaunchMargin).Value; m < 0.85 || m > 1.15 {
			t.Errorf("%v lb, %v in, %.3f: margin %.3f", c.peak, c.draw, c.spine, m)
		}
	}
}

// Common practice, no source: 25 gr more insert on the same shaft asks for the next
// stiffer spine (.300 → .250), and the stiffer shaft with the heavier insert is at
// least as well supported as the first with the lighter one.
func TestMoreInsertAsksForAStifferShaft(t *testing.T) {
	margin := func(spine, insert float64) float64 {
		return value(t, chartBow(t, 70, 29, spine, 9, func(b *arrow.Build) { b.Insert.Value.Weight = unit.Mass(insert) * unit.Grain }), 0, figure.LaunchMargin).Value
	}
	light, heavy, stiffer := margin(.300, 50), margin(.300, 75), margin(.250, 75)
	if !(heavy < light && stiffer >= light) {
		t.Errorf("50 gr %.3f, 75 gr %.3f, 75 gr in the stiffer shaft %.3f", light, heavy, stiffer)
	}
}

// A table of margins over bows from 20 to 80 lb and 23 to 31 in, for one arrow
// weight and a spine by common practice: go test ./engine/sheet -run TableOfMargins -v
// prints it. Over it a harder bow and a longer draw always ask for more.
func TestTableOfMargins(t *testing.T) {
	spines := map[float64]float64{20: 1.0, 30: .85, 40: .6, 50: .45, 60: .35, 70: .3, 80: .25}
	last := map[float64]float64{}
	for draw := 23.; draw <= 31; draw++ {
		row := ""
		for peak := 20.; peak <= 80; peak += 10 {
			s := chartBow(t, peak, draw, spines[peak], 8.5)
			margin := value(t, s, 0, figure.LaunchMargin).Value
			row += fmt.Sprintf(" %.2f", margin)
			if before, ok := last[peak]; ok && margin >= before {
				t.Errorf("%v lb: %.3f at %v in after %.3f at an inch less", peak, margin, draw, before)
			}
			last[peak] = margin
			harder := value(t, chartBow(t, peak+5, draw, spines[peak], 8.5), 0, figure.LaunchMargin).Value
			if harder >= margin {
				t.Errorf("%v in: 5 lb more than %v lb raise it from %.3f to %.3f", draw, peak, margin, harder)
			}
		}
		t.Logf("%v in:%s", draw, row)
	}
}
