package main

import (
	"errors"
	"sync"
)

// gate counts what a terminal has under way in the workbook, so that its seat is not given to
// another while an old bench is still on its way to the disk.
type gate struct {
	mu     sync.Mutex
	inside int
	shut   chan struct{} // made by close, closed when nobody is inside
}

var errLeft = errors.New("this terminal has left")

// enter is called before something is changed, and leave after it. It refuses once the gate is
// closed.
func (g *gate) enter() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.shut != nil {
		return errLeft
	}
	g.inside++
	return nil
}

func (g *gate) leave() {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.inside--; g.inside == 0 && g.shut != nil {
		close(g.shut)
	}
}

// close lets nobody in any more and waits for those who are.
func (g *gate) close() {
	g.mu.Lock()
	if g.shut == nil {
		g.shut = make(chan struct{})
		if g.inside == 0 {
			close(g.shut)
		}
	}
	shut := g.shut
	g.mu.Unlock()
	<-shut
}
