package sheet

import (
	"bytes"
	"math"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"foreshaft/engine/air"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// AnswerFormat is the name and version of the answer to a job.
const AnswerFormat = "foreshaft-figures/1"

// Answer writes the sheet in the exchange format, laid out for people. Numbers
// keep their full precision.
func (s *Sheet) Answer() []byte {
	var buffer bytes.Buffer
	w := writer{jsontext.NewEncoder(&buffer, jsontext.WithIndent("  "))}
	w.object(func() {
		w.text("format", AnswerFormat)
		w.key("bow")
		w.bow(s)
		w.key("air")
		conditions := s.Job.Air.Or(air.Conditions{})
		w.object(func() {
			w.number("density_kg_m3", conditions.Density())
			w.number("viscosity_pa_s", conditions.Viscosity())
		})
		if s.Marks != nil {
			w.key("sight")
			w.sight(s.Marks)
		}
		w.key("builds")
		w.list(func() {
			for i := range s.Builds {
				w.build(s, i)
			}
		})
	})
	return buffer.Bytes()
}

// EncodeFigures writes "figures" and "absent" of a build into an object that is
// open: of the build as a whole, or at one of the distances.
func (s *Sheet) EncodeFigures(e *jsontext.Encoder, build, distance int) {
	keys := Keys()
	if distance != Whole {
		keys = KeysAt()
	}
	writer{e}.set(s, build, distance, keys)
}

// writer wraps the encoder, which cannot fail when it writes valid tokens to
// memory; a failure would be a mistake here.
type writer struct{ *jsontext.Encoder }

func (w writer) put(t jsontext.Token) {
	if err := w.WriteToken(t); err != nil {
		panic("sheet: answer: " + err.Error())
	}
}

func (w writer) object(fill func()) {
	w.put(jsontext.BeginObject)
	fill()
	w.put(jsontext.EndObject)
}

func (w writer) list(fill func()) {
	w.put(jsontext.BeginArray)
	fill()
	w.put(jsontext.EndArray)
}

func (w writer) key(name string)               { w.put(jsontext.String(name)) }
func (w writer) text(name, value string)       { w.key(name); w.put(jsontext.String(value)) }
func (w writer) number(name string, x float64) { w.key(name); w.put(jsontext.Float(x)) }
func (w writer) texts(name string, list []string) {
	w.key(name)
	w.list(func() {
		for _, t := range list {
			w.put(jsontext.String(t))
		}
	})
}

func (w writer) bow(s *Sheet) {
	w.object(func() {
		if s.FitErr != nil {
			w.text("absent", s.FitErr.Error())
			return
		}
		f := &s.Fit
		w.number("energy_ftlb", f.Energy.In(unit.FootPound))
		w.number("energy_u_ftlb", f.EnergyU.In(unit.FootPound))
		w.number("virtual_mass_gr", f.VirtualMass.In(unit.Grain))
		w.number("virtual_mass_u_gr", f.VirtualMassU.In(unit.Grain))
		w.number("correlation", f.Correlation)
		w.key("readings")
		w.list(func() {
			if f.FromRating {
				return
			}
			for _, r := range f.Residuals {
				w.object(func() { w.number("residual_fps", r.In(unit.FootPerSecond)) })
			}
		})
		if notes := f.Notes(unit.System{}); len(notes) > 0 {
			w.texts("notes", notes)
		}
	})
}

// sight writes what the known marks came to. Readings are in inches of the
// user's scale, as in the job file.
func (w writer) sight(m *Marks) {
	w.object(func() {
		if len(m.Residuals) > 0 {
			w.number("zero_in", m.Zero.In(unit.Inch))
			if !math.IsNaN(m.Scale) {
				w.number("scale", m.Scale)
			}
			w.number("speed_factor", m.Speed)
			w.number("drag_factor", m.Drag)
			w.number("peep_above_nock_in", m.Eye.In(unit.Inch))
			w.key("marks")
			w.list(func() {
				for i, r := range m.Residuals {
					w.object(func() {
						if !math.IsNaN(float64(r)) {
							w.number("residual_in", r.In(unit.Inch))
							w.number("impact_in", m.Impacts[i].In(unit.Inch))
						}
					})
				}
			})
		}
		if len(m.Notes) > 0 {
			w.texts("notes", m.Notes)
		}
	})
}

func (w writer) build(s *Sheet, i int) {
	b := &s.Builds[i]
	w.object(func() {
		w.text("name", b.Name)
		w.set(s, i, Whole, Keys())
		w.key("at")
		w.list(func() {
			for n, d := range s.Job.DistancesOrDefault() {
				w.object(func() {
					w.number("distance_yd", d.In(unit.Yard))
					w.set(s, i, n, KeysAt())
				})
			}
		})
		w.key("cautions")
		w.list(func() {
			for _, c := range b.Cautions {
				w.object(func() {
					w.text("code", string(c.Code))
					w.text("level", string(c.Level))
					w.text("text", c.Text)
				})
			}
		})
		if len(b.Notes) > 0 {
			w.texts("notes", texts(b.Notes))
		}
		if s.Marked(i) {
			w.key("proof")
			w.proof(s, i)
		}
	})
}

// proof writes what became of a build's mark, and what was measured of it less
// what is computed.
func (w writer) proof(s *Sheet, build int) {
	w.object(func() {
		w.key("holds")
		w.put(jsontext.Bool(s.Lapsed(build) == ""))
		w.key("measured")
		w.object(func() {
			for _, k := range MeasuredKeys {
				by, ok := s.Miss(build, k)
				if !ok {
					continue
				}
				value, _ := s.Measured(build, k)
				u := k.Definition().Unit
				w.key(k.String())
				w.object(func() {
					w.number("value", u.Of(value))
					w.text("unit", symbol(s.Job, k, u))
					w.number("less_computed", by/u.Size)
				})
			}
		})
	})
}

func texts(list []caution.Caution) []string {
	out := make([]string, len(list))
	for i, c := range list {
		out[i] = c.Text
	}
	return out
}

// set writes the figures of a build, as a whole or at one of the distances.
func (w writer) set(s *Sheet, build, distance int, keys []figure.Key) {
	from := s.Builds[build].Place(distance)
	w.key("figures")
	w.object(func() {
		for _, k := range keys {
			if f, ok := from.Figure(k); ok {
				w.figure(s, build, distance, f)
			}
		}
	})
	w.key("absent")
	w.object(func() {
		for _, k := range keys {
			if reason := from.Absent(k); reason != "" {
				w.text(k.String(), reason)
			}
		}
	})
}

func (w writer) figure(s *Sheet, build, distance int, f figure.Figure) {
	u := f.Key.Definition().Unit
	w.key(f.Key.String())
	w.object(func() {
		w.number("value", u.Of(f.Value))
		w.text("unit", symbol(s.Job, f.Key, u))
		w.number("u", f.U/u.Size)
		w.text("basis", string(f.Basis))
		if delta, deltaU, ok := s.DeltaAt(build, distance, f.Key); ok {
			w.number("delta", delta/u.Size)
			w.number("delta_u", deltaU/u.Size)
		}
	})
}

// symbol returns what stands behind a figure in that unit: the job's currency
// behind money.
func symbol(j *job.Job, k figure.Key, u unit.Unit) string {
	if k == figure.DozenCost {
		return strings.TrimSpace(j.Currency)
	}
	return u.Symbol
}

// Unit returns the unit in which a figure is shown, with the job's currency for
// money.
func (s *Sheet) Unit(k figure.Key) unit.Unit {
	u := s.Units.Shown(k.Definition().Unit)
	switch k {
	case figure.SightMark, figure.MarkShift, figure.MarkSpread:
		if s.Sighted() { // on the user's own scale, whatever its numbers stand for
			u = unit.Unit{Size: float64(unit.Inch)}
		}
	}
	u.Symbol = symbol(s.Job, k, u)
	return u
}
