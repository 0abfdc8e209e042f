package main

import (
	"errors"
	"fmt"
	"os"
	"runtime/debug"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"golang.org/x/term"

	"foreshaft/store"
	"foreshaft/ui"
)

// screenOptions is what the command line says about the screen.
type screenOptions struct {
	workbook string
	theme    string
	anew     bool             // although there are backups of a workbook
	clock    func() time.Time // of the workbook; nil is the computer's
}

// errNoTerminal is what someone sees who starts the bench down a pipe.
var errNoTerminal = errors.New("the bench needs a terminal on standard input and output.\n" +
	"For figures through a pipe use: foreshaft figures FILE|- [--json]")

// unsaved says at the end that what was changed last is not kept.
type unsaved struct {
	path  string
	cause error // nil where the disk did not answer
}

func (e *unsaved) Error() string {
	if e.cause == nil {
		return "the last change may not be in " + e.path + ": the disk did not answer"
	}
	return fmt.Sprintf("what was changed since the screen said NOT SAVED is not in %s. %v", e.path, e.cause)
}

func (e *unsaved) Unwrap() error { return e.cause }

// openScreen runs the bench. Everything is wired together here.
func openScreen(opt screenOptions) error {
	set, err := screenSettings(opt.theme)
	if err != nil {
		return err
	}
	book, err := openBook(opt.workbook, store.Options{Clock: opt.clock, New: opt.anew})
	if err != nil {
		return err
	}
	err = show(book, set, new(hub), nil, nil)
	if lost := (*unsaved)(nil); errors.As(err, &lost) && lost.cause == nil {
		fmt.Fprintln(os.Stderr, "foreshaft: waiting for the disk; Ctrl+C ends at once")
	}
	return errors.Join(err, closeBook(book))
}

// screenSettings reads the settings for the bench on this terminal, and refuses where there is
// none that can show it. A theme goes before the one chosen.
func screenSettings(look string) (*settings, error) {
	if !term.IsTerminal(int(os.Stdin.Fd())) || !term.IsTerminal(int(os.Stdout.Fd())) {
		return nil, badInput{errNoTerminal}
	}
	if os.Getenv("TERM") == "dumb" {
		return nil, badInput{errors.New("this terminal (TERM=dumb) cannot place text on a screen.\nFor figures as plain lines use: foreshaft figures FILE|- [--json]")}
	}
	return readSettings(os.Getenv, look)
}

// closeBook closes a workbook and tells what went wrong beside the work. The screen told it
// with the next change; there may have been none.
func closeBook(book *store.Workbook) error {
	err := book.Close()
	for _, trouble := range book.Troubles() {
		fmt.Fprintln(os.Stderr, "foreshaft:", readable(trouble))
	}
	return err
}

// here is what other terminals call the computer that the workbook is on.
const here = "the computer that serves"

// show runs the program on this terminal until the user leaves, or has to: leave gets why.
func show(book *store.Workbook, set *settings, terminals *hub, about []string, leave <-chan string) error {
	ui.CollectSeldom()
	s := &sitting{name: here, book: book, set: set, about: about, ground: set.ground(), heard: set.heard, screen: os.Stdout, leave: leave,
		welcome: "Welcome. Bow, builds and parts here are invented samples. T is a short tour, ? help, : any action, X clears."}
	if leave != nil { // whoever sends there takes the signals
		s.options = append(s.options, tea.WithoutSignalHandler())
	}
	return s.run(terminals)
}

// version returns the version of the program: see versionOf.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	return versionOf(info)
}

// versionOf returns the module version, the revision it was built from where the
// version does not end with it, and +changes when more than that was built.
func versionOf(info *debug.BuildInfo) string {
	words := []string{strings.Trim(strings.TrimSuffix(info.Main.Version, "+dirty"), "()")}
	for _, s := range info.Settings {
		switch revision := s.Value[:min(12, len(s.Value))]; {
		case s.Key == "vcs.revision" && !strings.HasSuffix(words[0], revision):
			words = append(words, revision)
		case s.Key == "vcs.modified" && s.Value == "true":
			words = append(words, "+changes")
		}
	}
	return strings.TrimSpace(strings.Join(words, " "))
}
