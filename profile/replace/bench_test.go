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
