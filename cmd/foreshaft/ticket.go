package main

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/ticket"
)

// ticketOptions is what the command line says of a ticket.
type ticketOptions struct {
	name     string // what is saved, or with a job file the build of it; may be empty
	revision int    // 0 is the newest
	build    string
	job      string
	workbook string
}

func ticketCommand() *cobra.Command {
	var opt ticketOptions
	var format, units string
	c := &cobra.Command{
		Use:   "ticket [NAME]",
		Short: "Print the ticket that a build is made from at the bench, or a comparison of builds",
		Long: "Print all that it takes to make the arrows of a build: its dangers, the parts to lay out, a drawing to scale, the work steps with their numbers and boxes to tick, the build list of a weighed dozen, and its figures.\n" +
			"NAME is a saved build or bench, a build where both have the name; without one it is the bench as it is open in the workbook. With --job it is a build of that job file.\n" +
			"Where there are several builds and none is named they are printed side by side, on paper laid across.\n" +
			"As text, Markdown, HTML or PDF to standard output; HTML and PDF print on A4.\n" +
			"Exit status: 0 done, 1 the file or the workbook could not be read or is in use, 2 the job or the usage is wrong, or nothing has that name.",
		Example: "  foreshaft ticket \"Autumn\" --format pdf > autumn.pdf\n  foreshaft ticket \"Autumn\" --revision 2\n  foreshaft ticket --build \"Even keel\" --format html > keel.html\n  foreshaft ticket --job job.json \"Worked arrow\" --units mm,g",
		Args:    atMostOne("ticket takes one name; put it in quotes where it has blanks"),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 1 {
				opt.name = args[0]
			}
			if c.Flags().Changed("revision") && opt.revision < 1 {
				return badInput{fmt.Errorf("--revision: must be 1 or more, got %d", opt.revision)}
			}
			format := strings.ToLower(format)
			if format != "txt" && !slices.Contains(ticket.TicketFormats, format) {
				return badInput{fmt.Errorf("--format: %q is none of %s", label.Clean(format), strings.Join(ticket.TicketFormats, ", "))}
			}
			if out, ok := c.OutOrStdout().(*os.File); ok && format == "pdf" && term.IsTerminal(int(out.Fd())) {
				return badInput{errors.New("a PDF is nothing to read at a terminal: send it to a file, with > ticket.pdf")}
			}
			shown, err := unit.ParseSystem(units)
			if err != nil {
				return badInput{err}
			}
			j, origin, err := opt.read(c)
			if err != nil {
				return err
			}
			paper, err := opt.ticket(sheet.EvaluateIn(j, shown), origin)
			if err != nil {
				return badInput{err}
			}
			data, err := paper.As(format)
			if err != nil {
				return err
			}
			_, err = c.OutOrStdout().Write(data)
			return err
		},
	}
	c.Flags().StringVar(&format, "format", "text", strings.Join(ticket.TicketFormats, ", "))
	choiceFlag(c, "format", ticket.TicketFormats...)
	c.Flags().StringVar(&opt.build, "build", "", "which build of a bench (else all of them, side by side)")
	c.Flags().IntVar(&opt.revision, "revision", 0, "which revision of what is saved (else the newest)")
	c.Flags().StringVar(&opt.job, "job", "", "a job file, or - for standard input, in place of the workbook")
	fileFlag(c, "job")
	unitsFlag(c, &units)
	workbookFlag(c, &opt.workbook)
	return c
}

// read reads the job that a ticket is of, and says where it comes from.
func (opt *ticketOptions) read(c *cobra.Command) (*job.Job, ticket.Origin, error) {
	// The day is enough, and two tickets of one day are the same.
	year, month, day := time.Now().Date()
	origin := ticket.Origin{Date: time.Date(year, month, day, 0, 0, 0, 0, time.UTC)}
	if opt.revision > 0 && (opt.job != "" || opt.name == "") {
		return nil, origin, badInput{errors.New("--revision goes with the name of something saved")}
	}
	if opt.job != "" {
		if opt.workbook != "" {
			return nil, origin, badInput{errors.New("a ticket is of a job file or of a workbook: give --job or --workbook")}
		}
		if opt.name != "" && opt.build != "" {
			return nil, origin, badInput{errors.New("with --job the name is that of the build: give it once")}
		}
		j, err := readJob(c.InOrStdin(), opt.job)
		origin.Source = "the job file " + named(opt.job)
		return j, origin, err
	}
	var j *job.Job
	err := withExisting(opt.workbook, func(book *store.Workbook) (err error) {
		if opt.name == "" {
			kept, err := book.LoadBench()
			j, origin.Source = kept.Job, "the bench, not saved"
			return err
		}
		e, err := printable(book, opt.name)
		if err != nil {
			return err
		}
		origin.Customer = e.Customer
		j, origin.Source, err = revisionOf(book, e, opt.revision)
		return err
	})
	if err != nil {
		return nil, origin, err
	}
	if j.Currency == "" {
		set, err := readSettings(os.Getenv, "")
		if err != nil {
			return nil, origin, err
		}
		j.Currency = set.choices.Currency
	}
	return j, origin, nil
}

// printable finds the build or bench saved under a name, the build where both have it.
func printable(book *store.Workbook, name string) (store.Entry, error) {
	list, err := book.List() // of a damaged workbook, what can still be read
	of := func(kind store.Kind) []store.Entry {
		return slices.DeleteFunc(slices.Clone(list), func(e store.Entry) bool { return e.Kind != kind || e.Binned })
	}
	found := called(slices.Concat(of(store.KindBuild), of(store.KindBench)), name)
	if len(found) == 0 && err != nil {
		return store.Entry{}, err
	}
	if len(found) == 0 {
		return store.Entry{}, badInput{fmt.Errorf("no build and no bench is saved as %q; foreshaft saved lists what is", label.Clean(name))}
	}
	kind := found[0].Kind
	return only(slices.DeleteFunc(found, func(e store.Entry) bool { return e.Kind != kind }), func(e store.Entry) string { return e.Name })
}

// revisionOf loads a revision of something saved, the newest for 0, and says which it is.
func revisionOf(book *store.Workbook, e store.Entry, number int) (*job.Job, string, error) {
	if number == 0 {
		number = e.Revisions
	}
	if number > e.Revisions {
		return nil, "", badInput{fmt.Errorf("--revision: %q has %d, got %d", e.Name, e.Revisions, number)}
	}
	j, err := book.Load(e.ID, number)
	if err != nil {
		return nil, "", err
	}
	list, err := book.Revisions(e.ID)
	at := slices.IndexFunc(list, func(r store.Revision) bool { return r.Number == number })
	if at < 0 {
		return nil, "", errors.Join(err, fmt.Errorf("revision %d of %q does not say when it was saved", number, e.Name))
	}
	// Others that are damaged do not matter here.
	return j, fmt.Sprintf("revision %d of %d, saved %s", number, e.Revisions, list[at].Saved.Local().Format("2006-01-02 15:04")), nil
}

// ticket is the ticket of the build that is named, or that is alone, else the comparison.
func (opt *ticketOptions) ticket(s *sheet.Sheet, o ticket.Origin) (*ticket.Ticket, error) {
	build := opt.build
	if opt.job != "" && opt.name != "" {
		build = opt.name
	}
	switch n := len(s.Job.Builds); {
	case n == 0:
		return nil, errors.New("there is no build on the bench")
	case build == "" && n > 1:
		return ticket.OfBench(s, o), nil
	case build == "":
		return ticket.OfBuild(s, 0, o), nil
	}
	at, err := buildNamed(s.Job, build)
	if err != nil {
		return nil, err
	}
	return ticket.OfBuild(s, at, o), nil
}
