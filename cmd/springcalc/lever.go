package main

import (
	"context"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
)

// leverCmd follows the lever of a machine: what the hand feels and does.
type leverCmd struct {
	Sheet    string              `arg:"" optional:"" help:"Machine sheet; \"-\" for standard input; none for the demo machine."`
	Raising  *quantity.ForceFlag `range:"bench.force_raising" placeholder:"FORCE" help:"Force that keeps the lever moving on slowly against the spring, without pressure."`
	Lowering *quantity.ForceFlag `range:"bench.force_lowering" placeholder:"FORCE" help:"Force that lets it come back slowly, at the same place."`
	Turned   *quantity.AngleFlag `range:"lever.point.angle" placeholder:"ANGLE" help:"Place of the two forces: how far the handle was turned from rest."`
	AtPiston bool                `help:"The two forces were measured at the piston, not at the handle."`
	flags.Input
	flags.Many
	flags.Output
}

// Help is printed below the summary of the flags.
func (leverCmd) Help() string {
	return "Follows the handle from rest to cocked: its force both ways, its peak against published guidance, " +
		"energy in and back, stroke and pressure lost in filling, and what a handle does that is let go. " +
		"Two forces measured at one place, without pressure, tell the friction of the seal: one that keeps the lever " +
		"moving on against the spring, one that lets it come back slowly; each may have its ±."
}

// Run answers with one lever.
func (c *leverCmd) Run(con *flags.Console) error {
	from, err := c.Source(con, c.Sheet)
	if err != nil {
		return err
	}
	o := answer.LeverOptions{AtPiston: c.AtPiston}
	if c.Raising != nil {
		o.Raising = &c.Raising.Quantity
	}
	if c.Lowering != nil {
		o.Lowering = &c.Lowering.Quantity
	}
	if c.Turned != nil {
		o.Turned = &c.Turned.Quantity
	}
	return c.AnswerOf(from, con, &c.Output, func(m *machine.Machine, _ bool) (*report.Report, error) {
		return answer.Lever(context.Background(), m, o)
	})
}
