package page

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"html"
	"io/fs"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"pgregory.net/rapid"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/render"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/testsheet"
)

func init() { _ = flag.Set("rapid.seed", "1") }

// host is what the tests call the page.
const host = "127.0.0.1:9"

// memory is a sheet that is kept in memory.
type memory struct {
	data  []byte
	there bool
}

func (m *memory) Name() string { return "mine.toml" }
func (m *memory) Load() ([]byte, error) {
	if !m.there {
		return nil, fs.ErrNotExist
	}
	return m.data, nil
}
func (m *memory) Save(old, changed []byte, over bool) error {
	if !over && !bytes.Equal(old, m.data) {
		return ErrChanged
	}
	m.data, m.there = changed, true
	return nil
}

var fewDraws = spread.Options{Draws: 500, Seed: 3}

func handler(store Store) http.Handler {
	return Handler(Options{Store: store, Hosts: []string{host}, Spread: fewDraws})
}

// post asks as the page does.
func post(h http.Handler, path string, body any) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", "http://"+host+path, bytes.NewReader(mustJSON(body)))
	r.Header.Set("Origin", "http://"+host)
	r.Header.Set("Content-Type", "application/json")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func mustJSON(v any) []byte {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return b
}

// asks posts and reads the answer into what it should be.
func asks[Out any](t testing.TB, h http.Handler, path string, body any) (out Out) {
	t.Helper()
	w := post(h, path, body)
	text := w.Body.Bytes() // the answer stands behind lines that say how far it is
	if err := json.Unmarshal(text[bytes.LastIndexByte(text, '\n')+1:], &out); w.Code != 200 || err != nil {
		t.Fatalf("%s: status %d, %v: %s", path, w.Code, err, w.Body)
	}
	return out
}

var (
	figureOf = regexp.MustCompile(`(?s)^(\w+)">.*?<b>([^<]*)</b>`)
	bandOf   = regexp.MustCompile(`(-?[\d.]+) to (-?[\d.]+)`)
	tableOf  = regexp.MustCompile(`(?s)<table data-table="(\w+)">.*?<tbody>(.*?)</tbody>`)
	cellOf   = regexp.MustCompile(`<t[dh][^>]*>([^<]*)`)
	numberOf = regexp.MustCompile(`^-?\d+(\.\d+)?$`)
)

// figuresIn are the numbers of rows: key, number, and all that is written of it.
func figuresIn(fragment string) (all [][]string) {
	for _, part := range strings.Split(fragment, `data-key="`)[1:] {
		part, _, _ = strings.Cut(part, "<details")
		part, _, _ = strings.Cut(part, "</dl>")
		if m := figureOf.FindStringSubmatch(part); m != nil {
			all = append(all, append(m, part))
		}
	}
	return all
}

// rounds says whether a value is a printed number to every digit of it.
func rounds(v any, printed string) bool {
	f, ok := v.(float64)
	_, after, _ := strings.Cut(printed, ".")
	return ok && strings.TrimPrefix(quantity.Display{}.Number(f, len(after)), "-") == strings.TrimPrefix(printed, "-")
}

// oneTruth compares all that a page shows with the JSON of the terminal.
func oneTruth(t *testing.T, a answered, object map[string]any) {
	t.Helper()
	shown := 0
	for _, m := range figuresIn(strings.ReplaceAll(a.Figures, `<span class="long">95 %: </span>`, "") + a.Rest) {
		key := m[1]
		for k := range object { // the key with its unit is the shortest that begins so
			if _, number := object[k].(float64); number && strings.HasPrefix(k, m[1]+"_") && (key == m[1] && object[key] == nil || len(k) < len(key)) {
				key = k
			}
		}
		if !rounds(object[key], m[2]) {
			t.Errorf("%s is %s on the page and %v in JSON", m[1], m[2], object[key])
		}
		if b := bandOf.FindStringSubmatch(m[3]); b != nil && !(rounds(object[key+"_low"], b[1]) && rounds(object[key+"_high"], b[2])) {
			t.Errorf("%s is from %s to %s on the page and %v to %v in JSON", m[1], b[1], b[2], object[key+"_low"], object[key+"_high"])
		}
		shown++
	}
	if shown < 4 {
		t.Errorf("only %d numbers on the page", shown)
	}
	for _, m := range tableOf.FindAllStringSubmatch(a.Rest, -1) {
		rows, ok := object[m[1]].([]any)
		printed := strings.Split(strings.TrimSpace(m[2]), "</tr>")
		if printed = printed[:len(printed)-1]; !ok || len(printed) > len(rows) || len(printed) == 0 {
			t.Errorf("table %s has %d rows on the page and %d in JSON", m[1], len(printed), len(rows))
			continue
		}
		for i, row := range printed {
			values := rows[i].(map[string]any)
			for _, c := range cellOf.FindAllStringSubmatch(row, -1) {
				if !numberOf.MatchString(c[1]) {
					continue
				}
				found := false
				for _, v := range values {
					found = found || rounds(v, c[1]) || v == c[1]
				}
				if !found {
					t.Errorf("%s of table %s is in none of %v", c[1], m[1], values)
				}
			}
		}
	}
	var said []string
	for _, s := range object["answer"].([]any) {
		said = append(said, s.(string))
	}
	if lead := strings.Join(said, " "); !strings.Contains(html.UnescapeString(a.Lead), lead) {
		t.Errorf("the page says %q and JSON %q", a.Lead, lead)
	}
	charts, err := json.Marshal(append([]any{}, a.Charts...))
	if err != nil {
		t.Fatal(err)
	}
	var drawn any
	if err := json.Unmarshal(charts, &drawn); err != nil || !reflect.DeepEqual(drawn, object["charts"]) {
		t.Errorf("other curves on the page than in JSON (%v):\n%.500s\n%.500v", err, charts, object["charts"])
	}
}

// randomSheet is the demo machine with some values changed.
func randomSheet(rng *rand.Rand) string {
	between := func(low, high float64, unit string) string {
		return strconv.FormatFloat(math.Round((low+(high-low)*rng.Float64())*100)/100, 'f', -1, 64) + unit
	}
	values := map[string]string{
		"spring.free_length": between(150, 190, " mm ± 0.4 mm"), "spring.wire": between(6.6, 7.2, " mm"), "piston.bore": between(44, 58, " mm ± 0.1 mm"),
		"piston.stroke": between(15, 22, " mm"), "piston.friction": between(0, 60, " N ± 10 N"), "coffee.dose": between(9, 20, " g ± 0.2 g"),
		"coffee.resistance": between(1, 12, " bar·s/mL ± 10 %"), "pull.preinfusion": between(2, 20, " s"), "pull.end_pressure": between(0, 3, " bar"),
		"water.boiler_temperature": between(104, 124, " °C"), "basket.diameter": between(1.9, 2.3, " in"), "water.altitude": between(0, 2000, " m"),
	}
	var sets []string
	for _, path := range []string{"spring.free_length", "spring.wire", "piston.bore", "piston.stroke", "piston.friction", "coffee.dose", "coffee.resistance",
		"pull.preinfusion", "pull.end_pressure", "water.boiler_temperature", "basket.diameter", "water.altitude"} {
		if rng.IntN(2) == 0 {
			sets = append(sets, path+"="+values[path])
		}
	}
	text, _, err := sheet.Edit(demo.Sheet, sets)
	if err != nil {
		panic(err)
	}
	return string(text)
}

// TestOneTruth: for the demo machine and fifty others every number on the page is
// the one that the terminal's --json has, and so is every curve and every sentence.
func TestOneTruth(t *testing.T) {
	t.Parallel()
	h, rng := handler(&memory{}), rand.New(rand.NewPCG(17, 0))
	answers, faulty := 0, 0
	for i := range 51 {
		text, units := string(demo.Sheet), ""
		if i > 0 {
			text = randomSheet(rng)
			units = []string{"", "metric", "inch"}[i%3]
		}
		a := asks[answered](t, h, "/ask", map[string]any{"question": "shot", "sheet": text, "units": units})
		m, err := machine.Read("mine.toml", []byte(text), nil)
		var b bytes.Buffer
		if err == nil {
			r, askErr := answer.Shot(context.Background(), m, answer.ShotOptions{Spread: fewDraws})
			o := render.Options{Family: m.Family()}
			if units != "" {
				_ = o.Family.UnmarshalText([]byte(units))
			}
			if err = askErr; err == nil {
				err = render.JSON(&b, r, o)
			}
		}
		if err != nil {
			if faulty++; len(a.Faults) == 0 {
				t.Errorf("machine %d: the terminal says %v, the page nothing", i, err)
			}
			continue
		}
		if len(a.Faults) > 0 {
			t.Errorf("machine %d: %v on the page alone", i, a.Faults)
			continue
		}
		var object map[string]any
		if err := json.Unmarshal(b.Bytes(), &object); err != nil {
			t.Fatal(err)
		}
		oneTruth(t, a, object)
		answers++
	}
	if answers < 30 {
		t.Errorf("only %d answers, %d faults", answers, faulty)
	}
}

// TestOneTruthOfAll: so it is with the other questions, for the demo machine and some
// of the others; their JSON is compared with the terminal's in TestPageJSON.
func TestOneTruthOfAll(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(18, 0))
	for i := range 6 {
		text, store := string(demo.Sheet), Store(nil)
		if i > 0 {
			text, store = randomSheet(rng), &memory{}
		}
		h := handler(store)
		for _, q := range questions {
			if q.Live || i > 0 && !slices.Contains([]string{"basket", "lever", "spring"}, q.ID) { // the others take long, or want readings
				continue
			}
			r := request{Question: q.ID, Sheet: text, Params: map[string]string{"diameter": "54 mm", "pick": "2"}, Units: []string{"", "inch"}[i%2]}
			a := asks[answered](t, h, "/ask", r)
			r.Kind = "json"
			var object map[string]any
			if err := json.Unmarshal(post(h, "/file", r).Body.Bytes(), &object); err != nil {
				t.Fatal(err)
			}
			if len(a.Faults) == 0 {
				t.Run(fmt.Sprint(q.ID, i), func(t *testing.T) { oneTruth(t, a, object) })
			} else if object["faults"] == nil {
				t.Errorf("%s of machine %d: %+v on the page alone", q.ID, i, a.Faults)
			}
		}
	}
}

// TestQuickAgrees: the few draws while the hand moves give the answer of all draws,
// and the ends of its intervals to an eighth of their width; to first order they would
// be off by up to half of it where a shot runs out of stroke.
func TestQuickAgrees(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(17, 1))
	var off []float64 // worse end of each interval [its width]
	for i := range 12 {
		text := string(demo.Sheet)
		if i > 0 {
			text = randomSheet(rng)
		}
		answered := func(quick bool) *report.Report {
			a, err := (&request{Question: "shot", Sheet: text, Quick: quick}).read(context.Background(), "mine.toml", spread.Options{Draws: 4000}, time.Now())
			if err != nil {
				return nil
			}
			r, _, err := a.answer(context.Background())
			if err != nil {
				return nil
			}
			return r
		}
		quick, full := answered(true), answered(false)
		if quick == nil || full == nil {
			continue
		}
		for _, key := range []string{"peak", "end", "total_time", "yield"} {
			q, f := quick.Row(key), full.Row(key)
			if q.Value != f.Value {
				t.Errorf("machine %d: %s is %g quickly and %g after drawing", i, key, q.Value, f.Value)
			}
			if f.Band != nil && f.Band.Std > 0 {
				off = append(off, max(math.Abs(q.Band.Low-f.Band.Low), math.Abs(q.Band.High-f.Band.High))/(f.Band.High-f.Band.Low))
			}
		}
	}
	slices.Sort(off)
	n := len(off)
	if t.Logf("of %d intervals: half within %.3f, 95 %% within %.3f, all within %.3f of their width", n, off[n/2], off[n*19/20], off[n-1]); n < 32 || off[n-1] > 1./8 {
		t.Errorf("the quick ± is off by up to %.3f of the width", off)
	}
	h := handler(nil)
	for quick, want := range map[bool]string{true: "about", false: "95 %"} {
		if a := asks[answered](t, h, "/ask", request{Question: "shot", Sheet: string(demo.Sheet), Quick: quick}); !strings.Contains(a.Figures, want) {
			t.Errorf("quick %v: not said which is which: %s", quick, a.Figures)
		}
	}
}

// TestTries: what a knob says is what the machine then has, however its sheet
// states spring and puck; and the command line shown gives the same.
func TestTries(t *testing.T) {
	sheets := map[string]string{
		"dimensions": string(demo.Sheet), "rate": testsheet.Stated,
		"inch":         strings.NewReplacer("7.00 mm ± 0.02 mm", "0.2756 in", "49.0 mm ± 0.05 mm", "1.929 in", "168.5 mm ± 0.3 mm", "6.634 in", "139 mm ± 0.3 mm", "5.472 in", "20 mm ± 0.3 mm", "0.7874 in", "50.0 mm ± 0.05 mm (uniform)", "1.9685 in").Replace(string(demo.Sheet)),
		"total coils":  strings.Replace(string(demo.Sheet), "active_coils     = \"12 ± 0.2\"", "total_coils = \"14 ± 0.2\"", 1),
		"permeability": strings.NewReplacer("resistance    = \"5.0 bar·s/mL ± 10 %\"", "permeability = \"3.5e-15 m² ± 20 %\"", "resistance_at = \"9 bar\"", "permeability_at = \"9 bar\"").Replace(string(demo.Sheet)),
		"assumed":      strings.NewReplacer("resistance    = \"5.0 bar·s/mL ± 10 %\"", "", "resistance_at = \"9 bar\"", "").Replace(string(demo.Sheet)),
		"known":        strings.NewReplacer("resistance    = \"5.0 bar·s/mL ± 10 %\"", "", "resistance_at = \"9 bar\"", "[coffee.known]\nyield = \"30 g\"\ntime = \"38 s\"").Replace(string(demo.Sheet)),
	}
	for name, text := range sheets {
		m, err := machine.Read(name, []byte(text), nil)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		f := m.Family()
		tries := trial{}
		for _, k := range knobs(m, f) {
			if !(k.Min < k.Home && k.Home < k.Max && k.Step > 0) {
				t.Errorf("%s: %+v", name, k)
			}
			tries[k.ID] = k.Home * 1.05
		}
		a, err := (&request{Question: "shot", Sheet: text, Tries: tries}).read(context.Background(), "mine.toml", spread.Options{Skip: true}, time.Now())
		if err != nil {
			t.Errorf("%s: %v, by %q", name, err, tries.sets(m, f))
			continue
		}
		for _, k := range knobKinds {
			home, ok := k.of(m)
			if got, _ := k.of(a.machine); ok && k.id != "grind" && math.Abs(got/home-1.05) > 6e-4 {
				t.Errorf("%s: %s went from %g to %g, by %q", name, k.id, home, got, a.sets)
			}
		}
		// The same puck at the same dose and basket: only the grind is finer.
		finer := trial{"grind": 1.05}
		b, err := (&request{Question: "shot", Sheet: text, Tries: finer}).read(context.Background(), "mine.toml", spread.Options{Skip: true}, time.Now())
		if err != nil {
			t.Errorf("%s: %v, by %q", name, err, finer.sets(m, f))
			continue
		}
		if was, is := m.Setup.OwnResistance(), b.machine.Setup.OwnResistance(); math.Abs(is/was-1.05) > 1e-3 {
			t.Errorf("%s: the resistance went from %g to %g, by %q", name, was, is, b.sets)
		}
		if line := b.commandLine(); !strings.HasPrefix(line, "springcalc shot mine.toml --set ") || !strings.Contains(line, "'coffee.") {
			t.Errorf("%s: %s", name, line)
		}
	}
}

// TestHomeIsNothing: a trial of the sheet's own values is the sheet's own answer.
func TestHomeIsNothing(t *testing.T) {
	for _, known := range []bool{false, true} {
		text := string(demo.Sheet)
		if known {
			text = strings.NewReplacer("resistance    = \"5.0 bar·s/mL ± 10 %\"", "", "resistance_at = \"9 bar\"", "[coffee.known]\nyield = \"30 g\"\ntime = \"38 s\"").Replace(text)
		}
		run := func(tries trial) []float64 {
			a, err := (&request{Question: "shot", Sheet: text, Tries: tries}).read(context.Background(), "mine.toml", spread.Options{Skip: true}, time.Now())
			if err != nil {
				t.Fatal(err)
			}
			r, _, err := a.answer(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			return []float64{r.Row("peak").Value, r.Row("total_time").Value, r.Row("yield").Value}
		}
		m, err := machine.Read("mine.toml", []byte(text), nil)
		if err != nil {
			t.Fatal(err)
		}
		home := trial{}
		for _, k := range knobs(m, quantity.Metric) {
			home[k.ID] = k.Home
		}
		want, got := run(nil), run(home)
		for i := range want {
			if math.Abs(got[i]/want[i]-1) > 5e-4 {
				t.Errorf("known shot %v: %v became %v by trying nothing else", known, want, got)
			}
		}
	}
}

// TestForm: every key of the sheet has its field once, with what it means, but for
// visits: they are appended one by one, not filled in.
func TestForm(t *testing.T) {
	s, err := sheet.Parse("mine.toml", demo.Sheet, nil)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	for _, g := range form(s) {
		for _, tab := range g.Tables {
			for _, f := range slices.Concat(tab.Shown, tab.More) {
				if seen[f.Path]++; f.Help == "" || f.Label == "" || f.Unit == "" && !f.Words && !f.Number {
					t.Errorf("field %+v", f)
				}
			}
		}
	}
	for _, tab := range sheet.Schema {
		if tab.Path == sheet.VisitTable.Path {
			continue
		}
		for _, k := range tab.Keys {
			if seen[tab.Path+"."+k.Name] != 1 {
				t.Errorf("%s.%s has %d fields", tab.Path, k.Name, seen[tab.Path+"."+k.Name])
			}
		}
	}
	home := httptest.NewRecorder()
	handler(nil).ServeHTTP(home, httptest.NewRequest("GET", "http://"+host+"/", nil))
	for _, want := range []string{`data-path="spring.wire"`, `value="7.00"`, `value="0.02"`, "<option selected>closed and ground</option>", "Left empty: taken as 1.1 g/g; from 0.8 g/g to 1.5 g/g is in the band"} {
		if !strings.Contains(home.Body.String(), want) {
			t.Errorf("no %q on the page", want)
		}
	}
}

// TestTypedParts: a value that is taken apart for the form and put together again
// is the same quantity.
func TestTypedParts(t *testing.T) {
	for text, dim := range map[string]*quantity.Dimension{
		"7.00 mm ± 0.02 mm": quantity.DimLength, "4.00 ± 0.02 mm": quantity.DimLength, "1 3/8 in": quantity.DimLength, `1.5"`: quantity.DimLength, "50.0 mm ± 0.05 mm (uniform)": quantity.DimLength,
		"27 N/mm ± 2 %": quantity.DimRate, "9 bar +/- 5 psi": quantity.DimPressure, "116 °C ± 1 K": quantity.DimTemperature, "116 °C ± 1 °C": quantity.DimTemperature, "12 ± 0.2": quantity.DimNumber,
		"12": quantity.DimNumber, "5.0 bar·s/mL ± 10 %": quantity.DimResistance, "4e-15 m² ± 20 %": quantity.DimPermeability, "-20 N": quantity.DimForce, "30 /day": quantity.DimFrequency, "12 ± 0.2 (triangular)": quantity.DimNumber,
	} {
		want, err := quantity.Parse(text, dim)
		if err != nil {
			t.Fatal(err)
		}
		parts := splitTyped(text, dim)
		if got, err := quantity.Parse(joinTyped(parts), dim); err != nil || got != want {
			t.Errorf("%q became %q (%+v): %v, %v and %v", text, joinTyped(parts), parts, err, got, want)
		}
	}
	if got := joinTyped(typed{value: "7.1", unit: "mm", plus: "0.02"}); got != "7.1 mm ± 0.02 mm" {
		t.Errorf("%q", got)
	}
	if got := joinTyped(typed{value: "1/4 in", unit: "mm", plus: "2 %"}); got != "1/4 in ± 2 %" {
		t.Errorf("%q", got)
	}
}

// TestAnyTyped: whatever is typed into a field, the answer is a fault beside it or
// a sheet that reads.
func TestAnyTyped(t *testing.T) {
	t.Parallel()
	h := handler(&memory{})
	rapid.Check(t, func(t *rapid.T) {
		table := rapid.SampledFrom(sheet.Schema).Draw(t, "table")
		key := rapid.SampledFrom(table.Keys).Draw(t, "key")
		text := rapid.StringOfN(rapid.SampledFrom([]rune("0123456789.,/±% mgNbar()<>&\"'=[]#\n\\é")), 0, 12, -1)
		in := edit{Sheet: string(demo.Sheet), Path: table.Path + "." + key.Name, Value: text.Draw(t, "value"), Unit: key.Dim.Unit(quantity.Metric), Plus: text.Draw(t, "plus")}
		w := post(h, "/sheet", in)
		var out edited
		if err := json.Unmarshal(w.Body.Bytes(), &out); w.Code != 200 || err != nil {
			t.Fatalf("status %d: %s", w.Code, w.Body)
		}
		if s, err := sheet.Parse("x", []byte(out.Sheet), nil); err != nil || len(out.Faults) == 0 && len(s.Faults) > 0 || len(out.Faults) > 0 && out.Sheet != in.Sheet {
			t.Fatalf("%+v: %v %v", out.Faults, s.Faults, err)
		}
	})
}

// TestFaults: what is wrong stands at its field; what is missing is no fault.
func TestFaults(t *testing.T) {
	h := handler(&memory{})
	e := asks[edited](t, h, "/sheet", edit{Sheet: string(demo.Sheet), Path: "spring.wire", Value: "7..0", Unit: "mm"})
	if len(e.Faults) != 1 || e.Faults[0].Path != "spring.wire" || !strings.Contains(e.Faults[0].Text, "7..0 mm") || e.Sheet != string(demo.Sheet) {
		t.Errorf("%+v", e.Faults)
	}
	a := asks[answered](t, h, "/ask", request{Question: "shot", Sheet: ""})
	if !a.Empty || len(a.Faults) < 5 || a.Faults[0].Text == "" {
		t.Errorf("%+v", a)
	}
	a = asks[answered](t, h, "/ask", request{Question: "shot", Sheet: string(demo.Sheet), Tries: trial{"preload": 4000}})
	if a.Empty || len(a.Faults) == 0 || a.Faults[0].Path != "spring.installed_length" {
		t.Errorf("%+v", a)
	}
	for _, bad := range []request{{Question: "no such"}, {Question: "shot", Sheet: string(demo.Sheet), Units: "cubits"}, {Question: "order", Sheet: string(demo.Sheet), Params: map[string]string{"pick": "1; rm"}}} {
		if a := asks[answered](t, h, "/ask", bad); len(a.Faults) != 1 || a.Empty {
			t.Errorf("%+v: %+v", bad, a)
		}
	}
}

// TestSave: a sheet is saved over what was read, over nothing else unasked, and not
// with a fault in it.
func TestSave(t *testing.T) {
	store := &memory{}
	h := handler(store)
	if s := asks[saved](t, h, "/save", saving{Old: "", Sheet: string(demo.Sheet)}); !s.Saved || !bytes.Equal(store.data, demo.Sheet) {
		t.Fatalf("%+v", s)
	}
	changed := strings.Replace(string(demo.Sheet), "14 g", "15 g", 1)
	store.data = []byte("# by another hand\n")
	if s := asks[saved](t, h, "/save", saving{Old: string(demo.Sheet), Sheet: changed}); s.Saved || !s.Changed || string(store.data) != "# by another hand\n" {
		t.Errorf("%+v, %q", s, store.data)
	}
	if s := asks[saved](t, h, "/save", saving{Old: string(demo.Sheet), Sheet: changed, Over: true}); !s.Saved || string(store.data) != changed {
		t.Errorf("%+v", s)
	}
	if a := asks[answered](t, h, "/save", saving{Old: changed, Sheet: "spring = 5"}); len(a.Faults) == 0 || string(store.data) != changed {
		t.Errorf("%+v, %q", a, store.data)
	}
	if a := asks[answered](t, handler(nil), "/save", saving{Sheet: changed}); len(a.Faults) == 0 {
		t.Errorf("the demo machine was saved: %+v", a)
	}
}

// TestPutIntoSheet: what is tried goes into the sheet and then is its answer.
func TestPutIntoSheet(t *testing.T) {
	h := handler(&memory{})
	tries := trial{"preload": 1000, "dose": 15}
	e := asks[edited](t, h, "/sheet", edit{Sheet: string(demo.Sheet), Tries: tries})
	if len(e.Faults) > 0 || e.Anew || !strings.HasPrefix(e.Sheet, "# The demo machine") || !strings.Contains(e.Form, `data-path="spring.wire"`) {
		t.Fatalf("%+v", e.Faults)
	}
	m, err := machine.Read("x", []byte(e.Sheet), nil)
	if err != nil || math.Abs(m.Setup.Springs[0].Preload-1000) > 0.1 || math.Abs(m.Setup.Coffee.Dose-0.015) > 1e-9 {
		t.Errorf("%v, %v", m.Setup.Springs, err)
	}
}

// TestFiles: each kind of file is what the terminal writes, and what is dropped is recognized.
func TestFiles(t *testing.T) {
	h := handler(nil)
	for kind, begins := range map[string]string{"svg": "<svg", "png": "\x89PNG", "csv": "t_s,volume_ml", "json": "{\n  \"title\"", "html": "<!doctype html>"} {
		w := post(h, "/file", map[string]any{"question": "shot", "sheet": string(demo.Sheet), "tries": map[string]float64{"dose": 15}, "kind": kind})
		if w.Code != 200 || !strings.HasPrefix(w.Body.String(), begins) || w.Header().Get("Content-Disposition") != `attachment; filename="demo-shot.`+kind+`"` {
			t.Errorf("%s: %d %q %.60s", kind, w.Code, w.Header().Get("Content-Disposition"), w.Body)
		}
		if kind == "html" && !strings.Contains(w.Body.String(), "springcalc shot --set &#39;coffee.dose=15.00 ± 0.2 g&#39;") {
			t.Errorf("no command line in %s", w.Body)
		}
	}
	for name, c := range map[string]struct {
		text string
		kind fileKind
	}{"log.csv": {string(demo.Log), aLog}, "peaks.csv": {string(demo.Peaks), aRecord}, "m.toml": {string(demo.Sheet), aSheet},
		"springs.csv": {"name,d,De,L0,n\nA,7 mm,49 mm,180 mm,12\n", aList}, "no.csv": {"a,b\n1,2\n", ""}, "bad.toml": {"[spring\n", ""}} {
		if k := asks[known](t, h, "/read", file{Name: name, Text: c.text}); k.Kind != c.kind || (c.kind == "") != (len(k.Faults) > 0) || c.kind != "" && k.Said == "" {
			t.Errorf("%s: %+v", name, k)
		}
	}
}

// TestOtherQuestions: each question answers for the demo machine.
func TestOtherQuestions(t *testing.T) {
	t.Parallel()
	h := handler(nil)
	params := map[string]map[string]string{"basket": {"diameter": "54 mm", "depth": "26 mm", "dose": "18 g"}}
	for _, q := range questions {
		a := asks[answered](t, h, "/ask", request{Question: q.ID, Sheet: string(demo.Sheet), Params: params[q.ID]})
		if len(a.Faults) > 0 || a.Lead+a.Rest == "" || a.Line == "" || a.Caution == "" && q.ID != "history" {
			t.Errorf("%s: %+v, %q", q.ID, a.Faults, a.Line)
		}
		for _, line := range []string{a.Lead, a.Figures, a.Rest, a.Drawn} {
			if strings.Contains(line, " style=") || strings.Contains(line, "%!") || strings.Contains(line, "NaN") {
				t.Errorf("%s: %s", q.ID, line)
			}
		}
	}
}

// TestText: each word that templates and script ask for is there, and no other.
func TestText(t *testing.T) {
	var asked []string
	script, err := static.ReadFile("static/page.js")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`\bT\.(\w+)`).FindAllSubmatch(script, -1) {
		asked = append(asked, string(m[1]))
	}
	for _, name := range []string{"page.html", "answer.html"} {
		data, err := templates.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`text "(\w+)"`).FindAllSubmatch(data, -1) {
			asked = append(asked, string(m[1]))
		}
	}
	for _, name := range downloads {
		asked = append(asked, name)
	}
	asked = append(asked, "today", "kept", "tried")
	for _, name := range asked {
		if texts[name] == "" {
			t.Errorf("no words for %s", name)
		}
	}
	for name := range texts {
		if !slices.Contains(asked, name) {
			t.Errorf("nobody says %s", name)
		}
	}
	if lines := bytes.Count(script, []byte("\n")); lines >= 600 {
		t.Errorf("the script has %d lines", lines)
	}
}

// BenchmarkQuick is what the server takes for one move of a slider, another curve
// beside it.
func BenchmarkQuick(b *testing.B) {
	h := handler(nil)
	for b.Loop() {
		if w := post(h, "/ask", request{Question: "shot", Sheet: string(demo.Sheet), Tries: trial{"preload": 900}, Quick: true}); w.Code != 200 {
			b.Fatal(w.Body)
		}
	}
}

// TestProgress: before an answer that takes long stand lines that say how many draws
// are made, of how many where that is known; and nothing behind the answer.
func TestProgress(t *testing.T) {
	for _, o := range []spread.Options{{Draws: 7000}, {}, {Draws: 20_000, Stable: true}} {
		o.Made = new(atomic.Int64)
		w := httptest.NewRecorder()
		o.Made.Store(123)
		end := told(w, o)
		time.Sleep(telling + telling/2)
		end()
		o.Made.Store(456)
		of := map[int]int{7000: 7000, 0: spread.Usual, 20_000: 0}[o.Draws]
		if got, want := w.Body.String(), fmt.Sprintf("{\"made\":123,\"of\":%d}\n", of); got != want || !w.Flushed {
			t.Errorf("said %q, want %q", got, want)
		}
	}
	o := spread.Options{Draws: 300, Made: new(atomic.Int64)}
	m, err := machine.Read("mine.toml", demo.Sheet, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := answer.Shot(context.Background(), m, answer.ShotOptions{Spread: o}); err != nil || o.Made.Load() != 300 {
		t.Errorf("%d draws were counted, want 300; %v", o.Made.Load(), err)
	}
}

// TestRows: what the form asks of rows, and of the sheet of another machine.
func TestRows(t *testing.T) {
	h := handler(&memory{})
	e := asks[edited](t, h, "/sheet", edit{Sheet: string(demo.Sheet), Path: "bench.load.length", Value: "130", Unit: "mm"})
	if len(e.Faults) > 0 || !e.Rows || !strings.Contains(e.Form, `data-table="bench.load" data-row="1"`) {
		t.Fatalf("%+v", e.Faults)
	}
	e = asks[edited](t, h, "/sheet", edit{Sheet: e.Sheet, Table: "bench.load"})
	if !strings.HasSuffix(e.Sheet, "[[bench.load]]\nlength = \"130 mm\"\n\n[[bench.load]]\n") || !strings.Contains(e.Form, `data-path="bench.load[2].length"`) || e.Rows {
		t.Errorf("%s", e.Sheet)
	}
	e = asks[edited](t, h, "/sheet", edit{Sheet: e.Sheet, Table: "bench.load", Row: 1})
	if strings.Contains(e.Sheet, "130 mm") || strings.Count(e.Sheet, "[[bench.load]]") != 1 {
		t.Errorf("%s", e.Sheet)
	}
	for _, bad := range []edit{{Table: "water"}, {Table: "bench.load", Row: 9}, {Table: "bench.load", Row: -1}, {Table: "../x"}} {
		bad.Sheet = e.Sheet
		if e := asks[edited](t, h, "/sheet", bad); len(e.Faults) == 0 || e.Sheet != bad.Sheet {
			t.Errorf("%+v: %+v", bad, e)
		}
	}
	e = asks[edited](t, h, "/sheet", edit{Sheet: string(demo.Sheet), Kin: true})
	if want, err := sheet.Kin("mine.toml", demo.Sheet); err != nil || e.Sheet != string(want) {
		t.Errorf("%v\n%s", err, e.Sheet)
	}
	r := request{Question: "replace", Sheet: string(demo.Sheet), Params: map[string]string{"pick": "2"}, Quick: true}
	if b := mustJSON(asks[answered](t, h, "/ask", r)); !bytes.Contains(b, []byte(`"series":[{"name":"no. 2"`)) || !bytes.Contains(b, []byte("replace mine.toml --pick 2")) {
		t.Errorf("the second row is not drawn: %.300s", b)
	}
	list := map[fileKind]file{aList: {"springs.csv", "name,d,De,L0,R,Fn,Ln\nA,7 mm,49 mm,188 mm,27 N/mm,1900 N,117 mm\nB,7 mm,49 mm,160 mm,27 N/mm,1500 N,100 mm\n"}}
	for pick, fits := range map[string]bool{"1": true, "2": false} { // B is too short
		a := asks[answered](t, h, "/ask", request{Question: "replace", Sheet: string(demo.Sheet), Files: list, Params: map[string]string{"pick": pick}})
		if fits != (len(a.Faults) == 0) || fits && (!strings.Contains(a.Rest, `value="1" checked`) || a.Line != "springcalc replace mine.toml --candidates springs.csv") {
			t.Errorf("row %s of a list: %+v, %s", pick, a.Faults, a.Line)
		}
	}
	spring := "[spring]\nrate = \"27 N/mm\"\npreload = \"700 N\"\n[piston]\nstroke = \"20 mm\"\n"
	if a := asks[answered](t, h, "/ask", request{Question: "spring", Sheet: spring, Tries: trial{"preload": 1}}); len(a.Faults) > 0 || a.Lead == "" {
		t.Errorf("a spring by itself: %+v", a.Faults)
	}
	odd := strings.Replace(string(demo.Sheet), "dose          = \"14 g", "dose          = \"140 g", 1)
	if a := asks[answered](t, h, "/ask", request{Question: "shot", Sheet: odd, Quick: true}); len(a.Odd) != 1 || a.Odd[0].Path != "coffee.dose" {
		t.Errorf("%+v %+v", a.Odd, a.Faults)
	}
	a := asks[answered](t, h, "/ask", request{Question: "diagnose", Sheet: string(demo.Sheet)})
	if !a.Empty || len(a.Faults) != 1 || strings.Contains(a.Faults[0].Text, "--") {
		t.Errorf("flags on the page: %+v", a.Faults)
	}
}

// TestVisit: a visit is added behind the sheet, and the history knows it.
func TestVisit(t *testing.T) {
	h := handler(&memory{})
	text := string(demo.Sheet) + "\n" + string(demo.Measured) + "\n" + string(demo.Visits)
	e := asks[edited](t, h, "/visit", visiting{Sheet: text, Values: map[string]string{"date": "2026-01-02", "peak": "6.2 bar", "done": "seal"}})
	if len(e.Faults) > 0 || !strings.HasPrefix(e.Sheet, text) || !strings.Contains(e.Sheet, "6.2 bar") {
		t.Fatalf("%+v", e.Faults)
	}
	before := asks[answered](t, h, "/ask", request{Question: "history", Sheet: text})
	after := asks[answered](t, h, "/ask", request{Question: "history", Sheet: e.Sheet})
	if len(before.Faults)+len(after.Faults) > 0 || before.Lead == after.Lead {
		t.Errorf("%+v %+v %s", before.Faults, after.Faults, after.Lead)
	}
	for _, bad := range []map[string]string{{"peak": "6.2"}, {"date": "soon", "peak": "6.2 bar"}, {"date": "2999-01-01", "peak": "6.2 bar"}, {}} {
		if e := asks[edited](t, h, "/visit", visiting{Sheet: text, Values: bad}); len(e.Faults) == 0 || e.Sheet != text {
			t.Errorf("%v was added: %+v", bad, e.Faults)
		}
	}
}
