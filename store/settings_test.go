package store

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"foreshaft/engine/fitting"
	"foreshaft/engine/record"
	"foreshaft/engine/unit"
)

// chosen has something chosen everywhere.
func chosen() Settings {
	return Settings{
		Format: SettingsFormat, Theme: "dark", Mouse: true,
		Units:    Units{Weight: "g", Length: "mm", Speed: "m/s", Force: "N", Distance: "m"},
		Keys:     map[string][]string{"bench.undo": {"u", "ctrl+z"}, "bench.redo": {}},
		Currency: "EUR",
		Purposes: []fitting.Purpose{{Name: "mine", MinPerDraw: 7 * unit.GrainPerPound, MaxPerDraw: 9 * unit.GrainPerPound, MinFOC: 0.125, MaxFOC: 0.25, Note: "my own"}},
	}
}

// chosenText is chosen as it is written.
const chosenText = `{
  "format": "foreshaft-settings/1",
  "theme": "dark",
  "units": {
    "weight": "g",
    "length": "mm",
    "speed": "m/s",
    "force": "N",
    "distance": "m"
  },
  "mouse": true,
  "currency": "EUR",
  "keys": {
    "bench.redo": [],
    "bench.undo": [
      "u",
      "ctrl+z"
    ]
  },
  "purposes": [
    {
      "name": "mine",
      "min_weight_per_draw": 7,
      "max_weight_per_draw": 9,
      "min_foc_pct": 12.5,
      "max_foc_pct": 25,
      "note": "my own"
    }
  ]
}
`

func newSettingsPath(t *testing.T) string {
	return filepath.Join(t.TempDir(), "config", "foreshaft", "settings.json")
}

func load(t *testing.T, path string) Settings {
	t.Helper()
	s, err := LoadSettings(path)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func keep(t *testing.T, s Settings, path string) {
	t.Helper()
	if err := s.Save(path); err != nil {
		t.Fatal(err)
	}
}

// mustBeRefused fails unless the settings file at the path is refused with a
// sentence that says the words, and stays as it is whatever is saved over it.
func mustBeRefused(t *testing.T, path string, words ...string) {
	t.Helper()
	before, beside := readFile(t, path), folder(t, filepath.Dir(path))
	s, errLoad := LoadSettings(path)
	if !reflect.DeepEqual(s, Settings{}) {
		t.Errorf("half read: %+v", s)
	}
	for _, err := range []error{errLoad, chosen().Save(path)} {
		var settings *SettingsError
		if !errors.As(err, &settings) || settings.Path != path {
			t.Fatalf("%T %v", err, err)
		}
		says(t, err, append(words, path, EnvSettings)...)
	}
	if !bytes.Equal(readFile(t, path), before) || !slices.Equal(folder(t, filepath.Dir(path)), beside) {
		t.Errorf("touched: %v", folder(t, filepath.Dir(path)))
	}
}

func TestSettingsPath(t *testing.T) {
	for _, row := range []struct {
		system, want string
		env          map[string]string
	}{
		{"linux", "/tmp/s.json", map[string]string{EnvSettings: "/tmp/s.json", "XDG_CONFIG_HOME": "/x", "HOME": "/h"}},
		{"linux", "/x/foreshaft/settings.json", map[string]string{"XDG_CONFIG_HOME": "/x", "XDG_DATA_HOME": "/d", "HOME": "/h"}},
		{"linux", "/h/.config/foreshaft/settings.json", map[string]string{"XDG_CONFIG_HOME": "x", "HOME": "/h"}},
		{"linux", "/h/.config/foreshaft/settings.json", map[string]string{"XDG_DATA_HOME": "/d", EnvPath: "/w.db", "HOME": "/h"}},
		{"darwin", "/h/Library/Application Support/foreshaft/settings.json", map[string]string{"HOME": "/h"}},
		{"darwin", "/x/foreshaft/settings.json", map[string]string{"XDG_CONFIG_HOME": "/x", "HOME": "/h"}},
		{"windows", "/roaming/foreshaft/settings.json", map[string]string{"APPDATA": "/roaming", "LOCALAPPDATA": "/local", "HOME": "/h"}},
	} {
		got, err := settingsPath(func(name string) string { return row.env[name] }, row.system)
		if err != nil || filepath.ToSlash(got) != row.want {
			t.Errorf("%s %v: %q, %v, want %q", row.system, row.env, got, err, row.want)
		}
	}
	_, err := SettingsPath(func(string) string { return "" })
	says(t, err, "no home folder", "Nothing was written", EnvSettings)
}

func TestNoSettingsFileMeansNothingChosen(t *testing.T) {
	path := newSettingsPath(t)
	want := Settings{Format: SettingsFormat}
	if got := load(t, path); !reflect.DeepEqual(got, want) {
		t.Errorf("no file: %+v", got)
	}
	if exists(filepath.Dir(path)) {
		t.Error("reading made a folder")
	}
	writeFile(t, path, nil)
	if got := load(t, path); !reflect.DeepEqual(got, want) {
		t.Errorf("empty file: %+v", got)
	}
	keep(t, chosen(), path)
	if got := load(t, path); !reflect.DeepEqual(got, chosen()) {
		t.Errorf("over an empty file: %+v", got)
	}
}

func TestSettingsAreWrittenForPeople(t *testing.T) {
	for _, row := range []struct {
		name string
		s    Settings
		want string
	}{
		{"everything", chosen(), chosenText},
		{"nothing", Settings{Format: SettingsFormat}, "{\n  \"format\": \"foreshaft-settings/1\"\n}\n"},
		{"no keys", Settings{Format: SettingsFormat, Keys: map[string][]string{}}, "{\n  \"format\": \"foreshaft-settings/1\"\n}\n"},
		{"one unit", Settings{Format: SettingsFormat, Units: Units{Speed: "ft/s"}}, "{\n  \"format\": \"foreshaft-settings/1\",\n  \"units\": {\n    \"speed\": \"ft/s\"\n  }\n}\n"},
	} {
		t.Run(row.name, func(t *testing.T) {
			path := newSettingsPath(t)
			keep(t, row.s, path)
			if got := string(readFile(t, path)); got != row.want {
				t.Errorf("got\n%s\nwant\n%s", got, row.want)
			}
			first := load(t, path)
			if string(record.Encode(first)) != string(record.Encode(row.s)) {
				t.Errorf("read back as %+v", first)
			}
			keep(t, first, path)
			if got := string(readFile(t, path)); got != row.want {
				t.Errorf("the second time\n%s", got)
			}
			if got := folder(t, filepath.Dir(path)); !slices.Equal(got, []string{"settings.json"}) {
				t.Errorf("left behind: %v", got)
			}
		})
	}
}

// The words of the format are in every file that was ever written.
func TestEveryWordOfTheSettingsIsAccepted(t *testing.T) {
	for key, words := range map[string][]string{
		`"theme":`: {"light", "dark", "mono"}, `"units":{"weight":`: {"gr", "g"}, `"units":{"length":`: {"in", "cm", "mm"},
		`"units":{"speed":`: {"ft/s", "m/s"}, `"units":{"force":`: {"lb", "N"}, `"units":{"distance":`: {"yd", "m"},
	} {
		for _, word := range words {
			text := `{"format":"foreshaft-settings/1",` + key + `"` + word + `"}` + strings.Repeat("}", strings.Count(key, "{"))
			path := writeFile(t, newSettingsPath(t), []byte(text))
			keep(t, load(t, path), path)
			if got := string(readFile(t, path)); !strings.Contains(got, `: "`+word+`"`) {
				t.Errorf("%s became %s", text, got)
			}
		}
	}
}

func TestSettingsAsEditorsSaveThem(t *testing.T) {
	for name, text := range map[string]string{
		"byte-order mark":          "\ufeff" + chosenText,
		"line ends of DOS":         strings.ReplaceAll(chosenText, "\n", "\r\n"),
		"both":                     "\ufeff" + strings.ReplaceAll(chosenText, "\n", "\r\n"),
		"no line end behind it":    strings.TrimSuffix(chosenText, "\n"),
		"on one line, other order": `{"purposes":[{"note":"my own","max_foc_pct":25,"min_foc_pct":12.5,"max_weight_per_draw":9,"min_weight_per_draw":7,"name":"mine"}],"keys":{"bench.undo":["u","ctrl+z"],"bench.redo":[]},"units":{"distance":"m","force":"N","speed":"m/s","length":"mm","weight":"g"},"mouse":true,"currency":"EUR","theme":"dark","format":"foreshaft-settings/1"}`,
		"as large as it may be":    chosenText + strings.Repeat(" ", mostSettings-len(chosenText)),
	} {
		t.Run(name, func(t *testing.T) {
			path := writeFile(t, newSettingsPath(t), []byte(text))
			if got := load(t, path); !reflect.DeepEqual(got, chosen()) {
				t.Errorf("%+v", got)
			}
		})
	}
}

func TestSettingsThatBreakARuleAreRefusedAndKept(t *testing.T) {
	const start = "{\n \"format\": \"foreshaft-settings/1\",\n "
	for _, row := range []struct{ name, text, says string }{
		{"another theme", start + `"theme": "blue"}`, `: theme: must be light, dark or mono, got "blue". `},
		{"no theme", start + `"theme": ""}`, `: theme: must be light, dark or mono, got "". `},
		{"another weight", start + `"units": {"weight": "kg"}}`, `: units.weight: must be gr or g, got "kg". `},
		{"another length", start + `"units": {"length": "ft"}}`, `: units.length: must be in, cm or mm, got "ft". `},
		{"another speed", start + `"units": {"speed": "fps"}}`, `: units.speed: must be ft/s or m/s, got "fps". `},
		{"another force", start + `"units": {"force": "n"}}`, `: units.force: must be lb or N, got "n". `},
		{"another distance", start + `"units": {"distance": "ft"}}`, `: units.distance: must be yd or m, got "ft". `},
		{"unknown key", start + `"colour": "dark"}`, `: colour: is not a key of the format. `},
		{"unknown unit", start + `"units": {"Weight": "g"}}`, `: units.Weight: is not a key of the format: did you mean "weight"?`},
		{"repeated key", start + `"mouse": true, "mouse": true}`, `: mouse: is given twice. `},
		{"repeated action", start + `"keys": {"a.b": ["u"], "a.b": ["u"]}}`, `: keys.a.b: is given twice. `},
		{"key that is no text", start + `"keys": {"a.b": ["u", 1]}}`, `: keys.a.b[1]: must be a text in quotes, got 1. `},
		{"word for a switch", start + `"mouse": "on"}`, `: mouse: must be true or false, got "on". `},
		{"null", start + `"theme": null}`, `: theme: must not be null: leave it out instead. `},
		{"no format", `{"theme": "dark"}`, `: format: is missing. `},
		{"another format", `{"format": "foreshaft-settings/2"}`, `: format: must be foreshaft-settings/1, got "foreshaft-settings/2". `},
		{"comment", start + "// dark\n \"theme\": \"dark\"}", `: line 3, column 2: not valid JSON`},
		{"cut off", start, `: line 3, column 2: the text ends in the middle of the record. `},
		{"blanks", " \r\n", `: the text ends before the record does: nothing to read. `},
		{"one byte too large", chosenText + strings.Repeat(" ", mostSettings+1-len(chosenText)), `: it is larger than 1 MB. `},
		{"two records", chosenText + chosenText, `: there is more text behind the end of the record, at line 31, column 2. `},
	} {
		t.Run(row.name, func(t *testing.T) {
			mustBeRefused(t, writeFile(t, newSettingsPath(t), []byte(row.text)), "cannot be used"+row.says, "not changed", "nothing is saved over it")
		})
	}
}

func TestFolderInPlaceOfTheSettings(t *testing.T) {
	path := newSettingsPath(t)
	inside := writeFile(t, filepath.Join(path, "notes"), []byte("somebody's"))
	for range 2 {
		_, errLoad := LoadSettings(path)
		for _, err := range []error{errLoad, chosen().Save(path)} {
			says(t, err, path, "it is not a file", "not changed", EnvSettings)
		}
	}
	if string(readFile(t, inside)) != "somebody's" || !slices.Equal(folder(t, filepath.Dir(path)), []string{"settings.json"}) {
		t.Errorf("touched: %v", folder(t, filepath.Dir(path)))
	}
}

func TestFileWhereTheSettingsFolderShouldBe(t *testing.T) {
	file := writeFile(t, newSettingsPath(t), []byte("a letter"))
	err := chosen().Save(filepath.Join(file, "settings.json"))
	var settings *SettingsError
	if !errors.As(err, &settings) || string(readFile(t, file)) != "a letter" {
		t.Errorf("%v", err)
	}
}

func TestSettingsThatCouldNotBeReadBackAreNotSaved(t *testing.T) {
	path := newSettingsPath(t)
	keep(t, chosen(), path)
	failed, err := LoadSettings(writeFile(t, newSettingsPath(t), []byte("{")))
	if err == nil {
		t.Fatal("half a record was read")
	}
	with := func(change func(*Settings)) Settings {
		s := chosen()
		change(&s)
		return s
	}
	for _, row := range []struct {
		name string
		s    Settings
		say  string
	}{
		{"what a failed reading left", failed, `format: must be foreshaft-settings/1, got ""`},
		{"another theme", with(func(s *Settings) { s.Theme = "blue" }), `theme: must be light, dark or mono, got "blue"`},
		{"another unit", with(func(s *Settings) { s.Units.Force = "kg" }), `units.force: must be lb or N, got "kg"`},
		{"not UTF-8", with(func(s *Settings) { s.Keys["a"] = []string{"\xff"} }), "cannot be written"},
		// Read back it would be the empty text: the key that does it is lost.
		{"blank as a key", with(func(s *Settings) { s.Keys["a"] = []string{" "} }), "signs that are not kept"},
		{"actions that are the same when read", with(func(s *Settings) { s.Keys["bench.undo "] = nil }), "keys.bench.undo: is given twice"},
		{"too much", with(func(s *Settings) { s.Keys["a"] = []string{strings.Repeat("u", mostSettings)} }), "larger than 1 MB"},
	} {
		t.Run(row.name, func(t *testing.T) {
			err := row.s.Save(path)
			var invalid *InvalidError
			if !errors.As(err, &invalid) {
				t.Fatalf("%T %v", err, err)
			}
			says(t, err, "The settings file was not saved", row.say)
			if got := string(readFile(t, path)); got != chosenText {
				t.Errorf("it became %s", got)
			}
		})
	}
}

func TestOnlyTheUserMayReadTheSettings(t *testing.T) {
	onUnix(t)
	path := newSettingsPath(t)
	keep(t, chosen(), path)
	open := writeFile(t, newSettingsPath(t), nil)
	if err := os.Chmod(open, 0o644); err != nil {
		t.Fatal(err)
	}
	keep(t, chosen(), open)
	for path, want := range map[string]os.FileMode{path: 0o600, filepath.Dir(path): 0o700, filepath.Dir(filepath.Dir(path)): 0o700, open: 0o600} {
		info, err := os.Stat(path)
		if err != nil || info.Mode().Perm() != want {
			t.Errorf("%s: %v, %v, want %v", path, info.Mode().Perm(), err, want)
		}
	}
}

// Those who keep their settings files together elsewhere put links in their place.
func TestLinkToTheSettingsStaysALink(t *testing.T) {
	onUnix(t)
	for _, row := range []struct {
		name string
		link func(home string) error // makes home/.config/foreshaft/settings.json lead to home/dots/settings.json
	}{
		{"absolute", func(home string) error {
			return os.Symlink(filepath.Join(home, "dots", "settings.json"), filepath.Join(home, ".config", "foreshaft", "settings.json"))
		}},
		{"relative", func(home string) error {
			return os.Symlink("../../dots/settings.json", filepath.Join(home, ".config", "foreshaft", "settings.json"))
		}},
		{"by way of another", func(home string) error {
			return errors.Join(os.Symlink("other.json", filepath.Join(home, ".config", "foreshaft", "settings.json")),
				os.Symlink("../../dots/settings.json", filepath.Join(home, ".config", "foreshaft", "other.json")))
		}},
		{"in a folder that is a link", func(home string) error {
			deep := filepath.Join(home, "a", "b", "c", "foreshaft")
			return errors.Join(os.Remove(filepath.Join(home, ".config", "foreshaft")), os.MkdirAll(deep, 0o700),
				os.Symlink(deep, filepath.Join(home, ".config", "foreshaft")),
				os.Symlink("../../../../dots/settings.json", filepath.Join(deep, "settings.json")))
		}},
		{"the folder alone", func(home string) error {
			return errors.Join(os.Remove(filepath.Join(home, ".config", "foreshaft")), os.Symlink("../dots", filepath.Join(home, ".config", "foreshaft")))
		}},
	} {
		for _, there := range []bool{true, false} {
			name := row.name
			if !there {
				name += ", no file yet"
			}
			t.Run(name, func(t *testing.T) {
				home := t.TempDir()
				path, target := filepath.Join(home, ".config", "foreshaft", "settings.json"), filepath.Join(home, "dots", "settings.json")
				if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o700), os.MkdirAll(filepath.Dir(target), 0o700), row.link(home)); err != nil {
					t.Fatal(err)
				}
				if there {
					writeFile(t, target, []byte(`{"format":"foreshaft-settings/1","theme":"mono"}`))
					if s := load(t, path); s.Theme != "mono" {
						t.Errorf("%+v", s)
					}
				} else if s := load(t, path); s.Theme != "" {
					t.Errorf("%+v", s)
				}
				links := linksUnder(t, home)
				keep(t, chosen(), path)
				if got := string(readFile(t, target)); got != chosenText {
					t.Errorf("the file that is linked holds %s", got)
				}
				if got := linksUnder(t, home); len(got) == 0 || !slices.Equal(got, links) {
					t.Errorf("links %v, want %v", got, links)
				}
				if got := folder(t, filepath.Dir(target)); !slices.Equal(got, []string{"settings.json"}) {
					t.Errorf("left behind: %v", got)
				}
			})
		}
	}
}

func linksUnder(t *testing.T, root string) (links []string) {
	t.Helper()
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.Type() == fs.ModeSymlink {
			links = append(links, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return links
}

func TestSettingsLinkInACircle(t *testing.T) {
	onUnix(t)
	path := filepath.Join(t.TempDir(), "settings.json")
	if err := os.Symlink("settings.json", path); err != nil {
		t.Fatal(err)
	}
	_, errLoad := LoadSettings(path)
	for _, err := range []error{errLoad, chosen().Save(path)} {
		var settings *SettingsError
		if !errors.As(err, &settings) {
			t.Errorf("%v", err)
		}
	}
	if _, err := followLinks(path); err == nil {
		t.Error("a circle has an end")
	}
	if got := linksUnder(t, filepath.Dir(path)); len(got) != 1 {
		t.Errorf("the link is gone: %v", got)
	}
}

// Purposes that contradict themselves, or each other, are refused with their place.
func TestPurposesOfSettings(t *testing.T) {
	for text, place := range map[string]string{
		`[{"name":"a","min_weight_per_draw":9,"max_weight_per_draw":7,"min_foc_pct":10,"max_foc_pct":12}]`:                                                                                                "purposes[0].max_weight_per_draw",
		`[{"name":"a","min_weight_per_draw":7,"max_weight_per_draw":9,"min_foc_pct":10,"max_foc_pct":12},{"name":"a","min_weight_per_draw":7,"max_weight_per_draw":9,"min_foc_pct":10,"max_foc_pct":12}]`: "purposes[1].name",
		`[{"name":"a","min_weight_per_draw":7,"max_weight_per_draw":900,"min_foc_pct":10,"max_foc_pct":12}]`:                                                                                              "purposes[0].max_weight_per_draw",
		`[{"min_weight_per_draw":7}]`: "purposes[0].",
	} {
		path := newSettingsPath(t)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(`{"format":"foreshaft-settings/1","purposes":`+text+`}`), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := LoadSettings(path); err == nil || !strings.Contains(err.Error(), place) {
			t.Errorf("%s gives %v, want it to name %s", text, err, place)
		}
	}
}
