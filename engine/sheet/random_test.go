package sheet_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"foreshaft/engine/bow"
	"foreshaft/engine/enginetest"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// someJob draws a valid job. A job of random values seldom has all that a path
// needs, so every other one is made to fly.
func someJob(t *rapid.T) *job.Job {
	j := enginetest.Job(t)
	if rapid.Bool().Draw(t, "flies") {
		j = madeToFly(t, j)
	}
	return j
}

// madeToFly gives a job what the figures of flight, of stiffness and of steering
// need, by values that an arrow
// could have but for a few that are odd: a coefficient of nothing, a slow bow, a
// distance out of reach.
func madeToFly(t *rapid.T, j *job.Job) *job.Job {
	number := func(what string, low, high float64) float64 {
		return float64(rapid.IntRange(int(low*10), int(high*10)).Draw(t, what)) / 10
	}
	inch := func(what string, low, high float64) unit.Length {
		return unit.Length(number(what, low, high)) * unit.Inch
	}
	j = j.Clone()
	b := &j.Bow.Value
	j.Bow.Given, b.Readings = true, nil
	for range rapid.IntRange(1, 3).Draw(t, "readings") {
		b.Readings = append(b.Readings, bow.Reading{Arrow: unit.Mass(number("arrow", 200, 600)) * unit.Grain, Speed: unit.Speed(number("speed", 80, 350)) * unit.FootPerSecond})
	}
	b.Peak, b.Draw = unit.Some(unit.Force(number("peak", 20, 80))*unit.PoundForce), unit.Some(inch("draw", 22, 32))
	b.RestBehindPivot = unit.Some(inch("rest", -2, 2))
	j.Sight.Given = true
	j.Sight.Value = job.Sight{PeepAboveNock: unit.Some(inch("eye", 0, 8)), PeepToPin: unit.Some(inch("pin", 1, 40))}
	for range rapid.IntRange(0, 5).Draw(t, "marks") {
		j.Sight.Value.Marks = append(j.Sight.Value.Marks, job.Mark{Distance: unit.Length(number("mark for", 5, 90)) * unit.Yard, Reading: inch("mark", -6, 6)})
	}
	j.Distances = nil
	for _, d := range rapid.SliceOfNDistinct(rapid.IntRange(2, 120), 1, 3, rapid.ID[int]).Draw(t, "distances") {
		j.Distances = append(j.Distances, unit.Length(d)*unit.Yard)
	}
	j.Slope = unit.Some(unit.Angle(number("slope", -60, 60)) * unit.Degree)
	if rapid.IntRange(0, 3).Draw(t, "level") == 0 {
		j.Slope.Given = false
	}
	j.Crosswind = unit.Some(unit.Speed(number("wind", -60, 60)) * unit.MilePerHour)
	j.TargetRadius = unit.Some(inch("radius", 0, 12))
	for i := range j.Builds {
		build := &j.Builds[i]
		build.Length, build.Nock.Throat.Given = inch("length", 24, 33), false
		build.Shaft.OuterDiameter = unit.Some(inch("diameter", 0.2, 0.4))
		build.Shaft.TubeWeight = unit.Some(unit.Mass(number("tube", 100, 400)) * unit.Grain)
		build.Shaft.Spine = unit.Some(unit.Length(number("spine", 2, 12)/10) * unit.Inch)
		build.Head.Length, build.Head.Blades = unit.Some(inch("head length", 0, 2)), rapid.IntRange(0, 3).Draw(t, "blades")
		if rapid.Bool().Draw(t, "proven") {
			build.Proven, build.Proof.Given = true, false
		}
		if rapid.Bool().Draw(t, "as most are") { // vanes behind, blades that stand out
			build.Vanes.Given, build.Vanes.Value.Count, build.Head.Expandable = true, 3, false
		}
		if build.Vanes.Given {
			build.Vanes.Value.Height = unit.Some(inch("vane height", 0, 1))
		}
		build.Head.CutWidth, build.Head.BladeLength = unit.Some(inch("cut width", 1, 2)), unit.Some(inch("blade length", 0.5, 2))
		build.DragCoefficient = unit.Some(number("drag", 0, 6))
		build.DragCoefficient.Given = rapid.IntRange(0, 2).Draw(t, "drag given") == 0
		price := unit.Some(number("price", 0, 20))
		for _, p := range []*unit.Optional[float64]{
			&build.Shaft.Price, &build.Nock.Price, &build.Head.Price, &build.Vanes.Value.Price, &build.Wrap.Value.Price, &build.Insert.Value.Price, &build.Collar.Value.Price,
		} {
			*p = price
		}
	}
	// Through the file, so that it is a job that somebody could have written.
	out, err := job.Decode(j.Encode())
	if err != nil {
		t.Fatalf("a valid job is refused: %v\n%s", err, j.Encode())
	}
	return out
}

// eachSeen fails where a figure never came up in the jobs of a test, which then
// said nothing of it. Under -short there are too few jobs to ask for that.
func eachSeen(t *testing.T, seen map[figure.Key]bool) {
	t.Helper()
	for _, k := range slices.Concat(sheet.Keys(), sheet.KeysAt()) {
		if !seen[k] && !testing.Short() {
			t.Errorf("no job had %s", k)
		}
	}
}

// everywhere calls f for a build as a whole and for each of its distances, with
// the figures that belong there.
func everywhere(s *sheet.Sheet, f func(build, distance int, set *sheet.Set)) {
	for i := range s.Builds {
		f(i, sheet.Whole, &s.Builds[i].Set)
		for n := range s.Builds[i].At {
			f(i, n, &s.Builds[i].At[n])
		}
	}
}
