package serve

import (
	"io"
	"net"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/crypto/ssh"
)

// Size is that of a terminal in cells.
type Size struct{ Cols, Rows int }

// mostCols and mostRows are more than any screen has: a client may ask for anything.
const (
	mostCols = 1000
	mostRows = 500
)

// Terminal is one at the other end of a connection.
type Terminal struct {
	// Seat is the same each time that the key signs in, and another for a second terminal of it
	// at once. Name is what the others see.
	Seat, Name string
	// Second says that another terminal of the key has its first seat.
	Second bool
	// Term is the kind of terminal, Env what else it says of itself, as NAME=VALUE.
	Term string
	Env  []string
	// Sizes has the newest size that was not taken yet, and one from the start.
	Sizes chan Size
	// Leave gets why the terminal has to go, once; empty where it has gone already.
	Leave chan string

	key     string // whose it is
	conn    net.Conn
	signed  ssh.Conn
	gone    chan struct{} // closed once it has left
	leaving atomic.Bool
	channel ssh.Channel
	in      *io.PipeReader
	keys    *io.PipeWriter
	writing sync.Mutex
	going   sync.Once
	late    *time.Timer // closes the connection of one that does not leave
	server  *Server
}

// Read gives what is typed, and io.EOF once nobody can type any more.
func (t *Terminal) Read(p []byte) (int, error) { return t.in.Read(p) }

// Write draws on the terminal. What one call writes is not torn apart by another.
func (t *Terminal) Write(p []byte) (int, error) {
	t.writing.Lock()
	defer t.writing.Unlock()
	return t.channel.Write(p)
}

// Environ returns what the terminal says of itself, its kind too, as NAME=VALUE.
func (t *Terminal) Environ() []string { return append([]string{"TERM=" + t.Term}, t.Env...) }

// leave has the terminal go, and closes its connection when it does not.
func (t *Terminal) leave(why string) {
	t.going.Do(func() {
		t.leaving.Store(true)
		t.Leave <- why
		t.late = time.AfterFunc(t.server.opt.Patience, func() { _ = t.conn.Close() })
	})
}

// answers reports whether the terminal says in time that it is still there. Any answer will do.
func (t *Terminal) answers(wait time.Duration) bool {
	answered := make(chan error, 1)
	go func() {
		_, _, err := t.signed.SendRequest("keepalive@openssh.com", true, nil)
		answered <- err
	}()
	select {
	case err := <-answered:
		return err == nil
	case <-time.After(wait):
		return false
	}
}

// resize keeps the newest size for whoever takes it next.
func (t *Terminal) resize(cols, rows uint32) {
	size := Size{int(min(cols, mostCols)), int(min(rows, mostRows))}
	for {
		select {
		case t.Sizes <- size:
			return
		default:
		}
		select {
		case <-t.Sizes:
		default:
		}
	}
}

// The requests of a session channel (RFC 4254, 6.2 to 6.7).
type (
	ptyRequest struct {
		Term       string
		Cols, Rows uint32
		Width      uint32
		Height     uint32
		Modes      string
	}
	windowChange struct{ Cols, Rows, Width, Height uint32 }
	envRequest   struct{ Name, Value string }
	exitStatus   struct{ Status uint32 }
)

// told is what of its surroundings a terminal may say: how it shows colours.
var told = []string{"COLORTERM", "COLORFGBG", "NO_COLOR"}

// mostValue is the longest value of those.
const mostValue = 64

// session serves the terminal of a connection until it ends.
func (s *Server) session(conn net.Conn, signed ssh.Conn, late *time.Timer, channel ssh.Channel, wishes <-chan *ssh.Request, who Key) {
	in, keys := io.Pipe()
	t := &Terminal{Sizes: make(chan Size, 1), Leave: make(chan string, 1), channel: channel, in: in, keys: keys, server: s, conn: conn, signed: signed, gone: make(chan struct{})}
	ready := s.wishes(t, who, wishes)
	select {
	case shown, open := <-ready:
		if !open {
			_ = channel.Close()
			return
		}
		if !shown {
			end(channel, "This is a program for a terminal. With OpenSSH: ssh -t", 1)
			return
		}
	case <-time.After(s.opt.SignIn):
		_ = channel.Close()
		return
	}
	s.clearSeats(who)
	refused := s.take(t, who)
	if refused != "" {
		s.log("%s was not let in: %s", who.Name, refused)
		end(channel, refused, 1)
		return
	}
	late.Stop()
	s.log("%s came in from %s", t.Name, conn.RemoteAddr())
	go t.pump(s.opt.Idle)
	go t.watch()
	goodbye := s.opt.Run(t)
	s.free(t)
	t.leave("") // for who did not need to be asked
	_ = in.Close()
	s.log("%s left", t.Name)
	end(channel, goodbye, 0)
	t.late.Stop()
}

// wishes answers the requests of a session, and tells once when the program is asked for,
// with whether there is a terminal. It is closed when the session ends before that.
func (s *Server) wishes(t *Terminal, who Key, wishes <-chan *ssh.Request) <-chan bool {
	ready := make(chan bool, 1)
	go func() {
		defer close(ready)
		terminal, begun, refused := false, false, false
		for w := range wishes {
			ok := false
			switch w.Type {
			case "pty-req":
				var p ptyRequest
				if ok = !terminal && !begun && ssh.Unmarshal(w.Payload, &p) == nil; ok {
					terminal, t.Term = true, p.Term[:min(len(p.Term), mostValue)]
					t.resize(p.Cols, p.Rows)
				}
			case "env":
				var e envRequest
				ok = !begun && ssh.Unmarshal(w.Payload, &e) == nil && slices.Contains(told, e.Name) && len(e.Value) <= mostValue && len(t.Env) < len(told)
				if ok {
					t.Env = append(t.Env, e.Name+"="+e.Value)
				}
			case "window-change":
				var c windowChange
				if ok = ssh.Unmarshal(w.Payload, &c) == nil; ok {
					t.resize(c.Cols, c.Rows)
				}
			case "shell": // the program stands in its place
				ok = !begun
			}
			// Commands, subsystems such as the one for files, agents and X11 are not to be had.
			if w.WantReply {
				_ = w.Reply(ok, nil)
			}
			if w.Type == "shell" && ok { // once that is answered: the session may be over at once
				begun = true
				ready <- terminal
			}
			if (w.Type == "exec" || w.Type == "subsystem") && !refused {
				refused = true // told once
				s.log("%s asked for more than a terminal (%s) and was refused", who.Name, w.Type)
			}
		}
	}()
	return ready
}

// watch has a terminal leave that is gone without a word, such as a computer that sleeps.
func (t *Terminal) watch() {
	for {
		select {
		case <-t.gone:
			return
		case <-time.After(t.server.opt.Ping):
			if !t.answers(t.server.opt.Ping) {
				t.leave("")
				_ = t.conn.Close()
				return
			}
		}
	}
}

// pump hands on what is typed. When nobody can type any more, or nobody has for long, the
// terminal has to go.
func (t *Terminal) pump(idle time.Duration) {
	var timer *time.Timer
	if idle > 0 {
		timer = time.AfterFunc(idle, func() { t.leave("Nobody pressed a key for " + span(idle) + ".") })
		defer timer.Stop()
	}
	buf := make([]byte, 4096)
	for {
		n, err := t.channel.Read(buf)
		if n > 0 {
			if timer != nil {
				timer.Reset(idle)
			}
			if _, err := t.keys.Write(buf[:n]); err != nil {
				return
			}
		}
		if err != nil {
			_ = t.keys.Close()
			t.leave("")
			return
		}
	}
}

// span writes a duration without its zeros.
func span(d time.Duration) string {
	return strings.TrimSuffix(strings.TrimSuffix(d.String(), "0s"), "0m")
}

// end writes a last line and ends a session with a status.
func end(channel ssh.Channel, goodbye string, status uint32) {
	if goodbye != "" {
		_, _ = io.WriteString(channel, "foreshaft: "+strings.ReplaceAll(goodbye, "\n", "\r\n")+"\r\n")
	}
	_, _ = channel.SendRequest("exit-status", false, ssh.Marshal(exitStatus{status}))
	_ = channel.Close()
}
