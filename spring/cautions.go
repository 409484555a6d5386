package spring

// Cautions for work on a machine with a loaded spring. They are common
// practice; local codes and the advice of licensed trades come first.
const (
	CautionPreload = "Even at rest most springs sit under preload. Hold both ends in a press or on a captive rod, and let off the whole preload before the last retainer comes out."
	CautionPress   = "Use a rod or press rated above the force at solid length, stand out of line with the spring, and wear eye protection."
	CautionCocked  = "A cocked lever holds the energy of the spring. Keep the handle in hand until it is all the way back."
	CautionRelease = "With no water to push against, the piston returns at once and the handle can strike. Never let a loaded lever go without load."
	CautionOpen    = "Do not open, or take anything from below, a chamber that still shows pressure."
	CautionHot     = "Water and metal above about 60 °C burn within seconds. Let the machine cool before work."
	CautionStiffer = "A stiffer spring raises the pressure, the pull on the handle and the load on latch and pivots together. Check the weakest."
	CautionWorn    = "Results hold for sound parts. Replace a spring that has set much, is cracked, pitted by rust, or worn at its ends."
	CautionLocal   = "Where local codes or a licensed trade cover the work, follow them over any figure given here."
)

// RemovalCautions returns what to show wherever a spring may be taken out.
func RemovalCautions() []string {
	return []string{CautionPreload, CautionPress, CautionOpen, CautionHot, CautionWorn, CautionLocal}
}
