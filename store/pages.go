package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"os"
)

// The layout of a page of the database (go.etcd.io/bbolt, internal/common/page.go and
// meta.go): a header, then elements of one size whether they lead to pages or hold
// records, all in the byte order of the machine.
const (
	pageHeader  = 16
	pageElement = 16
	isBranch    = 0x01
	isLeaf      = 0x02
	isBucket    = 0x01 // of an element of a leaf
	metaSum     = 56   // where the checksum of the header of the file stands in it
	metaMagic   = 0xED0CDAED
	bucketStart = 16 // what stands in front of the pages of a small bucket
)

// checkPages makes sure that the pages of a database lead to each other like a tree. The
// database follows references without asking, and one that leads back to where it came
// from would take all memory there is. What the pages hold is not looked at.
func checkPages(path string) error {
	data, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	w := pageWalk{data: data, seen: map[uint64]bool{}}
	root, err := w.start()
	if err == nil {
		err = w.page(root)
	}
	if err != nil {
		return &brokenError{"its structure", "is broken: " + err.Error()}
	}
	return nil
}

// pageWalk goes through the pages of a database once each.
type pageWalk struct {
	data []byte
	size uint64 // of a page
	end  uint64 // how many pages are in use
	seen map[uint64]bool
}

// start finds the newer of the two headers of the file that is whole, and returns the page
// at which everything begins.
func (w *pageWalk) start() (root uint64, err error) {
	order := binary.NativeEndian
	newest, found := uint64(0), false
	// The second header stands one page on, whose size the first one knows; where that
	// is spoilt the usual sizes are tried.
	for at := 0; at <= 1<<16 && at+pageHeader+metaSum+8 <= len(w.data); at = max(2*at, 512) {
		meta := w.data[at+pageHeader:]
		sum := fnv.New64a()
		sum.Write(meta[:metaSum])
		if order.Uint32(meta) != metaMagic || order.Uint64(meta[metaSum:]) != sum.Sum64() {
			continue
		}
		if at > 0 && uint64(at) != uint64(order.Uint32(meta[8:])) {
			continue // an old copy somewhere in the file
		}
		if id := order.Uint64(meta[48:]); !found || id > newest {
			newest, found = id, true
			w.size, root, w.end = uint64(order.Uint32(meta[8:])), order.Uint64(meta[16:]), order.Uint64(meta[40:])
		}
	}
	if !found || w.size < 512 {
		return 0, errors.New("it has no header")
	}
	return root, nil
}

// page goes through a page and those it leads to.
func (w *pageWalk) page(id uint64) error {
	order := binary.NativeEndian
	switch {
	case w.seen[id]:
		return fmt.Errorf("two ways lead to page %d", id)
	case id >= w.end || id > uint64(len(w.data))/w.size:
		return fmt.Errorf("page %d is not there", id)
	}
	w.seen[id] = true
	page := w.data[id*w.size:]
	if len(page) < pageHeader {
		return fmt.Errorf("page %d is not there", id)
	}
	length := (uint64(order.Uint32(page[12:])) + 1) * w.size
	if length > uint64(len(page)) {
		return fmt.Errorf("page %d is cut short", id)
	}
	page = page[:length]
	flags, count := order.Uint16(page[8:]), uint64(order.Uint16(page[10:]))
	if order.Uint64(page) != id || flags != isBranch && flags != isLeaf || pageHeader+count*pageElement > length {
		return fmt.Errorf("page %d is none", id)
	}
	for i := range count {
		at := pageHeader + i*pageElement
		element := page[at : at+pageElement]
		if flags == isBranch {
			if err := w.page(order.Uint64(element[8:])); err != nil {
				return err
			}
			continue
		}
		if order.Uint32(element)&isBucket == 0 {
			continue
		}
		value := at + uint64(order.Uint32(element[4:])) + uint64(order.Uint32(element[8:]))
		if value+bucketStart > length {
			return fmt.Errorf("page %d leads out of itself", id)
		}
		if root := order.Uint64(page[value:]); root != 0 {
			if err := w.page(root); err != nil {
				return err
			}
		}
	}
	return nil
}
