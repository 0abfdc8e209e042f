package sheet

import (
	"fmt"
	"math"
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/unit"
)

// provenOf returns which build of a job is the one proven on its bow: the one that
// the bow names, else the first that is marked. A mark that lapsed does not
// count. It is -1 when there is none.
func provenOf(j *job.Job) int {
	found := -1
	for i := range j.Builds {
		b := &j.Builds[i]
		if !j.Marked(b) || len(lapses(j, b)) > 0 {
			continue
		}
		if b.Name == j.Bow.Value.Proven {
			return i
		}
		if found < 0 {
			found = i
		}
	}
	return found
}

// lapses lists what of the bow is no longer as it was when a build was proven.
func lapses(j *job.Job, b *arrow.Build) []string {
	p, now := &b.Proof.Value, &j.Bow.Value
	var out []string
	if changed(p.Peak, now.Peak) {
		out = append(out, "peak weight")
	}
	if changed(p.Draw, now.Draw) {
		out = append(out, "draw length")
	}
	if p.Bow != "" && p.Bow != now.Name || p.Kind != "" && p.Kind != string(now.KindOrDefault()) {
		out = append(out, "bow")
	}
	if p.Release != "" && p.Release != string(now.ReleaseOrDefault()) {
		out = append(out, "release")
	}
	return out
}

// changed reports whether a setting is another than the one that was written down.
// Where neither or only one is known there is nothing to tell.
func changed[T ~float64](then, now unit.Optional[T]) bool {
	return then.Given && now.Given && math.Abs(float64(then.Value-now.Value)) > 1e-9*math.Abs(float64(now.Value))
}

// Marked reports whether a build bears the mark of being proven, lapsed or not.
func (s *Sheet) Marked(build int) bool { return s.Job.Marked(&s.Job.Builds[build]) }

// Lapsed says what has changed since a build was proven; empty when nothing has,
// or when it bears no mark.
func (s *Sheet) Lapsed(build int) string {
	b := &s.Job.Builds[build]
	if !s.Marked(build) {
		return ""
	}
	return strings.Join(lapses(s.Job, b), " and ")
}

// Compared reports whether margins are told against a proven build's.
func (s *Sheet) Compared() bool { return s.provenName() != "" }

// ProofLapsed is the note that a build was proven and the bow has changed since.
const ProofLapsed caution.Code = "proof lapsed"

// lapseNote says that a build's mark holds no longer, and how to have it back.
func (s *Sheet) lapseNote(build int) (caution.Caution, bool) {
	what := s.Lapsed(build)
	if what == "" {
		return caution.Caution{}, false
	}
	p := &s.Job.Builds[build].Proof.Value
	var then []string
	if p.Bow != "" && p.Bow != s.Job.Bow.Value.Name {
		then = append(then, "on "+p.Bow)
	}
	if p.Peak.Given {
		then = append(then, "at "+s.told(float64(p.Peak.Value), unit.PoundsForce, 1))
	}
	if p.Release != "" && p.Release != string(s.Job.Bow.Value.ReleaseOrDefault()) {
		then = append(then, "released by "+p.Release)
	}
	if p.Draw.Given {
		then = append(then, "drawn "+s.told(float64(p.Draw.Value), unit.Inches, 2))
	}
	return caution.Caution{Code: ProofLapsed, Level: caution.Note, Text: fmt.Sprintf("It was proven %s. Another %s since then: it no longer counts as proven. Prove it again, or set the bow as it was.",
		strings.Join(then, ", "), what)}, true
}

// provenName returns the name of the build that margins are compared with, empty
// when there is none.
func (s *Sheet) provenName() string {
	if s.Proven < 0 || math.IsNaN(s.here.proven) {
		return ""
	}
	return s.Job.Builds[s.Proven].Name
}

// MeasuredKeys lists the figures that a record may hold a measurement of.
var MeasuredKeys = []figure.Key{figure.TotalWeight, figure.BalancePoint, figure.FOC, figure.LaunchSpeed}

// Miss returns by how much what was measured of a proven arrow differs from a
// figure: measured less computed.
func (s *Sheet) Miss(build int, k figure.Key) (by float64, ok bool) {
	value, measured := s.Measured(build, k)
	f, computed := s.Builds[build].Figure(k)
	return value - f.Value, measured && computed
}

// Measured returns what was measured of a proven arrow for a figure, and false
// when nothing was. A speed counts only while the bow is set as it was then.
func (s *Sheet) Measured(build int, k figure.Key) (value float64, ok bool) {
	b := &s.Job.Builds[build]
	p := &b.Proof.Value
	if !s.Marked(build) {
		return 0, false
	}
	switch k {
	case figure.TotalWeight:
		return float64(p.Weight.Value), p.Weight.Given
	case figure.BalancePoint:
		return float64(p.Balance.Value), p.Balance.Given
	case figure.FOC:
		return b.FOC(p.Balance.Value), p.Balance.Given
	case figure.LaunchSpeed:
		return float64(p.Speed.Value), p.Speed.Given && len(lapses(s.Job, b)) == 0
	}
	return 0, false
}
