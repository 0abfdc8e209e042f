package ticket

// Windows writes a text in Windows-1252, as it stands in a PDF.
func Windows(words string) string {
	out, _ := windows(words)
	return out
}

// TypeSize returns the size of type in which the ticket is printed, in pt.
func (t *Ticket) TypeSize() float64 { return t.typeSize() }

// Literal escapes a text for Markdown.
var Literal = literal

// Texts returns every text of the ticket in the order in which it stands there.
func (t *Ticket) Texts() []string {
	var out []string
	t.each(func(s *string) {
		if *s != "" {
			out = append(out, *s)
		}
	})
	return out
}
