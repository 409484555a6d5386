package main

import (
	"context"
	"os"
	"slices"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
)

// scriptFlags ask one question many times over.
type scriptFlags struct {
	Sweep []string `sep:"none" group:"Many answers" xor:"many" placeholder:"KEY=FROM:TO:STEP" help:"Answer for each of these values of a key, as in --sweep \"spring.preload=600 N:900 N:50 N\": CSV of the single results, a line a value, without intervals. Given twice, for all pairs."`
	Solve string   `group:"Many answers" xor:"many" placeholder:"RESULT=VALUE" help:"Find the value of a key that brings a single result, by its name in JSON without the unit, to this, as in --solve \"yield=30 g\" --by coffee.dose, and answer with that."`
	By    string   `group:"Many answers" placeholder:"KEY" help:"The key that --solve may change; with a range to look in as KEY=FROM:TO."`
}

// answer asks once, or as often as a sweep or a search takes, and writes the answer.
func (f scriptFlags) answer(con *console, out *renderFlags, ask answer.Ask) (err error) {
	if (f.Solve == "") != (f.By == "") {
		return sheet.Usef("--solve and --by go together")
	}
	var r *report.Report
	p := newProgress(os.Stderr, "asking")
	defer p.done()
	switch {
	case len(f.Sweep) > 0:
		axes, err := answer.ParseAxes(f.Sweep)
		if err != nil {
			return err
		}
		if r, err = answer.Sweep(context.Background(), axes, ask, p.show); err != nil {
			return err
		}
		if !out.JSON && !out.Markdown {
			out.CSV = true
		}
	case f.Solve != "":
		goal, err := answer.ParseGoal(f.Solve, f.By)
		if err != nil {
			return err
		}
		if r, err = answer.Solve(context.Background(), goal, ask, p.show); err != nil {
			return err
		}
	default:
		if r, err = ask(nil, false); err != nil {
			return err
		}
	}
	p.done()
	return out.write(con.out, r)
}

// many says whether the question is asked more than once.
func (f scriptFlags) many() bool { return len(f.Sweep) > 0 || f.Solve != "" }

// source is a sheet that was read, to be made a machine of as often as it takes.
type source struct {
	name string
	data []byte
	sets []string
}

// source reads a sheet.
func (f machineFlags) source(con *console, path string) (s source, err error) {
	s.sets = f.Set
	s.name, s.data, err = con.read(path)
	return s, err
}

// machine is what a sheet describes, with more values put in place of its own.
func (s source) machine(sets []string) (*machine.Machine, error) {
	return readMachine(s.name, s.name, s.data, slices.Concat(s.sets, sets))
}
