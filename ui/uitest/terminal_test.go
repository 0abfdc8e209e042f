package uitest

import (
	"bytes"
	"image/color"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"
)

// shell runs a script in a terminal.
func shell(t testing.TB, script string, opt Options) *Terminal {
	t.Helper()
	opt.Path, opt.Args = "/bin/sh", []string{"-c", script}
	return Start(t, opt)
}

func TestScreenIsAsManyLinesAsTheTerminal(t *testing.T) {
	x := shell(t, `printf 'one  \r\n  two 日本\r\n'`, Options{Cols: 20, Rows: 4})
	if code := x.Wait(); code != 0 {
		t.Fatalf("ended with %d", code)
	}
	if got, want := x.Screen(), "one\n  two 日本\n\n"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestScreenFollowsTheCursorAndRawDoesNot(t *testing.T) {
	x := shell(t, `printf 'wrong\033[1;1Hright\033[31m!\033[0m'`, Options{})
	x.Wait()
	if got, want := strings.TrimRight(x.Screen(), "\n"), "right!"; got != want {
		t.Errorf("the screen shows %q, want %q", got, want)
	}
	if got, want := string(x.Raw()), "wrong\x1b[1;1Hright\x1b[31m!\x1b[0m"; got != want {
		t.Errorf("raw is %q, want %q", got, want)
	}
}

func TestTheCursorIsWhereTheProgramWritesNext(t *testing.T) {
	x := shell(t, `printf 'one\r\ntwo 日\033[5;3H'; read -r line; printf 'here'; read -r line`, Options{Cols: 20, Rows: 8})
	x.WaitFor("two 日")
	x.WaitUntil("the cursor to be placed", func(string) bool {
		col, row := x.Cursor()
		return col == 2 && row == 4
	})
	x.Send("\r")
	x.WaitFor("here")
	if _, row := x.Cursor(); row == 4 {
		t.Error("the cursor is where it was before the line ended")
	}
}

func TestWaitReturnsTheExitCode(t *testing.T) {
	if code := shell(t, `exit 7`, Options{}).Wait(); code != 7 {
		t.Errorf("code %d, want 7", code)
	}
}

func TestWaitHasTheLastOutput(t *testing.T) {
	// Far more than the kernel keeps for a terminal, so reading must go on
	// after the program has ended.
	x := shell(t, `i=0; while [ $i -lt 2000 ]; do echo "line $i"; i=$((i+1)); done`, Options{})
	x.Wait()
	if got := bytes.Count(x.Raw(), []byte("\n")); got != 2000 {
		t.Errorf("%d lines, want 2000", got)
	}
	if !strings.Contains(x.Screen(), "line 1999") {
		t.Errorf("the last line is missing:\n%s", x.Screen())
	}
}

func TestKill(t *testing.T) {
	x := shell(t, `echo ready; exec cat`, Options{})
	x.WaitFor("ready")
	x.Kill(syscall.SIGTERM)
	if code := x.Wait(); code != 128+int(syscall.SIGTERM) {
		t.Errorf("code %d, want %d", code, 128+int(syscall.SIGTERM))
	}
}

func TestTypeReachesTheProgram(t *testing.T) {
	x := shell(t, `read line; echo "got [$line]"`, Options{})
	x.Type("75 gr ½ 日")
	x.Send("\r")
	if screen := x.WaitFor("got ["); !strings.Contains(screen, "got [75 gr ½ 日]") {
		t.Errorf("screen:\n%s", screen)
	}
}

func TestSendIsOneWrite(t *testing.T) {
	// A terminal in raw mode hands one read what one write brought.
	x := shell(t, `stty raw -echo; printf ready; dd bs=64 count=1 2>/dev/null | od -An -c`, Options{})
	x.WaitFor("ready")
	x.Send("\x1b[A")
	x.WaitMatch(`033 +\[ +A`)
}

func TestResizeTellsTheEmulatorAndTheProgram(t *testing.T) {
	x := shell(t, `while read -r line; do stty size; done`, Options{Cols: 80, Rows: 24})
	x.Send("\r")
	x.WaitFor("24 80")
	x.Resize(61, 17)
	x.Send("\r")
	screen := x.WaitFor("17 61")
	if got := strings.Count(screen, "\n") + 1; got != 17 {
		t.Errorf("the screen has %d lines, want 17", got)
	}
}

func TestResizeToNothingIsPassedOn(t *testing.T) {
	x := shell(t, `stty -echo; echo ready; read -r line; size=$(stty size); printf x; read -r line; echo "was [$size]"`, Options{})
	x.WaitFor("ready")
	x.Resize(0, 0)
	x.Send("\r")
	x.WaitFor("x")
	x.Resize(30, 5)
	x.Send("\r")
	x.WaitFor("was [0 0]")
}

func TestResizeSignalsTheProgram(t *testing.T) {
	x := shell(t, `trap 'stty size; exit' WINCH; echo ready; while :; do read -r line; done`, Options{})
	x.WaitFor("ready")
	x.Resize(66, 22)
	x.WaitFor("22 66")
}

func TestWaitGone(t *testing.T) {
	x := shell(t, `printf 'thinking'; read -r line; printf '\033[2J\033[Hdone'; read -r line`, Options{})
	x.WaitFor("thinking")
	x.Send("\r")
	if screen := x.WaitGone("thinking"); strings.Contains(screen, "thinking") {
		t.Errorf("screen:\n%s", screen)
	}
	x.WaitFor("done")
}

// attributes asks the terminal for its device attributes, in raw mode, and
// prints the first bytes of the reply or that none came within 0.3 s.
const attributes = `stty raw -echo min 0 time 3; printf '\033[c'
	reply=$(dd bs=64 count=1 2>/dev/null | tr -d '\033')
	if [ -n "$reply" ]; then printf 'reply %s' "$reply"; else printf 'silence'; fi`

func TestQuestionsAreAnswered(t *testing.T) {
	x := shell(t, attributes, Options{})
	x.WaitMatch(`reply \[\?[0-9;]+c`)
}

func TestSilentTerminalAnswersNothing(t *testing.T) {
	x := shell(t, attributes, Options{SilentTerminal: true})
	x.WaitFor("silence")
}

func TestManyQuestionsDoNotBlock(t *testing.T) {
	// The answers are several times what the kernel keeps for a program that
	// does not read.
	const ask = `i=0; while [ $i -lt 3000 ]; do printf '\033[c'; i=$((i+1)); done; printf 'through'; `
	for name, c := range map[string]struct {
		script string
		opt    Options
	}{
		"read":     {`exec 3<&0; cat <&3 >/dev/null & ` + ask + `wait`, Options{}},
		"not read": {ask + `exec sleep 60 </dev/null`, Options{}},
		"silent":   {ask, Options{SilentTerminal: true}},
	} {
		t.Run(name, func(t *testing.T) {
			x := shell(t, `stty raw -echo; `+c.script, c.opt)
			x.WaitFor("through")
			before := time.Now()
			x.Close()
			if took := time.Since(before); took > 5*time.Second {
				t.Errorf("closing took %v", took)
			}
		})
	}
}

func TestBackgroundIsWhatTheTerminalSays(t *testing.T) {
	x := shell(t, `stty raw -echo; printf '\033]11;?\033\\'; dd bs=64 count=1 2>/dev/null | tr -d '\033'`,
		Options{Background: color.RGBA{0xf4, 0xf1, 0xea, 0xff}})
	x.WaitFor("]11;rgb:f4f4/f1f1/eaea")
}

func TestEnvironmentIsSmallAndOwn(t *testing.T) {
	t.Setenv("FORESHAFT_LEAK", "leak")
	x := shell(t, `env; for d in "$HOME" "$XDG_CONFIG_HOME" "$XDG_DATA_HOME" "$XDG_STATE_HOME" "$XDG_CACHE_HOME"; do
		[ -d "$d" ] && [ -w "$d" ] || echo "missing $d"; done; [ "$(pwd -P)" = "$(cd "$HOME" && pwd -P)" ] && echo at home`,
		Options{Env: []string{"EXTRA=1", "TERM=xterm"}, Cols: 300})
	x.Wait()
	env := string(x.Raw())
	for _, want := range []string{"TERM=xterm\r", "LANG=C.UTF-8", "EXTRA=1", "at home", "HOME=" + os.TempDir()} {
		if !strings.Contains(env, want) {
			t.Errorf("no %q in\n%s", want, env)
		}
	}
	for _, unwanted := range []string{"FORESHAFT_LEAK", "missing", "HOME=" + os.Getenv("HOME") + "\r"} {
		if strings.Contains(env, unwanted) {
			t.Errorf("%q in\n%s", unwanted, env)
		}
	}
}

func TestDirIsTheWorkingFolder(t *testing.T) {
	x := shell(t, `pwd -P`, Options{Dir: "/"})
	x.Wait()
	if got := strings.TrimSpace(x.Screen()); got != "/" {
		t.Errorf("runs in %q", got)
	}
}

func TestCloseEndsWhateverRuns(t *testing.T) {
	x := shell(t, `trap '' HUP TERM; echo "pid $$"; while :; do read -r line; done`, Options{})
	x.WaitFor("pid ")
	before := time.Now()
	x.Close()
	x.Close()
	if took := time.Since(before); took > 5*time.Second {
		t.Errorf("closing took %v", took)
	}
	if p, err := os.FindProcess(x.cmd.Process.Pid); err == nil && p.Signal(syscall.Signal(0)) == nil {
		t.Error("the program still runs")
	}
	if !strings.Contains(x.Screen(), "pid ") {
		t.Error("the screen is gone")
	}
}
