package store

import (
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// SampleBow is the name of the invented bow. What is saved with it is marked as
// a sample.
const SampleBow = "Sample bow (invented)"

// SampleBench returns the bench of a new workbook: an invented bow with two
// readings, and three builds of sample parts that differ in what they are for.
func SampleBench() *job.Job {
	j := job.New()
	j.Bow = unit.Some(sampleBow())
	j.Sight = unit.Some(job.Sight{PeepToPin: inches(34), PeepAboveNock: inches(4.5)})
	j.Crosswind = unit.Some(10 * unit.MilePerHour)
	d := sampleDrawer()
	j.Builds = []arrow.Build{
		{
			Name: "Open ground", Length: 29.5 * unit.Inch,
			Shaft: d["shaft-5-mm-350"].Shaft.Value, Nock: d["nock-plain-5-mm"].Nock.Value, Vanes: d["vanes-16-in-low-3"].Vanes,
			Insert: d["insert-aluminium-5-mm-16-gr"].Insert, Head: d["head-field-point-125-gr"].Head.Value,
		},
		{
			Name: "Even keel", Length: 29.5 * unit.Inch,
			Shaft: d["shaft-5-mm-300"].Shaft.Value, Nock: d["nock-plain-5-mm"].Nock.Value, Vanes: d["vanes-22-in-3"].Vanes,
			Wrap: d["wrap-4-in"].Wrap, Insert: d["insert-brass-5-mm-50-gr"].Insert, Collar: d["collar-steel-264-16-gr"].Collar,
			Head: d["head-field-point-100-gr"].Head.Value,
		},
		{
			Name: "Close cover", Length: 29.75 * unit.Inch,
			Shaft: d["shaft-4-mm-250"].Shaft.Value, Nock: d["nock-lighted-4-mm"].Nock.Value, Vanes: d["vanes-275-in-tall-3"].Vanes,
			Insert: d["insert-brass-half-out-4-mm-75-gr"].Insert, Head: d["head-3-blade-fixed-125-gr"].Head.Value,
		},
	}
	return j
}

// sampleDrawer returns the sample parts as a build takes them, by ID without its
// prefix.
func sampleDrawer() map[string]part.Part {
	drawer := map[string]part.Part{}
	for _, p := range SampleParts() {
		drawer[strings.TrimPrefix(p.ID, samplePrefix)] = p.Weighed()
	}
	return drawer
}

// sampleBow is set as most hunting compounds are. Its readings lie on a virtual
// mass of 94 gr, near what a compound has.
func sampleBow() bow.Bow {
	b := bow.Bow{
		Name: SampleBow, Kind: bow.Compound, Release: bow.Aid,
		Peak: unit.Some(68 * unit.PoundForce), Draw: inches(29.5), Brace: inches(6.5),
		MinimumArrow: unit.Some(350 * unit.Grain), MaximumPeak: unit.Some(70 * unit.PoundForce),
	}
	for _, r := range []struct{ arrow, speed float64 }{{420, 291}, {540, 262}} {
		b.Readings = append(b.Readings, bow.Reading{
			Arrow: grains(r.arrow), Speed: unit.Speed(r.speed) * unit.FootPerSecond, SD: unit.Some(1 * unit.FootPerSecond),
			Conditions: b.Now(),
		})
	}
	return b
}
