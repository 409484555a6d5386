package page

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/spread"
)

// served is a page on a port of this machine, ended with the test.
func served(t *testing.T, o Options) (address string, stop func() error) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address = l.Addr().String()
	o.Hosts = append(o.Hosts, address)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- Serve(ctx, l, o) }()
	stop = sync.OnceValue(func() error { cancel(); return <-ended })
	t.Cleanup(func() { _ = stop() })
	return address, stop
}

// answers says whether a page still answers, in good time.
func answers(t *testing.T, address string) {
	t.Helper()
	c := http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}
	r, err := c.Get("http://" + address + "/")
	if err != nil {
		t.Fatalf("the page no longer answers: %v", err)
	}
	defer r.Body.Close()
	if body, err := io.ReadAll(r.Body); err != nil || r.StatusCode != 200 || !bytes.Contains(body, []byte("<!doctype html>")) {
		t.Fatalf("the page no longer answers: %d, %v", r.StatusCode, err)
	}
}

// TestStrangers: what a foreign page makes a browser ask is refused, under a foreign
// name (DNS rebinding) as with a foreign origin (cross-site request forgery).
func TestStrangers(t *testing.T) {
	h := handler(&memory{})
	ask := `{"question":"shot","sheet":"","quick":true}`
	for _, c := range []struct {
		name, method, target, host string
		head                       map[string]string
		want                       int
	}{
		{"own page", "GET", "/", host, nil, 200},
		{"own question", "POST", "/ask", host, map[string]string{"Origin": "http://" + host}, 200},
		{"foreign host", "GET", "/", "evil.example", nil, 421},
		{"foreign host with our port", "GET", "/", "evil.example:9", nil, 421},
		{"our host, other port", "GET", "/", "127.0.0.1:10", nil, 421},
		{"host of any machine", "GET", "/", "0.0.0.0:9", nil, 421},
		{"rebound question", "POST", "/ask", "evil.example:9", map[string]string{"Origin": "http://evil.example:9"}, 421},
		{"foreign origin", "POST", "/ask", host, map[string]string{"Origin": "http://evil.example"}, 403},
		{"origin of another port", "POST", "/ask", host, map[string]string{"Origin": "http://127.0.0.1:10"}, 403},
		{"origin by another scheme", "POST", "/ask", host, map[string]string{"Origin": "https://" + host}, 403},
		{"hidden origin", "POST", "/ask", host, map[string]string{"Origin": "null"}, 403},
		{"no origin", "POST", "/ask", host, nil, 403},
		{"a form", "POST", "/save", host, map[string]string{"Origin": "http://" + host, "Content-Type": "text/plain"}, 415},
		{"embedded by another page", "GET", "/", host, map[string]string{"Sec-Fetch-Site": "cross-site"}, 403},
		{"embedded by another port", "GET", "/static/page.js", host, map[string]string{"Sec-Fetch-Site": "same-site"}, 403},
		{"typed by a person", "GET", "/", host, map[string]string{"Sec-Fetch-Site": "none"}, 200},
		{"another method", "PUT", "/ask", host, map[string]string{"Origin": "http://" + host}, 405},
		{"no request of the page", "POST", "/ask", host, map[string]string{"Origin": "http://" + host, "x-body": `{"file":"/etc/passwd"}`}, 400},
	} {
		body := ask
		if b, ok := c.head["x-body"]; ok {
			body = b
		}
		r := httptest.NewRequest(c.method, "http://"+host+c.target, strings.NewReader(body))
		r.Host = c.host
		r.Header.Set("Content-Type", "application/json")
		for k, v := range c.head {
			r.Header.Set(k, v)
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != c.want {
			t.Errorf("%s: status %d, want %d: %s", c.name, w.Code, c.want, w.Body)
		}
		head := w.Header()
		if p := head.Get("Content-Security-Policy"); !strings.Contains(p, "default-src 'none'") || strings.Contains(p, "unsafe") || !strings.Contains(p, "frame-ancestors 'none'") ||
			head.Get("Access-Control-Allow-Origin") != "" || head.Get("X-Content-Type-Options") != "nosniff" || head.Get("Cross-Origin-Resource-Policy") != "same-origin" {
			t.Errorf("%s: headers %v", c.name, head)
		}
	}
}

// TestPathTricks: no path reaches anything but what comes with the page.
func TestPathTricks(t *testing.T) {
	address, _ := served(t, Options{})
	for _, target := range []string{"/static/../page.go", "/static/..%2fpage.go", "/static/%2e%2e/%2e%2e/page.html", "/static//etc/passwd", "/static/", "/static/page.js/", "/static/..\\page.go",
		"/../../../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/page.html", "//evil.example/", "/static/page.js%00.css", "/alive/../ask", "http://evil.example/"} {
		c, err := net.Dial("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(c, "GET %s HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n", target, address)
		r, err := http.ReadResponse(bufio.NewReader(c), nil)
		if err != nil {
			t.Errorf("%s: %v", target, err)
			continue
		}
		body, _ := io.ReadAll(r.Body)
		c.Close()
		if r.StatusCode == 200 || bytes.Contains(body, []byte("root:")) || bytes.Contains(body, []byte("package page")) {
			t.Errorf("%s: %d %.80s", target, r.StatusCode, body)
		}
		if to := r.Header.Get("Location"); strings.HasPrefix(to, "//") || strings.Contains(to, "://") {
			t.Errorf("%s leads to %s", target, to)
		}
	}
	answers(t, address)
}

// TestLargeBody: ten megabytes are refused without being read to the end.
func TestLargeBody(t *testing.T) {
	address, _ := served(t, Options{})
	r, err := http.NewRequest("POST", "http://"+address+"/ask", io.MultiReader(strings.NewReader(`{"sheet":"`), io.LimitReader(endless{}, 10<<20)))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Origin", "http://"+address)
	r.Header.Set("Content-Type", "application/json")
	w, err := http.DefaultClient.Do(r)
	if err == nil {
		defer w.Body.Close()
		if w.StatusCode != http.StatusRequestEntityTooLarge {
			t.Errorf("status %d", w.StatusCode)
		}
	} // a server that closes while the client still writes is as good
	answers(t, address)
}

// endless is a text without an end.
type endless struct{}

func (endless) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = 'x'
	}
	return len(b), nil
}

// TestManyConnections: two hundred that say nothing, and two hundred that say it
// slowly, keep nobody from the page.
func TestManyConnections(t *testing.T) {
	address, _ := served(t, Options{})
	for n := range 200 {
		c, err := net.Dial("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		if n%2 == 0 {
			fmt.Fprintf(c, "POST /ask HTTP/1.1\r\nHost: %s\r\nOrigin: http://%s\r\nContent-Type: application/json\r\nContent-Length: 100000\r\n\r\n{", address, address)
		}
	}
	answers(t, address)
}

// TestSlowBody: a body that does not come is not waited for.
func TestSlowBody(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for the server's patience to end")
	}
	t.Parallel() // so that others run while it waits
	address, _ := served(t, Options{})
	c, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	fmt.Fprintf(c, "POST /ask HTTP/1.1\r\nHost: %s\r\nOrigin: http://%s\r\nContent-Type: application/json\r\nContent-Length: 1000\r\n\r\n{", address, address)
	began := time.Now()
	if err := c.SetReadDeadline(began.Add(mostReading + 15*time.Second)); err != nil {
		t.Fatal(err)
	}
	_, err = io.Copy(io.Discard, c)
	if waited := time.Since(began); err != nil || waited > mostReading+10*time.Second {
		t.Errorf("the connection was kept for %v: %v", waited, err)
	}
	answers(t, address)
}

// TestManyAnswers: many questions at once wait for their turn and none is lost;
// what nobody waits for any more is not worked out.
func TestManyAnswers(t *testing.T) {
	h := Handler(Options{Hosts: []string{host}, Spread: spread.Options{Draws: 250}})
	var all sync.WaitGroup
	for range 30 {
		all.Go(func() {
			if w := post(h, "/ask", request{Question: "shot", Sheet: string(demo.Sheet), Quick: true}); w.Code != 200 && w.Code != 503 {
				t.Errorf("status %d: %s", w.Code, w.Body)
			}
		})
	}
	all.Wait()
	long := Handler(Options{Hosts: []string{host}, Spread: spread.Options{Draws: 1_000_000}})
	ctx, cancel := context.WithCancel(context.Background())
	began := time.Now()
	time.AfterFunc(300*time.Millisecond, cancel)
	r := httptest.NewRequest("POST", "http://"+host+"/ask", bytes.NewReader(mustJSON(request{Question: "shot", Sheet: string(demo.Sheet)}))).WithContext(ctx)
	r.Header.Set("Origin", "http://"+host)
	r.Header.Set("Content-Type", "application/json")
	long.ServeHTTP(httptest.NewRecorder(), r)
	if took := time.Since(began); took > 20*time.Second {
		t.Errorf("a million draws went on for %v after nobody waited for them", took)
	}
}

// TestGoodbye: the program ends in good time, with answers under way and with
// connections that stay open.
func TestGoodbye(t *testing.T) {
	address, stop := served(t, Options{})
	idle, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	defer idle.Close()
	answers(t, address)
	began := time.Now()
	if err := stop(); err != nil || time.Since(began) > mostGoodbye+2*time.Second {
		t.Errorf("ended after %v: %v", time.Since(began), err)
	}
	if c, err := net.DialTimeout("tcp", address, time.Second); err == nil {
		c.Close()
		t.Error("the port is still open")
	}
}

// TestDoor: with a code one device comes in, once; without one, or with a wrong one,
// nobody does, and guessing comes to an end.
func TestDoor(t *testing.T) {
	var codes []string
	door, first := NewDoor(func(code string) { codes = append(codes, code) })
	codes = append(codes, first)
	address, _ := served(t, Options{Door: door})
	device := func() *http.Client {
		jar, err := cookiejar.New(nil)
		if err != nil {
			t.Fatal(err)
		}
		return &http.Client{Jar: jar}
	}
	status := func(c *http.Client, path string) int {
		r, err := c.Get("http://" + address + path)
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		return r.StatusCode
	}
	phone, tablet := device(), device()
	for _, path := range []string{"/", "/static/page.js", "/alive", "/?code=", "/?code=WRONG", "/alive?code=" + codes[0]} {
		if s := status(phone, path); s != 403 {
			t.Errorf("%s without the code: %d", path, s)
		}
	}
	if s := status(phone, "/?code="+codes[0]); s != 200 {
		t.Errorf("with the code: %d", s)
	}
	if s := status(phone, "/static/page.js"); s != 200 {
		t.Errorf("known again: %d", s)
	}
	next, code := NewDoor(func(string) {}) // a second page of this machine, in the same browser
	other, _ := served(t, Options{Door: next})
	if r, err := phone.Get("http://" + other + "/?code=" + code); err != nil || r.StatusCode != 200 {
		t.Errorf("the second page: %v, %v", r, err)
	}
	if s := status(phone, "/"); s != 200 {
		t.Errorf("a second page shuts out of the first: %d", s)
	}
	if s := status(tablet, "/?code="+codes[0]); s != 403 {
		t.Errorf("with a code that was used: %d", s)
	}
	if len(codes) != 2 || codes[0] == codes[1] || len(codes[1]) != codeLength {
		t.Errorf("codes %q", codes)
	}
	for range mostWrong {
		status(tablet, "/?code=AAAAAAAA")
	}
	if s := status(tablet, "/?code="+codes[1]); s != 403 {
		t.Errorf("after so many wrong codes: %d", s)
	}
	if s := status(phone, "/"); s != 200 {
		t.Errorf("who was in before: %d", s)
	}
}
