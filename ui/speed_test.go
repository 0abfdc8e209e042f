package ui

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"

	"foreshaft/engine/bow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/theme"
)

// fullBench is a bench on which nothing is left out: eight different builds with
// every kind of piece and price, a rules sheet, and readings at several
// settings.
func fullBench() *job.Job {
	j := store.SampleBench()
	sample, drawer := j.Builds, store.SampleParts()
	first := func(k part.Kind) *part.Part {
		i := slices.IndexFunc(drawer, func(p part.Part) bool { return p.Kind == k })
		return &drawer[i]
	}
	j.Builds = nil
	for i := range 8 {
		b := sample[i%len(sample)].Clone()
		b.Name = fmt.Sprintf("Build %d", i+1)
		b.Length += unit.Length(i) * unit.Inch / 8
		if !b.Collar.Given {
			b.Collar = first(part.KindCollar).Collar
		}
		if !b.Wrap.Given {
			b.Wrap = first(part.KindWrap).Wrap
		}
		b.Extras = []part.Extra{{Name: "glue", Weight: 2 * unit.Grain, Balance: 29 * unit.Inch, Trade: part.Trade{Price: unit.Some(0.1)}}}
		j.Builds = append(j.Builds, b)
	}
	j.Limits = unit.Some(job.Limits{MaxSpeed: 300 * unit.FootPerSecond, MinWeight: 400 * unit.Grain, MinWeightPerDraw: 6 * unit.GrainPerPound})
	r := &j.Bow.Value
	for _, at := range []struct{ arrow, speed, peak float64 }{{470, 277, 68}, {610, 244, 66}, {380, 300, 67}} {
		r.Readings = append(r.Readings, bow.Reading{Arrow: unit.Mass(at.arrow) * unit.Grain, Speed: unit.Speed(at.speed) * unit.FootPerSecond,
			Conditions: bow.Conditions{Peak: unit.Some(unit.Force(at.peak) * unit.PoundForce), Draw: r.Draw, Brace: r.Brace}})
	}
	return j
}

// edit is a key that changes the bench, the keys that lead up to it, and what comes
// after the frame: led is what the program does beside the screen.
type edit struct {
	name string
	lead func(a *App, i int)
	key  tea.KeyMsg
	back func(a *App, led tea.Cmd)
}

func runes(s string) tea.KeyMsg { return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(s)} }

func give(a *App, msgs ...tea.KeyMsg) {
	for _, m := range msgs {
		a.Update(m)
	}
}

var (
	enter = tea.KeyMsg{Type: tea.KeyEnter}
	esc   = tea.KeyMsg{Type: tea.KeyEsc}
)

// typeReading opens the speed of the first reading and types a speed that it
// never had before, so that nothing kept from earlier can be the answer.
func typeReading(a *App, i int) {
	give(a, runes("b"), runes("l"), runes("l"), enter, runes(fmt.Sprintf("%.4f", 285+float64(i%60000)/10000)))
}

// stay leaves the screen as it is.
func stay(*App, tea.Cmd) {}

var edits = []edit{
	{"reading, in the form", typeReading, enter, func(a *App, _ tea.Cmd) { give(a, esc) }},
	// The bow changes while all eight builds are on screen.
	{"reading, on the bench", func(a *App, i int) { typeReading(a, i); give(a, enter, esc) }, runes("z"), stay},
	{"baseline", func(a *App, i int) { give(a, runes([]string{"l", "h"}[i/4%2])) }, runes("n"), stay},
	{"part", varyPart, runes("+"), stay},
}

// typeWind types a wind that never blew before.
func typeWind(a *App, i int) { give(a, enter, runes(fmt.Sprintf("%.5f", 1+float64(i%400000)/10000))) }

// winds are the ways to change the wind on the Downrange screen, on which every
// build has a curve of many distances besides its figures.
var winds = []edit{
	{"wind, typed", typeWind, enter, stay},
	{"wind, a step", func(a *App, i int) { typeWind(a, i); give(a, enter) }, runes("+"), stay},
	{"wind, taken back", func(a *App, i int) { typeWind(a, i); give(a, enter) }, runes("z"), stay},
}

// BenchmarkKeyToFrame measures what someone waits for: from Update receiving a
// key to View returning the frame, eight builds at 200×60, everything shown.
// Budget: 8 ms at the 99th percentile.
func BenchmarkKeyToFrame(b *testing.B) { keyToFrame(b, edits, func(*App) {}) }

// BenchmarkKeyToFrameDownrange is the same on the Downrange screen with its chart
// of wind drift, where each key changes the wind. The budget is the same.
func BenchmarkKeyToFrameDownrange(b *testing.B) {
	keyToFrame(b, winds, func(a *App) {
		give(a, runes("3"), tea.KeyMsg{Type: tea.KeyHome}, runes("fffff"))
		if view := a.View(); !strings.Contains(view, "wind drift, in") || !strings.Contains(view, " flight time") {
			b.Fatalf("no chart of wind drift, or no figures:\n%s", view)
		}
	})
}

// swaps are the ways to change the build in focus on the Swap map.
var swaps = []edit{
	{"pair, put in", func(a *App, i int) {
		give(a, []tea.KeyMsg{{Type: tea.KeyDown}, {Type: tea.KeyUp}}[i/3%2], []tea.KeyMsg{{Type: tea.KeyRight}, {Type: tea.KeyLeft}}[i/3%2])
	}, enter, stay},
	{"pair, taken back", func(*App, int) {}, runes("z"), stay},
	{"pair, put in again", func(*App, int) {}, runes("Z"), stay},
}

// BenchmarkKeyToFrameSwapMap is the same on the Swap map with the launch margin of
// each cell, of a drawer drawer. The budget for it is 16 ms.
func BenchmarkKeyToFrameSwapMap(b *testing.B) {
	keyToFrame(b, swaps, func(a *App) {
		give(a, runes("2"), runes("f"), runes("f"), runes("f"), runes("f"))
		if view := a.View(); !strings.Contains(view, "launch margin") {
			b.Fatalf("no launch margin:\n%s", view)
		}
	})
}

// foundAgain lets Find look through the drawer to the end: what was found before
// cannot be put in.
func foundAgain(a *App, led tea.Cmd) {
	s := &sitting{app: a, inbox: make(chan tea.Msg, 100)}
	s.start(led)
	for view := ""; !strings.Contains(view, "that nothing beats") || strings.Contains(view, "░"); view = a.View() {
		s.take(<-s.inbox)
	}
}

// matches are the ways to put what was found into the build in focus.
var matches = []edit{
	{"next match, put in", func(a *App, _ int) { give(a, tea.KeyMsg{Type: tea.KeyDown}) }, enter, foundAgain},
	{"match before, put in", func(a *App, _ int) { give(a, tea.KeyMsg{Type: tea.KeyUp}) }, enter, foundAgain},
}

// BenchmarkKeyToFrameFind is the same on Find with its list of matches and a chart of
// what nothing beats on price and margin.
func BenchmarkKeyToFrameFind(b *testing.B) {
	keyToFrame(b, matches, func(a *App) {
		var led tea.Cmd
		for _, k := range []string{"4", "g", "g", "g", "g", "f", "f", "f", "f"} {
			_, led = a.Update(runes(k))
		}
		foundAgain(a, led)
		give(a, tea.KeyMsg{Type: tea.KeyPgDown})
	})
}

// weights are the ways to change a dozen.
var weights = []edit{
	{"a weight", func(a *App, _ int) { give(a, runes("231.7")) }, enter, stay},
	{"undone", func(*App, int) {}, tea.KeyMsg{Type: tea.KeyCtrlZ}, stay},
}

// BenchmarkKeyToFrameDozen is the same on the Dozen screen with 25 shafts and as many
// heads, which are paired with the key.
func BenchmarkKeyToFrameDozen(b *testing.B) {
	keyToFrame(b, weights, func(a *App) {
		column := func(of string) tea.KeyMsg {
			return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(strings.Repeat(of, 5)), Paste: true}
		}
		give(a, runes("5"), column("231.4\r231.2\r232.7\r229.9\r231.1\r"), tea.KeyMsg{Type: tea.KeyTab}, column("125\r125.1\r124.8\r125.3\r124.9\r"), tea.KeyMsg{Type: tea.KeyShiftTab})
		if view := a.View(); !strings.Contains(view, "25 arrows of") {
			b.Fatalf("nothing is paired:\n%s", view)
		}
	})
}

// keyToFrame measures edits in turn on a screen that open leads to.
func keyToFrame(b *testing.B, edits []edit, open func(a *App)) {
	CollectSeldom() // as the program does
	times := map[string][]time.Duration{}
	var all []time.Duration
	var a *App
	i := 0
	for b.Loop() {
		// With all that leads up to the keys this is a sitting of more than a
		// thousand changes, every one of which undo remembers.
		if i%400 == 0 {
			a = New(Options{Keeper: &fakeKeeper{}, Bench: benchOptions(fullBench(), theme.Dark, termenv.TrueColor)})
			a.Update(tea.WindowSizeMsg{Width: 200, Height: 60})
			open(a)
		}
		e := &edits[i%len(edits)]
		e.lead(a, i)
		a.saving = false // the disk has answered
		before := a.bench.Job()
		start := time.Now()
		_, led := a.Update(e.key)
		frame := a.View()
		took := time.Since(start)
		if a.bench.Job() == before || len(frame) < 200*60 {
			b.Fatalf("%s changed nothing:\n%s", e.name, frame)
		}
		times[e.name], all = append(times[e.name], took), append(all, took)
		e.back(a, led)
		i++
	}
	b.ReportMetric(0, "ns/op") // the loop holds more than is measured
	b.ReportMetric(milliseconds(all, 0.50), "p50-ms")
	b.ReportMetric(milliseconds(all, 0.99), "p99-ms")
	for _, e := range edits {
		b.Logf("%-22s n=%d p50 %.2f ms  p99 %.2f ms", e.name, len(times[e.name]), milliseconds(times[e.name], 0.5), milliseconds(times[e.name], 0.99))
	}
}

// varyPart puts the lightest insert that fits into the build in focus, at a
// length that it never had, so that + always has somewhere to go.
func varyPart(a *App, i int) {
	give(a, runes("k"), enter, runes(fmt.Sprintf("%.5f", 28+float64(i%300000)/100000)), enter, runes("j"))
	for range 12 {
		give(a, runes("-"))
	}
}

func milliseconds(list []time.Duration, share float64) float64 {
	sorted := slices.Sorted(slices.Values(list))
	if len(sorted) == 0 {
		return 0
	}
	return float64(sorted[min(int(share*float64(len(sorted))), len(sorted)-1)].Microseconds()) / 1000
}
