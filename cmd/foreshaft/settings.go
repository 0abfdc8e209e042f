package main

import (
	"fmt"
	"os"
	"strings"

	"foreshaft/engine/label"
	"foreshaft/engine/unit"
	"foreshaft/store"
	"foreshaft/ui/bench"
	"foreshaft/ui/keys"
	"foreshaft/ui/serve"
	"foreshaft/ui/theme"
)

// settings is what a user has chosen for every sitting, and what is wrong with
// the file that says so. The program starts with whatever can be used of it.
type settings struct {
	path     string // of the file
	in       chosen // where choices are kept
	keys     *keys.Map
	choices  bench.Choices
	problems []string
	paint    func(theme.Name) *theme.Theme
	broken   error      // why nothing can be kept in the file
	heard    string     // of an answer that the terminal had begun to give
	once     theme.Name // what the command line chose, for this sitting
}

// chosen is a place where what a user chose is kept.
type chosen interface {
	Choices() (store.Settings, error)
	KeepChoices(store.Settings) error
}

// file is the settings file at a path.
type settingsFile string

func (f settingsFile) Choices() (store.Settings, error)   { return store.LoadSettings(string(f)) }
func (f settingsFile) KeepChoices(s store.Settings) error { return s.Save(string(f)) }

// readSettings reads the settings file. A theme on the command line goes before
// the one chosen.
func readSettings(env func(string) string, look string) (*settings, error) {
	profile := theme.Profile(os.Stdout)
	s := &settings{keys: keys.Default(), paint: func(n theme.Name) *theme.Theme { return theme.New(n, profile) }}
	path, err := store.SettingsPath(env)
	stored := store.Settings{}
	if err == nil {
		s.path, s.in = path, settingsFile(path)
		stored, err = s.in.Choices()
	}
	if s.broken = err; err != nil {
		s.problems = append(s.problems, err.Error()+" This sitting has the usual units, colours and keys.")
	}
	s.problems = append(s.problems, s.keys.Rebind(stored.Keys)...)
	s.choices = choicesOf(stored)
	if look != "" {
		if s.choices.Theme, err = theme.ParseName(look); err != nil {
			return nil, badInput{err}
		}
		s.once = s.choices.Theme
	}
	return s, nil
}

func choicesOf(stored store.Settings) bench.Choices {
	return bench.Choices{Theme: theme.Name(stored.Theme), Units: unitsOf(stored.Units), Mouse: stored.Mouse, Currency: label.Clean(stored.Currency), Purposes: stored.Purposes}
}

// settingsOfSeat returns what was chosen at a seat, in the colours that its terminal has. Keys,
// and what a new seat begins with, are those of the settings file; its colours are not, because
// they suit another terminal.
func settingsOfSeat(env func(string) string, seat store.Seat, t *serve.Terminal) (*settings, error) {
	s, err := readSettings(env, "")
	if err != nil {
		return nil, err
	}
	profile := theme.ProfileOf(t.Environ())
	s.paint = func(n theme.Name) *theme.Theme { return theme.New(n, profile) }
	stored, err := seat.Choices()
	if err != nil {
		s.problems = append(s.problems, err.Error())
	}
	s.choices.Theme, s.choices.Mouse = "", false
	if stored.Theme != "" || stored.Units != (store.Units{}) || stored.Mouse || stored.Currency != "" || len(stored.Purposes) > 0 {
		s.choices = choicesOf(stored)
	}
	s.path, s.in, s.broken = "", seat, nil
	return s, nil
}

// ground returns what suits the terminal's background. The terminal is asked
// only when nobody has chosen.
func (s *settings) ground() theme.Name {
	if os.Getenv("NO_COLOR") != "" {
		return theme.Mono
	}
	if s.choices.Theme == theme.Light || s.choices.Theme == theme.Dark {
		return s.choices.Theme
	}
	wait := theme.AskWait
	if os.Getenv("SSH_CONNECTION") != "" {
		wait = theme.AskWaitAfar
	}
	var dark bool
	if dark, _, s.heard = theme.AskBackground(os.Stdin, os.Stdout, wait); dark {
		return theme.Dark
	}
	return theme.Light
}

// trouble is what to say at the start about a file that is not understood whole.
func (s *settings) trouble() string {
	switch len(s.problems) {
	case 0:
		return ""
	case 1:
		return "Settings: " + s.problems[0]
	}
	return fmt.Sprintf("Settings: %s (and %d more: press %s to read them)", strings.TrimSuffix(s.problems[0], "."), len(s.problems)-1, s.keys.Bench.Press(keys.Settings))
}

// about says where the settings are and what is wrong with them.
func (s *settings) about() []string {
	var out []string
	switch _, file := s.in.(settingsFile); {
	case file:
		out = []string{"Kept in " + s.path + ", a file that you may edit while the program is not running."}
	case s.in != nil:
		out = []string{"Kept for your key, in the workbook that is shared. Keys are those of the computer that serves."}
	}
	return append(out, s.problems...)
}

// keep stores what was chosen, beside what else the file says by now.
func (s *settings) keep(c bench.Choices) error {
	if s.broken != nil {
		return s.broken
	}
	stored, err := s.in.Choices()
	if err != nil {
		return err
	}
	stored.Units, stored.Mouse, stored.Currency, stored.Purposes = storedUnits(c.Units), c.Mouse, c.Currency, c.Purposes
	if s.once == "" || c.Theme != s.once {
		stored.Theme, s.once = string(c.Theme), ""
	}
	return s.in.KeepChoices(stored)
}

// unitsOf reads the units from the settings, which let no other words in.
func unitsOf(u store.Units) unit.System {
	shown, _ := unit.ParseSystem(strings.Join([]string{u.Weight, u.Length, u.Speed, u.Force, u.Distance}, ","))
	return shown
}

func storedUnits(u unit.System) store.Units {
	return store.Units{
		Weight: u.Shown(unit.Grains).Symbol, Length: u.Shown(unit.Inches).Symbol, Speed: u.Shown(unit.FeetPerSecond).Symbol,
		Force: u.Shown(unit.PoundsForce).Symbol, Distance: u.Shown(unit.Yards).Symbol,
	}
}
