package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"foreshaft/store"
	"foreshaft/ui/text"
)

// atMostOne refuses more than one argument with a sentence.
func atMostOne(sentence string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) > 1 || len(args) == 1 && args[0] == "" {
			return badInput{errors.New(sentence)}
		}
		return nil
	}
}

// holds says what a workbook has in it.
func holds(h *store.Health) string {
	return fmt.Sprintf("%s, %s, %d saved with %s, version %d", counted(h.Parts, "part"), counted(h.Customers, "customer"), h.Entries, counted(h.Revisions, "revision"), h.Schema)
}

func counted(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}

// whenAndWhy says of when a backup is, and why it was made.
func whenAndWhy(b store.BackupFile) string {
	why := map[string]string{"daily": "the one of that day", "asked": "asked for"}[b.Why]
	if why == "" {
		why = "before a change of version"
	}
	return b.Made.Local().Format("2006-01-02 15:04") + ", " + why
}

// beside returns the file that is named, which may be one beside the workbook.
func beside(workbook, name string) string {
	if _, err := os.Stat(name); err != nil && name == filepath.Base(name) {
		if there := filepath.Join(filepath.Dir(workbook), name); exists(there) {
			return there
		}
	}
	return name
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// mega writes a size of a file.
func mega(bytes int64) string { return fmt.Sprintf("%.1f MB", float64(bytes)/1e6) }

func say(out io.Writer, format string, args ...any) error {
	_, err := fmt.Fprintln(out, text.Guard(fmt.Sprintf(format, args...)))
	return err
}

func checkCommand() *cobra.Command {
	var workbook string
	c := &cobra.Command{
		Use:   "check [FILE]",
		Short: "Read every record of the workbook and say whether it is whole",
		Long: "Read every page and every record of the workbook, or of the file that is named, such as a backup, and say what it holds or what is damaged. Nothing is changed.\n" +
			"Exit status: 0 it is whole, 1 it is damaged, in use or could not be read, 2 the usage is wrong.",
		Example:           "  foreshaft check\n  foreshaft check workbook.backup-0007-20260102T150405Z-daily.db",
		Args:              atMostOne("check takes one file at most, and not an empty name"),
		ValidArgsFunction: oneFile,
		RunE: func(c *cobra.Command, args []string) error {
			path := workbook
			if len(args) == 1 {
				if workbook != "" {
					return badInput{errors.New("check reads one file: name it, or give --workbook")}
				}
				book, err := bookPath("")
				if err != nil {
					return err
				}
				path = beside(book, args[0])
			}
			path, err := bookPath(path)
			if err != nil {
				return err
			}
			if len(args) == 0 && !exists(path) {
				return noWorkbook(path)
			}
			h, err := store.Examine(path)
			if err != nil {
				return err
			}
			out := c.OutOrStdout()
			err = errors.Join(say(out, "%s is whole: %s.", h.Path, mega(h.Bytes)), say(out, "%s.", holds(h)))
			for _, b := range h.Backups {
				err = errors.Join(err, say(out, "backup %s, %s, %s", b.Path, mega(b.Bytes), whenAndWhy(b)))
			}
			return err
		},
	}
	workbookFlag(c, &workbook)
	return c
}

func backupCommand() *cobra.Command {
	var workbook string
	c := &cobra.Command{
		Use:   "backup [FILE]",
		Short: "Copy the workbook to a new file, checked and on the disk",
		Long: "Copy the workbook beside it, or to a new file that is named. The copy is checked before it gets its name; a file that is there already is left alone.\n" +
			"The program makes a backup each day that it is used, keeps five of those, and one before each change of version.\n" +
			"Exit status: 0 done, 1 the workbook is in use, damaged or could not be copied, 2 the usage is wrong.",
		Example:           "  foreshaft backup\n  foreshaft backup /media/stick/workbook.db",
		Args:              atMostOne("backup takes one file at most, and not an empty name"),
		ValidArgsFunction: oneFile,
		RunE: func(c *cobra.Command, args []string) error {
			return withExisting(workbook, func(book *store.Workbook) error {
				if len(args) == 0 {
					to, err := book.Backup()
					if err != nil {
						return err
					}
					return say(c.OutOrStdout(), "The workbook is copied and checked: %s", to)
				}
				to, err := filepath.Abs(args[0])
				if err == nil {
					err = book.BackupTo(to)
				}
				if err != nil {
					return err
				}
				return say(c.OutOrStdout(), "The workbook is copied and checked: %s", to)
			})
		},
	}
	workbookFlag(c, &workbook)
	return c
}

func restoreCommand() *cobra.Command {
	var workbook string
	c := &cobra.Command{
		Use:   "restore [BACKUP]",
		Short: "Put a backup in the place of the workbook; what is there is kept",
		Long: "Put a backup, the newest where none is named, in the place of the workbook. The backup is checked first. The workbook that is there now is kept beside it under another name, and the backup stays too.\n" +
			"Exit status: 0 done, 1 the workbook is in use, or the backup is damaged or not there, 2 the usage is wrong.",
		Example:           "  foreshaft restore\n  foreshaft restore workbook.backup-0007-20260102T150405Z-daily.db",
		Args:              atMostOne("restore takes one backup at most, and not an empty name"),
		ValidArgsFunction: oneFile,
		RunE: func(c *cobra.Command, args []string) error {
			path, err := bookPath(workbook)
			if err != nil {
				return err
			}
			from := ""
			if len(args) == 1 {
				from = beside(path, args[0])
			} else if list := store.Backups(path); len(list) > 0 {
				from = list[len(list)-1].Path
			} else {
				return fmt.Errorf("there is no backup beside %s", path)
			}
			kept, err := store.Restore(path, from, time.Now())
			if err != nil {
				return err
			}
			h, err := store.Examine(path)
			if err != nil {
				return err
			}
			words := fmt.Sprintf("%s is as the backup %s has it: %s.", path, from, holds(h))
			if kept != "" {
				words += " What was there is kept as " + kept + "."
			}
			return say(c.OutOrStdout(), "%s", words)
		},
	}
	workbookFlag(c, &workbook)
	return c
}

func compactCommand() *cobra.Command {
	var workbook string
	c := &cobra.Command{
		Use:   "compact",
		Short: "Write the workbook anew without the room of what is gone",
		Long: "Write the workbook to a new file without the room that is left of what was deleted or replaced, check it, and put it in the place of the old one.\n" +
			"Exit status: 0 done, 1 the workbook is in use, damaged or could not be written, 2 the usage is wrong.",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return badInput{fmt.Errorf("compact takes no name: %s", strings.Join(args, " "))}
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error {
			return withExisting(workbook, func(book *store.Workbook) error {
				before, after, err := book.Compact()
				if err != nil {
					return err
				}
				return say(c.OutOrStdout(), "The workbook had %s and has %s.", mega(before), mega(after))
			})
		},
	}
	workbookFlag(c, &workbook)
	return c
}
