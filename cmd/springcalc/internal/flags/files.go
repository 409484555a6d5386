package flags

import (
	"errors"
	"io/fs"
	"os"

	"springcalc/cmd/springcalc/internal/files"
	"springcalc/cmd/springcalc/internal/sheet"
)

// NewFile is a file to be written; one without a path is not.
type NewFile struct {
	Path string // "" for none
	Data []byte
}

// WriteNew writes files that must not exist yet: each whole or not at all, and none
// where one of them is there.
func WriteNew(list ...NewFile) error {
	for i, f := range list {
		if f.Path == "" {
			continue
		}
		if _, err := os.Lstat(f.Path); err == nil {
			return sheet.Usef("%s exists already; nothing was written", f.Path)
		}
		for _, other := range list[:i] {
			if other.Path == f.Path {
				return sheet.Usef("%s is asked for twice; nothing was written", f.Path)
			}
		}
	}
	for _, f := range list {
		if f.Path == "" {
			continue
		}
		err := files.Create(f.Path, f.Data)
		if errors.Is(err, fs.ErrExist) {
			return sheet.Usef("%s exists already; nothing was written", f.Path)
		}
		if file := (*fs.PathError)(nil); errors.As(err, &file) { // not the name it has until it is whole
			err = &fs.PathError{Op: "write", Path: f.Path, Err: file.Err}
		}
		if err != nil {
			return err
		}
	}
	return nil
}
