package main

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"

	"golang.org/x/term"

	"springcalc/cmd/springcalc/internal/ask"
	"springcalc/cmd/springcalc/internal/files"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/sheet"
)

// askCmd fills a sheet one question at a time.
type askCmd struct {
	Sheet string `arg:"" help:"Machine sheet to fill; a new one is begun where there is none."`
}

// Help is printed below the summary of the flags.
func (askCmd) Help() string {
	return "Asks for one thing at a time, says how to measure it, and after each answer what is known of the shot by then. " +
		"Enter is \"don't know\". It can be left at any time and taken up again: every answer is saved at once, and what you wrote into the sheet yourself stays. " +
		"Answers may also be piped in, a line each."
}

// Run asks until the answers end.
func (c *askCmd) Run(con *flags.Console) error {
	if c.Sheet == "-" {
		return sheet.Usef("\"-\": standard input is for the answers; name the sheet")
	}
	data, err := os.ReadFile(c.Sheet)
	fresh := errors.Is(err, fs.ErrNotExist)
	if fresh {
		data, err = []byte(sheet.Blank()), nil
	}
	if err != nil {
		return err
	}
	in, ok := con.In.(*os.File)
	return ask.Run(context.Background(), con.In, con.Live, ask.Options{
		Name: c.Sheet, Data: data, Terminal: ok && term.IsTerminal(int(in.Fd())),
		Save: func(before, after []byte) error {
			if fresh {
				err := files.Create(c.Sheet, after)
				fresh = err != nil
				return err
			}
			return files.Change(c.Sheet, func(old []byte) ([]byte, error) {
				if !bytes.Equal(old, before) {
					return nil, errors.New(c.Sheet + " was changed by another program meanwhile")
				}
				return after, nil
			})
		},
	})
}
