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
	folder := env("XDG_DATA_HOME")
	// The standard for this variable says to ignore a relative path.
	if !filepath.IsAbs(folder) {
		folder = dataFolder(env, system)
	}
	if folder == "" {
		return "", sentence("There is no home folder to keep the workbook in. Nothing was written; set HOME, or name a file with --workbook PATH or " + EnvPath + ".")
	}
	return filepath.Join(folder, "foreshaft", "workbook.db"), nil
}

func dataFolder(env func(string) string, system string) string {
	if system == "windows" {
		return env("LOCALAPPDATA")
	}
	home := env("HOME")
	switch {
	case home == "":
		return ""
	case system == "darwin":
		return filepath.Join(home, "Library", "Application Support")
	}
	return filepath.Join(home, ".local", "share")
}
