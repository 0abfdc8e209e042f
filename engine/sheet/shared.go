package sheet

import (
	"math"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/flight"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// common is an input that all builds share, as the settings it leads to at the
// places of its rule. It has an index for each part of the rule.
type common struct {
	inputs   []int
	rule     *rule
	settings []Setting
	// first is how much of the rule's first part is this input's own: the rest
	// belongs to other inputs that move the same quantity.
	first float64
}

func (r *registry) shared(name, remedy string) int {
	return r.index(identity{what: name}, figure.Input{Name: name, Shared: true, Remedy: remedy})
}

// Standard uncertainties of what lies around a shot.
const (
	// airU is the relative one of the air's density: about a degree Celsius and
	// two hectopascals (rule of thumb).
	airU = 0.005
	// sightU is that of eye and pin at full draw: they are places (rule of thumb).
	sightU = positionU
)

// around are the inputs that all builds share and that no weight or speed
// depends on.
type around struct {
	drag, eye, pin int
	margin, bends  int
	readings       [2]int // of the known marks
}

func (r *registry) around() around {
	return around{
		drag: r.shared("drag formula, common to all builds", "measure one arrow's speed near and far, or shoot in three marks far apart"),
		margin: r.model(identity{what: "what the launch margin leaves out, common to all builds"}, true,
			"mark a build that flies well from this bow as proven: margins are then compared with its own"),
		bends: r.model(identity{what: "what the bends on the string leave out, common to all builds"}, true,
			"compare builds with each other: this part is the same for all"),
		eye: r.shared("height of the peep above the nock", "measure the height of the peep above the nock at full draw"),
		pin: r.shared("distance from peep to pin", "measure the distance from peep to pin at full draw"),
		readings: [2]int{
			r.shared("known marks", "shoot in another mark, far from the others"),
			r.shared("known marks, their scale", "shoot in another mark, far from the others"),
		},
	}
}

// model registers an error that a model makes.
func (r *registry) model(id identity, shared bool, remedy string) int {
	return r.index(id, figure.Input{Name: id.what, Shared: shared, Remedy: remedy, Model: true})
}

// marginOwn registers what the launch margin leaves out of one build besides what
// it leaves out of all. Builds of the same pieces share it.
func (r *registry) marginOwn(b *arrow.Build) int {
	for _, other := range r.margins {
		if b.SamePieces(other.build) {
			return other.input
		}
	}
	i := r.model(identity{what: "what the launch margin leaves out of this build", turn: len(r.margins)}, false,
		"shoot it, and have a fitter look: no measurement of its pieces makes this part smaller")
	r.margins = append(r.margins, marginOf{b, i})
	return i
}

// marginOf is the input of one build's own part of the launch margin.
type marginOf struct {
	build *arrow.Build
	input int
}

// dragOwn registers a build's own error of drag, and returns it with its standard
// uncertainty: of the coefficient itself where that is given, else relative.
func (r *registry) dragOwn(b *arrow.Build) (input int, u float64) {
	u = flight.OwnDragU
	name, remedy := "drag formula, this outline", "measure this arrow's speed near and far"
	if b.DragCoefficient.Given {
		u = b.DragCoefficientU.Or(flight.GivenDragU)
		name, remedy = "given drag coefficient", "measure the speed near and far again, with more shots"
	}
	return r.index(identity{piece: dragOwnerOf(b), what: "drag"}, figure.Input{Name: name, Remedy: remedy}), u
}

// common lists the inputs that all builds share and that weights or speeds
// depend on: the air, what the readings left open, the chronograph, and the
// settings of the bow.
func (r *registry) common(j *job.Job, fit bow.Fit, fitErr error) []common {
	b := &j.Bow.Value
	here := settingOf(j, b, fit, fitErr)
	list := []common{{inputs: []int{r.shared("density of the air", "measure temperature and station pressure where you shoot")}, rule: &straight, first: 1}}
	for _, t := range straight.at {
		s := here
		s.density *= 1 + airU*t
		list[0].settings = append(list[0].settings, s)
	}
	if !j.Bow.Given {
		return list
	}
	put := func(r *rule, at func(t float64) Setting, inputs ...int) {
		c := common{inputs: inputs, rule: r, first: 1}
		for _, t := range r.at {
			c.settings = append(c.settings, at(t))
		}
		list = append(list, c)
	}
	add := func(input int, at func(t float64) Setting) { put(&straight, at, input) }
	exponent, exponentU := b.StrokeExponent()
	moved := func(peak unit.Force, draw unit.Length, n float64) Setting {
		shifted := b.Shifted(peak, draw)
		f, err := fit, fitErr
		if fit.Scaled {
			f, err = shifted.FitWith(n)
		}
		return settingOf(j, &shifted, f, err)
	}
	if b.Peak.Given && b.PeakUncertainty() > 0 {
		add(r.shared("peak draw weight", "measure the peak draw weight on a scale"), func(t float64) Setting {
			return moved(b.PeakUncertainty()*unit.Force(t), 0, exponent)
		})
	}
	if b.Draw.Given && b.DrawUncertainty() > 0 {
		add(r.shared("draw length", "measure the draw length on the bow"), func(t float64) Setting {
			return moved(0, b.DrawUncertainty()*unit.Length(t), exponent)
		})
	}
	if fit.Scaled && exponentU > 0 {
		add(r.shared("effect of draw length on energy", "chronograph an arrow at the bow's present settings"), func(t float64) Setting {
			return moved(0, 0, exponent+exponentU*t)
		})
	}
	if fitErr == nil {
		// E and K are correlated: they are moved along the two independent
		// directions of their covariance (its Cholesky factor), K first and E
		// with it, then E alone.
		const remedy = "chronograph another arrow on this bow"
		along, across := fit.Correlation, math.Sqrt(1-fit.Correlation*fit.Correlation)
		// Settings that the readings do not share move K too. How far K may be
		// off decides how much a figure bends, so its rule takes all of that.
		whole := float64(fit.VirtualMassU)
		for _, c := range list {
			if plus, minus := c.settings[0], c.settings[1]; plus.launch && minus.launch {
				whole = math.Hypot(whole, float64(plus.virtual-minus.virtual)/(c.rule.at[0]-c.rule.at[1]))
			}
		}
		ratio := whole / float64(fit.VirtualMassU)
		put(&curved, func(t float64) Setting {
			s := here
			s.virtual += fit.VirtualMassU * unit.Mass(ratio*t)
			s.energy += fit.EnergyU * unit.Energy(along*ratio*t)
			return s
		}, r.shared("virtual mass", remedy), r.shared("virtual mass, second order", remedy), r.shared("virtual mass, third order", remedy))
		list[len(list)-1].first = 1 / ratio
		add(r.shared("bow energy", remedy), func(t float64) Setting {
			s := here
			s.energy += fit.EnergyU * unit.Energy(across*t)
			return s
		})
		if !fit.FromRating {
			add(r.shared("chronograph calibration", "check the chronograph, taken as true to 0.5 %, against another"), func(t float64) Setting {
				s := here
				s.calibration += bow.CalibrationU * t
				return s
			})
		}
	}
	return list
}
