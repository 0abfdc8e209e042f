package main

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	bolt "go.etcd.io/bbolt"

	"foreshaft/store"
	"foreshaft/ui/uitest"
)

// closedWorkbook makes a workbook that nobody has open.
func closedWorkbook(t testing.TB) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "workbook.db")
	book, err := store.Open(path, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := book.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func content(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func overwrite(t testing.TB, path string, data []byte) {
	t.Helper()
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// refuses starts the bench on a workbook that it cannot open and checks that it
// ends with a sentence and status 1, outside the full screen.
func refuses(t testing.TB, path string, says ...string) {
	t.Helper()
	x := uitest.Start(t, uitest.Options{Path: program, Args: []string{"--workbook", path}, Cols: 500})
	code, screen := x.Wait(), strings.TrimSpace(x.Screen())
	if code != couldNot {
		t.Errorf("ended with %d, want %d\n%s", code, couldNot, screen)
	}
	for _, word := range append(says, "foreshaft: ") {
		if !strings.Contains(screen, word) {
			t.Errorf("it does not say %q:\n%s", word, screen)
		}
	}
	if bytes.Contains(x.Raw(), []byte("\x1b[?1049h")) {
		t.Error("it opened the full screen first")
	}
}

func TestANewerWorkbookIsRefusedUnchanged(t *testing.T) {
	t.Parallel()
	path := closedWorkbook(t)
	db, err := bolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) error {
		// A record lies behind the checksum of its key and itself.
		key, version := []byte("schema"), binary.BigEndian.AppendUint64(nil, 4711)
		sum := crc32.Checksum(slices.Concat(key, version), crc32.MakeTable(crc32.Castagnoli))
		return tx.Bucket([]byte("about")).Put(key, append(binary.BigEndian.AppendUint32(nil, sum), version...))
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	before := content(t, path)
	refuses(t, path, "newer version", "4711", "Nothing in it was changed")
	if !bytes.Equal(before, content(t, path)) {
		t.Error("the workbook was changed")
	}
}

func TestADamagedWorkbookIsSetAsideAndSaid(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(data []byte) []byte{
		"noise":     func(data []byte) []byte { return bytes.Repeat([]byte("noise 4711 "), 4000) },
		"cut short": func(data []byte) []byte { return data[:len(data)/2] },
		"text":      func([]byte) []byte { return []byte("these are my arrows\n") },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			path := closedWorkbook(t)
			spoilt := spoil(content(t, path))
			overwrite(t, path, spoilt)
			refuses(t, path, "damaged", "nothing was deleted")
			files, err := os.ReadDir(filepath.Dir(path))
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range files {
				if !f.IsDir() && bytes.Equal(content(t, filepath.Join(filepath.Dir(path), f.Name())), spoilt) {
					x := reopen(t, path, uitest.Options{}) // and then there is a new one
					x.WaitFor("Welcome")
					quit(t, x)
					return
				}
			}
			t.Error("the damaged file is not there any more")
		})
	}
}

func TestAnEmptyFileBecomesAWorkbook(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "workbook.db")
	overwrite(t, path, nil)
	x := reopen(t, path, uitest.Options{})
	x.WaitFor("Welcome")
	quit(t, x)
}

func TestAPlaceThatCannotHoldAWorkbookIsSaid(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	refuses(t, dir, dir)
	file := filepath.Join(dir, "file")
	overwrite(t, file, []byte("x"))
	refuses(t, filepath.Join(file, "workbook.db"), file)
}

func TestAWorkbookOfAnotherProgramIsLeftAlone(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "other.db")
	db, err := bolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) error { _, err := tx.CreateBucket([]byte("not ours")); return err })
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	before := content(t, path)
	refuses(t, path, "another program")
	if !bytes.Equal(before, content(t, path)) {
		t.Error("the other program's file was changed")
	}
}
