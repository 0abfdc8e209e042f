// Package figure holds what the engine says about a build: a value with its
// unit, its standard uncertainty by named inputs, how it was come by and how
// it was worked out. Uncertainty follows the law of propagation, first order
// (JCGM 100:2008, 5.1 and 5.2), with higher orders where an input needs them.
package figure

import "foreshaft/engine/unit"

// Key names a figure. Its text is the figure's name in the exchange format.
type Key int

// The figures of a whole build, then those at a distance down range.
const (
	TotalWeight Key = iota
	FrontWeight
	BalancePoint
	FOC
	Inertia
	WeightPerDraw
	LaunchSpeed
	LaunchEnergy
	LaunchMomentum
	EnergyShare
	DragCoefficient
	MarkSpread
	HoldOnNear
	HoldOnFar
	BendingStiffness
	BendingFrequency
	LaunchMargin
	MarginVsProven
	BendsOnString
	PressurePoint
	SteerMargin
	SteerMoment
	HeadShare
	WobbleLength
	DozenCost
	FlightTime
	Speed
	Energy
	Momentum
	Drop
	SightMark
	MarkShift
	ImpactShift
	RangeShort
	RangeLong
	WindDrift
	HoldFor
	Count // how many there are
)

// Definition says what a figure is called and measured in.
type Definition struct {
	Name  string    // in the exchange format
	Title string    // on screen
	Unit  unit.Unit // the unit of the exchange format
	At    bool      // one value for each distance
	// Compares is true for a figure that is a comparison with the baseline (or
	// with a proven build) already, so that it has no difference of its own.
	Compares bool
	// Means says in one plain sentence what the figure tells.
	Means string
}

var (
	seconds = unit.Unit{Symbol: "s", Size: 1}
	hertz   = unit.Unit{Symbol: "Hz", Size: 1}
)

var definitions = [Count]Definition{
	TotalWeight:      {Name: "total_weight", Title: "total weight", Unit: unit.Grains, Means: "everything that leaves the string"},
	FrontWeight:      {Name: "front_weight", Title: "front weight", Unit: unit.Grains, Means: "insert, collar, head and anything else at the front"},
	BalancePoint:     {Name: "balance_point", Title: "balance point", Unit: unit.Inches, Means: "where the arrow balances, from the throat of the nock"},
	FOC:              {Name: "foc", Title: "FOC", Unit: unit.Percent, Means: "how far the balance point lies ahead of the middle, against arrow length"},
	Inertia:          {Name: "inertia", Title: "inertia", Unit: unit.GrainSquareInches, Means: "resistance to being turned about the balance point"},
	WeightPerDraw:    {Name: "weight_per_draw", Title: "grains per lb", Unit: unit.GrainsPerPound, Means: "arrow weight for each pound of peak draw weight"},
	LaunchSpeed:      {Name: "launch_speed", Title: "speed", Unit: unit.FeetPerSecond, Means: "speed as the arrow leaves the string"},
	LaunchEnergy:     {Name: "launch_energy", Title: "energy", Unit: unit.FootPounds, Means: "kinetic energy as the arrow leaves the string"},
	LaunchMomentum:   {Name: "launch_momentum", Title: "momentum", Unit: unit.PoundSeconds, Means: "momentum as the arrow leaves the string"},
	EnergyShare:      {Name: "energy_share", Title: "arrow's share", Unit: unit.Percent, Means: "the arrow's part of the energy the bow delivers"},
	DragCoefficient:  {Name: "drag_coefficient", Title: "drag", Unit: unit.Number, Means: "how much the air holds the arrow back, against the shaft's cross-section"},
	MarkSpread:       {Name: "mark_spread", Title: "mark spread", Unit: unit.Inches, Means: "how far apart the 20 yd and the 60 yd marks lie on the sight"},
	HoldOnNear:       {Name: "hold_on_near", Title: "one mark from", Unit: unit.Yards, Means: "with one mark that tops out at the target's radius: from where on it serves"},
	HoldOnFar:        {Name: "hold_on_far", Title: "one mark to", Unit: unit.Yards, Means: "with one mark that tops out at the target's radius: how far it serves"},
	BendingStiffness: {Name: "bending_stiffness", Title: "stiffness EI", Unit: unit.PoundSquareInches, Means: "how hard the shaft is to bend, from its static spine"},
	BendingFrequency: {Name: "bending_frequency", Title: "bends a second", Unit: hertz, Means: "how often a second the arrow bends to and fro when it is let go"},
	LaunchMargin:     {Name: "launch_margin", Title: "launch margin", Unit: unit.Number, Means: "the push that would fold the shaft against the push at launch: a yardstick, near 1 for builds that charts approve"},
	MarginVsProven:   {Name: "margin_vs_proven", Title: "against proven", Unit: unit.Percent, Compares: true, Means: "launch margin against that of the build proven on this bow"},
	BendsOnString:    {Name: "bends_on_string", Title: "launch bends", Unit: unit.Number, Means: "how often the arrow bends to and fro while the string pushes it"},
	PressurePoint:    {Name: "pressure_point", Title: "pressure point", Unit: unit.Inches, Means: "where the air's sideways push acts, from the throat of the nock"},
	SteerMargin:      {Name: "steer_margin", Title: "steer margin", Unit: unit.Percent, Means: "how far the air pushes behind the balance point, against arrow length"},
	SteerMoment:      {Name: "steer_moment", Title: "steering", Unit: unit.Percent, Compares: true, Means: "how hard the air turns it straight, against the baseline"},
	HeadShare:        {Name: "head_share", Title: "head's pull", Unit: unit.Percent, Means: "how much of the vanes' steering the blades of the head undo"},
	WobbleLength:     {Name: "wobble_length", Title: "wobble length", Unit: unit.Yards, Means: "how far it flies while it swings to and fro once"},
	DozenCost:        {Name: "dozen_cost", Title: "dozen price", Unit: unit.Number, Means: "twelve times the price of the pieces"},
	FlightTime:       {Name: "flight_time", Title: "flight time", Unit: seconds, At: true, Means: "time from the string to the target"},
	Speed:            {Name: "speed", Title: "speed left", Unit: unit.FeetPerSecond, At: true, Means: "how fast the arrow still is at the target"},
	Energy:           {Name: "energy", Title: "energy left", Unit: unit.FootPounds, At: true, Means: "kinetic energy left at the target"},
	Momentum:         {Name: "momentum", Title: "momentum left", Unit: unit.PoundSeconds, At: true, Means: "momentum left at the target"},
	Drop:             {Name: "drop", Title: "drop", Unit: unit.Inches, At: true, Means: "how far the arrow falls below the line it was launched along"},
	SightMark:        {Name: "sight_mark", Title: "sight mark", Unit: unit.Inches, At: true, Means: "where the pin has to stand: a greater mark is a lower pin"},
	MarkShift:        {Name: "mark_shift", Title: "mark shift", Unit: unit.Inches, At: true, Compares: true, Means: "how much lower the pin has to stand than for the baseline"},
	ImpactShift:      {Name: "impact_shift", Title: "on its mark", Unit: unit.Inches, At: true, Compares: true, Means: "how high it hits when shot with the baseline's mark"},
	RangeShort:       {Name: "range_short", Title: "nearer up to", Unit: unit.Yards, At: true, Means: "how much nearer the target may be than judged and still be hit"},
	RangeLong:        {Name: "range_long", Title: "farther up to", Unit: unit.Yards, At: true, Means: "how much farther the target may be than judged and still be hit"},
	WindDrift:        {Name: "wind_drift", Title: "wind drift", Unit: unit.Inches, At: true, Means: "how far the crosswind carries it"},
	HoldFor:          {Name: "hold_for", Title: "hold for", Unit: unit.Yards, At: true, Means: "on this slope: the level distance whose mark to use"},
}

// Definition returns what the figure is called and measured in.
func (k Key) Definition() Definition { return definitions[k] }

// String returns the figure's name in the exchange format.
func (k Key) String() string { return definitions[k].Name }

// ByName returns the figure of that name in the exchange format.
func ByName(name string) (Key, bool) {
	for k, d := range definitions {
		if d.Name == name {
			return Key(k), true
		}
	}
	return 0, false
}
