package figure

// MissingError says which input a figure lacks.
type MissingError struct{ Input string }

// Error returns "needs …".
func (e *MissingError) Error() string { return "needs " + e.Input }

// Needs returns a *MissingError that names an input.
func Needs(input string) error { return &MissingError{Input: input} }
