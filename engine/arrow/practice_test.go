package arrow_test

import (
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// hunting is an ordinary arrow for the checks of this file (invented).
func hunting() arrow.Build {
	b := arrow.Build{Length: in(29.5)}
	b.Shaft.WeightPerInch = unit.Some(9 * unit.GrainPerInch)
	b.Nock = part.Nock{Weight: gr(9), Throat: unit.Some(in(0.5)), Balance: unit.Some(in(0.4))}
	b.Insert = unit.Some(part.Insert{Weight: gr(75), Depth: in(1.2)})
	b.Head = part.Head{Weight: gr(100), Balance: unit.Some(in(0.5))}
	return b
}

// Common practice, no source: a 75 gr break-off insert broken to 50 gr takes
// exactly 25 gr off the total and off the front.
func TestBreakOffInsert(t *testing.T) {
	b := hunting()
	before := b.Moments()
	b.Insert.Value.Weight = gr(50)
	after := b.Moments()
	same(t, "off the total", (before.Total - after.Total).In(unit.Grain), 25)
	same(t, "off the front", (before.Front - after.Front).In(unit.Grain), 25)
}

// Common practice, no source: a lighted nock adds about 12 gr over a plain one,
// at the rear, so FOC falls.
func TestLightedNock(t *testing.T) {
	b := hunting()
	before, plain := b.Moments(), foc(b)
	b.Nock.Weight, b.Nock.Lighted = gr(21), true
	after := b.Moments()
	same(t, "on the total", (after.Total - before.Total).In(unit.Grain), 12)
	same(t, "on the front", (after.Front - before.Front).In(unit.Grain), 0)
	if fell := 100 * (plain - foc(b)); fell < 1 || fell > 2.5 {
		t.Errorf("FOC falls by %.2f points", fell)
	}
}

// Common practice, no source: a plastic nock puts the throat about half an inch
// behind the tube, so a 29.5 in arrow is about 29 in of tube.
func TestThroatIsHalfAnInch(t *testing.T) {
	b := hunting()
	b.Nock.Throat = unit.Optional[unit.Length]{}
	same(t, "tube", b.Tube().In(unit.Inch), 29)
}
