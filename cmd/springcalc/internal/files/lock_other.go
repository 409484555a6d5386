//go:build !(darwin || dragonfly || freebsd || illumos || linux || netbsd || openbsd)

package files

import (
	"errors"
	"io/fs"
	"os"
)

// tryLock locks a file by another one beside it, which only one program can
// create; nil where another one has it.
func tryLock(name string) (release func(), err error) {
	f, err := os.OpenFile(name+".lock", os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	f.Close()
	return func() { os.Remove(name + ".lock") }, nil
}

// stuck says what to do about a lock that a program left behind.
func stuck(name string) string { return "; if no program is, delete " + name + ".lock" }

func syncFolder(string) error { return nil }
