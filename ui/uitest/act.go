package uitest

import (
	"os"
	"regexp"
	"strings"
	"syscall"
	"time"
)

// Send gives keys to the program in one write, as a terminal does with one key
// however many bytes it has: "\x1b[A" is the up arrow.
func (x *Terminal) Send(keys string) {
	x.t.Helper()
	if err := x.write([]byte(keys)); err != nil {
		x.t.Fatalf("send %q: %v\n%s", keys, err, x.picture())
	}
}

// Type gives each character of s to the program in a write of its own. A
// program that is busy may still find several of them together.
func (x *Terminal) Type(s string) {
	x.t.Helper()
	for _, r := range s {
		x.Send(string(r))
	}
}

// Resize changes the size of the terminal in cells: the emulator first, so
// that what the program draws for the new size finds room.
func (x *Terminal) Resize(cols, rows int) {
	x.t.Helper()
	x.mu.Lock()
	// The emulator needs at least one cell; the program is told the size as
	// given.
	x.emulator.Resize(max(cols, 1), max(rows, 1))
	x.mu.Unlock()

	conn, err := x.master.SyscallConn()
	if err == nil {
		var failed error
		err = conn.Control(func(fd uintptr) {
			failed = setSize(fd, cols, rows)
		})
		if err == nil {
			err = failed
		}
	}
	if err != nil {
		x.t.Fatalf("resize to %d×%d: %v", cols, rows, err)
	}
}

// WaitFor waits until text shows on the screen and returns the screen. Text
// that runs over a line end is not found.
func (x *Terminal) WaitFor(text string) string {
	x.t.Helper()
	return x.WaitUntil("the screen to show "+quote(text), func(screen string) bool {
		return strings.Contains(screen, text)
	})
}

// WaitGone waits until text shows nowhere on the screen and returns the
// screen. Wait for the text first: before it shows it is nowhere, too.
func (x *Terminal) WaitGone(text string) string {
	x.t.Helper()
	return x.WaitUntil("the screen to lose "+quote(text), func(screen string) bool {
		return !strings.Contains(screen, text)
	})
}

// WaitMatch waits until the regular expression matches the screen, lines
// joined by line ends, and returns the screen.
func (x *Terminal) WaitMatch(pattern string) string {
	x.t.Helper()
	re, err := regexp.Compile(pattern)
	if err != nil {
		x.t.Fatalf("wait for a match: %v", err)
	}
	return x.WaitUntil("the screen to match "+quote(pattern), re.MatchString)
}

// WaitUntil looks at the screen after each piece of output until it passes, and
// returns it. It fails the test when patience runs out, or at once when no more
// output can come; what says what was waited for. A frame arrives in pieces: ask
// for all of it here rather than in the screen that another wait returned.
func (x *Terminal) WaitUntil(what string, passes func(screen string) bool) string {
	x.t.Helper()
	deadline := time.NewTimer(x.patience)
	defer deadline.Stop()
	for {
		x.mu.Lock()
		screen, changed := x.screen(), x.changed
		x.mu.Unlock()
		if passes(screen) {
			return screen
		}
		select {
		case <-changed:
			continue
		case <-x.drained:
			// The last output may have come after this look at the screen.
			if screen = x.Screen(); passes(screen) {
				return screen
			}
			x.t.Fatalf("waited for %s, but the program ended\n%s", what, x.picture())
		case <-deadline.C:
			x.t.Fatalf("waited %v for %s\n%s", x.patience, what, x.picture())
		}
	}
}

// Screen returns what the screen shows now as plain text: as many lines as the
// screen has, blanks at their ends trimmed.
func (x *Terminal) Screen() string {
	x.mu.Lock()
	defer x.mu.Unlock()
	return x.screen()
}

// screen does the work of Screen for a caller that holds the lock.
func (x *Terminal) screen() string {
	lines := make([]string, x.emulator.Height())
	for row := range lines {
		var line strings.Builder
		for col := 0; col < x.emulator.Width(); {
			cell := x.emulator.CellAt(col, row)
			if cell == nil || cell.Content == "" {
				line.WriteByte(' ')
				col++
				continue
			}
			line.WriteString(cell.Content)
			col += max(cell.Width, 1)
		}
		lines[row] = strings.TrimRight(line.String(), " ")
	}
	return strings.Join(lines, "\n")
}

// Cursor returns the column and the row, from 0, where the program would write
// next.
func (x *Terminal) Cursor() (col, row int) {
	x.mu.Lock()
	defer x.mu.Unlock()
	at := x.emulator.CursorPosition()
	return at.X, at.Y
}

// Raw returns all bytes that the program has written so far.
func (x *Terminal) Raw() []byte {
	x.mu.Lock()
	defer x.mu.Unlock()
	return append([]byte(nil), x.raw...)
}

// Wait waits until the program has ended and all it wrote is on the screen. It
// returns the exit code, or 128 and the signal's number when a signal ended
// it. It fails the test when the program, or something it left behind in the
// terminal, is still there when patience runs out.
func (x *Terminal) Wait() int {
	x.t.Helper()
	deadline := time.NewTimer(x.patience)
	defer deadline.Stop()
	for _, step := range []struct {
		done <-chan struct{}
		late string
	}{
		{x.exited, "the program to end"},
		{x.drained, "the terminal to be left by what the program started"},
	} {
		select {
		case <-step.done:
		case <-deadline.C:
			x.t.Fatalf("waited %v for %s\n%s", x.patience, step.late, x.picture())
		}
	}
	state := x.cmd.ProcessState
	if status, ok := state.Sys().(syscall.WaitStatus); ok && status.Signaled() {
		return 128 + int(status.Signal())
	}
	return state.ExitCode()
}

// Kill sends the program a signal.
func (x *Terminal) Kill(sig os.Signal) {
	x.t.Helper()
	if err := x.cmd.Process.Signal(sig); err != nil {
		x.t.Fatalf("signal %v: %v\n%s", sig, err, x.picture())
	}
}

// HangUp closes the terminal, as closing its window does. What the program writes from then
// on goes nowhere.
func (x *Terminal) HangUp() {
	x.t.Helper()
	if err := x.master.Close(); err != nil {
		x.t.Fatalf("hanging up: %v\n%s", err, x.picture())
	}
}

// picture returns the screen in a frame, for the message of a failure.
func (x *Terminal) picture() string {
	x.mu.Lock()
	defer x.mu.Unlock()
	edge := "+" + strings.Repeat("-", x.emulator.Width()) + "\n"
	return edge + "|" + strings.ReplaceAll(x.screen(), "\n", "\n|") + "\n" + edge
}

// quote marks where a searched text begins and ends.
func quote(text string) string { return "«" + text + "»" }
