package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"foreshaft/engine/dozen"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/present"
)

func weighCommand() *cobra.Command {
	var id, length, build, of, units, workbook string
	c := &cobra.Command{
		Use:   "weigh FILE|-",
		Short: "Say what scale readings come to, and keep it with a part",
		Long: "Read weights from a scale, one a line, in grains or with their unit (g). Say their mean, how much pieces differ and the lightest and heaviest.\n" +
			"With --part they are kept as the measured weight of that part of the drawer; what it says it weighs stays beside it. Of shafts weigh whole ones and give their --length.\n" +
			"With --build and --of they are pieces of a dozen instead, added to those of that build of the bench that is open: a shaft may have its spine and straightness behind its weight.\n" +
			"Exit status: 0 done, 1 the file or the workbook could not be read, 2 a line or the usage is wrong.",
		Example:           "  foreshaft weigh readings.txt\n  foreshaft weigh - --part sample-head-field-point-100-gr < readings.txt\n  foreshaft weigh shafts.txt --length 32in --part part-7\n  foreshaft weigh - --build \"Even keel\" --of shafts < shafts.txt",
		Args:              exactly(1, "weigh takes one file of readings, or - for standard input"),
		ValidArgsFunction: oneFile,
		RunE: func(c *cobra.Command, args []string) error {
			shown, err := unit.ParseSystem(units)
			if err != nil {
				return badInput{err}
			}
			data, err := readInput(c.InOrStdin(), args[0])
			if err != nil {
				return err
			}
			if build != "" || of != "" {
				if id != "" || length != "" {
					return badInput{errors.New("--build and --of are for the pieces of a dozen, --part and --length for a part of the drawer: not both")}
				}
				said, err := weighFor(workbook, build, of, named(args[0]), string(data), shown)
				if err != nil {
					return err
				}
				return printLines(c.OutOrStdout(), said)
			}
			readings, resolution, err := scaleReadings(string(data), shown)
			if err != nil {
				return badInput{fmt.Errorf("%s: %w", named(args[0]), err)}
			}
			measured, err := part.Weigh(readings, resolution)
			if err != nil {
				return badInput{fmt.Errorf("%s: %w", named(args[0]), err)}
			}
			said := weighed(shown, readings, measured) + farOff(shown, readings)
			if length != "" {
				l, err := unit.Parse(length, shown.Shown(unit.Inches))
				if err != nil || l <= 0 {
					return badInput{fmt.Errorf("--length: %q is no length of a shaft", length)}
				}
				measured = measured.ByInch(unit.Length(l))
			}
			if id != "" {
				var kept string
				err := withBook(workbook, func(book *store.Workbook) (err error) {
					kept, err = keepMeasured(book, id, measured)
					return err
				})
				if err != nil {
					return err
				}
				said += kept
			}
			_, err = io.WriteString(c.OutOrStdout(), said)
			return err
		},
	}
	c.Flags().StringVar(&id, "part", "", "id of a part of the drawer to keep it with, or its name where no other has it")
	c.Flags().StringVar(&length, "length", "", "length of the shafts that were weighed")
	c.Flags().StringVar(&build, "build", "", "build of the open bench whose dozen the pieces are for")
	c.Flags().StringVar(&of, "of", "", "what was weighed for it: shafts, heads, inserts or nocks")
	choiceFlag(c, "of", "shafts", "heads", "inserts", "nocks")
	unitsFlag(c, &units)
	workbookFlag(c, &workbook)
	return c
}

// weighFor adds weighed pieces to the dozen of a build of the bench that is open, and says
// what they come to.
func weighFor(workbook, build, of, file, text string, units unit.System) ([]string, error) {
	kind := dozen.Kind(0)
	for kind < dozen.Kinds && kind.String() != of && kind.One() != of {
		kind++
	}
	switch {
	case build == "":
		return nil, badInput{errors.New("--of needs --build, the name of a build of the bench")}
	case kind == dozen.Kinds:
		return nil, badInput{fmt.Errorf("--of: want shafts, heads, inserts or nocks, got %q", of)}
	}
	pieces, err := dozen.Read(text, kind, units)
	if err != nil {
		return nil, badInput{fmt.Errorf("%s: %w", file, err)}
	}
	var said []string
	err = withBook(workbook, func(book *store.Workbook) error {
		bench, err := book.LoadBench()
		if err != nil {
			return err
		}
		j := bench.Job.Clone()
		at, err := buildNamed(j, build)
		if err != nil {
			return badInput{err}
		}
		batch := &j.Builds[at].Dozen
		batch.Given = true
		list := batch.Value.Of(kind)
		there := len(*list)
		*list = append(*list, pieces...)
		if err := batch.Value.Check("dozen"); err != nil {
			return badInput{fmt.Errorf("%s: %w", file, err)}
		}
		said = present.WeighingOf(units, &batch.Value, kind).Words()
		if there > 0 {
			said = append(said, fmt.Sprintf("%d were there already: on the screen, list Dozen, what is there twice can be taken off.", there))
		}
		said = append(said, fmt.Sprintf("Kept for the dozen of %s.", j.Builds[at].Name))
		bench.Job = j
		return book.SaveBench(bench)
	})
	return said, err
}

// scaleReadings reads weights, one a line; what the scale rounds to is told by the
// finest of them. Empty lines are left out. The error names the line.
func scaleReadings(text string, units unit.System) (readings []unit.Mass, resolution unit.Mass, err error) {
	finest := math.Inf(1)
	for i, line := range strings.Split(strings.TrimPrefix(text, "\ufeff"), "\n") {
		line = strings.TrimSpace(strings.TrimRight(strings.TrimSpace(line), ",;"))
		if line == "" {
			continue
		}
		value, err := unit.Parse(line, units.Shown(unit.Grains))
		if err == nil && (value <= 0 || value > float64(1000*unit.Grain)) {
			err = errors.New("must be more than 0 and at most 1000 gr")
		}
		if err != nil {
			return nil, 0, fmt.Errorf("line %d: %w", i+1, err)
		}
		readings = append(readings, unit.Mass(value))
		finest = min(finest, lastPlace(line, units))
	}
	if len(readings) == 0 {
		return nil, 0, errors.New("there is no reading in it")
	}
	return readings, unit.Mass(finest), nil
}

// lastPlace returns what one more in the last place of a typed weight is, in kg.
func lastPlace(line string, units unit.System) float64 {
	digits, suffix := line, ""
	if i := strings.IndexFunc(line, func(r rune) bool { return !strings.ContainsRune("0123456789.,+- ", r) }); i >= 0 {
		digits, suffix = line[:i], line[i:]
	}
	places := 0
	if _, behind, ok := strings.Cut(strings.ReplaceAll(strings.TrimSpace(digits), ",", "."), "."); ok {
		places = len(behind)
	}
	one, err := unit.Parse("1"+suffix, units.Shown(unit.Grains))
	if err != nil {
		return math.Inf(1)
	}
	return one * math.Pow(10, -float64(places))
}

// weighed says what readings come to.
func weighed(units unit.System, readings []unit.Mass, m part.Measured) string {
	gr := units.Shown(unit.Grains)
	of := func(w unit.Mass) string { return present.Number(gr.Of(float64(w))) }
	value, spread := figure.Rounded(gr.Of(float64(m.Weight)), gr.Of(float64(m.WeightU)))
	return fmt.Sprintf("%d weighed: %s ± %s %s a piece, from %s to %s %s.\n", m.Count, value, spread, gr.Symbol,
		of(slices.Min(readings)), of(slices.Max(readings)), gr.Symbol)
}

// farOff names readings that lie so far from the others that they were perhaps mistyped:
// farther from the median than a tenth of it and than five standard deviations as the
// median deviation tells them (1.4826 of it in a normal distribution).
func farOff(units unit.System, readings []unit.Mass) string {
	median := func(list []float64) float64 {
		slices.Sort(list)
		return (list[(len(list)-1)/2] + list[len(list)/2]) / 2
	}
	var all, off []float64
	for _, r := range readings {
		all = append(all, float64(r))
	}
	middle := median(all)
	for _, r := range readings {
		off = append(off, math.Abs(float64(r)-middle))
	}
	spread := median(off)
	gr := units.Shown(unit.Grains)
	var out strings.Builder
	for i, r := range readings {
		if d := math.Abs(float64(r) - middle); d > middle/10 && d > 5*1.4826*spread {
			fmt.Fprintf(&out, "! reading %d, %s %s, is far from the others: was it mistyped?\n", i+1, present.Number(gr.Of(float64(r))), gr.Symbol)
		}
	}
	return out.String()
}

// keepMeasured keeps a measured weight with a part of the drawer, beside the stated one,
// and says so.
func keepMeasured(book *store.Workbook, id string, m part.Measured) (string, error) {
	parts, err := book.Parts()
	if err != nil {
		return "", err
	}
	at := slices.IndexFunc(parts, func(p part.Part) bool { return p.ID == id })
	if at < 0 { // or by a name that no other has
		for i, p := range parts {
			switch {
			case !strings.EqualFold(p.Name(), id):
			case at >= 0:
				return "", badInput{fmt.Errorf("--part: the drawer has more than one part called %q; give the id, which its screen shows", id)}
			default:
				at = i
			}
		}
	}
	if at < 0 {
		return "", badInput{fmt.Errorf("--part: the drawer has no part %q; its screen and foreshaft drawer export show the ids", id)}
	}
	p, flag := parts[at], "--part"
	switch byInch := m.WeightPerInch > 0; {
	case p.Kind == part.KindShaft && !byInch:
		return "", badInput{fmt.Errorf("--part: %s is a shaft, which is weighed by the inch: weigh whole ones and give their --length", p.Name())}
	case p.Kind != part.KindShaft && byInch:
		return "", badInput{fmt.Errorf("--length: %s is no shaft", p.Name())}
	case byInch:
		flag = "--length" // with a wrong one it is an inch that weighs too much or too little
	}
	was := ""
	if p.Measured.Given {
		was = fmt.Sprintf(" in place of %d weighed before", p.Measured.Value.Count)
	}
	p.Measured = unit.Some(m)
	var invalid *store.InvalidError
	if err := book.PutParts(p); errors.As(err, &invalid) {
		return "", badInput{fmt.Errorf("%s: %w", flag, err)}
	} else if err != nil {
		return "", err
	}
	return fmt.Sprintf("Kept with %s %s%s; its stated weight stays.\n", p.Kind, p.Name(), was), nil
}
