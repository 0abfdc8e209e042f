package bench

import (
	"fmt"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/flight"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/theme"
)

// dragEntry is a build's drag coefficient, and the speeds near and far that it
// may come from.
type dragEntry struct {
	Coefficient  unit.Optional[float64]     `job:"drag_coefficient" range:"0,10"`
	CoefficientU unit.Optional[float64]     `job:"drag_coefficient_u" range:"0,10"`
	Near         unit.Optional[unit.Speed]  `job:"near_speed_fps" range:"30,600"`
	Far          unit.Optional[unit.Speed]  `job:"far_speed_fps" range:"30,600"`
	Apart        unit.Optional[unit.Length] `job:"apart_yd" range:"0,200"`
	U            unit.Optional[unit.Speed]  `job:"speed_u_fps" range:"0,60"`
}

// usualSpeedU is the standard uncertainty of the mean of a few shots through a
// chronograph, when nobody says better; what its calibration is off cancels.
const usualSpeedU = 0.5 * unit.FootPerSecond

// dragOffers is the footer of a form in which everything is typed.
var dragOffers = []keys.Offer{keys.Do("back", keys.Close), keys.Do("edit", keys.Edit), keys.Do("undo", keys.Undo),
	keys.Do("help", keys.Help), keys.Do("any action", keys.Command), keys.Do("move", keys.Up, keys.Down)}

// newDragForm returns the form of the drag of the build in focus.
func newDragForm(m *Model) dialog {
	name := m.build().Name
	var speeds dragEntry // the speeds are no part of the job: they live as long as the form
	m.Say("How much the air holds this arrow back. Left empty it goes by the formula, good to about 25 %%.")
	return &form[dragEntry]{
		title: "Drag of " + short(name), offers: dragOffers,
		lines: []line[dragEntry]{
			{key: "drag_coefficient", title: "drag coefficient", means: "on the shaft's cross-section; empty goes by the formula",
				usual: func(m *Model, _ *dragEntry) string {
					if f, ok := m.session.Sheet().Builds[m.col].Figure(figure.DragCoefficient); ok {
						value, _ := figure.Rounded(f.Value, f.U)
						return value + " by formula"
					}
					return "by formula"
				}},
			{key: "drag_coefficient_u", title: "  ± of it", means: "its standard uncertainty", usual: func(*Model, *dragEntry) string { return fmt.Sprint(flight.GivenDragU) },
				shut: func(v *dragEntry) string {
					if v.Coefficient.Given {
						return ""
					}
					return "This goes with a coefficient: enter that first. The formula has its own ±."
				}},
			{key: "near_speed_fps", title: "speed near", head: "Or from its speed at two places", means: "mean of a few shots, close to the bow; near, far and the way between together give the coefficient"},
			{key: "far_speed_fps", title: "speed far", means: "mean of the same arrow's shots, farther on, through the same chronograph. Put a shield in front of it, and nobody behind it"},
			{key: "apart_yd", title: "way between", means: "from the near place to the far one"},
			{key: "speed_u_fps", title: "  ± of each speed", means: "spread of the shots divided by the root of their number", usual: func(m *Model, _ *dragEntry) string {
				return present.Quantity(m.units(), float64(usualSpeedU), unit.FeetPerSecond)
			}},
		},
		load: func(m *Model) dragEntry {
			v := speeds
			v.Coefficient, v.CoefficientU = m.build().DragCoefficient, m.build().DragCoefficientU
			return v
		},
		keep: func(m *Model, c change, v dragEntry) Request {
			speeds = v
			if c.key == "drag_coefficient" || c.key == "drag_coefficient_u" {
				if c.key == "drag_coefficient" { // another value is not known as well as the one before
					v.CoefficientU = unit.Optional[float64]{}
				}
				m.setDrag(v.Coefficient, v.CoefficientU)
				return nil
			}
			if !v.Near.Given || !v.Far.Given || !v.Apart.Given {
				m.Say("Noted. Near, far and the way between together give the coefficient.")
				return nil
			}
			u := v.U.Or(usualSpeedU)
			coefficient, coefficientU, err := m.session.Sheet().MeasuredDrag(m.col, flight.TwoSpeeds{Near: v.Near.Value, Far: v.Far.Value, NearU: u, FarU: u, Apart: v.Apart.Value})
			switch {
			case err != nil:
				m.Say("No coefficient from these: %v.", err)
			case coefficient > mostDrag:
				m.Say("These speeds come to a coefficient of more than %d, which no arrow has: check them and the way between.", mostDrag)
			default:
				m.setDrag(unit.Some(coefficient), unit.Some(min(coefficientU, mostDrag)))
			}
			return nil
		},
		side: func(m *Model, v *dragEntry) []paragraph {
			if f, ok := m.session.Sheet().Builds[m.col].Figure(figure.DragCoefficient); ok {
				value, u := figure.Rounded(f.Value, f.U)
				return []paragraph{{text: fmt.Sprintf("Drag coefficient %s ± %s, %s.", value, u, f.Basis)},
					{token: theme.Quiet, text: "It belongs to this build alone, and to copies made of it."}}
			}
			return []paragraph{{text: "No drag yet: it " + m.session.Sheet().Builds[m.col].Absent(figure.DragCoefficient) + "."}}
		},
		gone: func(m *Model) bool { return m.build() == nil || m.build().Name != name },
	}
}

// mostDrag is the greatest coefficient that a job file may hold.
const mostDrag = 10

// setDrag gives the build in focus a drag coefficient, or takes it away.
func (m *Model) setDrag(coefficient, u unit.Optional[float64]) {
	if !coefficient.Given {
		u = unit.Optional[float64]{}
	}
	if !m.change("drag", func(b *arrow.Build) { b.DragCoefficient, b.DragCoefficientU = coefficient, u }) {
		return
	}
	switch {
	case !coefficient.Given:
		m.sayAlso("The drag goes by the formula again.")
	case coefficient.Value == 0:
		m.sayAlso("A drag coefficient of 0 is a vacuum: no arrow flies so. %s takes it back.", m.keys.Form.Press(keys.Undo))
	default:
		value, spread := figure.Rounded(coefficient.Value, u.Or(flight.GivenDragU))
		m.sayAlso("Drag coefficient %s ± %s.", value, spread)
	}
}
