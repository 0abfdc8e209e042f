package bench

import (
	"fmt"
	"slices"
	"strings"

	"foreshaft/engine/caution"
	"foreshaft/engine/unit"
	"foreshaft/ui/frame"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// Lines draws the whole screen: exactly as many lines as it is high, each
// exactly as wide as it is.
func (m *Model) Lines() []string {
	w, h := m.width, m.height
	if frame.TooSmall(w, h) {
		notice := fmt.Sprintf("needs %d×%d, now %d×%d", frame.MinWidth, frame.MinHeight, w, h)
		lines := make([]string, max(h, 0)/2)
		return text.Block(append(lines, text.Center(notice, w), text.Center("everything is kept; "+m.keys.Bench.Press(keys.Quit)+" quits", w)), w, h)
	}
	bottom := m.bottom(w)
	room := h - 1 - len(bottom)
	var body []string
	if m.dialog != nil {
		body = m.dialog.draw(m, w, room)
	}
	if n := len(m.under); body == nil && n > 0 { // a prompt leaves what it was opened from in sight
		body = m.under[n-1].draw(m, w, room)
	}
	switch {
	case body != nil:
	case m.build() == nil:
		body = m.emptyBody(w)
	default:
		body = m.benchBody(len(bottom))
	}
	out := append([]string{m.header(w)}, text.Block(body, w, room)...)
	out = append(out, bottom...)
	for i := range out {
		out[i] = text.Guard(out[i])
	}
	return text.Block(out, w, h)
}

// How many lines each text below the body may take.
const (
	mostDanger  = 5
	mostEffect  = 3
	mostMessage = 2
	mostAlert   = 6
	mostLesson  = 3
)

// bottom draws what stays below everything: dangers in words, what the last
// change did, the message and the keys.
func (m *Model) bottom(w int) []string {
	var out []string
	put := func(t theme.Token, words string, most int) {
		for _, l := range wrapped(words, w-2, most) {
			out = append(out, m.theme.Paint(t, text.Pad(" "+l, w)))
		}
	}
	if dangers := present.Dangers(m.session.Sheet()); len(dangers) > 0 {
		put(theme.Danger, "!! "+strings.Join(dangers, " · "), mostDanger)
	}
	put(theme.Note, m.lesson(), mostLesson)
	above := len(out)
	if m.showsEffect() {
		put(theme.Changed, m.effect, mostEffect)
	}
	if p, ok := m.dialog.(*prompt); ok && !p.inline {
		if m.alerting() { // which stands where the question was
			put(theme.Plain, p.title, mostMessage)
		}
		out = append(out, text.Pad(" "+field(m.theme, &p.input, min(w-2, 60)), w))
	}
	switch {
	case m.alerting():
		put(theme.Warn, m.message, mostAlert)
	default:
		put(theme.Plain, m.message, mostMessage)
	}
	// The bench keeps two lines for them, so that it does not jump, and so do the
	// other screens.
	least := above + 1
	if m.build() != nil && m.onBench() || m.screenName() != "Bench" {
		least = above + 2
	}
	for len(out) < least {
		out = append(out, text.Pad("", w))
	}
	return append(out, m.footer(w))
}

// wrapped breaks a text into at most so many lines, the last cut when there are
// more. What a dot separates stays together where it can.
func wrapped(words string, w, most int) []string {
	if words == "" {
		return nil
	}
	const glue = "\u00a0"
	parts := strings.Split(words, " · ")
	for i, p := range parts {
		if text.Width(p) < w/2 {
			parts[i] = strings.ReplaceAll(p, " ", glue)
		}
	}
	lines := text.Wrap(strings.Join(parts, " · "), w)
	if len(lines) > most {
		lines[most-1] = text.Cut(lines[most-1]+" "+lines[most], w)
		lines = lines[:most]
	}
	for i := range lines {
		lines[i] = strings.ReplaceAll(lines[i], glue, " ")
	}
	return lines
}

// onBench reports whether the rows of the bench are on screen.
func (m *Model) onBench() bool {
	_, isPrompt := m.dialog.(*prompt)
	return m.dialog == nil || isPrompt
}

// showsEffect reports whether the effect of the last change is on screen.
func (m *Model) showsEffect() bool {
	p, isPrompt := m.dialog.(*prompt)
	return m.build() != nil && (m.dialog == nil || isPrompt && p.inline && len(m.under) == 0)
}

// header names the screen, the bow, the air and the units.
func (m *Model) header(w int) string {
	left := " " + m.screenName() + "   " + present.BowName(m.units(), m.Job())
	if name := m.session.Name(); name != "" {
		left += "   “" + name + "”"
		if m.changedSince() {
			left += " changed"
		}
	}
	u := m.units()
	right := u.Shown(unit.Grains).Symbol + " · " + u.Shown(unit.Inches).Symbol + " · " + u.Shown(unit.FeetPerSecond).Symbol + " "
	t, p, _ := m.Job().Air.Value.State()
	air := fmt.Sprintf("%s °C %s hPa   ", present.Places(t.Celsius(), 0), present.Number(float64(int(p.In(unit.Hectopascal)+0.5))))
	if text.Width(left)+text.Width(air)+text.Width(right) < w {
		right = air + right
	}
	left = text.Pad(text.Cut(left, w-text.Width(right)-1), w-text.Width(right))
	return m.theme.Paint(theme.Heading, left) + m.theme.Paint(theme.Quiet, right)
}

// screenName names the screen that is in front, whatever dialogs stand before it.
func (m *Model) screenName() string {
	for _, d := range append(m.under[:len(m.under):len(m.under)], m.dialog) {
		switch d.(type) {
		case *rangeScreen:
			return "Downrange"
		case *findScreen:
			return "Find"
		case *dozenScreen:
			return "Dozen"
		case *fitScreen:
			return "Fitting"
		case *drawerScreen:
			return "Drawer"
		case *savedScreen:
			return "Saved"
		case *mapScreen:
			return "Swap map"
		}
	}
	return "Bench"
}

// footer lists the keys that work here, as many as fit.
func (m *Model) footer(w int) string {
	var list []keys.Hint
	switch {
	case m.dialog != nil:
		list = m.dialog.footer(m)
	case m.build() == nil:
		list = m.keys.EmptyFooter()
	default:
		list = m.keys.BenchFooter()
	}
	line, used := " ", 1
	for _, hint := range list {
		need := text.Width(hint.Press) + 1 + text.Width(hint.Does) + 2
		if used+need > w+2 {
			break
		}
		line += m.theme.Paint(theme.Key, hint.Press) + " " + m.theme.Paint(theme.Quiet, hint.Does) + "  "
		used += need
	}
	return text.Pad(strings.TrimRight(line, " "), w)
}

// emptyBody says what to do on a bench without builds.
func (m *Model) emptyBody(w int) []string {
	b := m.keys.Bench
	press := func(a keys.Action) string { return text.Pad(b.Press(a), 4) }
	first := fmt.Sprintf("%s  enter your bow, and a speed you have chronographed on it", press(keys.Bow))
	if m.Job().Bow.Given {
		first = fmt.Sprintf("%s  your bow: %s", press(keys.Bow), present.BowName(m.units(), m.Job()))
	}
	lines := []string{"", "   There is no build on the bench.", "",
		"   " + first,
		fmt.Sprintf("   %s  a few questions, and three builds to choose from", press(keys.Fit)),
		fmt.Sprintf("   %s  add a build from the drawer, then change its parts", press(keys.Add)),
		fmt.Sprintf("   %s  open a bench or a build you have saved", press(keys.Open)),
		fmt.Sprintf("   %s  undo: bring back what was here", press(keys.Undo)),
		fmt.Sprintf("   %s  bring the invented samples back", press(keys.Samples)),
		fmt.Sprintf("   %s  any other action by name", press(keys.Command)),
	}
	for i := range lines {
		lines[i] = m.theme.Paint(theme.Plain, text.Pad(lines[i], w))
	}
	return lines
}

// benchBody draws names, strips, rows, cautions and the effect of the last change.
func (m *Model) benchBody(below int) []string {
	j := m.Job()
	l := frame.LayBench(m.width, m.height, len(j.Builds), m.col, j.Baseline, below)
	shown, rows := m.bodyLines(l)
	first := slices.Index(rows, m.row)
	if first < 0 { // the cautions, which are pinned below
		first = len(rows) - 1
	}
	last := first
	for last+1 < len(rows) && rows[last+1] == rows[first] {
		last++
	}
	m.offset = frame.Scroll(frame.Scroll(m.offset, last, l.Body, len(shown)), first, l.Body, len(shown))
	end := min(m.offset+l.Body, len(shown))

	var out []string
	if l.Rule {
		out = append(out, m.theme.Paint(theme.Rule, strings.Repeat("─", m.width)))
	}
	out = append(out, m.namesLine(l), m.stripsLine(l))
	seen := slices.Clone(shown[m.offset:end])
	if spare := l.Body - len(seen); spare > 2 {
		seen = append(seen, m.cautionsInFull(spare, l.Columns)...)
	}
	// For the mouse: names and strips belong to no row.
	m.layout, m.drawn = l, slices.Repeat([]int{namesRow}, len(out))
	if l.Rule {
		m.drawn[0] = noRow
	}
	m.drawn = append(m.drawn, rows[m.offset:end]...)
	for len(m.drawn) < len(out)+l.Body+1 {
		m.drawn = append(m.drawn, noRow)
	}
	m.drawn = append(m.drawn, len(allRows)-1)
	out = append(out, text.Block(seen, m.width, l.Body)...)
	out = append(out, m.ruleBelow(m.offset, len(shown)-end))
	return append(out, m.cautionsLine(l))
}

// cautionsInFull uses room below the figures for what the cautions of the builds
// on screen say, the gravest first and among equals those of the build in focus.
// It says how many found no room.
func (m *Model) cautionsInFull(room int, columns []frame.Column) []string {
	type told struct {
		build int
		caution.Caution
	}
	builds := []int{m.col}
	for _, c := range columns {
		if c.Build != m.col {
			builds = append(builds, c.Build)
		}
	}
	var all []told
	for _, i := range builds {
		for _, c := range present.Remarks(m.session.Sheet(), i) {
			all = append(all, told{i, c})
		}
	}
	slices.SortStableFunc(all, func(a, b told) int { return caution.Compare(a.Caution, b.Caution) })
	out := []string{""}
	for n, c := range all {
		lines := text.Wrap(present.Letter(c.build)+" "+present.Marked(c.Caution), min(m.width-2, 110))
		more := 1 // the line that says how many are left out
		if n == len(all)-1 {
			more = 0
		}
		if len(out)+len(lines)+more > room {
			more := fmt.Sprintf("%d more: %s on the cautions of a build", len(all)-n, m.keys.Bench.Press(keys.Explain))
			return append(out, " "+m.theme.Paint(theme.Quiet, more))
		}
		for _, l := range lines {
			out = append(out, " "+m.theme.Paint(cautionToken(c.Level), l))
		}
	}
	return out
}

// ruleBelow closes the rows and says how many are out of sight.
func (m *Model) ruleBelow(above, below int) string {
	words := ""
	if above > 0 {
		words += fmt.Sprintf(" ↑ %d more ", above)
	}
	if below > 0 {
		words += fmt.Sprintf(" ↓ %d more ", below)
	}
	return m.theme.Paint(theme.Rule, words+strings.Repeat("─", m.width-text.Width(words)))
}

func (m *Model) namesLine(l frame.Bench) string {
	hidden := ""
	if l.HiddenLeft > 0 {
		hidden += fmt.Sprintf("◂ %d ", l.HiddenLeft)
	}
	if l.HiddenRight > 0 {
		hidden += fmt.Sprintf("%d ▸", l.HiddenRight)
	}
	if hidden != "" {
		hidden = " more: " + hidden
	}
	line := m.theme.Paint(theme.Quiet, text.Pad(hidden, l.Label))
	for _, c := range l.Columns {
		mark, token := " ", theme.Heading
		if c.Build == m.Job().Baseline {
			mark, token = "◆", theme.Baseline
		}
		name := present.Letter(c.Build) + " " + m.Job().Builds[c.Build].Name
		if c.Build == m.col {
			name = "▸" + name
		}
		name = mark + name
		if known := name + " · proven"; c.Build == m.session.Sheet().Proven && text.Width(known) < c.W {
			name = known
		}
		line += m.theme.Paint(token, text.Pad(text.Cut(name, c.W-1), c.W))
	}
	return text.Pad(line, l.Width)
}

func (m *Model) stripsLine(l frame.Bench) string {
	line := text.Pad("", l.Label)
	var full unit.Length
	for _, c := range l.Columns {
		full = max(full, present.Reach(&m.Job().Builds[c.Build]))
	}
	for _, c := range l.Columns {
		line += m.theme.Paint(theme.Plain, text.Pad(" "+present.Strip(&m.Job().Builds[c.Build], c.W-2, full), c.W))
	}
	return text.Pad(line, l.Width)
}

// bodyLines draws every row of parts and figures, with a line between the two,
// and says which row each line shows. The cautions are pinned below.
func (m *Model) bodyLines(l frame.Bench) (out []string, rows []int) {
	var line strings.Builder
	downrange := false
	for i, r := range allRows {
		if r.caution || m.hidden(i) {
			continue
		}
		if !r.isSlot && allRows[i-1].isSlot {
			out, rows = append(out, m.theme.Paint(theme.Rule, strings.Repeat("─", m.width))), append(rows, noRow)
		}
		if at := r.isAt(); at && !downrange {
			out, rows, downrange = append(out, m.distanceRule()), append(rows, noRow), true
		}
		line.Reset()
		title := string(r.slot)
		if !r.isSlot {
			title = r.figure.Definition().Title
		}
		mark, token := " ", theme.Label
		if i == m.row {
			mark, token = "▸", theme.Heading
		}
		line.WriteString(m.theme.Paint(token, text.Pad(mark+title, l.Label)))
		for _, c := range l.Columns {
			line.WriteString(m.cell(r, i == m.row, c))
		}
		out, rows = append(out, text.Pad(line.String(), l.Width)), append(rows, i)
		if m.depth == Lab && !r.isSlot {
			out, rows = append(out, m.differences(r, l)), append(rows, i)
		}
	}
	return out, rows
}

// isAt reports whether a row shows a figure at a distance.
func (r row) isAt() bool { return !r.isSlot && !r.caution && r.figure.Definition().At }

// distanceRule says at which distance the figures below it are.
func (m *Model) distanceRule() string {
	words := "─ at " + m.units().Distance(m.chosen(), 4) + " ─ " + m.keys.Bench.Press(keys.Nearer) + " nearer " + m.keys.Bench.Press(keys.Farther) + " farther "
	return m.theme.Paint(theme.Rule, words+strings.Repeat("─", max(m.width-text.Width(words), 0)))
}

// differences draws the second line of a figure in the lab.
func (m *Model) differences(r row, l frame.Bench) string {
	var line strings.Builder
	line.WriteString(text.Pad("", l.Label))
	for _, c := range l.Columns {
		_, difference := m.cellOf(c.Build, r.figure).Lab(c.W - 2)
		line.WriteString(m.theme.Paint(theme.Plain, text.Pad(" "+difference, c.W)))
	}
	return text.Pad(line.String(), l.Width)
}

// cell draws one row of one build: brackets around the focus, a dot before what
// the last key changed.
func (m *Model) cell(r row, focusedRow bool, c frame.Column) string {
	inner := c.W - 2
	content := ""
	if r.isSlot {
		content = present.Piece(m.units(), &m.Job().Builds[c.Build], r.slot)
	} else if cell := m.cellOf(c.Build, r.figure); m.depth == Lab {
		content, _ = cell.Lab(inner)
	} else {
		content = cell.Text(inner)
	}
	content = text.Cut(content, inner)
	focused := focusedRow && c.Build == m.col
	if p, ok := m.dialog.(*prompt); ok && p.inline && focused {
		return field(m.theme, &p.input, c.W-1) + " "
	}
	switch {
	case focused:
		return m.theme.Paint(theme.Focus, "["+text.Pad(content, inner)+"]")
	case m.changedCell(r, c.Build):
		return m.theme.Paint(theme.Changed, text.Pad("●"+content, c.W))
	case r.isSlot && content == present.None:
		return m.theme.Paint(theme.Quiet, text.Pad(" "+content, c.W))
	}
	return m.theme.Paint(theme.Plain, text.Pad(" "+content, c.W))
}

// changedCell reports whether the last change changed what a cell of the build
// in focus shows.
func (m *Model) changedCell(r row, build int) bool {
	if m.before == nil || build != m.col {
		return false
	}
	if r.isSlot {
		return present.Piece(m.units(), m.before, r.slot) != present.Piece(m.units(), m.build(), r.slot)
	}
	return m.moved[r.figure]
}

func (m *Model) cautionsLine(l frame.Bench) string {
	focusedRow := allRows[m.row].caution
	mark, token := " ", theme.Label
	if focusedRow {
		mark, token = "▸", theme.Heading
	}
	line := m.theme.Paint(token, text.Pad(mark+"cautions", l.Label))
	for _, c := range l.Columns {
		remarks := present.Remarks(m.session.Sheet(), c.Build)
		words, level := briefly(remarks, c.W-2)
		switch {
		case focusedRow && c.Build == m.col:
			line += m.theme.Paint(theme.Focus, "["+text.Pad(words, c.W-2)+"]")
		case len(remarks) == 0:
			line += m.theme.Paint(theme.Quiet, text.Pad(" "+words, c.W))
		default:
			line += m.theme.Paint(cautionToken(level), text.Pad(" "+words, c.W))
		}
	}
	return text.Pad(line, l.Width)
}

// briefly names the gravest caution and counts the others.
func briefly(list []caution.Caution, w int) (string, caution.Level) {
	if len(list) == 0 {
		for _, words := range []string{"none found; the maker's chart decides on spine", "none found; chart decides"} {
			if text.Width(words) <= w {
				return words, caution.Note
			}
		}
		return "none; chart decides", caution.Note
	}
	words := present.Mark(list[0].Level) + " " + present.Brief(list[0])
	if more := len(list) - 1; more > 0 {
		tail := fmt.Sprintf(" +%d", more)
		words = text.Cut(words, w-text.Width(tail)) + tail
	}
	return text.Cut(words, w), list[0].Level
}
