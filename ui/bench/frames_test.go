package bench

import (
	"slices"
	"strings"
	"testing"
)

// A frame depends on what is shown and on nothing that was drawn before: drawn
// again, and after another size and another theme, it is the same to the byte.
// Something kept from one frame to the next would differ.
func TestAFrameIsTheSameAfterResizingAwayAndBack(t *testing.T) {
	for _, c := range modes() {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			m := c.make(t)
			for _, size := range sizes[5:] {
				for _, look := range themes() {
					m.SetSize(size[0], size[1])
					m.theme = look
					first := slices.Clone(m.Lines())
					if again := m.Lines(); !slices.Equal(first, again) {
						t.Fatalf("%v %s: drawn again it is\n%s\nwas\n%s", size, look.Name(), strings.Join(again, "\n"), strings.Join(first, "\n"))
					}
					for _, away := range [][2]int{{1, 1}, {80, 24}, {200, 60}} {
						m.SetSize(away[0], away[1])
						m.theme = themes()[(away[0]+size[0])%3]
						m.Lines()
						m.SetSize(size[0], size[1])
						m.theme = look
						if again := m.Lines(); !slices.Equal(first, again) {
							t.Fatalf("%v %s: after %v it is\n%s\nwas\n%s", size, look.Name(), away, strings.Join(again, "\n"), strings.Join(first, "\n"))
						}
					}
				}
			}
		})
	}
}
