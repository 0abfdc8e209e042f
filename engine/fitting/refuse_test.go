package fitting_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/fitting"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/search"
	"foreshaft/engine/unit"
)

// plain is a counter where everything goes well (invented): a compound of 60 lb with
// two readings and a drawer of a few parts.
func plain(t testing.TB) (*job.Job, []part.Part, fitting.Answers) {
	t.Helper()
	j, err := job.DecodeBench([]byte(`{"format":"foreshaft-job/1","bow":{"peak_weight_lb":60,"draw_length_in":28.5,"minimum_arrow_gr":300,"maximum_peak_weight_lb":60,
		"readings":[{"arrow_gr":380,"speed_fps":281,"sd_fps":1},{"arrow_gr":520,"speed_fps":245,"sd_fps":1}]},"sight":{"peep_above_nock_in":4.5},"currency":"EUR","builds":[]}`))
	if err != nil {
		t.Fatal(err)
	}
	var parts []part.Part
	trade := func(price float64) part.Trade { return part.Trade{Price: unit.Some(price), Stock: unit.Some(12.)} }
	for _, s := range spines[1:7] {
		parts = append(parts, part.Part{Kind: part.KindShaft, Shaft: unit.Some(part.Shaft{WeightPerInch: unit.Some(unit.LinearDensity(s.perInch) * unit.GrainPerInch), Spine: some(s.spine),
			OuterDiameter: some(0.26), InnerDiameter: some(0.204), StockLength: some(32), Trade: trade(8)})})
	}
	for _, lighted := range []bool{false, true} {
		parts = append(parts, part.Part{Kind: part.KindNock, Nock: unit.Some(part.Nock{Weight: gr(9), Lighted: lighted, Trade: trade(1)})})
	}
	parts = append(parts, part.Part{Kind: part.KindVanes, Vanes: unit.Some(part.Vanes{Count: 3, Weight: gr(7), Length: in(2.5), Height: some(0.5), Rear: in(1), Trade: trade(0.5)})})
	for _, weight := range []float64{15, 50, 75, 100} {
		parts = append(parts, part.Part{Kind: part.KindInsert, Insert: unit.Some(part.Insert{Weight: gr(weight), Depth: in(1), FitsInner: some(0.204), Thread: "8-32", Trade: trade(2)})})
	}
	for _, weight := range []float64{85, 100, 125, 150} {
		parts = append(parts, part.Part{Kind: part.KindHead, Head: unit.Some(part.Head{Weight: gr(weight), Length: some(1), Thread: "8-32", Trade: trade(1)})})
		parts = append(parts, part.Part{Kind: part.KindHead, Head: unit.Some(part.Head{Weight: gr(weight), Length: some(1.6), Shape: part.Cone, Blades: 3, BladeLength: some(1), CutWidth: some(1.05), Thread: "8-32", Trade: trade(12)})})
	}
	return j, parts, fitting.Answers{Purpose: fitting.DefaultPurposes()[0], InStock: true}
}

// each changes the parts of one kind.
func each(parts []part.Part, kind part.Kind, change func(p *part.Part)) {
	for i := range parts {
		if parts[i].Kind == kind {
			change(&parts[i])
		}
	}
}

func TestRefusalsSayWhatIsMissing(t *testing.T) {
	drop := func(parts *[]part.Part, kind part.Kind) {
		*parts = slices.DeleteFunc(*parts, func(p part.Part) bool { return p.Kind == kind })
	}
	cases := []struct {
		name   string
		change func(j *job.Job, parts *[]part.Part, a *fitting.Answers)
		says   []string
	}{
		{"no bow", func(j *job.Job, _ *[]part.Part, _ *fitting.Answers) { j.Bow = unit.Optional[bow.Bow]{} }, []string{"draw length is missing", "enter it with the bow"}},
		{"no draw", func(j *job.Job, _ *[]part.Part, _ *fitting.Answers) { j.Bow.Value.Draw.Given = false }, []string{"draw length is missing"}},
		{"no peak weight", func(j *job.Job, _ *[]part.Part, _ *fitting.Answers) { j.Bow.Value.Peak.Given = false }, []string{"peak draw weight is missing"}},
		{"set too high", func(j *job.Job, _ *[]part.Part, _ *fitting.Answers) { j.Bow.Value.Peak.Value = lb(61) }, []string{"61 lb, above its maximum of 60 lb", "back it off"}},
		{"empty drawer", func(_ *job.Job, parts *[]part.Part, _ *fitting.Answers) { *parts = nil }, []string{"no shaft in stock", "add one"}},
		{"no vanes", func(_ *job.Job, parts *[]part.Part, _ *fitting.Answers) { drop(parts, part.KindVanes) }, []string{"no set of vanes"}},
		{"two vanes of three left", func(_ *job.Job, parts *[]part.Part, _ *fitting.Answers) {
			each(*parts, part.KindVanes, func(p *part.Part) { p.Vanes.Value.Stock = unit.Some(2.) })
		}, []string{"no set of vanes in stock"}},
		{"nothing in stock", func(_ *job.Job, parts *[]part.Part, _ *fitting.Answers) {
			each(*parts, part.KindNock, func(p *part.Part) { p.Nock.Value.Stock = unit.Some(0.) })
		}, []string{"no plain nock in stock"}},
		{"inserts sold out", func(_ *job.Job, parts *[]part.Part, _ *fitting.Answers) {
			each(*parts, part.KindInsert, func(p *part.Part) { p.Insert.Value.Stock = unit.Some(0.) })
		}, []string{"no insert in stock"}},
		{"all retired", func(_ *job.Job, parts *[]part.Part, a *fitting.Answers) {
			a.InStock = false
			each(*parts, part.KindShaft, func(p *part.Part) { p.Retired = true })
		}, []string{"no shaft in the drawer"}},
		{"no such head", func(_ *job.Job, _ *[]part.Part, a *fitting.Answers) { a.Head = fitting.Expandable }, []string{"no expandable in stock"}},
		{"no spine", func(_ *job.Job, parts *[]part.Part, _ *fitting.Answers) {
			each(*parts, part.KindShaft, func(p *part.Part) { p.Shaft.Value.Spine.Given = false })
		}, []string{"no shaft in stock says both its spine and its weight"}},
		{"short shafts", func(_ *job.Job, parts *[]part.Part, _ *fitting.Answers) {
			each(*parts, part.KindShaft, func(p *part.Part) { p.Shaft.Value.StockLength = some(27) })
		}, []string{"no shaft is long enough", "27.5 in long", "comes at 27 in"}},
		{"budget of nothing", func(_ *job.Job, _ *[]part.Part, a *fitting.Answers) { a.Budget = 20 }, []string{"20.00 EUR or less", "cheapest that is no danger comes to 162.00 EUR", "Raise the budget"}},
		{"no prices", func(_ *job.Job, parts *[]part.Part, a *fitting.Answers) {
			a.Budget = 200
			each(*parts, part.KindHead, func(p *part.Part) { p.Head.Value.Price.Given = false })
		}, []string{"no field point in stock has a price"}},
		{"lighted and not allowed", func(j *job.Job, _ *[]part.Part, a *fitting.Answers) {
			a.Lighted, j.Limits = true, unit.Some(job.Limits{Electronics: unit.Some(false)})
		}, []string{"your rules sheet allows no electronics"}},
		{"purpose too light", func(_ *job.Job, _ *[]part.Part, a *fitting.Answers) {
			a.Purpose.MinPerDraw, a.Purpose.MaxPerDraw = 2*unit.GrainPerPound, 5.25*unit.GrainPerPound
		}, []string{"the least weight per draw that these parts make without danger is", "target ends at 5.25 gr/lb: widen its range to"}},
		{"purpose too heavy", func(_ *job.Job, _ *[]part.Part, a *fitting.Answers) {
			a.Purpose.MinPerDraw, a.Purpose.MaxPerDraw = 15*unit.GrainPerPound, 20*unit.GrainPerPound
		}, []string{"the greatest weight per draw", "begins at 15 gr/lb: widen its range to"}},
		{"purpose of another balance", func(_ *job.Job, _ *[]part.Part, a *fitting.Answers) { a.Purpose.MinFOC, a.Purpose.MaxFOC = 0.30, 0.35 }, []string{"the greatest FOC", "begins at 30 %"}},
		{"nothing fits", func(_ *job.Job, parts *[]part.Part, _ *fitting.Answers) {
			each(*parts, part.KindInsert, func(p *part.Part) { p.Insert.Value.FitsInner = some(0.3) })
		}, []string{"nothing of these parts goes together"}},
		{"all too light", func(j *job.Job, _ *[]part.Part, _ *fitting.Answers) { j.Bow.Value.MinimumArrow = unit.Some(gr(900)) }, []string{"without danger", "below the bow maker's minimum of 900 gr"}},
		{"blades of no known width", func(_ *job.Job, parts *[]part.Part, a *fitting.Answers) {
			a.Head = fitting.FixedBroadhead
			each(*parts, part.KindHead, func(p *part.Part) { p.Head.Value.CutWidth.Given = false })
		}, []string{"turns over in flight or could not be checked", "give vanes and heads all their sizes"}},
		{"blades too large for the vanes", func(_ *job.Job, parts *[]part.Part, a *fitting.Answers) {
			a.Head = fitting.FixedBroadhead
			each(*parts, part.KindVanes, func(p *part.Part) { p.Vanes.Value.Height = some(0.1) })
		}, []string{"without danger on this bow", "turns over in flight"}},
		{"draw in doubt by feet", func(j *job.Job, _ *[]part.Part, _ *fitting.Answers) { j.Bow.Value.DrawU = unit.Some(in(30)) }, []string{"to clear the rest", "how well it is known"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			j, parts, a := plain(t)
			c.change(j, &parts, &a)
			p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
			if err == nil {
				t.Fatalf("proposes %d builds", len(p.Offers))
			}
			for _, says := range c.says {
				if !strings.Contains(err.Error(), says) {
					t.Errorf("does not say %q: %v", says, err)
				}
			}
		})
	}
}

// Where the parts allow nothing without a warning there are builds with as little of
// one as can be, and a note that says which.
func TestWarningsThatCannotBeAvoidedAreNamed(t *testing.T) {
	cases := []struct {
		name   string
		change func(j *job.Job, parts *[]part.Part, a *fitting.Answers)
		says   string
	}{
		{"shafts too thick for the rules sheet", func(j *job.Job, _ *[]part.Part, _ *fitting.Answers) {
			j.Limits = unit.Some(job.Limits{MaxDiameter: 5 * unit.Millimetre})
		}, "Shaft diameter 6.604 mm is above the 5 mm on your rules sheet"},
		{"heads too narrow for the rules sheet", func(j *job.Job, _ *[]part.Part, a *fitting.Answers) {
			j.Limits, a.Head = unit.Some(job.Limits{MinCutWidth: in(1.2)}), fitting.FixedBroadhead
		}, "Cut width 1.05 in is below the 1.2 in"},
		{"too fast for the rules sheet", func(j *job.Job, _ *[]part.Part, _ *fitting.Answers) {
			j.Limits = unit.Some(job.Limits{MaxSpeed: fps(150)})
		}, "is above the 150 ft/s on your rules sheet"},
		{"a bow beyond the rules sheet", func(j *job.Job, _ *[]part.Part, _ *fitting.Answers) {
			j.Limits = unit.Some(job.Limits{MaxPeak: lb(50)})
		}, "Light, Middle and Heavy: Peak weight 60 lb is above the 50 lb"},
		{"small vanes", func(_ *job.Job, parts *[]part.Part, a *fitting.Answers) {
			a.Head = fitting.FixedBroadhead
			each(*parts, part.KindVanes, func(p *part.Part) { p.Vanes.Value.Height = some(0.35) })
		}, "of the vanes' steering: the head may plane"},
		{"weak shafts", func(_ *job.Job, parts *[]part.Part, _ *fitting.Answers) {
			each(*parts, part.KindShaft, func(p *part.Part) { p.Shaft.Value.Spine = some(0.5) })
		}, "the shaft may be too weak for this bow"},
		{"nothing to screw into", func(_ *job.Job, parts *[]part.Part, a *fitting.Answers) {
			*parts = slices.DeleteFunc(*parts, func(p part.Part) bool { return p.Kind == part.KindInsert })
			a.Purpose.MinFOC, a.Purpose.MaxFOC = 0, 0.2
			a.Purpose.MinPerDraw = 5 * unit.GrainPerPound
		}, "there is no insert to take it"},
		{"a longbow and a light purpose", func(j *job.Job, _ *[]part.Part, a *fitting.Answers) {
			j.Bow.Value.Kind, j.Bow.Value.Release = bow.Longbow, bow.Aid
			a.Purpose.MaxPerDraw = 8.9 * unit.GrainPerPound
		}, "is below 9 gr/lb for a longbow"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			j, parts, a := plain(t)
			c.change(j, &parts, &a)
			p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
			if err != nil {
				t.Fatal(err)
			}
			check(t, j, parts, a, unit.System{}, p)
			if text := strings.Join(p.Notes, "\n"); !strings.Contains(text, "With these parts there is no way around this warning for ") || !strings.Contains(text, c.says) {
				t.Errorf("does not say %q: %s", c.says, text)
			}
		})
	}
}

// What a refusal says to widen is enough.
func TestWideningAsToldHelps(t *testing.T) {
	j, parts, a := plain(t)
	a.Purpose.MinPerDraw, a.Purpose.MaxPerDraw = 2*unit.GrainPerPound, 5.25*unit.GrainPerPound
	_, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
	if err == nil {
		t.Fatal("proposes something")
	}
	_, after, _ := strings.Cut(err.Error(), "widen its range to ")
	number, _, _ := strings.Cut(after, " ")
	field := record.Only(&a.Purpose, "max_weight_per_draw")
	if err := field.SetText(number); err != nil {
		t.Fatal(err)
	}
	if _, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil); err != nil {
		t.Errorf("widened to %s: %v", number, err)
	}
}

func TestAnswersOutOfBoundsAreNamed(t *testing.T) {
	for place, change := range map[string]func(a *fitting.Answers){
		"favour":                      func(a *fitting.Answers) { a.Favour = "speed" },
		"head":                        func(a *fitting.Answers) { a.Head = "bolt" },
		"budget":                      func(a *fitting.Answers) { a.Budget = -1 },
		"purpose.name":                func(a *fitting.Answers) { a.Purpose.Name = "" },
		"purpose.max_weight_per_draw": func(a *fitting.Answers) { a.Purpose.MaxPerDraw = 1 * unit.GrainPerPound },
		"purpose.max_foc_pct":         func(a *fitting.Answers) { a.Purpose.MaxFOC = 0.01 },
	} {
		j, parts, a := plain(t)
		change(&a)
		_, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
		var refusal *record.Error
		if !errors.As(err, &refusal) || refusal.Path != place {
			t.Errorf("%s: %v", place, err)
		}
	}
}

func TestCancelEndsIt(t *testing.T) {
	j, parts, a := plain(t)
	ctx, cancel := context.WithCancel(context.Background())
	looks := 0
	_, err := fitting.Propose(ctx, j, parts, a, unit.System{}, func(p search.Progress) {
		if looks++; looks == 3 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) || looks > 20 {
		t.Errorf("after %d reports: %v", looks, err)
	}
}

// The job that is asked about stays as it is.
func TestTheJobIsLeftAlone(t *testing.T) {
	j, parts, a := plain(t)
	before := string(j.Encode())
	if _, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil); err != nil {
		t.Fatal(err)
	}
	if after := string(j.Encode()); after != before {
		t.Errorf("changed from\n%s\nto\n%s", before, after)
	}
}

func TestWithoutASpeedWeightsAreTold(t *testing.T) {
	j, parts, a := plain(t)
	j.Bow.Value.Readings = nil
	p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	check(t, j, parts, a, unit.System{}, p)
	if len(p.Offers) != 3 || !strings.Contains(p.Notes[0], "There is no speed: the bow needs a chronograph reading") {
		t.Errorf("%d builds, %q", len(p.Offers), p.Notes)
	}
	for i, o := range p.Offers {
		if strings.Contains(o.Says, "ft/s") || i != 1 && !strings.Contains(o.Says, "gr ") {
			t.Errorf("says %q", o.Says)
		}
	}
	// The margins that stood in are those of a bow with the usual virtual mass: with
	// a rating, which leaves the virtual mass as it is, the shafts stay.
	j.Bow.Value.Rating = unit.Some(bow.Rating{Speed: fps(310), Arrow: gr(350)})
	rated, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
	if err != nil || rated.Offers[1].Shaft != p.Offers[1].Shaft {
		t.Errorf("with a rating: %v", err)
	}
}

func TestFavourMovesTheWeights(t *testing.T) {
	j, parts, a := plain(t)
	middle := map[fitting.Favour]unit.Mass{}
	for _, favour := range []fitting.Favour{fitting.Forgiving, fitting.Even, fitting.Weight} {
		a.Favour = favour
		p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
		if err != nil || len(p.Offers) != 3 {
			t.Fatalf("%s: %v", favour, err)
		}
		middle[favour] = p.Offers[1].Moments().Total
	}
	if !(middle[fitting.Forgiving] < middle[fitting.Even] && middle[fitting.Even] < middle[fitting.Weight]) {
		t.Errorf("middle weights %v", middle)
	}
}

// Names do not collide with those on the bench, nor with that of a proven build that
// is elsewhere: a proposal would pass for it.
func TestNamesAreFree(t *testing.T) {
	j, parts, a := plain(t)
	j.Bow.Value.Proven = "Middle"
	p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	j.Builds = []arrow.Build{p.Offers[0].Build}
	p, err = fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, o := range p.Offers {
		names = append(names, o.Name)
	}
	if want := []string{"Light 2", "Middle 2", "Heavy"}; !slices.Equal(names, want) {
		t.Errorf("named %q, want %q", names, want)
	}
}

// Against a proven build the margin to aim at is that build's.
func TestAProvenBuildIsTheYardstick(t *testing.T) {
	j, parts, a := plain(t)
	proven, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	// The middle one on the stiffest shaft there is, shot and found good.
	stiff := proven.Offers[1].Build
	stiff.Name, stiff.Proven = "mine", true
	stiff.Shaft = parts[0].Shaft.Value
	j.Builds = []arrow.Build{stiff}
	p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	check(t, j, parts, a, unit.System{}, p)
	before, after := beside(j, proven, unit.System{}), beside(j, p, unit.System{})
	for i := range after {
		if was, is := number(t, &before[i], figure.MarginVsProven), number(t, &after[i], figure.MarginVsProven); is < -10 || is > 30 || math.Abs(is) >= math.Abs(was) {
			t.Errorf("%s: %.1f %% against the proven build, without it %.1f %%", after[i].Name, is, was)
		}
	}
}

// Sentences are told in the units that were chosen, and in no others.
func TestSentencesFollowTheUnits(t *testing.T) {
	j, parts, a := plain(t)
	p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{Grams: true, Metric: unit.InCentimetres, PerSec: true, Metres: true, InNewton: true}, nil)
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Join(p.Notes, " ")
	for _, o := range p.Offers {
		text += " " + o.Says
		for _, word := range []string{" g", " m/s", " cm", "54.9 m", "N·s"} {
			if !strings.Contains(o.Says, word) {
				t.Errorf("no %q in %q", word, o.Says)
			}
		}
	}
	for _, word := range []string{" gr ", "ft/s", "0 in ", " yd", "lbf"} {
		if strings.Contains(text, word) {
			t.Errorf("%q in %q", word, text)
		}
	}
}

// So are refusals.
func TestRefusalsFollowTheUnits(t *testing.T) {
	j, parts, a := plain(t)
	j.Bow.Value.MinimumArrow = unit.Some(gr(900))
	_, err := fitting.Propose(context.Background(), j, parts, a, unit.System{Grams: true}, nil)
	if err == nil || !strings.Contains(err.Error(), "minimum of 58.32 g.") || strings.Contains(err.Error(), " gr") {
		t.Errorf("refused with %v", err)
	}
}

// Who still grows gets an inch more.
func TestGrowingArchersGetAnInchMore(t *testing.T) {
	j, parts, a := plain(t)
	shortest := func() unit.Length {
		p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return slices.MinFunc(p.Offers, func(x, y fitting.Offer) int { return int((x.Length - y.Length) / in(0.25)) }).Length
	}
	each(parts, part.KindShaft, func(p *part.Part) { p.Shaft.Value.StockLength = some(28.75) }) // one length is possible
	grown := shortest()
	each(parts, part.KindShaft, func(p *part.Part) { p.Shaft.Value.StockLength = some(29) })
	a.Growing = true
	if growing := shortest(); (growing - grown).In(unit.Inch) < 0.9 {
		t.Errorf("growing %.4g in, grown %.4g in", growing.In(unit.Inch), grown.In(unit.Inch))
	}
}

// For a release with the fingers a low margin is no warning: what charts would call
// weak fills up what is missing, and a note says so.
func TestFingersMayHaveALowMargin(t *testing.T) {
	for release, want := range map[bow.Release]int{bow.Aid: 2, bow.Fingers: 3} {
		j, parts, a := plain(t)
		j.Bow.Value.Release = release
		each(parts, part.KindShaft, func(p *part.Part) { p.Shaft.Value.Spine = some(0.43) })
		p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		check(t, j, parts, a, unit.System{}, p)
		if said := strings.Contains(strings.Join(p.Notes, "\n"), "have a fitter look at the shaft"); len(p.Offers) != want || said != (release == bow.Fingers) {
			t.Errorf("%s: %d builds, want %d: %q", release, len(p.Offers), want, p.Notes)
		}
	}
}

// Of parts that differ in price alone the cheaper ones are taken.
func TestTheCheaperOfEqualsIsTaken(t *testing.T) {
	j, parts, a := plain(t)
	var all []part.Part
	for _, p := range parts {
		dear := p
		for _, t := range []*part.Trade{&dear.Shaft.Value.Trade, &dear.Nock.Value.Trade, &dear.Vanes.Value.Trade, &dear.Insert.Value.Trade, &dear.Head.Value.Trade} {
			t.Price.Value += 5
		}
		all = append(all, dear, p)
	}
	p, err := fitting.Propose(context.Background(), j, all, a, unit.System{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range p.Offers {
		if o.Shaft.Price.Value != 8 || o.Nock.Price.Value != 1 || o.Vanes.Value.Price.Value != 0.5 || o.Insert.Value.Price.Value != 2 || o.Head.Price.Value != 1 {
			t.Errorf("%s takes a dear part", o.Name)
		}
	}
}
