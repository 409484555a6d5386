// Package ask fills a machine sheet one question at a time. It is a function of the
// sheet's bytes, what is typed and where to write: it knows no files, no flags and
// no terminal.
package ask

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/tables"
)

// Options are the sheet and its surroundings.
type Options struct {
	Name     string                           // what to call the sheet
	Data     []byte                           // what it has so far
	Save     func(before, after []byte) error // puts the whole sheet in place of the one before
	Terminal bool                             // somebody sits there: a bad answer is asked again, and the questions begin behind the last answer
}

var (
	errUnread = errors.New("some answers were not taken")
	errSave   = errors.New("nothing was saved")
)

// asker is one run through the questions.
type asker struct {
	Options
	ctx     context.Context
	in      *bufio.Reader
	out     io.Writer
	all     []place
	pending map[string]string // answers of a group that is not complete yet, by path
	refused []string          // of answers that were piped in
}

// place is a question with the group that it belongs to.
type place struct {
	question
	group *group
	of    int // its place in the group
}

// Run asks until all is asked, the answers end, or "." leaves. Whatever is answered
// is saved at once, as a whole sheet that reads.
func Run(ctx context.Context, in io.Reader, out io.Writer, o Options) error {
	a := &asker{Options: o, ctx: ctx, in: bufio.NewReader(in), out: out, pending: map[string]string{}}
	for i := range groups {
		for j, q := range groups[i].questions {
			a.all = append(a.all, place{q, &groups[i], j})
		}
	}
	s, err := a.sheet()
	if err != nil {
		return fmt.Errorf("nothing was asked, as the sheet does not read: %w", err)
	}
	a.say("Enter: don't know, or keep what is there · ? more · < back · - take it out · . leave. Every answer is saved at once.")
	at := 0
	for i, p := range a.all {
		if a.Terminal && s.Has(pathIn(s, p.path)) {
			at = i + 1
		}
	}
	for at < len(a.all) && err == nil {
		if err = ctx.Err(); err == nil {
			at, err = a.ask(at)
		}
	}
	switch {
	case err != nil && !errors.Is(err, io.EOF):
		return err
	case err == nil:
		a.say("That was all. The sheet has room for more: its lines that begin with #.")
	}
	if len(a.refused) > 0 {
		return fmt.Errorf("%w: %s", errUnread, strings.Join(a.refused, "; "))
	}
	return nil
}

// sheet reads the sheet, of which much may be missing; whatever else is wrong with
// it is an error.
func (a *asker) sheet() (*sheet.Sheet, error) {
	s, err := sheet.Parse(a.Name, a.Data, nil)
	if err != nil {
		return nil, err
	}
	return s, s.Err()
}

// pathIn is the path of a key in a sheet, of the first of tables that may repeat.
func pathIn(s *sheet.Sheet, path string) string {
	table, name := sheet.SplitPath(path)
	if s.Several[table] > 0 {
		return sheet.Indexed(table, 1) + "." + name
	}
	return path
}

// say prints a paragraph.
func (a *asker) say(format string, args ...any) {
	for _, line := range words.Wrap(fmt.Sprintf(format, args...), words.LineWidth) {
		fmt.Fprintln(a.out, line)
	}
}

// ask asks one question and returns the place of the next; io.EOF to leave.
func (a *asker) ask(at int) (next int, err error) {
	p, k := a.all[at], sheet.FindKey(a.all[at].path)
	s, err := a.sheet()
	if err != nil {
		return at, err
	}
	if slices.ContainsFunc(p.group.unless, s.Has) {
		return at + len(p.group.questions) - p.of, nil
	}
	path := pathIn(s, p.path)
	now := s.Entries[path].Typed()
	if text, ok := a.pending[p.path]; ok {
		now = text
	}
	a.pose(at, k, now)
	suggestion := ""
	for {
		fmt.Fprintf(a.out, "%s> ", p.path)
		line, err := a.in.ReadString('\n')
		if err != nil && line == "" {
			fmt.Fprintln(a.out)
			return at, io.EOF
		}
		line = strings.TrimSpace(line)
		if !a.Terminal { // which would have shown it
			fmt.Fprintln(a.out, line)
		}
		if suggestion != "" && slices.Contains([]string{"", "y", "yes"}, strings.ToLower(line)) {
			line = suggestion
		}
		switch line {
		case ".":
			return at, io.EOF
		case "<":
			return max(0, at-1), nil
		case "?":
			a.explain(k, p)
			continue
		case "-":
			return a.takeOut(at, path)
		case "":
			if now == "" || len(p.group.questions) == 1 {
				return a.open(at, now != "")
			}
			line = now
		}
		if suggestion = mend(k, line); suggestion != "" && a.Terminal {
			a.say("%s has no unit: %s? Enter for yes, or type it again.", line, suggestion)
			continue
		}
		if err = k.Accepts(line); err == nil {
			next, err = a.take(at, line)
		}
		if err == nil || errors.Is(err, errSave) {
			return next, err
		}
		a.say("%q: %v", line, err)
		if !a.Terminal {
			a.refused = append(a.refused, fmt.Sprintf("%s %q", p.path, line))
			return a.open(at, false)
		}
	}
}

// pose puts a question.
func (a *asker) pose(at int, k *sheet.Key, now string) {
	p := a.all[at]
	fmt.Fprintln(a.out)
	if p.group.title != "" && p.of == 0 {
		a.say("%s: %d questions that only count together.", p.group.title, len(p.group.questions))
	}
	a.say("%d of %d  %s", at+1, len(a.all), p.what)
	a.say("How: %s", p.how)
	if p.caution != "" {
		a.say("! %s", p.caution)
	}
	switch {
	case now != "":
		a.say("Now: %s", now)
	case len(k.Choices) > 0:
		a.say("One of: %s", strings.Join(k.Choices, ", "))
	default:
		a.say("Example: %s", k.Example)
	}
}

// mend is an answer with the unit that it lacks; "" where it lacks none.
func mend(k *sheet.Key, line string) string {
	if k.Dim == nil || k.Dim == quantity.DimNumber {
		return ""
	}
	if _, rest, err := quantity.ScanNumber(line); err != nil || rest != "" {
		return ""
	}
	return line + " " + k.Dim.Units[0]
}

// explain says more of a question.
func (a *asker) explain(k *sheet.Key, p place) {
	a.say("%s: %s.", p.path, strings.ReplaceAll(k.Doc, "\n", " "))
	if p.more != "" {
		a.say("%s", p.more)
	}
	if k.Dim != nil && len(k.Dim.Units) > 0 {
		a.say("Units: %s. Possible is %s. What it may be off by can follow: \"%s ± 1 %%\".", words.OrList(k.Dim.Units), k.Allowed, k.Example)
	}
	if d, ok := tables.DefaultFor(p.path); ok {
		a.say("Left open it is taken as %s (%s): %s.", quantity.Brief(d.Value, d.Value, k.Dim), quantity.BriefRange(d.Low, d.High, d.Value, k.Dim), d.Source)
	}
}

// open leaves a question open, or as it is. Without one that its group needs the
// rest of the group is not asked.
func (a *asker) open(at int, stated bool) (int, error) {
	p := a.all[at]
	n := len(p.group.questions)
	switch {
	case n == 1 || stated:
		return at + 1, nil
	case p.of >= n-p.group.may:
		return a.close(at)
	case len(a.pending) > 0:
		a.say("Without this the others of the group tell nothing; they are left out.")
	}
	clear(a.pending)
	return at + n - p.of, nil
}

// take puts an answer into the sheet, or keeps it until its group is complete.
func (a *asker) take(at int, line string) (int, error) {
	p := a.all[at]
	if p.path == "lever.kind" {
		if kind, _ := sheet.FindKey(p.path).Choose(line); kind != sheet.RackAndPinion {
			a.say("What a lever of this kind measures goes under lever into the sheet by hand; its commented lines say what is wanted.")
			return at + len(p.group.questions), nil
		}
	}
	a.pending[p.path] = line
	if p.of < len(p.group.questions)-1 {
		return at + 1, nil
	}
	return a.close(at)
}

// close puts the answers of a group into the sheet. Those that do not go together or
// with the rest are dropped; which is said.
func (a *asker) close(at int) (int, error) {
	var sets []string
	for _, q := range a.all[at].group.questions {
		if text, ok := a.pending[q.path]; ok {
			sets = append(sets, q.path+"="+text)
		}
	}
	clear(a.pending)
	err := a.put(sets)
	if err != nil && len(sets) > 1 && !errors.Is(err, errSave) { // which of them is wrong nobody knows
		a.say("These do not go together: %v. Go back with < to put it right; nothing of them is in the sheet.", err)
		if !a.Terminal {
			a.refused = append(a.refused, strings.Join(sets, ", "))
		}
		err = nil
	}
	return at + 1, err
}

// takeOut takes an answer out of the sheet again, where the rest reads without it.
func (a *asker) takeOut(at int, path string) (int, error) {
	delete(a.pending, a.all[at].path)
	if s, err := a.sheet(); err != nil || !s.Has(path) {
		return at + 1, err
	}
	err := a.put([]string{path + "="})
	if err != nil && !errors.Is(err, errSave) {
		a.say("%v", err)
		err = nil
	}
	return at + 1, err
}

// put writes values into the sheet and saves it, where it then still reads, and says
// what is known now.
func (a *asker) put(sets []string) error {
	after, whole, err := sheet.Edit(a.Data, sets)
	if err != nil {
		return plain(err)
	}
	if !whole {
		return fmt.Errorf("this cannot go into the sheet without losing its comments; write it in by hand: %s", strings.Join(sets, ", "))
	}
	m, open, err := a.machineOf(after)
	if err != nil {
		return err
	}
	if !bytes.Equal(after, a.Data) {
		if err := a.Save(a.Data, after); err != nil {
			return fmt.Errorf("%w: %w", errSave, err)
		}
		a.Data = after
	}
	a.known(m, open)
	return nil
}

// plain is an error about a sheet without where in it.
func plain(err error) error {
	var faults sheet.Faults
	if errors.As(err, &faults) {
		return errors.New(faults[0].Text)
	}
	return err
}

// machineOf is the machine of a sheet, nil with what is still missing in it. Its
// error is what else is wrong.
func (a *asker) machineOf(data []byte) (m *machine.Machine, open []string, err error) {
	s, err := sheet.Read(a.Name, data, nil)
	var faults sheet.Faults
	if errors.As(err, &faults) {
		for _, f := range faults {
			if !strings.HasPrefix(f.Text, "missing") {
				return nil, nil, errors.New(f.Text)
			}
			open = append(open, f.Key)
		}
		return nil, open, nil
	}
	if err != nil {
		return nil, nil, err
	}
	m, err = machine.New(s)
	return m, nil, err
}

// known says what a sheet tells so far.
func (a *asker) known(m *machine.Machine, open []string) {
	if m == nil {
		if i := slices.Index(open, "spring.rate"); i >= 0 {
			open[i] = "peak and end pressure, or the spring"
		}
		a.say("Still wanted for a first answer: %s.", words.AndList(open))
		return
	}
	r, err := answer.Shot(a.ctx, m, answer.ShotOptions{Spread: spread.Options{Draws: 400, Seed: 1}})
	if err != nil {
		a.say("No shot yet: %s.", machine.WithoutPackage(err))
		return
	}
	var parts []string
	for _, key := range []string{"peak", "total_time", "yield"} {
		row := r.Row(key)
		text := row.Name + " " + row.Unit.Text(row.Value, row.Digits)
		if b := row.Band; b != nil {
			digits := min(row.Digits, b.Known)
			text += " (" + row.Unit.Number(b.Low, digits) + " to " + row.Unit.Number(b.High, digits) + ")"
		}
		parts = append(parts, text)
	}
	a.say("Known now: %s.", strings.Join(parts, ", "))
	for _, text := range m.Contradictions() {
		a.say("%s.", text)
	}
	for _, d := range m.Doubts {
		if strings.Contains(d, "looks like") {
			a.say("? %s.", d)
		}
	}
}
