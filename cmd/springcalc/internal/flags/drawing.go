package flags

import "springcalc/cmd/springcalc/internal/spread"

// Drawing is how to say how far an answer may be off.
type Drawing struct {
	NoSpread bool   `name:"no-spread" xor:"spread" help:"Skip the uncertainty analysis."`
	Draws    int    `name:"draws" placeholder:"N" default:"8192" help:"Random draws from what is stated with ± and from the ranges of the defaults (${default})."`
	Stable   bool   `name:"stable" xor:"spread" help:"Draw until the printed digits are stable, but not beyond --draws or a million, which takes up to a minute."`
	Seed     uint32 `name:"seed" placeholder:"N" default:"1" help:"Seed of the draws (${default}): the same seed, the same answer."`
}

// Spread is the flags as options of the draws.
func (f Drawing) Spread() spread.Options {
	return spread.Options{Skip: f.NoSpread, Draws: f.Draws, Stable: f.Stable, Seed: f.Seed}
}
