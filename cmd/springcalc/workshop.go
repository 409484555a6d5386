package main

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
)

// workshopCmd tells of many machines how each stands.
type workshopCmd struct {
	Sheets []string `arg:"" name:"sheet" help:"Machine sheets, or folders with sheets (*.toml)."`
	limitFlag
	flags.Day
	flags.Output
}

// Help is printed below the summary of the flags.
func (workshopCmd) Help() string {
	return "One line a machine: last visit, peak and its share of that as new, what a year takes, when it passes what is still wanted, " +
		"the likeliest fault by the course of its peaks, what to do next. A sheet that does not read is named and stops no other."
}

// Run answers with one line a machine.
func (c *workshopCmd) Run(con *flags.Console) error {
	var o answer.WorkshopOptions
	var err error
	if o.Limit, err = c.limit(); err != nil {
		return err
	}
	if o.AsOf, err = c.Date(); err != nil {
		return err
	}
	o.Back = c.AsOf != ""
	paths, err := sheetsIn(c.Sheets)
	if err != nil {
		return err
	}
	var mu sync.Mutex
	inch := 0 // sheets typed in inch units more than those in metric ones
	read := func(path string) func() (*machine.Machine, error) {
		return func() (*machine.Machine, error) {
			data, err := os.ReadFile(path)
			if err != nil {
				return nil, err
			}
			m, err := flags.Source{Name: path, Data: data}.Machine(nil)
			if err == nil {
				mu.Lock()
				defer mu.Unlock()
				inch += map[quantity.Family]int{quantity.Metric: -1, quantity.Inch: 1}[m.Family()]
			}
			return m, err
		}
	}
	var list []answer.InWorkshop
	for i, name := range shortNames(paths) {
		list = append(list, answer.InWorkshop{Name: name, Read: read(paths[i])})
	}
	p := flags.NewProgress(os.Stderr, "reading sheets")
	defer p.Done()
	o.Progress = p.Show
	r, err := answer.Workshop(context.Background(), list, o)
	if err != nil {
		return err
	}
	if inch > 0 {
		c.Settle(quantity.Inch)
	}
	return c.Write(con.Out, r)
}

// sheetsIn are the sheets of a list of sheets and folders, in their natural order.
func sheetsIn(paths []string) (sheets []string, err error) {
	for _, path := range paths {
		info, err := os.Stat(path)
		if err != nil {
			return nil, err
		}
		if !info.IsDir() {
			sheets = append(sheets, path)
			continue
		}
		entries, err := os.ReadDir(path)
		if err != nil {
			return nil, err
		}
		before := len(sheets)
		for _, e := range entries {
			if !e.IsDir() && strings.HasSuffix(e.Name(), ".toml") && !strings.HasPrefix(e.Name(), ".") {
				sheets = append(sheets, filepath.Join(path, e.Name()))
			}
		}
		if len(sheets) == before {
			return nil, sheet.Usef("%s: no sheets (*.toml) in this folder", path)
		}
	}
	slices.SortStableFunc(sheets, words.Natural)
	return slices.Compact(sheets), nil
}
