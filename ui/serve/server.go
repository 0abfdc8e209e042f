// Package serve lets terminals elsewhere use the program over SSH (RFC 4251 to 4254).
// Whoever has a key that is admitted gets the program, and nothing else: no shell, no
// commands, no forwarding, and no way in without a key.
package serve

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"net"
	"sync"
	"time"

	"golang.org/x/crypto/ssh"
	"golang.org/x/time/rate"

	"foreshaft/engine/label"
)

// The limits on those who have not signed in yet.
const (
	mostAtDoor = 32 // connections at once
	mostTries  = 6  // keys of one connection; an agent offers several
	// byeTime is how long a client may take to close a connection that is over.
	byeTime = 2 * time.Second
	// A computer may connect so often at once, and then once a second.
	burst = 40
	// mostLine is the longest line of the log, in letters.
	mostLine = 300
	// mostComputers is how many are remembered for that.
	mostComputers = 4096
)

// Options is whom a server admits, and to what.
type Options struct {
	// Keys returns who is admitted. It is asked at each sign-in, so that a key can be taken
	// away while the server runs.
	Keys func() ([]Key, error)
	Host ssh.Signer
	// Run shows the program on a terminal and returns when it has ended, with words for whoever
	// sits there. It must end soon after the terminal's Leave.
	Run func(t *Terminal) (goodbye string)
	// Sessions is how many terminals there may be at once, Idle how long one may stay without
	// a key pressed; 0 is for ever.
	Sessions int
	Idle     time.Duration
	// SignIn is how long a connection may take to sign in and to ask for a terminal.
	SignIn time.Duration
	// Ping is how often a terminal is asked whether it is still there, and how long that may take.
	Ping time.Duration
	// Patience is how long a terminal may take to leave before its connection is closed.
	Patience time.Duration
	// Log is told what happens, a line at a time.
	Log func(line string)
}

// Server admits terminals. Make it with New.
type Server struct {
	opt    Options
	config *ssh.ServerConfig
	door   chan struct{} // holds one for each connection that has not signed in

	mu        sync.Mutex
	listener  net.Listener
	closing   string // why, once it is
	terminals map[*Terminal]bool
	conns     map[net.Conn]bool
	computers map[string]*computer
	work      sync.WaitGroup
}

// New returns a server.
func New(opt Options) *Server {
	s := &Server{opt: opt, door: make(chan struct{}, mostAtDoor), terminals: map[*Terminal]bool{}, conns: map[net.Conn]bool{}, computers: map[string]*computer{}}
	s.config = &ssh.ServerConfig{
		MaxAuthTries:      mostTries,
		ServerVersion:     "SSH-2.0-foreshaft",
		PublicKeyCallback: s.admit,
	}
	safe := ssh.SupportedAlgorithms() // without those that are there for old programs alone
	s.config.KeyExchanges, s.config.Ciphers, s.config.MACs, s.config.PublicKeyAuthAlgorithms = safe.KeyExchanges, safe.Ciphers, safe.MACs, safe.PublicKeyAuths
	s.config.AddHostKey(opt.Host)
	return s
}

// admit lets a key in that is admitted now.
func (s *Server) admit(conn ssh.ConnMetadata, offered ssh.PublicKey) (*ssh.Permissions, error) {
	keys, err := s.opt.Keys()
	if err != nil {
		s.log("nobody can come in: %v", err)
		return nil, errors.New("no key is admitted now")
	}
	for _, k := range keys {
		if string(k.key.Marshal()) == string(offered.Marshal()) {
			return &ssh.Permissions{ExtraData: map[any]any{admitted{}: k}}, nil
		}
	}
	s.log("%s offered a key that is not admitted: %s", conn.RemoteAddr(), ssh.FingerprintSHA256(offered))
	return nil, errors.New("this key is not admitted")
}

// admitted is where the key of a connection is kept that signed in.
type admitted struct{}

func (s *Server) log(format string, args ...any) {
	line := label.Clean(fmt.Sprintf(format, args...))
	if runes := []rune(line); len(runes) > mostLine { // what others send may be in it
		line = string(runes[:mostLine]) + " …"
	}
	s.opt.Log(line)
}

// Serve admits terminals until Shutdown, and returns nil then.
func (s *Server) Serve(l net.Listener) error {
	s.mu.Lock()
	s.listener = l
	closing := s.closing != ""
	s.mu.Unlock()
	if closing {
		return l.Close()
	}
	for wait := time.Millisecond; ; {
		conn, err := l.Accept()
		switch {
		case err == nil:
			wait = time.Millisecond
			s.meet(conn)
		case s.isClosing() != "":
			return nil
		case errors.Is(err, net.ErrClosed):
			return err
		default:
			// Such as too many open files, which passes.
			s.log("a connection was not taken: %v", err)
			time.Sleep(wait)
			wait = min(2*wait, time.Second)
		}
	}
}

func (s *Server) isClosing() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.closing
}

// meet takes a connection where there is room for one more that has not signed in.
func (s *Server) meet(conn net.Conn) {
	may, first := s.mayConnect(conn.RemoteAddr(), time.Now())
	if first != "" {
		s.log("%s connects too often and has to wait", first)
	}
	if !may {
		_ = conn.Close()
		return
	}
	select {
	case s.door <- struct{}{}:
	default:
		_ = conn.Close()
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closing != "" {
		<-s.door
		_ = conn.Close()
		return
	}
	s.conns[conn] = true
	s.work.Go(func() {
		s.handle(conn)
		_ = conn.Close()
		s.mu.Lock()
		delete(s.conns, conn)
		s.mu.Unlock()
	})
}

// mayConnect limits how often a computer may connect.
// It returns the name of a computer that has to wait for the first time in a row.
func (s *Server) mayConnect(from net.Addr, now time.Time) (may bool, first string) {
	host, _, err := net.SplitHostPort(from.String())
	if err != nil {
		host = from.String()
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.computers[host]
	if c == nil {
		if len(s.computers) >= mostComputers {
			maps.DeleteFunc(s.computers, func(_ string, c *computer) bool { return c.limit.TokensAt(now) >= burst })
		}
		if len(s.computers) >= mostComputers {
			return false, ""
		}
		c = &computer{limit: rate.NewLimiter(rate.Every(time.Second), burst)}
		s.computers[host] = c
	}
	may = c.limit.AllowN(now, 1)
	if !may && !c.told {
		first = host
	}
	c.told = !may
	return may, first
}

// computer is where connections come from.
type computer struct {
	limit *rate.Limiter
	told  bool // that it has to wait
}

// handle has a connection sign in and serves its one terminal.
func (s *Server) handle(conn net.Conn) {
	err := conn.SetDeadline(time.Now().Add(s.opt.SignIn))
	var signed *ssh.ServerConn
	var channels <-chan ssh.NewChannel
	var requests <-chan *ssh.Request
	if err == nil {
		signed, channels, requests, err = ssh.NewServerConn(conn, s.config)
	}
	<-s.door
	if err != nil {
		var auth *ssh.ServerAuthError
		if errors.As(err, &auth) { // which says no more than that
			err = errors.New("no key that is admitted")
		}
		s.log("%s did not sign in: %v", conn.RemoteAddr(), err)
		return
	}
	if err := conn.SetDeadline(time.Time{}); err != nil {
		return
	}
	defer signed.Close()
	// No request of a connection is for a terminal: forwarding of ports is asked for so.
	go ssh.DiscardRequests(requests)
	who, known := signed.Permissions.ExtraData[admitted{}].(Key)
	if !known { // there is no other way to sign in
		return
	}
	// Who signed in has to ask for a terminal as well.
	late := time.AfterFunc(s.opt.SignIn, func() { _ = conn.Close() })
	defer late.Stop()
	taken := false
	for asked := range channels {
		switch {
		case asked.ChannelType() != "session":
			_ = asked.Reject(ssh.Prohibited, "only a terminal is served here")
			continue
		case taken:
			_ = asked.Reject(ssh.ResourceShortage, "one terminal for each connection")
			continue
		}
		channel, wishes, err := asked.Accept()
		if err != nil {
			return
		}
		taken = true
		s.work.Go(func() {
			s.session(conn, signed, late, channel, wishes, who)
			// The client closes the connection; one that does not is closed.
			late.Reset(byeTime)
		})
	}
}

// pingWait is how long a terminal may take to say that it is still there.
const pingWait = 2 * time.Second

// clearSeats waits until terminals of a key have left that are on their way out, or that do not
// answer any more: who comes back after the connection broke finds the bench that was left,
// and not that of a second terminal.
func (s *Server) clearSeats(who Key) {
	s.mu.Lock()
	var same []*Terminal
	for t := range s.terminals {
		if t.key == who.seat() {
			same = append(same, t)
		}
	}
	s.mu.Unlock()
	var all sync.WaitGroup
	for _, t := range same {
		all.Go(func() {
			if !t.answers(pingWait) {
				t.leave("")
				_ = t.conn.Close()
			}
			if !t.leaving.Load() {
				return
			}
			select {
			case <-t.gone:
			case <-time.After(s.opt.Patience):
			}
		})
	}
	all.Wait()
}

// take gives a terminal a seat of its key that nobody has, and says why not.
func (s *Server) take(t *Terminal, who Key) (refused string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case s.closing != "":
		return s.closing
	case len(s.terminals) >= s.opt.Sessions:
		return fmt.Sprintf("All %d places are taken. Try again when somebody has left.", s.opt.Sessions)
	}
	taken := map[string]bool{}
	for other := range s.terminals {
		taken[other.Seat] = true
	}
	for n := 1; ; n++ {
		t.key = who.seat()
		t.Seat, t.Name = fmt.Sprintf("%s-%d", who.seat(), n), who.Name
		if n > 1 {
			t.Name = fmt.Sprintf("%s (%d)", who.Name, n)
		}
		if !taken[t.Seat] {
			t.Second = n > 1
			break
		}
	}
	s.terminals[t] = true
	return ""
}

func (s *Server) free(t *Terminal) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.terminals, t)
	close(t.gone)
}

// Shutdown takes nobody in any more, tells those who are there why and waits until they have
// left. Connections that are still open when the context ends are closed.
func (s *Server) Shutdown(ctx context.Context, why string) {
	s.mu.Lock()
	s.closing = why
	if s.listener != nil {
		_ = s.listener.Close()
	}
	for t := range s.terminals {
		t.leave(why)
	}
	idle := maps.Clone(s.conns)
	for t := range s.terminals {
		delete(idle, t.conn)
	}
	s.mu.Unlock()
	for conn := range idle { // nobody sits there
		_ = conn.Close()
	}
	left := make(chan struct{})
	go func() {
		s.work.Wait()
		close(left)
	}()
	select {
	case <-left:
		return
	case <-ctx.Done():
	}
	s.mu.Lock()
	for conn := range s.conns {
		_ = conn.Close()
	}
	s.mu.Unlock()
	<-left
}
