package present

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
)

// pair returns the first sample build and a copy of it after a change.
func pair(change func(b *arrow.Build)) (j *job.Job, before, after arrow.Build) {
	j = store.SampleBench()
	before = j.Builds[0].Clone()
	after = before.Clone()
	change(&after)
	return j, before, after
}

func heavierInsert(b *arrow.Build) { b.Insert.Value.Weight += 25 * unit.Grain }

func TestEffectNamesWeightBalanceAndSpeed(t *testing.T) {
	j, before, after := pair(heavierInsert)
	got := Effect(sheet.EvaluateIn(j, unit.System{}), &before, &after, 60*unit.Yard)
	for _, pattern := range []string{`^\+25[^·]* gr`, `FOC \+\d[^·]* %`, `−\d[^·]* ft/s · `, `60 yd \d[^·]* in lower · `, `margin 0\.81 → 0\.78$`} {
		if !regexp.MustCompile(pattern).MatchString(got) {
			t.Errorf("%q does not match %q", got, pattern)
		}
	}
	// Less weight may bring a warning, which the way there does not.
	back, _, _ := strings.Cut(Effect(sheet.EvaluateIn(j, unit.System{}), &after, &before, 60*unit.Yard), " · !")
	if turned := strings.NewReplacer("+", "−", "−", "+", "lower", "higher", "0.81 → 0.78", "0.78 → 0.81").Replace(got); back != turned {
		t.Errorf("the way back reads %q, want %q", back, turned)
	}
}

func TestEffectNamesTheFrontOnlyWhereItIsNotTheWhole(t *testing.T) {
	j, before, after := pair(heavierInsert)
	if got := Effect(sheet.EvaluateIn(j, unit.System{}), &before, &after, 60*unit.Yard); strings.Contains(got, "front") {
		t.Errorf("%q says the same weight twice", got)
	}
	after.Nock.Weight += 10 * unit.Grain
	if got := Effect(sheet.EvaluateIn(j, unit.System{}), &before, &after, 60*unit.Yard); !regexp.MustCompile(`^\+35[^·]* gr · front \+25[^·]* gr`).MatchString(got) {
		t.Errorf("%q, want +35 gr in all and +25 gr at the front", got)
	}
}

func TestEffectIsSilentWhereNothingChanges(t *testing.T) {
	j, before, after := pair(func(b *arrow.Build) { b.Name = "another" })
	if got := Effect(sheet.EvaluateIn(j, unit.System{}), &before, &after, 60*unit.Yard); got != "" {
		t.Errorf("a new name reads %q", got)
	}
	j, before, after = pair(func(b *arrow.Build) { b.Nock.Lighted = true })
	if got := Effect(sheet.EvaluateIn(j, unit.System{}), &before, &after, 60*unit.Yard); got != "" {
		t.Errorf("a nock of the same weight reads %q", got)
	}
}

func TestEffectWithoutABowLeavesSpeedOut(t *testing.T) {
	j, before, after := pair(heavierInsert)
	j.Bow = job.New().Bow
	got := Effect(sheet.EvaluateIn(j, unit.System{}), &before, &after, 60*unit.Yard)
	if strings.Contains(got, "ft/s") || !strings.Contains(got, "gr") {
		t.Errorf("%q, want weight and no speed", got)
	}
}

// hits returns how much higher an effect says that the change hits, in inches.
func hits(t *testing.T, effect string) float64 {
	t.Helper()
	m := regexp.MustCompile(`(?:^| · )\d+ yd ([\d.]+)(?: ± [\d.]+)? in (higher|lower)`).FindStringSubmatch(effect)
	if m == nil {
		t.Fatalf("%q does not say where it hits", effect)
	}
	if m[2] == "lower" {
		return -shown(t, m[1])
	}
	return shown(t, m[1])
}

// What is heavier leaves slower and hits lower. Without air a path drops by
// g d²/2v², so a change of speed moves the hit by about the difference of two such
// drops; the air adds some.
func TestEffectSaysWhereTheChangeHits(t *testing.T) {
	for _, by := range []unit.Mass{-25, -10, 10, 25, 75} {
		j, before, after := pair(func(b *arrow.Build) { b.Head.Weight += by * unit.Grain })
		speeds := job.New()
		after.Name = "after"
		speeds.Bow, speeds.Builds = j.Bow, []arrow.Build{before, after}
		s := sheet.Evaluate(speeds)
		drop := func(i int, d unit.Length) float64 {
			f, ok := s.Builds[i].Figure(figure.LaunchSpeed)
			if !ok {
				t.Fatal("no speed")
			}
			return unit.Length(9.80665 * float64(d*d) / (2 * f.Value * f.Value)).In(unit.Inch)
		}
		near := 0.0
		for _, d := range []unit.Length{30 * unit.Yard, 60 * unit.Yard} {
			effect := Effect(sheet.EvaluateIn(j, unit.System{}), &before, &after, d)
			got, want := hits(t, effect), drop(0, d)-drop(1, d)
			if got/want < 0.9 || got/want > 1.2 {
				t.Errorf("a head %+.0f gr heavier: %q, want about %.2f in at %s", float64(by), effect, want, unit.System{}.Distance(d, 3))
			}
			if !strings.Contains(effect, " · "+unit.System{}.Distance(d, 3)+" ") || near != 0 && got/near < 3.9 {
				t.Errorf("%q, and %.2f in at half the way", effect, near)
			}
			near = got
		}
	}
}

// Where it hits hangs on how far the eye is above the arrow, and is told only
// where the arrow gets there.
func TestEffectDoesNotSayWhereItHitsWhenThatIsNotKnown(t *testing.T) {
	for name, change := range map[string]func(j *job.Job, before, after *arrow.Build){
		"no sight": func(j *job.Job, _, _ *arrow.Build) { j.Sight = job.New().Sight },
		"no bow":   func(j *job.Job, _, _ *arrow.Build) { j.Bow = job.New().Bow },
		"no diameter": func(_ *job.Job, before, after *arrow.Build) {
			before.Shaft.OuterDiameter, after.Shaft.OuterDiameter = unit.Optional[unit.Length]{}, unit.Optional[unit.Length]{}
		},
		"too far": func(j *job.Job, _, _ *arrow.Build) {
			for i := range j.Bow.Value.Readings {
				j.Bow.Value.Readings[i].Speed /= 3
			}
		},
	} {
		j, before, after := pair(heavierInsert)
		change(j, &before, &after)
		got := Effect(sheet.EvaluateIn(j, unit.System{}), &before, &after, 200*unit.Yard)
		if strings.Contains(got, "yd") || strings.Contains(got, "lower") || strings.Contains(got, "higher") || !strings.HasPrefix(got, "+25") {
			t.Errorf("%s: %q", name, got)
		}
	}
}

func TestChangesSayWhatWasSwapped(t *testing.T) {
	_, before, after := pair(func(b *arrow.Build) {})
	before.Insert = unit.Some(part.Insert{Weight: 50 * unit.Grain, Depth: unit.Inch})
	after.Insert = unit.Some(part.Insert{Weight: 75 * unit.Grain, Depth: unit.Inch})
	if got, want := Changes(unit.System{}, &before, &after), []string{"insert 50 → 75 gr"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	before.Insert.Value.Name, after.Insert.Value.Name = "brass", "brass"
	if got, want := Changes(unit.System{}, &before, &after), []string{"insert 50 → 75 gr brass"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	after.Insert = unit.Optional[part.Insert]{}
	if got, want := Changes(unit.System{}, &before, &after), []string{"insert 50 gr brass → none"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if got := Changes(unit.System{}, &before, &before); len(got) != 0 {
		t.Errorf("a build differs from itself by %q", got)
	}
}

func TestChangesOfALengthNameTheArrowAlone(t *testing.T) {
	_, before, after := pair(func(b *arrow.Build) { b.Recut(29.625 * unit.Inch) })
	if got, want := Changes(unit.System{}, &before, &after), []string{"length 29.50 → 29.625 in"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestEverySlotShowsInChanges(t *testing.T) {
	for _, s := range Slots {
		_, before, after := pair(func(b *arrow.Build) {
			switch s {
			case SlotLength:
				b.Length += unit.Inch
			case SlotExtras:
				b.Extras = []part.Extra{{Name: "glue", Weight: 2 * unit.Grain, Balance: 29 * unit.Inch}}
			case Slot(part.KindShaft):
				b.Shaft.Name = "another shaft"
			case Slot(part.KindNock):
				b.Nock.Weight += unit.Grain
			case Slot(part.KindVanes):
				b.Vanes.Value.Count++
			case Slot(part.KindWrap):
				b.Wrap = unit.Some(part.Wrap{Weight: 6 * unit.Grain})
			case Slot(part.KindInsert):
				heavierInsert(b)
			case Slot(part.KindCollar):
				b.Collar = unit.Some(part.Collar{Weight: 12 * unit.Grain})
			case Slot(part.KindHead):
				b.Head.Weight += unit.Grain
			}
		})
		got := Changes(unit.System{}, &before, &after)
		if len(got) != 1 || !strings.HasPrefix(got[0], string(s)+" ") || !strings.Contains(got[0], "→") {
			t.Errorf("a change of %s reads %q", s, got)
		}
	}
}
