package diagnose

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
)

var whole = flag.Bool("study", false, "run the study of the diagnosis on 1000 machines, not on a part of them")

var trails = flag.Bool("trails", false, "print what was done to each machine that was not restored or had a repair in vain")

// heldOut is the seed that the study asserts: no figure of the model or of the
// method was chosen by it. Development looked at seeds 0 to 3 and 9101.
const heldOut = 9105

var seed = flag.Uint64("seed", heldOut, "seed of the study's machines; 0 to 3 are those of development")

// machines returns how many machines a study takes: all, or a part for the gate.
func machines(all, part int) int {
	if *whole {
		return all
	}
	return part
}

// each runs a study of n machines on two hands, each machine with random numbers of its own.
func each(n int, study uint64, do func(i int, rng *rand.Rand)) {
	var wait sync.WaitGroup
	for hand := range 2 {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for i := hand; i < n; i += 2 {
				do(i, rand.New(rand.NewPCG(study+1000**seed, uint64(i))))
			}
		}()
	}
	wait.Wait()
}

// firstReadings are what the owner happens to know: the peak, often that when
// new, and some of the rest.
func (o *old) firstReadings() []Observation {
	often := func(p float64) bool { return o.rng.Float64() < p }
	list := []Observation{o.read(Peak)}
	if often(0.7) {
		list = append(list, o.whenNew())
	}
	add := func(p float64, kinds ...Kind) {
		if !often(p) {
			return
		}
		for _, k := range kinds {
			r := o.read(k)
			if !slices.ContainsFunc(list, func(h Observation) bool { return h.Kinds[0] == r.Kinds[0] && !h.New }) {
				list = append(list, r)
			}
		}
	}
	add(0.65, EndPress, Yield, ShotTime)
	add(0.3, LogRate)
	for _, k := range []Kind{LongFill, FreeLength, Drag, Gauge, Travel, Headspace} {
		add(0.17, k)
	}
	return list
}

// tally is one machine of a study.
type tally struct {
	probability                     [numParts]float64
	worth                           [numParts]bool
	nothing, faultless              float64
	sizeIn, sizes                   int
	gainIn, gainAll, faultIn, fault int
	flagged                         bool
	kinds                           []string
}

func assess(t testing.TB, o *old, s *State) (y tally) {
	t.Helper()
	truth := o.truth()
	y.nothing, y.faultless = s.NothingWrong, 1
	for _, p := range s.Parts {
		y.probability[p.Part], y.worth[p.Part] = p.Probability, truth.worth[p.Part]
		if truth.worth[p.Part] {
			y.faultless = 0
		}
		in := truth.gain[p.Part] >= p.Gain.Low-1 && truth.gain[p.Part] <= p.Gain.High+1
		y.gainAll++
		if in {
			y.gainIn++
		}
		if size := o.fault[p.Part]; size != 0 {
			y.fault, y.sizes = y.fault+1, y.sizes+1
			if in {
				y.faultIn++
			} else if *trails {
				fmt.Printf("GAIN %s true %.3g said %.3g %.3g %.3g P %.3f %.3f p %.2g\n", p.Part.Key(), truth.gain[p.Part], p.Gain.Low, p.Gain.Value, p.Gain.High, p.Probability, p.AtFault, s.Explains)
			}
			if size >= p.Size.Low && size <= p.Size.High {
				y.sizeIn++
			} else {
				y.kinds = append(y.kinds, p.Part.Key())
			}
		}
	}
	y.flagged = s.Withheld
	return y
}

// TestStudyCalibration: probabilities, sizes and gains said hold.
func TestStudyCalibration(t *testing.T) {
	n := machines(1000, 40)
	list := make([]tally, n)
	prior := judged(t)
	each(n, 101, func(i int, rng *rand.Rand) {
		o := drawOld(anySheet(rng), rng, harshness{1, 1, 1})
		s, err := Infer(&Case{Machine: o.asStated(), Readings: o.firstReadings(), Priors: prior})
		if err != nil {
			t.Error(err)
			return
		}
		list[i] = assess(t, o, s)
	})
	var said, found, count [10]float64
	brier, ln, cases := 0.0, 0.0, 0.0
	var sum tally
	nothingSaid, nothingFound, flagged := 0.0, 0.0, 0.0
	off := map[string]int{}
	for _, y := range list {
		for p := range numParts {
			v, is := y.probability[p], 0.0
			if y.worth[p] {
				is = 1
			}
			k := min(9, int(v*10))
			said[k], found[k], count[k] = said[k]+v, found[k]+is, count[k]+1
			brier += (v - is) * (v - is)
			ln -= math.Log(max(1e-6, 1-math.Abs(v-is)))
			cases++
		}
		sum.sizeIn, sum.sizes = sum.sizeIn+y.sizeIn, sum.sizes+y.sizes
		sum.gainIn, sum.gainAll = sum.gainIn+y.gainIn, sum.gainAll+y.gainAll
		sum.faultIn, sum.fault = sum.faultIn+y.faultIn, sum.fault+y.fault
		nothingSaid, nothingFound = nothingSaid+y.nothing, nothingFound+y.faultless
		if y.flagged {
			flagged++
		}
		for _, k := range y.kinds {
			off[k]++
		}
	}
	if *trails {
		for p := range numParts {
			var said, found, n, low float64
			for _, y := range list {
				if v := y.probability[p]; v > 0.4 && v < 0.9 {
					said, n = said+v, n+1
					if y.worth[p] {
						found++
					}
				} else if v < 0.1 && y.worth[p] {
					low++
				}
			}
			t.Logf("%v: of %.0f said %.3f found %.3f, %.0f missed", p, n, said/n, found/n, low)
		}
	}
	var b strings.Builder
	worst := 0.0
	for k := range count {
		if count[k] > 0 {
			fmt.Fprintf(&b, "  said %.3f found %.3f of %.0f\n", said[k]/count[k], found[k]/count[k], count[k])
			if count[k] >= 50 {
				worst = max(worst, math.Abs(said[k]-found[k])/count[k])
			}
		}
	}
	share := func(a, b int) float64 { return float64(a) / float64(b) }
	t.Logf("%d machines\n%sBrier %.4f, log score %.3f, off in a bin of 50 at most %.3f\nsizes held %.1f %% of %d (off: %v), gains %.1f %%, at fault %.1f %% of %d\nnothing wrong said %.3f found %.3f, false alarms %.1f %%",
		n, b.String(), brier/cases, ln/cases, worst, 100*share(sum.sizeIn, sum.sizes), sum.sizes, off, 100*share(sum.gainIn, sum.gainAll), 100*share(sum.faultIn, sum.fault), sum.fault,
		nothingSaid/float64(n), nothingFound/float64(n), 100*flagged/float64(n))
	atMost(t, "Brier score per part", brier/cases, 0.055, 0.15*0.055*math.Sqrt(150/float64(n)))
	for k := range count {
		if count[k] >= 50 {
			atMost(t, fmt.Sprintf("reliability in the bin of %.2f", said[k]/count[k]), math.Abs(said[k]-found[k])/count[k], 0.07, 2*deviation(said[k]/count[k], count[k]))
		}
	}
	sizes, gains, at := share(sum.sizeIn, sum.sizes), share(sum.gainIn, sum.gainAll), share(sum.faultIn, sum.fault)
	atMost(t, "share of sizes outside of their interval", 1-sizes, 0.08, 2*deviation(0.08, float64(sum.sizes)))
	atMost(t, "share of gains outside of their interval", 1-gains, 0.05, 2*deviation(0.05, float64(sum.gainAll)))
	atMost(t, "share of sizes inside of their interval", sizes, 0.97, 2*deviation(0.97, float64(sum.sizes)))
	atMost(t, "share of gains inside of their interval", gains, 0.985, 2*deviation(0.985, float64(sum.gainAll)))
	// An interval leaves 2.5 % above, whatever the part; where a part is likelier in
	// order it reaches down to no gain at all and leaves nothing below, so the
	// faults that hide behind likelier ones make up nearly all that lies outside.
	atMost(t, "share of gains of faults outside of their interval", 1-at, 0.15, 2*deviation(0.15, float64(sum.fault)))
	atMost(t, "false alarms", flagged/float64(n), 0.01, 2*deviation(0.01, float64(n)))
}

// deviation is the standard deviation of a share p found among n.
func deviation(p, n float64) float64 { return math.Sqrt(p * (1 - p) / n) }

// atMost holds a number of a study to what was asked for, give or take what so few
// machines scatter by (twice the standard deviation).
func atMost(t *testing.T, what string, got, want, scatter float64) {
	t.Helper()
	if got > want+scatter {
		t.Errorf("%s: %.4f, want at most %.4f (± %.4f by chance)", what, got, want, scatter)
	}
}

// walked is a machine followed repair after repair.
type walked struct {
	asked, vain, harmful, repaired int
	restored                       bool
	effort                         float64 // [min]
	faults                         int
	trail                          []string
	fault                          [numParts]float64
}

// fix repairs a machine in truth, and says whether it was in vain or harmful:
// a spring shimmed or replaced that was not worth it, or a shim under a
// spring that is thin, broken or wrong.
func (o *old) fix(r Repair) (vain, harmful bool) {
	t := o.truth()
	vain, harmful = true, false
	for _, p := range cures[r].list() {
		vain = vain && !t.worth[p]
	}
	if r == RepairShim && t.worth[PartWire] || r == RepairShim && t.worth[PartSpring] || r == RepairShim && t.worth[PartCoil] {
		harmful = true
	}
	harmful = harmful || vain && r.ofSpring()
	for _, p := range cures[r].list() {
		o.fault[p] = 0
	}
	if r == RepairReplace {
		o.free, o.wire, o.coils = o.coil.Free, o.coil.Wire, o.coil.Active
	}
	return vain, harmful
}

// ofShot are the readings of one shot, with what is at hand anyway.
var ofShot = []Kind{Peak, EndPress, Yield, ShotTime}

// actOf returns what is read in one go with a kind.
func actOf(k Kind) []Kind {
	for _, act := range [][]Kind{ofShot, {FreeLength, WireSize, Coils}} {
		if slices.Contains(act, k) {
			return act
		}
	}
	return []Kind{k}
}

// stale reports whether a repair makes a reading out of date.
func stale(k Kind, r Repair) bool {
	switch k {
	case FreeLength, WireSize, Coils, BenchLoad, BenchRate:
		return r.ofSpring()
	case Drag:
		return r == RepairSeal
	case Gauge:
		return r == RepairGauge
	case Travel:
		return r == RepairLever
	case Headspace:
		return r == RepairFill
	}
	return true
}

// follow does what the diagnosis says, step after step.
func follow(t testing.TB, o *old, readings []Observation, prior Priors) (w walked) {
	w.fault = o.truth().gain
	for _, f := range o.fault {
		if f != 0 {
			w.faults++
		}
	}
	m := o.asStated()
	var renewed []Part
	last, again := Kind(-1), map[Kind]bool{}
	for range 16 {
		s, err := Infer(&Case{Machine: m, Readings: readings, Priors: prior, Renewed: renewed})
		if err != nil {
			t.Error(err)
			return w
		}
		x := s.Next
		w.effort += x.Effort / 60
		if x.Is == StepLeave {
			break
		}
		if x.Is == StepMeasure {
			w.asked++
			if x.Again {
				i := s.Worst.From
				used := s.Used[i]
				at := slices.IndexFunc(readings, func(h Observation) bool {
					return h.Kinds[0] == used.Kinds[0] && h.New == used.New && len(h.Before) == len(used.Before)
				})
				if again[x.Measure] || at < 0 || used.New || len(used.Before) > 0 {
					w.trail = append(w.trail, fmt.Sprintf("withheld %.2g %v", s.Explains, s.Worst))
					break
				}
				again[x.Measure] = true
				w.trail = append(w.trail, "again "+x.Measure.String())
				readings[at] = o.read(used.Kinds[0])
				continue
			}
			w.trail = append(w.trail, x.Measure.String())
			for _, k := range actOf(x.Measure) {
				r := o.read(k)
				if !slices.ContainsFunc(readings, func(h Observation) bool { return h.Kinds[0] == r.Kinds[0] && !h.New && len(h.Before) == 0 }) {
					readings = append(readings, r)
				}
			}
			if x.Measure == last {
				return w // cannot be read: too short a shot to log
			}
			last = x.Measure
			continue
		}
		vain, harmful := o.fix(x.Repair)
		w.trail = append(w.trail, fmt.Sprintf("%v(%v)", x.Repair, vain))
		w.repaired++
		if vain {
			w.vain++
		}
		if harmful {
			w.harmful++
		}
		renewed = append(renewed, cures[x.Repair].list()...)
		var was []Kind
		readings = slices.Clone(readings)
		for i := range readings {
			h := &readings[i]
			if h.New {
				continue
			}
			current := len(h.Before) == 0
			if current && !stale(h.Kinds[0], x.Repair) {
				continue
			}
			h.Before = append(slices.Clone(h.Before), cures[x.Repair].list()...)
			if !current {
				continue
			}
			if slices.Contains(ofShot, h.Kinds[0]) {
				was = append(was, h.Kinds[0])
			}
		}
		if x.Repair == RepairReplace { // another spring: what was read before tells nothing of it
			readings = slices.DeleteFunc(readings, func(h Observation) bool { return len(h.Before) > 0 })
		}
		for _, k := range was { // one more shot, read as the one before
			readings = append(readings, o.read(k))
		}
		w.effort += 5
	}
	w.restored = o.truth().right
	if !w.restored {
		w.effort += 300
	}
	return w
}

// springFirst is the owner who takes the spring out first, and mends one thing
// after the other until the peak is back.
func springFirst(o *old, fresh float64) (w walked) {
	done := func() bool { return o.read(Peak).Values[0] >= 0.94*fresh }
	do := func(r Repair, effort float64) {
		w.effort += effort + 10
		vain, harmful := o.fix(r)
		if vain {
			w.vain++
		}
		if harmful {
			w.harmful++
		}
	}
	if !done() {
		w.effort += 45 + 3 + 3 + 2
		wire, coils, free := o.read(WireSize).Values[0], o.read(Coils).Values[0], o.read(FreeLength).Values[0]
		switch {
		case wire < 0.985*o.coil.Wire || math.Abs(coils-o.coil.Active) > 0.5:
			do(RepairReplace, 180)
		case free < 0.98*o.coil.Free:
			do(RepairShim, 30)
		}
	}
	for _, r := range []struct {
		r      Repair
		effort float64
	}{{RepairFill, 10}, {RepairPuck, 10}, {RepairLever, 15}, {RepairSeal, 75}, {RepairGauge, 45}} {
		if !done() {
			do(r.r, r.effort)
		}
	}
	w.restored = o.truth().right
	if !w.restored {
		w.effort += 300
	}
	return w
}

// sumUp adds up followed machines.
func sumUp(list []walked) string {
	var n, asked, vain, harmful, restored, effort, three, threeHarm float64
	for _, w := range list {
		n++
		asked, vain, harmful, effort = asked+float64(w.asked), vain+float64(w.vain), harmful+float64(w.harmful), effort+w.effort
		if w.restored {
			restored++
		}
		if w.faults == 3 {
			three++
			threeHarm += float64(w.harmful)
		}
	}
	return fmt.Sprintf("restored %.1f %%, in vain %.3f, harmful %.3f (of three faults %.3f of %.0f), asked %.2f, effort %.0f min", 100*restored/n, vain/n, harmful/n, threeHarm/max(1, three), three, asked/n, effort/n)
}

// TestStudyFollowed: following the advice restores machines, with few repairs in vain.
func TestStudyFollowed(t *testing.T) {
	n := machines(400, 20)
	joint, single, first := make([]walked, n), make([]walked, n), make([]walked, n)
	prior := judged(t)
	one := judged(t)
	one.FaultsMost = 1
	each(n, 202, func(i int, rng *rand.Rand) {
		o := drawOld(anySheet(rng), rng, harshness{1, 1, 1})
		readings := o.firstReadings()
		a, b, c := *o, *o, *o
		joint[i] = follow(t, &a, readings, prior)
		single[i] = follow(t, &b, readings, one)
		fresh := o.nominal()
		for _, r := range readings {
			if r.New {
				fresh = r.Values[0]
			}
		}
		first[i] = springFirst(&c, fresh)
	})
	t.Logf("%d machines\njoint        %s\none cause    %s\nspring first %s", n, sumUp(joint), sumUp(single), sumUp(first))
	total := func(list []walked, f func(walked) float64) (sum float64) {
		for _, w := range list {
			sum += f(w) / float64(len(list))
		}
		return sum
	}
	m := float64(n)
	atMost(t, "not restored", total(joint, func(w walked) float64 {
		if w.restored {
			return 0
		}
		return 1
	}), 0.08, 2*deviation(0.08, m))
	atMost(t, "repairs in vain a machine", total(joint, func(w walked) float64 { return float64(w.vain) }), 0.08, 2*math.Sqrt(0.08/m))
	atMost(t, "harmful repairs a machine", total(joint, func(w walked) float64 { return float64(w.harmful) }), 0.02, 2*math.Sqrt(0.02/m))
	atMost(t, "measurements asked a machine", total(joint, func(w walked) float64 { return float64(w.asked) }), 1.2, 2*math.Sqrt(3/m))
	// The same machines went both ways: the scatter is that of the differences.
	less := func(other []walked) (mean, scatter float64) {
		second := 0.0
		for i := range joint {
			d := joint[i].effort - other[i].effort
			mean, second = mean+d/m, second+d*d/m
		}
		return mean, 2 * math.Sqrt((second-mean*mean)/m)
	}
	by, scatter := less(single)
	atMost(t, "effort above that of one cause at a time [min]", by, 0, scatter)
	by, scatter = less(first)
	atMost(t, "effort above that of taking the spring out first [min]", by, 0, scatter)
	for i, w := range joint {
		if *trails && (!w.restored || w.vain > 0) {
			t.Logf("%d %+v", i, w)
		}
	}
}
