package page

import (
	"crypto/rand"
	"crypto/subtle"
	"net/http"
	"slices"
	"strings"
	"sync"
)

// guard lets through what the page itself asks, and nothing that another page makes
// a browser ask (by its origin), or reads under another name (by the host).
func (s *server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if !slices.Contains(s.Hosts, r.Host) {
			http.Error(w, "this page is not served under this name", http.StatusMisdirectedRequest)
			return
		}
		if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" && site != "none" {
			http.Error(w, "another page may not ask this one", http.StatusForbidden)
			return
		}
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			if r.Header.Get("Origin") != "http://"+r.Host {
				http.Error(w, "another page may not ask this one", http.StatusForbidden)
				return
			}
			if kind, _, _ := strings.Cut(r.Header.Get("Content-Type"), ";"); kind != "application/json" {
				http.Error(w, "want application/json", http.StatusUnsupportedMediaType)
				return
			}
		}
		if s.Door != nil && !s.Door.pass(w, r) {
			return
		}
		next.ServeHTTP(w, r)
	})
}

// Door lets in who brings a code that was not used before, and knows him again by a
// cookie: neither other machines nor other users of this one get in by the port alone.
type Door struct {
	announce func(code string) // tells the person at the terminal the next code

	mu       sync.Mutex
	code     string
	wrong    int
	sessions []string
}

// Bounds of a door.
const (
	mostWrong    = 20 // codes; then nobody new is let in
	mostSessions = 20
	codeLength   = 8             // of 32 letters and digits: short enough to be typed, and wrong ones are counted
	cookieName   = "springcalc-" // and the port: a browser gives the cookies of one to all ports of a machine
)

// NewDoor returns a closed door with its first code; those for more are announced,
// each when the one before is used.
func NewDoor(announce func(code string)) (d *Door, code string) {
	d = &Door{announce: announce, code: rand.Text()[:codeLength]}
	return d, d.code
}

// pass says whether a request may come in, and answers it itself where not, or
// where it has brought the code.
func (d *Door) pass(w http.ResponseWriter, r *http.Request) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	name := cookieName + r.Host[strings.LastIndexByte(r.Host, ':')+1:]
	if c, err := r.Cookie(name); err == nil {
		for _, known := range d.sessions {
			if subtle.ConstantTimeCompare([]byte(known), []byte(c.Value)) == 1 {
				return true
			}
		}
	}
	brought := r.URL.Query().Get("code")
	switch {
	case r.Method != http.MethodGet || r.URL.Path != "/" || brought == "" || d.wrong >= mostWrong || len(d.sessions) >= mostSessions:
	case subtle.ConstantTimeCompare([]byte(brought), []byte(d.code)) != 1:
		d.wrong++
	default:
		session := rand.Text()
		d.sessions, d.code = append(d.sessions, session), rand.Text()[:codeLength]
		d.announce(d.code)
		http.SetCookie(w, &http.Cookie{Name: name, Value: session, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return false
	}
	http.Error(w, textNoCode, http.StatusForbidden)
	return false
}
