package sheet

import (
	"fmt"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// Standard uncertainties of what nobody measured (rules of thumb).
const (
	lengthU   = arrow.UsualLengthU
	positionU = 0.1 * unit.Inch // positions and balances
	diameterU = 0.001 * unit.Inch
	spineU    = 0.02 // of the static spine
)

// own is an input of one build: how to move it, and how far.
type own struct {
	input  int
	u      float64
	weight bool // it changes a weight, not a place
	move   func(b *arrow.Build, by float64)
}

// registry keeps the list of inputs, each once.
type registry struct {
	inputs  []figure.Input
	known   map[identity]int
	margins []marginOf
}

// identity tells inputs of builds apart. A piece equal in every field in two
// builds is the same piece, and its error the same error. The same shaft cut to
// the same length is the same tube. Extras that are alike within one build are
// separate pieces: turn counts them.
type identity struct {
	piece any // comparable: a piece by value
	what  string
	turn  int
}

func (r *registry) index(id identity, in figure.Input) int {
	if i, ok := r.known[id]; ok {
		return i
	}
	r.inputs = append(r.inputs, in)
	r.known[id] = len(r.inputs) - 1
	return len(r.inputs) - 1
}

// cutShaft identifies a tube: the shaft it is cut from and its length.
type cutShaft struct {
	shaft   part.Shaft
	length  unit.Length
	lengthU unit.Optional[unit.Length]
}

// inputs are those of one build: what its figures move by, and what the drag and
// the launch margin leave out of it.
type inputs struct {
	own    []own
	drag   int
	dragU  float64
	margin int
}

// of registers the inputs of a build.
func (r *registry) of(b *arrow.Build) inputs {
	out := inputs{own: r.build(b)}
	out.drag, out.dragU = r.dragOwn(b)
	out.margin = r.marginOwn(b)
	return out
}

// build lists the inputs of one build that carry an uncertainty.
func (r *registry) build(b *arrow.Build) []own {
	list := make([]own, 0, 20)
	turn := 0
	// named is what an extra is called here: another build may hold the same
	// piece in another place.
	named := ""
	add := func(piece any, what, remedy string, u float64, weight bool, move func(*arrow.Build, float64)) {
		if u > 0 {
			i := r.index(identity{piece, strings.TrimPrefix(what, named), turn}, figure.Input{Name: what, Remedy: remedy})
			list = append(list, own{i, u, weight, move})
		}
	}
	mass := func(piece any, name string, u unit.Optional[unit.Mass], move func(*arrow.Build, unit.Mass)) {
		remedy := "weigh the " + name
		if name == "vane" {
			remedy = "weigh one vane"
		}
		add(piece, name+" weight", remedy, float64(u.Or(arrow.UnweighedU)), true,
			func(b *arrow.Build, by float64) { move(b, unit.Mass(by)) })
	}
	length := func(piece any, what string, u unit.Length, move func(*arrow.Build, unit.Length)) {
		add(piece, what, "measure the "+what, float64(u), false,
			func(b *arrow.Build, by float64) { move(b, unit.Length(by)) })
	}

	if s := b.Shaft; s.TubeWeight.Given {
		add(s, "tube weight", "weigh the cut tube", float64(s.TubeWeightU.Or(arrow.WeighedU)), true,
			func(b *arrow.Build, by float64) { b.Shaft.TubeWeight.Value += unit.Mass(by) })
	} else {
		u := s.WeightPerInchU.Or(arrow.ShaftU * s.WeightPerInch.Value)
		add(s, "shaft weight per inch", "weigh the cut tube", float64(u), true,
			func(b *arrow.Build, by float64) { b.Shaft.WeightPerInch.Value += unit.LinearDensity(by) })
	}
	if d := b.Shaft.OuterDiameter; d.Given {
		length(b.Shaft, "shaft diameter", b.Shaft.OuterDiameterU.Or(diameterU), func(b *arrow.Build, by unit.Length) { b.Shaft.OuterDiameter.Value += by })
	}
	if spine := b.Shaft.Spine; spine.Given {
		add(b.Shaft, "static spine", "measure the static spine of this shaft", float64(b.Shaft.SpineU.Or(spineU*spine.Value)), false,
			func(b *arrow.Build, by float64) { b.Shaft.Spine.Value += unit.Length(by) })
	}
	length(cutShaft{b.Shaft, b.Length, b.LengthU}, "arrow length", b.LengthUncertainty(),
		func(b *arrow.Build, by unit.Length) { b.Length += by })

	n := b.Nock
	mass(n, "nock", n.WeightU, func(b *arrow.Build, by unit.Mass) { b.Nock.Weight += by })
	length(n, "nock throat offset", n.ThroatU.Or(lengthU), func(b *arrow.Build, by unit.Length) {
		b.Nock.Throat = unit.Some(b.Nock.ThroatOffset() + by)
	})
	length(n, "nock balance", n.BalanceU.Or(positionU), func(b *arrow.Build, by unit.Length) {
		b.Nock.Balance = unit.Some(b.Nock.BalancePoint() + by)
	})
	if v := b.Vanes.Value; b.Vanes.Given {
		mass(v, "vane", v.WeightU, func(b *arrow.Build, by unit.Mass) { b.Vanes.Value.Weight += by })
		length(v, "vane length", v.LengthU.Or(lengthU), func(b *arrow.Build, by unit.Length) { b.Vanes.Value.Length += by })
		length(v, "vane position", v.RearU.Or(positionU), func(b *arrow.Build, by unit.Length) { b.Vanes.Value.Rear += by })
	}
	if w := b.Wrap.Value; b.Wrap.Given {
		mass(w, "wrap", w.WeightU, func(b *arrow.Build, by unit.Mass) { b.Wrap.Value.Weight += by })
		length(w, "wrap length", w.LengthU.Or(lengthU), func(b *arrow.Build, by unit.Length) { b.Wrap.Value.Length += by })
	}
	if in := b.Insert.Value; b.Insert.Given {
		mass(in, "insert", in.WeightU, func(b *arrow.Build, by unit.Mass) { b.Insert.Value.Weight += by })
		length(in, "insert depth", in.DepthU.Or(lengthU), func(b *arrow.Build, by unit.Length) { b.Insert.Value.Depth += by })
	}
	if c := b.Collar.Value; b.Collar.Given {
		mass(c, "collar", c.WeightU, func(b *arrow.Build, by unit.Mass) { b.Collar.Value.Weight += by })
		length(c, "collar length", c.LengthU.Or(lengthU), func(b *arrow.Build, by unit.Length) { b.Collar.Value.Length += by })
	}
	h := b.Head
	mass(h, "head", h.WeightU, func(b *arrow.Build, by unit.Mass) { b.Head.Weight += by })
	length(h, "head balance", h.BalanceU.Or(positionU), func(b *arrow.Build, by unit.Length) {
		b.Head.Balance = unit.Some(b.Head.BalancePoint() + by)
	})
	if h.Length.Given {
		length(h, "head length", h.LengthU.Or(lengthU), func(b *arrow.Build, by unit.Length) { b.Head.Length.Value += by })
	}
	for i, e := range b.Extras {
		for _, before := range b.Extras[:i] {
			if before == e {
				turn++
			}
		}
		name := extraName(b, i)
		named = name
		mass(e, name, e.WeightU, func(b *arrow.Build, by unit.Mass) { b.Extras[i].Weight += by })
		length(e, name+" position", e.BalanceU.Or(positionU), func(b *arrow.Build, by unit.Length) { b.Extras[i].Balance += by })
		if e.Length.Given {
			length(e, name+" length", e.LengthU.Or(lengthU), func(b *arrow.Build, by unit.Length) { b.Extras[i].Length.Value += by })
		}
		turn = 0
	}
	return list
}

func extraName(b *arrow.Build, i int) string {
	if name := b.Extras[i].Name; name != "" {
		return name
	}
	return fmt.Sprintf("extra %d", i+1)
}
