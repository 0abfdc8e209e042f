//go:build unix

package uitest

import (
	"errors"
	"os"
	"os/exec"
	"syscall"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
)

// startInTerminal starts cmd and returns the master side of its terminal.
func startInTerminal(cmd *exec.Cmd, cols, rows int) (*os.File, error) {
	blocking, err := pty.StartWithSize(cmd, &pty.Winsize{Cols: uint16(cols), Rows: uint16(rows)})
	if err != nil {
		return nil, err
	}
	defer blocking.Close()
	// The library leaves the file in blocking mode, where a deadline has no
	// effect and closing does not end a read. A non-blocking copy has neither
	// fault.
	fd, err := unix.FcntlInt(blocking.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	if err == nil {
		err = unix.SetNonblock(fd, true)
	}
	if err != nil {
		return nil, errors.Join(err, cmd.Process.Kill(), cmd.Wait())
	}
	return os.NewFile(uintptr(fd), "terminal"), nil
}

// setSize tells a terminal its size in cells.
func setSize(fd uintptr, cols, rows int) error {
	return unix.IoctlSetWinsize(int(fd), unix.TIOCSWINSZ, &unix.Winsize{Col: uint16(cols), Row: uint16(rows)})
}

// killGroup kills the process group that a process leads.
func killGroup(leader int) error { return syscall.Kill(-leader, syscall.SIGKILL) }
