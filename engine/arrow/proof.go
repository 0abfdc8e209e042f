package arrow

import (
	"slices"

	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// Proof is the record of a build that was shot and found good: on which bow and
// how that was set, and what was measured of the arrow. All of it is optional.
type Proof struct {
	Bow     string                     `job:"bow"`
	Kind    string                     `job:"bow_kind"`
	Release string                     `job:"release"`
	Peak    unit.Optional[unit.Force]  `job:"peak_weight_lb" range:"5,100"`
	Draw    unit.Optional[unit.Length] `job:"draw_length_in" range:"12,36"`
	Brace   unit.Optional[unit.Length] `job:"brace_height_in" range:"0,60"`
	Date    string                     `job:"date"`
	Weight  unit.Optional[unit.Mass]   `job:"total_weight_gr" range:"0,1000"`
	Balance unit.Optional[unit.Length] `job:"balance_point_in" range:"0,60"`
	Speed   unit.Optional[unit.Speed]  `job:"launch_speed_fps" range:"30,600"`
	// Paper is what a shot through paper or a bare shaft showed.
	Paper string `job:"paper_or_bare_shaft"`
	// Where a broadhead hit against a field point, positive high and right.
	Distance unit.Optional[unit.Length] `job:"broadhead_distance_yd" range:"0,200"`
	High     unit.Optional[unit.Length] `job:"broadhead_high_in" range:"-60,60"`
	Right    unit.Optional[unit.Length] `job:"broadhead_right_in" range:"-60,60"`
	Note     string                     `job:"note"`
}

// SamePieces reports whether two builds are the same arrow: cut alike from the
// same pieces, whatever these cost, and whatever the builds are called.
func (b *Build) SamePieces(other *Build) bool {
	one, two := *b, *other
	one.untrade()
	two.untrade()
	return one.Length == two.Length && one.Shaft == two.Shaft && one.Nock == two.Nock && one.Vanes == two.Vanes && one.Wrap == two.Wrap &&
		one.Insert == two.Insert && one.Collar == two.Collar && one.Head == two.Head &&
		slices.EqualFunc(one.Extras, two.Extras, func(x, y part.Extra) bool {
			x.Trade, y.Trade = part.Trade{}, part.Trade{}
			return x == y
		})
}

// untrade takes away what the counter knows of the pieces, the extras' left out.
func (b *Build) untrade() {
	for _, t := range []*part.Trade{&b.Shaft.Trade, &b.Nock.Trade, &b.Vanes.Value.Trade, &b.Wrap.Value.Trade,
		&b.Insert.Value.Trade, &b.Collar.Value.Trade, &b.Head.Trade} {
		*t = part.Trade{}
	}
}
