package main

import (
	"archive/tar"
	"archive/zip"
	"compress/flate"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// entry is a file of an archive.
type entry struct {
	name    string // slashes between folders
	data    []byte
	program bool
}

// moment replaces the time of every file: archives of the same files are the
// same.
var moment = time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)

// archive builds the program for a system and packs it with files. It returns
// the line for the list of checksums.
func archive(out, work, version, system string, files []entry) (string, error) {
	program := "gearleaf"
	if strings.HasPrefix(system, "windows/") {
		program = "gearleaf.exe"
	}
	built := filepath.Join(work, strings.ReplaceAll(system, "/", "-"))
	if err := build(built, system, true); err != nil {
		return "", err
	}
	data, err := os.ReadFile(built)
	if err != nil {
		return "", err
	}
	if len(data) > mostBytes {
		return "", fmt.Errorf("the program has %d bytes; the bound is %d", len(data), mostBytes)
	}
	files = append(slices.Clone(files), entry{program, data, true})
	slices.SortFunc(files, func(a, b entry) int { return strings.Compare(a.name, b.name) })
	top := "gearleaf-" + version + "-" + strings.ReplaceAll(system, "/", "-")
	name, pack := top+".tar.gz", packTar
	if program == "gearleaf.exe" {
		name, pack = top+".zip", packZip
	}
	f, err := os.Create(filepath.Join(out, name))
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	err = pack(io.MultiWriter(f, sum), top, files)
	if err = errors.Join(err, f.Close()); err != nil {
		return "", err
	}
	return hex.EncodeToString(sum.Sum(nil)) + "  " + name + "\n", nil
}

func (e entry) mode() int64 {
	if e.program {
		return 0o755
	}
	return 0o644
}

func packTar(w io.Writer, top string, files []entry) error {
	z, err := gzip.NewWriterLevel(w, flate.BestCompression)
	if err != nil {
		return err
	}
	t := tar.NewWriter(z)
	for _, e := range files {
		head := &tar.Header{Name: path.Join(top, e.name), Mode: e.mode(), Size: int64(len(e.data)), ModTime: moment, Format: tar.FormatPAX}
		if err := t.WriteHeader(head); err != nil {
			return err
		}
		if _, err := t.Write(e.data); err != nil {
			return err
		}
	}
	return errors.Join(t.Close(), z.Close())
}

func packZip(w io.Writer, top string, files []entry) error {
	z := zip.NewWriter(w)
	z.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) { return flate.NewWriter(out, flate.BestCompression) })
	for _, e := range files {
		head := &zip.FileHeader{Name: path.Join(top, e.name), Method: zip.Deflate, Modified: moment}
		head.SetMode(os.FileMode(e.mode()))
		f, err := z.CreateHeader(head)
		if err != nil {
			return err
		}
		if _, err := f.Write(e.data); err != nil {
			return err
		}
	}
	return z.Close()
}
