package bench

import (
	"bytes"
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/fitting"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/keys"
)

// onFit opens the fitting and does what the keys ask for.
func onFit(t testing.TB, change func(j *job.Job), presses ...string) (*Model, *fitScreen) {
	t.Helper()
	m := benchOf(t, change)
	press(m, "g")
	f, open := m.dialog.(*fitScreen)
	if !open {
		t.Fatalf("g opens %T", m.dialog)
	}
	for _, p := range presses {
		finish(m, press(m, p))
	}
	return m, f
}

// noStiffShafts leaves only the weakest shafts of the samples, which no strong bow can
// shoot.
func noStiffShafts() []part.Part {
	return slices.DeleteFunc(store.SampleParts(), func(p part.Part) bool { return p.Kind == part.KindShaft && !strings.HasSuffix(p.Name(), ".500") })
}

func fitModes(add func(name string, make func(t testing.TB) *Model)) {
	of := func(name string, change func(j *job.Job), presses ...string) {
		add("fitting, "+name, func(t testing.TB) *Model {
			m, _ := onFit(t, change, presses...)
			return m
		})
	}
	for i := range fitQuestions {
		of("a question", nil, append([]string{"home"}, slices.Repeat([]string{"down"}, i)...)...)
	}
	of("no bow", noBow, "p")
	of("nothing entered", func(j *job.Job) { *j = *job.New() }, "p")
	of("a proposal", nil, "p")
	of("a proposal, further down", nil, "p", "down", "down", "end")
	of("no build", builds(0), "p")
	of("a budget", nil, "end", "up", "up", "enter", "9", "enter", "p")
	of("typing a budget", nil, "end", "up", "up", "enter", "9")
	of("a purpose", nil, "E", "end")
	of("its own purpose", nil, "a")
	of("help", nil, "?")
	add("fitting, looking", func(t testing.TB) *Model {
		m, _ := onFit(t, nil)
		press(m, "p")
		return m
	})
	add("fitting, no stiff shaft", func(t testing.TB) *Model {
		m, _ := onFit(t, nil)
		m.drawer = noStiffShafts()
		finish(m, press(m, "p"))
		return m
	})
}

func TestEachKeyOfTheFittingDoesWhatItSays(t *testing.T) {
	screen := func(x trial) *fitScreen { return x.m.dialog.(*fitScreen) }
	at := func(x trial, want int) { x.Helper(); x.want(screen(x).at == want, "the focus is on %d", screen(x).at) }
	checkScope(t, keys.Default().Fit, map[keys.Action]func(x trial){
		keys.Up:    func(x trial) { x.press(); at(x, fitBow) },
		keys.Down:  func(x trial) { x.press(); at(x, fitFavour) },
		keys.First: func(x trial) { press(x.m, "down"); x.press(); at(x, fitBow) },
		keys.Last:  func(x trial) { x.press(); at(x, fitGo) },
		keys.PageUp: func(x trial) {
			finish(x.m, press(x.m, "p"))
			press(x.m, "end")
			x.press()
			x.want(screen(x).offset == 0, "at %d", screen(x).offset)
		},
		keys.PageDown: func(x trial) {
			x.m.SetSize(80, 24)
			finish(x.m, press(x.m, "p"))
			x.m.Lines()
			x.press()
			x.want(screen(x).offset > 0, "at %d", screen(x).offset)
		},
		keys.Edit: func(x trial) {
			x.press()
			shows(x, x.m, "3D and field courses")
		},
		keys.More: func(x trial) { x.press(); shows(x, x.m, "[3D and field courses: 5.5 to 8.5 gr/lb, FOC 8 to 15 %]") },
		keys.Less: func(x trial) { x.press(); shows(x, x.m, "[light bows and young archers: 7 to 20 gr/lb") },
		keys.Propose: func(x trial) {
			finish(x.m, x.press())
			x.want(screen(x).proposal != nil && len(screen(x).proposal.Offers) == 3, "%+v", screen(x).proposal)
			shows(x, x.m, "Light", "Middle", "Heavy")
		},
		keys.Purpose: func(x trial) {
			opens[*form[fitting.Purpose]](x)
			shows(x, x.m, "weight from", "FOC to")
		},
		keys.Add: func(x trial) {
			x.press()
			_, form := x.m.dialog.(*form[fitting.Purpose])
			x.want(form && len(x.m.purposes()) == 7 && x.m.purposes()[6].Name == "own purpose", "%T", x.m.dialog)
		},
		keys.Remove: func(x trial) {
			r := x.press()
			chosen, ok := r.(Chosen)
			x.want(ok && len(chosen.Choices.Purposes) == 5 && x.m.purposes()[0].Name == "3D and field courses", "%+v", r)
		},
		keys.Undo: func(x trial) {
			press(x.m, "x")
			x.press()
			x.want(len(x.m.purposes()) == 6 && x.m.purposes()[0].Name == "target", "%d purposes", len(x.m.purposes()))
		},
		keys.Bow:     func(x trial) { opens[*bowForm](x) },
		keys.Command: func(x trial) { opens[*palette](x) },
		keys.Help:    func(x trial) { opens[*page](x) },
		keys.Close: func(x trial) {
			finish(x.m, press(x.m, "p"))
			x.press()
			x.want(x.m.dialog == dialog(x.m.fitting) && x.m.fitting.proposal == nil, "it is %T", x.m.dialog)
			x.press()
			x.want(x.m.dialog == nil, "it is %T", x.m.dialog)
		},
	}, func(t testing.TB) *Model {
		m, _ := onFit(t, nil)
		return m
	})
}

// From an empty bench with a bow: a few keys, three columns that differ, are no danger
// and carry no warning. Undo takes them back.
func TestThreeColumnsFromAnEmptyBench(t *testing.T) {
	m, _ := onFit(t, builds(0), "p", "enter")
	j := m.Job()
	if len(j.Builds) != 3 || j.Baseline != 1 || m.dialog != nil {
		t.Fatalf("%d builds, baseline %d, %T is open", len(j.Builds), j.Baseline, m.dialog)
	}
	s := m.session.Sheet()
	for i := range j.Builds {
		for _, c := range s.Builds[i].Cautions {
			if c.Level != caution.Note {
				t.Errorf("%s: %s", j.Builds[i].Name, c.Text)
			}
		}
		for k := range i {
			weight, _ := s.Builds[i].Figure(figure.TotalWeight)
			other, _ := s.Builds[k].Figure(figure.TotalWeight)
			speed, _ := s.Builds[i].Figure(figure.LaunchSpeed)
			slower, _ := s.Builds[k].Figure(figure.LaunchSpeed)
			if math.Abs(weight.Value-other.Value) < 40*float64(unit.Grain) && math.Abs(speed.Value-slower.Value) < 10*float64(unit.FootPerSecond) {
				t.Errorf("%s and %s hardly differ", j.Builds[i].Name, j.Builds[k].Name)
			}
		}
	}
	press(m, "z")
	if len(m.Job().Builds) != 0 {
		t.Error("undo leaves some")
	}
	// Beside what is there they get names of their own, and the baseline stays.
	m, _ = onFit(t, func(j *job.Job) { j.Builds[1].Name = "Light" }, "p", "enter")
	if got := names(m); got != "Open ground|Light|Close cover|Light 2|Middle|Heavy|" || m.Job().Baseline != 0 || m.col != 3 {
		t.Errorf("%s, baseline %d", got, m.Job().Baseline)
	}
}

func TestTheAnswersReachTheProposal(t *testing.T) {
	m, f := onFit(t, nil)
	answer := func(question int, presses ...string) {
		f.at = question
		for _, p := range presses {
			finish(m, press(m, p))
		}
	}
	answer(fitHead, "+")
	answer(fitNock, "+")
	answer(fitParts, "enter")
	finish(m, press(m, "p"))
	if f.proposal == nil {
		t.Fatalf("refused: %s", f.refused)
	}
	for i := range f.proposal.Offers {
		if o := &f.proposal.Offers[i]; o.Head.Blades == 0 || o.Head.Expandable || !o.Nock.Lighted {
			t.Errorf("%s has %s and %s", o.Name, o.Head.Name, o.Nock.Name)
		}
	}
	press(m, "esc")
	answer(fitBudget, "enter", "6", "0", "enter")
	if f.answers.Budget != 60 {
		t.Errorf("the budget is %g", f.answers.Budget)
	}
	if finish(m, press(m, "p")); f.proposal != nil || f.refused == "" {
		t.Errorf("for 60 a dozen it proposes %+v", f.proposal)
	}
	answer(fitBudget, "enter", "x", "enter")
	if !strings.Contains(m.message, "does not read as a number") || f.answers.Budget != 60 {
		t.Errorf("it says %q", m.message)
	}
	press(m, "esc")
	answer(fitBudget, "enter", "backspace", "enter")
	if f.answers.Budget != 0 {
		t.Errorf("the budget is %g", f.answers.Budget)
	}
	// Another purpose asks for other weights.
	heaviest := func() unit.Mass {
		finish(m, press(m, "p"))
		o := f.proposal.Offers
		b := o[len(o)-1].Build
		press(m, "esc")
		return b.Moments().Total
	}
	answer(fitHead, "-")
	light := heaviest()
	answer(fitPurpose, "+", "+", "+", "+")
	if heavy := heaviest(); heavy <= light {
		t.Errorf("for large game %v gr, for the target %v gr", heavy.In(unit.Grain), light.In(unit.Grain))
	}
}

func TestAFittingThatCannotBeMadeSaysWhy(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(j *job.Job)
		drawer []part.Part
		says   string
	}{
		{"no bow", noBow, store.SampleParts(), "draw length is missing"},
		{"an empty drawer", nil, nil, "The drawer is empty: X on the bench"},
		{"a bow above its maximum", func(j *job.Job) { j.Bow.Value.MaximumPeak = unit.Some(60 * unit.PoundForce) }, store.SampleParts(), "above its maximum"},
		{"no stiff shaft", nil, noStiffShafts(), "."},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := benchOf(t, c.change)
			m.drawer = c.drawer
			before := m.Job().Encode()
			finish(m, press(m, "g"))
			finish(m, press(m, "p"))
			f := m.dialog.(*fitScreen)
			if f.proposal != nil || !strings.Contains(f.refused, c.says) || !strings.HasSuffix(f.refused, ".") {
				t.Errorf("it says %q", f.refused)
			}
			press(m, "esc")
			kept(t, m, before, c.name)
		})
	}
}

func TestStoppingAFitting(t *testing.T) {
	m, f := onFit(t, nil)
	before := m.Job().Encode()
	w := press(m, "p").(Work)
	ctx := f.ctx
	if press(m, "esc"); ctx.Err() != context.Canceled || m.dialog != dialog(f) || !strings.Contains(m.message, "Stopped") {
		t.Errorf("%v, it says %q", ctx.Err(), m.message)
	}
	if finish(m, w); f.proposal != nil {
		t.Error("what comes too late is shown")
	}
	if !bytes.Equal(before, m.Job().Encode()) {
		t.Error("something was changed")
	}
}

// What is proposed is for the answers and the bow as they are: a change stops what is
// under way for others.
func TestAChangeStopsTheFitting(t *testing.T) {
	for _, presses := range [][]string{{"b"}, {"+"}, {"E"}, {"a"}, {"x"}, {"enter"}} {
		m, f := onFit(t, nil)
		w := press(m, "p").(Work)
		press(m, presses...)
		if finish(m, w); f.proposal != nil || f.refused != "" {
			t.Errorf("after %q what was under way is shown (%q)", presses, f.refused)
		}
	}
}

// Another bow is another customer, who has not answered yet.
func TestAnotherBowIsAskedAnew(t *testing.T) {
	m, f := onFit(t, nil, "down", "down", "+", "esc")
	if press(m, "g"); m.dialog != dialog(f) || f.answers.Head != fitting.FixedBroadhead {
		t.Errorf("for the same bow the head is %s", m.fitting.answers.Head)
	}
	press(m, "esc", "b", "n", "esc", "g")
	if m.fitting == f || m.fitting.answers.Head != fitting.FieldPoint {
		t.Errorf("for a new bow the head is %s", m.fitting.answers.Head)
	}
}

// Known marks are shot with a build of the bench, not with what is proposed.
func TestTheFiguresOfAProposalAreThoseOfTheBench(t *testing.T) {
	m, f := onFit(t, manyMarks(6), "p")
	lines := slices.Clone(f.figures)
	press(m, "enter")
	s := m.session.Sheet()
	for i, line := range lines {
		speed, _ := s.Builds[3+i].Figure(figure.LaunchSpeed)
		if value, _ := figure.Rounded(speed.Value/float64(unit.FootPerSecond), speed.U/float64(unit.FootPerSecond)); !strings.Contains(line, value+" ft/s") {
			t.Errorf("%s, on the bench %s ft/s", line, value)
		}
	}
}

func TestAPurposeIsEditedAndKept(t *testing.T) {
	m, f := onFit(t, nil)
	press(m, "E")
	form := m.dialog.(*form[fitting.Purpose])
	form.at = 1
	r := typeIn(m, "7")
	chosen, ok := r.(Chosen)
	if !ok || len(chosen.Choices.Purposes) != 6 || chosen.Choices.Purposes[0].MinPerDraw.In(unit.GrainPerPound) < 6.999 {
		t.Errorf("%+v", r)
	}
	if r := typeIn(m, "11"); r != nil || !strings.Contains(m.message, "Not changed") || m.purposes()[0].MinPerDraw.In(unit.GrainPerPound) > 7.001 {
		t.Errorf("from 11 to 10 it asks for %+v and says %q", r, m.message)
	}
	press(m, "esc")
	shows(t, m, "[target: 7 to 10 gr/lb")
	for range 5 {
		press(m, "x")
	}
	if press(m, "x"); len(m.purposes()) != 1 || !strings.Contains(m.message, "One purpose has to stay") {
		t.Errorf("%d purposes; it says %q", len(m.purposes()), m.message)
	}
	if f.at = fitHead; press(m, "x") != nil || !strings.Contains(m.message, "Move to the purpose") {
		t.Errorf("it says %q", m.message)
	}
}

func TestClicksOnTheFitting(t *testing.T) {
	m, f := onFit(t, nil)
	m.Lines()
	if f.click(m, 5, 1+fitHead) || f.at != fitHead || !f.click(m, 5, 1+fitHead) || f.click(m, 5, 0) || f.click(m, 5, 99) || f.at != fitHead {
		t.Errorf("at %d", f.at)
	}
}
