package replace

import "testing"

func BenchmarkSearch(b *testing.B) {
	s := cafeSearch(b)
	s.Grid.Means = Steps(20*mm, 54*mm, 0.5*mm)
	tried := 0
	b.ReportAllocs()
	for b.Loop() {
		found, err := s.Run()
		if err != nil {
			b.Fatal(err)
		}
		tried += found.Tried
	}
	b.ReportMetric(float64(tried)/b.Elapsed().Seconds(), "candidates/s")
}

// A grid as the command makes it: every wire, coil and length that may be had.
func BenchmarkWideSearch(b *testing.B) {
	s := cafeSearch(b)
	s.Grid.Wires = nil
	for d := 1.0; d < 10; d += 0.25 {
		s.Grid.Wires = append(s.Grid.Wires, musicWire(b, d*mm))
	}
	s.Grid.Means, s.Grid.Coils = s.Space.MeansBetween(0.5*mm), Quarters(3, 25)
	tried := 0
	b.ReportAllocs()
	for b.Loop() {
		found, err := s.Run()
		if err != nil {
			b.Fatal(err)
		}
		tried += found.Tried
	}
	b.ReportMetric(float64(tried)/b.Elapsed().Seconds(), "candidates/s")
}
