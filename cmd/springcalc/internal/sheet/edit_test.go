package sheet

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"springcalc/cmd/springcalc/internal/demo"
)

// TestEdit: values change in their places, the rest stays to the letter.
func TestEdit(t *testing.T) {
	const before = "# head\n[spring]\nrate = \"27 N/mm ± 2 %\"  # bench\npreload = '700 N'\n#wire = \"7 mm\"     # by caliper\n\n[coffee]\ndose = \"14 g\"\n"
	for _, c := range []struct {
		sets, after string
	}{
		{"coffee.dose=15 g", strings.Replace(before, "14 g", "15 g", 1)},
		{"spring.rate=", strings.Replace(before, "rate =", "#rate =", 1)},
		{"spring.preload=710 N ± 5 N|spring.rate=28 N/mm", strings.Replace(strings.Replace(before, "'700 N'", "\"710 N ± 5 N\"", 1), "27 N/mm ± 2 %", "28 N/mm", 1)},
		{"spring.wire=7.1 mm", strings.Replace(before, "#wire = \"7 mm\"     #", "wire = \"7.1 mm\"                       #", 1)},
		{"spring.active_coils=12", strings.Replace(before, "'700 N'\n", "'700 N'\nactive_coils = 12\n", 1)},
		{"piston.bore=50 mm", before + "\n[piston]\nbore = \"50 mm\"\n"},
		{"pull.preinfusion=8 s", before + "\n[pull]\npreinfusion = \"8 s\"\n"},
		{"machine.name=the \"left\" group", before + "\n[machine]\nname = \"the \\\"left\\\" group\"\n"},
	} {
		got, whole, err := Edit([]byte(before), strings.Split(c.sets, "|"))
		if err != nil || !whole || string(got) != c.after {
			t.Errorf("%s: %v, %v\ngot:\n%s\nwant:\n%s", c.sets, whole, err, got, c.after)
		}
	}
}

// TestEditAnew: what has no line of its own is printed anew, and says so; what is
// faulty is not written at all.
func TestEditAnew(t *testing.T) {
	inline := []byte("spring = {rate = \"27 N/mm\", preload = \"700 N\"}\n")
	got, whole, err := Edit(inline, []string{"spring.preload="})
	if err != nil || whole || string(got) != "[spring]\nrate = \"27 N/mm\"\n" {
		t.Errorf("%q, %v, %v", got, whole, err)
	}
	if got, whole, err := Edit(inline, []string{"spring.rate=28 N/mm"}); err != nil || !whole || !strings.Contains(string(got), `{rate = "28 N/mm", preload`) {
		t.Errorf("%q, %v, %v", got, whole, err)
	}
	for _, bad := range []string{"spring.rate=28", "no.such=1", "spring.rate"} {
		if got, _, err := Edit(inline, []string{bad}); err == nil {
			t.Errorf("%s: wrote %q", bad, got)
		}
	}
}

// TestEditReadsBack: whatever is changed in whatever sheet, the written one reads
// the same as the overrides beside the old one.
func TestEditReadsBack(t *testing.T) {
	bases := [][]byte{nil, demo.Sheet, []byte(Blank()), []byte(strings.ReplaceAll(string(demo.Sheet), "\n", "\r\n")), []byte("[[pull]]\npreinfusion = \"5 s\"\n[[pull]]\npreinfusion = \"6 s\"")}
	rapid.Check(t, func(t *rapid.T) {
		data := rapid.SampledFrom(bases).Draw(t, "base")
		var sets []string
		for range rapid.IntRange(1, 5).Draw(t, "changes") {
			table := rapid.SampledFrom(Schema).Draw(t, "table")
			key := rapid.SampledFrom(table.Keys).Draw(t, "key")
			path := table.Path + "." + key.Name
			if table.many && strings.HasPrefix(string(data), "[["+table.Path) {
				path = Indexed(table.Path, 2) + "." + key.Name
			}
			sets = append(sets, path+"="+rapid.SampledFrom([]string{"", key.Example}).Draw(t, "value"))
		}
		var there []string
		for _, set := range sets {
			if !takesNothing(data, set) {
				there = append(there, set)
			}
		}
		want, err := Parse("sheet", data, there)
		if err != nil {
			t.Skip(err) // one of them contradicts another
		}
		edited, _, err := Edit(data, sets)
		if err != nil {
			t.Fatalf("%v: %v", sets, err)
		}
		if !sameValues(edited, want) {
			t.Fatalf("%v: reads otherwise:\n%s", sets, edited)
		}
	})
}

// TestEditRow: a row more, or one less, leaves all else as it was; and a row that was
// added can be filled in and taken out again.
func TestEditRow(t *testing.T) {
	const two = "# head\n[[lever.point]] # first\nangle = \"10 °\"\nlift = \"1 mm\"\n\n# second\n[[lever.point]]\nangle = \"20 °\"\n#lift = \"2 mm\"\n\n[water]\naltitude = \"10 m\"\n"
	for _, c := range []struct {
		before, table string
		n             int
		after         string
	}{
		{two, "lever.point", 1, "# head\n\n# second\n" + two[strings.LastIndex(two, "[[lever"):]},
		{two, "lever.point", 2, strings.Replace(two, "[[lever.point]]\nangle = \"20 °\"\n", "", 1)},
		{two, "lever.point", 0, strings.Replace(two, "\"20 °\"\n", "\"20 °\"\n\n[[lever.point]]\n", 1)},
		{two, "lever.pull", 0, two + "\n[[lever.pull]]\n"},
		{"[pull]\npreinfusion = \"5 s\"", "pull", 0, "[[pull]]\npreinfusion = \"5 s\"\n\n[[pull]]\n"},
		{"[pull]\npreinfusion = \"5 s\"\n[water]\n", "pull", 1, "[water]\n"},
		{"", "bench.load", 0, "\n[[bench.load]]\n"},
	} {
		if got, whole, err := EditRow([]byte(c.before), c.table, c.n); err != nil || !whole || string(got) != c.after {
			t.Errorf("%s %d: %v, %v\ngot:\n%s\nwant:\n%s", c.table, c.n, whole, err, got, c.after)
		}
	}
	if got, whole, err := EditRow([]byte("pull = [{preinfusion = \"5 s\"}, {preinfusion = \"6 s\"}]\n"), "pull", 1); err != nil || whole || !strings.Contains(string(got), "6 s") || strings.Contains(string(got), "5 s") {
		t.Errorf("%q, %v, %v", got, whole, err)
	}
	for _, bad := range []struct {
		table string
		n     int
	}{{"lever.point", 3}, {"lever.point", -1}, {"water", 0}, {"no.such", 0}} {
		if got, _, err := EditRow([]byte(two), bad.table, bad.n); err == nil {
			t.Errorf("%+v: wrote %q", bad, got)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		data := rapid.SampledFrom([][]byte{demo.Sheet, []byte(Blank()), []byte(two), []byte(strings.ReplaceAll(two, "\n", "\r\n"))}).Draw(t, "base")
		table := rapid.SampledFrom([]string{"lever.point", "lever.pull", "pull", "bench.load"}).Draw(t, "table")
		before, err := Parse("x", data, nil)
		if err != nil {
			t.Fatal(err)
		}
		more, _, err := EditRow(data, table, 0)
		if err != nil {
			t.Fatal(err)
		}
		n := before.Several[table] + 1
		key := FindTable(table).Keys[0]
		filled, _, err := Edit(more, []string{Indexed(table, n) + "." + key.Name + "=" + key.Example})
		if err != nil {
			t.Fatalf("%v\n%s", err, more)
		}
		less, _, err := EditRow(filled, table, n)
		if err != nil || !sameValues(less, before) {
			t.Fatalf("%v\n%s", err, less)
		}
	})
}
