package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
	"foreshaft/ui/ticket"
)

func marksCommand() *cobra.Command {
	var build, from, to, format, units string
	c := &cobra.Command{
		Use:   "marks FILE|-",
		Short: "Print a strip of sight marks for every yard or metre",
		Long: "Print the sight marks of one build of a job file for every yard, or metre with --units m: as text, or as a strip at true size to print, in HTML or SVG.\n" +
			"With one mark that was shot in (sight.marks) the strip is moved to agree with it; with two or more it is on the sight's own scale.\n" +
			"Exit status: 0 done, 1 the file could not be read, 2 the job or the usage is wrong, or the job lacks what marks need.",
		Example:           "  foreshaft marks job.json\n  foreshaft marks job.json --format html --to 80 > marks.html\n  foreshaft marks - --build \"Even keel\" --units m --format svg < job.json",
		Args:              exactly(1, "marks takes one job file, or - for standard input"),
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
			at, err := buildNamed(j, build)
			if err != nil {
				return badInput{err}
			}
			list := j.DistancesOrDefault()
			first, err := distanceOr(from, "from", shown, slices.Min(list))
			if err != nil {
				return badInput{err}
			}
			last, err := distanceOr(to, "to", shown, slices.Max(list))
			if err != nil {
				return badInput{err}
			}
			strip, err := ticket.MarksOf(sheet.EvaluateIn(j, shown), at, first, last)
			if err != nil {
				return badInput{err}
			}
			data, err := strip.As(format)
			if err != nil {
				return badInput{err}
			}
			_, err = c.OutOrStdout().Write(data)
			return err
		},
	}
	c.Flags().StringVar(&build, "build", "", "name of the build (else the baseline)")
	c.Flags().StringVar(&from, "from", "", "nearest distance (else the nearest of the job)")
	c.Flags().StringVar(&to, "to", "", "farthest distance (else the farthest of the job)")
	c.Flags().StringVar(&format, "format", "txt", strings.Join(ticket.Formats, ", "))
	choiceFlag(c, "format", ticket.Formats...)
	unitsFlag(c, &units)
	return c
}

// buildNamed returns the place of a build in the job, the baseline's without a name. A name
// may be in other capitals, and the letter that the screen gives a build will do.
func buildNamed(j *job.Job, name string) (int, error) {
	if name == "" {
		return j.Baseline, nil
	}
	names := make([]string, len(j.Builds))
	for i := range j.Builds {
		names[i] = fmt.Sprintf("%q", j.Builds[i].Name)
	}
	for _, same := range []func(i int) bool{
		func(i int) bool { return j.Builds[i].Name == name },
		func(i int) bool { return strings.EqualFold(j.Builds[i].Name, name) },
		func(i int) bool { return present.Letter(i) == name },
	} {
		for i := range j.Builds {
			if same(i) {
				return i, nil
			}
		}
	}
	return 0, fmt.Errorf("--build: there is no build %q; there are %s", label.Clean(name), strings.Join(names, ", "))
}

// distanceOr reads a distance that was typed behind a flag.
func distanceOr(typed, flag string, units unit.System, otherwise unit.Length) (unit.Length, error) {
	if typed == "" {
		return otherwise, nil
	}
	value, err := unit.Parse(typed, units.Shown(unit.Yards))
	if err != nil {
		return 0, fmt.Errorf("--%s: %w", flag, err)
	}
	if d := unit.Length(value); d > 0 && d <= job.MostDistance {
		return d, nil
	}
	return 0, fmt.Errorf("--%s: must be more than 0 and at most %s, got %s", flag, units.Distance(job.MostDistance, 4), typed)
}
