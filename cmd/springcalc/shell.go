package main

import (
	"github.com/alecthomas/kong"

	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/manual"
)

// completionCmd prints what makes a shell complete the command line.
type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish" help:"The shell: bash, zsh or fish."`
}

// Help is printed below the summary of the flags.
func (completionCmd) Help() string {
	return "Prints a script that completes commands, flags, keys of the sheet and files. For bash: source <(springcalc completion bash). " +
		"For zsh as _springcalc in a folder of $fpath; for fish as ~/.config/fish/completions/springcalc.fish."
}

// Run prints the script.
func (c *completionCmd) Run(con *flags.Console, ctx *kong.Context) error {
	return manual.Write(con.Out, c.Shell, ctx.Model, flags.Version())
}

// manCmd prints the manual page.
type manCmd struct{}

// Help is printed below the summary of the flags.
func (manCmd) Help() string {
	return "The page is that of all helps together, for a folder such as /usr/local/share/man/man1; springcalc man > springcalc.1."
}

// Run prints the page.
func (manCmd) Run(con *flags.Console, ctx *kong.Context) error {
	return manual.Write(con.Out, "man", ctx.Model, flags.Version())
}
