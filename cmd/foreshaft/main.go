// Command foreshaft is a workbench for arrow builds: a full-screen program at a
// terminal, and the same figures through a pipe.
package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	// First of all, so that no library asks the terminal for its colours.
	_ "foreshaft/ui/background"

	"github.com/mattn/go-runewidth"

	"foreshaft/engine/label"
)

// The exit statuses.
const (
	done      = 0
	couldNot  = 1
	wrongFile = 2 // bad input or usage
)

// badInput marks an error as one of input or usage.
type badInput struct{ error }

func (e badInput) Unwrap() error { return e.error }

// readable writes an error so that a file name or an argument in it cannot drive
// the terminal.
func readable(err error) string {
	lines := strings.Split(err.Error(), "\n")
	for i := range lines {
		lines[i] = label.Clean(lines[i])
	}
	return strings.Join(lines, "\n")
}

func main() { os.Exit(run(os.Args[1:])) }

func run(args []string) int {
	// Some locales count ± ─ │ ½ as two cells, which no common font draws so.
	runewidth.DefaultCondition.EastAsianWidth = false
	root := rootCommand()
	root.SetArgs(args)
	err := root.Execute()
	if err == nil {
		return done
	}
	fmt.Fprintln(os.Stderr, "foreshaft:", readable(err))
	var bad badInput
	if errors.As(err, &bad) {
		return wrongFile
	}
	return couldNot
}
