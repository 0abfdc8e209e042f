package bench

import (
	"fmt"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/label"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/session"
	"foreshaft/ui/theme"
)

// prove marks the build in focus as proven on the bow as it is set now. A build
// that is marked already opens its record.
func (m *Model) prove() {
	b, col := m.build(), m.col
	if m.Job().Marked(b) {
		m.open(newProvenForm(m))
		return
	}
	if !m.do("proven: "+b.Name, func(j *job.Job) { m.mark(j, col, true) }) {
		return
	}
	m.Say("%s", m.proved(b.Name))
}

// mark puts the mark on a build, with today's date where its record has none.
func (m *Model) mark(j *job.Job, col int, proven bool) {
	session.Prove(j, col, proven)
	if p := &j.Builds[col].Proof.Value; proven && m.clock != nil && p.Date == "" {
		p.Date = m.clock().Format("2006-01-02")
	}
}

// proved says what the mark means from now on.
func (m *Model) proved(name string) string {
	margin, ok := m.session.Sheet().Builds[m.col].Figure(figure.LaunchMargin)
	if !ok {
		return fmt.Sprintf("%s counts as proven, but others cannot be compared with it: its launch margin %s.", short(name), m.session.Sheet().Builds[m.col].Absent(figure.LaunchMargin))
	}
	b := &m.Job().Bow.Value
	words := fmt.Sprintf("%s counts as proven on this bow at %s, %s: margins are told against its own.", short(name), m.units().Pull(b.Peak.Value, 3), m.units().Span(b.Draw.Value, 4))
	if margin.Value < caution.WeakBelow {
		return fmt.Sprintf("Its own margin is low: leave the mark only if it was shot and a fitter found it good. %s", words)
	}
	return words + fmt.Sprintf(" %s again: write down what was measured, or take the mark off.", m.keys.Bench.Press(keys.Proven))
}

// provenEntry is whether a build is proven, and its record.
type provenEntry struct {
	Proven bool `job:"proven"`
	arrow.Proof
}

// newProvenForm returns the form of the record of the build in focus.
func newProvenForm(m *Model) dialog {
	name := m.build().Name
	m.Say("What was shot and measured of this arrow. All of it may stay empty.")
	return &form[provenEntry]{
		title: "Proven: " + short(name), offers: plainOffers,
		lines: []line[provenEntry]{
			{key: "proven", title: "proven on this bow", means: "it was shot from this bow, set as it is now, and flew well"},
			{key: "date", title: "date", means: "when it was shot"},
			{key: "total_weight_gr", title: "total weight", head: "Measured", means: "the whole arrow on a scale"},
			{key: "balance_point_in", title: "balance point", means: "from the throat of the nock to where it balances on an edge"},
			{key: "launch_speed_fps", title: "speed", means: "on the chronograph, close to the bow"},
			{key: "paper_or_bare_shaft", title: "paper, bare shaft", head: "How it flew", means: "what a shot through paper or a bare shaft showed"},
			{key: "broadhead_distance_yd", title: "broadhead shot at", means: "the distance at which a broadhead was shot against a field point"},
			{key: "broadhead_high_in", title: "  it hit high by", means: "of the field point; low is negative"},
			{key: "broadhead_right_in", title: "  it hit right by", means: "of the field point; left is negative"},
			{key: "note", title: "note", means: "anything else worth knowing next time"},
			{key: "bow", title: "bow", head: "As it was then", means: "on which it was proven"},
			{key: "release", title: "release", means: "how the string was let go then: the mark lapses when it changes"},
			{key: "peak_weight_lb", title: "peak weight", means: "of the bow then: the mark lapses when it changes"},
			{key: "draw_length_in", title: "draw length", means: "then: the mark lapses when it changes"},
			{key: "brace_height_in", title: "brace height", means: "then"},
		},
		load: func(m *Model) provenEntry {
			b := m.build()
			return provenEntry{Proven: m.Job().Marked(b) && m.session.Sheet().Lapsed(m.col) == "", Proof: b.Proof.Value}
		},
		keep: keepProof,
		side: proofFound,
		gone: func(m *Model) bool { return m.build() == nil || m.build().Name != name },
	}
}

// keepProof stores one value of a record.
func keepProof(m *Model, c change, v provenEntry) Request {
	col := m.col
	for _, words := range []*string{&v.Date, &v.Paper, &v.Note, &v.Bow, &v.Release} {
		*words = label.Clean(*words)
	}
	if !m.do("proven: "+c.what, func(j *job.Job) {
		if c.key == "proven" {
			m.mark(j, col, v.Proven)
			return
		}
		j.Builds[col].Proof = unit.Some(v.Proof)
	}) {
		return nil
	}
	switch {
	case c.key == "proven" && v.Proven:
		m.Say("%s", m.proved(m.build().Name))
	case c.key == "proven":
		m.Say("%s no longer counts as proven; what was measured of it is kept.", short(m.build().Name))
	default:
		m.Say("Noted: %s.", c.what)
	}
	return nil
}

// proofFound says what was measured against what is computed, and whether the
// mark still holds.
func proofFound(m *Model, _ *provenEntry) []paragraph {
	s := m.session.Sheet()
	var out []paragraph
	if what := s.Lapsed(m.col); what != "" {
		out = append(out, paragraph{token: theme.Warn, text: "! The mark has lapsed: the " + what + " has changed since. Set the first line to yes when it was shot again as the bow is now."})
	}
	for _, k := range sheet.MeasuredKeys {
		less := present.Miss(s, m.col, k)
		if less == "" {
			continue
		}
		f, _ := s.Builds[m.col].Figure(k)
		u := s.Unit(k)
		value, spread := figure.Rounded(u.Of(f.Value), f.U/u.Size)
		out = append(out, paragraph{row: true, text: strings.TrimSpace(fmt.Sprintf("%-14s computed %s ± %s %s, measured %s", k.Definition().Title, value, spread, u.Symbol, less))})
	}
	if len(out) == 0 {
		out = append(out, paragraph{text: "What you measure stands here beside what is computed."})
	}
	return append(out, paragraph{token: theme.Quiet, text: "A mark says that you shot this arrow from this bow and it flew well. It does not replace a look by a fitter, and it ends when its pieces change."})
}
