package present

import (
	"fmt"
	"strings"

	"foreshaft/engine/dozen"
	"foreshaft/engine/unit"
	"foreshaft/ui/text"
)

// Dozen writes a pairing as plain lines: what it comes to, a numbered list to build from,
// and what is left out. Pieces are counted from 1, in the order in which they were weighed.
func Dozen(units unit.System, p *dozen.Pairing) string {
	var out strings.Builder
	gr := units.Shown(unit.Grains)
	weigh := func(grains float64) string {
		return atLeastOne(gr.Of(float64(unit.Mass(grains) * unit.Grain)))
	}
	verdict := "proven: no pairing has less"
	if !p.Proven {
		verdict = fmt.Sprintf("not proven, but no pairing can have less than %s %s", weigh(p.Bound), gr.Symbol)
	}
	fmt.Fprintf(&out, "%s, spread %s %s; %s\n", counted(len(p.Arrows), "arrow"), weigh(p.Spread), gr.Symbol, verdict)
	out.WriteString("pieces are counted from 1, in the order they were weighed\n\n")
	line := text.PadLeft("arrow", 5)
	for k := range dozen.Kinds {
		if p.Has[k] {
			line += text.PadLeft(k.One(), 8)
		}
	}
	out.WriteString(line + text.PadLeft("total "+gr.Symbol, 12) + "\n")
	for i, a := range p.Arrows {
		line := text.PadLeft(fmt.Sprint(i+1), 5)
		for k := range dozen.Kinds {
			if p.Has[k] {
				line += text.PadLeft(fmt.Sprint(a.Piece[k]+1), 8)
			}
		}
		out.WriteString(line + text.PadLeft(weigh(a.Total), 12) + "\n")
	}
	for k := range dozen.Kinds {
		if n := len(p.LeftOut[k]); n > 0 {
			fmt.Fprintf(&out, "left out: %s %s\n", k.Named(n), Numbers(p.LeftOut[k]))
		}
	}
	return out.String()
}
