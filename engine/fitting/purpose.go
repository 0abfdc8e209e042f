package fitting

import (
	"fmt"

	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// Share is a part of a whole: 0.10 is 10 %.
type Share float64

// Purpose is what arrows are for, with the weight and balance that are asked of
// them. The job tags give the keys of a record, so that a list of purposes can be
// kept and edited.
type Purpose struct {
	Name       string            `job:"name" need:"yes"`
	MinPerDraw unit.MassPerForce `job:"min_weight_per_draw" range:"0,200" need:"yes"`
	MaxPerDraw unit.MassPerForce `job:"max_weight_per_draw" range:"0,200" need:"yes"`
	MinFOC     Share             `job:"min_foc_pct" range:"-50,50" need:"yes"`
	MaxFOC     Share             `job:"max_foc_pct" range:"-50,50" need:"yes"`
	Note       string            `job:"note"`
}

// DefaultPurposes returns the purposes to start from. Their ranges are common
// practice and no rule: they are there to be edited.
func DefaultPurposes() []Purpose {
	const grains, percent = unit.GrainPerPound, Share(0.01)
	return []Purpose{
		{"target", 6 * grains, 10 * grains, 9 * percent, 16 * percent, "Common practice: light enough for flat paths, heavy enough to be kind to the bow."},
		{"3D and field courses", 5.5 * grains, 8.5 * grains, 8 * percent, 15 * percent, "Common practice: fast, because distances are judged by eye."},
		{"small game", 6 * grains, 10 * grains, 9 * percent, 16 * percent, "Common practice. Check local law for the least weight and the heads allowed."},
		{"deer-sized game", 6.5 * grains, 10 * grains, 10 * percent, 18 * percent, "Common practice. Check local law for the least weight, the heads and the draw weight."},
		{"large game", 8 * grains, 13 * grains, 11 * percent, 20 * percent, "Common practice. Check local law for the least weight, the heads and the draw weight."},
		{"light bows and young archers", 7 * grains, 20 * grains, 7 * percent, 20 * percent, "Common practice: shafts for light bows weigh more for each pound. Check the draw length each season."},
	}
}

// CheckPurposes applies the rules that concern more than one value of a list of
// purposes. The error is a *record.Error that names the place.
func CheckPurposes(list []Purpose) error {
	names := map[string]bool{}
	for i, p := range list {
		place := fmt.Sprintf("[%d].", i)
		if names[p.Name] {
			return &record.Error{Path: place + "name", Message: fmt.Sprintf("%q is the name of another purpose already", p.Name)}
		}
		names[p.Name] = true
		if err := p.check(place); err != nil {
			return err
		}
	}
	return nil
}

// check compares the bounds of a purpose's ranges. place is what stands before its
// keys in a message.
func (p Purpose) check(place string) error {
	refuse := func(key, format string, args ...any) error {
		return &record.Error{Path: place + key, Message: fmt.Sprintf(format, args...)}
	}
	least, most := p.MinPerDraw.In(unit.GrainPerPound), p.MaxPerDraw.In(unit.GrainPerPound)
	low, high := 100*p.MinFOC, 100*p.MaxFOC
	switch {
	case p.Name == "":
		return refuse("name", "must not be empty")
	case !(least >= 0):
		return refuse("min_weight_per_draw", "must be 0 or more, got %.4g", least)
	case !(most > 0 && least <= most):
		return refuse("max_weight_per_draw", "must be more than 0 and no less than where the range begins, %.4g, got %.4g", least, most)
	case !(low >= -50 && high <= 50):
		return refuse("min_foc_pct", "and max_foc_pct must be −50 to 50, got %.4g and %.4g", low, high)
	case !(low <= high):
		return refuse("max_foc_pct", "must be no less than where the range begins, %.4g, got %.4g", low, high)
	}
	return nil
}
