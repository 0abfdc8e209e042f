package bench

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"foreshaft/engine/bow"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
	"foreshaft/store"
)

// ownBow is a bow that is neither empty nor the sample.
func ownBow(j *job.Job) {
	j.Bow.Value.Name = "Mine"
	j.Bow.Value.Peak = unit.Some(55 * unit.PoundForce)
	j.Sight = unit.Some(job.Sight{PeepToPin: unit.Some(33 * unit.Inch), Marks: []job.Mark{{Distance: 20 * unit.Yard, Reading: unit.Inch}}})
}

// keptBow is a bow that was kept with its sight.
func keptBow() *job.Job {
	j := job.New()
	j.Bow = unit.Some(bow.Bow{Name: "Longbow", Kind: bow.Longbow, Peak: unit.Some(45 * unit.PoundForce), Draw: unit.Some(28 * unit.Inch),
		Readings: []bow.Reading{{Arrow: 500 * unit.Grain, Speed: 160 * unit.FootPerSecond}}})
	j.Sight = unit.Some(job.Sight{PeepToPin: unit.Some(30 * unit.Inch)})
	return j
}

// openBow opens a kept bow from the form of the bow and returns what that asks for.
func openBow(t testing.TB, m *Model, kept *job.Job) Request {
	t.Helper()
	press(m, "b")
	if r := press(m, "o"); r != (List{}) {
		t.Fatalf("another bow asks for %+v", r)
	}
	e := Entry{ID: 3, Name: "Longbow", What: SavedBow}
	m.ShowSaved([]Entry{{ID: 1, Name: "Autumn", What: SavedBench}, e, {ID: 2, Name: "Keel", What: SavedBuild}}, nil, nil)
	if out := screen(m); strings.Contains(out, "Autumn") || strings.Contains(out, "Keel") || !strings.Contains(out, "Longbow") {
		t.Errorf("the list of bows shows\n%s", out)
	}
	if r := press(m, "enter"); r != (Load{Entry: e}) {
		t.Fatalf("choosing it asks for %+v", r)
	}
	return m.Place(e, kept, nil)
}

// asksToKeep fails unless a request keeps the bow of a job quietly by its name.
func asksToKeep(t testing.TB, r Request, before []byte, name string) {
	t.Helper()
	save, ok := r.(Save)
	if !ok || save.What != SavedBow || save.Name != name || !save.Quiet {
		t.Fatalf("it asks for %+v, want the bow kept as %q without a word", r, name)
	}
	if !bytes.Equal(save.Job.Encode(), before) {
		t.Errorf("the bow is kept from\n%s\nwant it as it was\n%s", save.Job.Encode(), before)
	}
}

func TestAKeptBowTakesThePlaceOfAnotherThatIsKeptFirst(t *testing.T) {
	m := benchOf(t, ownBow)
	before := m.Job().Encode()
	r := openBow(t, m, keptBow())
	asksToKeep(t, r, before, "Mine")
	want := keptBow()
	if j := m.Job(); string((&job.Job{Format: job.Format, Bow: j.Bow, Sight: j.Sight}).Encode()) != string(want.Encode()) {
		t.Errorf("on the bench is %+v with %+v", j.Bow, j.Sight)
	}
	if _, open := m.dialog.(*bowForm); !open || len(m.Job().Builds) != 3 {
		t.Errorf("%T is open, with %d builds on the bench", m.dialog, len(m.Job().Builds))
	}
	shows(t, m, "longbow", "Longbow is on the bench now")
	press(m, "z")
	kept(t, m, before, "after undo")
	press(m, "Z", "esc")
	if m.Job().Bow.Value.Name != "Longbow" {
		t.Error("redo does not bring it again")
	}
}

func TestANewBowTakesThePlaceOfAnotherThatIsKeptFirst(t *testing.T) {
	m := benchOf(t, ownBow)
	before := m.Job().Encode()
	press(m, "b")
	asksToKeep(t, press(m, "n"), before, "Mine")
	if j := m.Job(); !j.Bow.Given || j.Bow.Value.Peak.Given || len(j.Bow.Value.Readings) > 0 || j.Sight.Given {
		t.Errorf("the new bow is %+v with %+v", j.Bow, j.Sight)
	}
	if !strings.Contains(m.message, "“Mine” is kept") {
		t.Errorf("it says %q", m.message)
	}
	press(m, "z")
	kept(t, m, before, "after undo")
}

// Neither an empty bow nor the invented one is worth keeping.
func TestABowThatIsEmptyOrTheSampleIsNotKept(t *testing.T) {
	for name, change := range map[string]func(j *job.Job){
		"the sample": nil,
		"no bow":     func(j *job.Job) { j.Bow, j.Sight = unit.Optional[bow.Bow]{}, unit.Optional[job.Sight]{} },
		"a new bow":  func(j *job.Job) { j.Bow = unit.Some(bow.Bow{}) },
	} {
		m := benchOf(t, change)
		if r := openBow(t, m, keptBow()); r != nil {
			t.Errorf("%s: opening another asks for %+v", name, r)
		}
		if m.Job().Bow.Value.Name != "Longbow" {
			t.Errorf("%s: on the bench is %q", name, m.Job().Bow.Value.Name)
		}
		m = benchOf(t, change)
		press(m, "b")
		if r := press(m, "n"); r != nil || strings.Contains(m.message, "is kept") {
			t.Errorf("%s: a new one asks for %+v and says %q", name, r, m.message)
		}
	}
	// The sample with another draw weight is somebody's.
	m := benchOf(t, func(j *job.Job) { j.Bow.Value.Peak = unit.Some(60 * unit.PoundForce) })
	before := m.Job().Encode()
	asksToKeep(t, openBow(t, m, keptBow()), before, store.SampleBow)
}

func TestABowWithoutANameIsKeptByWhatItIs(t *testing.T) {
	for _, c := range []struct {
		units unit.System
		want  string
	}{{unit.System{}, "recurve 38 lb"}, {metric, "recurve 169 N"}} { // 38 × 4.448
		m := benchOf(t, func(j *job.Job) {
			j.Bow = unit.Some(bow.Bow{Kind: bow.Recurve, Peak: unit.Some(38 * unit.PoundForce)})
		})
		m.setUnits(c.units)
		before := m.Job().Encode()
		asksToKeep(t, openBow(t, m, keptBow()), before, c.want)
	}
}

func TestKeepingABowAsksForItsNameFirst(t *testing.T) {
	m := benchOf(t, ownBow)
	press(m, "b", "s")
	if got := typedText(t, m); got != "Mine" {
		t.Errorf("it offers %q", got)
	}
	before := m.Job().Encode()
	write(m, "Range")
	r := press(m, "enter")
	if want := (Save{Name: "Range", What: SavedBow, Job: m.Job()}); r != want || m.Job().Bow.Value.Name != "Range" {
		t.Errorf("it asks for %+v, want %+v, and the bow is called %q", r, want, m.Job().Bow.Value.Name)
	}
	press(m, "z")
	kept(t, m, before, "after undo")
	m = benchOf(t, func(j *job.Job) { j.Bow = unit.Optional[bow.Bow]{} })
	press(m, "b")
	if r := press(m, "s"); r != nil || m.Typing() || !strings.Contains(m.message, "no bow to keep") {
		t.Errorf("without a bow it asks for %+v and says %q", r, m.message)
	}
}

func TestTheSameBowAgainIsNoChange(t *testing.T) {
	m := benchOf(t, ownBow)
	before := m.Job().Encode()
	same := m.Job().Clone()
	if r := openBow(t, m, same); r != nil {
		t.Errorf("it asks for %+v", r)
	}
	kept(t, m, before, "after the same bow")
	shows(t, m, "just what is on the bench")
	press(m, "z")
	kept(t, m, before, "after undo")
}

func TestABowThatCannotBeOpenedLeavesTheOneThatIsThere(t *testing.T) {
	m := benchOf(t, ownBow)
	before := m.Job().Encode()
	press(m, "b", "o")
	e := Entry{ID: 3, Name: "Longbow", What: SavedBow}
	m.ShowSaved([]Entry{e}, nil, nil)
	press(m, "enter")
	if r := m.Place(e, nil, errors.New("the disk is gone")); r != nil {
		t.Errorf("it asks for %+v", r)
	}
	kept(t, m, before, "after it could not be opened")
	shows(t, m, "could not be opened")
}

func TestWithoutAKeptBowTheFormStaysOpen(t *testing.T) {
	m := benchOf(t, ownBow)
	press(m, "b", "o")
	m.ShowSaved([]Entry{{ID: 1, Name: "Autumn"}}, nil, nil)
	if !strings.Contains(m.message, "No other bow is kept yet") || strings.Contains(screen(m), "Autumn") {
		t.Errorf("it says %q", m.message)
	}
	press(m, "esc")
	if _, open := m.dialog.(*bowForm); !open {
		t.Errorf("%T is open", m.dialog)
	}
}

// A sight belongs to the bow that it is on, and its limits and air to the job.
func TestAKeptBowLeavesTheRestOfTheJob(t *testing.T) {
	m := benchOf(t, func(j *job.Job) {
		ownBow(j)
		j.Limits = unit.Some(job.Limits{MaxPeak: 60 * unit.PoundForce})
		j.Baseline = 1
	})
	opened := keptBow()
	opened.Limits = unit.Some(job.Limits{MaxPeak: 10 * unit.PoundForce})
	openBow(t, m, opened)
	if j := m.Job(); j.Limits.Value.MaxPeak != 60*unit.PoundForce || j.Baseline != 1 || len(j.Builds) != 3 {
		t.Errorf("the job is %s", j.Encode())
	}
	// What is on the bench is no longer what was opened.
	opened.Bow.Value.Readings[0].Speed = 0
	if m.Job().Bow.Value.Readings[0].Speed == 0 {
		t.Error("the bench shares its readings with what was opened")
	}
}
