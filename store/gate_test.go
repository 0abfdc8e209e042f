package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// largeBook is a closed workbook whose buckets are so large that pages lead to others and
// records go on from one page to the next.
func largeBook(t testing.TB) string {
	t.Helper()
	w, err := Open(newPath(t), newClock().options())
	if err != nil {
		t.Fatal(err)
	}
	for i := range 120 {
		j := oneBuild(28 + float64(i)/100)
		for n := range i % 40 {
			j.Builds[0].Extras = append(j.Builds[0].Extras, part.Extra{Name: fmt.Sprintf("thread %d of many", n), Weight: 1 * unit.Grain})
		}
		if _, _, err := w.Save(KindBuild, fmt.Sprintf("build %d", i), j); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return w.path
}

// bend returns what is damaged so that Open lets it pass and looking through does not: the
// overflow of a page that leads on, a list of free pages that names one in use, the count of
// the last page of a bucket, the id of an inline bucket's page, and a key's length.
func bend(t *testing.T, whole []byte) map[string][]byte {
	t.Helper()
	order, page := binary.NativeEndian, os.Getpagesize()
	walk := walkOf(whole)
	if _, err := walk.start(); err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	damaged := func(name string, do func(data []byte)) {
		data := bytes.Clone(whole)
		do(data)
		out[name] = data
	}
	for id, used := range reached(t, whole) {
		if !used {
			continue
		}
		at := id * page
		flags, count := order.Uint16(whole[at+8:]), order.Uint16(whole[at+10:])
		if count == 0 {
			continue
		}
		switch {
		case flags == isBranch:
			damaged("overflow of a branch", func(data []byte) { order.PutUint32(data[at+12:], 3) })
		case flags == isLeaf && order.Uint32(whole[at+12:]) > 0:
			damaged("overflow of a leaf", func(data []byte) { order.PutUint32(data[at+12:], 0) })
			if free := int(walk.freelist) * page; order.Uint16(whole[free+10:]) > 0 {
				damaged("a page in use is free", func(data []byte) { order.PutUint64(data[free+pageHeader:], uint64(id+1)) })
			}
		case flags == isLeaf && count > 2 && order.Uint32(whole[at+pageHeader:])&isBucket == 0:
			damaged("count of a leaf", func(data []byte) { order.PutUint16(data[at+10:], count-1) })
			damaged("length of a key", func(data []byte) { data[at+pageHeader+8] ^= 1 })
		}
	}
	return out
}

// Nothing is written into a workbook whose pages contradict each other, by whichever call:
// what is there already would be written over.
func TestNothingIsWrittenIntoAWorkbookThatIsBent(t *testing.T) {
	bent := bend(t, readFile(t, largeBook(t)))
	if len(bent) < 5 {
		t.Fatalf("only %d kinds of damage", len(bent))
	}
	passed := 0
	for name, data := range bent {
		path := writeFile(t, newPath(t), data)
		w, err := Open(path, newClock().options())
		if err != nil {
			var damaged *DamagedError
			if !errors.As(err, &damaged) {
				t.Errorf("%s: %v", name, err)
			}
			continue
		}
		passed++
		_, errBackup := w.Backup()
		_, _, errSave := w.Save(KindBuild, "one more", oneBuild(30))
		_, _, errCompact := w.Compact()
		_, errErase := w.Erase("Nobody Atall")
		for call, err := range map[string]error{"bench": w.SaveBench(Bench{Job: oneBuild(30)}), "build": errSave, "parts": w.PutParts(aHead("x", 1)),
			"backup": errBackup, "compact": errCompact, "erase": errErase, "seat": w.Seat("a-1").Save(Bench{Job: oneBuild(30)})} {
			var damaged *DamagedError
			if !errors.As(err, &damaged) {
				t.Errorf("%s: %s: %v", name, call, err)
			}
		}
		if err := w.Close(); err != nil {
			t.Error(err)
		}
		if !bytes.Equal(readFile(t, path), data) {
			t.Errorf("%s: the file changed", name)
		}
		if _, err := Examine(path); err == nil {
			t.Errorf("%s: it is called whole", name)
		}
	}
	if passed == 0 {
		t.Error("Open finds all of it: the test shows nothing of what comes after")
	}
}

// A change waits until the pages were looked through.
func TestAChangeWaitsForTheLook(t *testing.T) {
	w := openNew(t)
	<-w.sound
	w.sound = make(chan struct{})
	done := make(chan error, 1)
	go func() { done <- w.SaveBench(Bench{Job: oneBuild(30)}) }()
	select {
	case err := <-done:
		t.Fatalf("it did not wait: %v", err)
	case <-time.After(50 * time.Millisecond): // as long as it would take
	}
	close(w.sound)
	if err := <-done; err != nil {
		t.Error(err)
	}
}

// A count that was damaged must not lead new records over old ones.
func TestADamagedCountWritesNothingOver(t *testing.T) {
	w := openNew(t)
	fill(t, w)
	list, err := w.List()
	if err != nil {
		t.Fatal(err)
	}
	parts, err := w.Parts()
	if err != nil {
		t.Fatal(err)
	}
	if err := w.update(func(tx *bolt.Tx) error {
		return errors.Join(tx.Bucket(bucketEntries).SetSequence(2), tx.Bucket(bucketParts).SetSequence(3))
	}); err != nil {
		t.Fatal(err)
	}
	for i := range 10 {
		save(t, w, KindBuild, fmt.Sprintf("new %d", i), oneBuild(31))
		if err := w.PutParts(aHead(fmt.Sprintf("new-%d", i), 100)); err != nil {
			t.Fatal(err)
		}
	}
	now, err := w.List()
	if err != nil || len(now) != len(list)+10 {
		t.Errorf("%d saved of %d, %v", len(now), len(list)+10, err)
	}
	if after, err := w.Parts(); err != nil || len(after) != len(parts)+10 {
		t.Errorf("%d parts of %d, %v", len(after), len(parts)+10, err)
	}
	if err := w.update(func(tx *bolt.Tx) error { return tx.Bucket(bucketEntries).SetSequence(2) }); err != nil {
		t.Fatal(err)
	}
	path := copyOf(t, w.path)
	if _, err := Open(path, newClock().options()); err == nil {
		t.Error("a count that is too low passes")
	}
	if err := w.update(func(tx *bolt.Tx) error { return tx.Bucket(bucketEntries).SetSequence(1000) }); err != nil {
		t.Fatal(err)
	}
}

// What is found by name, or by ID, and what is there are the same.
func TestExamineComparesWhatIsThereWithHowItIsFound(t *testing.T) {
	path := filled(t)
	for name, spoil := range map[string]func(tx *bolt.Tx) error{
		"a name is gone": func(tx *bolt.Tx) error { return tx.Bucket(bucketNames).Delete(nameKey(KindBuild, "build 3")) },
		"a name of nothing": func(tx *bolt.Tx) error {
			return putSealed(tx.Bucket(bucketNames), nameKey(KindBuild, "none"), number(9999))
		},
		"an ID is gone":         func(tx *bolt.Tx) error { return tx.Bucket(bucketPartIDs).Delete([]byte(SampleParts()[4].ID)) },
		"a revision is gone":    func(tx *bolt.Tx) error { return tx.Bucket(bucketRevisions).Delete(revisionKey(3, 1)) },
		"a body is gone":        func(tx *bolt.Tx) error { return tx.Bucket(bucketBodies).Delete(revisionKey(3, 1)) },
		"a customer is no JSON": func(tx *bolt.Tx) error { return putSealed(tx.Bucket(bucketCustomers), []byte("x"), []byte("{")) },
	} {
		bad := copyOf(t, path)
		db, err := bolt.Open(bad, 0o600, nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(db.Update(spoil), db.Close()); err != nil {
			t.Fatal(err)
		}
		var damaged *DamagedError
		if h, err := Examine(bad); !errors.As(err, &damaged) {
			t.Errorf("%s: %+v, %v", name, h, err)
		}
	}
}

// A list of free pages that claims to be longer than any file made the database ask for all
// the memory there is before anything could look at it.
func TestAListOfFreePagesWithoutEndIsFound(t *testing.T) {
	whole := readFile(t, largeBook(t))
	order, page := binary.NativeEndian, os.Getpagesize()
	walk := walkOf(whole)
	if _, err := walk.start(); err != nil {
		t.Fatal(err)
	}
	at := int(walk.freelist) * page
	for _, claimed := range []uint64{1 << 33, 1 << 40, 1<<64 - 1} {
		bad := bytes.Clone(whole)
		order.PutUint16(bad[at+10:], manyFree)
		order.PutUint64(bad[at+pageHeader:], claimed)
		path := writeFile(t, newPath(t), bad)
		if _, err := Examine(path); err == nil {
			t.Errorf("%d: it is whole", claimed)
		}
		_, err := Open(path, newClock().options())
		mustBeSetAside(t, err, path, bad)
	}
}

func TestALostHeaderIsTold(t *testing.T) {
	path := filled(t)
	data := readFile(t, path)
	for at := range 2 {
		bad := bytes.Clone(data)
		bad[at*os.Getpagesize()+pageHeader+metaSum] ^= 1
		w, err := Open(writeFile(t, newPath(t), bad), newClock().options())
		if err != nil {
			t.Fatal(err)
		}
		if list := w.Troubles(); len(list) != 1 || !errors.Is(list[0], errHeader) {
			t.Errorf("header %d: %v", at, list)
		}
		if err := errors.Join(w.SaveBench(Bench{Job: oneBuild(30)}), w.SaveBench(Bench{Job: oneBuild(31)}), w.Close(), checkFile(w.path)); err != nil {
			t.Errorf("header %d: %v", at, err)
		}
	}
	if list := openAt(t, path, newClock()).Troubles(); len(list) > 0 {
		t.Errorf("a whole one: %v", list)
	}
}
