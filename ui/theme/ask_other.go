//go:build !unix

package theme

import (
	"os"
	"time"
)

// AskBackground does not ask on this system: dark is the hint in COLORFGBG and,
// without one, true.
func AskBackground(_, _ *os.File, _ time.Duration) (dark bool, answered bool) {
	return hintedDark(os.Getenv("COLORFGBG")), false
}
