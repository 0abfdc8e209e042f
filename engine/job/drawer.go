package job

import (
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// DrawerOf lists the pieces of parts as a search combines them, in the order of
// the parts and each with its measured weight where there is one. Retired parts are
// left out, and so are wraps, which a search does without. An arrow may do without a
// collar, and without an insert or vanes only where the parts offer none.
func DrawerOf(parts []part.Part, lengths []unit.Length) Drawer {
	d := Drawer{Lengths: lengths}
	for _, p := range parts {
		if p.Retired {
			continue
		}
		switch p = p.Weighed(); p.Kind {
		case part.KindShaft:
			d.Shafts = append(d.Shafts, p.Shaft.Value)
		case part.KindNock:
			d.Nocks = append(d.Nocks, p.Nock.Value)
		case part.KindVanes:
			d.Vanes = append(d.Vanes, p.Vanes)
		case part.KindInsert:
			d.Inserts = append(d.Inserts, p.Insert)
		case part.KindCollar:
			d.Collars = append(d.Collars, p.Collar)
		case part.KindHead:
			d.Heads = append(d.Heads, p.Head.Value)
		}
	}
	if len(d.Collars) > 0 {
		d.Collars = append([]unit.Optional[part.Collar]{{}}, d.Collars...)
	}
	return d
}
