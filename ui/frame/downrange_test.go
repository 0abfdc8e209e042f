package frame

import "testing"

// eachRange lays out every height with every list of distances.
func eachRange(check func(h, distances, figures int, chart bool, l Range)) {
	for h := -3; h <= 80; h++ {
		for distances := 0; distances <= 64; distances++ {
			for figures := range 14 {
				for _, chart := range []bool{false, true} {
					check(h, distances, figures, chart, LayRange(h, distances, figures, chart))
				}
			}
		}
	}
}

// Whatever there is to show, the parts and what stands always never need more
// lines than there are.
func TestTheDownrangeScreenNeverNeedsMoreLinesThanThereAre(t *testing.T) {
	eachRange(func(h, distances, figures int, chart bool, l Range) {
		if l.Distances < 0 || l.Figures < 0 || l.Chart < 0 || l.Distances > distances || l.Figures > figures {
			t.Fatalf("%d lines, %d distances, %d figures, chart %v: %+v", h, distances, figures, chart, l)
		}
		if sum := rangeFixed + l.Distances + l.Figures + l.Chart; h >= rangeFixed && sum > h || h < rangeFixed && sum != rangeFixed {
			t.Fatalf("%d lines, %d distances, %d figures, chart %v: %+v needs %d", h, distances, figures, chart, l, sum)
		}
	})
}

// No line stays empty while something is left out that has room on it.
func TestTheDownrangeScreenUsesItsLines(t *testing.T) {
	eachRange(func(h, distances, figures int, chart bool, l Range) {
		left := h - rangeFixed - l.Distances - l.Figures - l.Chart
		if left <= 0 {
			return
		}
		// With a chart instead, figures are left out because that was asked for.
		if l.Distances < distances || l.Figures < figures && l.Chart == 0 || l.Chart > 0 || left >= chartLeast {
			t.Fatalf("%d lines, %d distances, %d figures, chart %v: %+v leaves %d empty", h, distances, figures, chart, l, left)
		}
	})
}

// A chart is drawn where all figures have room as well, and in their place where
// it was asked for; never lower than it can be read.
func TestWhereTheChartIsDrawn(t *testing.T) {
	eachRange(func(h, distances, figures int, chart bool, l Range) {
		if l.Chart > 0 && l.Chart < chartLeast {
			t.Fatalf("%d lines, %d distances, %d figures: a chart of %d lines", h, distances, figures, l.Chart)
		}
		rest := h - rangeFixed - l.Distances
		both := rest >= figures+chartLeast
		switch {
		case both && (l.Chart == 0 || l.Figures != figures):
			t.Fatalf("%d lines, %d distances, %d figures: both have room and it is %+v", h, distances, figures, l)
		case !both && !chart && l.Chart > 0:
			t.Fatalf("%d lines, %d distances, %d figures: nobody asked for a chart and it is %+v", h, distances, figures, l)
		case !both && chart && rest >= chartLeast && (l.Chart != rest || l.Figures > 0):
			t.Fatalf("%d lines, %d distances, %d figures: a chart was asked for and it is %+v", h, distances, figures, l)
		}
	})
}

// However long the list of distances is, half of the room is for what is below,
// and a short list leaves all that it does not need.
func TestDistancesLeaveRoomForTheirFigures(t *testing.T) {
	eachRange(func(h, distances, figures int, chart bool, l Range) {
		room := h - rangeFixed
		if room < 2 {
			return
		}
		if l.Distances > room/2 && room-l.Distances < figures {
			t.Fatalf("%d lines, %d distances, %d figures: %+v", h, distances, figures, l)
		}
		if distances <= room/2 && l.Distances != distances {
			t.Fatalf("%d lines: %d of %d distances", h, l.Distances, distances)
		}
		if distances > 0 && l.Distances == 0 {
			t.Fatalf("%d lines, %d distances, %d figures: none is shown", h, distances, figures)
		}
	})
}

// What the screens it was designed for show: below the header and above message
// and keys.
func TestTheDownrangeScreenAsItWasDesigned(t *testing.T) {
	for _, c := range []struct {
		h, distances int
		chart        bool
		want         Range
	}{
		{22, 5, false, Range{Distances: 5, Figures: 11}},
		{22, 5, true, Range{Distances: 5, Chart: 13}},
		{34, 5, false, Range{Distances: 5, Figures: 11, Chart: 14}},
		{34, 5, true, Range{Distances: 5, Figures: 11, Chart: 14}},
		{22, 20, false, Range{Distances: 9, Figures: 9}},
		{58, 20, false, Range{Distances: 20, Figures: 11, Chart: 23}},
		{58, 64, false, Range{Distances: 43, Figures: 11}},
	} {
		if got := LayRange(c.h, c.distances, 11, c.chart); got != c.want {
			t.Errorf("%d lines, %d distances, chart %v: %+v, want %+v", c.h, c.distances, c.chart, got, c.want)
		}
	}
}
