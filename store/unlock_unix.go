//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package store

import (
	"os"
	"syscall"
)

// unlock releases the database's lock on a file. Closing the file is not enough:
// the memory that still maps it keeps the lock.
func unlock(f *os.File) { _ = syscall.Flock(int(f.Fd()), syscall.LOCK_UN) }
