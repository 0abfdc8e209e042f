package bench

import (
	"context"
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
	"foreshaft/engine/record"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
)

// findScreen looks through every arrow that the drawer can make for those that
// somebody asks for: what is asked above, what matches below, as it is found. What is
// asked is kept with the bench; the sorts of head and nock last for the sitting.
type findScreen struct {
	at     int // what is asked first, then the lines of the list
	offset int
	window int // how many lines of the list were in sight
	// As drawn last, for the mouse: what stands in the lines of what is asked, how high
	// the chart is, and what each line of the list shows.
	tops        [][2]int
	chartHeight int
	drawn       []int

	head, nock string
	chosen     bool        // the sort of head was turned by hand
	bow        string      // whose question it is, by name
	length     unit.Length // of the build in focus when the screen was opened
	tradeOff   bool
	axes       [2]int // of tradeFigures
	more       [2]bool

	ctx    context.Context
	cancel context.CancelFunc
	looked *job.Job // as it was asked, with its drawer
	far    search.Progress
	found  *search.Found
	narrow *search.Narrow
	// edge is the matches that nothing beats on both figures of the trade-off, of all
	// matches; dots are both figures of them and of what is listed.
	edge   *search.Found
	dots   []dot
	stale  bool // what is shown was found for another question
	ended  bool
	failed error
}

// asking is a figure that the screen asks for.
type asking struct {
	key   figure.Key
	title string
}

// usualAsks are the figures that the screen always offers, what is asked most first.
var usualAsks = []asking{
	{figure.TotalWeight, "total weight"}, {figure.WeightPerDraw, "grains per lb"}, {figure.FOC, "FOC"}, {figure.LaunchSpeed, "speed"},
	{figure.LaunchMargin, "launch margin"}, {figure.SteerMargin, "steer margin"}, {figure.ImpactShift, "same mark"}, {figure.DozenCost, "dozen price"},
}

// asks lists the figures that the screen asks for: the usual ones, and what the
// bench's question asks besides.
func asks(m *Model) []asking {
	out := slices.Clip(usualAsks)
	for k := range figure.Count {
		if _, asked := questionOf(m).Where[k.String()]; asked && !slices.ContainsFunc(out, func(a asking) bool { return a.key == k }) {
			out = append(out, asking{k, k.Definition().Title})
		}
	}
	return out
}

// What is asked besides figures, behind them.
const (
	askHead = iota
	askNock
	askLengths
	askStock
	askOthers // how many there are
)

// Words for what may be any.
const anySort = "any"

var headSorts = []string{anySort, string(fitting.FieldPoint), string(fitting.FixedBroadhead), string(fitting.Expandable)}
var nockSorts = []string{anySort, "plain", "lighted"}

// sorts are the figures that matches can be ranked by, and tradeFigures those of the
// trade-off, with whether more of it is asked for at first.
var sorts = []figure.Key{figure.TotalWeight, figure.FOC, figure.LaunchSpeed, figure.LaunchMargin, figure.FrontWeight, figure.SteerMargin, figure.DozenCost}

var tradeFigures = []struct {
	key  figure.Key
	more bool
}{
	{figure.LaunchSpeed, true}, {figure.FOC, true}, {figure.TotalWeight, true}, {figure.LaunchMomentum, true}, {figure.LaunchMargin, true},
	{figure.SteerMargin, true}, {figure.DozenCost, false},
}

// mostMatches is how many matches the list holds.
const mostMatches = 200

func (m *Model) findIt() Request {
	f := m.finding
	if name := m.Job().Bow.Value.Name; f == nil || f.bow != name { // another bow is another question
		f = &findScreen{bow: name, head: anySort, nock: anySort, axes: [2]int{0, 1}}
		f.more = [2]bool{tradeFigures[0].more, tradeFigures[1].more}
		m.finding = f
	}
	if b := m.build(); !f.chosen {
		if f.head = anySort; b != nil {
			f.head = string(fitting.SortOf(&b.Head))
		}
	}
	f.at, f.length = 0, 29.5*unit.Inch
	if b := m.build(); b != nil {
		f.length = b.Length
	} else if b, ok := session.Fresh(m.Job(), m.drawer); ok {
		f.length = b.Length
	}
	m.open(f)
	m.Say("What you ask stands above, what matches below. %s changes what has the focus; empty is any.", m.keys.Find.Press(keys.Edit))
	if why := m.unjudged(); why != "" {
		m.Alert("Dangers cannot all be looked for: enter %s first (%s on the bench).", why, m.keys.Bench.Press(keys.Bow))
	}
	return f.look(m)
}

// unjudged names what is missing of the bow for the dangers of an arrow to be looked
// for; empty when nothing is.
func (m *Model) unjudged() string {
	var out []string
	b := &m.Job().Bow.Value
	if !b.Peak.Given {
		out = append(out, "peak weight")
	}
	if !b.Draw.Given {
		out = append(out, "draw length")
	}
	if m.session.Sheet().FitErr != nil {
		out = append(out, "a speed")
	}
	return strings.Join(out, ", ")
}

// questionOf returns what the bench asks.
func questionOf(m *Model) *job.Search { return &m.Job().Search.Value }

// lengths returns those to try: the list that was typed, else that of the build that
// had the focus and half an inch to either side.
func (f *findScreen) lengths(m *Model) []unit.Length {
	if list := m.Job().Drawer.Value.Lengths; len(list) > 0 {
		return list
	}
	const half = unit.Inch / 2
	return []unit.Length{f.length - half, f.length, f.length + half}
}

// job returns the job that the search is about.
func (f *findScreen) job(m *Model) *job.Job {
	j := m.Job().Clone()
	parts := slices.DeleteFunc(slices.Clone(m.drawer), func(p part.Part) bool {
		return p.Kind == part.KindHead && f.head != anySort && string(fitting.SortOf(&p.Head.Value)) != f.head ||
			p.Kind == part.KindNock && f.nock != anySort && p.Nock.Value.Lighted != (f.nock == nockSorts[2])
	})
	j.Drawer = unit.Some(job.DrawerOf(parts, f.lengths(m)))
	j.Search.Given = true
	j.Search.Value.Limit = unit.Some(mostMatches)
	if len(j.Builds) == 0 { // figures need a job with a build: it stands for none of them
		fresh, _ := session.Fresh(j, m.drawer)
		j.Builds, j.Sight.Value.Marks = []arrow.Build{fresh}, nil
	}
	return j
}

// between is how often the list is drawn anew while it grows.
const between = 50 * time.Millisecond

// result is what looking tells.
type result struct {
	ctx    context.Context // which look it was
	far    search.Progress
	found  *search.Found
	narrow *search.Narrow
	edge   *search.Found
	ended  bool
	err    error
}

// look starts the search anew.
func (f *findScreen) look(m *Model) Request {
	f.closed()
	// What was found before stays in sight until the first of the new comes, but cannot
	// be taken.
	f.looked, f.far, f.ended, f.failed, f.stale, f.edge = f.job(m), search.Progress{}, false, nil, true, nil
	if f.why(m) != "" {
		f.found, f.narrow, f.edge, f.ended = nil, nil, nil, true
		return nil
	}
	f.ctx, f.cancel = context.WithCancel(context.Background())
	ctx, j, clock, weigh := f.ctx, f.looked, m.clock, f.weighing()
	return Work{to: f, Do: func(tell func(any)) {
		now := func() time.Time {
			if clock == nil {
				return time.Time{}
			}
			return clock()
		}
		last, first := now(), true
		step := func(p search.Progress) {
			now := now()
			// The first matches are shown at once.
			if p.Matched > 0 && first || now.Sub(last) >= between {
				first, last = first && p.Matched == 0, now
				tell(result{ctx: ctx, far: p, found: p.First()})
			}
		}
		found, err := search.Find(ctx, j, step)
		if err == nil && found.Matched == 0 && len(j.Search.Value.Where) > 0 {
			tell(result{ctx: ctx, found: found})
			var narrow *search.Narrow
			narrow, err = search.Widen(ctx, j, func(p search.Progress) { tell(result{ctx: ctx, far: p, found: found}) })
			tell(result{ctx: ctx, found: found, narrow: narrow, ended: true, err: err})
			return
		}
		if err == nil && weigh != nil {
			weigh(ctx, tell, found)
			return
		}
		tell(result{ctx: ctx, found: found, ended: true, err: err})
	}}
}

// weighing returns what weighs the matches against each other; nil where that is not
// asked for.
func (f *findScreen) weighing() func(ctx context.Context, tell func(any), found *search.Found) {
	if !f.tradeOff {
		return nil
	}
	j, figures, more := f.looked, f.figures(), f.more
	return func(ctx context.Context, tell func(any), found *search.Found) {
		edge, err := search.TradeOff(ctx, j, figures, more, func(p search.Progress) { tell(result{ctx: ctx, far: p, found: found}) })
		tell(result{ctx: ctx, found: found, edge: edge, ended: true, err: err})
	}
}

// weigh weighs what was found, by other figures than before.
func (f *findScreen) weigh(m *Model) Request {
	if !f.ended || f.found == nil || f.narrow != nil || f.failed != nil {
		return f.look(m)
	}
	weigh := f.weighing()
	if weigh == nil {
		return nil
	}
	f.ctx, f.cancel = context.WithCancel(context.Background())
	f.far, f.ended = search.Progress{}, false
	ctx, found := f.ctx, f.found
	return Work{to: f, Do: func(tell func(any)) { weigh(ctx, tell, found) }}
}

// figures returns those of the trade-off, across and up.
func (f *findScreen) figures() [2]figure.Key {
	return [2]figure.Key{tradeFigures[f.axes[0]].key, tradeFigures[f.axes[1]].key}
}

func (f *findScreen) told(m *Model, what any) {
	r, ok := what.(result)
	if !ok || r.ctx != f.ctx {
		return
	}
	f.far, f.ended, f.failed = r.far, r.ended, r.err
	if r.found != nil {
		f.found, f.narrow, f.stale = r.found, r.narrow, false
	}
	if r.edge != nil {
		f.edge = r.edge
		f.plot()
	}
	f.settle(m)
}

// closed ends what is under way.
func (f *findScreen) closed() {
	if f.cancel != nil {
		f.cancel()
		f.ctx, f.cancel = nil, nil // what it still tells is nobody's
	}
}

// plot works out the dots of the trade-off.
func (f *findScreen) plot() {
	f.dots = nil
	setting, figures := sheet.NewSetting(f.looked), f.figures()
	put := func(list []arrow.Build, front bool) {
		for i := range list {
			values := setting.Some(&list[i], figures[:])
			x, ok1 := values.Get(figures[0])
			y, ok2 := values.Get(figures[1])
			if ok1 && ok2 {
				f.dots = append(f.dots, dot{x, y, front})
			}
		}
	}
	put(f.edge.Builds, true)
	put(f.found.Builds, false)
}

// why says what keeps the search from being made; empty when nothing does.
func (f *findScreen) why(m *Model) string {
	for _, a := range asks(m) {
		if _, asked := questionOf(m).Where[a.key.String()]; asked && a.key.Definition().Compares && a.key != figure.MarginVsProven && m.build() == nil {
			return fmt.Sprintf("“%s” compares with the baseline, and there is no build on the bench: ask for any, or add one first.", capital(a.title))
		}
	}
	d := &f.looked.Drawer.Value
	for _, list := range []struct {
		kind  part.Kind
		count int
	}{{part.KindShaft, len(d.Shafts)}, {part.KindNock, len(d.Nocks)}, {part.KindHead, len(d.Heads)}} {
		if list.count > 0 {
			continue
		}
		if has := slices.ContainsFunc(m.drawer, func(p part.Part) bool { return p.Kind == list.kind && !p.Retired }); has {
			return fmt.Sprintf("The drawer has no %s of that sort: ask for any.", list.kind)
		}
		return fmt.Sprintf("The drawer has no %s, and an arrow needs one: %s on a piece of the bench adds your own, %s there brings the sample parts back.",
			list.kind, m.keys.Bench.Press(keys.Edit), m.keys.Bench.Press(keys.Samples))
	}
	return ""
}

// lines is how many lines the list below has.
func (f *findScreen) lines() int {
	switch {
	case f.found == nil:
		return 0
	case f.narrow != nil:
		return len(f.narrow.One)
	}
	return len(f.listed())
}

// listed returns the matches of the list: the first, or those that nothing beats.
func (f *findScreen) listed() []arrow.Build {
	switch {
	case f.tradeOff && f.edge != nil:
		return f.edge.Builds
	case f.found != nil:
		return f.found.Builds
	}
	return nil
}

// match returns the match in focus, nil where that is none.
func (f *findScreen) match(m *Model) *arrow.Build {
	i := f.at - asked(m)
	if i < 0 || f.stale || f.narrow != nil || i >= f.lines() {
		return nil
	}
	return &f.listed()[i]
}

// asked is how many things are asked, which stand above the list.
func asked(m *Model) int { return len(asks(m)) + askOthers }

// settle puts the focus back inside, unless the list is still growing.
func (f *findScreen) settle(m *Model) {
	if !f.ended {
		return
	}
	f.at = max(min(f.at, asked(m)+f.lines()-1), 0)
}

func (f *findScreen) key(m *Model, k tea.KeyMsg) (bool, Request) {
	return f.act(m, m.asks(k, m.keys.Find))
}

func (f *findScreen) act(m *Model, a keys.Action) (done bool, r Request) {
	switch a {
	case keys.Close:
		m.message = ""
		return true, nil
	case keys.SwapMap, keys.Downrange, keys.Dozen, keys.Drawer, keys.Open:
		return false, m.turn(f, a)
	case keys.Help:
		m.open(m.help())
	case keys.Command:
		m.open(newPalette(m, m.keys.Find, nil, f.act))
	case keys.Up, keys.Down, keys.Left, keys.Right, keys.First, keys.Last, keys.PageUp, keys.PageDown:
		f.move(m, a)
	case keys.Edit:
		return false, f.edit(m)
	case keys.Add:
		return false, f.add(m)
	case keys.More, keys.Less:
		return false, f.turn(m, a == keys.More)
	case keys.Remove:
		return false, f.clear(m)
	case keys.Sort, keys.Reverse:
		return false, f.rank(m, a == keys.Reverse)
	case keys.TradeOff:
		f.tradeOff, f.edge = !f.tradeOff, nil
		m.Say("%s", f.about(m))
		r = f.weigh(m)
		f.settle(m)
		return false, r
	case keys.FigureAcross, keys.WantAcross, keys.FigureUp, keys.WantUp:
		return false, f.axis(m, a)
	case keys.Undo, keys.Redo:
		before := m.Job()
		if m.act(a); m.Job() != before {
			return false, f.look(m)
		}
	}
	return false, nil
}

// move moves the focus: what is asked stands in two columns, the list below.
func (f *findScreen) move(m *Model, a keys.Action) {
	count := asked(m)
	half, above := (count+1)/2, f.at < count
	switch a {
	case keys.Up:
		switch {
		case f.at == count:
			f.at = half - 1
		case above && f.at%half == 0:
		default:
			f.at--
		}
	case keys.Down:
		switch {
		case above && (f.at == half-1 || f.at == count-1):
			if f.lines() > 0 {
				f.at = count
			}
		default:
			f.at++
		}
	case keys.Left:
		if above && f.at >= half {
			f.at -= half
		}
	case keys.Right:
		if above && f.at+half < count {
			f.at += half
		}
	case keys.First:
		f.at = 0
	case keys.Last:
		if f.lines() > 0 {
			f.at = count + f.lines() - 1
		}
	case keys.PageUp:
		if above {
			f.at = 0
		} else {
			f.at = max(f.at-max(f.window-1, 1), count)
		}
	case keys.PageDown:
		switch {
		case f.lines() == 0:
		case above:
			f.at = count
		default:
			f.at += max(f.window-1, 1)
		}
	}
	f.settle(m)
}

// ask changes what the bench asks and looks again.
func (f *findScreen) ask(m *Model, what string, change func(s *job.Search)) Request {
	before := m.Job()
	m.do("ask for "+what, func(j *job.Job) {
		s := j.Search.Value
		s.Where = make(map[string]job.Window, len(j.Search.Value.Where))
		for k, w := range j.Search.Value.Where {
			s.Where[k] = w
		}
		change(&s)
		if len(s.Where) == 0 {
			s.Where = nil
		}
		j.Search = unit.Optional[job.Search]{Value: s, Given: !record.Equal(s, job.Search{})}
	})
	if m.Job() == before {
		return nil
	}
	return f.look(m)
}

// edit types over what is asked, takes a match into the column in focus, or widens
// a window as it is offered.
func (f *findScreen) edit(m *Model) Request {
	list := asks(m)
	switch i := f.at - len(list); {
	case i < 0:
		f.askFigure(m, list[f.at].key, list[f.at].title)
	case i == askLengths:
		f.askLengths(m)
	case i < askOthers:
		return f.turn(m, true)
	case f.stale:
		m.Say("Wait for the first of what is asked now.")
	case f.narrow != nil:
		return f.widen(m, f.narrow.One[i-askOthers])
	default:
		return f.take(m)
	}
	return nil
}

func (f *findScreen) askFigure(m *Model, k figure.Key, title string) {
	shown := ""
	if w, asked := questionOf(m).Where[k.String()]; asked {
		shown = m.windowWords(k, w)
	}
	m.open(newPrompt(m, prompt{
		title: fmt.Sprintf("%s: %s; empty is any", capital(title), m.rangeExamples(k)), text: shown,
		accept: func(m *Model, typed string) (Request, error) {
			if typed == shown {
				return nil, nil
			}
			w, asked, err := m.readWindow(k, typed)
			if err != nil {
				return nil, err
			}
			return f.ask(m, title, func(s *job.Search) {
				if delete(s.Where, k.String()); asked {
					s.Where[k.String()] = w
				}
			}), nil
		},
	}))
}

func (f *findScreen) askLengths(m *Model) {
	shown := f.lengthWords(m)
	m.open(newPrompt(m, prompt{
		title: fmt.Sprintf("Lengths to try (%s), with a comma and a space between; empty is that of the build in focus and a half to either side", m.units().Shown(unit.Inches).Symbol), text: shown,
		accept: func(m *Model, typed string) (Request, error) {
			if typed == shown {
				return nil, nil
			}
			list, err := m.readLengths(typed)
			if err != nil {
				return nil, err
			}
			m.do("lengths to try", func(j *job.Job) {
				j.Drawer.Value.Lengths = list
				j.Drawer.Given = !record.Equal(j.Drawer.Value, job.Drawer{})
			})
			return f.look(m), nil
		},
	}))
}

func (f *findScreen) lengthWords(m *Model) string {
	var words []string
	in := m.units().Shown(unit.Inches)
	for _, l := range f.lengths(m) {
		words = append(words, present.Number(in.Of(float64(l))))
	}
	return strings.Join(words, ", ")
}

// turn takes the next of the choices in focus.
func (f *findScreen) turn(m *Model, on bool) Request {
	switch f.at - len(asks(m)) {
	case askHead:
		f.head, f.chosen = next(headSorts, f.head, on), true
	case askNock:
		f.nock = next(nockSorts, f.nock, on)
	case askStock:
		return f.ask(m, "what is in stock", func(s *job.Search) { s.InStock = !s.InStock })
	default:
		m.Say("%s types over what is asked.", m.keys.Find.Press(keys.Edit))
		return nil
	}
	return f.look(m)
}

// clear asks for any of what is in focus.
func (f *findScreen) clear(m *Model) Request {
	list := asks(m)
	i := f.at - len(list)
	switch {
	case i < 0:
		return f.ask(m, "any "+list[f.at].title, func(s *job.Search) { delete(s.Where, list[f.at].key.String()) })
	case i == askHead:
		f.head, f.chosen = anySort, true
	case i == askNock:
		f.nock = anySort
	case i == askLengths:
		m.do("lengths to try", func(j *job.Job) {
			j.Drawer.Value.Lengths = nil
			j.Drawer.Given = !record.Equal(j.Drawer.Value, job.Drawer{})
		})
	case i == askStock:
		return f.ask(m, "any stock", func(s *job.Search) { s.InStock = false })
	default:
		m.Say("Move up to what is asked: %s there asks for any.", m.keys.Find.Press(keys.Remove))
		return nil
	}
	return f.look(m)
}

// ranked returns the figure that matches are ranked by.
func ranked(m *Model) figure.Key {
	if key, ok := figure.ByName(questionOf(m).Sort); ok {
		return key
	}
	return figure.TotalWeight
}

// rank ranks by the next figure, or the other way round.
func (f *findScreen) rank(m *Model, reverse bool) Request {
	now := ranked(m)
	r := f.ask(m, "another order", func(s *job.Search) {
		if reverse {
			s.Descending = !s.Descending
			return
		}
		s.Sort = sorts[(slices.Index(sorts, now)+1)%len(sorts)].String()
	})
	m.Say("%s", f.order(m))
	return r
}

// order says how the matches are ranked.
func (f *findScreen) order(m *Model) string {
	order := "least"
	if questionOf(m).Descending {
		order = "most"
	}
	return fmt.Sprintf("%s %s first.", capital(order), ranked(m).Definition().Title)
}

// axis changes a figure of the trade-off, or whether more of it is wanted.
func (f *findScreen) axis(m *Model, a keys.Action) Request {
	which := 0
	if a == keys.FigureUp || a == keys.WantUp {
		which = 1
	}
	if a == keys.WantAcross || a == keys.WantUp {
		f.more[which] = !f.more[which]
	} else {
		n := len(tradeFigures)
		if f.axes[which] = (f.axes[which] + 1) % n; f.axes[0] == f.axes[1] {
			f.axes[which] = (f.axes[which] + 1) % n
		}
		f.more[which] = tradeFigures[f.axes[which]].more
	}
	f.tradeOff, f.edge = true, nil
	m.Say("%s", f.about(m))
	return f.weigh(m)
}

// about says what the list is of.
func (f *findScreen) about(m *Model) string {
	if !f.tradeOff {
		return "All matches. " + f.order(m)
	}
	want := func(i int) string {
		words := "a low "
		if f.more[i] {
			words = "a high "
		}
		return words + tradeFigures[f.axes[i]].key.Definition().Title
	}
	return fmt.Sprintf("What nothing beats on both, wanting %s and %s.", want(0), want(1))
}

// take puts the match in focus into the column in focus; on an empty bench it is the
// first build.
func (f *findScreen) take(m *Model) Request {
	b := f.match(m)
	if b == nil {
		return nil
	}
	if m.build() == nil {
		return f.add(m)
	}
	col, name := m.col, m.build().Name
	if m.do("find for "+name, func(j *job.Job) { replaceArrow(&j.Builds[col], b) }) {
		m.sayAlso("Put into %s; %s takes it back. %s goes to the bench.", short(name), m.keys.Find.Press(keys.Undo), m.keys.Find.Press(keys.Close))
		return f.look(m)
	}
	return nil
}

// replaceArrow makes a build the arrow that was found, which has its name to keep and no
// record.
func replaceArrow(into *arrow.Build, found *arrow.Build) {
	b := found.Clone()
	b.Name = into.Name
	*into = b
}

// add puts the match in focus into a column of its own.
func (f *findScreen) add(m *Model) Request {
	b := f.match(m)
	if b == nil {
		m.Say("Move down to a match to put it on the bench.")
		if f.stale {
			m.Say("Wait for the first of what is asked now.")
		}
		return nil
	}
	if !m.room() {
		return nil
	}
	found := b.Clone()
	found.Name = session.FreeName(m.Job(), "Found")
	before := m.col
	if m.insert(len(m.Job().Builds), found, "add "+found.Name) {
		m.Say("Added as %s, column %s; %s goes to the bench.", found.Name, present.Letter(m.col), m.keys.Find.Press(keys.Close))
		if before != m.col && len(m.Job().Builds) > 1 {
			m.focus(before) // what is asked goes by the build that had the focus
		}
		return f.look(m)
	}
	return nil
}

// widen takes a window as it is offered.
func (f *findScreen) widen(m *Model, w search.Wider) Request {
	name := w.Key.String()
	f.at = slices.IndexFunc(asks(m), func(a asking) bool { return a.key == w.Key })
	r := f.ask(m, "more "+w.Key.Definition().Title, func(s *job.Search) {
		at := s.Where[name]
		if w.Below {
			at.Min = unit.Some(present.Outward(w))
		} else {
			at.Max = unit.Some(present.Outward(w))
		}
		s.Where[name] = at
	})
	m.Say("Widened: %s %s.", w.Key.Definition().Title, m.windowWords(w.Key, questionOf(m).Where[name]))
	return r
}

func (f *findScreen) typing() bool { return false }
func (f *findScreen) footer(m *Model) []keys.Hint {
	return m.keys.FindFooter(f.at >= asked(m), f.narrow != nil, f.tradeOff)
}

// click goes to what is asked, or to a line of the list, at a place of the screen.
func (f *findScreen) click(m *Model, x, y int) bool {
	was := f.at
	half := len(f.tops)
	switch top := half + 2; {
	case y >= 1 && y <= half:
		column := 0
		if x >= min(m.width/2, askMost) {
			column = 1
		}
		if f.tops[y-1][column] < 0 {
			return false
		}
		f.at = f.tops[y-1][column]
	case y >= top+f.chartHeight+1:
		i := y - top - f.chartHeight - 1
		if i >= len(f.drawn) || f.drawn[i] == noRow {
			return false
		}
		f.at = f.drawn[i]
	default:
		return false
	}
	return f.at == was
}
