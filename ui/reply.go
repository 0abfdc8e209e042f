package ui

import (
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"
)

// reply swallows what a terminal sends by itself where the framework takes it for
// keys: an answer to the question for its background colour that comes after the
// program stopped waiting, as it may over a slow line, and sequences that arrive
// in pieces. "ESC ] 11 ; rgb:…" would come as Alt+] and letters, each of which
// does something.
type reply struct {
	heard string
	last  time.Time
	// answer is the last whole sequence that was swallowed.
	answer string
}

// pause is how far apart the pieces of one sequence may come. A person who
// presses Esc and then, later, a key that could go on with one means the key.
const pause = time.Second

// swallows reports whether a key is a piece of such a sequence. What could not
// stand in one is a key again. Esc alone is one as well, and may begin one.
func (r *reply) swallows(k tea.KeyMsg, now time.Time) bool {
	heard := r.heard
	if now.Sub(r.last) > pause {
		heard = ""
	}
	r.heard, r.last = "", now
	piece := bytesOf(k)
	if piece == "" {
		return false
	}
	switch said := heard + piece; sequence(said) {
	case begun:
		r.heard = said
		return said != escape
	case whole:
		r.answer = said
		return true
	}
	if sequence(piece) == begun { // it is none of the old one and may begin another
		r.heard = piece
		return piece != escape
	}
	return false
}

const escape = "\x1b"

// bytesOf returns what the terminal sent for a key, as far as sequences go.
func bytesOf(k tea.KeyMsg) string {
	switch {
	case k.Type == tea.KeyEsc:
		return escape
	case k.Type == tea.KeyCtrlG:
		return "\a"
	case k.Type == tea.KeyRunes && !k.Paste && k.Alt:
		return escape + string(k.Runes)
	case k.Type == tea.KeyRunes && !k.Paste:
		return string(k.Runes)
	}
	return ""
}

// standing says how far a text is a sequence.
type standing int

const (
	none standing = iota
	begun
	whole
)

// mostSequence is longer than any sequence meant here.
const mostSequence = 48

// sequence reports whether a text is a control sequence (ESC [ …, ESC O …) or an
// answer about the background (OSC 11), or the beginning of one.
func sequence(s string) standing {
	rest, found := strings.CutPrefix(s, escape)
	switch {
	case !found || len(s) > mostSequence:
		return none
	case rest == "":
		return begun
	}
	body := rest[1:]
	switch rest[0] {
	case 'O':
		return ends(body, "")
	case '[':
		return ends(body, "0123456789;?<")
	case ']':
		return colourAnswer(body)
	}
	return none
}

// ends reports how far a text is letters among some and then one that ends it.
func ends(body, among string) standing {
	body = strings.TrimLeft(body, among)
	switch {
	case body == "":
		return begun
	case len(body) == 1 && (body[0] >= 'A' && body[0] <= 'Z' || body[0] >= 'a' && body[0] <= 'z' || body[0] == '~'):
		return whole
	}
	return none
}

// colourAnswer reports how far a text is "11;rgb:1e1e/1e1e/1e1e" and its end.
func colourAnswer(body string) standing {
	const head = "11;rgb"
	if len(body) <= len(head) {
		if strings.HasPrefix(head, body) {
			return begun
		}
		return none
	}
	rest, found := strings.CutPrefix(body, head)
	if !found {
		return none
	}
	switch end := strings.TrimLeft(strings.TrimPrefix(rest, "a"), ":/0123456789abcdefABCDEF"); end {
	case "", escape:
		return begun
	case "\a", escape + `\`:
		return whole
	}
	return none
}
