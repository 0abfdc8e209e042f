package store

import (
	"path/filepath"
	"runtime"
)

// EnvPath is the environment variable that names the workbook.
const EnvPath = "FORESHAFT_WORKBOOK"

// DefaultPath returns where the workbook is when nobody says otherwise: the
// file that FORESHAFT_WORKBOOK names, else foreshaft/workbook.db in
// XDG_DATA_HOME, else in the user's data folder of the operating system. env
// looks up an environment variable. The error says that there is no such folder.
func DefaultPath(env func(string) string) (string, error) { return defaultPath(env, runtime.GOOS) }

func defaultPath(env func(string) string, system string) (string, error) {
	if path := env(EnvPath); path != "" {
		return path, nil
	}
	folder := userFolder(env, system, "XDG_DATA_HOME", "LOCALAPPDATA", ".local/share")
	if folder == "" {
		return "", sentence("There is no home folder to keep the workbook in. Nothing was written; set HOME, or name a file with --workbook PATH or " + EnvPath + ".")
	}
	return filepath.Join(folder, "foreshaft", "workbook.db"), nil
}

// userFolder returns the user's folder of one sort: the one that the variable
// xdg names, else that of the operating system, which is in the variable
// windows there and elsewhere in the home folder. It is empty when there is none.
func userFolder(env func(string) string, system, xdg, windows, unix string) string {
	// The standard for this variable says to ignore a relative path.
	if folder := env(xdg); filepath.IsAbs(folder) {
		return folder
	}
	if system == "windows" {
		return env(windows)
	}
	home := env("HOME")
	switch {
	case home == "":
		return ""
	case system == "darwin":
		return filepath.Join(home, "Library", "Application Support")
	}
	return filepath.Join(home, unix)
}
