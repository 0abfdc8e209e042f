package job

import (
	"testing"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

func TestDrawerOfParts(t *testing.T) {
	head := part.Part{Kind: part.KindHead, Head: unit.Some(part.Head{Name: "weighed", Weight: 100 * unit.Grain})}
	head.Measured = unit.Some(part.Measured{Weight: 101 * unit.Grain, WeightU: 0.2 * unit.Grain, Count: 12})
	gone := part.Part{Kind: part.KindHead, Head: unit.Some(part.Head{Name: "gone"}), Retired: true}
	shaft := part.Part{Kind: part.KindShaft, Shaft: unit.Some(part.Shaft{Name: "tube"})}
	wrap := part.Part{Kind: part.KindWrap, Wrap: unit.Some(part.Wrap{Name: "film"})}
	collar := part.Part{Kind: part.KindCollar, Collar: unit.Some(part.Collar{Name: "ring"})}
	nock, insert := part.Part{Kind: part.KindNock, Nock: unit.Some(part.Nock{})}, part.Part{Kind: part.KindInsert, Insert: unit.Some(part.Insert{})}
	vanes := part.Part{Kind: part.KindVanes, Vanes: unit.Some(part.Vanes{Count: 3})}
	d := DrawerOf([]part.Part{gone, wrap, shaft, head, nock, insert, vanes}, []unit.Length{29 * unit.Inch})
	if len(d.Lengths) != 1 || len(d.Shafts) != 1 || len(d.Heads) != 1 || len(d.Nocks) != 1 || len(d.Inserts) != 1 || len(d.Vanes) != 1 {
		t.Errorf("%+v", d)
	}
	if w := d.Heads[0].Weight.In(unit.Grain); w < 100.99 || w > 101.01 {
		t.Errorf("the head weighs %v gr, want what the scale said", w)
	}
	if len(d.Collars) != 0 {
		t.Errorf("%d collars where the drawer has none", len(d.Collars))
	}
	if d = DrawerOf([]part.Part{collar}, nil); len(d.Collars) != 2 || d.Collars[0].Given || !d.Collars[1].Given {
		t.Errorf("collars %+v, want none of them first", d.Collars)
	}
}
