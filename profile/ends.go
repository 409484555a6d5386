package profile

// PeakPressure returns the gauge pressure [Pa] at which water begins to move in the
// first pull of a setup: the highest of its shot, whatever the bed.
func (s *Setup) PeakPressure() float64 {
	d := newDrive(s, s.AirAtClosing(&s.Pulls[0]))
	z, _ := d.closing()
	return d.pressure(z)
}

// EndPressure returns the gauge pressure [Pa] when the springs of a setup have
// pushed the piston to the end of its stroke.
func (s *Setup) EndPressure() float64 {
	d := newDrive(s, s.AirAtClosing(&s.Pulls[0]))
	return d.pressure(s.Cylinder.Stroke)
}
