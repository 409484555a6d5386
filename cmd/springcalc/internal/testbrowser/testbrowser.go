// Package testbrowser opens pages as a person would, for tests: in a headless
// Chromium where there is one.
package testbrowser

import (
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// Find returns the path of a browser: of the environment's CHROMIUM, or by its
// usual names; "" where there is none.
func Find() string {
	for _, name := range []string{os.Getenv("CHROMIUM"), "chromium", "chromium-browser", "google-chrome", "chrome"} {
		if name == "" {
			continue
		}
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}

// Open returns the context of a new tab. It skips the test where there is no
// browser, or with -short. Nothing but this machine can be reached from the tab.
func Open(t testing.TB, more ...chromedp.ExecAllocatorOption) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("a browser takes too long for -short")
	}
	path := Find()
	if path == "" {
		t.Skip("no browser: install chromium, or name one in CHROMIUM, to run this test")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost"))
	all, cancelAll := chromedp.NewExecAllocator(context.Background(), append(options, more...)...)
	tab, cancelTab := chromedp.NewContext(all)
	limited, cancel := context.WithTimeout(tab, 2*time.Minute)
	t.Cleanup(func() { cancel(); cancelTab(); cancelAll() })
	return limited
}
