//go:build !unix

package uitest

import (
	"errors"
	"os"
	"os/exec"
)

// This system has no pseudo-terminals: Start skips the test, so that nothing
// else in here is ever asked for.

func startInTerminal(*exec.Cmd, int, int) (*os.File, error) { return nil, errors.ErrUnsupported }

func setSize(uintptr, int, int) error { return errors.ErrUnsupported }

func killGroup(int) error { return errors.ErrUnsupported }
