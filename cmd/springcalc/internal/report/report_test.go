package report

import (
	"fmt"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/quantity"
)

// What a package tells in metric units reads the same in the metric family, and is
// converted in the other; a number of another thing is left alone.
func TestTold(t *testing.T) {
	for _, c := range []struct{ text, inch string }{
		{"a peak of 8.70 bar in 25.4 mm", "a peak of 126.2 psi in 1.000 in"},
		{"the peak of 14.2 bar is outside (0.76 to 12.4 bar), 100 % sure", "the peak of 206 psi is outside (11.0 to 180 psi), 100 % sure"},
		{"EN 13906-1 and 12 mm; springs of 42 and 28.0 mm", "EN 13906-1 and 0.47 in; springs of 1.65 and 1.102 in"},
		{"drags 20 N and 3.0 N/bar at 100 °C", "drags 4.5 lbf and 0.047 lbf/psi at 212 °F"},
		{"±2 N, 3 mL, 12 N·m, 5 °, 1e-3 mm", "±0.4 lbf, 3 mL, 12 N·m, 5 °, 1e-3 mm"},
		{"\"12 mm\" as typed", "\"12 mm\" as typed"},
		{"", ""},
	} {
		s := Told(c.text)
		if got := s.In(quantity.Metric); got != c.text {
			t.Errorf("%q reads %q", c.text, got)
		}
		if got := s.In(quantity.Inch); got != c.inch {
			t.Errorf("%q in inches: %q, want %q", c.text, got, c.inch)
		}
	}
	for _, d := range []quantity.Display{quantity.InMM, quantity.InN, quantity.InBar, quantity.InMPa, quantity.InNPerMM, quantity.InC, quantity.InNPerBar} {
		if s := Told(fmt.Sprintf("of 12.50 %s.", d.Symbol)).In(quantity.Inch); strings.Contains(s, " "+d.Symbol) {
			t.Errorf("%s stays", s)
		}
	}
}
