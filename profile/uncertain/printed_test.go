package uncertain

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/stat"
)

// row is one printed number: got must round to it.
type row struct {
	what string
	got  float64
	book string
}

// checkPrinted rounds every got to as many digits after the point as the book
// prints, and wants the same number.
func checkPrinted(t *testing.T, rows []row) {
	t.Helper()
	for _, r := range rows {
		want, unit := printed(t, r.book)
		if math.Abs(r.got-want) > unit/2*(1+1e-9) {
			t.Errorf("%s = %.10g, printed %s", r.what, r.got, r.book)
		}
	}
}

// checkDrawn is checkPrinted for a Monte Carlo result: the half unit of the
// printed digits, and three standard errors of the number of draws on top.
func checkDrawn(t *testing.T, what string, got float64, book string, stderr float64) {
	t.Helper()
	want, unit := printed(t, book)
	if math.Abs(got-want) > unit/2+3*stderr {
		t.Errorf("%s = %.6g, printed %s, standard error of the draws %.2g", what, got, book, stderr)
	}
}

// printed returns the number and the unit of its last digit.
func printed(t *testing.T, book string) (value, unit float64) {
	t.Helper()
	value, err := strconv.ParseFloat(book, 64)
	if err != nil {
		t.Fatal(err)
	}
	mantissa, exp, _ := strings.Cut(book, "e")
	_, decimals, _ := strings.Cut(mantissa, ".")
	power, _ := strconv.Atoi(exp) // 0 without an exponent
	return value, math.Pow10(power - len(decimals))
}

func close(got, want, tol float64) bool { return scalar.EqualWithinAbsOrRel(got, want, tol, tol) }

// readings is the mean of repeated readings with its experimental standard
// deviation and n - 1 degrees of freedom ([GUM] 4.2).
func readings(name string, x []float64) Input {
	mean, std := stat.MeanStdDev(x, nil)
	n := float64(len(x))
	return Input{Name: name, Value: mean, Std: std / math.Sqrt(n), Freedom: n - 1}
}

// correlationOf returns the correlation coefficient of two outputs [-].
func correlationOf(e Estimate, i, j int) float64 {
	return e.Covariance.At(i, j) / math.Sqrt(e.Covariance.At(i, i)*e.Covariance.At(j, j))
}

// perWorker makes every worker use the same model, which has no scratch space.
func perWorker(m Model) func() Model { return func() Model { return m } }

func mustLinear(t *testing.T, p Problem, m Model, o LinearOptions) Estimate {
	t.Helper()
	e, err := Linear(p, m, o)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func mustMonteCarlo(t testing.TB, p Problem, m Model, o Options) *Result {
	t.Helper()
	r, err := MonteCarlo(p, perWorker(m), o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func sum(x, y []float64) error {
	y[0] = 0
	for _, v := range x {
		y[0] += v
	}
	return nil
}
