package main

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"foreshaft/ui"
)

// hub passes on between the terminals that share a workbook what each changes in it.
type hub struct {
	mu      sync.Mutex
	members []*member
}

// member is one terminal. Its methods that pass something on return at once.
type member struct {
	hub  *hub
	name string

	mu     sync.Mutex
	news   []ui.Elsewhere // that it was not told yet
	wakeup chan struct{}
}

// join lets a terminal take part. It is told what the others change by calls of tell from
// another goroutine, one at a time, until it leaves.
func (h *hub) join(name string, tell func(ui.Elsewhere)) *member {
	m := &member{hub: h, name: name, wakeup: make(chan struct{}, 1)}
	h.mu.Lock()
	h.members = append(h.members, m)
	h.mu.Unlock()
	go func() {
		for range m.wakeup {
			m.mu.Lock()
			news := m.news
			m.news = nil
			m.mu.Unlock()
			for _, n := range news {
				tell(n)
			}
		}
	}()
	return m
}

// names lists who takes part, for a sentence.
func (h *hub) names() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	names := make([]string, len(h.members))
	for i, m := range h.members {
		names[i] = m.name
	}
	if len(names) == 0 {
		return "whoever comes"
	}
	return strings.Join(names, ", ")
}

// leave ends taking part.
func (m *member) leave() {
	m.hub.mu.Lock()
	defer m.hub.mu.Unlock()
	m.hub.members = slices.DeleteFunc(m.hub.members, func(o *member) bool { return o == m })
	close(m.wakeup)
}

// tell passes on to the others what this terminal changed. A terminal that is slow to take
// it gets what it missed in one: it reads the workbook then, not the news.
func (m *member) tell(what ui.Elsewhere) {
	what.By = m.name
	m.hub.mu.Lock()
	defer m.hub.mu.Unlock()
	for _, o := range m.hub.members {
		if o == m {
			continue
		}
		o.mu.Lock()
		if n := len(o.news); n > 0 && o.news[n-1].By == what.By {
			last := &o.news[n-1]
			last.Drawer, last.Saved = last.Drawer || what.Drawer, last.Saved || what.Saved
			last.Entries = append(last.Entries, what.Entries...)
		} else {
			o.news = append(o.news, what)
		}
		o.mu.Unlock()
		select {
		case o.wakeup <- struct{}{}:
		default:
		}
	}
}

// othersError is why something is not done that concerns what others have on their screens.
type othersError struct{ names []string }

// Error names them.
func (e *othersError) Error() string {
	return fmt.Sprintf("The workbook is also in use at %s, and what is on a screen there could bring the name back. Have them leave first, with q; their benches are kept, and are erased from too.", strings.Join(e.names, ", "))
}

// alone does something during which no other terminal may take part, and refuses where one
// does.
func (m *member) alone(do func() error) error {
	m.hub.mu.Lock()
	defer m.hub.mu.Unlock()
	var others []string
	for _, o := range m.hub.members {
		if o != m {
			others = append(others, o.name)
		}
	}
	if len(others) > 0 || len(m.hub.members) == 0 {
		return &othersError{others}
	}
	return do()
}
