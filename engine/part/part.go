// Package part holds the pieces an arrow is built from and the catalogue of
// parts that a drawer keeps of them.
//
// A piece is what takes part in a build: its weight, sizes and how well they
// are known. A Part is a piece in a drawer: when it was weighed, whether it is
// a sample, whether it is still on sale.
//
// The job tags give each field's key in the exchange format; the unit is the
// ending of the key. The range tags only keep out the absurd. Package record
// reads both.
package part

import "foreshaft/engine/unit"

// Kind says what a piece is for.
type Kind string

// A names one piece of the kind in a sentence.
func (k Kind) A() string {
	switch k {
	case KindVanes:
		return "a set of vanes"
	case KindInsert:
		return "an insert"
	}
	return "a " + string(k)
}

// The kinds of piece, named as in the exchange format.
const (
	KindShaft  Kind = "shaft"
	KindNock   Kind = "nock"
	KindVanes  Kind = "vanes"
	KindWrap   Kind = "wrap"
	KindInsert Kind = "insert"
	KindCollar Kind = "collar"
	KindHead   Kind = "head"
	KindExtra  Kind = "extra"
)

// Kinds lists the kinds that a drawer keeps, from the kind that decides most
// about an arrow to the kind that decides least.
var Kinds = []Kind{KindShaft, KindInsert, KindCollar, KindHead, KindNock, KindVanes, KindWrap}

// Trade is what the counter knows about a piece besides its physics.
type Trade struct {
	Price unit.Optional[float64] `job:"price" range:"0,1000000"`
	Stock unit.Optional[float64] `job:"stock" range:"0,1000000"`
	Note  string                 `job:"note"`
}

// Shaft is a bare tube. Its weight is that of the weighed cut tube when there
// is one, else weight per inch times the length of the cut tube.
type Shaft struct {
	Name           string                            `job:"name"`
	WeightPerInch  unit.Optional[unit.LinearDensity] `job:"weight_gr_per_in" range:"1,30"`
	WeightPerInchU unit.Optional[unit.LinearDensity] `job:"weight_u_gr_per_in" range:"0,30"`
	TubeWeight     unit.Optional[unit.Mass]          `job:"tube_weight_gr" range:"0,1000"`
	TubeWeightU    unit.Optional[unit.Mass]          `job:"tube_weight_u_gr" range:"0,1000"`
	Spine          unit.Optional[unit.Length]        `job:"spine_in" range:"0.05,3" shown:"inches"`
	SpineU         unit.Optional[unit.Length]        `job:"spine_u_in" range:"0,3" shown:"inches"`
	OuterDiameter  unit.Optional[unit.Length]        `job:"outer_diameter_in" range:"0.1,0.6" shown:"fine"`
	OuterDiameterU unit.Optional[unit.Length]        `job:"outer_diameter_u_in" range:"0,0.6" shown:"fine"`
	InnerDiameter  unit.Optional[unit.Length]        `job:"inner_diameter_in" range:"0.1,0.6" shown:"fine"`
	StockLength    unit.Optional[unit.Length]        `job:"stock_length_in" range:"0,60"`
	Trade
}

// Nock is a plain or lighted nock. Throat is how far its throat, where the
// string sits, lies behind the rear end of the tube; Balance is where its
// weight acts, ahead of the throat.
type Nock struct {
	Name      string                     `job:"name"`
	Weight    unit.Mass                  `job:"weight_gr" range:"0,1000" need:"yes"`
	WeightU   unit.Optional[unit.Mass]   `job:"weight_u_gr" range:"0,1000"`
	Throat    unit.Optional[unit.Length] `job:"throat_in" range:"0,60"`
	ThroatU   unit.Optional[unit.Length] `job:"throat_u_in" range:"0,60"`
	Balance   unit.Optional[unit.Length] `job:"balance_in" range:"0,60"`
	BalanceU  unit.Optional[unit.Length] `job:"balance_u_in" range:"0,60"`
	Lighted   bool                       `job:"lighted"`
	FitsInner unit.Optional[unit.Length] `job:"fits_inner_in" range:"0.1,0.6" shown:"fine"`
	Trade
}

// DefaultThroat is the usual throat offset of a plastic nock (common practice).
const DefaultThroat = 0.5 * unit.Inch

// ThroatOffset returns the distance from the throat to the rear end of the tube.
func (n Nock) ThroatOffset() unit.Length { return n.Throat.Or(DefaultThroat) }

// BalancePoint returns where the nock's weight acts, ahead of the throat. When
// it is not given it is taken at the rear end of the tube.
func (n Nock) BalancePoint() unit.Length { return n.Balance.Or(n.ThroatOffset()) }

// Vanes is a set of equal vanes. Weight is that of one vane; Rear is the
// distance from the throat to their rear edge.
type Vanes struct {
	Name      string                     `job:"name"`
	Count     int                        `job:"count" range:"0,8" need:"yes"`
	Weight    unit.Mass                  `job:"weight_gr" range:"0,1000" need:"yes"`
	WeightU   unit.Optional[unit.Mass]   `job:"weight_u_gr" range:"0,1000"`
	Length    unit.Length                `job:"length_in" range:"0,60" need:"yes"`
	LengthU   unit.Optional[unit.Length] `job:"length_u_in" range:"0,60"`
	Height    unit.Optional[unit.Length] `job:"height_in" range:"0,60"`
	Rear      unit.Length                `job:"rear_in" range:"0,60" need:"yes"`
	RearU     unit.Optional[unit.Length] `job:"rear_u_in" range:"0,60"`
	Thickness unit.Optional[unit.Length] `job:"thickness_in" range:"0,60" shown:"fine"`
	TipLength unit.Optional[unit.Length] `job:"tip_length_in" range:"0,60"`
	Trade
}

// Wrap is a film around the rear end of the tube.
type Wrap struct {
	Name    string                     `job:"name"`
	Weight  unit.Mass                  `job:"weight_gr" range:"0,1000" need:"yes"`
	WeightU unit.Optional[unit.Mass]   `job:"weight_u_gr" range:"0,1000"`
	Length  unit.Length                `job:"length_in" range:"0,60" need:"yes"`
	LengthU unit.Optional[unit.Length] `job:"length_u_in" range:"0,60"`
	Trade
}

// Insert takes the head. It reaches Depth into the tube and stands Proud of
// its cut end.
type Insert struct {
	Name      string                     `job:"name"`
	Weight    unit.Mass                  `job:"weight_gr" range:"0,1000" need:"yes"`
	WeightU   unit.Optional[unit.Mass]   `job:"weight_u_gr" range:"0,1000"`
	Depth     unit.Length                `job:"depth_in" range:"0,60" need:"yes"`
	DepthU    unit.Optional[unit.Length] `job:"depth_u_in" range:"0,60"`
	Proud     unit.Optional[unit.Length] `job:"proud_in" range:"0,60"`
	FitsInner unit.Optional[unit.Length] `job:"fits_inner_in" range:"0.1,0.6" shown:"fine"`
	Thread    string                     `job:"thread"`
	Trade
}

// Collar is a sleeve over the front end of the tube.
type Collar struct {
	Name      string                     `job:"name"`
	Weight    unit.Mass                  `job:"weight_gr" range:"0,1000" need:"yes"`
	WeightU   unit.Optional[unit.Mass]   `job:"weight_u_gr" range:"0,1000"`
	Length    unit.Length                `job:"length_in" range:"0,60" need:"yes"`
	LengthU   unit.Optional[unit.Length] `job:"length_u_in" range:"0,60"`
	FitsOuter unit.Optional[unit.Length] `job:"fits_outer_in" range:"0.1,0.6" shown:"fine"`
	Trade
}

// Shape is the outline of a head's nose.
type Shape string

// The shapes of a head. An empty Shape is an ogive.
const (
	Ogive Shape = "ogive"
	Cone  Shape = "cone"
	Blunt Shape = "blunt"
)

// Head is a field point or a broadhead. Balance is where its weight acts,
// ahead of its seat; it is negative when the shank inside weighs most.
type Head struct {
	Name           string                     `job:"name"`
	Weight         unit.Mass                  `job:"weight_gr" range:"0,1000" need:"yes"`
	WeightU        unit.Optional[unit.Mass]   `job:"weight_u_gr" range:"0,1000"`
	Balance        unit.Optional[unit.Length] `job:"balance_in" range:"-60,60"`
	BalanceU       unit.Optional[unit.Length] `job:"balance_u_in" range:"0,60"`
	Length         unit.Optional[unit.Length] `job:"length_in" range:"0,60"`
	LengthU        unit.Optional[unit.Length] `job:"length_u_in" range:"0,60"`
	Shape          Shape                      `job:"shape" one:"ogive,cone,blunt"`
	Thread         string                     `job:"thread"`
	Blades         int                        `job:"blades" range:"0,8"`
	BladeLength    unit.Optional[unit.Length] `job:"blade_length_in" range:"0,60"`
	CutWidth       unit.Optional[unit.Length] `job:"cut_width_in" range:"0,60"`
	BladeThickness unit.Optional[unit.Length] `job:"blade_thickness_in" range:"0,60" shown:"fine"`
	Expandable     bool                       `job:"expandable"`
	Trade
}

// DefaultHeadBalance is where the weight of a head acts when neither its
// balance nor its length is known (rule of thumb).
const DefaultHeadBalance = 0.5 * unit.Inch

// BalancePoint returns where the head's weight acts, ahead of its seat: as
// given, else half its length, else DefaultHeadBalance.
func (h Head) BalancePoint() unit.Length {
	switch {
	case h.Balance.Given:
		return h.Balance.Value
	case h.Length.Given:
		return h.Length.Value / 2
	}
	return DefaultHeadBalance
}

// Alike reports whether a head is of the same sort as another, so that it can take
// its place without making the arrow one for something else: a field point, a fixed
// broadhead or an expandable one.
func (h *Head) Alike(other *Head) bool {
	return (h.Blades > 0) == (other.Blades > 0) && h.Expandable == other.Expandable
}

// Extra is anything else with weight: glue, ballast, a footing. Balance is the
// distance of its centre from the throat.
type Extra struct {
	Name     string                     `job:"name"`
	Weight   unit.Mass                  `job:"weight_gr" range:"0,1000" need:"yes"`
	WeightU  unit.Optional[unit.Mass]   `job:"weight_u_gr" range:"0,1000"`
	Balance  unit.Length                `job:"balance_in" range:"0,60" need:"yes"`
	BalanceU unit.Optional[unit.Length] `job:"balance_u_in" range:"0,60"`
	Length   unit.Optional[unit.Length] `job:"length_in" range:"0,60"`
	LengthU  unit.Optional[unit.Length] `job:"length_u_in" range:"0,60"`
	Trade
}
