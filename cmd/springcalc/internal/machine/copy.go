package machine

import "springcalc/spring"

// CoilAsNew returns the spring that a table describes as it was made, at 20 °C: with
// what [new] states of the first. ok is false where that is impossible, which is noted.
func (m *Machine) CoilAsNew(table string) (c spring.Compression, ok bool) {
	c, _, ok = m.AtRoom(table)
	if !ok || table != "spring" {
		return c, ok
	}
	c = m.made(c)
	before := len(m.Faults)
	m.faultsFrom("new.free_length", c.Validate())
	return c, len(m.Faults) == before
}

// made is a spring with what [new] states of it.
func (m *Machine) made(c spring.Compression) spring.Compression {
	c.Free, c.Wire = m.ValueOr("new.free_length", c.Free), m.ValueOr("new.wire", c.Wire)
	if m.Has("new.active_coils") {
		dead := c.Total - c.Active
		c.Active = m.Value("new.active_coils")
		c.Total = c.Active + dead
	}
	return c
}
