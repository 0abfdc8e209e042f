package bench

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/record"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
)

// rangeScreen shows what the builds do at every distance: the conditions above,
// a table of one figure with the distances down and the builds across, below it
// every figure at the distance in focus, and a chart.
type rangeScreen struct {
	at     int // 0 is the line of conditions, then the distances
	item   int // of the conditions
	figure int // of rangeFigures
	chart  bool
	offset int // the first distance in sight
	// As drawn last, for the mouse: what each line shows, and where on their line
	// the conditions begin and end.
	drawn []int
	spans [][2]int
}

// rangeFigures are the figures that the table and the chart can show, in their
// order below the table.
var rangeFigures = []figure.Key{
	figure.SightMark, figure.HoldFor, figure.MarkShift, figure.ImpactShift, figure.RangeShort, figure.RangeLong, figure.WindDrift,
	figure.Speed, figure.Energy, figure.Momentum, figure.Drop, figure.FlightTime,
}

// condition is one value of the line of conditions.
type condition struct {
	key   string // of the exchange format
	title string // before its value; what is told by its unit needs none
	name  string // in messages
	means string
	// in returns the struct that holds it.
	in func(j *job.Job) any
}

func ofJob(j *job.Job) any { return j }

func ofAir(j *job.Job) any { return &j.Air.Value }

var conditions = []condition{
	{"crosswind_mph", "wind", "wind", "crosswind, square to the line of sight; a minus blows the other way", ofJob},
	{"slope_deg", "slope", "slope", "of the line of sight, uphill positive, −60 to 60", ofJob},
	{"target_radius_in", "radius", "target radius", "how far off the middle still counts as a hit", ofJob},
	{"temperature_c", "air", "temperature", "temperature in the shade", ofAir},
	{"pressure_hpa", "", "pressure", "station pressure, as a barometer in your hand shows it", ofAir},
}

// step returns what one press changes a value by, in the unit it is shown in.
func step(u unit.Unit) float64 {
	switch u {
	case unit.MetresPerSec, unit.Inches:
		return 0.5
	case unit.Millimetres:
		return 10
	}
	return 1
}

// sightItem is the place behind the conditions: the sight, which has a form.
var sightItem = len(conditions)

func newRangeScreen(m *Model) *rangeScreen {
	r := &rangeScreen{at: 1 + m.place(m.Job())}
	if known := m.session.Sheet().Marks; known != nil && len(known.Notes) > 0 {
		m.Alert("%s", strings.Join(known.Notes, " "))
	} else {
		m.Say("%s", r.hint(m))
	}
	return r
}

func (r *rangeScreen) hint(m *Model) string {
	k := m.keys.Range
	if m.build() == nil {
		return fmt.Sprintf("There is no build on the bench: %s goes back, where %s adds one.", k.Press(keys.Close), m.keys.Bench.Press(keys.Add))
	}
	set := m.session.Sheet().Builds[m.col].Place(0)
	if why := set.Absent(figure.FlightTime); why != "" {
		return fmt.Sprintf("No path: %s %s.", short(m.build().Name), why)
	}
	if why := set.Absent(figure.SightMark); strings.HasPrefix(why, "needs the sight") {
		return "No marks yet. They " + strings.Replace(why, "needs the sight", "need the sight, which "+k.Press(keys.Sight)+" opens", 1) + "."
	}
	for _, n := range m.session.Sheet().Builds[m.col].Notes {
		if n.Code == sheet.NoDrag {
			return n.Text
		}
	}
	return fmt.Sprintf("Distances down, builds across. %s shows the next figure; up to the first line for wind, slope, target and air.", k.Press(keys.Figure))
}

// distances returns the job's list.
func (r *rangeScreen) distances(m *Model) []unit.Length { return m.Job().DistancesOrDefault() }

// settle puts the focus back inside after the job changed, and lets the bench
// show the same distance.
func (r *rangeScreen) settle(m *Model) {
	list := r.distances(m)
	r.at = max(min(r.at, len(list)), 0)
	if r.at > 0 {
		m.distance = list[r.at-1]
	}
	if !slices.Contains(r.figuresBelow(m), r.shown()) {
		r.figure = 0 // the slope that it was about is gone
	}
}

func (r *rangeScreen) key(m *Model, k tea.KeyMsg) (bool, Request) {
	return r.act(m, m.asks(k, m.keys.Range))
}

// act does what a key or the list of actions asks for.
func (r *rangeScreen) act(m *Model, a keys.Action) (done bool, q Request) {
	r.settle(m) // a distance that was not added has had the focus
	switch a {
	case keys.Close:
		m.message = ""
		return true, nil
	case keys.SwapMap, keys.Find, keys.Dozen, keys.Drawer, keys.Open:
		return false, m.turn(r, a)
	case keys.Help:
		m.open(m.help())
	case keys.Command:
		m.open(newPalette(m, m.keys.Range, nil, r.act))
	case keys.Up:
		r.at--
	case keys.Down:
		r.at++
	case keys.First:
		r.at = 0
	case keys.Last:
		r.at = len(r.distances(m))
	case keys.Left, keys.Right:
		r.sideways(m, a == keys.Right)
	case keys.More, keys.Less:
		r.step(m, a == keys.More)
	case keys.Edit:
		r.edit(m)
	case keys.Add:
		r.add(m)
	case keys.Remove:
		r.remove(m)
	case keys.Figure, keys.FigureBack:
		n, by := len(rangeFigures), 1
		if a == keys.FigureBack {
			by = len(rangeFigures) - 1
		}
		r.figure = (r.figure + by) % n
		if !slices.Contains(r.figuresBelow(m), r.shown()) {
			r.figure = (r.figure + by) % n
		}
		m.Say("%s: %s.", capital(r.shown().Definition().Title), r.shown().Definition().Means)
	case keys.Chart:
		r.chart = !r.chart
	case keys.Air:
		m.open(newAirForm(m))
	case keys.Sight:
		m.open(newSightForm(m))
	case keys.Undo, keys.Redo:
		m.act(a)
	default:
		q = r.actOnBuild(m, a)
	}
	if r.entry(m) == nil { // a distance that is typed is not in the list yet
		r.settle(m)
	}
	return false, q
}

// actOnBuild does what needs a build.
func (r *rangeScreen) actOnBuild(m *Model, a keys.Action) Request {
	if m.build() == nil {
		if a != "" {
			m.Say("There is no build on the bench.")
		}
		return nil
	}
	switch a {
	case keys.Explain:
		m.open(m.explainFigure(r.shown(), r.place(m)))
	case keys.Drag:
		m.open(newDragForm(m))
	case keys.Print:
		m.open(m.printPrompt())
	case keys.Copy:
		return m.copyCell(r.shown(), r.place(m))
	}
	return nil
}

// shown returns the figure of the table and the chart.
func (r *rangeScreen) shown() figure.Key { return rangeFigures[r.figure] }

// place returns the distance in focus, the first while the conditions have it.
func (r *rangeScreen) place(m *Model) int {
	if r.at > 0 {
		return min(r.at, len(r.distances(m))) - 1
	}
	return m.place(m.Job())
}

func (r *rangeScreen) sideways(m *Model, right bool) {
	by := -1
	if right {
		by = 1
	}
	if r.at == 0 {
		r.item = max(min(r.item+by, sightItem), 0)
		return
	}
	m.focus(max(min(m.col+by, len(m.Job().Builds)-1), 0))
}

// field returns the value of the conditions in focus, of a copy of the job that
// may be changed.
func (r *rangeScreen) field(m *Model) (*job.Job, record.Field) {
	j := m.Job().Clone()
	c := &conditions[r.item]
	return j, record.Only(c.in(j), c.key).In(m.units())
}

// keep puts the conditions of a changed copy on the bench.
func (r *rangeScreen) keep(m *Model, changed *job.Job) {
	c := &conditions[r.item]
	if m.do(c.name, func(j *job.Job) {
		j.Crosswind, j.Slope, j.TargetRadius = changed.Crosswind, changed.Slope, changed.TargetRadius
		j.Air = optionalOf(changed.Air.Value)
	}) {
		m.Say("Changed: %s %s.", c.name, c.told(m))
	}
}

// told writes a condition as it holds, to be read and not typed: what is usual
// where nothing is entered.
func (c *condition) told(m *Model) string {
	f := record.Only(c.in(m.Job()), c.key).In(m.units())
	value, given := f.Number()
	if !given {
		value = usual(m.Job(), c.key)
	}
	shown := fmt.Sprintf("%.4g %s", f.Unit.Of(value), f.Unit.Symbol)
	if angle, ok := strings.CutSuffix(shown, " °"); ok {
		shown = angle + "°"
	}
	return figure.Minus(shown)
}

// usual returns what a condition is when nothing is entered, in SI.
func usual(j *job.Job, key string) float64 {
	t, p, _ := j.Air.Value.State()
	switch key {
	case "target_radius_in":
		return float64(j.TargetRadiusOrDefault())
	case "temperature_c":
		return float64(t)
	case "pressure_hpa":
		return float64(p)
	}
	return 0
}

// step changes what has the focus by one step: a condition, or a distance by
// five yards or metres.
func (r *rangeScreen) step(m *Model, more bool) {
	sign := -1.0
	if more {
		sign = 1
	}
	if r.at > 0 {
		r.stepDistance(m, sign)
		return
	}
	if r.item == sightItem {
		m.open(newSightForm(m))
		return
	}
	c := &conditions[r.item]
	j, f := r.field(m)
	now, given := f.Number()
	if !given {
		now = usual(m.Job(), c.key)
	}
	by := step(f.Unit)
	next := by * nextMultiple(f.Unit.Of(now)/by, sign)
	if err := f.SetText(strconv.FormatFloat(next, 'f', -1, 64)); err != nil {
		m.Say("%s", sentence(err))
		return
	}
	r.keep(m, j)
}

// nextMultiple returns the next whole number above or below.
func nextMultiple(x, sign float64) float64 { return sign * (math.Floor(sign*x+1e-6) + 1) }

func (r *rangeScreen) stepDistance(m *Model, sign float64) {
	one, list := unit.Length(m.units().Shown(unit.Yards).Size), r.distances(m)
	next := 5 * nextMultiple(float64(list[r.at-1]/one)/5, sign)
	for slices.ContainsFunc(list, func(d unit.Length) bool { return math.Abs(float64(d/one)-next) < 1e-6 }) {
		next += 5 * sign
	}
	if next <= 0 || unit.Length(next)*one > job.MostDistance {
		m.Say("No other step that way: distances go up to %s.", m.units().Distance(job.MostDistance, 4))
		return
	}
	r.setDistance(m, r.at-1, unit.Length(next)*one)
}

// setDistance puts a distance in place of the one at i, or behind the last, and
// goes to it. A list in order stays in order.
func (r *rangeScreen) setDistance(m *Model, i int, d unit.Length) bool {
	list := slices.Clone(r.distances(m))
	what := "distance " + m.units().Distance(d, 4)
	ordered := slices.IsSorted(list)
	if i == len(list) {
		list = append(list, d)
	} else {
		list[i] = d
	}
	if ordered {
		slices.Sort(list)
	}
	was := m.distance
	m.distance = d // what the bench compares before and after
	if !m.do(what, func(j *job.Job) { j.Distances = list }) {
		m.distance = was
		return false
	}
	r.at = 1 + slices.Index(list, d)
	m.Say("Changed: %s.", what)
	return true
}

// edit opens what has the focus for typing, in place.
func (r *rangeScreen) edit(m *Model) {
	switch {
	case r.at > 0:
		r.askDistance(m, r.at-1)
	case r.item == sightItem:
		m.open(newSightForm(m))
	default:
		c := &conditions[r.item]
		_, f := r.field(m)
		m.open(newPrompt(m, prompt{
			title: fmt.Sprintf("%s (%s, or with another unit; empty for what is usual)", capital(c.means), f.Unit.Symbol), text: f.Text(), inline: true,
			accept: func(m *Model, typed string) (Request, error) {
				j, f := r.field(m)
				if typed == f.Text() {
					return nil, nil
				}
				if err := f.SetText(typed); err != nil {
					return nil, err
				}
				r.keep(m, j)
				return nil, nil
			},
		}))
	}
}

// oneDistance is a distance as the job file has it, for its rules.
type oneDistance struct {
	Distance unit.Length `job:"distance_yd" range:"0,200" need:"yes"`
}

// askDistance opens a distance for typing, a new one behind the last.
func (r *rangeScreen) askDistance(m *Model, i int) {
	was := oneDistance{}
	if list := r.distances(m); i < len(list) {
		was.Distance = list[i]
	}
	shown := ""
	if was.Distance > 0 {
		shown = record.Only(&was, "distance_yd").In(m.units()).Text()
	}
	m.open(newPrompt(m, prompt{
		title: fmt.Sprintf("Distance to the target (%s, or with another unit)", m.units().Shown(unit.Yards).Symbol), text: shown, inline: true,
		accept: func(m *Model, typed string) (Request, error) {
			if typed == shown {
				return nil, nil
			}
			now := oneDistance{}
			if err := record.Only(&now, "distance_yd").In(m.units()).SetText(typed); err != nil {
				return nil, err
			}
			if now.Distance <= 0 {
				return nil, fmt.Errorf("a distance must be more than nothing")
			}
			if slices.Contains(r.distances(m), now.Distance) {
				return nil, fmt.Errorf("%s is in the list already", m.units().Distance(now.Distance, 4))
			}
			if r.setDistance(m, i, now.Distance) {
				r.settle(m)
			}
			return nil, nil
		},
	}))
}

// mostDistances bounds the list on screen: each costs every build its figures.
const mostDistances = 20

func (r *rangeScreen) add(m *Model) {
	n := len(r.distances(m))
	if n >= mostDistances {
		m.Say("A list holds %d distances here: change or remove one.", mostDistances)
		return
	}
	r.at = n + 1
	r.askDistance(m, n)
}

func (r *rangeScreen) remove(m *Model) {
	list := r.distances(m)
	switch {
	case r.at == 0:
		m.Say("Move to a distance to remove it.")
	case len(list) == 1:
		m.Say("One distance has to stay: change it instead.")
	default:
		d := list[r.at-1]
		rest := slices.Delete(slices.Clone(list), r.at-1, r.at)
		if m.do("remove distance "+m.units().Distance(d, 4), func(j *job.Job) { j.Distances = rest }) {
			m.Say("Removed %s; %s brings it back.", m.units().Distance(d, 4), m.keys.Range.Press(keys.Undo))
		}
	}
}

func (r *rangeScreen) typing() bool                { return false }
func (r *rangeScreen) footer(m *Model) []keys.Hint { return m.keys.RangeFooter() }
