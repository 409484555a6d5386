// Package page shows the answers in a browser: a form of the machine sheet, the
// questions one under another, and sliders for what one would try. It asks the same
// functions as the terminal and shows the same rows; it has no numbers of its own.
// The server keeps nothing between two requests but the sessions of --listen: each
// request carries the text of the sheet and what is tried. It writes no file but
// the sheet that the person named, through a [Store].
package page

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/json"
	"errors"
	"html/template"
	"io/fs"
	"net"
	"net/http"
	"path"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/net/netutil"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/render"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
)

// Store is where the sheet of the page is kept.
type Store interface {
	Name() string                              // as the person named it
	Load() ([]byte, error)                     // fs.ErrNotExist for one that is still to be written
	Save(old, changed []byte, over bool) error // ErrChanged where it holds something else than old and over is not said
}

// ErrChanged says that a sheet has been changed by something else.
var ErrChanged = errors.New("the file has changed since it was read")

// Options are what a page is served with.
type Options struct {
	Store   Store // nil for the demo machine, which is kept nowhere
	Version string
	Now     func() time.Time
	Spread  spread.Options // how the answers are drawn once the hand rests
	Hosts   []string       // host:port by which the page may be called
	Door    *Door          // asks for a code; nil for tests of what is behind it
}

// demoName is what the demo machine is called in messages.
const demoName = "demo.toml"

//go:embed static
var static embed.FS

//go:embed page.html answer.html
var templates embed.FS

var pages = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{
		"text": text, "cautions": answer.Cautions, "downloads": func() map[string]string { return downloads },
		"table": func(t render.TableView, pick string) any { // with a row to choose, or "" for none
			return struct {
				render.TableView
				Pick string
			}{t, pick}
		},
	}).ParseFS(templates, "page.html", "answer.html"))
})

// downloads are the files that an answer can be had as, with what they are called.
var downloads = map[string]string{"svg": "svg", "png": "png", "csv": "csv", "json": "json"}

// text is one of the words of the page; a name without words is a mistake in a template.
func text(name string) string {
	words, ok := texts[name]
	if !ok {
		panic("page: no text for " + name)
	}
	return words
}

// server answers the requests of a page.
type server struct {
	Options
	quick, full chan struct{} // bound how many answers are worked out at once
	queued      atomic.Int64  // wait for their turn
}

// Bounds of what a page may be asked.
const (
	mostBody        = 1 << 20                // [B]
	mostConnections = 512                    // at once
	mostAnswers     = 2                      // worked out at once, of each kind
	mostQueued      = 32                     // waiting for their turn
	mostWaiting     = 60 * time.Second       // for a turn
	mostWork        = 90 * time.Second       // on one answer
	mostHeader      = 5 * time.Second        // until a request's head is there
	mostReading     = 15 * time.Second       // until its body is there
	mostIdle        = 60 * time.Second       // between two requests
	mostGoodbye     = 3 * time.Second        // for answers under way when the program ends
	telling         = 500 * time.Millisecond // between two words of how far an answer is
)

// Handler serves a page.
func Handler(o Options) http.Handler {
	s := &server{Options: o, quick: make(chan struct{}, mostAnswers), full: make(chan struct{}, mostAnswers)}
	if s.Now == nil {
		s.Now = time.Now
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.home)
	mux.HandleFunc("GET /static/{name}", s.static)
	mux.HandleFunc("GET /alive", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	mux.HandleFunc("POST /ask", posted(s.ask))
	mux.HandleFunc("POST /file", posted(s.file))
	mux.HandleFunc("POST /sheet", posted(s.sheet))
	mux.HandleFunc("POST /read", posted(s.read))
	mux.HandleFunc("POST /visit", posted(s.visit))
	mux.HandleFunc("POST /save", posted(s.save))
	return s.guard(mux)
}

// Serve serves a page until a context ends, and then lets answers under way end.
func Serve(ctx context.Context, l net.Listener, o Options) error {
	srv := &http.Server{
		Handler: Handler(o), ReadHeaderTimeout: mostHeader, ReadTimeout: mostReading, IdleTimeout: mostIdle,
		WriteTimeout: mostReading + mostWaiting + mostWork + 10*time.Second, MaxHeaderBytes: 1 << 14,
	}
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(netutil.LimitListener(l, mostConnections)) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	late, cancel := context.WithTimeout(context.Background(), mostGoodbye)
	defer cancel()
	if err := srv.Shutdown(late); err != nil {
		return srv.Close()
	}
	return nil
}

// frame is what the page begins with.
type frame struct {
	Title, Sheet, Name, Note, Texts, Version string
	Groups                                   []formGroup
	Questions                                []question
	Stored                                   bool
}

// load returns the text of the sheet and what to call it.
func (s *server) load() (name string, data []byte, err error) {
	if s.Store == nil {
		return demoName, demo.Sheet, nil
	}
	data, err = s.Store.Load()
	if errors.Is(err, fs.ErrNotExist) {
		data, err = nil, nil
	}
	return s.Store.Name(), data, err
}

func (s *server) name() string {
	if s.Store == nil {
		return demoName
	}
	return s.Store.Name()
}

func (s *server) home(w http.ResponseWriter, r *http.Request) {
	name, data, err := s.load()
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	f := frame{Sheet: string(data), Name: name, Texts: textsJSON, Version: s.Version, Questions: questions, Stored: s.Store != nil}
	if s.Store == nil {
		f.Note = textDemo
	}
	if sh, err := sheet.Parse(name, data, nil); err == nil {
		f.Groups, f.Title = form(sh), sh.Text("machine.name")
	}
	if f.Title == "" {
		f.Title = name
	}
	var b bytes.Buffer
	if err := pages().ExecuteTemplate(&b, "page.html", f); err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = b.WriteTo(w)
}

// media are the kinds of the files that come with the page, by ending.
var media = map[string]string{".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".txt": "text/plain; charset=utf-8"}

func (s *server) static(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	data, err := static.ReadFile("static/" + name) // names without a slash alone come here
	if err != nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", media[path.Ext(name)])
	_, _ = w.Write(data)
}

// posted reads a body of JSON and answers with what a function makes of it.
func posted[In any](do func(ctx context.Context, in *In, w http.ResponseWriter) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		var in In
		d := json.NewDecoder(http.MaxBytesReader(w, r.Body, mostBody))
		d.DisallowUnknownFields()
		if err := d.Decode(&in); err != nil {
			status := http.StatusBadRequest
			var large *http.MaxBytesError
			if errors.As(err, &large) {
				status = http.StatusRequestEntityTooLarge
			}
			http.Error(w, "this is no request of the page: "+err.Error(), status)
			return
		}
		out, err := do(r.Context(), &in, w)
		switch {
		case errors.Is(err, errBusy):
			http.Error(w, err.Error(), http.StatusServiceUnavailable)
		case errors.Is(err, context.Canceled):
			return // nobody waits for it
		case err != nil:
			writeJSON(w, answered{Faults: faultsOf(err), Empty: onlyMissing(faultsOf(err))})
		case out != nil:
			writeJSON(w, out)
		}
	}
}

// onlyMissing says whether a sheet is not wrong but has not enough.
func onlyMissing(faults []fault) bool {
	for _, f := range faults {
		if !f.Missing {
			return false
		}
	}
	return len(faults) > 0
}

func writeJSON(w http.ResponseWriter, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(b)
}

// errBusy says that too much is asked at once.
var errBusy = errors.New("too much is asked at once; try again")

// turn waits for a turn to work something out, and returns what ends it.
func (s *server) turn(ctx context.Context, quick bool) (context.Context, func(), error) {
	turns := s.full
	if quick {
		turns = s.quick
	}
	if s.queued.Add(1) > mostQueued {
		s.queued.Add(-1)
		return nil, nil, errBusy
	}
	defer s.queued.Add(-1)
	wait := time.NewTimer(mostWaiting)
	defer wait.Stop()
	select {
	case turns <- struct{}{}:
		ctx, cancel := context.WithTimeout(ctx, mostWork)
		return ctx, func() { cancel(); <-turns }, nil
	case <-wait.C:
		return nil, nil, errBusy
	case <-ctx.Done():
		return nil, nil, ctx.Err()
	}
}

// ask answers a question. Before an answer with all its draws stand lines that say how
// many are made.
func (s *server) ask(ctx context.Context, in *request, w http.ResponseWriter) (any, error) {
	ctx, done, err := s.turn(ctx, in.Quick)
	if err != nil {
		return nil, err
	}
	defer done()
	a, err := in.read(ctx, s.name(), s.Spread, s.Now())
	if err != nil {
		return nil, err
	}
	if !in.Quick {
		a.spread.Made = new(atomic.Int64)
		defer told(w, a.spread)()
	}
	r, beside, err := a.answer(ctx)
	if err != nil {
		return nil, err
	}
	return a.show(r, beside, render.Options{Version: s.Version, Date: s.Now()})
}

// made says how far an answer is.
type made struct {
	Made int64 `json:"made"` // draws
	Of   int   `json:"of"`   // 0 where nobody knows
}

// told tells how far an answer is, a line now and then, until that is ended.
func told(w http.ResponseWriter, o spread.Options) (end func()) {
	of := cmp.Or(o.Draws, spread.Usual)
	if o.Stable {
		of = 0
	}
	ending, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		each := time.NewTicker(telling)
		defer each.Stop()
		for {
			select {
			case <-ending:
				return
			case <-each.C:
				w.Header().Set("Content-Type", "application/json")
				line, _ := json.Marshal(made{o.Made.Load(), of}) // numbers always encode
				_, _ = w.Write(append(line, '\n'))
				_ = http.NewResponseController(w).Flush() // who does not want it sooner gets it with the answer
			}
		}
	}()
	return func() { close(ending); <-ended }
}

// file answers a question as a file to keep.
func (s *server) file(ctx context.Context, in *request, w http.ResponseWriter) (any, error) {
	ctx, done, err := s.turn(ctx, false)
	if err != nil {
		return nil, err
	}
	defer done()
	in.Quick = false
	a, err := in.read(ctx, s.name(), s.Spread, s.Now())
	if err != nil {
		return nil, err
	}
	r, _, err := a.answer(ctx)
	if err != nil {
		return nil, err
	}
	name, media, data, err := a.fileOf(r, render.Options{Version: s.Version, Date: s.Now()})
	if err != nil {
		return nil, err
	}
	w.Header().Set("Content-Type", media)
	w.Header().Set("Content-Disposition", contentDisposition(name))
	_, err = w.Write(data)
	return nil, err
}

// contentDisposition names a file for a browser to keep it under.
func contentDisposition(name string) string {
	plain := strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' || r == '"' || r == '\\' {
			return '-'
		}
		return r
	}, name)
	return `attachment; filename="` + plain + `"`
}

// edit is a change of the sheet: a field of the form, or what is tried.
type edit struct {
	Sheet string `json:"sheet"` // text
	Path  string `json:"path"`  // of the field that was changed; "" for none
	Value string `json:"value"`
	Unit  string `json:"unit"`
	Plus  string `json:"plus"`
	Tries trial  `json:"tries"` // to be put into the sheet
	Units string `json:"units"`
	Table string `json:"table"` // in which a row is added, or with Row above 0 taken out
	Row   int    `json:"row"`
	Kin   bool   `json:"kin"` // begin the sheet of another machine of the kind
}

// edited is the sheet after a change.
type edited struct {
	Sheet  string  `json:"sheet"`
	Form   string  `json:"form"`
	Title  string  `json:"title"`
	Anew   bool    `json:"anew,omitempty"` // comments were lost
	Rows   bool    `json:"rows,omitempty"` // a table that may repeat has its first row
	Faults []fault `json:"faults,omitempty"`
	Odd    []fault `json:"odd,omitempty"` // possible, but hardly meant
}

// sheet changes the sheet and lays its form out again.
func (s *server) sheet(_ context.Context, in *edit, _ http.ResponseWriter) (any, error) {
	var sets []string
	if in.Path != "" {
		sets = append(sets, in.Path+"="+joinTyped(typed{value: in.Value, unit: in.Unit, plus: in.Plus}))
	}
	if len(in.Tries) > 0 {
		q := request{Question: "shot", Sheet: in.Sheet, Tries: in.Tries, Units: in.Units}
		a, err := q.read(context.Background(), s.name(), s.Spread, s.Now())
		if err != nil {
			return nil, err
		}
		sets = append(sets, a.sets...)
	}
	out := edited{Sheet: in.Sheet}
	if len(sets) > 0 || in.Table != "" || in.Kin {
		var data []byte
		var err error
		whole := true
		switch {
		case in.Kin:
			data, err = sheet.Kin(s.name(), []byte(in.Sheet))
		case in.Table != "":
			data, whole, err = sheet.EditRow([]byte(in.Sheet), in.Table, in.Row)
		default:
			data, whole, err = sheet.Edit([]byte(in.Sheet), sets)
		}
		if err != nil {
			return edited{Sheet: in.Sheet, Faults: faultsOf(err)}, nil
		}
		out.Sheet, out.Anew = string(data), !whole
	}
	sh, err := sheet.Parse(s.name(), []byte(out.Sheet), nil)
	if err != nil {
		return nil, err
	}
	if table, _ := sheet.SplitPath(in.Path); sh.Several[table] == 1 {
		before, err := sheet.Parse(s.name(), []byte(in.Sheet), nil)
		out.Rows = err == nil && before.Several[table] == 0
	}
	out.Faults, out.Odd, out.Title = faultsOf2(sh.Faults), faultsOf2(sh.OddValues()), sh.Text("machine.name")
	var b bytes.Buffer
	if err := pages().ExecuteTemplate(&b, "form", form(sh)); err != nil {
		return nil, err
	}
	out.Form = b.String()
	return out, nil
}

// faultsOf2 are the faults of a list; none for an empty one.
func faultsOf2(list sheet.Faults) []fault {
	if len(list) == 0 {
		return nil
	}
	return faultsOf(list)
}

// visiting is a visit to be added to a sheet.
type visiting struct {
	Sheet  string            `json:"sheet"` // text
	Values map[string]string `json:"values"`
}

// visit adds a visit to the text of a sheet; what was there stays as it is.
func (s *server) visit(_ context.Context, in *visiting, _ http.ResponseWriter) (any, error) {
	today := sheet.DateOf(s.Now())
	values := []sheet.Value{{Name: "date", Text: today.String(), From: "date"}}
	if d := strings.TrimSpace(in.Values["date"]); d != "" {
		values[0].Text = d
	}
	for _, k := range sheet.VisitTable.Keys {
		if v := strings.TrimSpace(in.Values[k.Name]); v != "" && k.Name != "date" {
			values = append(values, sheet.Value{Name: k.Name, Text: v, From: k.Name})
		}
	}
	data, err := sheet.AppendVisit(s.name(), []byte(in.Sheet), values, today)
	if err != nil {
		return edited{Sheet: in.Sheet, Faults: faultsOf(err)}, nil
	}
	return edited{Sheet: string(data)}, nil
}

// known is what a dropped file was found to be.
type known struct {
	Kind   fileKind `json:"kind"`
	Said   string   `json:"said"`
	Faults []fault  `json:"faults,omitempty"`
}

// read says what a file is that was given to the page.
func (s *server) read(_ context.Context, in *file, _ http.ResponseWriter) (any, error) {
	kind, said, err := recognize(in.Name, []byte(in.Text))
	if err != nil {
		return known{Faults: []fault{{Text: err.Error()}}}, nil
	}
	return known{Kind: kind, Said: said}, nil
}

// saving is a sheet to be kept.
type saving struct {
	Old   string `json:"old"` // text that was read
	Sheet string `json:"sheet"`
	Over  bool   `json:"over"`
}

// saved says how that went.
type saved struct {
	Saved   bool `json:"saved"`
	Changed bool `json:"changed"` // the file holds something else than was read
}

// save keeps the sheet in its file.
func (s *server) save(_ context.Context, in *saving, w http.ResponseWriter) (any, error) {
	if s.Store == nil {
		return nil, sheet.Usef("the demo machine has no file")
	}
	if sh, err := sheet.Parse(s.name(), []byte(in.Sheet), nil); err != nil {
		return nil, err
	} else if err := sh.Faults.Err(); err != nil {
		return nil, err
	}
	err := s.Store.Save([]byte(in.Old), []byte(in.Sheet), in.Over)
	if errors.Is(err, ErrChanged) {
		return saved{Changed: true}, nil
	}
	return saved{Saved: true}, err
}

// policy lets the page run what comes with it and nothing else; the one style that
// is not in a file is that of a printout.
var policy = func() string {
	sum := sha256.Sum256([]byte(render.PrintCSS))
	return "default-src 'none'; script-src 'self'; style-src 'self' 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; " +
		"connect-src 'self'; img-src 'self' data: blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
}()
