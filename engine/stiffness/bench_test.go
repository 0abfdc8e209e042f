package stiffness_test

import (
	"os"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/stiffness"
	"foreshaft/engine/unit"
)

// One build with uncertainty: both solutions, and 22 inputs moved to either side,
// which is how many the build of the example has. At most 150 µs.
func BenchmarkOneBuild(b *testing.B) {
	data, err := os.ReadFile("../../testdata/jobs/example.json")
	if err != nil {
		b.Fatal(err)
	}
	j, err := job.Decode(data)
	if err != nil {
		b.Fatal(err)
	}
	rest, _ := j.Bow.Value.Rest()
	build := &j.Builds[0]
	b.ReportAllocs()
	for b.Loop() {
		column, err := stiffness.NewColumn(build, rest)
		if err != nil {
			b.Fatal(err)
		}
		bending, err := stiffness.NewBending(build)
		if err != nil {
			b.Fatal(err)
		}
		for i := range 2 * 22 {
			moved := *build
			moved.Head.Weight += unit.Mass(i-22) * unit.Grain / 16
			column.Near(&moved, rest)
			bending.Near(&moved)
		}
	}
}
