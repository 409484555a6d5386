package diagnose

// Part is a part of the machine, or of its use, that may be at fault.
type Part int

// The parts, each with the one size that says how bad its fault is.
const (
	PartSet       Part = iota // the spring has set; size: free length lost [m]
	PartWire                  // its wire has become thinner; size: share of the diameter lost [-]
	PartCoil                  // coils are broken off; size: coils missing [-]
	PartSpring                // a wrong, softer spring was fitted; size: coils too many [-]
	PartSeal                  // the seal drags; size: friction more than a sound seal has [N]
	PartFill                  // air in the chamber, a short fill; size: air at the fill pressure, more than usual [m³]
	PartLever                 // the lever does not cock fully; size: travel missing [m]
	PartHeadspace             // deep headspace that is not filled, or a dry puck; size: room that water fills first [m³]
	PartGauge                 // the gauge reads low; size: share that it is low by [-]
	PartPuck                  // the puck is too open for the peak to build; size: share of the resistance missing [-]
	numParts
)

var partNames = [numParts]string{
	"set of the spring", "thinner wire", "broken coil", "wrong spring", "seal drag", "air or short fill",
	"lever not fully cocked", "deep headspace or dry puck", "gauge reads low", "puck too open",
}

// partKeys are the last words of the names of their priors.
var partKeys = [numParts]string{"set", "wire", "coil", "spring", "seal", "fill", "lever", "headspace", "gauge", "puck"}

var partUnits = [numParts]string{"m", "-", "-", "-", "N", "m³", "m", "m³", "-", "-"}

func (p Part) String() string {
	if p < 0 || p >= numParts {
		return "unknown part"
	}
	return partNames[p]
}

// Key returns a short name for files: "set", "seal".
func (p Part) Key() string {
	if p < 0 || p >= numParts {
		return ""
	}
	return partKeys[p]
}

// Unit returns the SI unit of the size of its fault.
func (p Part) Unit() string {
	if p < 0 || p >= numParts {
		return ""
	}
	return partUnits[p]
}

// Repair is what puts parts right.
type Repair int

// The repairs.
const (
	RepairFill    Repair = iota // fill longer, wet the puck, fill the headspace
	RepairLever                 // free the way of the lever
	RepairPuck                  // grind finer
	RepairGauge                 // adjust or replace the gauge
	RepairSeal                  // service the seal
	RepairShim                  // shim the spring
	RepairReplace               // replace the spring
	repairs
)

var repairNames = [repairs]string{
	"fill longer", "free the lever's way", "grind finer", "put the gauge right", "service the seal", "shim the spring", "replace the spring",
}

var repairKeys = [repairs]string{"repair_fill", "repair_lever", "repair_puck", "repair_gauge", "repair_seal", "shim", "replace"}

// cures are the parts that a repair puts right. A shim helps against set only:
// under a thin, broken or wrong spring it is a wrong repair.
var cures = [repairs]partSet{
	RepairFill: setOf(PartFill, PartHeadspace), RepairLever: setOf(PartLever), RepairPuck: setOf(PartPuck),
	RepairGauge: setOf(PartGauge), RepairSeal: setOf(PartSeal), RepairShim: setOf(PartSet),
	RepairReplace: setOf(PartSet, PartWire, PartCoil, PartSpring),
}

func (r Repair) String() string {
	if r < 0 || r >= repairs {
		return "unknown repair"
	}
	return repairNames[r]
}

// ofSpring reports whether a repair takes the spring out.
func (r Repair) ofSpring() bool { return r == RepairShim || r == RepairReplace }

// onBench reports whether a measurement takes the spring out.
func onBench(k Kind) bool {
	switch k {
	case FreeLength, WireSize, Coils, BenchLoad, BenchRate:
		return true
	}
	return false
}

// partSet is a set of parts, one bit each.
type partSet uint16

func setOf(list ...Part) (s partSet) {
	for _, p := range list {
		s |= 1 << p
	}
	return s
}

func (s partSet) has(p Part) bool { return s&(1<<p) != 0 }

// list returns the parts in it, in order.
func (s partSet) list() []Part {
	var l []Part
	for p := range numParts {
		if s.has(p) {
			l = append(l, p)
		}
	}
	return l
}
