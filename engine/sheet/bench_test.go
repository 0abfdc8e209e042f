package sheet_test

import (
	"fmt"
	"testing"

	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// One build, all figures with uncertainty, five distances on the level in a wind,
// differences aside: at most 1 ms.
func BenchmarkEvaluateOneBuild(b *testing.B) {
	j := decoded(b, example(b))
	b.ReportAllocs()
	for b.Loop() {
		sheet.Evaluate(j)
	}
}

// The same on a slope, where a level shot is solved beside each of five: at most
// 1 ms.
func BenchmarkEvaluateOnASlope(b *testing.B) {
	j := decoded(b, example(b))
	j.Slope = unit.Some(20 * unit.Degree)
	if len(j.Distances) != 5 || !j.Crosswind.Given {
		b.Fatal("five distances and a wind")
	}
	b.ReportAllocs()
	for b.Loop() {
		sheet.Evaluate(j)
	}
}

// One build at one distance as bare numbers, with a baseline that it is compared
// with, for a search over many builds.
func BenchmarkAt(b *testing.B) {
	j := decoded(b, example(b))
	setting := sheet.NewSetting(j)
	b.ReportAllocs()
	for b.Loop() {
		setting.At(&j.Builds[0], 60*unit.Yard)
	}
}

// Eight builds, each with another insert and another length, as on a full bench.
func BenchmarkEvaluateEight(b *testing.B) {
	j := decoded(b, example(b))
	first := j.Builds[0]
	for i := range 7 {
		next := first.Clone()
		next.Name = fmt.Sprint("build ", i)
		next.Length += unit.Length(i+1) * 0.25 * unit.Inch
		next.Insert = unit.Some(part.Insert{Weight: unit.Mass(20+10*i) * unit.Grain, Depth: unit.Inch})
		j.Builds = append(j.Builds, next)
	}
	b.ReportAllocs()
	for b.Loop() {
		s := sheet.Evaluate(j)
		for i := range s.Builds {
			for _, k := range sheet.Keys() {
				s.Delta(i, k)
			}
			for n := range s.Builds[i].At {
				for _, k := range sheet.KeysAt() {
					s.DeltaAt(i, n, k)
				}
			}
		}
	}
}

// Numbers only, for work that looks at many builds.
func BenchmarkValues(b *testing.B) {
	j := decoded(b, example(b))
	setting := sheet.NewSetting(j)
	b.ReportAllocs()
	for b.Loop() {
		setting.Values(&j.Builds[0])
	}
}
