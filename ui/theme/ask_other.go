//go:build !unix

package theme

import (
	"os"
	"time"
)

// AskBackground does not ask on this system: dark is the hint in COLORFGBG and,
// without one, true.
func AskBackground(_, _ *os.File, _ time.Duration) (dark, answered bool, begun string) {
	return hintedDark(os.Getenv("COLORFGBG")), false, ""
}
