package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/page"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/testbrowser"
)

// begun runs the command in the background and returns the address that it says.
func begun(t *testing.T, c *pageCmd) (address string, end func() error) {
	t.Helper()
	read, write, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- c.serve(ctx, write, func(string) {}); write.Close() }()
	line, err := bufio.NewReader(read).ReadString('\n')
	m := regexp.MustCompile(`http://\S+`).FindString(line)
	if m == "" {
		cancel()
		t.Fatalf("said %q, %v, %v", line, err, <-ended)
	}
	go func() { _, _ = io.Copy(io.Discard, read) }()
	t.Cleanup(cancel)
	return m, func() error { cancel(); return <-ended }
}

// TestPageCommand: the page is served to this machine alone, and ends when told to.
func TestPageCommand(t *testing.T) {
	address, end := begun(t, &pageCmd{NoOpen: true})
	if !strings.HasPrefix(address, "http://127.0.0.1:") {
		t.Errorf("served at %s", address)
	}
	jar, _ := cookiejar.New(nil) // never fails
	r, err := (&http.Client{Jar: jar}).Get(address)
	if err != nil {
		t.Fatal(err)
	}
	body, _ := io.ReadAll(r.Body)
	r.Body.Close()
	if r.StatusCode != 200 || !bytes.Contains(body, []byte("left group of a small café")) {
		t.Errorf("%d: %.200s", r.StatusCode, body)
	}
	if r, err = http.Get(address); err != nil { // another user of this machine, who knows the port or saw a code that was used
		t.Fatal(err)
	}
	if r.Body.Close(); r.StatusCode != http.StatusForbidden {
		t.Errorf("let in a stranger: %d", r.StatusCode)
	}
	if err := end(); err != nil {
		t.Error(err)
	}
	if status, said := ran(t, "page", "--no-open", "no-such-folder"+string(filepath.Separator)); status != wrongUse {
		t.Errorf("status %d: %s", status, said)
	}
	for _, listen := range []string{"nowhere", "127.0.0.1:99999", "192.0.2.1:80"} { // the last is kept for documents: RFC 5737
		if status, said := ran(t, "page", "--no-open", "--listen", listen); status != wrongUse || !strings.Contains(said, "--listen") {
			t.Errorf("%s: status %d: %s", listen, status, said)
		}
	}
}

// TestListen: with --listen a device needs the code that is printed.
func TestListen(t *testing.T) {
	address, _ := begun(t, &pageCmd{NoOpen: true, Listen: "127.0.0.1:0"})
	place, code, ok := strings.Cut(address, "/?code=")
	if !ok || len(code) != 8 {
		t.Fatalf("said %s", address)
	}
	for path, want := range map[string]int{"/": 403, "/?code=AAAAAAAA": 403} {
		r, err := http.Get(place + path)
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		if r.StatusCode != want {
			t.Errorf("%s: %d", path, r.StatusCode)
		}
	}
	r, err := (&http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}).Get(address)
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	if c := r.Cookies(); r.StatusCode != 303 || len(c) != 1 || !c[0].HttpOnly || c[0].SameSite != http.SameSiteStrictMode {
		t.Errorf("%d, %v", r.StatusCode, r.Cookies())
	}
}

// TestSheetFile: the page's sheet is written whole, over what was read from it, and
// over nothing else.
func TestSheetFile(t *testing.T) {
	f := sheetFile(filepath.Join(t.TempDir(), "mine.toml"))
	if _, err := f.Load(); !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	for _, step := range []struct {
		old, changed string
		over         bool
		want         error
		now          string
	}{
		{"", "one", false, nil, "one"},
		{"", "two", false, page.ErrChanged, "one"},
		{"one", "two", false, nil, "two"},
		{"one", "three", false, page.ErrChanged, "two"},
		{"one", "three", true, nil, "three"},
	} {
		err := f.Save([]byte(step.old), []byte(step.changed), step.over)
		if now, _ := f.Load(); !errors.Is(err, step.want) || string(now) != step.now {
			t.Errorf("%+v: %v, holds %q", step, err, now)
		}
	}
	if names, _ := filepath.Glob(filepath.Join(filepath.Dir(string(f)), "*")); len(names) != 1 {
		t.Errorf("left %q", names)
	}
	real := filepath.Join(t.TempDir(), "real.toml")
	if err := os.WriteFile(real, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	link := sheetFile(filepath.Join(t.TempDir(), "link.toml"))
	if err := os.Symlink(real, string(link)); err != nil {
		t.Skip("no links here")
	}
	if err := link.Save([]byte("old"), []byte("new"), false); err != nil {
		t.Fatal(err)
	}
	info, err := os.Lstat(string(link))
	if data, _ := os.ReadFile(real); err != nil || info.Mode()&os.ModeSymlink == 0 || string(data) != "new" {
		t.Errorf("%v, %q", err, data)
	}
	if info, _ := os.Stat(real); info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v", info.Mode())
	}
}

// TestPageIsTerminal: the peak on the page is that of --json to every printed digit.
func TestPageIsTerminal(t *testing.T) {
	tab := testbrowser.Open(t)
	address, _ := begun(t, &pageCmd{NoOpen: true, Drawing: flags.Drawing{Draws: spread.Usual, Seed: 1}})
	status, said := ran(t, "shot", "--json")
	var object struct {
		Peak float64 `json:"peak_bar"`
	}
	if err := json.Unmarshal([]byte(said), &object); err != nil || status != 0 {
		t.Fatal(err)
	}
	if err := chromedp.Do(tab, chromedp.Navigate(address)); err != nil {
		t.Fatal(err)
	}
	peak := ""
	for end := time.Now().Add(time.Minute); peak == "" && time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
		var err error
		if peak, err = chromedp.Run(tab, chromedp.Evaluate[string](`document.querySelector('#shot .figures .b')?.textContent.startsWith("95 %") ? document.querySelector('#shot .figures [data-key="peak"] b').textContent : ""`)); err != nil {
			t.Fatal(err)
		}
	}
	_, after, _ := strings.Cut(peak, ".")
	if want := strconv.FormatFloat(object.Peak, 'f', len(after), 64); peak != want || len(after) < 1 {
		t.Errorf("%s on the page, %s in JSON", peak, want)
	}
}

// TestPageJSON: what the page knows of the demo machine is what the terminal prints,
// to the last digit and for each question.
func TestPageJSON(t *testing.T) {
	const host = "127.0.0.1:9"
	h := page.Handler(page.Options{Hosts: []string{host}, Version: flags.Version(), Now: flags.Clock, Spread: spread.Options{Draws: 500, Seed: 1}})
	for question, line := range map[string][]string{"shot": nil, "diagnose": nil, "replace": nil, "basket": {"--to", "diameter=54 mm"}, "history": nil, "lever": nil, "spring": nil} {
		body := fmt.Sprintf(`{"question":%q,"sheet":%q,"kind":"json","params":{"diameter":"54 mm"}}`, question, demo.Sheet)
		r := httptest.NewRequest("POST", "http://"+host+"/file", strings.NewReader(body))
		r.Header.Set("Origin", "http://"+host)
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		args := append([]string{question, "--json"}, line...)
		if question == "shot" || question == "replace" || question == "basket" {
			args = append(args, "--draws", "500", "--seed", "1")
		}
		if status, said := ran(t, args...); status != 0 || said != w.Body.String() {
			t.Errorf("%s: status %d; the terminal's\n%.400s\nthe page's\n%.400s", question, status, said, w.Body)
		}
	}
}

var pictureFiles = flag.Bool("pictures", false, "draw the pictures of the README anew: go test ./cmd/springcalc -run TestPictures -pictures")

// TestPictures draws the pictures of the README, where that is asked for; without,
// it sees that they are there.
func TestPictures(t *testing.T) {
	for _, name := range []string{"testdata/shot.svg", "testdata/page.png"} {
		if _, err := os.Stat(name); err != nil && !*pictureFiles {
			t.Errorf("the README shows %s: %v", name, err)
		}
	}
	if !*pictureFiles {
		return
	}
	home, err := filepath.Abs("testdata")
	if err != nil {
		t.Fatal(err)
	}
	tab := testbrowser.Open(t)
	for _, name := range []string{"shot.svg", "page.png"} {
		if err := os.Remove(filepath.Join(home, name)); err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
	}
	if status, said := ran(t, "shot", "--plot", filepath.Join(home, "shot.svg")); status != 0 {
		t.Fatal(said)
	}
	address, _ := begun(t, &pageCmd{NoOpen: true, Drawing: flags.Drawing{Draws: spread.Usual, Seed: 1}})
	if err := chromedp.Do(tab, chromedp.EmulateViewport(1400, 900), chromedp.Navigate(address)); err != nil {
		t.Fatal(err)
	}
	whole := func() {
		for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
			if ok, err := chromedp.Run(tab, chromedp.Evaluate[bool](`!!document.querySelector("#shot .key .band") && document.querySelector("#shot .figures .b").textContent.startsWith("95 %")`)); ok && err == nil {
				return
			}
		}
		t.Fatal("no whole answer")
	}
	whole()
	if _, err := chromedp.Run(tab, chromedp.Evaluate[any](`(s => { s.value = 1050; s.oninput(); })(document.querySelector("#k-preload"))`)); err != nil {
		t.Fatal(err)
	}
	time.Sleep(time.Second)
	whole()
	png, err := chromedp.Run(tab, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(home, "page.png"), png, 0o644); err != nil {
		t.Fatal(err)
	}
}
