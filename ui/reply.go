package ui

import tea "github.com/charmbracelet/bubbletea"

// reply swallows a terminal's answer to the question for its background colour
// when that comes after the program stopped waiting for it, as it may over a
// slow line. The framework does not know such answers: "ESC ] 11 ; rgb:…" arrives
// as Alt+] and letters, which would act as keys.
type reply struct{ read int }

// mostReply is longer than any such answer.
const mostReply = 40

// swallows reports whether a key is part of such an answer. What could not stand
// in one ends it and is a key again.
func (r *reply) swallows(k tea.KeyMsg) bool {
	switch {
	case r.read == 0:
		if k.Type == tea.KeyRunes && k.Alt && string(k.Runes) == "]" {
			r.read = 1
			return true
		}
		return false
	case k.Type == tea.KeyCtrlG, k.Type == tea.KeyRunes && k.Alt && string(k.Runes) == `\`:
		r.read = 0 // BEL or ST, which end it
		return true
	case k.Type == tea.KeyRunes && !k.Alt && len(k.Runes) == 1 && belongs(k.Runes[0]) && r.read < mostReply:
		r.read++
		return true
	}
	r.read = 0
	return false
}

// belongs reports whether a letter may stand in "11;rgb:1e1e/1e1e/1e1e".
func belongs(r rune) bool {
	return r >= '0' && r <= '9' || r >= 'a' && r <= 'f' || r >= 'A' && r <= 'F' || r == ';' || r == ':' || r == '/' || r == 'r' || r == 'g'
}
