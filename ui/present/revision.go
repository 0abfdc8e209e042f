package present

import (
	"fmt"
	"slices"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/bow"
	"foreshaft/engine/dozen"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/record"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// Value writes a value of a record and its unit, to be read and not typed.
func Value(f record.Field) string {
	value := f.Brief(6)
	if value == "" || f.Unit.Symbol == "" {
		return value
	}
	return value + " " + f.Unit.Symbol
}

// Words turns a key of the exchange format into words, without its unit.
func Words(key string) string {
	for _, ending := range []string{"_gr_per_in", "_fps", "_gr", "_in", "_lb", "_yd", "_hpa", "_pct", "_mph", "_deg"} {
		if strings.HasSuffix(key, ending) {
			key = strings.TrimSuffix(key, ending)
			if ending == "_gr_per_in" {
				key += " per inch"
			}
			break
		}
	}
	if strings.HasSuffix(key, "_u") || strings.Contains(key, "_u ") {
		key = strings.Replace(key, "_u", " ±", 1)
	}
	return strings.ReplaceAll(key, "_", " ")
}

// Revised says what changed from one job to another, a sentence each: first what
// changed of builds, with what that does, then of all around them. Nothing is said where
// the two are the same.
func Revised(units unit.System, was, now *job.Job) []string {
	r := revision{units: units, was: was, now: now}
	r.builds()
	thing(&r, "bow", was.Bow, now.Bow)
	r.bow(&was.Bow.Value, &now.Bow.Value)
	thing(&r, "sight", was.Sight, now.Sight)
	list(&r, "mark", was.Sight.Value.Marks, now.Sight.Value.Marks)
	thing(&r, "air", was.Air, now.Air)
	thing(&r, "limits", was.Limits, now.Limits)
	r.values("", was, now, "format", "baseline")
	if !slices.Equal(was.Distances, now.Distances) {
		r.say("distances %s", differing(r.distances(was, 4), r.distances(now, 4), r.distances(was, 12), r.distances(now, 12)))
	}
	if !record.Equal(was.Drawer.Value, now.Drawer.Value) || !record.Equal(was.Search.Value, now.Search.Value) {
		r.say("another question for Find")
	}
	return r.out
}

// revision gathers what changed.
type revision struct {
	units    unit.System
	was, now *job.Job
	out      []string
}

func (r *revision) say(format string, args ...any) {
	r.out = append(r.out, fmt.Sprintf(format, args...))
}

// thing says what changed of something that may not be there.
func thing[T any](r *revision, title string, was, now unit.Optional[T]) {
	switch {
	case now.Given && !was.Given:
		r.say("%s entered", title)
	case was.Given && !now.Given:
		r.say("%s taken away", title)
	case was.Given:
		r.values(title, &was.Value, &now.Value)
	}
}

// planned says how far a build list is.
func planned(b *dozen.Batch) string {
	if len(b.Plan) == 0 {
		return None
	}
	var made []string
	for i, p := range b.Plan {
		if p.Made {
			made = append(made, fmt.Sprint(i+1))
		}
	}
	words := counted(len(b.Plan), "arrow")
	if len(made) > 0 {
		words += ", made " + strings.Join(made, ", ")
	}
	return words
}

// values says which values differ between two structs of one type, those of lists and
// structs inside them, and those of some keys, left out.
func (r *revision) values(title string, was, now any, except ...string) {
	before, after := record.Fields(was), record.Fields(now)
	for i, f := range before {
		g := after[i]
		if f.Text() == g.Text() || slices.Contains(except, f.Key) {
			continue
		}
		r.say("%s %s", strings.TrimSpace(title+" "+Words(f.Key)), differing(Value(f.In(r.units)), Value(g.In(r.units)), exact(f), exact(g)))
	}
}

// exact is a value in full, in the unit in which it is kept.
func exact(f record.Field) string { return strings.TrimSpace(f.Text() + " " + f.Unit.Symbol) }

// differing writes a change from one value to another, in full where they would read the
// same.
func differing(was, now, wasExact, nowExact string) string {
	if was == now {
		was, now = wasExact, nowExact
	}
	return arrowed(orNone(was), orNone(now))
}

func orNone(words string) string {
	if words == "" {
		return None
	}
	return words
}

func (r *revision) bow(was, now *bow.Bow) {
	list(r, "reading", was.Readings, now.Readings)
	thing(r, "speed rating", was.Rating, now.Rating)
}

// list says how the rows of a list differ.
func list[T any](r *revision, what string, was, now []T) {
	if len(was) != len(now) {
		r.say("%ss %d → %d", what, len(was), len(now))
		for _, side := range []struct {
			word        string
			rows, other []T
		}{{"gone", was, now}, {"new", now, was}} {
			for i := range side.rows {
				row := side.rows[i]
				if !slices.ContainsFunc(side.other, func(o T) bool { return record.Equal(o, row) }) {
					r.say("%s %s: %s", what, side.word, r.row(&row))
				}
			}
		}
		return
	}
	for i := range was {
		r.values(fmt.Sprintf("%s %d", what, i+1), &was[i], &now[i])
	}
}

// row writes the values of a row of a list.
func (r *revision) row(of any) string {
	var out []string
	for _, f := range record.Fields(of) {
		if value := Value(f.In(r.units)); value != "" {
			out = append(out, Words(f.Key)+" "+value)
		}
	}
	return strings.Join(out, ", ")
}

func (r *revision) distances(j *job.Job, digits int) string {
	if len(j.Distances) == 0 {
		return "the usual"
	}
	var out []string
	for _, d := range j.Distances {
		out = append(out, r.units.Distance(d, digits))
	}
	return strings.Join(out, ", ")
}

// builds says which builds came, went and changed. A build is known by its name; one that
// is there under another name with the same pieces was renamed.
func (r *revision) builds() {
	find := func(j *job.Job, name string) int {
		return slices.IndexFunc(j.Builds, func(b arrow.Build) bool { return b.Name == name })
	}
	var gone, came []int
	for i := range r.was.Builds {
		if find(r.now, r.was.Builds[i].Name) < 0 {
			gone = append(gone, i)
		}
	}
	for i := range r.now.Builds {
		if find(r.was, r.now.Builds[i].Name) < 0 {
			came = append(came, i)
		}
	}
	onto := make([]int, len(r.now.Builds)) // which build of before each is
	for i := range r.now.Builds {
		onto[i] = find(r.was, r.now.Builds[i].Name)
	}
	for _, i := range came {
		at := slices.IndexFunc(gone, func(g int) bool { return r.was.Builds[g].SamePieces(&r.now.Builds[i]) })
		if at < 0 && len(came) == 1 && len(gone) == 1 && len(r.was.Builds) == 1 {
			at = 0 // one build alone is the same one, whatever it is called
		}
		if at < 0 {
			r.say("%s added", r.now.Builds[i].Name)
			continue
		}
		onto[i] = gone[at]
		r.say("%s renamed %s", r.was.Builds[gone[at]].Name, r.now.Builds[i].Name)
		gone = slices.Delete(gone, at, at+1)
	}
	for _, i := range gone {
		r.say("%s removed", r.was.Builds[i].Name)
	}
	for i, from := range onto {
		if from >= 0 {
			r.build(&r.was.Builds[from], &r.now.Builds[i])
		}
	}
	last := -1
	for _, from := range onto {
		if from >= 0 && from < last {
			r.say("the builds stand in another order")
			break
		}
		last = max(last, from)
	}
	if len(r.was.Builds) > 0 && len(r.now.Builds) > 0 && onto[r.now.Baseline] != r.was.Baseline {
		r.say("baseline %s → %s", r.was.Builds[r.was.Baseline].Name, r.now.Builds[r.now.Baseline].Name)
	}
}

// build says what changed of one build, and what the change of its pieces does on the bow
// as it is now.
func (r *revision) build(was, now *arrow.Build) {
	words := Changes(r.units, was, now)
	if !was.SamePieces(now) {
		if effect := Effect(sheet.EvaluateIn(r.now, r.units), was, now, r.now.DistancesOrDefault()[r.now.Farthest()]); effect != "" {
			words = append(words, "that is "+effect)
		}
	}
	if len(words) > 0 {
		r.say("%s: %s", now.Name, strings.Join(words, ", "))
	}
	// What the words above do not show: sizes, prices, what is noted.
	for _, piece := range []struct {
		slot     Slot
		was, now any
		both     bool
	}{
		{Slot(part.KindShaft), &was.Shaft, &now.Shaft, true},
		{Slot(part.KindInsert), &was.Insert.Value, &now.Insert.Value, was.Insert.Given && now.Insert.Given},
		{Slot(part.KindCollar), &was.Collar.Value, &now.Collar.Value, was.Collar.Given && now.Collar.Given},
		{Slot(part.KindHead), &was.Head, &now.Head, true},
		{Slot(part.KindNock), &was.Nock, &now.Nock, true},
		{Slot(part.KindVanes), &was.Vanes.Value, &now.Vanes.Value, was.Vanes.Given && now.Vanes.Given},
		{Slot(part.KindWrap), &was.Wrap.Value, &now.Wrap.Value, was.Wrap.Given && now.Wrap.Given},
	} {
		switch {
		case !piece.both:
		case Piece(r.units, was, piece.slot) == Piece(r.units, now, piece.slot):
			r.values(now.Name+": "+string(piece.slot), piece.was, piece.now)
		case record.Only(piece.was, "name").Text() == record.Only(piece.now, "name").Text():
			// The same piece, of which the weight is said already.
			r.values(now.Name+": "+string(piece.slot), piece.was, piece.now, "weight_gr", "count", "tube_weight_gr")
		}
	}
	r.values(now.Name+":", was, now, "name", "length_in")
	list(r, now.Name+": extra", was.Extras, now.Extras)
	thing(r, now.Name+": record of being proven", was.Proof, now.Proof)
	thing(r, now.Name+": assembly", was.Assembly, now.Assembly)
	thing(r, now.Name+": dozen", was.Dozen, now.Dozen)
	for k := range dozen.Kinds {
		list(r, now.Name+": weighed "+k.One(), *was.Dozen.Value.Of(k), *now.Dozen.Value.Of(k))
	}
	if !slices.Equal(was.Dozen.Value.Plan, now.Dozen.Value.Plan) {
		before, after := planned(&was.Dozen.Value), planned(&now.Dozen.Value)
		if before == after {
			after += ", of other pieces"
		}
		r.say("%s: build list %s", now.Name, arrowed(before, after))
	}
}
