package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"os"
	"slices"
)

// The layout of a page of the database (go.etcd.io/bbolt, internal/common/page.go and
// meta.go): a header, then elements of one size whether they lead to pages or hold
// records, all in the byte order of the machine.
const (
	pageHeader  = 16
	pageElement = 16
	isBranch    = 0x01
	isLeaf      = 0x02
	isFreelist  = 0x10
	isBucket    = 0x01   // of an element of a leaf
	manyFree    = 0xFFFF // the count of a list of free pages that stands behind it
	noFreelist  = 1<<64 - 1
	metaSum     = 56 // where the checksum of the header of the file stands in it
	metaMagic   = 0xED0CDAED
	bucketStart = 16 // what stands in front of the pages of a small bucket
)

// checkPages makes sure that a database can be followed and written to without harm: its
// pages lead to each other like a tree and their keys are in order, each page that is in use
// is led to or listed as free, and not both, and records fill their page without a gap. The
// database follows references without asking: one that leads back to where it came from would
// take all memory there is, one out of the file is a fault, which on a goroutine of the
// database's own nobody can catch, and a page that is wrongly free is written over. What the
// records say is not looked at.
func checkPages(path string) error {
	file, err := os.Open(path)
	if err != nil {
		return err
	}
	defer file.Close()
	return checkPagesOf(file)
}

// checkPagesOf is checkPages for a file that is open.
func checkPagesOf(file *os.File) error {
	info, err := file.Stat()
	if err != nil {
		return err
	}
	w := pageWalk{file: file, length: uint64(info.Size())}
	return w.whole(w.tree)
}

// tree walks through all pages.
func (w *pageWalk) tree(root uint64) error {
	if w.freelist == noFreelist {
		return errors.New("it has no list of free pages")
	}
	if err := w.free(); err != nil {
		return err
	}
	if err := w.page(root, nil); err != nil {
		return err
	}
	for id := uint64(2); id < w.end; id++ { // behind the two headers
		if id >= uint64(len(w.seen)) || !w.seen[id] {
			return fmt.Errorf("no way leads to page %d, and it is not free", id)
		}
	}
	return nil
}

// checkWays is checkPages for a file that is being opened: it reads those pages alone that
// lead to others, which are few. Of the pages with records, which all lie at one depth, it
// sees that no other way leads to them and that they are in use: then they are no pages
// that lead on, unless they are noise, which the database refuses by its own checks.
// It returns how many of the two headers of the file are whole.
func checkWays(file io.ReaderAt, length int64) (headers int, err error) {
	w := pageWalk{file: file, length: uint64(length)}
	err = w.whole(func(root uint64) error {
		if err := w.free(); err != nil {
			return err
		}
		return w.ways(root, true)
	})
	return w.headers, err
}

// whole walks from the page at which everything begins.
func (w *pageWalk) whole(walk func(root uint64) error) error {
	root, err := w.start()
	if err == nil {
		w.seen = make([]bool, min(w.end, w.length/w.size))
		err = walk(root)
	}
	if err != nil {
		return &brokenError{"its structure", "is broken: " + err.Error()}
	}
	return nil
}

// pageWalk goes through the pages of a database once each.
type pageWalk struct {
	file     io.ReaderAt
	length   uint64 // of the file
	size     uint64 // of a page
	end      uint64 // how many pages are in use
	freelist uint64 // the page that lists those that are not
	headers  int    // how many of the two headers of the file are whole
	seen     []bool // which pages a way leads to, or are free
	room     []byte // what was read last
}

// read reads a part of the file. What it returns holds until the next part is read.
func (w *pageWalk) read(at, n uint64) ([]byte, error) {
	w.room = slices.Grow(w.room[:0], int(n))[:n]
	_, err := w.file.ReadAt(w.room, int64(at))
	return w.room, err
}

// start finds the newer of the two headers of the file that is whole, and returns the page
// at which everything begins.
func (w *pageWalk) start() (root uint64, err error) {
	order := binary.NativeEndian
	newest, found := uint64(0), false
	// The second header stands one page on, whose size the first one knows; where that
	// is spoilt the usual sizes are tried.
	for at := uint64(0); at <= 1<<16 && at+pageHeader+metaSum+8 <= w.length; at = max(2*at, 512) {
		meta, err := w.read(at+pageHeader, metaSum+8)
		if err != nil {
			return 0, err
		}
		sum := fnv.New64a()
		sum.Write(meta[:metaSum])
		if order.Uint32(meta) != metaMagic || order.Uint64(meta[metaSum:]) != sum.Sum64() {
			continue
		}
		if at > 0 && at != uint64(order.Uint32(meta[8:])) {
			continue // an old copy somewhere in the file
		}
		w.headers++
		if id := order.Uint64(meta[48:]); !found || id > newest {
			newest, found = id, true
			w.size, root, w.freelist, w.end = uint64(order.Uint32(meta[8:])), order.Uint64(meta[16:]), order.Uint64(meta[32:]), order.Uint64(meta[40:])
		}
	}
	if !found || w.size < 512 {
		return 0, errors.New("it has no header")
	}
	return root, nil
}

// load reads a page that may be any of some kinds, with those that it goes on in.
func (w *pageWalk) load(id uint64, kinds ...uint16) (page []byte, flags uint16, count uint64, err error) {
	order := binary.NativeEndian
	if id >= uint64(len(w.seen)) {
		return nil, 0, 0, fmt.Errorf("page %d is not there", id)
	}
	if page, err = w.read(id*w.size, w.size); err != nil {
		return nil, 0, 0, err
	}
	length := (uint64(order.Uint32(page[12:])) + 1) * w.size
	if length > w.length-id*w.size {
		return nil, 0, 0, fmt.Errorf("page %d is cut short", id)
	}
	flags, count = order.Uint16(page[8:]), uint64(order.Uint16(page[10:]))
	if order.Uint64(page) != id || !slices.Contains(kinds, flags) {
		return nil, 0, 0, fmt.Errorf("page %d is none", id)
	}
	if length > w.size { // it goes on
		page, err = w.read(id*w.size, length)
	}
	return page, flags, count, err
}

// visit notes that a way leads to a page.
func (w *pageWalk) visit(id uint64) error {
	if id >= uint64(len(w.seen)) {
		return fmt.Errorf("page %d is not there", id)
	}
	if w.seen[id] {
		return fmt.Errorf("two ways lead to page %d, or it is free", id)
	}
	w.seen[id] = true
	return nil
}

// goesOn notes the pages that a page goes on in.
func (w *pageWalk) goesOn(id uint64, page []byte) error {
	for n := uint64(1); n < uint64(len(page))/w.size; n++ {
		if err := w.visit(id + n); err != nil {
			return err
		}
	}
	return nil
}

// element is one of a page: its key, and what it holds or the page it leads to.
type element struct {
	key, value []byte
	bucket     bool
	leads      uint64 // of a page that leads on
}

// elements returns what is on a page. Each record begins where the one before ends, behind
// all of what says where they are: the database writes them so, and a length that is wrong
// shows in the next one. Keys are in order.
func elements(id uint64, page []byte, flags uint16, count uint64) ([]element, error) {
	order := binary.NativeEndian
	out := make([]element, 0, count)
	next := pageHeader + count*pageElement
	for i := range count {
		at := pageHeader + i*pageElement
		if at+pageElement > uint64(len(page)) {
			return nil, fmt.Errorf("page %d leads out of itself", id)
		}
		words := page[at : at+pageElement]
		var e element
		var place, key, value uint64
		if flags == isBranch {
			place, key, e.leads = uint64(order.Uint32(words)), uint64(order.Uint32(words[4:])), order.Uint64(words[8:])
		} else {
			place, key, value = uint64(order.Uint32(words[4:])), uint64(order.Uint32(words[8:])), uint64(order.Uint32(words[12:]))
			e.bucket = order.Uint32(words)&isBucket != 0
			if order.Uint32(words)&^isBucket != 0 {
				return nil, fmt.Errorf("page %d holds what is none", id)
			}
		}
		if at+place != next || next+key+value > uint64(len(page)) {
			return nil, fmt.Errorf("page %d holds what does not lie in it", id)
		}
		e.key, e.value = page[next:next+key], page[next+key:next+key+value]
		next += key + value
		if i > 0 && bytes.Compare(out[i-1].key, e.key) >= 0 {
			return nil, fmt.Errorf("page %d is out of order", id)
		}
		out = append(out, e)
	}
	return out, nil
}

// leads returns the pages that the elements of a page lead to.
func leads(id uint64, on []element, flags uint16) ([]uint64, error) {
	var out []uint64
	for _, e := range on {
		switch {
		case flags == isBranch:
			out = append(out, e.leads)
		case !e.bucket:
		case len(e.value) < bucketStart:
			return nil, fmt.Errorf("page %d holds a bucket that is none", id)
		default:
			if root := binary.NativeEndian.Uint64(e.value); root != 0 {
				out = append(out, root)
			} else if err := inline(e.value[bucketStart:]); err != nil { // it lies here
				return nil, fmt.Errorf("page %d: %w", id, err)
			}
		}
	}
	return out, nil
}

// inline makes sure that the page of an inline bucket is one that holds records alone: the
// database would follow ways out of it to itself without end, and set a page free that it
// was said to be.
func inline(page []byte) error {
	order := binary.NativeEndian
	if len(page) < pageHeader || order.Uint64(page) != 0 || order.Uint16(page[8:]) != isLeaf || order.Uint32(page[12:]) != 0 {
		return errors.New("an inline bucket is none")
	}
	on, err := elements(0, page, isLeaf, uint64(order.Uint16(page[10:])))
	if err != nil || slices.ContainsFunc(on, func(e element) bool { return e.bucket }) {
		return errors.New("an inline bucket leads out of itself")
	}
	return nil
}

// page goes through a page and those it leads to, whose keys are not below the least.
func (w *pageWalk) page(id uint64, least []byte) error {
	if err := w.visit(id); err != nil {
		return err
	}
	page, flags, count, err := w.load(id, isBranch, isLeaf)
	if err == nil {
		err = w.goesOn(id, page)
	}
	if err != nil {
		return err
	}
	on, err := elements(id, page, flags, count)
	if err != nil {
		return err
	}
	if len(on) > 0 && bytes.Compare(on[0].key, least) < 0 {
		return fmt.Errorf("page %d is out of order", id)
	}
	next, err := leads(id, on, flags)
	if err != nil {
		return err
	}
	keys := make([][]byte, len(next)) // what is read next takes the place of this page
	if flags == isBranch {
		if len(next) == 0 {
			return fmt.Errorf("page %d leads nowhere", id)
		}
		for i := range keys {
			keys[i] = bytes.Clone(on[i].key)
		}
	}
	for i, to := range next {
		if err := w.page(to, keys[i]); err != nil {
			return err
		}
	}
	return nil
}

// free notes the pages that are free: no way may lead to them.
func (w *pageWalk) free() error {
	order := binary.NativeEndian
	if w.freelist == noFreelist {
		return nil
	}
	page, _, count, err := w.load(w.freelist, isFreelist)
	if err == nil {
		err = w.goesOn(w.freelist, page)
	}
	if err != nil {
		return err
	}
	list := page[pageHeader:]
	if count == manyFree {
		if len(list) < 8 {
			return fmt.Errorf("page %d is cut short", w.freelist)
		}
		count, list = order.Uint64(list), list[8:]
	}
	if count > uint64(len(list))/8 {
		return fmt.Errorf("page %d is cut short", w.freelist)
	}
	for i := range count {
		if err := w.visit(order.Uint64(list[8*i:])); err != nil {
			return err
		}
	}
	return w.visit(w.freelist)
}

// leadsOf returns the pages that a page leads to.
func leadsOf(id uint64, page []byte, flags uint16, count uint64) ([]uint64, error) {
	on, err := elements(id, page, flags, count)
	if err != nil {
		return nil, err
	}
	return leads(id, on, flags)
}

// mostDeep is more levels than a workbook of any size has.
const mostDeep = 32

// ways goes through the pages of a bucket that lead to others; top says that it is the one
// that holds the buckets.
func (w *pageWalk) ways(root uint64, top bool) error {
	depth := 0
	for at := root; ; depth++ {
		page, flags, count, err := w.load(at, isBranch, isLeaf)
		if err != nil {
			return err
		}
		if flags == isLeaf {
			break
		}
		next, err := leadsOf(at, page, flags, count)
		if err != nil || len(next) == 0 || depth == mostDeep {
			return errors.Join(err, fmt.Errorf("page %d leads nowhere", at))
		}
		at = next[0]
	}
	return w.level(root, depth, top)
}

func (w *pageWalk) level(id uint64, depth int, top bool) error {
	if err := w.visit(id); err != nil {
		return err
	}
	if depth == 0 && !top {
		return nil
	}
	kind := uint16(isBranch)
	if depth == 0 {
		kind = isLeaf
	}
	page, flags, count, err := w.load(id, kind)
	if err != nil {
		return err
	}
	next, err := leadsOf(id, page, flags, count)
	if n := len(next); err == nil && depth == 1 && n > 0 { // the first may be bent, and the depth wrong with it
		_, _, _, err = w.load(next[n-1], isLeaf)
	}
	for _, id := range next {
		switch {
		case err != nil:
		case depth == 0:
			err = w.ways(id, false)
		default:
			err = w.level(id, depth-1, top)
		}
	}
	return err
}
