//go:build darwin || dragonfly || freebsd || illumos || linux || netbsd || openbsd

package files

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
)

// tryLock locks a file by the system's lock on it, which ends with the process;
// nil where another one has it. After a change the name stands for another file
// than before: a lock on the one that it stood for is none.
func tryLock(name string) (release func(), err error) {
	f, err := os.OpenFile(name, os.O_RDWR, 0)
	if err != nil {
		return nil, err
	}
	mine, err := f.Stat()
	if err == nil && !mine.Mode().IsRegular() {
		err = &fs.PathError{Op: "change", Path: name, Err: errors.New("no regular file")}
	}
	if err == nil {
		err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	}
	if err == nil {
		if now, e := os.Stat(name); e == nil && os.SameFile(mine, now) {
			return func() { f.Close() }, nil
		}
	}
	f.Close()
	if err == nil || errors.Is(err, syscall.EWOULDBLOCK) || errors.Is(err, syscall.EINTR) {
		return nil, nil
	}
	return nil, err
}

// stuck says what to do about a lock that nobody takes away: the system does.
func stuck(string) string { return "" }

// syncFolder puts a new name onto the disk.
func syncFolder(name string) error {
	f, err := os.Open(name)
	if err != nil {
		return nil // a folder that one may write but not read
	}
	_ = f.Sync() // some file systems have none; the file itself is on the disk
	return f.Close()
}
