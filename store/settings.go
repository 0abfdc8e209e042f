package store

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"github.com/go-json-experiment/json/jsontext"

	"foreshaft/engine/fitting"
	"foreshaft/engine/record"
)

// EnvSettings is the environment variable that names the settings file.
const EnvSettings = "FORESHAFT_SETTINGS"

// SettingsFormat is the name and version of the settings file's format.
const SettingsFormat = "foreshaft-settings/1"

// mostSettings is the largest settings file that is read, in bytes.
const mostSettings = 1_000_000

// Settings is what a user has chosen for every sitting, whatever the workbook.
// What is empty was not chosen. Only settings from LoadSettings, or with the
// Format set, can be saved.
type Settings struct {
	Format string `job:"format" need:"yes" one:"foreshaft-settings/1"`
	Theme  string `job:"theme" one:"light,dark,mono"`
	Units  Units  `job:"units"`
	Mouse  bool   `job:"mouse"`
	// Currency is what the prices of the drawer are in, as it is written behind them.
	Currency string              `job:"currency"`
	Keys     map[string][]string `job:"keys"` // action → keys that do it; the screen judges both
	// Purposes is what arrows are for in a fitting, as edited.
	Purposes []fitting.Purpose `job:"purposes"`
}

// Units is in which units quantities are shown and typed. What is empty was not
// chosen.
type Units struct {
	Weight   string `job:"weight" one:"gr,g"`
	Length   string `job:"length" one:"in,cm,mm"`
	Speed    string `job:"speed" one:"ft/s,m/s"`
	Force    string `job:"force" one:"lb,N"`
	Distance string `job:"distance" one:"yd,m"`
}

// SettingsPath returns where the settings are: the file that
// FORESHAFT_SETTINGS names, else foreshaft/settings.json in XDG_CONFIG_HOME,
// else in the user's configuration folder of the operating system. env looks up
// an environment variable. The error says that there is no such folder.
func SettingsPath(env func(string) string) (string, error) { return settingsPath(env, runtime.GOOS) }

func settingsPath(env func(string) string, system string) (string, error) {
	if path := env(EnvSettings); path != "" {
		return path, nil
	}
	folder := userFolder(env, system, "XDG_CONFIG_HOME", "APPDATA", ".config")
	if folder == "" {
		return "", sentence("There is no home folder to keep the settings in. Nothing was written; set HOME, or name a file with " + EnvSettings + ".")
	}
	return filepath.Join(folder, "foreshaft", "settings.json"), nil
}

// LoadSettings reads the settings file by the strict rules of package record.
// Where there is no file, or an empty one, nothing was chosen: the settings have
// their Format alone. The error is a *SettingsError, and what comes with it
// cannot be saved, so that it does not replace what somebody wrote.
func LoadSettings(path string) (Settings, error) {
	data, err := readSettings(path)
	if err == nil && len(data) == 0 {
		return Settings{Format: SettingsFormat}, nil
	}
	s := Settings{}
	if err == nil {
		s, err = decodeSettings(data)
	}
	if err != nil {
		return Settings{}, &SettingsError{path, "read", err}
	}
	return s, nil
}

// readSettings returns what is in the settings file, at most one byte more than
// is allowed; nothing when there is no file.
func readSettings(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		// A pipe would be waited for, and a device read, for ever.
		return nil, &record.Error{Message: "it is not a file"}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, mostSettings+1))
}

func decodeSettings(data []byte) (Settings, error) {
	var s Settings
	if len(data) > mostSettings {
		return s, &record.Error{Message: "it is larger than 1 MB"}
	}
	err := record.Decode(data, &s)
	if err == nil {
		err = fitting.CheckPurposes(s.Purposes)
		if at := (*record.Error)(nil); errors.As(err, &at) {
			err = &record.Error{Path: "purposes" + at.Path, Message: at.Message}
		}
	}
	return s, err
}

// Save replaces the settings file, and makes its folder when there is none. A
// link stays a link: the file it names is replaced. A file that LoadSettings
// refuses is not replaced. The settings are on the disk when the call returns
// nil. The error is an *InvalidError for settings that could not be read back, a
// *SettingsError when the file is as it was.
func (s Settings) Save(path string) error {
	data, err := s.encode()
	if err != nil {
		return &InvalidError{"The settings file", err}
	}
	if _, err := LoadSettings(path); err != nil {
		return err
	}
	real, err := followLinks(path)
	if err == nil {
		err = os.MkdirAll(folderOf(real), 0o700)
	}
	if err == nil {
		err = replaceFile(real, tempPattern(real), data, true)
	}
	if err != nil {
		return &SettingsError{path, "saved", err}
	}
	return nil
}

// encode writes the settings as people edit them, and makes sure that they can
// be read back as they are.
func (s Settings) encode() ([]byte, error) {
	body, err := encode(s)
	if err != nil {
		return nil, err
	}
	data := jsontext.Value(bytes.Clone(body))
	if err := data.Indent(jsontext.WithIndent("  ")); err != nil {
		return nil, err
	}
	data = append(data, '\n')
	back, err := decodeSettings(data)
	if err == nil && !bytes.Equal(record.Encode(back), body) {
		err = errors.New("it holds a text with blanks at an end, or signs that are not kept")
	}
	return data, err
}

// followLinks returns the path that links lead to, also when no file is there
// yet.
func followLinks(path string) (string, error) {
	const most = 40
	for range most {
		// A relative link starts at the folder itself, not at a link to the folder.
		if folder, err := filepath.EvalSymlinks(folderOf(path)); err == nil {
			path = filepath.Join(folder, filepath.Base(path))
		}
		next, err := os.Readlink(path)
		if err != nil {
			return path, nil // it is no link
		}
		if !filepath.IsAbs(next) {
			next = filepath.Join(folderOf(path), next)
		}
		path = next
	}
	return "", errors.New("its links lead in a circle")
}
