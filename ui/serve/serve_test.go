package serve

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/crypto/ssh"
)

// patience is how long a test waits for what has to come.
const patience = 10 * time.Second

// served is a server whose program says what it is told: its size, what is typed, and why it
// has to leave.
type served struct {
	*Server
	t       testing.TB
	address string
	file    string // of the keys
	mu      sync.Mutex
	logged  []string
	done    chan error
}

// echo is the program: it ends at q, or when it has to leave.
func echo(t *Terminal) string {
	fmt.Fprintf(t, "seat %s, name %s, term %s, env %v.", t.Seat, t.Name, t.Term, t.Env)
	typed := make(chan string)
	go func() {
		defer close(typed)
		buf := make([]byte, 100)
		for {
			n, err := t.Read(buf)
			if n > 0 {
				typed <- string(buf[:n])
			}
			if err != nil {
				return
			}
		}
	}()
	for {
		select {
		case s := <-t.Sizes:
			fmt.Fprintf(t, "size %d×%d.", s.Cols, s.Rows)
		case why := <-t.Leave:
			fmt.Fprintf(t, "leave %q.", why)
			go func() {
				for range typed {
				}
			}()
			return "Goodbye."
		case words, open := <-typed:
			if !open {
				typed = nil
				continue
			}
			fmt.Fprintf(t, "typed %q.", words)
			if words == "q" {
				go func() {
					for range typed {
					}
				}()
				return "Goodbye."
			}
		}
	}
}

// newServed starts a server that admits keys.
func newServed(t testing.TB, change func(*Options), lines ...string) *served {
	t.Helper()
	host, _ := newKey(t, nil)
	s := &served{t: t, file: writeKeys(t, lines...), done: make(chan error, 1)}
	opt := Options{
		Keys: func() ([]Key, error) { return ReadKeys(s.file) }, Host: host, Run: echo, Sessions: 5, SignIn: patience, Ping: time.Hour, Patience: time.Second,
		Log: func(line string) {
			s.mu.Lock()
			defer s.mu.Unlock()
			s.logged = append(s.logged, line)
		},
	}
	if change != nil {
		change(&opt)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s.Server, s.address = New(opt), l.Addr().String()
	go func() { s.done <- s.Serve(l) }()
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), patience)
		defer cancel()
		s.Shutdown(ctx, "the test is over")
		if err := <-s.done; err != nil {
			t.Error(err)
		}
	})
	return s
}

func (s *served) says(words string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.ContainsFunc(s.logged, func(line string) bool { return strings.Contains(line, words) })
}

// dial signs in.
func (s *served) dial(auth ...ssh.AuthMethod) (*ssh.Client, error) {
	return ssh.Dial("tcp", s.address, &ssh.ClientConfig{User: "anybody", Auth: auth, HostKeyCallback: ssh.InsecureIgnoreHostKey(), Timeout: patience})
}

// visitor is somebody with a terminal.
type visitor struct {
	t       testing.TB
	client  *ssh.Client
	session *ssh.Session
	stdin   io.WriteCloser
	mu      sync.Mutex
	seen    bytes.Buffer
	more    chan struct{}
}

func (v *visitor) Write(p []byte) (int, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.seen.Write(p)
	select {
	case v.more <- struct{}{}:
	default:
	}
	return len(p), nil
}

// screen is what the visitor has seen so far.
func (v *visitor) screen() string {
	v.mu.Lock()
	defer v.mu.Unlock()
	return v.seen.String()
}

func (v *visitor) sees(words string) {
	v.t.Helper()
	late := time.After(patience)
	for !strings.Contains(v.screen(), words) {
		select {
		case <-v.more:
		case <-late:
			v.t.Fatalf("waited for %q, and saw %q", words, v.screen())
		}
	}
}

func (v *visitor) types(words string) {
	v.t.Helper()
	if _, err := io.WriteString(v.stdin, words); err != nil {
		v.t.Fatal(err)
	}
}

// visit signs in and asks for the program on a terminal.
func (s *served) visit(key ssh.Signer) *visitor {
	s.t.Helper()
	client, err := s.dial(ssh.PublicKeys(key))
	if err != nil {
		s.t.Fatal(err)
	}
	s.t.Cleanup(func() { client.Close() })
	v := &visitor{t: s.t, client: client, more: make(chan struct{}, 1)}
	if v.session, err = client.NewSession(); err != nil {
		s.t.Fatal(err)
	}
	v.session.Stdout = v
	v.stdin, err = v.session.StdinPipe()
	if err = errors.Join(err, v.session.RequestPty("xterm-256color", 24, 80, nil), v.session.Shell()); err != nil {
		s.t.Fatal(err)
	}
	return v
}

func TestAKeyThatIsAdmittedGetsTheProgramAndLeavesIt(t *testing.T) {
	key, line := newKey(t, nil)
	s := newServed(t, nil, line+" counter 2")
	v := s.visit(key)
	v.sees("-1, name counter 2, term xterm-256color, env [].")
	v.sees("size 80×24.")
	v.types("hello")
	v.sees(`typed "hello".`)
	v.types("q")
	if err := v.session.Wait(); err != nil {
		t.Errorf("it ended with %v", err)
	}
	v.sees("foreshaft: Goodbye.\r\n")
	if !s.says("counter 2 came in from 127.0.0.1") {
		t.Errorf("the log has %q", s.logged)
	}
}

func TestNobodyComesInOtherwise(t *testing.T) {
	_, line := newKey(t, nil)
	wrong, _ := newKey(t, nil)
	s := newServed(t, nil, line)
	for name, auth := range map[string][]ssh.AuthMethod{
		"without a key":  nil,
		"wrong key":      {ssh.PublicKeys(wrong)},
		"password":       {ssh.Password("foreshaft")},
		"empty password": {ssh.Password("")},
		"questions": {ssh.KeyboardInteractive(func(string, string, []string, []bool) ([]string, error) {
			return nil, nil
		})},
		"all of them": {ssh.PublicKeys(wrong), ssh.Password("x")},
	} {
		client, err := s.dial(auth...)
		if err == nil {
			client.Close()
			t.Errorf("%s: it is let in", name)
		} else if !strings.Contains(err.Error(), "unable to authenticate") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Public keys are no secret: who has another's alone does not come in with it, nor with a key
// of their own behind it.
func TestWhoHasThePublicKeyAloneDoesNotComeIn(t *testing.T) {
	own, line := newKey(t, nil)
	other, otherLine := newKey(t, nil)
	s := newServed(t, nil, line+" mine", otherLine+" another's")
	for _, keys := range [][]ssh.Signer{{pretender{other}}, {pretender{other}, own}} {
		if client, err := s.dial(ssh.PublicKeys(keys...)); err == nil {
			client.Close()
			t.Error("it is let in")
		}
	}
	s.visit(own).sees("name mine,")
}

// pretender has a public key alone: its signatures are noise.
type pretender struct{ ssh.Signer }

func (p pretender) Sign(rand io.Reader, data []byte) (*ssh.Signature, error) {
	out, err := p.Signer.Sign(rand, data)
	if err == nil {
		out.Blob[0] ^= 1
	}
	return out, err
}

func TestAKeyThatIsTakenAwayDoesNotComeInAgain(t *testing.T) {
	key, line := newKey(t, nil)
	other, otherLine := newKey(t, nil)
	s := newServed(t, nil, line)
	s.visit(key).sees("size")
	if _, err := s.dial(ssh.PublicKeys(other)); err == nil {
		t.Error("a key that is not in the file comes in")
	}
	for _, c := range []struct {
		lines     string
		one, both bool
	}{{otherLine, false, true}, {"nonsense", false, false}, {"", false, false}, {line, true, false}} {
		if err := os.WriteFile(s.file, []byte(c.lines), 0o600); err != nil {
			t.Fatal(err)
		}
		for k, want := range map[ssh.Signer]bool{key: c.one, other: c.both} {
			client, err := s.dial(ssh.PublicKeys(k))
			if (err == nil) != want {
				t.Errorf("with %.20q: %v", c.lines, err)
			}
			if err == nil {
				client.Close()
			}
		}
	}
}

func TestThereIsNothingElseToBeHad(t *testing.T) {
	key, line := newKey(t, nil)
	s := newServed(t, nil, line)
	client, err := s.dial(ssh.PublicKeys(key))
	if err != nil {
		t.Fatal(err)
	}
	defer client.Close()
	if _, err := client.Dial("tcp", "127.0.0.1:22"); err == nil {
		t.Error("a connection is passed on")
	}
	if l, err := client.Listen("tcp", "127.0.0.1:0"); err == nil {
		l.Close()
		t.Error("a port is passed back")
	}
	if _, err := client.Dial("unix", "/tmp/socket"); err == nil {
		t.Error("a socket is passed on")
	}
	if ok, _, err := client.SendRequest("tcpip-forward", true, ssh.Marshal(struct {
		Address string
		Port    uint32
	}{"0.0.0.0", 0})); ok || err != nil {
		t.Errorf("a port is passed back: %v, %v", ok, err)
	}
	session, err := client.NewSession()
	if err != nil {
		t.Fatal(err)
	}
	if err := session.Run("id"); err == nil {
		t.Error("a command runs")
	}
	if err := session.RequestSubsystem("sftp"); err == nil {
		t.Error("files are served")
	}
	for _, wish := range []string{"auth-agent-req@openssh.com", "x11-req", "anything"} {
		if ok, err := session.SendRequest(wish, true, nil); ok || err != nil {
			t.Errorf("%s: %v, %v", wish, ok, err)
		}
	}
	if err := session.Setenv("LD_PRELOAD", "/tmp/x.so"); err == nil {
		t.Error("any variable can be set")
	}
	if err := session.Setenv("COLORTERM", "truecolor"); err != nil {
		t.Error(err)
	}
	if err := session.Setenv("COLORTERM", strings.Repeat("x", 1000)); err == nil {
		t.Error("a value of any length can be set")
	}
	// After all that it is a terminal still.
	out, err := session.StdoutPipe()
	if err = errors.Join(err, session.RequestPty("vt100", 30, 90, nil), session.Shell()); err != nil {
		t.Fatal(err)
	}
	buf := make([]byte, 200)
	n, err := out.Read(buf)
	if err != nil || !strings.Contains(string(buf[:n]), "term vt100, env [COLORTERM=truecolor].") {
		t.Errorf("%q, %v", buf[:n], err)
	}
	if _, err := client.NewSession(); err == nil {
		t.Error("one connection has two terminals")
	}
}

func TestWithoutATerminalItSaysWhatIsNeeded(t *testing.T) {
	key, line := newKey(t, nil)
	s := newServed(t, nil, line)
	client, err := s.dial(ssh.PublicKeys(key))
	if err != nil {
		t.Fatal(err)
	}
	defer client.Close()
	session, err := client.NewSession()
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	session.Stdout = &out
	if err := session.Shell(); err != nil {
		t.Fatal(err)
	}
	var status *ssh.ExitError
	if err := session.Wait(); !errors.As(err, &status) || status.ExitStatus() != 1 || !strings.Contains(out.String(), "ssh -t") {
		t.Errorf("%v, %q", err, out.String())
	}
}

func TestASizeIsPassedOnAndNeverAbsurd(t *testing.T) {
	key, line := newKey(t, nil)
	s := newServed(t, nil, line)
	v := s.visit(key)
	v.sees("size 80×24.")
	if err := v.session.WindowChange(50, 132); err != nil {
		t.Fatal(err)
	}
	v.sees("size 132×50.")
	if err := v.session.WindowChange(4_000_000_000, 4_000_000_000); err != nil {
		t.Fatal(err)
	}
	v.sees(fmt.Sprintf("size %d×%d.", mostCols, mostRows))
	if err := v.session.WindowChange(0, 0); err != nil {
		t.Fatal(err)
	}
	v.sees("size 0×0.")
}

// The seat is what a bench is kept for: the same key finds its own again, a second terminal
// of it has another.
func TestASeatBelongsToAKey(t *testing.T) {
	key, line := newKey(t, nil)
	other, otherLine := newKey(t, nil)
	s := newServed(t, nil, line+" one", otherLine+" other")
	seat := func(v *visitor) string {
		v.t.Helper()
		v.sees("size")
		words, _, _ := strings.Cut(v.screen(), ",")
		return words
	}
	a, b, c := s.visit(key), s.visit(key), s.visit(other)
	first, second, third := seat(a), seat(b), seat(c)
	if !strings.HasSuffix(first, "-1") || second != strings.TrimSuffix(first, "1")+"2" || !strings.HasSuffix(third, "-1") || third == first {
		t.Errorf("seats %q, %q, %q", first, second, third)
	}
	b.sees("name one (2),")
	a.types("q")
	if err := a.session.Wait(); err != nil {
		t.Fatal(err)
	}
	if got := seat(s.visit(key)); got != first {
		t.Errorf("it has %q, and had %q", got, first)
	}
}

func TestThereIsALimitOfTerminals(t *testing.T) {
	key, line := newKey(t, nil)
	s := newServed(t, func(o *Options) { o.Sessions = 2 }, line)
	first := s.visit(key)
	first.sees("size")
	s.visit(key).sees("size")
	third := s.visit(key)
	var status *ssh.ExitError
	if err := third.session.Wait(); !errors.As(err, &status) || status.ExitStatus() != 1 {
		t.Errorf("the third ends with %v", err)
	}
	third.sees("All 2 places are taken.")
	first.types("q")
	if err := first.session.Wait(); err != nil {
		t.Fatal(err)
	}
	s.visit(key).sees("size")
}

func TestWhoLosesTheConnectionLeaves(t *testing.T) {
	key, line := newKey(t, nil)
	left := make(chan string, 1)
	s := newServed(t, func(o *Options) {
		o.Run = func(t *Terminal) string {
			fmt.Fprint(t, "here.")
			left <- <-t.Leave
			if _, err := t.Read(make([]byte, 1)); err != io.EOF {
				left <- fmt.Sprint(err)
			}
			return ""
		}
	}, line)
	v := s.visit(key)
	v.sees("here.")
	if err := v.client.Close(); err != nil {
		t.Fatal(err)
	}
	select {
	case why := <-left:
		if why != "" {
			t.Errorf("it leaves because of %q", why)
		}
	case <-time.After(patience):
		t.Fatal("it does not leave")
	}
}

// silent is a connection that can be cut without anybody being told: what is written to it then
// goes nowhere, as to a computer that sleeps.
type silent struct {
	net.Conn
	cut chan struct{}
}

func (c *silent) Write(p []byte) (int, error) {
	select {
	case <-c.cut:
		return len(p), nil
	default:
		return c.Conn.Write(p)
	}
}

// visitSilently is visit by a connection that can be cut.
func (s *served) visitSilently(key ssh.Signer) (*visitor, *silent) {
	s.t.Helper()
	conn, err := net.Dial("tcp", s.address)
	if err != nil {
		s.t.Fatal(err)
	}
	s.t.Cleanup(func() { conn.Close() })
	through := &silent{conn, make(chan struct{})}
	signed, channels, requests, err := ssh.NewClientConn(through, s.address, &ssh.ClientConfig{User: "anybody", Auth: []ssh.AuthMethod{ssh.PublicKeys(key)}, HostKeyCallback: ssh.InsecureIgnoreHostKey()})
	if err != nil {
		s.t.Fatal(err)
	}
	v := &visitor{t: s.t, client: ssh.NewClient(signed, channels, requests), more: make(chan struct{}, 1)}
	if v.session, err = v.client.NewSession(); err != nil {
		s.t.Fatal(err)
	}
	v.session.Stdout = v
	v.stdin, err = v.session.StdinPipe()
	if err = errors.Join(err, v.session.RequestPty("xterm-256color", 24, 80, nil), v.session.Shell()); err != nil {
		s.t.Fatal(err)
	}
	return v, through
}

// Who comes back after the connection broke finds the seat that was left, although the server
// was not told that it broke, and although what was there is still being kept.
func TestWhoComesBackFindsTheSeat(t *testing.T) {
	key, line := newKey(t, nil)
	s := newServed(t, func(o *Options) {
		o.Patience = patience
		o.Run = func(t *Terminal) string {
			fmt.Fprintf(t, "seat %s.", t.Seat)
			<-t.Leave
			<-time.After(200 * time.Millisecond) // it is being kept
			fmt.Fprint(t, "kept.")
			return ""
		}
	}, line)
	seat := func(v *visitor) string {
		v.t.Helper()
		v.sees(".")
		return v.screen()
	}
	first := s.visit(key)
	if got := seat(first); !strings.HasSuffix(got, "-1.") {
		t.Fatalf("it has %q", got)
	}
	if err := first.client.Close(); err != nil {
		t.Fatal(err)
	}
	asleep, conn := s.visitSilently(key)
	if got := seat(asleep); !strings.HasSuffix(got, "-1.") {
		t.Errorf("after the connection was closed it has %q", got)
	}
	close(conn.cut)
	awake := s.visit(key)
	if got := seat(awake); !strings.HasSuffix(got, "-1.") {
		t.Errorf("after a connection broke without a word it has %q", got)
	}
	if got := seat(s.visit(key)); !strings.HasSuffix(got, "-2.") {
		t.Errorf("beside one that is there it has %q", got)
	}
}

func TestWhoIsGoneWithoutAWordLeaves(t *testing.T) {
	key, line := newKey(t, nil)
	s := newServed(t, func(o *Options) { o.Ping = 200 * time.Millisecond }, line)
	v, conn := s.visitSilently(key)
	v.sees("size")
	<-time.After(700 * time.Millisecond) // several times asked, it answers
	if s.says("left") {
		t.Fatal("it left although it is there")
	}
	close(conn.cut)
	for late := time.Now().Add(patience); !s.says("left"); {
		if time.Now().After(late) {
			t.Fatal("it does not leave")
		}
		<-time.After(10 * time.Millisecond)
	}
}

func TestWhoPressesNoKeyLeaves(t *testing.T) {
	key, line := newKey(t, nil)
	s := newServed(t, func(o *Options) { o.Idle = 300 * time.Millisecond }, line)
	v := s.visit(key)
	for range 5 { // as long as keys come nobody leaves
		v.types("x")
		<-time.After(100 * time.Millisecond) // the time is what is tested
	}
	if strings.Contains(v.screen(), "leave") {
		t.Errorf("it left while keys came: %q", v.screen())
	}
	v.sees(`leave "Nobody pressed a key for 300ms."`)
	if err := v.session.Wait(); err != nil {
		t.Error(err)
	}
}

func TestShutdownTellsEverybodyAndWaits(t *testing.T) {
	key, line := newKey(t, nil)
	s := newServed(t, nil, line)
	a, b := s.visit(key), s.visit(key)
	a.sees("size")
	b.sees("size")
	idle, err := s.dial(ssh.PublicKeys(key)) // signed in, without a terminal
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	began := time.Now()
	s.Shutdown(ctx, "The shop closes.")
	if took := time.Since(began); took > patience/2 {
		t.Errorf("it took %v", took)
	}
	for _, v := range []*visitor{a, b} {
		if err := v.session.Wait(); err != nil {
			t.Error(err)
		}
		v.sees(`leave "The shop closes.".foreshaft: Goodbye.`)
	}
	if err := idle.Wait(); err == nil {
		t.Error("a connection without a terminal is still open")
	}
	if _, err := s.dial(ssh.PublicKeys(key)); err == nil {
		t.Error("somebody came in afterwards")
	}
}

// A terminal that takes nothing any more holds the program up when it draws. It must not
// hold up the end.
func TestWhoDoesNotLookIsLeftBehind(t *testing.T) {
	key, line := newKey(t, nil)
	s := newServed(t, func(o *Options) {
		o.Run = func(t *Terminal) string {
			for {
				if _, err := t.Write(make([]byte, 1<<16)); err != nil {
					return ""
				}
			}
		}
	}, line)
	client, err := s.dial(ssh.PublicKeys(key))
	if err != nil {
		t.Fatal(err)
	}
	defer client.Close()
	session, err := client.NewSession()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := session.StdoutPipe(); err != nil { // and nobody reads it
		t.Fatal(err)
	}
	if err := errors.Join(session.RequestPty("xterm", 24, 80, nil), session.Shell()); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 4*time.Second)
	defer cancel()
	began := time.Now()
	s.Shutdown(ctx, "The shop closes.")
	if took := time.Since(began); took > patience {
		t.Errorf("it took %v", took)
	}
}

// Connections that say nothing, or nonsense, take a place at the door for a while and no
// more; who has a key comes in again then.
func TestAFloodOfConnectionsPasses(t *testing.T) {
	key, line := newKey(t, nil)
	s := newServed(t, func(o *Options) { o.SignIn = 500 * time.Millisecond }, line)
	var conns []net.Conn
	closed := 0
	for i := range 300 {
		conn, err := net.Dial("tcp", s.address)
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close()
		if i%2 == 0 {
			_, _ = conn.Write([]byte("GET / HTTP/1.1\r\n\r\n"))
		}
		conns = append(conns, conn)
	}
	for _, conn := range conns {
		if err := conn.SetReadDeadline(time.Now().Add(patience)); err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(io.Discard, conn); err == nil || !errors.Is(err, os.ErrDeadlineExceeded) {
			closed++
		}
	}
	if closed != len(conns) {
		t.Errorf("%d of %d are closed", closed, len(conns))
	}
	if !s.says("connects too often") {
		t.Error("nobody is told that a computer connects too often")
	}
	late := time.Now().Add(patience)
	for {
		client, err := s.dial(ssh.PublicKeys(key))
		if err == nil {
			client.Close()
			break
		}
		if time.Now().After(late) {
			t.Fatalf("who has a key does not come in any more: %v", err)
		}
		<-time.After(100 * time.Millisecond) // until a connection is allowed again
	}
}

func TestAComputerMayConnectSoOften(t *testing.T) {
	host, _ := newKey(t, nil)
	s := New(Options{Host: host, Log: func(string) {}})
	now := time.Now()
	from := func(n int) net.Addr { return &net.TCPAddr{IP: net.IPv4(10, 0, byte(n>>8), byte(n)), Port: 1000 + n} }
	for i := range burst {
		if may, _ := s.mayConnect(from(1), now); !may {
			t.Fatalf("connection %d is refused", i)
		}
	}
	may := func(n int, at time.Time) bool {
		ok, _ := s.mayConnect(from(n), at)
		return ok
	}
	if ok, first := s.mayConnect(from(1), now); ok || first != "10.0.0.1" {
		t.Errorf("there is no limit, or it is not told: %v, %q", ok, first)
	}
	if _, first := s.mayConnect(from(1), now); first != "" {
		t.Error("it is told each time")
	}
	if !may(2, now) {
		t.Error("another computer has to wait too")
	}
	if !may(1, now.Add(1100*time.Millisecond)) || may(1, now.Add(1200*time.Millisecond)) {
		t.Error("it is not one a second afterwards")
	}
	for n := range mostComputers + 200 {
		s.mayConnect(from(3+n), now)
	}
	if n := len(s.computers); n > mostComputers {
		t.Errorf("%d computers are remembered", n)
	}
	if !may(60000, now.Add(time.Hour)) {
		t.Error("those of long ago are not forgotten")
	}
}
