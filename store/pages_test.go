package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"testing"
)

// waysOf looks at a file's bytes as Open does.
func waysOf(data []byte) error {
	_, err := checkWays(bytes.NewReader(data), int64(len(data)))
	return err
}

func walkOf(data []byte) pageWalk {
	return pageWalk{file: bytes.NewReader(data), length: uint64(len(data))}
}

// reached returns which pages a way leads to, without those that they go on in.
func reached(t *testing.T, data []byte) []bool {
	t.Helper()
	w := walkOf(data)
	if err := w.whole(func(root uint64) error { return w.page(root, nil) }); err != nil {
		t.Fatal(err)
	}
	for id := range w.seen {
		at := id * os.Getpagesize()
		if !w.seen[id] || binary.NativeEndian.Uint64(data[at:]) != uint64(id) {
			continue
		}
		for n := range int(binary.NativeEndian.Uint32(data[at+12:])) {
			w.seen[id+1+n] = false
		}
	}
	return w.seen
}

// What Open looks at is little of the file, and finds every way that leads to a page twice
// or to a free one, wherever in a page that leads on it stands.
func TestEveryWayThatIsBentIsFoundByOpen(t *testing.T) {
	w := openNew(t)
	for i := range 600 { // so many that pages lead to others, and some became free
		save(t, w, KindBuild, fmt.Sprintf("build %d", i), oneBuild(28+float64(i)/300))
	}
	closeAndCheck(t, w)
	data, page := readFile(t, w.path), os.Getpagesize()
	if err := waysOf(data); err != nil {
		t.Fatalf("a whole one: %v", err)
	}
	order := binary.NativeEndian
	// The pages in use that lead to others, by the same walk that an erase makes.
	whole := reached(t, data)
	free := walkOf(data)
	if err := free.whole(func(uint64) error { return free.free() }); err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(3, 4))
	bent := 0
	for id, used := range whole {
		at := id * page
		if !used || order.Uint16(data[at+8:]) != isBranch {
			continue
		}
		for i := range int(order.Uint16(data[at+10:])) {
			place := at + pageHeader + i*pageElement + 8
			other := uint64(r.IntN(len(whole)))
			if other == order.Uint64(data[place:]) {
				continue
			}
			bad := bytes.Clone(data)
			order.PutUint64(bad[place:], other)
			bent++
			// The page that lost its way in is not missed; another must not have two.
			// Of others, the headers of the file and what goes on from one page to the
			// next, the database sees that they are no pages.
			if err := waysOf(bad); err == nil && (whole[other] || free.seen[other]) {
				t.Errorf("page %d leads to %d in place of %d, and nothing is found: used %v, free %v", id, other, order.Uint64(data[place:]), whole[other], free.seen[other])
			}
		}
	}
	if bent < 10 {
		t.Fatalf("%d ways were bent", bent)
	}
}

// A small bucket lies inside a page. One whose own page says that it leads on, to page 0,
// led the database to itself until the memory was gone: noise that met its flags did that.
func TestASmallBucketThatLeadsToItselfIsFound(t *testing.T) {
	w := openNew(t)
	closeAndCheck(t, w)
	whole := readFile(t, w.path)
	walk := walkOf(whole)
	root, err := walk.start()
	if err != nil {
		t.Fatal(err)
	}
	order, at := binary.NativeEndian, int(root)*os.Getpagesize()
	found := 0
	for i := range int(order.Uint16(whole[at+10:])) {
		element := at + pageHeader + i*pageElement
		value := element + int(order.Uint32(whole[element+4:])) + int(order.Uint32(whole[element+8:]))
		if order.Uint64(whole[value:]) != 0 {
			continue
		}
		found++
		for _, flags := range []uint16{0, isBranch, 0x04, isFreelist, isBranch | isLeaf, 0x1202} {
			bad := bytes.Clone(whole)
			order.PutUint16(bad[value+bucketStart+8:], flags)
			path := writeFile(t, newPath(t), bad)
			_, err := Open(path, newClock().options())
			mustBeSetAside(t, err, path, bad)
			path = writeFile(t, newPath(t), bad)
			var damaged *DamagedError
			if _, err := Examine(path); !errors.As(err, &damaged) {
				t.Errorf("bucket %d with flags %#x: %v", i, flags, err)
			}
		}
	}
	if found == 0 {
		t.Fatal("there is no small bucket")
	}
}

// A key whose length reaches out of the file was a fault on the goroutine on which the
// database checks a backup: the program ended.
func TestAKeyThatReachesOutOfTheFileIsFoundBeforeTheDatabaseChecksABackup(t *testing.T) {
	w := openNew(t)
	for i := range 400 {
		save(t, w, KindBuild, fmt.Sprintf("build %d", i), oneBuild(30))
	}
	closeAndCheck(t, w)
	whole, page := readFile(t, w.path), os.Getpagesize()
	order, bad := binary.NativeEndian, 0
	for id, used := range reached(t, whole) {
		at := id * page
		flags := order.Uint16(whole[at+8:])
		if !used || flags != isBranch && flags != isLeaf || order.Uint16(whole[at+10:]) == 0 {
			continue
		}
		length := at + pageHeader + 4 // of the first key, of a branch and of a leaf
		if flags == isLeaf {
			length += 4
		}
		damaged := bytes.Clone(whole)
		damaged[length+2] ^= 0x94
		bad++
		path := writeFile(t, newPath(t), damaged)
		if err := checkFile(path); err == nil {
			t.Errorf("page %d passes", id)
		}
		if _, err := Examine(path); err == nil {
			t.Errorf("page %d is whole", id)
		}
		if w, err := Open(path, newClock().options()); err == nil {
			_, failed := w.Backup()
			if err := w.Close(); err != nil || failed == nil {
				t.Errorf("page %d: a backup of it: %v, %v", id, failed, err)
			}
		}
	}
	if bad < 20 {
		t.Errorf("only %d pages", bad)
	}
}

func TestNoiseNeverEndsTheLookAtWays(t *testing.T) {
	whole := readFile(t, filled(t))
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 9))
		data := bytes.Clone(whole)
		for range 1 + r.IntN(4) {
			at := r.IntN(len(data))
			copy(data[at:], noise(r.Uint64(), min(1+r.IntN(200), len(data)-at)))
		}
		_ = waysOf(data[:1+r.IntN(len(data))]) // whatever it finds, it ends and does not panic
		_ = waysOf(data)
	}
}
