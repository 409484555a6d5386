package answer

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
)

// inWorkshop is a machine of a sheet in memory.
func inWorkshop(name, text string) InWorkshop {
	return InWorkshop{Name: name, Read: func() (*machine.Machine, error) { return machine.Read(name+".toml", []byte(text), nil) }}
}

// yearly writes a visit a year from 2011 on.
func yearly(bars ...float64) string {
	text := testsheet.Minimal + "[new]\ndate = 2010\npeak = \"9 bar\"\n"
	for i, bar := range bars {
		text += fmt.Sprintf("[[visit]]\ndate = \"%d-03\"\npeak = \"%.2f bar\"\n", 2011+i, bar)
	}
	return text
}

// sheetsOf are the names in the order of an answer.
func sheetsOf(r *report.Report) (names []string) {
	for _, line := range r.Table("machines").Data {
		names = append(names, line[0].(string))
	}
	return names
}

// TestWorkshop: below the limit comes first, by how far; then what is to be read
// now; then by date; sheets that give no answer last; alike ones by name.
func TestWorkshop(t *testing.T) {
	sound := yearly(8.9, 8.9, 8.8, 8.9, 8.8)
	list := []InWorkshop{
		inWorkshop("m10", sound), inWorkshop("m2", sound),
		inWorkshop("broken", "x = 1\n"), inWorkshop("none", testsheet.Minimal),
		inWorkshop("low", yearly(8.6, 8.2, 7.7, 7.2, 6.8)), inWorkshop("lower", yearly(8.6, 8.0, 7.2, 6.5, 5.9)),
		inWorkshop("repaired", sound+"[[visit]]\ndate = \"2015-05\"\ndone = \"seal\"\n"),
		inWorkshop("mended", yearly(8.6, 8.2, 7.7, 7.2, 6.8)+"[[visit]]\ndate = \"2015-05\"\ndone = \"seal\"\n[[visit]]\ndate = 2051\npeak = \"8 bar\"\n"),
		inWorkshop("soon", yearly(8.8, 8.5, 8.2, 7.9, 7.6)),
		{Name: "away", Read: func() (*machine.Machine, error) { return nil, errors.New("no such file") }},
	}
	want := []string{"lower", "low", "none", "mended", "repaired", "soon", "m2", "m10", "away", "broken"}
	r := rand.New(rand.NewPCG(1, 2))
	for range 3 {
		answer, err := Workshop(context.Background(), list, WorkshopOptions{AsOf: day(t, "2015-06-01")})
		if err != nil {
			t.Fatal(err)
		}
		if got := sheetsOf(answer); !slices.Equal(got, want) {
			t.Errorf("%v, want %v", got, want)
		}
		if text := tells(answer.Answer); text != "2 machines below what is still wanted, 3 to be read now and 2 sheets without an answer. Most urgent: lower, 5.90 bar where 7.20 bar is still wanted." {
			t.Errorf("%q", text)
		}
		if text := tells(answer.Doubts); !strings.Contains(text, "sheet broken: ") || !strings.Contains(text, "the first broken.toml:1:1: x: unknown table") || !strings.Contains(text, "sheet away: no such file") ||
			!strings.Contains(text, "sheet mended: left out, as it lies after today: 2051; is the date right?") {
			t.Errorf("%q", text)
		}
		r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	}
}

// TestWorkshopLine: the line of a machine has the numbers of its own history.
func TestWorkshopLine(t *testing.T) {
	o := HistoryOptions{AsOf: day(t, "2015-06-01"), Limit: Limit{Share: 0.7}}
	answer, err := Workshop(context.Background(), []InWorkshop{inWorkshop("one", yearly(8.8, 8.5, 8.2, 7.9, 7.6))}, WorkshopOptions{AsOf: o.AsOf, Limit: o.Limit})
	if err != nil {
		t.Fatal(err)
	}
	own := history(t, testsheet.Build(t, yearly(8.8, 8.5, 8.2, 7.9, 7.6)), o)
	table := answer.Table("machines")
	cell := func(key string) any {
		return table.Data[0][slices.IndexFunc(table.Columns, func(c report.Column) bool { return c.Key == key })]
	}
	for key, row := range map[string]string{"peak": "last_reading", "trend": "trend", "limit": "limit", "below_now": "below_now"} {
		if cell(key) != own.Row(row).Value {
			t.Errorf("%s: %v, in the history %g", key, cell(key), own.Row(row).Value)
		}
	}
	if cell("passes") != own.Row("passes").Text || cell("next") != own.Row("look_again").Text || cell("last_visit") != "2015-03" || cell("likeliest") != "seal" {
		t.Errorf("%v", table.Data[0])
	}
	if p := cell("probability").(float64); !(p > 0.6 && p < 0.88+1e-9) { // of wear 0.22 of 0.25 is the seal's
		t.Errorf("probability %g", p)
	}
}

// TestWorkshopOfMany: each machine is asked once, progress is told of each, a stop
// stops, and the answer does not depend on who was ready first.
func TestWorkshopOfMany(t *testing.T) {
	var list []InWorkshop
	r := rand.New(rand.NewPCG(3, 4))
	for i := range 60 {
		bars := []float64{8.9}
		for range 4 {
			bars = append(bars, bars[len(bars)-1]-0.2*r.Float64())
		}
		list = append(list, inWorkshop(fmt.Sprintf("m%d", i), yearly(bars...)))
	}
	told := 0
	first, err := Workshop(context.Background(), list, WorkshopOptions{AsOf: day(t, "2016"), Progress: func(done, total int) {
		if told++; done != told || total != len(list) {
			t.Errorf("%d of %d, want %d of %d", done, total, told, len(list))
		}
	}})
	if err != nil || told != len(list) {
		t.Fatalf("%v after %d", err, told)
	}
	names := sheetsOf(first)
	slices.Sort(names)
	if len(slices.Compact(names)) != len(list) {
		t.Errorf("%d machines", len(names))
	}
	slices.Reverse(list)
	second, err := Workshop(context.Background(), list, WorkshopOptions{AsOf: day(t, "2016")})
	if err != nil || !slices.Equal(sheetsOf(first), sheetsOf(second)) {
		t.Errorf("%v: another order", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	_, err = Workshop(ctx, list, WorkshopOptions{AsOf: day(t, "2016"), Progress: func(done, _ int) {
		if done == 3 {
			stop()
		}
	}})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

// BenchmarkWorkshop is one machine of ten readings among many, all processors at work.
func BenchmarkWorkshop(b *testing.B) {
	var list []InWorkshop
	for i := range 100 {
		list = append(list, inWorkshop(fmt.Sprint(i), worn()))
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Workshop(context.Background(), list, WorkshopOptions{AsOf: sheet.Date{Year: 2023}}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N*len(list)), "ms/machine")
}
