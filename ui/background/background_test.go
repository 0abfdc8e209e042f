package background_test

import (
	"bytes"
	"fmt"
	"go/parser"
	"go/token"
	"os"
	"strconv"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	_ "foreshaft/ui/background"
	"foreshaft/ui/uitest"
)

const (
	selfPath      = "foreshaft/ui/background"
	frameworkPath = "github.com/charmbracelet/bubbletea"
	childVariable = "FORESHAFT_BACKGROUND_CHILD"
)

// TestMain lets the test binary, which links the framework, stand in for the
// program: with the variable set it prints one line and ends.
func TestMain(m *testing.M) {
	if os.Getenv(childVariable) != "" {
		fmt.Printf("started, key type %d\n", tea.KeyEnter)
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func TestStartsAtOnceInATerminalThatNeverAnswers(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	before := time.Now()
	terminal := uitest.Start(t, uitest.Options{
		Path: self, SilentTerminal: true,
		// A binary built with the race detector would otherwise wait a second
		// at its end.
		Env: []string{childVariable + "=1", "GORACE=atexit_sleep_ms=0"},
	})
	if code := terminal.Wait(); code != 0 {
		t.Fatalf("the child ended with %d", code)
	}
	if took := time.Since(before); took > 2*time.Second {
		// Milliseconds as a rule, and five seconds when the framework asks.
		t.Errorf("the child took %v, want at most 2 s", took)
	}
	raw := terminal.Raw()
	if !bytes.Contains(raw, []byte("started")) {
		t.Errorf("the child printed %q", raw)
	}
	if bytes.ContainsRune(raw, '\x1b') {
		t.Errorf("the child wrote an escape byte: %q", raw)
	}
}

func TestStaysALeafThatIsInitialisedFirst(t *testing.T) {
	if selfPath >= frameworkPath {
		t.Errorf("%s does not sort before %s", selfPath, frameworkPath)
	}
	file, err := parser.ParseFile(token.NewFileSet(), "background.go", nil, parser.ImportsOnly)
	if err != nil {
		t.Fatal(err)
	}
	for _, spec := range file.Imports {
		path, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			t.Fatal(err)
		}
		if path != "github.com/charmbracelet/lipgloss" {
			t.Errorf("imports %s; it may import lipgloss only", path)
		}
	}
}
