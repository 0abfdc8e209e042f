package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"foreshaft/ui/uitest"
)

// program is the path of the binary under test, built once for all tests.
var program string

// programVariable names the binary where it is built already.
const programVariable = "FORESHAFT_TEST_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(steppingVariable) != "" {
		if err := openScreen(screenOptions{workbook: os.Args[1], clock: steppingClock()}); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	if program = os.Getenv(programVariable); program != "" {
		os.Exit(m.Run())
	}
	dir, err := os.MkdirTemp("", "foreshaft-test")
	if err == nil {
		program, err = uitest.Build(dir)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	code := m.Run()
	_ = os.RemoveAll(dir)
	os.Exit(code)
}

// result is what a run without a terminal left.
type result struct {
	stdout, stderr string
	code           int
}

// runPlain runs the program with pipes in place of a terminal.
func runPlain(t testing.TB, stdin string, env []string, args ...string) result {
	t.Helper()
	cmd := exec.Command(program, args...)
	var stdout, stderr bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = strings.NewReader(stdin), &stdout, &stderr
	home := t.TempDir()
	cmd.Dir = home
	cmd.Env = append([]string{"PATH=" + os.Getenv("PATH"), "HOME=" + home, "LANG=C.UTF-8", "TERM=xterm-256color"}, env...)
	err := cmd.Run()
	var ended *exec.ExitError
	if err != nil && !errors.As(err, &ended) {
		t.Fatal(err)
	}
	return result{stdout.String(), stderr.String(), cmd.ProcessState.ExitCode()}
}

// refused fails unless a run ended with that status, a sentence on standard
// error and nothing on standard output.
func (r result) refused(t testing.TB, code int, says ...string) {
	t.Helper()
	if r.code != code || r.stdout != "" {
		t.Errorf("ended with %d and wrote %q, want %d and nothing\n%s", r.code, r.stdout, code, r.stderr)
	}
	if strings.ContainsRune(r.stdout+r.stderr, '\x1b') {
		t.Errorf("an escape byte: %q", r.stdout+r.stderr)
	}
	said := strings.TrimPrefix(r.stderr, "foreshaft: ")
	if said == r.stderr || len(said) < 20 || !strings.HasSuffix(said, "\n") || strings.Contains(said, "goroutine") {
		t.Errorf("it says %q, want a sentence", r.stderr)
	}
	for _, word := range says {
		if !strings.Contains(said, word) {
			t.Errorf("it does not say %q: %s", word, said)
		}
	}
}

// TestScripts runs the command lines under testdata/script. They know one more
// command: runs STATUS ARGUMENT... runs the program and checks how it ended.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("testdata", "script"),
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"runs": func(ts *testscript.TestScript, neg bool, args []string) {
				if neg || len(args) == 0 {
					ts.Fatalf("usage: runs STATUS ARGUMENT...")
				}
				want, err := strconv.Atoi(args[0])
				ts.Check(err)
				got := 0
				var ended *exec.ExitError
				if err := ts.Exec(program, args[1:]...); errors.As(err, &ended) {
					got = ended.ExitCode()
				} else {
					ts.Check(err)
				}
				if got != want {
					ts.Fatalf("ended with %d, want %d", got, want)
				}
			},
		},
		Setup: func(env *testscript.Env) error {
			for _, name := range []string{"example.json", "full.json"} {
				data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "jobs", name))
				if err != nil {
					return err
				}
				if err := os.WriteFile(filepath.Join(env.WorkDir, name), data, 0o600); err != nil {
					return err
				}
			}
			env.Setenv("HOME", env.WorkDir)
			return nil
		},
	})
}
