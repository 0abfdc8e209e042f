package bench

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/theme"
	"foreshaft/ui/ticket"
)

// newTicketForm returns the form of how the build in focus is put together, from where its
// ticket is printed.
func newTicketForm(m *Model) dialog {
	name := m.build().Name
	without := func(has func(b *arrow.Build) bool, what string) func(*arrow.Assembly) string {
		return func(*arrow.Assembly) string {
			if b := m.build(); b == nil || has(b) {
				return ""
			}
			return "This build has no " + what + "."
		}
	}
	noInsert := without(func(b *arrow.Build) bool { return b.Insert.Given }, "insert")
	noVanes := without(func(b *arrow.Build) bool { return b.Vanes.Given && b.Vanes.Value.Count > 0 }, "vanes")
	m.Say("What the bench must know to build it. What stays empty becomes a blank to fill in by hand; %s prints.", m.keys.Form.Press(keys.Print))
	f := &form[arrow.Assembly]{
		title: "Ticket of " + short(name),
		offers: []keys.Offer{keys.Do("back", keys.Close), keys.Do("print", keys.Print), keys.Do("edit", keys.Edit), keys.Do("change", keys.More, keys.Less), keys.Do("undo", keys.Undo),
			keys.Do("help", keys.Help), keys.Do("any action", keys.Command), keys.Do("move", keys.Up, keys.Down)},
		lines: []line[arrow.Assembly]{
			{key: "quantity", title: "how many", means: "arrows to build", usual: func(m *Model, _ *arrow.Assembly) string {
				if n := m.build().Dozen.Value.Wanted(); n > 0 {
					return fmt.Sprintf("%d, as the dozen has", n)
				}
				return ""
			}},
			{key: "stiff_side", title: "stiff side", head: "Shaft", means: "where the side goes that was found stiffest, where shafts are marked: such as up"},
			{key: "insert_adhesive", title: "insert glued with", head: "Front", means: "the adhesive that holds the insert", shut: noInsert},
			{key: "break_off", title: "break-off insert", means: "whole, or broken down to the weight that the build has", shut: noInsert},
			{key: "collar_adhesive", title: "collar glued with", means: "the adhesive that holds the collar", shut: without(func(b *arrow.Build) bool { return b.Collar.Given }, "collar")},
			{key: "head_index", title: "head index", means: "how the blades stand, such as in line with the vanes; empty: as it comes"},
			{key: "vane_adhesive", title: "vanes glued with", head: "Rear", means: "the adhesive that holds the vanes", shut: noVanes},
			{key: "fletching", title: "fletching", means: "straight, offset at an angle, or helical around the shaft", shut: noVanes},
			{key: "fletching_turn", title: "  turned", means: "left or right, seen from behind: which way the arrow is to spin", shut: noVanes},
			{key: "fletching_angle_deg", title: "  angle", means: "between the vanes and the shaft", shut: noVanes},
			{key: "cock_vane", title: "cock vane", means: "the odd vane with the arrow on the string: up or down is in line with the string slot, out is square to it", shut: noVanes},
			{key: "nock_index", title: "nock index", means: "how the nock is turned, such as its mark with the cock vane"},
			{key: "note", title: "note", head: "For the bench", means: "anything else that whoever builds it must know"},
		},
		load: func(m *Model) arrow.Assembly { return m.build().Assembly.Value },
		keep: func(m *Model, c change, v arrow.Assembly) Request {
			for _, words := range []*string{&v.StiffSide, &v.InsertAdhesive, &v.CollarAdhesive, &v.VaneAdhesive, &v.NockIndex, &v.HeadIndex, &v.Note} {
				*words = label.Clean(*words)
			}
			col := m.col
			if m.do("ticket: "+c.what, func(j *job.Job) { j.Builds[col].Assembly = optionalOf(v) }) {
				m.Say("Noted: %s.", strings.TrimSpace(strings.TrimSuffix(c.what, c.text)+" "+orNothing(c.text)))
			}
			return nil
		},
		side: func(m *Model, _ *arrow.Assembly) []paragraph { return ticketHolds(m) },
		gone: func(m *Model) bool { return m.build() == nil || m.build().Name != name },
	}
	f.extra = func(m *Model, a keys.Action) (bool, Request) {
		if a != keys.Print {
			return false, nil
		}
		m.printTicket()
		return true, nil
	}
	return f
}

func orNothing(text string) string {
	if text == "" {
		return "nothing"
	}
	return text
}

// ticketHolds says what else a ticket of the build in focus has.
func ticketHolds(m *Model) []paragraph {
	b := m.build()
	out := []paragraph{{text: fmt.Sprintf("The ticket lists the pieces, the cut length (%s of shaft), each step of the work, the figures with ±, and what to look out for.", m.units().Span(b.Tube(), 5))}}
	for _, c := range m.session.Sheet().Builds[m.col].Cautions {
		if c.Level == caution.Danger {
			out = append(out, paragraph{token: theme.Danger, text: present.Marked(c)})
		}
	}
	batch := &b.Dozen.Value
	arrows := batch.Wanted()
	if n := len(batch.Plan); n > 0 {
		arrows = n
	}
	switch err := batch.Missing(); {
	case batch.Empty():
		out = append(out, paragraph{token: theme.Quiet, text: fmt.Sprintf("Pieces that are weighed on the Dozen screen (%s on the bench) add a build list.", m.keys.Bench.Press(keys.Dozen))})
	case err != nil:
		out = append(out, paragraph{token: theme.Warn, text: "It has no build list: " + err.Error() + "."})
	default:
		out = append(out, paragraph{text: fmt.Sprintf("It has the build list of the dozen: %s. Once printed, the list stays as it is.", counted(arrows, "arrow"))})
	}
	return append(out, paragraph{token: theme.Quiet, text: "Nothing here changes a figure."})
}

// printTicket asks what to print.
func (m *Model) printTicket() {
	if len(m.Job().Builds) == 1 {
		m.open(m.ticketPrompt(false))
		return
	}
	m.open(&choice{title: "Print", options: []choiceOption{
		{"The ticket of " + present.Letter(m.col) + " " + short(m.build().Name), func(m *Model) Request {
			m.open(m.ticketPrompt(false))
			return nil
		}},
		{fmt.Sprintf("All %d builds side by side", len(m.Job().Builds)), func(m *Model) Request {
			m.open(m.ticketPrompt(true))
			return nil
		}},
	}})
}

// ticketPrompt asks for the file that a ticket is written to: that of the build in focus, or
// the comparison of all.
func (m *Model) ticketPrompt(all bool) dialog {
	col, name := m.col, m.build().Name
	title, file, what := "Ticket of "+short(name), fileName(name)+"-ticket.html", "the ticket of "+present.Letter(col)+" "+short(name)
	if all {
		title, file, what = "All builds side by side", "comparison.html", "the comparison"
	}
	var write func(m *Model, typed string) (Request, error)
	write = func(m *Model, typed string) (Request, error) {
		ending := strings.TrimPrefix(strings.ToLower(filepath.Ext(typed)), ".")
		if !slices.Contains(ticketEndings, ending) {
			return nil, fmt.Errorf("the name needs one of these endings: .%s", strings.Join(ticketEndings, ", ."))
		}
		if col >= len(m.Job().Builds) || m.Job().Builds[col].Name != name {
			return nil, fmt.Errorf("%s is no longer in that column: leave with Esc, and print it anew", short(name))
		}
		origin := ticket.Origin{Source: m.benchName(), Customer: m.benchCustomer()}
		if m.clock != nil {
			origin.Date = m.clock()
		}
		one := ticket.OfBuild(m.session.Sheet(), col, origin)
		if all {
			one = ticket.OfBench(m.session.Sheet(), origin)
		}
		data, err := one.As(ending)
		if err != nil {
			return nil, err
		}
		if !all {
			m.holdList(col)
		}
		return Write{Path: typed, Data: data, What: what, again: write}, nil
	}
	return newPrompt(m, prompt{title: title + ". Write it to a new file, whose ending says how: .html or .pdf to print, .txt to read, .md for notes", text: file, accept: write})
}

// holdList keeps the build list of a dozen as it is printed: the paper must not name other
// pieces than the screen.
func (m *Model) holdList(col int) {
	b := &m.Job().Builds[col].Dozen.Value
	if b.Empty() || len(b.Plan) > 0 {
		return
	}
	if p, err := b.Pair(); err == nil {
		m.do("hold the printed build list", func(j *job.Job) {
			batch := &j.Builds[col].Dozen.Value
			batch.Plan = batch.PlanOf(p)
		})
	}
}

// ticketEndings are the endings of a file that say how a ticket is written.
var ticketEndings = []string{"html", "pdf", "txt", "md"}

// benchCustomer is for whom the bench is saved, empty where it is for nobody.
func (m *Model) benchCustomer() string {
	for _, e := range m.entries {
		if e.What == SavedBench && !e.Binned && e.Name == m.session.Name() {
			return e.Customer
		}
	}
	return ""
}

// benchName says what a ticket was printed from.
func (m *Model) benchName() string {
	switch name := m.session.Name(); {
	case name == "":
		return "the bench, not saved by a name"
	case m.changedSince():
		return fmt.Sprintf("the bench “%s”, changed since it was saved", name)
	default:
		return fmt.Sprintf("the bench “%s” as it is saved", name)
	}
}
