package sheet_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
)

// Pieces of the jobs of stiffness and steering; all data in them and in the bows
// of this file is invented.
const (
	middling    = `"shaft":{"weight_gr_per_in":8.6,"spine_in":0.3,"outer_diameter_in":0.246}`
	stiffer     = `"shaft":{"weight_gr_per_in":9.9,"spine_in":0.25,"spine_u_in":0.008,"outer_diameter_in":0.23,"outer_diameter_u_in":0.002}`
	weaker      = `"shaft":{"weight_gr_per_in":6.1,"spine_in":0.5,"outer_diameter_in":0.22}`
	weighedTube = `"shaft":{"tube_weight_gr":250,"tube_weight_u_gr":0.15,"spine_in":0.34,"spine_u_in":0.002,"outer_diameter_in":0.246,"outer_diameter_u_in":0.0005}`
	nockInside  = `"nock":{"weight_gr":9,"throat_in":0.25,"balance_in":0.6,"balance_u_in":0.05}`
	nockOutside = `"nock":{"weight_gr":22,"throat_in":0.6,"balance_in":0.2,"balance_u_in":0.05}`
	nockAtTube  = `"nock":{"weight_gr":9,"balance_u_in":0}`
	cone        = `"head":{"weight_gr":90,"length_in":0.9,"shape":"cone"}`
	blunt       = `"head":{"weight_gr":125,"balance_in":0.5,"length_in":0.8,"length_u_in":0.05,"shape":"blunt"}`
	twoBlades   = `"head":{"weight_gr":150,"balance_in":0.7,"length_in":2,"blades":2,"blade_length_in":1.6,"cut_width_in":1.2}`
	opening     = `"head":{"weight_gr":100,"length_in":1.8,"shape":"cone","blades":2,"expandable":true}`
	heavyExtras = `"collar":{"weight_gr":40,"length_in":1.2},"wrap":{"weight_gr":9,"length_in":6},"extras":[{"name":"glue","weight_gr":4,"balance_in":28.2,"length_in":0.8},{"name":"ballast","weight_gr":30,"balance_in":20,"length_in":6},{"name":"light","weight_gr":12,"balance_in":2}]`
)

// handlings are jobs whose figures of stiffness and steering are compared with
// draws of a world.
//
// The law of propagation is a straight line, so these jobs stay away from the
// places where a figure has a corner: a nock that balances within three
// uncertainties of the rear end of the tube, where it counts at that end, unless it
// is known to sit just there; a rest within three uncertainties of the cut end,
// behind which it counts there; a balance point near the pressure point, where the
// wobble has no length; vanes of the length at which longer ones begin to turn the
// arrow less, since they reach farther forward.
var handlings = []struct {
	name  string
	heavy bool // left out under -short
	data  func() []byte
}{
	{"an insert changed on the same shaft, and one arrow twice", false, func() []byte {
		return document(`"bow":{"peak_weight_lb":68,"draw_length_in":29.5,"proven":"a","readings":[{"arrow_gr":420,"speed_fps":291,"sd_fps":1}]},`+dry, 0,
			build("a", 29.5, middling, nockInside, lowVanes, insertOf(50), point),
			build("more insert", 29.5, middling, nockInside, lowVanes, insertOf(75), point),
			build("a again", 29.5, middling, nockInside, lowVanes, insertOf(50), point))
	}},
	{"another spine, another nose, proven and not the baseline", true, func() []byte {
		return document(plainBow+","+dry, 1,
			build("a", 29.5, middling, nockInside, lowVanes, insertOf(50), point),
			build("stiffer", 29.5, stiffer, nockInside, highVanes, insertOf(75), cone),
			build("weaker", 29.5, weaker, nockInside, lowVanes, insertOf(20), blunt, `"proven":true`),
			build("also proven", 29.5, middling, nockInside, lowVanes, insertOf(20), point, `"proven":true`))
	}},
	{"another length, the rest deep inside the shaft", false, func() []byte {
		return document(`"bow":{"peak_weight_lb":60,"peak_weight_u_lb":1.5,"draw_length_in":27.5,"draw_length_u_in":0.2,"rest_behind_pivot_in":1,"readings":[{"arrow_gr":450,"speed_fps":255,"sd_fps":1}]},`+dry, 0,
			build("a", 29, middling, nockInside, lowVanes, insertOf(50), point),
			build("longer", 31, middling, nockInside, lowVanes, insertOf(50), point, `"length_u_in":0.1`),
			build("stiffer", 30, stiffer, nockOutside, lowVanes, insertOf(50), point))
	}},
	{"heavy collar, wrap and extras", true, func() []byte {
		return document(plainBow+","+dry, 0,
			build("a", 29.5, middling, nockOutside, lowVanes, insertOf(50), point),
			build("heavy", 29.5, middling, nockOutside, lowVanes, insertOf(50), point, heavyExtras, `"proven":true`),
			build("proud insert", 29.5, middling, nockInside, highVanes, `"insert":{"weight_gr":95,"depth_in":1.5,"proud_in":0.6}`, `"head":{"weight_gr":200,"balance_in":-0.3,"length_in":1.2}`))
	}},
	{"everything weighed, two readings far apart", false, func() []byte {
		const nock = `"nock":{"weight_gr":9,"weight_u_gr":0.1,"throat_in":0.5,"throat_u_in":0.01,"balance_in":0.2,"balance_u_in":0.02}`
		const head = `"head":{"weight_gr":100,"weight_u_gr":0.1,"balance_in":0.5,"balance_u_in":0.02,"length_in":1.1,"length_u_in":0.005}`
		const vanes = `"vanes":{"count":3,"weight_gr":6,"weight_u_gr":0.05,"length_in":2.2,"length_u_in":0.01,"height_in":0.5,"tip_length_in":0.7,"rear_in":1.3,"rear_u_in":0.02}`
		return document(twoArrows+","+dry, 1,
			build("more head", 29.5, weighedTube, nock, vanes, `"length_u_in":0.02,"head":{"weight_gr":150,"weight_u_gr":0.1,"balance_in":0.5,"balance_u_in":0.02,"length_in":1.4}`),
			build("a", 29.5, weighedTube, nock, vanes, head, `"length_u_in":0.02`),
			build("insert", 29.5, weighedTube, nock, vanes, head, `"insert":{"weight_gr":40,"weight_u_gr":0.2,"depth_in":1,"depth_u_in":0.01}`, `"length_u_in":0.02,"proven":true`),
			build("shorter", 29, weighedTube, nock, vanes, head))
	}},
	{"a rating alone, recorded elsewhere, so that K is hardly known", true, func() []byte {
		return document(`"bow":{"peak_weight_lb":62,"draw_length_in":28.5,"proven":"more head","rating":{"speed_fps":330,"arrow_gr":350,"peak_weight_lb":70,"draw_length_in":30,"brace_height_in":6.5}},`+dry, 0,
			build("a", 29, middling, nockAtTube, lowVanes, insertOf(20), point),
			build("more head", 29, middling, nockAtTube, lowVanes, insertOf(20), `"head":{"weight_gr":175,"balance_in":0.6,"length_in":1.3}`),
			build("light", 28.5, weaker, nockAtTube, lowVanes, cone))
	}},
	{"a recurve with light shafts", true, func() []byte {
		const shaft = `"shaft":{"weight_gr_per_in":5.2,"weight_u_gr_per_in":0.2,"spine_in":0.6,"outer_diameter_in":0.21}`
		return document(recurve+","+dry, 0,
			build("a", 28.5, shaft, nockAtTube, highVanes, cone, `"proven":true`),
			build("longer", 29.5, shaft, nockAtTube, highVanes, cone),
			build("spine as it may be", 28.5, `"shaft":{"weight_gr_per_in":5.2,"spine_in":0.6,"spine_u_in":0.03,"outer_diameter_in":0.21}`, nockInside, lowVanes, blunt))
	}},
	{"blades", false, func() []byte {
		return document(plainBow+","+dry, 1,
			build("two", 29.5, middling, nockInside, highVanes, insertOf(50), twoBlades),
			build("three", 29.5, middling, nockInside, highVanes, insertOf(50), blades),
			build("three before small vanes", 29.5, stiffer, nockInside, lowVanes, insertOf(50), blades),
			build("not yet open", 29.5, middling, nockInside, highVanes, insertOf(50), opening))
	}},
	{"a rest, a head and vanes that are hardly known, all else well", false, func() []byte {
		const shaft = `"shaft":{"weight_gr_per_in":8.6,"weight_u_gr_per_in":0.01,"spine_in":0.3,"spine_u_in":0.0005,"outer_diameter_in":0.246,"outer_diameter_u_in":0}`
		const nock = `"nock":{"weight_gr":9,"weight_u_gr":0.1,"throat_in":0.5,"throat_u_in":0.1,"balance_in":0.9,"balance_u_in":0.02}`
		const vanes = `"vanes":{"count":3,"weight_gr":6,"weight_u_gr":0.05,"length_in":2.6,"length_u_in":0.15,"height_in":0.5,"rear_in":1.3,"rear_u_in":0.01}`
		const head = `"head":{"weight_gr":200,"weight_u_gr":0.1,"balance_u_in":0.01,"length_in":1.8,"length_u_in":0.3}`
		return document(`"bow":{"peak_weight_lb":60,"peak_weight_u_lb":0.05,"draw_length_in":28,"draw_length_u_in":0.5,"readings":[{"arrow_gr":360,"speed_fps":300,"sd_fps":0.6},{"arrow_gr":620,"speed_fps":239,"sd_fps":0.6}]},`+dry, 0,
			build("a", 30, shaft, nock, vanes, head, `"length_u_in":0.01`),
			build("longer", 31, shaft, nock, vanes, head, `"length_u_in":0.01,"proven":true`),
			build("other vanes", 30, shaft, nock, `"vanes":{"count":4,"weight_gr":4,"weight_u_gr":0.05,"length_in":3,"length_u_in":0.15,"height_in":0.45,"rear_in":1.3,"rear_u_in":0.01}`, head, `"length_u_in":0.01`))
	}},
	{"readings at other settings", true, func() []byte {
		return document(elsewhere+","+dry, 0,
			build("a", 28.5, middling, nockInside, lowVanes, insertOf(50), point),
			build("b", 28.5, stiffer, nockInside, lowVanes, insertOf(16), `"head":{"weight_gr":85,"length_in":0.9}`, `"proven":true`))
	}},
}

// Every stated uncertainty of the figures of stiffness and steering, that of
// differences too, lies within 10 % of a seeded Monte Carlo that shares no code
// with the engine: the engine's promise. It does so without the errors of the
// models as well, beside which all others would not be seen.
func TestHandlingAgainstMonteCarlo(t *testing.T) {
	for i, c := range handlings {
		t.Run(c.name, func(t *testing.T) {
			if c.heavy && testing.Short() {
				t.Skip("left out under -short")
			}
			t.Parallel()
			againstHands(t, decoded(t, c.data()), uint64(i))
		})
	}
}

// models is what the errors of the models alone do to a figure and to its
// difference, so that they can be taken off what is stated. It is told from stated
// values, which are not quite those of their definition.
func (h *hands) models(s *sheet.Sheet, i int, key figure.Key) (own, difference float64) {
	const common, each = 0.15, 0.03
	stated := func(build int) float64 {
		f, _ := s.Builds[build].Figure(key)
		return key.Definition().Unit.Of(f.Value)
	}
	ones := h.ones()
	alike := func(build int) bool { return h.arrows[i].own(ones) == h.arrows[build].own(ones) }
	here, base := stated(i), stated(h.baseline)
	switch key {
	case figure.LaunchMargin:
		own = math.Hypot(common, each) * here
		if alike(h.baseline) {
			return own, math.Hypot(common, each) * (here - base)
		}
		return own, math.Hypot(common*(here-base), each*math.Hypot(here, base))
	case figure.MarginVsProven:
		if !alike(h.proven) {
			own = (100 + here) * each * math.Sqrt2
		}
	case figure.BendsOnString:
		own, difference = 0.20*here, 0.20*(here-base)
	}
	return own, difference
}

// ones is a draw that tells all inputs apart.
func (h *hands) ones() []float64 {
	z := make([]float64, len(h.known))
	for i := range z {
		z[i] = 1 + float64(i)
	}
	return z
}

func againstHands(t *testing.T, j *job.Job, seed uint64) {
	s, h := sheet.Evaluate(j), newHands(j)
	n := len(h.arrows)
	z := make([]float64, len(h.known))
	nominal, drawn, exact := make([]handling, n), make([]handling, n), make([]handling, n)
	h.figures(z, nominal, exact)
	sums := make([][2][len(handling{})]series, n) // as drawn, and without the errors of the models
	r := rand.New(rand.NewPCG(seed, 20260118))
	for range flightSamples {
		for i := range z {
			z[i] = r.NormFloat64()
		}
		h.figures(z, drawn, exact)
		for i := range n {
			for kind, now := range [2][]handling{drawn, exact} {
				for k := range now[i] {
					x := now[i][k] - nominal[i][k]
					d := x - (now[j.Baseline][k] - nominal[j.Baseline][k])
					m := &sums[i][kind][k]
					m.one, m.two, m.delta1, m.delta2 = m.one+x, m.two+x*x, m.delta1+d, m.delta2+d*d
				}
			}
		}
	}
	for i := range n {
		for k, key := range handlingKeys {
			f, ok := handledAs(t, s, i, k, nominal[i][k])
			if !ok {
				continue
			}
			size, what := key.Definition().Unit.Size, named(s, i, sheet.Whole, key)
			own, difference := h.models(s, i, key)
			whole, bare := sums[i][0][k], sums[i][1][k]
			within(t, "u of "+what, f.U/size, spreadOf(whole.one, whole.two, flightSamples))
			within(t, "u but for the model of "+what, without(f.U/size, own), spreadOf(bare.one, bare.two, flightSamples))
			delta, u, ok := s.Delta(i, key)
			if want := i != j.Baseline && !key.Definition().Compares && !math.IsNaN(nominal[j.Baseline][k]); ok != want {
				t.Errorf("%s: a difference is there: %v, want %v", what, ok, want)
			}
			if !ok {
				continue
			}
			if want := nominal[i][k] - nominal[j.Baseline][k]; math.Abs(delta/size-want) > closeness(key)*math.Abs(nominal[i][k]) {
				t.Errorf("difference of %s: %v, by its definition %v", what, delta/size, want)
			}
			within(t, "u of the difference of "+what, u/size, spreadOf(whole.delta1, whole.delta2, flightSamples))
			within(t, "u but for the model of the difference of "+what, without(u/size, difference), spreadOf(bare.delta1, bare.delta2, flightSamples))
		}
	}
}

// without takes a share off a stated uncertainty. Where there is more of it than
// is stated the rest is negative, which nothing drawn can be.
func without(u, share float64) float64 {
	rest := u*u - share*share
	return math.Copysign(math.Sqrt(math.Abs(rest)), rest)
}

// closeness is how well a value agrees with its definition: finite elements stay
// below 0.1 %, all else is as exact as its constants.
func closeness(key figure.Key) float64 {
	switch key {
	case figure.BendingFrequency, figure.LaunchMargin, figure.MarginVsProven, figure.BendsOnString:
		return 1e-3
	case figure.WobbleLength: // the density is a number of nine digits
		return 1e-8
	}
	return 1e-9
}

// handledAs fails where a figure is not what its definition comes to, NaN for
// nothing, and returns the figure.
func handledAs(t *testing.T, s *sheet.Sheet, build, k int, nominal float64) (figure.Figure, bool) {
	t.Helper()
	key, set := handlingKeys[k], &s.Builds[build].Set
	f, ok := set.Figure(key)
	if ok == math.IsNaN(nominal) {
		t.Errorf("%s: there %v (absent: %q), by its definition %v", named(s, build, sheet.Whole, key), ok, set.Absent(key), nominal)
		return f, false
	}
	scale := math.Abs(nominal)
	if key == figure.MarginVsProven { // a ratio less 1
		scale += 100
	}
	if value := key.Definition().Unit.Of(f.Value); ok && math.Abs(value-nominal) > closeness(key)*scale {
		t.Errorf("%s: %.10g, by its definition %.10g", named(s, build, sheet.Whole, key), value, nominal)
	}
	return f, ok
}

// The values are those of their definitions in the corners too, where the
// straight line of uncertainty is not asked about.
func TestHandlingInCorners(t *testing.T) {
	cases := [][]byte{
		example(t), // its nock balances behind the tube
		document(`"bow":{"peak_weight_lb":68,"draw_length_in":31.5,"readings":[{"arrow_gr":420,"speed_fps":291}]},`+dry, 0,
			build("the rest beyond the cut end", 29, middling, plainNock, lowVanes, insertOf(50), point),
			build("the rest at the cut end", 29.75, middling, plainNock, lowVanes, insertOf(50), point, `"proven":true`),
			build("the rest at an extra", 33, middling, nockAtTube, lowVanes, point, `"extras":[{"weight_gr":40,"balance_in":29.75}]`),
			build("no vanes", 30, middling, nockAtTube, blades)),
		document(`"bow":{"kind":"longbow","peak_weight_lb":45,"draw_length_in":28,"proven":"beyond both ends","rest_behind_pivot_in":-0.5,"readings":[{"arrow_gr":500,"speed_fps":160}]},`+dry, 1,
			build("a bare tube", 30, weaker, `"nock":{"weight_gr":0,"throat_in":0}`, highVanes, `"head":{"weight_gr":0,"length_in":0}`),
			build("beyond both ends", 29, weaker, `"nock":{"weight_gr":60,"throat_in":2,"balance_in":0}`, highVanes, `"head":{"weight_gr":300,"length_in":3}`,
				`"extras":[{"weight_gr":50,"balance_in":31,"length_in":6},{"weight_gr":50,"balance_in":1,"length_in":4}]`)),
	}
	for _, data := range cases {
		j := decoded(t, data)
		s, h := sheet.Evaluate(j), newHands(j)
		nominal, exact := make([]handling, len(h.arrows)), make([]handling, len(h.arrows))
		h.figures(make([]float64, len(h.known)), nominal, exact)
		for i := range nominal {
			for k := range handlingKeys {
				handledAs(t, s, i, k, nominal[i][k])
			}
		}
	}
}

// The pieces of an arrow lie where the world has them, whatever is drawn: both
// draw the same errors.
func TestHandsLayWhatTheWorldLays(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 20260118))
	for _, c := range handlings {
		h := newHands(decoded(t, c.data()))
		z := make([]float64, len(h.known))
		for range 5 {
			for i := range z {
				z[i] = r.NormFloat64()
			}
			at := h.bow(z)
			for i, a := range h.arrows {
				l := a.lay(z)
				here, there := figuresOf(append(l.others, l.tube), l.length, 0, at), h.builds[i](z, at)
				for _, k := range []int{0, 2, 3, 4} { // all but the front weight of what both lay
					closeTo(t, c.name+", "+worldKeys[k].String(), here[k], there[k], 1e-11)
				}
			}
		}
	}
}

// closeTo compares a number of the second model with one that does not come from it.
func closeTo(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within*math.Abs(want) {
		t.Errorf("%s: %.10g, want %.10g", what, got, want)
	}
}

// The second model's columns fold where handbooks say, pushed at the end and by
// their own inertia (Timoshenko & Gere, Theory of Elastic Stability); the numbers
// for both together were worked out from the same equation.
func TestColumnsOfTheWorld(t *testing.T) {
	folds := func(rest float64, tube float64, others ...lump) float64 {
		l := laid{length: 1, tube: lump{tube, 0.5, 1}, others: others}
		c := l.column(rest)
		return firstRoot(c.miss, 0.01).at
	}
	closeTo(t, "end load", folds(1, 0, lump{1, 1, 0}), math.Pi*math.Pi, 1e-10)
	closeTo(t, "end load from well beyond", folds(1.2, 0, lump{1, 1.4, 0.3}), math.Pi*math.Pi, 1e-10)
	closeTo(t, "own inertia", folds(1, 1), 18.5687248, 1e-8)
	for _, c := range [][2]float64{{1, 9.367885}, {2, 8.862729}, {math.Pi * math.Pi, 4.767960}} {
		closeTo(t, "own inertia and end load", folds(1, 1, lump{c[1] / c[0], 1.1, 0}), c[0], 1e-6)
	}
	// Pushed at its free end beyond the rest, by an equation of our own from
	// EI θ″ = C − P θ: sin k(l + c) = sin kl sin kc / kl, with l from throat to rest
	// and c beyond it; with both alike that is tan kl = 2 kl.
	for _, rest := range []float64{0.3, 0.5, 0.8, 0.95} {
		k := firstRoot(func(k float64) float64 {
			return math.Sin(k) - math.Sin(k*rest)*math.Sin(k*(1-rest))/(k*rest)
		}, 0.01).at
		closeTo(t, "end load beyond the rest", folds(rest, 0, lump{1, 1, 0}), k*k, 1e-10)
	}
	closeTo(t, "rest in the middle", math.Sqrt(folds(0.5, 0, lump{1, 1, 0}))/2, 1.1655611852, 1e-10)
	// Mass spread evenly is as good as many lumps, wherever these are cut off.
	var many []lump
	for i := range 2000 {
		many = append(many, lump{1. / 2000, (float64(i) + 0.5) / 2000, 0})
	}
	l := laid{length: 0.9, others: many}
	c := l.column(0.7)
	even := laid{length: 0.9, others: []lump{{1, 0.5, 1}}}
	e := even.column(0.7)
	closeTo(t, "many lumps", firstRoot(c.miss, 0.1).at, firstRoot(e.miss, 0.1).at, 1e-5)
}

// The second model bends freely as handbooks say (Blevins, Formulas for Natural
// Frequency and Mode Shape, 1979), also with a mass where the bare beam stands
// still. With a mass at one end the numbers are roots of
// cos x cosh x − 1 + r x (cos x sinh x − sin x cosh x) = 0.
func TestBendingOfTheWorld(t *testing.T) {
	first := func(lumps ...lump) float64 {
		b := bending{1, 1, lumps}
		return firstRoot(b.miss, 0.05).at
	}
	closeTo(t, "free–free", first(), 4.7300407448627, 1e-10)
	closeTo(t, "a mass at the node", first(lump{0.3, 0.224157522702, 0}), 4.7300407448627, 1e-10)
	for _, c := range [][2]float64{{0.1, 4.43026843}, {0.5, 4.12813721}, {1, 4.04183214}} {
		closeTo(t, "a mass in front", first(lump{c[0], 1, 0}), c[1], 3e-9)
		closeTo(t, "a mass at the rear", first(lump{c[0], 0, 0}), c[1], 3e-9)
	}
}

// Units of the second model: a tube of 0.7112 m and 18 g with 5.092352 N·m², bare
// and with 6.5 g at its front, as worked out from the same equations in SI.
func TestUnitsOfTheWorld(t *testing.T) {
	const inch, grain, pound = 0.0254, 6.479891e-5, 4.4482216152605
	long, tube, stiff := 0.7112/inch, 0.018/grain, 5.092352/(pound*inch*inch)
	l := laid{length: long, tube: lump{tube, long / 2, long}}
	bare := l.bending()
	closeTo(t, "bends a second", bare.perSecond(firstRoot(bare.miss, 0.05).at, stiff), 99.8585, 1e-6)
	l.others = []lump{{0.0065 / grain, long, 0}}
	pointed := l.bending()
	closeTo(t, "bends a second with a mass", pointed.perSecond(firstRoot(pointed.miss, 0.05).at, stiff), 78.0265, 1e-6)
	c := l.column(long)
	closeTo(t, "acceleration in m/s²", firstRoot(c.miss, 1e-7).at*stiff*pound/grain, 6270.96, 1e-6)
}
