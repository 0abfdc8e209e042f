package store

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

func TestSamplePartsAreStrictlyValidAndSayWhatTheyAre(t *testing.T) {
	ids, names := map[string]bool{}, map[string]bool{}
	kinds := map[part.Kind]int{}
	for _, p := range SampleParts() {
		if err := record.Decode(record.Encode(p), new(part.Part)); err != nil || !p.Valid() {
			t.Errorf("%s: %v", p.ID, err)
		}
		if !p.Sample || !strings.HasPrefix(p.ID, "sample-") || p.Trade().Note != SampleNote || !strings.Contains(SampleNote, "invented") {
			t.Errorf("%s does not say that it is a sample", p.ID)
		}
		if name := fmt.Sprintf("%s %s %v %d", p.Kind, p.Name(), p.Weight(29*unit.Inch), p.Vanes.Value.Count); ids[p.ID] || names[name] || strings.Trim(p.ID, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
			t.Errorf("%q, %q is taken or badly named", p.ID, name)
		} else {
			ids[p.ID], names[name] = true, true
		}
		if price, stock := p.Trade().Price.Value, p.Trade().Stock.Value; price < 0.2 || price > 30 || stock < 1 {
			t.Errorf("%s: price %g, stock %g", p.ID, price, stock)
		}
		kinds[p.Kind]++
	}
	want := map[part.Kind]int{part.KindShaft: 15, part.KindInsert: 17, part.KindCollar: 6, part.KindHead: 12, part.KindNock: 6, part.KindVanes: 4, part.KindWrap: 1}
	if fmt.Sprint(kinds) != fmt.Sprint(want) {
		t.Errorf("%v", kinds)
	}
}

// A carbon tube has a density near 1.6 g/cm³ and a modulus between 70 and 230
// GPa, the modulus from static spine by the usual test: 1.94 lb in the middle of
// 28 in, E = F L³/(48 I deflection). Stiffer shafts of a family weigh more.
func TestSampleShaftsCouldBeCarbonTubes(t *testing.T) {
	var before *part.Shaft
	for _, p := range SampleParts() {
		if p.Kind != part.KindShaft {
			continue
		}
		s := p.Shaft.Value
		outer, inner := float64(s.OuterDiameter.Value), float64(s.InnerDiameter.Value)
		density := float64(s.WeightPerInch.Value) / (math.Pi / 4 * (outer*outer - inner*inner))
		if density < 1380 || density > 1780 {
			t.Errorf("%s: %.0f kg/m³", s.Name, density)
		}
		span := float64(28 * unit.Inch)
		second := math.Pi / 64 * (math.Pow(outer, 4) - math.Pow(inner, 4))
		modulus := float64(1.94*unit.PoundForce) * span * span * span / (48 * second * float64(s.Spine.Value)) / 1e9
		if modulus < 70 || modulus > 230 {
			t.Errorf("%s: %.0f GPa", s.Name, modulus)
		}
		if g := s.WeightPerInch.Value.In(unit.GrainPerInch); g < 6.5 || g > 11 {
			t.Errorf("%s: %g gr/in", s.Name, g)
		}
		if before != nil && before.InnerDiameter == s.InnerDiameter && (before.Spine.Value >= s.Spine.Value || before.WeightPerInch.Value <= s.WeightPerInch.Value) {
			t.Errorf("%s is not weaker and lighter than %s", s.Name, before.Name)
		}
		before = &s
	}
	if before == nil {
		t.Fatal("no shafts")
	}
}

// Every shaft finds an insert of each weight, a collar and both nocks that fit.
func TestSamplePartsFitEachOther(t *testing.T) {
	parts := SampleParts()
	plain := arrow.Build{Name: "bare", Length: 29.5 * unit.Inch, Nock: part.Nock{Weight: unit.Grain}}
	for _, shaft := range parts {
		if shaft.Kind != part.KindShaft {
			continue
		}
		fits := map[string]bool{}
		for _, p := range parts {
			b := plain
			b.Shaft = shaft.Shaft.Value
			switch p.Kind {
			case part.KindInsert:
				b.Insert = p.Insert
				b.Head = part.Head{Thread: sampleThread}
			case part.KindCollar:
				b.Collar = p.Collar
			case part.KindNock:
				b.Nock = p.Nock.Value
			default:
				continue
			}
			if len(caution.Misfits(&b, unit.System{})) == 0 {
				key := string(p.Kind)
				switch p.Kind {
				case part.KindInsert:
					key += fmt.Sprintf(" %.0f", p.Insert.Value.Weight.In(unit.Grain))
				case part.KindNock:
					key += fmt.Sprint(p.Nock.Value.Lighted)
				}
				fits[key] = true
			}
		}
		for _, want := range []string{"insert 16", "insert 20", "insert 50", "insert 75", "insert 100", "collar", "nocktrue", "nockfalse"} {
			if !fits[want] {
				t.Errorf("no %s fits %s", want, shaft.Name())
			}
		}
	}
}

func TestSampleHeadsAndNocks(t *testing.T) {
	heads := map[string]bool{}
	plain := map[unit.Length]unit.Mass{}
	for _, p := range SampleParts() {
		switch p.Kind {
		case part.KindHead:
			h := p.Head.Value
			heads[fmt.Sprintf("%.0f %v", h.Weight.In(unit.Grain), h.Blades > 0)] = true
			if !h.Length.Given || h.Balance.Value >= h.Length.Value || h.Thread != sampleThread {
				t.Errorf("%s: balance %v in a length of %v", h.Name, h.Balance, h.Length)
			}
			if (h.Blades > 0) != h.CutWidth.Given || h.BladeLength.Value > h.Length.Value {
				t.Errorf("%s: blades %d, cut %v", h.Name, h.Blades, h.CutWidth)
			}
		case part.KindNock:
			n := p.Nock.Value
			if !n.Lighted {
				plain[n.FitsInner.Value] = n.Weight
			} else if more := n.Weight - plain[n.FitsInner.Value]; math.Abs(more.In(unit.Grain)-lightWeight) > 1e-9 {
				t.Errorf("%s is %v gr heavier than the plain one", n.Name, more.In(unit.Grain))
			}
		}
	}
	for _, want := range []string{"85 false", "100 false", "125 false", "150 false", "175 false", "200 false", "100 true", "125 true", "200 true"} {
		if !heads[want] {
			t.Errorf("no head %s", want)
		}
	}
}

func TestSampleBenchIsASafeContrastOfSampleParts(t *testing.T) {
	j := SampleBench()
	if _, err := job.Decode(j.Encode()); err != nil {
		t.Fatal(err)
	}
	b := &j.Bow.Value
	if !strings.Contains(b.Name, "invented") || b.Peak.Value > b.MaximumPeak.Value || j.Baseline != 0 || len(j.Builds) != 3 {
		t.Errorf("%+v", b)
	}
	// So that marks and drift are there to look at.
	if s := j.Sight.Value; !s.PeepToPin.Given || !s.PeepAboveNock.Given || len(s.Marks) > 0 || j.Crosswind.Value != 10*unit.MilePerHour {
		t.Errorf("the sight is %+v, the wind %v", s, j.Crosswind)
	}
	for _, r := range b.Readings {
		if r.Conditions != b.Now() {
			t.Errorf("a reading does not say the settings it was taken at: %+v", r)
		}
	}
	fitted, err := b.Fit()
	if err != nil {
		t.Fatal(err)
	}
	if k := fitted.VirtualMass.In(unit.Grain); k < 75 || k > 105 {
		t.Errorf("virtual mass %.1f gr", k)
	}
	rest, ok := b.Rest()
	drawer := sampleDrawer()
	holds := func(same func(part.Part) bool) bool {
		for _, p := range drawer {
			if p.Valid() && same(p) {
				return true
			}
		}
		return false
	}
	var weights, foc []float64
	for i := range j.Builds {
		build := &j.Builds[i]
		if misfits := caution.Misfits(build, unit.System{}); len(misfits) > 0 {
			t.Errorf("%s: %v", build.Name, misfits)
		}
		if !ok || build.Length < rest+1.5*unit.Inch {
			t.Errorf("%s: cut end %v, rest %v", build.Name, build.Length, rest)
		}
		pieces := []bool{
			holds(func(p part.Part) bool { return p.Shaft.Given && p.Shaft.Value == build.Shaft }),
			holds(func(p part.Part) bool { return p.Nock.Given && p.Nock.Value == build.Nock }),
			holds(func(p part.Part) bool { return p.Head.Given && p.Head.Value == build.Head }),
			holds(func(p part.Part) bool { return p.Insert == build.Insert }),
			holds(func(p part.Part) bool { return p.Vanes == build.Vanes }),
			holds(func(p part.Part) bool { return p.Collar == build.Collar }),
			holds(func(p part.Part) bool { return p.Wrap == build.Wrap }),
		}
		for k, same := range pieces {
			if !same || !build.Insert.Given || !build.Vanes.Given {
				t.Errorf("%s: piece %d is not from the drawer", build.Name, k)
			}
		}
		m := build.Moments()
		weights, foc = append(weights, m.Total.In(unit.Grain)), append(foc, 100*build.FOC(m.Balance))
		if m.Total < b.MinimumArrow.Value || foc[i] < 7 || foc[i] > 20 {
			t.Errorf("%s: %.0f gr, FOC %.1f %%", build.Name, weights[i], foc[i])
		}
	}
	if weights[1]-weights[0] < 40 || weights[2]-weights[1] < 40 {
		t.Errorf("no contrast: %v gr", weights)
	}
	t.Logf("weights %.1f gr, FOC %.1f %%, virtual mass %v", weights, foc, fitted.VirtualMass.In(unit.Grain))
}
