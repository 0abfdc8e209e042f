package bench

import (
	"fmt"
	"slices"
	"strings"

	"foreshaft/engine/air"
	"foreshaft/engine/caution"
	"foreshaft/engine/job"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
	"foreshaft/ui/theme"
)

// plainOffers is the footer of a form without a table.
var plainOffers = []keys.Offer{keys.Do("back", keys.Close), keys.Do("edit", keys.Edit), keys.Do("change", keys.More, keys.Less), keys.Do("undo", keys.Undo),
	keys.Do("help", keys.Help), keys.Do("any action", keys.Command), keys.Do("move", keys.Up, keys.Down)}

// apartOffers is the footer of a form of something that is not on the bench.
var apartOffers = []keys.Offer{keys.Do("back", keys.Close), keys.Do("edit", keys.Edit), keys.Do("change", keys.More, keys.Less),
	keys.Do("help", keys.Help), keys.Do("any action", keys.Command), keys.Do("move", keys.Up, keys.Down)}

// newAirForm returns the form of the air that arrows fly through.
func newAirForm(m *Model) dialog {
	m.Say("The air where the arrows fly. What you leave empty comes from the standard atmosphere.")
	state := func(c *air.Conditions) (unit.Temperature, unit.Pressure, air.Share) { return c.State() }
	return &form[air.Conditions]{
		title: "Air", offers: plainOffers,
		lines: []line[air.Conditions]{
			{key: "temperature_c", title: "temperature", means: "of the air in the shade",
				usual: func(_ *Model, c *air.Conditions) string {
					t, _, _ := state(c)
					return fmt.Sprintf("%.1f °C standard", t.Celsius())
				}},
			{key: "pressure_hpa", title: "pressure", means: "station pressure, as a barometer in your hand shows it: not the sea-level value of a weather report",
				usual: func(_ *Model, c *air.Conditions) string {
					_, p, _ := state(c)
					return fmt.Sprintf("%.0f hPa standard", p.In(unit.Hectopascal))
				}},
			{key: "humidity_pct", title: "humidity", means: "relative humidity", usual: func(*Model, *air.Conditions) string { return "0 %" }},
			{key: "altitude_m", title: "altitude", means: "above the sea; it stands for pressure and temperature that are not given, and is left out when the pressure is given",
				usual: func(*Model, *air.Conditions) string { return "0 m" }},
		},
		load: func(m *Model) air.Conditions { return m.Job().Air.Value },
		keep: func(m *Model, c change, v air.Conditions) Request {
			if m.do("air: "+c.what, func(j *job.Job) { j.Air = optionalOf(v) }) {
				m.Say("Changed: %s. Density is %.4f kg/m³ now.", c.what, v.Density())
			}
			return nil
		},
		side: func(_ *Model, c *air.Conditions) []paragraph {
			say := func(format string, args ...any) paragraph {
				return paragraph{text: fmt.Sprintf(format, args...), row: true}
			}
			standard := air.Conditions{}.Density()
			if c.Pressure.Given && c.Altitude.Given {
				return []paragraph{say("Density    %.4f kg/m³", c.Density()), {token: theme.Warn, text: "The altitude is not used while a pressure is given: empty one of them."}}
			}
			return []paragraph{
				say("Density    %.4f kg/m³", c.Density()), say("Viscosity  %.3f µPa·s", c.Viscosity()*1e6),
				{text: fmt.Sprintf("%s %% against the standard sea-level air of %.4f kg/m³.", present.Plus(fmt.Sprintf("%.1f", 100*(c.Density()/standard-1))), standard)},
				{token: theme.Quiet, text: "Thicker air slows an arrow more on its way. Speed off the string does not depend on it; marks, drift and what is left at a distance do."},
			}
		},
	}
}

// newSightForm returns the form of the sight: its geometry and marks that were shot.
func newSightForm(m *Model) dialog {
	m.Say("The sight at full draw, and marks that you have shot in.")
	return &form[job.Sight]{
		title: "Sight",
		offers: []keys.Offer{keys.Do("back", keys.Close), keys.Do("edit", keys.Edit), keys.Do("add mark", keys.Add), keys.Do("remove mark", keys.Remove),
			keys.Do("undo", keys.Undo), keys.Do("help", keys.Help), keys.Do("any action", keys.Command), keys.Do("move", keys.Up, keys.Down, keys.Left, keys.Right)},
		lines: []line[job.Sight]{
			{key: "peep_to_pin_in", title: "peep to pin", means: "from the peep, or the eye, to the pin at full draw, along the line of sight"},
			{key: "peep_above_nock_in", title: "peep above nock", means: "how high the peep, or the eye, is above the nock of the arrow at full draw"},
		},
		table: &table[job.Sight]{
			title: "Marks shot in", what: "mark", none: "None yet: %s adds one.", needed: 2,
			columns: []column{
				{key: "distance_yd", title: "%s", ask: "Distance of the mark", width: 9},
				{key: "mark_in", title: "mark", ask: "Reading of the sight's scale there, in its own numbers or as a length", width: 9},
			},
			count: func(s *job.Sight) int { return len(s.Marks) },
			row:   func(s *job.Sight, i int) any { return &s.Marks[i] },
			grow:  func(s *job.Sight) { s.Marks = append(s.Marks, job.Mark{}) },
			cut:   func(s *job.Sight, i int) { s.Marks = slices.Delete(s.Marks, i, i+1) },
			check: func(s *job.Sight, i int, _ string) error {
				if s.Marks[i].Distance <= 0 {
					return fmt.Errorf("the distance must be more than nothing")
				}
				return nil
			},
		},
		load: func(m *Model) job.Sight { return m.Job().Clone().Sight.Value },
		keep: func(m *Model, c change, v job.Sight) Request {
			if m.do("sight: "+c.what, func(j *job.Job) {
				j.Sight = unit.Optional[job.Sight]{Value: v, Given: !record.Equal(v, job.Sight{})}
			}) {
				m.Say("Changed: %s.", c.what)
			}
			return nil
		},
		side: sightFound,
	}
}

// sightFound says what the sight's geometry and the marks shot in come to.
func sightFound(m *Model, v *job.Sight) []paragraph {
	out := []paragraph{{}}
	for i, words := range present.Sighting(m.session.Sheet()) {
		t := theme.Plain
		if strings.HasPrefix(words, "!") {
			t = theme.Warn
		}
		if i > 0 {
			out = append(out, paragraph{})
		}
		out = append(out, paragraph{token: t, text: capital(words)})
	}
	switch n := len(v.Marks); {
	case n == 1:
		out = append(out, paragraph{text: "One mark anchors a printed strip. With two or more, at distances far apart, marks are told on your sight's own scale; with three or more, what they say of drag and speed is used too."})
	case n == 0:
		out = append(out, paragraph{token: theme.Quiet, text: "Marks are shot in with the baseline's arrow. Two or more, at distances far apart, put marks on your sight's own scale."})
	}
	return append(out, paragraph{}, paragraph{token: theme.Quiet, text: "The sight goes with the bow: it is kept with it, and in job files."})
}

// newLimitsForm returns the form of the user's own rules sheet.
func newLimitsForm(m *Model) dialog {
	m.Say("Your own rules sheet: class, club or hunting law. The bench warns about builds outside it.")
	none := func(*Model, *job.Limits) string { return "no limit" }
	l := func(key, title, means string) line[job.Limits] {
		return line[job.Limits]{key: key, title: title, means: means + "; 0 or empty is no limit", usual: none}
	}
	return &form[job.Limits]{
		title: "Limits", offers: plainOffers,
		lines: []line[job.Limits]{
			l("max_speed_fps", "highest speed", "how fast an arrow may leave the bow"),
			l("min_weight_gr", "least total weight", "how light an arrow may be"),
			l("min_weight_per_draw", "least grains per lb", "total weight for each pound of peak weight"),
			l("max_diameter_mm", "thickest shaft", "how thick a shaft may be"),
			l("min_cut_width_in", "least cut width", "how wide the cut of a broadhead must be"),
			l("min_peak_weight_lb", "least peak weight", "how strong the bow must be"),
			l("max_peak_weight_lb", "highest peak weight", "how strong the bow may be"),
			{key: "electronics", title: "electronics", means: "whether lighted nocks are allowed", usual: func(*Model, *job.Limits) string { return "yes" }},
		},
		load: func(m *Model) job.Limits { return m.Job().Limits.Value },
		keep: func(m *Model, c change, v job.Limits) Request {
			if m.do("limits: "+c.what, func(j *job.Job) { j.Limits = optionalOf(v) }) {
				m.Say("Changed: %s.", c.what)
			}
			return nil
		},
		side: limitsFound,
	}
}

// limitsFound says which builds break the rules sheet.
func limitsFound(m *Model, _ *job.Limits) []paragraph {
	var out []paragraph
	for i := range m.session.Sheet().Builds {
		for _, c := range m.session.Sheet().Builds[i].Cautions {
			if c.Code == caution.OverLimit {
				out = append(out, paragraph{token: cautionToken(c.Level), text: present.Letter(i) + " " + present.Marked(c)})
			}
		}
	}
	if len(out) == 0 {
		out = append(out, paragraph{token: theme.Plain, text: "No build on the bench is outside these limits."})
	}
	return append(out, paragraph{}, paragraph{token: theme.Quiet, text: "Check the sheet against the rules of your class or the law of the place: the program does not know them."})
}

// unitChoice is the units of the program as words to choose from.
type unitChoice struct {
	Weight   string `job:"weight" one:"grains,grams"`
	Length   string `job:"length" one:"inches,centimetres,millimetres"`
	Speed    string `job:"speed" one:"feet per second,metres per second"`
	Force    string `job:"force" one:"pounds,newtons"`
	Distance string `job:"distance" one:"yards,metres"`
	Currency string `job:"currency"`
}

// newUnitsForm returns the form in which the units of the program are chosen, and the
// currency.
func newUnitsForm(m *Model) dialog {
	m.Say("Units for everything that is shown and typed. What is kept stays the same.")
	return &form[unitChoice]{
		title: "Units", offers: apartOffers, apart: true,
		lines: []line[unitChoice]{
			{key: "weight", title: "weights", means: "of arrows and parts"},
			{key: "length", title: "lengths", means: "on arrows and bows; diameters are in millimetres whenever these are metric. Static spine stays as printed on the shaft"},
			{key: "speed", title: "speeds", means: "energy goes with it: foot-pounds or joules"},
			{key: "force", title: "draw weights", means: "grains per pound stay grains per pound, as limits and charts have them"},
			{key: "distance", title: "distances", means: "to the target"},
			{key: "currency", title: "prices", means: "the currency they are in, such as EUR, on this bench and on every one that names none. Nothing is converted"},
		},
		load: func(m *Model) unitChoice {
			v := choiceOf(m.units())
			v.Currency = m.choices.Currency
			return v
		},
		keep: func(m *Model, c change, v unitChoice) Request {
			if v.Currency != m.choices.Currency {
				return m.setCurrency(v.Currency)
			}
			m.setUnits(v.system())
			m.Say("%s from now on.", capital(c.text))
			return Chosen{m.choices}
		},
	}
}

// setCurrency names the currency of prices, on this bench too.
func (m *Model) setCurrency(currency string) Request {
	m.choices.Currency = currency
	m.do("currency", func(j *job.Job) { j.Currency = currency })
	if currency == "" {
		m.Say("Prices have no currency from now on.")
	} else {
		m.Say("Prices are in %s from now on. Nothing is converted.", currency)
	}
	return Chosen{m.choices}
}

func choiceOf(u unit.System) unitChoice {
	pick := func(second bool, a, b string) string {
		if second {
			return b
		}
		return a
	}
	return unitChoice{
		Weight: pick(u.Grams, "grains", "grams"), Length: [...]string{"inches", "centimetres", "millimetres"}[u.Metric],
		Speed: pick(u.PerSec, "feet per second", "metres per second"), Force: pick(u.InNewton, "pounds", "newtons"), Distance: pick(u.Metres, "yards", "metres"),
	}
}

func (c unitChoice) system() unit.System {
	u := unit.System{Grams: c.Weight == "grams", PerSec: c.Speed == "metres per second", InNewton: c.Force == "newtons", Metres: c.Distance == "metres"}
	switch c.Length {
	case "centimetres":
		u.Metric = unit.InCentimetres
	case "millimetres":
		u.Metric = unit.InMillimetres
	}
	return u
}
