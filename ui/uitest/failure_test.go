package uitest

import (
	"fmt"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

// listener stands in for a test and keeps the message of its failure.
type listener struct {
	testing.TB
	message string
}

func (l *listener) Helper() {}

func (l *listener) Fatalf(format string, args ...any) {
	l.message = fmt.Sprintf(format, args...)
	runtime.Goexit()
}

// failure runs steps, which must fail, and returns the message.
func failure(t *testing.T, steps func(t testing.TB)) string {
	t.Helper()
	l := &listener{TB: t}
	done := make(chan struct{})
	go func() {
		defer close(done)
		steps(l)
	}()
	<-done
	if l.message == "" {
		t.Fatal("it did not fail")
	}
	return l.message
}

func contains(t *testing.T, message string, wants ...string) {
	t.Helper()
	for _, want := range wants {
		if !strings.Contains(message, want) {
			t.Errorf("no %q in the message:\n%s", want, message)
		}
	}
}

func TestWaitingTooLongShowsTheScreen(t *testing.T) {
	patient := Options{Patience: 300 * time.Millisecond, Cols: 30, Rows: 3}
	message := failure(t, func(t testing.TB) {
		shell(t, `echo here instead; read -r line`, patient).WaitFor("something")
	})
	contains(t, message, "waited 300ms", "«something»", "|here instead\n", "+------")

	message = failure(t, func(t testing.TB) {
		x := shell(t, `echo stays; read -r line`, patient)
		x.WaitFor("stays")
		x.WaitGone("stays")
	})
	contains(t, message, "to lose «stays»", "|stays\n")

	message = failure(t, func(t testing.TB) {
		shell(t, `echo abc; read -r line`, patient).WaitMatch(`\d+`)
	})
	contains(t, message, `match «\d+»`, "|abc\n")

	message = failure(t, func(t testing.TB) {
		shell(t, `echo busy; read -r line`, patient).Wait()
	})
	contains(t, message, "the program to end", "|busy\n")
}

func TestWaitingForAnEndedProgramFailsAtOnce(t *testing.T) {
	before := time.Now()
	message := failure(t, func(t testing.TB) {
		shell(t, `echo last words`, Options{Patience: time.Minute}).WaitFor("more")
	})
	contains(t, message, "the program ended", "|last words\n")
	if took := time.Since(before); took > 20*time.Second {
		t.Errorf("took %v", took)
	}
}

func TestOtherFailuresSayWhat(t *testing.T) {
	contains(t, failure(t, func(t testing.TB) {
		Start(t, Options{Path: "/no/such/program"})
	}), "/no/such/program")
	contains(t, failure(t, func(t testing.TB) {
		shell(t, `exit`, Options{}).WaitMatch("(")
	}), "missing closing )")
	contains(t, failure(t, func(t testing.TB) {
		x := shell(t, `exit`, Options{})
		x.Wait()
		x.Kill(os.Interrupt)
	}), "signal interrupt")
	contains(t, failure(t, func(t testing.TB) {
		x := shell(t, `exit`, Options{})
		x.Close()
		x.Send("a")
	}), `send "a"`)
}

func TestBuild(t *testing.T) {
	module := t.TempDir()
	write := func(name, content string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(module, name), []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("go.mod", "module tiny\n\ngo 1.26\n")
	write("main.go", "package main\n\nfunc main() { println(\"built\") }\n")
	path, err := build(module, "tiny", t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(path).CombinedOutput()
	if err != nil || string(out) != "built\n" {
		t.Errorf("the binary prints %q, %v", out, err)
	}

	write("main.go", "package main\n\nfunc main() { undefinedName() }\n")
	if _, err := build(module, "tiny", t.TempDir()); err == nil {
		t.Error("broken source was built")
	} else {
		contains(t, err.Error(), "build tiny", "undefinedName")
	}
}

// TestOnlyTestsImportThis looks at every other source file of the module.
func TestOnlyTestsImportThis(t *testing.T) {
	checked := 0
	err := filepath.WalkDir("../..", func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() && entry.Name() == ".git" {
			return fs.SkipDir
		}
		if entry.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, spec := range file.Imports {
			if strings.Trim(spec.Path.Value, `"`) == "foreshaft/ui/uitest" {
				t.Errorf("%s imports the test harness", path)
			}
		}
		checked++
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if checked < 3 {
		t.Errorf("only %d files were looked at", checked)
	}
}
