package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync"
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
			"Only those come in whose public keys are in the file, one a line as ssh-keygen writes them; its last words are what the others see. The file is read at each sign-in.\n" +
			"Whoever comes in sees and changes everything in the workbook, customers too. What a terminal writes to a file goes to a folder of this computer.\n" +
			"Exit status: 0 it was ended, 1 it could not serve, 2 the usage or the file of keys is wrong.",
		Example: "  foreshaft serve --authorized-keys counter-keys.pub\n" +
			"  foreshaft serve --listen 192.168.1.20:2222 --authorized-keys counter-keys.pub --screen\n" +
			"  ssh -t -p 2222 192.168.1.20     # at the other counter",
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
		return badInput{errors.New("name the file of the public keys that are admitted with --authorized-keys: nobody comes in without a key")}
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
	l, err := net.Listen("tcp", opt.listen)
	if err != nil {
		return cannotListen(opt.listen, err)
	}
	at, connect := reachedAt(l.Addr())
	book, err := openBook(opt.workbook, store.Options{Program: "serves it at " + at + " (" + connect + ")"})
	if err != nil {
		return errors.Join(err, l.Close())
	}
	s := &shop{serveOptions: opt, book: book, set: set, terminals: new(hub), out: c.ErrOrStderr(), connect: connect}
	err = s.serve(l)
	if errors.Is(err, errLeftBehind) { // nor would this terminal take a word about it
		_ = book.Close()
		os.Exit(couldNot)
	}
	return errors.Join(err, closeBook(book))
}

// cannotListen says why nobody can connect.
func cannotListen(to string, err error) error {
	why := err.Error()
	var address *net.AddrError
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		why = "another program listens there already"
	case errors.Is(err, syscall.EADDRNOTAVAIL):
		why = "this computer has no such address"
	case errors.As(err, &address):
		why = "it takes an address and a port, such as 192.168.1.20:2222"
	}
	return fmt.Errorf("nobody can connect to %s: %s", to, why)
}

// reachedAt says where others connect, and with which command.
func reachedAt(address net.Addr) (at, command string) {
	host, port, err := net.SplitHostPort(address.String())
	if err != nil {
		return address.String(), "ssh -t"
	}
	at = address.String()
	if ip := net.ParseIP(host); ip != nil && ip.IsUnspecified() {
		at, host = "port "+port+" of every network that this computer is in", "THIS-COMPUTER"
	}
	return at, fmt.Sprintf("ssh -t -p %s %s", port, host)
}

// shop is a workbook with the terminals that share it.
type shop struct {
	serveOptions
	book      *store.Workbook
	set       *settings // of this terminal, where it has the bench too
	terminals *hub
	out       io.Writer // for whoever started it
	connect   string    // the command that does

	logging sync.Mutex
	quiet   bool     // as long as the bench is on this terminal
	held    []string // what happened since
}

func (s *shop) serve(l net.Listener) error {
	beside := filepath.Dir(s.book.Path())
	if s.host == "" {
		s.host = filepath.Join(beside, "foreshaft-host-key")
	}
	key, err := serve.HostKey(s.host)
	if err == nil {
		err = s.prepareFolder(beside)
	}
	if err != nil {
		return errors.Join(err, l.Close())
	}
	signals := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) { // as nohup has it
		signals = append(signals, syscall.SIGHUP)
	}
	ctx, stop := signal.NotifyContext(context.Background(), signals...)
	defer stop()
	server := serve.New(serve.Options{
		Keys: func() ([]serve.Key, error) { return serve.ReadKeys(s.admitted) },
		Host: key, Run: s.sit, Sessions: s.sessions, Idle: s.idle, SignIn: signInTime, Ping: pingTime, Patience: partTime, Log: s.log,
	})
	fingerprint := ssh.FingerprintSHA256(key.PublicKey())
	s.say("Serving %s on %s; fingerprint of this computer %s", s.book.Path(), l.Addr(), fingerprint)
	s.say("At another computer: %s. Ctrl+C here ends it for all; what they have is kept.", s.connect)
	ui.CollectSeldom()
	leave, left := make(chan string, 1), make(chan error, 1)
	if s.screen {
		s.quiet = true
		go func() {
			left <- show(s.book, s.set, s.terminals, []string{"Other terminals connect with " + s.connect + "; the fingerprint of this computer is " + fingerprint + "."}, leave)
		}()
	}
	served := make(chan error, 1)
	go func() { served <- server.Serve(l) }()
	showing := s.screen
	for waiting := true; waiting; {
		select {
		case <-ctx.Done():
			waiting = false
		case err = <-served:
			waiting = false
		case failed := <-left:
			showing = false
			s.speakUp()
			if failed != nil {
				s.say("%s", readable(failed))
			}
			s.say("The bench here is closed and kept. Still serving on %s to %s; Ctrl+C ends that for all.", l.Addr(), s.terminals.names())
		}
	}
	stop() // a second signal ends the program at once
	if showing {
		leave <- "The program was told to end."
	}
	parting, cancel := context.WithTimeout(context.Background(), partTime)
	defer cancel()
	server.Shutdown(parting, "The computer that serves has ended the program for all terminals.")
	if showing {
		failed := <-left
		if !errors.Is(failed, errLeftBehind) {
			s.speakUp()
		}
		err = errors.Join(err, failed)
	}
	return err
}

// prepareFolder makes the folder for files of the terminals, which must not be that of the
// workbook.
func (s *shop) prepareFolder(beside string) error {
	if s.folder == "" {
		s.folder = filepath.Join(beside, "terminal-files")
	}
	full, err := filepath.Abs(s.folder)
	if err == nil {
		s.folder = full
		err = os.MkdirAll(full, 0o700)
	}
	if err != nil {
		return fmt.Errorf("files of the terminals have no folder: %w", err)
	}
	mine, err1 := os.Stat(beside)
	theirs, err2 := os.Stat(full)
	if err1 == nil && err2 == nil && os.SameFile(mine, theirs) {
		return badInput{fmt.Errorf("--folder: %s is where the workbook is, which terminals must not read: name another", full)}
	}
	return nil
}

// sit shows the program on a terminal elsewhere.
func (s *shop) sit(t *serve.Terminal) (goodbye string) {
	defer func() {
		if problem := recover(); problem != nil {
			s.log(fmt.Sprintf("%s: a fault: %v %s", t.Name, problem, debug.Stack()))
			goodbye = "Something went wrong that should not. What you entered is kept; sign in again to go on."
		}
	}()
	seat := s.book.Seat(t.Seat)
	set, err := settingsOfSeat(os.Getenv, seat, t)
	if err != nil {
		return readable(err)
	}
	sit := &sitting{
		name: t.Name, book: s.book, seat: &seat, set: set, folder: s.folder, screen: t, ground: groundOf(t, set),
		welcome: "Welcome. This bench is yours; drawer and what is saved are shared. T is a short tour, ? help, : any action.",
		options: []tea.ProgramOption{tea.WithInput(t), tea.WithOutput(t), tea.WithoutSignalHandler(), tea.WithEnvironment(t.Environ())},
		sizes:   t.Sizes, leave: t.Leave,
	}
	if t.Second {
		sit.greet, sit.welcome = true, "Another terminal with your key is here already and has your bench; this is a second one. Leave here and there with q, and the next to come in has the first again."
	}
	if err := sit.run(s.terminals); err != nil {
		s.log(t.Name + ": " + readable(err))
		return readable(err)
	}
	return strings.TrimSpace(sit.why + " Your bench is kept.")
}

// groundOf returns what suits a terminal's background as far as that is known, and asks the
// terminal where nobody has chosen: the answer comes when it comes.
func groundOf(t *serve.Terminal, set *settings) theme.Name {
	look := theme.Environ(t.Environ())
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

// mostHeld is how many lines of what happens are kept while the bench is on this terminal.
const mostHeld = 200

// log tells what happens, once the bench is not on this terminal any more.
func (s *shop) log(line string) {
	line = time.Now().Format("2006-01-02 15:04:05 ") + line
	s.logging.Lock()
	defer s.logging.Unlock()
	if !s.quiet {
		s.say("%s", line)
		return
	}
	if s.held = append(s.held, line); len(s.held) > mostHeld {
		s.held = s.held[1:]
	}
}

// speakUp tells what happened while the bench was on this terminal.
func (s *shop) speakUp() {
	s.logging.Lock()
	defer s.logging.Unlock()
	s.quiet = false
	for _, line := range s.held {
		s.say("%s", line)
	}
	s.held = nil
}

func (s *shop) say(format string, args ...any) {
	fmt.Fprintln(s.out, text.Guard(fmt.Sprintf(format, args...)))
}
