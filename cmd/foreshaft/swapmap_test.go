package main

import (
	"strings"
	"testing"

	"foreshaft/engine/unit"
	"foreshaft/ui/uitest"
)

// Someone looks for another way to a weight, puts it in beside what is there, and
// finds both on the bench, the next time too.
func TestAnotherWayToAWeightOnTheSwapMap(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	small := uitest.Options{Cols: 80, Rows: 24}
	x := s.sit(small)
	x.Send("\t")
	x.WaitFor(" A Open ground   insert down, head across   total weight, gr")
	x.WaitFor("▸[394.0  ]")
	x.WaitFor("369.0!") // found beside the screen
	x.Send("jj")
	x.WaitFor("▸ 50 gr brass 5 mm × 125 gr field point: total weight 428.0 gr")
	x.WaitMatch(`\+34\.0 ± 0\.3 gr · FOC`)
	x.Send("w")
	x.WaitFor("428.0=")
	x.Send("jj" + "\x1b[D" + "\x1b[D") // 75 gr and 100 gr
	x.WaitFor("▸ 75 gr brass 5 mm × 100 gr field point: total weight 428.0 gr")
	x.Send("a")
	x.WaitFor("Added Open ground 2 behind Open ground")
	x.Send("\r")
	x.WaitFor("Changed Open ground: insert 16 gr aluminium 5 mm → 75 gr brass 5 mm")
	x.Send("z")
	x.WaitFor("Undone:")
	x.Send("\t")
	x.WaitFor(" Downrange ")
	x.Send("\t")
	x.WaitFor(" Find ")
	x.Send("\t")
	x.WaitFor("B Open ground 2")
	quit(t, x)

	j := s.bench()
	if len(j.Builds) != 4 || j.Builds[1].Insert.Value.Weight != 75*unit.Grain || j.Builds[1].Head.Weight != 100*unit.Grain || !strings.HasPrefix(j.Builds[0].Insert.Value.Name, "aluminium") {
		t.Errorf("on the bench are %+v", j.Builds)
	}
}
