package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/store"
	"foreshaft/ui"
	"foreshaft/ui/bench"
	"foreshaft/ui/serve"
	"foreshaft/ui/theme"
)

// sitting is the program on one terminal, from when somebody sits down there.
type sitting struct {
	name   string // what other terminals call this one
	book   *store.Workbook
	seat   *store.Seat // nil has the workbook's own bench
	set    *settings
	folder string // see keeper
	screen io.Writer

	about   []string   // more of what to know, beside the settings
	ground  theme.Name // what suits the terminal's background
	heard   string     // see ui.Options
	welcome string     // for whoever sits here for the first time, or always with greet
	greet   bool
	why     string // it had to end
	options []tea.ProgramOption
	sizes   <-chan serve.Size // nil where the framework finds the size itself
	leave   <-chan string     // why the program has to end, nil where nothing else ends it
}

// How long a program that has to end may take to keep everything, before it is told again, so
// that it ends without what the disk did not take, before it is stopped, and before it is left
// behind: a terminal that takes no output holds it up for ever.
const (
	leaveAgain  = 4 * time.Second
	leaveNow    = 6 * time.Second
	leaveBehind = 8 * time.Second
)

var errLeftBehind = errors.New("the terminal did not take what was to be shown, and was left behind")

// run shows the program until it ends.
func (s *sitting) run(terminals *hub) error {
	var program *tea.Program
	ready := make(chan struct{})
	// Before the bench is read: nothing may take part that an erase would not look through.
	others := terminals.join(s.name, func(what ui.Elsewhere) {
		if <-ready; program != nil {
			program.Send(what)
		}
	})
	defer others.leave()
	app, keeper, err := s.app(others)
	if err == nil {
		program = tea.NewProgram(app, append([]tea.ProgramOption{tea.WithAltScreen(), tea.WithFPS(120)}, s.options...)...)
	}
	close(ready)
	if err != nil {
		return err
	}
	// What is on its way to the disk gets there before anybody else has the seat.
	defer keeper.gate.close()
	ended := make(chan error, 1)
	go func() {
		_, err := program.Run()
		ended <- err
	}()
	if err = s.watch(program, ended); errors.Is(err, errLeftBehind) {
		return err
	}
	app.End()
	if err != nil && !errors.Is(err, tea.ErrInterrupted) {
		return fmt.Errorf("the screen stopped: %w", err)
	}
	if app.Unsaved() {
		return &unsaved{s.book.Path(), app.Failure()}
	}
	return nil
}

// app returns the program with the bench as it was left.
func (s *sitting) app(others *member) (*ui.App, *keeper, error) {
	k := &keeper{book: s.book, seat: s.seat, set: s.set, others: others, screen: s.screen, folder: s.folder}
	if s.seat != nil { // what went wrong before somebody came in was told elsewhere
		k.told = len(s.book.Troubles())
	}
	kept, fresh, err := k.load()
	if err != nil {
		return nil, nil, err
	}
	drawer, err := s.book.Parts()
	if err != nil {
		return nil, nil, err
	}
	opt := ui.Options{
		Keeper: k, View: kept.View, Trouble: s.set.trouble(), Heard: s.heard,
		Bench: bench.Options{
			Keys: s.set.keys, Paint: s.set.paint, Ground: s.ground, Choices: s.set.choices, About: slices.Concat([]string{"The workbook is " + s.book.Path() + "."}, s.about, s.set.about()),
			Job: kept.Job, Drawer: drawer, Samples: store.SampleBench(),
		},
	}
	if fresh || s.greet {
		opt.Welcome = s.welcome
	}
	return ui.New(opt), k, nil
}

// watch waits until the program has ended, and tells it its size where that comes from elsewhere,
// and when it has to end. A program that is held up takes no messages, so nothing here waits
// for that.
func (s *sitting) watch(program *tea.Program, ended <-chan error) error {
	over := make(chan struct{})
	defer close(over)
	go func() {
		for {
			select {
			case size := <-s.sizes:
				program.Send(tea.WindowSizeMsg{Width: size.Cols, Height: size.Rows})
			case <-over:
				return
			}
		}
	}()
	var again, now, behind <-chan time.Time
	for {
		select {
		case why := <-s.leave:
			s.why = why
			go program.Send(ui.Leave{Why: why})
			again, now, behind = time.After(leaveAgain), time.After(leaveNow), time.After(leaveBehind)
		case <-again:
			go program.Send(ui.Leave{})
		case <-now:
			go program.Kill()
		case <-behind:
			return errLeftBehind
		case err := <-ended:
			return err
		}
	}
}
