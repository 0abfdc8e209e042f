package store

import (
	"fmt"

	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/job"
	"foreshaft/engine/record"
)

// Bench is the working bench: the job on it, and how it is looked at. View
// belongs to the screen and is kept as it is given.
type Bench struct {
	Job  *job.Job
	View []byte
}

var (
	keyJob  = []byte("job")
	keyView = []byte("view")
)

// LoadBench returns the working bench; a new workbook has the sample bench. The
// error is a *DamagedError when it cannot be read.
func (w *Workbook) LoadBench() (Bench, error) {
	bench, known, err := w.Seat("").Load()
	if err == nil && !known {
		err = w.damaged(&brokenError{"the bench", "is missing"})
	}
	return bench, err
}

// SaveBench replaces the working bench. It is on the disk when the call
// returns nil. The error is an *InvalidError for a job that could not be read
// back, an *AccessError when it cannot be written.
func (w *Workbook) SaveBench(bench Bench) error { return w.Seat("").Save(bench) }

// putBench is SaveBench inside a transaction.
func putBench(tx *bolt.Tx, bench Bench) error { return Seat{}.put(tx, bench) }

// encodeJob writes a job and makes sure that it can be read back: what is not
// accepted then would be lost.
func encodeJob(what string, j *job.Job) ([]byte, error) {
	body, err := encode(*j)
	if err == nil {
		_, err = job.DecodeBench(body)
	}
	if err != nil {
		return nil, &InvalidError{what, err}
	}
	return body, nil
}

// encode is record.Encode with its panic about a value that the format cannot
// hold, such as NaN, as an error.
func encode(value any) (data []byte, err error) {
	defer func() {
		if problem := recover(); problem != nil {
			err = fmt.Errorf("it holds a value that cannot be written: %v", problem)
		}
	}()
	return record.Encode(value), nil
}
