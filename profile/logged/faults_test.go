package logged

import (
	"encoding/binary"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"springcalc/profile"
)

// goodLog is a log that can be read, with its sheet.
func goodLog() (Log, *truth, *profile.Setup, Options) {
	rng := rand.New(rand.NewPCG(2, 2))
	m, s, o := sound(rng)
	m.every, m.stepP, m.wildEvery, m.before = 0.2, 0, 0, 3
	return m.log(rng), m, s, o
}

// TestBadLogs: each log that cannot answer says why.
func TestBadLogs(t *testing.T) {
	good, _, s, o := goodLog()
	each := func(f func(r *Row)) Log {
		l := append(Log(nil), good...)
		for i := range l {
			f(&l[i])
		}
		return l
	}
	at := func(i int, f func(r *Row)) Log {
		l := append(Log(nil), good...)
		f(&l[i])
		return l
	}
	window := func(from, to float64) Options {
		w := o
		w.From, w.To = from, to
		return w
	}
	for _, c := range []struct {
		name string
		log  Log
		opt  Options
		want error
		says string
	}{
		{"empty", nil, o, ErrRows, "0, want 10"},
		{"nine rows", good[:9], o, ErrRows, "9, want 10"},
		{"clock back", at(50, func(r *Row) { r.Time = 1 }), o, ErrClock, "row 51 is at 1 s"},
		{"clock still", each(func(r *Row) { r.Time = 4 }), o, ErrClock, "still at 4 s"},
		{"no clock", at(3, func(r *Row) { r.Time = missing }), o, ErrRows, "row 4"},
		{"infinite", at(3, func(r *Row) { r.Pressure = math.Inf(1) }), o, ErrRows, "row 4"},
		{"huge", at(3, func(r *Row) { r.Cup = 1e200 }), o, ErrRows, "row 4"},
		{"no volume", each(func(r *Row) { r.Cup = missing }), o, ErrVolume, "neither"},
		{"no pressure", each(func(r *Row) { r.Pressure = missing }), o, ErrRows, "fewer than 10"},
		{"pump", each(func(r *Row) { r.Pressure = 9 * bar }), o, ErrSteady, "pump"},
		{"vacuum", each(func(r *Row) { r.Pressure = -1 }), o, ErrSteady, "never above 0"},
		{"nothing in the cup", each(func(r *Row) { r.Cup = 0 }), o, ErrFall, "nothing runs"},
		{"window back", good, window(20, 10), ErrWindow, "before its start"},
		{"window empty", good, window(9000, 9001), ErrRows, "0 of them"},
		{"bad option", good, Options{Unsure: Unsure{Air: -1}}, ErrInput, "Options.Unsure.Air is -1 m³"},
	} {
		line, err := ReadLine(c.log, s, c.opt)
		if line != nil || !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %v with %q", c.name, err, c.want, c.says)
		}
	}
	wrong := *s
	wrong.Cylinder.Bore = -1
	if _, err := ReadLine(good, &wrong, o); !errors.Is(err, profile.ErrSetup) {
		t.Errorf("a bore below 0: %v", err)
	}
}

// TestWithheld: a lever that is held, a seal that sticks: no number beside a doubt.
func TestWithheld(t *testing.T) {
	good, _, s, o := goodLog()
	line, err := ReadLine(good, s, o)
	if err != nil || line.Withheld != "" {
		t.Fatal(err, line)
	}
	mid := (line.Window.From + line.Window.To) / 2
	half := (line.Window.To - line.Window.From) / 2
	for name, f := range map[string]func(r *Row){
		"lever held for a while": func(r *Row) {
			if math.Abs(r.Time-mid) < half/3 {
				r.Pressure -= 0.3 * line.Fall
			}
		},
		"seal sticks and slips": func(r *Row) {
			if r.Time > line.Window.From {
				r.Pressure += 0.15 * line.Fall * math.Sin(4*math.Pi*(r.Time-mid)/half)
			}
		},
		"bent": func(r *Row) {
			u := (r.Time - mid) / half
			if u > -1 {
				r.Pressure -= 0.25 * line.Fall * (1 - u*u)
			}
		},
	} {
		l := append(Log(nil), good...)
		for i := range l {
			f(&l[i])
		}
		got, err := ReadLine(l, s, o)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		t.Logf("%s: %s", name, got.Withheld)
		if got.Withheld == "" {
			t.Errorf("%s: told all the same: rate %.3g", name, got.Rate.Value)
			continue
		}
		if got.Rate != (Reading{}) || got.Raw.Slope != (Reading{}) || got.Wide != (Forces{}) || len(got.Presumes) != 0 {
			t.Errorf("%s: withheld numbers are told", name)
		}
		finite(t, got)
	}
}

// finite reports numbers of a line that are none.
func finite(t *testing.T, line *Line) {
	t.Helper()
	for _, v := range []float64{
		line.Rate.Value, line.Rate.Low, line.Rate.High, line.Rate.Own, line.Cocked.Low, line.Cocked.High, line.Rest.Low, line.Rest.High,
		line.Wide.Rate.Low, line.Wide.Cocked.High, line.Wide.Rest.Low, line.Cov[0][0], line.Cov[1][2], line.Cov[2][2],
		line.Raw.Intercept.Value, line.Raw.Slope.Value, line.Raw.Cov[0][1], line.Raw.Bow.Value, line.Raw.Bow.Low, line.Raw.PerAir[0], line.Raw.PerAir[1],
		line.Scatter, line.Fall, line.Release, line.Ended, line.Duration, line.Peak.Value, line.Peak.Low, line.End.Value, line.End.Low, line.Yield, line.Zero.Low,
		line.Tail.Air.Value, line.Tail.Air.Low, line.Tail.Flow, line.Puck.Resistance, line.Puck.Low, line.Puck.High,
	} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("not a number in %+v", *line)
		}
	}
}

// FuzzReadLine: any rows give an error or finite numbers. The bytes change a good log.
func FuzzReadLine(f *testing.F) {
	good, _, s, o := goodLog()
	f.Add([]byte{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11})
	f.Add([]byte("\x10\x00\x01\xff\xf0\x7f"))
	f.Fuzz(func(t *testing.T, data []byte) {
		l := append(Log(nil), good...)
		for len(data) >= 4 {
			i := int(binary.LittleEndian.Uint16(data)) % len(l)
			v := float64(int8(data[3])) * math.Pow(10, float64(data[2]>>3%12)-6)
			for k := range int(data[2]&7)*8 + 1 {
				r := &l[(i+k)%len(l)]
				switch data[2] >> 5 {
				case 0:
					r.Pressure = v * 1e5
				case 1:
					r.Cup = v
				case 2:
					r.Travel = v
				case 3:
					r.Pressure = missing
				case 4:
					r.Cup = missing
				case 5:
					r.Pressure += v
				case 6:
					r.Time += v
				case 7:
					l = l[:max(1, len(l)-i/4)]
					i = 0
				}
			}
			data = data[4:]
		}
		line, err := ReadLine(l, s, o)
		if err == nil {
			finite(t, line)
		}
		Same(l, good)
	})
}
