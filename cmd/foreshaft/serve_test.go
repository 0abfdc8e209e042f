package main

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/pem"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"golang.org/x/crypto/ssh"

	"foreshaft/store"
	"foreshaft/ui/uitest"
)

// served is a program that serves a workbook.
type served struct {
	t        testing.TB
	cmd      *exec.Cmd
	port     string
	workbook string
	dir      string
	log      *lines
	ended    chan error
}

// lines is what a program wrote.
type lines struct {
	mu   sync.Mutex
	text bytes.Buffer
	more chan struct{}
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.text.Write(p)
	select {
	case l.more <- struct{}{}:
	default:
	}
	return len(p), nil
}

func (l *lines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// find waits until what was written matches.
func (l *lines) find(t testing.TB, pattern string) []string {
	t.Helper()
	re := regexp.MustCompile(pattern)
	for late := time.After(10 * time.Second); ; {
		if m := re.FindStringSubmatch(l.String()); m != nil {
			return m
		}
		select {
		case <-l.more:
		case <-late:
			t.Fatalf("waited for %s in\n%s", pattern, l)
		}
	}
}

// clientKey writes a private key to a file and returns the public one as a line.
func clientKey(t testing.TB, path, name string) string {
	t.Helper()
	public, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	block, err := ssh.MarshalPrivateKey(private, name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, pem.EncodeToMemory(block), 0o600); err != nil {
		t.Fatal(err)
	}
	key, err := ssh.NewPublicKey(public)
	if err != nil {
		t.Fatal(err)
	}
	return strings.TrimSpace(string(ssh.MarshalAuthorizedKey(key))) + " " + name + "\n"
}

// serveHere starts a program that serves two keys, "one" and "two".
func serveHere(t testing.TB, args ...string) *served {
	t.Helper()
	dir := t.TempDir()
	s := &served{t: t, dir: dir, workbook: filepath.Join(dir, "workbook.db"), log: &lines{more: make(chan struct{}, 1)}, ended: make(chan error, 1)}
	keys := clientKey(t, filepath.Join(dir, "one"), "counter one") + clientKey(t, filepath.Join(dir, "two"), "counter two")
	clientKey(t, filepath.Join(dir, "stranger"), "stranger")
	if err := os.WriteFile(filepath.Join(dir, "keys.pub"), []byte(keys), 0o600); err != nil {
		t.Fatal(err)
	}
	s.cmd = exec.Command(program, append(s.args(), args...)...)
	s.cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir)
	s.cmd.Stderr = s.log
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := s.ended
	go func() { ended <- s.cmd.Wait() }()
	t.Cleanup(func() { s.stop() })
	s.port = s.log.find(t, `Serving .* on 127\.0\.0\.1:(\d+); fingerprint of this computer SHA256:`)[1]
	return s
}

func (s *served) args() []string {
	return []string{"serve", "--listen", "127.0.0.1:0", "--authorized-keys", filepath.Join(s.dir, "keys.pub"), "--workbook", s.workbook}
}

// stop ends the program as a system does, once.
func (s *served) stop() {
	if s.ended == nil {
		return
	}
	ended := s.ended
	s.ended = nil
	if err := s.cmd.Process.Signal(syscall.SIGTERM); err != nil && !errors.Is(err, os.ErrProcessDone) {
		s.t.Error(err)
	}
	select {
	case err := <-ended:
		if err != nil {
			s.t.Errorf("serving ended with %v\n%s", err, s.log)
		}
	case <-time.After(15 * time.Second):
		_ = s.cmd.Process.Kill()
		s.t.Errorf("serving did not end\n%s", s.log)
	}
}

// openSSH returns the arguments for OpenSSH's client with a key of the server, no key where it
// has no name.
func (s *served) openSSH(key string, more ...string) []string {
	if _, err := exec.LookPath("ssh"); err != nil {
		t, ok := s.t.(*testing.T)
		if !ok {
			s.t.Skip("no OpenSSH client here")
		}
		fmt.Fprintf(os.Stderr, "SKIPPED %s: no OpenSSH client here\n", t.Name())
		t.Skip("no OpenSSH client here")
	}
	args := []string{"-F", "none", "-p", s.port, "-o", "StrictHostKeyChecking=no", "-o", "UserKnownHostsFile=" + os.DevNull, "-o", "LogLevel=ERROR",
		"-o", "IdentitiesOnly=yes", "-o", "IdentityAgent=none", "-o", "ConnectTimeout=10"}
	if key != "" {
		args = append(args, "-i", filepath.Join(s.dir, key))
	} else {
		args = append(args, "-o", "PubkeyAuthentication=no")
	}
	return append(append(args, more...), "anybody@127.0.0.1")
}

// visit opens the program on a terminal by OpenSSH's client.
func (s *served) visit(key string, opt uitest.Options) *uitest.Terminal {
	s.t.Helper()
	opt.Path, opt.Args = "ssh", s.openSSH(key, "-tt")
	x := uitest.Start(s.t, opt)
	x.WaitFor(shown)
	return x
}

// run runs OpenSSH's client without a terminal.
func (s *served) run(args []string) (out string, code int) {
	s.t.Helper()
	cmd := exec.Command("ssh", args...)
	var all bytes.Buffer
	cmd.Stdout, cmd.Stderr = &all, &all
	err := cmd.Run()
	var ended *exec.ExitError
	if err != nil && !errors.As(err, &ended) {
		s.t.Fatal(err)
	}
	return all.String(), cmd.ProcessState.ExitCode()
}

func TestATerminalElsewhereHasTheProgramAndItsBenchIsKept(t *testing.T) {
	t.Parallel()
	s := serveHere(t)
	x := s.visit("one", uitest.Options{})
	x.WaitFor("Welcome. This bench is yours")
	x.Type("rHere")
	x.Send("\r")
	x.WaitFor(`to Here.`)
	x.Resize(80, 24)
	x.WaitUntil("the smaller screen", func(screen string) bool {
		lines := strings.Split(screen, "\n")
		return len(lines) == 24 && strings.Contains(lines[0], "Bench") && strings.HasSuffix(lines[0], "ft/s") && strings.Contains(lines[23], "? help")
	})
	x.Send("q")
	if code := x.Wait(); code != 0 {
		t.Errorf("leaving ends with %d\n%s", code, x.Screen())
	}
	if !strings.Contains(string(x.Raw()), "foreshaft: Your bench is kept.") {
		t.Errorf("it says no goodbye: %q", x.Screen())
	}
	s.log.find(t, `counter one came in from 127\.0\.0\.1`)
	s.log.find(t, `counter one left`)
	again := s.visit("one", uitest.Options{})
	again.WaitFor("Here")
	other := s.visit("two", uitest.Options{})
	other.WaitFor("Welcome. This bench is yours")
	if strings.Contains(other.Screen(), "Here") {
		t.Error("another key has the same bench")
	}
	for _, x := range []*uitest.Terminal{again, other} {
		x.Send("q")
		x.Wait()
	}
	s.stop()
	if _, err := store.Examine(s.workbook); err != nil {
		t.Error(err)
	}
	if got := keptName(t, s.workbook); got == "Here" {
		t.Error("the workbook's own bench was changed")
	}
}

func TestATerminalElsewhereNeedsItsKeyAndGetsNothingElse(t *testing.T) {
	t.Parallel()
	s := serveHere(t)
	touched := filepath.Join(s.dir, "touched")
	for name, args := range map[string][]string{
		"wrong key":           s.openSSH("stranger", "-o", "BatchMode=yes"),
		"no key":              s.openSSH("", "-o", "BatchMode=yes"),
		"password":            s.openSSH("", "-o", "BatchMode=yes", "-o", "PreferredAuthentications=password,keyboard-interactive"),
		"passing a port back": s.openSSH("one", "-N", "-o", "ExitOnForwardFailure=yes", "-R", "0:127.0.0.1:22"),
		"a command":           append(s.openSSH("one"), "touch", touched),
		"a command on a tty":  append(s.openSSH("one", "-tt"), "touch", touched),
		"files":               append(s.openSSH("one", "-s"), "sftp"),
		"no terminal":         s.openSSH("one", "-T"),
	} {
		out, code := s.run(args)
		if code == 0 {
			t.Errorf("%s: it ends well: %s", name, out)
		}
		if strings.Contains(name, "key") != strings.Contains(out, "Permission denied") && name != "password" {
			t.Errorf("%s: %s", name, out)
		}
	}
	if _, err := os.Stat(touched); err == nil {
		t.Error("a command was run")
	}
	// A way through to another port is opened by the client and refused when it is used.
	cmd := exec.Command("ssh", s.openSSH("one", "-W", "127.0.0.1:"+s.port)...)
	if out, err := cmd.CombinedOutput(); err == nil || strings.Contains(string(out), "SSH-2.0") {
		t.Errorf("a connection is passed on: %v, %s", err, out)
	}
	x := s.visit("one", uitest.Options{})
	x.Send("q")
	x.Wait()
}

// A connection that breaks in the middle of an edit loses nothing that was on the screen.
func TestATerminalElsewhereThatIsCutOffLosesNothing(t *testing.T) {
	t.Parallel()
	s := serveHere(t)
	for i := range 4 {
		x := s.visit("one", uitest.Options{})
		name := fmt.Sprintf("Cut off %d", i)
		x.Type("r" + name)
		x.Send("\r")
		x.WaitFor("to " + name + ".")
		x.Type("rhalf a na")
		if i%2 == 0 {
			x.Kill(syscall.SIGKILL)
		} else {
			x.HangUp()
		}
		x.Wait()
		x.Close()
		again := s.visit("one", uitest.Options{})
		again.WaitFor(name)
		again.Send("q")
		again.Wait()
	}
}

// A terminal that answers no question is served at once.
func TestATerminalElsewhereThatAnswersNothingIsServed(t *testing.T) {
	t.Parallel()
	s := serveHere(t)
	began := time.Now()
	x := s.visit("one", uitest.Options{SilentTerminal: true})
	if took := time.Since(began); took > 4*time.Second { // a second is what others wait for an answer
		t.Errorf("it took %v", took)
	}
	x.Send("+")
	x.WaitFor("insert")
	x.Send("q")
	if code := x.Wait(); code != 0 {
		t.Errorf("it ended with %d", code)
	}
}

func TestTwoTerminalsSeeWhatTheOtherChanges(t *testing.T) {
	t.Parallel()
	s := serveHere(t)
	a, b := s.visit("one", uitest.Options{}), s.visit("two", uitest.Options{})
	save := func(x *uitest.Terminal, name string) {
		x.Send("s")
		x.WaitFor("Save this bench")
		x.Type(name)
		x.Send("\r")
	}
	save(a, "Shared bench")
	a.WaitFor(`Saved as "Shared bench"`)
	b.Send("o")
	b.WaitFor("Shared bench")
	b.Send("\r")
	b.WaitFor("just what is on the bench")
	a.Send("+")
	a.WaitGone(`Saved as "Shared bench"`)
	a.Send("s")
	a.WaitFor("Save this bench")
	a.Send("\r")
	a.WaitFor("revision 2")
	b.WaitFor("was saved at counter one just now, as revision 2")
	b.Send("\x1b[C-")
	b.WaitGone("just now")
	b.Send("s")
	b.WaitFor("Save this bench")
	b.Send("\r")
	b.WaitFor("Meanwhile another terminal saved it too: 1 revision")
	a.WaitFor("was saved at counter two just now, as revision 3")
	// A list that is open follows too, and so does the drawer.
	a.Send("o")
	a.WaitFor("1 of 1")
	b.Send("S")
	b.WaitFor("Save this build alone")
	b.Send("\r")
	b.WaitFor("Saved as")
	a.WaitFor("2 of 2")
	a.Send("\x1b")
	a.WaitGone("2 of 2")
	a.Send("6")
	a.WaitFor("Parts of all kinds")
	b.Send("X") // takes the samples out of the drawer
	b.WaitFor("sample parts")
	b.Send("\x1b[B\r")
	b.WaitFor("out of the drawer")
	a.WaitFor("(retired)")
	s.stop()
	for _, x := range []*uitest.Terminal{a, b} {
		if code := x.Wait(); code != 0 {
			t.Errorf("a terminal ended with %d", code)
		}
	}
	book, err := store.Open(s.workbook, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	list, err := book.List()
	if err != nil || len(list) != 2 {
		t.Fatalf("%+v, %v", list, err)
	}
	for _, e := range list {
		if e.Kind == store.KindBench && e.Revisions != 3 {
			t.Errorf("the bench has %d revisions, want 3", e.Revisions)
		}
	}
}

func TestTerminalsElsewhereAreToldWhenServingEnds(t *testing.T) {
	t.Parallel()
	s := serveHere(t)
	x := s.visit("one", uitest.Options{})
	x.Type("rLast words")
	x.Send("\r")
	x.WaitFor("to Last words.")
	out, err := exec.Command(program, "saved", "--workbook", s.workbook).CombinedOutput()
	if err == nil || !strings.Contains(string(out), "in use by foreshaft") {
		t.Errorf("a second process: %v, %s", err, out)
	}
	s.stop()
	if code := x.Wait(); code != 0 {
		t.Errorf("the terminal ended with %d\n%s", code, x.Screen())
	}
	if raw := string(x.Raw()); !strings.Contains(raw, "foreshaft: The computer that serves has ended the program for all terminals. Your bench is kept.") {
		t.Errorf("it was not told why: %q", x.Screen())
	}
	s2 := &served{t: t, dir: s.dir, workbook: s.workbook}
	if _, err := store.Examine(s2.workbook); err != nil {
		t.Error(err)
	}
}

// The computer that serves has the bench on its own terminal too.
func TestTheLocalTerminalRunsBesideThoseElsewhere(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := &served{t: t, dir: dir, workbook: filepath.Join(dir, "workbook.db")}
	if err := os.WriteFile(filepath.Join(dir, "keys.pub"), []byte(clientKey(t, filepath.Join(dir, "one"), "counter one")), 0o600); err != nil {
		t.Fatal(err)
	}
	args := append(s.args(), "--screen")
	local := uitest.Start(t, uitest.Options{Path: program, Args: args, Cols: 160})
	local.WaitFor("Welcome. Bow, builds and parts here")
	s.port = regexp.MustCompile(`on 127\.0\.0\.1:(\d+); fingerprint`).FindStringSubmatch(string(local.Raw()))[1]
	x := s.visit("one", uitest.Options{})
	x.WaitFor("Welcome. This bench is yours")
	for _, screen := range []*uitest.Terminal{local, x} {
		screen.Send("S")
		screen.WaitFor("Save this build alone")
		screen.Send("\r")
		screen.WaitFor("saved")
	}
	x.Send("+S")
	x.WaitFor("Save this build alone")
	x.Send("\r")
	x.WaitFor("revision 2")
	local.WaitFor("was saved at counter one just now, as revision 2")
	local.Send("q")
	local.WaitFor("Still serving on 127.0.0.1:" + s.port + " to counter one")
	local.WaitFor("counter one came in from")
	x.Type("rStill here")
	x.Send("\r")
	x.WaitFor("to Still here.")
	local.Send("\x03")
	if code := local.Wait(); code != 0 {
		t.Errorf("serving ended with %d\n%s", code, local.Screen())
	}
	if code := x.Wait(); code != 0 {
		t.Errorf("the terminal elsewhere ended with %d", code)
	}
	if _, err := store.Examine(s.workbook); err != nil {
		t.Error(err)
	}
}
