// Package manual writes the manual page and the scripts that complete the command
// line in a shell, both from the grammar.
package manual

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

// argument is a flag or an argument as completions and the manual tell it.
type argument struct {
	Name, Help, Placeholder string
	Takes                   bool     // a value
	Choices                 []string // that the value may be
	Keys, Files             bool     // the value is, or begins with, a key of the sheet; is a file
}

// command is a command as completions and the manual tell it.
type command struct {
	Name, Usage, Help, Detail string
	Flags, Args               []argument
}

// Choices are the words that the argument of a command may be.
func (c command) Choices() []string {
	for _, a := range c.Args {
		return a.Choices
	}
	return nil
}

// Files says whether a command takes files.
func (c command) Files() bool {
	return slices.ContainsFunc(c.Args, func(a argument) bool { return a.Files })
}

// valueOf is a value of the grammar.
func valueOf(v *kong.Value, placeholder string) argument {
	f := argument{Name: v.Name, Help: v.Help, Placeholder: placeholder, Takes: !v.IsBool() && !v.IsCounter()}
	if v.Enum != "" {
		f.Choices = slices.DeleteFunc(v.EnumSlice(), func(s string) bool { return s == "" || strings.Contains(s, " ") })
	}
	f.Keys = strings.HasPrefix(placeholder, "KEY")
	f.Files = f.Takes && (strings.Contains(placeholder, "FILE") || strings.Contains(placeholder, "SHEET") || slices.Contains([]string{"sheet", "other", "file"}, v.Name))
	return f
}

// flagsOf are the flags of a command, its own alone.
func flagsOf(n *kong.Node) (all []argument) {
	for _, f := range n.Flags {
		if !f.Hidden {
			all = append(all, valueOf(f.Value, strings.Trim(f.FormatPlaceHolder(), `"`)))
		}
	}
	return all
}

//go:embed shell/*.tmpl
var scripts embed.FS

// templates are the scripts of the shells, and the manual page.
func templates() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{
		"join":  strings.Join,
		"quote": func(s string) string { return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'" },
		"spec":  zshSpec,
		"roff":  roff,
	}).ParseFS(scripts, "shell/*.tmpl"))
}

// zshSpec is a flag in the terms of _arguments.
func zshSpec(f argument) string {
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

// Write writes the script of a shell, by its name, or "man", the manual page.
func Write(w io.Writer, name string, app *kong.Application, version string) error {
	data := struct {
		Version, Brief, About string
		Flags                 []argument
		Commands              []command
		Keys, Cautions        []string
	}{Version: version, Brief: "calculator for spring-lever espresso machines", About: app.Help, Flags: flagsOf(app.Node), Cautions: answer.Cautions()}
	for _, n := range app.Children {
		c := command{Name: n.Name, Usage: "springcalc " + n.Summary(), Help: n.Help, Detail: n.Detail, Flags: flagsOf(n)}
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
	return templates().ExecuteTemplate(w, name+".tmpl", data)
}
