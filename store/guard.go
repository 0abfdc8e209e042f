package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"runtime/debug"
	"slices"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"
)

// panicError is a panic inside the database, turned into an error.
type panicError struct{ value any }

// Error returns what the database said.
func (e *panicError) Error() string {
	return fmt.Sprintf("its pages contradict each other: %v", e.value)
}

// guard runs work that reads the database's pages. A damaged page shows as a
// panic, a file that was cut short even as a memory fault; both come back as a
// *panicError. Faults are caught on this goroutine only, so work must not read
// pages on another one.
func guard(work func() error) (err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if value := recover(); value != nil {
			err = &panicError{value}
		}
	}()
	return work()
}

// brokenError is a record that cannot be what was stored.
type brokenError struct {
	what  string
	cause string
}

// Error names the record and what is wrong with it.
func (e *brokenError) Error() string { return e.what + " " + e.cause }

// isDamage reports whether an error is a sign of damage: a panic of the database, a record that
// is not what was stored, or a bucket where a record should be.
func isDamage(err error) bool {
	var (
		panicked *panicError
		broken   *brokenError
	)
	return errors.As(err, &panicked) || errors.As(err, &broken) || errors.Is(err, berrors.ErrIncompatibleValue)
}

const sumSize = 4

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// sum is the checksum of a record under its key.
func sum(key, data []byte) uint32 {
	return crc32.Update(crc32.Checksum(key, castagnoli), castagnoli, data)
}

// putSealed stores a record with a checksum in front. The database keeps
// checksums of its own header only, and a digit that changed in a weight, or a
// key that changed to another record's, would go unseen.
func putSealed(b *bolt.Bucket, key, data []byte) error {
	value := binary.BigEndian.AppendUint32(make([]byte, 0, sumSize+len(data)), sum(key, data))
	return b.Put(key, append(value, data...))
}

// unseal returns a copy of a sealed record, which the database's memory may not
// outlive. The error is a *brokenError that names what the record is.
func unseal(what string, key, value []byte) ([]byte, error) {
	if value == nil {
		return nil, &brokenError{what, "is missing"}
	}
	if err := checkSeal(what, key, value); err != nil {
		return nil, err
	}
	return slices.Clone(value[sumSize:]), nil
}

func checkSeal(what string, key, value []byte) error {
	if len(value) < sumSize || binary.BigEndian.Uint32(value) != sum(key, value[sumSize:]) {
		return &brokenError{what, "does not match its checksum"}
	}
	return nil
}

// number is a number as a key or a value: 8 bytes, so that keys sort by it.
func number(n uint64) []byte { return binary.BigEndian.AppendUint64(nil, n) }

// sequence reads what number wrote; 0 when it is something else.
func sequence(data []byte) uint64 {
	if len(data) != 8 {
		return 0
	}
	return binary.BigEndian.Uint64(data)
}

// nextNumber returns a number that no key of a bucket has. The bucket counts; where its
// count was damaged, what is there must not be written over.
func nextNumber(b *bolt.Bucket) (uint64, error) {
	for {
		n, err := b.NextSequence()
		if err != nil || b.Get(number(n)) == nil {
			return n, err
		}
	}
}

// lookUp returns the number that an index bucket holds under a key, 0 when there
// is none.
func lookUp(index *bolt.Bucket, what string, key []byte) (uint64, error) {
	value := index.Get(key)
	if value == nil {
		return 0, nil
	}
	data, err := unseal(what, key, value)
	return sequence(data), err
}
