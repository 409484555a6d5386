package files

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// place writes a file in a folder of its own.
func place(t *testing.T, text string) (name string) {
	t.Helper()
	name = filepath.Join(t.TempDir(), "a.txt")
	if err := os.WriteFile(name, []byte(text), 0o640); err != nil {
		t.Fatal(err)
	}
	return name
}

func has(t *testing.T, name, want string) {
	t.Helper()
	got, err := os.ReadFile(name)
	if err != nil || string(got) != want {
		t.Errorf("%s has %q, %v; want %q", name, got, err, want)
	}
}

// alone wants no other file beside one.
func alone(t *testing.T, name string) {
	t.Helper()
	all, err := os.ReadDir(filepath.Dir(name))
	if err != nil || len(all) != 1 {
		t.Errorf("%d files in the folder, want 1: %v %v", len(all), all, err)
	}
}

// TestCreate writes a new file and overwrites none, not even a link to nothing.
func TestCreate(t *testing.T) {
	name := filepath.Join(t.TempDir(), "new.txt")
	if err := Create(name, []byte("one")); err != nil {
		t.Fatal(err)
	}
	has(t, name, "one")
	if err := Create(name, []byte("two")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("a second time: %v", err)
	}
	has(t, name, "one")
	alone(t, name)
	if err := Create(filepath.Join(t.TempDir(), "no", "such"), nil); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("in no folder: %v", err)
	}
	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink("nowhere", link); err != nil {
		t.Skip(err)
	}
	if err := Create(link, []byte("x")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("over a link: %v", err)
	}
}

// TestCreateAtOnce: of many that create one file, one does.
func TestCreateAtOnce(t *testing.T) {
	name := filepath.Join(t.TempDir(), "new.txt")
	var done sync.WaitGroup
	errs := make([]error, 20)
	for i := range errs {
		done.Go(func() { errs[i] = Create(name, []byte(fmt.Sprint(i))) })
	}
	done.Wait()
	created := 0
	for i, err := range errs {
		if err == nil {
			created++
			has(t, name, fmt.Sprint(i))
		}
	}
	if created != 1 {
		t.Errorf("%d created it", created)
	}
	alone(t, name)
}

// TestChange keeps permissions and leaves nothing behind.
func TestChange(t *testing.T) {
	name := place(t, "one\n")
	add := func(old []byte) ([]byte, error) { return append(old, "two\n"...), nil }
	if err := Change(name, add); err != nil {
		t.Fatal(err)
	}
	has(t, name, "one\ntwo\n")
	if info, err := os.Stat(name); err != nil || info.Mode().Perm() != 0o640 {
		t.Errorf("%v, %v", info.Mode(), err)
	}
	alone(t, name)
}

// TestChangeRefused: an error leaves the file as it was.
func TestChangeRefused(t *testing.T) {
	name := place(t, "one\n")
	no := errors.New("no")
	if err := Change(name, func(old []byte) ([]byte, error) { clear(old); return old, no }); !errors.Is(err, no) {
		t.Errorf("%v", err)
	}
	has(t, name, "one\n")
	alone(t, name)
	if err := Change(name+"x", nil); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
	if err := Change(filepath.Dir(name), nil); err == nil {
		t.Error("a folder")
	}
}

// TestChangeBesideAnother: what a program that knows no locks writes meanwhile stays.
func TestChangeBesideAnother(t *testing.T) {
	name := place(t, "one\n")
	err := Change(name, func(old []byte) ([]byte, error) {
		return append(old, "two\n"...), os.WriteFile(name, []byte("three\n"), 0o666)
	})
	if err == nil || !strings.Contains(err.Error(), "changed by another program") {
		t.Errorf("%v", err)
	}
	has(t, name, "three\n")
	alone(t, name)
}

// TestChangeThroughLink changes what a link leads to.
func TestChangeThroughLink(t *testing.T) {
	name := place(t, "one\n")
	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(name, link); err != nil {
		t.Skip(err)
	}
	if err := Change(link, func(old []byte) ([]byte, error) { return []byte("two\n"), nil }); err != nil {
		t.Fatal(err)
	}
	has(t, name, "two\n")
	if info, err := os.Lstat(link); err != nil || info.Mode()&fs.ModeSymlink == 0 {
		t.Errorf("the link is %v, %v", info.Mode(), err)
	}
}

// TestChangeWithoutRight: a file that may not be written is not replaced.
func TestChangeWithoutRight(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("root may write everything")
	}
	name := place(t, "one\n")
	if err := os.Chmod(name, 0o444); err != nil {
		t.Fatal(err)
	}
	if err := Change(name, func([]byte) ([]byte, error) { return nil, nil }); !errors.Is(err, fs.ErrPermission) {
		t.Errorf("%v", err)
	}
	has(t, name, "one\n")
}

const lines = 40 // that each of several appends

// appendLines appends lines one after the other.
func appendLines(name, who string) error {
	for i := range lines {
		err := Change(name, func(old []byte) ([]byte, error) { return fmt.Appendf(old, "%s %d\n", who, i), nil })
		if err != nil {
			return err
		}
	}
	return nil
}

// TestChangesAtOnce: of several that append at once, in this process and in
// others, none loses a line.
func TestChangesAtOnce(t *testing.T) {
	if name := os.Getenv("FILES_TEST_APPEND"); name != "" { // the other process
		if err := appendLines(name, os.Getenv("FILES_TEST_WHO")); err != nil {
			t.Fatal(err)
		}
		return
	}
	name := place(t, "")
	var done sync.WaitGroup
	for i := range 3 {
		done.Go(func() {
			if err := appendLines(name, fmt.Sprintf("here%d", i)); err != nil {
				t.Error(err)
			}
		})
		done.Go(func() {
			other := exec.Command(os.Args[0], "-test.run=TestChangesAtOnce")
			other.Env = append(os.Environ(), "FILES_TEST_APPEND="+name, fmt.Sprintf("FILES_TEST_WHO=there%d", i))
			if out, err := other.CombinedOutput(); err != nil {
				t.Errorf("%v: %s", err, out)
			}
		})
	}
	done.Wait()
	got, err := os.ReadFile(name)
	if err != nil || bytes.Count(got, []byte("\n")) != 6*lines {
		t.Errorf("%d lines, %v", bytes.Count(got, []byte("\n")), err)
	}
	for i := range 3 {
		for k := range lines {
			for _, where := range []string{"here", "there"} {
				if line := fmt.Sprintf("%s%d %d\n", where, i, k); strings.Count(string(got), line) < 1 {
					t.Errorf("lost %q", line)
				}
			}
		}
	}
	alone(t, name)
}
