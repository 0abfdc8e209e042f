package bench

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/figure"
	"foreshaft/engine/fitting"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// fitScreen is a short talk at the counter: a few questions, each with an answer for
// who does not know, and then three builds that differ enough to feel.
type fitScreen struct {
	at      int
	bow     string // whose it is, by name
	purpose int    // of the purposes
	answers fitting.Answers

	ctx      context.Context
	cancel   context.CancelFunc
	far      search.Progress
	refused  string            // why nothing is proposed
	proposal *fitting.Proposal // nil while the questions are shown
	figures  []string          // of each offer, in a line
	scroll                     // through the proposal
}

// The questions, in their order.
const (
	fitBow = iota
	fitPurpose
	fitFavour
	fitHead
	fitNock
	fitGrowing
	fitBudget
	fitParts
	fitGo
	fitQuestions // how many there are
)

// purposes lists what arrows may be for: as edited, else as they come.
func (m *Model) purposes() []fitting.Purpose {
	if len(m.choices.Purposes) > 0 {
		return m.choices.Purposes
	}
	return fitting.DefaultPurposes()
}

// fit opens the talk, with what was answered before in this sitting.
func (m *Model) fit() {
	f := m.fitting
	if name := m.Job().Bow.Value.Name; f == nil || f.bow != name { // another bow is another customer
		f = &fitScreen{at: fitPurpose, bow: name, answers: fitting.Answers{Favour: fitting.Even, Head: fitting.FieldPoint, InStock: true}}
		m.fitting = f
	}
	f.proposal, f.refused = nil, ""
	m.open(f)
	f.hint(m)
}

func (f *fitScreen) hint(m *Model) {
	k := m.keys.Fit
	m.Say("Every question has an answer already: change what you know, then %s proposes. Ranges are common practice; %s edits them.", k.Press(keys.Propose), k.Press(keys.Purpose))
}

func (f *fitScreen) key(m *Model, k tea.KeyMsg) (bool, Request) {
	return f.act(m, m.asks(k, m.keys.Fit))
}

func (f *fitScreen) act(m *Model, a keys.Action) (done bool, r Request) {
	if f.proposal != nil {
		return f.actOnProposal(m, a)
	}
	f.purpose = min(f.purpose, len(m.purposes())-1)
	switch a {
	case keys.Edit, keys.More, keys.Less, keys.Purpose, keys.Add, keys.Remove, keys.Undo, keys.Bow:
		f.closed()     // what is under way is for the answers as they were
		f.refused = "" // and so was this
	}
	switch a {
	case keys.Close:
		if f.cancel != nil {
			f.closed()
			m.Say("Stopped; nothing was changed.")
			return false, nil
		}
		return true, nil
	case keys.Help:
		m.open(m.help())
	case keys.Command:
		m.open(newPalette(m, m.keys.Fit, nil, f.act))
	case keys.Up, keys.PageUp:
		f.at = max(f.at-1, 0)
	case keys.Down, keys.PageDown:
		f.at = min(f.at+1, fitQuestions-1)
	case keys.First:
		f.at = 0
	case keys.Last:
		f.at = fitQuestions - 1
	case keys.Edit:
		return false, f.edit(m)
	case keys.More, keys.Less:
		f.turn(m, a == keys.More)
	case keys.Propose:
		return false, f.propose(m)
	case keys.Bow:
		m.open(newBowForm(m))
	case keys.Purpose:
		m.open(newPurposeForm(m, f.purpose))
	case keys.Add:
		return false, f.addPurpose(m)
	case keys.Remove:
		return false, f.removePurpose(m)
	case keys.Undo:
		return false, m.backPurposes()
	}
	return false, nil
}

// actOnProposal does what a key asks for while builds are proposed.
func (f *fitScreen) actOnProposal(m *Model, a keys.Action) (done bool, r Request) {
	switch a {
	case keys.Close:
		f.proposal = nil
		f.hint(m)
	case keys.Help:
		m.open(m.help())
	case keys.Command:
		m.open(newPalette(m, m.keys.Fit, []keys.Action{keys.Edit, keys.Close, keys.Help}, f.act))
	case keys.Edit:
		return f.place(m), nil
	default:
		if a == "" || f.move(a) {
			break
		}
		m.Say("%s goes back to the questions.", m.keys.Fit.Press(keys.Close))
	}
	return false, nil
}

// edit answers the question in focus.
func (f *fitScreen) edit(m *Model) Request {
	switch f.at {
	case fitBow:
		m.open(newBowForm(m))
	case fitBudget:
		f.askBudget(m)
	case fitGo:
		return f.propose(m)
	default:
		f.turn(m, true)
	}
	return nil
}

// turn takes the next answer, or the one before.
func (f *fitScreen) turn(m *Model, on bool) {
	a := &f.answers
	switch f.at {
	case fitPurpose:
		n := len(m.purposes())
		by := 1
		if !on {
			by = n - 1
		}
		f.purpose = (f.purpose + by) % n
	case fitFavour:
		a.Favour = next([]fitting.Favour{fitting.Forgiving, fitting.Even, fitting.Weight}, a.Favour, on)
	case fitHead:
		a.Head = next([]fitting.Sort{fitting.FieldPoint, fitting.FixedBroadhead, fitting.Expandable}, a.Head, on)
	case fitNock:
		a.Lighted = !a.Lighted
	case fitGrowing:
		a.Growing = !a.Growing
	case fitParts:
		a.InStock = !a.InStock
	default:
		m.Say("%s answers this.", m.keys.Fit.Press(keys.Edit))
	}
}

// next returns what follows in a list, or what comes before, round and round.
func next[T comparable](list []T, now T, on bool) T {
	by := 1
	if !on {
		by = len(list) - 1
	}
	return list[(max(slices.Index(list, now), 0)+by)%len(list)]
}

func (f *fitScreen) askBudget(m *Model) {
	shown := ""
	if f.answers.Budget > 0 {
		shown = present.Number(f.answers.Budget)
	}
	m.open(newPrompt(m, prompt{
		title: "What a dozen may cost, in the currency of your prices; empty is no budget", text: shown,
		accept: func(m *Model, typed string) (Request, error) {
			if typed == "" {
				f.answers.Budget = 0
				return nil, nil
			}
			held := fitting.Answers{}
			if err := record.Only(&held, "budget").SetText(typed); err != nil {
				return nil, err
			}
			f.answers.Budget = held.Budget
			return nil, nil
		},
	}))
}

// proposed is what making a proposal tells.
type proposed struct {
	ctx      context.Context // which one
	far      search.Progress
	proposal *fitting.Proposal
	figures  []string
	err      error
	ended    bool
}

// propose has builds chosen beside the screen.
func (f *fitScreen) propose(m *Model) Request {
	f.closed()
	f.refused, f.far = "", search.Progress{}
	if !slices.ContainsFunc(m.drawer, func(p part.Part) bool { return !p.Retired }) {
		f.refused = m.emptyDrawer()
		return nil
	}
	f.ctx, f.cancel = context.WithCancel(context.Background())
	ctx, j, parts, units, a := f.ctx, m.Job(), m.drawer, m.units(), f.answers
	a.Purpose = m.purposes()[f.purpose]
	return Work{to: f, Do: func(tell func(any)) {
		p, err := fitting.Propose(ctx, j, parts, a, units, func(p search.Progress) { tell(proposed{ctx: ctx, far: p}) })
		out := proposed{ctx: ctx, proposal: p, err: err, ended: true}
		if err == nil {
			out.figures = offered(j, p, units)
		}
		tell(out)
	}}
}

// offered writes the figures of each offer in a line, as they stand beside the job's
// own builds.
func offered(j *job.Job, p *fitting.Proposal, units unit.System) []string {
	on := j.Clone()
	if len(on.Builds) == 0 {
		on.Sight.Value.Marks = nil // nobody knows with which arrow they were shot
	}
	for i := range p.Offers {
		on.Builds = append(on.Builds, p.Offers[i].Build)
	}
	s := sheet.EvaluateIn(on, units)
	var out []string
	for i := range p.Offers {
		var words []string
		for _, o := range []struct {
			key  figure.Key
			name string
		}{{figure.TotalWeight, ""}, {figure.FOC, "FOC"}, {figure.LaunchSpeed, ""}, {figure.LaunchMargin, "margin"}, {figure.DozenCost, "dozen"}} {
			if c := present.FigureCell(s, len(j.Builds)+i, o.key); c.Absent == "" {
				words = append(words, strings.TrimSpace(o.name+" "+c.Value+" "+c.Unit))
			}
		}
		out = append(out, strings.Join(words, " · "))
	}
	return out
}

func (f *fitScreen) told(m *Model, what any) {
	p, ok := what.(proposed)
	switch {
	case !ok || p.ctx != f.ctx:
	case !p.ended:
		f.far = p.far
	case p.err != nil:
		f.cancel = nil
		f.refused = sentence(p.err)
	default:
		f.cancel = nil
		f.proposal, f.figures, f.offset = p.proposal, p.figures, 0
		m.Say("%s puts them on the bench as columns; %s goes back to the questions.", m.keys.Fit.Press(keys.Edit), m.keys.Fit.Press(keys.Close))
	}
}

// closed ends what is under way.
func (f *fitScreen) closed() {
	if f.cancel != nil {
		f.cancel()
		f.ctx, f.cancel = nil, nil // what it still tells is nobody's
	}
}

// place puts what is proposed on the bench, as columns behind those there. On an empty
// bench the one in the middle is what the others are compared with.
func (f *fitScreen) place(m *Model) (done bool) {
	offers, at := f.proposal.Offers, len(m.Job().Builds)
	if at+len(offers) > job.MostBuilds {
		m.Say("A bench holds %d builds: remove some first.", job.MostBuilds)
		return false
	}
	if !m.do("fitting", func(j *job.Job) {
		for i := range offers {
			b := offers[i].Build.Clone()
			b.Name = session.FreeName(j, b.Name)
			session.Insert(j, len(j.Builds), b)
		}
		if at == 0 {
			j.Baseline = len(offers) / 2
		}
	}) {
		return false
	}
	m.focus(at)
	m.Say("On the bench; %s takes them back. Have spine and length checked by the shaft maker's chart and a fitter before anything is cut.", m.keys.Bench.Press(keys.Undo))
	return true
}

// choosePurposes keeps a changed list of purposes.
func (m *Model) choosePurposes(list []fitting.Purpose) Request {
	if err := fitting.CheckPurposes(list); err != nil {
		why := err.Error()
		if at := (*record.Error)(nil); errors.As(err, &at) {
			why = "it " + at.Message // the line in focus says which
		}
		m.Alert("Not changed: %s.", why)
		return nil
	}
	m.purposesBefore = append(m.purposesBefore, m.choices.Purposes)
	m.choices.Purposes = list
	return Chosen{m.choices}
}

// backPurposes takes the last change of the purposes back.
func (m *Model) backPurposes() Request {
	n := len(m.purposesBefore)
	if n == 0 {
		m.Say("No change of the purposes to take back.")
		return nil
	}
	m.choices.Purposes, m.purposesBefore = m.purposesBefore[n-1], m.purposesBefore[:n-1]
	m.Say("The purposes are as they were.")
	return Chosen{m.choices}
}

func (f *fitScreen) addPurpose(m *Model) Request {
	list := slices.Clone(m.purposes())
	if len(list) >= mostPurposes {
		m.Say("A list holds %d purposes: change or remove one.", mostPurposes)
		return nil
	}
	p := list[f.purpose]
	p.Name, p.Note = freePurpose(list), ""
	r := m.choosePurposes(append(list, p))
	f.purpose = len(list)
	m.open(newPurposeForm(m, f.purpose))
	return r
}

// mostPurposes bounds the list to what one goes through by hand.
const mostPurposes = 40

func freePurpose(list []fitting.Purpose) string {
	for i := 1; ; i++ {
		name := "own purpose"
		if i > 1 {
			name += fmt.Sprintf(" %d", i)
		}
		if !slices.ContainsFunc(list, func(p fitting.Purpose) bool { return p.Name == name }) {
			return name
		}
	}
}

func (f *fitScreen) removePurpose(m *Model) Request {
	list := slices.Clone(m.purposes())
	if f.at != fitPurpose {
		m.Say("Move to the purpose to remove it.")
		return nil
	}
	if len(list) == 1 {
		m.Say("One purpose has to stay: change it instead.")
		return nil
	}
	name := list[f.purpose].Name
	r := m.choosePurposes(slices.Delete(list, f.purpose, f.purpose+1))
	f.purpose = min(f.purpose, len(m.purposes())-1)
	m.Say("Removed the purpose %s; %s brings it back.", short(name), m.keys.Fit.Press(keys.Undo))
	return r
}

// newPurposeForm returns the form of one purpose.
func newPurposeForm(m *Model, at int) dialog {
	m.Say("What arrows for this should weigh and where they should balance. The ranges the program comes with are common practice: make them your own.")
	l := func(key, title, means string) line[fitting.Purpose] {
		return line[fitting.Purpose]{key: key, title: title, means: means}
	}
	return &form[fitting.Purpose]{
		title: "Purpose", offers: apartOffers, apart: true,
		lines: []line[fitting.Purpose]{
			l("name", "purpose", "what arrows are for"),
			l("min_weight_per_draw", "weight from", "least arrow weight for each pound of peak weight; the bow maker's minimum and the cautions hold besides"),
			l("max_weight_per_draw", "weight to", "most arrow weight for each pound of peak weight"),
			l("min_foc_pct", "FOC from", "how far forward the arrow balances at least"),
			l("max_foc_pct", "FOC to", "how far forward the arrow balances at most"),
			l("note", "note", "where the ranges come from"),
		},
		load: func(m *Model) fitting.Purpose {
			list := m.purposes()
			return list[min(at, len(list)-1)]
		},
		keep: func(m *Model, c change, v fitting.Purpose) Request {
			list := slices.Clone(m.purposes())
			list[min(at, len(list)-1)] = v
			r := m.choosePurposes(list)
			if r != nil {
				m.Say("Changed: %s.", c.what)
			}
			return r
		},
		side: func(_ *Model, v *fitting.Purpose) []paragraph {
			return []paragraph{{text: v.Note}, {}, {token: theme.Quiet, text: "Purposes are kept with the settings, for every sitting. Local law may ask for more weight, and for certain heads: the program does not know it."}}
		},
	}
}

func (f *fitScreen) draw(m *Model, w, h int) []string {
	if f.proposal != nil {
		return f.drawProposal(m, w, h)
	}
	f.purpose = min(f.purpose, len(m.purposes())-1)
	out := []string{m.theme.Paint(theme.Heading, text.Pad(" A short talk: what should it shoot?", w))}
	for i := range fitQuestions {
		out = append(out, f.questionLine(m, i, w))
	}
	out = append(out, "")
	say := func(t theme.Token, words string) {
		for _, l := range wrapped(words, min(w-4, 110), 4) {
			out = append(out, m.theme.Paint(t, "   "+l))
		}
	}
	switch {
	case f.cancel != nil:
		say(theme.Quiet, "Looking through the drawer … "+m.keys.Fit.Press(keys.Close)+" stops.")
		done := 0
		if f.far.Candidates > 0 {
			done = int(barWidth * f.far.Done / f.far.Candidates)
		}
		out = append(out, "   "+strings.Repeat("█", done)+strings.Repeat("░", barWidth-done))
	case f.refused != "":
		say(theme.Warn, f.refused)
	default:
		say(theme.Quiet, f.means(m))
	}
	return out
}

// fitTitle is how wide the questions are.
const fitTitle = 18

func (f *fitScreen) questionLine(m *Model, i, w int) string {
	title, answer := f.question(m, i)
	if i == f.at {
		return m.theme.Paint(theme.Heading, text.Pad("▸"+title, fitTitle)) + m.theme.Paint(theme.Focus, text.Cut("["+answer+"]", w-fitTitle))
	}
	return m.theme.Paint(theme.Label, text.Pad(" "+title, fitTitle)) + m.theme.Paint(theme.Plain, text.Cut(" "+answer, w-fitTitle))
}

// question returns a question and how it is answered now.
func (f *fitScreen) question(m *Model, i int) (title, answer string) {
	yes := map[bool]string{true: "yes", false: "no"}
	a := &f.answers
	switch i {
	case fitBow:
		return "bow", present.BowName(m.units(), m.Job())
	case fitPurpose:
		p := m.purposes()[f.purpose]
		gr := m.units().Shown(unit.GrainsPerPound)
		return "what for", fmt.Sprintf("%s: %s to %s %s, FOC %s to %s %%", p.Name, present.Number(gr.Of(float64(p.MinPerDraw))), present.Number(gr.Of(float64(p.MaxPerDraw))), gr.Symbol,
			present.Number(100*float64(p.MinFOC)), present.Number(100*float64(p.MaxFOC)))
	case fitFavour:
		words := map[fitting.Favour]string{fitting.Even: "something in between"}[a.Favour]
		if words == "" {
			words = string(a.Favour)
		}
		return "rather", words
	case fitHead:
		return "head", string(a.Head)
	case fitNock:
		return "lighted nock", yes[a.Lighted]
	case fitGrowing:
		return "still growing", yes[a.Growing]
	case fitBudget:
		if a.Budget == 0 {
			return "budget, dozen", "none"
		}
		return "budget, dozen", present.Number(a.Budget)
	case fitParts:
		if a.InStock {
			return "parts", "in stock"
		}
		return "parts", "whole drawer"
	}
	return "", "Propose three builds"
}

// means says what the question in focus is about.
func (f *fitScreen) means(m *Model) string {
	switch f.at {
	case fitBow:
		return "Draw length decides how long an arrow must be, peak weight how heavy and how stiff. Measure both on the bow."
	case fitPurpose:
		words := m.purposes()[f.purpose].Note
		if words != "" && !strings.HasSuffix(words, ".") {
			words += "."
		}
		return strings.TrimSpace(words + " " + m.keys.Fit.Press(keys.Purpose) + " edits the ranges, " + m.keys.Fit.Press(keys.Add) + " adds a purpose of your own.")
	case fitFavour:
		return "A light arrow flies flat and forgives a wrong range; a heavy one is slower, keeps more momentum and is kinder to the bow."
	case fitHead:
		return "Broadheads are sharp and regulated, and not for children: check local law. They ask more of vanes and tune than field points."
	case fitNock:
		return "Electronics on the arrow are not allowed everywhere: check the rules and the law."
	case fitGrowing:
		return "Someone who still grows needs a longer arrow: the cut end then clears the rest by " + m.units().Span(2*unit.Inch, 3) + " (common practice). Check the draw length each season."
	case fitBudget:
		return "What a dozen may cost. With a budget, parts without a price are left out."
	case fitParts:
		return "Parts that are out of stock are left out, or not. A part without a count is taken as there."
	}
	return "Three builds of the drawer's parts, light, middle and heavy, each with what is gained and given up. Estimates, not advice: the shaft maker's chart and a fitter decide."
}

func (f *fitScreen) drawProposal(m *Model, w, h int) []string {
	var out []string
	say := func(t theme.Token, indent, words string) {
		for _, l := range wrapped(words, min(w-2-len(indent), 110), 12) {
			out = append(out, m.theme.Paint(t, " "+indent+l))
		}
	}
	for i := range f.proposal.Offers {
		o := &f.proposal.Offers[i]
		say(theme.Heading, "", o.Name+"   "+f.figures[i])
		say(theme.Quiet, "  ", pieceWords(m.units(), &o.Build))
		say(theme.Plain, "  ", o.Says)
		out = append(out, "")
	}
	for _, n := range f.proposal.Notes {
		say(theme.Note, "", n)
	}
	return f.show(out, h)
}

func (f *fitScreen) typing() bool                { return false }
func (f *fitScreen) footer(m *Model) []keys.Hint { return m.keys.FitFooter(f.proposal != nil) }

// click goes to the question at a place of the screen.
func (f *fitScreen) click(_ *Model, _, y int) bool {
	i := y - 1
	if f.proposal != nil || i < 0 || i >= fitQuestions {
		return false
	}
	was := f.at
	f.at = i
	return f.at == was
}
