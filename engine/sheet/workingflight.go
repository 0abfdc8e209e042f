package sheet

import (
	"fmt"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/flight"
	"foreshaft/engine/unit"
)

const (
	pathSource  = "Point mass with quadratic drag in three dimensions (McCoy, Modern Exterior Ballistics), followed in steps to better than a hundredth of an inch."
	windSource  = "Point mass with quadratic drag; on the level this is Didion's lag rule, wind × (time − distance / launch speed) (McCoy, Modern Exterior Ballistics)."
	dragSource  = "Skin friction of flat plates (Blasius; Prandtl and Schlichting); edges, nose and base fitted to wind-tunnel and free-flight coefficients (Ortiz et al., Proceedings 49 (2020) 56; KAKEN 18K03943), which it meets within 20 %."
	sightSource = "Geometry of eye and pin at full draw."
	groupNote   = "It speaks of speed and drag only: nock height, tune and planing heads move groups too. Shoot both before relying on it."
)

// flightFormula returns the formula of a figure of the path and the same with a
// build's numbers.
func (s *Sheet) flightFormula(build, distance int, k figure.Key) figure.Working {
	b := &s.Job.Builds[build]
	if k == figure.DragCoefficient {
		return s.dragFormula(b)
	}
	path := s.pathLines(b)
	if s.Sighted() {
		path = append(path, "known marks: "+s.Marks.Words(s.Units))
	}
	angle := ""
	if distance != Whole {
		d := s.Job.DistancesOrDefault()[distance]
		if hit, err := s.hit(b, d); err == nil {
			angle = fmt.Sprintf("it hits at %s launched %.3f° above the line of sight", s.told(float64(d), unit.Yards, 1), hit)
			path = append(path, angle)
		}
	}
	radius := "target radius " + s.told(float64(s.here.scene.Radius), unit.Inches, 2)
	switch k {
	case figure.FlightTime:
		return figure.Working{Formula: "time along the path", Numbers: path, Source: pathSource}
	case figure.Speed:
		return figure.Working{Formula: "speed where the path meets the line of sight", Numbers: path, Source: pathSource}
	case figure.Energy:
		return figure.Working{Formula: "½ m v², v the speed there", Numbers: path, Source: pathSource}
	case figure.Momentum:
		return figure.Working{Formula: "m v, v the speed there", Numbers: path, Source: pathSource}
	case figure.Drop:
		return figure.Working{Formula: "straight up from the arrow to the line it was launched along", Numbers: path, Source: pathSource}
	case figure.SightMark:
		formula := "peep to pin × tan(launch angle above the line of sight)"
		if s.Sighted() {
			formula = "zero + scale × tan(launch angle above the line of sight), zero and scale from the marks that were shot"
		}
		return figure.Working{Formula: formula, Numbers: append(path, s.sightLines()...), Source: sightSource + " " + pathSource}
	case figure.MarkShift:
		return figure.Working{Formula: "sight mark − the baseline's", Numbers: append(path, s.sightLines()...), Source: sightSource, Notes: []string{groupNote}}
	case figure.ImpactShift:
		return figure.Working{Formula: "height over the line of sight, launched at the angle with which the baseline hits", Numbers: path, Source: pathSource, Notes: []string{groupNote}}
	case figure.RangeShort, figure.RangeLong:
		return figure.Working{Formula: "from there to the first place on that side where the path is farther from the line of sight than the target's radius",
			Numbers: append(path, radius), Source: pathSource}
	case figure.WindDrift:
		return figure.Working{Formula: "sideways, launched as in still air, with the crosswind blowing all the way",
			Numbers: append(path, "crosswind "+s.told(float64(s.here.scene.Crosswind), unit.MilesPerHour, 1)), Source: windSource}
	case figure.HoldFor:
		return figure.Working{Formula: "the level distance that asks for the same launch angle", Numbers: path, Source: pathSource,
			Notes: []string{"A slope of either sign takes less of gravity across the line of sight."}}
	case figure.MarkSpread:
		return figure.Working{Formula: fmt.Sprintf("sight mark for %s − sight mark for %s", s.Units.Distance(spreadTo, 3), s.Units.Distance(spreadFrom, 3)),
			Numbers: append(path, s.sightLines()...), Source: sightSource + " " + pathSource}
	case figure.HoldOnNear, figure.HoldOnFar:
		return figure.Working{Formula: "one mark whose path tops out just the target's radius over the line of sight: where the path comes within the radius, and where it leaves it",
			Numbers: append(path, radius), Source: pathSource}
	}
	return figure.Working{}
}

// pathLines says what a path depends on.
func (s *Sheet) pathLines(b *arrow.Build) []string {
	values, l := s.here.still(b)
	if !l.flies() {
		return nil
	}
	drag, _ := values.Get(figure.DragCoefficient)
	lines := []string{
		fmt.Sprintf("launched at %s, %s, drag coefficient %s", s.told(float64(l.speed), unit.FeetPerSecond, 1), s.told(float64(l.mass), unit.Grains, 1), number(drag, 2)),
		fmt.Sprintf("air %s kg/m³: k = ρ C A / 2m = %s of its speed lost in each metre", number(s.here.density, 4), number(100*l.decay, 3)+" %"),
	}
	if s.here.eye.Given {
		as := ""
		if s.here.scene.Eye != s.here.eye.Value {
			as = ", as the known marks have it"
		}
		lines = append(lines, "the line of sight passes "+s.told(float64(s.here.scene.Eye), unit.Inches, 2)+" above the nock"+as)
	}
	if slope := s.here.scene.Slope; slope != 0 {
		lines = append(lines, "slope "+number(slope.In(unit.Degree), 1)+"°, uphill positive")
	}
	return lines
}

func (s *Sheet) sightLines() []string {
	if s.Sighted() || !s.here.pin.Given {
		return nil
	}
	return []string{"peep to pin " + s.told(float64(s.here.pin.Value), unit.Inches, 2)}
}

// learnedLines says by how much the known marks changed something.
func (s *Sheet) learnedLines(factor float64) []string {
	if factor == 1 {
		return nil
	}
	return []string{fmt.Sprintf("× %s, as the known marks have it", number(factor, 4))}
}

func (s *Sheet) dragFormula(b *arrow.Build) figure.Working {
	if b.DragCoefficient.Given {
		w := figure.Working{Formula: "as given for this build", Numbers: append([]string{number(b.DragCoefficient.Value, 3)}, s.learnedLines(s.here.learned.factor(b))...),
			Source: "Measured or entered by you, on the shaft's cross-section."}
		if b.DragCoefficient.Value == 0 {
			w.Notes = append(w.Notes, vacuum)
		}
		return w
	}
	w := figure.Working{
		Formula: "4 (tube / d) Cf + vanes (2 S Cf + 0.7 h t) / A + blades (2 S Cf + 0.6 s t) / A + nose and base, between laminar and turbulent flow",
		Source:  dragSource,
		Notes: []string{
			"The edge factors 0.7 and 0.6 and the values for nose and base are fitted to published coefficients; its error is taken as 25 % common to all builds and 10 % of each outline's own.",
			"It does not see spin, helical vanes, or a wobble fresh off the string.",
		},
	}
	outline, err := arrow.OutlineOf(b)
	values, l := s.here.still(b)
	if _, ok := values.Get(figure.DragCoefficient); err != nil || !ok {
		return w
	}
	d := flight.DragOf(&outline, l.speed, s.here.density, s.here.viscosity)
	w.Numbers = []string{
		fmt.Sprintf("Reynolds number on the diameter %s at %s", number(d.Reynolds, 0), s.told(float64(l.speed), unit.FeetPerSecond, 1)),
		fmt.Sprintf("laminar %s, turbulent %s, %s %% of it turbulent", number(d.Laminar, 2), number(d.Turbulent, 2), number(100*d.Share, 0)),
	}
	w.Numbers = append(w.Numbers, s.learnedLines(s.here.learned.factor(b))...)
	return w
}

const vacuum = "A drag coefficient of 0 is a vacuum: no arrow flies so. Leave it out, or measure it."

// hit returns the launch angle in degrees above the line of sight.
func (s *Sheet) hit(b *arrow.Build, d unit.Length) (float64, error) {
	_, l := s.here.still(b)
	if !l.flies() {
		return 0, fmt.Errorf("it does not fly")
	}
	hit, err := s.here.shot(l).To(d)
	return hit.Angle().In(unit.Degree), err
}
