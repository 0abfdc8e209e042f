package main

import (
	"errors"
	"fmt"
	"io"
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

	ground  theme.Name // what suits the terminal's background
	heard   string     // see ui.Options
	welcome string     // for whoever sits here for the first time
	options []tea.ProgramOption
	sizes   <-chan serve.Size // nil where the framework finds the size itself
	leave   <-chan string     // why the program has to end, nil where nothing else ends it
}

// How long a program that has to end may take to keep everything, before it is told again, so
// that it ends without what the disk did not take, and before it is stopped.
const (
	leaveAgain = 4 * time.Second
	leaveNow   = 6 * time.Second
)

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
	app, err := s.app(others)
	if err == nil {
		program = tea.NewProgram(app, append([]tea.ProgramOption{tea.WithAltScreen(), tea.WithFPS(120)}, s.options...)...)
	}
	close(ready)
	if err != nil {
		return err
	}
	ended := make(chan struct{})
	defer close(ended)
	go s.watch(program, ended)
	if _, err = program.Run(); err != nil && !errors.Is(err, tea.ErrInterrupted) {
		err = fmt.Errorf("the screen stopped: %w", err)
	} else if err = nil; app.Unsaved() {
		err = &unsaved{s.book.Path(), app.Failure()}
	}
	return err
}

// app returns the program with the bench as it was left.
func (s *sitting) app(others *member) (*ui.App, error) {
	k := &keeper{book: s.book, seat: s.seat, set: s.set, others: others, screen: s.screen, folder: s.folder}
	kept, fresh, err := k.load()
	if err != nil {
		return nil, err
	}
	drawer, err := s.book.Parts()
	if err != nil {
		return nil, err
	}
	opt := ui.Options{
		Keeper: k, View: kept.View, Trouble: s.set.trouble(), Heard: s.heard,
		Bench: bench.Options{
			Keys: s.set.keys, Paint: s.set.paint, Ground: s.ground, Choices: s.set.choices, About: append([]string{"The workbook is " + s.book.Path() + "."}, s.set.about()...),
			Job: kept.Job, Drawer: drawer, Samples: store.SampleBench(),
		},
	}
	if fresh {
		opt.Welcome = s.welcome
	}
	return ui.New(opt), nil
}

// watch tells the program its size where that comes from elsewhere, and when it has to end.
func (s *sitting) watch(program *tea.Program, ended <-chan struct{}) {
	var again, now <-chan time.Time
	for {
		select {
		case size := <-s.sizes:
			program.Send(tea.WindowSizeMsg{Width: size.Cols, Height: size.Rows})
		case why := <-s.leave:
			program.Send(ui.Leave{Why: why})
			again, now = time.After(leaveAgain), time.After(leaveNow)
		case <-again:
			program.Send(ui.Leave{})
		case <-now:
			program.Kill()
		case <-ended:
			return
		}
	}
}
