package bench

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
)

// mapScreen shows what becomes of the build in focus with every pair of two kinds
// of piece: one down the side, one across the top, one figure in each cell. The
// numbers are computed with the key that asks for them; cautions need uncertainty
// and are looked for beside the screen.
type mapScreen struct {
	of         question
	down, over side
	table      *search.Swaps // nil without a build
	setting    sheet.Setting
	at, from   search.Cell // in focus, and the first in sight
	// Cautions are looked for one table at a time, until halt is called. levels are
	// what was found, by row, nil where not looked for yet.
	asked  *search.Swaps
	halt   context.CancelFunc
	levels [][]caution.Level
	// numbers are of every cell, by row and then by column.
	numbers   []float64
	numbersOf numbered
	drawn     mapDrawn
}

// question is what a table was made for: another one needs another table.
type question struct {
	job        *job.Job
	col        int
	down, over present.Slot
	units      unit.System
	parts      int
}

// numbered is what the numbers are.
type numbered struct {
	table    *search.Swaps
	figure   figure.Key
	distance unit.Length
}

// mapView is how the Swap map is looked at, kept while the program runs.
type mapView struct {
	down, over present.Slot
	figure     figure.Key
	difference bool // to the build as it is
	weigh      bool // mark what weighs as much as the cell in focus
}

// mapSlots are what can be swapped, in the order in which the keys go round.
var mapSlots = present.Slots[:len(present.Slots)-1]

// side is what may stand on one side of the map.
type side struct {
	slot present.Slot
	list []swap
	now  int // what the build has
}

// swap is one thing that may stand in a slot.
type swap struct {
	// key tells it from all others: a bare piece, nothing but its kind for none, or a
	// length.
	key    swapKey
	name   string
	weight unit.Mass
	do     func(b *arrow.Build)
}

type swapKey struct {
	piece  part.Part
	length unit.Length
}

// mostSwaps is how many pieces a side holds. A shop's drawer may have hundreds that
// fit; those nearest in weight to what is there are shown.
const mostSwaps = 40

// lengthSteps is how many lengths there are on either side of the present one.
const lengthSteps = 6

// openMap opens the Swap map.
func (m *Model) openMap() Request {
	if m.swaps.down == "" {
		m.swaps.down, m.swaps.over = present.Slot(part.KindInsert), present.Slot(part.KindHead)
	}
	s := &mapScreen{}
	m.open(s)
	s.settle(m)
	m.Say("%s", s.hint(m))
	return s.ask(m)
}

// turn leaves one screen for another.
func (m *Model) turn(from dialog, to keys.Action) Request {
	m.close(from)
	m.message = ""
	return m.act(to)
}

func (s *mapScreen) hint(m *Model) string {
	if s.table == nil {
		return s.nothing(m)
	}
	k := m.keys.Map
	return fmt.Sprintf("%s down, %s across: each cell is this build with that pair. %s puts it in, %s adds it as a new build; %s shows another figure.",
		capital(string(m.swaps.down)), m.swaps.over, k.Press(keys.Choose), k.Press(keys.Add), k.Press(keys.Figure))
}

// nothing says what to do where there is no map to show.
func (s *mapScreen) nothing(m *Model) string {
	return fmt.Sprintf("There is no build on the bench: %s goes back, where %s adds one.", m.keys.Map.Press(keys.Close), m.keys.Bench.Press(keys.Add))
}

// alone says what to do where the drawer has nothing else for the build.
func (s *mapScreen) alone(m *Model) string {
	k := m.keys.Map
	return fmt.Sprintf("The drawer has no other %s and no other %s that goes into this build. %s and %s show other kinds; %s goes back to the bench, where %s on a part opens the drawer and %s adds to it.",
		m.swaps.down, m.swaps.over, k.Press(keys.Rows), k.Press(keys.Across), k.Press(keys.Close), m.keys.Bench.Press(keys.Edit), m.keys.List.Press(keys.New))
}

// settle makes the table anew where what it was made for has changed, and keeps
// the same pair in focus where that is still there.
func (s *mapScreen) settle(m *Model) {
	now := question{m.Job(), m.col, m.swaps.down, m.swaps.over, m.units(), len(m.drawer)}
	if now == s.of {
		return
	}
	was := s.of
	var row, column swapKey
	if s.table != nil {
		row, column = s.row().key, s.column().key
	}
	s.of, s.table, s.levels = now, nil, nil
	if m.build() == nil {
		return
	}
	s.down, s.over = sideOf(m, now.down), sideOf(m, now.over)
	s.table = search.NewSwaps(m.build(), s.down.axis(), s.over.axis(), mostSwaps, m.units())
	s.setting = m.session.Sheet().Setting()
	s.levels = make([][]caution.Level, len(s.table.Rows))
	s.at = s.table.Now()
	if was.col != now.col {
		return
	}
	if was.down == now.down {
		s.at.Row = s.down.find(s.table.Rows, row, s.at.Row)
	}
	if was.over == now.over {
		s.at.Column = s.over.find(s.table.Columns, column, s.at.Column)
	}
}

// find returns the place in the table of a swap, or else another.
func (d *side) find(shown []int, key swapKey, otherwise int) int {
	if i := slices.IndexFunc(shown, func(n int) bool { return d.list[n].key == key }); i >= 0 {
		return i
	}
	return otherwise
}

func (s *mapScreen) row() *swap    { return &s.down.list[s.table.Rows[s.at.Row]] }
func (s *mapScreen) column() *swap { return &s.over.list[s.table.Columns[s.at.Column]] }

// axis is the side as package search takes it.
func (d *side) axis() search.Axis {
	out := search.Axis{Now: d.now}
	if kind, isPiece := d.slot.Kind(); isPiece {
		out.Kind = kind
	}
	for i := range d.list {
		out.Swaps = append(out.Swaps, d.list[i].do)
	}
	return out
}

// sideOf lists what may stand in a slot of the build in focus, the lighter or
// shorter first.
func sideOf(m *Model, slot present.Slot) side {
	d := side{slot: slot}
	base := m.build()
	kind, isPiece := slot.Kind()
	now := swapKey{length: base.Length}
	if isPiece {
		now = d.addPieces(m, kind)
	} else {
		d.addLengths(m)
	}
	for i := range d.list {
		w := &d.list[i]
		b := base.Clone()
		w.do(&b)
		w.name = present.Piece(m.units(), &b, slot)
		switch piece, has := session.Held(&b, kind); {
		case !isPiece:
		case has:
			w.weight = piece.Weight(b.Tube())
		default:
			w.weight = -1 // less than the lightest
		}
	}
	slices.SortStableFunc(d.list, func(a, b swap) int {
		return cmp.Or(cmp.Compare(a.weight, b.weight), cmp.Compare(a.key.length, b.key.length), cmp.Compare(a.name, b.name))
	})
	d.now = slices.IndexFunc(d.list, func(w swap) bool { return w.key == now })
	return d
}

// stay leaves a build as it is.
func stay(*arrow.Build) {}

// addLengths adds the present length and steps to both sides of it.
func (d *side) addLengths(m *Model) {
	now := m.build().Length
	d.list = append(d.list, swap{key: swapKey{length: now}, do: stay})
	for _, longer := range []bool{false, true} {
		l := now
		for range lengthSteps {
			next := session.NextLength(l, longer, m.units())
			if next == l || next < shortest {
				break
			}
			d.list = append(d.list, swap{key: swapKey{length: next}, do: func(b *arrow.Build) { b.Recut(next) }})
			l = next
		}
	}
}

// addPieces adds what the build has of a kind, none where it could do without, and
// the drawer's parts. It returns the key of what the build has.
func (d *side) addPieces(m *Model, kind part.Kind) (now swapKey) {
	none := swapKey{piece: part.Part{Kind: kind}}
	held, has := session.Held(m.build(), kind)
	now = none
	if has {
		now = swapKey{piece: held.Bare()}
	}
	d.list = append(d.list, swap{key: now, do: stay})
	if has && (kind == part.KindCollar || kind == part.KindWrap) {
		d.list = append(d.list, swap{key: none, do: func(b *arrow.Build) { session.Without(b, kind) }})
	}
	for _, p := range m.drawer {
		if p.Kind != kind || p.Retired {
			continue
		}
		weighed := p.Weighed()
		if key := (swapKey{piece: weighed.Bare()}); !has || key != now && !sameInAFile(&weighed, &held) {
			d.list = append(d.list, swap{key: key, do: func(b *arrow.Build) { session.Put(b, p) }})
		}
	}
	return now
}

// sameInAFile reports whether two parts hold the same piece but for digits that no
// file keeps: a build that was saved is compared with a part that was not.
func sameInAFile(a, b *part.Part) bool {
	return a.Name() == b.Name() && bytes.Equal(record.Encode(a.Bare()), record.Encode(b.Bare()))
}

// checked is what work beside the screen tells: the gravest caution that each pair
// of a row would bring, empty where it would bring none.
type checked struct {
	table  *search.Swaps
	row    int
	levels []caution.Level
}

// ask has cautions looked for beside the screen where the table is a new one.
func (s *mapScreen) ask(m *Model) Request {
	if s.table == s.asked {
		return nil
	}
	s.closed()
	if s.asked = s.table; s.table == nil {
		return nil
	}
	var ctx context.Context
	ctx, s.halt = context.WithCancel(context.Background())
	table, on, before, distance, first := s.table, m.session.Sheet(), m.build().Clone(), m.chosen(), s.at.Row
	return Work{to: s, Do: func(tell func(any)) {
		for i := range table.Rows {
			row := (first + i) % len(table.Rows)
			levels := make([]caution.Level, len(table.Columns))
			for c := range levels {
				if ctx.Err() != nil {
					return
				}
				if at := (search.Cell{Row: row, Column: c}); table.Clash(at) == "" {
					after := table.Build(at)
					if brought := present.Brought(on.Pair(&before, &after, distance)); len(brought) > 0 {
						levels[c] = brought[0].Level
					}
				}
			}
			tell(checked{table, row, levels})
		}
	}}
}

func (s *mapScreen) told(_ *Model, what any) {
	if c, ok := what.(checked); ok && c.table == s.table {
		s.levels[c.row] = c.levels
	}
}

func (s *mapScreen) closed() {
	if s.halt != nil {
		s.halt()
		s.halt = nil
	}
}

func (s *mapScreen) key(m *Model, k tea.KeyMsg) (bool, Request) {
	return s.act(m, m.asks(k, m.keys.Map))
}

// act does what a key or the list of actions asks for.
func (s *mapScreen) act(m *Model, a keys.Action) (done bool, q Request) {
	s.settle(m)
	switch a {
	case keys.Close:
		m.message = ""
		return true, nil
	case keys.Downrange, keys.Find, keys.Dozen, keys.Drawer, keys.Open:
		return false, m.turn(s, a)
	case keys.Help:
		m.open(m.help())
	case keys.Command:
		m.open(newPalette(m, m.keys.Map, nil, s.act))
	case keys.Undo, keys.Redo:
		m.act(a)
	default:
		q = s.actOnBuild(m, a)
	}
	s.settle(m)
	if q == nil {
		q = s.ask(m)
	}
	return false, q
}

// actOnBuild does what needs a build.
func (s *mapScreen) actOnBuild(m *Model, a keys.Action) Request {
	if s.table == nil {
		if a != "" {
			m.Say("%s", s.nothing(m))
		}
		return nil
	}
	switch a {
	case keys.Choose:
		s.put(m)
	case keys.Add:
		s.add(m)
	case keys.Figure, keys.FigureBack:
		s.turnFigure(m, a == keys.Figure)
	case keys.Difference:
		m.swaps.difference = !m.swaps.difference
		if m.swaps.difference {
			m.Say("Differences to %s as it is.", short(m.build().Name))
		} else {
			m.Say("Values.")
		}
	case keys.Rows, keys.RowsBack:
		m.swaps.down = otherSlot(m.swaps.down, m.swaps.over, a == keys.Rows)
		m.Say("%s down, %s across.", capital(string(m.swaps.down)), m.swaps.over)
	case keys.Across, keys.AcrossBack:
		m.swaps.over = otherSlot(m.swaps.over, m.swaps.down, a == keys.Across)
		m.Say("%s down, %s across.", capital(string(m.swaps.down)), m.swaps.over)
	case keys.SameWeight:
		if m.swaps.weigh = !m.swaps.weigh; m.swaps.weigh {
			m.Say("= marks what weighs as much as the pair in focus, to %s.", m.units().Weight(sameWeight, 1))
		} else {
			m.Say("Equal weights are not marked any more.")
		}
	case keys.BuildLeft, keys.BuildRight:
		by := 1
		if a == keys.BuildLeft {
			by = -1
		}
		m.focus(max(min(m.col+by, len(m.Job().Builds)-1), 0))
		m.Say("%s %s.", present.Letter(m.col), short(m.build().Name))
	case keys.Nearer, keys.Farther:
		m.choose(a == keys.Farther)
	case keys.Explain:
		m.open(s.explain(m))
	case keys.Copy:
		return s.copyCell(m)
	case keys.CopyTable:
		return Copy{Text: s.plain(m), What: "the swap map as text"}
	default:
		s.move(a)
	}
	return nil
}

// otherSlot returns the slot after or before one, but not the one that the other
// side has.
func otherSlot(now, taken present.Slot, forward bool) present.Slot {
	by := 1
	if !forward {
		by = len(mapSlots) - 1
	}
	i := slices.Index(mapSlots, now)
	for {
		if i = (i + by) % len(mapSlots); mapSlots[i] != taken {
			return mapSlots[i]
		}
	}
}

func (s *mapScreen) move(a keys.Action) {
	switch a {
	case keys.Up:
		s.at.Row--
	case keys.Down:
		s.at.Row++
	case keys.PageUp:
		s.at.Row -= max(s.drawn.rows, 1)
	case keys.PageDown:
		s.at.Row += max(s.drawn.rows, 1)
	case keys.Left:
		s.at.Column--
	case keys.Right:
		s.at.Column++
	case keys.First:
		s.at.Column = 0
	case keys.Last:
		s.at.Column = len(s.table.Columns) - 1
	}
	s.at.Row = max(min(s.at.Row, len(s.table.Rows)-1), 0)
	s.at.Column = max(min(s.at.Column, len(s.table.Columns)-1), 0)
}

// figures lists what the cells can show: the figures that the bench shows and that
// the build in focus has, or has with another head.
func (s *mapScreen) figures(m *Model) []figure.Key {
	var out []figure.Key
	on := m.session.Sheet()
	for i, r := range allRows {
		if r.isSlot || r.caution || m.hidden(i) {
			continue
		}
		_, known := on.Builds[m.col].Place(m.placeOf(m.Job(), r.figure)).Figure(r.figure)
		if known || r.figure == figure.TotalWeight || r.figure == figure.HeadShare || on.Itself(m.col, r.figure) && s.comparable(m, r.figure) {
			out = append(out, r.figure)
		}
	}
	return out
}

// comparable reports whether other pairs can be compared with what the build is
// itself: the baseline, or the proven one.
func (s *mapScreen) comparable(m *Model, k figure.Key) bool {
	return !math.IsNaN(s.table.Figures(&s.setting, k, m.chosen(), []search.Cell{s.table.Now()})[0])
}

// shown returns the figure in the cells.
func (s *mapScreen) shown(m *Model) figure.Key {
	if !slices.Contains(s.figures(m), m.swaps.figure) {
		return figure.TotalWeight
	}
	return m.swaps.figure
}

func (s *mapScreen) turnFigure(m *Model, forward bool) {
	list := s.figures(m)
	by := 1
	if !forward {
		by = len(list) - 1
	}
	m.swaps.figure = list[(slices.Index(list, s.shown(m))+by)%len(list)]
	m.Say("%s: %s.", capital(s.title(m)), m.swaps.figure.Definition().Means)
}

// title names the figure in the cells, with its distance where it has one.
func (s *mapScreen) title(m *Model) string {
	k := s.shown(m)
	if k.Definition().At {
		return k.Definition().Title + " at " + m.units().Distance(m.chosen(), 4)
	}
	return k.Definition().Title
}

// compute computes the figure of every cell, unless that is there.
func (s *mapScreen) compute(m *Model) {
	now := numbered{s.table, s.shown(m), m.chosen()}
	if now == s.numbersOf {
		return
	}
	cells := make([]search.Cell, 0, len(s.table.Rows)*len(s.table.Columns))
	for r := range s.table.Rows {
		for c := range s.table.Columns {
			cells = append(cells, search.Cell{Row: r, Column: c})
		}
	}
	s.numbers, s.numbersOf = s.table.Figures(&s.setting, now.figure, now.distance, cells), now
	for i, at := range cells {
		if s.table.Clash(at) != "" {
			s.numbers[i] = math.NaN()
		}
	}
}

// value returns the number of a cell in SI, NaN where there is none.
func (s *mapScreen) value(at search.Cell) float64 {
	return s.numbers[at.Row*len(s.table.Columns)+at.Column]
}

// number writes what a cell shows; a dash where it shows nothing.
func (s *mapScreen) number(m *Model, at search.Cell) string {
	value := s.value(at)
	if m.swaps.difference {
		value -= s.value(s.table.Now())
	}
	if math.IsNaN(value) {
		return "–"
	}
	return present.Bare(m.session.Sheet(), s.numbersOf.figure, value, m.swaps.difference)
}

// sameWeight is how far two arrows may be apart that count as equally heavy.
const sameWeight = unit.Grain

// equal reports whether the build of a cell weighs as much as that in focus.
func (s *mapScreen) equal(at search.Cell, focused unit.Mass) bool {
	if s.table.Clash(at) != "" {
		return false
	}
	b := s.table.Build(at)
	return math.Abs(float64(b.Moments().Total-focused)) <= float64(sameWeight)*(1+1e-9)
}

// pair names the pieces of the cell in focus.
func (s *mapScreen) pair() string { return s.row().name + " × " + s.column().name }

// refuse reports whether the pair in focus does not go together, and says so.
func (s *mapScreen) refuse(m *Model) bool {
	why := s.table.Clash(s.at)
	if why != "" {
		m.Say("Not put in. %s", why)
	}
	return why != ""
}

// put puts the pair in focus into the build.
func (s *mapScreen) put(m *Model) {
	name := short(m.build().Name)
	if s.at == s.table.Now() {
		m.Say("%s has this pair already.", name)
		return
	}
	if s.refuse(m) {
		return
	}
	before, after := m.build().Clone(), s.table.Build(s.at)
	if !m.change(s.what(), func(b *arrow.Build) { *b = after }) {
		return
	}
	reminder := m.message
	m.Say("Changed %s: %s.", name, strings.Join(present.Changes(m.units(), &before, &after), ", "))
	m.sayAlso("%s", reminder)
	if t := before.Shaft.TubeWeight; t.Given && after.Shaft.TubeWeight.Given && t != after.Shaft.TubeWeight {
		m.sayAlso("%s", reweigh)
	}
}

// what names what the pair in focus changes, for undo.
func (s *mapScreen) what() string {
	now := s.table.Now()
	switch {
	case s.at.Row == now.Row:
		return string(s.over.slot)
	case s.at.Column == now.Column:
		return string(s.down.slot)
	}
	return fmt.Sprintf("%s and %s", s.down.slot, s.over.slot)
}

// add adds a build with the pair in focus behind the one that the map is of.
func (s *mapScreen) add(m *Model) {
	if s.refuse(m) || !m.room() {
		return
	}
	old, at := m.build().Name, m.col+1
	b := s.table.Build(s.at)
	session.Anew(&b)
	b.Name = session.FreeName(m.Job(), old)
	if m.do("add "+b.Name, func(j *job.Job) { session.Insert(j, at, b) }) {
		m.Say("Added %s behind %s: %s.", short(b.Name), short(old), s.pair())
	}
}

// beside returns the sheet of a bench on which the pair in focus stands behind the
// other builds, and its place there.
func (s *mapScreen) beside(m *Model) (*sheet.Sheet, int) {
	j := m.Job().Clone()
	b := s.table.Build(s.at)
	b.Name, b.Proven = session.FreeName(j, b.Name), false
	j.Builds = append(j.Builds, b)
	return sheet.EvaluateIn(j, m.units()), len(j.Builds) - 1
}

func (s *mapScreen) explain(m *Model) dialog {
	k := s.shown(m)
	if s.at == s.table.Now() || s.table.Clash(s.at) != "" {
		return m.explainFigure(k, m.placeOf(m.Job(), k))
	}
	on, i := s.beside(m)
	return m.explainOn(on, i, s.pair(), k, m.placeOf(m.Job(), k))
}

func (s *mapScreen) copyCell(m *Model) Request {
	k := s.shown(m)
	if why := s.table.Clash(s.at); why != "" {
		m.Say("There is no %s to copy. %s", s.title(m), why)
		return nil
	}
	on, i := s.beside(m)
	cell := present.FigureCellAt(on, i, m.placeOf(m.Job(), k), k)
	if cell.Absent != "" {
		m.Say("There is no %s to copy: it %s.", s.title(m), cell.Absent)
		return nil
	}
	return Copy{Text: cell.Full(), What: fmt.Sprintf("%s of %s with %s", s.title(m), m.build().Name, s.pair())}
}

func (s *mapScreen) typing() bool                { return false }
func (s *mapScreen) footer(m *Model) []keys.Hint { return m.keys.MapFooter() }
