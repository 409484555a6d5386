package profile

import "sort"

// Outcome names how a shot ended.
type Outcome string

// The outcomes of a shot.
const (
	StrokeEnded Outcome = "stroke ended"                   // the piston reached its rest
	BelowLimit  Outcome = "pressure fell to the threshold" // Pull.EndPressure was reached first
	RanDry      Outcome = "water spent"                    // all the water above the bed was pressed through it
	CupFull     Outcome = "cup taken away"                 // Pull.EndCup was reached first
	Stalled     Outcome = "stalled"                        // friction holds what force is left; the piston stops before its rest
	Choked      Outcome = "choked"                         // the bed passes so little that the shot was given up
	NoPressure  Outcome = "no pressure"                    // the spring cannot push the piston past the port against the fill pressure
	AirTookAll  Outcome = "air took the stroke"            // air in the chamber was compressed over the whole stroke
)

// Summary is a shot in numbers.
type Summary struct {
	Outcome      Outcome // how the last pull ended
	Peak         float64 // highest pressure under the spring [Pa]
	End          float64 // pressure where the push of the springs ended [Pa]
	TimeConstant float64 // τ: time in which the pressure falls by e, mean over the push of the springs, from where the flow out of the bed began in it to End [s]; 0 where it does not fall
	Preinfusion  float64 // time from opening the port to release, first pull [s]
	Spring       float64 // time from release to the end of the push of the springs, all pulls [s]
	AirPush      float64 // time that trapped air went on pushing after the piston came to rest, all pulls [s]
	AirYield     float64 // mass that reached the cup in that time [kg]
	AirGivenUp   bool    // the air was still pushing ten minutes after the release, where the shot is given up
	Last         float64 // pressure at the very end, after that push [Pa]
	Total        float64 // time from opening the port to the end of the last pull [s]
	FrontThrough float64 // time at which the wetting front reached the bottom [s]; 0 where it never did
	FirstDrop    float64 // time at which 0.3 g were in the cup [s]; 0 where they never were
	Wetted       float64 // share of the bed behind the front at the first release [-]
	Yield        float64 // mass in the cup [kg]
	Ratio        float64 // yield over dose [-]
	Energy       Energy  // where the springs' energy went
	Mass         Mass    // where the water went
}

// Energy is the account of the spring-driven stages of a shot.
type Energy struct {
	Released  float64 // given by springs and piston weight, from their potential [J]
	Hydraulic float64 // work on the water that entered the bed, ∫P dV [J]
	Returned  float64 // work on the water pushed back through the open port [J]
	Friction  float64 // work against seal friction [J]
	Air       float64 // work on the air of the chamber, less what the atmosphere did [J]
	Release   float64 // lost in the jerk from release until pressure stands: the force that nothing balanced [J]
	Residual  float64 // released less all the rest, over released [-]
}

// Mass is the account of the water of a shot.
type Mass struct {
	Filled    float64 // water let in: into the bed before the release, and above it when the port is closed [kg]
	Entered   float64 // water that entered the bed, from the volume delivered [kg]
	Retained  float64 // water that stayed in the bed [kg]
	Dissolved float64 // solids that left with the rest [kg]
	Cup       float64 // what flowed into the cup, summed from the flow [kg]
	Left      float64 // water still above the bed at the end, from the geometry of the chamber [kg]
	Residual  float64 // filled + dissolved - retained - cup - left, over filled [-]
}

// Sample is one row of a shot's table.
type Sample struct {
	Time     float64 // t: since the port was opened [s]
	Volume   float64 // V: water that has entered the bed [m³]
	Travel   float64 // z: travel of the piston from cocked [m]
	Pressure float64 // P: gauge pressure above the bed [Pa]
	Flow     float64 // Q: water entering the bed [m³/s]; 0 at the first touch, where the model has none
	Cup      float64 // mass in the cup [kg]
}

// Event is something that happened during a shot.
type Event struct {
	Name string  // what happened
	Time float64 // when, since the port was opened [s]
}

// Shot is the whole result.
type Shot struct {
	Summary
	Samples []Sample // the table, in order of time
	Events  []Event  // in order of time
	Elastic Summary  // the same shot if the bed springs back with falling pressure (n_u = n)
	Set     Summary  // the same shot if compaction stays (n_u = 0)
	Doubts  []string // what may be wrong with the result
}

// At returns the shot at a time [s], between the rows of its table: volume by
// the cubic that meets the flow at both rows, the rest along with the volume.
// Before the first and after the last row it returns that row.
func (s *Shot) At(t float64) Sample {
	rows := s.Samples
	i := sort.Search(len(rows), func(i int) bool { return rows[i].Time > t })
	if i == 0 {
		return rows[0]
	}
	if i == len(rows) {
		return rows[i-1]
	}
	a, b := rows[i-1], rows[i]
	h := b.Time - a.Time
	x := (t - a.Time) / h
	rise := b.Volume - a.Volume
	if rise == 0 {
		a.Time = t
		return a
	}
	y := x // straight where the flow has no start value
	if a.Flow > 0 && b.Flow > 0 {
		ma, mb := a.Flow*h/rise, b.Flow*h/rise
		y = x * (ma + x*(3-2*ma-mb+x*(ma+mb-2)))
	}
	along := func(a, b float64) float64 { return a + y*(b-a) }
	return Sample{
		Time: t, Volume: along(a.Volume, b.Volume), Travel: along(a.Travel, b.Travel),
		Pressure: along(a.Pressure, b.Pressure), Flow: along(a.Flow, b.Flow), Cup: along(a.Cup, b.Cup),
	}
}
