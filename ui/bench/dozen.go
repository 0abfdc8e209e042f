package bench

import (
	"cmp"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/dozen"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
)

// dozenScreen is where the pieces of one build are weighed one by one and paired into
// arrows that match: a list for each kind of piece, which digits add to, and the build list
// that comes of them.
type dozenScreen struct {
	cursor
	shown   dozen.Kind // the kind that is listed; dozen.Kinds is the build list
	sorted  int        // of columns
	input   input
	editing int // the place of the piece that is corrected, −1 for none

	// What the batch comes to, made anew when it changed.
	of   batchState
	busy bool // the pairing is worked out beside the screen
	matched
	was string // what the field began with, of a piece that is corrected
}

// matched is what pairing came to.
type matched struct {
	turn      int // which pairing it is of those that were asked for
	pairing   *dozen.Pairing
	why       error               // there is no pairing
	weighings []*present.Weighing // of each kind
	present.Outcome
}

// match pairs the batch of a build, and once more for one arrow fewer, which says what the
// worst pieces cost.
func match(s *sheet.Sheet, build, turn int) matched {
	b := &s.Job.Builds[build].Dozen.Value
	out := matched{turn: turn}
	for k := range dozen.Kinds {
		out.weighings = append(out.weighings, present.WeighingOf(s.Units, b, k))
	}
	if out.pairing, out.why = b.Pair(); out.why != nil {
		return out
	}
	var fewer *dozen.Pairing
	if n := b.Wanted(); len(b.Plan) == 0 && n > 2 {
		less := b.Clone()
		less.Arrows = unit.Some(n - 1)
		fewer, _ = less.Pair()
	}
	out.Outcome = present.Matched(s, build, out.pairing, fewer)
	return out
}

// batchState is what a pairing and its words depend on.
type batchState struct {
	job   *job.Job
	col   int
	units unit.System
}

// dozenColumns are what a list can be sorted by.
var dozenColumns = []string{"as weighed", "by weight", "by spine", "by straightness"}

func (m *Model) dozenIt() Request {
	d := &dozenScreen{input: newInput(""), editing: -1}
	m.open(d)
	m.Say("%s", d.hint(m))
	return d.refresh(m)
}

func (d *dozenScreen) hint(m *Model) string {
	k := m.keys.Dozen
	switch {
	case m.build() == nil:
		return fmt.Sprintf("There is no build on the bench: %s goes back, where %s adds one.", k.Press(keys.Close), m.keys.Bench.Press(keys.Add))
	case d.list():
		return fmt.Sprintf("%s or Space ticks an arrow that is made; from the first tick on the list stays as it is.", k.Press(keys.Choose))
	case d.shown == dozen.Shafts:
		return fmt.Sprintf("Weigh cut, bare shafts: type a weight and Enter, or paste a column. %s: next list.", k.Press(keys.Kind))
	}
	return fmt.Sprintf("Weigh %s: type a weight and Enter, or paste a column. %s: next list.", d.shown, k.Press(keys.Kind))
}

// list reports whether the build list is shown.
func (d *dozenScreen) list() bool { return d.shown == dozen.Kinds }

// batch returns the batch of the build in focus, empty without one. It must not be changed.
func (d *dozenScreen) batch(m *Model) *dozen.Batch {
	if m.build() == nil {
		return &dozen.Batch{}
	}
	return &m.build().Dozen.Value
}

// order lists the places of the pieces that are shown as they are sorted.
func (d *dozenScreen) order(m *Model) []int {
	if d.list() {
		return nil
	}
	list := *d.batch(m).Of(d.shown)
	out := make([]int, len(list))
	for i := range out {
		out[i] = i
	}
	key := func(p *dozen.Piece) float64 {
		switch d.sorted {
		case 1:
			return float64(p.Weight)
		case 2:
			return float64(p.Spine.Or(1)) // what was not measured comes last
		case 3:
			return float64(p.Straightness.Or(1))
		}
		return 0
	}
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(key(&list[a]), key(&list[b])) })
	return out
}

// lines is how many lines the list has.
func (d *dozenScreen) lines(m *Model) int {
	if !d.list() {
		return len(*d.batch(m).Of(d.shown))
	}
	if n := len(d.batch(m).Plan); n > 0 || d.pairing == nil {
		return n
	}
	return len(d.pairing.Arrows)
}

// mostAtOnce is how many pieces of one or two kinds are paired while a key is answered, which
// takes about a millisecond. More, and more kinds, are paired beside the screen.
const mostAtOnce = 60

// refresh works out what the batch comes to after it changed.
func (d *dozenScreen) refresh(m *Model) Request {
	now := batchState{m.Job(), m.col, m.units()}
	if now == d.of {
		return nil
	}
	if d.editing >= 0 { // the piece may not be there any more
		d.empty()
	}
	d.of = now
	d.matched, d.busy = matched{turn: d.turn + 1}, false
	b := d.batch(m)
	switch {
	case b.Empty():
	case quick(b):
		d.matched = match(m.session.Sheet(), m.col, d.turn)
		d.settle(m)
	default:
		d.busy = true
		turn, on, col := d.turn, m.session.Sheet(), m.col
		return Work{to: d, Do: func(tell func(any)) { tell(match(on, col, turn)) }}
	}
	return nil
}

// quick reports whether a batch is paired while a key is answered.
func quick(b *dozen.Batch) bool {
	pieces, kinds := 0, 0
	for k := range dozen.Kinds {
		if n := len(*b.Of(k)); n > 0 {
			pieces, kinds = pieces+n, kinds+1
		}
	}
	return (kinds <= 2 || len(b.Plan) > 0) && pieces <= mostAtOnce
}

// look brings what is drawn up to date after something in front of the screen changed the
// batch. What takes longer is asked for once the screen is in front again.
func (d *dozenScreen) look(m *Model) {
	switch {
	case batchState{m.Job(), m.col, m.units()} == d.of:
	case quick(d.batch(m)):
		d.refresh(m)
	default:
		d.of, d.matched, d.busy = batchState{}, matched{turn: d.turn + 1}, true
	}
}

func (d *dozenScreen) told(m *Model, what any) {
	p := what.(matched)
	if now := (batchState{m.Job(), m.col, m.units()}); p.turn == d.turn && now == d.of {
		d.matched, d.busy = p, false
		d.settle(m)
	}
}

func (d *dozenScreen) closed() {}

// settle puts the focus back inside.
func (d *dozenScreen) settle(m *Model) {
	d.at = max(min(d.at, d.lines(m)-1), 0)
}

func (d *dozenScreen) key(m *Model, k tea.KeyMsg) (bool, Request) {
	done, r := d.act(m, k)
	if done {
		return true, r
	}
	again := d.refresh(m)
	d.settle(m)
	if r == nil {
		r = again
	}
	return false, r
}

func (d *dozenScreen) act(m *Model, k tea.KeyMsg) (bool, Request) {
	a := m.keys.Dozen.Action(k)
	if k.Paste {
		a = ""
	}
	if a != "" {
		m.message = ""
	}
	switch {
	case a == keys.Close && (d.input.Value() != "" || d.editing >= 0):
		d.empty()
		m.Say("The field is empty.")
	case a == keys.Close:
		return true, nil
	case a == keys.Help:
		m.open(m.keysOf(m.keys.Dozen))
	case m.build() == nil:
		m.Say("%s", d.hint(m))
	case d.move(a, d.lines(m)):
	case (a == keys.Kind || a == keys.KindBack) && strings.TrimSpace(d.input.Value()) != "":
		m.Say("“%s” is still in the field: Enter takes it, %s empties the field.", d.input.Value(), m.keys.Dozen.Press(keys.Close))
	case a == keys.Kind, a == keys.KindBack:
		by := dozen.Kind(1)
		if a == keys.KindBack {
			by = dozen.Kinds
		}
		d.shown = (d.shown + by) % (dozen.Kinds + 1)
		d.cursor, d.sorted = cursor{}, 0
		d.empty()
		m.Say("%s", d.hint(m))
	case a == keys.Undo, a == keys.Redo:
		d.empty()
		m.act(a)
	case a == keys.Count:
		m.open(d.countPrompt(m))
	case a == keys.Send:
		d.empty()
		m.open(newTicketForm(m))
	case d.list():
		if k.Type == tea.KeySpace || k.String() == " " {
			a = keys.Choose
		}
		d.actOnList(m, a)
	case a == keys.Sort:
		d.sort(m)
	case a == keys.Fetch:
		m.open(d.filePrompt(m, ""))
	case a == keys.Reject:
		m.open(d.rejectChoice(m))
		m.Say("%s What is left out stays on the list.", present.OutlierRule)
	case a == keys.Choose && strings.TrimSpace(d.input.Value()) != "":
		d.take(m, d.input.Value())
	case a == keys.Choose, a == keys.Out, a == keys.Discard:
		d.actOnPiece(m, a)
	case k.Paste && strings.ContainsAny(string(k.Runes), "\r\n"):
		d.take(m, d.input.Value()+string(k.Runes))
	default:
		typed(&d.input, k)
	}
	return false, nil
}

// empty empties the field and gives up a correction.
func (d *dozenScreen) empty() { d.input, d.editing, d.was = newInput(""), -1, "" }

// change changes the batch of the build in focus.
func (d *dozenScreen) change(m *Model, what string, do func(b *dozen.Batch)) bool {
	col := m.col
	return m.do(what, func(j *job.Job) {
		b := &j.Builds[col].Dozen
		do(&b.Value)
		b.Given = !b.Value.Empty()
		if !b.Given {
			b.Value = dozen.Batch{}
		}
	})
}

// take adds the pieces that a text tells, or puts one in place of the one that is corrected.
func (d *dozenScreen) take(m *Model, text string) {
	if d.editing >= 0 && strings.TrimSpace(text) == d.was {
		d.empty()
		m.Say("Left as it was.")
		return
	}
	pieces, err := dozen.Read(text, d.shown, m.units())
	if err == nil && d.editing >= 0 && len(pieces) > 1 {
		err = fmt.Errorf("these are %d pieces, and one is corrected: Esc leaves it as it was", len(pieces))
	}
	n := len(*d.batch(m).Of(d.shown))
	if err == nil && d.editing < 0 && n+len(pieces) > dozen.MostPieces {
		err = fmt.Errorf("a list holds %d pieces, and %d are there", dozen.MostPieces, n)
	}
	if err == nil && n == 0 && len(d.batch(m).Plan) > 0 {
		err = fmt.Errorf("the build list that is being made has no %s: pair it anew first", d.shown)
	}
	if err != nil {
		d.input.fresh = true // what is typed next takes its place
		m.Alert("Nothing was added: %v.", err)
		return
	}
	shown, at := d.shown, d.editing
	if at >= 0 {
		d.empty()
		if d.change(m, fmt.Sprintf("%s %d", shown.One(), at+1), func(b *dozen.Batch) {
			p := &(*b.Of(shown))[at]
			p.Weight = pieces[0].Weight
			if pieces[0].Spine.Given { // what was not typed anew stays
				p.Spine = pieces[0].Spine
			}
			if pieces[0].Straightness.Given {
				p.Straightness = pieces[0].Straightness
			}
		}) {
			d.added(m, at, 1)
		} else {
			m.Say("Left as it was.")
		}
		return
	}
	what := fmt.Sprintf("weigh %s %d", shown.One(), n+1)
	if len(pieces) > 1 {
		what = fmt.Sprintf("weigh %d %s", len(pieces), shown)
	}
	if d.change(m, what, func(b *dozen.Batch) { *b.Of(shown) = append(*b.Of(shown), pieces...) }) {
		d.empty()
		d.added(m, n, len(pieces))
	}
}

// muchOther is by how much of its weight a piece must differ from the build's to look like
// another one, or like a mistake.
const muchOther = 0.3

// added says what was added from a place on, and goes to the last of it.
func (d *dozenScreen) added(m *Model, from, n int) {
	d.at = max(slices.Index(d.order(m), from+n-1), 0)
	w := present.WeighingOf(m.units(), d.batch(m), d.shown)
	list := *d.batch(m).Of(d.shown)
	if n > 1 {
		m.Say("%d %s added, %d in all. %s takes them back.", n, d.shown, len(list), m.keys.Dozen.Press(keys.Undo))
		return
	}
	m.Say("%s %d weighs %s %s.", capital(d.shown.One()), from+1, w.Told(w.Unit.Of(float64(list[from].Weight))), w.Unit.Symbol)
	switch own, has := m.build().Weighs(d.shown); {
	case w.Outlier(from):
		m.sayAlso("It lies far from the others: weigh it again.")
	case has && math.Abs(float64(list[from].Weight/own)-1) > muchOther:
		m.sayAlso("The build's own weighs %s %s: is that the right piece?", present.WeightIn(w.Unit, w.Unit.Of(float64(own))), w.Unit.Symbol)
	}
}

// piece returns the place of the piece in focus.
func (d *dozenScreen) piece(m *Model) (at int, ok bool) {
	order := d.order(m)
	if d.at >= len(order) {
		return 0, false
	}
	return order[d.at], true
}

// actOnPiece does what needs a piece.
func (d *dozenScreen) actOnPiece(m *Model, a keys.Action) {
	at, ok := d.piece(m)
	if !ok {
		m.Say("Nothing is weighed yet: type a weight and press Enter.")
		return
	}
	b, shown := d.batch(m), d.shown
	p := (*b.Of(shown))[at]
	name := fmt.Sprintf("%s %d", shown.One(), at+1)
	if a != keys.Choose && b.Planned(shown, at) {
		m.Say("%s is in the build list that is being made: there %s lets the arrows be paired anew.", capital(name), m.keys.Dozen.Press(keys.Discard))
		return
	}
	switch a {
	case keys.Choose:
		d.editing, d.was = at, p.Text(shown, m.units())
		d.input = newInput(d.was)
		m.Say("Correct %s: typing replaces it, Enter keeps it, Esc leaves it as it was.", name)
	case keys.Out:
		words := " is left out: it is in no arrow."
		if p.LeftOut {
			words = " is taken back."
		}
		if d.change(m, name+" out or in", func(b *dozen.Batch) { (*b.Of(shown))[at].LeftOut = !p.LeftOut }) {
			m.Say("%s%s", capital(name), words)
		}
	case keys.Discard:
		if d.change(m, name+" off the list", func(b *dozen.Batch) { b.Remove(shown, at) }) {
			d.empty()
			m.Say("%s is off the list and the numbers behind it moved up; %s brings it back.", capital(name), m.keys.Dozen.Press(keys.Undo))
		}
	}
}

// actOnList does what the build list takes.
func (d *dozenScreen) actOnList(m *Model, a keys.Action) {
	b := d.batch(m)
	switch a {
	case keys.Choose:
		d.tick(m)
	case keys.Discard:
		if len(b.Plan) == 0 {
			m.Say("Nothing holds the list: it is paired anew with each weight.")
			return
		}
		n := b.Made()
		if d.change(m, "pair anew", func(b *dozen.Batch) { b.Plan = nil }) {
			m.Say("The arrows are paired anew, %s off. %s brings the list back.", counted(n, "tick"), m.keys.Dozen.Press(keys.Undo))
		}
	case keys.Out, keys.Reject, keys.Sort, keys.Fetch:
		m.Say("That belongs to the lists of pieces: %s goes there.", m.keys.Dozen.Press(keys.Kind))
	default:
		m.Say("%s", d.hint(m))
	}
}

// tick ticks the arrow in focus and goes to the next one that is not made, or takes its tick
// off.
func (d *dozenScreen) tick(m *Model) {
	switch {
	case d.busy:
		m.Say("The arrows are still being paired.")
		return
	case d.pairing == nil:
		m.Say("There is no arrow to tick yet: %s.", d.missing())
		return
	}
	at, p, made := d.at, d.pairing, false
	if !d.change(m, fmt.Sprintf("tick arrow %d", at+1), func(b *dozen.Batch) {
		b.Plan = b.PlanOf(p)
		one := &b.Plan[at]
		one.Made = !one.Made
		made = one.Made
	}) {
		return
	}
	b := d.batch(m)
	switch n := b.Made(); {
	case !made:
		m.Say("Arrow %d is not made after all.", at+1)
	case n == len(b.Plan):
		m.Say("Arrow %d is made, and with it all %d.", at+1, n)
	default:
		for i := range b.Plan {
			if next := (at + 1 + i) % len(b.Plan); !b.Plan[next].Made {
				d.at = next
				break
			}
		}
		m.Say("Arrow %d is made: %d of %d.", at+1, n, len(b.Plan))
	}
}

// missing says why there is no pairing.
func (d *dozenScreen) missing() string {
	if d.why != nil {
		return d.why.Error()
	}
	return "nothing is weighed"
}

func (d *dozenScreen) sort(m *Model) {
	n := 2
	if d.shown == dozen.Shafts {
		n = len(dozenColumns)
	}
	at, ok := d.piece(m)
	d.sorted = (d.sorted + 1) % n
	if ok {
		d.at = slices.Index(d.order(m), at)
	}
	m.Say("Sorted %s. The numbers stay those of the weighing.", dozenColumns[d.sorted])
}

// countPrompt asks how many arrows to make.
func (d *dozenScreen) countPrompt(m *Model) dialog {
	text := ""
	if n := d.batch(m).Arrows; n.Given {
		text = strconv.Itoa(n.Value)
	}
	return newPrompt(m, prompt{
		title: "How many arrows to make; empty for as many as the shortest list has", text: text,
		accept: func(m *Model, typed string) (Request, error) {
			if len(d.batch(m).Plan) > 0 {
				return nil, fmt.Errorf("the build list is being made: pair it anew first")
			}
			var n unit.Optional[int]
			if typed != "" {
				value, err := strconv.Atoi(typed)
				if err != nil || value < 1 || value > dozen.MostPieces {
					return nil, fmt.Errorf("type a number from 1 to %d, or nothing", dozen.MostPieces)
				}
				n = unit.Some(value)
			}
			if d.change(m, "how many arrows", func(b *dozen.Batch) { b.Arrows = n }) {
				m.Say("%s will be paired.", capital(counted(d.batch(m).Wanted(), "arrow")))
			}
			return d.refresh(m), nil
		},
	})
}

// filePrompt asks for a file of weights.
func (d *dozenScreen) filePrompt(m *Model, path string) dialog {
	return newPrompt(m, prompt{
		title: fmt.Sprintf("Which file has the weights of the %s, one a line? A pipe will do", d.shown), text: path,
		accept: func(m *Model, typed string) (Request, error) {
			if typed == "" {
				return nil, fmt.Errorf("type the name of a file, or leave with Esc")
			}
			m.Say("Reading …")
			shown := d.shown
			return Ask{Do: func(s Shelf) func(m *Model) Request {
				data, err := s.Read(typed)
				return func(m *Model) Request {
					switch {
					case m.dialog != dialog(d) || d.shown != shown:
						m.Alert("%s was not taken: its list is no longer open.", filepath.Base(typed))
						return nil
					case err != nil:
						m.open(d.filePrompt(m, typed)) // with the name to mend
						m.Alert("It could not be read: %v.", err)
						return nil
					}
					d.empty()
					d.take(m, string(data))
					return d.refresh(m)
				}
			}}, nil
		},
	})
}

func (d *dozenScreen) typing() bool                { return true }
func (d *dozenScreen) footer(m *Model) []keys.Hint { return m.keys.DozenFooter(d.list()) }

func (d *dozenScreen) click(m *Model, _, y int) bool { return d.clickLine(y, listTop, d.lines(m)) }
