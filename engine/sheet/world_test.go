package sheet_test

import (
	"fmt"
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// The model once more, written from its definitions in trade units and sharing
// no code with the engine: a world draws every input from its stated
// distribution and gives the figures that would have been found. Weights are in
// gr, places in in, speeds in ft/s, forces in lb.

// energyDivisor turns gr·(ft/s)² into ft·lbf and momentumDivisor gr·ft/s into
// lbf·s: 2 × 7000 gr/lb × g, and 7000 gr/lb × g, with g = 9.80665/0.3048 ft/s²
// (NIST SP 811).
const (
	gravityFeet     = 9.80665 / 0.3048
	momentumDivisor = 7000 * gravityFeet
	energyDivisor   = 2 * momentumDivisor
)

// worldKeys are the figures that a world gives, in its order.
var worldKeys = []figure.Key{
	figure.TotalWeight, figure.FrontWeight, figure.BalancePoint, figure.FOC, figure.Inertia, figure.WeightPerDraw,
	figure.LaunchSpeed, figure.LaunchEnergy, figure.LaunchMomentum, figure.EnergyShare,
}

const worldCount = 10

type outcome [worldCount]float64

// world holds the independent standard normal draws that all inputs are made of.
type world struct {
	known  map[string]int
	bow    func(z []float64) shot
	builds []func(z []float64, s shot) outcome
	// outlines give what the air sees of each build: nil where the job does not say.
	outlines []func(z []float64, s shot, v float64) inAir
}

// shot is what a bow and the air turned out to be: e is twice the bow's energy in
// gr·(ft/s)².
type shot struct{ e, k, peak, calibration, density float64 }

func newWorld(j *job.Job) *world {
	w := &world{known: map[string]int{}}
	w.bow = w.bowOf(&j.Bow.Value)
	for i := range j.Builds {
		w.builds = append(w.builds, w.buildOf(&j.Builds[i]))
	}
	return w
}

// error returns an input's deviation: u times one standard normal draw, which
// is the same draw for the same key.
func (w *world) error(key string, u float64) func(z []float64) float64 {
	i, ok := w.known[key]
	if !ok {
		i = len(w.known)
		w.known[key] = i
	}
	return func(z []float64) float64 { return u * z[i] }
}

func orElse[T ~float64](o unit.Optional[T], size T, fallback float64) float64 {
	if o.Given {
		return float64(o.Value / size)
	}
	return fallback
}

func grains(m unit.Mass) float64   { return float64(m / unit.Grain) }
func inches(l unit.Length) float64 { return float64(l / unit.Inch) }

// lump is a mass spread evenly over span around centre.
type lump struct{ mass, centre, span float64 }

// buildOf draws a build: weighed pieces ± 0.2 gr when it is a tube, others
// ± 1 gr unless stated, shaft 1 % of its weight per inch, lengths 0.03 in,
// places 0.1 in. A piece equal in every field is the same piece wherever it
// turns up, and the same shaft cut to the same length is the same tube.
func (w *world) buildOf(b *arrow.Build) func(z []float64, s shot) outcome {
	seen := map[string]int{}
	same := func(piece any) func(what string, u float64) func([]float64) float64 {
		key := fmt.Sprintf("%T %+v", piece, piece)
		seen[key]++
		key = fmt.Sprintf("%s #%d", key, seen[key])
		return func(what string, u float64) func([]float64) float64 { return w.error(key+" "+what, u) }
	}
	weightU := func(u unit.Optional[unit.Mass]) float64 { return orElse(u, unit.Grain, 1) }
	lengthU := func(u unit.Optional[unit.Length]) float64 { return orElse(u, unit.Inch, 0.03) }
	placeU := func(u unit.Optional[unit.Length]) float64 { return orElse(u, unit.Inch, 0.1) }

	var rear, front []func(z []float64, length, throat float64) lump
	length0, throat0 := inches(b.Length), orElse(b.Nock.Throat, unit.Inch, 0.5)
	shaft := same(b.Shaft)
	dLength := w.error(fmt.Sprintf("cut %+v %v %+v", b.Shaft, b.Length, b.LengthU), lengthU(b.LengthU))
	if b.Shaft.TubeWeight.Given {
		m, dm := grains(b.Shaft.TubeWeight.Value), shaft("tube", orElse(b.Shaft.TubeWeightU, unit.Grain, 0.2))
		rear = append(rear, func(z []float64, length, throat float64) lump {
			return lump{m + dm(z), (length + throat) / 2, length - throat}
		})
	} else {
		p := float64(b.Shaft.WeightPerInch.Value / unit.GrainPerInch)
		dp := shaft("per inch", orElse(b.Shaft.WeightPerInchU, unit.GrainPerInch, 0.01*p))
		rear = append(rear, func(z []float64, length, throat float64) lump {
			return lump{(p + dp(z)) * (length - throat), (length + throat) / 2, length - throat}
		})
	}
	nock := same(b.Nock)
	dThroat, dNock, dNockAt := nock("throat", lengthU(b.Nock.ThroatU)), nock("weight", weightU(b.Nock.WeightU)), nock("balance", placeU(b.Nock.BalanceU))
	rear = append(rear, func(z []float64, length, throat float64) lump {
		return lump{grains(b.Nock.Weight) + dNock(z), orElse(b.Nock.Balance, unit.Inch, throat) + dNockAt(z), 0}
	})
	vaneLength := func([]float64) float64 { return 0 }
	if v := b.Vanes.Value; b.Vanes.Given {
		own := same(v)
		dm, dl, dx := own("weight", weightU(v.WeightU)), own("length", lengthU(v.LengthU)), own("rear", placeU(v.RearU))
		vaneLength = func(z []float64) float64 { return inches(v.Length) + dl(z) }
		rear = append(rear, func(z []float64, length, throat float64) lump {
			l := vaneLength(z)
			return lump{float64(v.Count) * (grains(v.Weight) + dm(z)), inches(v.Rear) + dx(z) + l/2, l}
		})
	}
	if p := b.Wrap.Value; b.Wrap.Given {
		own := same(p)
		dm, dl := own("weight", weightU(p.WeightU)), own("length", lengthU(p.LengthU))
		rear = append(rear, func(z []float64, length, throat float64) lump {
			l := inches(p.Length) + dl(z)
			return lump{grains(p.Weight) + dm(z), throat + l/2, l}
		})
	}
	proud := 0.0
	if p := b.Insert.Value; b.Insert.Given {
		own := same(p)
		proud = orElse(p.Proud, unit.Inch, 0)
		dm, dl := own("weight", weightU(p.WeightU)), own("depth", lengthU(p.DepthU))
		front = append(front, func(z []float64, length, throat float64) lump {
			from, to := length-inches(p.Depth)-dl(z), length+proud
			return lump{grains(p.Weight) + dm(z), (from + to) / 2, to - from}
		})
	}
	if p := b.Collar.Value; b.Collar.Given {
		own := same(p)
		dm, dl := own("weight", weightU(p.WeightU)), own("length", lengthU(p.LengthU))
		front = append(front, func(z []float64, length, throat float64) lump {
			l := inches(p.Length) + dl(z)
			return lump{grains(p.Weight) + dm(z), length - l/2, l}
		})
	}
	h := b.Head
	head := same(h)
	dHead, dHeadAt, dHeadLong := head("weight", weightU(h.WeightU)), head("balance", placeU(h.BalanceU)), head("length", lengthU(h.LengthU))
	front = append(front, func(z []float64, length, throat float64) lump {
		at := 0.5
		if h.Balance.Given {
			at = inches(h.Balance.Value)
		} else if h.Length.Given {
			at = (inches(h.Length.Value) + dHeadLong(z)) / 2
		}
		return lump{grains(h.Weight) + dHead(z), length + proud + at + dHeadAt(z), 0}
	})
	for _, e := range b.Extras {
		own := same(e)
		dm, dx, dl := own("weight", weightU(e.WeightU)), own("place", placeU(e.BalanceU)), own("length", lengthU(e.LengthU))
		put := func(z []float64, length, throat float64) lump {
			l := 0.0
			if e.Length.Given {
				l = inches(e.Length.Value) + dl(z)
			}
			return lump{grains(e.Weight) + dm(z), inches(e.Balance) + dx(z), l}
		}
		// Front or rear is a rule on the stated place, not a thing in doubt.
		if inches(e.Balance) >= 0.85*length0-1e-6 {
			front = append(front, put)
		} else {
			rear = append(rear, put)
		}
	}
	w.outlines = append(w.outlines, w.outlineOf(b, shaft, func(z []float64) float64 { return length0 + dLength(z) - throat0 - dThroat(z) }, vaneLength))
	return func(z []float64, s shot) outcome {
		length, throat := length0+dLength(z), throat0+dThroat(z)
		var lumps [16]lump
		all := lumps[:0]
		for _, put := range rear {
			all = append(all, put(z, length, throat))
		}
		ahead := 0.0
		for _, put := range front {
			one := put(z, length, throat)
			ahead += one.mass
			all = append(all, one)
		}
		return figuresOf(all, length, ahead, s)
	}
}

func figuresOf(all []lump, length, ahead float64, s shot) outcome {
	total, first, second := 0.0, 0.0, 0.0
	for _, l := range all {
		total += l.mass
		first += l.mass * l.centre
		second += l.mass * (l.centre*l.centre + l.span*l.span/12)
	}
	balance := first / total
	v := s.calibration * math.Sqrt(s.e/(total+s.k))
	return outcome{total, ahead, balance, 100 * (balance/length - 0.5), second - total*balance*balance, total / s.peak,
		v, total * v * v / energyDivisor, total * v / momentumDivisor, 100 * total / (total + s.k)}
}

// seenSpeed is a speed to be fitted: taken at its own settings where it has them.
type seenSpeed struct {
	mass, speed, sigma, scale float64
	at                        bow.Conditions
}

// bowOf draws a bow: its settings, the effect of the draw, the chronograph, and
// E and K from the covariance of their fit. The fit is made anew where the
// settings say how a speed taken elsewhere counts.
func (w *world) bowOf(b *bow.Bow) func(z []float64) shot {
	mean, sd, brace, n, nU := 90.0, 40.0, 6.5, 1.34, 0.3
	switch b.Kind {
	case bow.Recurve:
		mean, sd, brace, n, nU = 120, 50, 7.5, 1, 0
	case bow.Longbow:
		mean, sd, brace, n, nU = 180, 60, 7.5, 1, 0
	}
	brace = orElse(b.Brace, unit.Inch, brace)
	peak0, draw0 := orElse(b.Peak, unit.PoundForce, math.NaN()), orElse(b.Draw, unit.Inch, math.NaN())
	var speeds []seenSpeed
	calibrationU := 0.005
	for _, r := range b.Readings {
		sigma := math.Max(0.5, orElse(r.SD, unit.FootPerSecond, 1.5))
		speeds = append(speeds, seenSpeed{grains(r.Arrow), float64(r.Speed / unit.FootPerSecond), sigma, 1, r.Conditions})
	}
	if r := b.Rating.Value; len(speeds) == 0 && b.Rating.Given {
		v := 0.97 * float64(r.Speed/unit.FootPerSecond)
		speeds = append(speeds, seenSpeed{grains(r.Arrow), v, 0.03 * v, 1, r.Conditions})
		calibrationU = 0
	}
	scaled := func(peak, draw, exponent float64) bool {
		any := false
		for i := range speeds {
			s := &speeds[i]
			s.scale = 1
			// What was set as the bow is now moves with the bow.
			if s.at.Peak.Given && s.at.Peak != b.Peak {
				s.scale = orElse(s.at.Peak, unit.PoundForce, 0) / peak
			}
			there := draw
			if s.at.Draw.Given && s.at.Draw != b.Draw {
				there = inches(s.at.Draw.Value)
			}
			if thereBrace := orElse(s.at.Brace, unit.Inch, brace); there != draw || thereBrace != brace {
				s.scale *= math.Pow((there-thereBrace-1.75)/(draw-brace-1.75), exponent)
			}
			any = any || s.scale != 1
		}
		return any
	}
	again := scaled(peak0, draw0, n)
	best := fitAnew(speeds, mean, sd)
	dPeak, dDraw := w.error("peak", orElse(b.PeakU, unit.PoundForce, 0.5)), w.error("draw", orElse(b.DrawU, unit.Inch, 0.1))
	dN, dCalibration := w.error("exponent", nU), w.error("calibration", calibrationU)
	dEnergy, dOther, dDensity := w.error("E", 1), w.error("K beside E", 1), w.error("density", 0.005*airDensity)
	return func(z []float64) shot {
		peak, f := peak0+dPeak(z), best
		if again {
			scaled(peak, draw0+dDraw(z), n+dN(z))
			f = fitAnew(speeds, mean, sd)
		}
		first, second := dEnergy(z), dOther(z)
		return shot{
			f.e + best.eU*first, f.k + best.kU*(best.correlation*first+math.Sqrt(1-best.correlation*best.correlation)*second),
			peak, 1 + dCalibration(z), airDensity + dDensity(z),
		}
	}
}

// fitOf is a fit of e and k with its covariance.
type fitOf struct{ e, k, eU, kU, correlation float64 }

// fitAnew minimises Σ ((vᵢ − √(e sᵢ/(mᵢ+k)))/σᵢ)² + ((k − mean)/sd)² by
// Gauss–Newton steps on e and k.
func fitAnew(speeds []seenSpeed, mean, sd float64) fitOf {
	k := mean
	e := speeds[0].speed * speeds[0].speed * (speeds[0].mass + k) / speeds[0].scale
	for range 50 {
		ee, ek, kk := 0.0, 0.0, 1/(sd*sd)
		ge, gk := 0.0, (mean-k)/(sd*sd)
		for _, s := range speeds {
			v := math.Sqrt(e * s.scale / (s.mass + k))
			r, byE, byK := (s.speed-v)/s.sigma, v/(2*e)/s.sigma, -v/(2*(s.mass+k))/s.sigma
			ee, ek, kk = ee+byE*byE, ek+byE*byK, kk+byK*byK
			ge, gk = ge+byE*r, gk+byK*r
		}
		det := ee*kk - ek*ek
		dE, dK := (ge*kk-gk*ek)/det, (gk*ee-ge*ek)/det
		e, k = e+dE, k+dK
		if math.Abs(dK) < 1e-10 && math.Abs(dE) < 1e-12*e {
			return fitOf{e, k, math.Sqrt(kk / det), math.Sqrt(ee / det), -ek / math.Sqrt(ee*kk)}
		}
	}
	panic("the fit of the test does not settle")
}
