package uncertain

import (
	"fmt"
	"math"
	"testing"
)

// twenty is a problem of twenty inputs of all shapes.
func twenty() Problem {
	p := Problem{Outputs: []string{"a", "b", "c"}}
	for i := range 20 {
		name := fmt.Sprint(i)
		in := []Input{
			{Name: name, Value: 5, Std: 1}, Limits(name, 1, 2, Uniform), Limits(name, 1, 2, Triangular),
			PlausibleRange(name, 1, 3), {Name: name, Value: 5, Std: 1, Freedom: 4},
		}[i%5]
		p.Inputs = append(p.Inputs, in)
	}
	return p
}

// scratch returns a model with memory of its own, reused by every draw.
func scratch() Model {
	path := make([]float64, 100)
	return func(x, y []float64) error {
		for i := range path {
			path[i] = x[i%len(x)] * float64(i)
		}
		y[0], y[1], y[2] = path[99], math.Sqrt(math.Abs(path[50])), path[10]+path[20]
		return nil
	}
}

// BenchmarkMonteCarlo is the overhead of 100 000 draws of 20 inputs: B/op and
// allocs/op over 100 000 are those of a draw.
func BenchmarkMonteCarlo(b *testing.B) {
	p := twenty()
	for _, correlated := range []bool{false, true} {
		if correlated {
			p.Correlated = []Correlation{{"0", "1", 0.5}}
		}
		b.Run(fmt.Sprintf("correlated=%v", correlated), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := MonteCarlo(p, scratch, Options{Seed: 1, Draws: 100_000}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkShares(b *testing.B) {
	r, err := MonteCarlo(twenty(), scratch, Options{Seed: 1})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		r.Shares(0)
	}
}

func BenchmarkLinear(b *testing.B) {
	p := twenty()
	for b.Loop() {
		if _, err := Linear(p, scratch(), LinearOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// TestAllocations wants the memory of a run to be in a few large pieces: fewer
// than one allocation in ten draws.
func TestAllocations(t *testing.T) {
	p := twenty()
	p.Correlated = []Correlation{{"0", "1", 0.5}}
	n := testing.AllocsPerRun(1, func() {
		if _, err := MonteCarlo(p, scratch, Options{Seed: 1, Workers: 2}); err != nil {
			t.Fatal(err)
		}
	})
	if n > 1000 {
		t.Errorf("%g allocations in the usual draws", n)
	}
}
