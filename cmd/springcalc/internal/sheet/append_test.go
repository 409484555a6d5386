package sheet_test

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	. "springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
)

var today = Date{2031, 5, 4}

// visit is a visit as the command would append it.
func visit(pairs ...string) (values []Value) {
	for i := 0; i < len(pairs); i += 2 {
		values = append(values, Value{Name: pairs[i], Text: pairs[i+1], From: "--" + pairs[i]})
	}
	return values
}

// TestAppendVisit: the new table stands behind the old text in its own way of
// ending lines.
func TestAppendVisit(t *testing.T) {
	values := visit("peak", "7.9 bar", "date", "2031-05-04", "done", "new seals", "note", "a \"quote\", a \\ and\na line")
	const table = "[[visit]]\ndate = \"2031-05-04\"\npeak = \"7.9 bar\"\ndone = \"new seals\"\nnote = \"a \\\"quote\\\", a \\\\ and\\na line\"\n"
	dos := strings.ReplaceAll(testsheet.Minimal, "\n", "\r\n")
	for old, between := range map[string]string{
		testsheet.Minimal:                    "\n",
		strings.TrimSpace(testsheet.Minimal): "\n\n",
		testsheet.Minimal + "# end":          "\n\n",
		testsheet.Minimal + "\n  ":           "\n\n",
		"\ufeff" + testsheet.Minimal:         "\n",
		dos:                                  "\r\n",
		strings.TrimSpace(dos):               "\r\n\r\n",
		testsheet.Minimal + "[[visit]]\ndate = 2030\n  note = 'x'": "\n\n",
	} {
		want := table
		if strings.Contains(between, "\r") {
			want = strings.ReplaceAll(table, "\n", "\r\n")
		}
		got, err := AppendVisit("mine.toml", []byte(old), values, today)
		if err != nil || string(got) != old+between+want {
			t.Errorf("%q:\ngot  %q, %v\nwant %q", old, got, err, old+between+want)
		}
	}
}

// TestAppendVisitRefuses what cannot be, naming the flag, and what would not read.
func TestAppendVisitRefuses(t *testing.T) {
	for _, c := range []struct {
		text  string
		visit []Value
		want  string
		use   bool // of the command, not of the sheet
	}{
		{testsheet.Minimal, visit("date", "2031", "peak", "7.9"), `--peak: "7.9": has no unit; write it as "7.9 bar"`, true},
		{testsheet.Minimal, visit("date", "2031", "peak", "-7 bar", "done", "x"), "2 errors in the flags\n--done: \"x\": want seal, ", true},
		{testsheet.Minimal, visit("date", "2031-05-05", "peak", "7 bar"), `--date: "2031-05-05": after today, 2031-05-04`, true},
		{testsheet.Minimal, visit("date", "2032", "peak", "7 bar"), `--date: "2032": after today, 2031-05-04`, true},
		{testsheet.Minimal, visit("date", "2031-05", "peak", "7 bar", "note", " "), `--note: " ": want text, such as`, true},
		{testsheet.Minimal, visit("date", "2031-05"), `mine.toml: visit[1]: says nothing but its date`, true},
		{testsheet.Minimal, visit("date", "2031-05", "gauge_true", "9 bar"), `--gauge_true: "9 bar": stated without gauge_reading`, true},
		{testsheet.Minimal, visit("date", "2031-05", "note", "\xff"), "mine.toml: nothing was written, as it would not read back: --note: \"\\xff\" would change", false},
		{testsheet.Minimal + "dose = 3\n", visit("date", "2031-05", "note", "x"), "nothing was written, as the sheet does not read: mine.toml:12:1: coffee.dose: key dose is already defined", false},
		{testsheet.Minimal + "[visit]\ndate = 2030\nnote = \"x\"\n", visit("date", "2031-05", "note", "x"), "nothing was written, as a [[visit]] behind this sheet would not read: 3 errors in the machine sheet\nmine.toml:16:3: key visit already exists as a table", false},
		{"visit = [{date = 2030, note = \"x\"}]\n" + testsheet.Minimal, visit("date", "2031-05", "note", "x"), "nothing was written, as a [[visit]] behind this sheet would not read: 3 errors in the machine sheet\nmine.toml:14:3: key visit already exists as a value", false},
		{testsheet.Minimal + "[new]\ndate = 2030\n", visit("date", "2029", "note", "x"), "nothing was written, as a [[visit]] behind this sheet would not read: mine.toml:13:8: new.date: 2030: after the first visit, 2029", false},
	} {
		got, err := AppendVisit("mine.toml", []byte(c.text), c.visit, today)
		if got != nil || err == nil || !strings.HasPrefix(err.Error(), c.want) || errors.Is(err, ErrUse) != c.use {
			t.Errorf("%v:\ngot  %v\nwant %s", c.visit, err, c.want)
		}
	}
}

// TestAppendThousandVisits: comments, order and spacing of the rest stay byte for
// byte, and all visits read back: two hundred to each of five odd sheets, and one
// to a sheet that has a thousand.
func TestAppendThousandVisits(t *testing.T) {
	odd := "# mine\n\n\n" + strings.ReplaceAll(testsheet.Minimal, " = ", "\t=   ") + "  # 14, not 15\n\n[machine] # end\nname = '''\n two\n lines'''\n\n\n"
	append1 := func(data []byte, i int) []byte {
		t.Helper()
		after, err := AppendVisit("mine.toml", data, visit("date", fmt.Sprint(1900+i/10), "peak", fmt.Sprintf("%.3f bar", 9-0.001*float64(i))), today)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.HasPrefix(after, data) {
			t.Fatalf("visit %d changed what was there", i+1)
		}
		return after
	}
	for _, text := range []string{odd, strings.ReplaceAll(odd, "\n", "\r\n"), "\ufeff" + odd, odd + "# no end", odd + "[new]\n\tpeak = \"9 bar\"   "} {
		data := []byte(text)
		const many = 200
		for i := range many {
			data = append1(data, i)
		}
		visits := testsheet.Read(t, string(data)).Visits()
		if !strings.HasPrefix(string(data), text) || len(visits) != many || visits[0].Date.Year != 1900 || visits[many-1].Date.Year != 1919 {
			t.Errorf("%d visits", len(visits))
		}
	}
	long := odd
	for i := range 1000 {
		long += fmt.Sprintf("[[visit]] # %d\ndate = %d\n  peak = \"8 bar\"\n", i, 1900+i/10)
	}
	if s := testsheet.Read(t, string(append1([]byte(long), 1000))); len(s.Visits()) != 1001 {
		t.Errorf("%d visits", len(s.Visits()))
	}
}

// FuzzAppendVisit: whatever the sheet and the visit, either nothing is written or
// the old text stands before the new, and reads as it did with one visit more.
func FuzzAppendVisit(f *testing.F) {
	f.Add(testsheet.Minimal, "7.9 bar", "new seals", "a note")
	f.Add(testsheet.Minimal+"# no end", "115 psi ± 2 %", "shim 1/8 in", "\"\\\x7f\u2028")
	f.Add("\ufeff"+strings.ReplaceAll(testsheet.Minimal, "\n", "\r\n")+visits, "7 bar", "", "")
	f.Add(testsheet.Minimal+"[visit]\nx = 1\n", "7 bar", "", "x")
	f.Add(testsheet.Minimal+"note = '''\n[[visit]]", "7 bar", "gauge", "'''")
	f.Add(testsheet.Minimal+"[[visit]]\nnote = \"x\"\n[visit.a]\r", "7 bar", "gauge", "\r\n[[visit]]")
	f.Fuzz(func(t *testing.T, text, peak, done, note string) {
		values := visit("date", "2030")
		for _, v := range visit("peak", peak, "done", done, "note", note) {
			if v.Text != "" {
				values = append(values, v)
			}
		}
		data, err := AppendVisit("fuzz.toml", []byte(text), values, today)
		if err != nil {
			if data != nil || len(err.Error()) < 10 {
				t.Fatalf("%q and %v", data, err)
			}
			return
		}
		if !bytes.HasPrefix(data, []byte(text)) {
			t.Fatalf("%q became %q", text, data)
		}
		before, err := Read("before.toml", []byte(text), nil)
		if err != nil {
			t.Fatal(err)
		}
		after, err := Read("after.toml", data, nil)
		if err != nil {
			t.Fatal(err)
		}
		last := Indexed("visit", after.Several["visit"])
		if after.Several["visit"] != before.Several["visit"]+1 || after.Text(last+".note") != strings.TrimSpace(note) || after.Text(last+".done") != strings.TrimSpace(done) {
			t.Fatalf("%q: visit %v", data, after.Visits())
		}
		for path, e := range before.Entries {
			if got := after.Entries[path]; got.Text != e.Text || got.Quantity != e.Quantity || got.At != e.At {
				t.Fatalf("%s: %v became %v", path, e, got)
			}
		}
	})
}
