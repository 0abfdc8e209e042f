package bench

import (
	"math"
	"strings"

	"foreshaft/engine/unit"
	"foreshaft/ui/present"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// scatter draws things as dots by two of their figures, each dot a character, so that
// it reads without colour.
type scatter struct {
	x, y    axis
	dots    []dot
	focused int // which dot has the focus, from 1; 0 is none
}

type axis struct {
	title string
	unit  unit.Unit
}

// dot is one thing, in SI.
type dot struct {
	x, y  float64
	front bool
}

// axisWidth holds the numbers at the side.
const axisWidth = 9

// draw returns exactly h lines: a title, the dots with the greatest and the least of
// the figure up at their side, and a line with those of the figure across.
func (s *scatter) draw(t *theme.Theme, title string, w, h int) []string {
	rows, cols := h-2, w-axisWidth-2
	out := []string{t.Paint(theme.Quiet, text.Pad(text.Cut(title, w), w))}
	lowX, highX := s.ends(func(d dot) float64 { return d.x })
	lowY, highY := s.ends(func(d dot) float64 { return d.y })
	if len(s.dots) == 0 || rows < 1 {
		for len(out) < h {
			out = append(out, "")
		}
		return out[:h]
	}
	grid := make([][]string, rows)
	for i := range grid {
		grid[i] = strings.Split(strings.Repeat(" ", cols), "")
	}
	place := func(v, low, high float64, n int) int {
		if high <= low {
			return n / 2
		}
		return int(math.Round((v - low) / (high - low) * float64(n-1)))
	}
	rank := map[string]int{" ": 0, "·": 1, "●": 2, "X": 3}
	for i, d := range s.dots {
		sign := "·"
		switch {
		case i == s.focused-1:
			sign = "X"
		case d.front:
			sign = "●"
		}
		cell := &grid[rows-1-place(d.y, lowY, highY, rows)][place(d.x, lowX, highX, cols)]
		if rank[sign] > rank[*cell] {
			*cell = sign
		}
	}
	for i, row := range grid {
		label := ""
		switch i {
		case 0:
			label = rounded(s.y.unit.Of(highY))
		case rows - 1:
			label = rounded(s.y.unit.Of(lowY))
		case 1:
			label = s.y.unit.Symbol
		}
		out = append(out, t.Paint(theme.Quiet, text.PadLeft(text.Cut(label, axisWidth), axisWidth)+"│")+t.Paint(theme.Plain, strings.Join(row, "")))
	}
	left, right := rounded(s.x.unit.Of(lowX)), rounded(s.x.unit.Of(highX))+" "+s.x.unit.Symbol
	gap := max(cols-text.Width(left)-text.Width(right), 1)
	return append(out, t.Paint(theme.Quiet, text.Cut(strings.Repeat(" ", axisWidth)+"└"+left+strings.Repeat("─", gap)+right, w)))
}

func (s *scatter) ends(of func(d dot) float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, d := range s.dots {
		low, high = min(low, of(d)), max(high, of(d))
	}
	return low, high
}

func rounded(x float64) string { return present.Number(present.Significant(x, 4)) }
