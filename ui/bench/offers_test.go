package bench

import (
	"bytes"
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/search"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
)

// finish does work that a bench asks for, to its end.
func finish(m *Model, r Request) {
	if w, ok := r.(Work); ok {
		w.Do(func(what any) { m.Told(w, what) })
	}
}

// hasCaution reports whether a build of the bench has a caution.
func hasCaution(m *Model, build int, code caution.Code) bool {
	return slices.ContainsFunc(m.session.Sheet().Builds[build].Cautions, func(c caution.Caution) bool { return c.Code == code && !c.Unchecked })
}

func offerModes(add func(name string, make func(t testing.TB) *Model)) {
	of := func(name string, change func(j *job.Job), presses ...string) {
		add("offers, "+name, func(t testing.TB) *Model {
			m := benchOf(t, change)
			for _, p := range presses {
				finish(m, press(m, p))
			}
			return m
		})
	}
	add("offers, looking", func(t testing.TB) *Model {
		m := benchOf(t, nil)
		press(m, "f")
		return m
	})
	of("of a warning", nil, "f")
	of("the second", nil, "f", "down")
	of("of a danger", tooLight, "f")
	of("of what no swap changes", func(j *job.Job) { j.Bow.Value.MaximumPeak = unit.Some(60 * unit.PoundForce) }, "f")
	of("of an empty drawer", nil, "right", "m")
	add("offers, of an empty drawer", func(t testing.TB) *Model {
		m := newBench(store.SampleBench(), nil)
		m.SetSize(120, 36)
		finish(m, press(m, "f"))
		return m
	})
	of("the same mark", nil, "right", "m")
	of("close by", nil, "right", "right", "c")
	of("as it is", nil, "d", "m")
	of("help", nil, "f", "?")
}

func TestEachKeyOfTheOffersDoesWhatItSays(t *testing.T) {
	of := func(x trial) *offers {
		x.Helper()
		o, ok := x.m.dialog.(*offers)
		x.want(ok, "the offers are gone: %T", x.m.dialog)
		return o
	}
	closes := func(x trial) {
		before := x.m.Job().Encode()
		x.press()
		x.want(x.m.dialog == nil && bytes.Equal(before, x.m.Job().Encode()), "it is %T, or something changed", x.m.dialog)
	}
	checkScope(t, keys.Default().Offers, map[keys.Action]func(x trial){
		keys.Down: func(x trial) { x.press(); x.want(of(x).at == 1, "the focus is on %d", of(x).at) },
		keys.Up: func(x trial) {
			press(x.m, "down")
			x.press()
			x.want(of(x).at == 0, "the focus is on %d", of(x).at)
		},
		keys.Right: func(x trial) {
			finish(x.m, x.press())
			shows(x, x.m, "what would fix this: lighted nock", "2 of 2")
		},
		keys.Left: func(x trial) {
			finish(x.m, x.press())
			shows(x, x.m, "2 of 2")
			finish(x.m, x.press())
			shows(x, x.m, "what would fix this: weak shaft", "1 of 2")
		},
		keys.Choose: func(x trial) {
			x.want(hasCaution(x.m, 0, caution.Weak), "the sample is not weak")
			x.press()
			x.want(x.m.dialog == nil && !hasCaution(x.m, 0, caution.Weak) && x.m.Job().Builds[0].Shaft.Name == "5 mm .300", "%+v", x.m.Job().Builds[0].Shaft)
			shows(x, x.m, "margin 0.81 → 0.94")
			press(x.m, "z")
			x.want(hasCaution(x.m, 0, caution.Weak), "undo does not bring the build back")
		},
		keys.Add: func(x trial) {
			x.press()
			builds := x.m.Job().Builds
			x.want(len(builds) == 4 && builds[0].Shaft.Name == "5 mm .350" && builds[1].Shaft.Name == "5 mm .300" && builds[1].Name == "Open ground 2", "%s", names(x.m))
			x.want(x.m.col == 1 && !hasCaution(x.m, 1, caution.Weak), "the focus is on %d", x.m.col)
		},
		keys.Command: func(x trial) { opens[*palette](x) },
		keys.Help:    func(x trial) { opens[*page](x) },
		keys.Close:   closes,
	}, func(t testing.TB) *Model {
		m := benchOf(t, func(j *job.Job) { j.Builds[0].Nock.Lighted = true })
		finish(m, press(m, "f"))
		return m
	})
}

// Every caution of the samples, and of samples made worse: what is taken clears it.
func TestWhatIsTakenClearsTheCaution(t *testing.T) {
	cleared := 0
	for _, change := range []func(j *job.Job){
		nil, tooLight, func(j *job.Job) { j.Bow.Value.Peak = unit.Some(78 * unit.PoundForce) },
		func(j *job.Job) { j.Bow.Value.Draw = unit.Some(31.5 * unit.Inch) },
		func(j *job.Job) {
			j.Builds[0].Proven, j.Builds[2].Vanes = true, j.Builds[0].Vanes
			j.Limits = unit.Some(job.Limits{MaxSpeed: 280 * unit.FootPerSecond})
		},
		func(j *job.Job) { j.Builds[1].Nock = j.Builds[2].Nock },
	} {
		for build := range 3 {
			m := benchOf(t, change)
			m.focus(build)
			r := press(m, "f")
			o, open := m.dialog.(*offers)
			if !open {
				continue
			}
			for i, a := range o.aims {
				if i > 0 {
					r = press(m, "right")
				}
				finish(m, r)
				for n := range o.rows() {
					if offer := o.rows()[n]; offer.Brings {
						continue
					}
					o.at = n
					press(m, "enter")
					if hasCaution(m, build, a.clears.Code) && a.clears.About == "" {
						t.Errorf("build %d still has %s after %v", build, a.clears.Code, o.rows()[n].Swaps)
					}
					cleared++
					press(m, "z")
					m.open(o)
				}
			}
		}
	}
	if cleared < 15 {
		t.Errorf("only %d cautions were cleared", cleared)
	}
}

// What shares the baseline's marks hits where it does, by the bench's own figure.
func TestWhatIsTakenSharesTheMarks(t *testing.T) {
	m := benchOf(t, func(j *job.Job) {
		b := j.Builds[0].Clone()
		b.Name, b.Head.Weight = "heavier", 150*unit.Grain
		j.Builds = append(j.Builds, b)
	})
	m.focus(3)
	finish(m, press(m, "m"))
	shows(t, m, "comes to", "in higher")
	if press(m, "enter"); m.dialog != nil {
		t.Fatalf("%T is still open", m.dialog)
	}
	f, ok := m.session.Sheet().Builds[3].Place(m.place(m.Job())).Figure(figure.ImpactShift)
	if !ok || math.Abs(f.Value) > float64(unit.Inch) {
		t.Errorf("it hits %.2f in off", f.Value/float64(unit.Inch))
	}
	finish(m, press(m, "m"))
	shows(t, m, "heavier shares the mark of Open ground at 60 yd as it is.")
}

func TestTheBaselineIsNotBroughtToItself(t *testing.T) {
	for _, c := range []struct {
		change func(j *job.Job)
		key    string
		says   string
	}{
		{nil, "m", "Open ground is the baseline and shares its own marks: go to the build that is to be changed."},
		{nil, "c", "go to the build that is to be changed"},
		{builds(1), "m", "copy it with d, and change the copy"},
		{builds(0), "f", "There is no build on the bench"},
		{func(j *job.Job) { noBow(j); j.Baseline = 2 }, "m", "Whether marks are shared is not known"},
	} {
		m := benchOf(t, c.change)
		if press(m, c.key); m.dialog != nil || !strings.Contains(m.message, c.says) {
			t.Errorf("%s says %q, want %q", c.key, m.message, c.says)
		}
	}
}

// Leaving the list ends the work behind it, and what it still tells is nobody's.
func TestLeavingTheOffersEndsTheWork(t *testing.T) {
	m := benchOf(t, func(j *job.Job) { j.Builds[0].Nock.Lighted = true })
	w := press(m, "f").(Work)
	o := m.dialog.(*offers)
	ctx := o.ctx
	press(m, "esc")
	if ctx.Err() != context.Canceled {
		t.Error("the work goes on")
	}
	finish(m, w)
	if o.near != nil || m.dialog != nil {
		t.Error("what comes too late is taken")
	}
	// The next caution ends the work on the one before.
	first := press(m, "f").(Work)
	second := press(m, "right").(Work)
	finish(m, first)
	if o := m.dialog.(*offers); o.near != nil {
		t.Error("what was found for another caution is shown")
	}
	finish(m, second)
	shows(t, m, "2 of 2", "Would make")
}

// A proven build whose pieces are swapped is not the proven one any more.
func TestTakingAnOfferForAProvenBuildTakesItsMarkOff(t *testing.T) {
	m := benchOf(t, func(j *job.Job) { j.Builds[0].Proven = true; tooLight(j) })
	finish(m, press(m, "f"))
	press(m, "enter")
	if b := &m.Job().Builds[0]; m.Job().Marked(b) || hasCaution(m, 0, caution.LightArrow) {
		t.Errorf("marked %v, too light %v", m.Job().Marked(b), hasCaution(m, 0, caution.LightArrow))
	}
	if !strings.Contains(m.message, "another arrow now") {
		t.Errorf("it says %q", m.message)
	}
}

func TestAWeighedTubeThatIsCutIsSaidToBeScaled(t *testing.T) {
	m := benchOf(t, func(j *job.Job) {
		j.Builds[0].Length, j.Builds[0].Shaft.Spine = 27*unit.Inch, unit.Some(0.25*unit.Inch)
		j.Builds[0].Shaft.TubeWeight = unit.Some(210 * unit.Grain)
	})
	finish(m, press(m, "f"))
	o := m.dialog.(*offers)
	at := slices.IndexFunc(o.rows(), func(r search.Offer) bool { return len(r.Swaps) == 1 && r.Swaps[0] == "length" })
	if at < 0 {
		t.Fatalf("%s: no other length among %d", o.aims[o.aim].title, len(o.rows()))
	}
	o.at = at
	press(m, "enter")
	if b := &m.Job().Builds[0]; !strings.Contains(m.message, "weighed at its old length") || b.Shaft.TubeWeight.Value <= 210*unit.Grain {
		t.Errorf("it says %q of %v gr", m.message, b.Shaft.TubeWeight.Value.In(unit.Grain))
	}
}

func TestTurnedTellsWhatGoesAndComes(t *testing.T) {
	m := benchOf(t, nil)
	after := m.Job().Builds[0].Clone()
	put := func(change func(b *arrow.Build)) (string, string) {
		b := after.Clone()
		change(&b)
		return present.Turned(m.session.Sheet(), &m.Job().Builds[0], &b)
	}
	if gone, come := put(func(b *arrow.Build) { b.Shaft.Spine = unit.Some(0.25 * unit.Inch) }); gone != "weak shaft, perhaps weak shaft" || come != "" {
		t.Errorf("a stiffer shaft: gone %q, come %q", gone, come)
	}
	if gone, _ := put(func(b *arrow.Build) { b.Shaft.Spine.Given = false }); gone != "" {
		t.Errorf("what is not checked any more is gone: %q", gone)
	}
	if gone, come := put(func(b *arrow.Build) { b.Nock.Lighted = true }); gone != "" || come != "lighted nock" {
		t.Errorf("a lighted nock: gone %q, come %q", gone, come)
	}
}
