package ticket

import (
	"fmt"
	"strings"

	"foreshaft/engine/caution"
	"foreshaft/ui/text"
)

// markdown writes the ticket as Markdown (CommonMark, with the tables and the boxes to tick
// of GitHub's).
func (t *Ticket) markdown() string {
	var out strings.Builder
	line := func(format string, args ...any) { out.WriteString(text.Guard(fmt.Sprintf(format, args...)) + "\n") }
	paragraphs := func(list []string) {
		for _, words := range list {
			line("%s", literal(words))
			line("")
		}
	}
	line("# %s", literal(t.title))
	line("")
	for _, f := range t.head {
		line("- **%s:** %s", literal(f.name), literal(f.words))
	}
	for i := range t.sections {
		s := &t.sections[i]
		line("")
		if s.title != "" {
			line("## %s", literal(s.title))
			line("")
		}
		if s.level == "" {
			paragraphs(s.words)
		} else {
			for k, words := range s.words {
				if k > 0 {
					line(">")
				}
				line("> %s", loud(s.level, words))
			}
		}
		if d := s.drawing; d != nil {
			paragraphs([]string{d.title})
			// Nothing in the strip comes from outside.
			line("```")
			line("%s", d.strip)
			line("```")
			line("")
			paragraphs([]string{stripSigns})
			for _, m := range d.dimensions {
				line("- %s", literal(m.words))
			}
			line("")
		}
		if s.table != nil {
			for _, block := range s.table.blocks(across + 1) {
				markdownTable(line, &block)
			}
		}
		for k, step := range s.steps {
			line("%d. [ ] **%s** %s", k+1, literal(step.what), literal(step.how))
		}
		if len(s.steps) > 0 && len(s.after) > 0 {
			line("")
		}
		paragraphs(s.after)
	}
	return out.String()
}

// loud writes a caution with its level in bold.
func loud(level caution.Level, words string) string {
	first, rest, _ := strings.Cut(words, " ")
	if level == caution.Danger {
		return "**" + literal(first) + "** **" + literal(rest) + "**"
	}
	return "**" + literal(first) + "** " + literal(rest)
}

func markdownTable(line func(string, ...any), t *table) {
	row := func(cells []string, tick string) {
		words := make([]string, len(cells))
		for i := range cells {
			words[i] = literal(cells[i])
		}
		if t.ticks != nil {
			words = append(words, tick)
		}
		line("| %s |", strings.Join(words, " | "))
	}
	row(t.head, "made")
	columns := len(t.head)
	if t.ticks != nil {
		columns++
	}
	line("|%s", strings.Repeat(" --- |", columns))
	for i, cells := range t.rows {
		tick := ""
		if t.ticks != nil {
			tick = literal(box(t.ticks[i]))
		}
		row(cells, tick)
	}
	line("")
}

// special lists the characters that can begin or end markup anywhere in a line.
const special = "\\`*_[]<>&|~$^"

// literal escapes a text of one line so that it is shown letter by letter: it starts no
// markup, links nowhere and breaks no table.
func literal(words string) string {
	var out strings.Builder
	for i, r := range words {
		rest := words[i:]
		switch {
		case strings.ContainsRune(special, r),
			i == 0 && strings.ContainsRune("#+-=", r), // a heading, a list, a rule
			r == ':' && strings.HasPrefix(rest, "://"),
			r == '.' && i >= 3 && strings.EqualFold(words[i-3:i], "www"), // links without markup
			r == '@': // and addresses
			out.WriteByte('\\')
		case (r == '.' || r == ')') && numbered(words[:i]) && (len(rest) == 1 || rest[1] == ' '): // a numbered list
			out.WriteByte('\\')
		}
		out.WriteRune(r)
	}
	return out.String()
}

// numbered reports whether all that stands before a place is a number.
func numbered(before string) bool {
	return before != "" && strings.Trim(before, "0123456789") == ""
}
