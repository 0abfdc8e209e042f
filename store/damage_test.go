package store

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/job"
)

// mustBeSetAside checks that damage was refused, that the damaged bytes lie
// beside the workbook, and that the next start gets a new one.
func mustBeSetAside(t *testing.T, err error, path string, want []byte) {
	t.Helper()
	var damaged *DamagedError
	if !errors.As(err, &damaged) {
		t.Fatalf("not damaged: %v", err)
	}
	says(t, err, path, "damaged", "set aside unchanged", "nothing was deleted")
	if damaged.SetAside == "" || filepath.Dir(damaged.SetAside) != filepath.Dir(path) || exists(path) {
		t.Fatalf("set aside as %q, still there %v", damaged.SetAside, exists(path))
	}
	if !slices.Equal(readFile(t, damaged.SetAside), want) {
		t.Errorf("%s is not what it was", damaged.SetAside)
	}
	if exists(ownerPath(path)) {
		t.Error("the owner file was left behind")
	}
	begin := time.Now()
	if w := openAt(t, path, newClock()); !w.Fresh() {
		t.Error("the next start is not a new workbook")
	}
	if took := time.Since(begin); took > lockWait/2 {
		t.Errorf("the next start took %v: a lock was kept", took)
	}
}

func TestTruncatedFileIsSetAside(t *testing.T) {
	whole := readFile(t, filled(t))
	page := os.Getpagesize()
	pages := len(whole) / page
	if pages < 12 {
		t.Fatalf("only %d pages: nothing to cut", pages)
	}
	sizes := []int{1, 100, page - 1, page + 17, len(whole) - 1}
	if damageRounds() > 0 {
		for at := range pages - 1 {
			sizes = append(sizes, (at+1)*page)
		}
	} else {
		for _, at := range []int{1, 2, 3, 4, 5, 8, pages / 2, pages - 2, pages - 1} {
			sizes = append(sizes, at*page)
		}
	}
	for _, size := range sizes {
		t.Run(fmt.Sprint(size), func(t *testing.T) {
			path := writeFile(t, newPath(t), whole[:size])
			_, err := Open(path, newClock().options())
			mustBeSetAside(t, err, path, whole[:size])
		})
	}
}

// damageVariable asks for more damaged files than a test run has time for, and for a cut at
// the end of every page.
const damageVariable = "FORESHAFT_DAMAGE"

func damageRounds() uint64 {
	n, _ := strconv.ParseUint(os.Getenv(damageVariable), 10, 32) // nothing is no wish
	return n
}

func noise(seed uint64, size int) []byte {
	r := rand.New(rand.NewPCG(seed, 1))
	out := make([]byte, size)
	for i := range out {
		out[i] = byte(r.Uint32())
	}
	return out
}

func TestNoiseInPlaceOfAWorkbookIsSetAside(t *testing.T) {
	for seed := range uint64(8) {
		data := noise(seed, 1+int(seed)*9000)
		path := writeFile(t, newPath(t), data)
		_, err := Open(path, newClock().options())
		mustBeSetAside(t, err, path, data)
	}
}

// TestNoiseOverAnyPageNeverCrashesOrLies overwrites parts of a good workbook and
// then uses all of it. Whatever is returned must be what was stored.
func TestNoiseOverAnyPageNeverCrashesOrLies(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	whole := readFile(t, filled(t))
	truth := truthOf(t, whole)
	page := os.Getpagesize()
	refused, noticed := 0, 0
	rounds := uint64(250)
	if n := damageRounds(); n > 0 {
		rounds = n
	}
	for seed := range rounds {
		r := rand.New(rand.NewPCG(seed, 2))
		data := slices.Clone(whole)
		for range 1 + r.IntN(2) {
			at, size := r.IntN(len(data)/page)*page, page
			switch seed % 3 {
			case 0:
				at, size = r.IntN(len(data)), 1+r.IntN(64)
			case 1: // where a page says what it is and where it leads
				at, size = at+8+r.IntN(500), 1
			}
			copy(data[at:], noise(r.Uint64(), min(size, len(data)-at)))
		}
		path := writeFile(t, newPath(t), data)
		w, err := Open(path, newClock().options())
		if err != nil {
			var damaged *DamagedError
			if !errors.As(err, &damaged) || damaged.SetAside == "" {
				t.Fatalf("seed %d: %v", seed, err)
			}
			refused++
			continue
		}
		if errs := useAll(t, w, truth); len(errs) > 0 {
			noticed++
			for _, err := range errs {
				var damaged *DamagedError
				var missing *NotFoundError // when the way to a record is lost
				if !errors.As(err, &damaged) && !errors.As(err, &missing) {
					t.Errorf("seed %d: %v", seed, err)
				}
			}
		}
		if err := w.Close(); err != nil {
			t.Errorf("seed %d: close: %v", seed, err)
		}
	}
	t.Logf("%d files: %d refused by Open, %d noticed in use", rounds, refused, noticed)
	if refused == 0 || noticed == 0 {
		t.Error("the noise did not reach both Open and later reading")
	}
}

// truth is what a workbook held before it was damaged.
type truth struct {
	parts  map[string]bool
	jobs   map[string]bool
	names  map[string]bool
	bench  *job.Job
	counts int
}

func truthOf(t *testing.T, data []byte) truth {
	t.Helper()
	w := openAt(t, writeFile(t, newPath(t), data), newClock())
	out := truth{parts: map[string]bool{}, jobs: map[string]bool{}, names: map[string]bool{}}
	bench, err := w.LoadBench()
	if err != nil {
		t.Fatal(err)
	}
	out.bench = bench.Job
	parts, _ := w.Parts()
	for _, p := range parts {
		out.parts[fmt.Sprint(p)] = true
	}
	list, _ := w.List()
	for _, e := range list {
		out.names[e.Name] = true
		for r := 1; r <= e.Revisions; r++ {
			j, err := w.Load(e.ID, r)
			if err != nil {
				t.Fatal(err)
			}
			out.jobs[string(j.Encode())] = true
			out.counts++
		}
	}
	if len(out.parts) < 50 || out.counts != 25 {
		t.Fatalf("%d parts, %d revisions", len(out.parts), out.counts)
	}
	return out
}

// useAll reads and writes everything and returns the errors. It fails when
// something comes back that was never stored.
func useAll(t *testing.T, w *Workbook, was truth) (errs []error) {
	note := func(err error) {
		if err != nil {
			errs = append(errs, err)
		}
	}
	bench, err := w.LoadBench()
	note(err)
	if err == nil && !bench.Job.Equal(was.bench) {
		t.Error("a bench that was never stored")
	}
	parts, err := w.Parts()
	note(err)
	for _, p := range parts {
		if !was.parts[fmt.Sprint(p)] {
			t.Errorf("a part that was never stored: %v", p)
		}
	}
	list, err := w.List()
	note(err)
	for _, e := range list {
		if !was.names[e.Name] {
			t.Errorf("an entry that was never stored: %v", e)
		}
		_, err := w.Revisions(e.ID)
		note(err)
		for r := 1; r <= e.Revisions; r++ {
			j, err := w.Load(e.ID, r)
			note(err)
			if err == nil && !was.jobs[string(j.Encode())] {
				t.Error("a job that was never stored")
			}
		}
	}
	before := stillRead(w)
	_, err = w.Backup()
	note(err)
	note(w.SaveBench(Bench{Job: oneBuild(31)}))
	_, _, err = w.Save(KindBuild, "build 3", oneBuild(31))
	note(err)
	for i := range 6 {
		_, _, err = w.Save(KindBuild, fmt.Sprintf("after the damage %d", i), oneBuild(32))
		note(err)
		note(w.PutParts(aHead(fmt.Sprintf("after-%d", i), 100)))
	}
	note(w.PutParts(SampleParts()...))
	// What is written must not take with it what could be read.
	after := stillRead(w)
	for what := range before {
		if !after[what] {
			t.Errorf("writing lost %.80s", what)
		}
	}
	return errs
}

// stillRead is what can be read of a workbook, damaged or not.
func stillRead(w *Workbook) map[string]bool {
	out := map[string]bool{}
	list, _ := w.List()
	for _, e := range list {
		for r := 1; r <= e.Revisions; r++ {
			if j, err := w.Load(e.ID, r); err == nil {
				out[fmt.Sprintf("%d, %d: %s", e.ID, r, j.Encode())] = true
			}
		}
	}
	parts, _ := w.Parts()
	for _, p := range parts {
		out[p.ID] = true
	}
	return out
}

func TestMissingBucketIsDamageNotANewWorkbook(t *testing.T) {
	for _, name := range allBuckets {
		t.Run(string(name), func(t *testing.T) {
			path := filled(t)
			db, err := bolt.Open(path, 0o600, nil)
			if err != nil {
				t.Fatal(err)
			}
			err = db.Update(func(tx *bolt.Tx) error { return tx.DeleteBucket(name) })
			if err = errors.Join(err, db.Close()); err != nil {
				t.Fatal(err)
			}
			data := readFile(t, path)
			_, err = Open(path, newClock().options())
			says(t, err, string(name), "is missing")
			mustBeSetAside(t, err, path, data)
		})
	}
}

// The database falls back one transaction when the first header page is lost;
// just after creation that is a state without any bucket.
func TestLostHeaderPageIsDamageNotANewWorkbook(t *testing.T) {
	w := openNew(t)
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	data := readFile(t, w.path)
	clear(data[:os.Getpagesize()])
	path := writeFile(t, newPath(t), data)
	_, err := Open(path, newClock().options())
	mustBeSetAside(t, err, path, data)
}

func TestDamagedBenchIsSetAside(t *testing.T) {
	path := filled(t)
	db, err := bolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) error {
		b := tx.Bucket(bucketBench)
		value := slices.Clone(b.Get(keyJob))
		value[len(value)/2] ^= 1
		return b.Put(keyJob, value)
	})
	if err = errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	data := readFile(t, path)
	_, err = Open(path, newClock().options())
	says(t, err, "the bench", "checksum")
	mustBeSetAside(t, err, path, data)
}

func TestDamageNamesTheNewestBackupAndNeverOverwritesWhatWasSetAside(t *testing.T) {
	w := openNew(t)
	if _, err := w.Backup(); err != nil {
		t.Fatal(err)
	}
	newest, err := w.Backup()
	if err = errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	aside := map[string]bool{}
	for range 3 {
		writeFile(t, w.path, noise(5, 30000))
		_, err := Open(w.path, newClock().options())
		var damaged *DamagedError
		if !errors.As(err, &damaged) || damaged.Backup != newest {
			t.Fatalf("backup %v, want %s", err, newest)
		}
		says(t, err, newest, "foreshaft restore --workbook")
		aside[damaged.SetAside] = true
	}
	if len(aside) != 3 {
		t.Errorf("set aside under %v", aside)
	}
	// What the sentence says works.
	writeFile(t, w.path, readFile(t, newest))
	if again := openAt(t, w.path, newClock()); again.Fresh() {
		t.Error("the backup is not a workbook")
	}
}

// damageBodies overwrites what the workbook saved, past its first pages, while
// it is open.
func damageBodies(t *testing.T, w *Workbook, word string) {
	t.Helper()
	data := readFile(t, w.path)
	f, err := os.OpenFile(w.path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	hits := 0
	for at := 0; ; hits++ {
		next := strings.Index(string(data[at:]), word)
		if next < 0 {
			break
		}
		at += next
		if _, err := f.WriteAt([]byte("?"), int64(at)); err != nil {
			t.Fatal(err)
		}
		at++
	}
	if err := f.Close(); err != nil || hits == 0 {
		t.Fatalf("%d places, %v", hits, err)
	}
}

func TestDamageFoundLaterIsAnErrorAndTheRestGoesOn(t *testing.T) {
	w, err := Open(filled(t), newClock().options())
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	w.upkeep.Wait()
	good := backups(w.path)
	damageBodies(t, w, `build 7"`)
	list, err := w.List()
	says(t, err, w.path, "damaged", "checksum", "Nothing was deleted")
	if len(list) != 12 {
		t.Errorf("%d of 13 entries are readable", len(list))
	}
	for _, e := range list {
		if _, err := w.Load(e.ID, 0); err != nil {
			t.Errorf("%s: %v", e.Name, err)
		}
	}
	damageBodies(t, w, SampleParts()[5].ID+`"`)
	parts, err := w.Parts()
	says(t, err, "part", "damaged")
	if len(parts) != len(SampleParts())-1 {
		t.Errorf("%d parts are readable", len(parts))
	}
	if err := w.SaveBench(Bench{Job: oneBuild(30)}); err != nil {
		t.Errorf("the bench is not kept any more: %v", err)
	}
	if _, err := w.Backup(); err == nil {
		t.Error("a damaged workbook passed for a good backup")
	}
	if got := backups(w.path); len(got) != 1 || got[0] != good[0] {
		t.Errorf("backups: %v, want %v", got, good)
	}
}

func TestFileCutShortWhileOpenIsAnErrorNotACrash(t *testing.T) {
	w, err := Open(filled(t), newClock().options())
	if err != nil {
		t.Fatal(err)
	}
	w.upkeep.Wait()
	if err := os.Truncate(w.path, 2*int64(os.Getpagesize())); err != nil {
		t.Fatal(err)
	}
	_, errBench := w.LoadBench()
	_, errParts := w.Parts()
	_, errList := w.List()
	errSave := w.SaveBench(Bench{Job: oneBuild(30)})
	for _, err := range []error{errBench, errParts, errList, errSave} {
		var damaged *DamagedError
		if !errors.As(err, &damaged) {
			t.Errorf("%v", err)
		}
	}
	done := make(chan error, 1)
	go func() { done <- w.Close() }()
	select {
	case <-done: // whether it can be closed cleanly does not matter
	case <-time.After(10 * time.Second):
		t.Fatal("Close hangs on a damaged workbook")
	}
	db, err := bolt.Open(writeFile(t, w.path, nil), 0o600, &bolt.Options{Timeout: 100 * time.Millisecond})
	if err != nil {
		t.Fatalf("the lock was kept: %v", err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}
