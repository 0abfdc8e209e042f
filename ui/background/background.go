// Package background settles, before the screen framework starts, whether the
// terminal is taken to be dark.
//
// The framework asks the terminal for its background colour in a package
// initialiser. A terminal that does not answer holds the whole program up for
// seconds there, even for "--version", and the question itself goes out as
// escape bytes. The framework does not ask when the answer is already known,
// so this package declares one in its own initialiser.
//
// Go initialises packages in the order of their import paths, as far as their
// imports allow. Two things therefore have to stay as they are: this package
// imports lipgloss and nothing else, and its path sorts before the
// framework's. Import it, blank, from the package that starts the program.
//
// The declared value is only a placeholder. The program asks for the real one
// itself, once and with a short limit: see AskBackground in ui/theme.
package background

import "github.com/charmbracelet/lipgloss"

func init() {
	lipgloss.SetHasDarkBackground(true)
}
