package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"foreshaft/store"
	"foreshaft/ui/text"
)

// atMostOne refuses more than one argument with a sentence.
func atMostOne(sentence string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) > 1 {
			return badInput{errors.New(sentence)}
		}
		return nil
	}
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
		Example: "  foreshaft check\n  foreshaft check workbook.backup-0007-20260102T150405Z-daily.db",
		Args:    atMostOne("check takes one file at most"),
		RunE: func(c *cobra.Command, args []string) error {
			path := workbook
			if len(args) == 1 {
				if workbook != "" {
					return badInput{errors.New("check reads one file: name it, or give --workbook")}
				}
				path = args[0]
			}
			path, err := bookPath(path)
			if err != nil {
				return err
			}
			h, err := store.Examine(path)
			if err != nil {
				return err
			}
			out := c.OutOrStdout()
			err = errors.Join(say(out, "%s is whole: %s.", h.Path, mega(h.Bytes)),
				say(out, "%d parts, %d customers, %d saved with %d revisions, version %d.", h.Parts, h.Customers, h.Entries, h.Revisions, h.Schema))
			for _, b := range h.Backups {
				err = errors.Join(err, say(out, "backup %s, %s", b.Path, b.Why))
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
		Example: "  foreshaft backup\n  foreshaft backup /media/stick/workbook.db",
		Args:    atMostOne("backup takes one file at most"),
		RunE: func(c *cobra.Command, args []string) error {
			return withExisting(workbook, func(book *store.Workbook) error {
				to, err := "", error(nil)
				if len(args) == 1 {
					to, err = args[0], book.BackupTo(args[0])
				} else {
					to, err = book.Backup()
				}
				if err != nil {
					return err
				}
				return say(c.OutOrStdout(), "The workbook is copied to %s.", to)
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
		Example: "  foreshaft restore\n  foreshaft restore workbook.backup-0007-20260102T150405Z-daily.db",
		Args:    atMostOne("restore takes one backup at most"),
		RunE: func(c *cobra.Command, args []string) error {
			path, err := bookPath(workbook)
			if err != nil {
				return err
			}
			from := ""
			if len(args) == 1 {
				from = args[0]
			} else if list := store.Backups(path); len(list) > 0 {
				from = list[len(list)-1].Path
			} else {
				return fmt.Errorf("there is no backup beside %s", path)
			}
			kept, err := store.Restore(path, from, time.Now())
			if err != nil {
				return err
			}
			words := fmt.Sprintf("%s is as the backup %s has it.", path, from)
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
