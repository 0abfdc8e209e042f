package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"foreshaft/engine/unit"
)

// The shells, as completion takes them.
var shells = []string{"bash", "zsh", "fish", "powershell"}

// completionCommand stands for the one that the library would add, which takes a
// shell it does not know for a question and prints help: into a file, as it is used.
func completionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "completion bash|zsh|fish|powershell",
		Short: "Write what a shell needs to complete commands, flags and files",
		Long: "Write a script to standard output that a shell reads when it starts; from then on the Tab key completes commands, flags and their values, and the names of files.\n" +
			"Bash needs its package bash-completion, zsh “autoload -U compinit; compinit” in its ~/.zshrc.\n" +
			"Exit status: 0 done, 2 no such shell.",
		Example: "  foreshaft completion bash > ~/.local/share/bash-completion/completions/foreshaft\n" +
			"  foreshaft completion zsh > \"${fpath[1]}/_foreshaft\"\n" +
			"  foreshaft completion fish > ~/.config/fish/completions/foreshaft.fish\n" +
			"  foreshaft completion powershell | Out-String | Invoke-Expression",
		Args:      exactly(1, "completion takes one shell: "+strings.Join(shells, ", ")),
		ValidArgs: shells,
		RunE: func(c *cobra.Command, args []string) error {
			root, out := c.Root(), c.OutOrStdout()
			switch args[0] {
			case "bash":
				return root.GenBashCompletionV2(out, true)
			case "zsh":
				return root.GenZshCompletion(out)
			case "fish":
				return root.GenFishCompletion(out, true)
			case "powershell":
				return root.GenPowerShellCompletionWithDesc(out)
			}
			return badInput{fmt.Errorf("completion: %q is none of %s", args[0], strings.Join(shells, ", "))}
		},
	}
}

// oneFile completes the only argument of a command as the name of a file.
func oneFile(_ *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return nil, cobra.ShellCompDirectiveDefault
}

// fileFlag completes the value of a flag as the name of a file.
func fileFlag(c *cobra.Command, name string) {
	completeFlag(c, name, func(*cobra.Command, []string, string) ([]cobra.Completion, cobra.ShellCompDirective) {
		return nil, cobra.ShellCompDirectiveDefault
	})
}

// choiceFlag completes the value of a flag as one of some words.
func choiceFlag(c *cobra.Command, name string, words ...string) {
	completeFlag(c, name, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp))
}

// completeFlag says how the value of a flag is completed.
func completeFlag(c *cobra.Command, name string, with cobra.CompletionFunc) {
	if err := c.RegisterFlagCompletionFunc(name, with); err != nil {
		panic(err) // the command has no such flag
	}
}

// completeUnits completes the last of a list of units: after a comma the next one.
func completeUnits(_ *cobra.Command, _ []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
	before := typed[:strings.LastIndex(typed, ",")+1]
	var lists []cobra.Completion
	for _, u := range []unit.Unit{
		unit.Grains, unit.Grams, unit.Inches, unit.Centimetres, unit.Millimetres, unit.FeetPerSecond, unit.MetresPerSec,
		unit.PoundsForce, unit.Newtons, unit.Yards, unit.Metres,
	} {
		if list := before + u.Symbol; strings.HasPrefix(list, typed) {
			lists = append(lists, list)
		}
	}
	return lists, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
}
