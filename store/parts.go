package store

import (
	"errors"
	"fmt"

	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/part"
	"foreshaft/engine/record"
)

// Parts returns the drawer in the order in which its parts were put in first.
// When some cannot be read it returns the others and a *DamagedError.
func (w *Workbook) Parts() ([]part.Part, error) {
	var parts []part.Part
	var damage error
	err := w.view(func(tx *bolt.Tx) error {
		parts, damage = partsIn(tx)
		return nil
	})
	if err == nil && damage != nil {
		err = w.damaged(damage)
	}
	return parts, err
}

// partsIn returns the parts that can be read, and what is wrong with the others.
func partsIn(tx *bolt.Tx) ([]part.Part, error) {
	drawer := tx.Bucket(bucketParts)
	parts := make([]part.Part, 0, 64)
	var damage error
	err := drawer.ForEach(func(key, value []byte) error {
		p, err := partOf(key, value)
		if err != nil {
			damage = errors.Join(damage, err)
			return nil
		}
		parts = append(parts, p)
		return nil
	})
	return parts, errors.Join(err, damage)
}

func readPart(drawer *bolt.Bucket, key []byte) (part.Part, error) {
	return partOf(key, drawer.Get(key))
}

// partOf reads a sealed part. The error is a *brokenError.
func partOf(key, value []byte) (p part.Part, err error) {
	body, err := unseal(partName(key), key, value)
	if err != nil {
		return p, err
	}
	if err := record.Decode(body, &p); err != nil {
		return p, &brokenError{partName(key), err.Error()}
	}
	return p, nil
}

func partName(key []byte) string { return fmt.Sprintf("part %d of the drawer", sequence(key)) }

// PutParts puts parts into the drawer, all or none. A part whose ID is there
// already replaces that one in its place. The error is an *InvalidError for a
// part that could not be read back, an *AccessError when it cannot be written.
func (w *Workbook) PutParts(parts ...part.Part) error {
	bodies, err := encodeParts(parts)
	if err != nil {
		return err
	}
	return w.update(func(tx *bolt.Tx) error { return putSealedParts(tx, parts, bodies) })
}

// putParts is PutParts inside a transaction.
func putParts(tx *bolt.Tx, parts []part.Part) error {
	bodies, err := encodeParts(parts)
	if err != nil {
		return err
	}
	return putSealedParts(tx, parts, bodies)
}

// encodeParts writes parts and makes sure that they can be read back.
func encodeParts(parts []part.Part) ([][]byte, error) {
	bodies := make([][]byte, len(parts))
	for i, p := range parts {
		body, err := encode(p)
		if err == nil && !p.Valid() {
			err = fmt.Errorf("it holds no %s", p.Kind)
		}
		if err == nil {
			err = record.Decode(body, new(part.Part))
		}
		if err != nil {
			return nil, &InvalidError{fmt.Sprintf("The part %q", p.Name()), err}
		}
		bodies[i] = body
	}
	return bodies, nil
}

func putSealedParts(tx *bolt.Tx, parts []part.Part, bodies [][]byte) error {
	drawer, ids := tx.Bucket(bucketParts), tx.Bucket(bucketPartIDs)
	for i, p := range parts {
		at, err := lookUp(ids, "the place of a part", []byte(p.ID))
		if err == nil && at == 0 {
			if at, err = nextNumber(drawer); err == nil {
				err = putSealed(ids, []byte(p.ID), number(at))
			}
		}
		if err == nil {
			err = putSealed(drawer, number(at), bodies[i])
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// NewID returns an ID for a new part that no part has and none was given
// before.
func (w *Workbook) NewID() (string, error) {
	id := ""
	err := w.update(func(tx *bolt.Tx) (err error) {
		id, err = newID(tx, nil)
		return err
	})
	if err != nil {
		return "", err
	}
	return id, nil
}

// newID is NewID inside a transaction; it gives none of those that are taken either.
func newID(tx *bolt.Tx, taken map[string]bool) (string, error) {
	ids := tx.Bucket(bucketPartIDs)
	for {
		next, err := ids.NextSequence()
		if err != nil {
			return "", err
		}
		// A part from another workbook may have brought its ID along.
		if id := fmt.Sprintf("part-%d", next); !taken[id] && ids.Get([]byte(id)) == nil {
			return id, nil
		}
	}
}
