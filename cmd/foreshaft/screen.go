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
	"foreshaft/ui/bench"
)

// screenOptions is what the command line says about the screen.
type screenOptions struct {
	workbook string
	theme    string
	clock    func() time.Time // of the workbook; nil is the computer's
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
	set, err := readSettings(os.Getenv, opt.theme)
	if err != nil {
		return err
	}
	book, err := openBook(opt.workbook, opt.clock)
	if err != nil {
		return err
	}
	err = show(book, set)
	if errors.Is(err, errUnsaved) {
		fmt.Fprintln(os.Stderr, "foreshaft: waiting for the disk; Ctrl+C ends at once")
	}
	err = errors.Join(err, book.Close())
	// What went wrong beside the work, such as a backup that failed, is told on the screen
	// with the next change; there may have been none.
	for _, trouble := range book.Troubles() {
		fmt.Fprintln(os.Stderr, "foreshaft:", readable(trouble))
	}
	return err
}

// show runs the program on an open workbook until the user leaves.
func show(book *store.Workbook, set *settings) error {
	kept, err := book.LoadBench()
	if err != nil {
		return err
	}
	drawer, err := book.Parts()
	if err != nil {
		return err
	}
	opt := ui.Options{
		Keeper: &keeper{book: book, set: set}, View: kept.View, Trouble: set.trouble(),
		Bench: bench.Options{
			Keys: set.keys, Paint: set.paint, Ground: set.ground(), Choices: set.choices, About: set.about(),
			Job: kept.Job, Drawer: drawer, Samples: store.SampleBench(),
		},
	}
	if book.Fresh() {
		opt.Welcome = "Welcome. Bow, builds and parts here are invented samples. T is a short tour, ? help, : any action, X clears."
	}
	opt.Heard = set.heard
	// Some locales count ± ─ │ ½ as two cells, which no common font draws so.
	runewidth.DefaultCondition.EastAsianWidth = false
	ui.CollectSeldom()
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
