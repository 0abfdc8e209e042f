package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"

	"github.com/spf13/cobra"

	"foreshaft/engine/record"
	"foreshaft/engine/search"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

func searchCommand() *cobra.Command {
	var asJSON bool
	var units string
	c := &cobra.Command{
		Use:   "search FILE|-",
		Short: "Look through every arrow that a drawer can make",
		Long: "Look through every combination of the pieces in a job's drawer for those whose figures lie in the windows that its search asks for.\n" +
			"It is exhaustive: what it counts is what computing every candidate would count. Ctrl+C ends it.\n" +
			"Exit status: 0 done, 1 the file could not be read or the search was ended, 2 the job or the usage is wrong.",
		Example:           "  foreshaft search job.json\n  foreshaft search - --json < job.json",
		Args:              exactly(1, "search takes one job file, or - for standard input"),
		ValidArgsFunction: oneFile,
		RunE: func(c *cobra.Command, args []string) error {
			shown, err := unit.ParseSystem(units)
			if err != nil {
				return badInput{err}
			}
			j, err := readJob(c.InOrStdin(), args[0])
			if err != nil {
				return err
			}
			ctx, stop := signal.NotifyContext(c.Context(), os.Interrupt)
			defer stop()
			found, err := search.Find(ctx, j, nil)
			var wrong *record.Error
			switch {
			case errors.As(err, &wrong):
				return badInput{fmt.Errorf("%s: %w", named(args[0]), err)}
			case err != nil:
				return fmt.Errorf("the search was ended: %w", err)
			}
			if asJSON {
				_, err = c.OutOrStdout().Write(found.Answer(j))
				return err
			}
			words := present.Matches(j, found, shown)
			if found.Matched == 0 && len(j.Search.Value.Where) > 0 {
				narrow, err := search.Widen(ctx, j, nil)
				if err != nil {
					return fmt.Errorf("the search was ended: %w", err)
				}
				first, rest, _ := strings.Cut(words, "\n")
				words = first + "\n" + present.NothingMatches(j, narrow, shown) + strings.TrimPrefix(rest, "\n")
			}
			_, err = io.WriteString(c.OutOrStdout(), words)
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the answer as JSON, always in the units of the exchange format")
	unitsFlag(c, &units)
	return c
}

// named says where a job came from.
func named(path string) string {
	if path == "-" {
		return "standard input"
	}
	return path
}
