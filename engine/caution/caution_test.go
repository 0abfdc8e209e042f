package caution_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

func gr(x float64) unit.Mass   { return unit.Mass(x) * unit.Grain }
func in(x float64) unit.Length { return unit.Length(x) * unit.Inch }
func lb(x float64) unit.Force  { return unit.Force(x) * unit.PoundForce }

// scene is what the checks look at; a case changes one thing in it.
type scene struct {
	bow     bow.Bow
	build   arrow.Build
	limits  job.Limits
	figures map[figure.Key]figure.Figure
	proven  string
	shot    bool
}

// figure sets a figure in its own unit, with u from an input called "scale".
func (s *scene) figure(k figure.Key, value, u float64) {
	d := k.Definition()
	s.figures[k] = figure.New(k, d.Unit.From(value), figure.Measured, []figure.Share{{Input: 0, Amount: u * d.Unit.Size}})
}

// quiet is a scene with nothing to caution about (invented).
func quiet() *scene {
	s := &scene{figures: map[figure.Key]figure.Figure{}}
	s.bow = bow.Bow{Peak: unit.Some(lb(60)), Draw: unit.Some(in(29)), MinimumArrow: unit.Some(gr(350)), MaximumPeak: unit.Some(lb(70))}
	s.build = arrow.Build{Name: "a", Length: in(30)}
	s.build.Shaft = part.Shaft{WeightPerInch: unit.Some(9 * unit.GrainPerInch), OuterDiameter: unit.Some(in(0.246)), InnerDiameter: unit.Some(in(0.204)), StockLength: unit.Some(in(32))}
	s.build.Nock = part.Nock{Weight: gr(9), FitsInner: unit.Some(in(0.204))}
	s.build.Insert = unit.Some(part.Insert{Weight: gr(50), Depth: in(1), FitsInner: unit.Some(in(0.204)), Thread: "8-32"})
	s.build.Collar = unit.Some(part.Collar{Weight: gr(12), Length: in(0.5), FitsOuter: unit.Some(in(0.246))})
	s.build.Head = part.Head{Weight: gr(100), Thread: "8-32"}
	s.build.Vanes = unit.Some(part.Vanes{Count: 3, Weight: gr(6), Length: in(2), Rear: in(1)})
	s.build.Wrap = unit.Some(part.Wrap{Weight: gr(6), Length: in(4)})
	s.figure(figure.TotalWeight, 450, 0.6)
	s.figure(figure.WeightPerDraw, 7.5, 0.02)
	s.figure(figure.FOC, 13, 0.1)
	s.figure(figure.LaunchSpeed, 270, 2)
	s.figure(figure.LaunchMargin, 1, 0.02)
	s.figure(figure.SteerMargin, 40, 1)
	s.figure(figure.HeadShare, 20, 1)
	return s
}

func (s *scene) check() []caution.Caution {
	j := job.New()
	j.Bow, j.Limits = unit.Some(s.bow), unit.Some(s.limits)
	return caution.Check(caution.Facts{
		Job: j, Build: &s.build, Inputs: []figure.Input{{Name: "scale", Remedy: "weigh it again"}, {Name: "formula", Remedy: "nothing", Model: true}},
		Figure: func(k figure.Key) (figure.Figure, bool) { f, ok := s.figures[k]; return f, ok },
		Absent: func(figure.Key) string { return "needs something" },
		Proven: s.proven, Shot: s.shot,
	})
}

// summary writes cautions as "code level", those that were not made as "code ?".
func summary(list []caution.Caution) string {
	var out []string
	for _, c := range list {
		level := string(c.Level)
		if c.Unchecked {
			level = "?"
		}
		out = append(out, fmt.Sprintf("%s %s", c.Code, level))
	}
	return strings.Join(out, ", ")
}

func TestCautions(t *testing.T) {
	// 29 in of draw put the rest 27.25 in from the throat; length and draw come
	// to 0.104 in, so the unsafe side lies 0.209 in back.
	atRest := func(ahead float64) func(*scene) {
		return func(s *scene) { s.build.Length = in(27.25 + ahead) }
	}
	blades := func(s *scene) { s.build.Head.Blades, s.build.Head.CutWidth = 2, unit.Some(in(1.25)) }
	margin := func(x float64) func(*scene) {
		return func(s *scene) { s.figure(figure.LaunchMargin, x, 0.02) }
	}
	against := func(percent, u float64) func(*scene) {
		return func(s *scene) { s.figure(figure.MarginVsProven, percent, u); s.proven = "Keel" }
	}
	cases := []struct {
		name   string
		change func(*scene)
		want   string
		says   string
	}{
		{"nothing to say", func(*scene) {}, "", ""},

		{"below the maker's minimum", func(s *scene) { s.figure(figure.TotalWeight, 340, 0.6) }, "light_arrow danger", "340.0 ± 0.6 gr is below the bow maker's minimum of 350 gr"},
		{"minimum met on the unsafe side", func(s *scene) { s.figure(figure.TotalWeight, 351.3, 0.6) }, "", ""},
		{"minimum missed on the unsafe side", func(s *scene) { s.figure(figure.TotalWeight, 351.1, 0.6) }, "light_arrow danger, rough note", "may be below the bow maker's minimum"},
		{"no minimum known", func(s *scene) { s.bow.MinimumArrow = unit.Optional[unit.Mass]{} }, "light_arrow ?", "not checked: the bow maker's minimum arrow weight; needs the minimum that the bow's maker gives"},
		{"no weight known", func(s *scene) { delete(s.figures, figure.TotalWeight) }, "light_arrow ?", "needs the weight of the build"},

		{"compound just under 5 gr/lb", func(s *scene) { s.figure(figure.WeightPerDraw, 4.95, 0.02) }, "light_arrow danger", "is below 5 gr/lb for a compound (common practice)"},
		{"compound just over 5, unsafe side under", func(s *scene) { s.figure(figure.WeightPerDraw, 5.03, 0.02) }, "light_arrow danger, rough note", "may be below 5 gr/lb"},
		{"compound just over 5", func(s *scene) { s.figure(figure.WeightPerDraw, 5.05, 0.02) }, "light_arrow warn", "is below 5.5 gr/lb"},
		{"compound just over 5.5, unsafe side under", func(s *scene) { s.figure(figure.WeightPerDraw, 5.53, 0.02) }, "light_arrow warn, rough note", "may be below 5.5 gr/lb"},
		{"compound just over 5.5", func(s *scene) { s.figure(figure.WeightPerDraw, 5.55, 0.02) }, "", ""},
		{"recurve under 5", func(s *scene) {
			s.bow.Kind, s.bow.Release = bow.Recurve, bow.Aid
			s.figure(figure.WeightPerDraw, 4.9, 0.02)
		}, "light_arrow danger", "for a recurve"},
		{"recurve under 6.5", func(s *scene) {
			s.bow.Kind, s.bow.Release = bow.Recurve, bow.Aid
			s.figure(figure.WeightPerDraw, 6.4, 0.02)
		}, "light_arrow warn", "below 6.5 gr/lb"},
		{"recurve over 6.5", func(s *scene) {
			s.bow.Kind, s.bow.Release = bow.Recurve, bow.Aid
			s.figure(figure.WeightPerDraw, 6.55, 0.02)
		}, "", ""},
		{"longbow under 7", func(s *scene) {
			s.bow.Kind, s.bow.Release = bow.Longbow, bow.Aid
			s.figure(figure.WeightPerDraw, 6.9, 0.02)
		}, "light_arrow danger", "below 7 gr/lb for a longbow"},
		{"longbow under 9", func(s *scene) {
			s.bow.Kind, s.bow.Release = bow.Longbow, bow.Aid
			s.figure(figure.WeightPerDraw, 8.9, 0.02)
		}, "light_arrow warn", "below 9 gr/lb"},
		{"longbow over 9", func(s *scene) {
			s.bow.Kind, s.bow.Release = bow.Longbow, bow.Aid
			s.figure(figure.WeightPerDraw, 9.05, 0.02)
		}, "", ""},
		{"grains per pound stand beside a minimum that is met", func(s *scene) { s.bow.MinimumArrow = unit.Some(gr(200)); s.figure(figure.WeightPerDraw, 4, 0.02) }, "light_arrow danger", "below 5 gr/lb"},
		{"one light_arrow is enough", func(s *scene) { s.figure(figure.TotalWeight, 300, 0.6); s.figure(figure.WeightPerDraw, 4, 0.02) }, "light_arrow danger", "maker's minimum of 350 gr"},
		{"no peak known", func(s *scene) { s.bow.Peak = unit.Optional[unit.Force]{}; delete(s.figures, figure.WeightPerDraw) }, "light_arrow ?, over_peak ?", "needs the bow's peak draw weight"},

		{"at the maximum peak", func(s *scene) { s.bow.Peak = unit.Some(lb(70)) }, "", ""},
		{"above the maximum peak", func(s *scene) { s.bow.Peak = unit.Some(lb(70.1)) }, "over_peak danger", "Peak weight 70.1 lb is above the bow's maximum of 70 lb"},
		{"no maximum known", func(s *scene) { s.bow.MaximumPeak = unit.Optional[unit.Force]{} }, "over_peak ?", "needs the maximum peak weight that the bow's maker gives"},

		{"an inch ahead and the unsafe side too", atRest(1.22), "", ""},
		{"an inch ahead, unsafe side less", atRest(1.2), "short_arrow warn, rough note", "1.20 ± 0.10 in ahead of the rest at full draw and may be less than 1 in ahead"},
		{"less than an inch ahead", atRest(0.7), "short_arrow warn", "0.70 ± 0.10 in ahead of the rest"},
		{"an inch ahead or not", atRest(0.9), "short_arrow warn, rough note", "0.90 ± 0.10 in ahead of the rest"},
		{"ahead and the unsafe side too", atRest(0.22), "short_arrow warn", "Growing archers need 2 in"},
		{"ahead, unsafe side behind", atRest(0.2), "short_arrow danger, rough note", "may drop off the rest"},
		{"behind the rest", atRest(-0.5), "short_arrow danger", "0.50 ± 0.10 in behind the rest"},
		{"rest behind the pivot leaves more arrow ahead", func(s *scene) { s.build.Length, s.bow.RestBehindPivot = in(27.75), unit.Some(in(1)) }, "", ""},
		{"draw not known", func(s *scene) { s.bow.Draw = unit.Optional[unit.Length]{} }, "short_arrow ?", "needs the bow's draw length"},
		{"draw not known, with blades", func(s *scene) { blades(s); s.bow.Draw = unit.Optional[unit.Length]{} }, "broadhead warn, short_arrow ?, blade_reach ?", "whether the blades reach the hand"},

		{"blades well ahead", blades, "broadhead warn", "never toward anyone"},
		{"blades just over an inch ahead", func(s *scene) { blades(s); atRest(1.22)(s) }, "broadhead warn", ""},
		{"blades less than an inch ahead", func(s *scene) { blades(s); atRest(0.99)(s) }, "blade_reach danger, short_arrow warn, broadhead warn, rough note", "the blades may reach the hand or the riser"},

		{"expandable under 50 lb", func(s *scene) { s.build.Head.Expandable, s.bow.Peak = true, unit.Some(lb(49.9)) }, "expandable note", "below 50 lb"},
		{"expandable at 50 lb", func(s *scene) { s.build.Head.Expandable, s.bow.Peak = true, unit.Some(lb(50)) }, "", ""},
		{"lighted nock", func(s *scene) { s.build.Nock.Lighted = true }, "lighted note", "electronics are not allowed everywhere"},

		{"FOC a little low", func(s *scene) { s.figure(figure.FOC, 6.7, 0.1) }, "foc_out note", "outside the usual 7 to 20 %"},
		{"FOC a little low, could be in", func(s *scene) { s.figure(figure.FOC, 6.9, 0.1) }, "foc_out note, rough note", "so close to 7 % that this could turn out either way: FOC outside usual"},
		{"FOC in, could be low", func(s *scene) { s.figure(figure.FOC, 7.1, 0.1) }, "rough note", "it would help most to weigh it again."},
		{"FOC at the low end", func(s *scene) { s.figure(figure.FOC, 7.3, 0.1) }, "", ""},
		{"FOC at the high end", func(s *scene) { s.figure(figure.FOC, 19.7, 0.1) }, "", ""},
		{"FOC a little high", func(s *scene) { s.figure(figure.FOC, 20.3, 0.1) }, "foc_out note", ""},
		{"FOC not there", func(s *scene) { delete(s.figures, figure.FOC) }, "", ""},

		{"far too weak", margin(0.69), "folds danger, rough note", "A shaft that breaks at launch injures"},
		{"far too weak beyond doubt", margin(0.6), "folds danger", "badly underspined"},
		{"too weak, perhaps far too weak", margin(0.71), "weak warn, rough note", "so close to 0.7 that"},
		{"weak", margin(0.78), "weak warn", "One step of spine is worth about 0.15"},
		{"weak, perhaps not", margin(0.84), "weak warn, rough note", "Have a fitter check it"},
		{"not weak, perhaps weak", margin(0.86), "rough note", "weigh it again, and the shaft maker's chart and a fitter decide."},
		{"stiff", margin(1.36), "stiff note", "in itself no hazard"},
		{"stiff from 45 lb and 27 in on", func(s *scene) { margin(1.36)(s); s.bow.Peak, s.bow.Draw = unit.Some(lb(45)), unit.Some(in(27)) }, "stiff note", ""},
		{"stiff on a light bow is no stiffness", func(s *scene) { margin(1.36)(s); s.bow.Peak = unit.Some(lb(44)) }, "", ""},
		{"stiff at a short draw is none either", func(s *scene) { margin(1.36)(s); s.bow.Draw = unit.Some(in(26.9)) }, "", ""},
		{"no margin", func(s *scene) { delete(s.figures, figure.LaunchMargin) }, "folds ?", "not checked: whether the shaft is far too weak for the bow; needs something"},
		{"fingers push the string aside: only a proven build tells", func(s *scene) { margin(0.78)(s); s.bow.Release = bow.Fingers }, "weak ?", "needs a build that is proven on this bow"},
		{"but a shaft that folds folds", func(s *scene) { margin(0.6)(s); s.bow.Release = bow.Fingers }, "folds danger", ""},
		{"weaker than the proven one", against(-12, 0.5), "weak warn", "Launch margin is −12.0 ± 0.5 % against Keel, which is proven"},
		{"a little weaker than it", against(-8, 0.5), "", ""},
		{"a little weaker, perhaps more", against(-9.5, 0.5), "rough note", "so close to −10 % that"},
		{"stiffer than the proven one", against(34, 0.5), "stiff note", "more than 30 % stiffer"},
		{"just stiffer than it", against(31.5, 0.5), "stiff note", ""},
		{"a little less, perhaps more", against(29.5, 0.5), "rough note", "so close to 30 % that this could turn out either way: stiff shaft"},
		{"then only that", func(s *scene) { against(-2, 0.5)(s); margin(0.78)(s) }, "", ""},
		{"a proven one with a low margin is proven", func(s *scene) { margin(0.78)(s); s.proven, s.shot = "Keel", true }, "", ""},
		{"one that was shot is not called weak after another", func(s *scene) { against(-20, 0.5)(s); s.shot = true }, "", ""},
		{"fingers, weaker than the proven one", func(s *scene) { against(-12, 0.5)(s); s.bow.Release = bow.Fingers }, "weak warn", ""},
		{"an error of the model settles nothing", func(s *scene) {
			s.figures[figure.LaunchMargin] = figure.New(figure.LaunchMargin, 0.95, figure.Estimated, []figure.Share{{Input: 0, Amount: 0.01}, {Input: 1, Amount: 0.15}})
		}, "", ""},

		{"turns over", func(s *scene) { blades(s); s.figure(figure.SteerMargin, -3, 1) }, "unstable danger, broadhead warn", "turns over in flight"},
		{"turns over at nothing", func(s *scene) { blades(s); s.figure(figure.SteerMargin, 0, 0) }, "unstable danger, broadhead warn", ""},
		{"turns over with its blades folded", func(s *scene) { blades(s); s.build.Head.Expandable = true; s.figure(figure.SteerMargin, -3, 1) }, "unstable danger, broadhead warn", ""},
		{"turns over, perhaps", func(s *scene) { blades(s); s.figure(figure.SteerMargin, 1, 1) }, "broadhead warn, rough note", "only shooting it tells"},
		{"without blades it is no hazard", func(s *scene) { s.figure(figure.SteerMargin, -3, 1) }, "", ""},
		{"not known whether it turns over", func(s *scene) { blades(s); delete(s.figures, figure.SteerMargin) }, "broadhead warn, unstable ?", "whether the arrow turns over in flight; needs something"},
		{"no vanes at all", func(s *scene) { blades(s); s.figure(figure.SteerMargin, -9, 1); s.build.Vanes.Given = false }, "unstable danger, broadhead warn", "Do not shoot it: fit vanes."},
		{"may plane", func(s *scene) { blades(s); s.figure(figure.HeadShare, 55, 1) }, "plane warn, broadhead warn", "undo 55.0 ± 1.0 % of the vanes"},
		{"may plane, perhaps", func(s *scene) { blades(s); s.figure(figure.HeadShare, 49, 1) }, "broadhead warn, rough note", "so close to 50 % that this could turn out either way: head may plane"},
		{"does not plane", func(s *scene) { blades(s); s.figure(figure.HeadShare, 45, 1) }, "broadhead warn", ""},

		{"dangers come first, what was not checked last", func(s *scene) {
			blades(s)
			atRest(-1)(s)
			s.build.Nock.Lighted = true
			s.bow.MaximumPeak = unit.Optional[unit.Force]{}
			s.figure(figure.FOC, 25, 0.1)
			s.figure(figure.TotalWeight, 300, 1)
		}, "light_arrow danger, short_arrow danger, blade_reach danger, broadhead warn, lighted note, foc_out note, over_peak ?", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := quiet()
			c.change(s)
			expect(t, s.check(), c.want, c.says)
		})
	}
}

func expect(t *testing.T, list []caution.Caution, want, says string) {
	t.Helper()
	if got := summary(list); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if says != "" && !slices.ContainsFunc(list, func(c caution.Caution) bool { return strings.Contains(c.Text, says) }) {
		t.Errorf("none says %q: %+v", says, list)
	}
	for _, c := range list {
		if strings.TrimSpace(c.Text) != c.Text || !strings.HasSuffix(c.Text, ".") || strings.Contains(c.Text, "%!") || strings.Contains(c.Text, "NaN") {
			t.Errorf("not a sentence: %q", c.Text)
		}
		if c.Unchecked && !strings.HasPrefix(c.Text, "not checked: ") {
			t.Errorf("must say that it was not checked: %q", c.Text)
		}
	}
}

func TestLimits(t *testing.T) {
	cases := []struct {
		name   string
		change func(*scene)
		want   string
		says   string
	}{
		{"no limit is broken by nothing", func(s *scene) { s.limits = job.Limits{} }, "", ""},
		{"speed below", func(s *scene) { s.limits.MaxSpeed = 275 * unit.FootPerSecond }, "", ""},
		{"speed above", func(s *scene) { s.limits.MaxSpeed = 265 * unit.FootPerSecond }, "over_limit warn", "speed 270 ± 2 ft/s is above the 265 ft/s on your rules sheet"},
		{"speed within its uncertainty", func(s *scene) { s.limits.MaxSpeed = 273 * unit.FootPerSecond }, "rough note", "so close to 273 ft/s that this could turn out either way: over limit"},
		{"speed not known", func(s *scene) { s.limits.MaxSpeed = 280 * unit.FootPerSecond; delete(s.figures, figure.LaunchSpeed) }, "over_limit ?", "the limit of 280 ft/s on your rules sheet; needs the figure speed"},
		{"weight above", func(s *scene) { s.limits.MinWeight = gr(440) }, "", ""},
		{"weight below", func(s *scene) { s.limits.MinWeight = gr(460) }, "over_limit warn", "total weight 450.0 ± 0.6 gr is below the 460 gr"},
		{"weight per lb above", func(s *scene) { s.limits.MinWeightPerDraw = 7 * unit.GrainPerPound }, "", ""},
		{"weight per lb below", func(s *scene) { s.limits.MinWeightPerDraw = 8 * unit.GrainPerPound }, "over_limit warn", "is below the 8 gr/lb"},
		// World Archery rules: shaft at most 9.3 mm.
		{"diameter at 9.3 mm", func(s *scene) {
			s.limits.MaxDiameter = 9.3 * unit.Millimetre
			s.build.Shaft.OuterDiameter, s.build.Collar = unit.Some(9.3*unit.Millimetre), unit.Optional[part.Collar]{}
		}, "", ""},
		{"diameter above 9.3 mm", func(s *scene) {
			s.limits.MaxDiameter = 9.3 * unit.Millimetre
			s.build.Shaft.OuterDiameter, s.build.Collar = unit.Some(9.4*unit.Millimetre), unit.Optional[part.Collar]{}
		}, "over_limit warn", "Shaft diameter 9.4 mm is above the 9.3 mm"},
		{"diameter not known", func(s *scene) {
			s.limits.MaxDiameter = 9.3 * unit.Millimetre
			s.build.Shaft.OuterDiameter = unit.Optional[unit.Length]{}
		}, "over_limit ?", "needs the shaft's outer diameter"},
		{"cut width met", func(s *scene) {
			s.limits.MinCutWidth, s.build.Head.Blades, s.build.Head.CutWidth = in(1.125), 2, unit.Some(in(1.125))
		}, "broadhead warn", ""},
		{"cut width missed", func(s *scene) {
			s.limits.MinCutWidth, s.build.Head.Blades, s.build.Head.CutWidth = in(1.125), 2, unit.Some(in(1))
		}, "over_limit warn, broadhead warn", "Cut width 1 in is below the 1.125 in"},
		{"cut width not known", func(s *scene) { s.limits.MinCutWidth, s.build.Head.Blades = in(1.125), 2 }, "broadhead warn, over_limit ?", "needs the head's cut width"},
		{"cut width of a field point", func(s *scene) { s.limits.MinCutWidth = in(1.125) }, "", ""},
		{"peak enough", func(s *scene) { s.limits.MinPeak = lb(60) }, "", ""},
		{"peak too low", func(s *scene) { s.limits.MinPeak = lb(60.5) }, "over_limit warn", "Peak weight 60 lb is below the 60.5 lb"},
		{"peak not too high", func(s *scene) { s.limits.MaxPeak = lb(60) }, "", ""},
		{"peak too high", func(s *scene) { s.limits.MaxPeak = lb(59) }, "over_limit warn", "Peak weight 60 lb is above the 59 lb"},
		{"peak not known", func(s *scene) {
			s.limits.MinPeak, s.bow.Peak = lb(40), unit.Optional[unit.Force]{}
		}, "over_peak ?, over_limit ?", "the limit of 40 lb on your rules sheet; needs the bow's peak draw weight"},
		{"electronics not allowed", func(s *scene) { s.limits.Electronics = unit.Some(false) }, "", ""},
		{"electronics not allowed and there", func(s *scene) { s.limits.Electronics, s.build.Nock.Lighted = unit.Some(false), true }, "over_limit warn, lighted note", "electronics are not allowed on your rules sheet"},
		{"electronics allowed and there", func(s *scene) { s.limits.Electronics, s.build.Nock.Lighted = unit.Some(true), true }, "lighted note", ""},
		{"several at once", func(s *scene) { s.limits.MaxSpeed, s.limits.MinWeight = 200*unit.FootPerSecond, gr(600) }, "over_limit warn, over_limit warn", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := quiet()
			c.change(s)
			expect(t, s.check(), c.want, c.says)
		})
	}
}

func TestMisfits(t *testing.T) {
	cases := []struct {
		name   string
		change func(*arrow.Build)
		says   []string
	}{
		{"everything fits", func(*arrow.Build) {}, nil},
		{"insert a little off on paper", func(b *arrow.Build) { b.Insert.Value.FitsInner = unit.Some(in(0.2064)) }, nil},
		{"insert too thick", func(b *arrow.Build) { b.Insert.Value.FitsInner = unit.Some(in(0.207)) }, []string{"insert is made for a 0.207 in bore and the shaft has 0.204 in"}},
		{"insert too thin", func(b *arrow.Build) { b.Insert.Value.FitsInner = unit.Some(in(0.166)) }, []string{"insert is made for a 0.166 in bore"}},
		{"insert that does not say", func(b *arrow.Build) { b.Insert.Value.FitsInner = unit.Optional[unit.Length]{} }, nil},
		{"shaft that does not say", func(b *arrow.Build) { b.Shaft.InnerDiameter = unit.Optional[unit.Length]{} }, nil},
		{"nock for another shaft", func(b *arrow.Build) { b.Nock.FitsInner = unit.Some(in(0.246)) }, []string{"nock is made for a 0.246 in bore", "dry fire"}},
		{"collar for another shaft", func(b *arrow.Build) { b.Collar.Value.FitsOuter = unit.Some(in(0.3)) }, []string{"collar is made for a 0.300 in shaft and this one has 0.246 in"}},
		{"threads that differ", func(b *arrow.Build) { b.Head.Thread = "6-40" }, []string{"The head's thread is 6-40 and the insert's is 8-32"}},
		{"thread that is not said", func(b *arrow.Build) { b.Head.Thread = "" }, nil},
		{"no insert to screw into", func(b *arrow.Build) { b.Insert = unit.Optional[part.Insert]{}; b.Head.Thread = "6-40" }, nil},
		{"longer than the stock", func(b *arrow.Build) { b.Length = in(32.6) }, []string{"needs 32.1 in of tube and the shaft comes 32 in long"}},
		{"as long as the stock", func(b *arrow.Build) { b.Length = in(32.4) }, nil},
		{"insert longer than the shaft", func(b *arrow.Build) { b.Insert.Value.Depth = in(30) }, []string{"insert takes 30 in and the tube is only 29.5 in long"}},
		{"collar longer than the shaft", func(b *arrow.Build) { b.Collar.Value.Length = in(30) }, []string{"collar takes 30 in"}},
		{"wrap longer than the shaft", func(b *arrow.Build) { b.Wrap.Value.Length = in(30) }, []string{"wrap takes 30 in"}},
		{"vanes past the cut end", func(b *arrow.Build) { b.Vanes.Value.Rear = in(28.5) }, []string{"vanes reach 30.5 in from the throat, past the cut end"}},
		{"length below the throat", func(b *arrow.Build) { b.Length = in(0.4) }, []string{"leaves no tube ahead of the nock: make it longer than 0.5 in"}},
		{"two at once", func(b *arrow.Build) { b.Head.Thread = "6-40"; b.Insert.Value.Depth = in(31) }, []string{"thread", "insert takes 31 in"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := quiet()
			c.change(&s.build)
			var got []string
			for _, clash := range caution.Misfits(&s.build, unit.System{}) {
				got = append(got, clash.Text)
				if len(clash.Pieces) == 0 {
					t.Errorf("%q is about no piece", clash.Text)
				}
			}
			all := strings.Join(got, "\n")
			for _, says := range c.says {
				if !strings.Contains(all, says) {
					t.Errorf("does not say %q: %q", says, got)
				}
			}
			if len(c.says) == 0 && len(got) > 0 {
				t.Errorf("says %q", got)
			}
			// Each sentence is a caution of its own.
			found := 0
			for _, one := range s.check() {
				if one.Code == caution.Misfit {
					found++
					if one.Level != caution.Warn || !slices.Contains(got, one.Text) {
						t.Errorf("%+v", one)
					}
				}
			}
			if found != len(got) {
				t.Errorf("%d cautions for %d sentences", found, len(got))
			}
		})
	}
}
