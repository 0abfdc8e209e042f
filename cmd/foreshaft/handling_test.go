package main

import (
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/present"
	"foreshaft/ui/uitest"
)

// samplePart returns a sample part as a build takes it.
func samplePart(t *testing.T, id string) part.Part {
	t.Helper()
	for _, p := range store.SampleParts() {
		if p.ID == "sample-"+id {
			return p.Weighed()
		}
	}
	t.Fatalf("no sample part %s", id)
	return part.Part{}
}

// Someone with a 150 gr head puts a 75 gr insert in place of a 50 gr one: the
// launch margin falls and the caution appears. They mark a build that they have
// shot as proven, and the comparison with it leads. When they turn the bow down
// the mark lapses, and when they turn it back it holds again.
func TestAHeavierInsertAProvenBuildAndABowTurnedDown(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	x := s.sit(uitest.Options{Cols: 120, Rows: 36})
	const even = 1
	now := func(change func(j *job.Job)) *sheet.Sheet { return sheet.Evaluate(changed(change)) }
	cell := func(s *sheet.Sheet, build int, k figure.Key) string { return present.FigureCell(s, build, k).Text(34) }

	heavyHead := func(j *job.Job) { j.Builds[even].Head = samplePart(t, "head-field-point-150-gr").Head.Value }
	before := now(heavyHead)
	x.Send(right + "jj++") // from the insert to the head, and two heads on
	x.WaitFor("[150 gr field point")
	x.WaitFor(cell(before, even, figure.LaunchMargin))
	x.Send("kk" + enter + "75")
	x.WaitMatch(`(?s)Would make:.*margin 0\.86 → 0\.84|margin 0\.86 → 0\.84 · ! weak shaft`)
	x.Send(enter)
	after := now(func(j *job.Job) {
		heavyHead(j)
		j.Builds[even].Insert = samplePart(t, "insert-brass-5-mm-75-gr").Insert
	})
	x.WaitMatch(`(?s)insert 50 → 75 gr brass 5 mm:.*margin 0\.86 → 0\.84 · ! weak shaft`)
	x.WaitFor("●" + cell(after, even, figure.LaunchMargin))
	x.WaitFor("! weak shaft +2")
	if was, is := marginOf(t, before, even), marginOf(t, after, even); !(is < was && is < 0.85 && was > 0.85) {
		t.Fatalf("the margin goes from %v to %v: the test tests nothing", was, is)
	}

	// Undo both, and mark the build as it comes: it was shot and flew well.
	x.Send("zzzv")
	x.WaitMatch(`against proven −\d+ ± \d+ %\s+the proven one\s+\+\d+ ± \d+ %`)
	x.WaitMatch(`against proven [^\n]*\n total weight`) // it leads
	x.WaitFor("Even keel counts as proven on this bow at 68 lb, 29.5 in: margins are told against its own.")
	proven := now(func(j *job.Job) { j.Builds[even].Proven = true })
	x.WaitFor(cell(proven, 0, figure.MarginVsProven))
	x.WaitFor(cell(proven, 2, figure.MarginVsProven))
	// What was measured of it stands beside what is computed.
	x.Send("vjj" + enter + "449" + enter)
	x.WaitMatch(`total weight\s+computed 448\.4 ± 1\.3 gr, measured \+0\.6`)
	leave(x, " How it flew")
	x.WaitFor("448.4 ± 1.3 gr, measured +0.6")

	x.Send("b" + enter)
	x.WaitFor("Peak weight now")
	x.Send("\x15" + "64" + enter)
	x.WaitFor("Changed: peak weight.")
	x.WaitMatch(`Even keel was\s+proven at other settings: its mark has lapsed\.`)
	leave(x, " rest behind pivot ")
	x.WaitMatch(`against proven – needs a build that is proven`)
	x.WaitFor("· proof lapsed")
	x.Send("z")
	x.WaitMatch(`against proven −\d+ ± \d+ %\s+the proven one`)
	quit(t, x)

	// The mark and its record are there again the next time.
	kept := s.bench()
	if p := kept.Builds[even].Proof.Value; !kept.Builds[even].Proven || p.Weight != unit.Some(449*unit.Grain) || p.Peak != kept.Bow.Value.Peak || p.Date == "" || kept.Bow.Value.Proven != "Even keel" {
		t.Errorf("kept: %+v", p)
	}
}

func marginOf(t *testing.T, s *sheet.Sheet, build int) float64 {
	t.Helper()
	f, ok := s.Builds[build].Figure(figure.LaunchMargin)
	if !ok {
		t.Fatal(s.Builds[build].Absent(figure.LaunchMargin))
	}
	return f.Value
}
