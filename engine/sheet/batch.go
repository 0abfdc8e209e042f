package sheet

import (
	"fmt"
	"math"
	"slices"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/dozen"
	"foreshaft/engine/figure"
	"foreshaft/engine/unit"
)

// Shot is what one arrow of a batch comes to. A figure that lacks an input is NaN.
type Shot struct {
	Weight unit.Mass
	FOC    float64 // as a share of arrow length
	Speed  unit.Speed
	// Drop is how far it falls at the distance from the line in which it was let go. Arrows
	// let go alike hit as much apart as their drops differ.
	Drop unit.Length
}

// Shots computes every arrow of a pairing of a build's batch. Differences between them come
// of the weights of their pieces alone: bow, release and the drag of the outline are the
// same for all.
func (s *Sheet) Shots(build int, p *dozen.Pairing, d unit.Length) []Shot {
	b := &s.Job.Builds[build]
	out := make([]Shot, len(p.Arrows))
	for i, a := range p.Arrows {
		one := b.With(&b.Dozen.Value, a)
		values := s.here.Some(&one, []figure.Key{figure.TotalWeight, figure.FOC, figure.LaunchSpeed})
		at := s.here.At(&one, d)
		get := func(v *figure.Values, k figure.Key) float64 {
			if value, ok := v.Get(k); ok {
				return value
			}
			return math.NaN()
		}
		out[i] = Shot{
			Weight: unit.Mass(get(&values, figure.TotalWeight)), FOC: get(&values, figure.FOC),
			Speed: unit.Speed(get(&values, figure.LaunchSpeed)), Drop: unit.Length(get(&at, figure.Drop)),
		}
	}
	return out
}

// Graver is a danger or a warning that arrows of a batch bring and the build they are of does
// not.
type Graver struct {
	Arrow int // its place in the pairing
	caution.Caution
}

// Graver judges the lightest and the heaviest arrow of a pairing by the whole sheet, with the
// weights of their own pieces: what is said of the build need not hold for each of them. A
// proven build is judged against as it is on the sheet.
func (s *Sheet) Graver(build int, p *dozen.Pairing) []Graver {
	if len(p.Arrows) == 0 {
		return nil
	}
	b := &s.Job.Builds[build]
	light, heavy, least, most := 0, 0, math.Inf(1), math.Inf(-1)
	for i, a := range p.Arrows {
		one := b.With(&b.Dozen.Value, a)
		values := s.here.Some(&one, []figure.Key{figure.TotalWeight})
		weight, ok := values.Get(figure.TotalWeight)
		if !ok {
			continue
		}
		if weight < least {
			light, least = i, weight
		}
		if weight > most {
			heavy, most = i, weight
		}
	}
	j := *s.Job
	j.Distances = []unit.Length{s.Job.DistancesOrDefault()[s.Job.Farthest()]}
	j.Builds, j.Baseline = nil, 0
	j.Sight.Value.Marks = nil // they were shot with the baseline, which is not among these
	for n, at := range []int{light, heavy} {
		one := b.With(&b.Dozen.Value, p.Arrows[at])
		one.Name, one.Proven = fmt.Sprintf("arrow %d.%d", at+1, n), false
		one.Proof, one.Dozen = unit.Optional[arrow.Proof]{}, unit.Optional[dozen.Batch]{}
		j.Builds = append(j.Builds, one)
	}
	if name := s.provenName(); name != "" {
		for i := range s.Job.Builds {
			if s.Job.Builds[i].Name == name {
				j.Builds = append(j.Builds, s.Job.Builds[i].Clone())
			}
		}
	}
	judged := EvaluateIn(&j, s.Units)
	var out []Graver
	for n, at := range []int{light, heavy} {
		for _, c := range judged.Builds[n].Cautions {
			said := func(o caution.Caution) bool { return o.Same(c) && o.Level == c.Level }
			if c.Level != caution.Danger && c.Level != caution.Warn || slices.ContainsFunc(s.Builds[build].Cautions, said) ||
				slices.ContainsFunc(out, func(g Graver) bool { return said(g.Caution) }) {
				continue
			}
			out = append(out, Graver{at, c})
		}
	}
	return out
}
