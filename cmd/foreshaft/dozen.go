package main

import (
	"bytes"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"foreshaft/engine/dozen"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

func dozenCommand() *cobra.Command {
	var asJSON bool
	var units string
	c := &cobra.Command{
		Use:   "dozen FILE|-",
		Short: "Pair weighed pieces into arrows that weigh the same",
		Long: "Pair weighed shafts, heads, inserts and nocks so that the heaviest arrow weighs as little more than the lightest as can be, and say which pieces to leave out.\n" +
			"It says whether the spread is proven to be the least there is, or below which no pairing can be.\n" +
			"The file has {\"format\": \"foreshaft-dozen/1\", \"weights_gr\": {\"shafts\": [ … ], \"heads\": [ … ], \"inserts\": [ … ], \"nocks\": [ … ]}, \"arrows\": 12}; at least one list.\n" +
			"Exit status: 0 done, 1 the file could not be read, 2 what it holds or the usage is wrong.",
		Example:           "  foreshaft dozen weights.json\n  foreshaft dozen - --json < weights.json",
		Args:              exactly(1, "dozen takes one file of weights, or - for standard input"),
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
			weighed, err := dozen.Decode(data)
			if err != nil {
				hint := ""
				if !bytes.HasPrefix(bytes.TrimSpace(data), []byte("{")) {
					hint = " (plain readings are for foreshaft weigh --build NAME --of shafts; see foreshaft dozen --help)"
				}
				return badInput{fmt.Errorf("%s: %w%s", named(args[0]), err, hint)}
			}
			pairing := dozen.Pair(weighed)
			if asJSON {
				_, err = c.OutOrStdout().Write(pairing.Answer())
				return err
			}
			_, err = io.WriteString(c.OutOrStdout(), present.Dozen(shown, pairing))
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the answer as JSON, always in grains and with pieces counted from 0")
	unitsFlag(c, &units)
	return c
}
