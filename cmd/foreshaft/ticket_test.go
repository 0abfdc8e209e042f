package main

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/creack/pty"
)

// The bytes of a PDF would drive a terminal: they are not sent there.
func TestNoPDFToATerminal(t *testing.T) {
	home := t.TempDir()
	file, err := filepath.Abs(filepath.Join("..", "..", "testdata", "jobs", "example.json"))
	if err != nil {
		t.Fatal(err)
	}
	for format, refused := range map[string]bool{"pdf": true, "text": false} {
		cmd := exec.Command(program, "ticket", "--job", file, "--format", format)
		cmd.Dir, cmd.Env = home, []string{"PATH=" + os.Getenv("PATH"), "HOME=" + home, "LANG=C.UTF-8", "TERM=xterm-256color"}
		terminal, err := pty.Start(cmd)
		if err != nil {
			t.Fatal(err)
		}
		said, _ := io.ReadAll(terminal) // which ends with an error when the program does
		code := 0
		if err := cmd.Wait(); err != nil {
			code = cmd.ProcessState.ExitCode()
		}
		_ = terminal.Close()
		if (code == wrongFile) != refused || strings.Contains(string(said), "%PDF") || strings.Contains(string(said), "send it to a file") != refused {
			t.Errorf("%s at a terminal ends with %d and %q", format, code, said)
		}
	}
}
