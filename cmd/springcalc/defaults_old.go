package main

import (
	"springcalc/cmd/springcalc/internal/machine"
	spreads "springcalc/cmd/springcalc/internal/spread"
)

// Names of the inputs that the answers still in this package use.
const (
	gaugeScale = spreads.GaugeScale
	peakDrop   = spreads.PeakDrop
	readingNow = spreads.ReadingNow
)

func deviation(m *machine.Machine, path string) float64 { return spreads.Deviation(m, path) }
