// Package ui is the full-screen program: the one model that the terminal
// framework drives. It splits keys, sizes the bench, and does for the bench
// what needs the workbook, as commands whose results come back as messages.
package ui

import (
	"slices"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/bench"
	"foreshaft/ui/theme"
)

// Keeper keeps what the program must not lose.
type Keeper interface {
	// SaveBench keeps the working bench: it is on disk when it returns nil.
	SaveBench(j *job.Job, view []byte) error
	// Trouble says what went wrong beside the work since it was asked last, such as a backup
	// that failed; empty where nothing did.
	Trouble() string
	// Save keeps a bench, one build of it or its bow under a name. It returns how many
	// revisions there are now and whether this one is new.
	Save(r bench.Save) (revisions int, added bool, err error)
	bench.Shelf
	// List returns what is saved, and the customers.
	List() ([]bench.Entry, []store.Customer, error)
	// Load returns the newest revision of something saved.
	Load(entry bench.Entry) (*job.Job, error)
	// KeepParts stores parts of the drawer that changed from what they were, and returns them as
	// they are kept, with the names of those that another terminal had changed meanwhile.
	KeepParts(was, parts []part.Part) (kept []part.Part, meanwhile []string, err error)
	// Drawer returns the parts as the workbook has them.
	Drawer() ([]part.Part, error)
	// NewPart returns an ID for a new part.
	NewPart() (id string, err error)
	// KeepChoices stores what was chosen for every sitting.
	KeepChoices(c bench.Choices) error
	// Copy puts a text into the terminal's clipboard.
	Copy(text string) error
	// Write makes a new file and returns where it is. A file that is there already
	// is not touched: that is an error.
	Write(path string, data []byte) (full string, err error)
}

// Options is what the program starts with.
type Options struct {
	Keeper Keeper
	Bench  bench.Options
	View   []byte // as the last sitting kept it
	// Welcome is the first message, Trouble one that must not be overlooked.
	Welcome, Trouble string
	// Heard is the beginning of an answer that the terminal was giving when the
	// program stopped waiting for it.
	Heard string
	Clock func() time.Time // nil is the computer's clock
}

// View is what the screen remembers from one sitting to the next.
type view struct {
	Name string `job:"name"`
	Row  int    `job:"row" range:"0,1000"`
	Col  int    `job:"col" range:"0,63"`
	// Depth counts from 1, so that a sitting that did not keep it is told apart.
	Depth   int  `job:"depth" range:"0,3"`
	Changed bool `job:"changed"`
	// Distance is the one whose figures are shown.
	Distance unit.Length `job:"distance_yd" range:"0,200"`
	Seen     []seen      `job:"seen"`
}

// seen is a bench.Seen as it is kept.
type seen struct {
	What      int    `job:"what" range:"0,2"`
	Name      string `job:"name"`
	Revisions int    `job:"revisions" range:"0,1000000000"`
}

// App is the program on one terminal.
type App struct {
	keeper Keeper
	bench  *bench.Model
	mouse  bool // asked for at the start
	reply  reply
	clock  func() time.Time

	// saved is the job that is on disk or on its way there.
	saved  *job.Job
	saving bool
	// asked is what the keeper is to do besides that save, in order; the first
	// of it is under way once begun is set.
	asked   []errand
	begun   bool
	keeping int // how many of them store parts
	// single is set from when something is asked during which nothing may change until it
	// is answered.
	single bool
	// quitting is set once the user wants to leave, final once the last save of
	// the bench was started, refused after a save failed then: asking again
	// leaves without it.
	quitting, final, refused bool
	quits                    int           // how often the user wanted to leave
	ended                    chan struct{} // closed by End
	// failure is why the bench is not kept, nil when it is or may be.
	failure error
}

// New returns the program.
func New(opt Options) *App {
	if opt.Clock == nil {
		opt.Clock = time.Now
	}
	opt.Bench.Clock = opt.Clock
	a := &App{ended: make(chan struct{}), keeper: opt.Keeper, saved: opt.Bench.Job, bench: bench.New(opt.Bench), mouse: opt.Bench.Choices.Mouse, clock: opt.Clock}
	a.reply = reply{heard: opt.Heard, last: a.clock()}
	var v view
	if len(opt.View) > 0 && record.Decode(opt.View, &v) == nil {
		depth := bench.Common
		if v.Depth > 0 {
			depth = bench.Depth(v.Depth - 1)
		}
		was := bench.View{Name: v.Name, Row: v.Row, Col: v.Col, Depth: depth, Distance: v.Distance, Changed: v.Changed}
		for _, s := range v.Seen {
			was.Seen = append(was.Seen, bench.Seen{What: bench.Saved(s.What), Name: s.Name, Revisions: s.Revisions})
		}
		a.bench.Restore(was)
	}
	switch {
	case opt.Trouble != "":
		a.bench.Alert("%s", opt.Trouble)
	case opt.Welcome != "":
		a.bench.Say("%s", opt.Welcome)
	}
	return a
}

// The messages that commands come back with.
type (
	savedBench struct {
		err     error
		trouble string
	}
	savedName struct {
		asked     bench.Save
		before    string // what the bench was called when it was asked for
		revisions int
		added     bool
		err       error
	}
	listed struct {
		entries   []bench.Entry
		customers []store.Customer
		err       error
	}
	answered struct {
		then  func(m *bench.Model) bench.Request
		alone bool
	}
	loaded struct {
		entry bench.Entry
		job   *job.Job
		err   error
	}
	keptParts struct {
		asked, parts []part.Part
		meanwhile    []string
		err          error
	}
	drawerRead struct {
		by    string
		parts []part.Part
		err   error
	}
	newPart struct {
		id  string
		err error
	}
	keptChoices struct{ err error }
	copied      struct {
		what bench.Copy
		err  error
	}
	written struct {
		what bench.Write
		path string
		err  error
	}
	// news is what work beside the screen tells; its channel is closed when it ends.
	news struct {
		work bench.Work
		from <-chan any
		what any
	}
	giveUp   struct{ quit int } // which wish to leave it goes with
	lookNow  struct{}
	looked   struct{ trouble string }
	tryAgain struct{} // to keep the bench
)

// Init turns the mouse on where it was chosen, and reads who the customers are; the size
// comes by itself.
func (a *App) Init() tea.Cmd {
	return tea.Batch(mouse(a.mouse), a.answer(bench.List{}), look(lookFirst))
}

// When it is looked what went wrong beside the work: the backup of the day is made then, and
// later, where nothing is changed that would tell.
const (
	lookFirst = 5 * time.Second
	lookAgain = time.Minute
)

func look(after time.Duration) tea.Cmd {
	return tea.Tick(after, func(time.Time) tea.Msg { return lookNow{} })
}

func (a *App) tellTrouble(words string) {
	if words != "" {
		a.bench.Alert("%s", words)
	}
}

func mouse(on bool) tea.Cmd {
	if on {
		return tea.EnableMouseCellMotion
	}
	return nil
}

// Update takes one message.
func (a *App) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		a.bench.SetSize(msg.Width, msg.Height)
		return a, tea.ClearScreen
	case tea.KeyMsg:
		return a, a.keys(msg)
	case tea.MouseMsg:
		if a.quitting || a.single {
			return a, nil
		}
		r := a.bench.HandleMouse(msg)
		return a, tea.Batch(a.keep(), a.answer(r))
	case savedBench:
		return a, a.afterSave(msg)
	case savedName:
		a.afterSaveAs(msg)
		return a, a.next(msg.err)
	case listed:
		a.bench.ShowSaved(msg.entries, msg.customers, msg.err)
	case answered:
		return a, a.afterAsk(msg)
	case loaded:
		if a.quitting || a.single { // the bench that is kept is the one that was seen
			return a, nil
		}
		r := a.bench.Place(msg.entry, msg.job, msg.err)
		return a, tea.Batch(a.keep(), a.answer(r))
	case keptParts:
		if msg.err != nil {
			a.bench.Alert("The drawer was not saved. %v", msg.err)
		}
		a.keeping--
		if len(msg.meanwhile) > 0 {
			a.bench.Alert("Another terminal had changed %s just before. What you entered is kept, and the rest is as it is there: look at it again.", strings.Join(msg.meanwhile, ", "))
		}
		var read tea.Cmd
		if msg.err == nil && !slices.Equal(msg.asked, msg.parts) { // another terminal changed them too
			read = a.readDrawer("another terminal")
		}
		return a, tea.Batch(read, a.next(msg.err))
	case Elsewhere:
		return a, a.hearElsewhere(msg)
	case drawerRead:
		var read tea.Cmd
		switch {
		case msg.err != nil:
			a.bench.Alert("The drawer was changed at %s, and could not be read again. %v", msg.by, msg.err)
		case a.quitting:
		case a.keeping > 0: // what is asked for since is not in it
			read = a.readDrawer(msg.by)
		default:
			a.bench.DrawerElsewhere(msg.by, msg.parts)
		}
		return a, tea.Batch(read, a.keep(), a.next(nil))
	case Leave:
		return a, a.leaveNow(msg)
	case lookNow:
		return a, func() tea.Msg { return looked{a.keeper.Trouble()} }
	case looked:
		a.tellTrouble(msg.trouble)
		return a, look(lookAgain)
	case tryAgain:
		if a.failure != nil && !a.quitting {
			return a, a.keep()
		}
	case newPart:
		if msg.err != nil {
			a.bench.Alert("A new part cannot be kept. %v", msg.err)
			return a, a.next(msg.err)
		}
		// What it leads to is asked for before this counts as done, so that quitting
		// waits for both.
		keep := a.answer(a.bench.TakeID(msg.id))
		return a, tea.Batch(keep, a.next(nil))
	case keptChoices:
		if msg.err != nil {
			a.bench.Alert("This holds for now, but was not kept for the next time. %v", msg.err)
		}
		return a, a.next(msg.err)
	case copied:
		a.bench.Copied(msg.what, msg.err)
	case written:
		a.bench.Written(msg.what, msg.path, msg.err)
		return a, a.next(msg.err)
	case news:
		a.bench.Told(msg.work, msg.what)
		return a, hear(msg.work, msg.from)
	case giveUp:
		if a.quitting && msg.quit == a.quits {
			return a, tea.Quit
		}
	}
	return a, nil
}

// keys takes a key message. Fast or held letters arrive glued together as one
// message: they are as many keys, in a text field too, where "up" typed fast
// must not pass for the key of that name. Pasted text is typed into a field
// and means nothing elsewhere.
func (a *App) keys(msg tea.KeyMsg) tea.Cmd {
	if a.single && msg.Type != tea.KeyCtrlC {
		return nil
	}
	if msg.Type != tea.KeyRunes || len(msg.Runes) == 1 {
		return a.key(msg)
	}
	if msg.Paste {
		if a.bench.Typing() {
			return a.key(msg)
		}
		a.bench.Say("Pasted text is not taken for keys: open a field to paste into.")
		return nil
	}
	cmds := make([]tea.Cmd, len(msg.Runes))
	for i, r := range msg.Runes {
		one := msg
		one.Runes = []rune{r}
		cmds[i] = a.key(one)
	}
	return tea.Batch(cmds...)
}

func (a *App) key(msg tea.KeyMsg) tea.Cmd {
	swallowed := a.reply.swallows(msg, a.clock())
	if dark, found := theme.Answer(a.reply.answer); found {
		a.reply.answer = ""
		a.bench.Ground(dark)
	}
	if a.quitting || swallowed || msg.Type == tea.KeyRunes && msg.Paste && !a.bench.Typing() {
		return nil
	}
	switch {
	case msg.Type == tea.KeyCtrlC:
		return a.quit()
	case a.single: // also for the letters behind the one that asked for it
		return nil
	}
	if msg.Type == tea.KeyCtrlL { // also where letters are text
		return tea.ClearScreen
	}
	request := a.bench.HandleKey(msg)
	return tea.Batch(a.keep(), a.answer(request))
}

// answer does what the bench asks for.
func (a *App) answer(r bench.Request) tea.Cmd {
	switch r := r.(type) {
	case bench.Quit:
		return a.quit()
	case bench.Redraw:
		return tea.ClearScreen
	case bench.List:
		return func() tea.Msg {
			entries, customers, err := a.keeper.List()
			return listed{entries, customers, err}
		}
	case bench.Load:
		return func() tea.Msg {
			j, err := a.keeper.Load(r.Entry)
			return loaded{r.Entry, j, err}
		}
	case bench.Save:
		before := a.bench.View().Name
		return a.ask(func() tea.Msg {
			revisions, added, err := a.keeper.Save(r)
			return savedName{r, before, revisions, added, err}
		})
	case bench.KeepParts:
		a.keeping++
		return a.ask(func() tea.Msg {
			parts, meanwhile, err := a.keeper.KeepParts(r.Was, r.Parts)
			return keptParts{r.Parts, parts, meanwhile, err}
		})
	case bench.NewPart:
		return a.ask(func() tea.Msg {
			id, err := a.keeper.NewPart()
			return newPart{id, err}
		})
	case bench.Chosen:
		return tea.Batch(a.switchMouse(r.Choices.Mouse), a.ask(func() tea.Msg { return keptChoices{a.keeper.KeepChoices(r.Choices)} }))
	case bench.Ask:
		if r.Alone {
			return a.alone(r)
		}
		return a.ask(func() tea.Msg { return answered{r.Do(a.keeper), false} })
	case bench.Write:
		return a.ask(func() tea.Msg {
			path, err := a.keeper.Write(r.Path, r.Data)
			return written{r, path, err}
		})
	case bench.Copy:
		return func() tea.Msg { return copied{r, a.keeper.Copy(r.Text)} }
	case bench.Work:
		tells := make(chan any)
		return tea.Batch(func() tea.Msg {
			defer close(tells)
			r.Do(func(what any) {
				select {
				case tells <- what:
				case <-a.ended: // nobody hears it any more
				}
			})
			return nil
		}, hear(r, tells))
	}
	return nil
}

// Elsewhere is what another terminal changed in the workbook that this one shares.
type Elsewhere struct {
	By     string // what that terminal is called
	Drawer bool   // parts
	Saved  bool   // what the Saved screen lists
	// Entries are new revisions of what is saved.
	Entries []NewRevision
}

// NewRevision is one more revision of something saved.
type NewRevision struct {
	What      bench.Saved
	Name      string
	Revisions int
}

// hearElsewhere has the bench show what another terminal changed.
func (a *App) hearElsewhere(msg Elsewhere) tea.Cmd {
	if a.quitting {
		return nil
	}
	for _, e := range msg.Entries {
		a.bench.SavedElsewhere(msg.By, e.What, e.Name, e.Revisions)
	}
	var cmds []tea.Cmd
	if msg.Saved || len(msg.Entries) > 0 {
		cmds = append(cmds, a.answer(bench.List{}))
	}
	if msg.Drawer {
		cmds = append(cmds, a.readDrawer(msg.By))
	}
	return tea.Batch(cmds...)
}

// readDrawer reads the drawer after all that was asked for before.
func (a *App) readDrawer(by string) tea.Cmd {
	return a.ask(func() tea.Msg {
		parts, err := a.keeper.Drawer()
		return drawerRead{by, parts, err}
	})
}

// Leave has the program keep everything and end, as if somebody had quit. Sent again, it
// ends the program although the disk did not take the last change.
type Leave struct{ Why string }

func (a *App) leaveNow(msg Leave) tea.Cmd {
	cmd := a.quit()
	if msg.Why != "" {
		a.bench.Say("%s", msg.Why)
	}
	return cmd
}

// hear waits for the next thing that work beside the screen tells.
func hear(w bench.Work, from <-chan any) tea.Cmd {
	return func() tea.Msg {
		what, ok := <-from
		if !ok {
			return nil
		}
		return news{w, from, what}
	}
}

// switchMouse turns the terminal's reports of the mouse on or off.
func (a *App) switchMouse(on bool) tea.Cmd {
	if on == a.mouse {
		return nil
	}
	a.mouse = on
	if !on {
		return tea.DisableMouse
	}
	return mouse(on)
}

// errand is something that the keeper is to do.
type errand struct {
	work  tea.Cmd
	alone bool // while nothing else changes
}

// ask has the keeper do something after what it was asked before: two changes
// of one thing must reach the disk in their order.
func (a *App) ask(work tea.Cmd) tea.Cmd { return a.send(errand{work: work}) }

func (a *App) send(e errand) tea.Cmd {
	a.asked = append(a.asked, e)
	return a.begin()
}

// begin starts the first of what the keeper was asked, unless it is under way. What must be
// alone waits until the bench is kept as it is.
func (a *App) begin() tea.Cmd {
	if a.begun || len(a.asked) == 0 || a.asked[0].alone && (a.saving || a.saved != a.bench.Job()) {
		return nil
	}
	a.begun = true
	return a.asked[0].work
}

// next goes on when the keeper has done the first of what it was asked.
func (a *App) next(err error) tea.Cmd {
	if err == nil {
		a.refused = false
	}
	if len(a.asked) > 0 {
		a.asked, a.begun = a.asked[1:], false
	}
	return tea.Batch(a.leave(err), a.begin())
}

// alone has the keeper do something while nothing else changes: what is not kept of the
// bench is kept first, and then the keys wait.
func (a *App) alone(r bench.Ask) tea.Cmd {
	save := a.keep()
	a.single = true
	return tea.Batch(save, a.send(errand{func() tea.Msg { return answered{r.Do(a.keeper), true} }, true}))
}

// afterAsk does what the answer of the keeper asks of the bench.
func (a *App) afterAsk(msg answered) tea.Cmd {
	if msg.alone {
		a.single = false
	}
	// What it leads to is asked for before this counts as done, so that quitting waits
	// for both.
	follow := a.answer(msg.then(a.bench))
	next := a.next(nil)
	return tea.Batch(follow, next, a.keep())
}

// callOff gives up what was to be alone, because the bench could not be kept before it, and
// reports whether there was anything.
func (a *App) callOff() bool {
	if !a.single {
		return false
	}
	a.single = false
	a.asked = slices.DeleteFunc(a.asked, func(e errand) bool { return e.alone })
	return true
}

// keep starts a save when the bench changed since the last one and none is
// under way, nor anything that must be alone: a change is on disk as soon as the disk
// allows.
func (a *App) keep() tea.Cmd {
	if a.saving || a.begun && a.asked[0].alone || a.bench.Job() == a.saved {
		return nil
	}
	a.saving = true
	a.saved = a.bench.Job()
	j, v := a.saved, a.view()
	return func() tea.Msg {
		err := a.keeper.SaveBench(j, v)
		return savedBench{err, a.keeper.Trouble()}
	}
}

func (a *App) view() []byte {
	v := a.bench.View()
	out := view{Name: v.Name, Row: v.Row, Col: v.Col, Depth: int(v.Depth) + 1, Distance: v.Distance, Changed: v.Changed}
	for _, s := range v.Seen {
		out.Seen = append(out.Seen, seen{int(s.What), s.Name, s.Revisions})
	}
	return record.Encode(out)
}

// afterSave goes on with what changed meanwhile, or ends the program when that
// was what the save was for.
func (a *App) afterSave(msg savedBench) tea.Cmd {
	a.saving = false
	err := msg.err
	was := a.failure
	if a.failure = err; err == nil {
		if was != nil && !a.quitting {
			a.bench.Say("Everything is saved now.")
		}
		a.tellTrouble(msg.trouble)
	}
	if err != nil {
		a.saved = nil
		what := "The bench is still here, and it is tried again."
		if a.callOff() {
			what = "So what you asked for was not done. The bench is still here, and it is tried again."
		}
		if a.quitting {
			what = "Quit again to leave without saving."
		}
		a.bench.Alert("NOT SAVED. %s %s", strings.TrimSpace(err.Error()), what)
	}
	if a.quitting && len(a.asked) > 0 {
		return tea.Batch(a.keep(), a.begin(), a.leave(err))
	}
	if a.quitting {
		return a.leave(err)
	}
	if err != nil {
		return tea.Batch(a.begin(), tea.Tick(retry, func(time.Time) tea.Msg { return tryAgain{} }))
	}
	a.refused = false
	return tea.Batch(a.keep(), a.begin())
}

// leave ends the program when the user wants to and everything is kept. What
// could not be kept holds it up once.
func (a *App) leave(err error) tea.Cmd {
	switch {
	case !a.quitting:
		return nil
	case err != nil && a.refused: // the user knows, and asked again
		return tea.Quit
	case err != nil:
		a.quitting, a.final, a.refused = false, false, true
		return nil
	case a.saving || len(a.asked) > 0:
		return nil
	case !a.final:
		a.final, a.saved = true, nil
		return a.keep()
	}
	return tea.Quit
}

func (a *App) afterSaveAs(msg savedName) {
	if msg.err != nil {
		a.bench.Alert("NOT SAVED as %q. %v", msg.asked.Name, msg.err)
		return
	}
	a.bench.SavedAs(msg.asked, msg.revisions, msg.added)
	// Another bench may have been opened meanwhile, which keeps its name.
	if msg.asked.What == bench.SavedBench && a.bench.View().Name == msg.before {
		a.bench.Saved(msg.asked.Name, msg.asked.Job)
	}
}

// retry is how long it takes until a save that failed is tried again.
const retry = 10 * time.Second

// patience is how long quitting waits for a disk that does not answer.
const patience = 3 * time.Second

// quit saves the bench a last time, with where the focus is, and ends the
// program. Asked again after that failed, it ends the program all the same.
func (a *App) quit() tea.Cmd {
	if a.refused && !a.saving && len(a.asked) == 0 {
		return tea.Quit
	}
	a.quitting = true
	a.quits++
	this := giveUp{a.quits}
	a.bench.Say("Saving …")
	return tea.Batch(tea.Tick(patience, func(time.Time) tea.Msg { return this }), a.leave(nil))
}

// End ends what is done beside the screen, once the program has ended and others in the process
// go on.
func (a *App) End() {
	close(a.ended)
	a.bench.EndWork()
}

// Failure returns why the last change is not on disk, as far as that is known.
func (a *App) Failure() error { return a.failure }

// Unsaved reports whether the last change is not known to be on disk.
func (a *App) Unsaved() bool { return a.saving || a.saved != a.bench.Job() || len(a.asked) > 0 }

// View draws the screen.
func (a *App) View() string { return strings.Join(a.bench.Lines(), "\n") }
