package main

import (
	"errors"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
)

// springFlags are the spring itself, in place of a sheet or of the keys of it that
// they carry as tags.
type springFlags struct {
	Wire            string `key:"spring.wire" group:"The spring" placeholder:"LENGTH" help:"Wire diameter, such as \"7 mm ± 0.02 mm\"."`
	CoilDiameter    string `key:"spring.coil_diameter" group:"The spring" placeholder:"LENGTH" help:"Mean diameter of the coils; or one of the next two."`
	OutsideDiameter string `key:"spring.outside_diameter" group:"The spring" placeholder:"LENGTH" help:"Diameter over the coils."`
	InsideDiameter  string `key:"spring.inside_diameter" group:"The spring" placeholder:"LENGTH" help:"Diameter inside the coils."`
	ActiveCoils     string `key:"spring.active_coils" group:"The spring" placeholder:"N" help:"Coils that move; or the next."`
	TotalCoils      string `key:"spring.total_coils" group:"The spring" placeholder:"N" help:"All coils, from wire end to wire end."`
	Ends            string `key:"spring.ends" group:"The spring" placeholder:"ENDS" help:"plain, \"plain and ground\", closed or \"closed and ground\"."`
	Grade           string `key:"spring.grade" group:"The spring" placeholder:"GRADE" help:"Grade of the wire, such as A228 or \"EN 10270-1 SH\"; or --shear-modulus."`
	ModulusRatio    string `key:"spring.modulus_ratio" group:"The spring" placeholder:"NUMBER" help:"Shear modulus of the wire over the published one of its grade."`
	ShearModulus    string `key:"spring.shear_modulus" group:"The spring" placeholder:"STRESS" help:"Shear modulus of the wire."`
	TensileStrength string `key:"spring.tensile_strength" group:"The spring" placeholder:"STRESS" help:"Tensile strength of the wire by its mill certificate, in place of the least of its grade."`
	AllowableStress string `key:"spring.allowable_stress" group:"The spring" placeholder:"STRESS" help:"Shear stress that the wire may bear, in place of the published ones; with the next."`
	AllowableFactor string `key:"spring.allowable_factor" group:"The spring" placeholder:"FACTOR" help:"Its stress correction: none, \"direct shear\", Wahl or Bergsträsser."`
	FreeLength      string `key:"spring.free_length" group:"The spring" placeholder:"LENGTH" help:"Length with no load."`
	InstalledLength string `key:"spring.installed_length" group:"The spring" placeholder:"LENGTH" help:"Length with the piston at rest."`
	Temperature     string `key:"spring.temperature" group:"The spring" placeholder:"TEMPERATURE" help:"Temperature of the spring at work."`
	Stroke          string `key:"piston.stroke" group:"The spring" placeholder:"LENGTH" help:"Travel from rest to cocked."`
}

// findFlags ask for one unknown of the spring.
type findFlags struct {
	Find   string               `group:"One unknown" enum:",free-length,coils,wire,coil-diameter" default:"" placeholder:"WHAT" help:"Find free-length (from --load and --at), coils or coil-diameter (from --rate), or wire (from --rate, or --stress and --load); it need not be stated."`
	Load   *quantity.ForceFlag  `range:"spring.preload" group:"One unknown" placeholder:"FORCE" help:"Load that the spring shall bear."`
	At     *quantity.LengthFlag `range:"spring.free_length" group:"One unknown" placeholder:"LENGTH" help:"Length at which it shall bear it."`
	Rate   *quantity.RateFlag   `range:"spring.rate" group:"One unknown" placeholder:"RATE" help:"Rate that it shall have."`
	Stress *quantity.StressFlag `limits:"1 MPa to 10000 MPa" group:"One unknown" placeholder:"STRESS" help:"Shear stress that the load may give its wire."`
	Factor string               `group:"One unknown" enum:"none,direct shear,Wahl,Bergsträsser" default:"none" placeholder:"FACTOR" help:"Stress correction of that stress: none (the default), \"direct shear\", Wahl or Bergsträsser."`
}

// target is the flags as what is asked of the answer. A target is exact.
func (f *findFlags) target() (answer.Find, error) {
	t := answer.Find{Unknown: answer.Unknown(f.Find), Factor: machine.FactorOf(f.Factor)}
	take := func(flag string, to *float64, q quantity.Quantity) error {
		if *to = q.Value; q.Plus != 0 || !(q.Value > 0) {
			return sheet.Usef("%s: a target is more than 0 and has no ±", flag)
		}
		return nil
	}
	var errs [4]error
	if f.Load != nil {
		errs[0] = take("--load", &t.Load, f.Load.Quantity)
	}
	if f.At != nil {
		errs[1] = take("--at", &t.Length, f.At.Quantity)
	}
	if f.Rate != nil {
		errs[2] = take("--rate", &t.Rate, f.Rate.Quantity)
	}
	if f.Stress != nil {
		errs[3] = take("--stress", &t.Stress, f.Stress.Quantity)
	}
	return t, errors.Join(errs[:]...)
}
