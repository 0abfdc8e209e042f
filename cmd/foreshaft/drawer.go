package main

import (
	"errors"

	"github.com/spf13/cobra"

	"foreshaft/engine/part"
	"foreshaft/store"
)

// drawerCommand takes the parts of a workbook out as CSV, and in.
func drawerCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "drawer",
		Short: "Take the parts of the drawer out as CSV, or take parts in",
		Long: "The drawer as CSV: a line a part below a line of column names, which are the keys of job files (weight_gr, length_in …).\n" +
			"Spreadsheets read and write it, with commas, semicolons or tabs and with decimal points or commas.",
		Args: noArguments,
		RunE: func(*cobra.Command, []string) error {
			return badInput{errors.New("say what to do: foreshaft drawer export, or foreshaft drawer import FILE")}
		},
	}
	c.AddCommand(drawerExportCommand(), drawerImportCommand())
	return c
}

func drawerExportCommand() *cobra.Command {
	var workbook string
	var commas bool
	c := &cobra.Command{
		Use:   "export",
		Short: "Write every part of the drawer as CSV to standard output",
		Long: "Write every part of the drawer, the retired ones too, as CSV to standard output. foreshaft drawer import takes it back in as it was.\n" +
			"A text that a spreadsheet would run as a formula has an apostrophe in front; import takes it off.\n" +
			"Exit status: 0 done, 1 the workbook could not be read or is in use, 2 the usage is wrong.",
		Example: "  foreshaft drawer export > drawer.csv\n  foreshaft drawer export --commas > drawer.csv",
		Args:    exactly(0, "drawer export takes no file: it writes to standard output"),
		RunE: func(c *cobra.Command, _ []string) error {
			var parts []part.Part
			err := withBook(workbook, func(book *store.Workbook) (err error) {
				parts, err = book.Parts()
				return err
			})
			if err != nil {
				return err
			}
			_, err = c.OutOrStdout().Write(store.WriteCSV(parts, commas))
			return err
		},
	}
	c.Flags().BoolVar(&commas, "commas", false, "decimal commas, semicolons between the cells, and a byte-order mark")
	workbookFlag(c, &workbook)
	return c
}

func drawerImportCommand() *cobra.Command {
	var workbook string
	var take bool
	c := &cobra.Command{
		Use:   "import FILE|-",
		Short: "Show what a CSV of parts would change, and take it in with --take",
		Long: "Read a CSV of parts and say which are new, which change and how, and which lines are refused and why. With --take the drawer is changed, by all lines or by none.\n" +
			"A line with the id of a part changes that part; one without an id is a new part, unless the drawer has one with all its values. Nothing is overwritten by its name.\n" +
			"Needed are the columns kind (shaft, insert, collar, head, nock, vanes, wrap) and what such a part cannot be without; foreshaft drawer export shows all columns.\n" +
			"Exit status: 0 done, 1 the file or the workbook could not be read, 2 lines are refused or the usage is wrong.",
		Example:           "  foreshaft drawer import prices.csv\n  foreshaft drawer import prices.csv --take",
		Args:              exactly(1, "drawer import takes one file, or - for standard input"),
		ValidArgsFunction: oneFile,
		RunE:              func(c *cobra.Command, args []string) error { return importFile(c, args[0], "", workbook, take, true) },
	}
	c.Flags().BoolVar(&take, "take", false, "take the parts in; without it nothing is changed")
	workbookFlag(c, &workbook)
	return c
}
