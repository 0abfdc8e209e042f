package arrow

import "foreshaft/engine/unit"

// Assembly is how a build is to be put together where its pieces do not say so
// themselves, for the ticket that it is built from. All of it is optional: what is not
// noted is for the bench to ask. Nothing is reckoned from it.
type Assembly struct {
	Quantity unit.Optional[int] `job:"quantity" range:"1,1000"`
	// StiffSide is where the side goes that was found stiffest, where it is marked.
	StiffSide      string `job:"stiff_side"`
	InsertAdhesive string `job:"insert_adhesive"`
	CollarAdhesive string `job:"collar_adhesive"`
	VaneAdhesive   string `job:"vane_adhesive"`
	// BreakOff is what becomes of an insert that is made to be shortened. The weight of
	// the build's insert is the one it has then.
	BreakOff  unit.Optional[BreakOff]   `job:"break_off" one:"whole,broken"`
	Fletching unit.Optional[Fletching]  `job:"fletching" one:"straight,offset,helical"`
	Turn      unit.Optional[Turn]       `job:"fletching_turn" one:"left,right"`
	Angle     unit.Optional[unit.Angle] `job:"fletching_angle_deg" range:"0,15"`
	CockVane  unit.Optional[CockVane]   `job:"cock_vane" one:"up,down,out"`
	NockIndex string                    `job:"nock_index"`
	HeadIndex string                    `job:"head_index"`
	Note      string                    `job:"note"`
}

// BreakOff says whether a break-off insert stays whole.
type BreakOff string

// What becomes of a break-off insert.
const (
	Whole  BreakOff = "whole"
	Broken BreakOff = "broken"
)

// Fletching is how vanes lie along the shaft.
type Fletching string

// The ways to fletch.
const (
	Straight Fletching = "straight"
	Offset   Fletching = "offset"  // straight, at an angle to the shaft
	Helical  Fletching = "helical" // curved around the shaft
)

// Turn is the way that an arrow turns in flight, seen from behind: with a left offset or
// helical the front of each vane, turned to the top, lies to the left of its rear.
type Turn string

// The two ways.
const (
	Left  Turn = "left"
	Right Turn = "right"
)

// CockVane is where the odd vane points with the arrow on the string.
type CockVane string

// Where the odd vane points. Up and down are in line with the string slot of the nock, out is
// square to it and away from the riser.
const (
	Up   CockVane = "up"
	Down CockVane = "down"
	Out  CockVane = "out"
)
