package store

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"testing"
)

// waysOf looks at a file's bytes as Open does.
func waysOf(data []byte) error { return checkWays(bytes.NewReader(data), int64(len(data))) }

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
	whole := pageWalk{data: data, length: uint64(len(data))}
	if err := whole.whole(whole.page); err != nil {
		t.Fatal(err)
	}
	free := pageWalk{data: data, length: uint64(len(data))}
	if err := free.whole(func(uint64) error { return free.free() }); err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(3, 4))
	bent := 0
	for id, used := range whole.seen {
		at := id * page
		if !used || order.Uint16(data[at+8:]) != isBranch {
			continue
		}
		for i := range int(order.Uint16(data[at+10:])) {
			place := at + pageHeader + i*pageElement + 8
			other := uint64(r.IntN(len(whole.seen)))
			if other == order.Uint64(data[place:]) {
				continue
			}
			bad := bytes.Clone(data)
			order.PutUint64(bad[place:], other)
			bent++
			// The page that lost its way in is not missed; another must not have two.
			// Of others, the headers of the file and what goes on from one page to the
			// next, the database sees that they are no pages.
			if err := waysOf(bad); err == nil && (whole.seen[other] || free.seen[other]) {
				t.Errorf("page %d leads to %d in place of %d, and nothing is found: used %v, free %v", id, other, order.Uint64(data[place:]), whole.seen[other], free.seen[other])
			}
		}
	}
	if bent < 10 {
		t.Fatalf("%d ways were bent", bent)
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
