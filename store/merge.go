package store

import (
	"bytes"
	"errors"

	"github.com/go-json-experiment/json/jsontext"
	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/part"
	"foreshaft/engine/record"
)

// PartChange is a part as it was when somebody began to change it, and as it is to be. A new
// part was nothing.
type PartChange struct{ Was, Now part.Part }

// ChangeParts is PutParts for parts that somebody else may have changed meanwhile: of each
// part only the values are changed that differ from what they were, so that two people who
// change different values of one part lose neither. It returns the parts as they are kept, and
// the names of those that somebody else had changed.
func (w *Workbook) ChangeParts(changes []PartChange) (kept []part.Part, meanwhile []string, err error) {
	kept = make([]part.Part, len(changes))
	err = w.update(func(tx *bolt.Tx) error {
		drawer, ids := tx.Bucket(bucketParts), tx.Bucket(bucketPartIDs)
		for i, c := range changes {
			kept[i] = c.Now
			if c.Was.ID == "" {
				continue
			}
			at, err := lookUp(ids, "the place of a part", []byte(c.Now.ID))
			if err != nil {
				return err
			}
			if at == 0 {
				continue
			}
			here, err := readPart(drawer, number(at))
			if err != nil {
				return err
			}
			if here != c.Was {
				meanwhile = append(meanwhile, here.Name())
			}
			if merged, ok := merge(c.Was, c.Now, here); ok {
				kept[i] = merged
			}
		}
		return putParts(tx, kept)
	})
	if err != nil {
		return nil, nil, err
	}
	return kept, meanwhile, nil
}

// merge applies to a part what was changed of it, and is false where that makes no part.
func merge(was, now, here part.Part) (part.Part, bool) {
	data, err := mergeJSON(record.Encode(was), record.Encode(now), record.Encode(here))
	var out part.Part
	if err == nil {
		err = record.Decode(data, &out)
	}
	return out, err == nil && out.Valid()
}

// mergeJSON returns here with every value that differs between was and now as it is now. In
// objects it goes value by value; anything else is one.
func mergeJSON(was, now, here jsontext.Value) (jsontext.Value, error) {
	if was.Kind() != '{' || now.Kind() != '{' || here.Kind() != '{' {
		if bytes.Equal(was, now) {
			return here, nil
		}
		return now, nil
	}
	w, _, errWas := members(was)
	n, added, errNow := members(now)
	h, order, errHere := members(here)
	if err := errors.Join(errWas, errNow, errHere); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	to := jsontext.NewEncoder(&out)
	err := to.WriteToken(jsontext.BeginObject)
	put := func(key string, value jsontext.Value) {
		if err == nil && value != nil {
			err = errors.Join(to.WriteToken(jsontext.String(key)), to.WriteValue(value))
		}
	}
	for _, key := range order {
		switch {
		case n[key] == nil && w[key] == nil: // somebody else put it there
			put(key, h[key])
		case n[key] == nil: // taken away
		case w[key] == nil:
			put(key, n[key])
		default:
			value, failed := mergeJSON(w[key], n[key], h[key])
			err = errors.Join(err, failed)
			put(key, value)
		}
	}
	for _, key := range added {
		if h[key] == nil && (w[key] == nil || !bytes.Equal(w[key], n[key])) {
			put(key, n[key])
		}
	}
	if err = errors.Join(err, to.WriteToken(jsontext.EndObject)); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(out.Bytes(), []byte("\n")), nil
}

// members returns the values of an object, and its keys in their order.
func members(object jsontext.Value) (map[string]jsontext.Value, []string, error) {
	in := jsontext.NewDecoder(bytes.NewReader(object))
	if _, err := in.ReadToken(); err != nil {
		return nil, nil, err
	}
	out, order := map[string]jsontext.Value{}, []string(nil)
	for in.PeekKind() != '}' {
		key, err := in.ReadToken()
		if err != nil {
			return nil, nil, err
		}
		name := key.String() // before the next is read
		value, err := in.ReadValue()
		if err != nil {
			return nil, nil, err
		}
		out[name], order = bytes.Clone(value), append(order, name)
	}
	return out, order, nil
}
