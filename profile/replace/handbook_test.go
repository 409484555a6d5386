package replace

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"springcalc/spring"
)

// printed reports whether a value, rounded to the digits of a printed number, is that number.
func printed(got float64, book string) bool {
	want, err := strconv.ParseFloat(book, 64)
	if err != nil {
		panic(err)
	}
	_, decimals, _ := strings.Cut(book, ".")
	return strconv.FormatFloat(got, 'f', len(decimals), 64) == strconv.FormatFloat(want, 'f', len(decimals), 64)
}

// TestShigleyExample10_2 asks for the spring of Example 10-2 of Shigley: A228,
// 20 lbf after 2 in, closed and ground, a robust linearity of 0.15 and a safety
// of 1.2 at solid. In wire of 0.080 in it is to reappear among what fits. The
// book solves for index and coils instead of trying sizes, so the grid holds its
// solution (eq. 10-23 and 10-9) between round numbers.
func TestShigleyExample10_2(t *testing.T) {
	const force, travel = 20 * lbf, 2 * in
	w := musicWire(t, 0.080*in)
	w.Most, w.G, w.E = 0, 11.75e6*psi, 28.5e6*psi
	w.Solid.Safety = 1.2 * (1 - 1e-9) // the book's spring is at this limit; rounding must not lose it
	alpha := w.Solid.Criterion.Allowable(w.Tensile) / 1.2
	beta := spring.Compression{Wire: w.Diameter, Mean: w.Diameter}.Stress(1.15*force, spring.NoCorrection)
	half := (2*alpha - beta) / (4 * beta)
	mean := (half + math.Sqrt(half*half-3*alpha/(4*beta))) * w.Diameter
	active, err := spring.Compression{Wire: w.Diameter, Mean: mean, G: w.G}.CoilsFor(force / travel)
	if err != nil {
		t.Fatal(err)
	}
	s := Search{
		Job: Job{
			Requirement: Requirement{Rest: 0, Rate: force / travel, Stroke: travel, Begin: 0, Within: 0.5 * lbf},
			Space: Space{
				Bore: 1 * in, Slack: 0.05 * in, Installed: (active+2)*w.Diameter + 1.15*travel,
				Solid: 0.15 * travel * (1 - 1e-9), Celsius: 20, Support: spring.Support{Seating: spring.FixedFixed},
			},
			Limits: UsualLimits(),
		},
		Grid: Grid{
			Wires: []Wire{musicWire(t, 0.063*in), w, musicWire(t, 0.085*in)},
			Means: append(Steps(0.6*in, 0.9*in, 0.05*in), mean), Coils: append(Quarters(8, 12), active),
			Ends: []spring.Ends{spring.ClosedGround}, Convention: spring.US,
		},
		Order: DefaultOrder(),
	}
	found, err := s.Run()
	if err != nil {
		t.Fatal(err)
	}
	var c *Choice
	for i := range found.Best {
		if p := found.Best[i].Parts[0]; p.Coil.Mean == mean && p.Coil.Active == active && p.Coil.Wire == w.Diameter {
			c = &found.Best[i]
		}
	}
	if c == nil {
		t.Fatalf("%d springs fit, the book's is not among them", found.Fitting)
	}
	p, v := &c.Parts[0], &c.Verdict
	if v.Binding != StressSolid && v.Binding != Clearance {
		t.Errorf("%v binds with %g", v.Binding, v.Least)
	}
	solid := v.Checks[StressSolid]
	for _, row := range []struct {
		what string
		got  float64
		book string
	}{
		{"Ssy, psi", solid.Have / psi, "130455"},
		{"C", p.Coil.Index(), "10.53"},
		{"D, in", 10.53 * p.Coil.Wire / in, "0.8424"}, // the book goes on from C rounded to 10.53
		{"KB", spring.Bergstrasser.K(p.Coil.Index()), "1.128"},
		{"τs, kpsi", solid.Need / w.Solid.Safety / psi / 1e3, "108.7"},
		{"ns", solid.Have / (solid.Need / w.Solid.Safety), "1.2"},
		{"OD, in", p.Outer / in, "0.923"},
		{"Na", p.Coil.Active, "10.05"},
		{"Nt", p.Coil.Total, "12.05"},
		{"Ls, in", p.Solid / in, "0.964"},
		{"L0, in", p.Free / in, "3.264"},
		{"ξ", v.Checks[Clearance].Have / travel, "0.15"},
		{"fom", p.Coil.FigureOfMerit(2.6) / math.Pow(in, 3), "-0.417"},
	} {
		if !printed(row.got, row.book) {
			t.Errorf("%s: got %.6g, the book prints %s", row.what, row.got, row.book)
		}
	}
	// The order sheet of the book's spring carries what the book prints.
	sheet, err := s.Draw(p, 2)
	if err != nil {
		t.Fatal(err)
	}
	items := map[string]float64{}
	for _, i := range sheet.Items {
		items[i.Symbol] = i.Value
	}
	for _, row := range []struct {
		symbol string
		unit   float64
		book   string
	}{
		{"d", in, "0.080"}, {"De", in, "0.923"}, {"w", 1, "10.53"}, {"n", 1, "10.05"}, {"nt", 1, "12.05"},
		{"L0", in, "3.264"}, {"Lc", in, "0.964"}, {"F2", lbf, "20"}, {"R", lbf / in, "10"},
	} {
		if got := items[row.symbol] / row.unit; !printed(got, row.book) {
			t.Errorf("order sheet, %s: got %.6g, the book prints %s", row.symbol, got, row.book)
		}
	}
}

// TestBhandariExample10_19 judges the nest of Bhandari Ex. 10.19 as a found pair:
// outer 6, 36, 10 coils; inner 5, 30, 8 coils, 15 mm shorter; 1000 N at 24.98884 mm
// of the outer one.
func TestBhandariExample10_19(t *testing.T) {
	const g, free = 81370e6, 150 * mm
	part := func(wire, mean, active, short float64) Part {
		w := musicWire(t, wire*mm)
		w.Softening, w.G, w.E = 0, g, 206e9
		return PartOf(spring.Compression{
			Wire: wire * mm, Mean: mean * mm, Active: active, Total: active + 2, Free: free - short*mm,
			Ends: spring.ClosedGround, Convention: spring.US, G: g, E: 206e9, Density: 7850,
		}, &w)
	}
	nest := []Part{part(6, 36, 10, 0), part(5, 30, 8, 15)}
	space := Space{Installed: free, Celsius: 20}
	lines := space.Lines(nest)
	const lift = 24.98884 * mm
	for i, book := range []string{"706.0215", "293.9785"} {
		// The lift is rounded to 5 decimals of a mm, which is 1 in 5 million.
		if got := lines[i].Force(lift); math.Abs(got-mustParse(t, book)) > 1e-4*1.5 {
			t.Errorf("P%d: got %.4f N, the book %s", i+1, got, book)
		}
	}
	if sum := spring.ForceOf(lines, lift); !printed(sum, "1000.000") {
		t.Errorf("sum %.4f N, want 1000", sum)
	}
}

func mustParse(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}
