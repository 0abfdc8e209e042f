package bench

import (
	"strings"
	"testing"
	"time"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

func TestProvenBuildAndItsRecord(t *testing.T) {
	m := benchOf(t, nil)
	m.clock = func() time.Time { return time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC) }
	m.focus(1)
	press(m, "v")
	shows(t, m, "Even keel counts as proven on this bow at 68 lb, 29.5 in", "against proven", "the proven one")
	if p := m.Job().Builds[1].Proof.Value; p.Date != "2026-05-04" {
		t.Errorf("%+v", p)
	}
	press(m, "v")
	shows(t, m, "Proven: Even keel", "2026-05-04", "What you measure stands here")
	for line, typed := range map[string]string{"total_weight_gr": "449", "balance_point_in": "49 cm", "launch_speed_fps": "281", "broadhead_high_in": "-1/2"} {
		f := m.dialog.(*form[provenEntry])
		for i := range f.lines {
			if f.lines[i].key == line {
				f.at = i
			}
		}
		press(m, "enter")
		write(m, typed)
		press(m, "enter")
	}
	shows(t, m, "computed 448.4 ± 1.3 gr, measured +0.6", "speed          computed 283.3 ± 1.6 ft/s, measured −2.3")
	p := m.Job().Builds[1].Proof.Value
	if p.Weight != unit.Some(449*unit.Grain) || p.High.Value >= 0 || !p.Balance.Given || !p.Speed.Given {
		t.Errorf("%+v", p)
	}
	// A number out of range is refused and nothing is lost.
	press(m, "home", "down", "down", "enter")
	write(m, "5000")
	press(m, "enter")
	if m.Job().Builds[1].Proof.Value.Weight != p.Weight {
		t.Errorf("%+v", m.Job().Builds[1].Proof.Value)
	}
	press(m, "esc")
	// The first line takes the mark off, and what was measured stays.
	press(m, "home", "+")
	if b := m.Job().Builds[1]; b.Proven || m.Job().Bow.Value.Proven != "" || b.Proof.Value.Weight != p.Weight {
		t.Errorf("%+v", b.Proof)
	}
	shows(t, m, "no longer counts as proven; what was measured of it is kept")
	press(m, "z")
	if !m.Job().Builds[1].Proven {
		t.Error("undo does not bring the mark back")
	}
}

func TestALapsedMarkIsSaidAndMadeAnew(t *testing.T) {
	m := benchOf(t, func(j *job.Job) { j.Builds[1].Proven = true })
	m.focus(1)
	press(m, "v") // its record
	press(m, "esc")
	m.do("proven", func(j *job.Job) { m.mark(j, 1, true) })
	m.do("bow", func(j *job.Job) { j.Bow.Value.Peak.Value -= 4 * unit.PoundForce })
	shows(t, m, "proof lapsed", "against proven", "– needs a build that is proven")
	press(m, "v")
	shows(t, m, "! The mark has lapsed: the peak weight has changed since.")
	press(m, "home", "+")
	if got := m.session.Sheet(); got.Proven != 1 || got.Lapsed(1) != "" || m.Job().Builds[1].Proof.Value.Peak != m.Job().Bow.Value.Peak {
		t.Errorf("build %d is proven, %+v", got.Proven, m.Job().Builds[1].Proof.Value)
	}
}

// Who changes a piece of the proven build is told, and copies do not inherit the
// mark.
func TestAnotherPieceTakesTheMarkOff(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "v", "+")
	if m.Job().Builds[0].Proven || !strings.Contains(m.message, "Open ground is another arrow now: the mark of the proven one and its record went.") {
		t.Errorf("proven %v, it says %q", m.Job().Builds[0].Proven, m.message)
	}
	press(m, "z")
	if !m.Job().Builds[0].Proven {
		t.Error("undo does not bring the mark back")
	}
	press(m, "d")
	if b := m.Job().Builds[1]; b.Proven || b.Proof.Given || m.session.Sheet().Proven != 0 {
		t.Errorf("the copy is %+v", b.Proof)
	}
	press(m, "+")
	shows(t, m, "against proven")
}

// A low margin is no reason to refuse the mark, and a reason to say so.
func TestMarkingAWeakBuildIsQuestioned(t *testing.T) {
	m := benchOf(t, nil)
	if press(m, "v"); !strings.Contains(m.message, "Its own margin is low: leave the mark only if it was shot and a fitter found it good.") {
		t.Errorf("it says %q", m.message)
	}
	m = benchOf(t, func(j *job.Job) { j.Builds[0].Shaft.Spine.Given = false })
	if press(m, "v"); !strings.Contains(m.message, "its launch margin needs the shaft's static spine") {
		t.Errorf("it says %q", m.message)
	}
}

// What was proven on a bow follows the bow's new name.
func TestARenamedBowIsTheSameBow(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "v", "b", "home", "enter")
	press(m, "ctrl+u")
	write(m, "Club bow")
	press(m, "enter")
	if m.Job().Bow.Value.Name != "Club bow" || m.session.Sheet().Proven != 0 {
		t.Errorf("on %q build %d is proven, %+v", m.Job().Bow.Value.Name, m.session.Sheet().Proven, m.Job().Builds[0].Proof.Value)
	}
}

// So does one that is kept under another name.
func TestABowKeptUnderANameIsTheSameBow(t *testing.T) {
	m := benchOf(t, nil)
	press(m, "v", "b", "s", "ctrl+u")
	write(m, "Club bow")
	press(m, "enter")
	if m.Job().Bow.Value.Name != "Club bow" || m.session.Sheet().Proven != 0 {
		t.Errorf("on %q build %d is proven, %+v", m.Job().Bow.Value.Name, m.session.Sheet().Proven, m.Job().Builds[0].Proof.Value)
	}
}

// Over the counter the comparison with the proven build takes the place of the
// margin; elsewhere both are there. A row that goes takes the focus off it.
func TestWhereMarginsAreShown(t *testing.T) {
	rows := func(m *Model) (against, margin bool) {
		out := screen(m)
		return strings.Contains(out, "against proven"), strings.Contains(out, "launch margin")
	}
	m := benchOf(t, nil)
	for _, c := range []struct {
		depth           Depth
		proven          bool
		against, margin bool
	}{{Counter, false, false, true}, {Common, false, false, true}, {Counter, true, true, false}, {Common, true, true, true}} {
		m := benchOf(t, func(j *job.Job) { j.Builds[1].Proven = c.proven })
		m.depth = c.depth
		if against, margin := rows(m); against != c.against || margin != c.margin {
			t.Errorf("depth %s, proven %v: against %v, margin %v", c.depth, c.proven, against, margin)
		}
	}
	m.focus(1)
	press(onFigure(t, m, figure.FOC), "v")
	press(onFigure(t, m, figure.MarginVsProven), "z")
	if m.hidden(m.row) {
		t.Errorf("the focus is on %+v, which is not shown", allRows[m.row])
	}
	// A drag that was measured is a change of the arrow's flight.
	press(onFigure(t, m, figure.FOC), "esc")
	if m.setDrag(unit.Some(1.2), unit.Optional[float64]{}); !strings.Contains(m.effect, "60 yd") {
		t.Errorf("the effect of another drag: %q", m.effect)
	}
}
