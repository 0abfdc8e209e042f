package search_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"foreshaft/engine/arrow"
	"foreshaft/engine/figure"
	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/engine/search"
	"foreshaft/engine/sheet"
	"foreshaft/engine/unit"
)

// twelve is a bench with a second build that is proven, and twelve inserts and
// twelve heads to swap, the first of each in the build (invented).
func twelve(t testing.TB) (j *job.Job, rows, columns search.Axis) {
	j = bigDrawer(t, 1, 1, 12, 12, 1, 1, 1)
	d := &j.Drawer.Value
	b := &j.Builds[0]
	b.Insert, b.Vanes, b.Head = d.Inserts[0], d.Vanes[0], d.Heads[0]
	other := b.Clone()
	other.Name, other.Proven, other.Head, other.Nock = "other", true, d.Heads[3], d.Nocks[0]
	j.Builds = append(j.Builds, other)
	j.Slope = unit.Some(12 * unit.Degree)
	rows, columns = search.Axis{Kind: part.KindInsert}, search.Axis{Kind: part.KindHead}
	for i := range 12 {
		rows.Swaps = append(rows.Swaps, func(b *arrow.Build) { b.Insert = d.Inserts[i] })
		columns.Swaps = append(columns.Swaps, func(b *arrow.Build) { b.Head = d.Heads[i] })
	}
	return j, rows, columns
}

// Every figure of every cell is what package sheet computes, with all its
// uncertainties, of a job in which that build stands beside the others.
func TestSwapsAreWhatTheSheetSaysOfEachAlone(t *testing.T) {
	marked := func(j *job.Job) {
		j.Sight.Value.Marks = []job.Mark{{Distance: 20 * unit.Yard, Reading: 0.3 * unit.Inch}, {Distance: 40 * unit.Yard, Reading: 0.62 * unit.Inch}, {Distance: 60 * unit.Yard, Reading: 1.05 * unit.Inch}}
	}
	for name, change := range map[string]func(j *job.Job){
		"as it is": func(*job.Job) {}, "marks shot in": marked, "no bow": func(j *job.Job) { j.Bow = job.New().Bow }, "another baseline": func(j *job.Job) { j.Baseline = 1 },
	} {
		t.Run(name, func(t *testing.T) {
			j, rows, columns := twelve(t)
			change(j)
			for i := range j.Builds {
				s := sheet.Evaluate(j)
				setting := s.Setting()
				table := search.NewSwaps(&j.Builds[i], rows, columns, 20, unit.System{})
				if len(table.Rows) != 12 || len(table.Columns) != 12 {
					t.Fatalf("%d rows and %d columns, want 12 of each", len(table.Rows), len(table.Columns))
				}
				d, place := j.DistancesOrDefault()[1], 1
				var cells []search.Cell
				for r := range 12 {
					cells = append(cells, search.Cell{Row: r, Column: (5*r + i) % 12}, search.Cell{Row: r, Column: (7*r + 3) % 12})
				}
				got := map[figure.Key][]float64{}
				for k := range figure.Count {
					got[k] = table.Figures(&setting, k, d, cells)
				}
				known := 0
				for n, c := range cells {
					beside := j.Clone()
					b := j.Builds[i].Clone()
					rows.Swaps[c.Row](&b)
					columns.Swaps[c.Column](&b)
					b.Name, b.Proven = "swapped", false
					beside.Builds = append(beside.Builds, b)
					alone := sheet.Evaluate(beside)
					for k := range figure.Count {
						at := sheet.Whole
						if k.Definition().At {
							at = place
						}
						want, ok := alone.Builds[len(j.Builds)].Place(at).Figure(k)
						switch g := got[k][n]; {
						case ok == math.IsNaN(g):
							t.Fatalf("%s of %v on build %d is %g, known to the sheet: %v (%s)", k, c, i, g, ok, alone.Builds[len(j.Builds)].Place(at).Absent(k))
						case ok && math.Abs(g-want.Value) > 1e-9*max(1, math.Abs(want.Value)):
							t.Fatalf("%s of %v on build %d is %.12g, the sheet says %.12g", k, c, i, g, want.Value)
						case ok:
							known++
						}
					}
				}
				if known < 5*len(cells) {
					t.Errorf("only %d figures of %d builds are known", known, len(cells))
				}
			}
		})
	}
}

// insertOf is an insert for a bore, in inches, with a thread.
func insertOf(bore float64, thread string) unit.Optional[part.Insert] {
	return unit.Some(part.Insert{Weight: 20 * unit.Grain, Depth: unit.Inch, FitsInner: unit.Some(unit.Length(bore) * unit.Inch), Thread: thread})
}

func TestSwapsThatGoTogetherWithNothingAreLeftOut(t *testing.T) {
	base := arrow.Build{Length: 29 * unit.Inch, Shaft: part.Shaft{InnerDiameter: unit.Some(0.204 * unit.Inch), StockLength: unit.Some(32 * unit.Inch)},
		Insert: insertOf(0.204, "8-32"), Head: part.Head{Weight: 100 * unit.Grain, Thread: "8-32"}, Nock: part.Nock{Weight: 9 * unit.Grain}}
	inserts := []unit.Optional[part.Insert]{insertOf(0.204, "8-32"), insertOf(0.204, "6-40"), insertOf(0.244, "8-32"), insertOf(0.204, "5-44"), insertOf(0.166, "8-32")}
	threads := []string{"8-32", "6-40", "10-24"}
	bores := []float64{0.204, 0.244}
	rows := search.Axis{Kind: part.KindInsert}
	for _, in := range inserts {
		rows.Swaps = append(rows.Swaps, func(b *arrow.Build) { b.Insert = in })
	}
	heads, shafts, lengths := search.Axis{Kind: part.KindHead}, search.Axis{Kind: part.KindShaft}, search.Axis{}
	for _, thread := range threads {
		heads.Swaps = append(heads.Swaps, func(b *arrow.Build) { b.Head.Thread = thread })
	}
	for _, bore := range bores {
		shafts.Swaps = append(shafts.Swaps, func(b *arrow.Build) { b.Shaft.InnerDiameter = unit.Some(unit.Length(bore) * unit.Inch) })
	}
	for _, l := range []unit.Length{29, 31, 33} {
		lengths.Swaps = append(lengths.Swaps, func(b *arrow.Build) { b.Recut(l * unit.Inch) })
	}
	for _, c := range []struct {
		name          string
		rows, columns search.Axis
		want          string // rows, columns, and the cells that clash
	}{
		// The bore goes by the shaft, which stays; the thread by the head, which may be
		// swapped too. The third thread is none of an insert's.
		{"insert by head", rows, heads, "[0 1] [0 1] 0/1 1/0"},
		// With a wider shaft the wider insert goes. The thread clashes with the head,
		// which stays, and no shaft is as narrow as the last one's.
		{"insert by shaft", rows, shafts, "[0 2] [0 1] 0/1 1/0"},
		{"shaft by insert", shafts, rows, "[0 1] [0 2] 0/1 1/0"},
		{"length by head", lengths, heads, "[0 1] [0]"},
		{"head by length", heads, lengths, "[0] [0 1]"},
	} {
		table := search.NewSwaps(&base, c.rows, c.columns, 20, unit.System{})
		got := fmt.Sprint(table.Rows, " ", table.Columns)
		for r := range table.Rows {
			for col := range table.Columns {
				if words := table.Clash(search.Cell{Row: r, Column: col}); words != "" {
					got += fmt.Sprintf(" %d/%d", r, col)
					if !strings.HasSuffix(words, ".") {
						t.Errorf("%s: %d/%d says %q", c.name, r, col, words)
					}
				}
			}
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
		if now := table.Now(); now != (search.Cell{}) {
			t.Errorf("%s: the build as it is stands at %v", c.name, now)
		}
	}
	// What does not fit and is there stays, and what clashed before is no news.
	base.Insert = inserts[2]
	rows.Now = 2
	table := search.NewSwaps(&base, rows, heads, 20, unit.System{})
	if got, now := fmt.Sprint(table.Rows, table.Columns), table.Now(); got != "[0 1 2] [0 1]" || now != (search.Cell{Row: 2}) || table.Clash(now) != "" {
		t.Errorf("with an insert that does not fit: %s, now %v %q", got, now, table.Clash(now))
	}
}

// Of more than a table holds it holds those around what the build has.
func TestSwapsOfALargeDrawerAreThoseNextToWhatIsThere(t *testing.T) {
	var base arrow.Build
	base.Length = 29 * unit.Inch
	side := search.Axis{Kind: part.KindHead}
	for i := range 30 {
		side.Swaps = append(side.Swaps, func(b *arrow.Build) { b.Head.Weight = unit.Mass(i) * unit.Grain })
	}
	lengths := search.Axis{Swaps: []func(b *arrow.Build){func(*arrow.Build) {}}}
	for _, c := range []struct{ now, most, first, last, more int }{
		{0, 10, 0, 9, 20}, {4, 10, 0, 9, 20}, {5, 10, 0, 9, 20}, {6, 10, 1, 10, 20}, {15, 10, 10, 19, 20}, {29, 10, 20, 29, 20}, {29, 1, 29, 29, 29}, {3, 1, 3, 3, 29}, {7, 30, 0, 29, 0}, {7, 99, 0, 29, 0},
	} {
		side.Now = c.now
		table := search.NewSwaps(&base, side, lengths, c.most, unit.System{})
		rows := table.Rows
		if rows[0] != c.first || rows[len(rows)-1] != c.last || table.MoreRows != c.more || table.MoreColumns != 0 {
			t.Errorf("%d of 30 about the %d.: %v, %d more", c.most, c.now, rows, table.MoreRows)
		}
		if now := table.Now(); rows[now.Row] != c.now {
			t.Errorf("%d of 30 about the %d.: what is there is in row %d of %v", c.most, c.now, now.Row, rows)
		}
		other := search.NewSwaps(&base, lengths, side, c.most, unit.System{})
		if fmt.Sprint(other.Columns, other.MoreColumns) != fmt.Sprint(rows, c.more) {
			t.Errorf("across it holds %v and %d more", other.Columns, other.MoreColumns)
		}
	}
}

// A tube that was weighed is another's once the shaft is swapped: it must not be
// scaled first and forgotten then, nor the other way round.
func TestSwapsOfShaftAndLengthDoNotDependOnTheirSide(t *testing.T) {
	base := arrow.Build{Length: 29.5 * unit.Inch, Shaft: part.Shaft{TubeWeight: unit.Some(250 * unit.Grain)}, Head: part.Head{Weight: 100 * unit.Grain}}
	shafts := search.Axis{Kind: part.KindShaft, Swaps: []func(b *arrow.Build){
		func(*arrow.Build) {}, func(b *arrow.Build) { b.Shaft = part.Shaft{TubeWeight: unit.Some(290 * unit.Grain)} },
	}}
	lengths := search.Axis{Swaps: []func(b *arrow.Build){func(*arrow.Build) {}, func(b *arrow.Build) { b.Recut(29 * unit.Inch) }}}
	one, other := search.NewSwaps(&base, shafts, lengths, 20, unit.System{}), search.NewSwaps(&base, lengths, shafts, 20, unit.System{})
	for r := range 2 {
		for c := range 2 {
			a, b := one.Build(search.Cell{Row: r, Column: c}), other.Build(search.Cell{Row: c, Column: r})
			if !a.SamePieces(&b) {
				t.Errorf("shaft %d at length %d: %+v and %+v", r, c, a.Shaft, b.Shaft)
			}
		}
	}
}

// All 144 cells of a table of twelve inserts and twelve heads, each figure by
// itself: at most 16 ms, so that a table is there with the key that asked for it.
func BenchmarkSwaps(b *testing.B) {
	j, rows, columns := twelve(b)
	setting := sheet.NewSetting(j)
	b.Run("table", func(b *testing.B) {
		for b.Loop() {
			search.NewSwaps(&j.Builds[0], rows, columns, 20, unit.System{})
		}
	})
	table := search.NewSwaps(&j.Builds[0], rows, columns, 20, unit.System{})
	var cells []search.Cell
	for r := range table.Rows {
		for c := range table.Columns {
			cells = append(cells, search.Cell{Row: r, Column: c})
		}
	}
	for k := range figure.Count {
		b.Run(k.String(), func(b *testing.B) {
			for b.Loop() {
				table.Figures(&setting, k, 60*unit.Yard, cells)
			}
		})
	}
}
