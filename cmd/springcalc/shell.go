package main

import (
	"embed"
	"io"
	"slices"
	"strings"
	"text/template"

	"github.com/alecthomas/kong"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/sheet"
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
func (c *completionCmd) Run(con *console, ctx *kong.Context) error {
	return shellText(con.out, c.Shell, ctx.Model)
}

// manCmd prints the manual page.
type manCmd struct{}

// Help is printed below the summary of the flags.
func (manCmd) Help() string {
	return "The page is that of all helps together, for a folder such as /usr/local/share/man/man1; springcalc man > springcalc.1."
}

// Run prints the page.
func (manCmd) Run(con *console, ctx *kong.Context) error { return shellText(con.out, "man", ctx.Model) }

// shellFlag is a flag or an argument as completions and the manual tell it.
type shellFlag struct {
	Name, Help, Placeholder string
	Takes                   bool     // a value
	Choices                 []string // that the value may be
	Keys, Files             bool     // the value is, or begins with, a key of the sheet; is a file
}

// shellCommand is a command as completions and the manual tell it.
type shellCommand struct {
	Name, Usage, Help, Detail string
	Flags, Args               []shellFlag
}

// Choices are the words that the argument of a command may be.
func (c shellCommand) Choices() []string {
	for _, a := range c.Args {
		return a.Choices
	}
	return nil
}

// Files says whether a command takes files.
func (c shellCommand) Files() bool {
	return slices.ContainsFunc(c.Args, func(a shellFlag) bool { return a.Files })
}

// valueOf is a value of the grammar.
func valueOf(v *kong.Value, placeholder string) shellFlag {
	f := shellFlag{Name: v.Name, Help: v.Help, Placeholder: placeholder, Takes: !v.IsBool() && !v.IsCounter()}
	if v.Enum != "" {
		f.Choices = slices.DeleteFunc(v.EnumSlice(), func(s string) bool { return s == "" || strings.Contains(s, " ") })
	}
	f.Keys = strings.HasPrefix(placeholder, "KEY")
	f.Files = f.Takes && (strings.Contains(placeholder, "FILE") || strings.Contains(placeholder, "SHEET") || slices.Contains([]string{"sheet", "other", "file"}, v.Name))
	return f
}

// flagsOf are the flags of a command, its own alone.
func flagsOf(n *kong.Node) (all []shellFlag) {
	for _, f := range n.Flags {
		if !f.Hidden {
			all = append(all, valueOf(f.Value, strings.Trim(f.FormatPlaceHolder(), `"`)))
		}
	}
	return all
}

//go:embed shell/*.tmpl
var shellFiles embed.FS

// shellTemplates are the scripts of the shells, and the manual page.
func shellTemplates() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{
		"join":  strings.Join,
		"quote": func(s string) string { return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'" },
		"spec":  zshSpec,
		"roff":  roff,
	}).ParseFS(shellFiles, "shell/*.tmpl"))
}

// zshSpec is a flag in the terms of _arguments.
func zshSpec(f shellFlag) string {
	spec := "--" + f.Name
	if f.Takes {
		spec = "*" + spec + "="
	}
	spec += "[" + strings.NewReplacer("[", `\[`, "]", `\]`, ":", `\:`, `\`, `\\`).Replace(f.Help) + "]"
	switch {
	case !f.Takes:
		return spec
	case f.Choices != nil:
		return spec + ":value:(" + strings.Join(f.Choices, " ") + ")"
	case f.Keys:
		return spec + ":key:($keys)"
	case f.Files:
		return spec + ":file:_files"
	}
	return spec + ":value: "
}

// roff is a text for a manual page.
func roff(s string) string {
	s = strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(s)
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "'") {
		s = `\&` + s
	}
	return s
}

// shellText writes one of the scripts or the manual page, from the grammar.
func shellText(w io.Writer, name string, app *kong.Application) error {
	data := struct {
		Version, Brief, About string
		Flags                 []shellFlag
		Commands              []shellCommand
		Keys, Cautions        []string
	}{Version: version(), Brief: "calculator for spring-lever espresso machines", About: about, Flags: flagsOf(app.Node), Cautions: answer.Cautions()}
	for _, n := range app.Children {
		c := shellCommand{Name: n.Name, Usage: "springcalc " + n.Summary(), Help: n.Help, Detail: n.Detail, Flags: flagsOf(n)}
		for _, p := range n.Positional {
			c.Args = append(c.Args, valueOf(p, ""))
		}
		data.Commands = append(data.Commands, c)
	}
	for _, t := range sheet.Schema {
		for _, k := range t.Keys {
			data.Keys = append(data.Keys, t.Path+"."+k.Name+"=")
		}
	}
	return shellTemplates().ExecuteTemplate(w, name+".tmpl", data)
}
