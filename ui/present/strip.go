package present

import (
	"strings"

	"foreshaft/engine/arrow"
	"foreshaft/engine/unit"
)

// Reach returns how far a build's tip lies from the throat.
func Reach(b *arrow.Build) unit.Length {
	return b.Seat() + max(b.Head.Length.Or(2*b.Head.BalancePoint()), 0)
}

// Strip draws a build to scale in w cells, tail left, the balance point as ▲.
// full is the length that fills the width, so that strips drawn with the same
// full compare. The signs: > nock, ≡ vanes, ═ tube, ■ insert or collar, ▷ head,
// ► a head with blades.
func Strip(b *arrow.Build, w int, full unit.Length) string {
	if w < 4 || full <= 0 || b.Tube() <= 0 {
		return ""
	}
	cells := make([]rune, w)
	for i := range cells {
		cells[i] = ' '
	}
	at := func(x unit.Length) int { return min(max(int(float64(w)*float64(x/full)), 0), w-1) }
	fill := func(from, to unit.Length, r rune) {
		for i := at(from); i <= at(to); i++ {
			cells[i] = r
		}
	}
	fill(0, b.Length, '═')
	if v := &b.Vanes.Value; b.Vanes.Given && v.Count > 0 {
		fill(v.Rear, v.Rear+v.Length, '≡')
	}
	if b.Insert.Given {
		fill(b.Length-b.Insert.Value.Depth, b.Seat(), '■')
	}
	if b.Collar.Given {
		fill(b.Length-b.Collar.Value.Length, b.Length, '■')
	}
	tip := '▷'
	if b.Head.Blades > 0 {
		tip = '►'
	}
	cells[max(at(Reach(b)), at(b.Seat()))] = tip
	for i := at(b.Seat()) + 1; i < at(Reach(b)); i++ {
		cells[i] = '─'
	}
	cells[0] = '>'
	if m := b.Moments(); m.Total > 0 {
		cells[at(m.Balance)] = '▲'
	}
	return strings.TrimRight(string(cells), " ")
}
