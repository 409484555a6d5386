package tables

import "slices"

// GaugeClass returns the error limit of a pressure gauge as a share of its span [-],
// from the class on its dial: "1.6". Source: EN 837-1.
func GaugeClass(class string) (float64, error) {
	t := get("gauge-classes")
	var known []string
	for row := range t.Rows {
		if t.text(row, "class") == class {
			return t.si(row, "error_pct"), nil
		}
		known = append(known, t.text(row, "class"))
	}
	return 0, unknown("gauge class", class, known)
}

// LengthInstrument is a caliper or a micrometer. The limits are plus or minus; a
// standard uncertainty is the limit over √3.
type LengthInstrument struct {
	Name   string  // kind and resolution
	To     float64 // longest length [m]
	Error  float64 // error limit outside [m]
	Inside float64 // error limit of inside and depth measurement [m]; 0 if it has none
	Source string  // standard
	Grade  Grade   // grade of evidence
}

// LengthInstruments returns calipers and micrometers with their error limits.
func LengthInstruments() []LengthInstrument {
	t := get("length-instruments")
	list := make([]LengthInstrument, len(t.Rows))
	for row := range list {
		list[row] = LengthInstrument{
			Name: t.text(row, "instrument"), To: t.si(row, "to_mm"),
			Error: t.si(row, "error_um"), Inside: t.si(row, "inside_um"),
			Source: t.Source, Grade: t.grade(row),
		}
	}
	return list
}

// Scale is a verified scale in use.
type Scale struct {
	Division float64 // e: scale division [kg]
	Load     float64 // m: mass on it [kg]
}

// ScaleError returns the error limit [kg], plus or minus, of a verified class III
// scale at a load, at first verification; in service twice that is allowed. Source:
// OIML R 76, to 10000 divisions. A kitchen scale is not verified: it may be off
// by two divisions and 0.2 % more.
func ScaleError(s Scale) (float64, error) {
	t := get("scale-classes")
	high := t.number(len(t.Rows)-1, "to_e") * s.Division
	row := slices.IndexFunc(t.numbers("to_e"), func(to float64) bool {
		return s.Division > 0 && s.Load >= 0 && s.Load <= to*s.Division*(1+sameSize)
	})
	if row < 0 {
		return 0, outside("scale: load", s.Load, "kg", 0, high)
	}
	return t.number(row, "error_e") * s.Division, nil
}
