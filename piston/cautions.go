package piston

// Cautions for a lever, its chamber and hot water; those for the spring are in
// package spring. They go with a result wherever the thing it describes can
// hurt someone, and are common practice.
const (
	CautionCocked   = "A cocked lever holds the energy of its spring: keep a firm hand on it until it is all the way back."
	CautionUnloaded = "Never let go of a cocked lever with no water and coffee to push against: " +
		"the piston goes back almost at once and the handle strikes whoever is in its way."
	CautionPressure = "Remove nothing below the chamber, and open nothing, while it may still hold pressure."
	CautionHot      = "Water and metal above about 60 °C burn the skin within seconds: let the machine cool before working on it."
	CautionFood     = "Use only seals and grease declared for contact with food at the working temperature."
)
