package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"springcalc/cmd/springcalc/internal/files"
	"springcalc/cmd/springcalc/internal/sheet"
)

// newFile is a file to be written; one without a path is not.
type newFile struct {
	path string
	data []byte
}

// writeNew writes files that must not exist yet: each whole or not at all, and none
// where one of them is there.
func writeNew(list ...newFile) error {
	for i, f := range list {
		if f.path == "" {
			continue
		}
		if _, err := os.Lstat(f.path); err == nil {
			return sheet.Usef("%s exists already; nothing was written", f.path)
		}
		for _, other := range list[:i] {
			if other.path == f.path {
				return sheet.Usef("%s is asked for twice; nothing was written", f.path)
			}
		}
	}
	for _, f := range list {
		if f.path == "" {
			continue
		}
		err := files.Create(f.path, f.data)
		if errors.Is(err, fs.ErrExist) {
			return sheet.Usef("%s exists already; nothing was written", f.path)
		}
		if err != nil {
			return fmt.Errorf("%s was not written: %w", f.path, err)
		}
	}
	return nil
}
