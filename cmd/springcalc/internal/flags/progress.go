package flags

import (
	"fmt"
	"os"
	"time"

	"golang.org/x/term"
)

// Progress tells a person at a terminal how far something is that takes more
// than a second. Anywhere else it is silent.
type Progress struct {
	to    *os.File // nil where nobody watches
	what  string
	began time.Time
	last  time.Time
}

// NewProgress begins; what is said goes to a file that may be a terminal.
func NewProgress(to *os.File, what string) *Progress {
	p := &Progress{what: what, began: time.Now()}
	if term.IsTerminal(int(to.Fd())) {
		p.to = to
	}
	return p
}

// Show says how much is done, at most ten times a second.
func (p *Progress) Show(done, total int) {
	now := time.Now()
	if p.to == nil || now.Sub(p.began) < time.Second || now.Sub(p.last) < 100*time.Millisecond {
		return
	}
	p.last = now
	fmt.Fprintf(p.to, "\r%s: %3.0f %%", p.what, 100*float64(done)/float64(total))
}

// Done wipes the line.
func (p *Progress) Done() {
	if p.to != nil && !p.last.IsZero() {
		fmt.Fprint(p.to, "\r\033[K")
	}
}
