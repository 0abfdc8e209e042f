package sheet

import (
	"math"

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
