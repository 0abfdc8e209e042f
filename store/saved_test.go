package store

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"foreshaft/engine/air"
	"foreshaft/engine/bow"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

func listed(t *testing.T, w *Workbook) []string {
	t.Helper()
	list, err := w.List()
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range list {
		out = append(out, fmt.Sprintf("%s %s %d", e.Kind, e.Name, e.Revisions))
	}
	return out
}

func TestSavingUnderANameAddsARevision(t *testing.T) {
	c := newClock()
	w := openAt(t, newPath(t), c)
	first := c.Now()
	a, added, err := w.Save(KindBuild, "  even\tkeel ", oneBuild(30))
	if err != nil || !added || a.Name != "even keel" || a.Revisions != 1 || !a.Saved.Equal(first) || !a.Sample {
		t.Fatalf("%+v, %v, %v", a, added, err)
	}
	c.step(time.Hour)
	same, added, err := w.Save(KindBuild, "even keel", oneBuild(30))
	if err != nil || added || same != a {
		t.Errorf("the same again: %+v, %v, %v", same, added, err)
	}
	b, added, err := w.Save(KindBuild, "even keel", oneBuild(30.5))
	if err != nil || !added || b.ID != a.ID || b.Revisions != 2 || !b.Saved.Equal(c.Now()) {
		t.Errorf("%+v, %v, %v", b, added, err)
	}
	// What an older revision held is a new state again.
	if e := save(t, w, KindBuild, "even keel", oneBuild(30)); e.Revisions != 3 {
		t.Errorf("%+v", e)
	}
	bench := save(t, w, KindBench, "even keel", SampleBench())
	if bench.ID == a.ID || bench.Revisions != 1 {
		t.Errorf("a bench and a build share a name: %+v", bench)
	}
	for revision, inches := range map[int]float64{1: 30, 2: 30.5, 3: 30, 0: 30, -1: 30} {
		if j, err := w.Load(a.ID, revision); err != nil || !j.Equal(oneBuild(inches)) {
			t.Errorf("revision %d: %v", revision, err)
		}
	}
	got, err := w.Revisions(a.ID)
	if err != nil || len(got) != 3 || got[0].Number != 1 || got[2].Number != 3 || !got[0].Saved.Equal(first) || !got[1].Saved.Equal(c.Now()) {
		t.Errorf("%v, %v", got, err)
	}
	if got, err := w.Revisions(bench.ID); err != nil || len(got) != 1 {
		t.Errorf("%v, %v", got, err)
	}
}

func TestListIsInTheOrderOfSavingAlsoWhenTheClockIsSetBack(t *testing.T) {
	c := newClock()
	w := openAt(t, newPath(t), c)
	for _, name := range []string{"a", "b", "c"} {
		save(t, w, KindBuild, name, oneBuild(30))
		c.step(-48 * time.Hour)
	}
	if got, want := listed(t, w), []string{"build c 1", "build b 1", "build a 1"}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	e := save(t, w, KindBuild, "a", oneBuild(31))
	if !e.Saved.Equal(c.Now()) {
		t.Errorf("saved %v, the clock says %v", e.Saved, c.Now())
	}
	// Looking after an entry is not saving it.
	if err := errors.Join(w.Bin(2, true), w.Describe(2, "b", "", "red")); err != nil {
		t.Fatal(err)
	}
	closeAndCheck(t, w)
	w = openAt(t, w.path, c)
	if got, want := listed(t, w), []string{"build a 2", "build c 1", "build b 1"}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

func TestBinHidesAndGivesBack(t *testing.T) {
	w := openNew(t)
	e := save(t, w, KindBuild, "a", oneBuild(30))
	if err := w.Bin(e.ID, true); err != nil {
		t.Fatal(err)
	}
	list, err := w.List()
	if err != nil || len(list) != 1 || !list[0].Binned {
		t.Errorf("%v, %v", list, err)
	}
	if _, err := w.Load(e.ID, 0); err != nil {
		t.Errorf("what is in the bin cannot be read: %v", err)
	}
	if back, added, err := w.Save(KindBuild, "a", oneBuild(30)); err != nil || added || back.Binned {
		t.Errorf("%+v, %v, %v", back, added, err)
	}
	if list, err := w.List(); err != nil || list[0].Binned {
		t.Errorf("still in the bin: %v, %v", list, err)
	}
}

func TestDescribe(t *testing.T) {
	w := openNew(t)
	e := save(t, w, KindBuild, "a", oneBuild(30))
	if err := w.Describe(e.ID, "a", "A. Sample\n(invented)", "red, 60 yd"); err != nil {
		t.Fatal(err)
	}
	save(t, w, KindBuild, "a", oneBuild(31))
	list, err := w.List()
	if err != nil || list[0].Customer != "A. Sample (invented)" || list[0].Tags != "red, 60 yd" {
		t.Errorf("%+v, %v", list, err)
	}
	err = w.Describe(e.ID, "a", strings.Repeat("x", mostName+1), "")
	says(t, err, "customer", "at most 400 bytes")
}

func TestWhatIsNotThere(t *testing.T) {
	w := openNew(t)
	e := save(t, w, KindBuild, "a", oneBuild(30))
	_, errLoad := w.Load(77, 0)
	_, errRevision := w.Load(e.ID, 2)
	_, errRevisions := w.Revisions(77)
	for _, err := range []error{errLoad, errRevision, errRevisions, w.Bin(77, true), w.Describe(77, "x", "", "")} {
		var missing *NotFoundError
		if !errors.As(err, &missing) {
			t.Errorf("%v", err)
		}
	}
	says(t, errRevision, "no revision 2")
}

func TestWhatCannotBeReadBackIsNotSaved(t *testing.T) {
	w := openNew(t)
	before := listed(t, w)
	nan := oneBuild(30)
	nan.Builds[0].Head.Weight = unit.Mass(math.NaN())
	heavy := oneBuild(30)
	heavy.Builds[0].Head.Weight = 2000 * unit.Grain
	twice := SampleBench()
	twice.Builds[1].Name = twice.Builds[0].Name
	sightOnly, withAir, withLimits, strong := BowOf(SampleBench()), BowOf(SampleBench()), BowOf(SampleBench()), BowOf(SampleBench())
	sightOnly.Bow = unit.Optional[bow.Bow]{}
	withAir.Air = unit.Some(air.Conditions{})
	withLimits.Limits = unit.Some(job.Limits{MaxSpeed: 300 * unit.FootPerSecond})
	strong.Bow.Value.Peak = unit.Some(1000 * unit.PoundForce)
	for _, row := range []struct {
		kind Kind
		name string
		j    *job.Job
		say  string
	}{
		{KindBuild, "a", nan, "cannot be written"},
		{KindBuild, "a", heavy, "builds[0].head.weight_gr"},
		{KindBench, "a", twice, "builds[1].name"},
		{KindBuild, "a", SampleBench(), "one build, got 3"},
		{KindBuild, " \t", oneBuild(30), "needs a name"},
		{KindBuild, strings.Repeat("x", mostName+1), oneBuild(30), "at most"},
		{"sketch", "a", oneBuild(30), "a bench, a build or a bow"},
		{KindBow, "a", job.New(), "no bow to keep"},
		{KindBow, "a", sightOnly, "no bow to keep"},
		{KindBow, "a", oneBuild(30), "its sight and nothing else"},
		{KindBow, "a", withAir, "its sight and nothing else"},
		{KindBow, "a", withLimits, "its sight and nothing else"},
		{KindBow, "a", strong, "bow.peak_weight_lb"},
		{KindBow, " \t", BowOf(SampleBench()), "needs a name"},
	} {
		_, _, err := w.Save(row.kind, row.name, row.j)
		var invalid *InvalidError
		if !errors.As(err, &invalid) {
			t.Errorf("%s: %v", row.say, err)
			continue
		}
		says(t, err, row.say, "was not saved")
	}
	says(t, w.SaveBench(Bench{Job: nan}), "The bench was not saved")
	if got := listed(t, w); !slices.Equal(got, before) {
		t.Errorf("%v", got)
	}
	if bench, err := w.LoadBench(); err != nil || !bench.Job.Equal(SampleBench()) {
		t.Errorf("the bench changed: %v", err)
	}
}

func TestBuildOfSharesNothing(t *testing.T) {
	j := SampleBench()
	one := BuildOf(j, 1)
	if len(one.Builds) != 1 || one.Builds[0].Name != "Even keel" || one.Bow.Value.Name != SampleBow || !one.Sight.Given {
		t.Errorf("%+v", one)
	}
	one.Bow.Value.Readings[0].Arrow = 0
	one.Builds[0].Name = "changed"
	if !j.Equal(SampleBench()) {
		t.Error("a change reached the bench")
	}
}

func TestBowOfIsTheBowAndItsSight(t *testing.T) {
	j := SampleBench()
	j.Air = unit.Some(air.Conditions{})
	j.Limits = unit.Some(job.Limits{MaxSpeed: 300 * unit.FootPerSecond})
	j.Currency, j.Baseline = "EUR", 2
	j.Sight.Value.Marks = []job.Mark{{Distance: 20 * unit.Yard, Reading: unit.Inch}}
	before := j.Clone()
	kept := BowOf(j)
	want := job.New()
	want.Bow, want.Sight = j.Bow, j.Sight
	if !kept.Equal(want) || len(kept.Sight.Value.Marks) != 1 {
		t.Errorf("%s", kept.Encode())
	}
	kept.Bow.Value.Readings[0].Arrow = 0
	kept.Sight.Value.Marks[0].Reading = 0
	if !j.Equal(before) {
		t.Error("a change reached the bench")
	}
	if none := BowOf(job.New()); none.Bow.Given {
		t.Error("a bow out of nothing")
	}
}

func TestSavedBowComesBack(t *testing.T) {
	w := openNew(t)
	sample := BowOf(SampleBench())
	own := BowOf(SampleBench())
	own.Bow.Value.Name = "mine"
	own.Sight = unit.Optional[job.Sight]{}
	a, added, err := w.Save(KindBow, " my\tbow", sample)
	if err != nil || !added || a.Kind != KindBow || a.Name != "my bow" || !a.Sample {
		t.Fatalf("%+v, %v, %v", a, added, err)
	}
	if _, added, err := w.Save(KindBow, "my bow", sample); err != nil || added {
		t.Errorf("the same again: %v, %v", added, err)
	}
	build := save(t, w, KindBuild, "my bow", oneBuild(30))
	if b := save(t, w, KindBow, "my bow", own); b.ID != a.ID || b.ID == build.ID || b.Revisions != 2 || b.Sample {
		t.Errorf("%+v", b)
	}
	closeAndCheck(t, w)
	w = openAt(t, w.path, newClock())
	if got, want := listed(t, w), []string{"bow my bow 2", "build my bow 1"}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	for revision, want := range map[int]*job.Job{1: sample, 2: own, 0: own} {
		if j, err := w.Load(a.ID, revision); err != nil || !j.Equal(want) {
			t.Errorf("revision %d: %v", revision, err)
		}
	}
}

func TestBenchKeepsItsView(t *testing.T) {
	w := openNew(t)
	for _, view := range []string{`{"focus":2}`, "", "\x00 not JSON"} {
		want := Bench{Job: SampleBench(), View: []byte(view)}
		if err := w.SaveBench(want); err != nil {
			t.Fatal(err)
		}
		if got, err := w.LoadBench(); err != nil || string(got.View) != view || !got.Job.Equal(want.Job) {
			t.Errorf("%q, %v", got.View, err)
		}
	}
	// A bench may be empty.
	if err := w.SaveBench(Bench{Job: job.New()}); err != nil {
		t.Fatal(err)
	}
	closeAndCheck(t, w)
	w = openAt(t, w.path, newClock())
	if got, err := w.LoadBench(); err != nil || !got.Job.Equal(job.New()) {
		t.Errorf("%v", err)
	}
}
