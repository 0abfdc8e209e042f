package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"foreshaft/engine/label"
	"foreshaft/store"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
)

// exportCommand takes a workbook, or a part of it, elsewhere.
func exportCommand() *cobra.Command {
	var workbook, customer, saved string
	var drawer, asJob bool
	c := &cobra.Command{
		Use:   "export",
		Short: "Write the workbook, or a part of it, as JSON to standard output",
		Long: "Write the whole workbook as JSON to standard output: the bench, the drawer, customers, and all that is saved with every revision.\n" +
			"Or only the drawer, one customer with what is saved for them, or one thing saved by its name; that one as a job file with --job, which the other commands read.\n" +
			"foreshaft import takes it in elsewhere, and overwrites nothing there.\n" +
			"Exit status: 0 done, 1 the workbook could not be read or is in use, 2 the usage is wrong or nothing has that name.",
		Example: "  foreshaft export > workbook.json\n  foreshaft export --customer \"A. Sample\" > sample.json\n  foreshaft export --saved \"Autumn\" --job | foreshaft figures -",
		Args:    exactly(0, "export takes no file: it writes to standard output"),
		RunE: func(c *cobra.Command, _ []string) error {
			chosen := 0
			for _, is := range []bool{drawer, customer != "", saved != ""} {
				if is {
					chosen++
				}
			}
			switch {
			case chosen > 1:
				return badInput{errors.New("export one thing at a time: --drawer, --customer or --saved")}
			case asJob && saved == "":
				return badInput{errors.New("--job goes with --saved NAME")}
			}
			set, err := readSettings(os.Getenv, "")
			if err != nil {
				return err
			}
			var data []byte
			err = withExisting(workbook, func(book *store.Workbook) (err error) {
				of := store.Scope{Drawer: drawer, Customer: customer}
				if saved != "" {
					e, err := entryNamed(book, saved)
					if err != nil {
						return err
					}
					if asJob {
						data, err = jobFile(book, e.ID)
						return err
					}
					of.Entry = e.ID
				}
				data, err = bundle(book, of, set.choices.Currency)
				var missing *store.MissingCustomerError
				if errors.As(err, &missing) {
					return badInput{err}
				}
				return err
			})
			if err != nil {
				return err
			}
			_, err = c.OutOrStdout().Write(data)
			return err
		},
	}
	c.Flags().BoolVar(&drawer, "drawer", false, "the drawer alone")
	c.Flags().StringVar(&customer, "customer", "", "one customer and what is saved for them")
	c.Flags().StringVar(&saved, "saved", "", "one bench, build or bow by its name; “build NAME” where two have it")
	c.Flags().BoolVar(&asJob, "job", false, "with --saved: as a job file, as it was saved last")
	workbookFlag(c, &workbook)
	return c
}

// entryNamed finds the one thing saved under a name.
func entryNamed(book *store.Workbook, name string) (store.Entry, error) {
	list, err := book.List() // of a damaged workbook, what can still be read
	found := called(list, name)
	if len(found) == 0 && err != nil {
		return store.Entry{}, err
	}
	if len(found) == 0 {
		return store.Entry{}, badInput{fmt.Errorf("nothing is saved as %q; foreshaft saved lists what is", label.Clean(name))}
	}
	return only(found, withKind)
}

// called picks those of a name, which may have their kind in front. As it is spelled goes
// before other capitals.
func called(list []store.Entry, name string) []store.Entry {
	for _, same := range []func(a, b string) bool{func(a, b string) bool { return a == b }, strings.EqualFold} {
		var found []store.Entry
		for _, e := range list {
			if same(e.Name, name) || same(withKind(e), name) {
				found = append(found, e)
			}
		}
		if len(found) > 0 {
			return found
		}
	}
	return nil
}

// withKind is the name of something saved behind its kind.
func withKind(e store.Entry) string { return string(e.Kind) + " " + e.Name }

// only is the one that was found; of several the error asks which, by those words.
func only(found []store.Entry, words func(store.Entry) string) (store.Entry, error) {
	if len(found) == 1 {
		return found[0], nil
	}
	names := make([]string, len(found))
	for i, e := range found {
		names[i] = fmt.Sprintf("%q", words(e))
	}
	return store.Entry{}, badInput{fmt.Errorf("say which: %s", strings.Join(names, " or "))}
}

// importCommand takes in what another workbook wrote.
func importCommand() *cobra.Command {
	var workbook, name string
	var take bool
	c := &cobra.Command{
		Use:   "import FILE|-",
		Short: "Show what a workbook, a job or a price list from elsewhere would bring, and take it in with --take",
		Long: "Read what foreshaft export wrote, a job file, or a CSV of parts, and say what it would bring. With --take it is taken in, all of it or nothing.\n" +
			"Nothing is overwritten: something else under a name that is taken here comes as “NAME (2)”, a part whose ID is another's gets a new one, and what is here just the same is left alone.\n" +
			"Exit status: 0 done, 1 the file or the workbook could not be read, 2 something in it is refused or the usage is wrong.",
		Example:           "  foreshaft import workbook.json\n  foreshaft import workbook.json --take\n  foreshaft import job.json --name \"From home\" --take",
		Args:              exactly(1, "import takes one file, or - for standard input"),
		ValidArgsFunction: oneFile,
		RunE: func(c *cobra.Command, args []string) error {
			return importFile(c, args[0], name, workbook, take, false)
		},
	}
	c.Flags().StringVar(&name, "name", "", "what a job file is saved as (else as the file is called)")
	c.Flags().BoolVar(&take, "take", false, "take it in; without it nothing is changed")
	workbookFlag(c, &workbook)
	return c
}

// mostWorkbook is more than the workbook of any shop comes to.
const mostWorkbook = 1 << 30

// importFile says what a file would bring and, where it is wanted and nothing is refused,
// takes it in. Parts says that it must be a list of parts.
func importFile(c *cobra.Command, path, name, workbook string, take, parts bool) error {
	data, err := readUpTo(mostWorkbook, c.InOrStdin(), path)
	if err != nil {
		return err
	}
	if parts && isJSON(data) {
		return badInput{fmt.Errorf("%s: it is JSON and no list of parts: foreshaft import takes it in", named(path))}
	}
	if name == "" {
		base := filepath.Base(path)
		if name = strings.TrimSuffix(base, filepath.Ext(base)); path == "-" {
			name = "From a pipe"
		}
	}
	set, err := readSettings(os.Getenv, "")
	if err != nil {
		return err
	}
	out := c.OutOrStdout()
	return withBook(workbook, func(book *store.Workbook) error {
		would, err := takeIn(book, data, name, set.choices.Currency, take)
		if wrong := new(wrongContents); errors.As(err, wrong) {
			return badInput{fmt.Errorf("%s: %w", named(path), wrong.error)}
		}
		if err != nil {
			return err
		}
		if err := printLines(out, would.Lines); err != nil {
			return err
		}
		switch {
		case would.Refused:
			return badInput{errors.New("nothing was changed: correct the lines that are refused")}
		case would.Nothing:
			return printLines(out, []string{"All of it is here already."})
		case take:
			return printLines(out, []string{"Taken in."})
		}
		return printLines(out, []string{"Nothing was changed yet: the same with --take takes it in."})
	})
}

// savedCommand lists what is saved.
func savedCommand() *cobra.Command {
	var workbook string
	var everyone, binned bool
	c := &cobra.Command{
		Use:   "saved [WORD …]",
		Short: "List what is saved: benches, builds and bows, or those with some words in them",
		Long: "List what is saved, the newest first: when, how many revisions, what it is, its name, its customer and its tags, with tabs between them.\n" +
			"Words leave only lines that have all of them. --customers lists the customers with their notes instead, --bin what is in the bin.\n" +
			"Exit status: 0 done, 1 the workbook could not be read or is in use, 2 the usage is wrong.",
		Example: "  foreshaft saved\n  foreshaft saved autumn 2026-11",
		RunE: func(c *cobra.Command, words []string) error {
			var lines []string
			err := withExisting(workbook, func(book *store.Workbook) (err error) {
				if everyone {
					lines, err = customerLines(book)
				} else {
					lines, err = savedLines(book, binned)
				}
				return err
			})
			lines = slices.DeleteFunc(lines, func(l string) bool {
				return slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(strings.ToLower(l), strings.ToLower(w)) })
			})
			return errors.Join(printTabbed(c.OutOrStdout(), lines), err)
		},
	}
	c.Flags().BoolVar(&everyone, "customers", false, "list the customers")
	c.Flags().BoolVar(&binned, "bin", false, "list what is in the bin")
	workbookFlag(c, &workbook)
	return c
}

func savedLines(book *store.Workbook, binned bool) ([]string, error) {
	list, err := book.List()
	var out []string
	for _, e := range list {
		if e.Binned == binned {
			out = append(out, strings.Join([]string{e.Saved.Format("2006-01-02 15:04"), fmt.Sprint(e.Revisions), string(e.Kind), e.Name, e.Customer, e.Tags}, "\t"))
		}
	}
	return out, err
}

func customerLines(book *store.Workbook) ([]string, error) {
	list, err := book.Customers()
	var out []string
	for _, c := range list {
		out = append(out, c.Name+"\t"+c.Note)
	}
	return out, err
}

// printTabbed writes lines whose columns have tabs between them.
func printTabbed(out io.Writer, lines []string) error {
	for _, l := range lines {
		cells := strings.Split(l, "\t")
		for i := range cells {
			cells[i] = text.Guard(cells[i])
		}
		if _, err := fmt.Fprintln(out, strings.TrimRight(strings.Join(cells, "\t"), "\t")); err != nil {
			return err
		}
	}
	return nil
}

// eraseCommand takes a customer out for good.
func eraseCommand() *cobra.Command {
	var workbook string
	var forGood bool
	c := &cobra.Command{
		Use:   "erase CUSTOMER",
		Short: "Show what erasing a customer would take away, and erase with --for-good",
		Long: "Say what is kept of a customer and where else the name stands. With --for-good the customer, all that is saved for them and the name wherever it stands are taken out,\n" +
			"and workbook and backups are written anew, so that the name is in none of their bytes. This cannot be undone. Files that were exported are yours to look for.\n" +
			"Exit status: 0 done, 1 the workbook could not be read or written or is in use, 2 the usage is wrong or there is no trace of the name.",
		Example: "  foreshaft export --customer \"A. Sample\" > sample.json\n  foreshaft erase \"A. Sample\"\n  foreshaft erase \"A. Sample\" --for-good",
		Args:    exactly(1, "erase takes the name of one customer"),
		RunE: func(c *cobra.Command, args []string) error {
			return withExisting(workbook, func(book *store.Workbook) error {
				do, after := book.Traces, "Nothing was changed yet: the same with --for-good erases it."
				if forGood {
					do, after = book.Erase, "Erased."
				}
				found, err := do(args[0])
				if err != nil {
					return err
				}
				if found.Nothing() {
					return badInput{fmt.Errorf("there is no customer %q, and there is no trace of the name in the workbook", found.Customer)}
				}
				if err := printLines(c.OutOrStdout(), append(present.Erasing(found), after)); err != nil {
					return err
				}
				if len(found.Left) > 0 {
					return fmt.Errorf("the name is still in %s", strings.Join(found.Left, ", "))
				}
				return nil
			})
		},
	}
	c.Flags().BoolVar(&forGood, "for-good", false, "erase; without it nothing is changed")
	workbookFlag(c, &workbook)
	return c
}
