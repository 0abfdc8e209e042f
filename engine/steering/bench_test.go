package steering_test

import (
	"os"
	"testing"

	"foreshaft/engine/job"
	"foreshaft/engine/steering"
	"foreshaft/engine/unit"
)

// One build with uncertainty: the forces, and 22 inputs moved to either side, which
// is how many the build of the example has. At most 150 µs.
func BenchmarkOneBuild(b *testing.B) {
	data, err := os.ReadFile("../../testdata/jobs/example.json")
	if err != nil {
		b.Fatal(err)
	}
	j, err := job.Decode(data)
	if err != nil {
		b.Fatal(err)
	}
	build := &j.Builds[0]
	b.ReportAllocs()
	for b.Loop() {
		for i := range 1 + 2*22 {
			moved := *build
			moved.Head.Weight += unit.Mass(i-22) * unit.Grain / 16
			f, err := steering.Of(&moved)
			if err != nil {
				b.Fatal(err)
			}
			m := moved.Moments()
			f.PressurePoint()
			f.HeadShare(m.Balance)
			f.WobbleLength(m, 1.2)
		}
	}
}
