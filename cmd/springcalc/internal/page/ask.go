package page

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/picture"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/render"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/words"
)

// question is one of the program's questions as the page asks it.
type question struct {
	ID, Nav, Heading string
	Live             bool       // follows the hand
	Alone            bool       // of the springs and the stroke: the rest of the sheet need not be there
	Params           []param    // asked for beside the sheet
	Adds             []param    // of a visit that can be added to the sheet here
	Takes            []fileKind // files that it reads
	ask              func(context.Context, *asked) (*report.Report, error)
	line             func(*asked) []string // the command line's words behind the sheet
}

// param is a value that a question asks for beside the sheet.
type param struct {
	ID, Label string
	Key       string // of the sheet, whose value stands in it at first
}

// fileKind is what a file that is dropped on the page may be.
type fileKind string

// The kinds of file.
const (
	aSheet  fileKind = "sheet"
	aLog    fileKind = "log"
	aList   fileKind = "springs"
	aRecord fileKind = "peaks"
)

// file is one that a person gave to the page.
type file struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// request is what the page asks: all that an answer depends on, so that the server
// keeps nothing.
type request struct {
	Question string            `json:"question"`
	Sheet    string            `json:"sheet"` // text
	Tries    trial             `json:"tries"`
	Kept     trial             `json:"kept"`   // drawn dashed beside what is tried
	Params   map[string]string `json:"params"` // as typed
	Files    map[fileKind]file `json:"files"`
	Units    string            `json:"units"` // "metric" or "inch"; "" as the sheet is typed
	Quick    bool              `json:"quick"`
	Dark     bool              `json:"dark"`
	Kind     string            `json:"kind"` // of a file to download
}

// asked is a request that has been read.
type asked struct {
	*request
	*question
	name    string           // of the sheet, for messages and the command line
	base    *machine.Machine // as the sheet has it
	machine *machine.Machine // as tried
	sets    []string         // what is tried
	family  quantity.Family
	spread  spread.Options
	today   sheet.Date
}

var questions = []question{
	{ID: "shot", Nav: "Shot", Heading: "How does the shot run?", Live: true, Takes: []fileKind{aLog},
		ask: func(ctx context.Context, a *asked) (*report.Report, error) {
			o := answer.ShotOptions{Spread: a.spread}
			logs, err := a.logs()
			if len(logs) > 0 {
				o.Log = &logs[0]
			}
			if err != nil {
				return nil, err
			}
			return answer.Shot(ctx, a.machine, o)
		},
		line: func(a *asked) []string { return a.fileWords("--against", aLog) }},
	{ID: "diagnose", Nav: "What is wrong", Heading: "What is wrong?", Takes: []fileKind{aLog, aRecord},
		ask: func(ctx context.Context, a *asked) (*report.Report, error) {
			m, o, err := a.evidence()
			if err != nil {
				return nil, err
			}
			return answer.Diagnose(ctx, m, o)
		},
		line: func(a *asked) []string {
			return append(a.fileWords("--log", aLog), a.fileWords("--peaks", aRecord)...)
		}},
	{ID: "replace", Nav: "Which spring", Heading: "Which spring instead?", Takes: []fileKind{aList},
		ask: func(ctx context.Context, a *asked) (*report.Report, error) {
			pick, err := a.pick()
			if err != nil {
				return nil, err
			}
			o := answer.ReplaceOptions{Spread: a.spread, Pick: pick}
			if f, ok := a.Files[aList]; ok {
				list, err := sheet.ReadSprings(f.Name, []byte(f.Text))
				if err != nil {
					return nil, err
				}
				o.Candidates = list
			}
			return answer.Replace(ctx, a.base, o)
		},
		line: func(a *asked) []string { return append(a.fileWords("--candidates", aList), a.pickWords()...) }},
	{ID: "basket", Nav: "Other basket", Heading: "What if the basket changes?",
		Params: []param{{"diameter", "Diameter", "basket.diameter"}, {"depth", "Depth", "basket.depth"}, {"dose", "Dose", "coffee.dose"}},
		ask: func(ctx context.Context, a *asked) (*report.Report, error) {
			var sets []string
			for _, p := range a.question.Params {
				if v := strings.TrimSpace(a.Params(p.ID)); v != "" {
					sets = append(sets, p.Key+"="+v)
				}
			}
			other, err := sheet.Read(a.name, []byte(a.Sheet), sets)
			if err != nil {
				return nil, err
			}
			return answer.Basket(ctx, a.base, answer.BasketOptions{Other: other, Spread: a.spread})
		},
		line: func(a *asked) []string {
			var to []string
			for _, p := range a.question.Params {
				if v := strings.TrimSpace(a.Params(p.ID)); v != "" {
					to = append(to, p.ID+"="+v)
				}
			}
			return []string{"--to", strings.Join(to, ", ")}
		}},
	{ID: "history", Nav: "Over the years", Heading: "How has it aged?", Takes: []fileKind{aRecord},
		Adds: []param{{"date", "Date", ""}, {"peak", "Peak pressure", ""}, {"done", "What was done", ""}, {"note", "Note", ""}},
		ask: func(ctx context.Context, a *asked) (*report.Report, error) {
			m, peaks, err := a.base, []sheet.Peak(nil), error(nil)
			if f, ok := a.Files[aRecord]; ok {
				peaks, err = sheet.ReadPeaks(f.Name, []byte(f.Text))
			} else if a.isDemo() {
				m, err = machine.Read(demoName, slices.Concat(demo.Sheet, []byte("\n"), demo.Measured, []byte("\n"), demo.Visits), nil)
			}
			if err != nil {
				return nil, err
			}
			return answer.History(ctx, m, answer.HistoryOptions{AsOf: a.today, Peaks: peaks})
		},
		line: func(a *asked) []string { return a.fileWords("--peaks", aRecord) }},
	{ID: "lever", Nav: "Lever", Heading: "What does the hand feel?",
		ask: func(ctx context.Context, a *asked) (*report.Report, error) {
			return answer.Lever(ctx, a.base, answer.LeverOptions{})
		}},
	{ID: "spring", Nav: "Spring to scale", Heading: "Is the spring good as it is used?", Alone: true,
		ask: func(ctx context.Context, a *asked) (*report.Report, error) {
			return answer.Spring(ctx, a.base, answer.SpringOptions{})
		}},
	{ID: "order", Nav: "Order sheet", Heading: "What does the winder need?",
		Params: []param{{ID: "pick", Label: "Row of the list"}},
		ask: func(ctx context.Context, a *asked) (*report.Report, error) {
			pick, err := a.pick()
			if err != nil {
				return nil, err
			}
			return answer.Replace(ctx, a.base, answer.ReplaceOptions{Spread: a.spread, Sheet: true, Pick: pick})
		},
		line: func(a *asked) []string { return append([]string{"--order"}, a.pickWords()...) }},
}

// logs are the logged shots that were given to the page.
func (a *asked) logs() ([]answer.NamedLog, error) {
	f, ok := a.Files[aLog]
	if !ok {
		return nil, nil
	}
	log, err := sheet.ReadLog(f.Name, []byte(f.Text))
	return []answer.NamedLog{{Name: f.Name, Log: log}}, err
}

// evidence is what a diagnosis goes by: files that were given to the page, or for the
// demo machine as it is what was measured on it.
func (a *asked) evidence() (m *machine.Machine, o answer.DiagnoseOptions, err error) {
	m = a.base
	peaks, given := a.Files[aRecord]
	if o.Logs, err = a.logs(); err != nil {
		return nil, o, err
	}
	if a.isDemo() && !given && o.Logs == nil {
		if m, err = machine.Read(demoName, slices.Concat(demo.Sheet, []byte("\n"), demo.Measured), nil); err != nil {
			return nil, o, err
		}
		log, err := sheet.ReadLog("log.csv", demo.Log)
		if err != nil {
			return nil, o, err
		}
		o.Logs, peaks, given = []answer.NamedLog{{Name: "log.csv", Log: log}}, file{"peaks.csv", string(demo.Peaks)}, true
	}
	var list []sheet.Peak
	if given {
		if list, err = sheet.ReadPeaks(peaks.Name, []byte(peaks.Text)); err != nil {
			return nil, o, err
		}
	}
	if m.Several[sheet.VisitTable.Path] > 0 {
		l, err := m.Life(a.today, list)
		if err == nil {
			o.Life, o.Visits = l.Life, l.Visits
		}
		return m, o, err
	}
	if given {
		o.Life = answer.LifeOfPeaks(list, nil)
	}
	return m, o, nil
}

// isDemo says whether the demo machine is asked about as it is.
func (a *asked) isDemo() bool { return a.name == demoName && a.Sheet == string(demo.Sheet) }

// fileWords are a flag with the file of a kind that was given to the page.
func (a *asked) fileWords(flag string, kind fileKind) []string {
	if f, ok := a.Files[kind]; ok {
		return []string{flag, f.Name}
	}
	return nil
}

// commands are the questions whose command has another name.
var commands = map[string]string{"order": "replace"}

// Params is a value that was asked for beside the sheet, as typed.
func (a *asked) Params(id string) string { return a.request.Params[id] }

// pick is the row of a ranking to order or to draw; 1 where none is named.
func (a *asked) pick() (n int, err error) {
	text := strings.TrimSpace(a.Params("pick"))
	if text == "" {
		return 1, nil
	}
	if _, err := fmt.Sscanf(text, "%d", &n); err != nil || n < 1 || fmt.Sprint(n) != text {
		return 0, sheet.Usef("row of the list: %q: want a number from 1", text)
	}
	return n, nil
}

// pickWords are the flag of that row.
func (a *asked) pickWords() []string {
	if n, err := a.pick(); err == nil && n > 1 {
		return []string{"--pick", fmt.Sprint(n)}
	}
	return nil
}

// read reads a request.
func (r *request) read(ctx context.Context, name string, draws spread.Options, now time.Time) (*asked, error) {
	i := slices.IndexFunc(questions, func(q question) bool { return q.ID == r.Question })
	if i < 0 {
		return nil, sheet.Usef("question: %q is not known", r.Question)
	}
	draws.Context = ctx
	if r.Quick { // always the same draws: the band does not flicker under the hand
		draws.Draws, draws.Stable = quickDraws, false
	}
	a := &asked{request: r, question: &questions[i], name: name, spread: draws, today: sheet.DateOf(now)}
	var err error
	if a.base, err = a.read(nil); err != nil {
		return nil, err
	}
	a.family = a.base.Family()
	if r.Units != "" {
		if err := a.family.UnmarshalText([]byte(r.Units)); err != nil {
			return nil, sheet.Usef("units: %v", err)
		}
	}
	if a.Live {
		a.sets = r.Tries.sets(a.base, a.family)
	}
	a.machine, err = a.as(a.sets)
	return a, err
}

// as is the machine with overrides.
func (a *asked) as(sets []string) (*machine.Machine, error) {
	if len(sets) == 0 {
		return a.base, nil
	}
	return a.read(sets)
}

// read reads the machine; what follows the hand goes by the newest readings of its visits.
func (a *asked) read(sets []string) (*machine.Machine, error) {
	if a.Alone {
		s, err := sheet.ReadSpringSheet(a.name, []byte(a.Sheet), sets, nil, nil)
		if err != nil {
			return nil, err
		}
		return machine.SpringsOf(s), nil
	}
	m, err := machine.Read(a.name, []byte(a.Sheet), sets)
	if err != nil || !a.Live || m.Several[sheet.VisitTable.Path] == 0 {
		return m, err
	}
	return m.AsOf(a.today)
}

// quickDraws are made while the hand moves. The ends of their 95 % interval are off
// those of all draws by less than an eighth of its width.
const quickDraws = 256

// answer answers, and lays what is compared with beside.
func (a *asked) answer(ctx context.Context) (r, beside *report.Report, err error) {
	if r, err = a.ask(ctx, a); err != nil || !a.Live {
		return r, nil, err
	}
	kept := a.Kept.sets(a.base, a.family)
	if slices.Equal(kept, a.sets) {
		return r, nil, nil
	}
	other := *a
	other.sets, other.spread = kept, spread.Options{Skip: true}
	if other.machine, err = a.as(kept); err != nil {
		return nil, nil, err
	}
	if beside, err = other.ask(ctx, &other); err != nil {
		return nil, nil, err
	}
	name := texts["today"]
	if len(a.Kept) > 0 {
		name = texts["kept"]
	}
	for i := range r.Charts {
		c := &r.Charts[i]
		if o := beside.Chart(c.Key); o != nil && len(o.Series) > 0 {
			s := o.Series[0]
			s.Name, s.Dashed = name, true
			c.Series = append(slices.Clone(c.Series), s)
			c.Series[0].Name = texts["tried"]
		}
	}
	return r, beside, nil
}

// commandLine is what gives the same answer on a terminal.
func (a *asked) commandLine() string {
	command := a.ID
	if c, ok := commands[command]; ok {
		command = c
	}
	args := []string{"springcalc", command}
	if a.name != demoName {
		args = append(args, a.name)
	}
	if a.Live {
		for _, s := range a.sets {
			args = append(args, "--set", s)
		}
	}
	if a.line != nil {
		args = append(args, a.line(a)...)
	}
	if a.Units != "" {
		args = append(args, "--units", a.Units)
	}
	return words.Shell(args...)
}

// fault is something wrong, beside the field that it belongs to where there is one.
type fault struct {
	Path    string `json:"path"`
	Text    string `json:"text"`
	Missing bool   `json:"missing"`
}

// faultsOf are the faults that an error has.
func faultsOf(err error) (all []fault) {
	var list sheet.Faults
	if errors.Is(err, answer.ErrUnmeasured) { // said for flags
		return []fault{{Path: "bench.peak", Text: textUnmeasured, Missing: true}}
	}
	if !errors.As(err, &list) {
		return []fault{{Text: machine.WithoutPackage(err)}}
	}
	for _, f := range list {
		missing, is := strings.CutPrefix(f.Text, "missing; ")
		if is {
			f.Text = missing
		}
		all = append(all, fault{Path: f.Key, Text: f.Text, Missing: is})
	}
	return all
}

// answered is an answer as the script needs it: texts as HTML, curves as numbers.
type answered struct {
	Faults   []fault           `json:"faults,omitempty"`
	Empty    bool              `json:"empty,omitempty"` // nothing is wrong, but more is needed
	Title    string            `json:"title,omitempty"`
	Figures  string            `json:"figures,omitempty"`
	Lead     string            `json:"lead,omitempty"`
	Rest     string            `json:"rest,omitempty"` // not of a quick answer
	Drawn    string            `json:"drawn,omitempty"`
	Mini     string            `json:"mini,omitempty"`
	Caution  string            `json:"caution,omitempty"`
	Odd      []fault           `json:"odd,omitempty"` // values that are possible but hardly meant
	Doubts   int               `json:"doubts"`
	Charts   []any             `json:"charts,omitempty"`
	Knobs    []knob            `json:"knobs,omitempty"`
	Hints    map[string]string `json:"hints,omitempty"`
	Line     string            `json:"line,omitempty"`
	Quick    bool              `json:"quick,omitempty"`
	Question string            `json:"question"`
}

// figure is a number that is shown large, with how it has changed.
type figure struct {
	render.RowView
	Change string // against what it is compared with: "+1.22"
	Was    string // there: "6.55"
	About  bool   // the interval is a quick one
}

// show lays an answer out for the page.
func (a *asked) show(r, beside *report.Report, o render.Options) (*answered, error) {
	o.Family = a.family
	v, err := render.Viewed(r, o)
	if err != nil {
		return nil, err
	}
	out := &answered{Question: a.ID, Title: v.Title, Caution: v.Caution, Doubts: len(v.Doubts), Line: a.commandLine(), Quick: a.Quick}
	if a.Live {
		out.Knobs, out.Hints = knobs(a.base, a.family), a.Tries.hints(a.base, a.family)
		out.Odd = faultsOf2(a.base.OddValues())
	}
	var figures []figure
	for _, f := range v.Figures() {
		change, was := a.change(r, beside, f.Key)
		figures = append(figures, figure{f, change, was, a.Quick})
	}
	for _, c := range r.Charts {
		out.Charts = append(out.Charts, render.ChartData(c, a.family))
	}
	look := picture.Screen
	if a.Dark {
		look = picture.Dark
	}
	var drawn bytes.Buffer
	if err := picture.Sketches(&drawn, r.Title, r.Sketches, a.family, look); err != nil {
		return nil, err
	}
	out.Drawn = drawn.String()
	data := struct {
		*render.View
		ID      string
		Figures []figure
		Other   []render.RowView
		Charts  []curveTable
		Pick    string // row of the ranking that is drawn
	}{v, a.ID, figures, v.OtherRows(), curveTables(r, a.family), cmp.Or(strings.TrimSpace(a.Params("pick")), "1")}
	parts := map[string]*string{"figures": &out.Figures, "lead": &out.Lead, "mini": &out.Mini}
	if !a.Quick {
		parts["rest"] = &out.Rest
	}
	for name, to := range parts {
		var b bytes.Buffer
		if err := pages().ExecuteTemplate(&b, name, data); err != nil {
			return nil, err
		}
		*to = b.String()
	}
	return out, nil
}

// change says how a row differs from what it is compared with: "+1.22", and "6.55".
func (a *asked) change(r, beside *report.Report, key string) (step, was string) {
	if beside == nil {
		return "", ""
	}
	row, old := r.Row(key), beside.Row(key)
	if row == nil || old == nil || old.Text != "" {
		return "", ""
	}
	digits := row.Digits
	if row.Band != nil && row.Band.Std > 0 {
		digits = min(digits, row.Band.Known)
	}
	step = report.Amount{Value: row.Value - old.Value, Unit: row.Unit, Digits: digits, Step: true, Plus: true, Bare: true}.In(a.family)
	if strings.Trim(step, "+-0.") == "" {
		return "", ""
	}
	return strings.Replace(step, "-", "−", 1), report.Amount{Value: old.Value, Unit: old.Unit, Digits: digits, Bare: true}.In(a.family)
}

// curveTable is a chart as a table, for those who do not see it.
type curveTable struct {
	Name, XHead, YHead string
	Rows               [][]string
}

// curveTables have a line for about every fortieth part of a curve.
func curveTables(r *report.Report, f quantity.Family) (all []curveTable) {
	const most = 40
	for _, c := range r.Charts {
		if len(c.Series) == 0 {
			continue
		}
		s := c.Series[0]
		x, xDigits := c.XUnit.In(f, 1)
		y, yDigits := c.Unit.In(f, 2)
		t := curveTable{Name: c.Name, XHead: c.XName, YHead: c.Name}
		if x.Symbol != "" {
			t.XHead += ", " + x.Symbol
		}
		if y.Symbol != "" {
			t.YHead += ", " + y.Symbol
		}
		for i := 0; i < len(s.X); i += 1 + len(s.X)/most {
			t.Rows = append(t.Rows, []string{x.Number(s.X[i], xDigits), y.Number(s.Y[i], yDigits)})
		}
		all = append(all, t)
	}
	return all
}

// fileOf is an answer as a file to keep.
func (a *asked) fileOf(r *report.Report, o render.Options) (name, media string, data []byte, err error) {
	o.Family, o.Full, o.Line = a.family, true, a.commandLine()
	var b bytes.Buffer
	switch a.Kind {
	case "svg":
		media, err = "image/svg+xml", picture.SVG(&b, r, a.family, picture.Screen)
	case "png":
		media, err = "image/png", picture.PNG(&b, r, a.family, picture.Screen)
	case "csv":
		media, err = "text/csv", render.CSV(&b, r, o)
	case "json":
		media, err = "application/json", render.JSON(&b, r, o)
	case "html":
		media, err = "text/html", render.HTML(&b, r, o)
	default:
		err = sheet.Usef("kind: %q: want svg, png, csv, json or html", a.Kind)
	}
	base := strings.TrimSuffix(filepath.Base(a.name), filepath.Ext(a.name))
	return base + "-" + a.ID + "." + a.Kind, media, b.Bytes(), err
}

// recognize says what a file is by reading it.
func recognize(name string, text []byte) (kind fileKind, said string, err error) {
	if strings.EqualFold(filepath.Ext(name), ".toml") {
		s, err := sheet.Parse(name, text, nil)
		if err == nil {
			err = s.Faults.Err()
		}
		return aSheet, name, err
	}
	var faults []error
	if log, err := sheet.ReadLog(name, text); err == nil {
		return aLog, fmt.Sprintf("%s: a logged shot of %d readings", name, len(log)), nil
	} else {
		faults = append(faults, fmt.Errorf("as a logged shot: %w", err))
	}
	if peaks, err := sheet.ReadPeaks(name, text); err == nil {
		return aRecord, fmt.Sprintf("%s: %d peaks over the years", name, len(peaks)), nil
	} else {
		faults = append(faults, fmt.Errorf("as peaks over the years: %w", err))
	}
	if list, err := sheet.ReadSprings(name, text); err == nil {
		return aList, fmt.Sprintf("%s: %d springs", name, len(list.Springs)), nil
	} else {
		faults = append(faults, fmt.Errorf("as a list of springs: %w", err))
	}
	return "", "", fmt.Errorf("%s cannot be read\n%w", name, errors.Join(faults...))
}
