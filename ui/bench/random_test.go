package bench

import (
	"fmt"
	"math/rand/v2"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/store"
)

// Whatever is pressed, in whatever order, every frame is whole and the bench can
// be kept.
func TestRandomKeysNeverBreakAFrame(t *testing.T) {
	presses := []string{"up", "down", "left", "right", "home", "end", "pgup", "pgdown", "enter", "esc", "tab", "shift+tab", "backspace", "ctrl+a", "ctrl+e", "ctrl+n",
		"+", "-", "a", "b", "d", "e", "E", "i", "j", "k", "l", "n", "o", "r", "s", "t", "T", "u", "x", "X", "y", "z", "Z", "A", "D", "L", "M", "S", "<", ">", "?", ":", ",",
		"1", "2", "2", "3", "3", "9", "f", "F", "c", "C", "r", "R", "w", "p", ".", " ", "q", "й",
		"6", "7", "ctrl+r", "ctrl+x", "ctrl+t", "ctrl+w", "ctrl+k", "ctrl+d", "f1", "words", "words", "5", "ctrl+s", "ctrl+o", "ctrl+z", "ctrl+y"}
	starts := map[string]func() *job.Job{"samples": store.SampleBench, "nothing": job.New}
	for name, start := range starts {
		for _, metrical := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s, metric %v", name, metrical), func(t *testing.T) {
				rng := rand.New(rand.NewPCG(7, uint64(len(name))))
				for range 10 {
					m := newBench(start(), store.SampleParts())
					if metrical {
						m.setUnits(metric)
					}
					var trail []string
					shelf, late := sampleShelf(), []Request(nil)
					shelf.files["f"], shelf.intake, shelf.brings = []byte("data"), twoThings, []part.Part{newInsert()}
					// What is asked of the shelf comes back at once or later, done or not.
					answer := func(r Request) Request {
						shelf.bench, shelf.drawer, shelf.err = m.Job(), m.drawer, nil
						if rng.IntN(8) == 0 {
							shelf.err = errShelf
						}
						return answered(m, shelf, r)
					}
					for range 150 {
						size := [][2]int{{80, 24}, {120, 36}, {200, 60}, {79, 24}, {1, 1}, {81, 25}}[rng.IntN(12)%6]
						m.SetSize(size[0], size[1])
						var r Request
						if rng.IntN(10) == 0 {
							r = m.HandleMouse(tea.MouseMsg{X: rng.IntN(size[0]), Y: rng.IntN(size[1]), Action: tea.MouseActionPress,
								Button: []tea.MouseButton{tea.MouseButtonLeft, tea.MouseButtonWheelUp, tea.MouseButtonWheelDown}[rng.IntN(3)]})
							trail = append(trail, "mouse")
						} else {
							p := presses[rng.IntN(len(presses))]
							trail = append(trail, p)
							if p == "words" { // what a question wants to hear
								words := "f"
								if e, open := m.dialog.(*eraseScreen); open {
									words = e.customer
								}
								if _, open := m.dialog.(*dozenScreen); open {
									words = fmt.Sprintf("%d.%d", 100+rng.IntN(5), rng.IntN(10))
								}
								write(m, words)
								p = "enter"
							}
							r = press(m, p)
						}
						if len(late) > 0 && rng.IntN(3) == 0 {
							trail = append(trail, "answer")
							answer(late[0])
							late = late[1:]
						}
						switch a, asks := r.(Ask); {
						case asks && !a.Alone && rng.IntN(4) == 0:
							late, r = append(late, r), nil
						case asks, r == Request(List{}):
							r = answer(r)
						}
						switch r := r.(type) {
						case Write:
							m.Written(r, "/here/"+r.Path, nil)
						case Load:
							opened := map[Saved]*job.Job{SavedBench: store.SampleBench(), SavedBuild: store.BuildOf(store.SampleBench(), 1), SavedBow: store.BowOf(store.SampleBench())}
							m.Place(r.Entry, opened[r.Entry.What], nil)
						case Work: // as far as its first tidings
							r.Do(func(what any) {
								m.Told(r, what)
								r.to.closed()
							})
						case NewPart:
							if rng.IntN(3) > 0 {
								m.TakeID(fmt.Sprintf("part-%d", rng.IntN(1e6)))
							}
						}
						lines := m.Lines()
						checkFrame(t, fmt.Sprint(trail), lines, size[0], size[1])
						if t.Failed() {
							return
						}
					}
					if _, err := job.DecodeBench(m.Job().Encode()); err != nil {
						t.Fatalf("after %v the bench cannot be kept: %v", trail, err)
					}
				}
			})
		}
	}
}
