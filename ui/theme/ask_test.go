//go:build linux

package theme

import (
	"bytes"
	"os"
	"reflect"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/muesli/termenv"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// longWait is far more than any answer here takes, so a test that gets near it
// waited for something it should not have.
const longWait = 6 * time.Second

// bothQuestions are OSC 11 and DA1 as xterm's control sequences define them.
const bothQuestions = "\x1b]11;?\x1b\\\x1b[c"

const (
	blackAnswer = "\x1b]11;rgb:0000/0000/0000\x1b\\"
	whiteAnswer = "\x1b]11;rgb:ffff/ffff/ffff\a"
	deviceIs    = "\x1b[?62;22c"
)

// openTerminal returns both sides of a new terminal that claims to be xterm
// and gives no hint.
func openTerminal(t *testing.T) (master, program *os.File) {
	t.Helper()
	t.Setenv("TERM", "xterm-256color")
	t.Setenv("COLORFGBG", "")
	master, program, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = program.Close()
		_ = master.Close()
	})
	return master, program
}

// answerWith plays a terminal: it waits for the whole question and then sends
// the pieces one after the other.
func answerWith(t *testing.T, master *os.File, pieces ...string) {
	t.Helper()
	go func() {
		var asked []byte
		buf := make([]byte, 64)
		for !bytes.Contains(asked, []byte(bothQuestions)) {
			n, err := master.Read(buf)
			if err != nil {
				return
			}
			asked = append(asked, buf[:n]...)
		}
		for _, piece := range pieces {
			if _, err := master.WriteString(piece); err != nil {
				return
			}
		}
	}()
}

func TestAskBackgroundReadsTheAnswer(t *testing.T) {
	for _, c := range []struct {
		name           string
		hint           string
		pieces         []string
		dark, answered bool
	}{
		{"black", "", []string{blackAnswer, deviceIs}, true, true},
		{"white", "", []string{whiteAnswer, deviceIs}, false, true},
		{"white, in pieces", "", []string{whiteAnswer[:3], whiteAnswer[3:20], whiteAnswer[20:] + deviceIs[:2], deviceIs[2:]}, false, true},
		{"the answer beats the hint", "0;15", []string{blackAnswer + deviceIs}, true, true},
		{"attributes only", "", []string{deviceIs}, true, false},
		{"attributes only, light hint", "0;15", []string{deviceIs}, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			master, program := openTerminal(t)
			t.Setenv("COLORFGBG", c.hint)
			answerWith(t, master, c.pieces...)
			before := time.Now()
			dark, answered, _ := AskBackground(program, program, longWait)
			if dark != c.dark || answered != c.answered {
				t.Errorf("dark %t answered %t, want %t %t", dark, answered, c.dark, c.answered)
			}
			if took := time.Since(before); took > longWait/2 {
				t.Errorf("took %v although the terminal answered", took)
			}
		})
	}
}

func TestAskBackgroundGivesUpOnASilentTerminal(t *testing.T) {
	_, program := openTerminal(t)
	t.Setenv("COLORFGBG", "0;15")
	before := time.Now()
	dark, answered, _ := AskBackground(program, program, 50*time.Millisecond)
	took := time.Since(before)
	if dark || answered {
		t.Errorf("dark %t answered %t, want the hint and no answer", dark, answered)
	}
	if took < 50*time.Millisecond || took > 5*time.Second {
		t.Errorf("took %v, want about 50 ms", took)
	}
}

func TestAskBackgroundTakesAColourWithoutAttributes(t *testing.T) {
	master, program := openTerminal(t)
	answerWith(t, master, whiteAnswer)
	dark, answered, _ := AskBackground(program, program, 500*time.Millisecond)
	if dark || !answered {
		t.Errorf("dark %t answered %t, want a light answer", dark, answered)
	}
}

func TestAskBackgroundLeavesLaterKeysAndTheMode(t *testing.T) {
	master, program := openTerminal(t)
	fd := int(program.Fd())
	before, err := unix.IoctlGetTermios(fd, unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	answerWith(t, master, blackAnswer+deviceIs+"jk")
	if _, answered, _ := AskBackground(program, program, longWait); !answered {
		t.Fatal("no answer")
	}
	after, err := unix.IoctlGetTermios(fd, unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(before, after) {
		t.Errorf("the mode is %+v, was %+v", after, before)
	}
	if got := typed(t, program, 2); got != "jk" {
		t.Errorf("the next reader gets %q, want jk", got)
	}
}

func TestAskBackgroundAsksNothingBehindWaitingKeys(t *testing.T) {
	master, program := openTerminal(t)
	if _, err := master.WriteString("jk"); err != nil {
		t.Fatal(err)
	}
	dark, answered, _ := AskBackground(program, program, longWait)
	if !dark || answered {
		t.Errorf("dark %t answered %t, want the default and no answer", dark, answered)
	}
	if got := typed(t, program, 2); got != "jk" {
		t.Errorf("the next reader gets %q, want jk", got)
	}
	// The terminal echoes what was typed; the question would stand behind it.
	if got := written(t, master, program); bytes.ContainsRune(got, '\x1b') {
		t.Errorf("wrote %q", got)
	}
}

func TestAskBackgroundWritesNothingWhereItMustNot(t *testing.T) {
	for _, name := range []string{"dumb", "", "screen", "screen-256color", "linux"} {
		t.Run(name, func(t *testing.T) {
			master, program := openTerminal(t)
			t.Setenv("TERM", name)
			if _, answered, _ := AskBackground(program, program, longWait); answered {
				t.Error("answered")
			}
			if got := written(t, master, program); len(got) > 0 {
				t.Errorf("wrote %q", got)
			}
		})
	}
}

func TestAskBackgroundLeavesFilesAndPipesAlone(t *testing.T) {
	master, program := openTerminal(t)
	t.Setenv("COLORFGBG", "0;15")
	file, err := os.CreateTemp(t.TempDir(), "out")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if dark, answered, _ := AskBackground(program, file, longWait); dark || answered {
		t.Errorf("out is a file: dark %t answered %t, want the hint", dark, answered)
	}
	if dark, answered, _ := AskBackground(file, program, longWait); dark || answered {
		t.Errorf("in is a file: dark %t answered %t, want the hint", dark, answered)
	}
	if info, err := file.Stat(); err != nil || info.Size() != 0 {
		t.Errorf("the file has %v bytes (%v)", info.Size(), err)
	}
	if got := written(t, master, program); len(got) > 0 {
		t.Errorf("wrote %q", got)
	}
}

// typed reads n bytes from the terminal as the next program in raw mode would.
func typed(t *testing.T, program *os.File, n int) string {
	t.Helper()
	fd := int(program.Fd())
	if _, err := term.MakeRaw(fd); err != nil {
		t.Fatal(err)
	}
	var got []byte
	for len(got) < n {
		if !readable(fd, time.Now().Add(5*time.Second)) {
			t.Fatalf("only %q is there to read", got)
		}
		buf := make([]byte, n-len(got))
		m, err := unix.Read(fd, buf)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, buf[:m]...)
	}
	return string(got)
}

// written returns what has been written to the terminal. A mark of its own
// written last tells where it ends.
func written(t *testing.T, master, program *os.File) []byte {
	t.Helper()
	const mark = "END"
	if _, err := program.WriteString(mark); err != nil {
		t.Fatal(err)
	}
	var got []byte
	buf := make([]byte, 256)
	for !bytes.HasSuffix(got, []byte(mark)) {
		n, err := master.Read(buf)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, buf[:n]...)
	}
	return bytes.TrimSuffix(got, []byte(mark))
}

func TestProfileComesFromTheEnvironment(t *testing.T) {
	for _, name := range []string{"NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLORTERM", "GOOGLE_CLOUD_SHELL", "CI"} {
		t.Setenv(name, "")
	}
	_, terminal := openTerminal(t)
	if got := Profile(terminal); got != termenv.ANSI256 {
		t.Errorf("xterm-256color: %s", got.Name())
	}
	t.Setenv("COLORTERM", "truecolor")
	if got := Profile(terminal); got != termenv.TrueColor {
		t.Errorf("truecolor: %s", got.Name())
	}
	t.Setenv("NO_COLOR", "1")
	if got := Profile(terminal); got != termenv.Ascii {
		t.Errorf("NO_COLOR: %s", got.Name())
	}
	t.Setenv("NO_COLOR", "")
	if got := Profile(&bytes.Buffer{}); got != termenv.Ascii {
		t.Errorf("not a terminal: %s", got.Name())
	}
}
