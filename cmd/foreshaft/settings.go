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
	"foreshaft/ui/theme"
)

// settings is what a user has chosen for every sitting, and what is wrong with
// the file that says so. The program starts with whatever can be used of it.
type settings struct {
	path     string
	keys     *keys.Map
	choices  bench.Choices
	problems []string
	paint    func(theme.Name) *theme.Theme
	broken   error      // why nothing can be kept in the file
	heard    string     // of an answer that the terminal had begun to give
	once     theme.Name // what the command line chose, for this sitting
}

// readSettings reads the settings file. A theme on the command line goes before
// the one chosen.
func readSettings(env func(string) string, look string) (*settings, error) {
	profile := theme.Profile(os.Stdout)
	s := &settings{keys: keys.Default(), paint: func(n theme.Name) *theme.Theme { return theme.New(n, profile) }}
	path, err := store.SettingsPath(env)
	stored := store.Settings{}
	if err == nil {
		s.path = path
		stored, err = store.LoadSettings(path)
	}
	if s.broken = err; err != nil {
		s.problems = append(s.problems, err.Error()+" This sitting has the usual units, colours and keys.")
	}
	s.problems = append(s.problems, s.keys.Rebind(stored.Keys)...)
	s.choices = bench.Choices{Theme: theme.Name(stored.Theme), Units: unitsOf(stored.Units), Mouse: stored.Mouse, Currency: label.Clean(stored.Currency), Purposes: stored.Purposes}
	if look != "" {
		if s.choices.Theme, err = theme.ParseName(look); err != nil {
			return nil, badInput{err}
		}
		s.once = s.choices.Theme
	}
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
	out := []string{"Kept in " + s.path + ", a file that you may edit while the program is not running."}
	if s.path == "" {
		out = nil
	}
	return append(out, s.problems...)
}

// keep stores what was chosen, beside what else the file says by now.
func (s *settings) keep(c bench.Choices) error {
	if s.broken != nil {
		return s.broken
	}
	stored, err := store.LoadSettings(s.path)
	if err != nil {
		return err
	}
	stored.Units, stored.Mouse, stored.Currency, stored.Purposes = storedUnits(c.Units), c.Mouse, c.Currency, c.Purposes
	if s.once == "" || c.Theme != s.once {
		stored.Theme, s.once = string(c.Theme), ""
	}
	return stored.Save(s.path)
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
