// Command foreshaft is a workbench for arrow builds: a full-screen program at a
// terminal, and the same figures through a pipe.
package main

import (
	"errors"
	"fmt"
	"os"

	// First of all, so that no library asks the terminal for its colours.
	_ "foreshaft/ui/background"
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

func main() { os.Exit(run(os.Args[1:])) }

func run(args []string) int {
	root := rootCommand()
	root.SetArgs(args)
	err := root.Execute()
	if err == nil {
		return done
	}
	fmt.Fprintln(os.Stderr, "foreshaft:", err)
	var bad badInput
	if errors.As(err, &bad) {
		return wrongFile
	}
	return couldNot
}
