package search

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/steering"
	"foreshaft/engine/unit"
)

// geometry finds out whether an arrow of the table's length is a danger on its bow,
// whatever it is made of.
func (t *table) geometry() {
	for i := range t.geometric {
		trial := arrow.Build{Length: unit.Length(t.long), Head: part.Head{Blades: i}}
		alone := t.alone
		for _, c := range caution.Check(caution.Facts{Job: &alone, Build: &trial,
			Figure: func(figure.Key) (figure.Figure, bool) { return figure.Figure{}, false }, Absent: func(figure.Key) string { return "" }}) {
			t.geometric[i] = t.geometric[i] || c.Level == caution.Danger
		}
	}
}

// steerFront is what the air does to a head with blades on an insert: slope and moment
// about the cut end.
type steerFront struct {
	known         bool
	slope, moment float64
}

// steerFronts works them out for a shaft, by insert and head.
func (w *work) steerFronts() []steerFront {
	out := make([]steerFront, len(w.inserts)*len(w.heads))
	trial := longest()
	trial.Length, trial.Shaft = unit.Length(w.long), w.shafts[w.shaft].piece
	for i, insert := range w.inserts {
		trial.Insert = insert.piece
		for h, head := range w.heads {
			if head.piece.Blades == 0 {
				continue
			}
			trial.Head = head.piece
			if f, err := steering.Of(&trial); err == nil {
				out[i*len(w.heads)+h] = steerFront{true, f.Nose.Slope + f.Blades.Slope,
					f.Nose.Slope*(float64(f.Nose.At)-w.long) + f.Blades.Slope*(float64(f.Blades.At)-w.long)}
			}
		}
	}
	return out
}

// steerOf returns what the air does to a front; not known of one without blades.
func (w *work) steerOf(c *front) *steerFront {
	return &w.steer[int(c.insert)*len(w.heads)+int(c.head)]
}

// steerGroup is the least slope and the greatest moment about the throat of the fronts
// of a group that are known.
type steerGroup struct{ slope, moment float64 }

func (w *work) steerGroups() []steerGroup {
	out := make([]steerGroup, len(w.groups))
	for i, g := range w.groups {
		s := steerGroup{math.Inf(1), math.Inf(-1)}
		for k := g.from; k < g.to; k++ {
			if f := w.steerOf(&w.fronts[k]); f.known {
				s.slope, s.moment = min(s.slope, f.slope), max(s.moment, f.moment+f.slope*w.long)
			}
		}
		out[i] = s
	}
	return out
}

// heavyFrom returns a mass from which on no candidate of a shaft is too light.
func (w *work) heavyFrom() float64 {
	front, rear := 0.0, 0.0
	for i := range w.fronts {
		front = max(front, w.fronts[i].variance)
	}
	for n := range w.nocks {
		for v := range w.vanes {
			b := w.build(chosen{length: w.length, shaft: w.shaft, nock: int32(n), vanes: int32(v)})
			rear = max(rear, added(&b, 0, part.KindShaft, part.KindNock, part.KindVanes).variance)
		}
	}
	low, high := 0.0, 20.
	for range 60 {
		if middle := (low + high) / 2; w.heavyEnough(middle, front+rear) == yes {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}

// steerRear is what the air does to a rear: slope and moment about the throat.
type steerRear struct {
	known         bool
	slope, moment float64
}

func (w *work) steerRear(trial *arrow.Build, rear sum) steerRear {
	b := *trial
	b.Head = part.Head{Length: unit.Some(unit.Length(0))}
	forces, err := steering.Of(&b)
	if err != nil {
		return steerRear{}
	}
	return steerRear{true, forces.Body.Slope + forces.Vanes.Slope, forces.Body.Slope*float64(forces.Body.At) + forces.Vanes.Slope*float64(forces.Vanes.At)}
}

// sound tells whether a candidate is no danger, its margin aside.
func (w *work) sound(k int, r *rearOf, total float64) verdict {
	front := &w.fronts[k]
	blades := 0
	if front.bladed {
		blades = 1
	}
	if w.geometric[blades] {
		return no
	}
	out := yes
	if k < r.sound {
		if out = w.heavyEnough(total, r.variance+front.variance); out == no {
			return no
		}
	}
	if f := w.steerOf(front); f.known && r.steer.known {
		balance := (r.first + front.first + front.mass*w.long) / total
		push := r.steer.moment + f.moment + f.slope*w.long
		straight := balance*(r.steer.slope+f.slope) - push
		switch at := between(straight, 0, math.Inf(1), steerDoubt*math.Abs(push)); at {
		case no:
			return no
		case perhaps:
			out = perhaps
		}
	}
	return out
}

// heavyEnough tells whether an arrow is no danger by its weight, of which the square
// of the standard uncertainty is given: by the maker's minimum, and by grains per
// pound.
func (f *finder) heavyEnough(total, variance float64) verdict {
	out := yes
	decide := func(low, limit float64) {
		if at := between(low, limit, math.Inf(1), slopeDoubt*limit); at < out {
			out = at
		}
	}
	if f.minimum > 0 {
		decide(total-2*math.Sqrt(variance), f.minimum)
	}
	if f.pull > 0 {
		decide(total/f.pull-2*math.Hypot(math.Sqrt(variance)/f.pull, total*f.pullU), f.perPull)
	}
	return out
}
