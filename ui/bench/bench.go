// Package bench is the bench: builds as columns, parts as rows above figures,
// and the dialogs that change them. It draws lines of text and takes keys; it
// does no input or output of its own. What it wants done outside it returns as
// a Request.
package bench

import (
	"fmt"
	"slices"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/fitting"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/frame"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
	"foreshaft/ui/theme"
)

// Request is something that the bench asks the program for.
type Request interface{ request() }

// The requests.
type (
	// Quit ends the program.
	Quit struct{}
	// Redraw paints the whole screen afresh.
	Redraw struct{}
	// Save keeps the bench, or one build of it, under a name.
	Save struct {
		Name  string
		What  Saved
		Build int      // which build, where it is one alone
		Job   *job.Job // as it was when it was asked for
		Quiet bool     // nobody asked for it: success is not worth a message
		// Customer is for whom it is; empty leaves what is saved under the name as it is.
		Customer string
	}
	// List asks for what is saved.
	List struct{}
	// Load asks for something saved.
	Load struct{ Entry Entry }
	// KeepParts stores parts that changed. Was is each as it was when the change began, nothing
	// for a new one: another terminal may have changed the same part.
	KeepParts struct{ Was, Parts []part.Part }
	// NewPart asks for an ID for a part that is being described.
	NewPart struct{}
	// Chosen keeps what was chosen for every sitting.
	Chosen struct{ Choices Choices }
	// Copy puts a text into the terminal's clipboard.
	Copy struct{ Text, What string }
	// Write puts something to print into a new file.
	Write struct {
		Path string
		Data []byte
		What string
		// again makes the request for another name, whose ending may ask for another
		// format; nil where the data is the same under any name.
		again func(m *Model, typed string) (Request, error)
	}
	// Work is done beside the screen, which goes on taking keys. Do tells what comes
	// of it, one thing at a time, and ends when the dialog that asked for it is closed.
	// What it tells comes back by Told.
	Work struct {
		Do func(tell func(any))
		to listener
	}
)

// For says for whom something is saved, for a sentence.
func (s Save) For() string {
	if s.Customer == "" {
		return ""
	}
	return " for " + s.Customer
}

func (Quit) request()      {}
func (Redraw) request()    {}
func (Save) request()      {}
func (List) request()      {}
func (Load) request()      {}
func (KeepParts) request() {}
func (NewPart) request()   {}
func (Chosen) request()    {}
func (Copy) request()      {}
func (Write) request()     {}
func (Work) request()      {}

// listener is a dialog that has work done beside the screen. It is told what came
// of it as long as it is open, and closed once it is not.
type listener interface {
	dialog
	told(m *Model, what any)
	closed()
}

// Told hands a dialog what work told that it asked for.
func (m *Model) Told(w Work, what any) {
	if m.dialog == dialog(w.to) || slices.Contains(m.under, dialog(w.to)) {
		w.to.told(m, what)
	}
}

// Saved says what is kept under a name.
type Saved int

// What can be kept under a name.
const (
	SavedBench Saved = iota
	SavedBuild       // one build alone
	SavedBow         // a bow with its readings, and the sight on it
)

// Choices is what holds for every sitting.
type Choices struct {
	Theme theme.Name // empty: by the terminal's background
	Units unit.System
	Mouse bool
	// Currency is what prices are in; a job that names its own keeps that.
	Currency string
	// Purposes is what arrows are for, as edited; none are those that the program has.
	Purposes []fitting.Purpose
}

// row is a row of the bench: a slot of the build, or a figure, or the cautions.
type row struct {
	slot    present.Slot
	figure  figure.Key
	isSlot  bool
	caution bool
	depth   Depth // a figure's: from which on it is shown
}

// order lists the figures of the bench, what is asked for most first, and from
// which depth on they are shown.
var order = []struct {
	key   figure.Key
	depth Depth
}{
	{figure.MarginVsProven, Counter},
	{figure.TotalWeight, Counter}, {figure.FrontWeight, Counter}, {figure.FOC, Counter}, {figure.LaunchSpeed, Counter}, {figure.LaunchMargin, Counter},
	{figure.BalancePoint, Common}, {figure.WeightPerDraw, Common}, {figure.SteerMargin, Common}, {figure.HeadShare, Common}, {figure.LaunchEnergy, Common}, {figure.LaunchMomentum, Common},
	{figure.EnergyShare, Lab}, {figure.Inertia, Lab}, {figure.DragCoefficient, Lab}, {figure.DozenCost, Counter},
	{figure.SteerMoment, Lab}, {figure.BendingStiffness, Lab}, {figure.BendingFrequency, Lab}, {figure.BendsOnString, Lab}, {figure.PressurePoint, Lab}, {figure.WobbleLength, Lab},
	{figure.HoldOnNear, Lab}, {figure.HoldOnFar, Common}, {figure.MarkSpread, Lab},
	// Those at the chosen distance come last.
	{figure.SightMark, Common}, {figure.ImpactShift, Common}, {figure.RangeShort, Common}, {figure.RangeLong, Common}, {figure.Energy, Common},
	{figure.WindDrift, Lab}, {figure.Speed, Lab}, {figure.Momentum, Lab}, {figure.Drop, Lab}, {figure.FlightTime, Lab}, {figure.HoldFor, Lab},
}

// Depth is how much of the figures is shown.
type Depth int

// The depths, each with more than the one before.
const (
	Counter Depth = iota // six figures, for whoever stands in front of the counter
	Common               // those in common use
	Lab                  // all, each with its uncertainty and what it rests on
)

// String names the depth as the screen does.
func (d Depth) String() string { return [...]string{"counter", "bench", "lab"}[d] }

// Model is the bench of one terminal.
type Model struct {
	keys    *keys.Map
	theme   *theme.Theme
	session *session.Session
	drawer  []part.Part
	samples *job.Job // what X brings back
	clock   func() time.Time

	// paint returns a theme in the colours that the terminal has; ground is what
	// its background asks for.
	paint   func(theme.Name) *theme.Theme
	ground  theme.Name
	choices Choices
	about   []string // what to know about the settings
	depth   Depth
	// distance is the one whose figures the bench shows; nothing stands for the
	// farthest, and so does one that the job no longer lists.
	distance unit.Length

	width, height int
	row, col      int
	offset        int
	layout        frame.Bench // as drawn last, for the mouse
	drawn         []int       // which row each line of the body shows, or what else it is

	effect  string
	message string
	urgent  bool // the message is about something that was not done
	// before is the focused build before the last change, and moved what of its
	// figures that changed: marked until the next change.
	before *arrow.Build
	moved  [figure.Count]bool
	// dialog takes the keys; under are those it was opened from.
	dialog dialog
	under  []dialog
	// finding and fitting are their screens with what they were about, nil before they
	// were opened.
	finding *findScreen
	fitting *fitScreen
	// purposesBefore are the lists of purposes before each change of them.
	purposesBefore [][]fitting.Purpose
	tour           tour
	swaps          mapView
	// customers and entries are who is known and what is saved, as read last.
	customers []store.Customer
	entries   []Entry
	// seen is how many revisions there were when something saved was opened or saved here.
	seen     map[savedName]int
	returned bool // to a bench of before, and what is saved was not read yet
	// described is the part whose form is open.
	described *draft
	// drafts are parts that were begun and not finished, by kind.
	drafts map[part.Kind]*draft

	// kept are the jobs that are saved under the names the bench has had in this sitting. For
	// one that is not known differed says whether the last sitting ended with another than it
	// kept, and started is what this one began with.
	kept     map[string]*job.Job
	started  *job.Job
	differed bool
	// compared is the job that was last compared with what is saved, comparedWith, and
	// differs what came of it.
	compared, comparedWith *job.Job
	differs                bool
}

// dialog is something in front of the bench that takes the keys.
type dialog interface {
	// key handles a key; done closes the dialog.
	key(m *Model, k tea.KeyMsg) (done bool, r Request)
	// draw returns the dialog's lines, in place of the body; none when the bench
	// stays in sight.
	draw(m *Model, w, h int) []string
	// typing reports whether letters are text.
	typing() bool
	footer(m *Model) []keys.Hint
}

// Options is what a bench starts with.
type Options struct {
	Keys    *keys.Map
	Paint   func(theme.Name) *theme.Theme // in the colours that the terminal has
	Ground  theme.Name                    // what the terminal's background asks for
	Choices Choices
	About   []string // where the settings are and what is wrong with them
	Job     *job.Job
	Drawer  []part.Part
	Samples *job.Job // the invented bench that can be brought back
	Clock   func() time.Time
}

// New returns a bench.
func New(opt Options) *Model {
	opt.Job = priced(opt.Job, opt.Choices.Currency)
	m := &Model{
		keys: opt.Keys, paint: opt.Paint, ground: opt.Ground, choices: opt.Choices, about: opt.About, depth: Common,
		session: session.New(opt.Job, opt.Choices.Units), drawer: opt.Drawer, samples: opt.Samples, clock: opt.Clock, drafts: map[part.Kind]*draft{}, seen: map[savedName]int{}, kept: map[string]*job.Job{},
	}
	m.started = opt.Job
	m.repaint()
	m.row = m.rowOf(present.Slot(part.KindInsert))
	return m
}

// repaint takes the colours that were chosen, else those that suit the terminal.
func (m *Model) repaint() {
	name := m.choices.Theme
	if name == "" {
		name = m.ground
	}
	m.theme = m.paint(name)
}

// Ground takes what the terminal says of its background, when that comes late.
func (m *Model) Ground(dark bool) {
	if m.ground == theme.Mono { // it was told not to use colours
		return
	}
	if m.ground = theme.Light; dark {
		m.ground = theme.Dark
	}
	m.repaint()
}

// units returns the units that quantities are shown and typed in.
func (m *Model) units() unit.System { return m.session.Units() }

// SetSize tells the bench how large the screen is. Another size begins at the top
// again, and scrolls to the focus from there: what is in sight does not depend on
// the sizes before.
func (m *Model) SetSize(w, h int) {
	if w != m.width || h != m.height {
		m.offset = 0
	}
	m.width, m.height = w, h
}

// Job returns the job on the bench.
func (m *Model) Job() *job.Job { return m.session.Job() }

// Typing reports whether letters are text now rather than commands.
func (m *Model) Typing() bool { return m.dialog != nil && m.dialog.typing() }

// Say shows a message on the message line.
func (m *Model) Say(format string, args ...any) {
	m.message, m.urgent = fmt.Sprintf(format, args...), false
}

// sayAlso adds to the message that a change has left already.
func (m *Model) sayAlso(format string, args ...any) {
	m.Say("%s", strings.TrimSpace(m.message+" "+fmt.Sprintf(format, args...)))
}

// Alert shows a message about something that was not done, in as many lines as
// it needs.
func (m *Model) Alert(format string, args ...any) {
	m.message, m.urgent = fmt.Sprintf(format, args...), true
}

func (m *Model) alerting() bool { return m.urgent && m.message != "" }

// Saved tells the bench under which name it is saved now, and as what.
func (m *Model) Saved(name string, j *job.Job) {
	m.session.SetName(name)
	m.kept[name], m.differed, m.compared = j, false, nil
}

// renamed tells the bench that what is saved under one name is now saved under another.
func (m *Model) renamed(was, now string) {
	if j, known := m.kept[was]; known {
		delete(m.kept, was)
		m.kept[now] = j
	}
	if m.session.Name() == was {
		m.session.SetName(now)
	}
}

// changedSince reports whether the bench differs from what is saved under its
// name. From the sitting before only this is known, not what was saved.
func (m *Model) changedSince() bool {
	saved, known := m.kept[m.session.Name()]
	if !known {
		return m.differed || m.Job() != m.started
	}
	if m.Job() != m.compared || saved != m.comparedWith {
		m.compared, m.comparedWith, m.differs = m.Job(), saved, !m.Job().Equal(saved)
	}
	return m.differs
}

// allRows lists the rows of the bench from the top.
var allRows = func() []row {
	var out []row
	for _, s := range present.Slots {
		out = append(out, row{slot: s, isSlot: true})
	}
	for _, o := range order {
		out = append(out, row{figure: o.key, depth: o.depth})
	}
	return append(out, row{caution: true})
}()

// hidden reports whether a row is left out: a figure that belongs to a greater
// depth or that no build has a use for, the launch margin over the counter where
// there is a proven build to compare with, and the row of extras while no build has any, the screen is low and the
// focus is elsewhere.
func (m *Model) hidden(i int) bool {
	r, s := allRows[i], m.session.Sheet()
	if !r.isSlot && !r.caution && !s.Tells(r.figure) || r.figure == figure.LaunchMargin && m.depth == Counter && s.Compared() {
		return true
	}
	return r.depth > m.depth || r.isSlot && r.slot == present.SlotExtras && m.row != i && m.height < frame.Roomy && !m.anyExtras()
}

// moveRow moves the focus to the next row that is not hidden.
func (m *Model) moveRow(by int) {
	for i := m.row + by; i >= 0 && i < len(allRows); i += by {
		if !m.hidden(i) {
			m.row = i
			return
		}
	}
}

func (m *Model) anyExtras() bool {
	for i := range m.Job().Builds {
		if len(m.Job().Builds[i].Extras) > 0 {
			return true
		}
	}
	return false
}

func (m *Model) rowOf(s present.Slot) int {
	for i, r := range allRows {
		if r.isSlot && r.slot == s {
			return i
		}
	}
	return 0
}

// build returns the build in focus, nil on an empty bench.
func (m *Model) build() *arrow.Build {
	if len(m.Job().Builds) == 0 {
		return nil
	}
	return &m.Job().Builds[m.col]
}

// focus moves to a column. What the last key changed is then no longer marked.
func (m *Model) focus(col int) {
	if col != m.col {
		m.before, m.effect = nil, ""
	}
	m.col = col
}

// travel undoes or redoes one change.
func (m *Model) travel(verb, nothing string, move func() (string, bool)) {
	old, oldSheet := m.Job(), m.session.Sheet()
	what, ok := move()
	if !ok {
		m.Say("%s", nothing)
		return
	}
	m.afterChange(old, oldSheet)
	m.Say("%s: %s.", verb, what)
}

// do changes the job, remembers it for undo and works out the effect on the
// build in focus. It reports whether anything changed.
func (m *Model) do(what string, change func(j *job.Job)) bool {
	old, oldSheet := m.Job(), m.session.Sheet()
	changed, err := m.session.Do(what, change)
	return m.done(changed, err, old, oldSheet)
}

// replace is do for a whole job, with the name it is saved under.
func (m *Model) replace(what string, j *job.Job, name string) bool {
	old, oldSheet := m.Job(), m.session.Sheet()
	changed, err := m.session.Replace(what, priced(j, m.choices.Currency), name)
	return m.done(changed, err, old, oldSheet)
}

// priced returns a job with the currency of its prices, where it does not name one.
func priced(j *job.Job, currency string) *job.Job {
	if j.Currency != "" || currency == "" {
		return j
	}
	j = j.Clone()
	j.Currency = currency
	return j
}

func (m *Model) done(changed bool, err error, old *job.Job, oldSheet *sheet.Sheet) bool {
	if err != nil {
		m.Alert("Not changed: %v.", err)
		return false
	}
	if changed {
		m.afterChange(old, oldSheet)
	}
	return changed
}

// afterChange puts the focus back inside and compares the focused build with
// what it was.
func (m *Model) afterChange(old *job.Job, oldSheet *sheet.Sheet) {
	m.col = max(min(m.col, len(m.Job().Builds)-1), 0)
	m.before, m.effect = nil, ""
	m.settle()
	now := m.build()
	if now == nil || len(old.Builds) != len(m.Job().Builds) {
		return
	}
	was := old.Builds[m.col]
	if was.Name != now.Name {
		return
	}
	m.before = &was
	m.markMoved(oldSheet)
	if was.SamePieces(now) && was.DragCoefficient == now.DragCoefficient {
		return // the arrow is the same: what changed lies around it
	}
	changes := strings.Join(present.Changes(m.units(), &was, now), ", ")
	if words := present.Effect(m.session.Sheet(), &was, now, m.chosen()); words != "" {
		if changes != "" {
			changes += ":  "
		}
		m.effect = changes + words
	}
	m.remind(old)
}

// remind says what a change leaves behind: marks that were shot with the arrow
// before it, and a drag that was measured of another outline.
func (m *Model) remind(old *job.Job) {
	was, now := &old.Builds[m.col], m.build()
	if old.Marked(was) && !m.Job().Marked(now) && !was.SamePieces(now) {
		m.Say("%s is another arrow now: the mark of the proven one and its record went. %s takes the change back; change a copy (%s) to compare.",
			short(now.Name), m.keys.Bench.Press(keys.Undo), m.keys.Bench.Press(keys.Duplicate))
	}
	if d := now.DragCoefficient; d.Given && d == was.DragCoefficient && !sameOutline(was, now) {
		m.Say("The drag of %s was given for the arrow as it was: measure it again, or empty it to go by the formula.", short(now.Name))
	}
	if m.col == m.Job().Baseline && len(m.Job().Sight.Value.Marks) > 1 && m.effect != "" {
		m.Say("Your marks now count as shot with %s as it is now. To compare, change a copy (%s) instead, and leave the baseline as it was shot.", short(now.Name), m.keys.Bench.Press(keys.Duplicate))
	}
}

// sameOutline reports whether two builds look the same to the air.
func sameOutline(a, b *arrow.Build) bool {
	one, err := arrow.OutlineOf(a)
	other, err2 := arrow.OutlineOf(b)
	return one == other && (err == nil) == (err2 == nil)
}

// markMoved notes which figures of the focused build changed with the last key.
func (m *Model) markMoved(old *sheet.Sheet) {
	same := old.Job.DistancesOrDefault()[m.place(old.Job)] == m.chosen()
	for _, o := range order {
		k := o.key
		if k.Definition().At && !same { // another distance is no change of a figure
			m.moved[k] = false
			continue
		}
		was, had := old.Builds[m.col].Place(m.placeOf(old.Job, k)).Figure(k)
		is, has := m.session.Sheet().Builds[m.col].Place(m.placeOf(m.Job(), k)).Figure(k)
		m.moved[k] = had != has || was.Value != is.Value
	}
}

// View is how the bench is looked at, kept from one sitting to the next.
type View struct {
	Name     string // under which the bench is saved
	Row, Col int
	Depth    Depth
	Distance unit.Length // whose figures it shows; nothing is the farthest
	Changed  bool        // since it was saved under that name
	Seen     []Seen      // of what is on it
}

// Restore looks at the bench as the last sitting left it.
func (m *Model) Restore(v View) {
	m.session.SetName(v.Name)
	m.differed = v.Changed
	m.depth = max(min(v.Depth, Lab), Counter)
	m.row = max(min(v.Row, len(allRows)-1), 0)
	m.col = max(min(v.Col, len(m.Job().Builds)-1), 0)
	m.distance = v.Distance
	for _, s := range v.Seen {
		m.seen[savedName{s.What, s.Name}], m.returned = s.Revisions, true
	}
	m.settle()
}

// View returns what Restore takes.
func (m *Model) View() View {
	return View{Name: m.session.Name(), Row: m.row, Col: m.col, Depth: m.depth, Distance: m.distance, Changed: m.session.Name() != "" && m.changedSince(), Seen: m.seenHere()}
}

// settle moves the focus off a row that is hidden.
func (m *Model) settle() {
	for m.row > 0 && m.hidden(m.row) {
		m.row--
	}
}
