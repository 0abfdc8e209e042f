package store

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	bolt "go.etcd.io/bbolt"

	"foreshaft/engine/label"
	"foreshaft/engine/record"
)

// Customer is someone for whom builds are saved. Entries name their customer.
type Customer struct {
	Name string `job:"name" need:"yes"`
	Note string `job:"note"`
}

// mostNote is the longest note about a customer, in bytes.
const mostNote = 4000

// Customers lists the customers by name. When some cannot be read it returns the others
// and a *DamagedError.
func (w *Workbook) Customers() ([]Customer, error) {
	var out []Customer
	var damage error
	err := w.view(func(tx *bolt.Tx) error {
		return tx.Bucket(bucketCustomers).ForEach(func(key, value []byte) error {
			c, err := readCustomer(key, value)
			if err != nil {
				damage = errors.Join(damage, err)
				return nil
			}
			out = append(out, c)
			return nil
		})
	})
	if err == nil && damage != nil {
		err = w.damaged(damage)
	}
	slices.SortStableFunc(out, func(a, b Customer) int { return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
	return out, err
}

func readCustomer(key, value []byte) (Customer, error) {
	var c Customer
	data, err := unseal("a customer", key, value)
	if err != nil {
		return c, err
	}
	if err := record.Decode(data, &c); err != nil {
		return c, &brokenError{"a customer", err.Error()}
	}
	return c, nil
}

// PutCustomer makes a customer known, or changes the one of the name was, whose entries
// follow another name. The error is an *InvalidError for a name that is empty, too long
// or another customer's, whatever its capitals, and a
// *MissingCustomerError where was is nobody.
func (w *Workbook) PutCustomer(was string, c Customer) error {
	_, err := w.putCustomer(was, func(Customer) Customer { return c })
	return err
}

// ChangeCustomer is PutCustomer where somebody else may have changed the other of name and note
// meanwhile: only what differs from what it was is changed. It returns the customer as kept.
func (w *Workbook) ChangeCustomer(was, now Customer) (Customer, error) {
	return w.putCustomer(was.Name, func(here Customer) Customer {
		return Customer{now.Name, changed(was.Note, now.Note, here.Note)}
	})
}

func (w *Workbook) putCustomer(was string, anew func(here Customer) Customer) (c Customer, err error) {
	err = w.update(func(tx *bolt.Tx) error {
		var here Customer
		if was != "" {
			value := tx.Bucket(bucketCustomers).Get([]byte(was))
			if value == nil {
				return &MissingCustomerError{was}
			}
			var err error
			if here, err = readCustomer([]byte(was), value); err != nil {
				return err
			}
		}
		c = anew(here)
		c.Name, c.Note = spaced(c.Name), label.Clean(c.Note)
		what := fmt.Sprintf("The customer %q", c.Name)
		if c.Name == "" {
			return &InvalidError{"The customer", errors.New("it needs a name")}
		}
		if err := checkText(what, c.Name); err != nil {
			return err
		}
		if len(c.Note) > mostNote {
			return &InvalidError{"The note", fmt.Errorf("it may have at most %d bytes, got %d", mostNote, len(c.Note))}
		}
		same, err := findCustomer(tx, c.Name)
		if err != nil {
			return err
		}
		if same != "" && same != was {
			return &InvalidError{what, fmt.Errorf("there is a customer %q already", same)}
		}
		if was != "" && was != c.Name {
			if err := moveCustomer(tx, was, c.Name); err != nil {
				return err
			}
		}
		return putSealed(tx.Bucket(bucketCustomers), []byte(c.Name), record.Encode(c))
	})
	return c, err
}

// moveCustomer takes a customer's record away and gives the entries to another name.
func moveCustomer(tx *bolt.Tx, was, name string) error {
	if err := tx.Bucket(bucketCustomers).Delete([]byte(was)); err != nil {
		return err
	}
	return eachEntry(tx, func(id uint64, r *entryRecord) error {
		if r.Customer != was {
			return nil
		}
		r.Customer = name
		return writeEntry(tx, id, *r)
	})
}

// spaced cleans the name of a customer; how many spaces stand between its words tells
// nobody apart.
func spaced(name string) string { return strings.Join(strings.Fields(label.Clean(name)), " ") }

// findCustomer returns how the name of a customer is spelled, empty when there is none
// of that name in any capitals.
func findCustomer(tx *bolt.Tx, name string) (string, error) {
	customers := tx.Bucket(bucketCustomers)
	if customers.Get([]byte(name)) != nil {
		return name, nil
	}
	found := ""
	err := customers.ForEach(func(key, _ []byte) error {
		if found == "" && bytes.EqualFold(key, []byte(name)) {
			found = string(key)
		}
		return nil
	})
	return found, err
}

// settleCustomer makes a customer known, unless it is or the name is empty, and returns
// how the name is spelled.
func settleCustomer(tx *bolt.Tx, name string) (string, error) {
	if name == "" {
		return "", nil
	}
	same, err := findCustomer(tx, name)
	if err != nil || same != "" {
		return same, err
	}
	return name, putSealed(tx.Bucket(bucketCustomers), []byte(name), record.Encode(Customer{Name: name}))
}
