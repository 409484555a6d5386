package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile"
	"springcalc/profile/uncertain"
	"springcalc/tables"
)

// basketCmd predicts a shot in another basket.
type basketCmd struct {
	Sheet string `arg:"" optional:"" help:"Machine sheet with today's basket; \"-\" for standard input; none for the demo machine."`
	Other string `arg:"" optional:"" help:"Sheet with the other basket and dose, in place of --to."`
	To    string `placeholder:"\"diameter=58 mm, depth=26 mm, dose=18 g\"" help:"The other basket: inside diameter, depth, dose; what is left out stays."`
	Known string `placeholder:"\"yield=28 g, time=45 s, peak=6.4 bar\"" help:"A shot that was weighed and timed in today's basket, in place of the sheet's [coffee.known]."`
	machineFlags
	spreadFlags
	output
}

// Help is printed below the summary of the flags.
func (basketCmd) Help() string {
	return "Calibrates the puck on a known shot in today's basket (dose, seconds, grams, peak) and predicts the shot in " +
		"another: bed depth and room above it, peak, shot length, yield, and the grind or the dose that would bring " +
		"today's shot length back."
}

// Run answers with today's basket beside the other.
func (c *basketCmd) Run(con *console) error {
	known, err := assignments(c.Known, "coffee.known.", sheet.KnownShotTable.Keys)
	if err != nil {
		return sheet.Usef("--known: %v", err)
	}
	if known != nil { // it says what the sheet may say otherwise
		for _, k := range []string{"resistance", "resistance_at", "permeability", "permeability_at"} {
			known = append(known, "coffee."+k+"=")
		}
	}
	c.Set = slices.Concat(c.Set, known)
	name, data, err := con.read(c.Sheet)
	if err != nil {
		return err
	}
	today, err := machine.ReadMachine(name, data, c.Set)
	if c.Known != "" {
		nameFlag(err, "--known", "coffee.known")
	}
	if err != nil {
		return err
	}
	other, err := c.otherBasket(con, name, data)
	if err != nil {
		return err
	}
	r, err := c.report(today, other)
	if err != nil {
		return err
	}
	return c.write(con.out, r)
}

// bedPaths are the keys in which another basket may differ.
var bedPaths = map[string]string{"diameter": "basket.diameter", "depth": "basket.depth", "dose": "coffee.dose"}

// otherBasket reads the sheet that states the other basket: a second sheet, or
// the first, of which the data is given, with the values of --to.
func (c *basketCmd) otherBasket(con *console, name string, data []byte) (*sheet.Sheet, error) {
	switch {
	case c.To != "" && c.Other != "":
		return nil, sheet.Usef("--to and a second sheet both state the other basket; give one")
	case c.Other != "":
		name, data, err := con.read(c.Other)
		if err != nil {
			return nil, err
		}
		return sheet.ReadSheet(name, data, nil)
	case c.To == "":
		return nil, sheet.Usef("which other basket? Give --to \"diameter=…, depth=…, dose=…\", or a second sheet")
	}
	keys := slices.Concat(sheet.BasketTable.Keys, []sheet.Key{{Name: "dose"}})
	sets, err := assignments(c.To, "", keys)
	if err != nil {
		return nil, sheet.Usef("--to: %v", err)
	}
	for i, s := range sets {
		key, value, _ := strings.Cut(s, "=")
		sets[i] = bedPaths[key] + "=" + value
	}
	s, err := sheet.ReadSheet(name, data, slices.Concat(c.Set, sets))
	nameFlag(err, "--to", "basket", "coffee")
	return s, err
}

// nameFlag makes the faults of some tables that stand in no line of a sheet
// speak of the flag that they come from.
func nameFlag(err error, flag string, tables ...string) {
	var list sheet.Faults
	errors.As(err, &list)
	for i := range list {
		f := &list[i]
		parent, name := sheet.SplitPath(f.Key)
		switch {
		case f.At.Line > 0:
		case slices.Contains(tables, parent):
			f.At.Flag = flag + " " + name
		case slices.Contains(tables, f.Key):
			f.At.Flag = flag
		}
	}
}

// assignments splits "a=1 mm, b=2 g" into values to set, each key with a prefix.
func assignments(text, prefix string, keys []sheet.Key) (sets []string, err error) {
	if text == "" {
		return nil, nil
	}
	var known []string
	for _, k := range keys {
		known = append(known, k.Name)
	}
	said := map[string]bool{}
	for part := range strings.SplitSeq(text, ",") {
		name, value, ok := strings.Cut(part, "=")
		name = strings.TrimSpace(name)
		switch {
		case !ok:
			return nil, fmt.Errorf("%q: want key=value, several with commas between; a decimal has a point", strings.TrimSpace(part))
		case !slices.Contains(known, name):
			return nil, fmt.Errorf("%q is not known here; known are %s", name, strings.Join(known, ", "))
		case said[name]:
			return nil, fmt.Errorf("%s is given twice", name)
		}
		said[name] = true
		sets = append(sets, prefix+name+"="+strings.TrimSpace(value))
	}
	return sets, nil
}

// report sets the shots of today's and of the other basket side by side, and
// says how far the other may be off.
func (c *basketCmd) report(today *machine.Machine, other *sheet.Sheet) (*report, error) {
	change := toBasket(other)
	r, ends, err := basketReport(today, change)
	if err != nil || !ends {
		return r, err // without an end, how long it may take is no question
	}
	s, err := c.Spread(today, basketQuestion(change))
	s.addTo(r)
	return r, err
}

// toBasket changes a setup to the basket and dose that another sheet states.
func toBasket(other *sheet.Sheet) func(*profile.Setup) *profile.Setup {
	return func(s *profile.Setup) *profile.Setup {
		b, dose := s.Basket, s.Coffee.Dose
		for path, value := range map[string]*float64{"basket.diameter": &b.Diameter, "basket.depth": &b.Depth, "coffee.dose": &dose} {
			if q, ok := other.Quantity(path); ok {
				*value = q.Value
			}
		}
		return s.InBasket(b, dose)
	}
}

// shotScatter is how far like shots are apart, as a factor on the spring's time.
func shotScatter() otherInput {
	d, _ := tables.DefaultFor("coffee.shot_scatter")
	return otherInput{
		Input: uncertain.Input{Name: "shot-to-shot scatter", Value: 1, Std: d.Value},
		Known: "± " + quantity.InPercent.Text(2*d.Value, 0),
	}
}

// basketQuestion asks for the other shot, one of many like it.
func basketQuestion(change func(*profile.Setup) *profile.Setup) question {
	scatter := shotScatter()
	return question{
		Outcomes: []outcome{
			{Key: "shot_s", Unit: quantity.InS, Head: "shot length"}, {Key: "peak_bar", Unit: quantity.InBar, Head: "peak"}, {Key: "yield_g", Unit: quantity.InG, Head: "yield"},
		},
		Others: []otherInput{scatter},
		Answer: func() finder {
			return func(m *machine.Machine, y []float64) error {
				s, err := profile.Summarize(change(&m.Setup))
				if err != nil {
					return err
				}
				y[0], y[1], y[2] = s.Total+(m.Value(scatter.Name)-1)*s.Spring, s.Peak, s.Yield
				return unfinished(s.Outcome)
			}
		},
	}
}

// basketReport is the report without how far it may be off, but for the shot
// length; and whether both shots come to their end.
func basketReport(today *machine.Machine, change func(*profile.Setup) *profile.Setup) (r *report, ends bool, err error) {
	now, next := &today.Setup, change(&today.Setup)
	before, err := profile.Run(now)
	if err != nil {
		return nil, false, err
	}
	after, err := profile.Run(next)
	if err != nil {
		return nil, false, err
	}
	span, err := predictionSpan(today, change)
	if err != nil {
		return nil, false, err
	}

	names := []string{"today", "other"}
	both := []*report{
		{Rows: bedRows(now, before), Charts: shotCharts(before), Doubts: before.Doubts},
		{Rows: bedRows(next, after), Charts: shotCharts(after), Doubts: after.Doubts},
	}
	r = compare(names, both)
	r.Title = "From today's basket to another: " + today.Name()
	table := *r.Summary
	table.DataOnly = true
	r.Tables, r.Main = append(r.Tables, table), table.Key
	r.Rows = []row{
		measure("shot_s", "shot in all, other basket", after.Total, quantity.InS, 1).within(min(span.elastic, span.Set), max(span.elastic, span.Set), quantity.InS),
		measure("peak_bar", "peak, other basket", after.Peak, quantity.InBar, 2),
		measure("yield_g", "yield, other basket", after.Yield, quantity.InG, 1),
	}
	ends = finished(before.Outcome) && finished(after.Outcome)
	if ends {
		rows, notes := waysBack(next, before.Total)
		r.Rows = append(r.Rows, rows...)
		r.Notes = append(span.notes(after), notes...)
	} else {
		r.Notes = []string{"one of the two shots does not come to its end, so there is no length to bring back"}
	}
	r.Doubts = append(slices.Clone(today.Doubts), r.Doubts...)
	if !today.KnowsPuck() {
		r.Doubts = append(r.Doubts, "no known shot was given: the puck's resistance is an assumption, and so are both shot lengths; the step from one basket to the other is not")
	}
	r.Cautions = shotCautions
	addDefaults(today, r)
	return r, ends, nil
}

// bedRows are what matters of a shot in a basket.
func bedRows(s *profile.Setup, shot *profile.Shot) []row {
	room, filling := s.Room()
	roomRow := measure("room_mm", "room above the bed", room, quantity.InMM, 1)
	if filling == profile.Unknown {
		roomRow = row{Key: "room_mm", Name: "room above the bed", Text: "depth not stated"}
	}
	flow := 0.0
	if pours := shot.Total - shot.FirstDrop; shot.FirstDrop > 0 && pours > 0 {
		flow = shot.Yield / pours
	}
	return []row{
		measure("basket_mm", "basket diameter", s.Basket.Diameter, quantity.InMM, 1),
		measure("dose_g", "dose", s.Coffee.Dose, quantity.InG, 1),
		measure("bed_mm", "bed depth, dry", s.BedDepth(), quantity.InMM, 1),
		roomRow,
		{Key: "filling", Name: "basket is filled", Text: string(filling)},
		{Key: "outcome", Name: "outcome", Text: string(shot.Outcome)},
		measure("resistance_bar_s_ml", "puck's resistance at "+quantity.InBar.Text(s.Coffee.AtPressure, 0), s.Coffee.Resistance, quantity.InBarSPerML, 2),
		measure("peak_bar", "peak pressure", shot.Peak, quantity.InBar, 2),
		measure("end_bar", "pressure at the end", shot.End, quantity.InBar, 2),
		measure("wetted_percent", "puck wetted at release", shot.Wetted, quantity.InPercent, 0),
		measure("first_drop_s", "first drop", shot.FirstDrop, quantity.InS, 1),
		measure("spring_s", "release to end", shot.Spring, quantity.InS, 1),
		measure("shot_s", "shot in all", shot.Total, quantity.InS, 1),
		measure("yield_g", "yield", shot.Yield, quantity.InG, 1),
		{Key: "ratio", Name: "ratio of yield to dose", Value: shot.Ratio, Digits: 2},
		measure("mean_flow_g_s", "flow into the cup, mean", flow, quantity.InGPerS, 2),
	}
}

// span is what a prediction of the shot length is uncertain by.
type span struct {
	elastic, Set float64 // shot length at the ends of the unloading exponent [s]
}

// predictionSpan predicts at both ends of what is not known of the bed, each
// calibrated on the known shot for itself.
func predictionSpan(today *machine.Machine, change func(*profile.Setup) *profile.Setup) (span, error) {
	var s span
	at := func(unloading float64) (profile.Summary, error) {
		m := today
		if !today.Has("coffee.unloading_exponent") {
			var err error
			if m, err = today.Vary(map[string]float64{"coffee.unloading_exponent": unloading}); err != nil {
				return profile.Summary{}, err
			}
		}
		return profile.Summarize(change(&m.Setup))
	}
	elastic, err := at(today.Setup.Coffee.Loading)
	if err != nil {
		return s, err
	}
	set, err := at(0)
	if err != nil {
		return s, err
	}
	s.elastic, s.Set = elastic.Total, set.Total
	return s, nil
}

// notes puts the span in words.
func (s span) notes(after *profile.Shot) []string {
	return []string{
		fmt.Sprintf("the other shot is expected at %s: from %s if the bed springs back as pressure falls to %s if it stays compacted",
			quantity.InS.Text(after.Total, 1), quantity.InS.Text(s.elastic, 1), quantity.InS.Text(s.Set, 1)),
	}
}

// waysBack are the two ways back to today's shot length [s]: as numbers for
// programs, and in words.
func waysBack(next *profile.Setup, total float64) (rows []row, notes []string) {
	back := "to bring today's " + quantity.InS.Text(total, 1) + " back: "
	grind, err := next.GrindFor(total)
	switch {
	case err != nil:
		notes = append(notes, back+"no grind does ("+machine.WithoutPackage(err)+")")
	case grind >= 1:
		notes = append(notes, back+"grind finer, to "+quantity.InPercent.Text(grind-1, 0)+" more resistance")
	default:
		notes = append(notes, back+"grind coarser, to "+quantity.InPercent.Text(1-grind, 0)+" less resistance")
	}
	if err == nil {
		rows = append(rows, measure("grind_change_percent", "grind, change of resistance", grind-1, quantity.InPercent, 0))
	}
	dose, err := next.DoseFor(total)
	if err != nil {
		return rows, append(notes, "or by dose: none does with this grind")
	}
	text := "or dose " + quantity.InG.Text(dose, 1) + " with the grind as it is"
	if room, filling := next.InBasket(next.Basket, dose).Room(); filling == profile.TooFull || filling == profile.TooEmpty {
		text += "; the basket would be " + string(filling) + ", with " + quantity.InMM.Text(room, 1) + " above the bed"
	}
	return append(rows, measure("dose_for_time_g", "or dose", dose, quantity.InG, 1)), append(notes, text)
}
