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

// dangers prepares the checks that hurt someone.
func (w *work) dangers() {
	for i := range w.geometric {
		trial := arrow.Build{Length: w.lengths[w.length].piece, Head: part.Head{Blades: i}}
		alone := w.alone
		for _, c := range caution.Check(caution.Facts{Job: &alone, Build: &trial,
			Figure: func(figure.Key) (figure.Figure, bool) { return figure.Figure{}, false }, Absent: func(figure.Key) string { return "" }}) {
			w.geometric[i] = w.geometric[i] || c.Level == caution.Danger
		}
	}
	most := 0.0
	for i := range w.fronts {
		most = max(most, w.fronts[i].variance)
	}
	trial := arrow.Build{Length: w.lengths[w.length].piece, Shaft: w.shafts[w.shaft].piece}
	behind := 0.0
	for _, n := range w.nocks {
		for _, v := range w.vanes {
			trial.Nock, trial.Vanes = n.piece, v.piece
			u := math.Hypot(float64(trial.WeightU(part.KindShaft)), math.Hypot(float64(trial.WeightU(part.KindNock)), float64(trial.WeightU(part.KindVanes))))
			behind = max(behind, u*u)
		}
	}
	low, high := 0.0, 20.
	for range 60 {
		if middle := (low + high) / 2; w.heavyEnough(middle, most+behind) == yes {
			high = middle
		} else {
			low = middle
		}
	}
	w.soundFrom = high
	w.slope, w.moment = make([]float64, len(w.fronts)), make([]float64, len(w.fronts))
	trial.Nock, trial.Vanes = part.Nock{}, unit.Optional[part.Vanes]{}
	for i, c := range w.fronts {
		w.slope[i], w.moment[i] = math.NaN(), math.NaN()
		if !c.bladed {
			continue
		}
		trial.Insert, trial.Head = w.inserts[c.insert].piece, w.heads[c.head].piece
		forces, err := steering.Of(&trial)
		if err != nil {
			continue
		}
		w.slope[i] = forces.Nose.Slope + forces.Blades.Slope
		w.moment[i] = forces.Nose.Slope*(float64(forces.Nose.At)-w.long) + forces.Blades.Slope*(float64(forces.Blades.At)-w.long)
	}
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
	if front.bladed && r.steer.known && !math.IsNaN(w.slope[k]) {
		balance := (r.first + front.first + front.mass*w.long) / total
		push := r.steer.moment + w.moment[k] + w.slope[k]*w.long
		straight := balance*(r.steer.slope+w.slope[k]) - push
		switch at := between(straight, 0, math.Inf(1), 1e-9*math.Abs(push)); at {
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
		u := math.Sqrt(variance+total*total*(f.pullU/f.pull)*(f.pullU/f.pull)) / f.pull
		decide(total/f.pull-2*u, f.perPull)
	}
	return out
}
