package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/uitest"
)

// A price list comes in, an arrow is built of what it brought, saved for a customer and
// changed; the two revisions are compared, and the first is restored.
func TestACustomerComesBackForTheFirstBuild(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	list := filepath.Join(t.TempDir(), "prices.csv")
	if err := os.WriteFile(list, []byte("\ufeffkind;name;weight_gr;length_in;depth_in;fits_inner_in;thread;price\r\n"+
		"insert;Listed core;38,5;;1,1;,204;8-32;3,10\r\nhead;Listed tip;110;1,05;;;8-32;1,20\r\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	x := s.sit(uitest.Options{Cols: 100, Rows: 30})
	x.Send("6")
	x.WaitFor("61 of 61")
	x.Send("\x14") // Ctrl+T
	x.WaitFor("Which file to take in")
	x.Type(list)
	x.Send(enter)
	x.WaitFor("2 new, 0 changed, 0 as they are, 0 refused.")
	x.WaitFor("Line 2 is new: insert Listed core, 38.5 gr")
	x.Send(enter)
	x.WaitFor("Taken in: 2 new")
	x.WaitFor("63 of 63")
	leave(x, "63 of 63")

	// The second build has a bore of .204: the new insert goes into it.
	x.Send(right + enter)
	x.WaitFor("Filter")
	x.Type("listed core")
	x.Send(enter)
	x.WaitFor("[38.5 gr Listed core")

	x.Send("7")
	x.WaitFor("Nothing is saved yet")
	x.Send("\x01") // Ctrl+A
	x.WaitFor("Name of the new customer")
	x.Type("Quillon Marrowby")
	x.Send(enter)
	x.WaitFor("Quillon Marrowby is a customer now")
	leave(x, "Saved: customers")
	x.Send("S")
	x.WaitFor("Save this build alone under the name")
	x.Type("For the woods")
	x.Send(enter)
	x.WaitFor("For which customer?")
	x.Type("quill")
	x.WaitFor("▸ Quillon Marrowby")
	x.Send(enter)
	x.WaitFor(`Saved as "For the woods" for Quillon Marrowby.`)

	x.Send("+")
	x.WaitFor("insert 38.5 ")
	x.Send("S")
	x.WaitFor("Save this build alone under the name")
	x.Type("For the woods")
	x.Send(enter)
	x.WaitFor("revision 2; the earlier ones are kept")

	x.Send("7")
	x.WaitFor("1 of 1")
	x.Type("marrowby woods")
	x.WaitFor("▸ For the woods")
	x.Send("\x12") // Ctrl+R
	x.WaitFor("From revision 1 to 2")
	x.WaitMatch(`insert 38\.5 gr Listed core → 50 gr brass 5 mm`)
	x.Send("jr")
	x.WaitFor("Revision 1 is the newest again, as revision 3")
	x.WaitMatch(`3 +20\d\d-`)
	x.Send("jjj") // to the first, which is compared with the newest
	x.Send("c")
	x.WaitFor("this one")
	x.Send("kkk")
	x.WaitFor("Nothing: the two are the same")
	x.Send(enter)
	x.WaitFor("Opened For the woods as Even keel 2 beside the others")
	quit(t, x)

	kept := s.bench()
	if n := len(kept.Builds); n != 4 || kept.Builds[3].Insert.Value.Name != "Listed core" || kept.Builds[1].Insert.Value.Name == "Listed core" {
		t.Errorf("%d builds are kept: %+v", n, kept.Builds[n-1].Insert)
	}
	s.open(func(book *store.Workbook) error {
		entries, err := book.List()
		if err != nil || len(entries) != 1 || entries[0].Customer != "Quillon Marrowby" || entries[0].Revisions != 3 {
			t.Errorf("%+v, %v", entries, err)
		}
		first, err1 := book.Load(entries[0].ID, 1)
		third, err3 := book.Load(entries[0].ID, 3)
		if err := errors.Join(err1, err3); err != nil {
			return err
		}
		if !first.Equal(third) || first.Builds[0].Insert.Value.Weight.In(unit.Grain) != 38.5 {
			t.Errorf("restored:\n%s\nthe first:\n%s", third.Encode(), first.Encode())
		}
		return nil
	})
}

// A customer asks to be forgotten: the name is in no byte of workbook and backups, though
// it stood on the bench, and the program that did it does not write it again.
func TestAnErasedCustomerLeavesNoTrace(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	s.open(func(book *store.Workbook) error {
		j := store.SampleBench()
		j.Builds[0].Name = "Quillon Marrowby's first"
		_, _, err := book.SaveFor(store.KindBench, "Sunday", "Quillon Marrowby", j)
		_, backup := book.Backup()
		return errors.Join(err, backup, book.SaveBench(store.Bench{Job: j, View: []byte(`{"name":"Sunday"}`)}))
	})
	x := s.sit(uitest.Options{Cols: 100, Rows: 30})
	x.WaitFor("Quillon Marr")
	x.Send("+") // so that undo has the name too
	x.WaitFor("shaft 5 mm .350 → 5 mm .300")
	x.Send("7")
	x.WaitFor("▸ Sunday")
	x.Send("\t\t\t\t")
	x.WaitFor("▸ Quillon Marrowby")
	x.Send("\x18") // Ctrl+X
	x.WaitFor("Erase Quillon Marrowby for good?")
	x.WaitFor("The bench “Sunday” goes, with 1 revision")
	x.Type("quillon")
	x.Send(enter)
	x.WaitFor("That is not the name")
	x.Type(" marrowby")
	x.Send(enter)
	x.WaitFor("Erased: the customer, 1 saved thing")
	leave(x, "Saved: customers")
	x.WaitFor("(erased)'s first")
	x.Send("z")
	x.WaitFor("Nothing to undo.")
	x.Send("-")
	x.WaitFor("shaft 5 mm .300 → 5 mm .350")
	quit(t, x)
	files, err := filepath.Glob(filepath.Join(filepath.Dir(s.workbook), "*"))
	if err != nil || len(files) < 2 {
		t.Fatalf("%v, %v", files, err)
	}
	for _, path := range files {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(bytes.ToLower(data), []byte("marrowby")) {
			t.Errorf("the name is in %s", path)
		}
	}
	if name := s.bench().Builds[0].Name; !strings.HasPrefix(name, store.ErasedName) {
		t.Errorf("the build is called %q", name)
	}
}
