package spread

import (
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/profile/uncertain"
)

type Options struct {
	Skip   bool
	Draws  int
	Stable bool
	Seed   uint32
}
type Finder[T any] func(m *machine.Machine, result *T, points []float64) error
type Other struct {
	uncertain.Input
	Known string
}
type Question struct {
	Points int
	Build  func(*machine.Machine) error
	Others []Other
}
type Spread struct{}
type NoAnswer string

const NewSpring = "tolerance of the new spring"

func (e NoAnswer) Error() string { return string(e) }

func Of[T any](defs []report.Def[T], answer func() Finder[T]) Question { return Question{} }

func Draw(m *machine.Machine, q Question, o Options) (*Spread, error) { return nil, nil }

func (s *Spread) AddTo(r *report.Report) {}
