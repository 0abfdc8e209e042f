package frame

import (
	"testing"

	"pgregory.net/rapid"
)

// drawnLines is how many lines the bench draws around its body: header, names,
// strips, the rule below and cautions.
const drawnLines = 5

// layout is one case drawn at random, with the layout it gave.
type layout struct {
	w, h, builds, focus, baseline int
	below                         int
	Bench
}

func drawLayout(t *rapid.T) layout {
	c := layout{
		w: rapid.IntRange(0, 420).Draw(t, "width"), h: rapid.IntRange(0, 130).Draw(t, "height"),
		builds: rapid.IntRange(0, 64).Draw(t, "builds"), below: rapid.IntRange(2, 5).Draw(t, "below"),
	}
	c.focus = rapid.IntRange(0, max(c.builds-1, 0)).Draw(t, "focus")
	c.baseline = rapid.IntRange(0, max(c.builds-1, 0)).Draw(t, "baseline")
	c.Bench = LayBench(c.w, c.h, c.builds, c.focus, c.baseline, c.below)
	return c
}

func (c *layout) shows(build int) bool {
	for _, column := range c.Columns {
		if column.Build == build {
			return true
		}
	}
	return false
}

func TestColumnsStandApartInsideTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawLayout(t)
		end, last := c.Label, -1
		for _, column := range c.Columns {
			if column.X < end {
				t.Fatalf("a column at %d begins before %d, where the one before it ends: %+v", column.X, end, c)
			}
			if column.W < columnLeast || column.W > columnMost {
				t.Fatalf("a column is %d wide, want %d to %d: %+v", column.W, columnLeast, columnMost, c)
			}
			if column.Build <= last || column.Build >= c.builds {
				t.Fatalf("build %d stands behind build %d of %d: %+v", column.Build, last, c.builds, c)
			}
			end, last = column.X+column.W, column.Build
		}
		if len(c.Columns) > 0 && end > c.w {
			t.Fatalf("the columns end at %d of %d: %+v", end, c.w, c)
		}
	})
}

func TestAsManyColumnsAsFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawLayout(t)
		want := min(c.builds, max(c.w-c.Label, 0)/columnLeast)
		if len(c.Columns) != want {
			t.Fatalf("%d columns, want %d: %+v", len(c.Columns), want, c)
		}
	})
}

func TestFocusAndBaselineStayInSight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawLayout(t)
		if len(c.Columns) > 0 && !c.shows(c.focus) {
			t.Fatalf("the build in focus is out of sight: %+v", c)
		}
		if len(c.Columns) > 1 && !c.shows(c.baseline) {
			t.Fatalf("the baseline is out of sight: %+v", c)
		}
	})
}

func TestHiddenBuildsAreCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawLayout(t)
		if len(c.Columns) == 0 {
			return
		}
		left, right := 0, 0
		for i := range c.builds {
			switch {
			case c.shows(i):
			case i < c.focus:
				left++
			default:
				right++
			}
		}
		if c.HiddenLeft != left || c.HiddenRight != right {
			t.Fatalf("says %d and %d are hidden, %d and %d are: %+v", c.HiddenLeft, c.HiddenRight, left, right, c)
		}
		if c.HiddenLeft+len(c.Columns)+c.HiddenRight != c.builds {
			t.Fatalf("hidden and shown do not add up to %d: %+v", c.builds, c)
		}
	})
}

func TestLinesAddUpToTheHeight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawLayout(t)
		if c.Body < 0 {
			t.Fatalf("a body of %d lines: %+v", c.Body, c)
		}
		if TooSmall(c.w, c.h) {
			return
		}
		lines := drawnLines + c.below + c.Body
		if c.Rule {
			lines++
		}
		if lines != c.h {
			t.Fatalf("%d lines on a screen of %d: %+v", lines, c.h, c)
		}
	})
}

func TestLeastSizeShowsThreeBuildsAndThePartsOfEach(t *testing.T) {
	const parts = 9
	l := LayBench(MinWidth, MinHeight, 3, 1, 0, 3)
	if len(l.Columns) != 3 || l.Body < parts {
		t.Errorf("%d columns and %d rows at %d×%d, want 3 columns and %d rows at least", len(l.Columns), l.Body, MinWidth, MinHeight, parts)
	}
	for _, c := range []struct {
		w, h int
		want bool
	}{{MinWidth, MinHeight, false}, {MinWidth - 1, MinHeight, true}, {MinWidth, MinHeight - 1, true}, {0, 0, true}} {
		if TooSmall(c.w, c.h) != c.want {
			t.Errorf("TooSmall(%d, %d) is %v", c.w, c.h, !c.want)
		}
	}
}

func TestScrollKeepsTheFocusInSightAndMovesLittle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		total := rapid.IntRange(1, 90).Draw(t, "total")
		window := rapid.IntRange(1, 90).Draw(t, "window")
		focus := rapid.IntRange(0, total-1).Draw(t, "focus")
		before := rapid.IntRange(0, total).Draw(t, "offset")
		after := Scroll(before, focus, window, total)
		last := max(total-window, 0)
		if after < 0 || after > last {
			t.Fatalf("offset %d, want 0 to %d", after, last)
		}
		if focus < after || focus >= after+window {
			t.Fatalf("rows %d to %d are seen and the focus is on %d", after, after+window-1, focus)
		}
		if before <= last && before <= focus && focus < before+window && after != before {
			t.Fatalf("moved from %d to %d though row %d was in sight of %d", before, after, focus, window)
		}
		if before <= last && (focus == before-1 && after != before-1 || focus == before+window && after != before+1) {
			t.Fatalf("one row out of sight moved the window from %d to %d", before, after)
		}
	})
}
