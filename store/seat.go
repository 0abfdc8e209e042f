package store

import (
	"bytes"
	"fmt"
	"slices"

	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/job"
)

// Seat is a place at a workbook that several terminals share: its working bench and what
// is chosen there are its own. The Workbook's own bench is that of the computer it is on.
type Seat struct {
	w    *Workbook
	name string
}

// Seat returns the seat of a name, which may be new; without a name it is the workbook's own.
// The name says nothing of a person:
// erasing a customer leaves it as it is.
func (w *Workbook) Seat(name string) Seat { return Seat{w, name} }

// key is where the seat keeps something in the bucket of the benches.
func (s Seat) key(what []byte) []byte {
	if s.name == "" {
		return what
	}
	return slices.Concat(what, []byte{0}, []byte(s.name))
}

var keyChoices = []byte("choices")

// seatRecord is a record of a seat as it lies in the bucket.
type seatRecord struct {
	seat Seat
	what []byte // which of the keys
	key  []byte
}

func (r seatRecord) String() string {
	if r.seat.name == "" {
		return map[string]string{"job": "the bench", "view": "the view of the bench", "choices": "the choices"}[string(r.what)]
	}
	return fmt.Sprintf("the %s of the terminal %q", map[string]string{"job": "bench", "view": "view", "choices": "choices"}[string(r.what)], r.seat.name)
}

// eachSeatRecord calls do with every record of every seat.
func eachSeatRecord(tx *bolt.Tx, do func(r seatRecord) error) error {
	b := tx.Bucket(bucketBench)
	var keys [][]byte // do may write
	err := b.ForEach(func(key, _ []byte) error {
		if bytes.IndexByte(key, 0) >= 0 {
			keys = append(keys, slices.Clone(key))
		}
		return nil
	})
	for _, key := range keys {
		if err != nil {
			break
		}
		what, name, _ := bytes.Cut(key, []byte{0})
		err = do(seatRecord{Seat{name: string(name)}, what, key})
	}
	return err
}

// Load returns the bench of the seat, known false where it has none yet. The error is a
// *DamagedError when it cannot be read.
func (s Seat) Load() (bench Bench, known bool, err error) {
	var body []byte
	err = s.w.view(func(tx *bolt.Tx) (err error) {
		b := tx.Bucket(bucketBench)
		at, view := s.key(keyJob), s.key(keyView)
		if b.Get(at) == nil {
			return nil
		}
		if body, err = unseal(seatRecord{s, keyJob, at}.String(), at, b.Get(at)); err != nil {
			return err
		}
		bench.View, err = unseal(seatRecord{s, keyView, view}.String(), view, b.Get(view))
		return err
	})
	if err != nil || body == nil {
		return Bench{}, false, err
	}
	if bench.Job, err = job.DecodeBench(body); err != nil {
		return Bench{}, false, s.w.damaged(&brokenError{seatRecord{s, keyJob, nil}.String(), err.Error()})
	}
	return bench, true, nil
}

// Save replaces the bench of the seat, as SaveBench does.
func (s Seat) Save(bench Bench) error {
	body, err := encodeJob("The bench", bench.Job)
	if err != nil {
		return err
	}
	return s.w.update(func(tx *bolt.Tx) error { return s.putSealed(tx, body, bench.View) })
}

// put is Save inside a transaction.
func (s Seat) put(tx *bolt.Tx, bench Bench) error {
	body, err := encodeJob("The bench", bench.Job)
	if err != nil {
		return err
	}
	return s.putSealed(tx, body, bench.View)
}

func (s Seat) putSealed(tx *bolt.Tx, body, view []byte) error {
	b := tx.Bucket(bucketBench)
	if err := putSealed(b, s.key(keyJob), body); err != nil {
		return err
	}
	return putSealed(b, s.key(keyView), view)
}

// Choices returns what was chosen at the seat, with the Format alone where nothing was.
func (s Seat) Choices() (Settings, error) {
	var data []byte
	err := s.w.view(func(tx *bolt.Tx) (err error) {
		at := s.key(keyChoices)
		if value := tx.Bucket(bucketBench).Get(at); value != nil {
			data, err = unseal(seatRecord{s, keyChoices, at}.String(), at, value)
		}
		return err
	})
	if err != nil || data == nil {
		return Settings{Format: SettingsFormat}, err
	}
	out, err := decodeSettings(data)
	if err != nil {
		return Settings{Format: SettingsFormat}, s.w.damaged(&brokenError{seatRecord{s, keyChoices, nil}.String(), err.Error()})
	}
	return out, nil
}

// KeepChoices replaces what was chosen at the seat.
func (s Seat) KeepChoices(c Settings) error {
	data, err := c.encode()
	if err != nil {
		return &InvalidError{"What was chosen", err}
	}
	return s.w.update(func(tx *bolt.Tx) error { return putSealed(tx.Bucket(bucketBench), s.key(keyChoices), data) })
}
