// Package job holds the bench document: a bow, the air, a sight, limits and the
// builds to compare. It is also the exchange format that files and pipes use.
package job

import (
	"bytes"
	"fmt"
	"slices"

	"foreshaft/engine/air"
	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// Format is the name and version of the exchange format.
const Format = "foreshaft-job/1"

// MostDistance is the farthest distance that a job may hold, as the tags say.
const MostDistance = 200 * unit.Yard

// MostBuilds is how many builds one job may compare.
const MostBuilds = 64

// Job is everything that the figures of its builds depend on. A Job is treated
// as a value: to change one, Clone it first.
type Job struct {
	Format       string                        `job:"format" need:"yes"`
	Bow          unit.Optional[bow.Bow]        `job:"bow"`
	Sight        unit.Optional[Sight]          `job:"sight"`
	Air          unit.Optional[air.Conditions] `job:"air"`
	Limits       unit.Optional[Limits]         `job:"limits"`
	Currency     string                        `job:"currency"`
	Baseline     int                           `job:"baseline" range:"0,63"`
	Distances    []unit.Length                 `job:"distances_yd" range:"0,200"`
	TargetRadius unit.Optional[unit.Length]    `job:"target_radius_in" range:"0,60"`
	Crosswind    unit.Optional[unit.Speed]     `job:"crosswind_mph" range:"-60,60"`
	Slope        unit.Optional[unit.Angle]     `job:"slope_deg" range:"-60,60"`
	Builds       []arrow.Build                 `job:"builds" need:"yes"`
	Drawer       unit.Optional[Drawer]         `job:"drawer"`
	Search       unit.Optional[Search]         `job:"search"`
}

// Sight is the geometry of eye and pin at full draw, and marks that were shot.
type Sight struct {
	PeepToPin     unit.Optional[unit.Length] `job:"peep_to_pin_in" range:"0,60"`
	PeepAboveNock unit.Optional[unit.Length] `job:"peep_above_nock_in" range:"0,60"`
	Marks         []Mark                     `job:"marks"`
}

// Mark is a sight reading that hits at a distance, in the user's own scale.
type Mark struct {
	Distance unit.Length `job:"distance_yd" range:"0,200" need:"yes"`
	Reading  unit.Length `job:"mark_in" range:"-60,60" need:"yes" shown:"inches"`
}

// Limits are the user's own rules sheet: class, club or hunting law. A limit of
// nothing, or one left out, is no limit.
type Limits struct {
	MaxSpeed         unit.Speed          `job:"max_speed_fps" range:"0,600"`
	MinWeight        unit.Mass           `job:"min_weight_gr" range:"0,1000"`
	MinWeightPerDraw unit.MassPerForce   `job:"min_weight_per_draw" range:"0,200"`
	MaxDiameter      unit.Length         `job:"max_diameter_mm" range:"0,20"`
	MinCutWidth      unit.Length         `job:"min_cut_width_in" range:"0,60"`
	MinPeak          unit.Force          `job:"min_peak_weight_lb" range:"0,100"`
	MaxPeak          unit.Force          `job:"max_peak_weight_lb" range:"0,100"`
	Electronics      unit.Optional[bool] `job:"electronics"`
}

// Drawer lists the pieces that a search may combine. In the lists of vanes,
// inserts and collars null stands for doing without.
type Drawer struct {
	Lengths []unit.Length                `job:"lengths_in" range:"0,60"`
	Shafts  []part.Shaft                 `job:"shafts"`
	Nocks   []part.Nock                  `job:"nocks"`
	Vanes   []unit.Optional[part.Vanes]  `job:"vanes"`
	Inserts []unit.Optional[part.Insert] `job:"inserts"`
	Collars []unit.Optional[part.Collar] `job:"collars"`
	Heads   []part.Head                  `job:"heads"`
}

// Search is a question over a drawer.
type Search struct {
	Where      map[string]Window  `job:"where"`
	Sort       string             `job:"sort"`
	Descending bool               `job:"descending"`
	Limit      unit.Optional[int] `job:"limit" range:"0,1000000"`
	InStock    bool               `job:"in_stock"`
	Misfits    bool               `job:"misfits"`
	Dangers    bool               `job:"dangers"`
}

// Window is the range a figure must lie in, in the figure's own unit, bounds
// included. Distance goes with a figure that has one value for each distance.
type Window struct {
	Distance unit.Optional[unit.Length] `job:"distance_yd" range:"0,200"`
	Min      unit.Optional[float64]     `job:"min"`
	Max      unit.Optional[float64]     `job:"max"`
}

// Decode reads a job file by the strict rules of the format. The error is a
// *record.Error that names the place.
func Decode(data []byte) (*Job, error) {
	j, err := DecodeBench(data)
	if err == nil && len(j.Builds) == 0 {
		err = refuse("builds", "must have 1 to %d builds, got none", MostBuilds)
	}
	if err != nil {
		return nil, err
	}
	return j, nil
}

// DecodeBench is Decode for a bench, which may have no build yet.
func DecodeBench(data []byte) (*Job, error) {
	j := new(Job)
	if err := record.Decode(data, j); err != nil {
		return nil, err
	}
	if err := j.check(); err != nil {
		return nil, err
	}
	return j, nil
}

// Encode writes the job in compact form. Equal jobs give equal bytes.
func (j *Job) Encode() []byte { return record.Encode(*j) }

// Equal reports whether two jobs are the same document.
func (j *Job) Equal(other *Job) bool { return bytes.Equal(j.Encode(), other.Encode()) }

// Clone returns a job that shares nothing that a change could reach: lists are
// copied, and a drawer and a question are never changed in place.
func (j *Job) Clone() *Job {
	out := *j
	out.Bow.Value = j.Bow.Value.Clone()
	out.Sight.Value.Marks = slices.Clone(j.Sight.Value.Marks)
	out.Distances = slices.Clone(j.Distances)
	out.Builds = make([]arrow.Build, len(j.Builds))
	for i, b := range j.Builds {
		out.Builds[i] = b.Clone()
	}
	return &out
}

// New returns a job without builds.
func New() *Job { return &Job{Format: Format} }

// ElectronicsAllowed reports whether the rules sheet lets electronics on the arrow.
func (l Limits) ElectronicsAllowed() bool { return l.Electronics.Or(true) }

// DistancesOrDefault returns the distances to compute for: 20 to 60 yd by 10
// when none are given.
func (j *Job) DistancesOrDefault() []unit.Length {
	if len(j.Distances) > 0 {
		return j.Distances
	}
	return []unit.Length{20 * unit.Yard, 30 * unit.Yard, 40 * unit.Yard, 50 * unit.Yard, 60 * unit.Yard}
}

// Marked reports whether a build of the job bears the mark of being proven on its
// bow: its own, or by its name on the bow.
func (j *Job) Marked(b *arrow.Build) bool {
	return b.Proven || b.Name != "" && b.Name == j.Bow.Value.Proven
}

// Farthest returns which of the distances is the farthest.
func (j *Job) Farthest() int {
	list := j.DistancesOrDefault()
	return slices.Index(list, slices.Max(list))
}

// TargetRadiusOrDefault returns the target's radius, 4 in when none is given.
func (j *Job) TargetRadiusOrDefault() unit.Length { return j.TargetRadius.Or(4 * unit.Inch) }

func refuse(path, format string, args ...any) error {
	return &record.Error{Path: path, Message: fmt.Sprintf(format, args...)}
}

// check applies the rules that concern more than one value.
func (j *Job) check() error {
	if j.Format != Format {
		return refuse("format", "must be %q, got %q", Format, j.Format)
	}
	if len(j.Builds) > MostBuilds {
		return refuse("builds", "must have 1 to %d builds, got %d", MostBuilds, len(j.Builds))
	}
	names := map[string]int{}
	for i := range j.Builds {
		b := &j.Builds[i]
		place := fmt.Sprintf("builds[%d]", i)
		if first, taken := names[b.Name]; taken {
			return refuse(place+".name", "%q is already the name of builds[%d]", b.Name, first)
		}
		names[b.Name] = i
		if err := checkShaft(place+".shaft", &b.Shaft); err != nil {
			return err
		}
		if err := b.Dozen.Value.Check(place + ".dozen"); err != nil {
			return err
		}
	}
	if j.Baseline != 0 && j.Baseline >= len(j.Builds) {
		return refuse("baseline", "must be the index of a build, 0 to %d, got %d", len(j.Builds)-1, j.Baseline)
	}
	for i, d := range j.Distances {
		place := fmt.Sprintf("distances_yd[%d]", i)
		if err := checkDistance(place, d); err != nil {
			return err
		}
		if first := slices.Index(j.Distances, d); first < i {
			return refuse(place, "is the same distance as distances_yd[%d]", first)
		}
	}
	for i, m := range j.Sight.Value.Marks {
		if err := checkDistance(fmt.Sprintf("sight.marks[%d].distance_yd", i), m.Distance); err != nil {
			return err
		}
	}
	for i := range j.Drawer.Value.Shafts {
		if err := checkShaft(fmt.Sprintf("drawer.shafts[%d]", i), &j.Drawer.Value.Shafts[i]); err != nil {
			return err
		}
	}
	return j.Search.Value.check()
}

func checkShaft(place string, s *part.Shaft) error {
	if !s.TubeWeight.Given && !s.WeightPerInch.Given {
		return refuse(place+".weight_gr_per_in", "is missing: a shaft needs weight_gr_per_in or tube_weight_gr")
	}
	return nil
}

func checkDistance(place string, d unit.Length) error {
	if d <= 0 {
		return refuse(place, "must be more than 0 and at most 200, got %g", d.In(unit.Yard))
	}
	return nil
}

func (s Search) check() error {
	names := make([]string, 0, len(s.Where))
	for name := range s.Where {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		w, place := s.Where[name], "search.where."+name
		key, known := figure.ByName(name)
		switch {
		case !known:
			return refuse(place, "is not a figure")
		case key.Definition().At && !w.Distance.Given:
			return refuse(place+".distance_yd", "is missing: this figure has one value for each distance")
		case !key.Definition().At && w.Distance.Given:
			return refuse(place+".distance_yd", "does not belong here: this figure has one value for the whole build")
		case w.Distance.Given && w.Distance.Value <= 0:
			return checkDistance(place+".distance_yd", w.Distance.Value)
		case w.Min.Given && w.Max.Given && w.Min.Value > w.Max.Value:
			return refuse(place, "has a min of %g above its max of %g", w.Min.Value, w.Max.Value)
		}
	}
	if s.Sort == "" {
		return nil
	}
	if key, known := figure.ByName(s.Sort); !known || key.Definition().At {
		return refuse("search.sort", "must be a figure of the whole build, got %q", s.Sort)
	}
	return nil
}
