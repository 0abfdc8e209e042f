package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"os/signal"
	"path/filepath"
	"sync/atomic"
	"syscall"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/spf13/cobra"
	"golang.org/x/crypto/ssh"

	"foreshaft/store"
	"foreshaft/ui"
	"foreshaft/ui/serve"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// serveOptions is what the command line says about serving.
type serveOptions struct {
	workbook, listen, admitted, host, folder string
	sessions                                 int
	idle                                     time.Duration
	screen                                   bool
}

const (
	// signInTime is how long a connection may take to sign in and ask for a terminal.
	signInTime = 15 * time.Second
	// pingTime is how often a terminal is asked whether it is still there.
	pingTime = 30 * time.Second
	// partTime is how long terminals may take to leave when the server ends.
	partTime = 8 * time.Second
)

func serveCommand() *cobra.Command {
	var opt serveOptions
	c := &cobra.Command{
		Use:   "serve --authorized-keys FILE",
		Short: "Let terminals elsewhere use the workbook of this computer, over SSH",
		Long: "Let terminals elsewhere use the program over SSH, on the workbook of this computer: each has a bench of its own, and all share the drawer and what is saved. " +
			"There is nothing else to be had: no shell, no commands, no files, no forwarding.\n" +
			"Only those come in whose public keys are in the file, one a line as ssh-keygen writes them; its last word is what the others see. The file is read at each sign-in.\n" +
			"Whoever comes in sees and changes everything in the workbook, customers too. What a terminal writes to a file goes to a folder of this computer.\n" +
			"Exit status: 0 it was ended, 1 it could not serve, 2 the usage or the file of keys is wrong.",
		Example: "  foreshaft serve --authorized-keys counter-keys.pub\n" +
			"  foreshaft serve --listen 192.168.1.20:2222 --authorized-keys counter-keys.pub --screen\n" +
			"  ssh -p 2222 192.168.1.20        # at the other counter",
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error { return serveTerminals(c, opt) },
	}
	workbookFlag(c, &opt.workbook)
	c.Flags().StringVar(&opt.listen, "listen", "127.0.0.1:2222", "address and port; as it stands, only this computer can connect")
	c.Flags().StringVar(&opt.admitted, "authorized-keys", "", "the file of public keys that are admitted (needed)")
	c.Flags().StringVar(&opt.host, "host-key", "", "the private key of this computer, made where there is none (else foreshaft-host-key beside the workbook)")
	c.Flags().StringVar(&opt.folder, "folder", "", "where files of the terminals go and come from (else terminal-files beside the workbook)")
	c.Flags().IntVar(&opt.sessions, "sessions", 20, "how many terminals at once")
	c.Flags().DurationVar(&opt.idle, "idle", 12*time.Hour, "after how long without a key a terminal has to leave, its bench kept; 0 is never")
	fileFlag(c, "authorized-keys")
	fileFlag(c, "host-key")
	c.Flags().BoolVar(&opt.screen, "screen", false, "open the bench on this terminal too; leaving it does not end serving")
	return c
}

// check refuses what could not work, before anything is opened.
func (o serveOptions) check() error {
	switch {
	case o.admitted == "":
		return badInput{errors.New("name the file of the public keys that are admitted with --authorized-keys: without one nobody could come in, or anybody")}
	case o.sessions < 1 || o.sessions > 1000:
		return badInput{errors.New("--sessions takes 1 to 1000")}
	case o.idle < 0:
		return badInput{errors.New("--idle takes a time such as 30m or 12h, or 0")}
	}
	if _, err := serve.ReadKeys(o.admitted); err != nil {
		return badInput{err}
	}
	return nil
}

// serveTerminals serves until it is told to end.
func serveTerminals(c *cobra.Command, opt serveOptions) error {
	if err := opt.check(); err != nil {
		return err
	}
	var set *settings
	if opt.screen {
		var err error
		if set, err = screenSettings(""); err != nil {
			return err
		}
	}
	book, err := openBook(opt.workbook, store.Options{})
	if err != nil {
		return err
	}
	err = (&shop{serveOptions: opt, book: book, set: set, terminals: new(hub), command: c}).serve()
	return errors.Join(err, closeBook(book))
}

// shop is a workbook with the terminals that share it.
type shop struct {
	serveOptions
	book      *store.Workbook
	set       *settings // of this terminal, where it has the bench too
	terminals *hub
	command   *cobra.Command
	quiet     atomic.Bool // as long as the bench is on this terminal
}

func (s *shop) serve() error {
	beside := filepath.Dir(s.book.Path())
	if s.host == "" {
		s.host = filepath.Join(beside, "foreshaft-host-key")
	}
	if s.folder == "" {
		s.folder = filepath.Join(beside, "terminal-files")
	}
	key, err := serve.HostKey(s.host)
	if err != nil {
		return fmt.Errorf("the key of this computer: %w", err)
	}
	l, err := net.Listen("tcp", s.listen)
	if err != nil {
		return fmt.Errorf("nobody can connect: %w", err)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	server := serve.New(serve.Options{
		Keys: func() ([]serve.Key, error) { return serve.ReadKeys(s.admitted) },
		Host: key, Run: s.sit, Sessions: s.sessions, Idle: s.idle, SignIn: signInTime, Ping: pingTime, Patience: partTime, Log: s.log,
	})
	s.say("Serving %s on %s; host key %s", s.book.Path(), l.Addr(), ssh.FingerprintSHA256(key.PublicKey()))
	served := make(chan error, 1)
	go func() { served <- server.Serve(l) }()
	ui.CollectSeldom()
	if s.screen {
		s.quiet.Store(true)
		err = s.show(ctx)
		s.quiet.Store(false)
	}
	if err == nil {
		if s.screen && ctx.Err() == nil {
			s.say("Still serving on %s; Ctrl+C ends that.", l.Addr())
		}
		select {
		case <-ctx.Done():
		case err = <-served:
		}
	}
	stop() // a second signal ends the program at once
	parting, cancel := context.WithTimeout(context.Background(), partTime)
	defer cancel()
	server.Shutdown(parting, "The computer that serves is closing the program. Your bench is kept.")
	return err
}

// show has the bench on this terminal too.
func (s *shop) show(ctx context.Context) error {
	leave := make(chan string, 1)
	defer context.AfterFunc(ctx, func() { leave <- "" })()
	return show(s.book, s.set, s.terminals, leave)
}

// sit shows the program on a terminal elsewhere.
func (s *shop) sit(t *serve.Terminal) (goodbye string) {
	seat := s.book.Seat(t.Seat)
	set, err := settingsOfSeat(os.Getenv, seat, t)
	if err != nil {
		return readable(err)
	}
	sit := &sitting{
		name: t.Name, book: s.book, seat: &seat, set: set, folder: s.folder, screen: t, ground: groundOf(t, set),
		welcome: "Welcome. This bench is yours; drawer and what is saved are shared. T is a short tour, ? help, : any action.",
		options: []tea.ProgramOption{tea.WithInput(t), tea.WithOutput(t), tea.WithoutSignalHandler(), tea.WithEnvironment(append([]string{"TERM=" + t.Term}, t.Env...))},
		sizes:   t.Sizes, leave: t.Leave,
	}
	if err := sit.run(s.terminals); err != nil {
		s.log(t.Name + ": " + readable(err))
		return readable(err)
	}
	return "Your bench is kept."
}

// groundOf returns what suits a terminal's background as far as that is known, and asks the
// terminal where nobody has chosen: the answer comes when it comes.
func groundOf(t *serve.Terminal, set *settings) theme.Name {
	look := theme.Environ(append([]string{"TERM=" + t.Term}, t.Env...))
	switch {
	case look.Getenv("NO_COLOR") != "":
		return theme.Mono
	case set.choices.Theme == "" && theme.Asked(t.Term):
		_, _ = t.Write([]byte(theme.Question)) // a terminal that is gone is told of otherwise
	}
	if theme.Hint(look.Getenv("COLORFGBG")) {
		return theme.Dark
	}
	return theme.Light
}

// log tells what happens, unless the bench is on this terminal.
func (s *shop) log(line string) {
	if !s.quiet.Load() {
		s.say("%s %s", time.Now().Format("2006-01-02 15:04:05"), line)
	}
}

func (s *shop) say(format string, args ...any) {
	fmt.Fprintln(s.command.ErrOrStderr(), text.Guard(fmt.Sprintf(format, args...)))
}
