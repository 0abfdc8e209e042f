// Command pack writes a folder to an archive so that the same files give the same
// bytes, whoever packs them and when: names in order, one time for all, no owners.
// It is Go, because what else writes zip files writes more into them.
//
//	go run .ci/pack.go SECONDS ARCHIVE FOLDER
//
// SECONDS is the time of every file, since 1970. ARCHIVE ends with .tar.gz or .zip; it
// has the folder under its own name.
package main

import (
	"archive/tar"
	"archive/zip"
	"compress/flate"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "pack:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 3 {
		return errors.New("want SECONDS ARCHIVE FOLDER")
	}
	seconds, err := strconv.ParseInt(args[0], 10, 64)
	if err != nil {
		return err
	}
	when := time.Unix(seconds, 0).UTC()
	out, err := os.Create(args[1])
	if err != nil {
		return err
	}
	if strings.HasSuffix(args[1], ".zip") {
		err = writeZip(out, args[2], when)
	} else {
		err = writeTar(out, args[2], when)
	}
	return errors.Join(err, out.Close())
}

// each calls add for every file of a folder, in order, with the name it has in an archive.
func each(folder string, add func(name string, mode fs.FileMode, data []byte) error) error {
	above := filepath.Dir(filepath.Clean(folder))
	return filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		name, err := filepath.Rel(above, path)
		if err != nil {
			return err
		}
		mode := fs.FileMode(0o644)
		if info.Mode()&0o100 != 0 {
			mode = 0o755
		}
		return add(filepath.ToSlash(name), mode, data)
	})
}

func writeTar(out io.Writer, folder string, when time.Time) error {
	packed, err := gzip.NewWriterLevel(out, gzip.BestCompression)
	if err != nil {
		return err
	}
	to := tar.NewWriter(packed)
	err = each(folder, func(name string, mode fs.FileMode, data []byte) error {
		err := to.WriteHeader(&tar.Header{Name: name, Mode: int64(mode), Size: int64(len(data)), ModTime: when})
		if err == nil {
			_, err = to.Write(data)
		}
		return err
	})
	return errors.Join(err, to.Close(), packed.Close())
}

func writeZip(out io.Writer, folder string, when time.Time) error {
	to := zip.NewWriter(out)
	to.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) {
		return flate.NewWriter(w, flate.BestCompression)
	})
	err := each(folder, func(name string, mode fs.FileMode, data []byte) error {
		header := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: when}
		header.SetMode(mode)
		file, err := to.CreateHeader(header)
		if err == nil {
			_, err = file.Write(data)
		}
		return err
	})
	return errors.Join(err, to.Close())
}
