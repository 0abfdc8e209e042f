//go:build unix

package theme

import (
	"bytes"
	"errors"
	"os"
	"time"

	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// AskBackground asks the terminal behind in and out whether its background is
// dark, and waits at most wait for the answer. answered tells whether the
// terminal itself said so; when it did not, dark is the hint in COLORFGBG and,
// without one, true.
//
// Nothing is written when in or out is not a terminal, when TERM is empty,
// dumb, linux or one of the screen family, or when typed keys are already
// waiting. The terminal is in raw mode meanwhile and gets its old mode back.
//
// Keys typed between the question and the end of the answer are lost, since
// they cannot be put back; those typed before and after stay for whoever reads
// next. An answer that comes after wait reaches the next reader as if typed; of
// one that had begun by then, begun is what was read of it.
//
// It must run before anything else reads the terminal.
func AskBackground(in, out *os.File, wait time.Duration) (dark, answered bool, begun string) {
	hint := hintedDark(os.Getenv("COLORFGBG"))
	if !passesQuestions(os.Getenv("TERM")) {
		return hint, false, ""
	}
	fd := int(in.Fd())
	if !term.IsTerminal(fd) || !term.IsTerminal(int(out.Fd())) {
		return hint, false, ""
	}
	old, err := term.MakeRaw(fd)
	if err != nil {
		return hint, false, ""
	}
	// If the old mode cannot be had back there is nothing left to try, and the
	// program sets its own mode next anyway.
	defer func() { _ = term.Restore(fd, old) }()

	deadline := time.Now().Add(wait)
	if !pollable(fd) || readable(fd, time.Now()) {
		return hint, false, ""
	}
	if _, err := out.WriteString(question); err != nil {
		return hint, false, ""
	}
	dark, answered, begun = readAnswer(fd, deadline)
	if !answered {
		dark = hint
	}
	return dark, answered, begun
}

// pollable reports whether the system can wait for this terminal. Where it
// cannot, the answer could not be waited for either and would be taken for keys.
func pollable(fd int) bool {
	fds := []unix.PollFd{{Fd: int32(fd), Events: unix.POLLIN}}
	_, err := unix.Poll(fds, 0)
	return err == nil && fds[0].Revents&unix.POLLNVAL == 0
}

// readAnswer reads the terminal's answers until they are complete or the
// deadline passes. It takes one byte at a time so that nothing behind the
// answers is taken away. What it has of an answer that is not complete it returns
// as begun.
func readAnswer(fd int, deadline time.Time) (dark, found bool, begun string) {
	sent := make([]byte, 0, answerLimit)
	for len(sent) < answerLimit && readable(fd, deadline) {
		var one [1]byte
		n, err := unix.Read(fd, one[:])
		if errors.Is(err, unix.EINTR) {
			continue
		}
		if err != nil || n == 0 {
			break
		}
		sent = append(sent, one[0])
		var complete bool
		if dark, found, complete = parseAnswer(sent); complete {
			return dark, found, ""
		}
	}
	rest := colourAnswer.ReplaceAll(sent, nil)
	if i := bytes.IndexByte(rest, '\x1b'); i >= 0 {
		begun = string(rest[i:])
	}
	return dark, found, begun
}

// readable waits until fd has something to read, at the latest until the
// deadline, and reports whether it has.
func readable(fd int, deadline time.Time) bool {
	for {
		// Rounded up, so that the last fraction of a millisecond does not turn
		// into a busy loop.
		left := max(time.Until(deadline)+time.Millisecond-1, 0).Milliseconds()
		fds := []unix.PollFd{{Fd: int32(fd), Events: unix.POLLIN}}
		n, err := unix.Poll(fds, int(left))
		if errors.Is(err, unix.EINTR) {
			continue
		}
		return err == nil && n > 0 && fds[0].Revents&unix.POLLIN != 0
	}
}
