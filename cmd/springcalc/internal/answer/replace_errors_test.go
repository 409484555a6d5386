package answer

import (
	"maps"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/spring"
)

// notForPeople is what no text for a reader may have: fields of the program, bare SI,
// values to the last bit, what is not finite.
var notForPeople = regexp.MustCompile(`\b[A-Z][a-z]+\.[A-Z]\w+|\d (?:m|Pa|N/m|m³|kg|rad|N/Pa|Pa·s/m³)(?:$|[^\pL\pN²³/·])|\.\d{7,}|want [^,;]*\de[-+]?\d|NaN|\bInf\b|%!`)

// oddQuestions are asked of every sheet, without the draws.
var oddQuestions = map[string]func(t *rapid.T, name string, text []byte, sets []string) (*report.Report, error){
	"spring": func(t *rapid.T, name string, text []byte, sets []string) (*report.Report, error) {
		s, err := sheet.ReadSpringSheet(name, text, sets, nil, nil)
		if err != nil {
			return nil, err
		}
		return Spring(t.Context(), machine.SpringsOf(s), SpringOptions{})
	},
	"spring as part": func(t *rapid.T, name string, text []byte, sets []string) (*report.Report, error) {
		return whole(name, text, sets, func(m *machine.Machine) (*report.Report, error) {
			return Spring(t.Context(), m, SpringOptions{Preset: true})
		})
	},
	"shot": func(t *rapid.T, name string, text []byte, sets []string) (*report.Report, error) {
		return whole(name, text, sets, func(m *machine.Machine) (*report.Report, error) {
			return Shot(t.Context(), m, ShotOptions{Spread: spread.Options{Skip: true}})
		})
	},
	"lever": func(t *rapid.T, name string, text []byte, sets []string) (*report.Report, error) {
		return whole(name, text, sets, func(m *machine.Machine) (*report.Report, error) {
			return Lever(t.Context(), m, LeverOptions{})
		})
	},
	"replace": func(t *rapid.T, name string, text []byte, sets []string) (*report.Report, error) {
		sets = append([]string{"wish.grade=EN 10270-2 VDSiCr"}, sets...)
		return whole(name, text, sets, func(m *machine.Machine) (*report.Report, error) {
			o := ReplaceOptions{MeanStep: 4e-3, MaxCoils: 15, Spread: spread.Options{Skip: true}, Quality: spring.Grade(1)}
			return Replace(t.Context(), m, o)
		})
	},
	"copy": func(t *rapid.T, name string, text []byte, sets []string) (*report.Report, error) {
		return whole(name, text, sets, func(m *machine.Machine) (*report.Report, error) {
			return Replace(t.Context(), m, ReplaceOptions{Copy: CopyAll, Sheet: true})
		})
	},
}

func whole(name string, text []byte, sets []string, of func(*machine.Machine) (*report.Report, error)) (*report.Report, error) {
	m, err := machine.Read(name, text, sets)
	if err != nil {
		return nil, err
	}
	return of(m)
}

// oddSheets are the sheets that are pushed.
func oddSheets(t testing.TB) map[string][]byte {
	all := map[string][]byte{"demo.toml": demo.Sheet}
	for _, name := range []string{"nest", "lever_cam", "rate", "dimensions", "wishes"} {
		data, err := os.ReadFile("../../testdata/" + name + ".toml")
		if err != nil {
			t.Fatal(err)
		}
		all[name+".toml"] = data
	}
	return all
}

// limits of keys, what is quoted as typed, and units that a reader knows so.
var asTyped = regexp.MustCompile(`"[^"]*"|\b\d+ (?:m|kg)(?: or (?:more|less)| to|$|,|;)|1e6 pulls|\S+ (?:to \S+ )?m²|looks like (?:m|kg|ft)\b.*|less than \S+: at`)

// keyOrFlag is the name of what a text is about.
var keyOrFlag = regexp.MustCompile(`\b[a-z]+\.[a-z_.]+|--[a-z]|\[[a-z.]+\]|possible: `)

// TestTextsOfOddSheets pushes each number of a sheet anywhere within and past what its
// key allows, in both families of units: no error or doubt speaks of a field of the
// program, in bare SI or to the last bit, and every error names a key or a flag.
func TestTextsOfOddSheets(t *testing.T) {
	sheets := oddSheets(t)
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom(slices.Sorted(maps.Keys(sheets))).Draw(t, "sheet")
		var sets []string
		for range rapid.IntRange(1, 2).Draw(t, "overrides") {
			table := sheet.FindTable(rapid.SampledFrom([]string{"spring", "spring.inner", "piston", "lever", "wish", "space", "chamber", "water", "new"}).Draw(t, "table"))
			k := rapid.SampledFrom(table.Keys).Draw(t, "key")
			if k.Dim == nil {
				continue
			}
			span := rapid.SampledFrom(k.Ranges()).Draw(t, "range")
			low, high := max(span[0], -1e9), min(span[1], 1e9)
			at := rapid.Float64Range(-0.1, 1.1).Draw(t, "at")
			v := low + at*(high-low)
			if low >= 0 && rapid.Bool().Draw(t, "small") {
				v = high * math.Pow(1e-6, at)
			}
			family := rapid.SampledFrom([]quantity.Family{quantity.Metric, quantity.Inch}).Draw(t, "family")
			sets = append(sets, table.Path+"."+k.Name+"="+quantity.BriefIn(family, v, v, k.Dim))
		}
		question := rapid.SampledFrom(slices.Sorted(maps.Keys(oddQuestions))).Draw(t, "question")
		r, err := oddQuestions[question](t, name, sheets[name], sets)
		if err != nil {
			for text := range strings.Lines(err.Error()) {
				if !keyOrFlag.MatchString(text) && !strings.Contains(text, " errors in the ") {
					t.Errorf("%s: no key or flag in %s", question, text)
				}
				if bad := notForPeople.FindString(asTyped.ReplaceAllString(text, "…")); bad != "" {
					t.Errorf("%s: %q in %s", question, bad, text)
				}
			}
			return
		}
		for _, d := range r.Doubts {
			if bad := notForPeople.FindString(asTyped.ReplaceAllString(d.String(), "…")); bad != "" {
				t.Errorf("%s: %q in the doubt %s", question, bad, d)
			}
		}
	})
}
