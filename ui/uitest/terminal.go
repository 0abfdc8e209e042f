// Package uitest runs a program in a real pseudo-terminal behind a terminal
// emulator, so that a test can press keys and read the screen.
//
// It is test support: it imports testing, and only test files import it. A
// test here fails when another file does.
//
// Nothing in it sleeps. A test waits for a text on the screen, is woken by
// each piece of output, and fails with the whole screen when the text does not
// come in time or the program ends first.
package uitest

import (
	"bytes"
	"errors"
	"image/color"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/charmbracelet/x/vt"
)

// Defaults for the zero values of Options.
const (
	DefaultCols     = 120
	DefaultRows     = 36
	DefaultPatience = 10 * time.Second
)

// Options say what to run and in what kind of terminal.
type Options struct {
	// Path is the program, Args its arguments without the program's name.
	Path string
	Args []string
	// Env is added to a small environment of its own: PATH, LANG=C.UTF-8,
	// TERM=xterm-256color, and HOME and the XDG folders inside t.TempDir().
	// Nothing else of the test's own environment gets through.
	Env []string
	// Cols and Rows are the size in cells, 120 by 36 when zero.
	Cols, Rows int
	// Dir is the working folder, HOME when empty.
	Dir string
	// SilentTerminal makes a terminal that never answers a question.
	SilentTerminal bool
	// Background is what the terminal says when asked for its background
	// colour, black when nil.
	Background color.Color
	// Patience is how long each wait lasts, DefaultPatience when zero.
	Patience time.Duration
}

// Terminal is a running program and the terminal it runs in. Its methods fail
// the test by themselves and belong on the test's own goroutine.
type Terminal struct {
	t        testing.TB
	patience time.Duration
	silent   bool
	cmd      *exec.Cmd
	master   *os.File

	mu       sync.Mutex // guards what follows, and every use of the emulator but its replies
	emulator *vt.Emulator
	raw      []byte
	changed  chan struct{} // closed and replaced whenever output arrived

	replies chan []byte   // answers on their way from the emulator to the program
	drained chan struct{} // closed when all output has been read
	exited  chan struct{} // closed when the program has ended
	workers sync.WaitGroup
	closing sync.Once
}

// Start runs a program in a new terminal, as the leader of a session of its
// own. It fails the test when that is not possible, and closes the terminal
// when the test ends.
func Start(t testing.TB, opt Options) *Terminal {
	t.Helper()
	if opt.Cols == 0 {
		opt.Cols = DefaultCols
	}
	if opt.Rows == 0 {
		opt.Rows = DefaultRows
	}
	if opt.Patience == 0 {
		opt.Patience = DefaultPatience
	}
	home, env := environment(t)
	if opt.Dir == "" {
		opt.Dir = home
	}
	cmd := exec.Command(opt.Path, opt.Args...)
	cmd.Dir = opt.Dir
	cmd.Env = append(env, opt.Env...)

	master, err := startInTerminal(cmd, opt.Cols, opt.Rows)
	if errors.Is(err, errors.ErrUnsupported) {
		t.Skip("this system has no pseudo-terminals")
	}
	if err != nil {
		t.Fatalf("start %s in a terminal: %v", opt.Path, err)
	}
	term := &Terminal{
		t: t, patience: opt.Patience, silent: opt.SilentTerminal, cmd: cmd, master: master,
		emulator: vt.NewEmulator(opt.Cols, opt.Rows),
		changed:  make(chan struct{}),
		replies:  make(chan []byte, 1024),
		drained:  make(chan struct{}),
		exited:   make(chan struct{}),
	}
	if opt.Background != nil {
		term.emulator.SetDefaultBackgroundColor(opt.Background)
	}
	term.workers.Go(term.readOutput)
	term.workers.Go(term.takeReplies)
	term.workers.Go(term.sendReplies)
	term.workers.Go(func() {
		// How it ended is read from the process state.
		_ = cmd.Wait()
		close(term.exited)
	})
	t.Cleanup(term.Close)
	return term
}

// environment makes empty home folders and returns HOME and the environment.
func environment(t testing.TB) (home string, env []string) {
	t.Helper()
	home = t.TempDir()
	env = []string{
		"PATH=" + os.Getenv("PATH"), "LANG=C.UTF-8", "TERM=xterm-256color", "HOME=" + home,
	}
	for _, folder := range []struct{ variable, name string }{
		{"XDG_CONFIG_HOME", "config"}, {"XDG_DATA_HOME", "data"}, {"XDG_STATE_HOME", "state"},
		{"XDG_CACHE_HOME", "cache"}, {"XDG_RUNTIME_DIR", "runtime"},
	} {
		path := filepath.Join(home, folder.name)
		if err := os.Mkdir(path, 0o700); err != nil {
			t.Fatal(err)
		}
		env = append(env, folder.variable+"="+path)
	}
	return home, env
}

// readOutput feeds the program's output to the emulator until the terminal has
// no program left.
func (x *Terminal) readOutput() {
	defer close(x.drained)
	buf := make([]byte, 32*1024)
	for {
		n, err := x.master.Read(buf)
		if n > 0 {
			x.mu.Lock()
			x.raw = append(x.raw, buf[:n]...)
			// Write fails only on a closed emulator, and this one never is.
			_, _ = x.emulator.Write(buf[:n])
			close(x.changed)
			x.changed = make(chan struct{})
			x.mu.Unlock()
		}
		if err != nil {
			// EIO is how the kernel says that no program holds the terminal
			// any more; os.ErrClosed comes from Close.
			return
		}
	}
}

// takeReplies takes the emulator's answers from it. Somebody has to, wanted or
// not: the emulator's Write blocks on each answer until it is read.
func (x *Terminal) takeReplies() {
	defer close(x.replies)
	buf := make([]byte, 4096)
	for {
		n, err := x.emulator.Read(buf)
		if err != nil {
			return
		}
		if x.silent {
			continue
		}
		select {
		case x.replies <- bytes.Clone(buf[:n]):
		default:
			// A program that leaves this many unread loses the rest. Waiting
			// for it here would freeze the screen.
		}
	}
}

// sendReplies gives the answers back to the program.
func (x *Terminal) sendReplies() {
	for reply := range x.replies {
		// A program that has ended or does not read shows in the test's own
		// waits.
		_ = x.write(reply)
	}
}

// write puts p into the terminal's input in one piece.
func (x *Terminal) write(p []byte) error {
	if err := x.master.SetWriteDeadline(time.Now().Add(x.patience)); err != nil {
		return err
	}
	_, err := x.master.Write(p)
	return err
}

// Close kills the program's process group if anything of it is left, and lets
// the terminal go. The screen stays readable. Closing twice does no harm.
func (x *Terminal) Close() {
	x.closing.Do(func() {
		if !done(x.exited) || !done(x.drained) {
			// The program leads its group. The last of it may be gone by now,
			// so an error says nothing.
			_ = killGroup(x.cmd.Process.Pid)
		}
		_ = x.master.Close()
		// The emulator's own Close would race with the reply reader; closing
		// the pipe behind it does not.
		if pipe, ok := x.emulator.InputPipe().(io.Closer); ok {
			_ = pipe.Close()
		}
		x.workers.Wait()
	})
}

// done reports whether c is closed.
func done(c <-chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}
