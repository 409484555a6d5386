package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"springcalc/cmd/springcalc/internal/sheet"
)

// newFile is a file to be written; one without a path is not.
type newFile struct {
	path string
	data []byte
}

// writeNew writes files that must not exist yet: each whole or not at all, and none
// where one of them is there.
func writeNew(files ...newFile) error {
	for i, f := range files {
		if f.path == "" {
			continue
		}
		if _, err := os.Lstat(f.path); err == nil {
			return sheet.Usef("%s exists already; nothing was written", f.path)
		}
		for _, other := range files[:i] {
			if other.path == f.path {
				return sheet.Usef("%s is asked for twice; nothing was written", f.path)
			}
		}
	}
	for _, f := range files {
		if f.path == "" {
			continue
		}
		if err := writeWhole(f.path, f.data, func(whole string) error { return placeNew(whole, f.path) }); err != nil {
			return err
		}
	}
	return nil
}

// placeNew puts a whole file where there is none.
func placeNew(whole, path string) error {
	err := os.Link(whole, path) // fails where there is something already
	if err == nil || errors.Is(err, fs.ErrExist) {
		return err
	}
	if _, there := os.Lstat(path); there == nil { // a file system without links
		return fs.ErrExist
	}
	return os.Rename(whole, path)
}

// writeWhole writes data beside a path and has it put there when it is complete.
func writeWhole(path string, data []byte, place func(whole string) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".springcalc-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if err == nil {
		err = f.Chmod(0o644)
	}
	if closing := f.Close(); err == nil {
		err = closing
	}
	if err == nil {
		err = place(f.Name())
	}
	if errors.Is(err, fs.ErrExist) {
		return sheet.Usef("%s exists already; nothing was written", path)
	}
	if err != nil {
		return fmt.Errorf("%s was not written: %w", path, err)
	}
	return nil
}
