package store

import (
	"errors"
	"flag"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/arrow"
	"foreshaft/engine/dozen"
	"foreshaft/engine/unit"
)

var writeFixture = flag.Bool("write-fixture", false, "write the workbook of the present schema version to testdata/workbooks, when it is not there")

const fixtures = "../testdata/workbooks"

// TestEveryOldVersionHasAFixture fails when a migration is added without keeping
// a workbook of the version it starts from.
func TestEveryOldVersionHasAFixture(t *testing.T) {
	now := filepath.Join(fixtures, fmt.Sprintf("v%d.db", schemaOf(migrations)))
	if *writeFixture && !exists(now) {
		writeFile(t, now, readFile(t, fixtureNow(t)))
	}
	var want []string
	for version := 1; version <= schemaOf(migrations); version++ {
		want = append(want, fmt.Sprintf("v%d.db", version))
	}
	got, err := filepath.Glob(filepath.Join(fixtures, "v*.db"))
	if err != nil {
		t.Fatal(err)
	}
	for i := range got {
		got[i] = filepath.Base(got[i])
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Fatalf("old workbooks %v, want %v: write the missing one with -write-fixture before adding a migration", got, want)
	}
}

// fixtureNow makes a workbook that has something in every bucket, and one of
// every kind.
func fixtureNow(t *testing.T) string {
	w := openNew(t)
	fill(t, w)
	save(t, w, KindBow, "a bow", BowOf(SampleBench()))
	if err := errors.Join(w.Describe(1, "build 0", "A. Sample (invented)", "kept as a fixture"), w.PutCustomer("A. Sample (invented)", Customer{"A. Sample (invented)", "kept as a fixture too"}), w.Bin(2, true)); err != nil {
		t.Fatal(err)
	}
	bench := oneBuild(30)
	bench.Builds[0].Proven, bench.Builds[0].Proof = true, unit.Some(arrow.Proof{Date: "2026-01-02", Note: "kept as a fixture"})
	bench.Builds[0].Assembly = unit.Some(arrow.Assembly{Quantity: unit.Some(12), Note: "kept as a fixture"})
	bench.Builds[0].Dozen = unit.Some(dozen.Batch{Shafts: []dozen.Piece{{Weight: 300 * unit.Grain}}, Plan: []dozen.Planned{{Shaft: unit.Some(0), Made: true}}})
	if err := w.SaveBench(Bench{Job: bench, View: []byte(`{"depth":1}`)}); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(w.Seat("0a1b-1").Save(Bench{Job: oneBuild(31), View: []byte(`{"depth":2}`)}), w.Seat("0a1b-1").KeepChoices(Settings{Format: SettingsFormat, Theme: "light"})); err != nil {
		t.Fatal(err)
	}
	path, err := w.Backup()
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func TestOldWorkbooksOpen(t *testing.T) {
	old, err := filepath.Glob(filepath.Join(fixtures, "v*.db"))
	if err != nil || len(old) == 0 {
		t.Fatalf("%v, %v", old, err)
	}
	for _, path := range old {
		t.Run(filepath.Base(path), func(t *testing.T) {
			w := openAt(t, copyOf(t, path), newClock())
			// What the samples are today does not matter to an old workbook.
			bench, err := w.LoadBench()
			if err != nil || count(bench.Job) != 30_000 || string(bench.View) != `{"depth":1}` || bench.Job.Bow.Value.Name == "" {
				t.Errorf("bench with view %s, %v", bench.View, err)
			}
			// Schema 3 knows of proven builds.
			if version := filepath.Base(path); version != "v1.db" && version != "v2.db" && bench.Job.Builds[0].Proof.Value.Note != "kept as a fixture" {
				t.Errorf("the record of the build: %+v", bench.Job.Builds[0].Proof)
			}
			// Schema 5 knows how builds are put together and what was weighed for them.
			if version := filepath.Base(path); version > "v4.db" && (bench.Job.Builds[0].Assembly.Value.Note != "kept as a fixture" || bench.Job.Builds[0].Dozen.Value.Made() != 1) {
				t.Errorf("the ticket's part of the build: %+v, %+v", bench.Job.Builds[0].Assembly, bench.Job.Builds[0].Dozen)
			}
			// Schema 6 keeps the benches of several terminals.
			seat, known, err := w.Seat("0a1b-1").Load()
			chosen, errChosen := w.Seat("0a1b-1").Choices()
			if since := filepath.Base(path) > "v5.db"; known != since || err != nil || errChosen != nil || since && (count(seat.Job) != 31_000 || string(seat.View) != `{"depth":2}` || chosen.Theme != "light") {
				t.Errorf("a seat: %v, %+v, %v; %+v, %v", known, seat, err, chosen, errChosen)
			}
			if parts, err := w.Parts(); err != nil || len(parts) < 50 {
				t.Errorf("%d parts, %v", len(parts), err)
			}
			list, err := w.List()
			// The newest is the bow, which schema 1 did not know.
			if err == nil && filepath.Base(path) != "v1.db" {
				if j, err := w.Load(list[0].ID, 0); err != nil || list[0].Kind != KindBow || !j.Bow.Given || len(j.Builds) > 0 {
					t.Errorf("%+v, %v", list[0], err)
				}
				list = list[1:]
			}
			if err != nil || len(list) != 13 {
				t.Fatalf("%d entries, %v", len(list), err)
			}
			first, second := list[12], list[11]
			if first.Customer != "A. Sample (invented)" || first.Tags != "kept as a fixture" || first.Revisions != 2 || !second.Binned {
				t.Errorf("%+v, %+v", first, second)
			}
			// Schema 4 keeps customers; those of before are made of what names them.
			want := Customer{Name: "A. Sample (invented)"}
			if path := filepath.Base(path); path > "v3.db" {
				want.Note = "kept as a fixture too"
			}
			if list, err := w.Customers(); err != nil || len(list) != 1 || list[0] != want {
				t.Errorf("customers %+v, %v", list, err)
			}
			for i, want := range []int{29_000, 30_000} {
				if j, err := w.Load(first.ID, i+1); err != nil || count(j) != want {
					t.Errorf("revision %d: %v", i+1, err)
				}
			}
		})
	}
}

// dump returns every record of a closed workbook, by its bucket and key.
func dump(t *testing.T, path string) map[string]string {
	t.Helper()
	db, err := bolt.Open(path, 0o600, &bolt.Options{ReadOnly: true, Timeout: lockWait})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	out := map[string]string{}
	err = db.View(func(tx *bolt.Tx) error {
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

func TestMigrationAddsCustomersAndChangesNothingElse(t *testing.T) {
	path := copyOf(t, filepath.Join(fixtures, "v1.db"))
	before := dump(t, path)
	closeAndCheck(t, openAt(t, path, newClock()))
	after, number := dump(t, path), "about/schema"
	if before[number] == after[number] {
		t.Error("the number is the same")
	}
	if list := backups(path); len(list) != 1 || list[0].why != "schema1" || !maps.Equal(dump(t, list[0].path), before) {
		t.Errorf("backups %v", names(list))
	}
	delete(before, number)
	delete(after, number)
	const customer = "customers/A. Sample (invented)"
	if !strings.Contains(after[customer], "A. Sample (invented)") {
		t.Errorf("the customer: %q", after[customer])
	}
	delete(after, customer)
	delete(after, "customers")
	if len(before) < 100 || !maps.Equal(before, after) {
		t.Errorf("%d records before, %d after, or some are not the same", len(before), len(after))
	}
}

// A program of schema 1 knows no bows: it must say that the workbook is newer,
// and not take it for damaged and set it aside.
func TestProgramBeforeBowsLeavesThemAlone(t *testing.T) {
	w := openNew(t)
	save(t, w, KindBow, "a bow", BowOf(SampleBench()))
	closeAndCheck(t, w)
	before := readFile(t, w.path)
	_, err := open(w.path, newClock().options(), nil)
	var newer *NewerError
	if !errors.As(err, &newer) || newer.Known != 1 || newer.Schema < 2 {
		t.Errorf("%v", err)
	}
	if !slices.Equal(readFile(t, w.path), before) {
		t.Error("the workbook changed")
	}
}

// addBucket is a step to the next schema that only these tests take.
func addBucket(tx *bolt.Tx) error {
	_, err := tx.CreateBucket([]byte("later"))
	return err
}

func withSteps(steps ...migration) []migration { return append(slices.Clone(migrations), steps...) }

func TestMigrationRunsOnceAfterABackup(t *testing.T) {
	path := filled(t)
	ran := 0
	steps := withSteps(addBucket, func(tx *bolt.Tx) error { ran++; return tx.Bucket([]byte("later")).Put([]byte("key"), nil) })
	for range 2 {
		w, err := open(path, newClock().options(), steps)
		if err != nil {
			t.Fatal(err)
		}
		if list, err := w.List(); err != nil || len(list) != 13 {
			t.Errorf("%d entries, %v", len(list), err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if ran != 1 {
		t.Errorf("ran %d times", ran)
	}
	list := backups(path)
	if len(list) != 1 || list[0].why != fmt.Sprintf("schema%d", schemaOf(migrations)) {
		t.Fatalf("backups %v", names(list))
	}
	// The backup is the old one, and this program refuses the new one.
	openAt(t, copyOf(t, list[0].path), newClock())
	_, err := Open(path, newClock().options())
	var newer *NewerError
	if !errors.As(err, &newer) {
		t.Errorf("%v", err)
	}
}

func TestFailedMigrationChangesNothing(t *testing.T) {
	for name, bad := range map[string]migration{
		"error": func(*bolt.Tx) error { return errors.New("no such thing") },
		"panic": func(*bolt.Tx) error { panic("no such thing") },
	} {
		t.Run(name, func(t *testing.T) {
			path := filled(t)
			_, err := open(path, newClock().options(), withSteps(addBucket, bad))
			var failed *MigrationError
			if !errors.As(err, &failed) || failed.Backup == "" {
				t.Fatalf("%v", err)
			}
			says(t, err, path, "no such thing", "It is as it was", failed.Backup)
			openAt(t, copyOf(t, failed.Backup), newClock())
			w := openAt(t, path, newClock())
			if list, err := w.List(); err != nil || len(list) != 13 || w.Fresh() {
				t.Errorf("%d entries, %v", len(list), err)
			}
		})
	}
}

func TestNewWorkbookNeedsNoMigration(t *testing.T) {
	path := newPath(t)
	w, err := open(path, newClock().options(), withSteps(func(*bolt.Tx) error { return errors.New("ran") }))
	if err != nil {
		t.Fatal(err)
	}
	closeAndCheck(t, w)
}
