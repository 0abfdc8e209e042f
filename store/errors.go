package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"syscall"

	"foreshaft/engine/record"
)

// sentence is an error that is shown to a person as it stands.
type sentence string

// Error returns the sentence.
func (s sentence) Error() string { return string(s) }

func sentencef(format string, args ...any) error { return sentence(fmt.Sprintf(format, args...)) }

// ErrClosed is returned by every call after Close.
const ErrClosed = sentence("The workbook is already closed. What was saved before is safe; start the program again to go on.")

// InUseError says that another process, or another part of this one, holds the
// workbook. An Owner with PID 0 did not say who it is.
type InUseError struct {
	Path  string
	Owner Owner
}

// Error says who holds the workbook and what to do.
func (e *InUseError) Error() string {
	who := "another program"
	if o := e.Owner; o.PID != 0 {
		who = fmt.Sprintf("%s, process %d on %s, since %s", o.program(), o.PID, o.host(), o.Since.Format("2006-01-02 15:04"))
	}
	return fmt.Sprintf("The workbook %s is in use by %s. It was not touched. Quit that one first, or choose another workbook with --workbook PATH.", e.Path, who)
}

// NewerError says that the workbook was written by a later version of the program.
type NewerError struct {
	Path   string
	Schema int // of the workbook
	Known  int // the latest this program knows
}

// Error says that nothing was changed and what to do.
func (e *NewerError) Error() string {
	return fmt.Sprintf("The workbook %s was written by a newer version of this program (workbook version %d; this one knows up to %d). "+
		"Nothing in it was changed. Use the newer version, or choose another workbook with --workbook PATH.", e.Path, e.Schema, e.Known)
}

// DamagedError says that the workbook, or a part of it, cannot be read.
type DamagedError struct {
	Path     string
	SetAside string // where Open moved the damaged file; empty when it is where it was
	Backup   string // the newest backup; empty when there is none
	Cause    error
}

// Error says what is damaged, where it is now and what to do.
func (e *DamagedError) Error() string {
	if e.SetAside == "" {
		text := fmt.Sprintf("A part of the workbook %s is damaged: %v. Nothing was deleted or overwritten. ", e.Path, e.Cause)
		if e.Backup == "" {
			return text + "There is no backup that is whole. What can still be read, can be written to files: one by one from Saved, or with foreshaft export."
		}
		return text + "The newest backup that is whole is " + e.Backup + fmt.Sprintf(": foreshaft restore --workbook %s goes back to it and keeps this file too. What came since can be written to files before, as far as it can be read: one by one from Saved, or with foreshaft export.", e.Path)
	}
	text := fmt.Sprintf("The workbook %s is damaged: %v. It was set aside unchanged as %s; nothing was deleted. ", e.Path, e.Cause, e.SetAside)
	if e.Backup == "" {
		return text + "There is no backup that is whole. Start again for a new workbook."
	}
	return text + fmt.Sprintf("The newest backup that is whole is %s: foreshaft restore --workbook %s goes back to it.", e.Backup, e.Path)
}

// Unwrap returns the cause.
func (e *DamagedError) Unwrap() error { return e.Cause }

// AccessError says that a file could not be read or written: rights, a
// read-only or full disk. What was saved before is as it was.
type AccessError struct {
	Path  string
	Doing string // such as "opened" or "saved"
	Cause error
}

// Error says what is safe and what to do about the cause.
func (e *AccessError) Error() string { return noAccess(e.Path, e.Doing, e.Cause, "--workbook PATH") }

// noAccess says that a file could not be read or written, and what to do:
// elsewhere is what names another file.
func noAccess(path, doing string, err error, elsewhere string) string {
	what := fmt.Sprintf("%s could not be %s. ", path, doing)
	const safe = "What was saved before is safe. "
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return "The disk is full: " + what + safe + "Free some space and try again."
	case errors.Is(err, syscall.EROFS):
		return "The disk can only be read: " + what + safe + "Choose a place that can be written with " + elsewhere + "."
	case errors.Is(err, fs.ErrPermission):
		return "You lack the right: " + what + safe + "Change the rights of the file and its folder, or choose another place with " + elsewhere + "."
	}
	return capitalized(cause(err)) + ": " + what + safe + "Choose another place with " + elsewhere + " if this goes on."
}

// Unwrap returns the cause.
func (e *AccessError) Unwrap() error { return e.Cause }

func capitalized(words string) string {
	if words == "" {
		return ""
	}
	return strings.ToUpper(words[:1]) + words[1:]
}

// cause leaves out the path that the sentence already names.
func cause(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err.Error()
	}
	return err.Error()
}

// besideError is something that went wrong beside the work, with what it means.
type besideError struct {
	what  string
	cause error
}

// Error says both.
func (e *besideError) Error() string { return e.what + " " + e.cause.Error() }

// Unwrap returns the cause.
func (e *besideError) Unwrap() error { return e.cause }

// CopyError is an AccessError about a copy of the workbook, which itself is as it was.
type CopyError struct{ AccessError }

// Error says what is safe and which other name would do.
func (e *CopyError) Error() string {
	const safe = "The workbook is as it was. What was saved before is safe. "
	what := e.Path + " could not be " + e.Doing + ". "
	info, err := os.Stat(e.Path)
	switch {
	case err == nil && info.IsDir():
		return e.Path + " is a folder. " + safe + "Name a new file in it."
	case errors.Is(e.Cause, fs.ErrExist):
		return e.Path + " is there already and was left alone. " + safe + "Give another name."
	case errors.Is(e.Cause, fs.ErrNotExist) && e.Doing == "opened":
		return "There is no file " + e.Path + ". Nothing was changed."
	case errors.Is(e.Cause, fs.ErrNotExist):
		return "There is no folder " + folderOf(e.Path) + ". " + safe + "Make it first, or name a file in another."
	case errors.Is(e.Cause, syscall.ENOSPC), errors.Is(e.Cause, syscall.EDQUOT):
		return "The disk is full: " + what + safe + "Free some space, or name a file on another disk."
	case errors.Is(e.Cause, syscall.EROFS):
		return "The disk can only be read: " + what + safe + "Name a file on another disk."
	case errors.Is(e.Cause, fs.ErrPermission):
		return "You lack the right: " + what + safe + "Name a file in another folder, or change the rights of this one."
	}
	return capitalized(cause(e.Cause)) + ": " + what + safe + "Name another file if this goes on."
}

// Unwrap returns the AccessError.
func (e *CopyError) Unwrap() error { return &e.AccessError }

// MovedError says that the file that was opened is not at its path any more.
type MovedError struct{ Path string }

// Error says what is safe and how to keep the rest.
func (e *MovedError) Error() string {
	return fmt.Sprintf("%s is not the file that was opened: another program deleted, moved or replaced it. What you see is still here. "+
		"Write a copy of all of it to a new file with B before you quit, then put that in its place.", e.Path)
}

// MissingError says that there is no workbook where backups of one are.
type MissingError struct {
	Path   string
	Empty  bool   // there is a file, which holds nothing
	Backup string // the newest that is whole, empty where none is
	Count  int    // how many there are
}

// Error says how to bring it back, and how to begin anew.
func (e *MissingError) Error() string {
	what := "There is no workbook " + e.Path
	if e.Empty {
		what = "The workbook " + e.Path + " is empty"
	}
	back := "None of them is whole."
	if e.Backup != "" {
		back = fmt.Sprintf("The newest that is whole is %s: foreshaft restore --workbook %s brings it back.", e.Backup, e.Path)
	}
	return fmt.Sprintf("%s, but %d of its backups are beside it. Nothing was changed. %s To begin with a new workbook all the same: foreshaft --new; the backups stay.", what, e.Count, back)
}

// SettingsError says that the settings file could not be read or written, or
// that it breaks a rule. The file is as it was.
type SettingsError struct {
	Path  string
	Doing string // such as "read" or "saved"
	Cause error  // a *record.Error for a rule
}

// Error names the place in the file, or says what to do about another cause.
func (e *SettingsError) Error() string {
	var rule *record.Error
	if errors.As(e.Cause, &rule) {
		return fmt.Sprintf("The settings file %s cannot be used: %v. It was not changed, and nothing is saved over it. "+
			"Correct that, move the file away to go on without settings, or name another one with %s.", e.Path, rule, EnvSettings)
	}
	return noAccess(e.Path, e.Doing, e.Cause, EnvSettings)
}

// Unwrap returns the cause.
func (e *SettingsError) Unwrap() error { return e.Cause }

// NotFoundError says that something saved, or a revision of it, is not there.
type NotFoundError struct {
	ID       uint64
	Revision int // 0 when the whole entry is not there
}

// Error says what is not there.
func (e *NotFoundError) Error() string {
	if e.Revision > 0 {
		return fmt.Sprintf("Number %d in the workbook has no revision %d. Nothing was changed; choose one from its list.", e.ID, e.Revision)
	}
	return fmt.Sprintf("There is nothing saved under number %d in the workbook. Nothing was changed; choose one from the list.", e.ID)
}

// MissingCustomerError says that nobody has the name.
type MissingCustomerError struct{ Name string }

// Error says who is not there.
func (e *MissingCustomerError) Error() string {
	return fmt.Sprintf("There is no customer %q in the workbook, or not under that name any more. Nothing was changed; choose one from the list.", e.Name)
}

// InvalidError says that something cannot be stored because it could not be
// read back.
type InvalidError struct {
	What  string
	Cause error
}

// Error names the value that is wrong.
func (e *InvalidError) Error() string {
	return fmt.Sprintf("%s was not saved: %v. What was saved before is safe; correct that value and save again.", e.What, e.Cause)
}

// Unwrap returns the cause.
func (e *InvalidError) Unwrap() error { return e.Cause }
