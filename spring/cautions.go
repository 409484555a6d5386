package spring

// Cautions for work on a loaded spring. They are common practice; local codes
// and the advice of licensed trades come first.
const (
	CautionPreload = "Even at rest most springs sit under preload: hold both ends in a press or on a captive rod, " +
		"and let off the whole preload before the last retainer comes out."
	CautionPress   = "Use a rod or press rated above the force at solid length, stand out of line with the spring, and wear eye protection."
	CautionStiffer = "A stiffer spring raises the pressure and the pull on the handle, and loads the chamber, the linkage, " +
		"the latch and the pivots more, all together: check the weakest of them."
	CautionWorn  = "Results hold for sound parts: replace a spring that has set much, is cracked, pitted by rust, or worn at its ends."
	CautionLocal = "Local codes, the maker's limits and licensed practice come before these numbers: leave work on a pressure vessel to a licensed trade."
)

// RemovalCautions returns what to show wherever a spring may be taken out.
func RemovalCautions() []string {
	return []string{CautionPreload, CautionPress, CautionWorn, CautionLocal}
}
