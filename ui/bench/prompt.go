package bench

import (
	"strings"

	"github.com/charmbracelet/bubbles/textinput"
	tea "github.com/charmbracelet/bubbletea"

	"foreshaft/engine/label"
	"foreshaft/ui/keys"
	"foreshaft/ui/text"
	"foreshaft/ui/theme"
)

// mostTyped bounds what a field takes; names are cut for show, never stored cut
// without a word.
const mostTyped = 1000

// prompt asks for one line of text. An inline prompt is drawn in the cell that
// it changes, any other on the effect line.
type prompt struct {
	title  string
	text   string
	inline bool
	// accept takes what was typed. An error keeps the prompt open and is shown.
	accept func(m *Model, text string) (Request, error)
	input  input
}

func newPrompt(m *Model, p prompt) *prompt {
	p.input = newInput(p.text)
	m.Say("%s", p.title)
	return &p
}

// input is a field that takes typing. What stood in it at first is replaced by
// the first letter typed, emptied by Backspace, and edited after any other key.
type input struct {
	textinput.Model
	fresh bool
}

// newInput returns a focused field with text in it, the cursor at its end.
func newInput(value string) input {
	in := textinput.New()
	in.Prompt = ""
	// A name that came from a file may be longer: it is not cut by looking at it.
	in.CharLimit = max(mostTyped, len(value))
	in.SetValue(value)
	in.CursorEnd()
	in.Focus()
	return input{Model: in, fresh: value != ""}
}

// typed gives a key to a field. Pasted text is cleaned first.
func typed(in *input, k tea.KeyMsg) {
	if k.Type == tea.KeyRunes {
		k.Runes = []rune(keepSpaces(string(k.Runes)))
	}
	if in.fresh {
		switch k.Type {
		case tea.KeyRunes, tea.KeySpace, tea.KeyBackspace, tea.KeyDelete:
			in.SetValue("")
		}
	}
	in.fresh = false
	in.Model, _ = in.Update(k)
}

// keepSpaces cleans typed text but keeps spaces at its ends, which are the ends
// of a key press and not of the name.
func keepSpaces(s string) string {
	cleaned := label.Clean("x" + s + "x")
	return strings.TrimSuffix(strings.TrimPrefix(cleaned, "x"), "x")
}

func (p *prompt) key(m *Model, k tea.KeyMsg) (bool, Request) {
	switch m.keys.Entry.Action(k) {
	case keys.Cancel:
		m.Say("Left as it was.")
		return true, nil
	case keys.Accept:
		m.message = ""
		r, err := p.accept(m, strings.TrimSpace(p.input.Value()))
		if err != nil {
			m.Say("%s", sentence(err))
			return false, nil
		}
		return true, r
	}
	typed(&p.input, k)
	return false, nil
}

func (p *prompt) draw(*Model, int, int) []string { return nil }
func (p *prompt) typing() bool                   { return true }
func (p *prompt) footer(m *Model) []keys.Hint    { return m.keys.EntryFooter() }

// field draws an input in exactly w cells with its cursor as a bar, so that it
// shows without colour.
func field(t *theme.Theme, in *input, w int) string {
	runes := []rune(in.Value())
	at := min(in.Position(), len(runes))
	line := string(runes[:at]) + "▏" + string(runes[at:])
	if inner := w - 2; text.Width(line) > inner {
		// Keep the cursor in sight: drop from the left what does not fit.
		start := at
		for start > 0 && text.Width(string(runes[start-1:at])) <= inner-2 {
			start--
		}
		line = string(runes[start:at]) + "▏" + string(runes[at:])
		if start > 0 {
			line = text.Ellipsis + line
		}
	}
	return t.Paint(theme.Input, text.Pad("["+text.Pad(text.Cut(line, w-2), w-2)+"]", w))
}

// sentence makes an error a sentence.
func sentence(err error) string {
	if err.Error() == "" {
		return ""
	}
	return capital(err.Error()) + "."
}
