package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"foreshaft/store"
	"foreshaft/ui/text"
)

func workbookFlag(c *cobra.Command, path *string) {
	c.Flags().StringVar(path, "workbook", "", "the workbook file (else $FORESHAFT_WORKBOOK, else in your data folder)")
	fileFlag(c, "workbook")
}

// openBook opens the workbook at a path, or where workbooks are when that is empty.
func openBook(path string, opt store.Options) (*store.Workbook, error) {
	path, err := bookPath(path)
	if err != nil {
		return nil, err
	}
	if opt.Program != "" {
		opt.Program = ", which " + opt.Program
	}
	opt.Program = "foreshaft " + version() + opt.Program
	return store.Open(path, opt)
}

// bookPath returns the path itself, or where workbooks are when that is empty.
func bookPath(path string) (string, error) {
	if path != "" {
		return path, nil
	}
	return store.DefaultPath(os.Getenv)
}

// withBook does something with a workbook that is opened for it.
func withBook(path string, do func(*store.Workbook) error) error {
	book, err := openBook(path, store.Options{})
	if err != nil {
		return err
	}
	return errors.Join(do(book), closeBook(book))
}

func noWorkbook(path string) error {
	if len(store.Backups(path)) > 0 {
		return fmt.Errorf("there is no workbook %s, but backups of one are beside it: foreshaft restore brings the newest back", path)
	}
	return fmt.Errorf("there is no workbook %s yet: starting foreshaft makes one", path)
}

// withExisting is withBook for what only looks: it makes no new workbook.
func withExisting(path string, do func(*store.Workbook) error) error {
	path, err := bookPath(path)
	if err != nil {
		return err
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return noWorkbook(path)
	}
	return withBook(path, do)
}

// printLines writes lines of words, in which names from outside cannot drive the terminal.
func printLines(out io.Writer, lines []string) error {
	for _, l := range lines {
		if _, err := fmt.Fprintln(out, text.Guard(l)); err != nil {
			return err
		}
	}
	return nil
}
