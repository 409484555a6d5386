package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
)

// basketCmd predicts a shot in another basket.
type basketCmd struct {
	Sheet string `arg:"" optional:"" help:"Machine sheet with today's basket; \"-\" for standard input; none for the demo machine."`
	Other string `arg:"" optional:"" help:"Sheet with the other basket and dose, in place of --to."`
	To    string `placeholder:"\"diameter=58 mm, depth=26 mm, dose=18 g\"" help:"The other basket: inside diameter, depth, dose; what is left out stays."`
	Known string `placeholder:"\"yield=28 g, time=36 s, peak=6.4 bar\"" help:"A shot that was weighed and timed in today's basket, in place of the sheet's [coffee.known]."`
	flags.Input
	flags.Many
	flags.Drawing
	flags.Output
}

// Help is printed below the summary of the flags.
func (basketCmd) Help() string {
	return "Calibrates the puck on a known shot in today's basket (dose, seconds, grams, peak) and predicts the shot in " +
		"another: bed depth and room above it, peak, total time, yield, and the grind or the dose that would bring " +
		"today's total time back."
}

// Run answers with today's basket beside the other.
func (c *basketCmd) Run(con *flags.Console) error {
	known, err := assignments(c.Known, "coffee.known.", sheet.KnownShotTable.Keys)
	if err != nil {
		return sheet.Usef("--known: %v", err)
	}
	if known != nil { // it says what the sheet may say otherwise
		for _, k := range []string{"resistance", "resistance_at", "permeability", "permeability_at"} {
			known = append(known, "--known: coffee."+k+"=")
		}
	}
	c.Set = slices.Concat(c.Set, known)
	name, data, err := con.Read(c.Sheet)
	if err != nil {
		return err
	}
	var second flags.Source
	if c.Other != "" {
		if second.Name, second.Data, err = con.Read(c.Other); err != nil {
			return err
		}
	}
	return c.Answer(con, &c.Output, func(sets []string, quick bool) (*report.Report, error) {
		return c.ask(flags.Source{Name: name, Data: data, Sets: slices.Concat(c.Set, sets)}, second, quick)
	})
}

// ask answers with the sheets that were read.
func (c *basketCmd) ask(from, second flags.Source, quick bool) (*report.Report, error) {
	today, err := from.Machine(nil)
	if c.Known != "" {
		nameFlag(err, "--known", "coffee.known")
	}
	if err != nil {
		return nil, err
	}
	other, err := c.otherBasket(from, second)
	if err != nil {
		return nil, err
	}
	c.Settle(today.Family())
	o := c.Spread()
	o.Skip = o.Skip || quick
	return answer.Basket(context.Background(), today, answer.BasketOptions{Other: other, Spread: o})
}

// bedPaths are the keys in which another basket may differ.
var bedPaths = map[string]string{"diameter": "basket.diameter", "depth": "basket.depth", "dose": "coffee.dose"}

// otherBasket reads the sheet that states the other basket: a second sheet, or
// the first with the values of --to.
func (c *basketCmd) otherBasket(from, second flags.Source) (*sheet.Sheet, error) {
	switch {
	case c.To != "" && c.Other != "":
		return nil, sheet.Usef("--to and a second sheet both state the other basket; give one")
	case c.Other != "":
		return sheet.Read(second.Name, second.Data, nil)
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
	s, err := sheet.Read(from.Name, from.Data, slices.Concat(from.Sets, sets))
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
