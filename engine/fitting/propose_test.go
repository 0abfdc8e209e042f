package fitting_test

import (
	"context"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/fitting"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// beside evaluates proposals as the bench would show them: behind the job's own
// builds.
func beside(j *job.Job, p *fitting.Proposal, units unit.System) []sheet.Build {
	all := j.Clone()
	for _, o := range p.Offers {
		all.Builds = append(all.Builds, o.Build)
	}
	return sheet.EvaluateIn(all, units).Builds[len(j.Builds):]
}

func number(t *testing.T, b *sheet.Build, k figure.Key) float64 {
	t.Helper()
	f, ok := b.Figure(k)
	if !ok {
		t.Fatalf("%s has no %s: %s", b.Name, k, b.Absent(k))
	}
	return k.Definition().Unit.Of(f.Value)
}

// check holds a proposal against what is promised, by what package sheet computes of
// it and by the parts themselves.
func check(t *testing.T, j *job.Job, parts []part.Part, a fitting.Answers, units unit.System, p *fitting.Proposal) {
	t.Helper()
	notes := strings.Join(p.Notes, "\n")
	builds := beside(j, p, units)
	if n := len(builds); n < 1 || n > 3 {
		t.Fatalf("%d builds", n)
	} else if n < 3 && !strings.Contains(notes, "Only ") {
		t.Errorf("%d builds and no word about it: %q", n, p.Notes)
	}
	if !strings.Contains(notes, "a qualified fitter come first") {
		t.Errorf("defers to nobody: %q", p.Notes)
	}
	taken := map[string]bool{j.Bow.Value.Proven: true, "": true}
	for i := range j.Builds {
		taken[j.Builds[i].Name] = true
	}
	rest, _ := j.Bow.Value.Rest()
	for i := range builds {
		b, o := &builds[i], &p.Offers[i]
		for _, c := range b.Cautions {
			if c.Level == caution.Danger {
				t.Errorf("%s is a danger: %s", b.Name, c.Text)
			}
			if c.Level == caution.Warn && c.Code != caution.Broadhead && !strings.Contains(notes, c.Text) {
				t.Errorf("%s carries a warning that no note tells: %s", b.Name, c.Text)
			}
			if c.Unchecked && (c.Code == caution.Unstable || c.Code == caution.Folds && j.Bow.Value.Readings != nil) {
				t.Errorf("%s is proposed unseen: %s", b.Name, c.Text)
			}
		}
		if taken[o.Name] {
			t.Errorf("the name %q is taken", o.Name)
		}
		taken[o.Name] = true
		if !strings.HasPrefix(o.Says, o.Name+", ") || !strings.HasSuffix(o.Says, ".") || strings.Contains(o.Says, "  ") {
			t.Errorf("says %q", o.Says)
		}
		fromDrawer(t, &o.Build, parts, a)
		least, most := a.Purpose.MinPerDraw.In(unit.GrainPerPound), a.Purpose.MaxPerDraw.In(unit.GrainPerPound)
		if v := number(t, b, figure.WeightPerDraw); v < least-1e-6 || v > most+1e-6 {
			t.Errorf("%s has %g gr/lb, asked for %g to %g", b.Name, v, least, most)
		}
		if v := number(t, b, figure.FOC); v < 100*float64(a.Purpose.MinFOC)-1e-6 || v > 100*float64(a.Purpose.MaxFOC)+1e-6 {
			t.Errorf("%s has FOC %g %%, asked for %g to %g", b.Name, v, 100*a.Purpose.MinFOC, 100*a.Purpose.MaxFOC)
		}
		if a.Budget > 0 {
			if v := number(t, b, figure.DozenCost); v > a.Budget+1e-6 {
				t.Errorf("%s costs %g, budget %g", b.Name, v, a.Budget)
			}
		}
		ahead := 1.0
		if a.Growing {
			ahead = 2
		}
		quarters := o.Length.In(unit.Inch) * 4
		if gap := (o.Length - rest).In(unit.Inch); gap < ahead || math.Abs(quarters-math.Round(quarters)) > 1e-9 {
			t.Errorf("%s: length %g in is %g in ahead of the rest", b.Name, o.Length.In(unit.Inch), gap)
		}
		for k := range i {
			gap := number(t, b, figure.TotalWeight) - number(t, &builds[k], figure.TotalWeight)
			slow, here := builds[k].Figure(figure.LaunchSpeed)
			fast, there := b.Figure(figure.LaunchSpeed)
			if gap < 40-1e-5 && !(here && there && slow.Value-fast.Value >= float64(fps(10-1e-5))) {
				t.Errorf("%s and %s are only %g gr apart", builds[k].Name, b.Name, gap)
			}
		}
	}
}

// fromDrawer checks that every piece is one of the parts, of the sort asked for, and
// there.
func fromDrawer(t *testing.T, b *arrow.Build, parts []part.Part, a fitting.Answers) {
	t.Helper()
	there := func(kind part.Kind, same func(p *part.Part) bool) {
		t.Helper()
		for _, p := range parts {
			if p.Kind != kind || p.Retired {
				continue
			}
			p = p.Weighed()
			p.Shaft.Value.TubeWeight = unit.Optional[unit.Mass]{}
			stock, count := p.Trade().Stock, 1.0
			if kind == part.KindVanes {
				count = float64(p.Vanes.Value.Count)
			}
			if same(&p) && (!a.InStock || !stock.Given || stock.Value >= count) {
				return
			}
		}
		t.Errorf("the %s of %s is not in the drawer or not in stock", kind, b.Name)
	}
	there(part.KindShaft, func(p *part.Part) bool { return p.Shaft.Value == b.Shaft })
	there(part.KindNock, func(p *part.Part) bool { return p.Nock.Value == b.Nock })
	there(part.KindHead, func(p *part.Part) bool { return p.Head.Value == b.Head })
	there(part.KindVanes, func(p *part.Part) bool { return p.Vanes == b.Vanes })
	if b.Insert.Given || slices.ContainsFunc(parts, func(p part.Part) bool { return p.Kind == part.KindInsert }) {
		there(part.KindInsert, func(p *part.Part) bool { return p.Insert == b.Insert })
	}
	if b.Collar.Given {
		there(part.KindCollar, func(p *part.Part) bool { return p.Collar == b.Collar })
	}
	h := &b.Head
	fits := map[fitting.Sort]bool{"": h.Blades == 0, fitting.FieldPoint: h.Blades == 0, fitting.FixedBroadhead: h.Blades > 0 && !h.Expandable, fitting.Expandable: h.Expandable}
	if !fits[a.Head] || b.Nock.Lighted != a.Lighted {
		t.Errorf("%s has the head %s and lighted %v; asked for %q and %v", b.Name, h.Name, b.Nock.Lighted, a.Head, a.Lighted)
	}
}

// sightIn gives a job three known marks, shot with its baseline and a little off what
// its sheet says.
func sightIn(t *testing.T, j *job.Job) {
	t.Helper()
	j.Sight = unit.Some(job.Sight{PeepAboveNock: some(4.5), PeepToPin: some(34)})
	j.Distances = []unit.Length{20 * unit.Yard, 35 * unit.Yard, 50 * unit.Yard}
	s := sheet.Evaluate(j)
	for i, d := range j.Distances {
		mark, ok := s.Builds[j.Baseline].At[i].Figure(figure.SightMark)
		if !ok {
			t.Fatalf("no mark: %s", s.Builds[j.Baseline].At[i].Absent(figure.SightMark))
		}
		j.Sight.Value.Marks = append(j.Sight.Value.Marks, job.Mark{Distance: d, Reading: unit.Length(mark.Value) * 1.02})
	}
}

// Random bows, answers and drawers: what is proposed keeps its promises, and enough
// is proposed. That a shop with every spine has three weights for most bows is common
// practice.
func TestProposalsKeepTheirPromises(t *testing.T) {
	cases := 200
	if testing.Short() {
		cases = 40
	}
	var common, three, refused, fewer, again int
	for n := range cases {
		r := seeded(uint64(n))
		j, parts, a := r.job(), r.shop(), r.answers()
		p, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil)
		b := &j.Bow.Value
		// One that a shop sees every day: no child's bow, no rules sheet, no budget.
		everyday := b.Peak.Value >= lb(35) && !j.Limits.Given && a.Budget == 0 && b.KindOrDefault() != bow.Longbow
		if everyday {
			common++
		}
		switch {
		case err != nil:
			refused++
			if len(err.Error()) < 40 {
				t.Errorf("case %d: refused without a sentence: %v", n, err)
			}
			continue
		case len(p.Offers) < 3:
			fewer++
		case everyday:
			three++
		}
		check(t, j, parts, a, unit.System{}, p)
		if n%10 == 0 {
			if same, err := fitting.Propose(context.Background(), j, parts, a, unit.System{}, nil); err != nil || !reflect.DeepEqual(same, p) {
				t.Errorf("case %d: another proposal the second time", n)
			}
		}
		if n%4 == 0 && len(b.Readings) > 0 { // with one of them shot and found good
			again++
			o := p.Offers[len(p.Offers)/2].Build
			o.Proven = r.once(2)
			if !o.Proven {
				j.Bow.Value.Proven = o.Name
			}
			j.Builds = append(j.Builds, o)
			if r.once(2) {
				sightIn(t, j)
			}
			units := unit.System{Grams: true, Metric: unit.InMillimetres, PerSec: true, Metres: true, InNewton: true}
			p, err := fitting.Propose(context.Background(), j, parts, a, units, nil)
			if err != nil {
				t.Errorf("case %d: nothing beside a proven build of the same parts: %v", n, err)
				continue
			}
			check(t, j, parts, a, units, p)
		}
		if t.Failed() {
			t.Fatalf("case %d: %.3g lb, %.3g in, %+v\n%q", n, b.Peak.Value.In(unit.PoundForce), b.Draw.Value.In(unit.Inch), a, p.Notes)
		}
	}
	t.Logf("of %d: %d refused, %d fewer than three; three for %d of %d everyday bows; %d again with a proven build", cases, refused, fewer, three, common, again)
	if 5*three < 3*common || again == 0 {
		t.Errorf("three builds for %d of %d everyday bows: want most, and some with a proven build, got %d", three, common, again)
	}
}
