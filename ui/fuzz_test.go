package ui

import (
	"errors"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"foreshaft/engine/job"
	"foreshaft/engine/part"
	"foreshaft/store"
	"foreshaft/ui/bench"
)

// pressable are the keys that a byte stands for; the other bytes are letters.
var pressable = []tea.KeyType{
	tea.KeyEnter, tea.KeyEsc, tea.KeyUp, tea.KeyDown, tea.KeyLeft, tea.KeyRight, tea.KeyTab, tea.KeyShiftTab, tea.KeyBackspace, tea.KeyDelete, tea.KeyHome, tea.KeyEnd,
	tea.KeyPgUp, tea.KeyPgDown, tea.KeyInsert, tea.KeyF1, tea.KeyF2, tea.KeyCtrlA, tea.KeyCtrlD, tea.KeyCtrlE, tea.KeyCtrlK, tea.KeyCtrlL, tea.KeyCtrlN, tea.KeyCtrlO, tea.KeyCtrlP,
	tea.KeyCtrlR, tea.KeyCtrlS, tea.KeyCtrlT, tea.KeyCtrlW, tea.KeyCtrlX, tea.KeyCtrlY, tea.KeyCtrlZ,
}

// Whatever is pressed, pasted and resized in the whole program, each frame is as large as the
// screen and what is on the bench can be kept. A byte is a key; from 0xF0 on the screen gets
// another size, 0xEF pastes the bytes up to the next one.
func FuzzKeys(f *testing.F) {
	for _, keys := range []string{"+\x80-z", "5231.4\x80231.6\x80\x86\xf1", "7\x98abc\x80", "4\x83\x80\x81q", "p\x9b\x80dozen.txt\x80", "g\x80\x80\x80", ":undo\x80", "\xf0\xf3\xf7n?", "5\xef231.4\n231.2\n\xef\x87\x80", "b\x83\x83\x8075\x80", "X\x80a\x80\x80"} {
		f.Add([]byte(keys))
	}
	sizes := [][2]int{{120, 36}, {80, 24}, {200, 60}, {79, 24}, {1, 1}, {0, 0}, {81, 25}, {100, 30}}
	f.Fuzz(func(t *testing.T, data []byte) {
		const most = 60 // keys: one that breaks something does so early
		if len(data) > most {
			data = data[:most]
		}
		s := newSitting(t)
		s.keeper.Shelf = closedShelf{}
		size := sizes[0]
		send := func(msg tea.Msg) {
			s.take(msg)
			for range 4 { // what it led to, as far as it is there
				select {
				case m := <-s.inbox:
					s.take(m)
				default:
				}
			}
			lines := strings.Split(s.app.View(), "\n")
			if size[1] > 0 && len(lines) != size[1] {
				t.Fatalf("%d lines on a screen of %v after %q", len(lines), size, data)
			}
			for _, l := range lines {
				if size[0] > 0 && ansi.StringWidth(l) != size[0] {
					t.Fatalf("a line of %d cells on a screen of %v after %q: %q", ansi.StringWidth(l), size, data, l)
				}
			}
		}
		for i := 0; i < len(data) && !s.ended; i++ {
			switch b := data[i]; {
			case b >= 0xf0:
				size = sizes[int(b)%len(sizes)]
				send(tea.WindowSizeMsg{Width: size[0], Height: size[1]})
			case b == 0xef:
				rest := data[i+1:]
				if end := strings.IndexByte(string(rest), 0xef); end >= 0 {
					rest = rest[:end]
				}
				send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(string(rest)), Paste: true})
				i += len(rest) + 1
			case b >= 0x80 && int(b-0x80) < len(pressable):
				send(tea.KeyMsg{Type: pressable[b-0x80]})
			case b == ' ':
				send(tea.KeyMsg{Type: tea.KeySpace, Runes: []rune{' '}})
			default:
				send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{rune(b)}})
			}
		}
		if _, err := job.DecodeBench(s.app.bench.Job().Encode()); err != nil {
			t.Fatalf("after %q the bench cannot be kept: %v", data, err)
		}
	})
}

// closedShelf has nothing and takes nothing: everything that is asked of it fails.
type closedShelf struct{}

var errClosed = errors.New("nothing is on the shelf")

func (closedShelf) Describe(bench.Entry, store.Words, store.Words) (store.Words, error) {
	return store.Words{}, errClosed
}
func (closedShelf) Bin(bench.Entry, bool) error                     { return errClosed }
func (closedShelf) EmptyBin() (int, error)                          { return 0, errClosed }
func (closedShelf) Revisions(bench.Entry) ([]bench.Revision, error) { return nil, errClosed }
func (closedShelf) Restore(bench.Entry, int) (int, bool, error)     { return 0, false, errClosed }
func (closedShelf) PutCustomer(store.Customer, store.Customer) (store.Customer, error) {
	return store.Customer{}, errClosed
}
func (closedShelf) Traces(string) (*store.Erased, error) { return nil, errClosed }
func (closedShelf) Erase(string) (*store.Erased, error)  { return nil, errClosed }
func (closedShelf) Bundle(store.Scope) ([]byte, error)   { return nil, errClosed }
func (closedShelf) Newest(bench.Entry) ([]byte, error)   { return nil, errClosed }
func (closedShelf) Read(string) ([]byte, error)          { return nil, errClosed }
func (closedShelf) TakeIn([]byte, string, bool) (bench.Intake, error) {
	return bench.Intake{}, errClosed
}
func (closedShelf) Backup(string, *job.Job) (string, error) { return "", errClosed }
func (closedShelf) Kept() (*job.Job, []part.Part, error)    { return nil, nil, errClosed }
