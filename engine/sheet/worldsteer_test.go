package sheet_test

import (
	"math"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// What the air does to the world's arrows when they fly at a small angle, once
// more from its definitions: slender-body slopes an angle in rad, on the shaft's
// cross-section (Barrowman & Barrowman 1966), and the lift of the tube (Galejs).

// sideways is a push of the air: its slope, and where it acts.
type sideways struct{ slope, at float64 }

// finSet returns the slope of a set of equal fins on a body and how far behind
// the leading edge of their root it acts.
func finSet(count, diameter, root, tip, span, sweep float64) (slope, behind float64) {
	radius, chords := diameter/2, root+tip
	middle := math.Hypot(span, sweep+tip/2-root/2)
	slope = (1 + radius/(span+radius)) * 4 * count * math.Pow(span/diameter, 2) / (1 + math.Sqrt(1+math.Pow(2*middle/chords, 2)))
	return slope, sweep/3*(root+2*tip)/chords + (chords-root*tip/chords)/6
}

// noses says how far behind its tip a nose is pushed, in parts of its length.
var noses = map[part.Shape]float64{"": 0.466, part.Ogive: 0.466, part.Cone: 2. / 3, part.Blunt: 1. / 2}

// pushedAt is where several pushes act together.
func pushedAt(all ...sideways) sideways {
	sum, first := 0.0, 0.0
	for _, p := range all {
		sum, first = sum+p.slope, first+p.slope*p.at
	}
	return sideways{sum, first / sum}
}

// steered is what the air does to an arrow: area in in², turning the sum of slopes
// times how far behind the balance point they act, in in; share in %, NaN for none.
type steered struct{ area, at, turning, share float64 }

// steerOf draws what the air does to a build. Heights of vanes and sizes of blades
// carry no error, and tips only that of the length they are a part of.
func (w *world) steerOf(b *arrow.Build) func(z []float64, l *laid, balance float64) steered {
	d := w.pieces()(b.Shaft).size("diameter", inches(b.Shaft.OuterDiameter.Value), orElse(b.Shaft.OuterDiameterU, unit.Inch, 0.001))
	v, h := b.Vanes.Value, b.Head
	return func(z []float64, l *laid, balance float64) steered {
		diameter := d(z)
		area := math.Pi / 4 * diameter * diameter
		angle := math.Pi / 180
		nose := sideways{2, l.seat + l.head - noses[h.Shape]*l.head}
		body := sideways{1.1 * diameter * l.tube.span / area * math.Pow(math.Sin(angle), 2) / angle, l.tube.centre}
		var vanes, blades sideways
		if b.Vanes.Given && v.Count > 0 {
			tip := orElse(v.TipLength, unit.Inch, 0.4*l.vanes)
			slope, behind := finSet(float64(v.Count), diameter, l.vanes, tip, inches(v.Height.Value), l.vanes-tip)
			vanes = sideways{slope, l.rear + l.vanes - behind}
		}
		if h.Blades > 0 && !h.Expandable {
			long := inches(h.BladeLength.Value)
			slope, behind := finSet(float64(h.Blades), diameter, long, 0, (inches(h.CutWidth.Value)-diameter)/2, long)
			blades = sideways{slope, l.seat + long - behind}
		}
		all := pushedAt(nose, body, vanes, blades)
		s := steered{area, all.at, all.slope * (balance - all.at), math.NaN()}
		if vanes.slope > 0 && blades.slope > 0 {
			s.share = 100 * blades.slope * (blades.at - balance) / (vanes.slope * (balance - vanes.at))
		}
		return s
	}
}

// wobble returns how far in yd the arrow flies while it swings once; inertia is in
// gr·in², the density of the air in kg/m³.
func (s *steered) wobble(inertia, density float64) float64 {
	const kilogram, metre = 6.479891e-5, 0.0254 // in gr and in
	stiffness := density / 2 * s.area * metre * metre * s.turning * metre
	return 2 * math.Pi * math.Sqrt(inertia*kilogram*metre*metre/stiffness) / 0.9144
}

// The second model's slopes and pressure points are those of the method's own
// worked cases (Barrowman & Barrowman 1966; Centuri TIR-33, 1970), in inches from
// the tip of the nose: as printed, and to more digits as its equations give them.
func TestSteeringOfTheWorld(t *testing.T) {
	fins := func(diameter, root, tip, span, sweep, from float64) sideways {
		slope, behind := finSet(4, diameter, root, tip, span, sweep)
		return sideways{slope, from + behind}
	}
	nose := func(long float64) sideways { return sideways{2, noses[part.Ogive] * long} }
	for _, c := range []struct {
		name               string
		all                sideways
		slope, at          float64
		printed, printedAt float64
	}{
		{"Javelin", pushedAt(nose(3.6), fins(0.75, 1.6, 0.85, 1.65, 0.75, 11.2)), 35.9266, 11.2861, 35.9, 11.3},
		{"Arcon-Hi", pushedAt(nose(5.25), fins(1.04, 1.9, 1.05, 2.2, 0.85, 18.1), fins(1.04, 2.45, 1.25, 3.45, 0.6, 21.55)), 96.1629, 20.8032, 96.2, 20.8},
	} {
		closeTo(t, c.name+", slope", c.all.slope, c.slope, 2e-6)
		closeTo(t, c.name+", pressure point", c.all.at, c.at, 5e-6)
		if math.Abs(c.all.slope-c.printed) > 0.05 || math.Abs(c.all.at-c.printedAt) > 0.05 {
			t.Errorf("%s: %.3f at %.3f, printed %.1f at %.1f", c.name, c.all.slope, c.all.at, c.printed, c.printedAt)
		}
	}
}
