package main

import (
	"fmt"
	"io"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"foreshaft/store"
)

func manCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "man",
		Short: "Write the manual page of all commands to standard output",
		Long: "Write the manual page, which has all commands and their flags, to standard output, as man(1) reads it.\n" +
			"Exit status: 0 done, 2 the usage is wrong.",
		Example: "  foreshaft man | man -l -\n  foreshaft man > ~/.local/share/man/man1/foreshaft.1",
		Args:    exactly(0, "man takes no file: it writes to standard output"),
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := io.WriteString(c.OutOrStdout(), manual(c.Root(), committed()))
			return err
		},
	}
}

// committed returns the day of the revision that the program was built from, or
// nothing where that is not known. The day of the build would make every build differ.
func committed() string {
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.time" {
				return s.Value[:min(len("2006-01-02"), len(s.Value))]
			}
		}
	}
	return ""
}

// manual returns one manual page of a program and all its commands. There is no page
// for each: who looks for a word finds it here, whichever command it belongs to.
func manual(root *cobra.Command, day string) string {
	var page strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&page, format+"\n", args...) }
	name := root.Name()
	line(`.TH "%s" 1 "%s" "%s"`, roff(strings.ToUpper(name)), day, roff(name+" "+root.Version))
	line(".SH NAME\n%s \\- %s", roff(name), roff(root.Short))
	line(".SH SYNOPSIS\n.B %s\n[\\fIflags\\fR]\n.br\n.B %s\n\\fIcommand\\fR [\\fIarguments\\fR] [\\fIflags\\fR]", roff(name), roff(name))
	line(".SH DESCRIPTION")
	paragraphs(&page, root.Long)
	line(".SH OPTIONS")
	line(".TP\n\\fB\\-h\\fR, \\fB\\-\\-help\\fR\nwhat there is; behind a command, of that command")
	root.InitDefaultVersionFlag()
	options(&page, root.Flags())
	line(".SH COMMANDS")
	commands(&page, root)
	line(".SH ENVIRONMENT")
	for _, v := range []struct{ name, words string }{
		{store.EnvPath, "the workbook file, where --workbook does not name one"},
		{store.EnvSettings, "the settings file"},
	} {
		line(".TP\n.B %s\n%s", roff(v.name), roff(v.words))
	}
	return page.String()
}

// commands writes what there is below a command, and below that.
func commands(page *strings.Builder, above *cobra.Command) {
	for _, c := range above.Commands() {
		if !c.IsAvailableCommand() {
			continue
		}
		fmt.Fprintf(page, ".SS \"%s\"\n", roff(strings.TrimSuffix(c.UseLine(), " [flags]")))
		paragraphs(page, c.Short+".\n"+c.Long)
		options(page, c.Flags())
		if c.HasExample() {
			page.WriteString(".PP\nExamples:\n.PP\n.nf\n.RS 4\n")
			for example := range strings.Lines(c.Example) {
				page.WriteString(roff(strings.TrimSpace(example)) + "\n")
			}
			page.WriteString(".RE\n.fi\n")
		}
		commands(page, c)
	}
}

// paragraphs writes words, a paragraph each line.
func paragraphs(page *strings.Builder, words string) {
	for i, p := range strings.Split(strings.TrimSpace(words), "\n") {
		if i > 0 {
			page.WriteString(".PP\n")
		}
		page.WriteString(roff(p) + "\n")
	}
}

// options writes the flags of a command but for --help, which all have.
func options(page *strings.Builder, flags *pflag.FlagSet) {
	flags.VisitAll(func(f *pflag.Flag) {
		if f.Hidden || f.Name == "help" {
			return
		}
		page.WriteString(".TP\n")
		if f.Shorthand != "" {
			fmt.Fprintf(page, "\\fB\\-%s\\fR, ", f.Shorthand)
		}
		value, usage := pflag.UnquoteUsage(f)
		fmt.Fprintf(page, "\\fB\\-\\-%s\\fR", roff(f.Name))
		if value != "" {
			fmt.Fprintf(page, " \\fI%s\\fR", roff(value))
		}
		if !slices.Contains([]string{"", "false", "0", "0s"}, f.DefValue) {
			usage += " (else " + f.DefValue + ")"
		}
		page.WriteString("\n" + roff(usage) + "\n")
	})
}

// roffSigns stand for what a formatter would take for something else: the beginning of
// an escape, the end of a quoted word, or a sign to be printed in another shape.
var roffSigns = map[rune]string{'\\': `\e`, '"': `\(dq`, '\'': `\(aq`, '`': `\(ga`, '^': `\(ha`, '~': `\(ti`, '-': `\-`, '…': `\&...`}

// roff returns words as a formatter prints them, in ASCII: no two formatters agree on
// how anything else is written.
func roff(words string) string {
	var out strings.Builder
	if strings.HasPrefix(words, ".") {
		out.WriteString(`\&`) // or the line would be a request
	}
	for _, r := range words {
		switch sign := roffSigns[r]; {
		case sign != "":
			out.WriteString(sign)
		case r > '~':
			fmt.Fprintf(&out, `\[u%04X]`, r)
		default:
			out.WriteRune(r)
		}
	}
	return out.String()
}
