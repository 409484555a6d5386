// Package files writes files whole or not at all: whatever happens meanwhile, a
// file afterwards has all of what it had or all of what it should have. It knows
// nothing of what is in them.
package files

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"
)

// patience is how long a change waits for another one to end.
const patience = 10 * time.Second

// Create writes a new file. It never overwrites one: errors.Is(err, fs.ErrExist).
func Create(name string, data []byte) error {
	if _, err := os.Lstat(name); err == nil {
		return &fs.PathError{Op: "create", Path: name, Err: fs.ErrExist}
	}
	temp, err := write(name, data, 0o666)
	if err != nil {
		return err
	}
	defer os.Remove(temp)
	if err := os.Link(temp, name); err == nil || errors.Is(err, fs.ErrExist) {
		return err
	}
	return createAlone(name, data, 0o666) // a disk that has no links
}

// Change puts in place of what a file has what a function makes of it, and keeps
// its permissions. Several changes at once, also of other processes that use this
// package, come one after the other. An error of the function leaves the file as
// it was. A link is followed.
func Change(name string, change func(old []byte) ([]byte, error)) error {
	name, err := filepath.EvalSymlinks(name)
	if err != nil {
		return err
	}
	release, err := lock(name, time.Now().Add(patience))
	if err != nil {
		return err
	}
	defer release()
	info, err := os.Stat(name)
	if err != nil {
		return err
	}
	old, err := os.ReadFile(name)
	if err != nil {
		return err
	}
	data, err := change(bytes.Clone(old))
	if err != nil {
		return err
	}
	temp, err := write(name, data, info.Mode().Perm())
	if err != nil {
		return err
	}
	defer os.Remove(temp)
	if err := os.Chmod(temp, info.Mode().Perm()); err != nil { // what the user's mask may have left out
		return err
	}
	if again, err := os.ReadFile(name); err != nil || !bytes.Equal(again, old) {
		return fmt.Errorf("%s was changed by another program meanwhile; nothing was written", name)
	}
	if err := os.Rename(temp, name); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(name))
}

// write writes a file beside another one, onto the disk, and returns its name.
func write(name string, data []byte, mode fs.FileMode) (temp string, err error) {
	temp = filepath.Join(filepath.Dir(name), fmt.Sprintf(".%s.%016x", filepath.Base(name), rand.Uint64()))
	if err := createAlone(temp, data, mode); err != nil {
		return "", err
	}
	return temp, nil
}

// createAlone writes a new file in place, and takes it away again where that fails.
func createAlone(name string, data []byte, mode fs.FileMode) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		os.Remove(name)
	}
	return err
}

// lock waits until nobody else changes a file, and keeps others from it until it
// is released.
func lock(name string, until time.Time) (release func(), err error) {
	for {
		release, err := tryLock(name)
		if err != nil || release != nil {
			return release, err
		}
		if time.Now().After(until) {
			return nil, fmt.Errorf("%s is being changed by another program; nothing was written%s", name, stuck(name))
		}
		time.Sleep(5 * time.Millisecond)
	}
}
