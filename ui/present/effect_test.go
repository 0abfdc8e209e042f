package present

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
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
	got := Effect(unit.System{}, j, &before, &after)
	for _, pattern := range []string{`^\+25[^·]* gr`, `FOC \+\d[^·]* %`, `−\d[^·]* ft/s$`} {
		if !regexp.MustCompile(pattern).MatchString(got) {
			t.Errorf("%q does not match %q", got, pattern)
		}
	}
	// Less weight may bring a warning, which the way there does not.
	back, _, _ := strings.Cut(Effect(unit.System{}, j, &after, &before), " · !")
	if turned := strings.NewReplacer("+", "−", "−", "+").Replace(got); back != turned {
		t.Errorf("the way back reads %q, want %q", back, turned)
	}
}

func TestEffectNamesTheFrontOnlyWhereItIsNotTheWhole(t *testing.T) {
	j, before, after := pair(heavierInsert)
	if got := Effect(unit.System{}, j, &before, &after); strings.Contains(got, "front") {
		t.Errorf("%q says the same weight twice", got)
	}
	after.Nock.Weight += 10 * unit.Grain
	if got := Effect(unit.System{}, j, &before, &after); !regexp.MustCompile(`^\+35[^·]* gr · front \+25[^·]* gr`).MatchString(got) {
		t.Errorf("%q, want +35 gr in all and +25 gr at the front", got)
	}
}

func TestEffectIsSilentWhereNothingChanges(t *testing.T) {
	j, before, after := pair(func(b *arrow.Build) { b.Name = "another" })
	if got := Effect(unit.System{}, j, &before, &after); got != "" {
		t.Errorf("a new name reads %q", got)
	}
	j, before, after = pair(func(b *arrow.Build) { b.Nock.Lighted = true })
	if got := Effect(unit.System{}, j, &before, &after); got != "" {
		t.Errorf("a nock of the same weight reads %q", got)
	}
}

func TestEffectWithoutABowLeavesSpeedOut(t *testing.T) {
	j, before, after := pair(heavierInsert)
	j.Bow = job.New().Bow
	got := Effect(unit.System{}, j, &before, &after)
	if strings.Contains(got, "ft/s") || !strings.Contains(got, "gr") {
		t.Errorf("%q, want weight and no speed", got)
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
