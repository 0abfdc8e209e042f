package bench

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"foreshaft/ui/present"
	"foreshaft/ui/ticket"
)

// printPrompt asks for the file that the marks of the build in focus are written to.
func (m *Model) printPrompt() dialog {
	col, name, one := m.col, m.build().Name, "yard"
	if m.units().Metres {
		one = "metre"
	}
	var write func(m *Model, typed string) (Request, error)
	write = func(m *Model, typed string) (Request, error) {
		list := m.Job().DistancesOrDefault()
		strip, err := ticket.MarksOf(m.session.Sheet(), col, slices.Min(list), slices.Max(list))
		if err != nil {
			return nil, err
		}
		ending := strings.TrimPrefix(filepath.Ext(typed), ".")
		if ending == "" {
			return nil, fmt.Errorf("a name with an ending is needed: .%s", strings.Join(ticket.Formats, ", ."))
		}
		data, err := strip.As(ending)
		if err != nil {
			return nil, err
		}
		return Write{Path: typed, Data: data, What: "the marks of " + present.Letter(col) + " " + short(name), again: write}, nil
	}
	return newPrompt(m, prompt{
		title: fmt.Sprintf("Marks of %s for every %s. Write them to a new file, whose ending says how: .html or .svg to print at true size, .txt to read", short(name), one),
		text:  fileName(name) + "-marks.html", accept: write,
	})
}

// mostFileName keeps a proposed name on one line, whatever the build is called.
const mostFileName = 30

// fileName makes a name for a file of a build's name: letters and digits of any
// alphabet, and nothing that a shell or a file system would take for something
// else.
func fileName(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	if len(words) == 0 {
		return "build"
	}
	letters := []rune(strings.Join(words, "-"))
	return strings.TrimRight(string(letters[:min(len(letters), mostFileName)]), "-")
}

// Written says what became of a file that was asked for.
func (m *Model) Written(w Write, path string, err error) {
	if err != nil {
		// With the name to mend, unless it was asked for from somewhere that is left.
		p := m.filePrompt(w.What, w.Path, func(path string) Request { return Write{Path: path, Data: w.Data, What: w.What} })
		if w.again != nil {
			p = newPrompt(m, prompt{title: capital(w.What) + ", to a new file called", text: w.Path, accept: w.again})
		}
		m.open(p)
		m.Alert("Not written. %s", capital(err.Error()))
		return
	}
	m.Say("Wrote %s to %s.", w.What, path)
}
