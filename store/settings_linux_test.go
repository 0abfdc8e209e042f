package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

func init() {
	helpers["settings-full"] = useSettingsOnFullDisk
	helpers["settings-rights"] = useSettingsWithoutRights
}

// mustBeSettings fails unless the error is a SettingsError with that cause that
// says the words.
func mustBeSettings(err, cause error, words ...string) error {
	var settings *SettingsError
	if !errors.As(err, &settings) || !errors.Is(err, cause) {
		return fmt.Errorf("want a SettingsError about %w, got %T %w", cause, err, err)
	}
	for _, word := range append(words, settings.Path, "What was saved before is safe.") {
		if !strings.Contains(err.Error(), word) {
			return fmt.Errorf("the error does not say %q: %w", word, err)
		}
	}
	if strings.Contains(err.Error(), "--workbook") {
		return fmt.Errorf("that does not name another settings file: %w", err)
	}
	return nil
}

// hasOnly checks that a folder has the settings file alone, with that text.
func hasOnly(path, text string) error {
	data, err := os.ReadFile(path)
	if err != nil || string(data) != text {
		return fmt.Errorf("%s holds %q, %w", path, data, err)
	}
	if files, err := os.ReadDir(filepath.Dir(path)); err != nil || len(files) != 1 {
		return fmt.Errorf("beside it: %v, %w", files, err)
	}
	return nil
}

func TestSettingsOnAFullDisk(t *testing.T) { runApart(t, "settings-full") }

func useSettingsOnFullDisk(args []string) error {
	disk := args[0]
	if err := syscall.Mount("none", disk, "tmpfs", 0, "size=1m"); err != nil {
		return err
	}
	path := filepath.Join(disk, "foreshaft", "settings.json")
	if err := chosen().Save(path); err != nil {
		return err
	}
	filler := filepath.Join(disk, "filler")
	if err := os.WriteFile(filler, make([]byte, 2<<20), 0o600); !errors.Is(err, syscall.ENOSPC) {
		return fmt.Errorf("the disk did not fill: %w", err)
	}
	other := chosen()
	other.Theme = "light"
	for range 2 {
		err := mustBeSettings(other.Save(path), syscall.ENOSPC, "The disk is full", "could not be saved", "Free some space")
		if err = errors.Join(err, hasOnly(path, chosenText)); err != nil {
			return err
		}
	}
	if err := os.Remove(filler); err != nil {
		return err
	}
	if err := other.Save(path); err != nil {
		return fmt.Errorf("after space was freed: %w", err)
	}
	if err := hasOnly(path, strings.Replace(chosenText, "dark", "light", 1)); err != nil {
		return err
	}
	if err := syscall.Mount("none", disk, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		return err
	}
	if s, err := LoadSettings(path); err != nil || s.Theme != "light" {
		return fmt.Errorf("on a disk that can only be read: %v, %w", s, err)
	}
	return mustBeSettings(chosen().Save(path), syscall.EROFS, "can only be read", "could not be saved", EnvSettings)
}

func TestSettingsWithoutTheRight(t *testing.T) {
	// Not t.TempDir, which another user may not enter.
	root, err := os.MkdirTemp("", "foreshaft-settings-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(root) })
	if err := os.Chmod(root, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"file", "folder", "none"} {
		writeFile(t, filepath.Join(root, name, "settings.json"), []byte(chosenText))
	}
	if err := os.Remove(filepath.Join(root, "none", "settings.json")); err != nil {
		t.Fatal(err)
	}
	if os.Getuid() == 0 {
		err := filepath.WalkDir(root, func(path string, _ fs.DirEntry, _ error) error { return os.Chown(path, nobody, nobody) })
		if err != nil {
			t.Fatal(err)
		}
	}
	for path, mode := range map[string]os.FileMode{"file/settings.json": 0, "folder": 0o500, "none": 0o500} {
		if err := os.Chmod(filepath.Join(root, path), mode); err != nil {
			t.Fatal(err)
		}
	}
	if out, err := helper(t, nil, "settings-rights", root).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if err := os.Chmod(filepath.Join(root, "file", "settings.json"), 0o400); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"file", "folder"} {
		if err := hasOnly(filepath.Join(root, name, "settings.json"), chosenText); err != nil {
			t.Error(err)
		}
	}
	if left := folder(t, filepath.Join(root, "none")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func useSettingsWithoutRights(args []string) error {
	root := args[0]
	if os.Getuid() == 0 {
		if err := errors.Join(syscall.Setgroups(nil), syscall.Setgid(nobody), syscall.Setuid(nobody)); err != nil {
			return err
		}
	}
	// The folder of a file that cannot be read may be written: only the rule that
	// nothing is saved over it protects it.
	path := filepath.Join(root, "file", "settings.json")
	other := chosen()
	other.Theme = "light"
	_, errLoad := LoadSettings(path)
	for _, err := range []error{errLoad, other.Save(path)} {
		if err := mustBeSettings(err, fs.ErrPermission, "lack the right", "could not be read", EnvSettings); err != nil {
			return err
		}
	}
	path = filepath.Join(root, "folder", "settings.json")
	if s, err := LoadSettings(path); err != nil || s.Theme != "dark" {
		return fmt.Errorf("%v, %w", s, err)
	}
	if err := mustBeSettings(other.Save(path), fs.ErrPermission, "lack the right", "could not be saved", EnvSettings); err != nil {
		return err
	}
	for _, path := range []string{"none/settings.json", "none/deeper/settings.json"} {
		if err := mustBeSettings(other.Save(filepath.Join(root, path)), fs.ErrPermission, "could not be saved", EnvSettings); err != nil {
			return err
		}
	}
	return nil
}

// A pipe in the place of the file would be waited for until somebody writes.
func TestPipeInPlaceOfTheSettings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "settings.json")
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		t.Fatal(err)
	}
	_, errLoad := LoadSettings(path)
	for _, err := range []error{errLoad, chosen().Save(path)} {
		says(t, err, path, "it is not a file")
	}
	if info, err := os.Lstat(path); err != nil || info.Mode().Type() != fs.ModeNamedPipe {
		t.Errorf("%v, %v", info, err)
	}
}
