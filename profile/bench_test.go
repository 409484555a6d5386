package profile_test

import (
	"testing"

	"springcalc/profile"
)

func BenchmarkRun(b *testing.B) {
	s := oldLever2()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := profile.Run(s); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSummarize(b *testing.B) {
	s := oldLever2()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := profile.Summarize(s); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCalibrate(b *testing.B) {
	s := oldLever2()
	k := profile.Known{Yield: 57e-3, Time: 50, Preinfusion: 12, Dose: 16e-3, Diameter: 53e-3}
	for b.Loop() {
		if _, _, err := profile.Calibrate(s, k); err != nil {
			b.Fatal(err)
		}
	}
}
