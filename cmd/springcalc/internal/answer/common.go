// Package answer answers the questions of the command, one file a question: a
// function of a machine and options that returns a report. It knows no files, no
// flags, no terminal and no exit status; what it is asked wrongly it says by
// sheet.Usef.
package answer

import (
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile"
	"springcalc/profile/uncertain"
	"springcalc/tables"
)

// Cautions of one line, for the answer that they fit.
const (
	cautionSpring = "Spring: loaded even at rest. Press or captive rod rated above the solid force; let off all preload before the last retainer; stand aside; eye protection."
	cautionLever  = "Lever: keep hold of it until it is back; never let go without water and coffee under the piston."
	cautionHot    = "Heat, pressure: take off no filter holder and open no fitting until cold and without pressure. Above 60 °C skin burns in seconds, in steam at once."
	cautionLocal  = "Local codes, the maker's limits and licensed trades come first."
)

// Cautions are all that can hurt, for whoever shows them beside the answers.
func Cautions() []string { return cautionLines() }

// The cautions for those who ask for what can only be measured where it can hurt.
const (
	CautionSpring = cautionSpring
	CautionLever  = cautionLever
	CautionHot    = cautionHot
)

// cautionLines are all that can hurt.
func cautionLines() []string { return []string{cautionSpring, cautionLever, cautionHot, cautionLocal} }

// titles are the questions by command.
var titles = map[string]string{
	"shot": "Shot", "basket": "Another basket", "lever": "Lever", "spring": "Spring",
	"diagnose": "Diagnosis", "replace": "Replacement spring", "history": "History", "workshop": "Workshop",
}

// newReport begins an answer about a machine: what was stated, what was assumed
// and what is doubtful in it.
func newReport(command string, m *machine.Machine) *report.Report {
	title, ok := titles[command]
	if !ok {
		panic("answer: no title for " + command)
	}
	r := &report.Report{Command: command, Title: title + ": " + m.Name(), Cautions: cautionLines()}
	r.Input = stated(m.Sheet)
	r.Assumed = assumed(m.Defaults)
	r.Doubts = report.Tolds(m.Doubts)
	r.Notes = report.Plains(m.Remarks)
	if t := m.Taken; t != nil {
		r.Doubts = append(r.Doubts, report.Tolds(t.Doubts)...)
		if t.Check != nil {
			r.Note("the peak is put right by the check of the gauge of %s", t.Check.Date)
		}
	}
	return r
}

// contradictions are what is to be said before the answer: where what a sheet says
// of the springs and what was read do not go together.
func contradictions(m *machine.Machine) (list []report.Sentence) {
	for _, text := range m.Contradictions() {
		list = append(list, report.Plain(text+"."))
	}
	return list
}

// takenSentence says what a machine has from its visits in place of the sheet's
// values; nothing where that is nothing.
func takenSentence(m *machine.Machine) (list []report.Sentence) {
	if m.Taken == nil || len(m.Taken.Told) == 0 {
		return nil
	}
	var all []string
	for _, t := range m.Taken.Told {
		all = append(all, strings.ReplaceAll(t.Name, "_", " ")+" of "+t.Visit.Date.String())
	}
	return []report.Sentence{report.Say("From the visits, in place of the sheet's: %s.", words.AndList(all))}
}

// stated lists what a sheet and flags state, in their order.
func stated(s *sheet.Sheet) (list []report.Stated) {
	for _, path := range s.InOrder() {
		e := s.Entries[path]
		list = append(list, report.Stated{Key: path, Text: e.Typed(), Flag: e.At.Flag})
	}
	return list
}

// Assumed lists what is taken for what a machine's sheet does not state.
func Assumed(m *machine.Machine) []report.Assumed { return assumed(m.Defaults) }

// assumed lists what was taken for what nobody stated. An answer whose later
// steps assume more calls it again.
func assumed(defaults []tables.Default) (list []report.Assumed) {
	for _, d := range defaults {
		a := report.Assumed{Key: d.Key, Value: d.Value, Low: d.Low, High: d.High, Basis: string(d.Grade), Source: d.Source}
		if k := sheet.FindKey(d.Key); k != nil {
			a.Dim = k.Dim
		}
		list = append(list, a)
	}
	return list
}

// endedBy are the words for how a shot ended.
var endedBy = map[profile.Outcome]string{
	profile.StrokeEnded: "end of stroke",
	profile.BelowLimit:  "pressure at its limit",
	profile.CupFull:     "cup full",
	profile.Stalled:     "stalled: friction holds the piston",
	profile.Choked:      "choked: hardly any flow",
	profile.NoPressure:  "no pressure: the spring cannot push past the port",
	profile.AirTookAll:  "air took up the whole stroke",
}

// ending says how a shot ended.
func ending(o profile.Outcome) string {
	if text, ok := endedBy[o]; ok {
		return text
	}
	return string(o)
}

// finished says whether a shot came to its end.
func finished(o profile.Outcome) bool {
	return o == profile.StrokeEnded || o == profile.BelowLimit || o == profile.CupFull
}

// unfinished is the error of a draw whose shot did not come to its end: how long
// it took is no answer then.
func unfinished(o profile.Outcome) error {
	if finished(o) {
		return nil
	}
	return spread.NoAnswer(ending(o))
}

// shotScatter is how far like shots are apart, as a factor on the flow time.
func shotScatter() spread.Other {
	d, _ := tables.DefaultFor("coffee.shot_scatter")
	return spread.Other{
		Input: uncertain.Input{Name: "shot-to-shot scatter", Value: 1, Std: d.Value},
		Known: "± " + quantity.InPercent.Text(2*d.Value, 0),
	}
}
