package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// mostInput bounds what is read from a pipe: far above any job, far below what
// would trouble a machine.
const mostInput = 64 << 20

func figuresCommand() *cobra.Command {
	var asJSON bool
	var units string
	c := &cobra.Command{
		Use:   "figures FILE|-",
		Short: "Compute the figures of a job file and print them",
		Long: "Compute every figure of the builds in a job file, or of a job on standard input (-), without a terminal and without saved data.\n" +
			"Exit status: 0 done, 1 the file could not be read, 2 the job or the usage is wrong.",
		Example:           "  foreshaft figures job.json\n  foreshaft figures - --json < job.json",
		Args:              exactly(1, "figures takes one job file, or - for standard input"),
		ValidArgsFunction: oneFile,
		RunE: func(c *cobra.Command, args []string) error {
			j, err := readJob(c.InOrStdin(), args[0])
			if err != nil {
				return err
			}
			if asJSON {
				_, err = c.OutOrStdout().Write(sheet.Evaluate(j).Answer())
				return err
			}
			shown, err := unit.ParseSystem(units)
			if err != nil {
				return badInput{err}
			}
			_, err = io.WriteString(c.OutOrStdout(), present.Plain(sheet.EvaluateIn(j, shown)))
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the answer as JSON, always in the units of the exchange format")
	unitsFlag(c, &units)
	return c
}

func unitsFlag(c *cobra.Command, units *string) {
	c.Flags().StringVar(units, "units", "", "units of the text, such as g,cm,m/s,N,m (else gr,in,ft/s,lb,yd)")
	completeFlag(c, "units", completeUnits)
}

// readJob reads and checks a job file. A job that breaks a rule is bad input,
// a file that cannot be read is not.
func readJob(stdin io.Reader, path string) (*job.Job, error) {
	data, err := readInput(stdin, path)
	if err != nil {
		return nil, err
	}
	j, err := job.Decode(data)
	if err != nil {
		return nil, badInput{fmt.Errorf("%s: %w", named(path), err)}
	}
	return j, nil
}

// readInput reads a file, or standard input (-), up to a size that no input has.
func readInput(stdin io.Reader, path string) ([]byte, error) { return readUpTo(mostInput, stdin, path) }

// readUpTo is readInput for files of another size.
func readUpTo(most int64, stdin io.Reader, path string) ([]byte, error) {
	in := stdin
	if path != "-" {
		file, err := os.Open(path)
		if errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("there is no file %s", path)
		}
		if err != nil {
			return nil, fmt.Errorf("cannot read the file: %w", err)
		}
		defer file.Close()
		in = file
	}
	data, err := io.ReadAll(io.LimitReader(in, most+1))
	if err != nil {
		return nil, fmt.Errorf("cannot read the file: %w", err)
	}
	if int64(len(data)) > most {
		return nil, badInput{fmt.Errorf("%s: larger than %d MB, which no input is", named(path), most>>20)}
	}
	return data, nil
}
