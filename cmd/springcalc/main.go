// Command springcalc is a calculator for spring-lever espresso machines: from
// spring, piston and coffee to pressure, flow and yield; from what was measured
// to the state of the spring.
//
// A machine is described in a sheet, which is a text file that a person edits.
// A blank one to start from:
//
//	$ springcalc sheet
//	# Machine sheet for springcalc.
//	(lines left out)
//
// What is wrong with a sheet is said all at once, each with its place:
//
//	$ springcalc sheet --check faulty.toml
//	springcalc: 18 errors in the machine sheet
//	faulty.toml:2:8: machine.name: 7: want text, such as "left group"
//	faulty.toml:5:8: spring.rate: 27 has no unit; write it as "27 N/mm"
//	(lines left out)
//	(exit status 1)
//
// The exit status is 0 where there is an answer, 1 where this input has none
// (a sheet with faults, a shot that cannot be), 2 for wrong use (an unknown
// command or flag, a value of a flag that cannot be read, a file that is not
// there). Without an answer nothing is written to standard output.
package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"reflect"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
)

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

// The exit statuses.
const (
	answered = 0
	noAnswer = 1
	wrongUse = 2
)

// grammar is the command line: a field a command, each in a file of its own.
type grammar struct {
	Version versionFlag `help:"Print the version."`

	Shot     shotCmd     `cmd:"" help:"Follow a shot: pressure, flow and cup mass over time."`
	Diagnose diagnoseCmd `cmd:"" help:"Find out why the peak pressure is low, and what to do about it."`
	Spring   springCmd   `cmd:"" help:"Describe a spring, and compare it with readings on a bench."`
	Lever    leverCmd    `cmd:"" help:"Follow the lever: force at the handle, energy, lost stroke, recoil."`
	Replace  replaceCmd  `cmd:"" help:"Choose the next spring: the force you need, what fits, what to order."`
	Basket   basketCmd   `cmd:"" help:"Predict the shot in another basket, or with another dose."`
	History  historyCmd  `cmd:"" help:"Follow the peak of a machine over the years: laws, repairs, forecast."`
	Workshop workshopCmd `cmd:"" help:"Tell of many machines how each stands, the most urgent first."`
	Visit    visitCmd    `cmd:"" help:"Append a visit to a machine's sheet: what was read, what was done."`
	Tables   tablesCmd   `cmd:"" help:"List the published data in use, or show one table with its source."`
	Page     pageCmd     `cmd:"" help:"Open the sheet and its answers as a page in a browser."`
	Ask      askCmd      `cmd:"" help:"Fill a machine sheet one question at a time."`
	Sheet    sheetCmd    `cmd:"" help:"Print a blank machine sheet, or write it to a new file."`

	Completion completionCmd `cmd:"" help:"Print what makes a shell complete this command line."`
	Man        manCmd        `cmd:"" help:"Print the manual page."`
}

// versionFlag prints the version, and nothing else is done.
type versionFlag bool

// BeforeReset comes before the rest of the command line is judged.
func (versionFlag) BeforeReset(app *kong.Kong, ctx *kong.Context) error {
	asJSON := slices.ContainsFunc(ctx.Path, func(p *kong.Path) bool {
		return p.Flag != nil && p.Flag.Name == "json" && ctx.FlagValue(p.Flag) == true
	})
	printVersion(app.Stdout, asJSON)
	app.Exit(answered)
	return nil
}

func printVersion(w io.Writer, asJSON bool) {
	if asJSON {
		fmt.Fprintf(w, "{\"version\": %q}\n", flags.Version())
		return
	}
	fmt.Fprintln(w, "springcalc", flags.Version())
}

// grammarFor is the grammar with the one command that the arguments begin with: to
// build those of all commands takes longer than a shot. It is the whole where there is
// no such command, or one that tells of all.
func grammarFor(args []string) any {
	all := reflect.TypeFor[grammar]()
	for i := 1; i < all.NumField(); i++ {
		f := all.Field(i)
		if len(args) > 0 && strings.ToLower(f.Name) == args[0] && f.Name != "Completion" && f.Name != "Man" {
			return reflect.New(reflect.StructOf([]reflect.StructField{all.Field(0), f})).Interface()
		}
	}
	return &grammar{}
}

const about = "Spring and lever mechanics of spring-lever espresso machines. " +
	"\"springcalc COMMAND --help\" tells more of a command."

// exit is what kong ends the program with.
type exit int

// run is main with its surroundings passed in. It returns the exit status.
// What a command prints is held back until it has succeeded.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) (status int) {
	var out bytes.Buffer
	defer func() {
		switch e := recover().(type) {
		case nil:
		case exit:
			status = int(e)
		default:
			panic(e)
		}
		if status == answered {
			if _, err := stdout.Write(out.Bytes()); err != nil {
				status = fail(stderr, err, noAnswer)
			}
		}
	}()

	parser, err := kong.New(grammarFor(args),
		kong.Name("springcalc"), kong.Description(about),
		kong.Writers(&out, stderr), kong.Exit(func(code int) { panic(exit(code)) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: words.LineWidth}),
		kong.WithHyphenPrefixedParameters(true),
		kong.Bind(&flags.Console{In: stdin, Out: &out, Live: stdout}))
	if err != nil {
		panic(err) // the grammar is wrong, not the user
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	if len(args) == 2 && slices.Contains(args, "--version") && slices.Contains(args, "--json") {
		printVersion(&out, true) // --json is a flag of the commands, and here is none
		return answered
	}
	ctx, err := parser.Parse(args)
	if err != nil {
		return fail(stderr, plain(err), wrongUse)
	}
	if err := flags.Check(ctx); err != nil {
		return fail(stderr, err, wrongUse)
	}
	if err := ctx.Run(); err != nil {
		return fail(stderr, err, statusOf(err))
	}
	return answered
}

// plain says in words of no programmer what the parser of the command line found.
func plain(err error) error {
	text := wholeNumber().ReplaceAllString(err.Error(), "$1: want a whole number")
	text = anyNumber().ReplaceAllString(text, "$1: want a number")
	return errors.New(strings.Replace(text, `one of "",`, "one of ", 1))
}

var (
	wholeNumber = words.Lazy(`expected a valid \d+ bit u?int but got ("[^"]*")`)
	anyNumber   = words.Lazy(`expected a float but got ("[^"]*") \(string\)`)
)

// fail prints an error and returns the status.
func fail(stderr io.Writer, err error, status int) int {
	lines := strings.Split(fmt.Sprintf("springcalc: %v", err), "\n")
	for i, line := range lines { // what others wrote does not act on the terminal
		lines[i] = words.Clean(line)
	}
	fmt.Fprintln(stderr, strings.Join(lines, "\n"))
	return status
}

// statusOf tells wrong use from a question without an answer.
func statusOf(err error) int {
	var file *os.PathError
	if errors.Is(err, sheet.ErrUse) || errors.As(err, &file) {
		return wrongUse
	}
	return noAnswer
}
