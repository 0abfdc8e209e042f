package main

import (
	"errors"
	"fmt"
	"runtime"

	"github.com/spf13/cobra"

	"foreshaft/ui/theme"
)

func rootCommand() *cobra.Command {
	var opt screenOptions
	root := &cobra.Command{
		Use:   "foreshaft",
		Short: "A workbench for arrow builds",
		Long: "Lay arrow builds side by side on a bow, change a part, and see at once what it did to weight, balance and speed.\n" +
			"Without a command it opens the bench; it needs a terminal.",
		Args:          noArguments,
		SilenceErrors: true,
		SilenceUsage:  true,
		RunE:          func(c *cobra.Command, _ []string) error { return openScreen(opt) },
	}
	workbookFlag(root, &opt.workbook)
	root.Flags().BoolVar(&opt.anew, "new", false, "begin with a new workbook where there are only backups of one; they stay")
	root.Flags().StringVar(&opt.theme, "theme", "", "light, dark or mono (else by the terminal's background)")
	choiceFlag(root, "theme", string(theme.Light), string(theme.Dark), string(theme.Mono))
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error {
		return badInput{fmt.Errorf("%w; foreshaft --help lists what there is", err)}
	})
	root.AddCommand(figuresCommand(), marksCommand(), ticketCommand(), searchCommand(), drawerCommand(), weighCommand(), savedCommand(), exportCommand(), importCommand(), eraseCommand(), dozenCommand(), checkCommand(), backupCommand(), restoreCommand(), compactCommand(), serveCommand())
	root.Version = version()
	root.SetVersionTemplate("foreshaft {{.Version}}, " + runtime.Version() + " " + runtime.GOOS + "/" + runtime.GOARCH + "\n")
	root.AddCommand(manCommand(), completionCommand())
	// A file is completed where a command takes one, and nowhere else.
	root.CompletionOptions.SetDefaultShellCompDirective(cobra.ShellCompDirectiveNoFileComp)
	return root
}

// exactly refuses any other number of arguments with a sentence.
func exactly(n int, sentence string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) != n {
			return badInput{errors.New(sentence)}
		}
		return nil
	}
}

func noArguments(c *cobra.Command, args []string) error {
	if len(args) > 0 {
		return badInput{fmt.Errorf("%q is not a command; foreshaft --help lists what there is", args[0])}
	}
	return nil
}
