package session

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/dozen"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/unit"
)

// Put puts a part from the drawer into a build, with its measured weight where
// there is one.
func Put(b *arrow.Build, p part.Part) {
	p = p.Weighed()
	switch p.Kind {
	case part.KindShaft:
		b.Shaft = p.Shaft.Value
	case part.KindInsert:
		b.Insert = p.Insert
	case part.KindCollar:
		b.Collar = p.Collar
	case part.KindHead:
		b.Head = p.Head.Value
	case part.KindNock:
		b.Renock(p.Nock.Value)
	case part.KindVanes:
		b.Vanes = p.Vanes
	case part.KindWrap:
		b.Wrap = p.Wrap
	}
}

// Optional reports whether a build can do without a kind of piece.
func Optional(k part.Kind) bool {
	switch k {
	case part.KindInsert, part.KindCollar, part.KindVanes, part.KindWrap:
		return true
	}
	return false
}

// Without takes a piece out of a build.
func Without(b *arrow.Build, k part.Kind) {
	switch k {
	case part.KindInsert:
		b.Insert = unit.Optional[part.Insert]{}
	case part.KindCollar:
		b.Collar = unit.Optional[part.Collar]{}
	case part.KindVanes:
		b.Vanes = unit.Optional[part.Vanes]{}
	case part.KindWrap:
		b.Wrap = unit.Optional[part.Wrap]{}
	}
}

// Held returns the piece a build has of that kind as a part, and false when it
// does without.
func Held(b *arrow.Build, k part.Kind) (part.Part, bool) {
	p := part.Part{Kind: k, Insert: b.Insert, Collar: b.Collar, Vanes: b.Vanes, Wrap: b.Wrap}
	p.Shaft, p.Head, p.Nock = unit.Some(b.Shaft), unit.Some(b.Head), unit.Some(b.Nock)
	return p, p.Valid()
}

// Reweigh gives a build's piece of that kind a weight that was typed.
func Reweigh(b *arrow.Build, k part.Kind, m unit.Mass) {
	held, _ := Held(b, k)
	Put(b, held.Reweighed(m))
}

// Fits says in the units given why a part does not go into a build; empty when
// it does or when nothing is known against it. What clashes between other pieces
// does not count.
func Fits(b *arrow.Build, p part.Part, units unit.System) string {
	trial := b.Clone()
	Put(&trial, p)
	var texts []string
	for _, clash := range caution.Misfits(&trial, units) {
		if slices.Contains(clash.Pieces, p.Kind) {
			texts = append(texts, clash.Text)
		}
	}
	return strings.Join(texts, " ")
}

// Tells is the least difference of weight that a scale tells.
const Tells = 0.05 * unit.Grain

// Neighbour returns the next heavier (or lighter) part of a kind that fits a
// build and is alike: it does not turn a broadhead into a field point. A collar or a wrap may also be left out: that is lighter than any. It
// returns without true for leaving it out, and ok false when there is no next.
func Neighbour(b *arrow.Build, drawer []part.Part, k part.Kind, heavier bool) (next part.Part, without, ok bool) {
	held, has := Held(b, k)
	sign := unit.Mass(-1)
	if heavier {
		sign = 1
	}
	leave := k == part.KindCollar || k == part.KindWrap
	if !has && !heavier {
		return part.Part{}, false, false
	}
	current := unit.Mass(0)
	if has {
		current = held.Weight(b.Tube())
	}
	best := unit.Mass(math.Inf(1))
	for _, p := range drawer {
		gap := sign * (p.Weight(b.Tube()) - current)
		// Parts as heavy as this one are not a step.
		if p.Kind != k || p.Retired || has && gap < Tells || gap >= best || has && k == part.KindHead && !held.Head.Value.Alike(&p.Head.Value) || Fits(b, p, unit.System{}) != "" {
			continue
		}
		next, best, ok = p, gap, true
	}
	if !ok && has && !heavier && leave {
		return part.Part{}, true, true
	}
	return next, false, ok
}

// lengthStep is what one press changes a length by: an eighth of an inch, or
// two and a half millimetres.
func lengthStep(units unit.System) unit.Length {
	if units.Metric != unit.NotMetric {
		return 2.5 * unit.Millimetre
	}
	return unit.Inch / 8
}

// mostLength is the longest build that a job file may hold.
const mostLength = 60 * unit.Inch

// NextLength returns the next longer (or shorter) length that is a whole number
// of steps.
func NextLength(l unit.Length, longer bool, units unit.System) unit.Length {
	step := lengthStep(units)
	steps := float64(l / step)
	if longer {
		return min(step*unit.Length(math.Floor(steps+1e-6)+1), mostLength)
	}
	return step * unit.Length(max(math.Ceil(steps-1e-6)-1, 0))
}

// Lengths lists the lengths that a build may be cut to instead of its own: quarters
// of an inch, or half centimetres, from somewhat shorter to a good deal longer.
func Lengths(l unit.Length, units unit.System) []unit.Length {
	const shorter, longer = 2 * unit.Inch, 4 * unit.Inch
	step := 2 * lengthStep(units)
	var out []unit.Length
	for n := math.Ceil(float64((l-shorter)/step) - 1e-6); ; n++ {
		next := unit.Length(n) * step
		if next > l+longer || next > mostLength {
			return out
		}
		if next > 0 {
			out = append(out, next)
		}
	}
}

// FreeName returns the name, or the name with the first number behind it that
// no build of the job has.
func FreeName(j *job.Job, name string) string {
	taken := func(n string) bool {
		return slices.ContainsFunc(j.Builds, func(b arrow.Build) bool { return b.Name == n })
	}
	if !taken(name) {
		return name
	}
	// A copy of "Keel 2" is "Keel 3" rather than "Keel 2 2".
	first := 2
	if i := strings.LastIndexByte(name, ' '); i > 0 {
		if n, err := strconv.Atoi(name[i+1:]); err == nil && n > 0 && n < 100 {
			name, first = name[:i], n+1
		}
	}
	for i := first; ; i++ {
		if n := fmt.Sprintf("%s %d", name, i); !taken(n) {
			return n
		}
	}
}

// Fresh returns a new build from the drawer for a bow: on the baseline's shaft,
// else the first there is, with what fits it and a length that clears the rest.
// It returns false when the drawer has no shaft, nock or head.
func Fresh(j *job.Job, drawer []part.Part) (arrow.Build, bool) {
	b := arrow.Build{Name: FreeName(j, "New build"), Length: 29.5 * unit.Inch}
	if rest, known := j.Bow.Value.Rest(); known {
		const clear = 1.5 * unit.Inch
		half := unit.Inch / 2
		b.Length = half * unit.Length(math.Ceil(float64((rest+clear)/half)))
	}
	kinds := []part.Kind{part.KindShaft, part.KindNock, part.KindInsert, part.KindHead, part.KindVanes}
	if len(j.Builds) > 0 && j.Builds[j.Baseline].Shaft.WeightPerInch.Given {
		b.Shaft = j.Builds[j.Baseline].Shaft
		// A new tube is not the one that was weighed.
		b.Shaft.TubeWeight, b.Shaft.TubeWeightU = unit.Optional[unit.Mass]{}, unit.Optional[unit.Mass]{}
		kinds = kinds[1:]
	}
	for _, k := range kinds {
		found := false
		for _, p := range drawer {
			if p.Kind == k && !p.Retired && Fits(&b, p, unit.System{}) == "" {
				Put(&b, p)
				found = true
				break
			}
		}
		if !found && !Optional(k) {
			return b, false
		}
	}
	return b, true
}

// Remove takes a build out of the job and keeps the baseline on the build it
// was on, or on the first when that one goes. A bow that names it as proven names
// none any more: another build may get the name.
func Remove(j *job.Job, i int) {
	if j.Bow.Value.Proven == j.Builds[i].Name {
		j.Bow.Value.Proven = ""
	}
	j.Builds = slices.Delete(j.Builds, i, i+1)
	switch {
	case j.Baseline == i:
		j.Baseline = 0
	case j.Baseline > i:
		j.Baseline--
	}
}

// Insert puts a build into the job at a place.
func Insert(j *job.Job, i int, b arrow.Build) {
	if len(j.Builds) > 0 && j.Baseline >= i {
		j.Baseline++
	}
	j.Builds = slices.Insert(j.Builds, i, b)
}

// Swap exchanges two builds; the baseline goes with its build.
func Swap(j *job.Job, a, b int) {
	j.Builds[a], j.Builds[b] = j.Builds[b], j.Builds[a]
	switch j.Baseline {
	case a:
		j.Baseline = b
	case b:
		j.Baseline = a
	}
}

// Anew takes from a copy of a build what belongs to the arrows that were made of the build
// itself: its proof, and what was weighed for a dozen.
func Anew(b *arrow.Build) {
	b.Proven, b.Proof, b.Dozen = false, unit.Optional[arrow.Proof]{}, unit.Optional[dozen.Batch]{}
}

// Prove marks a build as proven on the job's bow as it is set now, or takes the
// mark away. The build marked last is the one that others are compared with. What
// was recorded stays as far as it still holds: how it flew, and how fast, is another
// story on a bow that is set differently.
func Prove(j *job.Job, i int, proven bool) {
	b, now := &j.Builds[i], &j.Bow.Value
	b.Proven = proven
	if !proven {
		if now.Proven == b.Name {
			now.Proven = ""
		}
		return
	}
	now.Proven = b.Name
	j.Bow.Given = true
	was := b.Proof.Value
	next := arrow.Proof{
		Bow: now.Name, Kind: string(now.KindOrDefault()), Release: string(now.ReleaseOrDefault()), Peak: now.Peak, Draw: now.Draw, Brace: now.Brace,
		Weight: was.Weight, Balance: was.Balance,
	}
	if was.Bow == next.Bow && was.Kind == next.Kind && was.Release == next.Release && was.Peak == next.Peak && was.Draw == next.Draw {
		next = was
		next.Brace = now.Brace
	}
	b.Proof = unit.Some(next)
}

// disown takes back a name that a bow came with, or that a build was given later:
// it stands for another arrow unless that one bears the mark itself.
func disown(before, after *job.Job) {
	name := after.Bow.Value.Proven
	has := func(b arrow.Build) bool { return b.Name == name }
	now := slices.IndexFunc(after.Builds, has)
	if name == "" || now < 0 || after.Builds[now].Proven {
		return
	}
	if name != before.Bow.Value.Proven || !slices.ContainsFunc(before.Builds, has) {
		after.Bow.Value.Proven = ""
	}
}

// unprove takes mark and record off builds that are another arrow than they were.
func unprove(before, after *job.Job) {
	for i := range after.Builds {
		now := &after.Builds[i]
		if !after.Marked(now) {
			continue
		}
		for k := range before.Builds {
			if was := &before.Builds[k]; was.Name == now.Name && before.Marked(was) && !was.SamePieces(now) {
				Prove(after, i, false)
				now.Proof = unit.Optional[arrow.Proof]{}
			}
		}
	}
}
