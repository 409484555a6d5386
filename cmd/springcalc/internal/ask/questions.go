package ask

import "springcalc/cmd/springcalc/internal/answer"

// question is one thing that a sheet may state.
type question struct {
	path    string // of its key
	what    string // what it is
	how     string // how to find it out
	more    string // what "?" adds, beside the range and the default
	caution string // what can hurt meanwhile; "" for nothing
}

// group is questions whose answers only count together: they go into the sheet when
// all that are needed are there. A question by itself is a group of one.
type group struct {
	title     string // of several
	questions []question
	may       int      // of them, from the end, that may stay open
	unless    []string // keys that say the same in another way: stated, the group is not asked
}

// one is a question by itself.
func one(q question) group { return group{questions: []question{q}} }

// groups are the questions in their order: those that a first answer needs, then
// what narrows it most for the least trouble.
var groups = []group{
	one(question{path: "machine.name", what: "What do you call the machine?", how: "Any words: they stand over every answer."}),
	one(question{path: "piston.bore", what: "How wide is the cylinder inside?",
		how:  "Caliper across the cylinder, or over the piston where its seal touches.",
		more: "It counts squared: half a millimetre in 50 is 2 % of every pressure."}),
	one(question{path: "piston.stroke", what: "How far does the piston travel from cocked to rest?",
		how: "Mark the rod at the top and at the bottom of the lever's way, ruler between the marks.", caution: answer.CautionLever}),
	one(question{path: "bench.peak", what: "What is the highest pressure of a shot, by the machine's gauge?",
		how:  "Read it just after the lever is let go, with coffee in. No gauge: Enter, and state the spring below.",
		more: "With the pressure at the end it tells force and rate of the spring without taking it out.", caution: answer.CautionHot}),
	one(question{path: "bench.end_pressure", what: "What is the pressure at the very end of the stroke?",
		how: "Read it when the lever is nearly up again, before the cup is taken away.", caution: answer.CautionHot}),
	one(question{path: "basket.diameter", what: "How wide is the filter basket inside?", how: "Caliper across it, halfway down."}),
	one(question{path: "coffee.dose", what: "How much dry coffee goes in?", how: "Kitchen scale."}),
	one(question{path: "pull.preinfusion", what: "How long does the lever stay down before it is let go?",
		how: "Watch, from the lever down to the lever let go."}),
	{title: "A shot that you know", unless: []string{"coffee.resistance", "coffee.permeability"}, questions: []question{
		{path: "coffee.known.yield", what: "How much is in the cup at its end?", how: "Scale under the cup, the lever let go and left alone to the end."},
		{path: "coffee.known.time", what: "How long does it take in all?", how: "Watch, from the lever down to the end."},
	}},
	one(question{path: "basket.depth", what: "How deep is the basket?", how: "Depth rod of the caliper, to its floor.",
		more: "With the dose it tells the room above the coffee, which is filled before the peak."}),
	{unless: []string{"water.boiler_temperature", "water.line_pressure"}, questions: []question{
		{path: "water.boiler_pressure", what: "What does the gauge of the boiler show?", how: "Read it hot, before a shot.", caution: answer.CautionHot}}},
	one(question{path: "water.brew_temperature", what: "How hot is the water in the coffee?", how: "Thermometer in the stream of the group.", caution: answer.CautionHot}),
	one(question{path: "piston.mass", what: "How heavy are piston and rod?", how: "Kitchen scale, once they are out."}),
	one(question{path: "piston.friction", what: "How hard do the seals hold the piston?",
		how:     "Spring scale on the piston, spring out: half of what raises it less what lets it sink.",
		caution: answer.CautionSpring}),
	{title: "The spring itself, if it is out", may: 1,
		unless: []string{"spring.rate", "spring.preload", "spring.coil_diameter", "spring.inside_diameter", "spring.total_coils", "spring.shear_modulus"}, questions: []question{
			{path: "spring.wire", what: "How thick is its wire?", how: "Micrometer or caliper, at three places.", caution: answer.CautionSpring,
				more: "It counts to the fourth power: 0.1 mm in 7 is 6 % of the rate."},
			{path: "spring.outside_diameter", what: "How wide is it over the coils?", how: "Caliper over a coil in the middle."},
			{path: "spring.active_coils", what: "How many of its coils move?", how: "Count those with room to both neighbours, quarters too."},
			{path: "spring.ends", what: "How does the wire end?", how: "Look: closed is the last coil lying on the one before, ground is flat."},
			{path: "spring.grade", what: "What wire is it?", how: "A drawing or an order says so; else \"steel\" or, where no magnet holds, \"stainless\"."},
			{path: "spring.free_length", what: "How long is it with no load?", how: "Caliper or ruler, standing free."},
			{path: "spring.installed_length", what: "How long is it in the machine, the piston at rest?", how: "Ruler between its seats; Enter where the gauge has told the force."},
		}},
	{title: "The lever, with a rack", unless: []string{"lever.pinion_diameter"}, questions: []question{
		{path: "lever.kind", what: "How does the handle move the piston?", how: "\"rack and pinion\"; the dimensions of other kinds go under lever into the sheet by hand."},
		{path: "lever.handle_length", what: "How long is the handle from its pivot to the middle of the hand?", how: "Tape measure."},
		{path: "lever.swing", what: "By what angle does it turn from rest to cocked?", how: "Angle finder, or a picture from the side."},
	}},
}
