package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	bolt "go.etcd.io/bbolt"
	"pgregory.net/rapid"

	"foreshaft/engine/job"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// gone is the customer who is erased in these tests. The name is invented.
const gone = "Quillon Marrowby"

var goneAnywhere = regexp.MustCompile(`(?i)quillon\s+marrowby`)

// twoSpellings is a bench whose builds differ only in the capitals of a name.
func twoSpellings() *job.Job {
	j := SampleBench()
	j.Builds[0].Name, j.Builds[1].Name, j.Builds[2].Name = gone, strings.ToLower(gone), ErasedName
	j.Bow.Value.Proven = j.Builds[1].Name
	j.Baseline = 2
	return j
}

// putGone puts a customer into a workbook, what is saved for them, and their name
// wherever else a name may stand. Once erased it makes the workbook that is to be left:
// nothing of theirs is in it, and ErasedName stands in the place of the name.
func putGone(w *Workbook, erased bool) error {
	var errs []error
	do := func(err error) { errs = append(errs, err) }
	n := func(text string) string {
		if erased {
			return goneAnywhere.ReplaceAllString(text, ErasedName)
		}
		return text
	}
	saveFor := func(kind Kind, name, customer string, j *job.Job) Entry {
		e, _, err := w.SaveFor(kind, name, customer, j)
		do(err)
		return e
	}
	const other = "Tamsin Fell (invented)"
	if !erased {
		do(w.PutCustomer("", Customer{gone, "likes a long walk"}))
	}
	heirs := n("Quillon Marrowby & Heirs (invented)")
	do(w.PutCustomer("", Customer{other, n("sister of QUILLON MARROWBY, and no Marrowbyson")}))
	do(w.PutCustomer("", Customer{heirs, ""}))

	noted := oneBuild(30)
	noted.Builds[0].Name = n("Quillon Marrowby's old one")
	noted.Builds[0].Head.Note = n(`as "Quillon Marrowby" \ of 2020`)
	saveFor(KindBuild, "turned", other, noted)
	if !erased {
		for i := range 3 {
			saveFor(KindBuild, "for the field", gone, oneBuild(29+float64(i)))
		}
		saveFor(KindBow, "a bow of theirs", strings.ToUpper(gone), BowOf(SampleBench()))
		do(w.Bin(saveFor(KindBench, "three of them", gone, SampleBench()).ID, true))
	}
	saveFor(KindBuild, "turned", "", oneBuild(31))
	spare := saveFor(KindBuild, n("spare of quillon marrowby"), heirs, oneBuild(32))
	do(w.Describe(spare.ID, spare.Name, heirs, n("like QUILLON MARROWBY, Marrowbyson")))
	long := BowOf(SampleBench())
	long.Bow.Value.Name, long.Bow.Value.Proven = n("Bow of Quillon Marrowby"), n(gone)
	saveFor(KindBow, "long", "", long)
	if !erased {
		saveFor(KindBench, "two spellings", other, twoSpellings())
	}
	plain := saveFor(KindBuild, "plain", other, oneBuild(33))
	do(w.Describe(plain.ID, "plain", other, "Marrowbyson, quillon"))

	if !erased {
		// What is changed leaves pages behind that still hold what was there.
		for i := range 6 {
			do(w.SaveBench(Bench{Job: twoSpellings(), View: []byte(strings.Repeat(gone+" ", 100+400*i))}))
			do(w.Describe(plain.ID, "plain", gone, strings.Repeat(gone+" ", 1+i*4)))
			do(w.PutCustomer(other, Customer{other, strings.Repeat(gone+" ", 1+i*30)}))
		}
		do(w.PutCustomer(other, Customer{other, "sister of QUILLON MARROWBY, and no Marrowbyson"}))
		do(w.Describe(plain.ID, "plain", other, "Marrowbyson, quillon"))
	}
	atSeat := SampleBench()
	atSeat.Builds[0].Name = n("Quillon Marrowby at the other counter")
	do(w.Seat("0a1b-1").Save(Bench{Job: atSeat, View: []byte(n(`{"name":"Quillon Marrowby"}`))}))
	do(w.Seat("0a1b-1").KeepChoices(Settings{Format: SettingsFormat, Currency: n("Quillon Marrowby")}))
	do(w.Seat("0a1b-2").Save(Bench{Job: oneBuild(34)}))
	named, inNote := aHead("quillon marrowby-7", 100), aHead("plain-1", 101)
	if erased {
		named.ID = "part-1"
	}
	named.Head.Value.Name, named.Head.Value.Note = n("Point of Quillon Marrowby"), n("'Quillon Marrowby'")
	inNote.Head.Value.Note = n("QUILLON marrowby wants these")
	do(w.PutParts(named, inNote))
	j := SampleBench()
	j.Builds[1].Name, j.Bow.Value.Proven = n(gone), n(gone)
	do(w.SaveBench(Bench{Job: j, View: []byte(n(`{"name":"Quillon Marrowby","row":1}`))}))
	return errors.Join(errs...)
}

// whatIsLeft is all that a workbook holds, as its bundle writes it, but for the bench
// of two spellings, which it returns apart.
func whatIsLeft(w *Workbook) (rest string, spellings *job.Job, err error) {
	b, err := w.Bundle(Scope{})
	if err != nil {
		return "", nil, err
	}
	b.Taken = ""
	b.Saved = slices.DeleteFunc(b.Saved, func(e BundledEntry) bool {
		if e.Name == "two spellings" {
			spellings = &e.Revisions[0].Job
		}
		return spellings == &e.Revisions[0].Job
	})
	bench, err := w.LoadBench()
	return string(b.Encode()) + string(bench.View), spellings, err
}

func left(t testing.TB, w *Workbook) (string, *job.Job) {
	t.Helper()
	rest, spellings, err := whatIsLeft(w)
	if err != nil {
		t.Fatal(err)
	}
	return rest, spellings
}

// leftWithout is what putGone says is to be left once the customer is erased.
func leftWithout(t testing.TB) string {
	t.Helper()
	w := openNew(t)
	if err := putGone(w, true); err != nil {
		t.Fatal(err)
	}
	rest, _ := left(t, w)
	return rest
}

// holding lists the files of a folder whose bytes hold a name in any capitals.
func holding(folder, name string) ([]string, error) {
	var out []string
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		if bytes.Contains(bytes.ToLower(data), []byte(strings.ToLower(name))) {
			out = append(out, filepath.Base(path))
		}
		return err
	})
	return out, err
}

func mustBeGone(t testing.TB, w *Workbook, name, when string) {
	t.Helper()
	if files, err := holding(filepath.Dir(w.path), name); err != nil || len(files) > 0 {
		t.Errorf("%s: the name is still in %v, %v", when, files, err)
	}
}

// backUp makes a backup and returns its path.
func backUp(t testing.TB, w *Workbook) string {
	t.Helper()
	path, err := w.Backup()
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// asSchema3 makes a backup one of a program that knew no customers.
func asSchema3(t *testing.T, path string) {
	t.Helper()
	db, err := bolt.Open(path, 0o600, &bolt.Options{Timeout: lockWait})
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) error { return errors.Join(tx.DeleteBucket(bucketCustomers), putSchema(tx, 3)) })
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
}

func TestEraseLeavesNoByteOfTheName(t *testing.T) {
	want := leftWithout(t)
	w := openNew(t)
	if err := putGone(w, false); err != nil {
		t.Fatal(err)
	}
	copies := []string{backUp(t, w), backUp(t, w)}
	asSchema3(t, copies[1])
	bench, err := w.LoadBench()
	if err := errors.Join(err, w.SaveBench(Bench{Job: twoSpellings(), View: []byte(gone)}), w.SaveBench(bench)); err != nil {
		t.Fatal(err)
	}
	copies = append(copies, backUp(t, w))
	if files, err := holding(filepath.Dir(w.path), gone); err != nil || len(files) != 4 {
		t.Fatalf("the name is to be in all four files, and is in %v, %v", files, err)
	}
	// Asking what would be done does nothing.
	before, files := records(t, w), [][]byte{readFile(t, w.path)}
	for _, path := range copies {
		files = append(files, readFile(t, path))
	}
	traces, err := w.Traces("QUILLON marrowby")
	if err != nil {
		t.Fatal(err)
	}
	for i, path := range append([]string{w.path}, copies...) {
		if !bytes.Equal(readFile(t, path), files[i]) {
			t.Errorf("Traces changed %s", path)
		}
	}
	if !maps.Equal(records(t, w), before) {
		t.Error("Traces changed the workbook")
	}
	erased, err := w.Erase("QUILLON marrowby")
	if err != nil {
		t.Fatal(err)
	}
	mustBeGone(t, w, gone, "at once")
	if !reflect.DeepEqual(erased, traces) {
		t.Errorf("Traces says\n%+v, Erase did\n%+v", traces, erased)
	}
	var deleted []string
	for _, e := range erased.Deleted {
		deleted = append(deleted, fmt.Sprintf("%s %s %d %v", e.Kind, e.Name, e.Revisions, e.Binned))
	}
	if want := []string{"build for the field 3 false", "bow a bow of theirs 1 false", "bench three of them 1 true"}; !slices.Equal(deleted, want) {
		t.Errorf("deleted %q", deleted)
	}
	if want := []string{
		"the customer “Quillon Marrowby & Heirs (invented)”", "the customer “Tamsin Fell (invented)”", "the build “spare of quillon marrowby”",
		"1 of the revisions of the build “turned”", "1 of the revisions of the bow “long”", "1 of the revisions of the bench “two spellings”",
		"the head “Point of Quillon Marrowby” of the drawer", "the head “head plain-1” of the drawer", "the bench as it is now", "the bench of another terminal",
	}; !slices.Equal(erased.Renamed, want) {
		t.Errorf("renamed %q", erased.Renamed)
	}
	if !erased.Known || erased.Copies != 3 || len(erased.Left) > 0 || !strings.EqualFold(erased.Customer, gone) {
		t.Errorf("%+v", erased)
	}
	got, spellings := left(t, w)
	if got != want {
		t.Errorf("left is\n%s\nand not\n%s", got, want)
	}
	mustBeToldApart(t, spellings)

	// The workbook goes on as ever.
	if e := saveFor(t, w, KindBuild, "for the field", "Bram Oake (invented)", 30); e.Revisions != 1 {
		t.Errorf("%+v", e)
	}
	after := records(t, w)
	backUp(t, w)
	mustBeGone(t, w, gone, "after going on")
	closeAndCheck(t, w)
	mustBeGone(t, w, gone, "after Close")
	for i, path := range copies {
		if err := checkFile(path); err != nil {
			t.Errorf("%s: %v", path, err)
		}
		copied := openAt(t, copyOf(t, path), newClock())
		got, spellings := left(t, copied)
		mustBeToldApart(t, spellings)
		if i == 1 { // where no customer had a note
			got, _, _ = strings.Cut(got, "\n\"customers\"")
			rest, _, _ := strings.Cut(want, "\n\"customers\"")
			if list, err := copied.List(); got != rest || err != nil || len(list) != 5 {
				t.Errorf("%s: %v, %v", path, list, err)
			}
			if list := customers(t, copied); !slices.Equal(list, []Customer{{"(erased) & Heirs (invented)", ""}, {"Tamsin Fell (invented)", ""}}) {
				t.Errorf("%s: %v", path, list)
			}
		} else if got != want {
			t.Errorf("%s holds\n%s\nand not\n%s", path, got, want)
		}
	}
	w = openAt(t, w.path, newClock())
	if !maps.Equal(records(t, w), after) {
		t.Error("what was saved after is not there when it is opened again")
	}
	if _, interrupted := w.Interrupted(); interrupted || len(backups(w.path)) != 4 {
		t.Errorf("interrupted %v, backups %v", interrupted, names(backups(w.path)))
	}
	mustBeGone(t, w, gone, "after opening it again")
}

// mustBeToldApart fails unless the bench of two spellings still has three builds that
// differ, the second one proven.
func mustBeToldApart(t testing.TB, j *job.Job) {
	t.Helper()
	if j == nil {
		t.Error("the bench of two spellings is gone")
		return
	}
	names := map[string]bool{}
	for i := range j.Builds {
		b := &j.Builds[i]
		names[b.Name] = true
		if !strings.HasPrefix(b.Name, ErasedName) || j.Marked(b) != (i == 1) {
			t.Errorf("build %d is called %q, proven %v", i, b.Name, j.Marked(b))
		}
	}
	if len(names) != 3 || j.Builds[2].Name != ErasedName || j.Baseline != 2 {
		t.Errorf("the names are %v", names)
	}
}

// Others whose names become the same stay others.
func TestWhatBecomesTheSameStaysApart(t *testing.T) {
	w := openNew(t)
	known(t, w, Customer{"Old Quillon Marrowby", "one"}, Customer{"old (erased)", "two"}, Customer{"Old (erased)'s", "three"})
	var want []Entry
	for i, name := range []string{gone, strings.ToUpper(gone), ErasedName, "(erased) 2"} {
		want = append(want, saveFor(t, w, KindBuild, name, "Old Quillon Marrowby", 30+float64(i)))
	}
	save(t, w, KindBench, gone, SampleBench())
	erased, err := w.Erase(gone)
	if err != nil || erased.Known || len(erased.Deleted) > 0 {
		t.Fatalf("%+v, %v", erased, err)
	}
	list, err := w.List()
	if err != nil || len(list) != 5 || list[0].Name != ErasedName || list[0].Kind != KindBench {
		t.Fatalf("%+v, %v", list, err)
	}
	seen := map[string]bool{}
	for i, e := range want {
		got := entryOf(t, w, e.ID)
		j, err := w.Load(e.ID, 0)
		if err != nil || !j.Equal(oneBuild(30+float64(i))) || !strings.HasPrefix(got.Name, ErasedName) || seen[got.Name] || got.Kind != KindBuild {
			t.Errorf("%+v, %v", got, err)
		}
		seen[got.Name] = true
		// Each is found under its name.
		if again := saveFor(t, w, KindBuild, got.Name, "", 30+float64(i)); again.ID != e.ID || again.Revisions != 1 {
			t.Errorf("%q is %+v", got.Name, again)
		}
	}
	notes := map[string]string{}
	for _, c := range customers(t, w) {
		notes[strings.ToLower(c.Name)] = c.Note
	}
	if len(notes) != 3 {
		t.Errorf("two customers have one name: %v", customers(t, w))
	}
	if got := entryOf(t, w, want[0].ID).Customer; notes[strings.ToLower(got)] != "one" {
		t.Errorf("the entry went to %q", got)
	}
}

// A short name could be a part of any word; one of more letters is nobody else's.
func TestWordsThatHoldTheNameStay(t *testing.T) {
	for _, row := range []struct{ name, text, want string }{
		{"Wren", "Wrenfield, McWren, Wren2 and wrens", "Wrenfield, McWren, Wren2 and (erased)s"},
		{"Wren", "Wrenś, Wrenx, Wrensx, Wren\u0301", "Wrenś, Wrenx, Wrensx, Wren\u0301"},
		{"Wren", "Wren-bow of WREN's; (wren)", "(erased)-bow of (erased)'s; ((erased))"},
		{gone, "Quillon Marrowbys, McQuillon Marrowby2 of Marrowbyson", "(erased)s, Mc(erased)2 of Marrowbyson"},
	} {
		w := openNew(t)
		known(t, w, Customer{row.text, row.text}, Customer{row.name, ""})
		e := saveFor(t, w, KindBuild, row.text, row.text, 30)
		if err := w.Describe(e.ID, row.text, row.text, row.text); err != nil {
			t.Fatal(err)
		}
		e = entryOf(t, w, e.ID)
		before := records(t, w)
		backUp(t, w)
		erased, err := w.Erase(row.name)
		if err != nil || !erased.Known || (len(erased.Renamed) > 0) != (row.text != row.want) || len(erased.Deleted)+len(erased.Left) > 0 {
			t.Errorf("%+v, %v", erased, err)
		}
		delete(before, "customers/"+row.name)
		if row.text == row.want && !maps.Equal(records(t, w), before) {
			t.Errorf("%q: a record changed", row.text)
		}
		e.Name, e.Customer, e.Tags = row.want, row.want, row.want
		if got := entryOf(t, w, e.ID); got != e || !slices.Equal(customers(t, w), []Customer{{row.want, row.want}}) {
			t.Errorf("%+v, want %+v, of %+v", got, e, customers(t, w))
		}
	}
}

// Where only a part of the name stands nothing is changed, and a person is told.
func TestPartsOfTheNameStayAndAreNamed(t *testing.T) {
	w := openNew(t)
	known(t, w, Customer{"Bram Oake (invented)", "ask quillon first"}, Customer{gone, ""}, Customer{"Cato Ives (invented)", "Marrowbyson"})
	j := oneBuild(30)
	j.Builds[0].Head.Note = "MARROWBY likes them"
	save(t, w, KindBuild, "with a note", j)
	e := saveFor(t, w, KindBuild, "tagged", "", 31)
	p := aHead("p", 100)
	p.Head.Value.Name = "Quillon's own"
	if err := errors.Join(w.Describe(e.ID, "tagged", "", "for Quillon"), w.PutParts(p), w.SaveBench(Bench{Job: oneBuild(32), View: []byte(`{"name":"quillon"}`)})); err != nil {
		t.Fatal(err)
	}
	before := records(t, w)
	delete(before, "customers/"+gone)
	erased, err := w.Erase(gone)
	if err != nil || len(erased.Renamed)+len(erased.Deleted)+len(erased.Left) > 0 || !maps.Equal(records(t, w), before) {
		t.Errorf("%+v, %v, or a record changed", erased, err)
	}
	for _, place := range []string{"Bram Oake (invented)", "with a note", "tagged", "drawer", "bench"} {
		if n := strings.Count(strings.Join(erased.Alike, "\n"), place); n != 1 {
			t.Errorf("%q is named %d times in %q", place, n, erased.Alike)
		}
	}
	if len(erased.Alike) != 5 {
		t.Errorf("%q", erased.Alike)
	}
}

// Blanks between words are no part of a name: who is meant is the customer.
func TestEraseTakesBlanksForOne(t *testing.T) {
	w := openNew(t)
	saveFor(t, w, KindBuild, "a", gone, 30)
	erased, err := w.Erase(" quillon \t MARROWBY ")
	if err != nil || !erased.Known || len(erased.Deleted) != 1 {
		t.Errorf("%+v, %v", erased, err)
	}
	if list, err := w.List(); err != nil || len(list) > 0 || len(customers(t, w)) > 0 {
		t.Errorf("%v, %v, %v", list, customers(t, w), err)
	}
}

func TestEraseOfANameThatNobodyHas(t *testing.T) {
	w := openNew(t)
	if err := putGone(w, false); err != nil {
		t.Fatal(err)
	}
	fill(t, w)
	copied := backUp(t, w)
	before, inCopy := records(t, w), dump(t, copied)
	erased, err := w.Erase("Nobody Atall")
	if err != nil || !reflect.DeepEqual(erased, &Erased{Customer: "Nobody Atall", Copies: 1}) {
		t.Errorf("%+v, %v", erased, err)
	}
	if !maps.Equal(records(t, w), before) || !maps.Equal(dump(t, copied), inCopy) || !erased.Nothing() {
		t.Error("something changed, or is said to have changed")
	}
	for _, name := range []string{"", " \t", "\u202e"} {
		_, err1 := w.Erase(name)
		_, err2 := w.Traces(name)
		says(t, err1, "without a name")
		says(t, err2, "without a name")
	}
	closeAndCheck(t, w)
	_, err1 := w.Erase(gone)
	_, err2 := w.Traces(gone)
	if !errors.Is(err1, ErrClosed) || !errors.Is(err2, ErrClosed) {
		t.Errorf("%v, %v", err1, err2)
	}
}

func TestEraseInWorkbooksOfEveryVersion(t *testing.T) {
	const name = "A. Sample (invented)"
	old, err := filepath.Glob(filepath.Join(fixtures, "v*.db"))
	if err != nil || len(old) == 0 {
		t.Fatalf("%v, %v", old, err)
	}
	for _, path := range old {
		t.Run(filepath.Base(path), func(t *testing.T) {
			path := copyOf(t, path)
			var copies []string
			for i, other := range old {
				copies = append(copies, writeFile(t, besides(path, fmt.Sprintf("backup-%04d-20260314T092653Z-schema%d", i+1, i+1)), readFile(t, other)))
			}
			w := openAt(t, path, newClock())
			list, err := w.List()
			if err != nil {
				t.Fatal(err)
			}
			erased, err := w.Erase(name)
			if err != nil || !erased.Known || len(erased.Deleted) != 1 || erased.Deleted[0].Name != "build 0" || len(erased.Left) > 0 || erased.Copies < len(old) {
				t.Fatalf("%+v, %v", erased, err)
			}
			mustBeGone(t, w, name, "at once")
			want := slices.DeleteFunc(slices.Clone(list), func(e Entry) bool { return e.Customer == name })
			if after, err := w.List(); err != nil || !slices.Equal(after, want) || len(after) != len(list)-1 || len(customers(t, w)) > 0 {
				t.Errorf("%v, %v", after, err)
			}
			closeAndCheck(t, w)
			mustBeGone(t, w, name, "after Close")
			for i, path := range copies {
				if err := checkFile(path); err != nil {
					t.Errorf("%s: %v", path, err)
				}
				// The one that was erased is as old as it was.
				if got, was := dump(t, path)["about/schema"], dump(t, old[i])["about/schema"]; got != was {
					t.Errorf("%s is of another version now", path)
				}
				copied := openAt(t, copyOf(t, path), newClock())
				// Schema 1 knew no bow.
				if list, err := copied.List(); err != nil || len(list) != 12+min(i, 1) {
					t.Errorf("%s: %d entries, %v", path, len(list), err)
				}
				if parts, err := copied.Parts(); err != nil || len(parts) < 50 {
					t.Errorf("%s: %d parts, %v", path, len(parts), err)
				}
			}
		})
	}
}

// A backup that cannot be read, or is of a newer program, is left alone, and named
// where the name is in it.
func TestWhatCannotBeErasedIsNamed(t *testing.T) {
	start := newPath(t)
	w := openAt(t, start, newClock())
	if err := putGone(w, false); err != nil {
		t.Fatal(err)
	}
	whole := readFile(t, backUp(t, w))
	closeAndCheck(t, w)
	for name, row := range map[string]struct {
		data []byte
		left bool
	}{
		"a record that does not match its checksum": {bytes.ReplaceAll(whole, []byte("sister of QUILLON"), []byte("Sister of QUILLON")), true},
		"cut short":                         {whole[:len(whole)/2], true},
		"no database, with the name":        {[]byte(strings.Repeat("letter to Quillon Marrowby\n", 1000)), true},
		"no database, without the name":     {[]byte(strings.Repeat("letter to somebody else\n", 1000)), false},
		"empty":                             {nil, false},
		"a database of another program":     {readFile(t, foreignDatabase(t)), true},
		"a workbook of a newer program":     {newerWorkbook(t, whole), true},
		"whole, and so nothing to complain": {whole, false},
	} {
		t.Run(name, func(t *testing.T) {
			path := writeFile(t, newPath(t), readFile(t, start))
			copied := writeFile(t, besides(path, "backup-0001-20260314T092653Z-asked"), row.data)
			w := openAt(t, path, newClock())
			erased, err := w.Erase(gone)
			if err != nil || !erased.Known {
				t.Fatalf("%+v, %v", erased, err)
			}
			var want []string
			if row.left {
				want = []string{copied}
			}
			if !slices.Equal(erased.Left, want) {
				t.Errorf("left %v, want %v", erased.Left, want)
			}
			if copies := erased.Copies; copies == 1 != (name == "whole, and so nothing to complain") || copies == 0 && !bytes.Equal(readFile(t, copied), row.data) {
				t.Errorf("%d copies, or it was written though it cannot be read", copies)
			}
			if data := bytes.ToLower(readFile(t, w.path)); bytes.Contains(data, []byte("quillon marrowby")) {
				t.Error("the name is in the workbook")
			}
			if left, err := filepath.Glob(path + tempMark + "*"); err != nil || len(left) > 0 {
				t.Errorf("left behind: %v, %v", left, err)
			}
		})
	}
}

// foreignDatabase is a database that is no workbook, with the name in it.
func foreignDatabase(t *testing.T) string {
	path := newPath(t)
	writeFile(t, path, nil)
	db, err := bolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) error {
		b, err := tx.CreateBucket([]byte("letters"))
		return errors.Join(err, b.Put([]byte("1"), []byte("to Quillon Marrowby")))
	})
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	return path
}

// newerWorkbook is a workbook after a step that this program does not know.
func newerWorkbook(t *testing.T, data []byte) []byte {
	path := writeFile(t, newPath(t), data)
	w, err := open(path, newClock().options(), withSteps(addBucket))
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return readFile(t, path)
}

// A file that was set aside is beside the workbook, too.
func TestFilesThatWereSetAsideAreNamed(t *testing.T) {
	w := openNew(t)
	saveFor(t, w, KindBuild, "a", gone, 30)
	aside := writeFile(t, besides(w.path, "damaged-20260314T092653Z"), []byte("a page of quillon  marrowby"))
	writeFile(t, filepath.Join(filepath.Dir(w.path), "diary.txt"), []byte("my own words about Quillon Marrowby"))
	erased, err := w.Erase(gone)
	if err != nil || !slices.Equal(erased.Left, []string{aside}) {
		t.Errorf("%+v, %v", erased, err)
	}
}

// In a file that cannot be read a name stands as JSON writes it.
func TestNamesWithQuotesAreFoundInFilesThatWereSetAside(t *testing.T) {
	w := openNew(t)
	aside := writeFile(t, besides(w.path, "damaged-20260314T092653Z"), record.Encode(Customer{Name: "x", Note: `for Bo "Ace" Fenn`}))
	if erased, err := w.Erase(`Bo "Ace" Fenn`); err != nil || !slices.Equal(erased.Left, []string{aside}) {
		t.Errorf("%+v, %v", erased, err)
	}
}

// Whatever is wrong with a backup, it keeps nobody from being erased.
func TestDamagedBackupsDoNotStopAnErase(t *testing.T) {
	if testing.Short() {
		t.Skip("runs under the race detector, which checks pointers and ends at the first that a damaged page gives")
	}
	w := openNew(t)
	if err := putGone(w, false); err != nil {
		t.Fatal(err)
	}
	whole := readFile(t, backUp(t, w))
	page := os.Getpagesize()
	done := 0
	for seed := range 60 {
		data := bytes.Clone(whole)
		at := seed % (len(data) / page) * page
		junk := noise(uint64(seed), page)
		switch seed % 3 {
		case 0: // a whole page
			copy(data[at:], junk)
		case 1: // what a page says about itself and its first elements
			copy(data[at+8:at+48], junk)
		case 2: // a bit here and there
			for i := range 6 {
				data[at+int(junk[2*i])*page/256] ^= 1 << (junk[2*i+1] % 8)
			}
		}
		path := writeFile(t, besides(w.path, fmt.Sprintf("backup-%04d-20260314T092653Z-asked", seed+2)), data)
		written, err := w.eraseInBackup(path, gone)
		switch {
		case err != nil:
			t.Errorf("seed %d: %v", seed, err)
		case written:
			done++
			if found, err := holding(path, gone); err != nil || len(found) > 0 || checkFile(path) != nil {
				t.Errorf("seed %d: written and found %v, %v, %v", seed, found, err, checkFile(path))
			}
		case !bytes.Equal(readFile(t, path), data):
			t.Errorf("seed %d: it is left alone, and changed", seed)
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
	}
	if done == 60 {
		t.Error("none was damaged")
	}
	if left, err := filepath.Glob(w.path + tempMark + "*"); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// What a backup still holds of what was there before goes as well, though none of its
// records has the name: in such a page the next record may begin with a letter, and a
// name may stand as JSON writes it.
func TestWhatABackupHoldsOfBeforeGoesToo(t *testing.T) {
	for name, bytesOfBefore := range map[string]string{
		gone:              "build\x00Quillon MarrowbyK\x01\x02",
		"Bo \"Ace\" Fenn": `{"tags":"Bo \"Ace\" Fenn"}`,
		"Zoë Łukasz":      "\x00ZOË Łukasz\x00",
	} {
		w := openNew(t)
		fill(t, w)
		copied := backUp(t, w)
		page := make([]byte, os.Getpagesize())
		copy(page[40:], bytesOfBefore)
		writeFile(t, copied, append(readFile(t, copied), page...))
		inCopy := dump(t, copied)
		erased, err := w.Erase(name)
		if err != nil || erased.Known || erased.Copies != 1 || len(erased.Left) > 0 {
			t.Errorf("%s: %+v, %v", name, erased, err)
		}
		mustBeGone(t, w, strings.Trim(bytesOfBefore, "\x00"), "at once")
		mustBeGone(t, w, name, "at once")
		if err := checkFile(copied); err != nil || !maps.Equal(dump(t, copied), inCopy) {
			t.Errorf("%s: %v, or a record changed", name, err)
		}
	}
}

// The view belongs to the screen: whatever it is made of, the name is not in it
// afterwards, and one without the name is kept to the byte.
func TestViewsOfAnyShape(t *testing.T) {
	w := openNew(t)
	for view, want := range map[string]string{
		`{"name":"Quillon Marrowby"}`:                               `{"name":"(erased)"}`,
		`{"name":"\u0051uillon\u0020Marrowby","on":1e2}`:            `{"name":"(erased)","on":1e2}`,
		"[\"Quillon\\tMarrowby\",\"a \\\"QUILLON MARROWBY\\\" b\"]": `["(erased)","a \"(erased)\" b"]`,
		`[{"id":1},"Quillon Marrowby"]`:                             `[{"id":1},"(erased)"]`,
		`{"Quillon Marrowby":true}`:                                 `{"(erased)":true}`,
		`{"id":"Quillon Marrowby"}`:                                 `{"id":"(erased)"}`,
		`Quillon Marrowby`:                                          `(erased)`,
		"\x00{ QUILLON MARROWBY":                                    "\x00{ (erased)",
		"":                                                          "",
		`{"a":"1 < 2","b":"say \"x\""}`:                             `{"a":"1 < 2","b":"say \"x\""}`,
		`{ "a" : "1 \u003c 2" }`:                                    `{ "a" : "1 \u003c 2" }`,
		`["Marrowbyson, Quillon \u003c"]`:                           `["Marrowbyson, Quillon \u003c"]`,
	} {
		if err := w.SaveBench(Bench{Job: oneBuild(30), View: []byte(view)}); err != nil {
			t.Fatal(err)
		}
		erased, err := w.Erase(gone)
		if err != nil || (len(erased.Renamed) > 0) != (view != want) {
			t.Errorf("%s: %+v, %v", view, erased, err)
		}
		if bench, err := w.LoadBench(); err != nil || string(bench.View) != want || !bench.Job.Equal(oneBuild(30)) {
			t.Errorf("%s became\n%s and not\n%s, %v", view, bench.View, want, err)
		}
	}
}

// A name with what JSON writes otherwise, or with letters of other alphabets, is found
// as well as any.
func TestEraseOfNamesThatAreWrittenOtherwise(t *testing.T) {
	for _, name := range []string{`Jo "Ace" Fenn`, `Back\slash Fenn`, "Zoë Łukasz", "стрела 矢", "O'Fenn & <Sons>", "A", "A. (x)", ".*", "Fenn Fenn"} {
		t.Run(name, func(t *testing.T) {
			w := openNew(t)
			j := oneBuild(30)
			j.Builds[0].Name = "for " + strings.ToUpper(name) + "."
			before := saveFor(t, w, KindBuild, "z", "", 29)
			own := saveFor(t, w, KindBuild, "y", name, 29)
			e := save(t, w, KindBuild, "x", j)
			if err := w.Describe(e.ID, "x of "+name, "", "x "+name+" "+name); err != nil {
				t.Fatal(err)
			}
			backUp(t, w)
			erased, err := w.Erase(strings.ToLower(name))
			if err != nil || !erased.Known || len(erased.Deleted) != 1 || erased.Deleted[0].ID != own.ID {
				t.Fatalf("%+v, %v", erased, err)
			}
			got := entryOf(t, w, e.ID)
			if j, err := w.Load(e.ID, 0); err != nil || j.Builds[0].Name != "for (erased)." || got.Name != "x of (erased)" || got.Tags != "x (erased) (erased)" {
				t.Errorf("%+v, %v", got, err)
			}
			if entryOf(t, w, before.ID) != before {
				t.Error("another's changed")
			}
			if quoted, _ := encode(Customer{Name: name}); len(name) > 3 {
				mustBeGone(t, w, name, "as it is read")
				mustBeGone(t, w, strings.TrimSuffix(strings.TrimPrefix(string(quoted), `{"name":"`), `"}`), "as it is written")
			}
		})
	}
}

// A longer name stands where a short one was, and must still be one that can be read.
func TestErasedTextsKeepTheLimits(t *testing.T) {
	w := openNew(t)
	many := strings.TrimSpace(strings.Repeat("Al, ", mostName/4))
	known(t, w, Customer{many, strings.TrimSpace(strings.Repeat("Al, ", mostNote/4))})
	e := saveFor(t, w, KindBuild, many, many, 30)
	if err := w.Describe(e.ID, many, many, many); err != nil {
		t.Fatal(err)
	}
	if _, err := w.Erase("al"); err != nil {
		t.Fatal(err)
	}
	e = entryOf(t, w, e.ID)
	if err := w.Describe(e.ID, e.Name, e.Customer, e.Tags); err != nil {
		t.Errorf("what is left cannot be saved: %v", err)
	}
	b, err := w.Bundle(Scope{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ReadBundle(b.Encode(), "x", newClock().Now()); err != nil {
		t.Errorf("what is left cannot be taken elsewhere: %v", err)
	}
	mustBeGone(t, w, "al,", "after all")
}

// Erase waits for its turn, and others wait for it.
func TestEraseWhileOthersWork(t *testing.T) {
	w := openNew(t)
	if err := putGone(w, false); err != nil {
		t.Fatal(err)
	}
	errs := make(chan error)
	for i := range 3 {
		go func() {
			var out error
			for n := range 6 {
				_, _, err := w.Save(KindBuild, fmt.Sprintf("of %d", i), oneBuild(30+float64(n)/8))
				_, err2 := w.List()
				out = errors.Join(out, err, err2)
			}
			_, err := w.Backup()
			errs <- errors.Join(out, err)
		}()
	}
	_, err := w.Erase(gone)
	for range 3 {
		err = errors.Join(err, <-errs)
	}
	if err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		if e := saveFor(t, w, KindBuild, fmt.Sprintf("of %d", i), "", 30+5.0/8); e.Revisions != 6 {
			t.Errorf("%+v", e)
		}
	}
	// What is not backed up before is erased in the backup as well.
	mustBeGone(t, w, gone, "afterwards")
}

// A name is found across the pieces in which a file is read, and a longer word is no
// short name because a piece ends in it.
func TestTheNameIsFoundAcrossPieces(t *testing.T) {
	n, short := newNameWord(gone), newNameWord("Wren")
	path := newPath(t)
	const end, begin = 1 << 20, 1<<20 - 4<<10 // of the first piece, and of what the second one begins with
	for _, row := range []struct {
		n    *nameWord
		at   int
		text string
		want bool
	}{
		{n, end - 1, "quillon  MARROWBY", true}, {n, end - 8, "quillon  MARROWBY", true}, {n, end - 17, "quillon  MARROWBY", true}, {n, end, "quillon  MARROWBY", true},
		{n, begin, "Quillon Marrowby", true}, {n, end - 16, "Quillon Marrowby\u0301", false},
		{short, end - 2, "wren", true}, {short, end - 4, "Wren's", true}, {short, begin, "Wren", true}, {short, end - 5, "Wrens", true},
		{short, end - 4, "Wrenfield", false}, {short, end - 5, "Wrenfield", false}, {short, end - 5, "Wrensx", false}, {short, begin - 2, "McWren", false}, {short, 2*end - 4, "Wrenfield", false},
	} {
		for _, behind := range []int{0, 1 << 20} {
			data := append(append(make([]byte, row.at), row.text...), make([]byte, behind)...)
			if found, err := row.n.inFile(writeFile(t, path, data)); err != nil || found != row.want {
				t.Errorf("%q at %d, %d bytes behind it: %v, %v", row.text, row.at, behind, found, err)
			}
		}
	}
	if _, err := n.inFile(path + "none"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v", err)
	}
}

// drawName draws a name of few letters, so that it meets itself often, and some that a
// pattern would take for its own.
func drawName(t *rapid.T) string {
	words := rapid.SliceOfN(rapid.SampledFrom([]string{"a", "ab", "Ann", "é", "K", "ß", "(x)", ".", "b.", "1", "O'n"}), 1, 3).Draw(t, "name")
	return strings.Join(words, " ")
}

// endOfPlace returns where a name ends that stands at a place of a text, in any capitals
// and with any blanks between its words, or -1. A mark behind it would make it another
// name; one of five letters or fewer must be a word, which may have an s behind it, where
// it begins and ends with a letter.
func endOfPlace(text, name string, at int) int {
	ofWord := func(r rune) bool {
		return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.In(r, unicode.Mn, unicode.Me))
	}
	short := utf8.RuneCountInString(name) <= 5
	first, _ := utf8.DecodeRuneInString(name)
	last, _ := utf8.DecodeLastRuneInString(name)
	if before, _ := utf8.DecodeLastRuneInString(text[:at]); short && ofWord(before) && ofWord(first) {
		return -1
	}
	for i, word := range strings.Fields(name) {
		if i > 0 {
			blanks := len(text[at:]) - len(strings.TrimLeft(text[at:], " \t\n\r\f"))
			if blanks == 0 {
				return -1
			}
			at += blanks
		}
		for _, want := range word {
			got, size := utf8.DecodeRuneInString(text[at:])
			if size == 0 || !strings.EqualFold(string(got), string(want)) {
				return -1
			}
			at += size
		}
	}
	after, _ := utf8.DecodeRuneInString(text[at:])
	behind, _ := utf8.DecodeRuneInString(strings.TrimPrefix(text[at:], "s"))
	if unicode.In(after, unicode.Mn, unicode.Me) || short && ofWord(behind) && ofWord(last) {
		return -1
	}
	return at
}

func TestOutLeavesNoPlaceAndTouchesNothingElse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := drawName(t)
		pieces := []string{name, strings.ToUpper(name), strings.ToLower(name), strings.ReplaceAll(name, " ", " \t"), " ", "-", "", "x", "7", "é", "a", "ab", "\x00", "\xff", ErasedName, "\u212a", "e\u0301", "\u0301", "s"}
		text := strings.Join(rapid.SliceOfN(rapid.SampledFrom(pieces), 0, 9).Draw(t, "text"), rapid.SampledFrom([]string{"", " "}).Draw(t, "between"))
		want, found := "", false
		for at := 0; at < len(text); {
			if end := endOfPlace(text, name, at); end > 0 {
				want, at, found = want+ErasedName, end, true
				continue
			}
			_, size := utf8.DecodeRuneInString(text[at:])
			want, at = want+text[at:at+size], at+size
		}
		n := newNameWord(name)
		got := n.out(text)
		if got != want || n.in(text) != found {
			t.Fatalf("%q out of %q is %q, want %q; found %v", name, text, got, want, n.in(text))
		}
		for at := range got {
			if endOfPlace(got, name, at) > 0 {
				t.Fatalf("%q is still in %q, of %q", name, got, text)
			}
		}
	})
}

// A part of a JSON record is replaced in its texts alone.
func TestOutOfJSONKeepsTheRecord(t *testing.T) {
	n := newNameWord("Compound")
	j := SampleBench() // whose bow is a compound
	j.Bow.Value.Name, j.Builds[0].Name, j.Builds[1].Name = "compound", "Compound", "COMPOUND"
	j.Search = unit.Some(job.Search{Sort: "launch_speed"})
	data, err := n.outOfJSON(j.Encode())
	if err != nil {
		t.Fatal(err)
	}
	want := j.Clone()
	want.Bow.Value.Name, want.Builds[0].Name, want.Builds[1].Name = "(erased)", "(erased) 2", "(erased) 3"
	if string(data) != string(want.Encode()) {
		t.Errorf("%s\nand not\n%s", data, want.Encode())
	}
	if _, err := n.outOfJSON([]byte(`{"a":`)); err == nil {
		t.Error("half a record is no error")
	}
}

// The time of a revision does not change when its text does.
func TestErasedEntriesKeepTheirTimesAndOrder(t *testing.T) {
	c := newClock()
	w := openAt(t, newPath(t), c)
	for i, name := range []string{"a " + gone, "b", "c " + gone} {
		saveFor(t, w, KindBuild, name, "", 30+float64(i))
		c.step(time.Hour)
	}
	saveFor(t, w, KindBuild, "a "+gone, "", 40)
	before, err := w.List()
	if err != nil {
		t.Fatal(err)
	}
	c.step(time.Hour)
	if _, err := w.Erase(gone); err != nil {
		t.Fatal(err)
	}
	after, err := w.List()
	for i := range before {
		before[i].Name = strings.ReplaceAll(before[i].Name, gone, ErasedName)
	}
	if err != nil || !slices.Equal(after, before) {
		t.Errorf("%v, %v", after, err)
	}
}

// A page that leads back to where it came from is found before the database follows it
// round and round.
func TestPagesInACircleAreFound(t *testing.T) {
	w := openNew(t)
	for i := range 400 { // so many that some page leads to others
		save(t, w, KindBuild, fmt.Sprintf("build %d", i), oneBuild(30))
	}
	whole := backUp(t, w)
	if err := checkPages(whole); err != nil {
		t.Fatalf("a whole one: %v", err)
	}
	data, page := readFile(t, whole), os.Getpagesize()
	circles := 0
	for at := 2 * page; at < len(data); at += page {
		if binary.NativeEndian.Uint16(data[at+8:]) != isBranch || binary.NativeEndian.Uint64(data[at:]) != uint64(at/page) {
			continue
		}
		bad := bytes.Clone(data)
		binary.NativeEndian.PutUint64(bad[at+pageHeader+8:], uint64(at/page))
		path := writeFile(t, besides(w.path, fmt.Sprintf("backup-%04d-20260314T092653Z-asked", 100+circles)), bad)
		found := checkPages(path)
		if found == nil {
			continue // nothing leads to the page any more
		}
		says(t, found, "two ways lead to page")
		if written, err := w.eraseInBackup(path, "Nobody Atall"); written || err != nil {
			t.Errorf("a circle at page %d: %v, %v", at/page, written, err)
		}
		opened := writeFile(t, newPath(t), bad)
		_, err := Open(opened, newClock().options())
		mustBeSetAside(t, err, opened, bad)
		circles++
	}
	if circles == 0 {
		t.Fatal("no page in use leads to others")
	}
	for name, bad := range map[string][]byte{"cut short": data[:len(data)/2], "empty": nil, "no database": bytes.Repeat([]byte("words "), 5000), "header alone": data[:page]} {
		if err := checkPages(writeFile(t, newPath(t), bad)); err == nil {
			t.Errorf("%s passes", name)
		}
	}
}

// Whatever word the format has for a choice, a customer may be called so: what is left can be
// read as before.
func TestNoWordOfTheFormatIsTakenForAName(t *testing.T) {
	data := readFile(t, filepath.Join("..", "testdata", "jobs", "full.json"))
	full, err := job.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	words := map[string]bool{}
	for _, m := range regexp.MustCompile(`one:"([^"]*)"`).FindAllStringSubmatch(tagsOf(t), -1) {
		for _, w := range strings.Split(m[1], ",") {
			words[w] = true
		}
	}
	if len(words) < 15 {
		t.Fatalf("%d words: %v", len(words), words)
	}
	for word := range words {
		clean := Without(word, full)
		if len(clean.Builds) != 1 || !clean.Builds[0].SamePieces(&full.Builds[0]) || clean.Builds[0].Assembly.Value.Fletching != full.Builds[0].Assembly.Value.Fletching || clean.Bow.Value.Kind != full.Bow.Value.Kind {
			t.Errorf("without %q the job is another: %s", word, clean.Encode())
		}
	}
}

// tagsOf returns the source of the types that a job is made of.
func tagsOf(t *testing.T) string {
	t.Helper()
	var out strings.Builder
	files, err := filepath.Glob(filepath.Join("..", "engine", "*", "*.go"))
	if err != nil || len(files) == 0 {
		t.Fatalf("%v, %v", files, err)
	}
	for _, f := range files {
		out.Write(readFile(t, f))
	}
	return out.String()
}
