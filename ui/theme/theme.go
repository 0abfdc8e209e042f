// Package theme holds the program's colours. Everything else names a meaning,
// a Token, and no other package names a colour.
//
// Colour is never the only sign of anything: what has the focus, what changed
// and what is a caution is also shown by a character. The colours keep a
// contrast of at least 4.5:1 on the backgrounds a theme is made for, and
// cautions and changes can be told apart with the common kinds of colour
// blindness.
//
// The package also asks the terminal whether its background is light or dark.
package theme

import (
	"fmt"
	"io"
	"strings"

	"github.com/muesli/termenv"
)

// Token is what a piece of text means on the screen.
type Token int

// The tokens.
const (
	Plain    Token = iota // ordinary text and numbers
	Quiet                 // secondary text: units, remarks, what is switched off
	Heading               // names of screens and columns
	Label                 // names of rows and fields
	Focus                 // what the next key acts on
	Changed               // what the last key changed
	Note                  // a caution to know about
	Warn                  // a caution to think about
	Danger                // a caution that forbids shooting
	Rule                  // lines and frames
	Input                 // a field that takes typing
	Key                   // keys in the footer and in help
	Baseline              // the column that others are compared with
	// Shade to the last of the shades are text on grounds from the least of a range
	// to the greatest. They say more or less, and never better or worse.
	Shade
	tokens = Shade + Shades // how many there are
)

// Shades is how many grounds a range is told apart by.
const Shades = 5

// Name is the name of a theme, as written in the settings.
type Name string

// The themes.
const (
	Light Name = "light" // for terminals with a light background
	Dark  Name = "dark"  // for terminals with a dark background
	Mono  Name = "mono"  // no colour and no escape sequence at all
)

// ParseName returns the theme called s, or an error that lists the names.
func ParseName(s string) (Name, error) {
	switch n := Name(s); n {
	case Light, Dark, Mono:
		return n, nil
	}
	return "", fmt.Errorf("theme %q: want %s, %s or %s", s, Light, Dark, Mono)
}

// Next returns the theme after n in the order light, dark, mono and round
// again.
func (n Name) Next() Name {
	switch n {
	case Light:
		return Dark
	case Dark:
		return Mono
	}
	return Light
}

// Profile returns how many colours w can show, from the environment alone and
// without asking the terminal. It is termenv.Ascii, no colour, when w is not a
// terminal, when NO_COLOR is set and not empty, or when TERM names no colours.
func Profile(w io.Writer) termenv.Profile {
	return termenv.NewOutput(w).EnvColorProfile()
}

// ProfileOf is Profile for a terminal of that environment, written as NAME=VALUE.
func ProfileOf(env []string) termenv.Profile {
	return termenv.NewOutput(io.Discard, termenv.WithTTY(true), termenv.WithEnvironment(Environ(env))).EnvColorProfile()
}

// Environ is an environment other than the program's own, written as NAME=VALUE.
type Environ []string

// Environ returns it as NAME=VALUE.
func (e Environ) Environ() []string { return e }

// Getenv returns a value, empty where there is none.
func (e Environ) Getenv(name string) string {
	for _, pair := range e {
		if value, ok := strings.CutPrefix(pair, name+"="); ok {
			return value
		}
	}
	return ""
}

// Theme paints text. It does not change after New, so several goroutines may
// share one.
type Theme struct {
	name   Name
	prefix [tokens]string
}

// reset ends every painted text.
const reset = termenv.CSI + termenv.ResetSeq + "m"

// New returns the named theme in the colours that profile has. Mono, the
// profile Ascii and a name that is none of the three give a theme without
// colour, whose Name is Mono.
func New(name Name, profile termenv.Profile) *Theme {
	var looks *[tokens]look
	switch name {
	case Light:
		looks = &lightLooks
	case Dark:
		looks = &darkLooks
	}
	if looks == nil || profile == termenv.Ascii {
		return &Theme{name: Mono}
	}
	t := &Theme{name: name}
	for tok := range looks {
		t.prefix[tok] = looks[tok].prefix(profile)
	}
	return t
}

// Name returns the name of the theme in use, Mono when there is no colour.
func (t *Theme) Name() Name { return t.name }

// Paint returns s in the colours of tok, followed by a full reset. Empty text
// and text of a theme without colour come back unchanged. Text that is painted
// already must not be painted again: its reset would end the outer colour.
func (t *Theme) Paint(tok Token, s string) string {
	if s == "" || tok < 0 || tok >= tokens || t.prefix[tok] == "" {
		return s
	}
	return t.prefix[tok] + s + reset
}
