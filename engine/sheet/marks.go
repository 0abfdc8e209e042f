package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/flight"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// scale turns the tangent of a launch angle above the line of sight into a sight
// mark: from the sight's geometry, or fitted to marks that were shot.
type scale struct {
	zero       float64 // m on the sight's scale
	perTangent float64 // m: the distance from peep to pin times the scale
	known      bool
}

func (s scale) mark(tangent float64) float64 { return s.zero + s.perTangent*tangent }

// learned is what the known marks said about speed and drag: factors on the
// speed of all builds, on the drag of all builds that goes by the formula, and on
// the drag of builds with the outline of the baseline.
type learned struct {
	speed, common, own float64
	outline            dragOwner
	// settled is the factor on the drag of one build, where inputs of that build
	// are moved and its outline with them; 0 is not settled.
	settled float64
}

func (l *learned) factor(b *arrow.Build) float64 {
	if l.settled > 0 {
		return l.settled
	}
	f := 1.0
	if !b.DragCoefficient.Given {
		f = l.common
	}
	if l.own != 1 && l.outline == dragOwnerOf(b) {
		f *= l.own
	}
	return f
}

// dragOwner identifies what an arrow's own error of drag belongs to: two builds
// that look the same to the air have the same one. How long the tube is does not
// count: an arrow cut a little shorter is in error by as much as before.
type dragOwner struct {
	outline arrow.Outline
	given   unit.Optional[float64]
	u       unit.Optional[float64]
}

func dragOwnerOf(b *arrow.Build) dragOwner {
	outline, err := arrow.OutlineOf(b)
	if err != nil { // the coefficient is given, and its outline is not all known
		outline = arrow.Outline{Diameter: b.Shaft.OuterDiameter.Value}
	}
	outline.Tube = 0
	return dragOwner{outline, b.DragCoefficient, b.DragCoefficientU}
}

// markU is the standard uncertainty of a mark that was shot in, as a tangent: an
// inch at a hundred yards (common practice for a careful group).
const markU = 1. / 3600

// Marks is what the marks that were shot in say of the sight.
type Marks struct {
	Zero  unit.Length // on the sight's scale, of an arrow launched along the line of sight
	Scale float64     // the sight's scale against its geometry; NaN when that is not known
	// Residuals are reading − fit, one a mark, on the sight's scale; NaN where the
	// arrow does not reach.
	Residuals []unit.Length
	// Impacts are the same as heights at the distance, positive where the fit's
	// mark would hit high.
	Impacts []unit.Length
	// Speed and Drag are the factors that the marks put on what speed and drag
	// would be without them: 1 with two marks.
	Speed, Drag float64
	// Eye is how far the eye is above the nock as the marks have it.
	Eye      unit.Length
	Notes    []string
	distinct int
}

// regression is a straight line through the marks: reading = zero + per tangent.
type regression struct {
	zero, per float64
	// Their covariance for readings with a variance of one.
	zz, zp, pp float64
	ok         bool
}

// leastScale is less than any sight moves its pin for a launch angle: an inch's
// thousandth for a right angle.
const leastScale = 2.54e-5 // m for a tangent of one

// line fits the readings to tangents by least squares.
func line(tangents, readings []float64) regression {
	n, st, stt, sr, str := 0.0, 0.0, 0.0, 0.0, 0.0
	for i, t := range tangents {
		if math.IsNaN(t) {
			continue
		}
		n++
		st, stt, sr, str = st+t, stt+t*t, sr+readings[i], str+t*readings[i]
	}
	det := n*stt - st*st
	// Tangents that differ by less than a mark is good for tell no scale.
	if n < 2 || det < n*n*markU*markU {
		return regression{}
	}
	per := (n*str - st*sr) / det
	if math.Abs(per) < leastScale {
		return regression{}
	}
	return regression{zero: (sr*stt - st*str) / det, per: per, zz: stt / det, zp: -st / det, pp: n / det, ok: true}
}

// directions are speed, drag and the eye.
const directions = 3

// sighting is the fit of a sight to its known marks for the baseline.
type sighting struct {
	distances []unit.Length
	readings  []float64
	out       Marks
	fit       regression
	// learnt is set where more than two marks say something of speed and drag.
	// Then rows are independent directions over all inputs: two in which the
	// baseline's speed and drag move, and the height of the eye, which near marks
	// cannot be told without. centre is where the marks put them, in standard
	// uncertainties, and root the root of the covariance that stays of those.
	learnt bool
	rows   [directions][]float64
	centre [directions]float64
	root   [directions][directions]float64
	// contradicted is set where a mark is farther off than it may be, and sigma is
	// the standard uncertainty of a mark as a tangent: greater then.
	contradicted bool
	sigma        float64
}

// tangents returns the launch angles of an arrow to the distances of the marks,
// NaN out of reach. Marks are shot in on the level, whatever slope is asked about.
func (f *sighting) tangents(s *Setting, l leaving, eye float64) []float64 {
	level := s.scene
	level.Slope, level.Eye = 0, unit.Length(eye)
	shot := flight.New(l.arrow(), level)
	out := make([]float64, len(f.distances))
	for i, d := range f.distances {
		out[i] = math.NaN()
		if hit, err := shot.To(d); err == nil {
			out[i] = hit.Tangent
		}
	}
	return out
}

// lineFor fits the scale for an arrow.
func (f *sighting) lineFor(s *Setting, l leaving, eye float64) regression {
	return line(f.tangents(s, l, eye), f.readings)
}

// sightIn fits the sight's zero and scale to the known marks, and speed and drag
// as far as more than two marks allow. speed and decay are what each input does
// to the baseline's, in relative terms. It returns nil without marks to fit.
func sightIn(j *job.Job, s *Setting, base leaving, speed, decay []float64, eyeInput int) *sighting {
	known := j.Sight.Value.Marks
	if len(known) < 2 || !s.eye.Given || !base.flies() {
		return nil
	}
	f := &sighting{}
	seen := map[unit.Length]bool{}
	for _, m := range known {
		f.distances = append(f.distances, m.Distance)
		f.readings = append(f.readings, float64(m.Reading))
		seen[m.Distance] = true
	}
	f.out = Marks{Speed: 1, Drag: 1, Scale: math.NaN(), distinct: len(seen)}
	eye := float64(s.scene.Eye)
	if f.fit = f.lineFor(s, base, eye); !f.fit.ok {
		why := "the marks are all of one distance"
		switch {
		case slices.Max(f.readings) == slices.Min(f.readings):
			why = "all of them have the same reading"
		case len(seen) > 1:
			why = "these distances are too close together or out of reach, or they lie on both sides of where marks turn back"
		}
		f.out.Notes = append(f.out.Notes, "The known marks tell no scale: "+why+". Marks go by the sight's geometry.")
		return f
	}
	if len(seen) > 2 {
		f.learn(s, base, speed, decay, eyeInput)
	}
	return f
}

// learn finds the speed and the drag that suit the marks best, each as likely as
// was known before (maximum a posteriori), together with zero, scale and the height
// of the eye, by Gauss–Newton. Speed and drag are counted in two independent directions of what
// was known of them, so that something certain stays as it is.
func (f *sighting) learn(s *Setting, base leaving, speed, decay []float64, eyeInput int) {
	vv, vk, kk := dot(speed, speed), dot(speed, decay), dot(decay, decay)
	l11 := math.Sqrt(vv)
	l21, l22 := 0.0, math.Sqrt(kk)
	f.rows = [directions][]float64{make([]float64, len(speed)), make([]float64, len(speed)), make([]float64, len(speed))}
	f.rows[2][eyeInput] = 1
	if l11 > 0 {
		l21 = vk / l11
		l22 = math.Sqrt(max(0, kk-l21*l21))
	}
	for i := range speed {
		if l11 > 0 {
			f.rows[0][i] = speed[i] / l11
		}
		if l22 > 1e-9 {
			f.rows[1][i] = (decay[i] - l21*f.rows[0][i]) / l22
		}
	}
	if l22 <= 1e-9 {
		l22 = 0
	}
	eye := float64(s.scene.Eye)
	moved := func(e [directions]float64) []float64 {
		l := base
		l.speed *= unit.Speed(math.Exp(l11 * e[0]))
		l.decay *= math.Exp(l21*e[0] + l22*e[1])
		return f.tangents(s, l, eye+float64(sightU)*e[2])
	}
	var eta [directions]float64
	zero, per := f.fit.zero, f.fit.per
	var left mat.SymDense
	for range 12 {
		t := moved(eta)
		const h = 1. / 16
		var slopes [directions][]float64
		for a := range eta {
			up, down := eta, eta
			up[a], down[a] = up[a]+h, down[a]-h
			slopes[a] = moved(up)
			for i, low := range moved(down) {
				slopes[a][i] = (slopes[a][i] - low) / (2 * h)
			}
		}
		normal, right := f.equations(t, slopes, zero, per, eta)
		var factor mat.Cholesky
		if !factor.Factorize(normal) {
			return
		}
		var by mat.VecDense
		if factor.SolveVecTo(&by, right) != nil || factor.InverseTo(&left) != nil {
			return
		}
		zero, per = zero+by.AtVec(0), per+by.AtVec(1)
		step := 0.0
		for a := range eta {
			eta[a] += by.AtVec(2 + a)
			step += math.Abs(by.AtVec(2 + a))
		}
		if step < 1e-9 {
			break
		}
	}
	if f.root = rootOf(&left); f.root[0][0] > 0 {
		f.learnt, f.centre = true, eta
	}
}

// unknowns are zero and scale, and behind them the directions.
const unknowns = 2 + directions

// equations sets up the normal equations of a step of Gauss–Newton: how far the
// readings are off, how they grow with each unknown, and what was known before.
func (f *sighting) equations(t []float64, slopes [directions][]float64, zero, per float64, eta [directions]float64) (*mat.SymDense, *mat.VecDense) {
	normal, right := mat.NewSymDense(unknowns, nil), mat.NewVecDense(unknowns, nil)
	weight := 1 / (per * per * markU * markU)
	for i := range t {
		row := [unknowns]float64{1, t[i]}
		r := f.readings[i] - zero - per*t[i]
		known := r
		for a := range eta {
			row[2+a] = per * slopes[a][i]
			known += row[2+a]
		}
		if math.IsNaN(known) { // out of reach
			continue
		}
		for a := range row {
			right.SetVec(a, right.AtVec(a)+weight*row[a]*r)
			for b := a; b < unknowns; b++ {
				normal.SetSym(a, b, normal.At(a, b)+weight*row[a]*row[b])
			}
		}
	}
	for a := range eta {
		normal.SetSym(2+a, 2+a, normal.At(2+a, 2+a)+1)
		right.SetVec(2+a, right.AtVec(2+a)-eta[a])
	}
	return normal, right
}

// rootOf returns the root of the part of a covariance that belongs to the
// directions, zero when it has none.
func rootOf(covariance *mat.SymDense) (root [directions][directions]float64) {
	block := mat.NewSymDense(directions, nil)
	for a := range directions {
		for b := a; b < directions; b++ {
			block.SetSym(a, b, covariance.At(2+a, 2+b))
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(block, true) {
		return root
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	for i, value := range eigen.Values(nil) {
		for a := range directions {
			for b := range directions {
				root[a][b] += vectors.At(a, i) * vectors.At(b, i) * math.Sqrt(max(0, value))
			}
		}
	}
	return root
}

// narrow turns what each input does to a figure into what it does once the marks
// are known: the errors of the inputs are then no longer independent, and errors
// that are take their place. With z = centre + L ζ, L = 1 − rowsᵀ (1 − √left) rows,
// the new errors ζ are independent, and a figure's shares g become Lᵀ g.
func (f *sighting) narrow(g []float64) {
	if f == nil || !f.learnt {
		return
	}
	var p [directions]float64
	for a := range p {
		p[a] = dot(f.rows[a], g)
	}
	for a := range p {
		amount := p[a]
		for b := range p {
			amount -= f.root[a][b] * p[b]
		}
		for i, r := range f.rows[a] {
			g[i] -= amount * r
		}
	}
}

// figure makes a figure of what each input does to it, which it narrows. Without
// marks that were fitted nothing is narrowed.
func (f *sighting) figure(k figure.Key, value float64, basis figure.Basis, amounts []float64) figure.Figure {
	f.narrow(amounts)
	shares := sparse(amounts)
	return figure.Figure{Key: k, Value: value, U: figure.Combine(shares), Basis: basis, Shares: shares}
}

// shift returns by how much, in standard uncertainties, the marks move an input.
func (f *sighting) shift(input int) float64 {
	by := 0.0
	for a := range f.rows {
		by += f.rows[a][input] * f.centre[a]
	}
	return by
}

// finish fits the scale to the arrow as the marks made it, and says how far each
// mark is off.
func (f *sighting) finish(s *Setting, base leaving, units unit.System) {
	eye := float64(s.scene.Eye)
	t := f.tangents(s, base, eye)
	f.fit = line(t, f.readings)
	if !f.fit.ok {
		return
	}
	f.out.Residuals, f.out.Impacts, f.out.Notes = nil, nil, nil
	f.sigma = markU
	f.out.Zero = unit.Length(f.fit.zero)
	if s.pin.Value > 0 {
		f.out.Scale = f.fit.per / float64(s.pin.Value)
	}
	worst, off, sum, n := -1, 3.0, 0.0, 0.0
	for i, d := range f.distances {
		residual := f.readings[i] - f.fit.zero - f.fit.per*t[i]
		// A reading above the fit asks for a higher launch: the fit's own hits low.
		impact := -residual / f.fit.per * float64(d)
		f.out.Residuals = append(f.out.Residuals, unit.Length(residual))
		f.out.Impacts = append(f.out.Impacts, unit.Length(impact))
		if math.IsNaN(residual) {
			f.out.Notes = append(f.out.Notes, fmt.Sprintf("The known mark of %s is left out: the baseline does not reach it.", told(units, float64(d), unit.Yards, 1)))
			continue
		}
		sigmas := math.Abs(residual/f.fit.per) / markU
		if sigmas > off {
			worst, off = i, sigmas
		}
		sum, n = sum+sigmas*sigmas, n+1
	}
	switch {
	case worst >= 0:
		f.contradicted = true
		f.sigma = markU * math.Sqrt(sum/max(1, n-2))
		f.out.Notes = append(f.out.Notes, fmt.Sprintf("The known marks contradict each other: that of %s is %s off, or others are. Shoot them again before relying on any; of speed and drag they are not asked.",
			told(units, float64(f.distances[worst]), unit.Yards, 1), told(units, math.Abs(float64(f.out.Impacts[worst])), unit.Inches, 1)))
	case f.learnt && math.Hypot(math.Hypot(f.centre[0], f.centre[1]), f.centre[2]) > 3:
		f.out.Notes = append(f.out.Notes, fmt.Sprintf("The known marks ask for a speed of %s and a drag of %s times what was known before, which is hard to believe: check the height of the peep, the readings and the arrow they were shot with.",
			number(f.out.Speed, 3), number(f.out.Drag, 2)))
	}
}

// Words says in a line what the known marks came to, readings in the numbers of
// the sight's own scale.
func (m *Marks) Words(units unit.System) string {
	words := []string{"zero at " + number(m.Zero.In(unit.Inch), 3)}
	if !math.IsNaN(m.Scale) {
		words = append(words, "scale "+number(m.Scale, 3)+" of the sight's geometry")
	}
	if m.distinct > 2 {
		words = append(words, "speed × "+number(m.Speed, 3), "drag × "+number(m.Drag, 2), "peep "+told(units, float64(m.Eye), unit.Inches, 2)+" above the nock")
	}
	return strings.Join(words, ", ")
}

// Sighted reports whether sight marks are on the user's own scale, fitted to marks
// that were shot in.
func (s *Sheet) Sighted() bool { return s.Marks != nil && len(s.Marks.Residuals) > 0 }

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}
