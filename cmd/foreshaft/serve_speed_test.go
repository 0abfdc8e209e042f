package main

import (
	"errors"
	"io"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"golang.org/x/crypto/ssh"
)

// The load of a busy shop, and what it may cost: the budget of a key to its frame is 30 ms for
// 95 of a hundred.
const (
	busyTerminals = 20
	keysASecond   = 5
)

// typist is somebody at a terminal elsewhere who measures how long frames take.
type typist struct {
	stdin  io.Writer
	output chan struct{} // something was drawn
	took   []time.Duration
}

// draws reads what a terminal gets, and throws it away.
func (p *typist) draws(from io.Reader) {
	buf := make([]byte, 1<<16)
	for {
		n, err := from.Read(buf)
		if n > 0 {
			select {
			case p.output <- struct{}{}:
			default:
			}
		}
		if err != nil {
			return
		}
	}
}

// press presses a key and waits for what it draws.
func (p *typist) press(key string) error {
	select {
	case <-p.output: // of something else
	default:
	}
	began := time.Now()
	if _, err := io.WriteString(p.stdin, key); err != nil {
		return err
	}
	select {
	case <-p.output:
		p.took = append(p.took, time.Since(began))
		return nil
	case <-time.After(5 * time.Second):
		return errors.New("no frame within five seconds")
	}
}

// BenchmarkServe has twenty terminals press five keys a second each, every one a change of a
// part, over loopback. A round is a second: -benchtime 60x is a minute.
func BenchmarkServe(b *testing.B) {
	s := serveHere(b)
	idle := residentMB(b, s.cmd.Process.Pid)
	private, err := os.ReadFile(filepath.Join(s.dir, "one"))
	if err != nil {
		b.Fatal(err)
	}
	signer, err := ssh.ParsePrivateKey(private)
	if err != nil {
		b.Fatal(err)
	}
	typists := make([]*typist, busyTerminals)
	for i := range typists {
		client, err := ssh.Dial("tcp", net.JoinHostPort("127.0.0.1", s.port), &ssh.ClientConfig{User: "anybody", Auth: []ssh.AuthMethod{ssh.PublicKeys(signer)}, HostKeyCallback: ssh.InsecureIgnoreHostKey(), Timeout: 10 * time.Second})
		if err != nil {
			b.Fatal(err)
		}
		defer client.Close()
		session, err := client.NewSession()
		if err != nil {
			b.Fatal(err)
		}
		p := &typist{output: make(chan struct{}, 1)}
		out, errOut := session.StdoutPipe()
		p.stdin, err = session.StdinPipe()
		if err := errors.Join(errOut, err, session.RequestPty("xterm-256color", 36, 120, nil), session.Shell()); err != nil {
			b.Fatal(err)
		}
		go p.draws(out)
		typists[i] = p
	}
	time.Sleep(2 * time.Second) // until all have drawn their first frame
	rounds := 0
	for b.Loop() {
		var all sync.WaitGroup
		for i, p := range typists {
			all.Go(func() {
				// Not all in the same moment.
				time.Sleep(time.Duration(i) * time.Second / busyTerminals / keysASecond)
				for n := range keysASecond {
					began := time.Now()
					if err := p.press([]string{"+", "-"}[(n+rounds)%2]); err != nil {
						b.Error(i, err)
						return
					}
					time.Sleep(time.Second/keysASecond - time.Since(began))
				}
			})
		}
		all.Wait()
		rounds++
	}
	var took []time.Duration
	for _, p := range typists {
		took = append(took, p.took...)
	}
	slices.Sort(took)
	at := func(share float64) float64 {
		return float64(took[min(int(share*float64(len(took))), len(took)-1)]) / float64(time.Millisecond)
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(at(.5), "p50-ms")
	b.ReportMetric(at(.95), "p95-ms")
	b.ReportMetric(at(.99), "p99-ms")
	b.ReportMetric((residentMB(b, s.cmd.Process.Pid)-idle)/busyTerminals, "MB/terminal")
}

// residentMB is the memory of a process without the pages of files.
func residentMB(b *testing.B, pid int) float64 {
	b.Helper()
	data, err := os.ReadFile(filepath.Join("/proc", strconv.Itoa(pid), "status"))
	if err != nil {
		b.Skip("no such figure on this system: ", err)
	}
	m := regexp.MustCompile(`RssAnon:\s+(\d+) kB`).FindSubmatch(data)
	kB, err := strconv.Atoi(string(m[1]))
	if err != nil {
		b.Fatal(err)
	}
	return float64(kB) / 1024
}
