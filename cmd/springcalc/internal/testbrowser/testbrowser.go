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

// shared is the browser of a package's tests: to start one takes as long as most of
// them. end ends it.
var shared struct {
	browser context.Context
	end     func()
}

// Main runs the tests of a package, and ends the browser that they shared.
func Main(m *testing.M) {
	status := m.Run()
	if shared.end != nil {
		shared.end()
	}
	os.Exit(status)
}

// start starts the browser. Nothing but this machine can be reached from it.
func start(t testing.TB, path string) {
	t.Helper()
	profile, err := os.MkdirTemp("", "springcalc-browser")
	if err != nil {
		t.Fatal(err)
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(profile),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost"))
	all, cancelAll := chromedp.NewExecAllocator(context.Background(), options...)
	browser, cancel := chromedp.NewContext(all)
	shared.browser, shared.end = browser, func() { cancel(); cancelAll(); os.RemoveAll(profile) }
	if err := chromedp.Do(browser); err != nil {
		t.Fatal(err)
	}
}

// Open returns the context of a new tab that shares nothing with others but the browser.
// It skips the test where there is no browser, or with -short. The package's TestMain is Main.
func Open(t testing.TB) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("a browser takes too long for -short")
	}
	path := Find()
	if path == "" {
		t.Skip("no browser: install chromium, or name one in CHROMIUM, to run this test")
	}
	if shared.browser == nil {
		start(t, path)
	}
	tab, cancelTab := chromedp.NewContext(shared.browser, chromedp.WithNewBrowserContext())
	limited, cancel := context.WithTimeout(tab, 2*time.Minute)
	t.Cleanup(func() { cancel(); cancelTab() })
	return limited
}
