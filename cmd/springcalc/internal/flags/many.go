package flags

import (
	"context"
	"os"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
)

// Many ask one question many times over.
type Many struct {
	Sweep []string `sep:"none" group:"Many answers" xor:"many" placeholder:"KEY=FROM:TO:STEP" help:"Answer for each of these values of a key, as in --sweep \"spring.preload=600 N:900 N:50 N\": CSV of the single results, a line a value, without intervals. Given twice, for all pairs."`
	Solve string   `group:"Many answers" xor:"many" placeholder:"RESULT=VALUE" help:"Find the value of a key that brings a single result, by its name in JSON without the unit, to this, as in --solve \"yield=30 g\" --by coffee.dose, and answer with that."`
	By    string   `group:"Many answers" placeholder:"KEY" help:"The key that --solve may change; with a range to look in as KEY=FROM:TO."`
}

// Answer asks once, or as often as a sweep or a search takes, and writes the answer.
func (f Many) Answer(con *Console, out *Output, ask answer.Ask) (err error) {
	if (f.Solve == "") != (f.By == "") {
		return sheet.Usef("--solve and --by go together")
	}
	var r *report.Report
	p := NewProgress(os.Stderr, "asking")
	defer p.Done()
	switch {
	case len(f.Sweep) > 0:
		axes, err := answer.ParseAxes(f.Sweep)
		if err != nil {
			return err
		}
		if r, err = answer.Sweep(context.Background(), axes, ask, p.Show); err != nil {
			return err
		}
		if !out.JSON && !out.Markdown && !out.Schema {
			out.CSV = true
		}
	case f.Solve != "":
		goal, err := answer.ParseGoal(f.Solve, f.By)
		if err != nil {
			return err
		}
		if r, err = answer.Solve(context.Background(), goal, ask, p.Show); err != nil {
			return err
		}
	default:
		if r, err = ask(nil, false); err != nil {
			return err
		}
	}
	p.Done()
	return out.Write(con.Out, r)
}

// AnswerOf is Answer for a question to the machine of a sheet.
func (f Many) AnswerOf(from Source, con *Console, out *Output, ask func(m *machine.Machine, quick bool) (*report.Report, error)) error {
	return f.Answer(con, out, func(sets []string, quick bool) (*report.Report, error) {
		m, err := from.Machine(sets)
		if err != nil {
			return nil, err
		}
		out.Settle(m.Family())
		return ask(m, quick)
	})
}

// Several says whether the question is asked more than once.
func (f Many) Several() bool { return len(f.Sweep) > 0 || f.Solve != "" }
