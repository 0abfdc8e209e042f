package part

import "foreshaft/engine/unit"

// Part is a piece in a drawer. Exactly the piece that Kind names is given.
type Part struct {
	ID     string                `job:"id" need:"yes"`
	Kind   Kind                  `job:"kind" need:"yes" one:"shaft,insert,collar,head,nock,vanes,wrap"`
	Shaft  unit.Optional[Shaft]  `job:"shaft"`
	Insert unit.Optional[Insert] `job:"insert"`
	Collar unit.Optional[Collar] `job:"collar"`
	Head   unit.Optional[Head]   `job:"head"`
	Nock   unit.Optional[Nock]   `job:"nock"`
	Vanes  unit.Optional[Vanes]  `job:"vanes"`
	Wrap   unit.Optional[Wrap]   `job:"wrap"`
	// Measured is what a scale said. It wins over the stated weight; both are kept.
	Measured unit.Optional[Measured] `job:"measured"`
	// Sample marks an invented part that came with the program.
	Sample bool `job:"sample"`
	// Retired marks a part that is no longer offered but that builds still use.
	Retired bool `job:"retired"`
}

// Measured is the mean of weighings of one kind of part and the standard
// uncertainty of a single piece. For a shaft it is the weight of an inch.
type Measured struct {
	Weight        unit.Mass          `job:"weight_gr" range:"0,1000"`
	WeightU       unit.Mass          `job:"weight_u_gr" range:"0,1000"`
	WeightPerInch unit.LinearDensity `job:"weight_gr_per_in" range:"0,30"`
	PerInchU      unit.LinearDensity `job:"weight_u_gr_per_in" range:"0,30"`
	Count         int                `job:"count" range:"0,1000000"`
}

// Valid reports whether the part holds the piece that its kind names.
func (p *Part) Valid() bool {
	switch p.Kind {
	case KindShaft:
		return p.Shaft.Given
	case KindInsert:
		return p.Insert.Given
	case KindCollar:
		return p.Collar.Given
	case KindHead:
		return p.Head.Given
	case KindNock:
		return p.Nock.Given
	case KindVanes:
		return p.Vanes.Given
	case KindWrap:
		return p.Wrap.Given
	}
	return false
}

// Weighed returns the part with its measured weight in place of the stated one.
func (p Part) Weighed() Part {
	if !p.Measured.Given {
		return p
	}
	m := p.Measured.Value
	weight, u := m.Weight, unit.Some(m.WeightU)
	switch p.Kind {
	case KindShaft:
		p.Shaft.Value.WeightPerInch, p.Shaft.Value.WeightPerInchU = unit.Some(m.WeightPerInch), unit.Some(m.PerInchU)
	case KindInsert:
		p.Insert.Value.Weight, p.Insert.Value.WeightU = weight, u
	case KindCollar:
		p.Collar.Value.Weight, p.Collar.Value.WeightU = weight, u
	case KindHead:
		p.Head.Value.Weight, p.Head.Value.WeightU = weight, u
	case KindNock:
		p.Nock.Value.Weight, p.Nock.Value.WeightU = weight, u
	case KindVanes:
		p.Vanes.Value.Weight, p.Vanes.Value.WeightU = weight, u
	case KindWrap:
		p.Wrap.Value.Weight, p.Wrap.Value.WeightU = weight, u
	}
	return p
}

// Name returns the piece's own name.
func (p *Part) Name() string {
	switch p.Kind {
	case KindShaft:
		return p.Shaft.Value.Name
	case KindInsert:
		return p.Insert.Value.Name
	case KindCollar:
		return p.Collar.Value.Name
	case KindHead:
		return p.Head.Value.Name
	case KindNock:
		return p.Nock.Value.Name
	case KindVanes:
		return p.Vanes.Value.Name
	case KindWrap:
		return p.Wrap.Value.Name
	}
	return ""
}

// StatedWeight returns the weight of the piece as its maker states it, of one
// vane of a set; nothing for a shaft, which is stated by the inch.
func (p *Part) StatedWeight() unit.Mass {
	switch p.Kind {
	case KindInsert:
		return p.Insert.Value.Weight
	case KindCollar:
		return p.Collar.Value.Weight
	case KindHead:
		return p.Head.Value.Weight
	case KindNock:
		return p.Nock.Value.Weight
	case KindVanes:
		return p.Vanes.Value.Weight
	case KindWrap:
		return p.Wrap.Value.Weight
	}
	return 0
}

// Weight returns the piece's weight as it counts in a build: of all vanes of a
// set, and of the shaft at a cut length.
func (p *Part) Weight(tube unit.Length) unit.Mass {
	w := p.Weighed()
	switch shaft := &w.Shaft.Value; {
	case p.Kind == KindShaft && shaft.TubeWeight.Given:
		return shaft.TubeWeight.Value
	case p.Kind == KindShaft:
		return shaft.WeightPerInch.Value.Times(tube)
	case p.Kind == KindVanes:
		return unit.Mass(w.Vanes.Value.Count) * w.StatedWeight()
	}
	return w.StatedWeight()
}

// Trade returns what the counter knows about the piece.
func (p *Part) Trade() Trade {
	switch p.Kind {
	case KindShaft:
		return p.Shaft.Value.Trade
	case KindInsert:
		return p.Insert.Value.Trade
	case KindCollar:
		return p.Collar.Value.Trade
	case KindHead:
		return p.Head.Value.Trade
	case KindNock:
		return p.Nock.Value.Trade
	case KindVanes:
		return p.Vanes.Value.Trade
	case KindWrap:
		return p.Wrap.Value.Trade
	}
	return Trade{}
}

// Piece returns a pointer to the piece that the part's kind names.
func (p *Part) Piece() any {
	switch p.Kind {
	case KindShaft:
		return &p.Shaft.Value
	case KindInsert:
		return &p.Insert.Value
	case KindCollar:
		return &p.Collar.Value
	case KindHead:
		return &p.Head.Value
	case KindNock:
		return &p.Nock.Value
	case KindVanes:
		return &p.Vanes.Value
	case KindWrap:
		return &p.Wrap.Value
	}
	return nil
}
