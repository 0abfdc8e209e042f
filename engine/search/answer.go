package search

import (
	"bytes"
	"math"
	"slices"

	"github.com/go-json-experiment/json/jsontext"

	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// AnswerFormat is the name and version of the answer to a search.
const AnswerFormat = "foreshaft-matches/1"

// batch is how many matches are computed with uncertainty at a time, so that a long
// list takes no more memory than a short one.
const batch = 64

// Distances returns those that a job's question asks about, the nearest first.
func Distances(j *job.Job) []unit.Length {
	q := newQuestion(j)
	return q.distances()
}

// Each computes the figures of every match in turn, in a sheet that has the job's
// own builds first, with its baseline and its proven build, and the match at the
// place build. The sheet's distances are those that the question asks about, the
// usual ones where it asks about none.
func (f *Found) Each(j *job.Job, units unit.System, do func(match int, s *sheet.Sheet, build int)) {
	distances := Distances(j)
	for from := 0; from < len(f.Builds); from += batch {
		to := min(from+batch, len(f.Builds))
		group := *j
		group.Distances = distances
		group.Builds = slices.Concat(j.Builds, f.Builds[from:to])
		s := sheet.EvaluateIn(&group, units)
		for i := from; i < to; i++ {
			do(i, s, len(j.Builds)+i-from)
		}
	}
}

// Answer writes what was found in the exchange format.
func (f *Found) Answer(j *job.Job) []byte {
	var buffer bytes.Buffer
	e := jsontext.NewEncoder(&buffer, jsontext.WithIndent("  "))
	put := func(t jsontext.Token) {
		if err := e.WriteToken(t); err != nil { // valid tokens to memory cannot fail
			panic("search: answer: " + err.Error())
		}
	}
	key := func(name string, value jsontext.Token) {
		put(jsontext.String(name))
		put(value)
	}
	place := func(name string, at int) {
		if at == Without {
			key(name, jsontext.Null)
			return
		}
		key(name, jsontext.Int(int64(at)))
	}
	put(jsontext.BeginObject)
	key("format", jsontext.String(AnswerFormat))
	key("candidates", jsontext.Uint(f.Candidates))
	key("matched", jsontext.Uint(f.Matched))
	key("matches", jsontext.BeginArray)
	distances := Distances(j)
	f.Each(j, unit.System{}, func(match int, s *sheet.Sheet, build int) {
		p := f.Picks[match]
		put(jsontext.BeginObject)
		key("length_in", jsontext.Float(math.Round(p.Length.In(unit.Inch)*1e9)/1e9)) // as it was written
		place("shaft", p.Shaft)
		place("nock", p.Nock)
		place("vanes", p.Vanes)
		place("insert", p.Insert)
		place("collar", p.Collar)
		place("head", p.Head)
		s.EncodeFigures(e, build, sheet.Whole)
		key("at", jsontext.BeginArray)
		for n, d := range distances {
			put(jsontext.BeginObject)
			key("distance_yd", jsontext.Float(d.In(unit.Yard)))
			s.EncodeFigures(e, build, n)
			put(jsontext.EndObject)
		}
		put(jsontext.EndArray)
		put(jsontext.EndObject)
	})
	put(jsontext.EndArray)
	put(jsontext.EndObject)
	return buffer.Bytes()
}
