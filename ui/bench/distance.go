package bench

import (
	"slices"

	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
	"foreshaft/ui/keys"
	"foreshaft/ui/present"
)

// chosen returns the distance whose figures the bench shows.
func (m *Model) chosen() unit.Length {
	list := m.Job().DistancesOrDefault()
	return list[m.place(m.Job())]
}

// place returns where the chosen distance is in a job's list: the farthest one
// stands for a distance that is not there.
func (m *Model) place(j *job.Job) int {
	if i := slices.Index(j.DistancesOrDefault(), m.distance); i >= 0 {
		return i
	}
	return j.Farthest()
}

// placeOf returns where a figure of a job is found: at the chosen distance, or
// with those of the whole build.
func (m *Model) placeOf(j *job.Job, k figure.Key) int {
	if k.Definition().At {
		return m.place(j)
	}
	return sheet.Whole
}

// cellOf returns a figure of a build as text, at the chosen distance where it has
// one for each.
func (m *Model) cellOf(build int, k figure.Key) present.Cell {
	return present.FigureCellAt(m.session.Sheet(), build, m.placeOf(m.Job(), k), k)
}

// choose shows the figures of the next farther or nearer distance.
func (m *Model) choose(farther bool) {
	now, next := m.chosen(), unit.Length(0)
	for _, d := range m.Job().DistancesOrDefault() {
		if beyond := d > now; d != now && beyond == farther && (next == 0 || (d < next) == farther) {
			next = d
		}
	}
	if next == 0 {
		m.Say("%s is the last on that side; %s opens the list of distances.", m.units().Distance(now, 4), m.keys.Bench.Press(keys.Downrange))
		return
	}
	m.distance = next
	m.before, m.effect = nil, ""
	m.Say("Figures at %s.", m.units().Distance(next, 4))
}
