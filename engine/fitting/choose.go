package fitting

import (
	"errors"
	"fmt"
	"math"
	"strconv"

	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// builds chooses up to three, the lightest first. Three without a fault come before
// fewer, and fewer without a fault before three with one.
func (f *fitter) builds() ([]candidate, error) {
	if !f.answers.afford(&f.drawer) {
		return nil, f.nothing()
	}
	wide := math.Inf(1)
	best, err := f.stage(f.low, f.high).three()
	if err != nil || len(best) == 3 {
		return best, err
	}
	if f.low != f.weak || f.high != wide {
		more, err := f.stage(f.weak, wide).three()
		if err != nil {
			return nil, err
		}
		if len(more) > len(best) {
			best = more
		}
	}
	if len(best) > 0 {
		return best, nil
	}
	for _, code := range relaxed {
		for _, low := range f.lows(code) {
			if best, err = f.stage(low, wide, code).three(); err != nil || len(best) > 0 {
				return best, err
			}
		}
	}
	if best, err = f.stage(caution.FoldsBelow, wide, relaxed...).three(); err != nil || len(best) > 0 {
		return best, err
	}
	return nil, f.nothing()
}

// lows returns the least launch margins to try when a fault is let in, one after the
// other: a shaft that is weak is to be as little so as can be.
func (f *fitter) lows(fault caution.Code) []float64 {
	if fault != caution.Weak {
		return []float64{f.weak}
	}
	var out []float64
	for low := f.weak - marginStep; low > caution.FoldsBelow; low -= marginStep {
		out = append(out, low)
	}
	return append(out, caution.FoldsBelow)
}

// three chooses up to three builds of a stage that are apart. Of any three that are
// apart the middle one is apart from the lightest and the heaviest that there are:
// where no middle one is found there are no three.
func (s *stage) three() ([]candidate, error) {
	lightest, ok, err := s.extreme(false)
	if !ok || err != nil {
		return nil, err
	}
	heaviest, _, err := s.extreme(true)
	if err != nil {
		return nil, err
	}
	favour := s.answers.Favour
	if s.allows(caution.LightArrow) { // the heavier, the farther from a danger
		favour = Weight
	}
	at := func(i int) unit.Mass { return lightest + unit.Mass(thirds[favour][i])*(heaviest-lightest) }
	var light, middle, heavy *candidate
	if middle, err = s.choose(s.above(lightest), s.below(heaviest), at(1)); err != nil {
		return nil, err
	}
	switch {
	case middle != nil:
		if light, err = s.choose(lightest, s.below(middle.mass), at(0)); err != nil {
			return nil, err
		}
		heavy, err = s.choose(s.above(middle.mass), heaviest, at(2))
	case s.apart(lightest, heaviest):
		if heavy, err = s.choose(s.above(lightest), heaviest, at(2)); err != nil {
			return nil, err
		}
		if heavy != nil {
			light, err = s.choose(lightest, s.below(heavy.mass), at(0))
		}
	default:
		middle, err = s.choose(lightest, heaviest, at(1))
	}
	var out []candidate
	for _, c := range []*candidate{light, middle, heavy} {
		if c != nil {
			out = append(out, *c)
		}
	}
	return out, err
}

func (f *fitter) money(amount float64) string {
	if f.job.Currency == "" {
		return fmt.Sprintf("%.2f", amount)
	}
	return fmt.Sprintf("%.2f %s", amount, f.job.Currency)
}

// pricedAtMost is how many arrows are priced to find the cheapest.
const pricedAtMost = 200_000

// nothing says why no build could be chosen, and what to change by how much.
func (f *fitter) nothing() error {
	// All that is no danger and has a launch margin, but for what without names.
	f.drawer = f.whole
	s := f.stage(caution.FoldsBelow, math.Inf(1), relaxed...)
	matched := uint64(0)
	first := func(sort figure.Key, descending, dangers bool, without ...figure.Key) (c *candidate, err error) {
		where := s.where(s.all())
		for _, k := range without {
			delete(where, k.String())
		}
		q := job.Search{Where: where, Sort: sort.String(), Descending: descending, Limit: unit.Some(1), Dangers: dangers}
		found, err := f.find(&s.drawer, q)
		if err != nil || len(found.Picks) == 0 {
			return nil, err
		}
		matched = found.Matched
		out, _ := s.glance(found.Picks[0])
		return &out, nil
	}
	some, err := first(figure.TotalWeight, true, false)
	if err != nil {
		return err
	}
	if some != nil {
		if least := f.answers.Budget; least > 0 && matched <= pricedAtMost {
			cheapest, err := first(figure.DozenCost, false, false)
			if err != nil {
				return err
			}
			if cheapest.cost > least {
				return fmt.Errorf("no dozen of these parts for this purpose costs %s or less: the cheapest that is no danger comes to %s. Raise the budget to that, or add cheaper parts", f.money(least), f.money(cheapest.cost))
			}
		} else if least > 0 {
			return fmt.Errorf("no dozen of these parts for this purpose costs %s or less: raise the budget, or add cheaper parts", f.money(least))
		}
		return errors.New("every arrow that these parts make for this purpose turns over in flight or could not be checked for it: give vanes and heads all their sizes, or add larger vanes")
	}
	const weight, foc, margin = figure.WeightPerDraw, figure.FOC, figure.LaunchMargin
	sound, err := first(figure.TotalWeight, true, false, weight, foc)
	if err != nil {
		return err
	}
	if sound == nil {
		heaviest, err := first(figure.TotalWeight, true, true, weight, foc, margin)
		if err != nil {
			return err
		}
		if heaviest == nil {
			return errors.New("nothing of these parts goes together at a length that clears the rest: check bores, threads, the lengths that shafts come in and where the vanes stand")
		}
		for _, c := range f.judge(&heaviest.build) {
			if c.Level == caution.Danger || c.Unchecked {
				return fmt.Errorf("no arrow of these parts is without danger on this bow. Of the heaviest: %s", c.Text)
			}
		}
		return errors.New("no arrow of these parts is without danger on this bow: add stiffer or heavier shafts to the drawer")
	}
	// What one of the two ranges would have to be.
	for _, k := range []figure.Key{weight, foc} {
		low, err := first(k, false, false, k)
		if err != nil {
			return err
		}
		if low != nil {
			high, err := first(k, true, false, k)
			if err != nil {
				return err
			}
			return f.widen(k, low, high)
		}
	}
	return fmt.Errorf("no arrow of these parts without danger has both the weight and the FOC of the purpose %s: widen both ranges, or answer with another purpose", f.answers.Purpose.Name)
}

// widen says how far a purpose's range is from what the parts make, of which the
// least and the greatest are given.
func (f *fitter) widen(k figure.Key, low, high *candidate) error {
	p, d := &f.answers.Purpose, k.Definition()
	value := func(c *candidate) float64 {
		values := f.setting.Some(&c.build, []figure.Key{k})
		v, _ := values.Get(k)
		return v
	}
	from, to, what := float64(p.MinPerDraw), float64(p.MaxPerDraw), "weight per draw"
	if k == figure.FOC {
		from, to, what = float64(p.MinFOC), float64(p.MaxFOC), "FOC"
	}
	told := func(x float64) string {
		return figure.Minus(strconv.FormatFloat(math.Round(100*x)/100, 'f', -1, 64)) + " " + d.Unit.Symbol
	}
	from, to = d.Unit.Of(from), d.Unit.Of(to)
	least, most := d.Unit.Of(value(low)), d.Unit.Of(value(high))
	switch {
	case least > to:
		return fmt.Errorf("the least %s that these parts make without danger is %s and the purpose %s ends at %s: widen its range to %s, or answer with another purpose",
			what, told(least), p.Name, told(to), told(math.Ceil(10*least)/10))
	case most < from:
		return fmt.Errorf("the greatest %s that these parts make without danger is %s and the purpose %s begins at %s: widen its range to %s, or answer with another purpose",
			what, told(most), p.Name, told(from), told(math.Floor(10*most)/10))
	}
	return fmt.Errorf("these parts make no arrow with a %s from %s to %s, as the purpose %s asks: widen its range, or add parts to the drawer", what, told(from), told(to), p.Name)
}

// names of one, two and three builds.
var names = [4][]string{nil, {"Proposal"}, {"Light", "Heavy"}, {"Light", "Middle", "Heavy"}}

// free returns the name, or the name with the first number behind it, that no build
// of the job has and none proven on its bow.
func free(j *job.Job, name string) string {
	taken := map[string]bool{j.Bow.Value.Proven: true}
	for i := range j.Builds {
		taken[j.Builds[i].Name] = true
	}
	out := name
	for i := 2; taken[out]; i++ {
		out = fmt.Sprintf("%s %d", name, i)
	}
	return out
}

// tell names the builds and says what there is to say about them, by a sheet on
// which they stand beside those of the job.
func (f *fitter) tell(j *job.Job, chosen []candidate, left left) *Proposal {
	all := j.Clone()
	if len(all.Builds) == 0 {
		all.Sight.Value.Marks = nil // nobody knows with which arrow they were shot
	}
	all.Distances = []unit.Length{j.DistancesOrDefault()[j.Farthest()]}
	out := &Proposal{}
	for i, c := range chosen {
		c.build.Name = free(j, names[len(chosen)][i])
		all.Builds = append(all.Builds, c.build)
		out.Offers = append(out.Offers, Offer{Build: c.build})
	}
	s := sheet.EvaluateIn(all, f.units)
	t := teller{s, s.Builds[len(j.Builds):], all.Distances[0]}
	for i := range out.Offers {
		out.Offers[i].Says = t.says(i)
	}
	out.Notes = f.notes(&t, chosen, left)
	return out
}
