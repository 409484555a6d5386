package answer

import (
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/report"
)

const cautionSpring = "Spring: loaded even at rest."

func newReport(command string, m *machine.Machine) *report.Report {
	return &report.Report{Command: command, Title: command + ": " + m.Name(), Doubts: report.Plains(m.Doubts)}
}

func cautionLines() []string { return []string{cautionSpring} }
