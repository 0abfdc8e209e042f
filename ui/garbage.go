package ui

import (
	"os"
	"runtime/debug"
)

// CollectSeldom lets garbage grow to four times what is in use before it is
// collected: some megabytes of memory, for keys that are answered sooner, as little is
// in use and each key makes garbage. Who sets GOGC has decided otherwise.
func CollectSeldom() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400)
	}
}
