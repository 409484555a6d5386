package machine_test

import (
	"fmt"
	"math"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile"
)

// TestHandleThroughLinkage: by virtual work a handle of mass m whose weight acts
// at r from the pivot, leaning by φ from upright, puts m g r sin φ/(d/2) on the
// piston of a pinion of diameter d, against the spring; a stated force stands in
// its place.
func TestHandleThroughLinkage(t *testing.T) {
	m := testsheet.Build(t, string(demo.Sheet), "lever.handle_mass=600 g", "lever.handle_centre=130 mm", "lever.handle_lean=20°")
	const radius = 17e-3 // of the pinion [m]
	stroke := m.Setup.Cylinder.Stroke
	for i := range 9 {
		lift := stroke * float64(i) / 8
		lean := 20*math.Pi/180 + lift/radius
		want := -0.6 * profile.Gravity * 0.130 * math.Sin(lean) / radius
		if got := m.Setup.Handle.Force(lift); math.Abs(got/want-1) > 0.01 {
			t.Errorf("at a lift of %g m %g N, want %g N", lift, got, want)
		}
	}
	if s := testsheet.Build(t, string(demo.Sheet), "piston.handle_force=30 N").Setup; s.Handle.Force(0) != -30 || s.Handle.Force(stroke) != -30 {
		t.Errorf("stated as 30 N: %v", s.Handle)
	}
}

// TestMeasuredLeverReachesTheStroke: points that lift the piston further, or less far,
// than it travels are of another piston, and the sheet is asked again.
func TestMeasuredLeverReachesTheStroke(t *testing.T) {
	cam := testsheet.Lossless + "[lever]\nhandle_length = \"260 mm\"\nkind = \"measured\"\n" +
		"point = [{angle = \"5°\", lift = \"1 mm\"}, {angle = \"40°\", lift = \"12 mm\"}, {angle = \"95°\", lift = \"25 mm\"}, {angle = \"100°\", lift = \"24.8 mm\"}]\n"
	for stroke, says := range map[string]string{
		"24 mm": "", "23.5 mm": "", "24.5 mm": "", "22 mm ± 2.5 mm": "",
		"20 mm": `--set piston.stroke: "20 mm": the points of the lever lift the piston by 24.0 mm; from rest to cocked both are the same way`,
		"30 mm": `--set piston.stroke: "30 mm": the points of the lever lift the piston by 24.0 mm; from rest to cocked both are the same way`,
	} {
		_, err := testsheet.Build(t, cam, "piston.stroke="+stroke).Lever()
		if got := fmt.Sprint(err); says == "" && err != nil || says != "" && got != says {
			t.Errorf("%s: %v", stroke, got)
		}
	}
}
