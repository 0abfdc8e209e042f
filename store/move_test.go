package store

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"
	"pgregory.net/rapid"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// drawWork fills a workbook with customers, parts, samples that were changed, entries
// of several revisions and a working bench. Names and IDs are few, so that two
// workbooks have some in common.
func drawWork(t *rapid.T, w *Workbook) {
	names := []string{"Wren Alder (invented)", "WREN ALDER (invented)", "Bram Oake (invented)", "Cato Ives (invented)"}
	for range rapid.IntRange(0, 3).Draw(t, "customers") {
		c := Customer{rapid.SampledFrom(names).Draw(t, "customer"), rapid.SampledFrom([]string{"", "tall", "left hand", "left hand / tall"}).Draw(t, "note")}
		if err := w.PutCustomer("", c); err != nil && !errors.As(err, new(*InvalidError)) {
			t.Fatal(err)
		}
	}
	var parts []part.Part
	for i := range rapid.IntRange(0, 3).Draw(t, "parts") {
		parts = append(parts, drawPart(t, i))
	}
	samples := SampleParts()
	for range rapid.IntRange(0, 2).Draw(t, "changed samples") {
		p := samples[rapid.IntRange(0, 2).Draw(t, "sample")]
		p.Shaft.Value.Price = unit.Some(float64(rapid.IntRange(0, 1).Draw(t, "price")))
		parts = append(parts, p)
	}
	for range rapid.IntRange(0, 2).Draw(t, "copies of samples") {
		p := samples[rapid.IntRange(0, 2).Draw(t, "sample")]
		p.ID, p.Sample = rapid.SampledFrom([]string{"copy", "part-0", "part-1"}).Draw(t, "id"), false
		parts = append(parts, p)
	}
	if err := w.PutParts(parts...); err != nil {
		t.Fatal(err)
	}
	for range rapid.IntRange(0, 8).Draw(t, "saves") {
		kind := rapid.SampledFrom([]Kind{KindBench, KindBuild, KindBow}).Draw(t, "kind")
		j := drawState(t, kind)
		name := rapid.SampledFrom([]string{"a", "b", "a (2)", "Working bench"}).Draw(t, "name")
		e, _, err := w.SaveFor(kind, name, rapid.SampledFrom(append(names, "")).Draw(t, "customer"), j)
		if err != nil {
			t.Fatal(err)
		}
		if rapid.Bool().Draw(t, "described") {
			if err := w.Describe(e.ID, e.Name, e.Customer, drawText(t, "tags")); err != nil && !errors.As(err, new(*InvalidError)) {
				t.Fatal(err)
			}
		}
		if err := w.Bin(e.ID, rapid.Bool().Draw(t, "binned")); err != nil {
			t.Fatal(err)
		}
	}
	if rapid.Bool().Draw(t, "bench") {
		if err := w.SaveBench(Bench{Job: drawState(t, KindBench)}); err != nil {
			t.Fatal(err)
		}
	}
}

// drawState draws what may be saved as a kind: any job, or one of a few that recur.
func drawState(t *rapid.T, kind Kind) *job.Job {
	j := oneBuild(30 + float64(rapid.IntRange(0, 2).Draw(t, "length")))
	if rapid.IntRange(0, 3).Draw(t, "any") == 0 {
		builds := 1
		if kind == KindBench {
			builds = rapid.IntRange(0, 3).Draw(t, "builds")
		}
		j = drawJob(t, builds)
	}
	if kind == KindBow {
		j.Bow = unit.Some(j.Bow.Or(sampleBow()))
		if rapid.Bool().Draw(t, "own bow") {
			j.Bow.Value.Name = "mine"
		}
		j = BowOf(j)
	}
	return j
}

// quick is a new workbook that does not wait for the disk.
func quick(t *testing.T, c *wallClock) *Workbook {
	w := openAt(t, newPath(t), c)
	w.db.NoSync = true
	return w
}

// bundle takes everything out of a workbook, through the bytes of a file.
func bundle(t rapid.TB, w *Workbook, of Scope) *Bundle {
	t.Helper()
	b, err := w.Bundle(of)
	if err != nil {
		t.Fatal(err)
	}
	read, err := ReadBundle(b.Encode(), "unused", time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	mustBeSameLines(t, string(read.Encode()), string(b.Encode()))
	return read
}

// mustBeSameLines fails unless two bundles are the same, and says where they are not.
func mustBeSameLines(t rapid.TB, got, want string) {
	t.Helper()
	a, b := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range max(len(a), len(b)) {
		if i >= len(a) || i >= len(b) || a[i] != b[i] {
			t.Fatalf("%d lines, and %d wanted; from line %d on it is\n%.2000s\nand not\n%.2000s", len(a), len(b), i+1, strings.Join(a[min(i, len(a)):], "\n"), strings.Join(b[min(i, len(b)):], "\n"))
		}
	}
}

// takeIn brings a bundle in, and fails unless that is what was predicted, without a
// change, and bringing it in once more changes nothing.
func takeIn(t rapid.TB, w *Workbook, b *Bundle) []Arrival {
	t.Helper()
	state := func() map[string]string {
		out := map[string]string{}
		err := w.view(func(tx *bolt.Tx) error {
			return tx.ForEach(func(name []byte, b *bolt.Bucket) error {
				out[string(name)] = fmt.Sprint(b.Sequence())
				return b.ForEach(func(key, value []byte) error {
					out[string(name)+"/"+string(key)] = string(value)
					return nil
				})
			})
		})
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	before := state()
	predicted, err := w.TakeIn(b, false)
	if err != nil {
		t.Fatal(err)
	}
	if !maps.Equal(state(), before) {
		t.Fatal("what was not to be taken changed something")
	}
	got, err := w.TakeIn(b, true)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(got, predicted) {
		t.Fatalf("predicted\n%+v, and it was\n%+v", predicted, got)
	}
	after := state()
	again, err := w.TakeIn(b, true)
	if err != nil || len(again) != len(got) {
		t.Fatalf("%v, %v", again, err)
	}
	for i, a := range again {
		if a.Outcome != Same || a.Revisions != 0 || a.Name != got[i].Name || a.What != got[i].What {
			t.Fatalf("once more, %+v, which was %+v", a, got[i])
		}
	}
	if !maps.Equal(state(), after) {
		t.Fatal("once more, something changed")
	}
	return got
}

// rest is what a bundle holds but for when it was taken and the working bench.
func (b *Bundle) rest() string {
	out := *b
	out.Taken, out.Bench = "", unit.Optional[job.Job]{}
	return string(out.Encode())
}

func TestABundleMakesANewWorkbookTheSame(t *testing.T) {
	c := newClock()
	rapid.Check(t, func(rt *rapid.T) {
		from, to := quick(t, c), quick(t, c)
		c.step(time.Minute)
		drawWork(rt, from)
		b := bundle(rt, from, Scope{})
		arrivals := takeIn(rt, to, b)
		got := bundle(rt, to, Scope{})
		bench, err := to.LoadBench()
		if err != nil || !bench.Job.Equal(SampleBench()) {
			rt.Fatalf("the working bench changed: %v", err)
		}
		if b.Bench.Given && !b.Bench.Value.Equal(SampleBench()) {
			// The working bench came last, as something saved.
			a := arrivals[len(arrivals)-1]
			if a.What != string(KindBench) || a.Name != "Working bench" || !strings.HasPrefix(a.As, "Working bench") {
				rt.Fatalf("the working bench is %+v", a)
			}
			entry := got.Saved[slices.IndexFunc(got.Saved, func(e BundledEntry) bool { return e.Kind == KindBench && e.Name == a.As })]
			if !slices.ContainsFunc(entry.Revisions, func(r BundledRevision) bool { return r.Job.Equal(&b.Bench.Value) }) {
				rt.Fatal("the working bench did not come")
			}
			if a.Outcome != Same { // what it added is not in the bundle's list
				return
			}
		}
		mustBeSameLines(rt, got.rest(), b.rest())
		for _, a := range arrivals {
			if a.Outcome == Beside || a.Outcome == Noted || a.Outcome == Newer || a.As != a.Name {
				rt.Fatalf("in a new workbook, %+v", a)
			}
		}
	})
}

// holdings is what must still be there after something was brought in.
type holdings struct {
	entries   map[uint64]Entry
	bodies    map[uint64][]string
	parts     map[string]part.Part
	customers []Customer
	bench     string
}

func holdingsOf(t rapid.TB, w *Workbook) holdings {
	t.Helper()
	out := holdings{map[uint64]Entry{}, map[uint64][]string{}, map[string]part.Part{}, nil, ""}
	list, err1 := w.List()
	parts, err2 := w.Parts()
	customers, err3 := w.Customers()
	bench, err4 := w.LoadBench()
	if err := errors.Join(err1, err2, err3, err4); err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		out.entries[e.ID] = e
		for n := 1; n <= e.Revisions; n++ {
			j, err := w.Load(e.ID, n)
			if err != nil {
				t.Fatal(err)
			}
			out.bodies[e.ID] = append(out.bodies[e.ID], string(j.Encode()))
		}
	}
	for _, p := range parts {
		out.parts[p.ID] = p
	}
	out.customers, out.bench = customers, string(bench.Job.Encode())+string(bench.View)
	return out
}

func TestNothingIsOverwrittenByWhatIsBroughtIn(t *testing.T) {
	samples := map[string]string{}
	for _, p := range SampleParts() {
		samples[p.ID] = string(record.Encode(p))
	}
	c := newClock()
	rapid.Check(t, func(rt *rapid.T) {
		from, to := quick(t, c), quick(t, c)
		drawWork(rt, from)
		c.step(time.Minute)
		drawWork(rt, to)
		b := bundle(rt, from, Scope{})
		before := holdingsOf(rt, to)
		arrivals := takeIn(rt, to, b)
		after := holdingsOf(rt, to)
		for id, e := range before.entries {
			got := after.entries[id]
			if !slices.Equal(after.bodies[id][:e.Revisions], before.bodies[id]) || got.Revisions == e.Revisions && got != e {
				rt.Fatalf("%+v became %+v", e, got)
			}
			if got.Kind != e.Kind || got.Name != e.Name || got.Customer != e.Customer || got.Tags != e.Tags {
				rt.Fatalf("%+v became %+v", e, got)
			}
		}
		for id, p := range before.parts {
			// A sample that nobody changed may follow one that somebody did.
			if got, was := string(record.Encode(after.parts[id])), string(record.Encode(p)); got != was && was != samples[id] {
				rt.Fatalf("%s\nbecame\n%s", was, got)
			}
		}
		if after.bench != before.bench {
			rt.Fatal("the working bench changed")
		}
		for _, was := range before.customers {
			if !slices.ContainsFunc(after.customers, func(c Customer) bool { return c.Name == was.Name && strings.HasPrefix(c.Note, was.Note) }) {
				rt.Fatalf("%+v is not among %+v", was, after.customers)
			}
		}

		// And everything came.
		at := 0
		for _, c := range b.Customers {
			for _, said := range strings.Split(c.Note, " / ") {
				if !slices.ContainsFunc(after.customers, func(h Customer) bool {
					return strings.EqualFold(h.Name, c.Name) && strings.Contains(h.Note, said)
				}) {
					rt.Fatalf("%q of %q did not come", said, c.Name)
				}
			}
			at++
		}
		alikes := map[string]int{}
		for _, p := range after.parts {
			alikes[alike(p)]++
		}
		for _, p := range b.Parts {
			at++
			if string(record.Encode(p)) == samples[p.ID] && after.parts[p.ID].Sample {
				continue // one as it came leaves one that was changed
			}
			if alikes[alike(p)]--; alikes[alike(p)] < 0 {
				rt.Fatalf("%s did not come", record.Encode(p))
			}
		}
		for i, e := range b.Saved {
			a := arrivals[at+i]
			var bodies [][]byte
			for _, r := range e.Revisions {
				bodies = append(bodies, r.Job.Encode())
			}
			found := false
			for id, h := range after.entries {
				var here [][]byte
				for _, body := range after.bodies[id] {
					here = append(here, []byte(body))
				}
				found = found || h.Kind == e.Kind && h.Name == a.As && within(bodies, here)
			}
			if !found || a.Name != e.Name || a.What != string(e.Kind) {
				rt.Fatalf("%+v did not come whole", a)
			}
		}
		names := map[string]bool{}
		for _, e := range after.entries {
			if key := string(e.Kind) + e.Name; names[key] {
				rt.Fatalf("two have the name %q", e.Name)
			} else {
				names[key] = true
			}
		}
	})
}

// outcomes returns what became of the things that are not the same.
func outcomes(list []Arrival) []Arrival {
	return slices.DeleteFunc(slices.Clone(list), func(a Arrival) bool { return a.Outcome == Same })
}

func TestOneNameFromTwoPlaces(t *testing.T) {
	home, shop := openNew(t), openNew(t)
	saveFor(t, home, KindBuild, "long range", "", 30)
	saveFor(t, shop, KindBuild, "long range", "Wren Alder (invented)", 31)
	saveFor(t, shop, KindBuild, "same", "", 29)
	saveFor(t, home, KindBuild, "same", "", 29)
	b := bundle(t, shop, Scope{})
	got := outcomes(takeIn(t, home, b))
	want := []Arrival{{"customer", "Wren Alder (invented)", "Wren Alder (invented)", Added, 0}, {"build", "long range", "long range (2)", Beside, 1}}
	if !slices.Equal(got, want) {
		t.Errorf("%+v", got)
	}
	if got, want := listed(t, home), []string{"build long range (2) 1", "build same 1", "build long range 1"}; !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
	if j, err := home.Load(3, 0); err != nil || !j.Equal(oneBuild(31)) || entryOf(t, home, 3).Customer != "Wren Alder (invented)" {
		t.Errorf("%+v, %v", entryOf(t, home, 3), err)
	}
	// A third place makes a third one.
	third := openNew(t)
	saveFor(t, third, KindBuild, "long range", "", 32)
	if got := outcomes(takeIn(t, home, bundle(t, third, Scope{}))); !slices.Equal(got, []Arrival{{"build", "long range", "long range (3)", Beside, 1}}) {
		t.Errorf("%+v", got)
	}
}

// Two places that bring each other's work in come to hold the same, and then stay so.
func TestBackAndForthMakesNoCopies(t *testing.T) {
	home, shop := openNew(t), openNew(t)
	for i, w := range []*Workbook{home, shop} {
		saveFor(t, w, KindBuild, "long range", "Wren Alder (invented)", 30+float64(i))
		known(t, w, Customer{"Bram Oake (invented)", []string{"tall", "left hand"}[i]})
		if err := w.PutParts(aHead("part-1", 100+float64(i))); err != nil {
			t.Fatal(err)
		}
	}
	for range 3 {
		takeIn(t, home, bundle(t, shop, Scope{}))
		takeIn(t, shop, bundle(t, home, Scope{}))
	}
	for _, w := range []*Workbook{home, shop} {
		if list, err := w.List(); err != nil || len(list) != 2 {
			t.Errorf("%v, %v", listed(t, w), err)
		}
		if parts, err := w.Parts(); err != nil || len(parts) != len(SampleParts())+2 {
			t.Errorf("%d parts, %v", len(parts), err)
		}
		note := customers(t, w)[0].Note
		if strings.Count(note, "tall") != 1 || strings.Count(note, "left hand") != 1 {
			t.Errorf("the note is %q", note)
		}
	}
}

func TestALongerHistoryAddsItsNewerRevisions(t *testing.T) {
	c := newClock()
	shop := openAt(t, newPath(t), c)
	saveFor(t, shop, KindBuild, "a", "", 30)
	saveFor(t, shop, KindBuild, "a", "", 31)
	home := openAt(t, newPath(t), c)
	takeIn(t, home, bundle(t, shop, Scope{}))
	older := bundle(t, shop, Scope{})
	saveFor(t, home, KindBuild, "b", "", 30)
	var saved []time.Time
	for _, inches := range []float64{32, 30} {
		c.step(time.Hour)
		saved = append(saved, c.Now())
		saveFor(t, shop, KindBuild, "a", "", inches)
	}
	c.step(time.Hour)
	if got := outcomes(takeIn(t, home, bundle(t, shop, Scope{}))); !slices.Equal(got, []Arrival{{"build", "a", "a", Newer, 2}}) {
		t.Errorf("%+v", got)
	}
	if got, want := listed(t, home), []string{"build a 4", "build b 1"}; !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
	e := entryOf(t, home, 1)
	for n, inches := range []float64{30, 31, 32, 30} {
		if j, err := home.Load(e.ID, n+1); err != nil || !j.Equal(oneBuild(inches)) {
			t.Errorf("revision %d: %v", n+1, err)
		}
	}
	if times, err := home.Revisions(e.ID); err != nil || !times[2].Saved.Equal(saved[0]) || !times[3].Saved.Equal(saved[1]) || !e.Saved.Equal(saved[1]) {
		t.Errorf("%v, %v", times, err)
	}
	// What is older, or only some of it, is there already.
	older.Saved[0].Revisions = older.Saved[0].Revisions[1:]
	if got := outcomes(takeIn(t, home, older)); len(got) > 0 {
		t.Errorf("%+v", got)
	}
	// Histories that parted are two.
	saveFor(t, home, KindBuild, "a", "", 33)
	saveFor(t, shop, KindBuild, "a", "", 34)
	if got := outcomes(takeIn(t, home, bundle(t, shop, Scope{}))); !slices.Equal(got, []Arrival{{"build", "a", "a (2)", Beside, 5}}) {
		t.Errorf("%+v", got)
	}
}

func TestPartsComeBesideOthersOfTheirID(t *testing.T) {
	home, shop := openNew(t), openNew(t)
	sample := SampleParts()[0]
	dear, dearer, retired := sample, sample, SampleParts()[1]
	dear.Shaft.Value.Price, dearer.Shaft.Value.Price, retired.Retired = unit.Some(77.0), unit.Some(88.0), true
	same := aHead("theirs", 120)
	same.Head.Value.Name = "head ours"
	put := func(w *Workbook, parts ...part.Part) {
		t.Helper()
		if err := w.PutParts(parts...); err != nil {
			t.Fatal(err)
		}
	}
	put(home, aHead("part-1", 100), aHead("ours", 120))
	put(shop, aHead("part-1", 101), aHead("part-2", 102), same, dear, retired)
	before := holdingsOf(t, home)
	got := outcomes(takeIn(t, home, bundle(t, shop, Scope{Drawer: true})))
	want := []Arrival{
		{"part", sample.Name(), sample.Name(), Updated, 0}, {"part", retired.Name(), retired.Name(), Updated, 0},
		{"part", "head part-1", "head part-1", Beside, 0}, {"part", "head part-2", "head part-2", Added, 0},
	}
	if !slices.Equal(got, want) {
		t.Errorf("%+v", got)
	}
	after := holdingsOf(t, home)
	if n := len(before.parts); len(after.parts) != n+2 || after.parts["part-3"].Head.Value.Weight != grains(101) || after.parts["part-1"].Head.Value.Weight != grains(100) || after.parts["part-2"].Head.Value.Weight != grains(102) {
		t.Errorf("%d parts, of %d", len(after.parts), n)
	}
	if after.parts[sample.ID].Shaft.Value.Price.Value != 77 || !after.parts[retired.ID].Retired {
		t.Error("a sample that was as it came did not follow")
	}
	// One that was changed here stays, and another change comes beside it.
	other := openNew(t)
	put(other, dearer)
	if got := outcomes(takeIn(t, home, bundle(t, other, Scope{}))); !slices.Equal(got, []Arrival{{"part", sample.Name(), sample.Name(), Beside, 0}}) {
		t.Errorf("%+v", got)
	}
	if now := holdingsOf(t, home); now.parts[sample.ID].Shaft.Value.Price.Value != 77 || len(now.parts) != len(after.parts)+1 {
		t.Error("a part was overwritten")
	}
	// A sample as it came changes none.
	if got := outcomes(takeIn(t, home, bundle(t, openNew(t), Scope{}))); len(got) > 0 {
		t.Errorf("%+v", got)
	}
}

// A part that is as a sample came is a part of its own, also where the sample follows
// another.
func TestACopyOfASampleThatWasChangedComesToo(t *testing.T) {
	home, shop := openNew(t), openNew(t)
	changed, copied := SampleParts()[2], SampleParts()[2]
	changed.Shaft.Value.Price = unit.Some(77.0)
	copied.ID, copied.Sample = "a copy", false
	for _, parts := range [][]part.Part{{copied, changed}, {changed, copied}} {
		if err := shop.PutParts(parts...); err != nil {
			t.Fatal(err)
		}
	}
	b := bundle(t, shop, Scope{Drawer: true})
	slices.Reverse(b.Parts) // the copy first
	takeIn(t, home, b)
	parts := holdingsOf(t, home).parts
	if alike(parts[changed.ID]) != alike(changed) || alike(parts["a copy"]) != alike(copied) || len(parts) != len(SampleParts())+1 {
		t.Errorf("%d parts; the sample\n%s\nthe copy\n%s", len(parts), record.Encode(parts[changed.ID]), record.Encode(parts["a copy"]))
	}
}

func TestNotesOfACustomerAreKeptTogether(t *testing.T) {
	home, shop := openNew(t), openNew(t)
	known(t, home, Customer{"Wren Alder (invented)", "tall"}, Customer{"Bram Oake (invented)", ""}, Customer{"Cato Ives (invented)", "x"}, Customer{"Dara Fenn (invented)", "left hand"})
	known(t, shop, Customer{"WREN ALDER (invented)", "left hand"}, Customer{"Bram Oake (invented)", "new"}, Customer{"Cato Ives (invented)", ""}, Customer{"Dara Fenn (invented)", "left hand"})
	saveFor(t, shop, KindBuild, "a", "wren alder (INVENTED)", 30)
	got := outcomes(takeIn(t, home, bundle(t, shop, Scope{})))
	want := []Arrival{{"customer", "Bram Oake (invented)", "Bram Oake (invented)", Noted, 0}, {"customer", "WREN ALDER (invented)", "Wren Alder (invented)", Noted, 0}, {"build", "a", "a", Added, 1}}
	if !slices.Equal(got, want) {
		t.Errorf("%+v", got)
	}
	if list := customers(t, home); !slices.Equal(list, []Customer{{"Bram Oake (invented)", "new"}, {"Cato Ives (invented)", "x"}, {"Dara Fenn (invented)", "left hand"}, {"Wren Alder (invented)", "tall / left hand"}}) {
		t.Errorf("%v", list)
	}
	if e := entryOf(t, home, 1); e.Customer != "Wren Alder (invented)" {
		t.Errorf("%+v", e)
	}
}

// All of it comes or nothing.
func TestABundleThatCannotBeTakenInChangesNothing(t *testing.T) {
	w, shop := openNew(t), openNew(t)
	long := strings.Repeat("n", mostNote)
	known(t, w, Customer{"Wren Alder (invented)", "tall"})
	known(t, shop, Customer{"Wren Alder (invented)", long}, Customer{"Bram Oake (invented)", ""})
	mustBeInvalid(t, w, func() error { _, err := w.TakeIn(bundle(t, shop, Scope{}), true); return err }, "Wren Alder", "more than 4000 bytes")
	b := bundle(t, shop, Scope{})
	b.Customers = b.Customers[:1]
	b.Parts = append(b.Parts, aHead("x", 100), aHead("", 101))
	mustBeInvalid(t, w, func() error { _, err := w.TakeIn(b, true); return err }, "must not be empty")
	b.Parts = b.Parts[:len(b.Parts)-1]
	b.Saved = []BundledEntry{{Kind: KindBuild, Name: "a", Revisions: []BundledRevision{{stamp(time.Now()), *oneBuild(30)}}}, {Kind: KindBuild, Name: "b", Revisions: []BundledRevision{{"yesterday", *oneBuild(30)}}}}
	before := records(t, w)
	if _, err := w.TakeIn(b, true); err == nil || !maps.Equal(records(t, w), before) {
		t.Errorf("%v, or something changed", err)
	}
}

// What comes beside another must itself be something that can be taken elsewhere.
func TestANameOfFullLengthComesBeside(t *testing.T) {
	home, shop := openNew(t), openNew(t)
	for _, name := range []string{strings.Repeat("n", mostName), strings.Repeat("é", mostName/2), strings.Repeat("n", mostName-2)} {
		saveFor(t, home, KindBuild, name, "", 30)
		saveFor(t, shop, KindBuild, name, "", 31)
	}
	takeIn(t, home, bundle(t, shop, Scope{}))
	if list, err := home.List(); err != nil || len(list) != 6 {
		t.Errorf("%d entries, %v", len(list), err)
	}
	b := bundle(t, home, Scope{})
	for _, e := range b.Saved {
		if len(e.Name) > mostName {
			t.Errorf("a name of %d bytes", len(e.Name))
		}
	}
	takeIn(t, openNew(t), b)
}

func TestTheWorkingBenchArrivesAsSomethingSaved(t *testing.T) {
	home, shop := openNew(t), openNew(t)
	// The sample bench is everywhere already.
	if got := outcomes(takeIn(t, home, bundle(t, shop, Scope{}))); len(got) > 0 {
		t.Errorf("%+v", got)
	}
	for i, as := range []string{"Working bench", "Working bench (2)"} {
		if err := shop.SaveBench(Bench{Job: oneBuild(30 + float64(i)), View: []byte("theirs")}); err != nil {
			t.Fatal(err)
		}
		b := bundle(t, shop, Scope{})
		got := outcomes(takeIn(t, home, b))
		if want := []Arrival{{"bench", "Working bench", as, []Outcome{Added, Beside}[i], 1}}; !slices.Equal(got, want) {
			t.Errorf("%+v", got)
		}
		e := entryOf(t, home, uint64(i+1))
		if j, err := home.Load(e.ID, 0); err != nil || !j.Equal(oneBuild(30+float64(i))) || e.Name != as || e.Kind != KindBench || stamp(e.Saved) != b.Taken {
			t.Errorf("%+v, %v", e, err)
		}
	}
	if bench, err := home.LoadBench(); err != nil || !bench.Job.Equal(SampleBench()) || len(bench.View) > 0 {
		t.Errorf("the working bench changed: %v", err)
	}
	// One that is the same here needs no second place.
	third := openNew(t)
	if err := third.SaveBench(Bench{Job: oneBuild(31)}); err != nil {
		t.Fatal(err)
	}
	if got := outcomes(takeIn(t, third, bundle(t, shop, Scope{}))); len(got) > 0 {
		t.Errorf("%+v", got)
	}
}

func TestAJobFileArrivesAsASavedBench(t *testing.T) {
	c := newClock()
	w := openAt(t, newPath(t), c)
	when := c.Now().Add(-time.Hour)
	for i, data := range [][]byte{SampleBench().Encode(), append([]byte("\ufeff \n"), SampleBench().Encode()...)} {
		b, err := ReadBundle(data, " from\x1b the\tshop ", when)
		if err != nil {
			t.Fatal(err)
		}
		list, err := w.TakeIn(b, true)
		if want := []Arrival{{"bench", "from␛ the shop", "from␛ the shop", []Outcome{Added, Same}[i], 1 - i}}; err != nil || !slices.Equal(list, want) {
			t.Errorf("%+v, %v", list, err)
		}
	}
	e := entryOf(t, w, 1)
	if j, err := w.Load(e.ID, 0); err != nil || !j.Equal(SampleBench()) || !e.Sample || !e.Saved.Equal(when) || e.Revisions != 1 {
		t.Errorf("%+v, %v", e, err)
	}
	heavy := oneBuild(30)
	heavy.Builds[0].Head.Weight = 2000 * unit.Grain
	_, err := ReadBundle(heavy.Encode(), "x", when)
	mustBeRefusedAt(t, err, "builds[0].head.weight_gr")
	// Whatever its file is called, what arrives can be read back.
	for _, name := range []string{"", " \t", "\u202e", strings.Repeat("n", mostName+1)} {
		w := openNew(t)
		b, err := ReadBundle(SampleBench().Encode(), name, when)
		if err != nil {
			continue
		}
		if _, err := w.TakeIn(b, true); err != nil {
			t.Errorf("%.20q: %v", name, err)
		}
		if list, err := w.List(); err != nil || len(list) != 1 || len(list[0].Name) > mostName {
			t.Errorf("%.20q: %v", name, err)
		}
	}
}

// mustBeRefusedAt fails unless an error names that place.
func mustBeRefusedAt(t *testing.T, err error, path string, words ...string) {
	t.Helper()
	var wrong *record.Error
	if !errors.As(err, &wrong) || wrong.Path != path {
		t.Errorf("want a refusal of %q, got %v", path, err)
		return
	}
	says(t, err, words...)
}

func TestBundlesThatAreRefused(t *testing.T) {
	heavy, two, twice := oneBuild(30), SampleBench(), SampleBench()
	heavy.Builds[0].Head.Weight = 2000 * unit.Grain
	two.Builds = two.Builds[:2]
	twice.Builds[1].Name = twice.Builds[0].Name
	saved := func(kind, more, when string, j *job.Job) string {
		return fmt.Sprintf(`"saved":[{"kind":%q,"name":"a"%s,"revisions":[{"saved":%q,"job":%s}]}]`, kind, more, when, j.Encode())
	}
	const now, format = "2026-01-02T15:04:05Z", `"format":"foreshaft-workbook/1"`
	head := func(id, more string) string {
		return fmt.Sprintf(`{"id":%q,"kind":"head","head":{"name":"h","weight_gr":100}%s}`, id, more)
	}
	long := strings.Repeat("n", mostName+1)
	for name, row := range map[string]struct{ body, path, say string }{
		"a later version":                 {`"format":"foreshaft-workbook/2"`, "format", `must be "foreshaft-workbook/1", got "foreshaft-workbook/2"`},
		"a later version with more in it": {`"format":"foreshaft-workbook/2","targets":[]`, "format", `must be "foreshaft-workbook/1", got "foreshaft-workbook/2"`},
		"a key of no meaning":             {format + `,"people":[]`, "people", "is not a key"},
		"such a key deep inside":          {format + `,` + saved("build", `,"colour":"red"`, now, oneBuild(30)), "saved[0].colour", "is not a key"},
		"a key given twice":               {format + `,"customers":[{"name":"a","name":"b"}]`, "customers[0].name", "twice"},
		"a head too heavy":                {format + `,` + saved("build", "", now, heavy), "saved[0].revisions[0].job.builds[0].head.weight_gr", "0 to 1000"},
		"two builds of a name":            {format + `,` + saved("bench", "", now, twice), "saved[0].revisions[0].job.builds[1].name", "already"},
		"a build that is two":             {format + `,` + saved("build", "", now, two), "saved[0].revisions[0].job.builds", "one build, got 2"},
		"a bow with builds":               {format + `,` + saved("bow", "", now, oneBuild(30)), "saved[0].revisions[0].job", "nothing else"},
		"a bow that is none":              {format + `,` + saved("bow", "", now, job.New()), "saved[0].revisions[0].job.bow", "missing"},
		"a kind of no meaning":            {format + `,` + saved("quiver", "", now, oneBuild(30)), "saved[0].kind", "bench, build or bow"},
		"no time":                         {format + `,` + saved("build", "", "yesterday", oneBuild(30)), "saved[0].revisions[0].saved", `got "yesterday"`},
		"a time without a zone":           {format + `,` + saved("build", "", "2026-01-02T15:04:05", oneBuild(30)), "saved[0].revisions[0].saved", "must be a time"},
		"no revisions":                    {format + `,"saved":[{"kind":"build","name":"a","revisions":[]}]`, "saved[0].revisions", "at least one"},
		"revisions left out":              {format + `,"saved":[{"kind":"build","name":"a"}]`, "saved[0].revisions", "is missing"},
		"a revision without its job":      {format + `,"saved":[{"kind":"build","name":"a","revisions":[{"saved":"` + now + `"}]}]`, "saved[0].revisions[0].job", "is missing"},
		"a name of nothing that shows":    {format + `,"saved":[{"kind":"build","name":"\u202e ","revisions":[]}]`, "saved[0].name", "must not be empty"},
		"tags too long":                   {format + `,` + saved("build", `,"tags":"`+long+`"`, now, oneBuild(30)), "saved[0]", "at most 400 bytes"},
		"an entry's customer too long":    {format + `,` + saved("build", `,"customer":"`+long+`"`, now, oneBuild(30)), "saved[0]", "at most 400 bytes"},
		"a customer too long":             {format + `,"customers":[{"name":"x"},{"name":"` + long + `"}]`, "customers[1]", "at most 400 bytes"},
		"a customer without a name":       {format + `,"customers":[{"note":"x"}]`, "customers[0].name", "is missing"},
		"two parts of one ID":             {format + `,"parts":[` + head("x", "") + `,` + head("y", "") + `,` + head("x", "") + `]`, "parts[2].id", "parts[0]"},
		"an ID too long":                  {format + `,"parts":[` + head(long, "") + `]`, "parts[0].id", "at most 400 bytes"},
		"a head without its piece":        {format + `,"parts":[{"id":"x","kind":"head"}]`, "parts[0]", "must hold a head"},
		"a head that is a nock as well":   {format + `,"parts":[` + head("x", `,"nock":{"name":"n","weight_gr":9}`) + `]`, "parts[0]", "nothing else"},
		"a bench without a time":          {format + `,"bench":` + string(SampleBench().Encode()), "taken", "must be a time"},
		"a bench with two of a name":      {format + `,"taken":"` + now + `","bench":` + string(twice.Encode()), "bench.builds[1].name", "already"},
		"a list that is none":             {format + `,"saved":{}`, "saved", "a list in brackets"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := ReadBundle([]byte("{"+row.body+"}"), "x", time.Now())
			mustBeRefusedAt(t, err, row.path, row.say)
		})
	}
	whole := "{" + format + "," + saved("build", "", now, oneBuild(30)) + "}"
	if _, err := ReadBundle([]byte(whole), "x", time.Now()); err != nil {
		t.Errorf("the good one: %v", err)
	}
	for _, data := range []string{"", "{", "[]", "null", whole[:len(whole)-9], whole + "x", `{"format":7}`, `{"format":"foreshaft-workbook/1"`, "\x00", `{"forma` + "\xff"} {
		b, err := ReadBundle([]byte(data), "x", time.Now())
		var wrong *record.Error
		if !errors.As(err, &wrong) || b != nil && len(b.Saved) > 0 && data == "" {
			t.Errorf("%.30q: %v", data, err)
		}
	}
}

func TestHostileNamesInABundleAreCleaned(t *testing.T) {
	shop := openNew(t)
	j := oneBuild(30)
	j.Builds[0].Name, j.Builds[0].Head.Note = "MARK", "MARK"
	known(t, shop, Customer{"MARK", "MARK"})
	p := aHead("MARK", 100)
	p.Head.Value.Name = "MARK"
	e, _, err := shop.SaveFor(KindBuild, "MARK", "MARK", j)
	if err := errors.Join(err, shop.PutParts(p), shop.Describe(e.ID, "MARK", "MARK", "MARK"), shop.SaveBench(Bench{Job: j})); err != nil {
		t.Fatal(err)
	}
	b, err := shop.Bundle(Scope{})
	if err != nil {
		t.Fatal(err)
	}
	data := bytes.ReplaceAll(b.Encode(), []byte(`"MARK"`), []byte(`" Wren\u001b[31m\u001b]0;x\u0007\u202eAlder\u2066\u0000\n\u009b(invented)\u200b "`))
	b, err = ReadBundle(data, "x", time.Now())
	if err != nil {
		t.Fatal(err)
	}
	w := openNew(t)
	arrivals := takeIn(t, w, b)
	var texts []string
	for _, a := range outcomes(arrivals) {
		texts = append(texts, a.Name, a.As)
	}
	e = entryOf(t, w, 1)
	here := holdingsOf(t, w)
	kept, err := w.Load(e.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	parts, err := w.Parts()
	if err != nil {
		t.Fatal(err)
	}
	last := parts[len(parts)-1]
	texts = append(texts, e.Name, e.Customer, e.Tags, here.customers[0].Name, here.customers[0].Note, last.ID, last.Name(), kept.Builds[0].Name, kept.Builds[0].Head.Note)
	for i, text := range texts {
		if acts(text) || !strings.Contains(text, "Alder") && text != "Working bench" {
			t.Errorf("text %d is %q", i, text)
		}
	}
	if len(outcomes(arrivals)) != 4 {
		t.Errorf("%+v", outcomes(arrivals))
	}
	if acts(string(bytes.Join(bytes.Split(bundle(t, w, Scope{}).Encode(), []byte("\n")), nil))) {
		t.Error("something in the workbook acts")
	}
}

func TestScopesHoldWhatTheyName(t *testing.T) {
	w := openNew(t)
	known(t, w, Customer{"Wren Alder (invented)", "left-handed"}, Customer{"Bram Oake (invented)", "a secret"}, Customer{"Cato Ives (invented)", ""})
	wren := saveFor(t, w, KindBuild, "w-build", "Wren Alder (invented)", 30)
	saveFor(t, w, KindBuild, "w-build", "", 31)
	saveFor(t, w, KindBuild, "b-build", "Bram Oake (invented)", 32)
	saveFor(t, w, KindBuild, "nobody's", "", 33)
	binned := saveFor(t, w, KindBench, "w-bench", "Wren Alder (invented)", 34)
	if err := errors.Join(w.Bin(binned.ID, true), w.PutParts(aHead("own-part", 100)), w.SaveBench(Bench{Job: oneBuild(35), View: []byte("view")})); err != nil {
		t.Fatal(err)
	}
	all := []string{"left-handed", "a secret", "Cato Ives", "Wren Alder", "Bram Oake", "w-build", "b-build", "nobody's", "w-bench", "own-part", `"bench":{"format"`, `"binned":true`}
	for _, row := range []struct {
		of      Scope
		want    []string
		entries int
	}{
		{Scope{}, all, 4},
		{Scope{Drawer: true}, []string{"own-part"}, 0},
		{Scope{Customer: "WREN alder (invented)"}, []string{"left-handed", "Wren Alder", "w-build", "w-bench", `"binned":true`}, 2},
		{Scope{Customer: "Cato Ives (invented)"}, []string{"Cato Ives"}, 0},
		{Scope{Entry: wren.ID}, []string{"left-handed", "Wren Alder", "w-build"}, 1},
		{Scope{Entry: binned.ID}, []string{"left-handed", "Wren Alder", "w-bench", `"binned":true`}, 1},
		{Scope{Entry: 3}, []string{"nobody's"}, 1},
	} {
		b := bundle(t, w, row.of)
		data := string(b.Encode())
		for _, text := range all {
			if got := strings.Contains(data, text); got != slices.Contains(row.want, text) {
				t.Errorf("%+v: %q is in it: %v", row.of, text, got)
			}
		}
		if len(b.Saved) != row.entries || strings.Contains(data, "view") {
			t.Errorf("%+v: %d entries", row.of, len(b.Saved))
		}
		// It makes a whole of its own elsewhere.
		to := openNew(t)
		takeIn(t, to, b)
		if got := bundle(t, to, Scope{}); row.of != (Scope{}) && !row.of.Drawer && !slices.EqualFunc(got.Saved, b.Saved, func(a, b BundledEntry) bool { return string(record.Encode(a)) == string(record.Encode(b)) }) {
			t.Errorf("%+v arrives as\n%s", row.of, got.Encode())
		}
	}
	if b := bundle(t, w, Scope{Entry: wren.ID}); len(b.Saved[0].Revisions) != 2 || !b.Saved[0].Revisions[1].Job.Equal(oneBuild(31)) {
		t.Errorf("%s", b.Encode())
	}
	before := records(t, w)
	_, err := w.Bundle(Scope{Entry: 99})
	if !errors.As(err, new(*NotFoundError)) {
		t.Errorf("%v", err)
	}
	_, err = w.Bundle(Scope{Customer: "Nobody\x1b"})
	says(t, err, "no customer", "Nobody␛")
	if !maps.Equal(records(t, w), before) {
		t.Error("to ask changed something")
	}
}

// Two bundles can be compared line by line: a line each for what they list.
func TestABundleHasALineForEachThing(t *testing.T) {
	w := openNew(t)
	fill(t, w)
	known(t, w, Customer{"Wren Alder (invented)", "line\nend"}, Customer{"Bram Oake (invented)", ""})
	b := bundle(t, w, Scope{})
	lines := strings.Split(string(b.Encode()), "\n")
	have := map[string]bool{}
	for _, line := range lines {
		have[strings.TrimRight(line, ",]}")] = true
	}
	want := 0
	for _, c := range b.Customers {
		want++
		if !have[strings.TrimRight(string(record.Encode(c)), "]}")] {
			t.Errorf("no line for %+v", c)
		}
	}
	for _, p := range b.Parts {
		want++
		if !have[strings.TrimRight(string(record.Encode(p)), "]}")] {
			t.Errorf("no line for %s", p.ID)
		}
	}
	for _, e := range b.Saved {
		want++
		if !have[strings.TrimRight(string(record.Encode(e)), "]}")] {
			t.Errorf("no line for %s", e.Name)
		}
	}
	if len(lines) != want+5 || lines[len(lines)-1] != "" { // the head, three lists, the end of the last line
		t.Errorf("%d lines for %d things", len(lines), want)
	}
}
