package ui

import (
	"bytes"
	"reflect"
	"regexp"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/unit"
	"foreshaft/ui/bench"
)

// lastView returns what the next sitting finds of how the bench was looked at.
func (k *fakeKeeper) lastView() []byte {
	k.mu.Lock()
	defer k.mu.Unlock()
	if len(k.views) == 0 {
		return nil
	}
	return k.views[len(k.views)-1]
}

// The distance chosen on the bench or left on the Downrange screen is the one that
// the next sitting begins with, whether the job lists it or it is one of those
// that hold without a list.
func TestTheDistanceIsKeptFromOneSittingToTheNext(t *testing.T) {
	for _, c := range []struct {
		name string
		do   func(s *sitting)
		want string
	}{
		{"nothing chosen", func(*sitting) {}, "─ at 60 yd ─"},
		{"chosen on the bench", func(s *sitting) { s.key(tea.KeyPgUp); s.key(tea.KeyPgUp) }, "─ at 40 yd ─"},
		{"left on the Downrange screen", func(s *sitting) { s.letters("3kkk"); s.key(tea.KeyEsc) }, "─ at 30 yd ─"},
		{"left while that is open", func(s *sitting) { s.letters("3kk") }, "─ at 40 yd ─"},
		{"a new one", func(s *sitting) { s.letters("3a72.5"); s.key(tea.KeyEnter) }, "─ at 72.5 yd ─"},
		{"a new one in metres", func(s *sitting) { s.letters("3a70 m"); s.key(tea.KeyEnter) }, "─ at 76.55 yd ─"},
		{"stepped", func(s *sitting) { s.letters("3k-") }, "─ at 45 yd ─"},
	} {
		s := newSitting(t)
		c.do(s)
		s.key(tea.KeyCtrlC)
		s.until("it ends", func() bool { return s.ended })
		again := sit(t, &fakeKeeper{}, Options{Bench: bench.Options{Job: s.app.bench.Job()}, View: s.keeper.lastView()})
		again.shows(c.want)
		if now, was := again.app.bench.View(), s.app.bench.View(); !reflect.DeepEqual(now, was) {
			t.Errorf("%s: the next sitting begins with %+v, the last one ended with %+v", c.name, now, was)
		}
	}
}

// What the last release kept has no distance, and an absurd one is not kept at all.
func TestAViewWithoutADistanceShowsTheFarthest(t *testing.T) {
	for _, kept := range []string{`{"name":"","row":3,"col":1,"depth":2,"changed":false}`, `{"name":"","row":3,"col":1,"depth":2,"changed":false,"distance_yd":0}`, `{"row":3,"distance_yd":-4}`} {
		s := sit(t, &fakeKeeper{}, Options{Bench: bench.Options{Job: newSitting(t).app.bench.Job()}, View: []byte(kept)})
		s.shows("─ at 60 yd ─")
		if got := s.app.bench.View().Distance; got != 0 {
			t.Errorf("%s: the distance is %v m", kept, float64(got))
		}
	}
}

// What is changed on the Downrange screen is saved like any other change.
func TestConditionsAndDistancesAreSaved(t *testing.T) {
	s := newSitting(t)
	s.letters("3")
	s.key(tea.KeyHome)
	for _, keys := range []string{"+", "l+", "l-", "l+", "l+", "z"} {
		before := s.bytes()
		s.letters(keys)
		if bytes.Equal(before, s.bytes()) {
			t.Errorf("%q changes nothing", keys)
		}
		s.settled()
	}
	j := s.app.bench.Job()
	if j.Crosswind.Value != 11*unit.MilePerHour || j.Slope.Value != unit.Degree || j.TargetRadius.Value != 3.5*unit.Inch || !j.Air.Value.Temperature.Given {
		t.Errorf("saved is %s", s.bytes())
	}
}

// A strip of marks goes into a file, and where it is or why it is not is said.
func TestAStripOfMarksIsWrittenAndSaid(t *testing.T) {
	s := newSitting(t)
	s.letters("3p")
	s.key(tea.KeyEnter)
	s.shows("Wrote the marks of A Open ground to /here/open-ground-marks.html.")
	s.letters("p")
	s.letters("marks.txt")
	s.key(tea.KeyEnter)
	s.shows("Wrote the marks of A Open ground to /here/marks.txt.")
	s.keeper.mu.Lock()
	written := append([]string(nil), s.keeper.written...)
	s.keeper.mu.Unlock()
	if len(written) != 2 || !strings.HasPrefix(written[0], "open-ground-marks.html: <!DOCTYPE html>") || !strings.HasPrefix(written[1], "marks.txt: Sight marks of Open ground\n") {
		t.Fatalf("written are %.100q", written)
	}
	if !regexp.MustCompile(` 60 +\d\.\d{2,3}\b`).MatchString(written[1]) {
		t.Errorf("the strip has no mark for 60 yd:\n%s", written[1])
	}
	s.keeper.fail(errDisk)
	s.letters("p")
	s.key(tea.KeyEnter)
	s.shows("Not written. The disk is full")
	if saved, begun := s.keeper.counts(); saved+begun != 0 {
		t.Error("printing saves the bench")
	}
	// The name stands there to be mended; the screen is still there, and goes on.
	s.shows("[open-ground-marks.html")
	s.key(tea.KeyEsc)
	s.letters("+")
	s.shows("Changed: distance 65 yd.")
}
