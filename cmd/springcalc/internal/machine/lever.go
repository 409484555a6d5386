package machine

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/piston"
	"springcalc/spring"
)

// Lever returns the lever of the sheet. Its error lists what is wrong with it,
// with places.
func (m *Machine) Lever() (piston.Lever, error) {
	if !m.HasTable("lever") {
		m.Fault(m.Tables["lever"], "lever", "missing: give kind, handle_length and the dimensions of the linkage under [lever]; "+
			"\"springcalc sheet\" prints a blank one")
		return piston.Lever{}, m.Faults.Err()
	}
	l := m.lever()
	if len(m.Faults) == 0 {
		_, _, err := piston.Latch(l.Linkage) // also finds one that does not rise
		m.faultsFrom("lever.kind", err)
	}
	return l, m.Faults.Err()
}

// lever is the lever as far as its dimensions go. What is wrong with them is noted.
func (m *Machine) lever() piston.Lever {
	l := piston.Lever{Handle: m.Value("lever.handle_length"), Efficiency: m.Value("lever.efficiency")}
	if kind, ok := m.KindOf(); ok {
		l.Linkage = m.linkage(kind)
	} else {
		l.Linkage = m.measuredLinkage()
	}
	if len(m.Faults) == 0 && m.Has("lever.handle_mass") {
		l.Mass, l.Centre = m.Value("lever.handle_mass"), m.Value("lever.handle_centre")
		l.Upright = l.Linkage.Range().From - m.Value("lever.handle_lean")
	}
	return l
}

// handle is the weight of the handle on the piston: as stated, through the
// linkage where the lever is described with its mass, or by default.
func (m *Machine) handle() piston.Handle {
	if !m.Has("piston.handle_force") && m.Has("lever.handle_mass") {
		l := m.lever()
		if len(m.Faults) > 0 {
			return piston.Handle{}
		}
		h, err := l.HandleWeight(m.Setup.Cylinder.Stroke)
		if err == nil {
			return h
		}
		if !errors.Is(err, piston.ErrRange) {
			m.FaultFrom("lever.kind", err)
			return h
		}
		m.Doubts = append(m.Doubts, "the weight of the handle is taken as of a usual lever: "+WithoutPackage(err))
	}
	return piston.Handle{-m.Value("piston.handle_force")}
}

// pinionDiameter is that of the sheet, or the one that lifts the piston by the
// stroke over the swing: d = 2 s/θ [m].
func (m *Machine) pinionDiameter() float64 {
	if m.Has("lever.pinion_diameter") {
		return m.Value("lever.pinion_diameter")
	}
	return 2 * m.Value("piston.stroke") / m.Value("lever.swing")
}

// slotFriction is none where the sheet states what gets through the linkage as a whole.
func (m *Machine) slotFriction() float64 {
	if m.Has("lever.efficiency") && !m.Has("lever.slot_friction") {
		return 0
	}
	return m.Value("lever.slot_friction")
}

// linkages build the linkage of a kind of lever over a span, from its dimensions.
var linkages = map[string]func(m *Machine, span piston.Span) piston.Linkage{
	sheet.RackAndPinion: func(m *Machine, span piston.Span) piston.Linkage {
		return piston.Rack{PinionDiameter: m.pinionDiameter(), Span: span}
	},
	sheet.SlotInRod: func(m *Machine, span piston.Span) piston.Linkage {
		return piston.CrossSlot{PinRadius: m.Value("lever.pin_radius"), Span: span}
	},
	sheet.SlotInLever: func(m *Machine, span piston.Span) piston.Linkage {
		return piston.LeverSlot{PinDistance: m.Value("lever.pin_distance"), Friction: m.slotFriction(), Span: span}
	},
	sheet.LinkToRod: func(m *Machine, span piston.Span) piston.Linkage {
		return piston.Link{PinRadius: m.Value("lever.pin_radius"), Length: m.Value("lever.link_length"),
			Offset: m.ValueOr("lever.offset", 0), Span: span}
	},
}

// linkage returns a linkage by its dimensions, swung as far as the sheet says
// or as the stroke goes. What is wrong is noted.
func (m *Machine) linkage(kind sheet.LeverKind) piston.Linkage {
	from := m.ValueOr("lever.start_angle", 0)
	span := piston.Span{From: from, To: max(from, kind.Furthest)}
	swung := m.Has("lever.swing")
	if swung {
		span.To = from + m.Value("lever.swing")
	}
	build := linkages[kind.Name]
	whole := build(m, span)
	if _, slot := whole.(piston.LeverSlot); slot && (from >= sheet.SteepestSlot || span.To > sheet.SteepestSlot) {
		path := "lever.swing"
		if from >= sheet.SteepestSlot {
			path = "lever.start_angle"
		}
		m.FaultOf(path, "goes beyond "+quantity.InDeg.Text(sheet.SteepestSlot, 0)+" from square to the piston's axis")
		return nil
	}
	if err := whole.Validate(); err != nil {
		m.faultsFrom("lever."+kind.Fit, err)
		return nil
	}
	if swung {
		return whole
	}
	stroke := m.Setup.Cylinder.Stroke
	to, err := piston.AngleFor(whole, stroke)
	if err != nil && !errors.Is(err, piston.ErrRange) {
		m.FaultFrom("lever."+kind.Fit, err)
		return nil
	}
	if err != nil {
		most := whole.Lift(span.To)
		if latch, ok, _ := piston.Latch(whole); ok {
			most = whole.Lift(latch)
		}
		m.FaultOf("lever."+kind.Size, fmt.Sprintf("lifts the piston by %s at most, less than the stroke, %s",
			quantity.InMM.Text(most, 1), quantity.InMM.Text(stroke, 1)))
		return nil
	}
	return build(m, piston.Span{From: from, To: to})
}

// measuredLinkage returns the linkage through the points of the sheet.
func (m *Machine) measuredLinkage() piston.Linkage {
	points := make([]piston.TablePoint, m.Several["lever.point"])
	for i := range points {
		point := sheet.Indexed("lever.point", i+1)
		points[i] = piston.TablePoint{Angle: m.Value(point + ".angle"), Lift: m.Value(point + ".lift")}
	}
	t, err := piston.NewTable(points)
	if err != nil {
		m.Fault(m.Tables["lever"], "lever.point", WithoutPackage(err))
		return nil
	}
	const apart = 0.03 // from which points and stroke are not of one piston [-]
	stroke, _ := m.Quantity("piston.stroke")
	lifts := slices.MaxFunc(points, func(a, b piston.TablePoint) int { return cmp.Compare(a.Lift, b.Lift) }).Lift - points[0].Lift
	if math.Abs(lifts-stroke.Value) > max(apart*stroke.Value, stroke.Plus) {
		m.FaultOf("piston.stroke", fmt.Sprintf("the points of the lever lift the piston by %s; from rest to cocked both are the same way",
			quantity.InMM.Text(lifts, 1)))
		return nil
	}
	return t
}

// Load returns what acts on the piston while the lever is cocked on a hot
// machine: the boiler pushes from below once the port is open; before that the
// dry puck lets air in.
func (m *Machine) Load() piston.Load {
	return piston.Load{
		Cylinder:     m.Setup.Cylinder,
		Spring:       func(lift float64) float64 { return spring.ForceOf(m.Setup.Springs, lift) },
		OpenPressure: m.Setup.Water.Fill,
	}
}
