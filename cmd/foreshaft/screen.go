package main

import (
	"errors"
	"fmt"
	"os"
	"runtime/debug"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/mattn/go-runewidth"
	"golang.org/x/term"

	"foreshaft/store"
	"foreshaft/ui"
	"foreshaft/ui/theme"
)

// screenOptions is what the command line says about the screen.
type screenOptions struct {
	workbook string
	theme    string
}

// errNoTerminal is what someone sees who starts the bench down a pipe.
var errNoTerminal = errors.New("the bench needs a terminal on standard input and output.\n" +
	"For figures through a pipe use: foreshaft figures FILE|- [--json]")

var errUnsaved = errors.New("the last change may not be on disk: the disk did not take it")

// openScreen runs the bench. Everything is wired together here.
func openScreen(opt screenOptions) error {
	if !term.IsTerminal(int(os.Stdin.Fd())) || !term.IsTerminal(int(os.Stdout.Fd())) {
		return badInput{errNoTerminal}
	}
	if os.Getenv("TERM") == "dumb" {
		return badInput{errors.New("this terminal (TERM=dumb) cannot place text on a screen.\nFor figures as plain lines use: foreshaft figures FILE|- [--json]")}
	}
	look, err := chooseTheme(opt.theme)
	if err != nil {
		return err
	}
	path := opt.workbook
	if path == "" {
		if path, err = store.DefaultPath(os.Getenv); err != nil {
			return err
		}
	}
	book, err := store.Open(path, store.Options{Clock: time.Now, Program: "foreshaft " + version()})
	if err != nil {
		return err
	}
	err = show(book, look)
	if errors.Is(err, errUnsaved) {
		fmt.Fprintln(os.Stderr, "foreshaft: waiting for the disk; Ctrl+C ends at once")
	}
	err = errors.Join(err, book.Close())
	// What went wrong beside the work, such as a backup that failed, has no
	// place on the screen: it comes to light while that is in use.
	for _, trouble := range book.Troubles() {
		fmt.Fprintln(os.Stderr, "foreshaft:", trouble)
	}
	return err
}

// show runs the program on an open workbook until the user leaves.
func show(book *store.Workbook, look *theme.Theme) error {
	kept, err := book.LoadBench()
	if err != nil {
		return err
	}
	drawer, err := book.Parts()
	if err != nil {
		return err
	}
	opt := ui.Options{Keeper: keeper{book}, Theme: look, Job: kept.Job, View: kept.View, Drawer: drawer, Samples: store.SampleBench()}
	if book.Fresh() {
		opt.Welcome = "Welcome. Bow, builds and parts here are invented samples: press + to change a part, ? for help, X to clear."
	}
	// Some locales count ± ─ │ ½ as two cells, which no common font draws so.
	runewidth.DefaultCondition.EastAsianWidth = false
	app := ui.New(opt)
	program := tea.NewProgram(app, tea.WithAltScreen(), tea.WithFPS(120))
	if _, err = program.Run(); err != nil && !errors.Is(err, tea.ErrInterrupted) {
		return fmt.Errorf("the screen stopped: %w", err)
	}
	if app.Unsaved() {
		return errUnsaved
	}
	return nil
}

// chooseTheme takes the theme asked for, else the one that suits the terminal.
func chooseTheme(name string) (*theme.Theme, error) {
	profile := theme.Profile(os.Stdout)
	if name != "" {
		n, err := theme.ParseName(name)
		if err != nil {
			return nil, badInput{err}
		}
		return theme.New(n, profile), nil
	}
	if os.Getenv("NO_COLOR") != "" {
		return theme.New(theme.Mono, profile), nil
	}
	wait := theme.AskWait
	if os.Getenv("SSH_CONNECTION") != "" {
		wait = theme.AskWaitAfar
	}
	dark, _ := theme.AskBackground(os.Stdin, os.Stdout, wait)
	if dark {
		return theme.New(theme.Dark, profile), nil
	}
	return theme.New(theme.Light, profile), nil
}

// version returns the module version and the revision it was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	words := []string{strings.Trim(info.Main.Version, "()")}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			words = append(words, s.Value[:min(12, len(s.Value))])
		}
	}
	return strings.Join(words, " ")
}
