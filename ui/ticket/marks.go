package ticket

import (
	"fmt"
	"math"
	"strings"

	"foreshaft/engine/figure"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/present"
)

// Formats lists the formats that a strip can be written in, by the ending of a
// file.
var Formats = []string{"txt", "html", "svg"}

// As writes the strip in one of Formats. The error lists them.
func (s *Strip) As(format string) ([]byte, error) {
	switch strings.ToLower(format) {
	case "txt", "text":
		return []byte(s.Text()), nil
	case "html":
		return s.HTML(), nil
	case "svg":
		return s.SVG(), nil
	}
	return nil, fmt.Errorf("%q is no format of a strip: want %s", format, strings.Join(Formats, ", "))
}

// MarksOf returns the strip of a build's sight marks for every yard, or metre,
// from one distance to another. With two marks that were shot in, or more, marks
// are on the sight's own scale; with one the strip is moved so that it agrees.
// The error says what marks need.
func MarksOf(s *sheet.Sheet, build int, from, to unit.Length) (*Strip, error) {
	b := &s.Job.Builds[build]
	out := &Strip{Build: b.Name, Distance: s.Units.Shown(unit.Yards), Reading: s.Unit(figure.SightMark)}
	if from > to {
		return nil, fmt.Errorf("a strip from %s to %s runs backwards: give the nearer distance first", s.Units.Distance(from, 4), s.Units.Distance(to, 4))
	}
	if slope := s.Job.Slope.Or(0).In(unit.Degree); slope != 0 {
		out.Where = fmt.Sprintf("on a slope of %s°", present.Places(slope, 0))
	}
	one := unit.Length(out.Distance.Size)
	first, last := math.Ceil(float64(from/one)-1e-9), math.Floor(float64(to/one)+1e-9)
	var distances []unit.Length
	for d := max(first, 1); d <= last; d++ {
		distances = append(distances, unit.Length(d)*one)
	}
	if len(distances) == 0 {
		return nil, fmt.Errorf("there is no whole %s between %s and %s", out.Distance.Symbol, s.Units.Distance(from, 4), s.Units.Distance(to, 4))
	}
	marks := s.Curve(build, figure.SightMark, distances)
	shift, anchored := anchor(s, build)
	lost := 0
	for i, m := range marks {
		if math.IsNaN(m) {
			lost++
			continue
		}
		out.Marks = append(out.Marks, Mark{Distance: distances[i], Reading: unit.Length(m) + shift})
	}
	if lost == len(marks) {
		return nil, fmt.Errorf("there are no marks: the build %s", s.Builds[build].At[0].Absent(figure.SightMark))
	}
	if lost > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("%d of the distances have no mark: the arrow does not reach them, or they are too near.", lost))
	}
	if s.Sighted() {
		out.scaled(s.Marks.Scale)
	}
	out.About = about(s, build, anchored)
	if s.Marks != nil {
		out.Notes = append(out.Notes, s.Marks.Notes...)
	}
	farthest := s.Job.Farthest()
	if f, ok := s.Builds[build].At[farthest].Figure(figure.SightMark); ok && shift == 0 && s.Job.DistancesOrDefault()[farthest] <= to {
		value, u := figure.Rounded(out.Reading.Of(f.Value+float64(shift)), f.U/out.Reading.Size)
		out.Notes = append(out.Notes, fmt.Sprintf("The mark for %s is %s ± %s (one standard uncertainty): shoot it in before you rely on it.",
			s.Units.Distance(s.Job.DistancesOrDefault()[farthest], 4), value, u))
	}
	return out, nil
}

// scaled says how a strip on the sight's own scale is drawn. Numbers that are near
// enough inches of travel are taken for them, and others are turned into travel by
// the sight's geometry.
func (s *Strip) scaled(scale float64) {
	const near = 0.1
	switch {
	case math.IsNaN(scale):
		if s.falls() {
			s.Travel = -1
		}
		s.Notes = append(s.Notes, "The drawing takes the numbers of your sight's scale for inches: if they are not, go by the table, or enter the distance from peep to pin.")
	case math.Abs(scale-1) > near:
		s.Travel = 1 / scale
		s.Notes = append(s.Notes, fmt.Sprintf("Your sight's numbers are not inches of travel. The drawing shows how far the pin travels by the sight's geometry, %s in for one of your numbers: check that against your sight.", present.Places(1/scale, 3)))
	}
}

// falls reports whether readings become smaller with distance.
func (s *Strip) falls() bool {
	n := len(s.Marks)
	return n > 1 && s.Marks[n-1].Reading < s.Marks[n-2].Reading
}

// anchor returns how far a strip is moved along the sight to agree with the one
// mark that was shot in, and says so.
func anchor(s *sheet.Sheet, build int) (unit.Length, string) {
	known := s.Job.Sight.Value.Marks
	switch {
	case s.Sighted():
		return 0, fmt.Sprintf("Fitted to %d marks that were shot in with the baseline: %s.", len(known), s.Marks.Words(s.Units))
	case len(known) == 0:
		return 0, "From the sight's geometry alone, not yet anchored to a mark that was shot: shoot one in, and slide the strip until it agrees."
	}
	// With a single mark, or several that tell no scale, the first one counts.
	at := float64(s.LevelMark(s.Job.Baseline, known[0].Distance))
	if math.IsNaN(at) {
		return 0, "Not anchored: the mark that was shot in is out of the arrow's reach."
	}
	return known[0].Reading - unit.Length(at), fmt.Sprintf("Anchored to the mark that was shot in at %s with the baseline.", s.Units.Distance(known[0].Distance, 4))
}

// about says what the marks rest on.
func about(s *sheet.Sheet, build int, anchored string) []string {
	out := []string{"Bow: " + present.BowName(s.Units, s.Job) + "."}
	b := &s.Builds[build]
	words := []string{}
	for _, k := range []figure.Key{figure.TotalWeight, figure.LaunchSpeed, figure.DragCoefficient} {
		if f, ok := b.Figure(k); ok {
			u := s.Unit(k)
			value, spread := figure.Rounded(u.Of(f.Value), f.U/u.Size)
			words = append(words, strings.TrimSpace(fmt.Sprintf("%s %s ± %s %s", k.Definition().Title, value, spread, u.Symbol)))
		}
	}
	out = append(out, "Arrow: "+strings.Join(words, ", ")+".")
	t, p, _ := s.Job.Air.Value.State()
	out = append(out, fmt.Sprintf("Air: %s °C, %s hPa.", present.Places(t.Celsius(), 0), present.Places(p.In(unit.Hectopascal), 0)))
	return append(out, anchored)
}
