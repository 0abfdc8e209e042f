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

// common is what all pieces have. A shaft has no weight of its own: it is
// stated by the inch.
type common struct {
	name    *string
	weight  *unit.Mass
	weightU *unit.Optional[unit.Mass]
	trade   *Trade
}

func (s *Shaft) common() common  { return common{name: &s.Name, trade: &s.Trade} }
func (i *Insert) common() common { return common{&i.Name, &i.Weight, &i.WeightU, &i.Trade} }
func (c *Collar) common() common { return common{&c.Name, &c.Weight, &c.WeightU, &c.Trade} }
func (h *Head) common() common   { return common{&h.Name, &h.Weight, &h.WeightU, &h.Trade} }
func (n *Nock) common() common   { return common{&n.Name, &n.Weight, &n.WeightU, &n.Trade} }
func (v *Vanes) common() common  { return common{&v.Name, &v.Weight, &v.WeightU, &v.Trade} }
func (w *Wrap) common() common   { return common{&w.Name, &w.Weight, &w.WeightU, &w.Trade} }

// Piece is any of the pieces that a Part may be.
type Piece interface{ common() common }

// Piece returns a pointer to the piece that the part's kind names, and whether
// the part holds it. It is nil for a kind that no drawer keeps.
func (p *Part) Piece() (piece Piece, given bool) {
	switch p.Kind {
	case KindShaft:
		return &p.Shaft.Value, p.Shaft.Given
	case KindInsert:
		return &p.Insert.Value, p.Insert.Given
	case KindCollar:
		return &p.Collar.Value, p.Collar.Given
	case KindHead:
		return &p.Head.Value, p.Head.Given
	case KindNock:
		return &p.Nock.Value, p.Nock.Given
	case KindVanes:
		return &p.Vanes.Value, p.Vanes.Given
	case KindWrap:
		return &p.Wrap.Value, p.Wrap.Given
	}
	return nil, false
}

// Bare returns a part that holds only the piece that its kind names, so that
// the pieces of two parts can be compared with ==.
func (p Part) Bare() Part {
	out := Part{Kind: p.Kind}
	switch p.Kind {
	case KindShaft:
		out.Shaft = p.Shaft
	case KindInsert:
		out.Insert = p.Insert
	case KindCollar:
		out.Collar = p.Collar
	case KindHead:
		out.Head = p.Head
	case KindNock:
		out.Nock = p.Nock
	case KindVanes:
		out.Vanes = p.Vanes
	case KindWrap:
		out.Wrap = p.Wrap
	}
	return out
}

// Valid reports whether the part holds the piece that its kind names.
func (p *Part) Valid() bool {
	_, given := p.Piece()
	return given
}

// Alone reports whether the part holds the piece that its kind names, and no other.
func (p *Part) Alone() bool {
	held := 0
	for _, is := range []bool{p.Shaft.Given, p.Insert.Given, p.Collar.Given, p.Head.Given, p.Nock.Given, p.Vanes.Given, p.Wrap.Given} {
		if is {
			held++
		}
	}
	return p.Valid() && held == 1
}

// common returns what all pieces have; of a kind that no drawer keeps, nothing.
func (p *Part) common() common {
	piece, _ := p.Piece()
	if piece == nil {
		return common{name: new(string), trade: new(Trade)}
	}
	return piece.common()
}

// Name returns the piece's own name.
func (p *Part) Name() string { return *p.common().name }

// Trade returns what the counter knows about the piece.
func (p *Part) Trade() Trade { return *p.common().trade }

// StatedWeight returns the weight of the piece as its maker states it, of one
// vane of a set; nothing for a shaft, which is stated by the inch.
func (p *Part) StatedWeight() unit.Mass {
	if w := p.common().weight; w != nil {
		return *w
	}
	return 0
}

// Weighed returns the part with its measured weight in place of the stated one.
func (p Part) Weighed() Part {
	if !p.Measured.Given {
		return p
	}
	m := p.Measured.Value
	if p.Kind == KindShaft {
		p.Shaft.Value.WeightPerInch, p.Shaft.Value.WeightPerInchU = unit.Some(m.WeightPerInch), unit.Some(m.PerInchU)
		return p
	}
	return p.reweighed(m.Weight, unit.Some(m.WeightU))
}

// Reweighed returns the part with a weight that was typed, as stated and not as
// weighed; of vanes the weight of one, of a shaft the weight of its cut tube,
// which is always weighed.
func (p Part) Reweighed(weight unit.Mass) Part {
	if p.Kind == KindShaft {
		p.Shaft.Value.TubeWeight, p.Shaft.Value.TubeWeightU = unit.Some(weight), unit.Optional[unit.Mass]{}
		return p
	}
	return p.reweighed(weight, unit.Optional[unit.Mass]{})
}

func (p Part) reweighed(weight unit.Mass, u unit.Optional[unit.Mass]) Part {
	if c := p.common(); c.weight != nil {
		*c.weight, *c.weightU = weight, u
	}
	return p
}

// Weight returns the piece's weight as it counts in a build: of all vanes of a
// set, and of the shaft at a cut length.
func (p *Part) Weight(tube unit.Length) unit.Mass {
	w := p
	if p.Measured.Given { // a part is large: one that nobody weighed is not copied
		measured := p.Weighed()
		w = &measured
	}
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

// Hold gives the part an empty piece of its kind, to be filled in.
func (p *Part) Hold() {
	switch p.Kind {
	case KindShaft:
		p.Shaft.Given = true
	case KindInsert:
		p.Insert.Given = true
	case KindCollar:
		p.Collar.Given = true
	case KindHead:
		p.Head.Given = true
	case KindNock:
		p.Nock.Given = true
	case KindVanes:
		p.Vanes.Given = true
	case KindWrap:
		p.Wrap.Given = true
	}
}
