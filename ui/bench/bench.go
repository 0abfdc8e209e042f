// Package bench is the bench: builds as columns, parts as rows above figures,
// and the dialogs that change them. It draws lines of text and takes keys; it
// does no input or output of its own. What it wants done outside it returns as
// a Request.
package bench

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
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
		Build int // index of the build alone, or −1 for the whole bench
	}
	// List asks for what is saved.
	List struct{}
	// Load asks for something saved.
	Load struct{ Entry Entry }
	// KeepParts stores parts that changed.
	KeepParts struct{ Parts []part.Part }
)

func (Quit) request()      {}
func (Redraw) request()    {}
func (Save) request()      {}
func (List) request()      {}
func (Load) request()      {}
func (KeepParts) request() {}

// row is a row of the bench: a slot of the build, or a figure, or the cautions.
type row struct {
	slot    present.Slot
	figure  figure.Key
	isSlot  bool
	caution bool
}

// order lists the figures of the bench, what is asked for most first.
var order = []figure.Key{
	figure.TotalWeight, figure.FrontWeight, figure.FOC, figure.LaunchSpeed, figure.BalancePoint, figure.WeightPerDraw,
	figure.LaunchEnergy, figure.LaunchMomentum, figure.EnergyShare, figure.Inertia, figure.DozenCost,
}

// Model is the bench of one terminal.
type Model struct {
	keys    *keys.Map
	theme   *theme.Theme
	session *session.Session
	drawer  []part.Part
	samples *job.Job // what X brings back

	width, height int
	row, col      int
	offset        int

	effect  string
	message string
	urgent  bool // the message is about something that was not done
	// before is the focused build before the last change, and moved what of its
	// figures that changed: marked until the next change.
	before *arrow.Build
	moved  [figure.Count]bool
	dialog dialog
}

// dialog is something in front of the bench that takes the keys.
type dialog interface {
	// key handles a key; done closes the dialog.
	key(m *Model, k tea.KeyMsg) (done bool, r Request)
	// lines draws the dialog in place of the body.
	lines(m *Model, w, h int) []string
	// typing reports whether letters are text.
	typing() bool
	footer(m *Model) []keys.Hint
}

// New returns a bench with a job on it. samples is the invented job that can be
// brought back.
func New(k *keys.Map, t *theme.Theme, j *job.Job, drawer []part.Part, samples *job.Job) *Model {
	m := &Model{keys: k, theme: t, session: session.New(j), drawer: drawer, samples: samples}
	m.row = m.rowOf(present.Slot(part.KindInsert))
	return m
}

// SetSize tells the bench how large the screen is.
func (m *Model) SetSize(w, h int) { m.width, m.height = w, h }

// SetTheme changes the colours.
func (m *Model) SetTheme(t *theme.Theme) { m.theme = t }

// Job returns the job on the bench.
func (m *Model) Job() *job.Job { return m.session.Job() }

// Typing reports whether letters are text now rather than commands.
func (m *Model) Typing() bool { return m.dialog != nil && m.dialog.typing() }

// Say shows a message on the message line.
func (m *Model) Say(format string, args ...any) {
	m.message, m.urgent = fmt.Sprintf(format, args...), false
}

// Alert shows a message about something that was not done, in as many lines as
// it needs.
func (m *Model) Alert(format string, args ...any) {
	m.message, m.urgent = fmt.Sprintf(format, args...), true
}

func (m *Model) alerting() bool { return m.urgent && m.message != "" }

// Saved tells the bench under which name it is saved now.
func (m *Model) Saved(name string) { m.session.SetName(name) }

// allRows lists the rows of the bench from the top.
var allRows = func() []row {
	var out []row
	for _, s := range present.Slots {
		out = append(out, row{slot: s, isSlot: true})
	}
	for _, k := range order {
		out = append(out, row{figure: k})
	}
	return append(out, row{caution: true})
}()

// hidden reports whether a row is left out: that of extras, while no build has
// any, the screen is low and the focus is elsewhere.
func (m *Model) hidden(i int) bool {
	r := allRows[i]
	return r.isSlot && r.slot == present.SlotExtras && m.row != i && m.height < frame.Roomy && !m.anyExtras()
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

// HandleKey takes one key.
func (m *Model) HandleKey(k tea.KeyMsg) Request {
	if m.width > 0 && frame.TooSmall(m.width, m.height) {
		// Nobody sees what a key would do.
		if key.Matches(k, m.keys.Bench.Quit) {
			return Quit{}
		}
		return nil
	}
	if m.dialog != nil {
		done, r := m.dialog.key(m, k)
		if p, ok := m.dialog.(*page); ok && done {
			m.dialog = p.back
		} else if done {
			m.dialog = nil
		}
		return r
	}
	m.message = ""
	b := &m.keys.Bench
	switch {
	case key.Matches(k, b.Quit):
		return Quit{}
	case key.Matches(k, b.Redraw):
		return Redraw{}
	case key.Matches(k, b.Help):
		m.dialog = m.help()
	case key.Matches(k, b.Bow):
		m.dialog = newBowForm(m)
	case key.Matches(k, b.Open):
		m.dialog = newSavedList(m)
		return List{}
	case key.Matches(k, b.Undo):
		m.travel("Undone", "Nothing to undo.", m.session.Undo)
	case key.Matches(k, b.Redo):
		m.travel("Done again", "Nothing to do again.", m.session.Redo)
	case key.Matches(k, b.Add):
		m.add()
	case key.Matches(k, b.Samples):
		m.dialog = m.samplesChoice()
	case m.build() == nil:
		m.Say("There is no build on the bench: press %s to add one, or %s to open a saved one.", b.Add.Help().Key, b.Open.Help().Key)
	default:
		m.buildKey(k)
	}
	return nil
}

// buildKey takes the keys that need a build.
func (m *Model) buildKey(k tea.KeyMsg) {
	b := &m.keys.Bench
	builds := len(m.Job().Builds)
	switch {
	case key.Matches(k, b.Up):
		m.moveRow(-1)
	case key.Matches(k, b.Down):
		m.moveRow(1)
	case key.Matches(k, b.First):
		m.row = 0
	case key.Matches(k, b.Last):
		m.row = len(allRows) - 1
	case key.Matches(k, b.Left):
		m.focus(max(m.col-1, 0))
	case key.Matches(k, b.Right):
		m.focus(min(m.col+1, builds-1))
	case key.Matches(k, b.More):
		m.step(true)
	case key.Matches(k, b.Less):
		m.step(false)
	case key.Matches(k, b.Edit):
		m.edit()
	case key.Matches(k, b.Working):
		m.dialog = m.explain()
	case key.Matches(k, b.Duplicate):
		m.duplicate()
	case key.Matches(k, b.Remove):
		m.remove()
	case key.Matches(k, b.Rename):
		m.dialog = m.renamePrompt()
	case key.Matches(k, b.MoveLeft):
		m.move(-1)
	case key.Matches(k, b.MoveRight):
		m.move(1)
	case key.Matches(k, b.Baseline):
		m.baseline()
	case key.Matches(k, b.Save):
		m.dialog = m.savePrompt(-1)
	case key.Matches(k, b.SaveBuild):
		m.dialog = m.savePrompt(m.col)
	}
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
	changed, err := m.session.Replace(what, j, name)
	return m.done(changed, err, old, oldSheet)
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
	if words := present.Effect(m.Job(), &was, now); words != "" {
		m.effect = strings.Join(present.Changes(&was, now), ", ") + ":  " + words
	}
}

// markMoved notes which figures of the focused build changed with the last key.
func (m *Model) markMoved(old *sheet.Sheet) {
	for _, k := range order {
		was, had := old.Builds[m.col].Figure(k)
		is, has := m.session.Sheet().Builds[m.col].Figure(k)
		m.moved[k] = had != has || was.Value != is.Value
	}
}

// Restore puts the focus where the last sitting left it.
func (m *Model) Restore(name string, row, col int) {
	m.session.SetName(name)
	m.row = max(min(row, len(allRows)-1), 0)
	m.col = max(min(col, len(m.Job().Builds)-1), 0)
}

// Remember returns what Restore takes.
func (m *Model) Remember() (name string, row, col int) { return m.session.Name(), m.row, m.col }
