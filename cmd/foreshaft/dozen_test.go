package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"foreshaft/engine/dozen"
	"foreshaft/ui/uitest"
)

// Twelve shafts and heads are pasted, paired and ticked off while they are built; the sitting
// ends in between and goes on, and the ticket has the list.
func TestADozenIsWeighedPairedBuiltAndPrinted(t *testing.T) {
	t.Parallel()
	s := newSeat(t)
	folder := t.TempDir()
	x := s.sit(uitest.Options{Cols: 100, Rows: 30, Dir: folder})
	x.WaitFor("A Open ground")
	x.Send("5")
	x.WaitFor("[shafts]")
	x.Send(pasted("231.4\t0.352\t0.003\r231.2\t0.349\t0.002\r231.6\r231.5\r231.3\r231.9\r231.5\r231.0\r231.1\r231.7\r231.2\r231.4\r"))
	x.WaitFor("12 shafts added, 12 in all")
	x.Send("\t")
	x.WaitFor("[heads]")
	x.Send(pasted("125.1\r124.8\r125.4\r124.9\r125.0\r125.2\r125.0\r124.7\r125.3\r125.1\r124.9\r125.0\r"))
	x.WaitFor("12 heads added")
	x.WaitFor("no other choice of the pieces has a smaller spread")
	x.Type("199") // it went to the wrong scale
	x.Send(enter)
	x.WaitFor("It lies far from the others")
	x.Send("\x1a") // Ctrl+Z
	x.WaitFor("Undone: weigh head 13.")
	x.Send("\x1b[Z") // Shift+Tab, past the shafts
	x.WaitFor("[shafts 12]")
	x.Send("\x1b[Z")
	x.WaitFor("[build list]")
	x.Send(enter)
	x.WaitFor("Arrow 1 is made: 1 of 12.")
	x.Send(enter)
	x.WaitFor("[build list 2/12]")
	leave(x, "[build list 2/12]")
	quit(t, x)

	x = s.sit(uitest.Options{Cols: 100, Rows: 30, Dir: folder})
	x.WaitFor("A Open ground")
	x.Send("5")
	x.WaitFor("build list 2/12")
	x.Send("\x1b[Z")
	x.WaitFor("[build list 2/12]")
	for range 10 { // the first two are made: the list goes on with the third
		x.Send("\x1b[B")
	}
	x.WaitMatch(`▸ \[ \] +11 `)
	x.Send(enter)
	x.WaitFor("Arrow 11 is made: 3 of 12.")
	x.Send("\x17") // Ctrl+W
	x.WaitFor("Ticket of Open ground")
	x.Send(enter)
	x.Type("12")
	x.Send(enter)
	x.WaitFor("Noted: how many 12.")
	x.Send("p")
	x.WaitFor("All 3 builds side by side")
	x.Send(enter)
	x.WaitFor("Write it to a new file")
	x.Type("dozen.txt")
	x.Send(enter)
	x.WaitFor("Wrote the ticket of A Open ground to")
	leave(x, "Ticket of Open ground")
	leave(x, "[build list 3/12]")
	quit(t, x)

	j := s.bench()
	batch := &j.Builds[0].Dozen.Value
	if len(batch.Shafts) != 12 || len(batch.Heads) != 12 || batch.Made() != 3 || !batch.Plan[10].Made || batch.Shafts[0].Spine.Value == 0 {
		t.Errorf("%+v", batch)
	}
	data, err := os.ReadFile(filepath.Join(folder, "dozen.txt"))
	if err != nil {
		t.Fatal(err)
	}
	p, err := batch.Pair()
	if err != nil || p.Spread > 0.3 {
		t.Errorf("spread %v, %v", p.Spread, err)
	}
	if lines := strings.Count(string(data), "[x]"); lines < 3 || p.Arrows[0].Piece[dozen.Shafts] == p.Arrows[1].Piece[dozen.Shafts] {
		t.Errorf("%d ticks on the ticket:\n%s", lines, data)
	}
	for _, want := range []string{"Open ground", "12", "Shoot one before"} {
		if !strings.Contains(string(data), want) {
			t.Errorf("the ticket does not say %q:\n%s", want, data)
		}
	}
}
