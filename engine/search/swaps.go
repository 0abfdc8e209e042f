package search

import (
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"foreshaft/engine/arrow"
	"foreshaft/engine/caution"
	"foreshaft/engine/figure"
	"foreshaft/engine/part"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// Axis is one side of a table of swaps.
type Axis struct {
	// Kind is the kind of piece that is swapped, empty for the length.
	Kind part.Kind
	// Swaps change a build each: another piece, none, or another length.
	Swaps []func(b *arrow.Build)
	// Now is the one of them that leaves the build as it is.
	Now int
}

// Swaps is every pair of swaps of two kinds on one build. It is not changed after
// NewSwaps, so several goroutines may share it.
type Swaps struct {
	base          arrow.Build
	rows, columns Axis
	// Rows and Columns list the swaps in the table by their places on the axes.
	Rows, Columns []int
	// MoreRows and MoreColumns are how many were left out because the table would be
	// too large.
	MoreRows, MoreColumns int
	clashes               [][]string
}

// Cell is a pair of swaps by its row and column in the table.
type Cell struct{ Row, Column int }

// NewSwaps makes the table for a build. What goes together with nothing of the
// other side is left out, but for what the build has now. Of each side the table
// holds that many at most, those next to what the build has on their axis. What
// clashes is told in the units given.
func NewSwaps(base *arrow.Build, rows, columns Axis, most int, units unit.System) *Swaps {
	t := &Swaps{base: base.Clone(), rows: rows, columns: columns}
	var before []string // clashes that no swap brought
	for _, clash := range caution.Misfits(base, units) {
		before = append(before, clash.Text)
	}
	t.Rows, t.MoreRows = next(t.alone(&rows, &columns), rows.Now, most)
	t.Columns, t.MoreColumns = next(t.alone(&columns, &rows), columns.Now, most)
	t.clashes = make([][]string, len(t.Rows))
	rowGoes, columnGoes := make([]bool, len(t.Rows)), make([]bool, len(t.Columns))
	for r := range t.Rows {
		t.clashes[r] = make([]string, len(t.Columns))
		for c := range t.Columns {
			var texts []string
			b := t.Build(Cell{r, c})
			for _, clash := range caution.Misfits(&b, units) {
				if !slices.Contains(before, clash.Text) {
					texts = append(texts, clash.Text)
				}
			}
			t.clashes[r][c] = strings.Join(texts, " ")
			if len(texts) == 0 {
				rowGoes[r], columnGoes[c] = true, true
			}
		}
	}
	rowGoes[slices.Index(t.Rows, rows.Now)], columnGoes[slices.Index(t.Columns, columns.Now)] = true, true
	for r := range t.clashes {
		t.clashes[r] = where(t.clashes[r], columnGoes)
	}
	t.Rows, t.Columns, t.clashes = where(t.Rows, rowGoes), where(t.Columns, columnGoes), where(t.clashes, rowGoes)
	return t
}

// next returns so many of a list at most, those next to one of it, and how many it
// left out.
func next(list []int, now, most int) ([]int, int) {
	more := max(len(list)-most, 0)
	first := min(max(slices.Index(list, now)-most/2, 0), more)
	return list[first : len(list)-more+first], more
}

// where returns those of a list of which keep holds.
func where[T any](list []T, keep []bool) (out []T) {
	for i, x := range list {
		if keep[i] {
			out = append(out, x)
		}
	}
	return out
}

// alone lists the swaps of one side that may go into the build whatever is swapped
// on the other. Where that is the length, only the pair tells.
func (t *Swaps) alone(a, other *Axis) (out []int) {
	for i, swap := range a.Swaps {
		b := t.base.Clone()
		swap(&b)
		bad := other.Kind != "" && slices.ContainsFunc(caution.Misfits(&b, unit.System{}), func(c caution.Clash) bool {
			return !slices.Contains(c.Pieces, other.Kind) && slices.Contains(c.Pieces, a.Kind)
		})
		if !bad || i == a.Now {
			out = append(out, i)
		}
	}
	return out
}

// Build puts a pair into the build. A shaft goes in first, so that what is cut is
// the one that will be there.
func (t *Swaps) Build(at Cell) arrow.Build {
	b := t.base.Clone()
	row, column := t.rows.Swaps[t.Rows[at.Row]], t.columns.Swaps[t.Columns[at.Column]]
	if t.columns.Kind == part.KindShaft {
		row, column = column, row
	}
	row(&b)
	column(&b)
	return b
}

// Clash says what in a pair does not go together, empty when all does or when
// nothing is known against it. What clashed before does not count.
func (t *Swaps) Clash(at Cell) string { return t.clashes[at.Row][at.Column] }

// Now is the pair that leaves the build as it is.
func (t *Swaps) Now() Cell {
	return Cell{slices.Index(t.Rows, t.rows.Now), slices.Index(t.Columns, t.columns.Now)}
}

// Figures computes one figure of the builds in some cells as bare numbers, NaN
// where it is absent: each as if it stood beside the builds of the sheet that the
// setting is of. The distance counts for a figure that has one for each.
func (t *Swaps) Figures(s *sheet.Setting, k figure.Key, d unit.Length, cells []Cell) []float64 {
	out := make([]float64, len(cells))
	var next atomic.Int32
	var all sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(cells)) {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(cells); i = int(next.Add(1)) - 1 {
				b := t.Build(cells[i])
				out[i] = s.One(&b, k, d)
			}
		})
	}
	all.Wait()
	return out
}
