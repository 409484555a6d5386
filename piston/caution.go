package piston

// Cautions go with a result wherever the thing it describes can hurt someone.
const (
	CautionCocked   = "A cocked lever holds the energy of its spring: keep a firm hand on it until it is all the way back."
	CautionUnloaded = "Never let go of a cocked lever with no water and coffee to push against: " +
		"the piston goes back almost at once and the handle strikes whoever is in its way."
	CautionPressure = "Remove nothing below the chamber, and open nothing, while it may still hold pressure."
	CautionHot      = "Water and metal above about 60 °C burn the skin within seconds: let the machine cool before working on it."
	CautionPreload  = "A spring at rest is still preloaded: hold both ends in a press or a captive rod, " +
		"and let off the whole preload before the last retainer comes out."
	CautionStiffer = "A stiffer spring loads the chamber, the linkage, the latch and the pivots more, all together: check the weakest of them."
	CautionFood    = "Use only seals and grease declared for contact with food at the working temperature."
	CautionService = "Local codes and the maker's limits come before these numbers: leave work on a pressure vessel to licensed practice."
)
