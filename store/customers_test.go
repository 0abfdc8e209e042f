package store

import (
	"errors"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	bolt "go.etcd.io/bbolt"
)

// records returns every record of an open workbook, by its bucket and key, and how
// far each bucket has counted.
func records(t testing.TB, w *Workbook) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := w.view(func(tx *bolt.Tx) error {
		return tx.ForEach(func(name []byte, b *bolt.Bucket) error {
			out[string(name)] = string(number(b.Sequence()))
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

func customers(t testing.TB, w *Workbook) []Customer {
	t.Helper()
	list, err := w.Customers()
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// known puts customers into a workbook.
func known(t testing.TB, w *Workbook, list ...Customer) {
	t.Helper()
	for _, c := range list {
		if err := w.PutCustomer("", c); err != nil {
			t.Fatal(err)
		}
	}
}

func saveFor(t testing.TB, w *Workbook, kind Kind, name, customer string, inches float64) Entry {
	t.Helper()
	e, _, err := w.SaveFor(kind, name, customer, oneBuild(inches))
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// entryOf returns an entry as the list has it.
func entryOf(t testing.TB, w *Workbook, id uint64) Entry {
	t.Helper()
	list, err := w.List()
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(list, func(e Entry) bool { return e.ID == id })
	if at < 0 {
		t.Fatalf("there is no entry %d", id)
	}
	return list[at]
}

// mustBeInvalid fails unless a change was refused with those words and changed nothing.
func mustBeInvalid(t testing.TB, w *Workbook, change func() error, words ...string) {
	t.Helper()
	before := records(t, w)
	err := change()
	var invalid *InvalidError
	if !errors.As(err, &invalid) {
		t.Errorf("%v is accepted or another error: %v", words, err)
		return
	}
	says(t, err, words...)
	if !maps.Equal(records(t, w), before) {
		t.Errorf("%v: it was refused, and something changed", words)
	}
}

func TestCustomersAreListedByNameWhateverTheirCapitals(t *testing.T) {
	w := openNew(t)
	if list := customers(t, w); len(list) != 0 {
		t.Errorf("a new workbook has customers: %v", list)
	}
	known(t, w, Customer{"Wren Alder (invented)", "left hand"}, Customer{"bram Oake (invented)", ""}, Customer{"Cato Ives (invented)", "x"}, Customer{"éva Lind (invented)", ""})
	want := []Customer{{"bram Oake (invented)", ""}, {"Cato Ives (invented)", "x"}, {"Wren Alder (invented)", "left hand"}, {"éva Lind (invented)", ""}}
	if got := customers(t, w); !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
	closeAndCheck(t, w)
	if got := customers(t, openAt(t, w.path, newClock())); !slices.Equal(got, want) {
		t.Errorf("after opening again: %v", got)
	}
}

func TestEntriesFollowACustomerWhoIsRenamed(t *testing.T) {
	c := newClock()
	w := openAt(t, newPath(t), c)
	known(t, w, Customer{"Wren Alder (invented)", "first"}, Customer{"Bram Oake (invented)", ""})
	a := saveFor(t, w, KindBuild, "a", "Wren Alder (invented)", 30)
	b := saveFor(t, w, KindBench, "b", "Wren Alder (invented)", 31)
	other := saveFor(t, w, KindBuild, "c", "Bram Oake (invented)", 32)
	none := saveFor(t, w, KindBuild, "d", "", 33)
	if err := w.Bin(b.ID, true); err != nil {
		t.Fatal(err)
	}
	order := listed(t, w)
	c.step(time.Hour)
	// A note alone changes no entry.
	if err := w.PutCustomer("Wren Alder (invented)", Customer{"Wren Alder (invented)", "second"}); err != nil {
		t.Fatal(err)
	}
	if got := customers(t, w); got[1] != (Customer{"Wren Alder (invented)", "second"}) || len(got) != 2 {
		t.Errorf("%v", got)
	}
	for _, name := range []string{"Wren Ash (invented)", "WREN ASH (invented)", "Aby Ash (invented)"} {
		was := entryOf(t, w, a.ID).Customer
		if err := w.PutCustomer(was, Customer{name, "third"}); err != nil {
			t.Fatal(err)
		}
		if got := customers(t, w); len(got) != 2 || !slices.Contains(got, Customer{name, "third"}) {
			t.Errorf("%v", got)
		}
		binned := b
		binned.Customer, binned.Binned = name, true
		named := a
		named.Customer = name
		if got := entryOf(t, w, a.ID); got != named {
			t.Errorf("%+v, want %+v", got, named)
		}
		if got := entryOf(t, w, b.ID); got != binned {
			t.Errorf("%+v, want %+v", got, binned)
		}
	}
	if entryOf(t, w, other.ID) != other || entryOf(t, w, none.ID) != none {
		t.Error("what is another's or nobody's changed")
	}
	if got := listed(t, w); !slices.Equal(got, order) {
		t.Errorf("the order changed: %v, was %v", got, order)
	}
	// The name that was given up is free.
	known(t, w, Customer{"Wren Alder (invented)", "somebody else"})
	if got := entryOf(t, w, a.ID).Customer; got != "Aby Ash (invented)" {
		t.Errorf("the entry went to %q", got)
	}
}

func TestCustomersThatAreRefused(t *testing.T) {
	w := openNew(t)
	known(t, w, Customer{"Wren Alder (invented)", "first"}, Customer{"Bram Oake (invented)", ""})
	saveFor(t, w, KindBuild, "a", "Wren Alder (invented)", 30)
	for name, row := range map[string]struct {
		was string
		c   Customer
		say string
	}{
		"new, of a name that is taken":        {"", Customer{"Bram Oake (invented)", "x"}, `there is a customer "Bram Oake (invented)" already`},
		"new, of that name in other capitals": {"", Customer{"bram OAKE (invented)", "x"}, `there is a customer "Bram Oake (invented)" already`},
		"renamed to another's":                {"Wren Alder (invented)", Customer{"Bram Oake (invented)", "x"}, `"Bram Oake (invented)" already`},
		"renamed to another's in capitals":    {"Wren Alder (invented)", Customer{"BRAM OAKE (INVENTED)", "x"}, `"Bram Oake (invented)" already`},
		"no name":                             {"", Customer{"", "x"}, "it needs a name"},
		"a name of nothing that shows":        {"Wren Alder (invented)", Customer{" \t\u202e\u200b", "x"}, "it needs a name"},
		"a name too long":                     {"", Customer{strings.Repeat("n", mostName+1), "x"}, "at most 400 bytes, got 401"},
		"a note too long":                     {"Wren Alder (invented)", Customer{"Wren Alder (invented)", strings.Repeat("n", mostNote+1)}, "at most 4000 bytes, got 4001"},
	} {
		t.Run(name, func(t *testing.T) {
			mustBeInvalid(t, w, func() error { return w.PutCustomer(row.was, row.c) }, row.say)
		})
	}
	known(t, w, Customer{strings.Repeat("n", mostName), strings.Repeat("n", mostNote)})
}

// hostile is a text that would move the cursor, colour the screen, turn what follows
// around or end the line.
const hostile = " Wren\x1b[31m\x1b]0;x\a\u202eAlder\u2066\x00\n(invented)\xff\u200b "

// acts says that a text may act instead of being read.
func acts(text string) bool {
	return strings.ContainsFunc(text, func(r rune) bool { return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) }) || strings.TrimSpace(text) != text || strings.ToValidUTF8(text, "") != text
}

func TestHostileNamesAreCleaned(t *testing.T) {
	w := openNew(t)
	if err := w.PutCustomer("", Customer{hostile, "note " + hostile}); err != nil {
		t.Fatal(err)
	}
	e, _, err := w.SaveFor(KindBuild, "a", hostile, oneBuild(30))
	if err != nil {
		t.Fatal(err)
	}
	list := customers(t, w)
	if len(list) != 1 || acts(list[0].Name) || acts(list[0].Note) || !strings.Contains(list[0].Name, "Alder") || e.Customer != list[0].Name {
		t.Errorf("%q, entry of %q", list, e.Customer)
	}
	if err := w.Describe(e.ID, "b "+hostile, "other "+hostile, "tags "+hostile); err != nil {
		t.Fatal(err)
	}
	e = entryOf(t, w, e.ID)
	for _, text := range []string{e.Name, e.Customer, e.Tags, customers(t, w)[0].Name} {
		if acts(text) || !strings.Contains(text, "Alder") {
			t.Errorf("%q", text)
		}
	}
	if len(customers(t, w)) != 2 {
		t.Errorf("%q", customers(t, w))
	}
}

func TestSaveForMakesTheCustomerKnown(t *testing.T) {
	w := openNew(t)
	a := saveFor(t, w, KindBuild, "a", " Wren\tAlder (invented) ", 30)
	if a.Customer != "Wren Alder (invented)" {
		t.Errorf("%+v", a)
	}
	if err := w.PutCustomer(a.Customer, Customer{a.Customer, "a note"}); err != nil {
		t.Fatal(err)
	}
	// A name in other capitals is the same customer, as it was spelled first.
	if b := saveFor(t, w, KindBuild, "b", "WREN alder (Invented)", 31); b.Customer != a.Customer {
		t.Errorf("%+v", b)
	}
	if got := customers(t, w); !slices.Equal(got, []Customer{{a.Customer, "a note"}}) {
		t.Errorf("%v", got)
	}
	// Without a customer an entry keeps the one it has, also in a new revision.
	if e := saveFor(t, w, KindBuild, "a", "", 32); e.Customer != a.Customer || e.Revisions != 2 {
		t.Errorf("%+v", e)
	}
	// The same build for another customer is no new revision, but goes to them.
	e, added, err := w.SaveFor(KindBuild, "a", "Bram Oake (invented)", oneBuild(32))
	if err != nil || added || e.Customer != "Bram Oake (invented)" || e.Revisions != 2 {
		t.Errorf("%+v, %v, %v", e, added, err)
	}
	if got := entryOf(t, w, a.ID); got.Customer != "Bram Oake (invented)" {
		t.Errorf("%+v", got)
	}
	// The same again writes nothing.
	before := records(t, w)
	if e := saveFor(t, w, KindBuild, "a", "bram oake (invented)", 32); e.Customer != "Bram Oake (invented)" || !maps.Equal(records(t, w), before) {
		t.Errorf("%+v", e)
	}
	mustBeInvalid(t, w, func() error {
		_, _, err := w.SaveFor(KindBuild, "a", strings.Repeat("x", mostName+1), oneBuild(33))
		return err
	}, "The customer", "at most 400 bytes")
	// A build that is refused makes nobody known.
	mustBeInvalid(t, w, func() error { _, _, err := w.SaveFor(KindBuild, "a", "Nobody", SampleBench()); return err }, "one build")
}

func TestDescribeRenamesAnEntry(t *testing.T) {
	w := openNew(t)
	a := saveFor(t, w, KindBuild, "a", "", 30)
	saveFor(t, w, KindBuild, "a", "", 31)
	b := saveFor(t, w, KindBuild, "b", "", 32)
	saveFor(t, w, KindBench, "free", "", 33) // of another kind, which takes no name from builds
	known(t, w, Customer{"Wren Alder (invented)", "a note"})
	for _, name := range []string{"b", " b ", ""} {
		say := `another build is called "b"`
		if name == "" {
			say = "must not be empty"
		}
		mustBeInvalid(t, w, func() error { return w.Describe(a.ID, name, "Somebody new", "tags") }, "The name", say)
	}
	mustBeInvalid(t, w, func() error { return w.Describe(a.ID, strings.Repeat("x", mostName+1), "Somebody new", "") }, "The name", "at most 400 bytes")
	mustBeInvalid(t, w, func() error { return w.Describe(a.ID, "c", "Somebody new", strings.Repeat("x", mostName+1)) }, "The tags", "at most 400 bytes")
	if err := w.Describe(a.ID, "free", "wren alder (INVENTED)", "red"); err != nil {
		t.Fatal(err)
	}
	got := entryOf(t, w, a.ID)
	if got.Name != "free" || got.Customer != "Wren Alder (invented)" || got.Tags != "red" || got.Revisions != 2 {
		t.Errorf("%+v", got)
	}
	if got := customers(t, w); len(got) != 1 || got[0].Note != "a note" {
		t.Errorf("%v", got)
	}
	// Saved under the new name it is the same entry; the old name is free.
	if e := saveFor(t, w, KindBuild, "free", "", 34); e.ID != a.ID || e.Revisions != 3 {
		t.Errorf("%+v", e)
	}
	if e := saveFor(t, w, KindBuild, "a", "", 35); e.ID == a.ID || e.ID == b.ID || e.Revisions != 1 {
		t.Errorf("%+v", e)
	}
	for revision, inches := range map[int]float64{1: 30, 2: 31, 3: 34} {
		if j, err := w.Load(a.ID, revision); err != nil || !j.Equal(oneBuild(inches)) {
			t.Errorf("revision %d: %v", revision, err)
		}
	}
	// A customer of a new name is made known, and none is none.
	if err := errors.Join(w.Describe(b.ID, "b", "Bram Oake (invented)", ""), w.Describe(a.ID, "free", "", "")); err != nil {
		t.Fatal(err)
	}
	if got := customers(t, w); len(got) != 2 || entryOf(t, w, b.ID).Customer != "Bram Oake (invented)" || entryOf(t, w, a.ID).Customer != "" {
		t.Errorf("%v", got)
	}
}

func TestRestoreMakesAnEarlierRevisionTheNewest(t *testing.T) {
	c := newClock()
	w := openAt(t, newPath(t), c)
	own := oneBuild(29)
	own.Bow.Value.Name = "mine"
	a := save(t, w, KindBuild, "a", own)
	for _, inches := range []float64{30, 31} {
		a = saveFor(t, w, KindBuild, "a", "Wren Alder (invented)", inches)
	}
	saveFor(t, w, KindBuild, "b", "", 33)
	c.step(time.Hour)
	before := records(t, w)
	e, added, err := w.Restore(a.ID, 1)
	if err != nil || !added || e.Revisions != 4 || e.Sample || !e.Saved.Equal(c.Now()) || e.ID != a.ID || e.Customer != a.Customer || e != entryOf(t, w, a.ID) {
		t.Fatalf("%+v, %v, %v", e, added, err)
	}
	if got, want := listed(t, w), []string{"build a 4", "build b 1"}; !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
	for revision, want := range map[int]float64{2: 30, 3: 31} {
		if j, err := w.Load(a.ID, revision); err != nil || !j.Equal(oneBuild(want)) {
			t.Errorf("revision %d: %v", revision, err)
		}
	}
	for _, revision := range []int{1, 4} {
		if j, err := w.Load(a.ID, revision); err != nil || !j.Equal(own) {
			t.Errorf("revision %d: %v", revision, err)
		}
	}
	if times, err := w.Revisions(a.ID); err != nil || len(times) != 4 || !times[3].Saved.Equal(c.Now()) || !times[2].Saved.Equal(a.Saved) {
		t.Errorf("%v, %v", times, err)
	}
	// None of the records of before is gone or changed but the entry's summary and
	// what counts the saves.
	after := records(t, w)
	for key, value := range before {
		if after[key] != value && key != "entries/"+string(number(a.ID)) && key != "revisions" {
			t.Errorf("%q changed", key)
		}
	}
	// What the newest holds already, under whichever number, adds nothing.
	for _, revision := range []int{1, 4} {
		if e, added, err := w.Restore(a.ID, revision); err != nil || added || e.Revisions != 4 || !maps.Equal(records(t, w), after) {
			t.Errorf("%+v, %v, %v", e, added, err)
		}
	}
	for _, row := range []struct {
		id       uint64
		revision int
	}{{a.ID, 5}, {77, 1}, {a.ID, 0}, {a.ID, -1}} {
		_, added, err := w.Restore(row.id, row.revision)
		var missing *NotFoundError
		if !errors.As(err, &missing) || added {
			t.Errorf("number %d, revision %d: %v, %v", row.id, row.revision, added, err)
		}
	}
	if !maps.Equal(records(t, w), after) {
		t.Error("a revision that is not there changed something")
	}
}

func TestEmptyBinDeletesWhatIsInTheBin(t *testing.T) {
	w := openNew(t)
	if n, err := w.EmptyBin(); n != 0 || err != nil {
		t.Errorf("%d, %v", n, err)
	}
	saveFor(t, w, KindBuild, "b", "Bram Oake (invented)", 30)
	saveFor(t, w, KindBuild, "b", "", 31)
	want := records(t, w)
	var last uint64
	for _, name := range []string{"a", "c", "a"} {
		e := saveFor(t, w, KindBuild, name, "Bram Oake (invented)", 32+float64(last)/8)
		bench := saveFor(t, w, KindBench, "b", "", 33+float64(last)/8)
		last = bench.ID
		for _, id := range []uint64{e.ID, bench.ID} {
			if err := w.Bin(id, true); err != nil {
				t.Fatal(err)
			}
		}
	}
	if n, err := w.EmptyBin(); n != 3 || err != nil {
		t.Errorf("%d, %v", n, err)
	}
	got := records(t, w)
	for _, counter := range []string{"entries", "revisions"} { // no number is given twice
		delete(want, counter)
		delete(got, counter)
	}
	if !maps.Equal(got, want) {
		t.Errorf("%d records are left, want %d, or some changed", len(got), len(want))
	}
	if _, err := w.Load(last, 0); !errors.As(err, new(*NotFoundError)) {
		t.Errorf("%v", err)
	}
	if e := saveFor(t, w, KindBench, "b", "", 36); e.Revisions != 1 || e.ID <= last || e.Binned {
		t.Errorf("%+v", e)
	}
	before := records(t, w)
	if n, err := w.EmptyBin(); n != 0 || err != nil || !maps.Equal(records(t, w), before) {
		t.Errorf("%d, %v", n, err)
	}
}
