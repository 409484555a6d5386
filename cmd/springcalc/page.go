package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"syscall"

	"springcalc/cmd/springcalc/internal/files"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/page"
	"springcalc/cmd/springcalc/internal/sheet"
)

// pageCmd serves the answers as a page for a browser.
type pageCmd struct {
	Sheet  string `arg:"" optional:"" help:"Machine sheet to show and, when you say so, to save; it may be one that is still to be written; none for the demo machine."`
	Listen string `placeholder:"ADDRESS:PORT" help:"Let other devices in the house open the page too, at an address of this machine such as 192.168.1.20:8080; each needs a code that is printed."`
	NoOpen bool   `name:"no-open" help:"Only print the address; open no browser."`
	flags.Drawing
}

// Help is printed below the summary of the flags.
func (pageCmd) Help() string {
	return "Opens a page that this program serves to this machine alone: the sheet as a form, the answers one under another, and sliders for what you would try. " +
		"It ends with Ctrl-C, and nothing is saved until you say so."
}

// Run serves until it is told to end.
func (c *pageCmd) Run(con *flags.Console) error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	return c.serve(ctx, os.Stderr, openBrowser)
}

// serve serves until the context ends, and says where; browse opens an address.
func (c *pageCmd) serve(ctx context.Context, said *os.File, browse func(address string)) error {
	o := page.Options{Version: flags.Version(), Now: flags.Clock, Spread: c.Spread()}
	if c.Sheet != "" {
		store := sheetFile(c.Sheet)
		_, err := store.Load()
		if errors.Is(err, fs.ErrNotExist) { // to be written; its folder must be there
			_, err = os.Stat(filepath.Dir(c.Sheet))
		}
		if err != nil {
			return err
		}
		o.Store = store
	}
	l, hosts, first, err := page.Listen(c.Listen)
	if err != nil {
		return sheet.Usef("--listen: %v", err)
	}
	o.Hosts = hosts
	with := func(code string) string { return "http://" + first + "/?code=" + code }
	var code string
	o.Door, code = page.NewDoor(func(code string) { fmt.Fprintln(said, "For one more browser or device:", with(code)) })
	fmt.Fprintf(said, "The page is at %s until you press Ctrl-C.\n", with(code))
	if c.Listen == "" && !c.NoOpen {
		browse(with(code))
	}
	return page.Serve(ctx, l, o)
}

// openBrowser opens an address in the browser of the person, where that is known
// how; where not, the printed address does.
func openBrowser(address string) {
	opener := map[string][]string{"darwin": {"open"}, "windows": {"rundll32", "url.dll,FileProtocolHandler"}}[runtime.GOOS]
	if opener == nil {
		if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
			return
		}
		opener = []string{"xdg-open"}
	}
	_ = exec.Command(opener[0], append(opener[1:], address)...).Start()
}

// sheetFile keeps the sheet of the page in a file.
type sheetFile string

func (f sheetFile) Name() string          { return string(f) }
func (f sheetFile) Load() ([]byte, error) { return os.ReadFile(string(f)) }

// Save writes the file whole, and over nothing that was not read from it unless
// over is said.
func (f sheetFile) Save(old, changed []byte, over bool) error {
	err := files.Change(string(f), func(now []byte) ([]byte, error) {
		if !bytes.Equal(now, old) && !over {
			return nil, page.ErrChanged
		}
		return changed, nil
	})
	if errors.Is(err, fs.ErrNotExist) && (over || len(old) == 0) {
		err = files.Create(string(f), changed)
	}
	if errors.Is(err, fs.ErrExist) {
		return page.ErrChanged
	}
	return err
}
